"""Tuned setpoints: what a search finds is what plain search by hand finds, and can be repeated."""

import itertools
from functools import lru_cache
from typing import Any

import attrs
import numpy as np
import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.text import Text
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.figures import tuning_figure
from moistsim.figures.tuning import OWN, TUNED
from moistsim.study.tuning import Bounds, read_hold

DRYING = ms.strategies.with_dehumidifier
ALONE, REHEAT, PLAIN = "dehumidifier", "strip reheat", "temperature only"
LIMIT = 300.0
"""RH-hours above 55 % in the fortnight of the tests."""
HOLD = f"RH-hours above 55 % <= {LIMIT:g}"


@lru_cache
def study(price: float = 0.15) -> ms.Study:
    """A warm, humid fortnight of a Miami autumn, in coarse steps."""
    options = {
        ALONE: (machines(), DRYING),
        REHEAT: (machines(), ms.strategies.staged_reheat),
        PLAIN: (machines(), ms.strategies.temperature_only),
    }
    weather = stretch("miami", 290, 14)
    return ms.Study(house(), options, weather, tariff=ms.Tariff(price=price), step="5 min")


def season(target_rh: float) -> ms.Season:
    return ms.simulate(
        study().house, machines(), DRYING(target_rh=target_rh), study().weather, step="5 min"
    )


@lru_cache
def alone(workers: int = 3, seed: int = 0) -> ms.Tuned:
    return ms.tune(
        study(), ALONE, {"target_rh": (45, 65)}, HOLD,
        most_runs=30, seed=seed, workers=workers, progress=False,
    )  # fmt: skip


@lru_cache
def reheat(workers: int = 3, seed: int = 0) -> ms.Tuned:
    return ms.tune(
        study(), REHEAT, {"target_rh": (45, 60), "reheat_below": ("1 degF", "5 degF")},
        [HOLD, "hours below the cooling setpoint <= 48"],
        most_runs=30, seed=seed, workers=workers, progress=False,
    )  # fmt: skip


# ---------------------------------------------------------------------- what is found


def test_one_setpoint_ends_on_its_limit_as_bisection_finds_it() -> None:
    """A damper target costs less and is damper, so that the cheapest lies on the limit."""
    targets = np.round(np.arange(45.0, 65.01, 0.1), 1)

    def damp(k: int) -> bool:
        return bool(season(targets[k]).meter.humidity["rh_hours_over_55"] > LIMIT)

    low, high = 0, len(targets) - 1
    assert not damp(low) and damp(high)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if damp(middle) else (middle, high)
    found = alone()
    # The starts of machines fall as they will, so that neither is monotone to the last tenth.
    assert found.settings["target_rh"] == pytest.approx(targets[low], abs=0.5)
    assert found.tuned["total_kWh"] <= 1.01 * season(targets[low]).meter.total_kwh
    assert found.tuned["rh_hours_over_55"] <= LIMIT
    assert found.tuned["rh_hours_over_55"] > 0.8 * LIMIT


def test_the_tuned_season_is_the_row_that_was_found() -> None:
    for found in (alone(), reheat()):
        meter = found.season.meter
        assert found.season.strategy is found.strategy
        assert meter.total_kwh == found.tuned["total_kWh"]
        assert meter.humidity["rh_hours_over_55"] == found.tuned["rh_hours_over_55"]
        cost = study().tariff.price * meter.total_kwh
        assert found.tuned["cost_USD"] == pytest.approx(cost, rel=1e-12)
        for name in ("cooling_stage_1", "strips"):
            assert meter.starts[name] == found.tuned[f"{name}_starts"]
        for name, value in found.settings.items():
            assert found.tuned[name] == value
        own = study().options[found.option][1]
        unchanged = {k: v for k, v in found.strategy.settings.items() if k not in found.vary}
        assert unchanged == {k: v for k, v in own.settings.items() if k not in found.vary}
        assert all(found.default[name] == own.settings[name] for name in found.vary)


