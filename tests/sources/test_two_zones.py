"""Sources: textbook linear systems; Brown & Solvason (1962); stack flow in houses of two stories.

* Two bodies of air with a conductance and an exchange of air between them, against the exact
  exponential of the 2 x 2 linear system (scipy's matrix exponential). Matrices are written down from
  the physics.
* The exchange through an open doorway: C_d/3 W H^1.5 sqrt(g dT / T) each way (Brown & Solvason 1962,
  Int. J. Heat Mass Transfer 5; ASHRAE Fundamentals ch. 16; from memory).
* The stack in a house of two stories: in cold weather outdoor air enters the lower floor, rises and
  leaves through the upper one; in a house cooler than outdoors it falls (ASHRAE Fundamentals ch. 16;
  from memory).

Tolerances: a zone's air breathes as it warms, so its mass, taken as constant here, changes by dT / T;
the steps are implicit, which is first order.
"""

import math
from typing import Any

import numpy as np
import pytest
from scipy.linalg import expm
from support import houses, weathers

import moistsim as ms
from moistsim import air

START, RH = 23.0, 0.5
W = float(air.humidity_ratio_at(START, RH, air.STANDARD_PRESSURE))
DENSITY = float(air.dry_air_density(START, W, air.STANDARD_PRESSURE))
CP = 1006.0 + 1860.0 * W
VAPOR = 2.501e6 + 1860.0 * 33.0
"""Enthalpy of the household's vapor, J/kg."""


def two_bodies(**changes: Any) -> ms.House:
    """Two bodies of air without mass or stores, of 60 and 40 m2, with a closed door between them."""
    zone = {"kind": "wing", "share": 0.4, "opening_width": 0.0, "partition_u": 0.0, "mixing": 0.0}
    zone |= changes.pop("second_zone", {})
    return houses.bare_house(
        envelope={"fast_mass": 0.0, "slow_mass": 0.0, "mass_coupling": 0.0}
        | changes.pop("envelope", {}),
        second_zone=ms.SecondZone(**zone),
        **changes,
    )


def run(house: ms.House, outdoors: float, *, step: float, airflow: float = 0.0) -> Any:
    """Temperature and humidity ratio of both zones at the end of each step of 3 hours or more."""
    season = ms.simulate(
        house,
        ms.Equipment(
            standby_power=0.0,
            ventilation=ms.Ventilation(airflow=airflow, kind="balanced", fan_power=0.0),
        ),
        ms.strategies.temperature_only,
        weathers.flat(outdoors, W, days=1),
        step=step,
        spin_up=0.0,
    )
    assert season.balance["relative"].abs().max() < 1e-9
    return season.steps(
        "indoor_temperature", "second_zone_temperature",
        "indoor_humidity_ratio", "second_zone_humidity_ratio",
    ).to_numpy()  # fmt: skip


def linear(
    matrix: Any, source: Any, start: float, seconds: np.ndarray[Any, Any]
) -> np.ndarray[Any, Any]:
    """Solution of x' = A x + b from equal starts, at each time."""
    still = np.linalg.solve(matrix, -np.asarray(source))
    return np.array([still + expm(matrix * t) @ (start - still) for t in seconds])


FLOW, U, FRESH, GLASS = 0.02, 30.0, 0.015, 0.4
"""Air both ways, m3/s; conductance, W/K; ventilation, m3/s; window U-value, W/(m2 K)."""


