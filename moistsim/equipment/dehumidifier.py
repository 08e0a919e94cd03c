"""The dehumidifier: its rating at one of three rating points, its air path, and its humidistat."""

from typing import NamedTuple

import attrs

from moistsim import air
from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import choice, description, quantity
from moistsim.core.units import celsius, from_si


class Quadratic(NamedTuple):
    """The polynomial a + b T + c T² + d R + e R² + f T R.

    T is the inlet dry bulb in degC and R the inlet RH in percent.
    """

    a: float
    b: float
    c: float
    d: float
    e: float
    f: float

    def at(self, t: float, rh: float) -> float:
        a, b, c, d, e, f = self
        return a + b * t + c * t * t + d * rh + e * rh * rh + f * t * rh


# Winkler, Christensen & Tomerlin (2011), NREL/TP-5500-52791, from memory. Each curve is divided by
# its own value at the rating point before use (see engine.parameters).
WATER_REMOVAL = Quadratic(
    -1.162525707, 0.02271469, -0.000113208, 0.021110538, -0.0000693034, 0.000378843
)
ENERGY_FACTOR = Quadratic(
    -1.902154518, 0.063466565, -0.000622839, 0.039540407, -0.000125637, -0.000176722
)
RATED_INLET = celsius(80.0)
"""Inlet dry bulb to which the curves are normalized, degC (80 degF)."""
RATED_RH = 60.0
"""Inlet relative humidity of all three ratings, percent."""
RATING_INLETS = {
    "26.7 degC": RATED_INLET,
    "18.3 degC portable": celsius(65.0),
    "22.8 degC whole-home": celsius(73.0),
}
"""Inlet dry bulb of each rating point, degC: 80 degF on older labels, 65 degF (portable) and 73
degF (whole-home) by today's 10 CFR 430 subpart B appendix X1; from memory."""
DRYING_HOURS = 1095.0
"""Hours a year in which a dehumidifier removes water (appendix X1, from memory)."""
OFF_CYCLE_HOURS = 1840.5
"""Hours a year in which a dehumidifier waits for its humidistat (appendix X1, from memory)."""
OFF_HOURS = 1840.5
"""Hours a year in which a dehumidifier is off or inactive (appendix X1, from memory)."""
FILTER_WATER, FILTER_POWER = 0.3, 0.1
"""Exponents of the filter factor on water removal and power. Our own rule, no source. Less air makes
the evaporator colder, so water removal falls less than airflow. It makes the condenser hotter, so
power hardly falls."""


def low_power_energy(standby: float, off_cycle_fan: float) -> float:
    """Return the yearly energy of the low-power modes, spread over the hours of drying, W.

    E_TLP = P_off-cycle x 1840.5 h + P_off x 1840.5 h, spread over 1095 h of drying (10 CFR 430
    subpart B appendix X1, from memory). When off or inactive, a machine draws its standby power.
    While it waits for its humidistat, it draws standby power and the power of an off-cycle fan.

    >>> round(low_power_energy(2.0, 0.0), 4)
    6.7233
    """
    year = OFF_CYCLE_HOURS * (standby + off_cycle_fan) + OFF_HOURS * standby
    return year / DRYING_HOURS


def _energy_factor(dehumidifier: "Dehumidifier") -> str | None:
    return "2.4 L/kWh" if dehumidifier.integrated_energy_factor is None else None


