"""Columns that a log may have: unit, range, and what may be done with each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

import attrs

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.units import from_si


@attrs.frozen
class Column:
    """One kind of column: its SI unit, accepted range, and treatment."""

    unit: str
    low: float
    high: float
    example: str
    """Unit as people write it, for errors."""
    after_dot: Literal["room", "machine", "sensor", ""] = ""
    """Meaning of the part of the name after the dot; "sensor" may be absent."""
    filled: bool = False
    """Whether short gaps are interpolated."""


#: Names of columns without their part after the dot. Relative humidity is in percent; condensate,
#: vapor from a humidifier of known output, and energy are amounts in the interval of a row.
CATALOG: Mapping[str, Column] = {
    "indoor_temperature": Column("degC", -40.0, 60.0, "degF", "room", filled=True),
    "indoor_rh": Column("percent", 0.0, 105.0, "%", "room"),
    "indoor_dew_point": Column("degC", -50.0, 40.0, "degF", "room"),
    "outdoor_temperature": Column("degC", -70.0, 60.0, "degF", "sensor", filled=True),
    "outdoor_rh": Column("percent", 0.0, 105.0, "%", "sensor", filled=True),
    "outdoor_dew_point": Column("degC", -90.0, 40.0, "degF", "sensor", filled=True),
    "pressure": Column("Pa", 50_000.0, 110_000.0, "hPa", filled=True),
    "wind_speed": Column("m/s", 0.0, 80.0, "mph", filled=True),
    "ghi": Column("W/m2", -10.0, 1500.0, "W/m2", filled=True),
    "dni": Column("W/m2", -10.0, 1415.0, "W/m2", filled=True),
    "dhi": Column("W/m2", -10.0, 1000.0, "W/m2", filled=True),
    "cloud_cover": Column("fraction", 0.0, 1.0, "%", filled=True),
    "visibility": Column("m", 0.0, 1.0e6, "km", filled=True),
    "power": Column("W", -100.0, 1.0e5, "kW", "machine"),
    "current": Column("A", -1.0, 500.0, "A", "machine"),
    "condensate": Column("kg", 0.0, 200.0, "kg"),
    "vapor_added": Column("kg", 0.0, 200.0, "kg"),
    "energy": Column("Wh", -1.0e6, 1.0e6, "kWh"),
}

_TENTHS = {"okta": 0.125, "oktas": 0.125, "tenth": 0.1, "tenths": 0.1}
"""Units of cloud cover that stations use, as fractions."""


def kind_of(name: str) -> str:
    """The part of a column's name before its dot."""
    return name.partition(".")[0]


def part_of(name: str) -> str:
    """The part of a column's name after its dot: a room, a machine or a sensor."""
    return name.partition(".")[2]


def check_name(name: str, where: str) -> None:
    """Refuse a name that is not of the catalog.

    Raises
    ------
    InputError
    """
    kind, part = kind_of(name), part_of(name)
    if kind not in CATALOG:
        raise InputError(
            where, Problem(f"unknown column {name!r}"), one_of(kind, ("time", *CATALOG))
        )
    wanted = CATALOG[kind].after_dot
    if wanted in ("room", "machine") and not part:
        example = {"room": "kitchen", "machine": "compressor"}[wanted]
        raise InputError(
            where,
            Problem(f"{name!r} names no {wanted}"),
            f"'{kind}.' and a name, such as '{kind}.{example}'",
        )
    if not wanted and part:
        raise InputError(where, Problem(f"{name!r} has a part after the dot"), repr(kind))


def line_to_si(kind: str, unit: str, where: str) -> tuple[float, float]:
    """Slope and intercept that turn numbers in `unit` into SI.

    Raises
    ------
    InputError
        If the unit is unknown or measures something else.

    Examples
    --------
    >>> slope, intercept = line_to_si("indoor_temperature", "degF", "units")
    >>> round(68.0 * slope + intercept, 6)
    20.0
    """
    column = CATALOG[kind]
    if kind == "cloud_cover" and unit in _TENTHS:
        return _TENTHS[unit], 0.0
    si = "dimensionless" if column.unit == "fraction" else column.unit
    to = "dimensionless" if unit in ("fraction", "1") else unit
    try:
        zero = from_si(0.0, si, to)
        slope = (from_si(1000.0, si, to) - zero) / 1000.0
    except Exception:  # Any of pint's errors.
        raise InputError(
            where, Problem(f"cannot read {unit!r} as the unit of {kind}"), f"'{column.example}'"
        ) from None
    return 1.0 / slope, -zero / slope