@pytest.mark.parametrize("step", [10.0, 5.0])
def test_two_bodies_of_air_follow_the_exponential(step: float) -> None:
    """Sun and people heat and wet the second zone; ventilation and windows cool the first.

    Temperature within 1.5 % of its largest rise, humidity ratio likewise.
    """
    gains, moisture = 20.0, 4e-6
    house = two_bodies(
        second_zone={
            "partition_u": U / 25.0, "partition_area": 25.0, "mixing": FLOW, "gains_share": 1.0,
            "moisture_share": 1.0,
        },
        envelope={"window_to_wall_ratio": 0.5, "window_u": f"{GLASS} W/(m2 K)", "window_shgc": 0.0},
        gains={
            "appliances_and_lights": gains, "appliances_and_lights_profile": (1.0,) * 24,
            "moisture": moisture, "moisture_profile": (1.0,) * 24,
        },
    )  # fmt: skip
    found = run(house, START - 1.0, step=step, airflow=FRESH)
    mass = DENSITY * 250.0 * np.array([0.6, 0.4])
    between = FLOW * DENSITY
    fresh = FRESH * float(air.dry_air_density(START - 1.0, W, air.STANDARD_PRESSURE))
    glass = 0.5 * 4.0 * 10.0 * 2.5 * GLASS * np.array([0.6, 0.4])
    seconds = step * np.arange(1.0, len(found) + 1.0)

    wet = np.array([[-between - fresh, between], [between, -between]]) / mass[:, None]
    source = np.array([fresh * W, moisture]) / mass
    exact_w = linear(wet, source, W, seconds)
    rise = np.abs(exact_w - W).max()
    assert rise > 1e-4
    assert np.abs(found[:, 2:] - exact_w).max() < 0.015 * rise

    k = U + between * CP
    warm = np.array([[-k - fresh * CP - glass[0], k], [k, -k - glass[1]]]) / (mass * CP)[:, None]
    # Vapor comes in warmer than the room, by its share of the heat of a kg of vapor.
    vapor = moisture * (VAPOR - (2.501e6 + 1860.0 * START))
    drive = np.array([fresh * CP + glass[0], glass[1]]) * (START - 1.0) + [0.0, gains + vapor]
    exact_t = linear(warm, drive / (mass * CP), START, seconds)
    rise = np.abs(exact_t - START).max()
    assert rise > 0.5
    print(np.abs(found[:, :2] - exact_t).max() / rise)
    assert np.abs(found[:, :2] - exact_t).max() < 0.015 * rise


def test_halving_the_step_halves_the_error() -> None:
    house = two_bodies(
        second_zone={
            "mixing": FLOW,
            "gains_share": 1.0,
            "partition_u": 1.0,
            "partition_area": 25.0,
        },
        envelope={"window_to_wall_ratio": 0.5, "window_u": f"{GLASS} W/(m2 K)", "window_shgc": 0.0},
        gains={"appliances_and_lights": 20.0, "appliances_and_lights_profile": (1.0,) * 24},
    )
    at = {step: run(house, START, step=step)[int(900.0 / step) - 1] for step in (60.0, 30.0, 15.0)}
    first, second = at[60.0] - at[30.0], at[30.0] - at[15.0]
    assert np.abs(first[:2]).min() > 1e-6
    np.testing.assert_allclose(first[:2] / second[:2], 2.0, rtol=0.05)


@pytest.mark.parametrize("kind", ["wing", "upper floor"])
@pytest.mark.parametrize("heated", ["main", "second"])
def test_exchange_through_an_opening(kind: str, heated: str) -> None:
    """Heat passes a doorway both ways, and stairs while the floor below is the warmer one.

    In a steady state the exchange and the fixed mixing carry all the heat to the other zone, whose
    windows lose it. By hand: Q = F c dT = U (T_lost - T_out).
    """
    width, height, mixing = 0.8, 2.0, 0.02
    house = two_bodies(
        stories=2,
        second_zone={
            "kind": kind, "share": 0.5, "opening_width": width, "opening_height": height,
            "mixing": mixing, "gains_share": float(heated == "second"),
            # All windows are in the zone without gains.
            "window_share": float(heated == "main"),
        },
        envelope={"window_to_wall_ratio": 0.5, "window_u": 2.0, "window_shgc": 0.0},
        gains={"appliances_and_lights": 250.0, "appliances_and_lights_profile": (1.0,) * 24},
    )  # fmt: skip
    t_main, t_second, *_ = run(house, START, step=20.0)[-1]
    warm, cool = (t_main, t_second) if heated == "main" else (t_second, t_main)
    wall = 4.0 * math.sqrt(50.0) * 5.0
    assert 0.5 * wall * 2.0 * (cool - START) == pytest.approx(250.0, rel=0.01)
    stairs = 0.65 / 3.0 * width * height**1.5 * math.sqrt(9.81 / 297.0 * (warm - cool))
    if kind == "upper floor" and heated == "second":
        stairs = 0.0
    density = float(air.dry_air_density(START, W, air.STANDARD_PRESSURE))
    carried = density * (mixing + stairs) * CP * (warm - cool)
    print(kind, heated, warm - cool, carried)
    assert carried == pytest.approx(250.0, rel=0.02)


