"""Bodies of air that are solved together: closed forms, limits, symmetry, and how they settle.

Closed form: bodies of air that exchange air both ways and heat through a wall, and do nothing else,
follow m_i dW_i/dt = sum F_ij (W_j - W_i) and m_i c_i dt_i/dt = sum (F_ij c_j + U_ij) (t_j - t_i). This is
a linear system of textbooks, which scipy's matrix exponential solves.
"""

from typing import Any, NamedTuple

import numpy as np
import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.linalg import expm
from scipy.optimize import brentq
from support import houses
from support.machines import machines
from support.values import floats
from support.weathers import sample, stretch

import moistsim as ms
from moistsim import air
from moistsim.engine import room, spaces
from moistsim.engine.air_exchange import Exchange
from moistsim.engine.forcing_tables import Place
from moistsim.engine.outset import Spaces
from moistsim.engine.records import (
    DehumidifierParameters,
    DuctParameters,
    Minute,
    Path,
    SpaceParameters,
    Volume,
    ZoneParameters,
)
from moistsim.engine.rows import flat
from moistsim.engine.ventilating import OutdoorAir
from moistsim.engine.zone import HeatSources, Inflow, stores_at

P = air.STANDARD_PRESSURE
NOTHING = dict.fromkeys(ZoneParameters._fields, 0.0)
SETTLE_SPACES = getattr(spaces.settle_spaces, "py_func", spaces.settle_spaces)
"""The plain Python of a compiled function."""


def zone_of(volume: float, **fields: float) -> ZoneParameters:
    """Air alone; a mass without capacity follows it."""
    still = {"volume": volume, "air_to_fast": 1.0, "air_weight": 1.0, "leakage_exponent": 0.65}
    return ZoneParameters(**{**NOTHING, **still, **fields})


def volume_at(zone: ZoneParameters, t: float, w: float) -> Volume:
    """State of a body of air at a temperature and humidity ratio."""
    dry_air = zone.volume * float(air.dry_air_density(t, w, P))
    return Volume(t, w, dry_air, t, float(air.saturation_pressure(t)), t, 0.5, 0.5, 0.5, 0.5, 0.0)


def path(conductance: float = 0.0, mixing: float = 0.0) -> Path:
    return Path(conductance, 0.0, 0.0, 0.0, 1.0, mixing, 0.0)


class Next(NamedTuple):
    """A space next to the house: parameters, start, and outdoor air by wind, m3/s."""

    zone: ZoneParameters
    house: Path
    start: tuple[float, float]
    second: Path = path()
    conditioned: float = 0.0
    soil: float = 0.0
    wind: float = 0.0


def together(
    zone: ZoneParameters,
    start: tuple[float, float],
    beside: list[Next],
    *,
    outdoors: tuple[float, float],
    steps: int,
    dt: float,
    leaked: float = 0.0,
) -> NDArray[np.float64]:
    """Temperature and humidity ratio of every body at the end of each step, (steps, bodies, 2)."""
    n = len(beside)
    parameters = [
        SpaceParameters(
            each.zone, each.house, each.second, each.conditioned, 0.0, 0.0, each.soil,
            DehumidifierParameters(*(0.0 for _ in DehumidifierParameters._fields)),
        )
        for each in beside
    ]  # fmt: skip
    states = np.zeros((n, spaces.N_SPACE_STATE))
    for k, each in enumerate(beside):
        states[k, : len(Volume._fields)] = volume_at(each.zone, *each.start)
    t_out, w_out = outdoors
    nodes = np.full((2, spaces.FIRST_NODE + n * spaces.N_NODE), t_out)
    nodes[:, spaces.FIRST_NODE + 1 :: spaces.N_NODE] = 0.0
    hours = np.zeros((1, spaces.FIRST_HOUR + n * spaces.N_HOUR))
    for k, each in enumerate(beside):
        hours[0, spaces.FIRST_HOUR + k * spaces.N_HOUR :][:2] = t_out, each.wind
    table = Spaces(
        np.array([flat(each) for each in parameters]), states, spaces.work_space(n), nodes, hours,
        np.zeros((1, spaces.FIRST_FIELD + n * spaces.N_FIELDS)), np.zeros((0, 0)),
    )  # fmt: skip
    now, found = volume_at(zone, *start), []
    for _ in range(steps):
        end = SETTLE_SPACES(
            zone, now, stores_at(zone, now, P, dt), 0.0, exchange(outdoors, leaked), IDLE,
            spaces.Blown(Inflow(0.0, 0.0, 0.0), 0.0, Inflow(0.0, 0.0, 0.0), 0.0),
            DuctParameters(*(0.0 for _ in DuctParameters._fields)), minute(outdoors), 0.0, table, None,
            Place(0, 0, 0.5, 0), dt,
        )  # fmt: skip
        now = after(now, end)
        found.append([now[:2], *(row[:2] for row in table.states.tolist())])
    return np.array(found)


