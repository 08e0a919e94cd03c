"""Parameters of the loop from descriptions: the only place where the two meet."""

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.controls import Fault, FouledCoil, LateMessages, Strategy
from moistsim.core.units import Role
from moistsim.engine.division import division
from moistsim.engine.forcing import zone_surfaces, zone_windows
from moistsim.engine.ground import floor_conductance
from moistsim.engine.infiltration import infiltration
from moistsim.engine.records import (
    NEVER,
    AirHandlerParameters,
    BedroomParameters,
    DehumidifierParameters,
    DuctParameters,
    ExhaustParameters,
    LineParameters,
    OpeningParameters,
    Plant,
    SensorParameters,
    StageParameters,
    State,
    VentilationParameters,
    ZoneParameters,
)
from moistsim.engine.window_opening import COOLER_BY, DISCHARGE, GRAVITY
from moistsim.engine.wiring import line_floats
from moistsim.equipment import (
    CUTS,
    FILTER_POWER,
    FILTER_WATER,
    LIMIT_ENTERING,
    MAIN_FLOOR,
    RATED_OUTDOOR,
    RATED_WET_BULB,
    Cooling,
    Dehumidifier,
    Equipment,
    HeatPump,
    RoomHeater,
    SecondSystem,
    Strips,
    System,
    Ventilation,
    ashrae_62_2_rate,
    intermittent_airflow,
)
from moistsim.house import Bedroom, Ducts, House, MoistureStore, WindowOpening

COMFORT_BAND = 1.0
"""How far beyond a setpoint the room counts as too warm, too cool or too cold, K (common practice, no source)."""
SUN_TO_AIR = 0.1
"""Share of the sun through windows that blinds, curtains and light furniture pass on to the air.
ISO 52016-1 has the same default, from memory."""
SUN_TO_FAST = 0.6
"""Share of the sun through windows that furniture, board and floor surface absorb.
The slab and the structure absorb the rest. It is our own round figure."""
GAINS_TO_AIR = 0.5
"""Convective share of sensible gains.
ISO 13790 puts half of the gains on the air, from memory."""
WET_SURFACE_CONDUCTANCE = 2.5e-8
"""Vapor conductance of still air at a surface, kg/(s m2 Pa): Lewis relation at 3.5 W/(m2 K)."""
FILM = 0.2
"""Water that a surface holds before drops run off, kg/m2. Common practice, no source."""
STORE_TEMPERATURE = 24.0
"""Temperature of the penetration depth of the moisture stores, degC."""
SUPPLY_AREA, RETURN_AREA = 0.27, 0.05
"""Area of the supply and the return duct walls over floor area, see `Ducts`."""
DUCT_FILM = 0.12
"""Thermal resistance of the air film around a duct, m2 K/W: 8 W/(m2 K), convection and radiation."""


def store_layers(store: MoistureStore) -> tuple[float, float, float, float]:
    """Water capacity and vapor conductance of the two layers, per m2 of surface.

    Penetration depth of a cycle of period P: d = sqrt(D P / pi), with the moisture diffusivity
    D = permeability x saturation pressure / (density x slope) (Kerestecioglu, Swami & Kamel
    1990). The nodes are in the middle of their layers, so half of each
    layer's resistance separates them.

    Returns
    -------
    tuple
        Surface capacity and deep capacity (kg/m2 per unit of RH), conductance from the air to the
        surface layer and from there to the deep layer (kg/(s m2 Pa)).
    """
    diffusivity = (
        store.permeability
        * air.saturation_pressure(STORE_TEMPERATURE)
        / (store.density * store.sorption_slope)
    )
    surface = min(math.sqrt(diffusivity * store.surface_period / math.pi), store.thickness)
    reach = min(math.sqrt(diffusivity * store.deep_period / math.pi), store.thickness)
    deep = reach - surface if store.deep else 0.0
    per_depth = store.density * store.sorption_slope
    to_surface = 1.0 / (store.coating + 0.5 * surface / store.permeability)
    to_deep = 1.0 / (0.5 * (surface + deep) / store.permeability) if deep > 0.0 else 0.0
    return per_depth * surface, per_depth * deep, to_surface, to_deep


