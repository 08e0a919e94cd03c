"""Figures that stand in the page, each with what it shows in words."""

import base64
import io
from collections.abc import Collection

import matplotlib
from matplotlib.figure import Figure

from moistsim.economics import Economics
from moistsim.figures import certainty_figure, cost_figure, humidity_figure, months_figure
from moistsim.report.records import Picture
from moistsim.report.words import money, quoted
from moistsim.study import Comparison
from moistsim.uncertainty import SOURCES, Certainty, in_words, source_of

ENERGY_WITHIN = 0.2
"""Half the width of the band around what is paid over the years, of the energy: our own round
figure for a house that is described by guesses and a typical year. It is no probability."""


def address(figure: Figure) -> str:
    """A figure as a data address of SVG, the same bits again: an image is a document of its own, so
    that the names within two of them cannot meet."""
    text = io.BytesIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    with matplotlib.rc_context({"svg.hashsalt": "moistsim", "svg.fonttype": "path"}):
        figure.savefig(text, format="svg", metadata=nothing)
    return "data:image/svg+xml;base64," + base64.b64encode(text.getvalue()).decode("ascii")


def humidity(comparison: Comparison) -> Picture:
    """Humidity by option through the season."""
    said = []
    for name, season in comparison.seasons.items():
        rh = season.hourly["indoor_rh_pct"]
        daily = rh.groupby(rh.index.normalize()).mean()  # type: ignore[attr-defined]
        hours = season.meter.humidity["hours_over_60"]
        said.append(
            f"{quoted(name)}: {hours:,.0f} hours above 60 %, days from {daily.min():.0f} to "
            f"{daily.max():.0f} %"
        )
    return Picture(
        address(humidity_figure(comparison)),
        "Relative humidity in the house, day by day, one strip for each option. "
        + "; ".join(said)
        + ".",
        "Relative humidity indoors, day by day. Dark line: mean of the day; pale band: nearly all of "
        "its hours; orange: what lies above 60 % (dashed).",
    )


def months(comparison: Comparison) -> Picture:
    """Cost by month and option."""
    said = []
    for name, bill in comparison.bills().items():
        total = bill.months["total"]
        month = total.index[int(total.to_numpy().argmax())].to_timestamp()
        said.append(
            f"{quoted(name)}: {money(bill.total)}, the most expensive month {month:%B} with {money(total.max())}"
        )
    several = len(comparison.seasons) > 1
    return Picture(
        address(months_figure(comparison)),
        "Cost by month, a row of bars for each option. " + "; ".join(said) + ".",
        "Cost of each month in USD"
        + (f"; the orange marks are those of {quoted(comparison.base)}." if several else "."),
    )


def years(bought: Economics, banded: Collection[str]) -> Picture:
    """What has been paid, year by year, with a band around some of the options."""
    said = []
    for name in bought.options:
        spent = bought.flow(name).spent
        said.append(f"{quoted(name)}: {money(spent[0])} at first, {money(spent[-1])} in the end")
    return Picture(
        address(
            cost_figure(bought, energy_within=dict.fromkeys(banded, ENERGY_WITHIN), narrow=True)
        ),
        f"What each option has cost so far over {bought.terms.years:.0f} years. "
        + "; ".join(said)
        + ".",
        f"What has been paid so far. The band of {' and that of '.join(map(quoted, banded))} shows the same with energy that costs "
        f"{100.0 * ENERGY_WITHIN:.0f} % more or less, which is no more than a habit of caution: a "
        "house described by guesses is easily that far off.",
    )


def certainty(found: Certainty) -> Picture:
    """What is saved, case by case, and what moves it."""
    saved = found.counted["net_savings_USD"].astype(float)
    shares = found.decides["share"]
    said = [f"{in_words(str(name))}: {100.0 * x:.0f} %" for name, x in shares[shares > 0.0].items()]
    known = [name for name in SOURCES if name not in map(source_of, found.inputs.ranges)]
    return Picture(
        address(certainty_figure(found, narrow=True)),
        f"Above, how many of the cases in which {quoted(found.option)} takes the place of "
        f"{quoted(found.against)} end with a loss and how many with a saving: from "
        f"{money(saved.min())} to {money(saved.max())}, half of them above {money(saved.median())}. "
        f"Below, what decides it: {'; '.join(said) or 'no input by itself'}.",
        "What is saved over its life, in today’s money: orange cases lose, blue ones save. Below, the "
        "share of that spread which would go if an input were known for sure."
        + (f" Taken as known: {', '.join(known)}." if known else ""),
    )
