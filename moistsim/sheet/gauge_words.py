"""What the gauges should show, in cells with their pass bands, and the amps together."""

import math
from collections.abc import Iterator

import attrs

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
from moistsim.sheet.records import NOTHING, Cell, Reading
from moistsim.sheet.showing import Show
from moistsim.study import Study


def gauge_names(show: Show) -> tuple[str, ...]:
    """Columns of the table of gauges."""
    d = show.degree
    return (
        f"Return dry bulb, {d}",
        f"Return wet bulb, {d}",
        f"Supply dry bulb, {d}",
        f"Supply wet bulb, {d}",
        f"Split, {d}",
        f"Rise across strips, {d}",
        "Compressor + outdoor fan, A",
        "Blower, A",
        "Strips, A",
        "All together, A",
        "Condensate, ml/min",
    )


def gauge_rows(
    machines: Equipment, rig: Rig, found: Probe, air_now: Today, show: Show
) -> tuple[tuple[Reading, ...], Reading | None, bool]:
    """The table's rows, the dehumidifier's, and whether a curve was at its limit."""
    rows, held = [], False
    for name, kind, calls, air in commissioning.cases(
        machines, found.together, found.hot_gas, air_now
    ):
        seen = rig.expect(name, kind, calls, air)
        told = air.outdoor != air_now.outdoor
        where = f"told for {show.temperature(air.outdoor)} outdoors" if told else ""
        if isinstance(seen, Refused):
            rows.append(Reading(name, where, refused=seen.why))
        else:
            held |= seen.held
            detail = "; ".join(filter(None, (show.flow(seen.airflow), where)))
            rows.append(Reading(name, detail, tuple(_cells(seen, show))))
    drying = None
    if machines.dehumidifier is not None:
        dried = rig.expect_drying(air_now)
        if isinstance(dried, Refused):
            drying = Reading("Dehumidifier", refused=dried.why)
        else:
            drying = Reading(
                "Dehumidifier",
                f"its air at {show.temperature(dried.inlet)}",
                (
                    _share(60e3 * dried.condensate, CONDENSATE_BAND, "{:.0f}"),
                    _share(dried.power, AMPS_BAND, "{:.0f}"),
                    _share(dried.amps, AMPS_BAND, "{:.1f}"),
                ),
            )
    return tuple(rows), drying, held


def _cells(seen: Expected, show: Show) -> Iterator[Cell]:
    cooling = seen.kind in ("cooling", "reheat")
    band = f"± {show.difference(SUPPLY_BAND)}"
    wet = f"± {show.difference(WET_BULB_BAND)}"
    yield Cell(show.number(seen.return_temperature), "as entered")
    yield Cell(show.number(seen.return_wet_bulb), "as entered")
    yield Cell(show.number(seen.supply_temperature), band)
    yield Cell(show.number(seen.supply_wet_bulb), wet) if cooling else Cell(NOTHING)
    yield Cell(show.minus(show.difference(seen.split)), band)
    scale = 1.8 if show.us else 1.0
    yield _share(scale * seen.strip_rise, RISE_BAND, "{:.1f}")
    yield _share(seen.amps.compressor, AMPS_BAND, "{:.1f}")
    yield _share(seen.amps.blower, BLOWER_BAND, "{:.1f}")
    yield _share(seen.amps.strips, AMPS_BAND, "{:.1f}")
    yield _share(seen.amps.together, AMPS_BAND, "{:.1f}")
    if cooling and seen.condensate == 0.0:
        yield Cell("none: the coil stays dry")
    else:
        yield _share(60e3 * seen.condensate, CONDENSATE_BAND, "{:.0f}")


def _share(value: float, band: float, spec: str) -> Cell:
    """A value with a band that is a share of it; nothing where there is none."""
    if value <= 0.0:
        return Cell(NOTHING)
    low, high = (1.0 - band) * value, (1.0 + band) * value
    return Cell(spec.format(value), f"{spec.format(low)}–{spec.format(high)}")


def reading_notes(rig: Rig, held: bool, show: Show) -> Iterator[str]:
    """How to read the gauges, and whose the pass bands are."""
    yield (
        "Let each run for 15 min before you read it, and until the drain runs evenly before the "
        "bucket. Measure dry and wet bulb at the air handler, out of sight of strips and coil; the "
        "split is return less supply dry bulb."
    )
    yield (
        f"Pass bands are our own round figures: ± {show.difference(SUPPLY_BAND)} {show.degree} on "
        f"supply air, {RISE_BAND:.0%} on rise and amps, {BLOWER_BAND:.0%} on the blower's amps, "
        f"{CONDENSATE_BAND:.0%} on condensate. Amps at {rig.voltage:.0f} V: strips are watts / volts; "
        f"compressor and blower watts / (volts × {commissioning.COMPRESSOR_POWER_FACTOR:g} and "
        f"{commissioning.BLOWER_POWER_FACTOR:g}), power factors of our own. Where volts differ from "
        "these, so do amps."
    )
    if held:
        yield "Some of these readings lie beyond the machine's curves, which are held at their limit."


def amps_together(
    study: Study, machines: Equipment, rig: Rig, found: Probe, air_now: Today, show: Show
) -> str:
    """The most that the air handler and the outdoor unit draw at once, in this weather."""
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
        f"Most amps at once: {math.ceil(most.amps.together):.0f} A at {rig.voltage:.0f} V "
        f"({most.name[0].lower()}{most.name[1:]}, outdoors {show.temperature(most.outdoor)}: "
        f"compressor {most.amps.compressor:.1f}, blower {most.amps.blower:.1f}, strips "
        f"{most.amps.strips:.1f} A). This is a running current for the electrician, not a breaker "
        "or wire size: starting currents, margins for continuous loads and the nameplates decide "
        "those."
    )
