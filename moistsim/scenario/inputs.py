"""All input values of a scenario: measured, stated by the user, from a label, or assumed."""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Literal, NamedTuple, cast

import attrs

from moistsim.controls import SETPOINTS, Strategy, TwoControls
from moistsim.scenario.names import covers, quoted
from moistsim.scenario.origins import is_from_label
from moistsim.scenario.record import Scenario

Origin = Literal["measured", "stated", "label", "assumed"]


class Input(NamedTuple):
    """One input value of a scenario."""

    key: str
    """Dotted name in a scenario file, such as ``house.ach50``."""
    value: Any
    """The value in its SI unit."""
    unit: str | None
    """SI unit, a key of `units.KINDS`; None for a word, a switch or a list."""
    help: str
    origin: Origin
    option: str = ""
    """Name of the option that has this value; empty for values of all options."""

    @property
    def table(self) -> str:
        """Prefix of the key for a value of one option; empty for values of all options."""
        return f"options.{quoted(self.option)}." if self.option else ""


def inputs(scenario: Scenario) -> Iterator[Input]:
    """All input values of a scenario. Machines that all options share appear once, like the house.

    Of an option's own house, only the values appear that differ.

    Examples
    --------
    >>> from moistsim.scenario import DEMO, read_scenario
    >>> values = {item.key: item for item in inputs(read_scenario(DEMO))}
    >>> values["house.shelter"].value, values["house.shelter"].origin
    (3.0, 'assumed')
    """
    study, purchases, terms = scenario.study, scenario.purchases, scenario.terms

    def origin(*names: str) -> Origin:
        # All names stand for the same value; a file may use any of them.
        if any(covers(stem, name) for name in names for stem in scenario.measured):
            return "measured"
        if any(covers(stem, name) for name in names for stem in scenario.stated):
            return "stated"
        # The stages of a table with a label share its values.
        if any(re.sub(r"\[\d+\]", "", name) in scenario.stated for name in names):
            return "stated"
        return "label" if any(is_from_label(name, scenario.labels) for name in names) else "assumed"

    def of(described: Any, stem: str, elsewhere: Iterable[str] = ()) -> Iterator[Input]:
        for field in attrs.fields(type(described)):
            others = [f"{other}.{field.name}" for other in elsewhere]
            value = getattr(described, field.name)
            if value is None:
                # A space has values by its kind where none is stated.
                value = getattr(getattr(described, "practice", None), field.name, None)
            yield from of_value(value, field.metadata, f"{stem}.{field.name}", others)

    def of_value(
        value: Any, metadata: Mapping[str, Any], name: str, others: list[str]
    ) -> Iterator[Input]:
        if value is None:
            return
        if "part" not in metadata:
            unit = metadata.get("unit")
            yield Input(name, value, unit, metadata.get("help", ""), origin(name, *others))
        elif isinstance(value, tuple):
            for number, item in enumerate(value, 1):
                at = f"[{number}]"
                yield from of(item, name + at, [other + at for other in others])
        else:
            yield from of(value, name, others)

    def of_changes(option: str, stem: str) -> Iterator[Input]:
        for change in study.changes(option):
            name = re.sub(r"\.(\d+)\b", r"[\1]", ".".join((stem, *change.path)))
            if change.after is None:
                yield Input(name, "none", None, change.metadata.get("help", ""), origin(name))
            yield from of_value(change.after, change.metadata, name, [])

    yield from of(study.house, "house")
    yield from of(study.tariff, "tariff")
    if study.emissions is not None:
        yield from of(study.emissions, "emissions")
    if terms is not None:
        yield from of(terms, "economics")
    yield from of(study.goal, "goal")
    yield from of(scenario.cure_prices, "cures")
    yield from of(scenario.risk_basis, "risk")
    machines = [option.equipment for option in study.resolved.values()]
    shared = {
        field.name
        for field in attrs.fields(cast(Any, type(machines[0])))
        if all(getattr(it, field.name) == getattr(machines[0], field.name) for it in machines)
    }
    stems = [f"options.{quoted(name)}" for name in study.options]
    for item in of(machines[0], "equipment", [f"{stem}.equipment" for stem in stems]):
        if re.split(r"[.\[]", item.key)[1] in shared:
            yield item
    for stem, (name, option) in zip(stems, study.resolved.items(), strict=True):
        own = [
            item
            for item in of(option.equipment, f"{stem}.equipment", ["equipment"])
            if re.split(r"[.\[]", item.key.removeprefix(f"{stem}.equipment."))[0] not in shared
        ]
        own += _of_strategy(option.strategy, stem, origin)
        own += of_changes(name, f"{stem}.house")
        if name in purchases:
            own += of(purchases[name], f"{stem}.purchase")
        yield from (item._replace(option=name) for item in own)


def _of_strategy(strategy: Strategy, stem: str, origin: Any) -> Iterator[Input]:
    if isinstance(strategy, TwoControls):
        yield from _of_strategy(strategy.main, stem, origin)
        yield from _of_strategy(strategy.second, f"{stem}.second", origin)
        return
    for key, value in strategy.settings.items():
        name = f"{stem}.setpoints.{key}"
        # The thresholds of a rule table stand in its rows.
        names = (name,) if key in SETPOINTS else (name, f"{stem}.rules")
        yield Input(name, value, strategy.units.get(key), "setpoint of the control", origin(*names))
