"""Sources of the water and heat in the house: tags that move with the metered flows.

The tags are a second pass over a traced run. The pass changes nothing in the step: it reads the
flows that `Step` meters. For every reservoir of water and of heat it carries the amount from each
source.

**Mixing.** A reservoir is well mixed. With x the amounts by source in it at the start of a step, c
their shares at its end, and all flows of the step,

    (sum x + sum in) c = x + sum_outside in * (its own source) + sum_inside in * c_origin

The inflow mixes with the content before anything leaves, because the step itself is implicit. The
outflow, to a sink or to another reservoir, has the shares c. The reservoirs of a ledger are one
linear system of an M-matrix, solved for all sources together. The tags are linear in the sources
and never negative. They add up, because a row of the sum over sources is the balance of the
reservoir itself. Nothing ties the tags to the state. If their sum equals the content of the state,
the flows are complete (`Attribution.residual`).

**Flows that change sign.** An inflow brings its own source. When the flow turns, it has the shares
of the reservoir that it leaves, and goes to the sink of its name.

**Water** has a natural zero, no water, so every gram counts. Air that leaks in brings all its
vapor. Air that leaves carries vapor with the room's shares. Water that a store or the coil gives
back keeps its tags.

**Heat** has no natural zero. The heat in a kilogram of air, or in a slab, depends on the level from
which it is counted. That level also decides how far the sources mix and how much of them leaves
with the air. Each choice here leaves as little freedom as possible:

* *Water's enthalpy* is counted from condensate, the liquid that leaves. Vapor then carries the heat
  that the coil must remove to condense it. A drain carries no heat. The small warmth of sorbed
  water above condensate is in the fast mass.
* *Air that passes through* is counted from the room's own temperature at that moment, as in any
  load calculation. Air that leaks in at outdoor temperature and leaves at room temperature adds or
  removes the difference. Conduction is treated alike, because only its difference is known.
  (Counted from far below, all sensible heat would seem to come from outdoor air.)
* *Contents* (dry air, fast mass, slow mass) are counted from a zero 1 K below the lowest hourly
  level of each in the run. No content is then negative. A lower zero would add heat that never
  leaves, which would dilute and delay the tags. The 1 K allows for changes within an hour.
* `below` lowers both zeros by some kelvins, to show how far the split depends on them.

The vapor is a reservoir of heat as well as of water. Evaporation from a store or an idle wet coil
takes heat from the fast mass or the air into it, with the tags of that heat; sorption gives heat
to the fast mass with the tags of the vapor that carried it. Heat from strips that dried a wall is
still the strips' heat when the coil condenses the vapor. The vapor is as warm as the room. It
exchanges the heat that warms or cools it with the dry air. Only the dehumidifier's condensing heat
has a tag of its own, because the heat that machines add is the question. The vapor's heat ends in
the sink `dehumidifier`, and as much begins as the source `dehumidifier_condensing`.

**Vapor that never mixed with the room.** A dehumidifier may be in the ventilation's stream, or have
its inlet outdoors. It then draws vapor that came in within the same step (`Flow.straight`). This
vapor leaves under the ventilation's name, whatever the room's shares are.

**Spaces next to the house** (crawl space, attic, a second zone) are sources and sinks with their own
names. The tags do not look into them, nor into a second system.

A new flow is one line of `engine.column_catalog.FLOWS`, with its source and its sink. Only a flow
whose heat is split into parts, or that moves within the house, is declared here.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.compiled import compiled
from moistsim.engine.air_handler import CONDENSATE_ENTHALPY
from moistsim.engine.column_catalog import FLOWS
from moistsim.engine.metering import STEP_FIELDS
from moistsim.engine.records import State, ZoneParameters
from moistsim.engine.space_metering import SPACE_FIELDS
from moistsim.engine.zone import NOTHING, SORBED_ENTHALPY

CONDENSING = "dehumidifier_condensing"
"""Source of the heat that the dehumidifier's condensation gives back."""
INITIAL = "initial"
"""Source of the water and heat in the house at the start of the run."""
MARGIN = 1.0
"""Distance of the zero of a content below its lowest hourly level, K."""


class Flow(NamedTuple):
    """A flow between a reservoir and the outside, positive into the reservoir."""

    field: str
    """Name of a field of `Step` or of `Derived`."""
    reservoir: str
    """Reservoir that the flow enters or leaves."""
    source: str | None
    """Tag of the inflow; None if nothing ever flows in."""
    sink: str | None = None
    """Destination of the outflow; None if nothing ever flows out."""
    drives: str | None = None
    """Electricity (a field of `Step`) that the tags of this outflow share."""
    straight: tuple[str, str] | None = None
    """Field and source of the part that came in within the same step and leaves unmixed."""


