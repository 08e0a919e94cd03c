"""A stage that nobody installed is found before the run, and heat by strips alone is said."""

from typing import Any

import attrs
import pytest
from support.houses import house
from support.machines import machines, two_stage
from support.weathers import stretch

import moistsim as ms
from moistsim.core.display import Show
from moistsim.study import machine_words

SINGLE = ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")])
ROWS = [
    {
        "do": "cooling stage 2",
        "when": "temperature > 78 degF",
        "release_when": "temperature < 76 degF",
    }
]


def study(equipment: ms.Equipment, strategy: Any) -> ms.Study:
    return ms.Study(
        house=house(), options={"Box": (equipment, strategy)}, weather=stretch("miami", 180, 2)
    )


@pytest.mark.parametrize(
    ("strategy", "wanted"),
    [
        (ms.strategies.temperature_only(second_stage_at="3 delta_degF"), "second_stage_at"),
        (ms.strategies.staged_reheat(stage_2_on="7 %"), "stage_2_on"),
        (ms.rule_table(ROWS), "'cooling stage 2'"),
    ],
)
def test_a_second_stage_of_a_single_stage_unit_is_refused(strategy: Any, wanted: str) -> None:
    with pytest.raises(ms.InputError) as caught:
        study(machines(cooling=SINGLE), strategy).run(progress=False)
    said = str(caught.value)
    print(said)
    assert wanted in said and "[equipment.cooling] has 1 stage" in said
    assert "'Box'" in said and len(said) < 300
    study(machines(cooling=two_stage()), strategy).run(progress=False)


def test_a_default_asks_for_nothing() -> None:
    """Built-in controls have a second stage in their defaults; a single-stage unit may have them."""
    for strategy in (ms.strategies.temperature_only, ms.strategies.staged_reheat):
        study(machines(cooling=SINGLE), strategy).run(progress=False)


def test_a_second_strip_stage_is_refused() -> None:
    rows = [{**ROWS[0], "do": "cooling stage 1"}, {**ROWS[0], "do": "strips stage 2"}]
    one = machines(strips=ms.Strips(stages=["5 kW"]))
    with pytest.raises(
        ms.InputError, match=r"'strips stage 2', but \[equipment.strips\] has 1 stage"
    ):
        study(one, ms.rule_table(rows)).run(progress=False)


def test_heat_by_strips_alone_and_no_heat_are_said() -> None:
    plain = ms.strategies.temperature_only
    bare = attrs.evolve(machines(), heating=None)
    (words,) = machine_words(study(bare, plain), Show("us"))
    assert "kW (the only heating)" in words
    (words,) = machine_words(study(attrs.evolve(bare, strips=None), plain), Show("us"))
    assert "no heating" in words
    (words,) = machine_words(
        study(machines(heating=ms.HeatPump(capacity="20000 Btu/h")), plain), Show("us")
    )
    assert "heating" not in words
