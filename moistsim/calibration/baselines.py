"""Three predictions that need no model of the house; a fit has to be better than they are."""

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.signal import lfilter

from moistsim.calibration.model import Hours

Floats = NDArray[np.float64]
NAMES = ("mean", "outdoors plus excess", "linear buffer")
"""Mean of the fitted part; outdoor humidity plus its mean excess; one volume of air with a buffer."""


def baselines(hours: Hours, rows: NDArray[np.intp]) -> dict[str, Floats]:
    """Humidity ratio, g/kg, by three baselines that are fitted to some rows of a log."""
    measured, outdoors = hours.measured, hours.outdoors
    mean = float(measured[rows].mean())
    excess = float((measured[rows] - outdoors[rows]).mean())
    return {
        NAMES[0]: np.full(len(measured), mean),
        NAMES[1]: outdoors + excess,
        NAMES[2]: _buffered(hours, rows, excess),
    }


def _buffered(hours: Hours, rows: NDArray[np.intp], excess: float) -> Floats:
    """Air with a linear buffer, by four values: air changes, moisture, exchange and size of the buffer.

    W' = n (W_out + e - W) - k (W - B) and B' = (k / s) (W - B), with hourly steps, implicit.
    """

    def modeled(x: Floats) -> Floats:
        n, k, s = np.exp(x[:3])
        share = k / s
        # With the buffer eliminated, both implicit equations are one filter of second order.
        top = [1.0 + share, -1.0]
        bottom = [(1.0 + n + k) * (1.0 + share) - k * share, -(2.0 + n + k + share), 1.0]
        begin = float(np.nanmean(hours.measured[:24]))
        driven = n * (hours.outdoors + x[3] - begin)
        return np.asarray(lfilter(top, bottom, driven) + begin)

    def misfit(x: Floats) -> Floats:
        return np.asarray((modeled(x) - hours.measured)[rows])

    found = least_squares(misfit, [np.log(0.3), np.log(1.0), np.log(20.0), excess], max_nfev=60)
    return modeled(found.x)
