"""Sweeps by workers, by cases and by step, by hand: ``python tests/benchmarks/sweeps.py``.

Every line is a ratio to its table's first line, run a moment before on the same machine. Houses differ from
case to case, so that each has its own forcing; whole years at one-minute steps for the workers
and the steps, two days in coarse steps for memory and the number of cases. Each line runs in a fresh process.
"""

import argparse
import json
import subprocess
import sys
from pathlib import Path

SETUP = """
import json, os, resource, sys, time
sys.path.insert(0, {tests!r})
import moistsim as ms
from support.houses import house
from support.machines import machines
from support.weathers import stretch
def sweep(n, days, step):
    options = {{
        "reheat": (machines(dehumidifier=None), ms.strategies.staged_reheat),
        "dehumidifier": (machines(), ms.strategies.with_dehumidifier),
    }}
    first = max(min(180, 365 - days), 0)
    base = ms.Study(house(), options, stretch("miami", first, days), step=step)
    vary = {{"house.ach50": ms.uniform(1, 7), "tariff.price": ms.uniform(0.1, 0.3)}}
    return ms.Sweep(base, vary, sample="latin_hypercube", n=n)
def resident():
    "MB, now."
    for line in open("/proc/self/status"):
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024.0
def processor():
    used = [resource.getrusage(w) for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(u.ru_utime + u.ru_stime for u in used)
def main():
    cases, days, step, executor, workers = {what}
    sweep(4 * workers, days, step).run(executor, workers=workers, progress=False)
    prepared = sweep(cases, days, step)
    prepared.cases()
    before, used, begun = resident(), processor(), time.perf_counter()
    frame = prepared.run(executor, workers=workers, progress=False)
    seconds = time.perf_counter() - begun
    assert set(frame["status"]) == {{"ok"}}
    print(json.dumps([seconds, processor() - used, resident() - before]))
if __name__ == "__main__":
    main()
"""

TASKS = """
import json, sys, time
sys.path.insert(0, {tests!r})
import moistsim as ms
from support.small_sweeps import study
from moistsim.sweep import run
def sweep(n):
    vary = {{"tariff.price": ms.uniform(0.1, 0.3), "strategy.heating_setpoint": ms.uniform("66 degF", "69 degF")}}
    return ms.Sweep(study(), vary, sample="sobol", n=n)
def main():
    cases, executor, run.LARGEST = {what}
    how = {{"workers": 2, "progress": False}}
    if executor == "dask":
        import distributed
        cluster = distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=":0")
        executor, how = distributed.Client(cluster).get_executor(), {{"progress": False}}
    sweep(16).run(executor, **how)
    prepared = sweep(cases)
    prepared.cases()
    begun, used = time.perf_counter(), time.process_time()
    prepared.run(executor, **how)
    print(json.dumps([time.perf_counter() - begun, time.process_time() - used, 0.0]))
if __name__ == "__main__":
    main()
"""
"""Two days in coarse steps, whose cases take little more than handing them out."""

PAPER = """
import json, sys, time
sys.path.insert(0, {tests!r})
from support import night_drying
def main():
    n, metrics = {what}
    night_drying.sweep(2, metrics, start="05-01", end="05-02").run(workers=2, progress=False)
    prepared = night_drying.sweep(n, metrics)
    cases = len(prepared.cases())
    begun, used = time.perf_counter(), time.process_time()
    frame = prepared.run(workers=2, progress=False)
    assert set(frame["status"]) == {{"ok"}} and len(frame) == 3 * cases
    print(json.dumps([time.perf_counter() - begun, time.process_time() - used, 0.0]))
if __name__ == "__main__":
    main()
"""
"""The script of the how-to page: 8 n cases of three options, by the minute through a year."""


def run(cases: int, days: int, step: str, executor: str, workers: int) -> tuple[float, ...]:
    """Seconds, seconds of all cores, and by how many MB the process has grown."""
    return ran(SETUP, (cases, days, step, executor, workers))


def ran(text: str, what: tuple[object, ...]) -> tuple[float, ...]:
    """What a script prints in a process of its own."""
    code = text.format(tests=str(Path(__file__).parents[1]), what=what)
    done = subprocess.run(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, check=True
    )
    return tuple(json.loads(done.stdout))


def head(title: str) -> None:
    """The head of a table."""
    print(f"\n{title:34s}{'s':>8s}{'core s':>8s}{'ms/case':>9s}{'ratio':>8s}{'grown MB':>10s}")


def line(name: str, cases: int, found: tuple[float, ...], ratio: float) -> None:
    """A line of a table."""
    seconds, cores, grown = found
    per_case = 1000.0 * seconds / cases
    print(
        f"{name:34s}{seconds:8.1f}{cores:8.1f}{per_case:9.2f}{ratio:8.2f}{grown:10.1f}", flush=True
    )


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=2000, help="for the workers")
    parser.add_argument("--days", type=int, default=365, help="of the season, for the workers")
    parser.add_argument("--rows", type=int, default=32, help="of the Saltelli design; 8 cases each")
    parser.add_argument("--only", choices=("tasks", "paper"), help="one table alone")
    parser.add_argument("--most", type=int, default=10_000, help="for memory and linearity")
    given = parser.parse_args()
    if given.only != "tasks":
        head(f"{8 * given.rows} cases of three options, a year")
        first = 0.0
        for name in ("no metric", "compiled metric", "metric in Python"):
            found = ran(PAPER, (given.rows, name))
            first = first or found[1]
            line(name, 3 * 8 * given.rows, found, found[1] / first)
        print("Two threads. ms/case is that of a house-year; the ratio is of the core s.")
    if given.only != "paper":
        for executor in ("threads", "processes", "dask"):
            head(f"{executor}: core s of handing out")
            first = 0.0
            for largest in (1, 64):
                found = ran(TASKS, (given.cases // 4, executor, largest))
                first = first or found[1]
                name = "one case a task" if largest == 1 else "several cases a task"
                line(name, given.cases // 4, found, found[1] / first)
    if given.only:
        return

    head(f"{given.cases} cases by workers: times quicker")
    for executor in ("threads", "processes"):
        one = 0.0
        for workers in (1, 2):
            found = run(given.cases, given.days, "60 s", executor, workers)
            one = one or found[0]
            line(f"{workers} {executor}", given.cases, found, one / found[0])

    head("by cases: time a case")
    first = 0.0
    for cases in (given.most // 100, given.most // 10, given.most):
        found = run(cases, 2, "15 min", "threads", 1)
        first = first or found[0] / cases
        line(f"{cases} cases", cases, found, found[0] / cases / first)

    head("by step: time a case")
    first, cases = 0.0, max(given.cases // 20, 10)
    for step in ("15 min", "5 min", "60 s", "30 s"):
        found = run(cases, given.days, step, "threads", 1)
        first = first or found[0]
        line(step, cases, found, found[0] / first)


if __name__ == "__main__":
    main()
