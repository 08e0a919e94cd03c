"""Measured series in place of calculated values: imposed temperature, moisture, air, setpoints, calls."""

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.weathers import flat

import moistsim as ms
from moistsim import air
from moistsim.engine import REFUSALS

WEATHER = ms.Weather.sample("miami")
HOUSE = ms.House(floor_area="1500 ft2", ach50=5.0)
PLAIN = ms.strategies.temperature_only
DAYS: dict[str, Any] = {"start": "07-01", "end": "07-03"}
COOLING = ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")])


def log(values: Any, first: str = "1990-06-01", step: str = "10min") -> pd.Series:
    """A series with one value a step from a time on."""
    values = np.asarray(values, dtype=float)
    return pd.Series(values, pd.date_range(first, periods=len(values), freq=step))


def swinging(mean: float = 24.0, by: float = 2.0, step: str = "10min") -> pd.Series:
    """A measured temperature that goes up and down, from June 1 to the middle of July."""
    times = pd.date_range("1990-06-01", "1990-07-15", freq=step)
    day = (times - times[0]) / pd.Timedelta("1 day")
    return pd.Series(mean + by * np.sin(2.0 * np.pi * day) + by * np.sin(17.0 * day), times)


def constant(value: float, step: str = "1h") -> pd.Series:
    times = pd.date_range("1990-06-01", "1990-07-15", freq=step)
    return pd.Series(value, times)


# --- Imposed temperature ------------------------------------------------------------------------


@pytest.mark.parametrize("minutes", [1, 5, 15, 60])
def test_the_room_is_at_the_measured_temperature(minutes: int) -> None:
    measured = swinging(step=f"{minutes}min")
    season = ms.simulate(HOUSE, ms.Equipment(), PLAIN, WEATHER, impose=measured, **DAYS)
    room = season.steps("indoor_temperature")["indoor_temperature"]
    # A step is stamped at its start, and the room is that of its end.
    ends = room.index + pd.Timedelta("60s")
    hit = ends.isin(measured.index)
    assert hit.sum() == 3 * 1440 // minutes
    assert (room[hit].to_numpy() == measured[ends[hit]].to_numpy()).all()
    straight = np.interp(ends.asi8, measured.index.asi8, measured.to_numpy())
    assert np.abs(room.to_numpy() - straight).max() < 1e-12
    by_hour = room.groupby(room.index.floor("h")).mean()
    assert season.hourly["indoor_temperature_C"].to_numpy() == pytest.approx(by_hour.to_numpy())


@settings(max_examples=25, deadline=None)
@given(
    mean=st.floats(8.0, 34.0),
    by=st.floats(0.0, 6.0),
    moisture=st.floats(0.0, 1.5e-3),
    flow=st.floats(0.0, 0.2),
    cools=st.booleans(),
    crawl=st.booleans(),
)
def test_balances_close_with_an_imposed_temperature(
    mean: float, by: float, moisture: float, flow: float, cools: bool, crawl: bool
) -> None:
    """Dry air, water and energy balance, in dry, in humid and in saturated rooms."""
    beside = {"crawl_space": ms.CrawlSpace()} if crawl else {}
    season = ms.simulate(
        ms.House(floor_area="1500 ft2", ach50=5.0, **beside),
        ms.Equipment(cooling=COOLING if cools else None),
        PLAIN,
        WEATHER,
        impose=swinging(mean, by),
        series={"moisture": constant(moisture), "air_flow": constant(flow)},
        spin_up="1 day",
        **DAYS,
    )
    assert season.balance["relative"].abs().max() < 1e-9
    assert season.attribution().residual["relative"].abs().max() < 1e-9
    assert season.hourly["indoor_rh_pct"].max() < 100.0 + 1e-4


def test_saturated_air_is_held_at_the_measured_temperature() -> None:
    """Far more vapor than the air can hold: it ends at saturation, and the rest settles."""
    measured = constant(12.0)
    season = ms.simulate(
        HOUSE, ms.Equipment(), PLAIN, WEATHER, impose=measured,
        series={"moisture": constant(2e-3)}, **DAYS,
    )  # fmt: skip
    hourly = season.hourly
    assert hourly["indoor_temperature_C"].to_numpy() == pytest.approx(12.0, abs=1e-12)
    saturated = hourly["indoor_rh_pct"] > 100.0 - 1e-6
    assert saturated.any() and (hourly["water_fog_kg"][saturated] < 0.0).any()
    assert season.balance["relative"].abs().max() < 1e-9


