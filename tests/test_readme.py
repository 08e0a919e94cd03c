"""README's example runs as it is printed, and its commands are those of the command line."""

import re
from pathlib import Path

import pytest

from moistsim.__main__ import main

TEXT = (Path(__file__).resolve().parent.parent / "README.md").read_text(encoding="utf-8")


@pytest.mark.slow
def test_the_example_runs() -> None:
    (block,) = re.findall(r"```python\n(.*?)```", TEXT, re.DOTALL)
    names: dict[str, object] = {"__name__": "readme"}
    exec(block, names)
    table = names["study"].table(units="us")  # type: ignore[attr-defined]
    assert list(table.index) == ["thermostat", "reheat", "dehumidifier", "my own"]
    assert table.loc["reheat", "mean_dew_point_F"] < table.loc["thermostat", "mean_dew_point_F"]


def test_each_command_is_one_that_there_is(capsys: pytest.CaptureFixture[str]) -> None:
    commands = {*re.findall(r"\.venv/bin/moistsim (\w+)", TEXT)}
    assert commands == {
        "new",
        "study",
        "calibrate",
        "size",
        "weather",
        "sequence",
        "sweep",
        "watch",
        "desk",
    }
    for command in sorted(commands):
        with pytest.raises(SystemExit) as ended:
            main([command, "--help"])
        assert ended.value.code == 0
        options = {*re.findall(rf"moistsim {command} [^`|\n]*", TEXT)}
        shown = capsys.readouterr().out
        for option in {*re.findall(r"--[\w-]+", " ".join(options))}:
            assert option in shown
