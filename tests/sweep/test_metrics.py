"""Metrics of the user's own: columns of the frame, the measure of each answer, a part of the digest."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.small_sweeps import PLAIN, REHEAT, same, study

import moistsim as ms
from moistsim.sweep import manifest as sweep_manifest

SPELL = "longest spell, h"
RANGES: dict[str, Any] = {"house.ach50": ms.uniform(1, 7), "tariff.price": ms.uniform(0.1, 0.4)}


@numba.njit
def longest(indoor_rh_pct: Any) -> float:
    """Hours of the longest spell above 50 % RH."""
    most = run = 0.0
    for humidity in indoor_rh_pct:
        run = run + 1.0 if humidity > 50.0 else 0.0
        most = max(most, run)
    return most


def spell(season: ms.Season) -> float:
    """The same by pandas."""
    humid = season.hourly["indoor_rh_pct"] > 50.0
    return float(humid.groupby((~humid).cumsum()).sum().max())


def kwh(season: ms.Season) -> float:
    return season.meter.total_kwh


def swept(metrics: Any, **more: Any) -> ms.Sweep:
    how: dict[str, Any] = {"sample": "saltelli", "n": 4, "seed": 5, **more}
    return ms.Sweep(study(), RANGES, metrics=metrics, **how)


@pytest.mark.parametrize("executor", ["threads", "processes"])
def test_a_metric_compiled_or_not_is_a_column(executor: Any) -> None:
    frame = swept({SPELL: longest, "by pandas": spell, "electricity": kwh}).run(
        executor, workers=2, progress=False
    )
    assert [*frame.columns[-4:]] == [SPELL, "by pandas", "electricity", "status"]
    assert (frame[SPELL] == frame["by pandas"]).all() and frame[SPELL].nunique() > 2
    assert (frame["electricity"] == frame["total_kWh"]).all()
    # All other columns have the bits that they have without metrics.
    without = swept({}).run(workers=1, progress=False)
    assert same(frame[[*without]], without)


def test_every_answer_takes_a_metric_as_its_measure() -> None:
    """Electricity as a metric gives what the catalog's electricity gives, in all answers."""
    sweep = swept({"electricity": kwh})
    frame = sweep.run(workers=1, progress=False)
    grid = ms.Sweep(
        study(), {"house.ach50": [1.0, 3.0, 5.0], "house.bedrooms": [2, 3, 4]},
        metrics={"electricity": kwh},
    ).run(workers=1, progress=False)  # fmt: skip
    design = sweep.cases()
    pair = (REHEAT, PLAIN)
    answers: list[Callable[[str], pd.DataFrame]] = [
        lambda name: ms.sobol_from(frame, design, name, option=PLAIN, resamples=100),
        lambda name: ms.sobol_from(frame, design, name, options=pair, resamples=100),
        lambda name: ms.tornado(grid, 4, name, option=PLAIN),
        lambda name: ms.break_even(grid, pair, "house.ach50", "house.bedrooms", measure=name),
        lambda name: ms.quantiles(frame.assign(all="all"), name, by="all"),
    ]
    for answer in answers:
        own, catalog = answer("electricity"), answer("total_kWh")
        pd.testing.assert_frame_equal(own, catalog, rtol=0.0, atol=0.0)
        assert own.attrs["measure"] == "electricity"


def test_figures_name_a_metric_as_its_user_did() -> None:
    frame = swept({SPELL: longest}).run(workers=1, progress=False)
    table = ms.quantiles(frame.assign(all="all"), SPELL, by="all")
    figure = ms.figures.quantiles_figure(table)
    assert SPELL in " ".join(text.get_text() for text in figure.findobj(match=_has_text))


def _has_text(artist: Any) -> bool:
    return hasattr(artist, "get_text")


# ---------------------------------------------------------------------- what resume compares


def limited(limit: float) -> Callable[[ms.Season], float]:
    def hours(season: ms.Season) -> float:
        return float((season.hourly["indoor_rh_pct"] > limit).sum())

    return hours


@pytest.mark.parametrize(
    ("then", "said"),
    [
        ({"hours": limited(55.0)}, "differs in metrics: hours."),
        ({"hours, h": limited(50.0)}, "differs in metrics: hours, h; metrics: hours."),
        ({}, "differs in metrics: hours."),
        ({"hours": limited(50.0), SPELL: longest}, f"differs in metrics: {SPELL}."),
    ],
)
def test_resume_refuses_another_metric(then: Any, said: str, tmp_path: Path) -> None:
    first = {"hours": limited(50.0)}
    frame = swept(first).run(folder=tmp_path / "s", progress=False)
    with pytest.raises(ms.InputError) as error:
        swept(then).resume(tmp_path / "s", progress=False)
    assert said in str(error.value)
    assert same(swept({"hours": limited(50.0)}).resume(tmp_path / "s", progress=False), frame)


