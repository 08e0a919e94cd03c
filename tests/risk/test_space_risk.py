"""Risk in spaces next to the house, by hand: wood, mold, condensation and sweating ducts."""

from typing import Any

import attrs
import numpy as np
import pandas as pd
import psychrolib
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import flat, stretch

import moistsim as ms
from moistsim.risk import space_hours, space_risk
from moistsim.risk.mold import CRITERION
from moistsim.risk.spaces import MEASURES, WOOD_LIMIT
from moistsim.risk.wood import equilibrium_moisture
from moistsim.study import Comparison

psychrolib.SetUnitSystem(psychrolib.SI)
ALONE = ms.strategies.temperature_only
VENTED = house(
    crawl_space=ms.CrawlSpace(),
    garage=ms.Garage(),
    ducts=ms.Ducts(location="crawl space", supply_leakage=0.05, return_leakage=0.05),
)


@pytest.fixture(scope="module")
def summer() -> Comparison:
    """Five humid weeks in Miami: a vented crawl space as it is, and with its ground covered."""
    covered = attrs.evolve(VENTED, crawl_space=ms.CrawlSpace(ground_cover=1.0))
    slab = house()
    options: dict[str, Any] = {
        "as it is": (machines(), ALONE),
        "covered": (machines(), ALONE, covered),
        "slab": (machines(), ALONE, slab),
    }
    weather = stretch("miami", 190, 36)
    return ms.Study(VENTED, options, weather, step="5 min").run(progress=False)


@pytest.fixture(scope="module")
def table(summer: Comparison) -> pd.DataFrame:
    return space_risk(summer, units="si")


def test_rows_are_options_and_spaces(summer: Comparison, table: pd.DataFrame) -> None:
    assert [*table.columns] == [measure.name for measure in MEASURES]
    assert [*table.index] == [
        (option, space) for option in ("as it is", "covered") for space in ("crawl space", "garage")
    ]
    alone = space_risk(summer.seasons["covered"], units="si")
    assert (
        alone.loc[(ALONE.name, "garage"), "mean_space_rh_pct"]
        == table.loc[("covered", "garage"), "mean_space_rh_pct"]
    )
    assert space_risk(summer.seasons["slab"]).empty
    with pytest.raises(ms.InputError, match="space_risk units: cannot use 'imperial'"):
        space_risk(summer, units="imperial")  # type: ignore[arg-type]
    with pytest.raises(ms.InputError, match="space_hours space: cannot use 'cellar'"):
        space_hours(summer.seasons["covered"], "cellar")


def test_trade_units(summer: Comparison, table: pd.DataFrame) -> None:
    us = space_risk(summer, units="us")
    np.testing.assert_allclose(
        us["mean_temperature_F"], 1.8 * table["mean_temperature_C"] + 32.0, rtol=1e-12
    )
    # A US pint is 0.473176 L, and water has 0.998 kg/L.
    np.testing.assert_allclose(us["sweat_pint"] * 0.473176 * 0.998, table["sweat_kg"], rtol=1e-3)


def test_wood_moisture_by_hand(summer: Comparison, table: pd.DataFrame) -> None:
    """Daily means of the sorption equation, the two layers weighted by their thickness."""
    season = summer.seasons["as it is"]
    hours, hourly = space_hours(season, "crawl_space"), season.hourly
    t = hourly["crawl_space_surface_temperature_C"]
    surface = equilibrium_moisture(t, hourly["crawl_space_surface_rh_pct"])
    deep = equilibrium_moisture(t, hourly["crawl_space_deep_rh_pct"])
    low, high = np.minimum(surface, deep), np.maximum(surface, deep)
    whole = hours["wood_moisture_pct"]
    assert ((whole >= low - 1e-9) & (whole <= high + 1e-9)).all()
    share = ((whole - deep) / (surface - deep))[np.abs(surface - deep) > 0.5]
    zone = season._machine.spaces["crawl_space"].zone
    outer = zone.surface_store / (zone.surface_store + zone.deep_store)
    np.testing.assert_allclose(share, outer, rtol=1e-9)
    daily = whole.to_numpy().reshape(-1, 24).mean(axis=1)
    row = table.loc[("as it is", "crawl space")]
    assert row["highest_wood_moisture_pct"] == pytest.approx(daily.max(), rel=1e-12)
    assert row["wet_wood_days"] == (daily > WOOD_LIMIT).sum()
    # Board is not wood.
    assert pd.isna(table.loc[("as it is", "garage"), "highest_wood_moisture_pct"])
    assert "wood_moisture_pct" not in space_hours(season, "garage")


