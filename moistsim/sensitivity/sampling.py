"""Distributions that values are drawn from, and the sample points of a sweep."""

import itertools
import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from statistics import NormalDist
from typing import Any, Literal, NamedTuple

import numpy as np

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.core.units import Stated, to_si
from moistsim.core.whole_numbers import MOST_CASES, case_count, seed_of, whole_number

Sample = Literal["grid", "sobol", "latin_hypercube", "saltelli"]
SAMPLES = ("grid", "sobol", "latin_hypercube", "saltelli")


class Range(NamedTuple):
    """A range from low to high; `uniform` and `log_uniform` make one."""

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

    @property
    def center(self) -> float:
        """The median."""
        return self.at(0.5)

    @property
    def deviation(self) -> float:
        """Standard deviation."""
        if self.logarithmic:
            span = math.log(self.high / self.low)
            mean = (self.high - self.low) / span
            return math.sqrt((self.high**2 - self.low**2) / (2.0 * span) - mean**2)
        return float(self.high - self.low) / math.sqrt(12.0)

    def in_words(self, unit: str) -> str:
        """The range in words, to the last bit."""
        kind = "log-uniform" if self.logarithmic else "uniform"
        return f"{kind} from {self.low!r} to {self.high!r} {unit}"


class Triangular(NamedTuple):
    """A triangular distribution; `triangular` makes one."""

    low: Any
    likely: Any
    high: Any

    def at(self, quantile: float) -> float:
        """The value below which that share of all lies."""
        from scipy.stats import triang

        span = self.high - self.low
        place = (self.likely - self.low) / span
        return float(triang.ppf(quantile, place, loc=self.low, scale=span))

    @property
    def center(self) -> float:
        """The most likely value."""
        return float(self.likely)

    @property
    def deviation(self) -> float:
        """Standard deviation."""
        a, b, c = self.low, self.likely, self.high
        return math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18.0)

    def in_words(self, unit: str) -> str:
        """The distribution in words, to the last bit."""
        return f"triangular from {self.low!r} to {self.high!r}, most likely {self.likely!r} {unit}"


class Normal(NamedTuple):
    """A normal distribution, cut off at its limits and scaled up; `normal` makes one."""

    mean: Any
    deviation: Any
    """Standard deviation."""
    least: float = -math.inf
    """A limit of the value itself, such as 0 for an air leakage."""
    most: float = math.inf

    def at(self, quantile: float) -> float:
        """The value below which that share of all lies."""
        curve = NormalDist(self.mean, self.deviation)
        below, within = curve.cdf(self.least), curve.cdf(self.most)
        # The far ends of the curve are infinite.
        share = min(max(below + quantile * (within - below), 1.0e-12), 1.0 - 1.0e-12)
        return float(min(max(curve.inv_cdf(share), self.least), self.most))

    @property
    def center(self) -> float:
        """The mean, before anything is cut off."""
        return float(self.mean)

    def in_words(self, unit: str) -> str:
        """The distribution in words, to the last bit."""
        return (
            f"normal, mean {self.mean!r}, standard deviation {self.deviation!r}"
            f"{_cut(self.least, self.most)} {unit}"
        )


class FromScipy(NamedTuple):
    """A frozen continuous distribution of scipy.stats, in SI, cut off at its limits."""

    frozen: Any
    least: float = -math.inf
    """A limit of the value itself, as in `Normal`."""
    most: float = math.inf

    def at(self, quantile: float) -> float:
        """The value below which that share of all lies."""
        below, within = (float(self.frozen.cdf(end)) for end in (self.least, self.most))
        # The far ends of an unbounded distribution are infinite.
        share = min(max(below + quantile * (within - below), 1.0e-12), 1.0 - 1.0e-12)
        return float(min(max(self.frozen.ppf(share), self.least), self.most))

    @property
    def center(self) -> float:
        """The median."""
        return self.at(0.5)

    @property
    def deviation(self) -> float:
        """Standard deviation, before anything is cut off."""
        return float(self.frozen.std())

    @property
    def words(self) -> str:
        """Name and parameters of the distribution, as given to scipy."""
        given = [*map(repr, self.frozen.args)]
        given += [f"{key}={value!r}" for key, value in self.frozen.kwds.items()]
        return f"{self.frozen.dist.name}({', '.join(given)})"

    def in_words(self, unit: str) -> str:
        """The distribution in words, to the last bit."""
        return f"scipy.stats.{self.words}{_cut(self.least, self.most)} {unit}"


