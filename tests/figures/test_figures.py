"""Figures say what the seasons say, and nothing on them is cut off or written over."""

import io
import itertools
from typing import Any

import attrs
import matplotlib
import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.text import Text
from support.drawing import SIGHT, contrast, differ, drawn, written

import moistsim as ms
from moistsim.engine import END_USES, tags
from moistsim.figures import (
    carpet,
    carpet_figure,
    cost_figure,
    day_figure,
    effective_shr_figure,
    humidity_figure,
    loads_figure,
    mold_figure,
    months_figure,
    risk,
    season_figure,
    sources_figure,
    space_figure,
    spells_figure,
    style,
)
from moistsim.figures.months import MARK
from moistsim.figures.sources import (
    DESTINATION_COLORS,
    DESTINATIONS,
    SOURCE_COLORS,
    SOURCE_GROUPS,
)
from moistsim.figures.style import END_USE_COLORS, MACHINE_COLORS
from moistsim.study import Comparison, main_machine

LONG = "a compressor staged on humidity, with two strip stages that hold the room at its setpoint"
UNITS = ("us", "si")


def compare(names: dict[str, ms.Strategy], start: str, end: str, place: str) -> Comparison:
    machines = ms.Equipment(
        cooling=ms.Cooling(stages=[ms.Stage(capacity="17 kBtu/h"), ms.Stage(capacity="24 kBtu/h")]),
        strips=ms.Strips(stages=["3.6 kW", "3.6 kW"]),
        dehumidifier=ms.Dehumidifier(capacity="80 pint/day"),
        heating=ms.HeatPump(capacity="24 kBtu/h"),
        ventilation=ms.Ventilation(airflow="80 cfm"),
    )
    house = ms.House(floor_area="1900 ft2", ach50=2.0)
    options = {name: (machines, strategy) for name, strategy in names.items()}
    study = ms.Study(house, options, ms.Weather.sample(place), start=start, end=end)
    return study.run(progress=False)


@pytest.fixture(scope="module")
def two() -> Comparison:
    names = {"temperature only": ms.strategies.temperature_only, LONG: ms.strategies.staged_reheat}
    return compare(names, "10-10", "11-15", "miami")


@pytest.fixture(scope="module")
def six() -> Comparison:
    own = ms.strategies
    names = {
        "temperature only": own.temperature_only,
        "overcooling": own.overcooling,
        LONG: own.staged_reheat,
        "stand-alone dehumidifier": own.with_dehumidifier,
        "stand-alone dehumidifier, set at 48 % relative humidity": own.with_dehumidifier(
            target_rh=48
        ),
        "overcooling by 1.2 K": own.overcooling(overcool_by=1.2),
    }
    return compare(names, "03-01", "06-15", "sand_point")


def name_of(ax: Axes) -> str:
    """The bold words above a panel."""
    return " ".join(ax.texts[-1].get_text().split())


def label_of(ax: Axes) -> str:
    """The words between a panel and its name."""
    return " ".join(ax.get_title(loc="left").split())


# ---------------------------------------------------------------------- what they say


def test_bars_begin_at_zero_and_add_up_to_the_meter(two: Comparison) -> None:
    figure = season_figure(two)
    drawn(figure)
    rows = [figure.axes[k] for k in (1, 3)]
    for ax, season in zip(rows, two.seasons.values(), strict=True):
        left = [bar.get_x() for bar in ax.patches]
        width = [bar.get_width() for bar in ax.patches]
        assert left[0] == 0.0 and ax.get_xlim()[0] == 0.0
        np.testing.assert_allclose(left[1:], np.cumsum(width)[:-1])
        assert sum(width) == pytest.approx(season.meter.total_kwh)
        assert ax.get_xlim()[1] > sum(width)
        colors = [matplotlib.colors.to_hex(bar.get_facecolor()) for bar in ax.patches]
        uses = [use for use in END_USES if season.meter.kwh[use] > 0.0]
        assert colors == [END_USE_COLORS[use] for use in uses]


