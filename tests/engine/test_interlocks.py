"""What machines refuse, by hand; and that no control whatever gets round it."""

from collections.abc import Iterator
from itertools import groupby
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.engine import interlocks, parameters
from moistsim.engine.interlocks import Conditions, Running, obey
from moistsim.engine.metering import REFUSALS
from moistsim.engine.records import AirHandlerParameters, DehumidifierParameters, State
from moistsim.engine.strips import strip_power

PLANT = parameters.plant(house(), machines(), ms.strategies.temperature_only, 60.0)
STAGES = parameters.stage_table(machines().cooling)
REST = State(*parameters.initial_state(PLANT, 24.0, 0.5, 101325.0))
WARM = 30.0
"""Outdoors, degC."""
NO_DEHUMIDIFIER = DehumidifierParameters(*(0.0 for _ in DehumidifierParameters._fields))
NOTHING = AirHandlerParameters(*(0.0 for _ in AirHandlerParameters._fields))


def run(
    state: State = REST,
    t_out: float = WARM,
    unit: AirHandlerParameters = PLANT.unit,
    installed: DehumidifierParameters = PLANT.dehumidifier,
    locked_out: bool = False,
    **calls: float,
) -> Running:
    """What runs after one call."""
    return obey(  # type: ignore[no-any-return]
        ms.Calls(**calls),
        state,
        unit,
        installed,
        STAGES,
        Conditions(t_out, state.indoor_temperature, locked_out),
        60.0,
    )


def refusals(running: Running) -> set[str]:
    """Names of the reasons whose bit is set, in the order of the meter's columns."""
    return {
        name.removeprefix("refused_") for k, name in enumerate(REFUSALS) if running.refused >> k & 1
    }


def test_bits_are_in_the_order_of_the_columns() -> None:
    bits = [getattr(interlocks, name.removeprefix("refused_").upper()) for name in REFUSALS]
    assert bits == [1 << k for k in range(len(REFUSALS))]


COOLING = REST._replace(cooling_stage=1.0, cooling_time=600.0, airflow=0.7)
HEATING = REST._replace(heating_stage=1.0, heating_time=600.0, airflow=1.0)
DRYING = REST._replace(dehumidifier=1.0, dehumidifier_time=600.0)
TRIPPED = REST._replace(strips_open=60.0)


