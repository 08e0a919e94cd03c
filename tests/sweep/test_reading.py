"""A sweep's folder read back: the frame with its units and manifest, a dataset, and merged parts."""

import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pyarrow.dataset
import pyarrow.parquet as parquet
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.small_sweeps import PLAIN, REHEAT, kept_cases, same, small, study, undisturbed

import moistsim as ms
from moistsim.core.units import from_si
from moistsim.sweep import parts as sweep_parts
from moistsim.sweep import run as sweep_run
from moistsim.sweep import store as sweep_store
from moistsim.sweep.manifest import MANIFEST
from moistsim.sweep.store import PARTS


@pytest.fixture
def tiny(monkeypatch: pytest.MonkeyPatch) -> None:
    """Parts of a few cases, of which four are merged."""
    monkeypatch.setattr(sweep_parts, "PART", 2)
    monkeypatch.setattr(sweep_run, "LARGEST", 1)
    monkeypatch.setattr(sweep_store, "MANY", 4)


def listed(folder: Path) -> Any:
    return json.loads((folder / MANIFEST).read_text(encoding="utf-8"))[PARTS]


def files(folder: Path) -> list[str]:
    return sorted(path.name for path in (folder / PARTS).iterdir())


# ---------------------------------------------------------------------- the frame


def test_a_folder_gives_the_frame_of_its_run(tiny: None, tmp_path: Path) -> None:
    frame = small(10).run(folder=tmp_path / "a=b", workers=1, progress=False)
    read = ms.read_sweep(tmp_path / "a=b")
    assert same(read, frame) and same(read, undisturbed(10))
    assert read.attrs == frame.attrs
    assert frame.attrs["manifest"] == json.loads(json.dumps(small(10).manifest()))
    # A frame that its user saves keeps both.
    read.to_parquet(tmp_path / "own.parquet")
    assert pd.read_parquet(tmp_path / "own.parquet").attrs == frame.attrs


def test_units_of_all_numbers_are_known_and_read_by_the_registry() -> None:
    frame = small(2).run(workers=1, progress=False)
    units = frame.attrs["units"]
    numbers = {str(name) for name in frame.select_dtypes(float)} - {"case"}
    assert numbers == set(units)
    assert units["house.ach50"] == "1/hour" and units["cost_USD"] == "USD"
    assert units["mean_dew_point_C"] == "degC" and units["cooling_stage_2_h"] == "hour"
    for unit in set(units.values()):
        assert from_si(1.0, unit, unit) == 1.0


def test_a_metric_has_no_unit_and_is_read_back(tmp_path: Path) -> None:
    sweep = ms.Sweep(
        study(), {"house.ach50": [1.0, 2.0]}, metrics={"own": lambda season: season.meter.total_kwh}
    )
    sweep.run(folder=tmp_path / "s", progress=False)
    read = ms.read_sweep(tmp_path / "s", ["own", "house.ach50"])
    assert [*read] == ["case", "house.ach50", "option", "own", "status"]
    assert "own" not in read.attrs["units"]
    assert ms.tornado(read, 0, "own", option=PLAIN)["swing"].item() > 0.0


def test_some_columns_are_read_alone(tmp_path: Path) -> None:
    frame = small(4).run(folder=tmp_path / "s", progress=False)
    some = ms.read_sweep(tmp_path / "s", ["cost_USD", "weather"])
    assert same(some, frame[["case", "weather", "option", "cost_USD", "status"]])
    with pytest.raises(ms.InputError, match="read_sweep columns: cannot use 'cost'. Did you mean"):
        ms.read_sweep(tmp_path / "s", ["cost"])
    with pytest.raises(ms.InputError, match="read_sweep columns: .* a list of names"):
        ms.read_sweep(tmp_path / "s", "cost_USD")


