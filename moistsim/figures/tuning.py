"""Cost against humidity of the setpoints that `tune` tried."""

import itertools
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from moistsim.core.display import Show, Units, count, number, units_or_default
from moistsim.engine import column_catalog
from moistsim.figures import style
from moistsim.figures.style import LIMIT, Context, Drawn
from moistsim.study import Tuned, shown_unit

# Shape and lightness differ as well as hue.
CLOUD, ENVELOPE, OWN, TUNED, OTHER = "#8e8d8d", "#17456e", *style.PLACE_COLORS[:3]
FAR = 0.6
"""Maximum distance from the tried points, as a share of their spread, for an option on the axes.

An option farther away is listed at the edge.
"""

WIDE = 4.0
"""Right end of the axis of hours, as a multiple of the limit.

If the option's own or the tuned setpoints give more hours than the limit, they replace it.
"""


def tuning_figure(
    tuned: Tuned, units: Units | None = None, *, ax: Any = None, context: Context = "paper"
) -> Drawn:
    """Draw cost against humidity for all setpoints that were tried, one point for each season.

    The figure shows the lower envelope of the points, the option's own setpoints, the tuned ones,
    the limit and the study's other options. Options and points far from the limit are listed at
    the edge with their numbers.

    Parameters
    ----------
    tuned : Tuned
        What `tune` returned. Of several limits, the first is shown.
    units : {"us", "si"}, optional
        Units of a mean dew point and of floor area; default: those of `set_units`.
    ax : Axes, optional
        Where to draw, in place of a page.
    context : {"paper", "slide"}
        A page or a slide.

    Returns
    -------
    matplotlib.figure.Figure
        Or the Axes that the reader gave.

    Raises
    ------
    InputError
        If `units` or `context` is unknown.

    Examples
    --------
    >>> figure = ms.figures.tuning_figure(ms.tune(study, "Reheat", vary, hold))  # doctest: +SKIP
    """
    show = Show(units_or_default(units, "figure units"))
    hold, cost = tuned.holds[0], tuned.objective
    measure, objective = column_catalog.MEASURE[hold.measure], column_catalog.MEASURE[cost]

    def shown(values: Any) -> Any:
        return measure.shown(np.asarray(values, dtype=float), show.units)

    with style.sheet("tuning_figure", context, ax) as page:
        panel = page.panel(height=5.9)
        runs = tuned.runs[tuned.runs["refused"] == ""]
        kept = runs["holds"].to_numpy(bool)
        x, y = shown(runs[hold.measure]), runs[cost].to_numpy(float)
        limit = float(shown(hold.limit))
        panel.scatter(x[kept], y[kept], s=30, color=CLOUD, lw=0, zorder=2)
        panel.scatter(
            x[~kept], y[~kept], s=30, facecolors="none", edgecolors=CLOUD, lw=1.0, zorder=2
        )
        envelope = tuned.envelope
        front = (shown(envelope[hold.measure]), envelope[cost].to_numpy(float))
        (line,) = panel.plot(*front, color=ENVELOPE, lw=2.0, drawstyle="steps-post", zorder=1.5)

        marks = [
            ("as set", tuned.default, OWN, "s", 110),
            ("tuned", tuned.tuned, TUNED, "D", 90),
            *((name, row, OTHER, "^", 120) for name, row in tuned.others.iterrows()),
        ]
        points = [
            (str(name), float(shown(row[hold.measure])), float(row[cost]), color, marker, size)
            for name, row, color, marker, size in marks
        ]
        # Setpoints that are wide apart give hours far beyond any useful limit.
        reach = WIDE * max(limit, points[0][1], points[1][1])
        hours = measure.unit in ("hour", "percent hour")
        close = x <= reach if hours and reach > 0.0 else x == x
        near = _limits(panel, [*x[close], limit], [*y[close]], points)
        at_limit = panel.axvline(limit, color=LIMIT, lw=1.0, ls="--", zorder=1)
        labels = []
        for name, px, py, color, marker, size in points:
            if near(px, py):
                panel.scatter(
                    [px], [py], s=size, color=color, marker=marker, edgecolors="black", zorder=5
                )
                labels.append((style.wrapped(name, 0.35 * page.width(), "small"), px, py))
        far = [p for p in points if not near(p[1], p[2])]
        unit = objective.sign(show.units)
        measured = measure.sign(show.units) or "starts"

        def said(value: float) -> str:
            return f"{number(value, 0 if value > 100.0 else 1)} {measured}"

        beyond = [f"{name}: {said(px)}, {number(py)} {unit}" for name, px, py, *_ in far]
        if not close.all():
            beyond.append(f"{(~close).sum()} of the seasons tried: above {said(reach)}")
        if beyond:
            panel.annotate(
                style.wrapped("\n".join(["Outside this figure:", *beyond]), 0.6 * page.width(), "small"),
                (0.99, 0.98), xycoords="axes fraction", ha="right", va="top",
                fontsize="small", color="#0b5a4f",
            )  # fmt: skip
        humid = measure.part == "humidity"
        panel.set_xlabel(measure.heading(show.units) + (" (drier to the left)" if humid else ""))
        panel.set_ylabel(objective.heading(show.units))
        panel.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
        panel.xaxis.set_major_formatter(lambda value, _: f"{value:,.6g}")
        panel.grid()
        style.plain(panel)

        def dot(label: str, **kwargs: Any) -> Line2D:
            return Line2D([], [], ls="", label=label, **kwargs)

        n = len(tuned.holds)
        held = {1: "limit met", 2: "both limits met"}.get(n, f"all {n} limits met")
        key = [
            dot(
                f"As set: {_words(tuned, False)}",
                marker="s",
                color=OWN,
                markeredgecolor="black",
            ),
            dot(
                f"Tuned: {_words(tuned, True)}",
                marker="D",
                color=TUNED,
                markeredgecolor="black",
            ),
            dot(f"Tried: {held}", marker="o", color=CLOUD),
            dot("Tried: limit not met", marker="o", markerfacecolor="none", color=CLOUD),
            Line2D([], [], color=ENVELOPE, lw=2.0, label="Lower envelope"),
            Line2D([], [], color=LIMIT, lw=1.0, ls="--", label=f"Limit: {said(limit)}"),
            dot("Other options", marker="^", color=OTHER, markersize=9, markeredgecolor="black"),
        ][: 7 if len(tuned.others) else 6]

        def there(row: Any) -> str:
            return f"{said(float(shown(row[hold.measure])))} for {number(float(row[cost]))} {unit}"

        figure = page.done(
            f"{tuned.option}, tuned: {there(tuned.tuned)}; as set: {there(tuned.default)}",
            f"{style.place(tuned.study, show)}. Cost against {'humidity' if humid else 'the limit'} in "
            f"{count(len(runs), 'season')}",
            key=key,
        )
        _place_labels(panel, labels, line, at_limit)
        return figure


