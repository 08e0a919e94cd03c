"""The machine's own fan settings and the rest of a frosted coil, minute by minute."""

from itertools import groupby
from typing import Any

import pandas as pd
import pytest
from support.houses import house
from support.machines import machines, two_stage
from support.weathers import stretch

import moistsim as ms


def day(**changes: Any) -> pd.DataFrame:
    """A summer day by the minute, cooled by temperature."""
    season = ms.simulate(
        house(), machines(cooling=two_stage(**changes)), ms.strategies.temperature_only,
        stretch("miami", 190, 3), spin_up="1 day",
    )  # fmt: skip
    assert (season.balance["relative"].abs() <= 1e-9).all()
    return season.minutes("07-11")


def rests(minutes: pd.DataFrame) -> list[list[float]]:
    """Airflow by the minute of each whole rest of the compressor, the minute before it first."""
    groups = [
        (on, list(group))
        for on, group in groupby(
            zip(minutes["cooling_stage"], minutes["airflow_fraction"], strict=True),
            key=lambda row: row[0] > 0.0,
        )
    ]
    return [
        [before[1][-1][1], *(flow for _, flow in rest[1])]
        for before, rest in zip(groups[:-1], groups[1:-1], strict=False)
        if not rest[0]
    ]


@pytest.mark.parametrize("idle", [0.0, 0.4])
@pytest.mark.parametrize(("delay", "minutes"), [(0.0, 0), (60.0, 1), (90.0, 2), (180.0, 3)])
def test_the_fan_goes_on_as_it_was_and_then_idles(delay: float, minutes: int, idle: float) -> None:
    found = rests(day(fan_off_delay=delay, idle_airflow=idle))
    assert len(found) > 10
    for before, *flows in found:
        assert before > 0.5
        assert flows[:minutes] == [before] * minutes
        assert flows[minutes:] == [idle] * (len(flows) - minutes)


def test_the_idling_fan_is_metered_by_the_fan_law() -> None:
    """0.42 W/cfm x 900 cfm x 0.5³ = 47.25 W, which goes into the room's air."""
    minutes = day(idle_airflow=0.5)
    resting = minutes[minutes["airflow_fraction"] == 0.5]
    assert len(resting) > 100
    assert (resting["indoor_fan_kWh"] * 60e3).to_numpy() == pytest.approx(47.25)
    assert (resting["indoor_fan_h"] * 60.0).to_numpy() == pytest.approx(1.0)
    assert resting["water_reevaporated_kg"].sum() > 0.0


def test_a_call_for_the_fan_comes_before_its_settings() -> None:
    @ms.strategy
    def fan_alone(readings: Any, memory: Any) -> Any:
        return ms.Calls(fan=1.0, airflow=0.7)

    season = ms.simulate(
        house(), machines(cooling=two_stage(idle_airflow=0.4)), fan_alone,
        stretch("miami", 190, 3), spin_up=0,
    )  # fmt: skip
    assert season.hourly["airflow_fraction"].to_numpy() == pytest.approx(0.7)


@pytest.mark.parametrize("idle", [0.0, 0.5])
def test_a_frosted_coil_rests_and_its_minutes_are_counted(idle: float) -> None:
    """A limit far above freezing stands in for frost: one minute of it, then ten of rest."""
    minutes = day(frost_limit=13.0, defrost_time="10 min", idle_airflow=idle)
    frost = minutes["frost_h"] > 0.0
    running = minutes["cooling_stage"] > 0.0
    spans = [list(group) for _, group in groupby(zip(frost, running, strict=True), lambda r: r[0])]
    whole = [span for span in spans[1:-1] if span[0][0]]
    assert len(whole) > 10
    for span in whole:
        assert [on for _, on in span] == [True] + [False] * 10
    assert minutes["refused_coil_frost"].sum() >= len(whole)
    assert day()["frost_h"].sum() == 0.0


def test_no_blower_idles_at_a_tenth() -> None:
    with pytest.raises(ms.InputError) as refusal:
        two_stage(idle_airflow=0.1)
    assert str(refusal.value) == (
        "Cooling.idle_airflow: cannot use 0.1. Use 0 for an automatic fan, or from 0.3 to 1 of "
        "full flow: no blower turns steadily below that."
    )
