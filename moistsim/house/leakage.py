"""Air leakage of a house, and the fans that draw its air out."""

from typing import NamedTuple

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import choice, description, part, profile, quantity


class LeakageClass(NamedTuple):
    """Coefficients of the enhanced infiltration model for a number of stories, without a flue."""

    stack: float
    """Stack coefficient, (Pa/K)^n."""
    wind: float
    """Wind coefficient, (Pa s²/m²)^n."""
    speed_multiplier: float
    """Wind at eaves height over wind at the weather station."""


# ASHRAE Handbook of Fundamentals, ch. 16, enhanced model: stack, wind (slab or basement) and wind
# speed multipliers for one, two and three stories without a flue; from memory.
LEAKAGE_BY_STORIES = {
    1: LeakageClass(0.054, 0.156, 0.48),
    2: LeakageClass(0.078, 0.170, 0.59),
    3: LeakageClass(0.098, 0.170, 0.67),
}
WIND_OVER_CRAWL_SPACE = {1: 0.128, 2: 0.142, 3: 0.151}
"""Wind coefficients of a house over a crawl space (same chapter, from memory)."""
# Same chapter, enhanced shelter factors without a flue, classes 1 (open) to 5 (dense); from memory.
SHELTER_FACTOR = {1: 1.00, 2: 0.90, 3: 0.70, 4: 0.50, 5: 0.30}


class BasicClass(NamedTuple):
    """Coefficients of the basic model for a number of stories."""

    stack: float
    """Stack coefficient, (L/s)² / (cm⁴ K)."""
    wind: tuple[float, ...]
    """Wind coefficients by shelter class from 1 to 5, (L/s)² / (cm⁴ (m/s)²)."""


# Same chapter, basic (effective leakage area) model; from memory.
BASIC_BY_STORIES = {
    1: BasicClass(0.000145, (0.000319, 0.000246, 0.000174, 0.000104, 0.000032)),
    2: BasicClass(0.000290, (0.000420, 0.000325, 0.000231, 0.000137, 0.000042)),
    3: BasicClass(0.000435, (0.000494, 0.000382, 0.000271, 0.000161, 0.000049)),
}
FLAT_SHARE_BY_STORIES = {1: 0.25, 2: 0.15, 3: 0.10}
"""Ceiling leaks over all leaks, and also floor leaks over all leaks, where a distribution is needed
and not given. With these shares the model's own equations give the tabulated coefficients."""


class Terrain(NamedTuple):
    """The wind's boundary layer over one kind of terrain."""

    exponent: float
    layer: float
    """Thickness of the boundary layer, m."""


# ASHRAE Handbook of Fundamentals ch. 24, atmospheric boundary layer parameters; from memory.
TERRAINS = {
    "city center": Terrain(0.33, 460.0),
    "suburbs": Terrain(0.22, 370.0),
    "open country": Terrain(0.14, 270.0),
    "open water": Terrain(0.10, 210.0),
}


