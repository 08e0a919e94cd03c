"""People: their presence, heat and moisture, and the windows that they open."""

import datetime
import re
from typing import Any, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import choice, description, hours_between, profile, quantity

EXPECTED_MOISTURE = 2.2 / 86400.0
"""Expected household moisture per person, kg/s (our own figure)."""

DESIGN_MOISTURE = {1: 8.0, 2: 12.0, 3: 14.0, 4: 15.0}
"""Residential design moisture of ASHRAE 160, L/day by bedrooms, for one occupant more than bedrooms.
Each further bedroom adds 1 L/day. From memory."""


def design_moisture(bedrooms: float) -> float:
    """Household moisture for the mold check, kg/s (ASHRAE 160, `DESIGN_MOISTURE`).

    The rate is seldom exceeded; it is about twice what families emit. Use it as `Gains.moisture` to
    check a design, not to estimate the cost of a season.

    Parameters
    ----------
    bedrooms : float
        Number of bedrooms; 0 counts as 1.

    Examples
    --------
    >>> round(design_moisture(3) * 86400.0, 1), round(design_moisture(6) * 86400.0, 1)
    (14.0, 17.0)
    """
    rooms = max(round(bedrooms), 1)
    return (DESIGN_MOISTURE[min(rooms, 4)] + max(rooms - 4, 0)) / 86400.0


class Activity(NamedTuple):
    """Heat from one person, W: sensible, and latent in the vapor of breath and skin."""

    sensible: float
    latent: float


ACTIVITIES = {
    "asleep": Activity(50.0, 25.0),
    "seated": Activity(70.0, 35.0),
    "light work": Activity(75.0, 55.0),
    "housework": Activity(80.0, 80.0),
    "exercise": Activity(210.0, 315.0),
}
"""Heat gain from occupants by activity, after ASHRAE Fundamentals ch. 18 (seated; office work; light
bench work; athletics), from memory. Asleep: our own figure at 0.7 met."""
LATENT_PER_KG = 2.43e6
"""Heat of evaporation at skin temperature, J/kg. It converts latent heat to vapor."""


@description
class Gains(Evolving):
    """Internal gains: heat and moisture of people, appliances and lights, equal on all days.

    With three people, the default for appliances and lights gives the internal gains of a reference
    home of ANSI/RESNET/ICC 301, from memory. That home has three bedrooms, 186 m2 (2000 ft2), and a
    sensible share of 0.8.

    Examples
    --------
    >>> gains = Gains(occupants=4, moisture="20 pint/day", appliances_and_lights="500 W")
    >>> round(gains.moisture * 86400, 1)
    9.4
    """

    occupants: float = quantity(
        "count", "number of people who live in the house", default=3.0, at_least=0.0, at_most=200.0
    )
    sensible_per_person: float = quantity(
        "W",
        "sensible heat from one person at rest or light work",
        default=70.0,
        at_least=0.0,
        at_most=1000.0,
        usual=(0.0, 200.0),
        meant=("{} Btu/h",),
    )
    presence: tuple[float, ...] = profile(
        "shape of the presence of people, by hour of the day",
        default=(1,) * 7 + (0.9, 0.6, 0.4, 0.4, 0.4, 0.5, 0.4, 0.4, 0.5, 0.6, 0.8, 0.9) + (1,) * 5,
    )
    home_fraction: float = quantity(
        "fraction",
        "mean share of the day that people are at home",
        default=0.75,
        at_least=0.0,
        at_most=1.0,
    )
    moisture: float | None = quantity(
        "kg/s",
        "household moisture from people, cooking, bathing, washing and plants together; default: "
        "2.2 kg a day for each person, an expected rate (families emit 0.5 to 1.5 times that, the "
        "design rates of ASHRAE 160 are about twice that)",
        default=None,
        at_least=0.0,
        optional=True,
        at_most=0.01,
    )
    moisture_profile: tuple[float, ...] = profile(
        "shape of household moisture, by hour of the day",
        default=(0.7,) * 6
        + (1.6, 2.0, 1.2, 0.6, 0.5, 0.6, 0.9, 0.6, 0.5)
        + (0.6, 0.9, 1.5, 2.0, 1.6, 1.2, 1.3, 1.0, 0.8),
    )  # fmt: skip
    appliances_and_lights: float = quantity(
        "W",
        "mean sensible gain from appliances and lights",
        default=600.0,
        at_least=0.0,
        at_most=1e5,
        usual=(10.0, 2e4),
        meant=("{} kW", "{} Btu/h"),
    )
    appliances_and_lights_profile: tuple[float, ...] = profile(
        "shape of the gain from appliances and lights, by hour of the day",
        default=(0.6,) * 6
        + (0.9, 1.1, 1.0, 0.8, 0.8, 0.8, 0.9, 0.8, 0.8)
        + (0.9, 1.1, 1.5, 1.7, 1.7, 1.6, 1.4, 1.1, 0.8),
    )  # fmt: skip
    appliances_and_lights_by_month: tuple[float, ...] = profile(
        "shape of the gain from appliances and lights, by month, such as more light in winter",
        default=(1.0,) * 12,
        each="month",
        start="January",
    )


