"""`moistsim sequence`: the wall sheet of one option of a scenario."""

import argparse
from pathlib import Path
from typing import Any

from moistsim.commands.screen import foot, plain, told
from moistsim.core.errors import Problem, one_of
from moistsim.core.files import write_whole
from moistsim.scenario import Scenario, ScenarioError, advice_on, read_scenario
from moistsim.study import Study


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    sequence = commands.add_parser(
        "sequence",
        help="write an option's sequence of operation, a sheet to post next to the air handler",
        description="Write a sheet for an option of a scenario: HTML that prints on both sides of one "
        "piece of paper, Letter for US units and A4 for SI. Front: settings, setpoints, delays, "
        "equipment state by situation, a day's timing. Back: equipment installed, checks, "
        "readings to expect, winter heating, and cautions. A rule table with many findings needs a third "
        "page.",
    )
    sequence.add_argument("scenario", type=Path, metavar="SCENARIO.toml", help="the scenario")
    sequence.add_argument(
        "option", nargs="?", metavar="OPTION",
        help="name of one of its options; default: the advised one, which may be a proposed machine",
    )  # fmt: skip
    sequence.add_argument(
        "--as-set", action="store_true",
        help="print the settings of the file; default: the advised ones, at the owner's goal",
    )  # fmt: skip
    sequence.add_argument(
        "--units", choices=("us", "si"), default="us", help="trade units or SI; default: us"
    )
    sequence.add_argument(
        "--out", type=Path, metavar="FILE.html",
        help="the page; default: sequence- and the option's name, here",
    )  # fmt: skip
    for name, example in (
        ("outdoor", "'95 °F'"),
        ("outdoor-rh", "'45 %%'"),
        ("indoor", "'75 °F'"),
        ("indoor-rh", "'50 %%'"),
    ):
        sequence.add_argument(
            f"--{name}", metavar="READING",
            help=f"reading {'outdoors' if 'out' in name else 'in the return air'}; default: {example}",
        )  # fmt: skip
    sequence.add_argument(
        "--day", metavar="MM-DD", help="day of the timing picture; default: a mild, humid day"
    )
    sequence.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> None:
    """Run the simulations for the sheet, and write it."""
    from moistsim.machine_checks import today
    from moistsim.sheet import check_day, gather, page

    scenario = read_scenario(chosen.scenario)
    options = scenario.study.options
    if chosen.option is not None and chosen.option not in options:
        raise ScenarioError(
            f"{scenario.path.name} OPTION", chosen.option, one_of(chosen.option, options)
        )
    if chosen.as_set and chosen.option is None:
        accepted = "the name of an option: " + ", ".join(map(repr, options))
        raise ScenarioError("--as-set", Problem("no OPTION"), accepted)
    if chosen.out is not None:
        _check_file(chosen.out)
    check_day(scenario.study, chosen.day)
    readings = today(
        outdoor=chosen.outdoor,
        outdoor_rh=chosen.outdoor_rh,
        indoor=chosen.indoor,
        indoor_rh=chosen.indoor_rh,
    )
    with told():
        study, option, note = _settled(scenario, chosen)
        sheet = gather(
            study,
            option,
            name=scenario.name,
            note=scenario.remarks,
            today=readings,
            units=chosen.units,
            day=chosen.day,
            settings_note=note,
        )
    out = chosen.out or Path(f"sequence-{plain(option)}".rstrip("-") + ".html")
    _check_file(out)
    write_whole(out, page(sheet).encode())
    print(f"{out}: {sheet.option}, for {sheet.today}")
    for line in foot():
        print(line)


def _settled(scenario: Scenario, chosen: argparse.Namespace) -> tuple[Study, str, str]:
    """The study with the settings to print, the option, and where the settings come from."""
    from moistsim.sheet import AS_IN_THE_FILE

    if chosen.as_set:
        return scenario.study, chosen.option, AS_IN_THE_FILE
    advice = advice_on(scenario, units=chosen.units)
    option = chosen.option or advice.best
    return advice.at_goal.study, option, advice.settings_words(option, chosen.units)


def _check_file(out: Path) -> None:
    """Refuse a place for the page that cannot be written.

    Raises
    ------
    ScenarioError
    """
    if out.is_dir():
        raise ScenarioError(
            f"--out {out}", Problem("this is a folder"), "a file whose name ends in .html"
        )
    if out.suffix.lower() not in (".html", ".htm"):
        raise ScenarioError(
            f"--out {out}", Problem("another kind of file name"), "a name that ends in .html"
        )
    if not out.parent.is_dir():
        raise ScenarioError(
            f"--out {out}", Problem("no such folder"), "a file in a folder that exists"
        )
