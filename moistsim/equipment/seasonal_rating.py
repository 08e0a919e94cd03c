"""The seasonal cooling rating: SEER2 of a described unit, and a unit from its SEER2.

The procedure is AHRI 210/240 (10 CFR 430 subpart B appendix M1), cooling, from memory. Included are
tests at 80/67 degF indoors, the cyclic test, temperature bins, the building load and the cases of
the bin calculation. All stages are rated at 95 degF, net of the indoor fan. Their curves give the
procedure's other temperatures.
"""

import contextlib
import math
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from moistsim.core.errors import Fix, InputError, Problem
from moistsim.core.units import to_si
from moistsim.equipment.cooling import (
    RATED_OUTDOOR,
    RATED_WET_BULB,
    SINGLE,
    Biquadratic,
    Cooling,
    Curves,
    Stage,
)

BINS = (
    (67.0, 0.214), (72.0, 0.231), (77.0, 0.216), (82.0, 0.161),
    (87.0, 0.104), (92.0, 0.052), (97.0, 0.018), (102.0, 0.004),
)  # fmt: skip
"""Outdoor temperature of each bin, degF, and its share of the cooling hours (from memory)."""
BALANCE = 65.0
"""Outdoor temperature without cooling load, degF."""
SIZING = 1.1
"""Full capacity at 95 degF over the cooling load at 95 degF."""
DEFAULT_DEGRADATION = 0.25
"""Cyclic degradation coefficient of the procedure for untested units, and its maximum (from memory)."""
CYCLE_ON, CYCLE_PERIOD = 360.0, 1800.0
"""Time on, and time on plus off, in the cyclic test (test D), s: 6 min on, 24 min off."""

EER2_RANGE = (5.0, 20.0)
"""Limits of EER2, Btu/(W h); they span all machines made."""
SEER2_RANGE = (6.0, 40.0)
"""Limits of SEER2, Btu/(W h); they span all machines made."""
LOWER_STAGES = {"single": (), "two-stage": (0.72,), "variable": (0.35,)}
"""Capacity of lower stages as fractions of the full one; our own round figures."""
LOW_OVER_FULL = {"two-stage": 1.08, "multi-stage": 1.08, "variable": 1.25}
"""COP of the lowest stage over COP at full capacity, both at 95 degF, for labels without EER2; our own
round figures."""
LOW_OVER_FULL_RANGE = {
    "two-stage": (0.85, 1.7),
    "multi-stage": (0.85, 2.0),
    "variable": (0.85, 2.5),
}
"""Limits of the search for this ratio, for labels with SEER2 and EER2."""
STEEPNESS_RANGE = (0.4, 1.8)
"""Limits of the search for a single stage's slope of input over outdoor temperature, as a multiple of
the published slope."""

_W_PER_BTU_H = 1055.05585262 / 3600.0


class SteadyTest(NamedTuple):
    """Result of a steady test of the procedure."""

    capacity: float
    """Net capacity in the test, W."""
    input: float
    """Total input in the test, W."""


def steady_test(cooling: Cooling, call: float, outdoor: float) -> SteadyTest:
    """Return net capacity and total input in the rating's indoor air (80/67 degF).

    Parameters
    ----------
    cooling : Cooling
    call : float
        Stage, counted from 1. A fraction lies on the straight line of a variable unit.
    outdoor : float
        Outdoor dry bulb, degF.
    """
    k = min(int(call), len(cooling.stages)) - 1
    j = min(k + 1, len(cooling.stages) - 1)
    share = call - 1.0 - k

    def between(low: float, high: float) -> float:
        return low + share * (high - low)

    low, high = cooling.gross_rating(k), cooling.gross_rating(j)
    f_low, f_high = (cooling.curves(i).factors(RATED_WET_BULB, outdoor) for i in (k, j))
    rated = between(low.capacity, high.capacity)
    capacity = rated * between(f_low[0], f_high[0])
    power = between(low.input, high.input) / rated * capacity * between(f_low[1], f_high[1])
    fan = cooling.fan_watts(between(cooling.stages[k].airflow, cooling.stages[j].airflow))
    return SteadyTest(capacity - fan, power + fan)


def degradation(cooling: Cooling) -> float:
    """Return the cyclic degradation coefficient that the cyclic test would find.

    Cd = (1 - EER_cyc / EER_ss) / (1 - CLF), with the cooling load factor CLF = Q_cyc / (Q_ss P) of
    a period P. Capacity rises with the time constant tau, `start_up_time`, and input is full from
    the start. An on time t then gives the share 1 - tau (1 - exp(-t / tau)) / t of steady cooling.
    The result is at most `DEFAULT_DEGRADATION`, as in the procedure.
    """
    tau = cooling.start_up_time
    share = 1.0 - tau / CYCLE_ON * -math.expm1(-CYCLE_ON / tau) if tau > 0.0 else 1.0
    load_factor = share * CYCLE_ON / CYCLE_PERIOD
    return min((1.0 - share) / (1.0 - load_factor), DEFAULT_DEGRADATION)


