"""A maker's expanded performance data, fitted to the curves of stages.

The table has one row for each test point. Its columns, all but `stage` with a unit in brackets as in
``total [kBtu/h]``, are:

============  ====================================================  ==================
`wet_bulb`    indoor (entering) wet bulb                            degC, degF
`dry_bulb`    indoor (entering) dry bulb                            degC, degF
`outdoor`     outdoor dry bulb                                      degC, degF
`airflow`     indoor airflow, standard air                         m3/s, L/s, cfm
`total`       total capacity                                        W, kW, kBtu/h, ton
`sensible`    sensible capacity                                     W, kW, kBtu/h, ton
`input`       electric input                                        W, kW
`stage`       stage from 1; not needed for a single stage           none
============  ====================================================  ==================
"""

from pathlib import Path
from typing import Any, Literal, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.errors import InputError, Problem
from moistsim.core.units import KINDS, fahrenheit, from_si, si_unit, to_si, trade_unit
from moistsim.equipment.cooling import (
    HIGH,
    LOW,
    RATED_OUTDOOR,
    RATED_WET_BULB,
    SINGLE,
    Biquadratic,
    Cooling,
    Curves,
    Stage,
    rated_entering_air,
)

Floats = NDArray[np.float64]

COLUMNS = {
    "wet_bulb": "degC",
    "dry_bulb": "degC",
    "outdoor": "degC",
    "airflow": "m3/s",
    "total": "W",
    "sensible": "W",
    "input": "W",
}
"""Columns of the table in SI units."""
COP_RANGE = (1.0, 12.0)
"""Limits of total capacity over input in the table of a real unit."""
FLOW_RANGE = (2.55e-5, 9.4e-5)
"""Limits of airflow over total capacity, m3/s per W: 190 to 700 cfm a ton. They are narrow enough to
notice that cfm and L/s are swapped."""
LEVELS = 3
"""Minimum number of different wet bulbs and outdoor temperatures for a biquadratic."""
TOLERANCE = 0.08
"""Largest error, as a fraction, with which the curves still describe the data."""
MONOTONE = 0.01
"""Fraction of the rating by which noise may make a fitted curve run the wrong way along outdoor
temperature."""


@attrs.frozen(eq=False)
class TableFit:
    """A unit fitted to a table, with the errors of the fit."""

    cooling: Cooling
    errors: pd.DataFrame
    """Mean and worst absolute error by stage and quantity (`total`, `sensible`, `input`), and
    `worst_row`, counted from 1. Errors are fractions of the value, or of total for `sensible`."""
    residuals: pd.DataFrame
    """Fitted value less given value by row of the table, as fractions."""


class _Fan(NamedTuple):
    """The indoor fan's part in a table's capacities and inputs."""

    net: bool
    within_input: bool
    watts: Floats


