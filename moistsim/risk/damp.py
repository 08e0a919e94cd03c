"""Spaces next to the house whose wood or board is too wet."""

from typing import Any, NamedTuple, cast

import pandas as pd

from moistsim.risk.mold import CRITERION

WET_WEEK = 7
"""Days with wood above 20 percent moisture content, beyond which it counts as too wet. Our own choice."""


class Damp(NamedTuple):
    """A space whose wood or board is too wet, or where visible mold could grow."""

    space: str
    """Name in words, such as "crawl space"."""
    mold_index: float
    wet_days: int
    """Days with wood above 20 percent moisture content."""
    wood: float | None
    """Highest moisture content of its wood, percent; None without wood."""


def damp_wood(risks: pd.DataFrame) -> dict[str, tuple[Damp, ...]]:
    """By option, the spaces whose wood or board is too wet or can grow visible mold.

    Parameters
    ----------
    risks : DataFrame
        The result of `space_risk`, in SI.
    """
    found: dict[str, list[Damp]] = {}
    for key, values in risks.iterrows():
        option, space = cast("tuple[str, str]", key)
        one: dict[Any, Any] = dict(values)
        days, wood = one["wet_wood_days"], one["highest_wood_moisture_pct"]
        damp = Damp(
            space=space,
            mold_index=float(one["mold_index_wood"]),
            wet_days=0 if pd.isna(days) else int(days),
            wood=None if pd.isna(wood) else float(wood),
        )
        if damp.mold_index >= CRITERION or damp.wet_days > WET_WEEK:
            found.setdefault(option, []).append(damp)
    return {option: tuple(damp) for option, damp in found.items()}
