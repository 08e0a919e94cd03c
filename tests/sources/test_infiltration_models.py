"""Infiltration: the basic and the enhanced model of ASHRAE Fundamentals, flues, terrain, fans.

Sources: ASHRAE Handbook of Fundamentals ch. 16 (residential infiltration) and ch. 24 (wind); Walker
& Wilson 1990, 1998 (AIM-2). Coefficients and the two worked examples are from memory; the stack
equations are held to an integration of the leaks over their heights, done here.
"""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import bisect, brentq
from support import houses, weathers
from support.machines_at_a_point import one_step
from support.values import floats
from support.weathers import stretch

import moistsim as ms
from moistsim import air
from moistsim.engine import parameters
from moistsim.engine.airflow import natural_infiltration
from moistsim.engine.forcing import force
from moistsim.engine.infiltration import (
    STACK_PRESSURE,
    WALL_PRESSURE,
    infiltration,
    path_shares,
    stack_factor,
    wind_at,
    wind_factor,
)
from moistsim.engine.ventilating import Ventilating, outdoor_air

CFM = 0.000471947443


def flow(house: ms.House, t_in: float, t_out: float, wind: float) -> float:
    """Infiltration, m3/s, through the forcing and the parameters that a run has."""
    zone = parameters.zone_parameters(house, 60.0)
    drive = force(house, weathers.flat(t_out, 0.001, days=1, wind_speed=wind)).hours[0]
    return float(natural_infiltration(zone.stack, zone.leakage_exponent, drive[0], t_in, t_out))


def two_stories(crawl_space: ms.CrawlSpace | None = None, **leakage: Any) -> ms.House:
    """340 m3 on two stories, 500 cm2 at 4 Pa, exponent 0.67, shelter class 4."""
    return houses.bare_house(
        floor_area=136.0, ach50=None, stories=2, shelter=4, leakage_exponent=0.67,
        crawl_space=crawl_space, leakage=ms.Leakage(**{"effective_area": "500 cm2", **leakage}),
    )  # fmt: skip


# --- The handbook's examples --------------------------------------------------------------------


def test_basic_model_of_the_handbook() -> None:
    """Two stories, A_L = 500 cm2, 20 degC inside, -19 outside, 6.7 m/s, shelter class 4.

    Q = 500/1000 sqrt(0.000290 x 39 + 0.000137 x 6.7²) = 0.5 sqrt(0.01131 + 0.00615) = 0.0661 m3/s,
    0.70 air changes an hour of 340 m3: the handbook's own example, from memory.
    """
    q = flow(two_stories(model="basic"), 20.0, -19.0, 6.7)
    assert q == pytest.approx(0.0661, abs=5e-5)
    assert 3600.0 * q / 340.0 == pytest.approx(0.70, abs=0.005)


def test_enhanced_model_of_the_handbook() -> None:
    """The same house over a crawl space, without a flue, by the enhanced model, from memory.

    c   = 0.05 sqrt(2 x 4 / 1.2) / 4^0.67               = 0.0510 m3/(s Pa^n)
    Q_s = 0.0510 x 0.078 x 39^0.67                      = 0.0463 m3/s
    Q_w = 0.0510 x 0.142 x (0.50 x 0.59 x 6.7)^1.34     = 0.0181 m3/s
    Q   = sqrt(0.0463² + 0.0181²)                       = 0.0497 m3/s, 0.53 air changes an hour
    """
    house = two_stories(crawl_space=ms.CrawlSpace())
    assert house.flow_coefficient == pytest.approx(0.0510, abs=5e-5)
    q = flow(house, 20.0, -19.0, 6.7)
    assert q == pytest.approx(0.0497, abs=1e-4)
    assert 3600.0 * q / 340.0 == pytest.approx(0.53, abs=0.005)


