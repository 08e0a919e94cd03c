"""AHRI 210/240, the seasonal cooling rating (SEER2): bins, load, tests and cases from memory.

The two worked examples are arithmetic in the docstrings, from invented test results that the
described units are made to give exactly: no fan, and straight lines over outdoor temperature.
"""

import attrs
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import moistsim as ms
from moistsim import air
from moistsim.engine import parameters
from moistsim.engine.coil import capacity_at, cool, input_ratio_at, ramp, stage_at
from moistsim.equipment import seasonal_rating
from moistsim.equipment.cooling import Biquadratic, Curves, rated_entering_air
from moistsim.equipment.seasonal_rating import degradation, seer2, steady_test

BTU_H = 1055.05585262 / 3600.0
STRAIGHT = Curves(
    # Capacity 0.5 % down and input per capacity 1 % up for each degF above 95 degF outdoors.
    Biquadratic(1.0 + 0.005 * 95.0, 0.0, 0.0, -0.005, 0.0, 0.0),
    Biquadratic(1.0 - 0.01 * 95.0, 0.0, 0.0, 0.01, 0.0, 0.0),
    (1.0, 0.0, 0.0),
    (1.0, 0.0, 0.0),
)


def straight(capacity: float, eer: float) -> ms.Stage:
    """A stage in Btu/h and Btu/(W h) whose curves are the straight lines."""
    return ms.Stage(capacity=capacity * BTU_H, cop=eer * BTU_H, curves=STRAIGHT)


def by_hand(*stages: ms.Stage, **fields: float) -> ms.Cooling:
    return ms.Cooling(stages=stages, fan_power=0.0, start_up_time=60.0, **fields)


def test_one_stage_by_hand() -> None:
    """36000 Btu/h and 3000 W at 95 degF (EER 12).

    Test B, 82 degF: capacity 36000 (1 + 0.005 x 13) = 38340 Btu/h; input per capacity (1 - 0.13)/12
    = 0.0725 W/(Btu/h), so 2779.65 W; EER 1/0.0725 = 13.7931.
    Cyclic test, time constant 60 s: in 6 minutes 1 - (60/360)(1 - exp(-6)) = 0.833746 of steady
    cooling; load factor 0.833746 x 6/30 = 0.166749; Cd = (1 - 0.833746)/(1 - 0.166749) = 0.199525.
    SEER = 13.7931 (1 - 0.5 x 0.199525) = 12.4171.
    """
    unit = by_hand(straight(36000.0, 12.0))
    b = steady_test(unit, 1.0, 82.0)
    assert b.capacity / BTU_H == pytest.approx(38340.0)
    assert b.input == pytest.approx(2779.65)
    assert degradation(unit) == pytest.approx(0.199525, abs=1e-6)
    assert seer2(unit) == pytest.approx(12.4171, abs=1e-4)


def test_two_stages_by_hand() -> None:
    """High as above; low 25000 Btu/h at 95 degF, EER 13. Cd = 0.199525 as above.

    Tests, Btu/h and W: high A 36000, 3000; high B 38340, 2779.65; low B 26625 and 26625 x 0.87/13 =
    1781.83; low F (67 degF) 28500 and 28500 x 0.72/13 = 1578.46. Lines: low capacity -125 and
    input +13.558 a degF from 82 degF; high -180 and +16.95 from 95 degF. Load (T - 65)/30 x
    36000/1.1 = 1090.909 (T - 65).

    ====  =====  =======  =====  ======  =====  ======  ===========================  =======  =======
    T     n/N    load     Q low  E low   Q hi   E hi    case                         E        E n/N
    ====  =====  =======  =====  ======  =====  ======  ===========================  =======  =======
    67    0.214   2181.8  28500  1578.5                 X .0766, PLF .8158            148.13   31.70
    72    0.231   7636.4  27875  1646.3                 X .2740, PLF .8551            527.4   121.83
    77    0.216  13090.9  27250  1714.0                 X .4804, PLF .8963            918.7   198.43
    82    0.161  18545.5  26625  1781.8                 X .6965, PLF .9395           1321.1   212.70
    87    0.104  24000.0  26000  1849.6                 X .9231, PLF .9847           1733.9   180.33
    92    0.052  29454.5  25375  1917.4  36540  2949.2  low .6346, high .3654        2294.4   119.31
    97    0.018  34909.1  24750  1985.2  35640  3033.9  low .0671, high .9329        2963.5    53.34
    102   0.004  40363.6                 34740  3118.7  high all the time (34740)    3118.7    12.47
    ====  =====  =======  =====  ======  =====  ======  ===========================  =======  =======

    Sum of load n/N: 466.91 + 1764.00 + 2827.64 + 2985.82 + 2496.00 + 1531.64 + 628.36 + 138.96 =
    12839.3; of E n/N 930.11. SEER = 13.804.
    """
    unit = by_hand(straight(25000.0, 13.0), straight(36000.0, 12.0))
    low_f = steady_test(unit, 1.0, 67.0)
    assert low_f.capacity / BTU_H == pytest.approx(28500.0)
    assert low_f.input == pytest.approx(1578.46, abs=0.01)
    assert seer2(unit) == pytest.approx(13.804, abs=1e-3)


