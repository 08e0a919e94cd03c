"""What the figures share: colors, sizes, titles, legends."""

import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from moistsim.core.errors import InputError
from moistsim.core.units import from_si
from moistsim.engine import END_USES
from moistsim.season import Season
from moistsim.study import Study, Units

# Lightness as well as hue differs between neighbors in a stack, so that the colors hold for
# color-blind eyes and on a gray printer (a test measures this).
END_USE_COLORS = {
    "compressor": "#17456e",
    "indoor_fan": "#8ec1e6",
    "reheat": "#cf4f1f",
    "backup_heat": "#6e1f10",
    "heat_pump": "#efb94b",
    "dehumidifier": "#169a86",
    "ventilation_fan": "#c9c9c9",
    "standby": "#4b4b4b",
}
"""One color an end use, the same in every figure."""


END_USE_NAMES = {
    **{use: use.replace("_", " ") for use in END_USES},
    "compressor": "compressor and outdoor fan",
    "reheat": "strips as reheat",
    "backup_heat": "strips as heat",
}


LINES: Sequence[tuple[str, Any]] = (
    ("#17456e", "-"),
    ("#cf4f1f", (0, (6, 2))),
    ("#169a86", "-"),
    ("#a8770c", (0, (3, 1, 1, 1))),
    ("#6e1f10", "-"),
    ("#4b4b4b", (0, (1, 1))),
    ("#5b9bd0", "-"),
    ("#8a8a8a", (0, (6, 2))),
)
"""Color and dashes of an option by its place, the same in every figure: told apart by dash and
lightness as well as by hue, and dark enough for a thin line on white."""


ROOM, OUTDOORS, LIMIT = "#17456e", "#8a8a8a", "#333333"


STYLE_SIZE = 12.0
"""Points: read from the back of a room when the figure fills the screen."""


MEASURE_NAMES = {
    "rh_hours_over_55": "RH-hours above 55 %, % h",
    "rh_hours_over_60": "RH-hours above 60 %, % h",
    "cooling_stage_1_starts": "starts of the compressor",
    "strips_starts": "starts of the strips",
    "mean_rh_pct": "mean room relative humidity, %",
    "below_cooling_setpoint_h": "hours more than 1 K below the cooling setpoint",
    "above_cooling_setpoint_h": "hours more than 1 K above the cooling setpoint",
    "below_heating_setpoint_h": "hours more than 1 K below the heating setpoint",
    **{f"hours_over_{x}": f"hours above {x} % RH" for x in (50, 55, 60, 65)},
}
"""Results in words; what is not here is named by its column."""


HUMID = 60.0
"""Percent RH whose hours are named beside each option."""


def dryness(season: Season, units: Units) -> str:
    """What a bill bought: mean dew point and humid hours, in words."""
    humidity = season.meter.humidity
    dew_point = temperature(humidity["mean_dew_point_C"], units)
    return (
        f"mean dew point {dew_point:.1f} {'°F' if units == 'us' else '°C'}, "
        f"{humidity['hours_over_60']:,.0f} h above {HUMID:g} % RH"
    )


def check(units: str) -> None:
    """Refuse units that are neither."""
    if units not in ("si", "us"):
        raise InputError("figure units", units, "'si' or 'us'")


def temperature(celsius: Any, units: Units) -> Any:
    """degC, or degF of it."""
    return celsius * 1.8 + 32.0 if units == "us" else celsius


def date(stamp: pd.Timestamp) -> str:
    """A day without its year, which a typical year does not have."""
    return f"{stamp:%B} {stamp.day}"


def place(of: Study | Season, units: Units) -> str:
    """The house by its size, and the weather by its name."""
    weather, house = of.weather, of.house
    name = weather.name or f"{weather.latitude:.2f}°, {weather.longitude:.2f}°"
    area = (
        f"{from_si(house.floor_area, 'm2', 'ft2'):,.0f} ft²"
        if units == "us"
        else f"{house.floor_area:,.0f} m²"
    )
    return f"A house of {area} in the weather of {name}"


def title(ax: Axes, name: str, label: str, width: int) -> None:
    """The option's name in bold, wrapped, and a line about it."""
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
    """No frame above and to the right."""
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
