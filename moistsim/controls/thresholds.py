"""Which setpoints of an option answer the room's humidity, and the option with all of them moved."""

from typing import Any, NamedTuple

import attrs

from moistsim.controls.interface import Strategy
from moistsim.controls.parts import LIMITS
from moistsim.controls.rules.rules import RuleTable
from moistsim.core.errors import InputError
from moistsim.equipment import Equipment

K_PER_PERCENT = 0.3
"""K of dew point that 1 percent RH is at 24.5 degC and 52 %, where 14.0 degC is the dew point."""
LEAST_RH, MOST_RH, _ = LIMITS["target_rh"]
"""What a control can be set to, percent. A setpoint below is a difference, such as a deadband."""
LEAST_DEW_POINT, MOST_DEW_POINT = 0.0, 25.0
"""degC, as the control by dew point takes it."""
OWN_LIMITS = {"humidistat": (25.0, 80.0), "on_above": (5.0, 95.0), "off_below": (5.0, 95.0)}
"""Of humidistats that belong to machines, percent."""


class Threshold(NamedTuple):
    """A setpoint of humidity: what it is called, where it stands, and what it may be."""

    name: str
    owner: str
    """"strategy", "dehumidifier" (its own humidistat) or "enable" (that wired in series)."""
    value: float
    unit: str
    """"percent" (RH) or "degC" (dew point)."""
    least: float
    most: float

    def at(self, shift: float) -> float:
        """Its value when all are moved by `shift`, percent RH."""
        return self.value + shift * (1.0 if self.unit == "percent" else K_PER_PERCENT)

    @property
    def range(self) -> tuple[float, float]:
        """Least and greatest shift within its limits, percent RH."""
        scale = 1.0 if self.unit == "percent" else K_PER_PERCENT
        return (self.least - self.value) / scale, (self.most - self.value) / scale


def thresholds(machines: Equipment, strategy: Strategy) -> tuple[Threshold, ...]:
    """Setpoints of the room's humidity that an option has.

    A strategy's are those in percent RH and those of dew point, of the room and not of outdoors.
    Deadbands and what is counted from a target are none: they follow it. Under the addition
    `dew_point_control` all are counted from its target dew point, which then is the only one. In
    a rule table they are what a row compares humidity or dew point with. A dehumidifier's own
    humidistat and a hard-wired enable count too.

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
    dryer = machines.dehumidifier
    if dryer is not None and dryer.humidistat is not None:
        found.append(_own("humidistat", "dehumidifier", dryer.humidistat))
    if machines.enable is not None:
        found += [
            _own("on_above", "enable", machines.enable.on_above),
            _own("off_below", "enable", machines.enable.off_below),
        ]
    return tuple(found)


def _own(name: str, owner: str, value: float) -> Threshold:
    return Threshold(name, owner, value, "percent", *OWN_LIMITS[name])


def _of_strategy(strategy: Strategy) -> list[Threshold]:
    settings = strategy.settings
    if any(addition.name == "dew_point_control" for addition in strategy.additions):
        return [_threshold("target_dew_point", settings["target_dew_point"], "degC")]
    found, own = [], dict(settings)
    if isinstance(strategy.base, RuleTable):
        for row in strategy.base.rows:
            for condition in (row.when, *row.releases):
                if condition.left in ("relative_humidity", "dew_point") and not condition.right:
                    found.append(_threshold(condition.key, settings[condition.key], condition.unit))
        # What additions bring is told by names, as that of any function.
        own = {name: value for name, value in own.items() if name not in strategy.base.settings}
    for name, value in own.items():
        unit = strategy.units.get(name, "count")
        if "outdoor" in name:
            continue
        absolute = value >= LEAST_RH and "deadband" not in name
        if (unit == "percent" and absolute) or (unit == "degC" and "dew_point" in name):
            found.append(_threshold(name, value, unit))
    return found


def _threshold(name: str, value: float, unit: str) -> Threshold:
    limits = (LEAST_RH, MOST_RH) if unit == "percent" else (LEAST_DEW_POINT, MOST_DEW_POINT)
    # One that was set beyond what is usual moves towards it only.
    return Threshold(name, "strategy", value, unit, min(limits[0], value), max(limits[1], value))


def moved(machines: Equipment, strategy: Strategy, shift: float) -> tuple[Equipment, Strategy]:
    """An option with all its humidity setpoints moved together, so that their order stays.

    Parameters
    ----------
    machines, strategy
        The option.
    shift : float
        Percent RH; setpoints of dew point move by `K_PER_PERCENT` of it.

    Raises
    ------
    InputError
        If the strategy or a machine does not take what they become.
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
    return machines, control


def reach(machines: Equipment, strategy: Strategy) -> tuple[float, float]:
    """Least and greatest shift that all of an option's humidity setpoints take, percent RH.

    0 and 0 where there is none to move.
    """
    found = thresholds(machines, strategy)
    if not found:
        return 0.0, 0.0
    low = min(0.0, max(x.range[0] for x in found))
    high = max(0.0, min(x.range[1] for x in found))
    return _taken(machines, strategy, low), _taken(machines, strategy, high)


def _taken(machines: Equipment, strategy: Strategy, shift: float) -> float:
    """The shift, or what is left of it where a check of the strategy's own refuses it."""
    for _ in range(20):
        try:
            moved(machines, strategy, shift)
        except InputError:
            shift *= 0.8
        else:
            return shift
    return 0.0
