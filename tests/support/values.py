"""Random numbers for property tests."""

from hypothesis import strategies as st

from moistsim.core.units import Stated


def floats(low: float, high: float) -> st.SearchStrategy[float]:
    """Finite floats in a range."""
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def stated(low: float, high: float) -> st.SearchStrategy[float]:
    """Finite floats in a range, as if each was written with its unit: none is asked about."""
    return floats(low, high).map(Stated)
