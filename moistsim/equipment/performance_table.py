"""A maker's expanded performance data, fitted to the curves that a stage is described by.

One row a test point. Columns, each but `stage` with its unit in brackets, as in ``total [kBtu/h]``:

============  ====================================================  ==================
`wet_bulb`    indoor (entering) wet bulb                            degC, degF
`dry_bulb`    indoor (entering) dry bulb                            degC, degF
`outdoor`     outdoor dry bulb                                      degC, degF
`airflow`     indoor airflow, standard air                         m3/s, L/s, cfm
`total`       total capacity                                        W, kW, kBtu/h, ton
`sensible`    sensible capacity                                     likewise
`input`       electric input                                        W, kW
`stage`       stage from 1; left out for a unit of one stage        none
============  ====================================================  ==================
"""

from pathlib import Path
from typing import Any, Literal, NamedTuple

import attrs
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moistsim import air
from moistsim.core.errors import InputError
from moistsim.core.units import KINDS, from_si, to_si
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
"""Every column and the unit that it is kept in."""
COP_RANGE = (1.0, 12.0)
"""Total capacity over input that a real unit can have anywhere in its table."""
FLOW_RANGE = (2.55e-5, 9.4e-5)
"""Airflow over total capacity, m3/s per W: 190 to 700 cfm a ton, narrower than the factor between
cfm and L/s on either side of what is usual."""
LEVELS = 3
"""Different wet bulbs and outdoor temperatures that a biquadratic needs."""
TOLERANCE = 0.08
"""Worst error, as a fraction, up to which the curves are taken to describe the data."""
MONOTONE = 0.01
"""Fraction of the rating by which a fitted curve may run the wrong way along outdoor temperature
within its range, as noise makes it."""


@attrs.frozen(eq=False)
class TableFit:
    """A unit fitted to a table, and how well."""

    cooling: Cooling
    errors: pd.DataFrame
    """Per stage and quantity (`total`, `sensible`, `input`): `mean` and `worst` absolute error,
    and `worst_row`, counted from 1. Fractions of the value itself; of total, for `sensible`."""
    residuals: pd.DataFrame
    """Fitted less given, per row of the table, as the same fractions."""


class _Fan(NamedTuple):
    """What a table's capacities and inputs hold of the indoor fan."""

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

    Gross capacity = rated x biquadratic of wet bulb and outdoor temperature x polynomial of air
    flow, and likewise the input per capacity, each by least squares of relative errors (Cutler et
    al. 2013, NREL/TP-5500-56354, have the same form); the sensible share by one conductance A0 of
    the coil, bypass factor = exp(-A0 / flow), by least squares. Where a stage has fewer than three
    air flows in the table, what flow does is partly or, with one, wholly that of the published
    polynomials. Beyond the table's range the curves are held.

    Parameters
    ----------
    source : str, Path or DataFrame
        A CSV file, or its table, with the columns named at the top of this file.
    airflow : float, str or sequence of them, optional
        Rated airflow of each stage; by default the middle one in its rows of the table.
    capacities : str
        "net" if total and sensible have the indoor fan's heat taken off, as ratings have, or
        "gross".
    inputs : str
        "total" if the input has the indoor fan in it, as ratings have, or "outdoor" for compressor
        and outdoor fan alone.
    tolerance : float
        Worst error, as a fraction, with which the data still counts as described.
    **fields
        Further fields of `Cooling`; `fan_power` and `fan_law` say what the indoor fan draws.

    Returns
    -------
    TableFit

    Raises
    ------
    InputError
        If a column or unit is missing, a row cannot be (units or columns swapped), or the curves
        cannot describe the data; the sentence names the row.
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
    # The fan's law goes out from the top stage's flow: ask the description, not a copy of it.
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
    """The table in SI, its rows counted from 1, and what to call it."""
    if isinstance(source, pd.DataFrame):
        name, frame = "performance table", source
    else:
        path = Path(source)
        name = path.name
        if not path.is_file():
            raise InputError(
                str(path), "no such file", "the path of a CSV file of performance data"
            )
        try:
            frame = pd.read_csv(path, skipinitialspace=True, comment="#")
        except (ValueError, UnicodeDecodeError) as error:
            raise InputError(name, f"text that is no table ({error})", "a CSV file") from None
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
            # Every unit here is linear in its number, some with an offset.
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
    kind = KINDS[COLUMNS[column]]
    return " or ".join(f"{column} [{text.split(' ', 1)[1]}]" for text in (kind.si, kind.trade))


