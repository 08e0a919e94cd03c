"""The dehumidifier by itself: humidistat, bucket, inlets, frost, filter."""

from typing import Any

import attrs
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.houses import house
from support.machines import machines
from support.machines_at_a_point import SEA_LEVEL, one_step
from support.weathers import stretch

import moistsim as ms
from moistsim import air
from moistsim.engine import parameters
from moistsim.engine.drying import MOST_DEFROST, Inlet, defrosting, dry

PORTABLE = ms.Dehumidifier(capacity="50 pint/day", rating="18.3 degC portable")
ROOM, OUTDOORS = (24.0, 0.55), (28.0, 0.75)


def alone(dryer: ms.Dehumidifier, **other: Any) -> ms.Equipment:
    """A dehumidifier and nothing else."""
    return ms.Equipment(dehumidifier=dryer, standby_power=0.0, **other)


def week(dryer: ms.Dehumidifier, strategy: ms.Strategy, **other: Any) -> ms.Season:
    """A July week in Greensboro."""
    return ms.simulate(
        house(), machines(dehumidifier=dryer, **other), strategy, stretch("greensboro", 190, 14),
        start="07-16", spin_up="6 day",
    )  # fmt: skip


def closes(season: ms.Season) -> bool:
    return bool((season.balance["relative"].abs() <= 1e-9).all())


# --- Its own humidistat -------------------------------------------------------------------------


@pytest.mark.parametrize("setpoint", [45.0, 50.0, 55.0])
def test_own_humidistat_keeps_its_deadband(setpoint: float) -> None:
    """Through a control that never calls for it. It runs until the reading is 2 % below."""
    dryer = ms.Dehumidifier(capacity="120 pint/day", airflow="300 cfm", humidistat=setpoint)
    season = week(dryer, ms.strategies.temperature_only)
    assert closes(season)
    sensed = season.hourly["sensed_rh_pct"]
    print(
        f"{setpoint} %: reads {sensed.mean():.1f} % ({sensed.min():.1f} to {sensed.max():.1f}), "
        f"{season.meter.runtime_h['dehumidifier']:.0f} h, {season.meter.starts['dehumidifier']}"
    )
    assert season.meter.starts["dehumidifier"] > 10
    assert sensed.max() < setpoint + 4.0
    minutes = season.minutes("07-18")
    on = minutes["dehumidifier_h"].to_numpy() > 0.0
    reads = minutes["sensed_rh_pct"].to_numpy()
    begins, ends = np.flatnonzero(~on[:-1] & on[1:]) + 1, np.flatnonzero(on[:-1] & ~on[1:]) + 1
    assert len(begins) and len(ends)
    # The humidistat reads half a step on; the reading of the step before is that close to it.
    assert reads[begins - 1].min() > setpoint + 2.0 - 0.6
    assert reads[ends - 1].max() < setpoint - 2.0 + 0.6


def test_own_humidistat_is_deaf_to_the_control() -> None:
    """A control that always calls, and one that never does: the same bits."""

    @ms.strategy
    def always(readings: Any, memory: Any) -> Any:
        return ms.Calls(dehumidifier=1.0)

    @ms.strategy
    def never(readings: Any, memory: Any) -> Any:
        return ms.Calls()

    dryer = attrs.evolve(PORTABLE, humidistat=40.0)
    asked, not_asked = (week(dryer, s) for s in (always, never))
    assert asked.hourly.equals(not_asked.hourly)
    assert asked.meter.starts["dehumidifier"] > 0
    # Without its own, the control is heard.
    heard = week(PORTABLE, always)
    assert heard.meter.runtime_h["dehumidifier"] == pytest.approx(len(heard.hourly), abs=0.01)


@pytest.mark.parametrize("minimum", ["9 min", "20 min"])
def test_own_humidistat_keeps_the_minimum_times(minimum: str) -> None:
    dryer = attrs.evolve(
        PORTABLE, humidistat=52.0, deadband=0.2, minimum_on=minimum, minimum_off=minimum
    )
    on = week(dryer, ms.strategies.temperature_only).minutes("07-18")["dehumidifier_h"] > 0.0
    lengths = on.groupby((on != on.shift()).cumsum()).size().iloc[1:-1]
    assert len(lengths) > 4
    assert lengths.min() >= float(minimum.split()[0])


