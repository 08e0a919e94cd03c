"""The bill of a house by month, and the price of one more kilowatt-hour."""

from collections.abc import Callable
from functools import cached_property, lru_cache
from typing import NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.errors import InputError, Problem
from moistsim.prices.rates import (
    QUARTERS,
    RateSeason,
    day_mask,
    day_of_year,
    periods_of_day,
    season_of_day,
)
from moistsim.prices.tariff import STANDARD, Tariff, free_days

Array = NDArray[np.float64]
QUARTER = pd.Timedelta(minutes=15)


@attrs.frozen(eq=False)
class Bill:
    """Bill of a house for a season, by month.

    Each line of a month is rounded to cents. A month is the sum of its lines, and the season is the
    sum of its months.

    Examples
    --------
    >>> hours = pd.date_range("2026-07-01", periods=31 * 24, freq="h")
    >>> made = bill(Tariff(price="14 cent/kWh", fixed_charge="8 USD/month"), pd.Series(1.5, hours))
    >>> made.total, round(made.marginal_price(), 2)
    (164.24, 0.14)
    """

    months: pd.DataFrame
    """USD by month (local civil time) and by line of the bill, with "total" as the last column."""
    use: pd.DataFrame
    """Use by month: `bought_kWh`, `given_kWh` (to the grid), `gas_kWh`, highest power bought
    (`highest_15_min_kW` for quarter-hour power, `highest_60_min_kW`), and `covered`, the share of
    the month's days."""
    unrounded: float
    """Total without rounding, USD, for differences, sweeps and searches."""
    electricity: float
    """Electricity part of the unrounded total, USD."""
    _tariff: Tariff = attrs.field(repr=False)
    _power: pd.Series = attrs.field(repr=False)
    _utc_offset: float | None = attrs.field(repr=False)

    @property
    def total(self) -> float:
        """Total of the season to the cent, USD."""
        return int(np.rint(100.0 * self.months["total"].to_numpy()).sum()) / 100.0

    @property
    def average_price(self) -> float | None:
        """Electricity cost over electricity bought, USD/kWh; None if nothing was bought."""
        bought = float(self.use["bought_kWh"].sum())
        return self.electricity / bought if bought > 0.0 else None

    def marginal_price(self, profile: pd.Series | None = None, *, kwh: float = 1.0) -> float:
        """Return the price of one more kWh, USD/kWh, from a second bill with that use.

        Parameters
        ----------
        profile : Series, optional
            Shape of the additional use, at the times of the billed power. Default: the shape of
            the billed power, or constant if that is zero.
        kwh : float
            Additional use, kWh. A large amount may reach another tier.

        Raises
        ------
        InputError
            If the profile has other times, a value that is not a number, or no value above 0.
        """
        where = "Bill.marginal_price profile"
        shape = self._power if profile is None else profile
        if not isinstance(shape, pd.Series) or not shape.index.equals(self._power.index):
            raise InputError(
                where, Problem("its times differ"), "a Series with the times of the power billed"
            )
        values = shape.to_numpy(float, na_value=np.nan)
        if profile is None and not values.any():
            values = np.ones(len(values))
        if not np.isfinite(values).all() or values.min() < 0.0 or values.sum() <= 0.0:
            raise InputError(
                where,
                Problem("its numbers do not give a shape"),
                "numbers of at least 0, not all 0",
            )
        if not kwh > 0.0:
            raise InputError("Bill.marginal_price kwh", kwh, "an amount above 0")
        hours = (self._power.index[1] - self._power.index[0]) / pd.Timedelta(hours=1)
        more = self._power + values * (kwh / (values.sum() * hours))
        raised = bill(self._tariff, more, utc_offset=self._utc_offset)
        return (raised.electricity - self.electricity) / kwh


