"""The free and low-cost cures of a study: each tried alone, and those that help together."""

from collections.abc import Mapping
from typing import Any, cast

import attrs
import numpy as np
import pandas as pd

from moistsim.core.abandoning import Threads
from moistsim.core.changes import differences
from moistsim.core.display import Show, Units, count, money, number, units_or_default
from moistsim.core.errors import InputError, one_of
from moistsim.core.measures import Measure, in_trade
from moistsim.core.progress import progress_bar
from moistsim.core.summary import Tabled, short
from moistsim.core.units import Role
from moistsim.core.whole_numbers import worker_count
from moistsim.cures.cure import Cure
from moistsim.cures.house_work import COVER_GROUND, SEAL_AIR, SEAL_DUCTS
from moistsim.cures.prices import CurePrices
from moistsim.cures.settings import (
    FAN_AUTO,
    LATER_STAGE,
    LOWER_AIRFLOW,
    NO_DELAY,
    setpoint_at,
    ventilation_at_62_2,
)
from moistsim.cures.trial import Outcome, outcome
from moistsim.engine import column_catalog, infiltration_in
from moistsim.prices import Purchase
from moistsim.risk import RiskBasis
from moistsim.study import MARGIN, Comparison, Option, Study

LEAST_USD = 2.0
"""Least saving that counts, USD a year; on/off controls move a bill by less on their own."""
FOUND, TOGETHER = "As found", "Kept cures together"
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
    def saves(self) -> float:
        """Energy that the cure saves in a house that keeps the goal, USD a year; see `free_cures`."""
        return self.before.usd_at_goal - self.after.usd_at_goal

    @property
    def worth(self) -> float:
        """`saves` less the yearly share of the first cost, USD a year."""
        return self.saves - self.yearly_cost

    @property
    def helps(self) -> bool:
        """Whether the cure saves something in a house that keeps the goal, or protects wood."""
        return self.saves >= LEAST_USD or self.protects

    @property
    def pays(self) -> bool:
        """Whether the cure saves more than it costs."""
        return self.worth >= LEAST_USD

    @property
    def protects(self) -> bool:
        """Whether wood of a space is at risk without the cure, and of no space more with it."""
        return set(self.after.damp_spaces) < set(self.before.damp_spaces)

    @property
    def keeps_comfort(self) -> bool:
        """Whether the room still holds its setpoints, or misses them for no more hours."""
        return self.after.comfort.as_good_as(self.before.comfort)

    @property
    def worth_doing(self) -> bool:
        """Whether the cure pays or protects wood, and does not cost comfort."""
        return (self.pays or self.protects) and self.keeps_comfort

    def do(self, units: Units) -> str:
        """What to do, one sentence."""
        return self.cure.say(self.without, self.option, Show(units))

    @property
    def why(self) -> str:
        """Why the cure is worth doing or not, in one to four sentences."""
        texts = []
        span = "a year" if self.after.hours > 8400.0 else "in the season"
        place = "in a house that keeps the goal"
        price = f"{money(self.yearly_cost)} a year of its life"
        if not self.helps:
            texts.append("It does not help in this house.")
        elif self.is_free:
            texts.append(f"It costs nothing and saves {money(self.saves)} {span} {place}.")
        elif self.saves < LEAST_USD:
            texts.append(f"It saves nothing {place}, and costs {price}.")
        elif self.pays:
            texts.append(f"It saves {money(self.saves)} {span} {place}, and costs {price}.")
        else:
            texts.append(f"It saves {money(self.saves)} {span} {place}, and costs more: {price}.")
        more = self.after.humid_hours - self.before.humid_hours
        if self.helps and more >= 1.0:
            texts.append(f"It leaves {count(more, 'more humid hour')}, which the saving counts.")
        if self.protects:
            spaces = " and ".join(sorted({*self.before.damp_spaces} - {*self.after.damp_spaces}))
            texts.append(f"It takes the wood of the {spaces} out of danger.")
        if not self.keeps_comfort:
            texts.append(f"It costs comfort: {self.after.comfort.words()}.")
        return " ".join(texts)