def test_the_heat_that_holds_the_calculated_temperature_is_none() -> None:
    """Imposing what the model calculated by the minute needs no heat, and gives the same room."""
    free = ms.simulate(HOUSE, ms.Equipment(), PLAIN, WEATHER, spin_up=0, **DAYS)
    steps = free.steps("indoor_temperature", "indoor_humidity_ratio")
    measured = pd.Series(steps["indoor_temperature"].to_numpy(), steps.index + pd.Timedelta("60s"))
    held = ms.simulate(
        HOUSE, ms.Equipment(), PLAIN, WEATHER, impose=measured,
        first_state=ms.HouseState.at(temperature=23.0, relative_humidity=0.5), **DAYS,
    )  # fmt: skip
    heat = held.hourly["heat_imposed_kWh"].abs().sum()
    assert heat < 1e-9 * held.hourly["heat_out_kWh"].abs().sum()
    again = held.steps("indoor_humidity_ratio")["indoor_humidity_ratio"]
    assert again.to_numpy() == pytest.approx(steps["indoor_humidity_ratio"].to_numpy(), rel=1e-12)


def test_what_holds_the_temperature_is_a_heater_of_that_power() -> None:
    """A room held at its temperature by a known heater needs as much less imposed heat.

    Gains of 1000 W, of which the air gets half, and the fast mass the rest: in a steady room all of
    it is taken away again, so the imposed heat falls by 1000 W.
    """
    held = {
        watts: ms.simulate(
            HOUSE, ms.Equipment(), PLAIN, WEATHER, impose=constant(24.0),
            series={"gains": constant(watts)}, **DAYS,
        ).hourly["heat_imposed_kWh"].sum()
        for watts in (500.0, 1500.0)
    }  # fmt: skip
    assert held[500.0] - held[1500.0] == pytest.approx(72.0, rel=0.02)


def test_moisture_follows_the_exponential_of_the_mass_balance() -> None:
    """Room of constant temperature, constant flow and source, no stores: a closed form.

    M dW/dt = F (W_out - W) + G, with M the dry air in the room and F that of the flow, gives
    W = W_end + (W_0 - W_end) exp(-F t / M), W_end = W_out + G / F. The balance is that of any
    textbook of ventilation. The room exhales a little as vapor takes up volume, 1 in 1000.
    """
    w_out = air.humidity_ratio(air.saturation_pressure(12.0), 101325.0)
    still = flat(22.0, w_out, days=2, pressure=101325.0)

    def steady(value: float) -> pd.Series:
        return pd.Series(value, still.hours)

    house = ms.House(
        floor_area=100.0, moisture_store=ms.MoistureStore(area=0.0), contents_store=None
    )
    flow, source, w_0 = 0.03, 8e-5, air.humidity_ratio_at(22.0, 0.30, 101325.0)
    season = ms.simulate(
        house, ms.Equipment(), PLAIN, still, impose=steady(22.0),
        series={"moisture": steady(source), "air_flow": steady(flow)},
        first_state=ms.HouseState.at(temperature=22.0, relative_humidity=0.30),
        step="5 s",
    )  # fmt: skip
    w = season.steps("indoor_humidity_ratio")["indoor_humidity_ratio"].to_numpy()
    held = house.volume * air.dry_air_density(22.0, w_0, 101325.0)
    into = flow * air.dry_air_density(22.0, w_out, 101325.0)
    w_end = w_out + source / into
    t = 5.0 * np.arange(1, len(w) + 1)
    expected = w_end + (w_0 - w_end) * np.exp(-into * t / held)
    assert np.abs(w - expected).max() < 2e-3 * (w_end - w_0)
    assert w[-1] == pytest.approx(w_end, rel=2e-3)
    print(f"{w_end=:.6f}, at the end {w[-1]:.6f}, largest gap {np.abs(w - expected).max():.2e}")


# --- Series of household and air -----------------------------------------------------------------


