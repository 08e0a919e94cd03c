"""Risks of humidity to people, materials and machines."""

from moistsim.risk import mold, spaces
from moistsim.risk.damp import WET_WEEK, Damp, damp_wood
from moistsim.risk.mold import CAUTIONS, CRITERION, mold_index
from moistsim.risk.spaces import space_hours, space_risk
from moistsim.risk.spells import spells
from moistsim.risk.table import MEASURES, RiskBasis, risk, risk_hours, surface_mold
from moistsim.risk.wear import RUNNING, SHORT_RUNS, run_minutes

__all__ = [
    "CAUTIONS",
    "CRITERION",
    "Damp",
    "MEASURES",
    "RUNNING",
    "RiskBasis",
    "SHORT_RUNS",
    "WET_WEEK",
    "damp_wood",
    "mold",
    "mold_index",
    "risk",
    "risk_hours",
    "run_minutes",
    "space_hours",
    "space_risk",
    "spaces",
    "spells",
    "surface_mold",
]
