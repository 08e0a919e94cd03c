"""Model structures of a measured house: how outdoor air comes in, and whether people open windows.

A log of temperature and humidity hardly tells them apart in one season, but they disagree in the
next one. So the fit keeps all of them, and their disagreement widens its bands.
"""

from typing import Any

import attrs

from moistsim.controls import Strategy
from moistsim.equipment import Equipment, Ventilation
from moistsim.house import House, WindowOpening
from moistsim.sensitivity import Distribution, Normal, Range

FOLD = 4.0
"""Factor either way of a described value within which its default range lies."""
STORE_FOLD = 6.0
"""Factor either way for the area that stores moisture."""
SETPOINT = 1.5
"""Deviation of a thermostat's setpoint from the log's mean temperature, K."""
OPEN_AREA, OPEN_FROM = Range(0.01, 1.0, True), Range(6.0, 22.0)
"""Default ranges of the open window area, m2, and of the outdoor temperature from which windows are
open, degC; round figures of ours."""


@attrs.frozen
class Structure:
    """One way in which the house may work, with the ranges of its own values."""

    name: str
    words: str
    house: House
    equipment: Equipment
    ranges: dict[str, Distribution]


def fold(value: float, factor: float = FOLD) -> Range:
    """Range from `value` / `factor` to `value` x `factor`, even in the logarithm."""
    return Range(value / factor, value * factor, True)


def leakage_name(house: House) -> str:
    """Dotted name of the value that the house's air leakage was given by."""
    given = [n for n in ("effective_area", "cfm50") if getattr(house.leakage, n) is not None]
    return f"house.leakage.{given[0]}" if given else "house.ach50"


def structures(house: House, equipment: Equipment) -> tuple[Structure, ...]:
    """Structures that a log is fitted with: two ways of the outdoor air times two of the windows."""
    leakage = leakage_name(house)
    leaks = getattr(
        house if leakage == "house.ach50" else house.leakage, leakage.rpartition(".")[2]
    )
    fan: Any = equipment.ventilation
    if fan is None:
        fan = Ventilation(kind="balanced", airflow=0.3 * house.volume / 3600.0)
    whole: Any = house
    rate = fan.airflow if fan.airflow is not None else 0.3 * house.volume / 3600.0
    logged: Any = equipment
    steady: Equipment = attrs.evolve(logged, ventilation=attrs.evolve(fan, airflow=rate))
    air: tuple[tuple[str, str, Equipment, dict[str, Distribution]], ...] = (
        ("wind and warmth", "air comes in by wind and by the difference of temperatures",
         equipment, {leakage: fold(leaks)}),
        ("steady air", "air comes in at one rate, as from a fan",
         steady, {"equipment.ventilation.airflow": fold(rate)}),
    )  # fmt: skip
    found = []
    # Written with their units, as a person would: nothing is asked about them.
    warm: Any = {"area": "0.1 m2", "low": "15 degC", "high": "60 degC"}
    opened = WindowOpening(rule="habit", **warm)
    for name, words, machines, ranges in air:
        if leaks <= 0.0 and leakage in ranges:
            continue
        if house.window_opening is not None:
            found.append(Structure(name, f"{words}; windows as described", house, machines, ranges))
            continue
        found.append(Structure(name, f"{words}; windows stay closed", house, machines, ranges))
        airing: dict[str, Distribution] = {
            "house.window_opening.area": OPEN_AREA,
            "house.window_opening.low": OPEN_FROM,
        }
        found.append(
            Structure(
                f"{name}, windows opened", f"{words}; windows are opened when it is warm outdoors",
                attrs.evolve(whole, window_opening=opened), machines, {**ranges, **airing},
            )
        )  # fmt: skip
    return tuple(found)


def usual_ranges(house: House) -> dict[str, Distribution]:
    """Default ranges of what every structure has: moisture and its stores."""
    ranges: dict[str, Distribution] = {}
    if house.moisture_gain > 0.0:
        ranges["house.gains.moisture"] = fold(house.moisture_gain)
    if house.moisture_store.area > 0.0:
        ranges["house.moisture_store.area"] = fold(house.moisture_store.area, STORE_FOLD)
        ranges["house.moisture_store.coating"] = fold(house.moisture_store.coating)
    return ranges


def ranges_of_heat(
    house: House, equipment: Equipment, strategy: Strategy, mean: float
) -> dict[str, Distribution]:
    """Default ranges of what decides the indoor temperature, for runs that do not follow it.

    Parameters
    ----------
    mean : float
        Mean indoor temperature of the log, degC.
    """
    ranges: dict[str, Distribution] = {}
    heats = equipment.heating, equipment.furnace, equipment.strips, equipment.room_heater
    if any(machine is not None for machine in heats):
        ranges["strategy.heating_setpoint"] = Normal(mean, SETPOINT)
    if equipment.cooling is not None:
        ranges["strategy.cooling_setpoint"] = Normal(mean, SETPOINT)
    if house.gains.appliances_and_lights > 0.0:
        ranges["house.gains.appliances_and_lights"] = fold(house.gains.appliances_and_lights, 3.0)
    ranges["house.envelope.window_shading"] = Range(0.1, 1.0)
    return {
        name: of
        for name, of in ranges.items()
        if not name.startswith("strategy.") or name.partition(".")[2] in strategy.settings
    }
