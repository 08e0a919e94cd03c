"""Scenario files: their tables and keys, and how they make a scenario."""

from pathlib import Path
from typing import Any

import attrs

from moistsim.core.errors import Problem, brief, one_of
from moistsim.cures import CurePrices
from moistsim.equipment import Equipment
from moistsim.prices import Emissions, Tariff, Terms
from moistsim.risk import RiskBasis
from moistsim.scenario.descriptions import build, fields_in, house_of
from moistsim.scenario.draws_file import read_draws
from moistsim.scenario.options import option_of, purchases_of
from moistsim.scenario.origins import (
    Changes,
    changes_since_the_run,
    labels_in,
    measured_in,
    stated_in,
)
from moistsim.scenario.places import Place, ScenarioError, check_keys, line_of, text_of
from moistsim.scenario.ranges import by_name, refused, taken_out
from moistsim.scenario.record import Scenario
from moistsim.scenario.short_form import Spelled, as_written, of_its_year, spelled_out, usual_heat
from moistsim.scenario.toml_file import read_toml, tables_of
from moistsim.scenario.weather import season_of, weather_of, years_of
from moistsim.study import Goal, Study

DEMO = Path(__file__).with_name("demo.toml")
"""The demo scenario of the package, an invented house."""
TIGHT_HOUSE = Path(__file__).with_name("tight_house.toml")
"""The first worked example of the documentation: a tight house that stays humid."""
DAMP_CRAWL_SPACE = Path(__file__).with_name("damp_crawl_space.toml")
"""The second worked example of the documentation: a leaky house over a damp crawl space."""

_TOP = (
    "name", "note", "place", "complaint", "base", "weather", "season", "house", "tariff", "emissions", "equipment",
    "options", "economics", "goal", "cures", "risk", "log", "draws", "provenance", "measured",
)  # fmt: skip


