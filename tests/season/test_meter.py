"""The meter: each total follows from the steps, as the catalog says."""

import pandas as pd
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import sample

import moistsim as ms
from moistsim.study.tuning import read_hold


def test_time_below_40_percent_is_counted_by_the_step() -> None:
    """Three weeks of a subarctic January, counted here from the room's RH in every step."""
    options = {
        "own": (machines(heating=ms.HeatPump(capacity=4000.0)), ms.strategies.temperature_only)
    }
    study = ms.Study(house(), options, sample("sand_point"), start="01-05", end="01-25")
    comparison = study.run(progress=False)
    season = comparison.seasons["own"]
    dry = season.steps("indoor_rh")["indoor_rh"] < 0.40
    hours = float(dry.sum()) / 60.0
    assert 10.0 < hours < len(season.hourly) - 5.0
    by_hour = dry.groupby(pd.DatetimeIndex(dry.index).floor("h")).mean()
    assert season.hourly["below_40_h"].to_numpy() == pytest.approx(by_hour.to_numpy(), abs=1e-12)
    assert season.meter.humidity["hours_below_40"] == pytest.approx(hours)
    for units in ("si", "us"):
        assert comparison.table(units).loc["own", "hours_below_40"] == pytest.approx(hours)
    frame = ms.Sweep(study, {"house.ach50": [study.house.ach50]}).run(workers=1, progress=False)
    assert frame["hours_below_40"].tolist() == pytest.approx([hours])
    hold = read_hold("hours below 40 % <= 1 day", ms.strategies.temperature_only)
    assert (hold.measure, hold.limit) == ("hours_below_40", pytest.approx(24.0))
