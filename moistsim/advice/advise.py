"""Advice on a study: cures first, then options and proposals at the owner's goal."""

from collections.abc import Mapping
from typing import Any, cast

import attrs

from moistsim.advice.advice import Advice
from moistsim.core.display import Units, units_or_default
from moistsim.cures import CurePrices, free_cures, proposals
from moistsim.economics import economics
from moistsim.prices import Purchase, Terms
from moistsim.risk import RiskBasis, damp_wood, space_risk, surface_mold
from moistsim.study import Comparison, Study


def advise(
    study: Study,
    purchases: Mapping[str, Purchase] | None = None,
    terms: Terms | None = None,
    *,
    basis: RiskBasis | None = None,
    prices: CurePrices | None = None,
    blower_door: bool = False,
    as_set: Comparison | None = None,
    units: Units | None = None,
    progress: bool = True,
    workers: int | None = None,
) -> Advice:
    """Decide what to do in a house.

    Free and low-cost cures are tried first, see `free_cures`. The smallest machines that keep the
    owner's goal join the options, see `proposals`. Options and proposals then get the kept cures and
    the settings that keep the goal, see `Study.at_goal`. The advice is the cheapest of those that
    do and hold their setpoints: over the years with purchases, else by the energy of the season. An
    option that is too warm or too cold for its setpoints in more than 1 % of the hours is not
    advised, however cheap.

    Parameters
    ----------
    study : Study
    purchases : dict of Purchase, optional
        One for each option, for costs over the years.
    terms : Terms, optional
    basis : RiskBasis, optional
        Limits for mold and wood; default: those of `RiskBasis`.
    prices, blower_door
        As for `free_cures`: first costs of the cures, and whether the air leakage was measured.
    as_set : Comparison, optional
        This study's own comparison, if it has been run.
    units : {"us", "si"}, optional
        Units in the names of proposed machines.
    progress : bool
        Show progress bars.
    workers : int, optional
        Number of threads; default: one for each core.

    Returns
    -------
    Advice

    Examples
    --------
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="10-01", end="10-07")
    >>> advice = ms.advise(study, progress=False)
    >>> advice.ends_complaint, advice.best in advice.fit
    (True, True)
    """
    units = units_or_default(units, "advise units")
    how: dict[str, Any] = {"progress": progress, "workers": workers}
    before = study.comparison_of(as_set, **how)
    limits = basis or RiskBasis()
    cures = free_cures(
        study, prices=prices, blower_door=blower_door, basis=limits, as_set=before, **how
    )
    cured = cures.study
    after = cured.run(**how) if cures.kept else Comparison(cured, before.seasons)
    proposed = proposals(cured, purchases=purchases, as_set=after, units=units, **how)
    machines = {x.name: x for x in proposed if x.option is not None and x.name not in study.options}
    seasons, whole = after.seasons, cured
    if machines:
        options = {name: tuple(x.option or ()) for name, x in machines.items()}
        alone: Study = attrs.evolve(cast(Any, cured), options=options, base=None)
        whole = attrs.evolve(cast(Any, cured), options={**cured.options, **options})
        seasons = {**seasons, **alone.run(**how).seasons}
    at_goal = whole.at_goal(as_set=Comparison(whole, seasons), **how)
    bought = None
    if purchases:
        own = {name: x.purchase for name, x in machines.items() if x.purchase is not None}
        paid = cures.purchases({**purchases, **own})
        bought = economics(at_goal.comparison, paid, terms, at_goal=True)
    return Advice(
        as_set=before,
        cures=cures,
        proposals=proposed,
        at_goal=at_goal,
        bought=bought,
        mold=surface_mold(before.seasons[before.base], limits),
        damp_as_set=damp_wood(space_risk(before, limits, "si")),
        damp=damp_wood(space_risk(at_goal.comparison, limits, "si")),
    )
