"""What options cost to buy, in a scenario: read, written as run, and refused."""

import tomllib
from pathlib import Path

import pytest
from support.scenario_files import HOUSE, assert_same_run, read, refused

import moistsim as ms
from moistsim.scenario import read_scenario, write_scenario

BOUGHT = (
    HOUSE.replace('strategy = "temperature_only"\n', 'strategy = "temperature_only"\npurchase = { first_cost = 0 }\n')
    + """[options."with box".purchase]
first_cost = "1,800 USD"
life = "10 year"
maintenance = "30 USD/year"
[economics]
years = 12
discount_rate = "4.5 %"
[economics.loan]
rate = "8 %"
term = "3 year"
"""
)  # fmt: skip


def test_purchases_and_terms_are_read_and_written_as_run(folder: Path, tmp_path: Path) -> None:
    scenario = read(folder, BOUGHT)
    assert scenario.purchases == {
        "plain": ms.Purchase(first_cost=0.0),
        "with box": ms.Purchase(first_cost=1800.0, life=10.0, maintenance=30.0),
    }
    assert scenario.terms == ms.Terms(
        years=12, discount_rate=0.045, loan=ms.Loan(rate=0.08, term=3)
    )
    write_scenario(scenario, tmp_path / "as_run.toml")
    assert_same_run(scenario, read_scenario(tmp_path / "as_run.toml"))
    table = tomllib.loads((tmp_path / "as_run.toml").read_text(encoding="utf-8"))
    assert table["economics"]["inflation"] == 0.02
    assert table["options"]["with box"]["purchase"]["rebate"] == "0.0 USD"
    # Without purchases nothing is said of them, and purchases alone have the library's terms.
    none = read(folder, HOUSE)
    assert (none.purchases, none.terms) == ({}, None)
    assert read(folder, BOUGHT.partition("[economics]")[0]).terms == ms.Terms()


def test_prices_of_cures_are_read_and_written_as_run(folder: Path, tmp_path: Path) -> None:
    scenario = read(folder, HOUSE + '[cures]\nseal_ducts = "950 USD"\n')
    assert scenario.cure_prices == ms.CurePrices(seal_ducts=950.0)
    write_scenario(scenario, tmp_path / "as_run.toml")
    again = read_scenario(tmp_path / "as_run.toml")
    assert_same_run(scenario, again)
    assert again.cure_prices == scenario.cure_prices
    assert read(folder, HOUSE).cure_prices == ms.CurePrices()


def test_a_measured_air_leakage_is_known(folder: Path) -> None:
    """ASHRAE 62.2 credits infiltration after a blower-door test only."""
    assert not read(folder, HOUSE).is_leakage_measured
    for name in ("house.ach50", "house"):
        assert read(folder, f'measured = ["{name}"]\n' + HOUSE).is_leakage_measured


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (
            "purchase = { first_cost = 0 }", "",
            "house.toml [options.plain]: no purchase, though the scenario asks for economics. "
            "Use a table purchase with a first_cost, 0 if nothing is bought.",
        ),
        (
            'first_cost = "1,800 USD"', "",
            "house.toml [options.\"with box\".purchase] first_cost: missing. Use first cost "
            "with installation, before any rebate; 0 for no purchase: a sum of money, such as "
            "'$1,800' or '1800 USD'.",
        ),
        (
            '"1,800 USD"', '"-1,800 USD"',
            "house.toml [options.\"with box\".purchase] first_cost: '-1,800 USD' is too small. Use "
            "a sum of money from 0 to 10,000,000 USD.",
        ),
        (
            '"10 year"', "0",
            "house.toml [options.\"with box\".purchase] life: 0 is too small. Use a span of years "
            "from 1 to 100 years.",
        ),
        (
            '"4.5 %"', "4.5",
            "house.toml [economics] discount_rate: 4.5 is 450 % if it is a rate a year. Did you "
            "mean '4.5 %'? Write the unit.",
        ),
        (
            "years = 12", "year = 12",
            "house.toml [economics]: unknown key 'year'. Did you mean 'years'? Other choices: "
            "'rates', 'inflation', 'discount_rate', 'electricity_escalation', 'gas_escalation', "
            "'loan'.",
        ),
        (
            "years = 12", "years = 2",
            "house.toml [economics] loan: the loan's term is 3 years. Use a value of at most the study period, 2 "
            "years.",
        ),
    ],
)  # fmt: skip
def test_a_purchase_that_cannot_be_is_one_sentence(
    folder: Path, old: str, new: str, sentence: str
) -> None:
    assert refused(folder, BOUGHT.replace(old, new)) == sentence
