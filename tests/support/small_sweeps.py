"""A small sweep that tests run here, in other processes, and in ones that are killed."""

import json
import resource
import signal
import sys
from functools import lru_cache
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow.parquet as parquet
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.season import simulating
from moistsim.sweep import parts as sweep_parts
from moistsim.sweep.manifest import MANIFEST
from moistsim.sweep.store import PARTS, Store

REHEAT, PLAIN = "strip reheat", "temperature only"


def study(**changes: Any) -> ms.Study:
    """Two summer days in coarse steps; one option lacks a dehumidifier."""
    options = {
        REHEAT: (machines(), ms.strategies.staged_reheat),
        PLAIN: (machines(dehumidifier=None), ms.strategies.temperature_only),
    }
    usual: dict[str, Any] = {
        "house": house(), "weather": stretch("miami", 190, 2), "options": options,
        "start": "07-10", "end": "07-11", "step": "15 min",
    }  # fmt: skip
    return ms.Study(**{**usual, **changes})


def small(n: int = 12, seed: int = 3) -> ms.Sweep:
    """Houses, weathers, machines, setpoints and prices, some of them refused."""
    return ms.Sweep(
        study(),
        {
            "house.ach50": ms.uniform(1, 7),
            "house.envelope.window_shgc": [0.25, 0.4],
            "weather": [stretch("miami", 190, 2), stretch("greensboro", 190, 2)],
            "equipment.ventilation.airflow": ms.uniform("30 cfm", "90 cfm"),
            "tariff.price": ms.log_uniform("8 cent/kWh", "40 cent/kWh"),
            "strategy.heating_setpoint": ["68 degF", "76 degF"],
            f"options.{REHEAT}.strategy.reheat_below": ["1 K", "2 K"],
        },
        sample="sobol",
        n=n,
        seed=seed,
    )


@lru_cache
def undisturbed(n: int = 12) -> pd.DataFrame:
    return small(n).run(workers=1, progress=False)


def same(a: pd.DataFrame, b: pd.DataFrame) -> bool:
    """To the last bit, not-a-numbers included."""
    return list(a) == list(b) and bool(
        all(
            a[name].to_numpy().tobytes() == b[name].to_numpy().tobytes()
            if a[name].dtype == float
            else a[name].equals(b[name])
            for name in a
        )
    )


def kept_cases(folder: Path) -> set[int]:
    """Cases of the parts that count: those whose checksum is in the manifest."""
    names = json.loads((folder / MANIFEST).read_text())["parts"]
    paths = [folder / PARTS / name for name in names]
    return {c for p in paths for c in parquet.ParquetFile(p).read()["case"].to_pylist()}


def forget_forcings() -> None:
    simulating._forced.cache_clear()


def forcings_computed() -> int:
    return simulating._forced.cache_info().misses


def begin(folder: str, n: str, executor: Any = "threads") -> None:
    """What a test kills: the sweep, in parts of two cases."""
    # A shell that starts tests in the background has Ctrl-C ignored by all that they start.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    sweep_parts.PART = 2
    small(int(n)).run(executor, folder, workers=2, progress=False)


def fill(folder: str) -> None:
    """The sweep on a disk that takes two parts and then no more than a kilobyte of any."""
    sweep_parts.PART = 2
    add, taken = Store.add, []

    def counted(self: Store, columns: Any) -> None:
        if len(taken) == 2:
            resource.setrlimit(resource.RLIMIT_FSIZE, (1000, resource.RLIM_INFINITY))
        add(self, columns)
        taken.append(1)

    Store.add = counted  # type: ignore[method-assign]
    try:
        small().run(folder=Path(folder), workers=1, progress=False)
    except ms.SweepError as error:
        print(error)


if __name__ == "__main__":
    globals()[sys.argv[1]](*sys.argv[2:])
