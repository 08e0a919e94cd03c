"""A study as a TOML file: read into descriptions, and written back as run.

The tables and keys are the fields of the descriptions themselves (`House`, `Equipment`, `Tariff`
and what they hold), and the set-points those of the strategy named: there is no other list of
them. Only the frame around them is this file's: weather, season and options.
"""

import datetime
import hashlib
import inspect
import os
import re
import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import attrs

from moistsim.emissions import Emissions
from moistsim.equipment import Cooling, Equipment
from moistsim.hourly_profile import HourlyProfile
from moistsim.house import House
from moistsim.inputs import Input, covers, inputs, keys_of, quoted
from moistsim.purchase import Purchase, Terms
from moistsim.sampling import DISTRIBUTIONS, Distribution
from moistsim.scenario_ranges import Path as Keys
from moistsim.scenario_ranges import dotted, put_in, taken_out
from moistsim.season import package_version
from moistsim.strategies import ADDITIONS, BUILT_IN, RuleTable, Strategy, rule_table
from moistsim.strategies.rules import SETPOINTS
from moistsim.study import Study
from moistsim.tariff import Tariff
from moistsim.typical import TypicalHouse, replaced
from moistsim.uncertain import Uncertain, uncertain_inputs
from moistsim.units import KINDS, InputError, expected, one_of, to_si
from moistsim.weather import Weather
from moistsim.weather_checks import WeatherError

DEMO = Path(__file__).with_name("demo.toml")
"""The scenario that comes with the package."""

_TOP = (
    "name", "note", "base", "weather", "season", "house", "tariff", "emissions", "equipment",
    "options", "economics", "provenance", "measured",
)  # fmt: skip
_WAYS: dict[type, dict[str, tuple[str, tuple[str, ...]]]] = {
    Cooling: {
        "label": (
            "from_label",
            ("capacity", "seer2", "eer2", "kind", "shr", "airflow", "lower_stages"),
        ),
        "table": ("from_table", ("file", "airflow", "capacities", "inputs", "tolerance")),
        "typical": ("typical", ("capacity", "kind", "year", "shr", "airflow", "lower_stages")),
    },
    HourlyProfile: {"table": ("from_table", ("file", "column"))},
}
"""Other ways of describing than by the fields: a table of its name within the description's own,
the method that reads it, and the keys that it may hold."""
_PLAIN = ("count", "fraction", "W/W", "1/year")
"""Units whose numbers stand in a file without one."""


class ScenarioError(InputError):
    """A scenario that cannot be used, in one sentence.

    Parameters
    ----------
    where : str
        File, table and key, as in ``house.toml [house] floor_area``.
    found, accepted : str
        What stood there, and what would be accepted.
    """

    def __init__(self, where: str, found: str, accepted: str) -> None:
        super().__init__(where, found, accepted)

    def __str__(self) -> str:
        return f"{self.where}: found {self.found}; accepted: {self.accepted}"


@attrs.frozen(eq=False)
class Scenario:
    """A study with its name and where it came from."""

    name: str
    note: str
    """What a reader must know, such as that the house is invented."""
    study: Study
    weather: str | Path
    """Name of a weather sample, or the weather file."""
    path: Path
    """The file that was read."""
    purchases: dict[str, Purchase] = attrs.field(factory=dict)
    """One for each option, or none at all."""
    terms: Terms | None = None
    """Of the economics; there are some if there are purchases."""
    ranges: dict[str, Uncertain] = attrs.field(factory=dict)
    """What is uncertain, by dotted name, as `how_sure` takes it; the study has the middle of each."""
    years: dict[str, str | Path] = attrs.field(factory=dict)
    """Where the weathers in ``ranges["weather"]`` come from, by label; as `weather`."""
    stated: frozenset[str] = frozenset()
    """Dotted names of what the file gives, such as ``house.ach50``; all else is our default."""
    measured: frozenset[str] = frozenset()
    """Of these, or of tables of them, what the file says was measured."""

    @property
    def checksum(self) -> str:
        """Sixteen hexadecimal digits (sha256) of all that is run, wherever its file lies."""
        import tomli_w

        table = _as_run(self, self.path.parent)
        del table["provenance"]
        table["weather"] = self.study.weather.checksum
        return hashlib.sha256(tomli_w.dumps(table).encode()).hexdigest()[:16]

    def inputs(self) -> Iterator[Input]:
        """Every value, and whether it was measured, stated or assumed."""
        return inputs(self.study, self.purchases, self.terms, self.stated, self.measured)