def fit_table(
    source: Any,
    *,
    airflow: Any = None,
    capacities: Literal["net", "gross"] = "net",
    inputs: Literal["total", "outdoor"] = "total",
    tolerance: float = TOLERANCE,
    **fields: Any,
) -> TableFit:
    """Fit a unit to a table of expanded performance data.

    Gross capacity = rated capacity x biquadratic of wet bulb and outdoor temperature x polynomial of
    airflow. Input per capacity has the same form (as in Cutler et al. 2013, NREL/TP-5500-56354).
    Both are fitted by least squares of relative errors. The sensible share follows from one
    conductance A0 of the coil, with bypass factor = exp(-A0 / flow), also by least squares. A stage
    with one airflow in the table gets the published flow polynomials; with two, their curvature.
    Outside the table's range the curves are held.

    Parameters
    ----------
    source : str, Path or DataFrame
        A CSV file or a table with one row for each test point. Columns, each with its unit in
        brackets, as in ``total [kBtu/h]``: ``wet_bulb`` and ``dry_bulb`` (entering air),
        ``outdoor`` (dry bulb), ``airflow``, ``total``, ``sensible``, ``input``; and ``stage``
        (from 1, without unit) for several stages.
    airflow : float, str or sequence of them, optional
        Rated airflow of each stage. Default: the middle airflow in the rows of the stage.
    capacities : str
        "net" if total and sensible are less the indoor fan's heat, as in ratings, or "gross".
    inputs : str
        "total" if the input includes the indoor fan, as in ratings, or "outdoor" for compressor and
        outdoor fan alone.
    tolerance : float
        Largest error, as a fraction, with which the curves still describe the data.
    **fields
        Further fields of `Cooling`; `fan_power` and `fan_law` give the indoor fan's power.

    Returns
    -------
    TableFit

    Raises
    ------
    InputError
        If a column or unit is missing, if a row is impossible (units or columns swapped), or if the
        curves cannot describe the data. The sentence names the row.

    Examples
    --------
    An invented table of nine points, with capacities that are linear in both temperatures:

    >>> from itertools import product
    >>> rows = [
    ...     {"wet_bulb [degF]": wet, "dry_bulb [degF]": 80, "outdoor [degF]": out,
    ...      "airflow [cfm]": 1200, "total [kBtu/h]": 36 + 0.5 * (wet - 67) - 0.2 * (out - 95),
    ...      "sensible [kBtu/h]": 26 - 1.0 * (wet - 67) - 0.1 * (out - 95),
    ...      "input [kW]": 2.9 + 0.035 * (out - 95)}
    ...     for wet, out in product((63, 67, 71), (75, 95, 115))
    ... ]
    >>> fit = fit_table(pd.DataFrame(rows))
    >>> round(fit.cooling.stages[0].capacity / 3516.85, 2), bool(fit.errors["worst"].max() < 0.08)
    (3.0, True)
    """
    name, table = _read(source)
    for option, value, words in (
        ("capacities", capacities, ("net", "gross")),
        ("inputs", inputs, ("total", "outdoor")),
    ):
        if value not in words:
            raise InputError(f"{name} {option}", value, "one of " + ", ".join(words))
    _check_rows(table, name)
    numbers = sorted(int(k) for k in table["stage"].unique())
    if numbers != list(range(1, len(numbers) + 1)):
        raise InputError(f"{name} column stage", numbers, "whole numbers from 1 without a gap")
    flows = _rated_flows(airflow, table, len(numbers), name)
    # The fan's power depends on the highest stage's airflow, as in the description.
    fan = Cooling(
        stages=(Stage(capacity=flows[-1] / 5.0e-5, airflow=flows[-1]),),
        **{k: v for k, v in fields.items() if k in ("fan_power", "fan_law")},
    )
    stages, residuals = [], []
    for number, rated_flow in zip(numbers, flows, strict=True):
        rows = table.loc[table["stage"] == number]
        where = name if len(numbers) == 1 else f"{name} stage {number}"
        watts = np.array([fan.fan_watts(flow) for flow in rows["airflow"]])
        published = SINGLE if len(numbers) == 1 else HIGH if number == numbers[-1] else LOW
        stage, curves, residual = _fit_stage(
            rows, rated_flow, _Fan(capacities == "net", inputs == "total", watts),
            fan.fan_watts(rated_flow), published, where,
        )  # fmt: skip
        _check_fit(residual, rows, tolerance, where)
        _check_monotone(curves, where)
        stages.append(stage)
        residuals.append(residual)
    cases = [
        {"stage": number, "quantity": str(quantity), **_worst(residual[quantity])}
        for number, residual in enumerate(residuals, 1)
        for quantity in residual.columns
    ]
    errors = pd.DataFrame(cases).set_index(["stage", "quantity"])
    together: Any = pd.concat(residuals)
    return TableFit(Cooling(stages=tuple(stages), **fields), errors, together.sort_index())


