"""Every item of a description matters: without it the season's kWh or water is another."""

from collections.abc import Callable
from typing import Any, NamedTuple

import attrs
import pytest
from support.houses import house
from support.machines import machines, two_stage
from support.weathers import stretch

import moistsim as ms

LEAST = 2e-5
"""Change of kWh, or of water removed, from which an item is taken to matter."""


@ms.strategy
def fan_always_on(
    readings: Any, memory: Any, *, cooling_setpoint: ms.units.CoolingSetpoint = 24.5
) -> Any:
    """A thermostat whose fan runs over the idle coil."""
    if readings.temperature > cooling_setpoint + 0.5:
        memory[0] = 1.0
    elif readings.temperature < cooling_setpoint - 0.5:
        memory[0] = 0.0
    return ms.Calls(cooling=memory[0], fan=1.0, airflow=1.0)


@ms.strategy
def strips_by_share(
    readings: Any, memory: Any, *, cooling_setpoint: ms.units.CoolingSetpoint = 24.5
) -> Any:
    """Dries all the time and holds the room by a share of the strips."""
    share = min(max(cooling_setpoint - readings.temperature, 0.0), 1.0)
    return ms.Calls(cooling=1.0, reheat=2.0 * share)


@ms.strategy
def strips_by_the_clock(readings: Any, memory: Any) -> Any:
    """Half of each hour cools, with both strips."""
    on = 1.0 if readings.hour % 1.0 < 0.5 else 0.0
    return ms.Calls(cooling=on, reheat=2.0 * on)


@ms.strategy
def no_deadband(readings: Any, memory: Any, *, point: ms.units.DegC = 22.0) -> Any:
    """Heats below a point and cools above it."""
    warm = readings.temperature > point
    return ms.Calls(cooling=1.0 if warm else 0.0, heating=0.0 if warm else 1.0)


class Setting(NamedTuple):
    """Where an item is looked at: three weeks of a place and a control that uses it."""

    strategy: ms.Strategy
    place: str
    first: int


BUILT_IN = ms.strategies.BUILT_IN
SUMMER = Setting(BUILT_IN["temperature_only"], "miami", 190)
SPRING = Setting(BUILT_IN["temperature_only"], "greensboro", 120)
WINTER = Setting(BUILT_IN["temperature_only"], "sand_point", 8)
REHEAT = Setting(BUILT_IN["staged_reheat"](target_rh=50), "miami", 190)
DRYING = Setting(BUILT_IN["with_dehumidifier"](target_rh=50), "greensboro", 190)
FAN_ON = Setting(fan_always_on, "miami", 190)
HOT_GAS = Setting(BUILT_IN["hot_gas_reheat"], "miami", 190)
BOTH_STRIPS = Setting(strips_by_the_clock, "miami", 340)
PROPORTIONAL = Setting(strips_by_share, "miami", 340)
CHANGEOVER = Setting(no_deadband, "greensboro", 100)

Case = tuple[ms.House, ms.Equipment]


def envelope(**changes: Any) -> Callable[[Case], Case]:
    """Change the envelope."""
    return lambda case: (
        attrs.evolve(case[0], envelope=attrs.evolve(case[0].envelope, **changes)), case[1]
    )  # fmt: skip


def glass(**changes: float) -> Callable[[Case], Case]:
    """Change the window-to-wall ratio of some walls."""
    return lambda case: envelope(
        window_to_wall_ratio=attrs.evolve(case[0].envelope.window_to_wall_ratio, **changes)
    )(case)


def skin(windows: int) -> Callable[[Case], Case]:
    """Another envelope, of one wall and some windows to the south."""
    surfaces = [ms.Surface(area=200.0, u=0.4)]
    glass = [ms.Window(area=10.0, azimuth=180.0)] * windows
    return lambda case: (
        attrs.evolve(case[0], envelope=ms.Envelope(surfaces=surfaces, windows=glass)), case[1]
    )  # fmt: skip


def ground(**changes: Any) -> Callable[[Case], Case]:
    """Change the soil below the house."""
    return lambda case: envelope(ground=attrs.evolve(case[0].envelope.ground, **changes))(case)


def space(name: str, kind: Any, **fields: Any) -> Callable[..., Callable[[Case], Case]]:
    """A house with a space next to it, and changes of the space."""
    return lambda **changes: rooms(**{name: kind(**{**fields, **changes})})


crawl = space("crawl_space", ms.CrawlSpace)
cellar = space("basement", ms.Basement)
attic = space("attic", ms.Attic)
garage = space("garage", ms.Garage)


def wing(**changes: Any) -> Callable[[Case], Case]:
    """A house of which a wing is a zone."""
    return rooms(second_zone=ms.SecondZone(**{"kind": "wing", "share": 0.4, **changes}))


