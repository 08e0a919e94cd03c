"""Files of `moistsim study`, in a new folder."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from moistsim.commands.screen import plain
from moistsim.core.display import Units
from moistsim.house import SPACES
from moistsim.risk import space_risk
from moistsim.scenario import Scenario, write_scenario

if TYPE_CHECKING:
    from moistsim.advice import Advice
    from moistsim.report import Conclusion
    from moistsim.uncertainty import Certainty


def write(
    scenario: Scenario,
    found: "Conclusion",
    budget: pd.DataFrame | None,
    certainty: "Certainty | None",
    out: Path,
    units: Units,
    sources: bool,
) -> Iterator[tuple[str, str]]:
    """Write every result, and yield each file's name and content; a missing file has no name."""
    from moistsim.figures import (
        cost_figure,
        day_figure,
        loads_figure,
        season_figure,
        sources_figure,
        space_figure,
        weather_years_figure,
    )

    advice = found.advice
    comparison, bought = advice.as_set, advice.bought
    comparison.table(units).to_csv(out / "table.csv", lineterminator="\n")
    yield "table.csv", "all columns of the comparison, as set"
    advice.cures.table(units).to_csv(out / "cures.csv", lineterminator="\n")
    yield "cures.csv", "free and low-cost cures, each tried alone"
    advice.at_goal.table(units).to_csv(out / "goal.csv", lineterminator="\n")
    yield "goal.csv", "options and proposals at the owner's goal, and what was moved"
    months = {name: bill.months for name, bill in comparison.bills().items()}
    pd.concat(months, names=["option"]).to_csv(out / "bills.csv", lineterminator="\n")
    yield "bills.csv", "bills by option, month and line, USD"
    for name, file in zip(comparison.seasons, hourly_files(comparison.seasons), strict=True):
        comparison.seasons[name].hourly.to_parquet(out / file, engine="pyarrow")
        yield file, ""
    season_figure(comparison, units=units).savefig(out / "season.png", dpi=150)
    yield "season.png", "humidity and energy of the season, by option"
    day_figure(comparison, units=units).savefig(out / "day.png", dpi=150)
    yield "day.png", "a mild, humid day, or else the most humid one, minute by minute"
    near = {name for season in comparison.seasons.values() for name in season.spaces}
    if near:
        space_risk(comparison, scenario.risk_basis, units).to_csv(
            out / "spaces.csv", lineterminator="\n"
        )
        yield "spaces.csv", "wood moisture, mold and condensation in the spaces next to the house"
    for name in SPACES:
        if name in near:
            figure = space_figure(comparison, name, scenario.risk_basis, units)
            figure.savefig(out / f"{name}.png", dpi=150)
            yield f"{name}.png", f"{name.replace('_', ' ')}: humidity, wood and dew points"
    if bought is not None:
        bought.table().to_csv(out / "economics.csv", lineterminator="\n")
        yield "economics.csv", "cost of each option over the years"
        cost_figure(bought).savefig(out / "economics.png", dpi=150)
        yield "economics.png", "cost of each option over the years, as a figure"
    if found.over is not None:
        found.over.table.to_csv(out / "years.csv", lineterminator="\n")
        yield "years.csv", "options as advised in each of the other weather years"
        weather_years_figure(found.over).savefig(out / "years.png", dpi=150)
        yield "years.png", "humid hours and cost of each option in each of those years, as a figure"
    yield from _write_sure(budget, certainty, out)
    if sources:
        comparison.sources(units=units).to_csv(out / "sources.csv", lineterminator="\n")
        two = any(season.equipment.second_system for season in comparison.seasons.values())
        of = "the main zone's machines" if two else "each machine"
        yield "sources.csv", f"water and electricity of {of}, by source"
        sources_figure(comparison, units=units).savefig(out / "sources.png", dpi=150)
        yield "sources.png", "water and electricity of each machine by source, as a figure"
        base = comparison.seasons[comparison.base]
        loads_figure(base, units=units).savefig(out / "loads.png", dpi=150)
        yield (
            "loads.png",
            f"sources and destinations of water and heat on a mean day of {comparison.base!r}",
        )
    yield from _write_sheet(scenario, advice, out, units)
    write_scenario(scenario, out / "scenario.toml")
    yield "scenario.toml", "the scenario as run, with all defaults"


def write_report(
    scenario: Scenario,
    found: "Conclusion",
    budget: pd.DataFrame | None,
    certainty: "Certainty | None",
    out: Path,
    units: Units,
    written: list[tuple[str, str]],
    program: str | None,
) -> Iterator[tuple[str, str]]:
    """The customer's page, which lists the other files, and the same page on paper."""
    from moistsim.report import gather, page, printed

    content = gather(
        scenario, found.advice.as_set, found, units=units, budget=budget, certainty=certainty,
        deeper=written,
    )  # fmt: skip
    text = page(content)
    (out / "report.html").write_text(text, encoding="utf-8", newline="\n")
    yield (
        "report.html",
        "the customer's page, which any browser opens and prints",
    )
    if program is not None:
        printed(text, out / "report.pdf", "letter" if units == "us" else "A4", program)
        yield "report.pdf", "the customer's page for printing"


def _write_sheet(
    scenario: Scenario, advice: "Advice", out: Path, units: Units
) -> Iterator[tuple[str, str]]:
    """The wall sheet of the advised option, with the advised settings."""
    from moistsim.sheet import gather, page

    sheet = gather(
        advice.at_goal.study, advice.best, name=scenario.name, note=scenario.remarks, units=units,
        settings_note=advice.settings_words(advice.best, units),
    )  # fmt: skip
    (out / "sheet.html").write_text(page(sheet), encoding="utf-8", newline="\n")
    yield "sheet.html", f"the wall sheet of {advice.best!r}, with the advised settings"


def _write_sure(
    budget: pd.DataFrame | None, certainty: "Certainty | None", out: Path
) -> Iterator[tuple[str, str]]:
    """Cases and error budget, as tables and figures."""
    if budget is None:
        return
    from moistsim.figures import certainty_figure, error_budget_figure

    if certainty is not None:
        certainty.cases.to_csv(out / "sure.csv", lineterminator="\n")
        yield "sure.csv", "inputs (SI units) and results of each case"
        certainty_figure(certainty).savefig(out / "sure.png", dpi=150)
        yield "sure.png", "how certain the verdict is, and the inputs that decide"
    budget.to_csv(out / "error_budget.csv", lineterminator="\n")
    yield "error_budget.csv", "error by source, and its basis"
    error_budget_figure(budget).savefig(out / "error_budget.png", dpi=150)
    yield "error_budget.png", "error by source, as a figure"


def hourly_files(names: Iterable[str]) -> Iterator[str]:
    """A file name in plain letters for each option. A number distinguishes similar names."""
    for number, name in enumerate(names, 1):
        yield f"hourly-{number}-{plain(name)}".rstrip("-") + ".parquet"
