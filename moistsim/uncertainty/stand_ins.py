"""Stand-ins: how far inputs without a range of their own may be off, by common practice.

A stand-in is a round number of our own, not a finding. It moves one cause at a time, in all options
alike: the person who turns the setpoint, the humidity sensor and the fan are the same in each. So
errors that options share cancel out (common random numbers). A machine with a humidistat of its own
has an error of its own. A range of a value replaces its stand-in.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

import attrs

from moistsim.controls import thresholds, widenings
from moistsim.core.errors import InputError
from moistsim.engine import parameters
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.prices import Purchase
from moistsim.sensitivity import Normal
from moistsim.study import Study
from moistsim.sweep import varied
from moistsim.weather import Weather

YEARS_APART = 1.0
"""Difference of dry bulb and dew point between years, K."""
MACHINE = {"capacity": 0.05, "cop": 0.05, "energy_factor": 0.10}
"""Standard deviations of machine ratings, as shares."""
SENSIBLE_RATIO = 0.02
"""Standard deviation of a rated sensible heat ratio."""
HOUSE = {
    "house.ach50": 0.2,
    "house.leakage.cfm50": 0.2,
    "house.leakage.effective_area": 0.2,
    "house.gains.moisture": 0.25,
    "house.gains.appliances_and_lights": 0.2,
}
"""Standard deviations of a house description, as shares."""
HOUSE_CHANGE = 0.2
"""Standard deviation of what an option changes in the house, as a share of the change."""
HUMIDITY_SETPOINT = 2.0
"""What a person turns a humidity setpoint by, % RH (common practice, no source)."""
HUMIDITY_SENSOR = 3.0
"""Error of a thermostat's humidity sensor, % RH (common practice, no source)."""
HUMIDISTAT = 5.0
"""Error of a machine's own humidistat, which is a coarse dial, % RH (common practice, no source)."""
DEADBANDS = 0.3
"""Standard deviation of deadbands, as a share. Thermostats switch within 0.5 to 1.5 degF and
humidistats within 3 to 6 % RH (common practice, no source)."""
FAN_OFF_DELAY = 30.0
"""Standard deviation of the fan-off delay, s. The boards of air handlers offer 30 to 90 s, and none
(common practice, no source)."""
VENTILATION = 0.2
"""Standard deviation of the ventilation delivered, as a share of its rating or setting (common
practice, no source)."""
ENERGY_PRICE, FIRST_COST = 0.10, 0.10
"""Standard deviations of prices, as shares."""

ENERGY = "energy price"
"""Name of the stand-in for the energy price. It moves the bill and no value of the study."""
REACH = 3.0
"""Standard deviations at which stand-ins are cut off."""
_LEVELS = (-1.463, -0.599, 0.0, 0.599, 1.463)
"""Shifts of five equally likely years, in standard deviations: the medians of the fifths of a normal
distribution, spread to a standard deviation of one."""

_PRACTICE = "common practice, no source"
_OWN_HUMIDISTATS = {
    "dehumidifier": "dehumidifier",
    "second_system.dehumidifier": "second system's dehumidifier",
    "crawl_space_dehumidifier": "crawl space dehumidifier",
    "basement_dehumidifier": "basement dehumidifier",
    "attic_dehumidifier": "attic dehumidifier",
}


@attrs.frozen(eq=False)
class StandIn:
    """One cause that moves values of a study, for lack of a range."""

    source: str
    """The error source of `SOURCES` that it belongs to."""
    deviation: float
    """Standard deviation of the shift."""
    unit: str
    """SI unit of the shift; "fraction" for a share of each value."""
    said: str
    """The shift and its basis, in words."""
    moves: Mapping[str, tuple[float, float]]
    """By dotted name: the value of the study, and its change for a shift of one unit."""
    low: float = -REACH
    """Smallest shift that the descriptions take, in standard deviations."""
    high: float = REACH

    def at(self, shift: float) -> dict[str, float]:
        """Values by dotted name, for one shift."""
        return {name: value + change * shift for name, (value, change) in self.moves.items()}

    @property
    def sides(self) -> list[dict[str, float]]:
        """Values one standard deviation to either side, where the descriptions take them."""
        return [
            self.at(side * self.deviation)
            for side in (-1.0, 1.0)
            if self.low <= side <= self.high
        ]  # fmt: skip

    @property
    def distribution(self) -> Normal:
        """Distribution of the shift."""
        return Normal(0.0, self.deviation, self.low * self.deviation, self.high * self.deviation)