def test_a_measured_flow_takes_the_place_of_infiltration() -> None:
    flow = swinging(0.04, 0.01, step="1h")
    season = ms.simulate(HOUSE, ms.Equipment(), PLAIN, WEATHER, series={"air_flow": flow}, **DAYS)
    hours = season.hourly["natural_infiltration_m3"] / 3600.0
    assert hours.to_numpy() == pytest.approx(flow[hours.index].to_numpy(), rel=1e-12)
    density = season.hourly["air_infiltration_kg"] / season.hourly["natural_infiltration_m3"]
    assert density.between(1.1, 1.25).all()


def test_series_shorter_than_an_hour_act_by_their_mean() -> None:
    """A humidifier of 1.2 kg/h for 20 minutes of each hour gives 0.4 kg in each hour."""
    pulses = log(np.tile([1.2 / 3600.0, 1.2 / 3600.0, 0.0, 0.0, 0.0, 0.0], 24 * 45))
    season = ms.simulate(HOUSE, ms.Equipment(), PLAIN, WEATHER, series={"moisture": pulses}, **DAYS)
    assert season.hourly["water_gains_kg"].to_numpy() == pytest.approx(np.full(72, 0.4))


def test_an_empty_house_has_no_heat_or_vapor_of_people() -> None:
    away = constant(1.0)
    away["1990-07-02"] = 0.0
    for house in (HOUSE, ms.House(floor_area="1500 ft2", occupancy=ms.Occupancy())):
        season = ms.simulate(
            house, ms.Equipment(), PLAIN, WEATHER, series={"occupied": away}, **DAYS
        )
        day = season.hourly.groupby(season.hourly.index.day)
        vapor, there = day["water_gains_kg"].sum(), day["occupied_h"].sum()
        assert vapor[2] == 0.0 < vapor[1] and list(there) == [24.0, 0.0, 24.0]
        assert day["heat_gains_kWh"].sum()[2] < day["heat_gains_kWh"].sum()[1]


def test_windows_open_as_given_in_any_weather() -> None:
    house = ms.House(floor_area="1500 ft2", window_opening=ms.WindowOpening(area=0.5))
    opened = constant(0.0)
    opened["1990-07-02 03:00":"1990-07-02 06:00"] = 1.0
    season = ms.simulate(house, ms.Equipment(), PLAIN, WEATHER, series={"windows": opened}, **DAYS)
    hours = season.hourly["windows_open_h"]
    assert list(hours[hours > 0.0].index.hour) == [3, 4, 5, 6] and hours.sum() == 4.0
    assert season.balance["relative"].abs().max() < 1e-9


def test_all_series_together_in_a_house_of_two_zones() -> None:
    """A second zone gets its share of measured vapor and heat, and the whole balances."""
    house = ms.House(floor_area="2000 ft2", stories=2, second_zone=ms.SecondZone())
    season = ms.simulate(
        house, ms.Equipment(), PLAIN, WEATHER,
        series={"moisture": constant(1e-4), "gains": constant(700.0)}, **DAYS,
    )  # fmt: skip
    hourly = season.hourly
    whole = hourly["water_gains_kg"] + hourly["second_zone_water_gains_kg"]
    assert whole.to_numpy() == pytest.approx(np.full(72, 0.36))
    heat = hourly["heat_gains_kWh"] + hourly["second_zone_heat_gains_kWh"]
    assert heat.to_numpy() == pytest.approx(np.full(72, 0.7))
    assert season.balance["relative"].abs().max() < 1e-9


# --- Control -------------------------------------------------------------------------------------


def test_a_setpoint_by_time_is_that_setpoint_in_its_hours() -> None:
    machines = ms.Equipment(cooling=COOLING)
    both = [
        ms.simulate(HOUSE, machines, PLAIN(cooling_setpoint=25.0), WEATHER, series=series, **DAYS)
        for series in (None, {"strategy.cooling_setpoint": constant(25.0)})
    ]
    pd.testing.assert_frame_equal(both[0].hourly, both[1].hourly, check_exact=True)
    by_time = constant(24.0)
    by_time["1990-07-02 08:00":] = 27.0
    season = ms.simulate(
        HOUSE, machines, PLAIN(cooling_setpoint=25.0), WEATHER,
        series={"strategy.cooling_setpoint": by_time}, **DAYS,
    )  # fmt: skip
    room = season.hourly["indoor_temperature_C"]
    assert room["1990-07-02 02:00":"1990-07-02 07:00"].mean() == pytest.approx(24.0, abs=0.6)
    assert room["1990-07-03 12:00":"1990-07-03 20:00"].mean() == pytest.approx(27.0, abs=0.6)


