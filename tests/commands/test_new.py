"""`moistsim new`: a file that runs as written, and never one over another."""

from pathlib import Path

import pytest

from moistsim.__main__ import main
from moistsim.scenario import read_scenario


@pytest.mark.parametrize("units", ["us", "si"])
def test_a_new_file_is_written_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], units: str
) -> None:
    path = tmp_path / "my-house.toml"
    assert main(["new", str(path), "--units", units]) == 0
    assert f"moistsim study {path}" in capsys.readouterr().out
    text = path.read_text(encoding="utf-8")
    assert ("1,800 ft2" in text) == (units == "us")
    assert list(read_scenario(path).study.options) == ["As found"]
    path.write_text(text + "# mine\n", encoding="utf-8")
    assert main(["new", str(path)]) == 2
    assert "the file exists already. Use a new name." in capsys.readouterr().err
    assert path.read_text(encoding="utf-8").endswith("# mine\n")


@pytest.mark.parametrize(
    ("name", "words"),
    [("my-house", "a name that ends in .toml"), ("no/house.toml", "no such folder")],
)
def test_what_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, words: str
) -> None:
    assert main(["new", str(tmp_path / name)]) == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / name).exists()


@pytest.mark.slow
def test_the_file_runs_and_machines_are_proposed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, out = tmp_path / "x.toml", tmp_path / "out"
    assert main(["new", str(path)]) == 0
    text = path.read_text(encoding="utf-8").replace('"Miami"', '"Greensboro, NC"')
    path.write_text(text.replace("2004", "1975"), encoding="utf-8")
    assert main(["study", str(path), "--out", str(out), "--sure", "8"]) == 0
    screen = capsys.readouterr().out
    complaint = read_scenario(path).complaint
    assert f"says: {complaint}" in " ".join(screen.split())
    assert complaint in (out / "report.html").read_text(encoding="utf-8")
    assert "Dehumidifier" in screen and "Without it there are" in screen, "machines are proposed"
    sheet = tmp_path / "sheet.html"
    assert main(["sequence", str(path), "As found", "--out", str(sheet)]) == 0
    assert complaint in sheet.read_text(encoding="utf-8")