def store_of(store: MoistureStore, plan: float) -> tuple[float, ...]:
    """`store_layers` of a store over a plan, m2: kg per unit of RH, and kg/(s Pa)."""
    area = plan * store.area
    return tuple(area * value for value in store_layers(store))


@lru_cache(maxsize=1)
def _no_store() -> MoistureStore:
    """Store of a house whose contents hold no moisture."""
    return MoistureStore(area=0.0)


def air_weight(conductance: float, air_capacity: float, fast_capacity: float, dt: float) -> float:
    """Weight of a step's end that makes the exchange between two capacities exact.

    With z = G dt (1/C1 + 1/C2) the weight is 1/(1 - exp(-z)) - 1/z: one half for short steps, one
    for a capacity of 0 (exponential fitting of the weighted method, Liniger & Willoughby
    1970, from memory).
    """
    if fast_capacity <= 0.0:
        return 1.0
    z = conductance * dt * (1.0 / air_capacity + 1.0 / fast_capacity)
    if z < 1.0e-4:
        # The difference of two large numbers would lose its digits.
        return 0.5 + z / 12.0
    return 1.0 / -math.expm1(-z) - 1.0 / z


def zone_parameters(house: House, dt: float, second: bool = False) -> ZoneParameters:
    """Parameters of a conditioned zone of the house for steps of `dt` seconds.

    A house of two zones has the infiltration of both in the main zone's parameters. `spaces` divides
    it.

    Parameters
    ----------
    second : bool
        Whether the zone is the second one.
    """
    part, envelope = division(house), house.envelope
    of_area, of_floor = (part.area, part.floor) if second else (1.0 - part.area, 1.0 - part.floor)
    floor, volume = of_area * house.floor_area, of_area * house.volume
    mass = envelope.mass
    surface, deep, to_surface, to_deep = store_of(house.moisture_store, floor)
    contents = store_of(house.contents_store or _no_store(), floor)
    leaks = infiltration(house)
    return ZoneParameters(
        volume=volume,
        light_contents=envelope.light_contents * floor,
        fast_capacity=mass.fast_mass * floor,
        slow_capacity=mass.slow_mass * floor,
        air_to_fast=envelope.surface_film * floor,
        air_weight=air_weight(
            envelope.surface_film * floor,
            volume * air.STANDARD_DENSITY * air.CP_DRY_AIR + envelope.light_contents * floor,
            mass.fast_mass * floor,
            dt,
        ),
        fast_to_slow=envelope.mass_coupling * floor,
        opaque=math.fsum(s.u * s.area for s in zone_surfaces(house, second)),
        windows=math.fsum(w.u * w.area for w in zone_windows(house, second)),
        ground=of_floor * floor_conductance(house),
        sun_to_air=SUN_TO_AIR,
        # Without a slow mass the fast mass absorbs all the sun that the air does not.
        sun_to_fast=SUN_TO_FAST if mass.slow_mass > 0.0 else 1.0 - SUN_TO_AIR,
        gains_to_air=GAINS_TO_AIR,
        stack=0.0 if second else leaks.stack,
        leakage_exponent=leaks.exponent,
        surface_store=surface,
        deep_store=deep,
        air_to_surface=to_surface,
        surface_to_deep=to_deep,
        condensing=WET_SURFACE_CONDUCTANCE * 3.0 * floor,
        film_limit=FILM * 3.0 * floor,
        contents_store=contents[0],
        contents_deep_store=contents[1],
        air_to_contents=contents[2],
        contents_to_deep=contents[3],
    )


def opening_parameters(opening: WindowOpening | None) -> OpeningParameters:
    """Conditions for opening windows; all zero in a house where windows stay shut."""
    if opening is None:
        return OpeningParameters(*(0.0 for _ in OpeningParameters._fields))
    habit, dry = opening.rule == "habit", opening.rule == "dew point"
    return OpeningParameters(
        area=opening.area,
        stack=DISCHARGE * opening.area * math.sqrt(2.0 * GRAVITY * opening.height),
        low=opening.low,
        high=opening.high,
        indoor_above=-NEVER if habit else opening.indoor_above,
        cooler_by=-NEVER if habit else COOLER_BY,
        vapor_pressure=air.saturation_pressure(opening.dew_point) if dry else NEVER,
    )


