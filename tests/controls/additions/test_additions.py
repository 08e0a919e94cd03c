"""Each addition by hand, and how additions and a strategy go together."""

import math
from typing import Any

import numpy as np
import pytest
from support import weathers
from support.houses import house
from support.machines import machines
from support.weathers import sample, stretch

import moistsim as ms
from moistsim import air
from moistsim.controls.interface import SIGNATURE
from moistsim.equipment.ventilation import ashrae_62_2_rate

OWN = ms.strategies
BLIND = OWN.temperature_only
"""A strategy that no humidity moves, so that what moves is the addition's."""


class Control:
    """A strategy that keeps its memory from one reading to the next, as in a run."""

    def __init__(self, strategy: ms.Strategy, **always: float) -> None:
        self.strategy = strategy
        self.always = {
            **dict.fromkeys(ms.Readings._fields, 0.0),
            **{"temperature": 24.0, "relative_humidity": 50.0, "occupied": 1.0},
            **{"cooling_stages": 2.0, "step_minutes": 1.0, "airflow": 1.0},
            **always,
        }
        self.memory = np.zeros(strategy.memory_size)

    def __call__(self, **readings: float) -> Any:
        return self.strategy.compiled(
            ms.Readings(**{**self.always, **readings}), self.memory, self.strategy.packed_settings
        )


def sentence(call: Any) -> str:
    """The refusal of a call that must be refused."""
    with pytest.raises(ms.InputError) as refusal:
        call()
    return str(refusal.value)


# --- Each by hand -------------------------------------------------------------------------------


def test_slower_airflow_on_a_humidity_call() -> None:
    """Target 55 %, deadband 4: on above 57 until below 53; by 0.2, in cooling alone, from a
    stage's second step on."""
    control = Control(BLIND + OWN.slower_airflow, temperature=25.2)
    steps = [
        # RH, stage that runs, and what the blower is slowed by
        (57.1, 0.0, 0.0), (57.1, 1.0, 0.2), (53.1, 1.0, 0.2), (52.9, 1.0, 0.0), (57.0, 1.0, 0.0),
        (57.1, 2.0, 0.0), (57.1, 1.0, 0.2),
    ]  # fmt: skip
    for rh, stage, slowed in steps:
        got = control(relative_humidity=rh, cooling_stage=stage)
        assert (got.cooling, got.slow_down) == (1.0, slowed)
    assert control(relative_humidity=60.0, temperature=22.0, cooling_stage=1.0).slow_down == 0.0


def test_slower_airflow_keeps_off_what_a_machine_would_refuse() -> None:
    """At 0.4 of full flow a fifth less is 0.32, below 0.33: slowed by 1 - 0.33 / 0.4 = 0.175, and
    the next step knows the stage's own flow again from the slower one. At 0.3 not at all."""
    control = Control(BLIND + OWN.slower_airflow, temperature=25.2, relative_humidity=60.0)
    assert control(cooling_stage=1.0, airflow=0.4).slow_down == pytest.approx(0.175)
    assert control(cooling_stage=1.0, airflow=0.33).slow_down == pytest.approx(0.175)
    control = Control(BLIND + OWN.slower_airflow, temperature=25.2, relative_humidity=60.0)
    assert control(cooling_stage=1.0, airflow=0.3).slow_down == 0.0


def test_slower_airflow_leaves_the_air_to_strips() -> None:
    """Strips come on below 23.6: full air while they are called for."""
    control = Control(OWN.staged_reheat + OWN.slower_airflow, relative_humidity=58.0)
    got = [control(temperature=t, cooling_stage=1.0) for t in (23.7, 23.5, 24.3)]
    assert [(c.cooling, c.reheat, c.slow_down) for c in got] == [
        (1, 0, 0.2),
        (1, 1, 0),
        (1, 0, 0.2),
    ]


