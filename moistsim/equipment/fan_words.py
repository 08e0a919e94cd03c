"""The fan settings of an air handler in the trade's words."""

from typing import TYPE_CHECKING

from moistsim.core.display import duration
from moistsim.equipment.cooling import Cooling

if TYPE_CHECKING:
    from moistsim.equipment.equipment import Equipment


def fan_switch(cooling: Cooling) -> str:
    """Position of the thermostat's fan switch, with the time and airflow that belong to it.

    >>> from moistsim.equipment import Stage
    >>> fan_switch(Cooling(stages=[Stage(capacity="2 ton")], fan="circulation"))
    'circulation, at least 20 min of each hour, at 100 % airflow'
    """
    flow = f"at {100.0 * cooling.fan_airflow:.0f} % airflow"
    if cooling.fan == "on":
        return f"ON, {flow} between runs"
    if cooling.fan == "circulation":
        return f"circulation, at least {duration(cooling.circulation)} of each hour, {flow}"
    return "AUTO"


def fan_off_delay(machines: "Equipment") -> str:
    """Fan-off delay after cooling, and the one after heating if it differs."""
    cooling, furnace = machines.cooling, machines.furnace
    assert cooling is not None
    cooled = duration(cooling.fan_off_delay)
    if furnace is None or furnace.fan_off_delay == cooling.fan_off_delay:
        return cooled
    return f"{cooled} after cooling, {duration(furnace.fan_off_delay)} after heating"


def fan_words(machines: "Equipment") -> str:
    """Fan switch and fan-off delay in one phrase; empty without an air handler.

    >>> from moistsim.equipment import Equipment, Furnace, Stage
    >>> unit = Cooling(stages=[Stage(capacity="2 ton")])
    >>> fan_words(Equipment(cooling=unit, furnace=Furnace(capacity="40000 Btu/h")))
    'fan AUTO, fan-off delay 60 s after cooling, 2 min after heating'
    """
    if machines.cooling is None:
        return ""
    return f"fan {fan_switch(machines.cooling)}, fan-off delay {fan_off_delay(machines)}"
