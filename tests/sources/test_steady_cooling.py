"""Steady cooling at a constant load against energy worked by hand from the label.

The arithmetic is that of any load calculation (common practice, no source): runtime fraction =
sensible load / net sensible capacity. Weather, house and machine are invented so that nothing else
takes part: no heat through the envelope, no leaks, no start-up loss, no drying of the idle coil, outdoors at the rating's
95 degF (AHRI 210/240, from memory).
"""

import pytest
from support import houses, weathers

from moistsim import Cooling, Equipment, Season, Sensor, Stage, air, simulate
from moistsim.controls import strategies
from moistsim.engine import parameters
from moistsim.engine.coil import cool, stage_at
from moistsim.equipment.cooling import rated_entering_air

CAPACITY = 36_000.0 * 0.29307107
"""Net, W."""
COP = 12.2 * 0.29307107
SHR = 0.72
OUTDOORS = (95.0 - 32.0) / 1.8
INDOORS = (80.0 - 32.0) / 1.8
UNIT = Cooling(
    stages=[Stage(capacity=CAPACITY, cop=COP, shr=SHR, airflow="1080 cfm")],
    start_up_time=0.0,
    minimum_on=0.0,
    minimum_off=0.0,
    crankcase_heat=20.0,
    off_cycle_airflow=0.0,
    fan_off_delay=0.0,
)
DAYS, SPIN_UP = 8, 4


def cooled(sensible: float, moisture: float, w_out: float) -> Season:
    """A room held at 80 degF by the unit, with constant gains of W and kg/s.

    Board and contents are held close to the air, so that there is about one cycle an hour and not
    sixteen: a room that warms and cools breathes, and each breath brings in outdoor air.
    """
    house = houses.bare_house(
        floor_area=200.0,
        envelope={"surface_film": 200.0},
        gains={
            "appliances_and_lights": sensible,
            "appliances_and_lights_profile": [1.0] * 24,
            "moisture": moisture,
            "moisture_profile": [1.0] * 24,
        },
    )
    machines = Equipment(
        cooling=UNIT, sensor=Sensor(temperature_lag=0.0, humidity_lag=0.0), standby_power=0.0
    )
    strategy = strategies.temperature_only(cooling_setpoint=INDOORS, deadband=0.6)
    return simulate(
        house, machines, strategy, weathers.flat(OUTDOORS, w_out, days=DAYS),
        step="15 s", spin_up=f"{SPIN_UP} day",
    )  # fmt: skip


@pytest.mark.parametrize("runtime", [0.3, 0.5, 0.8])
def test_wet_coil_at_its_rating(runtime: float) -> None:
    """Gains that bring the room to the rating's own 80/67 degF, whence the label is enough.

    At runtime fraction X the net unit takes X 10 551 W, 72 percent of it sensible. So let the
    room be given
        vapor    M = X 10 551 (1 - 0.72) / h_g        h_g = 2 501 000 + 1860 x 26.67 J/kg
        sensible  S = X 10 551 x 0.72 - M 1860 (33 - 26.67)
    (vapor comes at 33 degC). Its humidity then rests where the coil takes M: at 67 degF wet bulb.
        compressor and fans  X 10 551 / 3.575 W;  crankcase (1 - X) 20 W
        condensate           M, all of it drained

    0.5 percent: the machine works in the air of each moment, which cycles around 80/67 degF by
    0.3 K, and the room breathes a little outdoor air as it warms and cools.
    """
    latent_heat = air.vapor_enthalpy(INDOORS)
    moisture = runtime * CAPACITY * (1.0 - SHR) / latent_heat
    sensible = runtime * CAPACITY * SHR - moisture * 1860.0 * (33.0 - INDOORS)
    season = cooled(sensible, moisture, rated_entering_air()[1])
    hours = 24.0 * DAYS
    table, meter = season.hourly, season.meter

    t, w = rated_entering_air()
    assert table["indoor_humidity_ratio"].mean() == pytest.approx(w, rel=0.005)
    ran = table["cooling_stage_1_h"].sum() / hours
    assert table["indoor_temperature_C"].mean() == pytest.approx(INDOORS, abs=0.15)
    assert ran == pytest.approx(runtime, rel=0.005)
    cooling = meter.kwh["compressor"] + meter.kwh["indoor_fan"]
    assert cooling == pytest.approx(runtime * CAPACITY / COP * hours / 1000.0, rel=0.005)
    assert meter.kwh["standby"] == pytest.approx((1.0 - ran) * 20.0 * hours / 1000.0, rel=1e-6)
    assert -table["water_drained_kg"].sum() == pytest.approx(moisture * hours * 3600.0, rel=0.005)
    sensible_taken = table["coil_sensible_kWh"].sum() - meter.kwh["indoor_fan"]
    assert sensible_taken * 1000.0 / hours == pytest.approx(runtime * CAPACITY * SHR, rel=0.005)


def test_dry_coil() -> None:
    """No vapor at all: the coil dries the room until it condenses nothing, and stays dry.

    All of its gross capacity Q is then sensible, and the fan's heat comes off it:
        X = S / (Q - fan), kWh = X (Q ratio + fan) hours
    with Q and input ratio from the curves in the room's mean air, outdoors 95 degF.
    0.5 percent, as above.
    """
    load = 4000.0
    season = cooled(load, 0.0, 0.005)
    hours = 24.0 * DAYS
    table, meter = season.hourly, season.meter
    assert table["dry_coil_h"].sum() == pytest.approx(table["cooling_stage_1_h"].sum(), rel=1e-9)
    assert table["water_coil_kg"].sum() == 0.0

    stage = stage_at(parameters.stage_table(UNIT), 0)
    t, w = table["indoor_temperature_C"].mean(), table["indoor_humidity_ratio"].mean()
    coil = cool(
        stage, t, w, air.wet_bulb(t, w, air.STANDARD_PRESSURE, 15.0), air.STANDARD_PRESSURE,
        OUTDOORS, stage.dry_air, 10.0,
    )  # fmt: skip
    fan = 0.42 * 1080.0
    runtime = load / (coil.capacity - fan)
    ran = table["cooling_stage_1_h"].sum() / hours
    assert ran == pytest.approx(runtime, rel=0.005)
    cooling = meter.kwh["compressor"] + meter.kwh["indoor_fan"]
    assert cooling == pytest.approx(runtime * (coil.input + fan) * hours / 1000.0, rel=0.005)
    # A dry coil takes less than a wet one and more sensible heat than the rating's 72 percent.
    assert 0.72 * CAPACITY < coil.capacity - fan < CAPACITY