@pytest.mark.parametrize("units", UNITS)
def test_each_bill_stands_beside_its_dryness(two: Comparison, units: str) -> None:
    """One measure of dryness a title: RH, and not the dew point, which may say the opposite."""
    figure = season_figure(two, units)
    for k, season in enumerate(two.seasons.values()):
        mean = season.hourly["indoor_rh_pct"].mean()
        hours = f"{season.meter.humidity['hours_over_60']:,.0f} h above 60 % RH"
        assert label_of(figure.axes[2 * k]) == f"mean RH {mean:.1f} %, {hours}"
        cost = ms.Tariff().price * season.meter.total_kwh
        bill = f"{season.meter.total_kwh:,.0f} kWh, {cost:,.0f} USD"
        assert label_of(figure.axes[2 * k + 1]) == bill
    assert ("1,900 ft²" if units == "us" else "177 m²") in written(figure)
    season = "October 10 to November 15" if units == "us" else "10 October to 15 November"
    assert "Miami" in written(figure) and season in written(figure)


def test_rooms_share_one_scale_that_holds_them_all(two: Comparison) -> None:
    figure = season_figure(two)
    limits = {figure.axes[k].get_ylim() for k in (0, 2)}
    assert len(limits) == 1
    ((low, high),) = limits
    for k, season in zip((0, 2), two.seasons.values(), strict=True):
        rh = season.hourly["indoor_rh_pct"]
        daily = rh.groupby(rh.index.date)
        mean = figure.axes[k].lines[0].get_ydata()
        np.testing.assert_allclose(mean, daily.mean())
        assert low <= daily.quantile(0.05).min() and daily.quantile(0.95).max() <= high


@pytest.mark.parametrize("units", UNITS)
def test_the_day_is_the_day(two: Comparison, units: str) -> None:
    figure = day_figure(two, "10-20", units)
    drawn(figure)
    rh, temperature, *powers = figure.axes
    assert len(powers) == len(two.seasons)
    for k, season in enumerate(two.seasons.values()):
        frame = season.minutes("10-20")
        dew, room = temperature.lines[1].get_ydata(), temperature.lines[2 + k].get_ydata()
        weather = season.weather.frame.loc["1990-10-20", "temp_dew"].to_numpy()
        if units == "us":
            dew, room, scale = (dew - 32) / 1.8, (room - 32) / 1.8, "°F"
        else:
            scale = "°C"
        np.testing.assert_allclose(room, frame["indoor_temperature_C"], rtol=1e-12)
        # Half an hour into an hour the minutes run through the weather's own value. Its dew point
        # was carried as a humidity ratio, at a pressure that moves within the hour.
        np.testing.assert_allclose(dew[30::60], weather, atol=0.1)
        np.testing.assert_allclose(rh.lines[k].get_ydata(), frame["indoor_rh_pct"])
        assert temperature.get_ylabel() == f"Temperature,\n{scale}"
        power = powers[k]
        areas = [c for c in power.collections if isinstance(c, PolyCollection)]
        top = max(float(area.get_paths()[0].vertices[:, 1].max()) for area in areas)
        assert top == pytest.approx(frame["power_kW"].max())
        assert power.get_ylim()[0] == 0.0
        kwh = frame["power_kW"].sum() / 60.0
        assert f": {kwh:,.1f} kWh, " in name_of(power)


def test_a_dash_of_the_day_stands_for_one_thing(two: Comparison, six: Comparison) -> None:
    """Limits are solid and thin with their names on them; lines of one color differ by dashes."""
    for comparison in (two, six.only(*list(six.seasons)[:5])):
        figure = day_figure(comparison, "05-20" if comparison is not two else "10-20")
        for ax in figure.axes[:2]:
            looks = [(str(line.get_color()), str(line.get_linestyle()), line._unscaled_dash_pattern)
                     for line in ax.lines]  # fmt: skip
            assert len({str(look) for look in looks}) == len(looks)
    assert {"60 % RH", "cooling setpoint 76 °F"} <= set(
        written(day_figure(two, "10-20")).split("\n")
    )


