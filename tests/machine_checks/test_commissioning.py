"""What the gauges should show, against the trade's own arithmetic and PsychroLib."""

import psychrolib
import pytest
from support.houses import house
from support.machines import machines, two_stage

import moistsim as ms
from moistsim import air
from moistsim.controls import CallSet
from moistsim.controls.interface import Calls
from moistsim.core.errors import InputError
from moistsim.machine_checks.commissioning import (
    Expected,
    ExpectedDrying,
    Refused,
    Rig,
    Today,
    cases,
    today,
)
from moistsim.sheet.probing import probe

SEA_LEVEL = air.STANDARD_PRESSURE
RATED = today(outdoor="95 degF", indoor="80 degF", indoor_rh="51.1 %")
"""AHRI 210/240, from memory: 80 degF dry bulb, 67 degF wet bulb indoors, 95 degF outdoors."""
ROOM = today(outdoor="95 degF", indoor="75 degF", indoor_rh="50 %")
CFM = 0.000471947443


def rig(equipment: ms.Equipment | None = None) -> Rig:
    return Rig(house(), equipment or machines(), ms.strategies.temperature_only, SEA_LEVEL)


def expected(calls: CallSet, now: Today = ROOM, of: Rig | None = None) -> Expected:  # fmt: skip
    seen = (of or rig()).expect("it", "cooling", calls, now)
    assert isinstance(seen, Expected)
    return seen


def enthalpy(t: float, t_wet: float) -> float:
    """J/kg of dry air, from what two thermometers say (PsychroLib)."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    w = psychrolib.GetHumRatioFromTWetBulb(t, t_wet, SEA_LEVEL)
    return float(psychrolib.GetMoistAirEnthalpy(t, w))


@pytest.mark.parametrize("stage", [1, 2])
def test_two_thermometers_give_the_rated_capacity(stage: int) -> None:
    """Dry and wet bulb at return and supply give the net capacity of the stage.

    At the rating point, airflow times the enthalpy between return and supply, both read off
    dry and wet bulb, is the stage's net capacity; PsychroLib makes enthalpies of them.
    """
    seen = expected(Calls(cooling=float(stage)), RATED)
    rating = two_stage().stages[stage - 1]
    flow = seen.airflow * air.STANDARD_DENSITY
    drop = enthalpy(seen.return_temperature, seen.return_wet_bulb) - enthalpy(
        seen.supply_temperature, seen.supply_wet_bulb
    )
    assert seen.return_wet_bulb * 1.8 + 32 == pytest.approx(67.0, abs=0.1)
    assert flow * drop == pytest.approx(rating.capacity, rel=0.01)
    # Net capacity over all input is the rated COP.
    assert rating.capacity / (seen.compressor + seen.blower) == pytest.approx(rating.cop, rel=0.01)


@pytest.mark.parametrize("stage", [1, 2])
def test_condensate_against_the_latent_capacity(stage: int) -> None:
    """Condensate agrees with the latent capacity.

    Handbook figure, from memory: a pound of water condensed is 1054 to 1060 Btu of latent
    capacity. Latent is 1 less the rated sensible heat ratio of the net capacity.
    """
    seen = expected(Calls(cooling=float(stage)), RATED)
    rating = two_stage().stages[stage - 1]
    latent_btu_h = rating.capacity * (1.0 - rating.shr) * 3.412142
    pounds_h = seen.condensate * 3600.0 / 0.45359237
    assert latent_btu_h / 1060.0 * 0.96 < pounds_h < latent_btu_h / 1054.0 * 1.04


def test_two_tons_at_75_and_50() -> None:
    """Two tons give the split, condensate and current that the trade expects.

    Common practice, no source: 20 to 40 ml of condensate a minute and a split of 16 to 23 degF
    from two tons in a room at 75 degF and 50 % RH, and some 3.5 to 4.5 A a ton at 240 V.
    """
    two_tons = ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="2 ton")]))
    seen = expected(Calls(cooling=1.0), ROOM, rig(two_tons))
    assert 20.0 < seen.condensate * 60e3 < 40.0
    assert 16.0 < seen.split * 1.8 < 23.0
    assert 7.0 < seen.amps.compressor < 9.0
    assert seen.strip_rise == 0.0


@pytest.mark.parametrize("strips", [1, 2])
@pytest.mark.parametrize("stage", [1, 2])
def test_rise_across_strips_by_the_rule_of_the_trade(stage: int, strips: int) -> None:
    """dT in degF = 3412 kW / (1.08 cfm) in standard air (common practice, no source)."""
    seen = expected(Calls(cooling=float(stage), reheat=float(strips)))
    by_rule = 3412.0 * 5.0 * strips / (1.08 * seen.airflow / CFM)
    assert seen.strip_rise * 1.8 == pytest.approx(by_rule, rel=0.025)
    alone = expected(Calls(cooling=float(stage)))
    assert seen.supply_temperature - alone.supply_temperature == pytest.approx(seen.strip_rise)
    assert seen.condensate == alone.condensate, "strips sit behind the coil"


def test_strip_amps_are_watts_over_volts() -> None:
    assert expected(Calls(cooling=1.0, reheat=2.0)).amps.strips == pytest.approx(10000.0 / 240.0)
    # On 208 V strips of 240 V give the square of the ratio in watts, and the ratio in amps.
    low = machines(strips=ms.Strips(stages=["5 kW"], voltage="208 V"))
    seen = expected(Calls(cooling=1.0, reheat=1.0), ROOM, rig(low))
    assert seen.strips == pytest.approx(5000.0 * (208.0 / 240.0) ** 2)
    assert seen.amps.strips == pytest.approx(5000.0 / 240.0 * 208.0 / 240.0)
    assert seen.amps.compressor == pytest.approx(seen.compressor / (208.0 * 0.95))


def test_amps_together_are_the_sum() -> None:
    amps = expected(Calls(cooling=2.0, reheat=1.0)).amps
    assert amps.together == pytest.approx(amps.compressor + amps.blower + amps.strips)
    assert min(amps) > 0.0


def test_wetter_air_gives_more_condensate_and_a_smaller_split() -> None:
    dry, wet = (
        expected(Calls(cooling=2.0), today(indoor="75 degF", indoor_rh=rh)) for rh in (45.0, 60.0)
    )
    assert wet.condensate > dry.condensate
    assert wet.split < dry.split


def test_air_too_dry_to_wet_the_coil_leaves_none() -> None:
    assert expected(Calls(cooling=1.0), today(indoor="75 degF", indoor_rh=22.0)).condensate == 0.0


def test_a_heat_pump_is_told_for_its_rating_on_a_hot_day() -> None:
    """At 47 degF the rise is (capacity + blower) / (1.08 cfm), the trade's rule."""
    of = machines()
    (told,) = [row for row in cases(of, {}, False, ROOM) if row[0] == "Heat pump"]
    assert told[3].outdoor == pytest.approx((47.0 - 32.0) / 1.8)
    seen = expected(told[2], told[3])
    btu_h = 24000.0 + seen.blower * 3.412142
    assert -seen.split * 1.8 == pytest.approx(btu_h / (1.08 * seen.airflow / CFM), rel=0.025)
    # On a cold day it is told for that day.
    (cold,) = [r for r in cases(of, {}, False, today(outdoor=2.0)) if r[0] == "Heat pump"]
    assert cold[3].outdoor == 2.0


