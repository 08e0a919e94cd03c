"""The control in words: its purpose, its setpoints, its states, its waits."""

from collections.abc import Iterator

from moistsim.controls import Strategy
from moistsim.core.units import from_si
from moistsim.engine import OUTDOOR_COLD
from moistsim.equipment import Equipment
from moistsim.figures import style
from moistsim.machine_checks import commissioning
from moistsim.sheet.probing import DRY, Probe, Setpoint
from moistsim.sheet.records import NOTHING, SetpointRow, StateRow
from moistsim.sheet.showing import Show
from moistsim.sheet.states import Answer
from moistsim.sheet.winter import heats
from moistsim.study import Study, Units


def purpose_words(found: Probe, machines: Equipment, show: Show) -> tuple[str, str]:
    """What the control is for, in two sentences."""
    humid = [p for p in found.of("cooling", "relative_humidity") if p.rising]
    dryer = [p for p in found.of("dehumidifier") if p.rising]
    does = []
    if found.of("cooling", "temperature"):
        does.append("cools")
    if found.of("heating", "temperature"):
        does.append("heats")
    ways = []
    if humid:
        way = f"cools on above {min(p.on for p in humid):.1f} % RH"
        back = [
            word
            for word, there in (("hot gas", found.hot_gas), ("the strips", bool(found.together)))
            if there
        ]
        ways.append(way + (f" while {' and '.join(back)} warm the air again" if back else ""))
    own = machines.dehumidifier and machines.dehumidifier.humidistat
    if own:
        ways.append(f"leaves the dehumidifier to its own humidistat at {own:.0f} % RH")
    elif dryer:
        ways.append(f"runs the dehumidifier above {min(p.on for p in dryer):.1f} % RH")
    first = "This control "
    first += f"{' and '.join(does)} the house by temperature" if does else "runs these machines"
    first += f"; to dry it, it {' and '.join(ways)}." if ways else "; humidity moves nothing in it."
    second = (
        "Hang this beside the air handler: it says what must run when, and what the gauges "
        "should show."
    )
    return first, second


def fact_rows(
    study: Study, machines: Equipment, strategy: Strategy, units: Units, show: Show
) -> Iterator[tuple[str, str]]:
    """House, weather, control and machines."""
    control = strategy.name.replace("_", " ")
    yield "House and weather", f"{style.place(study, units)}; the control named {control}"
    parts = []
    if machines.cooling is not None:
        sizes = " and ".join(show.power(stage.capacity) for stage in machines.cooling.stages)
        kind = "variable speed, " if machines.cooling.modulation == "variable" else ""
        parts.append(f"air conditioner, {kind}{sizes}")
    if machines.strips is not None:
        kilowatts = " + ".join(f"{watts / 1000.0:.3g}" for watts in machines.strips.powers)
        parts.append(f"strips, {kilowatts} kW at {machines.strips.voltage:.0f} V")
    if machines.hot_gas is not None:
        parts.append("hot-gas reheat coil")
    if machines.heating is not None:
        parts.append(f"heat pump, {show.power(machines.heating.capacity)}")
    if machines.furnace is not None:
        parts.append(f"gas furnace, {show.power(machines.furnace.capacity)}")
    if machines.dehumidifier is not None:
        per_day = machines.dehumidifier.capacity
        size = (
            f"{from_si(per_day, 'kg/s', 'pint/day'):.0f} pints/day"
            if show.us
            else f"{from_si(per_day, 'kg/s', 'L/day'):.0f} L/day"
        )
        parts.append(f"dehumidifier, {size}")
    if machines.ventilation is not None:
        parts.append(f"{machines.ventilation.kind} ventilation")
    yield "Machines", "; ".join(parts) or "none"


