"""Main machine of an option: the one that dried the most hours of its season."""

from moistsim.controls import BUILT_IN
from moistsim.season import Season

MACHINES = ("cooling alone", "strips", "hot gas", "dehumidifier", "own rules")
"""Main machines of an option. Overcooling and the plain thermostat both dry by cooling alone."""

_RUNTIMES = {"strips": "reheat", "hot gas": "hot_gas", "dehumidifier": "dehumidifier"}


def main_machine(season: Season) -> str:
    """Find the machine of `MACHINES` that ran the most hours to dry the house.

    An option whose control is not built in counts as own rules, whatever its machines are.
    """
    control = season.strategy.base.function
    if all(control is not built_in.function for built_in in BUILT_IN.values()):
        return "own rules"
    hours = {
        machine: float(season.meter.runtime_h[column]) for machine, column in _RUNTIMES.items()
    }
    most = max(hours, key=lambda machine: hours[machine])
    return most if hours[most] > 0.0 else "cooling alone"
