"""Air between the house's zones and the spaces next to them: leaks, doors and stairs.

The leaks between zone and space carry a share of the house's infiltration (`records.Path`). In a
house that is warmer than outdoors the stack draws air from a space below and pushes it into a space
above. In a house that is cooler, the other way round.

A second conditioned zone takes a share of the house's infiltration and of its exfiltration
(`records.ZoneLeaks`). What enters one zone and leaves through the other passes between them. In a
house of two floors that is warmer than outdoors, this air rises.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from moistsim.core.compiled import piece
from moistsim.engine.outset import Spaces, space_of
from moistsim.engine.records import Path, ZoneLeaks


class Drive(NamedTuple):
    """Shares of stack, wind and fans in a flow through leaks, by squares, which add up."""

    stack: float
    wind: float
    fans: float
    warm: float
    """1 if the house is warmer than outdoors."""


@piece
def drive_of(natural: float, wind: float, flow: float, warm: float) -> Drive:
    """Shares of stack, wind and fans in a flow through the house's leaks.

    Parameters
    ----------
    natural, wind : float
        Infiltration by wind and stack, and by wind alone, m3/s.
    flow : float
        All flow through leaks in one direction, m3/s; fans drive what is more than `natural`.
    warm : float
        1 if the house is warmer than outdoors.
    """
    both = natural * natural
    windy = min(wind * wind, both)
    fans = max(flow * flow - both, 0.0)
    total = both + fans
    if total <= 0.0:
        return Drive(0.0, 0.0, 0.0, warm)
    return Drive((both - windy) / total, windy / total, fans / total, warm)


@piece
def leak_share(path: Path, drive: Drive, inward: bool) -> float:
    """Share of the house's infiltration that comes from a space, or of its exfiltration to it."""
    from_below = (drive.warm > 0.0) == inward
    stack = path.stack_share if from_below == (path.below > 0.0) else 0.0
    return drive.stack * stack + drive.wind * path.wind_share + drive.fans * path.fan_share


@piece
def zone_share(leaks: ZoneLeaks, drive: Drive, inward: bool) -> float:
    """Share of the house's infiltration into the second zone, or of its exfiltration from it."""
    stack = leaks.warm if (drive.warm > 0.0) == inward else leaks.cool
    return drive.stack * stack + drive.wind * leaks.wind + drive.fans * leaks.fans


@piece
def both_ways(path: Path, t: float, t_other: float, density: float) -> float:
    """Air that a zone and a space exchange both ways, kg/s of dry air."""
    stairs = path.stairs * math.sqrt(abs(t - t_other))
    if t_other > t:
        stairs *= path.stable_share
    return density * (path.mixing + stairs)


@piece
def share_leaks(
    work: NDArray[np.float64],
    spaces: Spaces,
    entering: Drive,
    inward: float,
    leaving: Drive,
    outward: float,
    ducted: float,
) -> None:
    """Divide the house's infiltration and exfiltration between the bodies of air, into the flows.

    Parameters
    ----------
    entering, leaving : Drive
        Drives of the two.
    inward, outward : float
        Dry air into the house's zones through leaks, and out of them, kg/s.
    ducted : float
        Dry air that the ducts of a second system bring into its zone, less their leakage, kg/s.
    """
    n = spaces.parameters.shape[0]
    outdoor, first = 2 * (n + 1), 0
    work[outdoor, 0] = inward
    if space_of(spaces.parameters, 0).conditioned > 0.0:
        first, leaks = 1, space_of(spaces.parameters, 0).leaks
        enters = zone_share(leaks, entering, True) * inward
        leaves = zone_share(leaks, leaving, False) * outward
        work[outdoor, 0] -= enters
        work[outdoor, 1] = enters
        lacks = leaves - enters - ducted
        work[1, 0] += max(lacks, 0.0)
        work[0, 1] += max(-lacks, 0.0)
    for k in range(first, n):
        space = space_of(spaces.parameters, k)
        for zone in range(first + 1):
            path = space.second if zone == 1 else space.house
            drawn = leak_share(path, entering, True) * inward
            work[zone, k + 1] += drawn
            work[outdoor, zone] -= drawn
            work[k + 1, zone] += leak_share(path, leaving, False) * outward