def _shares(values: Any, instance: Any, field: Any) -> tuple[float, ...]:
    """Check 24 numbers from 0 to 1."""
    where = f"{type(instance).__name__}.{field.name}"
    accepted = "24 numbers from 0 to 1, one an hour from midnight"
    try:
        numbers = tuple(float(x) for x in values)
    except (TypeError, ValueError):
        raise InputError(where, values, accepted) from None
    if len(numbers) != 24 or not all(0.0 <= x <= 1.0 for x in numbers):
        raise InputError(where, values, accepted)
    return numbers


def _span(text: Any, where: str) -> str:
    """Check two days, such as "07-04 to 07-18"."""
    accepted = "two days such as '07-04 to 07-18' or '2026-07-04 to 2026-07-18'"
    match = re.fullmatch(r"((?:\d{4}-)?\d\d-\d\d) to ((?:\d{4}-)?\d\d-\d\d)", str(text).strip())
    if match is None or len(match[1]) != len(match[2]):
        raise InputError(where, text, accepted)
    for day in match.groups():
        try:
            # A leap year knows every day that there is.
            datetime.date.fromisoformat(day if len(day) > 5 else f"2000-{day}")
        except ValueError:
            raise InputError(where, text, accepted) from None
    if len(match[1]) > 5 and match[1] > match[2]:
        raise InputError(where, text, accepted + ", the first one first")
    return str(text).strip()


def _spans(values: Any, instance: Any, field: Any) -> tuple[str, ...]:
    where = f"{type(instance).__name__}.{field.name}"
    if isinstance(values, str) or not hasattr(values, "__iter__"):
        raise InputError(where, values, "a list of days, such as ['07-04 to 07-18']")
    return tuple(_span(text, where) for text in values)


def _day(value: Any, instance: Any, field: Any) -> str:
    text = value.isoformat() if isinstance(value, datetime.date) else value
    try:
        datetime.date.fromisoformat(text if re.match(r"\d{4}-", text) else f"2000-{text}")
    except (TypeError, ValueError):
        raise InputError(
            f"{type(instance).__name__}.{field.name}",
            value,
            "a day such as '07-04' or '2026-07-04'",
        ) from None
    return str(text)


def _spans_field(help: str) -> Any:
    return attrs.field(
        default=(),
        converter=attrs.Converter(_spans, takes_self=True, takes_field=True),
        metadata={"help": help},
    )


def _shares_field(help: str, default: tuple[float, ...]) -> Any:
    return attrs.field(
        default=default,
        converter=attrs.Converter(_shares, takes_self=True, takes_field=True),
        metadata={"help": help, "profile": True},
    )


@description
class Party(Evolving):
    """Guests on one day of the year, in addition to the household.

    Examples
    --------
    >>> party = Party(day="07-04", guests=12, start=17, hours=4)
    >>> party.activity
    'light work'
    """

    day: str = attrs.field(
        converter=attrs.Converter(_day, takes_self=True, takes_field=True),
        metadata={"help": "day of the party", "accepted": "'MM-DD' or 'YYYY-MM-DD'"},
    )
    guests: float = quantity("count", "number of guests", above=0.0, at_most=500)
    start: float = quantity(
        "count", "hour of the day at which guests arrive", default=18.0, at_least=0.0, below=24.0
    )
    hours: float = quantity(
        "count", "length of the stay, h; it ends by midnight", default=5.0, above=0.0, at_most=24
    )
    activity: str = choice("activity of the guests", *ACTIVITIES, default="light work")


def _parties(values: Any, instance: Any) -> tuple[Party, ...]:
    where = f"{type(instance).__name__}.parties"
    if not isinstance(values, list | tuple) or not all(isinstance(x, Party) for x in values):
        raise InputError(where, values, "a list of Party")
    for one in values:
        if one.start + one.hours > 24.0:
            raise InputError(
                where,
                Problem(f"a party of {one.hours:g} h from hour {one.start:g} ends after midnight"),
                "an end by midnight",
            )
    return tuple(values)


