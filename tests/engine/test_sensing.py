"""The room's sensor: what it feels, how it lags, and its relative humidity; by hand."""

from typing import Any

import pytest
from support import houses, weathers
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim import air

STILL: dict[str, float] = {
    "wall_share": 0.0, "mixing_time": 0.0, "temperature_lag": 0.0, "humidity_lag": 0.0,
}  # fmt: skip
"""A sensor that is the room."""


def still_day(sensor: dict[str, Any], home: ms.House, step: str = "60 s") -> Any:
    """The minutes of the first day at 24 degC outdoors, with nothing but a sensor installed."""
    season = ms.simulate(
        home,
        ms.Equipment(standby_power=0.0, sensor=ms.Sensor(**{**STILL, **sensor})),
        ms.strategies.temperature_only,
        weathers.flat(24.0, 0.009, days=2),
        step=step,
        spin_up=0.0,
    )
    return season.minutes("01-01"), season


def heated(moisture: float = 0.0) -> ms.House:
    """A closed house that 300 W of lights warm, and people moisten, at a constant rate.

    Contents are one mass with the air, so that the room warms on a straight line.
    """
    return houses.bare_house(
        envelope={
            "surface_film": 5e3, "fast_mass": 30e3, "slow_mass": 0.0, "mass_coupling": 0.0,
        },
        gains={
            "appliances_and_lights": 300.0, "appliances_and_lights_profile": [1.0] * 24,
            "moisture": moisture, "moisture_profile": [1.0] * 24,
        },
    )  # fmt: skip


@pytest.mark.parametrize("step", ["60 s", "10 s"])
def test_two_lags_trail_a_ramp_by_their_sum(step: str) -> None:
    """A first-order lag trails a ramp by its time constant; one behind another by the sum.

    The reading is that of the middle of a step, the room that of its end: half a step more.
    """
    minutes, _ = still_day({"mixing_time": 90.0, "temperature_lag": 210.0}, heated(), step)
    room, sensed = minutes["indoor_temperature_C"], minutes["sensed_temperature_C"]
    dt = float(step.removesuffix(" s"))
    hours = slice(int(6 * 3600 / dt), int(7 * 3600 / dt))
    rate = float(room.diff().iloc[hours].mean()) / dt
    assert rate > 1e-5
    behind = (room - sensed).iloc[hours].mean() / rate
    assert behind == pytest.approx(90.0 + 210.0 + 0.5 * dt, abs=0.02 * dt + 1.0)


def test_vapor_trails_by_mixing_and_its_own_lag() -> None:
    """Its vapor at its own temperature, not a lagged relative humidity."""
    minutes, season = still_day(
        {"mixing_time": 60.0, "humidity_lag": 240.0, "temperature_lag": 600.0},
        heated(moisture=3e-5),
        "10 s",
    )
    pressure = air.STANDARD_PRESSURE
    sensed_w = air.over(
        air.humidity_ratio_at, minutes["sensed_temperature_C"],
        0.01 * minutes["sensed_rh_pct"], pressure,
    )  # fmt: skip
    room = minutes["indoor_humidity_ratio"].to_numpy()
    hour = slice(6 * 360, 7 * 360)
    rate = float((room[hour][-1] - room[hour][0]) / (3590.0))
    assert rate > 1e-8
    behind = float((room - sensed_w)[hour].mean()) / rate
    assert behind == pytest.approx(300.0 + 5.0, rel=0.01)


@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
def test_it_feels_air_and_surfaces(share: float) -> None:
    """At rest: (1 - share) air + share surfaces; RH is the room's vapor at that temperature."""
    windy = houses.bare_house(
        envelope={"window_u": 3.0, "window_to_wall_ratio": 0.3, "slow_mass": 0.0, "mass_coupling": 0.0},
        gains={"appliances_and_lights": 900.0, "appliances_and_lights_profile": [1.0] * 24},
    )  # fmt: skip
    season = ms.simulate(
        windy,
        ms.Equipment(standby_power=0.0, sensor=ms.Sensor(wall_share=share)),
        ms.strategies.temperature_only,
        weathers.flat(20.0, 0.009, days=30),
        spin_up=0.0,
    )
    last = season.hourly.iloc[-1]
    t, surfaces = last["indoor_temperature_C"], last["fast_mass_temperature_C"]
    assert abs(t - surfaces) > 0.2
    felt = (1.0 - share) * t + share * surfaces
    assert last["sensed_temperature_C"] == pytest.approx(felt, abs=1e-3)
    vapor = 0.01 * last["indoor_rh_pct"] * air.saturation_pressure(t)
    assert last["sensed_rh_pct"] == pytest.approx(
        100.0 * vapor / air.saturation_pressure(felt), abs=0.01
    )


def test_a_sensor_in_the_return_feels_the_stream_alone() -> None:
    """Neither walls nor the mixing of the room act on it: the same bits."""

    def july(**sensor: Any) -> bytes:
        season = ms.simulate(
            house(), machines(sensor=ms.Sensor(place="return", **sensor)),
            ms.strategies.with_dehumidifier, stretch("miami", 190, 5), spin_up="1 day",
        )  # fmt: skip
        return season.hourly.to_numpy().tobytes()

    assert july() == july(wall_share=0.9, mixing_time="10 min")
    assert july() != july(temperature_lag="9 min")


def test_a_share_is_a_fraction() -> None:
    with pytest.raises(ms.InputError, match="wall_share"):
        ms.Sensor(wall_share="120 %")
