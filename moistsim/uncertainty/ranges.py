"""Ranges of uncertain inputs by dotted name: checked, drawn, and put into purchases and terms.

Names are those of a sweep (`Sweep`), plus ``options.NAME.purchase.`` with a field of `Purchase` and
``economics.`` with a field of `Terms`.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

import attrs
import pandas as pd

from moistsim.core.changes import changed
from moistsim.core.errors import InputError, Problem
from moistsim.prices import Purchase, Terms
from moistsim.sensitivity import DISTRIBUTIONS, Distribution, distribution_of, in_si, points
from moistsim.study import Study
from moistsim.sweep import Parameter, find, find_field, varied
from moistsim.uncertainty.stand_ins import StandIn, other_years, stand_ins
from moistsim.weather import Weather

MEASURED = "measured house"
"""Name of the input that chooses a draw of a measured house."""
if TYPE_CHECKING:
    from moistsim.uncertainty.measured import Draws

Uncertain = Distribution | Mapping[str, Weather] | Mapping[int, int]
"""The distribution of a value, equally likely weathers by label, or draws of a measured house."""

_WHOLE = ("life", "years")
"""Fields in whole years, for which a drawn value is rounded."""


def find_input(
    study: Study, purchases: Mapping[str, Purchase], terms: Terms | None, name: Any
) -> Parameter:
    """Find the parameter of a study, its purchases or its terms by a dotted name.

    Raises
    ------
    InputError
        If there is no such parameter. The error suggests a close name.
    """
    option, field = _of_purchase(name, purchases)
    if option is not None:
        return find_field(name, purchases[option], field)
    if isinstance(name, str) and name.startswith("economics."):
        return find_field(name, terms or Terms(), name.removeprefix("economics."))
    try:
        return find(study, name)
    except InputError as error:
        accepted = error.accepted
        if isinstance(name, str) and ".purchase" in name:
            accepted = "options.NAME.purchase... of an option with a purchase"
        elif accepted.startswith("one of 'house'"):
            accepted += ", 'economics'"
        raise InputError(error.where, error.found, accepted, error.problem) from None


def _of_purchase(name: Any, purchases: Mapping[str, Purchase]) -> tuple[str | None, str]:
    """The option and the field in the name of a purchase."""
    # Longer names first, because one name may be the start of another.
    for option in sorted(purchases, key=len, reverse=True):
        if isinstance(name, str) and name.startswith(f"options.{option}.purchase."):
            return option, name.removeprefix(f"options.{option}.purchase.")
    return None, ""


def is_money(name: str) -> bool:
    """Whether a name belongs to a purchase or the terms, which need no simulation."""
    return name.startswith("economics.") or (name.startswith("options.") and ".purchase." in name)


def _is_whole(name: str) -> bool:
    return is_money(name) and name.rpartition(".")[2] in _WHOLE


def rounded(name: str, value: float) -> float:
    """A drawn value; lives are rounded to whole years."""
    return max(round(value), 1.0) if _is_whole(name) else value


_WORDS = {
    "ach50": "air leakage",
    "shr": "sensible heat ratio",
    "cop": "coefficient of performance",
    "occupants": "number of occupants",
    "moisture": "household moisture",
    "tariff.price": "electricity price",
    "weather": "weather year",
    **{
        f"house.envelope.window_to_wall_ratio.{side}": f"window-to-wall ratio of the {side} wall"
        for side in ("front", "back", "left", "right")
    },
}
"""Words for names that are not plain English."""
_ROOTS = ("house", "weather", "tariff", "equipment", "strategy", "options", "economics")


def in_words(name: str) -> str:
    """A dotted name in plain words.

    Examples
    --------
    >>> in_words("options.Dehumidifier.purchase.first_cost"), in_words("house.ach50")
    ('first cost of Dehumidifier', 'air leakage')
    """
    if name.partition(".")[0] not in _ROOTS:
        return name  # a stand-in, which has words for a name
    option, rest = "", name
    for part in (".purchase.", ".equipment.", ".strategy.", ".house."):
        if name.startswith("options.") and part in name:
            option, _, rest = name.removeprefix("options.").partition(part)
            rest = f"{part[1:]}{rest}"
            break
    keys = rest.split(".")
    text = _WORDS.get(rest) or _WORDS.get(keys[-1]) or keys[-1].replace("_", " ")
    of = [option] if option else []
    if keys[0] == "equipment" and len(keys) > 2:
        stage = f", stage {keys[3]}" if keys[2:3] == ["stages"] else ""
        of = [keys[1].replace("_", " ") + stage, *([] if keys[1] in option else of)]
    return " of ".join([text, *of])


SOURCES = (
    "weather year", "machine coefficients", "house description", "setpoints", "humidity sensor",
    "deadbands", "fan-off delay", "ventilation delivered", "prices",
)  # fmt: skip
"""Kinds of error sources, without the time step."""


def source_of(name: str) -> str:
    """The error source of `SOURCES` that a dotted name belongs to."""
    if name == "weather":
        return "weather year"
    if is_price(name):
        return "prices"
    if name.startswith("house") or (name.startswith("options.") and ".house." in name):
        return "house description"
    last = name.rpartition(".")[2].removeprefix("second_")
    for source, is_it in (
        (
            "deadbands",
            last.endswith("deadband") or last.startswith(("stage_1_", "stage_2_", "enable_over")),
        ),
        ("humidity sensor", ".sensor.humidity_" in name),
        ("fan-off delay", last == "fan_off_delay"),
        ("ventilation delivered", name.endswith("equipment.ventilation.airflow")),
        ("setpoints", "strategy." in name or ".enable." in name or last == "humidistat"),
    ):
        if is_it:
            return source
    return "machine coefficients"


def is_price(name: str) -> bool:
    """Whether a name belongs to the tariff, a purchase or the terms."""
    return is_money(name) or name.startswith("tariff.")


class Inputs(NamedTuple):
    """Uncertain inputs, in SI."""

    ranges: dict[str, Uncertain]
    units: dict[str, str]
    """SI unit of each number, by name."""
    stand_ins: Mapping[str, StandIn] = {}
    """Stand-ins among them, by name; their numbers are shifts."""
    draws: "Draws | None" = None
    """Joint draws of a measured house; each case takes one of them."""

    @property
    def labels(self) -> dict[str, Mapping[str, Any]]:
        """Descriptions behind labels, by the name of their column: weathers, and parts of draws."""
        return {"weather": self.weathers(), **({} if self.draws is None else self.draws.labels)}

    def with_draws(self, draws: "Draws | None") -> "Inputs":
        """These inputs, with joint draws in place of the ranges of the same values."""
        if draws is None:
            return self
        ranges = {name: of for name, of in self.ranges.items() if name not in draws.names}
        ranges[MEASURED] = {row: row for row in range(len(draws.table))}
        units = {name: unit for name, unit in self.units.items() if name in ranges}
        return self._replace(ranges=ranges, units=units | draws.units, draws=draws)

    @property
    def drawn_together(self) -> list[str]:
        """Dotted names of the values of a measured house."""
        return [] if self.draws is None else self.draws.names

    def weathers(self) -> dict[str, Weather]:
        """Equally likely weathers by label; empty if the weather is certain."""
        found: Any = self.ranges.get("weather", {})
        return dict(found) if isinstance(found, Mapping) else {}

    def draw(self, n: int, seed: int) -> pd.DataFrame:
        """Draw cases, one column for each name, from a scrambled Sobol sequence.

        The first cases stay the same when more cases are drawn.
        """
        sides = [of if isinstance(of, DISTRIBUTIONS) else tuple(of) for of in self.ranges.values()]
        table = pd.DataFrame(points(sides, "sobol", n, seed), columns=pd.Index([*self.ranges]))
        for name in table:
            if _is_whole(str(name)):
                table[name] = [rounded(str(name), value) for value in table[name]]
        table.index.name = "case"
        if self.draws is not None:
            numbers = self.draws.numbers.iloc[table[MEASURED].to_numpy(int)]
            table = table.join(numbers.set_axis(table.index))
        return table

    def moved(self, drawn: pd.DataFrame) -> pd.DataFrame:
        """The drawn cases, with the values that stand-ins move in their place, by dotted name."""
        table = drawn.drop(columns=[*self.stand_ins])
        if self.draws is not None:
            rows = self.draws.table.iloc[table[MEASURED].to_numpy(int)]
            table = table.drop(columns=[MEASURED, *self.draws.names])
            table = table.join(rows.set_axis(table.index))
        more: dict[str, Any] = {}
        for name, made in self.stand_ins.items():
            for moved, (value, change) in made.moves.items():
                # Two causes may move one value, such as a setpoint and its deadband.
                more[moved] = more.get(moved, value) + change * drawn[name]
        return table.join(pd.DataFrame(more, index=table.index))

    def sources_of(self, name: str) -> set[str]:
        """The error sources of `SOURCES` that an input belongs to."""
        if name == MEASURED:
            return set(map(source_of, self.drawn_together))
        return {self.stand_ins[name].source if name in self.stand_ins else source_of(name)}

    def with_stand_ins(self, study: Study, purchases: Mapping[str, Purchase]) -> "Inputs":
        """These inputs, and a stand-in for everything else that is uncertain."""
        made = stand_ins(study, purchases, {**self.ranges, **dict.fromkeys(self.drawn_together)})
        ranges = {**self.ranges, **{name: it.distribution for name, it in made.items()}}
        if not self.weathers():
            ranges["weather"] = other_years(study.weather, many=True)
        units = {**self.units, **{name: it.unit for name, it in made.items()}}
        return self._replace(ranges=ranges, units=units, stand_ins=made)


def uncertain_inputs(
    study: Study,
    purchases: Mapping[str, Purchase],
    terms: Terms | None,
    ranges: Mapping[str, Any],
    where: str,
) -> Inputs:
    """Check ranges and convert them to SI.

    Parameters
    ----------
    study, purchases, terms
        The descriptions with the named values.
    ranges : dict
        By dotted name: a distribution or, for the weather, a list or dict of weathers.
    where : str
        Name of the caller, for errors.

    Raises
    ------
    InputError
        If there is no such name, or its range cannot be used.
    """
    read: dict[str, Uncertain] = {}
    units = {}
    for name, of in ranges.items():
        at = f"{where} ranges[{name!r}]"
        try:
            parameter = find_input(study, purchases, terms, name)
            if name == "weather":
                read[name] = _weathers(of, at)
                continue
            of = distribution_of(of, at)
            if not isinstance(of, DISTRIBUTIONS):
                accepted = "ms.normal(mean, deviation), ms.uniform(low, high), ms.triangular(...) or a distribution of scipy.stats"
                raise InputError(at, of, accepted)
            if parameter.kind != "number":
                raise InputError(at, Problem("a range"), "none: it is no number")

            def read_whole(value: Any, name: str = name, parameter: Parameter = parameter) -> Any:
                """A value that is valid with all other values as they are."""
                taken = parameter.read(value)
                if is_money(name):
                    priced(purchases, terms or Terms(), {name: rounded(name, taken)})
                else:
                    for _, made in varied(study, {name: taken}):
                        if isinstance(made, InputError):
                            raise made
                return taken

            read[name] = in_si(of, read_whole, parameter.unit, at)
            units[name] = parameter.unit or ""
        except InputError as error:
            raise InputError(at, error.found, error.accepted, error.problem) from None
    return Inputs(read, units)


def _weathers(of: Any, where: str) -> dict[str, Weather]:
    if isinstance(of, list | tuple):
        names = [getattr(one, "name", "") or getattr(one, "checksum", "") for one in of]
        alike = [name if names.count(name) == 1 else f"{name} {k}" for k, name in enumerate(names)]
        of = dict(zip(alike, of, strict=True))
    found = {str(label): weather for label, weather in of.items()} if hasattr(of, "items") else {}
    if not found or not all(isinstance(weather, Weather) for weather in found.values()):
        raise InputError(where, of, "a list of Weather, or a dict of them by label")
    return found


def priced(
    purchases: Mapping[str, Purchase], terms: Terms, values: Mapping[str, float]
) -> tuple[dict[str, Purchase], Terms]:
    """Purchases and terms that contain the values, by dotted name in SI.

    Other names are not read.

    Raises
    ------
    InputError
        If a value is invalid.
    """
    by_option: dict[str, dict[tuple[str, ...], float]] = {}
    own: dict[tuple[str, ...], float] = {}
    for name, value in values.items():
        if value != value:
            continue  # An empty cell keeps the value.
        option, field = _of_purchase(name, purchases)
        if option is not None:
            by_option.setdefault(option, {})[tuple(field.split("."))] = value
        elif name.startswith("economics."):
            own[tuple(name.removeprefix("economics.").split("."))] = value
    changed_terms: Any = changed(terms, own)
    return {
        option: changed(purchase, by_option[option]) if option in by_option else purchase
        for option, purchase in purchases.items()
    }, changed_terms


def restricted(study: Study, options: tuple[str, ...]) -> Study:
    """The study with these options only, compared with the last of them."""
    chosen: Any = {option: study.options[option] for option in options}
    only: Study = attrs.evolve(study, options=chosen, base=options[-1])
    return only
