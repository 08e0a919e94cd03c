"""Every public name explains itself: a first sentence that stands alone, and an example that runs."""

import types

import pytest

import moistsim as ms

EXPLAINED = [
    name for name in ms.__all__ if not isinstance(getattr(ms, name), types.ModuleType | dict)
]
"""Not modules, whose names are explained one by one, and not plain tables of data."""


@pytest.mark.parametrize("name", EXPLAINED)
def test_a_public_name_has_a_first_sentence_and_an_example(name: str) -> None:
    text = getattr(ms, name).__doc__
    assert text, "no docstring"
    first = text.strip().splitlines()[0]
    assert first.endswith("."), first
    assert len(first.split()) <= 25, first
    assert ">>> " in text, "no example"
