"""Commands that are stopped, killed or read in part, as processes of their own."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from support.scenario_files import FIVE_OPTIONS, write_ten_days

from moistsim.__main__ import main
from moistsim.core.files import LIST, is_whole


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("interrupted")
    write_ten_days(folder / "october.csv", "10-17")
    (folder / "house.toml").write_text(FIVE_OPTIONS, encoding="utf-8")
    return folder


def begin(here: Path, *arguments: str, **how: object) -> "subprocess.Popen[str]":
    return subprocess.Popen(
        [sys.executable, "-m", "moistsim", *arguments], cwd=here, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True, **how,  # type: ignore[call-overload]
    )  # fmt: skip


def listed(folder: Path) -> set[str]:
    return set(json.loads((folder / LIST).read_text(encoding="utf-8"))["files"])


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="sends signals")
def test_ten_kills_of_a_study_leave_the_old_folder_or_the_new_one(here: Path) -> None:
    """At random moments, half of them while it writes, on a folder that existed before."""
    other = here / "other.toml"
    # One option has another name: its hourly file tells the two runs apart.
    other.write_text(FIVE_OPTIONS.replace("Plain", "Another"), encoding="utf-8")
    out = here / "killed"
    begun = time.monotonic()
    assert main(["study", str(here / "house.toml"), "--out", str(out), "--quiet"]) == 0
    (out / "notes.txt").write_text("of a person")
    begin(here, "study", "other.toml", "--out", "reference", "--quiet").communicate(timeout=600)
    # A process of its own imports and compiles nothing anew.
    begun = time.monotonic()
    begin(here, "study", "other.toml", "--out", "reference", "--quiet").communicate(timeout=600)
    whole_time = time.monotonic() - begun
    old, new = listed(out), listed(here / "reference")
    assert old != new
    rng = random.Random(2026)
    counts = {"old": 0, "new": 0, "while it writes": 0, "ended by itself": 0}
    for k in range(10):
        ran = begin(here, "study", "other.toml", "--out", "killed", "--quiet")
        if k % 2:
            # Wait for its first file, then for a moment of the time that it writes.
            while ran.poll() is None and not any(here.glob(".killed.*.unfinished/*")):
                time.sleep(0.002)
            time.sleep(rng.uniform(0.0, 3.0))
        else:
            time.sleep(rng.uniform(0.0, whole_time))
        counts["while it writes"] += any(here.glob(".killed.*.unfinished/*"))
        os.killpg(ran.pid, signal.SIGKILL)
        ran.communicate(timeout=60)
        counts["ended by itself"] += ran.returncode == 0
        assert is_whole(out) and (out / "notes.txt").read_text() == "of a person"
        assert listed(out) in (old, new)
        counts["new" if listed(out) == new else "old"] += 1
        assert {file.name for file in out.iterdir()} == listed(out) | {LIST, "notes.txt"}
        if listed(out) == new:
            assert main(["study", str(here / "house.toml"), "--out", str(out), "--quiet"]) == 0
    print(counts)
    assert counts["old"] >= 5 and counts["while it writes"] >= 2, counts
    ran = begin(here, "study", "other.toml", "--out", "killed", "--quiet")
    assert ran.communicate(timeout=600) == ("", "") and ran.returncode == 0
    assert listed(out) == new and is_whole(out)
    assert not [*here.glob(".killed.*")]


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="sends signals")
@pytest.mark.parametrize("moment", [0.15, 0.5, 1.0, 2.0, 4.0, 6.0])
def test_ctrl_c_ends_a_command_in_one_line(here: Path, moment: float) -> None:
    """While it imports, loads compiled code, runs, and writes: to all processes, as a terminal does."""
    ran = begin(here, "study", "house.toml", "--out", "stopped", "--quiet")
    time.sleep(moment)
    os.killpg(ran.pid, signal.SIGINT)
    begun = time.monotonic()
    said, errors = ran.communicate(timeout=60)
    if ran.returncode == 0:  # A fast machine had ended it before.
        assert moment > 2.0
        return
    assert (ran.returncode, said) == (130, "")
    assert errors == "moistsim: stopped; no results were written.\n"
    assert time.monotonic() - begun < 10.0
    assert not (here / "stopped").exists() and not [*here.glob(".stopped.*")]


@pytest.mark.skipif(sys.platform == "win32", reason="sends signals")
def test_ctrl_c_after_the_last_line_comes_too_late(here: Path) -> None:
    """Python ends a while after the command; to be killed there would look like a failure."""
    ran = begin(here, "--version")
    assert ran.stdout is not None and ran.stdout.readline().startswith("moistsim")
    time.sleep(0.02)  # the command has left its last statement
    os.killpg(ran.pid, signal.SIGINT)
    assert ran.communicate(timeout=60) == ("", "")
    assert ran.returncode == 0


@pytest.mark.skipif(sys.platform == "win32", reason="a shell of Unix")
@pytest.mark.parametrize("arguments", [["--help"], ["study", "--help"], ["new", "{out}.toml"]])
def test_a_reader_that_leaves_is_no_error(here: Path, arguments: list[str]) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    names = [word.format(out=here / "left") for word in arguments]
    ran = subprocess.run(
        [sys.executable, "-m", "moistsim", *names], stdout=writing, stderr=subprocess.PIPE,
        text=True, check=False,
    )  # fmt: skip
    os.close(writing)
    assert (ran.returncode, ran.stderr) == (0, "")


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="a shell of Unix")
def test_results_are_written_though_the_reader_has_left(here: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    out = here / "left"
    ran = subprocess.run(
        [sys.executable, "-m", "moistsim", "study", "house.toml", "--out", str(out)], cwd=here,
        stdout=writing, stderr=subprocess.PIPE, text=True, check=False,
    )  # fmt: skip
    os.close(writing)
    # No bar either, because stderr is not a terminal.
    assert (ran.returncode, ran.stderr) == (0, "")
    assert is_whole(out)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a full disk")
def test_a_full_disk_behind_the_screen_is_one_sentence(tmp_path: Path) -> None:
    with open("/dev/full", "w") as full:
        ran = subprocess.run(
            [sys.executable, "-m", "moistsim", "new", str(tmp_path / "house.toml")],
            stdout=full, stderr=subprocess.PIPE, text=True, check=False,
        )  # fmt: skip
    assert ran.returncode == 2
    assert ran.stderr.startswith("moistsim: the output: cannot be written (No space left")
    assert ran.stderr.count("\n") == 1
