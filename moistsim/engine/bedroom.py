"""The closed bedroom's humidity, apart from the house's mean; see `moistsim.house.bedroom`."""

from typing import NamedTuple

from moistsim import air
from moistsim.core.compiled import piece
from moistsim.engine.records import BedroomParameters


@piece
def hallway(bedroom: BedroomParameters, w: float, w_bedroom: float) -> float:
    """Humidity ratio of the rest of the house, kg/kg, from the house's mean and the bedroom's."""
    if bedroom.share <= 0.0:
        return w
    return (w - bedroom.share * w_bedroom) / (1.0 - bedroom.share)


class HouseAir(NamedTuple):
    """Air of the whole house at the end of a step, bedroom and hallway together."""

    temperature: float
    """Dry bulb, degC."""
    humidity_ratio: float
    """Humidity ratio, kg/kg."""
    dry_air: float
    """Dry air in the house, kg."""
    pressure: float
    """Air pressure, Pa."""


@piece
def bedroom_after(
    bedroom: BedroomParameters,
    apart: float,
    house: HouseAir,
    supplied: float,
    household: float,
    volume: float,
    hour: float,
    dt: float,
) -> float:
    """Humidity ratio of the bedroom at the end of an implicit step, kg/kg.

    Stores, outdoor air and supply air act on bedroom and hallway alike, by volume, and move both
    with the house's mean w. The difference d = w_b - w comes from vapor that people emit in one or
    the other. The exchange Q through the door and the bedroom's share v of the blower's supply B
    reduce it. With m the bedroom's dry air, and the hallway at w - v d / (1 - v):

        m dd/dt = vapor - v household - (Q / (1 - v) + v B) d

    The result is at most saturation. Water beyond it stays in the balance of the house.

    Parameters
    ----------
    apart : float
        Humidity ratio of the bedroom less the house's mean at the step's start.
    supplied, household : float
        Supply air of the blower, and all of the household's vapor, kg/s.
    """
    w, dry_air = house.humidity_ratio, house.dry_air
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
    most = min(air.saturation_humidity_ratio(house.temperature, house.pressure), w / bedroom.share)
    return min(max(w + d, 0.0), most)
