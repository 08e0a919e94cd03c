"""The page opens anywhere, can be read by anyone, and prints."""

import html
import os
import re
import subprocess
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
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
from moistsim.report.glossary import GLOSSARY
from moistsim.report.paper import browser, printed
from moistsim.scenario import Scenario


def test_it_fetches_nothing_and_runs_nothing(us: str) -> None:
    tags = Parts(us).tags
    assert not {"script", "link", "iframe", "object"} & {tag for tag, _ in tags}
    for _, given in tags:
        assert not any(name.startswith("on") for name in given)
        for name in ("src", "href", "srcset", "action"):
            assert (given.get(name) or "data:").startswith("data:")
    assert not re.search(r"https?://|//\w|@import|url\(", us.replace("data:image/svg+xml", ""))
    assert len(us) < 1_500_000


def test_every_picture_says_what_it_shows(us: str) -> None:
    pictures = [given for tag, given in Parts(us).tags if tag == "img"]
    assert len(pictures) == 3
    for given in pictures:
        alternative = given["alt"] or ""
        assert len(alternative) > 100
        for name in (PLAIN, REHEAT, DRY):
            assert f"“{name}”" in alternative
    assert [given.get("lang") for tag, given in Parts(us).tags if tag == "html"] == ["en"]


def luminance(color: str) -> float:
    """Relative luminance of WCAG 2.1 (from memory)."""
    channels = np.array([int(color[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    return float(linear @ (0.2126, 0.7152, 0.0722))


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_enough_to_read_by(us: str) -> None:
    """WCAG 2.1 AA asks 4.5 of text, 3 of what pictures are made of (from memory)."""
    from moistsim.figures.certainty import GAIN, LOSS
    from moistsim.figures.humidity import DAMP
    from moistsim.figures.months import MARK
    from moistsim.figures.style import MACHINE_COLORS

    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    style = us.split("<style>")[1].split("</style>")[0]
    named = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", style))
    used = set(re.findall(r"[{; ]color: ([^;}]+)", style))
    assert used == {"var(--ink)", "var(--soft)", "var(--deep)", "var(--warn)"}
    backgrounds = set(re.findall(r"background: ([^;}]+)", style))
    assert backgrounds == {"var(--paper)", "var(--tint)"}
    for text in ("ink", "soft", "deep", "warn"):
        for behind in ("paper", "tint"):
            assert contrast(named[text], named[behind]) >= 4.5
    assert min(contrast(MARK, "#ffffff"), contrast(DAMP, "#ffffff")) >= 3.0
    # The base's mark has a white edge, which every bar contrasts with.
    assert min(contrast(bar, "#ffffff") for bar in MACHINE_COLORS.values()) >= 3.0
    # These two are of words in a picture as well.
    assert min(contrast(GAIN, "#ffffff"), contrast(LOSS, "#ffffff")) >= 4.5


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
    named = {*re.findall(r"<li><code>([^<]+)</code>", text.split("More detail")[1])}
    assert named == {path.name for path in out.iterdir()} - {"report.html"}
    cost = pd.read_csv(out / "table.csv", index_col="option")["cost_USD"]
    shown = table(text, "As set")["Season cost, USD"]
    assert numbers(shown) == pytest.approx(cost.tolist(), abs=0.51)
