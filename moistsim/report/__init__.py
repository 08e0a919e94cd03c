"""The customer's page: the recommended option, its cost, the present risks, and their certainty.

`gather` collects the content from a study that was run. `page` writes it as HTML, `printed` as PDF.
"""

from moistsim.report.gather import MEASURE, gather
from moistsim.report.page import page
from moistsim.report.paper import browser, printed
from moistsim.report.records import Report, Sure
from moistsim.report.sureness import sureness

__all__ = [
    "MEASURE",
    "Report",
    "Sure",
    "browser",
    "gather",
    "page",
    "printed",
    "sureness",
]
