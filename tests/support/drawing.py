"""Figures as text, as pixels, and as a color-blind reader sees their colors."""

from itertools import combinations

import matplotlib
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text


def drawn(figure: Figure) -> FigureCanvasAgg:
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return canvas


def written(figure: Figure) -> str:
    return "\n".join(text.get_text() for text in figure.findobj(Text))


# Machado, Oliveira & Fernandes (2009), "A physiologically-based model for simulation of color
# vision deficiency", matrices of severity 1.0; from memory.
SIGHT = {
    "full": np.eye(3),
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
}


def contrast(one: str, other: str) -> float:
    """Contrast of two colors by WCAG 2.1, relative luminance (from memory)."""

    def luminance(color: str) -> float:
        channels = np.array(matplotlib.colors.to_rgb(color))
        low, high = channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4
        return float(np.where(channels <= 0.04045, low, high) @ (0.2126, 0.7152, 0.0722))

    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def lab(linear: np.ndarray) -> np.ndarray:
    """CIE L*a*b* of linear sRGB (IEC 61966-2-1; white D65)."""
    to_xyz = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    f = np.array(to_xyz) @ linear / (0.9505, 1.0, 1.089)
    f = np.where(f > (6 / 29) ** 3, np.cbrt(f), f / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def differ(colors: dict[str, str], sight: str) -> None:
    seen = {}
    for use, color in colors.items():
        srgb = np.array(matplotlib.colors.to_rgb(color))
        linear = np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
        seen[use] = lab(np.clip(np.array(SIGHT[sight]) @ linear, 0.0, 1.0))
    for one, other in combinations(seen, 2):
        assert np.linalg.norm(seen[one] - seen[other]) > 12.0, f"{one} and {other}"
