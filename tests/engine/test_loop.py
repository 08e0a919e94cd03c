"""The compiled and the uncompiled loop are the same computation."""

from typing import Any

import numpy as np
import pytest
from support.short_runs import CASES, results
from support.uncompiled import uncompiled


@pytest.fixture(scope="module")
def both() -> tuple[dict[str, Any], dict[str, Any]]:
    plain = uncompiled(results)
    return results(), plain


def test_each_side_ran_as_it_says(both: tuple[dict[str, Any], dict[str, Any]]) -> None:
    compiled, plain = both
    assert compiled["compiled"] is True
    assert plain["compiled"] is False


@pytest.mark.parametrize("case", CASES)
def test_compiled_and_uncompiled_agree(
    case: str, both: tuple[dict[str, Any], dict[str, Any]]
) -> None:
    compiled, plain = both[0][case], both[1][case]
    assert list(compiled) == list(plain)
    a, b = (np.array([*side.values()]) for side in (compiled, plain))
    assert np.abs(a).sum() > 0.0
    # Each value against the largest of its column: a flow that passes through zero has no scale.
    scale = np.abs(a).max(axis=1, keepdims=True)
    worst = float((np.abs(a - b) / np.where(scale > 0.0, scale, 1.0)).max())
    print(f"{case}: {'the same bits' if worst == 0.0 else f'largest difference {worst:.1e}'}")
    assert worst <= 1e-12
