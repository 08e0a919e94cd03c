"""Table of risks in the spaces next to a house: wood moisture, mold, condensation, sweating ducts."""

from typing import Any

import numpy as np
import pandas as pd

from moistsim import air
from moistsim.core.display import Units, units_or_default
from moistsim.core.errors import InputError, one_of
from moistsim.core.measures import Measure, in_trade
from moistsim.engine import column_catalog
from moistsim.risk import mold
from moistsim.risk.table import RiskBasis
from moistsim.risk.wood import equilibrium_moisture
from moistsim.season import Season
from moistsim.study import Comparison

WOOD = {"crawl_space": "joists and subfloor", "basement": "joists", "attic": "roof deck"}
"""Wood of a space by its name. A garage has board, and a second zone has that of rooms."""

WOOD_LIMIT = 20.0
"""Moisture content, percent of dry mass, below which wood does not decay (Wood Handbook, from memory).
Common practice keeps joists and roof decks below 16 to 20 percent."""
DECAY = 28.0
"""Moisture content, percent, from which decay fungi grow: about fiber saturation (Wood Handbook, from
memory). Air alone brings wood there only near 100 percent RH."""
SHORTEST_MONTH = 7
"""Days of a calendar month within the season, below which its mean says little. Our own choice."""

CAUTIONS = (
    "Wood moisture content here is that of joists or deck in balance with their air. It leaves out leaks, "
    "standing water, splashing and rising damp. A moisture meter on the wood comes first.",
    "Wood above 20 % moisture content for long, soft wood or growth on it may have lost strength: ask "
    "a licensed contractor or engineer, and a licensed pest inspector, before it is covered.",
    "Before vents are closed or ground is covered, drainage, combustion air, radon and termite "
    "inspection must be settled by local codes and licensed trades.",
)
"""Cautions to show with the wood of a space."""

# fmt: off
MEASURES = (
    Measure("mean_temperature_C", "degC", "mean temperature", digits=1),
    Measure("mean_space_rh_pct", "percent", "mean RH"),
    Measure("worst_month_rh_pct", "percent", "mean RH of the most humid month"),
    Measure("worst_month", "text", "most humid month"),
    column_catalog.HOURS_OVER_60._replace(headline=False),
    Measure("surface_above_80_h", "hour", "time above 80 % RH at the surface of wood or board", meaning="hours with RH above 80 % at the surface of wood or board, where mold can start"),
    Measure("highest_30_day_rh_pct", "percent", "highest 30-day mean RH at the surface of wood or board", digits=1, headline=False, meaning="highest 30-day running mean of RH at the surface while that of its temperature is 5 to 40 degC (limit of ASHRAE 160-2009 with addendum a: 80, from memory); unknown for less than 30 days"),
    Measure("mold_index_wood", "count", "mold index of wood or board (0 none, 1 starting, 3 visible, 6 covered)", digits=1, meaning="highest mold index at the surface, 0 to 6, from 0 at the start (Hukka & Viitanen 1999; Viitanen et al. 2010)"),
    Measure("ashrae_160_met", "yes or no", "mold index below 3 (ASHRAE Standard 160)", meaning="whether the mold index stays below 3 (ASHRAE 160-2016, from memory)"),
    Measure("mean_wood_moisture_pct", "percent", "mean wood moisture content", digits=1, meaning="mean moisture content over the thickness, percent of dry mass (Wood Handbook, eq. 4-5, from memory); missing without wood"),
    Measure("highest_wood_moisture_pct", "percent", "highest wood moisture content", digits=1, meaning="highest daily mean of moisture content over the thickness"),
    Measure("highest_surface_moisture_pct", "percent", "highest moisture content at the wood's surface", digits=1, headline=False, meaning="highest daily mean of moisture content of the surface layer"),
    Measure("wet_wood_days", "day", "time with wood above 20 % moisture content", meaning="days on which the daily mean over the thickness is above 20 %: decay cannot be ruled out (Wood Handbook and common practice, from memory)"),
    Measure("decay_days", "day", "time with wood above 28 % at its surface", headline=False, meaning="days on which the daily mean of the surface layer is above 28 %, about fiber saturation: decay fungi grow (Wood Handbook, from memory)"),
    Measure("condensing_h", "hour", "time with condensation on wood or board"),
    Measure("condensed_kg", "kg", "water condensed on wood or board", digits=1),
    Measure("sweating_h", "hour", "time with ducts that sweat", meaning="hours in which water drips off cold ducts that run through the space"),
    Measure("sweat_kg", "kg", "water that drips off ducts", digits=1),
)
# fmt: on
"""The columns of `space_risk`, each with its meaning and the source of its limit."""

