"""The watch of a house whose truth is known: changes, what they look like, and the next day."""

from functools import lru_cache

import numpy as np
import pandas as pd
import pytest
from support import watched

import moistsim as ms
from moistsim.watching.suspects import NOTHING, cases

WORDS = {
    "sensor": "a humidity sensor that has drifted or was replaced",
    "ventilation": "ventilation that has stopped",
    "blower": "the blower left ON",
    "coil": "a fouled coil or filter",
    "window": "more outdoor air, as through a window left open",
    "household": "more moisture from the household",
}


@lru_cache
def seen(fault: str) -> tuple[watched.Truth, ms.Watch]:
    truth = watched.Truth(fault=fault, seed=1, fault_day=60, days=81)
    return truth, ms.watch(watched.fitted(truth), truth.log)


@pytest.mark.parametrize("fault", WORDS)
def test_each_fault_is_found_and_named(fault: str) -> None:
    truth, watch = seen(fault)
    begin = truth.log.frame.index[24 * truth.fault_day]
    assert watch.alarm is not None
    assert watch.alarm.suspects.index[0] == WORDS[fault]
    assert abs((watch.alarm.since - begin) / pd.Timedelta(days=1)) <= 4
    assert watch.alarm.since <= watch.alarm.raised
    assert not watch.days.loc[: begin - pd.Timedelta(days=1), "alarm"].any()
    shares = watch.alarm.suspects["share"]
    assert shares.sum() == pytest.approx(1.0) and shares.is_monotonic_decreasing
    text = watch.sentence()
    assert "has left its prediction since 1990-0" in text and WORDS[fault] in text
    assert ("drier" if fault in ("ventilation", "coil") else "more humid") in text


def test_a_house_without_a_fault() -> None:
    _, watch = seen("")
    assert watch.alarm is None
    assert watch.sentence() == "The house is as predicted: no change in 51 days, to 1990-07-20."
    assert list(watch.days.columns) == [
        "measured",
        "predicted",
        "low",
        "high",
        "outside",
        "rise",
        "fall",
        "alarm",
    ]
    assert len(watch.days) == 51
    assert watch.days["outside"].mean() < 0.3


def test_the_next_day_and_its_band() -> None:
    truth, _ = seen("")
    log = truth.log
    fit = watched.fitted(truth)
    inside = 0
    hours = log.frame.index
    days = range(45, 65)
    for day in days:
        until = log.between(str(hours[0]), str(hours[24 * day - 1]))
        tomorrow = ms.watch(fit, until).tomorrow
        assert tomorrow.start == hours[24 * day] and not tomorrow.by_forecast
        measured = float(log.indoor_humidity_ratio.iloc[24 * day : 24 * day + 24].mean())
        inside += tomorrow.low <= measured <= tomorrow.high
    # 90 percent should; 20 days that are alike.
    assert inside >= 15


def test_a_forecast_narrows_the_band_and_moves_it() -> None:
    truth, watch = seen("")
    log, fit = truth.log, watched.fitted(truth)
    until = log.between(str(log.frame.index[0]), str(log.frame.index[24 * 70 - 1]))
    blind = ms.watch(fit, until).tomorrow
    told = ms.watch(fit, until, forecast=truth.weather).tomorrow
    assert told.by_forecast and told.high - told.low < blind.high - blind.low
    measured = float(log.indoor_humidity_ratio.iloc[24 * 70 : 24 * 71].mean())
    assert abs(told.predicted - measured) < abs(blind.predicted - measured) + 1e-3
    assert "by the forecast" in ms.watch(fit, until, forecast=truth.weather).forecast_sentence()
    with pytest.raises(ms.InputError, match="no hour 1990-07-21"):
        ms.watch(fit, log, forecast=truth.weather)
    assert "if the weather stays as on the last day" in watch.forecast_sentence()


def test_units_of_the_sentences() -> None:
    _, watch = seen("sensor")
    assert "°F" in watch.sentence("us") and "°C" not in watch.sentence("us")
    assert "°C" in watch.forecast_sentence("si")
    assert str(watch).count("\n") == 1


def test_before_the_first_watched_day() -> None:
    truth = watched.Truth(days=81, seed=1)
    fit = watched.fitted(truth)
    watch = ms.watch(fit, fit.log)
    assert watch.alarm is None and watch.sentence() == "No day has been watched yet."
    assert watch.tomorrow.low < watch.tomorrow.predicted < watch.tomorrow.high


def test_a_gap_cuts_the_log_and_a_late_one_stops() -> None:
    truth = watched.Truth(days=81, seed=1)
    frame = truth.log.frame.copy()
    rows = frame.reset_index().rename(columns={"time": "when"})
    names = {
        ours: name for name, ours in zip(watched.COLUMNS.values(), watched.COLUMNS, strict=True)
    }
    rows = rows.rename(columns=names).set_index("when")
    gap = watched.read(rows.drop(rows.index[24 * 50 : 24 * 50 + 10]))
    watch = ms.watch(watched.fitted(truth), gap)
    assert watch.notes == (
        "Rows before 1990-06-20 10:00 are not used, because of a gap before it.",
    )
    assert watch.alarm is None
    late = watched.read(rows.drop(rows.index[-40:-30]))
    with pytest.raises(ms.InputError, match="a gap in the last three days"):
        ms.watch(watched.fitted(truth), late)


def test_a_rate_that_cannot_be() -> None:
    truth, _ = seen("")
    for rate in (0.0, 100.0):
        with pytest.raises(ms.InputError, match="false_alarms_a_year"):
            ms.watch(watched.fitted(truth), truth.log, false_alarms_a_year=rate)


def test_suspects_follow_the_machines() -> None:
    def words(machines: ms.Equipment) -> set[str]:
        return {case.words for case in cases(watched.house(), machines)}

    whole = words(watched.machines(dehumidifier=ms.Dehumidifier(capacity="50 pint/day")))
    assert {*WORDS.values(), "a stopped dehumidifier"} - {WORDS["sensor"]} <= whole
    bare = words(ms.Equipment())
    assert not bare & {
        WORDS["coil"],
        WORDS["blower"],
        WORDS["ventilation"],
        "a stopped dehumidifier",
    }
    assert "less outdoor air, as with ventilation that has stopped" in bare
    assert NOTHING not in whole


def test_an_offset_of_the_sensor_is_measured() -> None:
    _, watch = seen("sensor")
    assert watch.alarm is not None
    size = watch.alarm.suspects["size"].iloc[0]
    # 6 points, and what the steady error of the fit adds.
    assert float(size.split()[0].replace("\N{MINUS SIGN}", "-")) == pytest.approx(6.0, abs=1.5)
    assert np.isfinite(watch.alarm.offset)