@ms.strategy
def by_the_clock(readings: Any, memory: Any) -> ms.Calls:
    """Cools in one part of each hour, and dries in another."""
    minute = 60.0 * (readings.hour - math.floor(readings.hour))
    cools = 10.0 <= minute < 30.0
    return ms.Calls(
        cooling=1.0 if cools else 0.0,
        dehumidifier=1.0 if minute >= 40.0 else 0.0,
        fan=1.0 if minute < 5.0 else 0.0,
    )


def test_given_calls_run_the_machines_as_a_control_that_calls_the_same() -> None:
    machines = ms.Equipment(cooling=COOLING, dehumidifier=ms.Dehumidifier(capacity="50 pint/day"))
    minute = np.tile(np.arange(60), 24 * 45)
    series = {
        "calls.cooling": log((minute >= 10) & (minute < 30), step="1min"),
        "calls.dehumidifier": log(minute >= 40, step="1min"),
        "calls.fan": log(minute < 5, step="1min"),
        "calls.heating": log(0.0 * minute, step="1min"),
    }
    machines = ms.Equipment(
        cooling=COOLING, dehumidifier=ms.Dehumidifier(capacity="50 pint/day"),
        strips=ms.Strips(stages=["5 kW"]),
    )  # fmt: skip
    given, called = (
        ms.simulate(HOUSE, machines, strategy, WEATHER, series=by_time, **DAYS)
        for strategy, by_time in ((PLAIN, series), (by_the_clock, None))
    )
    columns = [name for name in given.hourly if name not in ("warm_h", "cool_h", "cold_h")]
    pd.testing.assert_frame_equal(given.hourly[columns], called.hourly[columns], check_exact=True)
    assert given.meter.runtime_h["cooling_stage_1"] == pytest.approx(24.0)


def test_interlocks_refuse_a_given_call_that_no_machine_follows() -> None:
    """A series that starts the compressor each 4 minutes meets its minimum off time."""
    short = ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")], minimum_off="10 min")
    calls = log(np.tile([1.0, 1.0, 0.0, 0.0], 15 * 24 * 45), step="1min")
    season = ms.simulate(
        HOUSE, ms.Equipment(cooling=short), PLAIN, WEATHER, series={"calls.cooling": calls}, **DAYS
    )
    assert season.meter.refused["minimum_time"] > 0
    assert {name.removeprefix("refused_") for name in REFUSALS} == {*season.meter.refused.index}


def test_a_given_call_stops_a_dehumidifier_with_its_own_humidistat() -> None:
    machines = ms.Equipment(dehumidifier=ms.Dehumidifier(capacity="50 pint/day", humidistat="45 %"))
    season = ms.simulate(
        HOUSE, machines, PLAIN, WEATHER, series={"calls.dehumidifier": constant(0.0)}, **DAYS
    )
    assert season.meter.runtime_h["dehumidifier"] == 0.0


# --- Where a run starts --------------------------------------------------------------------------


@pytest.mark.parametrize("imposed", [False, True])
def test_going_on_from_a_season_gives_the_bits_of_one_run(imposed: bool) -> None:
    machines = ms.Equipment(cooling=COOLING, strips=ms.Strips(stages=["5 kW"]))
    control = ms.strategies.staged_reheat
    measured = swinging(25.0, 2.0) if imposed else None
    whole = ms.simulate(
        HOUSE, machines, control, WEATHER, start="07-01", end="07-06", impose=measured
    )
    first = ms.simulate(
        HOUSE, machines, control, WEATHER, start="07-01", end="07-03", impose=measured
    )
    second = ms.simulate(
        HOUSE, machines, control, WEATHER, end="07-06", first_state=first, impose=measured
    )
    joined = pd.concat([first.hourly, second.hourly])
    pd.testing.assert_frame_equal(joined, whole.hourly, check_exact=True, check_freq=False)
    assert second.spin_up == 0.0 and second.hourly.index[0] == pd.Timestamp("1990-07-04")
    pd.testing.assert_frame_equal(
        pd.concat([first.events, second.events]), whole.events, check_exact=True
    )
    assert second.balance["relative"].abs().max() < 1e-9


