"""`moistsim study`: the options of a scenario compared over a season."""

import argparse
import contextlib
import re
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from moistsim.commands.screen import WIDTH, foot, head, one_day, title, told
from moistsim.commands.study_files import write, write_report
from moistsim.commands.study_words import (
    air_leakage,
    at_goal,
    in_other_years,
    over_the_years,
    refusals,
    reheat_heat,
    reviews,
    spaces,
    table,
    three_lines,
    verdict,
)
from moistsim.core.display import Show, Units
from moistsim.core.errors import InputError, Problem
from moistsim.core.files import LIST, added, check_folder, whole_folder
from moistsim.core.whole_numbers import case_count
from moistsim.risk import space_risk
from moistsim.scenario import DEMO, Scenario, ScenarioError, read_scenario

if TYPE_CHECKING:
    from moistsim.advice import Advice
    from moistsim.uncertainty import Certainty


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    study = commands.add_parser(
        "study",
        help="compare the options of a scenario over a season",
        description="Compare the options of a scenario over a season. The answer and its details appear on "
        "the screen. "
        "A new folder, or one of an earlier run, receives report.html (one page for the customer), table.csv, hourly results (SI "
        "units), figures and the scenario as run.",
    )
    study.add_argument(
        "scenario", nargs="?", type=Path, metavar="SCENARIO.toml",
        help="the scenario file; default: the demo, an invented house",
    )  # fmt: skip
    study.add_argument(
        "--out", type=Path, metavar="DIR",
        help="folder for the results; default: moistsim- and the scenario's file name, here",
    )  # fmt: skip
    study.add_argument(
        "--units", choices=("us", "si"), default="us",
        help="units of screen, page, table.csv and figures: trade units or SI; default: us",
    )  # fmt: skip
    study.add_argument(
        "--sources", action="store_true",
        help="also write the sources of water and electricity; takes about four times as long",
    )  # fmt: skip
    study.add_argument(
        "--pdf", action="store_true",
        help="also print report.pdf on Letter (us) or A4 (si); needs Chromium",
    )  # fmt: skip
    study.add_argument(
        "--sure", type=int, metavar="N",
        help="also calculate how certain the verdict is, from N cases (such as 256) within the "
        "scenario's ranges, and within usual ones where it has none; each case runs all options",
    )  # fmt: skip
    study.add_argument(
        "--only-ranges", action="store_true",
        help="count only the scenario's ranges as uncertain: no usual ones for humidity setpoint, "
        "sensor, deadbands, fan-off delay, ventilation, machines, house, weather and prices",
    )  # fmt: skip
    study.add_argument(
        "--brief", action="store_true",
        help="print only the answer in three lines and the folder of the results",
    )  # fmt: skip
    study.add_argument("--quiet", action="store_true", help="print nothing but errors")
    study.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> None:
    """Run the options, print the answer and its details, and write the folder whole or not at all."""
    path, quiet = chosen.scenario, chosen.quiet

    def say(text: str = "") -> None:
        if not quiet:
            print(text)

    def detail(text: str = "") -> None:
        if not chosen.brief:
            say(text)

    program = _printer() if chosen.pdf else None
    scenario = read_scenario(path or DEMO)
    if chosen.sure is not None:
        _check_sure(scenario, chosen.sure, only_ranges=chosen.only_ranges)
    out = chosen.out or Path(f"moistsim-{scenario.path.stem}")
    target = out / "scenario.toml"
    if target.exists() and target.samefile(scenario.path):
        raise ScenarioError(
            f"--out {out}",
            Problem("the scenario as run would overwrite the scenario in this folder"),
            "another folder",
        )
    before = check_folder(out, f"--out {out}")
    with told(quiet=quiet):
        _check_runs(scenario)
    if path is None:
        detail("No scenario given: running the demo, an invented house.\n")
    if before:
        detail("\n".join(textwrap.wrap(f"{out} {before}.", WIDTH)) + "\n")
    # Created before the run: a folder that cannot be created costs no result.
    with whole_folder(out) as folder:
        written = _run(chosen, scenario, folder, program, say, detail)
    place = f"Results in {out}" + (", in place of an earlier run's" if before else "")
    if chosen.brief:
        say(place)
    detail(f"{place}:")
    for name, words in written:
        detail(f"  {name}: {words}" if name and words else f"  {name or words}")
    detail(f"  {LIST}: list of these files; the next run replaces them, and no others")
    for name in added(out) if not quiet else ():
        detail(f"  {name}: from before this run")