def _worst(residual: "pd.Series[float]") -> dict[str, Any]:
    size = residual.abs().to_numpy()
    at = int(size.argmax())
    return {"mean": size.mean(), "worst": size[at], "worst_row": int(residual.index[at])}


def _read(source: Any) -> tuple[str, pd.DataFrame]:
    """Return a name for the table, and the table in SI with rows counted from 1."""
    if isinstance(source, pd.DataFrame):
        name, frame = "performance table", source
    else:
        path = Path(source)
        name = path.name
        if not path.is_file():
            raise InputError(
                str(path), Problem("no such file"), "the path of a CSV file of performance data"
            )
        try:
            frame = pd.read_csv(path, skipinitialspace=True, comment="#")
        except (ValueError, UnicodeDecodeError) as error:
            raise InputError(
                name, Problem(f"cannot read the table ({error})"), "a CSV file"
            ) from None
    found: dict[str, Any] = {}
    accepted = ", ".join([*(f"{c} [unit]" for c in COLUMNS), "and stage, if there are several"])
    for header in frame.columns:
        column, _, unit = str(header).strip().partition("[")
        column, unit = column.strip(), unit.strip().removesuffix("]").strip()
        if (column not in COLUMNS and column != "stage") or column in found:
            raise InputError(f"{name} header", header, f"each once: {accepted}")
        numbers = pd.to_numeric(frame[header], errors="coerce").to_numpy(dtype=float)
        bad = np.flatnonzero(~np.isfinite(numbers))
        if bad.size:
            value = frame[header].iloc[bad[0]]
            raise InputError(f"{name} row {bad[0] + 1} column {column}", value, "a number")
        if column == "stage":
            found[column] = numbers
            continue
        where = f"{name} header"
        if not unit:
            raise InputError(where, header, f"a unit in brackets, such as {_examples(column)}")
        try:
            # All these units are linear, some with an offset.
            zero, one = (to_si(f"{x} {unit}", COLUMNS[column], where) for x in (0, 1))
        except InputError:
            accepted = f"{KINDS[COLUMNS[column]].name}, such as {_examples(column)}"
            raise InputError(where, header, accepted) from None
        found[column] = zero + (one - zero) * numbers
    missing = [column for column in COLUMNS if column not in found]
    if missing:
        raise InputError(f"{name} header", f"no {', no '.join(missing)}", accepted)
    table = pd.DataFrame(found, index=np.arange(1, len(frame) + 1))
    if "stage" not in table:
        table["stage"] = 1
    if (table["stage"] % 1 != 0).any():
        i = int((table["stage"] % 1 != 0).to_numpy().argmax())
        found_stage = float(table["stage"].iloc[i])
        raise InputError(f"{name} row {i + 1} column stage", found_stage, "a whole number")
    return name, table.astype({"stage": int})


def _examples(column: str) -> str:
    kept = COLUMNS[column]
    return " or ".join(f"{column} [{unit}]" for unit in (si_unit(kept), trade_unit(kept)))


