"""Machines that a strategy calls and an option lacks, found before any run."""

from moistsim.controls.interface import Strategy
from moistsim.controls.rules.interpreter import Output
from moistsim.controls.rules.rules import RuleTable
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


def check_machines(strategy: Strategy, machines: Equipment, where: str) -> None:
    """Refuse a strategy that calls a machine which the equipment lacks.

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
