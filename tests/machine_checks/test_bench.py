"""The coil bench: what it refuses, and that its books close."""

from typing import Any

import pytest
from support.machines import two_stage

import moistsim as ms


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        (
            {"runtime_fractions": [0.0]},
            "coil_bench runtime_fractions: cannot use 0.0. Use fractions above 0 and at most 1.",
        ),
        (
            {"stage": 3},
            "coil_bench stage: cannot use 3. Use a stage from 1 to 2.",
        ),
        (
            {"cycles_per_hour": 0},
            "coil_bench cycles_per_hour: cannot use 0.0. Use a value from 0.1 to 20 cycles an hour.",
        ),
        (
            {"temperature": "140 degF"},
            "coil_bench temperature: cannot use '60.0 degC'. Use a value from 10 to 40 degC.",
        ),
        (
            {"relative_humidity": 0.5},
            "coil_bench relative_humidity: cannot use '0.5 %'. Use a value from 1 to 100 %.",
        ),
        (
            {"temperature": 12.0, "relative_humidity": 40.0},
            (
                "coil_bench temperature: cannot use '12.0 °C at 40 %'. Use air in which the coil "
                "stays above its frost limit of -1.0 °C."
            ),
        ),
    ],
)
def test_refusals(changes: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ms.InputError) as refusal:
        ms.coil_bench(two_stage(), **changes)
    assert str(refusal.value) == sentence


@pytest.mark.parametrize("stage", [1, 2])
@pytest.mark.parametrize("fan", [{}, {"fan": "on", "fan_airflow": 0.5}, {"fan_off_delay": "90 s"}])
def test_what_does_not_drain_went_back(stage: int, fan: dict[str, Any]) -> None:
    """And a run without rests drains all that it condenses, at the coil's own SHR."""
    table = ms.coil_bench(two_stage(**fan), stage=stage)
    net = table["condensed_kg_h"] - table["reevaporated_kg_h"]
    assert table["drained_kg_h"].to_numpy() == pytest.approx(net.to_numpy(), abs=1e-6)
    assert (table["drained_kg_h"] >= 0.0).all()
    # Water settles to 1e-9 of what the coil holds.
    assert (table["shr"].diff().iloc[1:] < 1e-6).all()
    assert table["shr"].max() <= 1.0 + 1e-6
    last = table.iloc[-1]
    assert last["reevaporated_kg_h"] == 0.0
    assert last["drained_kg_h"] > 0.0


def test_water_held_goes_by_the_face() -> None:
    """Twice the face holds twice the water; with neither, an idle coil gives nothing back."""
    kwargs: dict[str, Any] = {"fan": "on", "fan_airflow": 1.0}
    by_face = ms.coil_bench(two_stage(coil_face_area=0.2, water_held=4.0, **kwargs))
    by_water = ms.coil_bench(two_stage(coil_face_area=0.4, water_held=2.0, **kwargs))
    assert by_face["shr"].to_numpy() == pytest.approx(by_water["shr"].to_numpy(), abs=1e-12)
    dry = ms.coil_bench(two_stage(water_held=0.0, **kwargs))
    assert (dry["reevaporated_kg_h"] == 0.0).all()
    half = ms.coil_bench(two_stage(coil_face_area=0.2, water_held=2.0, **kwargs))
    assert (half["shr"] <= by_face["shr"] + 1e-9).all()
    assert (half["shr"] < by_face["shr"] - 0.01).any()
