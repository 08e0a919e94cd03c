"""`moistsim watch`: a house's log against its fitted model, run again each day."""

import argparse
from pathlib import Path
from typing import Any

from moistsim.commands.screen import item


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    watch = commands.add_parser(
        "watch",
        help="compare a house's log with its fitted model, each day",
        description="Fit a house to the first weeks of its log, and compare each later day with the fit. Run it again each "
        "day by whatever schedules it: new rows are added, the next day's humidity is predicted with its band, and one "
        "sentence says when the house has changed, for how long, and what kind of fault looks like it. The fit is "
        "repeated in each run, which takes about a minute.",
    )
    watch.add_argument(
        "scenario", type=Path, metavar="HOUSE.toml", help="the scenario file, with a table [log]"
    )
    watch.add_argument(
        "log", type=Path, metavar="LOG.csv", help="the loggers' file, whole or the newest rows"
    )
    watch.add_argument(
        "--out", type=Path, metavar="DIR",
        help="folder with the rows kept so far; default: moistsim-watch- and the scenario's name, here",
    )  # fmt: skip
    watch.add_argument(
        "--forecast", type=Path, metavar="FILE",
        help="weather file with the next day; default: the last day's weather once more",
    )  # fmt: skip
    watch.add_argument(
        "--false-alarms",
        type=float,
        default=0.5,
        metavar="N",
        help="false alarms accepted a year; default: 0.5",
    )
    watch.add_argument(
        "--units", choices=("us", "si"), default="us", help="trade units or SI; default: us"
    )
    watch.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> None:
    """Add the new rows, fit, watch, and print what is found."""
    from moistsim.calibration import calibrate
    from moistsim.scenario import read_log
    from moistsim.watching import Keeping, held, watch
    from moistsim.weather import Weather

    scenario, option, log = read_log(chosen.scenario, chosen.log)
    keeping = Keeping(chosen.out or Path(f"moistsim-watch-{chosen.scenario.stem}"))
    forecast = Weather.read(chosen.forecast) if chosen.forecast else None
    log = keeping.with_new_rows(log)
    part = keeping.part_to_fit(log)
    machines, strategy, house = scenario.study.resolved[option]
    fit = calibrate(house, machines, part, strategy=strategy, blind=0.0)
    seen = watch(fit, log, false_alarms_a_year=chosen.false_alarms, forecast=forecast)
    keeping.write_days(seen.days)
    inside, known = held(keeping.add_prediction(seen.tomorrow), log)
    first, last = (f"{part.frame.index[row]:%Y-%m-%d}" for row in (0, -1))
    print(seen.sentence(chosen.units))
    print(seen.forecast_sentence(chosen.units))
    if known:
        print(f"Of {known} predictions so far, {inside} held ({100 * seen.level:.0f} % should).")
    for text in (
        f"Fitted to {first} to {last}. Rows, days and predictions in {keeping.folder}.",
        *seen.notes,
    ):
        print("\n".join(item(text)))
