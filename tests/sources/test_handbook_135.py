"""Source: NIST Handbook 135, Life-Cycle Costing Manual, from memory.

NIST Handbook 135, Life-Cycle Costing Manual: factors, and its worked example of a heating and
cooling system with and without an energy-saving design. All from memory: the handbook was not read.
The example's arithmetic is done by hand below with factors rounded as the handbook prints them.
"""

import pandas as pd
import pytest
from scipy.optimize import brentq

import moistsim as ms
from moistsim.economics.life_cycle import Economics
from moistsim.prices.discounting import (
    internal_rates,
    level_payment,
    single_present_value,
    uniform_present_value,
)
from moistsim.prices.purchase import restated


@pytest.mark.parametrize(
    ("years", "single", "uniform"),
    [(1, 0.971, 0.971), (5, 0.863, 4.580), (10, 0.744, 8.530), (15, 0.642, 11.938),
     (20, 0.554, 14.877), (25, 0.478, 17.413), (30, 0.412, 19.600)],
)  # fmt: skip
def test_factors_at_three_per_cent(years: int, single: float, uniform: float) -> None:
    """The tables of single and uniform present value factors."""
    assert single_present_value(0.03, years) == pytest.approx(single, abs=5.1e-4)
    assert uniform_present_value(0.03, years) == pytest.approx(uniform, abs=5.1e-4)


@pytest.mark.parametrize(("d", "e", "n"), [(0.03, 0.02, 20), (0.07, -0.01, 15), (0.05, 0.08, 25)])
def test_the_modified_factor_in_its_closed_form(d: float, e: float, n: int) -> None:
    """UPV* = (1 + e)/(d - e) (1 - ((1 + e)/(1 + d))^n); n where d = e."""
    closed = (1.0 + e) / (d - e) * (1.0 - ((1.0 + e) / (1.0 + d)) ** n)
    assert uniform_present_value(d, n, e) == pytest.approx(closed, rel=1e-12)
    assert uniform_present_value(d, n, d) == pytest.approx(n, rel=1e-12)


def test_a_real_rate_as_a_nominal_one() -> None:
    """3 % real with 2 % inflation is 5.06 % nominal, by hand: 1.03 x 1.02."""
    assert restated(0.03, 0.02, to="nominal") == pytest.approx(0.0506, rel=1e-12)
    assert restated(0.0506, 0.02, to="real") == pytest.approx(0.03, rel=1e-12)


def test_a_loan_s_payment() -> None:
    """A textbook loan: 1,000 at 12 % a year over twelve months is 88.85 a month (from memory)."""
    assert level_payment(1000.0, 0.01, 12) == pytest.approx(88.85, abs=0.005)
    assert level_payment(1200.0, 0.0, 12) == 100.0


def test_internal_rate_by_hand() -> None:
    """100 now for 60 and 60: 5 x^2 - 3 x - 3 = 0 for x = 1 + r, so r = 0.3 + sqrt(0.69) - 1."""
    assert internal_rates([-100.0, 60.0, 60.0]) == pytest.approx((0.3 + 0.69**0.5 - 1.0,))
    # Out, in and out again has two, by hand: (x - 1.1)(x - 1.3).
    assert internal_rates([-100.0, 240.0, -143.0]) == pytest.approx((0.1, 0.3))
    assert internal_rates([-100.0, -1.0]) == ()


def test_the_handbook_s_heating_and_cooling_example() -> None:
    """The handbook's example of a heating and cooling system.

    20 years at 3 % real. Conventional: 103,000 at first, 12,000 for a fan in year 12, 250,000 kWh
    at 8 cents, 7,000 a year for upkeep. Energy-saving: 110,000; 12,500; 162,500 kWh; 8,000. The
    modified factor of electricity is 15.13.

    The handbook gives residual values of 3,500 and 3,700; here they are a third of the fan, by a
    straight line over its 12 years, 4,000 and 4,167. With its own it finds net savings of about
    83,830, a savings-to-investment ratio of 12.6 and an adjusted internal rate of 16.9 %.
    """
    rise = brentq(lambda e: uniform_present_value(0.03, 20, e) - 15.13, 0.0, 0.01)
    months = pd.DataFrame(
        {"electricity_kWh": 0.0, "electricity_USD": 0.0, "gas_USD": 0.0},
        index=pd.MultiIndex.from_product([["usual", "saving"], range(1, 13)]),
    ).rename_axis(["option", "month"])
    for option, kwh in (("usual", 250_000.0), ("saving", 162_500.0)):
        months.loc[(option, 7), ["electricity_kWh", "electricity_USD"]] = kwh, 0.08 * kwh
    fan = {"life": "12 year"}
    found = Economics(
        base="usual",
        purchases={
            "usual": ms.Purchase(
                first_cost="103,000 USD", replacement_cost=12_000, maintenance=7000, **fan
            ),
            "saving": ms.Purchase(
                first_cost="110,000 USD", replacement_cost=12_500, maintenance=8000, **fan
            ),
        },
        terms=ms.Terms(years=20, discount_rate="3 %", electricity_escalation=rise),
        bills=months,
        dew_points={"usual": 12.0, "saving": 12.0},
    )
    usual = 103_000 + 12_000 * 0.701 - 4_000 * 0.554 + 20_000 * 15.13 + 7_000 * 14.88
    saving = 110_000 + 12_500 * 0.701 - 4_166.67 * 0.554 + 13_000 * 15.13 + 8_000 * 14.88
    assert found.life_cycle_cost("usual") == pytest.approx(usual, rel=2e-4)
    assert found.life_cycle_cost("saving") == pytest.approx(saving, rel=2e-4)
    pair = found.pair("saving")
    assert pair.net_savings == pytest.approx(usual - saving, rel=1e-3)
    invested = 7_000 + 500 * 0.701 - 166.67 * 0.554
    in_use = 7_000 * 15.13 - 1_000 * 14.88
    assert pair.savings_to_investment == pytest.approx(in_use / invested, rel=1e-3)
    assert pair.simple_payback == pytest.approx(7_000 / (7_000 - 1_000), rel=1e-12)
    # The handbook's own results, which its residual values move a little.
    assert pair.net_savings == pytest.approx(83_830, rel=5e-3)
    assert pair.savings_to_investment == pytest.approx(12.6, rel=1e-2)
    assert pair.adjusted_internal_rate == pytest.approx(0.169, abs=1e-3)