def test_parquet_itself_has_units_and_manifest(tiny: None, tmp_path: Path) -> None:
    small(10).run(folder=tmp_path / "s", workers=1, progress=False)
    manifest = json.loads((tmp_path / "s" / MANIFEST).read_text(encoding="utf-8"))
    del manifest[PARTS]
    for name in listed(tmp_path / "s"):
        schema = parquet.read_schema(tmp_path / "s" / PARTS / name)
        assert schema.field("total_kWh").metadata == {b"unit": b"kWh"}
        assert schema.field("house.ach50").metadata == {b"unit": b"1/hour"}
        assert not schema.field("weather").metadata
        assert json.loads(schema.metadata[b"moistsim manifest"]) == manifest


def test_a_sweep_that_is_not_done_is_read_as_far_as_it_is(
    tiny: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add, count = sweep_store.Store.add, []

    def added(store: sweep_store.Store, columns: Any) -> None:
        if len(count) == 2:
            raise KeyboardInterrupt
        add(store, columns)
        count.append(1)

    with monkeypatch.context() as patch:
        patch.setattr(sweep_store.Store, "add", added)
        with pytest.raises(KeyboardInterrupt):
            small().run(folder=tmp_path / "s", workers=1, progress=False)
    read = ms.read_sweep(tmp_path / "s")
    assert set(read["case"]) == kept_cases(tmp_path / "s") and 4 <= read["case"].nunique() < 12
    wanted = undisturbed()
    assert same(read, wanted[wanted["case"].isin(read["case"])].reset_index(drop=True))


def test_what_is_not_a_sweep_is_said(tmp_path: Path) -> None:
    with pytest.raises(ms.InputError, match="read_sweep: no manifest.json in "):
        ms.read_sweep(tmp_path)
    small(2).run(folder=tmp_path / "s", progress=False)
    (name,) = listed(tmp_path / "s")
    part = tmp_path / "s" / PARTS / name
    part.write_bytes(part.read_bytes()[:-1] + b"x")
    with pytest.raises(ms.InputError, match=rf"{name} is missing or changed since it was written"):
        ms.read_sweep(tmp_path / "s")
    part.unlink()
    with pytest.raises(ms.InputError, match="Sweep.resume runs its cases again"):
        ms.sweep_dataset(tmp_path / "s")
    text = json.dumps({**small(2).manifest(), "hourly": False, PARTS: {}})
    (tmp_path / "s" / MANIFEST).write_text(text, encoding="utf-8")
    with pytest.raises(ms.InputError, match="no case in .* has finished. Run the sweep"):
        ms.read_sweep(tmp_path / "s")


def test_a_folder_of_an_earlier_version_is_read_and_not_resumed(tmp_path: Path) -> None:
    """Its parts have neither units nor manifest, and its manifest has no metrics."""
    frame = small(4).run(folder=tmp_path / "s", progress=False)
    older = {k: v for k, v in frame.attrs["manifest"].items() if k != "metrics"}
    sums = {}
    for name in listed(tmp_path / "s"):
        part = tmp_path / "s" / PARTS / name
        table = parquet.ParquetFile(part).read()
        bare = [field.remove_metadata() for field in table.schema]
        parquet.write_table(table.cast(pyarrow.schema(bare)), part)
        sums[name] = sweep_store._sha256(part.read_bytes())
    text = json.dumps({**older, "source": "earlier", "hourly": False, PARTS: sums})
    (tmp_path / "s" / MANIFEST).write_text(text, encoding="utf-8")
    read = ms.read_sweep(tmp_path / "s")
    assert same(read, frame) and read.attrs["units"] == frame.attrs["units"]
    schema = ms.sweep_dataset(tmp_path / "s").schema
    assert schema.field("total_kWh").metadata == {b"unit": b"kWh"}
    with pytest.raises(ms.InputError, match="differs in source: 'earlier', here"):
        small(4).resume(tmp_path / "s", progress=False)


# ---------------------------------------------------------------------- larger than memory


def test_a_dataset_has_the_rows_of_the_frame(tiny: None, tmp_path: Path) -> None:
    how: dict[str, Any] = {"workers": 1, "progress": False, "result": "dataset"}
    data = small(10).run(folder=tmp_path / "s", **how)
    frame = undisturbed(10)
    assert data.count_rows() == len(frame)
    table = data.to_table(
        ["case", "total_kWh"], filter=pyarrow.dataset.field("option") == REHEAT
    ).to_pandas()
    wanted = frame[frame["option"] == REHEAT][["case", "total_kWh"]]
    assert same(table.sort_values("case", ignore_index=True), wanted.reset_index(drop=True))
    assert data.schema.field("house.ach50").metadata == {b"unit": b"1/hour"}
    about = json.loads(data.schema.metadata[b"moistsim manifest"])
    assert about == ms.read_sweep(tmp_path / "s").attrs["manifest"]
    again = small(10).resume(tmp_path / "s", **how)
    assert again.count_rows() == len(frame)
    for result, folder, said in (
        ("dataset", None, "Use a folder with it, which holds the dataset."),
        ("table", tmp_path / "t", "Use 'frame' or 'dataset'."),
    ):
        with pytest.raises(ms.InputError, match=said):
            small(10).run(folder=folder, result=result, progress=False)  # type: ignore[arg-type]


# ---------------------------------------------------------------------- merged parts


def test_small_parts_become_few_and_keep_every_bit(tiny: None, tmp_path: Path) -> None:
    folder = tmp_path / "s"
    frame = small(60).run(folder=folder, workers=1, progress=False)
    assert same(frame, undisturbed(60))
    # 30 parts of two cases were written, and fewer than four small ones remain.
    assert len(files(folder)) < 4 and files(folder) == sorted(listed(folder))
    assert kept_cases(folder) == set(range(60))
    assert same(small(60).resume(folder, progress=False), frame)
    read = pd.read_parquet(folder / PARTS)
    assert len(read) == len(frame) and set(read["case"]) == set(range(60))


def test_a_part_of_many_cases_is_merged_no_more(
    tiny: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sweep_store, "MERGED", 8)
    folder = tmp_path / "s"
    frame = small(60).run(folder=folder, workers=1, progress=False)
    counts = [
        len({*parquet.ParquetFile(folder / PARTS / name).read()["case"].to_pylist()})
        for name in files(folder)
    ]
    assert sum(counts) == 60 and sum(count for count in counts if count < 8) < 8
    assert max(counts) < 16
    assert same(ms.read_sweep(folder), frame)


MOMENTS = ("before the manifest", "after the manifest", "disk full")


@pytest.mark.parametrize("moment", MOMENTS)
def test_a_merge_is_whole_or_did_not_happen(
    moment: str, tiny: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:  # fmt: skip
    """A process that is killed within a merge leaves files that no case is lost or doubled by."""
    folder, killed = tmp_path / "s", tmp_path / "killed"
    write, write_manifest = sweep_store.write_whole, sweep_store.Store._write_manifest

    def written(path: Path, content: bytes) -> None:
        if ".1.parquet" in path.name and moment == "disk full" and not killed.exists():
            shutil.copytree(folder, killed)
            raise OSError(28, "No space left on device")
        write(path, content)
        if ".1.parquet" in path.name and moment == MOMENTS[0] and not killed.exists():
            shutil.copytree(folder, killed)

    def listed_so(store: sweep_store.Store, sums: Any = None) -> None:
        write_manifest(store, sums)
        if sums is not None and moment == MOMENTS[1] and not killed.exists():
            shutil.copytree(folder, killed)

    monkeypatch.setattr(sweep_store, "write_whole", written)
    monkeypatch.setattr(sweep_store.Store, "_write_manifest", listed_so)
    if moment == "disk full":
        with pytest.raises(ms.SweepError, match="took no more .No space left on device."):
            small(60).run(folder=folder, workers=1, progress=False)
        assert kept_cases(folder) == kept_cases(killed) and len(files(folder)) == 4
        assert same(small(60).resume(folder, progress=False), undisturbed(60))
    else:
        small(60).run(folder=folder, workers=1, progress=False)
    kept = kept_cases(killed)
    assert 8 <= len(kept) < 60
    extra = {MOMENTS[0]: 1, MOMENTS[1]: 4, "disk full": 0}[moment]
    assert len(set(files(killed)) - set(listed(killed))) == extra
    assert same(
        ms.read_sweep(killed), undisturbed(60).query("case in @kept").reset_index(drop=True)
    )
    frame = small(60).resume(killed, workers=1, progress=False)
    assert same(frame, undisturbed(60))
    assert files(killed) == sorted(listed(killed)) and not caplog.messages


@pytest.mark.parametrize("which", [0, 2])
def test_a_part_that_changed_is_not_merged_and_its_cases_run_again(
    which: int, tiny: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add, count = sweep_store.Store.add, []

    def added(store: sweep_store.Store, columns: Any) -> None:
        add(store, columns)
        count.append(1)
        if len(count) == 3:
            part = tmp_path / "s" / PARTS / files(tmp_path / "s")[which]
            part.write_bytes(b"PAR1")

    monkeypatch.setattr(sweep_store.Store, "add", added)
    with pytest.raises(ms.SweepError, match=r"part-\d+.parquet changed after it was written"):
        small().run(folder=tmp_path / "s", workers=1, progress=False)
    assert same(small().resume(tmp_path / "s", workers=1, progress=False), undisturbed())
    assert files(tmp_path / "s") == sorted(listed(tmp_path / "s"))


def test_merged_parts_keep_the_checksums_of_hourly_tables(tiny: None, tmp_path: Path) -> None:
    sweep = ms.Sweep(study(), {"house.ach50": [*np.linspace(1.0, 5.0, 20)]})
    folder = tmp_path / "s"
    frame = sweep.run(folder=folder, hourly=True, workers=1, progress=False)
    assert any(name.count(".") == 2 for name in files(folder))
    assert same(sweep.resume(folder, progress=False), frame)
    table = folder / "hourly" / "case-00000003.parquet"
    before = table.read_bytes()
    table.write_bytes(before[:-1] + b"x")
    assert same(sweep.resume(folder, progress=False), frame)
    assert table.read_bytes() == before


@settings(max_examples=30, deadline=None)
@given(
    sizes=st.lists(st.integers(1, 9), min_size=1, max_size=40),
    many=st.integers(2, 6), merged=st.integers(2, 30),
)  # fmt: skip
def test_however_parts_come_each_case_is_in_one_part(
    sizes: list[int], many: int, merged: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Without runs: rows go into a store in parts of any size, and all are there once."""
    folder = tmp_path_factory.mktemp("merging") / "s"
    sweep = ms.Sweep(study(), {"house.ach50": [*np.linspace(1.0, 5.0, sum(sizes))]})
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sweep_store, "MANY", many)
        patch.setattr(sweep_store, "MERGED", merged)
        patch.setattr(sweep_store.os, "fsync", lambda _: None)
        store = sweep_store.Store(sweep._schema, folder)
        store.begin(sweep.manifest(), False)
        first = 0
        for size in sizes:
            columns: dict[str, list[Any]] = {name: [] for name in store.schema.names}
            for case in range(first, first + size):
                for option in (REHEAT, PLAIN):
                    for name in columns:
                        value = {"case": case, "option": option, "status": "ok"}.get(name, case)
                        columns[name].append(value)
            store.add(columns)
            first += size
            counts = store._counts.values()
            assert sum(counts) == first and store._counts.keys() == store._sums.keys()
            small_ones = [count for count in counts if count < merged]
            assert len(small_ones) < many + 1 and sum(small_ones) < merged + many
        store.release()
    frame = ms.read_sweep(folder)
    assert frame["case"].tolist() == [case for case in range(sum(sizes)) for _ in range(2)]
    assert (frame["total_kWh"] == frame["case"]).all()
    assert files(folder) == sorted(listed(folder))
    again = sweep_store.Store(sweep._schema, folder)
    assert again.resume(sweep.manifest()) == (set(range(sum(sizes))), False)
    again.release()
