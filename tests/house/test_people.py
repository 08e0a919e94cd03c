"""People through a run: an empty house that is set back, bursts within the hour, the spin-up."""

import attrs
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import sample

import moistsim as ms

STAY = ms.Occupancy(stays=["07-08 to 07-11", "07-14 to 07-16"])


def week(of: ms.House, strategy: ms.Strategy, **changes: str) -> ms.Season:
    return ms.simulate(
        of, machines(), strategy, sample("miami"),
        **{"start": "07-08", "end": "07-16", "spin_up": "7 day", **changes},
    )  # fmt: skip


def test_a_house_that_is_let_drifts_while_empty_and_is_pulled_down_on_arrival() -> None:
    """A rental house drifts while empty and is cool again on the day of arrival.

    Between stays from 07-11 11:00 to 07-14 16:00 the room rises towards 29 degC; on the day of
    arrival it is back within 1 K of 24.5 by midnight. It saves electricity, and comfort is counted
    while people live there alone.
    """
    let = house(occupancy=STAY)
    back = week(let, ms.strategies.temperature_only + ms.strategies.set_back)
    steady = week(let, ms.strategies.temperature_only)
    room = back.hourly["indoor_temperature_C"]
    year = room.index[0].year
    assert room[f"{year}-07-13"].max() > 27.0
    assert room[f"{year}-07-14 23:00"] < 25.5
    empty = back.hourly["occupied_h"] == 0.0
    # Before check-in, between the stays (13 + 24 + 24 + 16) and after the last check-out.
    assert empty.sum() == 16 + 77 + 13
    assert not back.hourly.loc[empty, "warm_h"].any()
    arrival = back.hourly.loc[f"{year}-07-14 16:00" : f"{year}-07-14 23:00", "warm_h"]
    assert arrival.sum() > 0.25
    assert back.meter.kwh.sum() < steady.meter.kwh.sum()
    assert (back.balance["relative"].abs() < 1e-9).all()


def test_a_shower_is_minutes_of_vapor_and_its_mass_is_whole_at_any_step() -> None:
    """Showers emit the same vapor at any step.

    Three of 8 min from 7 h: the first 24 min of the hour get 0.75 kg more than the rest of it
    would have given, in steps of a minute and of a quarter of an hour.
    """
    home = house(occupancy=ms.Occupancy())
    fine = week(home, ms.strategies.temperature_only, end="07-08", spin_up="1 day")
    minutes = fine.minutes("07-08")["water_gains_kg"].to_numpy()[420:480]
    assert minutes[:24] == pytest.approx(minutes[:24].mean())
    assert minutes[24:] == pytest.approx(minutes[24:].mean())
    assert 24 * (minutes[0] - minutes[-1]) == pytest.approx(0.75)
    coarse = week(home, ms.strategies.temperature_only, end="07-08", spin_up="1 day", step="15 min")
    assert coarse.hourly["water_gains_kg"].to_numpy() == pytest.approx(
        fine.hourly["water_gains_kg"].to_numpy(), rel=1e-9
    )


def test_the_spin_up_says_how_far_things_still_moved() -> None:
    """The spin-up report gives the change over its last day.

    After three weeks the deep layer moves by far less a day than after one; without a spin-up
    nothing has. The report is the hourly table's own, a day apart.
    """
    still = week(house(), ms.strategies.temperature_only, spin_up="0 day", end="07-08")
    assert not still.spin_up_report["moved"].any()
    short = week(house(), ms.strategies.temperature_only, spin_up="2 day", end="07-08")
    long = week(house(), ms.strategies.temperature_only, spin_up="28 day", end="07-08")
    moved = [abs(s.spin_up_report.loc["slow_mass_temperature_C", "moved"]) for s in (short, long)]
    print(short.spin_up_report, long.spin_up_report)
    assert moved[1] < 0.5 * moved[0]
    before = week(
        house(), ms.strategies.temperature_only, start="07-06", end="07-07", spin_up="26 day"
    ).hourly  # fmt: skip
    report = long.spin_up_report
    for name in ("deep_store_rh_pct", "slow_mass_temperature_C", "surface_store_rh_pct"):
        assert report.loc[name, "day_before"] == pytest.approx(before[name].iloc[23], abs=1e-9)
        assert report.loc[name, "first"] == pytest.approx(before[name].iloc[47], abs=1e-9)
    assert long.provenance["spin_up_last_day_moved"] == report["moved"].to_dict()


def test_open_windows_trade_heat_for_humidity() -> None:
    """Open windows save cooling and bring vapor.

    Greensboro in May: opened by temperature alone they bring more vapor than when people look
    at the dew point first, and both spare cooling.
    """

    def may(opening: ms.WindowOpening | None) -> ms.Season:
        return ms.simulate(
            attrs.evolve(house(), window_opening=opening), machines(),
            ms.strategies.temperature_only, sample("greensboro"), start="05-01", end="05-31",
        )  # fmt: skip

    shut = may(None)
    warm, dry = (may(ms.WindowOpening(rule=rule)) for rule in ("temperature", "dew point"))
    hours = [s.hourly["windows_open_h"].sum() for s in (shut, warm, dry)]
    cooling = [s.meter.kwh["compressor"] for s in (shut, warm, dry)]
    rh = [s.hourly["indoor_rh_pct"].mean() for s in (shut, warm, dry)]
    print(hours, cooling, rh)
    assert hours[0] == 0.0 < hours[2] < hours[1]
    assert cooling[1] < cooling[2] < cooling[0]
    assert rh[1] > rh[2]