def test_the_result_is_the_cheapest_of_the_points_that_hold() -> None:
    for found in (alone(), reheat()):
        runs = found.runs
        held = np.logical_and.reduce([runs[h.measure] <= h.limit for h in found.holds])
        assert (runs["holds"] == held).all()
        assert 0 < held.sum() < len(runs)
        assert found.tuned["cost_USD"] == runs["cost_USD"][held].min()
        assert found.tuned["holds"]


def test_every_point_is_run_once_and_none_beyond_the_budget() -> None:
    for found in (alone(), reheat()):
        points = found.runs[[*found.vary]]
        assert not points.duplicated().any()
        assert 15 < len(points) <= 30
        for name, bounds in found.vary.items():
            numbers = np.array([bounds.written(x) for x in points[name].iloc[1:]])
            assert ((bounds.low <= numbers) & (numbers <= bounds.high)).all()
            # Numbers that one would set.
            np.testing.assert_allclose(numbers, np.round(numbers, bounds.digits), atol=1e-9)


@pytest.mark.parametrize("search", [alone, reheat])
def test_the_same_for_any_number_of_workers_and_for_a_seed(search: Any) -> None:
    pd.testing.assert_frame_equal(search(workers=1).runs, search(workers=3).runs, check_exact=True)
    assert search(workers=1).settings == search(workers=3).settings
    other = search(seed=1).runs
    assert not other.equals(search().runs)


def test_another_seed_ends_near_by() -> None:
    """A search ends within 0.5 % RH of the best target, as above; here that is 1.2 % of the cost."""
    assert alone(seed=1).tuned["cost_USD"] == pytest.approx(alone().tuned["cost_USD"], rel=0.015)


def test_the_option_as_it_is_may_be_the_best() -> None:
    """Everything that is damper is beyond the limit, and everything drier is more expensive."""
    own = float(season(DRYING.settings["target_rh"]).meter.humidity["rh_hours_over_55"])
    found = ms.tune(
        study(), ALONE, {"target_rh": (45, DRYING.settings["target_rh"])},
        f"RH-hours above 55 % <= {own!r}", most_runs=11, progress=False,
    )  # fmt: skip
    assert found.default["holds"]
    assert found.tuned["cost_USD"] <= found.default["cost_USD"]


def test_where_energy_is_free_it_is_energy_that_is_least() -> None:
    found = ms.tune(
        study(price=0.0), ALONE, {"target_rh": (45, 65)}, HOLD,
        most_runs=30, workers=2, progress=False,
    )  # fmt: skip
    assert found.objective == "total_kWh"
    # With one price, the least cost is the least energy: the same search.
    assert found.settings == alone().settings
    assert (found.runs["cost_USD"] == 0.0).all()


def test_setpoints_that_contradict_each_other_do_not_hold() -> None:
    found = ms.tune(
        study(), REHEAT, {"stage_1_on": (-2, 4), "stage_1_off": (-6, 4)},
        "RH-hours above 55 % <= 2000", most_runs=21, workers=2, progress=False,
    )  # fmt: skip
    refused = found.runs["refused"] != ""
    contradict = found.runs["stage_1_off"] >= found.runs["stage_1_on"]
    assert contradict.any() and (refused == contradict).all()
    assert not found.runs["holds"][refused].any()
    assert found.runs["total_kWh"][refused].isna().all()
    assert found.runs["total_kWh"][~refused].notna().all()
    sentence = found.runs["refused"][refused].iloc[0]
    assert sentence.startswith("strategy staged_reheat.stage_1_off: cannot use")


def test_the_envelope_is_what_nothing_beats() -> None:
    for found in (alone(), reheat()):
        envelope = found.envelope
        x, cost = envelope["rh_hours_over_55"].to_numpy(), envelope["cost_USD"].to_numpy()
        assert len(x) > 2
        assert (np.diff(x) > 0.0).all() and (np.diff(cost) < 0.0).all()
        # By comparing every point with every other.
        pairs = found.runs[["rh_hours_over_55", "cost_USD"]].to_numpy()
        free = [
            k for k, (a, b) in enumerate(pairs)
            if not any(c <= a and d <= b and (c < a or d < b) for c, d in pairs)
        ]  # fmt: skip
        assert {*envelope.index} == {*free}


