"""Knobs of the desk: each reads one value of a scenario and gives the changes that set another one."""

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any, NamedTuple, cast

import attrs

from moistsim.core.display import Units
from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.units import Role, from_si, to_si
from moistsim.equipment import Cooling, Stage, Ventilation, ashrae_62_2_rate
from moistsim.scenario import PLACES, Scenario, covers, quoted
from moistsim.study import Option
from moistsim.weather import Weather

Changes = dict[str, Any]
"""Values by the names of `Study.evolve`."""


class Scale(NamedTuple):
    """A slider in one unit."""

    unit: str
    """Unit in the spelling of the unit registry; empty for that of the description."""
    sign: str
    """Unit as a reader writes it."""
    low: float
    high: float
    step: float


class Knob(NamedTuple):
    """One slider or list of the desk."""

    name: str
    group: str
    label: str
    value: Callable[[Scenario], Any]
    """The value in SI, or a word of a list; None where the scenario has none."""
    changes: Callable[[Scenario, Any], Changes]
    """The changes of the study that set a value."""
    keys: tuple[str, ...]
    """Names of the values that a move states, as in a scenario file."""
    unit: str = ""
    """SI unit of the value, a key of `units.KINDS`; empty for a list."""
    us: Scale | None = None
    si: Scale | None = None
    words: tuple[tuple[str, str], ...] = ()
    """Values of a list, each with its text on the page."""
    needs: str = ""
    """What a scenario without this knob lacks."""

    def scale(self, units: Units) -> Scale:
        """The slider in the reader's units."""
        found = self.us if units == "us" else self.si
        assert found is not None
        return found

    def shown(self, scenario: Scenario, units: Units) -> Any:
        """The value in the unit of the slider; None where the scenario has none."""
        value = self.value(scenario)
        if self.words or value is None:
            return value
        unit = self.scale(units).unit
        return from_si(value, self.unit, unit) if unit else value

    def taken(self, value: Any, scenario: Scenario, units: Units) -> Any:
        """A value from the page, in SI.

        Raises
        ------
        InputError
            If the scenario has no such value, or this is none.
        """
        if self.value(scenario) is None:
            lacking = Problem(f"the scenario has no {self.needs}")
            raise InputError(self.label, lacking, "a scenario that has one")
        if self.words:
            known = {**dict(self.words), self.value(scenario): ""}
            if value not in list(known):
                raise InputError(self.label, value, one_of(str(value), known))
            return value
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(self.label, value, "a number")
        unit = self.scale(units).unit
        return to_si(f"{value!r} {unit}" if unit else float(value), self.unit, self.label)


def _first(read: Callable[[Option], Any]) -> Callable[[Scenario], Any]:
    """Reads the value of the base option, or of the first option that has one."""

    def value(scenario: Scenario) -> Any:
        options = scenario.study.resolved
        base = options[scenario.study.base or next(iter(options))]
        found = (read(option) for option in (base, *options.values()))
        return next((value for value in found if value is not None), None)

    return value


def _at(*path: str) -> Callable[[Option], Any]:
    """Reads a value of an option by the names of its parts."""

    def read(option: Option) -> Any:
        found: Any = option
        for name in path:
            found = None if found is None else getattr(found, name)
        return found

    return read


def _sets(*names: str) -> Callable[[Scenario, Any], Changes]:
    """Sets the first name to the value, and the other ways of stating it to nothing."""
    return lambda _, value: {names[0]: value, **dict.fromkeys(names[1:])}


def _in_each(
    part: str, read: Callable[[Option], Any], made: Callable[[Any, float], Any], *, times: bool
) -> Callable[[Scenario, Any], Changes]:
    """Changes a machine of each option that has it, by the ratio or the difference to the shown value.

    So options whose machines differ in size keep their ratio.
    """

    def changes(scenario: Scenario, value: float) -> Changes:
        shown = _first(read)(scenario)
        by = value / shown if times else value - shown
        return {
            f"options.{name}.equipment.{part}": made(getattr(option.equipment, part), by)
            for name, option in scenario.study.resolved.items()
            if read(option) is not None
        }

    return changes


