"""Parameters of the spaces next to a house: crawl space, basement, attic and garage.

A space is a body of air like the house's own zone. Its fast mass is the wood that the air touches, or
the board of a garage; its slow mass is the top of the ground, a basement's concrete or a slab. The
figures here are our own round ones unless a source is given.
"""

import math
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.errors import InputError, Problem
from moistsim.engine.division import division, partition_area
from moistsim.engine.forcing import roof_of
from moistsim.engine.infiltration import leak_shares, path_shares, zone_leaks
from moistsim.engine.parameters import (
    FILM,
    WET_SURFACE_CONDUCTANCE,
    air_weight,
    dehumidifier_parameters,
    store_of,
    zone_parameters,
)
from moistsim.engine.records import (
    Path,
    Probe,
    SensorParameters,
    SpaceParameters,
    SpaceState,
    Volume,
    ZoneParameters,
)
from moistsim.engine.rows import flat
from moistsim.engine.soil import soil_below
from moistsim.engine.space_forcing import space_vents
from moistsim.engine.window_opening import GRAVITY
from moistsim.equipment import MAIN_FLOOR, Equipment
from moistsim.house import UPPER_FLOOR, Attic, House, MoistureStore

INDOOR_FILM = 0.13
"""Thermal resistance of the film at a surface in a space, m2 K/W (ISO 6946, horizontal, from memory)."""
CONVECTION = 2.5
"""Part of that film that is convection, W/(m2 K) (ISO 6946, horizontal, from memory)."""
RADIATION = 1.0 / INDOOR_FILM - CONVECTION
"""Part of that film that is radiation, W/(m2 K)."""
SUN_FILM = 1.0 / 17.0
"""Thermal resistance of the outdoor film of a sol-air temperature, m2 K/W, as in `forcing`."""
VAPOR_FILM = 1.0 / WET_SURFACE_CONDUCTANCE
"""Vapor resistance of still air at a surface, Pa m2 s/kg."""
JOISTS = 20e3
"""Heat capacity of joists and the lower face of the subfloor, J/(m2 K) of the plan."""
TOP_OF_GROUND = 350e3
"""Heat capacity of the top 15 cm of damp soil, J/(m2 K): the reach of a day, 2.3 MJ/(m3 K)."""
TO_GROUND = 5.0
"""Conductance from joists to the ground by radiation and along it by air, W/(m2 K)."""
DECK = 0.0125
"""Thickness of the roof deck, m."""
TRUSSES = 0.8
"""Surface of trusses in a vented attic over the area of the ceiling."""
CONCRETE = 200e3
"""Heat capacity of 10 cm of concrete, J/(m2 K)."""
BOARD = 15e3
"""Heat capacity of the board, doors and things of a garage, J/(m2 K) of its surface."""
DAMP_SOIL = 1.3e8
"""Vapor resistance from damp soil to the air above it, Pa m2 s/kg, film included.

At 20 degC under air of 22 degC and 60 % RH it passes the 0.5 kg/(m2 day) that practice gives for bare
soil (from memory); in damper air it passes less."""
GROUND_COVER = 1.0 / (0.06 * 5.72e-11)
"""Vapor resistance of polyethylene of 0.06 perm, Pa m2 s/kg (ASHRAE Fundamentals, from memory)."""
SLAB_VAPOR = 0.1 / 3.0e-12
"""Vapor resistance of 10 cm of concrete, Pa m2 s/kg, by the permeability of `MATERIALS`."""
BARE_CEILING = 3.0
"""U-value of the ceiling under a sealed attic, W/(m2 K): bare board with its films."""

OPENING_DISCHARGE = 0.65
"""Discharge coefficient of an opening between rooms, by a measured range of 0.6 to 0.8 (from memory)."""
OPENING_KELVIN = 297.0
"""Temperature of the air in an opening between rooms, K."""

DAMP_START = 0.7
"""Relative humidity in the stores of a crawl space or basement before the spin-up, 0 to 1."""

NO_PATH = Path(*(0.0 for _ in Path._fields))


