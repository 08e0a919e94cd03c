"""Sweeps: the cases that are meant, the same bits anywhere, and nothing lost when they stop."""

import json
import multiprocessing
import os
import random
import signal
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pandas as pd
import pytest
from support.houses import house
from support.machines import machines
from support.small_sweeps import PLAIN, REHEAT, kept_cases, same, small, study, undisturbed
from support.weathers import stretch

import moistsim as ms
from moistsim.sweep import run as sweep_run
from moistsim.sweep import worker as sweep_worker
from moistsim.sweep.manifest import MANIFEST
from moistsim.sweep.store import PARTS

FORKS = multiprocessing.get_start_method() == "fork"
forked = pytest.mark.skipif(not FORKS, reason="a worker is sabotaged by forking a sabotaged parent")


# ---------------------------------------------------------------------- which cases there are


def test_a_grid_is_every_combination_in_order() -> None:
    sweep = ms.Sweep(
        study(), {"house.ach50": [1.0, 3.0, 5.0], "tariff.price": ["10 cent/kWh", 0.2]}
    )
    assert sweep.cases().to_numpy().tolist() == [
        [1.0, 0.1], [1.0, 0.2], [3.0, 0.1], [3.0, 0.2], [5.0, 0.1], [5.0, 0.2],
    ]  # fmt: skip
    assert sweep.units == {"house.ach50": "1/hour", "tariff.price": "USD/kWh"}


@pytest.mark.parametrize("sample", ["sobol", "latin_hypercube"])
def test_a_draw_has_one_point_in_each_stratum_of_each_range(sample: Any) -> None:
    """A stratified draw of 16 has one point in each sixteenth of each range.

    What stratified designs are for: of 16 points one in each sixteenth (Owen 1998; McKay,
    Beckman & Conover 1979; from memory).
    """
    cases = ms.Sweep(
        study(),
        {
            "house.ach50": ms.uniform(2.0, 6.0),
            "equipment.ventilation.airflow": ms.log_uniform("10 cfm", "160 cfm"),
            "weather": [stretch("miami", 190, 2), stretch("greensboro", 190, 2)],
        },
        sample=sample,
        n=16,
    ).cases()
    air_changes = np.floor((cases["house.ach50"] - 2.0) / 4.0 * 16)
    octaves = np.log2(cases["equipment.ventilation.airflow"] / 0.000471947443 / 10.0) / 4.0
    assert sorted(air_changes) == sorted(np.floor(octaves * 16)) == list(range(16))
    assert cases["weather"].value_counts().tolist() == [8, 8]


@pytest.mark.parametrize("sample", ["sobol", "latin_hypercube"])
def test_a_seed_repeats_its_draw_and_another_seed_does_not(sample: Any) -> None:
    def drawn(seed: int) -> pd.DataFrame:
        vary = {"house.ach50": ms.uniform(1, 7), "tariff.price": ms.uniform(0.1, 0.4)}
        return ms.Sweep(study(), vary, sample=sample, n=10, seed=seed).cases()

    assert drawn(4).equals(drawn(4))
    assert not (drawn(4) == drawn(5)).any().any()
    assert len(drawn(4)) == 10


def test_dependent_values_follow_and_keep_leaves_numbers_as_they_are() -> None:
    sweep = ms.Sweep(
        study(),
        {"house.ach50": [1.0, 3.0, 5.0], "house.floor_area": ["100 m2", "200 m2"]},
        dependent=lambda case: {
            "equipment.ventilation.airflow": f"{0.3 * case['house.floor_area']} L/s",
            "house.ach50": case["house.ach50"] + 1.0,
        },
        keep=lambda case: case["house.ach50"] > 3.0,
    )
    cases = sweep.cases()
    assert cases.index.tolist() == [2, 3, 4, 5]
    assert cases["house.ach50"].tolist() == [4.0, 4.0, 6.0, 6.0]
    assert cases["equipment.ventilation.airflow"].tolist() == pytest.approx([0.03, 0.06] * 2)


# ---------------------------------------------------------------------- what a row says


