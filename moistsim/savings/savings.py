"""Savings after an installation, by the meter and by the simulation of the measured house."""

from typing import Any, Literal

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from moistsim.calibration import Fitted
from moistsim.core.display import Show, Units, count, number, units_or_default
from moistsim.core.errors import InputError, Problem
from moistsim.core.whole_numbers import case_count, seed_of
from moistsim.engine import column_catalog
from moistsim.prices import Tariff, bill
from moistsim.savings.amount import Amount, amount_of
from moistsim.savings.change_points import WeatherModel, fit_weather_model
from moistsim.savings.guideline import CALIBRATED, fractional_uncertainty
from moistsim.savings.meter_readings import DAY, MeterReadings, read_meter
from moistsim.savings.period import MeteredPeriod
from moistsim.savings.scaling import Scaled, scaled_to_meter, unmetered
from moistsim.savings.simulated import Ran, Simulated, by_reading, run_draws
from moistsim.season import Season
from moistsim.study import ALIKE, Goal

Array = NDArray[np.float64]

REGRESSION = "Meter, regression on the weather"
SIMULATION = "Meter, simulation of the measured house"
EXPECTED = "Expected, both machines simulated"
FEW = 3.0
"""Effective number of draws below which a note says that the meter leaves few."""
HUMID_SHARE = 0.01
"""Rise of the share of humid hours from which a house is damper, as in the default `Goal`."""


