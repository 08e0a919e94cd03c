"""Parts of a calibration by themselves: priors, rhythm, noise, baselines, bands."""

import math

import numpy as np
import pandas as pd
import pytest
from scipy.signal import lfilter
from scipy.stats import norm
from support.measured_houses import invented

import moistsim as ms
from moistsim.calibration.adjusted import OWN, adjusted, apart, described, rhythm, values_at
from moistsim.calibration.baselines import baselines
from moistsim.calibration.chaining import Chained
from moistsim.calibration.model import Model, hours_of
from moistsim.calibration.noise import Noise, integral_time, noise_of
from moistsim.calibration.posterior import Target
from moistsim.calibration.structures import structures, usual_ranges

TRUTH = invented(3, "greensboro", days=8)
HOURS = hours_of(TRUTH.log, impose=True)
PLAIN = ms.strategies.temperature_only


def model(ranges: dict[str, object], place: int = 0) -> Model:
    structure = structures(TRUTH.described, TRUTH.equipment)[place]
    return Model(
        structure, PLAIN, adjusted(structure, PLAIN, HOURS.weather, ranges), HOURS, "300 s"
    )


def test_a_value_moves_on_the_scale_of_its_prior() -> None:
    """Zero is the median, and one the 84th percentile: normal quantiles of the range."""
    names = model(
        {
            "house.ach50": ms.log_uniform(1.0, 9.0),
            "house.gains.moisture": ms.normal("20 pint/day", "3 pint/day"),
        }
    ).names
    at = values_at(names, np.array([0.0, 1.0]))
    assert at["house.ach50"] == pytest.approx(3.0)
    pint = 0.473176473 * 0.998 / 86400.0  # kg of water at room temperature
    assert at["house.gains.moisture"] == pytest.approx(23.0 * pint, rel=1e-3)
    far = values_at(names, np.array([1.0, 0.0]))["house.ach50"]
    assert far == pytest.approx(math.exp(math.log(9.0) * norm.cdf(1.0)))


def test_a_measurement_is_a_prior() -> None:
    (one,) = model({"equipment.ventilation.airflow": "60 cfm ± 6 cfm"}, place=2).names
    cfm = 0.3048**3 / 60.0
    assert one.at(0.0) == pytest.approx(60.0 * cfm)
    assert one.at(1.0) == pytest.approx(66.0 * cfm)


def test_unknown_names_and_ranges_are_refused_with_the_near_name() -> None:
    with pytest.raises(ms.InputError, match="ach50"):
        model({"house.ach5": ms.uniform(1, 2)})
    with pytest.raises(ms.InputError, match="80 cfm ± 8 cfm"):
        model({"house.ach50": 3.0})
    with pytest.raises(ms.InputError, match="number of the house"):
        model({"tariff.price": ms.uniform(0.1, 0.2)})


def test_the_rhythm_keeps_the_mean_and_has_its_own_extremes() -> None:
    flat = (1.0,) * 24
    assert rhythm(flat, 1.0, 0.0, 0.0) == pytest.approx(flat)
    night = rhythm(flat, 0.0, 0.5, 0.0)
    assert np.mean(night) == pytest.approx(1.0)
    assert night[0] == pytest.approx(1.0 + 0.5 * math.cos(math.pi / 24.0))
    assert min(rhythm(flat, 1.0, 3.0, 0.0)) > 0.0


def test_described_values_are_the_house_that_ran() -> None:
    one = model(
        {
            **usual_ranges(TRUTH.described),
            "house.ach50": ms.uniform(1, 9),
            "rhythm.cosine": OWN["rhythm.cosine"][0],
        }
    )
    made = described(
        one.structure,
        PLAIN,
        one.names,
        {"house.ach50": 4.5, "house.gains.moisture": 1e-4, "rhythm.cosine": 0.3},
    )
    assert made.house.ach50 == 4.5 and made.house.moisture_gain == 1e-4
    assert made.house.gains.moisture_profile != TRUTH.described.gains.moisture_profile
    season = ms.simulate(
        made.house, made.equipment, PLAIN, HOURS.weather, step="300 s", impose=HOURS.impose,
        first_state=HOURS.start(0.0),
    )  # fmt: skip
    same = one.run({"house.ach50": 4.5, "house.gains.moisture": 1e-4, "rhythm.cosine": 0.3})
    assert same.humidity == pytest.approx(
        1000.0 * season.hourly["indoor_humidity_ratio"].to_numpy()
    )


def test_the_truth_explains_its_log() -> None:
    """At the truth, residuals are those of the loggers: 0.5 % RH and 0.1 K in ten minutes."""
    names = [n for n in TRUTH.values if n != "logger.humidity_offset"]
    one = model({**dict.fromkeys(names, ms.uniform(0.0, 1.0)), "house.ach50": ms.uniform(0, 60),
                 "house.moisture_store.area": ms.uniform(0, 99), "house.moisture_store.coating": ms.uniform(1, 1e12),
                 "house.gains.moisture": ms.uniform(0, 0.01), "logger.humidity_offset": OWN["logger.humidity_offset"][0],
                 "start.deep_humidity": OWN["start.deep_humidity"][0]})  # fmt: skip

    def error(deep: float) -> float:
        off = one.run({**TRUTH.values, "start.deep_humidity": deep}).humidity - HOURS.measured
        return float(np.sqrt(np.nanmean(off[24:] ** 2)))

    # The depth of the materials at the start is the one thing that the truth does not say.
    assert min(error(deep) for deep in range(-20, 21, 2)) < 0.12


