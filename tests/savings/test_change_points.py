"""Change points and degree days against statsmodels and against simulated meters."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from support.weathers import sample

import moistsim as ms
from moistsim.core.errors import InputError
from moistsim.savings.change_points import (
    first_order,
    fit_weather_model,
    least_squares,
    model_of,
    sum_variance,
)
from moistsim.savings.meter_readings import MeterReadings, read_meter

# An invented meter: 12 kWh a day, 1.5 kWh a day for each K above 18 degC, 0.9 below 12 degC.
BASE, COOLING, HEATING, COOL_ABOVE, HEAT_BELOW = 12.0, 1.5, 0.9, 18.0, 12.0


def real_year(name: str, year: int) -> ms.Weather:
    """A sample year with the dates of a real year."""
    whole = sample(name)
    frame = whole.frame.drop(columns="humidity_ratio")
    frame.index = pd.date_range(f"{year}-01-01", periods=len(frame), freq="h", name="time")
    return ms.Weather.from_frame(
        frame, latitude=whole.latitude, longitude=whole.longitude, utc_offset=whole.utc_offset,
        elevation=whole.elevation, label="start",
    )  # fmt: skip


def daily_use(weather: ms.Weather) -> "pd.Series[float]":
    """Use of the invented meter on each day, without noise, kWh."""
    t = weather.frame["temp_air"].resample("D").mean()
    return (
        BASE
        + COOLING * (t - COOL_ABOVE).clip(lower=0.0)
        + HEATING * (HEAT_BELOW - t).clip(lower=0.0)
    )


def noisy(
    daily: "pd.Series[float]", sd: float, rho: float, rng: np.random.Generator
) -> "pd.Series[float]":
    """Daily use with first-order autocorrelated noise."""
    noise = np.empty(len(daily))
    noise[0] = rng.normal(0.0, sd)
    fresh = rng.normal(0.0, sd * np.sqrt(1.0 - rho**2), len(daily))
    for k in range(1, len(daily)):
        noise[k] = rho * noise[k - 1] + fresh[k]
    return daily + noise


def bills(daily: "pd.Series[float]") -> pd.DataFrame:
    """Monthly bills of daily use."""
    month = daily.resample("MS").sum()
    start = pd.DatetimeIndex(month.index)
    return pd.DataFrame(
        {"start": start, "end": start + pd.offsets.MonthBegin(1), "kWh": month.to_numpy()}
    )


@pytest.fixture(scope="module")
def weather() -> ms.Weather:
    return real_year("greensboro", 2023)


def daily_readings(weather: ms.Weather, daily: "pd.Series[float]") -> MeterReadings:
    return read_meter(daily, weather, "test")


def test_estimates_errors_and_intervals_are_those_of_statsmodels(weather: ms.Weather) -> None:
    """With the balance temperatures given, the model is ordinary least squares."""
    rng = np.random.default_rng(5)
    readings = daily_readings(weather, noisy(daily_use(weather), 3.0, 0.0, rng))
    model = model_of(readings, heating=True, cooling=True)
    assert model is not None
    columns = model.design(readings)
    theirs = sm.OLS(readings.per_day, columns).fit()
    assert model.linear.coefficients == pytest.approx(theirs.params)
    ours = theirs.ssr / (len(readings) - 3) * model.linear.inverse
    assert np.sqrt(np.diag(ours)) == pytest.approx(theirs.bse)
    assert model.r_squared == pytest.approx(theirs.rsquared)


def test_errors_with_balance_temperatures_are_those_of_statsmodels(weather: ms.Weather) -> None:
    """Their columns are the derivatives; the straight model of them is statsmodels' too."""
    rng = np.random.default_rng(6)
    readings = daily_readings(weather, noisy(daily_use(weather), 3.0, 0.0, rng))
    model = model_of(readings, heating=True, cooling=True)
    assert model is not None
    slopes = model.slopes(readings)
    theirs = sm.OLS(model.linear.residuals, slopes).fit()
    # At the estimates the residuals hold nothing of the derivatives.
    assert theirs.params[:3] == pytest.approx([0.0, 0.0, 0.0], abs=0.02)
    wider = len(readings) / model.independent
    assert model.standard_errors == pytest.approx(
        theirs.bse * np.sqrt(wider * model.variance / theirs.scale), rel=1e-6
    )
    # The prediction interval of one more day, as statsmodels gives it.
    one = readings[200:201]
    _, error = model.total(one)
    predicted = theirs.get_prediction(model.slopes(one))
    theirs_error = float(predicted.se_obs[0])
    scale = model.variance / theirs.scale
    own = predicted.se_mean[0] ** 2 * scale * wider + model.variance
    assert error == pytest.approx(np.sqrt(own), rel=1e-6)
    if wider == 1.0:
        assert error == pytest.approx(theirs_error * np.sqrt(scale), rel=1e-6)


def test_bills_are_weighted_by_their_days(weather: ms.Weather) -> None:
    rng = np.random.default_rng(7)
    readings = read_meter(bills(noisy(daily_use(weather), 3.0, 0.0, rng)), weather, "test")
    columns = np.column_stack([np.ones(12), readings.mean_temperature])
    ours = least_squares(columns, readings.per_day, readings.days)
    theirs = sm.WLS(readings.per_day, columns, weights=readings.days).fit()
    assert ours.coefficients == pytest.approx(theirs.params)
    assert np.sqrt(np.diag(ours.inverse) * ours.squares / 10) == pytest.approx(theirs.bse)


