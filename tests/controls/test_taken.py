"""What is known of the readings that a control looks at, and that the loop works out no others."""

import functools
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import sample

import moistsim as ms
from moistsim import air
from moistsim.controls.taken import may_take

NO_RH = "relative_humidity"


@ms.strategy
def hands_on(readings, memory, *, dry_above: float = 50.0):
    return ms.Calls(cooling=1.0 if _wet(dry_above, air=readings) else 0.0)


def _wet(limit: float, air: Any) -> bool:
    return air.relative_humidity > limit if air.temperature > 20.0 else False


def by_name(readings: Any) -> float:
    return readings.relative_humidity + readings.temperature


def by_another_name(readings: Any) -> float:
    same = readings
    again = same
    return again.dew_point


def by_choice(readings: Any, other: Any) -> float:
    either = readings if other.hour > 12.0 else other
    return either.dew_point


def by_place(readings: Any) -> float:
    return readings[2]


def one_after_another(readings: Any) -> float:
    total = 0.0
    for reading in readings:
        total += reading
    return total


def all_at_once(readings: Any) -> float:
    return sum(readings)


def by_the_words_name(readings: Any) -> float:
    return getattr(readings, "dew_point")  # noqa: B009 - it is what is tried


def unpacked(readings: Any) -> float:
    _, _, found, *_ = readings
    return found


def spread_out(readings: Any) -> float:
    return _third(*readings)


def _third(_: float, __: float, found: float, *___: float) -> float:
    return found


def handed_on(readings: Any) -> float:
    return by_another_name(readings)


def handed_on_twice(readings: Any) -> float:
    return handed_on(readings)


def changed(readings: Any) -> Any:
    return readings._replace(temperature=20.0)


def given_back(readings: Any) -> Any:
    return readings


def kept(readings: Any, found: list[Any]) -> None:
    found.append(readings)


def in_a_closure(readings: Any) -> float:
    return (lambda: readings.dew_point)()


def goes_round(readings: Any, left: int) -> float:
    return goes_round(readings, left - 1) if left > 0 else 0.0


@functools.wraps(by_another_name)
def decorated(*arguments: Any) -> float:
    return by_another_name(*arguments)


def never_used(readings: Any) -> float:
    return 1.0


def compared(readings: Any, other: Any) -> bool:
    return bool(readings == other)


@pytest.mark.parametrize(
    "function",
    [
        by_another_name, by_choice, by_place, one_after_another, all_at_once, by_the_words_name,
        unpacked, spread_out, handed_on, handed_on_twice, changed, given_back, kept, in_a_closure,
        goes_round, decorated, compared,
    ],
)  # fmt: skip
def test_whatever_may_take_the_dew_point_counts_as_taking_it(function: Callable[..., Any]) -> None:
    assert may_take(function, "dew_point")


def test_other_readings_by_their_names_are_told_apart() -> None:
    assert not may_take(by_name, "dew_point")
    assert not may_take(never_used, "dew_point")
    assert may_take(by_name, NO_RH)
    assert may_take(hands_on.function, NO_RH)
    assert not hands_on.takes_dew_point


def test_built_ins_are_told_apart() -> None:
    """A built-in that looked at it unseen would be wrong, one that is thought to would be slow."""
    own = ms.strategies
    assert not any(strategy.takes_dew_point for strategy in own.BUILT_IN.values())
    assert not (own.staged_reheat + own.slower_airflow).takes_dew_point
    assert (own.staged_reheat + own.dew_point_control).takes_dew_point
    row = {
        "do": "dehumidifier", "when": "dew point > 13 degC", "release_when": "dew point < 12 degC"
    }  # fmt: skip
    assert ms.rule_table([row]).takes_dew_point


@ms.strategy
def looks_by_name(readings, memory, *, dry_above: float = 12.0):
    memory[0], memory[1] = readings.temperature, readings.relative_humidity
    memory[2] = readings.dew_point
    return ms.Calls(dehumidifier=1.0 if readings.dew_point > dry_above else 0.0)


@ms.strategy
def looks_by_place(readings, memory, *, dry_above: float = 12.0):
    memory[0], memory[1], memory[2] = readings[0], readings[1], readings[2]
    return ms.Calls(dehumidifier=1.0 if readings[2] > dry_above else 0.0)


@pytest.mark.parametrize("sensor", [None, ms.Sensor(report_every="5 min")])
def test_a_control_that_looks_is_told_and_one_that_does_not_is_not(
    sensor: ms.Sensor | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    fitted = machines() if sensor is None else machines(sensor=sensor)

    def season(strategy: Any) -> Any:
        return ms.simulate(house(), fitted, strategy, sample("miami"), start="07-10", end="07-10")

    named, placed = season(looks_by_name), season(looks_by_place)
    np.testing.assert_array_equal(named._record.hourly, placed._record.hourly)
    t, rh, dew_point = named._record.memories[:, :3].T
    vapor = 0.01 * rh * air.over(air.saturation_pressure, t)
    np.testing.assert_allclose(dew_point, air.over(air.dew_point, vapor), atol=1e-9)
    assert named.hourly["dehumidifier_h"].sum() > 0.0
    # What the loop does for those that do not look, done to one that does.
    monkeypatch.setattr("moistsim.controls.interface.may_take", lambda *_: False)
    untold = season(looks_by_name)
    assert np.isnan(untold._record.memories[:, 2]).all()
    assert untold.hourly["dehumidifier_h"].sum() == 0.0
