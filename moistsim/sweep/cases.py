"""Cases of a sweep: the points of its sample, with dependent values, and only those to keep."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.engine import column_catalog
from moistsim.sensitivity import Sample, points
from moistsim.sweep.varied import Varied

if TYPE_CHECKING:
    import pyarrow


class Cases:
    """The cases that a sweep runs.

    Parameters
    ----------
    varied : Varied
    numbered : iterator
        Numbers of cases, with a value for each of `varied.sides`.
    dependent, keep : callable, optional
        As for `Sweep`.

    Attributes
    ----------
    table : pandas.DataFrame
        One row a case by its number, in SI and by label.

    Raises
    ------
    InputError
        If `dependent` gives an invalid value, or `keep` keeps no case.
    """

    def __init__(
        self,
        varied: Varied,
        numbered: Iterator[tuple[int, tuple[Any, ...]]],
        dependent: Callable[[dict[str, Any]], Mapping[str, Any]] | None,
        keep: Callable[[dict[str, Any]], bool] | None,
    ) -> None:
        numbers: list[int] = []
        columns: dict[str, list[Any]] = {name: [] for name in varied.sides}
        for number, point in numbered:
            case = dict(zip(varied.sides, point, strict=True))
            if dependent is not None:
                case |= varied.followed(number, dependent(dict(case)))
            if keep is not None and not keep(dict(case)):
                continue
            for name in case:
                if name not in columns:
                    columns[name] = [None] * len(numbers)
            for name, column in columns.items():
                column.append(case.get(name))
            numbers.append(number)
        if not numbers:
            raise InputError(
                "Sweep.keep", Problem("not one case that it keeps"), "True for some of them"
            )
        self.kinds = {name: varied.kind(name) for name in columns}
        self.units = {
            name: varied.parameters[name].unit or ""
            for name, kind in self.kinds.items()
            if kind == "number"
        }
        self.table = pd.DataFrame(
            {
                name: pd.Series(
                    column, index=numbers, dtype=float if name in self.units else object
                )
                for name, column in columns.items()
            },
            index=pd.Index(numbers, name="case"),
        )

    def __len__(self) -> int:
        return len(self.table)

    def number(self, position: int) -> int:
        """Number of the case at a position in the table."""
        return int(self.table.index[position])

    def values(self, position: int) -> dict[str, Any]:
        """Values of one case. All others are those of the base study."""
        row: dict[str, Any] = {
            str(name): column.iat[position] for name, column in self.table.items()
        }
        return {
            name: float(value) if name in self.units else value
            for name, value in row.items()
            if value is not None and value == value
        }

    def of(self, case: Any, where: str) -> dict[str, Any]:
        """Values of the case with a number.

        Raises
        ------
        InputError
            If no case has this number.
        """
        numbers = self.table.index
        if isinstance(case, bool) or not isinstance(case, int | np.integer) or case not in numbers:
            accepted = f"the number of one of the {len(self):,} cases, such as {numbers[0]}"
            raise InputError(where, case, accepted)
        return self.values(int(numbers.get_indexer(pd.Index([case]))[0]))

    def missing(self, done: set[int]) -> list[int]:
        """Positions of the cases to run, with those of one house and weather next to each other."""
        shared = [c for c in self.kinds if c == "weather" or c.startswith("house") or ".house" in c]
        order = self.table[shared].reset_index(drop=True)
        order = order.sort_values(shared, kind="stable") if shared else order
        numbers = self.table.index.to_numpy()
        return [int(k) for k in order.index if int(numbers[k]) not in done]

    def schema(self, results: tuple[str, ...]) -> "pyarrow.Schema":
        """Columns of the sweep's frame, which has one row per case and option."""
        import pyarrow

        kinds = {"number": pyarrow.float64(), "switch": pyarrow.bool_()}
        columns = {
            "case": pyarrow.int64(),
            **{name: kinds.get(kind, pyarrow.string()) for name, kind in self.kinds.items()},
            "option": pyarrow.string(),
            **dict.fromkeys(results, pyarrow.float64()),
            "status": pyarrow.string(),
        }
        units = units_of(results, self.units)
        return pyarrow.schema(
            pyarrow.field(name, kind, metadata={"unit": units[name]} if name in units else None)
            for name, kind in columns.items()
        )


def units_of(columns: Iterable[str], parameters: Mapping[str, str]) -> dict[str, str]:
    """The SI unit of each column of numbers whose unit is known, as the unit registry reads it.

    Parameters
    ----------
    columns : iterable of str
        Names of columns of the frame.
    parameters : dict
        Units of the varied numbers.
    """
    units = dict(parameters)
    for name in columns:
        measure = column_catalog.measure(name)
        if measure is not None and name not in units:
            # Electricity and gas have one unit.
            units[name] = measure.unit.removesuffix(" gas").removesuffix(" electric")
    return {name: unit for name, unit in units.items() if unit}


def sampled(
    varied: Varied, sample: Sample | pd.DataFrame, n: int | None, seed: int
) -> Iterator[tuple[int, tuple[Any, ...]]]:
    """Number and values of each case, in the order of the names that vary."""
    sides = [*varied.sides.values()]
    if not isinstance(sample, pd.DataFrame):
        return enumerate(points(sides, sample, n, seed))
    numbers = [int(number) for number in sample.index]
    return zip(numbers, zip(*sides, strict=True), strict=True)