def bedroom_parameters(bedroom: Bedroom | None, house: House) -> BedroomParameters:
    """Parameters of a separate bedroom; all zero without one."""
    if bedroom is None:
        return BedroomParameters(*(0.0 for _ in BedroomParameters._fields))
    return BedroomParameters(
        bedroom.floor_area / house.floor_area,
        bedroom.sleepers * bedroom.vapor,
        bedroom.closed_airflow,
        bedroom.open_airflow,
        *bedroom.closed_hours,
    )


def ventilation_parameters(
    ventilation: Ventilation | None, house: House, fan_airflow: float = 1.0
) -> VentilationParameters:
    """Flows, recovery and lockouts of the ventilation; without one, no flow.

    A central duct without an airflow is sized for the blower's airflow in circulation.
    """
    if ventilation is None:
        none = VentilationParameters(*(0.0 for _ in VentilationParameters._fields))
        # Without ventilation the meter must count no lockout hours.
        return none._replace(
            lockout_vapor_pressure=NEVER, lockout_above=NEVER, lockout_below=-NEVER
        )
    balanced, central = (ventilation.kind == kind for kind in ("balanced", "central"))
    flow = ventilation.airflow
    if flow is None:
        flow = ashrae_62_2_rate(house.floor_area, house.bedrooms)
        if ventilation.least_run > 0.0:
            flow = intermittent_airflow(flow, ventilation.least_run / 3600.0, 3600.0, house.volume)
            if central:
                flow /= fan_airflow
    # Only a fan in the incoming air heats the house.
    fan_heat = {"exhaust": 0.0, "supply": 1.0, "balanced": 0.5, "central": 1.0}[ventilation.kind]
    dew_point, above, below = (
        ventilation.lockout_dew_point, ventilation.lockout_above, ventilation.lockout_below,
    )  # fmt: skip
    return VentilationParameters(
        balanced=flow if balanced else 0.0,
        unbalanced=0.0 if balanced else flow,
        sensible_recovery=ventilation.sensible_recovery,
        latent_recovery=ventilation.latent_recovery,
        fan_power=ventilation.fan_power * flow,
        fan_heat=fan_heat,
        supply=float(ventilation.kind in ("supply", "central")),
        central=float(central),
        least_run=ventilation.least_run,
        frost_limit=-NEVER if ventilation.frost_limit is None else ventilation.frost_limit,
        frost_bypass=float(ventilation.frost_control == "bypass"),
        frost_rests=float(ventilation.frost_control == "supply rests"),
        lockout_vapor_pressure=NEVER if dew_point is None else air.saturation_pressure(dew_point),
        lockout_above=NEVER if above is None else above,
        lockout_below=-NEVER if below is None else below,
    )


def exhaust_parameters(house: House) -> ExhaustParameters:
    """Airflows, then powers, of the exhaust fans; zero for absent fans."""
    flows = [fan.airflow if fan else 0.0 for fan in house.exhausts.fans]
    powers = [fan.airflow * fan.fan_power if fan else 0.0 for fan in house.exhausts.fans]
    return ExhaustParameters(*flows, *powers)


def duct_parameters(house: House, ducts: Ducts, floor_area: float) -> DuctParameters:
    """Parameters of ducts in one of the spaces next to the house, or inside.

    Parameters
    ----------
    floor_area : float
        Floor area that the ducts serve, m2.
    """
    if ducts.location == "inside":
        nothing = dict.fromkeys(DuctParameters._fields, 0.0)
        return DuctParameters(**{**nothing, "closed_doors": ducts.closed_door_flow})
    supply, back = (
        share * floor_area if area is None else area
        for area, share in (
            (ducts.supply_area, SUPPLY_AREA), (ducts.return_area, RETURN_AREA),
        )
    )  # fmt: skip
    return DuctParameters(
        outside=1.0,
        space=float(house.spaces.index(ducts.location.replace(" ", "_"))),
        supply_leak=ducts.supply_leakage,
        return_leak=ducts.return_leakage,
        supply_walls=supply / ducts.insulation,
        return_walls=back / ducts.insulation,
        film_share=min(DUCT_FILM / ducts.insulation, 1.0),
        sweating=WET_SURFACE_CONDUCTANCE * supply,
        closed_doors=ducts.closed_door_flow,
    )