@description
class Occupancy(Evolving):
    """Presence and activities of people by weekday, vacation and stay.

    An occupancy replaces `Gains.presence`, `Gains.home_fraction` and `Gains.sensible_per_person`.
    `Gains.moisture` (or the expected rate) remains the household's moisture on the mean day of a
    week at home. From that moisture, people by activity, showers and cooking are taken first. The
    remaining moisture (washing, drying, plants) follows `Gains.moisture_profile` in the hours in
    which somebody is at home. Guests add to it. An empty house has no moisture gain, and
    appliances and lights at the share `appliances_and_lights_while_empty`.

    Weekdays follow the dates of the weather. In a typical year they are arbitrary, because its
    months come from different years.

    Examples
    --------
    >>> family = Occupancy(
    ...     sleep_from=22, vacations=["07-04 to 07-18"], parties=[Party(day="12-24", guests=8)]
    ... )
    >>> family.vacations
    ('07-04 to 07-18',)
    """

    weekday: tuple[float, ...] = _shares_field(
        "share of the people at home from Monday to Friday, by hour of the day",
        (1.0,) * 7 + (0.8, 0.4) + (0.2,) * 6 + (0.4, 0.5, 0.7, 0.9) + (1.0,) * 5,
    )
    weekend: tuple[float, ...] = _shares_field(
        "share of the people at home on Saturday and Sunday, by hour of the day",
        (1.0,) * 9 + (0.8, 0.7, 0.6, 0.7, 0.6, 0.5, 0.5, 0.6, 0.8, 0.9) + (1.0,) * 5,
    )
    sleep_from: float = quantity(
        "count",
        "hour of the day at which people go to sleep",
        default=23.0,
        at_least=0.0,
        below=24.0,
    )
    sleep_until: float = quantity(
        "count", "hour of the day at which people get up", default=7.0, at_least=0.0, below=24.0
    )
    activity: str = choice(
        "activity of people who are at home and awake", *ACTIVITIES, default="light work"
    )
    vacations: tuple[str, ...] = _spans_field(
        "vacations, first and last day included, such as ['07-04 to 07-18']"
    )
    stays: tuple[str, ...] = _spans_field(
        "stays in a rental house, each as day of arrival and day of departure; the house is empty "
        "between stays; default: lived in all year"
    )
    check_in: float = quantity(
        "count", "hour of the day at which a stay begins", default=16.0, at_least=0.0, below=24.0
    )
    check_out: float = quantity(
        "count", "hour of the day at which a stay ends", default=11.0, at_least=0.0, below=24.0
    )
    appliances_and_lights_while_empty: float = quantity(
        "fraction", "gain from appliances and lights in an empty house, over that in a lived-in house",
        default=0.3, at_least=0.0, at_most=1.0,
    )  # fmt: skip
    shower_water: float = quantity(
        "kg",
        "vapor from one shower that stays in the house",
        default=0.25,
        at_least=0.0,
        at_most=10.0,
        usual=(0.0, 2.0),
        meant=("{} lb", "{} g"),
    )
    shower_time: float = quantity(
        "s",
        "length of one shower",
        default="8 min",
        above=0.0,
        at_most=3600.0,
        usual=(60.0, 3600.0),
        meant=("{} min",),
    )
    showers: float = quantity(
        "count", "showers per person and day", default=1.0, at_least=0.0, at_most=10
    )
    shower_hour: float = quantity(
        "count", "hour of the day at which showers begin, one after the other", default=7.0,
        at_least=0.0, at_most=23.0,
    )  # fmt: skip
    cooking_water: float = quantity(
        "kg",
        "vapor from the day's main meal that the range hood does not catch",
        default=0.6,
        at_least=0.0,
        at_most=50.0,
        usual=(0.0, 5.0),
        meant=("{} lb", "{} g"),
    )
    cooking_time: float = quantity(
        "s",
        "cooking time of the main meal",
        default="40 min",
        above=0.0,
        at_most=3600.0,
        usual=(60.0, 3600.0),
        meant=("{} min",),
    )
    cooking_hour: float = quantity(
        "count", "hour of the day at which cooking begins", default=18.0, at_least=0.0,
        at_most=23.0,
    )  # fmt: skip
    parties: tuple[Party, ...] = attrs.field(
        default=(),
        converter=attrs.Converter(_parties, takes_self=True),
        metadata={"help": "parties: days with guests", "part": Party, "many": True},
    )

    def __attrs_post_init__(self) -> None:
        for name in ("shower_hour", "cooking_hour"):
            if getattr(self, name) % 1.0:
                raise InputError(
                    f"{type(self).__name__}.{name}", getattr(self, name), "a whole hour"
                )

    def stayed_in(self, index: pd.DatetimeIndex) -> NDArray[np.bool_]:
        """Whether the house is lived in, by hour of `index`: not on vacation, and within a stay."""
        lived = np.zeros(len(index), dtype=bool) if self.stays else np.ones(len(index), dtype=bool)
        for text in self.stays:
            lived |= _within(index, text, self.check_in, self.check_out)
        for text in self.vacations:
            lived &= ~_within(index, text, 0.0, 24.0)
        return lived

    def asleep(self, hour: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Whether people at home sleep, by hour of the day."""
        return hours_within(hour, self.sleep_from, self.sleep_until)


def hours_within(hour: NDArray[np.int64], start: float, end: float) -> NDArray[np.bool_]:
    """Whether the middle of each hour lies between two hours of the day; they may span midnight."""
    middle = hour + 0.5
    if start <= end:
        return (middle >= start) & (middle < end)
    return (middle >= start) | (middle < end)


def _within(
    index: pd.DatetimeIndex, text: str, first_hour: float, last_hour: float
) -> NDArray[np.bool_]:
    """Whether the middle of each hour lies between an hour of a first and one of a last day."""
    first, last = text.split(" to ")
    middle = index.hour + index.minute / 60.0 + 0.5
    if len(first) > 5:
        days = (index.normalize() - pd.Timestamp(first)).days
        length = (pd.Timestamp(last) - pd.Timestamp(first)).days
        at = np.asarray(24.0 * days + middle)
        return (at >= first_hour) & (at < 24.0 * length + last_hour)
    at = np.asarray(24.0 * (31 * index.month + index.day) + middle)
    start, end = (
        24.0 * (31 * int(day[:2]) + int(day[3:])) + hour
        for day, hour in ((first, first_hour), (last, last_hour))
    )
    if start <= end:
        return (at >= start) & (at < end)
    return (at >= start) | (at < end)


def on_day(index: pd.DatetimeIndex, day: str) -> NDArray[np.bool_]:
    """Whether each hour belongs to a day, 'MM-DD' or 'YYYY-MM-DD'."""
    return np.asarray(index.strftime("%m-%d" if len(day) == 5 else "%Y-%m-%d") == day)


@description
class WindowOpening(Evolving):
    """Windows that people open on mild days, by a rule.

    People decide once an hour, at its start. They open windows while the house is lived in, the hour
    is within `hours`, and the outdoor temperature is from `low` to `high`. The rules add conditions:

    * `habit` adds none.
    * `temperature` needs a room above `indoor_above`, and outdoor air at least 1 K cooler.
    * `dew point` needs the conditions of `temperature`, and an outdoor dew point below `dew_point`.

    The controls do not know that windows are open, so the machines keep running.

    Examples
    --------
    >>> opening = WindowOpening(rule="dew point", dew_point="57 degF", hours=(8, 21))
    >>> round(opening.dew_point, 1)
    13.9
    """

    rule: str = choice(
        "rule by which people open windows",
        "temperature",
        "habit",
        "dew point",
        default="temperature",
    )
    area: float = quantity(
        "m2",
        "open area for incoming air; the same area lets air out",
        default=0.5,
        above=0.0,
        at_most=50.0,
        usual=(0.0, 15.0),
    )
    height: float = quantity(
        "m", "height from the middle of the lower openings to the neutral pressure level", default=0.5,
        at_least=0.0, at_most=20.0, usual=(0.0, 6.0),
    )  # fmt: skip
    low: float = quantity(
        "degC",
        "lowest outdoor temperature with open windows",
        default=16.0,
        at_least=-60.0,
        at_most=60.0,
    )
    high: float = quantity(
        "degC",
        "highest outdoor temperature with open windows",
        default=25.0,
        at_least=-60.0,
        at_most=60.0,
    )
    indoor_above: float = quantity(
        "degC",
        "lowest room temperature with open windows; not used by the rule habit",
        default=23.0,
        at_least=-60.0,
        at_most=60.0,
        usual=(0.0, 38.0),
    )
    dew_point: float = quantity(
        "degC",
        "highest outdoor dew point with open windows; used by the rule dew point",
        default=13.0,
        at_least=-60.0,
        at_most=60.0,
        usual=(-60.0, 32.0),
    )
    hours: tuple[float, ...] = hours_between(
        "hours of the day, first and last, in which people open windows (local standard time)",
        default=(7.0, 22.0),
        example="[7, 22], over midnight or not",
    )

    def __attrs_post_init__(self) -> None:
        if self.high <= self.low:
            raise InputError(
                f"{type(self).__name__}.high",
                f"{self.high:.1f} °C",
                f"a temperature above the low one, {self.low:.1f} °C",
            )
