"""The review of rule tables: each planted defect found, and nothing in tables that are good."""

import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from support.controls import any_rule_table
from support.machines import machines

import moistsim as ms
from moistsim.controls.review.deadbands import HUMIDITY_RATE, TEMPERATURE_RATE
from moistsim.controls.rules.rules import RuleTable

AGE = "message age > 15 min"
Rows = dict[str, dict[str, Any]]


def staged() -> Rows:
    """Compressor staged on humidity with strips, as is common practice (no source): good."""
    return {
        "thermostat": {"do": "cooling stage 1", "when": "temperature > cooling setpoint + 1 degF",
                       "release_when": ["temperature < cooling setpoint - 1 degF", AGE]},
        "much heat": {"do": "cooling stage 2", "when": "temperature > 78 degF",
                      "release_when": "temperature < 76 degF", "within": "while thermostat is on"},
        "heat": {"do": "heating", "when": "temperature < heating setpoint - 0.5 K",
                 "release_when": ["temperature > heating setpoint + 0.5 K", AGE]},
        "much cold": {"do": "heating with strips", "when": "temperature < heating setpoint - 1.5 K",
                      "release_when": "temperature > heating setpoint - 0.3 K",
                      "within": "while heat is on"},
        "drying": {"do": "cooling stage 1", "when": "humidity > 54 %", "for": "5 min",
                   "release_when": ["humidity < 50 %", AGE], "within": "while heating is off"},
        "much drying": {"do": "cooling stage 2", "when": "humidity > 58 %",
                        "release_when": "humidity < 54 %", "within": "while drying is on"},
        "reheat": {"do": "strips stage 1", "when": "temperature < 73.1 degF",
                   "release_when": "temperature > 74.1 degF", "within": "while drying is on"},
        "more reheat": {"do": "strips stage 2", "when": "temperature < 72.1 degF",
                        "release_when": "temperature > 73.1 degF", "within": "while drying is on"},
        "air": {"do": "ventilation at 30 %", "when": "outdoor dew point > dew point + 2 K",
                "release_when": ["outdoor dew point < dew point", AGE],
                "within": ["22:00 to 06:00", "May to October"]},
    }  # fmt: skip


def dehumidifier() -> Rows:
    """A thermostat and a dehumidifier by dew point, with ends of several kinds: good."""
    return {
        "cool": {"do": "cooling stage 1", "when": "temperature > 77 degF", "at_most": "4 hour",
                 "release_when": "temperature < 75 degF"},
        "dry": {"do": "dehumidifier", "when": "dew point > 13 degC", "for": "10 min",
                "release_when": ["dew point < 11 degC", "dehumidifier minutes > 120 min"]},
        "slow": {"do": "slow the blower by 20 %", "when": "humidity > 54 %",
                 "release_when": "humidity < 50 %", "within": "while cool is on"},
        "quiet": {"do": "ventilation at 130 %", "when": "outdoor dew point < dew point - 2 K",
                  "release_when": ["outdoor dew point > dew point", AGE]},
    }  # fmt: skip


def by_what_runs() -> Rows:
    """Strips tied to the compressor by what they read, or by the same band: good."""
    return {
        "dry": {"do": "cooling stage 1", "when": "humidity > 54 %",
                "release_when": ["humidity < 50 %", AGE]},
        "reheat": {"do": "strips stage 1", "when": ["cooling stage >= 1", "temperature < 72 degF"],
                   "release_when": ["cooling stage < 1", "temperature > 73 degF", AGE]},
        "more": {"do": "strips stage 2", "when": ["humidity > 57 %", "temperature < 71 degF"],
                 "release_when": ["humidity < 52 %", "temperature > 72 degF", AGE]},
    }  # fmt: skip


def table(rows: Rows) -> RuleTable:
    return ms.rule_table(
        [{"name": name, **row} for name, row in rows.items()],
        cooling_setpoint="75 degF",
        heating_setpoint="68 degF",
    )


def plant(**changes: Any) -> ms.Equipment:
    """Machines whose relays drop out when no message comes."""
    return machines(relays=ms.Relays(release_after="15 min"), **changes)


def found(rows: Rows, those: Any = None) -> list[tuple[str, str, str]]:
    """Row's name, kind and sentence of each finding."""
    names = list(rows)
    return [(names[f.row - 1], f.kind, str(f)) for f in ms.review(table(rows), those or plant())]


GOOD = {"staged": staged, "dehumidifier": dehumidifier, "by what runs": by_what_runs}


