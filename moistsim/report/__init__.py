"""The customer's page: the recommended option, its cost, the present risks, and their certainty.

`conclude` decides what to advise from a study that was run, and `answer` says it in three lines.
`gather` collects the content of the page. `page` writes it as HTML, `printed` as PDF.
"""

from moistsim.report.answer import answer
from moistsim.report.conclude import Conclusion, conclude
from moistsim.report.gather import CAUTIONS, gather
from moistsim.report.over_years import across_years
from moistsim.report.page import page
from moistsim.report.paper import browser, printed
from moistsim.report.pictures import address
from moistsim.report.records import Answer, Report, Sure

__all__ = [
    "Answer",
    "CAUTIONS",
    "Conclusion",
    "Report",
    "Sure",
    "across_years",
    "address",
    "answer",
    "browser",
    "conclude",
    "gather",
    "page",
    "printed",
]
