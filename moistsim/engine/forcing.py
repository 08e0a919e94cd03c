"""From weather and house to the arrays that drive the loop, computed once for a season.

Weather acts at the middle of its hour and runs in straight lines from middle to middle; `nodes`
hold it every half hour. People and appliances are steps from hour to hour; `hours` hold them.
"""

from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.engine.household import (
    construction_moisture,
    ground_vapour,
    household,
    may_open,
)
from moistsim.engine.window_opening import WIND_EFFECTIVENESS
from moistsim.house import LEAKAGE_BY_STOREYS, SHELTER_FACTOR, House
from moistsim.weather import Weather

AIR_REFERENCE_PRESSURE = 50.0
"""Pa, of the blower-door test."""
OUTDOOR_FILM = 17.0
"""Combined outdoor film of sol-air temperature, W/(m2 K) (ASHRAE Fundamentals ch. 18)."""
SKY_LOSS = 63.0
"""Long-wave loss of a horizontal surface to a clear sky, W/m2 (the same); vertical ones: 0."""
GROUND_ALBEDO = 0.2

(
    SHOWER, SHOWER_SHARE, COOKING, COOKING_SHARE, OCCUPIED, GROUND_VAPOUR, CONSTRUCTION,
    OPENING_WIND, MAY_OPEN,
) = range(9, 18)  # fmt: skip
"""Columns of `Forcing.hours` beyond the first ones."""


class Forcing(NamedTuple):
    """Arrays for a stretch of n hours.

    `nodes` (2n + 1, 5): outdoor temperature (degC), humidity ratio (kg/kg), sol-air temperature
    (degC), sun through the windows (W), pressure (Pa), at each hour's start, middle, ... end.
    `hours` (n, 18): wind flow (m3/s), sensible gains (W), household moisture (kg/s), hour of the
    day, day of the year, month, outdoor RH (per cent), outdoor dew point (degC), density of
    outdoor dry air (kg/m3); then vapour of showers and of cooking (kg/s), each with the share of
    the hour, from its start, for which it lasts; whether people live there (1 or 0); vapour from
    the ground and water from new materials (kg/s); wind's flow through open windows (m3/s), and
    whether people would open them (1 or 0).
    """

    nodes: NDArray[np.float64]
    hours: NDArray[np.float64]

    def part(self, first: int, last: int) -> "Forcing":
        """The hours from `first` up to but not including `last`."""
        return Forcing(self.nodes[2 * first : 2 * last + 1], self.hours[first:last])


class Facade(NamedTuple):
    """One side of the plan: bearing in degrees, areas in m2."""

    bearing: float
    wall: float
    window: float


def facades(house: House) -> list[Facade]:
    """The four walls of a rectangular plan, from the front clockwise."""
    envelope = house.envelope
    footprint = house.floor_area / house.storeys
    front = np.sqrt(footprint * envelope.aspect)
    side = footprint / front
    height = house.ceiling_height * house.storeys
    sides = (
        (0.0, front, envelope.window_fraction_front),
        (90.0, side, envelope.window_fraction_left),
        (180.0, front, envelope.window_fraction_back),
        (270.0, side, envelope.window_fraction_right),
    )
    return [
        Facade(
            (envelope.orientation + turn) % 360.0,
            float(length * height * (1.0 - glazed)),
            float(length * height * glazed),
        )
        for turn, length, glazed in sides
    ]


def leakage_coefficient(house: House) -> float:
    """Flow coefficient of the blower-door line, m3/(s Pa^n)."""
    return float(
        house.ach50 * house.volume / 3600.0 / AIR_REFERENCE_PRESSURE**house.leakage_exponent
    )