class _Place(NamedTuple):
    """A table of a file, for the words of an error."""

    file: str
    table: str = ""
    number: int = 0
    """Counts from 1 in a list of tables; 0 where there is no list."""
    folder: Path = Path()
    """Of the scenario, from which it sees other files."""

    def inside(self, key: str, number: int = 0) -> "_Place":
        table = f"{self.table}.{quoted(key)}" if self.table else quoted(key)
        return self._replace(table=table, number=number)

    def at(self, key: str = "") -> str:
        words = [self.file]
        if self.table:
            words.append(f"[{self.table}]")
        if self.number:
            words.append(f"number {self.number}")
        if key:
            words.append(key)
        return " ".join(words)

    def error(self, key: str, found: str, accepted: str) -> ScenarioError:
        return ScenarioError(self.at(key), found, accepted)

    def moved(self, error: InputError, owner: str, table: dict[str, Any]) -> ScenarioError:
        """The error of a description, in the words of the file that it was made from.

        Parameters
        ----------
        error : InputError
            Names the place as ``owner``, ``owner.key`` or ``owner.key[0].key``.
        owner : str
            The description's class, or the strategy.
        table : dict
            What the file holds, to tell what the user wrote from what the library says of it.
        """
        place, key = self, error.where.removeprefix(owner).removeprefix(".")
        item = re.fullmatch(r"(\w+)\[(\d+)\]\.(\w+)", key)
        if item is not None:
            place, key = self.inside(item[1], int(item[2]) + 1), item[3]
        found = error.found
        if item is None and key in table and not isinstance(found, str | list | tuple):
            # A number is what the library made of the user's text.
            found = table[key]
        written = item is None and key in table and table[key] == found
        found = repr(found) if written else str(found)
        return place.error(key, found, error.accepted)


def _check_keys(table: Any, known: Iterable[str], place: _Place) -> dict[str, Any]:
    if not isinstance(table, dict):
        raise place.error("", repr(table), "a table of keys and values")
    known = list(known)
    for key in table:
        if key not in known:
            raise place.error("", f"the key {key!r}, which is not known", one_of(key, known))
    return table


def _text(table: dict[str, Any], key: str, place: _Place, default: str = "") -> str:
    value = table.get(key, default)
    if not isinstance(value, str):
        raise place.error(key, repr(value), "a text in quotation marks")
    return value


def _parts(kind: Any, table: Any, place: _Place) -> dict[str, Any]:
    """The values that a table gives for the fields of a description, its parts made."""
    fields = attrs.fields_dict(kind)
    _check_keys(table, fields, place)
    values = {}
    for name, value in table.items():
        metadata = fields[name].metadata
        if "part" not in metadata:
            values[name] = value
        elif metadata.get("many"):
            if not isinstance(value, list):
                raise place.error(name, repr(value), f"a list of tables: {metadata['help']}")
            values[name] = [
                _build(metadata["part"], row, place.inside(name, number))
                for number, row in enumerate(value, 1)
            ]
        else:
            values[name] = _build(metadata["part"], value, place.inside(name))
    return values