def test_three_ways_to_say_how_much_leaks() -> None:
    """Three ways to state air leakage give one leakage.

    3 changes an hour of 500 m3 are 0.41667 m3/s (882.9 cfm) at 50 Pa; at 4 Pa
    0.41667 (4/50)^0.65 = 0.080686 m3/s, the flow of 0.080686 / sqrt(2 x 4 / 1.2) = 0.031249 m2.
    """
    size = {"floor_area": 200.0, "leakage_exponent": 0.65}
    ways = [
        ms.House(**size, ach50=3.0),
        ms.House(**size, leakage=ms.Leakage(cfm50=f"{0.4166667 / CFM} cfm")),
        ms.House(**size, leakage=ms.Leakage(effective_area="312.49 cm2")),
    ]
    assert ways[1].leakage.cfm50 / CFM == pytest.approx(882.9, abs=0.05)
    for house in ways:
        assert house.flow_coefficient * 50.0**0.65 == pytest.approx(0.4166667, rel=2e-5)
        assert house.changes_at_50_pa == pytest.approx(3.0, rel=2e-5)
    assert ms.House(**size) == ways[0]


# --- AIM-2's equations --------------------------------------------------------------------------


def integrated(n: float, ceiling: float, floor: float, flue: float, top: float) -> float:
    """Stack flow over c P^n by numerical integration.

    Stack flow over c P^n: leaks at the ceiling, the floor and the flue's top, the rest even over
    the walls; the neutral level that balances in and out, found numerically.
    """
    heights = (np.arange(4000) + 0.5) / 4000
    points = ((ceiling, 1.0), (floor, 0.0), (flue, top))

    def out(neutral: float) -> list[float]:
        walls = heights - neutral
        each = np.sign(walls) * np.abs(walls) ** n * (1.0 - ceiling - floor - flue) / 4000
        return [
            *(share * np.sign(z - neutral) * abs(z - neutral) ** n for share, z in points),
            *each,
        ]

    level = brentq(lambda z: sum(out(z)), -1.0, top + 1.0)
    return -sum(q for q in out(level) if q < 0.0)


@pytest.mark.parametrize("n", [0.5, 0.65, 0.8])
@pytest.mark.parametrize(
    ("ceiling", "floor", "flue", "top", "within"),
    [
        (0.0, 0.0, 0.0, 1.0, 1e-3),  # walls alone
        (0.5, 0.5, 0.0, 1.0, 1e-9),  # ceiling and floor alone
        (0.25, 0.25, 0.0, 1.0, 1e-3),
        (0.4, 0.1, 0.0, 1.0, 0.04),
        (0.6, 0.1, 0.0, 1.0, 0.06),
        (0.1, 0.5, 0.0, 1.0, 0.05),
        (0.25, 0.25, 0.2, 1.8, 0.03),
        (0.15, 0.15, 0.14, 1.4, 0.03),
        (0.10, 0.10, 0.30, 1.5, 0.04),
        (0.0, 0.3, 0.3, 1.5, 0.06),
    ],
)
def test_stack_flow_against_an_integration_over_height(
    n: float, ceiling: float, floor: float, flue: float, top: float, within: float
) -> None:
    """AIM-2 fits what is integrated here: exact for even leaks, to some percent else."""
    model, exact = (
        stack_factor(n, ceiling, floor, flue, top), integrated(n, ceiling, floor, flue, top),
    )  # fmt: skip
    print(f"AIM-2 {model:.4f}, integrated {exact:.4f}: {100 * (model / exact - 1):+.2f} %")
    assert model == pytest.approx(exact, rel=within)


def test_all_leaks_at_one_height_have_no_stack_flow() -> None:
    assert stack_factor(0.65, 1.0, 0.0, 0.0, 1.0) == pytest.approx(0.0, abs=1e-12)
    assert stack_factor(0.65, 0.0, 1.0, 0.0, 1.0) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("stories", "flue", "stack", "slab", "crawl"),
    [
        (1, 0.0, 0.054, 0.156, 0.128), (2, 0.0, 0.078, 0.170, 0.142), (3, 0.0, 0.098, 0.170, 0.151),
        (1, 0.20, 0.069, 0.142, 0.128), (2, 0.14, 0.089, 0.156, 0.142),
        (3, 0.11, 0.107, 0.167, 0.154),
    ],
)  # fmt: skip
def test_the_equations_give_the_tabulated_coefficients(
    stories: int, flue: float, stack: float, slab: float, crawl: float
) -> None:
    """ASHRAE's tables, with and without a flue, from memory, at 2.5 m a story and n = 0.67.

    The shares of the flue are those that the tables of shelter factors imply. The default shares of
    ceiling and floor were chosen to give the column without a flue.
    """
    n, height = 0.67, 2.5 * stories
    share = {1: 0.25, 2: 0.15, 3: 0.10}[stories]
    top = (height + 2.0) / height
    found = (
        stack_factor(n, share, share, flue, top) * (STACK_PRESSURE * height) ** n,
        wind_factor(n, share, share, flue, False) * 0.6**n,
        wind_factor(n, share, share, flue, True) * 0.6**n,
    )
    print(found)
    assert found == pytest.approx((stack, slab, crawl), rel=0.065)