# The air conditioner


def _with_stages(unit: Cooling, stages: list[Stage]) -> Cooling:
    """The unit with other stages; fields at their defaults follow them, as the coil's face does."""
    kept = {}
    for field in attrs.fields(cast(Any, Cooling)):
        value, default = getattr(unit, field.name), field.default
        follows = isinstance(default, attrs.Factory) and default.takes_self  # type: ignore[arg-type]
        if not (follows and default.factory(unit) == value):
            kept[field.name] = value
    return Cooling(**{**kept, "stages": stages})


def _resized(stage: Stage, times: float) -> Stage:
    """A stage of another size, at its airflow per capacity."""
    return stage.evolve(capacity=stage.capacity * times, airflow=stage.airflow * times)


STAGE_1 = 0.7
"""Capacity, and airflow, of stage 1 over those of stage 2 in a unit that the desk gives a second stage;
round figure of our own. Both stages then have the same rated COP and the same rated SHR."""


def _top(field: str) -> Callable[[Option], Any]:
    def read(option: Option) -> Any:
        unit = option.equipment.cooling
        return None if unit is None else getattr(unit.stages[-1], field)

    return read


def _stages(option: Option) -> str | None:
    unit = option.equipment.cooling
    return None if unit is None else str(len(unit.stages))


def _set_stages(scenario: Scenario, value: str) -> Changes:
    found = {}
    for name, option in scenario.study.resolved.items():
        unit = option.equipment.cooling
        if unit is not None and str(len(unit.stages)) != value:
            top = unit.stages[-1]
            stages = [top] if value == "1" else [_resized(top, STAGE_1), top]
            found[f"options.{name}.equipment.cooling"] = _with_stages(unit, stages)
    return found


def _bigger(unit: Cooling, times: float) -> Cooling:
    return _with_stages(unit, [_resized(stage, times) for stage in unit.stages])


def _more_sensible(unit: Cooling, more: float) -> Cooling:
    stages = [stage.evolve(shr=stage.shr + more) for stage in unit.stages]
    return unit.evolve(stages=stages)


# Other machines, controls, prices and the place


def _ventilation(option: Option) -> float:
    it, house = option.equipment.ventilation, option.house
    if it is None:
        return 0.0
    return ashrae_62_2_rate(house.floor_area, house.bedrooms) if it.airflow is None else it.airflow


def _set_ventilation(scenario: Scenario, value: float) -> Changes:
    """Sets the airflow of each option's fan. An option without one gets a supply fan."""
    return {
        f"options.{name}.equipment.ventilation": Ventilation(airflow=value, kind="supply")
        if option.equipment.ventilation is None
        else option.equipment.ventilation.evolve(airflow=value)
        for name, option in scenario.study.resolved.items()
        if value > 0.0 or option.equipment.ventilation is not None
    }


def _strips(option: Option) -> float | None:
    strips = option.equipment.strips
    return None if strips is None else sum(strips.stages)


def _stronger(strips: Any, times: float) -> Any:
    return strips.evolve(stages=[power * times for power in strips.stages])


def _bigger_box(box: Any, times: float) -> Any:
    return box.evolve(capacity=box.capacity * times, airflow=box.airflow * times)


def _setpoint(role: Role) -> tuple[Callable[[Scenario], Any], Callable[[Scenario, Any], Changes]]:
    """The first setpoint of a role; a move sets that of every option to one value."""

    def changes(scenario: Scenario, value: float) -> Changes:
        names = {
            name: option.strategy.name_of(role) for name, option in scenario.study.resolved.items()
        }
        return {
            f"options.{name}.strategy.{setting}": value
            for name, setting in names.items()
            if setting is not None
        }

    return _first(lambda option: option.strategy.setpoint(role)), changes


@lru_cache(maxsize=len(PLACES))
def _weather(sample: str) -> Weather:
    return Weather.sample(sample)


def _price(scenario: Scenario) -> float | None:
    tariff = scenario.study.tariff
    return tariff.price if tariff.is_flat else None


