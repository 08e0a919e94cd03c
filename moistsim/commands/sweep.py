"""`moistsim sweep`: many cases of a scenario, saved as they finish."""

import argparse
import shlex
import sys
import textwrap
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from moistsim.commands.process import STOPPED, say_stopped, stops_in_order
from moistsim.commands.screen import WIDTH, columns, foot, item, one_day, told
from moistsim.commands.sweep_figures import FIGURES, SHOWN, draw
from moistsim.core.display import Units, count, number
from moistsim.core.errors import InputError, Problem
from moistsim.core.files import write_whole
from moistsim.core.whole_numbers import worker_count
from moistsim.engine import column_catalog
from moistsim.scenario import ScenarioError
from moistsim.sweep import SweepError

if TYPE_CHECKING:
    from moistsim.scenario import SweepFile


def add(commands: Any) -> None:
    """Add the command and its arguments."""
    sweep = commands.add_parser(
        "sweep",
        help="run many cases of a scenario: other houses, weathers, machines and prices",
        description="Run all options of a scenario in many cases. Results are saved as they finish. "
        "The same command with the same folder resumes a stopped sweep.",
    )
    sweep.add_argument("sweep", type=Path, metavar="SWEEP.toml", help="the sweep file")
    sweep.add_argument(
        "--out", type=Path, metavar="DIR",
        help="folder for the results: new, empty, or started by this sweep",
    )  # fmt: skip
    sweep.add_argument(
        "--case", type=int, metavar="N",
        help="run case N alone, print it, and compare it with the row in the folder, if one is given",
    )  # fmt: skip
    sweep.add_argument(
        "--workers", type=int, metavar="N", help="number of processes; default: one for each core"
    )
    sweep.add_argument(
        "--units", choices=("us", "si"), default="us",
        help="units of the screen: trade units or SI; default: us; files are in SI",
    )  # fmt: skip
    sweep.add_argument("--quiet", action="store_true", help="print nothing but errors")
    sweep.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> None:
    """Run or resume the cases, and print the results; Ctrl-C ends it with one line."""
    stops_in_order()  # finished cases are kept
    try:
        _run(chosen)
    except KeyboardInterrupt:
        if chosen.case is not None:
            say_stopped()
            raise SystemExit(STOPPED) from None
        from moistsim.sweep import found_in

        begun = found_in(chosen.out) == "a sweep"
        kept = "finished cases are saved" if begun else "no case has finished"
        # The line of the progress bar ends here.
        end = "\n" if sys.stderr.isatty() else ""
        print(f"{end}moistsim: stopped; {kept}. The same command resumes.", file=sys.stderr)
        raise SystemExit(STOPPED) from None


def _run(chosen: argparse.Namespace) -> None:
    from moistsim.scenario import read_sweep
    from moistsim.sweep import MANIFEST, check_same, found_in

    out, workers, quiet = chosen.out, chosen.workers, chosen.quiet
    if out is None and chosen.case is None:
        raise ScenarioError("--out", Problem("missing"), "a folder for the results")
    read = read_sweep(chosen.sweep)
    worker_count(workers, "--workers")
    if chosen.case is not None:
        with _in_words_of(read, out), told(quiet=quiet):
            lines = [*_one_case(read, chosen.case, out, chosen.units)]
        if not quiet:
            print("\n".join(lines))
        return
    found = found_in(out)
    if found == "something else":
        what = "the folder has other files" if out.is_dir() else "this is a file"
        raise ScenarioError(
            f"--out {out}", Problem(what), "a new or empty folder, or one that this sweep started"
        )
    begun = found == "a sweep"
    if begun:
        kept = check_same(out, read.sweep.manifest(), f"--out {out}")
        if read.hourly and not kept["hourly"]:
            raise ScenarioError(
                f"--out {out}",
                Problem("the sweep there keeps no hourly tables"),
                "hourly = false, or a new folder",
            )
    if not quiet:
        for line in _sweep_head(read):
            print(line)
        print(f"Resuming in {out}." if begun else f"Results are saved in {out} as cases finish.")
    how: dict[str, Any] = {"workers": workers, "progress": not quiet}
    executor: Any = "threads" if workers == 1 else "processes"
    # Run one day of each option: the code is compiled once and not by every worker.
    with _in_words_of(read, out), told(quiet=quiet):
        one_day(read.sweep.base).run(progress=False)
        if begun:
            frame = read.sweep.resume(out, executor, **how)
        else:
            frame = read.sweep.run(executor, out, hourly=read.hourly, **how)
    write_whole(out / "results.csv", frame.to_csv(index=False, lineterminator="\n").encode())
    drawn, lacking = draw(read.sweep, frame, out, chosen.units)
    if quiet:
        return
    for line in (*_sweep_foot(frame, chosen.units), *foot()):
        print(line)
    hourly = ["hourly: one table for each case"] if (out / "hourly").is_dir() else []
    print(f"\nResults in {out}:")
    for line in (
        "results.csv: one row for each case and option, in SI",
        f"{FIGURES}: {count(drawn, 'figure')} of spread, of inputs that decide, and of break-even lines",
        "parts: the same rows as a Parquet dataset",
        *hourly,
        f"{MANIFEST}: versions, seed, and checksums of the inputs and the parts",
    ):
        for wrapped in textwrap.wrap(line, WIDTH, initial_indent="  ", subsequent_indent="    "):
            print(wrapped)
    if lacking:
        print("\nNot drawn:")
        for reason in lacking:
            print("\n".join(item(reason)))
    print("\nOne case again, compared with its row to the last bit:")
    command = ["moistsim", "sweep", chosen.sweep, "--out", out, "--case", _case_to_show(frame)]
    print(f"  {shlex.join(map(str, command))}")


