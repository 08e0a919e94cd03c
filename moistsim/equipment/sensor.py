"""The room sensor that the controls read."""

from moistsim.units import description, quantity


@description
class Sensor:
    """A combined temperature and humidity sensor with first-order lags."""

    temperature_lag: float = quantity(
        "s", "time constant of the temperature reading", default="3 min", at_least=0.0
    )
    humidity_lag: float = quantity(
        "s", "time constant of the humidity reading", default="5 min", at_least=0.0
    )
