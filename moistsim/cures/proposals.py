"""Machines sized from the complaint: the smallest dehumidifier and the least strips that end it."""

import math
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple, cast

import attrs

from moistsim.controls import Strategy, strategies, temperature_only
from moistsim.core.abandoning import Threads
from moistsim.core.display import Show, Units, count, money, number, units_or_default
from moistsim.core.errors import InputError
from moistsim.core.progress import progress_bar
from moistsim.core.units import to_si
from moistsim.core.whole_numbers import worker_count
from moistsim.cures.trial import held_at_goal, run
from moistsim.equipment import Dehumidifier, Equipment, Strips
from moistsim.prices import Purchase
from moistsim.season import Season
from moistsim.sizing import of_size
from moistsim.study import (
    MARGIN,
    SAME,
    Comfort,
    Comparison,
    Option,
    Study,
    bring_to_goal,
    comfort_of,
    warmer_room,
)

PINTS = (*range(20, 50, 5), *range(50, 210, 10))
"""Rated sizes of dehumidifiers that are tried, pints a day. Hardly any smaller are sold (common
practice, no source). Buy this size or the next larger one that is sold."""
COLDER = 1.0
"""How far below the base option's a room counts as colder, K."""
COOL_SHARE = 0.01
"""Most hours, as a share, in which smaller strips leave a colder room and the largest do not."""
HALF_KW = tuple(0.5 * k for k in range(1, 31))
"""Strips that are tried, kW: heater kits come in such steps or larger ones."""
KW_PER_AIRFLOW = 1.0 / to_si("60 cfm/kW", "m3/s/W", "") / 1000.0
"""Strips that an airflow allows, kW per m3/s: 60 cfm/kW (common practice, no source)."""
OF_ITS_CLASS = 1.5
"""How many times as large as a proposal an option's dehumidifier may be for its price to hold: a
larger one is another class of machine (our own figure). Any heater kit costs about the same."""
# Stand-ins of our own (common practice, no source): a plugged machine with a drain up to 50 pints a
# day, a ducted one above; a heater kit with its circuit and a control.
SMALL = 50
SMALL_BOX = Purchase(first_cost=450.0, life=8, maintenance=20.0)
DUCTED_BOX = Purchase(first_cost=2400.0, life=10, maintenance=40.0)
HEATER_KIT = Purchase(first_cost=900.0, life=15)


@attrs.frozen(eq=False)
class Proposal:
    """The smallest machine of one kind that keeps the goal, or the reason why none does.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="10-01", end="10-07")
    >>> dehumidifier = ms.proposals(study, progress=False)[0]
    >>> dehumidifier.meets, dehumidifier.price_of
    (True, '')
    """

    kind: str
    """Kind of machine: "dehumidifier" or "strips"."""
    name: str
    """Name of the option, such as "Dehumidifier, 30 pints/day"."""
    option: Option | None
    """The option; None if no size keeps the goal."""
    purchase: Purchase | None
    """First cost, life and maintenance; None if no size keeps the goal."""
    price_of: str
    """Option of the file whose purchase this is; empty for a stand-in of our own."""
    size: float
    """Rated moisture removal, kg/s, or strips, W."""
    humid_hours: float
    """Hours above the goal's RH; with the largest machine if no size keeps the goal."""
    most_hours: float
    """Hours that the goal allows."""
    smaller: float | None
    """The next smaller size, which does not keep the goal; None if there is no smaller one."""
    smaller_hours: float
    """Hours above the goal's RH with the next smaller size, or without the machine."""
    smaller_warmer: float
    """Mean room temperature with the next smaller size above the base option's, K, while that cools."""
    smaller_cool_hours: float
    """Hours with a room more than 1 K colder than the base option's, beyond those with the largest."""
    above_rh: float
    """Relative humidity of the goal, percent."""
    smaller_misses: str = ""
    """How the next smaller size misses the setpoints; empty if it holds them."""
    why_not: str = ""
    """Why no size keeps the goal; empty if one does."""

    @property
    def meets(self) -> bool:
        """Whether a size keeps the goal."""
        return self.option is not None

    def why(self, units: Units) -> str:
        """Why this size, in one or two sentences."""
        if self.why_not:
            return self.why_not
        rh = f"{number(self.above_rh)} % RH"
        size = self._said(self.size, units)
        # A size that just misses the goal would otherwise read as one that keeps it.
        close = round(self.smaller_hours) == round(self.most_hours)
        most = number(self.most_hours, 1 if close else 0)
        hours = f"{count(self.humid_hours, 'hour')} above {rh} of {most} allowed"
        if self.smaller is None:
            without = count(self.smaller_hours, "hour")
            return (
                f"{size}, the smallest common size, keeps the goal: {hours}. Without it there are "
                f"{without}."
            )
        text = f"{size} is the smallest that keeps the goal: {hours}."
        if self.smaller_hours > self.most_hours:
            left = (
                f"{number(self.smaller_hours, 1)} hours"
                if close
                else count(self.smaller_hours, "hour")
            )
        elif self.smaller_misses:
            return f"{text} With the next smaller one, {self._said(self.smaller, units)}, {self.smaller_misses}."
        elif self.smaller_warmer < -SAME:
            left = f"a room {Show(units)(-self.smaller_warmer, 'difference')} colder"
        else:
            many = count(self.smaller_cool_hours, "hour")
            left = f"a room more than {Show(units)(COLDER, 'difference')} colder for {many}"
        return f"{text} The next smaller one, {self._said(self.smaller, units)}, leaves {left}."

    @property
    def cautions(self) -> tuple[str, ...]:
        """Cautions for the machine."""
        return CAUTIONS[self.kind]

    @property
    def price_words(self) -> str:
        """Where the price comes from, one sentence."""
        if self.purchase is None:
            return ""
        cost = money(self.purchase.first_cost)
        if self.price_of:
            return f"Price: no more than the {cost} of “{self.price_of}”."
        return (
            f"Price: {cost}, a stand-in of our own (common practice, no source). Ask for an offer."
        )

    def _said(self, size: float, units: Units) -> str:
        if self.kind == DEHUMIDIFIER:
            return Show(units)(size, "removal")
        return f"{number(size / 1000.0, 1)} kW"


