"""Machine sizes that a measured house needs, over the draws that its log allows."""

from typing import Any

import attrs
import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.core.progress import progress_bar
from moistsim.core.whole_numbers import whole_number
from moistsim.sizing import HOT, size
from moistsim.study import Study
from moistsim.sweep import varied
from moistsim.uncertainty.measured import measured_draws, spread_out

DRAWS = 16
"""Default number of draws that are sized."""
MOST = 1024
"""Largest number of draws that are sized."""


def measured_sizes(
    study: Study,
    measured: Any,
    *,
    n: int = DRAWS,
    temperature: float | str | None = None,
    rh: float | str | None = None,
    per_cent: float = 1.0,
    progress: bool = True,
) -> pd.DataFrame:
    """Machine sizes that a measured house needs, one row for each of some draws.

    A size for the middle of the draws is too small in half of the houses that the log allows.
    ``measured_sizes(study, fit).quantile([0.05, 0.5, 0.95])`` shows the middle and a band.

    Parameters
    ----------
    study : Study
        As for `size`.
    measured : Fit or DataFrame
        As for `how_sure`.
    n : int
        Number of draws, evenly spaced through all of them. Each takes four seasons.
    temperature, rh, per_cent, progress
        As for `size`.

    Returns
    -------
    DataFrame
        By draw: `sensible_W` and `latent_W`, the cooling load at the hot condition;
        `dehumidifier_kg_day`, the rated moisture removal for the greatest need; and `over_load`, the
        capacity of the installed air conditioner over its load, the smaller of sensible and total.

    Raises
    ------
    InputError
        For the same reasons as `size`, or if the draws cannot be used.

    Examples
    --------
    >>> import attrs, numpy as np, pandas as pd
    >>> import moistsim as ms
    >>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    >>> study = demo.study.evolve(start="07-01", end="08-31", step="15 min")
    >>> draws = pd.DataFrame({"house.ach50": np.linspace(1.0, 4.0, 8)})
    >>> sizes = ms.measured_sizes(study, draws, n=2, progress=False)
    >>> bool(sizes["latent_W"].iloc[1] > sizes["latent_W"].iloc[0])
    True
    """
    where = "measured_sizes"
    n = whole_number(n, f"{where} n", 1, MOST, f"a whole number from 1 to {MOST}")
    draws = measured_draws(measured, study, {}, None, where)
    if draws is None:
        raise InputError(f"{where} measured", Problem("no draws"), "a fit, or a DataFrame of draws")
    rows = {}
    chosen = spread_out(draws.table, n)
    places = spread_out(draws.table.assign(draw=range(len(draws.table)))[["draw"]], n)
    with progress_bar(min(n, len(draws.table)), "sizing", "draw", shown=progress) as bar:
        for place, values in zip(places, chosen, strict=True):
            given = {
                name: draws.labels[name][value] if name in draws.labels else value
                for name, value in values.items()
            }
            sized = size(
                _with(study, given), temperature=temperature, rh=rh, per_cent=per_cent,
                sizes=["50 pint/day"], scales=[1.0], progress=False,
            )  # fmt: skip
            load: Any = sized.loads.loc[(HOT, "total")]
            rows[int(place["draw"])] = {
                "sensible_W": float(load["sensible_W"]),
                "latent_W": float(load["latent_W"]),
                "dehumidifier_kg_day": sized.rated,
                "over_load": float(sized.oversizing.min()),
            }
            bar.update()
    table = pd.DataFrame.from_dict(rows, orient="index")
    table.index.name = "draw"
    return table


def _with(study: Study, values: dict[str, Any]) -> Study:
    """The whole study with the values of a draw."""
    options: dict[str, Any] = {}
    found = study
    for option, one in varied(study, values):
        if isinstance(one, InputError):
            raise one
        found = one
        options[option] = tuple(one.resolved[option])
    whole: Study = attrs.evolve(study, house=found.house, options=options)
    return whole
