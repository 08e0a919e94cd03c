"""Faults put into a log that the engine made; each takes the file's table and returns one."""

from collections.abc import Callable

import numpy as np
import pandas as pd

from moistsim import air

Fault = Callable[[pd.DataFrame], pd.DataFrame]


def _share(frame: pd.DataFrame) -> np.ndarray:
    return np.linspace(0.0, 1.0, len(frame))


def at_a_stop(frame: pd.DataFrame) -> pd.DataFrame:
    """The outdoor sensor reads 1 % on dry afternoons."""
    return frame.assign(**{"out RH": frame["out RH"].where(frame["out RH"] > 50.0, 1.0)})


def flat(frame: pd.DataFrame) -> pd.DataFrame:
    """The bedroom's sensor stays at its value for two days."""
    out = frame.copy()
    out.loc[500:788, "bedroom RH"] = out["bedroom RH"].iloc[500]
    return out


def drift(frame: pd.DataFrame, points: float = 10.0) -> pd.DataFrame:
    """The study's sensor drifts by so many points of RH in the log."""
    return frame.assign(
        **{"study RH": (frame["study RH"] + points * _share(frame)).clip(upper=100.0)}
    )


def replaced(frame: pd.DataFrame, points: float = -6.0) -> pd.DataFrame:
    """The hall's sensor is replaced in the middle of the log."""
    return frame.assign(
        **{"hall RH": frame["hall RH"] + np.where(_share(frame) > 0.5, points, 0.0)}
    )


def outdoor_drift(frame: pd.DataFrame) -> pd.DataFrame:
    """The outdoor sensor loses 40 percent of its reading in the log."""
    return frame.assign(**{"out RH": frame["out RH"] * (1.0 - 0.4 * _share(frame))})


def exchanged(*names: str) -> Fault:
    """Two columns under each other's names."""

    def fault(frame: pd.DataFrame) -> pd.DataFrame:
        one, other = names
        return frame.assign(**{one: frame[other], other: frame[one]})

    return fault


def warm_evenings(frame: pd.DataFrame) -> pd.DataFrame:
    """No fault: a kitchen that warms by 6 °F in the evening, with its moisture unchanged."""
    hours = frame["when"].dt.hour + frame["when"].dt.minute / 60.0
    warmer = 6.0 * np.exp(-(((hours - 18.0) / 0.7) ** 2)) + 4.0 * np.exp(
        -(((hours - 7.5) / 0.5) ** 2)
    )
    celsius = (frame["kitchen T"] - 32.0) / 1.8
    falls = air.over(air.saturation_pressure, celsius) / air.over(
        air.saturation_pressure, celsius + warmer / 1.8
    )
    return frame.assign(
        **{"kitchen T": frame["kitchen T"] + warmer, "kitchen RH": frame["kitchen RH"] * falls}
    )


def rooms_exchanged(frame: pd.DataFrame) -> pd.DataFrame:
    """RH of kitchen and bedroom under each other's names, in a house whose kitchen warms by itself."""
    return exchanged("kitchen RH", "bedroom RH")(warm_evenings(frame))


def in_utc(frame: pd.DataFrame) -> pd.DataFrame:
    """The stamps are in UTC and are said to be five hours behind it."""
    return frame.assign(when=frame["when"] + pd.Timedelta(hours=5))


def indoor_clock(frame: pd.DataFrame) -> pd.DataFrame:
    """The indoor logger's clock is eight hours slow, so its rows come early."""
    rows = round(pd.Timedelta(hours=8) / (frame["when"].iloc[1] - frame["when"].iloc[0]))
    indoors = [name for name in frame if name.partition(" ")[0] not in ("when", "out", "p", "wind")]
    out = frame.copy()
    out[indoors] = frame[indoors].shift(-rows)
    return out.iloc[: len(out) - rows]


def civil(frame: pd.DataFrame) -> pd.DataFrame:
    """The stamps follow civil time, which skips an hour on a Sunday in March."""
    change = pd.Timestamp("1990-03-11 02:00")
    return frame.assign(
        when=frame["when"].where(frame["when"] < change, frame["when"] + pd.Timedelta(hours=1))
    )


def in_the_sun(frame: pd.DataFrame) -> pd.DataFrame:
    """From nine to eleven on half of the days the sun shines on the outdoor sensor: 12 °F more."""
    hours = frame["when"].dt.hour
    sunny = hours.isin([9, 10]) & (frame["when"].dt.day_of_year % 2 == 0)
    return frame.assign(**{"out T": frame["out T"] + np.where(sunny, 12.0, 0.0)})


def wet_room(frame: pd.DataFrame) -> pd.DataFrame:
    """A shower every morning next to the bedroom's sensor, 15 points of RH that decay in an hour."""
    minutes = (frame["when"].dt.hour - 7) * 60 + frame["when"].dt.minute
    shower = np.where(
        (minutes >= 0) & (minutes < 600), 15.0 * np.exp(-minutes.clip(lower=0) / 60.0), 0.0
    )
    return frame.assign(**{"bedroom RH": (frame["bedroom RH"] + shower).clip(upper=99.0)})


def apart(frame: pd.DataFrame) -> pd.DataFrame:
    """A kitchen that is 8 points of RH above the others all the time."""
    return frame.assign(**{"kitchen RH": (frame["kitchen RH"] + 8.0).clip(upper=99.0)})
