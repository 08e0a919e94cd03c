"""How often bands of fitted values and verdicts hold the truth, and how long a fit takes. Run by hand:

    PYTHONPATH=tests python tests/benchmarks/measured_houses.py [HOUSES] [DAYS]

Houses are drawn from ranges around their description, in three climates; their loggers have an offset within
2 % RH, a drift within 1 % and scatter. Time is also given as a ratio against one run of the log.

The verdict is whether a dehumidifier pays back against staged reheat in a summer of Greensboro, for a first cost
that differs by house. It is stated from the fit, and known from the true house.
"""

import sys
import time
import timeit

import attrs
import numpy as np
from support.measured_houses import CLIMATES, Truth, invented

import moistsim as ms

DRY, REHEAT = "Stand-alone dehumidifier", "Staged compressor with strip reheat"


def verdict(truth: Truth, fit: ms.Fit, seed: int) -> tuple[float, float, bool]:
    """Stated chance that the dehumidifier pays back, its truth, and whether the 90 % band held it."""
    demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    cost = float(np.random.default_rng(2000 + seed).uniform(600.0, 6000.0))
    bought = demo.purchases | {DRY: attrs.evolve(demo.purchases[DRY], first_cost=cost)}
    study = attrs.evolve(demo.study, house=truth.described, step="5 min")
    how = {"options": (DRY, REHEAT), "stand_ins": False, "progress": False}
    sure = ms.how_sure(study, bought, demo.terms, {}, n=64, measured=fit, **how)
    # A range too narrow to matter, around a value that is known.
    true = ms.how_sure(
        attrs.evolve(study, house=truth.house), bought, demo.terms,
        {"tariff.price": ms.normal(study.tariff.price, 1e-9)}, n=8, **how,
    )  # fmt: skip
    stated = sure.counted["net_savings_USD"].astype(float)
    known = float(true.counted["net_savings_USD"].iloc[0])
    low, high = stated.quantile([0.05, 0.95])
    return float((stated > 0.0).mean()), float(known > 0.0), bool(low <= known <= high)


def time_of_a_fit(days: int) -> None:
    """Print how long a log of so many days takes, beside one run of it."""
    truth = invented(0, "greensboro", days=days)
    fit = ms.calibrate(truth.described, truth.equipment, truth.log)
    one = min(timeit.repeat(lambda: fit.simulate(fit.best), number=1, repeat=5))
    print(f"{days:3} days of log: {fit.seconds:.0f} s, {fit.seconds / one:,.0f} runs", flush=True)


def main(houses: int, days: int) -> None:
    """Fit every house, and count."""
    for length in (7, 30, 92):
        time_of_a_fit(length)
    held: dict[str, list[bool]] = {}
    hours, day, errors, spent, ratio, verdicts = [], [], [], [], [], []
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
        verdicts.append(verdict(truth, fit, k))
        print(k, list(CLIMATES)[k % len(CLIMATES)], f"{spent[-1]:.0f} s, blind {errors[-1]:.3f} g/kg, "
              f"{hours[-1]:.0f} % of hours, pays back: stated {verdicts[-1][0]:.2f}, true {verdicts[-1][1]:.0f}", flush=True)  # fmt: skip
    for name, each in held.items():
        print(f"{name:36}{100 * np.mean(each):6.0f} % of {len(each)} in their 90 % bands")
    all_of = [one for each in held.values() for one in each]
    print(f"all values {100 * np.mean(all_of):.0f} % of {len(all_of)}; blind hours {np.mean(hours):.0f} %, "
          f"days {np.mean(day):.0f} %, {np.mean(errors):.3f} g/kg; {np.mean(spent):.0f} s a fit of {days} days, "
          f"{np.mean(ratio):,.0f} times one run")  # fmt: skip
    stated, true, inside = np.transpose(verdicts)
    print(f"verdicts: {sum(true):.0f} pay back, {sum(stated):.1f} ± {np.sqrt(np.sum(stated * (1 - stated))):.1f} "
          f"stated; the likelier answer was right in {100 * np.mean((stated > 0.5) == true):.0f} %, stated "
          f"{100 * np.mean(np.maximum(stated, 1 - stated)):.0f} %; net savings in their 90 % bands "
          f"{100 * np.mean(inside):.0f} %")  # fmt: skip


if __name__ == "__main__":
    main(*(int(x) for x in [*sys.argv[1:], *("12", "30")[len(sys.argv) - 1 :]]))