def space_parameters(
    house: House, machines: Equipment, dt: float, comfort: SensorParameters | None = None
) -> dict[str, SpaceParameters]:
    """Parameters of the spaces of a house by name, for steps of `dt` seconds.

    Parameters
    ----------
    comfort : SensorParameters, optional
        Limits of comfort, which hold for a second conditioned zone too.

    Raises
    ------
    InputError
        If a machine stands in a space that the house does not have, or if a bare roof deck or ceiling
        insulates better than the whole roof.
    """
    for name in ("crawl_space", "basement", "attic"):
        if getattr(machines, f"{name}_dehumidifier") is not None and name not in house.spaces:
            raise InputError(
                f"Equipment.{name}_dehumidifier",
                Problem(f"the house has no {name.replace('_', ' ')}"),
                f"it together with House.{name}",
            )
    zone, kind = machines.sensor.zone, house.second_zone.kind if house.second_zone else None
    if zone not in (MAIN_FLOOR, kind):
        raise InputError(
            "Sensor.zone",
            Problem(f"the house has no {zone}"),
            f"{MAIN_FLOOR!r}, or House.second_zone of kind {zone!r}",
        )
    if machines.zoning is not None and house.second_zone is None:
        raise InputError(
            "Equipment.zoning",
            Problem("the house has one zone"),
            "it together with House.second_zone",
        )
    makers = {
        "second_zone": second_zone,
        "crawl_space": crawl_space,
        "basement": basement,
        "attic": attic,
        "garage": garage,
    }
    made = {name: makers[name](house, machines, dt) for name in house.spaces}
    if comfort is not None and house.second_zone is not None:
        made["second_zone"] = made["second_zone"]._replace(
            warm_above=comfort.warm_above,
            cool_below=comfort.cool_below,
            cold_below=comfort.cold_below,
        )
    return made


def body(
    house: House,
    name: str,
    dt: float,
    *,
    volume: float,
    fast_capacity: float,
    air_to_fast: float,
    opaque: float,
    wood: tuple[float, ...],
    condensing: float,
    wet_area: float,
    slow_capacity: float = 0.0,
    fast_to_slow: float = 0.0,
    contents: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0),
) -> ZoneParameters:
    """Parameters of a space's own air, masses and stores."""
    leaks = space_vents(house, name)
    return ZoneParameters(
        volume=volume,
        light_contents=0.0,
        fast_capacity=fast_capacity,
        slow_capacity=slow_capacity,
        air_to_fast=air_to_fast,
        air_weight=air_weight(
            air_to_fast, volume * air.STANDARD_DENSITY * air.CP_DRY_AIR, fast_capacity, dt
        ),
        fast_to_slow=fast_to_slow,
        opaque=opaque,
        windows=0.0,
        ground=0.0,
        sun_to_air=0.0,
        sun_to_fast=1.0,
        gains_to_air=1.0,
        stack=leaks.stack,
        leakage_exponent=leaks.exponent,
        surface_store=wood[0],
        deep_store=wood[1],
        air_to_surface=wood[2],
        surface_to_deep=wood[3],
        condensing=condensing,
        film_limit=FILM * wet_area,
        contents_store=contents[0],
        contents_deep_store=contents[1],
        air_to_contents=contents[2],
        contents_to_deep=contents[3],
    )


def wood_store(
    area: float, thickness: float, rh: str, resistance: float = VAPOR_FILM
) -> tuple[float, ...]:
    """Store of softwood with a surface of `area`, m2, behind a vapor resistance, Pa m2 s/kg."""
    store = MoistureStore.of("wood", rh=rh, area=1.0, thickness=thickness, coating=resistance)
    return store_of(store, area)


def through_floor(house: House, conductance: float, mixing: float) -> Path:
    """Ways between the house and a space below it."""
    shares = path_shares(house)
    return Path(
        conductance=conductance,
        stack_share=shares.floor_warm,
        wind_share=shares.floor_wind,
        fan_share=leak_shares(house).floor,
        below=1.0,
        mixing=mixing,
        stairs=0.0,
    )


