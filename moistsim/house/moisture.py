"""Materials that hold water, with their sorption isotherms as data, and vapor from below and from
new materials."""

import datetime
import re
from typing import Any, NamedTuple

import attrs

from moistsim.core.errors import InputError
from moistsim.core.fields import description, quantity, switch
from moistsim.core.units import to_si


class Isotherm(NamedTuple):
    """Water that a material holds, kg/kg dry, at a relative humidity from 0 to 1.

    w = a RH^b + c RH^d, the form in which Kerestecioglu, Swami & Kamel (1990) gave their materials:
    the first term is the slow rise of dry air, the second the steep one towards saturation.
    """

    a: float
    b: float
    c: float
    d: float

    def water(self, rh: float) -> float:
        """kg of water per kg of dry material at `rh`, 0 to 1."""
        return float(self.a * rh**self.b + self.c * rh**self.d)

    def slope(self, rh: float) -> float:
        """dw/dRH at `rh`, kg/kg per unit of RH."""
        return float(
            self.a * self.b * rh ** (self.b - 1.0) + self.c * self.d * rh ** (self.d - 1.0)
        )

    def line_error(self, rh: float, low: float, high: float) -> float:
        """How far the straight line at `rh` is from the isotherm's change between two humidities.

        Returns
        -------
        float
            Water that the line says goes in from `low` to `high`, over what the isotherm says,
            less 1: -0.1 where the line takes a tenth too little.
        """
        return self.slope(rh) * (high - low) / (self.water(high) - self.water(low)) - 1.0


class Material(NamedTuple):
    """A material of a room: dry density (kg/m3), vapor permeability (kg/(m s Pa)), usual
    thickness that one surface reaches (m), isotherm."""

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
"""From memory: orders of the catalogs of IEA ECBCS Annex 24 (Kumaran 1996) and of the Wood
Handbook, textiles by the regains of ASTM D1909, the coefficients fitted by us. Wood is softwood
across the grain at 21 degC; paper stands in books and files, in at its edges; the carpets are pile
with its backing. `tests/sources/test_sorption_isotherms.py` holds them to published points."""


@description
class MoistureStore:
    """Two layers of material that take up and give back water vapor.

    Effective moisture penetration depth (Kerestecioglu, Swami & Kamel 1990; Woods, Winkler &
    Christensen 2013, NREL/TP-5500-57441): each layer is as thick as a humidity cycle of its period
    reaches, the two together at most the real thickness. The default material is our own composite
    of painted board, wood and furnishings; `MoistureStore.of` makes one of a material in
    `MATERIALS`.
    """

    area: float = quantity(
        "count", "surface that stores, over floor area", default=3.0, at_least=0.0
    )
    density: float = quantity("kg/m3", "dry density", default=650.0, above=0.0)
    sorption_slope: float = quantity(
        "fraction", "water by dry mass per unit of RH (0 to 1)", default=0.07, above=0.0
    )
    permeability: float = quantity("kg/(m s Pa)", "vapor permeability", default=3.0e-12, above=0.0)
    coating: float = quantity(
        "Pa m2 s/kg", "vapor resistance of air film and paint", default=3.0e8, above=0.0
    )
    thickness: float = quantity("m", "real thickness", default=0.0125, above=0.0)
    surface_period: float = quantity(
        "s", "cycle that the surface layer follows", default="24 h", above=0.0
    )
    deep_period: float = quantity(
        "s", "cycle that the deep layer follows", default="28 day", above=0.0
    )
    deep: bool = switch("whether there is a deep layer at all", default=True)

    def __attrs_post_init__(self) -> None:
        if self.deep_period <= self.surface_period:
            raise InputError(
                f"{type(self).__name__}.deep_period",
                f"{self.deep_period:.0f} s",
                f"a period longer than the surface layer's {self.surface_period:.0f} s",
            )

    @classmethod
    def of(cls, material: str, *, rh: float | str = "50 %", **changes: Any) -> "MoistureStore":
        """A store of one material of `MATERIALS`, its isotherm made straight about `rh`.

        The slope is that of the isotherm at `rh`. What that costs, `Isotherm.line_error` says: for
        wood about 50 % it is 2 percent of the water moved between 40 and 60 %, and a fifth too
        little between 40 and 80 %; for cotton and paper a third too little there.

        Parameters
        ----------
        material : str
            A key of `MATERIALS`.
        rh : float or str
            Relative humidity in percent about which the house is expected to stay.
        **changes
            Fields of the store: above all `area`, and `coating`, the resistance of film and paint.

        Raises
        ------
        InputError
            If the material is not known or `rh` is not between 1 and 99 %.

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
    """ "MM-DD" or "YYYY-MM-DD", or nothing."""
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
class VaporSources:
    """Water vapor that no household makes: from the ground, a wet basement, new materials.

    By default there is none of it. Bare soil under a floor can give up to about 0.5 kg a day and
    m2, a covered and sealed one a twentieth of that; a basement whose walls are visibly damp some
    5 to 15 kg a day; a new house of concrete, plaster and green timber some 10 to 30 kg a m2 of
    floor in its first year or two (orders, from memory). Where water stands, its cause is to be
    cured first: mold and rot are matters of health and of structure.
    """

    ground: float = quantity(
        "kg/(s m2)", "vapor from the ground or the crawl space, over the ground floor's area",
        default=0.0, at_least=0.0,
    )  # fmt: skip
    basement: float = quantity(
        "kg/s", "vapor from a wet basement", default=0.0, at_least=0.0
    )  # fmt: skip
    basement_from: float = quantity(
        "count", "first month in which the basement is wet", default=1.0, at_least=1, at_most=12
    )
    basement_to: float = quantity(
        "count", "last month of it; before the first one, over the turn of the year", default=12.0,
        at_least=1, at_most=12,
    )  # fmt: skip
    construction: float = quantity(
        "kg/m2", "water in new materials that dries into the rooms, over floor area", default=0.0,
        at_least=0.0,
    )  # fmt: skip
    construction_time: float = quantity(
        "s", "time in which all but 1/e of it is gone", default="120 day", above=0.0
    )
    construction_from: str | None = attrs.field(
        default=None,
        converter=attrs.Converter(_date, takes_self=True, takes_field=True),
        metadata={
            "help": "day on which the house was closed and began to dry; left out, the weather's "
            "first day"
        },
    )
