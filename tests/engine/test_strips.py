"""Strips by hand: voltage, sequencing, airflow proof, limit switch, lockout, shares of a stage."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from support.houses import house
from support.machines import machines, two_stage
from support.values import floats
from support.weathers import stretch

import moistsim as ms
from moistsim import air
from moistsim.engine import Entering, Running, parameters, run_air_handler
from moistsim.engine.records import AirHandlerParameters, State
from moistsim.engine.strips import Bank, limit_switch, locked_out, sequence

CFM = 0.3048**3 / 60.0
POWERS = np.array([5000.0, 3000.0, 2000.0])


def unit(**strips: Any) -> AirHandlerParameters:
    """The parameters of an air handler with these strips."""
    bank = ms.Strips(**{"stages": [*POWERS], **strips})
    return parameters.air_handler_parameters(machines(strips=bank))


LIMIT = (180.0 - 32.0) / 1.8
"""Default temperature at which the limit switch opens, degC."""
PLANT = parameters.plant(house(), machines(), ms.strategies.temperature_only, 60.0)
REST = State(*parameters.initial_state(PLANT, 22.0, 0.5, 101325.0))


# --- Voltage ------------------------------------------------------------------------------------


def test_240_volt_strips_on_208_volts() -> None:
    """(208 / 240)² = 0.7511: three quarters of the rated power (Ohm's law)."""
    strips = ms.Strips(stages=["5 kW", "10 kW"], voltage="208 V")
    assert strips.powers == pytest.approx((5000.0 * 0.751111, 10000.0 * 0.751111), rel=1e-5)
    assert strips.powers[0] / strips.stages[0] == pytest.approx(0.75, abs=0.002)
    assert ms.Strips(stages=["5 kW"]).powers == (5000.0,)
    assert ms.Strips(stages=["5 kW"], rated_voltage=208).powers == (5000.0,)


@ms.strategy
def reheat_by_the_clock(
    readings: Any, memory: Any, *, reheat: float = 1.0, airflow: float = 1.0, start: float = 12.0,
    end: float = 13.0,
) -> Any:  # fmt: skip
    """Cooling all day, strips between two hours of it."""
    on = 1.0 if start <= readings.hour < end else 0.0
    return ms.Calls(cooling=1.0, reheat=on * reheat, airflow=airflow)


def day(strips: ms.Strips, weather: ms.Weather | None = None, **settings: float) -> pd.DataFrame:
    """A summer day in Miami by the minute."""
    season = ms.simulate(
        house(), machines(strips=strips, cooling=two_stage(low_outdoor_limit=-50.0)),
        reheat_by_the_clock(**settings), weather or stretch("miami", 190, 1), spin_up=0,
    )  # fmt: skip
    assert (season.balance["relative"].abs() <= 1e-9).all()
    return season.minutes(season.hourly.index[0].strftime("%m-%d"))


def test_the_meter_reads_the_power_that_there_is() -> None:
    m = day(ms.Strips(stages=["5 kW", "5 kW"], voltage=208.0), reheat=2.0)
    assert m["reheat_kWh"].sum() == pytest.approx(10.0 * 0.751111, rel=1e-5)


# --- Sequencing and airflow proof ---------------------------------------------------------------


def powers(minutes: int, called: float = 3.0, dt: float = 60.0, **strips: Any) -> list[float]:
    """Mean power of each step from a call on, W, the blower starting with it."""
    state, at, out = REST, unit(**strips), []
    for _ in range(minutes):
        bank = sequence(called, 1.0, state, at, POWERS, dt)
        state = state._replace(blower_time=state.blower_time + dt, strip_level=bank.level)
        out.append(bank.power)
    return out


def test_all_at_once_without_delays() -> None:
    assert powers(2) == [10000.0, 10000.0]


def test_each_stage_waits_for_the_one_before() -> None:
    """Strip stages start one after the other, a delay apart.

    A delay of 90 s: the second stage comes half way through the second minute, the third at
    the start of the fourth.
    """
    assert powers(5, stage_delay=90.0) == pytest.approx([5000, 6500, 8000, 10000, 10000])
    # 25 s: 5 kW, + 3 kW for 35 s of 60, + 2 kW for 10 s of 60.
    first = 5000.0 + 3000.0 * 35.0 / 60.0 + 2000.0 * 10.0 / 60.0
    assert powers(2, stage_delay=25.0) == pytest.approx([first, 10000.0])


def test_the_blower_first() -> None:
    """An airflow proof of 90 s, alone and before a delay of 60 s between stages."""
    assert powers(3, proof_time=90.0) == pytest.approx([0.0, 5000.0, 10000.0])
    assert powers(5, proof_time=90.0, stage_delay=60.0) == pytest.approx(
        [0.0, 2500.0, 6500.0, 9000.0, 10000.0]
    )
    assert powers(3, proof_time=0.0, stage_delay=60.0) == [5000.0, 8000.0, 10000.0]


@pytest.mark.parametrize("dt", [1.0, 15.0, 60.0, 300.0])
def test_delays_do_not_hang_on_the_step(dt: float) -> None:
    """Energy of the first ten minutes: 10 kW less each stage's own wait of 40, 115 and 190 s."""
    energy = dt * sum(powers(int(600 / dt), dt=dt, proof_time=40.0, stage_delay=75.0))
    assert energy == pytest.approx(5000.0 * 560.0 + 3000.0 * 485.0 + 2000.0 * 410.0)


def test_a_second_call_waits_too_and_none_waits_to_go() -> None:
    at = unit(stage_delay=120.0)
    running = REST._replace(blower_time=3600.0, strip_level=1.0)
    assert sequence(2.0, 1.0, running, at, POWERS, 60.0) == Bank(5000.0, 1.5, 1.0)
    full = running._replace(strip_level=3.0)
    assert sequence(1.0, 1.0, full, at, POWERS, 60.0) == Bank(5000.0, 1.0, 1.0)
    assert sequence(0.0, 1.0, full, at, POWERS, 60.0) == Bank(0.0, 0.0, 0.0)
    # No air, no heat.
    assert sequence(3.0, 0.0, full, at, POWERS, 60.0).power == 0.0


def test_delays_in_a_season() -> None:
    strips = ms.Strips(stages=["3 kW", "3 kW", "3 kW"], stage_delay="2 min")
    m = day(strips, reheat=3.0)["reheat_kWh"] * 60.0
    on = m[m > 0.0]
    assert list(on.iloc[:6]) == pytest.approx([3.0, 3.0, 6.0, 6.0, 9.0, 9.0])
    assert str(on.index[0].time()) == "12:00:00"
    assert len(on) == 60
    # The blower has run for hours: the proof costs nothing.
    proven = ms.Strips(stages=["3 kW", "3 kW", "3 kW"], stage_delay="2 min", proof_time="5 min")
    pd.testing.assert_series_equal(m, day(proven, reheat=3.0)["reheat_kWh"] * 60.0)


# --- The limit switch ---------------------------------------------------------------------------


def two_tons(strips: ms.Strips, strategy: ms.Strategy, **changes: Any) -> ms.Season:
    """A two-stage unit of 2 tons at 360 cfm a ton through three hot humid days."""
    stages = [ms.Stage(capacity="16800 Btu/h"), ms.Stage(capacity="24000 Btu/h")]
    plant = machines(
        strips=strips, cooling=ms.Cooling(stages=stages), heating=ms.HeatPump(capacity="2 ton"),
        **changes,
    )  # fmt: skip
    assert plant.cooling.stages[0].airflow / CFM == pytest.approx(504.0, rel=0.001)
    return ms.simulate(house(), plant, strategy, stretch("miami", 190, 3), spin_up=0)


TEN_KW = ms.Strips(stages=["10 kW"])


def opens_at(entering: float, strips: ms.Strips | None = None) -> float:
    """Airflow per power, cfm/kW, at which the switch just opens in air of `entering` degF."""
    strips = strips or ms.Strips(stages=["10 kW"])
    limit = 1.8 * strips.limit_temperature + 32.0
    return 60.0 * (limit - 95.0) / (limit - entering)


@pytest.mark.parametrize(
    ("entering", "cfm_per_kw"),
    [(54.0, 40.5), (70.0, 46.4), (85.0, 53.7), (95.0, 60.0), (105.0, 68.0)],
)
def test_the_airflow_at_which_the_switch_opens(entering: float, cfm_per_kw: float) -> None:
    """The engine's switch against the hand calculation, 5 % of airflow above and below it.

    Automatic limits of electric heaters open at 130 to 200 degF, and heater kits with a heat pump
    ahead of them need about 60 to 80 cfm/kW (common practice, no source). The 180 °F switch
    opens at 60 cfm/kW behind a heat pump, at 46 in room air and at 40 behind a cold coil.
    """
    assert opens_at(entering) == pytest.approx(cfm_per_kw, abs=0.1)
    at = unit(stages=["10 kW"])
    t = (entering - 32.0) / 1.8
    for share, opens in ((0.95, True), (1.05, False)):
        flow = share * cfm_per_kw * 10.0 * CFM * air.STANDARD_DENSITY
        running = Running(**{
            **dict.fromkeys(Running._fields, 0.0), "refused": 0, "fan_share": 1.0,
            "airflow": flow / at.full_flow,
        })  # fmt: skip
        fanless = at._replace(fan_power=0.0)
        stream = run_air_handler(
            running, REST, Entering(t, 0.008, 15.0, 101325.0), fanless,
            parameters.stage_table(two_stage()), 10e3, 30.0, at.full_flow, 60.0,
        )  # fmt: skip
        state = REST._replace(limit_temperature=t)
        opened = 0.0
        for _ in range(20):
            switch = limit_switch(state, at, stream.at_limit, 10e3, True, t, 60.0)
            state = state._replace(limit_temperature=switch.temperature)
            opened = max(opened, switch.opened)
        assert (opened > 0.0) == opens
        # The mixed air that leaves is cooler than the switch.
        mixed = air.temperature_at_enthalpy(stream.h_supply, stream.w_supply)
        assert t + 20.0 < mixed < stream.at_limit - 10.0


@pytest.mark.parametrize("outdoors", [-5.0, 8.3])
def test_a_common_heat_pump_with_all_strips_does_not_trip(outdoors: float) -> None:
    """2 tons at 720 cfm with 10 kW, a usual combination (common practice): 72 cfm/kW."""
    plant = parameters.air_handler_parameters(
        machines(
            cooling=ms.Cooling(stages=[ms.Stage(capacity="2 ton")]), strips=TEN_KW,
            heating=ms.HeatPump(capacity="2 ton"),
        )
    )  # fmt: skip
    running = Running(**{
        **dict.fromkeys(Running._fields, 0.0), "refused": 0, "fan_share": 1.0, "airflow": 1.0,
        "heating": 2.0, "heat_pump": 1.0, "backup": 1.0,
    })  # fmt: skip
    stream = run_air_handler(
        running, REST, Entering(20.0, 0.006, 13.0, 101325.0), plant,
        parameters.stage_table(ms.Cooling(stages=[ms.Stage(capacity="2 ton")])), 10e3, outdoors,
        plant.full_flow, 60.0,
    )  # fmt: skip
    assert stream.at_limit < plant.strip_limit - 5.0


def test_ten_kilowatts_trip_at_low_airflow_and_not_on_stage_1() -> None:
    """At 36 cfm/kW the switch opens behind a cold coil, and at 50 cfm/kW it stays closed.

    By hand: the switch is (82.2 - 35.0) x 60/36 = 79 K above the air of about 9 °C that the
    coil leaves, beyond 82 °C. At stage 1, 504 cfm, it is 56 K above air of about 12 °C.
    """
    clock = reheat_by_the_clock(start=10.0, end=20.0)
    low = two_tons(TEN_KW, clock(airflow=0.5))
    full = two_tons(TEN_KW, clock(airflow=0.0))
    assert full.meter.strips["trips"] == 0
    assert full.meter.refused["strips_tripped"] == 0
    trips = low.meter.strips["trips"]
    # Hot in a minute or two, off for three or four: nine to fifteen an hour.
    print(f"{trips:.0f} trips in 30 h; {low.meter.kwh['reheat']:.0f} of 300 kWh")
    assert 9 * 30 <= trips <= 15 * 30
    assert low.meter.refused["strips_tripped"] == trips
    assert low.hourly["strip_trips"].sum() == trips
    assert 0.25 * 300.0 < low.meter.kwh["reheat"] < 0.6 * 300.0
    assert full.meter.kwh["reheat"] == pytest.approx(300.0)
    # 10 kW over 360 cfm: 10000 / (360 cfm x 1.204 x 1022) = 48 K; supply about 9 + 48 degC.
    rise = 10000.0 / (360.0 * CFM * air.STANDARD_DENSITY * 1022.0)
    assert low.meter.strips["mean_rise_K"] == pytest.approx(rise, rel=0.01)
    assert full.meter.strips["mean_rise_K"] == pytest.approx(rise * 360.0 / 504.0, rel=0.02)
    # The first minute of a run is warmer: the coil has not come down yet.
    assert 56.0 < low.meter.strips["highest_supply_C"] < 75.0
    assert (low.balance["relative"].abs() <= 1e-9).all()


def test_a_trip_minute_by_minute() -> None:
    m = two_tons(TEN_KW, reheat_by_the_clock(start=10.0, end=20.0, airflow=0.5)).minutes("07-11")
    trip = int(np.flatnonzero(m["strip_trips"].to_numpy())[1])
    # Off for the reset time of three minutes, the compressor and the blower going on; then on.
    watts = (m["reheat_kWh"] * 60e3).to_numpy()
    assert list(watts[trip : trip + 5]) == pytest.approx([10e3, 0.0, 0.0, 0.0, 10e3])
    assert (m["cooling_stage"].iloc[trip : trip + 5] == 1.0).all()
    assert list(m["airflow_fraction"].iloc[trip : trip + 5]) == pytest.approx([0.5] * 5)


def test_the_highest_supply_temperature_is_that_of_a_minute() -> None:
    season = two_tons(TEN_KW, reheat_by_the_clock(start=10.0, end=20.0))
    minutes = season.minutes("07-11")["supply_temperature_C"]
    assert list(season.hourly["supply_temperature_max_C"].iloc[24:48]) == list(
        minutes.resample("h").max()
    )


def test_strips_without_a_switch_never_trip() -> None:
    bare = ms.Strips(stages=["10 kW"], least_airflow=0.0)
    season = two_tons(bare, reheat_by_the_clock(start=10.0, end=20.0, airflow=0.3))
    assert season.meter.strips["trips"] == 0
    assert season.meter.kwh["reheat"] == pytest.approx(300.0)


def moving(state: State, seen: float, dt: float) -> Any:
    """The switch in moving air."""
    return limit_switch(state, unit(), seen, 1000.0, True, 22.0, dt)


def test_the_switch_in_still_air_by_hand() -> None:
    """5 kW: 1 K/s less what is lost with a time constant of 600 s, towards 22 + 600 degC."""
    state = REST._replace(limit_temperature=22.0)

    def still(state: State, dt: float) -> Any:
        return limit_switch(state, unit(), 22.0, 5000.0, False, 22.0, dt)

    warm = still(state, 30.0)
    assert warm.temperature == pytest.approx(22.0 + 600.0 * (1.0 - np.exp(-0.05)))
    assert (warm.opened, warm.share) == (0.0, 1.0)
    # To 82.2 °C: 60.2 K at 600/600 K/s, falling: 600 ln(600 / 539.8) = 63 s; 27 s of the rest are
    # over by 90 s.
    up = LIMIT - 22.0
    until = 600.0 * np.log(600.0 / (600.0 - up))
    hot = still(state, 90.0)
    assert hot.share == pytest.approx(until / 90.0)
    assert hot.opened == pytest.approx(180.0 - (90.0 - until))
    assert hot.temperature == pytest.approx(22.0 + up * np.exp(-(90.0 - until) / 600.0))
    # Open, it cools as slowly.
    after = limit_switch(
        state._replace(limit_temperature=LIMIT, strips_open=60.0), unit(), 22.0, 0.0, False, 22.0,
        60.0,
    )  # fmt: skip
    assert after.temperature == pytest.approx(22.0 + up * np.exp(-0.1))
    assert after.opened == 60.0


def test_the_switch_by_hand() -> None:
    """It lags by 30 s, opens above 82.2 °C (180 °F), closes after its time and below 67.2 °C."""
    state = REST._replace(limit_temperature=22.0)
    t, opened, _ = moving(state, 62.0, 30.0)
    assert t == pytest.approx(62.0 - 40.0 / np.e)
    assert opened == 0.0
    t, opened, _ = moving(state._replace(limit_temperature=77.0), 92.0, 60.0)
    assert opened == 180.0
    waiting = state._replace(limit_temperature=87.0, strips_open=180.0)
    assert moving(waiting, 22.0, 60.0).opened == 120.0
    # Time is over but it is still hot: open for another step; cooled, closed.
    hot = waiting._replace(strips_open=60.0)
    assert moving(hot, 66.0, 60.0).opened == 60.0
    assert moving(hot, 22.0, 60.0).opened == 0.0


def test_least_airflow_is_where_the_switch_just_holds() -> None:
    """Air of 95 °F (35 °C) and 60 cfm/kW: 82.2 °C (180 °F) at the switch."""
    at = unit()
    seen = 35.0 + at.strip_limit_rise * 1000.0 * at.strip_least_flow / (
        60.0 * CFM * air.STANDARD_DENSITY
    )
    assert seen == pytest.approx(LIMIT)


# --- Lockout ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hours", "months", "hour", "month", "locked"),
    [
        ([], [1, 12], 12.0, 7.0, False),
        ([14, 18], [1, 12], 13.99, 7.0, False),
        ([14, 18], [1, 12], 14.0, 7.0, True),
        ([14, 18], [1, 12], 18.0, 7.0, False),
        ([14, 18], [6, 9], 15.0, 5.0, False),
        ([14, 18], [6, 9], 15.0, 6.0, True),
        ([14, 18], [6, 9], 15.0, 9.0, True),
        ([14, 18], [6, 9], 15.0, 10.0, False),
        # Past midnight, past the new year.
        ([22, 6], [11, 2], 23.0, 12.0, True),
        ([22, 6], [11, 2], 5.9, 2.0, True),
        ([22, 6], [11, 2], 6.0, 2.0, False),
        ([22, 6], [11, 2], 5.0, 3.0, False),
        # A generator.
        ([0, 24], [1, 12], 0.0, 1.0, True),
        ([0, 24], [1, 12], 23.99, 12.0, True),
    ],
)
def test_when_strips_are_locked_out(
    hours: list[float], months: list[float], hour: float, month: float, locked: bool
) -> None:
    at = unit(lockout_hours=hours, lockout_months=months)
    assert locked_out(at, hour, month) == locked