@attrs.frozen(eq=False, kw_only=True)
class Savings:
    """Avoided energy of an installation, with the change of the humidity, as `savings` returns it.

    Examples
    --------
    >>> Amount(1200.0, 700.0, 1700.0).verdict, Amount(300.0, -200.0, 800.0).verdict
    ('saved', 'not proven')
    """

    before: MeteredPeriod
    after: MeteredPeriod
    level: float
    goal: Goal
    price: float
    """USD per kWh avoided."""
    model: WeatherModel | None
    """Model of the meter before; None without one."""
    readings: MeterReadings | None
    """The meter after; None without one."""
    regression: Amount | None
    """Avoided kWh by `model`; None without both meters."""
    simulation: Amount | None
    """Avoided kWh by the simulation scaled to the meter before. None without both meters, or if the
    simulation does not follow the meter before (`guideline.CALIBRATED`)."""
    expected: Amount
    """kWh that the simulation expects to be avoided."""
    simulated: Simulated
    scaled: Scaled
    dew_point: Amount
    """Mean indoor dew point after less before, K, in the weather after."""
    dew_point_is_measured: bool
    """Whether the dew point after is measured, and not simulated."""
    humid_hours: tuple[Amount, Amount]
    """Simulated hours above the goal's mark in the weather after: machines before, and after."""
    notes: tuple[str, ...]

    @property
    def metered(self) -> dict[str, Amount]:
        """Avoided kWh of the methods that rest on the meter of both periods, by name."""
        both = {REGRESSION: self.regression, SIMULATION: self.simulation}
        return {name: amount for name, amount in both.items() if amount is not None}

    @property
    def hours(self) -> int:
        """Hours of the period after."""
        return len(self.simulated.changed[0].dew_point)

    @property
    def is_damper(self) -> bool:
        """Whether the house became damper, so that less energy is no saving."""
        old, new = (hours.value for hours in self.humid_hours)
        return self.dew_point.value > ALIKE or new - old > HUMID_SHARE * self.hours

    @property
    def is_drier(self) -> bool:
        """Whether the house became drier by dew point, and has no more humid hours."""
        old, new = (hours.value for hours in self.humid_hours)
        return not self.is_damper and (
            self.dew_point.value < -ALIKE or old - new > HUMID_SHARE * self.hours
        )

    @property
    def verdict(self) -> str:
        """ "saved", "used more", "not proven" or "not metered".

        Both methods must agree. Less energy in a damper house is "not proven".
        """
        found = {amount.verdict for amount in self.metered.values()}
        if not found:
            return "not metered"
        if len(found) > 1:
            return "not proven"
        only = found.pop()
        return "not proven" if only == "saved" and self.is_damper else only

    @property
    def fractional_uncertainty(self) -> float | None:
        """Guideline 14's fractional savings uncertainty at 68 % confidence; None without meters."""
        if self.model is None or self.readings is None or self.regression is None:
            return None
        share = self.regression.value / float(self.regression.value + self.readings.kwh.sum())
        if share == 0.0:
            return None
        return fractional_uncertainty(
            self.model.cv_rmse, share, len(self.model.readings), len(self.readings),
            parameters=self.model.parameters, autocorrelation=self.model.autocorrelation,
        )  # fmt: skip

    def table(self) -> pd.DataFrame:
        """Avoided energy and money by method, one row each.

        Returns
        -------
        pandas.DataFrame
            Indexed by `method`: `avoided_kWh`, `low_kWh`, `high_kWh`, the same in USD, and `verdict`.
            The expected saving is not metered, and proves nothing.
        """
        rows = {}
        for name, amount in {**self.metered, EXPECTED: self.expected}.items():
            usd = amount.times(self.price)
            rows[name] = {
                **dict(zip(("avoided_kWh", "low_kWh", "high_kWh"), amount, strict=True)),
                **dict(zip(("avoided_USD", "low_USD", "high_USD"), usd, strict=True)),
                "verdict": "not metered" if name == EXPECTED else self._said(amount),
            }
        table = pd.DataFrame.from_dict(rows, orient="index")
        table.index.name = "method"
        return table

    def _said(self, amount: Amount) -> str:
        damper = amount.verdict == "saved" and self.is_damper
        return "used less, but damper" if damper else amount.verdict

    def humidity(self) -> pd.DataFrame:
        """Humidity of the house in the weather after, one row a measure, with bands.

        Returns
        -------
        pandas.DataFrame
            Indexed by `measure`: `before`, `after`, `difference`, `low`, `high`. Hours are above the
            goal's mark. The band is of the difference.
        """
        runs = self.simulated
        means = [
            float(np.median([run.dew_point.mean() for run in of]))
            for of in (runs.unchanged, runs.changed)
        ]
        old, new = runs.humid_hours
        more = amount_of(new - old, self.level)
        hours = (self.humid_hours[0].value, self.humid_hours[1].value)
        rise = self.dew_point
        rows = {
            column_catalog.MEAN_DEW_POINT.name: (means[0], means[0] + rise.value, *rise),
            f"hours_above_{self.goal.above_rh:g}_pct": (*hours, *more),
        }
        columns = ["before", "after", "difference", "low", "high"]
        table = pd.DataFrame.from_dict(rows, orient="index", columns=columns)
        table.index.name = "measure"
        return table

    def sentences(self, units: Units | None = None) -> list[str]:
        """The result in sentences, the verdict first.

        Parameters
        ----------
        units : {"us", "si"}, optional
        """
        from moistsim.savings.words import sentences

        return sentences(self, Show(units_or_default(units, "sentences units")))

    def figure(
        self, units: Units | None = None, *, ax: Any = None,
        context: Literal["paper", "slide"] = "paper", narrow: bool = False,
    ) -> Any:  # fmt: skip
        """Electricity and humid hours by month, as metered and as they would have been.

        Parameters
        ----------
        units : {"us", "si"}, optional
        ax : list of two Axes, optional
            In place of a page.
        context : {"paper", "slide"}
            A page or a slide.
        narrow : bool
            Draw for a phone.

        Returns
        -------
        matplotlib.figure.Figure
            Or the axes that the reader gave.
        """
        from moistsim.savings.figure import savings_figure

        return savings_figure(self, units, ax=ax, context=context, narrow=narrow)

    def page(self, path: Any, *, title: str = "", units: Units | None = None) -> None:
        """Write the page for the customer, one HTML file that contains its picture.

        Parameters
        ----------
        path : str or Path
        title : str
            The house in words, such as a street; default: its size.
        units : {"us", "si"}, optional
        """
        from moistsim.savings.page import write_page

        write_page(self, path, title, units)

    def __str__(self) -> str:
        return " ".join(self.sentences())


