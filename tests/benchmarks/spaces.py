"""What spaces next to a house cost: a year's loop in turns, and the compilation of both loops, by hand.

    git worktree add ../before COMMIT
    python tests/benchmarks/spaces.py ../before

Prints CPU seconds of a year of one zone and of two, here and in another checkout of the project, and of the same
year with each space. The cases take turns, so that whatever else the machine does falls on all of them alike. The
last lines are CPU seconds of a cold compile of the loop without spaces and, on top, of that with spaces.
Without an argument, only this checkout is measured.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

HERE = Path(__file__).parents[2]
TURNS = 9
SETUP = """
import sys, time
import attrs
import moistsim as ms
house = dict(floor_area="2000 ft2", ach50=1.5)
machines = ms.Equipment(
    cooling=ms.Cooling(
        stages=(ms.Stage(capacity="17 kBtu/h"), ms.Stage(capacity="24 kBtu/h"))
    ),
    strips=ms.Strips(stages=("5 kW", "5 kW")),
    heating=ms.HeatPump(capacity="24 kBtu/h"),
    ventilation=ms.Ventilation(),
    dehumidifier=ms.Dehumidifier(capacity="80 pint/day"),
)
def season(machinery={}, **fields):
    begun = time.process_time()
    run = ms.simulate(
        ms.House(**{**house, **fields}), attrs.evolve(machines, **machinery), ms.strategies.staged_reheat,
        ms.Weather.sample("miami"), spin_up=0,
    )
    return run, time.process_time() - begun
"""
TAKES_TURNS = """
run, _ = season(**eval(sys.argv[1]))
print("ready", flush=True)
for line in sys.stdin:
    state, memory = run._first_state.copy(), run._first_memory.copy()
    forcing = run._forcing.part(0, 8760)
    begun = time.process_time()
    run._machine.run(forcing, state, memory)
    print(time.process_time() - begun, flush=True)
"""
COMPILES = """
cases = {"one zone": {}}
if hasattr(ms, "Attic"):  # Older checkouts have no spaces, or no second system.
    cases["on top, with spaces"] = {"attic": ms.Attic()}
if hasattr(ms, "SecondSystem"):
    cases["on top, with two systems"] = {
        "second_zone": ms.SecondZone(kind="wing"),
        "machinery": {"second_system": ms.SecondSystem(cooling=machines.cooling)},
    }
for name, fields in cases.items():
    cold = season(**fields)[1]
    print(f"{name}|{cold - season(**fields)[1]}")
"""
CASES = {
    "one zone": "{}",
    "attic": "dict(attic=ms.Attic())",
    "crawl space, attic": "dict(crawl_space=ms.CrawlSpace(), attic=ms.Attic())",
    "crawl space, attic, garage": (
        "dict(crawl_space=ms.CrawlSpace(), attic=ms.Attic(), garage=ms.Garage())"
    ),
    "second zone": 'dict(second_zone=ms.SecondZone(kind="wing"))',
    "second zone, two thermostats": (
        'dict(second_zone=ms.SecondZone(kind="wing"), machinery=dict(zoning=ms.Zoning()))'
    ),
    "second zone, two systems": (
        'dict(second_zone=ms.SecondZone(kind="wing"), machinery=dict(second_system=ms.SecondSystem('
        "cooling=machines.cooling, strips=machines.strips, heating=machines.heating)))"
    ),
    "second zone, crawl space, attic, garage": (
        'dict(second_zone=ms.SecondZone(kind="wing"), crawl_space=ms.CrawlSpace(), attic=ms.Attic(), '
        "garage=ms.Garage())"
    ),
}


def start(code: str, tree: Path, *arguments: str, **environment: str) -> subprocess.Popen[str]:
    """A process that runs code with the package of a checkout."""
    return subprocess.Popen(
        [sys.executable, "-W", "ignore", "-c", SETUP + code, *arguments],
        cwd=tree,
        env={**os.environ, "PYTHONPATH": str(tree), **environment},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def seconds_of(running: "subprocess.Popen[str]") -> float:
    """CPU seconds of one turn."""
    assert running.stdin is not None and running.stdout is not None
    running.stdin.write("go\n")
    running.stdin.flush()
    return float(running.stdout.readline())


def compilation(tree: Path) -> dict[str, float]:
    """CPU seconds of a cold compile of each loop of a checkout."""
    with tempfile.TemporaryDirectory() as cache:
        text, _ = start(COMPILES, tree, NUMBA_CACHE_DIR=cache).communicate()
    lines = (line.split("|") for line in text.splitlines() if "|" in line)
    return {name: float(seconds) for name, seconds in lines}


def main(trees: dict[str, Path]) -> None:
    """Print the table."""
    cases = {("now", name): (HERE, fields) for name, fields in CASES.items()}
    for label, tree in trees.items():
        for name in ("one zone", "second zone"):
            cases[(label, name)] = (tree, CASES[name])
    running = {}
    for case, (tree, fields) in cases.items():
        running[case] = start(TAKES_TURNS, tree, fields)
        stdout = running[case].stdout
        assert stdout is not None and stdout.readline() == "ready\n", case
    turns: dict[tuple[str, str], list[float]] = {case: [] for case in cases}
    for _ in range(TURNS):
        for case, process in running.items():
            turns[case].append(seconds_of(process))
    for process in running.values():
        process.communicate()
    alone = turns[("now", "one zone")]
    print(f"a year, CPU s, {TURNS} turns{'':25s}{'least':>8s}{'median':>8s}{'over one zone':>16s}")
    for (label, name), found in turns.items():
        ratio = median(x / y for x, y in zip(found, alone, strict=True))
        print(f"{label:8s}{name:42s}{min(found):8.3f}{median(found):8.3f}{ratio:16.2f}")
    print("cold compile, CPU s")
    for label, tree in {"now": HERE, **trees}.items():
        for name, seconds in compilation(tree).items():
            print(f"{label:8s}{name:42s}{seconds:8.1f}")


if __name__ == "__main__":
    main({"before": Path(sys.argv[1]).resolve()} if len(sys.argv) > 1 else {})
