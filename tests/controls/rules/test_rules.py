"""Rule tables: sentences read and refused, and what the rows do, held to states worked by hand and
to a second, slow interpreter that reads the same rules without the compiled one's tables."""

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.controls import any_rule_table
from support.houses import house
from support.machines import machines
from support.values import floats
from support.weathers import sample

import moistsim as ms
from moistsim.controls.rules import interpreter
from moistsim.controls.rules.interpreter import Output
from moistsim.controls.rules.rows import READING_UNITS, SETPOINTS, Condition
from moistsim.controls.rules.rules import RuleTable
from moistsim.controls.rules.sentences import READINGS
from moistsim.controls.strategies import staged_reheat

BASE = dict.fromkeys(ms.Readings._fields, 0.0) | {"step_minutes": 1.0, "hour": 12.0, "month": 7.0}
DRY = {
    "do": "dehumidifier",
    "when": "humidity > 54 %",
    "release_when": "humidity < 50 %",
}


class Control:
    """A rule table with its memory, step after step."""

    def __init__(self, *rows: dict[str, Any], **given: Any) -> None:
        self.table = ms.rule_table(list(rows), **given)
        self.memory = np.zeros(self.table.memory_size)
        self.settings = self.table.packed_settings

    def __call__(self, **readings: float) -> Any:
        return interpreter.interpret(ms.Readings(**BASE | readings), self.memory, self.settings)

    def over(self, name: str, values: list[float], output: str = "dehumidifier") -> list[float]:
        return [getattr(self(**{name: value}), output) for value in values]


# ------------------------------------------------------------------------- states by hand


def test_latch_under_chatter() -> None:
    control = Control(DRY)
    # At 54 % it is not yet above, at 50 % not yet below.
    assert control.over("relative_humidity", [54, 54.1, 53.9, 54.1, 50, 49.9, 54, 49.9]) == [
        0, 1, 1, 1, 1, 0, 0, 0,
    ]  # fmt: skip
    assert control.over("relative_humidity", [56, 49] * 4) == [1, 0] * 4
    assert control.over("relative_humidity", [52, 56, 52, 56, 52]) == [0, 1, 1, 1, 1]


@pytest.mark.parametrize("point", ["cooling setpoint", "cooling set point", "Cooling set-point"])
@pytest.mark.parametrize("offset", ["2 F", "2 °F", "2 degF", "2F"])
def test_what_people_type_is_read(point: str, offset: str) -> None:
    row = {"do": "cooling stage 1", "when": f"the temperature > {point} + {offset}",
           "release_when": "room temperature < 75 F"}  # fmt: skip
    table = ms.rule_table([row], cooling_setpoint="76 °F")
    assert table.settings == {
        "cooling_setpoint": pytest.approx(44.0 / 1.8),
        "row 1 when": pytest.approx(2.0 / 1.8),
        "row 1 release": pytest.approx(43.0 / 1.8),
    }


def test_at_least_counts_the_threshold_itself() -> None:
    control = Control({**DRY, "when": "humidity >= 54 %", "release_when": "humidity at most 50 %"})
    assert control.over("relative_humidity", [53.999, 54, 50.001, 50]) == [0, 1, 1, 0]


def test_a_list_of_conditions_begins_a_call_together_and_does_not_end_it() -> None:
    control = Control(
        {**DRY, "when": ["humidity > 54 %", "temperature > 23 degC"],
         "release_when": ["humidity < 50 %", "temperature < 22 degC"]}
    )  # fmt: skip
    rooms = [(56, 22.5), (53, 24), (56, 23.5), (53, 22.5), (53, 21.9), (56, 22.5), (56, 23.1)]
    calls = [control(relative_humidity=rh, temperature=t).dehumidifier for rh, t in rooms]
    assert calls == [0, 0, 1, 1, 0, 0, 1]
    assert set(control.table.settings) == {
        "row 1 when 1", "row 1 when 2", "row 1 release 1", "row 1 release 2",
    }  # fmt: skip


