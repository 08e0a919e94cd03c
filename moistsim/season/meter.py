"""What a season used and how humid it was: totals from the hourly sums, nothing computed anew."""

import re
from collections.abc import Mapping
from functools import lru_cache

import attrs
import numpy as np
import pandas as pd

END_USES = (
    "compressor",
    "indoor_fan",
    "reheat",
    "backup_heat",
    "heat_pump",
    "dehumidifier",
    "ventilation_fan",
    "standby",
)
"""Electricity by what it does. Exhaust fans are within `ventilation_fan`. The outdoor fan is within `compressor` (or `heat_pump`, in
heating); strips are `reheat` or `backup_heat`, never both; `standby` holds the crankcase heater,
the controls and a resting dehumidifier."""

HUMIDITY_WORDS = (
    (r"rh-hours (?:above|over) (55|60)(?: ?%)?(?: rh)?", "rh_hours_over_{}", "% h"),
    (r"hours (?:above|over) (50|55|60|65) ?%(?: rh)?", "hours_over_{}", "h"),
    (r"mean dew ?point", "mean_dew_point_C", "degC"),
    (r"mean rh", "mean_rh_pct", "percent"),
)
"""Names in `Meter.humidity` by the words that people use, as patterns, and their units."""


def read_humidity(words: str) -> tuple[str, str] | None:
    """Name in `Meter.humidity` and unit of what `words` say; None if they say none.

    >>> read_humidity("RH-hours above 55 %")
    ('rh_hours_over_55', '% h')
    """
    plain = " ".join(words.lower().split())
    for pattern, name, unit in HUMIDITY_WORDS:
        match = re.fullmatch(pattern, plain)
        if match is not None:
            return name.format(*match.groups()), unit
    return None


@attrs.frozen(eq=False)
class Meter:
    """Totals of a season, each a Series by name."""

    kwh: pd.Series
    """Electricity by end use (`END_USES`), kWh."""
    runtime_h: pd.Series
    """Hours that each machine or stage ran."""
    starts: pd.Series
    """Starts of each machine or stage; a stage's starts are those of it from below it."""
    peak_kw: pd.DataFrame
    """Highest mean power over clock quarters and clock hours: kW and when it began."""
    water_kg: pd.Series
    """Water that left by each machine, kg: coil (net of re-evaporation) and dehumidifier."""
    humidity: pd.Series
    """Mean dew point (degC), mean RH (percent), RH-hours above 55 and 60 (the integral) and hours
    above 50, 55, 60 and 65 percent, counted by the step."""
    comfort_h: pd.Series
    """Hours more than 1 K above and below the cooling setpoint and below the heating setpoint;
    empty if the strategy declares none."""
    refused: pd.Series
    """Calls that the machines would not follow, by reason."""
    gas_kwh: float
    """Gas burnt, by its higher heating value; no part of `kwh`."""
    strips: pd.Series
    """Times that the limit switch opened, mean temperature rise across the strips while on (K; 0
    if they never were) and highest supply temperature of a step (degC)."""
    ventilation: pd.Series
    """Outdoor air that fans brought in: its mean rate (m3/s), whatever held it back, and the hours
    for which a lockout did."""

    @property
    def total_kwh(self) -> float:
        """All electricity, kWh."""
        return float(self.kwh.sum())


@lru_cache(maxsize=64)
def _index(names: tuple[str, ...]) -> pd.Index:
    return pd.Index(names)


def _series(values: Mapping[str, float], name: str) -> pd.Series:
    """The values by their names, whose index a sweep makes once and not each time."""
    return pd.Series(np.array([*values.values()]), _index(tuple(values)), name=name)


def read_meter(
    totals: Mapping[str, float], hours: int, stages: int, quarters: pd.Series, setpoints: set[str]
) -> Meter:
    """Add up a season.

    Parameters
    ----------
    totals : dict of float
        Sums of the columns of `Season.hourly`; of `supply_temperature_max_C`, the highest.
    hours, stages : int
        Hours of the season; cooling stages.
    quarters : Series
        Mean power of each clock quarter, kW, by its start.
    setpoints : set of str
        The setpoints that the strategy declares.
    """
    strips_h = totals["reheat_h"] + totals["backup_heat_h"]
    runs = {
        **{f"cooling_stage_{k}": f"cooling_stage_{k}_h" for k in range(1, stages + 1)},
        "reheat": "reheat_h",
        "heat_pump": "heat_pump_h",
        "furnace": "furnace_h",
        "hot_gas": "hot_gas_h",
        "backup_heat": "backup_heat_h",
        "dehumidifier": "dehumidifier_h",
        "indoor_fan": "indoor_fan_h",
    }
    begun = {
        **{f"cooling_stage_{k}": f"cooling_stage_{k}_starts" for k in range(1, stages + 1)},
        "strips": "strips_starts",
        "heat_pump": "heat_pump_starts",
        "furnace": "furnace_starts",
        "dehumidifier": "dehumidifier_starts",
    }
    # Hours run from the first row, which a weather may begin at half past.
    by_hour = pd.Series(quarters.to_numpy().reshape(-1, 4).mean(axis=1), quarters.index[::4])
    peaks = {"15 min": quarters, "60 min": by_hour}
    comfort = {}
    if "cooling_setpoint" in setpoints:
        comfort["above_cooling_setpoint"] = totals["warm_h"]
        comfort["below_cooling_setpoint"] = totals["cool_h"]
    if "heating_setpoint" in setpoints:
        comfort["below_heating_setpoint"] = totals["cold_h"]
    refusals = [name for name in totals if name.startswith("refused_")]
    return Meter(
        kwh=_series({use: totals[f"{use}_kWh"] for use in END_USES}, name="kWh"),
        runtime_h=_series({name: totals[column] for name, column in runs.items()}, name="h"),
        starts=_series(
            {name: round(totals[column]) for name, column in begun.items()}, name="starts"
        ),
        peak_kw=pd.DataFrame(
            {
                "kW": [s.max() for s in peaks.values()],
                "begins": [s.idxmax() for s in peaks.values()],
            },
            index=list(peaks),
        ),
        water_kg=_series(
            {
                "coil": 0.0 - totals["water_coil_kg"] - totals["water_reevaporated_kg"],
                # 0.0 less: a machine that is not there removes 0, not -0.
                "dehumidifier": 0.0 - totals["water_dehumidifier_kg"],
            },
            name="kg",
        ),
        humidity=_series(
            {
                "mean_dew_point_C": totals["indoor_dew_point_C"] / hours,
                "mean_rh_pct": totals["indoor_rh_pct"] / hours,
                "rh_hours_over_55": totals["rh_over_55_pct_h"],
                "rh_hours_over_60": totals["rh_over_60_pct_h"],
                **{f"hours_over_{x}": totals[f"above_{x}_h"] for x in (50, 55, 60, 65)},
            },
            name="humidity",
        ),
        comfort_h=_series(comfort, name="h"),
        refused=_series(
            {name.removeprefix("refused_"): round(totals[name]) for name in refusals}, name="calls"
        ),
        gas_kwh=float(totals["gas_kWh"]),
        strips=_series(
            {
                "trips": totals["strip_trips"],
                "mean_rise_K": totals["strip_rise_K_h"] / strips_h if strips_h else 0.0,
                "highest_supply_C": totals["supply_temperature_max_C"],
            },
            name="strips",
        ),
        ventilation=_series(
            {
                "mean_rate_m3_s": totals["ventilation_m3"] / (3600.0 * hours),
                "locked_h": totals["ventilation_locked_h"],
            },
            name="ventilation",
        ),
    )
