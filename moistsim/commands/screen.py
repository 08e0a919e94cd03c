"""Common parts of the commands: width, lists, columns, the head and the cautions."""

import logging
import re
import sys
import textwrap
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import attrs

from moistsim.core.display import Show, Units, duration, number
from moistsim.core.units import to_si
from moistsim.house import house_facts
from moistsim.scenario import Scenario
from moistsim.study import Study, house_words, machine_words

WIDTH = 100
"""Width of the text on the screen, in characters."""

_LABEL, _OPTIONS_ABREAST = 38, 4

CAUTIONS = (
    "These are estimates of a model, not a design or a quotation. Before anything is bought or "
    "wired, local codes and licensed trades come first.",
    "Strips carry line voltage; controls are low-voltage wiring. Keep the two apart, and leave line "
    "voltage to an electrician. Strips and compressor together may exceed the breaker and the wire "
    "sizes of either alone.",
    "Heat without airflow starts fires: strips need airflow proof and their own limit switches.",
    "Long humid periods grow mold, and water can condense on cold ducts and in overcooled rooms. "
    "Where mold is already present, find the water first.",
)


def item(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="  - ", subsequent_indent="    ")


def columns(names: Sequence[str], rows: Sequence[tuple[str, list[str]]]) -> Iterator[str]:
    """A table with a label and a text for each option, a few options side by side."""
    cell = (WIDTH - _LABEL) // _OPTIONS_ABREAST
    for first in range(0, len(names), _OPTIONS_ABREAST):
        block = range(first, min(first + _OPTIONS_ABREAST, len(names)))
        heads = [textwrap.wrap(names[k], cell - 2) for k in block]
        height = max(len(head) for head in heads)
        for line in zip(*([""] * (height - len(head)) + head for head in heads), strict=True):
            yield (" " * _LABEL + "".join(f"{text:>{cell}}" for text in line)).rstrip()
        yield "-" * (_LABEL + cell * len(block))
        for label, values in rows:
            yield f"{label:{_LABEL}}" + "".join(f"{values[k]:>{cell}}" for k in block)
        yield ""


def title(scenario: Scenario) -> list[str]:
    return textwrap.wrap(scenario.name, WIDTH)


def head(scenario: Scenario, units: Units) -> Iterator[str]:
    """The house, the weather and the season, in a few lines."""
    study, show = scenario.study, Show(units)
    house, weather = house_facts(study.house, show), study.weather
    yield from textwrap.wrap(scenario.note, WIDTH)
    yield ""
    facts = {"Owner": f"says: {scenario.complaint}"} if scenario.complaint else {}
    facts |= {
        "House": f"{house.size}, {house.leakage}, {house.people}, household moisture {house.moisture}"
    }
    frame, climate = weather.frame, weather.describe("si")
    facts["Weather"] = (
        f"{weather.name}: mean dry bulb {show(frame['temp_air'].mean(), 'temperature', 0)}, "
        f"mean dew point {show(frame['temp_dew'].mean(), 'temperature', 0)}; "
        f"dew point above {show(18.3, 'temperature', 0)} in "
        f"{number(climate['dew point above 18.3 degC [h]'])} of {number(len(frame))} hours, "
        f"humid and mild in {number(climate['humid mild hours [h]'])}"
    )
    stamps = weather.frame.index[weather.between(study.start, study.end)]
    facts["Period"] = (
        f"{show.period(stamps[0], stamps[-1])}, {len(stamps) / 24:.0f} days, "
        f"step {duration(to_si(study.step, 's', 'step'))}; electricity {study.tariff.words}"
    )
    if any(option.equipment.burns_gas for option in study.resolved.values()):
        facts["Period"] += f", gas at {show.field(study.tariff.gas_price, 'USD/kWh', 'gas_price')}"
    machines = [*machine_words(study, show)]
    for name, text in (*facts.items(), *zip(["Machines", *[""] * len(machines)], machines)):  # noqa: B905
        yield from textwrap.wrap(text, WIDTH, initial_indent=f"{name:9}", subsequent_indent=" " * 9)
    changes = {name: house_words(study, name, show) for name in study.options}
    if any(changes.values()):
        yield ""
        yield "Changes to the house:"
    for name, lines in changes.items():
        for line in lines:
            yield from item(f"{name}. {line}")


def foot() -> Iterator[str]:
    yield "Cautions:"
    for caution in CAUTIONS:
        yield from item(caution)


class _AboveTheBar(logging.Handler):
    def emit(self, record: logging.LogRecord) -> None:
        from tqdm import tqdm

        tqdm.write(record.getMessage(), file=sys.stderr)


@contextmanager
def told(*, quiet: bool = False) -> Iterator[None]:
    """Print the library's messages above a progress bar, or suppress them."""
    logger = logging.getLogger("moistsim")
    handler = logging.NullHandler() if quiet else _AboveTheBar()
    logger.addHandler(handler)
    try:
        yield
    finally:
        logger.removeHandler(handler)


def plain(name: str) -> str:
    """A name in letters that every file system accepts."""
    letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", letters)[:60].strip("-")


def one_day(study: Study) -> Study:
    """A study of its first whole day; all of its days where the weather holds no whole day."""
    stamps = study.weather.frame.index[study.weather.between(study.start, study.end)]
    for first in (stamp for stamp in stamps[:24] if stamp.hour == 0):
        if first.normalize() + (stamps[1] - stamps[0]) * 23 <= stamps[-1]:
            day = f"{first:%Y-%m-%d}"
            return attrs.evolve(study, start=day, end=day)
    return study
