"""The house: its size, its envelope, its leaks, its people and the water that its materials hold."""

from typing import Any, cast

import attrs

from moistsim.core.errors import InputError
from moistsim.core.fields import description, part, quantity
from moistsim.house.bedroom import Bedroom
from moistsim.house.ducts import Ducts
from moistsim.house.envelope import Envelope
from moistsim.house.leakage import LEAKAGE_BY_STORIES, SHELTER_FACTOR, Exhausts, Leakage
from moistsim.house.moisture import MoistureStore, VaporSources
from moistsim.house.people import (
    EXPECTED_MOISTURE,
    Gains,
    Occupancy,
    WindowOpening,
    design_moisture,
)
from moistsim.house.typical import TypicalHouse, replaced


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
            ``stories``, ``year``, ``climate``, ``window_to_wall_ratio``, ``orientation``, ``foundation``,
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
