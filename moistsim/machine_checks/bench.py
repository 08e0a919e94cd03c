"""A coil on a bench: air that never changes, a compressor that cycles by the clock.

A room reacts and hides the share of the coil's water that drains and the share that the idle coil
gives back. A bench with constant air shows both.
"""

import math
from collections.abc import Iterable

import numpy as np
import pandas as pd

from moistsim import air
from moistsim.core.errors import InputError
from moistsim.core.units import to_si
from moistsim.engine import (
    CONDENSATE_ENTHALPY,
    State,
    air_handler_parameters,
    dehumidifier_parameters,
    stage_table,
)
from moistsim.equipment import Cooling, Equipment
from moistsim.machine_checks.coil_span import WATER, run_span

RUNTIME_FRACTIONS = tuple(round(0.025 * k, 3) for k in range(2, 41))
"""Default runtime fractions of the bench."""
STEP = 10.0
"""Maximum step, s."""
SETTLED = 1.0e-9
"""Change of the coil's water over a cycle, as a share of its maximum, at which cycles repeat."""
MOST_CYCLES = 20_000
"""Maximum number of cycles."""


def coil_bench(
    cooling: Cooling,
    *,
    stage: int | None = None,
    temperature: float | str = "80 degF",
    relative_humidity: float | str = "51.1 %",
    outdoor_temperature: float | str = "95 degF",
    cycles_per_hour: float = 3.0,
    runtime_fractions: Iterable[float] = RUNTIME_FRACTIONS,
) -> pd.DataFrame:
    """Cycle an air conditioner by the clock in constant air until its cycles repeat.

    On and off times are those of a thermostat in a room with one thermal mass. It makes
    N = 4 Nmax X (1 - X) cycles an hour at runtime fraction X (NEMA DC 3, from memory). The times
    are on = 1 / (4 Nmax (1 - X)) and off = 1 / (4 Nmax X). The fan follows the machine's settings
    `fan` (auto or on), `fan_airflow`, `fan_off_delay` and `off_cycle_airflow`. Minimum times, the
    low-ambient lockout and circulation by the clock do not act.

    Parameters
    ----------
    cooling : Cooling
        The machine.
    stage : int, optional
        Stage that cycles, from 1; default: the last.
    temperature, relative_humidity, outdoor_temperature : float or str
        Entering air (degC, percent, at sea level) and outdoor air (degC), or texts with units.
        Default: the rating point of AHRI 210/240.
    cycles_per_hour : float
        Cycling rate Nmax at half load, 1/h.
    runtime_fractions : iterable of float
        Runtime fractions X, above 0 to 1.

    Returns
    -------
    DataFrame
        One row a runtime fraction (the index): `on_min` and `off_min` (1 has no off time);
        `condensed_kg_h`, `reevaporated_kg_h` and `drained_kg_h`, means over a whole cycle; and
        `shr`, the effective sensible heat ratio. It is the sensible share of the heat
        removed in a cycle, net of reevaporation. It excludes fan heat.

    Raises
    ------
    InputError
        If a number is out of range, or the coil frosts in this air.

    Examples
    --------
    >>> import moistsim as ms
    >>> unit = ms.Cooling(stages=[ms.Stage(capacity="2 ton")])
    >>> bench = ms.coil_bench(unit, runtime_fractions=[0.3, 0.8])
    >>> bool(bench.loc[0.3, "shr"] > bench.loc[0.8, "shr"])  # short runs dry less
    True
    """
    fractions = [to_si(x, "fraction", "coil_bench runtime_fractions") for x in runtime_fractions]
    for x in fractions:
        if not 0.0 < x <= 1.0:
            raise InputError("coil_bench runtime_fractions", x, "fractions above 0 and at most 1")
    rate = to_si(cycles_per_hour, "count", "coil_bench cycles_per_hour")
    if not 0.1 <= rate <= 20.0:
        raise InputError("coil_bench cycles_per_hour", rate, "from 0.1 to 20 cycles an hour")
    number = len(cooling.stages) if stage is None else stage
    if number not in range(1, len(cooling.stages) + 1):
        raise InputError("coil_bench stage", stage, f"a stage from 1 to {len(cooling.stages)}")
    t = to_si(temperature, "degC", "coil_bench temperature")
    rh = to_si(relative_humidity, "percent", "coil_bench relative_humidity") / 100.0
    t_out = to_si(outdoor_temperature, "degC", "coil_bench outdoor_temperature")
    for where, value, low, high in (
        ("temperature", t, 10.0, 40.0),
        ("outdoor_temperature", t_out, -20.0, 55.0),
        ("relative_humidity", 100.0 * rh, 1.0, 100.0),
    ):
        if not low <= value <= high:
            unit_of = "%" if where == "relative_humidity" else "degC"
            raise InputError(
                f"coil_bench {where}",
                f"{value:.1f} {unit_of}",
                f"from {low:g} to {high:g} {unit_of}",
            )

    machines = Equipment(cooling=cooling)
    unit = air_handler_parameters(machines)._replace(
        minimum_on=0.0,
        minimum_off=0.0,
        low_outdoor_limit=-math.inf,
    )
    w = air.humidity_ratio_at(t, rh, air.STANDARD_PRESSURE)
    start = State(*(0.0 for _ in State._fields))._replace(
        indoor_temperature=t,
        indoor_humidity_ratio=w,
        coil_water=unit.water_held,
        cooling_time=math.inf,
        heating_time=math.inf,
        apparatus_guess=10.0,
    )
    fixed = (
        unit, dehumidifier_parameters(machines.dehumidifier), stage_table(cooling), t_out,
    )  # fmt: skip
    rows = []
    for x in fractions:
        table = np.array([start], dtype=float)
        on = 900.0 / (rate * (1.0 - x)) if x < 1.0 else 3600.0
        off = 900.0 / (rate * x) if x < 1.0 else 0.0
        delay = min(cooling.fan_off_delay, off)
        for _ in range(MOST_CYCLES):
            sums, before = np.zeros(5), table[0, WATER]
            for call, time in ((float(number), on), (0.0, delay), (0.0, off - delay)):
                steps = math.ceil(time / STEP)
                run_span(call, steps, time / max(steps, 1), *fixed, table, sums)
            if abs(table[0, WATER] - before) <= SETTLED * unit.water_held:
                break
        else:
            raise InputError(
                "coil_bench runtime_fractions", x, "one at which the water on the coil settles"
            )
        enthalpy, condensed, returned, drained, frost = sums
        if frost:
            raise InputError(
                "coil_bench temperature",
                f"{t:.1f} °C at {100.0 * rh:.0f} %",
                f"air in which the coil stays above its frost limit of {cooling.frost_limit:.1f} "
                "°C",
            )
        latent = (condensed - returned) * air.vapor_enthalpy(t)
        hours = (on + off) / 3600.0
        rows.append(
            {
                "on_min": on / 60.0 if x < 1.0 else math.inf,
                "off_min": off / 60.0,
                "condensed_kg_h": condensed / hours,
                "reevaporated_kg_h": returned / hours,
                "drained_kg_h": drained / hours,
                "shr": 1.0 - latent / (enthalpy - returned * CONDENSATE_ENTHALPY),
            }
        )
    return pd.DataFrame(rows, index=pd.Index(fractions, name="runtime_fraction"))
