"""The same weather in another climate."""

import numpy as np
import pytest

from moistsim import Weather, WeatherError, air


def test_a_shift_by_months(miami: Weather) -> None:
    months = [0.5 * k for k in range(12)]
    made = miami.shifted(temp_air=months, temp_dew="1.8 delta_degF")
    moved = made.frame["temp_air"] - miami.frame["temp_air"]
    np.testing.assert_allclose(moved, 0.5 * (miami.frame.index.month - 1), atol=1e-9)
    free = made.frame["temp_dew"] < made.frame["temp_air"]
    moved = (made.frame["temp_dew"] - miami.frame["temp_dew"])[free]
    np.testing.assert_allclose(moved, 1.0, atol=1e-9)
    assert (made.name, made.label, made.kind) == ("Miami FL 12839 (shifted)", "end", "typical")


def test_a_shift_keeps_to_saturation_and_says_how_often(miami: Weather) -> None:
    frame = miami.frame
    made = miami.shifted(temp_air=1.0, temp_dew=2.5)
    held = int((frame["temp_dew"] + 2.5 > frame["temp_air"] + 1.0).sum())
    assert held > 100
    after = made.frame
    humidity = air.over(
        air.relative_humidity, after["temp_air"], after["humidity_ratio"], after["pressure"]
    )
    assert humidity.max() <= 1.0 + 1e-9
    past = frame["temp_dew"] + 2.5 > frame["temp_air"] + 1.0
    assert (after["temp_dew"] == after["temp_air"])[past].all()
    np.testing.assert_allclose(after["temp_dew"][~past], frame["temp_dew"][~past] + 2.5)
    assert made.notes[-1] == (
        f"dry bulb moved by +1 K and dew point by +2.5 K; {held} of 8760 h held at saturation; sun, "
        "wind and pressure unchanged"
    )


@pytest.mark.parametrize(
    ("shift", "found"),
    [
        ([1.0, 2.0], "2 values"),
        (40.0, "cannot use 40 K"),
        ("2 kg", "cannot use '2 kg'"),
        (float("nan"), "cannot use nan"),
    ],
)
def test_a_shift_that_is_none(miami: Weather, shift: object, found: str) -> None:
    with pytest.raises(WeatherError) as caught:
        miami.shifted(temp_dew=shift)  # type: ignore[arg-type]
    assert str(caught.value) == (
        f"shifted, column temp_dew: {found}. Use a difference within 15 K such as 2.0 "
        "or '3.6 delta_degF', or twelve, January first."
    )
