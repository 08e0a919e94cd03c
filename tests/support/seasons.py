"""Seasons that several tests read, run once a process."""

from functools import lru_cache

from support.houses import house
from support.machines import machines
from support.weathers import sample

import moistsim as ms


@lru_cache
def whole_year(place: str, strategy: str) -> ms.Season:
    """The shared house through a sample year."""
    return ms.simulate(house(), machines(), ms.strategies.BUILT_IN[strategy], sample(place))