def test_one_option_against_one_is_a_slide_of_three_panels(six: Comparison) -> None:
    names = list(six.seasons)
    pair = six.only(names[0], names[3])
    slide = day_figure(pair, "05-20", context="slide")
    assert len(slide.axes) == 3
    drawn(slide)
    assert min(text.get_fontsize() for text in slide.findobj(Text) if text.get_text()) >= 16.0
    rh = slide.axes[0]
    for line, name in zip(rh.lines, (names[0], names[3]), strict=False):
        np.testing.assert_array_equal(
            line.get_ydata(), six.seasons[name].minutes("05-20")["indoor_rh_pct"]
        )
        assert name in slide.alt
    with pytest.raises(ms.InputError, match="a slide has room for 3 options, not 6"):
        day_figure(six, "05-20", context="slide")


def test_some_options_of_a_comparison(six: Comparison) -> None:
    names = list(six.seasons)
    pair = six.only(names[4], names[0])
    assert list(pair.seasons) == [names[4], names[0]] == list(pair.study.options)
    assert pair.base == six.base == names[0]
    assert six.only(names[4]).base == names[4]
    assert pair.seasons[names[4]] is six.seasons[names[4]]
    with pytest.raises(ms.InputError, match="Comparison.only: cannot use 'overcoling'"):
        six.only("overcoling")


def test_the_default_day_is_the_mild_humid_one(two: Comparison) -> None:
    day = two.mild_humid_day()
    date = pd.Timestamp(day)
    assert f"{date:%B} {date.day}, a mild, humid day" in written(day_figure(two)).replace("\n", " ")


def test_a_season_without_a_mild_day_shows_its_most_humid_one() -> None:
    cold = compare({"heating": ms.strategies.temperature_only}, "01-10", "01-16", "sand_point")
    with pytest.raises(ms.InputError, match="no mild day"):
        cold.mild_humid_day()
    figure = day_figure(cold)
    rh = cold.seasons["heating"].hourly["indoor_rh_pct"]
    day = rh.groupby(rh.index.date).mean().idxmax()
    assert f"{day:%B} {day.day}, the most humid day indoors (no day is mild)" in figure.alt
    frame = cold.seasons["heating"].minutes(str(day))
    np.testing.assert_array_equal(figure.axes[0].lines[0].get_ydata(), frame["indoor_rh_pct"])


def test_unknown_units_are_refused(two: Comparison) -> None:
    season = next(iter(two.seasons.values()))
    with pytest.raises(ms.InputError, match="figure units: cannot use 'imperial'"):
        loads_figure(season, units="imperial")  # type: ignore[arg-type]
    for draw in (season_figure, day_figure, sources_figure, spells_figure, mold_figure):
        with pytest.raises(ms.InputError, match="figure units: cannot use 'imperial'"):
            draw(two, units="imperial")  # type: ignore[arg-type]
    with pytest.raises(ms.InputError, match="cannot use '12-24'"):
        day_figure(two, "12-24")
    with pytest.raises(ms.InputError, match="cannot use '12-24'"):
        sources_figure(two, "12-24")


@pytest.mark.parametrize("day", [None, "10-20"])
def test_sources_begin_at_zero_and_add_up_to_what_was_taken(
    two: Comparison, day: str | None
) -> None:
    figure = sources_figure(two, day, "si")
    drawn(figure)
    for k, season in enumerate(two.seasons.values()):
        found = season.attribution(day)
        water, energy = figure.axes[2 * k : 2 * k + 2]
        frame = season.hourly if day is None else season.minutes(day)
        assert sum(bar.get_width() for bar in water.patches) == pytest.approx(
            # 0.9982 kg/L, as in the rating of dehumidifiers.
            (-frame["water_drained_kg"].sum() - frame["water_dehumidifier_kg"].sum()) / 0.9982
        )
        assert sum(bar.get_width() for bar in energy.patches) == pytest.approx(
            frame["compressor_kWh"].sum()
        )
        assert energy.patches[0].get_x() == 0.0 == energy.get_xlim()[0]
        strips = [
            bar.get_width()
            for bar in energy.patches
            if matplotlib.colors.to_hex(bar.get_facecolor()) == SOURCE_COLORS["strips"]
        ]
        assert sum(strips) == pytest.approx(
            found.compressor_kwh["reheat"] + found.compressor_kwh["backup_heat"]
        )
        # 0.1 in the day's title, 1 in the season's.
        added = strips[0] if strips else 0.0
        assert f"including {added:,.{0 if day is None else 1}f} kWh for heat" in label_of(energy)
    assert found.compressor_kwh["reheat"] > 0.0


