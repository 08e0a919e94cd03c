"""What a strategy may be, and every sentence with which another is refused."""

import types
from typing import Any

import attrs
import numba
import numpy as np
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.controls import packing
from moistsim.controls.interface import SIGNATURE

BUILT_IN = ms.strategies.BUILT_IN


def sentence(call: Any) -> str:
    """The refusal of a call that must be refused."""
    with pytest.raises(ms.InputError) as refusal:
        call()
    return str(refusal.value)


def test_setting_gives_a_copy() -> None:
    base = BUILT_IN["overcooling"]
    warmer = base(cooling_setpoint="76 degF", overcool_by="2 degF", target_rh=48)
    assert warmer.settings["cooling_setpoint"] == pytest.approx(44.0 / 1.8)
    assert warmer.settings["overcool_by"] == pytest.approx(2.0 / 1.8)
    assert warmer.settings["target_rh"] == 48.0
    assert base.settings["cooling_setpoint"] == 24.5
    assert list(warmer.packed_settings) == list(warmer.settings.values())
    with pytest.raises(AttributeError):
        base.name = "other"


@pytest.mark.parametrize(
    ("name", "settings", "text"),
    [
        (
            "temperature_only", {"target": 50},
            ("strategy temperature_only: unknown setpoint 'target'. Use one of 'cooling_setpoint', "
            "'heating_setpoint', 'deadband', 'second_stage_at'."),
        ),
        (
            "temperature_only", {"cooling_setpoint": "75 %"},
            ("strategy temperature_only.cooling_setpoint: cannot read '75 %' as a temperature. "
            "Write '75 F' or '24 C'."),
        ),
        (
            "overcooling", {"overcool_by": "2 kW"},
            ("strategy overcooling.overcool_by: cannot read '2 kW' as a temperature difference. "
            "Write '2 F' or '1 K'."),
        ),
        (
            "with_dehumidifier", {"target_rh": None},
            ("strategy with_dehumidifier.target_rh: cannot read None as a relative humidity. "
            "Write '55 %'."),
        ),
        (
            "with_dehumidifier", {"target_rh": float("nan")},
            ("strategy with_dehumidifier.target_rh: cannot read nan as a relative humidity. Write "
            "'55 %'."),
        ),
        (
            "overcooling", {"overcool_by": 4.0},
            ("strategy overcooling: it cools the room to 20.2 °C (68.5 °F) and heats it at 20.0 °C (68.0 °F), which would be hidden reheat. Use a room of 20.5 °C (68.9 °F) or more, one deadband above the heating setpoint."),
        ),
        (
            "staged_reheat", {"reheat_below": "7 degF"},
            ("strategy staged_reheat: it cools the room to 20.4 °C (68.7 °F) and heats it at 20.0 °C (68.0 °F), which would be hidden reheat. Use a room of 20.5 °C (68.9 °F) or more, one deadband above the heating setpoint."),
        ),
        (
            "temperature_only", {"heating_setpoint": 24.0},
            ("strategy temperature_only: it cools the room to 24.2 °C (75.7 °F) and heats it at 24.0 °C (75.2 °F), which would be hidden reheat. Use a room of 24.5 °C (76.1 °F) or more, one deadband above the heating setpoint."),
        ),
        (
            "with_dehumidifier", {"target_rh": 0.55},
            ("strategy with_dehumidifier.target_rh: 0.55 is 0.55 % if it is in %. Did you mean '55 %'? "
            "Write the unit."),
        ),
        (
            "temperature_only", {"cooling_setpoint": "20 K"},
            ("strategy temperature_only.cooling_setpoint: cannot use '-253.1 °C (-423.7 °F)'. "
            "Use a value from 10.0 °C (50.0 °F) to 40.0 °C (104.0 °F)."),
        ),
        (
            "overcooling", {"deadband": -1.0},
            "strategy overcooling.deadband: cannot use '-1 K'. Use a value from 0.1 K to 10 K.",
        ),
        (
            "staged_reheat", {"stage_1_off": 2},
            ("strategy staged_reheat.stage_1_off: cannot use 2.0. Use a value below stage_1_on, "
            "which is 2."),
        ),
        (
            "staged_reheat", {"stage_2_off": 8},
            ("strategy staged_reheat.stage_2_off: cannot use 8.0. Use a value below stage_2_on, "
            "which is 4."),
        ),
    ],
)  # fmt: skip
def test_setpoints_that_cannot_be(name: str, settings: dict[str, Any], text: str) -> None:
    assert sentence(lambda: BUILT_IN[name](**settings)) == text


def test_the_edge_of_hidden_reheat() -> None:
    """24.5 less 3.75 less half a deadband is 20.5, one deadband above heating at 20: just let by."""
    assert BUILT_IN["overcooling"](overcool_by=3.75).settings["overcool_by"] == 3.75
    with pytest.raises(ms.InputError):
        BUILT_IN["overcooling"](overcool_by=3.76)


