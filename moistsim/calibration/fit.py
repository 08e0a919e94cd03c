"""A house fitted to its log: draws of its values, predictions with bands, and how good they are."""

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import cached_property
from typing import Any, Literal, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim.calibration import goodness
from moistsim.calibration.adjusted import described
from moistsim.calibration.baselines import NAMES, baselines
from moistsim.calibration.chaining import SETTLING, Chained
from moistsim.calibration.figures import fit_figure
from moistsim.calibration.identified import Identified, identified
from moistsim.calibration.model import GRAMS, Hours, Model, hours_of
from moistsim.calibration.noise import Noise
from moistsim.calibration.summarizing import fit_summary
from moistsim.controls import Strategy
from moistsim.core.display import Show, Units, count, number
from moistsim.core.errors import InputError, one_of
from moistsim.core.summary import Summarized, Summary
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.loggers import HouseLog
from moistsim.season import Season

Period = Literal["h", "D", "W"]
PERIOD_WORDS = {"h": "hour", "D": "day", "W": "week"}
RUNS = 64
"""Draws that are run for a band."""
STRUCTURE = "structure"


class Member(NamedTuple):
    """One structure of a fit, with its weight."""

    model: Model
    weight: float
    noise: Noise
    """Residuals on the fitted part."""
    effective: float
    """Number of independent draws from its posterior."""