MEASURE = {measure.name: measure for measure in MEASURES}


def space_risk(
    of: Season | Comparison, basis: RiskBasis | None = None, units: Units | None = None
) -> pd.DataFrame:
    """Return a table of wood moisture, mold and condensation in the spaces next to the house.

    The table has one row for each option and space. It is empty for houses without spaces.

    Parameters
    ----------
    of : Season or Comparison
        Results of a run.
    basis : RiskBasis, optional
        `space_material` and `mold_decline` matter here. Default: ``RiskBasis()``.
    units : {"us", "si"}, optional
        Units of the table, as for `Comparison.table`.

    Returns
    -------
    DataFrame
        Indexed by option and space, such as "crawl space"; the columns are those of
        `moistsim.risk.spaces.MEASURES`, which gives the meaning and source of each. A value that cannot be
        known is missing (<NA>), such as the moisture content of a garage's board.

    Raises
    ------
    InputError
        If `units` is neither.

    Notes
    -----
    The mold index begins at 0 and does not include other years. Show the table with
    `moistsim.risk.spaces.CAUTIONS` and `moistsim.risk.mold.CAUTIONS`.

    Examples
    --------
    >>> import moistsim as ms
    >>> season = ms.simulate(
    ...     ms.House(floor_area="1600 ft2", crawl_space=ms.CrawlSpace()), ms.Equipment(),
    ...     ms.strategies.temperature_only, ms.Weather.sample("miami"), start="06-01", end="06-05",
    ... )  # fmt: skip
    >>> table = space_risk(season)
    >>> list(table.index.get_level_values("space"))
    ['crawl space']
    >>> bool(table["highest_wood_moisture_pct"].iloc[0] > 16.0)
    True
    """
    units = units_or_default(units, "space_risk units")
    basis = basis or RiskBasis()
    seasons = of.seasons if isinstance(of, Comparison) else {of.strategy.name: of}
    rows = {
        (option, space.replace("_", " ")): _row(season, space, basis)
        for option, season in seasons.items()
        for space in season.spaces
    }
    index = pd.MultiIndex.from_tuples([*rows], names=["option", "space"])
    table = pd.DataFrame([*rows.values()], index=index, columns=[*MEASURE])
    for measure in MEASURES:
        column = table[measure.name]
        if measure.unit == "yes or no":
            table[measure.name] = column.astype("boolean")
        elif measure.unit != "text" and column.isna().any():
            table[measure.name] = column.astype("Float64")
    return in_trade(table, MEASURES) if units == "us" else table


