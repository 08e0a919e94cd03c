"""Scenario files as a careless user leaves them: starting files, and slips in their lines and tables."""

import copy
import math
import re
import tomllib
from typing import Any

import attrs
import tomli_w
from hypothesis import strategies as st
from support.careless import careless_value, legal, misspelled, nonsense
from support.damaged import NONSENSE, STRAYS, damaged
from support.scenario_files import FIVE_OPTIONS, HOUSE

from moistsim.cures import CurePrices
from moistsim.equipment import Equipment
from moistsim.house import House, TypicalHouse
from moistsim.prices import Emissions, Purchase, Tariff, Terms
from moistsim.risk import RiskBasis
from moistsim.scenario import DAMP_CRAWL_SPACE, DEMO, TIGHT_HOUSE, new_house
from moistsim.study import Goal

SEASON = {"start": "10-22", "end": "10-23"}
WEATHER = {"file": "october.csv"}

LACKING = 'strategy = "with_dehumidifier"\n[options.Reheat]'
EVERYTHING = """\
name = "House with most of what a file may say"
base = "Rules"
[weather]
file = "october.csv"
[season]
start = "10-22"
end = 1990-10-23
step = "60 s"
[house]
floor_area = "1,800 ft2"
stories = 2
bedrooms = 3
[house.leakage]
cfm50 = "1200 cfm"
[house.second_zone]
kind = "upper floor"
share = "45 %"
[house.crawl_space]
kind = "vented"
[house.attic]
kind = "vented"
[house.garage]
[house.ducts]
location = "attic"
supply_leakage = "8 %"
[house.gains]
occupants = 3
moisture = "20 pint/day"
[tariff]
fixed_charge = "12 USD/month"
gas_price = "1.4 USD/therm"
[[tariff.seasons]]
name = "summer"
days = ["06-01 to 09-30"]
[[tariff.seasons.periods]]
name = "peak"
price = "30 cent/kWh"
hours = ["14:00 to 20:00"]
[[tariff.seasons.periods]]
name = "rest"
price = "12 cent/kWh"
[[tariff.seasons]]
name = "winter"
days = ["10-01 to 05-31"]
price = "12 cent/kWh"
[[tariff.demand]]
name = "demand"
price = "8 USD/kW"
hours = ["14:00 to 20:00"]
[emissions]
electricity = "0.4 kg/kWh"
[economics]
years = 12
[goal]
above_rh = "60 %"
hours = 50
[cures]
[risk]
[equipment.cooling.label]
capacity = "3 ton"
seer2 = 15.2
[equipment.furnace]
capacity = "60 kBtu/h"
efficiency = "80 %"
[equipment.strips]
stages = ["4 kW", "4 kW"]
[equipment.sensor]
humidity_offset = "2 %"
[equipment.relays]
release_after = "15 min"
[options.Rules]
rules = [
    { do = "cooling stage 1", when = "temperature > 77 F", release_when = "temperature < 75 F" },
    { do = "strips stage 1", when = "humidity > 60 %", for = "5 min", release_when = ["humidity < 55 %"] },
]
purchase = { first_cost = 0 }
[options.Box]
strategy = "with_dehumidifier"
additions = ["slower_airflow"]
setpoints = { cooling_setpoint = "75 ± 1 F", target_rh = { low = "48 %", likely = "50 %", high = "55 %" } }
purchase = { first_cost = "1,800 ± 250 USD", life = "10 year", maintenance = "30 USD/year" }
[options.Box.equipment.dehumidifier]
capacity = "90 pint/day"
energy_factor = "2.2 L/kWh"
[options.Box.house.leakage]
cfm50 = "700 cfm"
"""
TYPICAL = """\
[weather]
file = "october.csv"
[season]
start = "10-22"
end = "10-23"
[house.typical]
floor_area = "1900 ft2"
year = 1998
climate = "hot"
[equipment.cooling.typical]
capacity = "3 ton"
year = 2005
[options.plain]
strategy = "overcooling"
"""


def _brief(text: str) -> str:
    """A file of the package with ten days of weather and a season of two days."""
    tables = tomllib.loads(text)
    tables["weather"], tables["season"] = WEATHER, SEASON
    return tomli_w.dumps(tables)


