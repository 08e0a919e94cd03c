"""Bills: lines to the cent, civil time, what a part of a month is charged, and what is refused."""

import functools
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import moistsim as ms
from moistsim.prices.billing import _clock
from moistsim.prices.tariff import free_days

EASTERN = "America/New_York"
SUMMER = ["06-01 to 09-30"]
WINTER = ["10-01 to 05-31"]
PEAK = ms.RatePeriod(name="on peak", price="31 cent/kWh", hours=["14:00 to 20:00"], days="weekdays")
REST = ms.RatePeriod(name="off peak", price="9 cent/kWh")
TIERS = [ms.RateTier(price=0.1, up_to="400 kWh"), ms.RateTier(price=0.17)]
ROOF = ms.HourlyProfile(values=[0.0] * 8 + [1.3, 1.9, 2.4, 2.8, 2.8, 2.4, 1.9, 1.3] + [0.0] * 8)
KINDS: dict[str, dict[str, Any]] = {
    "flat": {"price": "13.7 cent/kWh"},
    "tiers": {"tiers": TIERS},
    "seasons": {
        "seasons": [
            ms.RateSeason(name="summer", days=SUMMER, price=0.19),
            ms.RateSeason(name="winter", days=WINTER, tiers=TIERS),
        ]
    },
    "time of use": {"periods": [PEAK, REST], "holidays": ["US federal"], "zone": EASTERN},
    "demand": {
        "price": 0.07,
        "demand": [
            ms.DemandCharge(price="12 USD/kW", ratchet=0.7),
            ms.DemandCharge(
                price="3.5 USD/kW", window="60 min", name="on peak", hours=["14:00 to 20:00"]
            ),
        ],
    },
    "fixed": {"fixed_charge": "9.55 USD/month", "daily_charge": "3.3 cent/day"},
    "taxes": {"tax": "7.35 %", "tax_per_kwh": "0.37 cent/kWh"},
    "minimum": {"minimum": "30 USD/month", "tax": 0.05},
    "solar credited": {"solar": ROOF, "export_price": "4.1 cent/kWh", "tax": 0.06},
    "solar netted": {
        "periods": [PEAK, REST], "solar": ROOF, "export": "netted", "export_price": 0.03,
    },
    "whole house": {"tiers": TIERS, "other_use": "6000 kWh/year", "zone": EASTERN, "year": 2026},
}  # fmt: skip


def power(values: Any, start: str = "1990-01-01", freq: str = "15min") -> pd.Series:
    values = np.asarray(values, dtype=float)
    return pd.Series(values, index=pd.date_range(start, periods=len(values), freq=freq))


@functools.cache
def some_year() -> pd.Series:
    draw = np.random.default_rng(7).gamma(2.0, 0.6, 35040)
    return power(draw)


def in_cents(amounts: Any) -> Any:
    cents = 100.0 * np.asarray(amounts, dtype=float)
    assert np.abs(cents - np.rint(cents)).max() < 1e-6
    return np.rint(cents).astype(int)


def adds_up(bill: ms.Bill) -> None:
    cents = in_cents(bill.months)
    np.testing.assert_array_equal(cents[:, :-1].sum(axis=1), cents[:, -1])
    assert list(bill.months)[-1] == "total"
    assert cents[:, -1].sum() == in_cents(bill.total)
    # Each line of each month is off by half a cent at most, and so are those reckoned on them.
    assert abs(bill.total - bill.unrounded) <= 0.006 * cents.size


# ---------------------------------------------------------------------- to the cent


@pytest.mark.parametrize("kind", KINDS)
def test_months_add_up_to_the_year_to_the_cent(kind: str) -> None:
    tariff = ms.Tariff(**KINDS[kind])
    bill = ms.bill(tariff, some_year(), gas=some_year(), utc_offset=-5.0)
    assert len(bill.months) == 12
    adds_up(bill)
    bought = some_year() + tariff.other_power(some_year().index)
    assert bill.use["bought_kWh"].sum() - bill.use["given_kWh"].sum() == pytest.approx(
        bought.sum() / 4.0 - (0 if tariff.solar is None else 365 * sum(ROOF.values))
    )


