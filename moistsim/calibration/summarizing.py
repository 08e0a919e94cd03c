"""A fit at a glance: its log, its structures and how good its prediction is."""

from typing import TYPE_CHECKING

from moistsim.core.display import Show, count, number
from moistsim.core.summary import Grid, Summary

if TYPE_CHECKING:
    from moistsim.calibration.fit import Fit

_SHOWN = {
    "rmse_g_kg": ("RMSE, g/kg", 2),
    "bias_g_kg": ("Bias, g/kg", 2),
    "r_squared": ("R²", 2),
    "coverage_pct": ("In the 90 % band, %", 0),
}
"""Columns of `Fit.table` that are shown, with their heads and digits."""


def fit_summary(fit: "Fit", show: Show) -> Summary:
    """Log, structures and goodness of a fit, and what it tells."""
    index = fit.hours.index
    weights = ", ".join(
        f"{name} {number(100.0 * member.weight)} %"
        for name, member in sorted(fit.members.items(), key=lambda item: -item[1].weight)
    )
    facts = (
        ("Log", f"{index[0]:%Y-%m-%d} to {index[-1]:%Y-%m-%d}, {', '.join(fit.log.rooms)}"),
        ("Fitted", f"{count(fit.fitted, 'hour')} of {number(len(index))}; the rest is blind"),
        ("Model structures", weights),
        ("Draws", f"{number(len(fit.draws))} of {count(len(fit.names), 'value')}"),
    )
    table = fit.table()
    rows = tuple(
        (
            f"{part}, by {period}",
            *(number(row[name], digits) for name, (_, digits) in _SHOWN.items()),
        )
        for (part, period), row in zip(table.index.tolist(), table.to_dict("records"), strict=True)
    )
    heads = ("Part and period", *(head for head, _ in _SHOWN.values()))
    grid = Grid("Prediction of indoor humidity", heads, rows, frozenset(range(1, len(heads))))
    told = tuple(line for line in str(fit.identified(show.units)).splitlines() if line)
    return Summary("Fit", "", facts, (grid,), told)
