"""The control in words: purpose, setpoints, situations, delays."""

from calendar import month_name
from collections.abc import Iterator

from moistsim.controls import Strategy, thresholds
from moistsim.core.display import NOTHING, Show, duration
from moistsim.core.units import Role
from moistsim.engine import OUTDOOR_COLD, column_catalog
from moistsim.equipment import (
    MAIN_FLOOR,
    Cooling,
    Dehumidifier,
    Equipment,
    System,
    fan_off_delay,
    fan_switch,
)
from moistsim.figures import style
from moistsim.house import SPACES, WING
from moistsim.machine_checks import commissioning
from moistsim.season import Season
from moistsim.sheet.probing import DRY, Probe, Setpoint
from moistsim.sheet.records import SetpointRow, StateRow
from moistsim.sheet.states import Answer
from moistsim.sheet.winter import heats
from moistsim.study import Study, house_words


def purpose_words(found: Probe, machines: Equipment, show: Show) -> tuple[str, str]:
    """The purpose of the control and of the sheet."""
    humid = [p for p in found.of("cooling", "relative_humidity") if p.rising]
    dehumidifier = [p for p in found.of("dehumidifier") if p.rising]
    does = []
    if found.of("cooling", "temperature"):
        does.append("cools")
    if found.of("heating", "temperature"):
        does.append("heats")
    ways = []
    if humid:
        way = f"keeps cooling above {percent(min(p.on for p in humid))}"
        back = [
            word
            for word, there in (("hot gas", found.hot_gas), ("the strips", bool(found.together)))
            if there
        ]
        reheats = "reheats" if back == ["hot gas"] else "reheat"
        ways.append(way + (f" while {' and '.join(back)} {reheats} the air" if back else ""))
    own = machines.dehumidifier and machines.dehumidifier.humidistat
    if own:
        ways.append(f"leaves the dehumidifier to its own humidistat, set to {percent(own)}")
    elif dehumidifier:
        ways.append(f"runs the dehumidifier above {percent(min(p.on for p in dehumidifier))}")
    first = "This control "
    first += f"{' and '.join(does)} the house by temperature." if does else "runs these machines."
    first += (
        f" To dry it, it {' and '.join(ways)}." if ways else " It does not respond to humidity."
    )
    second = (
        "Post this sheet next to the air handler. It shows which equipment must run when, and which "
        "readings to expect."
    )
    return first, second


def zone_rows(season: Season) -> Iterator[tuple[str, str]]:
    """Zones of a house of two, their thermostats, and the season's hours in each."""
    zone, machines, meter = season.house.second_zone, season.equipment, season.meter
    if zone is None:
        return
    where = f"thermostat on the {zone.kind}"
    if zone.kind == WING:
        where = f"thermostat in the {zone.kind}"
    if machines.sensor.place == "return":
        where = "sensor in the return duct"
    elif machines.sensor.zone == MAIN_FLOOR:
        where = f"thermostat on the {MAIN_FLOOR}"
    if machines.zoning is not None:
        where = "a thermostat and a damper in each zone"
    if machines.second_system is not None:
        where = "a system with a thermostat of its own in each zone"
    yield "Zones", f"{MAIN_FLOOR} and {zone.kind}, {100.0 * zone.share:.0f} % of the floor; {where}"
    hours = (
        f"{words}: {meter.of(main):.0f} h and {meter.of(second):.0f} h"
        for words, (main, second) in zip(
            ("above 60 % RH", "too warm", "too cool", "too cold"),
            column_catalog.IN_BOTH_ZONES,
            strict=True,
        )
        if meter.holds(main) and meter.holds(second)
    )
    if machines.second_system is not None:
        rows = column_catalog.second_rows(meter.second_system)
        said = (f"{label.replace(', second system', '')}: {value:,.0f}" for label, value in rows)
        yield f"Season, system of the {zone.kind}", "; ".join(said)
    yield f"Season, {MAIN_FLOOR} and {zone.kind}", "; ".join(hours)


def fact_rows(study: Study, option: str, show: Show) -> Iterator[tuple[str, str]]:
    """House, weather, control and machines."""
    machines, strategy, _ = study.resolved[option]
    control = strategy.name.replace("_", " ")
    yield "House and weather", style.place(study, show)
    changes = house_words(study, option, show)
    if changes:
        yield "Changes to the house", "; ".join(changes)
    yield "Control", control
    parts = [*system_words(machines, show)]
    for place, own in own_dehumidifiers(machines):
        parts.append(f"dehumidifier in the {place}, {show(own.capacity, 'removal', 0)}")
    if machines.ventilation is not None:
        parts.append(f"{machines.ventilation.kind} ventilation")
    yield "Machines", "; ".join(parts) or "none"
    second = machines.second_system
    if second is not None:
        words = "; ".join(system_words(second, show)) or "no machine"
        yield "Second system", f"{words}. This sheet is for the first system, in the main zone"


