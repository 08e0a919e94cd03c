"""How near the loop is to what its equations cost, by hand: ``python tests/benchmarks/floor.py``.

Four weeks of the year are run uncompiled with every division of the source replaced by one that
counts, and with exponentials, logarithms, roots and saturation pressures counted as they are
called. Beside what ran stands what a step cannot do without, argued below equation by equation;
each is then timed in a compiled chain, one waiting for the other, and side by side. The floor is
the argued count at either price. The compiled loop runs the same four weeks.
"""

import json
import os
import subprocess
import sys
import time
from collections import Counter
from typing import Any

import numba
import numpy as np

WEEKS = ("01-10", "01-16"), ("04-10", "04-16"), ("07-10", "07-16"), ("10-10", "10-16")
KINDS = ("saturation", "exp", "log", "root", "division")
NEEDED = {
    # The room's at the end (for its RH) and the stores'. Divisions: vapor pressure by humidity
    # ratio; RH in the middle and at the end; the store's balance; the room's humidity, its
    # temperature and its dry air. The root adds leaks and fans in quadrature. The control takes no
    # dew point.
    "step": {"saturation": 2, "division": 7, "root": 1},
    # Bypass factor; wet bulb and apparatus dew point, each of a saturated humidity ratio and a
    # correction (two divisions); flow over rated flow, one over flow, one over contact, supply.
    "cooling": {"exp": 1, "saturation": 2, "division": 8},
    # Bypass factor; wet bulb, and the saturated humidity ratio at it; the root of the water left.
    "drying": {"exp": 1, "saturation": 2, "division": 4, "root": 1},
    # Input over water removal.
    "dehumidifier": {"division": 1},
}
"""By what happens in a step. Whatever a run or an hour has one of (shares of the masses, one over
the step, the start-up's exponential) is not counted, and neither is what only a rare step has."""


def setting() -> tuple[Any, ...]:
    """House, machines, strategy and weather."""
    import moistsim as ms

    machines = ms.Equipment(
        cooling=ms.Cooling(stages=(ms.Stage(capacity="17 kBtu/h"), ms.Stage(capacity="24 kBtu/h"))),
        strips=ms.Strips(stages=("5 kW", "5 kW")),
        heating=ms.HeatPump(capacity="24 kBtu/h"),
        ventilation=ms.Ventilation(),
        dehumidifier=ms.Dehumidifier(capacity="80 pint/day"),
    )
    house = ms.House(floor_area="2000 ft2", ach50=1.5)
    return house, machines, ms.strategies.with_dehumidifier, ms.Weather.sample("miami")


def seasons() -> list[Any]:
    """The four weeks."""
    import moistsim as ms

    return [ms.simulate(*setting(), start=start, end=end, spin_up="1 day") for start, end in WEEKS]


def run(season: Any) -> None:
    """The loop alone."""
    season._machine.run(season._forcing, season._first_state.copy(), season._first_memory.copy())


def counted() -> dict[str, float]:
    """What runs in a mean step of the four weeks, uncompiled."""
    import ast
    import importlib.abc
    import importlib.machinery
    import math

    counts: Counter[str] = Counter()

    class Divided(ast.NodeTransformer):
        """``a / b`` becomes a call that counts."""

        def visit_BinOp(self, node: ast.BinOp) -> ast.AST:
            self.generic_visit(node)
            if not isinstance(node.op, ast.Div) or isinstance(node.right, ast.Constant):
                return node
            call = ast.Name("__divide__", ast.Load())
            return ast.copy_location(ast.Call(call, [node.left, node.right], []), node)

    class Loader(importlib.machinery.SourceFileLoader):
        def source_to_code(self, data: Any, path: Any, *, _optimize: int = -1) -> Any:  # type: ignore[override]
            tree = ast.fix_missing_locations(Divided().visit(ast.parse(data)))
            return compile(tree, path, "exec", dont_inherit=True)

        def get_code(self, fullname: str) -> Any:
            # Never from the folder of byte code.
            path = self.get_filename(fullname)
            return self.source_to_code(self.get_data(path), path)

    class Finder(importlib.abc.MetaPathFinder):
        def find_spec(self, name: str, path: Any, target: Any = None) -> Any:
            if not name.startswith(("moistsim.air", "moistsim.engine.", "moistsim.controls.")):
                return None
            spec = importlib.machinery.PathFinder.find_spec(name, path)
            if spec is not None and spec.origin is not None:
                spec.loader = Loader(name, spec.origin)
            return spec

    def divide(a: Any, b: Any) -> Any:
        counts["division"] += 1
        return a / b

    import builtins

    vars(builtins)["__divide__"] = divide
    sys.meta_path.insert(0, Finder())
    weeks = seasons()
    from moistsim import air
    from moistsim.engine import air_handler, loop, machines

    def watch(place: Any, name: str, kind: str, when: Any = None) -> None:
        sound = getattr(place, name)

        def watched(*arguments: Any) -> Any:
            if when is None or when(*arguments):
                counts[kind] += 1
            return sound(*arguments)

        setattr(place, name, watched)

    for name, kind in (("exp", "exp"), ("log", "log"), ("sqrt", "root")):
        watch(math, name, kind)
    watch(air, "saturation_pressure", "saturation")
    watch(air, "saturation_curve", "saturation")
    watch(loop, "advance", "step")
    watch(air_handler, "cool", "cooling")
    watch(air_handler, "reevaporation", "drying")
    watch(machines, "dry", "dehumidifier", lambda dehumidifier, on, *_: on > 0.0)
    counts.clear()
    for week in weeks:
        run(week)
    return {kind: counts[kind] / counts["step"] for kind in (*KINDS, *NEEDED)}


