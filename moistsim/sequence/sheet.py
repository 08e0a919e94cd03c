"""The sheet beside the air handler, as one description: what a page then only lays out."""

import io
import math
from collections.abc import Iterator

import attrs
import matplotlib
import pandas as pd

from moistsim.engine.heating import COLD_RATING, FROST_END
from moistsim.engine.interlocks import OUTDOOR_COLD
from moistsim.equipment import Equipment
from moistsim.figures import style
from moistsim.figures.timing import timing_figure
from moistsim.season import Season, package_version, simulate
from moistsim.sequence import commissioning
from moistsim.sequence.commissioning import (
    AMPS_BAND,
    BLOWER_BAND,
    CONDENSATE_BAND,
    DEHUMIDIFIER_VOLTAGE,
    RISE_BAND,
    SUPPLY_BAND,
    WET_BULB_BAND,
    Expected,
    Refused,
    Rig,
    Today,
)
from moistsim.sequence.probing import DRY, Probe, SetPoint, probe
from moistsim.sequence.states import Answer, answers, columns
from moistsim.sequence.winter import Winter, heats, prove
from moistsim.strategies.interface import Strategy
from moistsim.study import Study, Units
from moistsim.units import InputError, from_si

NOTHING = "–"
COLUMN_NAMES = {
    "cooling": "Cooling",
    "hot_gas": "Hot gas",
    "reheat": "Strips as reheat",
    "heating": "Heating",
    "backup": "Strips as heat",
    "dehumidifier": "Dehumidifier",
    "blower": "Blower",
    "ventilation": "Ventilation",
}


@attrs.frozen
class Cell:
    """A value to be read off an instrument, with its pass band and a box to write in."""

    value: str
    band: str = ""


@attrs.frozen
class Reading:
    """A thing that is made to run, and its cells in the order of the table's columns."""

    name: str
    detail: str = ""
    """Air flow, and outdoors where they are not those entered."""
    cells: tuple[Cell, ...] = ()
    refused: str = ""
    """Why it would not run today; then it has no cells."""


@attrs.frozen
class SetPointRow:
    """A set-point in words."""

    name: str
    on: str
    off: str
    where: str


@attrs.frozen
class StateRow:
    """A situation in words, and what it leads to, call by call."""

    name: str
    room: str
    outdoors: str
    cells: tuple[str, ...]
    note: str = ""


@attrs.frozen
class WinterRow:
    """A figure of the coldest week, with this control, with the plain thermostat, and between."""

    name: str
    option: str
    thermostat: str
    difference: str


@attrs.frozen
class Sheet:
    """All that the page holds, in the words and units in which it is read."""

    option: str
    scenario: str
    note: str
    purpose: tuple[str, str]
    facts: tuple[tuple[str, str], ...]
    version: str
    set_points: tuple[SetPointRow, ...]
    set_point_notes: tuple[str, ...]
    state_columns: tuple[str, ...]
    states: tuple[StateRow, ...]
    never: str
    """Machines that no situation calls: they have no column."""
    picture: str
    """SVG."""
    picture_title: str
    picture_text: str
    """What it shows, for who cannot see it."""
    times: tuple[tuple[str, str], ...]
    today: str
    gauges: tuple[str, ...]
    """Columns of `readings`."""
    readings: tuple[Reading, ...]
    drying: Reading | None
    """The dehumidifier: condensate, watts, amps."""
    dehumidifier_volts: str
    reading_notes: tuple[str, ...]
    winter: tuple[WinterRow, ...]
    winter_text: str
    winter_steps: tuple[str, ...]
    amps_together: str
    cautions: tuple[str, ...]


class _Show:
    """Numbers in the reader's units."""

    def __init__(self, units: Units) -> None:
        self.us = units == "us"
        self.degree = "°F" if self.us else "°C"
        self.flow_unit = "cfm" if self.us else "L/s"

    def number(self, celsius: float) -> str:
        return self.minus(f"{style.temperature(celsius, 'us' if self.us else 'si'):.1f}")

    @staticmethod
    def minus(text: str) -> str:
        """With the sign that is as wide as a plus."""
        return text.replace("-", "\N{MINUS SIGN}")

    def temperature(self, celsius: float) -> str:
        return f"{self.number(celsius)} {self.degree}"

    def difference(self, kelvin: float) -> str:
        return f"{kelvin * 1.8 if self.us else kelvin:.1f}"

    def flow(self, m3_s: float) -> str:
        return f"{from_si(m3_s, 'm3/s', 'cfm') if self.us else 1000.0 * m3_s:.0f} {self.flow_unit}"

    def power(self, watts: float) -> str:
        if self.us:
            return f"{from_si(watts, 'W', 'kBtu/h'):.3g} kBtu/h"
        return f"{watts / 1000.0:.3g} kW"

    def time(self, seconds: float) -> str:
        if seconds <= 0.0:
            return "none"
        return f"{seconds:.0f} s" if seconds < 120.0 else f"{seconds / 60.0:.3g} min"

    def read(self, value: float, reading: str) -> str:
        """A reading of the control with its unit."""
        if reading == "relative_humidity":
            return f"{value:.1f} % RH"
        return self.temperature(value)


