"""Source: three kinds of residential tariff of the south-eastern United States, from memory.

Sample bills of three kinds of residential tariff that utilities of the south-eastern United
States publish, worked by hand.

The structures are from memory, their figures near those of the middle of the 2020s and rounded; no
sheet was read, and none is any one utility's.
"""

import numpy as np
import pandas as pd
import pytest

import moistsim as ms


def even(month: str, kwh: float) -> pd.Series:
    """A month in which every quarter of an hour uses the same."""
    start = pd.Timestamp(f"{month}-01")
    count = 96 * start.days_in_month
    index = pd.date_range(start, periods=count, freq="15min")
    return pd.Series(4.0 * kwh / count, index=index)


@pytest.mark.parametrize(
    ("kwh", "lines"),
    [
        # 1000 x 0.102; 111.50 / 39.
        (1000, {"energy tier 1": 102.00, "energy tier 2": 0.0, "tax": 2.86, "total": 114.36}),
        # 250 x 0.122; 142.00 / 39.
        (1250, {"energy tier 1": 102.00, "energy tier 2": 30.50, "tax": 3.64, "total": 145.64}),
        # 80 x 0.102 and 9.50 are 17.66: 7.34 to the least bill; 25 / 39.
        (80, {"energy tier 1": 8.16, "minimum top-up": 7.34, "tax": 0.64, "total": 25.64}),
    ],
)
def test_two_blocks_and_a_tax_on_gross_receipts(kwh: float, lines: dict[str, float]) -> None:
    """A bill with two blocks, a minimum and a tax on gross receipts.

    A customer charge, a cent or two more beyond 1,000 kWh (fuel and other energy added up), a
    least bill of 25 USD, and a tax of 2.5 % of what is collected, 1/39 of what stands above it.
    """
    tariff = ms.Tariff(
        tiers=[
            ms.RateTier(price="10.2 cent/kWh", up_to="1000 kWh"),
            ms.RateTier(price="12.2 cent/kWh"),
        ],
        fixed_charge="9.50 USD/month",
        minimum="25 USD/month",
        tax=1 / 39,
    )
    month = ms.bill(tariff, even("2026-07", kwh)).months.iloc[0]
    assert month["fixed"] == 9.50
    assert {name: month[name] for name in lines} == pytest.approx(lines)


def test_three_blocks_in_summer_and_one_price_in_winter() -> None:
    """A basic charge a day, a fuel rider on each kWh, a sales tax of 7 % on everything."""
    summer = [
        ms.RateTier(price="8.6 cent/kWh", up_to="650 kWh"),
        ms.RateTier(price="14.3 cent/kWh", up_to="1000 kWh"),
        ms.RateTier(price="14.8 cent/kWh"),
    ]
    tariff = ms.Tariff(
        seasons=[
            ms.RateSeason(name="summer", days=["06-01 to 09-30"], tiers=summer),
            ms.RateSeason(name="winter", days=["10-01 to 05-31"], price="8.1 cent/kWh"),
        ],
        daily_charge="40 cent/day",
        tax_per_kwh="4.1 cent/kWh",
        tax="7 %",
    )
    july = ms.bill(tariff, even("2026-07", 1400)).months.iloc[0]
    assert july.to_dict() == pytest.approx(
        {
            "energy summer tier 1": 55.90,  # 650 x 0.086
            "energy summer tier 2": 50.05,  # 350 x 0.143
            "energy summer tier 3": 59.20,  # 400 x 0.148
            "energy winter": 0.0,
            "fixed": 12.40,  # 31 x 0.40
            "tax per kWh": 57.40,  # 1400 x 0.041
            "tax": 16.45,  # 0.07 x 234.95
            "total": 251.40,
        }
    )
    january = ms.bill(tariff, even("2026-01", 800)).months.iloc[0]
    assert january["energy winter"] == 64.80  # 800 x 0.081
    # 64.80 + 32.80 + 12.40 are 110.00.
    assert january["tax"] == 7.70 and january["total"] == pytest.approx(117.70)


def test_time_of_use_with_demand() -> None:
    """July 2026: 23 weekdays, of which Friday the 3rd is Independence Day as observed.

    1 kW at all times and 3 kW more from 16:00 to 18:00 by the clock on each weekday: 744 + 138 kWh,
    of which 22 x (5 + 6) = 242 in the peak hours, 14:00 to 19:00, and 640 outside; 4 kW at most.
    """
    hot = [
        ms.RatePeriod(
            name="on peak", price="13.6 cent/kWh", hours=["14:00 to 19:00"], days="weekdays"
        ),
        ms.RatePeriod(name="off peak", price="5.1 cent/kWh"),
    ]
    tariff = ms.Tariff(
        seasons=[
            ms.RateSeason(name="June to September", days=["06-01 to 09-30"], periods=hot),
            ms.RateSeason(name="other months", days=["10-01 to 05-31"], price="5.1 cent/kWh"),
        ],
        demand=[ms.DemandCharge(price="8.50 USD/kW", window="60 min")],
        fixed_charge="14 USD/month",
        tax="8 %",
        holidays=["Independence Day", "Labor Day"],
        zone="America/New_York",
    )
    power = even("2026-07", 744)
    hour, weekday = power.index.hour, power.index.day_of_week < 5
    power[weekday & np.isin(hour, (15, 16))] += 3.0  # standard time
    month = ms.bill(tariff, power, utc_offset=-5.0).months.iloc[0]
    assert month["energy June to September on peak"] == 32.91  # 242 x 0.136
    assert month["energy June to September off peak"] == 32.64  # 640 x 0.051
    assert month["demand"] == 34.00
    assert month["tax"] == 9.08  # 0.08 x 113.55
    assert month["total"] == pytest.approx(122.63)
