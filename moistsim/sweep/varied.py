"""The names that a sweep varies, and the values of each."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.units import Stated
from moistsim.core.whole_numbers import MOST_CASES
from moistsim.sensitivity import DISTRIBUTIONS, Distribution, distribution_of, in_si
from moistsim.study import Study
from moistsim.sweep.paths import Parameter, find
from moistsim.weather import Weather


class Varied:
    """Dotted names into a study, each with its values.

    Parameters
    ----------
    base : Study

    Attributes
    ----------
    parameters : dict of Parameter
        By name.
    sides : dict
        Distributions in SI or tuples of values, by name, except names that only `dependent` gave.
    labels : dict of dict
        By name, the values that go by a label.
    """

    def __init__(self, base: Study) -> None:
        self.base = base
        self.parameters: dict[str, Parameter] = {}
        self.sides: dict[str, Distribution | tuple[Any, ...]] = {}
        self.labels: dict[str, dict[str, Any]] = {}

    def kind(self, name: str) -> str:
        """Kind of a parameter in a table: `Parameter.kind`, or a text for values with labels."""
        return "text" if name in self.labels else self.parameters[name].kind

    def read(self, name: str, values: Any) -> None:
        """Read a name with its values or its range.

        Raises
        ------
        InputError
            If the study has no such name, or a value is invalid.
        """
        parameter = self.parameters[name] = find(self.base, name)
        where = f"Sweep {name!r}"
        values = distribution_of(values, where)
        if isinstance(values, DISTRIBUTIONS):
            if parameter.kind != "number":
                raise InputError(
                    where, Problem("a range"), "a list or a dict of values: it is no number"
                )
            self.sides[name] = in_si(values, parameter.read, parameter.unit, where)
            return
        if isinstance(values, np.ndarray | pd.Series | pd.Index | range):
            values = _listed(values, where)
        if name == "weather" and isinstance(values, list | tuple):
            values = _by_name([parameter.read(value) for value in values])
        if isinstance(values, Mapping) and values:
            self.labels[name] = {str(key): parameter.read(v) for key, v in values.items()}
            self.sides[name] = tuple(self.labels[name])
            return
        if not isinstance(values, list | tuple) or not values:
            raise InputError(
                where,
                values,
                "a list of values, ms.uniform(low, high) or a dict by label",
            )
        if parameter.kind == "whole":
            raise InputError(where, Problem("a list"), "a dict, whose labels stand in the tables")
        if any(value is None for value in values):
            raise InputError(where, None, "values; nothing at all only in a dict, by a label")
        self.sides[name] = tuple(parameter.read(value) for value in values)

    def read_cases(self, cases: pd.DataFrame, vary: Mapping[str, Any]) -> None:
        """Read the cases of a frame, after the labels of their values.

        Raises
        ------
        InputError
        """
        where = "Sweep.sample"
        if cases.empty:
            raise InputError(
                where, Problem("a frame of no case"), "a case a row, a dotted name a column"
            )
        if len(cases) > MOST_CASES:
            raise InputError(
                where, Problem(f"a frame of {len(cases):,} cases"), f"at most {MOST_CASES:,} cases"
            )
        for what, labels in (("case", cases.index), ("column", cases.columns)):
            if not labels.is_unique:
                raise InputError(
                    where, Problem(f"{what} {labels[labels.duplicated()][0]} twice"), "one"
                )
        numbers = cases.index
        if not pd.api.types.is_integer_dtype(numbers) or numbers.min() < 0:
            raise InputError(
                where, Problem(f"cases by {numbers[0]!r}..."), "cases by whole numbers from 0"
            )
        for name, labeled in vary.items():
            if name not in cases:
                raise InputError(
                    f"Sweep.vary[{name!r}]", Problem("no such column in the frame"), "one"
                )
            self.read(name, labeled)
        for label, column in cases.items():
            name = str(label)
            where = f"Sweep.sample[{name!r}]"
            parameter = self.parameters[name] = find(self.base, label)
            if any(isinstance(value, Weather) for value in column):
                raise InputError(
                    where, Problem("weathers"), "labels, and vary={'weather': {label: ...}}"
                )
            if parameter.kind == "whole" and name not in self.labels:
                raise InputError(where, column.iat[0], f"labels that vary[{name!r}] has by a dict")
            values = []
            for number, value in column.items():
                try:
                    if pd.isna(value):
                        value = None
                    elif name not in self.labels:
                        # Drawn or computed in the unit of the field: nobody typed it.
                        drawn = Stated(value) if isinstance(value, float) else value
                        value = parameter.read(drawn)
                    elif value not in self.labels[name]:
                        raise InputError(where, value, one_of(str(value), self.labels[name]))
                except InputError as error:
                    at = f"{where}, case {number}"
                    raise InputError(at, error.found, error.accepted, error.problem) from None
                values.append(value)
            self.sides[name] = tuple(values)

    def followed(self, number: int, more: Any) -> dict[str, Any]:
        """Read the values that `dependent` returned.

        Raises
        ------
        InputError
        """
        where = f"Sweep.dependent of case {number}"
        if not isinstance(more, Mapping):
            raise InputError(where, more, "a dict of values by dotted name")
        read = {}
        for name, value in more.items():
            if name in self.labels:
                if value not in self.labels[name]:
                    raise InputError(where, value, one_of(str(value), self.labels[name]))
                read[name] = value
                continue
            if name not in self.parameters:
                self.parameters[name] = find(self.base, name)
            if self.parameters[name].kind == "whole":
                raise InputError(where, name, "the name of a number, a text or a switch")
            try:
                read[name] = self.parameters[name].read(value)
            except InputError as error:
                raise InputError(
                    f"{where}, {name!r}", error.found, error.accepted, error.problem
                ) from None
        return read


def _listed(values: Any, where: str) -> list[Any]:
    """Values of an array or a Series as a list, of which none is empty."""
    if getattr(values, "ndim", 1) != 1:
        raise InputError(where, Problem(f"an array of {values.ndim} dimensions"), "one dimension")
    listed = [*values]
    if not listed:
        raise InputError(where, Problem("an array without values"), "one value or more")
    for position, value in enumerate(listed):
        if pd.api.types.is_scalar(value) and pd.isna(value):
            raise InputError(where, Problem(f"no value at position {position}"), "a value each")
    return [int(value) if isinstance(value, np.integer) else value for value in listed]


def _by_name(weathers: list[Weather]) -> dict[str, Weather]:
    """Weathers by their names, with the checksum where names repeat."""
    names = [weather.name or weather.checksum for weather in weathers]
    return {
        name if names.count(name) == 1 else f"{name} ({weather.checksum})": weather
        for name, weather in zip(names, weathers, strict=True)
    }