def test_no_reheat_in_the_demand_window() -> None:
    m = day(
        ms.Strips(stages=["3 kW"], lockout_hours=[14.5, 18], lockout_months=[6, 9]),
        start=10.0, end=20.0,
    )  # fmt: skip
    hour = m.index.hour + m.index.minute / 60.0
    on = m["reheat_kWh"] > 0.0
    assert (on == ((hour >= 10.0) & (hour < 14.5)) | ((hour >= 18.0) & (hour < 20.0))).all()
    assert m["refused_strips_locked_out"].sum() == 1
    winter = day(
        ms.Strips(stages=["3 kW"], lockout_hours=[14.5, 18], lockout_months=[6, 9]),
        stretch("miami", 20, 1), start=10.0, end=20.0,
    )  # fmt: skip
    assert winter["refused_strips_locked_out"].sum() == 0


def test_on_a_generator_strips_neither_reheat_nor_back_up() -> None:
    strips = ms.Strips(stages=["5 kW"], lockout_hours=[0, 24])
    plant = machines(strips=strips, heating=ms.HeatPump(capacity=2500.0))
    season = ms.simulate(
        house(), plant, ms.strategies.temperature_only, stretch("sand_point", 10, 3), spin_up=0
    )
    assert season.meter.kwh["heat_pump"] > 0.0
    assert season.meter.kwh["backup_heat"] == 0.0
    assert season.meter.refused["strips_locked_out"] > 0


