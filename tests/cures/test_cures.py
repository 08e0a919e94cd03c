"""Cures: each changes what it says and no more, and those that are kept help together."""

from functools import lru_cache
from pathlib import Path
from typing import Any

import attrs
import pytest
from hypothesis import given
from support.houses import any_house, house
from support.machines import any_equipment
from support.values import floats
from support.weathers import sample, stretch

import moistsim as ms
from moistsim.core.changes import differences
from moistsim.core.display import Show
from moistsim.cures import TriedCure
from moistsim.cures.answer import candidates, effective_infiltration
from moistsim.cures.cure import Cure
from moistsim.cures.house_work import COVER_GROUND, SEAL_AIR, SEAL_DUCTS
from moistsim.cures.settings import (
    AIRFLOW,
    FAN_AUTO,
    LATER_STAGE,
    LOWER_AIRFLOW,
    NO_DELAY,
    setpoint_at,
    ventilation_at_62_2,
)
from moistsim.equipment import ashrae_62_2_fan_rate, ashrae_62_2_rate
from moistsim.study import Option

CFM = 0.000471947443
AT_62_2 = ventilation_at_62_2(None)
SETPOINT = setpoint_at(55.0)
UNIT = ms.Cooling(
    stages=[
        ms.Stage(capacity="18000 Btu/h", airflow="600 cfm", shr=0.72),
        ms.Stage(capacity="27000 Btu/h", airflow="900 cfm", shr=0.72),
    ],
    fan="on",
    fan_off_delay="90 s",
)
WET = ms.Equipment(
    cooling=UNIT, ventilation=ms.Ventilation(airflow="130 cfm", kind="supply"),
    dehumidifier=ms.Dehumidifier(capacity="60 pint/day"),
)  # fmt: skip
LEAKY = house(
    ach50=9.0, crawl_space=ms.CrawlSpace(),
    ducts=ms.Ducts(location="crawl space", supply_leakage="12 %", return_leakage="9 %"),
)  # fmt: skip
THERMOSTAT = ms.strategies.temperature_only
DRYER = ms.strategies.with_dehumidifier(target_rh=48)
AS_IT_IS = Option(attrs.evolve(WET, cooling=attrs.evolve(UNIT, fan="circulation")), DRYER, LEAKY)

EACH: dict[str, tuple[Cure, set[str]]] = {
    "fan": (FAN_AUTO, {"cooling.fan"}),
    "delay": (NO_DELAY, {"cooling.fan_off_delay"}),
    "ventilation": (AT_62_2, {"ventilation.airflow"}),
    "airflow": (LOWER_AIRFLOW, {"lower_airflow_by"}),
    "setpoint": (SETPOINT, {"target_rh"}),
    "stage": (LATER_STAGE, {"second_stage_at"}),
    "ducts": (SEAL_DUCTS, {"ducts.supply_leakage", "ducts.return_leakage"}),
    "cover": (COVER_GROUND, {"crawl_space.ground_cover"}),
    "air": (SEAL_AIR, {"ach50"}),
}


def changed(before: Option, after: Option) -> set[str]:
    """Paths and settings in which two options differ."""
    mine, its = before.strategy.settings, after.strategy.settings
    settings = {x for x in mine | its if mine.get(x) != its.get(x)}
    parts = zip((before.equipment, before.house), (after.equipment, after.house), strict=True)
    return settings | {".".join(x.path) for one, other in parts for x in differences(one, other)}


@pytest.mark.parametrize("name", EACH)
def test_a_cure_changes_what_it_says_and_is_then_done(name: str) -> None:
    cure, paths = EACH[name]
    with_it = cure.change(*AS_IT_IS)
    assert with_it is not None
    assert changed(AS_IT_IS, with_it) == paths
    if cure is not SEAL_AIR:  # It takes a share of the leaks, whatever they are.
        assert cure.change(*with_it) is None
    for units in ("us", "si"):
        text = cure.say(AS_IT_IS, with_it, Show(units))
        assert text.endswith(".") and len(text.split()) <= 50