def test_slower_airflow_follows_a_variable_compressor() -> None:
    """Called for 1.5 stages at 25.1 and 1.58 at 25.2: slowed as long as the call hardly moves."""
    control = Control(BLIND + OWN.slower_airflow, variable_speed=1.0, relative_humidity=60.0)
    assert control(temperature=25.1, cooling_stage=1.5).slow_down == 0.2
    assert control(temperature=25.2, cooling_stage=1.5).slow_down == 0.2
    assert control(temperature=25.7, cooling_stage=1.5).slow_down == 0.0


def test_dew_point_control_answers_vapor_alone() -> None:
    """The target dew point, in rooms of 20 and 28 degC, is the target RH; a dew point of twice its
    vapor pressure is twice that. The dehumidifier is on above 57 % of 55, which is 1.036 of the
    vapor pressure at 15 degC, whatever the room's own RH."""
    control = Control(OWN.with_dehumidifier + OWN.dew_point_control)
    es = air.saturation_pressure
    above, below = (air.dew_point(x / 55.0 * es(15.0)) for x in (57.0, 53.0))
    for t, rh in ((20.0, 99.0), (28.0, 1.0)):
        states = []
        for dew_point in (above - 0.01, above + 0.01, below + 0.01, below - 0.01, above - 0.01):
            states.append(control(temperature=t, relative_humidity=rh, dew_point=dew_point))
        assert [c.dehumidifier for c in states] == [0, 1, 1, 0, 0]

    @ms.addition
    def shows(readings: Any, memory: Any, calls: Any, *, target_rh: ms.units.Percent = 1.0) -> Any:
        """The RH that the strategy sees, as a call."""
        return calls._replace(fan=readings.relative_humidity / target_rh)

    control = Control(
        (OWN.with_dehumidifier + OWN.dew_point_control + shows)(target_dew_point="55 degF")
    )
    target = (55.0 - 32.0) / 1.8
    assert control(dew_point=target).fan == pytest.approx(1.0)
    assert control(dew_point=air.dew_point(2.0 * es(target))).fan == pytest.approx(2.0)


def test_set_back_cools_less_while_nobody_lives_there() -> None:
    """Away: cooling at 24.5 + 4.5 = 29, heating at 20 - 6 = 14, on and off a quarter of a kelvin
    from there."""
    control = Control(BLIND + OWN.set_back)
    away = [control(temperature=t, occupied=0.0) for t in (25.2, 29.2, 29.3, 28.8, 28.7)]
    assert [c.cooling for c in away] == [0, 0, 1, 1, 0]
    cold = [control(temperature=t, occupied=0.0) for t in (19.0, 13.8, 13.7, 14.2, 14.3)]
    assert [c.heating for c in cold] == [0, 0, 1, 1, 0]
    assert control(temperature=28.0).cooling == 2, "pulled down on arrival"


def test_set_back_leaves_the_strips_at_the_setpoint_of_home() -> None:
    """Strips below 24.5 - 0.6 - 0.3 = 23.6 while it dries, though cooling rests until 29.25."""
    control = Control(OWN.staged_reheat + OWN.set_back, occupied=0.0, relative_humidity=58.0)
    assert control(temperature=23.7).reheat == 0
    assert control(temperature=23.5).reheat == 1


def test_drying_by_dehumidifier_is_a_humidistat() -> None:
    control = Control(OWN.overcooling + OWN.drying_by_dehumidifier)
    got = [control(relative_humidity=rh).dehumidifier for rh in (57.0, 57.1, 53.1, 52.9, 57.0)]
    assert got == [0, 1, 1, 0, 0]


def test_drying_by_dehumidifier_is_the_built_in_strategy_to_the_bit() -> None:
    tables = [
        ms.simulate(house(), machines(), strategy, stretch("miami", 190, 5), spin_up="1 day").hourly
        for strategy in (OWN.with_dehumidifier, BLIND + OWN.drying_by_dehumidifier)
    ]
    assert tables[0]["dehumidifier_h"].sum() > 1.0
    assert tables[0].to_numpy().tobytes() == tables[1].to_numpy().tobytes()


# --- Ventilation held back ----------------------------------------------------------------------

HELD = BLIND + OWN.held_back_ventilation
EXPOSURE, OWED = 16, 17
"""Slots of memory: behind the strategy's sixteen."""


