"""Common parts of the figures: colors, dashes, titles of panels and words about options."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib import rcParams
from matplotlib.axes import Axes

from moistsim.core.display import Show, number
from moistsim.engine import END_USES, column_catalog
from moistsim.figures.page import Context as Context
from moistsim.figures.page import Drawn as Drawn
from moistsim.figures.page import Page as Page
from moistsim.figures.page import Sheet as Sheet
from moistsim.figures.page import points as points
from moistsim.figures.page import sheet as sheet
from moistsim.figures.page import text_width as text_width
from moistsim.figures.page import wrapped as wrapped
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


DASHES: Sequence[Any] = (
    "-", (0, (6, 2)), (0, (1, 1)), (0, (3, 1, 1, 1)), (0, (10, 2, 1, 2)), (0, (3, 3)),
)  # fmt: skip
"""Dashes of lines that share a color, in their order."""

PLACE_COLORS = ("#3b64dc", "#97971a", "#410b33", "#229ac3", "#7b9d83", "#41410b")
"""Colors by place, for what has no main machine or an unknown one: none is a machine's color.

They were searched for by computer: they contrast 3:1 with white, and differ to color-blind eyes.
"""

LINES: Sequence[tuple[str, Any]] = [(color, dash) for dash in DASHES[:2] for color in PLACE_COLORS]
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


def quoted(name: str) -> str:
    """An option's name within a sentence."""
    return f"“{name}”"


def each(values: Mapping[str, float], words: Callable[[float], str]) -> str:
    """An amount with each option in one phrase, the largest first; of more than three, the ends.

    Options with the same words stand together.

    Examples
    --------
    >>> each({"A": 0.0, "B": 476.0, "C": 0.2}, number)
    '476 with “B”, 0 with “A” and “C”'
    >>> each({"A": 1.0, "B": 2.0, "C": 3.0, "D": 4.0}, number)
    '4 with “D”, 1 with “A”'
    """
    alike: dict[str, list[str]] = {}
    for name, value in values.items():
        alike.setdefault(words(value), []).append(name)
    groups = sorted(alike.items(), key=lambda group: -values[group[1][0]])
    parts = [
        f"{said} with {' and '.join(map(quoted, names)) if len(names) < 3 else f'{len(names)} options'}"
        for said, names in groups
    ]
    return ", ".join(parts if len(parts) < 4 else [parts[0], parts[-1]])


def band(ax: Axes, x: Any, low: Any, high: Any, color: str) -> None:
    """Fill a pale band between two lines; its edge contrasts with the paper, which the area does not."""
    ax.fill_between(x, low, high, facecolor=(color, 0.25), edgecolor=color, lw=0.5)


def place(of: Study | Season, show: Show) -> str:
    """Description of the place: the house by its size, and the weather by its name."""
    weather = of.weather
    name = weather.name or f"{weather.latitude:.2f}°, {weather.longitude:.2f}°"
    return f"House of {show(of.house.floor_area, 'area')}, weather of {name}"


def name_panel(ax: Axes, name: str, label: str, inches: float) -> None:
    """Write an option's name above its panel in bold, and below it a line about the option.

    Parameters
    ----------
    ax : Axes
    name, label : str
    inches : float
        Width of the panel.
    """
    small = points("small")
    label = wrapped(label, inches, "small") if label else ""
    ax.set_title(label, loc="left", fontsize=small, pad=0.4 * small)
    lines = label.count("\n") + 1 if label else 0
    ax.annotate(
        wrapped(name, inches, "medium", "bold"), (0.0, 1.0), xycoords="axes fraction",
        xytext=(0.0, 0.5 * small + 1.25 * small * lines), textcoords="offset points", ha="left",
        va="bottom", fontsize="medium", fontweight="bold", annotation_clip=False,
    )  # fmt: skip


def plain(ax: Axes) -> None:
    """Remove the frame of a plot above and to the right, and keep its letters when it is drawn."""
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    ax.set_axisbelow(True)
    for axis in ("x", "y"):
        settings: Any = rcParams
        size = points(settings[f"{axis}tick.labelsize"])
        ax.tick_params(axis=axis, labelsize=size)


def ink_on(color: str) -> str:
    """Black or white, whichever contrasts more (relative luminance of WCAG 2)."""
    channels = np.array([int(color[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    return "white" if linear @ (0.2126, 0.7152, 0.0722) < 0.179 else "black"


def end_uses_of(totals: Any) -> list[str]:
    """End uses with any electricity, in the order of the stack."""
    summed = sum(totals)
    return [use for use in END_USES if float(summed[use]) > 0.0]