@pytest.mark.parametrize(("outdoors", "rises"), [(0.0, True), (40.0, False)])
def test_the_stack_passes_through_both_floors(outdoors: float, rises: bool) -> None:
    """In still air all infiltration enters one floor and leaves the other.

    The neutral level of a house with equal leaks above and below is at mid-height (by symmetry), so
    the air between the floors is the whole infiltration.
    """
    house = houses.house(
        stories=2,
        ach50=8.0,
        gains=ms.Gains(**houses.NO_GAINS),
        second_zone=ms.SecondZone(mixing=0.0, opening_width=0.0),
    )
    season = ms.simulate(
        house, ms.Equipment(), ms.strategies.temperature_only, weathers.flat(outdoors, 0.003, days=1),
        spin_up=0.0,
    )  # fmt: skip
    hourly = season.hourly
    whole = hourly["natural_infiltration_m3"] * season._forcing.hours[:, 8]
    up, down = -hourly["second_zone_air_from_house_kg"], hourly["second_zone_air_to_house_kg"]
    lower, upper = hourly["air_infiltration_kg"], hourly["second_zone_air_outdoors_kg"]
    passing, other = (up, down) if rises else (down, up)
    entering, closed = (lower, upper) if rises else (upper, lower)
    # The air breathes as it cools or warms.
    np.testing.assert_allclose(entering[3:], whole[3:], rtol=5e-3)
    np.testing.assert_allclose(passing[3:], whole[3:], rtol=5e-3)
    assert other[3:].max() < 1e-3 * whole[3:].min()
    assert closed[3:].max() < 5e-3 * whole[3:].min()


@pytest.mark.parametrize("returned", [0.5, 0.0])
def test_the_warmer_floor_by_hand(returned: float) -> None:
    """Roof over the upper of two floors, one thermostat below: the difference by hand.

    Steady heat of the two floors, with equal gains, K the exchange between them, and m the supply air of
    which each floor gets half. If half of the return comes from each floor, the air handler takes
    m c (T - T_supply) / 2 from each. The difference of the two balances is

        UA_roof (T_sol-air - T_up) = (2 K + m c / 2) (T_up - T_down)

    With a central return, the upper floor's half of the supply leaves through the stairs at T_up and
    warms the main floor. The difference of the two balances then has m c for m c / 2.

    The fan is ON, so m is constant and means of products are products of means. Within 5 %: the inside
    of the roof also takes the radiant share of the gains.
    """
    roof_u, partition, mixing, hot = 1.0, 40.0, 0.02, 38.0
    house = two_bodies(
        stories=2,
        second_zone={
            "kind": "upper floor", "share": 0.5, "partition_u": 1.0, "partition_area": partition,
            "mixing": mixing, "return_share": returned,
        },
        envelope={"roof_u": roof_u, "roof_absorptance": 0.0},
        gains={"appliances_and_lights": 1000.0, "appliances_and_lights_profile": (1.0,) * 24},
    )  # fmt: skip
    season = ms.simulate(
        house,
        ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="18000 Btu/h")], fan="on", fan_airflow=1.0), standby_power=0.0),
        ms.strategies.temperature_only,
        weathers.flat(hot, 0.006, days=4),
        spin_up=0.0,
    )  # fmt: skip
    last = season.hourly.iloc[48:]
    up, down = last["second_zone_temperature_C"].mean(), last["indoor_temperature_C"].mean()
    film = 15.5 * 50.0
    # A level roof loses 0.9 x 63 W/m2 to the sky over a film of 17 W/(m2 K).
    sol_air = hot - 0.9 * 63.0 / 17.0
    roof = (sol_air - up) / (1.0 / (roof_u * 50.0) + 1.0 / film)
    supply = -last["second_zone_air_from_house_kg"].mean() / 3600.0
    supply -= mixing * float(air.dry_air_density(hot, 0.006, air.STANDARD_PRESSURE))
    exchange = partition + mixing * DENSITY * CP
    by_hand = roof / (2.0 * exchange + supply * CP * (1.0 if returned else 2.0))
    print(returned, up - down, by_hand)
    assert up - down == pytest.approx(by_hand, rel=0.05)
