"""The stand-alone dehumidifier: rated water removal and energy factor, and how they vary."""

from typing import NamedTuple

from moistsim import air
from moistsim.units import InputError, description, from_si, quantity


class Quadratic(NamedTuple):
    """a + b T + c T² + d R + e R² + f T R: T inlet dry bulb in degC, R inlet RH in per cent."""

    a: float
    b: float
    c: float
    d: float
    e: float
    f: float

    def at(self, t: float, rh: float) -> float:
        a, b, c, d, e, f = self
        return a + b * t + c * t * t + d * rh + e * rh * rh + f * t * rh


# Winkler, Christensen & Tomerlin (2011), NREL/TP-5500-52791, from memory; each is divided by its
# own value at the rating point before use (see engine.parameters).
WATER_REMOVAL = Quadratic(
    -1.162525707, 0.02271469, -0.000113208, 0.021110538, -0.0000693034, 0.000378843
)
ENERGY_FACTOR = Quadratic(
    -1.902154518, 0.063466565, -0.000622839, 0.039540407, -0.000125637, -0.000176722
)
RATED_INLET = (80.0 - 32.0) / 1.8
"""Inlet dry bulb of the rating, degC (80 degF)."""
RATED_RH = 60.0
"""Inlet relative humidity of the rating, per cent."""


@description
class Dehumidifier:
    """A dehumidifier that stands in the zone: all its heat and electricity go to the room.

    `capacity` and `energy_factor` are those of the rating point 26.7 degC (80 degF), 60 % RH.
    """

    capacity: float = quantity(
        "kg/s", "water removed at the rating point", above=0.0, at_most=0.005
    )
    energy_factor: float = quantity(
        "kg/J",
        "water removed per electricity at the rating point, its fan included",
        default="2.4 L/kWh",
        above=0.0,
    )
    airflow: float = quantity("m3/s", "air flow through the machine", default="200 cfm", above=0.0)
    standby_power: float = quantity("W", "draw while it rests", default=2.0, at_least=0.0)
    minimum_on: float = quantity("s", "least running time", default="5 min", at_least=0.0)
    minimum_off: float = quantity("s", "least rest between runs", default="5 min", at_least=0.0)
    low_inlet_limit: float = quantity(
        "degC", "inlet temperature below which frost stops it", default=8.0
    )

    def __attrs_post_init__(self) -> None:
        litres = self.energy_factor * 3.6e6 / 0.9982
        if not 0.3 <= litres <= 8.0:
            raise InputError(
                f"{type(self).__name__}.energy_factor",
                f"{litres:.3g} L/kWh",
                "from 0.3 to 8 L/kWh, which spans all machines made",
            )
        # Colder than freezing the air cannot leave: the rest of its water would be frost.
        pressure = air.STANDARD_PRESSURE
        entering = air.humidity_ratio_at(RATED_INLET, RATED_RH / 100.0, pressure)
        most = entering - air.saturation_humidity_ratio(0.0, pressure)
        least = self.capacity / most / air.STANDARD_DENSITY
        if self.airflow < least:
            raise InputError(
                f"{type(self).__name__}.airflow",
                f"{self.airflow:.3f} m3/s ({from_si(self.airflow, 'm3/s', 'cfm'):.0f} cfm)",
                f"at least {least:.3f} m3/s ({from_si(least, 'm3/s', 'cfm'):.0f} cfm) for this "
                "capacity: less air does not hold so much water above frost",
            )
