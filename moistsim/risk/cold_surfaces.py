"""Cold indoor surfaces, and the relative humidity at them."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine import skin
from moistsim.house import House
from moistsim.season import Season

CORNER_RESISTANCE = 0.25
"""Inside surface resistance where mold is judged, m2 K/W: still air in corners and behind furniture
(ISO 13788, from memory)."""
PLANE_RESISTANCE = 0.13
"""Inside surface resistance of a plane wall and of glass, m2 K/W (ISO 6946, from memory)."""
LEAST_RESISTANCE = 0.04
"""Minimum resistance beyond the inside film, m2 K/W: the outside film (ISO 6946, from memory)."""
CORNER_HEAT = 2.0
"""Heat conduction of a corner with its framing, over that of the plane wall. Our own choice: a wall of
0.5 W/(m2 K) gets a factor of 0.79, and a wall of 1 W/(m2 K) gets 0.63. Good detailing keeps 0.7."""

SUPPLY_FILM, ROOM_FILM = 25.0, 8.0
"""Heat transfer coefficients of a supply grille, W/(m2 K), on the supply side and on the room side.
The supply air moves at a few meters a second; the room has still air and radiation. Our own round
figures."""
BESIDE_REGISTER = 0.5
"""Share of the grille's temperature in the temperature of the board around it. Our own choice."""


def corner_factor(house: House) -> float:
    """Temperature factor of the coldest corner: (surface - outdoors) / (room - outdoors), 0 to 1.

    The factor (f_Rsi of ISO 13788) follows from the wall or roof with the highest U-value. In the
    corner, its thermal resistance beyond the inside film is divided by `CORNER_HEAT`.

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
    """Temperature factor of the window with the highest U-value, at mid-pane; None without windows.

    Edges of glass and metal frames are colder, so water shows there earlier.
    """
    panes = [window.u for window in skin(house).windows]
    return max(1.0 - max(panes) * PLANE_RESISTANCE, 0.0) if panes else None


def grille_temperature(
    supply: NDArray[np.float64], room: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the temperature of a supply grille, degC, between its two films; it has no mass."""
    share = ROOM_FILM / (ROOM_FILM + SUPPLY_FILM)
    return supply + share * (room - supply)


STEP_FIELDS = ("indoor_temperature", "indoor_rh", "supply_temperature", "fan_on")
"""Fields of a step that `surface_hours` reads."""


def surface_hours(
    season: Season, steps: pd.DataFrame, temperature_factor: float | None = None
) -> pd.DataFrame:
    """Return temperature and RH at the surfaces where mold and water show first, by hour.

    The corner gets no sun and loses no heat to the sky. In a cooled house in summer, board and
    contents may be colder than the corner; then their temperature is used. Air at each surface has
    the room's vapor pressure. The grille has the supply air of the air handler in each step; real
    ducts warm the air on the way. The board next to the register follows the grille's hourly mean by
    `BESIDE_REGISTER`. A surface below the dew point has 100 percent RH.

    Parameters
    ----------
    season : Season
    steps : DataFrame
        ``season.steps(*STEP_FIELDS)``.
    temperature_factor : float, optional
        Temperature factor of the coldest corner; default: `corner_factor`.

    Returns
    -------
    DataFrame
        By hour: `corner_temperature_C`, `corner_rh_pct`, `register_temperature_C`,
        `register_rh_pct`, and `grille_wet_h`, the time with the blower on and the room's dew point
        above the grille's temperature. With windows also `glass_temperature_C` and `window_wet`,
        whether the dew point is above the glass temperature.
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
    # Only a cold grille can be wet, and each saturation pressure takes time.
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
