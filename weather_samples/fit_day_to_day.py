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
from moistsim.weather_synthetic import DAILY, daily_values

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
    names = [*DAILY, "wind_speed"]
    days = [daily_values(year) for year in years]
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

    shapes = []
    for year, frame in zip(years, days, strict=True):
        hours = year.frame
        day = hours.index.normalize()
        noons = frame.index + pd.Timedelta(hours=12)
        middles = hours.index + pd.Timedelta(minutes=30)
        by = frame.groupby(frame.index.month)

        def of_month(name: str, by=by, day=day) -> np.ndarray:
            return by[name].transform("mean").reindex(day).to_numpy()

        drift = np.interp(middles.asi8, noons.asi8, frame["temp_air"])
        shapes.append(
            pd.DataFrame(
                {
                    "temp_air": (hours["temp_air"] - drift) / of_month("daily_range"),
                    "wind_speed": hours["wind_speed"] / of_month("wind_speed"),
                    "noise": hours["wind_speed"] / frame["wind_speed"].reindex(day).to_numpy(),
                }
            )
        )
    shape = pd.concat(shapes).groupby(lambda stamp: stamp.hour)
    print("\nby hour from midnight\n", shape[["temp_air", "wind_speed"]].mean().T.round(2).to_string())
    print("spread of an hour's wind about its day's:", shape["noise"].std().mean().round(2))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
