"""Windows: the flow by hand, and when people open them."""

import math

import attrs
import numpy as np
import pytest
from support import houses, weathers

import moistsim as ms
from moistsim import air
from moistsim.engine.parameters import opening_parameters
from moistsim.engine.window_opening import opening_flow, windows_open

PRESSURE = 101_325.0
DT = 60.0
START = 10.0 + 0.5 * DT / 3600.0
"""Middle of the first step after ten."""


def opened(rule: str, t: float, t_out: float, w_out: float, **changes: float) -> float:
    parameters = opening_parameters(ms.WindowOpening(rule=rule, **changes))
    return float(windows_open(parameters, 0.0, 1.0, START, t, t_out, w_out, PRESSURE, DT))


@pytest.mark.parametrize(
    ("rule", "t", "t_out", "w_out", "expected"),
    [
        # Mild is 16 to 25 degC; a warm room is above 23; outdoors 1 K cooler; dew point 13 degC
        # is 9.4 g/kg.
        ("habit", 20.0, 20.0, 0.012, 1.0),
        ("habit", 26.0, 15.9, 0.005, 0.0),
        ("habit", 26.0, 25.1, 0.005, 0.0),
        ("temperature", 24.0, 20.0, 0.012, 1.0),
        ("temperature", 22.9, 20.0, 0.012, 0.0),
        ("temperature", 24.0, 23.5, 0.012, 0.0),
        ("dew point", 24.0, 20.0, 0.0093, 1.0),
        ("dew point", 24.0, 20.0, 0.0095, 0.0),
        ("dew point", 22.9, 20.0, 0.0080, 0.0),
    ],
)
def test_the_rules(rule: str, t: float, t_out: float, w_out: float, expected: float) -> None:
    assert opened(rule, t, t_out, w_out) == expected


def test_people_look_on_the_hour() -> None:
    parameters = opening_parameters(ms.WindowOpening())
    later = START + DT / 3600.0
    for was in (0.0, 1.0):
        # It got too hot outdoors, and it is mild again: nobody looks.
        for t_out in (30.0, 20.0):
            assert windows_open(parameters, was, 1.0, later, 24.0, t_out, 0.01, PRESSURE, DT) == was
    assert windows_open(parameters, 1.0, 0.0, START, 24.0, 20.0, 0.01, PRESSURE, DT) == 0.0
    shut = opening_parameters(None)
    assert windows_open(shut, 0.0, 1.0, START, 24.0, 20.0, 0.01, PRESSURE, DT) == 0.0


def test_flow_by_hand() -> None:
    """Flow through an open window is that of stack and wind, worked by hand.

    0.5 m2, 24 degC against 18: 0.65 x 0.5 sqrt(2 x 9.81 x 0.5 x 6 / 297.15) = 0.1446 m3/s; with
    0.15 m3/s of wind 0.2084.
    """
    parameters = opening_parameters(ms.WindowOpening())
    assert opening_flow(parameters, 1.0, 0.0, 24.0, 18.0) == pytest.approx(0.1446, abs=1e-4)
    assert opening_flow(parameters, 1.0, 0.15, 24.0, 18.0) == pytest.approx(0.2084, abs=1e-4)
    assert opening_flow(parameters, 0.0, 0.15, 24.0, 18.0) == 0.0
    assert opening_flow(parameters, 1.0, 0.0, 18.0, 18.0) == 0.0


def test_the_meter_counts_its_air() -> None:
    """The meter counts the air of open windows, hour by hour.

    Still air at 18 degC, a room held near 24 by 10 kW of appliances: hours 7 to 22 open, closed
    the rest, and each open hour's air by the formula; nobody opens on vacation.
    """
    weather = weathers.flat(18.0, 0.008, days=3)
    house = houses.bare_house(
        gains={"appliances_and_lights": 600.0, "appliances_and_lights_profile": [1.0] * 24},
        envelope={"wall_u": 1.0},
        window_opening=ms.WindowOpening(rule="habit", area=0.1, height=1.0),
    )

    def season(of: ms.House) -> ms.Season:
        return ms.simulate(of, ms.Equipment(standby_power=0.0), ms.strategies.temperature_only,
                           weather, spin_up=0)  # fmt: skip

    run = season(house)
    hourly = run.hourly
    at = hourly.index.hour
    assert hourly["windows_open_h"].to_numpy() == pytest.approx(((at >= 7) & (at < 22)) * 1.0)
    steps = run.minutes("01-02")
    # Windows feel the room as it is at the start of a step, the end of the one before.
    t = steps["indoor_temperature_C"].to_numpy()[719:779]
    density = float(air.dry_air_density(18.0, 0.008, PRESSURE))
    flow = 0.65 * 0.1 * np.sqrt(2.0 * 9.81 * 1.0 * (t - 18.0) / (t + 273.15))
    assert hourly["air_opening_kg"].iloc[24 + 12] == pytest.approx(
        density * flow.sum() * 60.0, rel=1e-6
    )
    assert math.isclose(
        hourly["water_opening_kg"].sum(), 0.008 * hourly["air_opening_kg"].sum(), rel_tol=1e-12
    )
    away = season(attrs.evolve(house, occupancy=ms.Occupancy(vacations=["01-02 to 01-02"],
                  shower_water=0.0, cooking_water=0.0)))  # fmt: skip
    by_day = away.hourly["windows_open_h"].resample("D").sum()
    assert by_day.tolist() == [15.0, 0.0, 15.0]
