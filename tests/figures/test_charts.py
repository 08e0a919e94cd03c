"""Charts of air, flows, cycles, runs and costs say what the seasons and outside relations say."""

import itertools
from typing import Any

import numpy as np
import pandas as pd
import psychrolib
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from support.drawing import drawn, written

import moistsim as ms
from moistsim.figures import (
    cycle_figure,
    extra_liter_figure,
    flows_figure,
    psychrometric_figure,
    runs_figure,
    style,
    tradeoff_figure,
)
from moistsim.figures.cycle import cycle_of, held_before
from moistsim.figures.flows import AGAIN, MATERIALS, electricity_flows, water_flows
from moistsim.figures.psychrometric import chart_of
from moistsim.figures.tradeoff import unbeaten
from moistsim.machine_checks import BLOWER, COIL, HOT_GAS, MIXED, OUTLET, STRIPS, Rig
from moistsim.study import Comparison

psychrolib.SetUnitSystem(psychrolib.SI)

STRIP, GAS, DRIER = "strip reheat", "hot gas", "stand-alone dehumidifier"
BASE = "temperature only"


@pytest.fixture(scope="module")
def four() -> Comparison:
    unit = ms.Cooling(stages=[ms.Stage(capacity="17 kBtu/h"), ms.Stage(capacity="24 kBtu/h")])
    plain = ms.Equipment(
        cooling=unit, strips=ms.Strips(stages=["5 kW"]), ventilation=ms.Ventilation(airflow="80 cfm"),
        heating=ms.HeatPump(capacity="23 kBtu/h"),
    )  # fmt: skip
    duct = ms.Ventilation(kind="central", airflow="90 cfm", least_run="20 min")
    options = {
        BASE: (plain, ms.strategies.temperature_only),
        STRIP: (plain, ms.strategies.staged_reheat),
        GAS: (
            ms.Equipment(
                cooling=unit, hot_gas=ms.HotGas(), strips=ms.Strips(stages=["5 kW"]), ventilation=duct
            ),
            ms.strategies.hot_gas_reheat(target_rh=45),
        ),
        DRIER: (
            ms.Equipment(
                cooling=unit, dehumidifier=ms.Dehumidifier(capacity="80 pint/day"),
                ventilation=ms.Ventilation(airflow="80 cfm"),
            ),
            ms.strategies.with_dehumidifier,
        ),
    }  # fmt: skip
    study = ms.Study(
        ms.House(floor_area="1900 ft2", ach50=2.0), options, ms.Weather.sample("miami"),
        start="05-03", end="05-16",
    )  # fmt: skip
    return study.run(progress=False)


def lines_of(figure: Figure) -> dict[str, Any]:
    return {
        str(line.get_gid()): line.get_xydata() for line in figure.axes[0].lines if line.get_gid()
    }


# ------------------------------------------------------------------ kWh of an extra liter


@pytest.mark.parametrize("units", ["us", "si"])
def test_bars_of_an_extra_liter_are_the_comparison(four: Comparison, units: Any) -> None:
    figure = extra_liter_figure(four, units=units)
    table = four.table(units)
    noun = "pint" if units == "us" else "kg"
    bars: dict[float, float] = {}
    for bar in figure.axes[0].patches:
        row = bar.get_y() + 0.5 * bar.get_height()
        bars[row] = bars.get(row, 0.0) + bar.get_width()
    kwh = table["difference_kWh"] / table[f"difference_water_{noun}"]
    if units == "si":
        kwh *= 0.9982
    # The house with hot gas has another ventilation, and so less water to remove.
    assert table.loc[GAS, f"difference_water_{noun}"] < 0.0
    assert f"“{GAS}” removes no more water" in figure.alt
    longest = sorted(kwh[[STRIP, DRIER]])
    # End uses below 0.3 % of the longest bar are not drawn.
    np.testing.assert_allclose([bars[k] for k in (0, 1)], longest, rtol=0.02)
    works = four.per_extra_liter(units=units).filter(like="least").loc[[STRIP, DRIER]]
    assert bars[-1] == pytest.approx(works.to_numpy().mean())
    assert bars[-1] < 0.2 * min(longest)
    assert all(f"{each:.2f} kWh" in figure.alt for each in longest)


