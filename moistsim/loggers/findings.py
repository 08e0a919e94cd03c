"""Findings of a review of a log, and the effect of a wrong humidity on the answer."""

from __future__ import annotations

import textwrap
from functools import cached_property
from typing import TYPE_CHECKING

import attrs
import numpy as np
import pandas as pd

from moistsim import air
from moistsim.core.display import number

if TYPE_CHECKING:
    from moistsim.loggers.log import HouseLog

WIDTH = 100


@attrs.frozen(kw_only=True)
class LogFinding:
    """One thing wrong or doubtful in a log, with its effect on the answer.

    Parameters
    ----------
    what : {"stuck", "drift", "step", "swapped", "unit", "clock", "placement"}
    where : str
        Column or room.
    start, end : Timestamp
        First and last interval concerned.
    says : str
        What was found, in one or two sentences.
    effect : str
        Effect on the answer, in one or two sentences.

    Examples
    --------
    >>> import moistsim as ms, pandas as pd
    >>> day = pd.Timestamp("2025-07-01")
    >>> ms.LogFinding(what="stuck", where="outdoor_rh", start=day, end=day, says="Flat.", effect="None.").what
    'stuck'
    """

    what: str
    where: str
    start: pd.Timestamp
    end: pd.Timestamp
    says: str
    effect: str


@attrs.frozen(kw_only=True, repr=False)
class LogReview:
    """Findings of `HouseLog.review`, and what the log cannot tell.

    Attributes
    ----------
    findings : tuple of LogFinding
    limits : tuple of str
        Faults that this log could hide, each in a sentence.

    Examples
    --------
    >>> import moistsim as ms
    >>> print(ms.LogReview(findings=(), limits=()))
    Review of the log: nothing found.
    """

    findings: tuple[LogFinding, ...]
    limits: tuple[str, ...]

    def table(self) -> pd.DataFrame:
        """Return one row a finding: what, where, from, to, finding and effect."""
        rows = [
            {"what": each.what, "where": each.where, "from": each.start, "to": each.end,
             "finding": each.says, "effect": each.effect}
            for each in self.findings
        ]  # fmt: skip
        return pd.DataFrame(rows, columns=["what", "where", "from", "to", "finding", "effect"])

    def __str__(self) -> str:
        count = len(self.findings)
        head = {0: "nothing found.", 1: "1 finding."}.get(count, f"{count} findings.")
        lines = [f"Review of the log: {head}"]
        for n, each in enumerate(self.findings, 1):
            text = f"{n}. {each.where}, {each.start:%Y-%m-%d} to {each.end:%Y-%m-%d}: {each.says} {each.effect}"
            lines += textwrap.wrap(text, WIDTH, subsequent_indent="   ")
        if self.limits:
            lines += ["What this log cannot tell:"]
            for text in self.limits:
                lines += textwrap.wrap(f"- {text}", WIDTH, subsequent_indent="  ")
        return "\n".join(lines)

    def __repr__(self) -> str:
        return str(self)


class Reading:
    """A log in the quantities that the checks share; each is calculated when it is asked for."""

    def __init__(self, log: HouseLog) -> None:
        self.log = log
        self.frame = log.frame
        self.step = log.step
        self.ratios = log.humidity_ratios
        """Humidity ratio of each room, kg/kg."""

    @property
    def rows_a_day(self) -> int:
        return round(86400.0 / self.step)

    def column(self, name: str) -> pd.Series | None:
        """A column, or None."""
        return self.frame[name] if name in self.frame.columns else None

    @cached_property
    def outdoor_ratio(self) -> pd.Series | None:
        """Outdoor humidity ratio, kg/kg."""
        return self.outdoor_ratio_of("")

    def outdoor_ratio_of(self, sensor: str) -> pd.Series | None:
        """Humidity ratio of an outdoor sensor, kg/kg; the main one is called ""."""
        dot = f".{sensor}" if sensor else ""
        dew, dry, rh = (
            self.column(f"outdoor_{kind}{dot}") for kind in ("dew_point", "temperature", "rh")
        )
        if dew is not None:
            vapor = air.over(air.saturation_pressure, dew)
        elif dry is not None and rh is not None:
            vapor = air.over(air.saturation_pressure, dry) * rh.to_numpy() / 100.0
        else:
            return None
        return pd.Series(air.over(air.humidity_ratio, vapor, self.log.pressure), self.frame.index)

    @cached_property
    def excess(self) -> float:
        """Mean of the house's humidity ratio above that outdoors, g/kg; NaN if not known."""
        if self.outdoor_ratio is None or not self.log.rooms:
            return float("nan")
        return 1000.0 * float((self.log.indoor_humidity_ratio - self.outdoor_ratio).mean())

    def saturation(self, room: str) -> pd.Series:
        """Humidity ratio that 100 percent RH would be in a room, kg/kg, linear in RH."""
        t = self.column(f"indoor_temperature.{room}")
        values = t if t is not None else pd.Series(22.0, self.frame.index)
        return pd.Series(
            0.621945 * air.over(air.saturation_pressure, values) / self.log.pressure.to_numpy(),
            self.frame.index,
        )

    def of_points(self, room: str, points: float) -> float:
        """Humidity ratio, g/kg, of so many points of RH in a room."""
        return 10.0 * points * float(self.saturation(room).mean())

    def moves(self, grams: float, rooms: int = 1) -> str:
        """Effect of an error of `grams` g/kg in one room on the answer, in words.

        In the long mean, moisture gain is the excess of the house over outdoors times the airflow,
        so an error in the excess is one of the fitted gain, by the same share.
        """
        house = abs(grams) / max(rooms, 1)
        text = f"That is {number(abs(grams), 2)} g/kg"
        if rooms > 1:
            text += f" in this room and {number(house, 2)} g/kg in the mean of {rooms} rooms"
        if not np.isfinite(self.excess) or abs(self.excess) < 0.2:
            return text + ". The fitted moisture gain moves by it times the airflow."
        share = 100.0 * house / abs(self.excess)
        return (
            text
            + f", or {number(share)} percent of the mean excess over outdoors ({number(self.excess, 1)} g/kg): "
            "the fitted moisture gain moves by that share at a given airflow."
        )
