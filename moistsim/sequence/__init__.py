"""The sheet that the installer works from: a control's sequence of operation on one page.

Data flows one way: `probing` asks the control, `states` leads it into situations, the package's
`commissioning` says what the gauges show, `winter` proves the heat; `sheet` gathers all in the
reader's words, and `page` lays it out.
"""

from moistsim.commissioning import Today, today
from moistsim.sequence.page import page
from moistsim.sequence.probing import Probe, SetPoint, probe
from moistsim.sequence.records import Sheet
from moistsim.sequence.sheet import gather

__all__ = ["Probe", "SetPoint", "Sheet", "Today", "gather", "page", "probe", "today"]
