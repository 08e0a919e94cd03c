"""The desk: a page of sliders over the real engine, one house for each browser."""

import asyncio
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tornado.websocket import WebSocketClosedError, WebSocketHandler

from moistsim.core.display import Units
from moistsim.desk.live import html
from moistsim.desk.serving import Guard, Guarded, Rules, content_of, part_of_page, serve
from moistsim.desk.session import Session
from moistsim.report import CAUTIONS
from moistsim.scenario import Scenario

MOST_HOUSES = 16
"""Most browsers at the same time: each has a thread and the results of its house."""


class _Socket(Guarded, WebSocketHandler):
    """The connection of one browser to its own house."""

    scenario: Scenario
    units: Units
    folder: Path
    houses: list[Session]

    def open(self, *_: str, **__: str) -> None:
        loop = asyncio.get_running_loop()
        self.house: Session | None = None
        if len(self.houses) >= MOST_HOUSES:
            self._write(
                {"problem": f"{MOST_HOUSES} pages are open already. Close one, and reload."}
            )
            return

        def send(message: dict[str, Any]) -> None:
            loop.call_soon_threadsafe(self._write, message)

        self.house = Session(self.scenario, self.units, self.folder, send)
        self.houses.append(self.house)

    def _write(self, message: dict[str, Any]) -> None:
        try:
            self.write_message(json.dumps(message))
        except WebSocketClosedError:
            self.on_close()

    def on_message(self, message: str | bytes) -> None:
        if self.house is None:
            return
        try:
            read = json.loads(message)
        except ValueError:
            return
        if isinstance(read, dict):
            self.house.take(read)

    def on_close(self) -> None:
        if self.house is not None:
            self.house.close()
            if self.house in self.houses:
                self.houses.remove(self.house)


def run_desk(
    scenario: Scenario,
    *,
    units: Units,
    folder: Path,
    port: int,
    opens: bool,
    started: Callable[[str], None],
) -> None:
    """Serve the desk until the process is interrupted; see `serve`.

    Parameters
    ----------
    scenario : Scenario
        The house that each browser begins with.
    units : {"us", "si"}
    folder : Path
        Where houses are saved.
    port, opens, started
        As for `serve`.
    """
    houses: list[Session] = []

    def rules(guard: Guard) -> Rules:
        page = html("page", title=scenario.name, cautions=CAUTIONS)
        given = {
            "guard": guard, "scenario": scenario, "units": units, "folder": folder, "houses": houses,
        }  # fmt: skip
        parts = {
            "/": (page, "text/html"),
            "/desk.css": (part_of_page("desk.css"), "text/css"),
            "/desk.js": (part_of_page("desk.js"), "text/javascript"),
        }
        return [*content_of(guard, parts), ("/socket", _Socket, given)]

    try:
        serve(rules, port=port, opens=opens, started=started)
    finally:
        # Their threads then abandon what they run, and the process can end.
        for house in houses:
            house.close()
