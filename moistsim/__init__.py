"""moistsim: how humid a house gets, and what each way of drying it costs.

``import moistsim as ms`` is the one import that a notebook needs. Its names stand in
``__init__.pyi``.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
