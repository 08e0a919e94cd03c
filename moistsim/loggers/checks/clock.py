"""Clocks that are wrong by hours, from the daily cycle of outdoor air and of the sun."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.display import number
from moistsim.loggers.findings import LogFinding, Reading
from moistsim.loggers.gaps import runs

WARMEST = 15.0
"""Solar time, h, at which the first harmonic of outdoor temperature is highest (common practice)."""
_OFF = 3.0
"""Deviation of the median day, h, that is told: sea breezes and fog move it by two."""
_SWING = 1.5
"""Amplitude of a day's first harmonic, K, from which its time counts."""
_FEWEST_DAYS = 6
_AHEAD, _BEHIND = -2, 8
"""Lags of indoor behind outdoor moisture, h, at or beyond which two clocks differ: measured and simulated
houses lag by 1 to 3 h."""
_ALIKE = 0.6
"""Correlation of indoor and outdoor moisture from which their lag counts; a cooled house has less."""


def clock(reading: Reading) -> Iterator[LogFinding]:
    """Find a clock that is hours off the sun, and civil time that was called standard time."""
    yield from _against_the_sun(reading)
    yield from _missing_hour(reading)
    yield from _indoors_against_outdoors(reading)


def _solar_hours(reading: Reading) -> NDArray[np.float64]:
    """Solar time of the middle of each row, h, without the equation of time (16 min at most)."""
    index = pd.DatetimeIndex(reading.frame.index)
    hours = (index - index.normalize()) / pd.Timedelta(hours=1) + reading.step / 7200.0
    return np.asarray(hours, float) + reading.log.longitude / 15.0 - reading.log.utc_offset


def _against_the_sun(reading: Reading) -> Iterator[LogFinding]:
    outdoors = reading.column("outdoor_temperature")
    if outdoors is None:
        return
    angle = 2.0 * np.pi * _solar_hours(reading) / 24.0
    # The mean of a day around each row takes the weather's slow changes out.
    quick = outdoors - outdoors.rolling(reading.rows_a_day, center=True).mean()
    turns = pd.DataFrame(
        {"re": quick * np.cos(angle), "im": quick * np.sin(angle), "n": quick.notna()}
    )
    days = turns.resample("D").agg({"re": "mean", "im": "mean", "n": "sum"})
    days = days[days["n"] >= 0.95 * reading.rows_a_day]
    wave = 2.0 * (days["re"].to_numpy() + 1j * days["im"].to_numpy())
    wave = wave[np.abs(wave) >= _SWING]
    if len(wave) < _FEWEST_DAYS:
        return
    mean = wave.mean()
    # The median about the mean, on the circle.
    off_mean = np.angle(wave / mean) * 12.0 / np.pi
    peak = float(np.angle(mean)) * 12.0 / np.pi + float(np.median(off_mean))
    late = (peak - WARMEST + 12.0) % 24.0 - 12.0
    if abs(late) < _OFF:
        return
    says = (
        f"Outdoor air is warmest {number(abs(late), 1)} h {'later' if late > 0 else 'earlier'} than the sun would make it. "
        "The stamps are probably in another time zone or in UTC, or morning and afternoon are exchanged."
    )
    effect = (
        "The sun, the house's gains and its schedules then act at the wrong hours. "
        "State the zone that the stamps are in, and check the longitude's sign."
    )
    yield LogFinding(
        what="clock", where="time", start=reading.frame.index[0], end=reading.frame.index[-1], says=says, effect=effect
    )  # fmt: skip


def _missing_hour(reading: Reading) -> Iterator[LogFinding]:
    """A logger that follows civil time skips an hour in spring, a Sunday before dawn."""
    raw = reading.log.empty_rows
    for first, last in runs(raw):
        start = pd.Timestamp(reading.frame.index[first])
        rows = last - first + 1
        if abs(rows * reading.step - 3600.0) > 0.5 or start.day_of_week != 6:
            continue
        if start.month in (3, 4, 9, 10) and start.hour in (1, 2) and start.minute == 0:
            says = (
                f"Exactly one hour is missing from {start:%Y-%m-%d %H:%M} on, a Sunday on which daylight saving may "
                "begin. The stamps are probably civil time."
            )
            effect = "All later rows are an hour late against the sun and the weather. State timezone= in place of utc_offset=."
            yield LogFinding(
                what="clock", where="time", start=start, end=reading.frame.index[-1], says=says, effect=effect
            )  # fmt: skip


def _indoors_against_outdoors(reading: Reading) -> Iterator[LogFinding]:
    """Indoor moisture follows that outdoors by some hours, and never runs ahead of it."""
    outdoors = reading.outdoor_ratio
    if outdoors is None or not reading.log.rooms or len(reading.frame) < 7 * reading.rows_a_day:
        return
    pair = (
        pd.DataFrame({"in": reading.log.indoor_humidity_ratio, "out": outdoors})
        .resample("h")
        .mean()
    )
    # Changes of the weather within three days; slower ones tell no hours.
    quick = pair - pair.rolling(72, center=True).mean()
    found = {lag: float(quick["in"].corr(quick["out"].shift(lag))) for lag in range(-12, 13)}
    lag = max(found, key=lambda each: found[each])
    if found[lag] < _ALIKE or _AHEAD < lag < _BEHIND:
        return
    says = (
        f"Indoor moisture {'runs ahead of' if lag < 0 else 'follows'} that outdoors by {abs(lag)} h, and houses follow by 1 to 3 h. "
        "The clocks of the indoor and the outdoor logger probably differ."
    )
    effect = (
        "Moisture storage and airflow are fitted to the wrong delay. Set both clocks to one time."
    )
    index = reading.frame.index
    yield LogFinding(
        what="clock",
        where="indoors and outdoors",
        start=index[0],
        end=index[-1],
        says=says,
        effect=effect,
    )