def savings(
    fit: Fitted,
    before: MeteredPeriod,
    after: MeteredPeriod,
    *,
    tariff: Tariff | None = None,
    goal: Goal | None = None,
    level: float = 0.9,
    n: int = 32,
    seed: int = 0,
    step: float | str = "60 s",
    workers: int | None = None,
    progress: bool = True,
) -> Savings:
    """Energy and money that an installation avoided, with a band, and what it did to the humidity.

    The meter after is compared with what it would have shown in the same weather without the
    installation. Two methods say so, and both are shown. One is a regression of the meter before on the
    weather. The other is the measured house: draws of the fit, simulated with the machines before and
    scaled to the meter before. The humidity in the weather after is simulated with both machines, and
    measured after where there are loggers.

    Parameters
    ----------
    fit : Fit
        The house, as `calibrate` found it.
    before, after : MeteredPeriod
        Without both meters, the result is only expected.
    tariff : Tariff, optional
        Default: the default price.
    goal : Goal, optional
        The relative humidity above which hours count; default: that of `Goal`.
    level : float
        Level of all bands.
    n : int
        Number of draws to simulate, three seasons each.
    seed : int
    step : float or str
        Time step of the seasons.
    workers, progress
        As for `Study.run`.

    Returns
    -------
    Savings

    Raises
    ------
    InputError
        If readings are too few, or have no weather.

    Examples
    --------
    >>> saved = ms.savings(fit, before, after, tariff=ms.Tariff(price="15 cent/kWh"))  # doctest: +SKIP
    >>> print(saved)  # doctest: +SKIP
    >>> saved.page("one_year_later.html")  # doctest: +SKIP
    """
    n, seed = case_count(n, "savings n", at_least=2), seed_of(seed, "savings seed")
    if not 0.5 <= level < 1.0:
        raise InputError("savings level", level, "from 0.5 to below 1, such as 0.9")
    tariff, goal = tariff or Tariff(), goal or Goal()
    first, then = (
        None
        if period.meter is None
        else read_meter(period.meter, period.weather, f"savings {name}")
        for name, period in (("before", before), ("after", after))
    )
    model = None if first is None else fit_weather_model(first, "savings before")
    logged = before.dew_points is not None and after.dew_points is not None
    spans = (
        first.span if first is not None else _whole(before) if logged else None,
        then.span if then is not None else _whole(after),
    )
    simulated = run_draws(fit, before, after, spans, goal, n, seed, step, workers, progress, first)
    rng = np.random.default_rng(seed)
    if first is None:
        scaled = unmetered(len(simulated.changed), rng)
    else:
        scaled = scaled_to_meter(
            _by_reading(simulated.before, first), first, _by_reading(simulated.unchanged, then),
            then, rng, simulated.counts,
        )  # fmt: skip
    fewer = _total(simulated.unchanged) - _total(simulated.changed)
    regression = simulation = None
    if first is not None and model is not None and then is not None:
        would, error = model.total(then)
        used = float(then.kwh.sum())
        reach = float(stats.t.ppf(0.5 + 0.5 * level, model.freedom)) * error
        regression = Amount(would - used, would - used - reach, would - used + reach)
        assert scaled.total is not None
        assert scaled.cv_rmse is not None
        if scaled.cv_rmse <= CALIBRATED["days" if first.are_daily else "bills"]:
            simulation = amount_of(scaled.total - used, level)
    rise, is_measured = _dew_point_rise(before, after, simulated)
    old, new = simulated.humid_hours
    return Savings(
        before=before, after=after, level=level, goal=goal,
        price=_price(tariff, simulated.middle, regression or amount_of(fewer, level)),
        model=model, readings=then, regression=regression, simulation=simulation,
        expected=amount_of(scaled.scale * fewer[scaled.draw], level), simulated=simulated,
        scaled=scaled, dew_point=amount_of(rise, level), dew_point_is_measured=is_measured,
        humid_hours=(amount_of(old, level), amount_of(new, level)),
        notes=tuple(_notes(first, then, model, simulated, scaled)),
    )  # fmt: skip


