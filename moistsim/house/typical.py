"""A whole house from ten fields, by common practice for its year, climate and kind.

The figures are our own round ones after common practice and the energy codes of their years in the
United States; no source. Each of them can be replaced.
"""

from typing import Any, NamedTuple

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError
from moistsim.core.fields import choice, description, quantity


class Practice(NamedTuple):
    """Building practice of some years in one climate."""

    wall_u: float
    """U-value of the walls, W/(m2 K); those of roof, floor and windows follow."""
    roof_u: float
    floor_u: float
    """U-value of a floor over a space, W/(m2 K); a slab does not depend on the year."""
    window_u: float
    window_shgc: float
    window_incidence: str
    ach50: float


CLIMATES = ("hot", "mixed", "cold")
FOUNDATIONS: dict[str, dict[str, Any]] = {
    "slab": {},
    "crawl space": {"crawl_space": {"kind": "vented"}},
    "closed crawl space": {"crawl_space": {"kind": "closed"}},
    "encapsulated crawl space": {"crawl_space": {"kind": "encapsulated"}},
    "basement": {"basement": {}},
}
"""Fields of `House` for each kind of foundation."""
BARE_FLOOR_U = 1.5
"""U-value of a floor without insulation over a space, W/(m2 K)."""
SLAB_U = 0.3
"""U-value of a slab with its soil, W/(m2 K)."""
PRACTICE = {
    # By first year and climate. Walls without insulation and single glass; better in cold climates.
    1900: (
        Practice(1.40, 0.50, 1.5, 6.0, 0.75, "one pane", 12.0),
        Practice(1.40, 0.45, 1.5, 5.0, 0.70, "one pane", 12.0),
        Practice(0.60, 0.35, 1.5, 3.0, 0.65, "two panes", 10.0),
    ),
    # Filled stud walls; double glass first where it is cold.
    1980: (
        Practice(0.50, 0.25, 0.5, 5.5, 0.70, "one pane", 8.0),
        Practice(0.50, 0.22, 0.5, 3.0, 0.65, "two panes", 8.0),
        Practice(0.40, 0.18, 0.5, 2.8, 0.60, "two panes", 6.0),
    ),
    # Low-emissivity glass.
    2000: (
        Practice(0.47, 0.20, 0.3, 3.0, 0.40, "two panes", 5.0),
        Practice(0.47, 0.18, 0.3, 2.3, 0.40, "two panes", 5.0),
        Practice(0.34, 0.15, 0.3, 2.0, 0.40, "two panes", 4.0),
    ),
    # Blower doors in the codes.
    2012: (
        Practice(0.45, 0.18, 0.3, 2.0, 0.25, "two panes", 4.0),
        Practice(0.34, 0.14, 0.3, 1.9, 0.30, "two panes", 3.0),
        Practice(0.27, 0.12, 0.2, 1.7, 0.40, "two panes", 2.5),
    ),
}
"""Building practice by first year, for each of the three climates."""


@description
class TypicalHouse(Evolving):
    """The ten fields of `House.typical`."""

    floor_area: float = quantity(
        "m2",
        "conditioned floor area of all stories",
        at_most=5000.0,
        at_least=5.0,
        usual=(5.0, 600.0),
    )
    stories: float = quantity(
        "count", "number of stories: 1, 2 or 3", default=1.0, at_least=1, at_most=3
    )
    year: float = quantity(
        "count", "year of construction, or of the last renovation", default=2000.0
    )
    climate: str = choice(
        "climate: hot (hardly any winter), mixed, or cold (winter decides)",
        *CLIMATES,
        default="mixed",
    )
    window_to_wall_ratio: float = quantity(
        "fraction", "window area over gross wall area, for all four walls", default=0.15, at_least=0.0,
        at_most=0.95,
    )  # fmt: skip
    orientation: float = quantity(
        "deg", "compass bearing that the front faces", default=180.0, at_least=0, below=360
    )
    foundation: str = choice(
        "kind of foundation; a crawl space is vented unless it is called closed or encapsulated",
        *FOUNDATIONS, default="slab",
    )  # fmt: skip
    construction: str = choice(
        "class of thermal mass; default: light over a crawl space, else medium",
        "light", "medium", "heavy",
        default=attrs.Factory(lambda self: "light" if "crawl" in self.foundation else "medium", True),
    )  # fmt: skip
    ach50: float | None = quantity(
        "1/hour", "air leakage at 50 Pa, air changes an hour (ACH50); default: by year and climate", default=None,
        at_least=0, at_most=60, optional=True,
    )  # fmt: skip
    occupants: float = quantity(
        "count", "number of people who live in the house", default=3.0, at_least=0.0, at_most=200.0
    )

    def __attrs_post_init__(self) -> None:
        first, last = min(PRACTICE), 2100
        if not first <= self.year <= last or self.year % 1.0:
            raise InputError(
                f"{type(self).__name__}.year", self.year, f"a whole year from {first} to {last}"
            )

    @property
    def practice(self) -> Practice:
        """Building practice of the house's year and climate."""
        first = max(year for year in PRACTICE if year <= self.year)
        return PRACTICE[first][CLIMATES.index(self.climate)]

    @property
    def floor_u(self) -> float:
        """U-value of the floor: a closed crawl space is insulated at its walls, not in the floor."""
        if self.foundation == "slab":
            return SLAB_U
        insulated_walls = self.foundation in ("closed crawl space", "encapsulated crawl space")
        return BARE_FLOOR_U if insulated_walls else self.practice.floor_u

    def fields(self) -> dict[str, Any]:
        """Fields of `House`, and tables of the fields of its parts, as in a scenario file."""
        practice = self.practice
        return {
            "floor_area": self.floor_area,
            "stories": self.stories,
            "ach50": practice.ach50 if self.ach50 is None else self.ach50,
            "gains": {"occupants": self.occupants},
            "envelope": {
                "orientation": self.orientation,
                "wall_u": practice.wall_u,
                "roof_u": practice.roof_u,
                "floor_u": self.floor_u,
                "window_u": practice.window_u,
                "window_shgc": practice.window_shgc,
                "window_incidence": practice.window_incidence,
                "window_to_wall_ratio": dict.fromkeys(
                    ("front", "back", "left", "right"), self.window_to_wall_ratio
                ),
                "construction": self.construction,
            },
            **FOUNDATIONS[self.foundation],
        }


def replaced(usual: dict[str, Any], given: dict[str, Any]) -> dict[str, Any]:
    """Replace values of `usual` by those `given`, in tables within tables too."""
    merged = {**usual, **given}
    for name, value in given.items():
        if isinstance(usual.get(name), dict) and isinstance(value, dict):
            merged[name] = replaced(usual[name], value)
    return merged


_LEAKAGE = (("", "ach50"), ("leakage", "cfm50"), ("leakage", "effective_area"))
"""Tables and keys by which a house states its air leakage, one at a time."""


def one_leakage(usual: dict[str, Any], given: dict[str, Any]) -> dict[str, Any]:
    """Drop the air leakage from tables of a house where `given` states it, in whatever way."""

    def stated(table: dict[str, Any], part: str, key: str) -> bool:
        inner = table.get(part) if part else table
        return key in inner if isinstance(inner, dict) else getattr(inner, key, None) is not None

    if not any(stated(given, part, key) for part, key in _LEAKAGE):
        return usual
    kept = dict(usual)
    for part, key in _LEAKAGE:
        if stated(kept, part, key):
            if part:
                kept[part] = {name: x for name, x in kept[part].items() if name != key}
            else:
                del kept[key]
    return kept
