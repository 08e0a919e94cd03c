"""A control from outside the package cannot end the process, and what it does wrong is said."""

import os
import pickle
import subprocess
import sys
import textwrap
import threading
import types
from pathlib import Path
from typing import Any

import numba
import numpy as np
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.controls.failing import carrying
from moistsim.controls.interpreted import ByNumber

AT_FOUR = ms.Readings(**dict.fromkeys(ms.Readings._fields, 1.0) | {"hour": 16.51, "day": 196.0})


def made(body: str, **names: Any) -> ms.Strategy:
    """A strategy `mine` of that body, after which it makes no call."""
    scope = {"np": np, "numba": numba, "ms": ms, "__name__": "made", **names}
    lines = textwrap.indent(textwrap.dedent(body), "    ")
    exec(f"def mine(readings, memory):\n{lines}\n    return ms.Calls(cooling=memory[0])", scope)
    return ms.strategy(scope["mine"])


def called(strategy: ms.Strategy, readings: ms.Readings = AT_FOUR) -> Any:
    """Calls of a strategy as a run gets them."""
    with carrying():
        return strategy.compiled(readings, np.zeros(16), np.zeros(0))


BEYOND = {
    "memory[20] = 1.0": "memory[20] at 16:30 on day 196, but its memory has 16 places",
    "memory[0] = memory[-17]": "memory[-17] at 16:30",
    "memory[int(readings.hour)] += 1.0": "memory[16] at 16:30",
    "memory[10**9] = 1.0": "memory[1000000000] at 16:30",
    "for i in range(17): memory[i] = 1.0": "memory[16] at 16:30",
    "memory[int(readings.hour * np.nan)] = 1.0": "cannot convert float NaN to integer",
    "memory[:3] = np.ones(4)": "could not broadcast",
    "three = np.zeros(3); memory[0] = three[int(readings.hour)]": "index 16 is out of bounds",
    "memory[0] = (1.0, 2.0)[int(readings.hour)]": "tuple index out of range",
    "memory[0] = TABLE[int(readings.hour)]": "index 16 is out of bounds",
    "memory[0] = helper(memory, 20)": "memory[20] at 16:30",
    "memory[0] = plain(memory, 20)": "memory[20] at 16:30",
    "memory[0] = own.helper(memory, 20)": "memory[20] at 16:30",
    "memory[0] = 1.0 / memory[1]": "divide by zero",
    "memory[0] = int(memory[1]) // int(memory[2])": "ZeroDivisionError",
    "raise ValueError('no such hour')": "ValueError: no such hour",
    "assert readings.hour < 16.0": "AssertionError",
    "memory[0] = np.empty(int(readings.hour) * 10**13)[0]": "MemoryError",
    "memory[0] = readings.hour * np.inf": "calls.cooling is inf at 16:30 on day 196",
    "memory[0] = np.sqrt(-readings.hour)": "calls.cooling is nan",
    "return ms.Calls(ventilation=-1.0)": "calls.ventilation is -1 at 16:30",
    "return ms.Calls(ventilation=40.0)": "a factor on the ventilation rate, from 0 to 20",
}


def place(memory: Any, i: int) -> Any:
    memory[i] = 1.0
    return memory[i]


MODULE = types.ModuleType("own")
MODULE.helper = numba.njit(place)  # type: ignore[attr-defined]
NAMES = {
    "TABLE": np.arange(3.0),
    "helper": numba.njit(place),
    "plain": place,
    "own": MODULE,
    "helpers": (numba.njit(place),),
}


@pytest.mark.parametrize("body", BEYOND)
def test_what_a_compiled_control_does_wrong_is_said(body: str) -> None:
    with np.errstate(all="ignore"), pytest.raises(ms.InputError) as refusal:
        called(made(body, **NAMES))
    text = str(refusal.value)
    assert text.startswith("strategy mine: ") and BEYOND[body] in text
    assert len(text) < 300 and "\n" not in text


IN_A_PROCESS = """
import sys
import moistsim as ms
from support.houses import house
from support.machines import machines
from support.weathers import stretch

@ms.strategy
def first(readings, memory):
    memory[20] = 1.0
    return ms.Calls()

@ms.strategy
def late(readings, memory):
    memory[int(readings.hour)] += 1.0
    return ms.Calls()

@ms.addition
def added(readings, memory, calls):
    memory[100_000_000] = 1.0
    return calls

for strategy in (first, late, ms.strategies.temperature_only + added):
    try:
        ms.simulate(house(), machines(), strategy, stretch("miami", 190, 1), spin_up=0)
    except ms.InputError as error:
        print(error)
"""


@pytest.mark.slow
def test_a_write_beyond_the_memory_does_not_end_the_process() -> None:
    paths = [Path(ms.__file__).parents[1], Path(__file__).parents[1]]
    run = subprocess.run(
        [sys.executable, "-c", IN_A_PROCESS],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(map(str, paths))},
        capture_output=True, text=True,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    assert run.stdout.splitlines() == [
        "strategy first: memory[20] at 0:00 on day 191, but its memory has 16 places. "
        "Use memory[0] to memory[15].",
        "strategy late: memory[16] at 16:00 on day 191, but its memory has 16 places. "
        "Use memory[0] to memory[15].",
        "addition added: memory[100000000] at 0:00 on day 191, but its memory has 4 places. "
        "Use memory[0] to memory[3].",
    ]