@pytest.mark.parametrize("day", [None, "10-20"])
def test_loads_are_as_long_as_what_came_in(two: Comparison, day: str | None) -> None:
    season = next(iter(two.seasons.values()))
    figure = loads_figure(season, day, "si")
    drawn(figure)
    loads = season.loads(day)
    for ax, came in zip(figure.axes, ("water_in_kg", "heat_in_kWh"), strict=True):
        whole = sum(bar.get_width() for bar in ax.patches)
        # Rows of next to nothing are left out.
        assert whole == pytest.approx(loads[came].sum(), rel=0.01)
    rows = [text.get_text().replace("\n", " ") for text in figure.axes[0].get_yticklabels()]
    assert {"ventilation air", "household vapor"} <= set(rows)


EVERY_SPACE = ("crawl_space", "basement", "attic", "garage", "second_zone")


def test_every_sink_has_one_place_in_the_figure_of_loads(two: Comparison) -> None:
    columns = set(next(iter(two.seasons.values())).loads("10-20"))
    columns |= {f"water_{name}_kg" for name in EVERY_SPACE}
    columns |= {f"heat_{name}_kWh" for name in EVERY_SPACE}
    placed = [
        f"{kind}_{sink}_{unit}"
        for kind, unit in (("water", "kg"), ("heat", "kWh"))
        for sinks in DESTINATIONS[kind].values()
        for sink in sinks
    ]
    assert len(placed) == len(set(placed))
    assert {*placed, "water_in_kg", "heat_in_kWh"} == columns


def test_every_source_has_one_place_in_the_figure() -> None:
    grouped = [source for group in SOURCE_GROUPS.values() for source in group]
    assert len(grouped) == len(set(grouped))
    water, heat = tags.water_beside(EVERY_SPACE), tags.heat_beside(EVERY_SPACE)
    assert set(grouped) == {*water.sources, *heat.sources}