def test_variable_speed_is_no_worse_than_taking_turns() -> None:
    """Variable speed uses no more than two speeds that alternate.

    With a better lower stage, a load in between costs what the straight line of EER says, by
    hand at 92 degF: EER low 25375/1917.4 = 13.234, high 36540/2949.2 = 12.390. The intermediate
    speed (28666.7 Btu/h at 95 degF) lies on the line of inputs here, so that little changes.
    """
    stages = (straight(25000.0, 13.0), straight(36000.0, 12.0))
    turns, follows = by_hand(*stages), by_hand(*stages, modulation="variable")
    print(f"SEER2 taking turns {seer2(turns):.4f}, following {seer2(follows):.4f}")
    assert seer2(follows) == pytest.approx(seer2(turns), rel=2e-3)
    assert seer2(follows) != seer2(turns)


def test_degradation_is_what_the_cyclic_test_finds_in_the_loop() -> None:
    """The loop's own start-up through 6 minutes on, 24 off, second by second."""
    for tau in (0.0, 20.0, 45.0, 60.0):
        unit = ms.Cooling(stages=[ms.Stage(capacity=8000.0)], start_up_time=tau)
        reached, delivered = 0.0, 0.0
        for _ in range(360):
            reached, mean = ramp(reached, tau, 1.0)
            delivered += mean / 360.0
        load_factor = delivered * 360.0 / 1800.0
        assert degradation(unit) == pytest.approx((1.0 - delivered) / (1.0 - load_factor), abs=1e-9)
    assert degradation(attrs.evolve(unit, start_up_time=300.0)) == 0.25


UNITS = {
    "single": ms.Cooling.from_label("36000 Btu/h", 14.3, 11.7),
    "two-stage": ms.Cooling.from_label("36000 Btu/h", 17.0, 12.0, kind="two-stage"),
    "variable": ms.Cooling.from_label("36000 Btu/h", 19.0, 12.5, kind="variable"),
    "three": ms.Cooling.from_label(
        "36000 Btu/h", 18.0, 12.0, kind="multi-stage", lower_stages=(0.4, 0.7)
    ),
}


@pytest.mark.parametrize("name", UNITS)
def test_tests_of_the_procedure_are_the_loop_s(name: str) -> None:
    """The description's test results in plain Python equal the compiled coil's.

    What the description computes in plain Python is what the compiled coil does, at each test
    temperature, also between two stages.
    """
    unit = UNITS[name]
    table = parameters.stage_table(unit)
    t, w = rated_entering_air()
    calls = np.arange(1.0, len(unit.stages) + 0.001, 0.25)
    for call in calls:
        row = stage_at(table, float(call) - 1.0)
        fan = unit.fan_watts(row.flow * unit.full_airflow)
        for outdoor in (67.0, 82.0, 87.0, 95.0):
            coil = cool(
                row, t, w, air.wet_bulb(t, w, 101325.0, 19.0), 101325.0, (outdoor - 32.0) / 1.8,
                row.dry_air, 10.0,
            )  # fmt: skip
            test = steady_test(unit, float(call), outdoor)
            assert test.capacity == pytest.approx(coil.capacity - fan, rel=1e-6)
            assert test.input == pytest.approx(coil.input + fan, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "label", "eer"),
    [("single", 14.3, 11.7), ("two-stage", 17.0, 12.0), ("variable", 19.0, 12.5), ("three", 18.0, 12.0)],
)  # fmt: skip
def test_the_label_comes_back(name: str, label: float, eer: float) -> None:
    unit = UNITS[name]
    full = steady_test(unit, len(unit.stages), 95.0)
    print(
        f"{name}: SEER2 {seer2(unit):.6f} of {label}; COP {[round(s.cop, 2) for s in unit.stages]}"
    )
    assert seer2(unit) == pytest.approx(label, rel=1e-6)
    assert full.capacity / BTU_H == pytest.approx(36000.0)
    assert full.capacity / full.input / BTU_H == pytest.approx(eer)