def test_for_begins_anew() -> None:
    control = Control({**DRY, "for": "3 min"})
    wet, dry = 56.0, 53.0
    assert control.over("relative_humidity", [wet] * 3 + [dry] + [wet] * 5) == [0] * 7 + [1, 1]
    # Once made it does not wait again until it has been released.
    assert control.over("relative_humidity", [dry, wet, 49, wet, wet, wet, wet]) == [
        1, 1, 0, 0, 0, 0, 1,
    ]  # fmt: skip


@pytest.mark.parametrize(("step", "first"), [(0.5, 6), (1.0, 3), (2.0, 2), (15.0, 1)])
def test_for_is_a_time_and_not_a_count_of_steps(step: float, first: int) -> None:
    control = Control({**DRY, "for": "3 min"})
    calls = [control(relative_humidity=60, step_minutes=step).dehumidifier for _ in range(10)]
    assert calls == [0.0] * first + [1.0] * (10 - first)


def test_release_wins_over_when() -> None:
    control = Control({**DRY, "release_when": ["humidity < 50 %", "temperature < 20 degC"]})
    cold, warm = {"temperature": 19.0}, {"temperature": 21.0}
    assert [control(relative_humidity=60, **t).dehumidifier for t in (cold, warm, cold, warm)] == [
        0, 1, 0, 1,
    ]  # fmt: skip
    timed = Control(
        {**DRY, "for": "2 min", "release_when": ["humidity < 50 %", "temperature < 20 degC"]}
    )
    calls = [
        timed(relative_humidity=60, **t).dehumidifier for t in (warm, warm, cold) + (warm,) * 3
    ]
    assert calls == [0, 0, 0, 0, 0, 1]


def test_longest_call() -> None:
    control = Control({**DRY, "at_most": "3 min"})
    wet = 60.0
    assert control.over("relative_humidity", [wet] * 6) == [1, 1, 1, 0, 0, 0]
    # It is made anew only after its condition has been false once.
    assert control.over("relative_humidity", [54, wet, wet, wet, wet]) == [0, 1, 1, 1, 0]
    # One that was released in time has not been too long.
    assert control.over("relative_humidity", [49, wet, 49, wet, wet, wet, wet]) == [
        0, 1, 0, 1, 1, 1, 0,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("window", "inside", "outside"),
    [
        ("22:00 to 06:00", [22, 23.99, 0, 5.99], [6, 12, 21.99]),
        ("10 pm to 6 am", [22, 23.99, 0, 5.99], [6, 12, 21.99]),
        ("12 am to 12:30 PM", [0, 12.49], [12.5, 23.9]),
        ("08:30 to 17:00", [8.5, 16.99], [8.49, 17, 0, 23.9]),
        ("18:00 to 24:00", [18, 23.99], [0, 17.9]),
    ],
)
def test_hours(window: str, inside: list[float], outside: list[float]) -> None:
    control = Control({**DRY, "within": window})
    for hour in inside:
        assert control(relative_humidity=60, hour=hour).dehumidifier == 1.0
    for hour in outside:
        assert control(relative_humidity=60, hour=hour).dehumidifier == 0.0


@pytest.mark.parametrize(
    ("window", "inside"),
    [
        ("May to October", {5, 6, 7, 8, 9, 10}),
        ("november to february", {11, 12, 1, 2}),
        ("July", {7}),
        ("January to December", set(range(1, 13))),
        ("October to September", set(range(1, 13))),
    ],
)
def test_months(window: str, inside: set[int]) -> None:
    control = Control({**DRY, "within": window})
    on = {m for m in range(1, 13) if control(relative_humidity=60, month=m).dehumidifier}
    assert on == inside