def next_to(
    house: House, path: Path, zone: ZoneParameters, machines: Equipment, name: str, soil: float
) -> SpaceParameters:
    """A space that is not conditioned, with its ways to the house and to a second zone of it."""
    own = getattr(machines, f"{name}_dehumidifier", None)
    part = division(house)
    share = {"attic": part.roof, "crawl_space": part.floor, "basement": part.floor}.get(name, 0.0)
    main, second = ways(path, share)
    ground = soil_below(house, name)
    return SpaceParameters(
        zone=zone if ground is None else zone._replace(ground=ground.near),
        house=main,
        second=second,
        conditioned=0.0,
        supply_share=0.0,
        return_share=0.0,
        soil=soil,
        dehumidifier=dehumidifier_parameters(own),
        ground_capacity=0.0 if ground is None else ground.capacity,
        ground_to_outdoors=0.0 if ground is None else ground.far,
    )


def second_zone(house: House, machines: Equipment, dt: float) -> SpaceParameters:
    """A second conditioned zone, with its share of the house.

    Through the opening to the main zone, an air stream of C_d/3 W H^1.5 sqrt(g dT / T) passes each way
    (Brown & Solvason 1962; ASHRAE Fundamentals ch. 16; from memory).
    """
    zone, part = house.second_zone, division(house)
    assert zone is not None
    passing = OPENING_DISCHARGE / 3.0 * zone.opening_width * zone.opening_height**1.5
    return SpaceParameters(
        zone=zone_parameters(house, dt, second=True),
        house=NO_PATH._replace(
            conductance=zone.partition_u * partition_area(house),
            mixing=zone.mixing,
            stairs=passing * math.sqrt(GRAVITY / OPENING_KELVIN),
            stable_share=0.0 if zone.kind == UPPER_FLOOR else 1.0,
        ),
        second=NO_PATH,
        conditioned=1.0,
        # A system of its own brings no air of the other zone.
        supply_share=part.supply if machines.second_system is None else 0.0,
        return_share=part.back if machines.second_system is None else 0.0,
        soil=0.0,
        dehumidifier=dehumidifier_parameters(None),
        thermostat=float(machines.zoning is not None),
        bleed=machines.zoning.bleed if machines.zoning else 0.0,
        closed_flow=1.0 - machines.zoning.airflow_loss if machines.zoning else 1.0,
        leaks=zone_leaks(house),
    )


def ways(path: Path, share: float) -> tuple[Path, Path]:
    """Ways from a space to the main zone, and to a second zone that has a share of them."""
    if share == 0.0:
        return path, NO_PATH
    first, second = (
        path._replace(
            conductance=of * path.conductance,
            stack_share=of * path.stack_share,
            wind_share=of * path.wind_share,
            fan_share=of * path.fan_share,
            mixing=of * path.mixing,
            from_mass=of * path.from_mass,
        )
        for of in (1.0 - share, share)
    )
    return first, second


def crawl_space(house: House, machines: Equipment, dt: float) -> SpaceParameters:
    """A crawl space: joists over the ground, between walls with vents.

    Air, joists and ground exchange heat by their films. The wood is joists of 38 mm, wet from both
    sides.
    """
    space, plan = house.crawl_space, house.footprint
    assert space is not None
    practice = space.practice
    cover = practice.ground_cover
    zone = body(
        house, "crawl_space", dt,
        volume=plan * space.height,
        fast_capacity=JOISTS * plan,
        air_to_fast=plan * max(space.wood_area, 1.0) / INDOOR_FILM,
        opaque=practice.wall_u * house.perimeter * space.height,
        wood=wood_store(plan * space.wood_area, 0.019, "75 %"),
        condensing=WET_SURFACE_CONDUCTANCE * plan * space.wood_area,
        wet_area=plan * space.wood_area,
        slow_capacity=TOP_OF_GROUND * plan,
        fast_to_slow=TO_GROUND * plan,
    )  # fmt: skip
    path = through_floor(house, house.envelope.floor_u * plan, space.house_air_over(plan))
    soil = plan * ((1.0 - cover) / DAMP_SOIL + cover / (DAMP_SOIL + GROUND_COVER))
    return next_to(house, path, zone, machines, "crawl_space", soil)


