"""Houses, machines, controls and weather that several tests share: fixed ones and random ones."""

import json
import os
import subprocess
import sys
from functools import lru_cache
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

import moistsim as ms

SAMPLES = ("miami", "greensboro", "sand_point")
BUILT_IN = tuple(ms.strategies.BUILT_IN)


@lru_cache
def sample(name: str) -> ms.Weather:
    """A sample year, read once a process."""
    return ms.Weather.sample(name)


@lru_cache
def stretch(place: str, first: int, days: int) -> ms.Weather:
    """Some days of a sample year as a weather of its own, whose sun is quick to compute.

    `first` counts days from 1 January; the ground is then at the mean of these days.
    """
    whole = sample(place)
    rows = whole.frame.iloc[24 * first : 24 * (first + days)].drop(columns="humidity_ratio")
    return ms.Weather.from_frame(
        rows,
        latitude=whole.latitude,
        longitude=whole.longitude,
        utc_offset=whole.utc_offset,
        elevation=whole.elevation,
        label="start",
    )


def house(**changes: Any) -> ms.House:
    """A tight house of our own invention, with `changes`."""
    return ms.House(**{"floor_area": "2000 ft2", "ach50": 2.0, **changes})


def two_stage(**changes: Any) -> ms.Cooling:
    """An air conditioner of two stages, about two and a half tons."""
    stages = [
        ms.Stage(capacity="20000 Btu/h", airflow="620 cfm"),
        ms.Stage(capacity="30000 Btu/h", airflow="900 cfm"),
    ]
    return ms.Cooling(**{"stages": stages, **changes})


def machines(**changes: Any) -> ms.Equipment:
    """Every kind of machine at once, so that each built-in strategy finds what it calls."""
    return ms.Equipment(
        **{
            "cooling": two_stage(),
            "strips": ms.Strips(stages=["5 kW", "5 kW"]),
            "dehumidifier": ms.Dehumidifier(capacity="70 pint/day"),
            "ventilation": ms.Ventilation(kind="supply"),
            "heating": ms.HeatPump(capacity="24000 Btu/h"),
            "hot_gas": ms.HotGas(),
            **changes,
        }
    )


@lru_cache
def whole_year(place: str, strategy: str) -> ms.Season:
    """The shared house through a sample year."""
    return ms.simulate(house(), machines(), ms.strategies.BUILT_IN[strategy], sample(place))


