"""The house as described: defaults, limits and every sentence that refuses one."""

import math
from pathlib import Path
from typing import Any

import attrs
import pytest

import moistsim as ms
from moistsim.core.errors import brief
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
    with pytest.raises(ms.InputError, match="100 has no name"):
        kind(100)  # by keyword only: a bare number says nothing of what it is


@pytest.mark.parametrize("kind", [ms.House, ms.Envelope, ms.Gains, ms.MoistureStore])
def test_every_quantity_is_documented_with_its_unit(kind: type) -> None:
    for field in attrs.fields(kind):
        if field.name == "deep":
            continue
        assert field.metadata["help"]
        assert {"unit", "part", "profile", "options"} & set(field.metadata)


AREA = "an area from 5 to 5,000 m² (from 53.82 to 53,820 ft²)."
PROFILE = "24 numbers, none negative and not all zero, one an hour from midnight"


@pytest.mark.parametrize(
    ("kind", "fields", "text"),
    [
        (ms.House, {"floor_area": "30 m"},
         "House.floor_area: cannot read '30 m' as an area. Write '2000 ft2' or '186 m2'."),
        (ms.House, {"floor_area": True},
         "House.floor_area: cannot read True as an area. Write '2000 ft2' or '186 m2'."),
        (ms.House, {"floor_area": None},
         "House.floor_area: cannot read None as an area. Write '2000 ft2' or '186 m2'."),
        (ms.House, {"floor_area": 0}, f"House.floor_area: 0 is too small. Use {AREA}"),
        (ms.House, {"floor_area": math.nan}, f"House.floor_area: cannot use nan. Use {AREA}"),
        (ms.House, {"floor_area": math.inf}, f"House.floor_area: cannot use inf. Use {AREA}"),
        # The limits in the user's own unit.
        (ms.House, {"floor_area": "60000 ft2"},
         "House.floor_area: '60000 ft2' is too large. Use an area from 53.82 to 53,820 ft²."),
        (ms.House, {"floor_area": 100, "ceiling_height": "4 ft"},
         "House.ceiling_height: '4 ft' is too small. Use a length above 4.921 and up to 22.97 ft."),
        (ms.House, {"floor_area": 100, "ceiling_height": "40 in"},
         "House.ceiling_height: '40 in' is too small. Use a length above 59.06 and up to 275.6 "
         "in."),
        (ms.House, {"floor_area": 100, "ach50": -1},
         "House.ach50: -1 is too small. Use a rate of air changes from 0 to 60 per hour."),
        (ms.House, {"floor_area": 100, "stories": 1.5},
         "House.stories: cannot use 1.5. Use one of 1, 2, 3."),
        (ms.House, {"floor_area": 100, "stories": 4},
         "House.stories: 4 is too large. Use a number from 1 to 3."),
        (ms.House, {"floor_area": 100, "shelter": 2.5},
         "House.shelter: cannot use 2.5. Use one of 1, 2, 3, 4, 5."),
        (ms.House, {"floor_area": 100, "leakage_exponent": 1.2},
         "House.leakage_exponent: 1.2 is too large. Use a number from 0.5 to 1."),
        (ms.House, {"floor_area": 100, "envelope": "tight"},
         "House.envelope: cannot use 'tight'. Use an Envelope."),
        (ms.House, {"floor_area": 100, "gains": None},
         "House.gains: cannot use None. Use a Gains."),
        (ms.Envelope, {"window_shgc": "130 %"},
         "Envelope.window_shgc: '130 %' is too large. Use a fraction from 0 to 95 %."),
        (ms.Envelope, {"wall_u": "-1 W/(m2 K)"},
         "Envelope.wall_u: '-1 W/(m2 K)' is too small. Use a U-value from 0 to 10 W/(m² K)."),
        (ms.Envelope, {"orientation": 360},
         "Envelope.orientation: 360 is too large. Use an angle from 0 to below 360 deg."),
        (ms.Gains, {"presence": (1,) * 23},
         f"Gains.presence: cannot use {brief((1,) * 23)}. Use {PROFILE}."),
        (ms.Gains, {"presence": (0,) * 24},
         f"Gains.presence: cannot use {brief((0,) * 24)}. Use {PROFILE}."),
        (ms.Gains, {"appliances_and_lights_profile": (-1,) + (1,) * 23},
         f"Gains.appliances_and_lights_profile: cannot use {brief((-1,) + (1,) * 23)}. Use {PROFILE}."),
        (ms.Gains, {"moisture_profile": (math.nan,) * 24},
         f"Gains.moisture_profile: cannot use {brief((math.nan,) * 24)}. Use {PROFILE}."),
        (ms.Gains, {"moisture_profile": (math.inf,) + (1,) * 23},
         f"Gains.moisture_profile: cannot use {brief((math.inf,) + (1,) * 23)}. Use {PROFILE}."),
        (ms.Gains, {"presence": 1.0}, f"Gains.presence: cannot use 1.0. Use {PROFILE}."),
        (ms.Gains, {"presence": "always"},
         f"Gains.presence: cannot use 'always'. Use {PROFILE}."),
        (ms.Gains, {"moisture": "10 kW"},
         "Gains.moisture: cannot read '10 kW' as a rate of water. Write '90 pints/day' or '10 "
         "kg/day'."),
        (ms.MoistureStore, {"deep_period": "12 h"},
         "MoistureStore.deep_period: cannot use '43200 s'. Use a period longer than the surface "
         "layer's 86400 s."),
        (ms.MoistureStore, {"coating": 0},
         "MoistureStore.coating: 0 is too small. Use a vapor resistance above 0 "
         "and up to 100,000,000,000,000 Pa m² s/kg."),
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
    assert str(refusal.value).endswith("Use day of the party: 'MM-DD' or 'YYYY-MM-DD'.")


def test_leakage_tables_rise_with_stories_and_fall_with_shelter() -> None:
    assert [*SHELTER_FACTOR.values()] == sorted(SHELTER_FACTOR.values(), reverse=True)
    for column in zip(*LEAKAGE_BY_STORIES.values(), strict=True):
        assert [*column] == sorted(column)