def test_outside_its_window_a_row_ends_and_must_be_made_anew() -> None:
    control = Control({**DRY, "within": ["22:00 to 06:00", "May to October"], "for": "1 min"})
    steps = [(23, 60), (23, 60), (23, 52), (7, 52), (23, 52), (23, 60), (23, 60)]
    calls = [control(hour=h, relative_humidity=rh).dehumidifier for h, rh in steps]
    assert calls == [0, 1, 1, 0, 0, 0, 1]


HEAT = {"do": "heating", "when": "temperature < 20 degC", "release_when": "temperature > 21 degC"}
COOL = {"do": "cooling stage 1", "when": "temperature > 25 degC",
        "release_when": "temperature < 24 degC"}  # fmt: skip


def test_while_sees_rows_above_now_and_rows_below_as_they_were() -> None:
    above = Control(HEAT, {**DRY, "within": "while heating is on"})
    below = Control({**DRY, "within": "while heating is on"}, HEAT)
    temperatures = [22.0, 19.0, 19.0, 22.0, 22.0]
    calls = [
        [control(temperature=t, relative_humidity=60).dehumidifier for t in temperatures]
        for control in (above, below)
    ]
    assert calls == [[0, 1, 1, 0, 0], [0, 0, 1, 1, 0]]
    off = Control(HEAT, {**DRY, "within": "while heating is off"})
    assert [off(temperature=t, relative_humidity=60).dehumidifier for t in temperatures] == [
        1, 0, 0, 1, 1,
    ]  # fmt: skip


def test_while_of_a_name_of_a_stage_and_of_any_stage() -> None:
    second = {"do": "cooling stage 2", "when": "temperature > 27 degC",
              "release_when": "temperature < 26 degC", "name": "Much heat"}  # fmt: skip
    cold_start = {
        **second,
        "when": "temperature > 22 degC",
        "release_when": "temperature < 21 degC",
    }
    for words, expected in (
        ("while much heat is on", [1, 1]),
        ("while cooling stage 2 is on", [1, 1]),
        ("while cooling stage 1 is on", [0, 1]),
        ("while the cooling is on", [1, 1]),
    ):
        control = Control(COOL, cold_start, {**DRY, "within": words})
        calls = [control(temperature=t, relative_humidity=60).dehumidifier for t in (23.0, 26.0)]
        assert calls == expected, words


def test_order_decides_between_rows_that_exclude_each_other() -> None:
    strips = {"do": "strips stage 1", "when": "humidity > 54 %", "release_when": "humidity < 50 %"}
    first = Control({**DRY, "within": "while strips are off"},
                    {**strips, "within": "while dehumidifier is off"})  # fmt: skip
    calls = first(relative_humidity=60)
    assert (calls.dehumidifier, calls.reheat) == (1.0, 0.0)
    other = Control({**strips, "within": "while dehumidifier is off"},
                    {**DRY, "within": "while strips are off"})  # fmt: skip
    calls = other(relative_humidity=60)
    assert (calls.dehumidifier, calls.reheat) == (0.0, 1.0)


def always(do: str, when: str = "temperature > 0 degC") -> dict[str, str]:
    return {"do": do, "when": when, "release_when": "temperature < -5 degC"}


def test_highest_call_counts_and_lowest_of_ventilation_and_speed() -> None:
    control = Control(
        *map(always, (
            "cooling stage 2", "cooling stage 1", "strips stage 1", "strips stage 2", "heating",
            "heating with strips", "dehumidifier", "blower", "blower at 80 %", "blower at 60 %",
            "slow the blower by 10 %", "slow the blower by 20 %", "ventilation at 150 %",
            "ventilation at 30 %", "hot gas at 50 %", "hot gas at 20 %",
        ))
    )  # fmt: skip
    assert control(temperature=20.0)._asdict() == {
        "cooling": 2.0, "reheat": 2.0, "heating": 2.0, "dehumidifier": 1.0, "fan": 1.0,
        "airflow": 0.6, "ventilation": 0.3, "hot_gas": 0.5, "slow_down": 0.2,
    }  # fmt: skip
    assert control(temperature=-10.0) == ms.Calls()
    more = Control(always("ventilation at 150 %"), always("hot gas"), always("blower at 70 %"))
    calls = more(temperature=20.0)
    assert (calls.ventilation, calls.hot_gas, calls.airflow, calls.fan) == pytest.approx(
        (1.5, 1.0, 0.7, 0.0)
    )


