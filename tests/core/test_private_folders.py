"""Folders with pickles are read only where no other user can write.

The attacker here is a pickle that leaves a mark as it is read.
"""

import logging
import os
import pickle
import shutil
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numba
import pytest

from moistsim.core.private_folders import open_to_others
from moistsim.core.units import registry

pytestmark = pytest.mark.skipif(os.name != "posix", reason="owners and modes of POSIX")
ROOT = Path(__file__).parents[2]
as_root = pytest.mark.skipif(
    not hasattr(os, "getuid") or os.getuid() != 0, reason="only the administrator gives files away"
)


@pytest.fixture
def reachable() -> Iterator[Path]:
    """A folder that other users can enter, unlike pytest's own."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    (folder / "cache").mkdir()
    (folder / "cache").chmod(0o755)
    if any(not path.stat().st_mode & stat.S_IXOTH for path in folder.resolve().parents):
        pytest.skip("other users cannot enter the folder of temporary files here")
    yield folder
    shutil.rmtree(folder)


def test_a_folder_of_ones_own_is_private(reachable: Path) -> None:
    (reachable / "cache" / "air.nbi").write_bytes(b"")
    assert open_to_others(reachable / "cache") is None


@pytest.mark.parametrize("mode", [0o777, 0o757, 0o1777])
def test_a_folder_that_others_can_write_to_is_not(mode: int, reachable: Path) -> None:
    (reachable / "cache").chmod(mode)
    assert open_to_others(reachable / "cache") == f"other users can write to {reachable / 'cache'}"


def test_a_folder_above_it_counts_unless_it_is_sticky(reachable: Path) -> None:
    reachable.chmod(0o777)
    assert open_to_others(reachable / "cache") == f"other users can write to {reachable}"
    reachable.chmod(0o1777)
    assert open_to_others(reachable / "cache") is None


def test_below_a_folder_that_nobody_else_can_enter_all_is_private(reachable: Path) -> None:
    (reachable / "cache").chmod(0o777)
    reachable.chmod(0o700)
    assert open_to_others(reachable / "cache") is None


@pytest.mark.parametrize("name", ["air.nbi", "air.1.nbc", "units.pickle"])
def test_a_kept_file_that_others_can_write_to_counts(name: str, reachable: Path) -> None:
    file = reachable / "cache" / name
    file.write_bytes(b"")
    file.chmod(0o646)
    assert open_to_others(reachable / "cache") == f"other users can write to {file}"
    file.unlink()
    file.symlink_to(reachable / "elsewhere")
    assert open_to_others(reachable / "cache") == f"{file} belongs to another user or is a link"
    file.unlink()
    (reachable / "cache" / "notes.txt").touch(mode=0o666)
    assert open_to_others(reachable / "cache") is None


@as_root
def test_what_belongs_to_another_user_is_not_private(reachable: Path) -> None:
    file = reachable / "cache" / "air.nbi"
    file.write_bytes(b"")
    os.chown(file, 12345, -1)
    assert open_to_others(reachable / "cache") == f"{file} belongs to another user or is a link"
    os.chown(reachable / "cache", 12345, -1)
    assert open_to_others(reachable / "cache") == f"{reachable / 'cache'} belongs to another user"


@as_root
def test_a_group_with_another_member_can_write_and_one_of_this_user_alone_is_this_user(
    reachable: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import grp

    cache = reachable / "cache"
    cache.chmod(0o775)

    def group(name: str, *members: str) -> Any:
        return grp.struct_group((name, "x", 4321, [*members]))

    for found, is_private in (
        (group("root"), True), (group("root", "root"), True), (group("root", "somebody"), False),
        (group("users"), False),
    ):  # fmt: skip
        monkeypatch.setattr(grp, "getgrgid", lambda gid, found=found: found)
        assert (open_to_others(cache) is None) == is_private


# ---------------------------------------------------------------------- what reads them


class Planted:
    """A pickle that makes a file as it is read."""

    def __init__(self, mark: Path) -> None:
        self.mark = mark

    def __reduce__(self) -> Any:
        return Path.touch, (self.mark,)


COMPILE = "from moistsim import air; print(air.dry_air_density(20.0, 0.01, 101325.0))"


def compiled_there(cache: Path) -> str:
    done = subprocess.run(
        [sys.executable, "-c", COMPILE], cwd=ROOT, capture_output=True, text=True, check=True,
        env={**os.environ, "NUMBA_CACHE_DIR": str(cache), "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    return done.stderr


@pytest.mark.slow
def test_machine_code_that_another_user_planted_is_never_read(reachable: Path) -> None:
    """The index of a function in the chosen folder, which anybody can write to."""
    cache, mark = reachable / "cache", reachable / "attacked"
    assert compiled_there(cache) == ""
    indices = sorted(cache.rglob("*.nbi"))
    assert indices
    for index in indices:
        version = pickle.dumps(numba.__version__, protocol=-1)
        index.write_bytes(version + pickle.dumps(Planted(mark)))
    # The attack works where the folder is trusted, so the check below can fail.
    compiled_there(cache)
    assert mark.exists()
    mark.unlink()
    for index in indices:
        version = pickle.dumps(numba.__version__, protocol=-1)
        index.write_bytes(version + pickle.dumps(Planted(mark)))
    cache.chmod(0o777)
    said = compiled_there(cache)
    assert not mark.exists()
    assert said == (
        f"NUMBA_CACHE_DIR {cache} is not used, because other users can write to {cache}. Name a "
        "folder of your own.\n"
    )


UNITS = """
from moistsim.core.units import to_si
print(to_si("75 degF", "degC", "x"))
"""


@pytest.mark.parametrize("mode", [0o755, 0o777])
def test_unit_definitions_that_another_user_planted_are_never_read(
    mode: int, reachable: Path
) -> None:
    cache, mark = reachable / "cache", reachable / "attacked"

    def run() -> str:
        done = subprocess.run(
            [sys.executable, "-c", UNITS], cwd=ROOT, capture_output=True, text=True, check=True,
            env={**os.environ, "XDG_CACHE_HOME": str(cache), "PYTHONPATH": str(ROOT)},
        )  # fmt: skip
        assert done.stdout.startswith("23.88")
        return done.stderr

    if sys.platform != "linux":
        pytest.skip("XDG_CACHE_HOME names the cache folder on Linux")
    assert run() == ""
    kept = sorted((cache / "pint").glob("*.pickle"))
    assert kept
    for file in kept:
        # Newer than its source, or pint would parse the source again.
        file.write_bytes(pickle.dumps(Planted(mark)))
    cache.chmod(mode)
    said = run()
    assert mark.exists() == (mode == 0o755)
    if mode == 0o777:
        assert said == (
            f"Kept unit definitions are not used, because other users can write to {cache}. This "
            "takes a third of a second.\n"
        )


def test_the_registry_is_there_without_a_cache(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    from moistsim.core import units

    monkeypatch.setattr(units, "open_to_others", lambda folder: "other users can write to /x")
    registry.cache_clear()
    with caplog.at_level(logging.WARNING, "moistsim"):
        assert registry().Quantity(1.0, "cfm").to("m3/s").magnitude == pytest.approx(
            4.719e-4, rel=1e-3
        )
    assert caplog.messages == [
        "Kept unit definitions are not used, because other users can write to /x. This takes a third "
        "of a second."
    ]
    registry.cache_clear()
