"""Machines that a strategy calls and an option lacks, found before any run."""

from collections.abc import Iterator

from moistsim.controls.interface import Strategy
from moistsim.controls.rules.interpreter import Output
from moistsim.controls.rules.rules import RuleTable
from moistsim.core.display import count
from moistsim.core.errors import Fix, InputError, Problem
from moistsim.equipment import Equipment

_CALLED = {
    Output.COOLING: "cooling",
    Output.STRIPS: "strips",
    Output.DEHUMIDIFIER: "dehumidifier",
    Output.VENTILATION: "ventilation",
    Output.HOT_GAS: "hot_gas",
}
"""Machines by the output of a row; heating may come from any of three machines."""
_WORDS = {
    "cooling": "an air conditioner",
    "strips": "strips",
    "dehumidifier": "a dehumidifier",
    "ventilation": "mechanical ventilation",
    "hot_gas": "hot-gas reheat",
}
_SECOND_STAGE = ("second_stage_at", "stage_2_on", "stage_2_off")
"""Settings for a second compressor stage. A value that is not the default was asked for."""


def check_machines(strategy: Strategy, machines: Equipment, where: str) -> None:
    """Refuse a strategy that calls a machine, or a stage of one, which the equipment lacks.

    Built-in strategies and additions declare their machines, rows of a table show them, and a
    user's function may declare them.

    Parameters
    ----------
    where : str
        Name of the option in an error.

    Raises
    ------
    InputError
        One sentence that names the machine with its key.
    """
    needed = list(strategy.main.machines)
    rules = strategy.main.base
    if isinstance(rules, RuleTable):
        needed += [_CALLED[row.output] for row in rules.rows if row.output in _CALLED]
    for field in needed:
        if getattr(machines, field, None) is None:
            raise InputError(
                where,
                Problem(
                    f"strategy {strategy.main.name} calls {_WORDS.get(field, field)}, which this option lacks"
                ),
                Fix(
                    f"Add [equipment.{field}] in a file or Equipment({field}=...) in Python, or use "
                    "another strategy"
                ),
            )
    stages = {
        field: len(getattr(machines, field).stages)
        for field in ("cooling", "strips")
        if getattr(machines, field) is not None
    }
    for wanted, field, level in _stages_called(strategy):
        if level > stages.get(field, level):
            raise InputError(
                where,
                Problem(
                    f"strategy {strategy.main.name} has {wanted}, but "
                    f"[equipment.{field}] has {count(stages[field], 'stage')}"
                ),
                Fix(
                    f"Add a stage there, or to Equipment({field}=...) in Python, or leave {wanted} out"
                ),
            )


def _stages_called(strategy: Strategy) -> Iterator[tuple[str, str, float]]:
    """What asks for a stage, the machine, and the number of the stage."""
    control, rules = strategy.main, strategy.main.base
    if isinstance(rules, RuleTable):
        for row in rules.rows:
            if row.output in (Output.COOLING, Output.STRIPS):
                yield f"'{row.call(control.settings)}'", _CALLED[row.output], row.level
        return
    usual = getattr(control.function, "py_func", control.function).__kwdefaults__ or {}
    for name in _SECOND_STAGE:
        if name in control.settings and control.settings[name] != usual.get(name):
            yield name, "cooling", 2.0
