"""The ground through the year and what lies under a floor.

Kusuda & Achenbach (1965), from memory: T = Tm - A exp(-z k) cos(2 pi/365 (t - t0) - z k), with
k = sqrt(pi/(365 alpha)): the formula's extremes, the heat equation solved numerically, and the
periodic heat flows of ISO 13370 (from memory) for the default depth.
"""

import math

import attrs
import numpy as np
import pandas as pd
import pytest
from scipy.linalg import solve_banded
from support import houses, weathers

import moistsim as ms
from moistsim.engine import ground
from moistsim.engine.ground import (
    AnnualCycle,
    annual_cycle,
    basement_ground_u,
    floor_conductance,
    ground_temperature,
    ground_u,
    kusuda_achenbach,
)

CYCLE = AnnualCycle(15.0, 10.0, 20.0)
ALPHA = 6.4e-7
"""m2/s, 0.0553 m2 a day."""
DAYS = np.arange(0.0, 365.0, 1.0 / 24.0)


@pytest.mark.parametrize("depth", [0.0, 0.5, 1.0, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("alpha", [3e-7, 6.4e-7, 1.2e-6])
def test_extremes_of_the_formula(depth: float, alpha: float) -> None:
    """Mean, amplitude damped by exp(-z sqrt(pi/(365 alpha))), late by z/2 sqrt(365/(pi alpha))."""
    a_day = 86400.0 * alpha
    t = kusuda_achenbach(CYCLE, depth, alpha, DAYS)
    damped = 10.0 * math.exp(-depth * math.sqrt(math.pi / (365.0 * a_day)))
    late = 0.5 * depth * math.sqrt(365.0 / (math.pi * a_day))
    assert t.mean() == pytest.approx(15.0, abs=1e-9)
    assert t.min() == pytest.approx(15.0 - damped, abs=1e-6)
    assert t.max() == pytest.approx(15.0 + damped, abs=1e-6)
    assert DAYS[t.argmin()] == pytest.approx((20.0 + late) % 365.0, abs=0.03)
    assert (DAYS[t.argmax()] - DAYS[t.argmin()]) % 365.0 == pytest.approx(182.5, abs=0.06)


def test_it_solves_the_heat_equation() -> None:
    """Crank & Nicolson, 30 m of soil, ten years of days: the last year within 0.02 K."""
    dz, dt, years = 0.1, 86400.0, 10
    depth = np.arange(0.0, 30.0 + dz, dz)
    n, f = len(depth), 0.5 * ALPHA * dt / dz**2
    bands = np.zeros((3, n))
    bands[0, 2:], bands[1, 1:-1], bands[2, :-2] = -f, 1.0 + 2.0 * f, -f
    bands[1, 0] = bands[1, -1] = 1.0
    bands[2, -2] = -1.0  # no heat from below
    t = np.full(n, CYCLE.mean)
    kept = []
    for day in range(365 * years):
        known = t.copy()
        known[1:-1] += f * (t[2:] - 2.0 * t[1:-1] + t[:-2])
        known[0] = CYCLE.mean - CYCLE.amplitude * np.cos(
            2.0 * np.pi * (day + 1.0 - CYCLE.coldest_day) / 365.0
        )
        known[-1] = 0.0
        t = solve_banded((1, 1), bands, known)
        kept.append(t[[0, 10, 20, 50]])
    last = np.array(kept[-365:])
    for column, z in enumerate((0.0, 1.0, 2.0, 5.0)):
        exact = kusuda_achenbach(CYCLE, z, ALPHA, np.arange(1.0, 366.0))
        assert np.abs(last[:, column] - exact).max() < 0.02


def year(cycle: AnnualCycle, *, swing: float = 6.0, start: str = "2001-01-01") -> ms.Weather:
    """An invented year: a harmonic, a day's swing and, between months, weeks of warm and cold."""
    base = weathers.flat(0.0, 0.005, days=365)
    index = pd.date_range(start, periods=8760, freq="h", name="time")
    day = ground.day_of_year(index)
    t = cycle.mean - cycle.amplitude * np.cos(2.0 * np.pi * (day - cycle.coldest_day) / 365.0)
    t = t - swing * np.cos(2.0 * np.pi * (day % 1.0))
    frame = base.frame.set_axis(index).assign(temp_air=t)
    return attrs.evolve(base, frame=frame)


@pytest.mark.parametrize("start", ["2001-01-01", "2001-07-01"])
@pytest.mark.parametrize("coldest", [15.0, 200.0, 364.0])
def test_the_year_is_found_in_the_weather(coldest: float, start: str) -> None:
    """Exactly, north and south, whatever the day's swing and wherever the year begins."""
    cycle = AnnualCycle(15.0, 10.0, coldest)
    found = annual_cycle(year(cycle, start=start))
    assert found == pytest.approx(cycle, abs=1e-9)


@pytest.mark.parametrize(
    ("place", "coldest", "mean", "amplitude"),
    [("miami", (1.0, 40.0), (23.0, 26.0), (3.5, 6.0)),
     ("greensboro", (5.0, 35.0), (13.0, 16.5), (9.0, 13.0))],
)  # fmt: skip
def test_years_of_the_samples(
    place: str, coldest: tuple[float, float], mean: tuple[float, float],
    amplitude: tuple[float, float],
) -> None:  # fmt: skip
    """Annual waves of the sample years have the right mean, amplitude and coldest day.

    Against half the range of the monthly means, the older way, within 12 percent; the mean is
    the mean, and the coldest day lies in January or the first days of February.
    """
    weather = ms.Weather.sample(place)
    cycle = annual_cycle(weather)
    t = weather.frame["temp_air"]
    monthly = t.groupby(pd.DatetimeIndex(t.index).month).mean()
    print(place, cycle, 0.5 * np.ptp(monthly))
    assert cycle.mean == pytest.approx(t.mean(), abs=0.15)
    assert cycle.amplitude == pytest.approx(0.5 * np.ptp(monthly), rel=0.12)
    for value, (low, high) in zip(cycle, (mean, amplitude, coldest), strict=True):
        assert low < value < high


def test_part_of_a_year_has_its_mean_alone() -> None:
    weather = weathers.flat(18.0, 0.008, days=30)
    warmer = weather.frame.assign(temp_air=np.linspace(10.0, 20.0, 720))
    part = attrs.evolve(weather, frame=warmer)
    assert ground_temperature(ms.Ground(), part) == pytest.approx(np.full(720, 15.0))


def test_a_year_that_is_given_replaces_the_weather_s() -> None:
    """On its coldest day the ground's surface is at mean - amplitude, half a year on at mean +."""
    given = ms.Ground(
        mean_temperature="60 degF", amplitude="18 delta_degF", coldest_day=30, depth=0.0
    )
    t = ground_temperature(given, year(CYCLE))
    assert t[29 * 24 : 31 * 24].min() == pytest.approx(15.5556 - 10.0, abs=1e-3)
    assert t.argmin() in (29 * 24 - 1, 29 * 24)
    assert t.max() == pytest.approx(25.5556, abs=1e-3)


def test_default_depth_against_iso_13370() -> None:
    """A slab of 180 m2 with 54 m of edge on clay or silt (1.5 W/(m K), periodic depth 2.2 m).

    U = 2 l / (pi B' + d) ln(pi B'/d + 1), H_pe = 0.37 P l ln(delta/d + 1), one month late; from
    memory. Amplitude over steady flow, 0.45 uninsulated; ours within 0.08, and at most a month
    later.
    """
    area, edge, conductivity, delta = 180.0, 54.0, 1.5, 2.2
    d = 0.3 + conductivity * (0.17 + 0.3 + 0.04)
    b = area / (0.5 * edge)
    u = 2.0 * conductivity / (math.pi * b + d) * math.log(math.pi * b / d + 1.0)
    periodic = 0.37 * edge * conductivity * math.log(delta / d + 1.0)
    ratio = periodic / (u * area)
    slab = ms.Ground()
    reach = ground.SLAB_DEPTH * math.sqrt(math.pi / (365.0 * 86400.0 * slab.diffusivity))
    print(f"ISO {ratio:.3f}, ours {math.exp(-reach):.3f}, {reach * 12 / (2 * math.pi):.2f} months")
    assert math.exp(-reach) == pytest.approx(ratio, abs=0.08)
    assert 0.5 < reach * 12.0 / (2.0 * math.pi) < 2.0


def test_a_bare_ground_by_iso_13370() -> None:
    """ISO 13370, suspended floor of 10 m x 10 m, worked by hand from memory of the formula.

    B' = 100/(0.5 x 40) = 5 m; d = 0.3 + 1.5 x 0.21 = 0.615 m;
    U_g = 2 x 1.5/(15.708 + 0.615) ln(15.708/0.615 + 1) = 0.18379 x 3.2787 = 0.6026 W/(m2 K)
    """
    assert ground_u(100.0, 40.0) == pytest.approx(0.6026, abs=1e-4)
    over = houses.bare_house(envelope={"floor_u": 0.6}, crawl_space=ms.CrawlSpace())
    assert floor_conductance(over) == 0.0
    assert floor_conductance(houses.bare_house(envelope={"floor_u": 0.6})) == pytest.approx(60.0)


def test_a_basement_by_iso_13370() -> None:
    """ISO 13370, basement of 10 m x 10 m, 2 m deep, bare walls of 2.5 W/(m2 K), worked by hand.

    d + z/2 = 1.615 m < B' = 5 m: U_f = 3/(15.708 + 1.615) ln(15.708/1.615 + 1) = 0.17318 x 2.3729
    = 0.4109; d_w = 1.5/2.5 = 0.6 m, d no more than it: U_w = 3/(2 pi) (1 + 0.3/2.6) ln(2/0.6 + 1)
    = 0.47746 x 1.11538 x 1.46634 = 0.7809, over 80 m2; per m2 of floor 0.4109 + 0.8 x 0.7809 = 1.0357
    """
    house = houses.bare_house(basement=ms.Basement(height=2.5, below_grade=2.0))
    assert house.basement is not None
    assert basement_ground_u(house, house.basement) == pytest.approx(1.0357, abs=1e-3)
    shallow = ms.Basement(height=2.5, below_grade=0.0)
    assert basement_ground_u(house, shallow) == pytest.approx(ground_u(100.0, 40.0), rel=1e-9)


def test_a_room_on_a_slab_follows_the_ground_through_the_year() -> None:
    """With nothing but a floor, a room is at the ground's temperature, hours late."""
    house = houses.bare_house(
        envelope={
            "floor_u": "5 W/(m2 K)",
            "slow_mass": 20e3,
            "fast_mass": 20e3,
            "mass_coupling": 50.0,
        }
    )
    weather = year(CYCLE)
    season = ms.simulate(
        house, ms.Equipment(standby_power=0.0), ms.strategies.temperature_only, weather,
        step="15 min",
    )  # fmt: skip
    room = season.hourly["slow_mass_temperature_C"].to_numpy()
    under = ground_temperature(ms.Ground(), weather)
    assert np.ptp(under) == pytest.approx(2.0 * 10.0 * math.exp(-2.0 * 0.3945), rel=0.01)
    assert room[240:] == pytest.approx(under[240:], abs=0.02)
    # A wall of water vapor that comes and goes with the room's pressure aside, all is metered.
    assert season.balance["relative"].abs().max() < 1e-9


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"amplitude": 5.0},
         ("Ground.mean_temperature: cannot use None. Use all of mean_temperature, amplitude, "
         "coldest_day, or none of them.")),
        ({"diffusivity": "1 m/s"},
         ("Ground.diffusivity: cannot read '1 m/s' as a thermal diffusivity. Write '0.023 "
         "ft2/hour' or '6e-7 m2/s'.")),
        ({"depth": "-1 ft"},
         "Ground.depth: '-1 ft' is too small. Use a length from 0 to 98.43 ft."),
    ],
)  # fmt: skip
def test_refusals(fields: dict[str, object], sentence: str) -> None:
    with pytest.raises(ms.InputError) as refusal:
        ms.Ground(**fields)  # type: ignore[arg-type]
    assert str(refusal.value) == sentence