def space_hours(season: Season, space: str, basis: RiskBasis | None = None) -> pd.DataFrame:
    """Return the hourly values behind `space_risk` for one space, in SI.

    Parameters
    ----------
    season : Season
    space : str
        One of `Season.spaces`, such as "crawl_space".
    basis : RiskBasis, optional

    Returns
    -------
    DataFrame
        `temperature_C`, `rh_pct` and `dew_point_C` of the air; `surface_temperature_C`,
        `surface_rh_pct` and `mold_index` at the wood's surface; and, with wood,
        `wood_moisture_pct` over the thickness and `surface_moisture_pct` of the surface layer. The
        index is that of the hourly table.

    Raises
    ------
    InputError
        If the house has no such space.

    Notes
    -----
    Surface layer and depth each have the moisture content in balance with their RH at the wood's
    temperature. The mean over the thickness weights them by the water that they store.

    Examples
    --------
    >>> import moistsim as ms
    >>> season = ms.simulate(
    ...     ms.House(floor_area="1600 ft2", attic=ms.Attic()), ms.Equipment(),
    ...     ms.strategies.temperature_only, ms.Weather.sample("miami"), start="06-01", end="06-02",
    ... )  # fmt: skip
    >>> bool(space_hours(season, "attic")["wood_moisture_pct"].between(4.0, 20.0).all())
    True
    """
    if space not in season.spaces:
        raise InputError("space_hours space", space, one_of(space, season.spaces))
    basis = basis or RiskBasis()
    hourly = season.hourly
    wood_t, surface, deep = (
        hourly[f"{space}_{name}"].to_numpy(float)
        for name in ("surface_temperature_C", "surface_rh_pct", "deep_rh_pct")
    )
    surface, deep = np.minimum(surface, 100.0), np.minimum(deep, 100.0)
    table = pd.DataFrame(
        {
            "temperature_C": hourly[f"{space}_temperature_C"],
            "rh_pct": hourly[f"{space}_rh_pct"],
            "dew_point_C": air.dew_points(
                hourly[f"{space}_humidity_ratio"].to_numpy(float),
                season.weather.frame.loc[hourly.index, "pressure"].to_numpy(float),
            ),
            "surface_temperature_C": wood_t,
            "surface_rh_pct": surface,
            "mold_index": mold.mold_index(
                wood_t, surface, basis.space_material, decline=basis.mold_decline
            ),
        },
        index=hourly.index,
    )
    if space in WOOD:
        zone = season._machine.spaces[space].zone
        layers = [equilibrium_moisture(wood_t, rh) for rh in (surface, deep)]
        stores = (zone.surface_store, zone.deep_store)
        weights = stores if sum(stores) > 0.0 else (1.0, 1.0)
        table["wood_moisture_pct"] = np.average(layers, axis=0, weights=weights)
        table["surface_moisture_pct"] = layers[0]
    return table


def _row(season: Season, space: str, basis: RiskBasis) -> dict[str, Any]:
    hours, hourly, meter = space_hours(season, space, basis), season.hourly, season.meter

    def of(measure: Measure) -> float:
        return meter.of(column_catalog.of_space(measure, space))

    months = _months(hours["rh_pct"])
    worst = pd.Timestamp(2001, int(months.index[int(months.to_numpy().argmax())]), 1)
    index = float(hours["mold_index"].max())
    running = mold.thirty_day_rh(hours["surface_temperature_C"], hours["surface_rh_pct"])
    row: dict[str, Any] = {
        "mean_temperature_C": of(column_catalog.SPACE_MEAN_TEMPERATURE),
        "mean_space_rh_pct": of(column_catalog.SPACE_MEAN_RH),
        "worst_month_rh_pct": float(months.max()),
        "worst_month": f"{worst:%B}",
        column_catalog.HOURS_OVER_60.name: of(column_catalog.SPACE_OVER_60),
        "surface_above_80_h": of(column_catalog.SPACE_SURFACE_OVER_80),
        "highest_30_day_rh_pct": float(running.max()) if len(running) else None,
        "mold_index_wood": index,
        "ashrae_160_met": index < mold.CRITERION,
        "condensing_h": int(
            (hourly[f"{space}_water_surfaces_kg"] + hourly[f"{space}_water_fog_kg"] < 0.0).sum()
        ),
        "condensed_kg": of(column_catalog.SPACE_CONDENSED),
        "sweating_h": int((hourly[f"{space}_water_sweat_kg"] > 0.0).sum()),
        "sweat_kg": of(column_catalog.SPACE_SWEAT),
    }
    if space in WOOD:
        daily = hours[["wood_moisture_pct", "surface_moisture_pct"]].resample("D").mean()
        whole, skin = daily["wood_moisture_pct"], daily["surface_moisture_pct"]
        row |= {
            "mean_wood_moisture_pct": float(hours["wood_moisture_pct"].mean()),
            "highest_wood_moisture_pct": float(whole.max()),
            "highest_surface_moisture_pct": float(skin.max()),
            "wet_wood_days": int((whole > WOOD_LIMIT).sum()),
            "decay_days": int((skin > DECAY).sum()),
        }
    return row


def _months(rh: "pd.Series[float]") -> "pd.Series[float]":
    """Mean RH by calendar month; months with few days in the season count only if all are short."""
    index = pd.DatetimeIndex(rh.index)
    grouped = rh.groupby(index.month)
    means, long = grouped.mean(), grouped.size() >= 24 * SHORTEST_MONTH
    return means[long] if long.any() else means
