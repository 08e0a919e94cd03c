"""Named tuples of floats that go into a step: parameters, state, and weather of the minute.

What comes out of a step is in `metering`. numba needs these types in an importable module for its
cache to hold.
"""

from typing import NamedTuple


class ZoneParameters(NamedTuple):
    """The house as the loop sees it; conductances in W/K, capacities in J/K."""

    volume: float
    """m3."""
    fast_capacity: float
    slow_capacity: float
    air_to_fast: float
    air_weight: float
    """Weight of a step's end in the temperatures between which `air_to_fast` and `windows` act."""
    fast_to_slow: float
    opaque: float
    """Fast mass to sol-air temperature."""
    windows: float
    """Air to outdoors."""
    ground: float
    """Slow mass to the ground, or to what lies under the floor."""
    sun_to_fast: float
    """Share of the sun through windows that the fast mass takes; the slow mass takes the rest."""
    gains_to_air: float
    """Share of the sensible gains that heats the air; the fast mass takes the rest."""
    stack: float
    """Stack flow at 1 K, m3/s."""
    leakage_exponent: float
    surface_store: float
    """Water at saturation, kg."""
    deep_store: float
    """Water at saturation, kg."""
    air_to_surface: float
    """Vapor conductance, kg/(s Pa)."""
    surface_to_deep: float
    """Vapor conductance, kg/(s Pa)."""
    condensing: float
    """Vapor conductance from the air to wet surfaces, kg/(s Pa)."""
    contents_store: float
    """The second store's surface layer, then its deep one, and their conductances, as above."""
    contents_deep_store: float
    air_to_contents: float
    contents_to_deep: float


class VentilationParameters(NamedTuple):
    """Mechanical ventilation; flows in m3/s."""

    balanced: float
    unbalanced: float
    sensible_recovery: float
    latent_recovery: float
    fan_power: float
    """W, all fans."""
    fan_heat: float
    """Share of the fans' power that reaches the zone."""
    supply: float
    """1 if the unbalanced flow is brought in, 0 if it is drawn out."""
    central: float
    """1 if the flow is that of the blower's full flow and goes with it."""
    least_run: float
    """In each clock hour, s: of the blower for a central duct, of the fan itself for others."""
    frost_limit: float
    """degC; below it the core is protected, by one of the next two."""
    frost_bypass: float
    frost_rests: float
    lockout_vapor_pressure: float
    """Outdoors, Pa; above it, and outside the next two (degC), the ventilation stops."""
    lockout_above: float
    lockout_below: float


class ExhaustParameters(NamedTuple):
    """Exhaust fans: flows in m3/s, powers in W."""

    dryer: float
    hood: float
    bath: float
    dryer_power: float
    hood_power: float
    bath_power: float


class DuctParameters(NamedTuple):
    """The ducts and the space around them; all zero but `closed_doors` for ducts inside."""

    outside: float
    """1 if the ducts run outside the envelope."""
    supply_leak: float
    """Of the blower's flow."""
    return_leak: float
    supply_walls: float
    """W/K."""
    return_walls: float
    under_roof: float
    """1 if the space lies between the roof and the ceiling, 0 if between ground and floor."""
    outer: float
    """Space to the sol-air temperature of the roof, or to the ground, W/K."""
    inner: float
    """Space to the room, W/K."""
    volume: float
    """Of the space, m3."""
    ventilation: float
    """Of the space, m3/s."""
    heat_capacity: float
    """J/K."""
    closed_doors: float
    """Unbalanced flow at the blower's full flow, m3/s."""