@pytest.mark.parametrize("words", list(READINGS))
def test_each_reading_is_seen_by_its_words(words: str) -> None:
    field = READINGS[words]
    unit = {"percent": " %", "degC": " degC"}.get(READING_UNITS.get(field, ""), "")
    # A time in minutes has no unit here, nor has a share of full airflow.
    control = Control({**DRY, "when": f"{words} > 7.5{unit}", "release_when": f"{words} < 7{unit}"})
    others = dict.fromkeys(set(ms.Readings._fields) - {field, "step_minutes"}, 100.0)
    assert control(**others, **{field: 7.4}).dehumidifier == 0.0
    assert control(**others, **{field: 7.6}).dehumidifier == 1.0
    assert control(**{field: 7.1}).dehumidifier == 1.0
    assert control(**others, **{field: 6.9}).dehumidifier == 0.0


def test_two_readings_with_an_offset() -> None:
    control = Control({"do": "ventilation at 0 %", "when": "outdoor dew point above dew point + 2 K",
                       "release_when": "outdoor dew point < dew point - 0.9 degF"})  # fmt: skip
    states = [(14, 12), (14.1, 12), (13, 12), (11.51, 12), (11.49, 12)]
    calls = [control(outdoor_dew_point=o, dew_point=i).ventilation for o, i in states]
    assert calls == [1, 0, 0, 0, 1]


def test_setpoints_move_rows_and_are_set_back_with_the_thermostat() -> None:
    row = {**COOL, "when": "temperature > cooling setpoint + 1 K",
           "release_when": "temperature < cooling setpoint"}  # fmt: skip
    control = Control(row, cooling_setpoint="24 degC")
    assert control.over("temperature", [25, 25.1, 24, 23.9], "cooling") == [0, 1, 1, 0]
    warmer = Control(row, cooling_setpoint=26)
    assert warmer.over("temperature", [27, 27.1, 26, 25.9], "cooling") == [0, 1, 1, 0]
    assert control(temperature=26.0, cooling_set_back=3.0).cooling == 0.0
    heat = Control({**HEAT, "when": "temperature < heating setpoint",
                    "release_when": "temperature > heating setpoint + 1 K"}, heating_setpoint=20)  # fmt: skip
    assert heat(temperature=19.0, heating_set_back=2.0).heating == 0.0
    assert heat(temperature=19.0).heating == 1.0


def test_occupied_is_a_condition() -> None:
    control = Control({**DRY, "when": "occupied", "release_when": "not occupied"})
    assert control.over("occupied", [0, 1, 1, 0]) == [0, 1, 1, 0]


# --------------------------------------------------------------------- the table as a strategy