class Move(NamedTuple):
    """Flow from one reservoir to another, negative in the other direction."""

    field: str
    """Name of a field of `Step` or of `Derived`."""
    origin: str
    """Reservoir that the flow leaves."""
    destination: str
    """Reservoir that the flow enters."""
    closes: bool = False
    """Whether the field is the content of the destination at the end of the step.

    The move then closes the balance of the destination. Such moves come last."""


class Ledger(NamedTuple):
    """Reservoirs, flows and moves of one quantity, water or heat."""

    reservoirs: tuple[str, ...]
    flows: tuple[Flow, ...]
    moves: tuple[Move, ...]

    @property
    def sources(self) -> tuple[str, ...]:
        """Every tag, in the order of the flows, and `INITIAL`."""
        brought = (f.source for f in self.flows if f.source)
        passed = (f.straight[1] for f in self.flows if f.straight)
        return (*dict.fromkeys((*brought, *passed)), INITIAL)

    @property
    def sinks(self) -> tuple[str, ...]:
        """Every way out, in the order of the flows."""
        return tuple(dict.fromkeys(f.sink for f in self.flows if f.sink))


class Derived(NamedTuple):
    """Rates calculated from those of a step, W; positive into the house, as in `Step`."""

    sensible_infiltration: float
    """Heat of dry air, counted from the room's temperature at the end of the step."""
    sensible_ventilation: float
    sensible_return_leak: float
    sensible_supply_leak: float
    """Heat of lost supply air. Air cooler than the room counts as heat brought in."""
    sensible_out: float
    """Zero unless the zero of heat is moved, because air leaves at the room's temperature."""
    breathing: float
    """Heat of dry air that came in and did not leave, at the room's temperature."""
    vapor_infiltration: float
    vapor_ventilation: float
    vapor_return_leak: float
    vapor_supply_leak: float
    vapor_out: float
    vapor_household: float
    sensible_coil: float
    vapor_coil: float
    vapor_dehumidifier: float
    condensing: float
    """Heat of condensation that the dehumidifier gives back to the air."""
    vapor_dehumidifier_straight: float
    """Part of `vapor_dehumidifier` that never mixed with the room."""
    warmth_run_off: float
    """Heat above condensate of water that runs off wet surfaces."""
    wetting: float
    """Heat from vapor to the fast mass, on wet surfaces."""
    settling: float
    """Heat above condensate of fog that settles on surfaces."""
    evaporated_store: float
    """Heat from the fast mass to vapor, from the stores, wet surfaces and new materials."""
    vapor_content: float
    """Heat in the vapor at the end of the step, J.
    The air gives the part that the flows leave open: the warmth of the vapor, and
    evaporation from an idle wet coil."""
    gains_air: float
    gains_fast: float
    sun_air: float
    sun_fast: float
    sun_slow: float
    sensible_opening: float
    vapor_opening: float
    vapor_ground: float
    warmth_construction: float
    """Heat above condensate of water in new materials."""


_STRAIGHT = {"water_dehumidifier": ("water_dehumidifier_straight", "ventilation")}

WATER = Ledger(
    reservoirs=(
        "air",
        "surface_store",
        "deep_store",
        "coil",
        "contents_store",
        "contents_deep_store",
        "film",
    ),
    flows=tuple(
        Flow(f.field, f.into, f.source, f.sink, straight=_STRAIGHT.get(f.field))
        for f in FLOWS
        if f.crosses == "water"
    ),
    moves=(
        Move("water_stored", "surface_store", "air"),
        Move("water_stored_deep", "deep_store", "surface_store"),
        Move("water_contents", "contents_store", "air"),
        Move("water_contents_deep", "contents_deep_store", "contents_store"),
        Move("water_coil", "coil", "air"),
        Move("water_reevaporated", "coil", "air"),
        Move("water_surfaces", "film", "air"),
        Move("water_fog", "film", "air"),
        Move("water_film", "film", "air"),
    ),
)
"""Ledger of water, kg, with every flow of the catalog that crosses its balance.
The sink `coil` is its drain."""

