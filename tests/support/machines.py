"""Machines: an air conditioner of two stages, a house with every kind, and random sets."""

from typing import Any

import attrs
from hypothesis import assume
from hypothesis import strategies as st
from support.values import floats, stated

import moistsim as ms


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


@st.composite
def any_cooling(draw: st.DrawFn) -> ms.Cooling:
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
            minimum_on=draw(stated(0.0, 600.0)),
            minimum_off=draw(stated(0.0, 600.0)),
            start_up_time=draw(floats(0.0, 120.0)),
            water_held=draw(floats(0.0, 6.0)),
            off_cycle_airflow=draw(floats(0.0, 0.1)),
            fan_off_delay=draw(stated(0.0, 300.0)),
            fan=draw(st.sampled_from(["auto", "on", "circulation"])),
            circulation=draw(floats(60.0, 3600.0)),
            fan_airflow=draw(floats(0.3, 1.0)),
        )
    except ms.InputError:  # no saturated coil behind this rating
        assume(False)
        raise


@st.composite
def any_ventilation(draw: st.DrawFn) -> ms.Ventilation:
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
def any_dehumidifier(draw: st.DrawFn, inlets: tuple[str, ...]) -> ms.Dehumidifier:
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
def any_equipment(draw: st.DrawFn) -> ms.Equipment:
    """Any set of machines that can stand together."""
    cooling = draw(st.one_of(st.none(), any_cooling()))
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
    ventilation = draw(st.one_of(st.none(), any_ventilation()))
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
        dehumidifier=draw(st.one_of(st.none(), any_dehumidifier(inlets))),
        ventilation=ventilation,
        sensor=ms.Sensor(
            wall_share=draw(floats(0.0, 1.0)),
            mixing_time=draw(floats(0.0, 600.0)),
            temperature_lag=draw(stated(0.0, 900.0)),
            humidity_lag=draw(stated(0.0, 900.0)),
        ),
    )


@st.composite
def any_second_system(draw: st.DrawFn) -> ms.SecondSystem:
    """Any set of machines on a blower of their own, and a dehumidifier in the zone."""
    other = draw(any_equipment())
    return ms.SecondSystem(
        cooling=other.cooling,
        strips=other.strips,
        heating=other.heating,
        furnace=other.furnace,
        hot_gas=other.hot_gas,
        dehumidifier=draw(st.one_of(st.none(), any_dehumidifier(("zone",)))),
        sensor=attrs.evolve(other.sensor, place=draw(st.sampled_from(["room", "return"]))),
        standby_power=draw(floats(0.0, 50.0)),
    )
