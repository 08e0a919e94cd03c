"""Arrays from weather and house that drive the loop, calculated once for a season.

The values of the weather are those of the middle of each hour, with straight lines between them.
`nodes` hold them every half hour. People and appliances change in steps from hour to hour, and
`hours` hold them.
"""

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Any, NamedTuple, cast

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.units import Stated
from moistsim.engine.division import parted
from moistsim.engine.forcing_tables import (
    Forcing,
    Hour,
    Node,
    nothing,
    nothing_imposed,
    rows,
)
from moistsim.engine.glass import beam_past_overhang, diffuse_modifier, modifier, sky_past_overhang
from moistsim.engine.ground import ground_temperature
from moistsim.engine.household import (
    apart,
    construction_moisture,
    ground_vapor,
    household,
    may_open,
)
from moistsim.engine.infiltration import infiltration, local_wind
from moistsim.engine.soil import beyond_soil
from moistsim.engine.space_forcing import Sun, space_hours, space_nodes
from moistsim.engine.window_opening import WIND_EFFECTIVENESS
from moistsim.house import UPRIGHT, Envelope, House, Surface, Window
from moistsim.weather import Weather

OUTDOOR_FILM = 17.0
"""Combined outdoor film of sol-air temperature, W/(m2 K) (ASHRAE Fundamentals ch. 18)."""
SKY_LOSS = 63.0
"""Long-wave loss of a horizontal surface to a clear sky, W/m2 (ASHRAE Fundamentals ch. 18).

A vertical surface has none. Between the two, our own rule is the cosine of the tilt."""
EMISSIVITY = 0.9
"""Long-wave emissivity of outdoor surfaces."""
GROUND_ALBEDO = 0.2
"""Albedo of the ground around the house."""


class Skin(NamedTuple):
    """Surfaces and windows of a house that face the weather."""

    surfaces: tuple[Surface, ...]
    windows: tuple[Window, ...]


def skin(house: House) -> Skin:
    """Surfaces and windows of a house, as described one by one or from its box.

    The box has the four walls of a rectangular plan, from the front clockwise, and a level roof.
    """
    envelope = house.envelope
    if envelope.surfaces:
        return Skin(envelope.surfaces, envelope.windows)
    return _box(envelope, house.footprint, house.ceiling_height * house.stories)


@lru_cache(maxsize=256)
def _box(envelope: Envelope, footprint: float, height: float) -> Skin:
    """Surfaces and windows of a box, kept because a run needs them many times."""
    glazed_share = envelope.window_to_wall_ratio
    front = math.sqrt(footprint * envelope.aspect)
    side = footprint / front
    walls, windows = [], []
    for turn, length, glazed in (
        (0.0, front, glazed_share.front),
        (90.0, side, glazed_share.left),
        (180.0, front, glazed_share.back),
        (270.0, side, glazed_share.right),
    ):
        bearing = (envelope.orientation + turn) % 360.0
        walls.append(
            Surface(
                area=Stated(length * height * (1.0 - glazed)), u=envelope.wall_u, azimuth=bearing,
                absorptance=envelope.wall_absorptance,
            )
        )  # fmt: skip
        if glazed > 0.0:
            windows.append(
                Window(
                    area=Stated(length * height * glazed), azimuth=bearing, u=envelope.window_u,
                    shgc=envelope.window_shgc, incidence=envelope.window_incidence,
                    shading=envelope.window_shading,
                )
            )  # fmt: skip
    roof = Surface(
        area=Stated(footprint), u=envelope.roof_u, tilt=0.0, absorptance=envelope.roof_absorptance
    )
    return Skin((*walls, roof), tuple(windows))


def roof_of(house: House) -> tuple[Surface, ...]:
    """Roof of a house: surfaces that are not vertical."""
    return tuple(surface for surface in skin(house).surfaces if surface.tilt != UPRIGHT)


def walls_of(house: House) -> tuple[Surface, ...]:
    """Walls of a house: vertical surfaces."""
    return tuple(surface for surface in skin(house).surfaces if surface.tilt == UPRIGHT)


