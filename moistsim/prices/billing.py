"""A bill from what was used, by the month, and what one kilowatt-hour more would cost."""

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
    """What a house pays for a season, month by month.

    Each line of a month is rounded to cents, a month is the sum of its lines, and the season that
    of its months.
    """

    months: pd.DataFrame
    """USD by month (local civil time) and line, "total" the last of them. Lines that a tariff does
    not have are left out."""
    use: pd.DataFrame
    """What the lines were made of, by month: `bought_kWh` and `given_kWh` (to the grid),
    `highest_15_min_kW` and `highest_60_min_kW` bought (the first only of quarter-hour power),
    `gas_kWh`, and `covered`, the share of the month's days."""
    unrounded: float
    """The total before any rounding, USD: for differences, sweeps and searches, which cents would
    make uneven."""
    electricity: float
    """Of it, what is not gas, USD."""
    _tariff: Tariff = attrs.field(repr=False)
    _power: pd.Series = attrs.field(repr=False)
    _utc_offset: float | None = attrs.field(repr=False)

    @property
    def total(self) -> float:
        """The season, USD: the sum of `months` to the cent."""
        return int(np.rint(100.0 * self.months["total"].to_numpy()).sum()) / 100.0

    @property
    def average_price(self) -> float | None:
        """All of the electricity's lines over all that was bought, USD/kWh; None of nothing."""
        bought = float(self.use["bought_kWh"].sum())
        return self.electricity / bought if bought > 0.0 else None

    def marginal_price(self, profile: pd.Series | None = None, *, kwh: float = 1.0) -> float:
        """What one kWh more costs, USD/kWh: the bill is drawn up again with it.

        Parameters
        ----------
        profile : Series, optional
            When it is used, at the times of the power billed; only the shape counts. Left out, in
            the shape of what was billed (and the same in every hour, where that was nothing).
        kwh : float
            How much more: a large amount may go into another tier.

        Raises
        ------
        InputError
            If the profile has other times, or is nothing or no number anywhere.
        """
        where = "Bill.marginal_price profile"
        shape = self._power if profile is None else profile
        if not isinstance(shape, pd.Series) or not shape.index.equals(self._power.index):
            raise InputError(
                where, Problem("other times"), "a Series with the times of the power billed"
            )
        values = shape.to_numpy(float, na_value=np.nan)
        if profile is None and not values.any():
            values = np.ones(len(values))
        if not np.isfinite(values).all() or values.min() < 0.0 or values.sum() <= 0.0:
            raise InputError(
                where, Problem("numbers that give no shape"), "numbers of at least 0, not all 0"
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
    """Draw up the bill of a season.

    Parameters
    ----------
    tariff : Tariff
        With what else the house uses, and its solar panels.
    power : Series
        Mean power of each quarter of an hour or of each hour (which is its kWh), kW, by its start in
        local standard time, without a gap; as `Season.quarters`. A demand charge over 15 min needs
        quarters.
    gas : Series, optional
        Gas burnt, by its higher heating value, kWh of each hour of the same time; left out, the
        house has no gas, nor its fixed charge.
    utc_offset : float, optional
        What local standard time is ahead of UTC, h; left out, the standard time of the tariff's
        zone.

    Returns
    -------
    Bill

    Raises
    ------
    InputError
        If power or gas is not as said above, or `Tariff.year` cannot hold the season.

    Notes
    -----
    Prices follow civil time, so that a day on which clocks change has 92 or 100 quarters. Days
    covered, by which a month is in proportion, are counted in standard time. The hour at either end
    of a run that daylight saving would put into a month that the run does not have stays in the
    month beside it.
    """
    kw = _quarters("bill power", power)
    index = pd.DatetimeIndex(power.index)
    fine = _step(index) == QUARTER
    if not fine and any(charge.window == "15 min" for charge in tariff.demand):
        raise InputError(
            "bill power",
            Problem("hours"),
            "quarters of an hour, since the demand charge is of 15 min",
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
            raise InputError("bill gas", Problem("other times"), "the times of the power")
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
    """The values by the quarter of an hour, checked."""
    accepted = "a Series by quarters of an hour or by hours, local standard time, without a gap"
    index = series.index if isinstance(series, pd.Series) else None
    if not isinstance(index, pd.DatetimeIndex) or len(index) < 2:
        raise InputError(where, Problem(f"a {type(series).__name__} that is none"), accepted)
    if index.tz is not None:
        raise InputError(where, Problem(f"times of the zone {index.tz}"), accepted)
    step = _step(index)
    if step not in (QUARTER, pd.Timedelta(hours=1)):
        raise InputError(where, Problem(f"a row each {step}"), accepted)
    odd = np.flatnonzero(np.diff(index.to_numpy()) != step.to_timedelta64())
    if odd.size:
        raise InputError(where, Problem(f"{index[odd[0] + 1]} after {index[odd[0]]}"), accepted)
    if index[0].minute % 15 or index[0].second:
        raise InputError(where, f"{index[0]}", "times at quarters of an hour")
    values = series.to_numpy(float, na_value=np.nan)
    bad = np.flatnonzero(~(np.isfinite(values) & (values >= 0.0)))
    if bad.size:
        raise InputError(
            where, f"{values[bad[0]]} at {index[bad[0]]}",
            "numbers of at least 0 (what the house gives to the grid belongs into Tariff.solar)",
        )  # fmt: skip
    return values if step == QUARTER else np.repeat(values, 4)


# ---------------------------------------------------------------------- when is what


class _Group(NamedTuple):
    """Quarters of one price or one set of tiers."""

    season: int
    name: str
    price: float | None
    """None where the season has tiers."""


@attrs.frozen(eq=False)
class _Calendar:
    """Where each quarter of a run belongs in a tariff."""

    first_month: int
    """Ordinal of a monthly period."""
    month: NDArray[np.intp]
    """Of each quarter, from 0."""
    group: NDArray[np.intp]
    groups: tuple[_Group, ...]
    season: NDArray[np.intp]
    """Of each quarter, by its civil date."""
    quarter: NDArray[np.intp]
    """Of the civil day."""
    free: NDArray[np.bool_]
    covered: Array
    """Share of each month's days that the run has."""
    of_season: Array
    """Share of each month's days that the run has and that lie in a season: season by month."""
    days: Array
    """Days of each month that the run has."""
    hour: NDArray[np.intp]
    """Number of the clock hour of each quarter, from 0."""

    @property
    def months(self) -> int:
        return len(self.covered)

    def sum(self, values: Array) -> Array:
        """Sums by month."""
        return np.bincount(self.month, values, self.months).astype(float)

    @cached_property
    def _hours(self) -> tuple[NDArray[np.intp], Array]:
        """First quarter of each clock hour, and how many it has."""
        first = np.flatnonzero(np.diff(self.hour, prepend=-1))
        return first, np.diff(first, append=len(self.hour)).astype(float)

    def highest(
        self, power: Array, quarters: int, counts: NDArray[np.bool_] | None = None
    ) -> Array:
        """Highest mean over windows of 1 or 4 quarters that begin where it counts, by month."""
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
    """What the clock and the calendar say of each quarter of a run, whatever it costs."""

    month_of: NDArray[np.intp]
    """Ordinal of the monthly period, in standard time."""
    civil_month: NDArray[np.intp]
    day: NDArray[np.intp]
    """Of a common year, from 0, in standard time."""
    civil_day: NDArray[np.intp]
    quarter: NDArray[np.intp]
    """Of the civil day."""
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
    """Local civil time of times in local standard time."""
    if zone == STANDARD:
        return index
    if utc_offset is None:
        # Daylight saving is what lies ahead of the lesser of a year's offsets.
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
    """Lines of energy, export, demand and fixed charges by month, USD, and the use, kWh."""
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
    """The lines, each rounded, with those that are reckoned on their sum."""
    out = {name: rounded(line) for name, line in lines.items()}
    if tariff.minimum:
        least = tariff.minimum * calendar.covered
        out["minimum top-up"] = np.maximum(rounded(least) - sum(out.values()), 0.0)
    if tariff.tax_per_kwh:
        out["tax per kWh"] = rounded(tariff.tax_per_kwh * bought)
    if tariff.tax:
        # A credit is no income on which tax is given back.
        out["tax"] = rounded(tariff.tax * np.maximum(sum(out.values()), 0.0))
    return out


def _cents(amount: Array) -> Array:
    """Rounded to cents, half a cent up."""
    # What is half a cent but for the last bits of a product is half a cent.
    return np.floor(np.round(100.0 * amount, 6) + 0.5) / 100.0
