"""Machine code is kept where it can be: beside the source, in the user's folder, or nowhere."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import numba
import pytest

import moistsim
from moistsim.engine import driver

pytestmark = pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="nothing compiles")

COUNT = """
from numba.core import event
compiled = 0
class Counter(event.Listener):
    def on_start(self, event):
        global compiled
        compiled += 1
    def on_end(self, event):
        pass
event.register("numba:compile", Counter())
import moistsim as ms
from moistsim import air
# Called as it is, and through a wrapper that is compiled for one signature.
print(air.dry_air_density(20.0, 0.01, 101325.0))
ms.strategies.temperature_only.compiled
print(compiled, ms.__file__)
"""


@pytest.fixture
def installed(tmp_path: Path) -> Path:
    """A copy of the package in which no folder can take machine code.

    A file lies where ``__pycache__`` would be made, which stops the superuser too.
    """
    source = Path(moistsim.__file__).parent
    copy = tmp_path / "site" / "moistsim"
    shutil.copytree(source, copy, ignore=shutil.ignore_patterns("__pycache__"))
    for folder in (copy, *(path for path in copy.rglob("*") if path.is_dir())):
        (folder / "__pycache__").write_text("no folder")
    return copy


def process(installed: Path, home: Path, code: str = COUNT) -> tuple[int, str, str]:
    """How much a new process compiled, what it computed and what it said on stderr."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("NUMBA_", "XDG_"))}
    # Where the user's cache folder is, on any system.
    homes = dict.fromkeys(("HOME", "USERPROFILE", "LOCALAPPDATA"), str(home))
    out = subprocess.run(
        [sys.executable, "-c", code],
        env={**kept, **homes, "XDG_CACHE_HOME": str(home / "cache"), "PYTHONPATH": str(installed.parent)},
        cwd=installed.parent,
        capture_output=True,
        text=True,
        check=True,
    )  # fmt: skip
    value, last = out.stdout.splitlines()
    count, file = last.split(" ", 1)
    assert Path(file) == installed / "__init__.py"
    return int(count), value, out.stderr


def test_a_read_only_install_keeps_its_code_in_the_users_folder(
    installed: Path, tmp_path: Path
) -> None:
    home = tmp_path / "home"
    home.mkdir()
    first, value, said = process(installed, home)
    assert first >= 2, "the copy should have had to compile"
    assert said == ""
    assert any(home.rglob("*.nbi"))
    assert not any(installed.rglob("*.nbi"))
    assert process(installed, home) == (0, value, "")


def test_sources_that_change_are_compiled_anew_there(installed: Path, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    process(installed, home)
    air = installed / "air.py"
    text = air.read_text(encoding="utf-8")
    # Touched alone it is the same; a change of its content is not.
    air.write_text(text, encoding="utf-8")
    assert process(installed, home)[0] == 0
    air.write_text(text + "# changed\n", encoding="utf-8")
    assert process(installed, home)[0] >= 2


def test_with_nowhere_to_write_it_says_so_once_and_runs(installed: Path, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.write_text("no folder either")
    for _ in range(2):
        count, value, said = process(installed, home)
        assert count >= 2
        assert float(value) > 1.0
        assert said.count("RuntimeWarning") == 1
        assert "NUMBA_CACHE_DIR" in said


@pytest.mark.skipif(os.name != "posix", reason="a full disk is played by a limit of files")
def test_a_disk_that_fills_is_said_once_and_stops_nothing(installed: Path, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    full = """
import resource, signal
import moistsim as ms
ms.strategies
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, resource.RLIM_INFINITY))
"""
    count, value, said = process(installed, home, full + COUNT)
    assert count >= 2
    assert float(value) > 1.0
    assert said.count("RuntimeWarning") == 1
    assert "NUMBA_CACHE_DIR" in said
    # What was half written does no harm once there is room.
    assert process(installed, home)[0] >= 2
    assert process(installed, home) == (0, value, "")


def test_compiling_the_loop_is_told_and_reading_it_is_not(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def compiles(run: object, signature: object) -> object:
        piece = numba.njit(lambda x: x + 1)
        whole = numba.njit(lambda x: piece(x) + piece(x + 1.0))
        return whole(1)

    monkeypatch.setattr(driver, "compiled", lambda run, signature: "from disk")
    assert driver._loop.__wrapped__() == "from disk"
    assert caplog.messages == []
    monkeypatch.setattr(driver, "compiled", compiles)
    driver._loop.__wrapped__()
    assert caplog.messages == ["First run on this machine: compiling, a quarter of a minute or so."]
