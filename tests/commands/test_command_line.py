"""The command line: what stands on the screen, what lies in the folder, how it fails."""

import html
import io
import logging
import re
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pandas as pd
import pytest
from PIL import Image
from support.scenario_files import FIVE_OPTIONS, write_ten_days

from moistsim.__main__ import main
from moistsim.commands.screen import WIDTH, told
from moistsim.commands.study_files import hourly_files
from moistsim.scenario import DEMO, read_scenario


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    here = tmp_path_factory.mktemp("command")
    write_ten_days(here / "october.csv", "10-17")
    (here / "house.toml").write_text(FIVE_OPTIONS, encoding="utf-8")
    return here


def run(*arguments: str) -> str:
    """What a run shows."""
    out = io.StringIO()
    with redirect_stdout(out):
        assert main(["study", *arguments]) == 0
    return out.getvalue()


@pytest.fixture(scope="module")
def us(folder: Path) -> Path:
    """Results in trade units, of a run that says nothing."""
    errors = io.StringIO()
    with redirect_stderr(errors):
        assert run(str(folder / "house.toml"), "--out", str(folder / "us"), "--quiet") == ""
    assert errors.getvalue() == ""
    return folder / "us"


@pytest.fixture(scope="module")
def screen(folder: Path) -> str:
    """What a run shows in SI."""
    return run(
        str(folder / "house.toml"), "--out", str(folder / "si"), "--units", "si", "--sources"
    )


def row(screen: str, label: str) -> list[float]:
    """The numbers of a row, over the blocks of options."""
    lines = [line for line in screen.splitlines() if line.startswith(label)]
    assert lines, f"no row {label}"
    return [
        float(x.replace(",", "").replace("\N{MINUS SIGN}", "-"))
        for line in lines
        for x in line[len(label) :].split()
    ]


def test_the_screen_fits_and_says_what_was_run(screen: str) -> None:
    lines = screen.splitlines()
    assert max(map(len, lines)) <= WIDTH == 100
    assert all(line == line.rstrip() for line in lines)
    assert lines[:2] == ["House of the tests", ""] and "Invented." in lines
    assert "House    139 m², 1 story, 3 ACH50, 3 people, household moisture 6.6 L/day" in lines
    assert any(line.startswith("Weather  Miami FL 12839: mean dry bulb ") for line in lines)
    assert (
        "Period   22 October to 25 October, 4 days, step 60 s; electricity at 0.2 USD/kWh" in lines
    )
    text = " ".join(screen.split())
    for words in (
        "breaker",
        "low-voltage",
        "Heat without airflow",
        "line voltage",
        "mold",
        "local codes",
    ):
        assert words in text
    assert "Bills are comparable only between equally dry houses" in text


def test_the_answer_comes_first_and_is_that_of_the_page(folder: Path, screen: str) -> None:
    lines = screen.splitlines()
    assert lines[2].startswith("What to do     ")
    starts = [k for k, line in enumerate(lines) if line and not line.startswith(" ")][1:]
    labels = ("What to do", "What it costs", "How sure", "Invented.", "House", "Weather", "Period")
    for k, label in zip(starts, labels, strict=False):
        assert lines[k].startswith(label)
    page = (folder / "si" / "report.html").read_text(encoding="utf-8")
    shown = re.findall(r"<dt>(?:What to do|What it costs|How sure)</dt><dd>(.*?)</dd>", page)
    assert len(shown) == 3
    said = " ".join(screen.split())
    for text in shown:
        assert " ".join(html.unescape(text).split()) in said


def test_brief_prints_the_answer_and_the_folder_only(folder: Path, screen: str) -> None:
    out = folder / "brief"
    said = run(str(folder / "house.toml"), "--out", str(out), "--units", "si", "--brief")
    answer = screen.split("\n\n")[1]
    assert said == f"{answer}\n\nResults in {out}\n"
    assert {path.name for path in out.iterdir()} >= {"report.html", "table.csv", "season.png"}