def test_spells_show_every_hour_and_name_the_longest(two: Comparison) -> None:
    figure = spells_figure(two)
    for ax, season in zip(figure.axes, two.seasons.values(), strict=True):
        rh = season.hourly["indoor_rh_pct"].to_numpy()
        cells = ax.collections[0].get_array()
        assert cells.shape == (24, len(rh) // 24)
        np.testing.assert_array_equal(cells.T.ravel(), rh)
        hours = season.meter.humidity["hours_over_60"]
        assert label_of(ax).startswith(f"{hours:,.0f} h above 60 %")
    damp = next(iter(two.seasons.values())).hourly["indoor_rh_pct"] > 60.0
    # Longest spell by another way: runs numbered by where the answer changes.
    runs = damp[damp].groupby((damp != damp.shift()).cumsum()[damp]).size()
    assert f"longest spell {runs.max():,} h, from" in label_of(figure.axes[0])


def test_a_month_is_as_high_as_its_bill(two: Comparison) -> None:
    figure = months_figure(two)
    for ax, (name, bill) in zip(figure.axes, two.bills().items(), strict=True):
        heights = [bar.get_height() for bar in ax.patches]  # type: ignore[attr-defined]
        assert heights == pytest.approx(bill.months["total"].tolist())
        numbers = [float(text.get_text()) for text in ax.texts[: len(heights)]]
        assert numbers == pytest.approx(heights, abs=0.51)
        assert name_of(ax) == f"{name}: {bill.total:,.0f} USD"
        assert ax.get_ylim()[0] == 0.0
    # The base's own months are marked beside those of the others.
    marks = [piece[0][1] for piece in figure.axes[1].collections[0].get_segments()]
    assert marks == pytest.approx(two.bills()[two.base].months["total"].tolist())


def test_what_is_humid_is_named_by_its_hours(two: Comparison) -> None:
    figure = humidity_figure(two)
    for ax, (name, season) in zip(figure.axes, two.seasons.items(), strict=True):
        hours = season.meter.humidity["hours_over_60"]
        assert name_of(ax) == f"{name}: {hours:,.0f} hours above 60 %"
        rh = season.hourly["indoor_rh_pct"]
        line = np.asarray(ax.lines[0].get_ydata(), float)
        assert line == pytest.approx(rh.groupby(rh.index.normalize()).mean().to_numpy())
        low, high = ax.get_ylim()
        assert low <= line.min() and line.max() <= high and low < 60.0 < high


def test_mold_lines_are_the_hours_of_risk(two: Comparison, monkeypatch: pytest.MonkeyPatch) -> None:
    basis = ms.RiskBasis(register_material="resistant")
    # In this month, the index hardly leaves zero: its empty panels are not drawn.
    few = mold_figure(two, basis)
    assert len(few.axes) == 2 and "Mold hardly starts" in few.alt
    hours = [ms.risk_hours(season, basis) for season in two.seasons.values()]
    worst = max(frame[["mold_index_corner", "mold_index_register"]].max().max() for frame in hours)
    assert worst < risk.VISIBLE_INDEX
    monkeypatch.setattr(risk, "VISIBLE_INDEX", 0.0)
    figure = mold_figure(two, basis)
    for k, frame in enumerate(hours):
        for column, place in enumerate(("corner", "register")):
            humid, index = figure.axes[column], figure.axes[2 + column]
            # Beside the options stands the limit.
            daily = frame[f"{place}_rh_pct"].resample("D").mean()
            np.testing.assert_allclose(humid.lines[k].get_ydata(), daily)
            np.testing.assert_allclose(few.axes[column].lines[k].get_ydata(), daily)
            np.testing.assert_allclose(index.lines[k].get_ydata(), frame[f"mold_index_{place}"])
    assert list(figure.axes[1].lines[-1].get_ydata()) == [85.0, 85.0]
    assert list(figure.axes[3].lines[-1].get_ydata()) == [3.0, 3.0]


def test_a_carpet_has_every_hour(two: Comparison) -> None:
    figure = carpet_figure(two)
    for ax, (name, season) in zip(figure.axes, two.seasons.items(), strict=False):
        rh = season.hourly["indoor_rh_pct"].to_numpy()
        np.testing.assert_array_equal(ax.collections[0].get_array().T.ravel(), rh)
        hours = season.meter.humidity["hours_over_60"]
        assert name_of(ax) == f"{name}: {hours:,.0f} hours above 60 %"
    # The month and the part of the day, by another way.
    rh = next(iter(two.seasons.values())).hourly["indoor_rh_pct"]
    damp = rh[rh > 60.0]
    month = damp.groupby(damp.index.month).size().idxmax()
    part = ["night", "morning", "afternoon", "evening"][
        damp.groupby(damp.index.hour // 6).size().idxmax()
    ]
    assert figure.alt.startswith(
        f"Most humid in {'October' if month == 10 else 'November'} and in the {part}: "
    )
    # Darker at every step, so that it reads without hue; 60 % parts blue from brown.
    colors = carpet.DRY_TO_HUMID(np.linspace(0.0, 1.0, 12))[:, :3]
    gray = colors @ (0.2126, 0.7152, 0.0722)
    assert (np.diff(gray) < 0.0).all()


def test_numbers_of_loads_are_the_lengths_of_their_bars(two: Comparison) -> None:
    """No bar has the number 0.0: a source that only moves through storage has both of its ends."""
    season = next(iter(two.seasons.values()))
    for day in (None, "10-20"):
        figure = loads_figure(season, day, "us")
        for ax in figure.axes:
            bars = [(b.get_y(), b.get_width()) for b in ax.patches if b.get_width()]
            ends: dict[tuple[float, bool], float] = {}
            for y, width in bars:
                ends[y, width > 0.0] = ends.get((y, width > 0.0), 0.0) + width
            shown = sorted(
                f"{end:,.1f}".replace("-", "\N{MINUS SIGN}")
                for end in ends.values()
                if abs(end) >= 0.05
            )
            said = sorted(text.get_text() for text in ax.texts)
            assert said == shown and "0.0" not in said


# ---------------------------------------------------------------------- how they look


KINDS = {
    "season": season_figure, "sources": sources_figure, "humidity": humidity_figure,
    "months": months_figure, "carpet": carpet_figure, "spells": spells_figure,
    "mold": mold_figure, "day": day_figure, "loads": loads_figure,
}  # fmt: skip


def of_kind(kind: str, comparison: Comparison, **more: Any) -> Any:
    data: Any = list(comparison.seasons.values())[-1] if kind == "loads" else comparison
    return KINDS[kind](data, **more)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    ("options", "units", "context"),
    [("two", "us", "paper"), ("two", "si", "slide"), ("six", "si", "paper"), ("three", "us", "slide")],
)  # fmt: skip
def test_no_text_is_cut_off_or_written_over(
    request: pytest.FixtureRequest, options: str, kind: str, units: str, context: str
) -> None:
    comparison = request.getfixturevalue("six" if options == "three" else options)
    if options == "three":
        names = list(comparison.seasons)
        comparison = comparison.only(names[0], names[3], names[5])
    more = {"day": "10-20" if options == "two" else "05-20"} if kind == "day" else {}
    figure = of_kind(kind, comparison, units=units, context=context, **more)
    assert len(figure.alt) > 40
    if context == "slide":
        drawn(figure)
        assert min(t.get_fontsize() for t in figure.findobj(Text) if t.get_text()) >= 16.0
    renderer = drawn(figure).get_renderer()
    page = figure.bbox
    boxes = {
        text: text.get_window_extent(renderer)
        for text in figure.findobj(Text)
        if text.get_visible() and text.get_text().strip()
    }
    # Ticks beyond an axis' limits keep their text, and are not drawn.
    outside = {
        label
        for ax in figure.axes
        for axis in (ax.xaxis, ax.yaxis)
        for tick in axis.get_major_ticks()
        for label in (tick.label1, tick.label2)
        if not label.get_visible()
        or not min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())
    }
    shown = {text: box for text, box in boxes.items() if text not in outside}
    assert len(shown) > 7
    for text, box in shown.items():
        inside = page.x0 <= box.x0 and box.x1 <= page.x1 and page.y0 <= box.y0 and box.y1 <= page.y1
        assert inside, f"cut off: {text.get_text()!r}"
    for (one, a), (other, b) in itertools.combinations(shown.items(), 2):
        across = min(a.x1, b.x1) - max(a.x0, b.x0)
        along = min(a.y1, b.y1) - max(a.y0, b.y0)
        assert min(across, along) < 1.0, f"{one.get_text()!r} over {other.get_text()!r}"