def _check_rows(table: pd.DataFrame, name: str) -> None:
    """Refuse the first row that no machine gives."""
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
            raise InputError(f"{name} row {i + 1}", found.format(**row), accepted)


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
    """Different values: those within a fraction `apart` of the last count as one."""
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
    x = (1.8 * rows["wet_bulb"] + 32.0).to_numpy()
    y = (1.8 * rows["outdoor"] + 32.0).to_numpy()
    f = rows["airflow"].to_numpy() / rated_flow
    # Gross: no fan's heat taken off the capacity, none of its power in the input.
    heat = fan.watts if fan.net else 0.0
    total = rows["total"].to_numpy() + heat
    sensible = rows["sensible"].to_numpy() + heat
    power = rows["input"].to_numpy() - (fan.watts if fan.within_input else 0.0)
    if (power <= 0.0).any():
        i = int(np.argmax(power <= 0.0))
        raise InputError(
            f"{where} row {int(rows.index[i])}",
            f"an input of {float(rows['input'].iloc[i]):.0f} W",
            f"one above the indoor fan's {fan.watts[i]:.0f} W, or inputs='outdoor'",
        )
    # A dry coil's capacity does not go by the wet bulb that meets it.
    wet = sensible < 0.995 * total
    if wet.sum() < 9:
        raise InputError(where, f"{wet.sum()} rows of a wet coil", "at least 9 a stage")
    data = (x[wet], y[wet], f[wet])
    for label, values, rated in (
        ("wet_bulb", data[0], RATED_WET_BULB),
        ("outdoor", data[1], RATED_OUTDOOR),
    ):
        if len(_levels(values, 0.002)) < LEVELS:
            raise InputError(
                f"{where} column {label}", [f"{v:.1f} degF" for v in _levels(values, 0.002)],
                f"at least {LEVELS} different temperatures over a wet coil",
            )  # fmt: skip
        if not values.min() - 0.5 <= rated <= values.max() + 0.5:
            raise InputError(
                f"{where} column {label}", f"{values.min():.1f} to {values.max():.1f} degF",
                f"a range around the rating point's {rated:g} degF",
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
            f"{error.where} {error.found:.4g}",
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
    """Biquadratic x flow polynomial, the latter 1 at rated flow, with least relative errors."""
    from scipy.optimize import least_squares

    # Around the rating point and over its scale, so that the six columns are of one size.
    u, v = (x - RATED_WET_BULB) / 10.0, (y - RATED_OUTDOOR) / 20.0
    columns = np.column_stack([np.ones_like(u), u, u * u, v, v * v, u * v])
    a, b, c = (p / sum(published) for p in published)
    free = min(len(_levels(f, 0.01)) - 1, 2)

    def by_flow(q: Floats) -> Floats:
        # The published bend with a free slope, or both free: 1 + slope (f - 1) + bend (f - 1)^2.
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
    # From u, v back to degF.
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
    """Dry bulb and humidity ratio of the air, at sea level as the tables are."""
    w_wet = air.saturation_humidity_ratio(t_wet, air.STANDARD_PRESSURE)
    w = ((air.H_EVAPORATION - 2326.0 * t_wet) * w_wet - air.CP_DRY_AIR * (t - t_wet)) / (
        air.H_EVAPORATION + air.CP_VAPOR * t - air.CP_WATER * t_wet
    )
    return t, max(w, 0.0)


def _sensible(
    conductance: float, states: list[tuple[float, float]], total: Floats, dry_air: Floats
) -> Floats:
    """Gross sensible capacity by the bypass factor; all of it where the coil is dry."""
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
    """Gross total and sensible capacity and compressor input of a stage described by curves of its
    own size, W, wet or dry (a dry coil works as one that is just wet: see `engine.coil`)."""
    from scipy.optimize import brentq

    t, w = state
    by_flow = _polynomial(curves.capacity_by_flow, f)

    def capacity(x: float) -> float:
        return (
            curves.capacity.held(min(max(x, curves.wet_bulb[0]), curves.wet_bulb[1]), y, 1.0)
            * by_flow
        )

    def just_wet(surface: float) -> float:
        """Entering wet bulb, degF, of air just humid enough to wet a surface, degC."""
        w_wet = air.saturation_humidity_ratio(surface, air.STANDARD_PRESSURE)
        return float(1.8 * air.wet_bulb(t, w_wet, air.STANDARD_PRESSURE, 17.0) + 32.0)

    def excess(surface: float) -> float:
        """What such air's coil takes, over what this air gives up to the surface."""
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
    """A0, kg/s, whose sensible shares miss those given by least squares."""
    from scipy.optimize import minimize_scalar

    def miss(log: float) -> float:
        fitted = _sensible(float(np.exp(log)), states, total, dry_air)
        return float(np.sum(((fitted - sensible) / total) ** 2))

    # Bypass factors from 0.6 to 0.001 at the middle flow.
    middle = float(np.median(dry_air))
    bounds = (np.log(0.5 * middle), np.log(7.0 * middle))
    return float(np.exp(minimize_scalar(miss, bounds=bounds, method="bounded").x))


def _check_monotone(curves: Curves, where: str) -> None:
    """Refuse curves that run the wrong way by more than noise within their range."""
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
                f"a fit that runs the other way by {wrong.max():.1%} of the rating up to "
                f"{outdoor[j]:.0f} degF outdoors at a wet bulb of {wet[i]:.0f} degF",
                f"{words} as it gets hotter outdoors",
            )


def _check_fit(residual: pd.DataFrame, rows: pd.DataFrame, tolerance: float, where: str) -> None:
    size = residual.abs().to_numpy()
    i, j = (int(k) for k in np.unravel_index(int(size.argmax()), size.shape))
    if size[i, j] > tolerance:
        quantity = str(residual.columns[j])
        raise InputError(
            f"{where} row {int(residual.index[i])}",
            f"{quantity} {float(rows[quantity].iloc[i]):.0f} W, {float(residual.to_numpy()[i, j]):+.1%} off the best fit",
            f"a table that curves of temperatures and airflow describe within {tolerance:.0%}, "
            "of rows that are all of one unit",
        )
