"""Water that air cannot hold: films on surfaces, full stores, and rooms that never pass saturation."""

from typing import Any

import attrs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.controls import any_control
from support.houses import any_house, bare_house
from support.machines import any_equipment
from support.values import floats
from support.weathers import any_days, flat

import moistsim as ms
from moistsim import air
from moistsim.engine import saturated_air, zone
from moistsim.engine.records import Volume, ZoneParameters
from moistsim.season.possible import check_possible

P = air.STANDARD_PRESSURE
CLOSES = 1e-9


@st.composite
def any_weather(draw: st.DrawFn) -> ms.Weather:
    """Days of a sample year, or constant air of any temperature and often saturated."""
    if draw(st.booleans()):
        return draw(any_days())
    t, rh = draw(floats(-35.0, 45.0)), draw(st.one_of(st.just(1.0), floats(0.2, 1.0)))
    held = float(air.saturation_humidity_ratio(t, P))
    return flat(t, rh * held, days=3, wind_speed=draw(floats(0.0, 8.0)))


@settings(max_examples=40)
@given(
    home=any_house(), area=st.one_of(st.none(), floats(20.0, 60.0)), plant=any_equipment(),
    strategy=any_control(), weather=any_weather(),
)  # fmt: skip
def test_no_room_and_no_space_is_ever_wetter_than_saturation(
    home: ms.House, area: float | None, plant: ms.Equipment, strategy: ms.Strategy, weather: ms.Weather
) -> None:  # fmt: skip
    if area is not None and home.second_zone is None:
        home = attrs.evolve(home, floor_area=area)
    season = ms.simulate(home, plant, strategy, weather, spin_up="2 day")
    hourly = season.hourly
    for name in hourly:
        if name.endswith("rh_pct") and name != "outdoor_rh_pct":
            assert hourly[name].max() <= 100.0001, name
    assert (hourly["indoor_dew_point_C"] <= hourly["indoor_temperature_C"]).all()
    residual = season.balance["residual"].abs()
    # A closed box in which nothing moves has no gross flow: rounding of its contents is left.
    assert (residual <= CLOSES * season.balance["gross"].clip(lower=1.0)).all()


def wet_room(film: float, t: float = 20.0, rh: float = 0.5, **zone_fields: float) -> Any:
    """Zone and state of a room with a film of water, with much mass in its surfaces."""
    fields = dict.fromkeys(ZoneParameters._fields, 0.0) | {
        "volume": 100.0, "air_weight": 1.0, "condensing": 2.5e-8 * 90.0, "film_limit": 18.0,
        "air_to_fast": 200.0, "fast_capacity": 1e9,
    }  # fmt: skip
    parameters = ZoneParameters(**(fields | zone_fields))
    w = float(air.humidity_ratio_at(t, rh, P))
    dry_air = 100.0 * float(air.dry_air_density(t, w, P))
    saturation = float(air.saturation_pressure(t))
    return parameters, Volume(t, w, dry_air, t, saturation, t, 0.5, 0.5, 0.5, 0.5, film)


def wetting(film: float, rh: float, **zone_fields: float) -> float:
    parameters, volume = wet_room(film, rh=rh, **zone_fields)
    stores = zone.stores_at(parameters, volume, P, 60.0)
    takes = parameters.fast_capacity / 60.0 + parameters.air_to_fast
    return float(saturated_air.wet_surfaces(parameters, volume, stores, takes, P, 60.0))


def test_a_whole_film_evaporates_by_the_difference_of_vapor_pressures() -> None:
    """18 kg on 90 m2 of surfaces in a room of 20 degC and 90 %, by hand: 2.5e-8 * 90 * 0.1 * 2339 Pa.

    The saturation pressure is that of the handbook's table (ASHRAE Handbook Fundamentals 2017,
    chapter 1, table 3: 2.3389 kPa at 20 degC, from memory).
    """
    assert wetting(18.0, 0.9) == pytest.approx(-2.5e-8 * 90.0 * 0.1 * 2338.9, rel=2e-3)
    # Drier air by more than the step may take, and a film that is gone before.
    assert wetting(18.0, 0.2) > -2.5e-8 * 90.0 * 0.8 * 2338.9
    assert wetting(1e-4, 0.5) >= -1e-4 / 60.0
    assert wetting(1e-9, 0.5) == -1e-9 / 60.0
    assert wetting(0.0, 0.5) == 0.0