# --- Proportional strips ------------------------------------------------------------------------


@ms.strategy
def by_share(readings: Any, memory: Any, *, hold: ms.units.DegC = 23.0) -> Any:
    """Dries all the time; strips in proportion to what the room is below a point."""
    share = min(max((hold + 0.2 - readings.temperature) / 0.4, 0.0), 1.0)
    return ms.Calls(cooling=1.0, reheat=2.0 * share)


@ms.strategy
def by_stage(readings: Any, memory: Any, *, hold: ms.units.DegC = 23.0) -> Any:
    """The same on and off, a deadband of 0.6 K about the point."""
    if readings.temperature < hold - 0.3:
        memory[0] = 2.0
    elif readings.temperature > hold + 0.3:
        memory[0] = 0.0
    return ms.Calls(cooling=1.0, reheat=memory[0])


def test_proportional_strips_hold_the_room() -> None:
    """Within a band far narrower than staged strips can: by the minute over a day."""
    swing, kwh = {}, {}
    for name, strategy, proportional in (
        ("share", by_share, True), ("stages", by_stage, False),
    ):  # fmt: skip
        strips = ms.Strips(stages=["5 kW", "5 kW"], proportional=proportional)
        season = ms.simulate(
            house(), machines(strips=strips), strategy, stretch("miami", 340, 3), spin_up="1 day"
        )
        m = season.minutes("12-08")
        swing[name] = float(m["indoor_temperature_C"].max() - m["indoor_temperature_C"].min())
        kwh[name] = float(m["reheat_kWh"].sum())
        assert m["cooling_stage"].min() == 1.0
    print(f"swing {swing} K, reheat {kwh} kWh")
    assert swing["share"] < 0.4
    assert swing["stages"] > 2.0 * swing["share"]
    assert kwh["share"] == pytest.approx(kwh["stages"], rel=0.1)


