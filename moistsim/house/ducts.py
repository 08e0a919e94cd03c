"""Ducts: their location, leakage and insulation."""

from typing import Any, NamedTuple

import attrs

from moistsim.core.errors import InputError
from moistsim.core.fields import choice, description, quantity


class Space(NamedTuple):
    """The space around ducts outside the envelope, per area of the house's plan."""

    height: float
    """Mean height of the space, m."""
    ventilation: float
    """Outdoor air that enters the space, air changes an hour."""
    outer_u: float
    """U-value of roof deck, or of bare ground and walls, W/(m2 K)."""
    heat_capacity: float
    """Heat capacity of deck and framing, or of the top of the ground, J/(m2 K)."""


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
"""Area of the wall between garage and house, over the area of the plan (our own round figure)."""


def _of_space(name: str) -> Any:
    def _default(ducts: "Ducts") -> float:
        # The check that follows refuses an invalid location.
        return float(getattr(SPACES.get(ducts.location, SPACES["inside"]), name))

    return attrs.Factory(_default, takes_self=True)


def _unless_inside(value: float) -> Any:
    return attrs.Factory(lambda self: value if self.location != "inside" else 0.0, takes_self=True)


@description
class Ducts:
    """Ducts inside the envelope, or in an attic, crawl space or garage.

    Ducts leak air and conduct heat only while the blower runs. Supply leakage is lost to the space
    around the ducts. Return leakage draws that space's air in, and the machines must treat it. If
    the two differ, the house draws in or pushes out the difference through its own leaks.

    The space around the ducts has one temperature. An attic stands between the sun on the roof, the
    ceiling and outdoor air. A crawl space stands between the ground, the floor and outdoor air. A
    garage stands under the sun, behind a wall of the house. Air in the space comes from outdoors;
    vapor from wood, ground and cars is not included. Heat flow through the house's ceiling or floor
    belongs to `Envelope`, which does not know this temperature.

    Safety: a return that leaks in a garage can draw exhaust gas into the house. It must be sealed.

    Examples
    --------
    >>> ducts = Ducts(location="attic", supply_leakage="8 %", insulation="8 ft2 h delta_degF/Btu")
    >>> ducts.return_leakage, ducts.space_height
    (0.05, 1.2)
    """

    location: str = choice("location of the ducts", *SPACES, default="inside")
    supply_leakage: float = quantity(
        "fraction",
        "supply leakage over the blower's airflow; default: 5 % outside the envelope, else 0",
        default=_unless_inside(0.05), at_least=0.0, at_most=0.5,
    )  # fmt: skip
    return_leakage: float = quantity(
        "fraction",
        "return leakage over the blower's airflow; default: 5 % outside the envelope, else 0",
        default=_unless_inside(0.05), at_least=0.0, at_most=0.5,
    )  # fmt: skip
    supply_area: float | None = quantity(
        "m2",
        "surface area of the supply ducts outside the envelope; default: 0.27 of the floor area, "
        "as in ASHRAE 152 for one story (from memory)",
        default=None, at_least=0.0, at_most=1000.0, optional=True,
    )  # fmt: skip
    return_area: float | None = quantity(
        "m2",
        "surface area of the return ducts outside the envelope; default: 0.05 of the floor area, "
        "as in ASHRAE 152 for one return (from memory)",
        default=None, at_least=0.0, at_most=1000.0, optional=True,
    )  # fmt: skip
    insulation: float = quantity(
        "m2 K/W", "thermal resistance of the duct walls, films included", default="6 ft2 h delta_degF/Btu",
        above=0.0, at_most=20.0,
    )  # fmt: skip
    space_height: float = quantity(
        "m", "mean height of the space around the ducts; default: 1.2 m (attic), 0.6 m (crawl space), "
        "0.7 m (garage)",
        default=_of_space("height"), at_least=0.0, at_most=10.0,
    )  # fmt: skip
    space_ventilation: float = quantity(
        "1/hour", "outdoor air through the space around the ducts; default: 4 (attic), 2 (crawl space), "
        "1 (garage)",
        default=_of_space("ventilation"), at_least=0.0, at_most=60.0,
    )  # fmt: skip
    space_u: float = quantity(
        "W/(m2 K)", "U-value of roof deck, crawl space ground or garage envelope, over plan area; "
        "default: 3 (attic), 1 (crawl space), 0.8 (garage)",
        default=_of_space("outer_u"), at_least=0.0, at_most=10.0,
    )  # fmt: skip
    space_heat_capacity: float = quantity(
        "J/(m2 K)", "heat capacity of the structure around the ducts, over plan area; default: 15 (attic), "
        "30 (crawl space), 40 kJ/(m2 K) (garage)",
        default=_of_space("heat_capacity"), at_least=0.0,
    )  # fmt: skip
    closed_door_flow: float = quantity(
        "m3/s",
        "outdoor air that closed doors drive through leaks at full airflow, if rooms lack a return "
        "path; for any location of the ducts",
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
