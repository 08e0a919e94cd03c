"""The free and low-cost cures of a study: each tried alone, and those that help together."""

import os
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import Any, cast

import attrs
import numpy as np
import pandas as pd

from moistsim.controls import Strategy
from moistsim.core.changes import differences
from moistsim.core.display import Show, Units, check_units
from moistsim.core.errors import InputError, one_of
from moistsim.core.measures import Measure, in_trade
from moistsim.core.units import Role, to_si
from moistsim.cures.cure import Cure
from moistsim.cures.house_work import COVER_GROUND, SEAL_AIR, SEAL_DUCTS
from moistsim.cures.settings import (
    FAN_AUTO,
    LATER_STAGE,
    LOWER_AIRFLOW,
    NO_DELAY,
    setpoint_at,
    ventilation_at_62_2,
)
from moistsim.cures.trial import BELOW, Outcome, outcome
from moistsim.engine import column_catalog, infiltration_in
from moistsim.prices import Purchase
from moistsim.season import Season
from moistsim.study import Comparison, Option, Study

LEAST_USD = 2.0
"""Least worth of a cure, USD a year; on/off controls move a bill by less on their own."""
FOUND, TOGETHER = "As found", "All that help"
"""Rows of a table before and after the cures."""


@attrs.frozen(eq=False)
class TriedCure:
    """One cure tried on the base option: without it, and with it."""

    cure: Cure
    option: Option
    """The option with the cure."""
    without: Option
    before: Outcome
    after: Outcome
    first_cost: float
    """USD: a stand-in of our own, or the one that was given."""
    stand_in: bool
    """Whether the first cost is a stand-in."""

    @property
    def name(self) -> str:
        """Name of the cure."""
        return self.cure.name

    @property
    def cautions(self) -> tuple[str, ...]:
        """Cautions for the work."""
        return self.cure.cautions

    @property
    def is_free(self) -> bool:
        """Whether the cure costs nothing, because it is a setting."""
        return self.first_cost == 0.0

    @property
    def yearly_cost(self) -> float:
        """First cost over the life of the work, USD a year, without interest."""
        return self.first_cost / self.cure.life

    @property
    def worth(self) -> float:
        """What the cure saves in a house that is held at the goal, less its cost, USD a year."""
        return self.before.usd_at_goal - self.after.usd_at_goal - self.yearly_cost

    @property
    def helps(self) -> bool:
        """Whether the cure is worth more than it costs; see `free_cures`."""
        return self.worth >= LEAST_USD

    def do(self, units: Units) -> str:
        """What to do, one sentence."""
        return self.cure.say(self.without, self.option, Show(units))


