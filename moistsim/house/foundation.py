"""The foundation, and the ground's temperature through the year."""

from typing import NamedTuple

from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import choice, description, quantity


class SpaceBelow(NamedTuple):
    """Conductances of a space under the floor, per area of that floor, W/(m2 K)."""

    ground_u: float
    """Conductance from the space to the ground, W/(m2 K)."""
    outdoor_u: float
    """Conductance from the space to outdoor air by walls above the ground and vents, W/(m2 K)."""


# Our own round figures, for a floor of 180 m2 with 54 m of edge on soil of 1.5 W/(m K), after the
# formulas of ISO 13370 for suspended floors and unheated basements, from memory.
SPACE_BELOW = {
    "crawl space": SpaceBelow(0.5, 1.0),
    "sealed crawl space": SpaceBelow(0.5, 0.3),
    "basement": SpaceBelow(0.75, 0.3),
}
SLAB = "slab"


@description
class Foundation:
    """Slab, crawl space or unheated basement, and the ground below.

    A slab lies on the ground. A crawl space or an unheated basement lies between floor and ground;
    its air exchanges heat with the house, the ground and outdoors. A heated basement is a story of
    a house on a slab.

    The ground's temperature follows Kusuda & Achenbach at `depth`. Its mean, amplitude and coldest
    day come from the weather's months unless all three are given. Weather of less than a year gives
    only a mean, and the ground then stays at that mean.

    The default depth stands for the path under a house and around its edge. Two meters of soil damp
    the year to 0.45 and delay it by 1.5 months. ISO 13370 has an uninsulated slab damp it to 0.45
    and delay it by 1 month (from memory).

    Examples
    --------
    >>> crawl = Foundation(kind="crawl space", ground_u=0.4)
    >>> crawl.below
    SpaceBelow(ground_u=0.4, outdoor_u=1.0)
    """

    kind: str = choice("kind of foundation", SLAB, *SPACE_BELOW, default=SLAB)
    ground_u: float | None = quantity(
        "W/(m2 K)",
        "conductance from the space below the floor to the ground, over floor area; default: by kind",
        default=None,
        at_least=0.0,
        at_most=10.0,
        optional=True,
    )
    outdoor_u: float | None = quantity(
        "W/(m2 K)",
        "conductance from the space below the floor to outdoors (walls and vents), over floor area; "
        "default: by kind",
        default=None,
        at_least=0.0,
        at_most=10.0,
        optional=True,
    )
    depth: float = quantity(
        "m",
        "depth at which the ground's temperature is taken",
        default=2.0,
        at_least=0.0,
        at_most=30.0,
    )
    diffusivity: float = quantity(
        "m2/s", "thermal diffusivity of the soil; the default is moist soil", default=6.4e-7, above=1e-8,
        at_most=1e-5,
    )  # fmt: skip
    mean_temperature: float | None = quantity(
        "degC", "yearly mean temperature of the ground's surface; default: from the weather", default=None,
        at_least=-40.0, at_most=50.0, optional=True,
    )  # fmt: skip
    amplitude: float | None = quantity(
        "delta_degC", "yearly amplitude of the ground surface temperature; default: from the weather",
        default=None, at_least=0.0, at_most=50.0, optional=True,
    )  # fmt: skip
    coldest_day: float | None = quantity(
        "count", "day of the year (1 to 365) on which the ground's surface is coldest; default: from the "
        "weather",
        default=None, at_least=1.0, at_most=366.0, optional=True,
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        name = type(self).__name__
        given = [f for f in ("ground_u", "outdoor_u") if getattr(self, f) is not None]
        if self.kind == SLAB and given:
            raise InputError(
                f"{name}.{given[0]}",
                Problem("a slab has no space below the floor"),
                "ground_u and outdoor_u with a kind that has one: " + ", ".join(SPACE_BELOW),
            )
        if self.kind != SLAB and sum(self.below) == 0.0:
            raise InputError(
                f"{name}.ground_u",
                Problem("the space below the floor has no heat flow to ground or outdoors"),
                "ground_u or outdoor_u above 0 W/(m2 K)",
            )
        year = {f: getattr(self, f) for f in ("mean_temperature", "amplitude", "coldest_day")}
        missing = [f for f, value in year.items() if value is None]
        if missing and len(missing) < len(year):
            raise InputError(
                f"{name}.{missing[0]}", None, "all of " + ", ".join(year) + ", or none of them"
            )

    @property
    def below(self) -> SpaceBelow:
        """Conductances of the space below the floor; zero for a slab."""
        usual = SPACE_BELOW.get(self.kind, SpaceBelow(0.0, 0.0))
        ground_u = usual.ground_u if self.ground_u is None else self.ground_u
        outdoor_u = usual.outdoor_u if self.outdoor_u is None else self.outdoor_u
        return SpaceBelow(ground_u, outdoor_u)