def zone_surfaces(house: House, second: bool = False) -> tuple[Surface, ...]:
    """Surfaces between a zone's rooms and the weather: the skin without what a space takes.

    The roof belongs to an attic. A garage takes its wall from all walls of the main zone alike.

    Parameters
    ----------
    second : bool
        Whether the zone is the second one.
    """
    if house.attic is None and house.garage is None:
        return parted(house, skin(house).surfaces, second)
    walls = parted(house, walls_of(house), second)
    roof = parted(house, roof_of(house), second) if house.attic is None else ()
    if house.garage is not None and not second:
        area = math.fsum(wall.area for wall in walls)
        left = max(area - house.garage.shared_wall_area, 1e-6 * area)
        walls = tuple(
            attrs.evolve(cast(Any, wall), area=Stated(wall.area * left / area)) for wall in walls
        )
    return (*walls, *roof)


def zone_windows(house: House, second: bool = False) -> tuple[Window, ...]:
    """Windows of a zone."""
    return parted(house, skin(house).windows, second)


@lru_cache(maxsize=8)
def _sky(weather: Weather) -> tuple[NDArray[np.float64], ...]:
    """Zenith and azimuth of the sun, degrees, and extraterrestrial irradiance, W/m2.

    They are kept, because they are alike for all houses.
    """
    import pvlib

    sun = weather.solar_position
    # Plain arrays, because the frame's index is local and that of the midpoints has a time zone.
    extra = pvlib.irradiance.get_extra_radiation(weather.midpoints).to_numpy(float)
    extra.setflags(write=False)
    return sun.apparent_zenith, sun.azimuth, extra


