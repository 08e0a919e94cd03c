"""The folder of a watch: the rows that have come so far, and each day's prediction."""

import io
import json
from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pandas as pd

from moistsim.core.errors import InputError, Problem
from moistsim.core.files import write_whole
from moistsim.loggers import HouseLog
from moistsim.watching.tomorrow import DAY, Tomorrow

LOG, RECORD, DAYS, PREDICTIONS = "log.csv", "watch.json", "days.csv", "predictions.csv"
FEWEST_DAYS = 14
"""Days of log that the house is fitted to, at least."""


@attrs.frozen
class Keeping:
    """The folder of a watch.

    It holds ``log.csv`` (all rows that have come, SI), ``watch.json`` (the time that the house is
    fitted to), ``days.csv`` and ``predictions.csv``.
    """

    folder: Path

    def with_new_rows(self, log: HouseLog) -> HouseLog:
        """The kept rows with those of `log`, which are kept from now on."""
        kept = self.folder / LOG
        if kept.exists():
            log = log.joined(_read(kept))
        self.folder.mkdir(parents=True, exist_ok=True)
        _write(kept, log.frame)
        return log

    def part_to_fit(self, log: HouseLog) -> HouseLog:
        """The part of the log that the house is fitted to: all of the first run's, and the same ever after.

        Raises
        ------
        InputError
            If it is shorter than two weeks, or the kept record is not of this log.
        """
        record = self._record()
        if not record:
            first, last = log.frame.index[0], log.frame.index[-1]
            days = (last - first) / DAY
            if days < FEWEST_DAYS - 0.1:
                raise InputError(
                    "watch log", Problem(f"{days:.1f} days"),
                    f"{FEWEST_DAYS} days before the first watch; until then new rows are kept",
                )  # fmt: skip
            record = {"fitted_from": str(first), "fitted_until": str(last)}
            write_whole(self.folder / RECORD, json.dumps(record, indent=2).encode())
        return log.between(record["fitted_from"], record["fitted_until"])

    def _record(self) -> dict[str, Any]:
        path = self.folder / RECORD
        if not path.exists():
            return {}
        try:
            found = json.loads(path.read_text(encoding="utf-8"))
            times = [pd.Timestamp(found[key]) for key in ("fitted_from", "fitted_until")]
        except (ValueError, KeyError, TypeError):
            raise InputError(
                str(path),
                Problem("not the record of a watch"),
                "another folder, or remove the file to fit anew",
            ) from None
        if times[0] >= times[1]:
            raise InputError(
                str(path), Problem("a fit that ends before it begins"), "another folder"
            )
        return dict(found)

    def write_days(self, days: pd.DataFrame) -> None:
        """Write the table of days."""
        _write(self.folder / DAYS, days)

    def add_prediction(self, tomorrow: Tomorrow) -> pd.DataFrame:
        """Keep a prediction, and return all of them by their start, kg/kg."""
        path = self.folder / PREDICTIONS
        new = pd.DataFrame(
            {"predicted": tomorrow.predicted, "low": tomorrow.low, "high": tomorrow.high},
            index=pd.DatetimeIndex([tomorrow.start], name="time"),
        )
        if path.exists():
            old = _read(path)
            new = pd.concat([old[~old.index.isin(new.index)], new]).sort_index()
        _write(path, new)
        return new


def held(predictions: pd.DataFrame, log: HouseLog) -> tuple[int, int]:
    """Number of past predictions whose day lay in its band, and of all whose day was measured."""
    measured = log.indoor_humidity_ratio
    inside = known = 0
    for start, row in predictions.iterrows():
        begin = pd.Timestamp(str(start))
        day = measured.loc[begin : begin + DAY - pd.Timedelta(seconds=log.step)].dropna()
        if len(day) * log.step >= 0.5 * 86400.0 and log.frame.index[-1] >= begin + 0.9 * DAY:
            known += 1
            inside += bool(row["low"] <= float(np.mean(day)) <= row["high"])
    return inside, known


def _read(path: Path) -> pd.DataFrame:
    try:
        return pd.read_csv(path, index_col=0, parse_dates=[0])
    except (ValueError, OSError):
        raise InputError(str(path), Problem("not a table of a watch"), "another folder") from None


def _write(path: Path, frame: pd.DataFrame) -> None:
    text = io.StringIO()
    frame.to_csv(text)
    write_whole(path, text.getvalue().encode())
