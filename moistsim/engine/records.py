"""Named tuples of floats that go into a step: parameters, state, and weather of the minute.

The results of a step are in `metering`. numba needs these types in an importable module to keep its
cache.
"""

from typing import NamedTuple

from moistsim.core.compiled import piece
from moistsim.engine.forcing_tables import NOT_IMPOSED

NEVER = 1.0e6
"""Temperature that no room reaches, degC, in place of a limit that is not set."""


class ZoneParameters(NamedTuple):
    """The house as the loop sees it; conductances in W/K, capacities in J/K."""

    volume: float
    """Volume of the zone's air, m3."""
    light_contents: float
    """Heat capacity of furniture and textiles at the temperature of the air, J/K."""
    fast_capacity: float
    """Heat capacity of the fast mass (board, floor covering, heavy furniture), J/K."""
    slow_capacity: float
    """Heat capacity of the slow mass (slab, structure), J/K."""
    air_to_fast: float
    """Conductance from the air to the fast mass, W/K."""
    air_weight: float
    """Weight of a step's end in the temperatures between which `air_to_fast` and `windows` act."""
    fast_to_slow: float
    """Conductance from the fast mass to the slow mass, W/K."""
    opaque: float
    """Conductance from the fast mass to the sol-air temperature, W/K."""
    windows: float
    """Conductance of the windows from the air to outdoors, W/K."""
    ground: float
    """Conductance from the slow mass to the temperature under the floor, W/K."""
    sun_to_air: float
    """Share of the sun through windows that heats the air."""
    sun_to_fast: float
    """Share of the sun through windows to the fast mass; the slow mass absorbs the rest."""
    gains_to_air: float
    """Share of the sensible gains that heats the air; the fast mass takes the rest."""
    stack: float
    """Stack flow at 1 K, m3/s."""
    leakage_exponent: float
    """Exponent of the temperature difference in the stack flow."""
    surface_store: float
    """Water in the surface layer of the building's store at saturation, kg."""
    deep_store: float
    """Water in the deep layer of the building's store at saturation, kg."""
    air_to_surface: float
    """Vapor conductance from the air to the surface layer, kg/(s Pa)."""
    surface_to_deep: float
    """Vapor conductance from the surface layer to the deep layer, kg/(s Pa)."""
    condensing: float
    """Vapor conductance from the air to wet surfaces, kg/(s Pa)."""
    film_limit: float
    """Water that the surfaces hold as a film before it runs off, kg."""
    contents_store: float
    """Water in the surface layer of the contents' store at saturation, kg."""
    contents_deep_store: float
    """Water in the deep layer of the contents' store at saturation, kg."""
    air_to_contents: float
    """Vapor conductance from the air to the contents' surface layer, kg/(s Pa)."""
    contents_to_deep: float
    """Vapor conductance from the contents' surface layer to their deep layer, kg/(s Pa)."""


class Volume(NamedTuple):
    """State of a body of air, with its masses and its moisture stores."""

    temperature: float
    """Dry bulb, degC."""
    humidity_ratio: float
    """Humidity ratio, kg/kg."""
    dry_air: float
    """Dry air, kg."""
    fast_temperature: float
    """Temperature of the fast mass, degC."""
    fast_saturation: float
    """Saturation pressure at the fast mass's temperature, Pa."""
    slow_temperature: float
    """Temperature of the slow mass, degC."""
    surface_rh: float
    """Relative humidity in balance with the store's surface layer, 0 to 1."""
    deep_rh: float
    """Relative humidity in balance with the store's deep layer, 0 to 1."""
    contents_rh: float
    """Relative humidity in balance with the contents' surface layer, 0 to 1."""
    contents_deep_rh: float
    """Relative humidity in balance with the contents' deep layer, 0 to 1."""
    film: float
    """Liquid water on the surfaces, kg."""


class Boundary(NamedTuple):
    """Temperatures outside a body of air in a step."""

    sol_air: float
    """Sol-air temperature of the opaque surfaces, degC."""
    outdoors: float
    """Outdoor dry bulb, degC."""
    ground: float
    """Temperature under the floor, degC."""


