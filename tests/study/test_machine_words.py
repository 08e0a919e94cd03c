"""The machines in the head of the output: a wrong size is seen."""

import attrs

import moistsim as ms
from moistsim.core.display import Show
from moistsim.scenario import DEMO, read_scenario
from moistsim.study import machine_words


def test_the_demo_in_trade_units_and_in_si() -> None:
    study = read_scenario(DEMO).study
    shared, own = machine_words(study, Show("us"))
    assert shared == (
        "air conditioner 2 tons (7.03 kW), 2 stages, 720 cfm, SHR 0.72; strips 5 kW; heat pump 23,000 "
        "Btu/h; supply ventilation 80 cfm"
    )
    assert own == "Stand-alone dehumidifier: dehumidifier 80 pints/day, 4.65 pints/kWh"
    shared, own = machine_words(study, Show("si"))
    assert shared.startswith("air conditioner 7.03 kW, 2 stages, 340 L/s, SHR 0.72; strips 5 kW")
    assert own.endswith("dehumidifier 37.9 L/day, 2.2 L/kWh")


def test_half_a_ton_stands_out() -> None:
    study = read_scenario(DEMO).study
    small = ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="0.5 ton")]))
    strategy = ms.strategies.temperature_only
    (words,) = machine_words(
        attrs.evolve(study, options={"As found": (small, strategy)}, base=None), Show("us")
    )
    assert words.startswith("air conditioner 0.5 tons (1.76 kW), 180 cfm")
