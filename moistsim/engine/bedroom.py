"""The closed bedroom's humidity, apart from the house's mean; see `moistsim.house.bedroom`."""

from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece


class BedroomParameters(NamedTuple):
    """A share of 0 means that there is no bedroom apart."""

    share: float
    """Of the house's volume."""
    vapor: float
    """Of all sleepers, kg/s."""
    closed_airflow: float
    """m3/s."""
    open_airflow: float
    closed_from: float
    """Hours of the day; past midnight if the second is the smaller."""
    closed_to: float


@piece
def hallway(bedroom: BedroomParameters, w: float, w_bedroom: float) -> float:
    """Humidity ratio of the rest of the house, from its mean and the bedroom's."""
    if bedroom.share <= 0.0:
        return w
    return (w - bedroom.share * w_bedroom) / (1.0 - bedroom.share)


@piece
def bedroom_after(
    bedroom: BedroomParameters,
    apart: float,
    w: float,
    t: float,
    dry_air: float,
    supplied: float,
    household: float,
    volume: float,
    hour: float,
    pressure: float,
    dt: float,
) -> float:
    """Humidity ratio of the bedroom at the end of a step, implicit.

    What acts on bedroom and hallway alike, by volume, moves both with the house's mean w: stores,
    outdoor air, and supply air. What holds them apart by d = w_b - w is who emits vapor where; the
    exchange Q through the door and the bedroom's share v of the blower's supply B bring them
    together. With m the bedroom's dry air, and the hallway at w - v d / (1 - v):

        m dd/dt = vapor - v household - (Q / (1 - v) + v B) d

    At most saturation: what would be beyond it wets the room, and is the house's.

    Parameters
    ----------
    apart : float
        Humidity ratio of the bedroom less the house's mean at the step's start.
    w, t, dry_air : float
        Mean humidity ratio, dry bulb (degC) and dry air (kg) of the house at the step's end.
    supplied, household : float
        Supply air of the blower, and all of the household's vapor, kg/s.
    """
    if bedroom.share <= 0.0:
        return w
    start, end = bedroom.closed_from, bedroom.closed_to
    closed = (start <= hour) & (hour < end)
    if start > end:
        closed = (hour >= start) | (hour < end)
    flow = bedroom.closed_airflow if closed else bedroom.open_airflow
    vapor = bedroom.vapor if closed else 0.0
    mass = bedroom.share * dry_air / dt
    together = flow * dry_air / volume / (1.0 - bedroom.share) + bedroom.share * supplied
    d = (mass * apart + vapor - bedroom.share * household) / (mass + together)
    most = min(air.saturation_humidity_ratio(t, pressure), w / bedroom.share)
    return min(max(w + d, 0.0), most)
