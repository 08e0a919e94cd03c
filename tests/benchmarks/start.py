"""From a fresh process to a first result, by hand: ``python tests/benchmarks/start.py``.

Printed beside fresh processes that load the same libraries and do nothing, turn by turn, on a
machine that does nothing else. A result is there when its line is: after it, the process still ends.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time

LIBRARIES = """
import attrs, numba, numpy, pandas, pint, pvlib
from numba.core.registry import cpu_target
cpu_target.target_context.refresh()  # numba's own first use, which loads as much again
print()
"""
FIRST_RESULT = """
import moistsim as ms
season = ms.simulate(
    ms.House(floor_area="2000 ft2"),
    ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="2 ton")])),
    ms.strategies.temperature_only,
    ms.Weather.sample("miami"),
    start="03-01",
    end="10-31",
)
print(season.meter.total_kwh)
"""


def run(code: str, **environment: str) -> tuple[float, float]:
    """Seconds until a fresh process has printed a line, and until it has ended."""
    begun = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, "-c", code], env={**os.environ, **environment}, stdout=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        process.stdout.readline()
        printed = time.perf_counter() - begun
        process.wait()
        ended = time.perf_counter() - begun
    assert process.returncode == 0
    return printed, ended


def main() -> None:
    """Print the table."""
    run(FIRST_RESULT)  # fills the caches
    turns = [(run(LIBRARIES), run(FIRST_RESULT)) for _ in range(9)]
    loaded, result = (
        [statistics.median(times) for times in zip(*some, strict=True)]
        for some in zip(*turns, strict=True)
    )
    for name, one, other in zip(("printed", "ended"), result, loaded, strict=True):
        print(f"{name}: first result {one:.2f} s, libraries {other:.2f} s, ratio {one / other:.2f}")
    with tempfile.TemporaryDirectory() as empty:
        printed, _ = run(FIRST_RESULT, NUMBA_CACHE_DIR=empty)
    print(f"nothing compiled yet: {printed:.1f} s, {printed / result[0]:.0f} times a later one")


if __name__ == "__main__":
    main()
