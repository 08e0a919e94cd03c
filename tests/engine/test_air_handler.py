"""The machine's own fan settings and the rest of a frosted coil, minute by minute."""

from itertools import groupby
from typing import Any

import numpy as np
import pandas as pd
import pytest
from support.houses import house
from support.machines import machines, two_stage
from support.weathers import stretch

import moistsim as ms


def day(**changes: Any) -> pd.DataFrame:
    """A summer day by the minute, cooled by temperature."""
    season = ms.simulate(
        house(), machines(cooling=two_stage(**changes)), ms.strategies.temperature_only,
        stretch("miami", 190, 3), spin_up="1 day",
    )  # fmt: skip
    assert (season.balance["relative"].abs() <= 1e-9).all()
    return season.minutes("07-11")


def rests(minutes: pd.DataFrame) -> list[list[float]]:
    """Airflow by the minute of each whole rest of the compressor, the minute before it first."""
    groups = [
        (on, list(group))
        for on, group in groupby(
            zip(minutes["cooling_stage"], minutes["airflow_fraction"], strict=True),
            key=lambda row: row[0] > 0.0,
        )
    ]
    return [
        [before[1][-1][1], *(flow for _, flow in rest[1])]
        for before, rest in zip(groups[:-1], groups[1:-1], strict=False)
        if not rest[0]
    ]


@pytest.mark.parametrize(("fan", "idle"), [("auto", 0.0), ("on", 0.4)])
@pytest.mark.parametrize("delay", [0.0, 30.0, 60.0, 90.0, 180.0])
def test_the_fan_runs_through_its_delay_and_then_follows_its_switch(
    delay: float, fan: str, idle: float
) -> None:
    """A delay that ends within a minute is a share of that minute."""
    found = rests(day(fan_off_delay=delay, fan=fan, fan_airflow=0.4))
    assert len(found) > 10
    for before, *flows in found:
        assert before > 0.5
        for minute, flow in enumerate(flows):
            share = min(max(delay / 60.0 - minute, 0.0), 1.0)
            assert flow == pytest.approx(idle + share * (before - idle), abs=1e-12)


@pytest.mark.parametrize("delay", [30.0, 90.0])
def test_part_of_a_minute_costs_part_of_its_power_and_time(delay: float) -> None:
    """Energy and time of the blower in the rest are the delay's at the speed of the run."""
    minutes = day(fan_off_delay=delay)
    stops = minutes["cooling_stage"].shift(1, fill_value=0.0).gt(0.0) & minutes["cooling_stage"].eq(
        0.0
    )
    resting = minutes[minutes["cooling_stage"] == 0.0]
    assert stops.sum() > 10
    assert resting["indoor_fan_h"].sum() * 3600.0 == pytest.approx(delay * stops.sum())
    speeds = minutes["airflow_fraction"].shift(1)[stops]
    watts = 0.42 * 900.0 * speeds**3
    assert resting["indoor_fan_kWh"].sum() * 3.6e6 == pytest.approx(delay * watts.sum())
    assert resting["water_reevaporated_kg"].sum() > 0.0


def test_the_same_delay_evaporates_the_same_at_any_step() -> None:
    """90 s as six steps of 15 s, or as one and a half of 60 s: within 1 % of the water."""
    back = []
    for step in ("15 s", "60 s"):
        season = ms.simulate(
            house(), machines(cooling=two_stage(fan_off_delay="90 s", off_cycle_airflow=0.0)),
            ms.strategies.temperature_only, stretch("miami", 190, 6), spin_up="1 day", step=step,
        )  # fmt: skip
        starts = season.hourly[["cooling_stage_1_starts", "cooling_stage_2_starts"]].sum().iloc[0]
        back.append(season.hourly["water_reevaporated_kg"].sum() / starts)
    print(f"kg a stop: {back[0]:.4f} by 15 s, {back[1]:.4f} by 60 s")
    assert back[1] == pytest.approx(back[0], rel=0.02)


def winter(**changes: Any) -> pd.DataFrame:
    """A winter day by the minute, heated by a furnace."""
    furnace = ms.Furnace(capacity="45000 Btu/h", airflow=0.8, **changes)
    season = ms.simulate(
        house(), machines(heating=None, strips=None, furnace=furnace),
        ms.strategies.temperature_only, stretch("greensboro", 10, 3), spin_up="1 day",
    )  # fmt: skip
    assert (season.balance["relative"].abs() <= 1e-9).all()
    return season.minutes(f"{season.hourly.index[-1]:%m-%d}")


@pytest.mark.parametrize("delay", [0.0, 90.0, 120.0])
def test_a_furnace_has_its_own_delay(delay: float) -> None:
    """The blower runs on at the heating speed, for the furnace's delay and not the coil's."""
    minutes = winter(fan_off_delay=delay)
    burning = minutes["furnace_h"] > 0.0
    stops = burning.shift(1, fill_value=False) & ~burning
    assert stops.sum() > 3
    after = minutes[~burning]
    assert after["indoor_fan_h"].sum() * 3600.0 == pytest.approx(delay * stops.sum(), abs=delay)
    assert after["airflow_fraction"].max() == pytest.approx(0.8 if delay else 0.0)