def gather(
    study: Study,
    option: str,
    *,
    name: str = "",
    note: str = "",
    today: Today | None = None,
    units: Units = "us",
    day: str | None = None,
) -> Sheet:
    """Everything that the sheet of an option says.

    Parameters
    ----------
    study : Study
        Holds the option; its base option chooses the day of the picture.
    option : str
    name, note : str
        Of the scenario.
    today : Today, optional
        Readings that the installer enters.
    units : {"us", "si"}
    day : str, optional
        "MM-DD" or "YYYY-MM-DD" of the picture; by default the base's mild, humid day.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If there is no such option, or the season has no such day.
    """
    style.check(units)
    if option not in study.options:
        raise InputError("sequence option", option, "one of " + ", ".join(study.options))
    _check_day(study, day)
    machines, strategy = study.options[option]
    show, air_now = _Show(units), today or Today()
    found = probe(strategy, machines)
    pressure = float(study.weather.frame["pressure"].mean())
    rig = Rig(study.house, machines, strategy, pressure, found.hour, found.month)
    season = _season(study, option)
    chosen, what = _day(study, option, season, day)
    readings, drying, held = _readings(machines, rig, found, air_now, show)
    winter = (
        prove(study.house, machines, strategy, study.weather, study.step)
        if heats(machines)
        else None
    )
    came_to = answers(strategy, machines, found, rig)
    table = {
        key: [_running(key, one, machines, show) for one in came_to] for key in columns(machines)
    }
    used = [key for key, cells in table.items() if set(cells) != {NOTHING}]
    never = [COLUMN_NAMES[key].lower() for key in table if key not in used]
    return Sheet(
        option=option,
        scenario=name,
        note=" ".join(note.split()),
        purpose=_purpose(found, machines, show),
        facts=tuple(_facts(study, machines, strategy, units, show)),
        version=package_version("moistsim"),
        set_points=tuple(_set_points(found, machines, show)),
        set_point_notes=tuple(_set_point_notes(found)),
        state_columns=tuple(COLUMN_NAMES[key] for key in used),
        states=tuple(
            _state(one, tuple(table[key][k] for key in used), show) for k, one in enumerate(came_to)
        ),
        never=f"Not called in any of these: {', '.join(never)}." if never else "",
        picture=_picture(season, chosen, units, found),
        picture_title=f"{what}: {style.date(pd.Timestamp(season.minutes(chosen).index[0]))}",
        picture_text=_picture_text(season, chosen, show),
        times=tuple(_times(machines, show)),
        today=(
            f"outdoors {show.temperature(air_now.outdoor)}, {air_now.outdoor_rh:.0f} % RH; return "
            f"air {show.temperature(air_now.indoor)}, {air_now.indoor_rh:.0f} % RH"
        ),
        gauges=_gauges(show),
        readings=readings,
        drying=drying,
        dehumidifier_volts=f"{DEHUMIDIFIER_VOLTAGE:.0f}",
        reading_notes=tuple(_reading_notes(rig, held, show)),
        winter=tuple(_winter_rows(winter, machines, show)) if winter else (),
        winter_text=_winter_text(winter, study, strategy, show),
        winter_steps=tuple(_winter_steps(machines, found)) if winter else (),
        amps_together=_amps_together(study, machines, rig, found, air_now, show),
        cautions=tuple(_cautions(machines)),
    )


# ------------------------------------------------------------------------- purpose and facts


def _purpose(found: Probe, machines: Equipment, show: _Show) -> tuple[str, str]:
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


def _facts(
    study: Study, machines: Equipment, strategy: Strategy, units: Units, show: _Show
) -> Iterator[tuple[str, str]]:
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


