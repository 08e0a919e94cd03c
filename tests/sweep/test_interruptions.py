"""A sweep on the command line that is killed or stopped: nothing half-written is read as whole.

Times are generous, because a test machine may be busy.
"""

import hashlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from support.scenario_files import write_ten_days

from moistsim.__main__ import main
from moistsim.sweep.executor import ctrl_c_between_cases
from moistsim.sweep.manifest import MANIFEST
from moistsim.sweep.store import PARTS

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name != "posix", reason="kill -9 and process groups of POSIX"),
]
psutil: Any = pytest.importorskip("psutil")

N = 400
SCENARIO = """\
name = "House of the tests"
note = "Invented."
[weather]
file = "july.csv"
[season]
start = "07-10"
end = "07-11"
step = "15 min"
[house]
floor_area = "1500 ft2"
[equipment.cooling]
stages = [{ capacity = "2 ton" }]
[equipment.strips]
stages = ["5 kW"]
[options.Plain]
strategy = "temperature_only"
[options.Reheat]
strategy = "staged_reheat"
"""
SWEEP = """\
scenario = "house.toml"
sample = "sobol"
n = %d
seed = 2
[vary]
house.ach50 = { from = 1, to = 7 }
tariff.price = { from = 0.1, to = 0.4 }
"""
COMMAND = """
import multiprocessing, signal, sys
# A shell that starts tests in the background has Ctrl-C ignored by all that they start.
signal.signal(signal.SIGINT, signal.default_int_handler)
from moistsim.sweep import parts as sweep_parts
from moistsim.__main__ import main
if __name__ == "__main__":
    multiprocessing.set_start_method(sys.argv[1])
    sweep_parts.PART = 2
    sys.exit(main(["sweep", "sweep.toml", "--out", *sys.argv[2:]]))
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    write_ten_days(tmp_path / "july.csv", "07-08")
    (tmp_path / "house.toml").write_text(SCENARIO, encoding="utf-8")
    (tmp_path / "sweep.toml").write_text(SWEEP % N, encoding="utf-8")
    (tmp_path / "command.py").write_text(COMMAND, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def begun(out: str, *more: str, method: str = "fork") -> subprocess.Popen[str]:
    """The command, in a process group of its own, once it has printed that it begins."""
    path = os.pathsep.join(entry or os.curdir for entry in sys.path)
    process = subprocess.Popen(
        [sys.executable, "-u", "command.py", method, out, "--workers", "2", *more],
        env={**os.environ, "PYTHONPATH": path}, text=True, start_new_session=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert process.stdout is not None
    for line in process.stdout:
        if line.startswith(("Resuming in", "Results are saved in")):
            return process
    raise AssertionError(process.communicate())


def processes(process: subprocess.Popen[str]) -> list[Any]:
    """The process and all that it has started."""
    parent = psutil.Process(process.pid)
    return [parent, *parent.children(recursive=True)]


def wait_for(what: Any, seconds: float = 120.0) -> Any:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if found := what():
            return found
        time.sleep(0.01)
    raise AssertionError(what)


def listed(out: Path) -> dict[str, str]:
    """Parts in the manifest with their checksums; empty while there is no manifest."""
    try:
        parts: dict[str, str] = json.loads((out / MANIFEST).read_text(encoding="utf-8"))["parts"]
    except FileNotFoundError:
        return {}
    return parts


def whole(out: Path, frame: pd.DataFrame) -> int:
    """Number of finished cases, each with the rows of an undisturbed run."""
    cases = set()
    for name, digest in listed(out).items():
        content = (out / PARTS / name).read_bytes()
        assert hashlib.sha256(content).hexdigest() == digest
        rows = pd.read_parquet(out / PARTS / name)
        wanted = frame[frame["case"].isin(rows["case"])]
        pd.testing.assert_frame_equal(
            rows.sort_values(["case", "option"], ignore_index=True),
            wanted.sort_values(["case", "option"], ignore_index=True)[[*rows]],
            check_dtype=False, rtol=0.0, atol=0.0,
        )  # fmt: skip
        assert not cases & set(rows["case"])
        cases |= set(rows["case"])
    return len(cases)


def test_ten_kills_leave_nothing_half_written_and_end_in_the_frame_of_a_fresh_run(
    folder: Path,
) -> None:
    """Kills in a folder that existed before, at random moments, with all workers watched."""
    assert main(["sweep", "sweep.toml", "--out", "fresh", "--workers", "1", "--quiet"]) == 0
    fresh = (folder / "fresh" / "results.csv").read_bytes()
    frame = pd.read_csv(folder / "fresh" / "results.csv")
    assert len(frame) == 2 * N
    out, draw, finished, kills = folder / "out", random.Random(19), [0], 0
    out.mkdir()
    while kills < 10:
        process = begun("out")
        if kills:
            time.sleep(draw.uniform(0.0, 0.8))
        else:
            wait_for(lambda: listed(out))
        alive = processes(process)
        process.kill()
        process.communicate(timeout=30)
        if process.returncode == 0:  # It was done before the kill.
            break
        kills += 1
        gone, left = psutil.wait_procs(alive, timeout=5.0)
        assert not left and len(gone) == len(alive)
        if listed(out):
            finished.append(whole(out, frame))
            assert finished[-1] >= finished[-2]
        assert not (out / "results.csv").exists()
    assert kills == 10 and 0 < finished[-1] < N, finished
    assert main(["sweep", "sweep.toml", "--out", "out", "--workers", "2", "--quiet"]) == 0
    assert (out / "results.csv").read_bytes() == fresh
    assert whole(out, frame) == N
    names = {path.name for path in out.rglob("*") if path.is_file()}
    figures = {path.name for path in (out / "figures").iterdir()}
    assert figures and names == {MANIFEST, "results.csv", *figures, *listed(out)}


def test_kills_in_a_folder_that_is_done_leave_its_results_whole(folder: Path) -> None:
    (folder / "sweep.toml").write_text(SWEEP % 20, encoding="utf-8")
    assert main(["sweep", "sweep.toml", "--out", "out", "--workers", "1", "--quiet"]) == 0
    results, draw = folder / "out" / "results.csv", random.Random(19)
    content = results.read_bytes()
    for _ in range(5):
        process = begun("out")
        time.sleep(draw.uniform(0.0, 0.3))
        process.kill()
        process.communicate(timeout=30)
        assert results.read_bytes() == content
    assert main(["sweep", "sweep.toml", "--out", "out", "--quiet"]) == 0
    assert results.read_bytes() == content
    assert not list((folder / "out").rglob("*half"))


@pytest.mark.parametrize("method", ["fork", "spawn", "forkserver"])
def test_workers_die_with_the_process_that_waits_for_them(method: str, folder: Path) -> None:
    (folder / "sweep.toml").write_text(SWEEP % 4000, encoding="utf-8")
    process = begun("out", method=method)
    wait_for(lambda: listed(folder / "out"))
    alive = processes(process)
    assert len(alive) >= 3
    process.kill()
    process.communicate(timeout=30)
    _, left = psutil.wait_procs(alive, timeout=5.0)
    assert not left


@pytest.mark.parametrize("moment", range(6))
def test_ctrl_c_ends_in_one_line_at_any_moment(moment: int, folder: Path) -> None:
    """The key reaches all processes of the terminal, the workers too."""
    (folder / "sweep.toml").write_text(SWEEP % 4000, encoding="utf-8")
    process = begun("out")
    time.sleep(random.Random(moment).uniform(0.0, 0.3 * (moment + 1)))
    alive = processes(process)
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 130
    kept = (folder / "out" / MANIFEST).exists()
    what = "finished cases are saved" if kept else "no case has finished"
    assert said == f"moistsim: stopped; {what}. The same command resumes.\n"
    assert not psutil.wait_procs(alive, timeout=5.0)[1]


def test_a_second_process_is_refused_while_the_first_one_writes(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "sweep.toml").write_text(SWEEP % 4000, encoding="utf-8")
    first = begun("out")
    wait_for(lambda: listed(folder / "out"))
    assert main(["sweep", "sweep.toml", "--out", "out", "--quiet"]) == 2
    assert capsys.readouterr().err == (
        "moistsim: --out out: another process is writing to out. Use another folder, or wait until it "
        "ends.\n"
    )
    os.killpg(first.pid, signal.SIGINT)
    first.communicate(timeout=60)
    before = len(listed(folder / "out"))
    then = begun("out")
    wait_for(lambda: len(listed(folder / "out")) > before)
    then.kill()
    then.communicate(timeout=30)


def test_ctrl_c_waits_while_the_locks_of_futures_are_taken() -> None:
    """An exception within `wait` left a lock taken, and the process hung at its end."""
    with pytest.raises(KeyboardInterrupt), ctrl_c_between_cases() as look:
        signal.raise_signal(signal.SIGINT)
        went_on = True
        look()
    assert went_on
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    with pytest.raises(KeyboardInterrupt), ctrl_c_between_cases():
        signal.raise_signal(signal.SIGINT)
    with pytest.raises(KeyboardInterrupt), ctrl_c_between_cases():
        signal.raise_signal(signal.SIGINT)
        signal.raise_signal(signal.SIGINT)
        pytest.fail("the second Ctrl-C waits for nothing")
