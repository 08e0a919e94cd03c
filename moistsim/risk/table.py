"""Table of risks and comfort, one row for each option, from its season."""

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.changes import Evolving
from moistsim.core.display import Units, units_or_default
from moistsim.core.fields import choice, description, quantity
from moistsim.core.measures import Measure, in_trade
from moistsim.engine import column_catalog
from moistsim.risk import dust_mites, wood
from moistsim.risk import mold as mold
from moistsim.risk.cold_surfaces import STEP_FIELDS, surface_hours
from moistsim.risk.comfort import COMFORTABLE, comfort_hours
from moistsim.risk.spells import longest
from moistsim.risk.wear import RUNNING, contactor_years, wear
from moistsim.season import Season
from moistsim.study import Comparison


@description
class RiskBasis(Evolving):
    """Basis of the risk table: surfaces, materials, people, and contactor life.

    Examples
    --------
    >>> basis = RiskBasis(corner_material="medium resistant", clothing=0.6)
    >>> basis.floor_moisture
    0.09
    """

    temperature_factor: float | None = quantity(
        "fraction",
        "temperature factor of the coldest corner, (surface - outdoors) / (room - outdoors); "
        "default: by the envelope's highest U-value",
        default=None, at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    corner_material: str = choice(
        "mold sensitivity of the material in the coldest corner",
        *mold.SENSITIVITIES,
        default="sensitive",
    )
    register_material: str = choice(
        "mold sensitivity of the board next to a supply register",
        *mold.SENSITIVITIES,
        default="sensitive",
    )
    space_material: str = choice(
        "mold sensitivity of wood and board in the spaces next to the house",
        *mold.SENSITIVITIES,
        default="sensitive",
    )
    mold_decline: float = quantity(
        "fraction", "decline of mold in dry hours over decline on pine",
        default=mold.HARDLY_DECLINES, at_least=0.0, at_most=1.0,
    )  # fmt: skip
    floor_moisture: float = quantity(
        "fraction", "moisture content of a wooden floor when it was laid, by dry mass; the default is "
        "in equilibrium with 50 % RH", default="9 %", above=0.0, at_most=0.25,
    )  # fmt: skip
    cupping_rise: float = quantity(
        "fraction", "rise of moisture content that cups a wooden floor: wide planks 2 %, narrow strip "
        "4 % (common practice, no source)", default="2 %", above=0.0, at_most=0.2,
    )  # fmt: skip
    metabolic_rate: float = quantity(
        "met", "metabolic rate of people in the room: 1 sitting quietly, 1.2 sedentary life in a "
        "dwelling (ISO 7730, from memory)", default=1.2, at_least=1.0, at_most=4.0,
    )  # fmt: skip
    air_speed: float = quantity(
        "m/s", "air speed in the room", default=0.1, at_least=0.0, at_most=2.0
    )
    clothing: float | None = quantity(
        "clo", "insulation of clothing, about 0.5 in summer and 1 in winter; default: by each morning's "
        "outdoor temperature (ASHRAE 55)",
        default=None, at_least=0.0, at_most=1.5, optional=True,
    )  # fmt: skip
    contactor_operations: float = quantity(
        "count", "life of a contactor, of the compressor or of the strips, at its load, operations "
        "(common practice, from memory)", default=100_000.0, above=0.0, at_most=1e9,
    )  # fmt: skip


# fmt: off
MEASURES = (
    column_catalog.HOURS_OVER_60,
    column_catalog.HOURS_OVER_65,
    Measure("longest_over_60_h", "hour", "longest spell above 60 % RH", meaning="longest run of hours with a mean RH above 60 %"),
    Measure("longest_over_65_h", "hour", "longest spell above 65 % RH", headline=False, meaning="longest run of hours with a mean RH above 65 %"),
    Measure("coldest_corner_C", "degC", "lowest temperature of the coldest corner", digits=1, headline=False),
    Measure("mold_index_corner", "count", "mold index at the coldest corner (0 none, 1 starting, 3 visible, 6 covered)", digits=1, meaning="highest mold index at the coldest corner, 0 to 6, from 0 at the start (Hukka & Viitanen 1999; Viitanen et al. 2010)"),
    Measure("mold_index_register", "count", "mold index next to a supply register", digits=1, meaning="highest mold index of the board next to a supply grille, 0 to 6, from 0 at the start (Hukka & Viitanen 1999; Viitanen et al. 2010)"),
    Measure("ashrae_160_met", "yes or no", "mold index below 3 at both places (ASHRAE Standard 160)", meaning="whether both mold indices stay below 3 (ASHRAE 160-2016)"),
    Measure("highest_30_day_rh_pct", "percent", "highest 30-day mean RH at a cold surface", digits=1, headline=False, meaning="highest 30-day running mean of RH at either surface while that of its temperature is 5 to 40 degC; unknown for less than 30 days"),
    Measure("ashrae_160_30_day_met", "yes or no", "30-day mean RH below 80 % (ASHRAE standard 160, 2009)", headline=False, meaning="whether the highest 30-day mean RH stays below 80 % (ASHRAE 160-2009, addendum a)"),
    Measure("mite_h", "hour", "time in which dust mites gain water", headline=False, meaning="hours above the RH at which dust mites gain water (Arlian & Veselica 1981)"),
    Measure("mite_days", "count", "days humid enough for dust mites to multiply", meaning="days with 4 hours or more above the RH at which dust mites gain water, 57 % at 23 degC (Arlian et al. 1999; 4 hours is our own choice)"),
    Measure("longest_mite_days", "count", "longest run of days humid enough for dust mites to multiply", headline=False),
    Measure("highest_floor_moisture_pct", "percent", "highest moisture content of a wooden floor", digits=1, headline=False, meaning="highest moisture content of a wooden floor, a 30-day mean (Wood Handbook, ch. 4); unknown for less than 30 days"),
    Measure("cupping_days", "count", "days on which a wood floor may cup", meaning="days on which a wooden floor is so far above its moisture at laying that boards cup"),
    Measure("longest_cupping_days", "count", "longest run of days on which a wood floor may cup", headline=False),
    Measure("grille_wet_h", "hour", "time with condensation on supply registers", meaning="hours with the room's dew point above the temperature of a supply grille that blows"),
    Measure("longest_grille_wet_h", "hour", "longest spell with condensation on supply registers", headline=False, meaning="longest run of hours in each of which supply grilles were wet"),
    Measure("window_wet_h", "hour", "time with condensation on the inside of windows", meaning="hours with the room's dew point above the inside of the glass; unknown without windows"),
    Measure("longest_window_wet_h", "hour", "longest spell with condensation on the inside of windows", headline=False),
    Measure("condensing_h", "hour", "time with condensation on room surfaces", meaning="hours in which water condensed on surfaces of the room or settled on them as fog"),
    Measure("condensed_kg", "kg", "water condensed on room surfaces", digits=1, headline=False, meaning="water that condensed on surfaces of the room or settled on them as fog; a part of it evaporates again"),
    Measure("comfortable_pct", "percent", "comfortable share of the time at home (ASHRAE Standard 55)", meaning="share of occupied hours with a predicted mean vote within 0.5 of neutral (ASHRAE 55)"),
    Measure("mean_ppd_pct", "percent", "mean predicted percentage of dissatisfied people", digits=1, headline=False, meaning="predicted percentage of dissatisfied people, mean of occupied hours (ASHRAE 55)"),
    Measure("too_cool_h", "hour", "time at home too cool", meaning="occupied hours with a predicted mean vote below -0.5"),
    Measure("too_warm_h", "hour", "time at home too warm", meaning="occupied hours with a predicted mean vote above 0.5"),
    Measure("overcooled_h", "hour", "time overcooled by the compressor", headline=False, meaning="occupied hours more than 1 K below the cooling setpoint, of hours in which the compressor cooled; unknown without the setpoint"),
    Measure("compressor_starts_per_day", "count", "compressor starts a day", digits=1, meaning="starts of the compressor in cooling and heating, a day"),
    Measure("compressor_starts_worst_hour", "count", "most compressor starts in an hour", headline=False),
    Measure("compressor_minutes_per_run", "minute", "mean length of compressor runs", digits=1, headline=False),
    Measure("compressor_runs_under_5_min_pct", "percent", "compressor runs under 5 min", headline=False),
    Measure("compressor_runs_under_10_min_pct", "percent", "compressor runs under 10 min"),
    Measure("contactor_years", "year", "compressor contactor life", meaning="years until the contactor has worn, if every day were like the mean day of the season"),
    column_catalog.STRIP_STARTS._replace(headline=False),
    Measure("strip_starts_per_day", "count", "strip starts a day", digits=1, meaning="starts of the electric strips, as reheat or heat, a day"),
    Measure("strip_contactor_years", "year", "strip contactor life", meaning="years until the contactor of the strips has worn, if every day were like the mean day of the season"),
    Measure("strips_h", "hour", "electric strip runtime", meaning="hours with strips on, as reheat or heat"),
    column_catalog.DEHUMIDIFIER_STARTS._replace(headline=False),
    Measure("dehumidifier_starts_per_day", "count", "dehumidifier starts a day", digits=1),
    Measure("dehumidifier_minutes_per_run", "minute", "mean length of dehumidifier runs", digits=1, headline=False),
    Measure("dehumidifier_runs_under_10_min_pct", "percent", "dehumidifier runs under 10 min", headline=False),
)
# fmt: on
"""The columns of `risk`, each with its meaning and the source of its limit."""


def risk(
    of: Season | Comparison, basis: RiskBasis | None = None, units: Units | None = None
) -> pd.DataFrame:
    """Return a table of humid spells, mold, mites, wood, condensation, comfort and wear.

    The table has one row for each option.

    Parameters
    ----------
    of : Season or Comparison
        Results of a run.
    basis : RiskBasis, optional
        Surfaces, materials and people. Default: ``RiskBasis()``.
    units : {"us", "si"}, optional
        Units of the table, as for `Comparison.table`.

    Returns
    -------
    DataFrame
        Columns of `MEASURES`, which gives the meaning and source of each. A value that cannot be
        known is missing (<NA>), such as a 30-day mean of a week, or runs of a machine that never
        ran.

    Raises
    ------
    InputError
        If `units` is neither.

    Notes
    -----
    ASHRAE 160 requires its own design moisture (`House.design_moisture`) and weather. A season has
    the household and weather of the run, so its criterion holds for these. The mold index begins at
    0 and does not include other years. Read it with `mold.CAUTIONS`.

    Examples
    --------
    >>> import moistsim as ms
    >>> season = ms.simulate(
    ...     ms.House(floor_area="1600 ft2"), ms.Equipment(), ms.strategies.temperature_only,
    ...     ms.Weather.sample("miami"), start="06-01", end="06-05",
    ... )  # fmt: skip
    >>> row = risk(season).iloc[0]
    >>> bool(0 <= row["hours_over_60"] <= 120), bool(row["mold_index_corner"] < 1)
    (True, True)
    """
    units = units_or_default(units, "risk units")
    basis = basis or RiskBasis()
    seasons = of.seasons if isinstance(of, Comparison) else {of.strategy.name: of}
    table = pd.DataFrame.from_dict(
        {name: _row(season, basis) for name, season in seasons.items()}, orient="index"
    )
    table.index.name = "option"
    for measure in MEASURES:
        column = table[measure.name]
        if measure.unit == "yes or no":
            table[measure.name] = column.astype("boolean")
        elif column.isna().any():
            table[measure.name] = column.astype("Float64")
    return in_trade(table, MEASURES) if units == "us" else table


def risk_hours(season: Season, basis: RiskBasis | None = None) -> pd.DataFrame:
    """Return the hourly values behind `risk`, in SI.

    Parameters
    ----------
    season : Season
    basis : RiskBasis, optional

    Returns
    -------
    DataFrame
        Room RH, the columns of `cold_surfaces.surface_hours`, the mold index at both surfaces, the
        critical RH of dust mites, predicted mean vote, percentage dissatisfied and clothing. The
        index is that of the hourly table.

    Examples
    --------
    >>> import moistsim as ms
    >>> season = ms.simulate(
    ...     ms.House(floor_area="1600 ft2"), ms.Equipment(), ms.strategies.temperature_only,
    ...     ms.Weather.sample("miami"), start="06-01", end="06-02",
    ... )  # fmt: skip
    >>> hours = risk_hours(season)
    >>> len(hours), "corner_rh_pct" in hours
    (48, True)
    """
    return _hours(season, season.steps(*STEP_FIELDS), basis or RiskBasis())


def surface_mold(season: Season, basis: RiskBasis | None = None) -> float:
    """Highest mold index on the coldest indoor surfaces, the larger of both in `risk`.

    It takes a small part of the time of `risk`, most of which goes into comfort.

    Parameters
    ----------
    season : Season
    basis : RiskBasis, optional

    Examples
    --------
    >>> import moistsim as ms
    >>> season = ms.simulate(
    ...     ms.House(floor_area="1600 ft2"), ms.Equipment(), ms.strategies.temperature_only,
    ...     ms.Weather.sample("miami"), start="06-01", end="06-05",
    ... )  # fmt: skip
    >>> surface_mold(season) < 1.0
    True
    """
    basis = basis or RiskBasis()
    surfaces = surface_hours(season, season.steps(*STEP_FIELDS), basis.temperature_factor)
    return max(float(index.max()) for index in _mold_indices(surfaces, basis).values())


def _mold_indices(surfaces: pd.DataFrame, basis: RiskBasis) -> dict[str, NDArray[np.float64]]:
    """The mold index at both surfaces, by the name of its column."""
    return {
        f"mold_index_{place}": mold.mold_index(
            surfaces[f"{place}_temperature_C"], surfaces[f"{place}_rh_pct"], material,
            decline=basis.mold_decline,
        )
        for place, material in (
            ("corner", basis.corner_material), ("register", basis.register_material)
        )
    }  # fmt: skip


def _hours(season: Season, steps: pd.DataFrame, basis: RiskBasis) -> pd.DataFrame:
    hourly = season.hourly
    surfaces = surface_hours(season, steps, basis.temperature_factor)
    comfort = comfort_hours(
        hourly,
        metabolic_rate=basis.metabolic_rate,
        air_speed=basis.air_speed,
        clothing=basis.clothing,
    )
    return pd.concat(
        [
            hourly["indoor_rh_pct"],
            surfaces.assign(**_mold_indices(surfaces, basis)),
            pd.Series(
                dust_mites.critical_rh(hourly["indoor_temperature_C"]),
                index=hourly.index, name="mite_critical_rh_pct",
            ),
            comfort,
        ],
        axis=1,
    )  # fmt: skip


def _row(season: Season, basis: RiskBasis) -> dict[str, Any]:
    hourly, meter = season.hourly, season.meter
    fields = {*STEP_FIELDS, *(name for names in RUNNING.values() for name in names)}
    steps = season.steps(*sorted(fields))
    hours = _hours(season, steps, basis)
    rh, room = hours["indoor_rh_pct"], hourly["indoor_temperature_C"]
    above = (column_catalog.HOURS_OVER_60, column_catalog.HOURS_OVER_65)
    row: dict[str, Any] = {measure.name: meter.of(measure) for measure in above}
    row |= {f"longest_over_{x}_h": longest(rh > x) for x in (60, 65)}

    row["coldest_corner_C"] = hours["corner_temperature_C"].min()
    worst = hours[["mold_index_corner", "mold_index_register"]].max()
    row |= {str(name): value for name, value in worst.items()}
    row["ashrae_160_met"] = bool(worst.max() < mold.CRITERION)
    running = pd.concat(
        [
            mold.thirty_day_rh(hours[f"{place}_temperature_C"], hours[f"{place}_rh_pct"])
            for place in ("corner", "register")
        ]
    )
    row["highest_30_day_rh_pct"] = _highest(running)
    row["ashrae_160_30_day_met"] = (
        bool(running.max() < mold.THIRTY_DAY_RH) if len(running) else None
    )

    row["mite_h"] = int((rh > hours["mite_critical_rh_pct"]).sum())
    growing = dust_mites.growing_days(rh, hours["mite_critical_rh_pct"])
    row["mite_days"], row["longest_mite_days"] = int(growing.sum()), longest(growing)

    floor = wood.floor_moisture(room, rh)
    cupped = floor > 100.0 * (basis.floor_moisture + basis.cupping_rise)
    row["highest_floor_moisture_pct"] = _highest(floor)
    row["cupping_days"] = int(cupped.sum()) if len(floor) else None
    row["longest_cupping_days"] = longest(cupped) if len(floor) else None

    row["grille_wet_h"] = hours["grille_wet_h"].sum()
    row["longest_grille_wet_h"] = longest(hours["grille_wet_h"] > 0.0)
    glazed = "window_wet" in hours
    row["window_wet_h"] = int(hours["window_wet"].sum()) if glazed else None
    row["longest_window_wet_h"] = longest(hours["window_wet"]) if glazed else None
    condensed = -hourly["water_surfaces_kg"] - hourly["water_fog_kg"]
    row["condensing_h"] = int((condensed > 0.0).sum())
    row["condensed_kg"] = float(condensed.sum())

    occupied = hourly["occupied_h"].to_numpy(float)
    vote, lived = hours["pmv"].to_numpy(float), float(occupied.sum())
    fine = np.abs(vote) <= COMFORTABLE
    row["comfortable_pct"] = 100.0 * float(occupied[fine].sum()) / lived if lived else None
    row["mean_ppd_pct"] = float(hours["ppd_pct"] @ occupied) / lived if lived else None
    row["too_cool_h"] = float(occupied[vote < -COMFORTABLE].sum())
    row["too_warm_h"] = float(occupied[vote > COMFORTABLE].sum())
    cooled = (hourly.filter(regex=r"^cooling_stage_\d+_h$") > 0.0).any(axis=1)
    known = meter.holds(column_catalog.TOO_COOL)
    row["overcooled_h"] = float(hourly["cool_h"][cooled].sum()) if known else None

    compressor = wear(season, steps, "compressor")
    row["compressor_starts_per_day"] = compressor.starts_per_day
    row["compressor_starts_worst_hour"] = compressor.starts_worst_hour
    row["compressor_minutes_per_run"] = compressor.minutes_per_run
    row["compressor_runs_under_5_min_pct"] = _percent(compressor.short_runs[0])
    row["compressor_runs_under_10_min_pct"] = _percent(compressor.short_runs[1])
    row["contactor_years"] = contactor_years(compressor.starts_per_day, basis.contactor_operations)
    row[column_catalog.STRIP_STARTS.name] = meter.starts["strips"]
    days = len(hourly) / 24.0
    row["strip_starts_per_day"] = meter.starts["strips"] / days
    row["strip_contactor_years"] = contactor_years(
        row["strip_starts_per_day"], basis.contactor_operations
    )
    row["strips_h"] = meter.runtime_h["reheat"] + meter.runtime_h["backup_heat"]
    dehumidifier = wear(season, steps, "dehumidifier")
    row[column_catalog.DEHUMIDIFIER_STARTS.name] = meter.starts["dehumidifier"]
    row["dehumidifier_starts_per_day"] = dehumidifier.starts_per_day
    row["dehumidifier_minutes_per_run"] = dehumidifier.minutes_per_run
    row["dehumidifier_runs_under_10_min_pct"] = _percent(dehumidifier.short_runs[1])
    return row


def _highest(values: pd.Series) -> float | None:
    return float(values.max()) if len(values) else None


def _percent(share: float | None) -> float | None:
    return None if share is None else 100.0 * share
