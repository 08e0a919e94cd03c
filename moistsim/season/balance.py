"""Audit of a run: the change of each body of air's contents against the flows through its envelope."""

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine import (
    CONDENSATE_ENTHALPY,
    FLOWS,
    SORBED_ENTHALPY,
    SYSTEM_FLOWS,
    Machine,
    Volume,
    ZoneParameters,
    space_flows,
)

BALANCES: dict[str, tuple[str, ...]] = {
    name: tuple(flow.column for flow in FLOWS if flow.crosses == name)
    for name in ("dry_air", "water", "energy")
}
"""Columns of the hourly table with flows into or out of the house, by balance."""
HOUSE, SECOND = "house", "second_zone"
"""Names of the conditioned zones to which a flow of a space may go."""


def crossing(
    balance: str, body: str, spaces: tuple[str, ...], second_system: bool = False
) -> dict[str, float]:
    """Columns whose flows cross the boundary of a body of air, with the sign inward.

    Parameters
    ----------
    balance : str
        "dry_air", "water" or "energy".
    body : str
        `HOUSE`, or the name of a space.
    spaces : tuple of str
        All spaces of the run.
    second_system : bool
        Whether the second zone has a system of its own.
    """
    signs = dict.fromkeys(BALANCES[balance], 1.0) if body == HOUSE else {}
    for name in spaces:
        for flow in space_flows(name):
            if flow.crosses != balance:
                continue
            zone = flow.into if flow.into in (HOUSE, SECOND) else None
            if name == body:
                signs[flow.column] = -1.0 if zone else 1.0
            elif zone == body:
                signs[flow.column] = 1.0
    if second_system and body == SECOND:
        signs |= {flow.column: 1.0 for flow in SYSTEM_FLOWS if flow.crosses == balance}
    return signs


def contents_of(
    zone: ZoneParameters, volume: Volume, coil_water: float, pressure: float
) -> dict[str, float]:
    """Dry air (kg), water (kg) and energy (kWh) in a body of air with its masses and stores."""
    t, w = volume.temperature, volume.humidity_ratio
    dry_air = zone.volume * air.dry_air_density(t, w, pressure)
    stored = (
        zone.surface_store * volume.surface_rh
        + zone.deep_store * volume.deep_rh
        + zone.contents_store * volume.contents_rh
        + zone.contents_deep_store * volume.contents_deep_rh
        + volume.film
    )
    energy = (
        dry_air * air.enthalpy(t, w)
        + zone.light_contents * t
        + zone.fast_capacity * volume.fast_temperature
        + zone.slow_capacity * volume.slow_temperature
        + stored * SORBED_ENTHALPY
        + coil_water * CONDENSATE_ENTHALPY
    )
    return {
        "dry_air": dry_air,
        "water": dry_air * w + stored + coil_water,
        "energy": energy / 3.6e6,
    }


def contents(
    machine: Machine, row: NDArray[np.float64], pressure: float
) -> dict[str, dict[str, float]]:
    """Contents of the house and of each space next to it in one state, by body of air."""
    return {
        name: contents_of(zone, volume, coil_water, pressure)
        for name, zone, volume, coil_water in machine.bodies(row)
    }


def balance(
    hourly: pd.DataFrame,
    spaces: tuple[str, ...],
    before: Mapping[str, Mapping[str, float]],
    after: Mapping[str, Mapping[str, float]],
    second_system: bool = False,
) -> pd.DataFrame:
    """Residuals of the balances, as `Season.balance` shows them.

    Parameters
    ----------
    hourly : DataFrame
    spaces : tuple of str
        Spaces next to the house.
    before, after : dict
        `contents` before the first hour and after the last one.
    second_system : bool
        Whether the second zone has a system of its own.
    """
    total, magnitude = hourly.sum(), hourly.abs().sum()
    rows = {}
    for body in (HOUSE, *spaces):
        for name in BALANCES:
            signs = crossing(name, body, spaces, second_system)
            change = after[body][name] - before[body][name]
            net = float(sum(sign * total[column] for column, sign in signs.items()))
            gross = float(magnitude[list(signs)].sum())
            residual = change - net
            rows[name if body == HOUSE else f"{body}_{name}"] = (
                change, net, residual, gross, residual / gross if gross else 0.0,
            )  # fmt: skip
    return pd.DataFrame.from_dict(
        rows, orient="index", columns=["change", "net", "residual", "gross", "relative"]
    )
