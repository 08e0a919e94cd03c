"""Ducts outside the envelope: delivery effectiveness of ASHRAE 152, what leaks draw, the attic.

The formula of ASHRAE Standard 152 is from memory. It is one of sensible heat at a steady state,
without the heat that a duct holds; the ducts here are held to it at equal humidity everywhere.
"""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from support import houses
from support.houses import house
from support.machines import machines, two_stage
from support.machines_at_a_point import SEA_LEVEL, one_step
from support.values import floats
from support.weathers import stretch

import moistsim as ms
from moistsim import air
from moistsim.core.units import from_si
from moistsim.engine import parameters
from moistsim.engine.ducts import return_air, supply_air
from moistsim.engine.outset import Surroundings

UNVENTILATED = machines(ventilation=None)


def effectiveness(
    a_s: float, a_r: float, b_s: float, b_r: float, rise: float, below_s: float, below_r: float
) -> float:
    """ASHRAE 152: heat delivered over heat put in, `below` being room less space, K."""
    return (
        a_s * b_s
        - a_s * b_s * (1.0 - a_r * b_r) * below_r / rise
        - a_s * (1.0 - b_s) * below_s / rise
    )


def parameters_of(**changes: Any) -> Any:
    """The engine's ducts for 100 m2 with an attic."""
    house = houses.bare_house(ducts=ms.Ducts(**changes))
    return parameters.duct_parameters(house, house.ducts, house.floor_area)


def test_delivery_effectiveness_by_hand() -> None:
    """Delivery effectiveness is that of the formula, worked by hand.

    Dry air, 0.5 kg/s, 10 kW of heat, room 20 degC, attic 0 degC; leaks 10 % and 8 %; supply
    walls 20 W/K, return walls 5 W/K. With m c = 503 W/K:

    B_s = exp(-20/503) = 0.96102,  B_r = exp(-5/503) = 0.99011,  dT_e = 10000/503 = 19.881 K
    DE  = 0.9 x 0.96102 - 0.9 x 0.96102 (1 - 0.92 x 0.99011) 20/19.881 - 0.9 x 0.03898 x 20/19.881
        = 0.86492 - 0.07753 - 0.03529 = 0.7521
    """
    ducts = parameters_of(
        location="attic", supply_leakage=0.10, return_leakage=0.08, supply_area=20.0,
        return_area=5.0, insulation=1.0,
    )  # fmt: skip
    flow, c, t, t_attic = 0.5, air.CP_DRY_AIR, 20.0, 0.0
    back = return_air(ducts, t, 0.0, t_attic, 0.0, flow)
    h = air.enthalpy(back.temperature, 0.0) + 10e3 / flow
    lost = supply_air(ducts, h, 0.0, Surroundings(t_attic, 0.0, 100.0), SEA_LEVEL, flow, 60.0)
    register = lost.leak_heat / lost.leak / c
    delivered = (flow - lost.leak) * c * (register - t)
    assert delivered / 10e3 == pytest.approx(0.7521, abs=1e-4)


def test_a_step_with_the_blower_on_for_half_of_it_loses_half() -> None:
    """Leaks, walls and sweat of a fan-off delay that ends within a step, at the run's airflow."""
    ducts = parameters_of(location="attic", supply_leakage=0.1, return_leakage=0.08)
    humid = Surroundings(33.0, 0.024, 100.0)
    returned = [return_air(ducts, 24.0, 0.01, 33.0, 0.024, 0.5 * s, s) for s in (1.0, 0.5)]
    supplied = [
        supply_air(ducts, air.enthalpy(13.0, 0.009), 0.009, humid, SEA_LEVEL, 0.5 * s, 60.0, s)
        for s in (1.0, 0.5)
    ]
    for whole, half in (returned, supplied):
        for name in ("leak", "leak_water", "leak_heat", "walls"):
            assert getattr(half, name) == pytest.approx(0.5 * getattr(whole, name), rel=1e-9)
    assert returned[0].temperature == pytest.approx(returned[1].temperature, rel=1e-12)
    assert supplied[1].sweat == pytest.approx(0.5 * supplied[0].sweat, rel=1e-9)
    assert abs(supplied[0].walls) > 50.0