@attrs.frozen(eq=False)
class Cures:
    """Free and low-cost cures of a study's base option, as `free_cures` returns them.

    Examples
    --------
    >>> import attrs
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = attrs.evolve(demo.study, start="10-01", end="10-07")
    >>> cures = ms.free_cures(study, progress=False)
    >>> "No fan-off delay after cooling" in [tried.name for tried in cures.tried]
    True
    """

    found_study: Study
    """The study as it was."""
    found: Outcome
    """The base option without cures."""
    tried: tuple[TriedCure, ...]
    """Every cure that applies, each alone."""
    kept: tuple[TriedCure, ...]
    """Cures that help together, in the order in which they were added; each against those before it."""

    @property
    def together(self) -> Outcome:
        """The base option with all kept cures."""
        return self.kept[-1].after if self.kept else self.found

    def applied(self, option: str) -> tuple[TriedCure, ...]:
        """The kept cures that act in an option.

        A cure does not act where the option has it already, or has a value of its own there.

        Raises
        ------
        InputError
            If there is no such option.
        """
        if option not in self.found_study.options:
            raise InputError("Cures option", option, one_of(option, self.found_study.options))
        return self._with_cures(option)[1]

    def _with_cures(self, option: str) -> tuple[Option, tuple[TriedCure, ...]]:
        resolved = self.found_study.resolved
        base, own = resolved[_base(self.found_study)], resolved[option]
        now, acting = own, []
        for tried in self.kept:
            with_it = tried.cure.change(*now)
            if with_it is not None and not _own_there(tried, own, base):
                now = with_it
                acting.append(tried)
        return now, tuple(acting)

    @property
    def study(self) -> Study:
        """The study in which each option has the kept cures; its own values stay.

        Work on the house is a change of each option's house, so `Study.house` stays as it is.
        """
        study = self.found_study
        options = {}
        for name in study.options:
            machines, strategy, house = self._with_cures(name)[0]
            options[name] = (machines, strategy, *([] if house == study.house else [house]))
        whole: Study = attrs.evolve(cast(Any, study), options=options)
        return whole

    def purchases(self, purchases: Mapping[str, Purchase]) -> dict[str, Purchase]:
        """Purchases with the first costs of the cures that act in each option.

        The price of a replacement stays, because the cures last.

        Parameters
        ----------
        purchases : dict of Purchase
            By option.
        """
        return {
            name: attrs.evolve(
                cast(Any, purchase),
                first_cost=purchase.first_cost + sum(x.first_cost for x in self.applied(name)),
                replacement_cost=purchase.replacement,
            )
            for name, purchase in purchases.items()
        }

    def table(self, units: Units = "si") -> pd.DataFrame:
        """Table with a row as found, a row for each cure alone, and one with all kept cures.

        Columns hold the first cost, the humid hours, mean RH and dew point, electricity and cost,
        the differences from as found, the cost at the goal (see `Outcome.usd_at_goal`), the worth,
        and whether the cure helps and is kept.

        Parameters
        ----------
        units : {"si", "us"}

        Raises
        ------
        InputError
            If `units` is neither.
        """
        check_units(units, "tables units")
        kept = {tried.name for tried in self.kept}
        rows = {FOUND: self._row(self.found)}
        for tried in self.tried:
            rows[tried.name] = {
                **self._row(tried.after),
                _FIRST_COST.name: tried.first_cost,
                _WORTH.name: tried.worth,
                _HELPS.name: tried.helps,
                _KEPT.name: tried.name in kept,
            }
        rows[TOGETHER] = {
            **self._row(self.together),
            _FIRST_COST.name: sum(tried.first_cost for tried in self.kept),
            _WORTH.name: sum(tried.worth for tried in self.kept),
        }
        columns = [_FIRST_COST, self._hours, *_OUTCOME, _WORTH, _HELPS, _KEPT]
        table = pd.DataFrame.from_dict(rows, orient="index").reindex(
            columns=[x.name for x in columns]
        )
        table.index.name = "cure"
        for answer in (_HELPS, _KEPT):
            table[answer.name] = table[answer.name].astype("boolean")
        return in_trade(table, columns) if units == "us" else table

    @property
    def _hours(self) -> Measure:
        return column_catalog.MEASURE[f"hours_over_{self.found_study.goal.above_rh:g}"]

    def _row(self, of: Outcome) -> dict[str, Any]:
        values = (
            of.mean_rh, of.mean_dew_point, of.kwh, of.usd, of.kwh - self.found.kwh,
            of.usd - self.found.usd, of.usd_at_goal,
        )  # fmt: skip
        named = dict(zip((x.name for x in _OUTCOME), values, strict=True))
        return {self._hours.name: of.humid_hours, **named}


_OUTCOME = (
    column_catalog.MEAN_RH, column_catalog.MEAN_DEW_POINT, column_catalog.TOTAL, column_catalog.COST,
    column_catalog.MORE_KWH, column_catalog.MORE_USD,
    Measure("at_goal_USD", "USD", "cost with the house held at the goal"),
)  # fmt: skip
_FIRST_COST = Measure("first_cost_USD", "USD", "first cost")
_WORTH = Measure("worth_USD", "USD", "worth a year at the goal, less the yearly share of the first cost")
_HELPS = Measure("helps", "yes or no", "whether the cure helps")
_KEPT = Measure("kept", "yes or no", "whether the cure is kept")