def test_the_order_of_metrics_is_no_difference(tmp_path: Path) -> None:
    frame = swept({"a": kwh, "b": spell}).run(folder=tmp_path / "s", progress=False)
    turned = swept({"b": spell, "a": kwh}).resume(tmp_path / "s", progress=False)
    assert same(turned[[*frame]], frame)


def test_a_worker_with_another_metric_is_refused() -> None:
    shared = [swept({"hours": limited(limit)})._shared._asdict() for limit in (50.0, 55.0)]
    digests = [sweep_manifest.digest_of(each) for each in shared]
    assert digests[0] != digests[1]


# ---------------------------------------------------------------------- what is refused


def nan(season: ms.Season) -> float:
    return float("nan")


def broken(season: ms.Season) -> float:
    return season.hourly["humidity"].max()


USE = "Use a function that returns a finite number for each season."


@pytest.mark.parametrize(
    ("metric", "sentence"),
    [
        (nan, f"metric 'own': it returned nan. {USE}"),
        (lambda season: np.inf, f"metric 'own': it returned inf. {USE}"),
        (lambda season: "5", f"metric 'own': it returned a value of the type str. {USE}"),
        (lambda season: None, f"metric 'own': it returned a value of the type NoneType. {USE}"),
        (broken, f"metric 'own': KeyError: 'humidity'. {USE}"),
        (numba.njit(lambda rh_pct: 1.0), (
            "metric 'own': 'rh_pct' is not an hourly column. Did you mean 'sensed_rh_pct'?")),
    ],
)  # fmt: skip
def test_a_metric_that_cannot_be_used_is_refused_before_any_case(
    metric: Any, sentence: str, tmp_path: Path
) -> None:
    with pytest.raises(ms.InputError) as error:
        swept({"own": metric}).run(folder=tmp_path / "s", progress=False)
    assert str(error.value) == sentence
    assert not (tmp_path / "s").exists()


def test_a_season_without_the_metric_is_a_row_with_its_reason() -> None:
    def only_in_tight_houses(season: ms.Season) -> float:
        return 1.0 if season.house.ach50 < 3.0 else float("nan")

    sweep = ms.Sweep(
        study(), {"house.ach50": [2.0, 4.0]}, metrics={"own": only_in_tight_houses}
    )  # fmt: skip
    frame = sweep.run(workers=1, progress=False)
    assert frame["status"].tolist() == ["ok"] * 2 + [f"metric 'own': it returned nan. {USE}"] * 2
    # No number of such a row is read as a result.
    assert (
        frame.query("case == 1")
        .drop(columns=["house.ach50", "case"])
        .select_dtypes(float)
        .isna()
        .all(axis=None)
    )
    assert frame.query("case == 0")["own"].tolist() == [1.0, 1.0]


@pytest.mark.parametrize(
    ("metrics", "said"),
    [
        ({"own.hours": kwh}, "Sweep.metrics: cannot use 'own.hours'. Use names without a dot"),
        ({" ": kwh}, "Use names without a dot"),
        ({3: kwh}, "Sweep.metrics: cannot use 3. Use names without a dot"),
        ({"total_kWh": kwh}, "Sweep.metrics['total_kWh']: the frame has this column already."),
        ({"crawl_space_mean_rh_pct": kwh}, "the frame has this column already."),
        ({"status": kwh}, "the frame has this column already."),
        ({"own": 3.0}, "Sweep.metrics['own']: cannot use 3.0. Use a function of a season."),
        ([kwh], "Sweep.metrics: cannot use "),
    ],
)
def test_names_and_functions_are_checked_when_the_sweep_is_made(metrics: Any, said: str) -> None:
    with pytest.raises(ms.InputError) as error:
        swept(metrics)
    assert said in str(error.value)


# ---------------------------------------------------------------------- one case again


