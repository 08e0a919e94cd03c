"""A value with its band."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Amount(NamedTuple):
    """A value with its band."""

    value: float
    low: float
    high: float

    def times(self, factor: float) -> "Amount":
        """The amount in another unit."""
        return Amount(self.value * factor, self.low * factor, self.high * factor)

    @property
    def verdict(self) -> str:
        """ "saved", "used more", or "not proven" where the band holds zero."""
        return "saved" if self.low > 0.0 else "used more" if self.high < 0.0 else "not proven"


def amount_of(samples: Array, level: float) -> Amount:
    """Median of samples, with their central band."""
    low, middle, high = np.quantile(samples, [0.5 - 0.5 * level, 0.5, 0.5 + 0.5 * level])
    return Amount(float(middle), float(low), float(high))