def test_settings_are_what_can_be_varied() -> None:
    table = ms.rule_table(
        [
            {**DRY, "for": "5 min", "name": "drying"},
            {"do": "blower at 60 %", "when": "outdoor temperature > temperature + 1 degF",
             "release_when": ["outdoor temperature < temperature", "airflow > 90 %"],
             "at_most": "1 hour"},
        ],
        cooling_setpoint="75 degF",
    )  # fmt: skip
    assert table.settings == pytest.approx({
        "cooling_setpoint": 43.0 / 1.8, "drying when": 54.0, "drying release": 50.0,
        "drying for": 300.0, "row 2 at": 0.6, "row 2 when": 1.0 / 1.8, "row 2 release 1": 0.0,
        "row 2 release 2": 0.9, "row 2 at most": 3600.0,
    })  # fmt: skip
    changed = table(**{"drying when": "60 %", "row 2 at": "50 %", "row 2 when": "2 degF"})
    assert isinstance(changed, RuleTable)
    assert changed.settings["drying when"] == 60.0
    assert changed.settings["row 2 when"] == pytest.approx(2.0 / 1.8)
    control = Control(DRY)
    control.settings = ms.rule_table([DRY])(**{"row 1 when": 60.0}).packed_settings
    assert control.over("relative_humidity", [59, 61, 51, 49]) == [0, 1, 1, 0]
    for wrong in ({"row 2 at": 1.2}, {"drying for": -1.0}, {"row 2 at most": 0.0},
                  {"cooling_setpoint": 60.0}, {"row 9 when": 1.0}):  # fmt: skip
        with pytest.raises(ms.InputError, match=next(iter(wrong))):
            table(**wrong)


def test_a_frame_gives_the_same_table() -> None:
    rows = [{**DRY, "name": "drying", "for": "5 min"}, {**HEAT, "within": "while drying is on"}]
    assert ms.rule_table(pd.DataFrame(rows)) == ms.rule_table(rows)


def test_one_function_for_all_tables() -> None:
    assert ms.rule_table([DRY]).compiled is ms.rule_table([HEAT, COOL]).compiled


def staged_rows() -> list[dict[str, Any]]:
    """The built-in reheat in rows, with numbers of our own: 50, 54 and 58 percent, strips about
    73.6 degF with a deadband of 1 degF."""
    return [
        {"name": "thermostat", "do": "cooling stage 1",
         "when": "temperature > cooling setpoint + 0.25 K",
         "release_when": "temperature < cooling setpoint - 0.25 K"},
        {"do": "cooling stage 2", "when": "temperature > cooling setpoint + 1.2 K",
         "release_when": "temperature < cooling setpoint", "within": "while thermostat is on"},
        {"name": "heat", "do": "heating", "when": "temperature < heating setpoint - 0.25 K",
         "release_when": "temperature > heating setpoint + 0.25 K"},
        {"do": "heating with strips", "when": "temperature < heating setpoint - 1.5 K",
         "release_when": "temperature > heating setpoint - 0.3 K", "within": "while heat is on"},
        {"name": "drying", "do": "cooling stage 1", "when": "humidity > 54 %",
         "release_when": "humidity < 50 %", "within": "while heating is off"},
        {"do": "cooling stage 2", "when": "humidity > 58 %", "release_when": "humidity < 54 %",
         "within": "while drying is on"},
        {"do": "strips stage 1", "when": "temperature < 73.1 degF",
         "release_when": "temperature > 74.1 degF", "within": "while drying is on"},
        {"do": "strips stage 2", "when": "temperature < 72.1 degF",
         "release_when": "temperature > 73.1 degF", "within": "while drying is on"},
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("place", "start", "end"), [("miami", "03-01", "10-31"), ("greensboro", "01-01", "12-31")]
)
def test_staged_reheat_in_rows_is_the_built_in_to_the_last_bit(
    place: str, start: str, end: str
) -> None:
    table = ms.rule_table(staged_rows(), cooling_setpoint="76 degF", heating_setpoint="68 degF")
    built_in = staged_reheat(
        cooling_setpoint="76 degF", heating_setpoint="68 degF", target_rh=54, enable_over=-4,
        stage_1_on=0, stage_1_off=-4, stage_2_on=4, stage_2_off=0,
        reheat_below="2.4 degF", reheat_deadband="1 degF", second_strip_below="1 degF",
    )  # fmt: skip
    # A leaky house with small machines and smaller strips, so that every row acts.
    home = house(ach50=9.0)
    plant = machines(
        cooling=ms.Cooling(
            stages=[
                ms.Stage(capacity="8000 Btu/h", airflow="250 cfm"),
                ms.Stage(capacity="14000 Btu/h", airflow="420 cfm"),
            ]
        ),
        heating=ms.HeatPump(capacity="14000 Btu/h"),
        strips=ms.Strips(stages=["1 kW", "1 kW"]),
    )
    rows, written = (
        ms.simulate(home, plant, control, sample(place), start=start, end=end)
        for control in (table, built_in)
    )
    pd.testing.assert_frame_equal(rows.hourly, written.hourly, check_exact=True)
    ran = ["cooling_stage_1_h", "cooling_stage_2_h", "reheat_kWh"]
    ran += ["heat_pump_h", "backup_heat_h"] if place == "greensboro" else []
    assert (rows.hourly[ran].sum() > 1.0).all()
    # More than one stage of 1 kW gives in an hour.
    assert rows.hourly["reheat_kWh"].max() > 1.0


