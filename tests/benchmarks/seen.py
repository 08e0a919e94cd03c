"""Every figure as readers see it: on a page and on a slide, in color, in gray and color-blind.

Run by hand, with a folder for the pictures; each shows one figure five times:

    python tests/benchmarks/seen.py FOLDER

The color-blind versions use the matrices of `support.drawing` (Machado, Oliveira and Fernandes 2009;
from memory), in linear light. Gray is the relative luminance of WCAG 2.
"""

import sys
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import attrs
import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.drawing import SIGHT, drawn

import moistsim as ms
from moistsim import figures

GRAY = [[0.2126, 0.7152, 0.0722]] * 3
WAYS = {**SIGHT, "gray": GRAY}


def seen(pixels: Any, way: Any) -> Any:
    """Pixels from 0 to 255 as a reader sees them."""
    srgb = pixels[..., :3] / 255.0
    linear = np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
    linear = np.clip(linear @ np.asarray(way).T, 0.0, 1.0)
    out = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return np.round(255.0 * out).astype(np.uint8)


def everything() -> Iterator[tuple[str, Any, Any]]:
    """Each figure function with its data, from an invented house's spring."""
    demo = ms.scenario.read_scenario(ms.scenario.DEMO)
    study = attrs.evolve(demo.study, start="04-01", end="06-15", step="5 min")
    whole = study.run(progress=False)
    names = list(whole.seasons)
    some = whole.only(*names[:3])
    season = whole.seasons[names[-1]]
    cooling = study.resolved[names[0]].equipment.cooling
    bought = ms.economics(whole, demo.purchases, demo.terms)
    pair = ("Stand-alone dehumidifier", "Staged compressor with strip reheat")
    ranges = {"house.ach50": ms.uniform(1, 4), "tariff.price": ms.uniform(0.1, 0.3)}
    # The cases of a certainty need few days to show a picture.
    short = attrs.evolve(study, start="05-01", end="05-20", step="15 min")
    sure = ms.how_sure(
        short, demo.purchases, demo.terms, ranges, options=pair, n=32, progress=False
    )
    for kind in (
        "season", "humidity", "months", "spells", "carpet", "sources", "mold", "extra_liter", "runs",
        "tradeoff",
    ):  # fmt: skip
        yield kind, getattr(figures, f"{kind}_figure"), some
    yield "day", figures.day_figure, some.only(*names[:2])
    for kind in ("loads", "flows", "psychrometric"):
        yield kind, getattr(figures, f"{kind}_figure"), season
    yield "effective_shr", figures.effective_shr_figure, cooling
    yield "cost", figures.cost_figure, bought
    yield "bridge", figures.bridge_figure, bought.bridge(*pair[::-1])
    yield "certainty", figures.certainty_figure, sure
    yield "sizing", figures.sizing_figure, ms.size(study)


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, draw, data in everything():
        page, slide = (draw(data, context=context) for context in ("paper", "slide"))
        slide.set_dpi(52)
        colors = np.asarray(drawn(page).buffer_rgba())
        parts = [Image.fromarray(np.asarray(drawn(slide).buffer_rgba())[..., :3])]
        parts += [Image.fromarray(seen(colors, way)) for way in WAYS.values()]
        out = Image.new(
            "RGB", (sum(p.width for p in parts[1:3]), parts[0].height + 2 * parts[1].height), "gray"
        )
        out.paste(parts[0], (0, 0))
        for k, part in enumerate(parts[1:]):
            out.paste(part, (k % 2 * part.width, parts[0].height + k // 2 * part.height))
        out.save(folder / f"{name}.png")
        print(f"{name}: {page.alt}")


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    main(Path(sys.argv[1]))
