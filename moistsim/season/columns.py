"""The hourly table: its columns in order, from the catalog."""

from moistsim.engine import FLOWS, STATES

COLUMNS = tuple(flow for flow in (*FLOWS, *STATES) if flow.how != "step")
"""Flows and states that the hourly table shows.

The table also has two columns for each cooling stage, and the dew point of the hour's mean humidity
ratio. Two more columns have the hour's hottest step of supply air and of the strips' limit switch.
"""

MINUTES = tuple(flow for flow in FLOWS if flow.how == "step")
"""Quantities of a step that are in the table of minutes alone."""

SLOW_STATES = tuple(state for state in STATES if state.unit != "kg")
"""States of masses and moisture stores, whose initial values a spin-up must make irrelevant."""