@settings(max_examples=25, deadline=None)
@given(
    kind=st.sampled_from(["single", "two-stage", "variable"]),
    capacity=st.floats(3500.0, 17000.0),
    season=st.floats(8.0, 26.0),
    eer=st.one_of(st.none(), st.floats(8.0, 15.0)),
    tau=st.floats(0.0, 90.0),
    law=st.sampled_from(["cubed", "proportional"]),
)
def test_any_label_comes_back_or_is_refused_with_a_range(
    kind: str, capacity: float, season: float, eer: float | None, tau: float, law: str
) -> None:
    arguments = {"kind": kind, "start_up_time": tau, "fan_law": law}
    try:
        unit = ms.Cooling.from_label(capacity, season, eer, **arguments)
    except ms.InputError as refusal:
        words = refusal.accepted.split()
        assert refusal.where == "Cooling.from_label.seer2"
        low, high = float(words[1]), float(words[3])
        assert not low <= season <= high
        # Both ends of the range that it names are taken.
        for end in (low, high):
            unit = ms.Cooling.from_label(capacity, end, eer, **arguments)
            assert seer2(unit) == pytest.approx(end, rel=1e-6)
        return
    assert seer2(unit) == pytest.approx(season, rel=1e-6)
    if eer is not None:
        assert unit.stages[-1].cop == pytest.approx(eer * BTU_H)


@settings(max_examples=12, deadline=None)
@given(kind=st.sampled_from(["two-stage", "variable"]), eer=st.floats(9.0, 14.0))
def test_a_better_label_never_draws_more(kind: str, eer: float) -> None:
    """At a mild 82 degF, where the season is decided, a higher SEER2 at one EER2 means less input."""
    try:
        worse, better = (
            ms.Cooling.from_label(10e3, ratio * eer, eer, kind=kind) for ratio in (1.3, 1.4)
        )
    except ms.InputError:
        assume(False)
        raise
    assert steady_test(better, 1.0, 82.0).input < steady_test(worse, 1.0, 82.0).input


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        ({"seer2": 60.0},
         ("Cooling.from_label.seer2: cannot use 60.0. Use a value from 6 to 40 Btu/h/W, which spans all "
         "machines made.")),
        ({"seer2": "14.3 kW"},
         ("Cooling.from_label.seer2: cannot read '14.3 kW' as an efficiency. Write '12.3 Btu/h/W' "
         "or '3.6 W/W'.")),
        ({"seer2": 14.3, "eer2": 40.0},
         ("Cooling.from_label.eer2: cannot use 40.0. Use a value from 5 to 20 Btu/h/W, which spans all "
         "machines made.")),
        ({"seer2": 14.3, "eer2": "inf"},
         ("Cooling.from_label.eer2: cannot use inf. Use a value from 5 to 20 Btu/h/W, which spans all "
         "machines made.")),
        ({"seer2": 13.0, "eer2": 14.0},
         ("Cooling.from_label.seer2: cannot use '13 Btu/h/W'. Use a value from 14.1 to 18.8 Btu/h/W, what "
         "a single unit of EER2 14 can have.")),
        ({"seer2": 30.0, "eer2": 12.0, "kind": "two-stage"},
         ("Cooling.from_label.seer2: cannot use '30 Btu/h/W'. Use a value from 12.3 to 21.9 Btu/h/W, what "
         "a two-stage unit of EER2 12 can have.")),
        ({"seer2": 14.3, "kind": "inverter"},
         ("Cooling.from_label.kind: cannot use 'inverter'. Use one of single, two-stage, "
         "multi-stage, variable.")),
        ({"seer2": 16.0, "kind": "two-stage", "lower_stages": (1.2,)},
         ("Cooling.from_label.lower_stages: cannot use (1.2,). Use a list of one fraction of full "
         "capacity, such as [0.7], at least 0.05 and below 1, for a two-stage unit.")),
        ({"seer2": 14.3, "shr": 1.2},
         "Stage.shr: 1.2 is too large. Use a fraction above 0.3 and up to 1."),
        ({"seer2": 14.3, "shr": 0.9},
         ("Cooling.stages[0].shr: cannot use 0.9. Use a sensible heat ratio from 0.58 to 0.75, "
         "the range that a wet coil can give at this capacity and 0.510 m3/s.")),
        ({"seer2": 14.3, "airflow": "-900 cfm"},
         "Stage.airflow: '-900 cfm' is too small. Use an airflow above 0 and up to 10,594 cfm."),
    ],
)  # fmt: skip
def test_labels_that_are_refused(arguments: dict[str, object], text: str) -> None:
    with pytest.raises(ms.InputError) as refusal:
        ms.Cooling.from_label("36000 Btu/h", **arguments)  # type: ignore[arg-type]
    assert str(refusal.value) == text


