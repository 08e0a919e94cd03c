"""Fit what twelve normals do not say of a climate: how a day differs from the next.

Run by hand, when the tables of `moistsim.weather_synthetic` must be made again::

    python weather_samples/fit_day_to_day.py FOLDER_OF_TMY3_FILES

The tables in use came from nine typical years of the National Renewable Energy Laboratory (TMY3,
public domain): Houston 722430, New Orleans 722310, Tampa 722110, Atlanta 722190, Memphis 723340,
Washington Dulles 724030, St. Louis 724340, Chicago 725300 and Phoenix 722780. Miami and Greensboro,
by which the synthetic year is judged, were left out on purpose. The script prints; nothing reads
its output.
"""

import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
from scipy.stats import skew

import moistsim as ms
from moistsim.weather.normals import daily_values
from moistsim.weather.sun import sun_above_the_air
from moistsim.weather.synthetic import DAILY, DRY_BULB_BY_HOUR

CLASSES = {"cold": (-60.0, 12.0), "mild": (12.0, 22.0), "warm": (22.0, 60.0)}
"""Monthly mean dry bulbs, degC."""


def read(path: Path) -> ms.Weather:
    """One typical year as issued."""
    frame, meta = pvlib.iotools.read_tmy3(path, coerce_year=1990, map_variables=True)
    frame["pressure"] *= 100
    return ms.Weather.from_frame(
        frame, latitude=meta["latitude"], longitude=meta["longitude"], utc_offset=meta["TZ"],
        elevation=meta["altitude"], label="end",
    )  # fmt: skip


def fitted(name: str, measured: pd.Series, *features: pd.Series | np.ndarray) -> None:
    """Least squares with an intercept, and its error."""
    matrix = np.column_stack([np.ones(len(measured)), *features])
    coefficients, *_ = np.linalg.lstsq(matrix, measured, rcond=None)
    error = np.sqrt(np.mean((measured - matrix @ coefficients) ** 2))
    print(f"{name}: {coefficients.round(4)}, rms error {error:.3f}")