@attrs.frozen(eq=False, kw_only=True)
class Fit(Summarized):
    """A house fitted to its log, as `calibrate` returns it.

    Examples
    --------
    >>> fit = ms.calibrate(house, equipment, log)  # doctest: +SKIP
    >>> fit.table().loc[("blind", "hour"), "rmse_g_kg"]  # doctest: +SKIP
    0.22
    """

    house: House
    """The house before the fit."""
    equipment: Equipment
    """The machines that were there while the log was taken."""
    log: HouseLog
    hours: Hours = attrs.field(repr=False)
    members: Mapping[str, Member]
    """Structures by name."""
    draws: pd.DataFrame
    """Draws from the posterior, one row each: a column a dotted name in SI, and `structure`.
    A value that a structure does not have is missing."""
    priors: pd.DataFrame
    """As many draws from the prior ranges."""
    chained: Chained
    """Errors by forward chaining."""
    fitted: int
    """Number of hours that the fit has seen. The hours after them are the blind part."""
    imposed: bool
    """Whether the measured indoor temperature was imposed."""
    extra: tuple[str, ...] = ()
    """Columns of the log that were judged as extra inputs."""
    extras: pd.DataFrame
    """For each extra input, and for its placebo, the error by forward chaining, g/kg."""
    seconds: float
    """Time that the fit took, s."""
    seed: int

    def summary(self, show: Show) -> Summary:
        """Log, structures, goodness and what the log tells, as a notebook shows them."""
        return fit_summary(self, show)

    def __repr__(self) -> str:
        return (
            f"<Fit of {count(self.fitted, 'hour')}: {count(len(self.members), 'model structure')}, "
            f"{number(len(self.draws))} draws of {count(len(self.names), 'value')}>"
        )

    @property
    def best(self) -> dict[str, Any]:
        """Values of the draw in the middle: the one nearest to the medians of the likeliest structure."""
        name = max(self.members, key=lambda one: self.members[one].weight)
        own = self.draws[self.draws[STRUCTURE] == name].drop(columns=STRUCTURE).dropna(axis=1)
        scale = own.std().replace(0.0, 1.0)
        nearest = (((own - own.median()) / scale) ** 2).sum(axis=1).argmin()
        return self._values(self.draws.loc[own.index[int(nearest)]])

    @property
    def strategy(self) -> Strategy:
        """The control that the machines had while the log was taken."""
        return next(iter(self.members.values())).model.strategy

    @property
    def names(self) -> list[str]:
        """Dotted names of all values that the log moved."""
        return [str(name) for name in self.draws.columns if name != STRUCTURE]

    def _values(self, row: "pd.Series[Any]") -> dict[str, Any]:
        return {str(name): value for name, value in row.items() if not pd.isna(value)}

    def described(self, values: Mapping[str, Any]) -> tuple[House, Equipment]:
        """The house and its machines with the values of a draw.

        Parameters
        ----------
        values : dict or Series
            A row of `draws`, or `best`.
        """
        known = {k: v for k, v in dict(values).items() if not pd.isna(v)}
        member = self._member(known)
        made = described(
            member.model.structure, member.model.strategy, member.model.names,
            {k: float(v) for k, v in known.items() if k != STRUCTURE},
        )  # fmt: skip
        return made.house, made.equipment

    def _member(self, values: Mapping[str, Any]) -> Member:
        name = str(values.get(STRUCTURE, next(iter(self.members))))
        if name not in self.members:
            raise InputError("Fit structure", name, one_of(name, self.members))
        return self.members[name]

    def simulate(self, values: Mapping[str, Any], log: HouseLog | None = None) -> Season:
        """Run the house with the values of a draw over the hours of a log.

        Parameters
        ----------
        log : HouseLog, optional
            Default: the log of the fit.
        """
        hours = self.hours if log is None else hours_of(log, impose=self.imposed, extra=self.extra)
        return self._run(pd.Series(dict(values)), hours)[1]

    def _run(self, row: "pd.Series[Any]", hours: Hours) -> tuple[NDArray[np.float64], Season]:
        values = self._values(row)
        model = attrs.evolve(self._member(values).model, hours=hours)
        run = model.run({k: float(v) for k, v in values.items() if k != STRUCTURE})
        return run.humidity, run.season

    def _runs(self, hours: Hours, draws: pd.DataFrame) -> "_Runs":
        rows = [row for _, row in draws.iterrows()]

        def one(row: "pd.Series[Any]") -> tuple[NDArray[np.float64], float, float]:
            humidity, season = self._run(row, hours)
            air = sum(
                float(season.column(f"air_{way}_kg").sum())
                for way in ("infiltration", "ventilation", "opening")
            )
            water = float(season.column("water_gains_kg").sum())
            if hours.known_water is not None:
                # Water that was weighed is not the household's.
                water -= 3600.0 * float(hours.known_water.sum())
            return humidity, air, water

        with ThreadPoolExecutor(2) as pool:
            done = list(pool.map(one, rows))
        humidity, air, water = zip(*done, strict=True)
        return _Runs(np.array(humidity), np.array(air), np.array(water))

    def chosen(self, n: int = RUNS) -> pd.DataFrame:
        """So many of the draws, evenly through all structures."""
        step = max(len(self.draws) // n, 1)
        return self.draws.iloc[::step].head(n)

    @cached_property
    def _own(self) -> "_Runs":
        return self._runs(self.hours, self.chosen())

    @cached_property
    def _of_priors(self) -> "_Runs":
        return self._runs(self.hours, self.priors.head(RUNS))

    def predict(
        self,
        log: HouseLog | None = None,
        level: float = 0.9,
        period: Period = "h",
        *,
        measured_until: str | pd.Timestamp | None = None,
    ) -> pd.DataFrame:
        """Humidity ratio that the loggers should show, with a band.

        The band holds the spread of the draws, that of the structures, and the errors that forward
        chaining found beyond both.

        Parameters
        ----------
        log : HouseLog, optional
            Default: the log of the fit. Its humidity is not used, except for the first day, whose mean
            is the state in which the run starts, and as `measured_until` says.
        level : float
            Share of the hours that the band should hold.
        period : {"h", "D", "W"}
            Means of an hour, a day or a week.
        measured_until : str or Timestamp, optional
            Time up to which the humidity is known: the last day's error before it fades from the
            prediction that follows, as an AR(1) process does.

        Returns
        -------
        DataFrame
            By the start of each period: `measured`, `predicted`, `low` and `high`, kg/kg.

        Raises
        ------
        InputError
            If the level is not between 0 and 1, or the period is another.
        """
        if not 0.0 < level < 1.0:
            raise InputError("Fit.predict level", level, "a share between 0 and 1, such as 0.9")
        hours = self.hours if log is None else hours_of(log, impose=self.imposed, extra=self.extra)
        runs = self._own if log is None else self._runs(hours, self.chosen())
        table = pd.DataFrame(
            {"measured": hours.measured, "predicted": runs.humidity.mean(axis=0)}, hours.index
        )
        if measured_until is not None:
            table["predicted"] += self._carried_on(table, pd.Timestamp(measured_until))
        spread = pd.DataFrame(runs.humidity.T, hours.index)
        if period != "h":
            table, spread = goodness.by_period(table, period), goodness.by_period(spread, period)
        variance = spread.to_numpy().var(axis=1) + self.chained.spread[period] ** 2
        reach = self.chained.reach(period, level) * np.sqrt(variance)
        table["low"], table["high"] = table["predicted"] - reach, table["predicted"] + reach
        return table / GRAMS

    def _carried_on(self, table: pd.DataFrame, until: pd.Timestamp) -> NDArray[np.float64]:
        """Error of the last measured day, fading through the hours that follow."""
        known = table[table.index < until]
        left = (known["measured"] - known["predicted"]).dropna().tail(24)
        if left.empty:
            return np.zeros(len(table))
        noise = max(self.members.values(), key=lambda member: member.weight).noise
        after = (pd.DatetimeIndex(table.index) - until) / pd.Timedelta(hours=1)
        faded = noise.remembered(np.maximum(np.asarray(after, float), 0.0))
        return np.asarray(np.where(after >= 0.0, float(left.mean()) * faded, 0.0))

    def table(self, level: float = 0.9) -> pd.DataFrame:
        """How good the prediction is, on the fitted and on the blind part, by hour, day and week.

        Returns
        -------
        DataFrame
            Rows by part ("fitted", "blind") and period. `rmse_g_kg`, `bias_g_kg` (predicted less
            measured), `r_squared`, `cv_rmse_pct` and `nmbe_pct` (ASHRAE Guideline 14), skill over
            three baselines that were fitted to the fitted part, and `coverage_pct` of the band.
        """
        rows = {}
        others = pd.DataFrame(
            baselines(self.hours, self.hours.known(SETTLING, self.fitted)), self.hours.index
        )
        for period, word in PERIOD_WORDS.items():
            got = GRAMS * self.predict(level=level, period=period)  # type: ignore[arg-type]
            base = others if period == "h" else goodness.by_period(others, period)
            cut = self.hours.index[min(self.fitted, len(self.hours.index) - 1)]
            begin = self.hours.index[min(SETTLING, len(self.hours.index) - 1)]
            parts = {"fitted": (got.index >= begin) & (got.index < cut), "blind": got.index >= cut}
            if self.fitted >= len(self.hours.index):
                parts = {"fitted": got.index >= begin}
            for part, at in parts.items():
                there = got[at].dropna()
                if len(there) < 2:
                    continue
                y, f = there["measured"], there["predicted"]
                rows[part, word] = {
                    "periods": len(there),
                    "rmse_g_kg": goodness.rmse(y, f),
                    "bias_g_kg": goodness.bias(y, f),
                    "r_squared": goodness.r_squared(y, f),
                    "cv_rmse_pct": 100.0 * goodness.cv_rmse(y, f),
                    "nmbe_pct": 100.0 * goodness.nmbe(y, f),
                    **{
                        f"skill_over_{name.replace(' ', '_')}": goodness.skill(
                            y, f, base[name].reindex(there.index)
                        )
                        for name in NAMES
                    },
                    "coverage_pct": 100.0 * goodness.coverage(y, there["low"], there["high"]),
                }
        table = pd.DataFrame.from_dict(rows, orient="index")
        table.index = pd.MultiIndex.from_tuples([*rows], names=["part", "period"])
        return table

    @cached_property
    def quantities(self) -> pd.DataFrame:
        """What the draws say of the house in plain quantities; one row a draw that was run.

        `air_flow_m3h` is all outdoor air (at 1.2 kg/m3), `moisture_kg_day` the household's, and
        `excess_g_kg` their ratio: the humidity by which the house lies above the outdoors.
        """
        return self._in_plain(self._own)

    @cached_property
    def prior_quantities(self) -> pd.DataFrame:
        """The same of the prior ranges, before the log."""
        return self._in_plain(self._of_priors)

    def _in_plain(self, runs: "_Runs") -> pd.DataFrame:
        hours = len(self.hours.index)
        return pd.DataFrame(
            {
                "air_flow_m3h": runs.air / 1.2 / hours,
                "moisture_kg_day": runs.water / hours * 24.0,
                "excess_g_kg": GRAMS * runs.water / np.maximum(runs.air, 1e-9),
            }
        )

    def identified(self, units: Units | None = None) -> Identified:
        """What the log tells, what only as a ratio, and what not at all, in plain words."""
        return identified(self, units)

    def figure(
        self, units: Units | None = None, *, ax: Any = None,
        context: Literal["paper", "slide"] = "paper",
    ) -> Any:  # fmt: skip
        """Measured and predicted humidity with the band, and the draws of air against moisture.

        Parameters
        ----------
        units : {"us", "si"}, optional
        ax : list of two Axes, optional
            In place of a page.
        context : {"paper", "slide"}
            A page or a slide.

        Returns
        -------
        matplotlib.figure.Figure
            Or the axes that the reader gave.
        """
        return fit_figure(self, units, ax=ax, context=context)


class _Runs(NamedTuple):
    """Runs of draws over a log."""

    humidity: NDArray[np.float64]
    """Humidity ratio, g/kg, (draws, hours)."""
    air: NDArray[np.float64]
    """Outdoor air, kg."""
    water: NDArray[np.float64]
    """Vapor of the household, kg."""
