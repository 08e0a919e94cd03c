"""Rows that can never act: nothing makes them, or their machine is not installed."""

from collections.abc import Iterator

from moistsim.controls.review.finding import Finding
from moistsim.controls.review.readings import range_of
from moistsim.controls.review.table import Table
from moistsim.controls.review.words import number, said, title, unit_of
from moistsim.controls.rules.interpreter import Output
from moistsim.controls.rules.rows import Row
from moistsim.equipment import Equipment


def never_acts(table: Table) -> Iterator[Finding]:
    """Rows that no reading makes, that wait for such a row, or whose machine is missing."""
    reasons: dict[int, str] = {}
    rest: list[int] = []
    for k, row in enumerate(table.rows):
        points = table.points((k,))
        when = table.when(k, points)
        if not when.any():
            left, right = table.compared(row.when)
            reasons[k] = f"{said(table, row.when)} is beyond what can be read"
            if row.also:
                reasons[k] = "the conditions of its 'when' are never met at the same time"
            elif not right:
                low, high = (number(end, unit_of(left)) for end in range_of(left))
                reasons[k] += f", which is from {low} to {high}"
        elif not table.open(k, points).any():
            reasons[k] = "its hours and its months never overlap"
        elif not (when & ~table.released(k, points)).any():
            reasons[k] = "its release holds wherever its condition does"
        elif not (when & table.can_be_on(k, points)).any():
            rest.append(k)
    _wait_for(table, reasons)
    for k in rest:
        if k not in reasons:
            reasons[k] = (
                "its condition, its release and its 'within' are never met at the same time"
            )
    _wait_for(table, reasons)
    for k, reason in reasons.items():
        if k not in table.unfit:
            yield Finding(k + 1, "never acts", f"{title(table, k)} can never act: {reason}.")
    if table.machines is not None:
        for k, row in enumerate(table.rows):
            if lack := _missing(row, table.machines):
                yield Finding(k + 1, "never acts", f"{title(table, k)} can never act: {lack}.")


def _wait_for(table: Table, reasons: dict[int, str]) -> None:
    """A row that waits for one that never acts does not act either."""
    for _ in table.rows:
        for k, row in enumerate(table.rows):
            for each in row.whiles:
                if k not in reasons and each.on and all(r in reasons for r in each.rows):
                    reasons[k] = f"{each.text!r} waits for a row that can never be on"


def _stages(count: int) -> str:
    return f"only {count} stage" + "s" * (count > 1)


def _missing(row: Row, machines: Equipment) -> str:
    """Machine that a row calls and the house lacks; '' if it is installed."""
    cooling, strips = machines.cooling, machines.strips
    stages = 0 if cooling is None else len(cooling.stages)
    powers = 0 if strips is None else len(strips.powers)
    heats = (machines.heating, machines.furnace, machines.strips, machines.room_heater)
    if row.output == Output.COOLING and row.level > stages:
        return f"the air conditioner has {_stages(stages)}" if stages else "nothing cools"
    if row.output == Output.STRIPS and row.level > powers:
        return f"the strips have {_stages(powers)}" if powers else "there are no strips"
    if row.output == Output.HEATING and all(machine is None for machine in heats):
        return "there is nothing that heats"
    if row.output == Output.HEATING and row.level > 1.0 and strips is None:
        return "there are no strips"
    lacking = {
        Output.DEHUMIDIFIER: (machines.dehumidifier, "dehumidifier"),
        Output.HOT_GAS: (machines.hot_gas, "hot-gas reheat"),
        Output.VENTILATION: (machines.ventilation, "mechanical ventilation"),
        **dict.fromkeys(
            (Output.BLOWER, Output.BLOWER_SPEED, Output.SLOW_DOWN), (cooling, "air handler")
        ),
    }
    machine, name = lacking.get(row.output, (machines, ""))
    return f"there is no {name}" if machine is None else ""