def _cut(least: float, most: float) -> str:
    """Limits of a distribution in words; nothing where it has none."""
    ends = (("below", least), ("above", most))
    cut = [f"{word} {end!r}" for word, end in ends if math.isfinite(end)]
    return f", cut off {' and '.join(cut)}" if cut else ""


Distribution = Range | Triangular | Normal | FromScipy
DISTRIBUTIONS = (Range, Triangular, Normal, FromScipy)


def distribution_of(of: Any, where: str) -> Any:
    """A distribution of scipy.stats as one of ours; everything else as it is.

    Parameters
    ----------
    of : object
        The distribution, or anything else that a parameter may be drawn from.
    where : str
        Names it in the error.

    Raises
    ------
    InputError
        If it is a distribution of scipy.stats that is not frozen, not continuous, or without a
        finite standard deviation.

    Examples
    --------
    >>> from scipy import stats
    >>> round(distribution_of(stats.beta(2, 5, scale=10), "ach50").at(0.5), 3)
    2.644
    >>> distribution_of(stats.poisson(3), "ach50")
    Traceback (most recent call last):
        ...
    moistsim.core.errors.InputError: ach50: poisson is not continuous. Use a continuous distribution, such as scipy.stats.norm(3, 0.5), or a list of values.
    """
    if not hasattr(of, "ppf"):
        return of
    dist = getattr(of, "dist", of)
    name, fix = getattr(dist, "name", type(of).__name__), "such as scipy.stats.norm(3, 0.5)"
    if not hasattr(dist, "pdf"):
        accepted = f"a continuous distribution, {fix}, or a list of values"
        raise InputError(where, Problem(f"{name} is not continuous"), accepted)
    if not hasattr(of, "dist"):
        raise InputError(where, Problem(f"{name} has no numbers"), f"a frozen distribution, {fix}")
    if not math.isfinite(of.std()):
        raise InputError(
            where, Problem(f"{name} has no finite standard deviation"), f"another one, {fix}"
        )
    return FromScipy(of)


def normal(mean: float | str, deviation: float | str) -> Normal:
    """A normal distribution for an uncertain or varied value.

    Values that a description forbids, such as a negative air leakage, are cut off, and the rest is
    scaled up.

    Parameters
    ----------
    mean : float or str
        A number in SI or a text with its unit.
    deviation : float or str
        Standard deviation: two of three values lie within it. For a temperature, a temperature
        difference. A percentage is a share of the mean, except for values in percent or fractions.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.normal(3.0, 0.5).at(0.5)
    3.0
    >>> ms.normal("80 cfm", "10 %")
    Normal(mean='80 cfm', deviation='10 %', least=-inf, most=inf)
    """
    return Normal(mean, deviation)


def triangular(low: float | str, likely: float | str, high: float | str) -> Triangular:
    """A triangular distribution from `low` to `high`, most likely at `likely`.

    Each is a number in SI or a text with its unit.

    Examples
    --------
    >>> import moistsim as ms
    >>> round(ms.triangular(1.0, 2.0, 5.0).at(0.25), 3)
    2.0
    """
    return Triangular(low, likely, high)


def uniform(low: float | str, high: float | str) -> Range:
    """A uniform distribution from `low` to `high`, numbers in SI or texts with units.

    Examples
    --------
    >>> import moistsim as ms
    >>> ms.uniform(2.0, 6.0).at(0.25)
    3.0
    """
    return Range(low, high)


def log_uniform(low: float | str, high: float | str) -> Range:
    """A distribution whose logarithm is uniform from `low` to `high`; both are above zero.

    Examples
    --------
    >>> import moistsim as ms
    >>> round(ms.log_uniform(1.0, 100.0).at(0.5), 6)
    10.0
    """
    return Range(low, high, logarithmic=True)


