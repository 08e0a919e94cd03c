"""Free and low-cost cures of a humid house, and the smallest machines that end the complaint."""

from moistsim.cures.answer import Cures, TriedCure, free_cures
from moistsim.cures.cure import Cure
from moistsim.cures.prices import CurePrices
from moistsim.cures.proposals import Proposal, proposals
from moistsim.cures.trial import Outcome

__all__ = [
    "Cure",
    "CurePrices",
    "Cures",
    "Outcome",
    "Proposal",
    "TriedCure",
    "free_cures",
    "proposals",
]
