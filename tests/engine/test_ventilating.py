"""Ventilation that locks out, and that goes with the blower."""

from typing import Any

import attrs
import numpy as np
import pytest
from support.houses import house
from support.machines import machines, two_stage
from support.machines_at_a_point import SEA_LEVEL, one_step
from support.weathers import stretch

import moistsim as ms
from moistsim import air
from moistsim.engine import parameters
from moistsim.engine.coil import cool, stage_at

ROOM = (24.0, 0.5)
FAN = ms.Ventilation(kind="supply", airflow="90 cfm")


@pytest.mark.parametrize(
    ("lockout", "let_by", "held"),
    [
        ({"lockout_dew_point": "65 degF"}, (30.0, 0.49), (30.0, 0.51)),
        ({"lockout_above": "95 degF"}, (34.9, 0.3), (35.1, 0.3)),
        ({"lockout_below": "0 degF"}, (-17.6, 0.7), (-17.9, 0.7)),
    ],
)  # fmt: skip
def test_a_lockout_stops_the_fan(
    lockout: dict[str, str], let_by: tuple[float, float], held: tuple[float, float]
) -> None:
    """Dew point at 30 degC: 18.1 degC at 49 %, 18.8 at 51 % (65 degF is 18.3); each way by a hair."""
    machines = ms.Equipment(ventilation=attrs.evolve(FAN, **lockout))
    for outdoors, locked in ((let_by, 0.0), (held, 1.0)):
        _, step = one_step(machines, room=ROOM, outdoors=outdoors, natural=0.01, ventilation=1.0)
        assert step.ventilation_locked == locked
        assert (step.air_ventilation == 0.0) == (locked == 1.0)
        assert (step.ventilation_fan == 0.0) == (locked == 1.0)
        # Not asked for, nothing is held back.
        _, step = one_step(machines, room=ROOM, outdoors=outdoors, ventilation=0.0)
        assert step.ventilation_locked == step.air_ventilation == 0.0
    # What leaks alone is left.
    _, step = one_step(machines, room=ROOM, outdoors=held, natural=0.01, ventilation=1.0)
    w = air.humidity_ratio_at(*held, SEA_LEVEL)
    density = air.dry_air_density(held[0], w, SEA_LEVEL)
    assert step.air_infiltration == pytest.approx(0.01 * density, rel=1e-12)


@ms.strategy
def nothing(readings: Any, memory: Any) -> Any:
    """Calls for nothing but ventilation."""
    return ms.Calls()


def season(vent: ms.Ventilation, strategy: Any = ms.strategies.temperature_only) -> ms.Season:
    """Two mild weeks in Greensboro."""
    result = ms.simulate(
        house(), machines(ventilation=vent), strategy, stretch("greensboro", 120, 21),
        start="05-08", spin_up="6 day",
    )  # fmt: skip
    assert (result.balance["relative"].abs() <= 1e-9).all()
    return result


def test_the_meter_gives_the_mean_rate_that_is_left() -> None:
    """The hours locked out are those in which the air is humid, and the rate falls by their share."""
    free, locked = season(FAN), season(attrs.evolve(FAN, lockout_dew_point="55 degF"))
    rate, left = (s.meter.ventilation["mean_rate_m3_s"] for s in (free, locked))
    hours = locked.meter.ventilation["locked_h"]
    print(f"{rate * 1000:.2f} L/s, {left * 1000:.2f} with {hours:.0f} h of {len(free.hourly)} out")
    assert rate == pytest.approx(90.0 * 0.000471947443, rel=1e-6)
    assert 10.0 < hours < len(free.hourly) - 10.0
    assert left == pytest.approx(rate * (1.0 - hours / len(free.hourly)), rel=1e-9)
    assert free.meter.ventilation["locked_h"] == 0.0
    assert locked.meter.humidity["mean_dew_point_C"] < free.meter.humidity["mean_dew_point_C"]


