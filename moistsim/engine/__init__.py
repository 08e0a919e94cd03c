"""The compiled run: forcing arrays and parameters in, hourly sums and states out."""

from moistsim.engine import column_catalog, parameters, tags
from moistsim.engine.air_handler import CONDENSATE_ENTHALPY, Entering, Stream, run_air_handler
from moistsim.engine.asking import leading
from moistsim.engine.column_catalog import (
    DEW_POINT,
    END_USES,
    FLOWS,
    HOTTEST_STRIPS,
    HOTTEST_SUPPLY,
    MEASURE,
    PARTS,
    STATES,
    SYSTEM_FLOWS,
    Flow,
    key,
    measures_of,
    said,
    space_flows,
)
from moistsim.engine.disturbance import disturb, window
from moistsim.engine.driver import Machine, SecondMachine
from moistsim.engine.drying import Inlet, dry, inlet_air, own_humidistat
from moistsim.engine.forcing import force, skin
from moistsim.engine.forcing_tables import (
    GIVEN_CALLS,
    NOT_GIVEN,
    OUTDOOR_RH,
    Forcing,
    Imposed,
    nothing_imposed,
)
from moistsim.engine.ground import WHOLE_YEAR
from moistsim.engine.heating import COLD_RATING, FROST_END, FROST_RATING
from moistsim.engine.household import household
from moistsim.engine.infiltration import infiltration, infiltration_in
from moistsim.engine.interlocks import (
    COIL_FROST,
    DEHUMIDIFIER_COLD,
    NOT_INSTALLED,
    OUTDOOR_COLD,
    REHEAT_ALONE,
    STRIPS_LOCKED_OUT,
    Conditions,
    Running,
    obey,
)
from moistsim.engine.metering import REFUSALS, STEP_FIELDS, Step
from moistsim.engine.overriding import (
    opened_as_given,
    with_household,
    with_infiltration,
    with_windows,
)
from moistsim.engine.parameters import (
    COMFORT_BAND,
    air_handler_parameters,
    dehumidifier_parameters,
    stage_table,
)
from moistsim.engine.recording import LOGGED, Record, load
from moistsim.engine.records import (
    AirHandlerParameters,
    DehumidifierParameters,
    Plant,
    State,
    Volume,
    ZoneParameters,
)
from moistsim.engine.second_system import SYSTEM_FIELDS
from moistsim.engine.soil import soil_at_start
from moistsim.engine.space_parameters import initial_spaces, space_parameters
from moistsim.engine.strips import locked_out, strip_power
from moistsim.engine.ventilating import (
    Ventilating,
    through_central_duct,
    ventilate,
    with_central_air,
)
from moistsim.engine.wiring import through_relays
from moistsim.engine.zone import SORBED_ENTHALPY

__all__ = [
    "AirHandlerParameters",
    "COIL_FROST",
    "COLD_RATING",
    "COMFORT_BAND",
    "CONDENSATE_ENTHALPY",
    "Conditions",
    "DEHUMIDIFIER_COLD",
    "DEW_POINT",
    "DehumidifierParameters",
    "END_USES",
    "Entering",
    "FLOWS",
    "FROST_END",
    "FROST_RATING",
    "Flow",
    "Forcing",
    "GIVEN_CALLS",
    "HOTTEST_STRIPS",
    "HOTTEST_SUPPLY",
    "Imposed",
    "Inlet",
    "LOGGED",
    "MEASURE",
    "Machine",
    "NOT_GIVEN",
    "NOT_INSTALLED",
    "OUTDOOR_COLD",
    "OUTDOOR_RH",
    "PARTS",
    "Plant",
    "REFUSALS",
    "REHEAT_ALONE",
    "Record",
    "Running",
    "SORBED_ENTHALPY",
    "STATES",
    "STEP_FIELDS",
    "STRIPS_LOCKED_OUT",
    "SYSTEM_FIELDS",
    "SYSTEM_FLOWS",
    "SecondMachine",
    "State",
    "Step",
    "Stream",
    "Ventilating",
    "Volume",
    "WHOLE_YEAR",
    "ZoneParameters",
    "air_handler_parameters",
    "column_catalog",
    "dehumidifier_parameters",
    "disturb",
    "dry",
    "force",
    "household",
    "infiltration",
    "infiltration_in",
    "initial_spaces",
    "inlet_air",
    "key",
    "leading",
    "load",
    "locked_out",
    "measures_of",
    "nothing_imposed",
    "obey",
    "opened_as_given",
    "own_humidistat",
    "parameters",
    "run_air_handler",
    "said",
    "skin",
    "soil_at_start",
    "space_flows",
    "space_parameters",
    "stage_table",
    "strip_power",
    "tags",
    "through_central_duct",
    "through_relays",
    "ventilate",
    "window",
    "with_central_air",
    "with_household",
    "with_infiltration",
    "with_windows",
]
