"""Figures of the page, each with its content in words."""

import base64
import io
from collections.abc import Collection

import matplotlib
import pandas as pd
from matplotlib.figure import Figure

from moistsim.advice import Advice
from moistsim.core.display import Show, count, money
from moistsim.economics import Economics
from moistsim.engine import column_catalog
from moistsim.figures import (
    certainty_figure,
    cost_figure,
    humidity_figure,
    months_figure,
    space_figure,
)
from moistsim.report.records import Picture
from moistsim.report.sentences import quoted
from moistsim.risk import RiskBasis
from moistsim.risk import spaces as of_spaces
from moistsim.study import Comparison
from moistsim.uncertainty import Certainty, in_words

ENERGY_WITHIN = 0.2
"""Half-width of the band around the cost over the years, as a share of the energy cost. It is our own
round number for a house described by estimates and a typical year. It is not a probability."""


_KEY = (
    "Line: daily mean, in the color of the option’s main machine. Pale band: most hours of the day. "
    "Dark red: hours above 60 % (dashed line)."
)
PAGE = 10.0
"""Width of a figure on the page, inches. Letters of 10 points are then as large as the page's small text."""


def address(figure: Figure) -> str:
    """A figure as a data address of SVG, always with the same bits.

    An image is a document of its own, so names inside two images cannot collide.
    """
    text = io.BytesIO()
    # The page has the content in words beside the figure.
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type", "Description"))
    with matplotlib.rc_context({"svg.hashsalt": "moistsim", "svg.fonttype": "path"}):
        figure.savefig(text, format="svg", metadata=nothing)
    return "data:image/svg+xml;base64," + base64.b64encode(text.getvalue()).decode("ascii")


def both(figure: Figure) -> tuple[str, str]:
    """Addresses of a figure as wide as the page, and as wide as a phone."""
    narrow = address(figure)
    figure.set_size_inches(PAGE, figure.get_size_inches()[1])
    return address(figure), narrow


def humidity(comparison: Comparison) -> Picture:
    """Indoor humidity through the season, by option."""
    said = []
    for name, season in comparison.seasons.items():
        rh = season.hourly["indoor_rh_pct"]
        daily = rh.groupby(rh.index.normalize()).mean()  # type: ignore[attr-defined]
        hours = season.meter.of(column_catalog.HOURS_OVER_60)
        said.append(
            f"{quoted(name)}: {count(hours, 'hour')} above 60 %, daily means from {daily.min():.0f} to "
            f"{daily.max():.0f} %"
        )
    return Picture(
        *both(humidity_figure(comparison, narrow=True)),
        "Indoor relative humidity day by day, one panel for each option. " + "; ".join(said) + ".",
        f"Indoor relative humidity of each option as set. {_KEY}",
    )


def advised(it: Advice) -> Picture | None:
    """Indoor humidity today and as advised; None where nothing changes."""
    if it.best == it.base and not it.cures.kept:
        return None
    seasons = {
        f"{it.base}, as it is": it.as_set.seasons[it.base],
        f"{it.best}, as advised": it.season(it.best),
    }
    found = humidity(Comparison(it.as_set.study, seasons))
    return found._replace(caption=f"Indoor relative humidity as it is and as advised. {_KEY}")


def space(
    comparison: Comparison, name: str, risks: pd.DataFrame, basis: RiskBasis, show: Show
) -> Picture:
    """Moisture content of a space's wood through the season, by option.

    Parameters
    ----------
    comparison : Comparison
    name : str
        Name in words, such as "crawl space".
    risks : DataFrame
        The rows of `space_risk` for this space, in SI.
    basis : RiskBasis
    show : Show
    """
    key = name.replace(" ", "_")
    wood, limit = of_spaces.WOOD[key], of_spaces.WOOD_LIMIT
    said = [
        f"{quoted(str(option))}: up to {one['highest_wood_moisture_pct']:.1f} %, above {limit:.0f} % on "
        f"{count(int(one['wet_wood_days']), 'day')}"
        for option, one in risks.iterrows()
        if not pd.isna(one["wet_wood_days"])
    ]
    return Picture(
        *both(space_figure(comparison, key, basis, show.units, narrow=True)),
        f"Moisture content of the {wood} in the {name} day by day, one panel for each option. "
        + "; ".join(said)
        + ".",
        f"Moisture content of the {wood} in the {name}, mean of each day. Dark red: above {limit:.0f} % "
        "(dashed line).",
    )


def months(comparison: Comparison) -> Picture:
    """Cost by month and option."""
    said = []
    for name, bill in comparison.bills().items():
        total = bill.months["total"]
        month = total.index[int(total.to_numpy().argmax())].to_timestamp()
        said.append(
            f"{quoted(name)}: {money(bill.total)}, highest in {month:%B} with {money(total.max())}"
        )
    several = len(comparison.seasons) > 1
    return Picture(
        *both(months_figure(comparison, narrow=True)),
        "Cost by month, one row of bars for each option. " + "; ".join(said) + ".",
        "Cost of each month, USD."
        + (f" Black marks: cost with {quoted(comparison.base)}." if several else ""),
    )


def years(bought: Economics, banded: Collection[str]) -> Picture:
    """Total cost year by year, with a band around some options."""
    said = []
    for name in bought.options:
        spent = bought.flow(name).spent
        said.append(
            f"{quoted(name)}: {money(spent[0])} on the first day, {money(spent[-1])} in total"
        )
    return Picture(
        *both(cost_figure(bought, energy_within=dict.fromkeys(banded, ENERGY_WITHIN), narrow=True)),
        f"Total spent on each option over {bought.terms.years:.0f} years. " + "; ".join(said) + ".",
        f"Total spent, USD. Bands around {' and '.join(map(quoted, banded))}: energy "
        f"{100.0 * ENERGY_WITHIN:.0f} % more or less expensive. The width is our own round number, "
        "because a house described by estimates can easily differ that much.",
    )


def certainty(found: Certainty) -> Picture:
    """Net savings case by case, and the inputs that decide them."""
    saved = found.counted["net_savings_USD"].astype(float)
    shares = found.decides["share"]
    said = [f"{in_words(str(name))}: {100.0 * x:.0f} %" for name, x in shares[shares > 0.0].items()]
    return Picture(
        *both(certainty_figure(found, narrow=True)),
        f"Top: net savings of {quoted(found.option)} instead of {quoted(found.against)}, case by "
        f"case: from {money(saved.min())} to {money(saved.max())}, median {money(saved.median())}. "
        f"Bottom: inputs that decide most: {'; '.join(said) or 'no single input'}.",
        "Top: net savings over its life, in today’s money. Orange cases lose money, blue cases save "
        "money. Bottom: share of the spread that one input causes."
        + (f" Assumed certain: {', '.join(found.known)}." if found.known else ""),
    )