def _set_place(scenario: Scenario, value: str) -> Changes:
    return {} if value == str(scenario.weather) else {"weather": _weather(value)}


def _one(unit: str, sign: str, low: float, high: float, step: float) -> tuple[Scale, Scale]:
    """One slider for readers of both systems of units."""
    return (Scale(unit, sign, low, high, step),) * 2


# fmt: off
KNOBS = (
    Knob("place", "House", "Weather", lambda scenario: str(scenario.weather), _set_place, ("weather",),
         words=tuple((name, name.replace("_", " ").title()) for name in PLACES)),
    Knob("floor_area", "House", "Floor area", _first(_at("house", "floor_area")), _sets("house.floor_area"), ("house.floor_area",), "m2",
         Scale("ft2", "ft²", 500, 5000, 50), Scale("m2", "m²", 50, 460, 5)),
    Knob("ach50", "House", "Air leakage", _first(_at("house", "changes_at_50_pa")), _sets("house.ach50", "house.leakage.cfm50", "house.leakage.effective_area"),
         ("house.ach50", "house.leakage.cfm50", "house.leakage.effective_area"), "1/hour", *_one("", "ACH50", 0.5, 15, 0.1)),
    Knob("people", "House", "People", _first(_at("house", "gains", "occupants")), _sets("house.gains.occupants"), ("house.gains.occupants",), "count",
         *_one("", "", 0, 10, 1)),
    Knob("moisture", "House", "Household moisture", _first(_at("house", "moisture_gain")), _sets("house.gains.moisture"), ("house.gains.moisture",), "kg/s",
         Scale("pint/day", "pints/day", 0, 60, 0.5), Scale("kg/day", "L/day", 0, 28, 0.2)),
    Knob("ventilation", "House", "Mechanical ventilation", _first(_ventilation), _set_ventilation, ("equipment.ventilation.airflow",), "m3/s",
         Scale("cfm", "cfm", 0, 250, 5), Scale("L/s", "L/s", 0, 120, 1)),
    Knob("kind", "House", "Kind of ventilation", _first(_at("equipment", "ventilation", "kind")), _sets("equipment.ventilation.kind"), ("equipment.ventilation.kind",),
         words=(("supply", "supply fan"), ("exhaust", "exhaust fan"), ("balanced", "balanced")), needs="mechanical ventilation"),
    Knob("capacity", "Air conditioner", "Capacity", _first(_top("capacity")), _in_each("cooling", _top("capacity"), _bigger, times=True), ("equipment.cooling.stages",), "W",
         Scale("ton", "tons", 0.75, 6, 0.25), Scale("kW", "kW", 2.5, 21, 0.5), needs="air conditioner"),
    Knob("stages", "Air conditioner", "Compressor stages", _first(_stages), _set_stages, ("equipment.cooling.stages",),
         words=(("1", "one"), ("2", "two")), needs="air conditioner"),
    Knob("shr", "Air conditioner", "Rated sensible heat ratio (SHR)", _first(_top("shr")), _in_each("cooling", _top("shr"), _more_sensible, times=False), ("equipment.cooling.stages",), "fraction",
         *_one("", "", 0.62, 0.86, 0.01), needs="air conditioner"),
    Knob("fan_off_delay", "Air conditioner", "Fan-off delay", _first(_at("equipment", "cooling", "fan_off_delay")), _sets("equipment.cooling.fan_off_delay"), ("equipment.cooling.fan_off_delay",), "s",
         *_one("", "s", 0, 300, 10), needs="air conditioner"),
    Knob("cooling_setpoint", "Thermostat and humidistat", "Cooling setpoint", *_setpoint(Role.COOLING), ("setpoints",), "degC",
         Scale("degF", "°F", 70, 82, 0.5), Scale("degC", "°C", 21, 28, 0.25), needs="cooling setpoint"),
    Knob("heating_setpoint", "Thermostat and humidistat", "Heating setpoint", *_setpoint(Role.HEATING), ("setpoints",), "degC",
         Scale("degF", "°F", 60, 72, 0.5), Scale("degC", "°C", 15, 22, 0.25), needs="heating setpoint"),
    Knob("humidity_setpoint", "Thermostat and humidistat", "Humidity setpoint", *_setpoint(Role.HUMIDITY), ("setpoints",), "percent",
         *_one("", "% RH", 40, 65, 1), needs="humidity setpoint"),
    Knob("strips", "Strips and dehumidifier", "Electric strips", _first(_strips), _in_each("strips", _strips, _stronger, times=True), ("equipment.strips.stages",), "W",
         *_one("kW", "kW", 1, 15, 0.5), needs="electric strips"),
    Knob("dehumidifier", "Strips and dehumidifier", "Dehumidifier", _first(_at("equipment", "dehumidifier", "capacity")),
         _in_each("dehumidifier", _at("equipment", "dehumidifier", "capacity"), _bigger_box, times=True), ("equipment.dehumidifier.capacity", "equipment.dehumidifier.airflow"), "kg/s",
         Scale("pint/day", "pints/day", 10, 160, 5), Scale("kg/day", "L/day", 5, 75, 1), needs="dehumidifier"),
    Knob("energy_factor", "Strips and dehumidifier", "Energy factor of the dehumidifier", _first(_at("equipment", "dehumidifier", "energy_factor")), _sets("equipment.dehumidifier.energy_factor"),
         ("equipment.dehumidifier.energy_factor",), "kg/J", *_one("kg/kWh", "L/kWh", 1, 4, 0.1), needs="energy factor of a dehumidifier"),
    Knob("price", "Price", "Price of electricity", _price, _sets("tariff.price"), ("tariff.price",), "USD/kWh",
         *_one("cent/kWh", "cents/kWh", 5, 60, 0.5), needs="single price for all hours"),
)
# fmt: on
"""All knobs, in their order on the page. Moves follow one another in that order."""


