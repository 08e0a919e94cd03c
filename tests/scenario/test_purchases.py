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


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (
            "purchase = { first_cost = 0 }", "",
            "house.toml [options.plain]: found no purchase, though the scenario asks for economics; "
            "accepted: a table purchase with a first_cost, 0 if nothing is bought",
        ),
        (
            'first_cost = "1,800 USD"', "",
            'house.toml [options."with box".purchase] first_cost: found nothing, though it must be '
            "given; accepted: price with installation, before any rebate; 0 if nothing is bought: a "
            "sum of money as a number in USD, or a text such as '1800 USD' or '1,800 USD'",
        ),
        (
            '"1,800 USD"', '"-1,800 USD"',
            'house.toml [options."with box".purchase] first_cost: found \'-1,800 USD\'; accepted: a '
            "sum of money at least 0 USD",
        ),
        (
            '"10 year"', "0",
            'house.toml [options."with box".purchase] life: found 0; accepted: a span of years at '
            "least 1 year and at most 100 year",
        ),
        (
            '"4.5 %"', "4.5",
            "house.toml [economics] discount_rate: found 4.5; accepted: '4.5 %' if percent is meant, "
            "or a rate a year above -0.5 and below 1",
        ),
        (
            "years = 12", "year = 12",
            "house.toml [economics]: found the key 'year', which is not known; accepted: 'years', "
            "which is near it, or another of 'rates', 'inflation', 'discount_rate', "
            "'electricity_escalation', 'gas_escalation', 'loan'",
        ),
        (
            "years = 12", "years = 2",
            "house.toml [economics] loan: found a term of 3 years; accepted: at most the study "
            "period, 2 years",
        ),
    ],
)  # fmt: skip
def test_a_purchase_that_cannot_be_is_one_sentence(
    folder: Path, old: str, new: str, sentence: str
) -> None:
    assert refused(folder, BOUGHT.replace(old, new)) == sentence
