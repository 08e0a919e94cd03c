"""Electricity of an extra liter: the comparison's own differences, divided."""

import numpy as np
import pandas as pd
import pytest

import moistsim as ms
from moistsim.core.units import from_si
from moistsim.study import Comparison


@pytest.fixture(scope="module")
def comparison() -> Comparison:
    machines = ms.Equipment(
        cooling=ms.Cooling(stages=[ms.Stage(capacity="17 kBtu/h"), ms.Stage(capacity="24 kBtu/h")]),
        strips=ms.Strips(stages=["5 kW"]),
        dehumidifier=ms.Dehumidifier(capacity="80 pint/day"),
        ventilation=ms.Ventilation(airflow="80 cfm"),
    )
    options = {
        "thermostat": (machines, ms.strategies.temperature_only),
        "strips": (machines, ms.strategies.staged_reheat),
        "dehumidifier": (machines, ms.strategies.with_dehumidifier),
        "thermostat again": (machines, ms.strategies.temperature_only),
    }
    study = ms.Study(
        ms.House(floor_area="1900 ft2", ach50=2.0), options, ms.Weather.sample("miami"),
        start="05-10", end="05-24",
    )  # fmt: skip
    return study.run(progress=False)


def test_it_is_the_quotient_of_the_comparison(comparison: Comparison) -> None:
    table, liters = comparison.table("si"), comparison.per_extra_liter(units="si")
    assert list(liters.index) == ["strips", "dehumidifier", "thermostat again"]
    for name in ("strips", "dehumidifier"):
        extra = table.loc[name, "difference_water_kg"]
        assert liters.loc[name, "extra_water_kg"] == pytest.approx(extra, rel=1e-9)
        kwh = table.loc[name, "difference_kWh"] / from_si(extra, "kg", "L")
        assert liters.loc[name, "total_kWh_per_liter"] == pytest.approx(kwh, rel=1e-9)
        uses = [
            column
            for column in liters
            if column.endswith("_kWh_per_liter") and not column.startswith(("total", "least"))
        ]
        assert liters.loc[name, uses].sum() == pytest.approx(kwh)


def test_the_dearest_liter_is_the_strips(comparison: Comparison) -> None:
    liters = comparison.per_extra_liter(units="si")
    strips, dehumidifier = liters.loc["strips"], liters.loc["dehumidifier"]
    assert strips["total_kWh_per_liter"] > 2.0 * dehumidifier["total_kWh_per_liter"]
    assert strips["reheat_kWh_per_liter"] > 0.5 * strips["total_kWh_per_liter"]
    assert dehumidifier["reheat_kWh_per_liter"] == 0.0


def test_nothing_beats_the_least_work(comparison: Comparison) -> None:
    """The mean over the hours lies between the works at the most humid and the driest of them."""
    liters = comparison.per_extra_liter(units="si")
    hourly = comparison.seasons["strips"].hourly
    bounds = [ms.least_work(24.0, rh) for rh in hourly["indoor_rh_pct"].quantile([1.0, 0.0])]
    assert 0.95 * bounds[0] < liters.loc["strips", "least_kWh_per_liter"] < 1.05 * bounds[1]
    real = liters["total_kWh_per_liter"].dropna()
    assert (real > 5.0 * liters["least_kWh_per_liter"].reindex(real.index)).all()


def test_no_extra_water_has_no_price(comparison: Comparison) -> None:
    row = comparison.per_extra_liter(units="si").loc["thermostat again"]
    assert row["extra_water_kg"] == 0.0
    assert np.isnan(row["total_kWh_per_liter"]) and np.isnan(row["compressor_kWh_per_liter"])
    assert row["least_kWh_per_liter"] > 0.0


def test_days_add_up_to_the_season(comparison: Comparison) -> None:
    index = comparison.seasons["strips"].hourly.index
    dates = sorted(set(index.strftime("%Y-%m-%d")))
    whole = comparison.per_extra_liter(units="si")
    pd.testing.assert_frame_equal(comparison.per_extra_liter(dates, "si"), whole)
    halves = [comparison.per_extra_liter(part, "si") for part in (dates[:7], dates[7:])]
    both = sum(half["extra_water_kg"] for half in halves)
    np.testing.assert_allclose(both, whole["extra_water_kg"], rtol=1e-9, atol=1e-9)
    assert halves[0].equals(comparison.per_extra_liter([day[5:] for day in dates[:7]], "si"))


def test_trade_units(comparison: Comparison) -> None:
    us, si = comparison.per_extra_liter(units="us"), comparison.per_extra_liter(units="si")
    ratio = us["total_kWh_per_pint"] / si["total_kWh_per_liter"]
    assert ratio.dropna().to_numpy() == pytest.approx(0.473176, rel=1e-6)
    assert us.loc["strips", "extra_water_pint"] == pytest.approx(
        from_si(si.loc["strips", "extra_water_kg"], "kg", "pint")
    )


@pytest.mark.parametrize("days", [["12-24"], []])
def test_days_that_are_not_there(comparison: Comparison, days: list[str]) -> None:
    with pytest.raises(ms.InputError, match="per_extra_liter days"):
        comparison.per_extra_liter(days)