def test_nothing_to_divide_is_said(four: Comparison) -> None:
    alone = Comparison(four.study, {BASE: four.seasons[BASE]})
    with pytest.raises(ms.InputError, match="no option removes more water"):
        extra_liter_figure(alone)


def test_water_of_materials_is_told_where_it_decides(four: Comparison) -> None:
    told = []
    for days in (None, *([f"05-{day:02d}"] for day in range(3, 17))):
        table = four.per_extra_liter(days, "si")
        held = table["from_materials_kg"].abs() > 0.35 * table["extra_water_kg"]
        drawn_rows = table["total_kWh_per_liter"].notna()
        if drawn_rows.any():
            figure = extra_liter_figure(four, days, units="si")
            told.append("a whole year says more" in figure.alt)
            assert told[-1] == (held & drawn_rows).any()
            assert ("Too short a time" in figure.alt) == held[drawn_rows].all()
    assert not told[0] and any(told)


# ------------------------------------------------------------------ flows


@pytest.mark.parametrize("day", [None, "05-10"])
@pytest.mark.parametrize("name", [BASE, STRIP, GAS, DRIER])
def test_flows_of_electricity_add_up_to_the_meter(
    four: Comparison, name: str, day: str | None
) -> None:
    season = four.seasons[name]
    flows = electricity_flows(season, day)
    assert (flows.to_numpy() >= 0.0).all()
    if day is None:
        used = season.meter.kwh
    else:
        frame = season.minutes(day)
        used = frame[[f"{use}_kWh" for use in season.meter.kwh.index]].sum()
        used.index = season.meter.kwh.index
    for use, kwh in used.items():
        drawn_kwh = flows.loc[use].sum() if use in flows.index else 0.0
        assert drawn_kwh == pytest.approx(kwh, rel=1e-6, abs=1e-9), use


def test_heat_that_drying_added_is_a_flow_of_its_own(four: Comparison) -> None:
    for name, source in ((STRIP, "reheat"), (GAS, "hot_gas"), (DRIER, "dehumidifier")):
        flows = electricity_flows(four.seasons[name])
        found = four.seasons[name].attribution().compressor_kwh
        sources = [s for s, words in AGAIN.items() if words == AGAIN[source]]
        assert flows.loc["compressor", AGAIN[source]] == pytest.approx(found[sources].sum())
        assert flows.loc["compressor", AGAIN[source]] > 0.0
    assert not set(AGAIN.values()) & set(electricity_flows(four.seasons[BASE]).columns)


@pytest.mark.parametrize("day", [None, "05-10"])
def test_flows_of_water_are_what_drained_and_what_came(four: Comparison, day: str | None) -> None:
    for season in four.seasons.values():
        flows = water_flows(season, day)
        frame = season.hourly if day is None else season.minutes(day)
        for to, column in (
            ("coil drain", "water_drained_kg"),
            ("dehumidifier", "water_dehumidifier_kg"),
        ):
            removed = flows[to].sum() if to in flows else 0.0
            assert removed == pytest.approx(-frame[column].sum(), rel=1e-6, abs=1e-9)
        came = season.attribution(day).water_sources["brought"].sum()
        assert flows.drop(index=MATERIALS).to_numpy().sum() == pytest.approx(came)