def bill(
    tariff: Tariff,
    power: pd.Series,
    *,
    gas: pd.Series | None = None,
    utc_offset: float | None = None,
) -> Bill:
    """Make the bill of a season.

    Parameters
    ----------
    tariff : Tariff
        Prices, other use of the house, and solar panels.
    power : Series
        Mean power of each quarter hour or hour, kW, by its start in local standard time, without a
        gap, as from `Season.quarters`. A demand charge over 15 min needs quarter hours.
    gas : Series, optional
        Gas burned in each hour of the same time, kWh by higher heating value. Default: a house
        without gas and without its fixed charge.
    utc_offset : float, optional
        Local standard time less UTC, h. Default: standard time of the tariff's zone.

    Returns
    -------
    Bill

    Raises
    ------
    InputError
        If power or gas is not as above, or if `Tariff.year` has another February than the season.

    Notes
    -----
    Prices follow civil time, so a day on which clocks change has 92 or 100 quarter hours. Days
    covered are counted in standard time. Daylight saving may move the first or last hour of a run to
    a month outside the run. That hour stays in the adjacent month.

    Examples
    --------
    >>> hours = pd.date_range("2026-07-01", periods=31 * 24, freq="h")
    >>> from moistsim.prices.rates import RateTier
    >>> tiers = [RateTier(price="11 cent/kWh", up_to=600), RateTier(price="15 cent/kWh")]
    >>> bill(Tariff(tiers=tiers), pd.Series(1.0, hours)).months.iloc[0].to_dict()
    {'energy tier 1': 66.0, 'energy tier 2': 21.6, 'total': 87.6}
    """
    kw = _quarters("bill power", power)
    index = pd.DatetimeIndex(power.index)
    fine = _step(index) == QUARTER
    if not fine and any(charge.window == "15 min" for charge in tariff.demand):
        raise InputError(
            "bill power",
            Problem("rows are hours"),
            "quarter hours, because the demand charge is over 15 min",
        )
    calendar = _calendar(tariff, index[0], len(kw), utc_offset)
    stamps = pd.date_range(index[0], periods=len(kw), freq=QUARTER)
    net = kw + tariff.other_power(stamps)
    if tariff.solar is not None:
        net = net - tariff.solar.at(stamps)
    bought, given = np.maximum(net, 0.0), np.maximum(-net, 0.0)
    lines, use = _electricity(tariff, calendar, bought, given)
    burnt: Array | None = None
    if gas is not None:
        burnt = _quarters("bill gas", gas)
        if len(burnt) != len(kw) or gas.index[0] != index[0]:
            raise InputError("bill gas", Problem("its times differ"), "the times of the power")
        use["gas_kWh"] = calendar.sum(burnt) / 4.0
    else:
        use["gas_kWh"] = np.zeros(calendar.months)
    fuel = {}
    if burnt is not None:
        fuel["gas"] = tariff.gas_price * use["gas_kWh"]
        if tariff.gas_fixed_charge:
            fuel["gas fixed"] = tariff.gas_fixed_charge * calendar.covered
    exact = _closed(tariff, calendar, lines, use["bought_kWh"], lambda x: x)
    printed = _closed(tariff, calendar, lines, use["bought_kWh"], _cents) | {
        name: _cents(line) for name, line in fuel.items()
    }
    electricity = float(sum(line.sum() for line in exact.values()))
    names = _months(calendar.first_month, calendar.months)
    months = pd.DataFrame(printed, index=names)
    months["total"] = _cents(months.sum(axis=1).to_numpy())
    return Bill(
        months,
        pd.DataFrame(
            {
                **use,
                **({"highest_15_min_kW": calendar.highest(bought, 1)} if fine else {}),
                "highest_60_min_kW": calendar.highest(bought, 4),
                "covered": calendar.covered,
            },
            index=names,
        ),
        electricity + float(sum(line.sum() for line in fuel.values())),
        electricity,
        tariff,
        power,
        utc_offset,
    )


def _step(index: pd.DatetimeIndex) -> pd.Timedelta:
    return index[1] - index[0]


