"""The page of a fit: what the loggers say about the house, and how far to trust it."""

import base64
import io
from importlib.resources import files
from typing import TYPE_CHECKING, Any, cast

import jinja2
import pandas as pd
from matplotlib import rc_context

from moistsim.core.display import Show, Units, count, number, units_or_default

if TYPE_CHECKING:
    from moistsim.calibration.fit import Fit

TEMPLATE = "page.html.jinja"
PARTS = {"fitted": "Fitted part", "blind": "Part that the fit did not see"}
FIRST = 3
"""Sentences on what the log tells that stand in front: air, moisture and their ratio."""
SKILL = "skill_over_"
RATIO = {"us": (7.0, "grains/lb"), "si": (1.0, "g/kg")}
"""Humidity ratio by system of units: factor from g/kg, and the unit."""


def page(fit: "Fit", title: str, units: Units | None = None) -> str:
    """HTML that contains its style and its picture, and fetches nothing.

    Parameters
    ----------
    title : str
        Name of the house.
    """
    units = units_or_default(units, "Fit.page")
    show = Show(units)
    environment = jinja2.Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined
    )
    text = files("moistsim.calibration").joinpath(TEMPLATE).read_text(encoding="utf-8")
    table, review = fit.table(), fit.log.review()
    index = fit.hours.index
    told = [line for line in str(fit.identified(units)).splitlines() if line.strip()]
    return environment.from_string(text).render(
        title=title,
        span=f"{_date(index[0], show)} to {_date(index[-1], show)}, {', '.join(fit.log.rooms)}",
        first=told[:FIRST],
        told=told[FIRST:],
        unit=RATIO[units][1],
        rows=[*_rows(table, RATIO[units][0])],
        baseline=_baseline(table),
        coverage=_coverage(table),
        imposed=fit.imposed,
        draws=number(len(fit.draws)),
        structures=count(len(fit.members), "model structure"),
        findings=[(each.where, each.says, each.effect) for each in review.findings],
        limits=review.limits,
        notes=fit.log.notes,
        picture=_picture(fit, units),
    )


def _date(day: pd.Timestamp, show: Show) -> str:
    return f"{show.day(day)}{',' if show.us else ''} {day.year}"


def _rows(table: pd.DataFrame, factor: float) -> Any:
    """Part, period, error, bias, and the two numbers of Guideline 14."""
    for key, row in table.iterrows():
        part, period = cast(tuple[str, str], key)
        yield (
            f"{PARTS[part]}, by the {period}",
            number(factor * row["rmse_g_kg"], 2),
            number(factor * row["bias_g_kg"], 2),
            f"{number(row['cv_rmse_pct'], 1)} %, {number(row['nmbe_pct'], 1, sign=True)} %",
            f"{number(row['coverage_pct'])} %",
        )


def _last(table: pd.DataFrame) -> "pd.Series[float]":
    """The hours of the blind part, or of the fitted part if there is no blind one."""
    part = "blind" if ("blind", "hour") in table.index else "fitted"
    return cast("pd.Series[float]", table.loc[(part, "hour")])


def _baseline(table: pd.DataFrame) -> str:
    """The strongest simple rule, and by how much the model beats it."""
    skills = _last(table).filter(like=SKILL)
    name = str(skills.idxmin()).removeprefix(SKILL).replace("_", " ")
    least = float(skills.min())
    if least > 0.0:
        return f"its error is {number(100.0 * least)} % smaller than that of the best simple rule, “{name}”"
    return f"a simple rule, “{name}”, predicts better than the model"


def _coverage(table: pd.DataFrame) -> str:
    return f"{number(_last(table)['coverage_pct'])} %"


def _picture(fit: "Fit", units: Units) -> str:
    """The figure as a data address."""
    data = io.BytesIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type", "Description"))
    with rc_context({"svg.hashsalt": "moistsim", "svg.fonttype": "path"}):
        fit.figure(units).savefig(data, format="svg", metadata=nothing)
    return "data:image/svg+xml;base64," + base64.b64encode(data.getvalue()).decode()
