"""The envelope: walls, windows, roof, floor and thermal mass, as a box or surface by surface."""

from typing import Any, NamedTuple, cast

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import choice, description, part, quantity, several
from moistsim.house.ground import Ground
from moistsim.house.surfaces import GLASS, Surface, Window


class Construction(NamedTuple):
    """Heat capacities of a class of construction, per floor area, J/(m2 K)."""

    fast_mass: float
    """Heat capacity of board, floor covering and heavy furniture, J/(m2 K)."""
    slow_mass: float
    """Heat capacity of slab and structure, J/(m2 K)."""


# Our own round figures: a frame house over a crawl space; a frame house on a slab, or with some
# masonry; masonry or concrete, open to the rooms. With the light contents the totals are 110, 220
# and 360 kJ/(m2 K). ISO 13790 has 110, 165, 260 and 370 for light, medium, heavy and very heavy,
# from memory.
# The fast mass by parts: 3.5 m2 of board a m2 of floor, on walls, ceiling and both faces of
# partitions, of 12.7 mm, 700 kg/m3 and 1090 J/(kg K), 34 kJ/(m2 K); floor covering and heavy
# furniture add 10 to 25. A day's cycle reaches 76 mm into board, so all of it takes part. A cycle of
# 20 min reaches 9 mm, but then the film is what limits: a board moves by a twentieth of the air.
CONSTRUCTION = {
    "light": Construction(43e3, 60e3),
    "medium": Construction(53e3, 160e3),
    "heavy": Construction(63e3, 290e3),
}


@description
class WindowToWallRatio(Evolving):
    """Window area over gross wall area for each wall of a box-shaped house.

    `Envelope` also takes one number, which then holds for all four walls.

    Examples
    --------
    >>> Envelope(window_to_wall_ratio=WindowToWallRatio(front=0.3)).window_to_wall_ratio
    WindowToWallRatio(front=0.3, back=0.2, left=0.2, right=0.2)
    >>> Envelope(window_to_wall_ratio="15 %").window_to_wall_ratio
    WindowToWallRatio(front=0.15, back=0.15, left=0.15, right=0.15)
    """

    front: float = quantity(
        "fraction", "window area over gross area of the front wall", default=0.20, at_least=0.0,
        at_most=0.95,
    )  # fmt: skip
    back: float = quantity(
        "fraction", "window area over gross area of the back wall", default=0.20, at_least=0.0,
        at_most=0.95,
    )  # fmt: skip
    left: float = quantity(
        "fraction", "window area over gross area of the left wall, seen when facing the front",
        default=0.20, at_least=0.0, at_most=0.95,
    )  # fmt: skip
    right: float = quantity(
        "fraction", "window area over gross area of the right wall, seen when facing the front",
        default=0.20, at_least=0.0, at_most=0.95,
    )  # fmt: skip


def _on_each_wall(value: Any, instance: Any, field: Any) -> WindowToWallRatio:
    """The ratio of each wall: one number holds for all four."""
    if isinstance(value, WindowToWallRatio):
        return value
    sides = [f.name for f in attrs.fields(cast(Any, WindowToWallRatio))]
    try:
        made: WindowToWallRatio = WindowToWallRatio(**dict.fromkeys(sides, value))
    except InputError as error:
        raise InputError(
            f"{type(instance).__name__}.{field.name}", value,
            f"{error.accepted}, for all four walls, or a WindowToWallRatio",
        ) from None  # fmt: skip
    return made