def test_off_cycle_fan_heats_the_room_and_is_standby() -> None:
    off = one_step(
        alone(attrs.evolve(PORTABLE, off_cycle_fan_power=40.0, standby_power=3.0)),
        room=ROOM, outdoors=OUTDOORS,
    )[1]  # fmt: skip
    assert off.standby == off.heat_standby == 43.0
    assert off.dehumidifier == 0.0


# --- Bucket -------------------------------------------------------------------------------------


def test_a_bucket_fills_stops_and_is_emptied() -> None:
    """5 kg, emptied at 18:00, under a machine that is called without end."""

    @ms.strategy
    def always(readings: Any, memory: Any) -> Any:
        return ms.Calls(dehumidifier=1.0)

    bucket = attrs.evolve(PORTABLE, bucket=5.0, emptied_at=18.0)
    season = week(bucket, always)
    hourly = season.hourly
    assert closes(season)
    removed = -hourly["water_dehumidifier_kg"]
    # From emptying to emptying: a bucket, and no more over it than a minute brings.
    day = (hourly.index - np.timedelta64(18, "h")).floor("D")
    by_day = removed.groupby(day).sum().iloc[1:-1]
    print(f"{by_day.round(3).tolist()} kg, full {hourly['bucket_full_h'].sum():.1f} h")
    assert by_day.min() >= 5.0
    assert by_day.max() < 5.0 + 60.0 * 2.0 * PORTABLE.capacity
    full = hourly["bucket_full_h"] > 0.999
    assert full.any() and not hourly["dehumidifier_h"][full].any()
    assert season.meter.refused["bucket_full"] == len(by_day) + 1
    # Emptied by the clock: the hour of 17 ends full, that of 18 does not.
    ends = hourly["bucket_kg"].groupby(hourly.index.hour).max()
    assert ends[17] >= 5.0 and ends[18] < 1.5
    assert hourly["bucket_kg"].groupby(hourly.index.hour).min()[17] >= 5.0


@pytest.mark.parametrize("emptied_at", [0.0, 6.5, 23.99])
@pytest.mark.parametrize("step", ["20 s", "60 s", "900 s"])
def test_a_bucket_is_emptied_once_a_day_at_any_step(emptied_at: float, step: str) -> None:
    from moistsim.engine.drying import bucket_after

    dryer = parameters.dehumidifier_parameters(
        attrs.evolve(PORTABLE, bucket=5.0, emptied_at=emptied_at)
    )
    plant = parameters.plant(house(), alone(PORTABLE), ms.strategies.temperature_only, 60.0)
    rest = parameters.State(*parameters.initial_state(plant, 24.0, 0.5, SEA_LEVEL))
    dt = float(step.split()[0])
    steps = round(3600.0 / dt)
    emptied = [
        h
        for h in range(24)
        for k in range(steps)
        # As the loop makes it: the middle of the step.
        if bucket_after(
            dryer, rest._replace(bucket=4.0), 0.0, h + 0.5 * (2.0 * (k + 0.5) / steps), dt
        )
        == 0.0
    ]
    assert emptied == [int(emptied_at)]


# --- Inlets -------------------------------------------------------------------------------------


def test_return_and_supply_are_the_zone_where_there_is_one() -> None:
    ducted = [
        week(
            attrs.evolve(PORTABLE, inlet=inlet, outlet=outlet),
            ms.strategies.with_dehumidifier(target_rh=52),
        ).hourly
        for inlet, outlet in (("zone", "zone"), ("return", "supply"))
    ]
    assert ducted[0].equals(ducted[1])
    assert ducted[0]["dehumidifier_h"].sum() > 10.0


