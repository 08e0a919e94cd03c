"""Source: Hukka & Viitanen (1999) and Viitanen et al. (2010), mold index, from memory.

Mold index: Hukka & Viitanen (1999), A mathematical model of mold growth on wooden material, Wood
Science and Technology 33, and Viitanen et al. (2010), J. Building Physics 33. Neither was read for
this: their equations are from memory. The index is checked against what the equations of 1999 give by
another route, in closed form and by their own times of first growth; nothing is read off a curve.
"""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import moistsim as ms
from moistsim.risk import mold as mold
from moistsim.risk.mold import mold_index

WEEK = 168

# Pine sapwood after twelve weeks of one RH, percent, and temperature, degC; by hand from the
# equations of 1999 (`after`), so that a slip in both codes at once would show too.
CONDITIONS = {(97.0, 20.0): 5.5, (90.0, 20.0): 4.0, (90.0, 10.0): 2.7}
# Under the microscope (index 1) and by eye (index 3) on pine, in weeks: t_m and t_v by hand.
SEEN = {(97.0, 20.0): (1.5, 3.0), (90.0, 20.0): (4.2, 7.7)}


def weeks_to_index_3(t: float, rh: float) -> float:
    """Hukka & Viitanen's t_v on pine; it has no place in the package, which has the ratio as 2."""
    return math.exp(-0.74 * math.log(t) - 12.72 * math.log(rh) + 61.50)


def after(weeks: float, t: float, rh: float) -> float:
    """The index of 1999 after weeks of one condition, in closed form.

    With u = exp(2.3 (M - M_max)), dM/dt = k (1 - u) is logistic, u / (1 - u) growing as
    exp(2.3 k t); k is 1 / t_m up to index 1 and 2 / (t_v - t_m) from there.
    """
    critical = 100.0 - 3.13 * t + 0.160 * t**2 - 0.00267 * t**3 if t <= 20.0 else 80.0
    x = (critical - rh) / (critical - 100.0)
    top = 1.0 + 7.0 * x - 2.0 * x * x
    t_m, t_v = float(mold.weeks_to_index_1(t, rh)), weeks_to_index_3(t, rh)

    def grown(start: float, k: float, time: float) -> float:
        u = math.exp(2.3 * (start - top))
        odds = u / (1.0 - u) * math.exp(2.3 * k * time)
        return top + math.log(odds / (1.0 + odds)) / 2.3

    first = grown(0.0, 1.0 / t_m, weeks)
    if first <= 1.0:
        return first
    # When index 1 was passed, by the same form.
    u0, u1 = math.exp(-2.3 * top), math.exp(2.3 * (1.0 - top))
    passed = math.log(u1 / (1.0 - u1) * (1.0 - u0) / u0) * t_m / 2.3
    return grown(1.0, 2.0 / (t_v - t_m), weeks - passed)


@pytest.mark.parametrize(("rh", "t"), CONDITIONS)
def test_after_twelve_weeks(rh: float, t: float) -> None:
    index = mold_index([t] * 12 * WEEK, [rh] * 12 * WEEK, "very sensitive")[-1]
    assert index == pytest.approx(after(12.0, t, rh), abs=0.3)
    assert index == pytest.approx(CONDITIONS[rh, t], abs=0.3)


@pytest.mark.parametrize(("rh", "t"), SEEN)
def test_when_it_is_first_seen(rh: float, t: float) -> None:
    """The mold index passes 1 and 3 at the paper's own times.

    The index passes 1 and 3 when the paper's own times say; the classes of 2010 hold the speed
    beyond index 1 at twice that below it, where the paper of 1999 has 2.4 at 90 %.
    """
    microscope, eye = SEEN[rh, t]
    assert mold.weeks_to_index_1(t, rh) == pytest.approx(microscope, abs=0.1)
    assert weeks_to_index_3(t, rh) == pytest.approx(eye, abs=0.1)
    index = mold_index([t] * 12 * WEEK, [rh] * 12 * WEEK, "very sensitive")
    assert np.argmax(index >= 1.0) / WEEK == pytest.approx(microscope, abs=0.25)
    # At 90 % the highest index is 4, whose nearness slows it further.
    assert np.argmax(index >= 3.0) / WEEK == pytest.approx(eye, rel=0.12)


def test_the_critical_rh_of_pine() -> None:
    """The published cubic, by hand, which meets 80 % at 20 degC."""
    np.testing.assert_allclose(
        mold.critical_rh([30.0, 20.0, 10.0, 5.0]), [80.0, 80.04, 82.03, 88.02], atol=0.01
    )
    assert mold.critical_rh(15.0, "resistant") == 85.0


def test_saturated_air_covers_pine() -> None:
    """6 is the end of the scale."""
    assert mold_index([25.0] * 26 * WEEK, [100.0] * 26 * WEEK, "very sensitive")[
        -1
    ] == pytest.approx(6.0, abs=0.01)


