"""A cumulative-sum chart of daily errors: when a house has left its prediction, at a stated rate of false alarms.

Errors of neighboring days are alike, so each day's error less what the day before lets expect is
charted (an AR(1) process, whitened). Two sums, for too humid and too dry, collect what exceeds half a
standard deviation a day. A sum that passes its limit is an alarm; the first day since it last was zero
is the day on which the change probably began (Page 1954; limits by Siegmund's formula for the average
run length, Siegmund 1985, from memory).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

Floats = NDArray[np.float64]

SLACK = 0.5
"""Part of a day's standard deviation that is not collected."""
_OVERSHOOT = 1.166
"""Mean overshoot of a random walk's sum in Siegmund's formula, both ends."""
_CAP = 1.2
"""Largest value of a sum, in limits, so that a house that has recovered is seen to have."""
_OVER = 0.5
"""Part of the limit below which an alarm is over."""
MOST_MEMORY = 0.85
LEARNING = 14
"""First days of a watch, from which the steady error of the fit is learned."""
_NO_ERROR = 7.0


def limit(false_alarms_a_year: float) -> float:
    """Limit of both sums at which independent standard normal days give so many false alarms a year.

    Examples
    --------
    >>> round(limit(0.5), 2)
    5.44
    """
    days = 2.0 * 365.25 / false_alarms_a_year

    def excess(height: float) -> float:
        way = height + _OVERSHOOT
        return float(np.exp(2 * SLACK * way) - 1.0 - 2 * SLACK * way) / (2 * SLACK**2) - days

    return float(brentq(excess, 0.01, 50.0))


def memory_of(errors: Floats) -> float:
    """Correlation of errors from one day to the next, 0 to 0.85; missing days are passed over."""
    one, other = errors[1:], errors[:-1]
    both = np.isfinite(one) & np.isfinite(other)
    if both.sum() < 8 or one[both].std() == 0.0 or other[both].std() == 0.0:
        return 0.5
    found = float(np.corrcoef(one[both], other[both])[0, 1])
    # Short series show too little of their memory (Kendall 1954).
    return float(np.clip(found + (1.0 + 3.0 * found) / both.sum(), 0.0, MOST_MEMORY))


def whitened(errors: Floats, memory: float) -> Floats:
    """Daily errors, in standard deviations, less what the day before lets expect."""
    out = errors.copy()
    fresh = errors[1:] - memory * errors[:-1]
    known = np.isfinite(errors[:-1])
    out[1:] = np.where(known, fresh / np.sqrt(1.0 - memory**2), errors[1:])
    return out


class Chart(NamedTuple):
    """Both sums by day, and the alarms."""

    rise: Floats
    """Sum of errors towards more humid."""
    fall: Floats
    """Sum of errors towards drier."""
    alarm: NDArray[np.bool_]
    """Whether either sum has passed the limit, until it has halved."""
    limit: float

    @property
    def alarms(self) -> int:
        """Number of alarms that begin."""
        return int((self.alarm & ~np.concatenate(([False], self.alarm[:-1]))).sum())

    def onset(self, day: int) -> int:
        """First day since the sum that is above the limit on `day` last was zero."""
        sums = self.rise if self.rise[day] >= self.fall[day] else self.fall
        zero = np.flatnonzero(sums[: day + 1] <= 0.0)
        return int(zero[-1]) + 1 if zero.size else 0


def learned(errors: Floats, memory: float, height: float) -> float:
    """Steady error of a fit, learned from the first two weeks of the watch; 0 if they hold an alarm.

    A fit of a few weeks is off by a little ever after. That is no change of the house. The mean of these
    days counts as against a week of no error.
    """
    first = errors[:LEARNING]
    known = int(np.isfinite(first).sum())
    if known < LEARNING // 2 or chart(first, memory, height).alarm.any():
        return 0.0
    return float(np.nanmean(first)) * known / (known + _NO_ERROR)


def change(errors: Floats, first: int, last: int) -> int:
    """Day, from `first` to `last`, from which on the mean of errors differs most from the days before."""
    begin = max(first - LEARNING, 0)
    tries = {}
    for day in range(max(first, 1), last + 1):
        parts = (errors[begin:day], errors[day:])
        left = [part[np.isfinite(part)] for part in parts]
        if all(len(part) for part in left):
            tries[day] = sum(float(((part - part.mean()) ** 2).sum()) for part in left)
    return min(tries, key=lambda day: tries[day]) if tries else first


def chart(errors: Floats, memory: float, height: float) -> Chart:
    """Chart daily errors.

    Parameters
    ----------
    errors : array
        Measured less predicted, in standard deviations; NaN for a day without a measurement.
    memory : float
        Correlation of errors from one day to the next.
    height : float
        Limit of the sums, from `limit`.
    """
    fresh = whitened(errors, memory)
    rise, fall = np.zeros(len(errors)), np.zeros(len(errors))
    alarm = np.zeros(len(errors), bool)
    up = down = 0.0
    on = False
    for day, value in enumerate(fresh):
        if np.isfinite(value):
            up = min(max(0.0, up + value - SLACK), _CAP * height)
            down = min(max(0.0, down - value - SLACK), _CAP * height)
        # An alarm lasts until its sum has halved: a sum near its limit is one alarm, not many.
        on = max(up, down) > (_OVER * height if on else height)
        rise[day], fall[day], alarm[day] = up, down, on
    return Chart(rise, fall, alarm, height)
