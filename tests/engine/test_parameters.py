"""A description that no house keeps: the run says so instead of giving a number."""

import pytest
from support.weathers import stretch

import moistsim as ms


def test_a_house_that_loses_nothing_is_refused_in_words() -> None:
    """Hermetic, insulated without end and without mass, with people in it: it only warms."""
    thermos = ms.House(
        floor_area=40.0,
        ach50=0.0,
        envelope=ms.Envelope(
            wall_u=0.0, roof_u=0.0, floor_u=0.0, window_u=0.0, fast_mass=0.0, slow_mass=0.0
        ),
    )
    weather = stretch("miami", 0, 7)
    with pytest.raises(ms.InputError) as refusal:
        ms.simulate(thermos, ms.Equipment(), ms.strategies.temperature_only, weather)
    assert refusal.value.where == "simulate with strategy temperature_only"
    assert str(refusal.value.found).startswith("a result that is not a number at ")
    assert refusal.value.accepted == (
        "calls that are numbers, and a house whose state stays finite"
    )