@pytest.mark.parametrize(
    ("state", "t_out", "calls", "running", "reasons"),
    [
        # Nothing asked, nothing refused.
        (REST, WARM, {}, {"cooling": 0, "heating": 0, "airflow": 0}, set()),
        (REST, WARM, {"cooling": 1}, {"cooling": 1}, set()),
        (REST, WARM, {"cooling": 2, "reheat": 1}, {"cooling": 2, "reheat": 1}, set()),
        # A call for the fan alone: the airflow of stage 1.
        (REST, WARM, {"fan": 1}, {"airflow": 620.0 / 900.0, "fan_share": 1.0}, set()),
        (REST, WARM, {"fan": 1, "airflow": 0.5}, {"airflow": 0.5}, set()),
        (REST, WARM, {"airflow": 0.5}, {"airflow": 0.0}, set()),
        # Minimum times: 5 min on, 5 min off, of each machine by its own clock.
        (COOLING._replace(cooling_time=240.0), WARM, {}, {"cooling": 1}, {"minimum_time"}),
        (COOLING._replace(cooling_time=300.0), WARM, {}, {"cooling": 0}, set()),
        (REST._replace(cooling_time=240.0), WARM, {"cooling": 1}, {"cooling": 0}, {"minimum_time"}),
        (REST._replace(cooling_time=300.0), WARM, {"cooling": 1}, {"cooling": 1}, set()),
        (REST._replace(heating_time=240.0), WARM, {"cooling": 1}, {"cooling": 0}, {"minimum_time"}),
        (REST._replace(cooling_time=240.0), 5.0, {"heating": 1}, {"heating": 0}, {"minimum_time"}),
        (HEATING._replace(heating_time=240.0), 5.0, {}, {"heating": 1}, {"minimum_time"}),
        (HEATING._replace(heating_time=300.0), 5.0, {}, {"heating": 0}, set()),
        (DRYING._replace(dehumidifier_time=240.0), WARM, {}, {"dehumidifier": 1}, {"minimum_time"}),
        (
            REST._replace(dehumidifier_time=240.0), WARM, {"dehumidifier": 1},
            {"dehumidifier": 0}, {"minimum_time"},
        ),
        # A stage may change while the compressor runs.
        (COOLING._replace(cooling_time=60.0), WARM, {"cooling": 2}, {"cooling": 2}, set()),
        # Cold outdoors keeps a compressor from starting.
        (REST, 11.9, {"cooling": 1}, {"cooling": 0}, {"outdoor_cold"}),
        (REST, 12.1, {"cooling": 1}, {"cooling": 1}, set()),
        # Frost stops it at once, even within its minimum time, and keeps it off.
        (
            COOLING._replace(cooling_time=60.0, frosted=1.0), WARM, {"cooling": 1},
            {"cooling": 0}, {"coil_frost"},
        ),
        (REST._replace(frosted=1.0), WARM, {"cooling": 1}, {"cooling": 0}, {"coil_frost"}),
        # Heat and cold never together; what runs goes on.
        (COOLING, WARM, {"cooling": 1, "heating": 1}, {"cooling": 1, "heating": 0},
         {"heat_against_cool"}),
        (REST, WARM, {"cooling": 1, "heating": 1}, {"cooling": 1, "heating": 0},
         {"heat_against_cool"}),
        # Not in the step in which the compressor stops either, however long it ran.
        (COOLING, 15.0, {"heating": 1}, {"cooling": 0, "heating": 0}, {"heat_against_cool"}),
        (HEATING, WARM, {"cooling": 1, "heating": 1}, {"cooling": 0, "heating": 1},
         {"heat_against_cool"}),
        # Reheat is reheat only beside cooling.
        (REST, WARM, {"reheat": 1}, {"reheat": 0, "airflow": 0}, {"reheat_alone"}),
        (REST, WARM, {"reheat": 1, "fan": 1, "airflow": 1}, {"reheat": 0, "airflow": 1}, {"reheat_alone"}),
        (
            REST._replace(cooling_time=60.0), WARM, {"cooling": 1, "reheat": 1},
            {"cooling": 0, "reheat": 0}, {"minimum_time", "reheat_alone"},
        ),
        # An open limit switch keeps all strips off; the blower goes on over them.
        (TRIPPED, WARM, {"cooling": 2, "reheat": 2}, {"cooling": 2, "reheat": 0},
         {"strips_tripped"}),
        (TRIPPED, 5.0, {"heating": 2}, {"heating": 2, "backup": 0, "heat_pump": 1},
         {"strips_tripped"}),
        (TRIPPED, -25.0, {"heating": 1}, {"heating": 1, "backup": 0, "heat_pump": 0, "airflow": 1},
         {"strips_tripped"}),
        # Staged strips take the nearest whole stage.
        (REST, WARM, {"cooling": 2, "reheat": 0.4}, {"reheat": 0}, set()),
        (REST, WARM, {"cooling": 2, "reheat": 1.5}, {"reheat": 2}, set()),
        # Hot gas is the compressor's.
        (REST, WARM, {"cooling": 1, "hot_gas": 0.4}, {"cooling": 1, "hot_gas": 0.4}, set()),
        (REST, WARM, {"cooling": 1, "hot_gas": 1.4}, {"hot_gas": 1}, {"not_installed"}),
        (REST, WARM, {"hot_gas": 1, "fan": 1, "airflow": 1}, {"hot_gas": 0, "airflow": 1}, {"reheat_alone"}),
        (
            REST._replace(cooling_time=60.0), WARM, {"cooling": 1, "hot_gas": 1},
            {"cooling": 0, "hot_gas": 0}, {"minimum_time", "reheat_alone"},
        ),
        # A compressor that stops has its rest before it heats.
        (COOLING, 5.0, {"heating": 1}, {"cooling": 0, "heating": 0}, {"heat_against_cool"}),
        # No blower turns steadily at a tenth of its flow.
        (REST, WARM, {"fan": 1, "airflow": 0.1}, {"airflow": 0.3}, {"low_airflow"}),
        # What is not there.
        (REST, WARM, {"cooling": 3}, {"cooling": 2}, {"not_installed"}),
        (REST, WARM, {"cooling": 1, "reheat": 3, "airflow": 1}, {"reheat": 2}, {"not_installed"}),
        (REST, WARM, {"fan": 1, "airflow": 1.5}, {"airflow": 1.0}, {"not_installed"}),
        # A cold room would frost the dehumidifier.
        (REST._replace(indoor_temperature=7.9), WARM, {"dehumidifier": 1}, {"dehumidifier": 0},
         {"dehumidifier_cold"}),
        (DRYING._replace(indoor_temperature=7.9, dehumidifier_time=60.0), WARM, {"dehumidifier": 1},
         {"dehumidifier": 0}, {"dehumidifier_cold"}),
        # Heating: the heat pump, with strips at 2, or strips alone below its limit.
        (REST, 5.0, {"heating": 1}, {"heating": 1, "heat_pump": 1, "backup": 0, "airflow": 1},
         set()),
        (REST, 5.0, {"heating": 2}, {"heat_pump": 1, "backup": 1}, set()),
        (REST, -25.0, {"heating": 1}, {"heat_pump": 0, "backup": 1}, set()),
    ],
)  # fmt: skip
def test_one_call_by_hand(
    state: State, t_out: float, calls: dict[str, float], running: dict[str, float],
    reasons: set[str],
) -> None:  # fmt: skip
    result = run(state, t_out, **calls)
    assert {name: getattr(result, name) for name in running} == running
    assert refusals(result) == reasons