def test_a_row_is_the_row_of_the_study_made_by_hand() -> None:
    frame = ms.Sweep(
        study(),
        {
            "house.ach50": [4.5],
            "house.envelope.window_shgc": [0.3],
            "weather": [stretch("greensboro", 190, 2)],
            "equipment.dehumidifier.capacity": ["40 pint/day"],
            "equipment.cooling.stages.2.capacity": ["27000 Btu/h"],
            "strategy.cooling_setpoint": ["77 degF"],
            f"options.{REHEAT}.strategy.cooling_setpoint": ["75 degF"],
            "tariff.price": [0.31],
        },
    ).run(progress=False)
    cooling = ms.Cooling(
        stages=[
            ms.Stage(capacity="20000 Btu/h", airflow="620 cfm"),
            ms.Stage(capacity="27000 Btu/h", airflow="900 cfm"),
        ]
    )
    dry = machines(cooling=cooling, dehumidifier=ms.Dehumidifier(capacity="40 pint/day"))
    by_hand = ms.Study(
        house(ach50=4.5, envelope=ms.Envelope(window_shgc=0.3)),
        {
            REHEAT: (dry, ms.strategies.staged_reheat(cooling_setpoint="75 degF")),
            PLAIN: (
                machines(cooling=cooling, dehumidifier=None),
                ms.strategies.temperature_only(cooling_setpoint="77 degF"),
            ),
        },
        stretch("greensboro", 190, 2),
        tariff=ms.Tariff(price=0.31), start="07-10", end="07-11", step="15 min",
    ).run(progress=False).table("si")  # fmt: skip
    assert frame["option"].tolist() == [REHEAT, PLAIN] and set(frame["status"]) == {"ok"}
    numbers = by_hand.select_dtypes("number").drop(
        columns=[c for c in by_hand if "difference" in str(c)]
    )
    assert len(numbers.columns) > 40
    got = frame.set_index("option")[[str(c) for c in numbers]]
    assert (got.to_numpy(float) == numbers.to_numpy(float)).all()
    assert set(numbers) == set(frame.columns[frame.columns.get_loc("option") + 1 : -1])


def test_whole_parts_go_by_their_labels() -> None:
    frame = ms.Sweep(
        study(),
        {
            "equipment.dehumidifier": {
                "none": None,
                "big": ms.Dehumidifier(capacity="90 pint/day"),
            },
            "options." + PLAIN + ".equipment.cooling": {
                "one stage": ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")]),
                "as it is": study().options[PLAIN][0].cooling,
            },
        },
    ).run(progress=False)
    plain = frame.query("option == @PLAIN").set_index(
        ["equipment.dehumidifier", f"options.{PLAIN}.equipment.cooling"]
    )
    assert set(frame["status"]) == {"ok"}
    # A resting dehumidifier draws its standby; a machine of one stage has no second.
    assert (
        plain.loc[("big", "as it is"), "standby_kWh"]
        > plain.loc[("none", "as it is"), "standby_kWh"]
    )
    assert plain.loc[("none", "one stage"), "cooling_stage_2_h"] == 0.0
    assert plain.loc[("none", "as it is"), "cooling_stage_1_h"] > 0.0


def test_a_case_that_a_check_refuses_is_a_row_with_its_reason() -> None:
    """A refused case is a row with its reason.

    Heating at 25 degC is above what reheat may cool the room to, which the plain thermostat
    does not mind at 28 degC; shelter is one of five classes.
    """
    frame = ms.Sweep(
        study(),
        {
            "strategy.heating_setpoint": ["20 degC", "25 degC"],
            f"options.{PLAIN}.strategy.cooling_setpoint": ["28 degC"],
            "house.shelter": [3, 3.5],
        },
    ).run(progress=False).set_index(["case", "option"])  # fmt: skip
    assert frame.loc[(0, REHEAT), "status"] == frame.loc[(2, PLAIN), "status"] == "ok"
    assert "hidden reheat" in frame.loc[(2, REHEAT), "status"]
    assert np.isnan(frame.loc[(2, REHEAT), "total_kWh"])
    assert frame.loc[(2, PLAIN), "total_kWh"] > 0.0
    for option in (REHEAT, PLAIN):
        assert frame.loc[(1, option), "status"].startswith("House.shelter: cannot use 3.5. Use")
    assert np.isfinite(frame.loc[(0, REHEAT), "total_kWh"])


