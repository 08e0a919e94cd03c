"""The house as described: defaults, limits and every sentence that refuses one."""

import math
from pathlib import Path
from typing import Any

import attrs
import pytest

import moistsim as ms
from moistsim.house.house import LEAKAGE_BY_STORIES, SHELTER_FACTOR
from moistsim.scenario import DEMO, read_scenario, write_scenario

FOOT = 0.3048


def sentence(kind: Any, **fields: Any) -> str:
    """The refusal of a description."""
    with pytest.raises(ms.InputError) as refusal:
        kind(**fields)
    return str(refusal.value)


def test_trade_units_and_si_are_one_house() -> None:
    us = ms.House(floor_area="2000 ft2", ceiling_height="8 ft", ach50=2)
    assert us.floor_area == pytest.approx(2000 * FOOT**2)
    assert us.volume == pytest.approx(16000 * FOOT**3)
    assert hash(us) == hash(ms.House(floor_area=us.floor_area, ceiling_height="8 ft", ach50=2))


def test_household_moisture() -> None:
    """Ours: 2.2 kg a day each, unless a rate is given."""
    assert ms.House(floor_area=100).moisture_gain * 86400 == pytest.approx(3 * 2.2)
    given = ms.House(floor_area=100, gains=ms.Gains(moisture="24 lb/day"))
    assert given.moisture_gain * 86400 == pytest.approx(24 * 0.45359237)
    assert ms.House(floor_area=100, gains=ms.Gains(moisture=0)).moisture_gain == 0.0


def test_profiles_keep_their_shape_and_mean_one() -> None:
    gains = ms.Gains(appliances_and_lights_profile=[0] * 23 + [5])
    assert gains.appliances_and_lights_profile == (0.0,) * 23 + (24.0,)
    for profile in (gains.presence, gains.moisture_profile, gains.appliances_and_lights_profile):
        assert len(profile) == 24
        assert sum(profile) / 24.0 == pytest.approx(1.0)


@pytest.mark.parametrize("kind", [ms.House, ms.Envelope, ms.Gains, ms.MoistureStore])
def test_descriptions_do_not_change(kind: type) -> None:
    value = kind(floor_area=100) if kind is ms.House else kind()
    for field in attrs.fields(kind):
        with pytest.raises(attrs.exceptions.FrozenInstanceError):
            setattr(value, field.name, 1.0)
    with pytest.raises(TypeError):
        kind(100)  # by keyword only: a bare number says nothing of what it is


@pytest.mark.parametrize("kind", [ms.House, ms.Envelope, ms.Gains, ms.MoistureStore])
def test_every_quantity_is_documented_with_its_unit(kind: type) -> None:
    for field in attrs.fields(kind):
        if field.name == "deep":
            continue
        assert field.metadata["help"]
        assert {"unit", "part", "profile", "options"} & set(field.metadata)


AREA = "an area above 0 m2 and at most 5,000 m2"
PROFILE = "24 numbers, none negative and not all zero, one an hour from midnight"