@pytest.mark.parametrize("location", ["attic", "crawl space", "basement", "garage"])
@pytest.mark.parametrize(
    ("supply", "back", "r_value"), [(0.1, 0.08, 6.0), (0.0, 0.0, 4.2), (0.2, 0.0, 8.0), (0, 0.2, 2)]
)
def test_the_whole_engine_delivers_what_ashrae_152_says(
    location: str, supply: float, back: float, r_value: float
) -> None:
    """A minute of a heat pump in a house of 100 m2: what the room gets, over pump and blower.

    Delivered, in the standard's sense, is the supply's flow times its difference to the room; the
    meter's skin flows are that and the air that moves at the room's own enthalpy.
    """
    ducts = ms.Ducts(
        location=location, supply_leakage=supply, return_leakage=back,
        insulation=f"{r_value} ft2 h delta_degF/Btu",
    )  # fmt: skip
    (t, rh), around = (20.0, 0.4), 2.0
    w = air.humidity_ratio_at(t, rh, SEA_LEVEL)
    _, step = one_step(
        machines(), room=(t, rh), outdoors=(5.0, 0.5), house=houses.bare_house(ducts=ducts),
        space={"temperature": around, "humidity_ratio": w}, heating=1.0,
    )  # fmt: skip
    put_in = step.heat_heat_pump + step.indoor_fan
    skin = step.heat_return_leak + step.heat_supply_leak + step.heat_duct_walls
    net = step.air_return_leak + step.air_supply_leak
    delivered = put_in + skin - net * air.enthalpy(t, w)
    # By the standard: areas from the floor, 0.27 and 0.05, and R in SI.
    flow = 900.0 * 0.000471947443 * air.STANDARD_DENSITY
    capacity = flow * (air.CP_DRY_AIR + air.CP_VAPOR * w)
    resistance = r_value * 0.1761101838
    b_s, b_r = (math.exp(-area / resistance / capacity) for area in (27.0, 5.0))
    below = t - around
    expected = effectiveness(1.0 - supply, 1.0 - back, b_s, b_r, put_in / capacity, below, below)
    print(f"{location}: {delivered / put_in:.4f}, ASHRAE 152 {expected:.4f}")
    assert 0.3 < expected < 0.98
    assert delivered / put_in == pytest.approx(expected, rel=1e-6)


def test_ducts_without_leaks_and_walls_are_ducts_inside() -> None:
    sound = ms.Ducts(
        location="attic", supply_leakage=0.0, return_leakage=0.0, supply_area=0.0, return_area=0.0
    )
    first, second = (
        ms.simulate(
            house(ducts=ducts, attic=ms.Attic()), machines(), ms.strategies.temperature_only,
            stretch("miami", 190, 2), spin_up=0,
        ).hourly
        for ducts in (sound, ms.Ducts())
    )  # fmt: skip
    np.testing.assert_allclose(first, second, rtol=1e-9, atol=1e-9)


# --- What leaks draw ----------------------------------------------------------------------------


@pytest.mark.parametrize(("supply", "back"), [(0.12, 0.02), (0.02, 0.12), (0.08, 0.08)])
def test_unbalanced_leaks_draw_air_in_or_push_it_out(supply: float, back: float) -> None:
    """Net duct leakage combines with natural infiltration in quadrature.

    Net leakage u combines with what leaks by wind and stack, N, in quadrature. Through the
    house's own leaks, none of them to the attic, comes sqrt(N² + u²), less what the larger return
        leak pushes.
    """
    ducts = ms.Ducts(location="attic", supply_leakage=supply, return_leakage=back)
    natural = 0.02
    at: dict[str, Any] = {
        "room": (25.0, 0.5), "outdoors": (30.0, 0.6), "natural": natural,
        "house": houses.bare_house(ducts=ducts, leakage=ms.Leakage(ceiling_share=0.0)),
    }  # fmt: skip
    _, step = one_step(UNVENTILATED, **at, fan=1.0, airflow=1.0)
    w_out = air.humidity_ratio_at(30.0, 0.6, SEA_LEVEL)
    density = air.dry_air_density(30.0, w_out, SEA_LEVEL)
    blown = 900.0 * 0.000471947443 * air.STANDARD_DENSITY
    net = (supply - back) * blown / density
    expected = density * (math.hypot(natural, net) + min(net, 0.0))
    assert step.air_infiltration == pytest.approx(expected, rel=1e-9)
    assert step.air_return_leak == pytest.approx(back * blown, rel=1e-9)
    assert step.air_supply_leak == pytest.approx(-supply * blown, rel=1e-9)
    # The blower at rest: what wind and stack bring, and no ducts.
    _, step = one_step(UNVENTILATED, **at)
    assert step.air_infiltration == pytest.approx(natural * density, rel=1e-9)
    ducts_do = [name for name in step._fields if name.endswith(("_leak", "_walls"))]
    assert len(ducts_do) == 7 and all(getattr(step, name) == 0.0 for name in ducts_do)


