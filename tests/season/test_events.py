"""The log of events by hand, and against the meter, which counts by another way."""

from typing import Any

import attrs
import numpy as np
import pandas as pd
import pytest
from support.controls import BUILT_IN, one_of_everything
from support.houses import house
from support.machines import machines, two_stage
from support.weathers import sample, stretch

import moistsim as ms
from moistsim.season.events import Change, log_events
from moistsim.season.season import Season

READ = ["temperature_C", "rh_pct"]


@ms.strategy
def by_the_clock(readings: Any, memory: Any) -> Any:
    """A control that calls by the clock.

    Cooling from 10:00, with one strip stage from 10:30 and two from 10:40, until 11:00; the
    dehumidifier from 13:00 to 13:02; a call for a third cooling stage from 15:00 to 15:20.
    """
    hour = readings.hour
    cooling, reheat, dehumidifier = 0.0, 0.0, 0.0
    if 10.0 <= hour < 11.0:
        cooling = 1.0
        if hour >= 10.5:
            reheat = 1.0
        if hour >= 10.0 + 40.0 / 60.0:
            reheat = 2.0
    if 13.0 <= hour < 13.0 + 2.0 / 60.0:
        dehumidifier = 1.0
    if 15.0 <= hour < 15.0 + 20.0 / 60.0:
        cooling = 3.0
    return ms.Calls(cooling=cooling, reheat=reheat, dehumidifier=dehumidifier)


def clocked(days: int = 1, **choices: Any) -> Season:
    """Warm days in Miami with machines that do at once as they are told."""
    equipment = machines(
        cooling=two_stage(fan_off_delay=0.0, off_cycle_airflow=0.0),
        strips=ms.Strips(stages=["5 kW", "5 kW"], proof_time=0.0, stage_delay=0.0),
        dehumidifier=ms.Dehumidifier(capacity="70 pint/day", minimum_on="3 min"),
        ventilation=None,
    )
    weather = stretch("miami", 190, days)
    return ms.simulate(house(), equipment, by_the_clock, weather, **{"spin_up": 0, **choices})


LOW = 620.0 / 900.0
"""Airflow of the lower stage."""
ONE_DAY = [
    ("10:00", "call", "cooling", 0, 1),
    ("10:00", "machine", "cooling stage", 0, 1),
    ("10:00", "machine", "blower", 0, LOW),
    ("10:30", "call", "reheat", 0, 1),
    ("10:30", "machine", "reheat stage", 0, 1),
    ("10:40", "call", "reheat", 1, 2),
    ("10:40", "machine", "reheat stage", 1, 2),
    ("11:00", "call", "cooling", 1, 0),
    ("11:00", "call", "reheat", 2, 0),
    ("11:00", "machine", "cooling stage", 1, 0),
    ("11:00", "machine", "blower", LOW, 0),
    ("11:00", "machine", "reheat stage", 2, 0),
    ("13:00", "call", "dehumidifier", 0, 1),
    ("13:00", "machine", "dehumidifier", 0, 1),
    # Called off after two minutes, it runs on for its least time of three.
    ("13:02", "call", "dehumidifier", 1, 0),
    ("13:02", "refusal", "minimum time", 0, 1),
    ("13:03", "machine", "dehumidifier", 1, 0),
    # A third stage is not there: the second runs.
    ("15:00", "call", "cooling", 0, 3),
    ("15:00", "refusal", "not installed", 0, 1),
    ("15:00", "machine", "cooling stage", 0, 2),
    ("15:00", "machine", "blower", 0, 1),
    ("15:20", "call", "cooling", 3, 0),
    ("15:20", "machine", "cooling stage", 2, 0),
    ("15:20", "machine", "blower", 1, 0),
]


def check_days(events: pd.DataFrame, days: list[pd.Timestamp]) -> None:
    expected = [
        (day + pd.Timedelta(f"{clock}:00"), *rest) for day in days for clock, *rest in ONE_DAY
    ]
    assert [*events.index] == [row[0] for row in expected]
    assert [*events["kind"]] == [row[1] for row in expected]
    assert [*events["what"]] == [row[2] for row in expected]
    np.testing.assert_allclose(events["was"], [row[3] for row in expected], rtol=1e-12)
    np.testing.assert_allclose(events["now"], [row[4] for row in expected], rtol=1e-12)