def read_scenario(path: str | Path) -> Scenario:
    """Read a scenario from a TOML file.

    A short file has ``place`` ("Miami", a sample's name with its state or without) in place of
    ``[weather]``; ``complaint``, what the owner complains of; a house with ``floor_area``,
    ``people`` and ``year_built`` or ``ach50``; and the air conditioner by its label. Without
    ``[options]`` there is one option, "As found": the thermostat alone, and a dehumidifier if
    there is one. It has a heat pump of the air conditioner's capacity if nothing heats. With
    ``year_built`` the rest of the house follows practice of that year, as in `House.typical`, for
    the climate of the weather and for the crawl space or basement of the file.

    At the top of the file stand ``name``, ``note``, ``place``, ``complaint`` and ``base`` (the
    option that the others are compared with), all optional. Then follow these tables:

    ``[weather]``
        ``sample``, the name of a sample year, or ``file``, a path relative to the scenario's
        folder; optionally ``checksum``, which must match the weather.
    ``[season]``
        ``start``, ``end`` ("MM-DD" or "YYYY-MM-DD") and ``step``, as for `simulate`.
    ``[house]``, ``[tariff]``, ``[emissions]``
        The fields of `House`, `Tariff` and `Emissions`, with parts as inner tables. A table
        ``[house.typical]`` has the fields of `House.typical`; other fields of the house then
        replace its values. Hourly numbers (such as ``[tariff.solar]``) are ``values``, or a table
        ``[tariff.solar.table]`` with a ``file`` and a ``column`` for `HourlyProfile.from_table`.
        Without ``[emissions]``, no emissions are calculated.
    ``[equipment]``
        The fields of `Equipment`, for machines of all options.
    ``[options."name"]``
        ``strategy``, a name in `strategies.BUILT_IN`, or ``rules``, a list of rows for
        `rule_table`; ``additions``, a list of names in `strategies.ADDITIONS`; ``setpoints``, a
        table of setpoints that differ from their defaults (for rules: `cooling_setpoint` and
        `heating_setpoint`); ``equipment``, machines of this option alone, which are added to the
        shared ones or replace them whole; ``second``, the control of a second system; ``house``, what
        the option changes in the house;
        ``purchase``, the fields of `Purchase`, for all options or for none.
    ``[options."name".second]``
        ``strategy`` or ``rules``, ``additions`` and ``setpoints`` for `Equipment.second_system`. Without
        a strategy or rules, the second control is the option's own with these setpoints.
    ``[options."name".house]``
        Fields that differ from ``[house]``, with parts as inner tables: the rest stays. A list
        ``absent`` names what the house then lacks. Stating the air leakage in one way replaces the
        other way.
    ``[economics]``
        The fields of `Terms`. Each option then needs a purchase.
    ``[goal]``
        The fields of `Goal`: how humid the owner lets the house be.
    ``[cures]``
        The fields of `CurePrices`: first costs of work that is tried before any machine.
    ``[risk]``
        The fields of `RiskBasis`, by which the report judges mold, wood, comfort and wear.
    ``[log]``
        How the file of the house's loggers is read; see `read_log`. A study does not use it.
    ``[equipment.cooling.label]``, ``.table`` or ``.typical``
        Instead of ``stages``: the numbers of a certificate, as in `Cooling.from_label`; a ``file``
        of performance data, relative to the scenario's folder, with the arguments of
        `Cooling.from_table`; or class and year, as in `Cooling.typical`.
    ``measured``
        At the top, a list of names of measured values or tables of the file:
        ``["house.ach50", "equipment.ventilation"]``.
    ``draws``
        At the top, the file that `moistsim calibrate` wrote: joint draws of the measured values. They
        take the place of the ranges of these values.
    ``[provenance]``
        Notes of the run that wrote the file: ``stated`` and ``measured``, the names of the values that
        were given to that run; ``labels``; and ``as_run``, a digest of each value. A value that was
        changed since counts as stated. Without these notes, all values of the file count as stated.

    Every quantity is a number in SI or a text with its unit. In ``[house]``, ``[tariff]``,
    ``[economics]``, ``[equipment]`` and in setpoints, equipment, house and purchases of options, a
    number may be a range for `how_sure`: ``"1.5 ± 0.4"`` or ``"80 ± 15 cfm"`` (also ``+-``), with one
    standard deviation after the sign, for a temperature as a difference; ``{ low = 1, high = 3 }``
    for a uniform distribution (of the logarithm with ``scale = "log"``); or ``{ low = 1, likely =
    1.5, high = 3 }`` for a triangle. The study uses the middle: the number before ±, the likely
    value, or the mean of the ends. ``years`` in ``[weather]`` is a list of tables, each with a
    ``sample`` or a ``file``: more years, all equally likely.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    Scenario
        The study with its name, its purchases and its ranges.

    Raises
    ------
    ScenarioError
        If the file cannot be used. The message names file, table and key.

    Examples
    --------
    >>> scenario = read_scenario(DEMO)
    >>> scenario.study.weather.name
    'Miami FL 12839'
    """
    path = Path(path)
    return scenario_in(read_toml(path), path)


def scenario_of(text: str, path: str | Path) -> Scenario:
    """Read a scenario from the text of a file; see `read_scenario`.

    Parameters
    ----------
    text : str
    path : str or Path
        Where the file stands, or would stand: paths in it are relative to its folder.

    Raises
    ------
    ScenarioError

    Examples
    --------
    >>> scenario_of(DEMO.read_text(encoding="utf-8"), "mine.toml").path.name
    'mine.toml'
    """
    path = Path(path)
    return scenario_in(tables_of(text, path), path)


