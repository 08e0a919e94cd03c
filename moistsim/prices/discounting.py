"""Money of several years: the factors of NIST Handbook 135, payback and internal rate of return.

Sums fall at the end of their year; year 0 is the day on which the study period begins. The
equations are those of the handbook, chapters 3, 4 and 6, from memory.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray


def single_present_value(rate: float, year: Any) -> Any:
    """Return the present value of 1 USD paid at the end of a year, or of each of several years."""
    return (1.0 + rate) ** -np.asarray(year, dtype=float)


def uniform_present_value(rate: float, periods: int, escalation: float = 0.0) -> float:
    """Return the present value of 1 USD paid at the end of each year.

    Parameters
    ----------
    rate : float
        Discount rate a period.
    periods : int
        Number of years, or of other periods of `rate`.
    escalation : float
        Rise of the payment a period. With a rise, the result is the handbook's modified factor
        (UPV*): 1 USD is the price of year 0, and the first payment has risen once.
    """
    ratio = (1.0 + escalation) / (1.0 + rate)
    return float((ratio ** np.arange(1, periods + 1)).sum())


def level_payment(amount: float, rate: float, periods: int) -> float:
    """Return the equal payment at the end of each period that repays a loan.

    Parameters
    ----------
    amount : float
        Loan, USD.
    rate : float
        Interest rate a period.
    periods : int
    """
    return amount / uniform_present_value(rate, periods)


def payback(flow: ArrayLike) -> float | None:
    """Return the years until savings have repaid the investment, linear within a year.

    Parameters
    ----------
    flow : array_like, shape (years + 1,)
        Net savings by year; the first is the investment, negative.

    Returns
    -------
    float or None
        None if the savings do not repay the investment within those years.
    """
    total = np.cumsum(np.asarray(flow, dtype=float))
    back = np.flatnonzero(total >= 0.0)
    if not len(back):
        return None
    year = int(back[0])
    if year == 0:
        return 0.0
    return float(year - total[year] / (total[year] - total[year - 1]))


def internal_rates(flow: ArrayLike) -> tuple[float, ...]:
    """Return all internal rates of return of a cash flow, from -95 to 1e5 percent a year.

    Parameters
    ----------
    flow : array_like, shape (years + 1,)
        Net savings by year.

    Returns
    -------
    tuple of float
        One rate if money goes out first and comes in later; otherwise none or several.
    """
    from scipy.optimize import brentq

    values = np.asarray(flow, dtype=float)
    years = np.arange(len(values))

    def worth(rate: float) -> float:
        return float(values @ single_present_value(rate, years))

    grid: NDArray[np.float64] = np.geomspace(0.05, 1001.0, 1500) - 1.0
    signs = np.sign((1.0 + grid)[:, None] ** -years @ values)
    turns = np.flatnonzero(signs[:-1] * signs[1:] < 0.0)
    return tuple(float(brentq(worth, grid[k], grid[k + 1])) for k in turns)
