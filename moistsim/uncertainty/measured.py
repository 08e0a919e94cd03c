"""A measured house: joint draws of values in place of independent ranges.

A log knows some values only together, such as airflow and moisture gain by their ratio. Independent
ranges would lose that. So each case takes one whole draw, which one more dimension of the sequence of
cases chooses.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any, NamedTuple, Protocol

import attrs
import numpy as np
import pandas as pd

from moistsim.core.changes import changed, differences, inner
from moistsim.core.errors import InputError, Problem
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.prices import Purchase, Terms
from moistsim.study import Study
from moistsim.sweep import find
from moistsim.uncertainty.ranges import find_input

FEWEST_DRAWS = 8
"""Smallest number of draws that show a spread."""

_KEPT = object()
"""Mark of a value that stays as the study has it."""

Path = tuple[str, ...]
_Values = Mapping[Path, Any]


class Measured(Protocol):
    """What a measured house has, such as a `Fit`."""

    @property
    def house(self) -> House:
        """The house before the fit."""

    @property
    def equipment(self) -> Equipment:
        """The machines that were there while the log was taken."""

    @property
    def draws(self) -> pd.DataFrame:
        """Joint draws, one a row; a column for each value, in SI."""

    def described(self, values: Any) -> tuple[House, Equipment]:
        """House and machines of one draw."""


class Draws(NamedTuple):
    """Joint draws as the cases of a sweep take them."""

    table: pd.DataFrame
    """One row a draw, one column for each name of a sweep. An empty cell keeps the study's value."""
    labels: dict[str, dict[str, Any]]
    """Descriptions behind the labels of a column, by name."""
    numbers: pd.DataFrame
    """The drawn values that are numbers, by dotted name, in SI."""
    units: dict[str, str]
    """SI unit of each of them."""

    @property
    def names(self) -> list[str]:
        """Dotted names of the drawn values."""
        return [str(name) for name in self.numbers]

    def within(self, study: Study) -> "Draws":
        """These draws without the machines of options that a study does not have."""

        def is_in(name: str) -> bool:
            return not name.startswith("options.") or any(
                name.startswith(f"options.{option}.") for option in study.options
            )

        table = self.table[[name for name in self.table if is_in(str(name))]]
        return self._replace(table=table)


def measured_draws(
    measured: Any,
    study: Study,
    purchases: Mapping[str, Purchase],
    terms: Terms | None,
    where: str,
    kept: Collection[str] = (),
) -> Draws | None:
    """Joint draws, checked, as the cases of a sweep take them.

    Parameters
    ----------
    measured : DataFrame, Measured or Draws, optional
        Of a DataFrame, columns without a dot are left out.
    kept : collection of str
        Dotted names of values that stay as the study has them.

    Raises
    ------
    InputError
        If a name is unknown, a value is missing, or there are too few draws.
    """
    if measured is None or isinstance(measured, Draws):
        return measured
    at = f"{where} measured"
    draws = getattr(measured, "draws", measured)
    if not isinstance(draws, pd.DataFrame):
        raise InputError(at, measured, "a fit, or a DataFrame of draws, one row a draw")
    if len(draws) < FEWEST_DRAWS:
        raise InputError(at, Problem(f"{len(draws)} draws"), f"{FEWEST_DRAWS} draws or more")
    if hasattr(measured, "described"):
        return _of_descriptions(measured, study, kept)
    names = [str(name) for name in draws if "." in str(name) and name not in kept]
    if not any("." in str(name) for name in draws):
        raise InputError(at, Problem("no column with a dotted name"), "names such as 'house.ach50'")
    table, units = draws[names].reset_index(drop=True), {}
    for name in names:
        try:
            parameter = find_input(study, purchases, terms, name)
        except InputError as error:
            raise InputError(at, error.found, error.accepted, error.problem) from None
        if parameter.kind != "number":
            raise InputError(at, Problem(f"{name}, which is no number"), "values that are numbers")
        values = pd.to_numeric(table[name], errors="coerce").to_numpy(float)
        if not np.isfinite(values).all():
            row = int(np.argmin(np.isfinite(values)))
            raise InputError(
                at, Problem(f"no number in {name}, draw {row}"), "a number in each draw"
            )
        table[name], units[name] = values, parameter.unit or ""
    return Draws(table, {}, table, units) if names else None