def stage_table(cooling: Cooling | None) -> NDArray[np.float64]:
    """Stage table, one row of `StageParameters` a stage; its curves are 1 at the rating point."""
    if cooling is None:
        return np.zeros((0, len(StageParameters._fields)))
    rows = []
    for number, stage in enumerate(cooling.stages):
        rating, curves = cooling.gross_rating(number), cooling.curves(number)
        point = (RATED_WET_BULB, RATED_OUTDOOR)
        capacity = np.array(curves.capacity) / curves.capacity.at(*point)
        input_ratio = np.array(curves.input_ratio) / curves.input_ratio.at(*point)
        rows.append(
            [
                rating.capacity,
                rating.input,
                rating.dry_air,
                stage.airflow / cooling.full_airflow,
                -rating.dry_air * math.log(rating.bypass_factor),
                *capacity,
                *input_ratio,
                *(np.array(curves.capacity_by_flow) / sum(curves.capacity_by_flow)),
                *(np.array(curves.input_ratio_by_flow) / sum(curves.input_ratio_by_flow)),
                *curves.wet_bulb,
                *curves.outdoor,
                *curves.flow,
            ]
        )
    return np.array(rows, dtype=float)


def heat_pump_parameters(heating: HeatPump | None) -> dict[str, float]:
    """Straight lines of the heat pump's capacity and COP from 8.3 to -8.3 degC."""
    if heating is None:
        return dict.fromkeys(
            (
                "heat_capacity",
                "heat_capacity_slope",
                "heat_cop",
                "heat_cop_slope",
                "heat_low_limit",
                "backup_lockout",
                "defrost_capacity",
                "defrost_input",
            ),
            0.0,
        )
    between = (47.0 - 17.0) / 1.8
    return {
        "heat_capacity": heating.capacity,
        "heat_capacity_slope": (1.0 - heating.cold_capacity_ratio) / between,
        "heat_cop": heating.cop,
        "heat_cop_slope": (heating.cop - heating.cold_cop) / between,
        "heat_low_limit": heating.low_outdoor_limit,
        "backup_lockout": NEVER if heating.backup_lockout is None else heating.backup_lockout,
        "defrost_capacity": heating.defrost_capacity,
        "defrost_input": heating.defrost_input,
    }


def strip_parameters(strips: Strips | None) -> dict[str, float]:
    """Parameters of the strips without their powers, which have an array of their own."""
    names = [name for name in AirHandlerParameters._fields if name.startswith(("strip", "lockout"))]
    if strips is None:
        return dict.fromkeys(names, 0.0)
    start, end = strips.lockout_hours or (0.0, 0.0)
    return {
        "strip_stages": float(len(strips.stages)),
        "strip_least_flow": strips.least_airflow * air.STANDARD_DENSITY,
        "strip_proportional": float(strips.proportional),
        "strip_stage_delay": strips.stage_delay,
        "strip_proof_time": strips.proof_time,
        "strip_limit": strips.limit_temperature,
        "strip_limit_rise": strips.limit_temperature - LIMIT_ENTERING,
        "strip_reset_time": strips.reset_time,
        "lockout_start": start,
        "lockout_end": end,
        "lockout_first": strips.lockout_months[0],
        "lockout_last": strips.lockout_months[1] + 1.0,
    }


def heating_fan_off_delay(machines: System, heater: RoomHeater | None) -> float:
    """Time that the blower runs on after heating, s; 0 with a room heater, which has none."""
    if heater is not None:
        return 0.0
    assert machines.cooling is not None
    return (machines.furnace or machines.cooling).fan_off_delay


def room_heater_parameters(heater: RoomHeater | None) -> dict[str, float]:
    """Heat of a room heater to the room, and what it draws and burns; all zero without one."""
    if heater is None:
        return dict.fromkeys(("room_heater", "room_heater_power", "room_heater_gas"), 0.0)
    drawn = heater.capacity / heater.efficiency
    burns = heater.fuel == "gas"
    return {
        "room_heater": heater.capacity,
        "room_heater_power": 0.0 if burns else drawn,
        "room_heater_gas": drawn if burns else 0.0,
    }


