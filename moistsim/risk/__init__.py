"""What humidity does to people, materials and machines."""

from moistsim.risk import mold
from moistsim.risk.mold import CAUTIONS, CRITERION, mould_index
from moistsim.risk.spells import spells
from moistsim.risk.table import RiskBasis, risk, risk_hours

__all__ = [
    "CAUTIONS",
    "CRITERION",
    "RiskBasis",
    "mold",
    "mould_index",
    "risk",
    "risk_hours",
    "spells",
]
