"""The arithmetic of goodness against an example by hand, and what it refuses."""

import numpy as np
import pandas as pd
import pytest

from moistsim.calibration.goodness import (
    bias,
    by_period,
    coverage,
    cv_rmse,
    nmbe,
    r_squared,
    rmse,
    skill,
)
from moistsim.core.errors import InputError

# Six months of an invented house, kWh. By hand, with ASHRAE Guideline 14-2014's equations (from
# memory): CV(RMSE) = sqrt(sum(e^2) / (n - p)) / mean and NMBE = sum(e) / ((n - p) mean).
#   measured   800  900 1000 1200 1100 1000   mean 6000 / 6 = 1000
#   predicted  820  880 1010 1170 1120 1030
#   e           20  -20   10  -30   20   30   sum 30
#   e^2        400  400  100  900  400  900   sum 3100
# About the mean: 200^2 + 100^2 + 0 + 200^2 + 100^2 + 0 = 100000
MEASURED = [800.0, 900.0, 1000.0, 1200.0, 1100.0, 1000.0]
PREDICTED = [820.0, 880.0, 1010.0, 1170.0, 1120.0, 1030.0]


def test_the_example_by_hand() -> None:
    assert rmse(MEASURED, PREDICTED) == pytest.approx(22.7303, abs=1e-4)  # sqrt(3100 / 6)
    assert bias(MEASURED, PREDICTED) == pytest.approx(5.0)  # 30 / 6
    assert r_squared(MEASURED, PREDICTED) == pytest.approx(0.969)  # 1 - 3100 / 100000
    assert cv_rmse(MEASURED, PREDICTED) == pytest.approx(0.024900, abs=1e-6)  # sqrt(620) / 1000
    assert nmbe(MEASURED, PREDICTED) == pytest.approx(0.006)  # 30 / (5 * 1000)
    # With the three coefficients of a change-point model: n - p = 3.
    assert cv_rmse(MEASURED, PREDICTED, 3) == pytest.approx(0.032146, abs=1e-6)  # sqrt(1033.33)
    assert nmbe(MEASURED, PREDICTED, 3) == pytest.approx(0.010)  # 30 / 3000


def test_skill_by_hand() -> None:
    # The mean as the baseline: RMSE sqrt(100000 / 6) = 129.0994; 1 - 22.7303 / 129.0994.
    assert skill(MEASURED, PREDICTED, [1000.0] * 6) == pytest.approx(0.823932, abs=1e-6)
    assert skill(MEASURED, [1000.0] * 6, [1000.0] * 6) == 0.0
    assert skill(MEASURED, [2000.0] * 6, [1000.0] * 6) < 0.0


def test_coverage_counts_the_edges() -> None:
    low, high = np.array(PREDICTED) - 20.0, np.array(PREDICTED) + 20.0
    assert coverage(MEASURED, low, high) == pytest.approx(4 / 6)  # errors of 30 lie outside


def test_a_poor_model_of_humidity_passes_the_hourly_limits() -> None:
    # Why skill is shown next to the limits of 30 % and 10 %: half the swing is missed here.
    hours = np.arange(240)
    measured = 8.0 + np.sin(2 * np.pi * hours / 24)
    flat = np.full(240, 8.5)
    assert cv_rmse(measured, flat) < 0.30
    assert abs(nmbe(measured, flat)) < 0.10
    assert skill(measured, flat, np.full(240, measured.mean())) < 0.0


def test_missing_values_are_not_counted() -> None:
    gap = [*MEASURED, np.nan]
    assert rmse(gap, [*PREDICTED, 5000.0]) == rmse(MEASURED, PREDICTED)
    assert rmse([*MEASURED, 1.0], [*PREDICTED, np.nan]) == rmse(MEASURED, PREDICTED)


def test_means_by_hour_day_and_week() -> None:
    times = pd.date_range("2016-01-11 06:00", periods=6 * 24 * 10, freq="10min")
    series = pd.Series(np.arange(len(times), dtype=float), times)
    hours = by_period(series, "h")
    assert len(hours) == 240
    assert hours.iloc[0] == 2.5
    days = by_period(series, "D")
    assert days.index[0] == pd.Timestamp("2016-01-11")
    assert days.iloc[0] == series[:"2016-01-11"].mean()  # 18 of 24 h
    assert np.isnan(days.iloc[-1])  # 6 of 24 h
    weeks = by_period(series, "W")
    assert weeks.index[0] == times[0]
    assert weeks.iloc[0] == series.iloc[: 6 * 24 * 7].mean()
    assert np.isnan(weeks.iloc[1])  # 3 of 7 days
    table = by_period(series.to_frame("one").assign(two=np.nan), "D")
    assert table["one"].iloc[1] == days.iloc[1]
    assert table["two"].isna().all()


def test_an_hour_of_an_hourly_series_is_itself() -> None:
    times = pd.date_range("2016-01-11", periods=48, freq="h")
    series = pd.Series(np.arange(48.0), times)
    assert by_period(series, "h").tolist() == series.tolist()


@pytest.mark.parametrize(
    "call",
    [
        lambda: rmse([1.0, 2.0], [1.0]),
        lambda: rmse([np.nan], [1.0]),
        lambda: cv_rmse([1.0, 2.0, 3.0], [1.0, 2.0, 3.0], 3),
        lambda: cv_rmse([-1.0, 1.0], [0.0, 0.0]),
        lambda: r_squared([1.0, 1.0], [1.0, 2.0]),
        lambda: skill([1.0, 2.0], [1.0, 2.0], [1.0, 2.0]),
        lambda: by_period(pd.Series([1.0, 2.0]), "h"),
        lambda: by_period(pd.Series([1.0], pd.DatetimeIndex(["2016-01-11"])), "M"),
    ],
)
def test_what_cannot_be_used_is_refused(call: object) -> None:
    with pytest.raises(InputError):
        call()  # type: ignore[operator]
