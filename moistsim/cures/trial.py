"""What one option does as it is, and what the same option costs once it is held at the goal."""

from functools import cache
from typing import Any, cast

import attrs

from moistsim.core.units import to_si
from moistsim.engine import column_catalog
from moistsim.equipment import Dehumidifier, Equipment
from moistsim.risk import RiskBasis, damp_wood, space_risk
from moistsim.season import Season, simulate
from moistsim.study import MARGIN, Comfort, Option, Study, comfort_of

MACHINE_USD = 350.0
"""First cost of the smallest dehumidifier with a drain, USD: a stand-in of our own. Cures must be
cheaper than even that."""
MACHINE_LIFE = 8.0
"""Its life, years (common practice, no source)."""


@attrs.frozen
class Outcome:
    """Results of an option over the season."""

    hours: float
    """Hours of the season."""
    humid_hours: float
    """Hours above the goal's relative humidity."""
    mean_rh: float
    """Mean indoor relative humidity, percent."""
    mean_dew_point: float
    """Mean indoor dew point, degC."""
    usd: float
    """Cost of energy, USD."""
    kwh: float
    """Electricity, kWh."""
    gas_kwh: float
    """Gas, kWh."""
    keeps_goal: bool
    usd_at_goal: float
    """Cost once the goal is kept, USD: that of energy, with a dehumidifier where one is needed.

    The dehumidifier's own energy and a share of its price for each year then count too.
    """
    comfort: Comfort
    """Hours too warm and too cold."""
    damp_spaces: tuple[str, ...]
    """Spaces next to the house whose wood or board is too wet; see `risk.damp_wood`."""


@cache
def machine() -> Dehumidifier:
    """The dehumidifier that holds a trial at the goal: large, so that only its energy differs.

    It is made when it is needed, because its check loads machine code.
    """
    return Dehumidifier(capacity=to_si("100 pint/day", "kg/s", ""))


def run(study: Study, option: Option) -> Season:
    """Simulate an option in a study's weather."""
    return simulate(
        option.house, option.equipment, option.strategy, study.weather,
        start=study.start, end=study.end, step=study.step,
    )  # fmt: skip


def outcome(
    study: Study, option: Option, basis: RiskBasis | None, season: Season | None = None
) -> Outcome:
    """Run an option as it is and, unless it keeps the goal, with a dehumidifier that keeps it.

    Parameters
    ----------
    study : Study
        Gives weather, season, tariff and goal.
    option : Option
    basis : RiskBasis, optional
        Materials by which wood below or above the house is judged.
    season : Season, optional
        The option's season, if it has been run.
    """
    season = season or run(study, option)
    meter, usd = season.meter, study.bill(season).unrounded
    keeps = study.goal.is_kept(season)
    at_goal = usd
    if not keeps:
        own = option.equipment.dehumidifier
        held = option._replace(equipment=held_at_goal(option.equipment, study, own or machine()))
        at_goal = study.bill(run(study, held)).unrounded
        at_goal += 0.0 if own else MACHINE_USD / MACHINE_LIFE
    return Outcome(
        hours=len(season.quarters) / 4,
        humid_hours=study.goal.humid_hours(season),
        mean_rh=meter.of(column_catalog.MEAN_RH),
        mean_dew_point=meter.of(column_catalog.MEAN_DEW_POINT),
        usd=usd,
        kwh=meter.total_kwh,
        gas_kwh=meter.gas_kwh,
        keeps_goal=keeps,
        usd_at_goal=at_goal,
        comfort=comfort_of(study, season),
        damp_spaces=_damp_spaces(season, basis),
    )


def _damp_spaces(season: Season, basis: RiskBasis | None) -> tuple[str, ...]:
    """Spaces whose wood or board is too wet, or can grow visible mold."""
    if not season.spaces:
        return ()
    by_option = damp_wood(space_risk(season, basis, "si"))
    return tuple(one.space for found in by_option.values() for one in found)


def held_at_goal(machines: Equipment, study: Study, machine: Dehumidifier) -> Equipment:
    """Machines with a dehumidifier whose own humidistat is set `MARGIN` below the goal's RH."""
    own: Any = attrs.evolve(cast(Any, machine), humidistat=study.goal.above_rh - MARGIN)
    whole: Equipment = attrs.evolve(cast(Any, machines), dehumidifier=own)
    return whole