def test_the_other_options_are_those_of_the_study() -> None:
    comparison = study().run(progress=False).table()
    assert [*alone().others.index] == [REHEAT, PLAIN]
    for name, row in alone().others.iterrows():
        for column in ("total_kWh", "cost_USD", "rh_hours_over_55", "hours_over_60"):
            assert row[column] == comparison.loc[name, column]


def test_the_table_is_in_the_users_unit() -> None:
    table = reheat().table("us")
    # 0.6 K by default.
    assert table.loc["reheat_below", "default"] == pytest.approx(0.6 * 1.8)
    assert table.loc["reheat_below", "unit"] == "°F"
    tuned = reheat().settings["reheat_below"] * 1.8
    assert table.loc["reheat_below", "tuned"] == pytest.approx(tuned, abs=1e-3)
    assert table.loc["target_rh", "unit"] == "%"
    us, si = (reheat().table(units).loc["mean_dew_point"] for units in ("us", "si"))
    assert us["default"] == pytest.approx(si["default"] * 1.8 + 32.0)
    assert table.loc["cost", "tuned"] == reheat().tuned["cost_USD"]
    with pytest.raises(ms.InputError, match="table units"):
        reheat().table("imperial")  # type: ignore[arg-type]


def test_nothing_holds_says_how_near_it_comes() -> None:
    with pytest.raises(ms.InputError) as caught:
        ms.tune(
            study(), ALONE, {"target_rh": (60, 65)}, "mean RH <= 40 %",
            most_runs=15, progress=False,
        )  # fmt: skip
    # The option's own setpoint is the driest that is tried, though it lies outside the bounds.
    own = season(DRYING.settings["target_rh"]).meter.humidity["mean_rh_pct"]
    assert own > 40.0
    text = str(caught.value)
    assert "cannot use 'mean RH <= 40 %'" in text
    assert f"gives {own:,.4g} in the place of" in text
    assert f"at target_rh = {DRYING.settings['target_rh']:g} %" in text


# ---------------------------------------------------------------------- what is taken


@pytest.mark.parametrize(
    ("text", "measure", "limit"),
    [
        ("RH-hours above 55 % <= 200", "rh_hours_over_55", 200.0),
        ("RH-hours above 55 % ≤ 200", "rh_hours_over_55", 200.0),
        ("rh-hours over 60% <= 12.5 % h", "rh_hours_over_60", 12.5),
        ("hours above 60 % <= 100", "hours_over_60", 100.0),
        ("hours above 65 % RH <= 2 day", "hours_over_65", 48.0),
        ("mean dew point <= 55 degF", "mean_dew_point_C", 23.0 / 1.8),
        ("mean dew point <= 12 degC", "mean_dew_point_C", 12.0),
        ("mean RH <= 52 %", "mean_rh_pct", 52.0),
        ("hours below the cooling setpoint <= 50", "below_cooling_setpoint_h", 50.0),
        ("hours above cooling setpoint <= 50 h", "above_cooling_setpoint_h", 50.0),
        ("hours below heating setpoint <= 0", "below_heating_setpoint_h", 0.0),
        ("compressor starts <= 500", "cooling_stage_1_starts", 500.0),
        ("strip starts <= 500", "strips_starts", 500.0),
    ],
)
def test_what_is_held_is_read(text: str, measure: str, limit: float) -> None:
    hold = read_hold(text, DRYING)
    assert hold.measure == measure
    assert hold.limit == pytest.approx(limit)
    assert hold.measure in alone().runs
    assert hold.short({measure: limit - 1.0}) == 0.0 == hold.short({measure: hold.limit})
    assert hold.short({measure: limit + 1.0}) > 0.0


