"""Regression of a meter on the weather: change points, and degree days to a base that is found.

Use per day is a constant plus heating and cooling, each a straight line beyond a balance temperature:
the three-parameter and five-parameter models of ASHRAE's inverse modeling toolkit (RP-1050; Kissock,
Haberl & Claridge 2003, from memory). With ``mean`` temperatures, a line follows the mean temperature of
a period. With ``degree days``, it follows the mean of the daily degrees beyond the balance temperature
(variable-base degree days; Fels 1986, from memory). For daily readings both are the same.
"""

from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import product
from typing import Any, NamedTuple

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy import optimize

from moistsim.core.errors import InputError, Problem
from moistsim.savings.meter_readings import MeterReadings

Array = NDArray[np.float64]

FEWEST = 6
"""Fewest readings of a period before an installation."""
SPARE = 4
"""Fewest readings beyond the number of coefficients."""
FIRST = 18
"""Balance temperatures of the first search, on each side."""
BEYOND = 0.1
"""Share of the readings that must lie beyond a balance temperature."""
HUMID_READINGS = 60
"""Fewest daily readings for a coefficient of the outdoor dew point."""
WORTH = 2.0
"""By how much a further coefficient must lower the BIC: positive evidence (Kass & Raftery 1995, from
memory)."""


class Linear(NamedTuple):
    """Weighted least squares of a straight model."""

    coefficients: Array
    residuals: Array
    squares: float
    """Weighted sum of squared residuals."""
    inverse: Array
    """(X' W X)^-1: times the variance of a residual of weight 1, it is the covariance."""


def least_squares(design: Array, values: Array, weights: Array) -> Linear:
    """Weighted least squares.

    Parameters
    ----------
    design : array, shape (n, p)
    values, weights : array, shape (n,)
        A residual's variance is in inverse proportion to its weight.
    """
    # A handful of columns of like size: the normal equations lose nothing and are quick.
    weighed = (design * weights[:, None]).T
    inverse = np.asarray(np.linalg.pinv(weighed @ design, hermitian=True), float)
    found = inverse @ (weighed @ values)
    residuals = values - design @ found
    return Linear(found, residuals, float(weights @ residuals**2), inverse)


def first_order(residuals: Array, follows: NDArray[np.bool_], weights: Array) -> float:
    """Autocorrelation of neighboring residuals, 0 to 0.95, less its small-sample bias.

    The bias of a first-order coefficient is -(1 + 3 rho) / n (Kendall 1954, from memory). Negative
    values count as zero, as in Guideline 14, because they would narrow a band.
    """
    n = int(follows.sum())
    if n < FEWEST:
        return 0.0
    scaled = residuals * np.sqrt(weights)
    pairs = float(scaled[:-1][follows] @ scaled[1:][follows]) / n
    found = pairs / float(np.mean(scaled**2))
    return float(np.clip((found + 1.0 / n) / (1.0 - 3.0 / n), 0.0, 0.95))


