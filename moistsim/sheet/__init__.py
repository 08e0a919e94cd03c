"""The installer's sheet: a control's sequence of operation on one page.

Data flows one way. `probing` finds the setpoints by test, `states` finds the calls by situation,
`commissioning` calculates the readings to expect, and `winter` compares the heating. `sheet`
gathers everything in the reader's words and units, and `page` lays it out.
"""

from moistsim.sheet.page import page
from moistsim.sheet.picture import check_day
from moistsim.sheet.probing import Probe, Setpoint, probe
from moistsim.sheet.records import Sheet
from moistsim.sheet.sheet import AS_IN_THE_FILE, gather

__all__ = [
    "AS_IN_THE_FILE",
    "Probe",
    "Setpoint",
    "Sheet",
    "check_day",
    "gather",
    "page",
    "probe",
]
