"""The loop is compared with scipy's integrators on the same equations.

The loop against scipy's integrators on the same equations, by hand:
``python tests/benchmarks/solve_ivp.py``.

A day of a house without machines but its ventilation. The right-hand side is the engine's own
step over a millisecond, as a rate: there is no second copy of the physics. Infiltration stands
for an hour, as it does in the loop. What comes out is the largest difference from an integration
to 1e-9 at the ends of the hours, and the processor time.
"""

import time
from collections.abc import Callable
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

import moistsim as ms
from moistsim import air
from moistsim.controls.interface import Calls
from moistsim.engine import parameters
from moistsim.engine.airflow import natural_infiltration
from moistsim.engine.forcing_tables import Hour, Place
from moistsim.engine.outset import outset
from moistsim.engine.recording import load
from moistsim.engine.records import Minute, Plant, State
from moistsim.engine.step import advance

HERE = Place(0, 0, 0.0, 0)
"""Place of a step in the tables of spaces, which this house does not have."""
SHORT = 1.0e-3
"""s."""
FIELDS = (
    "indoor_temperature", "indoor_humidity_ratio", "fast_temperature", "slow_temperature",
    "surface_rh", "deep_rh",
)  # fmt: skip
PLACES = np.array([State._fields.index(name) for name in FIELDS])
DRY_AIR, FAST_SATURATION = (
    State._fields.index(name) for name in ("zone_dry_air", "fast_saturation")
)
GROUND = Hour._fields.index("ground")


@numba.njit(error_model="numpy")
def rates(
    y: NDArray[np.float64],
    into: float,
    hour: int,
    natural: float,
    nodes: NDArray[np.float64],
    hours: NDArray[np.float64],
    plant: Plant,
    stages: NDArray[np.float64],
    strips: NDArray[np.float64],
    row: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Rates of `FIELDS` at `y`, `into` an hour (0 to 1)."""
    half = 1 if into > 0.5 else 0
    i, f = 2 * hour + half, 2.0 * into - half
    now = nodes[i] + f * (nodes[i + 1] - nodes[i])
    for j in range(PLACES.shape[0]):
        row[0, PLACES[j]] = y[j]
    row[0, DRY_AIR] = plant.zone.volume * air.dry_air_density(y[0], y[1], now[4])
    row[0, FAST_SATURATION] = air.saturation_pressure(y[2])
    slope = (nodes[i + 1, 4] - nodes[i, 4]) / 1800.0
    minute = Minute(
        now[0], now[1], now[2], now[3], now[4] + slope * SHORT, natural, hours[hour, 8],
        hours[hour, 1], hours[hour, 2], hours[hour, 3] + into, hours[hour, 5],
        hours[hour, GROUND], 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 0.0, 1.0, 1.0,
    )  # fmt: skip
    state = load(row, 0)
    begins = outset(plant, None, state, minute.pressure, SHORT)
    after, *_ = advance(
        plant, stages, strips, state, begins, Calls(), minute, None, None, None, HERE, SHORT
    )
    return np.array([
        after.indoor_temperature - y[0], after.indoor_humidity_ratio - y[1],
        after.fast_temperature - y[2], after.slow_temperature - y[3],
        after.surface_rh - y[4], after.deep_rh - y[5],
    ]) / SHORT  # fmt: skip


@ms.strategy
def nothing(readings: Any, memory: Any) -> Any:
    """Call nothing."""
    return ms.Calls()


def integrated(season: ms.Season, house: ms.House, machines: ms.Equipment, **how: Any) -> Any:
    """`FIELDS` at the end of each hour, and how often the rates were asked for."""
    plant = parameters.plant(house, machines, nothing, SHORT)
    nodes, hours = np.ascontiguousarray(season._forcing.nodes), season._forcing.hours
    row = season._first_state.copy().reshape(1, -1)
    y, found, asked = row[0, PLACES].copy(), [], 0
    empty, none = np.zeros((0, 29)), np.zeros(0)
    for hour in range(len(hours)):
        natural = natural_infiltration(
            plant.zone.stack, plant.zone.leakage_exponent, hours[hour, 0], y[0],
            nodes[2 * hour + 1, 0],
        )  # fmt: skip
        # The weather bends at the middle of the hour.
        for start in (0.0, 0.5):
            last = start + 0.5

            def slope(
                t: float, y: Any, hour: int = hour, natural: float = natural, last: float = last
            ) -> Any:
                into = min(t / 3600.0, last)
                return rates(y, into, hour, natural, nodes, hours, plant, empty, none, row)

            done = solve_ivp(slope, (3600.0 * start, 3600.0 * last), y, **how)
            y, asked = done.y[:, -1], asked + done.nfev
        found.append(y)
    return np.array(found), asked


def cpu(function: Callable[[], Any], times: int = 3) -> tuple[float, Any]:
    """Seconds of this thread's processor time, the best of some, and the result."""
    best, result = float("inf"), None
    for _ in range(times):
        begun = time.thread_time()
        result = function()
        best = min(best, time.thread_time() - begun)
    return best, result


def main() -> None:
    """Print the table."""
    house = ms.House(floor_area="2000 ft2", ach50=1.5)
    machines = ms.Equipment(ventilation=ms.Ventilation())
    weather = ms.Weather.sample("miami")

    def season(step: str) -> ms.Season:
        return ms.simulate(
            house, machines, nothing, weather, start="04-10", end="04-10", step=step,
            spin_up="3 day",
        )  # fmt: skip

    first = season("60 s")
    scale = np.array([1.0, 1e-6, 1.0, 1.0, 1e-4, 1e-4])
    integrated(first, house, machines, method="LSODA", rtol=1e-3)  # compiles
    exact, _ = integrated(first, house, machines, method="LSODA", rtol=1e-9, atol=1e-9 * scale)
    lines = []
    for step in ("900 s", "300 s", "60 s", "15 s"):
        run = season(step)
        machine, forcing = run._machine, run._forcing

        def go(machine: Any = machine, forcing: Any = forcing) -> Any:
            state = first._first_state.copy()
            return machine.run(forcing, state, first._first_memory.copy())

        seconds, record = cpu(go, 40)
        lines.append((f"loop, {step}", seconds, record.states[:, PLACES], 24 * machine.steps))
    for method, rtol in (
        ("LSODA", 1e-3), ("LSODA", 1e-6), ("BDF", 1e-4), ("RK45", 1e-4),
    ):  # fmt: skip
        seconds, (ends, asked) = cpu(
            lambda method=method, rtol=rtol: integrated(
                first, house, machines, method=method, rtol=rtol, atol=rtol * scale
            ),
            1,
        )
        lines.append((f"{method}, {rtol:g}", seconds, ends, asked))
    loop = next(seconds for name, seconds, *_ in lines if name == "loop, 60 s")
    print(f"{'':16s}{'room, K':>10s}{'room, g/kg':>12s}{'store, % RH':>12s}{'ms':>9s}"
          f"{'over loop':>10s}{'steps':>8s}")  # fmt: skip
    for name, seconds, ends, asked in lines:
        off = np.abs(ends - exact).max(axis=0)
        print(
            f"{name:16s}{off[0]:10.1e}{1000.0 * off[1]:12.1e}{100.0 * off[4]:12.1e}"
            f"{1000.0 * seconds:9.2f}{seconds / loop:10.0f}{asked:8d}"
        )
    print("steps: of the loop, or evaluations of the rates; differences at the ends of hours")


if __name__ == "__main__":
    main()