@pytest.mark.parametrize("kind", KINDS)
@given(
    hours=st.lists(st.floats(0.0, 20.0), min_size=72, max_size=72),
    start=st.dates(pd.Timestamp("1990-01-01").date(), pd.Timestamp("1991-12-31").date()),
    days=st.integers(1, 40),
)
def test_any_use_adds_up_to_the_cent(kind: str, hours: list[float], start: Any, days: int) -> None:
    """Months in part and over New Year."""
    tariff = ms.Tariff(**{**KINDS[kind], "year": None})
    used = power(np.resize(np.repeat(hours, 4), 96 * days), str(start))
    adds_up(ms.bill(tariff, used, gas=used, utc_offset=-5.0))


def test_a_flat_price_is_price_times_use() -> None:
    bill = ms.bill(ms.Tariff(price=0.137, gas_price=0.05), some_year(), gas=0.5 * some_year())
    kwh = some_year().sum() / 4.0
    assert bill.unrounded == pytest.approx(0.137 * kwh + 0.05 * 0.5 * kwh, rel=1e-12)
    assert list(bill.months) == ["energy", "gas", "total"]
    assert bill.average_price == pytest.approx(0.137)
    assert bill.marginal_price() == pytest.approx(0.137)


def test_hours_and_quarters_give_the_same_energy() -> None:
    tariff = ms.Tariff(**KINDS["time of use"])
    hourly = some_year().resample("1h").mean()
    by_hour, by_quarter = (ms.bill(tariff, p) for p in (hourly, hourly.repeat(4).set_axis(
        some_year().index)))  # fmt: skip
    assert by_hour.unrounded == pytest.approx(by_quarter.unrounded, rel=1e-12)
    assert "highest_15_min_kW" in by_quarter.use and "highest_15_min_kW" not in by_hour.use


@given(factor=st.floats(1.0, 3.0))
@pytest.mark.parametrize("kind", KINDS)
def test_more_use_never_costs_less(kind: str, factor: float) -> None:
    tariff = ms.Tariff(**KINDS[kind])
    week = power(some_year()[: 7 * 96])
    less, more = (ms.bill(tariff, p, utc_offset=-5.0) for p in (week, factor * week))
    assert more.unrounded >= less.unrounded - 1e-9


# ---------------------------------------------------------------------- civil time


def test_the_days_on_which_clocks_change_have_23_and_25_hours() -> None:
    """2026 in the eastern United States: March 8 and November 1."""
    index = pd.date_range("2026-01-01", periods=35040, freq="15min")
    quarter = _clock(EASTERN, None, (), index[0], len(index), -5.0).quarter
    spring, autumn = (np.flatnonzero(index.normalize() == day)[0] for day in (
        "2026-03-08", "2026-11-01"))  # fmt: skip
    # 2:00 is 3:00 on the first; 1:00 to 2:00 comes twice on the second.
    assert quarter[spring + 7] == 7 and quarter[spring + 8] == 12
    assert list(quarter[autumn + 3 : autumn + 5]) == [7, 4]
    day = np.flatnonzero(np.diff(quarter, prepend=100) < -1)
    lengths = dict(zip(index[day[:-1]].strftime("%m-%d %H"), np.diff(day), strict=True))
    assert lengths["03-08 00"] == 92
    twice = [k for k in range(len(day)) if index[day[k]].strftime("%m-%d") == "11-01"]
    # The second hour of 1:00 is a step back within the day.
    assert [int(index[day[k]].hour) for k in twice] == [1]
    assert (day[twice[0]] - day[twice[0] - 1], day[twice[0] + 1] - day[twice[0]]) == (8, 92)


