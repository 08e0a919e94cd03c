"""Greenhouse gas emissions of a house, by a factor or by hour."""

import numpy as np
import pandas as pd

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import description, part, quantity
from moistsim.prices.hourly_profile import HourlyProfile


@description
class Emissions(Evolving):
    """Emission factors of electricity and gas in CO2 equivalents (CO2e).

    The electricity factor may be the average of the grid, or the marginal factor of one more kWh.
    The marginal factor suits differences between options. Output of the house's own solar panels is
    not subtracted.

    Examples
    --------
    >>> factors = Emissions(electricity="0.42 kg/kWh")
    >>> hours = pd.date_range("2026-07-01", periods=24, freq="h")
    >>> round(factors.of(pd.Series(2.0, index=hours)), 2)
    20.16
    """

    electricity: float | None = quantity(
        "kg/kWh",
        "emission factor of electricity at the meter, CO2e; not with a profile",
        default=None,
        at_least=0.0,
        optional=True,
        at_most=10.0,
    )
    electricity_profile: HourlyProfile | None = part(
        HourlyProfile, "emission factor of electricity by hour, kg/kWh, instead of one factor", default=None,
        optional=True,
    )  # fmt: skip
    gas: float = quantity(
        "kg/kWh",
        "emission factor of gas by higher heating value, CO2e (53.06 kg CO2 a million Btu, the factor "
        "of US national inventories, from memory)",
        default="5.306 kg/therm",
        at_least=0.0,
        at_most=10.0,
    )

    def __attrs_post_init__(self) -> None:
        if (self.electricity is None) == (self.electricity_profile is None):
            neither = self.electricity is None
            raise InputError(
                f"{type(self).__name__}.electricity",
                "no factor and no profile" if neither else "a factor and a profile",
                "one of electricity and electricity_profile",
            )

    def of(self, power: pd.Series, gas: pd.Series | None = None) -> float:
        """Return emissions, kg CO2e.

        Parameters
        ----------
        power : Series
            Mean power of each quarter hour or hour, kW, in local standard time, as for `bill`.
        gas : Series, optional
            Gas burned, kWh.

        Raises
        ------
        InputError
            If a value is not a number.
        """
        index = pd.DatetimeIndex(power.index)
        hours = (index[1] - index[0]) / pd.Timedelta(hours=1)
        kwh = power.to_numpy(float, na_value=np.nan) * hours
        burnt = 0.0 if gas is None else float(gas.sum(skipna=False))
        if not np.isfinite(kwh).all() or not np.isfinite(burnt):
            raise InputError(
                "Emissions.of", Problem("a value is not a number"), "power in kW and gas in kWh"
            )
        if self.electricity_profile is not None:
            emitted = float(np.dot(self.electricity_profile.at(index), kwh))
        else:
            emitted = float(self.electricity or 0.0) * float(kwh.sum())
        return emitted + self.gas * burnt
