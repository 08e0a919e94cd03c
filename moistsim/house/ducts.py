"""The ducts: where they run, what they leak, and how they are insulated."""

from typing import Any, NamedTuple

import attrs

from moistsim.core.errors import InputError
from moistsim.core.fields import choice, description, quantity


class Space(NamedTuple):
    """What surrounds ducts outside the envelope, by area of the house's plan."""

    height: float
    """Mean, m."""
    ventilation: float
    """Outdoor air, changes an hour."""
    outer_u: float
    """Roof deck, or bare ground and walls, W/(m2 K)."""
    heat_capacity: float
    """Deck and framing, or the top of the ground, J/(m2 K)."""


# Our own round figures. Attic: bare deck under shingles, about 0.35 m2 K/W with the inner film;
# half an inch of panel and trusses; vents of 1/300 of the plan, a few changes an hour (common
# practice, no source).
SPACES = {
    "inside": Space(0.0, 0.0, 0.0, 0.0),
    "attic": Space(1.2, 4.0, 3.0, 15e3),
    "crawl space": Space(0.6, 2.0, 1.0, 30e3),
    # A quarter of the plan: 2.8 m high, thin walls and a door of metal, its slab; by the whole plan.
    "garage": Space(0.7, 1.0, 0.8, 40e3),
}
GARAGE_SHARE = 0.25
"""Wall between garage and house, by the area of the plan (our own round figure)."""


def _of_space(name: str) -> Any:
    def _default(ducts: "Ducts") -> float:
        # A location that is none is refused after this.
        return float(getattr(SPACES.get(ducts.location, SPACES["inside"]), name))

    return attrs.Factory(_default, takes_self=True)


def _unless_inside(value: float) -> Any:
    return attrs.Factory(lambda self: value if self.location != "inside" else 0.0, takes_self=True)


@description
class Ducts:
    """Ducts inside the envelope, where they do no harm, or in attic, crawl space or garage.

    They leak, and conduct heat through their walls, only while the blower runs. What the supply
    leaks is lost to the space around it; what the return leaks is that space's air, which the
    machines must then treat. Where the one is more than the other, the house draws in, or pushes
    out, the difference through its own leaks.

    The space is one node: an attic between the sun on the roof, the ceiling and outdoor air, a
    crawl space between the ground, the floor and outdoor air, a garage under the same sun as an
    attic but behind a wall of the house; all with what the ducts leave there.
    Its air comes from outdoors, with no more vapor than it can hold; the vapor of wood, ground
    and cars is not in it. The heat that flows through the ceiling or the floor of the house is
    `Envelope`'s, which does not know of the node. Exhaust gas is no matter of humidity, but a
    return that leaks in a garage draws it in: it must be sealed, whatever this costs.
    """

    location: str = choice("where the ducts run", *SPACES, default="inside")
    supply_leakage: float = quantity(
        "fraction",
        "supply air lost, over the blower's flow; left out, 5 % outside the envelope",
        default=_unless_inside(0.05), at_least=0.0, at_most=0.5,
    )  # fmt: skip
    return_leakage: float = quantity(
        "fraction",
        "return air drawn from the space, over the blower's flow; left out, 5 % outside",
        default=_unless_inside(0.05), at_least=0.0, at_most=0.5,
    )  # fmt: skip
    supply_area: float | None = quantity(
        "m2",
        "walls of the supply ducts outside the envelope; left out, 0.27 of the floor area, as "
        "ASHRAE 152 takes it for one story (from memory)",
        default=None, at_least=0.0, at_most=1000.0, optional=True,
    )  # fmt: skip
    return_area: float | None = quantity(
        "m2",
        "the same of the return; left out, 0.05 of the floor area, one return in ASHRAE 152 "
        "(from memory)",
        default=None, at_least=0.0, at_most=1000.0, optional=True,
    )  # fmt: skip
    insulation: float = quantity(
        "m2 K/W", "resistance of the duct walls with their films", default="6 ft2 h delta_degF/Btu",
        above=0.0, at_most=20.0,
    )  # fmt: skip
    space_height: float = quantity(
        "m", "height of the space as a mean over the plan; left out, 1.2, 0.6 or 0.7 m",
        default=_of_space("height"), at_least=0.0, at_most=10.0,
    )  # fmt: skip
    space_ventilation: float = quantity(
        "1/hour", "outdoor air through it; left out, 4 (attic), 2 (crawl space), 1 (garage)",
        default=_of_space("ventilation"), at_least=0.0, at_most=60.0,
    )  # fmt: skip
    space_u: float = quantity(
        "W/(m2 K)", "roof deck, the crawl space's ground, or the garage's skin, by plan area; left out, 3, 1, 0.8",
        default=_of_space("outer_u"), at_least=0.0, at_most=10.0,
    )  # fmt: skip
    space_heat_capacity: float = quantity(
        "J/(m2 K)", "of the space's structure, by plan area; left out, 15, 30, 40 kJ/(m2 K)",
        default=_of_space("heat_capacity"), at_least=0.0,
    )  # fmt: skip
    closed_door_flow: float = quantity(
        "m3/s",
        "air that closed doors, with too little return path, push out of some rooms and draw into "
        "others at the blower's full flow; wherever the ducts run",
        default=0.0, at_least=0.0, at_most=1.0,
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        if self.location == "inside":
            for name in ("supply_leakage", "return_leakage", "supply_area", "return_area"):
                if getattr(self, name):
                    raise InputError(
                        f"{type(self).__name__}.{name}",
                        getattr(self, name),
                        "nothing for ducts inside the envelope: what they lose stays in the house",
                    )
        elif self.space_ventilation * self.space_height + self.space_u == 0.0:
            raise InputError(
                f"{type(self).__name__}.space_u",
                self.space_u,
                "more than 0 for a space without ventilation, or nothing sets its temperature",
            )
