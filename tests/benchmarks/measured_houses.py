"""How often bands of fitted values hold the truth, and how long a fit takes. Run by hand:

    PYTHONPATH=tests python tests/benchmarks/measured_houses.py [HOUSES] [DAYS]

Houses are drawn from ranges around their description, in three climates; their loggers have an offset within
2 % RH, a drift within 1 % and scatter. Time is also given as a ratio against one run of the log.
"""

import sys
import time

import numpy as np
from support.measured_houses import CLIMATES, invented

import moistsim as ms


def main(houses: int, days: int) -> None:
    """Fit every house, and count."""
    held: dict[str, list[bool]] = {}
    hours, day, errors, spent, ratio = [], [], [], [], []
    for k in range(houses):
        truth = invented(k, list(CLIMATES)[k % len(CLIMATES)], days=days)
        began = time.perf_counter()
        fit = ms.calibrate(truth.described, truth.equipment, truth.log, seed=k)
        spent.append(time.perf_counter() - began)
        began = time.perf_counter()
        fit.simulate(fit.best)
        ratio.append(spent[-1] / (time.perf_counter() - began))
        for name, value in truth.values.items():
            own = fit.draws.get(name)
            if own is not None:
                share = float((own.dropna() < value).mean())
                held.setdefault(name, []).append(0.05 <= share <= 0.95)
        table = fit.table()
        hours.append(table.loc[("blind", "hour"), "coverage_pct"])
        day.append(table.loc[("blind", "day"), "coverage_pct"])
        errors.append(table.loc[("blind", "hour"), "rmse_g_kg"])
        print(k, list(CLIMATES)[k % len(CLIMATES)], f"{spent[-1]:.0f} s, blind {errors[-1]:.3f} g/kg, "
              f"{hours[-1]:.0f} % of hours", flush=True)  # fmt: skip
    for name, each in held.items():
        print(f"{name:36}{100 * np.mean(each):6.0f} % of {len(each)} in their 90 % bands")
    all_of = [one for each in held.values() for one in each]
    print(f"all values {100 * np.mean(all_of):.0f} % of {len(all_of)}; blind hours {np.mean(hours):.0f} %, "
          f"days {np.mean(day):.0f} %, {np.mean(errors):.3f} g/kg; {np.mean(spent):.0f} s a fit of {days} days, "
          f"{np.mean(ratio):,.0f} times one run")  # fmt: skip


if __name__ == "__main__":
    main(*(int(x) for x in [*sys.argv[1:], *("12", "30")[len(sys.argv) - 1 :]]))
