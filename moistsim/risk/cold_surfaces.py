"""What of the inside is colder than its air, and how humid the air is that touches it."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine import skin
from moistsim.house import House
from moistsim.season import Season

CORNER_RESISTANCE = 0.25
"""Of the inside surface where mold is judged, m2 K/W: still air in corners and behind furniture (ISO
13788, from memory)."""
PLANE_RESISTANCE = 0.13
"""Of an inside wall in a U-value, and of glass, m2 K/W (ISO 6946, from memory)."""
LEAST_RESISTANCE = 0.04
"""Outside film, m2 K/W (the same): what is left of a wall that is nothing else."""
CORNER_HEAT = 2.0
"""Heat that a corner with its framing conducts, over that of the plane wall. Our own choice: it puts
a wall of 0.5 W/(m2 K) at a factor of 0.79 and one of 1 at 0.63; 0.7 is what good detailing keeps to."""

SUPPLY_FILM, ROOM_FILM = 25.0, 8.0
"""Of a supply grille, W/(m2 K): the side that the supply washes at a few meters a second (our own
choice), and the side of the room (a round figure of still air and radiation)."""
BESIDE_REGISTER = 0.5
"""Board around a register: how far it follows the grille, hour by hour. Our own choice."""


def corner_factor(house: House) -> float:
    """Temperature factor of the coldest corner: (surface - outdoors) / (room - outdoors), 0 to 1.

    From the opaque assembly of the highest U-value, floors apart, whose thermal resistance beyond
    the inside film is divided by `CORNER_HEAT` there (ISO 13788's factor f_Rsi).

    Examples
    --------
    >>> round(corner_factor(House(floor_area=180.0)), 2)
    0.81
    """
    steepest = max((surface.u for surface in skin(house).surfaces), default=0.0)
    if steepest <= 0.0:
        return 1.0
    beyond = max(1.0 / steepest - PLANE_RESISTANCE, LEAST_RESISTANCE) / CORNER_HEAT
    return beyond / (beyond + CORNER_RESISTANCE)


def glass_factor(house: House) -> float | None:
    """The same of the window of the highest U-value, in the middle of its pane; None without windows.

    Edges of glass and metal frames are colder, and wet earlier.
    """
    panes = [window.u for window in skin(house).windows]
    return max(1.0 - max(panes) * PLANE_RESISTANCE, 0.0) if panes else None


def grille_temperature(
    supply: NDArray[np.float64], room: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Of a supply grille, degC, between its two films; it has no mass of its own."""
    share = ROOM_FILM / (ROOM_FILM + SUPPLY_FILM)
    return supply + share * (room - supply)


STEP_FIELDS = ("indoor_temperature", "indoor_rh", "supply_temperature", "fan_on")
"""What `surface_hours` needs of every step."""


def surface_hours(
    season: Season, steps: pd.DataFrame, temperature_factor: float | None = None
) -> pd.DataFrame:
    """Temperature and RH at the surfaces where mold and water show first, hour by hour.

    The corner is shaded and outdoors (no sun on it, no loss to the sky); where board and contents
    are colder than it, as in a cooled house in summer, they stand for it. Air at every surface holds
    the room's vapor. The grille has the air handler's supply, minute by minute: ducts that warm it
    on the way make the grille warmer than it is here. The board beside the register follows the
    grille's hourly mean by `BESIDE_REGISTER`. RH of a surface below the dew point is 100 percent.

    Parameters
    ----------
    season : Season
    steps : DataFrame
        ``season.steps(*STEP_FIELDS)``.
    temperature_factor : float, optional
        Of the coldest corner; by default `corner_factor`.

    Returns
    -------
    DataFrame
        By hour: `corner_temperature_C`, `corner_rh_pct`, `register_temperature_C`,
        `register_rh_pct`; `grille_wet_h`, the time with the blower on and the room's dew point above
        the grille's temperature; with windows, `glass_temperature_C` and `window_wet`, whether the
        dew point is above it.
    """
    hourly = season.hourly
    room, outdoors, mass, dew_point = (
        hourly[name].to_numpy(float)
        for name in (
            "indoor_temperature_C", "outdoor_temperature_C", "fast_mass_temperature_C",
            "indoor_dew_point_C",
        )
    )  # fmt: skip
    vapor = air.over(air.saturation_pressure, dew_point)
    factor = corner_factor(season.house) if temperature_factor is None else temperature_factor
    corner = np.minimum(outdoors + factor * (room - outdoors), np.minimum(room, mass))

    minute = {name: steps[name].to_numpy(float) for name in STEP_FIELDS}
    blowing = minute["fan_on"] > 0.0
    grille = minute["indoor_temperature"].copy()
    grille[blowing] = grille_temperature(minute["supply_temperature"][blowing], grille[blowing])
    # Only there can it be wet, and each saturation pressure costs.
    cold = np.flatnonzero(blowing & (grille < minute["indoor_temperature"]))
    wet = np.zeros(len(grille))
    saturated = air.over(air.saturation_pressure, grille[cold])
    in_air = minute["indoor_rh"][cold] * air.over(
        air.saturation_pressure, minute["indoor_temperature"][cold]
    )
    wet[cold] = in_air > saturated
    per_hour = len(grille) // len(hourly)
    register = room + BESIDE_REGISTER * (grille.reshape(-1, per_hour).mean(axis=1) - room)

    def rh(surface: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.minimum(100.0 * vapor / air.over(air.saturation_pressure, surface), 100.0)

    table = pd.DataFrame(
        {
            "corner_temperature_C": corner,
            "corner_rh_pct": rh(corner),
            "register_temperature_C": register,
            "register_rh_pct": rh(register),
            "grille_wet_h": wet.reshape(-1, per_hour).mean(axis=1),
        },
        index=hourly.index,
    )
    clear = glass_factor(season.house)
    if clear is None:
        return table
    glass = outdoors + clear * (room - outdoors)
    return table.assign(glass_temperature_C=glass, window_wet=glass < dew_point)