class VentilationParameters(NamedTuple):
    """Mechanical ventilation; flows in m3/s."""

    balanced: float
    """Flow that is brought in and drawn out alike, m3/s."""
    unbalanced: float
    """Flow in one direction only, m3/s."""
    sensible_recovery: float
    """Sensible effectiveness at the rated flow, 0 to 1."""
    latent_recovery: float
    """Latent effectiveness at the rated flow, 0 to 1."""
    fan_power: float
    """Power of all ventilation fans, W."""
    fan_heat: float
    """Share of the fans' power that reaches the zone."""
    supply: float
    """1 if the unbalanced flow is brought in, 0 if it is drawn out."""
    central: float
    """1 if the flow is the one at the blower's full flow and varies with the blower."""
    least_run: float
    """Minimum runtime in each clock hour, s.
    The runtime is the blower's for a central duct, and otherwise the fan's own."""
    frost_limit: float
    """Outdoor dry bulb below which the core is protected from frost, degC."""
    frost_bypass: float
    """1 if the outdoor air bypasses the core below the frost limit."""
    frost_rests: float
    """1 if the supply fan pauses to thaw the core below the frost limit."""
    lockout_vapor_pressure: float
    """Outdoor vapor pressure above which the ventilation stops, Pa."""
    lockout_above: float
    """Outdoor dry bulb above which the ventilation stops, degC."""
    lockout_below: float
    """Outdoor dry bulb below which the ventilation stops, degC."""


class ExhaustParameters(NamedTuple):
    """Exhaust fans: flows in m3/s, powers in W."""

    dryer: float
    """Airflow of the clothes dryer, m3/s."""
    hood: float
    """Airflow of the range hood, m3/s."""
    bath: float
    """Airflow of the bath fans, m3/s."""
    dryer_power: float
    """Fan power of the clothes dryer, W."""
    hood_power: float
    """Fan power of the range hood, W."""
    bath_power: float
    """Fan power of the bath fans, W."""


class DuctParameters(NamedTuple):
    """The ducts; all zero but `closed_doors` for ducts inside."""

    outside: float
    """1 if the ducts run outside the envelope."""
    space: float
    """Number of the space around the ducts, counted from 0 in the table of spaces."""
    supply_leak: float
    """Supply leakage as a share of the blower's flow."""
    return_leak: float
    """Return leakage as a share of the blower's flow."""
    supply_walls: float
    """Conductance of the supply ducts' walls, W/K."""
    return_walls: float
    """Conductance of the return ducts' walls, W/K."""
    film_share: float
    """Share of the walls' thermal resistance in the film outside the ducts."""
    sweating: float
    """Vapor conductance from the space to the outer surface of the supply ducts, kg/(s Pa)."""
    closed_doors: float
    """Unbalanced flow at the blower's full flow, m3/s."""


