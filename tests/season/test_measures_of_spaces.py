"""Measures of spaces: on the meter, in the comparison table and in sweeps."""

from typing import Any

import attrs
import numpy as np
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.engine import column_catalog
from moistsim.study import Comparison

ALONE = ms.strategies.temperature_only
DRYER = ms.Dehumidifier(capacity="70 pint/day", humidistat="50 %")
CRAWL = [measure.name for measure in column_catalog.space_measures("crawl_space")]


@pytest.fixture(scope="module")
def days() -> Comparison:
    over = house(crawl_space=ms.CrawlSpace())
    dried = attrs.evolve(machines(), crawl_space_dehumidifier=DRYER)
    options: dict[str, Any] = {
        "slab": (machines(), ALONE),
        "crawl space": (machines(), ALONE, over),
        "dried": (dried, ALONE, over),
    }
    return ms.Study(house(), options, stretch("miami", 200, 5), step="5 min").run(progress=False)


def test_the_meter_adds_up_the_hourly_columns(days: Comparison) -> None:
    season = days.seasons["dried"]
    hourly, found = season.hourly, season.meter.spaces
    assert [*found.index] == CRAWL
    assert found["crawl_space_mean_rh_pct"] == pytest.approx(hourly["crawl_space_rh_pct"].mean())
    assert found["crawl_space_dehumidifier_h"] == pytest.approx(
        hourly["crawl_space_dehumidifier_h"].sum()
    )
    removed = found["crawl_space_dehumidifier_water_kg"]
    assert removed == pytest.approx(-hourly["crawl_space_water_dehumidifier_kg"].sum())
    assert removed > 0.0 and season.meter.kwh["space_dehumidifier"] > 0.0
    assert days.seasons["slab"].meter.spaces.empty


def test_an_option_without_the_space_has_no_value(days: Comparison) -> None:
    for units in ("si", "us"):
        table = days.table(units)
        columns = [name for name in table if str(name).startswith("crawl_space_")]
        assert len(columns) == len(CRAWL)
        assert table.loc["slab", columns].isna().all()
        assert table.loc[["crawl space", "dried"], columns].notna().all(axis=None)
    rh = days.table("si")["crawl_space_mean_rh_pct"]
    assert rh["dried"] < rh["crawl space"]
    assert days.table("us")["crawl_space_mean_temperature_F"]["dried"] == pytest.approx(
        1.8 * days.table("si")["crawl_space_mean_temperature_C"]["dried"] + 32.0
    )


@pytest.mark.parametrize("humid", ["crawl_space_mean_rh_pct", "mean crawl space RH"])
def test_the_house_is_matched_not_its_spaces(days: Comparison, humid: str) -> None:
    with pytest.raises(ms.InputError, match="measure"):
        days.study.matched(humid, progress=False)


@pytest.mark.parametrize(
    ("vary", "spaces"),
    [
        ({"house.ducts.location": ["inside", "attic"]}, ["attic"]),
        (
            {"house.crawl_space": {"slab": None, "vented": ms.CrawlSpace()}, "house.ach50": [2.0]},
            ["crawl_space"],
        ),
        ({"house.ducts": {"in": ms.Ducts(), "out": ms.Ducts(location="garage")}}, ["garage"]),
        (
            {"house": {"a": house(), "b": house(basement=ms.Basement(), attic=ms.Attic())}},
            ["basement", "attic"],
        ),
    ],
    ids=["a place of ducts", "a space", "ducts", "a house"],
)
def test_a_sweep_has_one_set_of_columns(
    days: Comparison, vary: dict[str, Any], spaces: list[str]
) -> None:
    base = attrs.evolve(
        days.study, options={"plain": (machines(), ALONE)}, start="07-20", end="07-20"
    )
    frame = ms.Sweep(base, vary, sample="grid").run(progress=False)
    assert (frame["status"] == "ok").all()
    expected = [m.name for name in spaces for m in column_catalog.space_measures(name)]
    found = [name for name in frame if str(name) in {*expected, *CRAWL}]
    assert found == expected
    first, last = frame[expected].iloc[0], frame[expected].iloc[-1]
    assert first.isna().all() and np.isfinite(last.astype(float)).all()
