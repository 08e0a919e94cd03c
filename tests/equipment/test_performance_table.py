"""A maker's table of performance: what comes back of a unit, and what no table can be.

The data are our own model's, exact or with noise; a different unit's are not at hand.
"""

from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pandas as pd
import pytest
from support.houses import house
from support.machines import two_stage
from support.performance_tables import CFM, humidity_ratio, table_of
from support.weathers import stretch

import moistsim as ms
from moistsim.engine import parameters
from moistsim.engine.coil import cool, stage_at
from moistsim.scenario import read_scenario, write_scenario

UNITS = {
    "single": ms.Cooling(
        stages=[ms.Stage(capacity="36000 Btu/h", cop="12.2 Btu/h/W", airflow="1080 cfm")]
    ),
    "two-stage": two_stage(fan_law="proportional", fan_power="0.5 W/cfm"),
}
TABLES = {name: table_of(unit) for name, unit in UNITS.items()}
FAN = {"single": {}, "two-stage": {"fan_law": "proportional", "fan_power": "0.5 W/cfm"}}


@pytest.mark.parametrize("name", UNITS)
def test_a_unit_comes_back_from_its_own_table(name: str) -> None:
    fit = ms.fit_table(TABLES[name], **FAN[name])
    print(fit.errors)
    assert (fit.errors["worst"] < 3e-3).all()
    assert len(fit.residuals) == len(TABLES[name])
    for given, fitted in zip(UNITS[name].stages, fit.cooling.stages, strict=True):
        for field in ("capacity", "cop", "airflow", "shr"):
            assert getattr(fitted, field) == pytest.approx(getattr(given, field), rel=1e-3)
    assert ms.Cooling.from_table(TABLES[name], **FAN[name]) == fit.cooling


@pytest.mark.parametrize("name", UNITS)
def test_noise_of_one_per_cent_is_reported_and_averaged_out(name: str) -> None:
    """The mean of |normal error| is 0.8 of its deviation; the rating moves by far less than one."""
    fit = ms.fit_table(table_of(UNITS[name], noise=0.01), **FAN[name])
    print(fit.errors)
    assert fit.errors["mean"].between(0.004, 0.012).all()
    assert (fit.errors["worst"] < 0.05).all()
    for (stage, quantity), row in fit.errors.iterrows():  # type: ignore[misc]
        assert abs(fit.residuals.loc[row["worst_row"], quantity]) == row["worst"]
        assert 1 <= stage <= len(UNITS[name].stages)
    for given, fitted in zip(UNITS[name].stages, fit.cooling.stages, strict=True):
        assert fitted.capacity == pytest.approx(given.capacity, rel=0.005)
        assert fitted.cop == pytest.approx(given.cop, rel=0.01)
        assert fitted.shr == pytest.approx(given.shr, abs=0.005)


def test_the_loop_s_coil_gives_the_table_back() -> None:
    """Each row of the table by the engine, wet or dry, from the description that was fitted."""
    unit = ms.Cooling.from_table(TABLES["single"])
    stage = stage_at(parameters.stage_table(unit), 0)
    worst, dry = 0.0, 0
    for row in TABLES["single"].itertuples(index=False):
        wet, t, outdoor = ((x - 32.0) / 1.8 for x in row[:3])
        w, m = humidity_ratio(t, wet), row[3] * CFM * 1.204
        coil = cool(stage, t, w, wet, 101325.0, outdoor, m, 10.0)
        fan = unit.fan_watts(row[3] * CFM)
        latent = m * (w - coil.w_leaving) * (2501e3 + 1860.0 * t)
        given = np.array([row[4], row[5]]) * 1000.0 * 0.29307107
        got = np.array([coil.capacity - fan, coil.capacity - latent - fan])
        worst = max(worst, float(np.abs(got / given - 1.0).max()),
                    abs((coil.input + fan) / 1000.0 / row[6] - 1.0))  # fmt: skip
        dry += int(coil.dry)
    print(f"worst difference {worst:.2%}, dry rows {dry} of {len(TABLES['single'])}")
    assert worst < 3e-3
    assert dry > 20