def upstairs(**changes: Any) -> Callable[[Case], Case]:
    """A house of two stories whose upper floor is a zone."""
    return rooms(stories=2, second_zone=ms.SecondZone(**changes))


def zoned(**changes: Any) -> Callable[[Case], Case]:
    """A wing whose sun and people are its own, with a thermostat and dampers in each zone."""
    return lambda case: equipment(zoning=ms.Zoning(**changes))(wing(gains_share=0.9)(case))


def two_systems(**changes: Any) -> Callable[[Case], Case]:
    """A wing with a system of its own, and changes of the wing."""
    own = ms.SecondSystem(cooling=ms.Cooling(stages=[ms.Stage(capacity="15000 Btu/h")]))
    return lambda case: equipment(second_system=own)(wing(gains_share=0.9, **changes)(case))


DRYER = ms.Dehumidifier(capacity="50 pint/day", humidistat=50)
GROUND = ms.Ground(mean_temperature=18.0, amplitude=12.0, coldest_day=20.0)


def gains(**changes: Any) -> Callable[[Case], Case]:
    """Change what people do."""
    return lambda case: (
        attrs.evolve(case[0], gains=attrs.evolve(case[0].gains, **changes)), case[1]
    )  # fmt: skip


def store(**changes: Any) -> Callable[[Case], Case]:
    """Change what materials hold."""
    return lambda case: (
        attrs.evolve(case[0], moisture_store=attrs.evolve(case[0].moisture_store, **changes)),
        case[1],
    )


def rooms(**changes: Any) -> Callable[[Case], Case]:
    """Change the house itself."""
    return lambda case: (attrs.evolve(case[0], **changes), case[1])


def equipment(**changes: Any) -> Callable[[Case], Case]:
    """Leave a machine out, or change the equipment itself."""
    return lambda case: (case[0], attrs.evolve(case[1], **changes))


def machine(part: str, **changes: Any) -> Callable[[Case], Case]:
    """Change one machine."""
    return lambda case: (
        case[0],
        attrs.evolve(case[1], **{part: attrs.evolve(getattr(case[1], part), **changes)}),
    )


def recovering(case: Case) -> Case:
    """Balanced ventilation with recovery of heat and vapor."""
    ventilation = ms.Ventilation(kind="balanced", sensible_recovery=0.7, latent_recovery=0.5)
    return case[0], attrs.evolve(case[1], ventilation=ventilation)


def frosting(case: Case) -> Case:
    """Recovery whose core is often too cold."""
    ventilation = ms.Ventilation(kind="balanced", sensible_recovery=0.7, frost_limit=5.0)
    return case[0], attrs.evolve(case[1], ventilation=ventilation)


def central(case: Case) -> Case:
    """A duct to the return, and the blower for it twenty minutes an hour."""
    ventilation = ms.Ventilation(kind="central", airflow=0.1, least_run="20 min")
    return case[0], attrs.evolve(case[1], ventilation=ventilation)


def gas(case: Case) -> Case:
    """A furnace in the place of the heat pump."""
    furnace = ms.Furnace(capacity="40000 Btu/h")
    return case[0], attrs.evolve(case[1], heating=None, furnace=furnace)


def baseboard(case: Case) -> Case:
    """An electric baseboard in the place of the heat pump."""
    heater = ms.RoomHeater(capacity="9 kW")
    return case[0], attrs.evolve(case[1], heating=None, room_heater=heater)


def leaks(**changes: Any) -> Callable[[Case], Case]:
    """Where a house of 2 changes an hour at 50 Pa leaks, and by which model."""
    return rooms(leakage=ms.Leakage(**changes))


def ducts(**changes: Any) -> Callable[[Case], Case]:
    """Ducts in the attic."""
    return rooms(ducts=ms.Ducts(**{"location": "attic", **changes}))


def fan(name: str = "dryer", **changes: Any) -> Callable[[Case], Case]:
    """One exhaust fan."""
    described = ms.ExhaustFan(**{"airflow": "150 cfm", "runtime": "2 h", **changes})
    return rooms(exhausts=ms.Exhausts(**{name: described}))


def fixed_moisture(case: Case) -> Case:
    """Household moisture given as a rate, so that the number of people is heat alone."""
    return gains(moisture="6 kg/day")(case)


ERRING = equipment(
    sensor=ms.Sensor(
        temperature_offset=0.5, humidity_offset=2.0, temperature_drift=0.5, humidity_drift=5.0,
        temperature_noise=0.2, humidity_noise=1.5, temperature_resolution=0.5,
        humidity_resolution=2.0, report_every="4 min",
    )
)  # fmt: skip
SAME: Callable[[Case], Case] = lambda case: case  # noqa: E731 - an identity among changes

