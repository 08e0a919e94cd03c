"""Names, units and meanings of the hourly table, its even steps and its time zone."""

import pandas as pd
import pytest
from support.houses import house
from support.machines import machines, two_stage
from support.weathers import stretch

import moistsim as ms
from moistsim.season import Season

ENDINGS = {
    "_pct_h": "% h", "_K_h": "K h", "_pct": "%", "_kWh": "kWh", "_kg": "kg", "_m3": "m³",
    "_starts": "", "_trips": "", "_fraction": "", "_ratio": "kg/kg", "_C": "°C", "_h": "h",
}  # fmt: skip
"""Unit of a column by the ending of its name, the first that fits."""


@pytest.fixture(scope="module")
def season() -> Season:
    lived_in = house(
        stories=2, crawl_space=ms.CrawlSpace(), second_zone=ms.SecondZone(), attic=ms.Attic()
    )
    upstairs = ms.SecondSystem(cooling=two_stage())
    equipment = machines(second_system=upstairs)
    weather = stretch("miami", 190, 2)
    return ms.simulate(lived_in, equipment, ms.strategies.temperature_only, weather, step="5 min")


def test_the_columns_are_those_of_the_table_in_its_order(season: Season) -> None:
    assert season.columns.index.tolist() == season.hourly.columns.tolist()
    assert season.columns.columns.tolist() == ["unit", "meaning"]
    assert season.columns["meaning"].str.len().min() > 5
    assert not season.columns["meaning"].str.contains("[{}]").any()


def test_units_are_those_that_the_names_end_with(season: Season) -> None:
    for name, unit in season.columns["unit"].items():
        ending = next((e for e in ENDINGS if str(name).endswith(e)), None)
        if ending is None:
            assert str(name).startswith(("refused_", "second_system_refused_")), name
        assert unit == ENDINGS.get(ending or "", ""), name


def test_a_second_system_has_meanings_of_its_own(season: Season) -> None:
    meaning = season.columns["meaning"]
    assert (
        meaning["second_system_cooling_stage_1_h"] == "time with cooling stage 1 on, second system"
    )
    assert meaning["cooling_stage_1_starts"] == "starts of cooling stage 1"
    assert meaning[meaning.duplicated(keep=False)].empty


def test_stamps_have_a_frequency(season: Season) -> None:
    assert season.weather.frame.index.freqstr == "h"
    assert season.hourly.index.freqstr == "h"
    assert season.quarters.index.freqstr == "15min"
    assert season.minutes("07-10").index.freqstr == "5min"


def test_aware_tables_have_the_same_values_at_the_same_instants(season: Season) -> None:
    offset = pd.Timedelta(hours=season.weather.utc_offset)
    for table in (season.hourly, season.quarters, season.minutes("07-10"), season.events):
        aware = season.aware(table)
        assert aware.index.tz == season.time_zone
        assert aware.index.freq == table.index.freq
        assert (aware.index.tz_convert("UTC").tz_localize(None) == table.index - offset).all()
        assert aware.to_numpy().tolist() == table.to_numpy().tolist()
        assert table.index.tz is None
    pd.testing.assert_frame_equal(season.aware(), season.aware(season.hourly))
    # Miami has daylight saving in July: the first hour of its clocks is that of 1 o'clock.
    assert season.aware().tz_convert("America/New_York").index[0].hour == 1


def test_a_table_without_stamps_is_refused(season: Season) -> None:
    for table in (season.balance, season.aware()):
        with pytest.raises(ms.InputError, match="Season.aware: a table without time stamps"):
            season.aware(table)