def _files() -> dict[str, str]:
    new = new_house("house.toml")
    full = re.sub(r"^#(?! |$|-)", "", new, flags=re.MULTILINE)
    full = full.replace('"04-01"', f'"{SEASON["start"]}"').replace('"10-31"', f'"{SEASON["end"]}"')
    return {
        "demo": _brief(DEMO.read_text(encoding="utf-8")),
        "tight house": _brief(TIGHT_HOUSE.read_text(encoding="utf-8")),
        "crawl space": _brief(DAMP_CRAWL_SPACE.read_text(encoding="utf-8")),
        "small house": HOUSE.replace("june", "october")
        .replace("06-02", "10-22")
        .replace("06-05", "10-23"),
        "five options": FIVE_OPTIONS.replace("10-25", "10-23").replace(
            LACKING, LACKING.replace("with_dehumidifier", "temperature_only")
        ),
        "everything": EVERYTHING,
        "typical": TYPICAL,
        "new house": new + '\n[season]\nstart = "10-22"\nend = "10-23"\n',
        "new house in full": full,
    }


BEGIN = _files()
"""Files to begin with, by name: two days each; those of the new house need a whole year of weather."""


TABLES: dict[tuple[str, ...], type] = {
    ("house",): House,
    ("house", "typical"): TypicalHouse,
    ("tariff",): Tariff,
    ("emissions",): Emissions,
    ("economics",): Terms,
    ("goal",): Goal,
    ("cures",): CurePrices,
    ("risk",): RiskBasis,
    ("equipment",): Equipment,
}
"""Tables of a file that are descriptions."""
OWN = {"house": House, "equipment": Equipment, "purchase": Purchase}
"""Those of an option."""


# ------------------------------------------------------------------ slips in the text


@st.composite
def slip_in_text(draw: st.DrawFn, text: str) -> str:
    """One slip of a hand or an editor in the lines of a file."""
    lines = text.splitlines()
    filled = [k for k, line in enumerate(lines) if line.strip() and not line.startswith("#")]
    if not filled:
        return text
    k = draw(st.sampled_from(filled))
    line = lines[k]
    key, equals, value = line.partition(" = ")
    how = draw(st.integers(0, 15))
    if how == 0:
        del lines[k]
    elif how == 1:
        lines.insert(k, line)
    elif how == 2:
        other = draw(st.sampled_from(filled))
        lines[k], lines[other] = lines[other], line
    elif how == 3:
        at = draw(st.integers(0, len(line)))
        lines[k] = line[:at] + draw(st.sampled_from(STRAYS)) + line[at:]
    elif how == 4 and equals:
        lines[k] = f"{draw(misspelled(key.strip()))} = {value}"
    elif how == 5 and equals:
        wild = draw(st.sampled_from(["", "nan", "inf", "-inf", "1e400", "true", "{}", "[]", "None", "''", "1990-02-30", "12:00:00",
                                     "0x1F", "1_000", "+5", "5.", ".5", '"5', "[" * 3000 + "]" * 3000, "{a=" * 400 + "1" + "}" * 400,
                                     "9" * 100_000, '"' + "9" * 100_000 + '"', "[" * 3000, '"\\u0000"', '"\\uD800"', "9" * 400]))  # fmt: skip
        lines[k] = f"{key} = {wild}"
    elif how == 6 and equals:
        lines[k] = f"{key} = {draw(damaged(value))}"
    elif how == 7 and equals:
        word = draw(st.sampled_from(NONSENSE)).replace("\\", "\\\\").replace('"', '\\"')
        lines[k] = f'{key} = "{word}"'
    elif how == 8:
        lines[k] = f"{key} = {value.strip(chr(34))}" if equals else line.strip("[]")
    elif how == 9:
        lines[k] = draw(damaged(line))
    elif how == 10:
        lines = lines[:k]
    elif how == 11:
        lines[k] = line[: draw(st.integers(0, len(line)))]
    elif how == 12 and line.startswith("["):
        lines[k] = "[" + draw(misspelled(line.strip("[]"))) + "]"
    elif how == 13:
        lines = [*lines[:k], draw(st.sampled_from(["[zzz]", "[house]", "[[house]]", "[options]", "a.b.c = 1", "= 5", "[", "]", "[]",
                 "[options.\"\"]", "[options.\"$x_1$ #2 \\\\frac{1}{2}\"]", "[house.house]", "[equipment.cooling.cooling]", "[[options]]",
                 "[weather.years]", "[provenance]", "measured = [1]", "base = 3", "[equipment.heating]", "[second]"])), *lines[k:]]  # fmt: skip
    else:
        lines[k] = draw(damaged(line))
    return "\n".join(lines) + "\n"


# ------------------------------------------------------------------ slips in the tables


