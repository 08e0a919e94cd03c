"""The hourly table: its columns in order, from the catalog."""

from functools import lru_cache

from moistsim.engine import FLOWS, STATES, SYSTEM_FLOWS, Flow, space_flows

COLUMNS = tuple(flow for flow in (*FLOWS, *STATES) if flow.how != "step")
"""Flows and states that the hourly table shows.

The table also has two columns for each cooling stage, and the dew point of the hour's mean humidity
ratio. Two more columns have the hour's hottest step of supply air and of the strips' limit switch.
"""


@lru_cache(maxsize=64)
def columns_of(spaces: tuple[str, ...], second_system: bool = False) -> tuple[Flow, ...]:
    """`COLUMNS`, those of each space next to the house by name, and those of a second system."""
    own = SYSTEM_FLOWS if second_system else ()
    return (
        *COLUMNS,
        *(flow for name in spaces for flow in space_flows(name)),
        *(flow for flow in own if flow.how != "step"),
    )


MINUTES = tuple(flow for flow in (*FLOWS, *SYSTEM_FLOWS) if flow.how == "step")
"""Quantities of a step that are in the table of minutes alone."""

SLOW_STATES = tuple(state for state in STATES if state.unit != "kg")
"""States of masses and moisture stores, whose initial values a spin-up must make irrelevant."""
