"""Goodness of a prediction: the error, its size against the mean, skill and coverage.

Errors are predicted minus measured, so a positive bias says that the prediction is too high. ASHRAE
Guideline 14-2014 (section 5.2.11 and annex, from memory) subtracts the other way; its limits are on
the absolute value. Pairs in which a value is missing are not counted.

The guideline's hourly limits (CV(RMSE) of 30 %, NMBE of 10 %) were made for energy. Humidity ratio
never comes near zero, so even a poor model of it passes them. Show `skill` next to them. A humidity
is stated as a humidity ratio, g/kg over its mean, never as a temperature, whose zero is arbitrary.
"""

from typing import TypeVar

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from moistsim.core.errors import InputError, Problem, one_of

PERIODS = {"h": pd.Timedelta(hours=1), "D": pd.Timedelta(days=1), "W": pd.Timedelta(days=7)}
"""Lengths of the periods of `by_period`."""

LEAST_SHARE = 0.5
"""Share of a period's steps that must be there for a mean of the period."""

Table = TypeVar("Table", "pd.Series[float]", pd.DataFrame)


def _pairs(where: str, *given: ArrayLike, more_than: int = 0) -> list[NDArray[np.float64]]:
    """Arrays of one length without the rows in which a value is missing."""
    arrays = [np.asarray(values, float) for values in given]
    if len({array.shape for array in arrays}) > 1 or arrays[0].ndim != 1:
        shapes = " and ".join(str(array.shape) for array in arrays)
        raise InputError(where, Problem(f"arrays of shapes {shapes}"), "series of one length")
    there = np.isfinite(np.stack(arrays)).all(axis=0)
    if there.sum() <= more_than:
        found = Problem(f"{there.sum()} pairs without a missing value")
        raise InputError(where, found, f"at least {more_than + 1}")
    return [array[there] for array in arrays]


def _mean(where: str, measured: NDArray[np.float64]) -> float:
    mean = float(measured.mean())
    if mean <= 0.0:
        found = Problem(f"a mean of {mean:.3g}, over which no error is a share")
        raise InputError(where, found, "measured values with a mean above 0")
    return mean


def rmse(measured: ArrayLike, predicted: ArrayLike) -> float:
    """Root of the mean squared error, in the unit of the values.

    Examples
    --------
    >>> rmse([1.0, 2.0, 3.0, 4.0], [1.0, 2.0, 3.0, 6.0])
    1.0
    """
    y, f = _pairs("rmse", measured, predicted)
    return float(np.sqrt(np.mean((f - y) ** 2)))


def bias(measured: ArrayLike, predicted: ArrayLike) -> float:
    """Mean of predicted minus measured, in the unit of the values.

    Examples
    --------
    >>> bias([1.0, 2.0], [1.5, 2.5])
    0.5
    """
    y, f = _pairs("bias", measured, predicted)
    return float(np.mean(f - y))


def r_squared(measured: ArrayLike, predicted: ArrayLike) -> float:
    """Share of the measured variance that the prediction explains (1 - residual / total squares).

    Below zero where the measured mean would have been the better prediction. It is the coefficient
    of determination, not the square of a correlation, so an offset counts against it.

    Examples
    --------
    >>> r_squared([1.0, 2.0, 3.0], [1.0, 2.0, 3.0])
    1.0
    """
    y, f = _pairs("r_squared", measured, predicted, more_than=1)
    spread = float(np.sum((y - y.mean()) ** 2))
    if spread == 0.0:
        found = Problem("measured values that are all alike")
        raise InputError("r_squared", found, "values that vary")
    return 1.0 - float(np.sum((f - y) ** 2)) / spread


def cv_rmse(measured: ArrayLike, predicted: ArrayLike, parameters: int = 1) -> float:
    """Coefficient of variation of the RMSE, as a share of the measured mean.

    CV(RMSE) = sqrt(Σ e² / (n - p)) / mean, ASHRAE Guideline 14-2014 (from memory).

    Parameters
    ----------
    measured, predicted : array_like, shape (n,)
    parameters : int
        p, the number of adjusted parameters: 1 for a calibrated simulation by the guideline, and
        the number of coefficients for a regression.

    Examples
    --------
    >>> cv_rmse([9.0, 10.0, 11.0], [10.0, 10.0, 10.0])
    0.1
    """
    y, f = _pairs("cv_rmse", measured, predicted, more_than=parameters)
    mean = _mean("cv_rmse", y)
    return float(np.sqrt(np.sum((f - y) ** 2) / (len(y) - parameters))) / mean


