"""Moist air: the relations of an ideal mixture of dry air and water vapor.

Scalars in, scalars out, compiled: temperature in degC, pressure in Pa, humidity ratio in kg of
water per kg of dry air, enthalpy in J per kg of dry air. `over` applies any of them to arrays.

The equations are those of the ASHRAE Handbook of Fundamentals, chapter 1 (Psychrometrics);
the constants are the handbook's, so results agree with its tables and with PsychroLib.
"""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moistsim.core.compiled import compiled

STANDARD_PRESSURE = 101_325.0
"""Pressure of the standard atmosphere at sea level, Pa."""
STANDARD_DENSITY = 1.204
"""Density of standard air (20 degC, 101.325 kPa, dry), in which airflow is rated, kg/m3."""
KELVIN = 273.15
"""Zero of the Celsius scale, K."""
R_DRY_AIR = 287.042
"""Gas constant of dry air, J/(kg K)."""
MOLE_RATIO = 0.621945
"""Molar mass of water over that of dry air."""
CP_DRY_AIR = 1006.0
"""Specific heat of dry air, J/(kg K)."""
CP_VAPOR = 1860.0
"""Specific heat of water vapor, J/(kg K)."""
H_EVAPORATION = 2_501_000.0
"""Enthalpy of water vapor at 0 degC above liquid water at 0 degC, J/kg."""
CP_WATER = 4186.0
"""Specific heat of liquid water, J/(kg K)."""
TRIPLE_POINT = 0.01
"""Triple point of water, degC."""
LOG_ICE_POINT = math.log(611.2)
"""Logarithm of a rounded saturation pressure at 0 degC, Pa; origin of dew point guesses."""
LAST_STEP = 0.15
"""Newton step below which `closer` needs no other step, K.
With the curvature and its change, the error is then less than 2e-7 K, which a test checks. This
holds for dew points, wet bulbs and apparatus dew points from -30 to 40 degC. A quarter of the
step leaves 1/256 of the error."""
SHORT_STEP = 1.0e-4
"""Step below which a solver stops even across freezing, K. The curves have a corner there."""
LONG_STEP = 1.0
"""Step of a solver beyond which the curvature at its start does not help, K."""


@compiled
def log_saturation_pressure(t: float) -> float:
    """Natural logarithm of the saturation pressure of water vapor in Pa, -100 to 200 degC.

    Hyland and Wexler (1983) as in ASHRAE Fundamentals ch. 1, equations 5 (over ice) and 6 (over
    water); the two meet at the triple point.
    """
    k = t + KELVIN
    if t <= TRIPLE_POINT:
        return (
            -5.6745359e3 / k
            + 6.3925247
            + k * (-9.677843e-3 + k * (6.2215701e-7 + k * (2.0747825e-9 + k * -9.484024e-13)))
            + 4.1635019 * math.log(k)
        )
    return (
        -5.8002206e3 / k
        + 1.3914993
        + k * (-4.8640239e-2 + k * (4.1764768e-5 + k * -1.4452093e-8))
        + 6.5459673 * math.log(k)
    )


COLDEST, HOTTEST, ORDER = -80, 120, 6
"""Table of saturation pressures: first and last kelvin from the triple point, and order."""
_NODES = 0.5 * np.cos(math.pi * (np.arange(ORDER + 1) + 0.5) / (ORDER + 1))
"""Chebyshev points of a piece of a table, counted from its middle in the piece's width."""
_BY_POWERS = np.linalg.inv(np.vander(_NODES, ORDER + 1, increasing=True)).T
"""Matrix that turns values at the Chebyshev points into coefficients of a polynomial."""


def _plain(function: Any) -> Any:
    """The function as plain Python, which lets the import compile nothing."""
    return getattr(function, "py_func", function)


def _pieces() -> NDArray[np.float64]:
    """Coefficients of one polynomial a kelvin through the saturation pressure, Pa.

    They interpolate it at the Chebyshev points of each kelvin, counted from the triple point, where
    the two curves meet. The relative error is below 1e-13, which a test checks. The hottest kelvin
    comes first. Cutting off the fraction then finds the row. A whole kelvin belongs to the piece
    below it, because the curve over ice is valid at the triple point itself.
    """
    plain = _plain(log_saturation_pressure)
    values = [
        [math.exp(plain(TRIPLE_POINT + kelvin + 0.5 + node)) for node in _NODES]
        for kelvin in reversed(range(COLDEST, HOTTEST))
    ]
    return np.ascontiguousarray(np.array(values) @ _BY_POWERS)