DEHUMIDIFIER, STRIPS = "dehumidifier", "strips"
CAUTIONS = {
    DEHUMIDIFIER: (
        "The size is without a margin. Choose it, or the next larger one that is sold at the same rating "
        "point: labels since 2019 rate at colder air than older ones.",
        "Give it a circuit that carries its current, and a drain with an overflow switch.",
    ),
    STRIPS: (
        "Strips and compressor draw current at the same time. An electrician must check breaker and "
        "wires under local codes.",
        "Heaters without airflow start fires: airflow proof and limit switch stay in the circuit.",
    ),
}


def proposals(
    study: Study,
    *,
    purchases: Mapping[str, Purchase] | None = None,
    as_set: Comparison | None = None,
    units: Units | None = None,
    progress: bool = True,
    workers: int | None = None,
) -> tuple[Proposal, ...]:
    """Propose the smallest dehumidifier and the least strips that keep a study's goal.

    Together with `free_cures`::

        cures = ms.free_cures(study)
        found = ms.proposals(cures.study, purchases=purchases)
        options = {**cures.study.options, **{x.name: x.option for x in found if x.meets}}
        bought = cures.purchases({**purchases, **{x.name: x.purchase for x in found if x.meets}})

    Both stand next to the machines of the base option. The dehumidifier has a humidistat of its own,
    5 % below the goal's RH, and the air path of the first option's dehumidifier, if there is one. The
    strips run with `strategies.staged_reheat` at the base option's thermostat settings, its humidity
    target 5 % below the goal's RH. Both are tried in the largest size first, with setpoints moved as
    by `Study.at_goal` if they must. Sizes are then halved between one that keeps the goal and one
    that does not. Strips must also keep the room as warm as the base option's. Neither may make the
    house too warm or too cold for its setpoints, see `comfort_of`: by no more than 1 % of the hours
    beyond the base option's.

    Parameters
    ----------
    study : Study
        With the kept cures: `Cures.study`.
    purchases : dict of Purchase, optional
        By option, as in the file: `Cures.purchases` adds the work to all of them later. A proposal
        takes that of the first option that dries with a machine of its kind, if that is as large and
        of its class (`OF_ITS_CLASS`), or cheaper than the stand-in; else a stand-in of our own. The
        price of a much larger machine would decide against a small one.
    as_set : Comparison, optional
        This study's own comparison, if it has been run.
    units : {"us", "si"}, optional
        Units of the sizes in the names.
    progress : bool
        Show a progress bar.
    workers : int, optional
        Number of threads; default: one for each core.

    Returns
    -------
    tuple of Proposal
        Empty if the base option keeps the goal.

    Raises
    ------
    InputError
        If `as_set` is of another study.

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="10-01", end="10-07")
    >>> found = ms.proposals(study, progress=False)
    >>> [proposal.kind for proposal in found]
    ['dehumidifier', 'strips']
    """
    units = units_or_default(units, "proposals units")
    name = study.base or next(iter(study.options))
    base = study.resolved[name]
    season = run(study, base) if as_set is None else study.comparison_of(as_set).seasons[name]
    if study.goal.is_kept(season):
        return ()
    tasks = [partial for kind in (_dehumidifiers, _strips) if (partial := kind(study, base))]
    with (
        progress_bar(len(tasks), "proposals", "kind", shown=progress) as bar,
        Threads(worker_count(workers, "proposals workers")) as pool,
    ):
        found = []
        for proposal in pool.map(
            lambda kind: _least(study, season, kind, purchases or {}, units), tasks
        ):
            found.append(proposal)
            bar.update()
    return tuple(found)


