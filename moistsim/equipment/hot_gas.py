"""Hot-gas reheat: condenser heat given back to the supply air instead of the outdoors."""

from moistsim.core.fields import description, quantity


@description
class HotGas:
    """A reheat coil behind the cooling coil, fed with the compressor's hot gas.

    It gives back a share of the condenser's heat, which is the heat that the refrigerant took and
    the whole input of the compressor and its outdoor fan. The defaults are our own round figures.
    """

    share: float = quantity(
        "fraction",
        "share of the condenser's heat that goes to the supply air at a full call",
        default=0.5,
        above=0.0,
        at_most=1.0,
    )
    capacity_ratio: float = quantity(
        "fraction",
        "cooling capacity at a full call over that without",
        default=0.97,
        above=0.5,
        at_most=1.1,
    )
    input_ratio: float = quantity(
        "fraction",
        "compressor input at a full call over that without",
        default=1.02,
        above=0.5,
        at_most=1.5,
    )
