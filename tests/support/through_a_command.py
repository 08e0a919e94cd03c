"""Commands run in this process, whose refusals become errors again and whose runs are stopped."""

import io
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from support.fuzz_rule import check_finite, check_season

import moistsim as ms
from moistsim.__main__ import main
from moistsim.scenario import Scenario, read_scenario, write_scenario
from moistsim.study import Comparison


class Accepted(BaseException):
    """A command has read its file and begins to run; no command catches it."""

    def __init__(self, comparison: Comparison) -> None:
        self.comparison = comparison


class Refused(ms.InputError):
    """The sentence of a command."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence, "", "")

    def __str__(self) -> str:
        return self.where


@contextmanager
def stopped_at_the_run(*, weather_once: bool) -> Iterator[None]:
    """Commands that run each option once, and then stop with `Accepted`.

    Parameters
    ----------
    weather_once : bool
        Read each weather file once, because it does not change.
    """
    run = ms.Study.run

    def stop(study: ms.Study, **how: Any) -> None:
        raise Accepted(run(study, progress=False, workers=1))

    with pytest.MonkeyPatch.context() as patch:
        if weather_once:
            patch.setattr(ms.Weather, "read", lru_cache(maxsize=8)(ms.Weather.read))
        patch.setattr(ms.Study, "run", stop)
        yield


def command(*arguments: str) -> None:
    """Run a command; raise its refusal, which it must print alone and with code 2."""
    out, said = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(said):
        code = main(arguments)
    text = said.getvalue()
    if code == 0:
        assert text == "", f"done, but said: {text}"
        return
    assert code == 2, f"exit code {code}"
    assert text.startswith("moistsim: ") and text.endswith("\n"), text
    assert out.getvalue() == "", f"printed before the refusal: {out.getvalue()}"
    raise Refused(text.removeprefix("moistsim: ").removesuffix("\n"))


def given_file(
    folder: Path,
    name: str,
    raw: bytes,
    scenario: str,
    check: Callable[[Comparison, Scenario], None],
) -> None:
    """Write a file of a study and run the study; a refusal writes nothing, and a result is checked.

    Parameters
    ----------
    folder : Path
    name : str
        Name of the file: the scenario or its weather.
    raw : bytes
        Its content.
    scenario : str
        Name of the scenario's file.
    check : callable
        Holds the result against the rule.
    """
    file, out = folder / scenario, folder / "out"
    shutil.rmtree(out, ignore_errors=True)
    (folder / name).write_bytes(raw)
    before = {path.name for path in folder.iterdir()}
    try:
        command("study", str(file), "--out", str(out), "--quiet")
    except Accepted as accepted:
        shutil.rmtree(out, ignore_errors=True)
        check(accepted.comparison, read_scenario(file))
    except Refused:
        assert {path.name for path in folder.iterdir()} == before, "a refusal wrote files"
        raise


def check_result(comparison: Comparison, scenario: Scenario) -> None:
    """Hold the runs of an accepted file against the rule, and what is written of it."""
    for season in comparison.seasons.values():
        check_season(season)
    check_finite(comparison.table())
    for bill in comparison.bills().values():
        assert np.isfinite(bill.months.select_dtypes("number").to_numpy(dtype=float)).all()
    if scenario.purchases and scenario.terms is not None:
        check_finite(ms.economics(comparison, scenario.purchases, scenario.terms).table())
    written = scenario.path.parent / "as run" / "scenario.toml"
    written.parent.mkdir(exist_ok=True)
    try:
        write_scenario(scenario, written)
        again = read_scenario(written)
        assert again.study.house == scenario.study.house, "written as run, another house"
        assert [*again.study.options] == [*scenario.study.options]
    finally:
        shutil.rmtree(written.parent)