def test_a_second_system_is_named_and_not_lost(four: Comparison) -> None:
    unit = ms.Cooling(stages=[ms.Stage(capacity="18 kBtu/h")])
    season = ms.simulate(
        ms.House(
            floor_area="2400 ft2", stories=2,
            second_zone=ms.SecondZone(kind="upper floor", share="50 %", return_share=0),
        ),
        ms.Equipment(cooling=unit, second_system=ms.SecondSystem(cooling=unit)),
        ms.strategies.temperature_only, four.study.weather, start="06-01", end="06-05",
    )  # fmt: skip
    flows = electricity_flows(season)
    assert flows.to_numpy().sum() == pytest.approx(season.meter.total_kwh)
    assert flows.loc["compressor", "a second system’s cooling"] == pytest.approx(
        season.meter.second_system["second_system_compressor_kWh"], rel=1e-6
    )
    assert "the first system" in flows_figure(season).alt


def test_ribbons_are_as_thick_as_their_flows(four: Comparison) -> None:
    figure = flows_figure(four.seasons[STRIP], units="si")
    for panel in figure.axes:
        ends = [patch for patch in panel.patches if isinstance(patch, Rectangle)]
        for side in sorted({patch.get_x() for patch in ends}):
            heights = [patch.get_height() for patch in ends if patch.get_x() == side]
            assert sum(heights) == pytest.approx(1.0)
    total = four.seasons[STRIP].meter.total_kwh
    assert f"Electricity: {total:,.0f} kWh" in written(figure)


# ------------------------------------------------------------------ psychrometric chart


