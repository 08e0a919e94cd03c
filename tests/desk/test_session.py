"""A session shows the latest request, and leaves older ones where they are."""

import queue
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from support.scenario_files import write_ten_days

from moistsim.desk.session import Session
from moistsim.scenario import DEMO, Scenario, checksum, read_scenario


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("desk")


@pytest.fixture(scope="module")
def scenario(folder: Path) -> Scenario:
    """The demo house in ten days of October."""
    write_ten_days(folder / "october.csv", "10-17")
    text = DEMO.read_text(encoding="utf-8").replace('sample = "miami"', 'file = "october.csv"')
    (folder / "house.toml").write_text(text, encoding="utf-8")
    return read_scenario(folder / "house.toml")


class Page:
    """What a browser received."""

    def __init__(self, scenario: Scenario, folder: Path) -> None:
        self.received: queue.Queue[dict[str, Any]] = queue.Queue()
        self.all: list[dict[str, Any]] = []
        self.session = Session(scenario, "us", folder, self.received.put)

    def until(self, key: str, within: float = 120.0, **values: Any) -> dict[str, Any]:
        """The next message with a key and values."""
        end = time.monotonic() + within
        while True:
            message = self.received.get(timeout=max(0.1, end - time.monotonic()))
            self.all.append(message)
            if key in message and all(message.get(k) == v for k, v in values.items()):
                return message

    def take(self, **message: Any) -> None:
        self.session.take(message)


@pytest.fixture
def page(scenario: Scenario, folder: Path) -> Iterator[Page]:
    made = Page(scenario, folder)
    yield made
    made.session.close()


def test_a_house_begins_with_knobs_picture_and_answer(page: Page) -> None:
    page.take(do="begin")
    assert 'data-knob="ach50"' in page.until("controls")["controls"]
    picture = page.until("options")
    assert not picture["coarse"]
    assert picture["season"]["source"].startswith("data:image/svg+xml;base64,")
    assert "Stand-alone dehumidifier" in picture["day"]["alternative"]
    first = page.until("answer")
    last = page.until("answer", final=True)
    assert not first["final"] and "What it costs" in last["answer"]


def test_moving_is_coarse_and_letting_go_is_fine(page: Page) -> None:
    page.take(do="move", moves={"ach50": 12.0}, moving=True)
    coarse = page.until("options")
    assert coarse["coarse"] and "step of 5 min" in coarse["said"]
    page.take(do="move", moves={"ach50": 14.0}, moving=False)
    fine = page.until("options", coarse=False)
    assert "step of 60 s" in fine["said"]
    assert fine["options"] != coarse["options"]


def test_positions_between_two_pictures_are_passed_over(page: Page) -> None:
    asked = 60
    for k in range(asked):
        page.take(do="move", moves={"moisture": 10.0 + 0.5 * k}, moving=True)
    page.take(do="move", moves={"moisture": 45.0}, moving=False)
    page.until("answer", final=True)
    pictures = [message for message in page.all if "options" in message]
    assert 1 <= len(pictures) < asked / 2
    answers = [message for message in page.all if "answer" in message]
    # Only the last request was answered to its end.
    assert sum(message["final"] for message in answers) == 1
    assert page.session.moves == {"moisture": pytest.approx(45 * 0.473176473 / 86400, rel=2e-3)}


def test_a_value_that_cannot_be_is_a_sentence_and_the_next_one_runs(page: Page) -> None:
    page.take(do="move", moves={"shr": 0.86}, moving=False)
    assert "wet coil" in page.until("problem")["problem"]
    page.take(do="move", moves={"shr": 0.74}, moving=False)
    assert page.until("options")["problem"] == ""


def test_nonsense_from_a_page_is_refused_and_the_session_lives(page: Page) -> None:
    for message in (
        {"do": "dance"}, {"do": "units", "units": "furlongs"}, {"do": "open", "text": "= ="},
        {"do": "move", "moves": {"no knob": 1}}, {"do": "move", "moves": {"people": None}},
        {"do": "save", "file": "../elsewhere"}, {"do": "save", "file": "/etc/house"}, {"do": []},
    ):  # fmt: skip
        page.take(**message)
        assert page.until("problem", within=5.0)["problem"]
    page.take(do="move", moves={}, moving=True)
    page.until("options")


def test_saved_opened_and_reset(page: Page, folder: Path) -> None:
    page.take(do="move", moves={"ach50": 9.0, "cooling_setpoint": 74.0}, moving=True)
    page.take(do="save", title="House by the lake", file="lake")
    assert "moistsim desk lake.toml" in page.until("saved")["saved"]
    saved = read_scenario(folder / "lake.toml")
    assert saved.name == "House by the lake"
    assert saved.study.house.ach50 == 9.0
    page.take(do="save", title="House by the lake", file="lake.toml")
    assert page.until("exists")["exists"] == "lake.toml"
    page.take(do="reset")
    assert page.session.moves == {}
    text = (folder / "lake.toml").read_text(encoding="utf-8")
    page.take(do="open", name="lake.toml", text=text)
    assert page.until("controls", file="lake.toml")["title"] == "House by the lake"
    assert checksum(page.session.scenario) == checksum(saved)


def test_units_change_and_the_house_does_not(page: Page) -> None:
    page.take(do="move", moves={"cooling_setpoint": 77.0}, moving=True)
    page.take(do="units", units="si")
    controls = page.until("controls")["controls"]
    assert 'value="25"' in controls and "°C" in controls
    assert page.session.moves["cooling_setpoint"] == pytest.approx(25.0)


def test_two_houses_do_not_meet(scenario: Scenario, folder: Path) -> None:
    one, other = Page(scenario, folder), Page(scenario, folder)
    try:
        one.take(do="move", moves={"ach50": 15.0}, moving=False)
        other.take(do="move", moves={"ach50": 0.5}, moving=False)
        pictures = [page.until("options", coarse=False)["options"] for page in (one, other)]
        assert pictures[0] != pictures[1]
    finally:
        one.session.close()
        other.session.close()


def test_a_closed_session_ends_its_thread(scenario: Scenario, folder: Path) -> None:
    before = threading.active_count()
    page = Page(scenario, folder)
    page.take(do="move", moves={"ach50": 5.0}, moving=False)
    page.session.close()
    end = time.monotonic() + 60.0
    while threading.active_count() > before and time.monotonic() < end:
        time.sleep(0.05)
    assert threading.active_count() <= before
