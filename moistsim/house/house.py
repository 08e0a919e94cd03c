"""The house: its size, its skin, its leaks, its people and what its materials hold of water."""

from typing import Any, NamedTuple, cast

import attrs

from moistsim.core.errors import InputError
from moistsim.core.fields import choice, description, part, quantity, several
from moistsim.house.bedroom import Bedroom
from moistsim.house.ducts import Ducts
from moistsim.house.foundation import Foundation
from moistsim.house.leakage import LEAKAGE_BY_STORIES, SHELTER_FACTOR, Exhausts, Leakage
from moistsim.house.moisture import MoistureStore, VaporSources
from moistsim.house.people import (
    EXPECTED_MOISTURE,
    Gains,
    Occupancy,
    WindowOpening,
    design_moisture,
)
from moistsim.house.surfaces import GLASS, Surface, Window
from moistsim.house.typical import TypicalHouse, replaced


class Construction(NamedTuple):
    """Heat capacities by floor area, J/(m2 K)."""

    fast_mass: float
    """Board, furniture and contents."""
    slow_mass: float
    """Slab and structure."""


# Our own round figures: a frame house over a crawl space; a frame house on a slab, or with some
# masonry; masonry or concrete, open to the rooms. The totals of 110, 220 and 360 kJ/(m2 K) stand
# beside 110, 165, 260 and 370 of ISO 13790's light, medium, heavy and very heavy, from memory.
CONSTRUCTION = {
    "light": Construction(50e3, 60e3),
    "medium": Construction(60e3, 160e3),
    "heavy": Construction(70e3, 290e3),
}


@description
class Envelope:
    """What separates the house from the outdoors: a box, or surface by surface.

    The box has a rectangular plan, four walls with windows, and a level roof. In its place
    `surfaces` and `windows` list what there is; the fields of the box then keep their defaults.
    Floor, foundation and mass are given in the same way for both.

    The default windows come to about 15 percent of the floor of a one-story house, the window
    area of a reference home of ANSI/RESNET/ICC 301, from memory.
    """

    orientation: float = quantity(
        "deg", "compass bearing that the front façade faces", default=180.0, at_least=0, below=360
    )
    aspect: float = quantity(
        "count", "length of the front over that of the side", default=1.5, above=0.1, at_most=10
    )
    wall_u: float = quantity("W/(m2 K)", "opaque walls", default=0.45, at_least=0.0)
    wall_absorptance: float = quantity(
        "fraction", "of the sun, walls", default=0.6, at_least=0.0, at_most=1.0
    )
    roof_u: float = quantity("W/(m2 K)", "roof and ceiling", default=0.19, at_least=0.0)
    roof_absorptance: float = quantity(
        "fraction", "of the sun, roof", default=0.8, at_least=0.0, at_most=1.0
    )
    floor_u: float = quantity(
        "W/(m2 K)", "floor to the ground (with a slab, its soil counted in), or to the space below, "
        "over the ground floor's area", default=0.3, at_least=0.0,
    )  # fmt: skip
    window_fraction_front: float = quantity(
        "fraction", "window area over gross wall, front", default=0.20, at_least=0, at_most=0.95
    )
    window_fraction_back: float = quantity(
        "fraction", "the same, back", default=0.20, at_least=0, at_most=0.95
    )
    window_fraction_left: float = quantity(
        "fraction", "the same, left of the front seen from outside", default=0.20, at_least=0,
        at_most=0.95,
    )  # fmt: skip
    window_fraction_right: float = quantity(
        "fraction", "the same, right", default=0.20, at_least=0, at_most=0.95
    )
    window_u: float = quantity("W/(m2 K)", "windows with frames", default=2.0, at_least=0.0)
    window_shgc: float = quantity(
        "fraction", "solar heat gain coefficient at normal incidence", default=0.30, at_least=0.0,
        at_most=0.95,
    )  # fmt: skip
    window_shading: float = quantity(
        "fraction", "share of the sun that blinds and screens let by", default=0.75, at_least=0.0,
        at_most=1.0,
    )  # fmt: skip
    window_incidence: str = choice(
        "what the glass does to light at a slant: panes of clear glass, or one surface of it",
        *GLASS,
        default="one surface",
    )
    construction: str = choice(
        "gives the two masses, where they are not given", *CONSTRUCTION, default="medium"
    )
    fast_mass: float | None = quantity(
        "J/(m2 K)",
        "board, furniture and contents, by floor area; left out, that of `construction`",
        default=None,
        at_least=0.0,
        optional=True,
    )
    slow_mass: float | None = quantity(
        "J/(m2 K)",
        "slab and structure, by floor area; left out, that of `construction`",
        default=None,
        at_least=0.0,
        optional=True,
    )
    surface_film: float = quantity(
        "W/(m2 K)", "air to fast mass, by floor area", default=10.0, above=0.0
    )
    mass_coupling: float = quantity(
        "W/(m2 K)", "fast to slow mass, by floor area", default=4.0, at_least=0.0
    )
    foundation: Foundation = part(
        Foundation, "what lies under the ground floor", default=attrs.Factory(Foundation)
    )
    surfaces: tuple[Surface, ...] = several(
        Surface, "walls and roofs one by one, in the place of the box's"
    )
    windows: tuple[Window, ...] = several(
        Window, "windows one by one, in the place of the box's; only with surfaces"
    )

    def __attrs_post_init__(self) -> None:
        name = type(self).__name__
        if self.windows and not self.surfaces:
            raise InputError(
                f"{name}.windows", "windows without surfaces", "windows only beside surfaces"
            )
        if not self.surfaces:
            return
        fields = attrs.fields_dict(cast(Any, type(self)))
        for key in BOX:
            value = getattr(self, key)
            if value != fields[key].default:
                raise InputError(
                    f"{name}.{key}",
                    f"{value} beside surfaces",
                    "a box (walls, roof and windows by fraction) or surfaces and windows one by "
                    "one, not both",
                )

    @property
    def mass(self) -> Construction:
        """Fast and slow mass as given, or of the construction."""
        usual = CONSTRUCTION[self.construction]
        return Construction(
            usual.fast_mass if self.fast_mass is None else self.fast_mass,
            usual.slow_mass if self.slow_mass is None else self.slow_mass,
        )