def test_a_house_without_machines_refuses_all_calls() -> None:
    for calls in (
        {"cooling": 1}, {"heating": 1}, {"cooling": 1, "reheat": 1}, {"dehumidifier": 1},
        {"hot_gas": 1},
    ):  # fmt: skip
        result = run(unit=NOTHING, installed=NO_DEHUMIDIFIER, **calls)
        assert result._replace(fan_share=0.0)[:-1] == (0.0,) * (len(Running._fields) - 1)
        assert "not_installed" in refusals(result)
    assert run(unit=NOTHING, installed=NO_DEHUMIDIFIER, fan=1.0).airflow == 0.0


def test_calls_that_are_no_stage_numbers() -> None:
    assert run(cooling=float("nan")).cooling == 0.0
    assert run(cooling=-1.0).cooling == 0.0
    assert run(cooling=1.4).cooling == 1.0
    for far in (1e300, float("inf")):
        assert run(cooling=far).cooling == 2.0
        assert refusals(run(cooling=far)) == {"not_installed"}
        assert run(t_out=5.0, heating=far).heating == 2.0


def test_strips_by_stages_and_by_share() -> None:
    table = np.array([3000.0, 5000.0])
    got = [strip_power(table, stages) for stages in (0.0, 0.5, 1.0, 1.5, 2.0, 9.0)]
    assert got == [0.0, 1500.0, 3000.0, 5500.0, 8000.0, 8000.0]


# --- Through a run: no control gets round them --------------------------------------------------


@ms.strategy
def at_random(readings: Any, memory: Any, *, seed: float = 1.0, patience: float = 0.3) -> Any:
    """Calls anything at any minute, by a linear congruential generator in its memory."""
    if memory[0] == 0.0:
        memory[0] = 1.0 + seed
    for k in range(1, 10):
        memory[0] = (memory[0] * 16807.0) % 2147483647.0
        if memory[0] / 2147483647.0 < patience:
            memory[0] = (memory[0] * 16807.0) % 2147483647.0
            memory[k] = memory[0] / 2147483647.0
    return ms.Calls(
        cooling=4.0 * memory[1] - 1.0,
        reheat=3.0 * memory[2] - 0.5,
        heating=3.0 * memory[3] - 1.5,
        dehumidifier=memory[4] - 0.5,
        fan=memory[5] - 0.5,
        airflow=1.4 * memory[6] - 0.2,
        ventilation=2.0 * memory[7],
        hot_gas=2.0 * memory[9] - 0.5,
    )


