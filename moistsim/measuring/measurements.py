"""Measurements that a practitioner can make: what each reads, how well, and what it costs.

Costs and accuracies are defaults of ours for one visit (common practice, no source, unless a source
is named). A reading is that of a drawn house in an engine run, and never a formula of its own.
"""

from collections.abc import Callable
from typing import Any, cast

import attrs
import numpy as np
from numpy.typing import NDArray

from moistsim.core.errors import InputError, Problem
from moistsim.equipment import Equipment
from moistsim.measuring.visit import Visit
from moistsim.season import Season

Array = NDArray[np.float64]
GRAMS = 1000.0
LITERS = 1000.0

DAILY = 0.35
"""Error of a day's mean indoor humidity ratio that a fitted model leaves, g/kg."""
MEMORY = 0.7
"""Correlation of that error from one day to the next."""
PLACES = 0.8
"""Standard deviation of humidity ratio between the rooms of a house, g/kg; rooms of one logged house
differ by up to 1.9 g/kg."""


@attrs.frozen(kw_only=True)
class Measurement:
    """One measurement: what it would read in a drawn house, and its errors.

    Examples
    --------
    >>> import moistsim as ms
    >>> hood = ms.measurements()["flow hood"]
    >>> hood.share, hood.unit
    (0.1, 'L/s')
    """

    name: str
    does: str
    """What is done, in words."""
    cost: float
    """Default cost, USD."""
    reads: Callable[[Visit], Array] = attrs.field(repr=False)
    """Readings in a drawn house, without error."""
    unit: str
    """Unit of the readings."""
    share: float = 0.0
    """Standard error of each reading as a share of it, beyond `absolute`."""
    absolute: float = 0.0
    """Standard error of each reading in its unit."""
    shared: float = 0.0
    """Standard error that all readings of the measurement share, in their unit."""
    memory: float = 0.0
    """Correlation of the errors of neighboring readings."""
    basis: str = "common practice, no source"
    """Source of the accuracy."""
    possible: Callable[[Equipment], bool] = attrs.field(default=lambda machines: True, repr=False)
    """Whether it can be made in a house with these machines."""

    def __attrs_post_init__(self) -> None:
        errors = {"share": self.share, "absolute": self.absolute, "shared": self.shared}
        for name, value in errors.items():
            if not 0.0 <= value < np.inf:
                raise InputError(f"Measurement.{name}", value, "at least 0")
        if not any(errors.values()):
            accepted = "an accuracy: share, absolute or shared above 0"
            raise InputError("Measurement.share", 0.0, accepted)
        if self.share and (self.absolute == 0.0 or self.shared or self.memory):
            found = Problem("a share with no absolute error, or with errors that readings share")
            accepted = "an absolute error too, because no reading near zero is exact"
            raise InputError("Measurement.share", found, accepted)

    def scaled(self, readings: Array) -> Array:
        """Readings on a scale on which their errors are alike.

        An error of a share s beyond a floor a has the deviation sqrt(a² + s² r²). On the scale
        asinh(s r / a) / s it has the deviation 1.

        Parameters
        ----------
        readings : array, shape (draws, m)
        """
        if not self.share:
            return readings
        return np.asarray(np.arcsinh(self.share * readings / self.absolute) / self.share)

    def covariance(self, m: int) -> Array:
        """Covariance of the errors of m readings, on the scale of `scaled`, shape (m, m)."""
        if self.share:
            return np.eye(m)
        apart = np.abs(np.subtract.outer(np.arange(m), np.arange(m)))
        # A hair of independent error keeps equal readings apart.
        hair = 1.0e-6 * max(self.absolute, self.shared)
        return np.asarray(
            self.absolute**2 * self.memory**apart + self.shared**2 + hair**2 * np.eye(m), float
        )

    def error_of_mean(self, readings: Array) -> float:
        """Standard error of the mean of one measurement's readings, in their unit."""
        m = readings.shape[1]
        if self.share:
            each = np.hypot(self.absolute, self.share * float(np.abs(readings).mean()))
            return float(each / np.sqrt(m))
        return float(np.sqrt(self.covariance(m).sum()) / m)