def _run(
    chosen: argparse.Namespace,
    scenario: Scenario,
    folder: Path,
    program: str | None,
    say: Callable[[str], None],
    detail: Callable[[str], None],
) -> list[tuple[str, str]]:
    """Run the options, print the answer, and fill the folder: names of its files, and their contents."""
    units, quiet = chosen.units, chosen.quiet
    detail("\n".join(title(scenario)) + "\n")
    with told(quiet=quiet), _in_the_file(scenario):
        comparison = scenario.study.run(progress=not quiet)
    # Figures take a while to import: what is wrong with a scenario is said before.
    from moistsim.report import answer, conclude

    found = conclude(scenario, comparison, units=units, progress=not quiet)
    advice, bought = found.advice, found.advice.bought
    certainty = budget = None
    if bought is not None and len(bought.options) > 1:
        how: dict[str, Any] = {"stand_ins": not chosen.only_ranges, "progress": not quiet}
        certainty, budget = _sure(scenario, advice, chosen.sure, units, **how)
    say(
        "\n".join(three_lines(answer(advice, budget, certainty, found.over, show=Show(units))))
        + "\n"
    )
    detail("\n".join(head(scenario, units)) + "\n")
    for line in reviews(scenario):
        detail(line)
    detail("\n".join(table(comparison, units)) + "\n")
    detail("\n".join(at_goal(advice, units)) + "\n")
    detail("\n".join(air_leakage(comparison, units)) + "\n")
    advised = space_risk(advice.season(advice.best), scenario.risk_basis, "si")
    if lines := [*spaces(found.spaces, advised)]:
        detail("\n".join(lines) + "\n")
    if bought is not None:
        detail("\n".join(over_the_years(bought)) + "\n")
    if found.over is not None:
        detail("\n".join(in_other_years(found.over)) + "\n")
    if budget is not None:
        detail("\n".join(verdict(budget, certainty)) + "\n")
    if chosen.sources:
        detail("\n".join(reheat_heat(comparison)) + "\n")
    for line in (*refusals(comparison), *foot()):
        detail(line)
    detail("")
    written = [*write(scenario, found, budget, certainty, folder, units, chosen.sources)]
    listed = [(name, words) for name, words in written if name]
    return [
        *written,
        *write_report(scenario, found, budget, certainty, folder, units, listed, program),
    ]


@contextlib.contextmanager
def _in_the_file(scenario: Scenario) -> Iterator[None]:
    """Errors of a run name the scenario's file."""
    try:
        yield
    except InputError as error:
        where = error.where.replace("simulate step", "[season] step")
        where = re.sub(r"Study\.options\[(['\"])(.*)\1\]", r'[options."\2"]', where)
        raise InputError(
            f"{scenario.path.name} {where}", error.found, error.accepted, error.problem
        ) from None


def _check_runs(scenario: Scenario) -> None:
    """Refuse what a run would refuse, by a run of one day: before the folder, and before the bar."""
    with _in_the_file(scenario):
        one_day(scenario.study).run(progress=False)


def _printer() -> str:
    from moistsim.report import browser

    return browser()


def _check_sure(scenario: Scenario, cases: int, *, only_ranges: bool) -> None:
    """Refuse a scenario without the inputs for an uncertainty, before any run.

    Raises
    ------
    ScenarioError
    """
    from moistsim.uncertainty import FEWEST

    case_count(cases, "--sure", at_least=FEWEST)
    if not scenario.purchases:
        accepted = "purchases: a first_cost for each option"
        raise ScenarioError(f"{scenario.path.name} --sure", Problem("no purchases"), accepted)
    if only_ranges and not scenario.ranges:
        raise ScenarioError(
            f"{scenario.path.name} --sure --only-ranges",
            Problem("no value has a range"),
            "numbers with ±, such as ach50 = '2.0 ± 0.4', or { low = ..., high = ... }; or --sure "
            "without --only-ranges",
        )


def _sure(
    scenario: Scenario,
    advice: "Advice",
    cases: int | None,
    units: Units,
    *,
    stand_ins: bool,
    progress: bool,
) -> "tuple[Certainty | None, pd.DataFrame]":
    """Cases in which the more expensive of the two options pays back, if requested, and the error budget."""
    from moistsim.uncertainty import advised, error_budget, how_sure

    of = advised(advice, scenario.ranges, scenario.draws)
    what = (of.study, of.purchases, of.terms, of.ranges)
    how: dict[str, Any] = {
        "options": of.options, "as_set": of.as_set, "executor": "processes", "stand_ins": stand_ins,
        "measured": of.measured,
        "progress": progress,
    }  # fmt: skip
    certainty = how_sure(*what, n=cases, **how) if cases is not None else None
    return certainty, error_budget(*what, units=units, **how)
