"""The desk in a real browser: a slider moves, and figure and numbers move with it."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from support.pages import Page, browser, needs_a_browser, served, settled
from support.scenario_files import write_ten_days

from moistsim.scenario import DEMO, read_scenario

pytestmark = [pytest.mark.slow, needs_a_browser]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("desk")
    write_ten_days(made / "october.csv", "10-17")
    text = DEMO.read_text(encoding="utf-8").replace('sample = "miami"', 'file = "october.csv"')
    (made / "house.toml").write_text(text, encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def desk(folder: Path) -> Iterator[Page]:
    with served(folder, "desk", "house.toml") as page:
        yield page


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    with browser() as started:
        yield started


@pytest.fixture
def tab(chromium: Any, desk: Page) -> Iterator[Any]:
    # A context of its own is a browser of its own: no shared cookies.
    context = chromium.new_context(viewport={"width": 1400, "height": 1000})
    page = context.new_page()
    failures: list[str] = []
    page.on("pageerror", lambda error: failures.append(str(error)))
    page.goto(desk.address)
    settled(page)
    yield page
    context.close()
    assert failures == []


def shown(page: Any) -> tuple[str, str, str, str]:
    """Hours and bill of all options, and the two pictures."""
    return (
        " ".join(page.locator(".hours").all_inner_texts()),
        " ".join(page.locator(".bill").all_inner_texts()),
        page.get_attribute("#season", "src"),
        page.get_attribute("#when", "src"),
    )


def test_a_slider_moves_figure_and_numbers(tab: Any) -> None:
    before, answer = shown(tab), tab.inner_text("#answer")
    slider = tab.locator("#ach50")
    box = slider.bounding_box()
    tab.mouse.move(box["x"] + 0.12 * box["width"], box["y"] + box["height"] / 2)
    tab.mouse.down()
    for share in (0.3, 0.5, 0.7, 0.9):
        tab.mouse.move(box["x"] + share * box["width"], box["y"] + box["height"] / 2)
        tab.wait_for_timeout(60)
    # While it is held, the step is coarse, and the page says so.
    tab.wait_for_selector("#options.coarse")
    tab.wait_for_timeout(2000)
    assert "step of 5 min" in tab.inner_text("#said")
    moving = shown(tab)
    assert all(one != other for one, other in zip(before, moving, strict=True))
    tab.mouse.up()
    settled(tab)
    assert "step of 60 s" in tab.inner_text("#said")
    assert "60 s" in tab.inner_text("#answer_said")
    assert tab.inner_text("#answer") != answer
    assert float(tab.input_value("input[type=number][data-knob=ach50]")) > 10.0


def test_a_slider_that_is_let_go_where_it_began_ends_at_the_minute_step(tab: Any) -> None:
    slider = tab.locator("#ventilation")
    box = slider.bounding_box()
    middle = box["y"] + box["height"] / 2
    for share in (0.5, 0.5):
        # The second time, the value is the same at the beginning and at the end.
        tab.mouse.move(box["x"] + share * box["width"], middle)
        tab.mouse.down()
        tab.mouse.move(box["x"] + 0.8 * box["width"], middle)
        tab.wait_for_timeout(300)
        tab.mouse.move(box["x"] + share * box["width"], middle)
        tab.wait_for_selector("#options.coarse")
        tab.mouse.up()
        settled(tab)
        assert "step of 60 s" in tab.inner_text("#said")


def test_the_keyboard_alone_moves_saves_and_resets(tab: Any, folder: Path) -> None:
    before = shown(tab)
    tab.focus("#people")
    tab.keyboard.press("End")
    settled(tab)
    assert tab.input_value("#people") == "10"
    assert shown(tab) != before
    tab.focus("#save")
    tab.keyboard.press("Enter")
    assert tab.evaluate("document.activeElement.id") == "name"
    tab.keyboard.press("Control+a")
    tab.keyboard.type("House with ten people")
    tab.keyboard.press("Tab")
    tab.keyboard.type("ten people")
    tab.keyboard.press("Enter")
    tab.wait_for_selector("#saved:not(:empty)")
    saved = read_scenario(folder / "ten people.toml")
    assert (saved.name, saved.study.house.gains.occupants) == ("House with ten people", 10.0)
    tab.focus("#reset")
    tab.keyboard.press("Enter")
    settled(tab)
    assert shown(tab)[:2] == before[:2]
    assert tab.input_value("#people") == "3"


def test_every_input_has_a_name_for_a_screen_reader(tab: Any) -> None:
    for element in tab.locator("main input, main select, nav input, nav select").all():
        named = element.evaluate("e => e.ariaLabel || [...e.labels].map(l => l.innerText).join('')")
        assert named and named.strip()
    for image in tab.locator("img").all():
        assert len(image.get_attribute("alt")) > 40


def test_two_browsers_have_a_house_each(chromium: Any, desk: Page, tab: Any) -> None:
    context = chromium.new_context()
    other = context.new_page()
    other.goto(desk.address)
    settled(other)
    alike = shown(tab)[:2]
    assert shown(other)[:2] == alike
    for page, key in ((tab, "Home"), (other, "End")):
        page.focus("#moisture")
        page.keyboard.press(key)
    settled(tab)
    settled(other)
    one, two = shown(tab), shown(other)
    assert one[0] != two[0] and one[2] != two[2]
    assert (tab.input_value("#moisture"), other.input_value("#moisture")) == ("0", "60")
    context.close()


def test_a_house_file_is_opened(tab: Any, tmp_path: Path, folder: Path) -> None:
    text = (folder / "house.toml").read_text(encoding="utf-8")
    other = tmp_path / "other.toml"
    other.write_text(text.replace("Tight one-story house", "Another house"), encoding="utf-8")
    tab.set_input_files("#open", str(other))
    tab.wait_for_selector("h1:has-text('Another house')")
    settled(tab)
    other.write_text("floor_area = 3 ft2", encoding="utf-8")
    tab.set_input_files("#open", str(other))
    tab.wait_for_selector("#problem:not(:empty)")
    assert "other.toml" in tab.inner_text("#problem")
    assert "Another house" in tab.inner_text("h1")


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_it_prints_on_one_sheet(tab: Any, paper: str) -> None:
    printed = tab.pdf(format=paper)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1


@pytest.mark.parametrize("width", [320, 390, 760, 1000])
def test_nothing_is_wider_than_the_window(tab: Any, width: int) -> None:
    tab.set_viewport_size({"width": width, "height": 844})
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    tab.select_option("#type", "projector")
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    assert tab.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") >= 22.0


def test_units_of_the_reader(tab: Any) -> None:
    tab.select_option("#units", "si")
    tab.wait_for_selector("text=°C")
    settled(tab)
    assert tab.input_value("input[type=number][data-knob=floor_area]") == "176.5"
    assert "ft²" not in tab.inner_text("body") and "°F" not in tab.inner_text("#controls")
