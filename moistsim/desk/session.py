"""One browser's house: what it opened, which knobs it moved, and the thread that runs it."""

import logging
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import attrs
import pandas as pd

from moistsim.core.abandoning import Abandoned, abandoned_when
from moistsim.core.display import Show, Units, check_units
from moistsim.core.errors import InputError, Problem
from moistsim.desk.knobs import KNOBS, knob, moved
from moistsim.desk.live import Live, Request, days_of, html
from moistsim.desk.saving import save
from moistsim.desk.usual import with_usual_options
from moistsim.scenario import Scenario, scenario_of

Message = dict[str, Any]
PAUSE = 0.2
"""Time that a slider stands still before the answer is calculated, s."""


class Session:
    """The house of one browser.

    Parameters
    ----------
    scenario : Scenario
        The house that it begins with, and that reset returns to.
    units : {"us", "si"}
    folder : Path
        Where houses are saved, and where paths in an opened file begin.
    send : callable
        Takes a message for the page, from any thread.
    """

    def __init__(
        self, scenario: Scenario, units: Units, folder: Path, send: Callable[[Message], None]
    ) -> None:
        self.scenario, self.units, self.folder, self.send = scenario, units, folder, send
        self.moves: dict[str, Any] = {}
        self._day: int | None = None
        self._narrow = False
        self._name = ""
        """The name under which the house was saved, if it was."""
        self._live = Live()
        self._wanted: Request | None = None
        self._number = 0
        self._closed = False
        self._turn = threading.Condition()
        threading.Thread(target=self._work, name="desk", daemon=True).start()

    def close(self) -> None:
        """End the thread; a run that is under way is abandoned."""
        with self._turn:
            self._closed = True
            self._turn.notify()

    def take(self, message: Mapping[str, Any]) -> None:
        """Do what the page asks for."""
        self._narrow = message.get("narrow") is True
        try:
            action = {
                "begin": self._begin,
                "move": self._move,
                "reset": self._reset,
                "open": self._open,
                "save": self._save,
                "units": self._set_units,
                "usual": self._add_usual,
            }.get(str(message.get("do")))
            if action is None:
                raise InputError("desk", message.get("do"), "what a page of this desk asks for")
            action(message)
        except (InputError, OSError) as error:
            self.send({"problem": str(error)})

    def _begin(self, _: Mapping[str, Any]) -> None:
        self.send(self._controls())
        self._ask(moving=False)

    def _move(self, message: Mapping[str, Any]) -> None:
        given = message.get("moves")
        for name, value in (given if isinstance(given, dict) else {}).items():
            one = knob(name)
            taken = one.taken(value, self.scenario, self.units)
            if one.words and taken == one.value(self.scenario):
                self.moves.pop(name, None)
            else:
                self.moves[name] = taken
        day = message.get("day")
        if isinstance(day, int) and day >= 0:
            self._day = day
        self._ask(moving=message.get("moving") is True)

    def _reset(self, _: Mapping[str, Any]) -> None:
        self.moves = {}
        self.send(self._controls())
        self._ask(moving=False)

    def _open(self, message: Mapping[str, Any]) -> None:
        name = Path(str(message.get("name", ""))).name or "house.toml"
        self.scenario = scenario_of(str(message.get("text", "")), self.folder / name)
        self.moves, self._day, self._name = {}, None, ""
        self.send({**self._controls(), "saved": f"Opened {name}."})
        self._ask(moving=False)

    def _save(self, message: Mapping[str, Any]) -> None:
        scenario = self._named(message)
        replaces = message.get("replace") is True
        said = save(scenario, self.folder, str(message.get("file", "")), replaces=replaces)
        if "saved" in said:
            self._name = scenario.name
        self.send({**said, "title": self._name or scenario.name})

    def _add_usual(self, _: Mapping[str, Any]) -> None:
        self.scenario = with_usual_options(self.scenario)
        self.send(self._controls())
        self._ask(moving=False)

    def _set_units(self, message: Mapping[str, Any]) -> None:
        units: Any = message.get("units")
        check_units(units, "units")
        self.units = units
        self.send(self._controls())
        self._ask(moving=False)

    def _named(self, message: Mapping[str, Any]) -> Scenario:
        name = " ".join(str(message.get("title", "")).split())
        scenario = moved(self.scenario, self.moves)
        if not name:
            return scenario
        if not name.isprintable() or len(name) > 200:
            raise InputError("name", Problem("a name that cannot be printed"), "one line of text")
        return attrs.evolve(scenario, name=name)

    def _controls(self) -> Message:
        """The knobs at their values, and the days that can be shown."""
        scenario, show = moved(self.scenario, self.moves), Show(self.units)
        knobs, lacking = [], []
        for place, one in enumerate(KNOBS):
            value = one.shown(scenario, self.units)
            if value is None:
                lacking.append(one.needs)
                continue
            shown: dict[str, Any] = {
                "place": place, "name": one.name, "group": one.group, "label": one.label,
                "words": one.words, "value": value, "is_moved": one.name in self.moves,
            }  # fmt: skip
            if one.words:
                if value not in dict(one.words):
                    text = scenario.study.weather.name if one.name == "place" else value
                    shown["words"] = ((value, text or Path(value).name), *one.words)
            else:
                scale = one.scale(self.units)
                digits = max(0, len(f"{scale.step:g}".partition(".")[2])) + 1
                shown |= {
                    "low": min(scale.low, value), "high": max(scale.high, value),
                    "step": scale.step, "sign": scale.sign, "text": f"{round(value, digits):g}",
                }  # fmt: skip
            knobs.append(shown)
        study = scenario.study
        hours = study.weather.frame.index[study.weather.between(study.start, study.end)]
        stamps = days_of(pd.DatetimeIndex(hours))
        return {
            "controls": html("controls", knobs=knobs, lacking=[*dict.fromkeys(lacking)]),
            "title": self._name or self.scenario.name,
            "is_alone": len(scenario.study.options) == 1,
            "note": self.scenario.note,
            "file": self.scenario.path.name,
            "units": self.units,
            "days": [show.day(stamp) for stamp in stamps],
            **({} if self._day is None else {"day_shown": self._day}),
        }

    def _ask(self, *, moving: bool) -> None:
        with self._turn:
            self._number += 1
            self._wanted = Request(
                self.scenario, dict(self.moves), self._day, moving, self.units, self._narrow
            )
            self._turn.notify()

    def _work(self) -> None:
        """Take the latest request, again and again; older ones are passed over."""
        while True:
            with self._turn:
                self._turn.wait_for(lambda: self._closed or self._wanted is not None)
                if self._closed:
                    return
                request, number_of_this = self._wanted, self._number
                self._wanted = None
            assert request is not None

            def is_stale(mine: int = number_of_this) -> bool:
                return self._closed or self._number != mine

            try:
                self._run(request, is_stale)
            except Abandoned:
                continue
            except (InputError, OSError) as error:
                self.send({"problem": str(error)})
            except Exception:
                # One house's failure must not end the page of this browser, nor that of another.
                logging.getLogger("moistsim").exception("the desk")
                self.send({"problem": "This house could not be run. Reset, or move another knob."})

    def _run(self, request: Request, is_stale: Callable[[], bool]) -> None:
        pieces = self._live.updates(request)
        if request.moving:
            # Finished even if it is stale, or a slider that never stops would never move the picture.
            with abandoned_when(lambda: self._closed):
                self._show(next(pieces))
            # The answer would compete with the next picture, as long as the slider moves on.
            with self._turn:
                if self._turn.wait_for(is_stale, timeout=PAUSE):
                    return
        with abandoned_when(is_stale):
            for piece in pieces:
                if is_stale():
                    return
                self._show(piece)

    def _show(self, piece: Message) -> None:
        # The first picture chooses the day, which then stays while knobs move.
        if self._day is None and "day_shown" in piece:
            self._day = piece["day_shown"]
        self.send({**piece, "problem": ""})