def stand_ins(
    study: Study, purchases: Mapping[str, Purchase], ranges: Mapping[str, Any]
) -> dict[str, StandIn]:
    """Stand-ins for what has no range, by name, without the weather.

    Parameters
    ----------
    study, purchases
        The descriptions.
    ranges : dict
        Ranges by dotted name, which replace stand-ins. If one humidity setpoint of an option has a
        range, none of that option's moves by a stand-in, because they are set together.
    """
    found: dict[str, StandIn] = {}
    known = _Known(ranges)
    for name, made in (
        *_machines(study, known),
        *_house(study, known),
        *_house_changes(study, known),
        *_controls(study, known),
        *_ventilation(study, known),
        *_prices(purchases, known),
    ):
        low, high = (side * _reach(study, purchases, made, side) for side in (-1.0, 1.0))
        if low <= -1.0 or high >= 1.0:
            found[name] = attrs.evolve(made, low=low, high=high)
    return found


def other_years(weather: Weather, *, many: bool) -> dict[str, Weather]:
    """The weather of other years by label: two, one standard deviation apart from it, or five."""
    shifts = _LEVELS if many else (1.0, -1.0)
    return {
        _year(shift): weather.shifted(temp_air=shift * YEARS_APART, temp_dew=shift * YEARS_APART)
        if shift
        else weather
        for shift in shifts
    }


def _year(shift: float) -> str:
    if shift == 0.0:
        return "as the weather file"
    words = "warmer and moister" if shift > 0.0 else "cooler and drier"
    return f"{abs(shift) * YEARS_APART:.1f} K {words}"


def _reach(study: Study, purchases: Mapping[str, Purchase], made: StandIn, side: float) -> float:
    """Largest shift to one side that the descriptions take, in standard deviations."""

    def is_taken(reach: float) -> bool:
        values = made.at(side * reach * made.deviation)
        bought = {k: v for k, v in values.items() if k.endswith(".purchase.first_cost")}
        try:
            for name, value in bought.items():
                option = name.removeprefix("options.").removesuffix(".purchase.first_cost")
                purchase: Any = purchases[option]
                attrs.evolve(purchase, first_cost=value)
        except InputError:
            return False
        rest = {name: value for name, value in values.items() if name not in bought}
        # mypy takes the function for the module of its name.
        made_of = varied(study, rest)  # type: ignore[operator]
        return not any(isinstance(it, InputError) for _, it in made_of)

    if is_taken(REACH):
        return REACH
    taken, refused = 0.0, REACH
    for _ in range(10):
        middle = 0.5 * (taken + refused)
        taken, refused = (middle, refused) if is_taken(middle) else (taken, middle)
    # A limit at one standard deviation is reached by the budget.
    return 1.0 if 0.99 < taken < 1.0 and is_taken(1.0) else taken


class _Known(NamedTuple):
    """Names with a range."""

    ranges: Mapping[str, Any]

    def has(self, option: str, *names: str) -> bool:
        """Whether one of these names has a range, for an option or for all."""
        return any(
            name in self.ranges or f"options.{option}.{name}" in self.ranges for name in names
        )

    def any_field(self, machine: str, field: str) -> bool:
        """Whether any item of a machine has a range of a field."""
        return any(
            f"equipment.{machine}." in name and name.endswith(f".{field}") for name in self.ranges
        )


def _systems(machines: Equipment) -> Iterator[tuple[str, Any]]:
    """The systems of a house, each with the beginning of its names."""
    yield "equipment", machines
    if machines.second_system is not None:
        yield "equipment.second_system", machines.second_system


_Named = Iterator[tuple[str, StandIn]]


def _by_share(source: str, share: float, values: Mapping[str, float], said: str) -> StandIn:
    """A stand-in that moves all values by the same share."""
    moves = {name: (value, value) for name, value in values.items()}
    return StandIn(source, share, "fraction", f"{said} by {100.0 * share:g} % (a stand-in)", moves)


