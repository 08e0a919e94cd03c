"""Faults that would make a house's humidity look as it does: each is simulated in the fitted house.

For each suspect the house runs once more from the day on which the change began. The difference from
the undisturbed run is what this fault would add to the prediction. Suspects are compared by how well
that explains the errors of each quarter of a day, with the errors' correlation counted.
"""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any, NamedTuple, Protocol

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import Strategy, faults
from moistsim.core.changes import changed
from moistsim.core.errors import InputError
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.loggers import HouseLog
from moistsim.season import HouseState, Season, simulate

Floats = NDArray[np.float64]
BLOCK = 6
"""Hours whose mean is compared: the timing of single cycles of the machines is no evidence."""
SCALE = 1.5
"""Factor either way by which a fault's effect may differ from that in the fitted house."""
WORTH = 4.0
"""Blocks that count as one independent error when suspects are compared, after whitening."""
SETTLING = 48
"""First hours of a log, whose errors are those of an unknown state."""
NOTHING = "no fault"


class Watched(Protocol):
    """What the watch reads of a fit."""

    @property
    def log(self) -> HouseLog: ...
    @property
    def imposed(self) -> bool: ...
    @property
    def best(self) -> dict[str, Any]: ...
    @property
    def strategy(self) -> Strategy: ...
    def described(self, values: Any) -> tuple[House, Equipment]: ...
    def predict(
        self,
        log: HouseLog | None = None,
        level: float = 0.9,
        period: Any = "h",
        *,
        measured_until: Any = None,
    ) -> pd.DataFrame: ...


class Case(NamedTuple):
    """One suspect at one magnitude."""

    words: str
    """The fault, as the sentence names it."""
    size: str
    """Its magnitude."""
    house: House
    equipment: Equipment
    how: dict[str, Any]
    """Further arguments of the run."""


def cases(house: House, equipment: Equipment) -> Iterator[Case]:
    """Suspects that a house and its machines allow, each at a few magnitudes."""
    for factor in (0.5, 1.5, 2.0, 3.0):
        words = (
            "more moisture from the household"
            if factor > 1.0
            else "less moisture from the household"
        )
        yield Case(
            words,
            f"{factor:g} times",
            _moved(house, ("gains", "moisture"), factor * house.moisture_gain),
            equipment,
            {},
        )
    yield from _air(house, equipment)
    if equipment.cooling is not None:
        yield Case("the blower left ON", "all the time", house, equipment, {"fan_on": True})
        for share in (0.7, 0.5):
            yield Case("a fouled coil or filter", f"{100 * share:.0f} percent of the airflow", house, equipment,
                       {"faults": [faults.FouledCoil(airflow=share)]})  # fmt: skip
    if equipment.dehumidifier is not None:
        yield Case(
            "a stopped dehumidifier",
            "all the time",
            house,
            equipment,
            {"faults": [faults.StoppedDehumidifier()]},
        )


def _air(house: House, equipment: Equipment) -> Iterator[Case]:
    fan: Any = equipment.ventilation
    machines: Any = equipment
    if fan is not None and fan.airflow:
        yield Case(
            "ventilation that has stopped",
            "no airflow",
            house,
            attrs.evolve(machines, ventilation=None),
            {},
        )
        for factor in (0.5, 1.5, 2.0, 3.0):
            words = (
                "more outdoor air, as through a window left open"
                if factor > 1.0
                else "ventilation with a blocked filter"
            )
            moved = attrs.evolve(
                machines, ventilation=attrs.evolve(fan, airflow=factor * fan.airflow)
            )
            yield Case(words, f"{factor:g} times the airflow", house, moved, {})
        return
    for factor in (0.3, 0.6, 1.5, 2.0, 3.0):
        words = (
            "more outdoor air, as through a window left open"
            if factor > 1.0
            else "less outdoor air, as with ventilation that has stopped"
        )
        try:
            yield Case(
                words, f"{factor:g} times the air leakage", _leaky(house, factor), equipment, {}
            )
        except InputError:
            continue


def _leaky(house: House, factor: float) -> House:
    for name in ("effective_area", "cfm50"):
        if (value := getattr(house.leakage, name)) is not None:
            return _moved(house, ("leakage", name), factor * value)
    return _moved(house, ("ach50",), factor * float(house.ach50 or 0.0))


def _moved(house: House, path: tuple[str, ...], value: float) -> House:
    made: House = changed(house, {path: value})
    return made