_PIECES = _pieces()
"""Coefficients of the table of saturation pressures, one row a kelvin."""
_SLOPES = np.ascontiguousarray(_PIECES[:, 1:] * np.arange(1, ORDER + 1))
"""Coefficients of the derivatives of the pieces."""


@compiled
def saturation_pressure(t: float) -> float:
    """Saturation pressure of water vapor over ice or water, Pa, -100 to 200 degC.

    The value comes from a table of `log_saturation_pressure`, because a step of a house needs it a
    dozen times. Beyond the ends of the table it comes from the equations themselves.

    >>> round(float(saturation_pressure(20.0)), 1)
    2338.8
    """
    down = HOTTEST + TRIPLE_POINT - t
    if not 0.0 <= down < HOTTEST - COLDEST:
        return math.exp(log_saturation_pressure(t))
    i = int(down)
    x = i + 0.5 - down
    # A processor calculates these pairs in parallel.
    y = x * x
    high = _PIECES[i, 4] + _PIECES[i, 5] * x + _PIECES[i, 6] * y
    middle = _PIECES[i, 2] + _PIECES[i, 3] * x
    return float(_PIECES[i, 0] + _PIECES[i, 1] * x + y * middle + y * y * high)


@compiled(inline=True)
def saturation_curve(t: float) -> tuple[float, float, float, float]:
    """Saturation pressure, Pa, with its first derivative and about its next two.

    The derivatives are with temperature, in Pa/K, Pa/K² and Pa/K³.
    """
    down = HOTTEST + TRIPLE_POINT - t
    if not 0.0 <= down < HOTTEST - COLDEST:
        p, relative = math.exp(log_saturation_pressure(t)), saturation_slope(t)
        slope = p * relative
        return p, slope, slope * relative, slope * relative * relative
    i = int(down)
    x = i + 0.5 - down
    y = x * x
    high = _PIECES[i, 4] + _PIECES[i, 5] * x + _PIECES[i, 6] * y
    middle = _PIECES[i, 2] + _PIECES[i, 3] * x
    steep = _SLOPES[i, 4] + _SLOPES[i, 5] * x
    rising = _SLOPES[i, 2] + _SLOPES[i, 3] * x
    return (
        _PIECES[i, 0] + _PIECES[i, 1] * x + y * middle + y * y * high,
        _SLOPES[i, 0] + _SLOPES[i, 1] * x + y * rising + y * y * steep,
        _SLOPES[i, 1] + 2.0 * _SLOPES[i, 2] * x + 3.0 * _SLOPES[i, 3] * y,
        2.0 * _SLOPES[i, 2] + 6.0 * _SLOPES[i, 3] * x,
    )


@compiled
def saturation_rise(t: float) -> tuple[float, float]:
    """Saturation pressure, Pa, and its derivative with temperature, Pa/K."""
    p, slope, _, _ = saturation_curve(t)
    return p, slope


@compiled
def saturation_slope(t: float) -> float:
    """Derivative of `log_saturation_pressure` with temperature, 1/K."""
    k = t + KELVIN
    if t <= TRIPLE_POINT:
        return (
            5.6745359e3 / (k * k)
            - 9.677843e-3
            + k * (2.0 * 6.2215701e-7 + k * (3.0 * 2.0747825e-9 + k * (4.0 * -9.484024e-13)))
            + 4.1635019 / k
        )
    return (
        5.8002206e3 / (k * k)
        - 4.8640239e-2
        + k * (2.0 * 4.1764768e-5 + k * (3.0 * -1.4452093e-8))
        + 6.5459673 / k
    )


@compiled
def humidity_ratio(vapor_pressure: float, pressure: float) -> float:
    """Humidity ratio, kg/kg, at a vapor pressure and a total pressure (equation 20)."""
    return MOLE_RATIO * vapor_pressure / (pressure - vapor_pressure)


@compiled
def vapor_pressure(humidity_ratio: float, pressure: float) -> float:
    """Vapor pressure, Pa, at a humidity ratio and a total pressure (equation 20 inverted)."""
    return pressure * humidity_ratio / (MOLE_RATIO + humidity_ratio)


@compiled
def saturation_humidity_ratio(t: float, pressure: float) -> float:
    """Humidity ratio of saturated air, kg/kg (equation 21)."""
    return humidity_ratio(saturation_pressure(t), pressure)