# ------------------------------------------------------------------------------- set-points


def _set_points(found: Probe, machines: Equipment, show: _Show) -> Iterator[SetPointRow]:
    for point in found.set_points:
        above = ("above", "below") if point.rising else ("below", "above")
        what = "outdoor " if point.reading.startswith("outdoor") else ""
        what += "dew point " if point.reading == "outdoor_dew_point" else ""
        off = (
            f"{what}{above[1]} {show.read(point.off, point.reading)}"
            if point.off is not None
            else NOTHING
        )
        yield SetPointRow(
            point.level.name[0].upper() + point.level.name[1:],
            f"{what}{above[0]} {show.read(point.on, point.reading)}",
            off,
            _where(point, show),
        )
    dryer = machines.dehumidifier
    if dryer is not None and dryer.humidistat is not None:
        half = 0.5 * dryer.deadband
        yield SetPointRow(
            "Dehumidifier, own humidistat",
            f"above {dryer.humidistat + half:.1f} % RH",
            f"below {dryer.humidistat - half:.1f} % RH",
            "whatever this control calls",
        )
    enable = machines.enable
    if enable is not None:
        yield SetPointRow(
            "Hard-wired enable, own humidistat",
            f"closes above {enable.on_above:.1f} % RH",
            f"opens below {enable.off_below:.1f} % RH",
            f"while open it cuts {', '.join(enable.cuts)}, whatever is called",
        )
    if machines.cooling is not None and not found.of("fan"):
        idle = machines.cooling.idle_airflow
        rest = f"at {idle:.0%} of full flow with no call" if idle > 0.0 else "with no call"
        yield SetPointRow("Blower", "with any cooling or heating", rest, "the machine's own")
    if machines.ventilation is not None and not found.of("ventilation"):
        least = machines.ventilation.least_run
        on = f"{show.time(least)} in each hour" if least > 0.0 else "always"
        if machines.ventilation.kind == "central":
            on = "with the blower" + (
                f", {show.time(least)} in each hour at least" if least else ""
            )
        yield SetPointRow("Ventilation", on, NOTHING, "not moved by this control")


def _where(point: SetPoint, show: _Show) -> str:
    words = []
    if point.temperature is not None:
        words.append(f"room at {show.temperature(point.temperature)}")
    if point.relative_humidity is not None:
        dry = point.relative_humidity == DRY
        words.append(f"{'dry' if dry else 'humid'} air, {point.relative_humidity:.0f} % RH")
    if point.when:
        words.append(point.when)
    return "; ".join(words)


def _set_point_notes(found: Probe) -> Iterator[str]:
    yield (
        "Found by moving the control's readings slowly up and down, not copied from its settings; "
        "between ON and OFF a call stays as it was."
    )
    if any(p.off is None for p in found.set_points):
        yield f"{NOTHING}: did not turn off within the readings that were tried."


# ------------------------------------------------------------------------------ state table


def _state(answer: Answer, cells: tuple[str, ...], show: _Show) -> StateRow:
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


def _running(key: str, answer: Answer, machines: Equipment, show: _Show) -> str:
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


# ---------------------------------------------------------------------------------- picture


def _season(study: Study, option: str) -> Season:
    machines, strategy = study.options[option]
    return simulate(
        study.house, machines, strategy, study.weather,
        start=study.start, end=study.end, step=study.step,
    )  # fmt: skip


def _check_day(study: Study, day: str | None) -> None:
    """Refuse a day of the picture that the season does not have, before anything is run."""
    stamps = pd.DatetimeIndex(
        study.weather.frame.index[study.weather.between(study.start, study.end)]
    )
    days = {*stamps.strftime("%m-%d"), *stamps.strftime("%Y-%m-%d")}
    if day is not None and day not in days:
        raise InputError(
            "sequence day",
            day,
            f"a day of the season as MM-DD, from {stamps[0]:%m-%d} to {stamps[-1]:%m-%d}",
        )


def _day(study: Study, option: str, season: Season, day: str | None) -> tuple[str, str]:
    """The day of the picture, and what kind of day it is."""
    if day is not None:
        return day, "The day chosen"
    base = study.base or next(iter(study.options))
    try:
        of_base = season if base == option else _season(study, base)
        return of_base.mild_humid_day(), "A mild, humid day"
    except InputError:
        hourly = season.hourly
        dew_point = hourly["zone_dew_point_C"].groupby(pd.DatetimeIndex(hourly.index).date).mean()
        return str(dew_point.idxmax()), "The most humid day (none is mild)"


