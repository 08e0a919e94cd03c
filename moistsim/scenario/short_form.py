"""The short form of a scenario file: everyday names, and what a file may leave out.

A file needs a place, a floor area and the air conditioner. The short form is spelled out into the
tables of the long one before anything else reads it.
"""

import difflib
import re
from typing import Any, NamedTuple

import attrs

from moistsim.core.errors import Fix, InputError, Problem, brief, one_of
from moistsim.equipment import HeatPump
from moistsim.house import House, TypicalHouse
from moistsim.scenario.places import Place, ScenarioError, text_of
from moistsim.weather import Weather

AS_FOUND = "As found"
"""Name of the option of a file without options: the house and its machines as they are."""
_LABEL = "[equipment.cooling.label] with capacity = '2.5 ton' and seer2 = 14.3"
"""An air conditioner as an owner can write it."""
_KEYS = ("people", "year_built")
"""Keys of ``[house]`` in the short form alone."""
PLACES = {
    "miami": ("fl", "florida"),
    "greensboro": ("nc", "north carolina"),
    "sand_point": ("ak", "alaska"),
}
"""Places whose weather comes with the program, each with the names of its state."""


class Spelled(NamedTuple):
    """A scenario's tables in the long form."""

    tables: dict[str, Any]
    is_short: bool
    """Whether the file has no options, so the machines run as found."""


def spelled_out(table: dict[str, Any], place: Place) -> Spelled:
    """The tables with the place as a weather, people as occupants, and an option.

    Raises
    ------
    ScenarioError
        If the file has no weather, no house or no air conditioner, or says a thing twice.
    """
    tables = dict(table)
    if "place" in tables:
        tables["weather"] = _weather(tables, place)
        del tables["place"]
    house = tables.get("house")
    described: Any = House
    for key in house if isinstance(house, dict) else ():
        known = key in _KEYS or key in attrs.fields_dict(described)
        if not known and difflib.get_close_matches(key, _KEYS, cutoff=0.7):
            unknown = Problem(f"unknown key {brief(key)}")
            every = (*_KEYS, *attrs.fields_dict(described))
            raise place.inside("house").error("", unknown, one_of(key, every))
    if isinstance(house, dict) and "people" in house:
        gains = house.get("gains", {})
        if not isinstance(gains, dict) or "occupants" in gains:
            raise place.inside("house").error(
                "people", Problem("people and gains.occupants are both given"), "one of them"
            )
        rest = {key: value for key, value in house.items() if key != "people"}
        tables["house"] = {**rest, "gains": {**gains, "occupants": house["people"]}}
    if isinstance(tables.get("measured"), list):
        names = {"house.people": "house.gains.occupants"}
        tables["measured"] = [
            names.get(name, name) if isinstance(name, str) else name for name in tables["measured"]
        ]
    is_short = "options" not in tables
    if is_short:
        _check_whole(tables, place)
        tables["options"] = {AS_FOUND: _as_found(tables.get("equipment", {}), place)}
    return Spelled(tables, is_short)


def as_written(error: ScenarioError, table: dict[str, Any], place: Place) -> ScenarioError:
    """An error about a spelled-out key, with the key that the file has."""
    house = place.inside("house")
    where = house.inside("gains").at("occupants")
    own = table.get("house")
    if error.where == where and isinstance(own, dict) and "people" in own:
        return house.error("people", error.found, error.accepted, error.problem)
    return error


def _weather(tables: dict[str, Any], place: Place) -> dict[str, Any]:
    """The table of a place's weather."""
    name = text_of(tables, "place", place)
    own = tables.get("weather", {})
    if not isinstance(own, dict) or any(key in own for key in ("sample", "file")):
        found = Problem("place and the weather of [weather] are both given")
        raise place.error("place", found, "one of them")
    town, _, state = (part.strip().lower() for part in name.partition(","))
    for sample, states in PLACES.items():
        if re.sub(r"[ _-]+", "_", town) == sample and (not state or state in states):
            return {**own, "sample": sample}
    samples = " or ".join(f"'{sample.replace('_', ' ').title()}'" for sample in PLACES)
    raise place.error(
        "place",
        Problem(f"no weather of {brief(name)} comes with the program"),
        f"{samples}; or fetch a file with “moistsim weather LATITUDE LONGITUDE --out place.csv”, and "
        "write [weather] file = 'place.csv' in place of this line",
    )