@pytest.mark.parametrize(
    ("day", "hours"), [("2026-03-07", 6), ("2026-03-08", 5), ("2026-10-31", 6), ("2026-11-01", 7)]
)
def test_a_period_over_the_change_of_clocks(day: str, hours: int) -> None:
    """0:00 to 6:00 is five hours long in spring, and seven in autumn."""
    night = ms.RatePeriod(name="night", price=1.0, hours=["00:00 to 06:00"])
    tariff = ms.Tariff(periods=[night, ms.RatePeriod(name="day", price=0.0)], zone=EASTERN)
    around = power(np.ones(96 * 3), str(pd.Timestamp(day) - pd.Timedelta(days=1)).split()[0])
    alone = around.copy()
    civil = around.index.tz_localize("Etc/GMT+5").tz_convert(EASTERN)
    alone[civil.strftime("%Y-%m-%d") != day] = 0.0
    assert ms.bill(tariff, alone, utc_offset=-5.0).unrounded == pytest.approx(hours)


@pytest.mark.parametrize(("month", "first"), [("01", 14), ("07", 13)])
@pytest.mark.parametrize("utc_offset", [-5.0, None])
def test_summer_hours_are_an_hour_earlier_by_standard_time(
    month: str, first: int, utc_offset: float | None
) -> None:
    tariff = ms.Tariff(periods=[PEAK, REST], zone=EASTERN)
    wednesday = pd.Timestamp(f"2026-{month}-01")
    wednesday += pd.Timedelta(days=(2 - wednesday.day_of_week) % 7)
    for hour in range(24):
        one = np.zeros(96)
        one[4 * hour : 4 * hour + 4] = 1.0
        cost = ms.bill(tariff, power(one, str(wednesday.date())), utc_offset=utc_offset).unrounded
        assert cost == pytest.approx(0.31 if first <= hour < first + 6 else 0.09)


def test_a_place_whose_clocks_are_not_those_of_its_longitude() -> None:
    """Weather of UTC +0 in a zone of UTC +1: civil time is an hour ahead in winter, two in summer."""
    tariff = ms.Tariff(periods=[PEAK, REST], zone="Europe/Madrid")
    for day, hour in (("2026-01-07", 13), ("2026-07-08", 12)):
        one = np.zeros(24)
        one[hour] = 1.0
        used = power(one, day, "1h")
        assert ms.bill(tariff, used, utc_offset=0.0).unrounded == pytest.approx(0.31)


def test_weekends_and_holidays() -> None:
    """July 4, 2026 is a Saturday and observed on Friday; Labor Day is September 7."""
    tariff = ms.Tariff(
        periods=[PEAK, REST], holidays=["Labor Day", "Independence Day", "08-12", "2026-08-14"]
    )
    index = pd.date_range("2026-06-29", "2026-09-13")
    free = index[free_days(tariff.holidays, index)]
    weekdays = [f"{day:%m-%d}" for day in free if day.day_of_week < 5]
    assert weekdays == ["07-03", "08-12", "08-14", "09-07"]
    for day, price in (("2026-09-04", 0.31), ("2026-09-05", 0.09), ("2026-09-07", 0.09)):
        afternoon = np.zeros(96)
        afternoon[60:64] = 1.0
        assert ms.bill(tariff, power(afternoon, day)).unrounded == pytest.approx(price)


def test_new_years_day_observed_in_the_old_year() -> None:
    """January 1, 2022 was a Saturday."""
    days = pd.date_range("2021-12-27", "2021-12-31")
    assert list(free_days(("US federal",), days)) == [False] * 4 + [True]


def test_a_typical_year_follows_its_stamps_or_the_year_given() -> None:
    """July 4 was a Wednesday in 1990, and is a Saturday in 2026."""
    afternoon = np.zeros(96)
    afternoon[60:64] = 1.0
    used = power(afternoon, "1990-07-04")
    own, other = (
        ms.bill(ms.Tariff(periods=[PEAK, REST], year=year), used) for year in (None, 2026)
    )
    assert own.unrounded == pytest.approx(0.31) and other.unrounded == pytest.approx(0.09)
    assert str(own.months.index[0]) == "1990-07" and str(other.months.index[0]) == "2026-07"
    leap = power(np.ones(96 * 3), "1992-02-28")
    with pytest.raises(ms.InputError, match="same February 29 as 1992"):
        ms.bill(ms.Tariff(year=2026), leap)
    assert ms.bill(ms.Tariff(price=1.0, year=2024), leap).unrounded == pytest.approx(72.0)


