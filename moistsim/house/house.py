"""The house: its size, its envelope and the spaces around it, its leaks, its people, its materials."""

import math
from typing import Any, cast

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.display import Show
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import description, part, quantity
from moistsim.core.summary import Summarized, Summary, all_values, reader
from moistsim.house.attic import Attic
from moistsim.house.basement import Basement
from moistsim.house.bedroom import Bedroom
from moistsim.house.crawl_space import CrawlSpace
from moistsim.house.ducts import Ducts
from moistsim.house.envelope import Envelope
from moistsim.house.garage import Garage
from moistsim.house.house_facts import house_facts
from moistsim.house.leakage import LEAKAGE_BY_STORIES, SHELTER_FACTOR, Exhausts, Leakage
from moistsim.house.moisture import MoistureStore, VaporSources
from moistsim.house.people import (
    EXPECTED_MOISTURE,
    Gains,
    Occupancy,
    WindowOpening,
    design_moisture,
)
from moistsim.house.second_zone import UPPER_FLOOR, SecondZone
from moistsim.house.typical import TypicalHouse, one_leakage, replaced


@description
class House(Evolving, Summarized):
    """A house of one zone, or of two: size, envelope, leakage, ducts, people and moisture storage.

    Each quantity is a number in SI or a text with its unit.

    A house with neither `crawl_space` nor `basement` stands on a slab. Without `attic`, outdoor air
    and sun act on roof and ceiling together. Ducts in a space that is not described add it with its
    defaults.

    Raises
    ------
    InputError
        If a value is out of range or its unit has another dimension.

    Examples
    --------
    >>> House(floor_area="2000 ft2", ach50=1.5).bedrooms
    3.0
    """

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
    ceiling_height: float = quantity(
        "m", "height from floor to ceiling", default=2.5, above=1.5, at_most=7.0, usual=(1.8, 5.0)
    )
    bedrooms: float = quantity("count", "number of bedrooms", default=3.0, at_least=0, at_most=20)
    ach50: float | None = quantity(
        "1/hour",
        "air leakage at 50 Pa from a blower door, air changes an hour (ACH50); default: 3, or by `leakage`",
        default=None, at_least=0, at_most=60, optional=True,
    )  # fmt: skip
    leakage_exponent: float = quantity(
        "count",
        "exponent of the leakage line from the blower door",
        default=0.65,
        at_least=0.5,
        at_most=1.0,
    )
    shelter: float = quantity(
        "count", "shelter class of ASHRAE Fundamentals, from 1 (open) to 5 (dense)", default=3.0, at_least=1,
        at_most=5,
    )  # fmt: skip
    envelope: Envelope = part(
        Envelope,
        "envelope: walls, windows, roof, floor and thermal mass",
        default=attrs.Factory(Envelope),
    )
    gains: Gains = part(
        Gains, "internal gains from people, appliances and lights", default=attrs.Factory(Gains)
    )
    moisture_store: MoistureStore = part(
        MoistureStore,
        "moisture storage of the building materials",
        default=attrs.Factory(MoistureStore),
    )
    leakage: Leakage = part(
        Leakage, "location of air leakage, and infiltration model", default=attrs.Factory(Leakage)
    )
    exhausts: Exhausts = part(
        Exhausts,
        "exhaust fans: clothes dryer, range hood and bath fans",
        default=attrs.Factory(Exhausts),
    )
    ducts: Ducts = part(
        Ducts, "ducts: location, leakage and insulation", default=attrs.Factory(Ducts)
    )
    crawl_space: CrawlSpace | None = part(
        CrawlSpace,
        "crawl space under the ground floor; default: a slab",
        default=None,
        optional=True,
    )
    basement: Basement | None = part(
        Basement,
        "unheated basement under the ground floor; default: a slab",
        default=None,
        optional=True,
    )
    attic: Attic | None = part(
        Attic,
        "attic over the ceiling; default: a roof without a space below it",
        default=None,
        optional=True,
    )
    garage: Garage | None = part(
        Garage, "attached garage; default: none", default=None, optional=True
    )
    second_zone: SecondZone | None = part(
        SecondZone,
        "upper floor or wing with air of its own; default: the house is one zone",
        default=None,
        optional=True,
    )
    contents_store: MoistureStore | None = part(
        MoistureStore,
        "moisture storage of furniture, textiles and books; default: included in `moisture_store`",
        default=None,
        optional=True,
    )
    vapor_sources: VaporSources = part(
        VaporSources,
        "vapor from the ground, a wet basement or new materials",
        default=attrs.Factory(VaporSources),
    )
    occupancy: Occupancy | None = part(
        Occupancy,
        "presence and activities of people by day; default: all days follow `gains`",
        default=None,
        optional=True,
    )
    window_opening: WindowOpening | None = part(
        WindowOpening,
        "rule by which people open windows; default: windows stay closed",
        default=None,
        optional=True,
    )
    bedroom: Bedroom | None = part(
        Bedroom,
        "bedroom with a closed door, apart from the hallway with the sensor; default: one air volume",
        default=None,
        optional=True,
    )

    def summary(self, show: Show) -> Summary:
        """Size, people, leakage and spaces, and every value, as a notebook shows them."""
        of = house_facts(self, show)
        facts = (
            ("Size", of.size),
            ("Air leakage", of.leakage),
            ("People", of.people),
            ("Household moisture", of.moisture),
            (
                "Ducts and spaces",
                ", ".join(of.around) or "ducts inside, no space next to the house",
            ),
        )
        return Summary("House", "", facts, (all_values(self, show),))

    def __repr__(self) -> str:
        of = house_facts(self, reader())
        return f"<House: {', '.join((of.size, of.leakage, of.people, *of.around))}>"

    def __attrs_post_init__(self) -> None:
        for name, table in (("stories", LEAKAGE_BY_STORIES), ("shelter", SHELTER_FACTOR)):
            if getattr(self, name) not in table:
                raise InputError(
                    f"{type(self).__name__}.{name}",
                    getattr(self, name),
                    "one of " + ", ".join(str(key) for key in table),
                )
        measured = next(
            (n for n in ("cfm50", "effective_area") if getattr(self.leakage, n) is not None), None
        )
        if measured is None and self.ach50 is None:
            object.__setattr__(self, "ach50", DEFAULT_ACH50)
        elif measured is not None and self.ach50 is not None:
            raise InputError(
                f"{type(self).__name__}.ach50",
                Problem(f"both ach50 and {measured} are given"),
                f"one of ach50 and {measured}",
            )
        if self.bedroom is not None and self.bedroom.floor_area > 0.5 * self.floor_area:
            raise InputError(
                f"{type(self).__name__}.bedroom",
                Problem(f"the bedroom has {self.bedroom.floor_area:g} m2"),
                f"a bedroom of at most half the house's {self.floor_area:g} m2",
            )
        second = self.second_zone.ducts if self.second_zone is not None else None
        for ducts in (self.ducts, second or self.ducts):
            around_ducts = ducts.location.replace(" ", "_")
            if around_ducts in SPACES and getattr(self, around_ducts) is None:
                object.__setattr__(self, around_ducts, SPACES[around_ducts]())
        self._check_spaces()
        flue, eaves = self.leakage.flue_height, self.eaves_height
        if flue is not None and flue < eaves:
            raise InputError(
                f"{type(self).__name__}.leakage", Problem(f"flue_height is {flue:g} m"),
                f"at least the eaves' height, {eaves:g} m",
            )  # fmt: skip

    def _check_spaces(self) -> None:
        name = type(self).__name__
        if self.second_zone is not None and self.bedroom is not None:
            raise InputError(
                f"{name}.second_zone",
                Problem("both a second zone and a bedroom are given"),
                "either second_zone or bedroom",
            )
        if (
            self.second_zone is not None
            and self.second_zone.kind == UPPER_FLOOR
            and self.stories == 1.0
        ):
            raise InputError(
                f"{name}.second_zone",
                Problem("an upper floor in a house of one story"),
                "stories 2 or 3, or a second zone of kind 'wing'",
            )
        if self.crawl_space is not None and self.basement is not None:
            raise InputError(
                f"{name}.basement",
                Problem("both a crawl space and a basement lie under the house"),
                "either crawl_space or basement, and ducts in that one or elsewhere",
            )
        walls = self.perimeter * self.ceiling_height * self.stories
        if self.garage is not None and self.garage.shared_wall_area > 0.5 * walls:
            raise InputError(
                f"{name}.garage",
                Problem(f"shared_wall_area is {self.garage.shared_wall_area:.0f} m2"),
                f"at most half the house's walls, which have {walls:.0f} m2",
            )

    @property
    def spaces(self) -> tuple[str, ...]:
        """Names of the spaces next to the house, as the fields that describe them."""
        return tuple(name for name in SPACES if getattr(self, name) is not None)

    @property
    def footprint(self) -> float:
        """Area of the ground floor, m2; ceiling and roof deck have the same plan."""
        return self.floor_area / self.stories

    @property
    def perimeter(self) -> float:
        """Length of the outer walls around the ground floor, m: that of a box with `aspect`."""
        front = math.sqrt(self.footprint * self.envelope.aspect)
        return 2.0 * (front + self.footprint / front)

    @property
    def eaves_height(self) -> float:
        """Height of the eaves above the ground floor, m."""
        given = self.leakage.eaves_height
        return self.stories * self.ceiling_height if given is None else given

    @property
    def flow_coefficient(self) -> float:
        """Flow coefficient of the leakage line, m3/(s Pa^n).

        An effective leakage area A at 4 Pa passes A sqrt(2 x 4 Pa / density). The discharge
        coefficient is 1 and the density 1.2 kg/m3 (ASHRAE Fundamentals ch. 16).
        """
        leakage, n = self.leakage, self.leakage_exponent
        if leakage.effective_area is not None:
            return float(leakage.effective_area * (8.0 / 1.2) ** 0.5 / 4.0**n)
        if leakage.cfm50 is not None:
            return float(leakage.cfm50 / 50.0**n)
        assert self.ach50 is not None
        return float(self.ach50 * self.volume / 3600.0 / 50.0**n)

    @property
    def changes_at_50_pa(self) -> float:
        """Air changes an hour at 50 Pa, however the leakage was given."""
        if self.ach50 is not None:
            return self.ach50
        return float(self.flow_coefficient * 50.0**self.leakage_exponent * 3600.0 / self.volume)

    @classmethod
    def typical(cls, **fields: Any) -> "House":
        """Describe a house by up to ten fields; common practice of its year fills in the rest.

        Parameters
        ----------
        **fields
            Those of `typical.TypicalHouse`: ``floor_area`` (the only required one),
            ``stories``, ``year``, ``climate``, ``window_to_wall_ratio``, ``orientation``, ``foundation``,
            ``construction``, ``ach50`` and ``occupants``. Any other field of `House` replaces the
            usual value. A part may be whole, or a table of the fields that differ, such as
            ``envelope={"wall_u": 0.3}``.

        Raises
        ------
        InputError
            If a value is out of range or its unit has another dimension.

        Examples
        --------
        >>> house = House.typical(floor_area="1800 ft2", year=1985, foundation="crawl space")
        >>> house.ach50, house.envelope.construction
        (8.0, 'light')
        """
        of_typical = {field.name for field in attrs.fields(cast(Any, TypicalHouse))}
        known = {name: value for name, value in fields.items() if name in of_typical}
        if "floor_area" not in known:
            raise InputError(
                "House.typical", Problem("no floor_area"), "a floor_area, such as '2000 ft2'"
            )
        rest = {name: value for name, value in fields.items() if name not in of_typical}
        usual = one_leakage(TypicalHouse(**known).fields(), rest)
        house: House = _made(cls, replaced(usual, rest))
        return house

    @property
    def volume(self) -> float:
        """Air volume of the house, m3."""
        return self.floor_area * self.ceiling_height

    @property
    def moisture_gain(self) -> float:
        """Mean rate of household moisture, kg/s."""
        if self.gains.moisture is not None:
            return self.gains.moisture
        return self.gains.occupants * EXPECTED_MOISTURE

    @property
    def moisture_range(self) -> tuple[float, float]:
        """Low and high moisture of families of this size, kg/s: 0.5 and 1.5 times the expected
        rate."""
        expected = self.gains.occupants * EXPECTED_MOISTURE
        return 0.5 * expected, 1.5 * expected

    @property
    def design_moisture(self) -> float:
        """Design rate of ASHRAE 160 by number of bedrooms, kg/s: for the mold check."""
        return design_moisture(self.bedrooms)


def _made(kind: Any, table: dict[str, Any]) -> Any:
    """Make a description from a table of its fields, and its parts from tables within."""
    parts = {f.name: f.metadata["part"] for f in attrs.fields(kind) if "part" in f.metadata}
    return kind(
        **{
            name: _made(parts[name], value) if name in parts and isinstance(value, dict) else value
            for name, value in table.items()
        }
    )


SPACES: dict[str, Any] = {
    "second_zone": SecondZone,
    "crawl_space": CrawlSpace,
    "basement": Basement,
    "attic": Attic,
    "garage": Garage,
}
"""Spaces next to a house, in the order of the engine, the second zone first: the fields of `House` and their classes."""
DEFAULT_ACH50 = 3.0
"""Default air leakage, air changes an hour at 50 Pa; our own round figure."""