def test_both_fans_of_a_coil(two: Comparison) -> None:
    """The lines are the bench's numbers, and no text leaves the page."""
    cooling = two.study.options["temperature only"][0].cooling
    conditions = {"temperature": "75 degF", "relative_humidity": 55.0, "stage": 1}
    figure = effective_shr_figure(attrs.evolve(cooling, fan_off_delay=60.0), **conditions)
    steady, continuous, automatic = figure.axes[0].lines
    for line, fan in ((continuous, "on"), (automatic, "auto")):
        unit = attrs.evolve(cooling, fan_off_delay=60.0, fan=fan)
        table = ms.coil_bench(unit, **conditions)
        np.testing.assert_allclose(line.get_xydata()[:, 1], table["shr"], atol=1e-9)
    assert steady.get_ydata()[0] == automatic.get_ydata()[-1] == continuous.get_ydata()[-1]
    assert (continuous.get_ydata()[:-1] > automatic.get_ydata()[:-1]).all()
    assert "Fan ON at 71 % airflow" in written(figure)
    assert "Fan AUTO, fan-off delay 60 s" in written(figure)
    renderer = drawn(figure).get_renderer()
    for text in figure.findobj(Text):
        box = text.get_window_extent(renderer)
        assert not text.get_text() or (box.x0 >= 0.0 and box.x1 <= figure.bbox.x1)


def test_figures_are_vector_drawings_and_leave_no_state(two: Comparison) -> None:
    import matplotlib.pyplot as plt

    for figure in (season_figure(two), day_figure(two, "10-20"), sources_figure(two)):
        file = io.StringIO()
        figure.savefig(file, format="svg")
        assert "<image" not in file.getvalue()
    assert plt.get_fignums() == []


