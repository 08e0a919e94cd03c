"""What a function is: sensitive to all that it reads, and to nothing else."""

import importlib.util
import os
import subprocess
import sys
import textwrap
import types
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import numpy as np
import pytest

import moistsim
from moistsim.core.errors import InputError
from moistsim.core.function_identity import identity_of, reads


def made(text: str, **names: Any) -> Any:
    """Function `f` of a source text whose module has those names."""
    scope = {"np": np, "numba": numba, "__name__": "made", **names}
    exec(textwrap.dedent(text), scope)
    return scope["f"]


def identity(text: str, **names: Any) -> str:
    return identity_of(made(text, **names), "f")


CHANGES = {
    "a constant": ("def f(x): return x > 99", "def f(x): return x > 40"),
    "an int and a float": ("def f(x): return x > 24", "def f(x): return x > 24.0"),
    "the sign of zero": ("def f(x): return 0.0", "def f(x): return -0.0"),
    "a text": ("def f(x): return 'a'", "def f(x): return 'b'"),
    "an operator": ("def f(x): return x + 1", "def f(x): return x - 1"),
    "a name that it calls": ("def f(x): return max(x, 1)", "def f(x): return min(x, 1)"),
    "an attribute": ("def f(x): return x.real", "def f(x): return x.imag"),
    "a default": ("def f(x, y=1): return y", "def f(x, y=2): return y"),
    "a keyword's default": ("def f(x, *, y=1): return y", "def f(x, *, y=2): return y"),
    "a name of an argument": ("def f(x, *, y=1): return 1", "def f(x, *, z=1): return 1"),
    "a constant in a lambda": (
        "def f(x): return (lambda y: y > 1)(x)",
        "def f(x): return (lambda y: y > 2)(x)",
    ),
    "a constant three functions down": (
        "def h(x): return x * 3\ndef g(x): return h(x)\ndef f(x): return g(x)",
        "def h(x): return x * 4\ndef g(x): return h(x)\ndef f(x): return g(x)",
    ),
    "a global variable": ("L = 24\ndef f(x): return x > L", "L = 20\ndef f(x): return x > L"),
    "a global variable of a helper": (
        "L = 24\ndef g(x): return x > L\ndef f(x): return g(x)",
        "L = 20\ndef g(x): return x > L\ndef f(x): return g(x)",
    ),
    "a global variable inside a comprehension": (
        "L = 24\ndef f(x): return [y > L for y in x]",
        "L = 20\ndef f(x): return [y > L for y in x]",
    ),
    "an element of a tuple": (
        "L = (1, 2)\ndef f(x): return L[0]",
        "L = (1, 3)\ndef f(x): return L[0]",
    ),
    "an element of a list": (
        "L = [1, 2]\ndef f(x): return L[0]",
        "L = [1, 3]\ndef f(x): return L[0]",
    ),
    "a tuple and a list": ("L = (1, 2)\ndef f(x): return L", "L = [1, 2]\ndef f(x): return L"),
    "nesting": ("L = ((1,), 2)\ndef f(x): return L", "L = ((1, 2),)\ndef f(x): return L"),
    "a value of a dict": (
        "L = {'a': 1}\ndef f(x): return L['a']",
        "L = {'a': 2}\ndef f(x): return L['a']",
    ),
    "a set": ("L = {1, 2}\ndef f(x): return x in L", "L = {1, 3}\ndef f(x): return x in L"),
    "an array": (
        "L = np.array([1.0, 2.0])\ndef f(x): return L[0]",
        "L = np.array([1.0, 3.0])\ndef f(x): return L[0]",
    ),
    "the type of an array": (
        "L = np.zeros(2)\ndef f(x): return L",
        "L = np.zeros(2, int)\ndef f(x): return L",
    ),
    "the shape of an array": (
        "L = np.zeros((2, 3))\ndef f(x): return L",
        "L = np.zeros((3, 2))\ndef f(x): return L",
    ),
    "a helper's option": (
        "@numba.njit\ndef g(x): return x\ndef f(x): return g(x)",
        "@numba.njit(fastmath=True)\ndef g(x): return x\ndef f(x): return g(x)",
    ),
    "a compiled helper's constant": (
        "@numba.njit\ndef g(x): return x + 1\ndef f(x): return g(x)",
        "@numba.njit\ndef g(x): return x + 2\ndef f(x): return g(x)",
    ),
    "a compiled helper's global variable": (
        "L = 1\n@numba.njit\ndef g(x): return x + L\ndef f(x): return g(x)",
        "L = 2\n@numba.njit\ndef g(x): return x + L\ndef f(x): return g(x)",
    ),
    "a closure": (
        "def make(y):\n    return lambda x: x > y\nf = make(1)",
        "def make(y):\n    return lambda x: x > y\nf = make(2)",
    ),
    "a closure of an inner function": (
        "def make(y):\n    return lambda x: (lambda: x > y)()\nf = make(1)",
        "def make(y):\n    return lambda x: (lambda: x > y)()\nf = make(2)",
    ),
    "an attribute of a class": (
        "class A:\n    low = 1\ndef f(x): return A.low",
        "class A:\n    low = 2\ndef f(x): return A.low",
    ),
    "a method": (
        "class A:\n    def g(self): return 1\na = A()\ndef f(x): return a.g()",
        "class A:\n    def g(self): return 2\na = A()\ndef f(x): return a.g()",
    ),
    "an attribute of an object": (
        "class A:\n    pass\na = A()\na.low = 1\ndef f(x): return a.low",
        "class A:\n    pass\na = A()\na.low = 2\ndef f(x): return a.low",
    ),
    "a bound argument": (
        "from functools import partial\ng = partial(max, 1)\ndef f(x): return g(x)",
        "from functools import partial\ng = partial(max, 2)\ndef f(x): return g(x)",
    ),
    "what follows an error": (
        "def f(x):\n    try:\n        return x[0]\n    except IndexError:\n        return 0",
        "def f(x):\n    try:\n        return x[0]\n    except KeyError:\n        return 0",
    ),
    "a date": (
        "import datetime\nL = datetime.date(2026, 1, 2)\ndef f(x): return L",
        "import datetime\nL = datetime.date(2026, 1, 3)\ndef f(x): return L",
    ),
    "a built-in name that a variable hides": (
        "def f(x): return max(x, 1)",
        "def max(x, y): return x\ndef f(x): return max(x, 1)",
    ),
    "a name that is defined later": ("def f(x): return L", "L = 1\ndef f(x): return L"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_change_changes_the_identity(what: str) -> None:
    one, other = CHANGES[what]
    assert identity(one) == identity(one)
    assert identity(one) != identity(other)


UNCHANGED = {
    "lines": ("def f(x): return x > 1", "\n\n\ndef f(x):\n\n    return x > 1"),
    "comments": ("def f(x): return x > 1", "def f(x):\n    # a comment\n    return x > 1"),
    "a variable that it does not read": (
        "L = 1\nM = 1\ndef f(x): return L",
        "L = 1\nM = 2\ndef f(x): return L",
    ),
    "the order of a set": (
        "L = {'a', 'b', 'c'}\ndef f(x): return L",
        "L = {'c', 'b', 'a'}\ndef f(x): return L",
    ),
}


@pytest.mark.parametrize("what", UNCHANGED)
def test_the_identity_stays(what: str) -> None:
    one, other = UNCHANGED[what]
    assert identity(one) == identity(other)


def test_functions_that_call_each_other_come_to_an_end() -> None:
    text = "def g(x): return f(x - {})\ndef f(x): return g(x) if x > 0 else 0"
    assert identity(text.format(1)) == identity(text.format(1))
    assert identity(text.format(1)) != identity(text.format(2))


def test_a_list_that_holds_itself_comes_to_an_end() -> None:
    def listed(last: int) -> str:
        items: list[Any] = [1]
        items += [items, last]
        return identity("def f(x): return L", L=items)

    assert listed(1) == listed(1) != listed(2)


@pytest.mark.parametrize("kind", [lambda f: f, numba.njit], ids=["plain", "compiled"])
def test_a_variable_of_a_module_is_read_through_the_module(kind: Callable[..., Any]) -> None:
    own = types.ModuleType("limits")
    own.low, own.other = 1, 1  # type: ignore[attr-defined]
    own.above = kind(made("L = 5\ndef f(x): return x > L"))  # type: ignore[attr-defined]
    f = made("def f(x): return own.above(x) and x > own.low", own=own)
    assert {read.name for read in reads(f)} == {"own.above", "own.low"}
    first = identity_of(f, "f")
    own.other = 2  # type: ignore[attr-defined]
    assert identity_of(f, "f") == first
    own.low = 2  # type: ignore[attr-defined]
    assert identity_of(f, "f") != first
    own.low = 1  # type: ignore[attr-defined]
    getattr(own.above, "py_func", own.above).__globals__["L"] = 6
    assert identity_of(f, "f") != first


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("L = file\ndef f(x): return L", "reads L"),
        ("import threading\nL = threading.Lock()\ndef g(x): return L\ndef f(x): return g(x)", "L"),
        ("def f(x):\n    global L\n    L = x", "changes the global variable L"),
        ("L = (i for i in 'ab')\ndef f(x): return next(L)", "reads L"),
        ("def f(x): return getattr(own, 'low')", "module own"),
    ],
)
def test_what_cannot_be_told_is_refused_by_its_name(text: str, says: str) -> None:
    with open(__file__) as file:
        f = made(text, file=file, own=types.ModuleType("own"))
        with pytest.raises(InputError, match=says) as error:
            identity_of(f, "strategy f")
    assert str(error.value).startswith("strategy f: ") and len(str(error.value)) < 300