def _machines(study: Study, known: _Known) -> _Named:
    source = "machine coefficients"
    words = {"cop": "coefficient of performance", "shr": "sensible heat ratio"}
    for field in ("capacity", "cop", "shr"):
        # The airflow follows the capacity: another ratio may be one that no wet coil can have.
        follows = ["airflow"] if field == "capacity" else []
        values = {
            f"options.{option}.{stem}.cooling.stages.{k}.{each}": getattr(stage, each)
            for option, (machines, _, _) in study.resolved.items()
            for stem, system in _systems(machines) if system.cooling is not None
            for k, stage in enumerate(system.cooling.stages, 1)
            for each in (field, *follows) if not known.any_field("cooling", each)
        }  # fmt: skip
        if not values or known.any_field("cooling", field):
            continue
        name = f"{words.get(field, field)} of cooling"
        if field == "shr":
            moves = {key: (value, 1.0) for key, value in values.items()}
            said = f"{name} by {SENSIBLE_RATIO:g} (a stand-in)"
            yield name, StandIn(source, SENSIBLE_RATIO, "fraction", said, moves)
        else:
            yield name, _by_share(source, MACHINE[field], values, name)
    for fields in (("capacity",), ("energy_factor", "integrated_energy_factor")):
        # The one of the two factors that the machine was described with.
        values = {
            f"options.{option}.{stem}.dehumidifier.{field}": value
            for option, (machines, _, _) in study.resolved.items()
            for stem, system in _systems(machines)
            for field in fields
            if (value := getattr(system.dehumidifier, field, None)) is not None
        }
        if values and not any(known.any_field("dehumidifier", field) for field in fields):
            name = f"{fields[0].replace('_', ' ')} of dehumidifier"
            yield name, _by_share(source, MACHINE[fields[0]], values, name)


def _house(study: Study, known: _Known) -> _Named:
    """The house: the same share in the house of each option."""
    words = {
        "house.gains.moisture": "household moisture",
        "house.gains.appliances_and_lights": "appliances and lights",
    }
    for name, share in HOUSE.items():
        # Without a rate of its own, household moisture follows the number of people.
        names = (name, "house.gains.occupants") if name.endswith("moisture") else (name,)
        base = None if any(each in known.ranges for each in names) else _of_house(study.house, name)
        values = {name: base} if base else {}
        for option, described in study.resolved.items():
            own = _of_house(described.house, name)
            if own and own != _of_house(study.house, name) and not known.has(option, name):
                values[f"options.{option}.{name}"] = own
        if values:
            label = words.get(name, "air leakage")
            yield label, _by_share("house description", share, values, label)


def _of_house(house: House, name: str) -> float | None:
    if name == "house.gains.moisture":
        return house.moisture_gain
    value: Any = house
    for key in name.split(".")[1:]:
        value = getattr(value, key)
    found: float | None = value
    return found


class _Number(NamedTuple):
    """A number of the house that an option changes."""

    path: tuple[str, ...]
    before: float
    after: float


def _house_changes(study: Study, known: _Known) -> _Named:
    """What work on the house achieves: somewhat less, or more.

    Options with the same work on a part of the house get the same result.
    """
    works: dict[tuple[_Number, ...], list[str]] = {}
    for option in study.options:
        parts: dict[tuple[str, ...], list[_Number]] = {}
        for change in study.changes(option):
            # A count, such as that of stories, is known.
            is_known = change.metadata.get("unit") in (None, "count")
            numbers = isinstance(change.before, float) and isinstance(change.after, float)
            if numbers and not is_known:
                number = _Number(change.path, change.before, change.after)
                parts.setdefault(change.path[:-1], []).append(number)
        for changes in parts.values():
            works.setdefault(tuple(changes), []).append(option)
    for work, options in works.items():
        moves = {
            name: (change.after, change.after - change.before)
            for option in options
            for change in work
            if (name := f"options.{option}.house.{'.'.join(change.path)}") not in known.ranges
        }
        if moves:
            of = (work[0].path[0] if work[0].path[1:] else "house").replace("_", " ")
            who, verb = _listed(options), "changes" if len(options) == 1 else "change"
            name = f"what {who} {verb} in the {of}"
            said = f"{name} by {100.0 * HOUSE_CHANGE:g} % (a stand-in)"
            yield name, StandIn("house description", HOUSE_CHANGE, "fraction", said, moves)


def _listed(options: Iterable[str]) -> str:
    return " and ".join(map(repr, options))


