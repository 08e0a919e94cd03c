"""Where a figure is drawn: paper, slide or phone, or a reader's own axes; its words and letter sizes.

Letters follow the reader's own ``font.size``, and every setting of matplotlib that a reader changed
stays as it is. `sheet` sets the rest while a figure is drawn.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Literal, NamedTuple, TypeAlias

import numpy as np
from matplotlib import rc_context, rcParams, rcParamsDefault
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.legend import Legend
from matplotlib.lines import Line2D
from matplotlib.text import Annotation, Text
from matplotlib.textpath import text_to_path
from numpy.typing import NDArray

from moistsim.core.display import count
from moistsim.core.errors import Fix, InputError, Problem

Context = Literal["paper", "slide"]
"""A page, with letters of 8 to 10 points, or a slide of 16:9, with letters of at least 16 points."""

Drawn: TypeAlias = Any
"""A matplotlib Figure, or the Axes that the reader gave."""


class _Medium(NamedTuple):
    width: float
    """Inches."""
    height: float | None
    """Inches; None: as high as the content needs."""
    letters: float
    """Size of a letter, as a multiple of ``font.size``."""
    lines: float
    """Thickness of a line, as a multiple of that on a screen."""
    panels: int
    """Maximum number of panels above one another."""


MEDIA = {
    "paper": _Medium(7.0, None, 0.97, 0.75, 50),
    "slide": _Medium(13.333, 7.5, 1.94, 1.5, 4),
    "phone": _Medium(5.4, None, 1.1, 0.85, 50),
    "wall sheet": _Medium(7.5, None, 0.9, 0.75, 50),
}
"""Media by name. The smallest letters, "small", are 5/6 of the size here: 8.1, 16.2, 9.2 and 7.5 points."""

EDGE = 0.08
"""Free edge of a page, inches."""

GRAY = "#4b4b4b"
"""Color of notes."""

OURS: dict[str, Any] = {
    "axes.axisbelow": True,
    "axes.labelsize": "medium",
    "axes.spines.right": False,
    "axes.spines.top": False,
    "axes.titlelocation": "left",
    "axes.titlesize": "medium",
    "grid.color": "#e3e3e3",
    "grid.linewidth": 0.7,
    "legend.fontsize": "small",
    "legend.frameon": False,
    "xtick.labelsize": "small",
    "ytick.labelsize": "small",
}
"""Settings of matplotlib for a figure, each where the reader has changed nothing."""


def points(size: str) -> float:
    """Letter size in points of "small", "medium" or "large" on the sheet that is being drawn."""
    return float(FontProperties(size=size).get_size_in_points())


def text_width(text: str, size: str | float = "medium", weight: str = "normal") -> float:
    """Width of one line of text, inches."""
    font = FontProperties(size=size, weight=weight)
    # Letters on a screen of few dots are wider by up to 4 percent.
    return 1.04 * float(text_to_path.get_text_width_height_descent(text, font, False)[0]) / 72.0


def wrapped(text: str, inches: float, size: str | float = "medium", weight: str = "normal") -> str:
    """Text in lines of at most this width. A word that is wider has a line of its own."""
    lines = []
    for paragraph in text.split("\n"):
        line = ""
        for word in paragraph.split(" "):
            longer = f"{line} {word}" if line else word
            if line and text_width(longer, size, weight) > inches:
                lines.append(line)
                longer = word
            line = longer
        lines.append(line)
    return "\n".join(lines)


class Page(Figure):
    """A figure with a title and notes around its panels, and its content in words.

    The words are plain: the $, # and \\frac of an option's name are shown as written.
    """

    alt = ""
    """Content of the figure in words. Saved files have it as their description."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._settings: dict[str, Any] = {}
        self._above: list[tuple[Text, str]] = []
        self._below: list[tuple[Text, str]] = []
        self._key: tuple[list[Any], int | None] | None = None

    def add_words(self, title: str, about: str, note: str) -> None:
        """Set the title and a line about it above the panels, and a note below them."""
        looks: tuple[dict[str, Any], dict[str, Any]] = (
            {"fontsize": "large", "fontweight": "bold"},
            {"fontsize": "small", "color": GRAY},
        )
        for words, look, into in (
            (title, looks[0], self._above),
            (about, looks[1], self._above),
            (note, looks[1], self._below),
        ):
            if words:
                text = self.text(0.0, 0.0, words, va="top", ha="left", **look)
                into.append((text, words))

    def add_key(self, handles: Sequence[Any], columns: int | None = None) -> None:
        """Set one legend below all panels, by default in as many columns as its words need."""
        self._key = (list(handles), columns)
        self._draw_key(0.0)

    def _draw_key(self, bottom: float) -> Legend:
        assert self._key is not None
        handles, columns = self._key
        width, height = (float(side) for side in self.get_size_inches())
        for old in [*self.legends]:
            old.remove()
        # A long name has lines of its own, so the others can stand side by side.
        labels = [wrapped(str(h.get_label()), 0.44 * width, "small") for h in handles]
        return self.legend(
            handles, labels, loc="lower center", bbox_to_anchor=(0.5, bottom / height),
            ncols=columns or self._columns(labels, width - 2.0 * EDGE), borderaxespad=0.0,
            columnspacing=1.2, handlelength=1.8, handletextpad=0.5,
        )  # fmt: skip

    def _columns(self, labels: list[str], width: float) -> int:
        size = rcParams["legend.fontsize"]
        em = FontProperties(size=size).get_size_in_points() / 72.0
        widest = [
            max(text_width(line, size) for line in label.split("\n")) + 4.6 * em for label in labels
        ]
        for columns in range(len(labels), 1, -1):
            # A legend is filled column by column.
            if sum(max(part) for part in np.array_split(widest, columns)) < width:
                return columns
        return 1

    def _arrange(self, renderer: Any) -> None:
        """Place words and legend at the edges, and leave the rest of the page to the panels."""
        width, height = (float(side) for side in self.get_size_inches())
        top = height - EDGE
        size: Any
        for text, words in self._above:
            size, weight = text.get_fontsize(), str(text.get_fontweight())
            text.set_text(wrapped(words, width - 2.0 * EDGE, size, weight))
            text.set_position((EDGE / width, top / height))
            top -= 1.25 * size / 72.0 * (text.get_text().count("\n") + 1) + 0.03
        bottom = EDGE
        for text, words in self._below:
            size = text.get_fontsize()
            text.set_text(wrapped(words, width - 2.0 * EDGE, size))
            bottom += 1.25 * size / 72.0 * (text.get_text().count("\n") + 1)
            text.set_position((EDGE / width, bottom / height))
        if self._key is not None:
            legend = self._draw_key(bottom)
            bottom += legend.get_window_extent(renderer).height / self.dpi + 0.02
        engine = self.get_layout_engine()
        if isinstance(engine, ConstrainedLayoutEngine):
            low = bottom / height if bottom > EDGE else 0.0
            high = top / height if self._above else 1.0
            engine.set(rect=(0.0, low, 1.0, high - low))

    def draw(self, renderer: Any) -> None:
        for text in self.findobj(Text):
            text.set_parse_math(False)
        # Labels of axes are made while drawing.
        settings: Any = {**self._settings, "text.parse_math": False}
        with rc_context(settings):
            self._arrange(renderer)
            super().draw(renderer)

    def savefig(self, fname: Any, **kwargs: Any) -> None:
        """Save the figure. Files that can hold a description get the content in words."""
        named = str(fname).rsplit(".", 1)[-1] if isinstance(fname, str | Path) else ""
        kind = str(kwargs.get("format") or named or rcParams["savefig.format"]).lower()
        key = {"png": "Description", "svg": "Description", "pdf": "Subject"}.get(kind)
        if key and self.alt:
            kwargs["metadata"] = {key: self.alt, **(kwargs.get("metadata") or {})}
        super().savefig(fname, **kwargs)