class AirHandlerParameters(NamedTuple):
    """The blower and every machine in its air stream; times in s, powers in W."""

    stages: float
    """Number of cooling stages."""
    full_flow: float
    """Dry air at full speed and standard density, kg/s."""
    fan_power: float
    """Power of the blower at full flow, W."""
    minimum_on: float
    """Minimum on time of the compressor and of heating, s."""
    minimum_off: float
    """Minimum off time of the compressor and of heating, s."""
    low_outdoor_limit: float
    """Low-ambient lockout: outdoor dry bulb below which cooling does not start, degC."""
    frost_limit: float
    """Apparatus dew point below which the coil frosts, degC."""
    start_up_time: float
    """Time constant of the capacity after the compressor starts, s."""
    water_held: float
    """Water that the wet coil holds before it drips, kg."""
    coil_conductance: float
    """A0 of the top stage: bypass = exp(-A0 / flow), kg/s."""
    crankcase_heat: float
    """Power of the crankcase heater while the compressor is off, W."""
    fan_off_delay: float
    """Fan-off delay after cooling, s."""
    heating_fan_off_delay: float
    """Fan-off delay after heating, s."""
    fan_airflow: float
    """Airflow of the blower that only circulates air, as a share of full flow."""
    idle_airflow: float
    """Airflow of the blower without any call, as a share of full flow; 0 with the fan in AUTO."""
    circulation: float
    """Minimum runtime of the blower in each clock hour, s; 0 without circulation."""
    off_cycle_airflow: float
    """Airflow that drifts over the coil while the blower is off, as a share of full flow."""
    defrost_time: float
    """Off time after which a frosted coil is clear, s."""
    strip_stages: float
    """Number of strip stages."""
    strip_least_flow: float
    """Minimum airflow per power of the strips, kg/(s W) of dry air."""
    heat_capacity: float
    """Heat pump capacity at 8.3 degC, W; 0 without a heat pump."""
    heat_capacity_slope: float
    """Slope of the heat pump's capacity, as a share of that at 8.3 degC, 1/K."""
    heat_cop: float
    """COP of the heat pump at 8.3 degC."""
    heat_cop_slope: float
    """Slope of the heat pump's COP, 1/K."""
    heat_low_limit: float
    """Outdoor dry bulb below which the heat pump does not run, degC."""
    variable: float
    """1 if the compressor follows a call between two stages."""
    fan_cubed: float
    """1 if the blower's power goes with the cube of its flow, 0 if with the flow itself."""
    backup_lockout: float
    """Auxiliary-heat lockout: outdoor dry bulb above which strips do not help, degC."""
    defrost_capacity: float
    """Ratio of the heat pump's capacity at 1.67 degC, with frost, to its straight line."""
    defrost_input: float
    """Ratio of the heat pump's input at 1.67 degC, with frost, to its straight line."""
    furnace_capacity: float
    """Heat of the furnace to the air, W; 0 without a furnace."""
    furnace_efficiency: float
    """Heat to the air per gas burned in the furnace, 0 to 1."""
    furnace_flow: float
    """Airflow of the blower with the furnace, as a share of full flow."""
    room_heater: float
    """Heat of a room heater without a blower to the room, W; 0 without one."""
    room_heater_power: float
    """Electricity of the room heater while it heats, W."""
    room_heater_gas: float
    """Gas burned for the room heater while it heats, W."""
    changeover_delay: float
    """Changeover delay between cooling and heating, s."""
    strip_proportional: float
    """1 if the strips can run a share of a stage."""
    strip_stage_delay: float
    """Delay of each further strip stage, s."""
    strip_proof_time: float
    """Time of moving air before the first strip stage, s."""
    strip_limit: float
    """Temperature at which the strips' limit switch opens, degC."""
    strip_limit_rise: float
    """Rise at the limit switch above the air entering the strips, K.
    The value holds at the airflow `strip_least_flow`."""
    strip_reset_time: float
    """Minimum open time of the strips' limit switch, s."""
    lockout_start: float
    """Hour of the day at which the strips' lockout begins."""
    lockout_end: float
    """Hour of the day at which the strips' lockout ends."""
    lockout_first: float
    """First month of the strips' lockout."""
    lockout_last: float
    """Month after the last month of the strips' lockout."""
    hot_gas_share: float
    """Share of the condenser's heat that a full hot gas call delivers; 0 without hot gas."""
    hot_gas_capacity: float
    """Ratio of the cooling capacity at a full hot gas call to that without one."""
    hot_gas_input: float
    """Ratio of the compressor's input at a full hot gas call to that without one."""


class DehumidifierParameters(NamedTuple):
    """A dehumidifier with its filter as used; without a dehumidifier the water rate is 0."""

    water: float
    """Moisture removal rate at 26.7 degC and 60 % RH, kg/s."""
    power: float
    """Power at 26.7 degC and 60 % RH, W."""
    flow: float
    """Airflow, kg/s of dry air."""
    standby_power: float
    """Standby power, W, with that of a fan that stays on."""
    minimum_on: float
    """Minimum on time, s."""
    minimum_off: float
    """Minimum off time, s."""
    low_inlet_limit: float
    """Inlet dry bulb below which the dehumidifier stops, degC."""
    pump_power: float
    """Power of the condensate pump while the dehumidifier runs, W."""
    from_outdoors: float
    """1 if its inlet is outdoors."""
    from_ventilation: float
    """1 if its inlet is the ventilation's supply stream."""
    defrost_below: float
    """Inlet dry bulb below which frost begins, degC."""
    bucket: float
    """Water that fills the bucket, kg; 0 for a drain."""
    emptied_at: float
    """Hour of the day at which the bucket is emptied."""
    humidistat_on: float
    """RH above which its own humidistat calls, 0 to 1; 0 without a humidistat."""
    humidistat_off: float
    """RH below which its own humidistat stops calling, 0 to 1."""