@compiled
def share_of_saturation(humidity_ratio: float, pressure: float, saturation: float) -> float:
    """Relative humidity, 0 to 1, from a known saturation pressure.

    It needs one division instead of two.
    """
    return pressure * humidity_ratio / ((MOLE_RATIO + humidity_ratio) * saturation)


@compiled
def relative_humidity(t: float, humidity_ratio: float, pressure: float) -> float:
    """Relative humidity, 0 to 1: vapor pressure over saturation pressure (equation 22)."""
    return share_of_saturation(humidity_ratio, pressure, saturation_pressure(t))


@compiled
def humidity_ratio_at(t: float, relative_humidity: float, pressure: float) -> float:
    """Humidity ratio, kg/kg, at a relative humidity between 0 and 1."""
    return humidity_ratio(relative_humidity * saturation_pressure(t), pressure)


@compiled
def enthalpy(t: float, humidity_ratio: float) -> float:
    """Enthalpy of moist air per kg of dry air, J/kg, zero for dry air and water at 0 degC (eq. 30).

    >>> round(float(enthalpy(25.0, 0.01)))
    50625
    """
    return CP_DRY_AIR * t + humidity_ratio * (H_EVAPORATION + CP_VAPOR * t)


@compiled
def vapor_enthalpy(t: float) -> float:
    """Enthalpy of water vapor, J/kg."""
    return H_EVAPORATION + CP_VAPOR * t


@compiled
def temperature_at_enthalpy(enthalpy: float, humidity_ratio: float) -> float:
    """Dry bulb, degC, of air with this enthalpy and humidity ratio (equation 30 inverted)."""
    return (enthalpy - H_EVAPORATION * humidity_ratio) / (CP_DRY_AIR + CP_VAPOR * humidity_ratio)


@compiled
def dry_air_density(t: float, humidity_ratio: float, pressure: float) -> float:
    """Mass of dry air in a volume of moist air, kg/m3: 1/v of equation 26."""
    return MOLE_RATIO * pressure / (R_DRY_AIR * (t + KELVIN) * (MOLE_RATIO + humidity_ratio))


@compiled(inline=True)
def closer(residual: float, per_slope: float, bend: float, twist: float) -> tuple[float, float]:
    """Correction to subtract from a guess, and Newton's own step.

    The correction is the series of the inverse function to third order.

    Parameters
    ----------
    residual, per_slope, bend, twist : float
        A function at the guess, one over its derivative, its second and its third derivative.
    """
    step = residual * per_slope
    if abs(step) > LONG_STEP:
        return step, step
    second, third = 0.5 * bend * per_slope, twist * per_slope * (1.0 / 6.0)
    return step + step * step * (second + step * (2.0 * second * second - third)), step


@compiled(inline=True)
def is_last(before: float, after: float, step: float) -> bool:
    """Whether a step of `closer` is the last one: short enough, and not from ice to water."""
    same_curve = ((before > TRIPLE_POINT) == (after > TRIPLE_POINT)) & (
        (before >= 0.0) == (after >= 0.0)
    )
    return abs(step) < SHORT_STEP or (same_curve and abs(step) < LAST_STEP)


@compiled
def _dew_point_guess(logarithm: float) -> float:
    """Guess of a dew point, degC, from the logarithm of a vapor pressure in Pa.

    A polynomial is off by less than 4e-5 K from -60 to 50 degC. Beyond that range the guess is
    the Magnus form.
    """
    x = logarithm - LOG_ICE_POINT
    if x < -6.3 or x > 3.0:
        return 243.04 * x / (17.625 - x)
    if x > 7.5e-4:
        return -2.97348e-4 + x * (
            13.7656591
            + x * (7.78069702e-1 + x * (4.82907202e-2 + x * (2.41106959e-3 + x * 3.34070784e-4)))
        )
    return 8.85031775e-4 + x * (
        12.1434183
        + x * (5.4437127e-1 + x * (2.46803025e-2 + x * (1.01294198e-3 + x * 2.56598845e-5)))
    )


DRIEST, DAMPEST = -20, 116
"""Ends of the table of dew points, -34 and 60 degC, as square roots of a pressure, Pa^0.5.
They count from the root of the triple point's vapor pressure."""
_ROOT_OF_TRIPLE = math.exp(0.5 * _plain(log_saturation_pressure)(TRIPLE_POINT))
"""Square root of the vapor pressure at the triple point, Pa^0.5."""