def test_ventilation_is_held_back_in_humid_air_and_caught_up_in_dry() -> None:
    control = Control(HELD)
    assert control(outdoor_dew_point=15.9).ventilation == 1.0, "nothing is owed yet"
    assert control(outdoor_dew_point=16.1).ventilation == 0.3
    assert control(outdoor_dew_point=15.9).ventilation == 1.4
    control.memory[OWED] = 0.0
    assert control(outdoor_dew_point=15.9).ventilation == 1.0


@pytest.mark.parametrize(("factor", "minutes"), [(0.3, 600), (0.0, 60), (0.3, 60)])
def test_exposure_is_that_of_a_well_mixed_room(factor: float, minutes: int) -> None:
    """Held for some hours at 3 h of turnover: dR/dt = (1 - a R) / 3 h, integrated here by many
    small explicit steps."""
    control = Control(HELD(held_factor=factor, most_exposure=5.0))
    for _ in range(minutes):
        assert control(outdoor_dew_point=20.0).ventilation == factor
    r = owed = 0.0
    r, steps = 1.0, 40 * minutes
    dt = minutes / 60.0 / steps
    for _ in range(steps):
        change = (1.0 - factor * r) * dt / 3.0
        owed += (r + 0.5 * change - 1.0) * dt
        r += change
    assert control.memory[EXPOSURE] + 1.0 == pytest.approx(r, rel=1e-3)
    assert control.memory[OWED] == pytest.approx(owed, rel=1e-3)


def test_it_is_held_no_longer_than_exposure_and_debt_allow() -> None:
    """Held at none, exposure rises by a third an hour: from 1 to 3 in 6 h, then the full rate until
    it is 2 again; with 4 h of debt at most, never so high."""
    high = Control(HELD(held_factor=0.0), outdoor_dew_point=22.0)
    factors = [high().ventilation for _ in range(1000)]
    assert factors[:360] == [0.0] * 360
    assert factors[360] == 1.0
    # R - 1 falls from 2 to 1 in 3 h ln 2 = 125 min of the full rate.
    assert 124 <= factors[360:].index(0.0) <= 126
    poor = Control(HELD(held_factor=0.0, most_owed="4 hour"), outdoor_dew_point=22.0)
    factors = [poor().ventilation for _ in range(3000)]
    assert max(factors[:150]) == 0.0
    # A last minute fits in once the exposure, and with it what a minute adds, has fallen.
    assert factors[300:].count(0.0) <= 2
    assert 3.9 < poor.memory[OWED] <= 4.0
    assert poor.memory[EXPOSURE] == pytest.approx(0.0, abs=1e-6)


def exposure_of(hourly: Any, required: float, volume: float) -> Any:
    """Relative exposure minute by minute from the flows of the meter, m3 an hour: ASHRAE 62.2-2016,
    normative appendix C (from memory)."""
    r, out = 1.0, []
    for q in np.repeat(hourly, 60):
        if q > 0.0:
            r = required / q + (r - required / q) * math.exp(-q / 60.0 / volume)
        else:
            r += required / 60.0 / volume
        out.append(r)
    return np.array(out)


def year(place: str, strategy: ms.Strategy) -> ms.Season:
    return ms.simulate(house(), machines(), strategy, sample(place))


@pytest.mark.parametrize("place", ["miami", "greensboro"])
def test_the_average_of_62_2_is_kept_and_humid_months_are_drier(place: str) -> None:
    """From the meter's air alone: the mean exposure of the year is at most 1 and no hour's above 5;
    in Miami, where May to September hardly has a dry hour, the ventilation is held back for a few
    days and otherwise runs at its full rate. May to September are less humid than at the full rate
    all year."""
    steady, held = year(place, BLIND), year(place, HELD)
    flow = held.hourly["ventilation_m3"].to_numpy()
    home = house()
    required = 3600.0 * ashrae_62_2_rate(home.floor_area, home.bedrooms)
    np.testing.assert_allclose(steady.hourly["ventilation_m3"], required, rtol=1e-9)
    exposure = exposure_of(flow, required, home.volume)
    assert 1.5 < exposure.max() < 5.0
    assert exposure.mean() <= 1.0
    summer = steady.hourly.index.month.isin([5, 6, 7, 8, 9])
    for column in ("rh_over_55_pct_h", "above_55_h"):
        before, after = (x.hourly.loc[summer, column].sum() for x in (steady, held))
        print(f"{place} {column}: {before:.0f}, held back {after:.0f}")
        assert after < before
    full = np.isclose(flow[summer], required, rtol=1e-6).mean()
    if place == "miami":
        assert full > 0.8