def _build(kind: Any, table: Any, place: _Place) -> Any:
    """A description made from a table; every error names the file, the table and the key."""
    if isinstance(table, dict) and any(way in table for way in _WAYS.get(kind, ())):
        return _build_by_way(kind, table, place)
    values = _parts(kind, table, place)
    for name, field in attrs.fields_dict(kind).items():
        if field.default is attrs.NOTHING and name not in values:
            metadata = field.metadata
            accepted = f"{metadata['help']}: "
            accepted += "a list, each " if metadata.get("list") else ""
            accepted += (
                expected(metadata["unit"])
                if "unit" in metadata
                else metadata.get("accepted", "a list of tables")
            )
            raise place.error(name, "nothing, though it must be given", accepted)
    try:
        return kind(**values)
    except InputError as error:
        raise place.moved(error, kind.__name__, table) from None


def _build_by_way(kind: Any, table: dict[str, Any], place: _Place) -> Any:
    """A description made by one of its `_WAYS`, with what further fields the table gives."""
    given = [way for way in _WAYS[kind] if way in table]
    rest = {key: value for key, value in table.items() if key not in given}
    # What must be given where no way is taken.
    plain = [f.name for f in attrs.fields(kind) if f.default is attrs.NOTHING]
    both = [*given, *(key for key in plain if key in rest)]
    if len(both) > 1:
        raise place.error(
            "", " and ".join(both) + " together", "one of " + ", ".join([*_WAYS[kind], *plain])
        )
    name, known = _WAYS[kind][given[0]]
    inner, method = place.inside(given[0]), getattr(kind, name)
    told = dict(_check_keys(table[given[0]], known, inner))
    needed = [p.name for p in inspect.signature(method).parameters.values()
              if p.default is p.empty and p.kind is p.POSITIONAL_OR_KEYWORD]  # fmt: skip
    for key in ("file" if key == "source" else key for key in needed):
        if key not in told:
            raise inner.error(key, "nothing, though it must be given", "a value for " + key)
    if "file" in told:
        file = place.folder / _text(told, "file", inner)
        if not file.is_file():
            accepted = "the path of a CSV file, as seen from the scenario's folder"
            raise inner.error("file", f"{told['file']!r}, which is no file", accepted)
        told["source"] = file
        del told["file"]
    try:
        return method(**told, **_parts(kind, rest, place))
    except ScenarioError:
        raise
    except InputError as error:
        owner = f"{kind.__name__}.{name}"
        if error.where.startswith(owner):
            raise inner.moved(error, owner, told) from None
        if error.where.split(".")[0] == kind.__name__:
            raise place.moved(error, kind.__name__, rest) from None
        raise inner.error(error.where, str(error.found), error.accepted) from None


def _weather(table: Any, scenario: Path, place: _Place) -> tuple[Weather, str | Path]:
    _check_keys(table, ("sample", "file", "checksum"), place)
    given = [key for key in ("sample", "file") if key in table]
    if len(given) != 1:
        found = "both sample and file" if given else "neither sample nor file"
        raise place.error("", found, "one of sample = 'name' and file = 'path'")
    text = _text(table, given[0], place)
    source: str | Path = text if "sample" in table else scenario.parent / text
    if isinstance(source, Path) and not source.is_file():
        accepted = "the path of a weather file, as seen from the scenario's folder"
        raise place.error("file", f"{text!r}, which is no file", accepted)
    try:
        weather = Weather.read(source) if isinstance(source, Path) else Weather.sample(source)
    except OSError as error:
        raise place.error("file", f"{text!r} ({error.strerror})", "a readable file") from None
    except WeatherError as error:
        if isinstance(source, Path):
            at = ", ".join(["file", error.where, *([error.column] if error.column else [])])
            raise place.error(at, str(error.found), error.accepted) from None
        # The sentence of `Weather.sample` lists the samples that there are.
        known = error.accepted.split(" or ")
        raise place.error("sample", str(error.found), one_of(source, known)) from None
    sum_given = _text(table, "checksum", place, weather.checksum)
    if sum_given != weather.checksum:
        raise place.error(
            "checksum",
            f"{sum_given!r}, while the weather's own is {weather.checksum!r}",
            "the weather that the scenario was run with, or no checksum",
        )
    return weather, source


