"""The page's part on the spaces next to the house: air, wood, mold, and what comes from there."""

from collections.abc import Iterator
from typing import Any, cast

import numpy as np
import pandas as pd

from moistsim.core.display import NOTHING, Show, count, number
from moistsim.engine import column_catalog
from moistsim.report import pictures
from moistsim.report.records import Row, Space, Table
from moistsim.report.sentences import quoted
from moistsim.report.tables import measured, row, without_zeros
from moistsim.risk import RiskBasis
from moistsim.risk import spaces as of_spaces
from moistsim.sizing import loads
from moistsim.study import Comparison

ZONE = column_catalog.SECOND_ZONE.replace("_", " ")
ALIKE = 0.5
"""Differences of RH and of moisture content, percent, that are not worth a sentence."""
STORES = ("moisture stores", "heat stored inside")
"""Rows of the loads that only give back what they took."""


def sections(
    comparison: Comparison, risks: pd.DataFrame, basis: RiskBasis, show: Show
) -> Iterator[Space]:
    """The part on each space that the house of any option has; a second zone is a part of the house."""
    burdens = {name: _burden(comparison, name) for name in comparison.seasons}
    names = dict.fromkeys(risks.index.get_level_values("space"))
    for space in (name for name in names if name != ZONE):
        here = cast(pd.DataFrame, risks.xs(space, level="space"))
        frame = here.reindex([*comparison.seasons])
        picture = None
        if f"{space}".replace(" ", "_") in of_spaces.WOOD:
            picture = pictures.space(comparison, str(space), frame, basis, show)
        yield Space(
            title=str(space).capitalize(),
            sentences=tuple(_sentences(comparison, str(space), frame, burdens, show)),
            picture=picture,
            table=_table(comparison, str(space), frame, burdens, show),
        )


def _burden(comparison: Comparison, option: str) -> pd.DataFrame:
    """Mean loads of an option's season by source: kg/day of water, and W."""
    season = comparison.seasons[option]
    found = loads(season)
    return found.mean(np.ones(len(season.hourly), dtype=bool))


def _from(burdens: dict[str, pd.DataFrame], source: str, column: str) -> "pd.Series[float]":
    return pd.Series(
        {name: frame[column].get(source, float("nan")) for name, frame in burdens.items()}
    )


def _came_in(burden: pd.DataFrame, column: str) -> float:
    """Sum of the loads that add water or heat."""
    own = burden[column].drop(["total", *(name for name in STORES if name in burden.index)])
    return float(own.clip(lower=0.0).sum())


def _table(
    comparison: Comparison,
    space: str,
    frame: pd.DataFrame,
    burdens: dict[str, pd.DataFrame],
    show: Show,
) -> Table:
    """Options as columns; an option whose house lacks the space has no value."""

    def rows() -> Iterator[Row]:
        for measure in of_spaces.MEASURES:
            values = frame[measure.name]
            if not measure.headline or values.isna().all():
                continue
            if measure.unit == "yes or no":
                cells = [NOTHING if pd.isna(x) else "yes" if x else "no" for x in values]
                yield Row(measure.heading(show.units), tuple(cells))
            elif measure.unit == "text":
                cells = [NOTHING if pd.isna(x) else str(x) for x in values]
                yield Row(measure.heading(show.units), tuple(cells))
            else:
                yield measured(measure, frame, show)
        ducts = any(_holds_ducts(comparison, name, space) for name in frame.index)
        for source, label in ((space, f"the {space}"), *([("ducts", "ducts")] if ducts else [])):
            for column, kind, quantity in (
                ("water_kg_day", "Moisture", "water"),
                ("sensible_W", "Heat", "load"),
            ):
                unit = show.unit("removal" if quantity == "water" else quantity)
                values = show.value(_from(burdens, source, column), quantity)
                digits = 1 if quantity == "water" else 0
                yield row(f"{kind} to the house from {label}, {unit}", values, digits)

    title = f"{space.capitalize()} with each option as set"
    return without_zeros(Table("As set", tuple(map(str, frame.index)), tuple(rows()), title))