@pytest.mark.parametrize("good", GOOD)
def test_silent_on_a_good_table(good: str) -> None:
    assert found(GOOD[good]()) == []
    assert ms.review(table(GOOD[good]())) == []


def planted(row: str, **change: Any) -> tuple[str, dict[str, Any]]:
    return row, change


@pytest.mark.parametrize(
    ("good", "defect", "kind", "words"),
    [
        # release on the wrong side
        ("staged", planted("drying", release_when=["humidity < 58 %", AGE]), "release side",
         "release, relative humidity below 58 %, is on the wrong side of its condition, relative "
         "humidity above 54 %: it holds already"),
        ("staged", planted("drying", release_when=["humidity > 50 %", AGE]), "release side",
         "the row is never on"),
        ("dehumidifier", planted("cool", release_when="temperature > 79 degF"), "release side",
         "stays on when the reading goes back"),
        ("staged", planted("air", release_when=["outdoor dew point < dew point + 3 K", AGE]),
         "release side", "outdoor dew point below dew point + 3 K (5.4 °F)"),
        # deadbands
        ("staged", planted("reheat", release_when="temperature > 73.4 degF"), "deadband",
         "deadband of 0.167 K (0.3 °F) is narrower than the 0.3 K"),
        ("staged", planted("drying", release_when=["humidity < 54 %", AGE]), "deadband", "1.2 %"),
        ("dehumidifier", planted("dry", release_when=["dew point < 12.8 degC", AGE]), "deadband",
         "0.2 K"),
        ("staged", planted("air", when="outdoor dew point > dew point"), "deadband",
         "deadband of 0 K (0 °F)"),
        ("by what runs", planted("reheat", when=["cooling stage >= 1", "temperature < 72.9 degF"]),
         "deadband", "deadband of 0.0556 K (0.1 °F)"),
        ("by what runs", planted("reheat", when=["cooling stage >= 1", "temperature < 74 degF"]),
         "release side", "release, temperature above 22.78 °C (73 °F), is on the wrong side of its "
         "condition, temperature below 23.33 °C (74 °F)"),
        # a release by another quantity
        ("staged", planted("drying", release_when=["humidity < 50 %", "temperature < 72 degF", AGE]),
         "restart", "its release, temperature below 22.22 °C (72 °F), has no deadband, because its "
         "condition, relative humidity above 54 %, may still hold then"),
        ("dehumidifier", planted("dry", release_when=["dew point < 11 degC", "humidity < 45 %"],
                                 **{"for": "1 min"}),
         "restart", "such as relative humidity above 49 %, or add a 'for' of 15 min"),
        ("staged", planted("much drying", release_when="temperature < 72 degF",
                           within="while heating is off"),
         "one way", "it stays on until temperature below 22.22 °C (72 °F). Add a release such as "
         "relative humidity below 54 %"),
        ("staged", planted("drying", release_when=AGE), "one way",
         "it stays on until message age above 15 min"),
        # rows that fight
        ("staged", planted("heat", release_when=["temperature > 77 degF", AGE]), "fight",
         "row 3 (heating) can be on at the same time, and one cools what the other heats"),
        ("staged", planted("drying", within="May to October"), "fight", "row 5 (cooling stage 1)"),
        ("staged", planted("much drying", within="while heat is on"), "fight", "cooling stage 2"),
        ("staged", planted("air", do="ventilation at 150 %"), "fight",
         "from outdoor air of a higher dew point"),
        ("dehumidifier", planted("dry", when="humidity < 45 %", release_when=["humidity > 50 %", AGE]),
         "fight", "it acts when the air is dry already"),
        ("staged", planted("heat", when="temperature > 80 degF", within="while cooling is off",
                           release_when=["temperature < 78 degF", AGE]), "fight",
         "it acts when the air is warm already"),
        ("staged", planted("second humidistat", do="cooling stage 1", when="humidity > 48 %",
                           release_when=["humidity < 43 %", AGE], within="while heating is off"),
         "fight", "calls what row 5 releases in the same band"),
        # rows that can never act
        ("staged", planted("much drying", when="humidity > 105 %"), "never acts",
         "relative humidity above 105 % is beyond what can be read, which is from 0 % to 100 %"),
        ("dehumidifier", planted("dry", when="dew point > temperature + 1 degF"), "never acts",
         "dew point above temperature + 0.556 K (1 °F) is beyond what can be read"),
        ("staged", planted("air", within=["22:00 to 06:00", "07:00 to 09:00"]), "never acts",
         "its hours and its months never overlap"),
        ("staged", planted("air", within=["May to June", "October to March"]), "never acts",
         "its hours and its months never overlap"),
        ("staged", planted("much drying", release_when=["temperature < 70 degC", AGE]),
         "never acts", "its release holds wherever its condition does"),
        ("staged", planted("more reheat", within=["while drying is on", "while drying is off"]),
         "never acts", "are never met at the same time"),
        ("staged", planted("reheat", within=["while drying is on", "while heating is on"]),
         "never acts", "are never met at the same time"),
        ("staged", planted("much drying", do="cooling stage 3"), "never acts",
         "the air conditioner has only 2 stages"),
        ("staged", planted("more reheat", do="strips stage 3"), "never acts",
         "the strips have only 2 stages"),
        # strips
        ("staged", planted("reheat", within="May to October"), "strips alone",
         "can be on with no compressor, and so with no airflow"),
        ("by what runs", planted("more", when="humidity > 53 %"), "strips alone",
         "can be on with no compressor"),
        ("by what runs", planted("reheat", when="airflow > 50 %",
                                 release_when=["airflow < 10 %", AGE]), "strips alone", "compressor"),
        ("staged", planted("reheat", release_when="temperature > 75.5 degF"),
         "strips above cooling", "turns off, 24.17 °C (75.5 °F), is above the cooling setpoint"),
        ("staged", planted("reheat", when="temperature < 75.5 degF",
                           release_when="temperature > 76.5 degF"), "strips above cooling",
         "turns on, 24.17 °C (75.5 °F)"),
        # nothing that ends a call
        ("staged", planted("thermostat", release_when="temperature < 74 degF"), "no end",
         "nothing ends its call if messages from the sensor stop"),
        ("dehumidifier", planted("cool", at_most=None), "no end", "cooling stage 1"),
    ],
)  # fmt: skip
def test_each_planted_defect_is_found(
    good: str, defect: tuple[str, dict[str, Any]], kind: str, words: str
) -> None:
    rows = GOOD[good]()
    row, change = defect
    rows[row] = {**rows.get(row, {}), **change}
    here = [f for f in found(rows) if f[1] == kind]
    assert len(here) == 1
    # A fight is told at the first of its rows.
    assert here[0][0] == row or kind == "fight"
    assert words in here[0][2]
    number = list(rows).index(row) + 1
    assert f"Row {number} " in here[0][2] or f"row {number} " in here[0][2]


