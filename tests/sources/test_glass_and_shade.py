"""Source: ASHRAE Fundamentals ch. 15, glass at a slant, from memory; overhangs by geometry.

Glass at a slant against the tables of ASHRAE Handbook of Fundamentals ch. 15 (from memory), and
overhangs against geometry by hand, rays cast in space and the sky summed up piece by piece.
"""

import numpy as np
import pvlib
import pytest

from moistsim import Window
from moistsim.engine.glass import (
    beam_past_overhang,
    diffuse_modifier,
    modifier,
    sky_past_overhang,
    through_panes,
)
from moistsim.house.surfaces import GLASS

ANGLES = [0.0, 40.0, 50.0, 60.0, 70.0, 80.0]
# Solar heat gain coefficients of uncoated clear glass, 3 mm, at these angles, and for diffuse
# light; single, double and triple.
SHGC = {
    "one pane": ([0.86, 0.84, 0.82, 0.78, 0.67, 0.42], 0.78),
    "two panes": ([0.76, 0.74, 0.71, 0.64, 0.50, 0.26], 0.66),
    "three panes": ([0.68, 0.65, 0.62, 0.54, 0.39, 0.18], 0.57),
}
# Double with a low-emissivity coating on the outer pane.
COATED = [0.41, 0.40, 0.38, 0.34, 0.27, 0.14]
WITHIN = {"one pane": 0.02, "two panes": 0.03, "three panes": 0.06}
"""Of SHGC at normal incidence. The tables hold what panes absorb and give to the room, too, and
coarse rounding (0.01 of 0.68 is 0.015)."""


@pytest.mark.parametrize("glass", SHGC)
def test_incidence_angles_against_the_tables(glass: str) -> None:
    table, diffuse = SHGC[glass]
    theirs = np.array(table) / table[0]
    ours = modifier(glass)(np.array(ANGLES))
    print(glass, ours.round(3), theirs.round(3), diffuse_modifier(glass, 90.0), diffuse / table[0])
    assert ours == pytest.approx(theirs, abs=WITHIN[glass])
    assert diffuse_modifier(glass, 90.0)[0] == pytest.approx(diffuse / table[0], abs=0.03)


def test_coated_double_glass_falls_off_as_clear_double_glass_does() -> None:
    theirs = np.array(COATED) / COATED[0]
    assert modifier("two panes")(np.array(ANGLES)) == pytest.approx(theirs, abs=0.035)


@pytest.mark.parametrize("glass", GLASS)
def test_limits(glass: str) -> None:
    """1 at normal incidence, nothing along the glass or from behind, never rising in between."""
    ours = np.asarray(modifier(glass)(np.arange(0.0, 181.0)))
    assert ours[0] == pytest.approx(1.0, abs=1e-12)
    assert np.allclose(ours[90:], 0.0, atol=1e-9)
    assert (np.diff(ours) < 1e-12).all()


def test_more_panes_let_less_by() -> None:
    for angle in (60.0, 80.0):
        falling = [float(modifier(glass)(angle)) for glass in GLASS]
        assert falling == sorted(falling, reverse=True)


def test_one_pane_by_fresnel_at_brewster_s_angle() -> None:
    """One pane reflects as Fresnel's equations say at Brewster's angle.

    At atan(n) light along the plane of incidence is not reflected at all, that across it by
    ((n² - 1)/(n² + 1))²; at normal incidence both by ((n - 1)/(n + 1))².
    """
    n, thick = 1.526, 0.10
    across = ((n**2 - 1.0) / (n**2 + 1.0)) ** 2
    normal = ((n - 1.0) / (n + 1.0)) ** 2
    inside = np.sin(np.arctan(n))  # the cosine of the refracted ray
    passed = 0.5 * (1.0 + (1.0 - across) / (1.0 + across)) * np.exp(-thick / inside)
    straight = (1.0 - normal) / (1.0 + normal) * np.exp(-thick)
    assert straight == pytest.approx(0.83, abs=0.005)  # 3 mm of clear float, same tables
    angle = np.degrees(np.arctan(n))
    assert through_panes(angle, 1) == pytest.approx(passed / straight, rel=1e-12)


def test_one_surface_is_pvlib_s() -> None:
    angles = np.linspace(0.0, 89.0, 90)
    assert np.array_equal(modifier("one surface")(angles), pvlib.iam.physical(angles))


