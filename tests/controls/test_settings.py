"""What a setting declares: its unit, its role, its limits and its meaning, and who answers it."""

import inspect
import pydoc
from typing import Annotated, Any

import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.core.units import (
    CoolingSetpoint,
    DegC,
    DeltaC,
    HeatingSetpoint,
    HumiditySetpoint,
    Limits,
    Meaning,
    Percent,
    Role,
)

OWN = ms.strategies


def sentence(call: Any) -> str:
    """The refusal of a call that must be refused."""
    with pytest.raises(ms.InputError) as refusal:
        call()
    return str(refusal.value)


@ms.strategy
def by_any_name(
    readings: Any,
    memory: Any,
    *,
    summer: CoolingSetpoint = 24.0,
    winter: HeatingSetpoint = 20.0,
    wet: Annotated[
        HumiditySetpoint, Limits(30, 70), Meaning("Room RH that turns cooling on.")
    ] = 56.0,
    spread: Annotated[DeltaC, Limits(0.2, 5.0)] = 1.0,
) -> Any:
    """Cools on heat or humidity."""
    warm = readings.temperature > summer or readings.relative_humidity > wet
    return ms.Calls(cooling=1 if warm else 0, heating=1 if readings.temperature < winter else 0)


def test_comfort_is_measured_against_declared_setpoints_whatever_their_names() -> None:
    @ms.strategy
    def undeclared(readings: Any, memory: Any, *, cooling_setpoint: DegC = 24.0) -> Any:
        return ms.Calls(cooling=1 if readings.temperature > cooling_setpoint else 0)

    weather = stretch("miami", 190, 2)
    seasons = [ms.simulate(house(), machines(), s, weather) for s in (by_any_name, undeclared)]
    declared, plain = (set(season.meter.comfort_h.index) for season in seasons)
    roles = {"above_cooling_setpoint", "below_cooling_setpoint", "below_heating_setpoint"}
    assert roles <= declared
    assert not roles & plain
    # Moved by its own name, it is what comfort is measured against.
    cold = ms.simulate(house(), machines(), by_any_name(summer=30.0), weather)
    assert cold.meter.comfort_h["below_cooling_setpoint"] > 20.0


def test_each_built_in_control_declares_its_roles() -> None:
    for strategy in OWN.BUILT_IN.values():
        assert strategy.name_of(Role.COOLING) == "cooling_setpoint"
        assert strategy.name_of(Role.HEATING) == "heating_setpoint"
        assert strategy.name_of(Role.DEW_POINT) is None
        dries = strategy is not OWN.temperature_only
        assert (strategy.name_of(Role.HUMIDITY) == "target_rh") == dries
    assert OWN.dew_point_control.declared["target_dew_point"].role is Role.DEW_POINT
    table = ms.rule_table(
        [{"do": "dehumidifier", "when": "humidity > 57 %", "release_when": "dew point < 12 degC"}],
        cooling_setpoint=25.0,
    )
    roles = {name: it.role for name, it in table.declared.items() if it.role is not None}
    assert roles == {
        "cooling_setpoint": Role.COOLING, "row 1 when": Role.HUMIDITY, "row 1 release": Role.DEW_POINT
    }  # fmt: skip
    assert table.setpoint(Role.COOLING) == 25.0 and table.setpoint(Role.HEATING) is None


def test_a_role_that_a_strategy_leaves_open_comes_from_the_addition() -> None:
    @ms.strategy
    def open_target(readings: Any, memory: Any, *, target_rh: Percent = 53.0) -> Any:
        return ms.Calls()

    @ms.strategy
    def other_role(
        readings: Any, memory: Any, *, target_rh: ms.units.HumidityDeadband = 53.0
    ) -> Any:
        return ms.Calls()

    whole = open_target + OWN.slower_airflow
    assert whole.declared["target_rh"].role is Role.HUMIDITY
    assert whole.declared["target_rh"].limits == (15.0, 95.0)
    assert "cannot use '10 % RH'. Use a value from 15 % RH to 95 % RH" in sentence(
        lambda: whole(target_rh=10)
    )
    assert sentence(lambda: other_role + OWN.slower_airflow) == (
        "strategy other_role + slower_airflow.target_rh: humidity setpoint in slower_airflow and "
        "humidity deadband in other_role. Use one role, since a setpoint of the same name is the same "
        "setpoint."
    )


