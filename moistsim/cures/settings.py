"""Cures that are settings: fan switch, fan-off delay, ventilation rate, airflow, setpoint, staging."""

import math
from typing import Any, cast

import attrs

from moistsim.controls import Strategy, moved, strategies
from moistsim.core.display import Show, duration, number
from moistsim.core.errors import InputError
from moistsim.core.units import Role, to_si
from moistsim.cures.cure import Cure, coolings, with_cooling
from moistsim.equipment import (
    LEAST_BLOWER_FLOW,
    Cooling,
    Equipment,
    ashrae_62_2_fan_rate,
    ashrae_62_2_rate,
)
from moistsim.house import House
from moistsim.study import Option

DIAL = to_si("5 cfm", "m3/s", "")
"""Steps to which a ventilation rate is rounded up, m3/s: a flow hood reads no finer."""
NOTICED = 0.03
"""Smallest relative change of an airflow that is worth a visit; meters read no finer."""
AIRFLOW = to_si("350 cfm", "m3/s", "") / to_si("1 ton", "W", "")
"""Airflow over the coil for humid climates, m3/s per W of capacity: 350 cfm per ton (common
practice, no source)."""
JOINS = 2.0
"""How far above the setpoint a second stage should join, K (3.6 °F; common practice, no source)."""
VISIT = 150.0
"""Price of a technician's visit with airflow and static pressure measured, USD: a stand-in of our own."""


# ---------------------------------------------------------------------- fan switch


def _fan_auto(machines: Equipment, strategy: Strategy, house: House) -> Option | None:
    ventilation = machines.ventilation
    if all(unit.fan == "auto" for unit in coolings(machines)):
        return None
    if ventilation is not None and ventilation.kind == "central" and ventilation.least_run == 0.0:
        # This fan brings the outdoor air.
        return None
    return Option(with_cooling(machines, fan="auto"), strategy, house)


def _say_fan_auto(before: Option, after: Option, show: Show) -> str:
    was = next(unit.fan for unit in coolings(before.equipment) if unit.fan != "auto")
    return f"Set the fan switch of the thermostat to AUTO instead of {was.upper()}."


FAN_AUTO = Cure("Fan AUTO", _fan_auto, _say_fan_auto)

# ---------------------------------------------------------------------- fan-off delay


def _no_delay(machines: Equipment, strategy: Strategy, house: House) -> Option | None:
    # With the fan on, the delay changes nothing.
    if all(unit.fan_off_delay == 0.0 or unit.fan == "on" for unit in coolings(machines)):
        return None
    return Option(with_cooling(machines, fan_off_delay=0.0), strategy, house)


def _say_no_delay(before: Option, after: Option, show: Show) -> str:
    was = duration(max(unit.fan_off_delay for unit in coolings(before.equipment)))
    return f"Set the blower's fan-off delay after cooling to 0 s instead of {was}."


NO_DELAY = Cure(
    "No fan-off delay after cooling",
    _no_delay,
    _say_no_delay,
    (
        "Only the delay after cooling: strips, heat pump and furnace need their delay after heating, "
        "which must stay as the manufacturer states.",
    ),
)

# ---------------------------------------------------------------------- ventilation


def ventilation_at_62_2(infiltration: float | None) -> Cure:
    """The cure that sets a continuous ventilation fan to the rate of ASHRAE 62.2.

    Parameters
    ----------
    infiltration : float or None
        Effective annual infiltration of the house, m3/s, which 62.2 credits after a blower-door
        test; None without a test.
    """

    def change(machines: Equipment, strategy: Strategy, house: House) -> Option | None:
        fan: Any = machines.ventilation
        if fan is None or fan.airflow is None or fan.kind == "central":
            return None
        limits = (fan.lockout_dew_point, fan.lockout_above, fan.lockout_below)
        if fan.least_run > 0.0 or any(limit is not None for limit in limits):
            # It brings less than its airflow already.
            return None
        rate = ashrae_62_2_rate(house.floor_area, house.bedrooms)
        if infiltration is not None:
            rate = ashrae_62_2_fan_rate(rate, infiltration, balanced=fan.kind == "balanced")
        rate = DIAL * math.ceil(rate / DIAL - 1.0e-6)
        if fan.airflow <= (1.0 + NOTICED) * rate:
            return None
        slower: Equipment = attrs.evolve(
            cast(Any, machines), ventilation=attrs.evolve(fan, airflow=rate)
        )
        return Option(slower, strategy, house)

    def say(before: Option, after: Option, show: Show) -> str:
        was, now = (x.equipment.ventilation for x in (before, after))
        assert was is not None and now is not None
        credit = ", with credit for measured air leakage" if infiltration is not None else ""
        return (
            f"Set the ventilation fan to {show(now.airflow, 'airflow')} instead of "
            f"{show(was.airflow, 'airflow')}: the rate of ASHRAE 62.2 for this house{credit}."
        )

    return Cure(
        "Ventilation at the rate of ASHRAE 62.2",
        change,
        say,
        (
            "Measure the airflow that is delivered. Never run less than the code rate, and never turn "
            "ventilation off to dry a house.",
            "Count all bedrooms, and check local codes: some ask for more.",
        ),
    )


