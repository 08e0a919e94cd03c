"""Weather at a glance: place, period and climate."""

import re
from typing import TYPE_CHECKING

from moistsim.core.display import Show, count, number
from moistsim.core.summary import Summary

if TYPE_CHECKING:
    from moistsim.weather.weather import Weather

_KINDS = {
    "": "hourly weather",
    "typical": "typical year",
    "actual": "measured hours",
    "synthetic": "synthetic year, made from twelve normals",
}
_DESIGN = {
    "dew point 1 %": "dew point exceeded in 1 % of hours",
    "dew point 1 % humidity ratio": "humidity ratio at that dew point",
    "dew point 1 % MCDB": "mean dry bulb at that dew point",
}
"""Labels of `describe` in full."""
_SIGNS = {"degF": "°F", "degC": "°C", "h": "h"}


def weather_summary(weather: "Weather", show: Show) -> Summary:
    """Place, period and climate, as `Weather.describe` has it."""
    frame = weather.frame
    first, last = frame.index[0], frame.index[-1]
    years = f" {first.year}" if weather.kind == "actual" and first.year == last.year else ""
    facts = [
        ("Kind", _KINDS[weather.kind]),
        (
            "Place",
            f"{_side(weather.latitude, 'N', 'S')}, {_side(weather.longitude, 'E', 'W')}, "
            f"elevation {show(weather.elevation, 'length')}, UTC{weather.utc_offset:+g} h",
        ),
        ("Period", f"{show.period(first, last)}{years}, {count(len(frame), 'hour')}"),
    ]
    for name, value in weather.describe(show.units).items():
        label, _, unit = str(name).removesuffix("]").partition(" [")
        label = re.sub(r"deg([CF])", r"°\1", _DESIGN.get(label, label))
        # The count of hours stands above, and one design dew point is enough at a glance.
        if unit and "dew point 0.4 %" not in label and "dew point 2 %" not in label:
            digits = 0 if unit == "h" else 1
            text = f"{number(value, digits)} {_SIGNS.get(unit, unit)}"
            facts.append((label[:1].upper() + label[1:], text))
    return Summary("Weather", weather.name, tuple(facts), notes=weather.notes)


def _side(degrees: float, positive: str, negative: str) -> str:
    return f"{abs(degrees):.2f}° {positive if degrees >= 0.0 else negative}"
