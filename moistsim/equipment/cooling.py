"""The air conditioner: its rating, and the coil behind the rating.

Ratings are net: capacity is less the fan's heat, and input includes the fan's power. Curves are
gross. `gross_rating` converts one to the other, so no fan is counted twice.
"""

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Literal, NamedTuple

import attrs
import numpy as np

from moistsim import air
from moistsim.core.changes import Evolving
from moistsim.core.errors import InputError, Problem
from moistsim.core.fields import choice, description, quantity
from moistsim.core.units import celsius, from_si


class Biquadratic(NamedTuple):
    """The polynomial a + b x + c x² + d y + e y² + f x y.

    x is the entering wet bulb and y the outdoor dry bulb, both in degF as published.
    """

    a: float
    b: float
    c: float
    d: float
    e: float
    f: float

    def at(self, x: float, y: float) -> float:
        a, b, c, d, e, f = self
        return a + b * x + c * x * x + d * y + e * y * y + f * x * y

    def held(self, x: float, y: float, rises: float) -> float:
        """Value as by `at`, with x held at the curve's turning point.

        A curve that rises with x (`rises` = 1) never falls, and one that falls (-1) never rises.
        """
        bend = self.c * rises
        if bend != 0.0:
            turn = -(self.b + self.f * y) / (2.0 * self.c)
            x = max(x, turn) if bend > 0.0 else min(x, turn)
        return self.at(x, y)


class Curves(NamedTuple):
    """Capacity and input of one stage away from its rating point.

    The input ratio is input per capacity over its rated value: input = capacity x ratio. The flow
    polynomials are a + b f + c f² in the fraction f of rated airflow. Outside their limits the
    curves are held, and the run counts the minutes spent there.
    """

    capacity: Biquadratic
    input_ratio: Biquadratic
    capacity_by_flow: tuple[float, float, float]
    input_ratio_by_flow: tuple[float, float, float]
    wet_bulb: tuple[float, float] = (57.0, 72.0)
    """Limits of entering wet bulb for the curves, degF."""
    outdoor: tuple[float, float] = (65.0, 115.0)
    """Limits of outdoor dry bulb for the curves, degF."""
    flow: tuple[float, float] = (0.5, 1.5)
    """Limits of the fraction of rated airflow for the polynomials."""

    def factors(self, x: float, y: float) -> tuple[float, float]:
        """Return gross capacity and input ratio over their rated values, at rated airflow.

        Parameters
        ----------
        x, y : float
            Entering wet bulb and outdoor dry bulb, degF.
        """
        point = (RATED_WET_BULB, RATED_OUTDOOR)
        x = min(max(x, self.wet_bulb[0]), self.wet_bulb[1])
        y = min(max(y, self.outdoor[0]), self.outdoor[1])
        return (
            self.capacity.held(x, y, 1.0) / self.capacity.at(*point),
            self.input_ratio.held(x, y, -1.0) / self.input_ratio.at(*point),
        )


# Cutler, Winkler, Kruis, Christensen & Brandemuehl (2013), NREL/TP-5500-56354, from memory. Each
# curve is divided by its own value at the rating point before use (see engine.parameters).
SINGLE = Curves(
    Biquadratic(3.670270705, -0.098652414, 0.000955906, 0.006552414, -0.0000156, -0.000131877),
    Biquadratic(-3.302695861, 0.137871531, -0.001056996, -0.012573945, 0.000214638, -0.000145054),
    (0.718605468, 0.410099989, -0.128705457),
    (1.32299905, -0.477711207, 0.154712157),
)
LOW = Curves(
    Biquadratic(3.940185508, -0.104723455, 0.001019298, 0.006471171, -0.00000953, -0.000161658),
    Biquadratic(-3.877526888, 0.164566276, -0.001272755, -0.019956043, 0.000256512, -0.000133539),
    (0.65673024, 0.516470835, -0.172887149),
    (1.562945114, -0.791859997, 0.230030877),
)
HIGH = Curves(
    Biquadratic(3.109456535, -0.085520461, 0.000863238, 0.00863049, -0.0000210, -0.000140186),
    Biquadratic(-1.990708931, 0.093969249, -0.00073335, -0.009062553, 0.000165099, -0.0000997),
    (0.690334551, 0.464383753, -0.154507638),
    (1.31565404, -0.482467162, 0.166239001),
)

