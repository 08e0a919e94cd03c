"""Named tuples of floats in the rows of tables: read, written and added to as a whole.

numba types and lowers each of the hundreds of ``table[row, j]`` in the loop anew, which costs about
12 % of a cold compile. The functions made here therefore declare their own machine code: a load or
store for each field. In plain Python they run as written.
"""

import inspect
from collections.abc import Callable, Iterator
from itertools import count
from typing import Any

import numpy as np
from numba import types
from numba.core.cgutils import get_item_pointer
from numba.extending import lower_builtin, type_callable
from numba.np.arrayobj import make_array
from numpy.typing import NDArray


def compiled_type(kind: Any) -> Any:
    """Type in numba of a float, or of a named tuple of floats or of such tuples."""
    if kind is float:
        return types.float64
    parts = [compiled_type(part) for part in kind.__annotations__.values()]
    if set(parts) == {types.float64}:
        return types.NamedUniTuple(types.float64, len(parts), kind)
    return types.NamedTuple(parts, kind)


def flat(values: Any) -> list[float]:
    """Floats of a named tuple, nested ones included, in their order."""
    if isinstance(values, tuple):
        return [number for part in values for number in flat(part)]
    return [values]


def _built(kind: Any, numbers: Iterator[Any]) -> Any:
    """Named tuple of a kind, from its floats in the order of `flat`."""
    if kind is float:
        return next(numbers)
    return kind(*(_built(part, numbers) for part in kind.__annotations__.values()))


def _cells(
    context: Any, builder: Any, table_type: Any, table: Any, row: Any, first: Any = 0
) -> Iterator[Any]:
    """Pointers to a row's cells, from the column `first` on."""
    array = make_array(table_type)(context, builder, table)
    place = [row, row.type(first) if isinstance(first, int) else first]
    start = get_item_pointer(context, builder, table_type, array, place)
    return (builder.gep(start, [row.type(j)], inbounds=True) for j in count())


def _compiles_into(
    function: Any, result: Any, *arguments: Any
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Declare a function's type in compiled code, and decorate the one that builds its code."""

    def type_of(*_: Any) -> Any:
        return result

    type_of.__signature__ = inspect.signature(function)  # type: ignore[attr-defined]
    type_callable(function)(lambda _: type_of)
    return lower_builtin(function, *arguments)  # type: ignore[no-any-return]


def _loaded(context: Any, builder: Any, kind: Any, cells: Iterator[Any]) -> Any:
    """Code that loads a named tuple of a kind from cells."""
    if kind is float:
        return builder.load(next(cells))
    parts = [_loaded(context, builder, part, cells) for part in kind.__annotations__.values()]
    return context.make_tuple(builder, compiled_type(kind), parts)


def reader(kind: Any) -> Callable[[NDArray[np.float64], int], Any]:
    """Function of a table and a row that reads the row as a named tuple of the kind."""

    def read_row(table: NDArray[np.float64], row: int) -> Any:
        return _built(kind, iter(table[row]))

    @_compiles_into(read_row, compiled_type(kind), types.Array, types.Integer)
    def lowered(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        table, row = arguments
        return _loaded(
            context, builder, kind, _cells(context, builder, signature.args[0], table, row)
        )

    return read_row


def reader_from(kind: Any) -> Callable[[NDArray[np.float64], int, int], Any]:
    """Function of a table, a row and a column that reads a named tuple from that column on."""

    def read_from(table: NDArray[np.float64], row: int, first: int) -> Any:
        return _built(kind, iter(table[row, first:]))

    @_compiles_into(read_from, compiled_type(kind), types.Array, types.Integer, types.Integer)
    def lowered(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        table, row, first = arguments
        cells = _cells(context, builder, signature.args[0], table, row, first)
        return _loaded(context, builder, kind, cells)

    return read_from


def interpolator(kind: Any) -> Callable[[NDArray[np.float64], int, int, float], Any]:
    """Function of a table, two rows and a share that interpolates a named tuple between them."""

    def between_rows(table: NDArray[np.float64], row: int, other: int, share: float) -> Any:
        low, high = table[row], table[other]
        return kind(*(low + share * (high - low))[: len(kind._fields)])

    @_compiles_into(
        between_rows, compiled_type(kind), types.Array, types.Integer, types.Integer, types.Float
    )
    def lowered(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        table, row, other, share = arguments
        lows, highs = (
            _cells(context, builder, signature.args[0], table, place) for place in (row, other)
        )
        fields = []
        for _ in kind._fields:
            low, high = builder.load(next(lows)), builder.load(next(highs))
            rise = builder.fmul(share, builder.fsub(high, low))
            fields.append(builder.fadd(low, rise))
        return context.make_tuple(builder, compiled_type(kind), fields)

    return between_rows


def writer(first: int = 0) -> Callable[[NDArray[np.float64], int, Any], None]:
    """Function of a table, a row and a tuple of floats that writes them from a column on."""

    def write_row(table: NDArray[np.float64], row: int, values: Any) -> None:
        table[row, first : first + len(values)] = values

    @_compiles_into(write_row, types.void, types.Array, types.Integer, types.BaseTuple)
    def lowered(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        table, row, values = arguments
        cells = _cells(context, builder, signature.args[0], table, row, first)
        for j in range(len(signature.args[2])):
            builder.store(builder.extract_value(values, j), next(cells))
        return context.get_dummy_value()

    return write_row


def write_from(table: NDArray[np.float64], row: int, first: int, values: Any) -> None:
    """Write a tuple of floats to a row of a table, from a column on."""
    table[row, first : first + len(values)] = values


@_compiles_into(write_from, types.void, types.Array, types.Integer, types.Integer, types.BaseTuple)
def _lowered_write(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
    table, row, first, values = arguments
    cells = _cells(context, builder, signature.args[0], table, row, first)
    for j in range(len(signature.args[3])):
        builder.store(builder.extract_value(values, j), next(cells))
    return context.get_dummy_value()


def add_from(table: NDArray[np.float64], row: int, first: int, values: Any) -> None:
    """Add a tuple of floats to the cells of a row of a table, from a column on."""
    table[row, first : first + len(values)] += values


@_compiles_into(add_from, types.void, types.Array, types.Integer, types.Integer, types.BaseTuple)
def _lowered_add(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
    table, row, first, values = arguments
    cells = _cells(context, builder, signature.args[0], table, row, first)
    for j, cell in zip(range(len(signature.args[3])), cells, strict=False):
        builder.store(builder.fadd(builder.load(cell), builder.extract_value(values, j)), cell)
    return context.get_dummy_value()


def adder(first: int) -> Callable[[NDArray[np.float64], int, Any], None]:
    """Function of a table, a row and a tuple of floats that adds them to columns from `first`."""

    def add_to_row(table: NDArray[np.float64], row: int, values: Any) -> None:
        table[row, first : first + len(values)] += values

    @_compiles_into(add_to_row, types.void, types.Array, types.Integer, types.BaseTuple)
    def lowered(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        table, row, values = arguments
        cells = _cells(context, builder, signature.args[0], table, row, first)
        for j, cell in zip(range(len(signature.args[2])), cells, strict=False):
            builder.store(builder.fadd(builder.load(cell), builder.extract_value(values, j)), cell)
        return context.get_dummy_value()

    return add_to_row