def test_what_gives_a_release_by_another_quantity_a_deadband() -> None:
    """A second condition to begin, a wait, or an interlock whose own band is wider."""
    rows = staged()
    end = ["humidity < 50 %", "temperature < 72 degF", AGE]
    drying = {**rows["drying"], "release_when": end}
    for cure in (
        {"when": ["humidity > 54 %", "temperature > 73.5 degF"]},
        {"for": "15 min"},
        {"within": ["while heating is off", "while thermostat is on"]},
    ):
        kinds = [kind for _, kind, _ in found({**rows, "drying": {**drying, **cure}})]
        assert "restart" not in kinds and "deadband" not in kinds, cure
    assert [kind for _, kind, _ in found({**rows, "drying": drying})] == ["restart"]


@pytest.mark.parametrize(
    ("when", "switches"),
    [("humidity > 55 %", 60), (["humidity > 55 %", "temperature > 73.5 degF"], 1)],
)
def test_a_restart_is_what_a_humid_room_at_the_release_does(when: Any, switches: int) -> None:
    """A room at 74 and then at 71.9 and 72.1 degF in turn, for an hour: by hand, from the words.

    With no deadband the call ends and begins in every minute. With a second condition it ends once.
    """
    rows = [{"do": "cooling stage 1", "when": when, "release_when": "temperature < 72 degF"}]
    strategy = ms.rule_table(rows)
    memory, packed = np.zeros(strategy.memory_size), strategy.packed_settings
    room = dict.fromkeys(ms.Readings._fields, 0.0) | {
        "relative_humidity": 60.0,
        "step_minutes": 1.0,
    }
    calls = []
    for fahrenheit in [74.0, *[71.9, 72.1] * 30]:
        readings = ms.Readings(**room | {"temperature": (fahrenheit - 32.0) / 1.8})
        calls.append(strategy.compiled(readings, memory, packed).cooling)
    assert calls[0] == 1.0
    assert sum(a != b for a, b in itertools.pairwise(calls)) == switches


def test_a_fight_names_a_point_at_which_both_are_on() -> None:
    rows = staged()
    rows["heat"]["release_when"] = ["temperature > 77 degF", AGE]
    (finding,) = found(rows)
    # The thermostat turns on above 76 degF, the heat off above 77 degF.
    degrees = float(finding[2].split("(")[-1].split(" °F")[0])
    assert 76.0 < degrees <= 77.0


