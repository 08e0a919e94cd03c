"""Greenhouse gas from what a house uses, by a factor or by the hour."""

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import description, part, quantity
from moistsim.prices.hourly_profile import HourlyProfile


@description
class Emissions:
    """Factors of CO2 equivalents (CO2e) for electricity and gas.

    The factor of electricity may be that of all that the grid makes, or of what it makes more for
    one kWh more; for the difference between options the second is the better one. What a house's
    own solar panels give is not taken off.
    """

    electricity: float | None = quantity(
        "kg/kWh",
        "CO2e of electricity at the meter; left out only beside a profile",
        default=None,
        at_least=0.0,
        optional=True,
    )
    electricity_profile: HourlyProfile | None = part(
        HourlyProfile, "the same by the hour, kg/kWh, in place of the factor", default=None,
        optional=True,
    )  # fmt: skip
    gas: float = quantity(
        "kg/kWh",
        "CO2e of gas burnt, by its higher heating value (53.06 kg CO2 a million Btu, the factor "
        "of US national inventories, from memory)",
        default="5.306 kg/therm",
        at_least=0.0,
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
        """What is emitted, kg CO2e.

        Parameters
        ----------
        power : Series
            As for `bill`: mean power by the quarter of an hour or by the hour, kW, by local
            standard time.
        gas : Series, optional
            kWh.

        Raises
        ------
        InputError
            If a value is no number.
        """
        index = pd.DatetimeIndex(power.index)
        hours = (index[1] - index[0]) / pd.Timedelta(hours=1)
        kwh = power.to_numpy(float, na_value=np.nan) * hours
        burnt = 0.0 if gas is None else float(gas.sum(skipna=False))
        if not np.isfinite(kwh).all() or not np.isfinite(burnt):
            raise InputError(
                "Emissions.of", Problem("a value that is no number"), "power and gas in kW, kWh"
            )
        if self.electricity_profile is not None:
            emitted = float(np.dot(self.electricity_profile.at(index), kwh))
        else:
            emitted = float(self.electricity or 0.0) * float(kwh.sum())
        return emitted + self.gas * burnt
