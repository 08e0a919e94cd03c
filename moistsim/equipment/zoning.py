"""Two thermostats on one system, with zone dampers."""

from moistsim.core.changes import Evolving
from moistsim.core.fields import description, quantity


@description
class Zoning(Evolving):
    """A thermostat and a damper for each of a house's two zones, on one air handler.

    Each thermostat runs the same control with its own readings and memory. The machines get the
    higher of both calls. If one thermostat calls for heat and the other for cooling, the main zone's
    decides. Supply air goes to the zones that call; a closed damper still passes `bleed`. Between
    calls the dampers stay as they were, and the fan alone opens both.

    Both thermostats have the sensor that `Equipment.sensor` describes, each in its own zone. Sensor
    errors and faults act on the main zone's alone.

    Caution: a closed damper raises the pressure in the ducts. Low airflow can freeze the coil, trip the
    limit switch of strips and overheat a furnace. The manufacturer's minimum airflow, local codes and
    a measured static pressure decide, and a licensed contractor sets the dampers.

    Examples
    --------
    >>> Zoning(bleed="20 %").bleed
    0.2
    """

    bleed: float = quantity(
        "fraction",
        "share of the supply air that enters a zone with its damper closed (common practice, no source)",
        default=0.15, at_least=0.0, at_most=0.5,
    )  # fmt: skip
    airflow_loss: float = quantity(
        "fraction",
        "share of the airflow in cooling lost while one damper is closed; 0 for a blower that keeps its "
        "airflow; the default is our own figure",
        default=0.15, at_least=0.0, at_most=0.5,
    )  # fmt: skip
