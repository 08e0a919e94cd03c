"""People by schedule, vapor from below and from new materials: arrays worked by hand."""

from typing import Any

import numpy as np
import pandas as pd
import pytest

import moistsim as ms
from moistsim.core.errors import brief
from moistsim.engine.household import (
    Household,
    construction_moisture,
    ground_vapor,
    household,
    moisture_of_a_day,
)
from moistsim.house.people import ACTIVITIES, LATENT_PER_KG

YEAR = pd.date_range("2001-01-01", periods=8760, freq="h")
"""1 January 2001 was a Monday."""
HOME = (1.0,) * 8 + (0.0,) * 8 + (1.0,) * 8


def lived_in(gains: dict[str, Any] | None = None, **occupancy: Any) -> ms.House:
    return ms.House(
        floor_area=150.0,
        gains=ms.Gains(**(gains or {})),
        occupancy=ms.Occupancy(
            **{"weekday": HOME, "weekend": (1.0,) * 24, **occupancy}
        ),
    )  # fmt: skip


def hours(house: ms.House) -> tuple[Household, pd.DataFrame]:
    """The household, and its vapor and heat by hour; bursts spread over their hour."""
    home = household(house, YEAR)
    vapor = home.moisture + home.shower * home.shower_share + home.cooking * home.cooking_share
    return home, pd.DataFrame(
        {"kg": 3600.0 * vapor, "W": home.sensible, "occupied": home.occupied}, index=YEAR
    )


def test_no_occupancy_is_the_same_day_all_the_year() -> None:
    house = ms.House(floor_area=150.0)
    home, frame = hours(house)
    assert (home.occupied == 1.0).all() and not home.shower.any() and not home.cooking.any()
    gains = house.gains
    expected = (
        3 * 70.0 * 0.75 * gains.presence[18] + 600.0 * gains.appliances_and_lights_profile[18]
    )
    assert frame["W"].iloc[18::24].to_numpy() == pytest.approx(expected)
    assert frame["kg"].sum() == pytest.approx(365 * 3 * 2.2)


def test_a_week_emits_what_the_household_is_said_to() -> None:
    """Fifty-two weeks of it: people, showers, cooking and the rest are the stated rate."""
    _, frame = hours(lived_in())
    week = frame["kg"].iloc[: 52 * 168].sum() / 52 / 7
    assert week == pytest.approx(3 * 2.2, rel=1e-12)
    _, frame = hours(lived_in({"moisture": "10 kg/day"}))
    assert frame["kg"].iloc[: 52 * 168].sum() / 52 / 7 == pytest.approx(10.0, rel=1e-12)


def test_people_by_hand() -> None:
    """Three people: from 23 to 7 h asleep (50 W, 25 W latent), awake in light work (75 W, 55 W).
    Week-days 16 h at home, 8 of them asleep; week-ends 24 h, 8 asleep.

    Latent, W h a person: 8 x 25 + 8 x 55 = 640, week-ends 8 x 25 + 16 x 55 = 1080; the mean of a
    week (5 x 640 + 2 x 1080) / 7 = 765.7 W h, over 2.43 MJ/kg: 1.134 kg, three people 3.403 kg.
    """
    house = lived_in({"appliances_and_lights": 0.0})
    assert house.occupancy is not None
    split = moisture_of_a_day(house, house.occupancy)
    assert split.people == pytest.approx(3.403, abs=0.001)
    assert (split.showers, split.cooking) == (pytest.approx(0.75), pytest.approx(0.6))
    _, frame = hours(house)
    monday, saturday = frame.loc["2001-01-01", "W"], frame.loc["2001-01-06", "W"]
    assert monday.tolist() == [150.0] * 7 + [225.0] + [0.0] * 8 + [225.0] * 7 + [150.0]
    assert saturday.tolist() == [150.0] * 7 + [225.0] * 16 + [150.0]


