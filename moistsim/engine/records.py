"""The named tuples of floats that the compiled loop is made of.

`State` is all that a run carries from one step to the next; `Step` is all that a step is metered
by. numba needs both in an importable module for its cache to hold.
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
    """Flows in m3/s."""

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
    """The blower and all that stands in its air stream, times in s, powers in W."""

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
    """A dehumidifier, its filter as it is; a rate of 0 means that there is none."""

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
    """What the controls sense with, what they draw, and what comfort is measured against."""

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
    standby_power: float
    """Of the controls, W."""
    warm_above: float
    """Room temperature from which a minute counts as warm, degC."""
    cool_below: float
    cold_below: float


class LineParameters(NamedTuple):
    """What stands between the sensor and the control, and between the control and the machines."""

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


class StageParameters(NamedTuple):
    """One cooling stage, gross; the order is that of a row of the stage table."""

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


class Step(NamedTuple):
    """What one step is metered by: means over the step, in SI, rates per second.

    The name says how an hour adds it up (see `hourly_columns.COLUMNS`). Flows into the zone are positive.
    Behind what every step has stand groups that most steps have nothing of (see `Working`).
    """

    # The room and what is around it; time in states (1 or 0), and RH above a mark (integral).
    indoor_temperature: float
    indoor_humidity_ratio: float
    indoor_rh: float
    sensed_temperature: float
    sensed_rh: float
    outdoor_temperature: float
    outdoor_humidity_ratio: float
    above_50: float
    above_55: float
    above_60: float
    above_65: float
    rh_over_55: float
    rh_over_60: float
    warm: float
    cool: float
    cold: float
    supply_temperature: float
    entering_temperature: float
    """Of the air that enters the air handler, degC; the room's while the blower rests."""
    duct_space_temperature: float
    """Around the ducts, degC; the room's for ducts inside the envelope."""
    occupied: float
    bedroom_rh: float
    """0 to 1; the zone's where there is no bedroom apart."""
    bedroom_above_60: float
    off_curve: float
    # Electricity, W.
    ventilation_fan: float
    standby: float
    # Dry air, kg/s; outdoor air that fans brought, m3/s.
    air_infiltration: float
    air_ventilation: float
    air_out: float
    ventilation_volume: float
    # Water, kg/s.
    water_infiltration: float
    water_ventilation: float
    water_out: float
    water_gains: float
    water_stored: float
    water_stored_deep: float
    # Heat, W.
    heat_infiltration: float
    heat_ventilation: float
    heat_out: float
    heat_opaque: float
    heat_windows: float
    heat_sun: float
    heat_ground: float
    heat_gains: float
    heat_moisture: float
    heat_ventilation_fan: float
    heat_standby: float
    heat_pressure: float
    heat_stored: float
    heat_stored_deep: float
    # The cooling coil, and the blower for whatever it runs.
    cooling_stage: float
    fan_on: float
    airflow: float
    dry_coil: float
    frost: float
    compressor: float
    indoor_fan: float
    water_coil: float
    water_reevaporated: float
    water_drained: float
    heat_refrigerant: float
    heat_drained: float
    coil_total: float
    coil_sensible: float
    # What heats: strips, heat pump, furnace, hot gas.
    reheat_stage: float
    heating_stage: float
    reheat_on: float
    heat_pump_on: float
    backup_on: float
    strips_start: float
    heat_pump_start: float
    reheat: float
    backup_heat: float
    heat_pump: float
    heat_heat_pump: float
    hot_gas_on: float
    furnace_on: float
    furnace_start: float
    strip_trip: float
    strip_rise: float
    """Of the air across the strips, K."""
    gas: float
    """Burnt in the furnace, W."""
    heat_furnace: float
    heat_hot_gas: float
    strips_without_air: float
    """Share of the step with strips on in air that does not move."""
    fighting: float
    """1 while strips heat against a compressor that cools, in a room that is dry or warm."""
    # The dehumidifier.
    dehumidifier_on: float
    dehumidifier_start: float
    dehumidifier: float
    water_dehumidifier: float
    water_dehumidifier_straight: float
    """What of it came with the ventilation and never met the room."""
    heat_dehumidifier_drain: float
    dehumidifier_defrost: float
    bucket_full: float
    # Ducts outside the envelope: air, kg/s, water, kg/s, and heat, W.
    air_return_leak: float
    """Into the return ducts, from the space around them."""
    air_supply_leak: float
    """Out of the supply ducts."""
    water_return_leak: float
    water_supply_leak: float
    heat_return_leak: float
    heat_supply_leak: float
    heat_duct_walls: float
    # Water on surfaces, a second store, vapor that no household makes, windows that people open, ventilation locked out.
    ventilation_locked: float
    water_contents: float
    water_contents_deep: float
    water_ground: float
    water_construction: float
    heat_ground_vapor: float
    heat_construction: float
    air_opening: float
    water_opening: float
    heat_opening: float
    windows_open: float
    water_surfaces: float
    heat_surfaces: float
    # Calls refused: 1 in the step in which a refusal begins.
    refused_minimum_time: float
    refused_outdoor_cold: float
    refused_coil_frost: float
    refused_heat_against_cool: float
    refused_reheat_alone: float
    refused_low_airflow: float
    refused_dehumidifier_cold: float
    refused_not_installed: float
    refused_strips_tripped: float
    refused_strips_locked_out: float
    refused_bucket_full: float
    refused_room_hot: float


REFUSALS = tuple(name for name in Step._fields if name.startswith("refused_"))
"""Reasons in the order of their bits in `State.refused`."""


class Working(NamedTuple):
    """Which groups of `Step` a step may have anything of; a test holds that the others are zero."""

    coil: bool
    heat: bool
    dryer: bool
    ducts: bool
    vapor: bool
    refused: bool


FIRST_OF_GROUP = (
    "cooling_stage", "reheat_stage", "dehumidifier_on", "air_return_leak", "ventilation_locked",
    REFUSALS[0],
)  # fmt: skip
"""First field of `Step` in each group, in the order of `Working`."""