def knob(name: str) -> Knob:
    """The knob of a name.

    Raises
    ------
    InputError
    """
    found = {knob.name: knob for knob in KNOBS}
    if name not in found:
        raise InputError("knob", name, one_of(name, found))
    return found[name]


def moved(scenario: Scenario, moves: Mapping[str, Any]) -> Scenario:
    """The scenario after some knobs were moved.

    Moved values count as stated. They are no longer measured, and have no range.

    Parameters
    ----------
    scenario : Scenario
    moves : dict
        By a knob's name: the value in SI, or a word of its list; see `Knob.taken`.

    Raises
    ------
    InputError
        If a value cannot be used.

    Examples
    --------
    >>> from moistsim.scenario import DEMO, read_scenario
    >>> leaky = moved(read_scenario(DEMO), {"ach50": 6.0, "shr": 0.7})
    >>> leaky.study.house.ach50
    6.0
    """
    for one in KNOBS:
        if one.name in moves:
            value = moves[one.name]
            changes = one.changes(scenario, value)
            scenario = _stated(scenario, one)
            scenario = attrs.evolve(scenario, study=scenario.study.evolve(changes))
            if "weather" in changes:
                scenario = attrs.evolve(scenario, weather=value, years={})
    return scenario


def _stated(scenario: Scenario, one: Knob) -> Scenario:
    """The scenario in which the knob's value is neither measured nor from a label, and has no range."""
    keys = set(one.keys)
    if "setpoints" in keys:
        keys = {f"options.{quoted(name)}.setpoints" for name in scenario.study.options}

    def is_its(name: str) -> bool:
        shared = re.sub(r"^options\.(\"[^\"]*\"|[^.]*)\.", "", name)
        return any(covers(key, name) or covers(key, shared) for key in keys)

    draws = scenario.draws
    return attrs.evolve(
        scenario,
        stated=scenario.stated | keys,
        measured=frozenset(name for name in scenario.measured if not is_its(name)),
        labels={
            name: label
            for name, label in scenario.labels.items()
            if not any(covers(name, key) for key in keys)
        },
        ranges={name: of for name, of in scenario.ranges.items() if not is_its(name)},
        draws=None if draws is None else draws.without([*filter(is_its, map(str, draws.draws))]),
    )
