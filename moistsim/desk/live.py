"""What the page shows after a knob was moved: first the picture, then the answer.

A picture while a slider moves has a coarse step. A newer request takes the place of an older one:
runs that nobody waits for are abandoned, so the page never lags behind the slider.
"""

import time
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

import attrs
import jinja2
import markupsafe
import pandas as pd

from moistsim.core.display import Show, Units, count, duration, money, number
from moistsim.core.units import to_si
from moistsim.desk.drawing import Drawing, Drawings, line_samples
from moistsim.desk.knobs import moved
from moistsim.engine import column_catalog
from moistsim.report import answer
from moistsim.scenario import Scenario, advice_on
from moistsim.study import Comparison

COARSE = 300.0
"""Step while a slider moves, s. The whole year then takes about a quarter of the time of a minute step."""


class Request(NamedTuple):
    """What a browser wants to see."""

    scenario: Scenario
    """The scenario as opened."""
    moves: Mapping[str, Any]
    """Moved knobs, as for `moved`."""
    day: int | None
    """Day of the season to show, the first is 0; None for the mild humid day of the base option."""
    moving: bool
    """Whether a slider is held: the coarse step then has to do."""
    units: Units
    narrow: bool
    """Whether the page is as narrow as a phone."""


class Run(NamedTuple):
    """The options of a scenario after a run, and how long it took, s."""

    scenario: Scenario
    comparison: Comparison
    took: float

    @property
    def step(self) -> float:
        """Step of the run, s."""
        return to_si(self.comparison.study.step, "s", "step")


class Live:
    """Runs one browser's house, and keeps what the next request may need again."""

    def __init__(self) -> None:
        self._drawings = Drawings()
        self._runs: dict[Any, Run] = {}
        self._answers: dict[Any, list[tuple[str, str]]] = {}

    def updates(self, request: Request) -> Iterator[dict[str, Any]]:
        """What the page shows, piece by piece, the quickest first.

        Raises
        ------
        InputError
            If the moved values cannot be used.
        """
        show = Show(request.units)
        run = self._run(request, coarse=request.moving)
        yield _picture(run, request, show, self._drawings)
        for coarse in (True,) if request.moving else (True, False):
            yield self._answer(request, show, coarse=coarse)

    def _run(self, request: Request, *, coarse: bool) -> Run:
        step = _step(request.scenario, coarse=coarse)
        key = (id(request.scenario), tuple(sorted(request.moves.items())), step)
        if key not in self._runs:
            scenario = moved(request.scenario, request.moves)
            study = attrs.evolve(scenario.study, step=step)
            scenario = attrs.evolve(scenario, study=study)
            begun = time.perf_counter()
            comparison = study.run(progress=False)
            found = Run(scenario, comparison, time.perf_counter() - begun)
            # The hourly tables of a year with four options take about 40 MB.
            self._runs = {**dict([*self._runs.items()][-1:]), key: found}
        return self._runs[key]

    def _answer(self, request: Request, show: Show, *, coarse: bool) -> dict[str, Any]:
        step = _step(request.scenario, coarse=coarse)
        key = (
            id(request.scenario), tuple(sorted(request.moves.items())), step, request.units,
        )  # fmt: skip
        if key not in self._answers:
            run = self._run(request, coarse=coarse)
            advice = advice_on(
                run.scenario, as_set=run.comparison, units=request.units, progress=False
            )
            found = [*answer(advice, show=show).lines]
            self._answers = {**dict([*self._answers.items()][-9:]), key: found}
        final = not coarse or step == _step(request.scenario, coarse=False)
        more = (
            ""
            if final
            else " The minute step follows."
            if not request.moving
            else " It moves to the minute step when you let go."
        )
        return {
            "answer": html("answer", lines=self._answers[key]),
            "answer_said": f"Answer at a step of {duration(step)}.{more}",
            "final": final,
        }


def _step(scenario: Scenario, *, coarse: bool) -> float:
    own = to_si(scenario.study.step, "s", "step")
    return max(own, COARSE) if coarse else own


def _picture(run: Run, request: Request, show: Show, drawings: Drawings) -> dict[str, Any]:
    comparison, day = run.comparison, request.day
    hours = pd.DatetimeIndex(next(iter(comparison.seasons.values())).hourly.index)
    days = days_of(hours)
    mild = pd.Timestamp(comparison.mild_humid_day()) if day is None else None
    last = len(days) - 1
    place = int(days.searchsorted(mild)) if mild is not None else min(day or 0, last)
    season = drawings.season(comparison, narrow=request.narrow)
    when = drawings.day(comparison, f"{days[place]:%Y-%m-%d}", show, narrow=request.narrow)
    coarse = (
        " It shows the trend: hours may be a tenth off. Let go for the fine step."
        if run.step >= COARSE
        else ""
    )
    return {
        "options": _options(comparison),
        "season": _image(season),
        "day": _image(when),
        "said": f"{count(len(comparison.seasons), 'option')}, {show.period(hours[0], hours[-1])}, "
        f"at a step of {duration(run.step)}: {run.took:.2f} s.{coarse}",
        "coarse": run.step >= COARSE,
        "day_shown": place,
    }


def days_of(hours: pd.DatetimeIndex) -> pd.DatetimeIndex:
    """The days of some hours."""
    return hours.normalize().unique()


def _image(drawing: Drawing) -> dict[str, str]:
    return {"source": drawing.source, "alternative": drawing.alternative}


def _options(comparison: Comparison) -> str:
    study, bills = comparison.study, comparison.bills()
    samples = line_samples(comparison)
    rows = [
        {
            "name": name,
            "sample": markupsafe.Markup(samples[name]),
            "hours": number(study.goal.humid_hours(season)),
            "keeps": study.goal.is_kept(season),
            "bill": money(bills[name].total),
            "kwh": number(season.meter.total_kwh),
            "rh": number(season.meter.of(column_catalog.MEAN_RH)),
        }
        for name, season in comparison.seasons.items()
    ]
    gas = any(season.meter.gas_kwh >= 0.5 for season in comparison.seasons.values())
    return html(
        "options", rows=rows, mark=f"{study.goal.above_rh:g}", goal=study.goal.words, gas=gas
    )


_PARTS = jinja2.Environment(
    loader=jinja2.PackageLoader("moistsim.desk", "."),
    autoescape=True,
    trim_blocks=True,
    lstrip_blocks=True,
    undefined=jinja2.StrictUndefined,
)


def html(part: str, **values: Any) -> str:
    """One part of the page as HTML."""
    return _PARTS.get_template(f"{part}.html.jinja").render(values)