def _check_whole(tables: dict[str, Any], place: Place) -> None:
    """Raise one error for all that is missing, if it is more than one thing."""
    equipment = tables.get("equipment")
    lacking = {
        "weather": "place = 'Miami'" if "weather" not in tables else "",
        "house": "[house] with floor_area = '1,800 ft2'" if "house" not in tables else "",
        "air conditioner": _LABEL
        if not isinstance(equipment, dict) or not {"cooling", "room_heater"} & {*equipment}
        else "",
    }
    lacking = {name: text for name, text in lacking.items() if text}
    if len(lacking) > 1:
        problem = Problem(f"no {' and no '.join(lacking)}")
        raise place.error("", problem, Fix(f"Write {'; '.join(lacking.values())}"))


def _as_found(equipment: Any, place: Place) -> dict[str, Any]:
    """The option of the machines as found."""
    if not isinstance(equipment, dict) or not {"cooling", "room_heater"} & {*equipment}:
        raise place.error(
            "",
            Problem("no air conditioner"),
            Fix(
                f"What does its label say? Write {_LABEL}; or [equipment.cooling.typical] with "
                "capacity and year"
            ),
        )
    box = equipment.get("dehumidifier")
    by_control = isinstance(box, dict) and "humidistat" not in box
    strategy = "with_dehumidifier" if by_control else "temperature_only"
    return {"strategy": strategy, "purchase": {"first_cost": 0}}


def usual_heat(machines: dict[str, Any]) -> dict[str, Any]:
    """The machines, with a heat pump of the air conditioner's capacity if nothing heats."""
    if any(machines.get(name) is not None for name in ("heating", "furnace", "room_heater")):
        return machines
    return {**machines, "heating": HeatPump(capacity=machines["cooling"].stages[-1].capacity)}


def of_its_year(house: Any, weather: Weather, place: Place) -> Any:
    """The table of a house, with the practice of its year of construction if it gives one.

    Raises
    ------
    ScenarioError
    """
    if not isinstance(house, dict) or "year_built" not in house:
        return house
    if "typical" in house:
        found = Problem("year_built and [house.typical] are both given")
        raise place.error("year_built", found, "one of them")
    if len(weather.frame) < 8000:
        found = Problem("the weather is too short to know the climate by it")
        raise place.error("year_built", found, "[house.typical] with year and climate")
    year = house["year_built"]
    rest = {key: value for key, value in house.items() if key != "year_built"}
    if "floor_area" not in rest:
        return rest  # It is asked for next.
    shared = {key: rest[key] for key in ("floor_area", "stories") if key in rest}
    typical = {**shared, "year": year, "climate": climate_of(weather)}
    typical |= {"foundation": foundation} if (foundation := _foundation(rest)) else {}
    try:
        TypicalHouse(floor_area=100.0, year=year)
    except InputError as error:
        raise place.error("year_built", year, error.accepted, error.problem) from None
    return {**rest, "typical": typical}


def _foundation(house: dict[str, Any]) -> str:
    """What the house stands on, in the words of `TypicalHouse`; empty for its default."""
    crawl_space = house.get("crawl_space")
    if isinstance(crawl_space, dict):
        kind = crawl_space.get("kind", "vented")
        return f"{kind} crawl space" if kind in ("closed", "encapsulated") else "crawl space"
    ducts = house.get("ducts")
    location = ducts.get("location") if isinstance(ducts, dict) else ""
    if "basement" in house or location == "basement":
        return "basement"
    return "crawl space" if location == "crawl space" else ""


HOT_CDD10, COLD_HDD18 = 3500.0, 3000.0
"""Degree days, K d, above which a climate is hot and cold: the upper limits of the thermal zones 3
and 4 of ANSI/ASHRAE Standard 169, from memory."""


def climate_of(weather: Weather) -> str:
    """The climate of a weather, in the words of `TypicalHouse`, by its degree days.

    Examples
    --------
    >>> [climate_of(Weather.sample(name)) for name in ("miami", "greensboro", "sand_point")]
    ['hot', 'mixed', 'cold']
    """
    days = weather.frame["temp_air"].resample("D").mean().dropna()
    if float((days - 10.0).clip(lower=0.0).sum()) > HOT_CDD10:
        return "hot"
    return "cold" if float((18.0 - days).clip(lower=0.0).sum()) > COLD_HDD18 else "mixed"