@pytest.mark.parametrize(
    ("shelter", "with_flue"), [(1, 1.10), (2, 1.02), (3, 0.86), (4, 0.70), (5, 0.54)]
)
def test_shelter_of_one_story_with_a_flue(shelter: int, with_flue: float) -> None:
    """ASHRAE's shelter factors with a flue, one story (from memory): s (1 - Y) + 1.5 Y, Y = 0.2."""
    n, g = 0.65, 0.48
    size = {"ach50": 3.0, "shelter": shelter, "leakage_exponent": n}
    house = houses.bare_house(**size, leakage=ms.Leakage(flue_share=0.2))
    factor = house.flow_coefficient * wind_factor(n, 0.25, 0.25, 0.2, False) * 0.6**n
    implied = (infiltration(house).wind / factor) ** (0.5 / n) / g
    assert implied == pytest.approx(with_flue, abs=0.006)


@given(
    n=floats(0.5, 1.0), ceiling=floats(0.0, 1.0), floor=floats(0.0, 1.0), flue=floats(0.0, 0.6),
    top=floats(1.0, 4.0), crawl=st.booleans(),
)  # fmt: skip
def test_any_distribution_gives_flows(
    n: float, ceiling: float, floor: float, flue: float, top: float, crawl: bool
) -> None:
    """Numbers, never negative, wherever the leaks are."""
    room = (1.0 - flue) / max(ceiling + floor, 1.0)
    where = (n, ceiling * room, floor * room, flue)
    assert 0.0 <= stack_factor(*where, top) < 2.0
    assert -1e-12 <= wind_factor(*where, crawl) < 0.4


# --- The way in: floor, ceiling, walls -----------------------------------------------------------


def way_in(n: float, leaks: list[tuple[str, float, float]]) -> dict[str, float]:
    """Share of the inflow by kind of leak, for leaks (kind, share, outdoor pressure), by bisection."""
    share = np.array([leak[1] for leak in leaks])
    outside = np.array([leak[2] for leak in leaks])

    def through(inside: float) -> Any:
        drop = outside - inside
        return share * np.sign(drop) * np.abs(drop) ** n

    inside = bisect(lambda p: through(p).sum(), outside.min(), outside.max(), xtol=1e-13)
    entering = np.maximum(through(inside), 0.0)
    kinds = np.array([leak[0] for leak in leaks])
    return {kind: float(entering[kinds == kind].sum() / entering.sum()) for kind in set(kinds)}


@settings(max_examples=40, deadline=None)
@given(
    n=floats(0.5, 0.9), ceiling=floats(0.05, 0.45), floor=floats(0.05, 0.45),
    flue=st.sampled_from([0.0, 0.15, 0.4]),
)  # fmt: skip
def test_shares_of_floor_and_ceiling_against_a_network(
    n: float, ceiling: float, floor: float, flue: float
) -> None:
    """Two thousand leaks over the walls' height; the pressure indoors found by bisection.

    Within 0.002 of each share. At the neutral level the strips' error is largest.
    """
    room = 1.0 - flue
    ceiling, floor = ceiling * room, floor * room
    leakage = ms.Leakage(
        ceiling_share=ceiling, floor_share=floor, flue_share=flue, flue_height="4.5 m"
    )
    shares = path_shares(houses.bare_house(ach50=3.0, leakage_exponent=n, leakage=leakage))
    walls, top = 1.0 - ceiling - floor - flue, 4.5 / 2.5
    heights = (np.arange(2000) + 0.5) / 2000
    at = [("floor", floor, 0.0), ("ceiling", ceiling, 1.0), ("flue", flue, top)]
    at += [("walls", walls / 2000, float(z)) for z in heights]
    # Outdoor air is denser than warm indoor air, so its pressure falls faster with height.
    warm = way_in(n, [(kind, share, -z) for kind, share, z in at])
    cool = way_in(n, [(kind, share, z) for kind, share, z in at])
    vents = float(np.mean(WALL_PRESSURE))
    blown = [("walls", walls / 4.0, p) for p in WALL_PRESSURE]
    wind = way_in(
        n, [*blown, ("floor", floor, vents), ("ceiling", ceiling, vents), ("flue", flue, -0.3)]
    )
    assert shares == pytest.approx(
        (warm["floor"], cool["ceiling"], wind["floor"], wind["ceiling"]), abs=0.002
    )