class SensorParameters(NamedTuple):
    """Sensors and standby power of the controls, and the limits of comfort."""

    wall_share: float
    """Share of the surfaces' temperature, next to that of the air, in what the sensor feels."""
    mixing_gain: float
    """Share of the gap to the room that the air near the sensor closes in a step."""
    mixing_follow: float
    """Share of the room's own change in a step that the air near the sensor makes."""
    temperature_gain: float
    """Share of the temperature gap that the sensor closes in a step."""
    temperature_follow: float
    """Share of the surroundings' own change in a step that the sensor's temperature makes."""
    humidity_gain: float
    """Share of the gap in humidity ratio that the sensor closes in a step."""
    humidity_follow: float
    """Share of the surroundings' own change in a step that the sensor's humidity ratio makes."""
    temperature_half: float
    """Share of the temperature gap that the sensor closes in half a step."""
    humidity_half: float
    """Share of the gap in humidity ratio that the sensor closes in half a step."""
    in_return: float
    """1 if the sensor is in the return duct."""
    in_second: float
    """1 if the sensor is in the second conditioned zone."""
    dew_point: float
    """1 if the control reads the dew point, which is not calculated for other controls."""
    standby_power: float
    """Standby power of the controls, W."""
    warm_above: float
    """Room temperature from which a minute counts as warm, degC."""
    cool_below: float
    """Room temperature below which a minute counts as cool, degC."""
    cold_below: float
    """Room temperature below which a minute counts as cold, degC."""


class LineParameters(NamedTuple):
    """Sensor errors, relays and messages between sensor, control and machines."""

    acts: float
    """1 if any sensor error, relay, message or fault acts."""
    tail: float
    """Index in the memory where the line's own floats begin, behind the strategy's."""
    temperature_resolution: float
    """Resolution of the temperature reading, K; 0 for an exact reading."""
    humidity_resolution: float
    """Resolution of the RH reading, percent; 0 for an exact reading."""
    report_every: float
    """Interval between two reports of the sensor, s."""
    repeat_every: float
    """Interval at which the control repeats its calls, s."""
    release_after: float
    """Age of the last call at which the relays release, s."""
    enable_on: float
    """RH above which the enable closes, percent."""
    enable_off: float
    """RH below which the enable opens, percent."""
    enable_cuts: float
    """Bit mask of the calls that the open enable cuts, as in `wiring`."""
    late_readings: float
    """Delay of readings in a fault, steps."""
    late_calls: float
    """Delay of calls in a fault, steps."""
    strip_stages: float
    """Number of strip stages that a stuck relay turns on."""
    fouled_flow: float
    """Airflow through a fouled coil as a share of that through a clean coil."""


class OpeningParameters(NamedTuple):
    """Conditions in which people open windows; an area of 0 means that windows stay shut."""

    area: float
    """Area of the open windows, m2."""
    stack: float
    """Stack flow, m3/s, at a temperature difference as large as the absolute temperature.

    It is DISCHARGE area sqrt(2 g height)."""
    low: float
    """Outdoor dry bulb below which windows stay shut, degC."""
    high: float
    """Outdoor dry bulb above which windows stay shut, degC."""
    indoor_above: float
    """Room temperature above which people open windows, degC."""
    cooler_by: float
    """Minimum amount by which outdoors is cooler than the room, K."""
    vapor_pressure: float
    """Outdoor vapor pressure above which windows stay shut, Pa."""


class BedroomParameters(NamedTuple):
    """A closed bedroom; a share of 0 means that no bedroom is modeled apart."""

    share: float
    """Bedroom's share of the house's volume; 0 without a separate bedroom."""
    vapor: float
    """Vapor from all sleepers, kg/s."""
    closed_airflow: float
    """Air exchanged with the rest of the house while the door is closed, m3/s."""
    open_airflow: float
    """Air exchanged with the rest of the house while the door is open, m3/s."""
    closed_from: float
    """Hour of the day at which the door is closed."""
    closed_to: float
    """Hour of the day at which the door is opened; past midnight if before `closed_from`."""