def air_handler_parameters(machines: System) -> AirHandlerParameters:
    """Parameters of all machines that cool and heat; without air conditioner, of a room heater."""
    cooling, furnace, hot_gas = machines.cooling, machines.furnace, machines.hot_gas
    heater = machines.room_heater if isinstance(machines, Equipment) else None
    if cooling is None:
        none = AirHandlerParameters(*(0.0 for _ in AirHandlerParameters._fields))
        return none._replace(**room_heater_parameters(heater))
    top = cooling.gross_rating(len(cooling.stages) - 1)
    return AirHandlerParameters(
        stages=float(len(cooling.stages)),
        full_flow=cooling.full_airflow * air.STANDARD_DENSITY,
        fan_power=cooling.fan_watts(cooling.full_airflow),
        minimum_on=cooling.minimum_on,
        minimum_off=cooling.minimum_off,
        low_outdoor_limit=cooling.low_outdoor_limit,
        frost_limit=cooling.frost_limit,
        start_up_time=cooling.start_up_time,
        water_held=cooling.water_held * cooling.coil_face_area,
        coil_conductance=-top.dry_air * math.log(top.bypass_factor),
        crankcase_heat=cooling.crankcase_heat,
        fan_off_delay=cooling.fan_off_delay,
        heating_fan_off_delay=heating_fan_off_delay(machines, heater),
        fan_airflow=cooling.fan_airflow,
        idle_airflow=cooling.fan_airflow if cooling.fan == "on" else 0.0,
        circulation=cooling.circulation if cooling.fan == "circulation" else 0.0,
        # A smaller drift carries nothing in a season, and divisions by it overflow.
        off_cycle_airflow=cooling.off_cycle_airflow if cooling.off_cycle_airflow > 1e-9 else 0.0,
        defrost_time=cooling.defrost_time,
        changeover_delay=cooling.changeover_delay,
        furnace_capacity=furnace.capacity if furnace else 0.0,
        furnace_efficiency=furnace.efficiency if furnace else 0.0,
        furnace_flow=furnace.airflow if furnace else 0.0,
        **room_heater_parameters(heater),
        hot_gas_share=hot_gas.share if hot_gas else 0.0,
        hot_gas_capacity=hot_gas.capacity_ratio if hot_gas else 0.0,
        hot_gas_input=hot_gas.input_ratio if hot_gas else 0.0,
        **strip_parameters(machines.strips),
        **heat_pump_parameters(machines.heating),
        variable=1.0 if cooling.modulation == "variable" else 0.0,
        fan_cubed=1.0 if cooling.fan_law == "cubed" else 0.0,
    )


def dehumidifier_parameters(dehumidifier: Dehumidifier | None) -> DehumidifierParameters:
    """Parameters of a dehumidifier; all zero without one."""
    if dehumidifier is None:
        return DehumidifierParameters(*(0.0 for _ in DehumidifierParameters._fields))
    water, power = dehumidifier.at_normal_point()
    clean = dehumidifier.filter_factor
    half = 0.5 * dehumidifier.deadband
    setpoint = dehumidifier.humidistat
    return DehumidifierParameters(
        water=water * clean**FILTER_WATER,
        power=power * clean**FILTER_POWER,
        flow=dehumidifier.airflow * clean * air.STANDARD_DENSITY,
        standby_power=dehumidifier.standby_power + dehumidifier.off_cycle_fan_power,
        minimum_on=dehumidifier.minimum_on,
        minimum_off=dehumidifier.minimum_off,
        low_inlet_limit=dehumidifier.low_inlet_limit,
        pump_power=dehumidifier.pump_power,
        from_outdoors=float(dehumidifier.inlet == "outdoors"),
        from_ventilation=float(dehumidifier.inlet == "ventilation"),
        defrost_below=-NEVER if dehumidifier.defrost_below is None else dehumidifier.defrost_below,
        bucket=0.0 if dehumidifier.bucket is None else dehumidifier.bucket,
        emptied_at=dehumidifier.emptied_at,
        humidistat_on=0.0 if setpoint is None else 0.01 * (setpoint + half),
        humidistat_off=0.0 if setpoint is None else 0.01 * (setpoint - half),
    )


