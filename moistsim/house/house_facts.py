"""A house in a few phrases, the same on screen, page and in a notebook."""

from typing import TYPE_CHECKING, NamedTuple

from moistsim.core.display import Show, count

if TYPE_CHECKING:
    from moistsim.house.house import House


class HouseFacts(NamedTuple):
    """Phrases about a house."""

    size: str
    people: str
    moisture: str
    leakage: str
    around: tuple[str, ...]
    """Spaces next to the house, a second zone and the place of its ducts, if outside."""


def house_facts(house: "House", show: Show) -> HouseFacts:
    """A house in a few phrases.

    Examples
    --------
    >>> from moistsim.house import Ducts, House
    >>> of = house_facts(House(floor_area="1900 ft2", ach50=2, ducts=Ducts(location="attic")), Show("us"))
    >>> of.size, of.people, of.leakage, of.around
    ('1,900 ft², 1 story', '3 people', '2 ACH50', ('vented attic', 'ducts in the attic'))
    """
    around = []
    for name in house.spaces:
        zone = house.second_zone
        if name == "second_zone" and zone is not None:
            around.append(f"{zone.kind} ({100.0 * zone.share:.0f} % of the floor) as a second zone")
            continue
        kind = getattr(getattr(house, name), "kind", "")
        around.append(f"{kind} {name.replace('_', ' ')}".strip())
    if house.ducts.location != "inside":
        around.append(f"ducts in the {house.ducts.location}")
    people = house.gains.occupants
    return HouseFacts(
        size=f"{show(house.floor_area, 'area')}, {count(house.stories, 'story', 'stories')}",
        people=f"{people:g} {'person' if people == 1 else 'people'}",
        moisture=show(house.moisture_gain, "removal"),
        leakage=f"{house.changes_at_50_pa:.3g} ACH50",
        around=tuple(around),
    )