class AirHandlerParameters(NamedTuple):
    """The blower and every machine in its air stream; times in s, powers in W."""

    stages: float
    full_flow: float
    """Dry air at full speed and standard density, kg/s."""
    fan_power: float
    """At full flow."""
    minimum_on: float
    minimum_off: float
    low_outdoor_limit: float
    frost_limit: float
    start_up_time: float
    water_held: float
    """kg."""
    coil_conductance: float
    """A0 of the top stage: bypass = exp(-A0 / flow), kg/s."""
    crankcase_heat: float
    fan_off_delay: float
    idle_airflow: float
    """Blower with nothing to do, of full flow; 0 stops it."""
    off_cycle_airflow: float
    """Air that drifts over the coil while the blower rests, of full flow."""
    defrost_time: float
    strip_stages: float
    strip_least_flow: float
    """Dry air per power, kg/(s W)."""
    heat_capacity: float
    """Heat pump at 8.3 degC, W; 0 for none."""
    heat_capacity_slope: float
    """Fraction of it per K."""
    heat_cop: float
    heat_cop_slope: float
    """Per K."""
    heat_low_limit: float
    variable: float
    """1 if the compressor follows a call between two stages."""
    fan_cubed: float
    """1 if the blower's power goes with the cube of its flow, 0 if with the flow itself."""
    backup_lockout: float
    """Outdoor temperature above which the strips do not back up the heat pump, degC."""
    defrost_capacity: float
    """Heat pump at 1.67 degC over its straight line, frost and defrost in it; then its input."""
    defrost_input: float
    furnace_capacity: float
    """To the air, W; 0 for none."""
    furnace_efficiency: float
    furnace_flow: float
    """Blower in heating with the furnace, of full flow."""
    changeover_delay: float
    strip_proportional: float
    """1 if a share of a stage can be had."""
    strip_stage_delay: float
    strip_proof_time: float
    strip_limit: float
    """At which the limit switch opens, degC."""
    strip_limit_rise: float
    """What the switch sees over the air entering the strips at `strip_least_flow`, K."""
    strip_reset_time: float
    lockout_start: float
    """Hours of the day, and months (the second one past the last), without strips."""
    lockout_end: float
    lockout_first: float
    lockout_last: float
    hot_gas_share: float
    """Of the condenser's heat, at a full call; 0 for none."""
    hot_gas_capacity: float
    """Cooling capacity, and then input, at a full call over those without."""
    hot_gas_input: float


class DehumidifierParameters(NamedTuple):
    """A dehumidifier with its filter as it is; a water rate of 0 means that none is installed."""

    water: float
    """At 26.7 degC, 60 %, kg/s."""
    power: float
    """At the same point, W."""
    flow: float
    """Dry air, kg/s."""
    standby_power: float
    """While it rests, W, a fan that stays on included."""
    minimum_on: float
    minimum_off: float
    low_inlet_limit: float
    pump_power: float
    """While it runs, W."""
    from_outdoors: float
    """1 if its inlet is outdoors."""
    from_ventilation: float
    """1 if its inlet is the ventilation's supply stream."""
    defrost_below: float
    """Inlet temperature, degC."""
    bucket: float
    """kg; 0 for a drain."""
    emptied_at: float
    """Hour of the day."""
    humidistat_on: float
    """RH from which its own humidistat calls, 0 to 1; 0 for none."""
    humidistat_off: float


class SensorParameters(NamedTuple):
    """Sensors and standby power of the controls, and the limits of comfort."""

    temperature_gain: float
    """Share of the gap to the room that the reading closes in a step."""
    temperature_follow: float
    """Share of the room's own movement in a step that the reading makes."""
    humidity_gain: float
    humidity_follow: float
    temperature_half: float
    """As `temperature_gain`, in half a step."""
    humidity_half: float
    in_return: float
    """1 if it hangs in the return duct."""
    dew_point: float
    """1 if the control reads the dew point, which is not calculated for any other."""
    standby_power: float
    """Of the controls, W."""
    warm_above: float
    """Room temperature from which a minute counts as warm, degC."""
    cool_below: float
    cold_below: float


class LineParameters(NamedTuple):
    """Sensor errors, relays and messages between sensor, control and machines."""

    acts: float
    """1 if anything of it does."""
    tail: float
    """Where in the memory its own floats begin, behind the strategy's."""
    temperature_resolution: float
    """K; 0 for none, as in the next (percent)."""
    humidity_resolution: float
    report_every: float
    """s, as the next two."""
    repeat_every: float
    release_after: float
    enable_on: float
    """Percent."""
    enable_off: float
    enable_cuts: float
    """The bits of `wiring`."""
    late_readings: float
    """Steps, as the next."""
    late_calls: float
    strip_stages: float
    fouled_flow: float
    """Airflow through a fouled coil, of a clean one's."""


class OpeningParameters(NamedTuple):
    """Conditions in which people open windows; an area of 0 means that windows stay shut."""

    area: float
    """m2."""
    stack: float
    """DISCHARGE area sqrt(2 g height), m3/s for a share of 1 of temperature difference over K."""
    low: float
    high: float
    indoor_above: float
    cooler_by: float
    vapor_pressure: float
    """Outdoors, Pa; above it they stay shut."""


class BedroomParameters(NamedTuple):
    """A closed bedroom; a share of 0 means that no bedroom is modeled apart."""

    share: float
    """Of the house's volume."""
    vapor: float
    """Of all sleepers, kg/s."""
    closed_airflow: float
    """m3/s."""
    open_airflow: float
    closed_from: float
    """Hours of the day; past midnight if the second is the smaller."""
    closed_to: float


