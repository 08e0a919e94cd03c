"""Short runs that together put every part of the loop to work."""

from typing import Any

from support.houses import house
from support.machines import machines, two_stage
from support.weathers import sample

import moistsim as ms

CASES = {
    "miami staged_reheat": ("miami", "staged_reheat", "07-10", "07-11"),
    "miami with_dehumidifier": ("miami", "with_dehumidifier", "07-10", "07-10"),
    "miami additions": ("miami", "staged_reheat", "07-10", "07-10"),
    "miami own controls": ("miami", "temperature_only", "07-10", "07-10"),
    "miami leaks": ("miami", "temperature_only", "07-10", "07-10"),
    "miami between stages": ("miami", "temperature_only", "07-10", "07-10"),
    "miami faults": ("miami", "staged_reheat", "07-10", "07-11"),
    "sand_point heating": ("sand_point", "temperature_only", "01-15", "01-15"),
}

MACHINES = {
    "miami own controls": machines(
        ventilation=ms.Ventilation(
            kind="central", airflow=0.1, least_run="20 min", lockout_dew_point=25.0
        ),
        dehumidifier=ms.Dehumidifier(
            capacity="70 pint/day", humidistat=50.0, bucket=4.0, defrost_below=25.0
        ),
    ),
    "miami between stages": machines(cooling=two_stage(modulation="variable")),
    "miami faults": machines(
        sensor=ms.Sensor(
            humidity_noise="2 %",
            temperature_resolution="0.1 K",
            report_every="4 min",
            place="return",
        ),
        outdoor_sensor=ms.Sensor(place="outdoors", humidity_offset="5 %"),
        enable=ms.Enable(),
    ),
}

FAULTS = {
    "miami faults": (
        ms.faults.LostMessages(probability=0.3, link="calls"),
        ms.faults.LateMessages(by="7 min"),
        ms.faults.FailedBlower(start="07-10 15:00", lasts="50 min"),
        ms.faults.WeldedStrips(start="07-10 15:20", lasts="2 h"),
        ms.faults.PowerCut(start="07-11 09:00", lasts="30 min", controls_after="10 min"),
    )
}

HOUSES = {
    "miami leaks": house(
        leakage=ms.Leakage(flue_share=0.1, terrain="suburbs"),
        ducts=ms.Ducts(location="attic", supply_leakage=0.1, closed_door_flow=0.02),
        exhausts=ms.Exhausts(dryer=ms.ExhaustFan(airflow="150 cfm", runtime="50 min")),
    )
}


def results() -> dict[str, Any]:
    """The hourly table of each case, as lists, beside what ran it."""
    tables: dict[str, Any] = {"compiled": hasattr(ms.Calls, "signatures")}
    for name, (place, strategy, start, end) in CASES.items():
        control = ms.strategies.BUILT_IN[strategy]
        if name == "miami additions":
            control = sum(ms.strategies.ADDITIONS.values(), start=control)
        season = ms.simulate(
            HOUSES.get(name, house()), MACHINES.get(name, machines()), control, sample(place),
            start=start, end=end, spin_up=0, faults=FAULTS.get(name, ()),
        )  # fmt: skip
        tables[name] = {column: list(values) for column, values in season.hourly.items()}
    return tables