def test_a_machine_that_draws_outdoor_air_brings_it_in() -> None:
    """Alone it is a supply fan: infiltration adds in quadrature, 0.03 and 0.04 m3/s are 0.05."""
    w_out = air.humidity_ratio_at(*OUTDOORS, SEA_LEVEL)
    density = air.dry_air_density(28.0, w_out, SEA_LEVEL)
    # Of standard air, so that 0.04 m3/s of outdoor air go through.
    dryer = ms.Dehumidifier(capacity=2e-4, airflow=0.04 * density / 1.204, inlet="outdoors")
    points: dict[str, Any] = {"room": ROOM, "outdoors": OUTDOORS, "natural": 0.03}
    _, step = one_step(alone(dryer), **points, dehumidifier=1.0)
    total = step.air_ventilation + step.air_infiltration
    assert step.air_ventilation == pytest.approx(0.04 * density, rel=1e-12)
    assert total == pytest.approx(0.05 * density, rel=1e-12)
    assert step.water_ventilation == pytest.approx(0.04 * density * w_out, rel=1e-12)
    _, resting = one_step(alone(dryer), **points)
    assert resting.air_ventilation == 0.0
    assert resting.air_infiltration == pytest.approx(0.03 * density, rel=1e-12)
    # Beside an exhaust fan of 0.06 m3/s the two balance as far as 0.04 goes: 0.04 + hypot(3, 2).
    exhaust = alone(dryer, ventilation=ms.Ventilation(airflow=0.06))
    _, step = one_step(exhaust, **points, dehumidifier=1.0)
    total = step.air_ventilation + step.air_infiltration
    assert total / density == pytest.approx(0.04 + np.hypot(0.03, 0.02), rel=1e-12)
    # Beside a supply fan of 0.06 m3/s they add: hypot(3, 10).
    supply = alone(dryer, ventilation=ms.Ventilation(airflow=0.06, kind="supply"))
    _, step = one_step(supply, **points, dehumidifier=1.0)
    total = step.air_ventilation + step.air_infiltration
    assert total / density == pytest.approx(np.hypot(0.03, 0.1), rel=1e-12)


@pytest.mark.parametrize("inlet", ["outdoors", "ventilation"])
@pytest.mark.parametrize("kind", ["supply", "balanced"])
def test_drying_outdoor_air_closes_and_dries(inlet: str, kind: str) -> None:
    vent = ms.Ventilation(kind=kind, airflow="90 cfm")
    dryer = ms.Dehumidifier(capacity="90 pint/day", inlet=inlet, humidistat=50.0)
    dried = week(dryer, ms.strategies.temperature_only, ventilation=vent)
    plain = week(
        attrs.evolve(dryer, inlet="zone"), ms.strategies.temperature_only, ventilation=vent
    )
    none = ms.simulate(
        house(), machines(dehumidifier=None, ventilation=vent), ms.strategies.temperature_only,
        stretch("greensboro", 190, 14), start="07-16", spin_up="6 day",
    )  # fmt: skip
    efficiency = [
        s.meter.water_kg["dehumidifier"] / s.meter.kwh["dehumidifier"] for s in (dried, plain)
    ]
    dew = [s.meter.humidity["mean_dew_point_C"] for s in (dried, plain, none)]
    print(f"{inlet} {kind}: {efficiency[0]:.2f} for {efficiency[1]:.2f} kg/kWh, dew points {dew}")
    assert closes(dried) and closes(plain)
    # Wetter air gives its water more easily.
    assert efficiency[0] > efficiency[1]
    assert dew[2] > dew[1]
    if inlet == "ventilation":
        assert dew[2] > dew[0]


def test_frost_limit_is_that_of_the_inlet() -> None:
    """A warm room does not help a machine that draws air of 5 degC."""
    for inlet, refused in (("zone", 0.0), ("outdoors", 1.0)):
        _, step = one_step(
            alone(attrs.evolve(PORTABLE, inlet=inlet)), room=ROOM, outdoors=(5.0, 0.9),
            dehumidifier=1.0,
        )  # fmt: skip
        assert step.refused_dehumidifier_cold == refused
        assert step.dehumidifier_on == 1.0 - refused


# --- Frost and filter ---------------------------------------------------------------------------


def test_defrost_rises_smoothly_from_none_to_half() -> None:
    dryer = parameters.dehumidifier_parameters(
        attrs.evolve(PORTABLE, defrost_below=16.0, low_inlet_limit=6.0)
    )
    t = np.arange(0.0, 25.0, 0.1)
    share = np.array([defrosting(dryer, x) for x in t])
    assert (share[t >= 16.0] == 0.0).all()
    assert share[t <= 6.0] == pytest.approx(MOST_DEFROST)
    assert (np.diff(share) <= 0.0).all()
    assert np.abs(np.diff(share)).max() < 0.01
    assert defrosting(dryer, 11.0) == pytest.approx(0.5 * MOST_DEFROST)


def test_defrost_takes_water_and_less_power() -> None:
    """Half-way, at 11 degC: a quarter of the time; in it 15 % of the power and no water."""
    cold: dict[str, Any] = {"room": (11.0, 0.8), "outdoors": OUTDOORS, "dehumidifier": 1.0}
    # With so much air that frost does not limit the water as well.
    plain = attrs.evolve(PORTABLE, low_inlet_limit=6.0, airflow="500 cfm")
    _, without = one_step(alone(plain), **cold)
    _, step = one_step(alone(attrs.evolve(plain, defrost_below=16.0)), **cold)
    assert step.dehumidifier_defrost == pytest.approx(0.25)
    assert step.water_dehumidifier / without.water_dehumidifier == pytest.approx(0.75)
    assert step.dehumidifier / without.dehumidifier == pytest.approx(1.0 - 0.25 * 0.85)


