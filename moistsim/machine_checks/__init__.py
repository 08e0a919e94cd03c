"""Machines by themselves: a coil on the bench, expected gauge readings, and the least work of drying."""

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
from moistsim.machine_checks.least_work import least_work, least_works

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
    "least_work",
    "least_works",
    "today",
]
