"""What tags cost, by hand: ``python tests/benchmarks/tags.py``.

A year's attribution, which steps the year a second time, against the loop alone, a moment apart.
"""

import time

import moistsim as ms

PLACES = {"miami": "staged_reheat", "greensboro": "with_dehumidifier", "sand_point": "overcooling"}


def main() -> None:
    """Print seconds of processor time and their ratio, the best of eight."""
    house = ms.House(floor_area="2000 ft2", ach50=1.5)
    machines = ms.Equipment(
        cooling=ms.Cooling(stages=(ms.Stage(capacity="17 kBtu/h"), ms.Stage(capacity="24 kBtu/h"))),
        strips=ms.Strips(stages=("5 kW", "5 kW")),
        heating=ms.HeatPump(capacity="24 kBtu/h"),
        ventilation=ms.Ventilation(),
        dehumidifier=ms.Dehumidifier(capacity="80 pint/day"),
    )
    for place, name in PLACES.items():
        strategy = ms.strategies.BUILT_IN[name]
        season = ms.simulate(house, machines, strategy, ms.Weather.sample(place), spin_up=0)
        loop = tags = float("inf")
        for _ in range(8):
            state, memory = season._first_state.copy(), season._first_memory.copy()
            begun = time.process_time()
            season._machine.run(season._forcing, state, memory)
            loop, begun = min(loop, time.process_time() - begun), time.process_time()
            season._tags()
            tags = min(tags, time.process_time() - begun)
        print(f"{place:12s}{name:20s} loop {loop:.3f} s, with tags {tags:.3f} s: {tags / loop:.1f}")


if __name__ == "__main__":
    main()
