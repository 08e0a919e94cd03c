"""The tariff of electricity and gas, as on the utility's rate sheet."""

import calendar
import datetime
import difflib
import re
import zoneinfo
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.changes import Evolving
from moistsim.core.errors import Fix, InputError, one_of
from moistsim.core.fields import choice, description, part, quantity, several
from moistsim.prices.hourly_profile import HourlyProfile
from moistsim.prices.rates import (
    MOST_PRICE,
    DemandCharge,
    RatePeriod,
    RateSeason,
    RateTier,
    check_names,
    check_prices,
    season_of_day,
    words_field,
)

if TYPE_CHECKING:
    from pandas.tseries.holiday import AbstractHolidayCalendar

DEFAULT_PRICE = 0.15
"""Default price of electricity with taxes and fees, USD/kWh; our own round figure."""
STANDARD = "standard"
US_FEDERAL = "US federal"


@lru_cache(maxsize=1)
def _holiday_calendar() -> "AbstractHolidayCalendar":
    from pandas.tseries.holiday import USFederalHolidayCalendar

    return USFederalHolidayCalendar()


def _holiday_names() -> list[str]:
    return [rule.name for rule in _holiday_calendar().rules]


def _holiday(text: str) -> None:
    if text == US_FEDERAL or text in _holiday_names():
        return
    if re.fullmatch(r"\d\d-\d\d", text):
        text = f"2000-{text}"  # A leap year has every day of the calendar.
    if not re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        raise ValueError(text)
    datetime.date.fromisoformat(text)


def _default_price(tariff: Any) -> float | None:
    return None if tariff.tiers or tariff.periods or tariff.seasons else DEFAULT_PRICE


def _zone(instance: Any, field: Any, value: Any) -> None:
    if value == STANDARD:
        return
    try:
        zoneinfo.ZoneInfo(value)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError, TypeError, AttributeError):
        near = difflib.get_close_matches(str(value), sorted(zoneinfo.available_timezones()), n=1)
        raise InputError(
            f"{type(instance).__name__}.{field.name}",
            value,
            Fix(f"Did you mean {near[0]!r}?")
            if near
            else f"{STANDARD!r} or the name of a time zone such as 'America/New_York'",
        ) from None


def _year(instance: Any, field: Any, value: Any) -> None:
    if value is not None and (type(value) is not int or not 1900 <= value <= 2200):
        raise InputError(
            f"{type(instance).__name__}.{field.name}", value, "a year such as 2026, or None"
        )