@pytest.mark.parametrize("n", [0.5, 0.65, 1.0])
@pytest.mark.parametrize("flat", [0.05, 0.25, 0.45])
def test_equal_leaks_above_and_below(n: float, flat: float) -> None:
    """The neutral level is at mid-height: R dP^n by the floor, W/2 dP^n / (n + 1) by the walls."""
    leakage = ms.Leakage(ceiling_share=flat, floor_share=flat)
    shares = path_shares(houses.bare_house(ach50=3.0, leakage_exponent=n, leakage=leakage))
    walls = 0.5 * (1.0 - 2.0 * flat) / (n + 1.0)
    assert shares.floor_warm == pytest.approx(flat / (flat + walls), rel=1e-9)
    assert shares.ceiling_cool == pytest.approx(shares.floor_warm, rel=1e-9)


@given(floor=floats(0.0, 0.5), more=floats(0.0, 0.4), stories=st.sampled_from([1, 2, 3]))
def test_a_leakier_floor_never_lowers_its_share(floor: float, more: float, stories: int) -> None:
    def shares(floor: float) -> Any:
        leakage = ms.Leakage(ceiling_share=0.1, floor_share=floor)
        return path_shares(houses.bare_house(ach50=3.0, stories=stories, leakage=leakage))

    less, leakier = shares(floor), shares(floor + more)
    assert all(0.0 <= share <= 1.0 for share in (*less, *leakier))
    assert leakier.floor_warm >= less.floor_warm - 1e-9
    assert leakier.floor_wind >= less.floor_wind - 1e-9


@pytest.mark.parametrize(("ceiling", "floor"), [(1.0, 0.0), (0.0, 1.0), (0.0, 0.0)])
def test_shares_where_all_leaks_are_alike(ceiling: float, floor: float) -> None:
    """No stack flow through one level, and nothing through a tight floor or ceiling."""
    leakage = ms.Leakage(ceiling_share=ceiling, floor_share=floor)
    assert path_shares(houses.bare_house(ach50=3.0, leakage=leakage)) == (0.0, 0.0, 0.0, 0.0)


# --- Wind ---------------------------------------------------------------------------------------


def test_terrain_by_hand() -> None:
    """Wind at the house is the station's by terrain and height, worked by hand.

    Suburbs, 5 m: (270/10)^0.14 (5/370)^0.22 = 1.58632 x 0.38794 = 0.6154 of the station's wind;
    city center: 1.58632 (5/460)^0.33 = 1.58632 x 0.22488 = 0.3567. At the station, 1.
    """
    assert wind_at(5.0, "suburbs", 10.0, "open country") == pytest.approx(0.6154, abs=1e-4)
    assert wind_at(5.0, "city center", 10.0, "open country") == pytest.approx(0.3567, abs=1e-4)
    assert wind_at(10.0, "open country", 10.0, "open country") == pytest.approx(1.0)
    assert wind_at(20.0, "open water", 20.0, "open water") == pytest.approx(1.0)


def test_terrain_acts_on_the_wind_alone() -> None:
    """Flow by wind goes with (s G U)^(2n); 0.6154 for two stories of 2.5 m in the suburbs."""
    plain, there = two_stories(), two_stories(terrain="suburbs")
    assert flow(there, 20.0, -19.0, 0.0) == flow(plain, 20.0, -19.0, 0.0)
    ratio = flow(there, 20.0, 20.0, 5.0) / flow(plain, 20.0, 20.0, 5.0)
    assert ratio == pytest.approx((0.6154 / 0.59) ** 1.34, rel=5e-4)