def _holds_ducts(comparison: Comparison, option: str, space: str) -> bool:
    return comparison.seasons[option].house.ducts.location == space


def _sentences(
    comparison: Comparison,
    space: str,
    frame: pd.DataFrame,
    burdens: dict[str, pd.DataFrame],
    show: Show,
) -> Iterator[str]:
    """What the space is like with the base option, and what each other option makes of it."""
    rows = _known(frame)
    first = comparison.base if comparison.base in rows else next(iter(rows))
    one, burden = rows[first], burdens[first]
    yield (
        f"With {quoted(first)}, the {space} averages {show(one['mean_temperature_C'], 'temperature', 0)} and "
        f"{one['mean_space_rh_pct']:.0f} % relative humidity. The most humid month is {one['worst_month']}, "
        f"with {one['worst_month_rh_pct']:.0f} %."
    )
    wood = of_spaces.WOOD.get(space.replace(" ", "_"))
    if wood is not None:
        days = int(one["wet_wood_days"])
        text = (
            f"The moisture content of its {wood} reaches {one['highest_wood_moisture_pct']:.1f} %. Common "
            f"practice keeps wood below 16 to {of_spaces.WOOD_LIMIT:.0f} %."
        )
        if days > 0:
            text += f" It is above {of_spaces.WOOD_LIMIT:.0f} % on {count(days, 'day')}."
        yield text
    index = one["mold_index_wood"]
    reaches = f"reaches {number(index, 1)}" if index >= 0.05 else "stays at 0"
    yield f"The mold index there {reaches}; mold is visible from 3."
    yield from _loads_words(comparison, first, space, burden, show)
    if one["sweat_kg"] > 0.0:
        yield (
            f"Cold ducts in the {space} sweat for {count(int(one['sweating_h']), 'hour')}. In all, "
            f"{show(one['sweat_kg'], 'water')} drip off."
        )
    for name, other in rows.items():
        if name != first:
            yield from _change(name, one, other)


def _known(frame: pd.DataFrame) -> dict[str, dict[str, Any]]:
    """Rows by option, for the options whose house has the space."""
    there = frame[frame["mean_space_rh_pct"].notna()]
    return {str(name): dict(values) for name, values in there.iterrows()}


def _loads_words(
    comparison: Comparison, first: str, space: str, burden: pd.DataFrame, show: Show
) -> Iterator[str]:
    """How much of the house's moisture and heat comes from a space, and from ducts in it."""
    sources = [("the", space, "It")]
    if _holds_ducts(comparison, first, space):
        sources.append(("ducts in the", "ducts", "They"))
    for which, source, pronoun in sources:
        said = []
        for column, what, quantity, digits in (
            ("water_kg_day", "moisture", "water", 1),
            ("sensible_W", "heat", "load", 0),
        ):
            value, came = float(burden[column].get(source, 0.0)), _came_in(burden, column)
            unit = show.unit("removal" if quantity == "water" else quantity)
            verb = "add" if value >= 0.0 else "take away"
            if pronoun == "It":
                verb = verb.replace("add", "adds").replace("take", "takes")
            text = f"{verb} {show.number(abs(value), quantity, digits)} {unit} of {what}"
            if value > 0.0 < came:
                text += f", {100.0 * value / came:.0f} % of all that enters"
            said.append(text)
        yield f"On average, {which} {space} {said[0]}. {pronoun} {said[1]}."


def _change(option: str, first: dict[str, Any], other: dict[str, Any]) -> Iterator[str]:
    """What an option makes of the space next to the first one, if it changes it."""
    parts = []
    for column, what, digits in (
        ("mean_space_rh_pct", "mean relative humidity", 0),
        ("highest_wood_moisture_pct", "highest wood moisture content", 1),
    ):
        before, after = first[column], other[column]
        if pd.isna(before) or pd.isna(after):
            continue
        if abs(after - before) >= ALIKE:
            parts.append(f"{what} {after:.{digits}f} % instead of {before:.{digits}f} %")
    if parts:
        yield f"With {quoted(option)}: {', '.join(parts)}."
