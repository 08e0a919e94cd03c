"""Names of adjusted values in plain words."""

from moistsim.calibration.adjusted import EXTRA, OWN_WORDS
from moistsim.uncertainty import in_words

_HERE = {
    "house.moisture_store.area": "area that stores moisture, over floor area",
    "house.moisture_store.coating": "resistance of the storing surfaces, Pa m² s/kg",
    "house.window_opening.area": "area of windows that are opened",
    "house.window_opening.low": "outdoor temperature from which windows are open",
}


def words_of(name: str) -> str:
    """A value that a log moves, in plain words.

    Examples
    --------
    >>> words_of("house.ach50"), words_of("logger.humidity_offset")
    ('air leakage', 'offset of the humidity loggers')
    """
    if name.startswith(EXTRA):
        return f"rise of moisture with {name.removeprefix(EXTRA)}"
    return OWN_WORDS.get(name) or _HERE.get(name) or in_words(name)
