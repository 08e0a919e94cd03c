"""Pieces that several strategies share, each a small compiled function."""

from moistsim.controls.interface import Readings
from moistsim.core.compiled import compiled
from moistsim.core.errors import InputError


@compiled
def latch(was_on: float, value: float, on_above: float, off_below: float) -> float:
    """1 once `value` rises above `on_above`, until it falls below `off_below`."""
    if value > on_above:
        return 1.0
    if value < off_below:
        return 0.0
    return was_on


@compiled
def cooling_stage(
    was: float,
    readings: Readings,
    setpoint: float,
    deadband: float,
    second_stage_at: float,
    lowered: float = 0.0,
) -> float:
    """Stage that a cooling thermostat asks for, set up for as many stages as there are.

    Stage 1 turns on half a deadband above the setpoint and off half a deadband below it; stage 2
    joins when the room is `second_stage_at` above the setpoint and stays until the room is back
    at the setpoint; each further stage joins and leaves another `second_stage_at` higher. A
    compressor of variable speed is called in proportion instead: it rises by a stage for each
    `second_stage_at` above the setpoint.

    Parameters
    ----------
    was : float
        What this function last gave.
    lowered : float
        How far stage 1 cools below the setpoint, to dry; the others answer heat, not humidity,
        and begin where they always do.

    While the readings say that the thermostat is set back, its setpoint is higher by as much.
    """
    setpoint += readings.cooling_set_back
    point, half = setpoint - lowered, 0.5 * deadband
    if latch(min(was, 1.0), readings.temperature, point + half, point - half) == 0.0:
        return 0.0
    above, stage = readings.temperature - setpoint, 1.0
    if readings.variable_speed > 0.0:
        more = above / max(second_stage_at, 0.1)
        return stage + min(max(more, 0.0), max(readings.cooling_stages - 1.0, 0.0))
    for number in range(1, int(readings.cooling_stages)):
        off = (number - 1) * second_stage_at - lowered
        stage += latch(1.0 if was > number else 0.0, above, number * second_stage_at, off)
    return stage


@compiled
def heating_stage(was: float, readings: Readings, setpoint: float, deadband: float) -> float:
    """1 for the heat pump around the setpoint, 2 when the room is 1.5 K below it.

    While the readings say that the thermostat is set back, its setpoint is lower by as much.
    """
    temperature = readings.temperature
    setpoint -= readings.heating_set_back
    on = latch(min(was, 1.0), -temperature, -setpoint + 0.5 * deadband, -setpoint - 0.5 * deadband)
    if on == 0.0:
        return 0.0
    return 1.0 + latch(max(was - 1.0, 0.0), -temperature, -setpoint + 1.5, -setpoint + 0.3)


LIMITS = {
    "cooling_setpoint": (10.0, 40.0, "degC"),
    "heating_setpoint": (5.0, 35.0, "degC"),
    "deadband": (0.1, 10.0, "K"),
    "humidity_deadband": (0.5, 30.0, "% RH"),
    "target_rh": (15.0, 95.0, "% RH"),
}
"""Least and greatest value of the setpoints that a thermostat or humidistat can have."""


Limits = dict[str, tuple[float, float, str]]


def check_limits(where: str, settings: dict[str, float], limits: Limits) -> None:
    """Refuse setpoints beyond their limits; one that is not there is within them.

    Parameters
    ----------
    where : str
        Names the control in the error.
    settings : dict
        By name, in SI.
    limits : dict
        Least value, greatest value and unit of each, the unit as a reader would see it: "degC" is
        shown in both scales, "s" in hours.
    """
    for setting, (low, high, unit) in limits.items():
        value = settings.get(setting, low)
        if not low <= value <= high:
            found, least, most = (_shown(x, unit) for x in (value, low, high))
            raise InputError(f"{where}.{setting}", found, f"from {least} to {most}")


def check_humidistat(where: str, settings: dict[str, float]) -> None:
    """Refuse a target and a deadband that no humidistat has."""
    check_limits(where, settings, {k: LIMITS[k] for k in ("target_rh", "humidity_deadband")})


def check_thermostat(name: str, settings: dict[str, float], coldest: float) -> None:
    """Refuse setpoints beyond any control, and those that let cooling reach the heating.

    Parameters
    ----------
    name : str
        Strategy, for the error.
    settings : dict
        Holds `cooling_setpoint`, `heating_setpoint` and `deadband`.
    coldest : float
        Coolest room, degC, that the strategy's cooling aims at.
    """
    check_limits(f"strategy {name}", settings, LIMITS)
    reached = coldest - 0.5 * settings["deadband"]
    limit = settings["heating_setpoint"] + settings["deadband"]
    if reached < limit:
        raise InputError(
            f"strategy {name}",
            f"cooling down to {_both(reached)} with heating at "
            f"{_both(settings['heating_setpoint'])}",
            f"a room no cooler than {_both(limit)}, one deadband above the heating setpoint: "
            "the heating would be hidden reheat",
        )


def _shown(value: float, unit: str) -> str:
    if unit == "degC":
        return _both(value)
    return f"{value / 3600.0:g} hours" if unit == "s" else f"{value:g} {unit}".rstrip()


def _both(celsius: float) -> str:
    """A temperature in both units, since the one that the user wrote is no longer known."""
    return f"{celsius:.1f} degC ({1.8 * celsius + 32.0:.1f} degF)"