def test_dew_point_of_the_space(summer: Comparison) -> None:
    season = summer.seasons["covered"]
    hours, hourly = space_hours(season, "crawl_space"), season.hourly
    pressure = season.weather.frame["pressure"]
    for at in (0, 100, 500):
        found = psychrolib.GetTDewPointFromHumRatio(
            hours["temperature_C"].iloc[at],
            hourly["crawl_space_humidity_ratio"].iloc[at],
            pressure.loc[hourly.index[at]],
        )
        assert hours["dew_point_C"].iloc[at] == pytest.approx(found, abs=0.02)


def test_sums_are_those_of_the_hourly_table(summer: Comparison, table: pd.DataFrame) -> None:
    hourly, row = summer.seasons["as it is"].hourly, table.loc[("as it is", "crawl space")]
    for name, column, sign in (
        ("mean_space_rh_pct", "crawl_space_rh_pct", 1.0 / len(hourly)),
        ("surface_above_80_h", "crawl_space_surface_above_80_h", 1.0),
        ("sweat_kg", "crawl_space_water_sweat_kg", 1.0),
        ("condensed_kg", "crawl_space_water_surfaces_kg", -1.0),
    ):
        assert row[name] == pytest.approx(sign * hourly[column].sum(), rel=1e-9, abs=1e-12)
    assert row["sweat_kg"] > 0.0 and row["sweating_h"] > 0
    # July 10 to August 14: both months count, and the more humid one is named.
    months = hourly["crawl_space_rh_pct"].groupby(hourly.index.month).mean()
    assert row["worst_month_rh_pct"] == pytest.approx(months.max())
    assert row["worst_month"] == {7: "July", 8: "August"}[months.idxmax()]


def test_a_ground_cover_dries_the_wood(table: pd.DataFrame) -> None:
    before, after = (table.loc[(name, "crawl space")] for name in ("as it is", "covered"))
    for name in (
        "mean_space_rh_pct",
        "surface_above_80_h",
        "highest_wood_moisture_pct",
        "sweat_kg",
    ):
        assert after[name] < before[name]
    assert after["mold_index_wood"] <= before["mold_index_wood"]


def test_air_near_saturation_rots_the_wood() -> None:
    """At 24 degC and nearly 100 % RH, wood comes to about 28 % (Wood Handbook, table 4-2, from memory:
    24.2 % at 95 % RH and 26.7 °C), and mold covers pine within weeks."""
    wet = flat(24.0, 0.0189, days=90)
    season = ms.simulate(
        house(crawl_space=ms.CrawlSpace(wall_u=0.1)), machines(), ALONE, wet, step="15 min"
    )
    row = space_risk(season, ms.RiskBasis(space_material="very sensitive")).iloc[0]
    assert 24.2 < row["highest_wood_moisture_pct"] < 29.5
    assert row["wet_wood_days"] == 90
    assert row["mold_index_wood"] > CRITERION and not row["ashrae_160_met"]
    hardier = space_risk(season, ms.RiskBasis(space_material="resistant")).iloc[0]
    assert hardier["mold_index_wood"] < row["mold_index_wood"]


def test_a_month_that_hardly_began_is_not_the_worst(summer: Comparison) -> None:
    season = summer.seasons["covered"]
    study = summer.study
    short = ms.simulate(
        study.house, season.equipment, ALONE, season.weather, start="07-28", end="08-03",
        step="5 min", spin_up="3 day",
    )  # fmt: skip
    # Four days of July and three of August: both are short, so both count.
    assert space_risk(short)["worst_month"].isin(["July", "August"]).all()
    longer = ms.simulate(
        study.house, season.equipment, ALONE, season.weather, start="07-12", end="08-03",
        step="5 min", spin_up="1 day",
    )  # fmt: skip
    assert (space_risk(longer)["worst_month"] == "July").all()
