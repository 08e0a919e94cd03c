"""Every field of every description, as a careless user would write it."""

from collections.abc import Callable
from typing import Any

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.careless import any_table, descriptions, made, needed, places, words_for
from support.fuzz_rule import check_finite, check_season, examples, tried
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.controls import Fault
from moistsim.house import TypicalHouse
from moistsim.study import Comparison

KINDS = descriptions()
WEATHERS = (("miami", 190), ("miami", 300), ("greensboro", 120), ("sand_point", 15))
"""Places and first days of the runs: hot, mild and humid, mild, and cold."""


def run(of: ms.House, plant: ms.Equipment, weather: tuple[str, int], **more: Any) -> ms.Season:
    """Three days, checked."""
    strategy = ms.strategies.temperature_only
    if plant.cooling is not None and plant.strips is not None:
        strategy = ms.strategies.staged_reheat
    days = stretch(*weather, 3)
    season = ms.simulate(of, plant, strategy, days, spin_up="1 day", **more)
    check_season(season)
    return season


def use_house(value: Any, weather: tuple[str, int]) -> None:
    run(value, machines(), weather)


def use_typical(value: Any, weather: tuple[str, int]) -> None:
    run(ms.House.typical(**attrs.asdict(value, recurse=False)), machines(), weather)


def use_equipment(value: Any, weather: tuple[str, int]) -> None:
    changes: dict[str, Any] = {}
    if value.second_system is not None or value.zoning is not None:
        changes |= {"stories": 2, "second_zone": ms.SecondZone(kind="upper floor", share=0.5)}
    if value.crawl_space_dehumidifier is not None:
        changes["crawl_space"] = ms.CrawlSpace()
    elif value.basement_dehumidifier is not None:
        changes["basement"] = ms.Basement()
    if value.attic_dehumidifier is not None:
        changes["attic"] = ms.Attic(kind="sealed")
    run(house(**changes), value, weather)


def study_of(weather: tuple[str, int], **fields: Any) -> Comparison:
    control = ms.strategies.temperature_only
    options = {"One": (machines(), control), "Two": (machines(dehumidifier=None), control)}
    return ms.Study(house(), options, stretch(*weather, 3), **fields).run(progress=False, workers=1)


def use_tariff(value: Any, weather: tuple[str, int]) -> None:
    comparison = study_of(weather, tariff=value)
    check_finite(comparison.table())
    for bill in comparison.bills().values():
        check_finite(bill.months)


def use_emissions(value: Any, weather: tuple[str, int]) -> None:
    check_finite(study_of(weather, emissions=value).table())


def economics(weather: tuple[str, int], purchase: Any, terms: Any) -> None:
    purchases = {"One": purchase, "Two": ms.Purchase(first_cost=0)}
    check_finite(ms.economics(study_of(weather), purchases, terms).table())


def use_purchase(value: Any, weather: tuple[str, int]) -> None:
    economics(weather, value, ms.Terms(years=10))


def use_terms(value: Any, weather: tuple[str, int]) -> None:
    economics(weather, ms.Purchase(first_cost=1000, life=8, maintenance=30), value)


def use_goal(value: Any, weather: tuple[str, int]) -> None:
    season = study_of(weather, goal=value).seasons["One"]
    assert value.is_kept(season) in (True, False)
    assert value.words


def use_risk(value: Any, weather: tuple[str, int]) -> None:
    check_finite(ms.risk(study_of(weather), value))


def use_fault(value: Any, weather: tuple[str, int]) -> None:
    season = run(
        house(), machines(outdoor_sensor=ms.Sensor(place="outdoors")), weather, faults=[value]
    )
    assert len(season.events) >= 0


USES: dict[str, Callable[[Any, tuple[str, int]], None]] = {
    "House": use_house,
    "TypicalHouse": use_typical,
    "Equipment": use_equipment,
    "Tariff": use_tariff,
    "Emissions": use_emissions,
    "Purchase": use_purchase,
    "Terms": use_terms,
    "Goal": use_goal,
    "RiskBasis": use_risk,
    "CurePrices": lambda value, weather: None,
}
"""What is done with a description that is no part of another; with others nothing."""
AROUND: dict[str, dict[str, Any]] = {
    "House": {"floor_area": "2000 ft2", "stories": 2},
    "Equipment": attrs.asdict(machines(), recurse=False),
    "Envelope": {"surfaces": [{"area": "200 ft2", "u": 0.5}]},
}
"""The rest of a description, where defaults do not do."""
INSTEAD = {
    "furnace": "heating",
    "room_heater": "heating",
    "zoning": "second_system",
    "surfaces": "window_to_wall_ratio",
    "electricity_profile": "electricity",
}
"""A part of `AROUND` that another part takes the place of."""


def whole(kind: type, table: dict[str, Any]) -> Any:
    """The description that a table of one of its parts belongs to."""
    at = places()[kind]
    value: Any = made(kind, table)
    if not at.path:
        return made(kind, {**AROUND.get(kind.__name__, {}), **table})
    owners = [at.root]
    for name in at.path[:-1]:
        owners.append(attrs.fields_dict(owners[-1])[name].metadata["part"])
    for owner, name in zip(reversed(owners), reversed(at.path), strict=True):
        many = attrs.fields_dict(owner)[name].metadata.get("many")
        around = needed(owner) | AROUND.get(owner.__name__, {})
        around = {key: item for key, item in around.items() if key not in (name, INSTEAD.get(name))}
        value = made(owner, {**around, name: [value] if many else value})
    return value


@pytest.mark.parametrize("kind", KINDS, ids=[kind.__name__ for kind in KINDS])
@examples(10)
@given(data=st.data())
def test_any_field(kind: type, data: st.DataObject) -> None:
    table = data.draw(any_table(kind, careless=True))
    weather = data.draw(st.sampled_from(WEATHERS))

    def use() -> None:
        value = whole(kind, table)
        if isinstance(value, Fault):
            use_fault(value, weather)
        elif type(value).__name__ in USES:
            USES[type(value).__name__](value, weather)

    root = places()[kind].root
    near = words_for(kind, table) | {root.__name__, "simulate", *places()[kind].path}
    if root is TypicalHouse:
        near.add("House.")
    tried("descriptions", f"{kind.__name__}({table}) {weather}", use, near)


@pytest.mark.parametrize("kind", KINDS, ids=[kind.__name__ for kind in KINDS])
def test_an_ordinary_description_is_accepted(kind: type) -> None:
    """Or the fuzz of its fields would see refusals of other things alone."""
    whole(kind, needed(kind))


def test_every_part_is_found() -> None:
    assert len(KINDS) > 50
    assert {ms.House, ms.Equipment, ms.Stage, ms.Tariff, TypicalHouse} <= {*KINDS}
    assert all(kind in places() for kind in KINDS)
