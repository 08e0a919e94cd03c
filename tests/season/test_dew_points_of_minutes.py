"""Dew point and RH of a minute are of one pressure, by PsychroLib (ASHRAE Fundamentals ch. 1)."""

import psychrolib
import pytest
from support.houses import house
from support.weathers import stretch

import moistsim as ms


def test_the_dew_point_of_a_minute_is_that_of_its_rh() -> None:
    """Within 0.02 K: pressure is that of the middle of the minute or of its start.

    At 60 % RH and room temperature, 0.1 % of pressure is 0.015 K.
    """
    psychrolib.SetUnitSystem(psychrolib.SI)
    machines = ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="24 kBtu/h")]))
    weather = stretch("miami", 290, 10)
    assert weather.frame["pressure"].std() > 100.0
    season = ms.simulate(
        house(), machines, ms.strategies.temperature_only, weather, spin_up="1 day"
    )
    for day in season.hourly.index[::24]:
        rows = season.minutes(f"{day:%m-%d}").iloc[30::240]
        for row in rows.itertuples():
            expected = psychrolib.GetTDewPointFromRelHum(
                row.indoor_temperature_C, row.indoor_rh_pct / 100.0
            )
            assert row.indoor_dew_point_C == pytest.approx(expected, abs=0.02), row.Index
