"""Parts of a tariff: tiers, periods, seasons and demand charges, and checks that they cover each hour
once."""

import datetime
import re
from collections.abc import Callable, Iterable
from typing import Any

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem, brief
from moistsim.core.fields import choice, description, quantity, several

WEEKDAYS, FREE_DAYS, EVERY_DAY = "weekdays", "weekends and holidays", "every day"
QUARTERS = 96
"""Number of quarter hours in a day."""
MOST_PRICE = 5.0
"""Highest accepted price, USD/kWh. The limit refuses a price such as 15 that means 15 cents."""


# ---------------------------------------------------------------------- fields of words


def words_field(
    read: Callable[[str], object], accepted: str, help: str, example: str, **default: Any
) -> Any:
    """Make a field for a list of texts. `read` raises ValueError for a text that it cannot read."""

    def convert(values: Any, instance: Any, field: Any) -> tuple[str, ...]:
        where = f"{type(instance).__name__}.{field.name}"
        if isinstance(values, str) or not hasattr(values, "__iter__"):
            raise InputError(where, values, f"a list such as {example}")
        texts = [v.isoformat() if isinstance(v, datetime.date) else v for v in values]
        for text in texts:
            try:
                read(text)
            except (ValueError, TypeError, AttributeError):
                raise InputError(where, text, accepted) from None
        return tuple(texts)

    return attrs.field(
        converter=attrs.Converter(convert, takes_self=True, takes_field=True),
        metadata={"help": help, "accepted": f"a list such as {example}"},
        **default,
    )


def _quarters_of(text: str) -> NDArray[np.intp]:
    """Quarter hours of the day in "14:00 to 20:00", which may span midnight."""
    match = re.fullmatch(r"(\d\d?):(\d\d) to (\d\d?):(\d\d)", text.strip())
    if match is None:
        raise ValueError(text)
    hour, minute, last_hour, last_minute = (int(x) for x in match.groups())
    start, end = 4 * hour + minute // 15, 4 * last_hour + last_minute // 15
    if minute % 15 or last_minute % 15 or max(minute, last_minute) > 45 or start == end:
        raise ValueError(text)
    if max(start, end) > QUARTERS:
        raise ValueError(text)
    return np.arange(start, end if end > start else end + QUARTERS) % QUARTERS


def _month_day(text: str) -> int:
    """Day of a common year, counted from 0; February 29 counts as February 28."""
    text = "02-28" if text == "02-29" else text
    return datetime.date.fromisoformat(f"2001-{text}").timetuple().tm_yday - 1


def _days_of(text: str) -> NDArray[np.intp]:
    """Days of a common year in "06-01 to 09-30", which may span New Year."""
    match = re.fullmatch(r"(\d\d-\d\d) to (\d\d-\d\d)", text.strip())
    if match is None:
        raise ValueError(text)
    first, last = (_month_day(day) for day in match.groups())
    return np.arange(first, last + 1 if last >= first else last + 366) % 365


def _hours_field(help: str) -> Any:
    return words_field(
        _quarters_of,
        "two different times of the day at quarters of an hour, such as '14:00 to 20:00'",
        help,
        "['14:00 to 20:00']",
        default=(),
    )


def _name_field(help: str, **default: Any) -> Any:
    def check(instance: Any, field: Any, value: Any) -> None:
        if not isinstance(value, str) or not (value.strip() or default):
            raise InputError(f"{type(instance).__name__}.{field.name}", value, "a name")

    return attrs.field(validator=check, metadata={"help": help, "accepted": "a name"}, **default)


def day_mask(hours: Iterable[str]) -> NDArray[np.bool_]:
    """Quarter hours of a day in a list of texts; all of them for an empty list."""
    mask = np.zeros(QUARTERS, dtype=bool)
    for text in hours:
        mask[_quarters_of(text)] = True
    return mask if mask.any() else ~mask


# ---------------------------------------------------------------------- the parts of a tariff


@description
class RateTier(Evolving):
    """A tier: a block of a month's use, with its price.

    Lower tiers are used up first. If a run or a season covers only part of a month, the tier is in
    proportion to the days covered.

    Examples
    --------
    >>> first, rest = RateTier(price="11 cent/kWh", up_to=600), RateTier(price="14 cent/kWh")
    >>> first.price, rest.up_to is None
    (0.11, True)
    """

    price: float = quantity(
        "USD/kWh", "price of energy within the tier", at_least=0.0, at_most=MOST_PRICE
    )
    up_to: float | None = quantity(
        "kWh", "monthly use at which the tier ends; default: no end, for the last tier only",
        default=None, above=0.0, optional=True, at_most=1e7,
    )  # fmt: skip