def test_sentences_give_figures_in_both_units() -> None:
    slower, sealed = AT_62_2.change(*AS_IT_IS), SEAL_DUCTS.change(*AS_IT_IS)
    assert slower is not None and sealed is not None
    assert AT_62_2.say(AS_IT_IS, slower, Show("us")) == (
        "Set the ventilation fan to 90 cfm instead of 130 cfm: the rate of ASHRAE 62.2 for this house."
    )
    assert "42 L/s instead of 61 L/s" in AT_62_2.say(AS_IT_IS, slower, Show("si"))
    assert SEAL_DUCTS.say(AS_IT_IS, sealed, Show("us")) == (
        "Seal the ducts in the crawl space to 4 % leakage on each side. They leak 12 % (supply) and "
        "9 % (return)."
    )


def test_cures_do_not_apply_where_nothing_is_there() -> None:
    bare = Option(ms.Equipment(), THERMOSTAT, house(ach50=2.0))
    assert [cure.name for cure, _ in EACH.values() if cure.change(*bare) is not None] == []


@given(any_equipment(), any_house(), floats(0.0, 0.03))
def test_ventilation_is_never_turned_off_or_below_the_standard(
    any_machines: ms.Equipment, any_one: ms.House, infiltration: float
) -> None:
    """In any house, with and without credit, the fan ends at or above the standard's rate."""
    for credit in (None, infiltration):
        after = ventilation_at_62_2(credit).change(any_machines, THERMOSTAT, any_one)
        if after is None:
            continue
        fan, was = after.equipment.ventilation, any_machines.ventilation
        assert fan is not None and was is not None and was.airflow is not None
        least = ashrae_62_2_rate(any_one.floor_area, any_one.bedrooms)
        if credit is not None:
            least = ashrae_62_2_fan_rate(least, credit, balanced=fan.kind == "balanced")
        assert fan.airflow is not None
        assert least - 1e-9 <= fan.airflow < was.airflow
        assert fan.airflow > 0.0


@given(any_equipment(), any_house())
def test_a_cure_applies_once(any_machines: ms.Equipment, any_one: ms.House) -> None:
    for cure in (FAN_AUTO, NO_DELAY, AT_62_2, LOWER_AIRFLOW, SEAL_DUCTS, COVER_GROUND):
        after = cure.change(any_machines, THERMOSTAT, any_one)
        assert after is None or cure.change(*after) is None


def test_the_fan_rate_of_62_2() -> None:
    """ASHRAE 62.2-2016, section 4.1, in cfm and ft2, from memory.

    Q_tot = 0.03 A + 7.5 (N + 1). Q_fan = Q_tot - phi Q_inf, phi 1 if balanced, else Q_inf / Q_tot.
    """
    total = 0.03 * 2400.0 + 7.5 * 5.0
    assert ashrae_62_2_rate(2400.0 * 0.09290304, 4.0) / CFM == pytest.approx(total, rel=0.02)
    for infiltration in (10.0, 40.0):
        for balanced, phi in ((True, 1.0), (False, infiltration / total)):
            got = ashrae_62_2_fan_rate(total * CFM, infiltration * CFM, balanced=balanced)
            assert got / CFM == pytest.approx(total - phi * infiltration)
    # At most two thirds are credited.
    assert ashrae_62_2_fan_rate(0.06, 0.2, balanced=True) == pytest.approx(0.02)


def test_effective_infiltration_is_near_that_of_the_standard() -> None:
    """ASHRAE 62.2: Q_inf = 0.052 Q50 wsf (H / 8.2 ft)^0.4, with weather factors wsf from about 0.3 to
    0.8 in the table for North America (from memory)."""
    for place in ("miami", "greensboro", "sand_point"):
        study = ms.Study(LEAKY, {"it": (WET, THERMOSTAT)}, sample(place))
        found = effective_infiltration(study, study.resolved["it"])
        assert found is not None
        at_50 = LEAKY.flow_coefficient * 50.0**LEAKY.leakage_exponent
        wsf = found / (0.052 * at_50 * (LEAKY.ceiling_height / 2.5) ** 0.4)
        assert 0.25 < wsf < 0.9


