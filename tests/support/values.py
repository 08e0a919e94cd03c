"""Random numbers for property tests."""

from hypothesis import strategies as st


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    """Finite floats in a range."""
    return st.floats(low, high, allow_nan=False, allow_infinity=False)
