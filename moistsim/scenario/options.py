"""Options of a scenario file: equipment, control, changes of the house, and purchase."""

from typing import Any

import attrs

from moistsim.controls import Strategy
from moistsim.core.errors import InputError, Problem
from moistsim.equipment import Equipment
from moistsim.house import House
from moistsim.prices import Purchase
from moistsim.scenario.controls import CONTROL, control_of
from moistsim.scenario.descriptions import build, fields_in
from moistsim.scenario.house_changes import changed_house
from moistsim.scenario.places import Place, check_keys


def option_of(
    table: Any, shared: dict[str, Any], base: dict[str, Any], house: House, place: Place
) -> tuple[Equipment, Strategy] | tuple[Equipment, Strategy, House]:
    """The equipment of an option, with the shared machines, its control, and its house if it has one.

    Parameters
    ----------
    table
        The table of the option.
    shared : dict
        The machines of all options.
    base : dict
        The table ``[house]``.
    house : House
        The house that it describes.
    place : Place
        The place of the option.

    Raises
    ------
    ScenarioError
    """
    known = (*CONTROL, "second", "equipment", "house", "purchase")
    check_keys(table, known, place)
    strategy = control_of(table, place)
    machines = _machines(table, shared, place)
    if "house" not in table:
        return machines, strategy
    return machines, strategy, changed_house(base, table["house"], house, place.inside("house"))


def _machines(table: dict[str, Any], shared: dict[str, Any], place: Place) -> Equipment:
    inner = place.inside("equipment")
    own = fields_in(Equipment, table.get("equipment", {}), inner)
    try:
        return Equipment(**{**shared, **own})
    except InputError as error:
        # A plain value from the shared table is wrong in that table.
        key = error.where.removeprefix("Equipment.")
        if key in shared and key not in own and not attrs.has(type(shared[key])):
            inner = place._replace(table="equipment", number=0)
        raise inner.moved(error, "Equipment", {**shared, **own}) from None


def purchases_of(options: dict[str, Any], place: Place) -> dict[str, Purchase]:
    """The purchase of each option.

    Raises
    ------
    ScenarioError
        If an option has no purchase.
    """
    purchases = {}
    for name, option in options.items():
        inner = place.inside("options").inside(name)
        if "purchase" not in option:
            raise inner.error(
                "",
                Problem("no purchase, though the scenario asks for economics"),
                "a table purchase with a first_cost, 0 if nothing is bought",
            )
        purchases[name] = build(Purchase, option["purchase"], inner.inside("purchase"))
    return purchases
