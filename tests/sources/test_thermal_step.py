"""Source: textbook linear systems, the step response of one and of three masses.

Thermal step response against exponentials: one mass, then air and two masses (textbook linear
systems; scipy's matrix exponential solves the second). Matrices are written down from the physics.

The house starts at rest at 23 degC and 50 % RH, and at the first minute stands in air of another
temperature with the same water in it. Tolerances: the room's air breathes as it warms, so that
its mass, taken as constant here, changes by dT / T; the steps are implicit, which is first order.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.linalg import expm
from support import houses, weathers

from moistsim import Equipment, House, Season, Ventilation, air, simulate
from moistsim.controls import strategies

START = 23.0
W = float(air.humidity_ratio_at(START, 0.5, air.STANDARD_PRESSURE))
AREA = 100.0
WALLS = 4.0 * 10.0 * 2.5
"""m2, of a square of 100 m2 and 2.5 m."""
CONDUCTANCE = 100.0e6 / (36.0 * 3600.0)
"""W/K, of walls before 100 MJ/K of mass with a time constant of 36 h."""
CP = 1006.0 + 1860.0 * W
"""J/K per kg of dry air."""


def step_to(house: House, outdoors: float, *, days: int, step: float, airflow: float = 0) -> Season:
    machines = Equipment(
        standby_power=0.0,
        ventilation=Ventilation(airflow=airflow, kind="balanced", fan_power=0.0),
    )
    return simulate(
        house, machines, strategies.temperature_only, weathers.flat(outdoors, W, days=days),
        step=step, spin_up=0.0,
    )  # fmt: skip


def air_mass(t: float) -> float:
    return AREA * 2.5 * float(air.dry_air_density(t, W, air.STANDARD_PRESSURE))


@pytest.fixture(scope="module")
def one_mass() -> House:
    """100 MJ/K of mass, its air held to it, behind walls of 772 W/K: a time constant of 36 h."""
    held = houses.bare_house(
        envelope={
            "wall_u": f"{CONDUCTANCE / WALLS} W/(m2 K)",
            "slow_mass": 0.0,
            "mass_coupling": 0.0,
        }
    )
    return houses.with_envelope(held, fast_mass=1.0e6, surface_film=1.0e6)


def one_exponential(outdoors: float, hours: NDArray[np.float64]) -> NDArray[np.float64]:
    """T = T_out + (T_0 - T_out) e^(-t / tau), tau = (C + m cp) / UA."""
    capacity = 1.0e6 * AREA + air_mass(0.5 * (START + outdoors)) * CP
    return outdoors + (START - outdoors) * np.exp(-hours * 3600.0 * CONDUCTANCE / capacity)


@pytest.mark.parametrize("outdoors", [13.0, 33.0])
def test_one_mass(one_mass: House, outdoors: float) -> None:
    """The mass at each hour's end, within 1e-4 of the step.

    Steps of 10 s cost dt / (2 e tau) = 1.4e-5; the air is 0.3 percent of the capacity and its mass
    is off by 2 percent: 2e-5.
    """
    season = step_to(one_mass, outdoors, days=3, step=10.0)
    mass = season.hourly["fast_mass_temperature_C"].to_numpy()
    exact = one_exponential(outdoors, np.arange(1.0, 73.0))
    assert np.abs(mass - exact).max() < 1e-4 * abs(outdoors - START)
    assert mass[35] == pytest.approx(outdoors + (START - outdoors) / np.e, abs=0.02)


def test_one_mass_converges_at_first_order(one_mass: House) -> None:
    """The error halves with the step and is that of an implicit step.

    Error against the exponential halves with the step, and is the implicit step's own:
    (dt / 2 tau) (t / tau) e^(-t / tau), greatest at t = tau, dt / (2 e tau).
    """
    exact = one_exponential(33.0, np.arange(1.0, 49.0))
    errors = []
    for step in (900.0, 450.0, 225.0):
        season = step_to(one_mass, 33.0, days=2, step=step)
        mass = season.hourly["fast_mass_temperature_C"].to_numpy()
        errors.append(float(np.abs(mass - exact).max()))
    assert errors[0] == pytest.approx(10.0 * 900.0 / (2.0 * np.e * 129600.0), rel=0.05)
    assert errors[0] / errors[1] == pytest.approx(2.0, abs=0.05)
    assert errors[1] / errors[2] == pytest.approx(2.0, abs=0.05)


# Air with light contents, board and slab; a window, walls, a floor and a fan; and 600 W of gains,
# half into the air.
LIGHT, FAST, SLOW = 7.0e3 * AREA, 53.0e3 * AREA, 160.0e3 * AREA
FILM, COUPLING, GROUND = 15.5 * AREA, 4.0 * AREA, 0.3 * AREA
OPAQUE, GLASS = 0.5 * 0.8 * WALLS, 2.0 * 0.2 * WALLS
GAINS, AIRFLOW = 600.0, 0.05


@pytest.fixture(scope="module")
def two_masses() -> House:
    return houses.bare_house(
        envelope={
            "wall_u": 0.5,
            "window_u": 2.0,
            "floor_u": 0.3,
            "window_to_wall_ratio": 0.2,
            "light_contents": 7.0e3,
            "fast_mass": 53.0e3,
            "slow_mass": 160.0e3,
            "surface_film": 15.5,
            "mass_coupling": 4.0,
        },
        gains={"appliances_and_lights": GAINS, "appliances_and_lights_profile": [1.0] * 24},
    )


def two_mass_exact(outdoors: float, hours: NDArray[np.float64]) -> NDArray[np.float64]:
    """Air, fast and slow mass: C x' = -K x + b, x' = A (x - x*).

    (m cp + C) dTa/dt = film (Tf - Ta) + glass (To - Ta) + m_in cp (To - Ta) + gains / 2
    Cf dTf/dt         = film (Ta - Tf) + walls (To - Tf) + coupling (Ts - Tf) + gains / 2
    Cs dTs/dt         = coupling (Tf - Ts) + ground (To - Ts)

    (The ground is at the mean outdoor temperature, which never changes.)
    """
    inflow = AIRFLOW * float(air.dry_air_density(outdoors, W, air.STANDARD_PRESSURE)) * CP
    capacities = np.array([air_mass(0.5 * (START + outdoors)) * CP + LIGHT, FAST, SLOW])
    conductances = np.array(
        [
            [FILM + GLASS + inflow, -FILM, 0.0],
            [-FILM, FILM + OPAQUE + COUPLING, -COUPLING],
            [0.0, -COUPLING, COUPLING + GROUND],
        ]
    )
    heat = np.array(
        [
            (GLASS + inflow) * outdoors + 0.5 * GAINS,
            OPAQUE * outdoors + 0.5 * GAINS,
            GROUND * outdoors,
        ]
    )
    rest = np.linalg.solve(conductances, heat)
    matrix = -conductances / capacities[:, None]
    return np.array([rest + expm(matrix * h * 3600.0) @ (START - rest) for h in hours])


def masses(season: Season) -> NDArray[np.float64]:
    return season.hourly[["fast_mass_temperature_C", "slow_mass_temperature_C"]].to_numpy()


@pytest.mark.parametrize("outdoors", [18.0, 28.0])
def test_two_masses(two_masses: House, outdoors: float) -> None:
    """Both masses at each hour's end for ten days, within 2e-4 of the step of 5 K.

    The step's error, dt / (2 tau) with tau of the fast mass 2.5 h or so, is 1e-4 at the most.
    """
    season = step_to(two_masses, outdoors, days=10, step=5.0, airflow=AIRFLOW)
    exact = two_mass_exact(outdoors, np.arange(1.0, 241.0))
    error = np.abs(masses(season) - exact[:, 1:]).max(axis=0) / 5.0
    assert (error < 2e-4).all()
    # And the air, at the end of each step of the second day.
    steps = season.minutes("01-02")["indoor_temperature_C"].to_numpy()[::120]
    times = 24.0 + (1.0 + 120.0 * np.arange(len(steps))) * 5.0 / 3600.0
    assert np.abs(steps - two_mass_exact(outdoors, times)[:, 0]).max() / 5.0 < 5e-4


def test_two_masses_converge_at_first_order(two_masses: House) -> None:
    exact = two_mass_exact(28.0, np.arange(1.0, 49.0))[:, 1:]
    errors = []
    for step in (900.0, 450.0, 225.0):
        season = step_to(two_masses, 28.0, days=2, step=step, airflow=AIRFLOW)
        errors.append(np.abs(masses(season) - exact).max(axis=0))
    print(errors)
    assert (errors[0] / errors[1] > 1.7).all()
    assert (errors[1] / errors[2] > 1.7).all()


def test_rest_is_where_the_heat_balance_puts_it(two_masses: House) -> None:
    """After 60 days: x* of the matrix above, to 1e-6 K (that is 600 W over all conductances)."""
    season = step_to(two_masses, 28.0, days=60, step=900.0, airflow=AIRFLOW)
    exact = two_mass_exact(28.0, np.array([1440.0]))[0]
    assert masses(season)[-1] == pytest.approx(exact[1:], abs=1e-6)
    assert season.hourly["indoor_temperature_C"].iloc[-1] == pytest.approx(exact[0], abs=1e-6)
