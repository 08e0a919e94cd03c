"""A sweep as a file, and on the command line: read, refused in a sentence, stopped, gone on with."""

import hashlib
import json
import os
import shlex
import signal
import subprocess
import sys
import time
from pathlib import Path

import pandas as pd
import pytest
from support.scenario_files import write_ten_days

import moistsim as ms
from moistsim.__main__ import main
from moistsim.commands.screen import WIDTH
from moistsim.scenario import ScenarioError
from moistsim.scenario.sweep_file import read_sweep
from moistsim.sensitivity.sampling import Range
from moistsim.sweep.manifest import MANIFEST
from moistsim.sweep.store import PARTS

SCENARIO = """\
name = "House of the tests"
note = "Invented."
[weather]
file = "july.csv"
[season]
start = "07-10"
end = "07-11"
step = "15 min"
[house]
floor_area = "1500 ft2"
[tariff]
price = "20 cent/kWh"
[equipment.cooling]
stages = [{ capacity = "2 ton" }]
[equipment.strips]
stages = ["5 kW"]
[equipment.ventilation]
airflow = "70 cfm"
[options.Reheat]
strategy = "staged_reheat"
[options.Box]
strategy = "with_dehumidifier"
[options.Box.equipment.dehumidifier]
capacity = "70 pint/day"
"""