def _of_descriptions(measured: Measured, study: Study, kept: Collection[str]) -> Draws | None:
    """Draws of a house whose parts may differ from draw to draw, such as windows that are opened.

    What the draws move is set to their values in the study's house. In the machines of an option it is
    set where the option has the same machine as the measured house.
    """
    rows = [row for _, row in measured.draws.iterrows()]
    found = [measured.described(row) for row in rows]
    keep = {tuple(name.split(".")) for name in kept}
    in_house = _moved(measured.house, (house for house, _ in found), "house", keep)
    in_machines = _moved(measured.equipment, (own for _, own in found), "equipment", keep)
    columns: dict[str, list[Any]] = {}

    def put(name: str, k: int, value: Any) -> None:
        columns.setdefault(name, [_KEPT] * len(found))[k] = value

    for k, (house, own) in enumerate(found):
        if in_house:
            # Whole, because a draw may have parts that the study's house lacks.
            whole = changed(study.house, {path: at(house, path) for path in in_house})
            put("house", k, whole)
        for option, described in study.resolved.items():
            for path in in_machines:
                same = (at(measured.equipment, path), *(at(other, path) for _, other in found))
                if at(described.equipment, path) in same:
                    put(f"options.{option}.equipment.{'.'.join(path)}", k, at(own, path))
    if not columns:
        return None
    labels = {}
    for name, column in columns.items():
        if any(value is not _KEPT and not isinstance(value, float) for value in column):
            labels[name] = {f"draw {k}": v for k, v in enumerate(column) if v is not _KEPT}
            column = [None if v is _KEPT else f"draw {k}" for k, v in enumerate(column)]
        columns[name] = [None if value is _KEPT else value for value in column]
    numbers = measured.draws.select_dtypes("number").reset_index(drop=True)
    numbers = numbers[[name for name in numbers if "." in str(name) and name not in kept]]
    units = {str(name): _unit(study, str(name)) for name in numbers}
    return Draws(pd.DataFrame(columns), labels, numbers, units)


def _unit(study: Study, name: str) -> str:
    """SI unit of a value by its dotted name; none for a value that only a fit knows."""
    try:
        return find(study, name).unit or ""
    except InputError:
        return ""


def _moved(before: Any, found: Iterable[Any], root: str, keep: set[Path]) -> list[Path]:
    """Paths of the values that any draw moves; of a part that some draws lack, the whole part."""
    paths = {change.path for one in found for change in differences(before, one)}
    paths = {path for path in paths if (root, *path) not in keep}
    return sorted(path for path in paths if not any(path[:n] in paths for n in range(len(path))))


def at(whole: Any, path: Path) -> Any:
    """Value at the end of a path; None if a part on the way is missing."""
    for key in path:
        if whole is None:
            return None
        whole = inner(whole, key)
    return whole


def spread_out(draws: pd.DataFrame, most: int) -> Iterator[dict[str, Any]]:
    """At most so many draws, evenly spaced through all of them, each without its empty cells."""
    rows = draws
    if len(draws) > most:
        rows = draws.iloc[np.linspace(0.0, len(draws) - 1.0, most).round().astype(int)]
    for row in rows.to_dict("records"):
        yield {str(name): value for name, value in row.items() if not pd.isna(value)}


@attrs.frozen(eq=False)
class MeasuredHouse:
    """Joint draws of a house, kept as the values that they set."""

    house: House
    equipment: Equipment
    draws: pd.DataFrame
    """Drawn values that are numbers, one row a draw."""
    values: Mapping[str, Mapping[Path, tuple[Any, ...]]]
    """Under "house" and "equipment": by path, the value in each draw."""

    @classmethod
    def of(cls, measured: Measured) -> "MeasuredHouse":
        """The draws of a fit."""
        found = [measured.described(row) for _, row in measured.draws.iterrows()]
        values = {}
        for root, base, each in (
            ("house", measured.house, [house for house, _ in found]),
            ("equipment", measured.equipment, [own for _, own in found]),
        ):
            paths = _moved(base, each, root, set())
            values[root] = {path: tuple(at(one, path) for one in each) for path in paths}
        numbers = measured.draws.select_dtypes("number").reset_index(drop=True)
        return cls(measured.house, measured.equipment, numbers, values)

    def described(self, row: Any) -> tuple[House, Equipment]:
        """House and machines of one row of `draws`."""
        k = int(row.name)
        house, equipment = (
            changed(base, {path: each[k] for path, each in self.values[root].items()})
            for root, base in (("house", self.house), ("equipment", self.equipment))
        )
        return house, equipment

    def without(self, names: Collection[str]) -> "MeasuredHouse":
        """These draws without the values of some dotted names, which stay as they are described."""
        gone = {tuple(name.split(".")) for name in names}
        values = {
            root: {path: each for path, each in own.items() if (root, *path) not in gone}
            for root, own in self.values.items()
        }
        draws = self.draws.drop(columns=[name for name in names if name in self.draws])
        return attrs.evolve(self, draws=draws, values=values)
