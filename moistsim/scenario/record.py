"""What a scenario's file holds, once it is read."""

from pathlib import Path

import attrs

from moistsim.prices import Purchase, Terms
from moistsim.risk import RiskBasis
from moistsim.study import Study
from moistsim.uncertainty import Uncertain


@attrs.frozen(eq=False)
class Scenario:
    """A study with its name and where it came from."""

    name: str
    note: str
    """What a reader must know, such as that the house is invented."""
    study: Study
    weather: str | Path
    """Name of a weather sample, or the weather file."""
    path: Path
    """The file that was read."""
    purchases: dict[str, Purchase] = attrs.field(factory=dict)
    """One for each option, or none at all."""
    terms: Terms | None = None
    """Of the economics; there are some if there are purchases."""
    risk_basis: RiskBasis = RiskBasis()
    """What mold, mites, wood, comfort and wear are judged by, as `risk` takes it."""
    ranges: dict[str, Uncertain] = attrs.field(factory=dict)
    """What is uncertain, by dotted name, as `how_sure` takes it; the study has the middle of each."""
    years: dict[str, str | Path] = attrs.field(factory=dict)
    """Where the weathers in ``ranges["weather"]`` come from, by label; as `weather`."""
    stated: frozenset[str] = frozenset()
    """Dotted names of what the file gives, such as ``house.ach50``; all else is our default."""
    measured: frozenset[str] = frozenset()
    """Of these, or of tables of them, what the file says was measured."""
