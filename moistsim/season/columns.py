"""The hourly table: its columns in order, from the catalog."""

from collections.abc import Iterable
from functools import lru_cache

import pandas as pd

from moistsim.engine import FLOWS, STATES, SYSTEM_FLOWS, Flow, column_catalog, space_flows

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

DEW_POINT_AT = 3
"""Place of the dew point in the hourly table: behind the room's humidity."""
_OF_AN_HOUR = {
    column_catalog.DEW_POINT: "dew point of the hour's mean room humidity ratio",
    column_catalog.HOTTEST_SUPPLY: "the hour's hottest step of supply air",
    column_catalog.HOTTEST_STRIPS: "the hour's highest temperature at the strips' limit switch",
}
"""Columns that an hour has beyond its flows and states, all in °C, with their meanings."""


def described(flows: Iterable[Flow], stages: Iterable[str], hottest: Iterable[str]) -> pd.DataFrame:
    """Unit and meaning of each column of an hourly table, in the table's order.

    Parameters
    ----------
    flows : iterable of Flow
        Flows and states of the table.
    stages, hottest : iterable of str
        Cooling stages, and columns of the hottest steps, as the table names them.
    """
    rows = [(flow.column, flow.shown_unit, flow.words) for flow in flows]
    dew_point = column_catalog.DEW_POINT
    rows.insert(DEW_POINT_AT, (dew_point, "°C", _OF_AN_HOUR[dew_point]))
    for stage in stages:
        first, whose = _first(stage)
        words = first.replace("_", " ")
        rows.append((f"{stage}_h", "h", f"time with {words} on{whose}"))
        rows.append((f"{stage}_starts", "", f"starts of {words}{whose}"))
    for name in hottest:
        first, whose = _first(name)
        rows.append((name, "°C", f"{_OF_AN_HOUR[first]}{whose}"))
    return pd.DataFrame(rows, columns=["name", "unit", "meaning"]).set_index("name")


def _first(name: str) -> tuple[str, str]:
    """The name that a first system would have, and the words for whose it is."""
    first = name.removeprefix(f"{column_catalog.SECOND_SYSTEM}_")
    return first, "" if first == name else ", second system"