def seer2(cooling: Cooling) -> float:
    """Seasonal energy efficiency ratio (SEER2) of a unit by the test procedure, Btu/(W h).

    A single stage has its EER at 82 degF times the part-load factor at half load, 1 - 0.5 Cd.

    Units with more stages are rated by bins of outdoor temperature T, each with the load
    (T - 65)/30 x capacity at 95 degF / 1.1. Below the lowest stage's capacity the unit cycles, with
    PLF = 1 - Cd (1 - load / capacity). Above the highest stage's capacity it runs continuously. In
    between, a staged unit alternates between the two stages around the load. A variable unit follows
    the load; its EER lies on straight lines over capacity between lowest, intermediate and full
    speed. Lower stages are tested at 67 and 82 degF, and the full one at 82 and 95 degF. The
    intermediate speed (a third of the way up) is tested at 87 degF. More than two stages are treated in pairs,
    which is our own reading.

    Parameters
    ----------
    cooling : Cooling

    Returns
    -------
    float
        SEER2, with the `degradation` that follows from the unit's start-up.

    Examples
    --------
    >>> round(seer2(Cooling.from_label("36000 Btu/h", seer2=15.2)), 1)
    15.2
    """
    cd = degradation(cooling)
    top = len(cooling.stages)
    if top == 1:
        test = steady_test(cooling, 1.0, 82.0)
        return test.capacity / test.input / _W_PER_BTU_H * (1.0 - 0.5 * cd)
    lines = [_line(cooling, call, 67.0, 82.0) for call in range(1, top)]
    lines.append(_line(cooling, top, 82.0, 95.0))
    variable = cooling.modulation == "variable"
    middle = _intermediate(cooling, lines[0], lines[-1]) if variable else None
    delivered, used = 0.0, 0.0
    for outdoor, share in BINS:
        load = (
            (outdoor - BALANCE)
            / (RATED_OUTDOOR - BALANCE)
            * steady_test(cooling, top, RATED_OUTDOOR).capacity
            / SIZING
        )
        tests = [line(outdoor) for line in lines]
        if load <= tests[0].capacity:
            part = load / tests[0].capacity
            power = part * tests[0].input / (1.0 - cd * (1.0 - part))
        elif load >= tests[-1].capacity:
            load, power = tests[-1]
        elif middle is not None:
            power = load / _eer_between([tests[0], middle(outdoor), tests[-1]], load)
        else:
            k = next(k for k, test in enumerate(tests) if test.capacity > load)
            low, high = tests[k - 1], tests[k]
            part = (high.capacity - load) / (high.capacity - low.capacity)
            power = part * low.input + (1.0 - part) * high.input
        delivered += share * load
        used += share * power
    return delivered / used / _W_PER_BTU_H


def _line(cooling: Cooling, call: float, cool: float, warm: float) -> Callable[[float], SteadyTest]:
    """Return the straight line of capacity and input over outdoor temperature through two tests."""
    a, b = steady_test(cooling, call, cool), steady_test(cooling, call, warm)

    def at(outdoor: float) -> SteadyTest:
        f = (outdoor - cool) / (warm - cool)
        return SteadyTest(
            a.capacity + f * (b.capacity - a.capacity), a.input + f * (b.input - a.input)
        )

    return at


def _intermediate(
    cooling: Cooling, low: Callable[[float], SteadyTest], high: Callable[[float], SteadyTest]
) -> Callable[[float], SteadyTest]:
    """Return the line of capacity and input at intermediate speed.

    It runs through the test at 87 degF. Its slope is interpolated between those of low and full
    speed.
    """
    capacities = [stage.capacity for stage in cooling.stages]
    third = capacities[0] + (capacities[-1] - capacities[0]) / 3.0
    k = next(k for k, capacity in enumerate(capacities) if capacity >= third)
    call = k + (third - capacities[k - 1]) / (capacities[k] - capacities[k - 1])
    test = steady_test(cooling, call, 87.0)
    slopes = []
    for field in range(2):
        n = (test[field] - low(87.0)[field]) / (high(87.0)[field] - low(87.0)[field])
        rise_low, rise_high = (line(88.0)[field] - line(87.0)[field] for line in (low, high))
        slopes.append(rise_low * (1.0 - n) + rise_high * n)

    def at(outdoor: float) -> SteadyTest:
        f = outdoor - 87.0
        return SteadyTest(test.capacity + slopes[0] * f, test.input + slopes[1] * f)

    return at