def test_less_airflow_ends_at_350_cfm_per_ton() -> None:
    after = LOWER_AIRFLOW.change(*AS_IT_IS)
    assert after is not None
    left = 1.0 - after.strategy.settings["lower_airflow_by"]
    by_size = [left * x.airflow / x.capacity / AIRFLOW for x in UNIT.stages]
    assert min(by_size) == pytest.approx(1.0, abs=0.001)
    assert pytest.approx(350.0 * CFM / 3516.85, rel=1e-4) == AIRFLOW
    # The rated airflow is kept where it is lower.
    low = ms.Equipment(cooling=ms.Cooling(stages=[ms.Stage(capacity="2 ton", airflow="690 cfm")]))
    assert LOWER_AIRFLOW.change(low, THERMOSTAT, LEAKY) is None


def test_a_central_fan_that_ventilates_stays_on() -> None:
    central = attrs.evolve(WET, ventilation=ms.Ventilation(kind="central", airflow="60 cfm"))
    assert FAN_AUTO.change(central, THERMOSTAT, LEAKY) is None


def test_both_systems_of_a_house_are_set() -> None:
    second = ms.SecondSystem(cooling=attrs.evolve(UNIT, fan="circulation"))
    two = attrs.evolve(WET, cooling=attrs.evolve(UNIT, fan="auto"), second_system=second)
    auto, short = (cure.change(two, THERMOSTAT, LEAKY) for cure in (FAN_AUTO, NO_DELAY))
    assert auto is not None and short is not None
    for of, name, value in ((auto, "fan", "auto"), (short, "fan_off_delay", 0.0)):
        assert {getattr(x.cooling, name) for x in of.equipment.systems} == {value}
    assert "instead of CIRCULATION" in FAN_AUTO.say(
        Option(two, THERMOSTAT, LEAKY), auto, Show("us")
    )
    assert LOWER_AIRFLOW.change(two, THERMOSTAT, LEAKY) is None


# ---------------------------------------------------------------------- an invented humid house


@lru_cache
def study() -> ms.Study:
    """A humid month of a Miami autumn in a leaky house, in coarse steps, at the price of a year."""
    plain = attrs.evolve(WET, dehumidifier=None)
    own_fan = attrs.evolve(plain, cooling=attrs.evolve(UNIT, fan_off_delay="30 s"))
    tight = attrs.evolve(
        LEAKY, ducts=attrs.evolve(LEAKY.ducts, supply_leakage=0.02, return_leakage=0.02)
    )
    options: Any = {
        "as found": (plain, THERMOSTAT),
        "dryer": (WET, DRYER),
        "own delay": (own_fan, THERMOSTAT),
        "ducts": (plain, THERMOSTAT, tight),
    }
    return ms.Study(
        LEAKY, options, stretch("miami", 270, 28), step="5 min",
        tariff=ms.Tariff(price=0.9),
    )  # fmt: skip


@lru_cache
def found() -> ms.Cures:
    return ms.free_cures(study(), progress=False)


def tried() -> dict[str, TriedCure]:
    return {x.name: x for x in found().tried}


def test_the_fan_switch_is_the_best_cure_of_a_fan_that_is_on() -> None:
    """Fan ON evaporates what the coil has dried: common practice, and many field studies."""
    fan = tried()["Fan AUTO"]
    assert fan.after.humid_hours < fan.before.humid_hours
    assert fan.after.usd < fan.before.usd
    assert fan.is_free and fan.helps
    assert found().kept[0].name in ("Fan AUTO", AT_62_2.name)
    assert "Fan AUTO" in [x.name for x in found().kept]


def test_each_cure_moves_humidity_as_it_does_in_practice() -> None:
    for name in ("Fan AUTO", AT_62_2.name, LOWER_AIRFLOW.name, COVER_GROUND.name):
        cure = tried()[name]
        assert cure.after.mean_dew_point < cure.before.mean_dew_point, name
    ducts = tried()[SEAL_DUCTS.name]
    assert ducts.after.usd < ducts.before.usd


def test_a_delay_helps_only_once_the_fan_stops() -> None:
    """While the fan is ON there is no delay to shorten; after AUTO it wets the room again."""
    assert NO_DELAY.name not in tried()
    kept = [x.name for x in found().kept]
    assert kept.index("Fan AUTO") < kept.index(NO_DELAY.name)
    delay = found().kept[kept.index(NO_DELAY.name)]
    assert delay.after.mean_dew_point < delay.before.mean_dew_point
    assert NO_DELAY.name in found().table().index


