"""Speed of the loop, of a study and of the import, by hand: ``python tests/benchmarks/speed.py``.

Every time is printed beside the same thing run uncompiled on the same machine a moment later, and
as a ratio to it, since seconds differ from machine to machine.
"""

import os
import subprocess
import sys
import time

SETUP = """
import time
begun = time.perf_counter()
import moistsim as ms
imported = time.perf_counter() - begun
import numpy as np
house = ms.House(floor_area="2000 ft2", ach50=1.5)
machines = ms.Equipment(
    cooling=ms.Cooling(
        stages=(ms.Stage(capacity="17 kBtu/h"), ms.Stage(capacity="24 kBtu/h"))
    ),
    strips=ms.Strips(stages=("5 kW", "5 kW")),
    heating=ms.HeatPump(capacity="24 kBtu/h"),
    ventilation=ms.Ventilation(),
    dehumidifier=ms.Dehumidifier(capacity="80 pint/day"),
)
weather = ms.Weather.sample("miami")
strategies = ms.strategies.BUILT_IN
def loop(season, hours):
    "Seconds of the loop alone over the season's first hours: the best of three."
    best = float("inf")
    for _ in range(3):
        state, memory = season._first_state.copy(), season._first_memory.copy()
        begun = time.perf_counter()
        season._machine.run(season._forcing.part(0, hours), state, memory)
        best = min(best, time.perf_counter() - begun)
    return best
"""
COMPILED = """
import os
first = time.perf_counter()
study = ms.Study(
    house, {name: (machines, s) for name, s in strategies.items()}, weather,
    start="03-01", end="10-31",
).run(progress=False)
print("import", imported)
print("first study, four options, fresh process", time.perf_counter() - begun)
for name, strategy in strategies.items():
    season = ms.simulate(house, machines, strategy, weather, spin_up=0)
    print(f"year, {name}", loop(season, 8760))
    held = sum(array.nbytes for array in season._record)
print("MB that a year's season holds", held / 1e6)
"""
CONTROLS = """
import inspect, sys, warnings
own = ms.strategies
def ratio(name, strategy, other, hours=744):
    "The loop of some hours over that of another strategy, the best of several that take turns."
    seasons = [
        ms.simulate(house, machines, s, weather, start="07-01", end="07-31", spin_up="1 day")
        for s in (strategy, other)
    ]
    turns = [[loop(season, hours) for season in seasons] for _ in range(8)]
    one, two = map(min, zip(*turns))
    print(name, one / two)
def typed(old, new):
    "A built-in strategy as if it were typed into a notebook, with a change."
    module = {**vars(sys.modules["moistsim.controls.built_in.overcooling"]), "__name__": "__main__"}
    exec(inspect.getsource(own.overcooling.function).replace(old, new), module)
    return module["overcooling"]
warnings.simplefilter("ignore")
half = "half = 0.5 * humidity_deadband"
ratio("typed into a notebook, over built-in", typed(half, half), own.overcooling)
named = 'half = float(f"{0.5 * humidity_deadband:.2f}")'
ratio("called by the interpreter, over compiled", typed(half, named), own.overcooling, 24)
two = own.staged_reheat + own.set_back + own.slower_airflow
ratio("with set_back and slower_airflow, over without", two, own.staged_reheat)
five = sum(own.ADDITIONS.values(), start=own.staged_reheat)
ratio("with all additions, over without", five, own.staged_reheat)
"""
UNCOMPILED = """
day = 0.0
for name, strategy in strategies.items():
    season = ms.simulate(house, machines, strategy, weather, start="07-01", end="07-01", spin_up=0)
    seconds = loop(season, 24)
    print(f"year, {name}", seconds * 365)
    day += seconds
print("first study, four options, fresh process", day * (245 + 21))
"""


def run(code: str, **environment: str) -> dict[str, float]:
    """Run code in a fresh process; its printed lines as numbers by name."""
    done = subprocess.run(
        [sys.executable, "-c", SETUP + code],
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=True,
    )
    return {
        name: float(value)
        for name, value in (line.rsplit(" ", 1) for line in done.stdout.splitlines())
    }


def main() -> None:
    """Print the table."""
    run(COMPILED)  # fills the cache of compiled code
    begun = time.perf_counter()
    compiled = run(COMPILED)
    print(f"whole process, warm cache: {time.perf_counter() - begun:.1f} s")
    uncompiled = run(UNCOMPILED, NUMBA_DISABLE_JIT="1")
    print(f"{'':52s}{'compiled':>12s}{'uncompiled':>12s}{'ratio':>8s}")
    for name, seconds in compiled.items():
        other = uncompiled.get(name)
        ratio = f"{other:10.0f} s{other / seconds:8.0f}" if other else ""
        unit = "  " if name.startswith("MB") else " s"
        print(f"{name:52s}{seconds:10.3f}{unit}{ratio}")
    print("ratios of a month's loop:")
    for name, ratio in run(CONTROLS).items():
        print(f"{name:52s}{ratio:10.2f}")
    print("uncompiled: a day in July times the days simulated, on one core")


if __name__ == "__main__":
    main()
