"""Controls: the built-in ones, random ones, random rule tables, and one that calls everything."""

from typing import Any

from hypothesis import strategies as st
from support.values import floats

import moistsim as ms
from moistsim.controls import RuleTable

BUILT_IN = tuple(ms.strategies.BUILT_IN)


@ms.strategy
def one_of_everything(readings: Any, memory: Any) -> Any:
    """In one day: heat with its back-up, cooling with reheat and drying, a fan over a wet coil."""
    hour = readings.hour
    if hour < 4.0:
        return ms.Calls(heating=2.0)
    if 8.0 <= hour < 14.0:
        return ms.Calls(cooling=2.0, reheat=1.0, dehumidifier=1.0, hot_gas=0.5)
    if 14.0 <= hour < 16.0:
        return ms.Calls(fan=1.0)
    return ms.Calls()


@st.composite
def any_control(draw: st.DrawFn) -> ms.Strategy:
    """A built-in strategy with setpoints that do not contradict each other."""
    strategy = ms.strategies.BUILT_IN[draw(st.sampled_from(BUILT_IN))]
    settings: dict[str, float] = {
        "cooling_setpoint": draw(floats(24.0, 27.0)),
        "heating_setpoint": draw(floats(16.0, 20.0)),
        "deadband": draw(floats(0.3, 1.2)),
    }
    if "target_rh" in strategy.settings:
        settings["target_rh"] = draw(floats(35.0, 65.0))
    return strategy(**settings)


_THRESHOLDS = st.sampled_from([5.0, 6.0, 7.0, 8.0])


@st.composite
def conditions(draw: st.DrawFn) -> str:
    sign = draw(st.sampled_from([">", "<", ">=", "at most", "above", "is below"]))
    left, right = draw(
        st.sampled_from(
            [("temperature", "outdoor temperature"), ("humidity", "outdoor humidity"),
             ("dew point", "outdoor dew point"), ("cooling minutes", "message age"),
             ("temperature", "cooling setpoint")]
        )
    )  # fmt: skip
    unit = {"humidity": "%", "cooling minutes": "min"}.get(left, "degC")
    offset = {"%": "%", "min": "min", "degC": "K"}[unit]
    value = draw(_THRESHOLDS)
    return draw(
        st.sampled_from(
            [f"{left} {sign} {value} {unit}", f"{left} {sign} {right}",
             f"{left} {sign} {right} - {value - 4.0} {offset}"]
        )
    )  # fmt: skip


@st.composite
def any_rule_table(draw: st.DrawFn) -> RuleTable:
    count = draw(st.integers(1, 6))
    calls = draw(st.lists(
        st.sampled_from(
            ["cooling stage 1", "cooling stage 2", "strips stage 1", "heating",
             "heating with strips", "dehumidifier", "blower", "blower at 60 %", "blower at 0.8",
             "slow the blower by 20 %", "ventilation at 0 %", "ventilation at 130 %", "hot gas",
             "hot gas at 40 %"]
        ), min_size=count, max_size=count,
    ))  # fmt: skip
    rows = []
    for k, call in enumerate(calls):
        row: dict[str, Any] = {"do": call, "name": f"name {k}", "when": draw(
            st.one_of(conditions(), st.lists(conditions(), min_size=1, max_size=3))
        )}  # fmt: skip
        row["release_when"] = draw(st.lists(conditions(), min_size=1, max_size=2))
        if draw(st.booleans()):
            row["for"] = draw(st.sampled_from(["0 min", "1 min", "2 min"]))
        if draw(st.booleans()):
            row["at_most"] = draw(st.sampled_from(["1 min", "2 min", "5 min"]))
        within = draw(st.lists(st.sampled_from(
            ["06:00 to 09:00", "08:00 to 07:00", "June to July", "July to May"]), max_size=1))  # fmt: skip
        if count > 1 and draw(st.booleans()):
            other = draw(st.sampled_from([i for i in range(count) if i != k]))
            within.append(f"while name {other} is {draw(st.sampled_from(['on', 'off']))}")
        rows.append({**row, "within": within})
    return ms.rule_table(rows, cooling_setpoint=10.0)
