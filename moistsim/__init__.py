"""moistsim: how humid a house gets, and what each way of drying it costs.

``import moistsim as ms`` is the one import that a notebook needs. Its names stand in
``__init__.pyi``.
"""

from typing import Any

import lazy_loader

from moistsim.core.loading import uncollected

_load, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)


def __getattr__(name: str) -> Any:
    with uncollected():
        return _load(name)