def test_signatures_that_are_no_strategy() -> None:
    def swapped(memory: Any, readings: Any) -> Any: ...

    def positional(readings: Any, memory: Any, dry_above: float = 55.0) -> Any: ...

    def without_default(readings: Any, memory: Any, *, dry_above: float) -> Any: ...

    assert sentence(lambda: ms.strategy(swapped)) == (
        "strategy swapped: cannot use '(memory: Any, readings: Any) -> Any'. Use a function of "
        "(readings, memory, *, setpoints with defaults)."
    )
    assert sentence(lambda: ms.strategy(positional)) == (
        "strategy positional.dry_above: cannot use 'dry_above: float = 55.0'. Use a keyword-only "
        "setpoint (after *) with a default."
    )
    assert sentence(lambda: ms.strategy(without_default)) == (
        "strategy without_default.dry_above: cannot use 'dry_above: float'. Use a keyword-only "
        "setpoint (after *) with a default."
    )


def test_a_default_with_a_wrong_unit() -> None:
    def wrong(readings: Any, memory: Any, *, limit: ms.units.DegC = "5 kW") -> Any: ...

    assert sentence(lambda: ms.strategy(wrong)) == (
        "strategy wrong.limit: cannot read '5 kW' as a temperature. Write '75 F' or '24 C'."
    )


def test_functions_that_numba_cannot_compile_and_that_do_not_run() -> None:
    """Tried once by the interpreter, before any run."""

    @ms.strategy
    def opens_a_file(readings: Any, memory: Any) -> Any:
        return open("calls.txt")

    @ms.strategy
    def forgets_to_return(readings: Any, memory: Any) -> Any:
        memory[0] = readings.temperature

    @ms.strategy
    def misspells(readings: Any, memory: Any) -> Any:
        return ms.Calls(cooling=readings.temprature)

    for strategy, found in (
        (opens_a_file, "FileNotFoundError: [Errno 2] No such file or directory: 'calls.txt'"),
        (forgets_to_return, "TypeError: it returned None"),
        (misspells, "AttributeError: 'Readings' object has no attribute 'temprature'"),
    ):
        text = sentence(lambda strategy=strategy: strategy.compiled)
        assert text == (
            f"strategy {strategy.name}: cannot use {found!r}. Use a function that runs on any "
            "readings, memory and setpoints, and returns ms.Calls(...), or the readings if it "
            "changes them."
        )


def by_a_name(readings: Any, memory: Any, *, setpoint: ms.units.DegC = "75 degF") -> Any:
    """What numba cannot compile: a name that is made of a number."""
    memory[1] += len(f"{readings.temperature:.1f}")
    on = readings.temperature + 0.5 * memory[0] > setpoint
    memory[0] = 1.0 if on else 0.0
    return ms.Calls(cooling=memory[0], ventilation=0.5)


def test_one_that_numba_cannot_compile_says_so_once() -> None:
    own = ms.strategy(by_a_name)
    with pytest.warns(UserWarning) as said:
        assert own.compiled is own(setpoint="76 degF").compiled
    assert len(said) == 1
    text = str(said[0].message)
    assert text.startswith("strategy by_a_name is called by the interpreter, which makes a run ")
    assert "since numba cannot compile it: " in text
    assert "\n" not in text
    season = ms.simulate(house(), machines(), own, stretch("miami", 190, 1), spin_up=0)
    # "24.1" has four characters; the trial before the run left nothing in the memory.
    assert season._record.memories[-1, 1] == 4 * 1440
    assert 0.0 < season.meter.runtime_h["cooling_stage_1"] < 24.0


def as_typed(part: Any) -> Any:
    """A built-in strategy or addition as if it were typed into a notebook."""
    f = part.function
    typed = types.FunctionType(f.__code__, f.__globals__, f.__name__, None, f.__closure__)
    typed.__module__, typed.__kwdefaults__ = "notebook", f.__kwdefaults__
    # As such a control may, the interpreter's has every reading.
    return attrs.evolve(part, function=typed, reads_dew_point=True)