def test_each_is_tried_alone() -> None:
    base = study().resolved["as found"]
    for cure in found().tried:
        assert cure.without == base
        assert changed(base, cure.option) == next(
            p for c, p in EACH.values() if c.name == cure.name
        )


def test_kept_cures_help_on_top_of_each_other() -> None:
    kept = found().kept
    assert kept and all(x.worth_doing for x in kept)
    before = found().found
    for cure in kept:
        assert cure.before == before
        before = cure.after
    assert found().together == before
    assert found().together.usd_at_goal < found().found.usd_at_goal
    season = ms.simulate(
        kept[-1].option.house, kept[-1].option.equipment, kept[-1].option.strategy,
        study().weather, step="5 min",
    )  # fmt: skip
    assert season.meter.total_kwh == found().together.kwh


def test_options_get_the_kept_cures_and_keep_their_own_values() -> None:
    cured = found().study.resolved
    names = {name: [x.name for x in found().applied(name)] for name in study().options}
    assert cured["as found"] == found().kept[-1].option
    assert names["as found"] == [x.name for x in found().kept]
    delay = cured["own delay"].equipment.cooling
    assert delay is not None and delay.fan_off_delay == 30.0
    assert NO_DELAY.name not in names["own delay"]
    assert cured["ducts"].house.ducts.supply_leakage == 0.02
    dehumidifier = cured["dryer"].equipment.dehumidifier
    assert dehumidifier == WET.dehumidifier
    assert found().study.house == study().house


def test_purchases_hold_the_price_of_the_work() -> None:
    plain = ms.Purchase(first_cost=100.0, life=9)
    bought = found().purchases({"as found": plain, "a proposal": plain, "ducts": plain})
    cost = sum(x.first_cost for x in found().kept)
    assert bought["as found"].first_cost == bought["a proposal"].first_cost == 100.0 + cost
    assert bought["as found"].replacement == 100.0
    ducts = sum(x.first_cost for x in found().kept if x.name == SEAL_DUCTS.name)
    assert bought["ducts"].first_cost == pytest.approx(100.0 + cost - ducts)


def test_own_prices_replace_the_stand_ins() -> None:
    dear = ms.free_cures(study(), prices=ms.CurePrices(seal_ducts="9,000 USD"), progress=False)
    ducts = next(x for x in dear.tried if x.name == "Seal ducts")
    assert ducts.first_cost == 9000.0 and not ducts.stand_in and not ducts.pays
    assert all(x.stand_in for x in dear.tried if x.name != "Seal ducts")


def test_each_work_has_a_price_of_its_own() -> None:
    keys = [cure.price_key for cure, _ in EACH.values() if cure.price(LEAKY) > 0.0]
    assert sorted(keys) == sorted(x.name for x in attrs.fields(ms.CurePrices))


def test_the_table_has_the_figures_of_each() -> None:
    table, us = found().table("si"), found().table("us")
    assert [*table.index] == ["As found", *tried(), NO_DELAY.name, "Kept cures together"]
    fan = tried()["Fan AUTO"]
    assert table.loc["Fan AUTO", "humid_h"] == fan.after.humid_hours
    assert table.loc["Fan AUTO", "difference_USD"] == pytest.approx(fan.after.usd - fan.before.usd)
    assert us.loc["Fan AUTO", "mean_dew_point_F"] == pytest.approx(
        32.0 + 1.8 * fan.after.mean_dew_point
    )
    assert bool(table.loc["Fan AUTO", "kept"])


def test_a_run_that_is_there_is_used() -> None:
    comparison = study().run(progress=False)
    again = ms.free_cures(study(), as_set=comparison, progress=False)
    assert again.found == found().found
    with pytest.raises(ms.InputError, match="options of its own"):
        other = attrs.evolve(study(), options={"as found": (WET, THERMOSTAT)})
        ms.free_cures(other, as_set=comparison, progress=False)