def _quarters(where: str, series: pd.Series) -> Array:
    """Check a series and return its values by quarter hour."""
    accepted = "a Series by quarter hours or hours, local standard time, without a gap"
    index = series.index if isinstance(series, pd.Series) else None
    if not isinstance(index, pd.DatetimeIndex) or len(index) < 2:
        raise InputError(where, Problem(f"cannot use a {type(series).__name__}"), accepted)
    if index.tz is not None:
        raise InputError(where, Problem(f"its times have the time zone {index.tz}"), accepted)
    step = _step(index)
    if step not in (QUARTER, pd.Timedelta(hours=1)):
        raise InputError(where, Problem(f"it has a row each {step}"), accepted)
    odd = np.flatnonzero(np.diff(index.to_numpy()) != step.to_timedelta64())
    if odd.size:
        raise InputError(where, Problem(f"{index[odd[0] + 1]} follows {index[odd[0]]}"), accepted)
    if index[0].minute % 15 or index[0].second:
        raise InputError(where, f"{index[0]}", "times at quarters of an hour")
    values = series.to_numpy(float, na_value=np.nan)
    bad = np.flatnonzero(~(np.isfinite(values) & (values >= 0.0)))
    if bad.size:
        raise InputError(
            where, f"{values[bad[0]]} at {index[bad[0]]}",
            "numbers of at least 0; exported power belongs in Tariff.solar",
        )  # fmt: skip
    return values if step == QUARTER else np.repeat(values, 4)


# ---------------------------------------------------------------------- the calendar of a run


class _Group(NamedTuple):
    """Quarter hours with one price or one set of tiers."""

    season: int
    name: str
    price: float | None
    """Price of energy, USD/kWh; None in a season with tiers."""


@attrs.frozen(eq=False)
class _Calendar:
    """Place of each quarter hour of a run in a tariff."""

    first_month: int
    """Ordinal of the first monthly period."""
    month: NDArray[np.intp]
    """Month of each quarter hour, from 0."""
    group: NDArray[np.intp]
    groups: tuple[_Group, ...]
    season: NDArray[np.intp]
    """Season of each quarter hour, by its civil date."""
    quarter: NDArray[np.intp]
    """Quarter hour of the civil day."""
    free: NDArray[np.bool_]
    covered: Array
    """Share of each month's days that the run covers."""
    of_season: Array
    """Share of each month's days that the run covers in each season: season by month."""
    days: Array
    """Days of each month that the run covers."""
    hour: NDArray[np.intp]
    """Number of the clock hour of each quarter hour, from 0."""

    @property
    def months(self) -> int:
        return len(self.covered)

    def sum(self, values: Array) -> Array:
        """Return sums by month."""
        return np.bincount(self.month, values, self.months).astype(float)

    @cached_property
    def _hours(self) -> tuple[NDArray[np.intp], Array]:
        """First quarter hour of each clock hour, and its number of quarter hours."""
        first = np.flatnonzero(np.diff(self.hour, prepend=-1))
        return first, np.diff(first, append=len(self.hour)).astype(float)

    def highest(
        self, power: Array, quarters: int, counts: NDArray[np.bool_] | None = None
    ) -> Array:
        """Return the highest mean power by month, over windows of 1 or 4 quarter hours that count."""
        month = self.month
        if quarters == 4:
            first, length = self._hours
            power = np.add.reduceat(power, first) / length
            month = month[first]
            counts = counts[first] if counts is not None else None
        if counts is not None:
            power, month = power[counts], month[counts]
        out = np.zeros(self.months)
        np.maximum.at(out, month, power)
        return out


class _Clock(NamedTuple):
    """Clock and calendar of each quarter hour of a run, apart from prices."""

    month_of: NDArray[np.intp]
    """Ordinal of the monthly period, in standard time."""
    civil_month: NDArray[np.intp]
    day: NDArray[np.intp]
    """Day of a common year, from 0, in standard time."""
    civil_day: NDArray[np.intp]
    quarter: NDArray[np.intp]
    """Quarter hour of the civil day."""
    free: NDArray[np.bool_]
    """Whether the civil day is a Saturday, a Sunday or a holiday."""
    hour: NDArray[np.intp]
    """Number of the clock hour, from 0."""


