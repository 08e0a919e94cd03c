"""The advice: cures first, then the cheapest of what keeps the owner's goal."""

from functools import lru_cache

import attrs
import pytest
from support.houses import house
from support.machines import machines, two_stage
from support.weathers import stretch

import moistsim as ms
from moistsim.study import SAME

PLAIN, REHEAT, DRYER, COLD = "as found", "reheat", "large dehumidifier", "overcooling"


def study(hours: float | None = None, **changes) -> ms.Study:
    """A humid month in a house with its fan ON and more ventilation than it needs."""
    bare = {"dehumidifier": None, "strips": None, "hot_gas": None, **changes}
    here = machines(**bare, cooling=two_stage(fan="on"))
    strips = attrs.evolve(here, strips=ms.Strips(stages=["3 kW"]))
    dryer = attrs.evolve(here, dehumidifier=ms.Dehumidifier(capacity="90 pint/day"))
    return ms.Study(
        house(),
        {
            PLAIN: (here, ms.strategies.temperature_only),
            COLD: (here, ms.strategies.overcooling(target_rh=50)),
            REHEAT: (strips, ms.strategies.staged_reheat(target_rh=48)),
            DRYER: (dryer, ms.strategies.with_dehumidifier(target_rh=48)),
        },
        stretch("miami", 270, 28),
        step="5 min",
        goal=ms.Goal(hours=hours),
    )


def purchases() -> dict[str, ms.Purchase]:
    return {
        PLAIN: ms.Purchase(first_cost=0.0),
        COLD: ms.Purchase(first_cost=100.0),
        REHEAT: ms.Purchase(first_cost=800.0),
        DRYER: ms.Purchase(first_cost=2500.0),
    }


@lru_cache
def found() -> ms.Advice:
    return ms.advise(study(), purchases(), progress=False)


@lru_cache
def content() -> ms.Advice:
    """The same house with an owner who allows nearly any hour."""
    return ms.advise(study(8700.0), purchases(), progress=False)


def test_free_cures_come_first():
    """The fan ON is set to AUTO in every option that is compared."""
    it = found()
    assert it.is_humid
    assert any("AUTO" in tried.name for tried in it.cures.kept)
    for x in it.at_goal.options.values():
        assert x.equipment.cooling.fan == "auto"
    for season in it.as_set.seasons.values():
        assert season.equipment.cooling.fan == "on"


def test_what_is_advised_keeps_the_goal_at_the_least_cost():
    it = found()
    goal = it.as_set.study.goal
    assert it.ends_complaint
    for name in it.fit:
        assert goal.is_kept(it.season(name))
        assert it.at_goal.options[name].warmer >= -SAME
        assert it.cost(name) >= it.cost(it.best)
    missing = set(it.at_goal.options) - set(it.fit)
    for name in missing:
        x = it.at_goal.options[name]
        assert not goal.is_kept(it.season(name)) or x.warmer < -SAME


def test_a_proposal_joins_the_options():
    it = found()
    assert it.proposals
    for proposal in it.proposals:
        if proposal.option is not None:
            assert proposal.name in it.at_goal.options
            assert it.bought.purchases[proposal.name].first_cost > 0.0


def test_the_price_of_cures_that_cost_money_is_in_every_option():
    it = found()
    for name, purchase in purchases().items():
        paid = sum(tried.first_cost for tried in it.cures.applied(name))
        assert it.bought.purchases[name].first_cost == pytest.approx(purchase.first_cost + paid)


def test_helpful_options_miss_the_goal_for_less_money():
    it = found()
    for name in it.helpful:
        assert name not in it.fit
        assert it.cost(name) < it.cost(it.best)
        assert it.hours(name) < it.hours_as_set(it.base)


def test_a_content_owner_is_told_to_buy_nothing():
    """A goal that the house keeps already: no proposal, and the base option is the answer."""
    it = content()
    assert not it.is_humid or it.mold >= 1.0
    assert not it.proposals
    assert it.best == PLAIN
    assert it.ends_complaint
    assert it.helpful == ()


def test_without_purchases_energy_decides():
    it = ms.advise(study(), progress=False)
    assert it.bought is None
    assert it.repaid is None
    assert it.cost(it.best) == pytest.approx(it.energy(it.best))


def test_three_ways_give_three_numbers_and_one_reason():
    """Equally dry options cost more than options that end the complaint, if the goal asks for less."""
    ways = study().three_ways(progress=False)
    table = ways.table("si")
    costs = [table[f"cost_{way}_USD"] for way in ("as_set", "at_goal", "equal_dew_point")]
    assert costs[0][REHEAT] > costs[1][REHEAT]
    assert len({round(float(cost[REHEAT] - cost[DRYER]), 2) for cost in costs}) == 3
    words = ways.words(REHEAT, DRYER)
    for cost in costs:
        assert f"{abs(cost[REHEAT] - cost[DRYER]):,.0f} USD" in words
    assert "three differ because removing water costs energy" in words
    assert ways.table("us")["mean_dew_point_as_set_F"][DRYER] == pytest.approx(
        32.0 + 1.8 * table["mean_dew_point_as_set_C"][DRYER]
    )
    with pytest.raises(ms.InputError, match="nobody"):
        ways.words("nobody", DRYER)
