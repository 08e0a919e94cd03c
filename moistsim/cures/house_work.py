"""Cures that are work on the house: duct sealing, a ground cover, air sealing."""

from typing import Any, cast

import attrs

from moistsim.controls import Strategy
from moistsim.core.display import Show, number
from moistsim.core.units import to_si
from moistsim.cures.cure import Cure, coolings, with_part
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.study import Option

# All shares and prices here are stand-ins of our own: common practice, no source.
SEALED_DUCTS = 0.04
"""Leakage of sealed ducts over the blower's airflow, on each side."""
FULL_COVER = 0.98
"""Part of the ground under a cover with laps and piers, and the part below which one is missed."""
LEAKY = 5.0
"""Air leakage above which sealing is tried, ACH50; below it, sealing asks for ventilation."""
SEALED_SHARE = 0.25
"""Share of the air leakage that sealing of attic and floor takes away."""
DUCTS_USD = 800.0
"""Price of ducts sealed with mastic where they can be reached, USD."""
COVER_USD = 0.75 / to_si("1 ft2", "m2", "")
"""Price of a ground cover, USD per m2 of ground: 0.75 USD/ft2."""
SEALING_USD = 0.60 / to_si("1 ft2", "m2", "")
"""Price of air sealing, USD per m2 of floor: 0.60 USD/ft2."""

_FUEL = (
    "With any fuel-burning appliance, test the draft of chimneys and water heaters and the carbon "
    "monoxide after the work."
)


def _seal_ducts(machines: Equipment, strategy: Strategy, house: House) -> Option | None:
    ducts = house.ducts
    sides = (ducts.supply_leakage, ducts.return_leakage)
    if ducts.location == "inside" or not coolings(machines) or max(sides) <= SEALED_DUCTS:
        return None
    supply, back = (min(side, SEALED_DUCTS) for side in sides)
    return Option(
        machines,
        strategy,
        with_part(house, "ducts", supply_leakage=supply, return_leakage=back),
    )


def _say_seal_ducts(before: Option, after: Option, show: Show) -> str:
    was = before.house.ducts
    sides = " and ".join(
        f"{number(100.0 * leakage)} % ({side})"
        for leakage, side in ((was.supply_leakage, "supply"), (was.return_leakage, "return"))
    )
    aim = number(100.0 * SEALED_DUCTS)
    return (
        f"Seal the ducts in the {was.location} to {aim} % leakage on each side. They leak {sides}."
    )


SEAL_DUCTS = Cure(
    "Seal ducts",
    _seal_ducts,
    _say_seal_ducts,
    (
        "Sealing changes the pressures in the house. Measure static pressure and airflow afterward.",
        _FUEL,
    ),
    price=lambda house: DUCTS_USD,
    price_key="seal_ducts",
)


def _cover_ground(machines: Equipment, strategy: Strategy, house: House) -> Option | None:
    space = house.crawl_space
    if space is None or space.practice.ground_cover >= FULL_COVER:
        return None
    covered = with_part(house, "crawl_space", ground_cover=FULL_COVER)
    return Option(machines, strategy, covered)


def _say_cover_ground(before: Option, after: Option, show: Show) -> str:
    was = before.house.crawl_space
    assert was is not None
    covered = was.practice.ground_cover
    now = f"{number(100.0 * covered)} % is covered" if covered else "no cover is there"
    return (
        f"Cover the {show(before.house.footprint, 'area')} of ground in the crawl space with a vapor "
        f"barrier, seams lapped. Today {now}."
    )


COVER_GROUND = Cure(
    "Ground cover",
    _cover_ground,
    _say_cover_ground,
    ("Drain standing water first, and lead roof water away from the walls.",),
    price=lambda house: COVER_USD * house.footprint,
    price_key="ground_cover",
)


def _seal_air(machines: Equipment, strategy: Strategy, house: House) -> Option | None:
    leakage = house.changes_at_50_pa
    if leakage <= LEAKY * (1.0 + 0.5 * SEALED_SHARE):
        return None
    kept = max(1.0 - SEALED_SHARE, LEAKY / leakage)
    whole: Any = house
    sealed: House
    if house.ach50 is not None:
        sealed = attrs.evolve(whole, ach50=kept * house.ach50)
    elif house.leakage.cfm50 is not None:
        sealed = with_part(house, "leakage", cfm50=kept * house.leakage.cfm50)
    else:
        area = cast(float, house.leakage.effective_area)
        sealed = with_part(house, "leakage", effective_area=kept * area)
    return Option(machines, strategy, sealed)


def _say_seal_air(before: Option, after: Option, show: Show) -> str:
    was, now = (number(x.house.changes_at_50_pa, 1) for x in (before, after))
    return f"Seal air leaks of attic and floor: {now} ACH50 instead of {was}."


SEAL_AIR = Cure(
    "Air sealing",
    _seal_air,
    _say_seal_air,
    (
        "A tighter house needs mechanical ventilation at the rate of ASHRAE 62.2. Its own moisture "
        "then stays longer.",
        _FUEL,
    ),
    price=lambda house: SEALING_USD * house.floor_area,
    price_key="air_sealing",
)
