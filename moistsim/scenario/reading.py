"""A scenario read from its TOML file: what may stand in it, and how its tables make one."""

from pathlib import Path
from typing import Any

import attrs

from moistsim.core.errors import Problem, one_of
from moistsim.equipment import Equipment
from moistsim.prices import Emissions, Tariff, Terms
from moistsim.risk import RiskBasis
from moistsim.scenario.descriptions import build, fields_in, house_of
from moistsim.scenario.options import option_of, purchases_of
from moistsim.scenario.origins import measured_in, stated_in
from moistsim.scenario.places import Place, ScenarioError, check_keys, line_of
from moistsim.scenario.ranges import by_name, refused, taken_out
from moistsim.scenario.record import Scenario
from moistsim.scenario.toml_file import read_toml
from moistsim.scenario.weather import season_of, weather_of, years_of
from moistsim.study import Study

DEMO = Path(__file__).with_name("demo.toml")
"""The scenario that comes with the package."""

_TOP = (
    "name", "note", "base", "weather", "season", "house", "tariff", "emissions", "equipment",
    "options", "economics", "risk", "provenance", "measured",
)  # fmt: skip


def read_scenario(path: str | Path) -> Scenario:
    """Read a scenario.

    The file is TOML. At its top stand ``name``, ``note`` and ``base`` (the option that the others
    are compared with), all of which may be left out; then the tables

    ``[weather]``
        ``sample``, the name of a sample year, or ``file``, a path as seen from the scenario's
        folder; ``checksum``, if given, must be that of the weather.
    ``[season]``
        ``start``, ``end`` ("MM-DD" or "YYYY-MM-DD") and ``step``, as for `simulate`.
    ``[house]``, ``[tariff]``, ``[emissions]``
        The fields of `House`, `Tariff` and `Emissions`, their parts as tables within. A table
        ``[house.typical]`` has the fields of `House.typical`; others of the house then replace
        what it gives. Numbers by the hour (such as ``[tariff.solar]``) are ``values``, or a table
        ``[tariff.solar.table]`` with a ``file`` and a ``column``, as `HourlyProfile.from_table`
        takes them. Without ``[emissions]`` none are reckoned.
    ``[equipment]``
        The fields of `Equipment`: machines that all options share.
    ``[options."name"]``
        ``strategy``, a name in `strategies.BUILT_IN`, or in its place ``rules``, a list of rows as
        `rule_table` takes them; ``additions``, a list of names in `strategies.ADDITIONS` that are
        put on top; ``setpoints``, a table of those of all of them that differ from their defaults
        (of rules, `cooling_setpoint` and `heating_setpoint`); ``equipment``, machines of this
        option alone, each added to the
        shared ones or put, whole, in the place of the shared one; ``purchase``, the fields of
        `Purchase`, of all options or of none.
    ``[economics]``
        The fields of `Terms`; options then need a purchase each.
    ``[risk]``
        The fields of `RiskBasis`, by which the report judges mold, wood, comfort and wear.
    ``[equipment.cooling.label]``, ``.table`` or ``.typical``
        In the place of ``stages``: what a certificate says, as `Cooling.from_label` takes it; a
        ``file`` of performance data, as seen from the scenario's folder, and what `fit_table`
        takes; class and year, as for `Cooling.typical`.
    ``measured``
        At the top, a list of names of values that the file gives and that were measured, or of
        tables of them: ``["house.ach50", "equipment.ventilation"]``.
    ``[provenance]``
        Where a run notes what made it. Of it only ``stated`` and ``measured`` are read, the names of
        what was given to that run; without them, all that the file gives counts as stated.

    Every quantity is a number in SI or a text with its unit. In ``[house]``, ``[tariff]``,
    ``[economics]``, ``[equipment]`` and the setpoints, equipment and purchases of options a number
    may be a range, for `how_sure`: ``"1.5 ± 0.4"`` (or ``+-``; ``"80 ± 15 cfm"``), whose second
    number is one standard deviation, and of a temperature a difference; ``{ low = 1, high = 3 }``,
    between which all is as likely (with ``scale = "log"``, all logarithms are); or ``{ low = 1,
    likely = 1.5, high = 3 }``. The study has the middle: the number before ±, the likely one, half
    way between the ends. ``years`` in ``[weather]`` is a list of tables with a ``sample`` or
    ``file`` each: weathers that are all as likely, beside that of the study.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    Scenario

    Raises
    ------
    ScenarioError
        One sentence: file, table and key, what was found, what is accepted.
    """
    path = Path(path)
    return scenario_in(read_toml(path), path)


def scenario_in(table: dict[str, Any], path: Path) -> Scenario:
    """The scenario that a table describes, which was read from a file; see `read_scenario`."""
    place = Place(path.name, folder=path.parent)
    check_keys(table, _TOP, place)
    plain, ranges = taken_out(table, place)
    try:
        scenario = _without_ranges(plain, path, place)
    except ScenarioError as error:
        # The middle of a range is what we made of it; the user wrote the range.
        for keys in ranges:
            of_range = refused(table, keys, place, error.accepted)
            if error.where == of_range.where:
                raise of_range from None
        raise
    study = scenario.study
    named = by_name(ranges, table, place, study, scenario.purchases, scenario.terms)
    weathers, years = years_of(table["weather"], place.inside("weather"), study)
    if weathers:
        named["weather"] = weathers
    return attrs.evolve(scenario, ranges=named, years=years)


def _without_ranges(table: dict[str, Any], path: Path, place: Place) -> Scenario:
    """The scenario of tables that hold numbers alone."""
    for key, accepted in (
        ("weather", "a table [weather] with a sample or a file"),
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
    house = house_of(table["house"], place.inside("house"))
    tariff = build(Tariff, table.get("tariff", {}), place.inside("tariff"))
    emissions = None
    if "emissions" in table:
        emissions = build(Emissions, table["emissions"], place.inside("emissions"))
    shared = fields_in(Equipment, table.get("equipment", {}), place.inside("equipment"))
    if not isinstance(table["options"], dict):
        raise place.error("options", table["options"], 'tables [options."name"]')
    options = {}
    for name, option in table["options"].items():
        if not name.strip() or not name.isprintable():
            raise place.error(
                "options", Problem(f"the name {name!r}"), "a name that can be printed"
            )
        options[name] = option_of(option, shared, place.inside("options").inside(name))
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
        Study(house, weather, options, tariff=tariff, emissions=emissions, base=base, **season),
        source,
        path,
        purchases,
        terms,
        build(RiskBasis, table.get("risk", {}), place.inside("risk")),
        stated=stated_in(table),
        measured=measured_in(table, place),
    )
