"""Files and folders written whole or not at all, by processes that are killed at every moment."""

import json
import os
import signal
from collections.abc import Callable
from pathlib import Path

import pytest

from moistsim.core import files
from moistsim.core.errors import InputError
from moistsim.core.files import LIST, added, check_folder, is_whole, whole_folder, write_whole

OLD, NEW = {"a.csv": "old", "b.csv": "old"}, {"a.csv": "new", "c.csv": "new"}


def fill(place: Path, content: dict[str, str]) -> None:
    with whole_folder(place) as folder:
        for name, text in content.items():
            (folder / name).write_text(text)


def content_of(place: Path) -> dict[str, str]:
    return {file.name: file.read_text() for file in place.iterdir() if file.name != LIST}


def dies_at(step: int, what: Callable[[], None]) -> bool:
    """Run in a process that is killed at its n-th call of the disk; whether it was killed."""
    child = os.fork()
    if child == 0:
        left = step

        def one_less(of: Callable[..., object]) -> Callable[..., object]:
            def call(*arguments: object, **named: object) -> object:
                nonlocal left
                left -= 1
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)
                return of(*arguments, **named)

            return call

        for name in ("mkdir", "rename", "unlink", "rmdir", "fsync", "replace", "open", "chmod"):
            setattr(os, name, one_less(getattr(os, name)))
        try:
            what()
        finally:
            os._exit(0)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that fork")
@pytest.mark.parametrize("extra", [{}, {"notes.txt": "mine", "c.csv": "mine too"}])
def test_killed_at_any_call_the_folder_is_the_old_one_or_the_new_one(
    tmp_path: Path, extra: dict[str, str]
) -> None:
    found = {"old": 0, "new": 0, "none": 0}
    for step in range(1, 200):
        place = tmp_path / str(step) / "results"
        place.parent.mkdir()
        fill(place, OLD)
        for name, text in extra.items():
            (place / name).write_text(text)
        killed = dies_at(step, lambda place=place: fill(place, NEW))
        if place.exists():
            is_new = "c.csv" in content_of(place) and content_of(place)["a.csv"] == "new"
            found["new" if is_new else "old"] += 1
            assert is_whole(place)
            listed = json.loads((place / LIST).read_text())["files"]
            assert set(listed) == set(NEW if is_new else OLD)
        else:
            found["none"] += 1
        # The next run finds its place free, and leaves nothing else behind.
        check_folder(place, "--out")
        assert is_whole(place)
        fill(place, NEW)
        mine = {"c-2.csv" if name == "c.csv" else name: text for name, text in extra.items()}
        assert content_of(place) == {**NEW, **mine}
        assert [file.name for file in place.parent.iterdir()] == ["results"]
        if not killed:
            break
    else:
        raise AssertionError("the last process ends by itself")
    # Every kind of moment was met, and only one of them leaves no folder.
    assert found["old"] > 5 and found["new"] > 1 and found["none"] == 1, found


def test_a_living_process_keeps_its_unfinished_folder(tmp_path: Path) -> None:
    with whole_folder(tmp_path / "results") as first:
        (first / "a.csv").write_text("first")
        with whole_folder(tmp_path / "results") as second:
            (second / "a.csv").write_text("second")
        assert first.is_dir() and content_of(tmp_path / "results") == {"a.csv": "second"}
    assert content_of(tmp_path / "results") == {"a.csv": "first"}
    assert [file.name for file in tmp_path.iterdir()] == ["results"]


def test_an_error_changes_nothing(tmp_path: Path) -> None:
    fill(tmp_path / "results", OLD)

    def fails(place: Path) -> None:
        with whole_folder(place) as folder:
            (folder / "a.csv").write_text("new")
            raise KeyboardInterrupt

    for place in (tmp_path / "results", tmp_path / "deep" / "er" / "results"):
        with pytest.raises(KeyboardInterrupt):
            fails(place)
    assert content_of(tmp_path / "results") == OLD
    assert [file.name for file in tmp_path.iterdir()] == ["results"]


def test_only_unchanged_files_of_a_run_are_replaced(tmp_path: Path) -> None:
    place = tmp_path / "results"
    fill(place, OLD)
    (place / "a.csv").write_text("old, and my remark")
    (place / "kept").mkdir()
    assert added(place) == ["a.csv", "kept"]
    words = "a.csv and 1 more, added or changed since, stay"
    assert check_folder(place, "--out").endswith(words)
    fill(place, NEW)
    names = sorted(file.name for file in place.iterdir())
    assert names == ["a-2.csv", "a.csv", "c.csv", LIST, "kept"]
    assert (place / "a-2.csv").read_text() == "old, and my remark"


def test_a_list_cannot_name_files_outside_its_folder(tmp_path: Path) -> None:
    place, outside = tmp_path / "results", tmp_path / "mine.csv"
    fill(place, OLD)
    outside.write_text("old")
    listed = json.loads((place / LIST).read_text())
    listed["files"]["../mine.csv"] = listed["files"]["a.csv"]
    (place / LIST).write_text(json.dumps(listed))
    fill(place, NEW)
    assert outside.read_text() == "old" and content_of(place) == NEW


def test_a_place_of_other_things_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "house.toml").write_text("mine")
    for place, words in (
        (tmp_path, "the folder has other files (house.toml). Use a new or empty folder"),
        (tmp_path / "house.toml", "this is a file. Use a folder, new or not."),
        (Path("/"), "Use a folder in it"),
    ):
        with pytest.raises(InputError) as caught:
            check_folder(place, "--out")
        assert words in str(caught.value)
    fill(tmp_path / "results", OLD)
    monkeypatch.chdir(tmp_path / "results")
    with pytest.raises(InputError, match="open here and cannot be replaced"):
        check_folder(Path(), "--out")


def test_an_empty_folder_and_a_link_to_one_are_places(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir(mode=0o750)
    (tmp_path / "link").symlink_to(tmp_path / "empty")
    assert check_folder(tmp_path / "link", "--out") == ""
    fill(tmp_path / "link", NEW)
    assert content_of(tmp_path / "empty") == NEW and (tmp_path / "link").is_symlink()
    assert (tmp_path / "empty").stat().st_mode & 0o777 == 0o750


def test_a_file_keeps_its_old_bytes_if_the_disk_is_full(tmp_path: Path) -> None:
    resource = pytest.importorskip("resource")
    file = tmp_path / "page.html"
    write_whole(file, b"old")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, before[1]))
    try:
        with pytest.raises(OSError) as caught:
            write_whole(file, b"x" * 100_000)
        with pytest.raises(OSError) as of_folder, whole_folder(tmp_path / "results") as folder:
            (folder / "a.csv").write_text("x" * 100_000)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert caught.value.filename == str(file)
    assert of_folder.value.filename == str(tmp_path / "results")
    assert file.read_bytes() == b"old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["page.html"]


def test_a_stop_at_once_leaves_no_unfinished_folder(tmp_path: Path) -> None:
    fill(tmp_path / "results", OLD)
    with whole_folder(tmp_path / "results") as folder:
        (folder / "a.csv").write_text("new")
        files.abandon()
        assert [entry.name for entry in tmp_path.iterdir()] == ["results"]
        folder.mkdir()
        (folder / "a.csv").write_text("new")
    assert content_of(tmp_path / "results") == {"a.csv": "new"}