@given(film=floats(0.0, 30.0), gained=floats(-0.1, 0.1))
def test_a_film_holds_what_it_gains_up_to_its_limit(film: float, gained: float) -> None:
    parameters, _ = wet_room(0.0)
    film = min(film, parameters.film_limit)
    gained = max(gained, -film / 60.0)
    after = saturated_air.film_after(parameters, film, gained, 60.0)
    assert after.water + 60.0 * after.ran_off == pytest.approx(film + 60.0 * gained, abs=1e-12)
    assert 0.0 <= after.water <= parameters.film_limit
    assert after.ran_off >= 0.0


@given(surface=floats(0.0, 1.0), deep=floats(0.0, 1.0), vapor_pressure=floats(0.0, 6000.0))
def test_a_full_store_leaves_on_its_surface_what_it_cannot_take(
    surface: float, deep: float, vapor_pressure: float
) -> None:
    """What the air gives is in the layers or on the surface, and no layer passes saturation."""
    stores, dt = (0.5, 4.0), 600.0
    pull = zone.pull_of(*stores, 6e-4, 0.05, surface, deep, 2339.0)
    end = zone.settle(pull, *stores, surface, deep, vapor_pressure, True, dt)
    assert max(end.surface_rh, end.deep_rh) <= 1.0
    gained = stores[0] * (end.surface_rh - surface) + stores[1] * (end.deep_rh - deep)
    assert dt * end.to_surface == pytest.approx(gained, abs=1e-9)
    assert end.onto >= 0.0
    taken = pull.conductance * vapor_pressure - pull.known
    assert dt * (end.to_surface + end.onto) == pytest.approx(taken, abs=1e-9)


def test_a_house_that_hardly_loses_heat_gets_as_hot_as_its_gains_make_it() -> None:
    """Walls of 0.05 W/(m2 K) and nothing else lose 300 W at 300 / (0.05 * walls) kelvins above outdoors.

    Such a house passes 100 degC. It is an odd house, not an error of the solution.
    """
    house = bare_house(
        envelope={
            "wall_u": "0.05 W/(m2 K)",
            "fast_mass": "1000 J/(m2 K)",
            "slow_mass": 0.0,
            "mass_coupling": 0.0,
        },
        gains={"appliances_and_lights": 300.0, "appliances_and_lights_profile": (1.0,) * 24},
        floor_area=40.0,
        ceiling_height=2.2,
    )
    season = ms.simulate(
        house, ms.Equipment(standby_power=0.0), ms.strategies.temperature_only,
        flat(20.0, 0.0147, days=30), spin_up="30 day",
    )  # fmt: skip
    walls = 4.0 * 40.0**0.5 * 2.2
    last = season.hourly["indoor_temperature_C"].iloc[-1]
    assert last == pytest.approx(20.0 + 300.0 / (0.05 * walls), rel=0.02)
    assert last > 100.0


def test_a_result_beyond_saturation_is_a_failure_that_names_its_hour() -> None:
    season = ms.simulate(
        bare_house(), ms.Equipment(), ms.strategies.temperature_only, flat(20.0, 0.01, days=2)
    )
    record, machine = season._record, season._machine
    check_possible(record, machine, season.hourly.index, "a control")
    record.hourly[30, machine.fields.index("indoor_rh")] = 1.668 * machine.steps
    with pytest.raises(ms.InputError, match=r"indoor_rh of 166.8 % at 2001-01-02 06:00:00"):
        check_possible(record, machine, season.hourly.index, "a control")
    record.hourly[30, machine.fields.index("indoor_rh")] = np.nan
    with pytest.raises(ms.InputError, match=r"not a number at 2001-01-02 06:00:00"):
        check_possible(record, machine, season.hourly.index, "a control")