@pytest.mark.parametrize("sight", SIGHT)
def test_colors_differ_to_every_eye(sight: str) -> None:
    """A difference of 2.3 is just noticeable; patches apart from one another need far more."""
    assert list(END_USE_COLORS) == list(END_USES)
    by_place = {color: color for color in style.PLACE_COLORS}
    for colors in (END_USE_COLORS, SOURCE_COLORS, MACHINE_COLORS, by_place):
        differ(colors, sight)
    # What has no machine has no machine's color, to eyes that see them all.
    if sight == "full":
        for color in style.PLACE_COLORS:
            for machine, own in MACHINE_COLORS.items():
                differ({color: color, machine: own}, sight)


def test_areas_contrast_with_the_paper_and_words_with_areas() -> None:
    """WCAG 2.1 AA (from memory): 3:1 for areas on white paper, 4.5:1 for words, here those on bars.

    Not all neighbors in a stack can contrast 3:1 as well as with white: a white line parts them.
    """
    areas = {
        *END_USE_COLORS.values(), *MACHINE_COLORS.values(), *SOURCE_COLORS.values(),
        *DESTINATION_COLORS.values(), *style.PLACE_COLORS, style.TOO_HUMID, style.ROOM, style.OUTDOORS, style.LIMIT, MARK,
    }  # fmt: skip
    assert len(areas) > 20
    for color in areas:
        assert contrast(color, "#ffffff") >= 3.0, color
        assert contrast(style.ink_on(color), color) >= 4.5, color
    # A machine's color is a machine's alone.
    assert style.TOO_HUMID not in {*MACHINE_COLORS.values(), *END_USE_COLORS.values()}
    differ({**MACHINE_COLORS, "too humid": style.TOO_HUMID}, "deuteranopia")


def test_neighbors_are_parted_by_white(two: Comparison) -> None:
    for figure in (season_figure(two), sources_figure(two)):
        bars = [bar for ax in figure.axes for bar in ax.patches]
        assert len(bars) >= 9
        for bar in bars:
            assert matplotlib.colors.to_hex(bar.get_edgecolor()) == "#ffffff"
            assert bar.get_linewidth() > 0.0


def test_an_option_has_the_color_of_its_machine_in_every_figure(two: Comparison) -> None:
    expected = [MACHINE_COLORS["cooling alone"], MACHINE_COLORS["strips"]]
    assert [main_machine(season) for season in two.seasons.values()] == ["cooling alone", "strips"]
    hexed = matplotlib.colors.to_hex
    season, room = season_figure(two), humidity_figure(two)
    assert [hexed(season.axes[k].lines[0].get_color()) for k in (0, 2)] == expected
    assert [hexed(ax.lines[0].get_color()) for ax in room.axes] == expected
    months = months_figure(two)
    assert [hexed(ax.patches[0].get_facecolor()) for ax in months.axes] == expected
    mold = mold_figure(two)
    assert [hexed(line.get_color()) for line in mold.axes[0].lines[:2]] == expected
    purchases = {name: ms.Purchase(first_cost=100.0 * k) for k, name in enumerate(two.seasons)}
    cost = cost_figure(ms.economics(two, purchases))
    assert [hexed(line.get_color()) for line in cost.axes[0].lines[:2]] == expected
    # So have the machines themselves, among the uses of electricity and the sources of heat.
    for use, machine in (
        ("compressor", "cooling alone"),
        ("reheat", "strips"),
        ("dehumidifier",) * 2,
    ):
        assert END_USE_COLORS[use] == MACHINE_COLORS[machine]
    for machine in ("strips", "hot gas", "dehumidifier"):
        assert SOURCE_COLORS[machine] == MACHINE_COLORS[machine]