CENTRAL = ms.Ventilation(kind="central", airflow="180 cfm", least_run="20 min")


def test_a_central_duct_goes_with_the_blower() -> None:
    """No air without the blower, its share of air at lower airflow, and its rule each clock hour."""
    no_rule = attrs.evolve(CENTRAL, least_run=0.0)
    plant = machines(ventilation=no_rule)
    point: dict[str, Any] = {"room": ROOM, "outdoors": (20.0, 0.6), "ventilation": 1.0}
    for fan, airflow, share in (
        (0.0, 0.0, 0.0),
        (1.0, 0.5, 0.5),
        (1.0, 1.0, 1.0),
        (1.0, 0.0, 620.0 / 900.0),
    ):
        _, step = one_step(plant, **point, fan=fan, airflow=airflow)
        assert step.ventilation_volume == pytest.approx(share * 180.0 * 0.000471947443, rel=1e-6)
    ruled, free = season(CENTRAL), season(no_rule)
    assert ruled.hourly["indoor_fan_h"].min() >= 1.0 / 3.0 - 1e-9
    assert free.hourly["indoor_fan_h"].min() == 0.0
    # What cooling runs anyway is not run again: no hour of both rule and cooling has more than
    # the larger of the two, but for a compressor that starts after the blower was made up for.
    short = ruled.hourly["cooling_stage_1_h"] + ruled.hourly["cooling_stage_2_h"] == 0.0
    assert short.any()
    heating = ruled.hourly["heat_pump_h"] > 0.0
    alone = ruled.hourly.loc[short & ~heating, "indoor_fan_h"].to_numpy()
    assert alone == pytest.approx(1.0 / 3.0, abs=1e-9)


def test_a_supply_fan_for_part_of_the_hour_leaves_the_blower_alone() -> None:
    """Its own least run is its own: the blower of the air handler stays off."""
    fan = ms.Ventilation(kind="supply", airflow="90 cfm", least_run="55 min")
    ran = season(fan, nothing)
    assert ran.hourly["indoor_fan_h"].sum() == 0.0
    assert ran.hourly["air_ventilation_kg"].min() > 0.0


def test_the_longer_of_circulation_and_central_duct_holds() -> None:
    """30 minutes of circulation and 20 of the duct are 30 minutes, and the other way round."""
    for circulation, least in (("30 min", "20 min"), ("20 min", "30 min")):
        unit = two_stage(fan="circulation", circulation=circulation)
        plant = machines(cooling=unit, ventilation=attrs.evolve(CENTRAL, least_run=least))
        ran = ms.simulate(house(), plant, nothing, stretch("miami", 130, 2), spin_up=0)
        assert ran.hourly["indoor_fan_h"].to_numpy() == pytest.approx(0.5, abs=1e-9)


def test_made_up_at_the_end_of_the_hour() -> None:
    """Blower by the control for 8 minutes from the hour's tenth: the other 12 at its end."""

    @ms.strategy
    def eight_minutes(readings: Any, memory: Any) -> Any:
        minute = 60.0 * (readings.hour % 1.0)
        return ms.Calls(fan=1.0 if 10.0 <= minute < 18.0 else 0.0)

    fan = season(CENTRAL, eight_minutes).minutes("05-12")["indoor_fan_h"].to_numpy() > 0.0
    for hour in fan.reshape(24, 60):
        assert np.flatnonzero(hour).tolist() == [*range(10, 18), *range(48, 60)]


def test_nothing_is_owed_while_the_damper_is_shut() -> None:
    """Locked out all the time, the blower is not made to run."""
    shut = season(attrs.evolve(CENTRAL, lockout_above="-30 degC"))
    free = season(attrs.evolve(CENTRAL, least_run=0.0, lockout_above="-30 degC"))
    assert shut.hourly.equals(free.hourly)
    assert shut.meter.ventilation["mean_rate_m3_s"] == 0.0
    assert shut.meter.ventilation["locked_h"] == pytest.approx(len(shut.hourly))