@lru_cache(maxsize=8)
def _outdoor_air(weather: Weather) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Outdoor relative humidity, 0 to 1, and density of dry air, kg/m3, kept for all houses."""
    state = tuple(
        weather.frame[name].to_numpy(float) for name in ("temp_air", "humidity_ratio", "pressure")
    )
    found = air.over(air.relative_humidity, *state), air.over(air.dry_air_density, *state)
    for array in found:
        array.setflags(write=False)
    return found


class _Light(NamedTuple):
    """Irradiance on a plane by hour, W/m2."""

    whole: NDArray[np.float64]
    beam: NDArray[np.float64]
    from_sky: NDArray[np.float64]
    from_ground: NDArray[np.float64]


@lru_cache(maxsize=16)
def _light(weather: Weather, tilt: float, bearing: float) -> _Light:
    """Irradiance on a plane by the Hay & Davies model, W/m2.

    It is kept for all houses with such a plane.
    """
    import pvlib

    zenith, azimuth, extra = _sky(weather)
    dni, ghi, dhi = (weather.frame[name].to_numpy(float) for name in ("dni", "ghi", "dhi"))
    planes = pvlib.irradiance.get_total_irradiance(
        tilt, bearing, zenith, azimuth, dni, ghi, dhi,
        dni_extra=extra, albedo=GROUND_ALBEDO, model="haydavies",
    )  # fmt: skip
    names = ("poa_global", "poa_direct", "poa_sky_diffuse", "poa_ground_diffuse")
    found = _Light(*(np.asarray(planes[name], float) for name in names))
    for array in found:
        array.setflags(write=False)
    return found


@lru_cache(maxsize=16)
def _modified_beam(
    weather: Weather, glass: str, tilt: float, bearing: float
) -> NDArray[np.float64]:
    """Beam irradiance on glass in a plane, times the incidence-angle modifier, W/m2."""
    import pvlib

    zenith, azimuth, _ = _sky(weather)
    incidence = pvlib.irradiance.aoi(tilt, bearing, zenith, azimuth)
    found = _light(weather, tilt, bearing).beam * modifier(glass)(incidence)
    found.setflags(write=False)
    return found


class _Facing(NamedTuple):
    """Parts of a house that face the weather, by the air behind them."""

    surfaces: tuple[Surface, ...]
    windows: tuple[Window, ...]
    roof: tuple[Surface, ...]
    walls: tuple[Surface, ...]
    second_surfaces: tuple[Surface, ...]
    second_windows: tuple[Window, ...]


def sun(house: House, weather: Weather) -> Sun:
    """Sol-air temperatures, degC, and the sun through the windows, W; see `_sunlit`."""
    parts = _Facing(
        zone_surfaces(house),
        zone_windows(house),
        roof_of(house),
        walls_of(house),
        zone_surfaces(house, second=True),
        zone_windows(house, second=True),
    )
    return _sunlit(parts, weather)


@lru_cache(maxsize=16)
def _sunlit(parts: _Facing, weather: Weather) -> Sun:
    """Sol-air temperatures, degC, and the sun through the windows, W.

    Solar position and irradiance on each plane (Hay & Davies) are pvlib's. Sol-air temperature is
    t_out + a I / h_o - e dR / h_o (ASHRAE Fundamentals ch. 18). A level roof has the measured
    global horizontal. An overhang shades the light around the sun as it shades the beam. It is kept
    for all houses with these parts.
    """
    frame = weather.frame
    zenith, azimuth, extra = _sky(weather)
    dni, ghi, dhi = (frame[name].to_numpy(float) for name in ("dni", "ghi", "dhi"))
    t_out = frame["temp_air"].to_numpy(float)

    def at_surface(surface: Surface) -> NDArray[np.float64]:
        level = surface.tilt == 0.0
        falling = ghi if level else _light(weather, surface.tilt, surface.azimuth).whole
        loss = EMISSIVITY * SKY_LOSS * cosine_of_tilt(surface.tilt)
        return t_out + (surface.absorptance * falling - loss) / OUTDOOR_FILM

    def mean_of(
        surfaces: tuple[Surface, ...], weight: Callable[[Surface], float]
    ) -> NDArray[np.float64]:
        """Mean sol-air temperature of surfaces; the outdoor dry bulb without any weight."""
        total, weighted = 0.0, np.zeros(len(t_out))
        for surface in surfaces:
            total += weight(surface)
            weighted += weight(surface) * at_surface(surface)
        return weighted / total if total > 0.0 else t_out

    winter = in_winter(weather)

    def through(window: Window) -> NDArray[np.float64]:
        """Sun through a window, W."""
        plane = _light(weather, window.tilt, window.azimuth)
        to_sky, to_ground = diffuse_modifier(window.incidence, window.tilt)
        beam = _modified_beam(weather, window.incidence, window.tilt, window.azimuth)
        sky = plane.from_sky
        if window.overhang_depth > 0.0:
            import pvlib

            parts = pvlib.irradiance.haydavies(
                window.tilt, window.azimuth, dhi, dni, extra, zenith, azimuth,
                return_components=True,
            )  # fmt: skip
            lit = beam_past_overhang(window, zenith, azimuth)
            around_the_sun = np.asarray(parts["poa_circumsolar"], float)
            beam = beam * lit
            sky = around_the_sun * lit + (sky - around_the_sun) * sky_past_overhang(window)
        passing = beam + sky * to_sky + plane.from_ground * to_ground
        cold_half = window.shading if window.shading_winter is None else window.shading_winter
        shading = np.where(winter, cold_half, window.shading)
        return np.asarray(window.area * window.shgc * shading * passing)

    def through_all(windows: tuple[Window, ...]) -> NDArray[np.float64]:
        return sum(map(through, windows), np.zeros(len(t_out)))

    found = Sun(
        mean_of(parts.surfaces, by_ua),
        through_all(parts.windows),
        mean_of(parts.roof, lambda surface: surface.area),
        mean_of(parts.walls, lambda surface: surface.area),
        mean_of(parts.second_surfaces, by_ua),
        through_all(parts.second_windows),
    )
    for array in found:
        array.setflags(write=False)
    return found


def by_ua(surface: Surface) -> float:
    """Conductance of a surface, W/K."""
    return surface.u * surface.area


def cosine_of_tilt(tilt: float) -> float:
    """Cosine of a tilt: 1 for a level surface and exactly 0 for a vertical one."""
    return 0.0 if tilt == UPRIGHT else math.cos(math.radians(tilt))


def in_winter(weather: Weather) -> NDArray[np.bool_]:
    """Hours of the winter half year: October to March in the north, April to September south."""
    month = pd.DatetimeIndex(weather.frame.index).month
    north = (month <= 3) | (month >= 10)
    return np.asarray(north if weather.latitude >= 0.0 else ~north)


class _Given(NamedTuple):
    """Weather and clock by hour that no house changes."""

    t_out: NDArray[np.float64]
    w_out: NDArray[np.float64]
    pressure: NDArray[np.float64]
    wind_speed: NDArray[np.float64]
    dew_point: NDArray[np.float64]
    hour: NDArray[np.float64]
    """Hour of the day at which the hour starts."""
    day: NDArray[np.float64]
    month: NDArray[np.float64]


@lru_cache(maxsize=8)
def _given(weather: Weather) -> _Given:
    """Weather and clock by hour, kept for all houses."""
    index, frame = weather.hours, weather.frame
    found = _Given(
        frame["temp_air"].to_numpy(float),
        frame["humidity_ratio"].to_numpy(float),
        frame["pressure"].to_numpy(float),
        frame["wind_speed"].to_numpy(float),
        frame["temp_dew"].to_numpy(float),
        np.asarray(index.hour + index.minute / 60.0, dtype=float),
        np.asarray(index.day_of_year, dtype=float),
        np.asarray(index.month, dtype=float),
    )
    for array in found:
        array.setflags(write=False)
    return found


def force(house: House, weather: Weather) -> Forcing:
    """Forcing of a house for every hour of the weather."""
    given = _given(weather)
    t_out, wind_speed = given.t_out, given.wind_speed
    sunlit = sun(house, weather)
    middles = rows(
        Node,
        temperature=t_out,
        humidity_ratio=given.w_out,
        sol_air=sunlit.sol_air,
        sun=sunlit.windows,
        pressure=given.pressure,
    )
    middles = np.hstack([middles, *space_nodes(house, sunlit, t_out)])
    nodes = np.empty((2 * len(t_out) + 1, middles.shape[1]))
    nodes[1::2] = middles
    nodes[2:-1:2] = 0.5 * (middles[:-1] + middles[1:])
    # The weather is constant for half an hour before the first middle and after the last one.
    nodes[0], nodes[-1] = middles[0], middles[-1]

    wind = infiltration(house).by_wind(wind_speed)
    index = weather.hours
    hour = np.floor(given.hour).astype(int)
    home, second = apart(house, household(house, index))
    opening = house.window_opening
    open_area = opening.area if opening is not None else 0.0
    rh, density = _outdoor_air(weather)
    ground = ground_temperature(house.envelope.ground, weather)
    from_ground = ground_vapor(house, index)
    below = house.crawl_space is not None or house.basement is not None
    dryer, range_hood, bath_fans = (
        np.array(fan.share_of_hour)[hour] if fan else np.zeros(len(hour))
        for fan in house.exhausts.fans
    )
    hours = rows(
        Hour,
        wind=wind,
        gains=home.sensible,
        moisture=home.moisture,
        hour=given.hour,
        day=given.day,
        month=given.month,
        outdoor_rh=100.0 * rh,
        outdoor_dew_point=given.dew_point,
        density=density,
        ground=ground,
        dryer=dryer,
        range_hood=range_hood,
        bath_fans=bath_fans,
        shower=home.shower,
        shower_share=home.shower_share,
        cooking=home.cooking,
        cooking_share=home.cooking_share,
        occupied=home.occupied,
        ground_vapor=np.zeros(len(hour)) if below else from_ground,
        construction=construction_moisture(house, index),
        opening_wind=WIND_EFFECTIVENESS * open_area * local_wind(house) * wind_speed,
        may_open=may_open(house, opening, index, home.occupied),
    )
    beyond = beyond_soil(house, weather)
    hours = np.hstack([hours, *space_hours(house, wind_speed, ground, beyond, from_ground, second)])
    n = len(hours)
    return Forcing(nodes, np.ascontiguousarray(hours), nothing(n), nothing_imposed(n))
