"""The watch: a house's log against its fitted model, day by day."""

from typing import NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.stats import norm

from moistsim import air
from moistsim.core.display import Show, Units, count, number, units_or_default
from moistsim.core.errors import InputError, Problem
from moistsim.loggers import HouseLog
from moistsim.watching.chart import LEARNING, Chart, change, chart, learned, limit, memory_of
from moistsim.watching.suspects import NOTHING, Watched, suspects
from moistsim.watching.tomorrow import Tomorrow, next_day
from moistsim.weather import Weather

FEWEST_HOURS = 12
"""Hours with a measurement that make a day."""
EVIDENCE = 3.0
"""Ratio of likelihoods from which one suspect is named alone."""


class Alarm(NamedTuple):
    """A house that has left its prediction."""

    since: pd.Timestamp
    """Day on which the change probably began."""
    raised: pd.Timestamp
    """First day on which the chart was above its limit."""
    days: int
    """Days from `since` to the end of the log."""
    offset: float
    """Mean of measured less predicted since then, kg/kg."""
    suspects: pd.DataFrame
    """Faults that would look like it, the likeliest first: size, explained, share."""


@attrs.frozen(eq=False, kw_only=True, repr=False)
class Watch:
    """What a log says of its house since the fit.

    Attributes
    ----------
    days : DataFrame
        By day: `measured`, `predicted`, `low`, `high` (kg/kg), `outside` (the day's mean beyond the
        band), `rise` and `fall` (the sums of the chart), and `alarm`.
    alarm : Alarm or None
        If the house is outside its prediction at the end of the log.
    tomorrow : Tomorrow
        Mean humidity of the 24 h after the log, with its band.
    limit : float
        Limit of the sums.
    notes : tuple of str

    Examples
    --------
    >>> watch = ms.watch(fit, log)  # doctest: +SKIP
    >>> print(watch)  # doctest: +SKIP
    >>> from moistsim import Watch
    >>> Watch.__name__
    'Watch'
    """

    days: pd.DataFrame
    alarm: Alarm | None
    tomorrow: Tomorrow
    limit: float
    level: float
    false_alarms_a_year: float
    pressure: float
    notes: tuple[str, ...] = ()

    def sentence(self, units: Units | None = None) -> str:
        """The state of the house in one sentence."""
        units = units_or_default(units, "sentence units")
        last = self.days.dropna(subset=["measured"])
        if self.alarm is None:
            if last.empty:
                return "No day has been watched yet."
            return f"The house is as predicted: no change in {count(len(last), 'day')}, to {last.index[-1]:%Y-%m-%d}."
        alarm = self.alarm
        wetter = "more humid" if alarm.offset > 0.0 else "drier"
        return (
            f"The house has left its prediction since {alarm.since:%Y-%m-%d}, for {count(alarm.days, 'day')}: it is "
            f"{self._apart(units)} {wetter} than the fitted house would be. {self._like(alarm.suspects)}"
        )

    def _apart(self, units: Units) -> str:
        assert self.alarm is not None
        since = self.days.loc[self.alarm.since :].dropna(subset=["measured"])
        dew = [self._dew_point(float(since[name].mean())) for name in ("measured", "predicted")]
        return f"{number(1000.0 * abs(self.alarm.offset), 1)} g/kg (dew point {Show(units)(abs(dew[0] - dew[1]), 'difference')})"

    @staticmethod
    def _like(table: pd.DataFrame) -> str:
        first = table.iloc[0]
        if len(table) == 1:
            return "It is too early to say what it looks like."
        if table.index[0] == NOTHING:
            return "None of the faults that the watch knows looks like it."
        shares = {str(name): float(share) for name, share in table["share"].items()}
        most = max(shares.values())
        alike = [name for name in list(shares)[1:] if most < EVIDENCE * shares[name]]
        text = f"It looks like {table.index[0]} ({first['size']})"
        others = [name for name in alike if name != NOTHING]
        return text + (f"; it cannot be told apart from {' or '.join(others)}." if others else ".")

    def _dew_point(self, ratio: float) -> float:
        return float(air.dew_point(air.vapor_pressure(ratio, self.pressure)))

    def forecast_sentence(self, units: Units | None = None) -> str:
        """The prediction for the next day in one sentence."""
        show, next_one = Show(units_or_default(units, "sentence units")), self.tomorrow
        low, middle, high = (
            show(self._dew_point(max(x, 1e-4)), "temperature")
            for x in (next_one.low, next_one.predicted, next_one.high)
        )
        if_so = (
            "by the forecast" if next_one.by_forecast else "if the weather stays as on the last day"
        )
        return (
            f"Next 24 h from {next_one.start:%Y-%m-%d %H:%M}: indoor dew point {middle} ({number(100 * self.level)} % band "
            f"{low} to {high}), {if_so}."
        )

    def __str__(self) -> str:
        return "\n".join((self.sentence(), self.forecast_sentence(), *self.notes))

    def __repr__(self) -> str:
        return str(self)


