"""Which infiltration is right: four published methods on one house, by month and over the year.

Sources, all from memory: the enhanced model (AIM-2: Walker & Wilson 1998; ASHRAE Fundamentals ch. 16);
the basic model of the same chapter (effective leakage area: Sherman & Grimsrud 1980); the yearly
effective infiltration of ASHRAE 62.2 (2013 on) by its weather and shielding factor; and the trade's
rule CFM50 / N, N from 14 to 26 (Sherman 1987). The models' own worked examples are in
`test_infiltration_models`.

Tolerances, stated before anything was computed: our code against the equations written out here,
0.1 %; the enhanced model's year against 62.2, 25 %; the two models against each other, 40 % a month,
and more than that must be explained factor by factor; CFM50 over the year's mean, 14 to 50.
"""

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

import moistsim as ms
from moistsim.engine import infiltration_in
from moistsim.engine.infiltration import WALL_PRESSURE, wind_at, wind_factor
from moistsim.house import LEAKAGE_BY_STORIES

Flow = NDArray[np.float64]

CFM = 0.000471947443
CFM50, FLOOR_FT2, HEIGHT_FT, N = 1307.0, 1400.0, 8.0, 0.65
"""The case that started this: one story over a crawl space in Greensboro, class 3 of shelter."""
HAND = (36.0, 40.0)
"""Infiltration from June to August that an experienced consultant calculated by hand, cfm."""
C = CFM50 * CFM / 50.0**N
AREA_CM2 = C * 4.0**N / np.sqrt(8.0 / 1.2) * 1e4

WEATHER = ms.Weather.sample("greensboro")
MONTH = pd.DatetimeIndex(WEATHER.frame.index).month.to_numpy()
SUMMER = (MONTH >= 6) & (MONTH <= 8)
OUTDOORS = WEATHER.frame["temp_air"].to_numpy(float)
WIND = WEATHER.frame["wind_speed"].to_numpy(float)
INDOORS = np.clip(OUTDOORS, 20.0, 23.9)
"""Indoor temperature: between heating at 68 °F and cooling at 75 °F, outdoor temperature."""
APART = np.abs(OUTDOORS - INDOORS)


def case(model: str = "enhanced", **changes: object) -> ms.House:
    leakage = {"cfm50": CFM50 * CFM, "model": model}
    return ms.House(
        floor_area=f"{FLOOR_FT2} ft2", ceiling_height=f"{HEIGHT_FT} ft",
        crawl_space=ms.CrawlSpace(), leakage=ms.Leakage(**{**leakage, **changes}),
    )  # fmt: skip


def enhanced_wind(c_w: float = 0.128, local: float = 0.70 * 0.48) -> Flow:
    return np.asarray(C * c_w * (local * WIND) ** (2.0 * N))


def enhanced() -> Flow:
    """One story, no flue, crawl space: C_s 0.054, C_w 0.128; class 3: s 0.70, G 0.48."""
    return np.asarray(np.hypot(C * 0.054 * APART**N, enhanced_wind()))


def basic(stack: float = 0.000145) -> Flow:
    """One story, class 3: C_s 0.000145, C_w 0.000174, in L/s of cm2."""
    return np.asarray(AREA_CM2 / 1000.0 * np.sqrt(stack * APART + 0.000174 * WIND**2))


def summer(flow: Flow) -> float:
    return float(flow[SUMMER].mean()) / CFM


def year(flow: Flow) -> float:
    return float(flow.mean()) / CFM


def yearly_62_2(wsf: float) -> float:
    """Q = NL wsf A / 7.3, cfm and ft2; NL = 1000 ELA / A (H / 8.2 ft)^0.4."""
    leakage = 1000.0 * (AREA_CM2 / 929.03) / FLOOR_FT2 * (HEIGHT_FT / 8.2) ** 0.4
    return float(leakage * wsf * FLOOR_FT2 / 7.3)


WSF = 0.43
"""Weather and shielding factor of Greensboro in ASHRAE 62.2's table, from memory."""


@pytest.mark.parametrize("model", ["enhanced", "basic"])
def test_our_code_is_the_equations(model: str) -> None:
    ours = infiltration_in(case(model), WEATHER, INDOORS)
    by_hand = enhanced() if model == "enhanced" else basic()
    np.testing.assert_allclose(ours, by_hand, rtol=1e-3)


def test_four_methods_over_the_year() -> None:
    """The enhanced model and 62.2 agree on the year; the basic model and CFM50 / N on twice that."""
    of_62_2 = yearly_62_2(WSF)
    table = pd.DataFrame({"enhanced": enhanced(), "basic": basic()}).groupby(MONTH).mean() / CFM
    print(table.round(1).to_string())
    print(f"year: {year(enhanced()):.1f}, {year(basic()):.1f}; 62.2: {of_62_2:.1f} cfm")
    print(f"CFM50 over the year: {CFM50 / year(enhanced()):.0f}, {CFM50 / year(basic()):.0f}")
    assert year(enhanced()) == pytest.approx(of_62_2, rel=0.25)
    assert year(basic()) > 1.5 * of_62_2
    assert 14.0 <= CFM50 / year(basic()) <= 26.0
    # The rule of 14 to 26 comes from the basic model, so it is no witness against the enhanced one.
    assert 40.0 <= CFM50 / year(enhanced()) <= 55.0


