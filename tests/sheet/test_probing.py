"""A control is asked where it turns what on and off; each answer by hand."""

from typing import Any

import psychrolib
import pytest
from support.machines import machines, two_stage
from support.uncompiled import uncompiled

import moistsim as ms
from moistsim.sheet.probing import Control, Probe, levels_of, probe, sweep

BUILT_IN = ms.strategies.BUILT_IN
FOUND = 0.02
"""K or percent RH: finer than the sheet shows."""

# Setpoint 24.5, deadband 1, stage 2 at +1.2 until the setpoint; heating at 20, deadband 1, strips
# 1.5 below until 0.3 below: the same thresholds that the truth tables hold.
THERMOSTAT = [
    ("cooling, stage 1", "temperature", 24.75, 24.25),
    ("cooling, stage 2", "temperature", 25.7, 24.5),
    ("heat pump", "temperature", 19.75, 20.25),
    ("auxiliary heat", "temperature", 18.5, 19.7),
]
BY_HAND: dict[str, list[tuple[str, str, float, float]]] = {
    "temperature_only": [],
    # Humid above 57 until 53; the setpoint then 23.0: stage 1 on 23.25, off 22.75; stage 2
    # joins where it always does and stays as much longer as the setpoint is lower.
    "overcooling": [
        ("cooling, stage 1", "relative_humidity", 57.0, 53.0),
        ("cooling, stage 1", "temperature", 23.25, 22.75),
        ("cooling, stage 2", "temperature", 25.7, 23.0),
    ],
    "staged_reheat": [
        ("cooling, stage 1", "relative_humidity", 57.0, 53.0),
        ("cooling, stage 2", "relative_humidity", 59.0, 55.0),
        ("electric reheat, stage 1", "temperature", 23.6, 24.2),
        ("electric reheat, stage 2", "temperature", 22.8, 23.4),
    ],
    # In a room that just satisfies the thermostat, 24.15, a humidity call already brings some heat.
    "hot_gas_reheat": [
        ("hot-gas reheat, first", "relative_humidity", 57.0, 53.0),
        ("cooling, stage 1", "relative_humidity", 57.0, 53.0),
        ("cooling, stage 2", "relative_humidity", 59.0, 55.0),
        ("hot-gas reheat, first", "temperature", 24.2, 24.2),
        ("hot-gas reheat, full", "temperature", 23.6, 23.6),
        ("electric reheat, stage 1", "temperature", 22.8, 23.4),
    ],
    "with_dehumidifier": [("dehumidifier", "relative_humidity", 57.0, 53.0)],
    "set_back": [
        ("cooling, stage 1", "temperature", 29.25, 28.75),
        ("cooling, stage 2", "temperature", 30.2, 29.0),
        ("heat pump", "temperature", 13.75, 14.25),
        ("auxiliary heat", "temperature", 12.5, 13.7),
    ],
}

EMPTY = ms.strategies.temperature_only + ms.strategies.set_back


def found(of: Probe) -> list[tuple[str, str, float, float | None]]:
    return [(p.level.name, p.reading, p.on, p.off) for p in of.setpoints]


def alike(got: Any, expected: Any) -> None:
    """The same levels by the same readings, and values within `FOUND`."""
    assert sorted(x[:2] for x in got) == sorted(x[:2] for x in expected)
    rest = sorted(expected)
    for (name, reading, on, off), (_, _, on_by_hand, off_by_hand) in zip(
        sorted(got), rest, strict=True
    ):
        assert on == pytest.approx(on_by_hand, abs=FOUND), (name, reading)
        assert off == pytest.approx(off_by_hand, abs=FOUND), (name, reading)


def test_every_built_in_strategy_is_in_the_table() -> None:
    assert set(BY_HAND) >= {
        "temperature_only", "overcooling", "staged_reheat", "hot_gas_reheat",
        "with_dehumidifier",
    }  # fmt: skip


