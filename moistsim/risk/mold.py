"""Mold index of a surface from its temperature and relative humidity by hour.

The index runs from 0 (no growth) through 1 (visible under the microscope) and 3 (visible to the eye)
to 6 (surface covered). The model was fitted to clean samples in a laboratory under constant
conditions. It compares ways of drying better than it predicts a spot on a wall.
"""

import math
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from moistsim.core.errors import InputError, Problem, one_of


class Sensitivity(NamedTuple):
    """Growth on a class of material, compared with growth on pine sapwood."""

    before: float
    """Speed of growth up to index 1, over that on pine."""
    after: float
    """Speed of growth above index 1, over that on pine below index 1."""
    start: float
    linear: float
    quadratic: float
    """Coefficients of the highest index at an RH: value at the minimum RH, slope and curvature."""
    least_rh: float
    """RH, percent, below which mold does not grow at 20 degC or more."""
    example: str


SENSITIVITIES = {
    "very sensitive": Sensitivity(1.0, 2.0, 1.0, 7.0, 2.0, 80.0, "untreated pine sapwood"),
    "sensitive": Sensitivity(
        0.578, 0.386, 0.3, 6.0, 1.0, 80.0, "planed spruce, paper-faced board, wood-based board"
    ),
    "medium resistant": Sensitivity(
        0.072, 0.097, 0.0, 5.0, 1.5, 85.0, "concrete, plaster, mineral wool"
    ),
    "resistant": Sensitivity(0.033, 0.014, 0.0, 3.0, 1.0, 85.0, "glass, metal, polished plastics"),
}
"""Mold sensitivities by class of material.

Viitanen, Vinha, Salminen, Ojanen, Peuhkuri, Paajanen & Lähdesmäki (2010), Moisture and
bio-deterioration risk of building materials and structures, J. Building Physics 33; from memory, as
are the examples. The terms for wood species and surface are 0, which gives the faster growth (15
percent faster than for spruce)."""

HARDLY_DECLINES = 0.1
"""Decline of mold in dry hours over that on pine: the default of ASHRAE 160-2016, from memory."""

COLDEST, HOTTEST = 0.0, 50.0
"""Limits of temperature for mold growth, degC (Hukka & Viitanen 1999)."""

CRITERION = 3.0
"""Mold index below which a surface meets ASHRAE 160-2016 (from memory)."""

THIRTY_DAY_RH, THIRTY_DAY_TEMPERATURES = 80.0, (5.0, 40.0)
"""Criterion of ASHRAE 160-2009 with its addendum a, from memory. The 30-day mean of surface RH stays
below 80 percent while the 30-day mean of temperature is 5 to 40 degC."""

CAUTIONS = (
    "The mold index compares options on a simplified surface. It is not an inspection of a house and "
    "not a finding about health.",
    "Where you see or smell mold, find and stop the water first: leaks, drains, wet ducts, "
    "rising damp. Drying the air does not cure them.",
    "Cleanup can spread spores and expose asbestos or lead paint: local codes and licensed trades "
    "come first.",
)
"""Cautions to show with each mold index."""


def critical_rh(temperature: ArrayLike, sensitivity: str = "very sensitive") -> NDArray[np.float64]:
    """Return the critical RH for mold growth, percent, at a temperature, degC.

    Hukka & Viitanen (1999), eq. 1: a cubic up to 20 degC, and the minimum RH of the class above.
    """
    t = np.asarray(temperature, float)
    cubic = 100.0 + t * (-3.13 + t * (0.160 - t * 0.00267))
    least = _of(sensitivity).least_rh
    return np.where(t > 20.0, least, np.maximum(cubic, least))


def weeks_to_index_1(temperature: ArrayLike, rh: ArrayLike) -> NDArray[np.float64]:
    """Return the weeks at a constant temperature (degC) and RH (percent) until index 1 on pine.

    Viitanen (1997); Hukka & Viitanen (1999), eq. 3, resawn pine sapwood.
    """
    t, humid = np.asarray(temperature, float), np.asarray(rh, float)
    return np.asarray(np.exp(-0.68 * np.log(t) - 13.9 * np.log(humid) + 66.02))


