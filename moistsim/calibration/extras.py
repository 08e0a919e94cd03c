"""Extra inputs of a log, each judged against a placebo.

Any column that wiggles explains some of the past. Whether it tells of moisture shows on hours that the
fit has not seen, next to a placebo: the same column half a log later, with its own swings and habits, but
without the house's.
"""

from collections.abc import Sequence

import attrs
import numpy as np
import pandas as pd

from moistsim.calibration.adjusted import EXTRA, EXTRA_PRIOR, adjusted
from moistsim.calibration.chaining import chain
from moistsim.calibration.model import Model
from moistsim.controls import Strategy

COLUMNS = ["rmse_without_g_kg", "rmse_with_g_kg", "rmse_placebo_g_kg", "kept"]


def with_extras(model: Model, strategy: Strategy, names: Sequence[str]) -> Model:
    """The model with extra inputs among its values."""
    ranges = {f"{EXTRA}{name}": EXTRA_PRIOR for name in names}
    more = adjusted(model.structure, strategy, model.hours.weather, ranges)
    return attrs.evolve(model, names=(*model.names, *more))


def judge_extras(
    models: Sequence[Model], strategy: Strategy, extra: Sequence[str], first: int, last: int
) -> tuple[pd.DataFrame, list[str]]:
    """Error by forward chaining without each extra input, with it, and with its placebo.

    The first structure stands for all.

    Returns
    -------
    table : DataFrame
        By input: errors in g/kg, and whether it is kept.
    kept : list of str
        Inputs that predict better than nothing and than their placebo.
    """
    if not extra:
        return pd.DataFrame(columns=COLUMNS), []
    plain = models[0]
    without = _error(plain, first, last)
    rows = {}
    for name in extra:
        model = with_extras(plain, strategy, [name])
        values = plain.hours.extras[name]
        late = attrs.evolve(
            plain.hours, extras={**plain.hours.extras, name: np.roll(values, len(values) // 2)}
        )
        own, placebo = (
            _error(model, first, last),
            _error(attrs.evolve(model, hours=late), first, last),
        )
        rows[name] = (without, own, placebo, own < min(without, placebo))
    table = pd.DataFrame.from_dict(rows, orient="index", columns=COLUMNS)
    table.index.name = "input"
    return table, [name for name in extra if rows[name][3]]


def _error(model: Model, first: int, last: int) -> float:
    """Root of the mean squared error on hours that a model has not seen, g/kg."""
    folds, _ = chain(model, first, last)
    errors = [fold.mean - model.hours.measured[fold.rows] for fold in folds]
    return float(np.sqrt(np.mean(np.concatenate(errors) ** 2)))