def system_words(machines: System, show: Show) -> Iterator[str]:
    """The machines of one system in words."""
    if machines.cooling is not None:
        sizes = " and ".join(show(stage.capacity, "capacity") for stage in machines.cooling.stages)
        kind = "variable speed, " if machines.cooling.modulation == "variable" else ""
        yield f"air conditioner, {kind}{sizes}"
    if machines.strips is not None:
        kilowatts = " + ".join(f"{watts / 1000.0:.3g}" for watts in machines.strips.powers)
        yield f"strips, {kilowatts} kW at {machines.strips.voltage:.0f} V"
    if machines.hot_gas is not None:
        yield "hot-gas reheat coil"
    if machines.heating is not None:
        yield f"heat pump, {show(machines.heating.capacity, 'capacity')}"
    if machines.furnace is not None:
        yield f"gas furnace, {show(machines.furnace.capacity, 'capacity')}"
    if isinstance(machines, Equipment) and machines.room_heater is not None:
        yield f"room heater, {show(machines.room_heater.capacity, 'capacity')}"
    if machines.dehumidifier is not None:
        size = show(machines.dehumidifier.capacity, "removal", 0)
        yield f"dehumidifier, {size}"


def setpoint_rows(found: Probe, machines: Equipment, show: Show) -> Iterator[SetpointRow]:
    """Each setpoint: where it turns on, where it turns off, and in which air."""
    for point in found.setpoints:
        above = ("above", "below") if point.rising else ("below", "above")
        what = "outdoor " if point.reading.startswith("outdoor") else ""
        what += "dew point " if point.reading == "outdoor_dew_point" else ""
        off = (
            f"{what}{above[1]} {_reading(point.off, point.reading, show)}"
            if point.off is not None
            else NOTHING
        )
        yield SetpointRow(
            point.level.name[0].upper() + point.level.name[1:],
            f"{what}{above[0]} {_reading(point.on, point.reading, show)}",
            off,
            _where(point, show),
            "no deadband" if point.restarts else "",
        )
    dehumidifier = machines.dehumidifier
    if dehumidifier is not None and dehumidifier.humidistat is not None:
        half = 0.5 * dehumidifier.deadband
        yield SetpointRow(
            "Dehumidifier, own humidistat",
            f"above {percent(dehumidifier.humidistat + half)}",
            f"below {percent(dehumidifier.humidistat - half)}",
            "independent of this control",
        )
    for place, own in own_dehumidifiers(machines):
        assert own.humidistat is not None
        half = 0.5 * own.deadband
        yield SetpointRow(
            f"Dehumidifier in the {place}, own humidistat",
            f"above {percent(own.humidistat + half)}",
            f"below {percent(own.humidistat - half)}",
            f"air of the {place}; independent of this control",
        )
    enable = machines.enable
    if enable is not None:
        yield SetpointRow(
            "Hard-wired enable, own humidistat",
            f"closes above {percent(enable.on_above)}",
            f"opens below {percent(enable.off_below)}",
            f"open contact blocks {', '.join(enable.cuts)}, whatever the control calls",
        )
    if machines.cooling is not None and not found.of("fan"):
        on, off = blower_words(machines.cooling)
        yield SetpointRow("Blower", on, off, "thermostat fan switch")
    if machines.ventilation is not None and not found.of("ventilation"):
        least = machines.ventilation.least_run
        on = f"{duration(least)} of each hour" if least > 0.0 else "always"
        if machines.ventilation.kind == "central":
            on = "with the blower" + (f", at least {duration(least)} of each hour" if least else "")
        yield SetpointRow("Ventilation", on, NOTHING, "independent of this control")


def own_dehumidifiers(machines: Equipment) -> Iterator[tuple[str, Dehumidifier]]:
    """Dehumidifiers in spaces next to the house, by place in words."""
    for space in SPACES:
        own = getattr(machines, f"{space}_dehumidifier", None)
        if own is not None:
            yield space.replace("_", " "), own


def blower_words(cooling: Cooling) -> tuple[str, str]:
    """When the blower runs and when it stops, by the thermostat's fan switch."""
    if cooling.fan == "on":
        return "always (fan ON)", NOTHING
    runs = "with any cooling or heating"
    if cooling.fan == "circulation":
        runs += f", and at least {duration(cooling.circulation)} of each hour (circulation)"
        return runs, "with no call, once the hour’s time is met"
    return f"{runs} (fan AUTO)", "with no call, after the fan-off delay"


def _reading(value: float, reading: str, show: Show) -> str:
    """A reading of the control with its unit."""
    return percent(value) if reading == "relative_humidity" else show(value, "temperature", 1)