@pytest.mark.parametrize(("control", "kind"), [("bypass", 0.0), ("supply rests", 1.0)])
def test_frost_control_in_a_winter(control: str, kind: float) -> None:
    """Both kinds of frost control close the balance; a bypass costs heat.

    Both close. A bypass costs its heat. A resting supply lets the exhaust unbalance the house,
    which then leaks less besides, so that the bill need not rise.
    """
    vent = ms.Ventilation(kind="balanced", airflow="90 cfm", sensible_recovery=0.75)
    runs = [
        ms.simulate(
            house(), machines(ventilation=v), ms.strategies.temperature_only,
            stretch("sand_point", 8, 14), spin_up="5 day",
        )
        for v in (vent, attrs.evolve(vent, frost_limit=2.0, frost_control=control))
    ]  # fmt: skip
    heat = [s.hourly["heat_ventilation_kWh"].sum() for s in runs]
    kwh = [s.meter.total_kwh for s in runs]
    print(
        f"{control}: ventilation {heat[0]:.0f} to {heat[1]:.0f} kWh, bill {kwh[0]:.0f} to {kwh[1]:.0f}"
    )
    assert (runs[1].balance["relative"].abs() <= 1e-9).all()
    assert heat[1] < heat[0]
    assert kwh[1] > kwh[0] or kind == 1.0
    leaks = [s.hourly["air_infiltration_kg"].sum() for s in runs]
    assert (leaks[1] < 0.98 * leaks[0]) == (kind == 1.0)


def test_the_coil_of_a_central_duct_meets_the_mixed_air() -> None:
    """The coil of a central duct meets return air mixed with outdoor air.

    A tenth of outdoor air at 33 degC, 70 % in room air of 24 degC, 50 %: by hand, h and W mix by
    mass of dry air, and the unit gives what its curves say at the wet bulb of that.
    """
    unit = ms.Cooling(stages=[ms.Stage(capacity="3 ton")], start_up_time=0.0)
    flow = unit.full_airflow
    outdoors, pressure = (33.0, 0.7), SEA_LEVEL
    w, w_out = (air.humidity_ratio_at(*x, pressure) for x in (ROOM, outdoors))
    mass = 0.1 * flow * air.dry_air_density(33.0, w_out, pressure) / (flow * air.STANDARD_DENSITY)
    w_mixed = w + mass * (w_out - w)
    h = (1.0 - mass) * air.enthalpy(24.0, w) + mass * air.enthalpy(33.0, w_out)
    t_mixed = air.temperature_at_enthalpy(h, w_mixed)
    stage = stage_at(parameters.stage_table(unit), 0.0)
    dry_air = flow * air.STANDARD_DENSITY
    by_hand = cool(
        stage, t_mixed, w_mixed, air.wet_bulb(t_mixed, w_mixed, pressure, 17.0), pressure, 33.0,
        dry_air, 10.0,
    )  # fmt: skip
    got = {}
    for share in (0.0, 0.1):
        vent = ms.Ventilation(kind="central", airflow=share * flow, least_run="1 min")
        _, got[share] = one_step(
            ms.Equipment(cooling=unit, ventilation=vent), room=ROOM, outdoors=outdoors, cooling=1.0,
            state={"cooling_time": 1e5, "heating_time": 1e5},
        )  # fmt: skip
    assert got[0.1].coil_total == pytest.approx(by_hand.capacity, rel=1e-9)
    assert -got[0.1].water_coil == pytest.approx(dry_air * (w_mixed - by_hand.w_leaving), rel=1e-9)
    # Wetter air: more of it is taken as water.
    assert got[0.1].water_coil < 1.1 * got[0.0].water_coil < 0.0
    season_of_duct = season(CENTRAL, ms.strategies.overcooling)
    assert season_of_duct.attribution().residual["relative"].abs().max() <= 1e-9