def _eer_between(tests: list[SteadyTest], load: float) -> float:
    """Return the efficiency at a load between tests of rising capacity, W/W."""
    low, high = tests[:2] if load <= tests[1].capacity else tests[1:]
    f = (load - low.capacity) / (high.capacity - low.capacity)
    a, b = (test.capacity / test.input for test in (low, high))
    return a + f * (b - a)


def steeper(curves: Curves, steepness: float) -> Curves:
    """Return curves with `steepness` times the slope of the input ratio over outdoor temperature,
    around 95 degF."""
    a, b, c, d, e, f = curves.input_ratio
    y, rest = RATED_OUTDOOR, 1.0 - steepness
    return curves._replace(
        input_ratio=Biquadratic(
            a + rest * (d * y + e * y * y),
            b + rest * f * y,
            c,
            steepness * d,
            steepness * e,
            steepness * f,
        )  # fmt: skip
    )


def from_label(
    capacity: Any,
    seer2: Any = None,
    eer2: Any = None,
    *,
    seer: Any = None,
    kind: str = "single",
    shr: Any = 0.72,
    airflow: Any = None,
    lower_stages: Sequence[float] | None = None,
    **fields: Any,
) -> Cooling:
    """Make a unit from its certificate; see `Cooling.from_label`."""
    where = "Cooling.from_label"
    _check_kind(kind, lower_stages, where)
    fractions = (*(LOWER_STAGES[kind] if lower_stages is None else lower_stages), 1.0)
    full = Stage(capacity=capacity, shr=shr, **({} if airflow is None else {"airflow": airflow}))
    season = _seasonal(seer2, seer, where)
    if kind == "variable":
        fields["modulation"] = "variable"

    def unit(cop: float, low_over_full: float, steepness: float = 1.0) -> Cooling:
        """Make a unit from its COP at full capacity and the ratio of lowest-stage COP to that."""
        stages = []
        for fraction in fractions:
            down = (1.0 - fraction) / (1.0 - fractions[0]) if len(fractions) > 1 else 0.0
            stages.append(
                Stage(
                    capacity=full.capacity * fraction,
                    airflow=full.airflow * fraction,
                    shr=full.shr,
                    cop=cop * (1.0 + (low_over_full - 1.0) * down),
                    curves=None if steepness == 1.0 else steeper(SINGLE, steepness),
                )
            )
        return Cooling(stages=tuple(stages), **fields)

    if eer2 is None:
        ratio = LOW_OVER_FULL.get(kind, 1.0)
        limits = (
            EER2_RANGE[0] * _W_PER_BTU_H,
            min(EER2_RANGE[1] * _W_PER_BTU_H, _most_efficient(unit(2.0, 1.0)) / max(ratio, 1.0)),
        )
        said = f"a {kind} unit"
        return _solve(lambda cop: unit(cop, ratio), season, limits, said, f"{where}.seer2")
    peak = label_number(eer2, EER2_RANGE, f"{where}.eer2")
    cop = peak * _W_PER_BTU_H
    said = f"a {kind} unit of EER2 {peak:g}"
    if kind == "single":
        return _solve(lambda s: unit(cop, 1.0, s), season, STEEPNESS_RANGE, said, f"{where}.seer2")
    least, most = LOW_OVER_FULL_RANGE[kind]
    limits = (least, max(least, min(most, _most_efficient(unit(2.0, 1.0)) / cop)))
    return _solve(lambda r: unit(cop, r), season, limits, said, f"{where}.seer2")


def _seasonal(seer2: Any, seer: Any, where: str) -> float:
    """The seasonal rating as a SEER2, from a label of either kind."""
    if (seer2 is None) == (seer is None):
        found = "no seasonal rating" if seer is None else "both seer and seer2 are given"
        fix = "Which one is on its label? Write seer2 = 14.3, or seer = 13 for a label before 2023."
        raise InputError(f"{where}.seer2", Problem(found), Fix(fix))
    if seer is None:
        return label_number(seer2, SEER2_RANGE, f"{where}.seer2")
    low, high = (end / SEER2_OVER_SEER for end in SEER2_RANGE)
    return SEER2_OVER_SEER * label_number(seer, (low, high), f"{where}.seer")