def _check_rows(table: pd.DataFrame, name: str) -> None:
    """Refuse the first row that is impossible for a machine."""
    cop = table["total"] / table["input"].where(table["input"] != 0.0)
    flow = table["airflow"] / table["total"].where(table["total"] != 0.0)
    cfm = from_si(1.0, "m3/s", "cfm")
    for wrong, found, accepted in (
        (
            ~(table[["airflow", "total", "sensible", "input"]] > 0.0).all(axis=1),
            "{airflow:.4g} m3/s, total {total:.0f} W, sensible {sensible:.0f} W, input {input:.0f} W",
            "airflow, capacities and input above 0",
        ),
        (
            table["sensible"] > 1.005 * table["total"],
            "sensible {sensible:.0f} W above total {total:.0f} W",
            "a sensible capacity of at most the total; are two columns or their units swapped?",
        ),
        (
            ~cop.between(*COP_RANGE),
            "total {total:.0f} W for an input of {input:.0f} W",
            f"a total of {COP_RANGE[0]:g} to {COP_RANGE[1]:g} times the input; is a unit in the "
            "header another than the numbers', such as kW for kBtu/h?",
        ),
        (
            ~flow.between(*FLOW_RANGE),
            "an airflow of {airflow:.4g} m3/s for {total:.0f} W",
            f"{FLOW_RANGE[0] * cfm * 3516.85:.0f} to {FLOW_RANGE[1] * cfm * 3516.85:.0f} cfm a ton; "
            "is a unit in the header another than the numbers'?",
        ),
        (
            table["wet_bulb"] > table["dry_bulb"] + 0.05,
            "wet bulb {wet_bulb:.1f} degC above dry bulb {dry_bulb:.1f} degC",
            "a wet bulb of at most the dry bulb; are two columns swapped?",
        ),
        (
            ~table["wet_bulb"].between(0.0, 35.0)
            | ~table["dry_bulb"].between(5.0, 50.0)
            | ~table["outdoor"].between(-20.0, 60.0),
            "wet bulb {wet_bulb:.1f}, dry bulb {dry_bulb:.1f}, outdoors {outdoor:.1f} degC",
            "wet bulb 0 to 35, dry bulb 5 to 50, outdoors -20 to 60 degC; is a unit in the header "
            "another than the numbers'?",
        ),
    ):
        if wrong.any():
            i = int(wrong.to_numpy().argmax())
            row = {str(column): values.iloc[i] for column, values in table.items()}
            raise InputError(f"{name} row {i + 1}", Problem(found.format(**row)), accepted)


