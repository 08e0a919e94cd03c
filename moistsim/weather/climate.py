"""Climate of a run of hours in the trade's terms; `Weather.describe` explains them.

Source: design conditions by annual cumulative frequency and mean coincident values after ASHRAE
Handbook, Fundamentals, ch. 14 (Climatic Design Information).
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from moistsim import air
from moistsim.core.display import Units
from moistsim.core.units import from_si

#: Name of the climate in `Weather.describe`, by kind of hours.
KINDS = {
    "": "this one file, not a many-year record",
    "typical": "design dew points of one typical year, not of a many-year record",
    "actual": "design dew points of these hours alone, not of a many-year record",
    "synthetic": "design dew points of a synthetic year made from twelve normals, not measured",
}


def climate(frame: pd.DataFrame, units: Units) -> dict[str, float]:
    """Return counts, means and design conditions, named with their units ("si" or "us")."""
    dry, dew = frame["temp_air"], frame["temp_dew"]
    humid_mild = (dew > 15.6) & (dry < 25.6) & (dry > 12.8)
    degree, ratio = ("degF", "grains/lb") if units == "us" else ("degC", "g/kg")
    threshold = "65 degF" if units == "us" else "18.3 degC"

    def shown(celsius: float) -> float:
        return from_si(celsius, "degC", "degF") if units == "us" else celsius

    rows: dict[str, float] = {
        "hours": float(len(frame)),
        f"mean dry bulb [{degree}]": shown(float(dry.mean())),
        f"mean dew point [{degree}]": shown(float(dew.mean())),
        f"dew point above {threshold} [h]": float((dew > 18.3).sum()),
        "humid mild hours [h]": float(humid_mild.sum()),
    }
    for per_cent in (0.4, 1.0, 2.0):
        design = float(np.quantile(dew, 1 - per_cent / 100))
        coincident = frame[(dew - design).abs() <= 0.5]
        vapor = float(air.saturation_pressure(design))
        humidity_ratio = float(air.humidity_ratio(vapor, float(coincident["pressure"].mean())))
        head = f"dew point {per_cent:g} %"
        rows[f"{head} [{degree}]"] = shown(design)
        rows[f"{head} humidity ratio [{ratio}]"] = from_si(
            humidity_ratio, "fraction", "grain/pound" if units == "us" else "g/kg"
        )
        rows[f"{head} MCDB [{degree}]"] = shown(float(coincident["temp_air"].mean()))
    return rows
