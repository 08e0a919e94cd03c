"""Cycles of a thermostat with a deadband on a one-mass room: N = 4 Nmax X (1 - X).

NEMA DC 3, from memory; the derivation is by hand. A room of heat capacity C, a load L and a machine
that takes Q swing through a deadband d in

    t_on = C d / (Q - L),   t_off = C d / L,

so that with the runtime fraction X = t_on / (t_on + t_off) = L / Q

    N = 1 / (t_on + t_off) = Q / (C d) X (1 - X),   Nmax = Q / (4 C d).

The room is invented: no skin, no leaks, no moisture, its contents held close to its air, so that
air and contents are one mass. The load is appliances. The machine has no minimum times, no start-up
and a dry coil, and outdoors is as warm as its rating, so that Q hardly moves; sensors do not lag.
"""

import numpy as np
import pytest
from support import houses, weathers

import moistsim as ms
from moistsim import air

INDOORS, DEADBAND, DAYS = 26.0, 1.0, 3
AREA, FAST = 150.0, 14e3
FRACTIONS = (0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9)


def cycling(load: float) -> tuple[float, float, float]:
    """Runtime fraction, starts an hour, and heat taken while running (fan's own taken off), W."""
    room = houses.bare_house(
        floor_area=AREA,
        envelope={"surface_film": 5000.0, "fast_mass": FAST, "slow_mass": 0.0},
        gains={"appliances_and_lights": load, "appliances_and_lights_profile": [1.0] * 24},
    )
    cooling = ms.Cooling(
        stages=[ms.Stage(capacity=9000.0)], minimum_on=0.0, minimum_off=0.0, start_up_time=0.0
    )
    machines = ms.Equipment(
        cooling=cooling,
        sensor=ms.Sensor(wall_share=0.0, mixing_time=0.0, temperature_lag=0.0, humidity_lag=0.0),
        standby_power=0.0,
    )
    season = ms.simulate(
        room,
        machines,
        ms.strategies.temperature_only(
            cooling_setpoint=INDOORS, heating_setpoint=10.0, deadband=DEADBAND
        ),
        # Long enough ahead for the room to breathe in dry air.
        weathers.flat(35.0, 0.002, days=20 + DAYS),
        start="01-21",
        step="5 s",
        spin_up="20 day",
    )
    table = season.hourly
    hours = float(table["cooling_stage_1_h"].sum())
    assert abs(table["water_coil_kg"].sum()) < 1e-3
    taken = float(table["coil_total_kWh"].sum() - table["indoor_fan_kWh"].sum())
    return (
        hours / (24.0 * DAYS),
        float(table["cooling_stage_1_starts"].sum()) / (24.0 * DAYS),
        1000.0 * taken / hours,
    )


@pytest.mark.slow
def test_the_parabola() -> None:
    """Within 1.5 percent, or half a start in the three days where that is more.

    A step of 5 s goes up to a step past each limit of a cycle of 20 min or more (0.8 percent), and
    the air leads the contents by up to Q / 750 kW/K = 0.01 K of a deadband of 1 K.
    """
    heat = cycling(4000.0)[2]
    # One mass: contents, and the air as it breathes at constant pressure.
    capacity = AREA * FAST + 2.5 * AREA * air.STANDARD_DENSITY * air.CP_DRY_AIR
    most = 3600.0 * heat / (4.0 * capacity * DEADBAND)
    print(f"Nmax by hand {most:.3f} an hour, {heat:.0f} W")
    loads = [x * heat for x in FRACTIONS]
    measured = [cycling(load) for load in loads]
    for x, (runtime, starts, power) in zip(FRACTIONS, measured, strict=True):
        parabola = 4.0 * most * runtime * (1.0 - runtime)
        print(
            f"X {runtime:.3f}: {starts:.3f} starts an hour, parabola {parabola:.3f}, {power:.0f} W"
        )
        assert runtime == pytest.approx(x, abs=0.01)
        assert starts == pytest.approx(parabola, rel=0.015, abs=0.5 / (24.0 * DAYS))
    # Its shape, whatever Nmax is: most at one half, and the same on both sides.
    runtimes = np.array([m[0] for m in measured])
    starts = np.array([m[1] for m in measured])
    ratio = starts / (runtimes * (1.0 - runtimes))
    print("N / X(1 - X):", ratio.round(2))
    assert starts.argmax() == FRACTIONS.index(0.5)
    assert np.ptp(ratio) / ratio.mean() < 0.02