def test_a_season_goes_on_only_where_it_ended() -> None:
    first = ms.simulate(HOUSE, ms.Equipment(), PLAIN, WEATHER, spin_up=0, **DAYS)
    with pytest.raises(ms.InputError, match=r"ends at 1990-07-04 00:00, but .* 1990-07-06"):
        ms.simulate(
            HOUSE, ms.Equipment(), PLAIN, WEATHER, start="07-06", end="07-07", first_state=first
        )
    other = ms.House(floor_area="1500 ft2", crawl_space=ms.CrawlSpace())
    with pytest.raises(ms.InputError, match="other spaces"):
        ms.simulate(other, ms.Equipment(), PLAIN, WEATHER, end="07-06", first_state=first)


def test_a_given_state_is_where_the_run_starts() -> None:
    state = ms.HouseState(
        temperature=21.0, relative_humidity=0.6, mass_temperature=19.0, surface_humidity=0.5,
        deep_humidity=0.4,
    )  # fmt: skip
    season = ms.simulate(HOUSE, ms.Equipment(), PLAIN, WEATHER, first_state=state, **DAYS)
    first = season.spin_up_report["first"]
    assert first["fast_mass_temperature_C"] == first["slow_mass_temperature_C"] == 19.0
    assert (first["surface_store_rh_pct"], first["deep_store_rh_pct"]) == (50.0, 40.0)
    assert season.balance["relative"].abs().max() < 1e-9 and season.spin_up == 0.0


def test_a_shorter_spin_up_is_told() -> None:
    season = ms.simulate(HOUSE, ms.Equipment(), PLAIN, WEATHER, start="01-03", end="01-08")
    assert season.spin_up == 6 * 86400.0
    (note,) = season.notes
    assert "2 days before 1990-01-03 00:00, fewer than the 21 days" in note
    assert ms.simulate(HOUSE, ms.Equipment(), PLAIN, WEATHER, spin_up="5 day", **DAYS).notes == ()


# --- Tables at a logger's interval ----------------------------------------------------------------


@pytest.mark.parametrize("every", ["5 min", "10 min", 1800.0, "60 min"])
def test_a_table_at_any_interval_adds_up_to_the_hours(every: Any) -> None:
    machines = ms.Equipment(cooling=COOLING)
    season = ms.simulate(HOUSE, machines, PLAIN, WEATHER, **DAYS)
    table, hourly = season.table_every(every), season.hourly
    by_hour = table.groupby(table.index.floor("h"))
    for name in table:
        if name == "indoor_dew_point_C":
            continue
        adds = name.endswith(("_kWh", "_kg", "_m3", "_h", "_starts")) or name.startswith("refused")
        found = by_hour[name].sum() if adds else by_hour[name].mean()
        assert found.to_numpy() == pytest.approx(hourly[name].to_numpy(), rel=1e-9, abs=1e-12), name
    dew_point = by_hour["indoor_dew_point_C"].mean()
    assert dew_point.to_numpy() == pytest.approx(hourly["indoor_dew_point_C"].to_numpy(), abs=0.2)


@pytest.mark.parametrize("every", ["7 min", "90 s", "2 h", 0.0])
def test_an_interval_that_does_not_divide_the_hour_is_refused(every: Any) -> None:
    season = ms.simulate(HOUSE, ms.Equipment(), PLAIN, WEATHER, spin_up=0, **DAYS)
    with pytest.raises(ms.InputError, match="whole steps of 60 s"):
        season.table_every(every)


# --- Logs of real time ----------------------------------------------------------------------------


def real(first: str, days: int) -> ms.Weather:
    """Days of a logged weather, with the sample's numbers under real dates."""
    rows = WEATHER.frame.drop(columns="humidity_ratio")
    times = pd.date_range(first, periods=24 * days, freq="h")
    order = [rows.index.get_loc(pd.Timestamp(1990, t.month, min(t.day, 28), t.hour)) for t in times]
    frame = rows.iloc[order].set_axis(times)
    return ms.Weather.from_frame(
        frame, latitude=WEATHER.latitude, longitude=WEATHER.longitude,
        utc_offset=WEATHER.utc_offset, elevation=WEATHER.elevation, label="start", kind="actual",
    )  # fmt: skip