def alone(
    zone: ZoneParameters,
    start: tuple[float, float],
    *,
    outdoors: tuple[float, float],
    steps: int,
    dt: float,
    leaked: float = 0.0,
) -> NDArray[np.float64]:
    """Temperature and humidity ratio of one body, solved by the zone's own equations."""
    now, found = volume_at(zone, *start), []
    for _ in range(steps):
        # The state's names differ from those of a volume, and `settle_room` reads just these.
        state: Any = STATE(*now)
        end = room.settle_room(
            zone, state, stores_at(zone, now, P, dt), 0.0, exchange(outdoors, leaked), IDLE,
            minute(outdoors), dt,
        )  # fmt: skip
        now = after(now, end)
        found.append(now[:2])
    return np.array(found)


STATE = NamedTuple(  # type: ignore[misc]
    "STATE",
    [
        (name, float)
        for name in (
            "indoor_temperature", "indoor_humidity_ratio", "zone_dry_air", "fast_temperature",
            "fast_saturation", "slow_temperature", "surface_rh", "deep_rh", "contents_rh",
            "contents_deep_rh", "film",
        )
    ],
)  # fmt: skip
IDLE = room.Acting(0.0, HeatSources(0.0, 0.0, 0.0), 0.0, 0.0, 0.0, 0.0)


def after(before: Volume, end: room.RoomEnd) -> Volume:
    """State of the house's zone at the end of a step."""
    return before._replace(
        temperature=end.air.temperature,
        humidity_ratio=end.air.humidity_ratio,
        dry_air=end.dry_air,
        fast_temperature=end.heat.fast_temperature,
        fast_saturation=float(air.saturation_pressure(end.heat.fast_temperature)),
        slow_temperature=end.heat.slow_temperature,
    )


def exchange(outdoors: tuple[float, float], leaked: float) -> Exchange:
    by_leaks = OutdoorAir(*(0.0 for _ in OutdoorAir._fields))._replace(leaked=leaked)
    return Exchange(by_leaks, 0.0, 0.0, float(air.enthalpy(*outdoors)))


def minute(outdoors: tuple[float, float]) -> Minute:
    t, w = outdoors
    density = float(air.dry_air_density(t, w, P))
    return Minute(t, w, t, 0.0, P, 0.0, density, 0.0, 0.0, 12.0, 7.0, t, t, 0.0, 0.0)


# --- Closed form ----------------------------------------------------------------------------------

MEAN = (25.0, 0.010)
DENSITY = float(air.dry_air_density(*MEAN, P))
CP = air.CP_DRY_AIR + air.CP_VAPOR * MEAN[1]
# So small a difference that the breathing of warming air, second order, is below 1e-5 of it.
STARTS = np.array([[25.001, 0.01001], [24.999, 0.00999], [25.000, 0.01002]])
VOLUMES = np.array([300.0, 100.0, 60.0])
FLOWS = DENSITY * np.array([[0.0, 0.04, 0.01], [0.04, 0.0, 0.02], [0.01, 0.02, 0.0]])
WALLS = np.array([[0.0, 60.0, 20.0], [60.0, 0.0, 35.0], [20.0, 35.0, 0.0]])


def exact(bodies: int, seconds: NDArray[np.float64]) -> NDArray[np.float64]:
    """Matrix exponential of each system, (times, bodies, 2)."""
    mass = DENSITY * VOLUMES[:bodies]
    flows, walls = FLOWS[:bodies, :bodies], WALLS[:bodies, :bodies]

    def system(links: NDArray[np.float64], capacity: NDArray[np.float64]) -> NDArray[np.float64]:
        return (links - np.diag(links.sum(axis=1))) / capacity[:, None]

    of_heat, of_water = system(flows * CP + walls, mass * CP), system(flows, mass)
    return np.array(
        [
            np.column_stack(
                [
                    expm(of_heat * s) @ STARTS[:bodies, 0],
                    expm(of_water * s) @ STARTS[:bodies, 1],
                ]
            )
            for s in seconds
        ]
    )


