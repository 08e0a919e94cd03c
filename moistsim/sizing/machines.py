"""Steady performance of machines at a condition, by the engine, in the room at its setpoints."""

from typing import NamedTuple

import numpy as np
import pandas as pd

from moistsim import air
from moistsim.controls import Calls, Strategy
from moistsim.core.units import to_si
from moistsim.equipment import RATING_INLETS, Dehumidifier, Equipment, Strips
from moistsim.house import House
from moistsim.machine_checks import Amps, Refused, Rig, Today
from moistsim.sizing.conditions import Condition

CONTINUOUS = 1.25
"""Factor on the current of a load that may run for three hours or more.

Such loads include heating elements and the blower that runs with them (common practice, no source).
"""


class Room(NamedTuple):
    """The setpoints of the room for the sizing."""

    temperature: float
    """Indoor dry bulb, degC."""
    rh: float
    """Indoor RH, percent."""


class Capacity(NamedTuple):
    """Net capacity of a cooling stage in continuous operation, less its fan's heat, W and kg/s."""

    sensible: float
    latent: float
    water: float
    amps: Amps


def capacity(
    house: House, machines: Equipment, strategy: Strategy, stage: int, room: Room, at: Condition
) -> Capacity | None:
    """Net capacity of a stage at a condition; None where it would not run.

    Parameters
    ----------
    stage : int
        Number of the stage, from 1.
    """
    rig = Rig(house, machines, strategy, at.pressure)
    now = Today(at.outdoor, at.outdoor_rh, room.temperature, room.rh)
    found = rig.expect("", "cooling", Calls(cooling=float(stage)), now)
    if isinstance(found, Refused):
        return None
    dry_air = found.airflow * air.STANDARD_DENSITY * at.pressure / air.STANDARD_PRESSURE
    ratio = air.humidity_ratio_at(room.temperature, 0.01 * room.rh, at.pressure)
    leaving = ratio - found.condensate / dry_air
    moist = air.CP_DRY_AIR + leaving * air.CP_VAPOR
    latent = found.condensate * float(air.vapor_enthalpy(room.temperature))
    return Capacity(dry_air * moist * found.split, latent, found.condensate, found.amps)


def deratings(
    house: House, strategy: Strategy, room: Room, filter_factor: float
) -> dict[str, float]:
    """Moisture removal of a dehumidifier in the room, as a fraction of its rated value.

    Parameters
    ----------
    room : Room
    filter_factor : float
        As `Dehumidifier.filter_factor`.

    Returns
    -------
    dict
        Fractions by rating point (`Dehumidifier.rating`); they are equal for every size.
    """
    found, size = {}, to_si("40 pint/day", "kg/s", "")
    for rating in RATING_INLETS:
        dehumidifier = Dehumidifier(capacity=size, rating=rating, filter_factor=filter_factor)
        rig = Rig(house, Equipment(dehumidifier=dehumidifier), strategy, air.STANDARD_PRESSURE)
        dried = rig.expect_drying(Today(indoor=room.temperature, indoor_rh=room.rh))
        found[rating] = 0.0 if isinstance(dried, Refused) else dried.condensate / size
    return found


def reheat(
    house: House,
    machines: Equipment,
    strategy: Strategy,
    room: Room,
    mild: Condition,
    hot: Condition,
    mean_load: float,
    least_load: float,
) -> pd.DataFrame:
    """Strip power that holds the room while each cooling stage dries it, with all currents.

    Parameters
    ----------
    mild, hot : Condition
        The mild condition needs reheat. The compressor draws most at the hot condition.
    mean_load, least_load : float
        Sensible load of the house on the mild day, and in the hour of that day with the least, W.

    Returns
    -------
    DataFrame
        One row for each stage. `sensible_W` and `water_kg_day` are those of continuous operation.
        `strips_mean_W` and `strips_most_W` are the strip power that replaces the excess cooling at
        the mean and the least load. `compressor_A`, `blower_A` and `strips_A` (for the least load)
        are currents, `together_A` is their sum, and `circuit_A` is that times `CONTINUOUS`.
        `described_circuit_A` counts all strips of the description instead. Values are missing
        where the stage would not run.
    """
    voltage = (machines.strips or Strips(stages=(5000.0,))).voltage
    assert machines.cooling is not None
    rows = {}
    for stage in range(1, len(machines.cooling.stages) + 1):
        at_mild = capacity(house, machines, strategy, stage, room, mild)
        at_hot = capacity(house, machines, strategy, stage, room, hot)
        if at_mild is None:
            rows[stage] = dict.fromkeys(REHEAT, np.nan)
            continue
        mean, most = (max(at_mild.sensible - load, 0.0) for load in (mean_load, least_load))
        compressor = max(x.amps.compressor for x in (at_mild, at_hot) if x is not None)
        strips, blower = most / voltage, at_mild.amps.blower
        together = compressor + blower + strips
        described = np.nan
        if machines.strips is not None:
            all_on = sum(machines.strips.powers) / voltage
            described = CONTINUOUS * (compressor + blower + all_on)
        values = (
            at_mild.sensible, 86400.0 * at_mild.water, mean, most, compressor, blower, strips,
            together, CONTINUOUS * together, described,
        )  # fmt: skip
        rows[stage] = dict(zip(REHEAT, values, strict=True))
    table = pd.DataFrame.from_dict(rows, orient="index")
    table.index.name = "stage"
    table.attrs["voltage"] = voltage
    return table


REHEAT = (
    "sensible_W", "water_kg_day", "strips_mean_W", "strips_most_W", "compressor_A", "blower_A",
    "strips_A", "together_A", "circuit_A", "described_circuit_A",
)  # fmt: skip
