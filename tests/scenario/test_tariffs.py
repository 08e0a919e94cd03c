"""Tariffs and emissions in scenario files, studies and sweeps."""

from pathlib import Path

import attrs
import numpy as np
import pandas as pd
import pytest
from support.scenario_files import write_ten_days

import moistsim as ms
from moistsim.__main__ import main
from moistsim.scenario import Scenario, ScenarioError, read_scenario, write_scenario
from moistsim.study.study import Comparison

FILE = """\
name = "House of the tests"
[weather]
file = "june.csv"
[season]
start = "06-28"
end = "07-03"
step = "5 min"
[house]
floor_area = "1500 ft2"
ach50 = 3
[tariff]
zone = "America/New_York"
year = 2026
holidays = ["US federal", "12-24", 2026-11-27]
fixed_charge = "9.50 USD/month"
daily_charge = "3 cent/day"
minimum = "15 USD/month"
tax = "6 %"
tax_per_kwh = "0.2 cent/kWh"
other_use = "500 kWh/month"
export = "netted"
export_price = "4 cent/kWh"
[tariff.other_use_profile]
values = [1, 1, 1, 1, 1, 1, 2, 2, 1, 1, 1, 1, 1, 1, 1, 2, 3, 4, 4, 4, 3, 2, 1, 1]
[tariff.solar.table]
file = "roof.csv"
column = "kW"
[[tariff.demand]]
price = "3 USD/kW"
hours = ["15:00 to 20:00"]
days = "weekdays"
season = "summer"
[[tariff.seasons]]
name = "summer"
days = ["06-01 to 09-30"]
[[tariff.seasons.periods]]
name = "on peak"
price = "28 cent/kWh"
hours = ["12:00 to 21:00"]
days = "weekdays"
[[tariff.seasons.periods]]
name = "off peak"
price = "8 cent/kWh"
[[tariff.seasons]]
name = "winter"
days = ["10-01 to 05-31"]
tiers = [{ price = 0.11, up_to = "1000 kWh" }, { price = 0.13 }]
[emissions]
electricity = "0.4 kg/kWh"
[equipment.cooling]
stages = [{ capacity = "2 ton" }]
[equipment.ventilation]
airflow = "60 cfm"
[options.plain]
strategy = "temperature_only"
[options.colder]
strategy = "overcooling"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    here = tmp_path_factory.mktemp("tariffs")
    write_ten_days(here / "june.csv", "06-26")
    index = pd.date_range("2019-01-01", periods=8760, freq="1h")
    sun = np.maximum(0.0, 3.0 * np.sin((index.hour - 6) / 12.0 * np.pi)).round(3)
    roof = pd.DataFrame({"kW": sun, "degC": 25.0}, index=index)
    roof.to_csv(here / "roof.csv", index_label="time", date_format="%Y-%m-%dT%H:%M")
    return here


def read(folder: Path, text: str = FILE) -> Scenario:
    (folder / "house.toml").write_text(text, encoding="utf-8")
    return read_scenario(folder / "house.toml")


@pytest.fixture(scope="module")
def compared(folder: Path) -> Comparison:
    return read(folder).study.run(progress=False)


def test_a_file_says_all_of_a_tariff_and_is_written_as_run(folder: Path) -> None:
    scenario = read(folder)
    tariff = scenario.study.tariff
    assert tariff.price is None and tariff.other_use == pytest.approx(6000.0)
    assert tariff.holidays == ("US federal", "12-24", "2026-11-27")
    assert tariff.seasons[0].periods[0].price == pytest.approx(0.28)
    assert tariff.seasons[1].tiers == (
        ms.RateTier(price=0.11, up_to=1000.0), ms.RateTier(price=0.13),
    )  # fmt: skip
    assert tariff.demand[0] == ms.DemandCharge(
        price=3.0, hours=["15:00 to 20:00"], days="weekdays", season="summer"
    )
    assert len(tariff.solar.values) == 8760 and max(tariff.solar.values) == 3.0
    write_scenario(scenario, folder / "again.toml")
    again = read_scenario(folder / "again.toml").study
    assert again.tariff == tariff and again.emissions == scenario.study.emissions


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            '"06-01 to 09-30"', '"06-02 to 09-30"',
            "house.toml [tariff] seasons: no season from 06-01 to 06-01. Use seasons",
        ),
        (
            'days = "weekdays"\n[[tariff.seasons.periods]]', "[[tariff.seasons.periods]]",
            None,
        ),
        (
            'name = "off peak"', 'name = "off peak"\nhours = ["20:00 to 12:00"]',
            ("house.toml [tariff.seasons] number 1 periods: 'on peak' and 'off peak' overlap on "
            "weekdays from 20:00 to 21:00. Use periods that cover each hour once."),
        ),
        (
            '"28 cent/kWh"', '"-28 cent/kWh"',
            ("house.toml [tariff.seasons.periods] number 1 price: '-28 cent/kWh' is too small. "
            "Use a price of energy from 0 to 500 cent/kWh."),
        ),
        (
            "hours = [\"15:00 to 20:00\"]", 'hours = ["3 to 8 pm"]',
            ("house.toml [tariff.demand] number 1 hours: cannot use '3 to 8 pm'. Use two "
            "different times of the day at quarters of an hour, such as '14:00 to 20:00'."),
        ),
        (
            "2026-11-27]", '"Labor day"]',
            ("house.toml [tariff] holidays: cannot use 'Labor day'. Use a date such as '12-25' or "
            "'2026-11-27', 'US federal' or the name of a US federal holiday such as 'Labor Day'."),
        ),
        (
            '"America/New_York"', '"America/NewYork"',
            ("house.toml [tariff] zone: cannot use 'America/NewYork'. Did you mean "
            "'America/New_York'?"),
        ),
        (
            'file = "roof.csv"', 'file = "rof.csv"',
            ("house.toml [tariff.solar.table] file: 'rof.csv' is not a file. Use the path "
            "of a CSV file, relative to the folder of the scenario."),
        ),
        (
            'column = "kW"', 'column = "W"',
            "house.toml [tariff.solar.table] roof.csv: no column 'W'. Use one of kW",
        ),
        (
            "[tariff.solar.table]", "[tariff.solar]\nvalues = [1]\n[tariff.solar.table]",
            "house.toml [tariff.solar]: table and values together. Use one of table",
        ),
        (
            "values = [1, 1, ", "values = [1, ",
            ("house.toml [tariff.other_use_profile] values: 23 numbers. Use 24 numbers (the hours "
            "of every day), 8760 or 8784 (those of a year from January 1, local standard time), "
            "none negative."),
        ),
        (
            'season = "summer"', 'season = "sumer"',
            ("house.toml [tariff.demand] number 1 season: cannot use 'sumer'. Did you mean "
            "'summer'? The other choice is 'winter'."),
        ),
        (
            'tax = "6 %"', "tax = 6",
            ("house.toml [tariff] tax: 6 is 600 % if it is a fraction. Did you mean '6 %'? Write "
            "the unit."),
        ),
        (
            'electricity = "0.4 kg/kWh"', "", (
                "house.toml [emissions] electricity: cannot use 'no factor and no "
                "profile'. Use one of electricity and electricity_profile."),
        ),
        (
            "{ price = 0.13 }", '{ price = 0.13, up_to = "900 kWh" }',
            ("house.toml [tariff.seasons.tiers] number 2 up_to: no price above 900 kWh. Use a last tier without up_to."),
        ),
    ],
)  # fmt: skip
def test_refused_by_file_table_and_key(folder: Path, old: str, new: str, words: str | None) -> None:
    assert old in FILE
    text = FILE.replace(old, new, 1)
    if words is None:
        read(folder, text)  # A peak on every day leaves the rest as it was.
        return
    with pytest.raises(ScenarioError) as caught:
        read(folder, text)
    assert words in str(caught.value)


def test_a_table_has_the_bills_and_the_emissions(compared: Comparison) -> None:
    table, bills = compared.table(), compared.bills()
    for name, bill in bills.items():
        season = compared.seasons[name]
        assert table.loc[name, "cost_USD"] == bill.unrounded
        assert [str(month) for month in bill.months.index] == ["2026-06", "2026-07"]
        own = season.quarters.sum() / 4.0
        assert own == pytest.approx(season.meter.total_kwh, rel=1e-12)
        others = 6000.0 * 6 / 365
        sun = 6 * sum(compared.study.tariff.solar.values[:24])
        assert (bill.use["bought_kWh"] - bill.use["given_kWh"]).sum() == pytest.approx(
            own + others - sun
        )
        assert table.loc[name, "emissions_kgCO2e"] == pytest.approx(0.4 * own)
    assert "emissions_kgCO2e" in compared.table("us")  # no weight of water


def test_the_price_of_the_difference_is_that_of_the_two_bills(compared: Comparison) -> None:
    assert compared.marginal_price("plain") is None
    plain, colder = compared.bills().values()
    more = (colder.use["bought_kWh"] - plain.use["bought_kWh"]).sum()
    price = (colder.unrounded - plain.unrounded) / more
    assert compared.marginal_price("colder") == pytest.approx(price)
    with pytest.raises(ms.InputError, match="Did you mean 'colder'"):
        compared.marginal_price("coldr")


def test_a_flat_price_costs_what_it_did(folder: Path, compared: Comparison) -> None:
    tariff = ms.Tariff(price=0.137)
    flat = Comparison(attrs.evolve(compared.study, tariff=tariff), compared.seasons)
    for name, row in flat.table().iterrows():
        season = compared.seasons[name]
        assert row["cost_USD"] == pytest.approx(0.137 * season.meter.total_kwh, rel=1e-12)
    assert flat.marginal_price("colder") == pytest.approx(0.137)


def test_a_furnace_brings_the_fixed_charge_of_gas(compared: Comparison) -> None:
    tariff = ms.Tariff(price=0.1, gas_fixed_charge="30 USD/month")
    study = attrs.evolve(compared.study, tariff=tariff)
    season = compared.seasons["plain"]
    assert "gas fixed" not in study.bill(season).months
    season = attrs.evolve(
        season, equipment=attrs.evolve(season.equipment, furnace=ms.Furnace(capacity="40 kBtu/h"))
    )
    # Three days of June and three of July.
    assert list(study.bill(season).months["gas fixed"]) == [3.0, 2.9]


def test_sweeps_vary_the_parts_of_a_tariff(folder: Path) -> None:
    study = attrs.evolve(read(folder).study, end="06-29")
    name = "tariff.seasons.1.periods.1.price"
    frame = ms.Sweep(study, {name: ["10 cent/kWh", "30 cent/kWh"]}).run("threads", progress=False)
    assert set(frame["status"]) == {"ok"} and (frame["emissions_kgCO2e"] > 0.0).all()
    cost = frame.pivot(index=name, columns="option", values="cost_USD")
    assert (cost.loc[0.3] > cost.loc[0.1]).all()
    one = Comparison(
        study, {"plain": ms.simulate(study.house, *study.options["plain"], study.weather,
                                     start=study.start, end=study.end, step=study.step)},
    )  # fmt: skip
    periods = study.tariff.seasons[0].periods
    dear = attrs.evolve(periods[0], price=0.3)
    summer = attrs.evolve(study.tariff.seasons[0], periods=(dear, periods[1]))
    tariff = attrs.evolve(study.tariff, seasons=(summer, study.tariff.seasons[1]))
    assert (
        cost.loc[0.3, "plain"]
        == attrs.evolve(study, tariff=tariff).bill(one.seasons["plain"]).unrounded
    )


def test_a_price_that_would_do_nothing_is_refused(folder: Path) -> None:
    study = attrs.evolve(read(folder).study, end="06-28", step="15 min")
    frame = ms.Sweep(study, {"tariff.price": [0.1]}).run("threads", progress=False)
    assert frame["status"].str.contains("price and seasons together").all()


def test_the_screen_tells_average_from_marginal(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    read(folder)
    assert main(["study", str(folder / "house.toml"), "--out", str(folder / "out")]) == 0
    text = capsys.readouterr().out
    assert "electricity by season (summer, winter) with demand charge, fixed" in " ".join(
        text.split()
    )
    for row in ("Whole-house energy cost, USD", "Average price, cents/kWh", "Price of one more kWh, cents/kWh",
                "Emissions, lb CO2e"):  # fmt: skip
        line = next(line for line in text.splitlines() if line.startswith(row))
        values = [float(x.replace(",", "")) for x in line.removeprefix(row).split()]
        assert len(values) == 2 and all(np.isfinite(values))
