"""The skin of a house surface by surface: walls and roofs, and windows with what shades them."""

from moistsim.core.errors import InputError
from moistsim.core.fields import choice, description, quantity

UPRIGHT = 90.0
"""Tilt of a wall, degrees."""
GLASS = ("one surface", "one pane", "two panes", "three panes")
"""How glass passes the sun at a slant; see `engine.glass`."""


@description
class Surface:
    """An opaque part of the skin that faces the weather: a wall, or a slope of the roof."""

    area: float = quantity("m2", "net of windows", above=0.0)
    u: float = quantity("W/(m2 K)", "air to air, films included", at_least=0.0)
    azimuth: float = quantity(
        "deg", "compass bearing that it faces; of no matter to a level roof", default=180.0,
        at_least=0, below=360,
    )  # fmt: skip
    tilt: float = quantity(
        "deg", "0 for a level roof, 90 for a wall", default=UPRIGHT, at_least=0, at_most=90
    )
    absorptance: float = quantity("fraction", "of the sun", default=0.6, at_least=0.0, at_most=1.0)


@description
class Window:
    """A window, or several alike, and what shades it.

    The overhang is taken as much wider than the window, as eaves are, and as black: no light comes
    from its underside.
    """

    area: float = quantity("m2", "glass and frame", above=0.0)
    azimuth: float = quantity("deg", "compass bearing that it faces", at_least=0, below=360)
    tilt: float = quantity(
        "deg", "90 in a wall, 0 in a level roof", default=UPRIGHT, at_least=0, at_most=90
    )
    u: float = quantity("W/(m2 K)", "with its frame", default=2.0, at_least=0.0)
    shgc: float = quantity(
        "fraction", "solar heat gain coefficient at normal incidence", default=0.30, at_least=0.0,
        at_most=0.95,
    )  # fmt: skip
    incidence: str = choice(
        "what the glass does to light at a slant: panes of clear glass, or one surface of it",
        *GLASS,
        default="two panes",
    )
    shading: float = quantity(
        "fraction", "share of the sun that blinds and screens let by, in the summer half year",
        default=0.75, at_least=0.0, at_most=1.0,
    )  # fmt: skip
    shading_winter: float | None = quantity(
        "fraction",
        "the same in the winter half year (October to March in the north); left out, as in summer",
        default=None,
        at_least=0.0,
        at_most=1.0,
        optional=True,
    )
    height: float = quantity("m", "of the glass", default=1.4, above=0.0, at_most=10.0)
    overhang_depth: float = quantity(
        "m", "how far the overhang stands out; 0 for none", default=0.0, at_least=0.0, at_most=20.0
    )
    overhang_above: float = quantity(
        "m", "from the top of the glass up to the overhang", default=0.3, at_least=0.0, at_most=20.0
    )

    def __attrs_post_init__(self) -> None:
        if self.overhang_depth > 0.0 and self.tilt != UPRIGHT:
            raise InputError(
                f"{type(self).__name__}.overhang_depth",
                f"an overhang over a window of tilt {self.tilt:g} deg",
                "an overhang only over an upright window (tilt 90 deg)",
            )
