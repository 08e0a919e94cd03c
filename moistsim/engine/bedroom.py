"""The closed bedroom's humidity, apart from the house's mean; see `moistsim.bedroom`."""

from typing import NamedTuple

from moistsim import air
from moistsim.compiled import compiled


class BedroomParameters(NamedTuple):
    """A share of 0 means that there is no bedroom apart."""

    share: float
    """Of the house's volume."""
    vapour: float
    """Of all sleepers, kg/s."""
    closed_airflow: float
    """m3/s."""
    open_airflow: float
    closed_from: float
    """Hours of the day; past midnight if the second is the smaller."""
    closed_to: float


@compiled(inline=True)
def hallway(bedroom: BedroomParameters, w: float, w_bedroom: float) -> float:
    """Humidity ratio of the rest of the house, from its mean and the bedroom's."""
    return (w - bedroom.share * w_bedroom) / (1.0 - bedroom.share)


@compiled(inline=True)
def bedroom_after(
    bedroom: BedroomParameters,
    w_bedroom: float,
    w: float,
    t: float,
    dry_air: float,
    supplied: float,
    w_supply: float,
    volume: float,
    hour: float,
    pressure: float,
    dt: float,
) -> float:
    """Humidity ratio of the bedroom at the end of a step, implicit.

    With v its share of the volume, m its dry air, Q the exchange and B its supply air, and the
    hallway at (w - v w_b) / (1 - v):

        m dw_b/dt = Q (w_hallway - w_b) + B (w_supply - w_b) + vapour

    At most saturation: what would be beyond it wets the room, and is the house's.

    Parameters
    ----------
    w, t, dry_air : float
        Mean humidity ratio, dry bulb (degC) and dry air (kg) of the house at the step's end.
    supplied, w_supply : float
        Supply air of the blower, kg/s, and its humidity ratio.
    """
    if bedroom.share <= 0.0:
        return w
    start, end = bedroom.closed_from, bedroom.closed_to
    closed = (start <= hour) & (hour < end)
    if start > end:
        closed = (hour >= start) | (hour < end)
    flow = bedroom.closed_airflow if closed else bedroom.open_airflow
    vapour = bedroom.vapour if closed else 0.0
    mass = bedroom.share * dry_air / dt
    exchanged = flow * dry_air / volume / (1.0 - bedroom.share)
    blown = bedroom.share * supplied
    after = (mass * w_bedroom + exchanged * w + blown * w_supply + vapour) / (
        mass + exchanged + blown
    )
    most = min(air.saturation_humidity_ratio(t, pressure), w / bedroom.share)
    return min(after, most)