@description
class Dehumidifier(Evolving):
    """A dehumidifier, whose heat and electricity go to the air that it serves.

    `capacity` and the energy factor hold at the `rating` point with a clean filter and no condensate
    pump. An energy factor counts the electricity of drying alone. An integrated energy factor also
    counts the low-power hours, so the two differ. Give one of them.

    The inlet takes air from the zone, the return duct, outdoors, or the ventilation's supply air. An
    outdoor inlet brings outdoor air in while the machine runs. A ventilation inlet takes the
    machine's airflow from the supply air, and room air if that is too little. In a house of one
    zone, the return duct counts as the zone, and an outlet into the supply duct too.

    With a `humidistat` the machine follows its own sensor in the zone, with the lag of the house's
    sensor. Calls of the control are then ignored.

    Examples
    --------
    >>> machine = Dehumidifier(
    ...     capacity="90 pint/day", integrated_energy_factor="2.1 L/kWh", rating="22.8 degC whole-home"
    ... )
    >>> round(machine.drying_power())
    838
    """

    capacity: float = quantity(
        "kg/s", "moisture removal rate at the rating point", above=0.0, at_most=0.005
    )
    integrated_energy_factor: float | None = quantity(
        "kg/J",
        "integrated energy factor: water removed per electricity at the rating point, with low-power hours",
        default=None,
        above=0.0,
        at_most=1e-5,
        optional=True,
    )
    energy_factor: float | None = quantity(
        "kg/J",
        "energy factor: water removed per electricity at the rating point, without low-power hours; "
        "default: 2.4 L/kWh if no integrated energy factor is given",
        default=attrs.Factory(_energy_factor, takes_self=True),
        above=0.0,
        at_most=1e-5,
        optional=True,
    )
    airflow: float = quantity(
        "m3/s",
        "airflow through the dehumidifier",
        default="200 cfm",
        above=0.0,
        at_most=2.0,
        usual=(0.0, 1.0),
    )
    standby_power: float = quantity(
        "W",
        "standby power while the dehumidifier is off",
        default=2.0,
        at_least=0.0,
        at_most=1000.0,
    )
    minimum_on: float = quantity(
        "s",
        "minimum on time of the dehumidifier",
        default="5 min",
        at_least=0.0,
        at_most=7200.0,
        usual=(20.0, 7200.0),
        meant=("{} min",),
    )
    minimum_off: float = quantity(
        "s",
        "minimum off time of the dehumidifier",
        default="5 min",
        at_least=0.0,
        at_most=7200.0,
        usual=(20.0, 7200.0),
        meant=("{} min",),
    )
    low_inlet_limit: float = quantity(
        "degC",
        "inlet temperature below which the dehumidifier stops because of frost",
        default=8.0,
        at_least=-40.0,
        at_most=40.0,
        usual=(-40.0, 25.0),
    )
    rating: str = choice(
        "rating point: inlet dry bulb, at 60 % RH",
        *RATING_INLETS,
        default="26.7 degC",
    )
    inlet: str = choice(
        "source of the inlet air", "zone", "return", "outdoors", "ventilation", default="zone"
    )
    outlet: str = choice("destination of the outlet air", "zone", "supply", default="zone")
    bucket: float | None = quantity(
        "kg",
        "water in a full bucket, at which the dehumidifier stops; default: a drain",
        default=None,
        above=0.0,
        at_most=50.0,
        optional=True,
    )
    emptied_at: float = quantity(
        "count", "hour of the day at which somebody empties the bucket", default=8.0, at_least=0.0,
        below=24.0,
    )  # fmt: skip
    pump_power: float = quantity(
        "W",
        "power of the condensate pump while the dehumidifier runs",
        default=0.0,
        at_least=0.0,
        at_most=1000.0,
    )
    off_cycle_fan_power: float = quantity(
        "W",
        "power of a fan that stays on between runs, in addition to standby power",
        default=0.0,
        at_least=0.0,
        at_most=1000.0,
    )
    humidistat: float | None = quantity(
        "percent",
        "setpoint of the dehumidifier's own humidistat; default: the control calls it",
        default=None,
        at_least=25.0,
        at_most=80.0,
        optional=True,
    )
    deadband: float = quantity(
        "percent",
        "full deadband of the dehumidifier's own humidistat",
        default=4.0,
        above=0.0,
        at_most=20.0,
    )
    defrost_below: float | None = quantity(
        "degC",
        "inlet temperature below which the dehumidifier pauses to defrost; default: never",
        default=None,
        optional=True,
        at_least=-40.0,
        at_most=40.0,
        usual=(-40.0, 27.0),
    )
    filter_factor: float = quantity(
        "fraction", "airflow through the present filter over airflow through a clean one", default=1.0, above=0.1,
        at_most=1.0,
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        where = type(self).__name__
        if (self.energy_factor is None) == (self.integrated_energy_factor is None):
            both = self.energy_factor is not None
            raise InputError(
                f"{where}.integrated_energy_factor",
                Problem("both energy factors are given" if both else "no energy factor"),
                "either energy_factor or integrated_energy_factor",
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
            # The power that remains for drying must be that of a machine that can be made.
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
                f"{self.defrost_below:g} °C",
                f"above low_inlet_limit, {self.low_inlet_limit:g} °C, and at most the rating "
                f"point's {RATING_INLETS[self.rating]:.1f} °C",
            )
        if self.bucket is not None and self.inlet != "zone":
            raise InputError(
                f"{where}.bucket",
                Problem(f"the inlet is {self.inlet}"),
                "a bucket with inlet zone, where somebody can empty it",
            )
        # Air cannot leave colder than freezing: the rest of its water would be frost.
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
        """Return the power during drying at the rating point, W.

        From an integrated energy factor, IEF = water / (P_drying + P_low-power) is solved for the
        power of drying; see `low_power_energy`.
        """
        if self.energy_factor is not None:
            return self.capacity / self.energy_factor
        assert self.integrated_energy_factor is not None
        whole = self.capacity / self.integrated_energy_factor
        return whole - low_power_energy(self.standby_power, self.off_cycle_fan_power)

    def at_normal_point(self) -> tuple[float, float]:
        """Return moisture removal (kg/s) and power (W) at 26.7 degC and 60 % RH, where the curves are 1."""
        t = RATING_INLETS[self.rating]
        water = WATER_REMOVAL.at(t, RATED_RH) / WATER_REMOVAL.at(RATED_INLET, RATED_RH)
        factor = ENERGY_FACTOR.at(t, RATED_RH) / ENERGY_FACTOR.at(RATED_INLET, RATED_RH)
        return self.capacity / water, self.drying_power() * factor / water


def liters_per_kwh(energy_factor: float) -> float:
    """Convert an energy factor from kg/J to L/kWh, as on labels."""
    return energy_factor * 3.6e6 / 0.9982
