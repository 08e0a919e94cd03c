"""Greenhouse gas by a factor and by the hour."""

import numpy as np
import pandas as pd
import pytest

import moistsim as ms

DAY = pd.date_range("1990-07-01", periods=96, freq="15min")


def test_a_factor() -> None:
    power, gas = pd.Series(2.0, index=DAY), pd.Series(1.0, index=DAY[::4])
    assert ms.Emissions(electricity="880 lb/MWh").of(power) == pytest.approx(48 * 0.39916, rel=1e-4)
    with_gas = ms.Emissions(electricity=0.4, gas=0.2).of(power, gas)
    assert with_gas == pytest.approx(48 * 0.4 + 24 * 0.2)


def test_the_gas_factor() -> None:
    """53.06 kg CO2 per million Btu, EPA's emission factors for inventories, from memory."""
    assert ms.Emissions(electricity=0.0).gas * 293.071 == pytest.approx(53.06, rel=1e-4)


def test_by_the_hour() -> None:
    profile = ms.HourlyProfile(values=np.arange(24) / 24.0)
    power = pd.Series((DAY.hour == 6).astype(float), index=DAY)
    assert ms.Emissions(electricity_profile=profile).of(power) == pytest.approx(0.25)
    flat = ms.HourlyProfile(values=[0.4] * 24)
    noise = pd.Series(np.random.default_rng(1).random(96), index=DAY)
    by_hour, by_factor = (
        ms.Emissions(**how).of(noise)
        for how in ({"electricity_profile": flat}, {"electricity": 0.4})
    )
    assert by_hour == pytest.approx(by_factor, rel=1e-12)


def test_refused() -> None:
    profile = ms.HourlyProfile(values=[0.4] * 24)
    with pytest.raises(ms.InputError, match="cannot use 'no factor and no profile'"):
        ms.Emissions()
    with pytest.raises(ms.InputError, match="cannot use 'a factor and a profile'"):
        ms.Emissions(electricity=0.4, electricity_profile=profile)
    with pytest.raises(
        ms.InputError,
        match=(
            r"Emissions\.electricity: -1 is too small\. Use an emission factor from 0 to 10 "
            r"kg/kWh\."
        ),
    ):
        ms.Emissions(electricity=-1)
    with pytest.raises(ms.InputError, match="not a number"):
        ms.Emissions(electricity=0.4).of(pd.Series(np.nan, index=DAY))