CARRIED: dict[str, dict[str, str]] = {
    "heat_infiltration": {
        "sensible_infiltration": "air", "vapor_infiltration": "vapor", "breathing": "air",
    },
    "heat_ventilation": {"sensible_ventilation": "air", "vapor_ventilation": "vapor"},
    "heat_out": {"sensible_out": "air", "vapor_out": "vapor", "breathing": "air"},
    "heat_return_leak": {
        "sensible_return_leak": "air", "vapor_return_leak": "vapor", "breathing": "air",
    },
    "heat_supply_leak": {
        "sensible_supply_leak": "air", "vapor_supply_leak": "vapor", "breathing": "air",
    },
    "heat_sun": {"sun_air": "air", "sun_fast": "fast_mass", "sun_slow": "slow_mass"},
    "heat_gains": {"gains_air": "air", "gains_fast": "fast_mass"},
    "heat_moisture": {"vapor_household": "vapor"},
    "heat_refrigerant": {"sensible_coil": "air", "vapor_coil": "vapor"},
    "heat_run_off": {"warmth_run_off": "fast_mass"},
    "heat_opening": {"sensible_opening": "air", "vapor_opening": "vapor"},
    "heat_ground_vapor": {"vapor_ground": "vapor"},
    "heat_construction": {"warmth_construction": "fast_mass"},
    # Condensate is the zero of water's enthalpy.
    "heat_drained": {},
    "heat_dehumidifier_drain": {},
}  # fmt: skip
"""Flows across the balance of energy whose heat is tagged in parts.
The parts are fields of `Derived`, each with its reservoir. A part has the source and the sink
of its flow, except for those of `_OTHERWISE`."""

_OTHERWISE = (
    Flow("breathing", "air", "infiltration", "air_out"),
    # Vapor that leaks out of supply ducts never brings any.
    Flow("vapor_supply_leak", "vapor", None, "ducts"),
    Flow("sensible_coil", "air", None, "coil_sensible", "compressor"),
    Flow("vapor_coil", "vapor", None, "coil_latent", "compressor"),
)


def _heat() -> Iterator[Flow]:
    """Flows of `HEAT`: those of the catalog, whole or in their parts."""
    apart = {flow.field for flow in _OTHERWISE}
    for flow in FLOWS:
        if flow.crosses == "energy":
            parts = CARRIED.get(flow.field, {flow.field: flow.into})
            for part, reservoir in parts.items():
                if part not in apart:
                    yield Flow(part, reservoir, flow.source, flow.sink)
    yield from _OTHERWISE
    yield Flow("condensing", "air", CONDENSING)
    yield Flow(
        "vapor_dehumidifier", "vapor", None, "dehumidifier", "dehumidifier",
        straight=("vapor_dehumidifier_straight", "ventilation"),
    )  # fmt: skip


def water_beside(spaces: tuple[str, ...]) -> Ledger:
    """`WATER` of a house with spaces next to it.

    Each space is a source and a sink with its own name. The tags do not look into a space: its air
    brings what it holds under the space's name.
    """
    flows = []
    for name in spaces:
        flows.append(Flow(f"{name}_water_to_house", "air", name))
        flows.append(Flow(f"{name}_water_from_house", "air", None, name))
    return WATER._replace(flows=(*WATER.flows, *flows))


HEAT = Ledger(
    reservoirs=("air", "fast_mass", "slow_mass", "vapor"),
    flows=tuple(_heat()),
    moves=(
        Move("heat_stored", "fast_mass", "air"),
        Move("heat_stored_deep", "slow_mass", "fast_mass"),
        Move("evaporated_store", "fast_mass", "vapor"),
        Move("wetting", "vapor", "fast_mass"),
        Move("settling", "vapor", "fast_mass"),
        Move("vapor_content", "air", "vapor", closes=True),
    ),
)
"""Ledger of heat, J.
Electricity that becomes heat in the house is a source with the name of its end use."""


def heat_beside(spaces: tuple[str, ...]) -> Ledger:
    """`HEAT` of a house with spaces next to it, see `water_beside`."""
    flows = []
    for name in spaces:
        flows.append(Flow(f"{name}_heat_partition", "air", name, name))
        flows.append(Flow(f"{name}_sensible_to_house", "air", name, name))
        flows.append(Flow(f"{name}_vapor_to_house", "vapor", name, name))
        flows.append(Flow(f"{name}_sensible_from_house", "air", name, name))
        flows.append(Flow(f"{name}_vapor_from_house", "vapor", None, name))
    return HEAT._replace(flows=(*HEAT.flows, *flows))


class DerivedBeside(NamedTuple):
    """Rates between house and a space, calculated from those of a step, W; as in `Derived`."""

    sensible_to_house: float
    """Heat of dry air that comes in, counted from the room's temperature."""
    vapor_to_house: float
    sensible_from_house: float
    """Heat of supply air for the space. Air cooler than the room counts as heat brought in."""
    vapor_from_house: float