def test_plain_numbers_and_texts_are_one_label() -> None:
    plain = ms.Cooling.from_label(10e3, 14.3)
    assert ms.Cooling.from_label("10 kW", "14.3") == plain
    text = ms.Cooling.from_label("10 kW", "14.3 Btu/h/W")
    assert text.stages[0].cop == pytest.approx(plain.stages[0].cop, rel=1e-6)


def test_typical_units_improve_with_the_years() -> None:
    """The minimum steps are from memory; what is held here is that the unit has them."""
    for kind, first in (("single", 1970), ("two-stage", 1992), ("variable", 2006)):
        ratings = [
            seer2(ms.Cooling.typical("3 ton", kind=kind, year=year))
            for year in (1970, 1985, 2000, 2010, 2018, 2024)
            if year >= first
        ]
        assert ratings == sorted(set(ratings))
    assert seer2(ms.Cooling.typical("3 ton", year=2024)) == pytest.approx(14.3)
    assert seer2(ms.Cooling.typical("3 ton", year=2005)) == pytest.approx(9.5)
    for bad in (1950, 2010.0, True, "2010"):
        with pytest.raises(ms.InputError, match="a whole year from 1970 to"):
            ms.Cooling.typical("3 ton", year=bad)  # type: ignore[arg-type]
    with pytest.raises(ms.InputError, match="from 2006 to 2040 for a variable unit"):
        ms.Cooling.typical("3 ton", kind="variable", year=1990)


def test_a_steeper_stage_is_the_same_at_its_rating() -> None:
    """Only outdoor temperature's effect on the input is scaled: at 95 degF nothing is changed."""
    single = ms.Cooling(stages=[ms.Stage(capacity=8000.0)])
    steep = ms.Cooling(
        stages=[
            attrs.evolve(single.stages[0], curves=seasonal_rating.steeper(single.curves(0), 1.5))
        ]
    )
    a, b = (stage_at(parameters.stage_table(unit), 0) for unit in (single, steep))
    for wet in (18.0, 19.4, 22.0):
        assert input_ratio_at(b, wet, 35.0, 1.0) == pytest.approx(input_ratio_at(a, wet, 35.0, 1.0))
        assert capacity_at(b, wet, 25.0, 1.0) == pytest.approx(capacity_at(a, wet, 25.0, 1.0))
        change = 1.0 - input_ratio_at(a, wet, 25.0, 1.0) / input_ratio_at(a, wet, 35.0, 1.0)
        steeper = 1.0 - input_ratio_at(b, wet, 25.0, 1.0) / input_ratio_at(b, wet, 35.0, 1.0)
        assert steeper == pytest.approx(1.5 * change)