@pytest.mark.parametrize("name", BY_HAND)
def test_a_built_in_strategy_by_hand(name: str) -> None:
    control = EMPTY if name == "set_back" else BUILT_IN[name]
    alike(found(probe(control, machines())), THERMOSTAT + BY_HAND[name])


def test_setpoints_in_degrees_fahrenheit() -> None:
    """Setpoints given in degrees Fahrenheit are found to a tenth.

    Stages on above 54 and 59 %, off at 49 and 54; strips on below 73.1 degF and off above 74.1.
    """
    control = BUILT_IN["staged_reheat"](
        cooling_setpoint="76 degF", target_rh="49 %", enable_over="0 %", stage_1_on="5 %",
        stage_1_off="0 %", stage_2_on="10 %", stage_2_off="5 %", reheat_below="2.4 degF",
        reheat_deadband="1 degF", strip_airflow=1.0,
    )  # fmt: skip
    of = probe(control, machines())
    rh = [(p.on, p.off) for p in of.of("cooling", "relative_humidity")]
    assert [pytest.approx(x, abs=FOUND) for x in rh] == [(54.0, 49.0), (59.0, 54.0)]
    strips = of.of("reheat")[0]
    assert strips.on * 1.8 + 32 == pytest.approx(73.1, abs=FOUND)
    assert strips.off is not None
    assert strips.off * 1.8 + 32 == pytest.approx(74.1, abs=FOUND)
    assert not strips.rising
    assert {calls.airflow for calls in of.together.values()} == {1.0}, "full blower with strips"
    assert set(of.together) == {(1, 1), (1, 2), (2, 1), (2, 2)}


def test_what_is_found_moves_with_the_code_and_not_with_its_names() -> None:
    """A setpoint that is named and never used is not on a sheet; one that is used, is."""

    @ms.strategy
    def own(
        readings: Any, memory: Any, *, cooling_setpoint: ms.units.CoolingSetpoint = 24.0
    ) -> Any:
        return ms.Calls(cooling=1.0 if readings.temperature > 26.3 else 0.0)

    of = probe(own, machines())
    alike(found(of), [("cooling, stage 1", "temperature", 26.3, 26.3)])


def test_a_timer_does_not_hide_a_threshold() -> None:
    """On after 20 minutes above 58 %, off after 20 below 52 %."""

    @ms.strategy
    def slow(readings: Any, memory: Any) -> Any:
        wants = memory[0]
        if readings.relative_humidity > 58.0:
            wants = 1.0
        elif readings.relative_humidity < 52.0:
            wants = 0.0
        memory[1] = memory[1] + readings.step_minutes if wants != memory[0] else 0.0
        if memory[1] >= 20.0:
            memory[0], memory[1] = wants, 0.0
        return ms.Calls(dehumidifier=memory[0])

    alike(found(probe(slow, machines())), [("dehumidifier", "relative_humidity", 58.0, 52.0)])


def test_hours_are_looked_through() -> None:
    """A control that dries by night only is found out, and the sheet says when."""

    @ms.strategy
    def night(readings: Any, memory: Any) -> Any:
        by_night = readings.hour < 6.0
        return ms.Calls(dehumidifier=1.0 if by_night and readings.relative_humidity > 54 else 0.0)

    of = probe(night, machines())
    alike(found(of), [("dehumidifier", "relative_humidity", 54.0, 54.0)])
    assert of.setpoints[0].when == "during hours 0–5"
    assert of.hour == 0.5


def test_months_are_looked_through() -> None:
    @ms.strategy
    def summer(readings: Any, memory: Any) -> Any:
        above = 56.0 if 5.0 <= readings.month <= 9.0 else 62.0
        return ms.Calls(dehumidifier=1.0 if readings.relative_humidity > above else 0.0)

    points = probe(summer, machines()).setpoints
    assert [(round(p.on, 1), p.when) for p in points] == [
        (56.0, ""), (62.0, "in months 1–4, 10–12"),
    ]  # fmt: skip


