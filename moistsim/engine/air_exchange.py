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


@piece
def exchange_air(
    plant: Plant, state: State, machines: AtWork, minute: Minute, dt: float
) -> Exchange:
    """Outdoor air that enters in a step: through leaks, fans, ducts and windows."""
    t, pressure = state.indoor_temperature, minute.pressure
    outdoors = outdoor_air(
        machines.going,
        plant.dehumidifier.from_outdoors * machines.dried.dry_air * (1.0 / minute.density),
        minute.natural, minute.density, minute.t_out, minute.w_out, minute.exhaust,
        machines.back.leak, machines.lost.leak, machines.moved * plant.ducts.closed_doors,
    )  # fmt: skip
    windows = windows_open(
        plant.opening, state.windows_open, minute.may_open, minute.hour, t, minute.t_out,
        minute.w_out, pressure, dt,
    )  # fmt: skip
    opened = minute.density * opening_flow(
        plant.opening, windows, minute.opening_wind, t, minute.t_out
    )
    return Exchange(outdoors, windows, opened, air.enthalpy(minute.t_out, minute.w_out))
