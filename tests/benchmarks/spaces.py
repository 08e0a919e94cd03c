"""What a body of air more costs in the loop, by hand: ``python tests/benchmarks/spaces.py``.

CPU time of a year beside that of the same house as one zone. The cases take turns, and the best of
several counts, because other programs share the machine.
"""

import time

import attrs

import moistsim as ms

HOUSE = ms.House(floor_area="2400 ft2", stories=2, ach50=5)
COOLING = ms.Cooling(stages=[ms.Stage(capacity="30 kBtu/h")])
MACHINES = ms.Equipment(cooling=COOLING, heating=ms.HeatPump(capacity="30 kBtu/h"))
ZONE = ms.SecondZone()
CASES = {
    "one zone": (HOUSE, MACHINES),
    "attic": (attrs.evolve(HOUSE, attic=ms.Attic()), MACHINES),
    "attic and crawl space": (
        attrs.evolve(HOUSE, attic=ms.Attic(), crawl_space=ms.CrawlSpace()), MACHINES,
    ),
    "two zones": (attrs.evolve(HOUSE, second_zone=ZONE), MACHINES),
    "two zones, two thermostats": (
        attrs.evolve(HOUSE, second_zone=ZONE), attrs.evolve(MACHINES, zoning=ms.Zoning()),
    ),
    "two zones and an attic": (attrs.evolve(HOUSE, second_zone=ZONE, attic=ms.Attic()), MACHINES),
}  # fmt: skip


def main() -> None:
    weather = ms.Weather.sample("greensboro")
    seasons = {
        name: ms.simulate(*case, ms.strategies.temperature_only, weather, spin_up=0)
        for name, case in CASES.items()
    }
    taken: dict[str, list[float]] = {name: [] for name in seasons}
    for _ in range(7):
        for name, season in seasons.items():
            state, memory = season._first_state.copy(), season._first_memory.copy()
            begun = time.process_time()
            season._machine.run(season._forcing, state, memory)
            taken[name].append(time.process_time() - begun)
    base = min(taken["one zone"])
    for name, times in taken.items():
        print(f"{name:28}{min(times):7.3f} s a year{min(times) / base:7.2f} of one zone")


if __name__ == "__main__":
    main()
