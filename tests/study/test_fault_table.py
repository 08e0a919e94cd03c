"""Machines that fail, and the table of what each fault does."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.controls import any_rule_table
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.controls import faults
from moistsim.engine.disturbance import window
from moistsim.study.fault_table import _first_run, shows

HARDWARE = (faults.WeldedStrips, faults.FailedBlower)


def season(failing: Any, name: str = "staged_reheat", first: int = 190, days: int = 3,
           **plant: Any) -> ms.Season:  # fmt: skip
    return ms.simulate(
        house(), machines(**plant), ms.strategies.BUILT_IN[name], stretch("miami", first, days),
        spin_up="1 day", faults=failing,
    )  # fmt: skip


def test_a_power_cut_stops_every_meter() -> None:
    cut = season([faults.PowerCut(start="07-11 10:00", lasts="3 h")])
    power = cut.hourly.loc["1990-07-11", [f"{use}_kWh" for use in cut.meter.kwh.index]].sum(axis=1)
    assert (power.iloc[10:13] == 0.0).all()
    assert (power.drop(power.index[10:13]) > 0.0).all()
    assert cut.hourly.loc["1990-07-11 10:00":"1990-07-11 12:00", "ventilation_m3"].sum() == 0.0
    assert (cut.balance["relative"].abs() <= 1e-9).all()


@ms.strategy
def counts(readings: Any, memory: Any) -> Any:
    """The minutes since it woke up; the compressor on all the while."""
    memory[0] += 1.0
    return ms.Calls(cooling=1.0)


@pytest.mark.parametrize("wakes", ["as it was", "with nothing"])
@pytest.mark.parametrize("relays", ["open", "as they were"])
def test_what_the_controls_wake_up_with(wakes: str, relays: str) -> None:
    """Two hours without power, and one in which the machines have it and the control does not."""
    cut = faults.PowerCut(
        start="07-11 10:00", lasts="2 h", controls_after="1 h", wakes=wakes, relays=relays
    )
    run = ms.simulate(
        house(), machines(), counts, stretch("miami", 190, 2), spin_up=0, faults=[cut]
    )
    counted = run.memory[0]
    before = counted.loc["1990-07-11 09:00"]
    assert counted.loc["1990-07-11 13:00"] == 60.0 + (before if wakes == "as it was" else 0.0)
    asleep = run.hourly.loc["1990-07-11 12:00"]
    # The compressor has rested for two hours, so that nothing keeps it from starting at once.
    expected = 1.0 if relays == "as they were" else 0.0
    assert asleep["cooling_stage_1_h"] == pytest.approx(expected)
    assert asleep["standby_kWh"] > 0.0


def test_a_stopped_dehumidifier_and_a_fouled_coil() -> None:
    stopped = season([faults.StoppedDehumidifier(start="07-11")], "with_dehumidifier")
    assert stopped.hourly.loc["1990-07-10", "dehumidifier_h"].sum() > 0.0
    assert stopped.hourly.loc["1990-07-11":, "dehumidifier_h"].sum() == 0.0
    clean, fouled = (season(f, "temperature_only").minutes("07-11") for f in
                     ([], [faults.FouledCoil(airflow=0.6)]))  # fmt: skip
    first = [m[m["cooling_stage"] == 1.0] for m in (clean, fouled)]
    flow = [m["airflow_fraction"].max() for m in first]
    assert flow[1] == pytest.approx(0.6 * flow[0])
    # Less air over the same coil: a colder supply and a lower sensible share (textbook).
    share = [m["coil_sensible_kWh"].sum() / m["coil_total_kWh"].sum() for m in first]
    assert share[1] < share[0]
    assert first[1]["supply_temperature_C"].min() < first[0]["supply_temperature_C"].min()


def test_welded_strips_heat_day_and_night_and_end_at_their_limit_switch() -> None:
    """Miami in July, air that rests now and then: only the limit switch stops them."""
    welded = season([faults.WeldedStrips(start="07-11")])
    after = welded.hourly.loc["1990-07-11":]
    assert after["reheat_h"].sum() > 0.5 * len(after)
    idle = ms.simulate(
        house(), machines(), ms.strategies.temperature_only(cooling_setpoint=40.0),
        stretch("miami", 20, 2), spin_up=0, faults=[faults.WeldedStrips()],
    )  # fmt: skip
    hourly = idle.hourly
    limit = machines().strips.limit_temperature
    assert hourly["strips_without_air_h"].sum() > 0.1
    assert hourly["strip_limit_temperature_max_C"].max() == pytest.approx(limit, abs=1e-9)
    # 10 kW: two kelvins a second, so 82 °C (180 °F) comes within half a minute at first and within
    # some ten seconds later on; then three minutes off, in which the switch cools below 67 °C.
    assert hourly["strips_without_air_h"].max() < 0.1
    assert hourly["strip_trips"].iloc[5:].between(12, 20).all()
    assert (idle.balance["relative"].abs() <= 1e-9).all()


def test_a_failed_blower_leaves_strips_to_their_limit_switch() -> None:
    """Greensboro in January: strips are called as heat, and their relay believes in the blower."""
    weather = stretch("greensboro", 10, 3)
    cold = ms.simulate(
        house(), machines(heating=None), ms.strategies.temperature_only, weather,
        spin_up="1 day", faults=[faults.FailedBlower(start="01-12")],
    )  # fmt: skip
    after = cold.hourly.loc["1990-01-12":] if "1990" in str(cold.hourly.index[0]) else (
        cold.hourly.iloc[24:]
    )  # fmt: skip
    assert after["strips_without_air_h"].sum() > 0.2
    assert after["indoor_fan_kWh"].sum() == 0.0
    assert after["airflow_fraction"].max() == 0.0
    assert (
        after["strip_limit_temperature_max_C"].max() <= machines().strips.limit_temperature + 1e-9
    )
    assert after["strip_trips"].sum() > 10
    assert after["indoor_temperature_C"].min() < cold.hourly["indoor_temperature_C"].iloc[:24].min()


def test_a_relay_stuck_on_heat_ends_at_the_machines_own_switch() -> None:
    stuck = season([faults.StuckRelay(relay="heat")], "temperature_only", days=4)
    assert stuck.hourly["indoor_temperature_C"].max() < 42.0
    assert stuck.meter.refused["room_hot"] > 0


def test_dates_that_do_not_fit() -> None:
    for text in ("12-24", "07-41", "noon", "07-11 25:00"):
        with pytest.raises(ms.InputError) as refusal:
            season([faults.FrozenSensor(start=text)])
        assert str(refusal.value) == (
            f"FrozenSensor.start: cannot use {text!r}. Use a minute such as '07-10 14:30' within "
            "the season, 1990-07-10 to 1990-07-12."
        )
    with pytest.raises(ms.InputError, match="two of FouledCoil"):
        season([faults.FouledCoil(airflow=0.5), faults.FouledCoil(airflow=0.6)])
    with pytest.raises(ms.InputError, match="simulate faults: cannot use 'welded'"):
        season(["welded"])


def test_the_window_of_a_fault() -> None:
    index = pd.date_range("1990-07-10", periods=72, freq="h")
    fault = faults.FrozenSensor(start="07-11 14:30", lasts="90 min")
    assert window(fault, index, slice(0, 72), 60) == (38 * 60 + 30, 40 * 60)
    assert window(faults.FrozenSensor(), index, slice(24, 48), 4) == (96, 192)
    assert window(faults.FrozenSensor(lasts="10 day"), index, slice(24, 48), 4) == (96, 192)


def test_a_run_of_hours() -> None:
    states = np.array([True, False, True, True, False, True, True, True])
    assert [_first_run(states, n) for n in (1, 2, 3, 4)] == [1.0, 4.0, 8.0, float("inf")]


@pytest.fixture(scope="module")
def study() -> ms.Study:
    option = {name: (machines(), ms.strategies.BUILT_IN[name])
              for name in ("temperature_only", "staged_reheat")}  # fmt: skip
    return ms.Study(house(), option, stretch("miami", 190, 6))


def test_the_table(study: ms.Study) -> None:
    failing: dict[str, Any] = {
        "strips stuck": faults.StuckRelay(relay="strips", start="07-11"),
        "both": [faults.StuckRelay(relay="strips", start="07-11"),
                 faults.StuckRelay(relay="compressor", start="07-11")],
        "cold": faults.StuckRelay(relay="compressor", start="07-11"),
        "off": faults.StuckRelay(relay="compressor", position="off", start="07-11"),
    }  # fmt: skip
    table = ms.fault_table(study, failing, progress=False)
    assert table.index.names == ["option", "fault", "enable"]
    assert len(table) == 2 * 5 * 2
    none = table.xs("none", level="fault")
    assert (none["wasted_kWh"] == 0.0).all()
    assert (none["shows_by"] == "").all()
    both = table.xs(("staged_reheat", "both"), level=("option", "fault"))
    assert both.loc["none", "wasted_kWh"] > both.loc["hard-wired", "wasted_kWh"]
    assert both.loc["none", "fought_min"] > both.loc["hard-wired", "fought_min"] + 60.0
    assert (table.xs("off", level="fault")["wasted_kWh"] < 0.0).all()
    assert (table.xs("off", level="fault")["shows_by"] == "room").all()
    # Straight from the season: the first two hours on end above 24.5 + 2 degC.
    off = ms.simulate(
        study.house, *study.options["temperature_only"], study.weather, faults=[failing["off"]]
    )
    warm = off.hourly["indoor_temperature_C"].to_numpy() > 26.5
    first = next(k for k in range(24, len(warm)) if warm[k] and warm[k - 1])
    assert table.loc[("temperature_only", "off", "none"), "shows_after_h"] == first + 1 - 24
    again = ms.fault_table(study, failing, progress=False, workers=1)
    pd.testing.assert_frame_equal(table, again)
    trade = ms.fault_table(study, {"off": failing["off"]}, units="us", progress=False)
    assert trade["hottest_F"].iloc[-1] > 80.0


def test_the_month_with_the_bill(study: ms.Study) -> None:
    machine, strategy = study.options["temperature_only"]
    normal, failing = (
        ms.simulate(study.house, machine, strategy, study.weather, faults=f)
        for f in ([], [faults.StuckRelay(relay="strips", start="07-11 06:00")])
    )
    # Strips that are stuck run with the compressor: no room 2 K off within a day is promised, but
    # the bill of July, which ends with the season, is a fifth up.
    assert failing.meter.total_kwh > 1.2 * normal.meter.total_kwh
    hours, by = shows(failing, normal, study)
    assert by in ("room", "bill")
    assert hours <= len(normal.hourly) - 30.0


def test_no_faults_no_table(study: ms.Study) -> None:
    with pytest.raises(ms.InputError, match="fault_table faults"):
        ms.fault_table(study, {}, progress=False)


def test_the_usual_ones_all_run(study: ms.Study) -> None:
    for name, fault in faults.usual("07-11", "1 day").items():
        run = ms.simulate(study.house, *study.options["staged_reheat"], study.weather,
                          spin_up=0, faults=[fault])  # fmt: skip
        assert (run.balance["relative"].abs() <= 1e-9).all(), name


@st.composite
def some_faults(draw: st.DrawFn, first: str) -> list[Any]:
    start = st.sampled_from([None, f"{first} 05:00", f"{first} 13:17"])
    lasts = st.sampled_from([None, "40 min", "9 h"])
    link = st.sampled_from(faults.LINKS)

    def one(kind: type, **fields: Any) -> st.SearchStrategy[Any]:
        return st.builds(kind, start=start, lasts=lasts, **fields)

    kinds = [
        one(faults.LostMessages, probability=st.floats(0.0, 1.0), link=link),
        one(faults.LateMessages, by=st.floats(1.0, 7200.0), link=st.just("readings")),
        one(faults.LostLink, link=link),
        one(faults.StuckRelay, relay=st.sampled_from(faults.RELAYS),
            position=st.sampled_from(["on", "off"])),
        one(faults.WeldedStrips),
        one(faults.FailedBlower),
        one(faults.FrozenSensor),
        one(faults.PowerCut, wakes=st.sampled_from(["as it was", "with nothing"]),
            relays=st.sampled_from(["open", "as they were"]), controls_after=st.floats(0.0, 3e4)),
        one(faults.StoppedDehumidifier),
        one(faults.FouledCoil, airflow=st.floats(0.3, 0.95)),
    ]  # fmt: skip
    return draw(st.lists(st.one_of(kinds), max_size=5, unique_by=type))


@st.composite
def sensors(draw: st.DrawFn) -> ms.Sensor:
    return ms.Sensor(
        temperature_offset=draw(st.floats(-3.0, 3.0)),
        humidity_noise=draw(st.floats(0.0, 5.0)),
        humidity_resolution=draw(st.sampled_from([0.0, 1.0, 5.0])),
        report_every=draw(st.sampled_from([0.0, 300.0, 1000.0])),
        place=draw(st.sampled_from(["room", "return"])),
    )


@settings(max_examples=15)
@given(data=st.data())
def test_no_fault_gets_round_the_machines(data: st.DataObject) -> None:
    """No fault and no control gets past the machines' own protection.

    Random faults and sensors under built-in controls and random rules: balances close, strips never heat
    still air unless their contactor or the blower failed, and then end at their limit switch.
    """
    place = data.draw(st.sampled_from(["miami", "greensboro", "sand_point"]))
    weather = stretch(place, data.draw(st.integers(0, 362)), 2)
    first = weather.frame.index[0].strftime("%m-%d")
    failing = data.draw(some_faults(first))
    plant = machines(
        sensor=data.draw(sensors()),
        enable=data.draw(st.sampled_from([None, ms.Enable(), ms.Enable(cuts=["cooling"])])),
        relays=data.draw(
            st.sampled_from([ms.Relays(), ms.Relays(repeat_every=300, release_after=900)])
        ),
    )
    built_in = st.sampled_from([*ms.strategies.BUILT_IN.values()])
    control = data.draw(st.one_of(built_in, any_rule_table()))
    run = ms.simulate(house(), plant, control, weather, spin_up=0, faults=failing)
    hourly = run.hourly
    assert (run.balance["relative"].abs() <= 1e-9).all()
    assert np.isfinite(hourly.to_numpy(float)).all()
    strips = hourly["reheat_kWh"] + hourly["backup_heat_kWh"]
    still = hourly["strips_without_air_h"]
    if not any(isinstance(fault, HARDWARE) for fault in failing):
        assert not still.any()
    # In still air 10 kW need some 45 s to the limit, then rest for three minutes: a fifth of the
    # time at the most, of an hour and of each one on the way.
    assert (still <= 0.25).all()
    assert (strips <= 10.0 + 1e-9).all()