def percent(value: float) -> str:
    """A relative humidity, with a digit after the point only where it is not whole."""
    return f"{value:.0f} % RH" if abs(value - round(value)) < 0.05 else f"{value:.1f} % RH"


def setting_rows(machines: Equipment, strategy: Strategy, show: Show) -> Iterator[tuple[str, str]]:
    """Settings to enter at the control and at a machine's own humidistat: temperatures and RH."""
    for name, declared in strategy.declared.items():
        if declared.role in (Role.COOLING, Role.HEATING):
            yield name.replace("_", " "), _dial(strategy.settings[name], show)
    for one in thresholds(machines, strategy):
        owner = "" if one.owner == "strategy" else f"{one.owner}, "
        value = percent(one.value) if one.unit == "percent" else _dial(one.value, show)
        yield owner + one.name.replace("_", " ").replace(" rh", " RH"), value
    for place, own in own_dehumidifiers(machines):
        assert own.humidistat is not None
        yield f"dehumidifier in the {place}, humidistat", percent(own.humidistat)


def _dial(value: float, show: Show) -> str:
    """A temperature as a thermostat is set: whole or half degrees as such."""
    shown = float(show.value(value, "temperature"))
    whole = abs(shown - round(shown)) < 0.05
    return show(value, "temperature", 0 if whole else 1)


def _where(point: Setpoint, show: Show) -> str:
    words = []
    if point.temperature is not None:
        words.append(f"room at {show(point.temperature, 'temperature', 1)}")
    if point.relative_humidity is not None:
        dry = point.relative_humidity == DRY
        words.append(f"{'dry' if dry else 'humid'} air, {point.relative_humidity:.0f} % RH")
    if point.when:
        words.append(point.when)
    return "; ".join(words)


def setpoint_notes(found: Probe) -> Iterator[str]:
    """The method behind the setpoints."""
    yield (
        "These setpoints were found by moving the control's readings slowly up and down. They are "
        "not copied from its settings. Between ON and OFF a call keeps its state."
    )
    if any(p.off is None for p in found.setpoints):
        yield f"{NOTHING}: did not turn off at any reading tried."


def restart_notes(found: Probe) -> Iterator[str]:
    """The consequence of setpoints without a deadband."""
    if any(p.restarts for p in found.setpoints):
        yield (
            "No deadband: the call turns on and off at one reading, again and again, as often as the "
            "minimum times of the machine allow. Give it a deadband before you wire it."
        )


def state_row(answer: Answer, cells: tuple[str, ...], show: Show) -> StateRow:
    """A situation, the state that it leads to, and the reasons."""
    here = answer.situation
    room = f"{show(here.temperature, 'temperature', 1)}, {here.relative_humidity:.0f} %"
    too_cold = commissioning.REASONS[OUTDOOR_COLD]
    edge = "no deadband: on and off in turn"
    notes = [edge] if here.restarts else []
    notes += [why for why in answer.refused if why != too_cold or "too cold" not in here.name]
    if here.silent:
        notes.append(
            "calls continue: nothing ends them"
            if answer.stays
            else f"from {duration(60.0 * answer.after)} without a message"
        )
    return StateRow(
        here.name,
        room,
        show(here.outdoor, "temperature", 1),
        cells,
        "; ".join(dict.fromkeys(notes)),
    )


def state_cell(key: str, answer: Answer, machines: Equipment, show: Show) -> str:
    """The state of one machine, in a word or two."""
    running, calls = answer.running, answer.calls
    if key == "cooling":
        assert machines.cooling is not None
        count = len(machines.cooling.stages)
        if running.cooling == 0.0:
            return "blocked" if calls.cooling >= 0.5 else NOTHING
        if machines.cooling.modulation == "variable" and count > 1:
            return f"speed {running.cooling:.1f} of {count}"
        return f"stage {running.cooling:.0f}" if count > 1 else "on"
    if key == "reheat":
        assert machines.strips is not None
        if running.reheat == 0.0:
            return "blocked" if calls.reheat >= 0.5 else NOTHING
        if machines.strips.proportional:
            return f"{running.reheat:.1f} of {len(machines.strips.stages)} stages"
        if len(machines.strips.stages) == 1:
            return "on"
        return "stage 1" if running.reheat == 1.0 else f"stages 1–{running.reheat:.0f}"
    if key == "hot_gas":
        if running.hot_gas == 0.0:
            return "blocked" if calls.hot_gas > 0.0 else NOTHING
        return f"{100.0 * running.hot_gas:.0f} %"
    if key == "heating":
        heat = running.heat_pump or running.furnace
        if machines.room_heater is not None:
            heat = running.heating
        elif machines.heating is None and machines.furnace is None:
            heat = running.backup
        return "on" if heat > 0.0 else "blocked" if calls.heating >= 0.5 else NOTHING
    if key == "backup":
        return "all on" if running.backup > 0.0 else NOTHING
    if key == "dehumidifier":
        if running.dehumidifier == 0.0:
            return "blocked" if calls.dehumidifier > 0.0 else NOTHING
        return "on"
    if key == "blower":
        assert machines.cooling is not None
        flow = running.airflow * machines.cooling.full_airflow
        return show(flow, "airflow") if flow > 0.0 else NOTHING
    assert machines.ventilation is not None
    if answer.ventilating.locked > 0.0:
        return "locked out"
    going = max(answer.ventilating.supply, answer.ventilating.exhaust)
    if machines.ventilation.kind == "central":
        going *= running.airflow
    return show(going, "airflow") if going > 0.0 else NOTHING