def basement(house: House, machines: Equipment, dt: float) -> SpaceParameters:
    """An unheated basement: joists over concrete walls and floor that store moisture too."""
    space, plan = house.basement, house.footprint
    assert space is not None
    buried = plan + house.perimeter * space.below_grade
    shell = plan + house.perimeter * space.height
    concrete = MoistureStore.of("concrete", rh="70 %", area=1.0, coating=VAPOR_FILM)
    zone = body(
        house, "basement", dt,
        volume=plan * space.height,
        fast_capacity=JOISTS * plan,
        air_to_fast=plan * max(space.wood_area, 1.0) / INDOOR_FILM,
        opaque=space.wall_u * house.perimeter * (space.height - space.below_grade),
        wood=wood_store(plan * space.wood_area, 0.019, "65 %"),
        condensing=WET_SURFACE_CONDUCTANCE * plan * space.wood_area,
        wet_area=plan * space.wood_area,
        slow_capacity=CONCRETE * shell,
        fast_to_slow=TO_GROUND * shell,
        contents=store_of(concrete, shell),
    )  # fmt: skip
    path = through_floor(house, house.envelope.floor_u * plan, space.house_air)
    return next_to(house, path, zone, machines, "basement", buried / (SLAB_VAPOR + VAPOR_FILM))


def attic(house: House, machines: Equipment, dt: float) -> SpaceParameters:
    """An attic under a roof deck of wood that the sun heats.

    Ceiling and deck in series have the house's U-value of roof and ceiling together. Half of the deck's
    own resistance lies on each side of its mass.
    """
    space, plan = house.attic, house.footprint
    assert space is not None
    deck = plan * space.deck_area
    roof = ceiling_and_deck(house, space)
    if space.kind == "sealed":
        # The deck lies behind the insulation.
        wood = wood_store(deck, DECK, "60 %", space.deck_vapor_resistance)
        condensing = deck / space.deck_vapor_resistance
    else:
        wood = wood_store(deck + TRUSSES * plan, DECK, "50 %")
        condensing = WET_SURFACE_CONDUCTANCE * deck
    zone = body(
        house, "attic", dt,
        volume=plan * space.height,
        fast_capacity=space.deck_heat_capacity * deck,
        air_to_fast=roof.air_to_deck,
        opaque=deck / half_deck(space, SUN_FILM),
        wood=wood,
        condensing=condensing,
        wet_area=deck,
    )  # fmt: skip
    shares = path_shares(house)
    path = Path(
        conductance=roof.house_to_air,
        stack_share=shares.ceiling_cool,
        wind_share=shares.ceiling_wind,
        fan_share=leak_shares(house).ceiling,
        below=0.0,
        mixing=0.0,
        stairs=0.0,
        from_mass=roof.house_to_deck,
    )
    return next_to(house, path, zone, machines, "attic", 0.0)


class Roof(NamedTuple):
    """Conductances between the house, the air of an attic and the mass of its deck, W/K."""

    house_to_air: float
    air_to_deck: float
    house_to_deck: float


def ceiling_and_deck(house: House, space: Attic) -> Roof:
    """Conductances of an attic, whose ceiling and deck in series are the roof of the house.

    In a vented attic the deck radiates onto the insulation of the ceiling, and both heat the air by
    convection. The two surfaces hold no heat, so they are eliminated from the network.

    Raises
    ------
    InputError
        If the roof as a whole insulates no better than one of its two parts.
    """
    plan, vented = house.footprint, space.kind == "vented"
    deck = plan * space.deck_area
    outer = half_deck(space, SUN_FILM) / deck
    bare_ceiling = 1.0 / (BARE_CEILING * plan)
    inner, across = deck / half_deck(space, 0.0), RADIATION * plan
    to_deck, to_floor = CONVECTION * deck, CONVECTION * plan
    through = across + 1.0 / (1.0 / to_deck + 1.0 / to_floor)
    known = outer + (1.0 / inner + 1.0 / through if vented else bare_ceiling)
    whole = math.fsum(surface.u * surface.area for surface in roof_of(house))
    rest = (1.0 / whole if whole > 0.0 else math.inf) - known
    if rest <= 0.0:
        raise InputError(
            "Envelope.roof_u",
            Problem(f"roof and ceiling together have {whole / plan:.2f} W/(m2 K)"),
            f"below {1.0 / known / plan:.2f} W/(m2 K), which the bare "
            f"{'deck' if vented else 'ceiling'} of the attic has alone",
        )
    if not vented:
        return Roof(1.0 / bare_ceiling, 1.0 / rest, 0.0)
    # House, air and mass of the deck; then the surfaces of the ceiling's insulation and of the deck.
    ceiling, air_node, mass, floor, face = range(5)
    links = np.zeros((5, 5))
    for i, j, conductance in (
        (ceiling, floor, 1.0 / rest),
        (floor, face, across),
        (floor, air_node, to_floor),
        (face, air_node, to_deck),
        (face, mass, inner),
    ):
        links[i, j] = links[j, i] = conductance
    flows = links - np.diag(links.sum(axis=0))
    kept, gone = slice(0, 3), slice(3, 5)
    left = flows[kept, kept] - flows[kept, gone] @ np.linalg.solve(
        flows[gone, gone], flows[gone, kept]
    )
    return Roof(
        float(left[ceiling, air_node]), float(left[air_node, mass]), float(left[ceiling, mass])
    )