def test_where_it_is_always_humid_it_falls_back_to_the_full_rate() -> None:
    """A dew point of 25 degC for good. Until its 72 h are owed it is held back; then never again,
    and the mean exposure nears 1 from above as the season grows: 72 h over its hours."""
    weather = weathers.flat(28.0, 0.0202, days=40)
    season = ms.simulate(house(), machines(), HELD, weather, spin_up=0)
    factor = season.hourly["ventilation_m3"].to_numpy() / season.hourly["ventilation_m3"].max()
    assert factor[:5] == pytest.approx([0.3] * 5)
    last_held = np.flatnonzero(factor < 0.999).max()
    assert 36 < last_held < 72
    owed = season.memory[OWED].iloc[-1]
    assert 71.0 < owed <= 72.0
    assert season.memory[EXPOSURE].iloc[-1] == pytest.approx(0.0, abs=1e-9)


# --- Limits -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("strategy", "settings", "text"),
    [
        (
            OWN.temperature_only + OWN.set_back, {"cooling_set_back": "-1 K"},
            "addition set_back.cooling_set_back: cannot use '-1 K'. Use a value from 0 K to 15.5 K.",
        ),
        (
            OWN.temperature_only + OWN.set_back, {"heating_setpoint": 16.0, "heating_set_back": 11.5},
            "addition set_back.heating_set_back: cannot use '11.5 K'. Use a value from 0 K to 11 K.",
        ),
        (
            # The strategy's setpoint alone takes the set-back out of its limits.
            OWN.temperature_only + OWN.set_back, {"cooling_setpoint": 36.0},
            "addition set_back.cooling_set_back: cannot use '4.5 K'. Use a value from 0 K to 4 K.",
        ),
        (
            OWN.temperature_only + OWN.slower_airflow, {"slow_down_by": "60 %"},
            ("strategy temperature_only + slower_airflow.slow_down_by: cannot use '0.6'. Use a value from "
            "0 to 0.5."),
        ),
        (
            OWN.temperature_only + OWN.slower_airflow, {"target_rh": 0.5},
            ("strategy temperature_only + slower_airflow.target_rh: 0.5 is 0.5 % if it is in "
            "%. Did you mean '50 %'? Write the unit."),
        ),
        (
            OWN.overcooling + OWN.dew_point_control, {"target_dew_point": "80 degF"},
            ("strategy overcooling + dew_point_control.target_dew_point: cannot use '26.7 °C "
            "(80.0 °F)'. Use a value from 0.0 °C (32.0 °F) to 25.0 °C (77.0 °F)."),
        ),
        (
            OWN.overcooling + OWN.held_back_ventilation, {"most_exposure": 6},
            ("strategy overcooling + held_back_ventilation.most_exposure: cannot use '6'. Use "
            "a value from 1 to 5."),
        ),
        (
            OWN.overcooling + OWN.held_back_ventilation, {"turnover": "3 min"},
            ("strategy overcooling + held_back_ventilation.turnover: cannot use '0.05 hours'. Use "
            "a value from 0.1 hours to 48 hours."),
        ),
        (
            # A setpoint of the strategy is checked as ever.
            OWN.overcooling + OWN.held_back_ventilation, {"overcool_by": 4.0},
            ("strategy overcooling: it cools the room to 20.2 °C (68.5 °F) and heats it at 20.0 °C (68.0 °F), which would be hidden reheat. Use a room of 20.5 °C (68.9 °F) or more, one deadband above the heating setpoint."),
        ),
        (
            OWN.overcooling + OWN.set_back, {"away": 4.0},
            ("strategy overcooling + set_back: unknown setpoint 'away'. Use one of "
            "'cooling_setpoint', 'heating_setpoint', 'deadband', 'second_stage_at', 'target_rh', "
            "'humidity_deadband', 'overcool_by', 'cooling_set_back', 'heating_set_back'."),
        ),
    ],
)  # fmt: skip
def test_setpoints_that_cannot_be(
    strategy: ms.Strategy, settings: dict[str, Any], text: str
) -> None:
    assert sentence(lambda: strategy(**settings)) == text


