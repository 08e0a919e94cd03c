"""Deadbands of an option: the settings that widen them, and by how much."""

from moistsim.controls.interface import Strategy
from moistsim.controls.rules.rules import RuleTable
from moistsim.controls.two_controls import SECOND, TwoControls
from moistsim.core.units import Role

_WIDTHS = {Role.TEMPERATURE_DEADBAND, Role.HUMIDITY_DEADBAND, Role.HUMIDITY_STAGE}
_READINGS = ("temperature", "relative_humidity", "dew_point")


def widenings(strategy: Strategy) -> dict[str, float]:
    """Change of each setting of a control when all its deadbands become twice as wide.

    They widen around their middles, and stages of drying move away from the humidity setpoint in
    proportion. Deadbands are the settings that a control declares as
    `units.TemperatureDeadband`, `units.HumidityDeadband` or `units.HumidityStage`. In a rule table
    a row's deadband is the gap between its condition and the release by the same room reading.

    Returns
    -------
    dict of float
        By the name of the setting, in its own unit.

    Examples
    --------
    >>> from moistsim.controls import strategies
    >>> widenings(strategies.with_dehumidifier(humidity_deadband="5 %", deadband="0.5 K"))
    {'deadband': 0.5, 'humidity_deadband': 5.0}
    """
    if isinstance(strategy, TwoControls):
        second = widenings(strategy.second)
        return {
            **widenings(strategy.main),
            **{f"{SECOND}{name}": change for name, change in second.items()},
        }
    found = {
        name: strategy.settings[name]
        for name, setting in strategy.declared.items()
        if setting.role in _WIDTHS and strategy.settings[name] != 0.0
    }
    base = strategy.base
    return {**found, **(_of_rows(base) if isinstance(base, RuleTable) else {})}


def _of_rows(table: RuleTable) -> dict[str, float]:
    found: dict[str, float] = {}
    for row in table.rows:
        when = row.when
        if when.left not in _READINGS:
            continue
        for release in row.releases:
            if (release.left, release.right) != (when.left, when.right):
                continue
            gap = table.settings[when.key] - table.settings[release.key]
            # A release on the wrong side has no deadband; the review of the table says so.
            if release.above != when.above and gap * (1.0 if when.above else -1.0) > 0.0:
                found[when.key], found[release.key] = 0.5 * gap, -0.5 * gap
                break
    return found