# --- Limits and monotone facts ------------------------------------------------------------------


@pytest.mark.parametrize("leakage", [{}, {"model": "basic"}, {"flue_share": 0.15}])
def test_limits(leakage: dict[str, Any]) -> None:
    """No wind and no stack: nothing. Each alone: less than both, which combine in quadrature."""
    house = two_stories(**leakage)
    assert flow(house, 20.0, 20.0, 0.0) == 0.0
    stack, wind, both = (
        flow(house, 20.0, 0.0, 0.0), flow(house, 20.0, 20.0, 5.0), flow(house, 20.0, 0.0, 5.0),
    )  # fmt: skip
    assert min(stack, wind) > 0.0 and both == pytest.approx(np.hypot(stack, wind), rel=1e-9)


@given(
    natural=floats(0.0, 0.3), more=floats(0.0, 0.3), supply=floats(0.0, 0.2),
    exhaust=floats(0.0, 0.2), fans=floats(0.0, 0.2), back=floats(0.0, 0.2), lost=floats(0.0, 0.2),
    doors=floats(0.0, 0.1),
)  # fmt: skip
def test_more_leakage_never_lowers_infiltration_beside_any_fans(
    natural: float, more: float, supply: float, exhaust: float, fans: float, back: float,
    lost: float, doors: float,
) -> None:  # fmt: skip
    """And never is it negative, whatever fans and ducts do; nor does more exhaust lower the sum."""
    going = Ventilating(supply, exhaust, 20.0, 0.008, 0.0, 0.0, 0.0)

    def air_in(natural: float, fans: float) -> Any:
        return outdoor_air(
            going, 0.0, natural, 1.2, 20.0, 0.008, fans, 1.2 * back, 1.2 * lost, doors
        )

    here, leakier, drawn = air_in(natural, fans), air_in(natural + more, fans), air_in(natural, 0.3)
    for one in (here, leakier, drawn):
        assert one.leaked >= -1e-12 and one.ventilated >= 1.2 * supply - 1e-12
        # What leaves through the house's own leaks is not negative either.
        assert one.leaked + one.ventilated + 1.2 * (back - lost) >= -1e-12
    assert leakier.leaked + leakier.ventilated >= here.leaked + here.ventilated - 1e-12
    assert drawn.leaked + drawn.ventilated >= here.leaked + here.ventilated - 1e-12


@settings(max_examples=8, deadline=None)
@given(
    ach50=floats(0.2, 10.0), more=floats(0.2, 10.0), model=st.sampled_from(["enhanced", "basic"])
)
def test_more_leakage_never_lowers_a_seasons_infiltration(
    ach50: float, more: float, model: str
) -> None:
    """In the same rooms' temperature but for what the leaks do to it themselves."""
    drawn = [
        ms.simulate(
            ms.House(floor_area=150.0, ach50=leaks, leakage=ms.Leakage(model=model)),
            ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="3 ton")])),
            ms.strategies.temperature_only, stretch("miami", 190, 10), spin_up="2 day",
        ).hourly["air_infiltration_kg"].sum()
        for leaks in (ach50, ach50 + more)
    ]  # fmt: skip
    assert drawn[1] >= drawn[0] > 0.0


# --- Exhaust fans -------------------------------------------------------------------------------


@pytest.mark.parametrize(("supply", "in_all"), [(0.0, (0.03**2 + 0.07**2) ** 0.5), (0.07, 0.10)])
def test_an_exhaust_fan_unbalances_or_balances(supply: float, in_all: float) -> None:
    """An exhaust fan unbalances a house, or balances a supply fan.

    0.03 m3/s leak. A dryer of 0.07 m3/s alone: sqrt(0.03² + 0.07²). Beside a supply fan of
    0.07 m3/s the two balance, and the leaks add: 0.07 + 0.03.
    """
    fan = ms.Ventilation(kind="supply", airflow=supply)
    _, step = one_step(
        ms.Equipment(ventilation=fan), room=(22.0, 0.5), outdoors=(22.0, 0.5), natural=0.03,
        exhaust=0.07, ventilation=1.0,
    )  # fmt: skip
    w = air.humidity_ratio_at(22.0, 0.5, air.STANDARD_PRESSURE)
    density = air.dry_air_density(22.0, w, air.STANDARD_PRESSURE)
    assert step.air_infiltration + step.air_ventilation == pytest.approx(in_all * density, rel=1e-9)
    assert step.air_ventilation == pytest.approx(supply * density, rel=1e-9)