class Sheet:
    """What a figure function draws on: a page of its own, or axes that the reader gave.

    `sheet` makes it.
    """

    def __init__(self, where: str, name: str, given: Any, settings: dict[str, Any]) -> None:
        self.where, self.name, self.medium = where, name, MEDIA[name]
        self.settings = settings
        self.one = isinstance(given, Axes)
        """Whether the reader gave one axes, and not a list."""
        self.given: list[Axes] | None = (
            None if given is None else [given] if self.one else [*np.ravel(given)]
        )
        if self.given is not None and not all(isinstance(ax, Axes) for ax in self.given):
            raise InputError(f"{where} ax", given, "matplotlib Axes, or a list of them")
        self._before = {
            id(child) for ax in self.given or () for child in ax.findobj(include_self=False)
        }
        self.figure: Figure
        self.axes: list[Axes] = []

    @property
    def slide(self) -> bool:
        """Whether the figure is for a slide."""
        return self.name == "slide"

    @property
    def bare(self) -> bool:
        """Whether the figure is part of a page of ours, which has the title and the notes."""
        return self.name in ("phone", "wall sheet")

    def width(self, columns: int = 1) -> float:
        """Width of one of so many panels in a row, inches, with its labels."""
        whole = self.medium.width
        if self.given is not None:
            whole = float(self.given[0].get_window_extent().width) / self.given[0].figure.dpi
            return whole
        return whole / columns

    def height(self) -> float:
        """Height of the page, inches, after its panels are made."""
        if self.given is not None:
            return float(self.given[0].get_window_extent().height) / self.given[0].figure.dpi
        return float(self.figure.get_size_inches()[1])

    def panels(
        self, rows: int = 1, columns: int = 1, *, height: float, link_x: str | bool = False,
        link_y: str | bool = False, **grid: Any,
    ) -> NDArray[Any]:  # fmt: skip
        """The panels, as a table of Axes.

        Parameters
        ----------
        rows, columns : int
        height : float
            Height of a page, inches. A slide has its own.
        link_x, link_y : bool or {"row", "col"}
            Panels that share their axes.
        **grid
            As for `Figure.subplots`, such as ``width_ratios``.
        """
        n = rows * columns
        if self.given is not None:
            if len(self.given) != n:
                accepted = "one Axes" if n == 1 else f"a list of {n} Axes, row by row, or no ax"
                raise InputError(
                    f"{self.where} ax", Problem(f"the figure has {count(n, 'panel')}, not {len(self.given)}"),
                    Fix(f"Give {accepted}."),
                )  # fmt: skip
            axes = np.array(self.given, dtype=object).reshape(rows, columns)
            for link, way in ((link_x, "sharex"), (link_y, "sharey")):
                for (r, c), ax in np.ndenumerate(axes):
                    first = {"row": axes[r, 0], "col": axes[0, c]}.get(str(link), axes[0, 0])
                    if link and ax is not first:
                        # An axis that is shared already stays as the reader shared it.
                        with suppress(ValueError):
                            getattr(ax, way)(first)
            self.figure = axes[0, 0].figure
        else:
            if rows > self.medium.panels:
                raise InputError(
                    f"{self.where} context",
                    Problem(f"{rows} rows of panels do not fit on a slide"),
                    Fix(
                        f"Draw at most {self.medium.panels} options, such as "
                        "comparison.only('today', 'dehumidifier'), or use context='paper'."
                    ),
                )
            self.figure = self.page(height)
            axes = self.figure.subplots(
                rows, columns, squeeze=False, sharex=link_x, sharey=link_y, **grid  # type: ignore[arg-type]
            )  # fmt: skip
        self.axes = [*axes.ravel()]
        return axes

    def mosaic(
        self, layout: Sequence[Sequence[Any]], *, height: float, **grid: Any
    ) -> dict[str, Axes]:
        """The panels by name, at their places in a table of names.

        Parameters
        ----------
        layout : rows of names
            As for `Figure.subplot_mosaic`, where a table within a table has a grid of its own.
        height : float
            Height of a page, inches. A slide has its own.
        **grid
            As for `Figure.subplot_mosaic`, such as ``height_ratios``.
        """
        names = list(dict.fromkeys(_names(layout)))
        if self.given is not None:
            return dict(zip(names, self.panels(len(names), height=height)[:, 0], strict=True))
        rows: Any = layout
        panels: dict[str, Axes] = self.page(height).subplot_mosaic(rows, **grid)
        self.axes = [panels[name] for name in names]
        return panels

    def panel(self, height: float) -> Axes:
        """The figure's only panel."""
        ax: Axes = self.panels(height=height)[0, 0]
        return ax

    def page(self, height: float) -> Page:
        """An empty page, for a figure that arranges its panels itself."""
        if self.given is not None:
            raise InputError(
                f"{self.where} ax", Problem("the figure has panels of several sizes"),
                Fix("Leave ax away, and save the figure by itself."),
            )  # fmt: skip
        # Panels of a slide are farther apart, as are its letters.
        pad = 0.04 * self.medium.letters
        figure = Page(
            figsize=(self.medium.width, self.medium.height or height),
            layout=ConstrainedLayoutEngine(h_pad=pad, w_pad=pad),
        )
        figure._settings = self.settings
        self.figure = figure
        return figure

    def done(
        self, title: str, about: str = "", *, alt: str = "", key: Sequence[Any] = (),
        columns: int | None = None, note: str = "",
    ) -> Drawn:  # fmt: skip
        """Write the words and the legend, and return the figure or the reader's axes.

        Parameters
        ----------
        title : str
            The finding of these data, as a sentence.
        about : str
            The place, the period and what the figure shows.
        alt : str
            More content in words, for a reader who does not see the figure.
        key : sequence of artists
            Entries of the legend.
        columns : int, optional
            Columns of the legend; default: as many as its words need.
        note : str
            Small words below the figure.
        """
        words = " ".join(f"{part.rstrip('.')}." for part in (title, about, alt, note) if part)
        words = " ".join(words.split())
        self._thicken(key)
        if self.given is None:
            assert isinstance(self.figure, Page)
            self.figure.alt = words
            if not self.bare:
                self.figure.add_words(title, about, note)
            if key:
                self.figure.add_key(key, columns)
            return self.figure
        for ax in self.given:
            for text in ax.findobj(Text):
                text.set_parse_math(False)
            ax.alt = words  # type: ignore[attr-defined]
        first, last = self.given[0], self.given[-1]
        if self.one:
            first.set_title(wrapped(title, self.width(), "medium", "bold"), fontweight="bold")
        if key:
            last.legend(handles=list(key), loc="best")
        return self.given[0] if self.one else self.given

    def _thicken(self, key: Sequence[Any]) -> None:
        """Make lines and marks as thick as the medium wants them, those of the legend too."""
        times = self.medium.lines
        pages: list[Artist] = [self.figure] if self.given is None else [*self.given]
        drawn = {id(artist): artist for page in pages for artist in page.findobj()}
        for artist in (drawn | {id(handle): handle for handle in key}).values():
            if id(artist) in self._before:
                continue
            if isinstance(artist, Line2D):
                artist.set_linewidth(times * artist.get_linewidth())
                artist.set_markersize(times * artist.get_markersize())
            elif isinstance(artist, Annotation) and artist.arrow_patch is not None:
                artist.arrow_patch.set_linewidth(times * artist.arrow_patch.get_linewidth())