@ms.strategy
def own(readings: Any, memory: Any, *, on_above: ms.units.DegC = 25.0) -> Any:
    """A strategy of a notebook: no setpoint of the usual names."""
    memory[15] = readings.temperature
    return ms.Calls(cooling=1.0 if readings.temperature > on_above else 0.0)


@ms.addition
def clashes(readings: Any, memory: Any, *, on_above: ms.units.Percent = 25.0) -> Any:
    return readings


def test_sums_that_cannot_be() -> None:
    assert sentence(lambda: own + OWN.dew_point_control) == (
        "strategy own + dew_point_control: no setpoint target_rh in own. Use a strategy with the "
        "setpoint target_rh, which dew_point_control works on."
    )
    assert sentence(lambda: BLIND + OWN.set_back + OWN.slower_airflow + OWN.set_back) == (
        "strategy temperature_only + set_back + slower_airflow + set_back: set_back twice. Use "
        "set_back once."
    )
    assert sentence(lambda: own + clashes) == (
        "strategy own + clashes.on_above: percent in clashes and degC in own. Use one unit, "
        "since a setpoint of the same name is the same setpoint."
    )
    assert sentence(lambda: OWN.overcooling + OWN.slower_airflow(target_rh=45)) == (
        "strategy overcooling + slower_airflow.target_rh: 45 in slower_airflow and 55 in "
        "overcooling. Use one value, since a setpoint of the same name is the same setpoint."
    )
    assert sentence(lambda: OWN.slower_airflow(slow_down_to=0.5)) == (
        "addition slower_airflow: unknown setpoint 'slow_down_to'. Did you mean 'slow_down_by'? "
        "Other choices: 'target_rh', 'humidity_deadband'."
    )
    with pytest.raises(TypeError):
        3 + OWN.set_back


def test_signatures_that_are_no_addition() -> None:
    def no_memory(readings: Any, calls: Any) -> Any: ...

    def positional(readings: Any, memory: Any, calls: Any, much: float = 1.0) -> Any: ...

    def without_default(readings: Any, memory: Any, *, much: float) -> Any: ...

    for function in (no_memory, positional):
        assert sentence(lambda function=function: ms.addition(function)).endswith(
            "Use a function of (readings, memory, *, setpoints with defaults) or of (readings, "
            "memory, calls, *, setpoints with defaults)."
        )
    assert sentence(lambda: ms.addition(without_default)) == (
        "addition without_default.much: cannot use 'much: float'. Use a keyword-only setpoint "
        "(after *) with a default."
    )


# --- Together -----------------------------------------------------------------------------------


def test_a_sum_is_a_strategy_with_the_setpoints_of_all() -> None:
    both = OWN.overcooling(target_rh=48) + OWN.slower_airflow + OWN.set_back
    assert both.name == "overcooling + slower_airflow + set_back"
    assert isinstance(both, ms.Strategy)
    assert both.settings == {
        **OWN.overcooling.settings, "target_rh": 48.0,
        "slow_down_by": 0.2, "cooling_set_back": 4.5, "heating_set_back": 6.0,
    }  # fmt: skip
    assert both.units["cooling_set_back"] == "delta_degC"
    assert both.base == OWN.overcooling(target_rh=48)
    assert [a.name for a in both.additions] == ["slower_airflow", "set_back"]
    assert (OWN.overcooling.base, OWN.overcooling.additions) == (OWN.overcooling, ())
    with pytest.raises(AttributeError):
        both.name = "other"
    # Whichever way a setpoint was changed.
    assert both(target_rh=50, cooling_set_back="4 K") == (
        OWN.overcooling(target_rh=50) + OWN.slower_airflow + OWN.set_back(cooling_set_back="4 K")
    )
    assert both != OWN.overcooling(target_rh=48) + OWN.set_back + OWN.slower_airflow
    assert both.compiled is (OWN.overcooling + OWN.slower_airflow + OWN.set_back).compiled
    assert both.compiled.nopython_signatures == [SIGNATURE]