PAPER = """
import math
from pathlib import Path
from typing import NamedTuple

import numba
import numpy as np

import moistsim as ms

class Limit(NamedTuple):
    low: float

class Own:
    def __init__(self, high):
        self.high = high

LIMIT, OWN, TABLE, HERE = Limit(24.0), Own(26), np.arange(4.0), __name__

@numba.njit
def helper(x):
    return x > TABLE[1] or math.sqrt(x) > 3

@ms.strategy
def mine(readings, memory, *, above: ms.units.DegC = 25.0):
    low = [each for each in (1, 2, 3) if each > LIMIT.low]
    day = ms.parts.cooling_stage(readings, 24.0, 1.0)
    return ms.Calls(cooling=helper(readings.temperature) and OWN.high > day)

if __name__ == "__main__":
    from moistsim.core.function_identity import identity_of
    print(identity_of(mine.function, "mine"))
"""


def test_a_file_that_is_run_and_one_that_is_imported_have_one_identity(tmp_path: Path) -> None:
    here = tmp_path / "paper.py"
    here.write_text(PAPER)
    environment = {**os.environ, "PYTHONPATH": str(Path(moistsim.__file__).parents[1])}
    run = [sys.executable, str(here)]
    printed = [
        subprocess.run(run, capture_output=True, text=True, check=True, env=environment)
        for _ in range(2)
    ]
    spec = importlib.util.spec_from_file_location("elsewhere", here)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["elsewhere"] = module
    spec.loader.exec_module(module)
    own = identity_of(module.mine.function, "mine")
    assert [each.stdout.strip() for each in printed] == [own, own]
    module.OWN.high = 27
    assert identity_of(module.mine.function, "mine") != own
