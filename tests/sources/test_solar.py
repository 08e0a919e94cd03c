"""Source: pvlib's isotropic and Perez transposition models; ASHRAE Fundamentals ch. 18.

Sun on façades, against pvlib with other transposition models than the engine's (Hay & Davies):
isotropic (Hottel & Woertz 1942) and Perez et al. (1990); and the long-wave term of sol-air
temperature, ASHRAE Handbook of Fundamentals ch. 18 (from memory): 63 W/m2 to a clear sky.
"""

import numpy as np
import pandas as pd
import pvlib
import pytest
from numpy.typing import NDArray
from support import houses, weathers

from moistsim import Envelope, House, Surface, Weather, WindowToWallRatio
from moistsim.engine.forcing import sun

SIDES = ("front", "left", "back", "right")
BEARINGS = {"north": 0.0, "east": 90.0, "south": 180.0, "west": 270.0}
SHGC = 0.5
NO_GLASS = dict.fromkeys(SIDES, 0.0)


def glazed(bearing: float, side: str = "front") -> House:
    """A square house whose front faces `bearing`, with 10 m2 of glass on one side."""
    return houses.bare_house(
        envelope={
            "orientation": bearing,
            "window_to_wall_ratio": WindowToWallRatio(**{**NO_GLASS, side: 0.4}),
            "window_shgc": SHGC,
            "window_shading": 1.0,
        }
    )


@pytest.fixture(scope="module")
def miami() -> Weather:
    return Weather.sample("miami")


def on_days(weather: Weather, values: NDArray[np.float64]) -> pd.Series:
    """Daily sums, Wh."""
    return pd.Series(values, index=weather.frame.index).resample("D").sum()


def through(weather: Weather, bearing: float, side: str = "front") -> pd.Series:
    """Sun through a m2 of glass of SHGC 1, Wh a day, as the engine has it."""
    windows = sun(glazed(bearing, side), weather).windows
    return on_days(weather, windows / 10.0 / SHGC)


def reference(weather: Weather, bearing: float, model: str) -> pd.Series:
    """The same by pvlib: another sky, and ASHRAE's incidence-angle modifier (b = 0.05).

    Diffuse light passes glass as if it came at 58 degrees (Brandemuehl & Beckman 1980).
    """
    times, frame = weather.midpoints, weather.frame.set_axis(weather.midpoints)
    position = pvlib.solarposition.get_solarposition(times, weather.latitude, weather.longitude)
    plane = pvlib.irradiance.get_total_irradiance(
        90.0, bearing, position["apparent_zenith"], position["azimuth"],
        frame["dni"], frame["ghi"], frame["dhi"],
        dni_extra=pvlib.irradiance.get_extra_radiation(times),
        airmass=pvlib.atmosphere.get_relative_airmass(position["apparent_zenith"]),
        albedo=0.2, model=model,
    ).fillna(0.0)  # fmt: skip
    incidence = pvlib.irradiance.aoi(
        90.0, bearing, position["apparent_zenith"], position["azimuth"]
    )
    beam = plane["poa_direct"] * pvlib.iam.ashrae(incidence, b=0.05)
    diffuse = plane["poa_diffuse"] * pvlib.iam.ashrae(58.0, b=0.05)
    return on_days(weather, (beam + diffuse).to_numpy())


@pytest.mark.parametrize("bearing", BEARINGS.values(), ids=BEARINGS)
def test_daily_sun_through_glass_by_perez(miami: Weather, bearing: float) -> None:
    """The year within 5 percent, days within 30, and in step with each other.

    Transposition models differ among themselves by as much on vertical planes; the two
    incidence-angle modifiers differ by 3 percent of the beam.
    """
    ours, theirs = through(miami, bearing), reference(miami, bearing, "perez")
    assert ours.sum() == pytest.approx(theirs.sum(), rel=0.05)
    assert ours.to_numpy() == pytest.approx(theirs.to_numpy(), rel=0.30)
    assert np.corrcoef(ours, theirs)[0, 1] > 0.94