@attrs.frozen(eq=False)
class Cures(Tabled):
    """Free and low-cost cures of a study's base option, as `free_cures` returns them.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="10-01", end="10-07")
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
    months: float
    """Length of the season in months."""

    def __repr__(self) -> str:
        return short(self, [tried.name for tried in self.tried])

    @property
    def together(self) -> Outcome:
        """The base option with all kept cures."""
        return self.kept[-1].after if self.kept else self.found

    @property
    def season_words(self) -> str:
        """What a season shorter than a year means for the savings; empty for a whole year."""
        if self.months > 11.5:
            return ""
        return (
            f"Savings are those of {number(self.months, 1)} months, and work on the house is paid for a "
            "year. Run the whole year before you judge it."
        )

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
            By option. One that is not in the study, such as a proposal, stands on the base option.
        """
        base = _base(self.found_study)
        on = {name: name if name in self.found_study.options else base for name in purchases}
        return {
            name: attrs.evolve(
                cast(Any, purchase),
                first_cost=purchase.first_cost + sum(x.first_cost for x in self.applied(on[name])),
                replacement_cost=purchase.replacement,
            )
            for name, purchase in purchases.items()
        }

    def table(self, units: Units | None = None) -> pd.DataFrame:
        """Table with a row as found, a row for each cure alone, and one with all kept cures.

        A kept cure that does not apply alone is shown on top of those before it.

        Columns hold the first cost, the humid hours, mean RH and dew point, electricity and cost,
        the differences from as found, the hours too warm and too cold, the spaces with wood at risk,
        the cost at the goal (see `Outcome.usd_at_goal`), what the cure saves there and is worth, and whether it helps and is
        kept.

        Parameters
        ----------
        units : {"us", "si"}, optional

        Raises
        ------
        InputError
            If `units` is neither.
        """
        units = units_or_default(units, "tables units")
        kept = {tried.name for tried in self.kept}
        rows = {FOUND: self._row(self.found)}
        alone = [tried.name for tried in self.tried]
        for tried in (*self.tried, *(x for x in self.kept if x.name not in alone)):
            rows[tried.name] = {
                **self._row(tried.after),
                _FIRST_COST.name: tried.first_cost,
                _SAVES.name: tried.saves,
                _WORTH.name: tried.worth,
                _HELPS.name: tried.helps,
                _KEPT.name: tried.name in kept,
            }
        rows[TOGETHER] = {
            **self._row(self.together),
            _FIRST_COST.name: sum(tried.first_cost for tried in self.kept),
            _SAVES.name: self.found.usd_at_goal - self.together.usd_at_goal,
            _WORTH.name: sum(tried.worth for tried in self.kept),
        }
        columns = [_FIRST_COST, *_OUTCOME, _SAVES, _WORTH, _HELPS, _KEPT]
        table = pd.DataFrame.from_dict(rows, orient="index").reindex(
            columns=[x.name for x in columns]
        )
        table.index.name = "cure"
        for answer in (_HELPS, _KEPT):
            table[answer.name] = table[answer.name].astype("boolean")
        return in_trade(table, columns) if units == "us" else table

    def _row(self, of: Outcome) -> dict[str, Any]:
        values = (
            of.humid_hours, of.mean_rh, of.mean_dew_point, of.kwh, of.usd, of.kwh - self.found.kwh,
            of.usd - self.found.usd, of.comfort.warm, of.comfort.cold, " and ".join(of.damp_spaces),
            of.usd_at_goal,
        )  # fmt: skip
        return dict(zip((x.name for x in _OUTCOME), values, strict=True))


_OUTCOME = (
    Measure("humid_h", "hour", "time above the RH of the goal"),
    column_catalog.MEAN_RH, column_catalog.MEAN_DEW_POINT, column_catalog.TOTAL, column_catalog.COST,
    column_catalog.MORE_KWH, column_catalog.MORE_USD,
    Measure("too_warm_h", "hour", "hours above the cooling setpoint"),
    Measure("too_cold_h", "hour", "hours below the heating setpoint"),
    Measure("damp_wood", "text", "spaces whose wood is at risk"),
    Measure("at_goal_USD", "USD", "cost with the house held at the goal"),
)  # fmt: skip
_FIRST_COST = Measure("first_cost_USD", "USD", "first cost")
_SAVES = Measure("saves_USD", "USD", "saved in a house that keeps the goal")
_WORTH = Measure("worth_USD", "USD", "saved, less the yearly share of the first cost")
_HELPS = Measure("helps", "yes or no", "whether the cure helps")
_KEPT = Measure("kept", "yes or no", "whether the cure is kept")