RATED_INDOOR = 80.0
"""Indoor dry bulb of the cooling rating, degF (AHRI 210/240)."""
RATED_WET_BULB = 67.0
"""Indoor wet bulb of the cooling rating, degF (AHRI 210/240)."""
RATED_OUTDOOR = 95.0
"""Outdoor dry bulb of the cooling rating, degF (AHRI 210/240, test A)."""


def rated_entering_air() -> tuple[float, float]:
    """Dry bulb (degC) and humidity ratio (kg/kg) of the rating's indoor air at sea level."""
    t, t_wet = celsius(RATED_INDOOR), celsius(RATED_WET_BULB)
    w_wet = air.saturation_humidity_ratio(t_wet, air.STANDARD_PRESSURE)
    w = ((air.H_EVAPORATION - 2326.0 * t_wet) * w_wet - air.CP_DRY_AIR * (t - t_wet)) / (
        air.H_EVAPORATION + air.CP_VAPOR * t - air.CP_WATER * t_wet
    )
    return t, w


def _own_curves(value: Any, instance: object) -> Curves | None:
    """Make curves from nested lists of numbers, as in a scenario file."""
    if value is None:
        return None
    try:
        parts = [tuple(float(x) for x in part) for part in value]
        sizes = [len(part) for part in parts]
        good = sizes == [6, 6, 3, 3, 2, 2, 2] and all(math.isfinite(x) for p in parts for x in p)
    except (TypeError, ValueError):
        good = False
    if not good:
        raise InputError(
            f"{type(instance).__name__}.curves",
            value,
            "lists of 6, 6, 3, 3, 2, 2 and 2 numbers, in the order of Curves",
        )
    capacity, input_ratio, *rest = parts
    return Curves(Biquadratic(*capacity), Biquadratic(*input_ratio), *rest)  # type: ignore[arg-type]


@description
class Stage(Evolving):
    """One stage of an air conditioner, by its rating.

    The rating point is 80 degF dry bulb and 67 degF wet bulb indoors, and 95 degF outdoors. Rated
    values include the fan.

    Examples
    --------
    >>> stage = Stage(capacity="3 ton", cop="11.5 Btu/h/W", shr=0.74)
    >>> round(stage.cop, 2), round(stage.airflow, 3)
    (3.37, 0.51)
    """

    capacity: float = quantity(
        "W",
        "net total cooling capacity at the rating point",
        at_most=60e3,
        usual=(500.0, 20e3),
        at_least=200.0,
    )
    cop: float = quantity(
        "W/W",
        "net capacity over total input, fans included; an EER is written with Btu/h/W",
        default="12.2 Btu/h/W",
        above=1.0,
        at_most=8.0,
    )
    shr: float = quantity(
        "fraction",
        "net sensible heat ratio at the rating point",
        default=0.72,
        above=0.3,
        at_most=1.0,
    )
    airflow: float = quantity(
        "m3/s",
        "airflow over the coil at rated speed, standard air; default: 360 cfm/ton",
        default=attrs.Factory(lambda self: self.capacity * _FLOW_PER_CAPACITY, takes_self=True),
        above=0.0,
        at_most=5.0,
        usual=(0.0, 3.0),
    )
    curves: Curves | None = attrs.field(
        default=None,
        converter=attrs.Converter(_own_curves, takes_self=True),
        metadata={
            "help": "performance curves fitted to the maker's table or to the label; default: the "
            "published curves"
        },
    )

    def __attrs_post_init__(self) -> None:
        a_ton = 360.0 * self.airflow / (self.capacity * _FLOW_PER_CAPACITY)
        if not _FLOW_RANGE[0] <= a_ton <= _FLOW_RANGE[1]:
            low, high = (from_si(self.airflow * x / a_ton, "m3/s", "cfm") for x in _FLOW_RANGE)
            cfm = from_si(self.airflow, "m3/s", "cfm")
            raise InputError(
                f"{type(self).__name__}.airflow",
                Problem(f"{self.airflow:.3g} m³/s ({cfm:,.0f} cfm) is {a_ton:,.0f} cfm a ton"),
                f"{low:,.0f} to {high:,.0f} cfm for this capacity",
            )


_FLOW_RANGE = (100.0, 1000.0)
"""Airflow of a stage, cfm a ton, beyond which a number was mistyped: machines have 250 to 500 (common
practice, no source)."""
_FLOW_PER_CAPACITY = 360.0 * 0.000471947443 / 3516.8528
"""Default airflow, 360 cfm a ton, in m3/s per W; our own round figure."""


