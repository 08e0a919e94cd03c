"""One simulated day of the option, as a picture and in words."""

import io

import matplotlib
import pandas as pd

from moistsim.core.display import Show, Units
from moistsim.core.errors import InputError
from moistsim.figures import timing_figure
from moistsim.season import Season, simulate
from moistsim.sheet.probing import DRY, Probe, Setpoint
from moistsim.study import Study


def run_season(study: Study, option: str) -> Season:
    """An option's season."""
    machines, strategy, house = study.resolved[option]
    return simulate(
        house, machines, strategy, study.weather,
        start=study.start, end=study.end, step=study.step,
    )  # fmt: skip


def check_day(study: Study, day: str | None) -> None:
    """Refuse a day outside the season, before anything runs."""
    stamps = pd.DatetimeIndex(
        study.weather.frame.index[study.weather.between(study.start, study.end)]
    )
    days = {*stamps.strftime("%m-%d"), *stamps.strftime("%Y-%m-%d")}
    if day is not None and day not in days:
        raise InputError(
            "sequence day",
            day,
            f"a day of the season as MM-DD, from {stamps[0]:%m-%d} to {stamps[-1]:%m-%d}",
        )


def picture_day(study: Study, option: str, season: Season, day: str | None) -> tuple[str, str]:
    """The day of the picture, and the kind of day."""
    if day is not None:
        return day, "Chosen day"
    base = study.base or next(iter(study.options))
    try:
        of_base = season if base == option else run_season(study, base)
        return of_base.mild_humid_day(), "Mild, humid day"
    except InputError:
        hourly = season.hourly
        dew_point = hourly["indoor_dew_point_C"].groupby(pd.DatetimeIndex(hourly.index).date).mean()
        return str(dew_point.idxmax()), "Most humid day (no day is mild)"


def day_picture(season: Season, day: str, units: Units, found: Probe) -> str:
    """The timing picture as SVG for a page: without header and date, always with the same ids."""
    rh = [p for p in found.setpoints if p.reading == "relative_humidity"][:2]
    t = [
        p
        for call in ("cooling", "reheat", "hot_gas")
        for p in found.of(call, "temperature")
        if not p.when and (call != "cooling" or p.relative_humidity == DRY)
    ]
    t = [p for k, p in enumerate(t) if p.level.call not in [q.level.call for q in t[:k]]][:2]
    figure = timing_figure(
        season,
        day,
        units,
        on_wall=True,
        rh_marks=_marks(rh, short=True),
        temperature_marks=_marks(t),
    )
    text = io.StringIO()
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type", "Description"))
    with matplotlib.rc_context({"svg.hashsalt": "moistsim", "svg.fonttype": "path"}):
        figure.savefig(text, format="svg", metadata=nothing)
    svg = text.getvalue()
    return svg[svg.index("<svg") :]


def _marks(points: list[Setpoint], short: bool = False) -> list[tuple[float, str]]:
    marks = []
    for point in points:
        name = point.level.name
        name = {"reheat": "reheat", "hot_gas": "hot gas"}.get(point.level.call, name.split(",")[0])
        if short and ", " in point.level.name:
            name = point.level.name.split(", ")[-1]
        marks.append((point.on, f"{name} on"))
        if point.off is not None and abs(point.off - point.on) > 0.2:
            marks.append((point.off, f"{name} off"))
    return marks


def picture_words(season: Season, day: str, show: Show) -> str:
    """The picture in words, for readers who cannot see it."""
    frame = season.minutes(day)
    rh, t = frame["indoor_rh_pct"], frame["indoor_temperature_C"]
    hours = season.step / 3600.0
    words = [
        f"Indoor RH {rh.min():.0f} to {rh.max():.0f} %",
        f"indoor temperature {show(t.min(), 'temperature', 1)} to {show(t.max(), 'temperature', 1)}",
    ]
    for name, column in (
        ("cooling", "cooling_stage"),
        ("electric reheat", "reheat_stage"),
        ("hot gas", "hot_gas_h"),
        ("heating", "heating_stage"),
        ("dehumidifier", "dehumidifier_h"),
    ):
        on = float((frame[column] > 0.0).sum()) * hours
        if on > 0.0:
            words.append(f"{name} on for {on:.1f} h")
    return "; ".join(words) + "."