def sun(house: House, weather: Weather) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Sol-air temperature (degC, weighted by UA) and sun through the windows (W), by hour.

    Solar position, irradiance on each plane (Hay & Davies) and the angular losses of glass are
    pvlib's. Sol-air temperature is t_out + a I / h_o - e dR / h_o (ASHRAE Fundamentals ch. 18).
    """
    import pvlib

    envelope, frame, times = house.envelope, weather.frame, weather.midpoints
    position = pvlib.solarposition.get_solarposition(
        times, weather.latitude, weather.longitude, altitude=weather.elevation
    )
    # On plain arrays: the frame's index is local, the midpoints' is aware.
    zenith = position["apparent_zenith"].to_numpy()
    azimuth = position["azimuth"].to_numpy()
    dni, ghi, dhi = (frame[name].to_numpy(float) for name in ("dni", "ghi", "dhi"))
    extra = pvlib.irradiance.get_extra_radiation(times).to_numpy()
    t_out = frame["temp_air"].to_numpy(float)

    def on_plane(tilt: float, bearing: float) -> dict[str, NDArray[np.float64]]:
        planes = pvlib.irradiance.get_total_irradiance(
            tilt, bearing, zenith, azimuth, dni, ghi, dhi,
            dni_extra=extra, albedo=GROUND_ALBEDO, model="haydavies",
        )  # fmt: skip
        return {name: np.asarray(values, float) for name, values in planes.items()}

    conductance = np.zeros(len(t_out))
    weighted = np.zeros(len(t_out))
    windows = np.zeros(len(t_out))
    glass = pvlib.iam.marion_diffuse("physical", 90.0)
    for facade in facades(house):
        plane = on_plane(90.0, facade.bearing)
        ua = envelope.wall_u * facade.wall
        sol_air = t_out + envelope.wall_absorptance * plane["poa_global"] / OUTDOOR_FILM
        conductance += ua
        weighted += ua * sol_air
        incidence = pvlib.irradiance.aoi(90.0, facade.bearing, zenith, azimuth)
        through = (
            plane["poa_direct"] * pvlib.iam.physical(incidence)
            + plane["poa_sky_diffuse"] * glass["sky"]
            + plane["poa_ground_diffuse"] * glass["ground"]
        )
        windows += facade.window * envelope.window_shgc * envelope.window_shading * through
    # The roof is taken as level: its sun is the measured global horizontal.
    roof = envelope.roof_u * house.floor_area / house.storeys
    conductance += roof
    weighted += roof * (t_out + (envelope.roof_absorptance * ghi - 0.9 * SKY_LOSS) / OUTDOOR_FILM)
    with_area = np.where(conductance > 0.0, conductance, 1.0)
    return np.where(conductance > 0.0, weighted / with_area, t_out), windows


def force(house: House, weather: Weather) -> Forcing:
    """The forcing of a house for every hour that the weather has."""
    frame = weather.frame
    t_out = frame["temp_air"].to_numpy(float)
    w_out = frame["humidity_ratio"].to_numpy(float)
    pressure = frame["pressure"].to_numpy(float)
    sol_air, windows = sun(house, weather)
    middles = np.column_stack([t_out, w_out, sol_air, windows, pressure])
    nodes = np.empty((2 * len(frame) + 1, middles.shape[1]))
    nodes[1::2] = middles
    nodes[2:-1:2] = 0.5 * (middles[:-1] + middles[1:])
    # Before the first middle and after the last one the weather stands still for half an hour.
    nodes[0], nodes[-1] = middles[0], middles[-1]

    leakage = LEAKAGE_BY_STOREYS[int(house.storeys)]
    speed = (
        SHELTER_FACTOR[int(house.shelter)]
        * leakage.speed_multiplier
        * frame["wind_speed"].to_numpy(float)
    )
    wind = leakage_coefficient(house) * leakage.wind * speed ** (2.0 * house.leakage_exponent)
    index = pd.DatetimeIndex(frame.index)
    home = household(house, index)
    opening = house.window_opening
    open_area = opening.area if opening is not None else 0.0
    rh = air.over(air.relative_humidity, t_out, w_out, pressure)
    hours = np.column_stack(
        [
            wind,
            home.sensible,
            home.moisture,
            index.hour + index.minute / 60.0,
            index.day_of_year,
            index.month,
            100.0 * rh,
            frame["temp_dew"].to_numpy(float),
            air.over(air.dry_air_density, t_out, w_out, pressure),
            home.shower,
            home.shower_share,
            home.cooking,
            home.cooking_share,
            home.occupied,
            ground_vapour(house, index),
            construction_moisture(house, index),
            WIND_EFFECTIVENESS * open_area * speed,
            may_open(house, opening, index, home.occupied),
        ]
    )
    return Forcing(nodes, np.ascontiguousarray(hours, dtype=float))