def mold_index(
    temperature: ArrayLike,
    rh: ArrayLike,
    sensitivity: str = "sensitive",
    *,
    decline: float = HARDLY_DECLINES,
    start: float = 0.0,
) -> NDArray[np.float64]:
    """Return the mold index at the end of each hour.

    The index grows while the surface is from 0 to 50 degC and above the critical RH. Its speed
    depends on temperature and RH, and fades near the highest index at that RH. On a dry surface the
    index declines: fast in the first six hours, not until hour 24, then slowly.

    Sources: Hukka & Viitanen (1999), A mathematical model of mold growth on wooden material, Wood
    Science and Technology 33, with the classes of Viitanen et al. (2010). Equations from memory.

    Parameters
    ----------
    temperature : array_like (n,)
        Surface temperature, mean of each hour, degC.
    rh : array_like (n,)
        RH at the surface, percent, 0 to 100.
    sensitivity : str
        One of `SENSITIVITIES`.
    decline : float
        Speed of decline over that of pine sapwood, 0 to 1.
    start : float
        Index before the first hour, 0 to 6.

    Returns
    -------
    ndarray (n,)

    Raises
    ------
    InputError
        If the two arrays differ in length, or if a value is not a number or is out of range.

    Examples
    --------
    A month at 20 degC and 97 percent on pine sapwood:

    >>> float(mold_index([20.0] * 720, [97.0] * 720, "very sensitive")[-1].round(1))
    4.7
    """
    kind = _of(sensitivity)
    t, humid = np.atleast_1d(np.asarray(temperature, float)), np.asarray(rh, float)
    if t.ndim != 1 or t.shape != humid.shape:
        raise InputError(
            "mold_index", Problem(f"temperatures of shape {t.shape} and RH of {humid.shape}"),
            "one temperature and one RH an hour",
        )  # fmt: skip
    for name, values, low, high in (
        ("temperature", t, -100.0, 200.0), ("rh", humid, 0.0, 100.0),
        ("decline", np.array([decline]), 0.0, 1.0), ("start", np.array([start]), 0.0, 6.0),
    ):  # fmt: skip
        bad = ~((values >= low) & (values <= high))
        if bad.any():
            at = int(np.argmax(bad))
            raise InputError(
                f"mold_index {name}[{at}]" if len(values) > 1 else f"mold_index {name}",
                float(values[at]), f"a number from {low:g} to {high:g}",
            )  # fmt: skip
    critical = critical_rh(t, sensitivity)
    grows = (t > COLDEST) & (t <= HOTTEST) & (humid >= critical)
    # Without growth, any condition with a logarithm will do.
    an_hour = np.where(
        grows,
        1.0 / (168.0 * weeks_to_index_1(np.where(grows, t, 20.0), np.where(grows, humid, 80.0))),
        0.0,
    )
    share = np.where(grows, (critical - humid) / (critical - 100.0 - 1e-9), 0.0)
    highest = kind.start + share * (kind.linear - kind.quadratic * share)

    index, dry = float(start), 0
    out = []
    for speed, top in zip(an_hour.tolist(), highest.tolist(), strict=True):
        if speed > 0.0:
            dry = 0
            fading = 1.0 - math.exp(2.3 * (index - top))
            if fading > 0.0:
                index += speed * (kind.before if index < 1.0 else kind.after) * fading
        else:
            dry += 1
            if dry <= 6:
                index -= 0.00133 * decline
            elif dry > 24:
                index -= 0.000667 * decline
            index = max(index, 0.0)
        out.append(index)
    return np.array(out)


def thirty_day_rh(temperature: pd.Series, rh: pd.Series) -> pd.Series:
    """Return the 30-day running mean of surface RH, percent (ASHRAE 160-2009).

    Only hours count in which the 30-day running mean of temperature is within
    `THIRTY_DAY_TEMPERATURES`. The result is empty for less than 30 days.

    Parameters
    ----------
    temperature, rh : Series
        Temperature and RH of the surface by hour, degC and percent.
    """
    hours = 30 * 24
    mean_t, mean_rh = (s.rolling(hours).mean() for s in (temperature, rh))
    low, high = THIRTY_DAY_TEMPERATURES
    return mean_rh[mean_t.between(low, high)]


def _of(sensitivity: str) -> Sensitivity:
    if sensitivity not in SENSITIVITIES:
        raise InputError("mold sensitivity", sensitivity, one_of(str(sensitivity), SENSITIVITIES))
    return SENSITIVITIES[sensitivity]
