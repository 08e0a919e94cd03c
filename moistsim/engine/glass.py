"""Sun on a plane and through its glass: incidence angle, overhang."""

from collections.abc import Callable
from functools import lru_cache, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moistsim.house import GLASS, Window

REFRACTIVE_INDEX = 1.526
"""Refractive index of glass (Duffie & Beckman, from memory)."""
ABSORBED = 0.10
"""Optical depth of a pane at normal incidence.
With it a pane of 3 mm transmits 0.83, as clear float glass does in ASHRAE Fundamentals ch. 15,
from memory."""


def through_panes(incidence: Any, panes: int) -> NDArray[np.float64]:
    """Transmittance of clear panes over that at normal incidence.

    Reflection at each surface follows Fresnel. With all reflections between the panes, each
    polarization passes (1 - r) / (1 + (2 N - 1) r). The panes absorb along the refracted ray, which
    leaves exp(-N K L / cos) (Duffie & Beckman, Solar Engineering of Thermal Processes, ch. 5, from
    memory). Heat that the panes absorb and give to the room is assumed to vary as the transmittance
    does. Coated glass falls off nearly as clear glass of as many panes (ASHRAE Fundamentals ch. 15,
    from memory).

    Parameters
    ----------
    incidence : array
        Angle to the normal, degrees.
    """

    def passed(cosine: Any) -> Any:
        inside = np.sqrt(1.0 - (1.0 - cosine**2) / REFRACTIVE_INDEX**2)
        across = ((cosine - REFRACTIVE_INDEX * inside) / (cosine + REFRACTIVE_INDEX * inside)) ** 2
        along = ((inside - REFRACTIVE_INDEX * cosine) / (inside + REFRACTIVE_INDEX * cosine)) ** 2
        between = 2.0 * panes - 1.0
        clear = sum(0.5 * (1.0 - r) / (1.0 + between * r) for r in (across, along))
        return clear * np.exp(-panes * ABSORBED / inside)

    cosine = np.clip(np.cos(np.radians(np.asarray(incidence, float))), 0.0, 1.0)
    return np.asarray(passed(cosine) / passed(1.0))


@lru_cache
def modifier(glass: str) -> Callable[[Any], NDArray[np.float64]]:
    """Incidence-angle modifier of one of `GLASS`, as a function of the angle in degrees.

    "one surface" is pvlib's `iam.physical`: light enters glass and is not reflected again, as with
    a black absorber behind the glass. It falls off less than windows do.
    """
    import pvlib

    panes = GLASS.index(glass)
    return partial(through_panes, panes=panes) if panes else pvlib.iam.physical


@lru_cache
def diffuse_modifier(glass: str, tilt: float) -> tuple[float, float]:
    """Modifiers for diffuse light of the sky and of the ground (Marion 2017, by pvlib)."""
    import pvlib

    sky, ground = (
        # A level plane sees no ground.
        float(pvlib.iam.marion_integrate(modifier(glass), tilt, region)) if seen else 0.0
        for region, seen in (("sky", True), ("ground", tilt > 0.0))
    )
    return sky, ground


def beam_past_overhang(
    window: Window, zenith: NDArray[np.float64], azimuth: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Share of the glass that the beam reaches below an overhang much wider than the window.

    The overhang's edge throws its shadow d tan(altitude) / cos(azimuth from the normal) down the
    wall (the profile angle of ASHRAE Fundamentals ch. 15, from memory).
    """
    ahead = np.cos(np.radians(azimuth - window.azimuth))
    facing = (ahead > 1.0e-9) & (zenith < 90.0)
    height = np.tan(np.radians(90.0 - np.where(facing, zenith, 90.0)))
    shadow = window.overhang_depth * height / np.where(facing, ahead, 1.0)
    reached = (window.height + window.overhang_above - shadow) / window.height
    return np.where(facing, np.clip(reached, 0.0, 1.0), 0.0)


def sky_past_overhang(window: Window) -> float:
    """Share of the sky that glass in a wall still sees below an overhang.

    The share is of the half sky that a wall sees without it, by crossed strings (Hottel):
    (sqrt((a + h)² + d²) - sqrt(a² + d²)) / h, with the overhang d deep and a above the glass.
    """
    a, h, d = window.overhang_above, window.height, window.overhang_depth
    return float((np.hypot(a + h, d) - np.hypot(a, d)) / h)
