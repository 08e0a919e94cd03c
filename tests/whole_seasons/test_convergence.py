"""What must not depend on the step, the run, the thread, or the zoom."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from support.controls import BUILT_IN
from support.houses import house
from support.machines import machines
from support.seasons import whole_year
from support.weathers import sample

import moistsim as ms
from moistsim.engine import END_USES


@pytest.mark.parametrize("place", ["miami", "greensboro"])
@pytest.mark.parametrize("strategy", BUILT_IN)
def test_halving_the_step_moves_little(place: str, strategy: str) -> None:
    coarse, fine = (
        ms.simulate(
            house(), machines(), ms.strategies.BUILT_IN[strategy], sample(place),
            start="03-01", end="10-31", step=step,
        ).meter
        for step in ("60 s", "30 s")
    )  # fmt: skip

    def moves(a: float, b: float) -> float:
        """Percent."""
        return 100.0 * abs(b / a - 1.0)

    kwh = moves(coarse.total_kwh, fine.total_kwh)
    water = moves(coarse.water_kg.sum(), fine.water_kg.sum())
    humid, humid_fine = (m.humidity["hours_over_60"] for m in (coarse, fine))
    starts = {
        name: (count, fine.starts[name]) for name, count in coarse.starts.items() if count > 0
    }
    print(
        f"{place} {strategy}: kWh {kwh:.2f} %, water {water:.2f} %, "
        f"hours over 60 % {humid:.1f} to {humid_fine:.1f}, "
        + ", ".join(f"starts of {n} {a} to {b}" for n, (a, b) in starts.items())
    )
    assert kwh < 0.5
    assert water < 0.5
    assert abs(humid_fine - humid) < max(0.01 * humid, 10.0)
    assert starts
    for name, (count, count_fine) in starts.items():
        # A handful of starts in a season has no 3 percent: three may differ (6 and 3 starts of the
        # second compressor stage in Miami).
        assert abs(count_fine - count) <= max(0.03 * count, 3.0), name


SPACES = {
    "vented crawl space, attic": {
        "crawl_space": ms.CrawlSpace(), "attic": ms.Attic(),
        "ducts": ms.Ducts(location="crawl space", supply_leakage=0.08, return_leakage=0.06),
    },
    "closed crawl space, attic": {
        "crawl_space": ms.CrawlSpace(kind="closed"), "attic": ms.Attic(),
        "ducts": ms.Ducts(location="attic", supply_leakage=0.08, return_leakage=0.06),
    },
}  # fmt: skip


@pytest.mark.parametrize("place", ["miami", "greensboro"])
@pytest.mark.parametrize("which", SPACES)
def test_halving_the_step_moves_spaces_little(place: str, which: str) -> None:
    """Means within 0.1 K and 0.3 points of RH, every hour within 1 K and 3 points, water within 0.5 %."""
    coarse, fine = (
        ms.simulate(
            house(ach50=7.0, **SPACES[which]), machines(), ms.strategies.temperature_only, sample(place),
            start="03-01", end="10-31", step=step,
        )
        for step in ("60 s", "30 s")
    )  # fmt: skip
    kwh = 100.0 * abs(fine.meter.total_kwh / coarse.meter.total_kwh - 1.0)
    print(f"{place}, {which}: kWh {kwh:.2f} %")
    assert kwh < 0.5
    for name in ("crawl_space", "attic"):
        for what, mean, worst in (
            ("temperature_C", 0.1, 1.0), ("rh_pct", 0.3, 3.0), ("surface_rh_pct", 0.3, 1.0),
        ):  # fmt: skip
            gap = fine.hourly[f"{name}_{what}"] - coarse.hourly[f"{name}_{what}"]
            print(f"  {name} {what}: mean {gap.mean():.3f}, largest {gap.abs().max():.2f}")
            assert abs(gap.mean()) < mean
            assert gap.abs().max() < worst
    for column in ("soil", "to_house", "outdoors"):
        waters = [
            season.hourly[f"crawl_space_water_{column}_kg"].sum() for season in (coarse, fine)
        ]
        print(f"  water {column}: {waters[0]:.1f} to {waters[1]:.1f} kg")
        assert waters[1] == pytest.approx(waters[0], rel=0.005)


def july(name: str) -> bytes:
    """The bits of a month."""
    season = ms.simulate(
        house(), machines(), ms.strategies.BUILT_IN[name], sample("miami"),
        start="07-01", end="07-31",
    )  # fmt: skip
    return season.hourly.to_numpy().tobytes() + season._record.quarters.tobytes()


def test_runs_and_threads_give_the_same_bits() -> None:
    names = [*BUILT_IN, *BUILT_IN]
    alone = [july(name) for name in names]
    assert alone[: len(BUILT_IN)] == alone[len(BUILT_IN) :]
    assert len(set(alone)) == len(BUILT_IN)
    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(july, names)) == alone


@pytest.mark.parametrize("day", ["01-01", "1990-07-15", "12-31"])
@pytest.mark.parametrize("strategy", ["staged_reheat", "with_dehumidifier"])
def test_minutes_add_up_to_the_hours(strategy: str, day: str) -> None:
    season = whole_year("miami", strategy)
    day = day.replace("1990", str(season.hourly.index[0].year))
    minutes = season.minutes(day)
    hours = season.hourly.loc[minutes.index[0] : minutes.index[-1]]
    assert len(minutes) == 60 * len(hours) == 1440
    means = minutes.groupby(minutes.index.floor("60min")).mean()
    sums = minutes.groupby(minutes.index.floor("60min")).sum()
    compared = 0
    for column in hours:
        if column not in minutes or column == "indoor_dew_point_C":
            continue
        is_mean = column.endswith(("_C", "_pct", "_fraction", "_ratio"))
        ours = (means if is_mean else sums)[column]
        np.testing.assert_allclose(ours, hours[column], rtol=1e-12, atol=1e-12, err_msg=column)
        compared += 1
    assert compared > 70
    energy = minutes["power_kW"].sum() / 60.0
    total = hours[[f"{use}_kWh" for use in END_USES]].sum().sum()
    assert energy == pytest.approx(total, rel=1e-12)


def test_a_day_outside_the_season_is_refused() -> None:
    season = ms.simulate(
        house(), machines(), ms.strategies.temperature_only, sample("miami"),
        start="07-01", end="07-02", spin_up=0,
    )  # fmt: skip
    first, last = f"{season.hourly.index[0]:%Y-%m-%d}", f"{season.hourly.index[-1]:%Y-%m-%d}"
    with pytest.raises(ms.InputError) as refusal:
        season.minutes("08-01")
    assert str(refusal.value) == (
        "Season.minutes: cannot use '08-01'. Use a day such as '07-15' within the season, "
        f"{first} to {last}."
    )