def _season(table: Any, weather: Weather, place: _Place) -> dict[str, Any]:
    _check_keys(table, ("start", "end", "step"), place)
    # TOML has dates of its own: a day that is written without quotes arrives as one.
    season = {
        key: value.isoformat() if isinstance(value, datetime.date) else value
        for key, value in table.items()
    }
    try:
        if "step" in season:
            to_si(season["step"], "s", "step")
        weather.between(season.get("start"), season.get("end"))
    except WeatherError as error:
        # What is None to the library is left out in a file.
        accepted = error.accepted.replace("None for", "left out for")
        raise place.error(error.column or "", str(error.found), accepted) from None
    except InputError as error:
        raise place.moved(error, "", season) from None
    return season


def _strategy(table: dict[str, Any], place: _Place) -> Strategy:
    given = [key for key in ("strategy", "rules") if key in table]
    if len(given) != 1:
        found = "both strategy and rules" if given else "neither strategy nor rules"
        accepted = f"strategy, {one_of('', BUILT_IN)}; or rules, a list of rows"
        raise place.error("", found, accepted)
    points, names = table.get("set_points", {}), table.get("additions", [])
    inner = place.inside("set_points")
    if "rules" in table:
        # The rows hold their own thresholds; a key that is none is said before they are read.
        known = [*SETPOINTS]
        for name in names if isinstance(names, list) else []:
            known += [*ADDITIONS[name].settings] if name in list(ADDITIONS) else []
        base: Strategy = _rules(table["rules"], _check_keys(points, known, inner), place)
        strategy = _with_additions(base, names, place)
    else:
        name = table["strategy"]
        if name not in list(BUILT_IN):
            raise place.error("strategy", repr(name), one_of(str(name), BUILT_IN))
        strategy = _with_additions(BUILT_IN[name], names, place)
        _check_keys(points, strategy.settings, inner)
    try:
        return strategy(**points)
    except InputError as error:
        # Of all parts, the one whose check refused.
        raise inner.moved(error, error.where.partition(".")[0], points) from None


def _with_additions(strategy: Strategy, names: Any, place: _Place) -> Strategy:
    if not isinstance(names, list):
        raise place.error("additions", repr(names), 'a list of names: ["set_back"]')
    for name in names:
        if name not in list(ADDITIONS):
            raise place.error("additions", repr(name), one_of(str(name), ADDITIONS))
        try:
            strategy = strategy + ADDITIONS[name]
        except InputError as error:
            raise place.error("additions", str(error.found), error.accepted) from None
    return strategy


def _rules(rows: Any, points: dict[str, Any], place: _Place) -> Strategy:
    """A strategy by its rows."""
    given = {key: value for key, value in points.items() if key in SETPOINTS}
    try:
        return rule_table(rows, name="rules", **given)
    except InputError as error:
        at = re.fullmatch(
            r"rule_table(?: row (\d+))?(?: (\w+))?|strategy rules\.(\w+)", error.where
        )
        row, field, setting = at.groups() if at is not None else (None, None, None)
        key = setting or field or ""
        inner = place.inside("rules", int(row or 0))
        if key in SETPOINTS:
            inner = place.inside("set_points")
        found = f"the key {error.found!r}, which is not known" if row and not key else error.found
        if key and not isinstance(found, str | list | tuple):
            found = given.get(key, found) if key in SETPOINTS else found
        written = found == "nothing, though it must be given" or (row and not key)
        raise inner.error(key, str(found) if written else repr(found), error.accepted) from None


def _house(table: Any, place: _Place) -> House:
    """A house by its fields, or by `typical` ones and those that replace what they give."""
    if isinstance(table, dict) and "typical" in table:
        typical = _build(TypicalHouse, table["typical"], place.inside("typical"))
        given = {key: value for key, value in table.items() if key != "typical"}
        table = replaced(typical.fields(), given)
    house: House = _build(House, table, place)
    return house


