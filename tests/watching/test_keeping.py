"""The folder of a watch: rows that come day by day, and predictions."""

from pathlib import Path

import pandas as pd
import pytest
from support import watched

import moistsim as ms
from moistsim.watching import Keeping, Tomorrow, held


def parts(days: int = 40) -> tuple[ms.HouseLog, ms.HouseLog, ms.HouseLog]:
    log = watched.Truth(days=days, seed=2).log
    hours = log.frame.index
    return (
        log,
        log.between(str(hours[0]), str(hours[24 * 20])),
        log.between(str(hours[24 * 19]), str(hours[-1])),
    )


def test_new_rows_are_added_to_those_kept(tmp_path: Path) -> None:
    whole, first, second = parts()
    keeping = Keeping(tmp_path / "watch")
    pd.testing.assert_frame_equal(keeping.with_new_rows(first).frame, first.frame, check_freq=False)
    both = keeping.with_new_rows(second)
    pd.testing.assert_frame_equal(both.frame, whole.frame, check_freq=False, rtol=1e-14)
    # A file with the newest rows alone, or the same rows again, changes nothing.
    again = keeping.with_new_rows(second)
    pd.testing.assert_frame_equal(again.frame, whole.frame, check_freq=False, rtol=1e-14)


def test_the_part_to_fit_is_that_of_the_first_run(tmp_path: Path) -> None:
    whole, first, second = parts()
    keeping = Keeping(tmp_path)
    fitted = keeping.part_to_fit(keeping.with_new_rows(first))
    assert len(fitted) == len(first)
    later = keeping.part_to_fit(keeping.with_new_rows(second))
    pd.testing.assert_frame_equal(later.frame, fitted.frame, check_freq=False)
    assert len(whole) > len(later)


def test_too_little_to_fit_keeps_the_rows(tmp_path: Path) -> None:
    log = parts()[0]
    week = log.between(str(log.frame.index[0]), str(log.frame.index[24 * 7]))
    keeping = Keeping(tmp_path)
    with pytest.raises(ms.InputError, match="14 days before the first watch"):
        keeping.part_to_fit(keeping.with_new_rows(week))
    assert (tmp_path / "log.csv").exists() and not (tmp_path / "watch.json").exists()


def test_other_logs_and_damaged_files_are_refused(tmp_path: Path) -> None:
    _, first, second = parts()
    keeping = Keeping(tmp_path)
    keeping.with_new_rows(first)
    with pytest.raises(ms.InputError, match="wind_speed in one part alone"):
        second.joined(first.frame.drop(columns="wind_speed"))
    with pytest.raises(ms.InputError, match="off steps of 60 min"):
        second.joined(first.frame.set_axis(first.frame.index + pd.Timedelta(minutes=7)))
    (tmp_path / "watch.json").write_text("{}")
    with pytest.raises(ms.InputError, match="not the record of a watch"):
        keeping.part_to_fit(first)


def test_predictions_are_kept_and_counted(tmp_path: Path) -> None:
    log = parts()[0]
    keeping = Keeping(tmp_path)
    hours = log.frame.index
    for day, width in ((20, 0.01), (21, 0.0), (39, 0.01), (40, 0.01)):
        start = hours[0] + pd.Timedelta(days=day)
        middle = 0.009
        kept = keeping.add_prediction(
            Tomorrow(start, middle, middle - width, middle + width, by_forecast=False)
        )
    assert len(kept) == 4
    # The last of them begins where the log ends.
    assert held(kept, log) == (2, 3)
