"""Advice in other weather years: settings stay, each year is judged by itself, and one option wins."""

import attrs
import pandas as pd
import pytest
from support.weather_years import PLAIN, PRICE, advice, found, years

import moistsim as ms
from moistsim.advice import HUMID, WHOLE_COST
from moistsim.report import across_years
from moistsim.report.over_years import in_short


def test_the_study_s_own_weather_gives_its_own_numbers() -> None:
    it, own = found(), advice()
    here = it.table.xs("2014", level="year")
    assert it.winners["2014"] == own.best and own.best != PLAIN
    for name, x in own.at_goal.options.items():
        assert here.loc[name, HUMID] == x.hours
        assert here.loc[name, "total_kWh"] == own.season(name).meter.total_kwh
        assert here.loc[name, WHOLE_COST] == own.cost(name)
        assert here.loc[name, "keeps_goal"] == (x.meets and x.comparable)


def test_a_year_is_a_season_at_the_advised_settings() -> None:
    """By hand: the advised strategy in that weather, its kWh by a flat price, 3 % over ten years."""
    it, own = found(), advice()
    x = own.at_goal.options[own.best]
    season = ms.simulate(
        own.at_goal.study.house, x.equipment, x.strategy, years()["2015"], step="5 min"
    )
    row = it.table.loc[("2015", own.best)]
    assert row[HUMID] == own.at_goal.goal.humid_hours(season)
    assert row["total_kWh"] == season.meter.total_kwh
    assert row["cost_USD"] == pytest.approx(PRICE * row["total_kWh"], abs=0.01)
    # The present value of 1 USD a year for 10 years at 3 % is 8.530 USD.
    before = it.table.loc[("2014", own.best)]
    assert row[WHOLE_COST] - before[WHOLE_COST] == pytest.approx(
        8.5302 * (row["cost_USD"] - before["cost_USD"]), abs=0.02
    )


def test_more_humid_air_makes_a_more_humid_house() -> None:
    plain = found().table.xs(PLAIN, level="option")[HUMID]
    assert plain["2016"] < plain["2014"] < plain["2015"]


def test_a_dry_year_is_won_by_the_house_as_it_is() -> None:
    it, best = found(), advice().best
    assert it.winners == {"2014": best, "2015": best, "2016": PLAIN}
    assert it.wins == {best: ("2014", "2015"), PLAIN: ("2016",)}
    assert it.misses(PLAIN) == ("2014", "2015") and it.without == ()
    wins = it.table["wins"].groupby("year").sum()
    assert (wins == 1).all()


def test_the_spread_is_that_of_the_table() -> None:
    it, best = found(), advice().best
    costs = it.table.xs(best, level="option")["cost_USD"]
    assert it.spread(best, "cost_USD") == (costs.min(), costs.median(), costs.max())
    by = it.table[WHOLE_COST].unstack("option")
    lead = by[PLAIN] - by[best]
    assert it.lead(PLAIN) == (lead.min(), lead.median(), lead.max())


def test_words_and_table() -> None:
    it, best = found(), advice().best
    said = across_years(it)
    assert said.sentences[0] == (
        f"“{best}” is the cheapest option that keeps the goal in 2 of 3 weather years (2014 to 2016). "
        f"Others win in the rest: “{PLAIN}” in 2016."
    )
    assert it.spread(best, HUMID).high < 0.5
    cost = it.spread(best, "cost_USD")
    assert said.sentences[1] == (
        f"With “{best}”, relative humidity is above 60 % for hardly an hour in each year; the goal allows 2. "
        f"Energy costs {cost.low:.0f} to {cost.high:.0f} USD."
    )
    rival = it.advice.rival
    assert rival is not None and it.lead(rival).low < 0.0
    low, _, high = it.lead(rival)
    assert said.sentences[2] == (
        f"It costs from {high:.0f} USD less to {-low:.0f} USD more over 10 years than “{rival}”, depending on the year."
    )
    assert "Settings and machines are those advised for Someplace." in said.note
    assert "over 10 years" in said.note
    rows = {
        row.label: dict(zip(said.table.columns, row.cells, strict=True)) for row in said.table.rows
    }
    assert rows["Cheapest at the goal, of 3 years"][best] == "2"
    assert rows["At goal and setpoints, of 3 years"][PLAIN] == "1"
    plain = it.table.xs(PLAIN, level="option")[HUMID]
    assert rows["Hours above 60 %, median"][PLAIN] == f"{plain.median():.0f}"
    assert in_short(it) == (
        f"In 2 of 3 weather years with these settings, “{best}” is the cheapest that keeps the goal."
    )
    for text in (*said.sentences, said.note):
        for sentence in text.split(". "):
            assert len(sentence.split()) <= 32, sentence


def test_words_where_one_option_wins_all_or_none_does() -> None:
    it, best = found(), advice().best
    all_won = attrs.evolve(
        it, winners={str(year): best for year in range(2014, 2024)}, are_actual=True
    )
    assert across_years(all_won).sentences[0] == (
        f"In each of 10 actual years (2014 to 2023), “{best}” is the cheapest option that keeps the goal."
    )
    assert in_short(all_won).startswith("In all 10 actual years with")
    none = attrs.evolve(it, winners={"2014": None, "2016": None, "dry": PLAIN})
    assert across_years(none).sentences[0] == (
        f"“{best}” is the cheapest option that keeps the goal in none of 3 weather years (2014, 2016, dry). "
        f"Others win in the rest: “{PLAIN}” in dry. No option keeps the goal in 2 years (2014 and 2016)."
    )


def test_words_of_hours_and_of_a_lead_on_one_side() -> None:
    it, best = found(), advice().best
    table, rival = it.table.copy(), it.advice.rival
    table.loc[("2015", best), HUMID] = 12.2
    table[WHOLE_COST] = table[WHOLE_COST].where(
        table.index.get_level_values("option") != best, 1000.0
    )
    for year, cost in (("2014", 1300.0), ("2015", 1100.0), ("2016", 1040.0)):
        table.loc[(year, rival), WHOLE_COST] = cost
    said = across_years(attrs.evolve(it, table=table)).sentences
    assert " for 0 to 12 hours, depending on the year; the goal allows 2." in said[1]
    assert said[2].startswith("It costs 40 to 300 USD less over 10 years than ")


def test_an_advised_option_that_misses_the_goal_in_a_year_says_so() -> None:
    it, best = found(), advice().best
    table = it.table.copy()
    table.loc[("2015", best), "keeps_goal"] = False
    said = across_years(attrs.evolve(it, table=table)).sentences[-1]
    assert said.startswith(
        f"“{best}” misses the goal or its setpoints in 2015. A lower humidity setting"
    )


def test_without_purchases_energy_decides() -> None:
    it = ms.over_years(advice(priced=False), {"a": years()["2014"]}, progress=False)
    assert WHOLE_COST not in it.table and it.winners == {"a": it.advice.best}
    assert across_years(it).note.endswith("The cheapest option has the lowest energy cost.")


def test_the_labels_are_the_years_of_a_record() -> None:
    """Numbers, as from `fetch_actual_years`, become texts."""
    it = ms.over_years(advice(), {2014: years()["2014"]}, progress=False)
    assert it.labels == ("2014",)
    assert isinstance(it.table.index, pd.MultiIndex) and it.table.index.names == ["year", "option"]


def test_no_year_is_refused() -> None:
    with pytest.raises(
        ms.InputError, match=r"over_years: cannot use \{\}. Use one weather or more"
    ):
        ms.over_years(advice(), {}, progress=False)
