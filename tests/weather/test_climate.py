"""What is said of a climate."""

import pandas as pd
import pytest
from support.miami_frames import take

from moistsim import InputError, Weather


def test_describe_counts_what_it_says(july: pd.DataFrame) -> None:
    frame = july.iloc[:100].assign(temp_air=25.0, temp_dew=10.0)
    frame.iloc[:30, frame.columns.get_loc("temp_dew")] = 16.0
    frame.iloc[:20, frame.columns.get_loc("temp_dew")] = 20.0
    frame.iloc[:10, frame.columns.get_loc("temp_air")] = 30.0
    # Invented hours, whose temperature stands still.
    climate = take(frame, name="a place", kind="synthetic").describe("si")
    assert climate.name.startswith("a place (")
    assert climate["hours"] == 100
    assert climate["mean dry bulb [degC]"] == pytest.approx(25.5)
    assert climate["mean dew point [degC]"] == pytest.approx(12.6)
    assert climate["dew point above 18.3 degC [h]"] == 20
    assert climate["humid mild hours [h]"] == 20  # 30 humid, ten of them too warm
    assert climate["dew point 1 % [degC]"] == pytest.approx(20.0)
    assert climate["dew point 1 % MCDB [degC]"] == pytest.approx(27.5)


def test_describe_in_trade_units(miami: Weather) -> None:
    si, us = miami.describe("si"), miami.describe(units="us")
    assert len(si) == len(us)
    assert us["mean dew point [degF]"] == pytest.approx(si["mean dew point [degC]"] * 1.8 + 32)
    ratio = us["dew point 1 % humidity ratio [grains/lb]"]
    assert ratio == pytest.approx(7 * si["dew point 1 % humidity ratio [g/kg]"])
    with pytest.raises(InputError) as caught:
        miami.describe(units="trade")  # type: ignore[arg-type]
    assert str(caught.value) == "describe units: cannot use 'trade'. Use 'si' or 'us'."


def test_design_dew_points_fall_as_they_are_exceeded_more_often(miami: Weather) -> None:
    climate = miami.describe("si")
    points = [climate[f"dew point {p} % [degC]"] for p in ("0.4", "1", "2")]
    assert points == sorted(points, reverse=True)
    exceeded = (miami.frame["temp_dew"] > points[0]).sum()
    assert exceeded <= 0.004 * 8760


def test_design_dew_points_say_of_what_year_they_are(miami: Weather, july: pd.DataFrame) -> None:
    assert miami.kind == "typical"
    assert miami.describe().name == (
        "Miami FL 12839 (design dew points of one typical year, not of a many-year record)"
    )
    assert take(july, kind="actual", name="There").describe().name == (
        "There (design dew points of these hours alone, not of a many-year record)"
    )