# ---------------------------------------------------------------------- overhangs

SOUTH = {"area": 1.4, "azimuth": 180.0, "height": 1.4, "overhang_above": 0.3}


@pytest.mark.parametrize(
    ("altitude", "off", "lit"),
    [
        # 1 m deep: a sun ahead at 45 degrees throws 1 m of shadow, 0.7 m of it on 1.4 m of glass.
        (45.0, 0.0, 0.5),
        # Ahead at atan 0.3 it just reaches the glass, and at atan 1.7 all of it.
        (np.degrees(np.arctan(0.3)), 0.0, 1.0),
        (np.degrees(np.arctan(1.0)), 0.0, 0.5),
        (np.degrees(np.arctan(1.7)), 0.0, 0.0),
        (10.0, 0.0, 1.0),
        # From 60 degrees aside the wall's shadow is twice as long: tan(profile) = tan(alt)/cos.
        (np.degrees(np.arctan(0.5)), 60.0, 0.5),
        (45.0, 60.0, 0.0),
        (45.0, -60.0, 0.0),
        # Behind the wall, or below the ground, nothing.
        (45.0, 120.0, 0.0),
        (-5.0, 0.0, 0.0),
    ],
)
def test_shadow_by_hand(altitude: float, off: float, lit: float) -> None:
    window = Window(**SOUTH, overhang_depth=1.0)
    ours = beam_past_overhang(window, np.array([90.0 - altitude]), np.array([180.0 + off]))
    assert ours[0] == pytest.approx(lit, abs=1e-9)


def test_shadow_by_rays_in_space() -> None:
    """The shadow of an overhang is that of rays cast in space.

    From points on the glass to the sun: a ray that meets the overhang's plane above its depth,
    however far to the side, is stopped. Any bearing of the wall.
    """
    chance = np.random.default_rng(1)
    for _ in range(200):
        bearing, depth, above, height = (
            chance.uniform(0, 360), chance.uniform(0.1, 3), chance.uniform(0, 1),
            chance.uniform(0.5, 3),
        )  # fmt: skip
        zenith, azimuth = chance.uniform(1, 89), bearing + chance.uniform(-89, 89)
        window = Window(
            area=1.0, azimuth=bearing, height=height, overhang_depth=depth, overhang_above=above
        )
        z, a = np.radians(zenith), np.radians(azimuth)
        sun = np.array([np.sin(z) * np.sin(a), np.sin(z) * np.cos(a), np.cos(z)])
        normal = np.array([np.sin(np.radians(bearing)), np.cos(np.radians(bearing)), 0.0])
        points = np.linspace(-height, 0.0, 20001)  # height of points, the glass's top at 0
        along = (above - points) / sun[2]
        out = along * (sun @ normal)
        lit = (out > depth).mean()
        ours = beam_past_overhang(window, np.array([zenith]), np.array([azimuth % 360.0]))[0]
        assert ours == pytest.approx(lit, abs=2e-4)


@pytest.mark.parametrize(("depth", "above"), [(0.5, 0.0), (1.0, 0.3), (3.0, 0.5), (0.01, 1.0)])
def test_sky_past_overhang_piece_by_piece(depth: float, above: float) -> None:
    """The sky past an overhang is the sum of its pieces.

    The quarter of the sky before a wall, weighted by the cosine to its normal, less what lies
    behind the overhang, averaged over the glass; and all of the sky without a depth.
    """
    window = Window(**{**SOUTH, "overhang_above": above}, overhang_depth=depth)
    altitude, off = np.meshgrid(
        np.radians(np.linspace(0.125, 89.875, 360)), np.radians(np.linspace(-89.75, 89.75, 360))
    )
    weight = np.cos(altitude) ** 2 * np.cos(off)  # cosine of incidence x solid angle
    profile = np.tan(altitude) / np.cos(off)
    seen = [
        (weight * (profile * depth < drop)).sum() / weight.sum()
        for drop in above + np.linspace(0.0, 1.4, 101)[:-1] + 0.007
    ]
    assert sky_past_overhang(window) == pytest.approx(np.mean(seen), abs=0.005)
    assert sky_past_overhang(Window(**SOUTH)) == 1.0