@attrs.frozen(eq=False, kw_only=True)
class WeatherModel:
    """A meter's use as a function of the outdoor air, found by `fit_weather_model`."""

    readings: MeterReadings
    by: str
    """"mean" temperature of a period, or "degree days"."""
    heating: float | None
    """Balance temperature of heating, degC; None without heating."""
    cooling: float | None
    """Balance temperature of cooling, degC; None without cooling."""
    humid: bool
    """Whether outdoor dew point has a coefficient."""
    linear: Linear
    """Coefficients in the order of `names`, with the balance temperatures given."""

    @property
    def names(self) -> list[str]:
        """Names of the coefficients with their units, balance temperatures last."""
        return [
            "base_kWh_day",
            *(["heating_kWh_day_K"] if self.heating is not None else []),
            *(["cooling_kWh_day_K"] if self.cooling is not None else []),
            *(["humid_kWh_day_K"] if self.humid else []),
            *(["heating_balance_C"] if self.heating is not None else []),
            *(["cooling_balance_C"] if self.cooling is not None else []),
        ]

    @property
    def estimates(self) -> Array:
        """Values of all coefficients, in the order of `names`."""
        balances = [balance for balance in (self.heating, self.cooling) if balance is not None]
        return np.asarray(np.r_[self.linear.coefficients, balances], float)

    @property
    def words(self) -> str:
        """Kind of model, as the field calls it."""
        sides = [
            side for side, at in (("heating", self.heating), ("cooling", self.cooling))
            if at is not None
        ]  # fmt: skip
        if not sides:
            text = "mean use, without weather"
        else:
            number = "3" if len(sides) == 1 else "5"
            kind = "variable-base degree days" if self.by == "degree days" else "change point"
            text = f"{number}-parameter {' and '.join(sides)}, {kind}"
        return text + (", with outdoor dew point" if self.humid else "")

    def design(self, readings: MeterReadings) -> Array:
        """Columns of the straight part of the model, shape (n, p)."""
        return design(readings, self.by, self.heating, self.cooling, self.humid)

    def slopes(self, readings: MeterReadings) -> Array:
        """Derivatives of the use per day by all coefficients, in the order of `names`."""
        columns = [self.design(readings)]
        at = 1
        for side, balance in ((-1.0, self.heating), (1.0, self.cooling)):
            if balance is not None:
                beyond = _beyond(readings, self.by, balance, side)
                columns.append((-side * self.linear.coefficients[at] * beyond)[:, None])
                at += 1
        return np.hstack(columns)

    def predict(self, readings: MeterReadings) -> Array:
        """Use per day in the weather of some readings, kWh."""
        return np.asarray(self.design(readings) @ self.linear.coefficients)

    @property
    def parameters(self) -> int:
        """Number of coefficients, balance temperatures included."""
        return len(self.names)

    @cached_property
    def autocorrelation(self) -> float:
        """First-order autocorrelation of the residuals, from 0."""
        return first_order(self.linear.residuals, self.readings.follows, self.readings.days)

    @property
    def independent(self) -> float:
        """Number of independent readings: n (1 - rho) / (1 + rho), Guideline 14 (from memory)."""
        rho = self.autocorrelation
        return max(len(self.readings) * (1.0 - rho) / (1.0 + rho), self.parameters + 1.0)

    @property
    def freedom(self) -> float:
        """Degrees of freedom left by the independent readings."""
        return self.independent - self.parameters

    @property
    def variance(self) -> float:
        """Variance of a residual of one day's weight, (kWh/day)² day."""
        return self.linear.squares / (len(self.readings) - self.parameters)

    @cached_property
    def covariance(self) -> Array:
        """Covariance of all coefficients, in the order of `names`, balance temperatures included.

        It is that of the model made straight at the estimates (Seber & Wild 1989, from memory), widened
        by n / n' for residuals that are not independent.
        """
        slopes = self.slopes(self.readings)
        inverse = np.linalg.pinv((slopes * self.readings.days[:, None]).T @ slopes)
        return np.asarray(self.variance * inverse * len(self.readings) / self.independent)

    @property
    def standard_errors(self) -> Array:
        """Standard errors of the coefficients, in the order of `names`."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def cv_rmse(self) -> float:
        """CV(RMSE) of use per day, a share, with the model's coefficients counted."""
        days = self.readings.days
        mean = float(self.readings.kwh.sum() / days.sum())
        return float(np.sqrt(self.variance / days.mean())) / mean

    @property
    def r_squared(self) -> float:
        """Share of the variance of use per day that the model explains."""
        days, values = self.readings.days, self.readings.per_day
        mean = float(days @ values / days.sum())
        return 1.0 - self.linear.squares / float(days @ (values - mean) ** 2)

    def total(self, readings: MeterReadings) -> tuple[float, float]:
        """Sum over some readings' days of the predicted use, and its standard error.

        The error has the coefficients and the residuals of those periods, whose neighbors are
        correlated. It is that of a new sum, not of its mean.

        Returns
        -------
        (float, float)
            kWh.
        """
        of = readings.days @ self.slopes(readings)
        own = sum_variance(readings, self.variance, self.autocorrelation)
        return (
            float(readings.days @ self.predict(readings)),
            float(np.sqrt(of @ self.covariance @ of + own)),
        )


def sum_variance(readings: MeterReadings, variance: float, rho: float) -> float:
    """Variance of the sum of the residuals of some periods, kWh².

    A period's own residual has the variance times its days. Neighbors are correlated by rho, and
    periods k apart by rho^k.
    """
    each = np.sqrt(variance * readings.days)
    if rho == 0.0:
        return float(each @ each)
    k = np.arange(len(each))
    return float(each @ rho ** np.abs(k[:, None] - k[None, :]) @ each)


def fit_weather_model(readings: MeterReadings, where: str = "savings") -> WeatherModel:
    """Find the model of a meter that its readings support best.

    Candidates have heating, cooling, both or neither, by mean temperature and by degree days, and with
    enough daily readings also the outdoor dew point. Coefficients must not be negative. The lowest BIC
    wins; a further coefficient must lower it by `WORTH`.

    Raises
    ------
    InputError
        If there are too few readings.
    """
    if len(readings) < FEWEST:
        found = Problem(f"{len(readings)} readings")
        raise InputError(where, found, f"at least {FEWEST} bills or days before the installation")
    best: tuple[float, WeatherModel] | None = None
    for model in sorted(_candidates(readings), key=lambda model: model.parameters):
        n = len(readings)
        squares = max(model.linear.squares, 1.0e-12 * float(readings.days @ readings.per_day**2))
        criterion = n * np.log(squares / n) + model.parameters * np.log(n)
        more = best is not None and model.parameters > best[1].parameters
        if best is None or criterion < best[0] - (WORTH if more else 0.0):
            best = criterion, model
    assert best is not None
    return best[1]