@pytest.mark.parametrize(
    ("kind", "fields", "text"),
    [
        (ms.House, {"floor_area": "30 m"},
         "House.floor_area: found '30 m'; accepted: an area as a number in m2, or a text such as "
         "'186 m2' or '2000 ft2'"),
        (ms.House, {"floor_area": True},
         "House.floor_area: found True; accepted: an area as a number in m2, or a text such as "
         "'186 m2' or '2000 ft2'"),
        (ms.House, {"floor_area": None},
         "House.floor_area: found None; accepted: an area as a number in m2, or a text such as "
         "'186 m2' or '2000 ft2'"),
        (ms.House, {"floor_area": 0}, f"House.floor_area: found 0; accepted: {AREA}"),
        (ms.House, {"floor_area": math.nan}, f"House.floor_area: found nan; accepted: {AREA}"),
        (ms.House, {"floor_area": math.inf}, f"House.floor_area: found inf; accepted: {AREA}"),
        # The limits in the user's own unit.
        (ms.House, {"floor_area": "60000 ft2"},
         "House.floor_area: found '60000 ft2'; accepted: an area above 0 ft2 and at most "
         "53,820 ft2"),
        (ms.House, {"floor_area": 100, "ceiling_height": "4 ft"},
         "House.ceiling_height: found '4 ft'; accepted: a length above 4.921 ft and at most "
         "32.81 ft"),
        (ms.House, {"floor_area": 100, "ceiling_height": "40 in"},
         "House.ceiling_height: found '40 in'; accepted: a length above 59.06 in and at most "
         "393.7 in"),
        (ms.House, {"floor_area": 100, "ach50": -1},
         "House.ach50: found -1; accepted: a rate of air changes at least 0 1/hour and at most "
         "60 1/hour"),
        (ms.House, {"floor_area": 100, "stories": 1.5},
         "House.stories: found 1.5; accepted: one of 1, 2, 3"),
        (ms.House, {"floor_area": 100, "stories": 4},
         "House.stories: found 4; accepted: a number at least 1 and at most 3"),
        (ms.House, {"floor_area": 100, "shelter": 2.5},
         "House.shelter: found 2.5; accepted: one of 1, 2, 3, 4, 5"),
        (ms.House, {"floor_area": 100, "leakage_exponent": 1.2},
         "House.leakage_exponent: found 1.2; accepted: a number at least 0.5 and at most 1"),
        (ms.House, {"floor_area": 100, "envelope": "tight"},
         "House.envelope: found 'tight'; accepted: an Envelope"),
        (ms.House, {"floor_area": 100, "gains": None},
         "House.gains: found None; accepted: a Gains"),
        (ms.Envelope, {"window_shgc": "130 %"},
         "Envelope.window_shgc: found '130 %'; accepted: a fraction at least 0 % and at most 95 %"),
        (ms.Envelope, {"wall_u": "-1 W/(m2 K)"},
         "Envelope.wall_u: found '-1 W/(m2 K)'; accepted: a U-value at least 0 W/(m2 K)"),
        (ms.Envelope, {"orientation": 360},
         "Envelope.orientation: found 360; accepted: an angle at least 0 deg and below 360 deg"),
        (ms.Gains, {"presence": (1,) * 23},
         f"Gains.presence: found {(1,) * 23!r}; accepted: {PROFILE}"),
        (ms.Gains, {"presence": (0,) * 24},
         f"Gains.presence: found {(0,) * 24!r}; accepted: {PROFILE}"),
        (ms.Gains, {"appliances_and_lights_profile": (-1,) + (1,) * 23},
         f"Gains.appliances_and_lights_profile: found {(-1,) + (1,) * 23!r}; accepted: {PROFILE}"),
        (ms.Gains, {"moisture_profile": (math.nan,) * 24},
         f"Gains.moisture_profile: found {(math.nan,) * 24!r}; accepted: {PROFILE}"),
        (ms.Gains, {"moisture_profile": (math.inf,) + (1,) * 23},
         f"Gains.moisture_profile: found {(math.inf,) + (1,) * 23!r}; accepted: {PROFILE}"),
        (ms.Gains, {"presence": 1.0}, f"Gains.presence: found 1.0; accepted: {PROFILE}"),
        (ms.Gains, {"presence": "always"},
         f"Gains.presence: found 'always'; accepted: {PROFILE}"),
        (ms.Gains, {"moisture": "10 kW"},
         "Gains.moisture: found '10 kW'; accepted: a rate of water as a number in kg/s, or a text "
         "such as '10 kg/day' or '90 pint/day'"),
        (ms.MoistureStore, {"deep_period": "12 h"},
         "MoistureStore.deep_period: found '43200 s'; accepted: a period longer than the surface "
         "layer's 86400 s"),
        (ms.MoistureStore, {"coating": 0},
         "MoistureStore.coating: found 0; accepted: a vapor resistance above 0 Pa m2 s/kg"),
    ],
)  # fmt: skip
def test_every_refusal(kind: Any, fields: dict[str, Any], text: str) -> None:
    assert sentence(kind, **fields) == text


@pytest.mark.parametrize("kind", [ms.House, ms.Envelope, ms.Gains, ms.MoistureStore])
def test_no_number_field_takes_what_is_no_number(kind: type) -> None:
    """Any of them: the sentence names the field and nothing is kept."""
    needed = {"floor_area": 100} if kind is ms.House else {}
    tried = 0
    for field in attrs.fields(kind):
        if "unit" not in field.metadata:
            continue
        for bad in (True, math.nan, math.inf, "3 furlong2", []):
            with pytest.raises(ms.InputError) as refusal:
                kind(**{**needed, field.name: bad})
            assert refusal.value.where == f"{kind.__name__}.{field.name}"
            tried += 1
    assert tried >= 20


def test_a_scenario_keeps_people_stores_and_windows(tmp_path: Path) -> None:
    """Written and read again: the same house, its lists of days, parties and shares with it."""
    text = (
        DEMO.read_text(encoding="utf-8")
        .replace("[house.gains]", """[house.contents_store]
area = 0.5

[house.vapor_sources]
ground = "0.02 kg/(day m2)"
construction = "0.5 lb/ft2"
construction_from = "03-01"

[house.window_opening]
rule = "dew point"
dew_point = "55 degF"
hours = [20, 8]

[house.occupancy]
vacations = ["07-04 to 07-18"]
check_in = 15
parties = [{ day = "05-10", guests = 12 }]

[house.gains]""")
    )  # fmt: skip
    file = tmp_path / "house.toml"
    file.write_text(text, encoding="utf-8")
    scenario = read_scenario(file)
    house = scenario.study.house
    assert house.occupancy is not None and house.window_opening is not None
    assert house.occupancy.vacations == ("07-04 to 07-18",)
    assert house.occupancy.parties == (ms.Party(day="05-10", guests=12),)
    assert house.window_opening.hours == (20.0, 8.0)
    again = tmp_path / "again.toml"
    write_scenario(scenario, again)
    assert read_scenario(again).study.house == house
    file.write_text(text.replace('day = "05-10", ', ""), encoding="utf-8")
    with pytest.raises(ms.InputError) as refusal:
        read_scenario(file)
    assert str(refusal.value).endswith("accepted: day of the party: 'MM-DD' or 'YYYY-MM-DD'")


def test_leakage_tables_rise_with_stories_and_fall_with_shelter() -> None:
    assert [*SHELTER_FACTOR.values()] == sorted(SHELTER_FACTOR.values(), reverse=True)
    for column in zip(*LEAKAGE_BY_STORIES.values(), strict=True):
        assert [*column] == sorted(column)