# ------------------------------------------------------------------- random tables and readings


@st.composite
def days(draw: st.DrawFn) -> list[ms.Readings]:
    """Readings at, between and beyond the thresholds."""
    values = st.sampled_from([4.0, 5.0, 5.5, 6.0, 6.5, 7.0, 7.5, 8.0, 9.0])
    step = draw(st.sampled_from([0.5, 1.0, 2.0]))
    names = list(ms.Readings._fields)
    return [
        ms.Readings(*draw(st.lists(values, min_size=len(names), max_size=len(names))))._replace(
            step_minutes=step
        )
        for _ in range(draw(st.integers(1, 12)))
    ]


class Slowly:
    """The rules of `rule_table`'s notes, row by row on the descriptions, in plain Python."""

    def __init__(self, table: RuleTable) -> None:
        self.table = table
        self.on = [False] * len(table.rows)
        self.spent = [False] * len(table.rows)
        self.since: list[float | None] = [None] * len(table.rows)
        self.clock = 0.0

    def holds(self, it: Condition, readings: ms.Readings) -> bool:
        def read(field: str) -> float:
            if field in SETPOINTS:
                back = readings.cooling_set_back if "cool" in field else -readings.heating_set_back
                return self.table.settings[field] + back
            minutes = field.endswith("minutes") or field == "message_age"
            return float(getattr(readings, field)) * (60.0 if minutes else 1.0)

        difference = read(it.left) - (read(it.right) if it.right else 0.0)
        threshold = self.table.settings[it.key]
        if difference == threshold:
            return it.or_equal
        return (difference > threshold) == it.above

    def step(self, readings: ms.Readings) -> list[bool]:
        settings = self.table.settings
        for k, row in enumerate(self.table.rows):
            when = all(self.holds(it, readings) for it in (row.when, *row.also))
            if not when:
                self.spent[k] = False
            within = all(
                (w.first <= v < w.end) if w.first < w.end else (v >= w.first or v < w.end)
                for w in row.windows for v in [getattr(readings, w.of)]
            ) and all(any(self.on[r] for r in each.rows) == each.on for each in row.whiles)  # fmt: skip
            if self.spent[k] or not within or any(self.holds(r, readings) for r in row.releases):
                self.on[k], self.since[k] = False, None
                continue
            begun = self.since[k]
            if self.on[k]:
                if row.limit and self.clock - (begun or 0.0) >= settings[row.limit]:
                    # Made anew at once if the condition is false already.
                    self.on[k], self.since[k], self.spent[k] = False, None, True
            elif not when:
                self.since[k] = None
            else:
                begun = self.clock if begun is None else begun
                self.since[k] = begun
                if self.clock - begun >= (settings[row.delay] if row.delay else 0.0):
                    self.on[k], self.since[k] = True, self.clock
        self.clock += 60.0 * readings.step_minutes
        return list(self.on)

    def calls(self) -> Any:
        by_output: dict[Output, list[float]] = {output: [] for output in Output}
        for row, on in zip(self.table.rows, self.on, strict=True):
            if on:
                level = self.table.settings[row.share] if row.share else row.level
                by_output[row.output].append(level)
        return ms.Calls(*(
            min(levels, default=1.0 if output == Output.VENTILATION else 0.0)
            if output in (Output.BLOWER_SPEED, Output.VENTILATION) else max(levels, default=0.0)
            for output, levels in by_output.items()
        ))  # fmt: skip