@pytest.mark.parametrize("bearing", BEARINGS.values(), ids=BEARINGS)
def test_daily_sun_through_glass_by_an_isotropic_sky(miami: Weather, bearing: float) -> None:
    """Daily sun through glass agrees with an isotropic sky, except to the north.

    The same, but for the north: an isotropic sky spreads the light from around the sun over all
    of it and gives the shaded side a share, so that ours must be less there, by 10 to 25 percent
    (the light around the sun is a third to a half of the diffuse light of a clear sky).
    """
    ours, theirs = through(miami, bearing), reference(miami, bearing, "isotropic")
    if bearing == BEARINGS["north"]:
        assert 0.75 < ours.sum() / theirs.sum() < 0.90
        assert ours.to_numpy() == pytest.approx(theirs.to_numpy(), rel=0.30)
        assert (ours <= theirs).all()
    else:
        assert ours.sum() == pytest.approx(theirs.sum(), rel=0.05)
        assert ours.to_numpy() == pytest.approx(theirs.to_numpy(), rel=0.30)
    assert np.corrcoef(ours, theirs)[0, 1] > 0.94


def test_south_and_north_at_miami(miami: Weather) -> None:
    """South and north walls at Miami differ by season as the sun's path says.

    In December the south has several times the north's sun; in June, with the sun 2 degrees
    from the zenith at noon and north of east and west in the morning and evening, less.
    """
    south, north = through(miami, 180.0), through(miami, 0.0)
    assert south["1990-12"].sum() > 3.0 * north["1990-12"].sum()
    assert south["1990-06"].sum() < north["1990-06"].sum()


@pytest.mark.parametrize("turn", range(4))
def test_sides_go_clockwise_from_the_front(miami: Weather, turn: int) -> None:
    """The sides of a house follow one another clockwise.

    Seen from outside, the left of a front that faces south is the west side: what stands on
    side k of a house turned by 90 k degrees less is what stands on the front.
    """
    west = through(miami, 270.0)
    bearing = (270.0 - 90.0 * turn) % 360.0
    assert np.allclose(through(miami, bearing, SIDES[turn]), west)


def symmetric_day() -> Weather:
    """An invented cloudless 13 June on the meridian of its time zone.

    The equation of time is nil that day and the declination nearly still, so that morning and
    afternoon mirror each other.
    """
    index = pd.date_range("2001-06-13", periods=24, freq="h", name="time")
    middles = (index + pd.Timedelta("30min")).tz_localize("Etc/GMT+6")
    zenith = pvlib.solarposition.get_solarposition(middles, 30.0, -90.0)["zenith"].to_numpy()
    up = np.cos(np.radians(zenith)).clip(0.0)
    flat = weathers.flat(25.0, 0.010, days=1)
    frame = flat.frame.set_axis(index)
    frame["dni"], frame["dhi"] = 800.0 * (up > 0.0), 120.0 * up
    frame["ghi"] = frame["dni"] * up + frame["dhi"]
    return Weather(
        frame=frame, latitude=30.0, longitude=-90.0, utc_offset=-6.0, elevation=0.0, label="start"
    )


def test_morning_and_afternoon_mirror_each_other() -> None:
    """East's hours are west's in reverse."""
    weather = symmetric_day()
    east, west = (sun(glazed(BEARINGS[side]), weather).windows for side in ("east", "west"))
    assert east == pytest.approx(west[::-1], abs=0.002 * west.max())
    assert east[:11].sum() > 2.0 * east[13:].sum()


def roofed(**envelope: float) -> House:
    return houses.bare_house(envelope=envelope)


def test_roof_at_night_is_below_the_air() -> None:
    """0.9 x 63 / 17 = 3.3 K, and walls are at the air's temperature."""
    climate = weathers.flat(20.0, 0.008, days=1)
    roof = sun(roofed(roof_u=0.2), climate).sol_air
    assert roof == pytest.approx(np.full(24, 20.0 - 3.335), abs=0.001)
    walls = sun(roofed(wall_u=0.5), climate).sol_air
    assert walls == pytest.approx(np.full(24, 20.0), abs=1e-12)
    # Together by conductance: 100 m2 of each, 20 of 70 W/K in the roof.
    both = sun(roofed(roof_u=0.2, wall_u=0.5), climate).sol_air
    assert both == pytest.approx(np.full(24, 20.0 - 3.335 * 20.0 / 70.0), abs=0.001)