def bodies_of_air(bodies: int, dt: float, seconds: float) -> NDArray[np.float64]:
    """The same by the engine: a house, and a space; or a house, a second zone and a space."""
    zones = [zone_of(volume) for volume in VOLUMES]

    def way(i: int, j: int) -> Path:
        return path(WALLS[i, j], FLOWS[i, j] / DENSITY)

    beside = [Next(zones[1], way(0, 1), tuple(STARTS[1]), conditioned=float(bodies == 3))]
    if bodies == 3:
        beside.append(Next(zones[2], way(0, 2), tuple(STARTS[2]), second=way(1, 2)))
    return together(
        zones[0], tuple(STARTS[0]), beside, outdoors=MEAN, steps=round(seconds / dt), dt=dt
    )


@pytest.mark.parametrize("bodies", [2, 3])
def test_bodies_of_air_follow_the_matrix_exponential(bodies: int) -> None:
    """The error halves with the step, and at 1 s is below 0.2 % of the differences at the start.

    Tolerances by hand: an implicit step errs by at most dt / (2 e tau) of a mode; the shortest time
    constant here is of 60 m3, 71 kg x 1025 J/(kg K) over 55 + 37 W/K, about 790 s for heat alone: 1 s costs
    0.02 %, for three bodies twice as much at most.
    """
    errors = []
    for dt in (8.0, 4.0, 2.0, 1.0):
        found = bodies_of_air(bodies, dt, 2400.0)
        times = dt * np.arange(1, len(found) + 1)
        every = slice(round(240.0 / dt) - 1, None, round(240.0 / dt))
        gap = np.abs(found[every] - exact(bodies, times[every]))
        errors.append(gap.max(axis=(0, 1)) / np.ptp(STARTS[:bodies], axis=0))
    ratios = np.array(errors[:-1]) / np.array(errors[1:])
    print(f"errors {errors[-1]}, ratios {ratios.round(3).tolist()}")
    np.testing.assert_allclose(ratios, 2.0, atol=0.1)
    assert (errors[-1] < 2e-3).all()


@settings(max_examples=30)
@given(
    # Warm enough to hold its water: heat of condensation would overshoot the ends.
    first=st.tuples(floats(18.0, 40.0), floats(0.001, 0.012)),
    other=st.tuples(floats(18.0, 40.0), floats(0.001, 0.012)),
    conductance=floats(0.0, 500.0), mixing=floats(0.0, 0.5), leaked=st.sampled_from([0.0, 0.02]),
)  # fmt: skip
def test_it_does_not_matter_which_body_is_called_the_house(
    first: tuple[float, float], other: tuple[float, float], conductance: float, mixing: float,
    leaked: float,
) -> None:  # fmt: skip
    """House and space trade places, and their outdoor air with them."""
    one, two = zone_of(300.0), zone_of(120.0, stack=0.0)
    outdoors, way = (20.0, 0.008), path(conductance, mixing)
    density = float(air.dry_air_density(*outdoors, P))
    here = together(
        one, first, [Next(two, way, other)], outdoors=outdoors, steps=5, dt=60.0,
        leaked=leaked * density,
    )  # fmt: skip
    there = together(
        two, other, [Next(one, way, first, wind=leaked)], outdoors=outdoors, steps=5, dt=60.0
    )
    np.testing.assert_allclose(here, there[:, ::-1], rtol=1e-9)
    # Between the ends, and nothing overshoots.
    for part in range(2):
        ends = (first[part], other[part], outdoors[part])
        assert (
            min(ends) - 1e-9 <= here[..., part].min() <= here[..., part].max() <= max(ends) + 1e-9
        )


# --- Limits ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("bodies", [1, 2])
def test_a_space_without_any_way_to_the_house_changes_nothing(bodies: int) -> None:
    zone, outdoors = zone_of(300.0, windows=80.0), (5.0, 0.004)
    at: dict[str, Any] = {"outdoors": outdoors, "steps": 30, "dt": 60.0, "leaked": 0.05}
    apart = [Next(zone_of(50.0), path(), (35.0, 0.02), soil=1e-8, wind=0.01)] * bodies
    both, one = together(zone, (22.0, 0.008), apart, **at), alone(zone, (22.0, 0.008), **at)
    np.testing.assert_allclose(both[:, 0], one, rtol=1e-12)


