"""A second conditioned zone: the upper floor, or a wing."""

from moistsim.core.changes import Evolving
from moistsim.core.fields import choice, description, part, quantity
from moistsim.house.ducts import Ducts

UPPER_FLOOR, WING = "upper floor", "wing"


@description
class SecondZone(Evolving):
    """A part of the house with air, surfaces, people and moisture of its own.

    The house's description stays that of the whole house. The second zone takes its share of it, and
    the main zone keeps the rest: walls and windows, roof and floor, mass and moisture storage, people
    and leaks. An upper floor has the roof above it and no floor to the ground.

    The two zones exchange heat through floor or wall between them. Air moves between them through
    stairs or a doorway, with the stack of the house, and with the blower. Ventilation fans, exhaust
    fans, open windows, cooking and a stand-alone dehumidifier are in the main zone.

    Air mixes through the opening both ways, by the difference of the densities on its two sides
    (Brown & Solvason 1962). Warm air above stays above: while an upper floor is the warmer one,
    nothing but `mixing` passes down its stairs.

    Examples
    --------
    >>> upstairs = SecondZone(kind="upper floor", share="45 %", return_share=0.0)
    >>> upstairs.share, upstairs.supply_share is None
    (0.45, True)
    """

    kind: str = choice("kind of the second zone", UPPER_FLOOR, WING, default=UPPER_FLOOR)
    share: float = quantity(
        "fraction", "floor area of the second zone over that of the house", default=0.5,
        at_least=0.05, at_most=0.95,
    )  # fmt: skip
    front_share: float | None = quantity(
        "fraction", "share of the front wall, with its windows; default: by floor area", default=None,
        at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    back_share: float | None = quantity(
        "fraction", "share of the back wall, with its windows; default: by floor area", default=None,
        at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    left_share: float | None = quantity(
        "fraction", "share of the left wall, with its windows; default: by floor area", default=None,
        at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    right_share: float | None = quantity(
        "fraction", "share of the right wall, with its windows; default: by floor area", default=None,
        at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    window_share: float | None = quantity(
        "fraction", "share of the windows of every wall; default: as the wall", default=None,
        at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    gains_share: float | None = quantity(
        "fraction", "share of the sensible gains of people and appliances; default: by floor area",
        default=None, at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    moisture_share: float | None = quantity(
        "fraction",
        "share of the household's moisture, showers included and cooking not; default: by floor area",
        default=None, at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    partition_u: float = quantity(
        "W/(m2 K)",
        "U-value of the floor or wall between the zones, air to air; the default is our own sum for "
        "carpet, boards, a joist cavity and gypsum board with their films",
        default=1.0, at_least=0.0, at_most=10.0, usual=(0.05, 7.0),
    )  # fmt: skip
    partition_area: float | None = quantity(
        "m2",
        "area of the floor or wall between the zones; default: floor area of the upper floor, at most "
        "the ground floor's, or the side wall of the house",
        default=None, at_least=0.0, at_most=2000.0, optional=True,
    )  # fmt: skip
    opening_width: float = quantity(
        "m", "width of the open stairs or doorway between the zones; 0 for a closed door",
        default="3 ft", at_least=0.0, at_most=20.0, usual=(0.0, 8.0),
    )  # fmt: skip
    opening_height: float = quantity(
        "m",
        "height of the open stairs or doorway",
        default="6.7 ft",
        above=0.0,
        at_most=6.0,
        usual=(0.0, 4.0),
    )
    mixing: float = quantity(
        "m3/s",
        "air that people and doors move both ways between the zones; the default is our own figure",
        default="30 cfm", at_least=0.0, at_most=2.0,
    )  # fmt: skip
    supply_share: float | None = quantity(
        "fraction", "share of the supply air of one system; default: by floor area", default=None, at_least=0.0,
        at_most=1.0, optional=True,
    )  # fmt: skip
    return_share: float | None = quantity(
        "fraction",
        "share of the return air of one system, 0 for a central return in the main zone; default: as the "
        "supply air",
        default=None, at_least=0.0, at_most=1.0, optional=True,
    )  # fmt: skip
    ducts: Ducts | None = part(
        Ducts,
        "ducts of a second system of its own, without effect in a house of one system; default: as `House.ducts`",
        default=None,
        optional=True,
    )