def nmbe(measured: ArrayLike, predicted: ArrayLike, parameters: int = 1) -> float:
    """Normalized mean bias error, as a share of the measured mean.

    NMBE = Σ e / ((n - p) mean), ASHRAE Guideline 14-2014 (from memory), here with e predicted minus
    measured.

    Parameters
    ----------
    measured, predicted, parameters
        As for `cv_rmse`.

    Examples
    --------
    >>> nmbe([9.0, 10.0, 11.0], [10.0, 11.0, 12.0])
    0.15
    """
    y, f = _pairs("nmbe", measured, predicted, more_than=parameters)
    return float(np.sum(f - y)) / (len(y) - parameters) / _mean("nmbe", y)


def skill(measured: ArrayLike, predicted: ArrayLike, baseline: ArrayLike) -> float:
    """Skill over a baseline: 1 - RMSE / RMSE of the baseline.

    1 is a perfect prediction, 0 one no better than the baseline. Both are judged on the rows in
    which neither is missing.

    Parameters
    ----------
    measured, predicted, baseline : array_like, shape (n,)

    Examples
    --------
    >>> skill([1.0, 2.0, 3.0], [1.25, 2.25, 3.25], [2.0, 3.0, 4.0])
    0.75
    """
    y, f, b = _pairs("skill", measured, predicted, baseline)
    worse = float(np.sqrt(np.mean((b - y) ** 2)))
    if worse == 0.0:
        raise InputError("skill", Problem("a baseline without an error"), "another baseline")
    return 1.0 - float(np.sqrt(np.mean((f - y) ** 2))) / worse


def coverage(measured: ArrayLike, low: ArrayLike, high: ArrayLike) -> float:
    """Share of the measured values that lie in a band, its edges included.

    Examples
    --------
    >>> coverage([1.0, 2.0, 3.0, 4.0], [0.0, 0.0, 0.0, 0.0], [3.0, 3.0, 3.0, 3.0])
    0.75
    """
    y, a, b = _pairs("coverage", measured, low, high)
    return float(np.mean((a <= y) & (y <= b)))


def by_period(series: Table, period: str) -> Table:
    """Means by hour, day or week.

    Parameters
    ----------
    series : Series or DataFrame
        With a DatetimeIndex of equal steps; missing values are allowed.
    period : {"h", "D", "W"}
        Clock hours, calendar days, or spans of seven days from the first row. A period with less
        than half of its steps, of those in the index or with a value, has no mean.

    Returns
    -------
    Series or DataFrame
        Indexed by the start of each period.

    Raises
    ------
    InputError
        If the period is another, or the index is not of times that increase.

    Examples
    --------
    >>> import pandas as pd
    >>> times = pd.date_range("2016-01-11", periods=4, freq="30min")
    >>> by_period(pd.Series([1.0, 2.0, 3.0, 5.0], times), "h").tolist()
    [1.5, 4.0]
    """
    if period not in PERIODS:
        raise InputError("by_period period", period, one_of(str(period), PERIODS))
    index = series.index
    if not isinstance(index, pd.DatetimeIndex) or not index.is_monotonic_increasing:
        raise InputError("by_period", Problem("no index of times that increase"), "a DatetimeIndex")
    if len(index) < 2:
        raise InputError("by_period", Problem(f"{len(index)} rows"), "at least 2")
    # The step is the most frequent one: a log may lack rows.
    step = pd.Series(index[1:] - index[:-1]).mode().iloc[0]
    length = PERIODS[period]
    origin = "start" if period == "W" else "start_day"
    groups = series.resample(length, origin=origin)
    least = LEAST_SHARE * max(length / step, 1.0)
    means: Table = groups.mean().where(groups.count() >= least)
    return means
