"""The page opens anywhere, can be read by anyone, and prints."""

import base64
import html
import os
import re
import subprocess
from pathlib import Path

import pandas as pd
import pytest
from support.drawing import contrast
from support.report_pages import (
    DRY,
    PLAIN,
    REHEAT,
    Parts,
    Weighed,
    numbers,
    table,
    words_of,
)

import moistsim as ms
from moistsim.__main__ import main
from moistsim.report import Report
from moistsim.report.glossary import GLOSSARY
from moistsim.report.paper import browser, printed
from moistsim.report.records import Row, Table
from moistsim.report.tables import without_zeros
from moistsim.scenario import Scenario


def test_it_fetches_nothing_and_runs_nothing(us: str) -> None:
    tags = Parts(us).tags
    assert not {"script", "link", "iframe", "object"} & {tag for tag, _ in tags}
    for _, given in tags:
        assert not any(name.startswith("on") for name in given)
        for name in ("src", "href", "srcset", "action"):
            assert (given.get(name) or "data:").startswith(("data:", "#"))
    assert not re.search(r"https?://|//\w|@import|url\(", us.replace("data:image/svg+xml", ""))
    assert len(us) < 1_500_000


def test_every_picture_says_what_it_shows(us: str) -> None:
    pictures = [given for tag, given in Parts(us).tags if tag == "img"]
    assert len(pictures) == 4
    for place, given in enumerate(pictures):
        alternative = given["alt"] or ""
        assert len(alternative) > 100
        if place == 0:
            assert f"“{PLAIN}, as it is”" in alternative and ", as advised”" in alternative
            continue
        for name in (PLAIN, REHEAT, DRY):
            assert f"“{name}”" in alternative
    assert [given.get("lang") for tag, given in Parts(us).tags if tag == "html"] == ["en"]


def test_contrast_is_enough_to_read_by(us: str) -> None:
    """WCAG 2.1 AA asks 4.5 of text (from memory)."""
    from moistsim.figures.certainty import GAIN, LOSS

    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    style = us.split("<style>")[1].split("</style>")[0]
    named = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", style))
    used = set(re.findall(r"[{; ]color: ([^;}]+?) *[;}]", style))
    assert used == {"var(--ink)", "var(--soft)", "var(--deep)", "var(--warn)"}
    backgrounds = set(re.findall(r"background: ([^;}]+)", style))
    assert backgrounds == {"var(--paper)", "var(--tint)"}
    for text in ("ink", "soft", "deep", "warn"):
        for behind in ("paper", "tint"):
            assert contrast(named[text], named[behind]) >= 4.5
    # These two are of words in a picture as well.
    assert min(contrast(GAIN, "#ffffff"), contrast(LOSS, "#ffffff")) >= 4.5


def test_the_contents_lead_to_every_section(us: str, si: str, weighed: Weighed) -> None:
    for text in (us, si, weighed[2]):
        links = re.findall(r'<li><a href="#([a-z-]+)">([^<]+)</a></li>', text)
        headings = re.findall(r'<h2 id="([a-z-]+)">([^<]+)</h2>', text)
        assert links == headings and len(links) >= 10
        assert len({name for name, _ in links}) == len(links)
        # No section without a name but the answer and the contents themselves.
        assert text.count("<h2") == len(headings) + 2
    assert "sure" in dict(links) and "sure" not in re.findall(r'href="#([a-z-]+)"', us)


def test_tables_have_captions_and_no_row_of_zeros(us: str, report: Report) -> None:
    assert us.count("<caption>") == us.count("<table") == len(Parts(us).tables)
    captions = re.findall(r"<caption>([^<]+)</caption>", us)
    assert len(set(captions)) == len(captions)
    for shown in (report.as_set, report.risks, report.years.table if report.years else None):
        assert shown is not None
        for one in shown.rows:
            assert any(re.search("[1-9a-z–]", cell) for cell in one.cells), one.label
    # What is not shown is named: a cold corner in October grows no mold.
    assert any("Mold index" in label for label in report.risks.zeros)
    said = words_of(us)
    assert "Zero with every option: " in said
    assert all(label in said for label in report.risks.zeros)


def test_rows_of_zeros_by_hand() -> None:
    rows = tuple(
        Row(name, cells)
        for name, cells in {
            "zero": ("0", "0.0"), "one": ("0", "0.1"), "unknown": ("–", "–"), "half": ("–", "0"),
            "words": ("no", "no"), "minus": ("0", "\N{MINUS SIGN}3"),
        }.items()
    )  # fmt: skip
    left = without_zeros(Table("As set", ("A", "B"), rows, "Caption"))
    assert left.zeros == ("zero", "half")
    assert [one.label for one in left.rows] == ["one", "unknown", "words", "minus"]


def test_pictures_come_in_two_widths(us: str) -> None:
    """A wide one for the desk and a narrow one for the phone, with the words in the same size."""
    found = re.findall(
        r'<picture><source media="\(max-width: 700px\)" srcset="([^"]+)"><img src="([^"]+)"', us
    )
    assert len(found) == us.count("<figure>") == 4
    for narrow, wide in found:
        widths = [
            float(re.search(r'width="([\d.]+)pt"', base64.b64decode(one.split(",")[1]).decode())[1])  # type: ignore[index]
            for one in (narrow, wide)
        ]
        assert widths == pytest.approx([5.4 * 72.0, 10.0 * 72.0])


