"""Ducts: their location, leakage and insulation."""

from typing import Any

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError
from moistsim.core.fields import choice, description, quantity

PLACES = ("inside", "attic", "crawl space", "basement", "garage")
"""Locations of ducts. All but the first are spaces next to the house."""


def _unless_inside(value: float) -> Any:
    return attrs.Factory(lambda self: value if self.location != "inside" else 0.0, takes_self=True)


@description
class Ducts(Evolving):
    """Ducts inside the envelope, or in an attic, crawl space, basement or garage.

    Ducts leak air and conduct heat only while the blower runs. Supply leakage is lost to the space
    around the ducts. Return leakage draws that space's air in, and the machines must treat it. If
    the two differ, the house draws in or pushes out the difference through its own leaks. Vapor of the
    space condenses on cold supply ducts and drips off.

    The space around the ducts is the house's attic, crawl space, basement or garage. A house that does
    not describe it gets that space with its defaults.

    Safety: a return that leaks in a garage can draw exhaust gas into the house. It must be sealed.

    Examples
    --------
    >>> ducts = Ducts(location="attic", supply_leakage="8 %", insulation="8 ft2 h delta_degF/Btu")
    >>> ducts.return_leakage
    0.05
    """

    location: str = choice("location of the ducts", *PLACES, default="inside")
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
        default=None, at_least=0.0, at_most=1000.0, optional=True, usual=(0.0, 150.0),
    )  # fmt: skip
    return_area: float | None = quantity(
        "m2",
        "surface area of the return ducts outside the envelope; default: 0.05 of the floor area, "
        "as in ASHRAE 152 for one return (from memory)",
        default=None, at_least=0.0, at_most=1000.0, optional=True, usual=(0.0, 100.0),
    )  # fmt: skip
    insulation: float = quantity(
        "m2 K/W", "thermal resistance of the duct walls, films included", default="6 ft2 h delta_degF/Btu",
        above=0.0, at_most=20.0,
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