def test_negative_indices_within_the_memory_count_from_its_end() -> None:
    assert called(made("memory[-16] = 1.0")).cooling == 1.0


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ("memory.flat[20] = 1.0", "IndexError"),
        ("memory[0] = down(readings.hour)", "RecursionError"),
        ("memory[0] = helpers[0](memory, 20)", "its memory has 16 places"),
    ],
)
@pytest.mark.filterwarnings("ignore:strategy mine is called by the interpreter")
def test_what_compiled_code_cannot_check_is_left_to_the_interpreter(body: str, says: str) -> None:
    scope: dict[str, Any] = {"numba": numba}
    exec("@numba.njit\ndef down(x): return 0.0 if x < 0.0 else 1.0 + down(x + 1.0)", scope)
    with pytest.raises(ms.InputError, match=says):
        called(made(body, down=scope["down"], **NAMES))


def test_what_nothing_checks_is_refused() -> None:
    strided = "memory[0] = np.lib.stride_tricks.as_strided(memory, (10_000_000,), (8,))[9_999_999]"
    with pytest.raises(ms.InputError, match="uses as_strided, which reads and writes without"):
        called(made(strided))
    ufunc = numba.vectorize(["float64(float64)"])(lambda x: x)
    with pytest.raises(ms.InputError, match=r"calls ufunc, whose indices numba\.vectorize"):
        called(made("memory[0] = ufunc(readings.hour)", ufunc=ufunc))


def test_a_plain_helper_is_compiled_too() -> None:
    def twice(x: float) -> float:
        return 2.0 * x

    assert called(made("memory[0] = twice(readings.month)", twice=twice)).cooling == 2.0


def test_the_interpreter_says_the_same_of_its_memory() -> None:
    text = "memory[int(f'{readings.hour:.0f}')] = 1.0"
    control = made(text)
    with (
        pytest.warns(UserWarning, match="is called by the interpreter"),
        pytest.raises(ms.InputError, match=r"strategy mine: memory\[17\] at 16:30 on day 196, but"),
    ):
        called(control)


def kwh(strategy: ms.Strategy) -> float:
    season = ms.simulate(house(), machines(), strategy, stretch("miami", 190, 1), spin_up=0)
    return float(season.meter.kwh.sum())


COOLS = """
on = readings.temperature > {}
return ms.Calls(cooling=1.0 if on else 0.0)
"""


@pytest.mark.slow
def test_a_changed_variable_changes_the_run() -> None:
    """Of the control, of its helpers, of a closure, of a module and of an array."""
    expected = {limit: kwh(made(COOLS.format(limit))) for limit in (24.0, 20.0)}
    assert expected[24.0] < expected[20.0]

    scope: dict[str, Any] = {}
    source = "L = 24.0\ndef helper(): return L\ndef make(x):\n    def inside(): return x\n    def set(y):\n        nonlocal x\n        x = y\n    return inside, set\n"
    exec(source, scope)
    own = types.ModuleType("own")
    own.limit = 24.0  # type: ignore[attr-defined]
    array = np.array([24.0])
    inside, put = scope["make"](24.0)
    controls = {
        "global": made(COOLS.format("LIMIT"), LIMIT=24.0),
        "helper": made(COOLS.format("helper()"), helper=numba.njit(scope["helper"])),
        "closure": made(COOLS.format("inside()"), inside=numba.njit(inside)),
        "module": made(COOLS.format("own.limit"), own=own),
        "array": made(COOLS.format("array[0]"), array=array),
    }
    assert {kwh(control) for control in controls.values()} == {expected[24.0]}
    controls["global"].function.__globals__["LIMIT"] = 20.0
    scope["L"], own.limit, array[0] = 20.0, 20.0, 20.0  # type: ignore[attr-defined]
    put(20.0)
    for name, control in controls.items():
        assert kwh(control) == expected[20.0], name
    controls["global"].function.__globals__["LIMIT"] = 24.0
    assert kwh(controls["global"]) == expected[24.0]


def test_a_changed_variable_of_an_addition_changes_the_run() -> None:
    scope: dict[str, Any] = {"__name__": "made", "L": 0.0}
    exec("def off(readings, memory, calls): return calls._replace(cooling=L)", scope)
    both = ms.strategies.temperature_only + ms.addition(scope["off"])
    first = kwh(both)
    scope["L"] = 1.0
    assert kwh(both) > first


def test_a_variable_that_cannot_be_told_is_refused_by_its_name() -> None:
    import threading

    lock = threading.Lock()
    with (
        pytest.warns(UserWarning, match="is called by the interpreter"),
        pytest.raises(ms.InputError, match="strategy mine: the function reads LOCK, whose value"),
    ):
        called(made("same = LOCK is LOCK\nmemory[0] = helper(memory, 1)", LOCK=lock, **NAMES))


def test_a_lambda_is_a_strategy() -> None:
    control = ms.strategy(lambda readings, memory: ms.Calls(cooling=1.0))
    assert control.name == "lambda" and called(control).cooling == 1.0
    own = ms.addition(lambda readings, memory, calls: calls._replace(fan=1.0))
    assert (control + own).compiled(AT_FOUR, np.zeros(20), np.zeros(0)).fan == 1.0


@pytest.mark.parametrize("kind", ["strategy", "addition"])
@pytest.mark.parametrize("given", [3, "staged_reheat", max, dict, print])
def test_what_is_no_function_is_refused(kind: str, given: Any) -> None:
    with pytest.raises(ms.InputError, match=f"^{kind}: cannot use .* Use a plain function of"):
        getattr(ms, kind)(given)


def test_what_a_control_reads_need_be_no_pickle() -> None:
    """A number stands in the pickle, by which this process finds the function again."""
    lock = threading.Lock()
    kept = ByNumber(lambda given: (given, lock.locked()))
    assert pickle.loads(pickle.dumps(kept))(3.0) == (3.0, False)
