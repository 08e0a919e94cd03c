"""The hourly table: its columns in order, from the catalog."""

from moistsim.engine import FLOWS, STATES

COLUMNS = tuple(flow for flow in (*FLOWS, *STATES) if flow.how != "step")
"""The flows and states that the hourly table shows. Beside them it has two columns for each cooling
stage, the dew point, which is that of the hour's mean humidity ratio, and the hour's hottest step of
supply air and of the strips' limit switch."""

MINUTES = tuple(flow for flow in FLOWS if flow.how == "step")
"""Quantities of a step that only the table of minutes shows."""

SLOW_STATES = tuple(state for state in STATES if state.unit != "kg")
"""Masses and moisture stores, which a spin-up lets forget how they began."""