def sensor_parameters(machines: System, strategy: Strategy, dt: float) -> SensorParameters:
    """Sensor lags as the share of the gap closed in a step, and limits of comfort."""

    def gain(lag: float, time: float = dt) -> float:
        return 1.0 - math.exp(-time / lag) if lag > 0.0 else 1.0

    def follow(lag: float) -> float:
        """Exact share of a ramp that a first-order lag follows: 1 - gain x lag / dt."""
        return 1.0 - gain(lag) * lag / dt

    # The duct's air jumps with the blower, so the sensor has no straight line to follow.
    in_return = float(machines.sensor.place == "return")
    mixing = machines.sensor.mixing_time
    cooling = strategy.setpoint(Role.COOLING)
    heating = strategy.setpoint(Role.HEATING)
    return SensorParameters(
        wall_share=machines.sensor.wall_share,
        mixing_gain=gain(mixing),
        mixing_follow=follow(mixing),
        temperature_gain=gain(machines.sensor.temperature_lag),
        temperature_follow=follow(machines.sensor.temperature_lag) * (1.0 - in_return),
        humidity_gain=gain(machines.sensor.humidity_lag),
        humidity_follow=follow(machines.sensor.humidity_lag) * (1.0 - in_return),
        temperature_half=gain(machines.sensor.temperature_lag, 0.5 * dt),
        humidity_half=gain(machines.sensor.humidity_lag, 0.5 * dt),
        in_return=in_return,
        in_second=float(machines.sensor.zone != MAIN_FLOOR),
        dew_point=float(strategy.reads_dew_point),
        standby_power=machines.standby_power,
        warm_above=NEVER if cooling is None else cooling + COMFORT_BAND,
        cool_below=-NEVER if cooling is None else cooling - COMFORT_BAND,
        cold_below=-NEVER if heating is None else heating - COMFORT_BAND,
    )


def late_steps(faults: Sequence[Fault], link: str, dt: float) -> int:
    """Delay of late messages of a link, steps."""
    late = [f.by for f in faults if isinstance(f, LateMessages) and f.link == link]
    return max(round(max(late, default=0.0) / dt), 1) if late else 0


def line_parameters(
    machines: Equipment, strategy: Strategy, faults: Sequence[Fault], dt: float
) -> LineParameters:
    """Parameters of sensor errors, relays, messages and enable.

    With exact sensors, plain wires and no fault, `acts` is 0.
    """
    sensor, relays, enable = machines.sensor, machines.relays, machines.enable
    rounds = max(sensor.temperature_resolution, sensor.humidity_resolution, sensor.report_every)
    # Relays matter only where a message may be lost.
    acts = bool(sensor.errs or rounds > 0.0 or machines.outdoor_sensor or enable or faults)
    fouled = [f.airflow for f in faults if isinstance(f, FouledCoil)]
    return LineParameters(
        acts=float(acts),
        tail=float(strategy.memory_size),
        temperature_resolution=sensor.temperature_resolution,
        humidity_resolution=sensor.humidity_resolution,
        report_every=sensor.report_every,
        repeat_every=relays.repeat_every if relays.repeat_every > 0.0 else NEVER * 1.0e6,
        release_after=NEVER * 1.0e6 if relays.release_after is None else relays.release_after,
        enable_on=enable.on_above if enable else 0.0,
        enable_off=enable.off_below if enable else 0.0,
        enable_cuts=float(sum(1 << CUTS.index(word) for word in enable.cuts)) if enable else 0.0,
        late_readings=float(late_steps(faults, "readings", dt)),
        late_calls=float(late_steps(faults, "calls", dt)),
        strip_stages=float(len(machines.strips.stages)) if machines.strips else 0.0,
        fouled_flow=fouled[0] if fouled else 1.0,
    )


def memory(plant: Plant, second: int = 0) -> NDArray[np.float64]:
    """Memory of the strategy at the start, all zero, with the line's own behind it.

    Parameters
    ----------
    second : int
        Floats of a second thermostat's or a second system's control, which come last.
    """
    line = plant.line
    own = line_floats(int(line.late_readings), int(line.late_calls)) if line.acts else 0
    return np.zeros(int(line.tail) + own + second)