@description
class Tariff(Evolving):
    """Prices of electricity and gas, and all other lines of the bill.

    A month is a calendar month of local civil time. If a run covers only part of a month, fixed
    charges, tiers, demand charges and the minimum are in proportion to the days covered. Weekdays,
    holidays and daylight saving follow the calendar year of the weather's dates, which is arbitrary
    in a typical year. `year` sets another calendar year.

    A run meters the machines that heat, cool and dry. Tiers, demand and minimum also depend on the
    other use of the house. Without `other_use` or `other_use_profile`, tiers begin at zero with the
    machines. With them, or with `solar`, the bill is that of the whole house; compare options by
    the difference of their bills.

    Examples
    --------
    Time of use with daylight saving, and a charge on the highest power:

    >>> from moistsim.prices.rates import RatePeriod
    >>> peak = RatePeriod(
    ...     name="on peak", price="28 cent/kWh", hours=["14:00 to 20:00"], days="weekdays"
    ... )
    >>> others = RatePeriod(name="off peak", price="8 cent/kWh")
    >>> tariff = Tariff(
    ...     periods=[peak, others],
    ...     demand=[DemandCharge(price="3 USD/kW", window="60 min")],
    ...     holidays=["US federal", "12-24"],
    ...     zone="America/New_York",
    ... )
    >>> tariff.words
    'by time of use (on peak, off peak) with demand charge'

    In a scenario file the same is ``[tariff]`` with ``holidays`` and ``zone``, then a table
    ``[[tariff.periods]]`` for each period and ``[[tariff.demand]]``.
    """

    tiers: tuple[RateTier, ...] = several(RateTier, "tiers of a month's use, the lowest first")
    periods: tuple[RatePeriod, ...] = several(RatePeriod, "time-of-use periods")
    seasons: tuple[RateSeason, ...] = several(RateSeason, "seasons with different prices")
    price: float | None = quantity(
        "USD/kWh",
        "price of energy, with taxes and fees that are not given apart; not with tiers, periods or "
        "seasons; default: 0.15 USD/kWh (our own round figure)",
        default=attrs.Factory(_default_price, takes_self=True),
        at_least=0.0,
        at_most=MOST_PRICE,
        optional=True,
    )
    gas_price: float = quantity(
        "USD/kWh",
        "price of gas by higher heating value, taxes and fees included; used with a furnace",
        default="1.20 USD/therm",
        meant=("${}/therm", "{} cent/kWh"),
        at_least=0.0,
        # A price per therm without its unit, such as 1.2, is refused.
        at_most=1.0,
    )
    gas_fixed_charge: float = quantity(
        "USD/month", "fixed gas charge of an option with a furnace", default=0.0,
        at_least=0.0, at_most=1e5,
    )  # fmt: skip
    demand: tuple[DemandCharge, ...] = several(DemandCharge, "demand charges on the highest power")
    fixed_charge: float = quantity(
        "USD/month", "fixed electricity charge a month", default=0.0, at_least=0.0, at_most=1e5
    )
    daily_charge: float = quantity(
        "USD/day", "fixed electricity charge a day", default=0.0, at_least=0.0, at_most=1e4
    )
    minimum: float = quantity(
        "USD/month", "minimum electricity bill before taxes", default=0.0, at_least=0.0, at_most=1e5
    )
    tax: float = quantity(
        "fraction",
        "tax on all electricity lines of the bill",
        default=0.0,
        at_least=0.0,
        at_most=0.5,
    )
    tax_per_kwh: float = quantity(
        "USD/kWh",
        "taxes and fees for each kWh bought",
        default=0.0,
        at_least=0.0,
        at_most=MOST_PRICE,
    )
    other_use: float | None = quantity(
        "kWh/year",
        "other electricity use of the house, constant or in the shape of `other_use_profile`; default: "
        "none, or by the profile",
        default=None,
        at_least=0.0,
        optional=True,
        at_most=1e7,
        usual=(600.0, 3e5),
    )
    other_use_profile: HourlyProfile | None = part(
        HourlyProfile, "other electricity use of the house by hour, kW", default=None, optional=True
    )
    solar: HourlyProfile | None = part(
        HourlyProfile, "output of solar panels by hour, kW", default=None,
        optional=True,
    )  # fmt: skip
    export: str = choice(
        "billing of exported energy: credited at `export_price`, or netted against purchases within "
        "the month (and period), with the surplus credited",
        "credited",
        "netted",
        default="credited",
    )
    export_price: float = quantity(
        "USD/kWh", "price of the export credit", default=0.0, at_least=0.0, at_most=MOST_PRICE
    )
    zone: str = attrs.field(
        default=STANDARD,
        validator=_zone,
        metadata={
            "help": "time zone by its IANA name, for daylight saving; 'standard' for no daylight saving",
        },
    )
    holidays: tuple[str, ...] = words_field(
        _holiday,
        f"a date such as '12-25' or '2026-11-27', {US_FEDERAL!r} or the name of a US federal "
        "holiday such as 'Labor Day'",
        "holidays, which count as weekends: dates, and US federal holidays as observed",
        "['US federal', '12-24']",
        default=(),
    )
    year: int | None = attrs.field(
        default=None,
        validator=_year,
        metadata={"help": "calendar year of the bill; default: the year of the weather's dates"},
    )

    def __attrs_post_init__(self) -> None:
        check_prices(self, ("price", "tiers", "periods", "seasons"))
        _check_seasons(self)
        names = [season.name for season in self.seasons]
        for k, charge in enumerate(self.demand):
            if charge.season and charge.season not in names:
                raise InputError(
                    f"{type(self).__name__}.demand[{k}].season",
                    charge.season,
                    one_of(charge.season, names)
                    if names
                    else "left out, where there are no seasons",
                )

    @property
    def parts_of_year(self) -> tuple[RateSeason, ...]:
        """Seasons of the tariff, or one season for all the year."""
        if self.seasons:
            return self.seasons
        return (_all_year(self.price, self.tiers, self.periods),)

    @property
    def is_flat(self) -> bool:
        """Whether each kWh has the same price and the bill has no other line."""
        return self.price is not None and self == Tariff(
            price=self.price,
            gas_price=self.gas_price,
            zone=self.zone,
            holidays=self.holidays,
            year=self.year,
        )

    @property
    def is_free(self) -> bool:
        """Whether electricity costs nothing."""
        return self.is_flat and not self.price

    @property
    def is_of_whole_house(self) -> bool:
        """Whether the bill includes more than the machines that a run meters."""
        return bool(self.other_use) or self.other_use_profile is not None or self.solar is not None

    @property
    def words(self) -> str:
        """Pricing of electricity, in half a sentence."""
        if self.price is not None:
            said = f"at {self.price:.3g} USD/kWh"
        elif self.seasons:
            said = "by season (" + ", ".join(season.name for season in self.seasons) + ")"
        elif self.tiers:
            said = f"in {len(self.tiers)} tiers"
        else:
            said = "by time of use (" + ", ".join(period.name for period in self.periods) + ")"
        more = [
            (self.demand, "demand charge"),
            (self.fixed_charge or self.daily_charge, "fixed charge"),
            (self.minimum, "minimum bill"),
            (self.tax or self.tax_per_kwh, "taxes"),
            (self.solar is not None, "solar"),
        ]
        named = [word for there, word in more if there]
        return said + (" with " + ", ".join(named) if named else "")

    def other_power(self, index: pd.DatetimeIndex) -> NDArray[np.float64]:
        """Return other electricity use of the house at times in local standard time, kW."""
        if self.other_use_profile is None:
            return np.full(len(index), (self.other_use or 0.0) / 8760.0)
        power = self.other_use_profile.at(index)
        if self.other_use is None:
            return power
        mean = float(np.mean(self.other_use_profile.values))
        if mean == 0.0:
            return power
        return power * (self.other_use / 8760.0 / mean)