def _dew_pieces() -> NDArray[np.float64]:
    """Coefficients of one polynomial per root of a pascal through the dew point, degC.

    They are those of `_pieces` for the dew point. They are off by less than 1e-8 K at the dry
    end and 1e-11 K from -20 degC on.
    """
    guess, pressure, slope = map(
        _plain, (_dew_point_guess, log_saturation_pressure, saturation_slope)
    )

    def solved(root: float) -> float:
        target = 2.0 * math.log(root)
        t = guess(target)
        for _ in range(2):
            t -= (pressure(t) - target) / slope(t)
        return float(t)

    values = [
        [solved(_ROOT_OF_TRIPLE + piece + 0.5 + node) for node in _NODES]
        for piece in range(DRIEST, DAMPEST)
    ]
    return np.ascontiguousarray(np.array(values) @ _BY_POWERS)


_DEW_PIECES = _dew_pieces()
"""Coefficients of the table of dew points, one row per unit of the pressure's square root."""


@compiled(inline=True)
def dew_point(vapor_pressure: float) -> float:
    """Dew or frost point, degC: the temperature at which this vapor pressure saturates.

    The value comes from a table by the square root of the pressure, along which the dew point is
    almost straight. Beyond the ends of the table it is solved for.

    >>> round(float(dew_point(2338.8)), 2)
    20.0
    """
    # Limited to 0, because a negative pressure has no root.
    along = math.sqrt(max(vapor_pressure, 0.0)) - _ROOT_OF_TRIPLE - DRIEST
    if not 0.0 <= along < DAMPEST - DRIEST:
        return _solved_dew_point(vapor_pressure)
    i = int(along)
    x = along - i - 0.5
    y = x * x
    high = _DEW_PIECES[i, 4] + _DEW_PIECES[i, 5] * x + _DEW_PIECES[i, 6] * y
    middle = _DEW_PIECES[i, 2] + _DEW_PIECES[i, 3] * x
    return float(_DEW_PIECES[i, 0] + _DEW_PIECES[i, 1] * x + y * middle + y * y * high)


@compiled
def _solved_dew_point(vapor_pressure: float) -> float:
    """Dew or frost point, degC, of any vapor pressure, by iteration."""
    # Below 1 mPa there is no dew point within the range of the saturation curve.
    held = max(vapor_pressure, 1.0e-3)
    target = math.log(held)
    t = _dew_point_guess(target)
    for _ in range(50):
        p, slope, bend, twist = saturation_curve(t)
        # Close to the root the pressure itself saves a logarithm.
        if abs(held - p) < 0.01 * p:
            change, step = closer(p - held, 1.0 / slope, bend, twist)
        else:
            change = step = (math.log(p) - target) * p / slope
        t -= change
        if is_last(t + change, t, step):
            break
    return t


@compiled(inline=True)
def wet_bulb_heats(t_wet: float) -> tuple[float, float, float]:
    """Coefficients of equations 33 (water) and 35 (ice) at a wet bulb.

    The first is the heat of evaporation or sublimation at 0 degC, J/kg. The second is its fall
    per kelvin, J/(kg K). The third is the specific heat of the water or ice, J/(kg K).

    They are the heat of evaporation or sublimation at 0 degC, J/kg, its fall per kelvin, J/(kg
    K), and the specific heat of the water or ice, J/(kg K).
    """
    if t_wet >= 0.0:
        return H_EVAPORATION, 2326.0, CP_WATER
    return 2_830_000.0, 240.0, 2100.0


@compiled(inline=True)
def wet_bulb_step(
    t: float, humidity_ratio: float, pressure: float, t_wet: float
) -> tuple[float, float]:
    """Correction to subtract from a guess of a wet bulb, and Newton's own step, from `closer`.

    Equations 33 and 35 are multiplied by the pressure of the dry air, which avoids a division.
    """
    p, rise, bend, twist = saturation_curve(t_wet)
    latent, per_kelvin, liquid = wet_bulb_heats(t_wet)
    taken_up, dry = MOLE_RATIO * (latent - per_kelvin * t_wet), pressure - p
    given = CP_DRY_AIR * (t - t_wet)
    given += (latent + CP_VAPOR * t - liquid * t_wet) * humidity_ratio
    falls, cools = CP_DRY_AIR + liquid * humidity_ratio, MOLE_RATIO * per_kelvin
    both, lost = taken_up + given, cools + falls
    slope = both * rise - cools * p + falls * dry
    return closer(
        taken_up * p - given * dry,
        1.0 / slope,
        both * bend - 2.0 * lost * rise,
        both * twist - 3.0 * lost * bend,
    )