def test_print_does_not_split_rows_and_repeats_heads(us: str) -> None:
    style = us.split("<style>")[1].split("</style>")[0]
    assert "thead { display: table-header-group; }" in style
    assert "tr, th, td { break-inside: avoid; }" in style
    assert re.search(r"figure {[^}]*break-inside: avoid", style)


def test_no_short_form_is_left_unexplained(us: str, si: str, weighed: Weighed) -> None:
    for text in (us, si, weighed[2]):
        explained = re.findall(
            r"<dt>([^<]+)</dt>", text.split('class="glossary"')[1].split("</dl>")[0]
        )
        assert {*explained} <= {*GLOSSARY}
        read = words_of(text)
        found = {*re.findall(r"\b(?:[A-Z][A-Z0-9]+|[A-Z]+2e|kWh|kW|MWh|cfm|mph|Btu/h|Pa)\b", read)}
        assert found, "the page has some"
        assert found <= {*explained}, found - {*explained}
    bare = words_of(us, values=False)
    assert not re.search(r"\b(?:RH|SHR|HVAC|COP|SEER|LCC)\b", bare)


def test_units_are_those_asked_for(us: str, si: str) -> None:
    in_si, in_us = words_of(si, values=False), words_of(us, values=False)
    assert not re.search(r"°F|pint|ft²|Btu|cfm|\blb\b", in_si)
    assert "°C" in in_si and "L/day" in in_si and "139 m²" in in_si
    assert "1,500 ft²" in in_us and "pints/day" in in_us
    shown = re.findall(r"<strong>(.*?)</strong>", si.split('class="values"', 1)[1])
    assert not any(re.search(r"°F|pint|ft²|Btu|cfm", value) for value in shown)


def chromium() -> str | None:
    try:
        return browser()
    except ms.InputError:
        return None


needs_browser = pytest.mark.skipif(chromium() is None, reason="no Chromium here")


@needs_browser
@pytest.mark.slow
@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_is_wider_than_the_screen(us: str, tmp_path: Path, width: int) -> None:
    """A window without a screen is at least 500 px wide: the page stands in a frame."""
    frame = tmp_path / "frame.html"
    frame.write_text(
        f'<!DOCTYPE html><iframe style="border:0;width:{width}px;height:30000px" srcdoc="'
        + html.escape(us) + '"></iframe><script>onload = () => { document.title = "width " + '
        "document.querySelector('iframe').contentDocument.documentElement.scrollWidth; }</script>",
        encoding="utf-8",
    )  # fmt: skip
    command = [str(chromium()), "--headless", "--disable-gpu", f"--user-data-dir={tmp_path / 'it'}"]
    if os.geteuid() == 0:
        command.append("--no-sandbox")
    out = subprocess.run(
        [*command, "--dump-dom", frame.as_uri()], capture_output=True, text=True, timeout=100,
        check=True,
    ).stdout  # fmt: skip
    found = re.search(r"width (\d+)", out)
    assert found is not None and 0 < int(found[1]) <= width


@needs_browser
@pytest.mark.slow
@pytest.mark.parametrize(("paper", "box"), [("letter", (612, 792)), ("A4", (595, 842))])
def test_it_prints(us: str, tmp_path: Path, paper: str, box: tuple[int, int]) -> None:
    printed(us, tmp_path / "page.pdf", paper)
    data = (tmp_path / "page.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    sizes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)
    assert sizes and all(
        abs(float(w) - box[0]) < 1.5 and abs(float(h) - box[1]) < 1.5 for w, h in sizes
    )


def test_a_machine_without_a_browser_is_told_before_anything_runs(
    scenario: Scenario, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.setenv("PATH", str(tmp_path))
    out = tmp_path / "out"
    assert main(["study", str(scenario.path), "--out", str(out), "--pdf"]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and "--pdf: no Chromium" in said
    assert not out.exists()


def test_a_browser_that_prints_nothing_is_said(tmp_path: Path) -> None:
    with pytest.raises(ms.InputError, match="--pdf"):
        printed("<html><head></head></html>", tmp_path / "x.pdf", "A4", program="/nonexistent")


@pytest.mark.slow
def test_the_folder_names_what_lies_in_it(scenario: Scenario, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert main(["study", str(scenario.path), "--out", str(out), "--quiet", "--units", "si"]) == 0
    text = (out / "report.html").read_text(encoding="utf-8")
    named = {
        *re.findall(r"<li><code>([^<]+)</code>", text.split('id="files"')[1].split("</section>")[0])
    }
    assert named == {path.name for path in out.iterdir()} - {"report.html", "files.json"}
    cost = pd.read_csv(out / "table.csv", index_col="option")["cost_USD"]
    shown = table(text, "As set")["Energy cost, USD"]
    assert numbers(shown) == pytest.approx(cost.tolist(), abs=0.51)