def test_a_case_that_fails_as_it_runs_is_a_row_too(monkeypatch: pytest.MonkeyPatch) -> None:
    real = sweep_worker.simulate

    def failing(house: ms.House, *rest: Any, **more: Any) -> ms.Season:
        if house.ach50 == 2.0:
            raise ZeroDivisionError("a leak of nothing")
        return real(house, *rest, **more)

    monkeypatch.setattr(sweep_worker, "simulate", failing)
    frame = ms.Sweep(study(), {"house.ach50": [1.0, 2.0, 3.0]}).run(progress=False)
    assert (
        frame["status"].tolist()
        == ["ok"] * 2 + ["ZeroDivisionError: a leak of nothing"] * 2 + ["ok"] * 2
    )


# ---------------------------------------------------------------------- the same bits anywhere


@pytest.mark.parametrize("workers", [2, 7])
def test_any_number_of_threads_gives_the_same_bits(workers: int) -> None:
    assert same(small().run(workers=workers, progress=False), undisturbed())
    with ThreadPoolExecutor(workers) as executor:
        assert same(small().run(executor, progress=False), undisturbed())
        assert executor.submit(abs, -1).result() == 1  # it is left open


@pytest.mark.parametrize("workers", [1, 2, 7])
def test_any_number_of_processes_gives_the_same_bits(workers: int) -> None:
    assert same(small().run("processes", workers=workers, progress=False), undisturbed())


@pytest.mark.slow
def test_processes_need_nothing_beforehand() -> None:
    """Those that know nothing of the sweep are sent the study."""
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=context) as executor:
        assert same(small().run(executor, progress=False), undisturbed())


def test_every_strategy_that_is_shipped_can_be_sent_to_a_process() -> None:
    import pickle

    for name, control in ms.strategies.BUILT_IN.items():
        options = {name: (machines(), control + ms.strategies.ADDITIONS["set_back"])}
        shared = sweep_worker.Shared(attrs.evolve(study(), options=options), {}, ())
        there = pickle.loads(sweep_worker.packed(shared)).study.options[name][1]
        assert there == options[name][1] and there.function is control.function

    @ms.strategy
    def of_a_cell(readings: Any, memory: Any) -> Any:
        return ms.Calls()

    options = {"own": (machines(), of_a_cell)}
    with pytest.raises(ms.InputError, match="cannot be sent to another process"):
        sweep_worker.packed(sweep_worker.Shared(attrs.evolve(study(), options=options), {}, ()))


# ---------------------------------------------------------------------- stopped and resumed


def started(call: str, *arguments: Any) -> subprocess.Popen[str]:
    file = Path(__file__).parents[1] / "support" / "small_sweeps.py"
    return subprocess.Popen(
        [sys.executable, str(file), call, *map(str, arguments)],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(p or os.curdir for p in sys.path)},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def first_part(folder: Path, process: subprocess.Popen[str]) -> None:
    """Wait until something is kept."""
    until = time.monotonic() + 300.0
    while not list((folder / PARTS).glob("part-*.parquet")):
        assert time.monotonic() < until and process.poll() is None, process.communicate()
        time.sleep(0.02)