def test_the_integral_time_of_an_ar_1_process() -> None:
    """(1 + φ) / (1 - φ), Priestley 1981 or any textbook of time series; from memory."""
    draw = np.random.default_rng(0)
    for phi in (0.0, 0.5, 0.9):
        x = lfilter([1.0], [1.0, -phi], draw.standard_normal((20, 20000)), axis=1)
        found = np.mean([integral_time(one) for one in x])
        assert found == pytest.approx((1 + phi) / (1 - phi), rel=0.1)


def test_noise_counts_correlated_hours_once() -> None:
    days = np.random.default_rng(0).choice([0.3, -0.3], 80)
    assert 30 < noise_of(np.repeat(days, 24), 1.0).worth(1920) < 120
    noise = Noise(0.2, 24.0)
    assert noise.weight(240) * 240 == pytest.approx(10.0 / 0.2**2)
    assert noise.remembered(np.array([0.0, 12.0])) == pytest.approx([1.0, math.exp(-1.0)])


def test_blocks_are_means_of_their_hours() -> None:
    measured = np.arange(3000.0)
    measured[100:200] = np.nan
    known = np.flatnonzero(np.isfinite(measured))
    target = Target.of(known, measured)
    assert len(target.measured) <= 1200
    assert target.residual(measured + np.where(np.isnan(measured), 0.0, 0.5)) == pytest.approx(-0.5)
    assert target.n == 2900


def test_the_linear_buffer_finds_a_linear_house() -> None:
    """A mass balance with a buffer, made by hand, step by step."""
    n, k, size, excess = 0.3, 0.8, 15.0, 1.2
    out = HOURS.outdoors
    w, b, told = out[0] + excess, out[0] + excess, []
    for one in out:
        # Both implicit equations of an hour.
        total = np.array([[1 + n + k, -k], [-k / size, 1 + k / size]])
        w, b = np.linalg.solve(total, [w + n * (one + excess), b])
        told.append(w)
    import attrs

    house = attrs.evolve(HOURS, measured=np.array(told))
    rows = np.arange(24, len(out))
    found = baselines(house, rows)
    assert np.sqrt(np.mean((found["linear buffer"] - told)[48:] ** 2)) < 0.05
    assert found["mean"][0] == pytest.approx(np.mean(told[24:]))


def test_few_independent_errors_widen_the_band() -> None:
    few = Chained({}, 0.0, {}, {"h": 0.2}, {"h": 4.0})
    many = Chained({}, 0.0, {}, {"h": 0.2}, {"h": 4000.0})
    assert few.reach("h", 0.9) == pytest.approx(2.353, abs=0.001)  # Student's t table, 3 degrees
    assert many.reach("h", 0.9) == pytest.approx(1.645, abs=0.001)  # normal table


def test_a_log_that_is_too_short_is_refused() -> None:
    short = TRUTH.log.between("1990-02-10", "1990-02-12")
    with pytest.raises(ms.InputError, match="3 days"):
        ms.calibrate(TRUTH.described, TRUTH.equipment, short)
    with pytest.raises(ms.InputError, match="blind"):
        ms.calibrate(TRUTH.described, TRUTH.equipment, TRUTH.log, blind=0.95)
    with pytest.raises(ms.InputError, match="extra 'energi'"):
        ms.calibrate(TRUTH.described, TRUTH.equipment, TRUTH.log, extra=("energi",))


def test_weighed_water_is_added_to_what_the_household_gives_off() -> None:
    import attrs

    water = np.zeros(len(HOURS.index))
    water[50:80] = -6.0 / 86400.0
    dried = attrs.evolve(HOURS, known_water=water)
    one = model({})
    plain, dry = one.run({}), attrs.evolve(one, hours=dried).run({})
    gone = pd.Series(plain.humidity - dry.humidity, HOURS.index)
    assert gone.iloc[:50].abs().max() < 1e-9 and gone.iloc[79] > 0.1
    taken = plain.season.column("water_gains_kg").sum() - dry.season.column("water_gains_kg").sum()
    assert taken == pytest.approx(6.0 * 30 / 24, rel=1e-9)


@pytest.mark.parametrize("name", sorted(ms.strategies.BUILT_IN))
def test_setpoints_that_a_log_moves_stay_apart(name: str) -> None:
    """A cooling setpoint pushes the heating setpoint down, and a heating setpoint the cooling one up."""
    strategy = ms.strategies.BUILT_IN[name]
    for points in (
        {"cooling_setpoint": 19.0}, {"heating_setpoint": 26.0},
        {"cooling_setpoint": 19.0, "heating_setpoint": 21.0}, {"cooling_setpoint": 27.0},
    ):  # fmt: skip
        moved = apart(strategy, points)
        assert strategy(**moved).settings["heating_setpoint"] < moved["cooling_setpoint"]
        if "cooling_setpoint" in points:
            assert moved["cooling_setpoint"] == points["cooling_setpoint"]
    assert apart(strategy, {}) == {}