@pytest.mark.slow
@settings(max_examples=300, deadline=None)
@given(table=any_rule_table(), day=days())
def test_random_tables_do_what_the_rules_say(table: RuleTable, day: list[ms.Readings]) -> None:
    slowly, memory, packed = Slowly(table), np.zeros(table.memory_size), table.packed_settings
    for readings in day:
        slowly.step(readings)
        assert table.compiled(readings, memory, packed) == slowly.calls()


@settings(max_examples=100, deadline=None)
@given(table=any_rule_table(), first=st.data())
def test_compiled_is_uncompiled_to_the_bit(table: RuleTable, first: Any) -> None:
    compiled = table.compiled  # before its parts are replaced by plain ones
    with pytest.MonkeyPatch.context() as patch:
        for name in ("_holds", "_may_be_on"):
            function = getattr(interpreter, name)
            patch.setattr(interpreter, name, getattr(function, "py_func", function))
        memories = [np.zeros(table.memory_size) for _ in range(2)]
        for _ in range(6):
            readings = ms.Readings(*(first.draw(floats(-50.0, 50.0)) for _ in ms.Readings._fields))
            fast = compiled(readings, memories[0], table.packed_settings)
            slow = interpreter.interpret(readings, memories[1], table.packed_settings)
            assert fast == slow
            assert memories[0].tobytes() == memories[1].tobytes()


@settings(max_examples=100, deadline=None)
@given(table=any_rule_table())
def test_what_is_written_reads_equal(table: RuleTable) -> None:
    assert ms.rule_table(table.sentences, cooling_setpoint=10.0) == table


