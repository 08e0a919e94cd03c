"""Sizes that nobody can mean, or that no computer holds: one sentence, at once, in little memory."""

import os
import tracemalloc
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from support.scenario_files import write_ten_days
from support.small_sweeps import PLAIN, REHEAT, same, study

import moistsim as ms
from moistsim.__main__ import main
from moistsim.core.whole_numbers import MOST_CASES
from moistsim.sweep import executor as sweep_executor

RANGES: dict[str, Any] = {"house.ach50": ms.uniform(1, 7), "tariff.price": ms.uniform(0.1, 0.4)}


def drawn(n: Any, sample: Any = "sobol", seed: Any = 0) -> ms.Sweep:
    return ms.Sweep(study(), RANGES, sample=sample, n=n, seed=seed)


def said(do: Callable[[], Any], *, megabytes: float = 50.0) -> str:
    """The sentence of the refusal, which takes little memory."""
    tracemalloc.start()
    try:
        with pytest.raises(ms.InputError) as error:
            do()
        peak = tracemalloc.get_traced_memory()[1] / 1e6
    finally:
        tracemalloc.stop()
    sentence = str(error.value)
    assert peak < megabytes and "\n" not in sentence and len(sentence) < 300
    return sentence


def named(value: Any) -> str:
    """A name of a test; pytest prints no number of thousands of digits."""
    return "huge" if isinstance(value, int) and value > 1e30 else str(value)[:12]


ABSURD = [
    1e8,
    10**8,
    10**20,
    10**5000,
    -1,
    0,
    3.5,
    16.0,
    True,
    "16",
    [16],
    float("nan"),
    np.float64(4),
]


@pytest.mark.parametrize("n", ABSURD, ids=named)
@pytest.mark.parametrize("sample", ["sobol", "latin_hypercube", "saltelli"])
def test_a_number_of_cases_that_cannot_be_meant(sample: str, n: Any) -> None:
    sentence = said(lambda: drawn(n, sample))
    assert sentence.startswith("Sweep.n: cannot use ") or "a number of dozens of digits" in sentence
    assert "1,048,576" in sentence


@pytest.mark.parametrize("n", ABSURD, ids=named)
def test_other_counts_that_cannot_be_meant(n: Any) -> None:
    assert "saltelli_cases(n)" in said(lambda: ms.saltelli_cases(RANGES, n))
    assert "how_sure n" in said(lambda: ms.how_sure(study(), {}, None, RANGES, n=n))


@pytest.mark.parametrize("seed", [-1, 3.5, True, "3", 10**5000, 2**128], ids=named)
def test_a_seed_that_cannot_be_used(seed: Any) -> None:
    assert said(lambda: drawn(4, seed=seed)).startswith("Sweep.seed: ")
    assert "saltelli_cases(seed)" in said(lambda: ms.saltelli_cases(RANGES, 4, seed))


def test_a_fine_grid_of_a_figure_and_a_seed_of_a_search() -> None:
    frame = pd.DataFrame({"case": [0]})
    pair = (REHEAT, PLAIN)
    for points in (10**8, 4, 3.5):
        sentence = said(lambda p=points: ms.break_even(frame, pair, "x", "y", points=p))
        assert sentence.startswith("break_even(points): ") and "from 5 to 2,000" in sentence
    search = {"vary": {"cooling_setpoint": (24.0, 25.0)}, "hold": "mean RH <= 70 %"}
    for seed in (-1, 3.5, "x"):
        sentence = said(lambda s=seed: ms.tune(study(), PLAIN, seed=s, **search))
        assert sentence.startswith("tune seed: ")
    assert said(
        lambda: ms.sobol_indices(lambda case: case["house.ach50"], RANGES, n=16, seed=-1)
    ).startswith("saltelli_cases(seed): ")


def test_numbers_of_numpy_are_numbers() -> None:
    own, numpy_s = drawn(4, seed=3), drawn(np.int64(4), seed=np.int32(3))
    assert own.manifest() == numpy_s.manifest()
    assert own.cases().equals(numpy_s.cases())