def test_a_known_meter_is_found_again(weather: ms.Weather) -> None:
    model = fit_weather_model(daily_readings(weather, daily_use(weather)))
    assert model.heating == pytest.approx(HEAT_BELOW, abs=0.01)
    assert model.cooling == pytest.approx(COOL_ABOVE, abs=0.01)
    assert model.linear.coefficients == pytest.approx([BASE, HEATING, COOLING], rel=1e-3)
    assert model.r_squared == pytest.approx(1.0, abs=1e-6)


def test_degree_days_find_the_balance_of_monthly_bills(weather: ms.Weather) -> None:
    """Bills of a meter that follows each day: the mean temperature of a mild month does not tell."""
    readings = read_meter(bills(daily_use(weather)), weather, "test")
    model = fit_weather_model(readings)
    assert model.by == "degree days"
    assert model.heating == pytest.approx(HEAT_BELOW, abs=0.1)
    assert model.cooling == pytest.approx(COOL_ABOVE, abs=0.1)


def test_a_meter_without_weather_has_no_slope(weather: ms.Weather) -> None:
    rng = np.random.default_rng(8)
    flat = pd.Series(12.0, daily_use(weather).index)
    found = [
        fit_weather_model(read_meter(bills(noisy(flat, 3.0, 0.0, rng)), weather, "test")).words
        for _ in range(20)
    ]
    assert found.count("mean use, without weather") >= 16


def test_moist_days_get_a_coefficient_of_their_own(weather: ms.Weather) -> None:
    rng = np.random.default_rng(9)
    wet = (weather.frame["temp_dew"].resample("D").mean() - 13.0).clip(lower=0.0)
    readings = daily_readings(weather, noisy(daily_use(weather) + 0.8 * wet, 2.0, 0.0, rng))
    model = fit_weather_model(readings)
    assert model.humid
    at = model.names.index("humid_kWh_day_K")
    assert abs(model.estimates[at] - 0.8) < 3.0 * model.standard_errors[at]


def test_autocorrelation_is_estimated_without_its_bias() -> None:
    rng = np.random.default_rng(10)
    zeros = pd.Series(np.zeros(60), pd.date_range("2023-01-01", periods=60))
    ones, follows = np.ones(60), np.ones(59, bool)
    found = [first_order(noisy(zeros, 1.0, 0.5, rng).to_numpy(), follows, ones) for _ in range(400)]
    assert np.mean(found) == pytest.approx(0.5, abs=0.03)


def test_variance_of_a_sum_of_neighbors(weather: ms.Weather) -> None:
    readings = daily_readings(weather, daily_use(weather).iloc[:3])
    # By hand: 3 days of variance 4, neighbors 0.5, next but one 0.25: 4 (3 + 2*2*0.5 + 2*0.25).
    assert sum_variance(readings, 4.0, 0.5) == pytest.approx(22.0)
    assert sum_variance(readings, 4.0, 0.0) == pytest.approx(12.0)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("monthly", "rho", "low", "high"),
    [(False, 0.0, 0.85, 0.95), (False, 0.5, 0.84, 0.96), (True, 0.3, 0.84, 0.99)],
)
def test_the_band_of_a_later_total_covers_as_stated(
    weather: ms.Weather, monthly: bool, rho: float, low: float, high: float
) -> None:
    """A year before, a year of other weather after, no change: the 90 % band holds the truth."""
    from scipy import stats

    after = real_year("greensboro", 2024).shifted(temp_air=0.8, temp_dew=0.8)
    rng = np.random.default_rng(11)
    hits = []
    for _ in range(150):
        first, then = (noisy(daily_use(each), 4.0, rho, rng) for each in (weather, after))
        before = read_meter(bills(first) if monthly else first, weather, "test")
        later = read_meter(bills(then) if monthly else then, after, "test")
        model = fit_weather_model(before)
        total, error = model.total(later)
        reach = float(stats.t.ppf(0.95, model.freedom)) * error
        hits.append(abs(total - later.kwh.sum()) <= reach)
    print(f"covered {np.mean(hits):.3f} (monthly {monthly}, rho {rho})")
    assert low <= np.mean(hits) <= high


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (pd.DataFrame({"start": ["2023-01-01"], "kWh": [1.0]}), "end"),
        ([1.0, 2.0], "start, end and kWh"),
        (
            pd.DataFrame({"start": ["2023-02-01"], "end": ["2023-01-01"], "kWh": [1.0]}),
            "ends on 2023-01-01",
        ),
        (
            pd.DataFrame(
                {
                    "start": ["2023-01-01", "2023-01-20"],
                    "end": ["2023-02-01", "2023-03-01"],
                    "kWh": [1.0, 2.0],
                }
            ),
            "begins before",
        ),
        (
            pd.DataFrame({"start": ["2020-01-01"], "end": ["2020-02-01"], "kWh": [1.0]}),
            "lies within the weather",
        ),
        (
            pd.DataFrame({"start": ["2023-01-01"], "end": ["2023-02-01"], "kWh": [np.nan]}),
            "kWh as a plain number",
        ),
    ],
)
def test_readings_that_cannot_be_used(weather: ms.Weather, given: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_meter(given, weather, "test")


def test_a_day_that_lacks_an_interval_is_told_and_not_counted(weather: ms.Weather) -> None:
    times = pd.date_range("2023-03-01 12:00", "2023-03-10 11:30", freq="30min")
    energy = pd.Series(0.25, times)
    energy[pd.Timestamp("2023-03-05 08:00")] = np.nan
    readings = read_meter(energy, weather, "test")
    assert readings.kwh.tolist() == [12.0] * 7
    assert readings.dropped == 1
    assert not readings.follows.all()


def test_too_few_readings(weather: ms.Weather) -> None:
    with pytest.raises(InputError, match="at least 6"):
        fit_weather_model(read_meter(bills(daily_use(weather)).iloc[:4], weather, "test"))