@description
class RatePeriod(Evolving):
    """A time-of-use period: hours of the day, with their price.

    A period without hours and days covers all remaining hours. Hours after midnight belong to the
    day on which they fall.

    Examples
    --------
    >>> RatePeriod(name="off peak", price="9 cent/kWh").takes_the_rest
    True
    """

    name: str = _name_field("name of the period on the bill, such as 'on peak'")
    price: float = quantity(
        "USD/kWh", "price of energy in the period", at_least=0.0, at_most=MOST_PRICE
    )
    hours: tuple[str, ...] = _hours_field("hours of the period, local civil time; default: all day")
    days: str = choice("days of the period", EVERY_DAY, WEEKDAYS, FREE_DAYS, default=EVERY_DAY)

    @property
    def takes_the_rest(self) -> bool:
        """Whether the period has neither hours nor days of its own."""
        return not self.hours and self.days == EVERY_DAY


@description
class RateSeason(Evolving):
    """A part of the year with its own prices: one price, tiers or periods.

    Examples
    --------
    >>> summer = RateSeason(name="summer", days=["06-01 to 09-30"], price="16 cent/kWh")
    >>> summer.price
    0.16
    """

    name: str = _name_field("name of the season on the bill, such as 'summer'")
    days: tuple[str, ...] = words_field(
        _days_of,
        "two days of the year such as '06-01 to 09-30', the last one counted",
        "first and last day of each part of the season",
        "['06-01 to 09-30']",
    )
    price: float | None = quantity(
        "USD/kWh", "price of energy in the season; not with tiers or periods", default=None, at_least=0.0,
        at_most=MOST_PRICE, optional=True,
    )  # fmt: skip
    tiers: tuple[RateTier, ...] = several(RateTier, "tiers of a month's use, the lowest first")
    periods: tuple[RatePeriod, ...] = several(RatePeriod, "time-of-use periods")

    def __attrs_post_init__(self) -> None:
        check_prices(self, ("price", "tiers", "periods"))


@description
class DemandCharge(Evolving):
    """A charge on the highest mean power bought in a month.

    Examples
    --------
    >>> charge = DemandCharge(price="9 USD/kW", hours=["15:00 to 19:00"], days="weekdays")
    >>> charge.window
    '15 min'
    """

    price: float = quantity(
        "USD/kW", "monthly charge on the highest power", at_least=0.0, at_most=1e4
    )
    window: str = choice(
        "length of the interval over which power is averaged", "15 min", "60 min", default="15 min"
    )
    name: str = _name_field("name of the charge on the bill", default="")
    hours: tuple[str, ...] = _hours_field(
        "hours in which power counts, local civil time; default: all day"
    )
    days: str = choice(
        "days on which power counts", EVERY_DAY, WEEKDAYS, FREE_DAYS, default=EVERY_DAY
    )
    season: str = _name_field(
        "name of the season in which power counts; default: all year", default=""
    )
    ratchet: float = quantity(
        "fraction", "minimum billed power over the highest power of the eleven months before, as far "
        "as the run has them", default=0.0, at_least=0.0, at_most=1.0,
    )  # fmt: skip


# ---------------------------------------------------------------------- checks that name names


def check_prices(owner: Any, ways: tuple[str, ...]) -> None:
    kind = type(owner).__name__
    given = [way for way in ways if getattr(owner, way) not in (None, ())]
    if len(given) != 1:
        found = " and ".join(given) + " together" if given else "no prices"
        raise InputError(
            f"{kind}.{given[-1] if given else ways[0]}", found, "one of " + ", ".join(ways)
        )
    _check_tiers(owner.tiers, f"{kind}.tiers")
    if owner.periods:
        check_names(owner.periods, f"{kind}.periods")
        periods_of_day(owner.periods, f"{kind}.periods")


def check_names(parts: Iterable[Any], where: str) -> None:
    names = [one.name for one in parts]
    for name in names:
        if names.count(name) > 1:
            raise InputError(where, Problem(f"two have the name {brief(name)}"), "different names")


