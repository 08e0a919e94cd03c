"""What tests of the page for the customer share: a house, and a way to read the page."""

import html
import re
from html.parser import HTMLParser
from pathlib import Path

import attrs
import pandas as pd

import moistsim as ms
from moistsim.cures.trial import outcome
from moistsim.risk import Damp
from moistsim.scenario import Scenario, read_scenario
from moistsim.study.study import Comparison

SCENARIO = """\
name = "House of the tests"
note = "Invented."
measured = ["house.ach50", "equipment.ventilation"]
[weather]
file = "october.csv"
[season]
start = "10-22"
end = "10-25"
[house]
floor_area = "1500 ft2"
ach50 = 3
[tariff]
price = "20 cent/kWh"
[equipment.cooling]
stages = [{ capacity = "2 ton" }]
[equipment.strips]
stages = ["5 kW"]
[equipment.ventilation]
airflow = "70 cfm"
[options.Plain]
strategy = "temperature_only"
purchase = { first_cost = 0 }
[options.Reheat]
strategy = "staged_reheat"
setpoints = { target_rh = "50 %" }
purchase = { first_cost = 300 }
[options."A <b>dry</b> house"]
strategy = "with_dehumidifier"
purchase = { first_cost = 320 }
[options."A <b>dry</b> house".equipment.dehumidifier]
capacity = "70 pint/day"
"""
PLAIN, REHEAT, DRY = "Plain", "Reheat", "A <b>dry</b> house"


class Parts(HTMLParser):
    """Tags with what they hold, and tables as rows of texts."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.tables: list[list[list[str]]] = []
        self.open: list[str] = []
        self.feed(text)
        assert self.open == []

    def handle_starttag(self, tag: str, given: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(given)))
        if tag not in ("meta", "img", "br", "link", "source"):
            self.open.append(tag)
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self.tables[-1][-1].append("")

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, text: str) -> None:
        if {"td", "th"} & {*self.open}:
            self.tables[-1][-1][-1] += text


def table(text: str, corner: str, nth: int = 0) -> dict[str, list[str]]:
    """Rows of the page's table with this word in its corner."""
    found = [rows for rows in Parts(text).tables if rows[0][0] == corner][nth]
    assert len({len(cells) for cells in found}) == 1
    return {cells[0]: cells[1:] for cells in found}


def numbers(cells: list[str]) -> list[float]:
    return [float(c.replace(",", "").replace("\N{MINUS SIGN}", "-").rstrip("% ")) for c in cells]


def words_of(text: str, *, values: bool = True) -> str:
    """What a reader reads, without what stands as code; `values` and what explains them too."""
    body = text.split("</style>")[1]
    if not values:
        body = re.sub(r'<(ul|dl) class="(values|glossary)">.*?</\1>', " ", body, flags=re.S)
    body = re.sub(r"<code>.*?</code>", " ", body, flags=re.S)
    alternatives = " ".join(re.findall(r' alt="(.*?)"', body))
    return html.unescape(re.sub(r"<[^>]+>", " ", body) + alternatives).replace("Miami FL", "Miami")


LONGEST = 25
"""Words of a sentence, by the style of the project; a quoted name counts as one."""


def are_sentences(text: str) -> bool:
    """Whether a text is made of whole sentences, none too long: a capital, one full stop at the end."""
    bare = re.sub(r"“[^”]*”|'[^']*'", "Name", text)
    return all(
        re.fullmatch(r"[A-Z±](?:[^.!?]|(?<=\d)\.(?=\d))*\.", sentence)
        and len(sentence.split()) <= LONGEST
        for sentence in re.split(r"(?<=[.!?])\s+(?=[A-Z±])", bare)
    )


def advice(
    ran: Comparison,
    mold: float = 0.0,
    bought: ms.Economics | None = None,
    damp: dict[str, tuple[Damp, ...]] | None = None,
) -> ms.Advice:
    """Advice on the options alone, at the goal, without cures and proposals."""
    study = ran.study
    found = outcome(study, study.resolved[ran.base], None, ran.seasons[ran.base])
    return ms.Advice(
        as_set=ran,
        cures=ms.Cures(study, found, (), (), 12.0),
        proposals=(),
        at_goal=study.at_goal(as_set=ran, progress=False),
        bought=bought,
        mold=mold,
        damp_as_set=damp or {},
        damp=damp or {},
    )


def verdict(ran: Comparison, mold: float = 0.0, **first_cost: float) -> ms.Advice:
    """Advice with prices by the first word of each option."""
    it = advice(ran, mold)
    if not first_cost:
        return it
    names = {"plain": PLAIN, "reheat": REHEAT, "dry": DRY}
    own = {names[key]: ms.Purchase(first_cost=cost) for key, cost in first_cost.items()}
    return attrs.evolve(it, bought=ms.economics(it.comparison, own))


Weighed = tuple[ms.Certainty, pd.DataFrame, str]


def with_ranges(folder: Path) -> Scenario:
    text = SCENARIO.replace("ach50 = 3", 'ach50 = "3 ± 0.6"').replace(
        "first_cost = 320", 'first_cost = "320 ± 60 USD", life = 8'
    )
    (folder / "ranged.toml").write_text(text, encoding="utf-8")
    return read_scenario(folder / "ranged.toml")
