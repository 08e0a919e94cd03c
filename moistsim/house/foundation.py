"""What lies under the ground floor, and the ground's temperature through the year."""

from typing import NamedTuple

from moistsim.core.errors import InputError
from moistsim.core.fields import choice, description, quantity


class SpaceBelow(NamedTuple):
    """A space under the floor, its conductances per area of that floor, W/(m2 K)."""

    ground_u: float
    """To the ground."""
    outdoor_u: float
    """To the outdoor air: what its walls show above the ground, and its vents."""


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
    """What is under the ground floor, and the ground that it stands on.

    A slab lies on the ground; a crawl space, or a basement that is not heated, lies between the
    floor and the ground, and its air is where the heat of the house, of the ground and of the
    outdoors leaves it. A basement that is lived in is a story of the house on a slab.

    The ground's temperature is that of Kusuda & Achenbach at `depth`. Its mean, amplitude and
    coldest day are those of the weather's own months, unless all three are given; of a weather
    of less than a year nothing but its mean is known, and the ground is then held at it.

    The default depth stands for the path under a house and around its edge: two meters of soil
    damp and delay the year about as much (to 0.45, by 1.5 months) as ISO 13370 has an uninsulated
    slab do (to 0.45, by 1 month; from memory).
    """

    kind: str = choice("what is under the floor", SLAB, *SPACE_BELOW, default=SLAB)
    ground_u: float | None = quantity(
        "W/(m2 K)",
        "from the space below to the ground, by floor area; left out, that of its kind",
        default=None,
        at_least=0.0,
        at_most=10.0,
        optional=True,
    )
    outdoor_u: float | None = quantity(
        "W/(m2 K)",
        "from the space below to outdoors, walls and vents, by floor area; left out, that of its "
        "kind",
        default=None,
        at_least=0.0,
        at_most=10.0,
        optional=True,
    )
    depth: float = quantity(
        "m", "at which the ground's temperature is taken", default=2.0, at_least=0.0, at_most=30.0
    )
    diffusivity: float = quantity(
        "m2/s", "thermal, of the soil; by default of a moist one", default=6.4e-7, above=1e-8,
        at_most=1e-5,
    )  # fmt: skip
    mean_temperature: float | None = quantity(
        "degC", "of the ground's surface over the year; left out, from the weather", default=None,
        at_least=-40.0, at_most=50.0, optional=True,
    )  # fmt: skip
    amplitude: float | None = quantity(
        "delta_degC", "of the ground's surface over the year; left out, from the weather",
        default=None, at_least=0.0, at_most=50.0, optional=True,
    )  # fmt: skip
    coldest_day: float | None = quantity(
        "count", "of the year (1 to 365), of the ground's surface; left out, from the weather",
        default=None, at_least=1.0, at_most=366.0, optional=True,
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        name = type(self).__name__
        given = [f for f in ("ground_u", "outdoor_u") if getattr(self, f) is not None]
        if self.kind == SLAB and given:
            raise InputError(
                f"{name}.{given[0]}",
                f"{given[0]} of a slab",
                "ground_u and outdoor_u only with a space below the floor: "
                + ", ".join(SPACE_BELOW),
            )
        if self.kind != SLAB and sum(self.below) == 0.0:
            raise InputError(
                f"{name}.ground_u",
                "a space below the floor without ground and outdoors",
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
        """The space below the floor; of a slab, nothing between it and the ground."""
        usual = SPACE_BELOW.get(self.kind, SpaceBelow(0.0, 0.0))
        ground_u = usual.ground_u if self.ground_u is None else self.ground_u
        outdoor_u = usual.outdoor_u if self.outdoor_u is None else self.outdoor_u
        return SpaceBelow(ground_u, outdoor_u)
