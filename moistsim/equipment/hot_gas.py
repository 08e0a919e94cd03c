"""Hot-gas reheat: condenser heat returned to the supply air instead of outdoors."""

from moistsim.core.changes import Evolving
from moistsim.core.fields import description, quantity


@description
class HotGas(Evolving):
    """A reheat coil behind the cooling coil, heated by the compressor's hot gas.

    The coil returns a share of the condenser's heat. The condenser's heat is the heat that the
    refrigerant absorbs, plus the whole input of compressor and outdoor fan. The defaults are our own
    round figures.

    Examples
    --------
    >>> HotGas(share="60 %").share
    0.6
    """

    share: float = quantity(
        "fraction",
        "share of the condenser's heat that returns to the supply air at a full call",
        default=0.5,
        above=0.0,
        at_most=1.0,
    )
    capacity_ratio: float = quantity(
        "fraction",
        "cooling capacity at a full call of reheat over cooling capacity without reheat",
        default=0.97,
        above=0.5,
        at_most=1.1,
    )
    input_ratio: float = quantity(
        "fraction",
        "compressor input at a full call of reheat over compressor input without reheat",
        default=1.02,
        above=0.5,
        at_most=1.5,
    )