class Path(NamedTuple):
    """Ways of heat and air between a space and a conditioned zone."""

    conductance: float
    """Conductance from air to air, W/K."""
    stack_share: float
    """Share of the house's stack flow through the leaks between the two."""
    wind_share: float
    """Share of the house's infiltration by wind through the leaks between the two."""
    fan_share: float
    """Share of all leaks of the house between the two, through which fans draw or push air."""
    below: float
    """1 if the stack draws from the space while the house is warmer than outdoors, 0 if while it is
    cooler."""
    mixing: float
    """Air that the two exchange both ways, m3/s."""
    stairs: float
    """Further air that they exchange both ways at a temperature difference of 1 K, m3/s.
    It varies as the square root of the difference."""
    stable_share: float = 1.0
    """Share of that exchange while the space is warmer than the zone; 0 for stairs up to it."""
    from_mass: float = 0.0
    """Conductance from the space's fast mass to the zone's air, W/K: a deck radiates onto the ceiling."""


class ZoneLeaks(NamedTuple):
    """Shares of the house's infiltration that enter a second conditioned zone."""

    warm: float
    """Share of the stack's inflow while the house is warmer than outdoors.
    While it is cooler, this share of the outflow leaves through the second zone."""
    cool: float
    """Share of the stack's inflow while the house is cooler than outdoors.
    While it is warmer, this share of the outflow leaves through the second zone."""
    wind: float
    """Share of the inflow and of the outflow by wind."""
    fans: float
    """Share of the leaks, through which fans draw or push air."""


class SpaceParameters(NamedTuple):
    """A body of air next to the conditioned zone: crawl space, attic, garage, second zone."""

    zone: ZoneParameters
    """Its air, masses, surfaces, stores and leaks."""
    house: Path
    """Ways to the house's zone."""
    second: Path
    """Ways to the second conditioned zone; all zero without one."""
    conditioned: float
    """1 for a second conditioned zone, which is the first row of the table of spaces."""
    supply_share: float
    """Share of the blower's supply air that enters it."""
    return_share: float
    """Share of the blower's return air that leaves it."""
    soil: float
    """Vapor conductance from damp soil to the air, kg/(s Pa)."""
    dehumidifier: DehumidifierParameters
    """Dehumidifier of its own."""
    thermostat: float = 0.0
    """1 for a second conditioned zone with a thermostat and dampers of its own."""
    bleed: float = 0.0
    """Share of the supply air that enters a zone with its damper closed."""
    closed_flow: float = 1.0
    """Airflow in cooling with one damper closed, over that with both open."""
    leaks: ZoneLeaks = ZoneLeaks(0.0, 0.0, 0.0, 0.0)
    """Infiltration into a second conditioned zone."""
    ground_capacity: float = 0.0
    """Heat capacity of the soil below the slow mass, J/K; 0 for a space that is not on the ground."""
    ground_to_outdoors: float = 0.0
    """Conductance from this soil to its far side, W/K."""
    warm_above: float = NEVER
    """Temperature from which a minute counts as warm, degC."""
    cool_below: float = -NEVER
    """Temperature below which a minute counts as cool, degC."""
    cold_below: float = -NEVER
    """Temperature below which a minute counts as cold, degC."""


class Probe(NamedTuple):
    """A sensor, and the air near it."""

    near_temperature: float
    """Dry bulb of the air near the sensor, degC."""
    near_humidity_ratio: float
    """Humidity ratio of the air near the sensor, kg/kg."""
    temperature: float
    """Temperature of the sensor, degC."""
    humidity_ratio: float
    """Humidity ratio of the air in the sensor, kg/kg."""


class SpaceState(NamedTuple):
    """State of a space that a run carries from one step to the next."""

    air: Volume
    """Air, masses and stores."""
    dehumidifier: float
    """1 while its dehumidifier runs."""
    dehumidifier_time: float
    """Time since its dehumidifier last started or stopped, s."""
    sensor: Probe
    """Sensor of a second conditioned zone with its own thermostat."""
    supply_share: float
    """Share of the blower's supply air that enters it, by the dampers."""
    ground_temperature: float
    """Temperature of the soil below its slow mass, degC."""


