"""The frame of a sweep as every answer reads it: one number for each case, with its parameters."""

from collections.abc import Hashable, Sequence
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem, one_of
from moistsim.sensitivity.values import numeric


class Outcome(NamedTuple):
    """One number for each case, and the parameters of the case."""

    values: "pd.Series[float]"
    inputs: pd.DataFrame
    about: dict[Hashable, Any]
    """Facts for the attributes of an answer: measure, options, cases read and left out."""


def check_frame(frame: pd.DataFrame, where: str) -> None:
    """Refuse a frame that is not from a sweep."""
    for column in ("case", "option", "status"):
        if column not in frame:
            raise InputError(
                f"{where}(frame)", Problem(f"no column {column!r}"), "the frame that a sweep gives"
            )


def parameters_of(frame: pd.DataFrame) -> list[str]:
    """The parameters: columns between case and option, dotted names, and the weather."""
    names = [str(c) for c in frame.columns]
    first, last = names.index("case"), names.index("option")
    between = names[first + 1 : last]
    return [c for c in names if c in between or "." in c or c == "weather"]


def measures_of(frame: pd.DataFrame) -> list[str]:
    """The results: numeric columns that are not parameters."""
    inputs = {*parameters_of(frame), "case", "option", "status"}
    return [str(c) for c in frame.columns if c not in inputs and numeric(frame[c])]


def options_of(frame: pd.DataFrame) -> list[str]:
    """Names of the options in their order."""
    # A case that failed before its options were made may be a row without one.
    named = frame["option"].astype(object)
    return [str(name) for name in named[named.notna() & (named != "")].unique()]


def by_option(
    frame: pd.DataFrame, where: str, measure: str, options: Sequence[str]
) -> tuple[pd.DataFrame, int]:
    """The measure by case and option, and the number of incomplete cases."""
    measures = measures_of(frame)
    if measure not in measures:
        raise InputError(f"{where}(measure)", measure, one_of(measure, measures))
    known = options_of(frame)
    for option in options:
        if option not in known:
            raise InputError(f"{where}(option)", option, one_of(str(option), known))
    rows = frame[(frame["status"] == "ok") & frame["option"].isin(list(options))]
    twice = rows.duplicated(["case", "option"])
    if twice.any():
        case, option = rows.loc[twice, ["case", "option"]].iloc[0]
        raise InputError(
            f"{where}(frame)", Problem(f"case {case} of {option!r} twice"), "one row of each"
        )
    values = rows[measure].astype(float).to_numpy()
    if not np.isfinite(values).all():
        case, option = rows[["case", "option"]].iloc[int(np.argmin(np.isfinite(values)))]
        raise InputError(
            f"{where}(measure)",
            Problem(f"no {measure} in case {case} of {option!r}"),
            "a result that each of these options has",
        )
    table = rows.assign(option=rows["option"].astype(object), **{measure: values}).pivot(
        index="case", columns="option", values=measure
    )
    table = table.reindex(columns=list(options)).dropna().sort_index()
    return table, int(frame["case"].nunique()) - len(table)


def outcome(
    frame: pd.DataFrame,
    where: str,
    measure: str,
    option: str | None,
    options: tuple[str, str] | None,
) -> Outcome:
    """The measure of one option, or the first option's minus the second's."""
    check_frame(frame, where)
    if options is None:
        known = options_of(frame)
        if option is None and len(known) != 1:
            raise InputError(f"{where}(option)", None, one_of("", known))
        chosen = [known[0] if option is None else option]
    else:
        if option is not None:
            raise InputError(f"{where}(option)", option, "option or options, not both")
        chosen = [options] if isinstance(options, str) else list(options)
        if len(chosen) != 2 or chosen[0] == chosen[1]:
            raise InputError(f"{where}(options)", options, "two options")
    wide, left_out = by_option(frame, where, measure, chosen)
    values = wide[chosen[0]] if len(chosen) == 1 else wide[chosen[0]] - wide[chosen[1]]
    inputs = frame.drop_duplicates("case").set_index("case")[parameters_of(frame)]
    about: dict[Hashable, Any] = {
        "measure": measure,
        "of": " less ".join(chosen),
        "difference": len(chosen) == 2,
        "left_out": left_out,
        "cases": len(values),
    }
    return Outcome(values, inputs.reindex(values.index), about)


def reason(frame: pd.DataFrame, case: Hashable) -> str:
    """The reason why a case has no result."""
    status = frame.loc[frame["case"] == case, "status"].astype(str)
    failed = status[status != "ok"]
    return failed.iloc[0] if len(failed) else "not run"