# --------------------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"do": "cool stage 1"}, "row 1 do: cannot use 'cool stage 1'. Did you mean 'cooling stage 1'?"),
        ({"do": "blower at 120 %"}, "row 1 do: cannot use 'blower at 120 %'. Use a share above 0 % up to 100 %"),
        ({"do": "slow the blower by 60 %"}, "a share above 0 % up to 50 %"),
        ({"do": "hot gas at 5 K"}, (
            "rule_table row 1 do: cannot read '5 k' as a fraction. Write '75 %' or '0.75'.")),
        ({"do": 3}, "row 1 do: cannot use 3. Use a text in plain words"),
        ({"do": None}, ("rule_table row 1 do: missing. Use what to call, such as 'cooling stage "
                       "1'.")),
        ({"when": "humid > 55 %"}, (
            "rule_table row 1 when: 'humid' is not a reading. Did you mean 'humidity'?")),
        ({"when": "humidity = 55 %"}, "row 1 when: cannot use 'humidity = 55 %'. Use a comparison"),
        ({"when": "humidity > 55 degF"}, (
            "rule_table row 1 when: cannot read '55 degF' as a relative humidity. Write "
            "'55 %'.")),
        ({"when": "temperature > 73 %"}, (
            "rule_table row 1 when: cannot read '73 %' as a temperature. Write '75 F' or "
            "'24 C'.")),
        ({"when": "humidity > dew point"}, "two different readings of one kind"),
        ({"when": "dew point > dew point + 1 K"}, "two different readings of one kind"),
        ({"when": "dew point > outdoor dew point + 3 %"}, (
            "rule_table row 1 when: cannot read '3 %' as a temperature difference. Write "
            "'2 F' or '1 K'.")),
        ({"when": "temperature > cooling setpoint"}, "a cooling_setpoint given beside the rows"),
        ({"release_when": None}, ("rule_table row 1 release_when: missing. Use what ends the "
                                 "call, such as 'humidity < 50 %'.")),
        ({"release_when": []}, "at least one comparison that ends the call"),
        ({"release_when": ["humidity < 50 %", 3]}, (
            "rule_table row 1 release_when: cannot use 3. Use a text in plain words.")),
        ({"for": "5 K"}, ("rule_table row 1 for: cannot read '5 K' as a time. Write '5 min' or "
                         "'300 s'.")),
        ({"for": "-5 min"}, "row 1 for: cannot use -300.0. Use 0 s or more"),
        ({"at_most": 0}, "row 1 at most: cannot use 0.0. Use more than 0 s"),
        ({"within": "22:00 to 22:00"}, "row 1 within: cannot use '22:00 to 22:00'. Use two different hours"),
        ({"within": "22:00 to 25:00"}, "two different hours"),
        ({"within": "22:61 to 23:00"}, "two different hours"),
        ({"within": "13 pm to 14 pm"}, "two different hours"),
        ({"within": "Juli"}, ("rule_table row 1 within: cannot use 'Juli'. Did you mean 'July'? "
                             "Other choices: 'January', 'February', 'March', 'April', 'May', "
                             "'June', 'August', 'September', 'October', 'November', 'December'. "
                             "Or use two different hours such as '22:00 to 06:00', months such a")),
        ({"within": "while dehumidifier is on"}, "while another row is on or off, not the row itself"),
        ({"within": "while heeting is on"}, (
            "rule_table row 1 within: 'while heeting is on' "
            "names no other row or output. Did you mean "
            "'heating'? Other choices: 'warmth', 'dehumidifier'.")),
        ({"within": "while the moon is up"}, "two different hours"),
        ({"name": "heating"}, "row 1 name: cannot use 'heating'. Use a name that no other row has"),
        ({"name": "warmth"}, "row 2 name: cannot use 'Warmth'. Use a name that no other row has"),
        ({"name": 5}, "row 1 name: cannot use 5. Use a word or a few"),
        ({"unless": "x"}, "row 1: cannot use 'unless'. Use one of 'do'"),
        ({"realease_when": "x"}, ("rule_table row 1: cannot use 'realease_when'. Did you mean "
                                 "'release_when'? Other choices: 'do', 'when', 'for', 'within', "
                                 "'at_most', 'name'.")),
    ],
)  # fmt: skip
def test_bad_rows_are_refused_in_one_sentence(change: dict[str, Any], text: str) -> None:
    with pytest.raises(ms.InputError) as refusal:
        ms.rule_table([{**DRY, **change}, {**HEAT, "name": "Warmth"}])
    assert text in str(refusal.value)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("rows", [[], "humidity > 54 %", None, [DRY] * 51, [3], {"do": "heating"}])
def test_what_is_no_list_of_rows_is_refused(rows: Any) -> None:
    with pytest.raises(ms.InputError, match="rule_table"):
        ms.rule_table(rows)


@pytest.mark.parametrize(
    "wrong",
    [
        {"cooling_setpoint": "20 degC", "heating_setpoint": "21 degC"},
        {"cooling_setpoint": math.inf},
        {"cooling_setpoint": "50 %"},
        {"cooling_setpoint": "120 degF"},
    ],
)
def test_setpoints_are_checked(wrong: dict[str, Any]) -> None:
    with pytest.raises(ms.InputError, match="cooling_setpoint"):
        ms.rule_table([DRY], **wrong)


@settings(max_examples=200, deadline=None)
@given(
    text=st.text(max_size=30),
    field=st.sampled_from(["do", "when", "within", "release_when", "for", "name"]),
)
def test_any_text_is_a_row_or_one_sentence(text: str, field: str) -> None:
    try:
        table = ms.rule_table([{**DRY, field: text}])
    except ms.InputError as error:
        assert str(error).startswith("rule_table row 1") or str(error).startswith("strategy rules")
    else:
        assert len(table.rows) == 1