def test_decline_on_pine() -> None:
    """0.00133 an hour for six hours, none until 24, 0.000667 an hour from then on."""
    index = mold_index([20.0] * 48, [50.0] * 48, "very sensitive", decline=1.0, start=3.0)
    assert index[5] == pytest.approx(3.0 - 0.008, abs=1e-4)
    assert index[23] == index[5]
    assert index[47] == pytest.approx(index[23] - 0.016, abs=1e-4)
    slow = mold_index([20.0] * 48, [50.0] * 48, "very sensitive", decline=0.1, start=3.0)
    np.testing.assert_allclose(3.0 - slow, 0.1 * (3.0 - index))
    assert (mold_index([20.0] * 48, [50.0] * 48, start=0.01, decline=1.0) >= 0.0).all()


def test_an_hour_of_wet_begins_the_dry_hours_anew() -> None:
    rh = np.full(60, 50.0)
    rh[30] = 95.0
    index = mold_index([20.0] * 60, rh, decline=1.0, start=3.0)
    lost = -np.diff(index)
    np.testing.assert_allclose(lost[30:36], 0.00133)
    assert index[36] == index[54] > index[55]


def test_more_sensitive_materials_have_more() -> None:
    """Twelve weeks at 90 % and 25 degC, in the classes' own order."""
    hours = 12 * WEEK
    ends = [mold_index([25.0] * hours, [90.0] * hours, kind)[-1] for kind in mold.SENSITIVITIES]
    assert all(more > less for more, less in zip(ends, ends[1:], strict=False))
    assert ends[0] > 3.0 > ends[1] and ends[3] < 0.5


conditions = st.lists(
    st.tuples(st.floats(-10.0, 45.0), st.floats(20.0, 99.0), st.floats(0.0, 1.0)),
    min_size=1,
    max_size=12,
)


@given(conditions, st.sampled_from(list(mold.SENSITIVITIES)))
def test_wetter_never_has_less(drawn: list[tuple[float, float, float]], kind: str) -> None:
    """Weeks of any conditions, each wetter by any amount, without decline.

    With it the published model is not monotone: a surface that is wet for an hour each day loses
    the quick first six hours each day, one that stays dry loses them once.
    """
    t, rh, up = (np.repeat(column, WEEK) for column in np.array(drawn).T)
    dry = mold_index(t, rh, kind, decline=0.0)
    wet = mold_index(t, rh + up * (100.0 - rh), kind, decline=0.0)
    # Where the speed changes at index 1, steps of an hour may overtake by one of them.
    assert (wet >= dry - 0.02).all()


@given(conditions, st.sampled_from(list(mold.SENSITIVITIES)))
def test_the_index_stays_on_its_scale(drawn: list[tuple[float, float, float]], kind: str) -> None:
    t, rh, _ = (np.repeat(column, WEEK) for column in np.array(drawn).T)
    index = mold_index(t, rh, kind, decline=1.0)
    assert (index >= 0.0).all() and (index <= 6.0).all()


def test_what_is_refused() -> None:
    with pytest.raises(ms.InputError, match=r"rh\[1\]: cannot use 101.0. Use .* 0 to 100"):
        mold_index([20.0, 20.0], [90.0, 101.0])
    with pytest.raises(ms.InputError, match=r"temperature\[0\]: cannot use nan"):
        mold_index([math.nan, 20.0], [90.0, 90.0])
    with pytest.raises(ms.InputError, match="Did you mean 'very sensitive'"):
        mold_index([20.0], [90.0], "very sensitiv")
    with pytest.raises(ms.InputError, match="one temperature and one RH an hour"):
        mold_index([20.0, 20.0], [90.0])
    with pytest.raises(ms.InputError, match="decline: cannot use 2.0"):
        mold_index([20.0], [90.0], decline=2.0)


# ---------------------------------------------------------------------- ASHRAE 160


def steady(t: float, rh: float, days: int) -> tuple[pd.Series, pd.Series]:
    index = pd.date_range("2001-01-01", periods=24 * days, freq="h")
    return pd.Series(t, index=index), pd.Series(rh, index=index)


def test_the_30_day_criterion_of_ashrae_160() -> None:
    """Addendum a to the edition of 2009, from memory: 80 % as a mean of 30 days, 5 to 40 degC."""
    assert mold.THIRTY_DAY_RH == 80.0
    assert len(mold.thirty_day_rh(*steady(20.0, 90.0, 29))) == 0
    assert mold.thirty_day_rh(*steady(20.0, 79.0, 31)).max() == pytest.approx(79.0)
    assert len(mold.thirty_day_rh(*steady(4.9, 95.0, 40))) == 0
    # Two weeks at 100 % between weeks at 62 % are some 80 % over 30 days, and only there.
    t, rh = steady(20.0, 62.0, 60)
    rh.iloc[20 * 24 : 34 * 24] = 100.0
    found = mold.thirty_day_rh(t, rh)
    assert found.max() == pytest.approx((14 * 100.0 + 16 * 62.0) / 30.0)


def test_the_criterion_of_2016_is_index_3() -> None:
    """A surface can fail the older criterion and meet the newer one.

    A sensitive surface at 30 days of 85 % fails the older criterion and holds the newer one,
    which is why the standard was changed (from memory).
    """
    hours = 30 * 24
    assert mold_index([20.0] * hours, [85.0] * hours)[-1] < mold.CRITERION == 3.0
    assert mold.thirty_day_rh(*steady(20.0, 85.0, 30)).max() > mold.THIRTY_DAY_RH