@ms.strategy
def marks_all_its_memory(readings: Any, memory: Any, *, mark: float = 1.0) -> Any:
    for i in range(len(memory)):
        memory[i] = mark
    return ms.Calls(cooling=readings.month, fan=readings.day)


@ms.addition
def adds_to_readings(readings: Any, memory: Any, *, one: float = 1.0, mark_1: float = 2.0) -> Any:
    for i in range(len(memory)):
        memory[i] = mark_1
    return readings._replace(month=readings.month + one)


@ms.addition
def doubles_readings(readings: Any, memory: Any, *, two: float = 2.0, mark_2: float = 3.0) -> Any:
    for i in range(len(memory)):
        memory[i] = mark_2
    return readings._replace(month=two * readings.month, day=1)


@ms.addition
def adds_to_calls(
    readings: Any, memory: Any, calls: Any, *, mark_3: float = 4.0, one: float = 9.0
) -> Any:
    for i in range(len(memory)):
        memory[i] = mark_3
    return calls._replace(cooling=calls.cooling + one, reheat=readings.month)


@ms.addition
def doubles_calls(
    readings: Any, memory: Any, calls: Any, *, two: float = 9.0, mark_4: float = 5.0
) -> Any:
    for i in range(len(memory)):
        memory[i] = mark_4
    return calls._replace(cooling=two * calls.cooling)


def test_order_memory_and_shared_setpoints() -> None:
    """Readings in their order, the strategy, calls in their order, whatever stands between; each on
    memory of its own. (3 + 1) x 2 = 8 is seen, (8 + 1) x 2 = 18 called."""
    whole = (
        marks_all_its_memory + adds_to_calls + adds_to_readings + doubles_readings + doubles_calls
    )
    # The value of the first that has it: `adds_to_calls` brought `one`.
    assert (whole.settings["one"], whole.settings["two"]) == (9.0, 2.0)
    control = Control(whole(one=1.0), month=3.0, day=200.0)
    got = control()
    assert (got.cooling, got.reheat, got.fan) == (18.0, 8.0, 1.0)
    assert whole.memory_size == 16 + 4 * 4
    assert control.memory.tolist() == [1.0] * 16 + [4.0] * 4 + [2.0] * 4 + [3.0] * 4 + [5.0] * 4


def test_a_field_that_is_none_is_refused_as_in_python() -> None:
    @ms.addition
    def misspells(readings: Any, memory: Any, calls: Any) -> Any:
        return calls._replace(coling=1.0)

    assert sentence(lambda: (own + misspells).compiled).startswith(
        "addition misspells: cannot use \"ValueError: Got unexpected field names: ['coling']\". Use "
    )


def test_an_addition_that_numba_cannot_compile() -> None:
    @ms.addition
    def by_a_name(readings: Any, memory: Any, *, much: float = 2.0) -> Any:
        return readings._replace(month=much * len(f"{readings.month:.0f}"))

    with pytest.warns(UserWarning, match="addition by_a_name is called by the interpreter"):
        control = Control(marks_all_its_memory + by_a_name, month=11.0)
        assert control().cooling == 4.0


