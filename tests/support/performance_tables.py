"""Tables of expanded performance data, made from our own model: no maker's table is at hand."""

import numpy as np
import pandas as pd

import moistsim as ms
from moistsim import air
from moistsim.engine import parameters
from moistsim.engine.coil import cool, stage_at

CFM = 0.3048**3 / 60.0
BTU_H = 1055.05585262 / 3600.0
HEADER = (
    "wet_bulb [degF]", "dry_bulb [degF]", "outdoor [degF]", "airflow [cfm]", "total [kBtu/h]",
    "sensible [kBtu/h]", "input [kW]", "stage",
)  # fmt: skip


def humidity_ratio(t: float, t_wet: float) -> float:
    """At sea level, by the psychrometer equation (ASHRAE Fundamentals ch. 1)."""
    w_wet = air.saturation_humidity_ratio(t_wet, 101325.0)
    return ((2501.0 - 2.326 * t_wet) * w_wet - 1.006 * (t - t_wet)) / (
        2501.0 + 1.86 * t - 4.186 * t_wet
    )


def table_of(
    unit: ms.Cooling, noise: float = 0.0, flows: tuple[float, ...] = (0.85, 1.0, 1.15)
) -> pd.DataFrame:
    """A table of net capacities and inputs of every stage, as catalogs list them.

    Net capacities and total input of every stage, as catalogs list them, each with a normal
    error of `noise`.
    """
    rng = np.random.default_rng(1)
    rows = []
    table = parameters.stage_table(unit)
    for k in range(len(table)):
        stage = stage_at(table, k)
        for wet in (59.0, 63.0, 67.0, 71.0):
            for dry in (75.0, 80.0, 85.0):
                for outdoor in (75.0, 85.0, 95.0, 105.0, 115.0):
                    for share in flows:
                        t = (dry - 32.0) / 1.8
                        w = humidity_ratio(t, (wet - 32.0) / 1.8)
                        m = share * stage.dry_air
                        coil = cool(
                            stage, t, w, air.wet_bulb(t, w, 101325.0, 17.0), 101325.0,
                            (outdoor - 32.0) / 1.8, m, 10.0,
                        )  # fmt: skip
                        flow = m / air.STANDARD_DENSITY
                        fan = unit.fan_watts(flow)
                        latent = m * (w - coil.w_leaving) * air.vapor_enthalpy(t)
                        error = 1.0 + noise * rng.standard_normal(3)
                        total = (coil.capacity - fan) * error[0]
                        sensible = min((coil.capacity - latent - fan) * error[1], total)
                        rows.append(
                            (
                                wet, dry, outdoor, flow / CFM, total / BTU_H / 1000.0,
                                sensible / BTU_H / 1000.0, (coil.input + fan) * error[2] / 1000.0,
                                k + 1,
                            )
                        )  # fmt: skip
    return pd.DataFrame(rows, columns=list(HEADER))
