"""Controls: the interface, built-in strategies, additions, rule tables, their review, and faults."""

from moistsim.controls import faults, strategies
from moistsim.controls.additions.addition import Addition, addition
from moistsim.controls.bands import widenings
from moistsim.controls.failing import carrying
from moistsim.controls.faults import (
    KINDS,
    LINKS,
    RELAYS,
    FailedBlower,
    Fault,
    FouledCoil,
    FrozenSensor,
    LateMessages,
    LostLink,
    LostMessages,
    PowerCut,
    StoppedDehumidifier,
    StuckRelay,
    WeldedStrips,
)
from moistsim.controls.interface import SIGNATURE, Calls, CallSet, Readings, Strategy, strategy
from moistsim.controls.missing import check_machines
from moistsim.controls.review import Finding, review
from moistsim.controls.rules.rows import SETPOINTS
from moistsim.controls.rules.rules import RuleTable, rule_table
from moistsim.controls.strategies import ADDITIONS, BUILT_IN, temperature_only, with_dehumidifier
from moistsim.controls.thresholds import moved, reach, thresholds
from moistsim.controls.two_controls import SECOND, TwoControls

__all__ = [
    "ADDITIONS",
    "Addition",
    "BUILT_IN",
    "CallSet",
    "Calls",
    "FailedBlower",
    "Fault",
    "Finding",
    "FouledCoil",
    "FrozenSensor",
    "KINDS",
    "LINKS",
    "LateMessages",
    "LostLink",
    "LostMessages",
    "PowerCut",
    "RELAYS",
    "Readings",
    "RuleTable",
    "SECOND",
    "SETPOINTS",
    "SIGNATURE",
    "StoppedDehumidifier",
    "Strategy",
    "StuckRelay",
    "TwoControls",
    "WeldedStrips",
    "addition",
    "carrying",
    "check_machines",
    "faults",
    "moved",
    "reach",
    "review",
    "rule_table",
    "strategies",
    "strategy",
    "temperature_only",
    "thresholds",
    "widenings",
    "with_dehumidifier",
]