@description
class Envelope(Evolving):
    """Walls, windows, roof, floor and thermal mass of a house.

    An envelope is a box or a list. The box has a rectangular plan, four walls with windows, and a
    level roof. Instead of the box, `surfaces` and `windows` list each wall, roof and window; the
    fields of the box then keep their defaults. Floor, ground and mass are given in the same way
    for both.

    The fast mass stands for all surfaces of the rooms, furniture included, which radiation keeps at
    about one temperature. `surface_film` is therefore the coupling by convection between the air and
    that temperature. Its default is from ISO 13790's simple hourly method, from memory: 3.45 W/(m2 K)
    times 4.5 m2 of surface a m2 of floor. That standard's coupling ends at a star of air and
    surfaces. Convection alone, at the 2.5 W/(m2 K) behind its 3.45, gives the same 15.5 with 1.8 m2
    of furniture a m2 of floor. Thin textiles, paper and other light contents follow the air within
    minutes, so they are at its temperature. With the air they hold 10 kJ/(m2 K), the default of
    ISO 52016-1 for air and furniture, from memory; air alone holds 3.

    The default windows come to about 15 percent of the floor of a one-story house. That is the
    window area of a reference home of ANSI/RESNET/ICC 301, from memory.

    Examples
    --------
    >>> box = Envelope(wall_u="0.06 Btu/(h ft2 delta_degF)", window_to_wall_ratio=0.15)
    >>> round(box.wall_u, 2), box.mass.slow_mass
    (0.34, 160000.0)
    >>> listed = Envelope(
    ...     surfaces=[Surface(area="1200 ft2", u=0.35), Surface(area="1500 ft2", u=0.15, tilt=0)],
    ...     windows=[Window(area="150 ft2", azimuth=180)],
    ... )
    >>> len(listed.surfaces)
    2
    """

    orientation: float = quantity(
        "deg", "compass bearing that the front faces", default=180.0, at_least=0, below=360
    )
    aspect: float = quantity(
        "count",
        "length of the front wall over length of the side wall",
        default=1.5,
        above=0.1,
        at_most=10,
    )
    wall_u: float = quantity(
        "W/(m2 K)",
        "U-value of the opaque walls, air to air",
        default=0.45,
        at_least=0.0,
        at_most=10.0,
        usual=(0.09, 4.0),
    )
    wall_absorptance: float = quantity(
        "fraction", "solar absorptance of the walls", default=0.6, at_least=0.0, at_most=1.0
    )
    roof_u: float = quantity(
        "W/(m2 K)",
        "U-value of roof and ceiling together, air to air",
        default=0.19,
        at_least=0.0,
        at_most=10.0,
        usual=(0.05, 4.0),
    )
    roof_absorptance: float = quantity(
        "fraction", "solar absorptance of the roof", default=0.8, at_least=0.0, at_most=1.0
    )
    floor_u: float = quantity(
        "W/(m2 K)", "U-value of the floor to the ground (soil included for a slab) or to the crawl "
        "space or basement, over ground floor area", default=0.3, at_least=0.0, at_most=10.0, usual=(0.05, 4.0),
    )  # fmt: skip
    window_to_wall_ratio: WindowToWallRatio = attrs.field(
        default=WindowToWallRatio(),
        converter=attrs.Converter(_on_each_wall, takes_self=True, takes_field=True),
        metadata={
            "help": "window area over gross wall area; one number holds for all four walls",
            "part": WindowToWallRatio,
            "part_or_number": True,
        },
    )
    window_u: float = quantity(
        "W/(m2 K)",
        "U-value of the windows, frames included",
        default=2.0,
        at_least=0.0,
        at_most=10.0,
        usual=(0.55, 7.0),
    )
    window_shgc: float = quantity(
        "fraction", "solar heat gain coefficient of the windows at normal incidence", default=0.30, at_least=0.0,
        at_most=0.95,
    )  # fmt: skip
    window_shading: float = quantity(
        "fraction", "share of the sun that blinds and screens let through", default=0.75, at_least=0.0,
        at_most=1.0,
    )  # fmt: skip
    window_incidence: str = choice(
        "angle dependence of the glass: one surface of clear glass, or one to three clear panes",
        *GLASS,
        default="one surface",
    )
    construction: str = choice(
        "class of thermal mass, for the masses that are not given", *CONSTRUCTION, default="medium"
    )
    fast_mass: float | None = quantity(
        "J/(m2 K)",
        "heat capacity of board, floor covering and heavy furniture, over floor area; default: by "
        "construction",
        default=None,
        at_least=0.0,
        optional=True,
        at_most=5e6,
    )
    light_contents: float = quantity(
        "J/(m2 K)",
        "heat capacity of furniture and textiles that follow the air within minutes, over floor area",
        default=7e3,
        at_least=0.0,
        at_most=5e6,
    )
    slow_mass: float | None = quantity(
        "J/(m2 K)",
        "heat capacity of slab and structure, over floor area; default: by construction",
        default=None,
        at_least=0.0,
        optional=True,
        at_most=2e7,
    )
    surface_film: float = quantity(
        "W/(m2 K)",
        "heat transfer from room air to the fast mass, over floor area",
        default=15.5,
        above=0.0,
        at_most=1e4,
    )
    mass_coupling: float = quantity(
        "W/(m2 K)",
        "heat transfer from the fast to the slow mass, over floor area",
        default=4.0,
        at_least=0.0,
        at_most=1e4,
    )
    ground: Ground = part(Ground, "soil below the house", default=attrs.Factory(Ground))
    surfaces: tuple[Surface, ...] = several(
        Surface, "walls and roofs one by one, instead of the box"
    )
    windows: tuple[Window, ...] = several(
        Window, "windows one by one, instead of those of the box; only with surfaces"
    )

    def __attrs_post_init__(self) -> None:
        name = type(self).__name__
        if self.windows and not self.surfaces:
            raise InputError(
                f"{name}.windows",
                Problem("windows without surfaces"),
                "windows together with surfaces",
            )
        if not self.surfaces:
            return
        fields = attrs.fields_dict(cast(Any, type(self)))
        for key in BOX:
            if getattr(self, key) != fields[key].default:
                raise InputError(
                    f"{name}.{key}",
                    Problem(f"{key} together with surfaces"),
                    "either the fields of a box or a list of surfaces and windows",
                )

    @property
    def mass(self) -> Construction:
        """Fast and slow mass, given or by the class of construction."""
        usual = CONSTRUCTION[self.construction]
        return Construction(
            usual.fast_mass if self.fast_mass is None else self.fast_mass,
            usual.slow_mass if self.slow_mass is None else self.slow_mass,
        )


BOX = (
    "orientation", "aspect", "wall_u", "wall_absorptance", "roof_u", "roof_absorptance",
    "window_to_wall_ratio", "window_u", "window_shgc", "window_shading", "window_incidence",
)  # fmt: skip
"""Fields of `Envelope` that describe the box alone."""