def test_roof_in_the_sun_by_hand(miami: Weather) -> None:
    """Flat, absorptance 0.8: t + (0.8 GHI - 0.9 x 63) / 17; at 1000 W/m2 that is 43.7 K above.

    On the invented day beam, diffuse and global light close, and refraction near the horizon is
    all that is left, 0.1 K. In the sample they close to some tens of W/m2 an hour (the sun moves
    within it), which cancels over the year.
    """
    house = roofed(roof_u=0.2, roof_absorptance=0.8)

    def by_hand(weather: Weather) -> NDArray[np.float64]:
        frame = weather.frame
        rise = (0.8 * frame["ghi"] - 0.9 * 63.0) / 17.0
        return (frame["temp_air"] + rise).to_numpy()

    day = symmetric_day()
    assert sun(house, day).sol_air == pytest.approx(by_hand(day), abs=0.11)
    assert sun(house, miami).sol_air.mean() == pytest.approx(by_hand(miami).mean(), abs=0.1)


def on_slope(weather: Weather, tilt: float, bearing: float) -> pd.Series:
    """Sun on a slope of the roof, Wh/m2 a day, from its sol-air temperature."""
    slope = Surface(area=80.0, u=0.2, azimuth=bearing, tilt=tilt, absorptance=0.8)
    house = House(floor_area=100.0, envelope=Envelope(surfaces=[slope]))
    rise = sun(house, weather)[0] - weather.frame["temp_air"].to_numpy()
    loss = 0.9 * 63.0 * np.cos(np.radians(tilt))
    return on_days(weather, (17.0 * rise + loss) / 0.8)


@pytest.mark.parametrize("tilt", [20.0, 45.0])
@pytest.mark.parametrize("bearing", BEARINGS.values(), ids=BEARINGS)
def test_a_tilted_roof_by_perez(miami: Weather, bearing: float, tilt: float) -> None:
    """Sun on a slope agrees with Perez's sky.

    What falls on a slope against Perez's sky: the year within 4 percent, days within 25, or
    within 250 Wh/m2 where the slope lies in its own shade (four winter days of the steep north).
    """
    times, frame = miami.midpoints, miami.frame.set_axis(miami.midpoints)
    position = pvlib.solarposition.get_solarposition(times, miami.latitude, miami.longitude)
    theirs = on_days(
        miami,
        pvlib.irradiance.get_total_irradiance(
            tilt, bearing, position["apparent_zenith"], position["azimuth"],
            frame["dni"], frame["ghi"], frame["dhi"],
            dni_extra=pvlib.irradiance.get_extra_radiation(times),
            airmass=pvlib.atmosphere.get_relative_airmass(position["apparent_zenith"]),
            albedo=0.2, model="perez",
        )["poa_global"].fillna(0.0).to_numpy(),
    )  # fmt: skip
    ours = on_slope(miami, tilt, bearing)
    print(tilt, bearing, ours.sum() / theirs.sum(), (ours / theirs).min(), (ours / theirs).max())
    assert ours.sum() == pytest.approx(theirs.sum(), rel=0.04)
    assert ours.to_numpy() == pytest.approx(theirs.to_numpy(), rel=0.25, abs=250.0)
    assert np.corrcoef(ours, theirs)[0, 1] > 0.98


def test_slopes_differ(miami: Weather) -> None:
    """Slopes to the south and to the north differ in December, less in June.

    In December a slope of 30 degrees has half as much sun again to the south as to the north,
    in June, with the sun near the zenith, about as much; a level roof lies between in winter.
    """
    south, north = (on_slope(miami, 30.0, BEARINGS[side]) for side in ("south", "north"))
    level = on_days(miami, miami.frame["ghi"].to_numpy())
    assert south["1990-12"].sum() > 1.5 * north["1990-12"].sum()
    assert south["1990-06"].sum() == pytest.approx(north["1990-06"].sum(), rel=0.15)
    assert north["1990-12"].sum() < level["1990-12"].sum() < south["1990-12"].sum()