def test_the_last_hour_of_a_season_opens_no_month_of_its_own() -> None:
    """March 1 to October 31: clocks are still ahead, so that it ends at 1:00 of November 1."""
    days = pd.date_range("2026-03-01", "2026-10-31")
    used = power(np.ones(96 * len(days)), "2026-03-01")
    bill = ms.bill(ms.Tariff(price=0.1, fixed_charge=10.0, zone=EASTERN), used, utc_offset=-5.0)
    assert [str(month) for month in bill.months.index] == [f"2026-{m:02d}" for m in range(3, 11)]
    assert list(bill.use["covered"]) == [1.0] * 8
    hours = bill.use["bought_kWh"]
    # The hour that March lacks by the clock has gone to October.
    assert list(hours) == [743.0, 720.0, 744.0, 720.0, 744.0, 744.0, 720.0, 745.0]
    assert set(bill.months["fixed"]) == {10.0}


# ---------------------------------------------------------------------- the lines


def test_a_part_of_a_month_is_charged_in_proportion_to_its_days() -> None:
    """Ten days of June: a third of the fixed charge, of the minimum and of the tiers."""
    used = power(np.full(960, 1.0), "2026-06-11")  # 240 kWh
    tariff = ms.Tariff(
        tiers=TIERS, fixed_charge=9.0, daily_charge=0.1, demand=[ms.DemandCharge(price=6.0)]
    )
    lines = ms.bill(tariff, used).months.iloc[0]
    assert lines["energy tier 1"] == pytest.approx(13.33)  # 133.33 kWh
    assert lines["energy tier 2"] == pytest.approx(18.13)  # 106.67 kWh
    assert lines["fixed"] == pytest.approx(4.0)
    assert lines["demand"] == pytest.approx(2.0)
    least = ms.bill(ms.Tariff(price=0.01, minimum="30 USD/month"), used).months.iloc[0]
    assert least["minimum top-up"] == pytest.approx(7.6) and least["total"] == pytest.approx(10.0)


def test_tiers_of_a_month_in_two_seasons_are_in_proportion_too() -> None:
    seasons = [
        ms.RateSeason(name="a", days=["06-11 to 12-31"], tiers=TIERS),
        ms.RateSeason(name="b", days=["01-01 to 06-10"], price=0.2),
    ]
    lines = ms.bill(ms.Tariff(seasons=seasons), power(np.ones(96 * 30), "2026-06-01")).months.iloc[
        0
    ]
    # 480 kWh in twenty days, of which two thirds of 400 kWh are in the first tier.
    assert lines["energy a tier 1"] == pytest.approx(26.67)
    assert lines["energy a tier 2"] == pytest.approx(0.17 * (480 - 800 / 3), abs=0.005)
    assert lines["energy b"] == pytest.approx(48.0)


def test_demand_within_its_hours_by_its_window() -> None:
    month = np.ones(96 * 30)
    noon = 96 * 3 + 4 * 15  # Thursday, June 4, 15:00
    month[noon : noon + 2] = 5.0
    month[96 * 4 + 8] = 9.0  # at night
    month[96 * 5 + 4 * 16] = 7.0  # on a Saturday
    used = power(month, "2026-06-01")

    def charge(**more: Any) -> float:
        tariff = ms.Tariff(price=0.0, demand=[ms.DemandCharge(price=1.0, **more)])
        return ms.bill(tariff, used).total

    assert charge() == 9.0
    assert charge(hours=["14:00 to 20:00"]) == 7.0
    assert charge(hours=["14:00 to 20:00"], days="weekdays") == 5.0
    assert charge(hours=["14:00 to 20:00"], days="weekends and holidays") == 7.0
    assert charge(hours=["14:00 to 20:00"], days="weekdays", window="60 min") == 3.0