def test_gross_capacities_and_outdoor_input() -> None:
    """The fan given back by hand: what a table that leaves it out lists."""
    unit, table = UNITS["single"], TABLES["single"].copy()
    fan = np.array([unit.fan_watts(x * CFM) for x in table["airflow [cfm]"]])
    for column in ("total [kBtu/h]", "sensible [kBtu/h]"):
        table[column] += fan / 293.07107
    table["input [kW]"] -= fan / 1000.0
    fit = ms.fit_table(table, capacities="gross", inputs="outdoor")
    assert fit.cooling.stages[0].capacity == pytest.approx(unit.stages[0].capacity, rel=1e-3)
    assert fit.cooling.stages[0].cop == pytest.approx(unit.stages[0].cop, rel=1e-3)
    # Taken for net, the same table is another unit.
    other = ms.fit_table(table).cooling.stages[0]
    assert other.capacity > 1.02 * unit.stages[0].capacity


def test_csv_in_si_is_the_same_table(tmp_path: Path) -> None:
    table = TABLES["single"]
    si = pd.DataFrame(
        {
            "outdoor [degC]": (table["outdoor [degF]"] - 32.0) / 1.8,
            "dry_bulb [degC]": (table["dry_bulb [degF]"] - 32.0) / 1.8,
            "wet_bulb [degC]": (table["wet_bulb [degF]"] - 32.0) / 1.8,
            " airflow [L/s]": table["airflow [cfm]"] * CFM * 1000.0,
            "total [kW]": table["total [kBtu/h]"] * 0.29307107,
            "sensible [W]": table["sensible [kBtu/h]"] * 293.07107,
            "input [W]": table["input [kW]"] * 1000.0,
        }
    )
    path = tmp_path / "unit.csv"
    si.to_csv(path, index=False)
    a, b = (ms.Cooling.from_table(source) for source in (path, table))
    assert a.stages[0].capacity == pytest.approx(b.stages[0].capacity, rel=1e-5)
    assert np.hstack(a.stages[0].curves or ()) == pytest.approx(
        np.hstack(b.stages[0].curves or ()), rel=1e-3, abs=1e-6
    )


def test_one_airflow_leaves_the_published_polynomial() -> None:
    fit = ms.fit_table(table_of(UNITS["single"], flows=(1.0,)))
    curves = fit.cooling.curves(0)
    published = np.array(UNITS["single"].curves(0).capacity_by_flow)
    assert curves.capacity_by_flow == pytest.approx(published / published.sum())
    assert curves.flow == (0.5, 1.5)
    two = ms.fit_table(table_of(UNITS["single"], flows=(0.8, 1.0))).cooling.curves(0)
    assert two.flow == pytest.approx((0.8, 1.0))


def changed(column: str, row: int, factor: float) -> pd.DataFrame:
    table = TABLES["single"].copy()
    table.loc[row - 1, column] *= factor
    return table


def renamed(**columns: str) -> pd.DataFrame:
    names = {name: next(c for c in TABLES["single"] if c.startswith(name)) for name in columns}
    return TABLES["single"].rename(columns={names[name]: new for name, new in columns.items()})


UNIT_QUESTION = "is a unit in the header another than the numbers'?"
ALL = (
    "wet_bulb [unit], dry_bulb [unit], outdoor [unit], airflow [unit], total [unit], sensible "
    "[unit], input [unit], and stage, if there are several."
)