def test_a_grid_and_a_frame_that_no_table_holds() -> None:
    thousand = [1.0 + k / 1000 for k in range(500)]
    grid = {"house.ach50": thousand, "tariff.price": thousand, "house.bedrooms": thousand}
    sentence = said(lambda: ms.Sweep(study(), grid))
    assert sentence == (
        "Sweep.vary: a grid of 1.25e+08 cases. Use shorter lists, with at most 1,048,576 "
        "combinations, or sample='sobol' and n."
    )
    frame = pd.DataFrame({"house.ach50": np.ones(MOST_CASES + 1)})
    assert "a frame of 1,048,577 cases" in said(lambda: ms.Sweep(study(), sample=frame))


@pytest.mark.parametrize("workers", [0, -3, 3.5, True, "2", 10_000, 10**8, 10**5000], ids=named)
@pytest.mark.parametrize("executor", ["threads", "processes", None])
def test_workers_that_cannot_be_meant(executor: Any, workers: Any) -> None:
    sweep = ms.Sweep(study(), {"house.ach50": [1.0]})
    sentence = said(lambda: sweep.run(executor, workers=workers, progress=False))
    most = 16 * (os.cpu_count() or 1)
    assert sentence.startswith("Sweep.run workers: ")
    assert f"a whole number from 1 to {most}, 16 for each core of this computer." in sentence
    assert said(lambda: study().run(workers=workers)).startswith("Study.run workers: ")


def test_no_more_workers_begin_than_there_are_cases(monkeypatch: pytest.MonkeyPatch) -> None:
    begun = []

    class Counted(ProcessPoolExecutor):
        def __init__(self, workers: int, **more: Any) -> None:
            begun.append(workers)
            super().__init__(workers, **more)

    monkeypatch.setattr(sweep_executor, "ProcessPoolExecutor", Counted)
    sweep = ms.Sweep(study(), {"house.ach50": [1.0, 2.0]})
    frame = sweep.run("processes", workers=16, progress=False)
    assert begun == [2]
    with ThreadPoolExecutor(2) as given:
        # An executor that was given may have any number.
        assert same(sweep.run(given, workers=10_000, progress=False), frame)


@pytest.mark.parametrize(
    "n", ["1e8", "100_000_000", "0", "-4", "3.5", '"8"', "true", "1" + "0" * 4000], ids=named
)
def test_a_file_with_an_absurd_number_of_cases(
    n: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    write_ten_days(tmp_path / "july.csv", "07-08")
    scenario = ms.scenario.DEMO.read_text(encoding="utf-8")
    (tmp_path / "house.toml").write_text(scenario, encoding="utf-8")
    text = f'scenario = "house.toml"\nsample = "sobol"\nn = {n}\n[vary]\nhouse.ach50 = {{ from = 1, to = 7 }}\n'
    (tmp_path / "sweep.toml").write_text(text, encoding="utf-8")
    assert main(["sweep", "sweep.toml", "--out", "out"]) == 2
    sentence = capsys.readouterr().err
    assert sentence.startswith("moistsim: sweep.toml n: ") and sentence.count("\n") == 1
    assert "Use a whole number of cases from 1 to 1,048,576." in sentence and len(sentence) < 300
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("workers", ["0", "-1", "10000"])
def test_the_command_refuses_workers_before_anything_runs(
    workers: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sweep = tmp_path / "sweep.toml"
    demo = ms.scenario.DEMO.read_text(encoding="utf-8")
    sweep.write_text(demo + "\n[vary]\nhouse.bedrooms = [2, 3]\n", encoding="utf-8")
    out = tmp_path / "out"
    assert main(["sweep", str(sweep), "--out", str(out), "--workers", workers]) == 2
    sentence = capsys.readouterr().err
    assert sentence.startswith(f"moistsim: --workers: cannot use {workers}. Use a whole number ")
    assert not out.exists()
