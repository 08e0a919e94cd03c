"""A value at a glance: the table that a notebook shows for it.

Each room says what belongs in the summary of its values, in words that screen and page have too.
"""

from collections.abc import Iterable, Iterator
from functools import cache
from importlib.resources import files
from typing import Any, NamedTuple

import attrs

from moistsim.core.display import NOTHING, Show, units_or_default

TEMPLATE = "summary.html.jinja"


class Grid(NamedTuple):
    """A table within a summary, whose first column names its rows."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int] = frozenset()
    """Columns of numbers, which stand at the right."""
    folded: bool = False
    """Whether a reader must open it."""


class Summary(NamedTuple):
    """What a reader sees of a value."""

    kind: str
    """What it is, such as "House"."""
    name: str = ""
    facts: tuple[tuple[str, str], ...] = ()
    """Labels and texts."""
    tables: tuple[Grid, ...] = ()
    notes: tuple[str, ...] = ()


class Summarized:
    """A value that a notebook shows as a small table, in the units of `set_units`."""

    __slots__ = ()

    def summary(self, show: Show) -> Summary:
        """What a reader sees of this value."""
        raise NotImplementedError

    def _repr_html_(self) -> str:
        return html(self.summary(reader()))


class Tabled:
    """An answer that a notebook shows as its table, in the units of `set_units`."""

    __slots__ = ()

    def _repr_html_(self: Any) -> str:
        return str(self.table()._repr_html_())


def short(of: Any, names: Iterable[Any]) -> str:
    """The plain text of an answer: what it is, and of what.

    Examples
    --------
    >>> short(Summary("House"), ["Thermostat", "Reheat"])
    '<Summary: Thermostat, Reheat>'
    """
    return f"<{type(of).__name__}: {', '.join(map(str, names))}>"


def reader() -> Show:
    """The default reader, in the units of `set_units`."""
    return Show(units_or_default(None))


def html(it: Summary) -> str:
    """HTML of a summary, with every text escaped; it has no colors of its own.

    Examples
    --------
    >>> "1 &lt; 2" in html(Summary("House", facts=(("Size", "1 < 2"),)))
    True
    """
    return str(_template().render(it=it))


@cache
def _template() -> Any:
    import jinja2

    environment = jinja2.Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined
    )
    text = files("moistsim.core").joinpath(TEMPLATE).read_text(encoding="utf-8")
    return environment.from_string(text)


def all_values(of: Any, show: Show) -> Grid:
    """Every value of a description by its dotted name, folded away."""
    rows = tuple(_values(of, show, ""))
    caption = f"All {len(rows)} values, by the names that evolve and sweeps take"
    return Grid(caption, ("Name", "Value", "Meaning"), rows, folded=True)


def _values(of: Any, show: Show, before: str) -> Iterator[tuple[str, str, str]]:
    for field in attrs.fields(type(of)):
        value, name = getattr(of, field.name), f"{before}{field.name}"
        parts = value if isinstance(value, tuple) else ()
        if attrs.has(type(value)):
            yield from _values(value, show, f"{name}.")
        elif parts and all(attrs.has(type(item)) for item in parts):
            for number, item in enumerate(parts, 1):
                yield from _values(item, show, f"{name}.{number}.")
        else:
            unit = field.metadata.get("unit")
            text = NOTHING if value is None else show.field(value, unit, field.name)
            yield name, text, str(field.metadata.get("help", "")).replace("`", "")
