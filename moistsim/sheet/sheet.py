"""The sheet of an option, gathered from its parts."""

import re
from collections.abc import Iterator

import pandas as pd

from moistsim.controls import RuleTable, Strategy, review
from moistsim.core.display import NOTHING, Show, Units, units_or_default
from moistsim.core.errors import InputError
from moistsim.equipment import Equipment
from moistsim.machine_checks import Rig, Today
from moistsim.season import package_version
from moistsim.sheet.cautions import caution_words, duct_words
from moistsim.sheet.checks import check_rows, installed_rows
from moistsim.sheet.control_words import (
    fact_rows,
    purpose_words,
    restart_notes,
    setpoint_notes,
    setpoint_rows,
    setting_rows,
    state_cell,
    state_row,
    wait_rows,
    zone_rows,
)
from moistsim.sheet.gauge_words import (
    amps_together,
    entered_air,
    gauge_names,
    gauge_rows,
    reading_notes,
    used_columns,
)
from moistsim.sheet.picture import check_day, day_picture, picture_day, picture_words, run_season
from moistsim.sheet.probing import probe
from moistsim.sheet.records import COLUMN_NAMES, Sheet
from moistsim.sheet.states import answers, columns
from moistsim.sheet.winter import heats, prove
from moistsim.sheet.winter_words import winter_rows, winter_steps, winter_words
from moistsim.study import Study

AS_IN_THE_FILE = "as in the file"
"""Default note on where the settings come from."""
IN_BOTH = re.compile(r"(\S+) (°C|K) \((\S+ °F)\)")
"""A temperature in both systems of units, as the review writes it."""


def gather(
    study: Study,
    option: str,
    *,
    name: str = "",
    note: str = "",
    today: Today | None = None,
    units: Units | None = None,
    day: str | None = None,
    settings_note: str = AS_IN_THE_FILE,
) -> Sheet:
    """Gather the sheet of an option.

    Parameters
    ----------
    study : Study
        The study of the option. Its base option determines the day of the picture.
    option : str
    name, note : str
        Name and note of the scenario.
    today : Today, optional
        Readings that the installer enters.
    units : {"us", "si"}, optional
    day : str, optional
        Day of the picture, "MM-DD" or "YYYY-MM-DD"; default: the base option's mild, humid day.
    settings_note : str
        Where the settings come from. They are those of the study, such as the one at the goal, and the
        sheet prints this note next to them.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If there is no such option, or the season has no such day.
    """
    units = units_or_default(units, "sequence units")
    if option not in study.options:
        raise InputError("sequence option", option, "one of " + ", ".join(study.options))
    check_day(study, day)
    machines, strategy, house = study.resolved[option]
    show, air_now = Show(units), today or Today()
    found = probe(strategy, machines)
    pressure = float(study.weather.frame["pressure"].mean())
    rig = Rig(house, machines, strategy, pressure, found.hour, found.month)
    season = run_season(study, option)
    chosen, what = picture_day(study, option, season, day)
    every, held = gauge_rows(machines, rig, found, air_now, show)
    gauges, readings = used_columns(gauge_names(show), every)
    winter = (
        prove(house, machines, strategy, study.weather, study.step) if heats(machines) else None
    )
    came_to = answers(strategy, machines, found, rig)
    table = {
        key: [state_cell(key, one, machines, show) for one in came_to] for key in columns(machines)
    }
    used = [key for key, cells in table.items() if set(cells) != {NOTHING}]
    never = [COLUMN_NAMES[key].lower() for key in table if key not in used]
    return Sheet(
        option=option,
        scenario=name,
        note=" ".join(note.split()),
        purpose=purpose_words(found, machines, show),
        facts=(*fact_rows(study, option, show), *zone_rows(season)),
        version=package_version("moistsim"),
        settings=tuple(setting_rows(machines, strategy, show)),
        settings_note=settings_note,
        setpoints=tuple(setpoint_rows(found, machines, show)),
        setpoint_notes=(*setpoint_notes(found), *restart_notes(found)),
        doubts=tuple(_doubts(strategy, machines, show)),
        state_columns=tuple(COLUMN_NAMES[key] for key in used),
        states=tuple(
            state_row(one, tuple(table[key][k] for key in used), show)
            for k, one in enumerate(came_to)
        ),
        never=f"Not called in any of these: {', '.join(never)}." if never else "",
        picture=day_picture(season, chosen, units, found),
        picture_title=f"{what}: {show.day(pd.Timestamp(season.minutes(chosen).index[0]))}",
        picture_text=picture_words(season, chosen, show),
        times=tuple(wait_rows(machines, show)),
        today=(
            f"outdoors {show(air_now.outdoor, 'temperature', 1)}, {air_now.outdoor_rh:.0f} % RH; "
            f"return air {show(air_now.indoor, 'temperature', 1)}, {air_now.indoor_rh:.0f} % RH"
        ),
        entered=tuple(entered_air(rig, air_now, show)),
        installed=tuple(installed_rows(machines, show)),
        checks=tuple(check_rows(machines, rig, found, air_now, show)),
        gauges=gauges,
        readings=readings,
        reading_notes=tuple(reading_notes(rig, held, show)),
        winter=tuple(winter_rows(winter, machines, show)) if winter and winter.differs else (),
        winter_text=winter_words(winter, study, strategy, show),
        winter_steps=tuple(winter_steps(machines, found)) if winter else (),
        amps_together=amps_together(study, machines, rig, found, air_now, show),
        cautions=(*caution_words(machines), *duct_words(season, show)),
        paper="letter" if show.us else "A4",
    )


def _doubts(strategy: Strategy, machines: Equipment, show: Show) -> Iterator[str]:
    """Findings of the review, for a control that is a rule table, in the reader's unit alone."""
    if isinstance(strategy.base, RuleTable):
        for finding in review(strategy, machines):
            yield IN_BOTH.sub(r"\3" if show.us else r"\1 \2", str(finding))