@pytest.mark.parametrize("spin_up", [0, "1 day"])
def test_a_control_by_the_clock_minute_by_minute(spin_up: Any) -> None:
    season = clocked(days=2, spin_up=spin_up)
    days = [*season.hourly.index.normalize().unique()]
    assert len(days) == 2
    check_days(season.events, days)


def test_the_first_step_is_compared_with_what_ran_before() -> None:
    """Compressor, strips and calls run on across the season's first minute."""

    @ms.strategy
    def always(readings: Any, memory: Any) -> Any:
        return ms.Calls(cooling=1.0, reheat=1.0, dehumidifier=1.0, ventilation=0.5, hot_gas=0.5)

    equipment, weather = machines(), stretch("miami", 190, 2)
    after = ms.simulate(house(), equipment, always, weather, spin_up="1 day")
    assert after.hourly["cooling_stage_1_h"].iloc[0] == pytest.approx(1.0)
    assert after.events.loc[: after.hourly.index[0]].empty
    # Without a spin-up all of it begins in that minute.
    events = ms.simulate(house(), equipment, always, weather, spin_up=0).events
    begun = events.loc[events.index == after.hourly.index[0]]
    assert {
        ("call", "cooling"), ("call", "reheat"), ("call", "dehumidifier"), ("call", "hot gas"),
        ("machine", "cooling stage"), ("machine", "dehumidifier"), ("machine", "blower"),
    } <= {*zip(begun["kind"], begun["what"], strict=True)}  # fmt: skip
    ventilation = begun[begun["what"] == "ventilation"]
    assert [*ventilation["was"], *ventilation["now"]] == [1.0, 0.5]


def test_readings_are_those_on_which_the_control_acted() -> None:
    """Every call of this control is on its side of the setpoint, by the log's own reading."""

    @ms.strategy
    def warm(readings: Any, memory: Any, *, on: ms.units.DegC = 24.0) -> Any:
        return ms.Calls(cooling=1.0 if readings.temperature > on else 0.0)

    events = ms.simulate(house(), machines(), warm, stretch("miami", 190, 3)).events
    calls = events.query("kind == 'call' and what == 'cooling'")
    assert len(calls) > 20
    assert ((calls["temperature_C"] > 24.0) == (calls["now"] == 1.0)).all()
    assert events["rh_pct"].between(30.0, 80.0).all()


def starts(events: pd.DataFrame, what: str, level: int = 1) -> int:
    chosen = events[(events["kind"] == "machine") & (events["what"] == what)]
    return int(((np.ceil(chosen["was"]) < level) & (np.ceil(chosen["now"]) >= level)).sum())


def check_against_the_meter(season: Season) -> None:
    events, meter = season.events, season.meter
    for k in range(1, len(season.equipment.cooling.stages) + 1):
        assert starts(events, "cooling stage", k) == meter.starts[f"cooling_stage_{k}"]
    assert starts(events, "dehumidifier") == meter.starts["dehumidifier"]
    assert starts(events, "heating stage") == meter.starts["heat_pump"]
    assert starts(events, "strips' limit switch open") == meter.strips["trips"]
    counted = events[events["kind"] == "refusal"]["what"].value_counts()
    refused = meter.refused[meter.refused > 0]
    assert counted.to_dict() == {n.replace("_", " "): k for n, k in refused.items()}
    assert events.index.is_monotonic_increasing
    assert np.isfinite(events[["was", "now", *READ]]).all(axis=None)
    assert (events["was"] != events["now"]).all()


@pytest.mark.parametrize("spin_up", [0, "2 day"])
@pytest.mark.parametrize("name", BUILT_IN)
def test_starts_and_refusals_are_the_meter_s(name: str, spin_up: Any) -> None:
    season = ms.simulate(
        house(), machines(), ms.strategies.BUILT_IN[name], sample("greensboro"),
        start="10-01", end="10-12", spin_up=spin_up,
    )  # fmt: skip
    check_against_the_meter(season)
    assert season.meter.starts["cooling_stage_1"] > 0


