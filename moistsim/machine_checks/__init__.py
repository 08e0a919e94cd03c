"""Machines by themselves: a coil on the bench, and expected gauge readings."""

from moistsim.machine_checks import commissioning
from moistsim.machine_checks.bench import coil_bench
from moistsim.machine_checks.commissioning import (
    AIRFLOW_BAND,
    AMPS_BAND,
    BLOWER_BAND,
    CONDENSATE_BAND,
    DEHUMIDIFIER_VOLTAGE,
    HUMIDITY_BAND,
    REASONS,
    RISE_BAND,
    SUPPLY_BAND,
    WET_BULB_BAND,
    Amps,
    Expected,
    ExpectedDrying,
    Refused,
    Rig,
    Today,
    today,
)

__all__ = [
    "AIRFLOW_BAND",
    "AMPS_BAND",
    "Amps",
    "BLOWER_BAND",
    "CONDENSATE_BAND",
    "DEHUMIDIFIER_VOLTAGE",
    "Expected",
    "ExpectedDrying",
    "HUMIDITY_BAND",
    "REASONS",
    "RISE_BAND",
    "Refused",
    "Rig",
    "SUPPLY_BAND",
    "Today",
    "WET_BULB_BAND",
    "coil_bench",
    "commissioning",
    "today",
]
