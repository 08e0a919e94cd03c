"""Fit a house to its log."""

import time
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import pandas as pd

from moistsim.calibration.adjusted import OWN, adjusted, values_at
from moistsim.calibration.chaining import SETTLING, chained
from moistsim.calibration.extras import judge_extras, with_extras
from moistsim.calibration.fit import STRUCTURE, Fit, Member
from moistsim.calibration.following import tells_machines
from moistsim.calibration.model import Model, hours_of
from moistsim.calibration.posterior import Drawn, draw, targets_of
from moistsim.calibration.structures import Structure, ranges_of_heat, structures, usual_ranges
from moistsim.controls import Strategy, strategies
from moistsim.core.errors import InputError, Problem
from moistsim.core.whole_numbers import seed_of
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.loggers import HouseLog

FEWEST_DAYS = 3
DRAWS = 256
WALKS, FEWEST_WALKS, WALKED = 120, 45, 720
"""Steps of each walker for a log of up to `WALKED` hours, and the fewest in a longer one."""
LEAST_WEIGHT = 0.05
"""Weight below which a structure gets no draws."""


def calibrate(
    house: House,
    equipment: Equipment,
    log: HouseLog,
    vary: Mapping[str, Any] | None = None,
    *,
    impose: bool | None = None,
    extra: Sequence[str] = (),
    blind: float = 0.3,
    strategy: Strategy = strategies.temperature_only,
    step: float | str = "300 s",
    seed: int = 0,
) -> Fit:
    """Fit a house to its log.

    Several model structures are fitted (see `structures`): air that comes in by wind and warmth or at
    one rate, windows that stay closed or are opened when it is warm. For each, a search over the ranges finds
    the most probable values, and emcee draws from the posterior. Correlated residuals count as the few
    independent ones that they are worth. Forward chaining weighs the structures and sets the width of
    the bands.

    Parameters
    ----------
    house, equipment
        The descriptions, as far as they are known.
    log : HouseLog
    vary : dict, optional
        Prior ranges by dotted name, as for `Sweep`; they are added to the default ones and replace
        those of the same name: air leakage or ventilation, household moisture, its daily rhythm,
        moisture storage, window opening, and the offset that all loggers share. A prior is a range such
        as ``ms.log_uniform("20 cfm", "200 cfm")`` or a measurement such as ``"80 cfm ± 8 cfm"``.
    impose : bool, optional
        Whether the runs follow the measured indoor temperature and predict moisture alone. Default:
        yes, unless an air conditioner may have run at times that the log does not tell; it then
        needs a clamp, the column ``power.compressor``.
    extra : sequence of str
        Columns of the log that household moisture may rise with, such as ``"energy"``. Each is
        judged by forward chaining against a placebo, the same column half a log later, and kept in
        the fit only if it predicts better than both the placebo and nothing; see `Fit.extras`.
    blind : float
        Share of the log, at its end, that the fit does not see; 0 for none.
    strategy : Strategy
        Control of the machines; what a power clamp in the log says replaces its calls.
    step : float or str
        Time step of the runs.
    seed : int
        Seed of the draws.

    Returns
    -------
    Fit

    Raises
    ------
    InputError
        If a name or a range cannot be used, or the log is shorter than three days.

    Examples
    --------
    >>> fit = ms.calibrate(house, equipment, log)  # doctest: +SKIP
    >>> print(fit.identified())  # doctest: +SKIP
    """
    began = time.perf_counter()
    if not 0.0 <= blind <= 0.8:
        raise InputError("calibrate blind", blind, "a share from 0 to 0.8, such as 0.3")
    seed = seed_of(seed, "calibrate seed")
    if impose is None:
        impose = tells_machines(equipment, log)
    hours = hours_of(log, impose=impose, extra=extra)
    fitted = len(hours.index) - round(blind * len(hours.index))
    known = hours.known(SETTLING, fitted)
    if len(known) < 24 * FEWEST_DAYS:
        raise InputError(
            "calibrate log",
            Problem(f"{len(known)} hours with indoor humidity after the first day"),
            f"{FEWEST_DAYS} days of them or more in the fitted part",
        )
    vary = dict(vary or {})
    models = []
    for one in structures(house, equipment):
        own = {name: of for name, (of, _) in OWN.items()}
        ranges = {**one.ranges, **usual_ranges(house), **own}
        if not impose:
            ranges |= ranges_of_heat(house, one.equipment, strategy, float(np.nanmean(hours.warm)))
        # A range of a part that only some structures have moves these alone.
        ranges |= {name: of for name, of in vary.items() if _has_part(name, one)}
        models.append(
            Model(one, strategy, adjusted(one, strategy, hours.weather, ranges), hours, step)
        )
    judged, kept_extras = judge_extras(models, strategy, extra, SETTLING, fitted)
    if kept_extras:
        models = [with_extras(model, strategy, kept_extras) for model in models]
    errors, bests = chained(models, SETTLING, fitted)
    targets = targets_of(hours, SETTLING, fitted)
    steps = max(min(WALKS, WALKS * WALKED // len(hours.index)), FEWEST_WALKS)
    counts = [
        round(w * DRAWS) if (w := errors.weights[model.structure.name]) >= LEAST_WEIGHT else 0
        for model in models
    ]

    def drawn(k: int) -> Drawn:
        return draw(models[k], targets, bests[models[k].structure.name], counts[k], steps, seed + k)

    kept = [k for k, n in enumerate(counts) if n]
    # The compiled loop runs without Python's lock.
    with ThreadPoolExecutor(2) as pool:
        posteriors = list(pool.map(drawn, kept))
    members: dict[str, Member] = {}
    draws: list[pd.DataFrame] = []
    priors: list[pd.DataFrame] = []
    rng = np.random.default_rng(seed)
    for k, found in zip(kept, posteriors, strict=True):
        model, name = models[k], models[k].structure.name
        members[name] = Member(model, errors.weights[name], bests[name].noise, found.effective)
        before = rng.standard_normal((counts[k], len(model.names)))
        for tables, points in ((draws, found.z), (priors, before)):
            table = pd.DataFrame([values_at(model.names, z) for z in points])
            tables.append(table.assign(**{STRUCTURE: name}))
    return Fit(
        house=house, equipment=equipment, log=log, hours=hours, members=members, draws=_mixed(draws, rng), priors=_mixed(priors, rng),
        chained=errors, fitted=fitted, imposed=impose, extra=tuple(extra), extras=judged,
        seconds=time.perf_counter() - began, seed=seed,
    )  # fmt: skip


def _has_part(name: str, structure: Structure) -> bool:
    """Whether a structure has the part of a value that only some structures have."""
    if name.startswith("equipment.ventilation."):
        return structure.equipment.ventilation is not None
    if name.startswith("house.window_opening."):
        return structure.house.window_opening is not None
    return True


def _mixed(tables: list[pd.DataFrame], rng: np.random.Generator) -> pd.DataFrame:
    """All draws in a random order, `structure` last."""
    table = pd.concat(tables, ignore_index=True)
    table = table.iloc[rng.permutation(len(table))].reset_index(drop=True)
    table.index.name = "draw"
    return table[[*(name for name in table.columns if name != STRUCTURE), STRUCTURE]]