@description
class Leakage(Evolving):
    """Amount and location of air leakage, and the infiltration model.

    The amount is given once: by `House.ach50`, by `cfm50` or by `effective_area`. The three are
    points on one line with the exponent `House.leakage_exponent`.

    The enhanced model uses the coefficients that ASHRAE tabulates by number of stories. With a flue,
    a distribution of the leaks or an eaves height, it calculates them by the equations behind the
    tables (AIM-2: Walker & Wilson 1998). If `terrain` is given, the
    station's wind is converted to eaves height over that terrain. Otherwise the tabulated multiplier
    converts it.

    The basic model has all of this in its own coefficients, so it takes none of these fields.

    Examples
    --------
    >>> leakage = Leakage(cfm50="1600 cfm", flue_share=0.1, terrain="suburbs")
    >>> round(leakage.cfm50, 3), leakage.tabulated
    (0.755, False)
    """

    cfm50: float | None = quantity(
        "m3/s", "air leakage at 50 Pa, from a blower door", default=None, at_least=0.0, at_most=20.0,
        optional=True, usual=(0.0, 5.0),
    )  # fmt: skip
    effective_area: float | None = quantity(
        "m2", "effective leakage area at 4 Pa, discharge coefficient 1", default=None,
        at_least=0.0, at_most=2.0, optional=True, usual=(0.0, 0.6), meant=("{} in2", "{} cm2", "{} ft2"),
    )  # fmt: skip
    model: str = choice(
        "infiltration model of ASHRAE Fundamentals", "enhanced", "basic", default="enhanced"
    )
    ceiling_share: float | None = quantity(
        "fraction", "ceiling leaks over all leaks; default: by number of stories",
        default=None, at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    floor_share: float | None = quantity(
        "fraction", "floor leaks over all leaks; default: by number of stories",
        default=None, at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    flue_share: float = quantity(
        "fraction", "leakage of an open flue or chimney over all leaks", default=0.0, at_least=0.0,
        at_most=0.6,
    )  # fmt: skip
    flue_height: float | None = quantity(
        "m", "height of the flue's top above the ground floor; default: 2 m above the eaves", default=None,
        above=0.0, at_most=40.0, optional=True, usual=(0.0, 15.0),
    )  # fmt: skip
    flue_shelter: float = quantity(
        "fraction", "shelter factor of the flue's top; 1 if nothing around is as high", default=1.0,
        at_least=0.0, at_most=1.0,
    )  # fmt: skip
    eaves_height: float | None = quantity(
        "m", "height of the eaves above the ground floor; default: height of all stories", default=None,
        above=1.5, at_most=30.0, optional=True, usual=(1.5, 10.0),
    )  # fmt: skip
    terrain: str = choice(
        "terrain around the house, for the wind at its eaves", "as tabulated", *TERRAINS,
        default="as tabulated",
    )  # fmt: skip
    station_terrain: str = choice(
        "terrain around the weather station", *TERRAINS, default="open country"
    )
    station_height: float = quantity(
        "m",
        "height of the weather station's anemometer above ground",
        default=10.0,
        above=1.0,
        at_most=200.0,
    )

    def __attrs_post_init__(self) -> None:
        where = type(self).__name__
        if self.cfm50 is not None and self.effective_area is not None:
            raise InputError(
                f"{where}.effective_area",
                Problem("both cfm50 and effective_area are given"),
                "one of cfm50 and effective_area",
            )
        shares = (self.ceiling_share or 0.0) + (self.floor_share or 0.0) + self.flue_share
        if shares > 1.0 + 1e-12:
            raise InputError(
                f"{where}.ceiling_share",
                Problem(f"the shares of ceiling, floor and flue add up to {shares:g}"),
                "shares that add up to at most 1; walls have the rest",
            )
        if self.model == "basic":
            for name, none in (
                ("ceiling_share", None), ("floor_share", None), ("flue_share", 0.0),
                ("eaves_height", None), ("terrain", "as tabulated"),
            ):  # fmt: skip
                if getattr(self, name) != none:
                    raise InputError(
                        f"{where}.{name}", getattr(self, name),
                        "the enhanced model; the basic one has this in its coefficients",
                    )  # fmt: skip

    @property
    def tabulated(self) -> bool:
        """Whether the tabulated coefficients of the enhanced model hold."""
        return self.flue_share == 0.0 and (
            self.ceiling_share is self.floor_share is self.eaves_height is None
        )


@description
class ExhaustFan(Evolving):
    """A fan that draws room air out for part of the day, and outdoor air in through leaks.

    In each hour of its schedule the fan runs from the start of the hour. Its motor is in the exhaust
    air, so its power heats nothing indoors. The meter counts it with the ventilation fans.

    Examples
    --------
    >>> hood = ExhaustFan(airflow="150 cfm", runtime="45 min")
    >>> round(hood.share_of_hour[18], 3), hood.share_of_hour[12]
    (0.188, 0.0)
    """

    airflow: float = quantity("m3/s", "airflow of the fan while it runs", at_least=0.0, at_most=2.0)
    runtime: float = quantity(
        "s",
        "running time a day",
        at_least=0.0,
        at_most=86400.0,
        usual=(60.0, 86400.0),
        meant=("{} min", "{} h"),
    )
    schedule: tuple[float, ...] = profile(
        "shape of the running time, by hour of the day; default: 18 to 22 h",
        default=(0,) * 18 + (1,) * 4 + (0,) * 2,
    )
    fan_power: float = quantity(
        "W/(m3/s)", "fan power per airflow", default="0.3 W/cfm", at_least=0.0, at_most=1e4
    )

    def __attrs_post_init__(self) -> None:
        longest = max(self.share_of_hour)
        if longest > 1.0 + 1e-9:
            raise InputError(
                f"{type(self).__name__}.runtime",
                Problem(f"{longest:.2f} h of {self.runtime / 3600.0:g} h fall in one hour"),
                "a shorter runtime, or a schedule with more hours",
            )

    @property
    def share_of_hour(self) -> tuple[float, ...]:
        """Share of each hour of the day in which the fan runs."""
        return tuple(self.runtime / 86400.0 * shape for shape in self.schedule)


@description
class Exhausts(Evolving):
    """Exhaust fans of the household: clothes dryer, range hood and bath fans.

    The electricity of a clothes dryer belongs to the household, so its `fan_power` is best 0.

    Examples
    --------
    >>> exhausts = Exhausts(dryer=ExhaustFan(airflow="120 cfm", runtime="40 min", fan_power=0.0))
    >>> exhausts.range_hood is None
    True
    """

    dryer: ExhaustFan | None = part(
        ExhaustFan, "clothes dryer vented outdoors", default=None, optional=True
    )
    range_hood: ExhaustFan | None = part(
        ExhaustFan, "range hood vented outdoors", default=None, optional=True
    )
    bath_fans: ExhaustFan | None = part(
        ExhaustFan, "all bath fans together", default=None, optional=True
    )

    @property
    def fans(self) -> tuple[ExhaustFan | None, ...]:
        """The three fans, in the order of the engine."""
        return self.dryer, self.range_hood, self.bath_fans
