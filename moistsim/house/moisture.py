"""Materials that store moisture, with their sorption isotherms, and other sources of vapor."""

import datetime
import re
from typing import Any, NamedTuple

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError
from moistsim.core.fields import description, quantity, switch
from moistsim.core.units import to_si


class Isotherm(NamedTuple):
    """Moisture content of a material, kg/kg dry, at a relative humidity from 0 to 1.

    w = a RH^b + c RH^d, the form of Kerestecioglu, Swami & Kamel (1990). The first term is the slow
    rise in dry air; the second is the steep rise near saturation.
    """

    a: float
    b: float
    c: float
    d: float

    def water(self, rh: float) -> float:
        """Moisture content at `rh` (0 to 1), kg/kg dry."""
        return float(self.a * rh**self.b + self.c * rh**self.d)

    def slope(self, rh: float) -> float:
        """Slope of the isotherm at `rh` (0 to 1), kg/kg per unit of RH."""
        return float(
            self.a * self.b * rh ** (self.b - 1.0) + self.c * self.d * rh ** (self.d - 1.0)
        )

    def line_error(self, rh: float, low: float, high: float) -> float:
        """Relative error of a straight line at `rh` between two relative humidities (0 to 1).

        Returns
        -------
        float
            Moisture that the line takes up from `low` to `high` over that of the isotherm, less 1.
            -0.1 means that the line takes up a tenth too little.
        """
        return self.slope(rh) * (high - low) / (self.water(high) - self.water(low)) - 1.0


class Material(NamedTuple):
    """A material of a room, with its density, permeability, thickness and isotherm.

    Dry density is in kg/m3 and vapor permeability in kg/(m s Pa). Thickness is the usual one behind
    one surface, m.

    Examples
    --------
    `MATERIALS` holds the materials by name:

    >>> sorted(MATERIALS)[:3]
    ['brick', 'concrete', 'cotton']
    >>> round(MATERIALS["wood"].isotherm.water(0.5), 3)
    0.093
    """

    density: float
    permeability: float
    thickness: float
    isotherm: Isotherm


MATERIALS: dict[str, Material] = {
    "gypsum board": Material(640.0, 2.4e-11, 0.0127, Isotherm(0.0075, 0.9, 0.016, 14.0)),
    "wood": Material(500.0, 1.5e-12, 0.019, Isotherm(0.1614, 0.805, 0.1208, 7.1)),
    "concrete": Material(2300.0, 3.0e-12, 0.10, Isotherm(0.024, 0.75, 0.022, 6.0)),
    "brick": Material(1800.0, 2.0e-11, 0.10, Isotherm(0.0012, 0.7, 0.006, 12.0)),
    "cotton": Material(200.0, 6.0e-11, 0.010, Isotherm(0.085, 0.65, 0.120, 6.0)),
    "wool carpet": Material(180.0, 8.0e-11, 0.012, Isotherm(0.184, 0.67, 0.100, 6.0)),
    "nylon carpet": Material(180.0, 8.0e-11, 0.012, Isotherm(0.064, 0.95, 0.030, 6.0)),
    "paper": Material(700.0, 2.0e-12, 0.020, Isotherm(0.092, 0.62, 0.110, 6.0)),
}
"""Materials of rooms, by name.

Orders of magnitude are from the catalogs of IEA ECBCS Annex 24 (Kumaran 1996) and the Wood
Handbook, from memory. Textiles follow the regains of ASTM D1909, from memory. The coefficients are
our own fits. Wood is softwood across the grain at 21 degC. Paper is in books and files, and absorbs
moisture at its edges. Carpets are pile with backing. `tests/sources/test_sorption_isotherms.py`
compares the isotherms with published points."""