def half_deck(space: Attic, film: float) -> float:
    """Thermal resistance from the middle of the roof deck through a film, m2 K/W."""
    return 0.5 * (1.0 / space.deck_u - INDOOR_FILM - SUN_FILM) + film


def garage(house: House, machines: Equipment, dt: float) -> SpaceParameters:
    """An attached garage: thin walls, door and roof over a slab."""
    space = house.garage
    assert space is not None
    side = 4.0 * space.floor_area**0.5
    skin = space.floor_area + 0.75 * side * space.height
    zone = body(
        house, "garage", dt,
        volume=space.floor_area * space.height,
        fast_capacity=BOARD * skin,
        air_to_fast=skin / INDOOR_FILM,
        # The film indoors is in `air_to_fast`.
        opaque=skin / max(1.0 / max(space.outer_u, 1e-9) - INDOOR_FILM, 0.5 * SUN_FILM),
        wood=store_of(MoistureStore.of("gypsum board", rh="60 %", area=1.0, coating=VAPOR_FILM), skin),
        condensing=WET_SURFACE_CONDUCTANCE * skin,
        wet_area=skin,
        slow_capacity=CONCRETE * space.floor_area,
        fast_to_slow=TO_GROUND * space.floor_area,
        contents=store_of(
            MoistureStore.of("concrete", rh="60 %", area=1.0, coating=VAPOR_FILM), space.floor_area
        ),
    )  # fmt: skip
    shares, leaks = path_shares(house), leak_shares(house)
    walls = max(1.0 - leaks.ceiling - leaks.floor - leaks.flue, 1e-9)
    part = min(space.leak_share / walls, 1.0)
    path = Path(
        conductance=house.envelope.wall_u * space.shared_wall_area,
        stack_share=part * (1.0 - shares.floor_warm),
        wind_share=part * (1.0 - shares.floor_wind - shares.ceiling_wind),
        fan_share=min(space.leak_share, walls),
        below=1.0,
        mixing=0.0,
        stairs=0.0,
    )
    return next_to(house, path, zone, machines, "garage", 0.0)


def initial_spaces(
    spaces: dict[str, SpaceParameters],
    temperature: float,
    rh: float,
    pressure: float,
    ground: Mapping[str, float] | None = None,
) -> NDArray[np.float64]:
    """Rows of `SpaceState` after a long off time, one after the other.

    Wood and concrete on the ground start damper than those of the house, because a spin-up of weeks
    does not wet them through.

    Parameters
    ----------
    ground : mapping, optional
        Temperature of the soil below each space on the ground, from `soil_at_start`, degC.
    """
    w = air.humidity_ratio_at(temperature, rh, pressure)
    rows = []
    for name, space in spaces.items():
        stored = DAMP_START if name in ("crawl_space", "basement") else rh
        volume = Volume(
            temperature=temperature,
            humidity_ratio=w,
            dry_air=space.zone.volume * air.dry_air_density(temperature, w, pressure),
            fast_temperature=temperature,
            fast_saturation=air.saturation_pressure(temperature),
            slow_temperature=temperature,
            surface_rh=stored,
            deep_rh=stored,
            contents_rh=stored,
            contents_deep_rh=stored,
            film=0.0,
        )
        rows += flat(
            SpaceState(
                air=volume,
                dehumidifier=0.0,
                dehumidifier_time=86400.0,
                sensor=Probe(temperature, w, temperature, w),
                supply_share=space.supply_share,
                ground_temperature=(ground or {}).get(name, temperature),
            )
        )
    return np.array(rows, dtype=float)
