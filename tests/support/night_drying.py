"""A paper's sweep, as the how-to page has it: an own control, an own metric, a Saltelli design."""

from typing import Any

import numba
import numpy as np
from scipy import stats

import moistsim as ms


@ms.strategy
def night_drying(
    readings: Any,
    memory: Any,
    *,
    cooling_setpoint: ms.units.CoolingSetpoint = 24.5,
    dry_above: ms.units.HumiditySetpoint = 54.0,
) -> Any:
    """Cool by temperature, and also on humidity between midnight and 6 a.m."""
    memory[0] = readings.temperature > cooling_setpoint + (0.5 if memory[0] == 0.0 else -0.5)
    humid = readings.relative_humidity > dry_above and readings.hour < 6.0
    return ms.Calls(cooling=1 if memory[0] > 0.0 or humid else 0)


@numba.njit
def longest_spell(indoor_rh_pct: Any) -> Any:
    """Hours of the longest spell above 60 % RH."""
    longest = spell = 0
    for humidity in indoor_rh_pct:
        spell = spell + 1 if humidity > 60.0 else 0
        longest = max(longest, spell)
    return longest


def spell_in_python(season: ms.Season) -> float:
    """The same from the hourly table."""
    return float(longest_spell.py_func(season.hourly["indoor_rh_pct"].to_numpy()))


METRICS: dict[str, dict[str, Any]] = {
    "no metric": {},
    "compiled metric": {"longest spell, h": longest_spell},
    "metric in Python": {"longest spell, h": spell_in_python},
}


def sweep(n: int, metrics: str, **season: Any) -> ms.Sweep:
    """8 n cases of three options, through a year by default."""
    cooling = ms.Cooling(stages=[ms.Stage(capacity="24 kBtu/h")])
    fan = ms.Ventilation(airflow="60 cfm")
    box = ms.Dehumidifier(capacity="70 pint/day")
    plain = ms.Equipment(cooling=cooling, ventilation=fan)
    with_box = ms.Equipment(cooling=cooling, ventilation=fan, dehumidifier=box)
    options = {
        "thermostat": (plain, ms.strategies.temperature_only),
        "night drying": (plain, night_drying),
        "dehumidifier": (with_box, ms.strategies.with_dehumidifier),
    }
    house, weather = ms.House(floor_area="2000 ft2"), ms.Weather.sample("miami")
    vary = {
        "house.ach50": ms.log_uniform(0.6, 8),
        "house.envelope.window_shgc": stats.norm(0.3, 0.05),
        "house.gains.occupants": np.arange(1, 6),
        "equipment.ventilation.airflow": ms.uniform("30 cfm", "90 cfm"),
        "strategy.cooling_setpoint": ms.triangular("73 degF", "75 degF", "78 degF"),
        "tariff.price": ms.uniform("10 cent/kWh", "35 cent/kWh"),
    }
    return ms.Sweep(
        ms.Study(house, options, weather, **season), vary,
        sample="saltelli", n=n, metrics=METRICS[metrics],
    )  # fmt: skip
