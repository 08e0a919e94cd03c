"""What the commands share: how wide a text is, lists and columns, the head and the cautions."""

import logging
import re
import textwrap
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import pandas as pd

from moistsim.core.units import from_si
from moistsim.scenario import Scenario
from moistsim.study import Units

WIDTH = 100
"""Columns of the screen that a text may fill."""

_LABEL, _OPTIONS_ABREAST = 34, 4

CAUTIONS = (
    "These are a model's estimates, not a design or a quotation. Before anything is bought or "
    "wired: local codes and licensed trades come first.",
    "Strips are mains voltage and controls are low-voltage wiring: keep the two apart, and let an "
    "electrician touch the first. Strips and compressor that draw at once may exceed the breaker "
    "and the wire sizes of either alone.",
    "Heat without airflow burns: strips need proof of airflow and their own limit switches.",
    "Long humid hours grow mold, and a cold supply or an overcooled room can sweat; where there "
    "is mold already, find its water first.",
)


def number(value: float, spec: str) -> str:
    text = format(value, spec)
    # A difference that rounds to nothing has no sign.
    return re.sub(r"^[+-](?=[0.]*$)", "", text)


def item(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent="  - ", subsequent_indent="    ")


def columns(names: Sequence[str], rows: Sequence[tuple[str, list[str]]]) -> Iterator[str]:
    """Rows of a label and a text for each option, a few options abreast."""
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


def head(scenario: Scenario, units: Units) -> Iterator[str]:
    """The house, the weather and the season, in a few lines."""
    study = scenario.study
    house, weather = study.house, study.weather
    us = units == "us"
    area = from_si(house.floor_area, "m2", "ft2" if us else "m2")
    yield from textwrap.wrap(scenario.name, WIDTH)
    yield from textwrap.wrap(scenario.note, WIDTH)
    yield ""
    stories = f"{house.stories:.0f} story" + ("s" if house.stories > 1 else "")
    facts = {
        "House": f"{area:,.0f} {'ft2' if us else 'm2'}, {stories}, {house.changes_at_50_pa:.4g} ACH50, "
        f"{house.gains.occupants:g} people, "
        + (
            f"{from_si(house.moisture_gain, 'kg/s', 'pint/day'):.0f} pints"
            if us
            else f"{from_si(house.moisture_gain, 'kg/s', 'L/day'):.1f} L"
        )
        + " of household moisture a day"
    }
    climate = weather.describe(units)
    degree = "degF" if us else "degC"
    threshold = "65 degF" if us else "18.3 degC"
    facts["Weather"] = (
        f"{weather.name}: mean dry bulb {climate[f'mean dry bulb [{degree}]']:.0f} {degree}, "
        f"mean dew point {climate[f'mean dew point [{degree}]']:.0f} {degree}; "
        f"of {climate['hours']:,.0f} hours {climate[f'dew point above {threshold} [h]']:,.0f} "
        f"with dew point above {threshold}, {climate['humid mild hours [h]']:,.0f} humid and mild"
    )
    rows = weather.between(study.start, study.end)
    stamps = weather.frame.index[rows]
    facts["Season"] = (
        f"{_day(stamps[0])} to {_day(stamps[-1])}, {len(stamps) / 24:.0f} days, step {study.step}; "
        f"electricity {study.tariff.words}"
    )
    if any(machines.furnace is not None for machines, _ in study.options.values()):
        per, unit = (from_si(1.0, "kWh", "therm"), "therm") if us else (1.0, "kWh")
        facts["Season"] += f", gas at {study.tariff.gas_price / per:.3g} USD/{unit}"
    for name, text in facts.items():
        yield from textwrap.wrap(text, WIDTH, initial_indent=f"{name:9}", subsequent_indent=" " * 9)


def _day(stamp: pd.Timestamp) -> str:
    return f"{stamp.day} {stamp:%B}"


def foot() -> Iterator[str]:
    yield "Cautions:"
    for caution in CAUTIONS:
        yield from item(caution)


class _AboveTheBar(logging.Handler):
    def emit(self, record: logging.LogRecord) -> None:
        from tqdm import tqdm

        tqdm.write(record.getMessage())


@contextmanager
def told(*, quiet: bool = False) -> Iterator[None]:
    """What the library has to tell meanwhile goes to the screen, above a progress bar; or nowhere."""
    logger = logging.getLogger("moistsim")
    handler = logging.NullHandler() if quiet else _AboveTheBar()
    logger.addHandler(handler)
    try:
        yield
    finally:
        logger.removeHandler(handler)


def plain(name: str) -> str:
    """A name in the letters of any file system."""
    letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", letters)[:60].strip("-")
