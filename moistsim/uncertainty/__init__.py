"""Uncertain inputs, and how certain a verdict is."""

from moistsim.uncertainty.advised import Advised, advised
from moistsim.uncertainty.certainty import (
    DECIDES,
    FEWEST,
    Certainty,
    check_pair,
    how_sure,
    per_cent,
    usual_pair,
)
from moistsim.uncertainty.error_sources import budget_words, error_budget
from moistsim.uncertainty.measured import Measured, MeasuredHouse, at
from moistsim.uncertainty.measured_sizes import measured_sizes
from moistsim.uncertainty.ranges import SOURCES, Uncertain, in_words, source_of, uncertain_inputs
from moistsim.uncertainty.stand_ins import StandIn, stand_ins

__all__ = [
    "Advised",
    "Certainty",
    "DECIDES",
    "FEWEST",
    "Measured",
    "MeasuredHouse",
    "SOURCES",
    "StandIn",
    "Uncertain",
    "advised",
    "at",
    "budget_words",
    "check_pair",
    "error_budget",
    "how_sure",
    "in_words",
    "measured_sizes",
    "per_cent",
    "source_of",
    "stand_ins",
    "uncertain_inputs",
    "usual_pair",
]
