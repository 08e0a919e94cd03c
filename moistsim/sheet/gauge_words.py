"""Readings to expect, with their pass bands, and the maximum current."""

import math
from collections.abc import Iterator

import attrs

from moistsim.core.display import NOTHING, Show, number
from moistsim.equipment import Equipment
from moistsim.machine_checks import (
    AIRFLOW_BAND,
    AMPS_BAND,
    BLOWER_BAND,
    CONDENSATE_BAND,
    RISE_BAND,
    SUPPLY_BAND,
    WET_BULB_BAND,
    Expected,
    ExpectedDrying,
    Refused,
    Rig,
    Today,
    commissioning,
)
from moistsim.sheet.probing import Probe
from moistsim.sheet.records import Cell, Reading
from moistsim.study import Study


def gauge_names(show: Show) -> tuple[str, ...]:
    """Columns of the table of readings."""
    d = show.unit("temperature")
    dry, wet = (show.number(band, "difference") for band in (SUPPLY_BAND, WET_BULB_BAND))
    return (
        f"Airflow, {show.unit('airflow')}",
        f"Supply dry bulb, {d}\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}{dry}",
        f"Supply wet bulb, {d}\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}{wet}",
        f"Temperature split, {d}\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}{dry}",
        f"Rise across strips, {d}",
        "Compressor + outdoor fan, A",
        "Blower, A",
        "Strips, A",
        f"Condensate, {condensate_unit(show)}",
    )


def condensate_unit(show: Show) -> str:
    """Unit in which condensate is collected and read at the drain."""
    return "pints/h" if show.us else "L/h"


def gauge_rows(
    machines: Equipment, rig: Rig, found: Probe, air_now: Today, show: Show
) -> tuple[tuple[Reading, ...], bool]:
    """The table's rows, and whether a curve was at its limit."""
    rows, held = [], False
    for name, kind, calls, air in commissioning.cases(
        machines, found.together, found.hot_gas, air_now
    ):
        seen = rig.expect(name, kind, calls, air)
        where = ""
        if air.outdoor != air_now.outdoor:
            where = (
                f"{show(air.outdoor, 'temperature', 0)} outdoors, return "
                f"{show(air.indoor, 'temperature', 0)}"
            )
        if isinstance(seen, Refused):
            rows.append(Reading(name, where, refused=seen.why))
        else:
            held |= seen.held
            rows.append(Reading(name, where, tuple(_cells(seen, show))))
    return tuple(rows), held


def used_columns(
    gauges: tuple[str, ...], rows: tuple[Reading, ...]
) -> tuple[tuple[str, ...], tuple[Reading, ...]]:
    """The columns and rows without columns in which no mode has a reading, such as those of absent strips."""
    used = [
        k
        for k in range(len(gauges))
        if any(row.cells and row.cells[k].value != NOTHING for row in rows)
    ]
    return tuple(gauges[k] for k in used), tuple(
        attrs.evolve(row, cells=tuple(row.cells[k] for k in used if row.cells)) for row in rows
    )


def _cells(seen: Expected, show: Show) -> Iterator[Cell]:
    cooling = seen.kind in ("cooling", "reheat")
    yield _share(show.value(seen.airflow, "airflow"), AIRFLOW_BAND, show.digits("airflow"))
    yield Cell(show.number(seen.supply_temperature, "temperature", 1))
    yield Cell(show.number(seen.supply_wet_bulb, "temperature", 1) if cooling else NOTHING)
    yield Cell(show.number(seen.split, "difference"))
    yield _share(show.value(seen.strip_rise, "difference"), RISE_BAND, 1)
    yield _share(seen.amps.compressor, AMPS_BAND, 1)
    yield _share(seen.amps.blower, BLOWER_BAND, 1)
    yield _share(seen.amps.strips, AMPS_BAND, 1)
    if cooling and seen.condensate == 0.0:
        yield Cell("dry coil")
    else:
        yield _condensate(seen.condensate, show)


