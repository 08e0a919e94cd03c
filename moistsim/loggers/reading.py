"""A table of a file as columns of the catalog, in SI."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path

import numpy as np
import pandas as pd

from moistsim.core.errors import Fix, InputError, Problem, one_of
from moistsim.core.units import to_si
from moistsim.loggers.catalog import CATALOG, check_name, kind_of, line_to_si, part_of

TIME = "time"


def read_table(source: str | Path | pd.DataFrame) -> tuple[pd.DataFrame, str]:
    """Return the table as it stands, and its name for errors; a named index becomes a column."""
    if isinstance(source, pd.DataFrame):
        table = source.copy()
        if isinstance(table.index, pd.DatetimeIndex):
            table = table.reset_index(names=table.index.name or TIME)
        return table, "log"
    path = Path(source)
    try:
        # Numbers are read later, column by column, so that an error can name its row.
        table = pd.read_csv(path, dtype=str, skipinitialspace=True, encoding="utf-8-sig")
    except OSError:
        raise InputError(
            str(path), Problem("no such file, or not readable"), "a CSV file, which may be gzipped"
        ) from None
    except (ValueError, pd.errors.ParserError, EOFError):
        raise InputError(path.name, Problem("cannot read it as a table"), "a CSV file with one line of column names, which may be gzipped") from None  # fmt: skip
    return table, path.name


def columns_of(
    table: pd.DataFrame,
    where: str,
    columns: Mapping[str, str],
    units: Mapping[str, str],
    missing: Collection[float],
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return the named columns in SI, with the table's rows, and notes.

    Raises
    ------
    InputError
        One sentence with the column, or the first row that cannot be used.
    """
    for name in units:
        if name not in CATALOG and name not in columns:
            raise InputError(
                f"{where} units", Problem(f"unknown column {name!r}"), one_of(name, columns)
            )
    out: dict[str, pd.Series] = {}
    notes: list[str] = []
    for name, column in columns.items():
        if name == TIME:
            continue
        check_name(name, f"{where} columns")
        if column not in table.columns:
            names = map(str, table.columns)
            raise InputError(
                f"{where} columns",
                Problem(f"no column {column!r} for {name}"),
                one_of(str(column), names),
            )
        kind = kind_of(name)
        unit = units.get(name, units.get(kind))
        example = CATALOG[kind].example
        if unit is None:
            raise InputError(
                f"{where} units",
                Problem(f"no unit of {name}"),
                Fix(f"State it, such as units={{{kind!r}: {example!r}}}"),
            )
        values, told = _in_si(table[column], name, unit, where, missing)
        out[name] = values
        notes += told
    return pd.DataFrame(out), tuple(notes)


def _in_si(
    given: pd.Series, name: str, unit: str, where: str, missing: Collection[float]
) -> tuple[pd.Series, list[str]]:
    column = CATALOG[kind_of(name)]
    numbers = pd.to_numeric(given, errors="coerce").astype(float)
    blank = given.isna() | (given.astype(str).str.strip() == "")
    unread = np.flatnonzero(numbers.isna() & ~blank)
    if unread.size:
        row = int(unread[0])
        raise InputError(
            f"{where} row {row + 1}, column {given.name}", given.iloc[row],
            Fix("Leave the cell empty where nothing was measured"), "cannot read {} as a number",
        )  # fmt: skip
    numbers = numbers.mask(numbers.isin(list(missing)))
    slope, intercept = line_to_si(kind_of(name), unit, f"{where} units[{name!r}]")
    values = numbers * slope + intercept
    bad = np.flatnonzero((values < column.low - 1e-9) | (values > column.high + 1e-9))
    if bad.size:
        row = int(bad[0])
        low, high = sorted((bound - intercept) / slope for bound in (column.low, column.high))
        raise InputError(
            f"{where} row {row + 1}, column {given.name}", Problem(f"{name} of {numbers.iloc[row]:g} {unit}"),
            Fix(f"Use {low:.5g} to {high:.5g} {unit}. Check the unit and the column, or list a code for missing values in missing=[...]"),
        )  # fmt: skip
    if column.unit == "percent" and 0.0 < (top := float(values.max())) <= 1.5:
        raise InputError(
            f"{where}, column {given.name}", Problem(f"no {name} above {top:g} %"),
            "the unit 'fraction' where 1 is saturated air",
        )  # fmt: skip
    return _held(values, name)


def _held(values: pd.Series, name: str) -> tuple[pd.Series, list[str]]:
    """Hold readings that only a sensor's error puts beyond a physical limit, and say so."""
    kind = kind_of(name)
    if kind in ("ghi", "dni", "dhi"):
        beyond, limit, why = values < 0.0, 0.0, "small negative readings at night"
    elif CATALOG[kind].unit == "percent":
        beyond, limit, why = values > 100.0, 100.0, "readings above saturation"
    else:
        return values, []
    if not beyond.any():
        return values, []
    return values.mask(beyond, limit), [f"{name}: {int(beyond.sum())} {why} set to {limit:g}"]


def powers_of(
    frame: pd.DataFrame,
    volts: Mapping[str, float | str],
    power_factor: Mapping[str, float | str],
    where: str,
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Turn amperes of clamps into W, with the volts and the power factor stated for each machine.

    Raises
    ------
    InputError
        If they are not stated, or name a machine without a clamp.
    """
    machines = [part_of(name) for name in frame.columns if kind_of(name) == "current"]
    for given, what in ((volts, "volts"), (power_factor, "power_factor")):
        for machine in given:
            if machine not in machines:
                raise InputError(
                    f"{where} {what}",
                    Problem(f"no column 'current.{machine}'"),
                    "machines whose current is logged",
                )
    notes = []
    out = frame.copy()
    for machine in machines:
        if machine not in volts or machine not in power_factor:
            raise InputError(
                where, Problem(f"current.{machine} without its volts and power factor"),
                Fix(f"State volts={{{machine!r}: 240}} and power_factor={{{machine!r}: 0.9}}, as measured"),
            )  # fmt: skip
        potential = to_si(volts[machine], "V", f"{where} volts[{machine!r}]")
        factor = to_si(power_factor[machine], "fraction", f"{where} power_factor[{machine!r}]")
        if not 0.0 < potential <= 1000.0:
            raise InputError(f"{where} volts[{machine!r}]", volts[machine], "from 1 to 1000 V")
        if not 0.0 < factor <= 1.0:
            raise InputError(
                f"{where} power_factor[{machine!r}]", power_factor[machine], "above 0, at most 1"
            )
        out[f"power.{machine}"] = out.pop(f"current.{machine}") * potential * factor
        notes.append(
            f"power.{machine} from amperes at {potential:g} V and a power factor of {factor:g}"
        )
    return out, tuple(notes)
