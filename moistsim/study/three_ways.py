"""One question asked three ways: the options as set, at the owner's goal, and at one dew point."""

import attrs
import pandas as pd

from moistsim.core.display import Show, Units, money, units_or_default
from moistsim.core.errors import InputError, one_of
from moistsim.core.measures import in_trade
from moistsim.core.summary import Tabled, short
from moistsim.engine import column_catalog
from moistsim.study.at_goal import AtGoal
from moistsim.study.matching import Matched
from moistsim.study.study import Comparison

WAYS = ("as_set", "at_goal", "equal_dew_point")
"""The three ways, as the ends of the columns of `ThreeWays.table`."""
ALIKE = 10.0
"""Difference between the three answers that is not worth an explanation, USD. Our own choice."""
_SHOWN = (column_catalog.COST, column_catalog.TOTAL, column_catalog.MEAN_DEW_POINT)


@attrs.frozen(eq=False)
class ThreeWays(Tabled):
    """Cost of each option as set, at the goal, and at the dew point of the driest option.

    `Study.three_ways` makes it. The three answer different questions: what the owner pays with
    today's settings, what the cure of the complaint costs, and what a machine costs for equal water.

    Examples
    --------
    >>> import moistsim as ms
    >>> machines = ms.Equipment(dehumidifier=ms.Dehumidifier(capacity="50 pint/day"))
    >>> study = ms.Study(
    ...     ms.House(floor_area="1900 ft2"),
    ...     {
    ...         "48 %": (machines, ms.strategies.with_dehumidifier(target_rh=48)),
    ...         "55 %": (machines, ms.strategies.with_dehumidifier(target_rh=55)),
    ...     },
    ...     ms.Weather.sample("greensboro"),
    ...     start="05-10",
    ...     end="05-12",
    ... )
    >>> ways = study.three_ways(progress=False)
    >>> list(ways.table().columns[:3])
    ['cost_as_set_USD', 'cost_at_goal_USD', 'cost_equal_dew_point_USD']
    """

    at_goal: AtGoal
    matched: Matched

    def __repr__(self) -> str:
        return short(self, self.at_goal.options)

    @property
    def comparisons(self) -> tuple[Comparison, Comparison, Comparison]:
        """The options as set, at the goal and at one dew point, in the order of `WAYS`."""
        return self.at_goal.as_set, self.at_goal.comparison, self.matched.comparison

    def table(self, units: Units | None = None) -> pd.DataFrame:
        """Cost, electricity and mean dew point of each option, the three ways side by side.

        Raises
        ------
        InputError
            If `units` is neither.
        """
        units = units_or_default(units, "table units")
        frames = [comparison.table("si") for comparison in self.comparisons]
        measures = [measure.called(way) for measure in _SHOWN for way in WAYS]
        columns = [frame[measure.name] for measure in _SHOWN for frame in frames]
        table = pd.concat(columns, axis=1, keys=[measure.name for measure in measures])
        return table if units == "si" else in_trade(table, measures)

    def words(self, option: str, against: str, units: Units | None = None) -> str:
        """What one option costs more than another in each way, and why the three differ.

        Raises
        ------
        InputError
            If there is no such option.
        """
        for name in (option, against):
            if name not in self.at_goal.options:
                raise InputError("three_ways option", name, one_of(name, self.at_goal.options))
        table, show = self.table("si"), Show(units_or_default(units))
        gaps, drier = [], []
        for way in WAYS:
            cost = table[column_catalog.COST.called(way).name]
            dew_point = table[column_catalog.MEAN_DEW_POINT.called(way).name]
            gaps.append(float(cost[option] - cost[against]))
            drier.append(float(dew_point[option]))
        more = [f"{money(abs(gap))} {'more' if gap >= 0.0 else 'less'}" for gap in gaps]
        text = (
            f"“{option}” costs {more[0]} than “{against}” as set. At the owner’s goal it costs {more[1]}, and "
            f"at one dew point {more[2]}."
        )
        if max(gaps) - min(gaps) < ALIKE:
            text += " The three are alike because its humidity hardly moves from one to the other."
        else:
            text += " The three differ because removing water costs energy, and it removes different amounts."
        text += (
            f" As set it keeps a mean dew point of {show(drier[0], 'temperature', 1)}. "
            f"At the goal it keeps {show(drier[1], 'temperature', 1)}. At one dew point it must hold "
            f"{show(drier[2], 'temperature', 1)}, like the driest option."
        )
        reached = self.at_goal.options
        late = [
            f"“{name}”"
            for name in (option, against)
            if not (reached[name].meets and reached[name].comparable)
        ]
        if late:
            text += f" The goal is out of reach for {' and '.join(late)}."
        cannot = [f"“{name}”" for name in (option, against) if name in self.matched.cannot]
        if cannot:
            text += f" The dew point is out of reach for {' and '.join(cannot)}."
        return text