def test_sources_add_up_to_the_table(folder: Path, screen: str) -> None:
    """Each machine's water and electricity by source; the compressor's on strip heat on screen."""
    table = pd.read_csv(folder / "si" / "table.csv", index_col="option")
    sources = pd.read_csv(folder / "si" / "sources.csv", index_col=["option", "source"])
    sums = sources.groupby("option").sum().loc[table.index]
    for column in ("dehumidifier_water_kg", "compressor_kWh", "dehumidifier_kWh"):
        assert sums[column].to_numpy() == pytest.approx(table[column].to_numpy(), rel=1e-9)
    on_strips = sources.loc[("Reheat", "reheat"), "compressor_kWh"]
    ratio = on_strips / table.loc["Reheat", "reheat_kWh"]
    text = " ".join(screen.split())
    assert ratio > 0.05
    assert f"{ratio:.2f} kWh for each kWh of electric reheat" in text
    for name in ("sources.png", "loads.png"):
        assert (folder / "si" / name).stat().st_size > 10_000
    assert "sources.png: water and electricity of each machine by source, as a figure" in screen


def test_the_screen_shows_the_numbers_of_the_table(folder: Path, screen: str) -> None:
    screen, at_goal = screen.split("At the goal:")
    table = pd.read_csv(folder / "si" / "table.csv", index_col="option")
    assert len(table) == 5
    assert row(screen, "Total electricity, kWh") == pytest.approx(table["total_kWh"], abs=0.51)
    assert row(screen, "Energy cost, USD") == pytest.approx(0.20 * table["total_kWh"], abs=0.51)
    base = table["total_kWh"]["Plain"]
    assert row(screen, "Difference from base, kWh") == pytest.approx(
        table["total_kWh"] - base, abs=0.51
    )
    assert row(screen, "Mean indoor dew point, °C") == pytest.approx(
        table["mean_dew_point_C"], abs=0.051
    )
    water = table["coil_water_kg"] + table["dehumidifier_water_kg"]
    # 0.9982 kg/L, as in the rating of dehumidifiers.
    assert row(screen, "Water removed, L/day") == pytest.approx(water / 4 / 0.9982, abs=0.051)
    assert row(screen, "Cooling runtime, h") == pytest.approx(table["cooling_stage_1_h"], abs=0.51)
    # Natural infiltration of the one month and of the season; ten days of weather have no year.
    hourly = pd.read_parquet(folder / "si" / "hourly-1-plain.parquet")
    flow = 1000.0 * hourly["natural_infiltration_m3"].mean() / 3600.0
    lines = at_goal.splitlines()
    infiltration = next(x for x in lines if x.startswith("  All options")).split()
    goal = pd.read_csv(folder / "si" / "goal.csv", index_col="option")
    assert row(at_goal.split("Over ")[0], "Total electricity, kWh") == pytest.approx(
        goal["total_at_goal_kWh"], abs=0.51
    )
    assert float(infiltration[3]) == pytest.approx(flow, abs=0.51) and infiltration[4] == "–"
    # What nobody uses has no row.
    assert "Auxiliary heat, kWh" not in screen
    assert "Electric reheat, kWh" in screen


def test_a_control_that_asks_for_a_machine_that_is_not_there_is_refused(tmp_path: Path) -> None:
    write_ten_days(tmp_path / "october.csv", "10-18")
    capacity = '[options.Box.equipment.dehumidifier]\ncapacity = "70 pint/day"\n'
    (tmp_path / "house.toml").write_text(FIVE_OPTIONS.replace(capacity, ""), encoding="utf-8")
    errors = io.StringIO()
    with redirect_stderr(errors):
        code = main(["study", str(tmp_path / "house.toml"), "--out", str(tmp_path / "out")])
    assert code == 2 and not (tmp_path / "out").exists()
    assert errors.getvalue() == (
        'moistsim: house.toml [options."Box"]: strategy with_dehumidifier calls a dehumidifier, which this '
        "option lacks. Add [equipment.dehumidifier] in a file or Equipment(dehumidifier=...) in Python, "
        "or use another strategy.\n"
    )