def main(folder: Path) -> None:
    """Print every table."""
    years = [read(path) for path in sorted(folder.glob("*.CSV"))]
    names = list(DAILY)
    days = [
        daily_values(year.frame, year.midpoints, year.latitude, year.longitude) for year in years
    ]
    months = [frame[names].groupby(frame.index.month) for frame in days]
    mean = pd.concat([by.mean() for by in months], ignore_index=True)
    spread = pd.concat([by.std() for by in months], ignore_index=True)
    dew = mean["temp_dew"]
    fitted("ln s(temp_air) on temp_air, daily_range", np.log(spread["temp_air"]),
           mean["temp_air"], mean["daily_range"])  # fmt: skip
    fitted("ln s(temp_dew) on temp_dew, its excess over 15", np.log(spread["temp_dew"]),
           dew, np.maximum(dew - 15.0, 0.0))  # fmt: skip
    fitted("ln s(daily_range) on daily_range, temp_air", np.log(spread["daily_range"]),
           mean["daily_range"], mean["temp_air"])  # fmt: skip
    fitted("s(clearness) on clearness", spread["clearness"], mean["clearness"])
    fitted("ln s(wind_speed) on ln wind_speed", np.log(spread["wind_speed"]),
           np.log(mean["wind_speed"]))  # fmt: skip

    for label, (low, high) in CLASSES.items():
        today, before = [], []
        for frame, by in zip(days, months, strict=True):
            standard = (frame[names] - by.transform("mean")) / by.transform("std")
            dry = by["temp_air"].transform("mean")
            month = frame.index.month
            pair = (dry >= low) & (dry < high) & (month == np.roll(month, 1))
            rows = np.flatnonzero(pair)[np.flatnonzero(pair) > 0]
            today.append(standard.to_numpy()[rows])
            before.append(standard.to_numpy()[rows - 1])
        now, then = np.vstack(today), np.vstack(before)
        print(f"\n{label}, {len(now)} pairs of days")
        print("the same day\n", np.corrcoef(now.T).round(2))
        print("today (rows) with the day before\n", (now.T @ then / len(now)).round(2))
        print("skewness", skew(now).round(2))

    hours = pd.concat(
        [about_the_day(year, frame) for year, frame in zip(years, days, strict=True)],
        keys=range(len(years)), names=["year", "time"],
    )  # fmt: skip
    hour = hours.index.get_level_values("time").hour
    shape = hours.groupby(hour)[["shape", "wind"]].mean()
    print("\nby hour from midnight\n", shape.T.round(2).to_string())
    print(
        "spread of an hour's wind about its day's:",
        hours["gust"].groupby(hour).std().mean().round(2),
    )

    by_month = hours.groupby([hours.index.get_level_values("year"), "month"])
    # The dry bulb less the mean shape of its day, as the synthetic year uses it.
    unrest = by_month[["unrest_dry", "unrest_dew"]].std().reset_index(drop=True)
    fitted("ln s(dry bulb about its day) on temp_air", np.log(unrest["unrest_dry"]),
           mean["temp_air"])  # fmt: skip
    fitted("ln s(dew point about its day) on temp_dew, its excess over 15",
           np.log(unrest["unrest_dew"]), dew, np.maximum(dew - 15.0, 0.0))  # fmt: skip
    both = by_month[["unrest_dry", "unrest_dew"]].corr().iloc[::2, 1].to_numpy()
    fitted("how the two go together, on temp_air", pd.Series(both), mean["temp_air"])
    lag = by_month["unrest_dew"].apply(lambda values: values.autocorr(1))
    print("dew point about its day, this hour with the one before:", lag.mean().round(2))

    bins = pd.cut(hours["day_share"], [0.0, 0.1, 0.3, 0.5, 0.6, 0.7, 0.85, 0.95, 1.05, 1.2])
    print("\nspread of an hour's sun about its day's, both over the clear sky's\n",
          hours["cloud"].groupby(bins, observed=True).std().round(3).to_string())  # fmt: skip
    before = hours["cloud"].shift()
    print("this hour with the one before:", np.round(hours["cloud"].corr(before), 2))


def about_the_day(year: ms.Weather, days: pd.DataFrame) -> pd.DataFrame:
    """Each hour against its day's own values."""
    hours = year.frame
    day = hours.index.normalize()
    noons, middles = days.index + pd.Timedelta(hours=12), hours.index + pd.Timedelta(minutes=30)

    def drift(name: str) -> np.ndarray:
        return np.interp(middles.asi8, noons.asi8, days[name])

    def of_month(name: str) -> np.ndarray:
        return days[name].groupby(days.index.month).transform("mean").reindex(day).to_numpy()

    sun, _ = sun_above_the_air(year.midpoints, year.latitude, year.longitude)
    clear = pvlib.clearsky.haurwitz(sun["apparent_zenith"])["ghi"].to_numpy()
    sums = pd.DataFrame({"ghi": hours["ghi"], "clear": clear}).groupby(day).sum()
    share = (sums["ghi"] / sums["clear"]).reindex(day).to_numpy()
    high = clear > 100.0
    return pd.DataFrame(
        {
            "month": hours.index.month,
            "shape": (hours["temp_air"] - drift("temp_air")) / of_month("daily_range"),
            "unrest_dry": hours["temp_air"]
            - drift("temp_air")
            - drift("daily_range") * DRY_BULB_BY_HOUR[hours.index.hour],
            "unrest_dew": hours["temp_dew"] - drift("temp_dew"),
            "wind": hours["wind_speed"] / of_month("wind_speed"),
            "gust": hours["wind_speed"] / days["wind_speed"].reindex(day).to_numpy(),
            "day_share": np.where(high, share, np.nan),
            "cloud": np.where(high, hours["ghi"] / np.maximum(clear, 1.0) - share, np.nan),
        }
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
