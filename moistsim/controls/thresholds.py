"""Humidity setpoints of an option, and the option with all of them moved together."""

from typing import Any, NamedTuple

import attrs

from moistsim.controls.interface import Strategy
from moistsim.controls.two_controls import SECOND, TwoControls
from moistsim.core.errors import InputError
from moistsim.core.units import Limits, Role
from moistsim.equipment import Equipment

K_PER_PERCENT = 0.3
"""Change of dew point for 1 percent RH, K, at 24.5 degC and 52 % (dew point 14.0 degC)."""
USUAL_LIMITS = {"percent": Limits(15.0, 95.0), "degC": Limits(0.0, 25.0)}
"""Limits, by unit, for moving a setpoint that declares no limits of its own."""
OWN_LIMITS = {
    "humidistat": Limits(25.0, 80.0),
    "on_above": Limits(5.0, 95.0),
    "off_below": Limits(5.0, 95.0),
}
"""Limits of humidistats that belong to machines, percent."""

SECOND_DEHUMIDIFIER = "second_system.dehumidifier"
"""Owner of the humidistat of a second system's dehumidifier."""


class Threshold(NamedTuple):
    """A humidity setpoint: its name, owner, value, unit and limits."""

    name: str
    owner: str
    """Owner: "strategy", "dehumidifier" (own humidistat), that of a second system, or "enable"
    (humidistat in series)."""
    value: float
    unit: str
    """Unit of the value: "percent" (RH) or "degC" (dew point)."""
    least: float
    most: float

    def at(self, shift: float) -> float:
        """Value of the setpoint when all setpoints are moved by `shift`, percent RH."""
        return self.value + shift * (1.0 if self.unit == "percent" else K_PER_PERCENT)

    @property
    def range(self) -> tuple[float, float]:
        """Minimum and maximum shift within the setpoint's limits, percent RH."""
        scale = 1.0 if self.unit == "percent" else K_PER_PERCENT
        return (self.least - self.value) / scale, (self.most - self.value) / scale


def thresholds(machines: Equipment, strategy: Strategy) -> tuple[Threshold, ...]:
    """Setpoints of the room's humidity that an option has.

    A strategy's are the settings that it declares as `units.HumiditySetpoint` or
    `units.DewPointSetpoint`, whatever their names and values. An addition may replace a role, as
    `dew_point_control` does with humidity setpoints. In a rule table they are the quantities that
    rows compare with room humidity or dew point. A dehumidifier's own humidistat and a hard-wired
    enable count too.

    Parameters
    ----------
    machines, strategy
        The option.

    Returns
    -------
    tuple of Threshold
        Empty for a control by temperature alone.
    """
    found = [*_of_strategy(strategy)]
    second = machines.second_system
    for owner, system in (("dehumidifier", machines), (SECOND_DEHUMIDIFIER, second)):
        dehumidifier = system.dehumidifier if system is not None else None
        if dehumidifier is not None and dehumidifier.humidistat is not None:
            found.append(_own("humidistat", owner, dehumidifier.humidistat))
    if machines.enable is not None:
        found += [
            _own("on_above", "enable", machines.enable.on_above),
            _own("off_below", "enable", machines.enable.off_below),
        ]
    return tuple(found)


def _own(name: str, owner: str, value: float) -> Threshold:
    return Threshold(name, owner, value, "percent", *OWN_LIMITS[name])


def _of_strategy(strategy: Strategy) -> list[Threshold]:
    if isinstance(strategy, TwoControls):
        second = _of_strategy(strategy.second)
        return [
            *_of_strategy(strategy.main),
            *(each._replace(name=f"{SECOND}{each.name}") for each in second),
        ]
    replaced = {role for addition in strategy.additions for role in addition.replaces}
    found = []
    for name, setting in strategy.declared.items():
        if setting.role in {Role.HUMIDITY, Role.DEW_POINT} - replaced:
            value = strategy.settings[name]
            low, high = setting.limits or USUAL_LIMITS[setting.unit]
            # A value beyond the usual limits moves toward them only.
            low, high = min(low, value), max(high, value)
            found.append(Threshold(name, "strategy", value, setting.unit, low, high))
    return found


def moved(machines: Equipment, strategy: Strategy, shift: float) -> tuple[Equipment, Strategy]:
    """Move all humidity setpoints of an option together, so their order stays.

    Parameters
    ----------
    machines, strategy
        The option.
    shift : float
        Percent RH; setpoints of dew point move by `K_PER_PERCENT` of it.

    Raises
    ------
    InputError
        If the strategy or a machine refuses the moved setpoints.
    """
    found = thresholds(machines, strategy)
    points = {x.name: x.at(shift) for x in found if x.owner == "strategy"}
    control = strategy(**points) if points else strategy
    for owner in ("dehumidifier", "enable"):
        points = {x.name: x.at(shift) for x in found if x.owner == owner}
        if points:
            machine = attrs.evolve(getattr(machines, owner), **points)
            whole: Any = machines
            machines = attrs.evolve(whole, **{owner: machine})
    points = {x.name: x.at(shift) for x in found if x.owner == SECOND_DEHUMIDIFIER}
    if points:
        second: Any = machines.second_system
        own = attrs.evolve(second.dehumidifier, **points)
        whole = machines
        machines = attrs.evolve(whole, second_system=attrs.evolve(second, dehumidifier=own))
    return machines, control


def reach(machines: Equipment, strategy: Strategy) -> tuple[float, float]:
    """Minimum and maximum shift that all of an option's humidity setpoints accept, percent RH.

    0 and 0 for an option without humidity setpoints.
    """
    found = thresholds(machines, strategy)
    if not found:
        return 0.0, 0.0
    low = min(0.0, max(x.range[0] for x in found))
    high = max(0.0, min(x.range[1] for x in found))
    return _taken(machines, strategy, low), _taken(machines, strategy, high)


def _taken(machines: Equipment, strategy: Strategy, shift: float) -> float:
    """The shift, percent RH, reduced until the strategy's own check accepts it."""
    for _ in range(20):
        try:
            moved(machines, strategy, shift)
        except InputError:
            shift *= 0.8
        else:
            return shift
    return 0.0