def _check_kind(kind: str, lower_stages: Sequence[float] | None, where: str) -> None:
    if kind not in [*LOW_OVER_FULL, "single"]:
        raise InputError(f"{where}.kind", kind, "one of single, two-stage, multi-stage, variable")
    if lower_stages is None:
        if kind == "multi-stage":
            raise InputError(
                f"{where}.lower_stages",
                None,
                "the capacities below the full one, such as (0.4, 0.7)",
            )
        return
    listed = hasattr(lower_stages, "__iter__") and not isinstance(lower_stages, str)
    ordered = (*lower_stages, 1.0) if listed else (lower_stages,)
    rising = (
        listed
        and all(isinstance(x, float | int) for x in ordered)
        and all(0.05 <= a < b for a, b in zip(ordered[:-1], ordered[1:], strict=True))
    )
    count = {"single": (0, 0), "two-stage": (1, 1)}.get(kind, (1, 20))
    if not rising or not count[0] <= len(lower_stages) <= count[1]:
        accepted = {
            (0, 0): "none",
            (
                1,
                1,
            ): "a list of one fraction of full capacity, such as [0.7], at least 0.05 and below 1,",
        }.get(
            count,
            "a list of rising fractions of full capacity, such as [0.4, 0.7], at least 0.05 and below 1,",
        )
        raise InputError(f"{where}.lower_stages", lower_stages, f"{accepted} for a {kind} unit")


def label_number(value: Any, limits: tuple[float, float], where: str) -> float:
    """Read an efficiency in Btu/(W h), as on labels, from a plain number or a text with a unit."""
    bare = isinstance(value, int | float) and not isinstance(value, bool)
    if isinstance(value, str):
        with contextlib.suppress(ValueError):
            value, bare = float(value), True
    if isinstance(value, int) and value.bit_length() > 64:
        bare = False  # Too large for a float; what reads any number refuses it.
    number = float(value) if bare else to_si(value, "W/W", where) / _W_PER_BTU_H
    if not limits[0] <= number <= limits[1]:
        raise InputError(
            where,
            value,
            f"from {limits[0]:g} to {limits[1]:g} Btu/h/W, which spans all machines made",
        )
    return number


def _most_efficient(cooling: Cooling) -> float:
    """Return the highest COP for all stages: within the limit of `Stage`, with input above the fan's."""
    return min(
        7.99, *(0.9 * s.capacity / max(cooling.fan_watts(s.airflow), 1.0) for s in cooling.stages)
    )


def _solve(
    unit: Callable[[float], Cooling],
    target: float,
    limits: tuple[float, float],
    said: str,
    where: str,
) -> Cooling:
    """Return the unit whose seasonal rating equals the label's; the rating rises with the unknown."""
    from scipy.optimize import brentq

    low, high = (seer2(unit(x)) for x in limits)
    if not low <= target <= high:
        raise InputError(
            where,
            f"{target:g} Btu/h/W",
            f"from {math.ceil(low * 10.0) / 10.0:.1f} to {math.floor(high * 10.0) / 10.0:.1f} "
            f"Btu/h/W, what {said} can have",
        )
    return unit(float(brentq(lambda x: seer2(unit(x)) - target, *limits, xtol=1e-10)))


SEER2_OVER_SEER = 0.95
"""SEER2 over SEER, because its test has more duct pressure (common practice, no source)."""

# First year and SEER2: the federal minimum of split air conditioners below 45000 Btu/h in the warm
# regions, from memory; before the first minimum, usual values.
_MINIMUM = (
    (1970, SEER2_OVER_SEER * 7.0),
    (1982, SEER2_OVER_SEER * 8.5),
    (1992, SEER2_OVER_SEER * 10.0),
    (2006, SEER2_OVER_SEER * 13.0),
    (2015, SEER2_OVER_SEER * 14.0),
    (2023, 14.3),
)
_CLASS = {"single": (1.0, 1970), "two-stage": (1.15, 1992), "variable": (1.3, 2006)}
"""Seasonal rating over the minimum of the year, and first year of the class; our own round figures."""
LAST_YEAR = 2040


def typical(capacity: Any, *, kind: str = "single", year: int = 2010, **fields: Any) -> Cooling:
    """Make a unit from its class and year; see `Cooling.typical`."""
    where = "Cooling.typical"
    if kind not in list(_CLASS):
        raise InputError(f"{where}.kind", kind, "one of " + ", ".join(_CLASS))
    factor, first = _CLASS[kind]
    if isinstance(year, bool) or not isinstance(year, int) or not first <= year <= LAST_YEAR:
        raise InputError(
            f"{where}.year", year, f"a whole year from {first} to {LAST_YEAR} for a {kind} unit"
        )
    minimum = max((since, rating) for since, rating in _MINIMUM if since <= year)[1]
    return from_label(capacity, factor * minimum, kind=kind, **fields)


__all__ = ["degradation", "from_label", "seer2", "steady_test", "typical"]