def test_declarations_that_cannot_be() -> None:
    def twice(readings: Any, memory: Any, *, day: CoolingSetpoint = 24.0, night: CoolingSetpoint = 25.0) -> Any: ...  # fmt: skip

    def misspelt(readings: Any, memory: Any, *, at: Annotated[float, "degc"] = 24.0) -> Any: ...

    def beyond(readings: Any, memory: Any, *, wet: Annotated[Percent, Limits(30, 70)] = 80.0) -> Any: ...  # fmt: skip

    assert sentence(lambda: ms.strategy(twice)) == (
        "strategy twice: day and night, each declared as the cooling setpoint. Use one cooling "
        "setpoint, and DegC for the others."
    )
    assert sentence(lambda: ms.strategy(misspelt)).startswith(
        "strategy misspelt.at: cannot use 'degc'. Use a unit, one of m, m2, "
    )
    assert sentence(lambda: ms.strategy(beyond)) == (
        "strategy beyond.wet: cannot use '80 % RH'. Use a value from 30 % RH to 70 % RH."
    )
    assert sentence(lambda: by_any_name(spread="0.1 K")) == (
        "strategy by_any_name.spread: cannot use '0.1 K'. Use a value from 0.2 K to 5 K."
    )


def test_help_shows_each_setting() -> None:
    text = pydoc.plain(pydoc.render_doc(by_any_name))
    assert "Cools on heat or humidity." in text
    lines = [line.strip() for line in text.splitlines()]
    at = lines.index(
        "wet : relative humidity (humidity setpoint), default 56 % RH, limits 30 % RH to 70 % RH"
    )
    assert lines[at + 1] == "Room RH that turns cooling on."
    assert "summer : temperature (cooling setpoint), default 24 °C (75.2 °F)" in lines
    assert "spread : temperature difference, default 1 K (1.8 °F), limits 0.2 K (0.36 °F) to 5 K (9 °F)" in lines  # fmt: skip
    # A copy shows its own values, a sum what all of its parts do.
    assert "default 25 °C (77 °F)" in by_any_name(summer="77 degF").__doc__
    whole = (OWN.overcooling + OWN.slower_airflow).__doc__
    assert OWN.overcooling.about in whole and OWN.slower_airflow.about in whole
    assert "slow_down_by : fraction, default 0.2, limits 0 to 0.5" in whole
    rows = ms.rule_table([{"do": "blower", "when": "temperature > 26", "release_when": "temperature < 25"}])  # fmt: skip
    assert "1. do: blower, when: temperature > 26.0 degC" in rows.__doc__
    # The classes keep their own.
    assert ms.Strategy.__doc__.startswith("A control: ")
    assert "settings: dict" in str(inspect.signature(ms.Strategy))


@pytest.mark.parametrize(
    "part", [*OWN.BUILT_IN.values(), *OWN.ADDITIONS.values()], ids=lambda p: p.name
)
def test_each_built_in_control_says_all_of_its_settings(part: Any) -> None:
    text = pydoc.plain(pydoc.render_doc(part))
    for name, setting in part.declared.items():
        assert f"    {name} : " in text
        assert setting.meaning.endswith("."), name
        if part is not OWN.set_back:  # whose limits follow from the strategy's setpoints
            assert setting.limits is not None, name
    first = part.__doc__.splitlines()[0]
    assert first.endswith(".") and first[0].isupper()
    parameters = inspect.signature(part).parameters
    assert {name: it.default for name, it in parameters.items()} == part.settings


def test_what_is_shown_of_a_control_makes_it_again() -> None:
    changed = OWN.overcooling(target_rh=49, overcool_by="2 K")
    again = eval(repr(changed), {s.name: s for s in OWN.BUILT_IN.values()})
    assert again == changed
    assert repr(OWN.set_back) == "set_back(cooling_set_back='4.5 delta_degC', heating_set_back='6 delta_degC')"  # fmt: skip