def test_circulation_makes_up_what_the_hour_lacks() -> None:
    """40 minutes of each clock hour at the fan-only airflow; minutes that cooling ran count."""
    minutes = day(fan="circulation", circulation="40 min", fan_airflow=0.5)
    by_hour = minutes.groupby(minutes.index.hour)
    ran = 60.0 * by_hour["indoor_fan_h"].sum()
    cooled = 60.0 * day()["indoor_fan_h"].groupby(minutes.index.hour).sum()
    assert (ran >= 40.0 - 1e-9).all()
    assert ran.min() < 41.0
    assert (cooled < 35.0).any()  # hours in which something was made up
    alone = minutes[(minutes["cooling_stage"] == 0.0) & (minutes["airflow_fraction"] == 0.5)]
    assert len(alone) > 30
    assert (alone["indoor_fan_kWh"] * 60e3).to_numpy() == pytest.approx(47.25)
    assert alone["water_reevaporated_kg"].sum() > 0.0
    # Made up at the end of the hour, unless cooling ends it.
    for _, hour in minutes.groupby(minutes.index.hour):
        fan = hour["airflow_fraction"].to_numpy() > 0.0
        first = int(np.flatnonzero(hour["airflow_fraction"].to_numpy() == 0.5)[0]) if (
            hour["airflow_fraction"] == 0.5
        ).any() else 60  # fmt: skip
        assert fan[first:].all()


def test_the_idling_fan_is_metered_by_the_fan_law() -> None:
    """0.42 W/cfm x 900 cfm x 0.5³ = 47.25 W, which goes into the room's air."""
    minutes = day(fan="on", fan_airflow=0.5, fan_off_delay=0.0)
    resting = minutes[minutes["airflow_fraction"] == 0.5]
    assert len(resting) > 100
    assert (resting["indoor_fan_kWh"] * 60e3).to_numpy() == pytest.approx(47.25)
    assert (resting["indoor_fan_h"] * 60.0).to_numpy() == pytest.approx(1.0)
    assert resting["water_reevaporated_kg"].sum() > 0.0


def test_the_blower_draws_its_whole_power_from_the_first_minute_of_a_run() -> None:
    """0.42 W/cfm x 900 cfm x flow³ in every minute; the start-up ramp is the compressor's alone."""
    minutes = day(start_up_time="90 s", fan_off_delay=0.0)
    running = minutes[minutes["cooling_stage"] > 0.0]
    assert len(running) > 100
    watts = 378.0 * running["airflow_fraction"] ** 3
    assert (running["indoor_fan_kWh"] * 60e3).to_numpy() == pytest.approx(watts.to_numpy())


def test_a_call_for_the_fan_comes_before_its_settings() -> None:
    @ms.strategy
    def fan_at_70(readings: Any, memory: Any) -> Any:
        return ms.Calls(fan=1.0, airflow=0.7)

    season = ms.simulate(
        house(), machines(cooling=two_stage(fan="on", fan_airflow=0.4)), fan_at_70,
        stretch("miami", 190, 3), spin_up=0,
    )  # fmt: skip
    assert season.hourly["airflow_fraction"].to_numpy() == pytest.approx(0.7)


@pytest.mark.parametrize("fan", ["auto", "on"])
def test_a_frosted_coil_rests_and_its_minutes_are_counted(fan: str) -> None:
    """A limit far above freezing stands in for frost: one minute of it, then ten of rest."""
    minutes = day(frost_limit=13.0, defrost_time="10 min", fan=fan)
    frost = minutes["frost_h"] > 0.0
    running = minutes["cooling_stage"] > 0.0
    spans = [list(group) for _, group in groupby(zip(frost, running, strict=True), lambda r: r[0])]
    whole = [span for span in spans[1:-1] if span[0][0]]
    assert len(whole) > 10
    for span in whole:
        # Called as soon as it is clear, the coil frosts again.
        assert [on for _, on in span] == ([True] + [False] * 10) * (len(span) // 11)
    assert minutes["refused_coil_frost"].sum() >= len(whole)
    assert day()["frost_h"].sum() == 0.0


def test_a_call_for_the_fan_alone_runs_it_at_the_speed_of_stage_1() -> None:
    @ms.strategy
    def fan_alone(readings: Any, memory: Any) -> Any:
        return ms.Calls(fan=1.0)

    season = ms.simulate(house(), machines(), fan_alone, stretch("miami", 190, 3), spin_up=0)
    assert season.hourly["airflow_fraction"].to_numpy() == pytest.approx(620.0 / 900.0)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        (
            {"fan_airflow": 0.1},
            "Cooling.fan_airflow: 0.1 is too small. Use a fraction from 0.3 to 1.",
        ),
        ({"fan": "always"}, "Cooling.fan: cannot use 'always'. Use one of auto, on, circulation."),
        (
            {"circulation": "70 min"},
            "Cooling.circulation: '70 min' is too large. Use a time above 0 and up to 60 min.",
        ),
        (
            {"fan_off_delay": "15 min"},
            "Cooling.fan_off_delay: '15 min' is too large. Use a time from 0 to 10 min.",
        ),
    ],
)
def test_refusals(changes: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ms.InputError) as refusal:
        two_stage(**changes)
    assert str(refusal.value) == sentence
