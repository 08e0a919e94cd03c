"""The owner's goal: how many hours a house may be humid."""

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError
from moistsim.core.fields import description, quantity
from moistsim.engine import MEASURE, column_catalog
from moistsim.season import Season

MARKS = {float(mark): MEASURE[f"hours_over_{mark}"] for mark in (55, 60, 65)}
"""Relative humidities above which a season counts its hours, percent, with the measure of each."""
SHARE = 0.01
"""Share of the hours that may be humid by default, the share that weather data call the 1 % hours."""


@description
class Goal(Evolving):
    """How many hours of a year the house may be above a relative humidity.

    A study brings each option to its goal: to the setpoints that keep it, and no drier. A goal in
    hours answers the complaint. A mean humidity does not: a house that is too dry in July may be
    humid in October at the same mean.

    Examples
    --------
    >>> goal = Goal(above_rh="60 %", hours=100)
    >>> goal.words
    'at most 100 hours a year above 60 % RH'
    >>> goal.most_hours(4380)
    50.0
    """

    above_rh: float = quantity(
        "percent",
        "relative humidity above which hours count: 55, 60 or 65 %",
        default=60.0,
        at_least=0.0,
        at_most=100.0,
        usual=(2.0, 100.0),
    )
    hours: float | None = quantity(
        "count",
        "most hours of a year above it; default: 1 % of the hours, 88 in a year",
        default=None,
        at_least=0.0,
        at_most=8760.0,
        optional=True,
    )

    def __attrs_post_init__(self) -> None:
        if self.above_rh not in MARKS:
            raise InputError("Goal.above_rh", self.above_rh, "55, 60 or 65 %")

    def most_hours(self, hours_run: float) -> float:
        """Most hours above the mark in a season of so many hours."""
        if self.hours is None:
            return SHARE * hours_run
        return self.hours * hours_run / 8760.0

    def humid_hours(self, season: Season) -> float:
        """Hours of a season above the mark, in the more humid of the conditioned zones."""
        hours = season.meter.of(MARKS[self.above_rh])
        if column_catalog.SECOND_ZONE not in season.spaces:
            return hours
        if self.above_rh == 60.0:
            return max(hours, season.meter.of(column_catalog.IN_BOTH_ZONES[0][1]))
        second = season.hourly[f"{column_catalog.SECOND_ZONE}_rh_pct"]
        return max(hours, float((second > self.above_rh).sum()))

    def is_kept(self, season: Season) -> bool:
        """Whether a season keeps the goal."""
        return self.humid_hours(season) <= self.most_hours(len(season.quarters) / 4)

    @property
    def words(self) -> str:
        """The goal in words."""
        most = self.most_hours(8760.0)
        return f"at most {most:,.0f} hours a year above {self.above_rh:g} % RH"