def test_a_share_of_a_stage() -> None:
    at = unit(proportional=True, stage_delay="5 min", proof_time="30 s")
    assert sequence(1.5, 1.0, REST, at, POWERS, 60.0) == Bank(6500.0 * 0.5, 1.5, 1.5)
    moving = REST._replace(blower_time=60.0)
    assert sequence(0.3, 1.0, moving, at, POWERS, 60.0) == Bank(1500.0, 0.3, 0.3)


# --- Over the whole box -------------------------------------------------------------------------


@given(
    called=floats(0.0, 3.0), level=floats(0.0, 3.0), moved=floats(0.0, 500.0),
    delay=floats(0.0, 300.0), proof=floats(0.0, 300.0), dt=floats(1.0, 900.0),
)  # fmt: skip
def test_power_is_within_the_bank_and_does_not_jump(
    called: float, level: float, moved: float, delay: float, proof: float, dt: float
) -> None:
    at = unit(stage_delay=delay, proof_time=proof)
    whole = float(int(called + 0.5))
    state = REST._replace(strip_level=level, blower_time=moved)
    bank = sequence(whole, 1.0, state, at, POWERS, dt)
    assert 0.0 <= bank.power <= POWERS[: int(whole)].sum() + 1e-9
    assert 0.0 <= bank.on <= bank.level + 1e-9 <= whole + 1e-9
    # A little longer in the air is a little more heat: at most the bank for that time.
    later = sequence(whole, 1.0, state._replace(blower_time=moved + 0.1), at, POWERS, dt)
    assert -1e-6 <= later.power - bank.power <= POWERS.sum() * 0.1 / dt * 1.001 + 1e-6
