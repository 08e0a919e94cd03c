"""A drawn house as instruments find it: short runs in the weather of the visit."""

from functools import cached_property
from typing import Any, cast

import attrs
import pandas as pd

from moistsim.controls import Strategy
from moistsim.equipment import Dehumidifier, Equipment
from moistsim.house import House
from moistsim.season import Season, simulate
from moistsim.weather import Weather

HUMIDIFIER = 6.0 / 86400.0
"""Output of the humidifier that is brought, kg/s: 6 kg a day, a common room humidifier on high."""
DRYING, HELD = 24.0 / 86400.0, 35.0
"""Rated capacity, kg/s, and setpoint, % RH, of the dehumidifier that is brought to be weighed where the
house has none: a common portable one of 50 pints/day at its lowest setting."""
SETTLING, WEIGHED = 1, 3
"""Days after which a machine that is brought counts, and days for which it does."""


@attrs.frozen(eq=False)
class Visit:
    """One draw's house in the days of a visit, with the machines and the control that are there.

    A humidifier or dehumidifier that is brought runs in the last days. It starts in the house as the
    days before left it, and its first day does not count, because walls and furniture follow.
    """

    house: House
    equipment: Equipment
    strategy: Strategy
    weather: Weather
    start: pd.Timestamp
    end: pd.Timestamp
    step: float | str
    impose: "pd.Series[float] | None" = None
    """Measured indoor temperature that the room follows, where the fit has it so."""
    offset: float = 0.0
    """Error of the humidity loggers that are there, percent RH, as the draw has it."""

    def _run(
        self,
        start: pd.Timestamp,
        end: pd.Timestamp,
        first: Season | None = None,
        house: House | None = None,
        equipment: Equipment | None = None,
    ) -> Season:
        return simulate(
            house or self.house, equipment or self.equipment, self.strategy, self.weather,
            start=f"{start:%Y-%m-%d}", end=f"{end:%Y-%m-%d}", step=self.step, first_state=first,
            impose=self.impose,
        )  # fmt: skip

    @property
    def brought(self) -> pd.Timestamp:
        """Day on which a machine is brought."""
        return self.end - pd.Timedelta(days=SETTLING + WEIGHED - 1)

    @cached_property
    def before(self) -> Season:
        """The days before a machine is brought."""
        return self._run(self.start, self.brought - pd.Timedelta(days=1))

    @cached_property
    def plain(self) -> Season:
        """The last days as they are, after those that settle."""
        return self._last()

    @cached_property
    def humidified(self) -> Season:
        """The same days with a humidifier of `HUMIDIFIER`."""
        gains: Any = self.house.gains
        more = attrs.evolve(gains, moisture=self.house.moisture_gain + HUMIDIFIER)
        return self._last(house=attrs.evolve(cast(Any, self.house), gains=more))

    @cached_property
    def dried(self) -> Season:
        """The same days with a dehumidifier that is brought."""
        portable = Dehumidifier(capacity=DRYING, humidistat=HELD)
        return self._last(equipment=attrs.evolve(cast(Any, self.equipment), dehumidifier=portable))

    def _last(self, **changes: Any) -> Season:
        counts = self.brought + pd.Timedelta(days=SETTLING)
        settling = self._run(self.brought, counts - pd.Timedelta(days=1), self.before, **changes)
        return self._run(counts, self.end, settling, **changes)