# ---------------------------------------------------------------------- airflow over the coil


def _lower_airflow(machines: Equipment, strategy: Strategy, house: House) -> Option | None:
    cooling = machines.cooling
    # An addition acts on one control, and another system has other stages.
    if cooling is None or machines.second_system is not None:
        return None
    if strategies.lower_airflow.name in [x.name for x in strategy.additions]:
        return None
    # One share for all stages: the stage with the least air for its capacity ends at the aim.
    share = 1.0 - AIRFLOW / min(stage.airflow / stage.capacity for stage in cooling.stages)
    slowest = cooling.stages[0].airflow / cooling.full_airflow * (1.0 - share)
    if share < NOTICED or slowest < 1.1 * LEAST_BLOWER_FLOW:
        return None
    return Option(
        machines, strategy + strategies.lower_airflow(lower_airflow_by=round(share, 3)), house
    )


def _say_lower_airflow(before: Option, after: Option, show: Show) -> str:
    left = 1.0 - after.strategy.settings["lower_airflow_by"]
    flows = [
        f"{show(left * stage.airflow, 'airflow')} instead of {show(stage.airflow, 'airflow')}"
        for stage in _cooling(before).stages
    ]
    if len(flows) > 1:
        flows = [f"{flow} in stage {k}" for k, flow in enumerate(flows, 1)]
    aim = "350 cfm per ton" if show.us else f"{1e6 * AIRFLOW:.0f} L/s per kW"
    return f"Have the airflow in cooling set to about {aim}: {', '.join(flows)}."


LOWER_AIRFLOW = Cure(
    "Less airflow over the coil",
    _lower_airflow,
    _say_lower_airflow,
    (
        "A coil with little air can freeze. The technician must check coil temperature, superheat "
        "and temperature drop afterward, with a clean filter.",
        "Cold supply air can make registers and ducts sweat.",
    ),
    price=lambda house: VISIT,
    price_key="airflow",
    life=12.0,
)

# ---------------------------------------------------------------------- humidity setpoint


def setpoint_at(rh: float) -> Cure:
    """The cure that raises humidity setpoints below `rh`, percent, to it."""

    def change(machines: Equipment, strategy: Strategy, house: House) -> Option | None:
        lowest = _setpoint(machines, strategy)
        if lowest is None or lowest >= rh:
            return None
        try:
            return Option(*moved(machines, strategy, rh - lowest), house)
        except InputError:
            # The control refuses the setpoint.
            return None

    def say(before: Option, after: Option, show: Show) -> str:
        was = _setpoint(before.equipment, before.strategy)
        return f"Raise the humidity setpoint to {number(rh)} % from {number(was)} %."

    return Cure(f"Humidity setpoint {number(rh)} %", change, say)


def _setpoint(machines: Equipment, strategy: Strategy) -> float | None:
    """The lower of the setpoints of control and dehumidifier, percent RH; None without one."""
    own = machines.dehumidifier
    found = [strategy.setpoint(Role.HUMIDITY), own.humidistat if own else None]
    return min((x for x in found if x is not None), default=None)


# ---------------------------------------------------------------------- staging


def _later_stage(machines: Equipment, strategy: Strategy, house: House) -> Option | None:
    cooling = machines.cooling
    if cooling is None or len(cooling.stages) < 2 or cooling.modulation == "variable":
        return None
    if strategy.settings.get(_JOINS, JOINS) >= JOINS:
        return None
    try:
        return Option(machines, strategy(**{_JOINS: JOINS}), house)
    except InputError:
        return None


_JOINS = "second_stage_at"


def _say_later_stage(before: Option, after: Option, show: Show) -> str:
    was, now = (show(x.strategy.settings[_JOINS], "difference") for x in (before, after))
    return f"Let the second cooling stage join at {now} above the setpoint instead of {was}."


LATER_STAGE = Cure(
    "Second stage later",
    _later_stage,
    _say_later_stage,
    ("On the hottest afternoons the room is warmer before the second stage joins.",),
)


def _cooling(option: Option) -> Cooling:
    assert option.equipment.cooling is not None
    return option.equipment.cooling