def test_closed_doors_unbalance_while_the_blower_runs() -> None:
    """Closed doors add infiltration in proportion to the blower's flow.

    0.03 m3/s by wind and stack, 0.04 by doors at full flow: 0.05 together; a fifth of the doors'
    0.04 at half the blower's flow: hypot(0.03, 0.02).
    """
    rooms = houses.bare_house(ducts=ms.Ducts(closed_door_flow=0.04))
    w = air.humidity_ratio_at(25.0, 0.5, SEA_LEVEL)
    density = air.dry_air_density(25.0, w, SEA_LEVEL)
    for calls, total in (
        ({"fan": 1.0, "airflow": 1.0}, 0.05), ({"fan": 1.0, "airflow": 0.5}, math.hypot(0.03, 0.02)), ({}, 0.03),
    ):  # fmt: skip
        _, step = one_step(
            UNVENTILATED,
            room=(25.0, 0.5),
            outdoors=(25.0, 0.5),
            natural=0.03,
            house=rooms,
            **calls,
        )
        assert step.air_infiltration == pytest.approx(total * density, rel=1e-9)


def test_a_return_leak_brings_the_attics_vapor_to_the_coil() -> None:
    """A return leak brings attic vapor to the coil.

    A tenth of the air from an attic of 40 degC and 0.020, the rest from a room of 25 degC and
    50 % (0.00988): the coil sees W = 0.9 x 0.00988 + 0.1 x 0.020, and takes more water than it
    takes from the room's air alone.
    """
    at: dict[str, Any] = {"room": (25.0, 0.5), "outdoors": (33.0, 0.6), "cooling": 2.0}
    space = {"temperature": 40.0, "humidity_ratio": 0.020}
    leaky = ms.Ducts(location="attic", return_leakage=0.1, return_area=0.0)
    _, step = one_step(machines(), **at, house=houses.bare_house(ducts=leaky), space=space)
    _, tight = one_step(machines(), **at)
    w = air.humidity_ratio_at(25.0, 0.5, SEA_LEVEL)
    blown = 900.0 * 0.000471947443 * air.STANDARD_DENSITY
    assert step.water_return_leak == pytest.approx(0.1 * blown * 0.020, rel=1e-9)
    mixed = air.temperature_at_enthalpy(
        0.9 * air.enthalpy(25.0, w) + 0.1 * air.enthalpy(40.0, 0.020), 0.9 * w + 0.1 * 0.020
    )
    assert step.entering_temperature == pytest.approx(mixed, abs=1e-9)
    assert tight.entering_temperature == 25.0
    assert -step.water_coil > -1.1 * tight.water_coil > 0.0
    assert step.compressor != tight.compressor


def test_cold_ducts_sweat_where_their_skin_is_below_the_dew_point() -> None:
    """Bare metal sweats, insulation of R-8 does not; worked by hand.

    R 0.12 m2 K/W is the film alone: the skin is at the mean of the air in the duct. 27 m2 of supply
    duct and 0.5 kg/s of air of 12 degC in a crawl space of 24 degC and 0.0170: UA = 225 W/K, m c = 508
    W/K, 1 - exp(-225/508) = 0.358; the air leaves 4.29 K warmer, and the skin is at 14.15 degC, of
    1613 Pa. The space has 2696 Pa: 2.5e-8 x 27 x 1083 = 7.31e-4 kg/s.
    """
    around = Surroundings(24.0, 0.0170, 1e4)
    bare, wrapped = (
        supply_air(
            parameters_of(location="crawl space", supply_leakage=0.0, supply_area=27.0, insulation=r),
            air.enthalpy(12.0, 0.008), 0.008, around, SEA_LEVEL, 0.5, 60.0,
        )
        for r in (0.12, 1.41)
    )  # fmt: skip
    assert bare.sweat == pytest.approx(7.31e-4, rel=0.01)
    assert wrapped.sweat == 0.0