def _limits(ax: Axes, xs: list[float], ys: list[float], points: list[Any]) -> Any:
    """Set the axes to hold the points and the options near them; return a test for a point."""
    sides = []
    for values, place in ((xs, 1), (ys, 2)):
        low, high = min(values), max(values)
        reach = FAR * ((high - low) or max(abs(high), 1.0))
        sides.append((low - reach, high + reach, low, high, place))

    def near(px: float, py: float) -> bool:
        return all(a <= value <= b for (a, b, *_), value in zip(sides, (px, py), strict=True))

    setters: tuple[Any, Any] = (ax.set_xlim, ax.set_ylim)
    for (_, _, low, high, place), setter in zip(sides, setters, strict=True):
        inside = [p[place] for p in points if near(p[1], p[2])]
        low, high = min([low, *inside]), max([high, *inside])
        pad = 0.08 * ((high - low) or max(abs(high), 1.0))
        setter(low - pad, high + pad)
    return near


def _words(tuned: Tuned, found: bool) -> str:
    """The varied setpoints, as set or as tuned."""
    row = tuned.tuned if found else tuned.default
    # A name is not broken from its number.
    return ", ".join(
        f"{name.replace('_', ' ')} {bounds.written(float(row[name])):.6g} {shown_unit(bounds)}".rstrip()
        .replace("deg", "°")
        .replace(" ", "\u00a0")
        for name, bounds in tuned.vary.items()
    )


