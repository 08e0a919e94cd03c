"""The command line: a scenario in, a table on the screen, a folder of results out."""

import argparse
import re
import sys
import textwrap
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import Any, cast

import pandas as pd

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
from moistsim.units import InputError, from_si, one_of

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
        "table.csv, hourly results (SI units), figures and the scenario as run go to a folder.",
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
    study.add_argument("--quiet", action="store_true", help="print nothing but errors")
    study.set_defaults(run=lambda it: _study(it.scenario, it.out, it.units, it.quiet, it.sources))
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
    return parser


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


def _sentence(error: Exception) -> str:
    if isinstance(error, OSError) and error.filename is not None:
        found = f"what cannot be written ({error.strerror})"
        return f"{error.filename}: found {found}; accepted: a place that can be written to"
    return str(error)


def _study(path: Path | None, out: Path | None, units: Units, quiet: bool, sources: bool) -> None:
    def say(text: str = "") -> None:
        if not quiet:
            print(text)

    scenario = read_scenario(path or DEMO)
    out = out or Path(f"moistsim-{scenario.path.stem}")
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
    if sources:
        say("\n".join(_reheat_heat(comparison)) + "\n")
    for line in (*_refusals(comparison), *_foot()):
        say(line)
    say()
    for name in _write(scenario, comparison, out, units, sources):
        say(name)


def _told_of_compiling() -> AbstractContextManager[Any]:
    """Say so, once, when the loop is really compiled rather than read from numba's cache."""
    from numba.core import event
    from tqdm import tqdm

    told = False

    def on_start(_listener: object, _event: object) -> None:
        nonlocal told
        if not told:
            told = True
            tqdm.write("First run on this machine: compiling, a minute or more.")

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
        f"electricity at {study.tariff.price:.3g} USD/kWh"
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
    yield row("cost, USD", table["cost_USD"], ",.0f")
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
    names = list(comparison.seasons)
    rows = list(_rows(comparison, units))
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
    yield "Humidity reached:"
    for name, words in comparison.table(units)["humidity_against_base"].items():
        yield from _item(f"{name}: {words}")


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
    scenario: Scenario, comparison: Comparison, out: Path, units: Units, sources: bool
) -> Iterator[str]:
    """Write every result, and say what each file is."""
    from moistsim.figures import day_figure, loads_figure, season_figure, sources_figure

    yield f"Results in {out}:"
    comparison.table(units).to_csv(out / "table.csv", lineterminator="\n")
    yield "  table.csv: every column of the comparison"
    for name, file in zip(comparison.seasons, _hourly_files(comparison.seasons), strict=True):
        comparison.seasons[name].hourly.to_parquet(out / file, engine="pyarrow")
        yield f"  {file}"
    season_figure(comparison, units=units).savefig(out / "season.png", dpi=150)
    yield "  season.png: the season, side by side"
    try:
        day = comparison.mild_humid_day()
    except InputError as error:
        # Nothing of an earlier run may pass for a part of this one, here and below.
        (out / "day.png").unlink(missing_ok=True)
        yield f"  (no day.png: {error.found})"
    else:
        day_figure(comparison, day=day, units=units).savefig(out / "day.png", dpi=150)
        yield f"  day.png: a mild, humid day ({day}), minute by minute"
    for file in () if sources else ("sources.csv", "sources.png", "loads.png"):
        (out / file).unlink(missing_ok=True)
    if sources:
        comparison.sources(units=units).to_csv(out / "sources.csv", lineterminator="\n")
        yield "  sources.csv: water and electricity of each machine by where they came from"
        sources_figure(comparison, units=units).savefig(out / "sources.png", dpi=150)
        yield "  sources.png: the same as a picture"
        base = comparison.seasons[comparison.base]
        loads_figure(base, units=units).savefig(out / "loads.png", dpi=150)
        yield f"  loads.png: where water and heat come from and go, a mean day of {comparison.base!r}"
    write_scenario(scenario, out / "scenario.toml")
    yield "  scenario.toml: the scenario as run, every default made explicit"


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
