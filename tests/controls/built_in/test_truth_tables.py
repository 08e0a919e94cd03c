"""Each built-in control by hand: readings in, calls out, call after call."""

from typing import Any

import numpy as np
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.controls.interface import MEMORY_SIZE

BUILT_IN = ms.strategies.BUILT_IN


class Control:
    """A strategy that keeps its memory from one reading to the next, as in a run."""

    def __init__(self, strategy: ms.Strategy, stages: float = 2.0, variable: bool = False) -> None:
        self.strategy = strategy
        self.machine = {"cooling_stages": stages, "variable_speed": float(variable)}
        self.memory = np.zeros(MEMORY_SIZE)

    def __call__(self, temperature: float, rh: float) -> Any:
        fields = dict.fromkeys(ms.Readings._fields, 0.0)
        fields |= {"temperature": temperature, "relative_humidity": rh, **self.machine}
        fields["occupied"] = 1.0
        return self.strategy.compiled(
            ms.Readings(**fields), self.memory, self.strategy.packed_settings
        )


def calls(control: Control, readings: list[tuple[float, float]], *names: str) -> list[Any]:
    """The named calls for each reading in turn."""
    got = [control(*reading) for reading in readings]
    return [getattr(c, names[0]) if len(names) == 1 else tuple(getattr(c, n) for n in names)
            for c in got]  # fmt: skip


@pytest.mark.parametrize("name", BUILT_IN)
def test_the_thermostat_in_every_strategy(name: str) -> None:
    """Setpoint 24.5, deadband 0.5, stage 2 at +1.2: on above 24.75, off below 24.25, stage 2
    above 25.7 until below 24.5. Air too dry for any humidity call."""
    rising = [24.5, 24.7, 24.75, 24.8, 25.7, 25.8]
    falling = [25.0, 24.5, 24.4, 24.25, 24.2, 24.7, 24.8]
    control = Control(BUILT_IN[name])
    got = calls(control, [(t, 30.0) for t in rising + falling], "cooling")
    assert got == [0, 0, 0, 1, 1, 2, 2, 2, 1, 1, 0, 0, 1]


@pytest.mark.parametrize("name", BUILT_IN)
def test_the_thermostat_calls_what_there_is(name: str) -> None:
    """The same setpoints. One stage: never a second. Three: the third joins at +2.4 K, 26.9, and
    leaves at +1.2, 25.7. Variable: from 24.5 to 25.7 its call rises by a stage, in proportion."""
    readings = [25.1, 25.8, 26.8, 27.0, 25.8, 25.6, 24.6, 24.4, 23.9]
    dry = [(t, 30.0) for t in readings]
    one = calls(Control(BUILT_IN[name], stages=1.0), dry, "cooling")
    assert one == [1, 1, 1, 1, 1, 1, 1, 1, 0]
    three = calls(Control(BUILT_IN[name], stages=3.0), dry, "cooling")
    assert three == [1, 2, 2, 3, 3, 2, 2, 1, 0]
    speed = calls(Control(BUILT_IN[name], stages=2.0, variable=True), dry, "cooling")
    expected = [1.5, 2.0, 2.0, 2.0, 2.0, 1.0 + 1.1 / 1.2, 1.0 + 0.1 / 1.2, 1.0, 0.0]
    assert speed == pytest.approx(expected)


@pytest.mark.parametrize("name", BUILT_IN)
def test_the_heating_in_every_strategy(name: str) -> None:
    """Setpoint 20, deadband 0.5: on below 19.75, off above 20.25; strips below 18.5 until above
    19.7 (1.5 and 0.3 K below the setpoint)."""
    readings = [20.0, 19.75, 19.7, 18.5, 18.4, 19.0, 19.7, 19.8, 20.25, 20.3, 19.8]
    got = calls(Control(BUILT_IN[name]), [(t, 30.0) for t in readings], "heating")
    assert got == [0, 0, 1, 1, 2, 2, 2, 1, 1, 0, 0]
    both = calls(Control(BUILT_IN[name]), [(t, 99.0) for t in readings], "cooling", "heating")
    assert not any(cooling > 0.0 and heating > 0.0 for cooling, heating in both)