def watch(
    fit: Watched,
    log: HouseLog,
    *,
    since: str | pd.Timestamp | None = None,
    level: float = 0.9,
    false_alarms_a_year: float = 0.5,
    forecast: Weather | None = None,
) -> Watch:
    """Compare a log with the fitted house, day by day, and say whether the house has changed.

    Parameters
    ----------
    fit : Fit
        From `calibrate`.
    log : HouseLog
        The log up to now. It may hold the time of the fit; the run then starts there.
    since : str or Timestamp, optional
        First day that is watched; default: the day after the log of the fit.
    level : float
        Share of days that the band should hold.
    false_alarms_a_year : float
        Rate of false alarms of the chart, if days are as the fit says.
    forecast : Weather, optional
        Hourly weather of the next day. Default: the last day's weather once more.

    Returns
    -------
    Watch

    Raises
    ------
    InputError
        If the log has a gap in its last three days.

    Notes
    -----
    Daily errors in standard deviations of the band are charted by two cumulative sums (see
    `moistsim/watching/chart.py`). From the first two weeks the steady error of the fit is learned, unless
    they hold an alarm. The faults that would look like a change are simulated in the fitted
    house. How fast each is found, and how often an alarm is false, is measured in
    ``tests/benchmarks/watch.py``.

    Examples
    --------
    >>> print(ms.watch(fit, log))  # doctest: +SKIP
    >>> from moistsim import watch
    >>> watch.__name__
    'watch'
    """
    if not 0.0 < false_alarms_a_year <= 12.0:
        raise InputError("watch false_alarms_a_year", false_alarms_a_year, "above 0, at most 12")
    log, notes = _last_whole(log)
    begin = pd.Timestamp(since) if since is not None else fit.log.frame.index[-1]
    begin = begin.normalize() if since is not None else begin.normalize() + pd.Timedelta(days=1)
    hours = fit.predict(log, level=level)
    days = _by_day(fit.predict(log, level=level, period="D"), hours)
    reference, watched = days.loc[: begin - pd.Timedelta(seconds=1)], days.loc[begin:]
    if len(reference) < 8:
        reference = _by_day(
            fit.predict(None, level=level, period="D"), fit.predict(None, level=level)
        )
    deviation = (days["high"] - days["low"]) / 2.0 / norm.ppf(0.5 + 0.5 * level)
    errors = ((days["measured"] - days["predicted"]) / deviation).loc[begin:].to_numpy(float)
    memory = memory_of((reference["measured"] - reference["predicted"]).to_numpy(float))
    height = limit(false_alarms_a_year)
    steady = learned(errors, memory, height)
    if steady:
        errors = errors - steady
        errors[:LEARNING] = np.nan
    charted = chart(errors, memory, height)
    table = watched.assign(
        outside=(watched["measured"] < watched["low"]) | (watched["measured"] > watched["high"]),
        rise=charted.rise, fall=charted.fall, alarm=charted.alarm,
    )  # fmt: skip
    return Watch(
        days=table,
        alarm=_alarm(fit, log, table, charted, hours, errors)
        if len(table) and charted.alarm[-1]
        else None,
        tomorrow=next_day(fit, log, level, forecast, days),
        limit=height,
        level=level,
        false_alarms_a_year=false_alarms_a_year,
        pressure=float(log.pressure.mean()),
        notes=notes,
    )


def _by_day(days: pd.DataFrame, hours: pd.DataFrame) -> pd.DataFrame:
    """Days with enough measured hours; others have no measurement."""
    known = hours["measured"].resample("D").count().reindex(days.index)
    out = days.copy()
    out.loc[known < FEWEST_HOURS, "measured"] = np.nan
    return out


def _alarm(
    fit: Watched,
    log: HouseLog,
    table: pd.DataFrame,
    charted: Chart,
    hours: pd.DataFrame,
    errors: NDArray[np.float64],
) -> Alarm:
    quiet = np.flatnonzero(~charted.alarm)
    raised = int(quiet[-1]) + 1 if quiet.size else 0
    # The sum may have begun to grow by chance before the house changed.
    onset = table.index[change(errors, min(charted.onset(raised), raised), raised)]
    left = hours["measured"] - hours["predicted"]
    since, before = left.loc[onset:], left.loc[: onset - pd.Timedelta(hours=1)]
    end = log.frame.index[-1]
    if end - onset >= pd.Timedelta(hours=23):
        found = suspects(fit, log, onset, since, before.to_numpy(float))
    else:
        found = pd.DataFrame(
            {"size": [""], "explained": [0.0], "share": [1.0]},
            index=pd.Index([NOTHING], name="fault"),
        )
    days = int((end.normalize() - onset) / pd.Timedelta(days=1)) + 1
    return Alarm(onset, table.index[raised], days, float(since.mean()), found)


def _last_whole(log: HouseLog) -> tuple[HouseLog, tuple[str, ...]]:
    """The rows after the last gap in what a run needs, with a note."""
    needed = [
        name for name in log.frame.columns
        if str(name).partition(".")[0] in ("pressure", "wind_speed", "ghi", "dni", "dhi", "cloud_cover")
        or name in ("outdoor_temperature", "outdoor_rh", "outdoor_dew_point")
        or (str(name).startswith("indoor_temperature.") and str(name).partition(".")[2] in log.rooms)
    ]  # fmt: skip
    lacking = np.flatnonzero(log.frame[needed].isna().to_numpy().any(axis=1))
    if not lacking.size:
        return log, ()
    after = int(lacking[-1]) + 1
    if (len(log) - after) * log.step < 3 * 86400:
        raise InputError(
            f"watch log row {log.frame.index[lacking[-1]]}", Problem("a gap in the last three days"),
            "the watch again when three days without a gap have come",
        )  # fmt: skip
    start = log.frame.index[after]
    part = attrs.evolve(log, frame=log.frame.iloc[after:])
    return part, (f"Rows before {start:%Y-%m-%d %H:%M} are not used, because of a gap before it.",)