def _check_tiers(tiers: tuple[RateTier, ...], where: str) -> None:
    below = 0.0
    for k, tier in enumerate(tiers):
        last = k == len(tiers) - 1
        if tier.up_to is None:
            if not last:
                raise InputError(
                    f"{where}[{k}].up_to", Problem("missing, but another tier follows"),
                    "the monthly use at which the tier ends, kWh",
                )  # fmt: skip
        elif last:
            raise InputError(
                f"{where}[{k}].up_to", Problem(f"no price above {tier.up_to:g} kWh"),
                "a last tier without up_to",
            )  # fmt: skip
        elif tier.up_to <= below:
            raise InputError(
                f"{where}[{k}].up_to", f"{tier.up_to:g} kWh",
                f"more than the {below:g} kWh of the tier before it: tiers rise",
            )  # fmt: skip
        else:
            below = tier.up_to


def _clock(quarter: int) -> str:
    return f"{quarter // 4:02d}:{quarter % 4 * 15:02d}"


def _first_run(mask: NDArray[np.bool_]) -> tuple[int, int]:
    first = int(np.argmax(mask))
    rest = ~mask[first:]
    return first, first + int(np.argmax(rest)) if rest.any() else len(mask)


def periods_of_day(periods: tuple[RatePeriod, ...], where: str = "periods") -> NDArray[np.intp]:
    """Position of the period of each quarter: a row for weekdays and one for free days.

    Raises
    ------
    InputError
        If a quarter belongs to no period or to two, with their names.
    """
    rest = [k for k, period in enumerate(periods) if period.takes_the_rest]
    if len(rest) > 1:
        found = (
            " and ".join(repr(periods[k].name) for k in rest[:2]) + ", neither with hours or days"
        )
        raise InputError(where, found, "one such period; it covers all remaining hours")
    out = np.full((2, QUARTERS), rest[0] if rest else -1)
    for row, days in enumerate((WEEKDAYS, FREE_DAYS)):
        taken = np.full(QUARTERS, -1)
        for k, period in enumerate(periods):
            if period.takes_the_rest or period.days not in (EVERY_DAY, days):
                continue
            mask = day_mask(period.hours)
            both = mask & (taken >= 0)
            if both.any():
                first, last = _first_run(both)
                other = periods[int(taken[first])].name
                raise InputError(
                    where,
                    Problem(
                        f"{brief(other)} and {brief(period.name)} overlap on {days} from {_clock(first)} to "
                        f"{_clock(last)}"
                    ),
                    "periods that cover each hour once",
                )
            taken[mask] = k
        out[row] = np.where(taken >= 0, taken, out[row])
        gap = out[row] < 0
        if gap.any():
            first, last = _first_run(gap)
            raise InputError(
                where,
                Problem(f"no period on {days} from {_clock(first)} to {_clock(last)}"),
                "periods that cover each hour once; one without hours and days covers all others",
            )
    return out


def day_of_year(index: pd.DatetimeIndex) -> NDArray[np.intp]:
    """Day of a common year of each time, from 0; February 29 is as the 28th."""
    day = index.day_of_year.to_numpy().astype(np.intp)
    leap = index.is_leap_year & (day > 59)
    return np.asarray(day - 1 - leap, dtype=np.intp)


def season_of_day(seasons: tuple[RateSeason, ...], where: str = "seasons") -> NDArray[np.intp]:
    """Position of the season of each day of a common year.

    Raises
    ------
    InputError
        If a day is in no season or in two, with their names.
    """
    out = np.full(365, -1)

    def date(day: int) -> str:
        return f"{datetime.date(2001, 1, 1) + datetime.timedelta(days=day):%m-%d}"

    for k, season in enumerate(seasons):
        for text in season.days:
            days = np.zeros(365, dtype=bool)
            days[_days_of(text)] = True
            both = days & (out >= 0)
            if both.any():
                first, last = _first_run(both)
                other = seasons[int(out[first])].name
                raise InputError(
                    where,
                    Problem(
                        f"{brief(other)} and {brief(season.name)} overlap from {date(first)} to {date(last - 1)}"
                    ),
                    "seasons that cover each day of the year once",
                )
            out[days] = k
    gap = out < 0
    if gap.any():
        first, last = _first_run(gap)
        raise InputError(
            where,
            Problem(f"no season from {date(first)} to {date(last - 1)}"),
            "seasons that cover each day of the year once",
        )
    return out