def test_a_log_runs_across_new_year_and_february_29() -> None:
    winter = real("2015-12-20 00:00", 80)
    season = ms.simulate(
        HOUSE, ms.Equipment(), PLAIN, winter, start="2015-12-28", end="2016-03-05", spin_up="5 day"
    )
    hours = season.hourly.index
    assert hours[0] == pd.Timestamp("2015-12-28") and hours[-1] == pd.Timestamp("2016-03-05 23:00")
    assert pd.Timestamp("2016-02-29 12:00") in hours and len(hours) == 24 * 69
    assert season.balance["relative"].abs().max() < 1e-9
    (note,) = season.notes
    assert note.startswith("Ground: at the mean of this weather's 80 days")
    by_month = ms.simulate(HOUSE, ms.Equipment(), PLAIN, winter, start="12-28", end="03-05")
    assert by_month.hourly.index.equals(hours)


def test_a_log_that_starts_in_the_middle_of_a_day_runs_whole() -> None:
    week = real("2016-01-11 17:00", 8)
    season = ms.simulate(HOUSE, ms.Equipment(), PLAIN, week, spin_up="3 day")
    assert season.hourly.index[0] == pd.Timestamp("2016-01-11 17:00") and len(season.hourly) == 192
    assert "0 days before 2016-01-11 17:00" in season.notes[0]
    later = ms.simulate(HOUSE, ms.Equipment(), PLAIN, week, start="01-15", spin_up="3 day")
    assert len(later.notes) == 1 and later.spin_up == 3 * 86400.0


# --- Refusals ------------------------------------------------------------------------------------

GOOD = constant(24.0, "10min")


def without(times: Any) -> pd.Series:
    return GOOD.drop(GOOD[times].index)


@pytest.mark.parametrize(
    ("impose", "series", "sentence"),
    [
        (GOOD["1990-06-15":], {}, "no value at 1990-06-10 00:00. Use values from 1990-06-10"),
        (GOOD[:"1990-07-02 11:50"], {}, "no value at 1990-07-02 12:00"),
        (without("1990-07-02 06"), {}, "between 1990-07-02 05:50:00 and 1990-07-02 07:00:00"),
        (GOOD.where(GOOD.index != "1990-07-02 06:10"), {}, "no value at 1990-07-02 06:10:00"),
        (GOOD * 1.8 + 32.0, {}, "75.2 at .* degC from -30 to 60"),
        (GOOD.tz_localize("US/Eastern"), {}, "time zone US/Eastern"),
        (GOOD[::-1], {}, "stamps in order"),
        (constant(24.0, "2h"), {}, "at most 60 min apart"),
        ([24.0], {}, "a pandas Series with a DatetimeIndex"),
        (GOOD.astype(str) + "C", {}, "values that are not numbers"),
        (None, {"moistures": GOOD}, "Did you mean 'moisture'?"),
        (None, {"strategy.cooling_set": GOOD}, "Did you mean 'strategy.cooling_setpoint'?"),
        (None, {"moisture": GOOD}, "24 at .* kg/s from -0.01 to 0.01"),
        (None, {"strategy.cooling_setpoint": GOOD - 100.0}, "cooling_setpoint"),
        (None, {"windows": 0.0 * GOOD}, "House.window_opening"),
        (None, {"calls.dehumidifier": 0.0 * GOOD}, "Equipment.dehumidifier"),
    ],
)  # fmt: skip
def test_a_series_that_cannot_be_used_is_refused_in_one_sentence(
    impose: Any, series: Any, sentence: str
) -> None:
    with pytest.raises(ms.InputError, match=sentence.replace("?", r"\?")):
        ms.simulate(HOUSE, ms.Equipment(), PLAIN, WEATHER, impose=impose, series=series, **DAYS)


def test_a_house_of_two_zones_has_no_single_measured_temperature() -> None:
    house = ms.House(floor_area="2000 ft2", stories=2, second_zone=ms.SecondZone())
    with pytest.raises(ms.InputError, match="two zones"):
        ms.simulate(house, ms.Equipment(), PLAIN, WEATHER, impose=GOOD, **DAYS)