def test_the_folder_holds_every_result(folder: Path, us: Path, screen: str) -> None:
    names = sorted(path.name for path in us.iterdir())
    hourly = [name for name in names if name.startswith("hourly-")]
    assert hourly == [
        "hourly-1-plain.parquet",
        "hourly-2-a-machine-that-nobody-has-bought-yet-though-the-control-asks.parquet",
        "hourly-3-reheat.parquet",
        "hourly-4-colder.parquet",
        "hourly-5-box.parquet",
    ]
    others = ["bills.csv", "cures.csv", "day.png", "files.json", "goal.csv", "report.html", "scenario.toml",
              "season.png", "sheet.html", "table.csv"]  # fmt: skip
    assert sorted([*hourly, *others]) == names
    for name in ("season.png", "day.png"):
        assert (us / name).read_bytes().startswith(b"\x89PNG")
    bills = pd.read_csv(us / "bills.csv").groupby("option", sort=False)["total"].sum()
    table = pd.read_csv(us / "table.csv", index_col="option")
    assert list(bills.index) == list(table.index)
    # Months are rounded to cents, the table's cost is not.
    assert bills.to_numpy() == pytest.approx(table["cost_USD"].to_numpy(), abs=0.1)
    trade = pd.read_csv(us / "table.csv", index_col="option")
    metric = pd.read_csv(folder / "si" / "table.csv", index_col="option")
    assert trade["mean_dew_point_F"].tolist() == pytest.approx(
        (metric["mean_dew_point_C"] * 1.8 + 32.0).tolist()
    )
    season = pd.read_parquet(us / "hourly-1-plain.parquet")
    assert len(season) == 96
    assert season.index[0] == pd.Timestamp("1990-10-22")
    assert not season.isna().to_numpy().any()
    uses = [name for name in trade.columns if name.endswith("_kWh") and name in season.columns]
    assert season[uses].to_numpy().sum() == pytest.approx(trade["total_kWh"]["Plain"])
    # The list on the screen is what lies there.
    for name in names:
        assert f"  {name}" in screen


@pytest.mark.slow
def test_the_scenario_as_run_repeats_the_run(us: Path) -> None:
    again = us.parent / "again"
    run(str(us / "scenario.toml"), "--out", str(again), "--quiet")
    numbers = [
        pd.read_csv(f / "table.csv", index_col="option").select_dtypes("number")
        for f in (us, again)
    ]
    # The profiles carry a last bit of rounding.
    pd.testing.assert_frame_equal(*numbers, rtol=1e-6)


def test_without_a_mild_day_the_picture_is_of_the_most_humid_one(folder: Path) -> None:
    path = folder / "hot.toml"
    path.write_text(FIVE_OPTIONS.replace("2 ton", "0.5 ton"), encoding="utf-8")
    out = folder / "hot"
    screen = run(str(path), "--out", str(out))
    assert "a mild, humid day, or else the most humid one" in screen
    with Image.open(out / "day.png") as image:
        assert "the most humid day indoors (no day is mild)" in image.info["Description"]


@pytest.mark.slow
def test_what_options_cost_over_the_years(folder: Path) -> None:
    """Only where the scenario says what they cost to buy, and never left over from another run."""
    out = folder / "bought"
    text = FIVE_OPTIONS
    for line in ('strategy = "temperature_only"', 'strategy = "with_dehumidifier"',
                 'strategy = "staged_reheat"', 'strategy = "overcooling"'):  # fmt: skip
        price = {"reheat": 500, "over": 100, "temp": 0}.get(
            next((word for word in ("reheat", "over", "temp") if word in line), ""), 1500
        )
        text = text.replace(line, f"{line}\npurchase = {{ first_cost = {price} }}")
    (folder / "bought.toml").write_text(text, encoding="utf-8")
    screen = run(str(folder / "bought.toml"), "--out", str(out))
    table = pd.read_csv(out / "economics.csv", index_col="option")
    assert row(screen, "Life-cycle cost in today’s money, USD") == pytest.approx(
        table["life_cycle_cost_USD"], abs=0.51
    )
    assert row(screen, "Energy a year, USD") == pytest.approx(table["yearly_energy_USD"], abs=0.51)
    assert row(screen, "First cost less rebate, USD")[:5] == table["first_cost_USD"][:5].tolist()
    goal = pd.read_csv(out / "goal.csv", index_col="option")
    assert list(goal.index) == list(table.index)
    assert max(map(len, screen.splitlines())) <= WIDTH
    words = " ".join(screen.split())
    assert (
        "Over 10 years:" in words
        and "More expensive to buy, and pays back by costing less to run:" in words
    )
    assert (
        "Energy costs cover the season of 4 days. The rest of the year is assumed to cost" in words
    )
    assert (out / "economics.png").stat().st_size > 10_000
    screen = run(str(folder / "house.toml"), "--out", str(out))
    assert "Life-cycle" not in screen
    assert not (out / "economics.csv").exists() and not (out / "economics.png").exists()