@pytest.mark.parametrize("units", ["us", "si"])
def test_lines_of_the_chart_are_psychrolibs(four: Comparison, units: Any) -> None:
    """Saturation and RH to 0.02 %, wet bulb to 0.01 K: PsychroLib iterates to 0.001 K."""
    figure = psychrometric_figure(four.seasons[STRIP], units=units)
    pressure = chart_of(four.seasons[STRIP]).pressure
    checked = 0
    for name, xy in lines_of(figure).items():
        kind, _, value = name.partition(" ")
        if kind not in ("saturation", "rh", "wet"):
            continue
        for x, y in xy[:: max(1, len(xy) // 6)]:
            t, w = ((x - 32.0) / 1.8, y / 7000.0) if units == "us" else (x, y / 1000.0)
            if kind == "wet":
                if w > 1e-4:
                    found = psychrolib.GetTWetBulbFromHumRatio(t, w, pressure)
                    assert found == pytest.approx(float(value), abs=0.01)
            else:
                rh = 1.0 if kind == "saturation" else float(value) / 100.0
                expected = psychrolib.GetHumRatioFromRelHum(t, rh, pressure)
                assert w == pytest.approx(expected, rel=2e-4)
            checked += 1
    assert checked > 60


def test_density_is_the_hours_of_the_room(four: Comparison) -> None:
    season = four.seasons[BASE]
    figure = psychrometric_figure(season, units="si")
    (cells,) = figure.axes[0].collections
    # Counts are shown on a scale of logarithms.
    assert cells.get_array().sum() == len(season.hourly)
    x, y = (0.5 * (cells.get_offsets().min(axis=0) + cells.get_offsets().max(axis=0))).tolist()
    assert abs(x - season.hourly["indoor_temperature_C"].mean()) < 1.5
    assert abs(y - 1000.0 * season.hourly["indoor_humidity_ratio"].mean()) < 2.0


def test_the_coils_path_ends_in_what_gauges_show(four: Comparison) -> None:
    """Supply air of the sequence sheet's own expectation, and heats by PsychroLib's enthalpy."""
    chart = chart_of(four.seasons[STRIP])
    (path,) = chart.paths
    assert [state.place for state in path.states] == ["room air", COIL, BLOWER, STRIPS]
    room, coil, blower, strips = path.states
    dry = [
        psychrolib.GetMoistAirEnthalpy(state.temperature, state.humidity_ratio)
        for state in path.states
    ]
    # Strips heat the same dry air as the blower: power over power is enthalpy over enthalpy.
    season = four.seasons[STRIP]
    rows = season.steps("reheat", "indoor_fan", "reheat_stage", "cooling_stage")
    rows = rows[rows["reheat_stage"] > 0.0]
    ratio = rows["reheat"].median() / rows["indoor_fan"].median()
    assert (dry[3] - dry[2]) / (dry[2] - dry[1]) == pytest.approx(ratio, rel=0.02)
    # Sensible cooling, drying, and the coil's line on to saturation.
    assert coil.temperature < room.temperature and coil.humidity_ratio < room.humidity_ratio
    assert strips.humidity_ratio == blower.humidity_ratio == coil.humidity_ratio
    assert path.apparatus_dew_point is not None
    saturated = psychrolib.GetSatHumRatio(path.apparatus_dew_point, chart.pressure)
    slopes = [
        (room.humidity_ratio - w) / (room.temperature - t)
        for t, w in ((coil.temperature, coil.humidity_ratio), (path.apparatus_dew_point, saturated))
    ]
    assert slopes[0] == pytest.approx(slopes[1], rel=0.02)


def test_a_central_duct_mixes_on_a_straight_line(four: Comparison) -> None:
    chart = chart_of(four.seasons[GAS])
    (path,) = chart.paths
    room, mixed = path.states[0], path.at(MIXED)
    assert mixed is not None and path.at(HOT_GAS) is not None
    out = chart.outdoors
    share = (mixed.humidity_ratio - room.humidity_ratio) / (
        out.humidity_ratio - room.humidity_ratio
    )
    # 90 cfm of outdoor air at full flow, of 800 cfm or so; the duct slows with the blower.
    assert 0.05 < share < 0.2
    h = [
        psychrolib.GetMoistAirEnthalpy(state.temperature, state.humidity_ratio)
        for state in (room, out, mixed)
    ]
    assert h[2] == pytest.approx(h[0] + share * (h[1] - h[0]), rel=1e-4)


def test_a_chart_of_all_options_has_each_machine_once(four: Comparison) -> None:
    chart, base = chart_of(four), chart_of(four.seasons[BASE])
    assert chart.room.equals(base.room)
    assert chart.paths == (
        chart_of(four.seasons[STRIP]).paths[0],
        chart_of(four.seasons[GAS]).paths[0],
        chart_of(four.seasons[DRIER]).paths[-1],
    )
    figure = psychrometric_figure(four)
    for words in ("the coil cools", "the strips give", "hot gas gives", "the dehumidifier takes"):
        assert figure.alt.count(words) + figure.alt.count(words.capitalize()) == 1


def test_a_dehumidifier_warms_by_its_heat(four: Comparison) -> None:
    """Enthalpy rises by its electricity and falls by the drain's: the path is above wet bulb."""
    season = four.seasons[DRIER]
    chart = chart_of(season)
    path = chart.paths[-1]
    room, out = path.states
    assert out.place == OUTLET
    rig = Rig(season.house, season.equipment, season.strategy, chart.pressure)
    rise = psychrolib.GetMoistAirEnthalpy(out.temperature, out.humidity_ratio)
    rise -= psychrolib.GetMoistAirEnthalpy(room.temperature, room.humidity_ratio)
    removed = room.humidity_ratio - out.humidity_ratio
    # kWh of a liter, from the season's meter: within the spread of its rooms.
    hourly = season.hourly
    per_kg = hourly["dehumidifier_kWh"].sum() / -hourly["water_dehumidifier_kg"].sum() * 3.6e6
    assert (rise + removed * 4186.0 * 10.0) / removed == pytest.approx(per_kg, rel=0.05)
    assert rig.plant.dehumidifier.flow > 0.0
    wet = [
        psychrolib.GetTWetBulbFromHumRatio(state.temperature, state.humidity_ratio, chart.pressure)
        for state in (room, out)
    ]
    assert wet[1] > wet[0] - 3.0


# ------------------------------------------------------------------ a cycle of the coil


def test_water_on_the_coil_is_what_came_and_did_not_go(four: Comparison) -> None:
    season = four.seasons[BASE]
    cycle = cycle_of(season, "05-10")
    gained = cycle.condensed - cycle.drained - cycle.returned
    np.testing.assert_allclose(np.diff(cycle.held, prepend=held_before(cycle)), gained, atol=1e-12)
    # The state at the hour's end is the engine's own.
    ends = cycle.start + pd.to_timedelta(np.arange(1, len(cycle.held) + 1), unit="min")
    at = [k for k, time in enumerate(ends) if time.minute == 0]
    assert at
    for k in at:
        hour = season.hourly.loc[ends[k] - pd.Timedelta(hours=1), "coil_water_kg"]
        assert cycle.held[k] == pytest.approx(hour, abs=1e-9)
    # Nothing drips before the coil is full, and nothing condenses once it stops.
    assert cycle.on[0] and not cycle.on[-1]
    assert (cycle.condensed[~cycle.on] == 0.0).all() and (cycle.returned[cycle.on] == 0.0).all()
    assert cycle.held[cycle.drained > 0.0].min() == pytest.approx(cycle.held.max(), rel=1e-6)


def test_a_fan_that_stays_on_dries_the_coil(four: Comparison) -> None:
    """More of the water goes back, as in Shirey, Henderson & Raustad (2006), from memory."""
    season = four.seasons[BASE]
    unit = ms.Cooling(stages=[ms.Stage(capacity="24 kBtu/h")], fan="on")
    windy = ms.simulate(
        season.house, ms.Equipment(cooling=unit), season.strategy, season.weather,
        start="05-09", end="05-11",
    )  # fmt: skip
    shares = []
    for one in (season, windy):
        cycle = cycle_of(one, "05-10")
        shares.append(cycle.returned.sum() / cycle.condensed.sum())
    assert shares[1] > 3.0 * shares[0]
    assert "goes back to the house" in cycle_figure(windy, "05-10").alt


def test_a_day_without_cycles_is_said(four: Comparison) -> None:
    still = ms.simulate(
        four.study.house, ms.Equipment(), ms.strategies.temperature_only, four.study.weather,
        start="05-09", end="05-10",
    )  # fmt: skip
    with pytest.raises(ms.InputError, match="no two runs of the compressor"):
        cycle_figure(still, "05-09")


# ------------------------------------------------------------------ runs, costs


def test_bars_of_runs_add_up_to_the_starts(four: Comparison) -> None:
    figure = runs_figure(four)
    for panel, season in zip(figure.axes, four.seasons.values(), strict=True):
        a_day = sum(bar.get_height() for bar in panel.patches)
        starts = season.meter.starts[["cooling_stage_1", "heat_pump"]].sum()
        # A run that begins before the season counts as a run and not as a start.
        assert a_day * 14.0 == pytest.approx(starts, abs=1.01)
    assert len(runs_figure(four, "dehumidifier").axes) == 1
    with pytest.raises(ms.InputError, match="runs_figure machine"):
        runs_figure(four, "kettle")  # type: ignore[arg-type]


def test_marks_are_where_meter_and_bill_put_them(four: Comparison) -> None:
    panel = tradeoff_figure(four, above=55).axes[0]
    marks = [line for line in panel.lines if line.get_linestyle() == "None"]
    table = four.table("si")
    found = sorted((float(m.get_xdata()[0]), float(m.get_ydata()[0])) for m in marks)
    expected = sorted(zip(table["hours_over_55"], table["cost_USD"], strict=True))
    np.testing.assert_allclose(found, expected)


def test_the_front_is_what_nothing_beats() -> None:
    rng = np.random.default_rng(5)
    for _ in range(50):
        cost = {str(k): float(v) for k, v in enumerate(rng.integers(0, 6, 7))}
        hours = {str(k): float(v) for k, v in enumerate(rng.integers(0, 6, 7))}
        front = unbeaten(cost, hours)
        for one, other in itertools.permutations(cost, 2):
            if hours[other] <= hours[one] and cost[other] < cost[one]:
                assert one not in front
        assert front and [hours[n] for n in front] == sorted(hours[n] for n in front)
        kept = [cost[name] for name in front]
        assert kept == sorted(kept, reverse=True)


def test_life_cycle_cost_takes_the_place_of_the_bill(four: Comparison) -> None:
    bought = {name: ms.Purchase(first_cost=0.0) for name in four.seasons}
    bought[DRIER] = ms.Purchase(first_cost="1800 USD")
    found = ms.economics(four, bought)
    figure = tradeoff_figure(four, found)
    assert "Life-cycle cost" in figure.axes[0].get_ylabel()
    assert f"{found.life_cycle_cost(DRIER):,.0f} USD" in figure.alt


# ------------------------------------------------------------------ all of them


def every(four: Comparison, **how: Any) -> list[Any]:
    season = four.seasons[STRIP]
    return [
        extra_liter_figure(four, **how),
        flows_figure(season, **how),
        psychrometric_figure(four, **how),
        psychrometric_figure(four.seasons[DRIER], **how),
        cycle_figure(season, "05-10", **how),
        runs_figure(four, **how),
        tradeoff_figure(four, **how),
    ]


@pytest.mark.parametrize(("context", "units"), [("paper", "us"), ("slide", "si")])
def test_no_words_are_cut_off(four: Comparison, context: Any, units: Any) -> None:
    for figure in every(four, context=context, units=units):
        renderer = drawn(figure).get_renderer()
        page = figure.bbox
        texts = [*figure.texts, *(t for legend in figure.legends for t in legend.get_texts())] + [
            t for panel in figure.axes for t in [*panel.texts, panel.xaxis.label, panel.yaxis.label]
        ]
        assert figure.alt
        for text in texts:
            if not text.get_text().strip() or not text.get_visible():
                continue
            # matplotlib itself leaves out what lies beyond a chart's frame.
            if getattr(text, "annotation_clip", None) and not text._check_xy(renderer):
                continue
            box = text.get_window_extent(renderer)
            assert page.x0 <= box.x0 + 1 and box.x1 <= page.x1 + 1, text.get_text()
            assert page.y0 <= box.y0 + 1 and box.y1 <= page.y1 + 1, text.get_text()
        if context == "slide":
            assert min(t.get_fontsize() for t in texts if t.get_text().strip()) >= 16.0


def test_axes_of_a_reader_come_back(four: Comparison) -> None:
    season = four.seasons[STRIP]
    for draw, panels in (
        (lambda ax: extra_liter_figure(four, ax=ax), 1),
        (lambda ax: psychrometric_figure(season, ax=ax), 1),
        (lambda ax: tradeoff_figure(four, ax=ax), 1),
        (lambda ax: cycle_figure(season, "05-10", ax=ax), 2),
        (lambda ax: flows_figure(season, ax=ax), 2),
        (lambda ax: runs_figure(four, ax=ax), 4),
    ):
        whole = Figure(figsize=(7.0, 5.0))
        given = [whole.add_subplot(panels, 1, k + 1) for k in range(panels)]
        back = draw(given[0] if panels == 1 else given)
        assert back is given[0] if panels == 1 else list(back) == given
        drawn(whole)
        with pytest.raises(ms.InputError, match="ax"):
            draw([*given, given[0]])


def test_units_follow_the_default(four: Comparison) -> None:
    assert "kWh/pint" in written(extra_liter_figure(four))
    assert "grains/lb" in written(psychrometric_figure(four.seasons[BASE]))
    assert "g/kg" in written(psychrometric_figure(four.seasons[BASE], units="si"))
    with pytest.raises(ms.InputError, match="figure units"):
        flows_figure(four.seasons[BASE], units="imperial")  # type: ignore[arg-type]


def test_colors_are_those_of_the_machines(four: Comparison) -> None:
    figure = extra_liter_figure(four)
    colors = {patch.get_facecolor() for patch in figure.axes[0].patches}
    from matplotlib.colors import to_rgba

    for machine in ("strips", "dehumidifier", "cooling alone"):
        assert to_rgba(style.MACHINE_COLORS[machine]) in colors
