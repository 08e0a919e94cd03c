"""An option whose strategy calls a machine that the option lacks is refused before any run."""

from typing import Any

import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms

OWN = ms.strategies


@pytest.fixture(autouse=True)
def no_run(monkeypatch: pytest.MonkeyPatch) -> None:
    """Study a house without a run: whatever gets as far was not refused."""
    monkeypatch.setattr("moistsim.study.study.simulate", lambda *given, **how: None)


def study(strategy: ms.Strategy, **changes: Any) -> Any:
    options = {"it": (machines(**changes), strategy)}
    return ms.Study(house(), options, stretch("miami", 190, 1)).run(progress=False)


def row(do: str) -> ms.Strategy:
    return ms.rule_table([{"do": do, "when": "humidity > 54 %", "release_when": "humidity < 50 %"}])


@ms.strategy(machines=("dehumidifier",))
def declared(readings: Any, memory: Any) -> Any:
    return ms.Calls(dehumidifier=1.0)


@pytest.mark.parametrize(
    ("strategy", "field"),
    [
        (OWN.with_dehumidifier, "dehumidifier"),
        (OWN.temperature_only + OWN.drying_by_dehumidifier, "dehumidifier"),
        (OWN.staged_reheat, "strips"),
        (OWN.hot_gas_reheat, "hot_gas"),
        (OWN.temperature_only + OWN.held_back_ventilation, "ventilation"),
        (declared, "dehumidifier"),
        (row("cooling stage 1"), "cooling"),
        (row("strips stage 1"), "strips"),
        (row("dehumidifier"), "dehumidifier"),
        (row("ventilation at 30 %"), "ventilation"),
        (row("hot gas"), "hot_gas"),
    ],
)
def test_the_missing_machine_is_named_with_its_key(strategy: ms.Strategy, field: str) -> None:
    study(strategy)
    without = {field: None, **({"hot_gas": None} if field == "cooling" else {})}
    if field == "cooling":
        without |= {"strips": None, "heating": None}
    with pytest.raises(ms.InputError) as refusal:
        study(strategy, **without)
    text = str(refusal.value)
    assert text.startswith(f"Study.options['it']: strategy {strategy.name} calls ")
    assert f"[equipment.{field}]" in text and f"Equipment({field}=...)" in text
    assert len(text) < 300


@pytest.mark.parametrize("name", ["overcooling", "staged_reheat", "hot_gas_reheat"])
def test_no_air_conditioner(name: str) -> None:
    with pytest.raises(ms.InputError, match="calls an air conditioner, which this option lacks"):
        options = {"it": (ms.Equipment(), OWN.BUILT_IN[name])}
        ms.Study(house(), options, stretch("miami", 190, 1)).run(progress=False)


def test_a_control_of_ones_own_need_not_declare() -> None:
    @ms.strategy
    def own(readings: Any, memory: Any) -> Any:
        return ms.Calls(dehumidifier=1.0)

    study(own, dehumidifier=None)