def test_bursts_are_short_and_whole() -> None:
    """Three showers of 8 min at 7 h: 0.75 kg in 24 min. The meal: 0.6 kg in 40 min at 18 h."""
    home, _ = hours(lived_in())
    assert home.shower_share[7] == pytest.approx(0.4) and not home.shower_share[8]
    assert home.shower[7] * 0.4 * 3600.0 == pytest.approx(0.75)
    assert home.cooking_share[18] == pytest.approx(2.0 / 3.0)
    assert home.cooking[18] * 2400.0 == pytest.approx(0.6)


def test_vacations_and_stays() -> None:
    """Vacations and stays begin and end on the stated days.

    Vacations count their last day; stays run from check-in at 16 h to check-out at 11 h; both
    over the turn of the year; and a stay within a vacation is none.
    """
    _, away = hours(lived_in(vacations=["07-04 to 07-06", "12-30 to 01-02"]))
    assert (away["occupied"] == 0.0).sum() == 24 * (3 + 2 + 2)
    assert not away.loc["2001-07-05", "occupied"].any() and away.loc["2001-07-07", "occupied"].all()
    assert (away.loc["2001-07-05", "kg"] == 0.0).all()
    # The refrigerator and what stands by: 0.3 of the appliances.
    at = np.array(ms.Gains().appliances_and_lights_profile)
    assert away.loc["2001-07-05", "W"].to_numpy() == pytest.approx(0.3 * 600.0 * at)
    stays = ["03-01 to 03-04", "2001-06-10 to 2001-06-11", "12-30 to 01-02"]
    _, let = hours(lived_in(stays=stays))
    lived = let["occupied"].astype(bool)
    assert lived.sum() == (8 + 48 + 11) + (8 + 11) + (8 + 24) + (24 + 11)
    assert lived["2001-03-01 16:00"] and not lived["2001-03-01 15:00"]
    assert lived["2001-03-04 10:00"] and not lived["2001-03-04 11:00"]
    _, both = hours(lived_in(stays=stays, vacations=["06-01 to 06-30"]))
    assert both["occupied"].sum() == lived.sum() - (8 + 11)


def test_a_party_comes_on_top() -> None:
    """Twenty guests in light work from 18 to 23 h: 20 x 75 W, and 20 x 55 W of vapor."""
    plain, _ = hours(lived_in())
    home, _ = hours(lived_in(parties=[ms.Party(day="07-14", guests=20)]))
    extra = pd.Series(home.sensible - plain.sensible, index=YEAR)
    assert extra[extra > 0.0].index.equals(pd.date_range("2001-07-14 18:00", periods=5, freq="h"))
    assert extra.max() == pytest.approx(20 * 75.0)
    vapor = (home.moisture - plain.moisture).sum() * 3600.0
    assert vapor == pytest.approx(5 * 3600.0 * 20 * ACTIVITIES["light work"].latent / LATENT_PER_KG)


def test_lights_by_month_keep_their_mean() -> None:
    lights = [1.3, 1.2, 1.1, 1.0, 0.9, 0.8, 0.8, 0.8, 0.9, 1.0, 1.1, 1.1]
    house = ms.House(
        floor_area=150.0, gains=ms.Gains(occupants=0, appliances_and_lights_by_month=lights)
    )
    _, frame = hours(house)
    by_month = frame["W"].groupby(YEAR.month).mean()
    assert by_month.to_numpy() == pytest.approx(600.0 * np.array(lights))


