"""Savings and the next measurement from a real fit: an engine-made log, calibrated."""

import attrs
import numpy as np
import pandas as pd
import pytest
from support import house_logs, houses, machines
from support.weathers import stretch

import moistsim as ms
from moistsim.calibration import carried

REHEAT = ms.strategies.staged_reheat()
DRIED = ms.strategies.with_dehumidifier()


@pytest.fixture(scope="module")
def fit() -> ms.Fit:
    found = machines.machines(dehumidifier=None, hot_gas=None)
    log = house_logs.read(house_logs.table(10))
    return ms.calibrate(houses.house(), found, log, blind=0.0)


def dried(found: ms.Equipment) -> ms.Equipment:
    return attrs.evolve(found, dehumidifier=ms.Dehumidifier(capacity="70 pint/day"))


@pytest.mark.slow
def test_every_draw_goes_into_other_machines(fit: ms.Fit) -> None:
    new = dried(fit.equipment)
    for values in fit.draws.iloc[::16].to_dict("records"):
        house, made = carried(fit, values, new)
        own_house, own = fit.described(values)
        assert house == own_house
        assert made.dehumidifier == new.dehumidifier
        assert made.ventilation == own.ventilation


@pytest.mark.slow
def test_the_next_measurement_of_a_fit(fit: ms.Fit) -> None:
    """Defaults come from the fit: its log's weather, its control, its temperature."""
    study = ms.Study(
        houses.house(), {"reheat": (fit.equipment, REHEAT), "dehumidifier": (dried(fit.equipment), DRIED)},
        stretch("greensboro", 150, 14),
    )  # fmt: skip
    with pytest.raises(ms.InputError, match="at least 11 days"):
        ms.next_measurement(study, fit, n=20, progress=False)
    found = ms.next_measurement(
        study, fit, n=20, progress=False, weather=stretch("greensboro", 120, 14)
    )
    assert set(found.priced) == set(ms.measurements())
    assert all(np.isfinite(of.readings).all() for of in found.priced.values())
    assert found.sentences()


@pytest.mark.slow
def test_savings_of_a_fit_with_its_meter(fit: ms.Fit) -> None:
    """The interval meter of the house itself before, no change after: nothing is proven."""
    first, then = stretch("greensboro", 120, 40), stretch("greensboro", 150, 40)
    rng = np.random.default_rng(2)
    before, after = (
        ms.MeteredPeriod(
            equipment=fit.equipment, strategy=REHEAT, weather=weather,
            bills=ms.simulate(houses.house(), fit.equipment, REHEAT, weather)
            .quarters.resample("h").mean() + rng.normal(0.6, 0.1, 24 * 40),
        )
        for weather in (first, then)
    )  # fmt: skip
    found = ms.savings(fit, before, after, n=6, progress=False)
    assert found.readings is not None and len(found.readings) == 40
    assert found.verdict == "not proven"
    assert isinstance(found.table(), pd.DataFrame)
