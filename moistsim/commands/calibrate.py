"""`moistsim calibrate`: a house fitted to the log of its loggers."""

import argparse
import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from moistsim.commands.screen import WIDTH, title, told
from moistsim.core.display import Units, number
from moistsim.core.errors import InputError, Problem
from moistsim.core.files import write_whole
from moistsim.scenario import (
    ScenarioError,
    measured_scenario,
    read_log,
    write_draws,
    write_scenario,
)
from moistsim.uncertainty import MeasuredHouse

if TYPE_CHECKING:
    from moistsim.calibration import Fit
    from moistsim.scenario import Scenario

HOUSE, DRAWS, PAGE = "house.toml", "draws.json", "calibration.html"
HEAD = (
    "# {} with the values that its log gave. They are listed as measured. low and high hold 90 % of what the "
    "log allows for each alone.\n# What the log knows only together stands in {}: a study with --sure uses that file.\n\n"
)


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    calibrate = commands.add_parser(
        "calibrate",
        help="fit a house to the log of its loggers, and say what the log tells",
        description="Fit a house to the log of its loggers. The screen says what the log tells, what only "
        "as a ratio and what not at all, and how good the prediction is. A folder receives house.toml with "
        "the measured values, draws.json with the sets of values that fit equally well, and "
        "calibration.html, the page. The scenario's table [log] says how to read the file.",
    )
    calibrate.add_argument("scenario", type=Path, metavar="HOUSE.toml", help="the scenario")
    calibrate.add_argument(
        "log", type=Path, metavar="LOG.csv", help="the log, which may be gzipped"
    )
    calibrate.add_argument(
        "--out", type=Path, metavar="DIR",
        help="folder for the results; default: moistsim-measured- and the scenario's file name, here",
    )  # fmt: skip
    calibrate.add_argument(
        "--units", choices=("us", "si"), default="us", help="trade units or SI; default: us"
    )
    calibrate.add_argument(
        "--blind", type=float, default=0.3, metavar="SHARE",
        help="share of the log, at its end, that the fit does not see; default: 0.3",
    )  # fmt: skip
    calibrate.add_argument(
        "--free", action="store_true",
        help="predict the indoor temperature too, in place of following the measured one; always so for an air "
        "conditioner without a column power.compressor",
    )  # fmt: skip
    calibrate.add_argument("--seed", type=int, default=0, help="seed of the draws; default: 0")
    calibrate.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> None:
    """Fit the house, print what the log tells, and write the files."""
    from moistsim.calibration import calibrate, tells_machines

    out = chosen.out or Path(f"moistsim-measured-{chosen.scenario.stem}")
    if out.exists() and (
        not out.is_dir() or {each.name for each in out.iterdir()} - {HOUSE, DRAWS, PAGE}
    ):
        raise ScenarioError(
            f"--out {out}", Problem("it exists and holds other things"), "a new folder"
        )
    scenario, option, log = read_log(chosen.scenario, chosen.log)
    for line in title(scenario):
        print(line)
    print(f"\n{log.review()}\n", flush=True)
    own = scenario.study.resolved[option]
    priors = {
        name: of
        for name, of in scenario.ranges.items()
        if name.startswith(("house.", "equipment."))
    }
    follows = tells_machines(own.equipment, log)
    if not follows:
        for line in textwrap.wrap(
            "The fit predicts the indoor temperature too, because the log does not tell when the air "
            "conditioner ran. Log its power as power.compressor to follow the measured temperature.",
            WIDTH,
        ):
            print(line)
    try:
        with told():
            fit = calibrate(
                own.house, own.equipment, log, priors, impose=follows and not chosen.free, blind=chosen.blind,
                strategy=own.strategy, seed=chosen.seed,
            )  # fmt: skip
    except InputError as error:
        where = error.where.replace("calibrate blind", "--blind").replace("calibrate ", "")
        raise InputError(
            f"{scenario.path.name} {where}", error.found, error.accepted, error.problem
        ) from None
    for line in lines(fit, chosen.units):
        print(line)
    out.mkdir(parents=True, exist_ok=True)
    for name, words in write(fit, scenario, out, chosen.units):
        print(f"{out / name}: {words}")


def lines(fit: "Fit", units: Units) -> Iterator[str]:
    """What the log tells, and how good the prediction is, as lines for the screen."""
    from moistsim.calibration import RATIO

    factor, unit = RATIO[units]
    for sentence in str(fit.identified(units)).splitlines():
        yield from textwrap.wrap(sentence, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    yield ""
    yield f"{'Prediction of the humidity ratio':36}{'RMSE':>10}{'bias':>10}{'CV(RMSE)':>11}{'NMBE':>9}{'skill':>9}{'in band':>10}"
    yield f"{'':36}{unit:>10}{unit:>10}{'%':>11}{'%':>9}{'%':>9}{'%':>10}"
    for key, row in fit.table().iterrows():
        part, period = cast(tuple[str, str], key)
        cells = (
            (number(factor * row["rmse_g_kg"], 2), 10),
            (number(factor * row["bias_g_kg"], 2), 10),
            (number(row["cv_rmse_pct"], 1), 11),
            (number(row["nmbe_pct"], 1, sign=True), 9),
            (number(100.0 * row.filter(like="skill_over_").min()), 9),
            (number(row["coverage_pct"]), 10),
        )
        yield f"{f'{part} part, by the {period}':36}" + "".join(f"{text:>{w}}" for text, w in cells)
    text = (
        "skill: part of the error of the best of three simple rules that the model saves. in band: hours in the "
        f"90 % band. {len(fit.draws)} draws of {len(fit.members)} model structures; {fit.seconds:.0f} s."
    )
    yield from textwrap.wrap(text, WIDTH)
    yield ""


def write(fit: "Fit", scenario: "Scenario", out: Path, units: Units) -> Iterator[tuple[str, str]]:
    """Write the files, and yield each file's name and content."""
    from moistsim.calibration import page

    measured = MeasuredHouse.of(fit)
    best = fit.best
    number_of = next(
        k for k, (_, row) in enumerate(fit.draws.iterrows()) if row.dropna().to_dict() == best
    )
    write_draws(measured, out / DRAWS)
    yield DRAWS, "joint draws of the measured values"
    found = measured_scenario(scenario, measured, number_of, out / DRAWS)
    write_scenario(found, out / HOUSE, HEAD.format(scenario.path.name, DRAWS))
    yield HOUSE, "the scenario with the measured values and their bands"
    write_whole(out / PAGE, page(fit, scenario.name, units).encode())
    yield PAGE, "the page: what the loggers say about the house"
