"""How fast the watch finds each fault, what it takes it for, and how often it is wrong. Run by hand.

    PYTHONPATH=. python tests/benchmarks/watch.py [seeds]

Houses of `tests/support/watched.py`: the fit knows house and machines but not the household, whose
moisture differs by 15 % from day to day, and not the loggers' noise. Fitted on 30 days, then watched.
"""

import sys
import time
from collections import Counter
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parents[1]))

from support import watched

import moistsim as ms

FAULTS = {
    "sensor": "a humidity sensor that has drifted or was replaced",
    "ventilation": "ventilation that has stopped",
    "blower": "the blower left ON",
    "coil": "a fouled coil or filter",
    "window": "more outdoor air, as through a window left open",
    "household": "more moisture from the household",
}
AFTER = (3, 7, 14, 30)
"""Days after the fault on which the watch is asked what it is."""


def days_to_detect(seeds: int) -> pd.DataFrame:
    rows = []
    for fault, words in FAULTS.items():
        found, right, named = [], Counter(), Counter()
        for seed in range(seeds):
            # The fault begins 30 to 59 days after the fit.
            truth = watched.Truth(
                seed=seed,
                fault=fault,
                first=105 + 7 * (seed % 5),
                fault_day=60 + seed % 30,
                days=125,
            )
            fit, log = watched.fitted(truth), truth.log
            begin = log.frame.index[24 * truth.fault_day]
            whole = ms.watch(
                fit,
                log.between(str(log.frame.index[0]), str(begin + pd.Timedelta(days=29, hours=23))),
            )
            late = whole.days.loc[begin:]
            first = np.flatnonzero(late["alarm"].to_numpy())
            found.append(int(first[0]) + 1 if first.size else 99)
            for days in AFTER:
                end = begin + pd.Timedelta(days=days) - pd.Timedelta(hours=1)
                seen = ms.watch(fit, log.between(str(log.frame.index[0]), str(end)))
                if seen.alarm is not None:
                    named[days] += 1
                    right[days] += seen.alarm.suspects.index[0] == words
        rows.append(
            {
                "fault": fault,
                "days to detect, median": np.median(found),
                "days, 90 %": np.quantile(found, 0.9),
                "not found in 30 days": int(np.sum(np.array(found) > 30)),
                **{f"right after {d} days": f"{right[d]} of {named[d]}" for d in AFTER},
            }
        )
    return pd.DataFrame(rows).set_index("fault")


def false_alarms(seeds: int) -> tuple[int, float]:
    """Alarms that begin in houses without a fault, and years watched."""
    alarms, days = 0, 0
    for seed in range(seeds):
        truth = watched.Truth(seed=100 + seed, first=90 + 5 * (seed % 6), days=180)
        table = ms.watch(watched.fitted(truth), truth.log).days
        alarm = table["alarm"].to_numpy()
        alarms += int((alarm & ~np.concatenate(([False], alarm[:-1]))).sum())
        days += len(table)
    return alarms, days / 365.25


if __name__ == "__main__":
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    began = time.perf_counter()
    pd.set_option("display.width", 200, "display.max_columns", 20)
    print(days_to_detect(n).to_string())
    count, years = false_alarms(2 * n)
    print(f"false alarms: {count} in {years:.1f} years, {count / years:.2f} a year (stated: 0.5)")
    print(f"{time.perf_counter() - began:.0f} s")
