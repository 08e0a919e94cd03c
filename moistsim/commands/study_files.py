"""What `moistsim study` writes into its folder; nothing of an earlier run stays to pass for new."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from moistsim.commands.screen import plain
from moistsim.core.errors import InputError
from moistsim.economics import Economics
from moistsim.scenario import Scenario, write_scenario
from moistsim.study import Comparison, Units

if TYPE_CHECKING:
    from moistsim.uncertainty import Certainty


def write(
    scenario: Scenario,
    comparison: Comparison,
    bought: Economics | None,
    budget: pd.DataFrame | None,
    certainty: "Certainty | None",
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
    months = {name: bill.months for name, bill in comparison.bills().items()}
    pd.concat(months, names=["option"]).to_csv(out / "bills.csv", lineterminator="\n")
    yield "bills.csv", "the bill of each option, month by month and line by line, USD"
    for name, file in zip(comparison.seasons, hourly_files(comparison.seasons), strict=True):
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
    yield from _write_sure(budget, certainty, out)
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


def write_report(
    scenario: Scenario,
    comparison: Comparison,
    budget: pd.DataFrame | None,
    certainty: "Certainty | None",
    out: Path,
    units: Units,
    quiet: bool,
    written: list[tuple[str, str]],
    program: str | None,
) -> Iterator[tuple[str, str]]:
    """The page for the customer, which names the files beside it, and the same on paper."""
    from moistsim.report import MEASURE, gather, page, printed, sureness

    (out / "report.pdf").unlink(missing_ok=True)
    matched = None
    if len(comparison.seasons) > 1:
        matched = comparison.study.matched(MEASURE, as_set=comparison, progress=not quiet)
    how = None if budget is None else sureness(budget, scenario, certainty)
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
    budget: pd.DataFrame | None, certainty: "Certainty | None", out: Path
) -> Iterator[tuple[str, str]]:
    """Cases and error budget, as tables and pictures."""
    for name, made in (("sure", certainty), ("error_budget", budget)):
        for end in () if made is not None else (".csv", ".png"):
            (out / f"{name}{end}").unlink(missing_ok=True)
    if budget is None:
        return
    from moistsim.figures import certainty_figure, error_budget_figure

    if certainty is not None:
        certainty.cases.to_csv(out / "sure.csv", lineterminator="\n")
        yield "sure.csv", "each case, what was drawn (SI units) and what came of it"
        certainty_figure(certainty).savefig(out / "sure.png", dpi=150)
        yield "sure.png", "how sure the verdict is, and what decides"
    budget.to_csv(out / "error_budget.csv", lineterminator="\n")
    yield "error_budget.csv", "what each source of error brings, and what was moved for it"
    error_budget_figure(budget).savefig(out / "error_budget.png", dpi=150)
    yield "error_budget.png", "the same as a picture"


def hourly_files(names: Iterable[str]) -> Iterator[str]:
    """A file name for each option, of plain letters; the number keeps two alike apart."""
    for number, name in enumerate(names, 1):
        yield f"hourly-{number}-{plain(name)}".rstrip("-") + ".parquet"