def spans(values: pd.Series) -> Iterator[tuple[bool, int]]:
    """(on or off, minutes) of each whole span: those that the day cuts are left out."""
    whole = [(on, len(list(group))) for on, group in groupby(values > 0.0)]
    return iter(whole[1:-1])


@settings(max_examples=12)
@given(
    seed=st.integers(1, 10**6),
    patience=st.sampled_from([0.02, 0.1, 0.5]),
    place=st.sampled_from(["miami", "greensboro", "sand_point"]),
    first=st.integers(0, 360),
    minimum=st.sampled_from([3, 5, 12]),
)
def test_no_control_gets_round_the_machines(
    seed: int, patience: float, place: str, first: int, minimum: int
) -> None:
    times = {"minimum_on": 60.0 * minimum, "minimum_off": 60.0 * (minimum + 1)}
    base = machines()
    plant = machines(
        cooling=ms.Cooling(stages=base.cooling.stages, **times),
        dehumidifier=ms.Dehumidifier(capacity="70 pint/day", **times),
    )
    season = ms.simulate(
        house(), plant, at_random(seed=seed, patience=patience), stretch(place, first, 2),
        spin_up="1 day",
    )  # fmt: skip
    assert (season.balance["relative"].abs() <= 1e-9).all()
    for day in pd.unique(season.hourly.index.strftime("%Y-%m-%d")):
        m = season.minutes(day)
        cooling, heating, reheat = m["cooling_stage"], m["heating_stage"], m["reheat_stage"]
        strips = m["reheat_kWh"] + m["backup_heat_kWh"]
        airflow = m["airflow_fraction"]
        assert not ((strips > 0.0) & (airflow <= 0.0)).any()
        # Off for the three minutes after each trip.
        tripped = m["strip_trips"].rolling(3, min_periods=1).sum().shift(1, fill_value=0.0)
        assert not ((strips > 0.0) & (tripped > 0.0)).any()
        assert not ((m["heat_hot_gas_kWh"] > 0.0) & (cooling == 0.0)).any()
        assert not ((reheat > 0.0) & (cooling == 0.0)).any()
        assert not ((cooling > 0.0) & (heating > 0.0)).any()
        assert not ((cooling > 0.0) & (airflow < 0.3)).any()
        assert (cooling <= 2.0).all()
        frost = m["refused_coil_frost"].sum() > 0.0
        for on, minutes in spans(cooling):
            # Frost is let stop a compressor early.
            assert frost or minutes >= (minimum if on else minimum + 1)
        for on, minutes in spans(m["dehumidifier_h"]):
            assert m["indoor_temperature_C"].min() < 9.0 or minutes >= (
                minimum if on else minimum + 1
            )


@pytest.mark.parametrize("name", ["temperature_only", "staged_reheat", "with_dehumidifier"])
def test_minimum_times_hold_for_built_in_controls(name: str) -> None:
    base = machines()
    plant = machines(
        cooling=ms.Cooling(stages=base.cooling.stages, minimum_on="9 min", minimum_off="11 min")
    )
    season = ms.simulate(
        house(), plant, ms.strategies.BUILT_IN[name](deadband=0.1), stretch("miami", 190, 4),
        spin_up="1 day",
    )  # fmt: skip
    on, off = [], []
    for day in ("07-11", "07-12", "07-13"):
        for running, minutes in spans(season.minutes(day)["cooling_stage"]):
            (on if running else off).append(minutes)
    print(f"{name}: shortest run {min(on)} min, shortest rest {min(off)} min")
    assert len(on) > 10
    assert min(on) >= 9
    assert min(off) >= 11
    assert season.meter.refused["minimum_time"] > 0
    assert season.meter.starts["cooling_stage_1"] > 10
