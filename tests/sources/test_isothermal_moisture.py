"""An isothermal zone with a square wave of moisture against its closed-form periodic solution.

The exercise is of the kind of IEA Annex 41 Common Exercise 0 (Rode, Peuhkuri, Woloszyn et al.) and
of the analytical cases of Bednar & Hagentoft (2005): a room of 8 x 6 x 2.7 m at 20 degC, half an
air change an hour of outdoor air at 30 % RH, 500 g/h of vapor from 9 to 17 h; from memory. The
closed forms below are our own: first a room that stores nothing, then one that has one or two
layers of store, as a linear system that scipy's matrix exponential solves.

Tolerances. The system is linear in W but for two things: dry air in the room is
p V / (R T (1 + W/0.622)), which over the swing of W changes by +-0.5 percent, and vapor pressure
is p W / (0.622 + W), whose slope changes by +-1 percent. Both are taken at the mean here, and
leave 0.1 to 0.2 percent of the swing. Implicit steps of 10 s add dt / (2 tau), below
0.1 percent with tau = 2 h.
"""

import attrs
import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray
from scipy.linalg import expm
from support import weathers
from support.moist_room import (
    AIRFLOW,
    INFLOW,
    OFF,
    ON,
    PRESSURE,
    SATURATION,
    SOURCE,
    TEMPERATURE,
    VOLUME,
    W_OUT,
    room,
)

from moistsim import Equipment, House, MoistureStore, Season, Ventilation, air, simulate
from moistsim.controls import strategies
from moistsim.engine.parameters import store_layers


def run(house: House, *, days: int, spin_up: int, step: str) -> Season:
    machines = Equipment(
        ventilation=Ventilation(airflow=AIRFLOW, kind="balanced", fan_power=0.0),
        standby_power=0.0,
    )
    climate = weathers.flat(TEMPERATURE, W_OUT, days=days)
    return simulate(
        house, machines, strategies.temperature_only, climate, start="01-01",
        step=step, spin_up=f"{spin_up} day",
    )  # fmt: skip


def last_day(season: Season) -> tuple[NDArray[np.float64], pd.DataFrame]:
    """Hours since midnight at the end of each step of the last day, and the steps."""
    steps = season.minutes(f"{season.hourly.index[-1]:%m-%d}")
    return np.arange(1, len(steps) + 1) * season.step / 3600.0, steps


def assert_isothermal(season: Season) -> None:
    """The room is at 20 degC throughout, as the closed forms take it to be."""
    temperatures = season.hourly["indoor_temperature_C"].to_numpy()
    assert temperatures == pytest.approx(TEMPERATURE, abs=1e-3)


def test_the_profile_is_the_square_wave() -> None:
    season = run(room(), days=2, spin_up=1, step="900 s")
    assert_isothermal(season)
    vapor = season.hourly["water_gains_kg"].to_numpy()
    expected = [0.5 if ON <= hour < OFF else 0.0 for hour in range(24)] * 2
    assert vapor == pytest.approx(expected, abs=1e-12)


def test_constant_source_lifts_the_room_by_source_over_airflow() -> None:
    """At rest, W_in - W_out = G / m: air of 64.8 m3/h (77 kg/h dry) and 500 g/h, 6.5 g/kg.

    To rounding: neither the store nor the linearisation has a part in it.
    """
    season = run(room(constant=True), days=4, spin_up=3, step="300 s")
    rise = season.hourly["indoor_humidity_ratio"].iloc[-1] - W_OUT
    assert rise == pytest.approx(SOURCE / INFLOW, rel=1e-9)
    assert rise == pytest.approx(0.0065, abs=0.0001)


