"""`moistsim study` of a house over a crawl space: lines on the screen, a table and figures of its spaces."""

import io
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pandas as pd
import pytest
from support.scenario_files import write_ten_days

import moistsim as ms
from moistsim.__main__ import main
from moistsim.core.files import whole_folder
from moistsim.scenario import read_scenario

HOUSE = """\
name = "House over a crawl space"
[weather]
file = "october.csv"
[season]
start = "10-21"
end = "10-24"
step = "5 min"
[house]
floor_area = "1500 ft2"
[house.crawl_space]
kind = "vented"
[house.attic]
kind = "vented"
[tariff]
price = "20 cent/kWh"
[equipment.cooling]
stages = [{ capacity = "2 ton" }]
[options."As it is"]
strategy = "temperature_only"
"""


@pytest.mark.parametrize("units", ["us", "si"])
def test_spaces_are_on_the_screen_and_in_the_folder(tmp_path: Path, units: str) -> None:
    write_ten_days(tmp_path / "october.csv", "10-17")
    file = tmp_path / "house.toml"
    file.write_text(HOUSE, encoding="utf-8")
    out, said = tmp_path / "out", io.StringIO()
    # A figure of an earlier run must not pass for a new one.
    with whole_folder(out) as earlier:
        (earlier / "garage.png").write_text("old", encoding="utf-8")
    with redirect_stdout(said), redirect_stderr(io.StringIO()):
        main(["study", str(file), "--out", str(out), "--units", units])
    text = said.getvalue()
    found = ms.space_risk(read_scenario(file).study.run(progress=False), units="si")
    for space in ("crawl space", "attic"):
        row = found.loc[("As it is", space)]
        line = f"As it is: {space} {row['mean_space_rh_pct']:.0f} % RH, wood up to "
        assert f"{line}{row['highest_wood_moisture_pct']:.1f} %" in " ".join(text.split())
    written = pd.read_csv(out / "spaces.csv")
    mean = written["mean_temperature_F" if units == "us" else "mean_temperature_C"][0]
    kept = found["mean_temperature_C"].iloc[0]
    assert mean == pytest.approx(1.8 * kept + 32.0 if units == "us" else kept)
    assert (out / "crawl_space.png").stat().st_size > 10_000
    assert (out / "attic.png").exists() and not (out / "garage.png").exists()
    assert "Spaces next to the house" in (out / "report.html").read_text(encoding="utf-8")
