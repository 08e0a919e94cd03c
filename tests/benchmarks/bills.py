"""Time of a year's bill, by hand: ``python tests/benchmarks/bills.py``.

Printed beside the simulation of the year that it bills, on the same machine a moment later.
"""

import time
from collections.abc import Callable
from typing import Any

import moistsim as ms
from moistsim.prices.billing import _calendar, _clock

PEAK = ms.RatePeriod(name="on peak", price=0.3, hours=["14:00 to 20:00"], days="weekdays")
TARIFF = ms.Tariff(
    seasons=[
        ms.RateSeason(
            name="summer",
            days=["06-01 to 09-30"],
            periods=[PEAK, ms.RatePeriod(name="off peak", price=0.08)],
        ),
        ms.RateSeason(
            name="winter",
            days=["10-01 to 05-31"],
            tiers=[ms.RateTier(price=0.1, up_to=500), ms.RateTier(price=0.15)],
        ),
    ],
    demand=[ms.DemandCharge(price=3.0, hours=["14:00 to 20:00"], days="weekdays")],
    solar=ms.HourlyProfile(values=[0.5] * 8760),
    holidays=["US federal"],
    tax=0.06,
    zone="America/New_York",
)


def best(action: Callable[[], Any], runs: int = 7) -> float:
    """Seconds, the least of several."""
    times = []
    for _ in range(runs):
        begun = time.perf_counter()
        action()
        times.append(time.perf_counter() - begun)
    return min(times)


def main() -> None:
    house, weather = ms.House(floor_area="2000 ft2", ach50=1.5), ms.Weather.sample("miami")
    machines = ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="24 kBtu/h")]))

    def year() -> ms.Season:
        return ms.simulate(house, machines, ms.strategies.temperature_only, weather)

    season = year()
    study = ms.Study(
        house, {"one": (machines, ms.strategies.temperature_only)}, weather, tariff=TARIFF
    )

    def new_prices() -> None:
        _calendar.cache_clear()
        study.bill(season)

    def new_clock() -> None:
        _clock.cache_clear()
        new_prices()

    whole = best(year, 3)
    known = ("known tariff", lambda: study.bill(season))
    for name, action in (known, ("new prices", new_prices), ("new clock", new_clock)):
        seconds = best(action)
        print(
            f"bill of a year, {name}: {1000.0 * seconds:.1f} ms, {seconds / whole:.3f} of its run"
        )


if __name__ == "__main__":
    main()