def _option(table: Any, shared: dict[str, Any], place: _Place) -> tuple[Equipment, Strategy]:
    known = ("strategy", "rules", "additions", "set_points", "equipment", "purchase")
    _check_keys(table, known, place)
    strategy = _strategy(table, place)
    inner = place.inside("equipment")
    own = _parts(Equipment, table.get("equipment", {}), inner)
    try:
        return Equipment(**{**shared, **own}), strategy
    except InputError as error:
        # A plain value that only the shared table gives is at fault there.
        key = error.where.removeprefix("Equipment.")
        if key in shared and key not in own and not attrs.has(type(shared[key])):
            inner = place._replace(table="equipment", number=0)
        raise inner.moved(error, "Equipment", {**shared, **own}) from None


def _purchases(options: dict[str, Any], place: _Place) -> dict[str, Purchase]:
    """What each option costs to buy; an option without it is named."""
    purchases = {}
    for name, option in options.items():
        inner = place.inside("options").inside(name)
        if "purchase" not in option:
            raise inner.error(
                "",
                "no purchase, though the scenario asks for economics",
                "a table purchase with a first_cost, 0 if nothing is bought",
            )
        purchases[name] = _build(Purchase, option["purchase"], inner.inside("purchase"))
    return purchases


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
        put on top; ``set_points``, a table of those of all of them that differ from their defaults
        (of rules, `cooling_setpoint` and `heating_setpoint`); ``equipment``, machines of this
        option alone, each added to the
        shared ones or put, whole, in the place of the shared one; ``purchase``, the fields of
        `Purchase`, of all options or of none.
    ``[economics]``
        The fields of `Terms`; options then need a purchase each.
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
    ``[economics]``, ``[equipment]`` and the set-points, equipment and purchases of options a number
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
    return scenario_in(_toml(path), path)


def scenario_in(table: dict[str, Any], path: Path) -> Scenario:
    """The scenario that a table describes, which was read from a file; see `read_scenario`."""
    place = _Place(path.name, folder=path.parent)
    _check_keys(table, _TOP, place)

    def refused(keys: Keys, found: Any, accepted: str) -> ScenarioError:
        return _at(place, keys).error(str(keys[-1]), repr(found), accepted)

    plain, ranges = taken_out(table, refused)
    try:
        scenario = _scenario(plain, path, place)
    except ScenarioError as error:
        # The middle of a range is what we made of it; the user wrote the range.
        for keys in ranges:
            if error.where == _at(place, keys).at(str(keys[-1])):
                raise refused(keys, _in(table, keys), error.accepted) from None
        raise
    study, purchases, terms = scenario.study, scenario.purchases, scenario.terms
    named: dict[str, Uncertain] = {}
    for keys, of in ranges.items():
        name = dotted(keys)
        if keys[0] == "equipment" and len(keys) > 1:
            for option, own in plain["options"].items():
                if keys[1] in own.get("equipment", {}):
                    accepted = f"a number, since option {option!r} has another one in its place; "
                    accepted += "ranges in the options' own tables"
                    raise refused(keys, _in(table, keys), accepted)
        try:
            named |= uncertain_inputs(study, purchases, terms, {name: of}, "").ranges
        except InputError as error:
            raise refused(keys, _in(table, keys), error.accepted) from None
    weathers, years = _years(table["weather"], path, place.inside("weather"), study)
    if weathers:
        named["weather"] = weathers
    return attrs.evolve(scenario, ranges=named, years=years)


def _in(table: Any, keys: Keys) -> Any:
    for key in keys:
        table = table[key]
    return table


def _at(place: _Place, keys: Keys) -> _Place:
    """The table in which the last of the keys stands."""
    for key in keys[:-1]:
        place = place._replace(number=key + 1) if isinstance(key, int) else place.inside(key)
    return place


