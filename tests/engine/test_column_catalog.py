"""The catalog: it names all that a step is metered by, and each line agrees with itself."""

import pytest

from moistsim.core.measures import UNITS
from moistsim.engine import State, column_catalog
from moistsim.engine.column_catalog import FLOWS, MEASURES, STATES, Flow, said
from moistsim.engine.metering import REFUSALS, STEP_FIELDS
from moistsim.house import SPACES
from moistsim.season import COLUMNS
from moistsim.season.columns import columns_of

ADDED_UP = {
    "mean": {"degC", "1"},
    "percent": {"1"},
    "hours": {"1", "K"},
    "energy": {"W"},
    "mass": {"kg/s"},
    "volume": {"m3/s"},
    "sum": {"1"},
    "step": {"1", "degC"},
    "end": {"degC", "1", "kg"},
}
"""The units in which a step meters what an hour adds up in each way."""
ENDINGS = {"percent": "_pct", "hours": "_h", "energy": "_kWh", "mass": "_kg", "volume": "_m3"}


def test_a_step_is_metered_by_the_catalog_name_by_name() -> None:
    assert [flow.field for flow in FLOWS] == [*STEP_FIELDS]


def test_states_are_fields_of_the_state() -> None:
    assert {state.field for state in STATES} <= set(State._fields)


@pytest.mark.parametrize("flow", (*FLOWS, *STATES), ids=lambda flow: flow.field)
def test_a_flow_agrees_with_itself(flow: Flow) -> None:
    assert flow.unit in ADDED_UP[flow.how]
    assert flow.column.endswith(ENDINGS.get(flow.how, "_C" if flow.unit == "degC" else ""))
    assert flow.words and flow.words[0].islower() or flow.words.startswith("RH")
    crosses = {"dry_air": "mass", "water": "mass", "energy": "energy"}
    assert not flow.crosses or flow.how == crosses[flow.crosses]
    tagged = flow.source is not None or flow.sink is not None
    assert not tagged or flow.crosses in ("water", "energy"), "a tag without a ledger"


def test_the_catalog_knows_the_spaces_of_a_house() -> None:
    assert (*SPACES,) == column_catalog.SPACES


def test_no_name_stands_twice() -> None:
    for names in (
        [flow.column for flow in (*FLOWS, *STATES)],
        [
            measure.name
            for measure in (
                *MEASURES, *column_catalog.DIFFERENCES,
                *(m for space in SPACES for m in column_catalog.space_measures(space)),
            )
        ],
    ):  # fmt: skip
        assert len(names) == len({*names})


def test_what_a_season_adds_up_is_in_the_hourly_table() -> None:
    known = {*(flow.column for flow in COLUMNS), column_catalog.DEW_POINT}
    stages = ("cooling_stage_{}_h", "cooling_stage_{}_starts", "cooling_stage_1_starts")
    for measure in MEASURES:
        if measure.how != "computed":
            assert {*(measure.columns or (measure.name,))} <= {*known, *stages}, measure.name
        assert not measure.part or measure.part in column_catalog.PARTS


@pytest.mark.parametrize("space", SPACES)
def test_measures_of_a_space_come_from_its_hourly_columns(space: str) -> None:
    known = {flow.column for flow in columns_of((space,))}
    for measure in column_catalog.space_measures(space):
        assert {*measure.columns} <= known and "{}" not in measure.name + measure.label
        assert column_catalog.measure(measure.name) == measure
        assert measure.name.endswith(UNITS[measure.unit].ending)
        assert said(measure.name) is None, "tune and matched hold the house, not a space"


def test_a_measure_in_trade_units_has_its_unit_in_its_name() -> None:
    for measure in (*MEASURES, *column_catalog.DIFFERENCES):
        unit = UNITS[measure.unit]
        if unit.trade:
            assert measure.name.endswith(unit.ending) and unit.ending
            assert measure.trade_name.endswith(unit.trade_ending)


def test_end_uses_are_metered_in_watts() -> None:
    watts = {flow.field for flow in FLOWS if flow.unit == "W"}
    assert {*column_catalog.END_USES} <= watts


@pytest.mark.parametrize("measure", [m for m in MEASURES if m.phrases], ids=lambda m: m.name)
def test_a_measure_is_found_by_its_phrases_and_by_its_name(measure: column_catalog.Measure) -> None:
    for words in (*measure.phrases, measure.name, *(p.upper() for p in measure.phrases)):
        assert said(words) is measure


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("Hours over 60% RH", "hours_over_60"),
        ("hours under the cooling set point", "below_cooling_setpoint_h"),
        ("mean dewpoint", "mean_dew_point_C"),
        ("mean relative humidity", "mean_rh_pct"),
        ("hours above 57 %", None),
        ("dry", None),
    ],
)
def test_what_people_type(words: str, name: str | None) -> None:
    found = said(words)
    assert (found and found.name) == name


def test_refusals_are_sums_of_steps() -> None:
    sums = {flow.field for flow in FLOWS if flow.how == "sum"}
    assert {*REFUSALS} <= sums
