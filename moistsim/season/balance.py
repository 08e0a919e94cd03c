"""The audit of a run from outside: what the house holds against what crossed its skin."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine import CONDENSATE_ENTHALPY, SORBED_ENTHALPY, State, ZoneParameters

BALANCES: dict[str, tuple[str, ...]] = {
    "dry_air": (
        "air_infiltration_kg",
        "air_ventilation_kg",
        "air_opening_kg",
        "air_out_kg",
        "air_return_leak_kg",
        "air_supply_leak_kg",
    ),
    "water": (
        "water_infiltration_kg",
        "water_ventilation_kg",
        "water_out_kg",
        "water_return_leak_kg",
        "water_supply_leak_kg",
        "water_gains_kg",
        "water_drained_kg",
        "water_dehumidifier_kg",
        "water_surfaces_kg",
        "water_opening_kg",
        "water_ground_kg",
        "water_construction_kg",
    ),
    "energy": (
        "heat_infiltration_kWh",
        "heat_ventilation_kWh",
        "heat_out_kWh",
        "heat_return_leak_kWh",
        "heat_supply_leak_kWh",
        "heat_duct_walls_kWh",
        "heat_opaque_kWh",
        "heat_windows_kWh",
        "heat_sun_kWh",
        "heat_ground_kWh",
        "heat_gains_kWh",
        "heat_moisture_kWh",
        "heat_ventilation_fan_kWh",
        "heat_standby_kWh",
        "heat_refrigerant_kWh",
        "heat_heat_pump_kWh",
        "heat_furnace_kWh",
        "heat_hot_gas_kWh",
        "heat_drained_kWh",
        "heat_dehumidifier_drain_kWh",
        "heat_surfaces_kWh",
        "heat_pressure_kWh",
        "heat_opening_kWh",
        "heat_ground_vapor_kWh",
        "heat_construction_kWh",
        "indoor_fan_kWh",
        "reheat_kWh",
        "backup_heat_kWh",
        "dehumidifier_kWh",
    ),
}
"""What crosses the skin of the house, by the hourly table's columns."""


def contents(zone: ZoneParameters, row: NDArray[np.float64], pressure: float) -> dict[str, float]:
    """Dry air (kg), water (kg) and energy (kWh) that a house holds in a state."""
    state = State(*(float(x) for x in row))
    t, w = state.indoor_temperature, state.indoor_humidity_ratio
    dry_air = zone.volume * air.dry_air_density(t, w, pressure)
    stored = (
        zone.surface_store * state.surface_rh
        + zone.deep_store * state.deep_rh
        + zone.contents_store * state.contents_rh
        + zone.contents_deep_store * state.contents_deep_rh
    )
    energy = (
        dry_air * air.enthalpy(t, w)
        + zone.fast_capacity * state.fast_temperature
        + zone.slow_capacity * state.slow_temperature
        + stored * SORBED_ENTHALPY
        + state.coil_water * CONDENSATE_ENTHALPY
    )
    return {
        "dry_air": dry_air,
        "water": dry_air * w + stored + state.coil_water,
        "energy": energy / 3.6e6,
    }


def balance(
    hourly: pd.DataFrame, before: dict[str, float], after: dict[str, float]
) -> pd.DataFrame:
    """Residuals of the balances: `Season.balance` of an hourly table and of the `contents` before its
    first hour and after its last."""
    total, magnitude = hourly.sum(), hourly.abs().sum()
    rows = {}
    for name, flows in BALANCES.items():
        change = after[name] - before[name]
        net = float(total[list(flows)].sum())
        gross = float(magnitude[list(flows)].sum())
        residual = change - net
        rows[name] = (change, net, residual, gross, residual / gross if gross else 0.0)
    return pd.DataFrame.from_dict(
        rows, orient="index", columns=["change", "net", "residual", "gross", "relative"]
    )