def test_a_seasonal_demand_charge_and_a_ratchet() -> None:
    index = pd.date_range("2026-01-01", periods=35040, freq="15min")
    used = power(np.where(index.month == 7, 10.0, 2.0), "2026-01-01")
    seasons = KINDS["seasons"]["seasons"]
    tariff = ms.Tariff(seasons=seasons, demand=[ms.DemandCharge(price=1.0, season="summer")])
    assert list(ms.bill(tariff, used).months["demand"]) == [0] * 5 + [2, 10, 2, 2] + [0] * 3
    tariff = ms.Tariff(demand=[ms.DemandCharge(price=1.0, ratchet=0.5)])
    assert list(ms.bill(tariff, used).months["demand"]) == [2] * 6 + [10] + [5] * 5


def test_taxes_stand_on_all_lines() -> None:
    used = power(np.ones(96 * 30), "2026-06-01")  # 720 kWh
    tariff = ms.Tariff(price=0.1, fixed_charge=8.0, tax_per_kwh=0.01, tax=0.1)
    lines = ms.bill(tariff, used).months.iloc[0]
    assert lines["tax per kWh"] == 7.2
    assert lines["tax"] == pytest.approx(0.1 * (72.0 + 8.0 + 7.2))


def test_solar_credited_at_once_or_netted_in_the_month() -> None:
    """June: 1 kW all day, 3 kW of sun for eight hours: 16 kWh bought and given each day."""
    used = power(np.ones(96 * 30), "2026-06-01")
    sun = ms.HourlyProfile(values=[0] * 8 + [3] * 8 + [0] * 8)
    credited = ms.bill(ms.Tariff(price=0.2, solar=sun, export_price=0.05), used)
    assert credited.total == pytest.approx(480 * 0.2 - 480 * 0.05)
    assert credited.average_price == pytest.approx(0.15)
    netted = ms.bill(ms.Tariff(price=0.2, solar=sun, export_price=0.05, export="netted"), used)
    assert netted.total == pytest.approx(0.0)
    more = ms.bill(ms.Tariff(price=0.2, solar=sun, export_price=0.05, export="netted"), 0.5 * used)
    # 8 kWh bought, 20 given: 12 a day are surplus.
    assert more.total == pytest.approx(-30 * 12 * 0.05)
    assert ms.bill(ms.Tariff(price=0.2, solar=sun, tax=0.1, export_price=0.5), used).months[
        "tax"
    ].iloc[0] == pytest.approx(0.0)


def test_other_use_fills_the_tiers_from_below() -> None:
    used = power(np.full(96 * 30, 0.5), "2026-06-01")  # 360 kWh
    alone = ms.bill(ms.Tariff(tiers=TIERS), used)
    house = ms.bill(ms.Tariff(tiers=TIERS, other_use="8760 kWh/year"), used)  # 720 kWh more
    assert alone.unrounded == pytest.approx(36.0)
    assert house.unrounded == pytest.approx(40.0 + 680 * 0.17)
    without = ms.bill(ms.Tariff(tiers=TIERS, other_use="8760 kWh/year"), 0.0 * used)
    # The machines' own part is all dear.
    assert house.unrounded - without.unrounded == pytest.approx(360 * 0.17)
    shape = ms.HourlyProfile(values=[1] * 12 + [3] * 12)
    shaped = ms.Tariff(other_use="8760 kWh/year", other_use_profile=shape)
    index = pd.date_range("2026-06-01", periods=24, freq="1h")
    np.testing.assert_allclose(shaped.other_power(index), [0.5] * 12 + [1.5] * 12)
    np.testing.assert_allclose(
        ms.Tariff(other_use_profile=shape).other_power(index), [1.0] * 12 + [3.0] * 12
    )