@pytest.mark.slow
def test_the_demo_needs_no_argument(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    out = run()
    assert out.startswith("No scenario given: running the demo, an invented house.\n")
    assert max(map(len, out.splitlines())) <= WIDTH
    table = pd.read_csv(tmp_path / "moistsim-demo" / "table.csv", index_col="option")
    assert table.index.tolist() == list(read_scenario(DEMO).study.options)
    # Reheat pays for heat and for its removal: the most expensive of the four, and the damp base the
    # cheapest (common practice, no source).
    assert table["total_kWh"].idxmax() == "Staged compressor with strip reheat"
    assert table["total_kWh"].idxmin() == "Cooling by temperature only"
    assert table["mean_dew_point_F"].idxmax() == "Cooling by temperature only"


REFUSED = {
    "scenario": (
        ["study", "house.toml"],
        {"house.toml": FIVE_OPTIONS.replace("ach50 = 3", "ach5 = 3")},
        "moistsim: house.toml [house]: unknown key 'ach5'. Did you mean 'ach50'?\n",
    ),
    "no scenario": (
        ["study", "none.toml"],
        {},
        "moistsim: none.toml: no such file. Use the path of a scenario file.\n",
    ),
    "step": (
        ["study", "house.toml", "--quiet"],
        {"house.toml": FIVE_OPTIONS.replace("[house]", 'step = "7 min"\n[house]')},
        (
            "moistsim: house.toml [season] step: cannot use '7 min'. Use a time that divides 15 min "
            "into whole steps, such as '60 s'.\n"
        ),
    ),
    "folder that is a file": (
        ["study", "house.toml", "--out", "house.toml"],
        {"house.toml": FIVE_OPTIONS},
        "moistsim: --out house.toml: this is a file. Use a folder, new or not.\n",
    ),
    "folder of the scenario": (
        ["study", "scenario.toml", "--out", "."],
        {"scenario.toml": FIVE_OPTIONS},
        (
            "moistsim: --out .: the scenario as run would overwrite the scenario in this folder. "
            "Use another folder.\n"
        ),
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_an_error_is_one_sentence_and_code_2(
    case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments, files, sentence = REFUSED[case]
    monkeypatch.chdir(tmp_path)
    write_ten_days(tmp_path / "october.csv", "10-17")
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert main(arguments) == 2
    assert capsys.readouterr().err == sentence


PRICE, LIFE = 'price = "15 ± 2 cent/kWh"', 'life = "10 ± 2 year"'
DISCOUNT = 'discount_rate = { low = "1 %", likely = "3 %", high = "6 %" }'
BAD_DECISIONS = {
    "negative price": (PRICE, 'price = "-15 cent/kWh"', (
        "moistsim: bad.toml [tariff] price: '-15 cent/kWh' is too small. Use a price of "
        "energy from 0 to 500 cent/kWh.\n")),
    "cents as dollars": (PRICE, "price = 15", (
        "moistsim: bad.toml [tariff] price: 15 is 1,500 cent/kWh if it is in USD/kWh. Did "
        "you mean '15 cent/kWh'? Write the unit.\n")),
    "life of zero": (LIFE, "life = 0", (
        "moistsim: bad.toml [options.\"Stand-alone dehumidifier\".purchase] life: 0 is too "
        "small. Use a span of years from 1 to 100 years.\n")),
    "discount of 5": (
        DISCOUNT, "discount_rate = 5",
        ("moistsim: bad.toml [economics] discount_rate: 5 is 500 % if it is a rate a year. Did "
        "you mean '5 %'? Write the unit.\n"),
    ),
    "no first cost": (
        'first_cost = "1,800 ± 250 USD", ', "", (
            "moistsim: bad.toml [options.\"Stand-alone dehumidifier\".purchase] first_cost: "
            "missing. Use first cost with installation, before any rebate; 0 for no purchase: a "
            "sum of money, such as '$1,800' or '1800 USD'.\n")
    ),
    "no purchase": (
        "purchase = { first_cost = 0 }", "",
        ("moistsim: bad.toml [options.\"Cooling by temperature only\"]: no purchase, though the "
        "scenario asks for economics. Use a table purchase with a first_cost, 0 if nothing is "
        "bought.\n"),
    ),
    "gap": (
        PRICE, 'periods = [{ name = "day", price = 0.2, hours = ["08:00 to 20:00"] }]',
        ("moistsim: bad.toml [tariff] periods: no period on weekdays from 00:00 to 08:00. Use "
        "periods that cover each hour once; one without hours and days covers all others.\n"),
    ),
    "overlap": (
        PRICE,
        'seasons = [{ name = "dry", price = 0.1, days = ["10-01 to 06-15"] },'
        ' { name = "wet", price = 0.2, days = ["06-01 to 09-30"] }]',
        ("moistsim: bad.toml [tariff] seasons: 'dry' and 'wet' overlap from 06-01 to 06-15. Use "
         "seasons that cover each day of the year once.\n"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD_DECISIONS)
def test_a_decision_on_bad_terms_is_refused_before_any_run(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    was, now, words = BAD_DECISIONS[case]
    text = DEMO.read_text(encoding="utf-8")
    assert was in text
    bad = tmp_path / "bad.toml"
    bad.write_text(text.replace(was, now), encoding="utf-8")
    out = tmp_path / "out"
    assert main(["study", str(bad), "--out", str(out), "--quiet"]) == 2
    said = capsys.readouterr()
    assert said.err == words
    assert said.err.count("\n") == 1 and not said.out and not out.exists()


def test_a_folder_that_cannot_be_made_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = folder / "october.csv" / "results"
    assert main(["study", str(folder / "house.toml"), "--out", str(out)]) == 2
    error = capsys.readouterr().err
    assert error.startswith(f"moistsim: {out}: cannot be written (")
    assert error.endswith("). Use a place that can be written to.\n")


def test_unknown_arguments_end_with_code_2() -> None:
    for arguments in ([], ["studie"], ["study", "--units", "cgs"]):
        with pytest.raises(SystemExit) as caught:
            main(arguments)
        assert caught.value.code == 2


def test_it_runs_as_a_module_and_starts_light() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "moistsim", "--version"], capture_output=True, text=True, check=True
    )
    assert ran.stdout.startswith("moistsim ")
    # Figures and the sun are for those who ask for them.
    code = "import sys, moistsim.__main__ as m; m._parser(); print({'matplotlib', 'pvlib', 'tqdm'} & {*sys.modules})"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout == "set()\n"


def test_what_the_library_tells_goes_above_the_bar_or_nowhere(
    capsys: pytest.CaptureFixture[str],
) -> None:
    logger = logging.getLogger("moistsim")
    with told():
        logger.warning("First run.")
    with told(quiet=True):
        logger.warning("Another.")
    said = capsys.readouterr()
    # With the progress bar: what stands in the results is the answer alone.
    assert said.err == "First run.\n"
    assert said.out == ""


def test_names_of_options_become_names_of_files_on_any_system() -> None:
    assert list(hourly_files(["CON", "a/b: c?", "A B C", "除湿", "Été"])) == [
        "hourly-1-con.parquet",
        "hourly-2-a-b-c.parquet",
        "hourly-3-a-b-c.parquet",
        "hourly-4.parquet",
        "hourly-5-ete.parquet",
    ]
