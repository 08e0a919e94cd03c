"""How sure a verdict is with a measured house: values that are drawn together."""

import types
from functools import lru_cache
from typing import Any

import attrs
import numpy as np
import pandas as pd
import pytest
from support.machines import machines
from support.small_sweeps import PLAIN, REHEAT, study

import moistsim as ms
from moistsim.study.study import Comparison
from moistsim.uncertainty.ranges import MEASURED

COST, SAVED_BY = f"options.{PLAIN}.purchase.first_cost", f"options.{REHEAT}.purchase.first_cost"
BOUGHT = {
    REHEAT: ms.Purchase(first_cost=20.0, life=10),
    PLAIN: ms.Purchase(first_cost=100.0, life=10),
}
PAIR = (PLAIN, REHEAT)
AIR, VAPOR = "house.ach50", "house.gains.moisture"


@lru_cache
def as_set() -> Comparison:
    return study().run(progress=False)


def what(**more: Any) -> dict[str, Any]:
    return {"options": PAIR, "as_set": as_set(), "progress": False, "stand_ins": False} | more


def sure(draws: Any, ranges: dict[str, Any] | None = None, n: int = 64, **more: Any) -> Any:
    return ms.how_sure(
        study(), BOUGHT, ms.Terms(), ranges or {}, n=n, measured=draws, **what(**more)
    )


def together(count: int = 200) -> pd.DataFrame:
    """Draws of an air leakage and a vapor rate of which only the ratio is known."""
    leakage = np.random.default_rng(3).uniform(1.0, 4.0, count)
    return pd.DataFrame({AIR: leakage, VAPOR: 6e-5 * leakage, "structure": "two layers"})


def test_values_that_are_drawn_together_stay_together() -> None:
    """Two first costs that rise together leave the net savings as they are; apart, they do not.

    By hand: what is saved is running cost less the difference of the first costs, which is 80 USD
    in each draw.
    """
    shift = np.random.default_rng(1).normal(0.0, 15.0, 500)
    draws = pd.DataFrame({COST: 100.0 + np.abs(shift), SAVED_BY: 20.0 + np.abs(shift)})
    joint = sure(draws).counted["net_savings_USD"].astype(float)
    assert np.ptp(joint) < 1e-9
    apart = (
        sure(None, {COST: ms.uniform(100.0, 130.0), SAVED_BY: ms.uniform(20.0, 50.0)})
        .counted["net_savings_USD"]
        .astype(float)
    )
    assert apart.std() > 5.0


def test_each_case_takes_one_row_and_all_rows_are_alike_likely() -> None:
    draws = together(16)
    found = sure(draws, n=64)
    rows = found.cases[MEASURED].astype(int)
    assert [*rows.value_counts()] == [4] * 16
    for name in (AIR, VAPOR):
        assert found.cases[name].to_numpy() == pytest.approx(draws[name].to_numpy()[rows])
    assert "structure" not in found.cases
    assert (found.units[AIR], found.units[VAPOR]) == ("1/hour", "kg/s")
    assert found.results.groupby("option")["electricity_kWh"].nunique().min() > 10
    first = sure(draws, n=16)
    pd.testing.assert_frame_equal(first.cases, found.cases.iloc[:16], check_exact=True)
    again = sure(types.SimpleNamespace(draws=draws), n=16)
    pd.testing.assert_frame_equal(first.cases, again.cases, check_exact=True)


def test_draws_replace_ranges_and_stand_ins_of_the_same_values() -> None:
    found = sure(together(), {AIR: ms.uniform(1.0, 9.0)}, n=8, stand_ins=True)
    names = [*found.inputs.ranges]
    assert MEASURED in names and AIR not in names
    assert not {"air leakage", "household moisture"} & {*names}
    assert "appliances and lights" in names and "weather" in names
    assert found.cases[AIR].astype(float).between(1.0, 4.0).all()


def test_a_measured_house_that_moves_alone_decides_all() -> None:
    decides = sure(together(), n=128).decides
    assert [*decides.index] == [MEASURED]
    assert decides.loc[MEASURED, "share"] > 0.95
    assert decides.loc[MEASURED, "low_USD"] < decides.loc[MEASURED, "high_USD"]
    assert "measured house (" in sure(together(), n=128).verdict


def test_the_budget_has_the_spread_of_the_draws_in_a_row_of_its_own() -> None:
    """The error of a measured house is the standard deviation over its draws, each run by itself."""
    draws = together(12)
    table = ms.error_budget(study(), BOUGHT, ms.Terms(), {}, measured=draws, **what())
    assert [*table.index] == ["time step", MEASURED, "together"]
    kwh = []
    for _, row in draws.iterrows():
        base = study()
        house = attrs.evolve(
            base.house, ach50=row[AIR], gains=attrs.evolve(base.house.gains, moisture=row[VAPOR])
        )
        seasons = attrs.evolve(base, house=house).run(progress=False).seasons
        kwh.append(seasons[PLAIN].meter.total_kwh - seasons[REHEAT].meter.total_kwh)
    assert table.loc[MEASURED, "kWh"] == pytest.approx(np.std(kwh, ddof=1), rel=1e-9)
    assert "12 of the 12 draws of air leakage, household moisture" in table.loc[MEASURED, "basis"]


