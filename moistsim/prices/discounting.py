"""Money of several years: the factors of NIST Handbook 135, payback and internal rate of return.

Sums fall at the end of their year; year 0 is the day on which the study period begins. The
equations are those of the handbook, chapters 3, 4 and 6, from memory.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray


def single_present_value(rate: float, year: Any) -> Any:
    """What 1 USD paid at the end of a year, or of each of several, is worth in year 0."""
    return (1.0 + rate) ** -np.asarray(year, dtype=float)


def uniform_present_value(rate: float, periods: int, escalation: float = 0.0) -> float:
    """What 1 USD paid at the end of each of so many years is worth in year 0.

    Parameters
    ----------
    rate : float
        Discount rate a year.
    periods : int
        Years, or other periods of which `rate` is the rate.
    escalation : float
        Rise of the sum a year; with one this is the handbook's modified factor (UPV*), in which
        1 USD is the price of year 0 and the first sum has already risen once.
    """
    ratio = (1.0 + escalation) / (1.0 + rate)
    return float((ratio ** np.arange(1, periods + 1)).sum())


def level_payment(amount: float, rate: float, periods: int) -> float:
    """The equal payment at the end of each period that pays a loan back.

    Parameters
    ----------
    amount : float
        What is lent, USD.
    rate : float
        Interest a period.
    periods : int
    """
    return amount / uniform_present_value(rate, periods)


def payback(flow: ArrayLike) -> float | None:
    """Years until what was spent has first come back; within a year, in a straight line.

    Parameters
    ----------
    flow : array_like, shape (years + 1,)
        Net savings by year, the first of them the investment, negative.

    Returns
    -------
    float or None
        None if it does not come back within those years.
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
    """Every rate a year, from -95 to 1e5 percent, at which a flow of money is worth nothing now.

    Parameters
    ----------
    flow : array_like, shape (years + 1,)
        Net savings by year.

    Returns
    -------
    tuple of float
        One where money goes out first and comes in later; none or several are possible else.
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
