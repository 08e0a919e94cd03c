"""Controls, one file each, on the public interface of `interface.py`."""

from moistsim.strategies.dehumidifier import with_dehumidifier
from moistsim.strategies.hot_gas_reheat import hot_gas_reheat
from moistsim.strategies.interface import Calls, Readings, Strategy, strategy
from moistsim.strategies.overcooling import overcooling
from moistsim.strategies.rules import RuleTable, rule_table
from moistsim.strategies.set_back import set_back
from moistsim.strategies.staged_reheat import staged_reheat
from moistsim.strategies.temperature_only import temperature_only

BUILT_IN = {
    s.name: s
    for s in (
        temperature_only,
        overcooling,
        staged_reheat,
        hot_gas_reheat,
        with_dehumidifier,
        set_back,
    )
}
"""Strategies that a scenario may name."""

__all__ = [
    "BUILT_IN",
    "Calls",
    "Readings",
    "RuleTable",
    "Strategy",
    "hot_gas_reheat",
    "overcooling",
    "rule_table",
    "set_back",
    "staged_reheat",
    "strategy",
    "temperature_only",
    "with_dehumidifier",
]
