"""First costs of the cures that are work."""

from moistsim.core.changes import Evolving
from moistsim.core.fields import description, quantity


@description
class CurePrices(Evolving):
    """First costs of low-cost cures. The defaults are stand-ins of our own (common practice, no source).

    Examples
    --------
    >>> CurePrices(seal_ducts="900 USD").seal_ducts
    900.0
    """

    airflow: float | None = quantity(
        "USD",
        "visit of a technician who sets the airflow over the coil and measures static pressure; "
        "default: 150 USD",
        default=None, at_least=0.0, optional=True, at_most=1e7,
    )  # fmt: skip
    seal_ducts: float | None = quantity(
        "USD", "ducts sealed with mastic where they can be reached; default: 800 USD",
        default=None, at_least=0.0, optional=True, at_most=1e7,
    )  # fmt: skip
    ground_cover: float | None = quantity(
        "USD", "vapor barrier on the ground of a crawl space; default: 0.75 USD/ft2 of ground",
        default=None, at_least=0.0, optional=True, at_most=1e7,
    )  # fmt: skip
    air_sealing: float | None = quantity(
        "USD", "air leaks of attic and floor sealed; default: 0.60 USD/ft2 of floor",
        default=None, at_least=0.0, optional=True, at_most=1e7,
    )  # fmt: skip