def _controls(study: Study, known: _Known) -> _Named:
    """Setpoints, sensors, deadbands and the fan-off delay."""
    setpoints: dict[str, tuple[float, float]] = {}
    sensors: dict[str, tuple[float, float]] = {}
    humidistats: dict[str, dict[str, tuple[float, float]]] = {}
    bands: dict[str, tuple[float, float]] = {}
    delays: dict[str, tuple[float, float]] = {}
    for option, (machines, strategy, _) in study.resolved.items():
        stem = f"options.{option}"
        points = {
            f"{'strategy' if it.owner == 'strategy' else f'equipment.{it.owner}'}.{it.name}": it
            for it in thresholds(machines, strategy)
        }
        if points and not known.has(option, *points):
            for name, it in points.items():
                setpoints[f"{stem}.{name}"] = (it.value, it.at(1.0) - it.value)
        # Without a humidity setpoint of the control, its sensor's error changes nothing.
        has_control = any(it.owner == "strategy" for it in points.values())
        name = "equipment.sensor.humidity_offset"
        if has_control and not known.has(option, name):
            sensors[f"{stem}.{name}"] = (machines.sensor.humidity_offset, 1.0)
        for machine, words in _OWN_HUMIDISTATS.items():
            own: Any = machines
            for key in machine.split("."):
                own = None if own is None else getattr(own, key)
            if own is None or own.humidistat is None:
                continue
            # A humidistat that reads too high acts like one that is set lower.
            name = f"equipment.{machine}.humidistat"
            if not known.has(option, name):
                humidistats.setdefault(words, {})[f"{stem}.{name}"] = (own.humidistat, -1.0)
            name = f"equipment.{machine}.deadband"
            if not known.has(option, name):
                bands[f"{stem}.{name}"] = (own.deadband, own.deadband)
        enable = machines.enable
        names = ("equipment.enable.on_above", "equipment.enable.off_below")
        if enable is not None and not known.has(option, *names):
            pairs = zip(names, (enable.on_above, enable.off_below), strict=True)
            of_enable = humidistats.setdefault("enable contact", {})
            of_enable |= {f"{stem}.{name}": (value, -1.0) for name, value in pairs}
        for key, change in widenings(strategy).items():
            if not known.has(option, f"strategy.{key}"):
                bands[f"{stem}.strategy.{key}"] = (strategy.settings[key], change)
        for of, system in _systems(machines):
            name, cooling = f"{of}.cooling.fan_off_delay", system.cooling
            if cooling is not None and cooling.fan != "on" and not known.has(option, name):
                delays[f"{stem}.{name}"] = (cooling.fan_off_delay, 1.0)

    def made(
        source: str, name: str, by: float, unit: str, words: str, why: str,
        moves: Mapping[str, tuple[float, float]],
    ) -> _Named:  # fmt: skip
        if moves:
            said = f"{name} by {words}{why} (a stand-in; {_PRACTICE})"
            yield name, StandIn(source, by, unit, said, moves)

    yield from made(
        "setpoints", "humidity setpoint", HUMIDITY_SETPOINT, "percent",
        f"{HUMIDITY_SETPOINT:g} % RH", ", what a person turns", setpoints,
    )  # fmt: skip
    yield from made(
        "humidity sensor", "reading of the humidity sensor", HUMIDITY_SENSOR, "percent",
        f"{HUMIDITY_SENSOR:g} % RH", "", sensors,
    )  # fmt: skip
    for words, moves in humidistats.items():
        yield from made(
            "humidity sensor", f"reading of the humidistat of the {words}", HUMIDISTAT, "percent",
            f"{HUMIDISTAT:g} % RH", "", moves,
        )  # fmt: skip
    yield from made(
        "deadbands", "deadbands", DEADBANDS, "fraction", f"{100.0 * DEADBANDS:g} %", "", bands
    )
    yield from made(
        "fan-off delay", "fan-off delay", FAN_OFF_DELAY, "s", f"{FAN_OFF_DELAY:g} s", "", delays
    )


def _ventilation(study: Study, known: _Known) -> _Named:
    """The airflow that ventilation delivers, of its rating, its setting or the default rate."""
    values = {}
    for option, (machines, _, house) in study.resolved.items():
        name, fan = "equipment.ventilation.airflow", machines.ventilation
        if fan is None or known.has(option, name):
            continue
        blower = 1.0 if machines.cooling is None else machines.cooling.fan_airflow
        flows = parameters.ventilation_parameters(fan, house, blower)
        values[f"options.{option}.{name}"] = flows.balanced + flows.unbalanced
    if any(values.values()):
        made = _by_share("ventilation delivered", VENTILATION, values, "ventilation delivered")
        said = made.said.replace("(a stand-in)", f"(a stand-in; {_PRACTICE})")
        yield "ventilation delivered", attrs.evolve(made, said=said)


def _prices(purchases: Mapping[str, Purchase], known: _Known) -> _Named:
    for option, purchase in purchases.items():
        name = f"options.{option}.purchase.first_cost"
        if purchase.first_cost > 0.0 and name not in known.ranges:
            label = f"first cost of {option}"
            yield label, _by_share("prices", FIRST_COST, {name: purchase.first_cost}, label)
    if not any(name.startswith("tariff.") for name in known.ranges):
        said = f"energy by {100.0 * ENERGY_PRICE:g} % (a stand-in)"
        yield ENERGY, StandIn("prices", ENERGY_PRICE, "fraction", said, {})