def test_a_space_that_is_outdoors_is_outdoors() -> None:
    """Behind vents of 1e5 m3/s a partition of 80 W/K is a window, and mixing is infiltration.

    The house has leaks too: air that it lacks as it cools is not added to what is mixed.
    """
    outdoors, mixed, leaked, steps = (5.0, 0.004), 0.03, 0.02, 30
    density = float(air.dry_air_density(*outdoors, P))
    shed = Next(zone_of(50.0), path(80.0, mixed), outdoors, wind=1e5)
    both = together(
        zone_of(300.0),
        (22.0, 0.008),
        [shed],
        outdoors=outdoors,
        steps=steps,
        dt=60.0,
        leaked=leaked,
    )
    one = alone(
        zone_of(300.0, windows=80.0), (22.0, 0.008), outdoors=outdoors, steps=steps, dt=60.0,
        leaked=leaked + mixed * density,
    )  # fmt: skip
    # 80 W/K and 36 W/K of mixing against 1.2e8 W/K of vents.
    np.testing.assert_allclose(both[:, 0], one, rtol=1e-5)
    np.testing.assert_allclose(both[:, 1], [outdoors] * steps, rtol=1e-5)


def test_a_space_with_the_houses_air_is_one_room_with_it() -> None:
    """Mixing of 1e4 m3/s: two volumes, each with leaks for its part, behave as one of their sum."""
    outdoors, parts = (5.0, 0.004), (300.0, 100.0)
    density = float(air.dry_air_density(*outdoors, P))
    at: dict[str, Any] = {"outdoors": outdoors, "steps": 30, "dt": 60.0}
    both = together(
        zone_of(parts[0], windows=80.0), (22.0, 0.008),
        [Next(zone_of(parts[1]), path(0.0, 1e4), (22.0, 0.008), wind=0.01 / density)],
        leaked=0.04, **at,
    )  # fmt: skip
    one = alone(zone_of(sum(parts), windows=80.0), (22.0, 0.008), leaked=0.05, **at)
    np.testing.assert_allclose(both[:, 0], one, rtol=1e-4)
    np.testing.assert_allclose(both[:, 1], one, rtol=1e-4)


@pytest.mark.parametrize("place", ["miami", "sand_point"])
def test_a_garage_that_touches_nothing_leaves_the_house_as_it_is(place: str) -> None:
    """By the two compiled loops: a house with spaces has another than one without."""
    apart = ms.Garage(shared_wall_area=0.0, leak_share=0.0)
    next_to, without = (
        ms.simulate(
            houses.house(garage=garage), machines(), ms.strategies.staged_reheat,
            stretch(place, 190, 10), spin_up="2 day",
        ).hourly
        for garage in (apart, None)
    )  # fmt: skip
    np.testing.assert_allclose(next_to[without.columns], without, rtol=1e-9, atol=1e-9)


# --- How spaces settle ----------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.parametrize("place", ["miami", "greensboro", "sand_point"])
@pytest.mark.parametrize("below", ["vented", "closed", "basement"])
def test_a_year_of_minutes_neither_swings_nor_stays_supersaturated(place: str, below: str) -> None:
    """No RH that turns by more than 0.5 points in three minutes on end, none above 100 % for two.

    Water in air above saturation condenses on surfaces, half of the excess a step, as long as a
    surface is colder than the air's dew point; air alone may be above 100 % for a step.
    """
    under: dict[str, Any] = {"basement": ms.Basement()}
    if below != "basement":
        under = {"crawl_space": ms.CrawlSpace(kind=below)}
    attic = ms.Attic(kind="sealed" if below == "closed" else "vented")
    season = ms.simulate(
        ms.House(
            floor_area="1600 ft2", ach50=7.0, attic=attic, garage=ms.Garage(), **under,
            ducts=ms.Ducts(location=("basement" if below == "basement" else "crawl space"),
                           supply_leakage=0.08, return_leakage=0.06),
        ),
        machines(), ms.strategies.temperature_only, sample(place), spin_up="10 day",
    )  # fmt: skip
    names = [f"{name}_{what}" for name in season._machine.spaces for what in ("rh", "surface_rh")]
    minutes = season.steps(*names)
    for name, rh in minutes.items():
        over = rh.to_numpy() > 1.0
        assert not (over[1:] & over[:-1]).any(), name
        moves = np.diff(rh.to_numpy())
        turns = (moves[1:] * moves[:-1] < 0.0) & (np.abs(moves[1:]) > 0.005)
        turns &= np.abs(moves[:-1]) > 0.005
        assert not (turns[1:] & turns[:-1]).any(), name
        print(f"{place} {below} {name}: {rh.min():.2f} to {rh.max():.3f}")


# --- Saturated air --------------------------------------------------------------------------------


