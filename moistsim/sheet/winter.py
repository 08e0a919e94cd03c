"""The coldest week with this control and with a plain thermostat, on the same machines."""

from typing import Any

import attrs
import pandas as pd

from moistsim.controls import Strategy, temperature_only
from moistsim.engine import COLD_RATING, FROST_END, FROST_RATING
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.season import Season, simulate
from moistsim.weather import Weather

DAYS = 7
LEAST_FROST = 1.0
"""Hours of heating in frost that the week needs to test defrost."""
MOST_COLDER = 15.0
"""Largest shift of the weather toward cold, K."""


@attrs.frozen(eq=False)
class Winter:
    """The coldest week, run with each control."""

    first: pd.Timestamp
    last: pd.Timestamp
    coldest_outdoors: float
    """Lowest outdoor dry bulb of the week as run, degC."""
    colder_by: float
    """Shift of the weather toward cold, so that the heat pump meets frost, K; usually 0."""
    option: Season
    thermostat: Season

    def table(self) -> dict[str, tuple[float, float]]:
        """Numbers of both runs by name: hours, kWh and degC, this control's first."""
        figures = [_figures(season) for season in (self.option, self.thermostat)]
        return {name: (figures[0][name], figures[1][name]) for name in figures[0]}

    @property
    def differs(self) -> bool:
        """Whether any number of the table differs between the runs."""
        return any(a != b for a, b in self.table().values())

    @property
    def same(self) -> bool:
        """Whether heating ran the same in every hour."""
        columns = [
            "heat_pump_h", "furnace_h", "backup_heat_h", "heat_pump_kWh", "backup_heat_kWh",
            "gas_kWh", "room_heater_h",
        ]  # fmt: skip
        return bool((self.option.hourly[columns] == self.thermostat.hourly[columns]).all(axis=None))


def heats(machines: Equipment) -> bool:
    """Whether any machine heats the house."""
    return any((machines.heating, machines.furnace, machines.strips, machines.room_heater))


def coldest_week(weather: Weather) -> tuple[pd.Timestamp, pd.Timestamp]:
    """First and last of the seven whole days with the lowest mean dry bulb.

    A weather of fewer days is taken whole.
    """
    temperature = weather.frame["temp_air"]
    dates = pd.DatetimeIndex(temperature.index).normalize()
    days: Any = temperature.groupby(dates).agg(["mean", "size"])
    whole = days.loc[days["size"] == 24, "mean"]
    if whole.empty:
        whole = days["mean"]
    if len(whole) <= DAYS:
        return whole.index[0], whole.index[-1]
    last = int(whole.rolling(DAYS).mean().to_numpy()[DAYS - 1 :].argmin()) + DAYS - 1
    return whole.index[last - DAYS + 1], whole.index[last]


def plain_thermostat(strategy: Strategy) -> Strategy:
    """A temperature-only control with the setpoints that it shares with a strategy."""
    shared = {k: v for k, v in strategy.settings.items() if k in temperature_only.settings}
    thermostat: Strategy = temperature_only(**shared)
    return thermostat


def prove(
    house: House, machines: Equipment, strategy: Strategy, weather: Weather, step: float | str
) -> Winter:
    """Run the coldest week of a weather with a strategy and with the plain thermostat.

    A week without heating in frost runs again in colder weather, near the temperature at which frost
    costs most.
    """
    first, last = coldest_week(weather)

    def run(there: Weather, colder_by: float) -> Winter:
        option, thermostat = (
            simulate(
                house,
                machines,
                control,
                there,
                start=f"{first:%Y-%m-%d}",
                end=f"{last:%Y-%m-%d}",
                step=step,
            )  # fmt: skip
            for control in (strategy, plain_thermostat(strategy))
        )
        coldest = float(option.hourly["outdoor_temperature_C"].min())
        return Winter(first, last, coldest, colder_by, option, thermostat)

    found = run(weather, 0.0)
    mean = float(found.option.hourly["outdoor_temperature_C"].mean())
    colder_by = min(round(mean - FROST_RATING), MOST_COLDER)
    if found.table()["frost_h"][1] >= LEAST_FROST or machines.heating is None or colder_by < 1.0:
        return found
    return run(weather.shifted(temp_air=-colder_by, temp_dew=-colder_by), colder_by)


def _figures(season: Season) -> dict[str, float]:
    hourly: Any = season.hourly
    outdoors = hourly["outdoor_temperature_C"]
    frosting = (outdoors > COLD_RATING) & (outdoors < FROST_END)
    kwh = season.meter.kwh
    return {
        "heat_pump_h": float(hourly["heat_pump_h"].sum()),
        "frost_h": float(hourly.loc[frosting, "heat_pump_h"].sum()),
        "furnace_h": float(hourly["furnace_h"].sum()),
        "room_heater_h": float(hourly["room_heater_h"].sum()),
        "strips_h": float(hourly["backup_heat_h"].sum()),
        "heat_kWh": float(kwh["heat_pump"] + kwh["backup_heat"] + kwh["room_heater"]),
        "gas_kWh": float(hourly["gas_kWh"].sum()),
        "reheat_h": float(hourly["reheat_h"].sum()),
        "total_kWh": float(season.meter.total_kwh),
        "coldest_C": float(hourly["indoor_temperature_C"].min()),
    }
