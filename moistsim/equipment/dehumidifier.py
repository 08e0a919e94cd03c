"""The dehumidifier: its label at three rating points, where its air comes from, how it is run."""

from typing import NamedTuple

import attrs

from moistsim import air
from moistsim.core.errors import InputError
from moistsim.core.fields import choice, description, quantity
from moistsim.core.units import from_si


class Quadratic(NamedTuple):
    """a + b T + c T² + d R + e R² + f T R: T inlet dry bulb in degC, R inlet RH in percent."""

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
"""Inlet dry bulb to which the curves are normalized, degC (80 degF)."""
RATED_RH = 60.0
"""Inlet relative humidity of all three ratings, percent."""
RATING_INLETS = {
    "26.7 degC": RATED_INLET,
    "18.3 degC portable": (65.0 - 32.0) / 1.8,
    "22.8 degC whole-home": (73.0 - 32.0) / 1.8,
}
"""Inlet dry bulb of each rating point, degC: 80 degF on older labels, 65 degF (portable) and 73
degF (whole-home) by today's 10 CFR 430 subpart B appendix X1; from memory."""
DRYING_HOURS = 1095.0
"""Hours a year in which a dehumidifier dries (appendix X1, from memory)."""
OFF_CYCLE_HOURS = 1840.5
"""Hours a year in which it waits for its humidistat (appendix X1, from memory)."""
OFF_HOURS = 1840.5
"""Hours a year in which it is off or inactive (appendix X1, from memory)."""
FILTER_WATER, FILTER_POWER = 0.3, 0.1
"""Exponents of the filter factor on water removal and power. Our own rule, no source: less air
makes the evaporator colder, so that water falls less than the air does, and the condenser hotter,
so that power falls hardly at all."""


def low_power_energy(standby: float, off_cycle_fan: float) -> float:
    """Energy of the low-power modes of a year per hour of drying, J a second of drying (W).

    E_TLP = P_off-cycle x 1840.5 h + P_off x 1840.5 h, spread over 1095 h of drying: 10 CFR 430
    subpart B appendix X1, from memory. Off or inactive, a machine draws its standby power; waiting
    for its humidistat, that and a fan that it may leave on.

    >>> round(low_power_energy(2.0, 0.0), 4)
    6.7233
    """
    year = OFF_CYCLE_HOURS * (standby + off_cycle_fan) + OFF_HOURS * standby
    return year / DRYING_HOURS


def _energy_factor(dryer: "Dehumidifier") -> str | None:
    return "2.4 L/kWh" if dryer.integrated_energy_factor is None else None


