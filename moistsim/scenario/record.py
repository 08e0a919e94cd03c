"""A scenario file after reading."""

from pathlib import Path
from typing import Any

import attrs

from moistsim.core.summary import html, reader, short
from moistsim.cures import CurePrices
from moistsim.prices import Purchase, Terms
from moistsim.risk import RiskBasis
from moistsim.scenario.names import covers
from moistsim.study import Study
from moistsim.uncertainty import MeasuredHouse, Uncertain


@attrs.frozen(eq=False)
class Scenario:
    """A scenario file as read: a study with its name, its purchases, its ranges and its path."""

    name: str
    note: str
    """A note for readers, such as that the house is invented."""
    study: Study
    weather: str | Path
    """Name of a weather sample, or the weather file."""
    path: Path
    """The file that was read."""
    purchases: dict[str, Purchase] = attrs.field(factory=dict)
    """Purchases by option: of all options, or empty."""
    terms: Terms | None = None
    """Terms of the economics, given if there are purchases."""
    risk_basis: RiskBasis = RiskBasis()
    """Limits for mold, mites, wood, comfort and wear, as in `risk`."""
    cure_prices: CurePrices = CurePrices()
    """First costs of low-cost cures, as in `free_cures`."""
    ranges: dict[str, Uncertain] = attrs.field(factory=dict)
    """Uncertain values by dotted name, as in `how_sure`; the study uses the middle of each."""
    years: dict[str, str | Path] = attrs.field(factory=dict)
    """Sources of the weathers in ``ranges["weather"]`` by label; as `weather`."""
    stated: frozenset[str] = frozenset()
    """Dotted names of values in the file, such as ``house.ach50``; all others are defaults."""
    measured: frozenset[str] = frozenset()
    """Dotted names of values or tables that the file lists as measured."""
    labels: dict[str, dict[str, Any]] = attrs.field(factory=dict)
    """Numbers on the labels of machines, by the machine's name such as ``equipment.cooling``."""
    complaint: str = ""
    """What is complained of, in the owner's words."""
    draws: MeasuredHouse | None = None
    """Joint draws of the measured values, in place of their ranges in `how_sure`."""
    draws_file: Path | None = None
    """The file of `draws`."""
    log: dict[str, Any] = attrs.field(factory=dict)
    """The table ``[log]``, as the file has it; see `read_log`."""

    def __repr__(self) -> str:
        return short(self, [self.name, *self.study.options])

    def _repr_html_(self) -> str:
        it = self.study.summary(reader())
        return html(it._replace(kind="Scenario", name=self.name, notes=(self.note,)))

    @property
    def is_leakage_measured(self) -> bool:
        """Whether the file lists the house's air leakage as measured, by a blower door.

        What loggers tell of the leakage is no blower-door test.
        """
        by_log = () if self.draws is None else tuple(map(str, self.draws.draws))
        keys = [key for key in self.stated if key.startswith(_LEAKAGE) and key not in by_log]
        return any(covers(name, key) for name in self.measured for key in keys)

    @property
    def remarks(self) -> str:
        """The complaint and the note, for the sheet."""
        complaint = f"Complaint: {self.complaint.rstrip('.')}." if self.complaint else ""
        return " ".join(filter(None, (complaint, self.note)))


_LEAKAGE = ("house.ach50", "house.leakage.cfm50", "house.leakage.effective_area")
"""Values of a file that state the air leakage."""