def uncompiled(call: str) -> Any:
    """What `call`, such as ``"test_compiled.results()"``, gives in a process without numba's
    compiler; it must be JSON."""
    module = call.split(".")[0]
    done = subprocess.run(
        [sys.executable, "-c", f"import json, {module}; print(json.dumps({call}))"],
        env={
            **os.environ,
            "NUMBA_DISABLE_JIT": "1",
            "PYTHONPATH": os.pathsep.join(p or os.curdir for p in sys.path),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    """Finite floats in a range."""
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


@st.composite
def envelopes(draw: st.DrawFn) -> ms.Envelope:
    """From a shed to a store of stone; every one loses some heat, or no room in it would be
    bounded."""
    glass = {side: draw(floats(0.0, 0.5)) for side in ("front", "back", "left", "right")}
    return ms.Envelope(
        orientation=draw(floats(0.0, 359.0)),
        aspect=draw(floats(0.4, 3.0)),
        wall_u=draw(floats(0.05, 2.0)),
        wall_absorptance=draw(floats(0.0, 1.0)),
        roof_u=draw(floats(0.0, 1.0)),
        floor_u=draw(floats(0.0, 1.0)),
        window_u=draw(floats(0.0, 5.0)),
        window_shgc=draw(floats(0.0, 0.8)),
        fast_mass=draw(floats(0.0, 120e3)),
        slow_mass=draw(st.one_of(st.just(0.0), floats(20e3, 300e3))),
        mass_coupling=draw(floats(0.0, 8.0)),
        window_to_wall_ratio=ms.WindowToWallRatio(**glass),
    )


@st.composite
def leakages(draw: st.DrawFn) -> dict[str, Any]:
    """How much leaks, in any of the three ways, and where, as fields of a house."""
    amount = draw(
        st.one_of(
            st.fixed_dictionaries({"ach50": floats(0.1, 20.0)}),
            st.fixed_dictionaries({"cfm50": floats(0.01, 3.0)}),
            st.fixed_dictionaries({"effective_area": floats(0.001, 0.3)}),
        )
    )
    where = draw(
        st.one_of(
            st.just({"model": "basic"}),
            st.fixed_dictionaries(
                {
                    "flue_share": st.one_of(st.just(0.0), floats(0.05, 0.4)),
                    "ceiling_share": st.one_of(st.none(), floats(0.0, 0.3)),
                    "floor_share": st.one_of(st.none(), floats(0.0, 0.3)),
                    "foundation": st.sampled_from(["slab or basement", "crawl space"]),
                    "terrain": st.sampled_from(["as tabulated", "suburbs", "open water"]),
                }
            ),
        )
    )
    ach50 = {"ach50": amount.pop("ach50")} if "ach50" in amount else {}
    return {**ach50, "leakage": ms.Leakage(**amount, **where)}


@st.composite
def ducts(draw: st.DrawFn) -> ms.Ducts:
    """Inside, or outside with any leakage."""
    doors = draw(st.one_of(st.just(0.0), floats(0.0, 0.1)))
    location = draw(st.sampled_from(["inside", "attic", "crawl space"]))
    if location == "inside":
        return ms.Ducts(closed_door_flow=doors)
    return ms.Ducts(
        location=location,
        supply_leakage=draw(floats(0.0, 0.4)),
        return_leakage=draw(floats(0.0, 0.4)),
        supply_area=draw(st.one_of(st.none(), floats(0.0, 80.0))),
        insulation=draw(floats(0.1, 2.0)),
        space_ventilation=draw(floats(0.0, 10.0)),
        space_u=draw(floats(0.2, 5.0)),
        space_heat_capacity=draw(st.one_of(st.just(0.0), floats(0.0, 60e3))),
        closed_door_flow=doors,
    )


@st.composite
def exhausts(draw: st.DrawFn) -> ms.Exhausts:
    """Any of the fans, for some of the evening."""
    fan = st.builds(ms.ExhaustFan, airflow=floats(0.0, 0.2), runtime=floats(0.0, 14400.0))
    names = ("dryer", "range_hood", "bath_fans")
    return ms.Exhausts(**{name: draw(st.one_of(st.none(), fan)) for name in names})


@st.composite
def houses(draw: st.DrawFn) -> ms.House:
    """Houses of any size, tightness, mass and household."""
    return ms.House(
        **draw(leakages()),
        ducts=draw(ducts()),
        exhausts=draw(exhausts()),
        floor_area=draw(floats(40.0, 500.0)),
        stories=draw(st.integers(1, 3)),
        ceiling_height=draw(floats(2.2, 4.0)),
        bedrooms=draw(st.integers(0, 6)),
        leakage_exponent=draw(floats(0.5, 1.0)),
        shelter=draw(st.integers(1, 5)),
        envelope=draw(envelopes()),
        gains=ms.Gains(
            occupants=draw(floats(0.0, 8.0)),
            moisture=draw(st.one_of(st.none(), floats(0.0, 40.0 / 86400.0))),
            appliances_and_lights=draw(floats(0.0, 1500.0)),
        ),
        moisture_store=ms.MoistureStore(
            area=draw(floats(0.0, 6.0)), deep=draw(st.booleans()), coating=draw(floats(1e8, 3e9))
        ),
    )


@st.composite
def coolings(draw: st.DrawFn) -> ms.Cooling:
    """Air conditioners of one or two stages whose rating a wet coil can give."""
    top = draw(floats(4000.0, 16000.0))
    shares = draw(st.sampled_from([(1.0,), (0.7, 1.0), (0.5, 1.0)]))
    flow = draw(floats(4.3e-5, 5.3e-5))  # m3/s per W: about 320 to 400 cfm a ton
    shr = draw(floats(0.62, 0.74))
    try:
        return ms.Cooling(
            stages=[
                ms.Stage(
                    capacity=top * s, shr=shr, airflow=top * s * flow, cop=draw(floats(3.0, 4.5))
                )
                for s in shares
            ],
            minimum_on=draw(floats(0.0, 600.0)),
            minimum_off=draw(floats(0.0, 600.0)),
            start_up_time=draw(floats(0.0, 120.0)),
            water_held=draw(floats(0.0, 6.0)),
            off_cycle_airflow=draw(floats(0.0, 0.1)),
            fan_off_delay=draw(floats(0.0, 300.0)),
            idle_airflow=draw(st.one_of(st.just(0.0), floats(0.3, 1.0))),
        )
    except ms.InputError:  # no saturated coil behind this rating
        assume(False)
        raise


@st.composite
def ventilations(draw: st.DrawFn) -> ms.Ventilation:
    """Exhaust, supply, central, or balanced with any recovery; any lockout."""
    kind = draw(st.sampled_from(["exhaust", "supply", "balanced", "central"]))
    balanced, central = kind == "balanced", kind == "central"
    recovery = floats(0.0, 0.9) if kind == "balanced" else st.just(0.0)
    return ms.Ventilation(
        kind=kind,
        airflow=draw(floats(0.0, 0.15) if central else st.one_of(st.none(), floats(0.0, 0.15))),
        sensible_recovery=draw(recovery),
        latent_recovery=draw(recovery),
        frost_limit=draw(st.one_of(st.none(), floats(-10.0, 15.0))) if balanced else None,
        frost_control=draw(st.sampled_from(["bypass", "supply rests"])),
        # Left out, the flow is sized by it, and no flow makes up for a very short one.
        least_run=draw(st.one_of(st.just(0.0), floats(60.0 if balanced else 600.0, 3600.0))),
        lockout_dew_point=draw(st.one_of(st.none(), floats(10.0, 25.0))),
        lockout_above=draw(st.one_of(st.none(), floats(25.0, 40.0))),
        lockout_below=draw(st.one_of(st.none(), floats(-20.0, 10.0))),
    )


@st.composite
def dehumidifiers(draw: st.DrawFn, inlets: tuple[str, ...]) -> ms.Dehumidifier:
    """Any rating, inlet, bucket and humidistat."""
    inlet = draw(st.sampled_from(inlets))
    return ms.Dehumidifier(
        capacity=draw(floats(1e-4, 6e-4)),
        airflow="450 cfm",
        rating=draw(st.sampled_from(["26.7 degC", "18.3 degC portable", "22.8 degC whole-home"])),
        inlet=inlet,
        bucket=draw(st.one_of(st.none(), floats(0.5, 10.0))) if inlet == "zone" else None,
        emptied_at=draw(floats(0.0, 23.9)),
        pump_power=draw(floats(0.0, 60.0)),
        off_cycle_fan_power=draw(floats(0.0, 60.0)),
        humidistat=draw(st.one_of(st.none(), floats(35.0, 65.0))),
        defrost_below=draw(st.one_of(st.none(), floats(9.0, 18.0))),
        filter_factor=draw(floats(0.5, 1.0)),
    )


@st.composite
def equipments(draw: st.DrawFn) -> ms.Equipment:
    """Any set of machines that can stand together."""
    cooling = draw(st.one_of(st.none(), coolings()))
    strips = heating = furnace = hot_gas = None
    if cooling is not None:
        powers = st.lists(floats(500.0, 8000.0), min_size=1, max_size=3)
        strips = draw(
            st.one_of(
                st.none(),
                st.builds(
                    ms.Strips,
                    stages=powers,
                    proportional=st.booleans(),
                    stage_delay=floats(0.0, 200.0),
                    proof_time=floats(0.0, 100.0),
                    voltage=floats(200.0, 250.0),
                    least_airflow=floats(0.0, 6e-5),
                ),
            )
        )
        sizes = floats(1500.0, 14000.0)
        heating = draw(st.one_of(st.none(), sizes.map(lambda c: ms.HeatPump(capacity=c))))
        if heating is None:
            furnace = draw(st.one_of(st.none(), sizes.map(lambda c: ms.Furnace(capacity=c))))
        hot_gas = draw(st.one_of(st.none(), floats(0.1, 1.0).map(lambda s: ms.HotGas(share=s))))
    ventilation = draw(st.one_of(st.none(), ventilations()))
    if ventilation is not None and ventilation.kind == "central" and cooling is None:
        ventilation = None
    inlets: tuple[str, ...] = ("zone", "outdoors")
    if ventilation is not None and ventilation.kind in ("balanced", "supply"):
        inlets = (*inlets, "ventilation")
    return ms.Equipment(
        cooling=cooling,
        strips=strips,
        heating=heating,
        furnace=furnace,
        hot_gas=hot_gas,
        dehumidifier=draw(st.one_of(st.none(), dehumidifiers(inlets))),
        ventilation=ventilation,
        sensor=ms.Sensor(
            temperature_lag=draw(floats(0.0, 900.0)), humidity_lag=draw(floats(0.0, 900.0))
        ),
    )


@st.composite
def controls(draw: st.DrawFn) -> ms.Strategy:
    """A built-in strategy with setpoints that do not contradict each other."""
    strategy = ms.strategies.BUILT_IN[draw(st.sampled_from(BUILT_IN))]
    settings: dict[str, float] = {
        "cooling_setpoint": draw(floats(24.0, 27.0)),
        "heating_setpoint": draw(floats(16.0, 20.0)),
        "deadband": draw(floats(0.3, 1.2)),
    }
    if "target_rh" in strategy.settings:
        settings["target_rh"] = draw(floats(35.0, 65.0))
    return strategy(**settings)


@st.composite
def spells(draw: st.DrawFn, days: int = 7) -> ms.Weather:
    """A stretch of a sample year."""
    return stretch(draw(st.sampled_from(SAMPLES)), draw(st.integers(0, 364 - days)), days)