def test_what_would_not_run_today_says_why() -> None:
    cold = rig().expect("it", "cooling", Calls(cooling=1.0), today(outdoor="45 degF"))
    assert isinstance(cold, Refused)
    assert cold.why == "outdoors below the compressor's limit"
    shut = machines(strips=ms.Strips(stages=["5 kW"], lockout_hours=[12, 14]))
    held = rig(shut).expect("it", "reheat", Calls(cooling=1.0, reheat=1.0), ROOM)
    assert isinstance(held, Refused)
    assert held.why == "strips locked out"


def test_the_dehumidifier_at_its_rating() -> None:
    """80 degF and 60 %: 70 pints a day at 2.4 L/kWh, as its label says; 473.176 ml a pint."""
    seen = rig().expect_drying(today(indoor="80 degF", indoor_rh="60 %"))
    assert isinstance(seen, ExpectedDrying)
    liters_h = 70.0 * 0.473176 / 24.0
    assert seen.condensate * 60e3 == pytest.approx(liters_h / 60.0 * 1e3, rel=0.01)
    assert seen.power == pytest.approx(liters_h / 2.4 * 1e3, rel=0.01)
    assert seen.amps == pytest.approx(seen.power / (120.0 * 0.95))


def test_the_dehumidifier_dries_what_it_takes() -> None:
    """One that takes outdoor air stops with it, whatever the room."""
    outdoors = machines(dehumidifier=ms.Dehumidifier(capacity="70 pint/day", inlet="outdoors"))
    seen = rig(outdoors).expect_drying(today(outdoor=3.0))
    assert isinstance(seen, Refused)


def test_strips_are_told_with_cooling_only_where_the_control_runs_them_so() -> None:
    of = machines()
    kinds = {}
    for name in ("temperature_only", "staged_reheat", "hot_gas_reheat"):
        found = probe(ms.strategies.BUILT_IN[name], of)
        kinds[name] = [row[0] for row in cases(of, found.together, found.hot_gas, ROOM)]
    assert not [row for row in kinds["temperature_only"] if "+ strip" in row]
    assert len([row for row in kinds["staged_reheat"] if "+ strip" in row]) == 4
    assert len([row for row in kinds["hot_gas_reheat"] if "hot gas" in row]) == 2


def test_strips_are_told_at_the_blower_speed_that_the_control_calls() -> None:
    of, control = machines(), ms.strategies.staged_reheat(strip_airflow="80 %")
    found = probe(control, of)
    (row,) = [r for r in cases(of, found.together, False, ROOM) if r[0].endswith("stage 1 + strip stage 1")]  # fmt: skip
    assert expected(row[2]).airflow == pytest.approx(0.8 * two_stage().full_airflow)


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        (
            {"indoor_rh": "95 %"},
            "--indoor-rh: cannot use '95 %'. Use a value from 20 to 90 %.",
        ),
        (
            {"indoor": "75 cfm"},
            "--indoor: cannot read '75 cfm' as a temperature. Write '75 F' or '24 C'.",
        ),
        (
            {"outdoor": "200 degF"},
            "--outdoor: cannot use '200 degF'. Use a value from -30 to 50 °C (-22 to 122 °F).",
        ),
        (
            {"indoor": "75"},
            "--indoor: '75' is 167 °F if it is in °C. Did you mean '75 F'? Write the unit.",
        ),
    ],
)
def test_readings_that_cannot_be(given: dict[str, str], sentence: str) -> None:
    with pytest.raises(InputError) as refusal:
        today(**given)
    assert str(refusal.value) == sentence
