"""An attic: vented, or sealed under an insulated roof."""

from typing import NamedTuple

from moistsim.core.changes import Evolving
from moistsim.core.fields import choice, description, quantity


class AtticKind(NamedTuple):
    """Practice of one kind of attic."""

    vent_area: float
    """Net free area of vents and leaks to outdoors over the area of the ceiling."""


# Vents of 1/300 of the plan, half of them high, are common code (from memory). What leaks of a sealed
# attic remain is our own round figure.
ATTICS = {"vented": AtticKind(1.0 / 300.0), "sealed": AtticKind(1.0 / 6000.0)}


@description
class Attic(Evolving):
    """An attic over the whole top floor, with air, roof deck and wood of its own.

    The roof deck stores heat and moisture, under the sun on the roof (`Envelope.roof_absorptance`).
    `Envelope.roof_u` stays the U-value of ceiling and roof together. In a vented attic the insulation
    lies on the ceiling, and the deck radiates onto it. Deck and trusses store moisture from the air. In a
    sealed attic the insulation lies under the deck, the ceiling is bare board, and the deck exchanges
    moisture with the attic through that insulation.

    Vents and leaks bring in outdoor air by wind and stack. The house pushes air into the attic through
    the leaks of its ceiling, and draws air from it. `Leakage.ceiling_share` says how much.

    Examples
    --------
    >>> Attic(vent_area="1/150").practice.vent_area == 1.0 / 150.0
    True
    """

    kind: str = choice("kind of attic", *ATTICS, default="vented")
    height: float = quantity(
        "m", "mean height of the attic", default=1.2, above=0.0, at_most=5.0, usual=(0.1, 3.0)
    )
    vent_area: float | None = quantity(
        "fraction",
        "net free area of vents and leaks to outdoors, over the area of the ceiling; default: 1/300 "
        "(vented), 1/6000 (sealed)",
        default=None, at_least=0.0, at_most=0.1, optional=True,
    )  # fmt: skip
    deck_area: float = quantity(
        "count", "area of roof deck and gables over that of the ceiling; the default is a pitch of 5 in 12",
        default=1.1, at_least=1.0, at_most=3.0,
    )  # fmt: skip
    deck_u: float = quantity(
        "W/(m2 K)",
        "U-value of the bare roof deck with its roofing, air to air; the default is our own figure "
        "for half an inch of panel under shingles",
        default=3.0, above=0.0, at_most=5.0, usual=(0.1, 5.0),
    )  # fmt: skip
    deck_heat_capacity: float = quantity(
        "J/(m2 K)", "heat capacity of deck, roofing and trusses, over the area of the deck; the default is "
        "our own figure", default=25e3, at_least=0.0, at_most=1e6,
    )  # fmt: skip
    deck_vapor_resistance: float = quantity(
        "Pa m2 s/kg",
        "vapor resistance of the insulation under the deck of a sealed attic; the default is 14 cm of "
        "open-cell foam (from memory)",
        default=8e9, above=0.0, at_most=1e13,
    )  # fmt: skip

    @property
    def practice(self) -> AtticKind:
        """Vents and leaks, given or by kind."""
        return ATTICS[self.kind] if self.vent_area is None else AtticKind(self.vent_area)
