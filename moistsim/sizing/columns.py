"""The columns of a sizing's tables, each with its unit."""

from typing import Any

import pandas as pd

from moistsim.core.display import Units
from moistsim.core.measures import Measure
from moistsim.engine import column_catalog
from moistsim.equipment import RATING_INLETS


def rated(rating: str) -> str:
    """Name of the column of rated water at a rating point.

    >>> rated("26.7 degC")
    'rated_26.7 degC_kg_day'
    """
    return f"rated_{rating}_kg_day"


# fmt: off
MEASURES = (
    # Loads, by condition and source.
    Measure("latent_W", "W", "latent load"),
    Measure("sensible_W", "W", "sensible load"),
    Measure("water_kg_day", "kg/day", "moisture load", digits=1),
    # The air conditioner, by condition.
    Measure("outdoor_C", "degC", "outdoor temperature", digits=1),
    Measure("outdoor_dew_point_C", "degC", "outdoor dew point", digits=1),
    Measure("hours", "count", "hours of the season near this condition"),
    Measure("room_C", "degC", "room temperature in these hours", digits=1),
    Measure("room_rh_pct", "percent", "room RH in these hours"),
    Measure("stage", "count", "stage that carries the sensible load"),
    Measure("stage_sensible_W", "W", "sensible capacity of the stage"),
    Measure("stage_latent_W", "W", "latent capacity of the stage"),
    Measure("runtime_fraction", "fraction", "runtime fraction", digits=2),
    Measure("steady_water_kg_day", "kg/day", "water removed in steady operation", digits=1),
    Measure("alone_runtime_h_day", "hour/day", "simulated runtime", digits=1),
    Measure("alone_water_kg_day", "kg/day", "simulated water removed", digits=1),
    Measure("alone_rh_pct", "percent", "simulated room RH"),
    Measure("held_water_kg_day", "kg/day", "water removed next to the machine that holds the room", digits=1),
    # The need for drying, by condition.
    Measure("still_kg_day", "kg/day", "remaining moisture load", digits=1),
    *(Measure(rated(rating), "kg/day", f"rated capacity at {rating}", digits=1) for rating in RATING_INLETS),
    # Sizes of the air conditioner and of dehumidifiers; the first two are rows.
    Measure("scale", "count", "size of the air conditioner, times the described one", digits=2),
    Measure("rated_kg_day", "kg/day", "rated capacity", digits=1),
    Measure("over_load", "fraction", "capacity over load", digits=2),
    Measure("excess_pct_h", "percent hour", "RH-hours above the humidistat's upper edge"),
    column_catalog.HOURS_OVER_55,
    column_catalog.HOURS_OVER_60,
    column_catalog.HOURS_OVER_65,
    column_catalog.MEAN_DEW_POINT,
    Measure("compressor_starts", "count", "compressor starts"),
    Measure("warm_h", "hour", "time too warm"),
    column_catalog.DEHUMIDIFIER_H,
    column_catalog.DEHUMIDIFIER_STARTS,
    column_catalog.DEHUMIDIFIER_WATER,
    column_catalog.TOTAL,
    # Strips that hold the room, by cooling stage. Strips are sold in kW in US units too.
    Measure("strips_mean_W", "W electric", "strips at the mean load"),
    Measure("strips_most_W", "W electric", "strips at the least load"),
    Measure("compressor_A", "A", "current of the compressor", digits=1),
    Measure("blower_A", "A", "current of the blower", digits=1),
    Measure("strips_A", "A", "current of the strips", digits=1),
    Measure("together_A", "A", "current of all together", digits=1),
    Measure("circuit_A", "A", "circuit", digits=1),
    Measure("described_circuit_A", "A", "circuit with all described strips", digits=1),
    Measure("condition", "text", "condition"),
)
# fmt: on
MEASURE = {measure.name: measure for measure in MEASURES}


def named(name: str, units: Units) -> str:
    """Name of a column in SI or in trade units.

    >>> named("room_C", "us"), named("strips_most_W", "us")
    ('room_F', 'strips_most_W')
    """
    return MEASURE[name].column(units)


def in_units(frame: pd.DataFrame, units: Units) -> pd.DataFrame:
    """Convert a frame and its rows to trade units, or return it in SI."""
    if units == "si":
        return frame
    out = {named(str(name), units): MEASURE[str(name)].in_trade(frame[name]) for name in frame}
    index: Any = frame.index
    if index.name in MEASURE:
        index = MEASURE[index.name].in_trade(index).rename(named(index.name, units))
    result = pd.DataFrame(out).set_axis(index)
    result.attrs = dict(frame.attrs)
    return result
