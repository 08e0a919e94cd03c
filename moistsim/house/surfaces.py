"""The envelope surface by surface: walls and roofs, and windows with their shades."""

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import choice, description, quantity

UPRIGHT = 90.0
"""Tilt of a wall, degrees."""
GLASS = ("one surface", "one pane", "two panes", "three panes")
"""Ways in which glass passes slanted sun; see `engine.glass`."""


@description
class Surface(Evolving):
    """An opaque part of the envelope that faces the weather: a wall, or a slope of the roof.

    Examples
    --------
    >>> roof = Surface(area="800 ft2", u=0.15, azimuth=180, tilt="27 deg", absorptance=0.85)
    >>> round(roof.area, 1), roof.tilt
    (74.3, 27.0)
    """

    area: float = quantity(
        "m2",
        "area of the surface without its windows",
        above=0.0,
        at_most=5000.0,
        usual=(0.0, 300.0),
    )
    u: float = quantity(
        "W/(m2 K)",
        "U-value air to air, films included",
        at_least=0.0,
        at_most=10.0,
        usual=(0.05, 7.0),
    )
    azimuth: float = quantity(
        "deg", "compass bearing that the surface faces; no effect on a level roof", default=180.0,
        at_least=0, below=360,
    )  # fmt: skip
    tilt: float = quantity(
        "deg",
        "tilt of the surface: 0 for a level roof, 90 for a wall",
        default=UPRIGHT,
        at_least=0,
        at_most=90,
    )
    absorptance: float = quantity(
        "fraction", "solar absorptance of the surface", default=0.6, at_least=0.0, at_most=1.0
    )


@description
class Window(Evolving):
    """A window, or several identical ones, with blinds and an overhang.

    The overhang is modeled as much wider than the window, like eaves, and as black: its underside
    reflects no light.

    Examples
    --------
    >>> window = Window(area="40 ft2", azimuth=270, shgc=0.25, overhang_depth="2 ft")
    >>> round(window.area, 2), window.tilt
    (3.72, 90.0)
    """

    area: float = quantity(
        "m2", "area of glass and frame", above=0.0, at_most=1000.0, usual=(0.0, 30.0)
    )
    azimuth: float = quantity("deg", "compass bearing that the window faces", at_least=0, below=360)
    tilt: float = quantity(
        "deg",
        "tilt of the window: 90 in a wall, 0 in a level roof",
        default=UPRIGHT,
        at_least=0,
        at_most=90,
    )
    u: float = quantity(
        "W/(m2 K)",
        "U-value of the window, frame included",
        default=2.0,
        at_least=0.0,
        at_most=10.0,
        usual=(0.55, 7.0),
    )
    shgc: float = quantity(
        "fraction", "solar heat gain coefficient at normal incidence", default=0.30, at_least=0.0,
        at_most=0.95,
    )  # fmt: skip
    incidence: str = choice(
        "angle dependence of the glass: one surface of clear glass, or one to three clear panes",
        *GLASS,
        default="two panes",
    )
    shading: float = quantity(
        "fraction", "share of the sun that blinds and screens let through in the summer half year",
        default=0.75, at_least=0.0, at_most=1.0,
    )  # fmt: skip
    shading_winter: float | None = quantity(
        "fraction",
        "share of the sun that blinds and screens let through in the winter half year (October to "
        "March in the northern hemisphere); default: as in summer",
        default=None,
        at_least=0.0,
        at_most=1.0,
        optional=True,
    )
    height: float = quantity(
        "m", "height of the glass", default=1.4, above=0.0, at_most=10.0, usual=(0.0, 3.5)
    )
    overhang_depth: float = quantity(
        "m",
        "depth of the overhang in front of the glass; 0 for no overhang",
        default=0.0,
        at_least=0.0,
        at_most=20.0,
        usual=(0.0, 4.0),
    )
    overhang_above: float = quantity(
        "m",
        "height of the overhang above the top of the glass",
        default=0.3,
        at_least=0.0,
        at_most=20.0,
    )

    def __attrs_post_init__(self) -> None:
        if self.overhang_depth > 0.0 and self.tilt != UPRIGHT:
            raise InputError(
                f"{type(self).__name__}.overhang_depth",
                Problem(f"the window has a tilt of {self.tilt:g}°"),
                "an overhang over an upright window (tilt 90°)",
            )