def _minimum_times(on: float, off: float) -> str:
    return f"minimum on time {duration(on)}, minimum off time {duration(off)}"


def _clock(hour: float) -> str:
    """Time of day as a clock shows it."""
    minutes = round(60.0 * hour)
    return f"{minutes // 60}:{minutes % 60:02d}"


def wait_rows(machines: Equipment, show: Show) -> Iterator[tuple[str, str]]:
    """Delays, limits and lockouts of relays and machines."""
    cooling, strips, heating = machines.cooling, machines.strips, machines.heating
    told, drop = machines.relays.repeat_every, machines.relays.release_after
    yield (
        "Relays controlled by messages",
        (f"message repeats every {duration(told)}; " if told > 0.0 else "message on changes only; ")
        + (
            f"relays release after {duration(drop)} without a message"
            if drop is not None
            else "relays keep the last call if messages stop"
        ),
    )
    if cooling is not None:
        yield (
            "Compressor",
            _minimum_times(cooling.minimum_on, cooling.minimum_off),
        )
        change = max(cooling.changeover_delay, cooling.minimum_off)
        if heats(machines):
            yield "Changeover delay, cooling and heating", f"at least {duration(change)}"
        limit = show(cooling.low_outdoor_limit, "temperature", 1)
        yield "Low-ambient lockout of cooling", f"outdoors below {limit}"
        yield (
            "Indoor coil frost limit",
            f"coil at {show(cooling.frost_limit, 'temperature', 1)} stops the compressor for "
            f"{duration(cooling.defrost_time)}",
        )
        yield "Thermostat fan switch", fan_switch(cooling)
        delay = fan_off_delay(machines)
        if strips is not None and cooling.fan_off_delay == 0.0:
            delay += "; after strips the blower must run on until the elements are cool"
        yield "Fan-off delay (blower delay)", delay
    if strips is not None:
        delays = f"airflow proof {duration(strips.proof_time)}"
        if len(strips.stages) > 1:
            delays += f"; between stages {duration(strips.stage_delay)}"
        yield "Strip delays", delays
        if strips.least_airflow > 0.0:
            least = strips.least_airflow * sum(strips.powers)
            yield (
                "Strip limit switch",
                f"opens at {show(strips.limit_temperature, 'temperature', 0)} next to the elements, for at least "
                f"{duration(strips.reset_time)}; all strips together need {show(least, 'airflow')}",
            )
        if strips.lockout_hours:
            (start, end), (first, last) = strips.lockout_hours, strips.lockout_months
            yield (
                "Strip lockout",
                f"from {_clock(start)} to {_clock(end)}"
                + (
                    ""
                    if (first, last) == (1, 12)
                    else f", {month_name[int(first)]} to {month_name[int(last)]}"
                ),
            )
    if heating is not None:
        yield (
            "Heat pump",
            f"low-ambient lockout below {show(heating.low_outdoor_limit, 'temperature', 0)} outdoors"
            + (
                "; auxiliary-heat lockout above "
                f"{show(heating.backup_lockout, 'temperature', 0)} outdoors"
                if heating.backup_lockout is not None
                else ""
            ),
        )
    dehumidifier = machines.dehumidifier
    if dehumidifier is not None:
        yield (
            "Dehumidifier",
            _minimum_times(dehumidifier.minimum_on, dehumidifier.minimum_off)
            + f"; stops at inlet air below {show(dehumidifier.low_inlet_limit, 'temperature', 0)}",
        )
        if dehumidifier.bucket is not None:
            yield "Dehumidifier bucket", f"stops at {show(dehumidifier.bucket, 'water', 1)}"
    vent = machines.ventilation
    if vent is not None:
        locks = [
            f"{word} {show(value, 'temperature', 1)}"
            for word, value in (
                ("outdoor dew point above", vent.lockout_dew_point),
                ("outdoors above", vent.lockout_above),
                ("outdoors below", vent.lockout_below),
            )
            if value is not None
        ]
        if locks:
            yield "Ventilation lockout", ", or ".join(locks)