def test_average_and_marginal_prices_are_kept_apart() -> None:
    used = power(np.full(96 * 30, 1.0), "2026-06-01")  # 720 kWh
    tariff = ms.Tariff(tiers=TIERS, fixed_charge=12.0, tax=0.1)
    bill = ms.bill(tariff, used)
    total = (40.0 + 320 * 0.17 + 12.0) * 1.1
    assert bill.average_price == pytest.approx(total / 720)
    assert bill.marginal_price() == pytest.approx(0.17 * 1.1)
    on_peak = power((used.index.hour == 15).astype(float), "2026-06-01")
    use_time = ms.bill(ms.Tariff(periods=[PEAK, REST]), used)
    # 22 of June's 30 days in 2026 are weekdays.
    assert use_time.marginal_price(on_peak) == pytest.approx((22 * 0.31 + 8 * 0.09) / 30)
    assert ms.bill(tariff, 0.0 * used).average_price is None
    assert ms.bill(tariff, 0.0 * used).marginal_price() == pytest.approx(0.1 * 1.1)
    with pytest.raises(ms.InputError, match="times of the power billed"):
        bill.marginal_price(on_peak[:-1])
    with pytest.raises(ms.InputError, match="not all 0"):
        bill.marginal_price(0.0 * on_peak)


def test_gas_has_its_fixed_charge_only_where_it_is_laid_on() -> None:
    used = power(np.ones(96 * 30), "2026-06-01")
    tariff = ms.Tariff(price=0.1, gas_price=0.04, gas_fixed_charge="20 USD/month")
    assert ms.bill(tariff, used).total == pytest.approx(72.0)
    assert ms.bill(tariff, used, gas=0.0 * used).total == pytest.approx(92.0)
    bill = ms.bill(tariff, used, gas=used)
    assert bill.total == pytest.approx(92.0 + 28.8) and bill.electricity == pytest.approx(72.0)
    assert bill.average_price == pytest.approx(0.1)


# ---------------------------------------------------------------------- refused


def season(name: str, *days: str) -> ms.RateSeason:
    return ms.RateSeason(name=name, days=days, price=0.1)


def period(name: str, hours: str | None = None, days: str = "every day") -> ms.RatePeriod:
    return ms.RatePeriod(name=name, price=0.1, hours=[hours] if hours else [], days=days)


