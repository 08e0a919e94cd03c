"""Mechanical ventilation: airflow, kind of fan, recovery and lockouts."""

import math

import attrs

from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import choice, description, quantity


def _fan_power(ventilation: "Ventilation") -> str | float:
    return 0.0 if ventilation.kind == "central" else "0.3 W/cfm"


@description
class Ventilation(Evolving):
    """Whole-house ventilation at one airflow, which a control may scale.

    Kind `central` has no fan of its own. A duct brings outdoor air to the return of the air handler
    while the blower runs, in proportion to the blower's airflow. `airflow` is that at full airflow.
    `least_run` is the minimum running time of the blower in each hour; missing time is made up at
    the end of the hour, at the airflow of the fan alone (`Cooling.fan_airflow`). A separate fan with
    a `least_run` runs for that time from the start of each hour. The default `airflow` makes
    `least_run` equivalent to the total rate of ASHRAE 62.2 (see `intermittent_airflow`).

    Recovery is rated at `airflow`, and rises when a control lowers the airflow. Below `frost_limit`
    outdoors a balanced machine protects its core in one of two ways. It passes air without recovery
    ("bypass"), or its supply fan pauses for a share of the time that grows with the cold ("supply
    rests"). During a pause the exhaust fan unbalances the house.

    A lockout stops ventilation, whatever the control calls for. It holds while the outdoor dew point
    is above `lockout_dew_point`, or the outdoor temperature above `lockout_above` or below
    `lockout_below`. Compare the mean airflow on the meter with the required airflow.

    Examples
    --------
    >>> recovery = Ventilation(
    ...     kind="balanced", airflow="80 cfm", sensible_recovery="72 %", latent_recovery="48 %"
    ... )
    >>> round(recovery.airflow, 4)
    0.0378
    """

    airflow: float | None = quantity(
        "m3/s",
        "outdoor airflow; default: total rate of ASHRAE 62.2 for the house",
        default=None,
        at_least=0.0,
        optional=True,
        at_most=3.0,
        usual=(0.0, 1.0),
    )
    kind: str = choice(
        "kind of ventilation; exhaust and supply fans unbalance the house",
        "exhaust",
        "supply",
        "balanced",
        "central",
        default="exhaust",
    )
    sensible_recovery: float = quantity(
        "fraction",
        "sensible effectiveness of the recovery",
        default=0.0,
        at_least=0.0,
        at_most=0.95,
    )
    latent_recovery: float = quantity(
        "fraction", "latent effectiveness of the recovery", default=0.0, at_least=0.0, at_most=0.95
    )
    fan_power: float = quantity(
        "W/(m3/s)",
        "power of all ventilation fans per airflow; default: 0.3 W/cfm, or 0 for a central duct",
        default=attrs.Factory(_fan_power, takes_self=True),
        at_least=0.0,
        at_most=1e4,
    )
    frost_limit: float | None = quantity(
        "degC",
        "outdoor temperature below which a balanced machine protects its core; default: never",
        default=None,
        optional=True,
        at_least=-60.0,
        at_most=60.0,
        usual=(-60.0, 20.0),
    )
    frost_control: str = choice(
        "frost protection of a balanced machine", "bypass", "supply rests", default="supply rests"
    )
    least_run: float = quantity(
        "s",
        "minimum running time in each hour, of the blower (central) or of the ventilation fan; 0 for "
        "no minimum (central) or for a continuous fan",
        default=0.0,
        at_least=0.0,
        at_most=3600.0,
        usual=(60.0, 3600.0),
        meant=("{} min",),
    )
    lockout_dew_point: float | None = quantity(
        "degC", "outdoor dew point above which ventilation stops; default: never", default=None,
        optional=True, at_least=-60.0, at_most=60.0, usual=(-60.0, 32.0),
    )  # fmt: skip
    lockout_above: float | None = quantity(
        "degC", "outdoor temperature above which ventilation stops; default: never", default=None,
        optional=True, at_least=-60.0, at_most=60.0,
    )  # fmt: skip
    lockout_below: float | None = quantity(
        "degC", "outdoor temperature below which ventilation stops; default: never", default=None,
        optional=True, at_least=-60.0, at_most=60.0, usual=(-60.0, 30.0),
    )  # fmt: skip

    def __attrs_post_init__(self) -> None:
        where = type(self).__name__
        if self.kind != "balanced":
            for name in ("sensible_recovery", "latent_recovery"):
                if getattr(self, name) > 0.0:
                    raise InputError(
                        f"{where}.{name}",
                        getattr(self, name),
                        f"0 for {self.kind} ventilation: only a balanced machine recovers",
                    )
            if self.frost_limit is not None:
                raise InputError(
                    f"{where}.frost_limit",
                    f"{self.frost_limit:g} °C",
                    f"nothing for {self.kind} ventilation: only a balanced machine has a core",
                )
        if self.kind == "central" and self.airflow is None and self.least_run == 0.0:
            raise InputError(
                f"{where}.airflow",
                None,
                "an airflow for a central duct, or a least_run from which to size it",
            )
        low, high = self.lockout_below, self.lockout_above
        if low is not None and high is not None and low >= high:
            raise InputError(
                f"{where}.lockout_below",
                f"{low:g} °C",
                f"below lockout_above, {high:g} °C: between them the fan may run",
            )


