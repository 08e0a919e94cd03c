"""Points of a sweep: every combination of what is listed, or a spread of so many."""

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Any, Literal, NamedTuple

import numpy as np

from moistsim.units import InputError, one_of

Sample = Literal["grid", "sobol", "latin_hypercube", "saltelli"]
SAMPLES = ("grid", "sobol", "latin_hypercube", "saltelli")


class Range(NamedTuple):
    """Between what a value is drawn; `uniform` and `log_uniform` make one."""

    low: Any
    high: Any
    logarithmic: bool = False

    def at(self, quantile: float) -> float:
        """The value below which that share of all lies."""
        if self.logarithmic:
            low, high = math.log(self.low), math.log(self.high)
            drawn = math.exp(low + quantile * (high - low))
            # The last bit of the logarithm may lie beyond.
            return float(min(max(drawn, self.low), self.high))
        return float(self.low + quantile * (self.high - self.low))


def uniform(low: float | str, high: float | str) -> Range:
    """Values that are all as likely, from `low` to `high`: numbers in SI or texts with units."""
    return Range(low, high)


def log_uniform(low: float | str, high: float | str) -> Range:
    """Values whose logarithms are all as likely; both above zero."""
    return Range(low, high, logarithmic=True)


def check_sample(sample: Any, n: Any, seed: Any, ranges: Sequence[str]) -> None:
    """Refuse what `points` cannot make.

    Parameters
    ----------
    sample, n, seed
        As for `Sweep`.
    ranges : sequence of str
        Names of the parameters that are ranges.

    Raises
    ------
    InputError
    """
    if sample not in SAMPLES:
        raise InputError("Sweep.sample", sample, one_of(str(sample), SAMPLES))
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        raise InputError("Sweep.seed", seed, "a whole number, 0 or more")
    if sample == "grid":
        if n is not None:
            raise InputError(
                "Sweep.n", n, "none beside sample='grid', whose lists say how many cases there are"
            )
        if ranges:
            raise InputError(
                f"Sweep.vary[{ranges[0]!r}]",
                "a range in a grid",
                "a list of values; or sample='sobol' or 'latin_hypercube'",
            )
    elif isinstance(n, bool) or not isinstance(n, int) or n < 1:
        raise InputError("Sweep.n", n, "the number of cases to draw, 1 or more")


def points(
    sides: Sequence[Range | tuple[Any, ...]], sample: Sample, n: int | None, seed: int
) -> Iterator[tuple[Any, ...]]:
    """Points one by one, a value for each side.

    A grid runs through the last side first. Else the unit cube is filled by scipy's scrambled
    Sobol sequence, or its Latin hypercube, and each coordinate is the quantile of its side: of
    k values in a list, each has 1/k of the cube. The first n points of a Sobol sequence are best
    balanced where n is a power of two. A Saltelli design has n (d + 2) points, in the order that
    `sobol_from` needs.
    """
    if sample == "grid":
        yield from itertools.product(*(side for side in sides if not isinstance(side, Range)))
        return
    assert n is not None
    if sample == "saltelli":
        from moistsim.sensitivity import saltelli_cases

        cases = saltelli_cases({str(k): side for k, side in enumerate(sides)}, n, seed)
        yield from cases.itertuples(index=False, name=None)
        return
    # Deferred: half a second of import, for sweeps alone.
    from scipy.stats import qmc

    rng = np.random.default_rng(seed)
    if sample == "sobol":
        # The whole power of two is drawn, of which the first n are the same points.
        cube = qmc.Sobol(len(sides), seed=rng).random_base2(math.ceil(math.log2(n)))[:n]
    else:
        cube = qmc.LatinHypercube(len(sides), seed=rng).random(n)
    for row in cube:
        yield tuple(
            side.at(float(u))
            if isinstance(side, Range)
            else side[min(int(u * len(side)), len(side) - 1)]
            for side, u in zip(sides, row, strict=True)
        )