def test_temperature_only_is_blind_to_humidity() -> None:
    for rh in (10.0, 99.0):
        assert calls(
            Control(BUILT_IN["temperature_only"]), [(24.4, rh), (25.2, rh)], "cooling"
        ) == [
            0,
            1,
        ]


def test_overcooling_lowers_the_setpoint_while_it_is_humid() -> None:
    """Target 55 %, deadband 4: humid above 57 until below 53. Then the setpoint is 23.0:
    on above 23.25, off below 22.75; stage 2 stays at 25.7."""
    control = Control(BUILT_IN["overcooling"])
    readings = [
        (24.0, 57.0), (24.0, 57.1), (23.0, 57.0), (22.7, 57.0), (23.2, 53.0), (23.3, 53.0),
        (25.6, 53.0), (25.8, 53.0), (24.4, 52.9), (24.2, 53.0),
    ]  # fmt: skip
    assert calls(control, readings, "cooling") == [0, 1, 1, 0, 0, 1, 1, 2, 1, 0]


def test_the_humidistat_drives_the_dehumidifier_alone() -> None:
    control = Control(BUILT_IN["with_dehumidifier"])
    readings = [(24.0, 57.0), (24.0, 57.1), (24.0, 53.1), (24.0, 52.9), (24.0, 57.0)]
    assert calls(control, readings, "cooling", "dehumidifier") == [
        (0, 0), (0, 1), (0, 1), (0, 0), (0, 0),
    ]  # fmt: skip


def test_staged_reheat_stages_on_humidity() -> None:
    """Target 55 %: stage 1 above 57 until below 53; stage 2 above 59 until below 55."""
    control = Control(BUILT_IN["staged_reheat"])
    rh = [57.0, 57.1, 59.0, 59.1, 55.1, 54.9, 53.1, 52.9, 57.0]
    assert calls(control, [(24.0, h) for h in rh], "cooling") == [0, 1, 1, 2, 2, 1, 1, 0, 0]


def test_staged_reheat_holds_the_room_with_strips() -> None:
    """Strips 0.6 K below 24.5: on below 23.6, off above 24.2; the second 0.8 K further down: on
    below 22.8, off above 23.4. The blower stays at the compressor stage's own flow (airflow 0),
    unless `strip_airflow` says another."""
    control = Control(BUILT_IN["staged_reheat"])
    t = [24.2, 23.6, 23.5, 22.8, 22.7, 23.3, 23.5, 24.1, 24.3]
    got = calls(control, [(x, 58.0) for x in t], "cooling", "reheat", "airflow")
    assert [reheat for _, reheat, _ in got] == [0, 0, 1, 1, 2, 2, 1, 1, 0]
    assert all(cooling == 1 for cooling, _, _ in got)
    assert all(airflow == 0 for _, _, airflow in got)
    faster = Control(BUILT_IN["staged_reheat"](strip_airflow="80 %"))
    got = calls(faster, [(x, 58.0) for x in t], "reheat", "airflow")
    assert [airflow for _, airflow in got] == [0, 0, 0.8, 0.8, 0.8, 0.8, 0.8, 0.8, 0]


def test_staged_reheat_never_reheats_without_a_humidity_call() -> None:
    control = Control(BUILT_IN["staged_reheat"])
    assert calls(control, [(22.0, 50.0), (22.0, 57.0)], "cooling", "reheat") == [(0, 0), (0, 0)]
    # It stops reheating when the call ends, however cold the room.
    assert calls(control, [(22.0, 58.0), (22.0, 49.0)], "cooling", "reheat") == [(1, 2), (0, 0)]


def test_staged_reheat_does_not_dry_a_room_that_calls_for_heat() -> None:
    control = Control(BUILT_IN["staged_reheat"])
    readings = [(19.0, 70.0), (20.2, 70.0), (20.3, 70.0)]
    assert calls(control, readings, "cooling", "heating") == [(0, 1), (0, 1), (2, 0)]


