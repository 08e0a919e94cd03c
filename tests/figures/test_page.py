"""Letters of a page and a slide, a reader's own axes and settings, and the content in words."""

import io
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pytest
from matplotlib import rcParams
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image
from support.drawing import drawn, written

import moistsim as ms
from moistsim.figures import effective_shr_figure, style
from moistsim.figures.page import MEDIA, Page, text_width, wrapped

LONG = "The dehumidifier takes out a liter for 0.9 kWh, and the strips of this house for 3.1 kWh"
UNIT = ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")])


def figure(context: Any = "paper", ax: Any = None, **more: Any) -> Any:
    with style.sheet("a_figure", context, ax, **more) as page:
        panel = page.panel(height=3.0)
        style.plain(panel)
        lines = panel.plot([0.0, 1.0], [0.0, 1.0], lw=2.0, label="a line of invented data")
        panel.set_ylabel("Energy, kWh")
        return page.done(LONG, "An invented house", alt="Two lines", key=lines, note="Invented")


def sizes(of: Figure) -> list[float]:
    drawn(of)
    return [t.get_fontsize() for t in of.findobj(Text) if t.get_visible() and t.get_text().strip()]


def test_letters_of_a_page_and_of_a_slide() -> None:
    """A page has letters from 8 points, and a slide of 16:9 from 16, both with thicker titles."""
    paper, slide = figure(), figure("slide")
    assert min(sizes(paper)) == pytest.approx(8.08, abs=0.01) and max(sizes(paper)) < 12.0
    assert min(sizes(slide)) >= 16.0
    width, height = slide.get_size_inches()
    assert width / height == pytest.approx(16.0 / 9.0, rel=1e-3)
    assert paper.get_size_inches()[0] == 7.0
    # Lines follow the letters.
    thick = [f.axes[0].lines[0].get_linewidth() for f in (paper, slide)]
    assert thick == [2.0 * MEDIA[name].lines for name in ("paper", "slide")]


@pytest.mark.parametrize("context", ["paper", "slide"])
def test_words_stay_on_the_page_and_apart(context: Any) -> None:
    found = figure(context)
    renderer = drawn(found).get_renderer()
    boxes = [t.get_window_extent(renderer) for t in found.texts]
    boxes += [found.legends[0].get_window_extent(renderer), found.axes[0].get_tightbbox(renderer)]
    assert len(boxes) == 5
    for k, box in enumerate(boxes):
        assert found.bbox.x0 <= box.x0 and box.x1 <= found.bbox.x1
        assert found.bbox.y0 <= box.y0 and box.y1 <= found.bbox.y1
        for other in boxes[:k]:
            assert not box.overlaps(other)


def test_a_wider_page_breaks_its_title_anew() -> None:
    found = figure()
    drawn(found)
    before = found.texts[0].get_text().count("\n")
    found.set_size_inches(20.0, 3.0)
    drawn(found)
    assert before == 1 and found.texts[0].get_text() == LONG


def test_a_readers_settings_stay() -> None:
    with matplotlib.rc_context({"font.size": 15.0, "axes.labelsize": 21.0, "grid.color": "red"}):
        kept = dict(rcParams)
        found = figure()
        assert dict(rcParams) == kept
        assert found.axes[0].yaxis.label.get_fontsize() == 21.0
        assert min(sizes(found)) == pytest.approx(1.5 * 8.08, abs=0.02)
        with style.sheet("a_figure") as page:
            page.panel(height=2.0)
            assert rcParams["grid.color"] == "red"
    assert rcParams["grid.color"] != "red"


