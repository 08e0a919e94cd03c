"""What a stopped sweep is compared with before it goes on: all that a result depends on."""

import json
import logging
import os
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pandas as pd
import pyarrow.parquet as parquet
import pytest
from support.houses import house
from support.machines import machines
from support.small_sweeps import PLAIN, same, small, study, undisturbed
from support.weathers import stretch

import moistsim as ms
from moistsim.core.files import HALF
from moistsim.sweep import manifest as sweep_manifest
from moistsim.sweep import parts as sweep_parts
from moistsim.sweep import run as sweep_run
from moistsim.sweep.manifest import MANIFEST, PACKAGES
from moistsim.sweep.store import HOURLY, PARTS

ROOT = Path(__file__).parents[2]


# ---------------------------------------------------------------------- what makes another sweep


def drier(weather: ms.Weather) -> ms.Weather:
    """The same weather, less dew in one of its hours."""
    frame = weather.frame
    frame.loc[frame.index[30], ["temp_dew", "humidity_ratio"]] -= [1.0, 0.0005]
    return attrs.evolve(weather, frame=frame)


def control(limit: float = 24.0, stage: float = 1.0, *, default: float = 50.0) -> ms.Strategy:
    """A control whose constant, helper, closure and default are given."""

    def helper(temperature: float) -> float:
        return stage if temperature > limit else 0.0

    def own(readings: Any, memory: Any, *, dry_above: float = default) -> Any:
        wet = readings.relative_humidity > dry_above
        return ms.Calls(cooling=helper(readings.temperature), dehumidifier=1.0 if wet else 0.0)

    return ms.strategy(own)


def written(constant: str, check: Callable[[dict[str, float]], None] | None = None) -> ms.Strategy:
    """A control from a text in which one constant stands."""
    scope: dict[str, Any] = {"ms": ms, "__name__": __name__}
    exec(
        "def own(readings, memory):\n"
        f"    return ms.Calls(cooling=1.0 if readings.temperature > {constant} else 0.0)",
        scope,
    )
    return ms.strategy(check=check)(scope["own"])


def scaled(by: float) -> Any:
    @ms.addition
    def lean(readings: Any, memory: Any, calls: Any) -> Any:
        return calls._replace(dehumidifier=calls.dehumidifier * by)

    return lean


def rows(above: str) -> ms.Strategy:
    table = {"do": "cooling stage 1", "when": f"temperature > {above}"}
    return ms.rule_table([{**table, "release_when": "temperature < 70 degF"}])


def with_control(strategy: ms.Strategy) -> dict[str, Any]:
    return {"options": {PLAIN: (machines(), strategy)}}


VARY: dict[str, Any] = {"house.ach50": ms.uniform(1, 7), "tariff.price": [0.1, 0.2]}
DRAWN: dict[str, Any] = {"sample": "sobol", "n": 2, "seed": 3}
LABELED = {
    "equipment.dehumidifier": {"small": ms.Dehumidifier(capacity="30 pint/day")},
    "weather": {"here": stretch("miami", 190, 2)},
}


def swept(vary: Any = None, drawn: Any = None, **changes: Any) -> ms.Sweep:
    vary = {**VARY, **LABELED, **(vary or {})}
    return ms.Sweep(study(**changes), vary, **{**DRAWN, **(drawn or {})})