def derived_fields(spaces: tuple[str, ...]) -> tuple[str, ...]:
    """Names of all rates that `derive` calculates, for a house with spaces."""
    beside = (f"{name}_{field}" for name in spaces for field in DerivedBeside._fields)
    return (*Derived._fields, *beside)


DRYING_HEAT = {
    "coil": [flow.source for flow in FLOWS if flow.dries == "coil" and flow.source],
    "dehumidifier": [
        *(flow.source for flow in FLOWS if flow.dries == "dehumidifier" and flow.source),
        CONDENSING,
    ],
}
"""Sources of the heat that drying adds to the house, by the machine that dries."""

FOLLOWS = {
    "vapor_dehumidifier": "water_dehumidifier",
    "condensing": "water_dehumidifier",
    "wetting": "water_surfaces",
    "settling": "water_fog",
}
"""Further fields of `Derived` that are zero whenever a field of `Step` is zero."""


def at_work(
    ledger: Ledger,
    hourly: NDArray[np.float64],
    held: NDArray[np.float64],
    fields: tuple[str, ...] = STEP_FIELDS,
) -> Ledger:
    """Part of a ledger that a run uses.

    Flows that are always zero and reservoirs that are always empty are dropped. The results equal
    those of the whole ledger, in less time.

    Parameters
    ----------
    hourly : array
        `Record.hourly`.
    held : array
        By reservoir and hour.
    fields : tuple of str
        Names of the columns of `hourly`.
    """
    idle = {name for name, column in zip(fields, hourly.T, strict=True) if not column.any()}
    carried_by: dict[str, set[str]] = {}
    for field, parts in (*CARRIED.items(), *((f, (d,)) for d, f in FOLLOWS.items())):
        for part in parts:
            carried_by.setdefault(part, set()).add(field)
    idle |= {part for part, fields in carried_by.items() if fields <= idle}
    # A machine may draw power and remove nothing. Its electricity is shared out too.
    flows = tuple(
        flow
        for flow in ledger.flows
        if flow.field not in idle or (flow.drives is not None and flow.drives not in idle)
    )
    moves = tuple(move for move in ledger.moves if move.field not in idle)
    touched = {flow.reservoir for flow in flows}.union(*({m.origin, m.destination} for m in moves))
    full: list[bool] = [bool(row.any()) for row in held]
    kept = tuple(
        name
        for name, filled in zip(ledger.reservoirs, full, strict=True)
        if filled or name in touched
    )
    return Ledger(kept, flows, moves)


class Table(NamedTuple):
    """Ledger as arrays for the compiled pass.

    Fields are numbered through `Step`, then `Derived`.
    """

    flow_field: NDArray[np.int64]
    """Number of the field of each flow."""
    flow_reservoir: NDArray[np.int64]
    """Number of the reservoir of each flow."""
    flow_source: NDArray[np.int64]
    """Number of the source of each flow; -1 for none."""
    flow_sink: NDArray[np.int64]
    """Number of the sink of each flow; -1 for none."""
    flow_drives: NDArray[np.int64]
    """Number of the field of electricity that each flow shares; -1 for none."""
    flow_straight: NDArray[np.int64]
    """Number of the field of the unmixed part of each flow; -1 for none."""
    flow_straight_source: NDArray[np.int64]
    """Number of the source of the unmixed part of each flow; -1 for none."""
    driving: NDArray[np.int64]
    """Numbers of the flows with electricity to share."""
    move_field: NDArray[np.int64]
    move_origin: NDArray[np.int64]
    move_destination: NDArray[np.int64]
    move_closes: NDArray[np.int64]


def table(
    ledger: Ledger, fields: tuple[str, ...] = STEP_FIELDS, spaces: tuple[str, ...] = ()
) -> Table:
    """Numbers in place of a ledger's names, for the compiled pass.

    Parameters
    ----------
    fields : tuple of str
        Names of the values of a step, as a trace holds them.
    spaces : tuple of str
        Spaces next to the house.
    """
    fields = (*fields, *derived_fields(spaces))
    columns: tuple[list[int], ...] = (
        [fields.index(f.field) for f in ledger.flows],
        [ledger.reservoirs.index(f.reservoir) for f in ledger.flows],
        [ledger.sources.index(f.source) if f.source else -1 for f in ledger.flows],
        [ledger.sinks.index(f.sink) if f.sink else -1 for f in ledger.flows],
        [fields.index(f.drives) if f.drives else -1 for f in ledger.flows],
        [fields.index(f.straight[0]) if f.straight else -1 for f in ledger.flows],
        [ledger.sources.index(f.straight[1]) if f.straight else -1 for f in ledger.flows],
        [b for b, f in enumerate(ledger.flows) if f.drives],
        [fields.index(m.field) for m in ledger.moves],
        [ledger.reservoirs.index(m.origin) for m in ledger.moves],
        [ledger.reservoirs.index(m.destination) for m in ledger.moves],
        [int(m.closes) for m in ledger.moves],
    )
    return Table(*(np.array(column, dtype=np.int64) for column in columns))


