"""One default of units for tables, figures and sentences alike."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import moistsim as ms
from moistsim.core.display import units_or_default
from moistsim.core.errors import InputError

PACKAGE = Path(ms.__file__).parent


@pytest.fixture(autouse=True)
def _as_before() -> Iterator[None]:
    yield
    ms.set_units("us")


def test_a_choice_goes_before_the_default() -> None:
    for default in ("si", "us"):
        ms.set_units(default)
        assert units_or_default(None) == default
        assert units_or_default("us") == "us" and units_or_default("si") == "si"


def test_other_units_are_refused_where_they_were_given() -> None:
    with pytest.raises(InputError, match="set_units: cannot use 'metric'. Use 'si' or 'us'"):
        ms.set_units("metric")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="table units: cannot use 'imperial'"):
        units_or_default("imperial", "table units")  # type: ignore[arg-type]
    assert units_or_default(None) == "us"


def test_tables_follow_the_default() -> None:
    weather = ms.Weather.sample("miami")
    assert "mean dry bulb [degF]" in weather.describe()
    ms.set_units("si")
    assert "mean dry bulb [degC]" in weather.describe()
    assert "mean dry bulb [degF]" in weather.describe("us")


def own_defaults(tree: ast.AST) -> Iterator[str]:
    """Functions whose `units` has a default of its own."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            positional = [*node.args.posonlyargs, *node.args.args]
            pairs = [
                *zip(reversed(positional), reversed(node.args.defaults), strict=False),
                *zip(node.args.kwonlyargs, node.args.kw_defaults, strict=True),
            ]
            for argument, default in pairs:
                if argument.arg == "units" and isinstance(default, ast.Constant) and default.value:
                    yield node.name


def test_a_default_of_its_own_is_found() -> None:
    text = "def a(b, units='us'): ...\ndef c(*, units='si', d=1): ...\ndef e(units=None): ..."
    assert [*own_defaults(ast.parse(text))] == ["a", "c"]


@pytest.mark.parametrize(
    "path",
    sorted(PACKAGE.rglob("*.py")),
    ids=lambda path: str(path.relative_to(PACKAGE)),
)
def test_no_function_has_a_default_of_its_own(path: Path) -> None:
    found = [*own_defaults(ast.parse(path.read_text(encoding="utf-8")))]
    assert not found, f"{found}: use units=None and units_or_default"