# --- Seasons ------------------------------------------------------------------------------------

HOT = two_stage(low_outdoor_limit=-40.0)


def summer(ducts: ms.Ducts, days: int = 14) -> ms.Season:
    """July in Miami, cooled by temperature alone."""
    return ms.simulate(
        house(ducts=ducts), machines(cooling=HOT, heating=None),
        ms.strategies.temperature_only(heating_setpoint=5.0),
        stretch("miami", 190, days), spin_up="2 day",
    )  # fmt: skip


def test_an_attic_in_miami() -> None:
    """An attic in Miami is as hot, and its ducts cost as much, as practice says.

    By day the attic is far warmer than outdoors, 45 to 65 degC at its hottest (120 to 140 degF,
    common practice, no source), by night no warmer; balances and tags close, and ducts cost what
    homes with them pay: 10 to 50 % more (common practice, no source).
    """
    season, inside = summer(ms.Ducts(location="attic")), summer(ms.Ducts())
    attic = season.hourly["attic_temperature_C"]
    hottest = attic.max()
    more = season.meter.total_kwh / inside.meter.total_kwh - 1.0
    print(f"attic up to {from_si(float(hottest), 'degC', 'degF'):.0f} degF, {100 * more:+.1f} %")
    assert 45.0 < hottest < 65.0
    night = season.hourly.index.hour < 5
    assert attic[night].mean() < season.hourly["outdoor_temperature_C"][night].mean() + 0.5
    assert 0.10 < more < 0.50
    assert (season.balance["relative"].abs() <= 1e-9).all()
    found = season.attribution()
    assert (found.residual["relative"].abs() <= 1e-9).all()
    # Latent too: what the return draws is a source of the water that the coil takes.
    assert found.water.loc["ducts", "coil"] > 1.0
    assert found.heat.loc["ducts", "coil_sensible"] > 0.0
    assert inside.attribution().heat.loc["ducts"].abs().sum() == 0.0


@settings(max_examples=6, deadline=None)
@given(
    supply=floats(0.0, 0.15), back=floats(0.0, 0.15), more=floats(0.02, 0.15), times=floats(1.1, 2.0)
)  # fmt: skip
def test_more_duct_leakage_never_lowers_kwh_in_a_hot_climate(
    supply: float, back: float, more: float, times: float
) -> None:
    """More of the supply's alone, and more of both in proportion.

    More of the return's alone is no such fact: where the supply leaks more than it, a return leak
    evens the house out, and takes back some of the cold that the supply lost in the attic, so that
    less humid air comes in by other ways. From 25 % and 0 to 25 % and 12.5 % the model finds 2.6 %
    less.
    """
    kwh = [
        summer(ms.Ducts(location="attic", supply_leakage=s, return_leakage=r)).meter.total_kwh
        for s, r in ((supply, back), (supply + more, back), (times * supply, times * back))
    ]
    print(f"{supply:.3f} {back:.3f} +{more:.3f} x{times:.2f}: {np.round(kwh, 1)} kWh")
    assert kwh[1] >= kwh[0] * (1.0 - 0.002)
    assert kwh[2] >= kwh[0] * (1.0 - 0.002)


# --- What is refused ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        (
            {"supply_leakage": 0.1},
            (
                "Ducts.supply_leakage: cannot use 0.1. Use nothing for ducts inside the envelope: "
                "what they lose stays in the house."
            ),
        ),
        (
            {"location": "cellar"},
            "Ducts.location: cannot use 'cellar'. Use one of inside, attic, crawl space, basement, garage.",
        ),
        (
            {"location": "attic", "return_leakage": 0.7},
            ("Ducts.return_leakage: 0.7 is too large. Use a fraction from 0 to 0.5."),
        ),
        (
            {"location": "attic", "insulation": "6 ft2"},
            (
                "Ducts.insulation: cannot read '6 ft2' as a thermal resistance. Write 'R-6' or '1.06 "
                "m2 K/W'."
            ),
        ),
    ],
)
def test_bad_input_is_refused_in_one_sentence(fields: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ms.InputError) as caught:
        ms.Ducts(**fields)
    assert str(caught.value) == sentence
