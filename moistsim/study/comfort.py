"""Comfort of an option: hours in which the house is too warm or too cold for its setpoints."""

from typing import TYPE_CHECKING

import attrs

from moistsim.core.display import Show, number
from moistsim.core.measures import Measure
from moistsim.core.units import Role
from moistsim.engine import COMFORT_BAND, column_catalog
from moistsim.equipment import Equipment
from moistsim.season import Season
from moistsim.study.goal import SHARE

if TYPE_CHECKING:
    from moistsim.study.study import Study

_BAND = f"{number(COMFORT_BAND)} K ({number(1.8 * COMFORT_BAND, 1)} °F)"
_SECOND = dict(column_catalog.IN_BOTH_ZONES)
_COLUMN = next(flow.column for flow in column_catalog.FLOWS if flow.field == "indoor_temperature")


@attrs.frozen
class Comfort:
    """Hours in which an option does not hold its setpoints.

    An hour counts if people live in the house and the room is more than 1 K (1.8 °F) above the
    cooling setpoint, or below the heating setpoint. That band is wider than a thermostat's
    differential (common practice, no source). An option holds its setpoints if neither has more
    than 1 % of the hours, the share in which design weather may be exceeded (ASHRAE Handbook,
    Fundamentals, from memory). ASHRAE 90.1, appendix G, allows 300 unmet hours a year, more than
    three times as many (from memory).
    """

    warm: float | None
    """Hours too warm; None where they cannot be judged."""
    cold: float | None
    """Hours too cold; None where they cannot be judged."""
    most: float
    """Hours of either kind that are allowed."""
    whose: str = "its"
    """Whose setpoints are meant: those of the option or, if it has none, the base option's."""

    @property
    def too_warm(self) -> bool:
        """Whether the room is too warm for more hours than are allowed."""
        return self.warm is not None and self.warm > self.most

    @property
    def too_cold(self) -> bool:
        """Whether the room is too cold for more hours than are allowed."""
        return self.cold is not None and self.cold > self.most

    @property
    def holds(self) -> bool:
        """Whether the setpoints are held, as far as this can be judged."""
        return not self.too_warm and not self.too_cold

    @property
    def beyond(self) -> float:
        """Hours beyond those that are allowed."""
        return sum(max((hours or 0.0) - self.most, 0.0) for hours in (self.warm, self.cold))

    def as_good_as(self, other: "Comfort", more: float = 0.0) -> bool:
        """Whether the setpoints are held, or missed for hardly more hours than by another option.

        Parameters
        ----------
        other : Comfort
        more : float
            Hours more than the other option's that count as alike.
        """
        pairs = ((self.warm, other.warm), (self.cold, other.cold))
        return all((mine or 0.0) <= max(self.most, (its or 0.0) + more) for mine, its in pairs)

    def words(self, show: Show | None = None) -> str:
        """What is not held, such as "its room is more than 1.8 °F above ..."; empty if nothing is.

        Parameters
        ----------
        show : Show, optional
            The reader's units; default: both, such as "1 K (1.8 °F)".
        """
        missed = [
            (f"{side} {self.whose} {which} setpoint", hours)
            for side, which, hours in (
                ("above", "cooling", self.warm),
                ("below", "heating", self.cold),
            )
            if hours is not None and hours > self.most
        ]
        if not missed:
            return ""
        band = _BAND if show is None else show(COMFORT_BAND, "difference")
        # Hours that are just too many would otherwise read as those that are allowed.
        digits = int(any(round(hours) == round(self.most) for _, hours in missed))
        parts = [f"{where} for {number(hours, digits)} hours" for where, hours in missed]
        return f"its room is more than {band} {' and '.join(parts)}, {number(self.most, digits)} are allowed"


def comfort_of(study: "Study", season: Season) -> Comfort:
    """Comfort of a season of a study's option.

    The setpoints in force are those of the option's own control. An option without one, such as a
    table of rules, is judged by the base option's setpoint and by hourly means. Hours on vacation
    and between stays, and with them those of `set_back`, do not count. Nor do hours above the
    cooling setpoint in a study where nothing cools, or below the heating setpoint of a house that
    the base option does not heat. A second zone counts if it has a thermostat of its own.

    Parameters
    ----------
    study : Study
        Its base option gives the machines and setpoints of the house as it is.
    season : Season
    """
    base = study.resolved[study.base or next(iter(study.options))]
    cooled = any(_cools(option.equipment) for option in study.resolved.values())
    most = SHARE * len(season.quarters) / 4
    borrowed = False

    def hours(measure: Measure, role: Role) -> float | None:
        nonlocal borrowed
        if season.meter.holds(measure):
            return _hours(season, measure)
        setpoint = base.strategy.setpoint(role)
        if setpoint is None:
            return None
        borrowed = True
        room, at_home = season.hourly[_COLUMN], season.hourly["occupied_h"]
        off = room > setpoint + COMFORT_BAND
        if role is Role.HEATING:
            off = room < setpoint - COMFORT_BAND
        return float(at_home[off].sum())

    warm = hours(column_catalog.TOO_WARM, Role.COOLING) if cooled else None
    cold = hours(column_catalog.TOO_COLD, Role.HEATING) if _heats(base.equipment) else None
    return Comfort(warm, cold, most, "the base option’s" if borrowed else "its")


def _hours(season: Season, measure: Measure) -> float:
    """Hours of a measure, in the worse of the zones that have a thermostat."""
    hours, second = season.meter.of(measure), _SECOND[measure]
    machines = season.equipment
    own = machines.zoning is not None or machines.second_system is not None
    if own and season.meter.holds(second):
        return max(hours, season.meter.of(second))
    return hours


def _cools(machines: Equipment) -> bool:
    return any(system.cooling is not None for system in machines.systems)


def _heats(machines: Equipment) -> bool:
    """Whether something heats the house; strips do if a thermostat calls for heat."""
    return machines.room_heater is not None or any(
        machine is not None
        for system in machines.systems
        for machine in (system.heating, system.furnace, system.strips)
    )
