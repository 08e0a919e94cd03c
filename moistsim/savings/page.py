"""The page for the customer one year later: one HTML file with its picture."""

import base64
import io
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jinja2
import pandas as pd
from matplotlib import rc_context

from moistsim.core.display import Show, Units, count, number, units_or_default
from moistsim.core.files import write_whole
from moistsim.savings.amount import Amount
from moistsim.savings.figure import shows_hours
from moistsim.savings.words import banded, finding, humidity_words, money_words, reasons

if TYPE_CHECKING:
    from moistsim.savings.savings import Savings

TEMPLATE = "page.html.jinja"
HEADINGS = {
    "saved": "Yes, it saved energy.",
    "used more": "No, the house used more energy.",
    "not proven": "Not proven.",
    "not metered": "Not proven: nobody has metered it.",
}


def page(of: "Savings", title: str, units: Units | None) -> str:
    """HTML that contains its style and its picture, and fetches nothing."""
    units = units_or_default(units, "Savings.page")
    show = Show(units)
    environment = jinja2.Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined
    )
    text = files("moistsim.savings").joinpath(TEMPLATE).read_text(encoding="utf-8")
    days = of.simulated.changed[0].kwh.index
    return environment.from_string(text).render(
        title=title or "One year later",
        span=f"{_date(days[0], show)} to {_date(days[-1], show)}",
        heading=HEADINGS[of.verdict],
        finding=_capital(finding(of, show)),
        rows=_rows(of),
        humidity=_humidity(of, show),
        reasons=reasons(of, show),
        price=f"{number(100.0 * of.price, 1)} cent/kWh",
        limit=f"{of.goal.above_rh:g} % RH",
        level=f"{100.0 * of.level:.0f} %",
        measured=of.dew_point_is_measured,
        wide=_picture(of, units, narrow=False),
        narrow=_picture(of, units, narrow=True),
        alternative=_alternative(of, show),
        caption=_caption(of),
    )


def write_page(of: "Savings", path: Any, title: str, units: Units | None) -> None:
    """Write the page to a file, whole or not at all."""
    write_whole(Path(path), page(of, title, units).encode())


def _date(day: pd.Timestamp, show: Show) -> str:
    return f"{show.day(day)}{',' if show.us else ''} {day.year}"


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]


def _rows(of: "Savings") -> list[tuple[str, str, str, str]]:
    """Method, energy, money and verdict, as a customer reads them."""
    return [
        (
            str(name),
            banded(Amount(*row[["avoided_kWh", "low_kWh", "high_kWh"]]), "kWh", of.level),
            money_words(Amount(*row[["avoided_USD", "low_USD", "high_USD"]])),
            str(row["verdict"]),
        )
        for name, row in of.table().iterrows()
    ]


def _humidity(of: "Savings", show: Show) -> list[tuple[str, str, str, str]]:
    """Measure, before, after and difference."""
    table = of.humidity()
    dew, hours = table.iloc[0], table.iloc[1]
    band = f"{100.0 * of.level:.0f} % band: "
    low, high = (show.number(dew[name], "difference") for name in ("low", "high"))
    return [
        (
            "Mean indoor dew point",
            show(dew["before"], "temperature", 1),
            show(dew["after"], "temperature", 1),
            f"{show(dew['difference'], 'difference')} ({band}{low} to {high})",
        ),
        (
            f"Hours above {of.goal.above_rh:g} % RH, simulated",
            number(hours["before"]),
            number(hours["after"]),
            f"{number(hours['difference'], sign=True)} ({band}{number(hours['low'])} to "
            f"{number(hours['high'])})",
        ),
    ]


def _caption(of: "Savings") -> str:
    """The picture's two panels in words."""
    above = (
        "Above: electricity of the machines in each month, simulated with the old and the new ones."
    )
    if of.metered:
        above = (
            "Above: electricity of each month, with what the house would have used in the same weather "
            "without the change."
        )
    below = "hours in which the house is humid" if shows_hours(of) else "mean indoor dew point"
    return f"{above} Below: {below}, with the old and the new machines."


def _alternative(of: "Savings", show: Show) -> str:
    """The picture in words, for readers who cannot see it."""
    old, new = of.humid_hours
    words = f"{humidity_words(of, show)}; {count(old.value, 'humid hour')} before, {number(new.value)} after"
    return f"Two panels by month: electricity and humidity. {_capital(words)}."


WIDE = 10.0
"""Width of the picture on a screen, inches."""


def _picture(of: "Savings", units: Units, *, narrow: bool) -> str:
    """The figure as a data address."""
    data = io.BytesIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type", "Description"))
    with rc_context({"svg.hashsalt": "moistsim", "svg.fonttype": "path"}):
        # The page has title and words beside the picture.
        figure = of.figure(units, narrow=True)
        if not narrow:
            figure.set_size_inches(WIDE, figure.get_size_inches()[1])
        figure.savefig(data, format="svg", metadata=nothing)
    return "data:image/svg+xml;base64," + base64.b64encode(data.getvalue()).decode()
