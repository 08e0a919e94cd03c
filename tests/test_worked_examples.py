"""Two jobs worked by hand, against the worked examples of the documentation, down to the verdict.

Each page of `notebooks/docs/worked_examples` calculates its job by hand and with moistsim. The hand
work of a consultant on the same two jobs, with his own rounding, stands here only. The tolerances
are the pages' own; they and these numbers were written down before the first comparison.
"Field" is experience; common practice, no source.
"""

import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

PAGES = Path(__file__).resolve().parent.parent / "notebooks" / "docs" / "worked_examples"

# By quantity: lowest and highest value of the hand work.
TIGHT = {
    "water removed, pints/day": (71.0, 71.0),
    "latent load of ventilation at the 1 % dew point, Btu/h": (5600.0, 5800.0),
    "sensible gains at the 1 % dry bulb, Btu/h": (17300.0, 17300.0),
    "stage 1 at 75/62.6 °F, Btu/h": (16300.0, 16300.0),
    "stage 1 at 75/62.6 °F, condensate, pints/h": (3.0, 3.0),
    "strip rise, °F": (25.3, 25.3),
    "season EER of stage 1, Btu/Wh": (15.0, 15.5),
    "strips, kWh": (6020.0, 6020.0),
    "extra coil sensible with the dehumidifier, kWh": (3195.0, 3195.0),
    "dehumidifier at 76 °F and 52 %, L/kWh": (1.75, 1.75),
    "peak of stage 1 with strips, kW": (6.1, 6.1),
    "strips, blower and stage 2 at once, times 1.25, A": (37.0, 37.0),
}
CRAWL = {
    "infiltration June to August, cfm": (36.0, 40.0),
    "run of the compressor, min": (8.0, 12.0),  # field
}
SUMMER_RH = (55.0, 60.0)
"""Percent, June to August, in the second house (field)."""
MOST_STARTS = 71
"""Starts a day of a thermostat that makes 3 cycles an hour at half load."""


@lru_cache
def worked(page: str) -> dict[str, Any]:
    """Names that a page's cells leave behind."""
    text = (PAGES / f"{page}.md").read_text(encoding="utf-8")
    cells = re.findall(r"```\{code-cell\} python\n(.*?)```", text, re.DOTALL)
    names: dict[str, Any] = {"__name__": page}
    for cell in cells:
        exec("\n".join(line for line in cell.splitlines() if not line.startswith("%")), names)
    return names


def distance(value: float, low: float, high: float) -> float:
    """Relative distance of a value from the range of the hand work."""
    return max(low / value - 1.0, value / high - 1.0, 0.0)


MISSES = {
    "strips, kWh": "6,020 is 7,746 kWh of extra coil sensible, of a run with the controls of then, less 1,725; the page does the same sum with the run of today",
    "infiltration June to August, cfm": "hand work used the basic infiltration model; see the decision of 2026-11-30",
}
"""Quantities outside their tolerance, each with its reason."""


def cases(page: str, hand: dict[str, tuple[float, float]]) -> list[Any]:
    return [
        pytest.param(
            page, quantity, of,
            marks=pytest.mark.xfail(strict=True, reason=MISSES[quantity])
            if quantity in MISSES else (),
            id=quantity,
        )
        for quantity, of in hand.items()
    ]  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize(
    ("page", "quantity", "hand"),
    [*cases("tight_house", TIGHT), *cases("damp_crawl_space", CRAWL)],
)
def test_the_model_is_near_the_hand_work(
    page: str, quantity: str, hand: tuple[float, float]
) -> None:
    names = worked(page)
    value = names["comparison"].loc[quantity, "moistsim"]
    assert distance(value, *hand) <= names["TOLERANCE"][quantity]


@pytest.mark.slow
@pytest.mark.xfail(strict=True, reason="half the infiltration of the hand work; see the page")
def test_summer_is_as_humid_as_experience_says() -> None:
    names, quantity = worked("damp_crawl_space"), "RH June to August, %"
    value = names["misses"].loc["as found", quantity]
    assert distance(value, *SUMMER_RH) <= names["TOLERANCE"][quantity]


@pytest.mark.slow
@pytest.mark.parametrize("page", ["tight_house", "damp_crawl_space"])
def test_no_day_has_more_starts_than_a_thermostat_can_make(page: str) -> None:
    assert 0 < worked(page)["starts_a_day"].max() <= MOST_STARTS


KEPT = {
    "tight_house": {"No fan-off delay after cooling", "Ventilation at the rate of ASHRAE 62.2"},
    "damp_crawl_space": {"No fan-off delay after cooling", "Seal ducts", "Ground cover"},
}
"""What costs nothing or little and comes first, by the hand work."""
SMALL = {"tight_house": (20.0, 40.0), "damp_crawl_space": (10.0, 30.0)}
"""Rated sizes that count as the hand work's 30 and 20 pints a day, within 10 (stated before the
advice was run). In the tight house, 30 is the size without the cures."""
PINT_A_DAY = 0.473176 * 0.9982 / 86400.0
"""kg/s."""
both = pytest.mark.parametrize("page", ["tight_house", "damp_crawl_space"])


@pytest.mark.slow
@both
def test_what_costs_little_comes_first(page: str) -> None:
    cures = worked(page)["advice"].cures
    assert KEPT[page] <= {tried.name for tried in cures.kept}
    assert cures.together.humid_hours < 0.6 * cures.found.humid_hours


@pytest.mark.slow
@both
def test_then_a_small_dehumidifier_ends_the_complaint(page: str) -> None:
    names = worked(page)
    advice = names["advice"]
    assert advice.ends_complaint
    assert advice.proposed is not None and advice.proposed.kind == "dehumidifier"
    low, high = SMALL[page]
    asked = names["uncured"][0] if page == "tight_house" else advice.proposed
    assert asked.kind == "dehumidifier"
    assert low <= asked.size / PINT_A_DAY <= high
    assert advice.proposed.size <= asked.size
    reheat = [x.name for x in advice.proposals if x.kind == "strips" and x.meets]
    assert all(advice.cost(name) > advice.cost(advice.best) for name in reheat)


@pytest.mark.slow
def test_strip_reheat_loses_at_every_setpoint() -> None:
    cost = worked("tight_house")["by_setpoint"]["cost_USD"].unstack()
    assert len(cost) == 4
    assert (cost["strip reheat"] > cost["small dehumidifier"]).all()


@pytest.mark.slow
def test_one_question_has_three_answers_and_one_reason() -> None:
    """Reheat loses each time, and by the least at the goal, where it dries the least."""
    names = worked("tight_house")
    extra = names["extra"]
    assert (extra > 0.0).all() and extra.idxmin() == "at the goal"
    for usd in extra:
        assert f"{usd:,.0f} USD more" in names["sentence"]
    assert names["sentence"].count(" because ") == 1