def setpoint_rows(found: Probe, machines: Equipment, show: Show) -> Iterator[SetpointRow]:
    """Each setpoint with what turns it on and off, and in which air."""
    for point in found.setpoints:
        above = ("above", "below") if point.rising else ("below", "above")
        what = "outdoor " if point.reading.startswith("outdoor") else ""
        what += "dew point " if point.reading == "outdoor_dew_point" else ""
        off = (
            f"{what}{above[1]} {show.read(point.off, point.reading)}"
            if point.off is not None
            else NOTHING
        )
        yield SetpointRow(
            point.level.name[0].upper() + point.level.name[1:],
            f"{what}{above[0]} {show.read(point.on, point.reading)}",
            off,
            _where(point, show),
        )
    dryer = machines.dehumidifier
    if dryer is not None and dryer.humidistat is not None:
        half = 0.5 * dryer.deadband
        yield SetpointRow(
            "Dehumidifier, own humidistat",
            f"above {dryer.humidistat + half:.1f} % RH",
            f"below {dryer.humidistat - half:.1f} % RH",
            "whatever this control calls",
        )
    enable = machines.enable
    if enable is not None:
        yield SetpointRow(
            "Hard-wired enable, own humidistat",
            f"closes above {enable.on_above:.1f} % RH",
            f"opens below {enable.off_below:.1f} % RH",
            f"while open it cuts {', '.join(enable.cuts)}, whatever is called",
        )
    if machines.cooling is not None and not found.of("fan"):
        idle = machines.cooling.idle_airflow
        rest = f"at {idle:.0%} of full flow with no call" if idle > 0.0 else "with no call"
        yield SetpointRow("Blower", "with any cooling or heating", rest, "the machine's own")
    if machines.ventilation is not None and not found.of("ventilation"):
        least = machines.ventilation.least_run
        on = f"{show.time(least)} in each hour" if least > 0.0 else "always"
        if machines.ventilation.kind == "central":
            on = "with the blower" + (
                f", {show.time(least)} in each hour at least" if least else ""
            )
        yield SetpointRow("Ventilation", on, NOTHING, "not moved by this control")


def _where(point: Setpoint, show: Show) -> str:
    words = []
    if point.temperature is not None:
        words.append(f"room at {show.temperature(point.temperature)}")
    if point.relative_humidity is not None:
        dry = point.relative_humidity == DRY
        words.append(f"{'dry' if dry else 'humid'} air, {point.relative_humidity:.0f} % RH")
    if point.when:
        words.append(point.when)
    return "; ".join(words)


def setpoint_notes(found: Probe) -> Iterator[str]:
    """How the setpoints were found."""
    yield (
        "Found by moving the control's readings slowly up and down, not copied from its settings; "
        "between ON and OFF a call stays as it was."
    )
    if any(p.off is None for p in found.setpoints):
        yield f"{NOTHING}: did not turn off within the readings that were tried."


def state_row(answer: Answer, cells: tuple[str, ...], show: Show) -> StateRow:
    """A situation in words, with what it leads to and why."""
    here = answer.situation
    room = f"{show.temperature(here.temperature)}, {here.relative_humidity:.0f} %"
    too_cold = commissioning.REASONS[OUTDOOR_COLD]
    notes = [why for why in answer.refused if why != too_cold or "too cold" not in here.name]
    if here.silent:
        notes.append(
            "calls stay: nothing here ends them"
            if answer.stays
            else f"so after {answer.after:.0f} min without a message"
        )
    return StateRow(
        here.name,
        room,
        show.temperature(here.outdoor),
        cells,
        "; ".join(dict.fromkeys(notes)),
    )


def state_cell(key: str, answer: Answer, machines: Equipment, show: Show) -> str:
    """What one call comes to, in a word or two."""
    running, calls = answer.running, answer.calls
    if key == "cooling":
        assert machines.cooling is not None
        count = len(machines.cooling.stages)
        if running.cooling == 0.0:
            return "held off" if calls.cooling >= 0.5 else NOTHING
        if machines.cooling.modulation == "variable" and count > 1:
            return f"speed {running.cooling:.1f} of {count}"
        return f"stage {running.cooling:.0f}" if count > 1 else "on"
    if key == "reheat":
        assert machines.strips is not None
        if running.reheat == 0.0:
            return "held off" if calls.reheat >= 0.5 else NOTHING
        if machines.strips.proportional:
            return f"{running.reheat:.1f} of {len(machines.strips.stages)} stages"
        if len(machines.strips.stages) == 1:
            return "on"
        return "stage 1" if running.reheat == 1.0 else f"stages 1–{running.reheat:.0f}"
    if key == "hot_gas":
        if running.hot_gas == 0.0:
            return "held off" if calls.hot_gas > 0.0 else NOTHING
        return f"{running.hot_gas:.0%}"
    if key == "heating":
        heat = running.heat_pump or running.furnace
        if machines.heating is None and machines.furnace is None:
            heat = running.backup
        return "on" if heat > 0.0 else "held off" if calls.heating >= 0.5 else NOTHING
    if key == "backup":
        return "all on" if running.backup > 0.0 else NOTHING
    if key == "dehumidifier":
        if running.dehumidifier == 0.0:
            return "held off" if calls.dehumidifier > 0.0 else NOTHING
        return "on"
    if key == "blower":
        assert machines.cooling is not None
        flow = running.airflow * machines.cooling.full_airflow
        return show.flow(flow) if flow > 0.0 else NOTHING
    assert machines.ventilation is not None
    if answer.ventilating.locked > 0.0:
        return "locked out"
    going = max(answer.ventilating.supply, answer.ventilating.exhaust)
    if machines.ventilation.kind == "central":
        going *= running.airflow
    return show.flow(going) if going > 0.0 else NOTHING