def _all_year(price: float | None, tiers: Any, periods: Any) -> RateSeason:
    return RateSeason(
        name="all year", days=("01-01 to 12-31",), price=price, tiers=tiers, periods=periods
    )


def free_days(holidays: tuple[str, ...], dates: pd.DatetimeIndex) -> NDArray[np.bool_]:
    """Return whether each date is a Saturday, a Sunday or a holiday of the tariff."""
    free = dates.day_of_week.to_numpy() >= 5
    if holidays:
        days = _dates_of(holidays, int(dates[0].year), int(dates[-1].year))
        free |= np.isin(dates.to_numpy().astype("datetime64[D]"), days)
    return free


@lru_cache(maxsize=64)
def _dates_of(holidays: tuple[str, ...], first: int, last: int) -> NDArray[np.datetime64]:
    """Return the dates of holidays from a first to a last year."""
    found: list[str] = []
    for text in holidays:
        if len(text) == 5 and re.match(r"\d", text):
            years = range(first, last + 1)
            found += [f"{y}-{text}" for y in years if text != "02-29" or calendar.isleap(y)]
        elif re.match(r"\d", text):
            found.append(text)
        else:
            # One more year on either side: New Year's Day may be observed in the old year.
            start, end = pd.Timestamp(first - 1, 1, 1), pd.Timestamp(last + 1, 12, 31)
            for rule in _holiday_calendar().rules:
                if text in (US_FEDERAL, rule.name):
                    found += [f"{day:%Y-%m-%d}" for day in rule.dates(start, end)]
    return np.array(found, dtype="datetime64[D]")


def _check_seasons(tariff: Tariff) -> None:
    if not tariff.seasons:
        return
    where = f"{type(tariff).__name__}.seasons"
    check_names(tariff.seasons, where)
    season_of_day(tariff.seasons, where)
