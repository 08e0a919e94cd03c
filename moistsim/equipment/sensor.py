"""Sensors of the controls: their lag, errors, resolution and reports."""

from moistsim.core.changes import Evolving
from moistsim.core.fields import choice, description, quantity

MAIN_FLOOR, UPPER_FLOOR, WING = "main floor", "upper floor", "wing"
"""Zones in which a sensor may hang."""


@description
class Sensor(Evolving):
    """A combined temperature and humidity sensor, with first-order lags.

    In the room, the air near the sensor follows the room's mean with `mixing_time`: supply air mixes
    into the room before it reaches the sensor. The sensor's temperature follows that air and the
    surfaces that it faces, in the shares given by `wall_share`. Vapor follows with `humidity_lag`.
    The relative humidity is that of the vapor at the sensor's own temperature, as in a real cover.
    In the return duct and outdoors there are no walls and no mixing.

    Reasons for the defaults, which are our own estimates. `wall_share`: a cover passes about half of
    what it feels of the surfaces, by radiation of 5 W/(m2 K) next to convection of 4 W/(m2 K), to
    the element behind slots. `mixing_time`: 7 air changes an hour of supply air, of which a jet
    entrains about 8 times as much, mix the room in about a minute. `temperature_lag`: wall sensors
    need one to five minutes (common practice, no source). `humidity_lag`: the same exchange of air,
    and up to a minute of the element.

    The sensor reports the lagged value with offset, drift and noise, rounded to its resolution. It
    reports once in each interval `report_every`. Noise is normal, with one draw a minute for each
    reading. It depends on the minute of the weather, not on the time step, and equal seeds give
    equal noise. Typical errors of low-cost sensors are 0.3 K and 3 % RH (common practice, no
    source).

    Examples
    --------
    >>> sensor = Sensor(humidity_offset="2 %", temperature_resolution=0.5, report_every="1 min")
    >>> sensor.errs
    True
    """

    wall_share: float = quantity(
        "fraction",
        "share of the temperature of walls and furniture in what the sensor in the room feels; it "
        "feels the air for the rest",
        default=0.3,
        at_least=0.0,
        at_most=1.0,
    )
    mixing_time: float = quantity(
        "s",
        "time constant with which the air near the sensor in the room follows the room's mean",
        default="1 min",
        at_least=0.0,
        at_most=86400.0,
    )
    temperature_lag: float = quantity(
        "s",
        "time constant of the sensor's temperature",
        default="2 min",
        at_least=0.0,
        at_most=86400.0,
        usual=(5.0, 86400.0),
        meant=("{} min",),
    )
    humidity_lag: float = quantity(
        "s",
        "time constant with which vapor reaches the humidity sensor",
        default="3 min",
        at_least=0.0,
        at_most=86400.0,
        usual=(5.0, 86400.0),
        meant=("{} min",),
    )
    temperature_offset: float = quantity(
        "delta_degC",
        "constant error of the temperature reading",
        default=0.0,
        at_least=-20.0,
        at_most=20.0,
    )
    humidity_offset: float = quantity(
        "percent",
        "constant error of the humidity reading, % RH",
        default=0.0,
        at_least=-50.0,
        at_most=50.0,
    )
    temperature_drift: float = quantity(
        "delta_degC",
        "growth of the temperature error in a year, from the weather's first hour",
        default=0.0,
        at_least=-20.0,
        at_most=20.0,
    )
    humidity_drift: float = quantity(
        "percent",
        "growth of the humidity error in a year, from the weather's first hour, % RH",
        default=0.0,
        at_least=-50.0,
        at_most=50.0,
    )
    temperature_noise: float = quantity(
        "delta_degC",
        "standard deviation of the temperature noise",
        default=0.0,
        at_least=0.0,
        at_most=10.0,
    )
    humidity_noise: float = quantity(
        "percent",
        "standard deviation of the humidity noise, % RH",
        default=0.0,
        at_least=0.0,
        at_most=20.0,
    )
    temperature_resolution: float = quantity(
        "delta_degC",
        "resolution of the temperature reading; 0 for no rounding",
        default=0.0,
        at_least=0.0,
        at_most=5.0,
    )
    humidity_resolution: float = quantity(
        "percent",
        "resolution of the humidity reading, % RH; 0 for no rounding",
        default=0.0,
        at_least=0.0,
        at_most=20.0,
    )
    report_every: float = quantity(
        "s",
        "time between reports; 0 for continuous reports",
        default=0.0,
        at_least=0.0,
        at_most=86400.0,
    )
    place: str = choice(
        "location of the sensor: in the room, in the return duct (room air while the blower is off), "
        "or outdoors",
        "room",
        "return",
        "outdoors",
        default="room",
    )
    zone: str = choice(
        "zone of the house in which the sensor hangs; for an upper floor or wing by `House.second_zone`",
        MAIN_FLOOR, UPPER_FLOOR, WING, default=MAIN_FLOOR,
    )  # fmt: skip
    seed: float = quantity("count", "seed of the noise", default=1.0, at_least=0.0, at_most=2.0**53)

    @property
    def errs(self) -> bool:
        """Whether the readings differ from the lagged value."""
        return any(
            (
                self.temperature_offset, self.humidity_offset, self.temperature_drift,
                self.humidity_drift, self.temperature_noise, self.humidity_noise,
            )
        )  # fmt: skip