@description
class MoistureStore(Evolving):
    """Moisture storage in materials, as a surface layer and a deep layer.

    The model is the effective moisture penetration depth (Kerestecioglu, Swami & Kamel 1990; Woods,
    Winkler & Christensen 2013, NREL/TP-5500-57441). Each layer is as thick as a humidity cycle of
    its period penetrates. Together they are at most as thick as the material. The default material
    is our own composite of painted board, wood and furnishings. `MoistureStore.of` makes a store of
    one material in `MATERIALS`.

    Examples
    --------
    >>> store = MoistureStore(area=2.5, deep_period="21 day")
    >>> store.area, store.deep_period / 86400
    (2.5, 21.0)
    """

    area: float = quantity(
        "count",
        "surface area that stores moisture, over floor area",
        default=3.0,
        at_least=0.0,
        at_most=100.0,
    )
    density: float = quantity(
        "kg/m3",
        "dry density of the material",
        default=650.0,
        at_least=1.0,
        at_most=1e4,
        usual=(100.0, 3000.0),
    )
    sorption_slope: float = quantity(
        "fraction",
        "change of moisture content (by dry mass) per unit of RH (0 to 1)",
        default=0.07,
        above=0.0,
        at_most=2.0,
    )
    permeability: float = quantity(
        "kg/(m s Pa)",
        "vapor permeability of the material",
        default=3.0e-12,
        above=0.0,
        at_most=1e-8,
    )
    coating: float = quantity(
        "Pa m2 s/kg",
        "vapor resistance of air film and paint together",
        default=3.0e8,
        above=0.0,
        at_most=1e14,
    )
    thickness: float = quantity(
        "m",
        "thickness of the material",
        default=0.0125,
        above=0.0,
        at_most=1.0,
        usual=(0.0, 0.3),
        meant=("{} mm", "{} in"),
    )
    surface_period: float = quantity(
        "s",
        "period of the humidity cycle that the surface layer follows",
        default="24 h",
        above=0.0,
        at_most=3.2e7,
        usual=(3600.0, 3.2e7),
        meant=("{} h", "{} day"),
    )
    deep_period: float = quantity(
        "s",
        "period of the humidity cycle that the deep layer follows",
        default="28 day",
        above=0.0,
        at_most=1e12,
        usual=(172800.0, 3.2e8),
        meant=("{} day", "{} h"),
    )
    deep: bool = switch("presence of the deep layer", default=True)

    def __attrs_post_init__(self) -> None:
        if self.deep_period <= self.surface_period:
            raise InputError(
                f"{type(self).__name__}.deep_period",
                f"{self.deep_period:.0f} s",
                f"a period longer than the surface layer's {self.surface_period:.0f} s",
            )

    @classmethod
    def of(cls, material: str, *, rh: float | str = "50 %", **changes: Any) -> "MoistureStore":
        """Make a store of one material of `MATERIALS`, with a straight isotherm at `rh`.

        The slope is that of the isotherm at `rh`. `Isotherm.line_error` gives the error of the
        straight line. For wood at 50 % RH the error is 2 percent between 40 and 60 % RH. Between 40
        and 80 % RH the line takes up a fifth too little for wood, and a third too little for cotton
        and paper.

        Parameters
        ----------
        material : str
            A key of `MATERIALS`.
        rh : float or str
            Relative humidity, percent, near which the house is expected to stay.
        **changes
            Other fields of the store, such as `area` and `coating`.

        Raises
        ------
        InputError
            If the material is unknown or `rh` is not between 1 and 99 %.

        Examples
        --------
        >>> board = MoistureStore.of("gypsum board", area=2.5)
        >>> round(board.sorption_slope, 4), board.thickness
        (0.0073, 0.0127)
        """
        if material not in MATERIALS:
            raise InputError(
                "MoistureStore.of material", material, "one of " + ", ".join(MATERIALS)
            )
        about = to_si(rh, "percent", "MoistureStore.of rh")
        if not 1.0 <= about <= 99.0:
            raise InputError("MoistureStore.of rh", rh, "a relative humidity from 1 % to 99 %")
        known = MATERIALS[material]
        return cls(
            **{
                "density": known.density,
                "permeability": known.permeability,
                "thickness": known.thickness,
                "sorption_slope": known.isotherm.slope(about / 100.0),
                **changes,
            }
        )


def _date(value: Any, instance: Any, field: Any) -> str | None:
    """A day as "MM-DD" or "YYYY-MM-DD", or None."""
    if value is None:
        return None
    text = value.isoformat() if isinstance(value, datetime.date) else value
    try:
        # A leap year knows every day that there is.
        datetime.date.fromisoformat(text if re.match(r"\d{4}-", text) else f"2000-{text}")
    except (TypeError, ValueError):
        raise InputError(
            f"{type(instance).__name__}.{field.name}",
            value,
            "a day such as '03-01' or '2026-03-01'",
        ) from None
    return str(text)


@description
class VaporSources(Evolving):
    """Water vapor from the ground, a wet basement or new materials.

    The defaults are zero. Vapor from the ground and a wet basement goes to the house's crawl space or
    basement; in a house without such a space it goes to the rooms. The soil of a described crawl space
    gives off vapor without `ground`, by its temperature and its cover.

    Orders of magnitude, from memory: bare soil under a floor gives up to 0.5
    kg a day per m2, and covered, sealed soil a twentieth of that. A basement with visibly damp
    walls gives 5 to 15 kg a day. A new house of concrete, plaster and green timber gives 10 to 30 kg
    per m2 of floor in its first year or two.

    Safety: if water stands, find and stop its cause first. Mold and rot are risks to health and
    structure.

    Examples
    --------
    >>> sources = VaporSources(basement="8 kg/day", basement_from=4, basement_to=9)
    >>> round(sources.basement * 86400, 1)
    8.0
    """

    ground: float = quantity(
        "kg/(s m2)", "vapor from the ground, over ground floor area; a described crawl space has its own",
        default=0.0, at_least=0.0, at_most=1e-4,
    )  # fmt: skip
    basement: float = quantity(
        "kg/s", "vapor from a wet basement", default=0.0, at_least=0.0, at_most=0.01
    )  # fmt: skip
    basement_from: float = quantity(
        "count", "first month in which the basement is wet", default=1.0, at_least=1, at_most=12
    )
    basement_to: float = quantity(
        "count", "last month in which the basement is wet; a month before the first one spans New Year", default=12.0,
        at_least=1, at_most=12,
    )  # fmt: skip
    construction: float = quantity(
        "kg/m2", "water in new materials that dries into the rooms, over floor area", default=0.0,
        at_least=0.0, at_most=200.0,
    )  # fmt: skip
    construction_time: float = quantity(
        "s",
        "time constant of the drying of new materials",
        default="120 day",
        above=0.0,
        at_most=3.2e8,
        usual=(86400.0, 3.2e8),
        meant=("{} day",),
    )
    construction_from: str | None = attrs.field(
        default=None,
        converter=attrs.Converter(_date, takes_self=True, takes_field=True),
        metadata={
            "help": "day on which the house was closed and began to dry; default: first day of the "
            "weather"
        },
    )