class GrossRating(NamedTuple):
    """Rating of a stage without the indoor fan, and the coil behind it."""

    capacity: float
    """Gross total capacity, W: enthalpy that the coil removes from the air."""
    input: float
    """Input of compressor and outdoor fan, W."""
    shr: float
    """Gross sensible heat ratio of the coil."""
    dry_air: float
    """Flow of dry air over the coil at the rating point, kg/s."""
    apparatus_dew_point: float
    """Apparatus dew point, degC."""
    bypass_factor: float
    """Bypass factor: share of the air that leaves the coil unchanged."""


def _stages(values: object, instance: object) -> tuple[Stage, ...]:
    stages = tuple(values) if isinstance(values, list | tuple) else ()
    if not stages or not all(isinstance(stage, Stage) for stage in stages):
        raise InputError(
            f"{type(instance).__name__}.stages", values, "a list of Stage, the smallest first"
        )
    return stages


def _check_order(self: "Cooling") -> None:
    flows = [stage.airflow for stage in self.stages]
    capacities = [stage.capacity for stage in self.stages]
    where = f"{type(self).__name__}.stages"
    if sorted(capacities) != capacities:
        raise InputError(
            where,
            [f"{c:.0f} W" for c in capacities],
            "stages in rising order of capacity, stage 1 the smallest",
        )
    if sorted(flows) != flows:
        raise InputError(
            where,
            [f"{flow:.3f} m3/s" for flow in flows],
            "stages in rising order of airflow, stage 1 the smallest",
        )


LEAST_BLOWER_FLOW = 0.3
"""Fraction of full airflow below which a blower does not run steadily (common practice)."""
_FACE_VELOCITY = 1.5
"""Face velocity at the coil at full airflow, m/s: our own round figure. Residential coils are chosen
for 250 to 350 fpm (common practice, no source)."""
_WATER_HELD = 2.5
"""Water on a full coil, kg per m2 of face.

A three-ton coil of 0.4 m2 holds about 1 kg. Shirey, Henderson & Raustad (2006), FSEC-CR-1537-05,
measured this order of magnitude, from memory. With the face velocity above, a full coil holds about
12 minutes of the rated latent capacity."""

_OFF_CYCLE_AIRFLOW = 0.005
"""Airflow over the coil while the blower is off, as a fraction of full airflow.

Our own estimate, no source. Half a meter of air at its wet bulb, 7 K below the room, is heavier by
0.1 Pa. The blower at full airflow works against about 125 Pa. The square law of ducts gives 3 % of
full airflow, and the straight line of filters and fins 0.1 %. This value lies between. Shirey,
Henderson & Raustad (2006) found that a coil behind an automatic fan still dries a little."""

_FAN_OFF_DELAY = "60 s"
"""Fan-off delay after cooling. The boards of air handlers offer 30 to 90 s (common practice, no
source); this is the middle. Some are set to none in humid climates."""


def _fan_airflow(cooling: "Cooling") -> float:
    """Airflow of stage 1 over full airflow, but never below what a blower can run at."""
    # At most 1, because stages in the wrong order are refused later, with their own sentence.
    return min(max(cooling.stages[0].airflow / cooling.full_airflow, LEAST_BLOWER_FLOW), 1.0)


