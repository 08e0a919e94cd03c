"""The house: its size, its skin, its leaks, its people and what its materials hold of water."""

from typing import NamedTuple

import attrs

from moistsim.moisture import MoistureStore, VapourSources
from moistsim.people import EXPECTED_MOISTURE, Gains, Occupancy, WindowOpening, design_moisture
from moistsim.units import InputError, description, part, quantity


class LeakageClass(NamedTuple):
    """Coefficients of the enhanced infiltration model for a number of storeys, without a flue."""

    stack: float
    """Stack coefficient, (Pa/K)^n."""
    wind: float
    """Wind coefficient, (Pa s²/m²)^n."""
    speed_multiplier: float
    """Wind at eaves height over wind at the weather station."""


# ASHRAE Handbook of Fundamentals, ch. 16, enhanced model: stack, wind (slab or basement) and wind
# speed multipliers for one, two and three storeys without a flue; from memory.
LEAKAGE_BY_STOREYS = {
    1: LeakageClass(0.054, 0.156, 0.48),
    2: LeakageClass(0.078, 0.170, 0.59),
    3: LeakageClass(0.098, 0.170, 0.67),
}
# Same chapter, enhanced shelter factors without a flue, classes 1 (open) to 5 (dense); from memory.
SHELTER_FACTOR = {1: 1.00, 2: 0.90, 3: 0.70, 4: 0.50, 5: 0.30}


@description
class Envelope:
    """What separates the house from the outdoors. The plan is a rectangle.

    The default windows come to about 15 per cent of the floor of a one-storey house, the window
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
        "W/(m2 K)", "floor to the ground, over the ground floor's area", default=0.3, at_least=0.0
    )
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
    fast_mass: float = quantity(
        "J/(m2 K)", "board, furniture and contents, by floor area", default=60e3, at_least=0.0
    )
    slow_mass: float = quantity(
        "J/(m2 K)", "slab and structure, by floor area", default=160e3, at_least=0.0
    )
    surface_film: float = quantity(
        "W/(m2 K)", "air to fast mass, by floor area", default=10.0, above=0.0
    )
    mass_coupling: float = quantity(
        "W/(m2 K)", "fast to slow mass, by floor area", default=4.0, at_least=0.0
    )


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

    floor_area: float = quantity("m2", "conditioned floor, all storeys", above=0, at_most=5000)
    storeys: float = quantity("count", "1, 2 or 3", default=1.0, at_least=1, at_most=3)
    ceiling_height: float = quantity("m", "floor to ceiling", default=2.5, above=1.5, at_most=10)
    bedrooms: float = quantity("count", "bedrooms", default=3.0, at_least=0, at_most=20)
    ach50: float = quantity(
        "1/hour", "air changes an hour at 50 Pa, from a blower door", default=3.0, at_least=0,
        at_most=60,
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
    contents_store: MoistureStore | None = part(
        MoistureStore,
        "furniture, textiles, books as a store of their own; left out, the other one stands for "
        "both",
        default=None,
        optional=True,
    )
    vapour_sources: VapourSources = part(
        VapourSources, "vapour that no household makes", default=attrs.Factory(VapourSources)
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

    def __attrs_post_init__(self) -> None:
        for name, table in (("storeys", LEAKAGE_BY_STOREYS), ("shelter", SHELTER_FACTOR)):
            if getattr(self, name) not in table:
                raise InputError(
                    f"{type(self).__name__}.{name}",
                    getattr(self, name),
                    "one of " + ", ".join(str(key) for key in table),
                )

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
        """ASHRAE 160's design rate by the number of bedrooms, kg/s: for the mould check."""
        return design_moisture(self.bedrooms)