# ---------------------------------------------------------------------- as people write them

_PLUS_MINUS = re.compile(r"^\s*([+-]?[\d.,]+(?:[eE][+-]?\d+)?)([^±]*?)\s*(?:±|\+/?-)\s*(.*?)\s*$")
_AMOUNT = re.compile(r"^([\d.,]+(?:[eE][+-]?\d+)?)\s*(.*)$")
_OWN_PER_CENT = ("percent", "fraction", "1/year")
"""Units in which a percent is an amount and not a share of the value."""


def plus_minus(text: str, where: str) -> Normal | None:
    """Read a text such as ``"1.5 ± 0.4"`` or ``"80 +- 15 cfm"``; None for any other text.

    The unit stands once, after both numbers, or twice.

    Raises
    ------
    InputError
        If there is no number after the sign, or a bare number before a percentage.

    Examples
    --------
    >>> plus_minus("80 ± 15 cfm", "airflow")
    Normal(mean='80 cfm', deviation='15 cfm', least=-inf, most=inf)
    """
    match = _PLUS_MINUS.match(text)
    if match is None:
        return None
    number, unit, rest = match[1], match[2].strip(), match[3]
    amount = _AMOUNT.match(rest)
    if amount is None:
        raise InputError(
            where, text, "a number after ±, the standard deviation, such as '1.5 ± 0.4'"
        )
    deviation, behind = amount[1], amount[2].strip()
    if behind == "%" and not unit:
        raise InputError(
            where, text, "units on both sides, such as '3 % ± 1 %' or '80 cfm ± 20 %', or ± in the "
            "value's own unit",
        )  # fmt: skip
    return Normal(f"{number} {unit or behind}".strip(), f"{deviation} {behind or unit}".strip())


def in_si(
    of: Distribution, read: Callable[[Any], float], unit: str | None, where: str
) -> Distribution:
    """Check a distribution and convert it to SI.

    Parameters
    ----------
    of : Range, Triangular, Normal or FromScipy
        Numbers in SI or texts with units.
    read : callable
        Converts a value; raises InputError for a value that is not allowed.
    unit : str
        The SI unit of the value.
    where : str
        Names the parameter in the error.

    Raises
    ------
    InputError
        If a number is not allowed, or the ends are in the wrong order.
    """
    if isinstance(of, Normal):
        mean = read(of.mean)
        deviation = _deviation(of, mean, unit, where)
        reach = 8.0 * deviation
        return Normal(
            mean,
            deviation,
            _end(read, mean, mean - reach, -math.inf),
            _end(read, mean, mean + reach, math.inf),
        )
    if isinstance(of, FromScipy):
        median = read(of.center)
        return FromScipy(
            of.frozen,
            _end(read, median, of.at(0.0), -math.inf),
            _end(read, median, of.at(1.0), math.inf),
        )
    low, high = read(of.low), read(of.high)
    if not low < high:
        raise InputError(where, f"{of.low!r} to {of.high!r}", "a range from low to high")
    if isinstance(of, Triangular):
        likely = read(of.likely)
        if not low <= likely <= high:
            raise InputError(
                where,
                Problem(f"{of.likely!r}, likely, of {of.low!r} to {of.high!r}"),
                "one between the ends",
            )
        return Triangular(low, likely, high)
    if of.logarithmic and not low > 0.0:
        raise InputError(where, of.low, "bounds above zero for a logarithmic range")
    return Range(low, high, of.logarithmic)


def _end(read: Callable[[Any], Any], taken: float, refused: float, endless: float) -> float:
    """End of a distribution on one side: infinite, or the last value that is allowed."""
    if _is_taken(read, refused):
        return endless
    for _ in range(50):
        middle = 0.5 * (taken + refused)
        taken, refused = (middle, refused) if _is_taken(read, middle) else (taken, middle)
    return taken


def _deviation(of: Normal, mean: float, unit: str | None, where: str) -> float:
    given = of.deviation
    per_cent = isinstance(given, str) and given.rstrip().endswith("%")
    if per_cent and unit not in _OWN_PER_CENT:
        if unit == "degC":
            raise InputError(where, given, "a temperature difference such as '1 K' or '2 degF'")
        deviation = abs(mean) * to_si(given, "fraction", where)
    else:
        deviation = to_si(given, "delta_degC" if unit == "degC" else unit or "count", where)
    if not deviation > 0.0:
        raise InputError(where, given, "a standard deviation above zero")
    return deviation