def test_a_fouled_filter_takes_water_and_efficiency() -> None:
    """0.7 of the air: 0.7^0.3 = 0.899 of the water at 0.7^0.1 = 0.965 of the power."""
    point: dict[str, Any] = {"room": ROOM, "outdoors": OUTDOORS, "dehumidifier": 1.0}
    _, clean = one_step(alone(PORTABLE), **point)
    _, fouled = one_step(alone(attrs.evolve(PORTABLE, filter_factor=0.7)), **point)
    assert fouled.water_dehumidifier / clean.water_dehumidifier == pytest.approx(0.899, abs=5e-4)
    assert fouled.dehumidifier / clean.dehumidifier == pytest.approx(0.965, abs=5e-4)


def test_the_pump_is_paid_while_it_runs() -> None:
    point: dict[str, Any] = {"room": ROOM, "outdoors": OUTDOORS}
    pumped = alone(attrs.evolve(PORTABLE, pump_power=30.0))
    on, off = (
        [one_step(m, **point, dehumidifier=c)[1] for m in (pumped, alone(PORTABLE))]
        for c in (1.0, 0.0)
    )
    assert on[0].dehumidifier - on[1].dehumidifier == pytest.approx(30.0)
    assert on[0].water_dehumidifier == on[1].water_dehumidifier
    assert off[0].standby == off[1].standby


@given(
    t=st.floats(-20.0, 45.0), rh=st.floats(0.0, 1.0),
    capacity=st.floats(1e-4, 8e-4), rating=st.sampled_from(["26.7 degC", "18.3 degC portable"]),
    defrost=st.one_of(st.none(), st.floats(13.0, 18.0)), clean=st.floats(0.5, 1.0),
)  # fmt: skip
def test_no_air_leaves_drier_than_frost(
    t: float, rh: float, capacity: float, rating: str, defrost: float | None, clean: float
) -> None:
    """Leaving air is never drier than air at freezing, and results have no jumps.

    Finite, positive, and never below the humidity ratio of air at freezing, or that it had; and
    continuous: no step above 1 % of the rating per 0.1 K, but where frost sets the water.
    """
    dryer = parameters.dehumidifier_parameters(
        ms.Dehumidifier(
            capacity=capacity, airflow="600 cfm", rating=rating, defrost_below=defrost,
            filter_factor=clean,
        )
    )  # fmt: skip
    w = air.humidity_ratio_at(t, rh, SEA_LEVEL)
    frost = air.saturation_humidity_ratio(0.0, SEA_LEVEL)

    def at(t: float) -> Any:
        w = air.humidity_ratio_at(t, rh, SEA_LEVEL)
        return dry(dryer, 1.0, Inlet(t, w, air.enthalpy(t, w), 0.0), SEA_LEVEL)

    here, near = at(t), at(t + 0.1)
    assert 0.0 <= here.water < np.inf and 0.0 < here.power < np.inf
    assert here.humidity_ratio >= min(w, frost) - 1e-12
    if min(here.humidity_ratio, near.humidity_ratio) > frost + 1e-9:
        assert abs(near.water - here.water) <= 0.01 * dryer.water
    assert abs(near.power - here.power) <= 0.01 * dryer.power


# --- The step -----------------------------------------------------------------------------------


def test_halving_the_step_moves_little() -> None:
    dryer = attrs.evolve(PORTABLE, humidistat=52.0)
    vent = ms.Ventilation(kind="central", airflow="180 cfm", least_run="20 min")
    coarse, fine = (
        ms.simulate(
            house(), machines(dehumidifier=dryer, ventilation=vent),
            ms.strategies.temperature_only, stretch("greensboro", 120, 120), step=step,
        ).meter
        for step in ("60 s", "30 s")
    )  # fmt: skip
    kwh = abs(fine.total_kwh / coarse.total_kwh - 1.0)
    water = abs(fine.water_kg.sum() / coarse.water_kg.sum() - 1.0)
    starts = [m.starts["dehumidifier"] for m in (coarse, fine)]
    print(f"kWh {100 * kwh:.2f} %, water {100 * water:.2f} %, starts {starts}")
    assert kwh < 0.005 and water < 0.005
    assert abs(starts[1] / starts[0] - 1.0) < 0.03