SWEEP = """\
name = "Sweep of the tests"
scenario = "house.toml"
sample = "sobol"
n = 8
seed = 2
[vary]
house.ach50 = { from = 1, to = "7 1/hour" }
"tariff.price" = { from = "10 cent/kWh", to = "40 cent/kWh", scale = "log" }
strategy.target_rh = [48, "52 %"]
options.Reheat.strategy.reheat_below = ["1 K", "2 K"]
weather = [{ file = "july.csv" }, { file = "july.csv", label = "again" }]
equipment.ventilation = [
    { label = "as built", airflow = "70 cfm" },
    { label = "none", absent = true },
]
equipment.strips.stages = [{ label = "5 kW", list = ["5 kW"] }]
[[vary."equipment.cooling.stages"]]
label = "two"
list = [{ capacity = "1.5 ton" }, { capacity = "2 ton" }]
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where a scenario and its weather, ten days of the Miami sample, lie."""
    write_ten_days(tmp_path / "july.csv", "07-08")
    (tmp_path / "house.toml").write_text(SCENARIO, encoding="utf-8")
    (tmp_path / "sweep.toml").write_text(SWEEP, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_file_says_what_a_sweep_in_python_says(folder: Path) -> None:
    read = read_sweep(folder / "sweep.toml")
    study = read.scenario.study
    made = ms.Sweep(
        study,
        {
            "house.ach50": ms.uniform(1, 7),
            "tariff.price": ms.log_uniform(0.10, 0.40),
            "strategy.target_rh": [48.0, 52.0],
            "options.Reheat.strategy.reheat_below": [1.0, 2.0],
            "weather": {study.weather.name: study.weather, "again": study.weather},
            "equipment.ventilation": {"as built": ms.Ventilation(airflow="70 cfm"), "none": None},
            "equipment.strips.stages": {"5 kW": ["5 kW"]},
            "equipment.cooling.stages": {
                "two": [ms.Stage(capacity="1.5 ton"), ms.Stage(capacity="2 ton")]
            },
        },
        sample="sobol", n=8, seed=2,
    )  # fmt: skip
    assert read.sweep.manifest() == made.manifest()
    assert read.name == "Sweep of the tests"
    assert read.note == "Invented."
    assert read.hourly is False
    assert read.varied["house.ach50"] == "1 to 7 1/hour"
    assert read.varied["tariff.price"] == "10 cent/kWh to 40 cent/kWh, by logarithm"
    assert read.varied["weather"] == f"{study.weather.name}, again"


def test_the_scenario_may_stand_in_the_same_file(folder: Path) -> None:
    grid = '[vary]\n"house.ach50" = [1, 2]\nhouse.envelope.window_shgc = [0.25, 0.4]\n'
    (folder / "whole.toml").write_text(f"hourly = true\n{SCENARIO}{grid}", encoding="utf-8")
    read = read_sweep(folder / "whole.toml")
    assert read.name == "House of the tests"
    assert read.hourly is True
    assert read.sweep.cases().to_numpy().tolist() == [[1, 0.25], [1, 0.4], [2, 0.25], [2, 0.4]]


AT = "sweep.toml [vary"
REFUSED = {
    "no vary": (
        (SWEEP[SWEEP.index("[vary]") :], ""),
        "sweep.toml: no [vary]. Use a table [vary]: dotted names such as house.ach50, each with "
        "its values.",
    ),
    "key at the top": (
        ("seed =", "sead ="),
        "sweep.toml: unknown key 'sead'. Did you mean 'seed'? Other choices: 'name', 'note', "
        "'scenario', 'sample', 'n', 'hourly', 'vary'.",
    ),
    "unknown field": (
        ("house.ach50 =", "house.ach5 ="),
        f"{AT}]: unknown name 'ach5' of house in 'house.ach5'. Did you mean 'ach50'?",
    ),
    "unknown root": (
        ("house.ach50 =", "hose.ach50 ="),
        f"{AT}]: 'hose.ach50' begins with an unknown name, 'hose'. Did you mean 'house'? "
        "Other choices: 'weather', 'tariff', 'equipment', 'strategy', 'options'.",
    ),
    "misspelt bound": (
        ("from = 1, to", "form = 1, to"),
        f"{AT}.\"house.ach50\"]: unknown key 'form'. Did you mean 'from'? Other choices: 'to', 'scale'.",
    ),
    "bound left out": (
        ("from = 1, to", "to"),
        f'{AT}."house.ach50"] from: missing. Use where the range ends.',
    ),
    "range upside down": (
        ("from = 1, to", "from = 9, to"),
        f"{AT}.\"house.ach50\"] to: cannot use '7 1/hour'. Use more than where the range begins, 9.",
    ),
    "range from zero by logarithm": (
        ('from = "10 cent/kWh"', "from = 0"),
        f"{AT}] tariff.price: cannot use 0. Use bounds above zero for a logarithmic range.",
    ),
    "bound of another kind": (
        ('to = "7 1/hour"', 'to = "7 ft"'),
        f"{AT}.\"house.ach50\"] to: cannot read '7 ft' as a rate of air changes. Write '1.5 ACH' or '1.5'.",
    ),
    "scale": (
        ('scale = "log"', 'scale = "logg"'),
        f"{AT}.\"tariff.price\"] scale: cannot use 'logg'. Did you mean 'log'? The other choice is 'linear'.",
    ),
    "range of what is no number": (
        ('[{ file = "july.csv" }, { file = "july.csv", label = "again" }]', "{ from = 1, to = 2 }"),
        f"{AT}.weather]: a range. Use a list of values: it is no number.",
    ),
    "one value": (
        ('[48, "52 %"]', "48"),
        f"{AT}] strategy.target_rh: cannot use 48. Use a list of values, or a range "
        "{ from = ..., to = ... }.",
    ),
    "a value that cannot be": (
        ('[48, "52 %"]', '[48, "52 ft"]'),
        f"{AT}] strategy.target_rh: cannot read '52 ft' as a relative humidity. Write '55 %'.",
    ),
    "weather that is not there": (
        ('label = "again"', 'sample = "again"'),
        f"{AT}.weather] number 2: both sample and file. Use one of sample = 'name' and "
        "file = 'path'.",
    ),
    "a part by a bare name": (
        ('[{ label = "5 kW", list = ["5 kW"] }]', '["5 kW"]'),
        f"{AT}.\"equipment.strips.stages\"] number 1: cannot use '5 kW'. Use a table with a label "
        "and its fields.",
    ),
    "a part without a label": (
        ('label = "as built", ', ""),
        f'{AT}."equipment.ventilation"] number 1 label: empty. Use a text that stands '
        "for it in the tables.",
    ),
    "a label twice": (
        ('label = "none"', 'label = "as built"'),
        f"{AT}.\"equipment.ventilation\"] number 2 label: 'as built' twice. Use a label "
        "of its own for each.",
    ),
    "a part's field": (
        ('"as built", airflow', '"as built", air_flow'),
        f"{AT}.\"equipment.ventilation\"] number 1: unknown key 'air_flow'. "
        "Did you mean 'airflow'?",
    ),
    "a name twice": (
        ("house.ach50 =", '"house.ach50" = [1, 2]\nhouse.ach50 ='),
        f"{AT}]: 'house.ach50' twice. Use each name once, in quotes or not.",
    ),
    "n of a grid": (
        ('sample = "sobol"', 'sample = "grid"'),
        "sweep.toml n: cannot use 8. Use no n with sample='grid', whose lists give the number "
        "of cases.",
    ),
    "a range in a grid": (
        ('sample = "sobol"\nn = 8\n', ""),
        f"{AT}] house.ach50: a range in a grid. Use a list of values; or "
        "sample='sobol' or 'latin_hypercube'.",
    ),
    "scenario": (
        ("house.toml", "hose.toml"),
        "sweep.toml scenario: 'hose.toml' is not a file. Use the path of a scenario, as "
        "seen from this file's folder.",
    ),
    "hourly": (
        ("seed = 2", 'hourly = "yes"'),
        "sweep.toml hourly: cannot use 'yes'. Use true or false.",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_used_is_said_in_one_sentence(case: str, folder: Path) -> None:
    (old, new), sentence = REFUSED[case]
    assert old in SWEEP
    (folder / "sweep.toml").write_text(SWEEP.replace(old, new), encoding="utf-8")
    with pytest.raises(ScenarioError) as caught:
        read_sweep(folder / "sweep.toml")
    said = str(caught.value)
    # A list of all fields, which grows, may follow.
    assert said.split(", or another of 'kind'")[0] == sentence


def test_a_range_is_read_as_it_was_written(folder: Path) -> None:
    vary = read_sweep(folder / "sweep.toml").sweep.vary
    assert vary["tariff.price"] == Range("10 cent/kWh", "40 cent/kWh", True)


# ---------------------------------------------------------------------- the command line


def test_the_screen_and_the_folder_hold_the_results(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Shelter is one of five classes.
    refused = SWEEP.replace("[vary]", "[vary]\nhouse.shelter = [3, 3.5]")
    (folder / "sweep.toml").write_text(refused, encoding="utf-8")
    assert main(["sweep", "sweep.toml", "--out", "out", "--workers", "1", "--units", "si"]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= WIDTH
    assert "8 cases of 2 options: 16 runs of 2 days" in out
    frame = read_sweep("sweep.toml").sweep.run(workers=1, progress=False)
    table = pd.read_csv("out/results.csv")
    # Before pandas 3, `read_csv` errs in the last bit.
    pd.testing.assert_frame_equal(table, frame, rtol=1e-15, atol=0.0)
    lost = frame[frame["status"] != "ok"]["case"].nunique()
    assert lost > 0
    assert f"8 cases, {lost} failed:\n  - {lost}: House.shelter: " in out
    (line,) = [x for x in out.split("Mean indoor dew point, °C")[1].splitlines() if "Box" in x][:1]
    frame = frame[frame["status"] == "ok"]
    group = frame[(frame["option"] == "Box") & (frame["weather"] == frame["weather"].min())]
    assert line.split()[3] == f"{group['mean_dew_point_C'].median():.1f}"
    # Once more: nothing is left to run, and the bytes are the same.
    before = (folder / "out" / "results.csv").read_bytes()
    assert main(["sweep", "sweep.toml", "--out", "out", "--workers", "1", "--quiet"]) == 0
    assert capsys.readouterr().out == ""
    assert (folder / "out" / "results.csv").read_bytes() == before


def run(folder: Path, text: str, *more: str) -> set[str]:
    """Names of the figures that the command draws of this sweep."""
    (folder / "sweep.toml").write_text(text, encoding="utf-8")
    assert main(["sweep", "sweep.toml", "--out", "out", "--workers", "1", *more]) == 0
    return {path.name for path in (folder / "out" / "figures").iterdir()}


SPREADS = {"spread-cost-usd.png", "spread-hours-over-60.png"}
TWO = """\
scenario = "house.toml"
%s
[vary]
house.ach50 = %s
tariff.price = %s
"""


def test_figures_of_a_saltelli_sample(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ranges = ("{ from = 1, to = 7 }", "{ from = 0.1, to = 0.4 }")
    text = TWO % ('sample = "saltelli"\nn = 4', *ranges)
    drawn = run(folder, text)
    out = capsys.readouterr().out
    # No hour above 60 % RH in two days: its indices do not exist, which is said.
    decides = {f"decides-cost-usd-{option}.png" for option in ("reheat", "box")}
    assert drawn >= SPREADS | decides
    assert all((folder / "out" / "figures" / name).read_bytes()[1:4] == b"PNG" for name in drawn)
    assert f"figures: {len(drawn)} figures of spread" in out
    frame = pd.read_csv("out/results.csv")
    constant = frame.groupby("option")["hours_over_60"].nunique() == 1
    for option in ("Reheat", "Box"):
        name = f"decides-hours-over-60-{option.lower()}.png"
        assert (name not in drawn) == constant[option]
        assert (f"  - {name}: sobol_from" in out) == constant[option]


def test_figures_of_a_grid_and_of_options_that_are_equally_dry(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawn = run(folder, TWO % ("", "[1, 3, 7]", "[0.1, 0.2, 0.4]"), "--quiet")
    assert capsys.readouterr().out == ""
    moves = {f"moves-cost-usd-{option}.png" for option in ("reheat", "box")}
    assert drawn >= SPREADS | moves
    frame = pd.read_csv("out/results.csv")
    dew_point = frame.groupby("option")["mean_dew_point_C"].median()
    alike = abs(dew_point["Box"] - dew_point["Reheat"]) <= 0.3
    assert ("break-even-reheat-box.png" in drawn) == alike


# ---------------------------------------------------------------------- one case again


def test_the_printed_line_runs_one_case_to_the_same_bits(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(folder, SWEEP)
    line = capsys.readouterr().out.rstrip().splitlines()[-1]
    command = shlex.split(line)
    assert command[:2] == ["moistsim", "sweep"]
    assert main(command[1:]) == 0
    case = int(command[-1])
    out = capsys.readouterr().out
    assert f"Case {case} of 8:" in out and "Each number has the bits of its row in out." in out
    frame = ms.read_sweep("out")
    row = frame.query("case == @case").iloc[0]
    assert f"  - house.ach50 = {row['house.ach50']} 1/hour" in out
    assert f"  - weather = {row['weather']}" in out
    (cost,) = [text for text in out.splitlines() if text.startswith("Energy cost, USD")]
    assert cost.split()[-2:] == [f"{x:.0f}" for x in frame.query("case == @case")["cost_USD"]]
    # Without a folder, nothing is compared.
    assert main(["sweep", "sweep.toml", "--case", "3", "--units", "si"]) == 0
    out = capsys.readouterr().out
    assert "Case 3 of 8:" in out and "°C" in out and "bits" not in out
    assert main(["sweep", "sweep.toml", "--case", "3", "--quiet"]) == 0
    assert capsys.readouterr().out == ""


def test_ctrl_c_ends_one_case_in_one_line(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def pressed(sweep: ms.Sweep, case: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(ms.Sweep, "rerun", pressed)
    with pytest.raises(SystemExit) as end:
        main(["sweep", "sweep.toml", "--case", "1"])
    assert end.value.code == 130
    assert capsys.readouterr().err == "moistsim: stopped; no results were written.\n"


def test_a_case_that_differs_or_does_not_exist_is_said(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(folder, SWEEP, "--quiet")
    for arguments, sentence in (
        (["--case", "8"], "--case: cannot use 8. Use the number of one of the 8 cases, such as 0."),
        ([], "--out: missing. Use a folder for the results."),
        (["--out", "nowhere", "--case", "1"], "--out nowhere: no manifest.json in nowhere."),
    ):
        assert main(["sweep", "sweep.toml", *arguments]) == 2
        assert capsys.readouterr().err.startswith(f"moistsim: {sentence}")
    # A row that was changed, with a checksum to match.
    manifest = json.loads((folder / "out" / MANIFEST).read_text())
    (name,) = manifest["parts"]
    part = folder / "out" / PARTS / name
    table = pd.read_parquet(part)
    table.loc[table["case"] == 2, "total_kWh"] += 1.0
    table.to_parquet(part, index=False)
    manifest["parts"][name] = hashlib.sha256(part.read_bytes()).hexdigest()
    (folder / "out" / MANIFEST).write_text(json.dumps(manifest))
    assert main(["sweep", "sweep.toml", "--out", "out", "--case", "1"]) == 0
    assert main(["sweep", "sweep.toml", "--out", "out", "--case", "2"]) == 2
    assert "--out out: case 2 differs there in total_kWh. Use " in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--out", "july.csv"], "--out july.csv: this is a file. Use a new or empty folder, or "),
        (["--out", "."], "--out .: the folder has other files. Use a new "),
        (["--out", "x", "--workers", "0"], "--workers: cannot use 0. Use a whole number from 1 to "),
    ],
)  # fmt: skip
def test_where_to_and_how_are_checked_before_any_run(
    arguments: list[str], sentence: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sweep", "sweep.toml", *arguments]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(f"moistsim: {sentence}")
    assert said.err.count("\n") == 1


def test_a_step_that_the_scenario_cannot_have_is_said_of_the_scenario(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "house.toml").write_text(SCENARIO.replace("15 min", "7 min"), encoding="utf-8")
    assert main(["sweep", "sweep.toml", "--out", "out", "--quiet"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("moistsim: house.toml [season] step: cannot use '7 min'. Use a time ")
    assert not (folder / "out").exists()


def test_a_folder_of_another_sweep_is_not_gone_on_with(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    quiet = ["--out", "out", "--workers", "1", "--quiet"]
    one = SWEEP.replace("n = 8", "n = 1")
    (folder / "sweep.toml").write_text(one, encoding="utf-8")
    assert main(["sweep", "sweep.toml", *quiet]) == 0
    (folder / "sweep.toml").write_text(one.replace("seed = 2", "seed = 3"), encoding="utf-8")
    assert main(["sweep", "sweep.toml", *quiet]) == 2
    said = capsys.readouterr().err
    assert said.startswith("moistsim: --out out: out, whose sweep differs in seed: 2, here 3;")
    (folder / "sweep.toml").write_text("hourly = true\n" + one, encoding="utf-8")
    assert main(["sweep", "sweep.toml", *quiet]) == 2
    assert (
        "moistsim: --out out: the sweep there keeps no hourly tables. Use hourly = false, or "
        "a new folder.\n"
    ) in capsys.readouterr().err


PROCESS = """
import signal, sys
# A shell that starts tests in the background has Ctrl-C ignored by all that they start.
signal.signal(signal.SIGINT, signal.default_int_handler)
from moistsim.sweep import parts as sweep_parts
sweep_parts.PART = 2
from moistsim.__main__ import main
sys.exit(main(["sweep", "sweep.toml", "--out", sys.argv[1], "--workers", "1"]))
"""


@pytest.mark.slow
@pytest.mark.parametrize(
    "how", [signal.SIGINT, pytest.param(signal.SIGKILL, marks=pytest.mark.slow)]
)
def test_stopped_and_gone_on_with_it_gives_the_same_bytes(
    how: signal.Signals, folder: Path
) -> None:
    (folder / "sweep.toml").write_text(SWEEP.replace("n = 8", "n = 32"), encoding="utf-8")
    out = folder / "out"
    path = os.pathsep.join(p or os.curdir for p in sys.path)
    process = subprocess.Popen(
        [sys.executable, "-c", PROCESS, "out"],
        env={**os.environ, "PYTHONPATH": path},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    until = time.monotonic() + 300.0
    while not list((out / PARTS).glob("part-*.parquet")):
        assert time.monotonic() < until and process.poll() is None, process.communicate()
        time.sleep(0.02)
    process.send_signal(how)
    _, said = process.communicate(timeout=60)
    if how == signal.SIGINT:
        assert process.returncode == 130
        assert "moistsim: stopped; finished cases are saved. The same command resumes." in said
        assert "Traceback" not in said
    kept = pd.read_parquet(out / PARTS)["case"].nunique()
    assert 0 < kept < 32
    assert not (out / "results.csv").exists()
    quiet = ["--workers", "1", "--quiet"]
    assert main(["sweep", "sweep.toml", "--out", "out", *quiet]) == 0
    assert main(["sweep", "sweep.toml", "--out", "whole", *quiet]) == 0
    assert (out / "results.csv").read_bytes() == (folder / "whole" / "results.csv").read_bytes()
    manifests = [json.loads((at / MANIFEST).read_text()) for at in (out, folder / "whole")]
    # Where one part ends and the next one begins depends on the stop.
    assert all(manifest.pop("parts") for manifest in manifests)
    assert manifests[0] == manifests[1]