def _years(
    table: dict[str, Any], path: Path, place: _Place, study: Study
) -> tuple[dict[str, Weather], dict[str, str | Path]]:
    """The weathers of which each is as likely, and where they come from."""
    rows = table.get("years", [])
    if not isinstance(rows, list) or ("years" in table and not rows):
        raise place.error("years", repr(rows), "a list of tables, each with a sample or a file")
    weathers: dict[str, Weather] = {}
    sources: dict[str, str | Path] = {}
    for number, row in enumerate(rows, 1):
        inner = place.inside("years", number)
        weather, source = _weather(row, path, inner)
        _season(
            {k: v for k, v in (("start", study.start), ("end", study.end)) if v}, weather, inner
        )
        label = source if isinstance(source, str) else source.name
        while label in weathers:
            label += "'"
        weathers[label], sources[label] = weather, source
    return weathers, sources


def _scenario(table: dict[str, Any], path: Path, place: _Place) -> Scenario:
    """The scenario of tables without ranges."""
    for key, accepted in (
        ("weather", "a table [weather] with a sample or a file"),
        ("house", "a table [house] with a floor_area"),
        ("options", 'tables [options."name"], each with a strategy'),
    ):
        if key not in table or table[key] == {}:
            raise place.error("", f"no [{key}], or an empty one", accepted)
    own = table["weather"]
    if isinstance(own, dict):
        own = {key: value for key, value in own.items() if key != "years"}
    weather, source = _weather(own, path, place.inside("weather"))
    season = _season(table.get("season", {}), weather, place.inside("season"))
    house = _house(table["house"], place.inside("house"))
    tariff = _build(Tariff, table.get("tariff", {}), place.inside("tariff"))
    emissions = None
    if "emissions" in table:
        emissions = _build(Emissions, table["emissions"], place.inside("emissions"))
    shared = _parts(Equipment, table.get("equipment", {}), place.inside("equipment"))
    if not isinstance(table["options"], dict):
        raise place.error("options", repr(table["options"]), 'tables [options."name"]')
    options = {}
    for name, option in table["options"].items():
        if not name.strip() or not name.isprintable():
            raise place.error("options", f"the name {name!r}", "a name that can be printed")
        options[name] = _option(option, shared, place.inside("options").inside(name))
    purchases, terms = {}, None
    if "economics" in table or any("purchase" in option for option in table["options"].values()):
        terms = _build(Terms, table.get("economics", {}), place.inside("economics"))
        purchases = _purchases(table["options"], place)
    stated = _stated(table, place)
    base = table.get("base")
    if base is not None and base not in list(options):
        raise place.error("base", repr(base), one_of(str(base), options))
    return Scenario(
        # The lines of a long text are the file's own, not the reader's.
        " ".join(_text(table, "name", place, path.stem).split()),
        " ".join(_text(table, "note", place).split()),
        Study(house, weather, options, tariff=tariff, emissions=emissions, base=base, **season),
        source,
        path,
        purchases,
        terms,
        stated=stated,
        measured=_measured(table, place),
    )


def _stated(table: dict[str, Any], place: _Place) -> frozenset[str]:
    """What the file gives as its author's own: all of it, but for what a run made explicit."""
    given = frozenset(keys_of(table))
    before = _before(table, "stated")
    if before is not None:
        return before
    own = set(given)
    for key in given:
        # Certificate and table are stages in other words; what is typical is nobody's knowledge.
        for way in ("label", "table"):
            stem, _, rest = key.partition(f".cooling.{way}.")
            if rest:
                own.add(f"{stem}.cooling.stages")
        if ".table." in key:
            own.add(key.partition(".table.")[0] + ".values")
        if ".rules[" in key:
            own.add(key.partition(".rules[")[0] + ".rules")
        if key.startswith("house.typical."):
            own.add(key.replace("house.typical.", "house."))
    return frozenset(own)


