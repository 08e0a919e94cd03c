"""A control that reads the dew point has it; one that declares that it does not cannot read it."""

from typing import Any

import attrs
import numba
import numpy as np
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import sample

import moistsim as ms
from moistsim import air


@ms.strategy
def looks_by_name(readings, memory, *, dry_above: float = 12.0):
    memory[0], memory[1] = readings.temperature, readings.relative_humidity
    memory[2] = readings.dew_point
    return ms.Calls(dehumidifier=1.0 if readings.dew_point > dry_above else 0.0)


@ms.strategy
def looks_by_place(readings, memory, *, dry_above: float = 12.0):
    memory[0], memory[1], memory[2] = readings[0], readings[1], readings[2]
    return ms.Calls(dehumidifier=1.0 if readings[2] > dry_above else 0.0)


@numba.njit
def _wet(limit: float, air: Any) -> bool:
    return air.dew_point > limit if air.temperature > 20.0 else False


def _july_10(strategy: Any, fitted: ms.Equipment | None = None) -> ms.Season:
    return ms.simulate(
        house(), fitted or machines(), strategy, sample("miami"), start="07-10", end="07-10"
    )


@pytest.mark.parametrize("sensor", [None, ms.Sensor(report_every="5 min")])
def test_by_default_a_control_has_the_dew_point(sensor: ms.Sensor | None) -> None:
    fitted = machines() if sensor is None else machines(sensor=sensor)
    named, placed = _july_10(looks_by_name, fitted), _july_10(looks_by_place, fitted)
    np.testing.assert_array_equal(named._record.hourly, placed._record.hourly)
    t, rh, dew_point = named._record.memories[:, :3].T
    vapor = 0.01 * rh * air.over(air.saturation_pressure, t)
    np.testing.assert_allclose(dew_point, air.over(air.dew_point, vapor), atol=1e-9)
    assert named.hourly["dehumidifier_h"].sum() > 0.0


def _by_name(readings, memory):
    return ms.Calls(dehumidifier=1.0 if readings.dew_point > 12.0 else 0.0)


def _handed_on(readings, memory):
    return ms.Calls(dehumidifier=1.0 if _wet(12.0, air=readings) else 0.0)


def _where_the_trial_does_not_go(readings, memory):
    return ms.Calls(dehumidifier=1.0 if readings.hour > 20.0 and readings.dew_point > 12.0 else 0.0)


def _by_its_name_in_words(readings, memory):
    return ms.Calls(dehumidifier=1.0 if getattr(readings, "dew_point") > 12.0 else 0.0)  # noqa: B009


def _replaced(readings, memory):
    return ms.Calls(cooling=readings._replace(dew_point=12.0).temperature)


@pytest.mark.parametrize(
    "function",
    [_by_name, _handed_on, _where_the_trial_does_not_go, _by_its_name_in_words, _replaced],
)
def test_one_that_declares_that_it_does_not_read_it_is_refused_if_it_does(function: Any) -> None:
    control = ms.strategy(reads_dew_point=False)(function)
    with pytest.raises(ms.InputError) as refusal:
        _july_10(control)
    text = str(refusal.value)
    assert text.startswith(f"strategy {function.__name__}: a function that numba cannot compile ")
    assert "a function that numba cannot compile without readings.dew_point" in text
    assert text.endswith("reads_dew_point=True, the default, or a function that does not read it.")
    # The same function without the declaration runs.
    if function is not _replaced:
        assert _july_10(ms.strategy(function)).hourly["dehumidifier_h"].sum() > 0.0


def test_an_addition_that_declares_that_it_does_not_read_it_is_refused_if_it_does() -> None:
    @ms.addition(reads_dew_point=False)
    def dries(readings, memory, calls):
        return calls._replace(dehumidifier=1.0 if readings.dew_point > 12.0 else 0.0)

    with pytest.raises(ms.InputError, match="addition dries: .* without readings.dew_point"):
        _july_10(ms.strategies.temperature_only + dries)


def test_an_addition_that_changes_other_readings_hands_the_dew_point_on() -> None:
    @ms.addition(reads_dew_point=False)
    def warmer(readings, memory):
        return readings._replace(temperature=readings.temperature + 1.0)

    plain = _july_10(looks_by_name)._record.memories
    changed = _july_10(looks_by_name + warmer)._record.memories
    assert (looks_by_name + warmer).reads_dew_point
    assert np.isfinite(changed[:, 2]).all()
    # In the first hour the rooms are still the same but for what the dehumidifier did.
    assert changed[0, 2] == pytest.approx(plain[0, 2], abs=1e-9)
    assert changed[0, 0] == pytest.approx(plain[0, 0] + 1.0, abs=1e-9)


def test_what_declares_nothing_is_given_it() -> None:
    own = ms.strategies
    assert looks_by_name.reads_dew_point
    assert not any(strategy.reads_dew_point for strategy in own.BUILT_IN.values())
    assert [a.name for a in own.ADDITIONS.values() if a.reads_dew_point] == ["dew_point_control"]
    assert not (own.staged_reheat + own.slower_airflow).reads_dew_point
    assert (own.staged_reheat + own.dew_point_control).reads_dew_point
    assert (looks_by_name + own.slower_airflow).reads_dew_point
    row = {
        "do": "dehumidifier", "when": "dew point > 13 degC", "release_when": "dew point < 12 degC"
    }  # fmt: skip
    assert ms.rule_table([row]).reads_dew_point


@pytest.mark.parametrize("name", ms.strategies.BUILT_IN)
def test_the_declaration_changes_no_bit(name: str) -> None:
    """A built-in strategy with set_back, which hands readings on, given the dew point or not."""
    without = ms.strategies.BUILT_IN[name] + ms.strategies.set_back
    given = attrs.evolve(without, reads_dew_point=True)
    seasons = [_july_10(strategy) for strategy in (without, given)]
    assert len({season._record.hourly.tobytes() for season in seasons}) == 1