def test_a_readers_axes_are_drawn_on_and_returned() -> None:
    own = Figure(figsize=(5.0, 4.0))
    ax, other = own.subplots(1, 2)
    other.plot([0.0, 1.0], [1.0, 0.0], lw=3.0)
    mine = ax.plot([0.0, 1.0], [1.0, 0.0], lw=3.0)[0]
    assert figure("slide", ax) is ax
    assert " ".join(ax.get_title(loc="left").split()) == LONG
    assert ax.alt.startswith(LONG) and ax.get_legend() is not None
    # Only what was added is thicker.
    assert mine.get_linewidth() == 3.0 and ax.lines[1].get_linewidth() == 3.0
    assert other.lines[0].get_linewidth() == 3.0 and not other.get_title(loc="left")
    assert own._suptitle is None and not own.texts  # type: ignore[attr-defined]
    with pytest.raises(ms.InputError, match="a_figure ax: the figure has 1 panel, not 2"):
        figure(ax=[ax, other])
    with pytest.raises(ms.InputError, match="a_figure ax: cannot use 'here'"):
        figure(ax="here")
    with pytest.raises(ms.InputError, match="a_figure context: cannot use 'poster'"):
        figure("poster")


def test_panels_on_a_list_of_axes_and_too_many_for_a_slide() -> None:
    own = Figure()
    four = own.subplots(2, 2)
    with style.sheet("a_figure", "paper", list(four.ravel())) as page:
        axes = page.panels(2, 2, height=3.0, link_x="col", link_y=True)
        assert (axes == four).all()
        axes[0, 0].set_ylim(0.0, 7.0)
        axes[0, 1].set_xlim(2.0, 3.0)
        assert page.done("Four panels") == list(four.ravel())
    assert four[1, 1].get_ylim() == (0.0, 7.0) and four[1, 1].get_xlim() == (2.0, 3.0)
    assert four[1, 0].get_xlim() != (2.0, 3.0)
    with (
        style.sheet("a_figure", "slide") as page,
        pytest.raises(ms.InputError, match="5 rows of panels do not fit on a slide"),
    ):
        page.panels(5, height=3.0)
    with (
        style.sheet("a_figure", "paper", four[0, 0]) as page,
        pytest.raises(ms.InputError, match="panels of several sizes"),
    ):
        page.page(3.0)


def test_saved_files_say_what_they_show(tmp_path: Path) -> None:
    found = figure()
    assert found.alt == f"{LONG}. An invented house. Two lines. Invented."
    found.savefig(tmp_path / "a.png")
    with Image.open(tmp_path / "a.png") as image:
        assert image.info["Description"] == found.alt
    found.savefig(str(tmp_path / "a.svg"))
    assert found.alt in (tmp_path / "a.svg").read_text(encoding="utf-8")
    # A page that has the words beside the figure leaves them out.
    bare = io.StringIO()
    found.savefig(bare, format="svg", metadata={"Description": None})
    assert found.alt not in bare.getvalue()


def test_text_is_broken_by_its_width() -> None:
    lines = wrapped(LONG, 2.0).split("\n")
    assert " ".join(lines) == LONG and len(lines) > 2
    for line, after in zip(lines, lines[1:], strict=False):
        assert text_width(line) <= 2.0 < text_width(f"{line} {after.split(' ')[0]}")
    # The renderer agrees on the width.
    page = Page()
    text = page.text(0.0, 0.5, LONG, fontsize=12.0)
    seen = text.get_window_extent(drawn(page).get_renderer()).width / page.dpi
    assert seen < text_width(LONG, 12.0) < 1.08 * seen


def test_the_coil_on_a_readers_axes() -> None:
    own = Figure()
    ax = own.subplots()
    drawn_on = effective_shr_figure(UNIT, ax=ax, temperature="75 degF", relative_humidity=55.0)
    assert drawn_on is ax
    half = ms.coil_bench(UNIT, temperature="75 degF", relative_humidity=55.0)["shr"]
    at = half.index[int(np.abs(half.index.to_numpy(float) - 0.5).argmin())]
    assert f"{half.loc[at]:.2f} with the fan AUTO" in ax.alt
    assert "Steady coil" in written(own)
    slide = effective_shr_figure(UNIT, context="slide", temperature="75 degF")
    assert min(sizes(slide)) >= 16.0