def test_the_hand_value_is_the_basic_model_in_summer() -> None:
    """Not the year's mean: the basic model gives 36 to 40 cfm from June to August."""
    assert HAND[0] <= summer(basic()) <= HAND[1]
    assert summer(enhanced()) < 0.5 * HAND[0]
    assert year(enhanced()) < HAND[0] < HAND[1] < year(basic())


def test_three_factors_explain_the_two_models() -> None:
    """From the enhanced to the basic model's wind flow in summer, one factor at a time.

    Stack flow is small then. The crawl space's coefficient 0.128 becomes 0.156. The local wind
    0.70 x 0.48 of the station's becomes 0.51: the basic model's reduction, 0.69 at eaves of 2.5 m
    from its own table, times its shelter, 0.74. The flow goes with the square root of the pressure
    through the area at 4 Pa, where the blower door found the power 0.65.
    """
    own_wind = 0.69 * (0.000174 / 0.000319) ** 0.5
    slab = enhanced_wind(0.156)
    in_that_wind = enhanced_wind(0.156, own_wind)
    # The same house with exponent 0.5 from 4 Pa down; its wind factor by AIM-2's equation.
    square_root = (
        C * 4.0 ** (N - 0.5) * wind_factor(0.5, 0.25, 0.25, 0.0, False) * 0.6**0.5 * own_wind * WIND
    )
    chain = [enhanced_wind(), slab, in_that_wind, square_root, basic(stack=0.0)]
    flows = [summer(flow) for flow in chain]
    factors = [after / before for before, after in zip(flows, flows[1:], strict=False)]
    print([round(flow, 1) for flow in flows], [round(factor, 2) for factor in factors])
    assert factors[0] == pytest.approx(0.156 / 0.128, rel=1e-9)
    assert factors[1] == pytest.approx((own_wind / (0.70 * 0.48)) ** 1.3, rel=1e-9)
    assert factors[1] == pytest.approx(1.73, abs=0.02)
    assert factors[2] == pytest.approx(1.30, abs=0.03)
    # What is left over: 4 %.
    assert factors[3] == pytest.approx(1.0, abs=0.05)


def test_the_tabulated_wind_is_that_of_a_suburb() -> None:
    """G by the station's and the site's power laws, 0.15 and 0.30, equal at 80 m (from memory).

    (80/10)^0.15 (H/80)^0.30 at 2.5 m a story gives the table, 0.48, 0.59 and 0.67. By ASHRAE ch. 24 a
    suburb has 0.53 at 2.44 m and open country 0.82; the basic model's 0.69 lies between them.
    """
    for stories, row in LEAKAGE_BY_STORIES.items():
        g = (80.0 / 10.0) ** 0.15 * (2.5 * stories / 80.0) ** 0.30
        assert row.speed_multiplier == pytest.approx(g, abs=0.005)
    suburb = wind_at(2.44, "suburbs", 10.0, "open country")
    country = wind_at(2.44, "open country", 10.0, "open country")
    assert suburb == pytest.approx(0.53, abs=0.005) and country == pytest.approx(0.82, abs=0.005)
    assert LEAKAGE_BY_STORIES[1].speed_multiplier < suburb < 0.69 < country


def test_the_hand_value_is_right_for_a_house_in_open_country() -> None:
    """The enhanced model in open country at shelter class 2 gives what the hand gave."""
    house = case(terrain="open country")
    rural = ms.House(
        floor_area=house.floor_area, ceiling_height=house.ceiling_height, shelter=2,
        crawl_space=house.crawl_space, leakage=house.leakage,
    )  # fmt: skip
    found = summer(infiltration_in(rural, WEATHER, INDOORS))
    print(f"open country, class 2: {found:.1f} cfm")
    assert HAND[0] - 1.0 <= found <= HAND[1]


def test_wind_flow_against_a_network_of_the_leaks() -> None:
    """AIM-2's wind flow is that of the leaks behind four walls' pressures, or up to 30 % more.

    We expected 20 %. Either way the enhanced model is not too low at a given wind: what makes the basic
    model's summer twice as high is the wind at the house and the exponent.
    """

    def network(ceiling: float, floor: float) -> float:
        walls, vents = 1.0 - ceiling - floor, float(np.mean(WALL_PRESSURE))
        share = np.array([walls / 4.0] * 4 + [ceiling + floor])
        outside = np.array([*WALL_PRESSURE, vents])

        def through(inside: float) -> Flow:
            drop = outside - inside
            return np.asarray(share * np.sign(drop) * np.abs(drop) ** N)

        inside = brentq(lambda p: float(through(p).sum()), -1.0, 1.0)
        return float(np.maximum(through(inside), 0.0).sum())

    for ceiling, floor in ((0.0, 0.0), (0.25, 0.25), (0.15, 0.15), (0.1, 0.1)):
        found, model = network(ceiling, floor), wind_factor(N, ceiling, floor, 0.0, True)
        print(f"shares {ceiling}, {floor}: network {found:.3f}, AIM-2 {model:.3f}")
        assert 1.0 <= model / found <= 1.3
