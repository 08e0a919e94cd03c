"""Natural infiltration by month, of a season and of its weather's year."""

from typing import Any

import attrs
import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import houses, weathers
from support.values import floats

import moistsim as ms
from moistsim.engine import infiltration_in

FAN = ms.Ventilation(kind="exhaust", airflow="80 cfm")


def season(**changes: Any) -> ms.Season:
    """Eight days of July in a leaky house with an exhaust fan."""
    options: dict[str, Any] = {
        "house": houses.house(ach50=6.0), "strategy": ms.strategies.temperature_only,
        "weather": ms.Weather.sample("greensboro"), "start": "07-01", "end": "07-08", **changes,
    }  # fmt: skip
    machines = ms.Equipment(
        cooling=ms.Cooling(stages=[ms.Stage(capacity="2 ton")]), ventilation=FAN
    )
    return ms.simulate(
        options["house"], machines, options["strategy"], options["weather"],
        start=options["start"], end=options["end"], spin_up="1 day",
    )  # fmt: skip


def test_a_fan_does_not_change_natural_infiltration() -> None:
    """At constant weather the column is the model's own flow, fan or not; the fan's air is apart."""
    house = houses.bare_house(ach50=6.0)
    weather = weathers.flat(23.0, 0.009, days=2, wind_speed=4.0)
    runs = [
        ms.simulate(
            house, ms.Equipment(ventilation=fan, standby_power=0.0),
            ms.strategies.temperature_only, weather, spin_up=0,
        )
        for fan in (None, FAN)
    ]  # fmt: skip
    # The run starts at 23 degC, so wind alone acts.
    expected = infiltration_in(house, weather, 23.0)[0]
    for run in runs:
        flow = run.hourly["natural_infiltration_m3"].to_numpy() / 3600.0
        assert flow[-1] == pytest.approx(expected, rel=1e-3)
    drawn = [run.hourly["air_infiltration_kg"].iloc[-1] for run in runs]
    assert drawn[1] != pytest.approx(drawn[0], rel=0.05)


def test_the_year_is_the_run_where_it_ran_and_the_setpoints_elsewhere() -> None:
    it = season()
    found, flow = it.air_leakage, it.hourly["natural_infiltration_m3"].to_numpy() / 3600.0
    assert found.run == {7} and list(found.months.index) == list(range(1, 13))
    assert found.season == pytest.approx(flow.mean(), rel=1e-12)
    assert found.at_50_pa == pytest.approx(6.0 * it.house.volume / 3600.0, rel=1e-12)

    weather, strategy = it.weather, it.strategy
    outdoors = weather.frame["temp_air"].to_numpy()
    low, high = strategy.settings["heating_setpoint"], strategy.settings["cooling_setpoint"]
    by_hand = infiltration_in(it.house, weather, np.clip(outdoors, low, high))
    month = pd.DatetimeIndex(weather.frame.index).month
    assert found.months[1] == pytest.approx(by_hand[month == 1].mean(), rel=1e-12)
    by_hand[weather.between("07-01", "07-08")] = flow
    assert found.months[7] == pytest.approx(by_hand[month == 7].mean(), rel=1e-12)
    assert found.year == pytest.approx(by_hand.mean(), rel=1e-12)


def test_a_run_of_the_whole_weather_is_its_year() -> None:
    """Weather shorter than a year has no year, and its season is the mean of all its months."""
    it = season(weather=weathers.stretch("greensboro", 190, 6), start=None, end=None)
    found = it.air_leakage
    assert found.year is None
    assert found.months.index.tolist() == [7] and found.run == {7}
    assert found.months[7] == pytest.approx(found.season, rel=1e-12)


@pytest.mark.parametrize("model", ["enhanced", "basic"])
def test_a_house_in_the_open_has_more(model: str) -> None:
    """Shelter class 1 in open country, and nothing more for a house that stands there already."""
    leakage = ms.Leakage(model=model)
    sheltered = season(house=houses.house(ach50=6.0, leakage=leakage)).air_leakage
    assert sheltered.year is not None and sheltered.in_the_open > 1.2 * sheltered.year
    there = {} if model == "basic" else {"terrain": "open country"}
    house = houses.house(ach50=6.0, shelter=1, leakage=ms.Leakage(model=model, **there))
    bare = season(house=house).air_leakage
    # The run takes the indoor temperature at the start of each hour, the comparison the hour's mean.
    assert bare.in_the_open == pytest.approx(bare.year, rel=1e-3)


def test_a_control_without_setpoints_takes_the_seasons_temperature() -> None:
    @ms.strategy
    def idle(readings: ms.Readings, memory: Any) -> ms.Calls:
        """Nothing runs."""
        return ms.Calls()

    it = season(strategy=idle)
    mean = it.hourly["indoor_temperature_C"].mean()
    january = infiltration_in(it.house, it.weather, mean)[: 31 * 24].mean()
    assert it.air_leakage.months[1] == pytest.approx(january, rel=1e-12)


@given(
    model=st.sampled_from(["enhanced", "basic"]), ach50=floats(0.1, 20.0), t_in=floats(15.0, 30.0),
    apart=floats(0.0, 25.0), wind=floats(0.0, 15.0), more=floats(0.0, 10.0),
)  # fmt: skip
def test_infiltration_grows_with_wind_with_temperature_difference_and_with_leaks(
    model: str, ach50: float, t_in: float, apart: float, wind: float, more: float
) -> None:
    def flow(ach50: float, apart: float, wind: float) -> float:
        house = houses.bare_house(ach50=ach50, leakage=ms.Leakage(model=model))
        weather = weathers.flat(t_in - apart, 0.001, days=1, wind_speed=wind)
        return float(infiltration_in(house, weather, t_in)[0])

    here = flow(ach50, apart, wind)
    assert here >= 0.0
    assert flow(ach50 + more, apart, wind) >= here * (1.0 - 1e-12)
    assert flow(ach50, apart + more, wind) >= here * (1.0 - 1e-12)
    assert flow(ach50, apart, wind + more) >= here * (1.0 - 1e-12)
    # The same difference the other way round gives the same flow.
    weather = weathers.flat(t_in + apart, 0.001, days=1, wind_speed=wind)
    house = houses.bare_house(ach50=ach50, leakage=ms.Leakage(model=model))
    assert infiltration_in(house, weather, t_in)[0] == pytest.approx(here, rel=1e-9, abs=1e-12)


def test_options_whose_houses_leak_alike_are_shown_once() -> None:
    house, weather = houses.house(), weathers.stretch("greensboro", 190, 4)
    machines = ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="2 ton")]))
    options = {
        name: (machines, ms.strategies.temperature_only(cooling_setpoint=f"{t} degF"))
        for name, t in (("Usual", 75), ("Warmer", 77), ("Sealed", 75))
    }
    comparison = ms.Study(house, options, weather, tariff=ms.Tariff(price=0.15), base="Warmer").run(
        progress=False
    )
    assert list(comparison.air_leakage()) == ["Warmer"]
    sealed = attrs.evolve(comparison.seasons["Sealed"], house=houses.house(ach50=1.0))
    seasons = {**comparison.seasons, "Sealed": sealed}
    assert list(attrs.evolve(comparison, seasons=seasons).air_leakage()) == ["Warmer", "Sealed"]
