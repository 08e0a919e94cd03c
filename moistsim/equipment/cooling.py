"""The air conditioner: what its label says, and what its coil must then be.

Ratings are net (the indoor fan's heat taken off the capacity, its power within the input); curves
are gross. `gross_rating` goes from one to the other, so that no fan is counted twice.
"""

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Literal, NamedTuple

import attrs
import numpy as np

from moistsim import air
from moistsim.core.errors import InputError
from moistsim.core.fields import choice, description, quantity


class Biquadratic(NamedTuple):
    """a + b x + c x² + d y + e y² + f x y, with x the entering wet bulb and y the outdoor dry
    bulb, both in degF as published."""

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
        """As `at`, x held at the turning point beyond which what rises with x (`rises` = 1) would
        fall, or what falls with it (-1) would rise."""
        bend = self.c * rises
        if bend != 0.0:
            turn = -(self.b + self.f * y) / (2.0 * self.c)
            x = max(x, turn) if bend > 0.0 else min(x, turn)
        return self.at(x, y)


class Curves(NamedTuple):
    """How one stage departs from its rating point.

    Input ratio is the input per unit of capacity over its rated value: input = capacity x ratio.
    The flow polynomials are a + b f + c f² in the fraction f of rated airflow. Beyond the limits
    the curves are held, and the minutes that a run spends there are counted.
    """

    capacity: Biquadratic
    input_ratio: Biquadratic
    capacity_by_flow: tuple[float, float, float]
    input_ratio_by_flow: tuple[float, float, float]
    wet_bulb: tuple[float, float] = (57.0, 72.0)
    """Entering wet bulb within which the curves hold, degF."""
    outdoor: tuple[float, float] = (65.0, 115.0)
    """Outdoor dry bulb within which they hold, degF."""
    flow: tuple[float, float] = (0.5, 1.5)
    """Fraction of rated airflow within which the polynomials are used."""

    def factors(self, x: float, y: float) -> tuple[float, float]:
        """Gross capacity and input ratio over their rated values, at rated airflow.

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
# is divided by its own value at the rating point before use (see engine.parameters).
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


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def rated_entering_air() -> tuple[float, float]:
    """Dry bulb (degC) and humidity ratio (kg/kg) of the rating's indoor air at sea level."""
    t, t_wet = _celsius(RATED_INDOOR), _celsius(RATED_WET_BULB)
    w_wet = air.saturation_humidity_ratio(t_wet, air.STANDARD_PRESSURE)
    w = ((air.H_EVAPORATION - 2326.0 * t_wet) * w_wet - air.CP_DRY_AIR * (t - t_wet)) / (
        air.H_EVAPORATION + air.CP_VAPOR * t - air.CP_WATER * t_wet
    )
    return t, w


def _own_curves(value: Any, instance: object) -> Curves | None:
    """Curves from nested lists of numbers, as a scenario file holds them."""
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
class Stage:
    """One stage of the compressor as rated: 80/67 degF indoors, 95 degF outdoors, fan included."""

    capacity: float = quantity("W", "net total cooling capacity", above=0.0, at_most=60e3)
    cop: float = quantity(
        "W/W",
        "net capacity over total input, fans included (EER in Btu/h/W)",
        default="12.2 Btu/h/W",
        above=1.0,
        at_most=8.0,
    )
    shr: float = quantity(
        "fraction", "sensible heat ratio, net", default=0.72, above=0.3, at_most=1.0
    )
    airflow: float = quantity(
        "m3/s",
        "airflow over the coil, standard air",
        default=attrs.Factory(lambda self: self.capacity * _FLOW_PER_CAPACITY, takes_self=True),
        above=0.0,
    )
    curves: Curves | None = attrs.field(
        default=None,
        converter=attrs.Converter(_own_curves, takes_self=True),
        metadata={
            "help": "how the stage departs from its rating, as fitted to its maker's table or its "
            "label; nothing for the published curves"
        },
    )


_FLOW_PER_CAPACITY = 360.0 * 0.000471947443 / 3516.8528
"""Our default airflow, 360 cfm a ton, in m3/s per W."""


class GrossRating(NamedTuple):
    """A stage's rating with the indoor fan taken out, and the coil that gives it."""

    capacity: float
    """Gross total capacity, W: the enthalpy that the coil takes from the air."""
    input: float
    """Compressor and outdoor fan, W."""
    shr: float
    """Gross sensible heat ratio of the coil."""
    dry_air: float
    """Dry air over the coil at rating, kg/s."""
    apparatus_dew_point: float
    """degC."""
    bypass_factor: float
    """Share of the air that leaves as it came."""


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
"""Fraction of full flow below which a blower does not turn steadily (common practice)."""
_FACE_VELOCITY = 1.5
"""Air at the coil's face at full flow, m/s: our own round figure for residential coils, which are
chosen for 250 to 350 fpm (common practice, no source)."""
_WATER_HELD = 2.5
"""kg per m2 of face: about 1 kg on the 0.4 m2 of a three-ton coil, the order of magnitude that
Shirey, Henderson & Raustad (2006), FSEC-CR-1537-05, measured; from memory. With the face velocity
above, a full coil is 12 min or so of the rated latent capacity."""