def model_of(
    readings: MeterReadings, *, heating: bool, cooling: bool, by: str = "mean", humid: bool = False
) -> WeatherModel | None:
    """Best model of one kind; None if no balance temperature gives coefficients above zero."""
    sides = [
        side for side, there in ((-1.0, heating), (1.0, cooling)) if there
    ]  # fmt: skip
    grids = [_grid(readings, side) for side in sides]
    if any(not len(grid) for grid in grids):
        return None

    def solved(balances: Sequence[float]) -> tuple[Linear, float | None, float | None]:
        left = list(balances)
        heat = left.pop(0) if heating else None
        cool = left.pop(0) if cooling else None
        columns = design(readings, by, heat, cool, humid)
        return least_squares(columns, readings.per_day, readings.days), heat, cool

    def squares(balances: Sequence[float]) -> float:
        if len(balances) == 2 and balances[0] > balances[1]:
            return np.inf
        linear = solved(balances)[0]
        return linear.squares if (linear.coefficients[1:] >= 0.0).all() else np.inf

    first: tuple[float, ...] = min(product(*grids), key=squares, default=())
    if squares(first) == np.inf:
        return None
    balances: Sequence[float] = first
    if sides:
        refined: Any = optimize.minimize(  # type: ignore[call-overload]
            squares, first, method="Nelder-Mead",
            bounds=[(grid[0], grid[-1]) for grid in grids],
            options={"xatol": 1e-4, "fatol": 1e-9 * squares(first), "initial_simplex": _simplex(first, grids)},
        )  # fmt: skip
        if refined.fun <= squares(first):
            balances = refined.x.tolist()
    linear, heat, cool = solved(balances)
    return WeatherModel(
        readings=readings, by=by, heating=heat, cooling=cool, humid=humid, linear=linear
    )


def design(
    readings: MeterReadings, by: str, heating: float | None, cooling: float | None, humid: bool
) -> Array:
    """Columns of a model: one, degrees of heating, degrees of cooling, degrees of dew point."""
    columns = [np.ones(len(readings))]
    for side, balance in ((-1.0, heating), (1.0, cooling)):
        if balance is not None:
            columns.append(_degrees(readings, by, balance, side))
    if humid:
        columns.append(readings.humid)
    return np.column_stack(columns)


def _candidates(readings: MeterReadings) -> Iterator[WeatherModel]:
    many = len(readings)
    kinds = ["mean"] if readings.are_daily else ["mean", "degree days"]
    wet = [False, True] if readings.are_daily and many >= HUMID_READINGS else [False]
    for humid, (heating, cooling) in product(wet, product([False, True], repeat=2)):
        parameters = 1 + 2 * (heating + cooling) + humid
        # Moist air alone calls no air conditioner: its coefficient goes with one for cooling.
        if (humid and not cooling) or (parameters > 1 and many < parameters + SPARE):
            continue
        for by in kinds if heating or cooling else kinds[:1]:
            model = model_of(readings, heating=heating, cooling=cooling, by=by, humid=humid)
            if model is not None:
                yield model


def _grid(readings: MeterReadings, side: float) -> Array:
    """Balance temperatures to try: some readings lie beyond each, and some do not."""
    means = readings.mean_temperature
    least = max(BEYOND, 2.0 / len(means))
    low, high = np.quantile(means, [least, 1.0 - least])
    return np.linspace(low, high, FIRST) if high > low else np.array([])


def _simplex(first: Sequence[float], grids: Sequence[Array]) -> Array:
    """First triangle of the search: from the best point half a step inward on each side."""
    corners = np.tile(np.asarray(first, float), (len(first) + 1, 1))
    for k, grid in enumerate(grids):
        half = 0.5 * (grid[1] - grid[0])
        corners[k + 1, k] += half if first[k] < grid[-1] else -half
    return corners


def _degrees(readings: MeterReadings, by: str, balance: float, side: float) -> Array:
    """Mean degrees beyond a balance temperature, above for side 1 and below for -1."""
    if by == "mean":
        return np.maximum(side * (readings.mean_temperature - balance), 0.0)
    return readings.mean(np.maximum(side * (readings.temperature - balance), 0.0))


def _beyond(readings: MeterReadings, by: str, balance: float, side: float) -> Array:
    """Share of each period beyond a balance temperature."""
    if by == "mean":
        return (side * (readings.mean_temperature - balance) > 0.0).astype(float)
    return readings.mean((side * (readings.temperature - balance) > 0.0).astype(float))