@description
class Dehumidifier:
    """A dehumidifier: all its heat and electricity go to the air that it serves.

    `capacity` and the energy factor are those of the `rating` point, with a clean filter and no
    condensate pump; the machine run at that point gives them back. An energy factor counts the
    electricity of drying alone; an integrated energy factor also that of the low-power hours, so
    that the two are not the same number. Give one of them.

    The inlet is where its air comes from: the zone; the return duct; outdoors, which brings
    outdoor air in for as long as it runs; or the ventilation's supply stream, of which the machine
    takes its own airflow or, where there is less, fills up with room air. In a house of one zone
    the return is the zone, and an outlet into the supply duct is one into the zone: these choices
    are taken, and change nothing.

    With a `humidistat` the machine answers its own sensor, of the lag that the house's sensor has,
    in the zone; what the strategy asks of it is then ignored.
    """

    capacity: float = quantity(
        "kg/s", "water removed at the rating point", above=0.0, at_most=0.005
    )
    integrated_energy_factor: float | None = quantity(
        "kg/J",
        "water removed per electricity at the rating point, low-power hours included",
        default=None,
        above=0.0,
        optional=True,
    )
    energy_factor: float | None = quantity(
        "kg/J",
        "water removed per electricity of drying, its fan included, at the rating point; 2.4 L/kWh "
        "if neither energy factor is given",
        default=attrs.Factory(_energy_factor, takes_self=True),
        above=0.0,
        optional=True,
    )
    airflow: float = quantity("m3/s", "airflow through the machine", default="200 cfm", above=0.0)
    standby_power: float = quantity("W", "draw while it rests", default=2.0, at_least=0.0)
    minimum_on: float = quantity("s", "least running time", default="5 min", at_least=0.0)
    minimum_off: float = quantity("s", "least rest between runs", default="5 min", at_least=0.0)
    low_inlet_limit: float = quantity(
        "degC", "inlet temperature below which frost stops it", default=8.0
    )
    rating: str = choice(
        "inlet dry bulb of the rating point, all at 60 % relative humidity",
        *RATING_INLETS,
        default="26.7 degC",
    )
    inlet: str = choice(
        "where its air comes from", "zone", "return", "outdoors", "ventilation", default="zone"
    )
    outlet: str = choice("where its air goes", "zone", "supply", default="zone")
    bucket: float | None = quantity(
        "kg",
        "water that its bucket holds, at which it stops; None for a drain",
        default=None,
        above=0.0,
        at_most=50.0,
        optional=True,
    )
    emptied_at: float = quantity(
        "count", "hour of the day at which the bucket is emptied", default=8.0, at_least=0.0,
        below=24.0,
    )  # fmt: skip
    pump_power: float = quantity(
        "W", "condensate pump, while the machine runs", default=0.0, at_least=0.0
    )
    off_cycle_fan_power: float = quantity(
        "W", "fan that stays on while it rests, besides standby", default=0.0, at_least=0.0
    )
    humidistat: float | None = quantity(
        "percent",
        "setpoint of its own humidistat; None leaves it to the strategy",
        default=None,
        at_least=25.0,
        at_most=80.0,
        optional=True,
    )
    deadband: float = quantity(
        "percent", "whole deadband of its own humidistat", default=4.0, above=0.0, at_most=20.0
    )
    defrost_below: float | None = quantity(
        "degC",
        "inlet temperature below which it stops now and then to defrost; None for never",
        default=None,
        optional=True,
    )
    filter_factor: float = quantity(
        "fraction", "airflow of the filter as it is, of the clean one's", default=1.0, above=0.1,
        at_most=1.0,
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        where = type(self).__name__
        if (self.energy_factor is None) == (self.integrated_energy_factor is None):
            both = self.energy_factor is not None
            raise InputError(
                f"{where}.integrated_energy_factor",
                "an integrated energy factor beside an energy factor" if both else None,
                "one of the two: they are not the same number",
            )
        for name in ("energy_factor", "integrated_energy_factor"):
            value = getattr(self, name)
            if value is not None and not 0.3 <= liters_per_kwh(value) <= 8.0:
                raise InputError(
                    f"{where}.{name}",
                    f"{liters_per_kwh(value):.3g} L/kWh",
                    "from 0.3 to 8 L/kWh, which spans all machines made",
                )
        if self.integrated_energy_factor is not None:
            # What is left for drying must be that of a machine that can be made.
            low_power = low_power_energy(self.standby_power, self.off_cycle_fan_power)
            most = 1.0 / (low_power / self.capacity + 3.6e6 / (8.0 * 0.9982))
            if self.integrated_energy_factor > most:
                raise InputError(
                    f"{where}.integrated_energy_factor",
                    f"{liters_per_kwh(self.integrated_energy_factor):.3g} L/kWh",
                    f"at most {liters_per_kwh(most):.3g} L/kWh, which this standby and off-cycle "
                    "fan power leave to a machine of 8 L/kWh",
                )
        if self.defrost_below is not None and not (
            self.low_inlet_limit < self.defrost_below <= RATING_INLETS[self.rating]
        ):
            raise InputError(
                f"{where}.defrost_below",
                f"{self.defrost_below:g} degC",
                f"above low_inlet_limit, {self.low_inlet_limit:g} degC, and at most the rating "
                f"point's {RATING_INLETS[self.rating]:.1f} degC",
            )
        if self.bucket is not None and self.inlet != "zone":
            raise InputError(
                f"{where}.bucket",
                f"a bucket under a machine whose inlet is {self.inlet}",
                "a bucket only in the zone, where somebody empties it",
            )
        # Colder than freezing the air cannot leave: the rest of its water would be frost.
        pressure = air.STANDARD_PRESSURE
        frost = air.saturation_humidity_ratio(0.0, pressure)
        least = max(
            water * self.filter_factor ** (FILTER_WATER - 1.0)
            / (air.humidity_ratio_at(t, RATED_RH / 100.0, pressure) - frost)
            / air.STANDARD_DENSITY
            for t, water in (
                (RATED_INLET, self.at_normal_point()[0]),
                (RATING_INLETS[self.rating], self.capacity),
            )
        )  # fmt: skip
        if self.airflow < least:
            raise InputError(
                f"{where}.airflow",
                f"{self.airflow:.3f} m3/s ({from_si(self.airflow, 'm3/s', 'cfm'):.0f} cfm)",
                f"at least {least:.3f} m3/s ({from_si(least, 'm3/s', 'cfm'):.0f} cfm) for this "
                "capacity: less air does not hold so much water above frost",
            )

    def drying_power(self) -> float:
        """Power while it dries at the rating point, W.

        Of an integrated energy factor, IEF = water / (P_drying + P_low-power), see
        `low_power_energy`, solved for the power of drying.
        """
        if self.energy_factor is not None:
            return self.capacity / self.energy_factor
        assert self.integrated_energy_factor is not None
        whole = self.capacity / self.integrated_energy_factor
        return whole - low_power_energy(self.standby_power, self.off_cycle_fan_power)

    def at_normal_point(self) -> tuple[float, float]:
        """Water removal (kg/s) and power (W) at 26.7 degC, 60 %, where the curves are 1."""
        t = RATING_INLETS[self.rating]
        water = WATER_REMOVAL.at(t, RATED_RH) / WATER_REMOVAL.at(RATED_INLET, RATED_RH)
        factor = ENERGY_FACTOR.at(t, RATED_RH) / ENERGY_FACTOR.at(RATED_INLET, RATED_RH)
        return self.capacity / water, self.drying_power() * factor / water


def liters_per_kwh(energy_factor: float) -> float:
    """An energy factor in kg/J as labels print it."""
    return energy_factor * 3.6e6 / 0.9982