def scenario_in(table: dict[str, Any], path: Path) -> Scenario:
    """The scenario that a table describes, which was read from a file; see `read_scenario`."""
    place = Place(path.name, folder=path.parent)
    check_keys(table, _TOP, place)
    given, spelled = table, spelled_out(table, place)
    table = spelled.tables
    plain, ranges = taken_out(table, place)
    try:
        since = changes_since_the_run(table)
        scenario = _without_ranges(spelled._replace(tables=plain), path, place, since)
    except ScenarioError as error:
        # The error shows the range, because the user did not write its middle.
        for keys in ranges:
            of_range = refused(table, keys, place, error.accepted)
            if error.where == of_range.where:
                raise as_written(of_range, given, place) from None
        raise as_written(error, given, place) from None
    study = scenario.study
    named = by_name(ranges, table, place, study, scenario.purchases, scenario.terms)
    weathers, years = years_of(table["weather"], place.inside("weather"), study)
    if weathers:
        named["weather"] = weathers
    scenario = attrs.evolve(scenario, ranges=named, years=years, log=table.get("log", {}))
    if "draws" not in table:
        return scenario
    file = path.parent / text_of(table, "draws", place)
    logged = scenario.log.get("option", study.base or next(iter(study.options)))
    if logged not in study.options:
        raise place.inside("log").error("option", logged, one_of(str(logged), study.options))
    draws = read_draws(file, study.house, study.resolved[logged].equipment, place)
    # A value that somebody has changed since is no longer the measured one.
    changed = [str(name) for name in draws.draws if name in since.changed | since.gone]
    return attrs.evolve(scenario, draws=draws.without(changed), draws_file=file)


def _without_ranges(spelled: Spelled, path: Path, place: Place, since: Changes) -> Scenario:
    """The scenario of tables that hold numbers alone."""
    table = spelled.tables
    for key, accepted in (
        ("weather", "place = 'Miami', or a table [weather] with a sample or a file"),
        ("house", "a table [house] with a floor_area"),
        ("options", 'tables [options."name"], each with a strategy'),
    ):
        if key not in table or table[key] == {}:
            raise place.error("", Problem(f"no [{key}], or an empty one"), accepted)
    own = table["weather"]
    if isinstance(own, dict):
        own = {key: value for key, value in own.items() if key != "years"}
    weather, source = weather_of(own, place.inside("weather"))
    season = season_of(table.get("season", {}), weather, place.inside("season"))
    described = of_its_year(table["house"], weather, place.inside("house"))
    house = house_of(described, place.inside("house"))
    tariff = build(Tariff, table.get("tariff", {}), place.inside("tariff"))
    emissions = None
    if "emissions" in table:
        emissions = build(Emissions, table["emissions"], place.inside("emissions"))
    shared = fields_in(Equipment, table.get("equipment", {}), place.inside("equipment"))
    if spelled.is_short:
        shared = usual_heat(shared)
    if not isinstance(table["options"], dict):
        raise place.error("options", table["options"], 'tables [options."name"]')
    options = {}
    for name, option in table["options"].items():
        if not name.strip() or not name.isprintable():
            raise place.error(
                "options", Problem(f"the name {brief(name)}"), "a name that can be printed"
            )
        inner = place.inside("options").inside(name)
        options[name] = option_of(option, shared, described, house, inner)
    purchases, terms = {}, None
    if "economics" in table or any("purchase" in option for option in table["options"].values()):
        terms = build(Terms, table.get("economics", {}), place.inside("economics"))
        purchases = purchases_of(table["options"], place)
    base = table.get("base")
    if base is not None and base not in list(options):
        raise place.error("base", base, one_of(str(base), options))
    return Scenario(
        line_of(table, "name", place, path.stem),
        line_of(table, "note", place),
        Study(
            house,
            options,
            weather,
            tariff=tariff,
            emissions=emissions,
            base=base,
            **season,
            goal=build(Goal, table.get("goal", {}), place.inside("goal")),
        ),  # fmt: skip
        source,
        path,
        purchases,
        terms,
        build(RiskBasis, table.get("risk", {}), place.inside("risk")),
        build(CurePrices, table.get("cures", {}), place.inside("cures")),
        stated=stated_in(
            {k: v for k, v in table.items() if k != "options" or not spelled.is_short}, since
        ),
        measured=measured_in(table, place, since),
        labels=labels_in(table),
        complaint=line_of(table, "complaint", place),
    )