class StageParameters(NamedTuple):
    """One cooling stage, gross, in the order of a row of the stage table."""

    capacity: float
    """Gross total capacity at the rating point, W."""
    input: float
    """Compressor and outdoor fan input at the rating point, W."""
    dry_air: float
    """Airflow at the rating point, kg/s of dry air."""
    flow: float
    """Airflow as a share of full flow, 0 to 1."""
    conductance: float
    """Coil conductance A0 in the bypass factor exp(-A0 / flow), kg/s."""
    capacity_a: float
    capacity_b: float
    capacity_c: float
    capacity_d: float
    capacity_e: float
    capacity_f: float
    input_a: float
    input_b: float
    input_c: float
    input_d: float
    input_e: float
    input_f: float
    capacity_flow_a: float
    capacity_flow_b: float
    capacity_flow_c: float
    input_flow_a: float
    input_flow_b: float
    input_flow_c: float
    low_wet_bulb: float
    """Lowest entering wet bulb of the curves, degF."""
    high_wet_bulb: float
    """Highest entering wet bulb of the curves, degF."""
    low_outdoor: float
    """Lowest outdoor dry bulb of the curves, degF."""
    high_outdoor: float
    """Highest outdoor dry bulb of the curves, degF."""
    low_flow: float
    """Lowest airflow of the curves, as a fraction of the rated one."""
    high_flow: float
    """Highest airflow of the curves, as a fraction of the rated one."""


class Plant(NamedTuple):
    """All parameters of a house and its machines."""

    zone: ZoneParameters
    ventilation: VentilationParameters
    unit: AirHandlerParameters
    dehumidifier: DehumidifierParameters
    sensor: SensorParameters
    ducts: DuctParameters
    exhausts: ExhaustParameters
    opening: OpeningParameters
    bedroom: BedroomParameters
    line: LineParameters


class State(NamedTuple):
    """Everything that a run carries from one step to the next."""

    indoor_temperature: float
    """Dry bulb of the zone, degC."""
    indoor_humidity_ratio: float
    """Humidity ratio of the zone, kg/kg."""
    zone_dry_air: float
    """Dry air in the zone, kg."""
    fast_temperature: float
    """Temperature of the fast mass, degC."""
    fast_saturation: float
    """Saturation pressure at the fast mass's temperature, Pa."""
    slow_temperature: float
    """Temperature of the slow mass, degC."""
    surface_rh: float
    """Relative humidity in balance with the store's surface layer, 0 to 1."""
    deep_rh: float
    """Relative humidity in balance with the store's deep layer, 0 to 1."""
    coil_water: float
    """Water on the coil, kg."""
    coil_ramp: float
    """Share of its capacity that the compressor has reached since it started."""
    near_temperature: float
    """Dry bulb of the air near the sensor, degC."""
    near_humidity_ratio: float
    """Humidity ratio of the air near the sensor, kg/kg."""
    sensed_temperature: float
    """Temperature of the sensor, degC."""
    sensed_humidity_ratio: float
    """Humidity ratio of the air in the sensor, kg/kg."""
    cooling_stage: float
    """Cooling stage that runs; 0 while the compressor is off."""
    cooling_time: float
    """Time since the compressor last started or stopped in cooling, s."""
    reheat: float
    """Strip stages on as reheat."""
    backup: float
    """1 if the strips are on as heat."""
    heating_stage: float
    """Heating stage that runs; 0 without heating."""
    heating_time: float
    """Time since heating last started or stopped, s."""
    dehumidifier: float
    """1 while the dehumidifier runs."""
    dehumidifier_time: float
    """Time since the dehumidifier last started or stopped, s."""
    airflow: float
    """Airflow of the blower as a fraction of full flow."""
    frosted: float
    """1 while a frosted coil holds the compressor off."""
    refused: float
    """Bit mask of the reasons for which calls are refused now."""
    apparatus_guess: float
    """Last apparatus dew point, from which the next solve starts, degC."""
    wet_bulb_guess: float
    """Wet bulb of the zone at the start of the last step, degC. The next solve starts from it."""
    blower_time: float
    """Time since the blower began to move air, s; 0 while it is off."""
    strip_level: float
    """Strip stages that the sequencer has turned on; a fraction counts toward the next."""
    limit_temperature: float
    """Temperature of the strips' limit switch, degC."""
    strips_open: float
    """Minimum time that the limit switch still stays open, s; 0 while it is closed."""
    humidistat: float
    """1 while the dehumidifier's own humidistat calls."""
    bucket: float
    """Water in the dehumidifier's bucket, kg. The balance of the house no longer counts it."""
    blower_this_hour: float
    """Time that the blower has run in this clock hour, s."""
    contents_rh: float
    """Relative humidity in balance with the contents' surface layer, 0 to 1."""
    contents_deep_rh: float
    """Relative humidity in balance with the contents' deep layer, 0 to 1."""
    windows_open: float
    """1 while people keep windows open."""
    bedroom_humidity_ratio: float
    """Humidity ratio of a separate bedroom, kg/kg; without one, the zone's."""
    entering_temperature: float
    """Dry bulb of the air entering the air handler, degC.
    While the blower is off it is the room's."""
    entering_humidity_ratio: float
    """Humidity ratio of the air entering the air handler, kg/kg."""
    film: float
    """Liquid water on the surfaces of the zone, kg."""