def _measured(table: dict[str, Any], place: _Place) -> frozenset[str]:
    """What the file says was measured, or said before it was run."""
    names = table.get("measured", [])
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise place.error("measured", repr(names), 'a list of names such as ["house.ach50"]')
    given = [key for key in keys_of(table) if key != "measured"]
    for name in names:
        if not any(covers(name, key) for key in given):
            raise place.error("measured", repr(name), one_of(name, given))
    return frozenset(names) | (_before(table, "measured") or frozenset())


def _before(table: dict[str, Any], key: str) -> frozenset[str] | None:
    """Names that the run noted which wrote the file, if one did."""
    run = table.get("provenance", {})
    names = run.get(key) if isinstance(run, dict) else None
    return frozenset(map(str, names)) if isinstance(names, list) else None


def _toml(path: Path) -> dict[str, Any]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise ScenarioError(str(path), "no such file", "the path of a scenario file") from None
    except OSError as error:
        # Windows answers the reading of a folder with a refusal.
        found = "a folder" if path.is_dir() else f"a file that cannot be read ({error.strerror})"
        raise ScenarioError(str(path), found, "the path of a scenario file") from None
    except UnicodeDecodeError:
        raise ScenarioError(path.name, "something that is no UTF-8 text", "a TOML file") from None
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        reason = str(error)
        position = re.search(r" \(at line (\d+), column \d+\)$", reason)
        where, found = f"{path.name}, at its end", "text that is no TOML"
        if position is not None:
            reason = reason.removesuffix(position[0])
            where = f"{path.name} line {position[1]}"
            lines = text.splitlines()
            if int(position[1]) <= len(lines):
                found = repr(lines[int(position[1]) - 1].strip())
        raise ScenarioError(
            where,
            found,
            "TOML: [table], key = number or key = 'text with a unit', each key once "
            f"(the reader of TOML says: {reason.removesuffix(' (at end of document)')})",
        ) from None


def write_scenario(scenario: Scenario, path: str | Path) -> None:
    """Write a scenario as it is run: every default made explicit, so that it can be repeated.

    Reading the file gives equal descriptions. Quantities carry the unit that they are kept in.

    Parameters
    ----------
    scenario : Scenario
    path : str or Path
        The file; a weather file is named as seen from its folder.

    Raises
    ------
    InputError
        If an option's strategy is neither built in nor a rule table, so that no file can say it.
    """
    import tomli_w

    path = Path(path)
    head = (
        f"# {scenario.path.name} as run, with every default made explicit: run this file to repeat "
        "it.\n# [provenance] says what made it. Its stated names the values that were given, all others "
        "are\n# defaults: add the names of what you change, and to measured those of what was measured.\n\n"
    )
    path.write_text(
        head + tomli_w.dumps(_as_run(scenario, path.parent)), encoding="utf-8", newline="\n"
    )