def test_no_cure_applies_to_a_house_without_machines() -> None:
    bare = ms.Study(
        house(ach50=2.0),
        {"it": (ms.Equipment(), THERMOSTAT)},
        stretch("miami", 270, 7),
        step="5 min",
    )
    cures = ms.free_cures(bare, progress=False)
    assert cures.tried == () and cures.kept == ()
    assert cures.together == cures.found
    assert cures.study.options == bare.options


def test_work_that_costs_too_much_is_tried_but_not_kept() -> None:
    work = [SEAL_DUCTS.name, COVER_GROUND.name, SEAL_AIR.name, LOWER_AIRFLOW.name]
    prices = ms.CurePrices(airflow=1e6, seal_ducts=1e6, ground_cover=1e6, air_sealing=1e6)
    dear = ms.free_cures(study(), prices=prices, progress=False)
    assert {x.name for x in dear.tried} == {x.name for x in found().tried}
    assert not any(x.pays for x in dear.tried if x.name in work)
    # A ground cover ends the risk to the joists, whatever it costs.
    assert [x.name for x in dear.kept if x.name in work] == [COVER_GROUND.name]
    cover = next(x for x in dear.kept if x.name == COVER_GROUND.name)
    assert cover.protects and cover.why.endswith("takes the wood of the crawl space out of danger.")


def test_only_what_is_tried_is_kept() -> None:
    cures = candidates(study(), study().resolved["as found"], blower_door=False)
    assert {*tried(), *(x.name for x in found().kept)} < {cure.name for cure in cures}


def test_a_setpoint_drier_than_the_goal_needs_saves_money() -> None:
    """A dryer set to 48 % keeps a goal of 60 % at 55 % too, for less."""
    quiet = attrs.evolve(WET, cooling=attrs.evolve(UNIT, fan="auto", fan_off_delay=0.0))
    dried = attrs.evolve(study(), options={"dryer": (quiet, DRYER)})
    cure = next(x for x in ms.free_cures(dried, progress=False).tried if x.name == SETPOINT.name)
    assert cure.before.keeps_goal and cure.after.keeps_goal
    assert cure.after.usd < cure.before.usd
    assert cure.helps and cure.worth == cure.before.usd - cure.after.usd
    assert cure.do("us") == "Raise the humidity setpoint to 55 % from 48 %."


def test_a_study_with_cures_can_be_written_and_read(tmp_path: Path) -> None:
    from moistsim.scenario import DEMO, read_scenario, write_scenario

    demo = read_scenario(DEMO)
    option: Any = (attrs.evolve(WET, dehumidifier=None), THERMOSTAT)
    fresh: Any = attrs.evolve(
        demo.study, house=LEAKY, options={"as found": option}, base="as found",
        start="08-15", end="09-15", step="5 min",
    )  # fmt: skip
    cures = ms.free_cures(fresh, prices=ms.CurePrices(airflow=0), progress=False)
    assert cures.kept
    written = attrs.evolve(demo, study=cures.study, purchases={}, terms=None, ranges={})
    write_scenario(written, tmp_path / "cured.toml")
    again = read_scenario(tmp_path / "cured.toml").study
    assert again.resolved["as found"] == cures.study.resolved["as found"]


def test_a_cure_that_makes_the_house_too_warm_is_not_kept():
    """Whatever it saves: it goes beyond the limit, or further beyond it than without the cure."""
    tried = next(x for x in ms.free_cures(_comfortable(), progress=False).tried)
    limit = tried.before.comfort.most

    def after(before: float, hours: float) -> bool:
        def warm(of, many):
            return attrs.evolve(of, comfort=attrs.evolve(of.comfort, warm=many))

        paying = attrs.evolve(
            tried,
            before=attrs.evolve(warm(tried.before, before), usd_at_goal=500.0),
            after=attrs.evolve(warm(tried.after, hours), usd_at_goal=400.0),
            first_cost=0.0,
        )
        assert paying.pays
        assert ("It costs comfort" in paying.why) != paying.keeps_comfort
        return paying.worth_doing

    assert after(0.0, limit)
    assert not after(0.0, limit + 1.0)
    assert after(limit + 50.0, limit + 50.0)
    assert not after(limit + 50.0, limit + 51.0)


def _comfortable() -> ms.Study:
    return attrs.evolve(
        ms.scenario.read_scenario(ms.scenario.DEMO).study, start="10-01", end="10-03"
    )