def _is_taken(read: Callable[[Any], Any], value: float) -> bool:
    try:
        # A limit is not what somebody typed: only what is allowed counts, not what is usual.
        read(Stated(value))
    except InputError:
        return False
    return True


# ---------------------------------------------------------------------- points


def check_sample(
    sample: Any, n: Any, seed: Any, sides: Mapping[str, Distribution | tuple[Any, ...]]
) -> None:
    """Refuse a sample that `points` cannot make, or whose cases no table can hold.

    Parameters
    ----------
    sample, n, seed
        As for `Sweep`.
    sides : dict
        What each parameter is drawn from, by name.

    Raises
    ------
    InputError
    """
    if sample not in SAMPLES:
        raise InputError("Sweep.sample", sample, one_of(str(sample), SAMPLES))
    seed_of(seed, "Sweep.seed")
    if sample == "saltelli":
        check_design(n, len(sides), "Sweep.n")
    elif sample != "grid":
        case_count(n, "Sweep.n")
    elif n is not None:
        raise InputError(
            "Sweep.n", n, "no n with sample='grid', whose lists give the number of cases"
        )
    else:
        for name, side in sides.items():
            if isinstance(side, DISTRIBUTIONS):
                raise InputError(
                    f"Sweep.vary[{name!r}]",
                    Problem("a range in a grid"),
                    "a list of values; or sample='sobol' or 'latin_hypercube'",
                )
        cases = math.prod(len(side) for side in sides.values())
        if cases > MOST_CASES:
            raise InputError(
                "Sweep.vary",
                Problem(f"a grid of {cases:.4g} cases"),
                f"shorter lists, with at most {MOST_CASES:,} combinations, or sample='sobol' and n",
            )


def check_design(n: Any, parameters: int, where: str) -> int:
    """Number of cases in each sample of a Saltelli design, whose cases a table must hold.

    Raises
    ------
    InputError
        If it is not a power of 2, or too many.
    """
    most = MOST_CASES // (parameters + 2)
    accepted = f"a power of 2, such as 256; n ({parameters} + 2) cases are at most {MOST_CASES:,}"
    number = whole_number(n, where, 2, most, accepted)
    if number & (number - 1):
        raise InputError(where, n, accepted)
    return number


def points(
    sides: Sequence[Distribution | tuple[Any, ...]], sample: Sample, n: int | None, seed: int
) -> Iterator[tuple[Any, ...]]:
    """Sample points one by one, each with a value for every side.

    A grid changes the last side fastest. Otherwise scipy's scrambled Sobol sequence or Latin
    hypercube fills the unit cube, and each coordinate is a quantile of its side. Each of k values
    in a list gets 1/k of the cube. The first n points of a Sobol sequence are best balanced if n is
    a power of two. A Saltelli design has n (d + 2) points in the order that `sobol_from` needs.
    """
    if sample == "grid":
        yield from itertools.product(
            *(side for side in sides if not isinstance(side, DISTRIBUTIONS))
        )
        return
    assert n is not None
    if sample == "saltelli":
        from moistsim.sensitivity.saltelli import saltelli_cases

        cases = saltelli_cases({str(k): side for k, side in enumerate(sides)}, n, seed)
        yield from cases.itertuples(index=False, name=None)
        return
    # Deferred: half a second of import, for sweeps alone.
    from scipy.stats import qmc

    from moistsim.sensitivity.drawing import drawn

    rng = np.random.default_rng(seed)
    if sample == "sobol":
        # The whole power of two is drawn, of which the first n are the same points.
        cube = qmc.Sobol(len(sides), seed=rng).random_base2(math.ceil(math.log2(n)))[:n]
    else:
        cube = qmc.LatinHypercube(len(sides), seed=rng).random(n)
    yield from zip(*map(drawn, map(str, range(len(sides))), sides, cube.T), strict=True)