@pytest.mark.parametrize("moment", [pytest.param(k, marks=pytest.mark.slow) for k in range(12)])
def test_killed_at_a_random_moment_it_goes_on_to_the_same_bits(moment: int, tmp_path: Path) -> None:
    n = 200
    folder = tmp_path / "sweep"
    process = started("begin", folder, n)
    first_part(folder, process)
    time.sleep(random.Random(moment).uniform(0.0, 0.5))
    process.send_signal(signal.SIGKILL)
    process.communicate()
    kept = kept_cases(folder)
    assert 0 < len(kept) < n
    (folder / PARTS / ".part-00000099.parquet.1.half").write_bytes(b"PAR1 cut off")
    assert set(pd.read_parquet(folder / PARTS)["case"]) >= kept
    ran = []

    class Watched(ThreadPoolExecutor):
        def submit(self, function: Any, *arguments: Any, **more: Any) -> Any:
            ran.extend(case for case, _ in arguments[1])
            return super().submit(function, *arguments, **more)

    with Watched(2) as executor:
        frame = small(n).resume(folder, executor, progress=False)
    assert same(frame, undisturbed(n))
    assert sorted([*ran, *kept]) == list(range(n))  # each case once
    assert not list((folder / PARTS).glob("*.half"))
    # Nothing is left to run, and any reader of Parquet reads the same.
    assert same(small(n).resume(folder, progress=False), frame)
    read = pd.read_parquet(folder / PARTS).sort_values("case", kind="stable", ignore_index=True)
    assert same(read, frame)


@pytest.mark.slow
@pytest.mark.parametrize("kind", [pytest.param("threads", marks=pytest.mark.slow), "processes"])
def test_ctrl_c_keeps_what_is_done_and_says_how_to_go_on(kind: str, tmp_path: Path) -> None:
    folder = tmp_path / "sweep"
    process = started("begin", folder, 40, kind)
    first_part(folder, process)
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=60)
    assert process.returncode != 0 and "KeyboardInterrupt" in errors
    assert "Sweep.resume(folder) runs the rest" in errors
    assert 0 < len(kept_cases(folder)) < 40
    assert same(small(40).resume(folder, progress=False), undisturbed(40))


@pytest.mark.slow
def test_a_full_disk_is_said_in_a_sentence_and_can_be_resumed(tmp_path: Path) -> None:
    process = started("fill", tmp_path / "sweep")
    said, errors = process.communicate(timeout=300)
    assert process.returncode == 0, errors
    assert "took no more" in said and "runs the rest" in said and said.count("\n") == 1
    assert len(list((tmp_path / "sweep" / PARTS).iterdir())) == 2
    assert 4 <= len(kept_cases(tmp_path / "sweep")) < 12
    assert same(small().resume(tmp_path / "sweep", progress=False), undisturbed())


def deadly(monkeypatch: pytest.MonkeyPatch, folder: Path, deaths: dict[int, int]) -> list[int]:
    """Let cases of `small` kill the process that runs them, each the first so many times."""
    undisturbed()  # Here and now: later this process would die of it too.
    real = sweep_worker.simulate
    air_changes = small().cases()["house.ach50"]
    (folder / "deaths").mkdir()

    def simulate(house: ms.House, *rest: Any, **more: Any) -> ms.Season:
        for case, times in deaths.items():
            marks = folder / "deaths" / f"{case}"
            already = len(marks.read_bytes()) if marks.exists() else 0
            if house.ach50 == air_changes[case] and already < times:
                marks.write_bytes(b"x" * (already + 1))
                os._exit(1)
        return real(house, *rest, **more)

    monkeypatch.setattr(sweep_worker, "simulate", simulate)
    return [*deaths]


def without(frame: pd.DataFrame, cases: list[int]) -> pd.DataFrame:
    return frame[~frame["case"].isin(cases)].reset_index(drop=True)


@forked
def test_a_worker_that_dies_is_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    deadly(monkeypatch, tmp_path, {5: 1, 9: 2})
    assert same(small().run("processes", workers=2, progress=False), undisturbed())
    assert len(list((tmp_path / "deaths").iterdir())) == 2