REFUSED: dict[str, tuple[Any, str]] = {
    "gap of seasons": (
        lambda: ms.Tariff(seasons=[season("a", "01-01 to 05-31"), season("b", "07-01 to 12-31")]),
        ("Tariff.seasons: no season from 06-01 to 06-30. Use seasons that cover each day of the year once."),
    ),
    "overlap of seasons": (
        lambda: ms.Tariff(seasons=[season("cool", "10-01 to 06-02"), season("hot", "06-01 to 09-30")]),
        ("Tariff.seasons: 'cool' and 'hot' overlap from 06-01 to 06-02. Use seasons that cover each day of the year once."),
    ),
    "two seasons of one name": (
        lambda: ms.Tariff(seasons=[season("a", "01-01 to 05-31"), season("a", "06-01 to 12-31")]),
        "Tariff.seasons: two have the name 'a'. Use different names.",
    ),
    "gap of a day": (
        lambda: ms.Tariff(periods=[period("a", "00:00 to 14:00"), period("b", "20:00 to 24:00")]),
        ("Tariff.periods: no period on weekdays from 14:00 to 20:00. Use periods that cover each hour once; one without hours and days covers all others."),
    ),
    "gap on free days": (
        lambda: ms.Tariff(periods=[period("a", "00:00 to 24:00", "weekdays")]),
        ("Tariff.periods: no period on weekends and holidays from 00:00 to 24:00. Use periods that cover each hour once; one without hours and days covers all others."),
    ),
    "overlap of a day": (
        lambda: ms.Tariff(
            periods=[period("peak", "14:00 to 20:00"), period("night", "19:30 to 06:00"), period("x")]
        ),
        ("Tariff.periods: 'peak' and 'night' overlap on weekdays from 19:30 to 20:00. Use periods that cover each hour once."),
    ),
    "two that take the rest": (
        lambda: ms.Tariff(periods=[period("a"), period("b")]),
        "Tariff.periods: cannot use \"'a' and 'b', neither with hours or days\"",
    ),
    "gap within a season": (
        lambda: ms.RateSeason(name="s", days=SUMMER, periods=[period("a", "00:00 to 23:45")]),
        ("RateSeason.periods: no period on weekdays from 23:45 to 24:00. Use periods that cover each hour once; one without hours and days covers all others."),
    ),
    "negative price": (lambda: ms.Tariff(price="-3 cent/kWh"), (
        "Tariff.price: '-3 cent/kWh' is too small. Use a price of energy from 0 to 500 "
        "cent/kWh.")),
    "negative tier": (lambda: ms.RateTier(price=-0.1), (
        "RateTier.price: -0.1 is too small. Use a price of energy from 0 to 5 USD/kWh.")),
    "tiers that fall": (
        lambda: ms.Tariff(
            tiers=[ms.RateTier(price=1, up_to=500), ms.RateTier(price=1, up_to=400), TIERS[1]]
        ),
        "Tariff.tiers[1].up_to: cannot use '400 kWh'. Use more than the 500 kWh",
    ),
    "no last tier": (
        lambda: ms.Tariff(tiers=[ms.RateTier(price=1, up_to=500)]),
        ("Tariff.tiers[0].up_to: no price above 500 kWh. Use a last tier without "
        "up_to."),
    ),
    "an endless tier before another": (
        lambda: ms.Tariff(tiers=[ms.RateTier(price=1), ms.RateTier(price=2)]),
        "Tariff.tiers[0].up_to: missing, but another tier follows. Use the monthly use at which the tier ends",
    ),
    "price beside tiers": (
        lambda: ms.Tariff(price=0.1, tiers=TIERS),
        "cannot use 'price and tiers together'. Use one of price, tiers, periods, seasons",
    ),
    "season without a price": (
        lambda: ms.RateSeason(name="s", days=SUMMER),
        "RateSeason.price: cannot use 'no prices'",
    ),
    "zone": (
        lambda: ms.Tariff(zone="America/NewYork"),
        "Tariff.zone: cannot use 'America/NewYork'. Did you mean 'America/New_York'?",
    ),
    "a zone that is a path": (lambda: ms.Tariff(zone="/etc/passwd"), "Tariff.zone: cannot use '/etc"),
    "holiday": (
        lambda: ms.Tariff(holidays=["13-25"]),
        "Tariff.holidays: cannot use '13-25'. Use a date such as '12-25'",
    ),
    "holiday by a wrong name": (
        lambda: ms.Tariff(holidays=["Labour Day"]),
        "Tariff.holidays: cannot use 'Labour Day'. Use ",
    ),
    "hours": (
        lambda: ms.RatePeriod(name="a", price=1, hours=["14 to 20"]),
        "RatePeriod.hours: cannot use '14 to 20'. Use two different times",
    ),
    "hours that are none": (
        lambda: ms.RatePeriod(name="a", price=1, hours=["14:00 to 24:15"]),
        "RatePeriod.hours: cannot use '14:00 to 24:15'",
    ),
    "hours as numbers": (
        lambda: ms.RatePeriod(name="a", price=1, hours=[14, 20]),
        "RatePeriod.hours: cannot use 14",
    ),
    "day": (lambda: season("s", "06-31 to 09-30"), "RateSeason.days: cannot use '06-31 to 09-30'"),
    "season of a demand charge": (
        lambda: ms.Tariff(
            seasons=KINDS["seasons"]["seasons"],
            demand=[ms.DemandCharge(price=1, season="sumer")],
        ),
        "Tariff.demand[0].season: cannot use 'sumer'. Did you mean 'summer'?",
    ),
    "tax as a number of percent": (
        lambda: ms.Tariff(tax=7),
        "Tariff.tax: 7 is 700 % if it is a fraction. Did you mean '7 %'? Write the unit.",
    ),
    "cents as dollars": (
        lambda: ms.Tariff(price=15),
        ("Tariff.price: 15 is 1,500 cent/kWh if it is in USD/kWh. Did you mean '15 cent/kWh'? "
        "Write the unit."),
    ),
    "cents as dollars, in a period": (
        lambda: ms.RatePeriod(name="a", price=28),
        ("RatePeriod.price: 28 is 2,800 cent/kWh if it is in USD/kWh. Did you mean '28 cent/kWh'? "
        "Write the unit."),
    ),
    "cents as dollars, in a tier": (
        lambda: ms.RateTier(price=11.5),
        ("RateTier.price: 11.5 is 1,150 cent/kWh if it is in USD/kWh. Did you mean '11.5 "
        "cent/kWh'? Write the unit."),
    ),
    "a price that no unit saves": (
        lambda: ms.Tariff(price=-15),
        "Tariff.price: -15 is too small. Use a price of energy from 0 to 5",
    ),
    "gas by the therm as by the kWh": (
        lambda: ms.Tariff(gas_price=1.2),
        "Tariff.gas_price: 1.2 is $35.17/therm if it is in USD/kWh. Did you mean '$1.2/therm' or "
        "'1.2 cent/kWh'? Write the unit.",
    ),
    "year": (lambda: ms.Tariff(year="2026"), "Tariff.year: cannot use '2026'"),
    "profile of the wrong length": (
        lambda: ms.HourlyProfile(values=[1.0] * 25),
        "HourlyProfile.values: 25 numbers. Use 24 numbers",
    ),
    "profile with a hole": (
        lambda: ms.HourlyProfile(values=[1.0] * 23 + [float("nan")]),
        ("HourlyProfile.values: nan in hour 24. Use 24 numbers (the hours of every day), 8760 or "
        "8784 (those of a year from January 1, local standard time), none negative."),
    ),
    "power with a hole": (
        lambda: ms.bill(ms.Tariff(), power([1.0, np.nan, 1.0])),
        "bill power: cannot use 'nan at 1990-01-01 00:15:00'",
    ),
    "power with a gap": (
        lambda: ms.bill(ms.Tariff(), power([1.0] * 9).drop(pd.Timestamp("1990-01-01 01:00"))),
        ("bill power: 1990-01-01 01:15:00 follows 1990-01-01 00:45:00. Use a Series by quarter hours or hours, local standard time, without a gap."),
    ),
    "power that is negative": (
        lambda: ms.bill(ms.Tariff(), power([1.0, -1.0])),
        "numbers of at least 0",
    ),
    "power by the day": (
        lambda: ms.bill(ms.Tariff(), power([1.0, 1.0], freq="D")),
        ("bill power: it has a row each 1 days 00:00:00. Use a Series by quarter hours or hours, local standard time, without a gap."),
    ),
    "hours for a demand of quarters": (
        lambda: ms.bill(ms.Tariff(**KINDS["demand"]), power([1.0] * 24, freq="1h")),
        "bill power: rows are hours. Use quarter hours",
    ),
    "gas of another time": (
        lambda: ms.bill(ms.Tariff(), power([1.0] * 8), gas=power([1.0] * 4)),
        "bill gas: its times differ. Use the times of the power.",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_refused_in_one_sentence(case: str) -> None:
    make, words = REFUSED[case]
    with pytest.raises(ms.InputError) as caught:
        make()
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_february_29_needs_no_mention() -> None:
    for end in ("02-28", "02-29"):
        seasons = [season("a", f"11-01 to {end}"), season("b", "03-01 to 10-31")]
        bill = ms.bill(ms.Tariff(seasons=seasons), power(np.ones(96 * 366), "2024-01-01"))
        assert bill.months.loc["2024-02", "energy a"] == pytest.approx(29 * 2.4)
