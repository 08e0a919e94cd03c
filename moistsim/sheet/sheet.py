"""The sheet of an option, gathered from its parts."""

import pandas as pd

from moistsim.core.display import NOTHING, Show, Units, check_units
from moistsim.core.errors import InputError
from moistsim.machine_checks import DEHUMIDIFIER_VOLTAGE, Rig, Today
from moistsim.season import package_version
from moistsim.sheet.cautions import caution_words, duct_words
from moistsim.sheet.control_words import (
    fact_rows,
    purpose_words,
    setpoint_notes,
    setpoint_rows,
    state_cell,
    state_row,
    wait_rows,
    zone_rows,
)
from moistsim.sheet.gauge_words import amps_together, gauge_names, gauge_rows, reading_notes
from moistsim.sheet.picture import check_day, day_picture, picture_day, picture_words, run_season
from moistsim.sheet.probing import probe
from moistsim.sheet.records import COLUMN_NAMES, Sheet
from moistsim.sheet.states import answers, columns
from moistsim.sheet.winter import heats, prove
from moistsim.sheet.winter_words import winter_rows, winter_steps, winter_words
from moistsim.study import Study


def gather(
    study: Study,
    option: str,
    *,
    name: str = "",
    note: str = "",
    today: Today | None = None,
    units: Units = "us",
    day: str | None = None,
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
    units : {"us", "si"}
    day : str, optional
        Day of the picture, "MM-DD" or "YYYY-MM-DD"; default: the base option's mild, humid day.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If there is no such option, or the season has no such day.
    """
    check_units(units, "sequence units")
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
    readings, drying, held = gauge_rows(machines, rig, found, air_now, show)
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
        setpoints=tuple(setpoint_rows(found, machines, show)),
        setpoint_notes=tuple(setpoint_notes(found)),
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
        gauges=gauge_names(show),
        readings=readings,
        drying=drying,
        drying_columns=(
            f"Condensate, {show.unit('removal')}",
            "Power, W",
            f"Current at {DEHUMIDIFIER_VOLTAGE:.0f} V, A",
        ),
        reading_notes=tuple(reading_notes(rig, held, show)),
        winter=tuple(winter_rows(winter, machines, show)) if winter else (),
        winter_text=winter_words(winter, study, strategy, show),
        winter_steps=tuple(winter_steps(machines, found)) if winter else (),
        amps_together=amps_together(study, machines, rig, found, air_now, show),
        cautions=(*caution_words(machines), *duct_words(season, show)),
    )