def without_store(hours: NDArray[np.float64]) -> NDArray[np.float64]:
    """W of a room that stores nothing: exponentials between two levels.

    With r = m_in / m, on for T1 from 9 h and off for T0 = 24 h - T1, the periodic solution starts
    to rise from W_out + D and to fall from W_out + D', with A = G / m_in:
    D' = A (1 - e^(-r T1)) / (1 - e^(-r 24 h)),  D = D' e^(-r T0).
    """
    height = SOURCE / INFLOW
    on, off = (OFF - ON) * 3600.0, (24 - OFF + ON) * 3600.0
    mean = W_OUT + height * on / 86400.0
    mass = VOLUME * float(air.dry_air_density(TEMPERATURE, mean, PRESSURE))
    rate = INFLOW / mass
    peak = height * (1.0 - np.exp(-rate * on)) / (1.0 - np.exp(-rate * 86400.0))
    trough = peak * np.exp(-rate * off)
    since_on = (hours - ON) % 24.0 * 3600.0
    rising = height + (trough - height) * np.exp(-rate * since_on)
    falling = peak * np.exp(-rate * (since_on - on))
    return W_OUT + np.where(since_on <= on, rising, falling)


def test_room_that_stores_nothing() -> None:
    season = run(room(), days=5, spin_up=4, step="10 s")
    assert_isothermal(season)
    hours, steps = last_day(season)
    exact = without_store(hours)
    swing = np.ptp(exact)
    error = np.abs(steps["indoor_humidity_ratio"].to_numpy() - exact).max() / swing
    assert swing == pytest.approx(SOURCE / INFLOW, rel=0.03)
    assert error < 0.002


def periodic(
    matrix: NDArray[np.float64],
    on: NDArray[np.float64],
    off: NDArray[np.float64],
    hours: NDArray[np.float64],
) -> NDArray[np.float64]:
    """States x of x' = A x + b(t) with period 24 h, b = `on` from 9 to 17 h and `off` else.

    Over a stretch of length t at constant b, x(t) - x* = e^(A t) (x(0) - x*), x* = -A^-1 b. Two
    stretches make a day, and the state that a day gives back is the solution of a linear system.
    """  # fmt: skip
    rest_on, rest_off = -np.linalg.solve(matrix, on), -np.linalg.solve(matrix, off)
    long_on = expm(matrix * (OFF - ON) * 3600.0)
    long_off = expm(matrix * (24 - OFF + ON) * 3600.0)
    identity = np.eye(len(on))
    # x_on = at 9 h, x_off = at 17 h.
    x_on = np.linalg.solve(
        identity - long_off @ long_on,
        rest_off - long_off @ rest_off + long_off @ (rest_on - long_on @ rest_on),
    )
    x_off = rest_on + long_on @ (x_on - rest_on)
    states = []
    for hour in hours:
        since = (hour - ON) % 24.0
        if since <= OFF - ON:
            states.append(rest_on + expm(matrix * since * 3600.0) @ (x_on - rest_on))
        else:
            fall = expm(matrix * (since - (OFF - ON)) * 3600.0)
            states.append(rest_off + fall @ (x_off - rest_off))
    return np.array(states)


def with_store(store: MoistureStore, hours: NDArray[np.float64]) -> NDArray[np.float64]:
    """W, surface RH and deep RH, about the mean of the day.

    m dw/dt   = G'(t) - m_in w - K1 (p' w - p_sat u)
    C1 du/dt  = K1 (p' w - p_sat u) - K2 p_sat (u - v)
    C2 dv/dt  = K2 p_sat (u - v)

    where w, u, v are departures of W and of the layers' RH from their means, G' is the departure
    of the source from its own, and p' = dp/dW = p 0.622 / (0.622 + W)².
    """
    area = 48.0 * store.area
    c1, c2, k1, k2 = (area * value for value in store_layers(store))
    share = (OFF - ON) / 24.0
    mean = W_OUT + share * SOURCE / INFLOW
    mass = VOLUME * float(air.dry_air_density(TEMPERATURE, mean, PRESSURE))
    slope = PRESSURE * 0.621945 / (0.621945 + mean) ** 2
    matrix = np.array(
        [
            [-(INFLOW + k1 * slope) / mass, k1 * SATURATION / mass, 0.0],
            [k1 * slope / c1, -(k1 + k2) * SATURATION / c1, k2 * SATURATION / c1],
            [0.0, k2 * SATURATION / c2 if c2 else 0.0, -k2 * SATURATION / c2 if c2 else -1.0],
        ]
    )
    source = np.array([SOURCE / mass, 0.0, 0.0])
    departures = periodic(matrix, (1.0 - share) * source, -share * source, hours)
    rh = float(air.relative_humidity(TEMPERATURE, mean, PRESSURE))
    return departures + np.array([mean, rh, rh])