@pytest.fixture(scope="module")
def below() -> Comparison:
    """A vented crawl space, and with an encapsulated one and its dehumidifier; a slab."""
    unit = ms.Cooling(stages=[ms.Stage(capacity="24 kBtu/h")])
    plain, alone = ms.Equipment(cooling=unit), ms.strategies.temperature_only
    dryer = ms.Dehumidifier(capacity="70 pint/day", humidistat="50 %")
    dried = attrs.evolve(plain, crawl_space_dehumidifier=dryer)
    slab = ms.House(floor_area="1900 ft2")
    house = attrs.evolve(slab, crawl_space=ms.CrawlSpace(), garage=ms.Garage())
    closed = attrs.evolve(house, crawl_space=ms.CrawlSpace(kind="encapsulated"))
    options = {
        "as it is": (plain, alone),
        "encapsulated": (dried, alone, closed),
        "on a slab": (plain, alone, slab),
    }
    weather = ms.Weather.sample("miami")
    study = ms.Study(house, options, weather, start="10-10", end="11-05", step="5 min")
    return study.run(progress=False)


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("space", ["crawl_space", "garage"])
def test_a_space_through_the_season(
    below: Comparison, space: str, narrow: bool, units: str
) -> None:
    figure = space_figure(below, space, units=units, narrow=narrow)
    seasons = {name: s for name, s in below.seasons.items() if space in s.spaces}
    across = 1 if narrow else 3 if space == "crawl_space" else 2
    assert len(figure.axes) == across * len(seasons)
    text = written(figure)
    assert "on a slab" not in text
    for row, name in enumerate(seasons):
        hours = ms.space_hours(seasons[name], space)
        axes = figure.axes[across * row : across * (row + 1)]
        column = (
            "wood_moisture_pct" if narrow and across == 1 and space == "crawl_space" else "rh_pct"
        )
        daily = hours[column].resample("D").mean()
        np.testing.assert_allclose(axes[0].lines[0].get_ydata(), daily, rtol=1e-12)
        low, high = axes[0].get_ylim()
        assert low <= daily.min() and daily.max() <= high
        if not narrow:
            dew = hours["dew_point_C"].resample("D").mean()
            dew = dew * 1.8 + 32.0 if units == "us" else dew
            np.testing.assert_allclose(axes[-1].lines[-1].get_ydata(), dew, rtol=1e-9)
        if space == "crawl_space":
            highest = hours["wood_moisture_pct"].resample("D").mean().max()
            assert f"ood moisture up to {highest:.1f}\N{NO-BREAK SPACE}%" in text.replace("\n", " ")
    inches = figure.get_tightbbox(drawn(figure).get_renderer())
    assert inches.x0 >= 0.0 and inches.x1 <= figure.get_size_inches()[0]
    assert (units == "us") == ("°F" in text) or narrow


def test_a_space_that_no_house_has(below: Comparison, two: Comparison) -> None:
    assert space_figure(below).axes
    with pytest.raises(ms.InputError, match="space_figure space: cannot use 'cellar'"):
        space_figure(below, "cellar")
    with pytest.raises(ms.InputError, match="houses with a space"):
        space_figure(two)


def test_electricity_of_a_dehumidifier_below_has_its_color(below: Comparison) -> None:
    text = written(season_figure(below))
    assert "dehumidifier in a space next to the house" in text


def test_signs_in_names_are_shown_as_written() -> None:
    """A $ and a backslash begin no formula, in titles, legends and labels of axes that are made late."""
    name = r"$5 off, #2, \frac{$ 50 % _x^"
    with style.sheet("a_figure") as page:
        ax = page.panel(height=4.0)
        style.name_panel(ax, name, name, 6.0)
        ax.bar([name, f"{name} too"], [1.0, 2.0], label=name)
        figure = page.done(name, name, key=ax.get_legend_handles_labels()[0], note=name)
    figure.savefig(io.BytesIO(), format="svg")
    texts = [text for text in figure.findobj(Text) if name in text.get_text()]
    assert len(texts) >= 7 and not any(text.get_parse_math() for text in texts)


def test_a_figure_of_panels_takes_a_list_of_axes(two: Comparison) -> None:
    own = matplotlib.figure.Figure(figsize=(12.0, 9.0))
    axes = own.subplots(2, 1)
    for draw in (humidity_figure, months_figure, spells_figure, carpet_figure):
        drawn_on = draw(two, ax=axes)
        assert drawn_on == list(axes)
        assert drawn_on[0].alt == draw(two).alt
    grid = own.subplots(2, 2)
    assert season_figure(two, ax=grid) == list(grid.ravel())
    with pytest.raises(ms.InputError, match="season_figure ax: the figure has 4 panels, not 2"):
        season_figure(two, ax=axes)