def test_hot_gas_reheat_modulates_before_strips() -> None:
    """Hot gas's point 24.5 less 0.6 = 23.9: 0 at 24.2 to 1 at 23.6; strips below 22.8 until
    above 23.4; stage 1 above 57 until 53, stage 2 above 59 until 55."""
    control = Control(BUILT_IN["hot_gas_reheat"])
    t = [24.6, 24.2, 24.05, 23.9, 23.6, 22.9, 22.7, 23.3, 23.5, 24.3]
    got = calls(control, [(x, 58.0) for x in t], "cooling", "hot_gas", "reheat")
    assert [hot_gas for _, hot_gas, _ in got] == pytest.approx(
        [0, 0, 0.25, 0.5, 1, 1, 1, 1, 1, 0], abs=1e-9
    )
    assert [reheat for _, _, reheat in got] == [0, 0, 0, 0, 0, 0, 1, 1, 0, 0]
    assert all(cooling == 1 for cooling, _, _ in got)
    rh = [57.0, 57.1, 59.1, 55.1, 54.9, 52.9]
    got = calls(Control(BUILT_IN["hot_gas_reheat"]), [(23.0, h) for h in rh], "cooling", "hot_gas")
    assert got == [(0, 0), (1, 1), (2, 1), (2, 1), (1, 1), (0, 0)]


IN_FAHRENHEIT = BUILT_IN["staged_reheat"](
    # Numbers of our own: stage 1 on above 54 % and off at 49; stage 2 on above 59 and off at 54; all
    # enabled by a humidity call at 49 %; cooling at 76 degF; strips on below 73.1 degF and off above
    # 74.1 degF, which is 2.4 degF below the setpoint and half a degF either way; the blower full with
    # stage 2 and with strips.
    cooling_setpoint="76 degF",
    target_rh="49 %",
    enable_over="0 %",
    stage_1_on="5 %",
    stage_1_off="0 %",
    stage_2_on="10 %",
    stage_2_off="5 %",
    reheat_below="2.4 degF",
    reheat_deadband="1 degF",
    strip_airflow=1.0,
)


def fahrenheit(t: float) -> float:
    """degC of a number in degF."""
    return (t - 32.0) / 1.8


def test_in_fahrenheit_stages() -> None:
    room = fahrenheit(75.5)
    control = Control(IN_FAHRENHEIT)
    rh = [53.9, 54.1, 58.9, 59.1, 54.1, 53.9, 49.1, 48.9, 53.9, 54.1]
    assert calls(control, [(room, h) for h in rh], "cooling") == [0, 1, 1, 2, 2, 1, 1, 0, 0, 1]


def test_in_fahrenheit_strips_and_blower() -> None:
    control = Control(IN_FAHRENHEIT)
    t = [74.6, 73.2, 73.0, 74.0, 74.2, 73.2, 73.0]
    got = calls(control, [(fahrenheit(x), 58.0) for x in t], "cooling", "reheat", "airflow")
    assert [reheat for _, reheat, _ in got] == [0, 0, 1, 1, 0, 0, 1]
    assert [airflow for _, _, airflow in got] == [0, 0, 1, 1, 0, 0, 1]


def test_in_fahrenheit_blower_is_full_with_stage_2_and_with_strips() -> None:
    """Full blower as the air handler runs it, not only as it is called for."""
    season = ms.simulate(
        house(gains=ms.Gains(moisture="25 kg/day")), machines(), IN_FAHRENHEIT,
        stretch("miami", 190, 3), spin_up="1 day",
    )  # fmt: skip
    m = season.minutes("07-11")
    two, strips = m["cooling_stage"] == 2.0, m["reheat_stage"] > 0.0
    assert two.sum() > 10
    assert strips.sum() > 10
    assert (m.loc[two | strips, "airflow_fraction"] == 1.0).all()
    alone = (m["cooling_stage"] == 1.0) & ~strips
    assert (m.loc[alone, "airflow_fraction"] < 1.0).all()


def test_in_fahrenheit_thermostat_at_76() -> None:
    control = Control(IN_FAHRENHEIT)
    t = [76.0, 76.4, 76.5, 76.0, 75.6, 75.5]
    assert calls(control, [(fahrenheit(x), 40.0) for x in t], "cooling") == [0, 0, 1, 1, 1, 0]