def _picture(season: Season, day: str, units: Units, found: Probe) -> str:
    """The timing picture as SVG that stands in a page: no header, no date, the same ids again."""
    rh = [p for p in found.set_points if p.reading == "relative_humidity"][:2]
    t = [
        p
        for call in ("cooling", "reheat", "hot_gas")
        for p in found.of(call, "temperature")
        if not p.when and (call != "cooling" or p.relative_humidity == DRY)
    ]
    t = [p for k, p in enumerate(t) if p.level.call not in [q.level.call for q in t[:k]]][:2]
    figure = timing_figure(
        season, day, units, rh_marks=_marks(rh, short=True), temperature_marks=_marks(t)
    )
    text = io.StringIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    with matplotlib.rc_context({"svg.hashsalt": "moistsim", "svg.fonttype": "path"}):
        figure.savefig(text, format="svg", metadata=nothing)
    svg = text.getvalue()
    return svg[svg.index("<svg") :]


def _marks(points: list[SetPoint], short: bool = False) -> list[tuple[float, str]]:
    marks = []
    for point in points:
        name = point.level.name
        name = {"reheat": "strips", "hot_gas": "hot gas"}.get(point.level.call, name.split(",")[0])
        if short and ", " in point.level.name:
            name = point.level.name.split(", ")[-1]
        marks.append((point.on, f"{name} on"))
        if point.off is not None and abs(point.off - point.on) > 0.2:
            marks.append((point.off, f"{name} off"))
    return marks


def _picture_text(season: Season, day: str, show: _Show) -> str:
    frame = season.minutes(day)
    rh, t = frame["zone_rh_pct"], frame["zone_temperature_C"]
    hours = season.step / 3600.0
    words = [
        f"Room RH from {rh.min():.0f} to {rh.max():.0f} %",
        f"room from {show.temperature(t.min())} to {show.temperature(t.max())}",
    ]
    for name, column in (
        ("cooling", "cooling_stage"),
        ("strips as reheat", "reheat_stage"),
        ("hot gas", "hot_gas_h"),
        ("heating", "heating_stage"),
        ("dehumidifier", "dehumidifier_h"),
    ):
        on = float((frame[column] > 0.0).sum()) * hours
        if on > 0.0:
            words.append(f"{name} on for {on:.1f} h")
    return "; ".join(words) + "."


# ------------------------------------------------------------------------------------ times


def _times(machines: Equipment, show: _Show) -> Iterator[tuple[str, str]]:
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


# -------------------------------------------------------------------------------- readings


def _gauges(show: _Show) -> tuple[str, ...]:
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


