"""A study as a TOML file: read into descriptions, and written back as run.

The tables and keys are the fields of the descriptions themselves (`House`, `Equipment`, `Tariff`
and what they hold), and the setpoints those of the strategy named: there is no other list of
them. Only the frame around them is this package's: weather, season and options.
"""

from moistsim.scenario.inputs import Input, inputs
from moistsim.scenario.places import ScenarioError
from moistsim.scenario.reading import DEMO, read_scenario
from moistsim.scenario.record import Scenario
from moistsim.scenario.sweep_file import SweepFile, read_sweep
from moistsim.scenario.writing import checksum, write_scenario

__all__ = [
    "DEMO",
    "Input",
    "Scenario",
    "ScenarioError",
    "SweepFile",
    "checksum",
    "inputs",
    "read_scenario",
    "read_sweep",
    "write_scenario",
]
