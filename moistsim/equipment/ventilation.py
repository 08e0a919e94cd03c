"""Mechanical ventilation: how much, by what kind of fan, with or without recovery."""

from moistsim.units import InputError, choice, description, quantity


@description
class Ventilation:
    """A whole-house fan that runs at one rate, which a strategy may scale."""

    airflow: float | None = quantity(
        "m3/s",
        "outdoor air; left out, the total rate of ASHRAE 62.2 for the house",
        default=None,
        at_least=0.0,
        optional=True,
    )
    kind: str = choice(
        "which side the fan is on: exhaust and supply unbalance the house",
        "exhaust",
        "supply",
        "balanced",
        default="exhaust",
    )
    sensible_recovery: float = quantity(
        "fraction", "sensible effectiveness", default=0.0, at_least=0.0, at_most=0.95
    )
    latent_recovery: float = quantity(
        "fraction", "latent effectiveness", default=0.0, at_least=0.0, at_most=0.95
    )
    fan_power: float = quantity(
        "W/(m3/s)", "power of all its fans per air flow", default="0.3 W/cfm", at_least=0.0
    )

    def __attrs_post_init__(self) -> None:
        if self.kind != "balanced":
            for name in ("sensible_recovery", "latent_recovery"):
                if getattr(self, name) > 0.0:
                    raise InputError(
                        f"{type(self).__name__}.{name}",
                        getattr(self, name),
                        f"0 for {self.kind} ventilation: only a balanced machine recovers",
                    )


def ashrae_62_2_rate(floor_area: float, bedrooms: float) -> float:
    """Total ventilation rate, m3/s: 0.15 L/s per m2 of floor and 3.5 L/s per (bedrooms + 1).

    ASHRAE 62.2 (2013 on), equation 4.1b, before any credit for infiltration; from memory.

    >>> round(ashrae_62_2_rate(185.8, 3) / 0.000471947)  # cfm
    89
    """
    return 0.15e-3 * floor_area + 3.5e-3 * (bedrooms + 1.0)