def _readings(
    machines: Equipment, rig: Rig, found: Probe, air_now: Today, show: _Show
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


def _cells(seen: Expected, show: _Show) -> Iterator[Cell]:
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


def _reading_notes(rig: Rig, held: bool, show: _Show) -> Iterator[str]:
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


# ---------------------------------------------------------------------------------- winter


def _winter_rows(winter: Winter, machines: Equipment, show: _Show) -> Iterator[WinterRow]:
    table = winter.table()
    names = {
        "heat_pump_h": ("Heat pump, h", machines.heating is not None),
        "frost_h": (
            f"of them with frost outdoors ({show.number(COLD_RATING)} to "
            f"{show.temperature(FROST_END)}), h",
            machines.heating is not None,
        ),
        "furnace_h": ("Furnace, h", machines.furnace is not None),
        "gas_kWh": ("Gas, kWh", machines.furnace is not None),
        "strips_h": ("Strips as heat, h", machines.strips is not None),
        "heat_kWh": ("Heat pump and strips as heat, kWh", machines.furnace is None),
        "reheat_h": ("Strips as reheat, h", machines.strips is not None),
        "total_kWh": ("All machines, kWh", True),
        "coldest_C": (f"Coldest hour of the room, {show.degree}", True),
    }
    for key, (name, there) in names.items():
        if not there:
            continue
        a, b = table[key]
        scale = 1.8 if key == "coldest_C" and show.us else 1.0
        text = show.number if key == "coldest_C" else "{:.1f}".format
        difference = f"{scale * (a - b):+.1f}"
        if float(difference) == 0.0:
            difference = "0.0" if a != b else "none"
        yield WinterRow(name, text(a), text(b), show.minus(difference))


def _winter_text(winter: Winter | None, study: Study, strategy: Strategy, show: _Show) -> str:
    if winter is None:
        return (
            "These machines have no heating: there is no winter heat and no defrost that this "
            "control could disturb. Whatever heats the house stands apart; see that it still does."
        )
    weather = study.weather.name or "this weather"
    days = f"{style.date(winter.first)} to {style.date(winter.last)}"
    colder = ""
    if winter.colder_by > 0.0:
        colder = (
            f" made {show.difference(winter.colder_by)} {show.degree} colder (as it is it brings "
            "the heat pump no frost),"
        )
    heat = winter.table()["heat_pump_h"][1] + winter.table()["furnace_h"][1]
    heat += winter.table()["strips_h"][1]
    if heat == 0.0:
        verdict = "The house called for no heat in it, so that this shows nothing about heating."
    elif winter.same:
        verdict = "Heating ran the same in every hour."
    else:
        verdict = (
            "Heat is not the same in every hour: see the differences, and in which hours this "
            "control dries while it is cold outdoors."
        )
    bare = "" if "heating_setpoint" in strategy.settings else (
        " This control names no heating set-point; the thermostat has its default."
    )  # fmt: skip
    return (
        f"The coldest week of {weather}, {days},{colder} down to "
        f"{show.temperature(winter.coldest_outdoors)} outdoors, run with this control and with a "
        f"plain thermostat of the same machines and set-points. {verdict}{bare}"
    )


def _winter_steps(machines: Equipment, found: Probe) -> Iterator[str]:
    source = (
        "heat pump" if machines.heating else "furnace" if machines.furnace else "strips as heat"
    )
    dries = bool(found.of("cooling", "relative_humidity") or found.of("dehumidifier"))
    yield (
        f"Open the humidity enable (the humidity call's circuit) and call for heat: the {source} "
        "must start as before, after no more than the waits above."
        if dries
        else f"Call for heat: the {source} must start as before, after no more than the waits above."
    )
    if found.together or found.hot_gas:
        yield (
            "With heat called, make the humidity call: the compressor must not change to cooling, "
            "and reheat must not answer."
        )
    if machines.heating is not None:
        if machines.strips is not None:
            yield (
                "Force a defrost by the machine's own test: the outdoor fan stops, the strips must "
                "temper the supply air, and no humidity call may hold them off."
            )
        else:
            yield "Force a defrost by the machine's own test: it must end by itself, as before."
        yield "When the defrost is over, heating must go on by itself; then end the call: all stops."
    if machines.strips is not None:
        yield (
            "Call for heat with the blower's circuit open: no strip may carry current. Close it, "
            "and end the call: the blower must outlast the strips."
        )
    if dries:
        yield "Close the humidity enable again, and see that heat still wins over the humidity call."


# --------------------------------------------------------------------------------- cautions


def _amps_together(
    study: Study, machines: Equipment, rig: Rig, found: Probe, air_now: Today, show: _Show
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


def _cautions(machines: Equipment) -> Iterator[str]:
    yield (
        "Local codes and licensed trades come first: nothing here permits work that they forbid. "
        "Where a maker's instructions differ from this sheet, theirs hold."
    )
    yield (
        "Mains voltage kills. Lock off and prove dead every supply (there may be two or three) "
        "before a cover comes off; current readings are for those trained to take them."
    )
    yield (
        "Low-voltage transformer: add up the VA of all coils, valves and controls that can be on "
        "at once, with what is added now; they must stay below its rating. Never join two "
        "transformers, nor low voltage and mains in one sheath."
    )
    if machines.strips is not None:
        yield (
            "Strips and compressor may draw at once: breakers and wires must be sized for both, or "
            "an interlock must keep them apart."
        )
        yield (
            "Heaters without airflow start fires: limit switches and airflow proof stay in the "
            "circuit, whatever the control says. Clean filter and open registers before any test."
        )
    yield (
        "Condensate: a float switch that stops the compressor, a trap that holds, a drain that "
        "runs; in longer drying it carries more water than before."
    )
    yield (
        "Mould grows on cold ducts and registers in humid rooms, and on what stays wet: look for "
        "sweating in the first humid week, and find the water first where mould is already."
    )
    if machines.ventilation is not None:
        yield (
            "Pressure: wherever ventilation is changed, test that chimneys and water heaters that "
            "burn fuel still draw; outdoor air must still meet the code's rate."
        )