@pytest.mark.parametrize(
    ("table", "arguments", "text"),
    [
        # Columns or units swapped.
        (renamed(total="sensible [kBtu/h]", sensible="total [kBtu/h]"), {},
         "performance table row 1: sensible 10479 W above total 8835 W. Use a sensible capacity "
         "of at most the total; are two columns or their units swapped?"),
        (renamed(total="total [kW]", sensible="sensible [kW]"), {},
         "performance table row 1: total 35757 W for an input of 2210 W. Use a total of 1 to 12 "
         "times the input; is a unit in the header another than the numbers', such as kW for "
         "kBtu/h?"),
        (renamed(input="input [kBtu/h]"), {},
         "performance table row 1: total 10479 W for an input of 648 W. Use a total of 1 to 12 "
         "times the input; is a unit in the header another than the numbers', such as kW for "
         "kBtu/h?"),
        (renamed(airflow="airflow [L/s]"), {},
         "performance table row 2: an airflow of 1.08 m3/s for 10589 W. Use 190 to "
         f"700 cfm a ton; {UNIT_QUESTION}"),
        (renamed(outdoor="outdoor [degC]"), {},
         "performance table row 1: wet bulb 15.0, dry bulb 23.9, outdoors 75.0 degC. "
         f"Use wet bulb 0 to 35, dry bulb 5 to 50, outdoors -20 to 60 degC; {UNIT_QUESTION}"),
        (renamed(wet_bulb="dry_bulb [degF]", dry_bulb="wet_bulb [degF]"), {},
         "performance table row 1: wet bulb 23.9 degC above dry bulb 15.0 degC. Use a wet bulb "
         "of at most the dry bulb; are two columns swapped?"),
        # Columns.
        (TABLES["single"].drop(columns="input [kW]"), {},
         f"performance table header: cannot use 'no input'. Use {ALL}"),
        (TABLES["single"].assign(note=1.0), {},
         f"performance table header: cannot use 'note'. Use each once: {ALL}"),
        (renamed(outdoor="outdoor"), {},
         ("performance table header: cannot use 'outdoor'. Use a unit in brackets, such as "
         "outdoor [degC] or outdoor [degF].")),
        (renamed(total="total [kBtu]"), {},
         "performance table header: cannot use 'total [kBtu]'. Use a power, such as total [W] or "
         "total [Btu/h]."),
        (TABLES["single"].astype({"input [kW]": object}).replace({"input [kW]": {TABLES["single"]["input [kW]"].iloc[33]: "n/a"}}), {},
         "performance table row 34 column input: cannot use 'n/a'. Use a number."),
        (TABLES["single"].assign(stage=2), {},
         "performance table column stage: cannot use [2]. Use whole numbers from 1 without a gap."),
        (TABLES["single"].assign(stage=1.5), {},
         "performance table row 1 column stage: cannot use 1.5. Use a whole number."),
        # Rows that cannot be.
        (changed("airflow [cfm]", 34, -1.0), {},
         "performance table row 34: -0.4332 m3/s, total 10300 W, sensible 10300 W, input 2475 W. "
         "Use airflow, capacities and input above 0."),
        # What the curves cannot describe.
        (changed("total [kBtu/h]", 34, 1.4), {},
         "performance table row 34: total 14420 W, -28.1% off the best fit. Use a table of one unit that the curves describe within 8%."),
        (TABLES["single"].assign(**{"outdoor [degF]": 190.0 - TABLES["single"]["outdoor [degF]"]}), {},
         "performance table: the fit runs the wrong way by 23.2% of the rating up to 115 °F "
         "outdoors at a wet bulb of 71 °F. Use capacity that falls as it gets hotter outdoors."),
        (TABLES["single"][TABLES["single"]["outdoor [degF]"] == 95.0], {},
         "performance table column outdoor: cannot use ['95.0 °F']. Use a value of at least 3 different "
         "temperatures over a wet coil."),
        (TABLES["single"][TABLES["single"]["wet_bulb [degF]"] > 60.0].assign(
            **{"outdoor [degF]": lambda t: t["outdoor [degF]"] - 25.0}), {},
         "performance table column outdoor: cannot use '50.0 to 90.0 °F'. Use a range around "
         "the rating point's 95 °F."),
        (TABLES["single"][TABLES["single"]["wet_bulb [degF]"] == 59.0], {},
         "performance table column wet_bulb: cannot use ['59.0 °F']. Use a value of at least 3 different "
         "temperatures over a wet coil."),
        # Arguments.
        (TABLES["single"], {"airflow": "500 cfm"},
         "performance table airflow: cannot use '0.236 m3/s'. Use one within the table, 0.4332 "
         "to 0.5862 m3/s for stage 1."),
        (TABLES["single"], {"airflow": ["1000 cfm", "1080 cfm"]},
         "performance table airflow: cannot use ['1000 cfm', '1080 cfm']. Use 1 of them, one a "
         "stage."),
        (TABLES["single"], {"capacities": "grand"},
         "performance table capacities: cannot use 'grand'. Use one of net, gross."),
    ],
)  # fmt: skip
def test_tables_that_are_refused(table: pd.DataFrame, arguments: Any, text: str) -> None:
    with pytest.raises(ms.InputError) as refusal:
        ms.fit_table(table, **arguments)
    assert str(refusal.value) == text