@lru_cache(maxsize=8)
def _clock(
    zone: str, year: int | None, holidays: tuple[str, ...], start: pd.Timestamp, quarters: int,
    utc_offset: float | None,
) -> _Clock:  # fmt: skip
    standard = pd.date_range(start, periods=quarters, freq=QUARTER)
    if year is not None and year != start.year:
        moved = standard + pd.DateOffset(years=year - start.year)
        if moved[-1] - moved[0] != standard[-1] - standard[0] or not moved.is_unique:
            raise InputError(
                "Tariff.year", year, f"a year with the same February 29 as {start.year}"
            )
        standard = pd.DatetimeIndex(moved)
    civil = _civil(zone, standard, utc_offset)
    codes, dates = pd.factorize(civil.normalize())
    hour = (standard.as_unit("s").asi8 // 3600).astype(np.intp)
    return _Clock(
        _month_ordinal(standard),
        _month_ordinal(civil),
        day_of_year(standard),
        day_of_year(civil),
        (4 * civil.hour + civil.minute // 15).to_numpy(),
        free_days(holidays, pd.DatetimeIndex(dates))[codes],
        hour - hour[0],
    )


def _civil(zone: str, index: pd.DatetimeIndex, utc_offset: float | None) -> pd.DatetimeIndex:
    """Convert local standard time to local civil time."""
    if zone == STANDARD:
        return index
    if utc_offset is None:
        # Standard time is the smaller of a year's two offsets.
        year = index[0].year
        ends = pd.DatetimeIndex([f"{year}-01-01", f"{year}-07-01"]).tz_localize(zone)
        ahead = ends.tz_localize(None) - ends.tz_convert("UTC").tz_localize(None)
        utc_offset = float(ahead.min() / pd.Timedelta(hours=1))
    utc = (index - pd.Timedelta(hours=utc_offset)).tz_localize("UTC")
    return utc.tz_convert(zone).tz_localize(None)


@lru_cache(maxsize=8)
def _calendar(
    tariff: Tariff, start: pd.Timestamp, quarters: int, utc_offset: float | None
) -> _Calendar:
    clock = _clock(tariff.zone, tariff.year, tariff.holidays, start, quarters, utc_offset)
    first, last = int(clock.month_of[0]), int(clock.month_of[-1])
    month = np.clip(clock.civil_month, first, last) - first
    count = last - first + 1
    length = _months(first, count).days_in_month.to_numpy(float)
    seasons = tariff.parts_of_year
    season_of = season_of_day(seasons)
    season = season_of[clock.civil_day]
    cell = season_of[clock.day] * count + clock.month_of - first
    of_season = np.bincount(cell, minlength=len(seasons) * count).reshape(-1, count)
    days = of_season.sum(axis=0) / QUARTERS
    group, groups = _grouped(seasons, season, clock.quarter, clock.free)
    return _Calendar(
        first, month, group, groups, season, clock.quarter, clock.free, days / length,
        of_season / QUARTERS / length, days, clock.hour,
    )  # fmt: skip


def _months(first: int, count: int) -> pd.PeriodIndex:
    return pd.period_range(
        pd.Period(year=1970 + first // 12, month=first % 12 + 1, freq="M"),
        periods=count,
        name="month",
    )


def _month_ordinal(index: pd.DatetimeIndex) -> NDArray[np.intp]:
    return np.asarray(
        12 * (index.year.to_numpy() - 1970) + index.month.to_numpy() - 1, dtype=np.intp
    )


def _grouped(
    seasons: tuple[RateSeason, ...],
    season: NDArray[np.intp],
    quarter: NDArray[np.intp],
    free: NDArray[np.bool_],
) -> tuple[NDArray[np.intp], tuple[_Group, ...]]:
    groups: list[_Group] = []
    group = np.zeros(len(season), dtype=np.intp)
    for k, one in enumerate(seasons):
        prefix = f"energy {one.name}" if len(seasons) > 1 else "energy"
        here = season == k
        if one.periods:
            table = len(groups) + periods_of_day(one.periods)
            group[here] = table[free.astype(np.intp), quarter][here]
            groups += [_Group(k, f"{prefix} {p.name}", p.price) for p in one.periods]
        else:
            group[here] = len(groups)
            groups.append(_Group(k, prefix, one.price))
    return group, tuple(groups)


# ---------------------------------------------------------------------- the lines


def _electricity(
    tariff: Tariff, calendar: _Calendar, bought: Array, given: Array
) -> tuple[dict[str, Array], dict[str, Array]]:
    """Return lines of energy, export, demand and fixed charges by month, USD, and the use, kWh."""
    months, groups = calendar.months, calendar.groups
    cell = calendar.group * months + calendar.month
    shape = (len(groups), months)

    def by_group(power: Array) -> Array:
        return np.bincount(cell, power, shape[0] * shape[1]).reshape(shape) / 4.0

    taken = by_group(bought)
    out = by_group(given) if tariff.solar is not None else np.zeros(shape)
    use = {"bought_kWh": taken.sum(axis=0), "given_kWh": out.sum(axis=0)}
    if tariff.export == "netted":
        taken, out = np.maximum(taken - out, 0.0), np.maximum(out - taken, 0.0)
    lines: dict[str, Array] = {}
    for group, kwh in zip(groups, taken, strict=True):
        if group.price is not None:
            lines[group.name] = group.price * kwh
            continue
        below = np.zeros(months)
        for k, tier in enumerate(tariff.parts_of_year[group.season].tiers, 1):
            top = kwh if tier.up_to is None else tier.up_to * calendar.of_season[group.season]
            within = np.clip(kwh, below, np.maximum(top, below)) - below
            lines[f"{group.name} tier {k}"] = tier.price * within
            below = np.maximum(top, below)
    if tariff.solar is not None:
        lines["export credit"] = -tariff.export_price * out.sum(axis=0)
    for k, charge in enumerate(tariff.demand, 1):
        name = f"demand {charge.name or (k if len(tariff.demand) > 1 else '')}".strip()
        counts = day_mask(charge.hours)[calendar.quarter]
        if charge.days != "every day":
            counts = counts & (calendar.free == (charge.days != "weekdays"))
        share = calendar.covered
        if charge.season:
            names = [season.name for season in tariff.seasons]
            at = names.index(charge.season)
            counts = counts & (calendar.season == at)
            share = calendar.of_season[at]
        kw = calendar.highest(bought, 1 if charge.window == "15 min" else 4, counts)
        billed = [
            max(x, charge.ratchet * max(kw[max(m - 11, 0) : m], default=0.0))
            for m, x in enumerate(kw)
        ]
        lines[name] = charge.price * np.array(billed) * share
    if tariff.fixed_charge or tariff.daily_charge:
        lines["fixed"] = (
            tariff.fixed_charge * calendar.covered + tariff.daily_charge * calendar.days
        )
    return lines, use


def _closed(
    tariff: Tariff,
    calendar: _Calendar,
    lines: dict[str, Array],
    bought: Array,
    rounded: Callable[[Array], Array],
) -> dict[str, Array]:
    """Return the lines, each rounded, with minimum and taxes that depend on their sum."""
    out = {name: rounded(line) for name, line in lines.items()}
    if tariff.minimum:
        least = tariff.minimum * calendar.covered
        out["minimum top-up"] = np.maximum(rounded(least) - sum(out.values()), 0.0)
    if tariff.tax_per_kwh:
        out["tax per kWh"] = rounded(tariff.tax_per_kwh * bought)
    if tariff.tax:
        # A credit does not earn a refund of tax.
        out["tax"] = rounded(tariff.tax * np.maximum(sum(out.values()), 0.0))
    return out


def _cents(amount: Array) -> Array:
    """Round to cents, half a cent up."""
    # A product that misses half a cent by its last bits counts as half a cent.
    return np.floor(np.round(100.0 * amount, 6) + 0.5) / 100.0
