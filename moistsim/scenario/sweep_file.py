"""Sweep files: a scenario and the values of it that vary, in TOML."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import attrs

from moistsim.core.errors import InputError, Problem, brief, one_of
from moistsim.core.units import WITHOUT_UNIT
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.prices import Tariff
from moistsim.scenario import Scenario, ScenarioError, read_scenario
from moistsim.scenario.descriptions import build, house_of
from moistsim.scenario.places import Place, check_keys, line_of, text_of
from moistsim.scenario.reading import scenario_in
from moistsim.scenario.toml_file import read_toml
from moistsim.scenario.weather import weather_of
from moistsim.sensitivity import Range
from moistsim.study import Study
from moistsim.sweep import Parameter, Sweep, find

_OWN = ("scenario", "sample", "n", "seed", "hourly", "vary")
_RANGE = ("from", "to", "scale")
_SCALES = ("linear", "log")


class SweepFile(NamedTuple):
    """A sweep file as read: the sweep, its scenario, and the other entries of the file."""

    name: str
    note: str
    scenario: Scenario
    sweep: Sweep
    hourly: bool
    """Whether the hourly tables are to be kept."""
    varied: dict[str, str]
    """The varied values in words, by dotted name."""
    path: Path
    """The file that was read."""


def read_sweep(path: str | Path) -> SweepFile:
    """Read a sweep from a TOML file.

    At the top of the file stand

    ``scenario``
        The path of a scenario, relative to the folder of the file. Default: the tables of the
        scenario are in this file, as in `read_scenario`.
    ``name``, ``note``
        Default: those of the scenario.
    ``sample``, ``n``, ``seed``
        As for `Sweep`.
    ``hourly``
        Whether to keep the hourly tables: true or false; default: false.

    and a table ``[vary]``, whose keys are the dotted names of `Sweep`, in quotes or not. A value is

    * a list of numbers or texts: ``house.ach50 = [1, 3, 5]``;
    * a range: ``{ from = "10 cent/kWh", to = "35 cent/kWh" }``, with ``scale = "log"`` for a uniform
      logarithm;
    * for ``weather``, a list of tables like ``[weather]`` in a scenario:
      ``[{ sample = "miami" }, { file = "place.csv" }]``, each with an optional ``label``;
    * for a whole part, a list of tables, each with a ``label`` and the fields of the part, or with
      ``absent = true`` instead of fields, or with ``list`` for a part that is a list.

    Values that depend on others, and cases to skip, need functions. Use `Sweep` in Python for them.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    SweepFile
        The sweep with its scenario.

    Raises
    ------
    ScenarioError
        If the file cannot be used. The message names file, table and key.

    Examples
    --------
    >>> import tempfile
    >>> from moistsim.scenario import DEMO
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = Path(folder) / "sweep.toml"
    ...     _ = file.write_text(DEMO.read_text() + "\\n[vary]\\nhouse.bedrooms = [2, 3]\\n")
    ...     read_sweep(file).varied
    {'house.bedrooms': '2, 3'}
    """
    path = Path(path)
    place = Place(path.name, folder=path.parent)
    table = read_toml(path)
    if "vary" not in table:
        accepted = "a table [vary]: dotted names such as house.ach50, each with its values"
        raise place.error("", Problem("no [vary]"), accepted)
    if "scenario" in table:
        check_keys(table, ("name", "note", *_OWN), place)
        file = path.parent / text_of(table, "scenario", place)
        if not file.is_file():
            accepted = "the path of a scenario, as seen from this file's folder"
            raise place.error(
                "scenario", Problem(f"{brief(table['scenario'])} is not a file"), accepted
            )
        scenario = read_scenario(file)
    else:
        scenario = scenario_in({k: v for k, v in table.items() if k not in _OWN}, path)
    hourly = table.get("hourly", False)
    if not isinstance(hourly, bool):
        raise place.error("hourly", hourly, "true or false")
    inner = place.inside("vary")
    vary: dict[str, Any] = {}
    for name, value in _named(table["vary"], inner):
        if name in vary:
            raise inner.error(
                "", Problem(f"{brief(name)} twice"), "each name once, in quotes or not"
            )
        vary[name] = _values(scenario.study, name, value, inner)
    if not vary:
        raise inner.error(
            "", Problem("empty"), "dotted names such as house.ach50, each with its values"
        )
    chosen = {key: table[key] for key in ("sample", "n", "seed") if key in table}
    try:
        sweep = Sweep(scenario.study, vary, **chosen)
        sweep.cases()  # Drawn once: what the sample refuses is refused here.
    except InputError as error:
        raise _moved(error, place) from None
    return SweepFile(
        line_of(table, "name", place, scenario.name),
        line_of(table, "note", place, scenario.note),
        scenario,
        sweep,
        hourly,
        {name: _words(value, sweep.units.get(name, "")) for name, value in vary.items()},
        path,
    )


def _words(value: Any, unit: str) -> str:
    """Values as written, with a unit added to plain numbers."""
    if isinstance(value, Range):
        items: list[Any] = [value.low, value.high]
        text = f"{value.low} to {value.high}"
        end = ", by logarithm" if value.logarithmic else ""
    else:
        items = [*value]
        text = ", ".join(map(str, items[:8]))
        end = f" and {len(items) - 8} more" if len(items) > 8 else ""
    bare = unit not in WITHOUT_UNIT and all(isinstance(item, int | float) for item in items)
    return text + (f" {unit}" if bare and unit else "") + end


def _named(table: Any, place: Place, before: str = "") -> Iterator[tuple[str, Any]]:
    """Dotted names and their values; a key without quotes makes tables within tables."""
    if not isinstance(table, dict):
        raise place.error("", table, "a table of dotted names and values")
    for key, value in table.items():
        if isinstance(value, dict) and not value.keys() & {*_RANGE}:
            if not value:
                raise place.error(before + key, Problem("empty"), "a list of values or a range")
            yield from _named(value, place, f"{before}{key}.")
        else:
            yield before + key, value


def _values(study: Study, name: str, value: Any, place: Place) -> Any:
    """Convert a value of ``[vary]`` to the form that `Sweep` accepts."""
    try:
        parameter = find(study, name)
    except InputError as error:
        raise place.error("", name, error.accepted, error.problem) from None
    if isinstance(value, dict):
        return _range(parameter, value, place)
    if not isinstance(value, list) or not value:
        accepted = "a list of values, or a range { from = ..., to = ... }"
        if parameter.kind != "number":
            accepted = "a list of values"
        raise place.error(name, value, accepted)
    if parameter.kind != "whole":
        return value
    labeled: dict[str, Any] = {}
    for number, row in enumerate(value, 1):
        item = place.inside(name, number)
        if not isinstance(row, dict):
            what = "a sample or a file" if name == "weather" else "a label and its fields"
            raise item.error("", row, f"a table with {what}")
        rest = {k: v for k, v in row.items() if k != "label"}
        if name == "weather":
            made: Any = weather_of(rest, item)[0]
            label = text_of(row, "label", item, made.name or made.checksum)
        else:
            made = _part(parameter, rest, item)
            label = text_of(row, "label", item)
        if not label.strip():
            raise item.error("label", Problem("empty"), "a text that stands for it in the tables")
        if label in labeled:
            raise item.error(
                "label", Problem(f"{brief(label)} twice"), "a label of its own for each"
            )
        labeled[label] = made
    return labeled


def _range(parameter: Parameter, table: dict[str, Any], place: Place) -> Range:
    inner = place.inside(parameter.name)
    if parameter.kind != "number":
        raise inner.error("", Problem("a range"), "a list of values: it is no number")
    check_keys(table, _RANGE, inner)
    ends = []
    for key in ("from", "to"):
        if key not in table:
            raise inner.error(key, Problem("missing"), "where the range ends")
        try:
            ends.append(parameter.read(table[key]))
        except InputError as error:
            raise inner.error(key, error.found, error.accepted, error.problem) from None
    if not ends[0] < ends[1]:
        accepted = f"more than where the range begins, {brief(table['from'])}"
        raise inner.error("to", table["to"], accepted)
    scale = table.get("scale", "linear")
    if scale not in _SCALES:
        raise inner.error("scale", scale, one_of(str(scale), _SCALES))
    return Range(table["from"], table["to"], scale == "log")


def _part(parameter: Parameter, table: dict[str, Any], place: Place) -> Any:
    """Build a whole part of a study from its table."""
    if "absent" in table:
        if table != {"absent": True}:
            raise place.error("absent", table, "absent = true and a label, nothing else")
        return None
    kind, many = _kind(parameter.path)
    if kind is None or many:
        rows = check_keys(table, ("list",), place).get("list")
        if not isinstance(rows, list):
            raise place.error("list", rows, "a list of what the part holds")
        if kind is not None:
            return [build(kind, row, place.inside("list", k)) for k, row in enumerate(rows, 1)]
        return rows
    return house_of(table, place) if kind is House else build(kind, table, place)


def _kind(path: tuple[str, ...]) -> tuple[Any, bool]:
    """Class of the description at a path, if there is one, and whether the path holds a list."""
    kind: Any = {"house": House, "tariff": Tariff, "equipment": Equipment}[path[0]]
    many = False
    for key in path[1:]:
        if many:  # a number in the list
            many = False
        else:
            metadata = attrs.fields_dict(kind)[key].metadata
            kind, many = metadata.get("part"), bool(metadata.get("many"))
    return kind, many


def _moved(error: InputError, place: Place) -> ScenarioError:
    """The error of `Sweep`, in the words of the file."""
    where = error.where
    for before, after in (("Sweep.vary['", "']"), ("Sweep '", "'")):
        if where.startswith(before):
            name = where.removeprefix(before).removesuffix(after)
            found = error.found
            return place.inside("vary").error(name, found, error.accepted, error.problem)
    where = where.replace("saltelli_cases(vary)", "[vary]")
    return place.error(where.removeprefix("Sweep."), error.found, error.accepted, error.problem)