def prices() -> dict[str, tuple[float, float]]:
    """Nanoseconds of each kind in a chain, where one waits for the other, and side by side."""
    from moistsim import air

    @numba.njit(error_model="numpy")
    def bare(n: int, a: float) -> float:
        x = a
        for _ in range(n):
            x = a + 1.0e-9 * x
        return x

    found = {}
    for kind, code in (
        ("saturation", "saturation_pressure({})"), ("exp", "math.exp(-{})"),
        ("log", "math.log({})"), ("root", "math.sqrt({})"), ("division", "1.0 / {}"),
    ):  # fmt: skip
        scope: dict[str, Any] = {"saturation_pressure": air.saturation_pressure}
        exec(
            "import math\n"
            "def chain(n, a):\n    x = a\n    for _ in range(n):\n"
            f"        x = a + 1.0e-9 * {code.format('x')}\n    return x\n"
            "def beside(n, a):\n    x = 0.0\n    for i in range(n):\n"
            f"        x += {code.format('(a + 1.0e-7 * i)')}\n    return x\n",
            scope,
        )
        functions = [numba.njit(error_model="numpy")(scope[name]) for name in ("chain", "beside")]
        chain, beside = (timed(lambda f=f: f(1_000_000, 1.7)) for f in functions)
        found[kind] = (chain - timed(lambda: bare(1_000_000, 1.7)), beside)
    return found


def timed(function: Any) -> float:
    """Processor time of a call, ms, or ns per item of a million: the best of twelve.

    Milliseconds of this thread's processor time, the best of twelve: of a million of something, the
    nanoseconds of one.
    """
    best = float("inf")
    for _ in range(12):
        begun = time.thread_time()
        function()
        best = min(best, time.thread_time() - begun)
    return best * 1000.0


def main() -> None:
    """Print the table."""
    done = subprocess.run(
        [sys.executable, "-W", "ignore", __file__, "count"],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    ran = json.loads(done.stdout.splitlines()[-1])
    cost = prices()
    weeks = seasons()
    steps = sum(len(week.hourly) * week._machine.steps for week in weeks)
    loop = sum(timed(lambda week=week: run(week)) for week in weeks) * 1.0e6 / steps
    shares = {name: ran[name] for name in NEEDED}
    print("shares of all steps:", {name: round(share, 2) for name, share in shares.items()})
    print(f"{'':14s}{'ran':>8s}{'needed':>8s}{'in a chain':>12s}{'side by side':>14s}")
    waiting = beside = 0.0
    for kind in KINDS:
        needed = sum(shares[name] * counts.get(kind, 0) for name, counts in NEEDED.items())
        waiting += needed * cost[kind][0]
        beside += needed * cost[kind][1]
        print(
            f"{kind:14s}{ran[kind]:8.2f}{needed:8.2f}{cost[kind][0]:9.2f} ns{cost[kind][1]:11.2f} ns"
        )
    print(f"a step of the loop {loop:.0f} ns; floor in a chain {waiting:.0f} ns, side by side")
    print(f"{beside:.0f} ns; loop over floor {loop / waiting:.2f}, {loop / beside:.2f}")
    print(f"a year at one-minute steps: {loop * 525600e-9:.3f} s; numpy {np.__version__}")


if __name__ == "__main__":
    if sys.argv[1:] == ["count"]:
        print(json.dumps(counted()))
    else:
        main()