@ms.strategy
def without_thermostat(readings: Any, memory: Any, *, dry_above: ms.units.Percent = 55.0) -> Any:
    """Has no setpoint that comfort is measured against."""
    return ms.Calls(dehumidifier=1.0 if readings.relative_humidity > dry_above else 0.0)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"option": "desiccant"}, "tune option: cannot use 'desiccant'. Use one of dehumidifier"),
        ({"vary": {}}, "tune vary: cannot use {}. Use a table of one setpoint or more"),
        (
            {"vary": {"target": (45, 50)}},
            (
                "tune vary: with_dehumidifier has no setpoint 'target'. Did you mean 'target_rh'? "
                "Other choices: 'cooling_setpoint', 'heating_setpoint', 'deadband', "
                "'second_stage_at', 'humidity_deadband'."
            ),
        ),
        ({"vary": {"target_rh": 50}}, "tune vary['target_rh']: cannot use 50. Use a pair"),
        ({"vary": {"target_rh": (60, 45)}}, "Use a lower bound that is below the upper one"),
        ({"vary": {"target_rh": (45, 45)}}, "Use a lower bound that is below the upper one"),
        (
            {"vary": {"target_rh": ("45 degF", 50)}},
            "tune vary['target_rh']: cannot read '45 degF' as a relative humidity. Write '55 %'.",
        ),
        (
            {"vary": {"cooling_setpoint": ("76 degF", "24 degC")}},
            "Use a lower bound that is below the upper one",
        ),
        ({"hold": "dry"}, "tune hold: cannot use 'dry'. Use 'RH-hours above 55 % <= 200'"),
        (
            {"hold": "hours above 57 % <= 3"},
            (
                "tune hold: cannot use 'hours above 57 % <= 3'. Use 'RH-hours above 55 % <= "
                "200', or a limit in the same form on 'compressor starts', 'strip starts', 'mean "
                "dew point', 'mean RH', 'RH-hours above 60 %', 'hours below 40 %', 'hours ab"
            ),
        ),
        (
            {"hold": "mean RH >= 50 %"},
            (
                "tune hold: cannot use 'mean RH >= 50 %'. Use 'RH-hours above 55 % <= 200', or a "
                "limit in the same form on 'compressor starts', 'strip starts', 'mean dew "
                "point', 'mean RH', 'RH-hours above 60 %', 'hours below 40 %', 'hours above 50"
            ),
        ),
        (
            {"hold": []},
            (
                "tune hold: cannot use []. Use 'RH-hours above 55 % <= 200', or a limit in the "
                "same form on 'compressor starts', 'strip starts', 'mean dew point', 'mean RH', "
                "'RH-hours above 60 %', 'hours below 40 %', 'hours above 50 %', 'hours abo"
            ),
        ),
        (
            {"hold": 200},
            (
                "tune hold: cannot use 200. Use 'RH-hours above 55 % <= 200', or a limit in the "
                "same form on 'compressor starts', 'strip starts', 'mean dew point', 'mean RH', "
                "'RH-hours above 60 %', 'hours below 40 %', 'hours above 50 %', 'hours ab"
            ),
        ),
        (
            {"hold": "mean dew point <= 55 %"},
            (
                "tune hold 'mean dew point <= 55 %': cannot read '55 %' as a temperature. Write '75 "
                "F' or '24 C'."
            ),
        ),
        (
            {"hold": "hours above 60 % <= many"},
            (
                "tune hold 'hours above 60 % <= many': cannot "
                "read 'many' as a time. Write '5 min' or '300 s'."
            ),
        ),
        ({"most_runs": 10}, "tune most_runs: cannot use 10. Use a whole number from 11"),
        ({"most_runs": 50.0}, "tune most_runs: cannot use 50.0. Use a whole number"),
    ],
)
def test_bad_input_is_one_sentence_before_any_run(
    monkeypatch: pytest.MonkeyPatch, changes: dict[str, Any], sentence: str
) -> None:
    def simulate(*_: Any, **__: Any) -> None:
        raise AssertionError("run")

    monkeypatch.setattr("moistsim.study.tuning.simulate", simulate)
    given = {"option": ALONE, "vary": {"target_rh": (45, 65)}, "hold": HOLD, **changes}
    with pytest.raises(ms.InputError) as caught:
        ms.tune(study(), **given, progress=False)
    assert sentence in str(caught.value)


def test_comfort_needs_the_setpoint_that_it_is_measured_against() -> None:
    with pytest.raises(ms.InputError, match="a strategy that declares a cooling setpoint"):
        read_hold("hours below the cooling setpoint <= 5", without_thermostat)