@settings(max_examples=12, deadline=None)
@given(number=st.integers(0, 11), option=st.sampled_from([REHEAT, PLAIN]))
def test_a_season_of_a_case_has_the_bits_of_its_row(number: int, option: str) -> None:
    from support.small_sweeps import small, undisturbed

    row = undisturbed().query("case == @number and option == @option").iloc[0]
    if row["status"] != "ok":
        with pytest.raises(ms.InputError) as error:
            small().season(number, option)
        assert str(error.value) == row["status"]
        with pytest.raises(ms.InputError):
            small().study(number)
        return
    season = small().season(number, option)
    assert season.meter.total_kwh == row["total_kWh"]
    case = small().study(number)
    assert [*case.options] == [REHEAT, PLAIN]
    assert case.bill(season).unrounded == row["cost_USD"]
    again = case.run(progress=False, workers=1).row(option)
    assert {k: row[k] for k in again if k in row} == {k: v for k, v in again.items() if k in row}


def test_a_case_keeps_what_each_option_changes_in_the_house() -> None:
    from support.houses import house
    from support.machines import machines

    base = study(options={
        PLAIN: (machines(), ms.strategies.temperature_only),
        "sealed": (machines(), ms.strategies.temperature_only, house(ach50=0.9)),
    })  # fmt: skip
    sweep = ms.Sweep(base, {"house.ach50": [3.0, 5.0], "house.bedrooms": [2, 4]})
    case = sweep.study(3)
    assert case.house.ach50 == 5.0 and case.house.bedrooms == 4
    assert case.resolved["sealed"].house.ach50 == 0.9
    assert case.resolved["sealed"].house.bedrooms == 4
    assert case.resolved[PLAIN].house == case.house
    frame = sweep.run(workers=1, progress=False)
    table = case.run(progress=False).table()
    assert table["total_kWh"].tolist() == frame.query("case == 3")["total_kWh"].tolist()


def test_a_case_or_an_option_that_does_not_exist() -> None:
    sweep = ms.Sweep(
        study(), {"house.ach50": [2.0, 4.0]}, keep=lambda case: case["house.ach50"] > 3
    )
    for number in (0, 7, -1, "1", True, 1.0):
        with pytest.raises(ms.InputError, match="the number of one of the 1 cases, such as 1"):
            sweep.study(number)  # type: ignore[arg-type]
    with pytest.raises(ms.InputError, match="Did you mean 'strip reheat'"):
        sweep.season(1, "strip reheet")
    assert sweep.season(np.int64(1), PLAIN).meter.total_kwh > 0.0  # type: ignore[arg-type]


# ---------------------------------------------------------------------- arrays and Series


@settings(max_examples=15, deadline=None)
@given(values=st.lists(st.floats(0.5, 9.0), min_size=1, max_size=5, unique=True))
def test_an_array_a_series_and_a_list_are_the_same_sweep(values: list[float]) -> None:
    forms = [values, tuple(values), np.array(values), pd.Series(values), pd.Index(values)]
    sweeps = [ms.Sweep(study(), {"house.ach50": form}) for form in forms]
    assert all(each.cases().equals(sweeps[0].cases()) for each in sweeps)
    assert all(each.manifest() == sweeps[0].manifest() for each in sweeps)


def test_other_arrays() -> None:
    whole = ms.Sweep(study(), {"house.bedrooms": np.arange(2, 5)})
    assert whole.manifest() == ms.Sweep(study(), {"house.bedrooms": range(2, 5)}).manifest()
    texts = ms.Sweep(study(), {"tariff.price": pd.Series(["10 cent/kWh", "0.2 USD/kWh"])})
    assert texts.cases()["tariff.price"].tolist() == [0.1, 0.2]
    drawn = ms.Sweep(study(), {"house.ach50": np.linspace(1.0, 4.0, 4)}, sample="sobol", n=8)
    assert set(drawn.cases()["house.ach50"]) == {1.0, 2.0, 3.0, 4.0}
    tornado = ms.one_at_a_time_cases({"house.ach50": 3.0}, {"house.ach50": pd.Series([2.0, 5.0])})
    assert tornado["house.ach50"].tolist() == [3.0, 2.0, 5.0]


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (np.ones((2, 2)), "Sweep 'house.ach50': an array of 2 dimensions. Use one dimension."),
        (np.array([]), "Sweep 'house.ach50': an array without values. Use one value or more."),
        (np.array([1.0, np.nan]), "Sweep 'house.ach50': no value at position 1. Use a value each."),
        (pd.Series([None, 1.0]), "Sweep 'house.ach50': no value at position 0."),
        (np.array([1.0, -2.0]), "Sweep 'house.ach50': -2.0 is too small."),
    ],
)
def test_an_array_that_cannot_be_used(values: Any, said: str) -> None:
    with pytest.raises(ms.InputError) as error:
        ms.Sweep(study(), {"house.ach50": values})
    assert said in str(error.value)