_OFF_CYCLE_AIRFLOW = 0.005
"""Our own estimate, no source: half a meter of air at its wet bulb, 7 K below the room's, is heavier
by 0.1 Pa, where the blower at full flow works against about 125 Pa. By the square law of ducts that
drives 3 % of full flow, by the straight line of filters and fins 0.1 %; this lies between. That an
automatic fan still lets a little dry off is a finding of Shirey, Henderson & Raustad (2006)."""


@description
class Cooling:
    """An air conditioner with one or more stages on one coil and one variable-speed blower.

    Described by the rating of each stage; or by `Cooling.from_label` from what a certificate says
    of the whole unit, `Cooling.from_table` from its maker's performance data, `Cooling.typical`
    where nothing is known but its class and year.
    """

    stages: tuple[Stage, ...] = attrs.field(
        converter=attrs.Converter(_stages, takes_self=True),
        metadata={"help": "ratings by stage, the smallest first", "part": Stage, "many": True},
    )
    fan_power: float = quantity(
        "W/(m3/s)",
        "indoor fan power per airflow at full flow; at other flows by `fan_law`",
        default="0.42 W/cfm",
        at_least=0.0,
    )
    minimum_on: float = quantity("s", "least running time", default="5 min", at_least=0.0)
    minimum_off: float = quantity("s", "least rest between runs", default="5 min", at_least=0.0)
    changeover_delay: float = quantity(
        "s",
        "least rest between cooling and heating, where it is longer than `minimum_off`",
        default=0.0,
        at_least=0.0,
    )
    low_outdoor_limit: float = quantity(
        "degC", "outdoor temperature below which cooling is locked out", default=12.0
    )
    frost_limit: float = quantity(
        "degC", "coil surface temperature that stops the compressor", default=-1.0
    )
    defrost_time: float = quantity(
        "s",
        "rest after which a frosted coil is taken as melted, fan on or off (common practice)",
        default="10 min",
        at_least=0.0,
    )
    start_up_time: float = quantity(
        "s", "time constant with which capacity builds up after a start", default=45.0, at_least=0.0
    )
    water_held: float = quantity(
        "kg/m2",
        "water that the coil holds before any drains, per area of its face",
        default=_WATER_HELD,
        at_least=0.0,
        at_most=20.0,
    )
    coil_face_area: float = quantity(
        "m2",
        "face of the indoor coil that the air meets; by default full airflow at 1.5 m/s (300 fpm)",
        default=attrs.Factory(lambda self: self.full_airflow / _FACE_VELOCITY, takes_self=True),
        above=0.0,
        at_most=10.0,
    )
    off_cycle_airflow: float = quantity(
        "fraction",
        "air that drifts over the coil while the fan rests, of full flow",
        default=_OFF_CYCLE_AIRFLOW,
        at_least=0.0,
        at_most=0.1,
    )
    fan_off_delay: float = quantity(
        "s",
        "time that the indoor fan runs on after the compressor stops, in whole steps",
        default=0.0,
        at_least=0.0,
    )
    idle_airflow: float = quantity(
        "fraction",
        "indoor fan with nothing to do, of full flow: 0 for automatic, else a continuous fan",
        default=0.0,
        at_least=0.0,
        at_most=1.0,
    )
    crankcase_heat: float = quantity(
        "W", "outdoor unit's draw while the compressor rests", default=20.0, at_least=0.0
    )
    modulation: Literal["staged", "variable"] = choice(
        "staged: whole stages; variable: any call between the lowest and the highest stage is "
        "followed, on the straight line between the stages beside it",
        "staged",
        "variable",
        default="staged",
    )
    fan_law: Literal["cubed", "proportional"] = choice(
        "indoor fan power with the cube of the airflow, as a motor of controlled speed in one "
        "duct system draws; or proportional to it, W per flow constant, as speed taps of an "
        "induction motor nearly do",
        "cubed",
        "proportional",
        default="cubed",
    )

    def __attrs_post_init__(self) -> None:
        _check_order(self)
        if 0.0 < self.idle_airflow < LEAST_BLOWER_FLOW:
            raise InputError(
                f"{type(self).__name__}.idle_airflow",
                self.idle_airflow,
                f"0 for an automatic fan, or from {LEAST_BLOWER_FLOW} to 1 of full flow: no blower "
                "turns steadily below that",
            )
        for number in range(len(self.stages)):
            self.gross_rating(number)

    @classmethod
    def from_label(
        cls,
        capacity: Any,
        seer2: Any,
        eer2: Any = None,
        *,
        kind: str = "single",
        shr: Any = 0.72,
        airflow: Any = None,
        lower_stages: Sequence[float] | None = None,
        **fields: Any,
    ) -> "Cooling":
        """A unit from its certificate, so that the test procedure run on it gives the label back.

        With an EER2, that is the efficiency of full capacity at 95 degF, and the SEER2 decides the
        other thing that it can: of a single stage how its input falls with outdoor temperature
        (its published slope times a factor), of more stages the efficiency of the lowest over that
        of full capacity, on a straight line over capacity in between. Without one, the published
        slope and a usual ratio of efficiencies are taken, and the SEER2 decides the level. How
        cycling degrades the unit follows from its `start_up_time` (`seasonal_rating.degradation`).

        Parameters
        ----------
        capacity : float or str
            Net capacity at 95 degF, W.
        seer2, eer2 : float or str
            As labels print them, Btu/(W h), if plain numbers.
        kind : str
            "single", "two-stage", "multi-stage" or "variable" (between its lowest and full
            capacity as called).
        shr : float
            Net sensible heat ratio at 95 degF, of every stage.
        airflow : float or str, optional
            At full capacity; 360 cfm a ton if left out. Lower stages have it in proportion.
        lower_stages : sequence of float, optional
            Capacities below the full one as fractions of it, the smallest first; by default 0.72
            of a two-stage unit and 0.35 of a variable one.
        **fields
            Further fields of `Cooling`.

        Raises
        ------
        InputError
            If no machine has such a label, or the two contradict; the sentence says what range is
            possible.

        Examples
        --------
        >>> unit = Cooling.from_label("36000 Btu/h", seer2=14.3, eer2=11.7)
        >>> round(unit.stages[0].cop / 0.29307, 2)
        11.7
        """
        from moistsim.equipment import seasonal_rating

        return seasonal_rating.from_label(
            capacity, seer2, eer2, kind=kind, shr=shr, airflow=airflow,
            lower_stages=lower_stages, **fields,
        )  # fmt: skip

    @classmethod
    def from_table(cls, source: Any, **arguments: Any) -> "Cooling":
        """A unit from its maker's expanded performance data, a CSV file or a DataFrame.

        The unit alone; `performance_table.fit_table`, which takes the same arguments and says what
        columns there are, returns the errors of the fit beside it.
        """
        from moistsim.equipment.performance_table import fit_table

        return fit_table(source, **arguments).cooling

    @classmethod
    def typical(
        cls, capacity: Any, *, kind: str = "single", year: int = 2010, **fields: Any
    ) -> "Cooling":
        """A unit of which only the class and the year are known.

        Its seasonal rating is the federal minimum of that year for split units in the warm regions
        (SEER 10 from 1992, 13 from 2006, 14 from 2015, SEER2 14.3 from 2023, from memory; a SEER
        counts as 95 % as much SEER2), times 1.15 for two stages and 1.3 for variable speed, which
        are our own round figures.

        Parameters
        ----------
        capacity : float or str
            Net capacity at 95 degF, W.
        kind : str
            "single", "two-stage" (from 1992) or "variable" (from 2006).
        year : int
            Of manufacture, from 1970.
        **fields
            Further arguments of `Cooling.from_label`.
        """
        from moistsim.equipment import seasonal_rating

        return seasonal_rating.typical(capacity, kind=kind, year=year, **fields)

    @property
    def full_airflow(self) -> float:
        """Airflow of the top stage, m3/s of standard air."""
        return self.stages[-1].airflow

    def curves(self, number: int) -> Curves:
        """The curves of a stage: its own, or the published: one set for a single stage, else the
        low or the high set."""
        own = self.stages[number].curves
        if own is not None:
            return own
        if len(self.stages) == 1:
            return SINGLE
        return HIGH if number == len(self.stages) - 1 else LOW

    def fan_watts(self, airflow: float) -> float:
        """Indoor fan power, W, at an airflow in m3/s, by `fan_law` from full flow."""
        exponent = 3 if self.fan_law == "cubed" else 1
        return self.fan_power * self.full_airflow * (airflow / self.full_airflow) ** exponent

    def gross_rating(self, number: int) -> GrossRating:
        """The rating of a stage without its fan, and the coil behind it.

        The coil is described by its apparatus dew point and bypass factor: the air leaves on the
        straight line from its entering state to saturation at the apparatus dew point (ASHRAE
        Handbook, HVAC Systems and Equipment, cooling coils).

        Parameters
        ----------
        number : int
            Stage, from 0.

        Raises
        ------
        InputError
            If no saturated coil gives the rated sensible heat ratio at the rated airflow, or the
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
        # Sensible heat is what cools the air at the humidity that it leaves with; the rest is
        # latent: h(t, w) - h(t, w_leaving).
        latent = capacity - sensible
        w_leaving = w - latent / dry_air / air.vapor_enthalpy(t)
        candidates = _coils(h, w, h_leaving)
        shr = sensible / capacity
        ratio = (w - w_leaving) / (h - h_leaving)
        # Of the two coils that a line can meet, a real one is the warmer (the smaller bypass).
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
    """Apparatus dew points from the warmest (no bypass) to freezing, each with the slope dw/dh of
    the line to it."""
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