@attrs.frozen
class _Kind:
    """Machines of one kind in all sizes."""

    kind: str
    title: str
    sizes: tuple[float, ...]
    """Rising, in SI."""
    of: Callable[[float], Option]
    """The option with a machine of a size."""
    warm: bool
    """Whether the size decides how warm the room is."""
    there: Callable[[Option], float]
    """Size of that kind of machine that an option dries with; 0 without one."""
    price: Callable[[float], Purchase]
    """Stand-in for the purchase, by size."""
    of_its_class: float
    """How many times as large an option's machine may be for its price to hold."""


def _dehumidifiers(study: Study, base: Option) -> _Kind | None:
    template = next(
        (x.equipment.dehumidifier for x in study.resolved.values() if x.equipment.dehumidifier),
        Dehumidifier(capacity=to_si("70 pint/day", "kg/s", "")),
    )
    pint = to_si("1 pint/day", "kg/s", "")

    def of(size: float) -> Option:
        machine = of_size(template, size)
        return base._replace(equipment=held_at_goal(base.equipment, study, machine))

    return _Kind(
        DEHUMIDIFIER,
        "Dehumidifier",
        tuple(pints * pint for pints in PINTS if _made(of, pints * pint)),
        of,
        False,
        lambda option: own.capacity if (own := option.equipment.dehumidifier) else 0.0,
        lambda size: SMALL_BOX if size <= (SMALL + 0.5) * pint else DUCTED_BOX,
        OF_ITS_CLASS,
    )


def _strips(study: Study, base: Option) -> _Kind | None:
    cooling = base.equipment.cooling
    # With a second system, each has strips of its own to size.
    if cooling is None or base.equipment.second_system is not None:
        return None
    shared = {
        name: value
        for name, value in base.strategy.settings.items()
        if name in temperature_only.settings
    }
    try:
        strategy: Strategy = strategies.staged_reheat(
            target_rh=study.goal.above_rh - MARGIN, **shared
        )
        for addition in base.strategy.additions:
            strategy = strategy + addition
    except InputError:
        # The base option's control has settings that strip reheat refuses.
        return None
    most = KW_PER_AIRFLOW * cooling.stages[0].airflow

    def of(size: float) -> Option:
        strips = Strips(stages=(size,))
        own = base.equipment.strips
        if own is not None:
            strips = attrs.evolve(cast(Any, own), stages=(size,))
        machines: Equipment = attrs.evolve(cast(Any, base.equipment), strips=strips)
        return base._replace(equipment=machines, strategy=strategy)

    return _Kind(
        STRIPS,
        "Strip reheat",
        tuple(1000.0 * kw for kw in HALF_KW if kw <= max(most, HALF_KW[0])),
        of,
        True,
        _reheat_power,
        lambda size: HEATER_KIT,
        math.inf,
    )


def _reheat_power(option: Option) -> float:
    """Power of the strips of an option that reheats with them, W; 0 for others."""
    strips, control = option.equipment.strips, option.strategy.base
    reheats = control.function is strategies.staged_reheat.function
    return sum(strips.powers) if strips is not None and reheats else 0.0


def _made(of: Callable[[float], Option], size: float) -> bool:
    """Whether a machine of a size can be made to its template's ratings."""
    try:
        of(size)
    except InputError:
        return False
    return True


