"""Readings to expect, with their pass bands, and the maximum current."""

import math
from collections.abc import Iterator

import attrs

from moistsim.core.display import NOTHING, Show, number
from moistsim.equipment import Equipment
from moistsim.machine_checks import (
    AMPS_BAND,
    BLOWER_BAND,
    CONDENSATE_BAND,
    RISE_BAND,
    SUPPLY_BAND,
    WET_BULB_BAND,
    Expected,
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
    return (
        f"Return dry bulb, {d}",
        f"Return wet bulb, {d}",
        f"Supply dry bulb, {d}",
        f"Supply wet bulb, {d}",
        f"Temperature split, {d}",
        f"Temperature rise across strips, {d}",
        "Compressor + outdoor fan, A",
        "Blower, A",
        "Strips, A",
        "Total, A",
        f"Condensate, {show.unit('removal')}",
    )


def gauge_rows(
    machines: Equipment, rig: Rig, found: Probe, air_now: Today, show: Show
) -> tuple[tuple[Reading, ...], Reading | None, bool]:
    """The table's rows, the dehumidifier's row, and whether a curve was at its limit."""
    rows, held = [], False
    for name, kind, calls, air in commissioning.cases(
        machines, found.together, found.hot_gas, air_now
    ):
        seen = rig.expect(name, kind, calls, air)
        told = air.outdoor != air_now.outdoor
        where = f"for {show(air.outdoor, 'temperature', 1)} outdoors" if told else ""
        if isinstance(seen, Refused):
            rows.append(Reading(name, where, refused=seen.why))
        else:
            held |= seen.held
            detail = "; ".join(filter(None, (show(seen.airflow, "airflow"), where)))
            rows.append(Reading(name, detail, tuple(_cells(seen, show))))
    drying = None
    if machines.dehumidifier is not None:
        dried = rig.expect_drying(air_now)
        if isinstance(dried, Refused):
            drying = Reading("Dehumidifier", refused=dried.why)
        else:
            drying = Reading(
                "Dehumidifier",
                f"inlet air {show(dried.inlet, 'temperature', 1)}",
                (
                    _condensate(dried.condensate, show),
                    _share(dried.power, AMPS_BAND, 0),
                    _share(dried.amps, AMPS_BAND, 1),
                ),
            )
    return tuple(rows), drying, held


def _cells(seen: Expected, show: Show) -> Iterator[Cell]:
    cooling = seen.kind in ("cooling", "reheat")
    band = f"± {show.number(SUPPLY_BAND, 'difference')}"
    wet = f"± {show.number(WET_BULB_BAND, 'difference')}"
    yield Cell(show.number(seen.return_temperature, "temperature", 1), "as entered")
    yield Cell(show.number(seen.return_wet_bulb, "temperature", 1), "as entered")
    yield Cell(show.number(seen.supply_temperature, "temperature", 1), band)
    yield (
        Cell(show.number(seen.supply_wet_bulb, "temperature", 1), wet) if cooling else Cell(NOTHING)
    )
    yield Cell(show.number(seen.split, "difference"), band)
    yield _share(show.value(seen.strip_rise, "difference"), RISE_BAND, 1)
    yield _share(seen.amps.compressor, AMPS_BAND, 1)
    yield _share(seen.amps.blower, BLOWER_BAND, 1)
    yield _share(seen.amps.strips, AMPS_BAND, 1)
    yield _share(seen.amps.together, AMPS_BAND, 1)
    if cooling and seen.condensate == 0.0:
        yield Cell("none: the coil stays dry")
    else:
        yield _condensate(seen.condensate, show)


def _condensate(water: float, show: Show) -> Cell:
    return _share(show.value(water, "removal"), CONDENSATE_BAND, show.digits("removal"))


def _share(value: float, band: float, digits: int) -> Cell:
    """A value with a pass band that is a share of the value; a dash for a machine that is off."""
    if value <= 0.0:
        return Cell(NOTHING)
    low, high = (1.0 - band) * value, (1.0 + band) * value
    return Cell(number(value, digits), f"{number(low, digits)}–{number(high, digits)}")


def reading_notes(rig: Rig, held: bool, show: Show) -> Iterator[str]:
    """Instructions for the readings, and the basis of their pass bands."""
    yield (
        "Run each mode for 15 min before you take readings. Measure dry and wet bulb at the air "
        "handler, out of sight of strips and coil. The split is return minus supply dry bulb. "
        f"Condensate: wait until the drain runs evenly, collect for 15 min, and multiply the "
        f"{'pints' if show.us else 'liters'} by 96. Time the fan-off delay with a watch: from the end "
        "of the call until the blower stops."
    )
    yield (
        f"Pass bands are our own round numbers: ± {show(SUPPLY_BAND, 'difference')} for supply air, "
        f"{100.0 * RISE_BAND:.0f} % for temperature rise and amps, {100.0 * BLOWER_BAND:.0f} % for "
        f"blower amps, {100.0 * CONDENSATE_BAND:.0f} % for condensate. Amps are at "
        f"{rig.voltage:.0f} V: watts / volts for strips, and watts / (volts × power factor) for motors. "
        f"The power factors are our own: {commissioning.COMPRESSOR_POWER_FACTOR:g} for the compressor, "
        f"{commissioning.BLOWER_POWER_FACTOR:g} for the blower. Amps change with the voltage."
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
    return (
        f"Maximum current: {math.ceil(most.amps.together):.0f} A at {rig.voltage:.0f} V "
        f"({most.name[0].lower()}{most.name[1:]}, outdoors {show(most.outdoor, 'temperature', 1)}: "
        f"compressor {most.amps.compressor:.1f}, blower {most.amps.blower:.1f}, strips "
        f"{most.amps.strips:.1f} A). This is a running current for the electrician. It is not a "
        "breaker or wire size: those depend on starting currents, margins for continuous loads and "
        "nameplates."
    )