@pytest.mark.parametrize(
    ("low", "high", "digits", "number", "rounded"),
    [
        (45.0, 58.0, 1, 51.2345, 51.2),
        (0.5, 3.0, 2, 1.2345, 1.23),
        (0.5, 3.0, 2, 0.4, 0.5),
        (0.0, 0.5, 2, 0.4567, 0.46),
        (0.0, 1000.0, -1, 123.0, 120.0),
        (45.25, 58.0, 1, 45.0, 45.25),
    ],
)
def test_steps_of_a_setpoint(
    low: float, high: float, digits: int, number: float, rounded: float
) -> None:
    bounds = Bounds(low, high, "percent", "percent")
    assert bounds.digits == digits
    assert bounds.rounded(number) == rounded
    # A power of ten, and at least fifty steps of it but not a thousand.
    steps = (high - low) * 10.0**digits
    assert steps * (1.0 + 1e-9) >= 50.0 and steps < 501.0


# ---------------------------------------------------------------------- the figure


@pytest.mark.parametrize("units", ["us", "si"])
def test_the_figure_shows_each_where_it_stands(units: Any) -> None:
    found = ms.tune(
        study(), ALONE, {"target_rh": (45, 65)}, "mean dew point <= 57 degF",
        most_runs=15, progress=False,
    )  # fmt: skip
    figure = tuning_figure(found, units)
    ax = figure.axes[0]

    def shown(celsius: Any) -> Any:
        return celsius * 1.8 + 32.0 if units == "us" else celsius

    places = {
        to_hex(dots.get_facecolor()[0]): [*dots.get_offsets()[0]]
        for dots in ax.collections
        if len(dots.get_offsets()) == 1 and len(dots.get_facecolor())
    }
    for color, row in ((OWN, found.default), (TUNED, found.tuned)):
        assert places[color] == pytest.approx([shown(row["mean_dew_point_C"]), row["cost_USD"]])
    assert sum(len(dots.get_offsets()) for dots in ax.collections[:2]) == len(found.runs)
    line = ax.lines[0]
    np.testing.assert_allclose(line.get_xdata(), shown(found.envelope["mean_dew_point_C"]))
    np.testing.assert_allclose(line.get_ydata(), found.envelope["cost_USD"])
    assert ax.lines[1].get_xdata()[0] == pytest.approx(shown(25.0 / 1.8))
    assert ("°F" if units == "us" else "°C") in ax.get_xlabel()
    assert "drier to the left" in ax.get_xlabel()
    starts = attrs.evolve(found, holds=(read_hold("compressor starts <= 500", DRYING),))
    assert tuning_figure(starts, units).axes[0].get_xlabel() == "Compressor starts for cooling"


@pytest.mark.parametrize("search", [alone, reheat])
def test_no_text_of_the_figure_is_cut_off_or_written_over(search: Any) -> None:
    figure = tuning_figure(search())
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    renderer, page = canvas.get_renderer(), figure.bbox
    words = [t for t in figure.findobj(Text) if t.get_text().strip() and t.get_visible()]
    ax = figure.axes[0]
    ticks = {*ax.get_xticklabels(), *ax.get_yticklabels()}
    # A label's leader is no part of its text.
    boxes = {t: Text.get_window_extent(t, renderer) for t in words if t not in ticks}
    written = " ".join(t.get_text() for t in words)
    # Every option is named, near or far.
    for name in (search().option, *search().others.index, "tuned", "as set"):
        assert name in written
    for text, box in boxes.items():
        inside = page.x0 <= box.x0 and box.x1 <= page.x1 and page.y0 <= box.y0 and box.y1 <= page.y1
        assert inside, f"cut off: {text.get_text()!r}"
    for (one, a), (other, b) in itertools.combinations(boxes.items(), 2):
        across = min(a.x1, b.x1) - max(a.x0, b.x0)
        along = min(a.y1, b.y1) - max(a.y0, b.y0)
        assert min(across, along) < 1.0, f"{one.get_text()!r} over {other.get_text()!r}"


def test_the_figure_refuses_other_units() -> None:
    with pytest.raises(ms.InputError, match="figure units: cannot use 'imperial'"):
        tuning_figure(alone(), "imperial")  # type: ignore[arg-type]
