"""The command line: a scenario in, a table on the screen, a folder of results out."""

import argparse
import json
import re
import sys
import textwrap
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import attrs
import pandas as pd

from moistsim.economics import Economics, economics
from moistsim.meter import END_USES
from moistsim.review import review
from moistsim.scenario import (
    DEMO,
    Scenario,
    ScenarioError,
    read_scenario,
    write_scenario,
)
from moistsim.season import package_version
from moistsim.strategies import RuleTable
from moistsim.study import Comparison, Units
from moistsim.sweep import SweepError
from moistsim.units import InputError, from_si, one_of

if TYPE_CHECKING:
    from moistsim.certainty import Certainty
    from moistsim.sweep_file import SweepFile

WIDTH = 100
"""Columns of the screen that a text may fill."""

_LABEL, _OPTIONS_ABREAST = 34, 4

CAUTIONS = (
    "These are a model's estimates, not a design or a quotation. Before anything is bought or "
    "wired: local codes and licensed trades come first.",
    "Strips are mains voltage and controls are low-voltage wiring: keep the two apart, and let an "
    "electrician touch the first. Strips and compressor that draw at once may exceed the breaker "
    "and the wire sizes of either alone.",
    "Heat without airflow burns: strips need proof of airflow and their own limit switches.",
    "Long humid hours grow mould, and a cold supply or an overcooled room can sweat; where there "
    "is mould already, find its water first.",
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        By default those of the process.

    Returns
    -------
    int
        Exit code: 0, or 2 with one sentence on stderr if the input cannot be used.
    """
    for stream in (sys.stdout, sys.stderr):
        # A console's encoding may lack a letter of a scenario's name: show a mark in its place.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    chosen = _parser().parse_args(arguments)
    try:
        chosen.run(chosen)
    except (InputError, OSError) as error:
        print(f"moistsim: {_sentence(error)}", file=sys.stderr)
        return 2
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="moistsim",
        description="How humid a house gets, hour by hour, and what each way of drying it costs.",
    )
    parser.add_argument(
        "--version", action="version", version=f"moistsim {package_version('moistsim')}"
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    study = commands.add_parser(
        "study",
        help="compare the options of a scenario over a season",
        description="Compare the options of a scenario over a season. A table goes to the screen; "
        "report.html (one page for the customer), table.csv, hourly results (SI units), figures and the "
        "scenario as run go to a folder.",
    )
    study.add_argument(
        "scenario", nargs="?", type=Path, metavar="SCENARIO.toml",
        help="the scenario; left out, the demo, an invented house",
    )  # fmt: skip
    study.add_argument(
        "--out", type=Path, metavar="DIR",
        help="folder for the results; left out, moistsim- and the scenario's file name, here",
    )  # fmt: skip
    study.add_argument(
        "--units", choices=("us", "si"), default="us",
        help="trade units (the default) or SI, for screen, table.csv and figures",
    )  # fmt: skip
    study.add_argument(
        "--sources", action="store_true",
        help="also where each litre and each kWh came from, which takes some four times as long",
    )  # fmt: skip
    study.add_argument(
        "--pdf", action="store_true",
        help="also report.pdf, on Letter (us) or A4 (si), printed by Chromium where there is one",
    )  # fmt: skip
    study.add_argument(
        "--sure", type=int, metavar="N",
        help="also how sure the verdict is: N cases within the scenario's ranges (such as 256), each "
        "a run of all options, and what each source of error brings",
    )  # fmt: skip
    study.add_argument("--quiet", action="store_true", help="print nothing but errors")
    study.set_defaults(run=_study)
    weather = commands.add_parser(
        "weather",
        help="fetch a typical weather year of a place from the internet",
        description="Fetch a typical weather year of a place from the European Commission's PVGIS "
        "service, and write it as a weather file. It covers most land, and asks for no account.",
    )
    weather.add_argument("latitude", type=float, metavar="LAT", help="degrees, north positive")
    weather.add_argument("longitude", type=float, metavar="LON", help="degrees, east positive")
    weather.add_argument("--out", type=Path, metavar="FILE", required=True, help="a new file")
    weather.add_argument(
        "--utc-offset", type=float, metavar="HOURS",
        help="local standard time less UTC; left out, the longitude's own hour",
    )  # fmt: skip
    weather.add_argument("--name", default="", help="name of the place, for titles")
    weather.add_argument(
        "--timeout", type=float, default=60.0, metavar="SECONDS", help="left out, 60"
    )
    weather.set_defaults(run=_weather)
    _add_sequence(commands)
    _add_sweep(commands)
    _add_size(commands)
    return parser


def _add_size(commands: Any) -> None:
    size = commands.add_parser(
        "size",
        help="design loads, what is left to dry, and what size of machine that asks for",
        description="Design loads by source at the humid and the hot condition and on a mild day, "
        "what the air conditioner dries by itself, and sizes: of a dehumidifier, of the air "
        "conditioner, of strips for reheat with their circuit.",
    )
    size.add_argument("scenario", type=Path, metavar="SCENARIO.toml", help="the scenario")
    size.add_argument(
        "--units", choices=("us", "si"), default="us", help="trade units (the default) or SI"
    )
    for name, words in (("indoor", "temperature"), ("indoor-rh", "relative humidity")):
        size.add_argument(
            f"--{name}", metavar="SET-POINT",
            help=f"{words} that the room is to have; left out, the set-point of the option that dries",
        )  # fmt: skip
    size.add_argument("--figure", type=Path, metavar="FILE", help="also as a picture, png or svg")
    size.set_defaults(run=_size)


def _size(chosen: argparse.Namespace) -> None:
    from moistsim.sizing import size
    from moistsim.sizing.picture import sizing_figure
    from moistsim.sizing.words import CAUTIONS as OF_SIZES
    from moistsim.sizing.words import lines

    scenario = read_scenario(chosen.scenario)
    out = chosen.figure
    if out is not None and out.suffix.lower() not in (".png", ".svg", ".pdf"):
        raise ScenarioError(f"--figure {out}", "another kind of file", "a name that ends in .png")
    if out is not None and not out.parent.is_dir():
        raise ScenarioError(f"--figure {out}", "no such folder", "a file in a folder that exists")
    try:
        with _told_of_compiling():
            sizing = size(scenario.study, temperature=chosen.indoor, rh=chosen.indoor_rh)
    except InputError as error:
        where = error.where
        for ours, theirs in (
            ("size temperature", "--indoor"), ("size rh", "--indoor-rh"), ("size", ""),
            ("simulate step", "[season] step"),
        ):  # fmt: skip
            where = where.replace(ours, theirs)
        raise InputError(
            f"{scenario.path.name} {where.strip()}", error.found, error.accepted
        ) from None
    for line in (*_head(scenario, chosen.units), "", *lines(sizing, chosen.units), "", "Cautions:"):
        print(line)
    for caution in (*OF_SIZES, *CAUTIONS):
        for line in _item(caution):
            print(line)
    if out is not None:
        sizing_figure(sizing, chosen.units).savefig(out, dpi=150)
        print(f"\n{out}: loads and sizes as a picture")


def _add_sequence(commands: Any) -> None:
    sequence = commands.add_parser(
        "sequence",
        help="the sheet for the wall beside the air handler: an option's sequence of operation",
        description="Write one page (HTML that prints on Letter and A4) for an option of a "
        "scenario: set-points, which call when, a day's timing, waits, what the gauges should show "
        "at the readings entered, winter heat, and the cautions.",
    )
    sequence.add_argument("scenario", type=Path, metavar="SCENARIO.toml", help="the scenario")
    sequence.add_argument("option", metavar="OPTION", help="name of one of its options")
    sequence.add_argument(
        "--units", choices=("us", "si"), default="us", help="trade units (the default) or SI"
    )
    sequence.add_argument(
        "--out", type=Path, metavar="FILE.html",
        help="the page; left out, sequence- and the option's name, here",
    )  # fmt: skip
    for name, example in (
        ("outdoor", "'95 degF'"),
        ("outdoor-rh", "'45 %%'"),
        ("indoor", "'75 degF'"),
        ("indoor-rh", "'50 %%'"),
    ):
        sequence.add_argument(
            f"--{name}", metavar="READING",
            help=f"what the installer reads {'outdoors' if 'out' in name else 'in the return air'}; "
            f"left out, {example}",
        )  # fmt: skip
    sequence.add_argument(
        "--day", metavar="MM-DD", help="of the timing picture; left out, a mild, humid day"
    )
    sequence.set_defaults(run=_sequence)


def _sequence(chosen: argparse.Namespace) -> None:
    from moistsim.sequence import gather, page, today

    scenario = read_scenario(chosen.scenario)
    options = scenario.study.options
    if chosen.option not in options:
        raise ScenarioError(
            f"{scenario.path.name} OPTION", repr(chosen.option), one_of(chosen.option, options)
        )
    out = chosen.out or Path(f"sequence-{_plain(chosen.option)}".rstrip("-") + ".html")
    if out.is_dir():
        raise ScenarioError(f"--out {out}", "a folder", "a file whose name ends in .html")
    if out.suffix.lower() not in (".html", ".htm"):
        raise ScenarioError(f"--out {out}", "another kind of file", "a name that ends in .html")
    if not out.parent.is_dir():
        raise ScenarioError(f"--out {out}", "no such folder", "a file in a folder that exists")
    readings = today(
        outdoor=chosen.outdoor,
        outdoor_rh=chosen.outdoor_rh,
        indoor=chosen.indoor,
        indoor_rh=chosen.indoor_rh,
    )
    with _told_of_compiling():
        sheet = gather(
            scenario.study,
            chosen.option,
            name=scenario.name,
            note=scenario.note,
            today=readings,
            units=chosen.units,
            day=chosen.day,
        )
    out.write_text(page(sheet), encoding="utf-8", newline="\n")
    print(f"{out}: {sheet.option}, for {sheet.today}")
    for line in _foot():
        print(line)


def _weather(chosen: argparse.Namespace) -> None:
    from moistsim.weather_service import fetch_typical_year

    if chosen.out.exists():
        raise ScenarioError(f"--out {chosen.out}", "what is there already", "a new file")
    if not chosen.out.parent.is_dir():
        raise ScenarioError(
            f"--out {chosen.out}", "no such folder", "a file in a folder that exists"
        )
    if not chosen.timeout > 0.0:
        raise ScenarioError("--timeout", f"{chosen.timeout:g} s", "more than 0 s")
    weather = fetch_typical_year(
        chosen.latitude,
        chosen.longitude,
        utc_offset=chosen.utc_offset,
        name=chosen.name,
        timeout=chosen.timeout,
    )
    weather.write(chosen.out)
    print(f"{chosen.out}: {weather.name}, {len(weather)} hours at {weather.elevation:g} m")
    for text in (weather.source, *weather.notes):
        print("\n".join(_item(text)))


def _add_sweep(commands: Any) -> None:
    sweep = commands.add_parser(
        "sweep",
        help="run many cases of a scenario: other houses, weathers, machines and prices",
        description="Run all options of a scenario in many cases. Results are kept as they come; the "
        "same command with the same folder goes on where it was stopped.",
    )
    sweep.add_argument("sweep", type=Path, metavar="SWEEP.toml", help="the sweep")
    sweep.add_argument(
        "--out", type=Path, metavar="DIR", required=True,
        help="folder for the results: new, empty, or one that this sweep began",
    )  # fmt: skip
    sweep.add_argument("--workers", type=int, metavar="N", help="processes; left out, one a core")
    sweep.add_argument(
        "--units", choices=("us", "si"), default="us",
        help="of the screen, trade units (the default) or SI; files are in SI",
    )  # fmt: skip
    sweep.add_argument("--quiet", action="store_true", help="print nothing but errors")
    sweep.set_defaults(run=_sweep)


def _sweep(chosen: argparse.Namespace) -> None:
    from moistsim.sweep_file import read_sweep
    from moistsim.sweep_store import MANIFEST, write_whole

    out, workers, quiet = chosen.out, chosen.workers, chosen.quiet
    read = read_sweep(chosen.sweep)
    if workers is not None and workers < 1:
        raise ScenarioError("--workers", str(workers), "a number of processes, 1 or more")
    begun = (out / MANIFEST).exists()
    if not begun and out.exists() and (not out.is_dir() or any(out.iterdir())):
        found = "a folder that holds something else" if out.is_dir() else "a file"
        raise ScenarioError(
            f"--out {out}", found, "a new or empty folder, or one that this sweep began"
        )
    if begun and read.hourly and not _kept_hourly(out / MANIFEST):
        raise ScenarioError(
            f"--out {out}", "a sweep begun without hourly tables", "hourly = false, or a new folder"
        )
    if not quiet:
        for line in _sweep_head(read):
            print(line)
        print(f"Going on in {out}." if begun else f"Results are kept in {out} as they come.")
    how: dict[str, Any] = {"workers": workers, "progress": not quiet}
    executor: Any = "threads" if workers == 1 else "processes"
    try:
        # A day of each option, so that the code is compiled once and not by every worker.
        study = read.sweep.base
        first = study.weather.frame.index[study.weather.between(study.start, study.end)][0]
        day = f"{first:%Y-%m-%d}"
        with nullcontext() if quiet else _told_of_compiling():
            attrs.evolve(study, start=day, end=day).run(progress=False)
        if begun:
            frame = read.sweep.resume(out, executor, **how)
        else:
            frame = read.sweep.run(executor, out, hourly=read.hourly, **how)
    except KeyboardInterrupt:
        kept = "what is done is kept" if (out / MANIFEST).exists() else "nothing had run"
        print(f"\nmoistsim: stopped; {kept}, and the same command goes on", file=sys.stderr)
        raise SystemExit(130) from None
    except SweepError as error:
        print(f"moistsim: {error}. The same command goes on.", file=sys.stderr)
        raise SystemExit(1) from None
    except InputError as error:
        if error.where == "Sweep.resume":
            raise ScenarioError(f"--out {out}", str(error.found), error.accepted) from None
        where = error.where.replace("simulate step", "[season] step")
        raise InputError(
            f"{read.scenario.path.name} {where}", error.found, error.accepted
        ) from None
    write_whole(out / "results.csv", frame.to_csv(index=False, lineterminator="\n").encode())
    if quiet:
        return
    for line in (*_sweep_foot(frame, chosen.units), *_foot()):
        print(line)
    hourly = ["hourly: a table a case"] if (out / "hourly").is_dir() else []
    print(f"\nResults in {out}:")
    for line in (
        "results.csv: a row a case and option, in SI",
        "parts: the same as a Parquet dataset, as it came",
        *hourly,
        f"{MANIFEST}: versions, seed and checksums of what was put in",
    ):
        print(f"  {line}")


def _kept_hourly(manifest: Path) -> bool:
    try:
        return json.loads(manifest.read_text(encoding="utf-8")).get("hourly", False) is True
    except ValueError:
        return True  # Damaged, as the sweep itself will say.


def _sweep_head(read: "SweepFile") -> Iterator[str]:
    """What is varied, and how many cases and runs that is."""
    sweep, study = read.sweep, read.sweep.base
    yield from textwrap.wrap(read.name, WIDTH)
    yield from textwrap.wrap(read.note, WIDTH)
    yield ""
    for name, words in read.varied.items():
        yield from textwrap.wrap(f"{name}: {words}", WIDTH, subsequent_indent="    ")
    stamps = study.weather.frame.index[study.weather.between(study.start, study.end)]
    cases, options = len(sweep.cases()), len(study.options)
    yield (
        f"{cases:,} cases of {options} option{'s' * (options > 1)}: {cases * options:,} runs of "
        f"{len(stamps) / 24:.0f} days"
    )


def _sweep_foot(frame: pd.DataFrame, units: Units) -> Iterator[str]:
    """Which cases failed and why; cost and humidity of the others."""
    from moistsim.sensitivity import MOST_GROUPS, quantiles

    failed = frame[frame["status"] != "ok"]
    cases, lost = frame["case"].nunique(), failed["case"].nunique()
    yield ""
    yield f"{cases:,} cases, of which {lost:,} failed" + (":" if lost else ".")
    reasons = failed.groupby("status", sort=False)["case"].nunique().sort_values(ascending=False)
    for reason, count in reasons.head(8).items():
        yield from _item(f"{count:,}: {reason}")
    if len(reasons) > 8:
        yield f"  - and {len(reasons) - 8:,} more reasons, in results.csv"
    if lost == cases:
        return
    weathers = frame.get("weather", pd.Series(dtype=str)).nunique()
    by = "weather" if 0 < weathers <= MOST_GROUPS else "all"
    degree = "degF" if units == "us" else "degC"
    for label, measure, spec, change in (
        ("cost, USD", "cost_USD", ",.0f", float),
        ("total electricity, kWh", "total_kWh", ",.0f", float),
        (
            f"mean indoor dew point, {degree}", "mean_dew_point_C", ".1f",
            lambda value: from_si(value, "degC", degree),
        ),
        ("time above 60 % RH, h", "hours_over_60", ",.0f", float),
    ):  # fmt: skip
        table = quantiles(frame.assign(all="all cases"), measure, by=by)
        shares = table.attrs["q"]
        yield ""
        heads = "".join(f"{f'{share:.0%}':>10}" for share in shares)
        yield f"{label + ', quantiles':{WIDTH - 10 * len(shares)}}{heads}"
        yield "-" * WIDTH
        wide = WIDTH - 10 * len(shares)
        for (group, option), row in zip(table.index, table[shares].to_numpy(float), strict=True):
            if by == "weather" and option == table.index[0][1]:
                yield from textwrap.wrap(str(group), WIDTH)
            values = "".join(f"{_number(change(value), spec):>10}" for value in row)
            yield f"  {textwrap.shorten(str(option), wide - 4):{wide - 2}}{values}"
    if lost:
        yield "(of the cases in which no option failed)"
    yield ""


def _sentence(error: Exception) -> str:
    if isinstance(error, OSError) and error.filename is not None:
        found = f"what cannot be written ({error.strerror})"
        return f"{error.filename}: found {found}; accepted: a place that can be written to"
    return str(error)


def _study(chosen: argparse.Namespace) -> None:
    path, units, quiet = chosen.scenario, chosen.units, chosen.quiet

    def say(text: str = "") -> None:
        if not quiet:
            print(text)

    program = _printer() if chosen.pdf else None
    scenario = read_scenario(path or DEMO)
    if chosen.sure is not None:
        _check_sure(scenario, chosen.sure)
    out = chosen.out or Path(f"moistsim-{scenario.path.stem}")
    target = out / "scenario.toml"
    if target.exists() and target.samefile(scenario.path):
        raise ScenarioError(
            f"--out {out}",
            "the folder of the scenario itself, which the scenario as run would overwrite",
            "another folder",
        )
    if out.exists() and not out.is_dir():
        raise ScenarioError(f"--out {out}", "a file", "a folder, new or not")
    # Made before the run, so that no result is lost for want of a place.
    out.mkdir(parents=True, exist_ok=True)
    if path is None:
        say("No scenario given: this is the demo, an invented house.\n")
    say("\n".join(_head(scenario, units)) + "\n")
    for line in _reviews(scenario):
        say(line)
    try:
        with nullcontext() if quiet else _told_of_compiling():
            comparison = scenario.study.run(progress=not quiet)
    except InputError as error:
        where = error.where.replace("simulate step", "[season] step")
        raise InputError(f"{scenario.path.name} {where}", error.found, error.accepted) from None
    say("\n".join(_table(comparison, units)) + "\n")
    bought = (
        economics(comparison, scenario.purchases, scenario.terms) if scenario.purchases else None
    )
    if bought is not None:
        say("\n".join(_economics(bought)) + "\n")
    sure = None
    if chosen.sure is not None:
        sure = _sure(scenario, comparison, chosen.sure, progress=not quiet)
        say("\n".join(_certainty(*sure)) + "\n")
    if chosen.sources:
        say("\n".join(_reheat_heat(comparison)) + "\n")
    for line in (*_refusals(comparison), *_foot()):
        say(line)
    say()
    say(f"Results in {out}:")
    written = []
    for name, words in _write(scenario, comparison, bought, sure, out, units, chosen.sources):
        say(f"  {name}: {words}" if name and words else f"  {name or words}")
        written += [(name, words)] if name else []
    for name, words in _write_report(
        scenario, comparison, sure, out, units, quiet, written, program
    ):
        say(f"  {name}: {words}")


def _printer() -> str:
    from moistsim.report.paper import browser

    return browser()


def _told_of_compiling() -> AbstractContextManager[Any]:
    """Say so, once, when the loop is really compiled rather than read from numba's cache."""
    from numba.core import event
    from tqdm import tqdm

    told = False

    def on_start(_listener: object, _event: object) -> None:
        nonlocal told
        if not told:
            told = True
            tqdm.write("First run on this machine: compiling, half a minute or so.")

    # Made by hand, since numba ships no types that a class statement could be checked against.
    once = type("Once", (event.Listener,), {"on_start": on_start, "on_end": lambda *_: None})
    return cast(AbstractContextManager[Any], event.install_listener("numba:compile", once()))


# ---------------------------------------------------------------------- what the screen shows


def _head(scenario: Scenario, units: Units) -> Iterator[str]:
    """The house, the weather and the season, in a few lines."""
    study = scenario.study
    house, weather = study.house, study.weather
    us = units == "us"
    area = from_si(house.floor_area, "m2", "ft2" if us else "m2")
    yield from textwrap.wrap(scenario.name, WIDTH)
    yield from textwrap.wrap(scenario.note, WIDTH)
    yield ""
    storeys = f"{house.storeys:.0f} storey" + ("s" if house.storeys > 1 else "")
    facts = {
        "House": f"{area:,.0f} {'ft2' if us else 'm2'}, {storeys}, {house.changes_at_50_pa:.4g} ACH50, "
        f"{house.gains.occupants:g} people, "
        + (
            f"{from_si(house.moisture_gain, 'kg/s', 'pint/day'):.0f} pints"
            if us
            else f"{from_si(house.moisture_gain, 'kg/s', 'L/day'):.1f} L"
        )
        + " of household moisture a day"
    }
    climate = weather.describe(units)
    degree = "degF" if us else "degC"
    threshold = "65 degF" if us else "18.3 degC"
    facts["Weather"] = (
        f"{weather.name}: mean dry bulb {climate[f'mean dry bulb [{degree}]']:.0f} {degree}, "
        f"mean dew point {climate[f'mean dew point [{degree}]']:.0f} {degree}; "
        f"of {climate['hours']:,.0f} hours {climate[f'dew point above {threshold} [h]']:,.0f} "
        f"with dew point above {threshold}, {climate['humid mild hours [h]']:,.0f} humid and mild"
    )
    rows = weather.between(study.start, study.end)
    stamps = weather.frame.index[rows]
    facts["Season"] = (
        f"{_day(stamps[0])} to {_day(stamps[-1])}, {len(stamps) / 24:.0f} days, step {study.step}; "
        f"electricity {study.tariff.words}"
    )
    if any(machines.furnace is not None for machines, _ in study.options.values()):
        per, unit = (from_si(1.0, "kWh", "therm"), "therm") if us else (1.0, "kWh")
        facts["Season"] += f", gas at {study.tariff.gas_price / per:.3g} USD/{unit}"
    for name, text in facts.items():
        yield from textwrap.wrap(text, WIDTH, initial_indent=f"{name:9}", subsequent_indent=" " * 9)


def _day(stamp: pd.Timestamp) -> str:
    return f"{stamp.day} {stamp:%B}"


def _rows(comparison: Comparison, units: Units) -> Iterator[tuple[str, list[str]]]:
    """The table's rows: a label with its unit, and a text for each option."""
    table = comparison.table()
    season = next(iter(comparison.seasons.values()))
    days = len(season.hourly) / 24.0
    us = units == "us"

    def row(
        label: str, values: "pd.Series[Any]", spec: str, change: Callable[[float], float] = float
    ) -> tuple[str, list[str]]:
        return label, [_number(change(value), spec) for value in values]

    def to(unit: str, other: str) -> Callable[[float], float]:
        return lambda value: from_si(value, unit, other)

    for use in END_USES:
        if (table[f"{use}_kWh"].abs() >= 0.5).any():
            yield row(f"{use.replace('_', ' ')}, kWh", table[f"{use}_kWh"], ",.0f")
    yield row("total electricity, kWh", table["total_kWh"], ",.0f")
    if (table["gas_kWh"] >= 0.5).any():
        change = to("kWh", "therm") if us else float
        yield row(f"gas, {'therm' if us else 'kWh'}", table["gas_kWh"], ",.0f", change)
    if (table["strip_trips"] > 0).any():
        yield row("strips stopped by their limit", table["strip_trips"], ",.0f")
    whole = comparison.study.tariff.is_of_whole_house
    yield row(f"{'whole house, cost' if whole else 'cost'}, USD", table["cost_USD"], ",.0f")
    if not comparison.study.tariff.is_flat:
        bills = comparison.bills()
        average = [bill.average_price for bill in bills.values()]
        yield (
            "average price, cent/kWh",
            ["" if price is None else _number(100.0 * price, ".1f") for price in average],
        )
        yield (
            "one kWh more would cost, cent",
            [_number(100.0 * bill.marginal_price(), ".1f") for bill in bills.values()],
        )
    if "emissions_kgCO2e" in table:
        change = to("kg", "lb") if us else float
        yield row(
            f"emissions, {'lb' if us else 'kg'} CO2e", table["emissions_kgCO2e"], ",.0f", change
        )
    yield row("difference from base, kWh", table["difference_kWh"], "+,.0f")
    yield row("difference from base, USD", table["difference_USD"], "+,.0f")
    yield row("peak over 15 min, kW", table["peak_15_min_kW"], ".1f")
    # Options may differ in their number of stages; hours are of each stage alone.
    stages = [c for c in table if re.fullmatch(r"cooling_stage_\d+_h", str(c))]
    yield row("cooling, h", table[stages].sum(axis=1), ",.0f")
    if "cooling_stage_1_starts" in table:
        yield row("compressor starts, cooling", table["cooling_stage_1_starts"].fillna(0), ",.0f")
    water = (table["coil_water_kg"] + table["dehumidifier_water_kg"]) / days
    yield row(
        f"water removed, {'pints' if us else 'L'} a day",
        water, ".0f" if us else ".1f", to("kg", "pint" if us else "L"),
    )  # fmt: skip
    degree = "degF" if us else "degC"
    yield row(
        f"mean indoor dew point, {degree}", table["mean_dew_point_C"], ".1f", to("degC", degree)
    )
    yield row("mean indoor RH, %", table["mean_rh_pct"], ".1f")
    yield row("time above 60 % RH, h", table["hours_over_60"], ",.0f")
    yield row("RH-hours above 55 %, % h", table["rh_hours_over_55"], ",.0f")


def _number(value: float, spec: str) -> str:
    text = format(value, spec)
    # A difference that rounds to nothing has no sign.
    return re.sub(r"^[+-](?=[0.]*$)", "", text)


def _table(comparison: Comparison, units: Units) -> Iterator[str]:
    """Options as columns, a few abreast, and in words how each compares with the base."""
    yield from _columns(list(comparison.seasons), list(_rows(comparison, units)))
    yield "Humidity reached:"
    for name, words in comparison.table(units)["humidity_against_base"].items():
        yield from _item(f"{name}: {words}")


def _columns(names: Sequence[str], rows: Sequence[tuple[str, list[str]]]) -> Iterator[str]:
    """Rows of a label and a text for each option, a few options abreast."""
    cell = (WIDTH - _LABEL) // _OPTIONS_ABREAST
    for first in range(0, len(names), _OPTIONS_ABREAST):
        block = range(first, min(first + _OPTIONS_ABREAST, len(names)))
        heads = [textwrap.wrap(names[k], cell - 2) for k in block]
        height = max(len(head) for head in heads)
        for line in zip(*([""] * (height - len(head)) + head for head in heads), strict=True):
            yield (" " * _LABEL + "".join(f"{text:>{cell}}" for text in line)).rstrip()
        yield "-" * (_LABEL + cell * len(block))
        for label, values in rows:
            yield f"{label:{_LABEL}}" + "".join(f"{values[k]:>{cell}}" for k in block)
        yield ""


def _economics(found: Economics) -> Iterator[str]:
    """What each option costs over the years, and which dearer one pays for itself."""
    table, terms = found.table(), found.terms
    yield f"Over {terms.years:.0f} years:"
    shown = {
        "first cost less rebate, USD": "first_cost_USD",
        "energy a year, USD": "yearly_energy_USD",
        "maintenance a year, USD": "maintenance_USD",
        "loan payment a month, USD": "loan_payment_USD",
        "life-cycle cost, USD of today": "life_cycle_cost_USD",
    }
    rows = [
        (label, [_number(float(value), ",.0f") for value in table[column]])
        for label, column in shown.items()
        if column in table and (table[column] != 0.0).any()
    ]
    yield from _columns(list(found.options), rows)
    yield "Dearer to buy and cheaper to run:"
    pairs = found.trade_offs()
    for pair in pairs:
        yield from _item(f"{pair.option} instead of {pair.against}: {pair.verdict}")
    if not pairs:
        yield from _item("none")
    for note in found.notes:
        yield from textwrap.wrap(note, WIDTH)


def _check_sure(scenario: Scenario, cases: int) -> None:
    """Refuse, before any run, a scenario that nothing can be said of how sure it is.

    Raises
    ------
    ScenarioError
    """
    from moistsim.certainty import FEWEST

    if cases < FEWEST:
        raise ScenarioError("--sure", str(cases), f"a number of cases, {FEWEST} or more")
    if not scenario.purchases:
        accepted = "purchases, since a verdict is of money: a first_cost for each option"
        raise ScenarioError(f"{scenario.path.name} --sure", "no purchases", accepted)
    if len(scenario.study.options) < 2:
        raise ScenarioError(f"{scenario.path.name} --sure", "one option", "two or more")
    if not scenario.ranges:
        raise ScenarioError(
            f"{scenario.path.name} --sure",
            "not one range",
            "numbers with ±, such as ach50 = '2.0 ± 0.4', or { low = ..., high = ... }",
        )


def _sure(
    scenario: Scenario, comparison: Comparison, cases: int, *, progress: bool
) -> "tuple[Certainty, pd.DataFrame]":
    from moistsim.certainty import how_sure
    from moistsim.error_sources import error_budget

    what = (scenario.study, scenario.purchases, scenario.terms, scenario.ranges)
    how: dict[str, Any] = {"as_set": comparison, "executor": "processes", "progress": progress}
    certainty = how_sure(*what, n=cases, **how)
    pair = (certainty.option, certainty.against)
    return certainty, error_budget(*what, options=pair, **how)


def _certainty(certainty: "Certainty", budget: pd.DataFrame) -> Iterator[str]:
    """How sure, what decides, and what each source of error brings."""
    from moistsim.error_sources import budget_words
    from moistsim.uncertain import in_words

    yield "How sure:"
    yield from _item(certainty.verdict)
    yield from _item(budget_words(budget))
    yield ""
    head = f"{'What decides, share of the spread':{WIDTH - 48}}{'share':>12}"
    yield f"{head}{'USD, low third':>18}{'USD, high third':>18}"
    yield "-" * WIDTH
    for name, row in certainty.decides.iterrows():
        label = textwrap.shorten(in_words(str(name)), WIDTH - 52)
        yield (
            f"  {label:{WIDTH - 50}}{row['share']:>12.0%}"
            f"{_number(row['low_USD'], ',.0f'):>18}{_number(row['high_USD'], ',.0f'):>18}"
        )
    yield ""
    head = f"{'Error budget, ± one standard deviation':{WIDTH - 48}}{'kWh a year':>12}"
    yield f"{head}{'USD a year':>18}{'USD of today':>18}"
    yield "-" * WIDTH
    for source, row in budget.iterrows():
        yield (
            f"  {source!s:{WIDTH - 50}}{row['kWh']:>12,.0f}{row['USD']:>18,.1f}"
            f"{row['net_savings_USD']:>18,.0f}"
        )
    yield ""
    for source, basis in budget["basis"].drop("together").items():
        yield from _item(f"{source}: {basis}")


def _reviews(scenario: Scenario) -> Iterator[str]:
    """What the review of each option's rule table found."""
    for name, (machines, strategy) in scenario.study.options.items():
        if isinstance(strategy.base, RuleTable):
            for finding in review(strategy, machines):
                yield from textwrap.wrap(f"Check the rules of {name!r}: {finding}", WIDTH)
                yield ""


def _refusals(comparison: Comparison) -> Iterator[str]:
    """Options whose strategy called for a machine that is not there: a likely mistake."""
    for name, season in comparison.seasons.items():
        # How often is not said: a call that stays on is refused once.
        if season.meter.refused["not_installed"] > 0:
            yield from textwrap.wrap(
                f"Check {name!r}: its strategy {season.strategy.name} calls for a machine that the "
                "option does not have; the result is without that machine.",
                WIDTH,
            )
            yield ""


def _reheat_heat(comparison: Comparison) -> Iterator[str]:
    """What the compressor spent on heat that the option itself had brought in to dry."""
    yield "Compressor's electricity on heat that reheat or the dehumidifier had brought in:"
    for name, season in comparison.seasons.items():
        found = season.attribution()
        by = found.compressor_kwh
        added = by[["reheat", "hot_gas", "dehumidifier", "dehumidifier_condensing"]].sum()
        words = f"{name}: {added:,.0f} of {by.sum():,.0f} kWh"
        if found.reheat_kwh > 0.0:
            words += f"; {found.compressor_per_reheat:.2f} kWh for each kWh of strip reheat"
        yield from _item(words)


def _foot() -> Iterator[str]:
    yield "Cautions:"
    for caution in CAUTIONS:
        yield from _item(caution)


def _item(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="  - ", subsequent_indent="    ")


# ---------------------------------------------------------------------- what the folder holds


def _write(
    scenario: Scenario,
    comparison: Comparison,
    bought: Economics | None,
    sure: "tuple[Certainty, pd.DataFrame] | None",
    out: Path,
    units: Units,
    sources: bool,
) -> Iterator[tuple[str, str]]:
    """Write every result, and say what each file is; a file that there is not has no name."""
    from moistsim.figures import (
        cost_figure,
        day_figure,
        loads_figure,
        season_figure,
        sources_figure,
    )

    comparison.table(units).to_csv(out / "table.csv", lineterminator="\n")
    yield "table.csv", "every column of the comparison"
    for name, file in zip(comparison.seasons, _hourly_files(comparison.seasons), strict=True):
        comparison.seasons[name].hourly.to_parquet(out / file, engine="pyarrow")
        yield file, ""
    season_figure(comparison, units=units).savefig(out / "season.png", dpi=150)
    yield "season.png", "the season, side by side"
    try:
        day = comparison.mild_humid_day()
    except InputError as error:
        # Nothing of an earlier run may pass for a part of this one, here and below.
        (out / "day.png").unlink(missing_ok=True)
        yield "", f"(no day.png: {error.found})"
    else:
        day_figure(comparison, day=day, units=units).savefig(out / "day.png", dpi=150)
        yield "day.png", f"a mild, humid day ({day}), minute by minute"
    for file in () if bought else ("economics.csv", "economics.png"):
        (out / file).unlink(missing_ok=True)
    if bought is not None:
        bought.table().to_csv(out / "economics.csv", lineterminator="\n")
        yield "economics.csv", "what each option costs over the years"
        cost_figure(bought).savefig(out / "economics.png", dpi=150)
        yield "economics.png", "the same as a picture, year by year"
    yield from _write_sure(sure, out)
    for file in () if sources else ("sources.csv", "sources.png", "loads.png"):
        (out / file).unlink(missing_ok=True)
    if sources:
        comparison.sources(units=units).to_csv(out / "sources.csv", lineterminator="\n")
        yield "sources.csv", "water and electricity of each machine by where they came from"
        sources_figure(comparison, units=units).savefig(out / "sources.png", dpi=150)
        yield "sources.png", "the same as a picture"
        base = comparison.seasons[comparison.base]
        loads_figure(base, units=units).savefig(out / "loads.png", dpi=150)
        yield (
            "loads.png",
            f"where water and heat come from and go, a mean day of {comparison.base!r}",
        )
    write_scenario(scenario, out / "scenario.toml")
    yield "scenario.toml", "the scenario as run, every default made explicit"


def _write_report(
    scenario: Scenario,
    comparison: Comparison,
    sure: "tuple[Certainty, pd.DataFrame] | None",
    out: Path,
    units: Units,
    quiet: bool,
    written: list[tuple[str, str]],
    program: str | None,
) -> Iterator[tuple[str, str]]:
    """The page for the customer, which names the files beside it, and the same on paper."""
    from moistsim.report import MEASURE, gather, page, printed
    from moistsim.report.sureness import sureness

    (out / "report.pdf").unlink(missing_ok=True)
    matched = None
    if len(comparison.seasons) > 1:
        matched = comparison.study.matched(MEASURE, as_set=comparison, progress=not quiet)
    how = None if sure is None else sureness(*sure)
    text = page(gather(scenario, comparison, matched, units=units, sure=how, deeper=written))
    (out / "report.html").write_text(text, encoding="utf-8", newline="\n")
    yield (
        "report.html",
        "the answer for the customer, on one page that any browser opens and prints",
    )
    if program is not None:
        printed(text, out / "report.pdf", "letter" if units == "us" else "A4", program)
        yield "report.pdf", "the same on paper"


def _write_sure(
    sure: "tuple[Certainty, pd.DataFrame] | None", out: Path
) -> Iterator[tuple[str, str]]:
    """Cases and error budget, as tables and pictures."""
    if sure is None:
        for file in ("sure.csv", "sure.png", "error_budget.csv", "error_budget.png"):
            (out / file).unlink(missing_ok=True)
        return
    from moistsim.figures import certainty_figure, error_budget_figure

    certainty, budget = sure
    certainty.cases.to_csv(out / "sure.csv", lineterminator="\n")
    yield "sure.csv", "each case, what was drawn (SI units) and what came of it"
    certainty_figure(certainty).savefig(out / "sure.png", dpi=150)
    yield "sure.png", "how sure the verdict is, and what decides"
    budget.to_csv(out / "error_budget.csv", lineterminator="\n")
    error_budget_figure(budget).savefig(out / "error_budget.png", dpi=150)
    yield "error_budget.csv, error_budget.png", "what each source of error brings"


def _hourly_files(names: Iterable[str]) -> Iterator[str]:
    """A file name for each option, of plain letters; the number keeps two alike apart."""
    for number, name in enumerate(names, 1):
        yield f"hourly-{number}-{_plain(name)}".rstrip("-") + ".parquet"


def _plain(name: str) -> str:
    """A name in the letters of any file system."""
    letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", letters)[:60].strip("-")


if __name__ == "__main__":
    sys.exit(main())
