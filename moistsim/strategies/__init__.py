"""Controls, one file each, on the public interface of `interface.py` and `addition.py`."""

from moistsim.strategies.addition import Addition, addition
from moistsim.strategies.dehumidifier import with_dehumidifier
from moistsim.strategies.dew_point_control import dew_point_control
from moistsim.strategies.drying_by_dehumidifier import drying_by_dehumidifier
from moistsim.strategies.held_back_ventilation import held_back_ventilation
from moistsim.strategies.hot_gas_reheat import hot_gas_reheat
from moistsim.strategies.interface import Calls, Readings, Strategy, strategy
from moistsim.strategies.overcooling import overcooling
from moistsim.strategies.rules import RuleTable, rule_table
from moistsim.strategies.set_back import set_back
from moistsim.strategies.slower_airflow import slower_airflow
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
    )
}
"""Strategies that a scenario may name."""

ADDITIONS = {
    a.name: a
    for a in (
        slower_airflow,
        dew_point_control,
        held_back_ventilation,
        set_back,
        drying_by_dehumidifier,
    )
}
"""What a scenario may put on top of a strategy."""

__all__ = [
    "ADDITIONS",
    "BUILT_IN",
    "Addition",
    "Calls",
    "Readings",
    "RuleTable",
    "Strategy",
    "addition",
    "dew_point_control",
    "drying_by_dehumidifier",
    "held_back_ventilation",
    "hot_gas_reheat",
    "overcooling",
    "rule_table",
    "set_back",
    "slower_airflow",
    "staged_reheat",
    "strategy",
    "temperature_only",
    "with_dehumidifier",
]
