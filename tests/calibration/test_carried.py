"""A draw goes into other machines only where they share the machine."""

import types
from typing import Any

import attrs

import moistsim as ms
from moistsim.calibration import carried

HOUSE = ms.House(floor_area="1900 ft2", ach50=4)
OLD = ms.Equipment(
    cooling=ms.Cooling(stages=[ms.Stage(capacity="30000 Btu/h")]),
    ventilation=ms.Ventilation(kind="exhaust", airflow="80 cfm"),
)
DRAW = {
    "house.ach50": 6.0,
    "equipment.ventilation.airflow": 0.05,
    "equipment.cooling.stages.1.cop": 2.5,
}


def described(values: Any) -> tuple[ms.House, ms.Equipment]:
    stage = attrs.evolve(OLD.cooling.stages[0], cop=values["equipment.cooling.stages.1.cop"])
    return attrs.evolve(HOUSE, ach50=values["house.ach50"]), attrs.evolve(
        OLD,
        cooling=attrs.evolve(OLD.cooling, stages=(stage,)),
        ventilation=attrs.evolve(OLD.ventilation, airflow=values["equipment.ventilation.airflow"]),
    )


FIT: Any = types.SimpleNamespace(house=HOUSE, equipment=OLD, described=described)


def test_the_logged_machines_take_all() -> None:
    house, machines = carried(FIT, DRAW, OLD)
    assert house.ach50 == 6.0
    assert machines.ventilation.airflow == 0.05
    assert machines.cooling.stages[0].cop == 2.5


def test_a_new_air_conditioner_keeps_its_rating() -> None:
    new = attrs.evolve(OLD, cooling=ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h", cop=4.2)]))
    _, machines = carried(FIT, DRAW, new)
    assert machines.ventilation.airflow == 0.05
    assert machines.cooling.stages[0].cop == 4.2


def test_machines_without_the_part() -> None:
    _, machines = carried(FIT, DRAW, ms.Equipment())
    assert machines.ventilation is None
    assert machines.cooling is None


def test_a_fan_that_a_structure_adds_is_in_all_machines_without_one() -> None:
    fan = ms.Ventilation(kind="balanced", airflow=0.04)

    def steady(_: Any) -> tuple[ms.House, ms.Equipment]:
        return HOUSE, attrs.evolve(bare, ventilation=fan)

    bare = attrs.evolve(OLD, ventilation=None)
    fit: Any = types.SimpleNamespace(house=HOUSE, equipment=bare, described=steady)
    drier = attrs.evolve(bare, dehumidifier=ms.Dehumidifier(capacity="50 pint/day"))
    assert carried(fit, {}, drier)[1].ventilation == fan
    assert carried(fit, {}, OLD)[1].ventilation == OLD.ventilation


def test_a_change_of_the_house_stays() -> None:
    tighter = attrs.evolve(HOUSE, ach50=2)
    assert carried(FIT, DRAW, OLD, tighter)[0].ach50 == 2.0
    shaded = attrs.evolve(HOUSE, stories=2)
    house, _ = carried(FIT, DRAW, OLD, shaded)
    assert (house.stories, house.ach50) == (2, 6.0)