def wait_rows(machines: Equipment, show: Show) -> Iterator[tuple[str, str]]:
    """Waits, limits and lockouts of relays and machines."""
    cooling, strips, heating = machines.cooling, machines.strips, machines.heating
    told, drop = machines.relays.repeat_every, machines.relays.release_after
    yield (
        "Relays, if told by messages",
        (f"told again every {show.time(told)}; " if told > 0.0 else "told of changes only; ")
        + (
            f"drop out after {show.time(drop)} without a message"
            if drop is not None
            else "keep their last call if messages stop"
        ),
    )
    if cooling is not None:
        yield (
            "Compressor",
            f"runs {show.time(cooling.minimum_on)}, rests {show.time(cooling.minimum_off)} at least",
        )
        change = max(cooling.changeover_delay, cooling.minimum_off)
        if heats(machines):
            yield "Between cooling and heating", f"{show.time(change)} at least"
        yield "Cooling locked out", f"outdoors below {show.temperature(cooling.low_outdoor_limit)}"
        yield (
            "Frost on indoor coil",
            f"coil at {show.temperature(cooling.frost_limit)} stops the compressor for "
            f"{show.time(cooling.defrost_time)}",
        )
        yield "Blower runs on", show.time(cooling.fan_off_delay)
    if strips is not None:
        waits = f"for moving air {show.time(strips.proof_time)}"
        if len(strips.stages) > 1:
            waits += f"; between stages {show.time(strips.stage_delay)}"
        yield "Strips wait", waits
        if strips.least_airflow > 0.0:
            least = strips.least_airflow * sum(strips.powers)
            yield (
                "Strip limit switch",
                f"opens at {show.temperature(strips.limit_temperature)} at the elements, for "
                f"{show.time(strips.reset_time)} or more; all strips need {show.flow(least)}",
            )
        if strips.lockout_hours:
            (start, end), (first, last) = strips.lockout_hours, strips.lockout_months
            yield (
                "Strips locked out",
                f"from {start:g} to {end:g} h"
                + ("" if (first, last) == (1, 12) else f", months {first:g} to {last:g}"),
            )
    if heating is not None:
        yield (
            "Heat pump",
            f"not below {show.temperature(heating.low_outdoor_limit)} outdoors"
            + (
                f"; strips beside it only below {show.temperature(heating.backup_lockout)}"
                if heating.backup_lockout is not None
                else ""
            ),
        )
    dryer = machines.dehumidifier
    if dryer is not None:
        yield (
            "Dehumidifier",
            f"runs {show.time(dryer.minimum_on)} at least, rests {show.time(dryer.minimum_off)} at "
            f"least; stops with its air below {show.temperature(dryer.low_inlet_limit)}",
        )
        if dryer.bucket is not None:
            yield "Dehumidifier's bucket", f"{dryer.bucket:.1f} kg, then it stops"
    vent = machines.ventilation
    if vent is not None:
        locks = [
            f"{word} {show.temperature(value)}"
            for word, value in (
                ("dew point above", vent.lockout_dew_point),
                ("above", vent.lockout_above),
                ("below", vent.lockout_below),
            )
            if value is not None
        ]
        if locks:
            yield "Ventilation locked out", "outdoor " + ", or ".join(locks)
