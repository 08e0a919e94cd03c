"""Drag to picture on the desk, in headless Chromium: run by hand, on a machine that does nothing else.

    python tests/benchmarks/desk.py [moves]

A slider of the demo house is dragged with the mouse. The time runs from a position of the slider to
the first picture of it or of a newer position, loaded by the browser. Then the slider is released,
and the time runs to the picture at the minute step and to the answer at the minute step. Next to it
stands the engine alone: all options for a year at the same steps.
"""

import os
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from support.pages import browser, served, settled

from moistsim.scenario import DEMO, read_scenario

WATCH = """
window.seen = [];
const send = WebSocket.prototype.send;
WebSocket.prototype.send = function (text) {
  seen.push(["sent", performance.now()]);
  return send.call(this, text);
};
document.addEventListener("input", () => seen.push(["moved", performance.now()]), true);
document.addEventListener("pointerup", () => seen.push(["released", performance.now()]), true);
document.addEventListener("load", (event) => {
  if (event.target.id === "when") {
    const coarse = document.getElementById("options").classList.contains("coarse");
    seen.push([coarse ? "coarse" : "fine", performance.now()]);
  }
}, true);
"""


def delays(seen: list[list[Any]], begin: str, end: str) -> list[float]:
    """Times from each event of one kind to the first picture of a request sent at it or later, s."""
    found = []
    for kind, at in seen:
        if kind != begin:
            continue
        sent = [t for k, t in seen if k == "sent" and t >= at]
        shown = [t for k, t in seen if k == end and sent and t >= sent[0]]
        if shown:
            found.append(1e-3 * (shown[0] - at))
    return found


def row(name: str, values: list[float]) -> None:
    """Print number, median and 95th percentile."""
    middle, high = np.percentile(values, [50, 95])
    print(f"{name:58} {len(values):5d} {middle:8.2f} {high:8.2f}")


def engine(step: str) -> list[float]:
    """Times of all options for a year, whose house is new each time, s."""
    study, found = read_scenario(DEMO).study.evolve(step=step), []
    study.run(progress=False)
    for k in range(8):
        other = study.evolve({"house.ach50": 2.5 + 0.1 * k})
        begun = time.perf_counter()
        other.run(progress=False)
        found.append(time.perf_counter() - begun)
    return found


def main(moves: int) -> None:
    """Drag, release, and print."""
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    print(f"{'s':58} {'n':>5} {'median':>8} {'95th':>8}")
    row("engine alone, 5-minute step", engine("300 s"))
    row("engine alone, minute step", engine("60 s"))
    with (
        tempfile.TemporaryDirectory() as folder,
        served(Path(folder), "desk") as desk,
        browser() as chromium,
    ):
        page = chromium.new_page(viewport={"width": 1400, "height": 1000})
        page.add_init_script(WATCH)
        page.goto(desk.address)
        settled(page)
        coarse, fine, answers = [], [], []
        for knob in ("ach50", "ventilation", "humidity_setpoint"):
            slider = page.locator(f"#{knob}")
            slider.scroll_into_view_if_needed()
            box = slider.bounding_box()
            height = box["y"] + 0.5 * box["height"]
            for turn in range(3):
                page.evaluate("seen.length = 0")
                page.mouse.move(box["x"] + 0.2 * box["width"], height)
                page.mouse.down()
                for k in range(moves):
                    share = 0.5 + 0.3 * np.sin(0.11 * k + 0.02 * turn)
                    page.mouse.move(box["x"] + share * box["width"], height)
                    page.wait_for_timeout(40)
                page.wait_for_timeout(1500)
                page.mouse.up()
                begun = time.perf_counter()
                settled(page)
                answers.append(time.perf_counter() - begun)
                seen = page.evaluate("seen")
                coarse += delays(seen, "moved", "coarse")
                fine += delays(seen, "released", "fine")
        row("a moved slider to its picture, 5-minute step", coarse)
        row("a released slider to its picture, minute step", fine)
        row("a released slider to the answer, minute step", answers)
    print(f"load {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 60)
