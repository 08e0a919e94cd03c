"""Sensors that the controls read: how they lag, err, round and report."""

from moistsim.core.fields import choice, description, quantity


@description
class Sensor:
    """A combined temperature and humidity sensor, with first-order lags.

    What it reports is the lagged value with its offset, drift and noise, rounded to its
    resolution, once in each `report_every` of the clock. Noise is normal, of one draw a minute and
    quantity, keyed to the minute of the weather and not to the step; the same seed gives the same
    noise. Typical errors of low-cost sensors are 0.3 K and 3 % RH (common practice, no source).
    """

    temperature_lag: float = quantity(
        "s", "time constant of the temperature reading", default="3 min", at_least=0.0
    )
    humidity_lag: float = quantity(
        "s", "time constant of the humidity reading", default="5 min", at_least=0.0
    )
    temperature_offset: float = quantity(
        "delta_degC", "what it reads too high", default=0.0, at_least=-20.0, at_most=20.0
    )
    humidity_offset: float = quantity(
        "percent", "what it reads too high, % RH", default=0.0, at_least=-50.0, at_most=50.0
    )
    temperature_drift: float = quantity(
        "delta_degC",
        "growth of the offset in a year, from the weather's first hour",
        default=0.0,
        at_least=-20.0,
        at_most=20.0,
    )
    humidity_drift: float = quantity(
        "percent",
        "growth of the offset in a year, from the weather's first hour, % RH",
        default=0.0,
        at_least=-50.0,
        at_most=50.0,
    )
    temperature_noise: float = quantity(
        "delta_degC", "standard deviation", default=0.0, at_least=0.0, at_most=10.0
    )
    humidity_noise: float = quantity(
        "percent", "standard deviation, % RH", default=0.0, at_least=0.0, at_most=20.0
    )
    temperature_resolution: float = quantity(
        "delta_degC", "step of the readings; 0 for none", default=0.0, at_least=0.0, at_most=5.0
    )
    humidity_resolution: float = quantity(
        "percent", "step of the readings, % RH; 0 for none", default=0.0, at_least=0.0, at_most=20.0
    )
    report_every: float = quantity(
        "s",
        "time between reports; 0 reports without a pause",
        default=0.0,
        at_least=0.0,
        at_most=86400.0,
    )
    place: str = choice(
        "where it hangs: in the room, in the return duct (the air that the blower draws, the room's "
        "while it rests), outdoors",
        "room",
        "return",
        "outdoors",
        default="room",
    )
    seed: float = quantity("count", "of the noise", default=1.0, at_least=0.0)

    @property
    def errs(self) -> bool:
        """Whether it reports anything but the lagged value itself."""
        return any(
            (
                self.temperature_offset, self.humidity_offset, self.temperature_drift,
                self.humidity_drift, self.temperature_noise, self.humidity_noise,
            )
        )  # fmt: skip
