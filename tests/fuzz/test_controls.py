"""Every setting of every control, and every token of a rule."""

from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.careless import misspelled, nonsense, quantities
from support.damaged import damaged
from support.fuzz_rule import check_season, examples, tried
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.controls.rules.sentences import _CALLS, FIELDS, READINGS

CONTROLS = {**ms.strategies.BUILT_IN, **ms.strategies.ADDITIONS}


def run(strategy: ms.Strategy) -> None:
    """Two days of a house with every machine, checked."""
    check_season(ms.simulate(house(), machines(), strategy, stretch("miami", 300, 2), spin_up=0))


@pytest.mark.parametrize("name", CONTROLS)
@examples(8)
@given(data=st.data())
def test_any_setting(name: str, data: st.DataObject) -> None:
    control = CONTROLS[name]
    settings: dict[str, Any] = {}
    few = data.draw(st.integers(1, 3))
    for key in data.draw(st.lists(st.sampled_from([*control.settings]), max_size=few, unique=True)):
        declared = control.declared[key]
        limits = {} if declared.limits is None else declared.limits._asdict()
        field = SimpleNamespace(
            metadata={"unit": declared.unit, "limits": limits}, default=control.settings[key]
        )
        one = st.one_of(quantities(field), quantities(field), nonsense())
        if data.draw(st.integers(0, 9)) == 0:
            key = data.draw(misspelled(key))
        settings[key] = data.draw(one)

    def use() -> None:
        made = control(**settings)
        run(made if isinstance(made, ms.Strategy) else ms.strategies.staged_reheat + made)

    tried("settings", f"{name}(**{settings})", use, [name])


# ------------------------------------------------------------------ rules

ROWS: tuple[dict[str, Any], ...] = (
    {"name": "thermostat", "do": "cooling stage 1", "when": "temperature > cooling setpoint + 1 degF",
     "release_when": ["temperature < cooling setpoint - 1 degF", "message age > 15 min"]},
    {"name": "drying", "do": "cooling stage 2", "when": ["humidity > 54 %", "occupied"], "for": "5 min",
     "within": ["22:30 to 06:00", "November to May", "while thermostat is off"],
     "release_when": "humidity < 50 %", "at_most": "2 hour"},
    {"do": "strips stage 1", "when": "temperature below 73.1 degF",
     "release_when": "temperature > 74.1 degF", "within": "while drying is on"},
    {"do": "ventilation at 30 %", "when": "outdoor dew point > dew point + 2 K",
     "release_when": ["outdoor dew point <= dew point", "message age > 15 min"]},
    {"do": "slow the blower by 20 %", "when": "rh at least 50 %", "release_when": "rh < 45 %"},
    {"do": "hot gas at 50 %", "when": "cooling minutes > 20", "release_when": "temperature above 77 F"},
)  # fmt: skip
WORDS = [*READINGS, *(words for words, _, _ in _CALLS), "cooling setpoint", "heating setpoint"]
UNITS = ("%", "degC", "F", "K", "min", "s", "h", "cfm", "pint/day", "percent", "")


@st.composite
def rules(draw: st.DrawFn) -> Any:
    """A table of rules in which one or two things are wrong."""
    more = draw(st.lists(st.sampled_from(range(1, len(ROWS))), max_size=3, unique=True))
    rows: Any = [dict(ROWS[k]) for k in [0, *sorted(more)]]
    if 1 not in more:
        rows = [row for row in rows if row.get("within") != "while drying is on"]
    for _ in range(draw(st.integers(1, 2))):
        row = draw(st.sampled_from(rows))
        key = draw(st.sampled_from([*row]))
        how = draw(st.integers(0, 11))
        if how == 0:
            del row[key]
        elif how == 1:
            row[draw(misspelled(key))] = row.pop(key)
        elif how == 2:
            row[key] = draw(nonsense())
        elif how == 3:
            row[draw(st.sampled_from(FIELDS))] = row[key]
        elif how == 4:
            words, unit = draw(st.sampled_from(WORDS)), draw(st.sampled_from(UNITS))
            sign = draw(st.sampled_from([">", "<", ">=", "above", "at most", "=", "<>"]))
            number = draw(st.sampled_from(["54", "0.54", "-3", "1e9", "75", "1,000", "", "5e-324"]))
            row[key] = f"{words} {sign} {number} {unit}".strip()
        elif how == 5:
            row[key] = f"{draw(st.sampled_from(WORDS))} > {draw(st.sampled_from(WORDS))}"
        elif how == 6:
            row[key] = draw(st.sampled_from(WORDS))
        elif isinstance(row[key], list):
            k = draw(st.integers(0, len(row[key]) - 1))
            row[key] = [*row[key][:k], draw(damaged(row[key][k])), *row[key][k + 1 :]]
        else:
            row[key] = draw(damaged(row[key]))
        if not row:
            break
    if draw(st.integers(0, 29)) == 0:
        rows = draw(st.sampled_from([[], {}, "rules", None, [None], rows * 40, [rows], rows[0]]))
    return rows


@examples(120)
@given(
    rows=rules(),
    points=st.sampled_from([{"cooling_setpoint": "75 degF"}] * 4 + [{}, {"cooling_setpoint": 75}]),
)
def test_any_rule(rows: Any, points: dict[str, Any]) -> None:
    def use() -> None:
        run(ms.rule_table(rows, **points))

    tried("rules", f"{rows} {points}", use, ["rule_table", "strategy rules"])