def _names(layout: Any) -> Iterator[str]:
    for part in layout:
        if isinstance(part, str):
            yield part
        else:
            yield from _names(part)


@contextmanager
def sheet(
    where: str, context: Context = "paper", ax: Any = None, *, narrow: bool = False,
    on_wall: bool = False,
) -> Iterator[Sheet]:  # fmt: skip
    """Open the sheet of a figure, with the letters and settings of its medium.

    Parameters
    ----------
    where : str
        Name of the figure function, for errors.
    context : {"paper", "slide"}
    ax : Axes or list of Axes, optional
        Where to draw instead of on a page of its own.
    narrow : bool
        Draw for a phone or a column of text, without title and notes.
    on_wall : bool
        Draw for the sheet on the wall, without title and notes.

    Raises
    ------
    InputError
        If `context` is neither.

    Examples
    --------
    >>> with sheet("doc_figure", "slide") as page:
    ...     panel = page.panel(height=3.0)
    ...     line = panel.plot([0.0, 1.0], [50.0, 62.0])
    ...     figure = page.done("RH rises to 62 %", "An invented day")
    >>> figure.alt, [float(side) for side in figure.get_size_inches()]
    ('RH rises to 62 %. An invented day.', [13.333, 7.5])
    """
    if context not in ("paper", "slide"):
        raise InputError(f"{where} context", context, "'paper' or 'slide'")
    name = "phone" if narrow else "wall sheet" if on_wall else context
    now: Any = rcParams
    usual: Any = rcParamsDefault
    medium = MEDIA[name]
    # Large letters of both axes would touch in the corner.
    pads = {
        f"{axis}tick.major.pad": usual[f"{axis}tick.major.pad"] * medium.letters for axis in "xy"
    }
    settings: Any = {k: value for k, value in (OURS | pads).items() if now[k] == usual[k]}
    settings["font.size"] = now["font.size"] * medium.letters
    settings["text.parse_math"] = False
    with rc_context(settings):
        yield Sheet(where, name, ax, settings)