CHANGES: list[tuple[str, str, Callable[[], ms.Sweep], Callable[[], ms.Sweep]]] = [
    ("house", "base: house", swept, lambda: swept(house=house(floor_area="150 m2"))),
    ("tariff", "base: tariff", swept, lambda: swept(tariff=ms.Tariff(price=0.11))),
    (
        "emissions",
        "base: emissions",
        swept,
        lambda: swept(emissions=ms.Emissions(electricity=0.5)),
    ),
    ("season", "base: end: '07-11', here '07-10'", swept, lambda: swept(end="07-10")),
    ("step", "base: step: '15 min', here '10 min'", swept, lambda: swept(step="10 min")),
    (
        "weather",
        "weathers: base",
        swept,
        lambda: swept(weather=drier(stretch("miami", 190, 2))),
    ),
    (
        "weather behind a label",
        "vary: weather: here",
        swept,
        lambda: swept({"weather": {"here": drier(stretch("miami", 190, 2))}}),
    ),
    (
        "machine behind a label",
        "vary: equipment.dehumidifier: small",
        swept,
        lambda: swept(
            {"equipment.dehumidifier": {"small": ms.Dehumidifier(capacity="31 pint/day")}}
        ),
    ),
    (
        "range",
        "vary: house.ach50: 'uniform from 1.0 to 7.0 1/hour', here 'uniform from 1.0 to 8.0",
        swept,
        lambda: swept({"house.ach50": ms.uniform(1, 8)}),
    ),
    (
        "kind of range",
        "here 'log-uniform from 1.0 to 7.0 1/hour'",
        swept,
        lambda: swept({"house.ach50": ms.log_uniform(1, 7)}),
    ),
    ("list", "vary: tariff.price", swept, lambda: swept({"tariff.price": [0.1, 0.3]})),
    ("n", "n: 2, here 3", swept, lambda: swept(drawn={"n": 3})),
    ("seed", "seed: 3, here 4", swept, lambda: swept(drawn={"seed": 4})),
    (
        "sample",
        "sample: 'sobol', here 'latin_hypercube'",
        swept,
        lambda: swept(drawn={"sample": "latin_hypercube"}),
    ),
    (
        "dependent values",
        "cases: digest",
        lambda: swept(drawn={"dependent": lambda case: {"house.bedrooms": 2}}),
        lambda: swept(drawn={"dependent": lambda case: {"house.bedrooms": 3}}),
    ),
    (
        "kept cases",
        "cases: count: 1, here 2",
        lambda: swept(drawn={"keep": lambda case: case["house.ach50"] < 4.0}),
        lambda: swept(drawn={"keep": lambda case: True}),
    ),
    (
        "machine of an option",
        f"base: options: {PLAIN}",
        lambda: swept(**with_control(control())),
        lambda: swept(
            options={PLAIN: (machines(dehumidifier=ms.Dehumidifier(capacity="90 pint/day")), control())}
        ),
    ),
    (
        "house of an option",
        f"base: options: {PLAIN}",
        lambda: swept(options={PLAIN: (machines(), control(), house(ach50=3.0))}),
        lambda: swept(options={PLAIN: (machines(), control(), house(ach50=2.5))}),
    ),
    (
        "setpoint",
        f"base: options: {PLAIN}",
        lambda: swept(**with_control(control())),
        lambda: swept(**with_control(control()(dry_above=51.0))),
    ),
    (
        "default",
        f"base: options: {PLAIN}",
        lambda: swept(**with_control(control())),
        lambda: swept(**with_control(control(default=60.0))),
    ),
    (
        "value in a closure of a helper",
        f"base: options: {PLAIN}",
        lambda: swept(**with_control(control(limit=24.0))),
        lambda: swept(**with_control(control(limit=20.0))),
    ),
    (
        "constant",
        f"base: options: {PLAIN}",
        lambda: swept(**with_control(written("99.0"))),
        lambda: swept(**with_control(written("40.0"))),
    ),
    (
        "check of the setpoints",
        f"base: options: {PLAIN}",
        lambda: swept(**with_control(written("20.0", lambda settings: None))),
        lambda: swept(**with_control(written("20.0", lambda settings: settings.clear()))),
    ),
    (
        "addition",
        f"base: options: {PLAIN}",
        lambda: swept(**with_control(ms.strategies.with_dehumidifier + scaled(1.0))),
        lambda: swept(**with_control(ms.strategies.with_dehumidifier + scaled(0.0))),
    ),
    (
        "rule table",
        f"base: options: {PLAIN}",
        lambda: swept(**with_control(rows("75 degF"))),
        lambda: swept(**with_control(rows("76 degF"))),
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("said", "first", "then"), [each[1:] for each in CHANGES], ids=[each[0] for each in CHANGES]
)
def test_resume_refuses_a_sweep_that_differs_in_anything(
    said: str, first: Callable[[], ms.Sweep], then: Callable[[], ms.Sweep], tmp_path: Path
) -> None:
    # Nothing has run, so only the comparison can refuse.
    first_folder(first(), tmp_path)
    same_again = first().manifest()
    assert [*sweep_manifest.differences(read(tmp_path), same_again)] == []
    with pytest.raises(ms.InputError) as error:
        then().resume(tmp_path, progress=False)
    assert said in str(error.value)
    assert len(str(error.value)) - len(str(tmp_path)) < 240 and "\n" not in str(error.value)
    # And in another process's eyes it is another study too, so no worker keeps the old one.
    pairs = [(each.base, each._varied.labels) for each in (first(), then())]
    if "base: options" in said:
        assert sweep_manifest.digest_of(pairs[0][0]) != sweep_manifest.digest_of(pairs[1][0])


def first_folder(sweep: ms.Sweep, folder: Path) -> None:
    """A folder as a sweep leaves it that was stopped before its first part."""
    text = json.dumps({**sweep.manifest(), "hourly": False, "parts": {}})
    (folder / MANIFEST).write_text(text, encoding="utf-8")


def read(folder: Path) -> Any:
    return json.loads((folder / MANIFEST).read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", [*PACKAGES, "source", "python", "machine"])
def test_resume_refuses_another_version(name: str, tmp_path: Path) -> None:
    first_folder(swept(), tmp_path)
    manifest = read(tmp_path)
    assert manifest[name] not in ("", "not installed")
    (tmp_path / MANIFEST).write_text(json.dumps({**manifest, name: "0.0.1"}), encoding="utf-8")
    with pytest.raises(ms.InputError) as error:
        swept().resume(tmp_path, progress=False)
    assert f"differs in {name}: '0.0.1', here '{manifest[name]}'. Use the sweep and the versions" in str(error.value)  # fmt: skip


def test_every_library_is_compared_or_known_to_change_no_number() -> None:
    """Each dependency is in the manifest, or on this list of those that change no number."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    names = {text.split(">=")[0] for text in project["dependencies"]}
    harmless = {
        "attrs",
        "emcee",
        "jinja2",
        "lazy_loader",
        "matplotlib",
        "platformdirs",
        "requests",
        "tomli-w",
        "tqdm",
    }
    assert names == (set(PACKAGES) - {"moistsim", "llvmlite"}) | harmless


def test_goal_base_and_seed_of_a_grid_change_no_row_and_stop_no_resume(tmp_path: Path) -> None:
    grid = {"house.ach50": [1.0, 2.0]}
    frame = ms.Sweep(study(), grid).run(folder=tmp_path / "s", progress=False)
    other = study(base=PLAIN, goal=ms.Goal(above_rh="55 %"))
    resumed = ms.Sweep(other, grid, seed=5).resume(tmp_path / "s", progress=False)
    assert same(resumed, frame)
    assert same(ms.Sweep(other, grid, seed=5).run(progress=False), frame)


def test_a_constant_that_was_edited_is_never_answered_from_the_folder(tmp_path: Path) -> None:
    """99 degC never cools and 20 degC does; the stale answer would be that of 99."""
    idle, cooling = (
        ms.Sweep(study(**with_control(written(text))), {"house.ach50": [2.0]})
        for text in ("99.0", "20.0")
    )
    stale = idle.run(folder=tmp_path / "sweep", progress=False)["total_kWh"].item()
    fresh = cooling.run(progress=False)["total_kWh"].item()
    assert fresh > stale + 5.0
    with pytest.raises(ms.InputError, match=f"differs in base: options: {PLAIN}"):
        cooling.resume(tmp_path / "sweep", progress=False)


def test_a_global_that_a_session_changes_changes_the_sweep_and_its_folder(tmp_path: Path) -> None:
    scope: dict[str, Any] = {"ms": ms, "__name__": __name__, "LIMIT": 99.0}
    exec(
        "def own(readings, memory):\n"
        "    return ms.Calls(cooling=1.0 if readings.temperature > LIMIT else 0.0)",
        scope,
    )
    sweep = ms.Sweep(study(**with_control(ms.strategy(scope["own"]))), {"house.ach50": [2.0]})
    idle = sweep.run(folder=tmp_path / "idle", progress=False)
    scope["LIMIT"] = 20.0
    with pytest.raises(ms.InputError, match=f"differs in base: options: {PLAIN}"):
        sweep.resume(tmp_path / "idle", progress=False)
    cooling = sweep.run(folder=tmp_path / "cooling", progress=False)
    assert cooling["total_kWh"].item() > idle["total_kWh"].item() + 5.0
    scope["LIMIT"] = 99.0
    assert same(sweep.run(progress=False), idle)
    assert same(sweep.resume(tmp_path / "idle", progress=False), idle)


PAPER = '''
"""A paper's script."""
import sys
import moistsim as ms
from moistsim.sweep import parts
{imports}

LIMIT = 22.0
OFFSETS = (0.0, 1.0)


def threshold(humidity):
    return LIMIT + OFFSETS[1] if humidity < 50.0 else LIMIT + OFFSETS[0]


@ms.strategy
def own(readings, memory):
    warm = readings.temperature > threshold(readings.relative_humidity)
    return ms.Calls(cooling=1.0 if warm else 0.0)


def sweep():
    unit = ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")])
    study = ms.Study(
        ms.House(floor_area="1900 ft2"), {{"own": (ms.Equipment(cooling=unit), own)}},
        ms.Weather.sample("miami"), start="07-01", end="07-02", step="15 min",
    )
    return ms.Sweep(study, {{"house.ach50": [1.0, 2.0, 3.0]}}, dependent=lambda case: {{}})


if __name__ == "__main__":
    parts.PART = 1
    add, count = parts.Store.add, []

    def stopping(self, columns):
        if count:
            raise KeyboardInterrupt
        add(self, columns)
        count.append(1)

    parts.Store.add = stopping
    sweep().run(folder="here", workers=1, progress=False)
'''
RESUME = """
import json
import paper
frame = paper.sweep().resume("here", {executor}, workers=1, progress=False)
fresh = paper.sweep().run(workers=1, progress=False)
print(json.dumps([len(frame), bool(frame.equals(fresh)), float(frame["total_kWh"].sum())]))
"""


def ran(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    path = os.pathsep.join(entry or os.curdir for entry in [str(folder), str(ROOT)])
    return subprocess.run(
        [sys.executable, *arguments], cwd=folder, env={**os.environ, "PYTHONPATH": path},
        capture_output=True, text=True, timeout=300,
    )  # fmt: skip


@pytest.mark.slow
def test_a_script_that_began_a_sweep_resumes_it_when_imported_and_not_when_edited(
    tmp_path: Path,
) -> None:
    text = PAPER.format(imports="")
    (tmp_path / "paper.py").write_text(text, encoding="utf-8")
    begun = ran(tmp_path, "paper.py")
    assert "KeyboardInterrupt" in begun.stderr and len(read(tmp_path / "here")["parts"]) == 1
    # Moved within the file, which changes no result.
    (tmp_path / "paper.py").write_text(PAPER.format(imports="\n\nimport math"), encoding="utf-8")
    for executor in ("'threads'", "'processes'"):
        resumed = ran(tmp_path, "-c", RESUME.format(executor=executor))
        assert resumed.returncode == 0, resumed.stderr
        assert json.loads(resumed.stdout)[:2] == [3, True]
    for before, after in (("LIMIT = 22.0", "LIMIT = 25.0"), ("(0.0, 1.0)", "(0.0, 2.0)"),
                          ("humidity < 50.0", "humidity < 51.0")):  # fmt: skip
        assert before in text
        (tmp_path / "paper.py").write_text(text.replace(before, after), encoding="utf-8")
        refused = ran(tmp_path, "-c", RESUME.format(executor="'threads'"))
        assert refused.returncode == 1
        assert "differs in base: options: own. Use the sweep" in refused.stderr


def test_a_worker_that_keeps_older_code_is_refused() -> None:
    """Functions are sent by name, so a process may have an older file behind the name."""
    shared = sweep_manifest_shared()
    sent, digest = shared
    other = digest[:-1] + ("0" if digest[-1] != "0" else "1")
    from moistsim.sweep import worker

    assert worker.run_task(digest, [(0, {})], False, sent) is not None
    with pytest.raises(ms.InputError, match="a worker that has another version of a control"):
        worker.run_task(other, [(0, {})], False, sent)


def sweep_manifest_shared() -> tuple[bytes, str]:
    from moistsim.sweep import worker

    shared = worker.Shared(study(), {}, ())
    return worker.packed(shared), sweep_manifest.digest_of(shared._asdict())


# ---------------------------------------------------------------------- what the manifest says


def test_the_manifest_says_ranges_in_words_with_their_units() -> None:
    from scipy import stats

    manifest = ms.Sweep(
        study(),
        {
            "house.ach50": ms.normal(3.0, 0.5),
            "equipment.ventilation.airflow": ms.triangular("30 cfm", "50 cfm", "90 cfm"),
            "tariff.price": ms.log_uniform("8 cent/kWh", "40 cent/kWh"),
            "house.envelope.window_shgc": stats.uniform(0.2, 0.3),
            "strategy.heating_setpoint": ms.uniform("68 degF", "70 degF"),
        },
        sample="sobol", n=2,
    ).manifest()  # fmt: skip
    vary = manifest["vary"]
    assert vary["house.ach50"].startswith("normal, mean 3.0, standard deviation 0.5, cut off below")
    assert vary["house.ach50"].endswith(" 1/hour")
    assert vary["equipment.ventilation.airflow"].startswith("triangular from 0.01415")
    assert vary["equipment.ventilation.airflow"].endswith("m3/s")
    assert vary["tariff.price"] == "log-uniform from 0.08 to 0.4 USD/kWh"
    assert vary["house.envelope.window_shgc"] == "scipy.stats.uniform(0.2, 0.3) fraction"
    assert vary["strategy.heating_setpoint"].startswith("uniform from 20.0")
    assert vary["strategy.heating_setpoint"].endswith(" degC")


def test_a_frame_of_cases_keeps_its_own_size_and_seed(tmp_path: Path) -> None:
    vary = {"house.ach50": ms.uniform(2, 3), "tariff.price": [0.1, 0.2]}
    design = ms.saltelli_cases(vary, 2, seed=11)
    sweep = ms.Sweep(study(), sample=design)
    frame = sweep.run(folder=tmp_path / "s", progress=False)
    manifest = read(tmp_path / "s")
    assert (manifest["sample"], manifest["n"]) == ("a frame of cases", 8)
    assert manifest["drawn"] == {"sample": "saltelli", "n": 2, "seed": 11}
    assert "seed" not in manifest
    # A sweep's own table knows them too.
    own = ms.Sweep(study(), vary, sample="sobol", n=4, seed=2).cases()
    assert own.attrs["drawn"] == {"sample": "sobol", "n": 4, "seed": 2}
    # A table from a file does not, and is the same sweep all the same.
    design.to_csv(tmp_path / "design.csv")
    table = pd.read_csv(tmp_path / "design.csv", index_col="case")
    assert ms.Sweep(study(), sample=table).manifest()["drawn"] == {"sample": "unknown"}
    assert same(ms.Sweep(study(), sample=table).resume(tmp_path / "s", progress=False), frame)


# ---------------------------------------------------------------------- bytes that have changed


def damaged(path: Path) -> None:
    """One bit of the file changed."""
    content = bytearray(path.read_bytes())
    content[len(content) // 3] ^= 1
    path.write_bytes(bytes(content))


def edited(path: Path) -> None:
    """A whole and readable part, with another number in it."""
    table = parquet.ParquetFile(path).read().to_pandas()
    table["total_kWh"] += 1.0
    table.to_parquet(path)


def renamed(path: Path) -> None:
    path.rename(path.with_name("part-00099999.parquet"))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (damaged, "changed since it was written."),
        (edited, "changed since it was written."),
        (Path.unlink, "is missing."),
        (renamed, "is missing."),
    ],
)
def test_a_part_whose_bytes_changed_is_found_and_its_cases_run_again(
    change: Callable[[Path], None], said: str, tmp_path: Path, caplog: pytest.LogCaptureFixture,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr(sweep_parts, "PART", 3)
    monkeypatch.setattr(sweep_run, "LARGEST", 1)
    undisturbed()
    small().run(folder=tmp_path / "s", workers=1, progress=False)
    parts = sorted((tmp_path / "s" / PARTS).iterdir())
    assert sorted(read(tmp_path / "s")["parts"]) == [path.name for path in parts]
    lost = set(parquet.ParquetFile(parts[1]).read()["case"].to_pylist())
    change(parts[1])
    again = []
    run_case = sweep_parts.Parts.add

    def watched(self: Any, position: int, done: Any) -> None:
        again.append(done.case)
        run_case(self, position, done)

    monkeypatch.setattr(sweep_parts.Parts, "add", watched)
    with caplog.at_level(logging.WARNING, "moistsim"):
        frame = small().resume(tmp_path / "s", workers=1, progress=False)
    assert same(frame, undisturbed())
    assert set(again) == lost
    (message,) = caplog.messages
    assert message.startswith("2 parts are not as they were written: ") == (change is renamed)
    assert f"{parts[1]} {said}" in message and message.endswith("Cases that were there run again.")
    caplog.clear()
    assert same(small().resume(tmp_path / "s", progress=False), frame)
    assert not caplog.messages


def test_an_hourly_table_that_changed_is_found_too(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    sweep = ms.Sweep(study(), {"house.ach50": [1.0, 2.0]})
    frame = sweep.run(folder=tmp_path / "s", hourly=True, progress=False)
    file = tmp_path / "s" / HOURLY / "case-00000001.parquet"
    before = file.read_bytes()
    damaged(file)
    with caplog.at_level(logging.WARNING, "moistsim"):
        assert same(sweep.resume(tmp_path / "s", progress=False), frame)
    assert "has a case whose hourly table changed since it was written." in caplog.text
    assert file.read_bytes() == before
    assert same(pd.read_parquet(tmp_path / "s" / PARTS), frame)


def test_a_part_that_changes_while_the_sweep_runs_never_reaches_the_frame(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sweep_parts, "PART", 3)
    monkeypatch.setattr(sweep_run, "LARGEST", 1)
    write, written_parts = sweep_parts.Store.add, []

    def add(self: Any, columns: Any) -> None:
        write(self, columns)
        written_parts.append(columns)
        if len(written_parts) == 2:
            edited(sorted((tmp_path / "s" / PARTS).iterdir())[0])

    monkeypatch.setattr(sweep_parts.Store, "add", add)
    with pytest.raises(ms.SweepError, match=r"part-\d+.parquet changed after it was written"):
        small().run(folder=tmp_path / "s", workers=1, progress=False)
    assert same(small().resume(tmp_path / "s", progress=False), undisturbed())


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "{}", '{"parts": {}}', '{"parts": 3, "hourly": true}']
)
def test_a_damaged_manifest_is_said(text: str, tmp_path: Path) -> None:
    small(2).run(folder=tmp_path / "s", progress=False)
    (tmp_path / "s" / MANIFEST).write_text(text)
    with pytest.raises(ms.InputError, match=r"a damaged|is not the manifest of a sweep"):
        small(2).resume(tmp_path / "s")


def test_a_manifest_that_leads_out_of_its_folder_deletes_nothing(tmp_path: Path) -> None:
    small(2).run(folder=tmp_path / "s", progress=False)
    precious = tmp_path / "precious.txt"
    precious.write_text("mine")
    manifest = read(tmp_path / "s")
    for name in ("../../precious.txt", str(precious)):
        text = json.dumps({**manifest, "parts": {name: "0" * 64}})
        (tmp_path / "s" / MANIFEST).write_text(text)
        with pytest.raises(ms.InputError, match="is not the manifest of a sweep"):
            small(2).resume(tmp_path / "s")
    assert precious.read_text() == "mine"


def test_what_a_killed_process_was_writing_is_in_nobodys_way(tmp_path: Path) -> None:
    """Killed before its manifest was there, a sweep begins anew in its folder."""
    folder = tmp_path / "s"
    folder.mkdir()
    (folder / f".{MANIFEST}.123{HALF}").write_text('{"moistsim"')
    frame = small(2).run(folder=folder, progress=False)
    (folder / f".results.csv.123{HALF}").write_text("case,")
    assert same(small(2).resume(folder, progress=False), frame)
    assert sorted(path.name for path in folder.iterdir()) == [MANIFEST, PARTS]
    assert np.isfinite(frame["total_kWh"]).any()
