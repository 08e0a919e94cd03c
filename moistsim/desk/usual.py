"""Ways to dry that a house with one option is compared with: those of the demo."""

from typing import Any

import attrs

from moistsim.core.units import Role
from moistsim.scenario import DEMO, Scenario, read_scenario


def with_usual_options(scenario: Scenario) -> Scenario:
    """The scenario with the demo's ways to dry next to its first option, at its setpoints.

    An option has the house's own machines, and the demo's strips or dehumidifier where the house has
    none. Purchases are the demo's, which are invented round figures.

    Parameters
    ----------
    scenario : Scenario

    Examples
    --------
    >>> from moistsim.scenario import new_house, scenario_of
    >>> one = scenario_of(new_house("mine.toml", "us"), "mine.toml")
    >>> [*with_usual_options(one).study.options][1:]
    ['Overcooling allowed', 'Staged compressor with strip reheat', 'Stand-alone dehumidifier']
    """
    study, demo = scenario.study, read_scenario(DEMO)
    first = next(iter(study.options))
    found = study.resolved[first]
    ways = demo.study.resolved
    usual = [name for name in ways if name != demo.study.base and name not in study.options]
    options: dict[str, Any] = dict(study.options)
    for name in usual:
        equipment, strategy, _ = ways[name]
        own: dict[str, Any] = {
            part: getattr(found.equipment, part) or getattr(equipment, part)
            for part in ("strips", "dehumidifier")
            if part in strategy.machines
        }
        setpoints: dict[str, Any] = {}
        for role in (Role.COOLING, Role.HEATING):
            value, setting = found.strategy.setpoint(role), strategy.name_of(role)
            if value is not None and setting is not None:
                setpoints[setting] = value
        options[name] = (found.equipment.evolve(**own), strategy(**setpoints))
    purchases = scenario.purchases
    if purchases:
        purchases = {**purchases, **{name: demo.purchases[name] for name in usual}}
    return attrs.evolve(
        scenario, study=study.evolve(options=options, base=study.base or first), purchases=purchases
    )