@pytest.mark.parametrize("name", ["staged_reheat", "with_dehumidifier"])
def test_the_interpreter_gives_the_same_bits(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A built-in strategy and additions of both kinds over a week, compiled and not."""
    own = ms.strategies
    parts = [BUILT_IN[name], own.dew_point_control, own.held_back_ventilation]

    def week(strategy: ms.Strategy, *additions: ms.Addition) -> ms.Season:
        for addition in additions:
            strategy = strategy + addition
        weather = stretch("miami", 190, 9)
        return ms.simulate(house(), machines(), strategy, weather, spin_up=0)

    def refuses(*given: Any) -> Any:
        raise numba.core.errors.TypingError("as asked")

    compiled = week(*parts)
    with monkeypatch.context() as patch, pytest.warns(UserWarning, match="as asked") as said:
        patch.setattr(packing, "guarded", refuses)
        interpreted = week(*(as_typed(part) for part in parts))
    assert [w.category for w in said].count(UserWarning) == len(parts)
    assert compiled.meter.runtime_h["cooling_stage_1"] > 10.0
    assert 0.0 < compiled.hourly["ventilation_m3"].min() < compiled.hourly["ventilation_m3"].max()
    assert interpreted.hourly.to_numpy().tobytes() == compiled.hourly.to_numpy().tobytes()
    assert interpreted.memory.to_numpy().tobytes() == compiled.memory.to_numpy().tobytes()


def test_what_fails_within_the_run_stops_it_with_a_sentence() -> None:
    @ms.strategy
    def fails_at_night(readings: Any, memory: Any) -> Any:
        return ms.Calls(cooling=[0.0, 1.0, 2.0][int(f"{readings.hour:.0f}") // 7])

    @ms.strategy
    def is_interrupted(readings: Any, memory: Any) -> Any:
        if f"{readings.hour:.1f}" == "2.0":
            raise KeyboardInterrupt
        return ms.Calls()

    weather = stretch("miami", 190, 1)
    run = (house(), machines())
    with pytest.warns(UserWarning, match="is called by the interpreter"):
        text = sentence(lambda: ms.simulate(*run, fails_at_night, weather, spin_up=0))
    assert text.startswith(
        "strategy fails_at_night: cannot use 'IndexError: list index out of range'"
    )
    with (
        pytest.warns(UserWarning, match="is called by the interpreter"),
        pytest.raises(KeyboardInterrupt),
    ):
        ms.simulate(*run, is_interrupted, weather, spin_up=0)
    # Nothing of it is left for the next run of this thread.
    assert ms.simulate(*run, BUILT_IN["overcooling"], weather, spin_up=0).meter.kwh.sum() > 0.0


def test_a_strategy_compiles_to_the_one_signature() -> None:
    for strategy in BUILT_IN.values():
        assert strategy.compiled.nopython_signatures == [SIGNATURE]


def test_only_a_strategy_is_simulated() -> None:
    def plain(readings: Any, memory: Any) -> Any: ...

    text = sentence(lambda: ms.simulate(house(), machines(), plain, stretch("miami", 0, 1)))
    assert text.startswith("simulate strategy: cannot use <function ")
    assert text.endswith(". Use a strategy, made by @ms.strategy.")


def test_calls_defaults() -> None:
    assert tuple(ms.Calls()) == (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    assert ms.Calls(cooling=2).cooling == 2.0


@ms.strategy
def records_what_it_sees(readings: Any, memory: Any, *, setpoint: ms.units.DegC = 24.0) -> Any:
    """Keeps its last readings in memory."""
    memory[0] = readings.temperature
    memory[1] = readings.relative_humidity
    memory[2] = readings.outdoor_temperature
    memory[3] = readings.hour
    memory[4] = readings.day
    memory[5] = readings.month
    memory[6] = readings.dew_point
    memory[7] = readings.cooling_minutes
    memory[8] = readings.outdoor_relative_humidity
    memory[9] = readings.outdoor_dew_point
    memory[10] = memory[10] + 1.0
    return ms.Calls(cooling=1.0 if readings.temperature > setpoint else 0.0)


def test_readings_are_the_sensors_and_the_clock() -> None:
    weather = stretch("miami", 190, 2)
    season = ms.simulate(house(), machines(), records_what_it_sees, weather, spin_up=0)
    memory = season._record.memories
    hour = np.arange(48) % 24
    # The last step of an hour is read in its middle, half a minute before the hour is over.
    np.testing.assert_allclose(memory[:, 3], hour + 59.5 / 60.0)
    assert set(memory[:, 4]) == {191.0, 192.0}
    assert set(memory[:, 5]) == {7.0}
    assert list(memory[:, 10]) == [60.0 * (k + 1) for k in range(48)]
    # Sensors lag: within a deadband of the room, and never the same bits.
    room = season.hourly["indoor_temperature_C"].to_numpy()
    assert np.abs(memory[:, 0] - room).max() < 2.0
    assert (memory[:, 0] != room).all()
    assert ((memory[:, 1] > 1.0) & (memory[:, 1] < 100.0)).all()
    assert (memory[:, 6] < memory[:, 0]).all()
    assert (memory[:, 9] <= weather.frame["temp_air"].max()).all()


def test_memory_starts_at_zero_and_settings_reach_the_function() -> None:
    never = ms.simulate(
        house(), machines(), records_what_it_sees(setpoint="140 degF"), stretch("miami", 190, 1),
        spin_up=0,
    )  # fmt: skip
    assert never.meter.kwh["compressor"] == 0.0
    assert never._first_memory.tolist() == [0.0] * 16
