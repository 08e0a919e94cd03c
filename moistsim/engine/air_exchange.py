"""Outdoor air in a step: infiltration and fans together, and windows that people open."""

from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.machines import AtWork
from moistsim.engine.records import Minute, Plant, State
from moistsim.engine.ventilating import OutdoorAir, outdoor_air
from moistsim.engine.window_opening import opening_flow, windows_open


class Exchange(NamedTuple):
    """Outdoor air into the house in a step."""

    outdoors: OutdoorAir
    """Outdoor air through leaks, fans and ducts."""
    windows_open: float
    """1 while people keep windows open."""
    opened: float
    """Dry air through open windows, kg/s."""
    h_out: float
    """Enthalpy of outdoor air, J/kg."""


class DuctAir(NamedTuple):
    """Air by which ducts and closed doors unbalance a house in a step."""

    return_leak: float
    """Leakage into return ducts outside the envelope, kg/s of dry air."""
    supply_leak: float
    """Leakage out of supply ducts outside the envelope, kg/s of dry air."""
    closed_doors: float
    """Flow by which a blower unbalances rooms with closed doors, m3/s."""


@piece
def duct_air(plant: Plant, machines: AtWork) -> DuctAir:
    """Air by which the ducts of one system and closed doors unbalance the house."""
    return DuctAir(
        machines.back.leak, machines.lost.leak, machines.moved * plant.ducts.closed_doors
    )


@piece
def exchange_air(
    plant: Plant,
    state: State,
    machines: AtWork,
    second: DuctAir | None,
    minute: Minute,
    dt: float,
) -> Exchange:
    """Outdoor air that enters in a step: through leaks, fans, ducts and windows.

    Parameters
    ----------
    second : DuctAir, optional
        Air of a second system's ducts.
    """
    t, pressure = state.indoor_temperature, minute.pressure
    ducts = duct_air(plant, machines)
    if second is not None:
        ducts = DuctAir(
            ducts.return_leak + second.return_leak,
            ducts.supply_leak + second.supply_leak,
            ducts.closed_doors + second.closed_doors,
        )
    outdoors = outdoor_air(
        machines.going,
        plant.dehumidifier.from_outdoors * machines.dried.dry_air * (1.0 / minute.density),
        minute.natural, minute.density, minute.t_out, minute.w_out, minute.exhaust,
        ducts.return_leak, ducts.supply_leak, ducts.closed_doors,
    )  # fmt: skip
    windows = windows_open(
        plant.opening, state.windows_open, minute.may_open, minute.hour, t, minute.t_out,
        minute.w_out, pressure, dt,
    )  # fmt: skip
    opened = minute.density * opening_flow(
        plant.opening, windows, minute.opening_wind, t, minute.t_out
    )
    return Exchange(outdoors, windows, opened, air.enthalpy(minute.t_out, minute.w_out))
