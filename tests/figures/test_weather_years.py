"""The figure of weather years: a mark for each year, full where the option keeps the goal."""

import attrs
import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from support.weather_years import PLAIN, advice, found

import moistsim as ms
from moistsim.advice import HUMID, WHOLE_COST
from moistsim.figures import weather_years_figure
from moistsim.figures.style import MACHINE_COLORS
from moistsim.study import main_machine


def marks(ax: Axes) -> list[tuple[float, float, bool, str]]:
    """Each mark's place, whether it is full, and its color, row by row and year by year."""
    found = [
        (
            float(x),
            float(y),
            to_hex(line.get_markerfacecolor()) != "#ffffff",
            to_hex(line.get_markeredgecolor()),
        )
        for line in ax.lines
        if line.get_marker() == "o"
        for x, y in zip(line.get_xdata(), line.get_ydata(), strict=True)
    ]
    return sorted(found, key=lambda mark: mark[1])


@pytest.mark.parametrize("panel", [0, 1])
def test_marks_are_the_table(panel: int) -> None:
    it = found()
    names = [*it.advice.at_goal.options]
    shown = marks(weather_years_figure(it).axes[panel])
    column = (HUMID, WHOLE_COST)[panel]
    assert len(shown) == 3 * len(names)
    for row, name in enumerate(names):
        mine = shown[3 * row : 3 * row + 3]
        values = it.table.xs(name, level="option")
        np.testing.assert_allclose([x for x, *_ in mine], values[column].astype(float))
        keeps = values["keeps_goal"] & values["holds_setpoints"]
        assert [full for _, _, full, _ in mine] == keeps.tolist()
        assert {color for *_, color in mine} == {
            MACHINE_COLORS[main_machine(it.advice.season(name))]
        }
        assert all(abs(y - row) < 0.5 for _, y, *_ in mine)


def test_words_are_those_of_the_data() -> None:
    it = found()
    figure = weather_years_figure(it)
    assert figure.alt.startswith(it.verdict.rstrip("."))
    plain = it.spread(PLAIN, HUMID)
    assert f"{PLAIN}: {plain.low:.0f} to {plain.high:.0f} h" in figure.alt
    assert (
        figure.axes[1].get_xlabel().replace("\n", " ") == "Cost over 10 years, USD in today’s money"
    )
    labels = [text.get_text().replace("\n", " ") for text in figure.axes[0].get_yticklabels()]
    assert labels == [*it.advice.at_goal.options]


def test_without_purchases_the_cost_is_that_of_energy() -> None:
    it = found()
    poor = attrs.evolve(it, advice=advice(priced=False), table=it.table.drop(columns=WHOLE_COST))
    assert weather_years_figure(poor).axes[1].get_xlabel() == "Energy cost, USD"


def test_axes_of_the_reader_and_a_slide() -> None:
    mine = Figure().subplots(1, 2)
    assert list(weather_years_figure(found(), ax=mine)) == list(mine)
    assert tuple(weather_years_figure(found(), context="slide").get_size_inches()) == (13.333, 7.5)
    with pytest.raises(ms.InputError, match="2 panels"):
        weather_years_figure(found(), ax=Figure().subplots())