def test_a_file_that_is_no_table(tmp_path: Path) -> None:
    with pytest.raises(ms.InputError, match="no such file. Use the path of a CSV"):
        ms.fit_table(tmp_path / "none.csv")
    empty = tmp_path / "empty.csv"
    empty.write_text("")
    with pytest.raises(ms.InputError, match="empty.csv: cannot read the table"):
        ms.fit_table(empty)


def test_the_worst_error_allowed_is_the_users() -> None:
    table = table_of(UNITS["single"], noise=0.01)
    with pytest.raises(ms.InputError, match="describe within 2%"):
        ms.fit_table(table, tolerance=0.02)


def test_a_fitted_unit_runs_and_its_scenario_reads_back(tmp_path: Path) -> None:
    unit = ms.Cooling.from_table(TABLES["two-stage"], **FAN["two-stage"])
    weather = stretch("miami", 190, 4)
    season = ms.simulate(
        house(), ms.Equipment(cooling=unit), ms.strategies.temperature_only, weather, spin_up=0
    )
    assert season.meter.kwh["compressor"] > 0.0
    assert (season.balance["relative"].abs() <= 1e-9).all()
    given = ms.simulate(
        house(), ms.Equipment(cooling=UNITS["two-stage"]), ms.strategies.temperature_only, weather,
        spin_up=0,
    )  # fmt: skip
    a, b = (s.meter.kwh[["compressor", "indoor_fan"]].sum() for s in (season, given))
    print(f"four days: {a:.2f} kWh fitted, {b:.2f} kWh given")
    assert a == pytest.approx(b, rel=0.02)

    text = (
        'weather = { sample = "miami" }\nhouse = { floor_area = "2000 ft2" }\n'
        '[equipment.cooling]\nstages = [{ capacity = "2 ton" }]\n'
        '[options."plain"]\nstrategy = "temperature_only"\n'
    )
    (tmp_path / "house.toml").write_text(text)
    scenario = read_scenario(tmp_path / "house.toml")
    machines, control = scenario.study.options["plain"]
    fitted = attrs.evolve(
        scenario,
        study=attrs.evolve(
            scenario.study, options={"plain": (attrs.evolve(machines, cooling=unit), control)}
        ),
    )
    write_scenario(fitted, tmp_path / "as_run.toml")
    assert read_scenario(tmp_path / "as_run.toml").study.options["plain"][0].cooling == unit
    broken = (tmp_path / "as_run.toml").read_text().replace("curves = [", "curves = [[1.0],", 1)
    (tmp_path / "broken.toml").write_text(broken)
    with pytest.raises(ms.InputError, match="lists of 6, 6, 3, 3, 2, 2 and 2 numbers"):
        read_scenario(tmp_path / "broken.toml")