ITEMS: dict[str, tuple[Setting, Callable[[Case], Case], Callable[[Case], Case]]] = {
    # name: where, the case with the item, the item set to zero (or left out) in it.
    "infiltration": (SUMMER, SAME, rooms(ach50=0.0)),
    "wind (densest shelter for none)": (SUMMER, rooms(shelter=1), rooms(shelter=5)),
    "stack (leaks of one story for three)": (WINTER, rooms(stories=3), rooms(stories=1)),
    "bedrooms (in the ventilation rate)": (SUMMER, SAME, rooms(bedrooms=0)),
    "ventilation": (SUMMER, SAME, machine("ventilation", airflow=0.0)),
    "ventilation fan power": (SUMMER, SAME, machine("ventilation", fan_power=0.0)),
    "sensible recovery": (SUMMER, recovering, machine("ventilation", sensible_recovery=0.0)),
    "latent recovery": (SUMMER, recovering, machine("ventilation", latent_recovery=0.0)),
    "walls": (SUMMER, SAME, envelope(wall_u=0.0)),
    "roof": (SUMMER, SAME, envelope(roof_u=0.0)),
    "sun on walls": (SUMMER, SAME, envelope(wall_absorptance=0.0)),
    "sun on the roof": (SUMMER, SAME, envelope(roof_absorptance=0.0)),
    "floor to the ground": (SUMMER, SAME, envelope(floor_u=0.0)),
    "crawl space": (SUMMER, crawl(), rooms(crawl_space=None)),
    "kind of crawl space": (SUMMER, crawl(), crawl(kind="closed")),
    "height of the crawl space": (SUMMER, crawl(), crawl(height=0.4)),
    "ground cover": (SUMMER, crawl(), crawl(ground_cover=1.0)),
    "vents of the crawl space": (SUMMER, crawl(), crawl(vent_area=0.0)),
    "walls of the crawl space": (SUMMER, crawl(), crawl(wall_u=0.0)),
    "crawl space to the ground": (SUMMER, crawl(), crawl(ground_u=0.0)),
    "joists of the crawl space": (SUMMER, crawl(), crawl(wood_area=0.0)),
    "house air in the crawl space": (SUMMER, crawl(), crawl(house_air=0.05)),
    "dehumidifier in the crawl space": (
        SUMMER, lambda case: equipment(crawl_space_dehumidifier=DRYER)(crawl()(case)),
        equipment(crawl_space_dehumidifier=None),
    ),
    "basement": (SUMMER, cellar(), rooms(basement=None)),
    "height of the basement": (SUMMER, cellar(), cellar(height=2.8)),
    "depth of the basement": (SUMMER, cellar(), cellar(below_grade=0.5)),
    "walls of the basement": (SUMMER, cellar(), cellar(wall_u=0.5)),
    "basement to the ground": (SUMMER, cellar(), cellar(ground_u=0.0)),
    "leaks of the basement": (SUMMER, cellar(), cellar(vent_area=0.01)),
    "joists of the basement": (SUMMER, cellar(), cellar(wood_area=0.0)),
    "stairs to the basement": (SUMMER, cellar(), cellar(house_air=0.0)),
    "dehumidifier in the basement": (
        SUMMER, lambda case: equipment(basement_dehumidifier=DRYER)(cellar()(case)),
        equipment(basement_dehumidifier=None),
    ),
    "attic": (SUMMER, attic(), rooms(attic=None)),
    "kind of attic": (SUMMER, attic(), attic(kind="sealed")),
    "height of the attic": (SUMMER, ducts(), lambda case: attic(height=0.3)(ducts()(case))),
    "vents of the attic": (SUMMER, attic(), attic(vent_area=0.0)),
    "area of the roof deck": (SUMMER, attic(), attic(deck_area=1.5)),
    "roof deck": (SUMMER, attic(), attic(deck_u=2.0)),
    "mass of the roof deck": (SUMMER, attic(), attic(deck_heat_capacity=0.0)),
    "vapor through the insulation of a sealed attic": (
        SUMMER, attic(kind="sealed"), attic(kind="sealed", deck_vapor_resistance=1e8),
    ),
    "dehumidifier in the attic": (
        SUMMER, lambda case: equipment(attic_dehumidifier=DRYER)(attic(kind="sealed")(case)),
        equipment(attic_dehumidifier=None),
    ),
    "garage": (SUMMER, garage(), rooms(garage=None)),
    "size of the garage": (SUMMER, garage(), garage(floor_area=20.0)),
    "height of the garage": (SUMMER, garage(), garage(height=4.0)),
    "wall to the garage": (SUMMER, garage(), garage(shared_wall_area=5.0)),
    "walls of the garage": (SUMMER, garage(), garage(outer_u=0.0)),
    "leaks of the garage": (SUMMER, garage(), garage(vent_area=0.0)),
    "leaks to the garage": (SUMMER, garage(), garage(leak_share=0.0)),
    "second zone": (SUMMER, wing(gains_share=0.8), rooms(second_zone=None)),
    "upper floor": (SUMMER, upstairs(), upstairs(kind="wing")),
    "size of the wing": (SUMMER, wing(), wing(share=0.8)),
    "front wall of the wing": (SUMMER, wing(), wing(front_share=1.0)),
    "back wall of the wing": (SUMMER, wing(), wing(back_share=1.0)),
    "left wall of the wing": (SUMMER, wing(), wing(left_share=1.0)),
    "right wall of the wing": (SUMMER, wing(), wing(right_share=1.0)),
    "windows of the wing": (SUMMER, wing(), wing(window_share=1.0)),
    "gains in the wing": (SUMMER, wing(), wing(gains_share=0.0)),
    "moisture in the wing": (DRYING, wing(), wing(moisture_share=1.0)),
    "wall to the wing": (SUMMER, wing(gains_share=0.8), wing(gains_share=0.8, partition_u=0.0)),
    "size of the wall to the wing": (
        SUMMER, wing(gains_share=0.8), wing(gains_share=0.8, partition_area=1.0),
    ),
    "door to the wing": (SUMMER, wing(gains_share=0.8), wing(gains_share=0.8, opening_width=0.0)),
    "height of the door to the wing": (
        SUMMER, wing(gains_share=0.8), wing(gains_share=0.8, opening_height=1.0),
    ),
    "mixing with the wing": (SUMMER, wing(gains_share=0.8), wing(gains_share=0.8, mixing=0.0)),
    "supply air to the wing": (SUMMER, wing(), wing(supply_share=0.1)),
    "return air from the wing": (
        SUMMER, wing(gains_share=0.8), wing(gains_share=0.8, return_share=0.0),
    ),
    "zone of the sensor": (
        SUMMER, wing(gains_share=0.8),
        lambda case: machine("sensor", zone="wing")(wing(gains_share=0.8)(case)),
    ),
    "zone dampers": (SUMMER, zoned(), equipment(zoning=None)),
    "bleed of a closed damper": (SUMMER, zoned(), zoned(bleed=0.0)),
    "airflow with a closed damper": (SUMMER, zoned(), zoned(airflow_loss=0.0)),
    "second system": (SUMMER, two_systems(), equipment(second_system=None)),
    "ducts of the second system": (
        SUMMER, two_systems(ducts=ms.Ducts(location="attic")), two_systems(ducts=ms.Ducts()),
    ),
    "mean of the ground": (
        SUMMER, envelope(ground=GROUND), ground(mean_temperature=12.0),
    ),
    "year of the ground": (SUMMER, envelope(ground=GROUND), ground(amplitude=0.0)),
    "coldest day of the ground": (
        SUMMER, envelope(ground=GROUND), ground(coldest_day=200.0),
    ),
    "depth of the ground": (SUMMER, envelope(ground=GROUND), ground(depth=0.5)),
    "soil": (SUMMER, envelope(ground=GROUND), ground(diffusivity=2e-7)),
    "walls one by one": (SUMMER, SAME, skin(windows=0)),
    "windows one by one": (SUMMER, skin(windows=1), skin(windows=0)),
    "glass at a slant": (SUMMER, SAME, envelope(window_incidence="three panes")),
    "construction": (SPRING, SAME, envelope(construction="heavy")),
    "front windows": (SUMMER, SAME, glass(front=0.0)),
    "back windows": (SUMMER, SAME, glass(back=0.0)),
    "left windows": (SUMMER, SAME, glass(left=0.0)),
    "right windows": (SUMMER, SAME, glass(right=0.0)),
    "window conduction": (SUMMER, SAME, envelope(window_u=0.0)),
    "solar gain coefficient": (SUMMER, SAME, envelope(window_shgc=0.0)),
    "blinds (share let by)": (SUMMER, SAME, envelope(window_shading=0.0)),
    "orientation": (SUMMER, envelope(orientation=90.0), envelope(orientation=0.0)),
    "fast mass": (SUMMER, SAME, envelope(fast_mass=0.0)),
    "light contents": (SUMMER, SAME, envelope(light_contents=0.0)),
    "slow mass": (SPRING, SAME, envelope(slow_mass=0.0)),
    "coupling of the masses": (SPRING, SAME, envelope(mass_coupling=0.0)),
    "moisture store": (DRYING, SAME, store(area=0.0)),
    "deep layer of the store": (DRYING, SAME, store(deep=False)),
    "people's heat": (SUMMER, fixed_moisture, gains(occupants=0.0)),
    "sensible heat of a person": (SUMMER, SAME, gains(sensible_per_person=0.0)),
    "time at home": (SUMMER, SAME, gains(home_fraction=0.0)),
    "household moisture": (SUMMER, SAME, gains(moisture=0.0)),
    "appliances and lights": (SUMMER, SAME, gains(appliances_and_lights=0.0)),
    "hours of presence": (SUMMER, SAME, gains(presence=(1,) * 6 + (0,) * 18)),
    "hours of moisture": (SUMMER, SAME, gains(moisture_profile=(0,) * 18 + (1,) * 6)),
    "hours of appliances": (SUMMER, SAME, gains(appliances_and_lights_profile=(0,) * 18 + (1,) * 6)),
    "indoor fan power": (SUMMER, SAME, machine("cooling", fan_power=0.0)),
    "start-up time": (SUMMER, SAME, machine("cooling", start_up_time=0.0)),
    "water held on the coil": (FAN_ON, SAME, machine("cooling", water_held=0.0)),
    "face of the coil": (
        FAN_ON, machine("cooling", coil_face_area=0.4), machine("cooling", coil_face_area=0.1),
    ),
    "air that drifts over an idle coil": (SUMMER, SAME, machine("cooling", off_cycle_airflow=0.0)),
    "delay of the fan": (
        SUMMER, machine("cooling", fan_off_delay="90 s"), machine("cooling", fan_off_delay=0.0),
    ),
    "fan switch": (SUMMER, SAME, machine("cooling", fan="on")),
    "airflow of the fan alone": (
        SUMMER, machine("cooling", fan="on"), machine("cooling", fan="on", fan_airflow=0.4),
    ),
    "circulation": (
        SUMMER, machine("cooling", fan="circulation", circulation="40 min"),
        machine("cooling", fan="circulation", circulation="10 min"),
    ),
    "crankcase heat": (SUMMER, SAME, machine("cooling", crankcase_heat=0.0)),
    "least running time": (
        SUMMER, machine("cooling", minimum_on="15 min"), machine("cooling", minimum_on=0.0),
    ),
    "least rest": (
        SUMMER, machine("cooling", minimum_off="20 min"), machine("cooling", minimum_off=0.0),
    ),
    "low stage": (
        SUMMER, SAME, machine("cooling", stages=two_stage().stages[1:]),
    ),
    "cooling lockout": (
        REHEAT, machine("cooling", low_outdoor_limit=27.0),
        machine("cooling", low_outdoor_limit=0.0),
    ),
    "frost limit": (
        SUMMER, machine("cooling", frost_limit=12.0), machine("cooling", frost_limit=-20.0),
    ),
    "rest of a frosted coil": (
        SUMMER, machine("cooling", frost_limit=12.0, defrost_time="30 min"),
        machine("cooling", defrost_time=0.0),
    ),
    "strips as reheat": (REHEAT, SAME, equipment(strips=None)),
    "least airflow of the strips": (
        REHEAT, machine("strips", least_airflow="250 cfm/kW"), machine("strips", least_airflow=0.0),
    ),
    "limit switch of the strips": (
        BOTH_STRIPS, machine("strips", least_airflow="110 cfm/kW"),
        machine("strips", least_airflow="110 cfm/kW", limit_temperature=55.0),
    ),
    "reset of the limit switch": (
        BOTH_STRIPS, machine("strips", least_airflow="80 cfm/kW"),
        machine("strips", least_airflow="80 cfm/kW", reset_time="20 min"),
    ),
    "voltage at the strips": (REHEAT, SAME, machine("strips", voltage=208.0)),
    "voltage that the strips are rated at": (
        REHEAT, machine("strips", voltage=208.0), machine("strips", rated_voltage=208.0),
    ),
    "delay between strips": (BOTH_STRIPS, SAME, machine("strips", stage_delay="4 min")),
    "airflow proof of the strips": (BOTH_STRIPS, SAME, machine("strips", proof_time="4 min")),
    "proportional strips": (PROPORTIONAL, SAME, machine("strips", proportional=True)),
    "hours without strips": (REHEAT, SAME, machine("strips", lockout_hours=[12, 18])),
    "months without strips": (
        REHEAT, machine("strips", lockout_hours=[12, 18]), machine("strips", lockout_months=[8, 5]),
    ),
    "frost on the heat pump, capacity": (WINTER, SAME, machine("heating", defrost_capacity=1.0)),
    "frost on the heat pump, input": (WINTER, SAME, machine("heating", defrost_input=1.0)),
    "lockout of the back-up": (
        WINTER, machine("heating", capacity=2500.0),
        machine("heating", capacity=2500.0, backup_lockout=-5.0),
    ),
    "rest between cooling and heating": (
        CHANGEOVER, SAME, machine("cooling", changeover_delay="2 h"),
    ),
    "furnace": (WINTER, gas, equipment(furnace=None)),
    "furnace's airflow": (WINTER, gas, machine("furnace", airflow=0.6)),
    "furnace's fan-off delay": (WINTER, gas, machine("furnace", fan_off_delay=0.0)),
    "room heater": (WINTER, baseboard, equipment(room_heater=None)),
    "room heater, its efficiency": (WINTER, baseboard, machine("room_heater", efficiency=0.8)),
    "room heater, its fuel": (WINTER, baseboard, machine("room_heater", fuel="gas")),
    "room heater, its capacity": (WINTER, baseboard, machine("room_heater", capacity=5000.0)),
    "hot gas": (HOT_GAS, SAME, equipment(hot_gas=None)),
    "hot gas, its share": (HOT_GAS, SAME, machine("hot_gas", share=0.3)),
    "hot gas, cooling capacity": (HOT_GAS, SAME, machine("hot_gas", capacity_ratio=1.0)),
    "hot gas, input": (HOT_GAS, SAME, machine("hot_gas", input_ratio=1.0)),
    "heat pump": (WINTER, SAME, equipment(heating=None)),
    "strips as back-up": (
        WINTER, machine("heating", capacity=2500.0), equipment(strips=None),
    ),
    "heat pump's lockout": (
        WINTER, machine("heating", low_outdoor_limit=2.0),
        machine("heating", low_outdoor_limit=-40.0),
    ),
    "dehumidifier": (DRYING, SAME, equipment(dehumidifier=None)),
    "dehumidifier's standby": (DRYING, SAME, machine("dehumidifier", standby_power=0.0)),
    "dehumidifier's least running time": (
        DRYING, machine("dehumidifier", minimum_on="40 min"),
        machine("dehumidifier", minimum_on=0.0),
    ),
    "dehumidifier's least rest": (
        DRYING, machine("dehumidifier", minimum_off="60 min"),
        machine("dehumidifier", minimum_off=0.0),
    ),
    "dehumidifier's frost limit": (
        DRYING, machine("dehumidifier", low_inlet_limit=24.5),
        machine("dehumidifier", low_inlet_limit=0.0),
    ),
    "dehumidifier's drain (a bucket for it)": (
        DRYING, machine("dehumidifier", bucket=3.0), machine("dehumidifier", bucket=None),
    ),
    "hour at which the bucket is emptied": (
        DRYING, machine("dehumidifier", bucket=3.0, emptied_at=20.0),
        machine("dehumidifier", bucket=3.0, emptied_at=0.0),
    ),
    "condensate pump": (
        DRYING, machine("dehumidifier", pump_power=50.0), machine("dehumidifier", pump_power=0.0),
    ),
    "dehumidifier's off-cycle fan": (
        DRYING, machine("dehumidifier", off_cycle_fan_power=30.0),
        machine("dehumidifier", off_cycle_fan_power=0.0),
    ),
    "dehumidifier's own humidistat": (
        DRYING, machine("dehumidifier", humidistat=48.0), machine("dehumidifier", humidistat=None),
    ),
    "deadband of it": (
        DRYING, machine("dehumidifier", humidistat=48.0, deadband=10.0),
        machine("dehumidifier", humidistat=48.0, deadband=0.5),
    ),
    "dehumidifier's defrost": (
        DRYING, machine("dehumidifier", low_inlet_limit=20.0, defrost_below=26.0),
        machine("dehumidifier", low_inlet_limit=20.0, defrost_below=None),
    ),
    "dehumidifier's filter": (
        DRYING, machine("dehumidifier", filter_factor=0.7),
        machine("dehumidifier", filter_factor=1.0),
    ),
    "dehumidifier's inlet": (
        DRYING, machine("dehumidifier", inlet="outdoors"), machine("dehumidifier", inlet="zone"),
    ),
    "frost limit of recovery": (
        WINTER, frosting, machine("ventilation", frost_limit=None),
    ),
    "bypass for a resting supply": (
        WINTER, frosting, machine("ventilation", frost_control="bypass"),
    ),
    "least run of a central duct": (SPRING, central, machine("ventilation", least_run=0.0)),
    "lockout by dew point": (
        SUMMER, machine("ventilation", lockout_dew_point=24.0),
        machine("ventilation", lockout_dew_point=None),
    ),
    "lockout above": (
        SUMMER, machine("ventilation", lockout_above=29.0),
        machine("ventilation", lockout_above=None),
    ),
    "lockout below": (
        WINTER, machine("ventilation", lockout_below=0.0),
        machine("ventilation", lockout_below=None),
    ),
    "controls' standby": (SUMMER, SAME, equipment(standby_power=0.0)),
    "surfaces at the sensor": (SUMMER, SAME, machine("sensor", wall_share=0.0)),
    "mixing of the air near the sensor": (SUMMER, SAME, machine("sensor", mixing_time=0.0)),
    "lag of the temperature reading": (SUMMER, SAME, machine("sensor", temperature_lag=0.0)),
    "lag of the humidity reading": (DRYING, SAME, machine("sensor", humidity_lag=0.0)),
    "offset of the temperature reading": (SUMMER, ERRING, machine("sensor", temperature_offset=0)),
    "offset of the humidity reading": (DRYING, ERRING, machine("sensor", humidity_offset=0)),
    "drift of the temperature reading": (SUMMER, ERRING, machine("sensor", temperature_drift=0)),
    "drift of the humidity reading": (DRYING, ERRING, machine("sensor", humidity_drift=0)),
    "noise of the temperature reading": (SUMMER, ERRING, machine("sensor", temperature_noise=0)),
    "noise of the humidity reading": (DRYING, ERRING, machine("sensor", humidity_noise=0)),
    "seed of the noise": (SUMMER, ERRING, machine("sensor", seed=2)),
    "steps of the temperature": (SUMMER, ERRING, machine("sensor", temperature_resolution=0)),
    "steps of the humidity": (DRYING, ERRING, machine("sensor", humidity_resolution=0)),
    "pauses of the reports": (SUMMER, ERRING, machine("sensor", report_every=0)),
    "place of the sensor": (
        SUMMER, ducts(), lambda case: machine("sensor", place="return")(ducts()(case)),
    ),
    "hard-wired enable": (
        REHEAT, equipment(enable=ms.Enable(on_above=60, off_below=56)), equipment(enable=None),
    ),
    "flow at 50 Pa": (
        SUMMER, rooms(ach50=None, leakage=ms.Leakage(cfm50="1000 cfm")),
        rooms(ach50=None, leakage=ms.Leakage(cfm50=0.0)),
    ),
    "effective leakage area": (
        SUMMER, rooms(ach50=None, leakage=ms.Leakage(effective_area="60 in2")),
        rooms(ach50=None, leakage=ms.Leakage(effective_area=0.0)),
    ),
    "infiltration model": (SUMMER, SAME, leaks(model="basic")),
    "leaks of the ceiling": (WINTER, SAME, leaks(ceiling_share=0.0)),
    "leaks of the floor": (WINTER, SAME, leaks(floor_share=0.0)),
    "flue": (WINTER, leaks(flue_share=0.2), leaks()),
    "top of the flue": (WINTER, leaks(flue_share=0.2, flue_height=8.0), leaks(flue_share=0.2)),
    "shelter of the flue": (SUMMER, leaks(flue_share=0.2), leaks(flue_share=0.2, flue_shelter=0.0)),
    "eaves": (WINTER, leaks(eaves_height=6.0), leaks()),
    "terrain": (SUMMER, leaks(terrain="open water"), leaks()),
    "terrain of the station": (
        SUMMER, leaks(terrain="suburbs"), leaks(terrain="suburbs", station_terrain="city center"),
    ),
    "height of the anemometer": (
        SUMMER, leaks(terrain="suburbs"), leaks(terrain="suburbs", station_height=3.0),
    ),
    "dryer": (SUMMER, fan(), rooms(exhausts=ms.Exhausts())),
    "range hood": (SUMMER, fan("range_hood"), rooms(exhausts=ms.Exhausts())),
    "bath fans": (SUMMER, fan("bath_fans"), rooms(exhausts=ms.Exhausts())),
    "exhaust's flow": (SUMMER, fan(), fan(airflow=0.0)),
    "exhaust's time": (SUMMER, fan(), fan(runtime=0.0)),
    "exhaust's hours": (SUMMER, fan(), fan(schedule=(1,) * 24)),
    "exhaust's fan": (SUMMER, fan(), fan(fan_power=0.0)),
    "ducts in the attic": (SUMMER, ducts(), rooms(ducts=ms.Ducts())),
    "supply leak": (SUMMER, ducts(), ducts(supply_leakage=0.0)),
    "return leak": (SUMMER, ducts(), ducts(return_leakage=0.0)),
    "supply's walls": (SUMMER, ducts(supply_area=30.0), ducts(supply_area=0.0)),
    "return's walls": (SUMMER, ducts(return_area=30.0), ducts(return_area=0.0)),
    "insulation of the ducts": (SUMMER, ducts(), ducts(insulation=10.0)),
    "closed doors": (SUMMER, ducts(closed_door_flow="60 cfm"), ducts()),
}  # fmt: skip


