"""Advice on a scenario, with all that its file says about prices and measurements."""

from moistsim.advice import Advice, advise
from moistsim.core.display import Units
from moistsim.scenario.record import Scenario
from moistsim.study import Comparison


def advice_on(
    scenario: Scenario,
    *,
    as_set: Comparison | None = None,
    units: Units | None = None,
    progress: bool = True,
) -> Advice:
    """Decide what to do in the house of a scenario; see `advise`.

    Parameters
    ----------
    scenario : Scenario
    as_set, units, progress
        As for `advise`.
    """
    return advise(
        scenario.study if as_set is None else as_set.study,
        scenario.purchases,
        scenario.terms,
        basis=scenario.risk_basis,
        prices=scenario.cure_prices,
        blower_door=scenario.is_leakage_measured,
        as_set=as_set,
        units=units,
        progress=progress,
    )