@description
class Cooling(Evolving):
    """An air conditioner with one or more stages on one coil and one variable-speed blower.

    Describe it by the rating of each stage, or in one of three other ways. `Cooling.from_label` uses
    the unit's certificate, `Cooling.from_table` its maker's performance data, and `Cooling.typical`
    its class and year.

    Examples
    --------
    >>> unit = Cooling(
    ...     stages=[
    ...         Stage(capacity="21000 Btu/h", airflow="640 cfm"),
    ...         Stage(capacity="30000 Btu/h", airflow="900 cfm"),
    ...     ],
    ...     minimum_off="4 min",
    ... )
    >>> round(unit.full_airflow, 3)
    0.425
    """

    stages: tuple[Stage, ...] = attrs.field(
        converter=attrs.Converter(_stages, takes_self=True),
        metadata={"help": "stages by rating, the smallest first", "part": Stage, "many": True},
    )
    fan_power: float = quantity(
        "W/(m3/s)",
        "indoor fan power per airflow at full airflow; `fan_law` gives other airflows",
        default="0.42 W/cfm",
        at_least=0.0,
        at_most=1e4,
    )
    minimum_on: float = quantity(
        "s",
        "minimum on time of the compressor",
        default="5 min",
        at_least=0.0,
        at_most=7200.0,
        usual=(20.0, 7200.0),
        meant=("{} min",),
    )
    minimum_off: float = quantity(
        "s",
        "minimum off time of the compressor",
        default="5 min",
        at_least=0.0,
        at_most=7200.0,
        usual=(20.0, 7200.0),
        meant=("{} min",),
    )
    changeover_delay: float = quantity(
        "s",
        "changeover delay: minimum off time between cooling and heating, if longer than `minimum_off`",
        default=0.0,
        at_least=0.0,
        at_most=86400.0,
        usual=(20.0, 86400.0),
        meant=("{} min", "{} h"),
    )
    low_outdoor_limit: float = quantity(
        "degC",
        "low-ambient lockout: outdoor temperature below which cooling does not run",
        default=12.0,
        at_least=-60.0,
        at_most=60.0,
        usual=(-60.0, 30.0),
    )
    frost_limit: float = quantity(
        "degC",
        "frost limit: coil surface temperature that stops the compressor",
        default=-1.0,
        at_least=-40.0,
        at_most=25.0,
        usual=(-30.0, 15.0),
    )
    defrost_time: float = quantity(
        "s",
        "off time after which a frosted coil counts as melted, fan on or off (common practice)",
        default="10 min",
        at_least=0.0,
        at_most=86400.0,
        usual=(20.0, 86400.0),
        meant=("{} min",),
    )
    start_up_time: float = quantity(
        "s", "time constant of capacity after a start", default=45.0, at_least=0.0, at_most=3600.0
    )
    water_held: float = quantity(
        "kg/m2",
        "water that the coil holds before it drains, over face area",
        default=_WATER_HELD,
        at_least=0.0,
        at_most=20.0,
    )
    coil_face_area: float = quantity(
        "m2",
        "face area of the indoor coil; default: full airflow at 1.5 m/s (300 fpm)",
        default=attrs.Factory(lambda self: self.full_airflow / _FACE_VELOCITY, takes_self=True),
        above=0.0,
        at_most=10.0,
        usual=(0.0, 2.0),
    )
    off_cycle_airflow: float = quantity(
        "fraction",
        "airflow over the coil while the fan is off, over full airflow",
        default=_OFF_CYCLE_AIRFLOW,
        at_least=0.0,
        at_most=0.1,
    )
    fan_off_delay: float = quantity(
        "s",
        "fan-off delay (blower delay): time that the indoor fan runs on after the compressor, the heat "
        "pump or the strips stop; 0 for none",
        default=_FAN_OFF_DELAY,
        at_least=0.0,
        at_most=600.0,
        usual=(5.0, 600.0),
        meant=("{} min",),
    )
    fan: Literal["auto", "on", "circulation"] = choice(
        "fan switch of the thermostat. auto: the indoor fan runs with cooling or heating only; on: all "
        "the time; circulation: for at least the time `circulation` in each clock hour",
        "auto",
        "on",
        "circulation",
        default="auto",
    )
    circulation: float = quantity(
        "s",
        "minimum fan runtime in each clock hour with the fan switch on circulation; runs for cooling and "
        "heating count",
        default="20 min",
        above=0.0,
        at_most=3600.0,
        usual=(60.0, 3600.0),
        meant=("{} min",),
    )
    fan_airflow: float = quantity(
        "fraction",
        "airflow over full airflow while the indoor fan runs without cooling or heating: fan ON, "
        "circulation, a call for the fan; default: the airflow of stage 1",
        default=attrs.Factory(_fan_airflow, takes_self=True),
        at_least=LEAST_BLOWER_FLOW,
        at_most=1.0,
    )
    crankcase_heat: float = quantity(
        "W",
        "power of the outdoor unit while the compressor is off (crankcase heater)",
        default=20.0,
        at_least=0.0,
        at_most=1000.0,
    )
    modulation: Literal["staged", "variable"] = choice(
        "staged: only whole stages; variable: any capacity from the lowest to the highest stage, on "
        "straight lines between stages",
        "staged",
        "variable",
        default="staged",
    )
    fan_law: Literal["cubed", "proportional"] = choice(
        "indoor fan power by airflow: cubed, as for a constant-torque (ECM) motor in one duct system; "
        "or proportional, as nearly for the speed taps of a PSC motor",
        "cubed",
        "proportional",
        default="cubed",
    )

    def __attrs_post_init__(self) -> None:
        _check_order(self)
        for number in range(len(self.stages)):
            self.gross_rating(number)

    @classmethod
    def from_label(
        cls,
        capacity: Any,
        seer2: Any = None,
        eer2: Any = None,
        *,
        seer: Any = None,
        kind: str = "single",
        shr: Any = 0.72,
        airflow: Any = None,
        lower_stages: Sequence[float] | None = None,
        **fields: Any,
    ) -> "Cooling":
        """Make a unit from its certificate, so the test procedure reproduces the label.

        An EER2 is the efficiency of full capacity at 95 degF. The SEER2 then fixes one more value.
        For a single stage that is the slope of input over outdoor temperature, as a multiple of the
        published slope. For more stages it is the efficiency of the lowest stage over that of full
        capacity; other stages lie on a straight line over capacity. Without an EER2, the published
        slope and a usual ratio of efficiencies hold, and the SEER2 fixes the level of efficiency.
        Cycling losses follow from `start_up_time` (`seasonal_rating.degradation`).

        Parameters
        ----------
        capacity : float or str
            Net capacity at 95 degF, W.
        seer2, eer2 : float or str
            Efficiencies; plain numbers are in Btu/(W h), as on labels.
        seer : float or str, optional
            Instead of the SEER2, for a label before 2023. The SEER2 is then 0.95 of it.
        kind : str
            "single", "two-stage", "multi-stage" or "variable" (any capacity from the lowest to the
            full one).
        shr : float
            Net sensible heat ratio of each stage at 95 degF.
        airflow : float or str, optional
            Airflow at full capacity; default: 360 cfm a ton. Lower stages have it in proportion.
        lower_stages : sequence of float, optional
            Lower capacities as fractions of the full one, the smallest first. Default: 0.72 for a
            two-stage unit and 0.35 for a variable one.
        **fields
            Further fields of `Cooling`.

        Raises
        ------
        InputError
            If no machine has such a label, or if the two efficiencies contradict. The sentence
            gives the possible range.

        Examples
        --------
        >>> unit = Cooling.from_label("36000 Btu/h", seer2=14.3, eer2=11.7)
        >>> round(unit.stages[0].cop / 0.29307, 2)
        11.7
        """
        from moistsim.equipment import seasonal_rating

        return seasonal_rating.from_label(
            capacity, seer2, eer2, seer=seer, kind=kind, shr=shr, airflow=airflow,
            lower_stages=lower_stages, **fields,
        )  # fmt: skip

    @classmethod
    def from_table(cls, source: Any, **arguments: Any) -> "Cooling":
        """Make a unit from its maker's expanded performance data, a CSV file or a DataFrame.

        `fit_table` takes the same arguments and documents the columns. It returns the errors of the
        fit together with the unit.
        """
        from moistsim.equipment.performance_table import fit_table

        return fit_table(source, **arguments).cooling

    @classmethod
    def typical(
        cls, capacity: Any, *, kind: str = "single", year: int = 2010, **fields: Any
    ) -> "Cooling":
        """Make a unit from its class and year alone.

        Its seasonal rating is the federal minimum of that year for split units in the warm regions.
        The minimum is SEER 10 from 1992, 13 from 2006, 14 from 2015, and SEER2 14.3 from 2023 (from
        memory). SEER2 is
        0.95 of SEER. Two-stage units have 1.15 times the minimum and variable-speed units 1.3 times;
        these factors are our own round figures.

        Parameters
        ----------
        capacity : float or str
            Net capacity at 95 degF, W.
        kind : str
            "single", "two-stage" (from 1992) or "variable" (from 2006).
        year : int
            Year of manufacture, from 1970.
        **fields
            Further arguments of `Cooling.from_label`.

        Examples
        --------
        >>> unit = Cooling.typical("30000 Btu/h", year=2008)
        >>> len(unit.stages), round(unit.stages[0].capacity)
        (1, 8792)
        """
        from moistsim.equipment import seasonal_rating

        return seasonal_rating.typical(capacity, kind=kind, year=year, **fields)

    @property
    def full_airflow(self) -> float:
        """Airflow of the highest stage, m3/s of standard air."""
        return self.stages[-1].airflow

    def curves(self, number: int) -> Curves:
        """Return the curves of a stage: its own, or the published ones.

        The published curves have one set for single-stage units, one for low and one for high stages.
        """
        own = self.stages[number].curves
        if own is not None:
            return own
        if len(self.stages) == 1:
            return SINGLE
        return HIGH if number == len(self.stages) - 1 else LOW

    def fan_watts(self, airflow: float) -> float:
        """Return indoor fan power, W, at an airflow in m3/s, by `fan_law` from full airflow."""
        exponent = 3 if self.fan_law == "cubed" else 1
        return self.fan_power * self.full_airflow * (airflow / self.full_airflow) ** exponent

    def gross_rating(self, number: int) -> GrossRating:
        """Return the rating of a stage without its fan, and the coil behind it.

        Apparatus dew point and bypass factor describe the coil. Air leaves on the straight line from
        its entering state to saturation at the apparatus dew point (ASHRAE Handbook, HVAC Systems
        and Equipment, cooling coils).

        Parameters
        ----------
        number : int
            Stage, from 0.

        Raises
        ------
        InputError
            If no saturated coil gives the rated sensible heat ratio at the rated airflow, or if the
            fan alone draws more than the rated input.
        """
        stage = self.stages[number]
        where = f"{type(self).__name__}.stages[{number}]"
        fan = self.fan_watts(stage.airflow)
        capacity = stage.capacity + fan
        compressor = stage.capacity / stage.cop - fan
        if compressor <= 0.0:
            raise InputError(
                f"{where}.cop",
                f"{stage.cop:.2f} W/W",
                f"an efficiency whose input exceeds the indoor fan's {fan:.0f} W",
            )
        sensible = stage.capacity * stage.shr + fan
        t, w = rated_entering_air()
        dry_air = stage.airflow * air.STANDARD_DENSITY
        h = air.enthalpy(t, w)
        h_leaving = h - capacity / dry_air
        # Sensible heat cools the air at its leaving humidity. The rest is latent:
        # h(t, w) - h(t, w_leaving).
        latent = capacity - sensible
        w_leaving = w - latent / dry_air / air.vapor_enthalpy(t)
        candidates = _coils(h, w, h_leaving)
        shr = sensible / capacity
        ratio = (w - w_leaving) / (h - h_leaving)
        # A line can meet two coils. The real one is the warmer, with the smaller bypass.
        for (t_cold, r_cold), (t_warm, r_warm) in zip(candidates[1:], candidates[:-1], strict=True):
            if (r_cold - ratio) * (r_warm - ratio) <= 0.0:
                apparatus = _root(h, w, ratio, t_cold, t_warm)
                h_apparatus = air.enthalpy(
                    apparatus, air.saturation_humidity_ratio(apparatus, air.STANDARD_PRESSURE)
                )
                bypass = 1.0 - (h - h_leaving) / (h - h_apparatus)
                return GrossRating(capacity, compressor, shr, dry_air, apparatus, bypass)
        nets = [
            (capacity * (1.0 - r * air.vapor_enthalpy(t)) - fan) / stage.capacity
            for _, r in candidates
        ]
        low, high = (
            math.ceil(min(nets) * 100.0) / 100.0,
            math.floor(min(max(nets), 1.0) * 100) / 100,
        )
        raise InputError(
            f"{where}.shr",
            stage.shr,
            f"a sensible heat ratio from {low:.2f} to {high:.2f}, the range that a wet coil can "
            f"give at this capacity and {stage.airflow:.3f} m3/s",
        )


@lru_cache(maxsize=64)
def _coils(h: float, w: float, h_leaving: float) -> tuple[tuple[float, float], ...]:
    """Return apparatus dew points from the warmest (no bypass) to freezing, each with its slope
    dw/dh."""
    warmest = air.saturated_at(h_leaving, air.STANDARD_PRESSURE, 10.0)[0]
    pairs = []
    for t in np.linspace(warmest - 1e-9, 0.0, 400):
        w_sat = air.saturation_humidity_ratio(t, air.STANDARD_PRESSURE)
        pairs.append((float(t), (w - w_sat) / (h - air.enthalpy(t, w_sat))))
    return tuple(pairs)


def _root(h: float, w: float, ratio: float, cold: float, warm: float) -> float:
    from scipy.optimize import brentq

    def miss(t: float) -> float:
        w_sat = air.saturation_humidity_ratio(t, air.STANDARD_PRESSURE)
        return (w - w_sat) - ratio * (h - air.enthalpy(t, w_sat))

    return float(brentq(miss, cold, warm, xtol=1e-12))
