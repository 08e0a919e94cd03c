"""Least work that any machine needs to dry air: the yardstick for kWh per liter."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moistsim import air
from moistsim.core.errors import InputError
from moistsim.core.units import to_si

J_PER_KWH = 3.6e6
R_VAPOR = air.R_DRY_AIR / air.MOLE_RATIO
"""Gas constant of water vapor, J/(kg K)."""


def least_work(
    temperature: float | str,
    relative_humidity: float | str,
    *,
    outdoor_temperature: float | str | None = None,
) -> float:
    """Least work that takes water vapor out of room air as liquid water, kWh/kg.

    No machine of any kind can do it with less, because this is the work of a reversible one. It is
    the exergy of the vapor above liquid water. A kilogram is a liter within 0.2 %.

    With the heat of the water left in the room, as a stand-alone dehumidifier leaves it, vapor and
    liquid have one temperature T. The least work is the difference of their Gibbs energies::

        w = R_v T ln(1 / RH)

    With the heat moved outdoors, at a temperature T0, the machine also pumps the heat of the water
    up to T0, and the liquid leaves at T0. The vapor's heat capacity is constant here::

        w = R_v T0 ln(p_sat(T0) / p_v) - c_p (T - T0 - T0 ln(T / T0))

    It is 0 where the outdoors is so cold that the water would condense there without a machine.

    Parameters
    ----------
    temperature : float or str
        Dry bulb of the room, degC or a text with its unit.
    relative_humidity : float or str
        RH of the room, percent, above 0.
    outdoor_temperature : float or str, optional
        Outdoor dry bulb to which the heat goes, degC. Default: the heat stays in the room.

    Returns
    -------
    float
        kWh per kg of water.

    Raises
    ------
    InputError
        If a number is out of range.

    References
    ----------
    W. J. Wepfer, R. A. Gaggioli and E. F. Obert, Proper evaluation of available energy for HVAC,
    ASHRAE Transactions 85 (1979); A. Bejan, Advanced Engineering Thermodynamics, chapter on exergy
    (both from memory). The tests compare it with entropy and enthalpy of CoolProp's humid air.

    Examples
    --------
    >>> import moistsim as ms
    >>> round(ms.least_work("75 degF", "52 %"), 3)
    0.025
    >>> round(ms.least_work("75 degF", "52 %", outdoor_temperature="95 degF"), 3)
    0.051
    """
    room = to_si(temperature, "degC", "least_work temperature")
    percent = to_si(relative_humidity, "percent", "least_work relative_humidity")
    given = [("temperature", room)]
    if outdoor_temperature is not None:
        away = to_si(outdoor_temperature, "degC", "least_work outdoor_temperature")
        given.append(("outdoor_temperature", away))
    for name, value in given:
        if not -40.0 <= value <= 60.0:
            raise InputError(f"least_work {name}", f"{value:.1f} °C", "from -40 to 60 °C")
    if not 0.0 < percent <= 100.0:
        raise InputError(
            "least_work relative_humidity", f"{percent:g} %", "above 0 and up to 100 %"
        )
    vapor = 0.01 * percent * float(air.saturation_pressure(room))
    found = least_works(room, vapor, given[-1][1])
    return float(found)


def least_works(
    temperature: ArrayLike, vapor_pressure: ArrayLike, heat_to: ArrayLike
) -> NDArray[np.float64]:
    """Least work of many states of air, kWh/kg; `least_work` gives the equation.

    Parameters
    ----------
    temperature : array
        Dry bulb of the air, degC.
    vapor_pressure : array
        Vapor pressure of the air, Pa.
    heat_to : array
        Temperature at which the heat is rejected and the water leaves, degC.
    """
    t = np.asarray(temperature, float) + air.KELVIN
    away = np.asarray(heat_to, float) + air.KELVIN
    saturated = air.over(air.saturation_pressure, heat_to)
    # R T ln(p_sat / p_v): at the temperature of the liquid, vapor of p_sat is worth the liquid.
    work = R_VAPOR * away * np.log(saturated / np.asarray(vapor_pressure, float))
    work -= air.CP_VAPOR * (t - away - away * np.log(t / away))
    return np.asarray(np.maximum(work, 0.0) / J_PER_KWH)