def free_cures(
    study: Study,
    *,
    prices: CurePrices | None = None,
    blower_door: bool = False,
    basis: RiskBasis | None = None,
    as_set: Comparison | None = None,
    progress: bool = True,
    workers: int | None = None,
) -> Cures:
    """Try what costs nothing or little on the base option, before any machine is compared.

    Settings cost nothing: fan AUTO, no fan-off delay after cooling, ventilation at the rate of ASHRAE
    62.2, a humidity setpoint 5 % below the goal, and a second stage that joins later. Less airflow
    over the coil costs a technician's visit. Duct sealing, a ground cover and air sealing are work.
    A cure is tried only where the house has what it changes.

    Each cure is judged in a house that keeps the goal. A trial is therefore run twice: as it is, and
    held at the goal by a dehumidifier if it needs one. A cure saves the difference of the two bills
    at the goal. So fewer humid hours and less energy count in one currency, and a cure that saves
    energy by leaving the house more humid counts no more than it should. A house that keeps the goal
    by itself needs no dehumidifier, and that machine's price counts too.

    A cure helps if it saves at least 2 USD a year. It pays if it still does after the first cost,
    spread over the life of the work without interest. It protects if wood of a space next to the
    house is at risk without it and not with it (`space_risk`). Cures are then added one by one, the free ones
    first, and of these the best first. One is kept if it pays or protects on top of those before it,
    because cures act on each other: a fan-off delay does not matter while the fan is on. A cure that
    makes the house too warm or too cold for its setpoints is not kept; see `comfort_of`.

    Parameters
    ----------
    study : Study
        A house takes some 10 to 25 runs of a season.
    prices : CurePrices, optional
        First costs of the work; default: stand-ins of our own.
    blower_door : bool
        Whether the air leakage was measured. ASHRAE 62.2 credits infiltration only then.
    basis : RiskBasis, optional
        Basis of the risk of wood.
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
        If `as_set` is of another study.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="10-01", end="10-07")
    >>> cures = ms.free_cures(study, prices=ms.CurePrices(airflow=90), progress=False)
    >>> cures.tried[0].do("us")
    "Set the blower's fan-off delay after cooling to 0 s instead of 60 s."
    """
    base = _base(study)
    option = study.resolved[base]
    season = None if as_set is None else study.comparison_of(as_set).seasons[base]
    cures = candidates(study, option, blower_door=blower_door)

    def given(cure: Cure) -> float | None:
        return getattr(prices, cure.price_key, None) if prices is not None else None

    def cost(cure: Cure) -> float:
        own = given(cure)
        return cure.price(option.house) if own is None else own

    def tried(cure: Cure, without: Option, before: Outcome) -> TriedCure | None:
        with_it = cure.change(*without)
        if with_it is None:
            return None
        after, stand_in = outcome(study, with_it, basis), given(cure) is None
        return TriedCure(cure, with_it, without, before, after, cost(cure), stand_in)

    def rank(cure: Cure) -> tuple[bool, bool, float]:
        one = alone.get(cure.name)
        return cost(cure) > 0.0, one is None or not one.worth_doing, -one.worth if one else 0.0

    found = outcome(study, option, basis, season)
    with (
        progress_bar(len(cures), "cures", "cure", shown=progress) as bar,
        Threads(worker_count(workers, "free_cures workers")) as pool,
    ):
        alone: dict[str, TriedCure] = {}
        for one in pool.map(lambda cure: tried(cure, option, found), cures):
            if one is not None:
                alone[one.name] = one
            bar.update()
        kept: list[TriedCure] = []
        for cure in sorted(cures, key=rank):
            last = kept[-1] if kept else None
            on_top = tried(cure, last.option, last.after) if last else alone.get(cure.name)
            if on_top is not None and on_top.worth_doing:
                kept.append(on_top)
    months = 12.0 * found.hours / 8760.0
    return Cures(study, found, tuple(alone.values()), tuple(kept), months)


def candidates(study: Study, option: Option, *, blower_door: bool) -> tuple[Cure, ...]:
    """All cures, settings first; each says for itself whether it applies."""
    infiltration = None
    if blower_door:
        infiltration = effective_infiltration(study, option)
    return (
        FAN_AUTO,
        NO_DELAY,
        ventilation_at_62_2(infiltration),
        setpoint_at(study.goal.above_rh - MARGIN),
        LATER_STAGE,
        LOWER_AIRFLOW,
        SEAL_DUCTS,
        COVER_GROUND,
        SEAL_AIR,
    )


def effective_infiltration(study: Study, option: Option) -> float | None:
    """Effective annual infiltration of a house, m3/s; None if the weather is shorter than a year.

    It is the constant flow that gives the mean exposure to a constant source, hour by hour through
    this weather. ASHRAE 62.2 tabulates factors for such a flow by weather station. The house has the
    outdoor temperature, but never leaves its setpoints.
    """
    weather, house = study.weather, option.house
    outdoors = weather.frame["temp_air"].to_numpy(float)
    if len(outdoors) < 8760:
        return None
    heating, cooling = (option.strategy.setpoint(role) for role in (Role.HEATING, Role.COOLING))
    high = 24.0 if cooling is None else cooling
    low = min(20.0 if heating is None else heating, high)
    flow = np.maximum(infiltration_in(house, weather, np.clip(outdoors, low, high)), 1.0e-9)
    kept = np.exp(-flow * 3600.0 / house.volume)
    level, total = 1.0 / flow.mean(), 0.0
    for its_flow, its_kept in zip(flow.tolist(), kept.tolist(), strict=True):
        level = 1.0 / its_flow + (level - 1.0 / its_flow) * its_kept
        total += level
    return float(len(flow) / total)


def _base(study: Study) -> str:
    return study.base or next(iter(study.options))


def _own_there(tried: TriedCure, own: Option, base: Option) -> bool:
    """Whether an option has values of its own where a cure changes something."""
    return bool(_differing(tried.without, tried.option) & _differing(base, own))


def _differing(one: Option, other: Option) -> set[tuple[str, ...]]:
    """Paths of the values in which two options differ, settings that both controls have included."""
    mine, its = one.strategy.settings, other.strategy.settings
    return {
        *(change.path for change in differences(one.equipment, other.equipment)),
        *(change.path for change in differences(one.house, other.house)),
        *((name,) for name in mine.keys() & its.keys() if mine[name] != its[name]),
    }