def plant(
    house: House,
    machines: Equipment,
    strategy: Strategy,
    dt: float,
    faults: Sequence[Fault] = (),
) -> Plant:
    """All parameters of a run."""
    return Plant(
        zone=zone_parameters(house, dt),
        ventilation=ventilation_parameters(
            machines.ventilation, house, machines.cooling.fan_airflow if machines.cooling else 1.0
        ),
        unit=air_handler_parameters(machines),
        dehumidifier=dehumidifier_parameters(machines.dehumidifier),
        sensor=sensor_parameters(machines, strategy, dt),
        ducts=duct_parameters(
            house, house.ducts, (1.0 - part_served_by_second(house, machines)) * house.floor_area
        ),
        exhausts=exhaust_parameters(house),
        opening=opening_parameters(house.window_opening),
        bedroom=bedroom_parameters(house.bedroom, house),
        line=line_parameters(machines, strategy, faults, dt),
    )


def part_served_by_second(house: House, machines: Equipment) -> float:
    """Share of the floor area that a second system serves; 0 without one."""
    return division(house).area if machines.second_system is not None else 0.0


def second_plant(house: House, machines: SecondSystem, strategy: Strategy, dt: float) -> Plant:
    """Parameters of a second system, with the second zone in place of the house's.

    It has no ventilation, exhaust fans, open windows or bedroom: those are the house's.

    Parameters
    ----------
    strategy : Strategy
        Control of the second system.
    """
    zone = house.second_zone
    assert zone is not None
    return Plant(
        zone=zone_parameters(house, dt, second=True),
        ventilation=ventilation_parameters(None, house),
        unit=air_handler_parameters(machines),
        dehumidifier=dehumidifier_parameters(machines.dehumidifier),
        sensor=sensor_parameters(machines, strategy, dt),
        ducts=duct_parameters(
            house, zone.ducts or house.ducts, division(house).area * house.floor_area
        ),
        exhausts=ExhaustParameters(*(0.0 for _ in ExhaustParameters._fields)),
        opening=opening_parameters(None),
        bedroom=bedroom_parameters(None, house),
        line=LineParameters(*(0.0 for _ in LineParameters._fields))._replace(
            tail=float(strategy.memory_size)
        ),
    )


def initial_state(
    parameters: Plant,
    temperature: float,
    rh: float,
    pressure: float,
    mass: float | None = None,
    surface_rh: float | None = None,
    deep_rh: float | None = None,
) -> NDArray[np.float64]:
    """State after a long off time.

    Parameters
    ----------
    temperature, rh : float
        Dry bulb, degC, and relative humidity, 0 to 1, of the air.
    pressure : float
        Air pressure, Pa.
    mass : float, optional
        Temperature of both masses, degC; default: that of the air.
    surface_rh, deep_rh : float, optional
        Relative humidity of the layers of both stores, 0 to 1; default: that of the air.
    """
    mass = temperature if mass is None else mass
    surface_rh = rh if surface_rh is None else surface_rh
    deep_rh = rh if deep_rh is None else deep_rh
    w = air.humidity_ratio_at(temperature, rh, pressure)
    long_ago = 86400.0
    state = State(
        indoor_temperature=temperature,
        indoor_humidity_ratio=w,
        zone_dry_air=parameters.zone.volume * air.dry_air_density(temperature, w, pressure),
        fast_temperature=mass,
        fast_saturation=air.saturation_pressure(mass),
        slow_temperature=mass,
        surface_rh=surface_rh,
        deep_rh=deep_rh,
        coil_water=0.0,
        coil_ramp=0.0,
        near_temperature=temperature,
        near_humidity_ratio=w,
        sensed_temperature=temperature,
        sensed_humidity_ratio=w,
        cooling_stage=0.0,
        cooling_time=long_ago,
        reheat=0.0,
        backup=0.0,
        heating_stage=0.0,
        heating_time=long_ago,
        dehumidifier=0.0,
        dehumidifier_time=long_ago,
        airflow=0.0,
        frosted=0.0,
        refused=0.0,
        apparatus_guess=10.0,
        wet_bulb_guess=17.0,
        blower_time=0.0,
        strip_level=0.0,
        limit_temperature=temperature,
        strips_open=0.0,
        humidistat=0.0,
        bucket=0.0,
        blower_this_hour=0.0,
        contents_rh=surface_rh,
        contents_deep_rh=deep_rh,
        windows_open=0.0,
        bedroom_humidity_ratio=w,
        entering_temperature=temperature,
        entering_humidity_ratio=w,
        film=0.0,
    )
    return np.array(state, dtype=float)
