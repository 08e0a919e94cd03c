"""A crawl space: vented, closed or encapsulated."""

from typing import NamedTuple

from moistsim.core.changes import Evolving
from moistsim.core.fields import choice, description, quantity


class CrawlSpaceKind(NamedTuple):
    """Practice of one kind of crawl space."""

    ground_cover: float
    """Part of the ground under a vapor barrier, 0 to 1."""
    vent_area: float
    """Net free area of vents and leaks to outdoors over the area of the ground."""
    wall_u: float
    """U-value of the walls above the ground, W/(m2 K)."""
    house_air_rate: float
    """Air from the house over the area of the ground, m3/(s m2)."""


CODE_HOUSE_AIR = 0.000471947 / 4.645152
"""Air that codes ask for in a crawl space without vents, m3/(s m2): 1 cfm for 50 ft2 (from memory)."""
# Vents of 1/150 of the ground are common code without a ground cover (from memory). The others are
# our own round figures: leaks that remain after the vents are closed; a cover with laps and piers; a
# cover that is sealed; walls of block, bare or with R-10.
CRAWL_SPACES = {
    "vented": CrawlSpaceKind(0.0, 1.0 / 150.0, 2.5, 0.0),
    "closed": CrawlSpaceKind(0.98, 1.0 / 6000.0, 0.5, CODE_HOUSE_AIR),
    "encapsulated": CrawlSpaceKind(1.0, 1.0 / 12000.0, 0.5, 0.0),
}


@description
class CrawlSpace(Evolving):
    """A crawl space under the whole ground floor, with air, wood and soil of its own.

    Joists and subfloor store heat and moisture. Soil gives off vapor where no cover lies on it. Vents
    and leaks bring in outdoor air by wind and stack. The floor above has the U-value
    `Envelope.floor_u`. The house draws air from the crawl space through its leaks in the floor, and
    pushes air back. `Leakage.floor_share` says how much.

    A vented crawl space has open vents. A closed one has none. It has a ground cover, insulated walls,
    and air of the house that dries it (`house_air`). An encapsulated one has its cover sealed at seams,
    piers and walls. It needs a dehumidifier (`Equipment.crawl_space_dehumidifier`) or house air.
    Without either it becomes as damp as the outdoor air that still leaks in.

    A closed or encapsulated crawl space has insulation at its walls instead of the floor.
    `Envelope.floor_u` is then that of a bare floor, about 1.5 W/(m2 K). With both, or with a few percent
    of the ground bare, its air is 5 to 7 % RH damper in a humid summer.

    Safety: before vents are closed, standing water, combustion air of furnace or water heater, termites
    and radon must be dealt with. Local codes decide; ask licensed trades.

    Examples
    --------
    >>> CrawlSpace(kind="closed").practice.ground_cover
    0.98
    >>> CrawlSpace(height="3 ft", ground_cover="80 %", vent_area="1/300").practice.ground_cover
    0.8
    """

    kind: str = choice("kind of crawl space", *CRAWL_SPACES, default="vented")
    height: float = quantity(
        "m", "height from the ground to the subfloor, all of it above the ground outdoors",
        default=0.8, at_least=0.2, at_most=3.0, usual=(0.2, 2.0),
    )  # fmt: skip
    ground_cover: float | None = quantity(
        "fraction",
        "part of the ground under a vapor barrier; default: 0 (vented), 98 % (closed), 100 % "
        "(encapsulated)",
        default=None, at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    vent_area: float | None = quantity(
        "fraction",
        "net free area of vents and leaks to outdoors, over the area of the ground; default: 1/150 "
        "(vented), 1/6000 (closed), 1/12000 (encapsulated)",
        default=None, at_least=0.0, at_most=0.1, optional=True,
    )  # fmt: skip
    wall_u: float | None = quantity(
        "W/(m2 K)",
        "U-value of the walls above the ground; default: 2.5 (vented), 0.5 (closed, encapsulated)",
        default=None, at_least=0.0, at_most=10.0, optional=True, usual=(0.1, 6.0),
    )  # fmt: skip
    ground_u: float | None = quantity(
        "W/(m2 K)",
        "steady conductance from the crawl space through the ground to outdoors, over the area of the "
        "ground; default: by ISO 13370 from the plan of the house (from memory); another value changes "
        "the soil's storage in proportion",
        default=None, at_least=0.0, at_most=10.0, optional=True,
    )  # fmt: skip
    wood_area: float = quantity(
        "count", "surface of joists and subfloor in the crawl space's air, over the area of the ground",
        default=2.0, at_least=0.0, at_most=10.0,
    )  # fmt: skip
    house_air: float | None = quantity(
        "m3/s",
        "air that a small fan or register brings from the house, and that returns through the floor; "
        "default: 1 cfm for 50 ft2 of ground (closed), else 0",
        default=None, at_least=0.0, at_most=0.5, optional=True,
    )  # fmt: skip

    @property
    def practice(self) -> CrawlSpaceKind:
        """Ground cover, vents, walls and air from the house, given or by kind."""
        usual = CRAWL_SPACES[self.kind]
        given = {name: getattr(self, name) for name in ("ground_cover", "vent_area", "wall_u")}
        return usual._replace(**{name: value for name, value in given.items() if value is not None})

    def house_air_over(self, area: float) -> float:
        """Air from the house with `area` m2 of ground, m3/s."""
        return self.practice.house_air_rate * area if self.house_air is None else self.house_air