BOX = (
    "orientation", "aspect", "wall_u", "wall_absorptance", "roof_u", "roof_absorptance",
    "window_fraction_front", "window_fraction_back", "window_fraction_left",
    "window_fraction_right", "window_u", "window_shgc", "window_shading", "window_incidence",
)  # fmt: skip
"""Fields of `Envelope` that describe the box alone."""


@description
class House:
    """A house of one zone.

    Every quantity is a float in SI or a text with its unit.

    Raises
    ------
    InputError
        If a value is out of range or its unit has another dimension.

    Examples
    --------
    >>> House(floor_area="2000 ft2", ach50=1.5).bedrooms
    3.0
    """

    floor_area: float = quantity("m2", "conditioned floor, all stories", above=0, at_most=5000)
    stories: float = quantity("count", "1, 2 or 3", default=1.0, at_least=1, at_most=3)
    ceiling_height: float = quantity("m", "floor to ceiling", default=2.5, above=1.5, at_most=10)
    bedrooms: float = quantity("count", "bedrooms", default=3.0, at_least=0, at_most=20)
    ach50: float | None = quantity(
        "1/hour",
        "air changes an hour at 50 Pa, from a blower door; left out, 3, or what `leakage` gives",
        default=None, at_least=0, at_most=60, optional=True,
    )  # fmt: skip
    leakage_exponent: float = quantity(
        "count", "exponent of the blower-door line", default=0.65, at_least=0.5, at_most=1.0
    )
    shelter: float = quantity(
        "count", "shelter class from 1 (open) to 5 (dense), ASHRAE's", default=3.0, at_least=1,
        at_most=5,
    )  # fmt: skip
    envelope: Envelope = part(
        Envelope, "walls, windows, roof, floor, mass", default=attrs.Factory(Envelope)
    )
    gains: Gains = part(Gains, "people and what they do", default=attrs.Factory(Gains))
    moisture_store: MoistureStore = part(
        MoistureStore, "materials that hold water", default=attrs.Factory(MoistureStore)
    )
    leakage: Leakage = part(
        Leakage, "where it leaks, and by which model", default=attrs.Factory(Leakage)
    )
    exhausts: Exhausts = part(
        Exhausts, "dryer, range hood and bath fans", default=attrs.Factory(Exhausts)
    )
    ducts: Ducts = part(Ducts, "where the ducts run", default=attrs.Factory(Ducts))
    contents_store: MoistureStore | None = part(
        MoistureStore,
        "furniture, textiles, books as a store of their own; left out, the other one stands for "
        "both",
        default=None,
        optional=True,
    )
    vapor_sources: VaporSources = part(
        VaporSources, "vapor that no household makes", default=attrs.Factory(VaporSources)
    )
    occupancy: Occupancy | None = part(
        Occupancy,
        "who is at home when; left out, every day is as the gains say",
        default=None,
        optional=True,
    )
    window_opening: WindowOpening | None = part(
        WindowOpening, "windows opened by a rule; left out, never", default=None, optional=True
    )
    bedroom: Bedroom | None = part(
        Bedroom,
        "a bedroom behind a closed door, apart from the hallway where the sensor hangs; left out, "
        "all is one volume",
        default=None,
        optional=True,
    )

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
                f"{self.ach50:g} beside a {measured} of the leakage",
                f"one of ach50 and {measured}",
            )
        if self.bedroom is not None and self.bedroom.floor_area > 0.5 * self.floor_area:
            raise InputError(
                f"{type(self).__name__}.bedroom",
                f"one of {self.bedroom.floor_area:g} m2",
                f"a bedroom of at most half the house's {self.floor_area:g} m2",
            )
        flue, eaves = self.leakage.flue_height, self.eaves_height
        if flue is not None and flue < eaves:
            raise InputError(
                f"{type(self).__name__}.leakage", f"a flue_height of {flue:g} m",
                f"at least the eaves' height, {eaves:g} m",
            )  # fmt: skip

    @property
    def eaves_height(self) -> float:
        """Eaves over the ground floor, m."""
        given = self.leakage.eaves_height
        return self.stories * self.ceiling_height if given is None else given

    @property
    def flow_coefficient(self) -> float:
        """Flow coefficient of the blower-door line, m3/(s Pa^n).

        An effective leakage area at 4 Pa passes A sqrt(2 x 4 Pa / density), discharge coefficient
        1, at a density of 1.2 kg/m3 (ASHRAE Fundamentals ch. 16).
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
        """Air changes an hour at 50 Pa, whichever way the leakage was given."""
        if self.ach50 is not None:
            return self.ach50
        return float(self.flow_coefficient * 50.0**self.leakage_exponent * 3600.0 / self.volume)

    @classmethod
    def typical(cls, **fields: Any) -> "House":
        """A house of which little is known, from up to ten fields; the rest is common practice.

        Parameters
        ----------
        **fields
            Those of `typical.TypicalHouse`: ``floor_area`` (which alone must be given),
            ``stories``, ``year``, ``climate``, ``glazing_ratio``, ``orientation``, ``foundation``,
            ``construction``, ``ach50`` and ``occupants``. Besides, any field of `House` that is to
            replace what they give; a part (``envelope={"wall_u": 0.3}``) as a table of the fields
            that differ, or whole.

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
            raise InputError("House.typical", "no floor_area", "a floor_area, such as '2000 ft2'")
        rest = {name: value for name, value in fields.items() if name not in of_typical}
        house: House = _made(cls, replaced(TypicalHouse(**known).fields(), rest))
        return house

    @property
    def volume(self) -> float:
        """Air volume, m3."""
        return self.floor_area * self.ceiling_height

    @property
    def moisture_gain(self) -> float:
        """Household moisture as a mean rate, kg/s."""
        if self.gains.moisture is not None:
            return self.gains.moisture
        return self.gains.occupants * EXPECTED_MOISTURE

    @property
    def moisture_range(self) -> tuple[float, float]:
        """Low and high of what families of this size emit, kg/s: half and one and a half times
        the expected rate."""
        expected = self.gains.occupants * EXPECTED_MOISTURE
        return 0.5 * expected, 1.5 * expected

    @property
    def design_moisture(self) -> float:
        """ASHRAE 160's design rate by the number of bedrooms, kg/s: for the mold check."""
        return design_moisture(self.bedrooms)


def _made(kind: Any, table: dict[str, Any]) -> Any:
    """A description from a table of its fields, its parts from tables within."""
    parts = {f.name: f.metadata["part"] for f in attrs.fields(kind) if "part" in f.metadata}
    return kind(
        **{
            name: _made(parts[name], value) if name in parts and isinstance(value, dict) else value
            for name, value in table.items()
        }
    )


DEFAULT_ACH50 = 3.0
"""Air changes an hour at 50 Pa of a house of which nothing is said."""