@contextmanager
def _in_words_of(read: "SweepFile", out: Path | None) -> Iterator[None]:
    """Name the folder or the scenario in an error, in place of the sweep's own words."""
    try:
        yield
    except SweepError as error:
        print(f"moistsim: {error}. The same command resumes.", file=sys.stderr)
        raise SystemExit(1) from None
    except InputError as error:
        if error.where.startswith("--"):
            raise
        for wheres, at in (
            (("Sweep.run folder", "Sweep.resume", "read_sweep"), f"--out {out}"),
            (("Sweep.rerun case",), "--case"),
        ):
            if error.where in wheres:
                raise ScenarioError(at, error.found, error.accepted, error.problem) from None
        where = error.where.replace("simulate step", "[season] step")
        raise InputError(
            f"{read.scenario.path.name} {where}", error.found, error.accepted, error.problem
        ) from None


def _one_case(read: "SweepFile", case: int, out: Path | None, units: Units) -> Iterator[str]:
    """One case again: its values, its results, and whether they are those of the folder."""
    from moistsim.sweep import check_same
    from moistsim.sweep import read_sweep as read_results

    sweep = read.sweep
    if out is not None:
        check_same(out, sweep.manifest(), f"--out {out}")
    again = sweep.rerun(case)
    yield f"Case {case} of {len(sweep.cases()):,}:"
    for name, value in sweep.cases().loc[case].to_dict().items():
        # All digits, so that the value is the case's own.
        yield from item(f"{name} = {value} {sweep.units.get(str(name), '')}".rstrip())
    yield ""
    fine = again[again["status"] == "ok"]
    rows = []
    for measure in SHOWN:
        shown = measure.shown(fine[measure.name].to_numpy(float), units)
        rows.append((measure.heading(units), [number(value, measure.digits) for value in shown]))
    yield from columns([str(option) for option in fine["option"]], rows)
    for row in again[again["status"] != "ok"].itertuples():
        yield from item(f"{row.option}: {row.status}")
    if out is None:
        return
    kept = read_results(out)
    kept = kept[kept["case"] == case].reset_index(drop=True)
    if kept.empty:
        yield f"{out} has not run this case yet."
        return
    different = [str(name) for name in again if not again[name].equals(kept[name])]
    if different:
        names = textwrap.shorten(", ".join(different), WIDTH)
        raise ScenarioError(
            f"--out {out}", Problem(f"case {case} differs there in {names}"),
            "the type of computer that ran the sweep",
        )  # fmt: skip
    yield f"Each number has the bits of its row in {out}."


def _case_to_show(frame: pd.DataFrame) -> int:
    """The first case that failed, or the one whose options cost the most."""
    failed = frame[frame["status"] != "ok"]["case"]
    if len(failed):
        return int(failed.iloc[0])
    cost = frame.groupby("case")[column_catalog.COST.name].sum()
    return int(cost.index[int(cost.to_numpy().argmax())])


def _sweep_head(read: "SweepFile") -> Iterator[str]:
    """The varied parameters, and the number of cases and runs."""
    sweep, study = read.sweep, read.sweep.base
    yield from textwrap.wrap(read.name, WIDTH)
    yield from textwrap.wrap(read.note, WIDTH)
    yield ""
    for name, words in read.varied.items():
        yield from textwrap.wrap(f"{name}: {words}", WIDTH, subsequent_indent="    ")
    stamps = study.weather.frame.index[study.weather.between(study.start, study.end)]
    cases, options = len(sweep.cases()), len(study.options)
    yield (
        f"{count(cases, 'case')} of {count(options, 'option')}: {count(cases * options, 'run')} of "
        f"{count(len(stamps) / 24, 'day')}"
    )


def _sweep_foot(frame: pd.DataFrame, units: Units) -> Iterator[str]:
    """Failed cases by reason, and cost and humidity of the others."""
    from moistsim.sensitivity import MOST_GROUPS, quantiles

    failed = frame[frame["status"] != "ok"]
    cases, lost = frame["case"].nunique(), failed["case"].nunique()
    yield ""
    yield f"{count(cases, 'case')}, {number(lost)} failed" + (":" if lost else ".")
    reasons = failed.groupby("status", sort=False)["case"].nunique().sort_values(ascending=False)
    for reason, times in reasons.head(8).items():
        yield from item(f"{number(float(times))}: {reason}")
    if len(reasons) > 8:
        yield f"  - and {len(reasons) - 8:,} more reasons, in results.csv"
    if lost == cases:
        return
    weathers = frame.get("weather", pd.Series(dtype=str)).nunique()
    by = "weather" if 0 < weathers <= MOST_GROUPS else "all"
    for measure in SHOWN:
        table = quantiles(frame.assign(all="all cases"), measure.name, by=by)
        shares = table.attrs["q"]
        yield ""
        heads = "".join(f"{f'{100.0 * share:.0f} %':>10}" for share in shares)
        label = measure.heading(units)
        yield f"{label + ', quantiles':{WIDTH - 10 * len(shares)}}{heads}"
        yield "-" * WIDTH
        wide = WIDTH - 10 * len(shares)
        for (group, option), row in zip(table.index, table[shares].to_numpy(float), strict=True):
            if by == "weather" and option == table.index[0][1]:
                yield from textwrap.wrap(str(group), WIDTH)
            shown = measure.shown(row, units)
            values = "".join(f"{number(value, measure.digits):>10}" for value in shown)
            yield f"  {textwrap.shorten(str(option), wide - 4):{wide - 2}}{values}"
    if lost:
        yield "(cases in which no option failed)"
    yield ""