def test_a_limit_switch_that_opens_and_closes() -> None:
    """10 kW of strips in the 504 cfm of a lower stage of 1.4 tons are too much for their switch."""

    @ms.strategy
    def too_hot(readings: Any, memory: Any) -> Any:
        on = 1.0 if 10.0 <= readings.hour < 20.0 else 0.0
        return ms.Calls(cooling=1.0, reheat=on, airflow=0.5)

    stages = [ms.Stage(capacity="16800 Btu/h"), ms.Stage(capacity="24000 Btu/h")]
    equipment = machines(
        strips=ms.Strips(stages=["10 kW"]), cooling=ms.Cooling(stages=stages),
        heating=ms.HeatPump(capacity="2 ton"),
    )  # fmt: skip
    season = ms.simulate(house(), equipment, too_hot, stretch("miami", 190, 3), spin_up=0)
    check_against_the_meter(season)
    assert season.meter.strips["trips"] > 100
    switch = season.events.query('what == "strips\' limit switch open"')
    # It opens and closes in turn, and stays open for its reset time of three minutes at the least.
    assert [*switch["now"].iloc[:4]] == [1.0, 0.0, 1.0, 0.0]
    assert (np.diff(switch["now"]) != 0.0).all()
    times = switch.index[: len(switch) // 2 * 2]
    assert (times[1::2] - times[::2] >= pd.Timedelta("3min")).all()
    # Open through a step, the strips are refused in the next.
    refused = season.events.query("what == 'strips tripped'")
    opened = switch.index[switch["now"] == 1.0]
    assert [*refused.index] == [*(opened + pd.Timedelta("1min"))]


def test_everything_at_once() -> None:
    unit = two_stage(water_held=0.7, fan_off_delay="5 min")
    season = ms.simulate(
        house(floor_area=60.0), machines(cooling=unit), one_of_everything,
        stretch("miami", 190, 2), step="300 s",
    )  # fmt: skip
    check_against_the_meter(season)
    for machine, column in (("dehumidifier", "dehumidifier_h"), ("blower", "indoor_fan_h")):
        events = season.events
        one = events[(events["kind"] == "machine") & (events["what"] == machine)]
        assert len(one) > 0
        # Time on between the changes is the meter's runtime. The log has whole steps.
        edges = [season.hourly.index[0], *one.index, season.hourly.index[-1] + pd.Timedelta("1h")]
        levels = [one["was"].iloc[0], *one["now"]]
        on = sum(
            (after - before) / pd.Timedelta("1h")
            for before, after, level in zip(edges, edges[1:], levels, strict=False)
            if level > 0.0
        )
        assert on == pytest.approx(season.hourly[column].sum())


def test_no_machines_no_events() -> None:
    idle = ms.strategy(ask_nothing)
    season = ms.simulate(house(), ms.Equipment(), idle, stretch("miami", 190, 2))
    assert season.events.empty
    assert season.meter.ventilation["locked_h"] == 0.0
    assert [*season.events.columns] == ["kind", "what", "was", "now", *READ]
    assert isinstance(season.events.index, pd.DatetimeIndex)


def ask_nothing(readings: Any, memory: Any) -> Any:
    """Asks for nothing."""
    return ms.Calls()


def test_a_log_goes_to_csv_and_back(tmp_path: Any) -> None:
    events = clocked().events
    events.to_csv(tmp_path / "log.csv")
    back = pd.read_csv(tmp_path / "log.csv", index_col="time", parse_dates=True)
    pd.testing.assert_frame_equal(back, events, check_dtype=False, check_index_type=False)


def test_dated_faults_stand_first_in_their_minute_with_what_was_read() -> None:
    season = clocked(days=2)
    day = season.hourly.index[0]
    inside = [
        Change(day + pd.Timedelta("10:30:00"), "strip contactor welded", 0.0, 1.0),
        Change(day + pd.Timedelta("1 day 03:10:20"), "link lost", 0.0, 1.0),
    ]
    outside = [
        Change(day - pd.Timedelta("1min"), "before", 0.0, 1.0),
        Change(day + pd.Timedelta("2 day"), "after", 0.0, 1.0),
    ]
    parts = attrs.asdict(season, recurse=False)
    run = [parts[f"_{name}"] for name in
           ("machine", "forcing", "index", "first_state", "first_memory", "step_before")]  # fmt: skip
    events = log_events(*run, faults=[*inside, *outside])
    faults = events[events["kind"] == "fault"]
    assert [*faults.index] == [fault.time for fault in inside]
    assert [*faults["what"]] == [fault.what for fault in inside]
    together = events.loc[events.index == inside[0].time]
    assert [*together["kind"]] == ["fault", "call", "machine"]
    assert together[READ].nunique().tolist() == [1, 1]
    pd.testing.assert_frame_equal(events[events["kind"] != "fault"], season.events)
