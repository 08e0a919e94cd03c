"""A control at a glance: its settings in a reader's units."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from moistsim.core.display import Show
from moistsim.core.summary import Grid, Summary

if TYPE_CHECKING:
    from moistsim.controls.interface import Strategy


def strategy_summary(strategy: "Strategy", show: Show) -> Summary:
    """Settings of a strategy with their meanings, and the rows of a rule table."""
    facts = [("Does", strategy.about.partition("\n")[0])]
    if strategy.machines:
        facts.append(("Needs", ", ".join(name.replace("_", " ") for name in strategy.machines)))
    rows: tuple[tuple[str, ...], ...] = tuple(
        (name, show.field(value, declared.unit, name), declared.meaning)
        for name, value in strategy.settings.items()
        for declared in (strategy.declared[name],)
    )
    heads: tuple[str, ...] = ("Name", "Value", "Meaning")
    if not any(meaning for *_, meaning in rows):
        heads, rows = heads[:2], tuple(row[:2] for row in rows)
    tables = [Grid("Settings", heads, rows)] if rows else []
    sentences = getattr(strategy, "sentences", ())
    if sentences:
        numbered = tuple((str(number), _row(row)) for number, row in enumerate(sentences, 1))
        tables.insert(0, Grid("Rows, in SI", ("Row", "Rule"), numbered))
    return Summary("Strategy", strategy.name, tuple(facts), tuple(tables))


def _row(row: Mapping[str, Any]) -> str:
    """A row of a rule table as one line."""
    return ", ".join(
        f"{key.replace('_', ' ')} {' or '.join(said) if isinstance(said, list) else said}"
        for key, said in row.items()
    )
