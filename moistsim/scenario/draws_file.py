"""Joint draws of a measured house as a file next to its scenario.

JSON with three tables: ``draws``, the drawn numbers by dotted name, in SI, for reading; ``house`` and
``equipment``, by dotted name, the value that each draw sets: a number, a list, a table of a part, or
nothing for a part that the draw lacks.
"""

import json
from pathlib import Path
from typing import Any

import attrs
import pandas as pd

from moistsim.core.changes import inner
from moistsim.core.errors import Problem
from moistsim.core.files import write_whole
from moistsim.core.units import Stated
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.scenario.descriptions import as_table, build
from moistsim.scenario.places import Place
from moistsim.uncertainty import MeasuredHouse

ABOUT = (
    "Joint draws of a measured house, in SI; one value a draw. Do not edit: values belong together."
)


def write_draws(measured: MeasuredHouse, path: Path) -> None:
    """Write the draws of a measured house."""
    text = {
        "about": ABOUT,
        "draws": {
            str(name): [None if pd.isna(value) else float(value) for value in column]
            for name, column in measured.draws.items()
        },
        **{
            root: {".".join(path): [*map(_written, each)] for path, each in own.items()}
            for root, own in measured.values.items()
        },
    }
    write_whole(path, json.dumps(text, indent=1).encode())


def read_draws(path: Path, house: House, equipment: Equipment, place: Place) -> MeasuredHouse:
    """Read the draws of a measured house.

    Raises
    ------
    ScenarioError
        If there is no such file, or it does not hold draws of this house.
    """
    accepted = "a file that “moistsim calibrate” wrote, relative to the folder of the scenario"
    try:
        text = json.loads(path.read_text(encoding="utf-8"))
        draws = pd.DataFrame(text["draws"], dtype=float)
        values = {
            root: {
                tuple(name.split(".")): tuple(
                    _read(base, tuple(name.split(".")), value, place) for value in column
                )
                for name, column in text[root].items()
            }
            for root, base in (("house", house), ("equipment", equipment))
        }
    except OSError as error:
        raise place.error("draws", Problem(f"{path.name}: {error.strerror}"), accepted) from None
    except (ValueError, KeyError, TypeError, AttributeError, IndexError) as error:
        found = Problem(f"{path.name} does not hold draws of this house ({error})")
        raise place.error("draws", found, accepted) from None
    return MeasuredHouse(house, equipment, draws, values)


def _written(value: Any) -> Any:
    if attrs.has(type(value)):
        return as_table(value)
    return [*map(_written, value)] if isinstance(value, tuple) else value


def _read(whole: Any, path: tuple[str, ...], value: Any, place: Place) -> Any:
    """A value as its description keeps it."""
    if isinstance(value, dict):
        owner = whole
        for key in path[:-1]:
            owner = inner(owner, key)
        part = attrs.fields_dict(type(owner))[path[-1]].metadata["part"]
        return build(part, value, place.inside(".".join(path)))
    if isinstance(value, list):
        return tuple(_read(whole, path, each, place) for each in value)
    return Stated(value) if isinstance(value, float) else value