def _place_labels(
    ax: Axes, labels: list[tuple[str, float, float]], envelope: Line2D, at_limit: Line2D
) -> None:
    """Put each label next to its mark, where it hides no label and the fewest points."""
    figure: Any = ax.figure
    texts = [
        ax.annotate(
            text, (x, y), xytext=(0, 0), textcoords="offset points", zorder=6,
            fontsize="small",
            arrowprops={"arrowstyle": "-", "color": LIMIT, "lw": 0.6, "shrinkB": 5.0},
            bbox={"facecolor": "white", "alpha": 0.75, "edgecolor": "none", "pad": 1.0},
        )
        for text, x, y in labels
    ]  # fmt: skip
    for text in texts:
        text.set_in_layout(False)
    # The length of a text next to the axes is known only after the layout.
    figure.draw_without_rendering()
    to_page = ax.transData.transform
    dots = np.vstack([to_page(np.asarray(c.get_offsets())) for c in ax.collections])
    marks = [to_page((x, y)) for _, x, y in labels]
    line = to_page(np.asarray(envelope.get_xydata()))
    # The envelope is drawn in steps, of which the points are one corner.
    steps = np.vstack([line, np.column_stack([line[1:, 0], line[:-1, 1]])])
    limit = float(to_page((float(np.asarray(at_limit.get_xdata())[0]), 0.0))[0])
    scale, inside = figure.dpi / 72.0, ax.bbox
    taken = [text.get_window_extent() for text in ax.texts if text not in texts]
    for text, mark in zip(texts, marks, strict=True):
        size = Text.get_window_extent(text)
        best: tuple[float, Bbox, tuple[float, float], Any, Any] | None = None
        for out, (ha, va) in itertools.product(
            (10.0, 24.0, 40.0, 64.0), itertools.product(("left", "right"), ("bottom", "top"))
        ):
            shift = (out if ha == "left" else -out, 0.7 * out if va == "bottom" else -0.7 * out)
            x, y = mark[0] + shift[0] * scale, mark[1] + shift[1] * scale
            x -= size.width if ha == "right" else 0.0
            y -= size.height if va == "top" else 0.0
            box = Bbox.from_bounds(x, y, size.width, size.height)
            roomy = box.padded(4.0 * scale)
            hidden = sum(len(p) - _outside(roomy, p) for p in (dots, steps))
            cut = not (inside.x0 <= box.x0 and box.x1 <= inside.x1)
            cut |= not (inside.y0 <= box.y0 and box.y1 <= inside.y1)
            worst = 1000.0 * (
                cut + roomy.count_overlaps(taken) + len(marks) - _outside(roomy, marks)
            )
            crossed = 2.0 * (box.x0 < limit < box.x1)
            score = worst + hidden + crossed + 0.05 * out
            if best is None or score < best[0]:
                best = (score, box, shift, ha, va)
        assert best is not None
        taken.append(best[1])
        text.set_position(best[2])
        text.set_horizontalalignment(best[3])
        text.set_verticalalignment(best[4])


def _outside(box: Bbox, points: Any) -> int:
    """Number of points that lie outside a box."""
    x, y = np.asarray(points, dtype=float).T
    return int(((x < box.x0) | (x > box.x1) | (y < box.y0) | (y > box.y1)).sum())
