"""A period of a house: its machines, its control, its weather and its meter."""

from functools import cached_property
from typing import Any

import attrs
import numpy as np
import pandas as pd

from moistsim import air
from moistsim.controls import Strategy, check_machines
from moistsim.core.errors import InputError, Problem
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.weather import Weather


@attrs.frozen(eq=False, kw_only=True)
class MeteredPeriod:
    """The time before or after an installation, with what was metered in it.

    Parameters
    ----------
    equipment : Equipment
    strategy : Strategy
    bills : Bills, DataFrame or Series, optional
        Whole-house electricity. A table has ``start``, ``end`` (the day of the next reading) and
        ``kWh``; a Series has the kWh of each interval by its start. Default: the log's interval meter.
    weather : Weather, optional
        Measured weather of these days; default: that of the log.
    log : HouseLog, optional
        Loggers of these days, for the measured humidity.
    house : House, optional
        The house, if work on it belongs to the installation; default: as it was fitted.

    Examples
    --------
    >>> import moistsim as ms
    >>> before = ms.MeteredPeriod(
    ...     equipment=ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")])),
    ...     strategy=ms.strategies.temperature_only,
    ...     weather=ms.Weather.sample("greensboro"),
    ... )
    >>> before.meter is None
    True
    """

    equipment: Equipment
    strategy: Strategy
    bills: Any = None
    _weather: Weather | None = None
    log: Any = None
    house: House | None = None

    def __attrs_post_init__(self) -> None:
        check_machines(self.strategy, self.equipment, "MeteredPeriod")
        if self._weather is None and self.log is None:
            raise InputError(
                "MeteredPeriod", Problem("no weather"), "the measured weather, or a log that has it"
            )

    @property
    def weather(self) -> Weather:
        """Weather of the period."""
        given: Weather = self.log.weather if self._weather is None else self._weather
        return given

    @property
    def meter(self) -> Any:
        """Readings of the electricity meter; None without any."""
        if self.bills is not None or self.log is None:
            return self.bills
        frame = self.log.frame
        return frame["energy"] / 1000.0 if "energy" in frame else None

    @cached_property
    def dew_points(self) -> "pd.Series[float] | None":
        """Measured indoor dew point by hour, degC; None without loggers.

        Hours in which a logger has nothing are missing.
        """
        if self.log is None:
            return None
        wet = self.log.indoor_humidity_ratio.resample("h").mean()
        pressure = self.weather.frame["pressure"].reindex(wet.index)
        known = wet.notna() & pressure.notna()
        found = air.dew_points(wet[known].to_numpy(float), pressure[known].to_numpy(float))
        return pd.Series(found, wet.index[known]).astype(np.float64)