class Account(NamedTuple):
    """Amounts that a ledger carries and counts."""

    content: NDArray[np.float64]
    """Content by source and reservoir, kg or J."""
    brought: NDArray[np.float64]
    """Inflow by source, kg or J."""
    left: NDArray[np.float64]
    """Outflow by sink and source, kg or J."""
    driven: NDArray[np.float64]
    """Electricity by sink and by source of the outflow, J."""


def account(ledger: Ledger) -> Account:
    """Empty account of a ledger."""
    sources, sinks = len(ledger.sources), len(ledger.sinks)
    return Account(
        content=np.zeros((sources, len(ledger.reservoirs))),
        brought=np.zeros(sources),
        left=np.zeros((sinks, sources)),
        driven=np.zeros((sinks, sources)),
    )


def held(
    zone: ZoneParameters, state: State, zero: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Water (kg) and heat (J) in each reservoir of `WATER` and `HEAT` in a state, or in many.

    Parameters
    ----------
    zero : array
        Zeros of the contents of `HEAT`: degC for the air, J for the others.
    """
    t, water = state.indoor_temperature, state.zone_dry_air * state.indoor_humidity_ratio
    surface, deep = zone.surface_store * state.surface_rh, zone.deep_store * state.deep_rh
    contents = zone.contents_store * state.contents_rh
    contents_deep = zone.contents_deep_store * state.contents_deep_rh
    sorbed = surface + deep + contents + contents_deep + state.film
    heat = (
        (state.zone_dry_air * air.CP_DRY_AIR + zone.light_contents) * (t - zero[0]),
        zone.fast_capacity * state.fast_temperature
        + sorbed * (SORBED_ENTHALPY - CONDENSATE_ENTHALPY)
        - zero[1],
        zone.slow_capacity * state.slow_temperature - zero[2],
        water * (air.over(air.vapor_enthalpy, t) - CONDENSATE_ENTHALPY) - zero[3],
    )
    held_water = (water, surface, deep, state.coil_water, contents, contents_deep, state.film)
    return np.array(held_water), np.array(heat)


_DERIVED = len(Derived._fields)
(
    _T_END, _AIR_IN, _AIR_VENT, _AIR_OUT, _W_IN, _W_VENT, _W_OUT, _W_GAINS, _W_STORED,
    _W_DEHUMIDIFIER, _W_STRAIGHT, _W_SURFACES, _W_FOG, _W_FILM, _W_RUN_OFF, _H_IN, _H_VENT,
    _H_MOISTURE, _H_RUN_OFF,
    _H_GAINS, _H_SUN, _H_REFRIGERANT, _COIL_SENSIBLE, _AIR_BACK, _AIR_LOST, _W_BACK, _W_LOST,
    _H_BACK, _H_LOST, _W_CONTENTS, _AIR_OPEN, _W_OPEN, _H_OPEN, _W_GROUND, _H_GROUND, _W_NEW,
    _H_NEW,
) = (
    STEP_FIELDS.index(name)
    for name in (
        "indoor_temperature", "air_infiltration", "air_ventilation", "air_out",
        "water_infiltration", "water_ventilation", "water_out", "water_gains", "water_stored",
        "water_dehumidifier", "water_dehumidifier_straight", "water_surfaces", "water_fog",
        "water_film", "water_run_off", "heat_infiltration", "heat_ventilation", "heat_moisture",
        "heat_run_off", "heat_gains",
        "heat_sun", "heat_refrigerant", "coil_sensible", "air_return_leak", "air_supply_leak",
        "water_return_leak", "water_supply_leak", "heat_return_leak", "heat_supply_leak",
        "water_contents", "air_opening", "water_opening", "heat_opening", "water_ground",
        "heat_ground_vapor", "water_construction", "heat_construction",
    )
)  # fmt: skip


@compiled
def temperature_of(dry_air: float, water: float, heat: float, otherwise: float) -> float:
    """Dry bulb, degC, of a stream that is metered by its dry air, water and enthalpy."""
    if dry_air <= 0.0:
        return otherwise
    return air.temperature_at_enthalpy(heat / dry_air, water / dry_air)


_BESIDE, _SPACE, _DERIVED_BESIDE = len(STEP_FIELDS), len(SPACE_FIELDS), len(DerivedBeside._fields)
(
    _AIR_TO, _AIR_FROM, _W_TO, _W_FROM, _H_TO, _H_FROM,
) = (
    SPACE_FIELDS.index(f"{what}_{way}_house")
    for what in ("air", "water", "heat")
    for way in ("to", "from")
)  # fmt: skip


@compiled
def derive_beside(
    steps: NDArray[np.float64], k: int, t_end: float, below: float, rates: NDArray[np.float64]
) -> float:
    """Rates of dry air and vapor between house and spaces in a step, as `DerivedBeside`.

    Returns
    -------
    float
        Dry air from the spaces less that to them, kg/s.
    """
    into = 0.0
    # By the rates: a second system's columns follow those of the spaces.
    for j in range((rates.shape[1] - _DERIVED) // _DERIVED_BESIDE):
        first = _BESIDE + j * _SPACE
        air_to, air_from = steps[k, first + _AIR_TO], steps[k, first + _AIR_FROM]
        w_to, w_from = steps[k, first + _W_TO], steps[k, first + _W_FROM]
        t_to = temperature_of(air_to, w_to, steps[k, first + _H_TO], t_end)
        t_from = temperature_of(-air_from, -w_from, -steps[k, first + _H_FROM], t_end)
        values = DerivedBeside(
            sensible_to_house=air.CP_DRY_AIR * air_to * (t_to - t_end + below),
            vapor_to_house=w_to * (air.vapor_enthalpy(t_to) - CONDENSATE_ENTHALPY),
            sensible_from_house=air.CP_DRY_AIR * air_from * (t_from - t_end + below),
            vapor_from_house=w_from * (air.vapor_enthalpy(t_from) - CONDENSATE_ENTHALPY),
        )
        place = _DERIVED + j * _DERIVED_BESIDE
        for n in range(_DERIVED_BESIDE):
            rates[k, place + n] = values[n]
        into += air_to + air_from
    return into


@compiled
def derive(
    steps: NDArray[np.float64],
    contents: NDArray[np.float64],
    zone: ZoneParameters,
    start: float,
    air_zero: float,
    below: float,
    rates: NDArray[np.float64],
) -> None:
    """Rates of dry air and of vapor, W, from the meter of each step.

    Parameters
    ----------
    steps : array
        `Record.trace`, one row a step.
    contents : array
        Water in each reservoir at the end of each step, kg.
    start : float
        Room temperature before the first step, degC. Machines and stores act on the vapor at the
        start of a step.
    air_zero, below : float
        Zero of the air's content, degC, and the distance of passing air's zero below the room, K.
    rates : array
        Array to fill with `Derived`, one row a step, and with `DerivedBeside` for each space.
    """
    t = start
    for k in range(steps.shape[0]):
        t_end = steps[k, _T_END]
        air_in, air_vent, air_out = steps[k, _AIR_IN], steps[k, _AIR_VENT], steps[k, _AIR_OUT]
        w_in, w_vent = steps[k, _W_IN], steps[k, _W_VENT]
        t_in = temperature_of(air_in, w_in, steps[k, _H_IN], t_end)
        air_open, w_open = steps[k, _AIR_OPEN], steps[k, _W_OPEN]
        t_open = temperature_of(air_open, w_open, steps[k, _H_OPEN], t_end)
        evaporated = (
            steps[k, _W_STORED] + steps[k, _W_CONTENTS] + steps[k, _W_NEW] + steps[k, _W_FILM]
        )
        t_vent = temperature_of(air_vent, w_vent, steps[k, _H_VENT], t_end)
        air_back, air_lost = steps[k, _AIR_BACK], steps[k, _AIR_LOST]
        w_back, w_lost = steps[k, _W_BACK], steps[k, _W_LOST]
        t_back = temperature_of(air_back, w_back, steps[k, _H_BACK], t_end)
        t_lost = temperature_of(-air_lost, -w_lost, -steps[k, _H_LOST], t_end)
        vapor = air.vapor_enthalpy(t) - CONDENSATE_ENTHALPY
        vapor_end = air.vapor_enthalpy(t_end) - CONDENSATE_ENTHALPY
        dehumidifier = steps[k, _W_DEHUMIDIFIER] * vapor
        gains_air = steps[k, _H_GAINS] * zone.gains_to_air
        sun_air = steps[k, _H_SUN] * zone.sun_to_air
        sun_fast = steps[k, _H_SUN] * zone.sun_to_fast
        beside = derive_beside(steps, k, t_end, below, rates)
        values = Derived(
            sensible_infiltration=air.CP_DRY_AIR * air_in * (t_in - t_end + below),
            sensible_ventilation=air.CP_DRY_AIR * air_vent * (t_vent - t_end + below),
            sensible_out=air.CP_DRY_AIR * air_out * below,
            sensible_return_leak=air.CP_DRY_AIR * air_back * (t_back - t_end + below),
            sensible_supply_leak=air.CP_DRY_AIR * air_lost * (t_lost - t_end + below),
            breathing=air.CP_DRY_AIR
            * (air_in + air_vent + air_open + air_out + air_back + air_lost + beside)
            * (t_end - air_zero - below),
            vapor_infiltration=w_in * (air.vapor_enthalpy(t_in) - CONDENSATE_ENTHALPY),
            vapor_ventilation=w_vent * (air.vapor_enthalpy(t_vent) - CONDENSATE_ENTHALPY),
            vapor_return_leak=w_back * (air.vapor_enthalpy(t_back) - CONDENSATE_ENTHALPY),
            vapor_supply_leak=w_lost * (air.vapor_enthalpy(t_lost) - CONDENSATE_ENTHALPY),
            vapor_out=steps[k, _W_OUT] * vapor_end,
            vapor_household=steps[k, _H_MOISTURE] - steps[k, _W_GAINS] * CONDENSATE_ENTHALPY,
            sensible_coil=-steps[k, _COIL_SENSIBLE],
            vapor_coil=steps[k, _H_REFRIGERANT] + steps[k, _COIL_SENSIBLE],
            vapor_dehumidifier=dehumidifier,
            condensing=-dehumidifier,
            vapor_dehumidifier_straight=steps[k, _W_STRAIGHT] * vapor,
            warmth_run_off=steps[k, _H_RUN_OFF] - steps[k, _W_RUN_OFF] * CONDENSATE_ENTHALPY,
            wetting=-steps[k, _W_SURFACES] * vapor,
            settling=-steps[k, _W_FOG] * (SORBED_ENTHALPY - CONDENSATE_ENTHALPY),
            evaporated_store=evaporated * vapor,
            vapor_content=contents[k, 0] * vapor_end,
            gains_air=gains_air,
            gains_fast=steps[k, _H_GAINS] - gains_air,
            sun_air=sun_air,
            sun_fast=sun_fast,
            sun_slow=steps[k, _H_SUN] - sun_air - sun_fast,
            sensible_opening=air.CP_DRY_AIR * air_open * (t_open - t_end + below),
            vapor_opening=w_open * (air.vapor_enthalpy(t_open) - CONDENSATE_ENTHALPY),
            vapor_ground=steps[k, _H_GROUND] - steps[k, _W_GROUND] * CONDENSATE_ENTHALPY,
            warmth_construction=steps[k, _H_NEW] - steps[k, _W_NEW] * CONDENSATE_ENTHALPY,
        )
        for j in range(_DERIVED):
            rates[k, j] = values[j]
        t = t_end


@compiled
def invert(a: NDArray[np.float64]) -> None:
    """Put the inverse of an M-matrix of the reservoirs in its place, with zeros for empty ones.

    Gauss and Jordan without pivoting, which an M-matrix does not need.
    """
    count = a.shape[0]
    for p in range(count):
        scale = 1.0 / a[p, p] if a[p, p] > NOTHING else 0.0
        a[p, p] = 1.0
        for j in range(count):
            a[p, j] *= scale
        for i in range(count):
            factor = a[i, p]
            if i != p and factor != 0.0:
                a[i, p] = 0.0
                for j in range(count):
                    a[i, j] -= factor * a[p, j]


@compiled(allocates=True)
def carry(
    steps: NDArray[np.float64],
    rates: NDArray[np.float64],
    dt: float,
    table: Table,
    account: Account,
    contents: NDArray[np.float64],
) -> None:
    """Carry the tags of a ledger through steps by the equations at the top of the file.

    Parameters
    ----------
    steps : array
        `Record.trace`, one row a step.
    rates : array
        `Derived`, one row a step; without columns for a ledger that does not need it.
    contents : array
        Array to fill with the content of each reservoir at the end of each step.
    """
    # Local names: reaching into a named tuple of arrays costs atomic counts.
    flow_field, flow_reservoir, flow_source = (
        table.flow_field, table.flow_reservoir, table.flow_source,
    )  # fmt: skip
    flow_sink, flow_drives, driving = table.flow_sink, table.flow_drives, table.driving
    flow_straight, flow_straight_source = table.flow_straight, table.flow_straight_source
    move_field, move_origin = table.move_field, table.move_origin
    move_destination, move_closes = table.move_destination, table.move_closes
    content, brought, left, driven = account
    sources, flows, width = content.shape[0], flow_field.shape[0], steps.shape[1]
    reservoirs = content.shape[1]
    total, out = np.zeros(reservoirs), np.zeros(reservoirs)
    shares, system = np.zeros((reservoirs, sources)), np.zeros((reservoirs, reservoirs))
    amounts, leaving = np.zeros(flows), np.zeros(flows, dtype=np.int64)
    # Share of the outflow that came in within the step and did not mix.
    straight = np.zeros(flows)
    # Ordered by reservoir, to keep the sources of one next to each other in memory.
    held = np.zeros((reservoirs, sources))
    for i in range(reservoirs):
        for s in range(sources):
            held[i, s] = content[s, i]
            total[i] += content[s, i]
    for k in range(steps.shape[0]):
        # The diagonal is the content at the start and all inflow.
        for i in range(reservoirs):
            for j in range(reservoirs):
                system[i, j] = 0.0
            system[i, i] = total[i]
            out[i] = 0.0
        outflows = 0
        for b in range(flows):
            f = flow_field[b]
            amount = dt * (steps[k, f] if f < width else rates[k, f - width])
            amounts[b], straight[b] = amount, 0.0
            i = flow_reservoir[b]
            if amount > 0.0:
                s = flow_source[b]
                if s >= 0:
                    system[i, i] += amount
                    held[i, s] += amount
                    brought[s] += amount
            elif amount < 0.0 and flow_sink[b] >= 0:
                out[i] -= amount
                leaving[outflows] = b
                outflows += 1
                f = flow_straight[b]
                if f >= 0:
                    passed = -dt * (steps[k, f] if f < width else rates[k, f - width])
                    straight[b] = passed / -amount
                    system[i, i] -= passed
                    held[i, flow_straight_source[b]] -= passed
                    out[i] -= passed
        for m in range(move_field.shape[0]):
            f = move_field[m]
            amount = steps[k, f] if f < width else rates[k, f - width]
            i, j = move_origin[m], move_destination[m]
            amount = amount - system[j, j] + out[j] if move_closes[m] else amount * dt
            if amount < 0.0:
                i, j, amount = j, i, -amount
            system[j, j] += amount
            out[i] += amount
            system[j, i] -= amount
        for i in range(reservoirs):
            total[i] = system[i, i] - out[i]
            contents[k, i] = total[i]
        invert(system)
        for i in range(reservoirs):
            for s in range(sources):
                shares[i, s] = system[i, 0] * held[0, s]
            for j in range(1, reservoirs):
                factor = system[i, j]
                for s in range(sources):
                    shares[i, s] += factor * held[j, s]
        for i in range(reservoirs):
            for s in range(sources):
                held[i, s] = shares[i, s] * total[i]
        for n in range(outflows):
            b = leaving[n]
            sink, i, amount = flow_sink[b], flow_reservoir[b], -amounts[b]
            if straight[b] > 0.0:
                left[sink, flow_straight_source[b]] += amount * straight[b]
                amount *= 1.0 - straight[b]
            for s in range(sources):
                left[sink, s] += amount * shares[i, s]
        for n in range(driving.shape[0]):
            b = driving[n]
            use = flow_drives[b]
            if steps[k, use] <= 0.0:
                continue
            taken, together = 0.0, 0.0
            for other in range(driving.shape[0]):
                if flow_drives[driving[other]] == use:
                    taken += max(-amounts[driving[other]], 0.0)
                    together += 1.0
            # Electricity of a machine that removes nothing has the shares of its reservoir.
            part = max(-amounts[b], 0.0) / taken if taken > 0.0 else 1.0 / together
            energy = dt * steps[k, use] * part
            sink, i = flow_sink[b], flow_reservoir[b]
            if straight[b] > 0.0:
                driven[sink, flow_straight_source[b]] += energy * straight[b]
                energy *= 1.0 - straight[b]
            for s in range(sources):
                driven[sink, s] += energy * shares[i, s]
    for i in range(reservoirs):
        for s in range(sources):
            content[s, i] = held[i, s]