def ashrae_62_2_rate(floor_area: float, bedrooms: float) -> float:
    """Total ventilation rate of ASHRAE 62.2, m3/s.

    The rate is 0.15 L/s per m2 of floor plus 3.5 L/s per (bedrooms + 1), before any credit for
    infiltration. Source: ASHRAE 62.2 (2013 on), equation 4.1b, from memory.

    >>> round(ashrae_62_2_rate(185.8, 3) / 0.000471947)  # cfm
    89
    """
    return 0.15e-3 * floor_area + 3.5e-3 * (bedrooms + 1.0)


def ashrae_62_2_fan_rate(total: float, infiltration: float, *, balanced: bool) -> float:
    """Rate of a continuous fan by ASHRAE 62.2 with credit for infiltration, m3/s.

    The fan brings the total rate less the credit: all of the infiltration with balanced
    ventilation, and infiltration² / total otherwise, because unbalanced air adds in quadrature. At
    most two thirds of the total rate are credited. The standard credits infiltration of a detached
    house only after a blower-door test. Source: ASHRAE 62.2 (2016), section 4.1.2, from memory.

    Parameters
    ----------
    total : float
        Total rate, m3/s; see `ashrae_62_2_rate`.
    infiltration : float
        Effective annual infiltration, m3/s.
    balanced : bool
        Whether supply and exhaust fans bring equal flows.

    >>> ashrae_62_2_fan_rate(0.04, 0.01, balanced=True)
    0.03
    >>> ashrae_62_2_fan_rate(0.04, 0.01, balanced=False)
    0.0375
    """
    credited = min(infiltration, 2.0 / 3.0 * total)
    return total - credited * (1.0 if balanced else credited / total)


def intermittent_effectiveness(fraction_on: float, cycle: float, air_changes: float) -> float:
    """Effectiveness of ventilation that runs for a share of the time, 0 to 1.

    Take a constant source and no other air. A fan that brings A / (effectiveness x fraction_on)
    while it runs then gives the mean concentration of continuous ventilation at rate A. With
    f = 1 - fraction_on and N = A x cycle / 2:

        e = (1 - f² N coth(N / e)) / (1 - f²)

    Source: Sherman (2006), LBNL-56292, the equation behind ASHRAE 62.2, from memory and derived anew.
    `tests/sources/` integrates it.

    Parameters
    ----------
    fraction_on : float
        Share of the time in which the fan runs, above 0 to 1.
    cycle : float
        Time from start to start, s.
    air_changes : float
        Equivalent continuous rate, air changes an hour.

    Raises
    ------
    InputError
        If the pause is so long that no airflow makes up for it.

    Examples
    --------
    >>> round(intermittent_effectiveness(1.0 / 3.0, 3600.0, 0.3), 3)
    0.997
    >>> round(intermittent_effectiveness(0.5, 86400.0, 0.3), 3)
    0.133
    """
    from scipy.optimize import brentq

    where = "intermittent_effectiveness"
    if not 0.0 < fraction_on <= 1.0:
        raise InputError(f"{where} fraction_on", fraction_on, "a fraction above 0 and at most 1")
    for name, value in (("cycle", cycle), ("air_changes", air_changes)):
        if not 0.0 <= value < math.inf:
            raise InputError(f"{where} {name}", value, "a number at least 0")
    off = 1.0 - fraction_on
    n = 0.5 * air_changes * cycle / 3600.0
    if off == 0.0 or n == 0.0:
        return 1.0
    if off * off * n >= 1.0:
        raise InputError(
            f"{where} fraction_on",
            Problem(f"the pause of {off * cycle / 3600.0:.3g} h is too long"),
            f"a shorter pause at {air_changes:.3g} air changes an hour",
        )

    def surplus(e: float) -> float:
        return e * (1.0 - off * off) + off * off * n / math.tanh(n / e) - 1.0

    return float(brentq(surplus, 1.0e-12, 1.0, xtol=1.0e-14))


def intermittent_airflow(rate: float, fraction_on: float, cycle: float, volume: float) -> float:
    """Airflow of an intermittent fan, m3/s, equivalent to a continuous `rate` (ASHRAE 62.2).

    Q = rate / (effectiveness x fraction_on); see `intermittent_effectiveness`.

    Parameters
    ----------
    rate : float
        Equivalent continuous rate, m3/s.
    fraction_on, cycle : float
        Share of the time in which the fan runs, and time from start to start, s.
    volume : float
        Air volume of the house, m3.
    """
    effectiveness = intermittent_effectiveness(fraction_on, cycle, 3600.0 * rate / volume)
    return rate / (effectiveness * fraction_on)