def _daily_humidity(season: Season) -> Array:
    """Mean indoor humidity ratio by day, g/kg."""
    hourly = season.hourly["indoor_humidity_ratio"]
    return np.asarray(GRAMS * hourly.to_numpy(float).reshape(-1, 24).mean(axis=1))


def _water(season: Season) -> float:
    """Condensate of coil and dehumidifier, kg a day."""
    return float(season.meter.water_kg.sum()) * 24.0 / len(season.hourly)


def _blower_door(visit: Visit) -> Array:
    return np.array([visit.house.changes_at_50_pa])


def _flow_hood(visit: Visit) -> Array:
    return np.array([LITERS * float(visit.before.meter.ventilation["mean_rate_m3_s"])])


def _condensate(visit: Visit) -> Array:
    # Where the house's own machines give nothing to weigh, a dehumidifier is brought.
    own = visit.equipment.dehumidifier is not None
    return np.array([_water(visit.plain if own else visit.dried)])


def _humidifier(visit: Visit) -> Array:
    """Rise of the humidity ratio, g/kg."""
    rise = _daily_humidity(visit.humidified) - _daily_humidity(visit.plain)
    return np.array([rise.mean()])


def _clamp(visit: Visit) -> Array:
    """Electricity of the machines, kWh a day."""
    return np.array([visit.before.meter.total_kwh * 24.0 / len(visit.before.hourly)])


def _week(visit: Visit) -> Array:
    """Mean humidity ratio of each day of a week as the loggers that are there show it, g/kg."""
    hourly = visit.before.hourly
    # One percent RH at the room's temperature, g/kg.
    per_rh = GRAMS * hourly["indoor_humidity_ratio"] / hourly["indoor_rh_pct"]
    daily = per_rh.to_numpy(float).reshape(-1, 24).mean(axis=1)
    return np.asarray((_daily_humidity(visit.before) + visit.offset * daily)[-7:])


def _room(visit: Visit) -> Array:
    """The same of a new logger, whose own error is one of those of the measurement."""
    return _daily_humidity(visit.before)[-7:]


def _uses_power(machines: Equipment) -> bool:
    of = cast(Any, machines)
    return any(
        getattr(of, name) is not None for name in ("cooling", "strips", "heating", "dehumidifier")
    )


def measurements() -> dict[str, Measurement]:
    """Measurements that a practitioner can make in a house, by name, with our defaults.

    Costs are in USD for one visit, accuracies are standard errors. Change one with ``attrs.evolve``.

    Examples
    --------
    >>> list(measurements())[:4]
    ['blower door', 'flow hood', 'condensate', 'humidifier']
    """
    found = (
        Measurement(
            name="blower door", does="air leakage at 50 Pa, measured with a blower door",
            cost=250.0, reads=_blower_door, unit="ACH50", share=0.05, absolute=0.1,
        ),
        Measurement(
            name="flow hood", does="airflow of the ventilation at its grilles, measured with a flow hood",
            cost=120.0, reads=_flow_hood, unit="L/s", share=0.10, absolute=1.0,
            possible=lambda machines: machines.ventilation is not None,
        ),
        Measurement(
            name="condensate",
            does="condensate of the dehumidifier weighed for some days; one is brought if there is none",
            cost=60.0, reads=_condensate, unit="kg/day", share=0.07, absolute=0.1,
        ),
        Measurement(
            name="humidifier", does="a humidifier of 6 kg/day for some days, and the rise of the humidity",
            cost=80.0, reads=_humidifier, unit="g/kg", absolute=0.25,
        ),
        Measurement(
            name="power clamp", does="electricity of the machines logged for some days with a power clamp",
            cost=150.0, reads=_clamp, unit="kWh/day", share=0.05, absolute=0.2, possible=_uses_power,
        ),
        Measurement(
            name="another week", does="one more week of the loggers that are there",
            cost=30.0, reads=_week, unit="g/kg", absolute=DAILY, memory=MEMORY,
        ),
        Measurement(
            name="another room", does="one more logger, in another room, for a week",
            cost=50.0, reads=_room, unit="g/kg", absolute=DAILY, shared=PLACES, memory=MEMORY,
        ),
    )  # fmt: skip
    return {measurement.name: measurement for measurement in found}