class _Held(NamedTuple):
    """What a size does."""

    hours: float
    """Humid hours."""
    warmer: float
    """Mean room temperature above the base option's while that cools, K."""
    cool_hours: float
    """Hours with a room colder than the base option's beyond those with the largest size."""
    comfort: Comfort
    """Hours too warm and too cold."""


def _colder(season: Season, base: Season) -> float:
    """Hours in which the room is more than `COLDER` below the base option's."""
    mine, its = (x.hourly["indoor_temperature_C"].to_numpy() for x in (season, base))
    return float((mine < its - COLDER).sum())


def _least(
    study: Study, base: Season, kind: _Kind, purchases: Mapping[str, Purchase], units: Units
) -> Proposal:
    """The smallest size of a kind of machine that keeps the goal."""
    goal, most = study.goal, study.goal.most_hours(len(base.quarters) / 4)
    name = study.base or next(iter(study.options))
    ample = kind.of(kind.sizes[-1])
    options: Any = {name: study.options[name], kind.title: tuple(ample)}
    pair: Study = attrs.evolve(cast(Any, study), options=options, base=name)
    largest = bring_to_goal(pair, kind.title, base)
    colder = _colder(largest.season, base)
    now = comfort_of(study, base)
    tried = {len(kind.sizes) - 1: _Held(largest.hours, largest.warmer, 0.0, largest.comfort)}

    def is_comfortable(comfort: Comfort) -> bool:
        """Whether the machine does not cost comfort; that of the base option is another matter."""
        return comfort.as_good_as(now, comfort.most)

    def option_of(number: int) -> Option:
        option = kind.of(kind.sizes[number])
        machines = option.equipment
        if kind.kind == DEHUMIDIFIER and machines.dehumidifier and largest.equipment.dehumidifier:
            moved: Any = attrs.evolve(
                cast(Any, machines.dehumidifier),
                humidistat=largest.equipment.dehumidifier.humidistat,
            )
            machines = attrs.evolve(cast(Any, machines), dehumidifier=moved)
        return Option(machines, largest.strategy, option.house)

    def keeps(number: int) -> bool:
        if number not in tried:
            season = run(study, option_of(number))
            tried[number] = _Held(
                goal.humid_hours(season),
                warmer_room(season, base),
                _colder(season, base) - colder,
                comfort_of(study, season),
            )
        held = tried[number]
        warm = held.warmer >= -SAME and held.cool_hours <= COOL_SHARE * len(base.quarters) / 4
        return held.hours <= most and (warm or not kind.warm) and is_comfortable(held.comfort)

    size = kind.sizes[-1]
    if not (largest.meets and largest.comparable and is_comfortable(largest.comfort)):
        show = Proposal(
            kind.kind, kind.title, None, None, "", size, largest.hours, most, None, 0.0, 0.0, 0.0,
            goal.above_rh,
        )  # fmt: skip
        reason = (
            f"No {kind.kind} up to {show._said(size, units)} keeps the goal: {largest.why_not}."
        )
        return attrs.evolve(show, why_not=reason)
    # Humid hours fall with the size: the least one lies between two neighbors.
    below, above = -1, len(kind.sizes) - 1
    while above - below > 1:
        middle = (below + above) // 2
        below, above = (below, middle) if keeps(middle) else (middle, above)
    size = kind.sizes[above]
    stand_in = kind.price(size)

    def is_priced(name: str, option: Option) -> bool:
        """Whether the price of an option holds for the proposal."""
        there = kind.there(option)
        if name not in purchases or there < size:
            return False
        cheap = purchases[name].first_cost <= stand_in.first_cost
        return cheap or there <= kind.of_its_class * size

    price_of = next((name for name, x in study.resolved.items() if is_priced(name, x)), "")
    smaller = kind.sizes[below] if below >= 0 else None
    left = tried[below] if below >= 0 else _Held(goal.humid_hours(base), 0.0, 0.0, now)
    misses = "" if below < 0 or is_comfortable(left.comfort) else left.comfort.words()
    proposal = Proposal(
        kind.kind, "", option_of(above), purchases.get(price_of) or stand_in, price_of, size,
        tried[above].hours, most, smaller, *left[:3], goal.above_rh, misses,
    )  # fmt: skip
    return attrs.evolve(proposal, name=f"{kind.title}, {proposal._said(size, units)}")
