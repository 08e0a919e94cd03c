"""The chart of daily errors: its limit against simulation and a published table."""

import numpy as np
import pytest

from moistsim.watching import chart, limit
from moistsim.watching.chart import change, learned, memory_of, whitened


def ar(seed: int, n: int, memory: float) -> np.ndarray:
    draw = np.random.default_rng(seed).standard_normal(n)
    out = np.zeros(n)
    out[0] = draw[0]
    for day in range(1, n):
        out[day] = memory * out[day - 1] + np.sqrt(1.0 - memory**2) * draw[day]
    return out


def test_the_limit_of_a_published_table() -> None:
    """Two-sided sums with a slack of 0.5: a limit of 4 has an average run length of 168 days, 5 of 465.

    Montgomery, Introduction to Statistical Quality Control, chapter on cumulative sums (from memory).
    """
    for height, days in ((4.0, 168.0), (5.0, 465.0)):
        assert limit(365.25 / days) == pytest.approx(height, abs=0.03)


@pytest.mark.parametrize("memory", [0.0, 0.6])
def test_false_alarms_come_as_often_as_stated(memory: float) -> None:
    rate, years = 2.0, 150
    charted = chart(ar(1, round(365.25 * years), memory), memory, limit(rate))
    alarm = charted.alarm
    begin = int((alarm & ~np.concatenate(([False], alarm[:-1]))).sum())
    print(f"memory {memory}: {begin / years:.2f} false alarms a year, stated {rate}")
    # 300 expected, so 12 percent is two deviations; the days of an alarm are not watched anew.
    assert 0.75 * rate < begin / years < 1.15 * rate


def test_a_shift_is_found_and_dated() -> None:
    height = limit(0.5)
    found, dated = [], []
    for seed in range(200):
        errors = ar(seed, 90, 0.3)
        errors[60:] += 2.5
        charted = chart(errors, 0.3, height)
        late = np.flatnonzero(charted.alarm[60:])
        found.append(late[0] + 1 if late.size else 99)
        if late.size:
            dated.append(change(errors, charted.onset(60 + late[0]), 60 + late[0]) - 60)
    assert np.median(found) <= 5
    assert np.median(np.abs(dated)) <= 1.0


def test_both_directions_and_recovery() -> None:
    height = limit(0.5)
    errors = np.zeros(120)
    errors[30:60] = -4.0
    charted = chart(errors, 0.0, height)
    assert charted.alarm[35] and charted.fall[35] > charted.rise[35]
    assert not charted.alarm[29] and not charted.alarm[80]
    assert int(np.diff(charted.alarm.astype(int)).clip(min=0).sum()) == 1


def test_missing_days_are_passed_over() -> None:
    errors = np.full(40, 3.0)
    errors[::2] = np.nan
    assert chart(errors, 0.0, limit(0.5)).alarm[-1]
    assert not chart(np.full(40, np.nan), 0.5, limit(0.5)).alarm.any()
    assert np.isnan(whitened(errors, 0.5)[::2]).all()


def test_memory_is_estimated() -> None:
    for memory in (0.2, 0.6):
        found = np.mean([memory_of(ar(seed, 40, memory)) for seed in range(200)])
        assert found == pytest.approx(memory, abs=0.07)
    assert memory_of(np.array([1.0, 2.0])) == 0.5


def test_a_steady_error_of_the_fit_is_learned_and_a_fault_in_these_days_is_not() -> None:
    height = limit(0.5)
    steady = np.full(60, 0.8)
    assert learned(steady, 0.5, height) == pytest.approx(0.8 * 14 / 21)
    assert learned(np.full(60, 4.0), 0.0, height) == 0.0
    assert learned(np.full(60, np.nan), 0.5, height) == 0.0