@pytest.mark.parametrize(
    ("deep", "days", "step"),
    [
        pytest.param(False, 20, "10 s", id="surface layer only"),
        pytest.param(True, 60, "30 s", id="surface and deep layer"),
    ],
)
def test_room_with_a_store(deep: bool, days: int, step: str) -> None:
    """100 m2 of board or so. The wave in W, and the layers' RH at each hour's end."""
    store = MoistureStore(area=2.0, deep=deep, thickness=0.02)
    season = run(room(store), days=days, spin_up=days - 1, step=step)
    assert_isothermal(season)
    hours, steps = last_day(season)
    every = slice(None, None, 10)
    exact = with_store(store, hours[every])
    swing = np.ptp(exact[:, 0])
    # The store takes 40 percent of the wave, so that it is the store that is tested.
    assert swing == pytest.approx(0.59 * SOURCE / INFLOW, rel=0.01)
    error = np.abs(steps["indoor_humidity_ratio"].to_numpy()[every] - exact[:, 0]).max()
    assert error / swing < 0.003
    layers = season.hourly[["surface_store_rh_pct", "deep_store_rh_pct"]].iloc[-24:].to_numpy()
    at_hours = with_store(store, np.arange(1.0, 25.0))[:, 1:]
    swing_rh = np.ptp(at_hours[:, 0])
    assert np.abs(layers[:, 0] / 100.0 - at_hours[:, 0]).max() / swing_rh < 0.005
    if deep:
        assert np.abs(layers[:, 1] / 100.0 - at_hours[:, 1]).max() / swing_rh < 0.005


def test_two_stores_of_one_material_are_one() -> None:
    """Half the surface as walls and half as contents: the room cannot tell."""
    whole, half = MoistureStore(area=2.0), MoistureStore(area=1.0)
    one = run(room(whole), days=3, spin_up=2, step="300 s").hourly
    two = run(
        attrs.evolve(room(half), contents_store=half), days=3, spin_up=2, step="300 s"
    ).hourly  # fmt: skip
    for name in ("indoor_humidity_ratio", "surface_store_rh_pct", "deep_store_rh_pct"):
        np.testing.assert_allclose(two[name], one[name], rtol=1e-10)
    np.testing.assert_allclose(two["contents_surface_rh_pct"], one["surface_store_rh_pct"])
    np.testing.assert_allclose(two["contents_deep_rh_pct"], one["deep_store_rh_pct"])
    assert np.ptp(two["contents_surface_rh_pct"]) > 1.0


def test_error_falls_with_the_step() -> None:
    """First order: at 900, 450 and 225 s differences from the 5 s run halve."""
    store = MoistureStore(area=2.0, deep=False)

    def noon_to_evening(step: str) -> NDArray[np.float64]:
        season = run(room(store), days=12, spin_up=11, step=step)
        _, steps = last_day(season)
        each = round(900.0 / season.step)
        return steps["indoor_humidity_ratio"].to_numpy()[each - 1 :: each]

    fine = noon_to_evening("5 s")
    errors = [np.abs(noon_to_evening(f"{dt} s") - fine).max() for dt in (900, 450, 225)]
    ratios = [errors[0] / errors[1], errors[1] / errors[2]]
    assert ratios == pytest.approx([2.0, 2.0], abs=0.2)
