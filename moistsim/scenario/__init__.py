"""Scenarios: a study as a TOML file, read into descriptions and written back as run.

Tables and keys are the fields of the descriptions (`House`, `Equipment`, `Tariff` and their parts),
and the setpoints of the named strategy. `read_scenario` documents the file, `read_sweep` the file of
a sweep over a scenario.

Examples
--------
>>> import moistsim as ms
>>> demo = ms.scenario.read_scenario(ms.scenario.DEMO)
>>> list(demo.study.options)[:2]
['Cooling by temperature only', 'Overcooling allowed']
>>> demo.study.house.stories
1.0
"""

from moistsim.scenario.advising import advice_on
from moistsim.scenario.draws_file import write_draws
from moistsim.scenario.inputs import Input, inputs
from moistsim.scenario.log_table import read_log
from moistsim.scenario.measured_scenario import measured_scenario
from moistsim.scenario.names import covers, quoted
from moistsim.scenario.places import ScenarioError
from moistsim.scenario.reading import (
    DAMP_CRAWL_SPACE,
    DEMO,
    TIGHT_HOUSE,
    read_scenario,
    scenario_of,
)
from moistsim.scenario.record import Scenario
from moistsim.scenario.short_form import PLACES
from moistsim.scenario.sweep_file import SweepFile, read_sweep
from moistsim.scenario.template import new_house
from moistsim.scenario.writing import checksum, write_scenario

__all__ = [
    "DAMP_CRAWL_SPACE",
    "DEMO",
    "Input",
    "PLACES",
    "Scenario",
    "ScenarioError",
    "SweepFile",
    "TIGHT_HOUSE",
    "advice_on",
    "checksum",
    "covers",
    "inputs",
    "measured_scenario",
    "new_house",
    "quoted",
    "read_log",
    "read_scenario",
    "read_sweep",
    "scenario_of",
    "write_draws",
    "write_scenario",
]