class StageParameters(NamedTuple):
    """One cooling stage, gross, in the order of a row of the stage table."""

    capacity: float
    input: float
    dry_air: float
    """At rating, kg/s."""
    flow: float
    """Of full flow, 0 to 1."""
    conductance: float
    """A0, kg/s."""
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
    """Entering wet bulb, degF, from which the curves hold."""
    high_wet_bulb: float
    low_outdoor: float
    """Outdoor dry bulb, degF."""
    high_outdoor: float
    low_flow: float
    """Fraction of rated airflow."""
    high_flow: float


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
    """degC."""
    indoor_humidity_ratio: float
    """kg/kg."""
    zone_dry_air: float
    """kg."""
    zone_saturation: float
    """Saturation pressure at the zone's temperature, Pa."""
    fast_temperature: float
    fast_saturation: float
    """Saturation pressure at the fast mass's temperature, Pa."""
    slow_temperature: float
    surface_rh: float
    """Relative humidity with which the surface layer is in balance, 0 to 1."""
    deep_rh: float
    coil_water: float
    """kg."""
    coil_ramp: float
    """Share of its capacity that the compressor has reached since it started."""
    sensed_temperature: float
    sensed_rh: float
    """0 to 1."""
    cooling_stage: float
    cooling_time: float
    """Since the compressor last started or stopped in cooling, s."""
    reheat: float
    """Strip stages on as reheat."""
    backup: float
    """1 if the strips are on as heat."""
    heating_stage: float
    heating_time: float
    dehumidifier: float
    dehumidifier_time: float
    airflow: float
    """Fraction of full flow."""
    frosted: float
    """1 while a frosted coil holds the compressor off."""
    refused: float
    """Bit mask of the reasons for which calls are being refused."""
    apparatus_guess: float
    """Last apparatus dew point, from which the next solve starts, degC."""
    wet_bulb_guess: float
    """Of the zone, at the start of the last step, as above."""
    blower_time: float
    """Since the blower began to move air, s; 0 while it does not."""
    strip_level: float
    """Strip stages that the sequencer has let on; a fraction counts towards the next."""
    limit_temperature: float
    """Of the strips' limit switch, degC."""
    strips_open: float
    """Time that the limit switch stays open at the least, s; 0 while it is closed."""
    humidistat: float
    """1 while the dehumidifier's own humidistat calls."""
    bucket: float
    """Water in the dehumidifier's bucket, kg. Its water has left the house's books."""
    blower_this_hour: float
    """Time that the blower has run in this clock hour, s."""
    duct_space_temperature: float
    """Of the space around the ducts, degC; of no meaning with ducts inside the envelope."""
    duct_space_humidity_ratio: float
    contents_rh: float
    """Of the second store, as of the first."""
    contents_deep_rh: float
    windows_open: float
    """1 while people keep windows open."""
    bedroom_humidity_ratio: float
    """Of a bedroom apart; else the zone's."""
    entering_temperature: float
    """Of the air that the air handler draws, the room's while the blower rests."""
    entering_humidity_ratio: float


class Minute(NamedTuple):
    """Weather, household and faults that drive the house in a step."""

    t_out: float
    w_out: float
    sol_air: float
    sun: float
    """Through the windows, W."""
    pressure: float
    """At the end of the step, Pa."""
    natural: float
    """Infiltration by wind and stack, m3/s."""
    density: float
    """Dry air outdoors, kg/m3."""
    gains: float
    """Sensible, W."""
    moisture: float
    """kg/s."""
    hour: float
    """Of the day, in the middle of the step."""
    month: float
    ground: float
    """Temperature under the floor, degC."""
    roof: float
    """Sol-air temperature of the roof, degC."""
    exhaust: float
    """Of the exhaust fans, m3/s."""
    exhaust_power: float
    """W."""
    ground_vapor: float = 0.0
    """kg/s."""
    construction: float = 0.0
    """Water from new materials, kg/s."""
    opening_wind: float = 0.0
    """Flow by wind through windows while they are open, m3/s."""
    may_open: float = 0.0
    """1 in an hour in which people would open them."""
    occupied: float = 1.0
    blower: float = 1.0
    """Air that the blower moves, of what it should; 0 for one that stands still."""
    welded: float = 0.0
    """1 if the strips' contactor is."""
    dehumidifier_works: float = 1.0
    powered: float = 1.0


class MoistAir(NamedTuple):
    """Moist air in one state."""

    temperature: float
    """degC."""
    humidity_ratio: float
    """kg/kg."""
    enthalpy: float
    """J/kg of dry air."""
