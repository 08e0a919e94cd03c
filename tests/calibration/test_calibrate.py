"""Whole fits of invented houses whose truth is known."""

from functools import lru_cache

import attrs
import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
import pytest
from support.measured_houses import Truth, invented

import moistsim as ms
from moistsim.calibration.adjusted import adjusted
from moistsim.calibration.extras import judge_extras, with_extras
from moistsim.calibration.model import Model, hours_of
from moistsim.calibration.structures import structures, usual_ranges

pytestmark = pytest.mark.slow
PLAIN = ms.strategies.temperature_only


@lru_cache
def fitted(weighed: bool = False) -> tuple[Truth, ms.Fit]:
    truth = invented(3, "greensboro", days=14, weighed=(4, 3, 6.0) if weighed else None)
    return truth, ms.calibrate(truth.described, truth.equipment, truth.log)


def factor(values: "pd.Series[float]") -> float:
    return float(np.sqrt(values.quantile(0.95) / values.quantile(0.05)))


def test_the_blind_part_is_predicted_better_than_by_each_baseline() -> None:
    _, fit = fitted()
    blind = fit.table().loc[("blind", "hour")]
    assert blind["rmse_g_kg"] < 0.3
    for name in ("mean", "outdoors_plus_excess", "linear_buffer"):
        assert blind[f"skill_over_{name}"] > 0.0
    assert 80.0 <= blind["coverage_pct"] <= 100.0
    assert set(fit.table().index.get_level_values("period")) >= {"hour", "day"}


def test_only_the_ratio_is_known_until_water_is_weighed() -> None:
    """Three days of 6 kg of weighed condensate a day tell outdoor air from moisture."""
    truth, fit = fitted()
    text = str(fit.identified())
    assert "known only as a ratio" in text and "cannot be told apart" in text
    _, weighed = fitted(weighed=True)
    before, after = (factor(one.quantities["air_flow_m3h"]) for one in (fit, weighed))
    assert after < 0.6 * (before - 1.0) + 1.0
    assert "only as a ratio" not in str(weighed.identified())
    own = weighed.draws["house.ach50"].dropna()
    assert own.quantile(0.01) < truth.values["house.ach50"] < own.quantile(0.99)


@pytest.mark.parametrize("tells", [True, False])
def test_an_extra_input_is_kept_only_if_it_beats_its_placebo(tells: bool) -> None:
    """Electricity that rises with moisture, and electricity that has nothing to do with it."""
    truth = invented(3, "greensboro", days=9)
    hours = hours_of(truth.log, impose=True)
    draw = np.random.default_rng(0)
    use = draw.gamma(1.0, 1.0, len(hours.index) // 6 + 1).repeat(6)[: len(hours.index)]
    use = (use - use.mean()) / use.std()
    structure = structures(truth.described, truth.equipment)[0]
    ranges = {**structure.ranges, **usual_ranges(truth.described)}
    names = adjusted(structure, PLAIN, hours.weather, ranges)
    hours = attrs.evolve(hours, extras={"energy": use})
    model = Model(structure, PLAIN, names, hours, "900 s")
    start = np.full(len(names), 0.3)
    made = with_extras(model, PLAIN, ["energy"]).shown(np.append(start, 1.5 if tells else 0.0))[0]
    noisy = made + 0.02 * draw.standard_normal(len(made))
    known = attrs.evolve(model, hours=attrs.evolve(hours, measured=noisy))
    table, kept = judge_extras([known], PLAIN, ["energy"], 24, len(made))
    row = table.loc["energy"]
    if tells:
        assert kept == ["energy"]
        assert row["rmse_with_g_kg"] < 0.6 * min(row["rmse_without_g_kg"], row["rmse_placebo_g_kg"])
    else:
        assert row["rmse_with_g_kg"] > 0.8 * row["rmse_without_g_kg"]


def test_a_draw_is_a_house_that_runs() -> None:
    truth, fit = fitted()
    house, equipment = fit.described(fit.draws.iloc[0])
    assert isinstance(house, ms.House) and isinstance(equipment, ms.Equipment)
    season = fit.simulate(fit.best)
    gap = 1000.0 * season.hourly["indoor_humidity_ratio"].to_numpy() - fit.hours.measured
    assert np.sqrt(np.nanmean(gap[24:] ** 2)) < 0.5
    assert "ach50" in "".join(fit.names) and "structure" in fit.best
    assert fit.described(fit.best)[0] != truth.described


def test_bands_widen_with_the_level_and_days_are_narrower_than_hours() -> None:
    _, fit = fitted()
    wide, narrow = fit.predict(level=0.9), fit.predict(level=0.5)
    assert ((wide["high"] - wide["low"]) > (narrow["high"] - narrow["low"])).all()
    carried = fit.predict(measured_until=fit.hours.index[fit.fitted])
    assert carried["predicted"].iloc[: fit.fitted].equals(wide["predicted"].iloc[: fit.fitted])
    assert abs(carried["predicted"].iloc[-1] - wide["predicted"].iloc[-1]) < 1e-5
    with pytest.raises(ms.InputError, match="level"):
        fit.predict(level=90.0)


def test_the_same_seed_gives_the_same_bits() -> None:
    truth = invented(3, "greensboro", days=8)
    first, again = (
        ms.calibrate(truth.described, truth.equipment, truth.log, seed=4) for _ in range(2)
    )
    assert first.draws.equals(again.draws)
    assert first.predict().equals(again.predict())


def test_the_figure_is_drawn_in_both_units() -> None:
    _, fit = fitted()
    for units, word in (("us", "grains/lb"), ("si", "g/kg")):
        figure = fit.figure(units)
        assert word in figure.axes[0].get_ylabel()
        figure.canvas.draw()
        plt.close(figure)


def test_a_house_without_a_followed_temperature_finds_its_own() -> None:
    """The heater holds the room; its setpoint comes out of the log."""
    truth = invented(3, "greensboro", days=9)
    heated = ms.Equipment(room_heater=ms.RoomHeater(capacity="12 kW"))
    fit = ms.calibrate(truth.described, heated, truth.log, impose=False)
    mean = float(np.nanmean(fit.hours.warm))
    assert abs(fit.draws["strategy.heating_setpoint"].median() - mean) < 1.5
    shown = fit.simulate(fit.best).column("indoor_temperature_C")
    assert np.sqrt(np.nanmean((shown - fit.hours.warm)[24:] ** 2)) < 1.5