def test_an_empty_house_is_told_apart() -> None:
    of = probe(EMPTY, machines())
    assert {p.when for p in of.setpoints} == {"", "house unoccupied"}
    assert all(p.on in (pytest.approx(24.75, abs=FOUND), pytest.approx(25.7, abs=FOUND))
               for p in of.of("cooling") if not p.when)  # fmt: skip


def test_ventilation_held_back_by_outdoor_dew_point() -> None:
    @ms.strategy
    def held(readings: Any, memory: Any) -> Any:
        if readings.outdoor_dew_point > 17.0:
            memory[0] = 1.0
        if readings.outdoor_dew_point < 15.0:
            memory[0] = 0.0
        return ms.Calls(ventilation=1.0 - memory[0])

    of = probe(held, machines())
    alike(found(of), [("reduced ventilation", "outdoor_dew_point", 17.0, 15.0)])


def test_control_by_dew_point_is_found_by_rh_and_by_temperature() -> None:
    """A dew-point control is found both by RH and by temperature.

    Dries above 13 degC of dew point, with strips below 20.8 degC while it does. The RH at which
    that is, in the room of the sweep, is read from PsychroLib's saturation curve.
    """

    psychrolib.SetUnitSystem(psychrolib.SI)

    @ms.strategy
    def dew(readings: Any, memory: Any) -> Any:
        drying = 1.0 if readings.dew_point > 13.0 else 0.0
        return ms.Calls(cooling=drying, reheat=drying if readings.temperature < 20.8 else 0.0)

    of = probe(dew, machines())
    (by_rh,) = of.of("cooling", "relative_humidity")
    assert by_rh.temperature is not None
    saturated = psychrolib.GetSatVapPres
    expected = 100.0 * saturated(13.0) / saturated(by_rh.temperature)
    assert by_rh.on == pytest.approx(expected, abs=0.05)
    assert of.of("reheat")[0].on == pytest.approx(20.8, abs=FOUND)


def test_lost_messages() -> None:
    """None of the built-in controls minds; one that releases after half an hour is timed."""
    assert probe(BUILT_IN["staged_reheat"], machines()).lost is None

    @ms.strategy
    def careful(readings: Any, memory: Any) -> Any:
        humid = readings.relative_humidity > 55.0 and readings.message_age < 30.0
        return ms.Calls(cooling=1.0 if humid else 0.0)

    lost = probe(careful, machines()).lost
    assert lost is not None
    assert lost[0] == 30.0
    assert lost[1].cooling == 0.0


def test_variable_speed_has_a_lowest_and_a_full_speed() -> None:
    """From 24.75 it runs; its call rises by a stage over the 1.2 K above 24.5."""
    variable = machines(cooling=two_stage(modulation="variable"))
    points = probe(BUILT_IN["temperature_only"], variable).of("cooling")
    assert [(p.level.name, p.on) for p in points] == [
        ("cooling, lowest speed", pytest.approx(24.75, abs=FOUND)),
        ("cooling, full speed", pytest.approx(25.7, abs=FOUND)),
    ]  # fmt: skip


def test_machines_that_are_not_there_have_no_setpoint() -> None:
    of = probe(BUILT_IN["staged_reheat"], ms.Equipment(cooling=two_stage()))
    assert {p.level.call for p in of.setpoints} == {"cooling"}


def results() -> list[Any]:
    """For the process without a compiler."""
    control = Control(BUILT_IN["staged_reheat"], machines(), temperature=22.0)
    changes = sweep(control, "relative_humidity", (50.0, 62.0, 48.0), 0.5, levels_of(machines()))
    return [[change.level.name, change.at, change.became] for change in changes]


@pytest.mark.slow
def test_compiled_and_uncompiled_find_the_same_bits() -> None:
    assert len(results()) == 8, "two stages and two strips, on and off"
    assert uncompiled(results) == results()
