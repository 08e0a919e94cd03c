"""Checksums of a fixed set of seasons, to see whether a change of the code moved any bit.

    python tests/benchmarks/same_bits.py

Run before and after a change on one machine. Each line is a season, the checksum of its hourly
table (its columns in the order of their names, without those that are zero in all hours), the checksum of the meter's totals, and the electricity in kWh. Everything that a default
could change is given here, so that only the computation is compared.
"""

import hashlib
from collections.abc import Iterator
from typing import Any

import numpy as np

import moistsim as ms

THERMOSTAT = {
    "cooling_setpoint": 24.5,
    "heating_setpoint": 20.0,
    "deadband": 1.0,
    "second_stage_at": 1.2,
}
HUMIDISTAT = {"target_rh": 52.0, "humidity_deadband": 5.0}
SETTINGS = {
    "temperature_only": THERMOSTAT,
    "overcooling": THERMOSTAT | HUMIDISTAT | {"overcool_by": 1.5},
    "staged_reheat": THERMOSTAT
    | {
        "target_rh": 52.0,
        "enable_over": -2.5,
        "stage_1_on": 2.5,
        "stage_1_off": -2.5,
        "stage_2_on": 7.0,
        "stage_2_off": 2.0,
        "reheat_below": 1.2,
        "reheat_deadband": 0.6,
        "second_strip_below": 0.8,
        "strip_airflow": 0.0,
    },
    "hot_gas_reheat": THERMOSTAT
    | HUMIDISTAT
    | {"stage_2_over": 4.5, "reheat_below": 1.2, "reheat_deadband": 0.6, "strips_below": 0.8},
    "with_dehumidifier": THERMOSTAT | HUMIDISTAT,
}
COOLING = ms.Cooling(
    stages=[
        ms.Stage(capacity="20000 Btu/h", airflow="620 cfm", cop=4.2, shr=0.73),
        ms.Stage(capacity="30000 Btu/h", airflow="900 cfm", cop=3.9, shr=0.74),
    ]
)
SHARED: dict[str, Any] = {
    "cooling": COOLING,
    "strips": ms.Strips(stages=["5 kW", "5 kW"]),
    "dehumidifier": ms.Dehumidifier(capacity="70 pint/day"),
    "ventilation": ms.Ventilation(kind="supply", airflow="80 cfm"),
    "hot_gas": ms.HotGas(),
}
PLAIN = ms.House(floor_area="2000 ft2", ach50=2.0)
CRAWL = ms.House(
    floor_area="1500 ft2",
    ach50=6.0,
    crawl_space=ms.CrawlSpace(),
    ducts=ms.Ducts(location="crawl space", supply_leakage=0.08, return_leakage=0.08),
)
ATTIC = ms.House(
    floor_area="1800 ft2",
    ach50=4.0,
    ducts=ms.Ducts(location="attic", supply_leakage=0.1, closed_door_flow=0.02),
)
FAULTS = (
    ms.faults.LostMessages(probability=0.3, link="calls"),
    ms.faults.FailedBlower(start="07-10 15:00", lasts="50 min"),
    ms.faults.WeldedStrips(start="07-12 15:20", lasts="2 h"),
    ms.faults.PowerCut(start="07-14 09:00", lasts="30 min", controls_after="10 min"),
)


def seasons() -> Iterator[tuple[str, ms.Season]]:
    """Every built-in strategy in three climates, and what else a plant may have."""
    heat_pump = ms.Equipment(**SHARED, heating=ms.HeatPump(capacity="24000 Btu/h"))
    furnace = ms.Equipment(**SHARED, furnace=ms.Furnace(capacity="50 kBtu/h"))
    for place in ("miami", "greensboro", "sand_point"):
        weather = ms.Weather.sample(place)

        def run(
            house: ms.House,
            machines: ms.Equipment,
            strategy: ms.Strategy,
            weather: ms.Weather = weather,
            **changes: Any,
        ) -> ms.Season:
            return ms.simulate(
                house, machines, strategy, weather, start="04-20", end="08-20", **changes
            )

        for name, strategy in ms.strategies.BUILT_IN.items():
            yield f"{place} {name}", run(PLAIN, heat_pump, strategy(**SETTINGS[name]))
        reheat = ms.strategies.staged_reheat(**SETTINGS["staged_reheat"])
        additions = sum(ms.strategies.ADDITIONS.values(), start=reheat)
        additions = additions(humidity_deadband=HUMIDISTAT["humidity_deadband"])
        yield f"{place} additions", run(PLAIN, heat_pump, additions)
        yield f"{place} ducts in attic", run(ATTIC, heat_pump, reheat)
        yield f"{place} crawl space, furnace", run(CRAWL, furnace, reheat)
        yield f"{place} faults", run(PLAIN, heat_pump, reheat, faults=FAULTS)


def checksum(numbers: Any) -> str:
    """The first digits of a digest of floats."""
    return hashlib.sha256(np.ascontiguousarray(numbers, dtype=float).tobytes()).hexdigest()[:16]


def totals(meter: Any) -> list[float]:
    """All that a meter adds up and that is not zero."""
    found: list[float] = []
    for name in ("kwh", "runtime_h", "starts", "water_kg", "humidity", "comfort_h"):
        found += [float(value) for value in getattr(meter, name)]
    found += [*meter.peak_kw["kW"].astype(float), float(meter.gas_kwh)]
    return [value for value in found if value != 0.0]


if __name__ == "__main__":
    for label, season in seasons():
        numbers = season.hourly.select_dtypes("number").sort_index(axis="columns")
        hourly = numbers.loc[:, (numbers != 0.0).any()].to_numpy()
        print(
            f"{label:36s} {checksum(hourly)} {checksum(totals(season.meter))} "
            f"{season.meter.total_kwh:12.6f}",
            flush=True,
        )