def free_cures(
    study: Study,
    *,
    first_costs: Mapping[str, float | str] | None = None,
    blower_door: bool = False,
    as_set: Comparison | None = None,
    progress: bool = True,
    workers: int | None = None,
) -> Cures:
    """Try what costs nothing or little on the base option, before any machine is compared.

    Settings cost nothing: fan AUTO, no fan-off delay after cooling, ventilation at the rate of ASHRAE
    62.2, a humidity setpoint 5 % below the goal, and a second stage that joins later. Less airflow
    over the coil costs a technician's visit. Duct sealing, a ground cover and air sealing are work.
    A cure is tried only where the house has what it changes.

    A cure helps if it is worth more than it costs in a house that keeps the goal. Each trial is
    therefore run twice, as it is and held at the goal by a dehumidifier. The worth is the difference
    of the two bills at the goal, less the first cost over the life of the work. So less humid hours
    and less energy count in one currency, and a cure that saves energy by leaving the house more
    humid counts no more than it should. An option that keeps the goal needs no dehumidifier, and its
    price counts too. A worth below 2 USD a year is no help.

    Cures that help alone are then added one by one, free ones first and the best first. One is kept if
    it still helps on top of those before it, because cures act on each other.

    Parameters
    ----------
    study : Study
    first_costs : dict, optional
        Own first costs by the cure's name, USD, in place of the stand-ins.
    blower_door : bool
        Whether the air leakage was measured. ASHRAE 62.2 credits infiltration only then.
    as_set : Comparison, optional
        This study's own comparison, if it has been run.
    progress : bool
        Show a progress bar.
    workers : int, optional
        Number of threads; default: one for each core.

    Returns
    -------
    Cures

    Raises
    ------
    InputError
        If a first cost is of no cure, or `as_set` is of another study.
    """
    from tqdm import tqdm

    base = _base(study)
    option = study.resolved[base]
    season = None if as_set is None else study.comparison_of(as_set).seasons[base]
    cures = candidates(study, option, blower_door=blower_door)
    given = _given(first_costs or {}, cures)

    def tried(cure: Cure, without: Option, before: Outcome) -> TriedCure | None:
        with_it = cure.change(*without)
        if with_it is None:
            return None
        stand_in = cure.name not in given
        cost = cure.price(without.house) if stand_in else given[cure.name]
        after = outcome(study, with_it)
        return TriedCure(cure, with_it, without, before, after, cost, stand_in)

    found = outcome(study, option, season)
    with (
        tqdm(total=len(cures), desc="cures", unit="cure", disable=not progress) as bar,
        ThreadPoolExecutor(workers or os.cpu_count() or 1) as pool,
    ):
        alone = []
        for one in pool.map(lambda cure: tried(cure, option, found), cures):
            if one is not None:
                alone.append(one)
            bar.update()
        kept: list[TriedCure] = []
        helping = sorted((x for x in alone if x.helps), key=lambda x: (not x.is_free, -x.worth))
        for candidate in helping:
            so_far, before = (kept[-1].option, kept[-1].after) if kept else (option, found)
            on_top = tried(candidate.cure, so_far, before) if kept else candidate
            if on_top is not None and on_top.helps:
                kept.append(on_top)
    return Cures(study, found, tuple(alone), tuple(kept))


def candidates(study: Study, option: Option, *, blower_door: bool) -> tuple[Cure, ...]:
    """All cures, settings first; each says for itself whether it applies."""
    infiltration = None
    if blower_door:
        infiltration = effective_infiltration(study, option)
    return (
        FAN_AUTO,
        NO_DELAY,
        ventilation_at_62_2(infiltration),
        setpoint_at(study.goal.above_rh - BELOW),
        LATER_STAGE,
        LOWER_AIRFLOW,
        SEAL_DUCTS,
        COVER_GROUND,
        SEAL_AIR,
    )


def effective_infiltration(study: Study, option: Option) -> float | None:
    """Effective annual infiltration of a house, m3/s; None if the weather is shorter than a year.

    ASHRAE 62.2 tabulates it by weather station. Here it is the harmonic mean over the hours of this
    weather, which is that of the constant rate with equal mean exposure if each hour is steady. The
    house has the outdoor temperature, but never leaves its setpoints.
    """
    weather = study.weather
    outdoors = weather.frame["temp_air"].to_numpy(float)
    if len(outdoors) < 8760:
        return None
    heating, cooling = (option.strategy.setpoint(role) for role in (Role.HEATING, Role.COOLING))
    high = 24.0 if cooling is None else cooling
    low = min(20.0 if heating is None else heating, high)
    flow = infiltration_in(option.house, weather, np.clip(outdoors, low, high))
    return float(1.0 / np.mean(1.0 / flow)) if (flow > 0.0).all() else 0.0


def _base(study: Study) -> str:
    return study.base or next(iter(study.options))


def _given(costs: Mapping[str, float | str], cures: Iterable[Cure]) -> dict[str, float]:
    names = [cure.name for cure in cures]
    for name in costs:
        if name not in names:
            raise InputError("free_cures first_costs", name, one_of(name, names))
    found = {name: to_si(x, "USD", f"free_cures first_costs {name}") for name, x in costs.items()}
    for name, cost in found.items():
        if cost < 0.0:
            raise InputError(f"free_cures first_costs {name}", cost, "0 USD or more")
    return found


def _own_there(tried: TriedCure, own: Option, base: Option) -> bool:
    """Whether an option has values of its own where a cure changes something."""
    for before, after, its, plain in zip(tried.without, tried.option, own, base, strict=True):
        if isinstance(its, Strategy) or isinstance(before, Strategy):
            continue
        changed = {change.path for change in differences(before, after)}
        if changed & {change.path for change in differences(plain, its)}:
            return True
    return False