def suspects(
    fit: Watched, log: HouseLog, onset: pd.Timestamp, errors: pd.Series, before: Floats
) -> pd.DataFrame:
    """Compare suspects by how well each explains the errors since `onset`.

    Parameters
    ----------
    fit : Fit
    log : HouseLog
    onset : Timestamp
        Day from which on the house is changed.
    errors : Series
        Measured less predicted humidity ratio by hour since then, kg/kg.
    before : array
        Errors by hour of the time before, for their deviation and correlation.

    Returns
    -------
    DataFrame
        By fault, the likeliest first: `size`, `explained` (share of the squared errors), and `share`
        (relative likelihood among the suspects).
    """
    part = log.between(str(onset), str(log.frame.index[-1]))
    house, equipment = fit.described(fit.best)
    run = _runner(fit, part)
    listed = list(cases(house, equipment))
    with ThreadPoolExecutor(2) as pool:
        base, *others = pool.map(
            lambda case: run(case), [Case("", "", house, equipment, {}), *listed]
        )
    before = before[SETTLING:] if len(before) >= 2 * SETTLING else before
    usual = float(np.nanmean(before)) if np.isfinite(before).any() else 0.0
    calm = _blocks(before[len(before) % BLOCK :] - usual)
    left = _blocks(errors.reindex(base.index).to_numpy(float) - usual)
    known = np.isfinite(left)
    found: dict[str, tuple[float, str, float]] = {}

    def judge(words: str, size: str, adds: Floats, values: int) -> None:
        loss = _loss(left - adds, calm)
        score = -0.5 * loss - 0.5 * values * np.log(max(len(left) / WORTH, 2.0))
        explained = 1.0 - float(((left - adds)[known] ** 2).sum() / (left[known] ** 2).sum())
        if words not in found or score > found[words][0]:
            found[words] = (score, size, explained)

    judge(NOTHING, "", np.zeros(len(left)), 0)
    for case, one in zip(listed, others, strict=True):
        adds = _blocks((one - base).to_numpy(float))
        judge(case.words, case.size, _scaled(adds, left) * adds, 1)
    per_point = _blocks(0.01 * _saturated(part, base.index))
    points = float((left * per_point)[known].sum() / (per_point**2)[known].sum())
    judge(
        "a humidity sensor that has drifted or was replaced",
        f"{points:+.1f} points of RH".replace("-", "\N{MINUS SIGN}"),
        points * per_point,
        1,
    )
    table = pd.DataFrame.from_dict(found, orient="index", columns=["score", "size", "explained"])
    table["share"] = np.exp(table["score"] - table["score"].max())
    table["share"] /= table["share"].sum()
    return table.sort_values("score", ascending=False)[["size", "explained", "share"]].rename_axis(
        "fault"
    )


def _runner(fit: Watched, part: HouseLog) -> Callable[[Case], pd.Series]:
    weather = part.weather
    hours = pd.DatetimeIndex(weather.frame.index)
    temperature = part.indoor_temperature
    measured = part.indoor_humidity_ratio
    first = slice(None, hours[0] + pd.Timedelta(hours=23))
    warm = float(temperature.loc[first].mean())
    pressure = float(part.pressure.loc[first].mean())
    # The state that the change found: of the hours that were measured first.
    wet = float(measured.dropna().iloc[: round(6 * 3600 / part.step)].mean())
    rh = air.relative_humidity(warm, wet, pressure)

    def run(case: Case) -> pd.Series:
        how = dict(case.how)
        series: dict[str, Any] = {}
        if how.pop("fan_on", False):
            series["calls.fan"] = pd.Series(1.0, hours)
        season: Season = simulate(
            case.house, case.equipment, fit.strategy, weather, step="300 s", series=series,
            impose=temperature if fit.imposed else None,
            first_state=HouseState.at(temperature=warm, relative_humidity=min(max(rh, 0.05), 0.98)), **how,
        )  # fmt: skip
        return pd.Series(season.hourly["indoor_humidity_ratio"].to_numpy(), hours)

    return run


def _saturated(part: HouseLog, hours: pd.Index) -> Floats:
    """Humidity ratio that 100 percent RH is, by hour, kg/kg, linear in RH."""
    warm = (
        part.indoor_temperature.resample("h")
        .mean()
        .reindex(hours)
        .interpolate(limit_direction="both")
    )
    pressure = part.pressure.resample("h").mean().reindex(hours).interpolate(limit_direction="both")
    saturated = air.over(air.saturation_pressure, warm)
    return np.asarray(0.621945 * saturated / pressure.to_numpy(float), float)


def _scaled(adds: Floats, left: Floats) -> float:
    """Factor by which a fault's effect fits best: a fitted house gets it right only so far."""
    known = np.isfinite(left)
    square = float((adds[known] ** 2).sum())
    if square <= 0.0:
        return 1.0
    return float(np.clip((adds * left)[known].sum() / square, 1.0 / SCALE, SCALE))


def _blocks(hours: Floats) -> Floats:
    """Means of blocks of hours; NaN where one of them is missing."""
    whole = len(hours) // BLOCK
    return np.asarray(hours[: whole * BLOCK].reshape(whole, BLOCK).mean(axis=1), float)


def _loss(left: Floats, before: Floats) -> float:
    """Twice the negative log-likelihood of errors, as an AR(1) process as before the change."""
    memory, deviation = _noise(before, left)
    fresh = (left[1:] - memory * left[:-1]) / (deviation * np.sqrt(1.0 - memory**2))
    return float(np.nansum(fresh**2) / WORTH)


def _noise(before: Floats, left: Floats) -> tuple[float, float]:
    """Correlation from block to block and deviation of errors before the change."""
    known = before[np.isfinite(before)]
    if len(known) < 12:
        known = left[np.isfinite(left)]
    memory = float(np.corrcoef(known[1:], known[:-1])[0, 1]) if known.std() > 0.0 else 0.0
    return float(np.clip(memory, 0.0, 0.95)), max(float(known.std()), 2.0e-5)
