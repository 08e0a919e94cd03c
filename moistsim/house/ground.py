"""The ground below a house, and its temperature through the year."""

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError
from moistsim.core.fields import description, quantity


@description
class Ground(Evolving):
    """The soil below a house: slab, crawl space and basement exchange heat with it.

    The mean, amplitude and coldest day of the ground's surface come from the weather's months unless
    all three are given. Weather of less than a year gives only a mean, and the surface then stays at
    that mean.

    Below a slab the ground's temperature follows Kusuda & Achenbach at a depth of 2 m, which stands for
    the path under the slab and around its edge. Two meters of soil damp the year to 0.45 and delay it
    by 1.5 months. ISO 13370 has an uninsulated slab damp it to 0.45 and delay it by 1 month (from
    memory). Below a crawl space, a basement or a garage the soil stores heat, and passes the year on as
    in ISO 13370. With a `depth`, all of them have the temperature at that depth on their far side.

    Examples
    --------
    >>> round(Ground(depth="6 ft").depth, 2)
    1.83
    """

    depth: float | None = quantity(
        "m",
        "depth at which the ground's temperature is taken; default: 2 m below a slab, by ISO 13370 below a "
        "crawl space, basement or garage",
        default=None, at_least=0.0, at_most=30.0, optional=True,
    )  # fmt: skip
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
        year = {f: getattr(self, f) for f in ("mean_temperature", "amplitude", "coldest_day")}
        missing = [f for f, value in year.items() if value is None]
        if missing and len(missing) < len(year):
            raise InputError(
                f"{type(self).__name__}.{missing[0]}",
                None,
                "all of " + ", ".join(year) + ", or none of them",
            )