def test_a_dryer_runs_from_the_start_of_its_hours() -> None:
    """A clothes dryer runs from the start of its hours.

    40 min a day in two hours are the first 20 min of each. Its flow joins the leaks in
    quadrature, its fan is metered and heats nothing: 0.3 W/cfm x 150 cfm x 40 min = 30 Wh.
    """
    fan = ms.ExhaustFan(airflow="150 cfm", runtime="40 min", schedule=(0,) * 9 + (1, 1) + (0,) * 13)
    house = houses.bare_house(ach50=3.0, exhausts=ms.Exhausts(dryer=fan))
    season = ms.simulate(
        house, ms.Equipment(), ms.strategies.temperature_only,
        weathers.flat(5.0, 0.003, days=1, wind_speed=4.0), spin_up=0,
    )  # fmt: skip
    minutes = season.minutes("01-01")
    leaks = minutes["air_infiltration_kg"].to_numpy() / 60.0
    density = air.dry_air_density(5.0, 0.003, air.STANDARD_PRESSURE)
    for hour in (9, 10):
        first, rest = leaks[60 * hour : 60 * hour + 20], leaks[60 * hour + 20 : 60 * hour + 60]
        assert np.ptp(first) < 1e-12 and np.ptp(rest) < 1e-12
        assert first[0] == pytest.approx(np.hypot(rest[0], 150.0 * CFM * density), rel=1e-9)
    assert season.meter.kwh["ventilation_fan"] == pytest.approx(0.030, rel=1e-6)
    assert season.hourly["heat_ventilation_fan_kWh"].sum() == 0.0
    assert (season.balance["relative"].abs() <= 1e-9).all()


# --- What is refused ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (
            lambda: ms.House(floor_area=100, ach50=3, leakage=ms.Leakage(cfm50="1000 cfm")),
            "House.ach50: both ach50 and cfm50 are given. Use one of ach50 and cfm50.",
        ),
        (
            lambda: ms.Leakage(cfm50=0.5, effective_area=0.03),
            "Leakage.effective_area: both cfm50 and effective_area are given. Use one of cfm50 and effective_area.",
        ),
        (
            lambda: ms.Leakage(cfm50=1500.0),
            (
                "Leakage.cfm50: 1500.0 is 3,178,320 cfm if it is in m³/s. Did you mean '1500 cfm' or "
                "'1500 L/s'? Write the unit."
            ),
        ),
        (
            lambda: ms.Leakage(ceiling_share=0.6, floor_share=0.6),
            (
                "Leakage.ceiling_share: the shares of ceiling, floor and flue add up to 1.2. Use shares that add up to at most 1; walls have the rest."
            ),
        ),
        (
            lambda: ms.Leakage(model="basic", terrain="suburbs"),
            (
                "Leakage.terrain: cannot use 'suburbs'. Use the enhanced model; the basic one has "
                "this in its coefficients."
            ),
        ),
        (
            lambda: ms.House(
                floor_area=100, stories=2, leakage=ms.Leakage(flue_share=0.1, flue_height="3 m")
            ),
            "House.leakage: flue_height is 3 m. Use a value of at least the eaves' height, 5 m.",
        ),
        (
            lambda: ms.ExhaustFan(airflow="150 cfm", runtime="5 h"),
            (
                "ExhaustFan.runtime: 1.25 h of 5 h fall in one hour. Use a shorter runtime, or a schedule with more hours."
            ),
        ),
    ],
)
def test_bad_input_is_refused_in_one_sentence(make: Any, sentence: str) -> None:
    with pytest.raises(ms.InputError) as caught:
        make()
    assert str(caught.value) == sentence
