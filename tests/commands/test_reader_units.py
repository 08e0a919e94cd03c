"""US output has no SI unit, and SI output has no trade unit: screen, page, sheet and sizes."""

import html
import io
import re
from contextlib import redirect_stdout
from pathlib import Path

import pytest
from support.report_pages import SCENARIO
from support.scenario_files import write_ten_days

from moistsim.__main__ import main

# Whole studies with all their figures, in both systems.
pytestmark = pytest.mark.slow

SI = re.compile(
    r"°C|degC|m²|m³|(?<![\w.])\d[\d.,]* (?:K|kg|g|L|m|mm|cm|km|s/kg)\b|"
    r"(?<![\w/])(?:kg|mL|L/s|L/day|ml/min|liters?|kJ|W/K|m2|m3|m/s)\b|\(m s Pa\)"
)
TRADE = re.compile(
    r"°F|degF|ft²|ft2|\bft\b|\binch|pints?\b|Btu|\bcfm\b|\blb\b|\bgal\b|grains?\b|therms?\b|"
    r"\d tons?\b|\bmph\b|\bperm\b"
)
UNITS = ("us", "si")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    here = tmp_path_factory.mktemp("units")
    write_ten_days(here / "october.csv", "10-17")
    # Long enough for design conditions.
    text = SCENARIO.replace('"10-22"', '"10-18"').replace('"10-25"', '"10-26"')
    (here / "house.toml").write_text(text, encoding="utf-8")
    return here


@pytest.fixture(scope="module")
def shown(folder: Path) -> dict[str, dict[str, str]]:
    """By units and by kind of output, the text that a person reads."""
    found: dict[str, dict[str, str]] = {}
    for units in UNITS:
        texts = {}
        out, sheet = folder / units, folder / f"{units}.html"
        for kind, arguments in {
            "screen of study": ["study", "house.toml", "--out", str(out)],
            "screen of sequence": ["sequence", "house.toml", "Reheat", "--out", str(sheet)],
            "screen of size": ["size", "house.toml"],
        }.items():
            given = [str(folder / x) if x == "house.toml" else x for x in arguments]
            said = io.StringIO()
            with redirect_stdout(said):
                assert main([*given, "--units", units]) == 0
            texts[kind] = said.getvalue().replace(str(folder), "")
        texts["page"] = read((out / "report.html").read_text(encoding="utf-8"))
        texts["sheet"] = read(sheet.read_text(encoding="utf-8"))
        found[units] = texts
    return found


def read(page: str) -> str:
    """What stands on a page, with the words for pictures; not names of inputs or their help."""
    body = page.split("</style>")[1]
    alternatives = " ".join(re.findall(r' alt="(.*?)"', body, flags=re.S))
    for hidden in (
        r"<code>.*?</code>", r'<span class="quiet">.*?</span>', r"<svg.*?</svg>",
        r'<dl class="glossary">.*?</dl>',
    ):  # fmt: skip
        body = re.sub(hidden, " ", body, flags=re.S)
    return html.unescape(re.sub(r"<[^>]+>", " ", body) + alternatives)


KINDS = ("screen of study", "screen of sequence", "screen of size", "page", "sheet")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("units", "other"), [("us", SI), ("si", TRADE)])
def test_no_unit_of_the_other_system(
    shown: dict[str, dict[str, str]], units: str, other: re.Pattern[str], kind: str
) -> None:
    text = shown[units][kind]
    left = [text[max(0, m.start() - 40) : m.end() + 10] for m in other.finditer(text)]
    assert left == []


@pytest.mark.parametrize("kind", ["screen of study", "screen of size", "page", "sheet"])
@pytest.mark.parametrize(("units", "own"), [("us", TRADE), ("si", SI)])
def test_each_output_has_units_of_its_own_system(
    shown: dict[str, dict[str, str]], units: str, own: re.Pattern[str], kind: str
) -> None:
    assert len(own.findall(shown[units][kind])) >= 3


def test_dates_are_those_of_the_reader(shown: dict[str, dict[str, str]]) -> None:
    for kind in ("screen of study", "screen of size", "page"):
        assert "October 18 to October 26" in shown["us"][kind]
        assert "18 October to 26 October" in shown["si"][kind]
