"""Audit of a run: the change of the house's contents against the flows through its envelope."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine import CONDENSATE_ENTHALPY, FLOWS, SORBED_ENTHALPY, State, ZoneParameters

BALANCES: dict[str, tuple[str, ...]] = {
    name: tuple(flow.column for flow in FLOWS if flow.crosses == name)
    for name in ("dry_air", "water", "energy")
}
"""Columns of the hourly table with flows into or out of the house, by balance."""


def contents(zone: ZoneParameters, row: NDArray[np.float64], pressure: float) -> dict[str, float]:
    """Dry air (kg), water (kg) and energy (kWh) in the house in one state."""
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
    """Residuals of the balances, as `Season.balance` shows them.

    Parameters
    ----------
    hourly : DataFrame
    before, after : dict
        `contents` before the first hour and after the last one.
    """
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
