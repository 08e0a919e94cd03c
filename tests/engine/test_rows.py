"""Rows of tables, compiled and as plain Python: the two say the same thing in two languages."""

from typing import Any, NamedTuple

import numba
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from moistsim.engine.records import StageParameters
from moistsim.engine.rows import adder, compiled_type, flat, interpolator, reader, writer

pytestmark = pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="nothing compiles")


class Pair(NamedTuple):
    """Two numbers."""

    left: float
    right: float


class Nest(NamedTuple):
    """Numbers, and pairs of them."""

    first: Pair
    between: float
    last: Pair


TABLES = arrays(float, (4, 5), elements=st.floats(-1e6, 1e6))
ROWS, SHARES = st.integers(0, 3), st.floats(0.0, 1.0)

read_pair, read_nest = reader(Pair), reader(Nest)
between = interpolator(Pair)
write, write_on = writer(), writer(2)
add = adder(1)
compiled = {
    function: numba.njit(error_model="numpy")(wrapper)
    for function, wrapper in {
        read_pair: lambda table, row: read_pair(table, row),
        read_nest: lambda table, row: read_nest(table, row),
        between: lambda table, row, other, share: between(table, row, other, share),
        write: lambda table, row, values: write(table, row, values),
        write_on: lambda table, row, values: write_on(table, row, values),
        add: lambda table, row, values: add(table, row, values),
    }.items()
}


@given(TABLES, ROWS)
def test_what_stands_in_a_row_is_read(table: Any, row: int) -> None:
    assert read_pair(table, row) == compiled[read_pair](table, row) == Pair(*table[row, :2])
    nest = compiled[read_nest](table, row)
    assert nest == read_nest(table, row)
    assert nest == Nest(Pair(*table[row, :2]), table[row, 2], Pair(*table[row, 3:]))
    assert flat(nest) == table[row].tolist()


@given(TABLES, ROWS, ROWS, SHARES)
def test_between_two_rows_is_on_the_line(table: Any, row: int, other: int, share: float) -> None:
    pairs = table[:, :2].copy()
    found = compiled[between](pairs, row, other, share)
    assert found == between(pairs, row, other, share)
    assert compiled[between](pairs, row, other, 0.0) == Pair(*pairs[row])
    a, b = pairs[row], pairs[other]
    assert found == pytest.approx((1.0 - share) * a + share * b, rel=1e-9, abs=1e-9)


@given(TABLES, ROWS, st.tuples(*[st.floats(-1e6, 1e6)] * 3))
def test_what_is_written_stands_in_its_columns_alone(
    table: Any, row: int, values: tuple[float, ...]
) -> None:
    for function, first in ((write, 0), (write_on, 2)):
        plain, machine = table.copy(), table.copy()
        function(plain, row, values)
        compiled[function](machine, row, values)
        expected = table.copy()
        expected[row, first : first + 3] = values
        np.testing.assert_array_equal(plain, expected)
        np.testing.assert_array_equal(machine, expected)


@given(TABLES, ROWS, st.tuples(*[st.floats(-1e6, 1e6)] * 3))
def test_what_is_added_is_added_to_its_columns_alone(
    table: Any, row: int, values: tuple[float, ...]
) -> None:
    plain, machine = table.copy(), table.copy()
    add(plain, row, values)
    compiled[add](machine, row, values)
    expected = table.copy()
    expected[row, 1:4] += values
    np.testing.assert_array_equal(plain, expected)
    np.testing.assert_array_equal(machine, expected)


def test_types_are_those_that_numba_gives_the_tuples() -> None:
    stage = StageParameters(*(0.0 for _ in StageParameters._fields))
    for values in (stage, Pair(1.0, 2.0), Nest(Pair(1.0, 2.0), 3.0, Pair(4.0, 5.0))):
        assert compiled_type(type(values)) == numba.typeof(values)
