"""Every argument of a study and a run, and every key of a sweep, through the command line."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st
from support.careless import misspelled, nonsense
from support.careless_files import BEGIN
from support.damaged import damaged
from support.fuzz_rule import check_finite, check_season, examples, tried
from support.houses import house
from support.machines import machines
from support.scenario_files import write_ten_days
from support.through_a_command import Refused, command
from support.weathers import stretch

import moistsim as ms

DAYS = (
    "01-01",
    "07-10",
    "07-11",
    "07-12",
    "1990-07-11",
    "2026-07-11",
    "02-29",
    "13-01",
    "7/11",
    "July 11",
    "",
    None,
)
STEPS = ("60 s", "15 min", 60, 900, 7, 0, -60, "1 h", "0.1 s", "1e-9 s", 1e-9, "2 F", 1e300, 1)
SPANS = ("0 day", 0, "2 day", "21 day", -1, "1e9 day", 1e300, "5 F", 86400)


@examples(60)
@given(data=st.data())
def test_any_argument(data: st.DataObject) -> None:
    def one(*known: Any) -> Any:
        return data.draw(st.one_of(*[st.sampled_from(known)] * 3, nonsense()))

    control = ms.strategies.temperature_only
    study: dict[str, Any] = {"options": {"One": (machines(), control)}}
    given = data.draw(st.lists(st.sampled_from(["start", "end", "step", "base", "options", "spin_up"]), min_size=1, max_size=2, unique=True))  # fmt: skip
    known: dict[str, tuple[Any, ...]] = {
        "start": DAYS,
        "end": DAYS,
        "step": STEPS,
        "base": ("One", "one", "Two", "", None),
        "options": ({}, {"One": machines()}, {"One": (machines(),)}, {"One": (control, machines())}, {"$": (machines(), control)},
                    {"One": (machines(), control, machines())}, {"One": (machines(), control, house(stories=2))}, []),
        "spin_up": SPANS,
    }  # fmt: skip
    study |= {name: one(*known[name]) for name in given}
    spin_up = study.pop("spin_up", "1 day")

    def use() -> None:
        made = ms.Study(house(), weather=stretch("miami", 190, 4), **study)
        check_finite(made.run(progress=False, workers=1).table())
        for option in made.resolved.values():
            season = ms.simulate(
                option.house, option.equipment, option.strategy, made.weather,
                start=made.start, end=made.end, step=made.step, spin_up=spin_up,
            )  # fmt: skip
            check_season(season)

    shown = {name: value for name, value in study.items() if name in given} | {"spin_up": spin_up}
    tried("arguments", shown, use, ["Study", "simulate", *given, "season"])


# ------------------------------------------------------------------ sweeps

VARY: dict[str, Any] = {
    "house.ach50": [1, 3],
    "house.floor_area": ["1500 ft2", "2000 ft2"],
    "tariff.price": {"from": "10 cent/kWh", "to": "30 cent/kWh"},
    "equipment.ventilation.airflow": {"from": "40 cfm", "to": "90 cfm", "scale": "log"},
    "equipment.cooling.stages.1.capacity": ["1.5 ton", "2 ton"],
    "strategy.cooling_setpoint": ["75 F", "77 F"],
    "options.Reheat.strategy.target_rh": [48, "52 %"],
    "weather": [{"file": "october.csv", "label": "here"}],
    "equipment.strips": [{"label": "none", "absent": True}, {"label": "5 kW", "stages": ["5 kW"]}],
}


@st.composite
def careless_sweep(draw: st.DrawFn) -> dict[str, Any]:
    """A sweep file of three values at most, in which one or two things are wrong."""
    names = draw(st.lists(st.sampled_from([*VARY]), min_size=1, max_size=2, unique=True))
    vary = {name: VARY[name] for name in names}
    ranges = any(isinstance(value, dict) for value in vary.values())
    table: dict[str, Any] = {"sample": "sobol", "n": 2, "seed": 1} if ranges else {}
    for _ in range(draw(st.integers(1, 2))):
        how = draw(st.integers(0, 8))
        name = draw(st.sampled_from([*vary]))
        if how == 0:
            table["n"] = draw(st.sampled_from([0, -1, 2.5, "two", 10**8, 10**20, True, 3]))
        elif how == 1:
            table["sample"] = draw(
                st.sampled_from(["grid", "sobl", "latin_hypercube", "saltelli", 3, ""])
            )
        elif how == 2:
            table["seed"] = draw(st.sampled_from([-1, 1.5, "x", 2**70, True]))
        elif how == 3:
            vary[draw(damaged(name))] = vary.pop(name)
        elif how == 4:
            vary[name] = draw(nonsense())
        elif how == 5:
            vary[name] = [draw(nonsense())]
        elif how == 6:
            vary[name] = draw(st.sampled_from([{"from": 3, "to": 1}, {"from": 1}, {"from": "1 F", "to": "2 ft2"}, {"from": 0, "to": 1, "scale": "log"}, {"low": 1, "high": 2}]))  # fmt: skip
        elif how == 7:
            parts = name.split(".")
            k = draw(st.integers(0, len(parts) - 1))
            parts[k] = draw(misspelled(parts[k]))
            vary[".".join(parts)] = vary.pop(name)
        else:
            table[draw(st.sampled_from(["hourly", "zzz", "scenario", "vary", "note"]))] = draw(
                nonsense()
            )
        if not vary:
            break
    return {"vary": vary} | table


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A folder with ten days of weather; sweeps of more than ten cases are counted and not run."""
    here = tmp_path_factory.mktemp("fuzz")
    write_ten_days(here / "october.csv", "10-17")
    run = ms.Sweep.run

    def brief(sweep: ms.Sweep, executor: Any, out: Path, **how: Any) -> Any:
        if len(sweep.cases()) > 10:
            raise Accepted
        return run(sweep, "threads", out, **{**how, "workers": 1})

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ms.Sweep, "run", brief)
        yield here


class Accepted(BaseException):
    """A sweep that is too long to run here."""


@examples(50)
@given(table=careless_sweep())
def test_any_sweep(folder: Path, table: dict[str, Any]) -> None:
    scenario = tomllib.loads(BEGIN["five options"])
    scenario["options"] = {name: scenario["options"][name] for name in ("Plain", "Reheat")}
    scenario["season"] |= {"end": "10-22", "step": "15 min"}
    place = folder / f"out-{len([*folder.iterdir()])}"

    def use() -> None:
        (folder / "house.toml").write_text(tomli_w.dumps(scenario | table), encoding="utf-8")
        before = {path.name for path in folder.iterdir()}
        try:
            command(
                "sweep",
                str(folder / "house.toml"),
                "--out",
                str(place),
                "--workers",
                "1",
                "--quiet",
            )
        except Accepted:
            return
        except Refused:
            assert {path.name for path in folder.iterdir()} == before, "a refusal wrote files"
            raise

    try:
        tomli_w.dumps(table)
    except (TypeError, ValueError, UnicodeEncodeError):
        return
    tried("sweeps", table, use, ["house.toml"])