def _whole(period: MeteredPeriod) -> tuple[pd.Timestamp, pd.Timestamp]:
    """First and last whole day of a period's weather."""
    index = pd.DatetimeIndex(period.weather.frame.index)
    return index[0].ceil("D"), (index[-1] + pd.Timedelta(hours=1)).floor("D") - DAY


def _total(runs: tuple[Ran, ...]) -> Array:
    return np.array([float(run.kwh.sum()) for run in runs])


def _by_reading(runs: tuple[Ran, ...], readings: MeterReadings | None) -> Array:
    if readings is None:
        return _total(runs)[:, None]
    return by_reading([run.kwh for run in runs], readings)


def _dew_point_rise(
    before: MeteredPeriod, after: MeteredPeriod, simulated: Simulated
) -> tuple[Array, bool]:
    """Rise of the mean dew point by draw, and whether it is measured.

    With loggers in both periods, the rise is that of measured over simulated with the machines before.
    An error that the model has in both periods cancels out.
    """
    was, now = before.dew_points, after.dew_points
    if was is None or now is None or not simulated.before:
        return simulated.dew_point_rise, False

    def above(measured: "pd.Series[float]", run: Ran) -> float:
        return float((measured - run.dew_point).dropna().mean())

    rise = np.array(
        [
            above(now, unchanged) - above(was, first)
            for first, unchanged in zip(simulated.before, simulated.unchanged, strict=True)
        ]
    )
    if not np.isfinite(rise).all():
        found = Problem("loggers whose hours lie outside the metered period")
        raise InputError("savings", found, "logs of the same days as the bills")
    return rise, True


def _price(tariff: Tariff, seasons: tuple[Season, Season], avoided: Amount) -> float:
    """Price of a kWh avoided, in the shape of the machines before: that of one used again."""
    old, new = seasons
    made = bill(tariff, new.quarters, utc_offset=new.weather.utc_offset)
    return made.marginal_price(
        profile=old.quarters if old.meter.total_kwh > 0.0 else None,
        kwh=max(abs(avoided.value), 1.0),
    )


def _notes(
    first: MeterReadings | None,
    then: MeterReadings | None,
    model: WeatherModel | None,
    simulated: Simulated,
    scaled: Scaled,
) -> Any:
    """Notes for the reader."""
    for name, readings in (("before", first), ("after", then)):
        if readings is not None and readings.dropped:
            lost = count(readings.dropped, "meter reading")
            yield f"{lost} {name} without weather of all days not counted."
    if model is not None and then is not None:
        known = model.readings.mean_temperature
        beyond = (then.mean_temperature < known.min()) | (then.mean_temperature > known.max())
        share = float(then.days[beyond].sum() / then.days.sum())
        if share > 0.05:
            yield (
                f"{number(100.0 * share)} % of the days after are colder or warmer than any reading "
                "before. There the regression extrapolates."
            )
    if first is not None and scaled.cv_rmse is not None:
        limit = CALIBRATED["days" if first.are_daily else "bills"]
        if scaled.cv_rmse > limit:
            yield (
                f"No draw of the fitted house follows the meter before: CV(RMSE) is "
                f"{number(100.0 * scaled.cv_rmse)} % at best, beyond Guideline 14's "
                f"{number(100.0 * limit)} %. So the simulation does not count. Measure the house further "
                "(ms.next_measurement)."
            )
            return
    effective = scaled.effective if simulated.effective is None else simulated.effective
    if first is not None and effective < FEW:
        yield (
            f"The meter before agrees with {effective:.1f} draws of the fit only. The band of the "
            "simulation is rough: measure the house further, or fit more draws."
        )