def dried_cells(dried: ExpectedDrying, show: Show) -> tuple[Cell, Cell, Cell]:
    """Condensate, power and current of a dehumidifier, with their pass bands."""
    return (
        _condensate(dried.condensate, show),
        _share(dried.power, AMPS_BAND, 0),
        _share(dried.amps, AMPS_BAND, 1),
    )


def _condensate(water: float, show: Show) -> Cell:
    return _share(show.value(water, "removal") / 24.0, CONDENSATE_BAND, 1 if show.us else 2)


def _share(value: float, band: float, digits: int) -> Cell:
    """A value with a pass band that is a share of the value; a dash for a machine that is off."""
    if value <= 0.0:
        return Cell(NOTHING)
    low, high = (1.0 - band) * value, (1.0 + band) * value
    return Cell(number(value, digits), f"{number(low, digits)}–{number(high, digits)}")


def entered_air(rig: Rig, air_now: Today, show: Show) -> Iterator[tuple[str, str]]:
    """Outdoor and return air for which the readings are expected, by name."""
    wet_bulb = rig.wet_bulb(air_now)
    yield "outdoors", show(air_now.outdoor, "temperature", 1)
    yield "return dry bulb", show(air_now.indoor, "temperature", 1)
    yield "return wet bulb", show(wet_bulb, "temperature", 1)


def reading_notes(rig: Rig, held: bool, show: Show) -> Iterator[str]:
    """Instructions for the readings, and the basis of their pass bands."""
    yield (
        "Run each mode for 15 min before you take readings. Measure at the air handler, out of sight of "
        "strips and coil. The split is return minus supply dry bulb. "
        f"Condensate: wait until the drain runs evenly, collect for 15 min, and multiply the "
        f"{'pints (16 fl oz each)' if show.us else 'liters'} by 4. Time the fan-off delay with a watch: "
        "from the end of the call until the blower stops."
    )
    yield (
        f"Airflow passes within {100.0 * AIRFLOW_BAND:.0f} % (ANSI/ACCA 5 QI, from memory). The other pass "
        f"bands are our own round numbers: ± {show(SUPPLY_BAND, 'difference')} for supply air, "
        f"{100.0 * RISE_BAND:.0f} % for temperature rise and amps, {100.0 * BLOWER_BAND:.0f} % for "
        f"blower amps, {100.0 * CONDENSATE_BAND:.0f} % for condensate. Amps are at "
        f"{rig.voltage:.0f} V and change with it; power factors of our own: "
        f"{commissioning.COMPRESSOR_POWER_FACTOR:g} for the compressor, "
        f"{commissioning.BLOWER_POWER_FACTOR:g} for the blower."
    )
    if held:
        yield (
            "Some of these readings are outside the range of the machine's performance curves. "
            "There the curves are held at their limits."
        )


def amps_together(
    study: Study, machines: Equipment, rig: Rig, found: Probe, air_now: Today, show: Show
) -> str:
    """The maximum current of air handler and outdoor unit together, in this weather."""
    temperatures = study.weather.frame["temp_air"]
    hot = attrs.evolve(air_now, outdoor=float(temperatures.max()))
    cold = attrs.evolve(
        air_now, outdoor=float(temperatures.min()), indoor=commissioning.HEATING_ROOM
    )
    seen = [
        rig.expect(name, kind, calls, cold if kind == "heating" else hot)
        for name, kind, calls, _ in commissioning.cases(
            machines, found.together, found.hot_gas, air_now
        )
    ]
    drawn = [one for one in seen if isinstance(one, Expected)]
    if not drawn:
        return ""
    most = max(drawn, key=lambda one: one.amps.together)
    parts = [f"{part} {amps:.1f}" for part, amps in most.amps._asdict().items() if amps > 0.0]
    return (
        f"Maximum current: {math.ceil(most.amps.together):.0f} A at {rig.voltage:.0f} V "
        f"({most.name[0].lower()}{most.name[1:]}, outdoors {show(most.outdoor, 'temperature', 1)}: "
        f"{', '.join(parts)} A). This is a running current for the electrician. It is not a "
        "breaker or wire size: those depend on starting currents, margins for continuous loads and "
        "nameplates."
    )