def _rated_flows(airflow: Any, table: pd.DataFrame, count: int, name: str) -> list[float]:
    where = f"{name} airflow"
    if airflow is None:
        flows = []
        for stage in range(1, count + 1):
            levels = _levels(table.loc[table["stage"] == stage, "airflow"].to_numpy(), 0.01)
            flows.append(levels[len(levels) // 2])
    else:
        given = list(airflow) if isinstance(airflow, list | tuple) else [airflow]
        flows = [to_si(value, "m3/s", where) for value in given]
        if len(flows) != count:
            raise InputError(where, airflow, f"{count} of them, one a stage")
    for stage, flow in enumerate(flows, 1):
        there = table.loc[table["stage"] == stage, "airflow"]
        if not 0.995 * there.min() <= flow <= 1.005 * there.max():
            raise InputError(
                where, f"{flow:.4g} m3/s",
                f"one within the table, {there.min():.4g} to {there.max():.4g} m3/s for stage {stage}",
            )  # fmt: skip
    return flows


def _levels(values: Floats, apart: float) -> list[float]:
    """Return the different values; those within a fraction `apart` count as one."""
    levels: list[float] = []
    for value in np.sort(values):
        if not levels or value > levels[-1] * (1.0 + apart):
            levels.append(float(value))
    return levels


def _fit_stage(
    rows: pd.DataFrame,
    rated_flow: float,
    fan: _Fan,
    rated_fan: float,
    published: Curves,
    where: str,
) -> tuple[Stage, Curves, pd.DataFrame]:
    x = fahrenheit(rows["wet_bulb"].to_numpy())
    y = fahrenheit(rows["outdoor"].to_numpy())
    f = rows["airflow"].to_numpy() / rated_flow
    # Gross values are without the fan: its heat is added to capacity, its power taken from input.
    heat = fan.watts if fan.net else 0.0
    total = rows["total"].to_numpy() + heat
    sensible = rows["sensible"].to_numpy() + heat
    power = rows["input"].to_numpy() - (fan.watts if fan.within_input else 0.0)
    if (power <= 0.0).any():
        i = int(np.argmax(power <= 0.0))
        raise InputError(
            f"{where} row {int(rows.index[i])}",
            Problem(f"the input is {float(rows['input'].iloc[i]):.0f} W"),
            f"one above the indoor fan's {fan.watts[i]:.0f} W, or inputs='outdoor'",
        )
    # The capacity of a dry coil does not depend on the entering wet bulb.
    wet = sensible < 0.995 * total
    if wet.sum() < 9:
        raise InputError(
            where,
            Problem(f"only {wet.sum()} rows have a wet coil"),
            "a table with at least 9 such rows for each stage",
        )
    data = (x[wet], y[wet], f[wet])
    for label, values, rated in (
        ("wet_bulb", data[0], RATED_WET_BULB),
        ("outdoor", data[1], RATED_OUTDOOR),
    ):
        if len(_levels(values, 0.002)) < LEVELS:
            raise InputError(
                f"{where} column {label}", [f"{v:.1f} °F" for v in _levels(values, 0.002)],
                f"at least {LEVELS} different temperatures over a wet coil",
            )  # fmt: skip
        if not values.min() - 0.5 <= rated <= values.max() + 0.5:
            raise InputError(
                f"{where} column {label}", f"{values.min():.1f} to {values.max():.1f} °F",
                f"a range around the rating point's {rated:g} °F",
            )  # fmt: skip
    capacity_curve, capacity_by_flow = _fit(*data, total[wet], published.capacity_by_flow)
    ratio_curve, ratio_by_flow = _fit(*data, (power / total)[wet], published.input_ratio_by_flow)
    one_flow = len(_levels(f, 0.01)) == 1
    curves = Curves(
        capacity_curve, ratio_curve, capacity_by_flow, ratio_by_flow,
        (float(data[0].min()), float(data[0].max())), (float(data[1].min()), float(data[1].max())),
        published.flow if one_flow else (float(f.min()), float(f.max())),
    )  # fmt: skip
    point = (RATED_WET_BULB, RATED_OUTDOOR)
    rated, ratio = capacity_curve.at(*point), ratio_curve.at(*point)
    dry_air = rows["airflow"].to_numpy() * air.STANDARD_DENSITY
    states = [
        _entering(t, t_wet) for t, t_wet in zip(rows["dry_bulb"], rows["wet_bulb"], strict=True)
    ]
    conductance = _fit_conductance(states, total, sensible, dry_air)
    fitted = np.array([
        _coil(curves, conductance, *case)
        for case in zip(states, x, y, f, dry_air, strict=True)
    ])  # fmt: skip
    rated_sensible = _sensible(
        conductance, [rated_entering_air()], np.array([rated]),
        np.array([rated_flow * air.STANDARD_DENSITY]),
    )[0]  # fmt: skip
    net = rated - rated_fan
    try:
        stage = Stage(
            capacity=net,
            cop=net / (rated * ratio + rated_fan),
            shr=(rated_sensible - rated_fan) / net,
            airflow=rated_flow,
            curves=curves,
        )
    except InputError as error:
        raise InputError(
            f"{where}, fitted at the rating point",
            Problem(f"{error.where} {error.found:.4g}"),
            error.accepted,
        ) from None
    return (
        stage,
        curves,
        pd.DataFrame(
            {
                "total": (fitted[:, 0] - total) / rows["total"],
                "sensible": (fitted[:, 1] - sensible) / rows["total"],
                "input": (fitted[:, 2] - power) / rows["input"],
            },
            index=rows.index,
        ),
    )


def _polynomial(coefficients: tuple[float, float, float], f: float) -> float:
    a, b, c = coefficients
    return a + f * (b + c * f)


def _fit(
    x: Floats, y: Floats, f: Floats, values: Floats, published: tuple[float, float, float]
) -> tuple[Biquadratic, tuple[float, float, float]]:
    """Fit biquadratic x flow polynomial by relative errors; the polynomial is 1 at rated airflow."""
    from scipy.optimize import least_squares

    # Centered on the rating point and scaled, so the six columns have similar size.
    u, v = (x - RATED_WET_BULB) / 10.0, (y - RATED_OUTDOOR) / 20.0
    columns = np.column_stack([np.ones_like(u), u, u * u, v, v * v, u * v])
    a, b, c = (p / sum(published) for p in published)
    free = min(len(_levels(f, 0.01)) - 1, 2)

    def by_flow(q: Floats) -> Floats:
        # 1 + slope (f - 1) + bend (f - 1)^2, with the slope or both coefficients free.
        slope = q[0] if free > 0 else b + 2.0 * c
        bend = q[1] if free > 1 else c
        return np.asarray(1.0 + slope * (f - 1.0) + bend * (f - 1.0) ** 2)

    def misses(p: Floats) -> Floats:
        return np.asarray(columns @ p[:6] * by_flow(p[6:]) / values - 1.0) * np.mean(values)

    start = np.linalg.lstsq(columns, values / by_flow(np.array([b + 2.0 * c, c])), rcond=None)[0]
    p = least_squares(misses, np.array([*start, *[b + 2.0 * c, c][:free]]), x_scale="jac").x
    slope = p[6] if free > 0 else b + 2.0 * c
    bend = p[7] if free > 1 else c
    p0, p1, p2, p3, p4, p5 = (float(k) for k in p[:6])
    # Convert from u, v back to degF.
    xr, yr = RATED_WET_BULB, RATED_OUTDOOR
    curve = Biquadratic(
        p0 - p1 * xr / 10.0 + p2 * xr * xr / 100.0 - p3 * yr / 20.0 + p4 * yr * yr / 400.0
        + p5 * xr * yr / 200.0,
        p1 / 10.0 - 2.0 * p2 * xr / 100.0 - p5 * yr / 200.0,
        p2 / 100.0,
        p3 / 20.0 - 2.0 * p4 * yr / 400.0 - p5 * xr / 200.0,
        p4 / 400.0,
        p5 / 200.0,
    )  # fmt: skip
    return curve, (float(1.0 - slope + bend), float(slope - 2.0 * bend), float(bend))


def _entering(t: float, t_wet: float) -> tuple[float, float]:
    """Return dry bulb and humidity ratio of the entering air at sea level, as in the tables."""
    w_wet = air.saturation_humidity_ratio(t_wet, air.STANDARD_PRESSURE)
    w = ((air.H_EVAPORATION - 2326.0 * t_wet) * w_wet - air.CP_DRY_AIR * (t - t_wet)) / (
        air.H_EVAPORATION + air.CP_VAPOR * t - air.CP_WATER * t_wet
    )
    return t, max(w, 0.0)


def _sensible(
    conductance: float, states: list[tuple[float, float]], total: Floats, dry_air: Floats
) -> Floats:
    """Return gross sensible capacity by the bypass factor; a dry coil has only sensible capacity."""
    result = np.empty(len(states))
    for i, (t, w) in enumerate(states):
        contact = 1.0 - np.exp(-conductance / dry_air[i])
        h = air.enthalpy(t, w) - total[i] / (dry_air[i] * contact)
        apparatus = air.saturated_at(h, air.STANDARD_PRESSURE, 10.0)[0]
        taken = contact * (w - air.saturation_humidity_ratio(apparatus, air.STANDARD_PRESSURE))
        result[i] = total[i] - dry_air[i] * max(taken, 0.0) * air.vapor_enthalpy(t)
    return result


def _coil(
    curves: Curves, conductance: float, state: tuple[float, float], x: float, y: float, f: float,
    dry_air: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Return gross total and sensible capacity and compressor input of a stage, W.

    The curves have the stage's own size. A dry coil works like a coil that is just wet (see
    `engine.coil`).
    """
    from scipy.optimize import brentq

    t, w = state
    by_flow = _polynomial(curves.capacity_by_flow, f)

    def capacity(x: float) -> float:
        return (
            curves.capacity.held(min(max(x, curves.wet_bulb[0]), curves.wet_bulb[1]), y, 1.0)
            * by_flow
        )

    def just_wet(surface: float) -> float:
        """Return the entering wet bulb, degF, of air just humid enough to wet a surface (degC)."""
        w_wet = air.saturation_humidity_ratio(surface, air.STANDARD_PRESSURE)
        return float(fahrenheit(air.wet_bulb(t, w_wet, air.STANDARD_PRESSURE, 17.0)))

    def excess(surface: float) -> float:
        """Return coil capacity in such air, less the heat that this air gives to the surface."""
        cp = air.CP_DRY_AIR + air.CP_VAPOR * air.saturation_humidity_ratio(
            surface, air.STANDARD_PRESSURE
        )
        contact = 1.0 - np.exp(-conductance / dry_air)
        return capacity(just_wet(surface)) - float(dry_air * contact * (t - surface) * cp)

    total = capacity(x)
    sensible = float(_sensible(conductance, [state], np.array([total]), np.array([dry_air]))[0])
    dew_point = air.dew_point(air.vapor_pressure(w, air.STANDARD_PRESSURE))
    if sensible >= total and excess(dew_point) < 0.0 < excess(t):
        x = just_wet(float(brentq(excess, dew_point, t, xtol=1e-6)))
        total = sensible = capacity(x)
    x = min(max(x, curves.wet_bulb[0]), curves.wet_bulb[1])
    ratio = curves.input_ratio.held(x, y, -1.0) * _polynomial(curves.input_ratio_by_flow, f)
    return total, sensible, total * ratio


def _fit_conductance(
    states: list[tuple[float, float]], total: Floats, sensible: Floats, dry_air: Floats
) -> float:
    """Fit A0, kg/s, to the given sensible shares by least squares."""
    from scipy.optimize import minimize_scalar

    def miss(log: float) -> float:
        fitted = _sensible(float(np.exp(log)), states, total, dry_air)
        return float(np.sum(((fitted - sensible) / total) ** 2))

    # Bypass factors from 0.6 to 0.001 at the middle airflow.
    middle = float(np.median(dry_air))
    bounds = (np.log(0.5 * middle), np.log(7.0 * middle))
    return float(np.exp(minimize_scalar(miss, bounds=bounds, method="bounded").x))


def _check_monotone(curves: Curves, where: str) -> None:
    """Refuse curves that run the wrong way within their range by more than noise."""
    wet = np.linspace(*curves.wet_bulb, 7)
    outdoor = np.linspace(*curves.outdoor, 23)
    point = (RATED_WET_BULB, RATED_OUTDOOR)
    for curve, rises, words in (
        (curves.capacity, 1.0, "capacity that falls"),
        (curves.input_ratio, -1.0, "input per capacity that rises"),
    ):
        values = np.array([[curve.held(a, b, rises) for b in outdoor] for a in wet])
        values = values / curve.at(*point) * rises
        wrong = values - np.minimum.accumulate(values, axis=1)
        if wrong.max() > MONOTONE or not (values * rises > 0.0).all():
            i, j = np.unravel_index(int(wrong.argmax()), wrong.shape)
            raise InputError(
                where,
                Problem(
                    f"the fit runs the wrong way by {wrong.max():.1%} of the rating up to "
                    f"{outdoor[j]:.0f} °F outdoors at a wet bulb of {wet[i]:.0f} °F"
                ),
                f"{words} as it gets hotter outdoors",
            )


def _check_fit(residual: pd.DataFrame, rows: pd.DataFrame, tolerance: float, where: str) -> None:
    size = residual.abs().to_numpy()
    i, j = (int(k) for k in np.unravel_index(int(size.argmax()), size.shape))
    if size[i, j] > tolerance:
        quantity = str(residual.columns[j])
        raise InputError(
            f"{where} row {int(residual.index[i])}",
            Problem(
                f"{quantity} {float(rows[quantity].iloc[i]):.0f} W, {float(residual.to_numpy()[i, j]):+.1%} off the best fit"
            ),
            f"a table of one unit that the curves describe within {tolerance:.0%}",
        )