@piece
def room_of(state: State) -> Volume:
    """The room's part of the state."""
    return Volume(
        state.indoor_temperature,
        state.indoor_humidity_ratio,
        state.zone_dry_air,
        state.fast_temperature,
        state.fast_saturation,
        state.slow_temperature,
        state.surface_rh,
        state.deep_rh,
        state.contents_rh,
        state.contents_deep_rh,
        state.film,
    )


@piece
def probe_of(state: State) -> Probe:
    """The house's sensor in the state."""
    return Probe(
        state.near_temperature,
        state.near_humidity_ratio,
        state.sensed_temperature,
        state.sensed_humidity_ratio,
    )


class Minute(NamedTuple):
    """Weather, household and faults that drive the house in a step."""

    t_out: float
    """Outdoor dry bulb, degC."""
    w_out: float
    """Outdoor humidity ratio, kg/kg."""
    sol_air: float
    """Sol-air temperature of the opaque surfaces, degC."""
    sun: float
    """Sun through the windows, W."""
    pressure: float
    """Air pressure at the end of the step, Pa."""
    natural: float
    """Infiltration by wind and stack, m3/s."""
    density: float
    """Density of outdoor air, kg/m3 of dry air."""
    gains: float
    """Sensible gains of people and appliances, W."""
    moisture: float
    """Vapor from the household, kg/s."""
    hour: float
    """Hour of the day in the middle of the step."""
    month: float
    """Month of the year, 1 to 12."""
    ground: float
    """Temperature under the floor, degC."""
    exhaust: float
    """Airflow of the exhaust fans, m3/s."""
    exhaust_power: float
    """Power of the exhaust fans, W."""
    ground_vapor: float = 0.0
    """Vapor from the ground and a basement, kg/s."""
    construction: float = 0.0
    """Water from new materials, kg/s."""
    opening_wind: float = 0.0
    """Flow by wind through windows while they are open, m3/s."""
    may_open: float = 0.0
    """1 in an hour in which people would open windows."""
    occupied: float = 1.0
    """1 while people live in the house."""
    blower: float = 1.0
    """Airflow of the blower as a share of the expected one; 0 for a failed blower."""
    welded: float = 0.0
    """1 if the strips' contactor is welded shut."""
    dehumidifier_works: float = 1.0
    """0 while a fault stops the dehumidifier."""
    powered: float = 1.0
    """0 during a power cut."""
    imposed: float = NOT_IMPOSED
    """Measured temperature at which the room ends the step, degC; see `NOT_IMPOSED`."""


class MoistAir(NamedTuple):
    """Moist air in one state."""

    temperature: float
    """Dry bulb, degC."""
    humidity_ratio: float
    """Humidity ratio, kg/kg."""
    enthalpy: float
    """Enthalpy, J/kg of dry air."""
