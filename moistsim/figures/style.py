"""Common parts of the figures: colors, sizes, titles and legends."""

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text

from moistsim.core.display import Show, number
from moistsim.engine import END_USES, column_catalog
from moistsim.season import Season
from moistsim.study import Comparison, Study, main_machine

# All areas contrast at least 3:1 with white (WCAG 2.1, 1.4.11), and differ from one another to
# color-blind eyes too: they were searched for by computer, and tests measure both. Neighbors in a
# stack cannot all contrast 3:1 with each other as well, so a white line parts them.
MACHINE_COLORS = {
    "cooling alone": "#0f3a5d",
    "strips": "#e66015",
    "hot gas": "#6f28ca",
    "dehumidifier": "#0ea85e",
    "own rules": "#b6249f",
}
"""Color of an option by its main machine, and of that machine, in every figure."""

END_USE_COLORS = {
    "compressor": MACHINE_COLORS["cooling alone"],
    "indoor_fan": "#3897f2",
    "reheat": MACHINE_COLORS["strips"],
    "backup_heat": "#4c100f",
    "heat_pump": "#5d4a00",
    "room_heater": "#675b3b",
    "dehumidifier": MACHINE_COLORS["dehumidifier"],
    "ventilation_fan": "#8e8d8d",
    "standby": "#515251",
    "space_dehumidifier": "#2a1af0",
}
"""Color of an end use, the same in every figure."""


DASHES: Sequence[Any] = ("-", (0, (6, 2)), (0, (1, 1)), (0, (3, 1, 1, 1)))
"""Dashes of lines that share a color, in their order."""

LINES: Sequence[tuple[str, Any]] = [
    (color, dash) for dash in DASHES[:2] for color in MACHINE_COLORS.values()
]
"""Color and dashes by place, for lines that do not represent an option."""


def looks(machines: Mapping[str, str], names: Iterable[str]) -> dict[str, tuple[str, Any]]:
    """Color and dashes of each option's line.

    The color is that of the main machine, and options of one machine differ by their dashes.

    Parameters
    ----------
    machines : dict of str
        Main machine by option. The look of an option without an entry follows its place.
    names : iterable of str
        The options, in their order.
    """
    found: dict[str, tuple[str, Any]] = {}
    for place, name in enumerate(names):
        if name not in machines:
            found[name] = LINES[place % len(LINES)]
            continue
        alike = sum(machines.get(other) == machines[name] for other in found)
        found[name] = MACHINE_COLORS[machines[name]], DASHES[alike % len(DASHES)]
    return found


def option_looks(comparison: Comparison) -> dict[str, tuple[str, Any]]:
    """Color and dashes of each option of a comparison."""
    seasons = comparison.seasons
    return looks({name: main_machine(season) for name, season in seasons.items()}, seasons)


ROOM, OUTDOORS, LIMIT = "#17456e", "#8a8a8a", "#333333"
TOO_HUMID = "#a50f0f"
"""Color of humidity above a limit: no machine's color."""


class Page(Figure):
    """A figure whose words are plain: the $, # and \\frac of an option's name are shown as written."""

    def draw(self, renderer: Any) -> None:
        for text in self.findobj(Text):
            text.set_parse_math(False)
        # For labels of axes that are only made while drawing.
        with rc_context({"text.parse_math": False}):
            super().draw(renderer)


STYLE_SIZE = 12.0
"""Letter size, points: legible from the back of a room when the figure fills the screen."""


HUMID = 60.0
"""Relative humidity, percent, above which hours are given next to each option."""


def dryness(season: Season) -> str:
    """Humidity that an option achieved: mean RH and humid hours.

    The dew point is not here: where one room is cooler, the two may disagree on which is drier.
    """
    meter = season.meter
    rh = number(meter.of(column_catalog.MEAN_RH), column_catalog.MEAN_RH.digits)
    hours = number(meter.of(column_catalog.HOURS_OVER_60))
    return f"{column_catalog.MEAN_RH.short} {rh} %, {hours} h {column_catalog.HOURS_OVER_60.short}"


def band(ax: Axes, x: Any, low: Any, high: Any, color: str) -> None:
    """Fill a pale band between two lines; its edge contrasts with the paper, which the area does not."""
    ax.fill_between(x, low, high, facecolor=(color, 0.25), edgecolor=color, lw=0.5)


def place(of: Study | Season, show: Show) -> str:
    """Description of the place: the house by its size, and the weather by its name."""
    weather = of.weather
    name = weather.name or f"{weather.latitude:.2f}°, {weather.longitude:.2f}°"
    return f"House of {show(of.house.floor_area, 'area')}, weather of {name}"


def title(ax: Axes, name: str, label: str, width: int) -> None:
    """Write an option's name in bold, wrapped, and a line about the option."""
    lines = textwrap.wrap(name, width) or [name]
    ax.set_title(label, loc="left", fontsize=STYLE_SIZE - 1.0, pad=5.0)
    below = (STYLE_SIZE + 2.0) * label.count("\n")
    ax.annotate(
        "\n".join(lines), (0.0, 1.0), xycoords="axes fraction",
        xytext=(0.0, STYLE_SIZE + 8.0 + below),
        textcoords="offset points", ha="left", va="bottom", fontsize=STYLE_SIZE,
        fontweight="bold", annotation_clip=False,
    )  # fmt: skip


def plain(ax: Axes) -> None:
    """Remove the frame of a plot above and to the right."""
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    ax.set_axisbelow(True)
    ax.tick_params(labelsize=STYLE_SIZE - 1.0)


def ink_on(color: str) -> str:
    """Black or white, whichever contrasts more (relative luminance of WCAG 2)."""
    channels = np.array([int(color[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    return "white" if linear @ (0.2126, 0.7152, 0.0722) < 0.179 else "black"


def end_uses_of(totals: Any) -> list[str]:
    """End uses with any electricity, in the order of the stack."""
    summed = sum(totals)
    return [use for use in END_USES if float(summed[use]) > 0.0]


def legend(figure: Figure, handles: list[Any], columns: int | None = None) -> None:
    """One legend under the whole figure, by default of as many columns as short words need."""
    width = float(figure.get_size_inches()[0])
    figure.legend(
        handles=handles,
        loc="outside lower center",
        ncols=columns or max(2, min(len(handles), int(width / 2.7))),
        frameon=False,
        fontsize=STYLE_SIZE - 1.0,
    )