def _as_run(scenario: Scenario, folder: Path) -> dict[str, Any]:
    study, weather = scenario.study, scenario.study.weather
    for name, (_, strategy) in study.options.items():
        parts: list[tuple[Any, dict[str, Any]]] = [
            (strategy.base, BUILT_IN),
            *((addition, ADDITIONS) for addition in strategy.additions),
        ]
        for part, known in parts:
            if isinstance(part, RuleTable):
                continue
            if part.name not in known or known[part.name].function is not part.function:
                raise InputError(
                    f"write_scenario option {name!r}", part.name, "one of " + ", ".join(known)
                )
    season = {key: getattr(study, key) for key in ("start", "end", "step")}
    stamps = weather.frame.index[weather.between(study.start, study.end)]
    machines = {name: _explicit(equipment) for name, (equipment, _) in study.options.items()}
    first = next(iter(machines.values()))
    shared = {
        key: value
        for key, value in first.items()
        if all(other.get(key) == value for other in machines.values())
    }
    weathers: Any = scenario.ranges.get("weather", {})
    years = [_source(folder, scenario.years[k], one) for k, one in weathers.items()]
    options = {}
    for name, (_, strategy) in study.options.items():
        own = {key: value for key, value in machines[name].items() if key not in shared}
        bought = scenario.purchases.get(name)
        options[name] = {
            **_control(strategy),
            **({"equipment": own} if own else {}),
            **({"purchase": _explicit(bought)} if bought is not None else {}),
        }
    said = {
        "name": scenario.name,
        "note": scenario.note,
        "base": study.base or next(iter(options)),
        "provenance": {
            "moistsim": package_version("moistsim"),
            "scenario": scenario.path.name,
            "weather": weather.name,
            "weather_source": weather.source,
            "season": f"{stamps[0]:%Y-%m-%d} to {stamps[-1]:%Y-%m-%d}",
            "measured": [i.key for i in scenario.inputs() if i.origin == "measured"],
            "stated": [i.key for i in scenario.inputs() if i.origin == "stated"],
        },
        "weather": {
            **_source(folder, scenario.weather, weather),
            **({"years": years} if years else {}),
        },
        "season": {key: value for key, value in season.items() if value is not None},
        "house": _explicit(study.house),
        "tariff": _explicit(study.tariff),
        **({"economics": _explicit(scenario.terms)} if scenario.terms is not None else {}),
        **({} if study.emissions is None else {"emissions": _explicit(study.emissions)}),
        "equipment": shared,
        "options": options,
    }
    for name, of in scenario.ranges.items():
        if isinstance(of, DISTRIBUTIONS):
            _put_in(said, scenario, name, of)
    return said


def _put_in(said: dict[str, Any], scenario: Scenario, name: str, of: Distribution) -> None:
    known = uncertain_inputs(
        scenario.study, scenario.purchases, scenario.terms, {name: of}, "write_scenario"
    )
    put_in(said, name, of, lambda value: _quantity(value, known.units[name]))


def _source(folder: Path, source: str | Path, weather: Weather) -> dict[str, Any]:
    """A weather in a file's words."""
    where = {"file": _seen_from(folder, source)} if isinstance(source, Path) else {"sample": source}
    return {**where, "checksum": weather.checksum}


def _control(strategy: Strategy) -> dict[str, Any]:
    """What a file says of a strategy: its name or rows, and its set-points."""
    points = {
        key: _quantity(value, strategy.units.get(key, "count"))
        for key, value in strategy.settings.items()
    }
    base, additions = strategy.base, strategy.additions
    said: dict[str, Any] = {"strategy": base.name}
    if isinstance(base, RuleTable):
        said = {"rules": base.sentences}
        known = [*SETPOINTS, *(key for addition in additions for key in addition.settings)]
        points = {key: value for key, value in points.items() if key in known}
    if additions:
        said["additions"] = [addition.name for addition in additions]
    return {**said, **({"set_points": points} if points else {})}


def _seen_from(folder: Path, file: Path) -> str:
    try:
        return Path(os.path.relpath(file, folder)).as_posix()
    except ValueError:  # another drive
        return file.resolve().as_posix()


def _quantity(value: float, unit: str) -> float | str:
    return value if unit in _PLAIN else f"{value!r} {unit}"


def _explicit(described: Any) -> dict[str, Any]:
    """A description as a table of all its fields; what is absent (None) stays left out."""
    table: dict[str, Any] = {}
    for field in attrs.fields(type(described)):
        value, metadata = getattr(described, field.name), field.metadata
        if value is None:
            continue
        if "part" in metadata:
            table[field.name] = (
                [_explicit(item) for item in value] if metadata.get("many") else _explicit(value)
            )
        elif metadata.get("list"):
            table[field.name] = [_quantity(item, metadata["unit"]) for item in value]
        elif metadata.get("profile"):
            table[field.name] = list(value)
        else:
            unit = metadata.get("unit")
            table[field.name] = _quantity(value, unit) if unit in KINDS else value
    return table
