"""The built-in strategies and additions by name."""

from moistsim.controls.additions.dew_point_control import dew_point_control
from moistsim.controls.additions.drying_by_dehumidifier import drying_by_dehumidifier
from moistsim.controls.additions.held_back_ventilation import held_back_ventilation
from moistsim.controls.additions.lower_airflow import lower_airflow
from moistsim.controls.additions.set_back import set_back
from moistsim.controls.additions.slower_airflow import slower_airflow
from moistsim.controls.built_in.hot_gas_reheat import hot_gas_reheat
from moistsim.controls.built_in.overcooling import overcooling
from moistsim.controls.built_in.staged_reheat import staged_reheat
from moistsim.controls.built_in.temperature_only import temperature_only
from moistsim.controls.built_in.with_dehumidifier import with_dehumidifier

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
        lower_airflow,
        dew_point_control,
        held_back_ventilation,
        set_back,
        drying_by_dehumidifier,
    )
}
"""Additions that a scenario may put on top of a strategy."""

__all__ = [
    "ADDITIONS",
    "BUILT_IN",
    "dew_point_control",
    "drying_by_dehumidifier",
    "held_back_ventilation",
    "hot_gas_reheat",
    "lower_airflow",
    "overcooling",
    "set_back",
    "slower_airflow",
    "staged_reheat",
    "temperature_only",
    "with_dehumidifier",
]