def _places(tables: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = []
    items = tables.items() if isinstance(tables, dict) else enumerate(tables)
    for key, value in items:
        found.append((*path, key))
        if isinstance(value, dict | list):
            found += _places(value, (*path, key))
    return found


def _owner(tables: Any, path: tuple[Any, ...]) -> Any:
    for key in path[:-1]:
        tables = tables[key]
    return tables


@st.composite
def slip_in_tables(draw: st.DrawFn, tables: dict[str, Any]) -> dict[str, Any]:
    """One slip in what a file says: a key lost, misspelled or moved, or a value of another kind."""
    tables = copy.deepcopy(tables)
    places = _places(tables)
    if not places:
        return tables
    path = draw(st.sampled_from(places))
    owner, key = _owner(tables, path), path[-1]
    value = owner[key]
    how = draw(st.integers(0, 13))
    if how == 0:
        del owner[key]
    elif how == 1 and isinstance(owner, dict):
        owner[draw(misspelled(key))] = owner.pop(key)
    elif how == 2:
        owner[key] = draw(nonsense())
    elif how == 3 and isinstance(value, int | float) and not isinstance(value, bool):
        factor = draw(
            st.sampled_from([1000.0, 0.001, 3.6e6, -1.0, 10.76, 0.3048, 100.0, 0.01, 2119.0])
        )
        owner[key] = value * factor
    elif how == 4 and isinstance(value, str):
        owner[key] = draw(damaged(value))
    elif how == 5:
        owner[key] = draw(
            st.sampled_from([[value], {"value": value}, str(value), {"low": value, "high": value}])
        )
    elif how == 6:
        other = draw(st.sampled_from(places))
        there = _owner(tables, other)
        if isinstance(there, dict) and isinstance(other[-1], str):
            there[other[-1]] = copy.deepcopy(value)
    else:
        _described(draw, tables)
    return tables


def _described(draw: Any, tables: dict[str, Any]) -> None:
    """Give a field of a description, found by its declaration, a careless or a legal value."""
    names = [*tables.get("options", {})] if isinstance(tables.get("options"), dict) else []
    where: list[tuple[tuple[str, ...], type]] = [*TABLES.items()]
    where += [(("options", name, part), kind) for name in names for part, kind in OWN.items()]
    path, kind = draw(st.sampled_from(where))
    table: Any = tables
    for key in path:
        if not isinstance(table, dict):
            return
        table = table.setdefault(key, {})
    while isinstance(table, dict):
        field = draw(st.sampled_from(attrs.fields(kind)))
        part = field.metadata.get("part")
        if part is None or field.metadata.get("many") or draw(st.integers(0, 4)) == 0:
            one = draw(st.sampled_from([legal, careless_value]))
            table[field.name] = draw(one(field))
            return
        table, kind = table.setdefault(field.name, {}), part


def written(tables: Any) -> str:
    """Tables as TOML, without what TOML has no words for."""
    return tomli_w.dumps(_sayable(tables))


def _sayable(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _sayable(item) for key, item in value.items() if item is not None}
    if isinstance(value, list | tuple):
        return [_sayable(item) for item in value if item is not None]
    if isinstance(value, float) and value.is_integer() and math.fabs(value) < 1e6:
        return int(value) if value % 2 else value
    return value


@st.composite
def careless_file(draw: st.DrawFn) -> tuple[str, bytes]:
    """The name of a file to begin with, and its bytes after one to three slips."""
    name = draw(st.sampled_from([*BEGIN]))
    text = BEGIN[name]
    if draw(st.booleans()):
        tables = tomllib.loads(text)
        for _ in range(draw(st.sampled_from([1, 1, 1, 2, 3]))):
            tables = draw(slip_in_tables(tables))
        try:
            text = written(tables)
        except (TypeError, ValueError, UnicodeEncodeError):
            text = BEGIN[name]
    else:
        for _ in range(draw(st.sampled_from([1, 1, 2]))):
            text = draw(slip_in_text(text))
    return name, draw(encoded(text))


@st.composite
def encoded(draw: st.DrawFn, text: str) -> bytes:
    """A text as an editor saves it."""
    how = draw(st.integers(0, 39))
    if how == 0:
        return text.encode("utf-16")
    if how == 1:
        return text.replace("ä", "ö").encode("latin-1", "replace") + b"\n# caf\xe9\n"
    if how == 2:
        return text.encode("utf-8-sig", "replace")
    if how == 3:
        return text.replace("\n", "\r\n").encode("utf-8", "replace")
    if how == 4:
        raw = text.encode("utf-8", "replace")
        return raw[: draw(st.integers(0, len(raw)))]
    if how == 5:
        return text.replace("\n", "\r").encode("utf-8", "replace")
    return text.encode("utf-8", "replace")
