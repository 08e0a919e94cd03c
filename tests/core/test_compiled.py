"""Machine code is kept where it can be: beside the source, in the user's folder, or nowhere."""

import ast
import importlib
import os
import pickle
import pkgutil
import shutil
import subprocess
import sys
import types
from pathlib import Path

import numba
import pytest

import moistsim
import moistsim as ms
from moistsim.core.compiled import compiled_sources, sources_stamp
from moistsim.engine import loop

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


@pytest.mark.slow
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


@pytest.mark.slow
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


@pytest.mark.slow
def test_with_nowhere_to_write_it_says_so_once_and_runs(installed: Path, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.write_text("no folder either")
    for _ in range(2):
        count, value, said = process(installed, home)
        assert count >= 2
        assert float(value) > 1.0
        assert said.count("RuntimeWarning") == 1
        assert "NUMBA_CACHE_DIR" in said


@pytest.mark.slow
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


@pytest.mark.slow
def test_compiling_the_loop_is_told_and_reading_it_is_not(installed: Path, tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    # A small function in place of the loop.
    told = """
import numba
import moistsim as ms
from moistsim.controls import parts
from moistsim.core.compiled import compiled
from moistsim.engine.loop import announce
four = numba.float64(*[numba.float64] * 4)
compiled(parts.latch.py_func, signature=four, before_compiling=announce)
print("done")
print(0, ms.__file__)
"""
    sentence = "First run on this machine: compiling, a quarter of a minute or so."
    assert sentence in process(installed, home, told)[2]
    assert sentence not in process(installed, home, told)[2]


class Gone:
    """A type that an earlier release kept machine code with, in a module that is no more."""

    def __reduce__(self) -> tuple[object, tuple[str]]:
        return importlib.import_module, ("moistsim.a_folder_that_was_renamed",)


@pytest.mark.slow
def test_code_kept_by_a_release_with_other_folders_is_compiled_anew(
    installed: Path, tmp_path: Path
) -> None:
    home = tmp_path / "home"
    home.mkdir()
    first = process(installed, home)
    (index,) = home.rglob("air.dry_air_density*.nbi")
    version = pickle.dumps(numba.__version__, protocol=-1)
    index.write_bytes(version + pickle.dumps(Gone()))
    count, value, said = process(installed, home)
    assert (count >= 1, value, said) == (True, first[1], "")
    assert process(installed, home) == (0, value, "")


# ------------------------------------------------------------- what the machine code is made of

PACKAGE = Path(moistsim.__file__).parent


def reached_by_numba() -> set[Path]:
    """Files of the package whose functions, constants and types compiled code was made of.

    Found from the live functions: from each that numba was given, through the globals that its
    code names, to whatever these stand in. This is another way than reading the import lines.
    """
    for module in pkgutil.walk_packages(moistsim.__path__, "moistsim."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    modules = [m for name, m in sys.modules.items() if name.startswith("moistsim")]
    waiting = [
        value.py_func
        for module in modules
        for value in vars(module).values()
        if hasattr(value, "py_func") and value.py_func.__module__.startswith("moistsim")
    ]
    waiting += [loop.run, *(s.function for s in ms.strategies.BUILT_IN.values())]
    waiting += [a.function for a in ms.strategies.ADDITIONS.values()]
    seen: set[object] = set()
    files: set[Path] = set()
    while waiting:
        function = waiting.pop()
        if function in seen:
            continue
        seen.add(function)
        files.add(Path(function.__code__.co_filename))
        home = sys.modules[function.__module__]
        # A constant stands in the module that names it, or is handed on from the one that does.
        for name in function.__code__.co_names:
            value = function.__globals__.get(name)
            if isinstance(value, types.ModuleType):
                named = [vars(value).get(each) for each in function.__code__.co_names]
                files.add(Path(value.__file__ or ""))
            else:
                named = [value]
                files |= {source for source in (constant_file(home, name),) if source}
            for each in named:
                plain = getattr(each, "py_func", each)
                if isinstance(plain, types.FunctionType | type) and str(
                    plain.__module__
                ).startswith("moistsim"):
                    if isinstance(plain, types.FunctionType):
                        waiting.append(plain)
                    else:
                        files.add(Path(sys.modules[plain.__module__].__file__ or ""))
    return {path for path in files if PACKAGE in path.parents}


def constant_file(module: types.ModuleType, name: str) -> Path | None:
    """The file that assigns a constant, through imports, if its name is one's."""
    if not name.isupper():
        return None
    tree = ast.parse(Path(module.__file__ or "").read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and any(a.name == name for a in node.names):
            return constant_file(sys.modules[str(node.module)], name)
    return Path(module.__file__ or "")


def test_all_that_compiled_code_is_made_of_is_found() -> None:
    found = set(compiled_sources())
    reached = reached_by_numba()
    assert len(reached) > 25
    assert {
        PACKAGE / "air.py",
        PACKAGE / "engine/coil.py",
        PACKAGE / "controls/parts.py",
    } <= reached
    assert reached - found == set()
    # A description and whatever only reads results compile nothing anew.
    rooms = {path.relative_to(PACKAGE).parts[0] for path in found}
    assert rooms == {"air.py", "controls", "core", "engine", "equipment", "machine_checks"}


def test_a_change_in_any_of_them_compiles_anew(tmp_path: Path) -> None:
    """The stamp that machine code is kept under moves with each file, and with no other."""
    copy = tmp_path / "moistsim"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    before = sources_stamp(copy)
    assert before == sources_stamp(PACKAGE)
    for path in compiled_sources(copy):
        text = path.read_text(encoding="utf-8")
        path.write_text(text + "\n# changed\n", encoding="utf-8")
        assert sources_stamp(copy) != before, path
        path.write_text(text, encoding="utf-8")
    assert sources_stamp(copy) == before
    page = copy / "report" / "page.py"
    page.write_text(page.read_text(encoding="utf-8") + "\n# changed\n", encoding="utf-8")
    assert sources_stamp(copy) == before


def test_a_file_in_a_new_folder_is_found_by_itself(tmp_path: Path) -> None:
    copy = tmp_path / "moistsim"
    shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    (copy / "engine").rename(copy / "motor")
    for path in copy.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("moistsim.engine", "moistsim.motor"), encoding="utf-8")
    new = copy / "motor" / "deep" / "down" / "idea.py"
    new.parent.mkdir(parents=True)
    constants = new.with_name("numbers_of_it.py")
    constants.write_text("HALF = 0.5\n", encoding="utf-8")
    new.write_text(
        "from moistsim.core.compiled import piece\n"
        "from moistsim.motor.deep.down.numbers_of_it import HALF\n\n\n"
        "@piece\ndef half(x):\n    return HALF * x\n",
        encoding="utf-8",
    )
    found = compiled_sources(copy)
    assert {new, constants, copy / "motor" / "coil.py"} <= set(found)
