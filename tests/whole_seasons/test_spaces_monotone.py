"""What a cover, vents, a tighter floor and a white roof must do to the spaces next to a house."""

from typing import Any

import pandas as pd
from hypothesis import event, given, settings
from hypothesis import strategies as st
from support.houses import house
from support.machines import machines
from support.values import floats
from support.weathers import stretch

import moistsim as ms

UNVENTILATED = machines(ventilation=None)
EXAMPLES = settings(max_examples=8)
places = st.sampled_from(["miami", "greensboro", "sand_point"])
summers, winters = st.integers(150, 220), st.integers(0, 60)


def run(place: str, first: int, **fields: Any) -> pd.DataFrame:
    """Two weeks in a leaky house, after two weeks that bring wood and soil to the weather."""
    home = house(**{"ach50": 7.0, **fields})
    return ms.simulate(
        home, UNVENTILATED, ms.strategies.temperature_only, stretch(place, first, 28),
        step="5 min", spin_up="5 day",
    ).hourly.iloc[-14 * 24 :]  # fmt: skip


def compared(*values: float) -> None:
    """Print what is compared."""
    print(", ".join(f"{value:.4g}" for value in values))


@EXAMPLES
@given(
    place=places, first=st.integers(0, 330), kind=st.sampled_from(["vented", "closed"]),
    cover=floats(0.0, 0.8), more=floats(0.05, 0.2),
)  # fmt: skip
def test_more_ground_cover_never_gives_a_wetter_crawl_space(
    place: str, first: int, kind: str, cover: float, more: float
) -> None:
    """Except where the soil is so cold that it dries the air day by day: there it never gives a drier one."""
    less, more_cover = (
        run(place, first, crawl_space=ms.CrawlSpace(kind=kind, ground_cover=part))
        for part in (cover, cover + more)
    )
    name = "crawl_space_humidity_ratio"
    daily = less["crawl_space_water_soil_kg"].resample("D").sum()
    compared(less[name].mean(), more_cover[name].mean(), daily.min(), daily.max())
    if (daily > 0.0).all():
        assert more_cover[name].mean() < less[name].mean()
    elif (daily < 0.0).all():
        assert more_cover[name].mean() > less[name].mean()
    else:
        event("the soil gives and takes")


@EXAMPLES
@given(place=places, first=winters, share=floats(0.1, 0.4), less=floats(0.2, 0.9))
def test_a_tighter_floor_never_brings_more_water_from_a_crawl_space(
    place: str, first: int, share: float, less: float
) -> None:
    """In winter, when the stack draws from it; the whole house leaks as much as before."""
    loose, tight = (
        run(
            place, first, crawl_space=ms.CrawlSpace(),
            leakage=ms.Leakage(floor_share=part, ceiling_share=0.2),
        )
        for part in (share, less * share)
    )  # fmt: skip
    for name in ("air_to_house_kg", "water_to_house_kg"):
        brought = [float(hourly[f"crawl_space_{name}"].sum()) for hourly in (loose, tight)]
        compared(*brought)
        assert 0.0 < brought[1] < brought[0]


@EXAMPLES
@given(
    place=st.sampled_from(["greensboro", "sand_point"]), first=winters, vents=floats(0.0, 0.01),
    more=floats(0.001, 0.01),
)  # fmt: skip
def test_more_vents_in_winter_never_give_a_warmer_crawl_space(
    place: str, first: int, vents: float, more: float
) -> None:
    """Where outdoor air is colder than it: in Miami the ground is often the colder of the two."""
    few, many = (
        run(place, first, crawl_space=ms.CrawlSpace(vent_area=area))
        for area in (vents, vents + more)
    )
    colder, name = few["outdoor_temperature_C"].mean(), "crawl_space_temperature_C"
    compared(colder, few[name].mean(), many[name].mean())
    # A strongly vented one may lie a little below outdoors, by evaporation and by the weeks before.
    assert many[name].mean() > colder - 1.0
    if few[name].mean() > colder + 0.5:
        assert many[name].mean() < few[name].mean()


@EXAMPLES
@given(
    place=places, first=summers, vents=floats(0.0, 0.005), more=floats(0.001, 0.005),
    absorptance=floats(0.5, 0.95), lighter=floats(0.1, 0.4),
)  # fmt: skip
def test_more_vents_and_a_lighter_roof_never_give_a_hotter_attic(
    place: str, first: int, vents: float, more: float, absorptance: float, lighter: float
) -> None:
    """By the mean of the days' hottest hours in summer."""
    hottest = []
    for area, part in ((vents, 0.0), (vents + more, 0.0), (vents, lighter)):
        hourly = run(
            place, first, attic=ms.Attic(vent_area=area),
            envelope=ms.Envelope(roof_absorptance=absorptance - part),
        )  # fmt: skip
        hottest.append(float(hourly["attic_temperature_C"].resample("D").max().mean()))
    compared(*hottest)
    assert hottest[1] < hottest[0]
    assert hottest[2] < hottest[0]


@EXAMPLES
@given(place=places, first=summers, leaks=floats(0.02, 0.3), more=floats(0.05, 0.2))
def test_leakier_supply_ducts_never_give_a_warmer_crawl_space_in_summer(
    place: str, first: int, leaks: float, more: float
) -> None:
    """Cold air that they lose cools it; where the machine runs at all."""
    cool = [
        run(
            place, first, crawl_space=ms.CrawlSpace(kind="closed"),
            ducts=ms.Ducts(location="crawl space", supply_leakage=part, return_leakage=0.0),
        )
        for part in (leaks, leaks + more)
    ]  # fmt: skip
    compared(*(hourly["crawl_space_temperature_C"].mean() for hourly in cool))
    lost = [hourly["crawl_space_air_ducts_kg"].sum() for hourly in cool]
    if cool[0]["compressor_kWh"].sum() > 20.0:
        assert lost[1] > lost[0] > 0.0
        assert (
            cool[1]["crawl_space_temperature_C"].mean()
            < cool[0]["crawl_space_temperature_C"].mean()
        )


@EXAMPLES
@given(place=places, first=summers, humidistat=floats(50.0, 65.0), lower=floats(3.0, 10.0))
def test_a_lower_humidistat_never_leaves_a_wetter_crawl_space(
    place: str, first: int, humidistat: float, lower: float
) -> None:
    wet, dry = (
        ms.simulate(
            house(ach50=7.0, crawl_space=ms.CrawlSpace(kind="encapsulated")),
            machines(
                ventilation=None,
                crawl_space_dehumidifier=ms.Dehumidifier(capacity="70 pint/day", humidistat=at),
            ),
            ms.strategies.temperature_only, stretch(place, first, 14), spin_up="5 day",
        ).hourly
        for at in (humidistat, humidistat - lower)
    )  # fmt: skip
    name = "crawl_space_rh_pct"
    compared(wet[name].mean(), dry[name].mean())
    assert dry[name].mean() <= wet[name].mean() + 0.1
    assert dry["space_dehumidifier_kWh"].sum() >= wet["space_dehumidifier_kWh"].sum() - 1e-9
