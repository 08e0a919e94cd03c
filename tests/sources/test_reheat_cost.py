"""What strip reheat costs beside a dedicated dehumidifier, against a fact of the trade.

Common practice, no source: with stage 1 on above 55 % RH, stage 2 on above 60 % and off at 55 %,
all off at 50 %, the scheme enabled by a humidity call at 50 %, cooling at 75 degF and strips held
at 73 degF, low fan with stage 1 and high with stage 2 and strips, from March to October in the
humid South-East, in a tight mechanically ventilated house, reheat cost almost 800 USD a year more
than a dedicated dehumidifier would have, mild days being worst.

"Mild" is taken as in the scheme itself: a day on which its own thermostat calls for cooling less
than a quarter of the time while the compressor runs past it. Taken from a house cooled by
temperature only, such days are few in Miami at 75 degF whatever the size of the unit; that share
is printed beside the other.

The house of the check is of 2000 ft2, 1.5 ACH50, 120 cfm of ventilation and 10 kg of moisture a
day. The fact does not say how large the air conditioner was, and the answer hangs on it: a stage
that is large for the house takes more heat out for each liter. Here it is the smallest usual size
that holds the setpoint on the hottest day, 2 tons, which the first test holds.

The scheme is written out whole, so that the library's default target and strip setpoint do not
enter: 571 USD in Miami and 673 in Greensboro. Strips 1.1 degF below the setpoint, as is the default
now, would make it 708 and 725; the whole year 882 and 726.
"""

from functools import lru_cache

import pandas as pd
import pytest
from scipy.optimize import brentq

import moistsim as ms

PRICE = 0.15
"""USD/kWh."""
SEASON = {"start": "03-01", "end": "10-31"}
COMMON_PRACTICE = {
    "target_rh": "50 %",
    "enable_over": 0.0,
    "stage_1_on": 5.0,
    "stage_1_off": 0.0,
    "stage_2_on": 10.0,
    "stage_2_off": 5.0,
    "cooling_setpoint": "75 degF",
    "reheat_below": "2 delta_degF",
    "reheat_deadband": "1 delta_degF",
    "strip_airflow": 1.0,
}
HOUSE = ms.House(floor_area="2000 ft2", bedrooms=3, ach50=1.5, gains=ms.Gains(moisture="10 kg/day"))


def machines(dehumidifier: bool, size: float = 24.0) -> ms.Equipment:
    """A two-stage unit of `size` kBtu/h, 10 kW of strips, 120 cfm of exhaust ventilation."""
    return ms.Equipment(
        cooling=ms.Cooling(
            stages=(ms.Stage(capacity=f"{0.7 * size} kBtu/h"), ms.Stage(capacity=f"{size} kBtu/h"))
        ),
        strips=ms.Strips(stages=("5 kW", "5 kW")),
        heating=ms.HeatPump(capacity=f"{size} kBtu/h"),
        ventilation=ms.Ventilation(airflow="120 cfm"),
        dehumidifier=ms.Dehumidifier(capacity="90 pint/day") if dehumidifier else None,
    )


@lru_cache
def seasons(place: str, size: float = 24.0) -> dict[str, ms.Season]:
    """Reheat, a dehumidifier at the same mean dew point, and cooling by temperature only."""
    weather = ms.Weather.sample(place)
    built_in = ms.strategies.BUILT_IN
    reheat = ms.simulate(
        HOUSE,
        machines(False, size),
        built_in["staged_reheat"](**COMMON_PRACTICE),
        weather,
        **SEASON,
    )
    goal = reheat.meter.humidity["mean_dew_point_C"]

    def dried(target: float) -> ms.Season:
        strategy = built_in["with_dehumidifier"](cooling_setpoint="75 degF", target_rh=target)
        return ms.simulate(HOUSE, machines(True, size), strategy, weather, **SEASON)

    target = brentq(
        lambda rh: dried(rh).meter.humidity["mean_dew_point_C"] - goal, 44.0, 60.0, xtol=0.2
    )
    thermostat = ms.simulate(
        HOUSE, machines(False, size),
        built_in["temperature_only"](cooling_setpoint="75 degF"), weather, **SEASON,
    )  # fmt: skip
    return {"reheat": reheat, "dehumidifier": dried(target), "thermostat": thermostat}


def daily(season: ms.Season) -> pd.DataFrame:
    """Electricity and hours of cooling by day."""
    hourly = season.hourly
    energy = hourly[[f"{use}_kWh" for use in season.meter.kwh.index]].sum(axis=1)
    cooling = hourly[["cooling_stage_1_h", "cooling_stage_2_h"]].sum(axis=1)
    return pd.DataFrame({"kWh": energy, "cooling_h": cooling}).resample("D").sum()


@pytest.mark.parametrize("place", ["miami", "greensboro"])
def test_the_unit_is_large_enough(place: str) -> None:
    """The thermostat alone is never more than 1 K above its setpoint for long."""
    assert seasons(place)["thermostat"].meter.comfort_h["above_cooling_setpoint"] < 60.0


@pytest.mark.parametrize("place", ["miami", "greensboro"])
def test_reheat_costs_more_than_a_dehumidifier(
    place: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Between 150 and 1,500 USD a season more at matched mean dew point, mostly on mild days."""
    runs = seasons(place)
    reheat, dehumidifier = runs["reheat"].meter, runs["dehumidifier"].meter
    gap = dehumidifier.humidity["mean_dew_point_C"] - reheat.humidity["mean_dew_point_C"]
    assert abs(gap) < 0.3
    difference = PRICE * (reheat.total_kwh - dehumidifier.total_kwh)
    by_day = daily(runs["reheat"])["kWh"] - daily(runs["dehumidifier"])["kWh"]
    # Slot 0 of the strategy's memory is the stage that its thermostat asks for.
    calling = (runs["reheat"].memory[0] > 0.0).resample("D").mean()
    mild = calling < 0.25
    share = by_day[mild].sum() / by_day.sum()
    without = daily(runs["thermostat"])["cooling_h"] < 6.0
    with capsys.disabled():
        print(
            f"\n{place}: reheat costs {difference:.0f} USD more (dew point gap {gap:+.2f} K), "
            f"{share:.0%} of it on {mild.sum()} mild days ({by_day[without].sum() / by_day.sum():.0%} "
            f"on the {without.sum()} days that are mild when nothing dries); "
            + "; ".join(
                f"{name} {m.total_kwh / m.water_kg.sum():.2f} kWh/L of {m.water_kg.sum():.0f} L"
                for name, m in (("reheat", reheat), ("dehumidifier", dehumidifier))
            )
        )
    assert 150.0 < difference < 1500.0
    assert share >= 0.6


def test_the_fact_in_miami() -> None:
    """Almost 800 USD: this house in Miami comes within 500 to 1,200."""
    runs = seasons("miami")
    difference = PRICE * (runs["reheat"].meter.total_kwh - runs["dehumidifier"].meter.total_kwh)
    assert 500.0 < difference < 1200.0


def test_an_oversized_unit_makes_reheat_dearer() -> None:
    """Why the size matters: at 3 tons, stage 2 never runs and stage 1 takes out far more heat."""
    right = seasons("miami")["reheat"].meter.kwh["reheat"]
    large = seasons("miami", 36.0)["reheat"].meter.kwh["reheat"]
    assert large > 1.3 * right