def test_rows_that_wait_for_one_that_never_acts() -> None:
    rows = staged()
    rows["drying"]["when"] = "humidity > 105 %"
    waiting = [f for f in found(rows) if "waits for a row that can never be on" in f[2]]
    assert [name for name, _, _ in waiting] == ["much drying", "reheat", "more reheat"]


def test_of_rows_that_wait_only_the_first_without_an_end_is_named() -> None:
    rows = staged()
    rows["drying"]["release_when"] = "humidity < 50 %"
    assert [(name, kind) for name, kind, _ in found(rows)] == [("drying", "no end")]


@pytest.mark.parametrize(
    ("lacking", "row", "good", "words"),
    [
        ("strips", "reheat", "staged", "there are no strips"),
        ("dehumidifier", "dry", "dehumidifier", "there is no dehumidifier"),
        ("ventilation", "air", "staged", "there is no mechanical ventilation"),
    ],
)
def test_machines_that_the_house_does_not_have(
    lacking: str, row: str, good: str, words: str
) -> None:
    here = found(GOOD[good](), plant(**{lacking: None}))
    assert any(name == row and kind == "never acts" and words in text for name, kind, text in here)


def without_ends() -> Rows:
    rows = staged()
    for row in rows.values():
        if isinstance(row["release_when"], list):
            row["release_when"] = row["release_when"][0]
    return rows


def test_what_else_ends_a_call() -> None:
    """A relay that drops out, and a wired contact that cuts a group of outputs."""
    ended = {name for name, kind, _ in found(without_ends()) if kind == "no end"}
    assert ended == {"thermostat", "heat", "drying", "air"}
    enable = ms.Enable(cuts=["cooling"])
    left = [name for name, _, _ in found(without_ends(), plant(enable=enable))]
    assert left == ["heat", "air"]


def test_relays_that_keep_their_last_call() -> None:
    """Other messages than the sensor's: of the control to the relays."""
    (finding,) = ms.review(table(GOOD["staged"]()), machines())
    assert (finding.row, finding.kind) == (0, "no end")
    assert "relays keep their last call if messages from the control stop" in str(finding)


def test_deadband_against_resolution_and_lag() -> None:
    """By the estimate that the sentence states: rate times lag."""
    rows = {"dry": {"do": "dehumidifier", "when": "humidity > 54 %",
                    "release_when": ["humidity < 51 %", AGE]}}  # fmt: skip
    lag = 3.0 / HUMIDITY_RATE
    slow, quick = (
        plant(sensor=ms.Sensor(humidity_lag=k * lag - 60.0, temperature_lag=0.0, mixing_time=60.0))
        for k in (1.01, 0.99)
    )
    assert [kind for _, kind, _ in found(rows, slow)] == ["deadband"]
    assert found(rows, quick) == []
    coarse = ms.Sensor(temperature_lag=0.0, humidity_lag=0.0, humidity_resolution=4.0)
    (finding,) = found(rows, plant(sensor=coarse))
    assert "3 % is narrower than the sensor's resolution of 4 %" in finding[2]


def test_rates_are_of_the_order_that_the_model_gives() -> None:
    """Our own round figures: no faster than ten times what a simulated house does, and not slower
    than a hundredth."""
    season = ms.simulate(
        ms.House(floor_area="2000 ft2", ach50=2.0), plant(), ms.strategies.staged_reheat,
        ms.Weather.sample("miami"), start="06-01", end="06-07",
    )  # fmt: skip
    day = season.minutes("06-03")
    for column, rate in (
        ("indoor_temperature_C", TEMPERATURE_RATE),
        ("indoor_rh_pct", HUMIDITY_RATE),
    ):
        fastest = day[column].diff().abs().quantile(0.99)
        assert 0.1 < 60.0 * rate / fastest < 100.0


def test_only_rule_tables_are_reviewed() -> None:
    with pytest.raises(ms.InputError, match="a rule table, as rule_table makes it"):
        ms.review(ms.strategies.staged_reheat)  # type: ignore[arg-type]


@settings(max_examples=60, deadline=None)
@given(table=any_rule_table())
def test_random_tables_are_reviewed_without_raising(table: RuleTable) -> None:
    for finding in ms.review(table, plant()):
        assert 1 <= finding.row <= len(table.rows)
        assert str(finding).startswith(f"Row {finding.row} ")
        assert "nan" not in str(finding) and "inf" not in str(finding)
