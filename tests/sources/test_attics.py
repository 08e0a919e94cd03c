"""Attics: how hot they get, how close a sealed one stays to the house, and the deck's moisture.

Heat: the Florida Solar Energy Center's test roofs (Parker and others, 1990s; from memory). In a hot humid
summer a vented attic under dark shingles is 10 to 20 K above outdoor air on the mean day's hottest hour.

Deck: the Forest Products Laboratory's matched attics in Mississippi and Wisconsin (Winandy and others, 1990s
to 2000; from memory). Sheathing under black shingles reached 60 to 75 degC in the hottest hours, and its wood
held 5 to 12 % moisture in the south. Decks of vented attics are wettest in winter.

Sealed attics under insulated roofs stay within a few kelvins of the house (common practice, no source).
"""

from functools import lru_cache

import pandas as pd
import pytest
from support.machines import machines
from support.weathers import sample

import moistsim as ms
from moistsim.risk.wood import equilibrium_moisture

DARK = ms.Envelope(roof_absorptance=0.92)
"""Dark shingles: absorptance 0.92 (from memory)."""


@lru_cache
def year(place: str, kind: str = "vented") -> pd.DataFrame:
    """Hourly table of a year under an attic, cooled to 24 degC."""
    house = ms.House(floor_area="1500 ft2", ach50=5.0, envelope=DARK, attic=ms.Attic(kind=kind))
    return ms.simulate(
        house, machines(ventilation=None), ms.strategies.temperature_only, sample(place),
        step="5 min", spin_up="20 day",
    ).hourly  # fmt: skip


def months(hourly: pd.DataFrame, *which: int) -> pd.DataFrame:
    return hourly[hourly.index.month.isin(which)]


def test_a_vented_attic_in_a_hot_humid_summer() -> None:
    """Mean over June to August of the day's hottest hour: 10 to 20 K above the day's hottest outdoors.

    This tolerance was stated before the first look. While the deck radiated to the air instead of the ceiling,
    the air was 21 K above. The limits of the deck, 55 to 75 degC, were set after a first look had shown
    66 degC, so they prove less.
    """
    daily = months(year("miami"), 6, 7, 8).resample("D").max()
    above = (daily["attic_temperature_C"] - daily["outdoor_temperature_C"]).mean()
    hottest = daily["attic_surface_temperature_C"].max()
    print(f"{above:.1f} K above outdoors, deck up to {hottest:.1f} degC")
    assert 10.0 < above < 20.0
    assert 55.0 < hottest < 75.0


def test_a_vented_attic_at_night_is_near_outdoors() -> None:
    """The roof faces the sky: within 3 K of outdoor air, and below it under clear skies."""
    nights = months(year("miami"), 6, 7, 8)
    nights = nights[nights.index.hour < 5]
    gap = nights["attic_temperature_C"] - nights["outdoor_temperature_C"]
    print(f"{gap.mean():.1f} K")
    assert -3.0 < gap.mean() < 2.0
    assert gap.min() < 0.0


@pytest.mark.parametrize("place", ["miami", "greensboro"])
def test_a_sealed_attic_stays_near_the_house(place: str) -> None:
    """July: mean within 2 K of the house, hottest hour within 6 K."""
    july = months(year(place, "sealed"), 7)
    gap = july["attic_temperature_C"] - july["indoor_temperature_C"]
    print(f"{place}: mean {gap.mean():.1f} K, up to {gap.max():.1f} K")
    assert abs(gap.mean()) < 2.0
    assert gap.max() < 6.0


def deck_moisture(hourly: pd.DataFrame) -> pd.Series:
    """Moisture content of the deck behind its surface by month, percent of dry mass."""
    wood = equilibrium_moisture(
        hourly["attic_surface_temperature_C"], hourly["attic_deep_rh_pct"].clip(upper=99.0)
    )
    return pd.Series(wood, index=hourly.index).groupby(hourly.index.month).mean()


def test_a_vented_deck_in_the_south() -> None:
    """Miami: every month's mean at 4 to 13 %."""
    by_month = deck_moisture(year("miami"))
    print("deck in Miami, percent:", by_month.round(1).tolist())
    assert 4.0 < by_month.min() < by_month.max() < 13.0


@pytest.mark.parametrize("place", ["greensboro", "sand_point"])
def test_a_vented_deck_is_wettest_in_winter(place: str) -> None:
    """January above July by at least 2 points, and below fiber saturation."""
    by_month = deck_moisture(year(place))
    print(f"deck in {place}, percent:", by_month.round(1).tolist())
    assert by_month[1] > by_month[7] + 2.0
    assert by_month.max() < 28.0
