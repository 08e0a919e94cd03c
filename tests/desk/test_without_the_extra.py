"""Without the extra, the commands say in one sentence how to install it."""

import importlib.util
from importlib.machinery import ModuleSpec

import pytest

from moistsim.__main__ import main


@pytest.mark.parametrize(
    ("command", "package"), [("desk", "tornado"), ("lesson", "tornado"), ("lesson", "nbconvert")]
)
def test_the_sentence(
    command: str, package: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    found = importlib.util.find_spec

    def without(name: str, *others: str) -> ModuleSpec | None:
        return None if name == package else found(name, *others)

    monkeypatch.setattr(importlib.util, "find_spec", without)
    assert main([command]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert f"the package {package} is not installed" in err
    assert "pip install 'moistsim[desk]'" in err