@forked
def test_a_case_that_kills_its_worker_is_a_row(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    poisoned = deadly(monkeypatch, tmp_path, {5: 99, 9: 99})
    frame = small().run("processes", tmp_path / "sweep", workers=2, progress=False)
    assert same(without(frame, poisoned), without(undisturbed(), poisoned))
    rows = frame[frame["case"].isin(poisoned)]
    assert set(rows["status"]) == {
        "the process that ran it died, twice and with no other case under way"
    }
    assert rows["option"].tolist() == [REHEAT, PLAIN] * 2 and rows["total_kWh"].isna().all()
    assert same(small().resume(tmp_path / "sweep", progress=False), frame)


@forked
def test_where_all_cases_kill_their_workers_the_sweep_ends(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is no fault of theirs then."""
    monkeypatch.setattr(sweep_worker, "simulate", lambda *_, **__: os._exit(1))
    folder = tmp_path / "own"
    with pytest.raises(ms.SweepError, match="worker after worker died .* Sweep.resume"):
        ms.Sweep(study(), {"house.ach50": [1.0 * k for k in range(1, 9)]}).run(
            "processes", folder, workers=2, progress=False
        )
    assert len(kept_cases(folder)) == sweep_run.DEADLY


@forked
def test_a_pool_that_was_given_ends_with_its_worker(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    deadly(monkeypatch, tmp_path, {5: 1})
    folder = tmp_path / "given"
    with (
        ProcessPoolExecutor(2) as executor,
        pytest.raises(ms.SweepError, match="a worker died with .* cases under way; .* is whole"),
    ):
        small().run(executor, folder, progress=False)
    assert same(small().resume(folder, progress=False), undisturbed())


def test_hourly_tables_only_when_asked_for(tmp_path: Path) -> None:
    sweep = ms.Sweep(study(), {"house.ach50": [1.0, 2.0]})
    frame = sweep.run(folder=tmp_path / "with", hourly=True, progress=False)
    table = pd.read_parquet(tmp_path / "with" / "hourly" / "case-00000001.parquet")
    assert table.groupby("option").size().to_dict() == {REHEAT: 48, PLAIN: 48}
    compressor = table.groupby("option")["compressor_kWh"].sum()
    expected = frame.query("case == 1").set_index("option")["compressor_kWh"]
    assert compressor.to_dict() == pytest.approx(expected.to_dict(), rel=1e-12)
    sweep.run(folder=tmp_path / "without", progress=False)
    assert not (tmp_path / "without" / "hourly").exists()


# ---------------------------------------------------------------------- what is refused


def test_a_folder_of_another_sweep_says_what_differs(tmp_path: Path) -> None:
    small(2).run(folder=tmp_path / "sweep", progress=False)
    with pytest.raises(ms.InputError, match="differs in n: 2, here 3"):
        small(3).resume(tmp_path / "sweep")
    with pytest.raises(ms.InputError, match="differs in seed: 3, here 8"):
        small(2, seed=8).resume(tmp_path / "sweep")
    other = attrs.evolve(small(2), base=study(tariff=ms.Tariff(price=0.2)))
    with pytest.raises(ms.InputError, match="differs in base: tariff[.]"):
        other.resume(tmp_path / "sweep")
    manifest = json.loads((tmp_path / "sweep" / MANIFEST).read_text())
    (tmp_path / "sweep" / MANIFEST).write_text(json.dumps({**manifest, "source": "another"}))
    with pytest.raises(ms.InputError, match="differs in source: 'another', here"):
        small(2).resume(tmp_path / "sweep")
    with pytest.raises(ms.InputError, match="which holds a sweep.*Sweep.resume"):
        small(2).run(folder=tmp_path / "sweep")
    with pytest.raises(ms.InputError, match="which holds something else"):
        small(2).run(folder=tmp_path)
    with pytest.raises(ms.InputError, match="no manifest.json"):
        small(2).resume(tmp_path / "nowhere")


@pytest.mark.parametrize(
    ("vary", "more", "sentence"),
    [
        ({}, {}, "Sweep.vary: cannot use {}. Use one name or more"),
        ({"house.ach": [1]}, {}, ("Sweep.vary: unknown name 'ach' of house in 'house.ach'. Did "
                                 "you mean 'ach50'?")),
        ({"hose.ach50": [1]}, {}, (
            "Sweep.vary: 'hose.ach50' begins with an unknown name, 'hose'. "
            "Did you mean 'house'? Other choices: 'weather', 'tariff', "
            "'equipment', 'strategy', 'options'.")),
        ({"house.envelope.window_sgc": [1]}, {}, (
            "Sweep.vary: unknown name 'window_sgc' of house.envelope in "
            "'house.envelope.window_sgc'. Did you mean 'window_shgc'?")),
        ({"equipment.ventilation.air": [1]}, {}, (
            "Sweep.vary: unknown name 'air' of "
            "equipment.ventilation in "
            "'equipment.ventilation.air'. Did you mean "
            "'airflow'?")),
        ({"equipment.furnace.capacity": [1]}, {}, "a part that the base study has"),
        ({"equipment.cooling.stages.3.capacity": [1]}, {}, "one of '1', '2'"),
        ({"strategy.cooling_setpiont": [1]}, {}, (
            "Sweep.vary: unknown setpoint 'cooling_setpiont' in "
            "'strategy.cooling_setpiont'. Did you mean 'cooling_setpoint'?")),
        ({"options.strip reheet.strategy.deadband": [1]}, {}, (
            "Sweep.vary: 'options.strip reheet.strategy.deadband' names no option: 'strip "
            "reheet' is unknown. Did you mean 'strip reheat'? The other choice is "
            "'temperature only'.")),
        ({f"options.{PLAIN}.strategy.reheat_below": [1]}, {}, (
            "Sweep.vary: unknown setpoint 'reheat_below' in 'options.temperature "
            "only.strategy.reheat_below'. Use one of 'cooling_setpoint', "
            "'heating_setpoint', 'deadband', 'second_stage_at'.")),
        ({"house.ach50": []}, {}, "'house.ach50': cannot use []. Use a list of values"),
        ({"house.ach50": [1, -2]}, {}, (
            "Sweep 'house.ach50': -2 is too small. Use a rate of air changes from 0 to 60 "
            "per hour.")),
        ({"house.ach50": ["2 degC"]}, {}, (
            "Sweep 'house.ach50': cannot read '2 degC' as a rate of air changes. Write "
            "'1.5 ACH' or '1.5'.")),
        ({"house.floor_area": ms.uniform("100 m2", "99999 ft2")}, {"sample": "sobol", "n": 4}, (
            "Sweep 'house.floor_area': '99999 ft2' is too large. Use an area from 53.82 "
            "to 53,820 ft².")),
        ({"house.ach50": ms.uniform(3, 2)}, {"sample": "sobol", "n": 4}, "cannot use '3 to 2'. Use a range"),
        ({"house.ach50": ms.log_uniform(0, 2)}, {"sample": "sobol", "n": 4}, "bounds above zero"),
        ({"house.envelope.construction": ["hevy"]}, {}, "cannot use 'hevy'. Use one of"),
        ({"house.envelope": [ms.Envelope()]}, {}, "a dict, whose labels"),
        ({"weather": ["miami"]}, {}, "cannot use 'miami'. Use a Weather"),
        ({"house.ach50": ms.uniform(1, 2)}, {}, (
            "Sweep.vary['house.ach50']: a range in a grid. Use a list of values; or "
            "sample='sobol' or 'latin_hypercube'.")),
        ({"house.ach50": [1]}, {"n": 4}, "Sweep.n: cannot use 4"),
        ({"house.ach50": [1]}, {"sample": "sobol"}, "Sweep.n: cannot use None"),
        ({"house.ach50": [1]}, {"sample": "sobl", "n": 4}, (
            "Sweep.sample: cannot use 'sobl'. Did you mean 'sobol'? Other choices: 'grid', "
            "'latin_hypercube', 'saltelli'.")),
        ({"house.ach50": [1]}, {"seed": -1}, "Sweep.seed: cannot use -1"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_said_before_any_run(
    vary: Any, more: dict[str, Any], sentence: str
) -> None:
    with pytest.raises(ms.InputError) as error:
        ms.Sweep(study(), vary, **more)
    assert sentence in str(error.value)


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"dependent": lambda case: 3}, "Sweep.dependent of case 0: cannot use 3. Use a dict"),
        ({"dependent": lambda case: {"house.ach": 3}}, (
            "Sweep.vary: unknown name 'ach' of house in 'house.ach'. Did you mean 'ach50'?")),
        ({"dependent": lambda case: {"house.bedrooms": -3}}, (
            "Sweep.dependent of case 0, 'house.bedrooms': -3 is too small. Use a number "
            "from 0 to 20.")),
        ({"keep": lambda case: False}, (
            "Sweep.keep: not one case that it keeps. Use True for some of them.")),
    ],
)  # fmt: skip
def test_what_functions_give_is_checked_before_any_run(more: Any, sentence: str) -> None:
    with pytest.raises(ms.InputError) as error:
        ms.Sweep(study(), {"house.ach50": [1.0]}, **more).run(progress=False)
    assert sentence in str(error.value)


def test_how_to_run_is_checked_before_any_run() -> None:
    sweep = ms.Sweep(study(), {"house.ach50": [1.0]})
    for arguments, sentence in (
        ({"executor": "thread"}, "Sweep.run executor: cannot use 'thread'"),
        ({"workers": 0}, "Sweep.run workers: cannot use 0"),
        ({"hourly": True}, "a folder beside it"),
    ):
        with pytest.raises(ms.InputError) as error:
            sweep.run(**arguments)  # type: ignore[arg-type]
        assert sentence in str(error.value)


def test_a_saltelli_design_is_what_sobol_indices_are_read_from() -> None:
    """The price carries nearly all of the variance of a bill.

    The bill is price times electricity: with a price far wider than what tightness does in two
    days, nearly all of the variance is the price's.
    """
    sweep = ms.Sweep(
        study(),
        {"house.ach50": ms.uniform(2, 3), "tariff.price": ms.uniform(0.05, 0.5)},
        sample="saltelli", n=16, seed=1,
    )  # fmt: skip
    frame = sweep.run(progress=False)
    assert len(sweep.cases()) == 16 * (2 + 2)
    indices = ms.sobol_from(frame, sweep.cases(), "cost_USD", option=PLAIN, resamples=100)
    assert indices.loc["tariff.price", "total"] > 0.9
    assert indices.loc["house.ach50", "total"] < 0.1


def test_a_saltelli_design_may_have_labels_and_dependent_values() -> None:
    sweep = ms.Sweep(
        study(),
        {"house.ach50": ms.uniform(2, 3), "weather": [stretch("miami", 190, 2), stretch("greensboro", 190, 2)]},
        sample="saltelli", n=4, seed=1,
        dependent=lambda case: {"tariff.price": 0.1 * case["house.ach50"]},
    )  # fmt: skip
    frame = sweep.run(workers=1, progress=False)
    assert "tariff.price" in sweep.cases()
    indices = ms.sobol_from(frame, sweep.cases(), "cost_USD", option=PLAIN, resamples=100)
    assert set(indices.index) == {"house.ach50", "weather"}
    drawn = sweep.cases()[["house.ach50", "weather"]]
    again = ms.sobol_from(frame, drawn, "cost_USD", option=PLAIN, resamples=100)
    assert again.equals(indices)


def test_cases_of_a_frame_feed_a_tornado(tmp_path: Path) -> None:
    """A doubled price swings the bill by the bill itself.

    The bill is price times electricity, so that a doubled price doubles it: the swing is the
    bill itself.
    """
    base = {"house.ach50": 3.0, "tariff.price": 0.1, "weather": "miami"}
    cases = ms.one_at_a_time_cases(
        base,
        {
            "house.ach50": ms.uniform(1.0, 6.0),
            "tariff.price": [0.2],
            "weather": ["greensboro"],
        },
    )
    weathers = {name: stretch(name, 190, 2) for name in ("miami", "greensboro")}
    sweep = ms.Sweep(study(), {"weather": weathers}, sample=cases)
    assert sweep.cases().to_dict("records") == cases.to_dict("records")
    frame = sweep.run(folder=tmp_path / "sweep", progress=False)
    table = ms.tornado(frame, 0, "cost_USD", option=PLAIN)
    assert set(table.index) == set(base)
    bill = frame.query("case == 0 and option == @PLAIN")["cost_USD"].item()
    assert table.loc["tariff.price", "swing"] == pytest.approx(bill, rel=1e-12)
    assert table.attrs["base"] == bill
    # A row alone is the row of the whole; and the folder knows its cases.
    alone = ms.Sweep(study(), {"weather": weathers}, sample=cases.loc[[2]])
    assert same(alone.run(progress=False), frame.query("case == 2").reset_index(drop=True))
    with pytest.raises(ms.InputError, match="differs in n: 5, here 1; vary: house.ach50"):
        alone.resume(tmp_path / "sweep")


def test_a_design_that_was_drawn_beforehand_runs_as_the_sweeps_own() -> None:
    vary = {"house.ach50": ms.uniform(2, 3), "tariff.price": [0.1, 0.2]}
    design = ms.saltelli_cases(vary, 2, seed=1)
    own = ms.Sweep(study(), vary, sample="saltelli", n=2, seed=1).run(progress=False)
    assert same(ms.Sweep(study(), sample=design).run(progress=False), own)


@pytest.mark.parametrize(
    ("cases", "more", "sentence"),
    [
        ({"house.ach": [1.0]}, {}, "Did you mean 'ach50'?"),
        ({"house.ach50": [1.0, -2.0]}, {}, (
            "Sweep.sample['house.ach50'], case 1: -2.0 is too small. Use a rate of air "
            "changes from 0 to 60 per hour.")),
        ({"weather": ["miami"]}, {}, "labels that vary['weather'] has by a dict"),
        ({"weather": [stretch("miami", 190, 2)]}, {}, "weathers. Use labels"),
        ({"weather": ["x"]}, {"vary": {"weather": {"y": stretch("miami", 190, 2)}}}, "case 0: cannot use 'x'"),
        ({"house.ach50": [1.0]}, {"vary": {"tariff.price": [0.1]}}, "no such column in the frame"),
        ({"house.ach50": [1.0]}, {"n": 3}, "Sweep.n: cannot use 3. Use none beside a frame"),
        ({}, {}, "a frame of no case"),
    ],
)  # fmt: skip
def test_what_a_frame_cannot_hold_is_said(cases: Any, more: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ms.InputError) as error:
        ms.Sweep(study(), sample=pd.DataFrame(cases), **more)
    assert sentence in str(error.value)
    with pytest.raises(ms.InputError, match="cases by whole numbers"):
        ms.Sweep(study(), sample=pd.DataFrame({"house.ach50": [1.0]}, index=["a"]))


def test_a_table_of_cases_gives_what_its_sample_gave() -> None:
    vary = {
        "house.ach50": ms.normal(2.0, 0.5),
        "weather": [stretch("miami", 190, 2), stretch("greensboro", 190, 2)],
        "tariff.price": ms.triangular("10 cent/kWh", "15 cent/kWh", "30 cent/kWh"),
    }
    drawn = ms.Sweep(study(), vary, sample="sobol", n=4, seed=2)
    table = drawn.cases()
    given = ms.Sweep(study(), vary, sample=table[[*reversed([*table])]])
    frames = [sweep.run(workers=1, progress=False) for sweep in (drawn, given)]
    assert same(*frames)
    json.dumps(given.manifest(), allow_nan=False)
    json.dumps(drawn.manifest(), allow_nan=False)


def test_an_empty_cell_is_the_study_s_own() -> None:
    table = pd.DataFrame(
        {"house.ach50": [None, 2.0, 5.0], "tariff.price": [0.2, None, None]}, index=[3, 5, 7]
    )
    sweep = ms.Sweep(study(), {"house.ach50": [2, 5], "tariff.price": [0.2]}, sample=table)
    frame = sweep.run(workers=1, progress=False)
    assert [*frame["case"].unique()] == [3, 5, 7]
    plain = ms.Sweep(study(), {"house.ach50": [2, 5]}).run(workers=1, progress=False)
    kwh = frame.set_index(["case", "option"])["total_kWh"].unstack()
    assert kwh.loc[5].tolist() == kwh.loc[3].tolist()  # the study's own leakage is 2
    wanted = plain.set_index(["case", "option"])["total_kWh"].unstack()
    assert kwh.loc[7].tolist() == wanted.loc[1].tolist()