def fog_by_hand(t: float, w: float) -> tuple[float, float]:
    """State in which wet air ends that loses its fog as water of 20 degC, by PsychroLib alone.

    h + (w - w') 4186 * 20 stays, and w' is that of saturation (ASHRAE Handbook Fundamentals 2017,
    chapter 1, as PsychroLib has it).
    """
    psychrolib.SetUnitSystem(psychrolib.SI)

    def off(end: float) -> float:
        held = psychrolib.GetSatHumRatio(end, P)
        before, after = (
            psychrolib.GetMoistAirEnthalpy(t, w),
            psychrolib.GetMoistAirEnthalpy(end, held) + (w - held) * 4186.0 * 20.0,
        )
        return float(after - before)

    end = brentq(off, t, t + 40.0, xtol=1e-12)
    return end, float(psychrolib.GetSatHumRatio(end, P))


@pytest.mark.parametrize(("t", "w"), [(20.0, 0.020), (35.0, 0.045), (-15.0, 0.004), (2.0, 0.02)])
def test_air_beyond_saturation_ends_at_it_with_the_heat_of_its_fog(t: float, w: float) -> None:
    end = alone(zone_of(200.0), (t, w), outdoors=(t, 0.001), steps=1, dt=60.0)[0]
    expected = fog_by_hand(t, w)
    print(f"{t} degC, {w}: {end}, by hand {expected}")
    np.testing.assert_allclose(end, expected, rtol=2e-5)
    assert air.relative_humidity(*end, P) == pytest.approx(1.0, abs=1e-8)


@pytest.mark.parametrize("mixing", [0.0, 0.02, 20.0])
def test_fog_in_two_bodies_is_that_of_each_alone_or_of_both_mixed(mixing: float) -> None:
    """Without exchange each ends as by hand. With much, they end nearly as one; both keep water and heat."""
    one, two = zone_of(200.0), zone_of(100.0)
    first, other = (20.0, 0.020), (28.0, 0.030)
    ends = together(
        one,
        first,
        [Next(two, path(mixing=mixing), other)],
        outdoors=(20.0, 0.001),
        steps=1,
        dt=60.0,
    )[0]
    for end in ends:
        assert air.relative_humidity(*end, P) == pytest.approx(1.0, abs=1e-8)
    dry_air = np.array([volume_at(zone, *at).dry_air for zone, at in ((one, first), (two, other))])
    liquid = 4186.0 * 20.0
    # Less the enthalpy that its water would take along as fog.
    held = np.array([air.enthalpy(*at) - at[1] * liquid for at in (first, other)])
    left = np.array([air.enthalpy(*at) - at[1] * liquid for at in ends])
    if mixing == 0.0:
        np.testing.assert_allclose(left, held, rtol=1e-8)
        np.testing.assert_allclose(ends, [fog_by_hand(*first), fog_by_hand(*other)], rtol=2e-5)
    elif mixing == 20.0:
        assert abs(ends[0][0] - ends[1][0]) < 0.5
        # The warming bodies breathe out some air while they mix.
        np.testing.assert_allclose(dry_air @ left, dry_air @ held, rtol=5e-3)


@settings(max_examples=50)
@given(
    first=st.tuples(floats(-30.0, 45.0), floats(0.05, 2.0)),
    other=st.tuples(floats(-30.0, 45.0), floats(0.05, 2.0)),
    conductance=floats(0.0, 500.0), mixing=floats(0.0, 2.0), outdoors=st.tuples(floats(-30.0, 45.0), floats(0.0, 0.05)),
)  # fmt: skip
def test_no_body_ends_beyond_saturation(
    first: tuple[float, float], other: tuple[float, float], conductance: float, mixing: float,
    outdoors: tuple[float, float],
) -> None:  # fmt: skip
    """From air with up to twice the water that it can hold; a step begins with once at most.

    With more than three times as much, the solution may not be found. A run is an error then
    (`season.possible`).
    """

    def air_of(start: tuple[float, float]) -> tuple[float, float]:
        t, share = start
        return t, min(0.05, share * air.saturation_humidity_ratio(t, P))

    ends = together(
        zone_of(300.0), air_of(first), [Next(zone_of(40.0), path(conductance, mixing), air_of(other), wind=0.1)],
        outdoors=outdoors, steps=4, dt=60.0, leaked=0.05,
    )  # fmt: skip
    for t, w in ends.reshape(-1, 2):
        assert air.relative_humidity(t, w, P) <= 1.0 + 1e-8
