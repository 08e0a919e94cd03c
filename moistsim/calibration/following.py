"""Whether a run follows the measured indoor temperature, or finds its own."""

from moistsim.equipment import Equipment
from moistsim.loggers import HouseLog

COOLS_ABOVE = 18.0
"""Outdoor temperature below which no air conditioner of a house runs, degC (common practice, no source)."""
CLAMP = "power.compressor"


def tells_machines(equipment: Equipment, log: HouseLog) -> bool:
    """Whether a run may follow the temperature of a log.

    A measured temperature does not tell when a compressor ran: a thermostat that sees it switches by the
    noise of the logger. A clamp on the compressor tells it, and so does a winter.
    """
    winter = float(log.weather.frame["temp_air"].max()) < COOLS_ABOVE
    return equipment.cooling is None or CLAMP in log.frame.columns or winter
