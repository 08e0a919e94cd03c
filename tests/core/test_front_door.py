"""What an import loads, and that every name is there when it is asked for."""

import ast
import subprocess
import sys
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from pvlib import solarposition

import moistsim as ms
from moistsim.core.units import registry
from moistsim.engine import forcing


def fresh(code: str) -> str:
    """What a new process prints."""
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return ran.stdout.strip()


def test_an_import_loads_nothing_that_is_not_asked_for() -> None:
    heavy = "{'numba', 'pandas', 'scipy', 'pint', 'pvlib', 'matplotlib', 'moistsim.sweep'}"
    assert fresh(f"import sys, moistsim; print({heavy} & {{*sys.modules}})") == "set()"
    # A description needs none of these either.
    later = (
        "{'pvlib', 'matplotlib', 'moistsim.sweep', 'moistsim.study.tuning', 'moistsim.sensitivity'}"
    )
    code = f"import sys, moistsim as ms; ms.House; ms.simulate; print({later} & {{*sys.modules}})"
    assert fresh(code) == "set()"


def test_a_first_result_loads_what_it_needs_and_no_more() -> None:
    needed = "{'numba', 'pandas', 'pint', 'pvlib', 'moistsim.season'}"
    others = (
        "{'matplotlib', 'pythermalcomfort', 'scipy.stats', 'tqdm', 'moistsim.figures', 'moistsim.report', "
        "'moistsim.scenario', 'moistsim.study', 'moistsim.sweep', 'moistsim.weather.normals', "
        "'moistsim.weather.resampling', 'moistsim.weather.shifting', 'moistsim.weather.synthetic'}"
    )
    code = f"""
import sys
import moistsim as ms
season = ms.simulate(
    ms.House(floor_area="2000 ft2"),
    ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="2 ton")])),
    ms.strategies.temperature_only,
    ms.Weather.sample("miami"),
    start="07-01",
    end="07-01",
    spin_up="0 s",
)
assert season.meter.total_kwh > 0.0
print({needed} - {{*sys.modules}}, {others} & {{*sys.modules}})
"""
    assert fresh(code) == "set() set()"


def test_the_collector_of_garbage_is_not_touched_by_attributes_or_units() -> None:
    code = """
import gc
touched = []
gc.disable = gc.enable = lambda: touched.append(1)
import moistsim as ms
[getattr(ms, name) for name in ms.__all__]
ms.House(floor_area="2000 ft2")
print(touched)
"""
    assert fresh(code) == "[]"


@pytest.mark.parametrize("state", ["enable", "disable"])
def test_the_collector_of_garbage_is_left_as_it_was(state: str) -> None:
    """It pauses while numba loads or compiles machine code, and only then."""
    code = f"""
import gc
gc.{state}()
import moistsim as ms
ms.strategies.temperature_only.compiled
print(gc.isenabled())
"""
    assert fresh(code) == str(state == "enable")


def test_the_suns_year_is_worked_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """It takes as long as reading the file, checking it and forcing a house do together."""
    asked = []

    def counted(times: pd.DatetimeIndex, *place: float, **more: Any) -> Any:
        asked.append(len(times))
        return ask(times, *place, **more)

    ask = solarposition.get_solarposition
    monkeypatch.setattr(solarposition, "get_solarposition", counted)
    forcing._sky.cache_clear()
    weather = ms.Weather.sample("miami")
    forcing.force(ms.House(floor_area="2000 ft2"), weather)
    assert asked.count(len(weather)) == 1


def test_every_name_is_what_the_stub_says_though_modules_were_loaded_before() -> None:
    """Also where a function is named as its module, which the import system would put first."""
    stub = Path(ms.__file__).with_suffix(".pyi").read_text(encoding="utf-8")
    names = [a.name for n in ast.parse(stub).body if isinstance(n, ast.ImportFrom) for a in n.names]
    assert sorted(names) == sorted(ms.__all__) == sorted(dir(ms))
    code = """
import importlib, pkgutil, types
import pytest

import moistsim as ms
from moistsim.core.units import registry
for module in pkgutil.walk_packages(ms.__path__, "moistsim."):
    if not module.name.endswith("__main__"):
        importlib.import_module(module.name)
print(*(name for name in ms.__all__ if isinstance(getattr(ms, name), types.ModuleType)))
"""
    assert fresh(code) == "faults figures scenario strategies units"


@pytest.mark.parametrize("name", ["faults", "figures", "scenario", "strategies", "units"])
def test_a_module_can_be_the_first_name_that_is_asked_for(name: str) -> None:
    assert fresh(f"import moistsim as ms; print(ms.{name}.__name__)").endswith(name)


def test_units_are_read_the_same_from_a_cache_from_none_and_from_a_damaged_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def converted() -> float:
        # Past the registry that this process keeps.
        units = registry.__wrapped__()
        return float(units.Quantity(90.0, "pint/day").to("kg/s").magnitude)

    expected = 90 * 0.473176473e-3 * 998.2 / 86400  # US liquid pint, NIST SP 811
    folder = tmp_path / "kept"
    monkeypatch.setattr("platformdirs.user_cache_path", lambda **_: folder)
    assert converted() == pytest.approx(expected, rel=1e-9)
    kept = [*folder.glob("*.pickle")]
    assert kept
    assert converted() == pytest.approx(expected, rel=1e-9)
    for path in kept:
        path.write_bytes(path.read_bytes()[:-20])
    assert converted() == pytest.approx(expected, rel=1e-9)
    folder = tmp_path / "file"
    folder.write_text("no folder")
    assert converted() == pytest.approx(expected, rel=1e-9)