def season(case: Case, where: Setting) -> tuple[float, float]:
    """Electricity, kWh, and water removed, kg, of three weeks."""
    weather = stretch(where.place, where.first, 21)
    meter = ms.simulate(*case, where.strategy, weather, spin_up="7 day").meter
    return meter.total_kwh, float(meter.water_kg.sum())


@pytest.mark.parametrize("item", ITEMS)
def test_an_item_set_to_zero_shows(item: str) -> None:
    where, before, after = ITEMS[item]
    with_it = before((house(), machines()))
    kwh, water = season(with_it, where)
    kwh_without, water_without = season(after(with_it), where)
    print(
        f"{item}: {kwh_without - kwh:+.2f} kWh of {kwh:.0f}, "
        f"{water_without - water:+.2f} kg of {water:.0f} kg"
    )
    by_kwh = abs(kwh_without / kwh - 1.0)
    by_water = abs(water_without / water - 1.0) if water > 0.0 else 0.0
    assert max(by_kwh, by_water) > LEAST


def test_every_number_of_a_house_is_among_the_items_or_says_why_not() -> None:
    """A field of the description that no item above changes is an item forgotten."""
    changed: set[str] = set()
    base = (house(), machines())

    def differing(a: Any, b: Any) -> set[str]:
        names: set[str] = set()
        if a is None or b is None or not attrs.has(type(a)):
            return names
        for field in attrs.fields(type(a)):
            x, y = getattr(a, field.name), getattr(b, field.name)
            if x != y:
                names |= {f"{type(a).__name__}.{field.name}"} | differing(x, y)
        return names

    for _, before, after in ITEMS.values():
        case = before(base)
        for part in (0, 1):
            changed |= differing(base[part], case[part])
            changed |= differing(case[part], after(case)[part])
    described = (
        ms.House, ms.Envelope, ms.Gains, ms.MoistureStore, ms.Equipment, ms.Cooling,
        ms.Strips, ms.HeatPump, ms.Dehumidifier, ms.Ventilation, ms.Sensor, ms.Furnace,
        ms.HotGas, ms.Ground, ms.CrawlSpace, ms.Basement, ms.Attic, ms.Garage, ms.Leakage, ms.Exhausts, ms.ExhaustFan, ms.Ducts,
    )  # fmt: skip
    fields = {f"{kind.__name__}.{f.name}" for kind in described for f in attrs.fields(kind)}
    # Sizes and ratings, which are never zero; tests of their own hold them.
    sizes = {
        "House.floor_area", "House.ceiling_height", "House.leakage_exponent", "Envelope.aspect",
        "Envelope.surface_film", "MoistureStore.density", "MoistureStore.sorption_slope",
        "MoistureStore.permeability", "MoistureStore.coating", "MoistureStore.thickness",
        "MoistureStore.surface_period", "MoistureStore.deep_period", "Strips.stages",
        "HeatPump.cop", "HeatPump.cold_capacity_ratio", "HeatPump.cold_cop",
        "Dehumidifier.capacity", "Dehumidifier.energy_factor", "Dehumidifier.airflow",
        "Equipment.cooling", "Ventilation.kind", "Cooling.modulation", "Cooling.fan_law",
        "Furnace.capacity", "Furnace.efficiency",
        "Dehumidifier.rating", "Dehumidifier.integrated_energy_factor",
        # What only controls hear, or matters when messages are lost: `tests/engine/test_wiring.py`.
        "Equipment.outdoor_sensor", "Equipment.relays",
        # Of one zone, the supply duct is a part: `tests/engine/test_drying.py` holds it.
        "Dehumidifier.outlet",
        # What is not there by default: `tests/engine/test_household.py`,
        # `tests/engine/test_window_opening.py`, `test_bedroom.py`, `tests/test_people.py` and
        # `tests/sources/test_isothermal_moisture.py` hold them.
        "House.contents_store", "House.vapor_sources", "House.occupancy",
        "House.window_opening", "House.bedroom", "Gains.appliances_and_lights_by_month",
    }  # fmt: skip
    assert fields - changed - sizes == set()


@pytest.mark.parametrize(
    "change",
    [
        rooms(ceiling_height=3.5), rooms(leakage_exponent=0.8), envelope(aspect=4.0),
        envelope(surface_film=3.0), store(density=900.0), store(sorption_slope=0.15),
        store(permeability=1e-11), store(coating=3e9), store(thickness=0.004),
        store(surface_period="6 h"), store(deep_period="7 day"),
        machine("dehumidifier", energy_factor="1.5 L/kWh"),
        machine("dehumidifier", capacity="40 pint/day"),
        machine("dehumidifier", rating="22.8 degC whole-home"),
        machine("dehumidifier", energy_factor=None, integrated_energy_factor="2 L/kWh"),
    ],
)  # fmt: skip
def test_a_size_shows(change: Callable[[Case], Case]) -> None:
    """In the same way, for numbers that are never zero."""
    base = (house(), machines())
    kwh, water = season(base, DRYING)
    kwh_changed, water_changed = season(change(base), DRYING)
    print(f"{kwh_changed - kwh:+.2f} kWh of {kwh:.0f}, {water_changed - water:+.2f} kg")
    assert max(abs(kwh_changed / kwh - 1.0), abs(water_changed / water - 1.0)) > LEAST