@compiled
def wet_bulb(t: float, humidity_ratio: float, pressure: float, guess: float) -> float:
    """Thermodynamic wet bulb, degC (equations 33 and 35), by `closer` from a guess.

    The residual is convex and rises with the wet bulb, so Newton's long steps converge from any
    guess. Within a kelvin of 0 degC the equations over ice and over water both have a root. The
    guess decides between them.

    >>> round(float(wet_bulb(26.6667, 0.0111, 101325.0, 20.0)), 1)
    19.4
    """
    t_wet = guess
    for _ in range(60):
        change, step = wet_bulb_step(t, humidity_ratio, pressure, t_wet)
        t_wet -= change
        if is_last(t_wet + change, t_wet, step):
            break
    return t_wet


@compiled(inline=True)
def wet_bulb_near(t: float, humidity_ratio: float, pressure: float, guess: float) -> float:
    """Thermodynamic wet bulb, degC, from a guess that usually needs only one step."""
    change, step = wet_bulb_step(t, humidity_ratio, pressure, guess)
    if is_last(guess, guess - change, step):
        return guess - change
    return wet_bulb(t, humidity_ratio, pressure, guess - change)


@compiled(inline=True)
def saturated_at_wet_bulb(t: float, humidity_ratio: float, t_wet: float) -> float:
    """Humidity ratio of air after adiabatic saturation to its wet bulb, kg/kg.

    Equations 33 and 35 are solved for it, without another look at the saturation curve.

    Equations 33 and 35 are solved for it, which costs less than another look at the saturation
    curve.
    """
    latent, per_kelvin, liquid = wet_bulb_heats(t_wet)
    taken_up = CP_DRY_AIR * (t - t_wet)
    taken_up += (latent + CP_VAPOR * t - liquid * t_wet) * humidity_ratio
    return taken_up / (latent - per_kelvin * t_wet)


@compiled
def saturated_at(enthalpy: float, pressure: float, guess: float) -> tuple[float, float]:
    """Temperature, degC, and humidity ratio, kg/kg, of saturated air of this enthalpy.

    The solver is `closer`, from a guess of the temperature.
    """
    t = guess
    for _ in range(60):
        p, rise, bend, twist = saturation_curve(t)
        vapor, dry, short = vapor_enthalpy(t), pressure - p, CP_DRY_AIR * t - enthalpy
        # Multiplied by the pressure of the dry air, as in `wet_bulb_step`.
        both, gains = MOLE_RATIO * vapor - short, MOLE_RATIO * CP_VAPOR
        slope = both * rise + gains * p + CP_DRY_AIR * dry
        change, step = closer(
            MOLE_RATIO * vapor * p + short * dry,
            1.0 / slope,
            both * bend + 2.0 * (gains - CP_DRY_AIR) * rise,
            both * twist + 3.0 * (gains - CP_DRY_AIR) * bend,
        )
        t -= change
        if is_last(t + change, t, step):
            break
    # The rest of the enthalpy is vapor, which needs no second look at the saturation curve.
    return t, (enthalpy - CP_DRY_AIR * t) / vapor_enthalpy(t)


def dew_points(
    humidity_ratio: NDArray[np.float64], pressure: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Dew or frost points of many states, degC: `dew_point` in a compiled loop."""
    found = np.empty(len(humidity_ratio))
    _fill_dew_points(humidity_ratio, pressure, found)
    return found


@compiled
def _fill_dew_points(
    humidity_ratio: NDArray[np.float64], pressure: NDArray[np.float64], found: NDArray[np.float64]
) -> None:
    # The caller makes the array, because making one here would compile an allocator too.
    for i in range(len(found)):
        found[i] = dew_point(vapor_pressure(humidity_ratio[i], pressure[i]))


def over(function: Callable[..., float], *arguments: ArrayLike) -> NDArray[np.float64]:
    """Apply one of the scalars above to arrays, element by element, with numpy's broadcasting.

    >>> over(enthalpy, [0.0, 25.0], 0.01)
    array([25010., 50625.])
    """
    arrays = np.broadcast_arrays(*(np.asarray(argument, float) for argument in arguments))
    # Compiled scalars are called fastest with plain floats from lists.
    each = map(function, *(array.ravel().tolist() for array in arrays))
    return np.fromiter(each, float, arrays[0].size).reshape(arrays[0].shape)