class Fake:
    """A fit of two structures: windows that stay closed, and windows that are opened with a fan."""

    house = study().house
    equipment = attrs.evolve(machines(), dehumidifier=None)
    fan = ms.Ventilation(kind="exhaust", airflow="30 cfm")
    draws = pd.DataFrame(
        {
            AIR: np.linspace(1.0, 4.0, 20),
            "house.window_opening.area": [np.nan, 0.2] * 10,
            "rhythm.peaks": 0.5,
            "structure": ["closed", "opened"] * 10,
        }
    )

    def described(self, values: Any) -> tuple[ms.House, ms.Equipment]:
        opens = values["structure"] == "opened"
        opening = ms.WindowOpening(area=values["house.window_opening.area"]) if opens else None
        house = attrs.evolve(self.house, ach50=values[AIR], window_opening=opening)
        return house, attrs.evolve(
            self.equipment, ventilation=self.fan if opens else self.equipment.ventilation
        )


def test_draws_of_other_structures_bring_their_parts() -> None:
    """A draw's windows and fan are in the runs of its cases, and in no other."""
    fit = Fake()
    base = study()
    # The study may be described by any draw: its windows are then those of each draw all the same.
    house, _ = fit.described(fit.draws.iloc[1])
    wide = attrs.evolve(base, house=house)
    found = ms.how_sure(wide, BOUGHT, ms.Terms(), {}, n=32, measured=fit, **what(as_set=None))
    assert (found.cases["status"] == "ok").all()
    rows = found.cases[MEASURED].astype(int)
    kwh = found.results["electricity_kWh"].unstack("option")
    for case in (0, 1, 2, 3):
        described, own = fit.described(fit.draws.iloc[rows[case]])
        options = {
            name: (attrs.evolve(made.equipment, ventilation=own.ventilation), made.strategy)
            for name, made in base.resolved.items()
        }
        alone = attrs.evolve(base, house=described, options=options).run(progress=False)
        for option, season in alone.seasons.items():
            assert kwh.loc[case, option] == pytest.approx(season.meter.total_kwh, rel=1e-12)
    table = ms.error_budget(wide, BOUGHT, ms.Terms(), {}, measured=fit, **what(as_set=None))
    assert table.loc[MEASURED, "kWh"] > 0.0


def test_a_source_that_was_measured_is_not_assumed_certain() -> None:
    assert "house description" not in sure(together(), n=8).known
    assert "house description" in sure(None, {"tariff.price": ms.uniform(0.1, 0.2)}, n=8).known


@pytest.mark.slow
def test_sizes_over_the_draws_are_those_of_each_house() -> None:
    demo = ms.scenario.read_scenario(ms.scenario.DEMO).study
    summer = attrs.evolve(demo, start="07-01", end="08-31", step="15 min")
    draws = together(12)
    sizes = ms.measured_sizes(summer, draws, n=3, progress=False)
    assert [*sizes.index] == [0, 6, 11]
    for k, row in sizes.iterrows():
        values = draws.loc[k]
        gains = attrs.evolve(summer.house.gains, moisture=values[VAPOR])
        house = attrs.evolve(summer.house, ach50=values[AIR], gains=gains)
        alone = ms.size(attrs.evolve(summer, house=house), sizes=["50 pint/day"], progress=False)
        assert row["dehumidifier_kg_day"] == pytest.approx(alone.rated, rel=1e-9)
        assert row["over_load"] == pytest.approx(alone.oversizing.min(), rel=1e-9)
    wetter = sizes.sort_values("dehumidifier_kg_day").index
    assert [*wetter] == [*draws.loc[sizes.index, VAPOR].sort_values().index]


@pytest.mark.parametrize(
    ("draws", "sentence"),
    [
        (together(4), "4 draws. Use 8 draws or more"),
        (together().rename(columns={AIR: "house.ach5"}), "Did you mean"),
        (together().assign(**{AIR: np.nan}), "no number in house.ach50, draw 0"),
        (together()[["structure"]], "no column with a dotted name"),
        ([1.0, 2.0], "a DataFrame of draws"),
        (together().rename(columns={AIR: "house.shelter.x"}), "how_sure measured"),
    ],
)
def test_draws_that_cannot_be_used_are_refused(draws: Any, sentence: str) -> None:
    with pytest.raises(ms.InputError, match=sentence):
        sure(draws)