def test_four_together_in_one_run() -> None:
    """Staged reheat by dew point, ventilation held back, set back between stays: all at work, and
    the balances close."""
    strategy = (
        OWN.staged_reheat + OWN.dew_point_control + OWN.held_back_ventilation + OWN.set_back
    )(target_dew_point="56 degF")
    let = house(occupancy=ms.Occupancy(stays=["07-08 to 07-11", "07-14 to 07-16"]))
    run = {"start": "07-08", "end": "07-16", "spin_up": "1 day"}
    season, plain = (
        ms.simulate(let, machines(), s, sample("miami"), **run) for s in (strategy, strategy.base)
    )
    assert (season.balance["relative"].abs() < 1e-9).all()
    assert season.memory.shape[1] == 28
    assert season.meter.runtime_h["reheat"] > 1.0
    held = season.hourly["ventilation_m3"] / plain.hourly["ventilation_m3"]
    assert held.min() < 0.9
    empty = season.hourly["occupied_h"] == 0.0
    # Drying goes on, as with the home setpoint, but heat alone no longer calls.
    assert season.hourly.loc[empty, "indoor_temperature_C"].mean() > (
        plain.hourly.loc[empty, "indoor_temperature_C"].mean() - 2.0
    )


def test_compiled_and_uncompiled_controls_agree() -> None:
    """Every addition on its own strategy through random readings."""
    random = np.random.default_rng(6)
    strategies = {name: OWN.staged_reheat + addition for name, addition in OWN.ADDITIONS.items()}
    everything = OWN.staged_reheat
    for addition in OWN.ADDITIONS.values():
        everything += addition
    for strategy in (*strategies.values(), everything):
        control, memory = Control(strategy), np.zeros(strategy.memory_size)
        called = set()
        for _ in range(300):
            readings = {
                "temperature": random.uniform(18.0, 30.0),
                "relative_humidity": random.uniform(40.0, 70.0),
                "dew_point": random.uniform(10.0, 18.0),
                "outdoor_dew_point": random.uniform(10.0, 25.0),
                "occupied": float(random.integers(2)),
                "cooling_stage": float(random.integers(3)),
            }
            got = control(**readings)
            seen, calls = ms.Readings(**{**control.always, **readings}), None
            slots = range(16, 16 + 4 * len(strategy.additions), 4)
            placed = [*zip(strategy.additions, slots, strict=True)]
            for addition, slot in placed:
                if addition.changes == "readings":
                    seen = addition.function(seen, memory[slot : slot + 4], **addition.settings)
            calls = strategy.base.function(seen, memory[:16], **strategy.base.settings)
            for addition, slot in placed:
                if addition.changes == "calls":
                    calls = addition.function(
                        seen, memory[slot : slot + 4], calls, **addition.settings
                    )
            assert tuple(got) == tuple(calls)
            assert control.memory.tolist() == memory.tolist()
            called.add(tuple(got))
        assert len(called) > 5


def test_additions_refuse_nothing_by_themselves() -> None:
    """Runs in which the strategy alone is refused nothing for airflow or installation: nor with
    an addition, at the least flow that a stage may have."""
    low = ms.Stage(capacity="8000 Btu/h", airflow="310 cfm")
    slow = ms.Cooling(stages=[low, ms.Stage(capacity="30000 Btu/h", airflow="900 cfm")])
    for addition in (OWN.slower_airflow(slow_down_by=0.5), OWN.held_back_ventilation):
        season = ms.simulate(
            house(), machines(cooling=slow), BLIND + addition, stretch("miami", 190, 6),
            spin_up="1 day",
        )  # fmt: skip
        refused = season.meter.refused
        assert refused["low_airflow"] == refused["not_installed"] == 0
        assert season.meter.runtime_h["cooling_stage_1"] > 1.0


def test_less_air_dries_more_per_hour_of_cooling() -> None:
    """A slower blower makes a colder coil: the mean humidity of the same days falls."""
    plain, slowed = (
        ms.simulate(house(), machines(), s, stretch("miami", 190, 9), spin_up="2 day")
        for s in (BLIND, (BLIND + OWN.slower_airflow)(target_rh=45, slow_down_by=0.3))
    )
    dew = [x.hourly["indoor_humidity_ratio"].mean() for x in (plain, slowed)]
    print(f"mean humidity ratio {dew[0]:.5f}, slowed {dew[1]:.5f}")
    assert dew[1] < dew[0]
    assert slowed.hourly["airflow_fraction"].mean() != plain.hourly["airflow_fraction"].mean()
