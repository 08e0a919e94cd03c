"""The sheet that the installer works from: a control's sequence of operation on one page.

Data flows one way: `probing` asks the control, `states` leads it into situations, the package's
`commissioning` says what the gauges show, `winter` proves the heat; `sheet` gathers all in the
reader's words, and `page` lays it out.
"""

from moistsim.sheet.page import page
from moistsim.sheet.probing import Probe, Setpoint, probe
from moistsim.sheet.records import Sheet
from moistsim.sheet.sheet import gather
from moistsim.sheet.showing import Show

__all__ = [
    "Probe",
    "Setpoint",
    "Sheet",
    "Show",
    "gather",
    "page",
    "probe",
]