def test_ground_basement_and_new_materials() -> None:
    """Vapor from the ground, the basement and new materials is as worked by hand.

    20 g a day and m2 under the lower of two stories; a basement wet from November to February;
    10 kg/m2 of which 1 - 1/e go in the first 120 days and nothing before the house was closed.
    """
    house = ms.House(
        floor_area=200.0,
        stories=2,
        vapor_sources=ms.VaporSources(
            ground="0.02 kg/(day m2)", basement="6 kg/day", basement_from=11, basement_to=2,
            construction="10 kg/m2", construction_from="03-01",
        ),
    )  # fmt: skip
    day = ground_vapor(house, YEAR) * 86400.0
    assert day[0] == pytest.approx(2.0 + 6.0) and day[5000] == pytest.approx(2.0)
    drying = construction_moisture(house, YEAR) * 3600.0
    first = int(np.flatnonzero(YEAR == "2001-03-01")[0])
    assert not drying[:first].any()
    assert drying[first : first + 24 * 120].sum() == pytest.approx(2000.0 * (1.0 - np.exp(-1.0)))
    assert drying[first + 24] < drying[first]


@pytest.mark.parametrize(
    ("make", "text"),
    [
        (lambda: ms.Occupancy(vacations=["07-18"]),
         ("Occupancy.vacations: cannot use '07-18'. Use two days such as '07-04 to 07-18' or "
         "'2026-07-04 to 2026-07-18'.")),
        (lambda: ms.Occupancy(vacations="07-04 to 07-18"),
         ("Occupancy.vacations: cannot use '07-04 to 07-18'. Use a list of days, such as ['07-04 "
         "to 07-18'].")),
        (lambda: ms.Occupancy(stays=["02-30 to 03-02"]),
         ("Occupancy.stays: cannot use '02-30 to 03-02'. Use two days such as '07-04 to 07-18' or "
         "'2026-07-04 to 2026-07-18'.")),
        (lambda: ms.Occupancy(stays=["2026-03-04 to 2026-03-02"]),
         ("Occupancy.stays: cannot use '2026-03-04 to 2026-03-02'. Use two days such as '07-04 to "
         "07-18' or '2026-07-04 to 2026-07-18', the first one first.")),
        (lambda: ms.Occupancy(weekday=[2.0] * 24),
         f"Occupancy.weekday: cannot use {brief([2.0] * 24)}. Use 24 numbers from 0 to 1, one an hour "
         "from midnight."),
        (lambda: ms.Occupancy(shower_hour=7.5),
         "Occupancy.shower_hour: cannot use 7.5. Use a whole hour."),
        (lambda: ms.Occupancy(parties=[ms.Party(day="07-04", guests=5, start=22)]),
         ("Occupancy.parties: a party of 5 h from hour 22 ends after midnight. Use an end by "
         "midnight.")),
        (lambda: ms.Party(day="13-04", guests=5),
         "Party.day: cannot use '13-04'. Use a day such as '07-04' or '2026-07-04'."),
        (lambda: ms.Gains(appliances_and_lights_by_month=[1.0] * 24),
         f"Gains.appliances_and_lights_by_month: cannot use {brief([1.0] * 24)}. Use 12 numbers, none negative and not "
         "all zero, one a month from January."),
        (lambda: hours(lived_in({"moisture": "2 kg/day"})),
         ("House.occupancy: 3.4 kg of vapor a day from people, 0.8 kg from showers and 0.6 kg "
         "from cooking. Use together at most the household's moisture, 2.0 kg/day "
         "(Gains.moisture).")),
        (lambda: hours(lived_in(shower_time="30 min")),
         "Occupancy.shower_time: showers of 90 min together. Use showers that end within an hour."),
        (lambda: ms.VaporSources(construction_from="spring"),
         ("VaporSources.construction_from: cannot use 'spring'. Use a day such as '03-01' or "
         "'2026-03-01'.")),
        (lambda: ms.WindowOpening(low="25 degC", high="20 degC"),
         ("WindowOpening.high: cannot use '20.0 °C'. Use a temperature above the low one, 25.0 "
         "°C.")),
        (lambda: ms.WindowOpening(hours=[7]),
         ("WindowOpening.hours: cannot use [7]. Use two different hours from 0 to 24, such as [7, "
         "22], over midnight or not.")),
    ],
)  # fmt: skip
def test_every_refusal(make: Any, text: str) -> None:
    with pytest.raises(ms.InputError) as refusal:
        make()
    assert str(refusal.value) == text
