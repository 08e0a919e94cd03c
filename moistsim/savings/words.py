"""Savings in words, for a screen and for the customer's page."""

from typing import TYPE_CHECKING

from moistsim.core.display import Show, count, number
from moistsim.savings.amount import Amount
from moistsim.savings.guideline import LIMIT

if TYPE_CHECKING:
    from moistsim.savings.savings import Savings

KWH, USD = "kWh", "USD"


def sentences(of: "Savings", show: Show) -> list[str]:
    """The verdict with the humidity in one sentence, then the reasons.

    Parameters
    ----------
    of : Savings
    show : Show
    """
    return [headline(of, show), *reasons(of, show)]


LEADS = {
    "saved": "Saved",
    "used more": "Not saved",
    "not proven": "Not proven",
    "not metered": "Not proven",
}
"""First words of the verdict."""


def headline(of: "Savings", show: Show) -> str:
    """The verdict in one sentence, with the humidity in the same sentence."""
    return f"{LEADS[of.verdict]}: {finding(of, show)}"


def finding(of: "Savings", show: Show) -> str:
    """What the meter shows and what happened to the humidity, the rest of the headline."""
    found = of.regression or of.expected
    humid, verdict = humidity_words(of, show), of.verdict
    days = count(of.hours / 24.0, "day")
    if verdict == "saved":
        usd = money_words(found.times(of.price))
        return f"{banded(found, KWH, of.level)} in {days}, {usd}, and {humid}."
    if verdict == "used more":
        more = found.times(-1.0)
        more = more._replace(low=more.high, high=more.low)
        return f"{banded(more, KWH, of.level)} more used in {days}, and {humid}."
    if verdict == "not metered":
        expected = banded(found, KWH, of.level)
        return f"no meter covers both periods. Expected: {expected} in {days}, and {humid}."
    verdicts = {amount.verdict for amount in of.metered.values()}
    if verdicts == {"saved"}:
        return (
            f"the meter shows {banded(found, KWH, of.level)} less in {days}, but {humid}. "
            "A saving from a damper house is not a saving."
        )
    may = f"{banded(found, 'kWh avoided', of.level)} in {days}"
    if len(verdicts) > 1:
        return f"the two methods disagree about {may}, and {humid}."
    return f"{may} may be chance, and {humid}."


def reasons(of: "Savings", show: Show) -> list[str]:
    """What stands behind the verdict, a sentence each."""
    found = []
    if of.model is not None:
        model = of.model
        found.append(
            f"Meter before: {model.words}; CV(RMSE) {number(100.0 * model.cv_rmse, 1)} %, R² "
            f"{number(model.r_squared, 2)}, {count(len(model.readings), 'reading')}."
        )
    if of.regression is not None and of.simulation is not None:
        found.append(
            f"The regression finds {banded(of.regression, KWH, of.level)}; the simulation of the measured "
            f"house, scaled to the meter, finds {banded(of.simulation, KWH, of.level)}."
        )
        found.append(
            f"The simulation of both machines expected {banded(of.expected, KWH, of.level)}."
        )
    share = of.fractional_uncertainty
    if share is not None:
        side = "within" if share <= LIMIT else "beyond"
        found.append(
            f"Guideline 14's fractional savings uncertainty at 68 % confidence is "
            f"{number(100.0 * min(share, 9.99))} %, {side} its limit of {100.0 * LIMIT:.0f} %."
        )
    old, new = of.humid_hours
    found.append(
        f"Hours above {of.goal.above_rh:g} % RH in the same weather, simulated: "
        f"{number(old.value)} with the machines before, {number(new.value)} after."
    )
    return [*found, *of.notes]


def humidity_words(of: "Savings", show: Show) -> str:
    """What happened to the humidity, as a clause."""
    rise = of.dew_point
    side = "higher" if rise.value > 0.0 else "lower"
    size = show(abs(rise.value), "difference")
    old, new = (hours.value for hours in of.humid_hours)
    how = "" if of.dew_point_is_measured else " by simulation"
    hours = ""
    if abs(new - old) > 0.01 * of.hours:
        hours = (
            f", with {number(abs(new - old))} {'more' if new > old else 'fewer'} hours above "
            f"{of.goal.above_rh:g} % RH"
        )
    if not of.is_damper and not of.is_drier:
        return f"the house is as dry as before{how}"
    return f"the indoor dew point is {size} {side}{how}{hours}"


def banded(amount: Amount, unit: str, level: float) -> str:
    """An amount with its band: "1,240 kWh (90 % band: 820 to 1,660)"."""
    return (
        f"{number(amount.value)} {unit} ({100.0 * level:.0f} % band: {number(amount.low)} to "
        f"{number(amount.high)})"
    )


def money_words(amount: Amount) -> str:
    """Money with its band: "186 USD (123 to 249)"."""
    return f"{number(amount.value)} USD ({number(amount.low)} to {number(amount.high)})"
