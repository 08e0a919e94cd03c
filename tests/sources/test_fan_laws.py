"""Fan laws: flow with speed, power with its cube, in one duct system of one air density.

ASHRAE Handbook, HVAC Systems and Equipment, chapter on fans, table of fan laws; from memory.
"""

import pytest
from support.houses import house
from support.machines import two_stage
from support.weathers import stretch

import moistsim as ms


def test_fan_laws_in_the_loop() -> None:
    """Half the flow: an eighth of the power, or half of it where the description says so."""

    @ms.strategy
    def half(readings, memory):  # type: ignore[no-untyped-def]
        return ms.Calls(fan=1.0, airflow=0.5)

    for law, share in (("cubed", 0.125), ("proportional", 0.5)):
        cooling = two_stage(fan_law=law, fan_power="0.4 W/cfm")
        assert cooling.fan_watts(cooling.full_airflow) == pytest.approx(360.0)
        assert cooling.fan_watts(cooling.stages[0].airflow) == pytest.approx(
            360.0 * (62 / 90) ** (3 if law == "cubed" else 1)
        )
        season = ms.simulate(
            house(), ms.Equipment(cooling=cooling), half, stretch("miami", 190, 1), spin_up=0
        )
        assert season.meter.kwh["indoor_fan"] == pytest.approx(24.0 * 0.36 * share)
        assert (season.balance["relative"].abs() <= 1e-9).all()
