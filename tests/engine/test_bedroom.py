"""A bedroom behind a closed door: by hand, and that the house as a whole is left alone."""

import pytest
from support import houses, weathers
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim import air
from moistsim.engine.bedroom import HouseAir, bedroom_after, hallway
from moistsim.engine.records import BedroomParameters

PRESSURE = air.STANDARD_PRESSURE


def test_a_closed_bedroom_by_hand() -> None:
    """Humidity behind a closed door is the hallway's plus vapor over airflow.

    A hallway so large that it does not move, 0.008: in steady state the sleepers' 80 g/h leave by
    5 L/s of air, 1.19 kg/m3: 0.008 + 80e-3/3600 / (0.005 x 1.19) = 0.01173; by the open door's
    75 L/s and no sleeper, the hallway's own.
    """
    room = BedroomParameters(1e-6, 80e-3 / 3600.0, 0.005, 0.075, 22.0, 7.0)
    mean, volume, dry_air = 0.008, 1e6, 1.19e6

    def step(room: BedroomParameters, w: float, hour: float, **other: float) -> float:
        supplied, household = other.get("supplied", 0.0), other.get("household", 0.0)
        after: float = bedroom_after(
            room,
            w - mean,
            HouseAir(24.0, mean, dry_air, PRESSURE),
            supplied,
            household,
            volume,
            hour,
            60.0,
        )
        return after

    w = mean
    for hour, expected in ((23.0, mean + 80e-3 / 3600.0 / (0.005 * 1.19)), (12.0, mean)):
        for _ in range(500):
            w = step(room, w, hour)
        assert w == pytest.approx(expected, rel=1e-5)
    # Long enough behind a tight door, the room is wet: at most saturated.
    for _ in range(3000):
        w = step(room._replace(closed_airflow=0.0), w, 3.0)
    assert w == pytest.approx(air.saturation_humidity_ratio(24.0, PRESSURE))
    # The blower mixes; what the rest of the household emits is in the mean, but not in here.
    assert mean < step(room, 0.010, 3.0, supplied=1e5) < step(room, 0.010, 3.0)
    assert step(room, 0.010, 12.0, household=1.0) < step(room, 0.010, 12.0)


def test_hallway_and_bedroom_make_up_the_house() -> None:
    room = BedroomParameters(0.2, 0.0, 0.005, 0.075, 22.0, 7.0)
    assert 0.8 * hallway(room, 0.009, 0.012) + 0.2 * 0.012 == pytest.approx(0.009)
    none = BedroomParameters(*(0.0 for _ in BedroomParameters._fields))
    assert hallway(none, 0.009123, 0.05) == 0.009123


def run(**fields: object) -> ms.Season:
    return ms.simulate(
        house(**fields), machines(), ms.strategies.temperature_only, stretch("miami", 100, 4),
        spin_up=0,
    )  # fmt: skip


def test_the_sensor_hangs_in_the_hallway() -> None:
    """The bedroom is more humid than the sensor's place at night; the house's balance is the same.

    Behind the door it is damper at night than where the sensor hangs, and the mean is in between;
    nothing of the house's own balance is touched.
    """
    season = run(bedroom=ms.Bedroom(floor_area="200 ft2", sleepers=2))
    night = season.hourly[season.hourly.index.hour == 5]
    # A little in the nights in which the blower runs, a lot in those in which it rests.
    damper = night["bedroom_rh_pct"] - night["indoor_rh_pct"]
    assert damper.min() > 0.05 and damper.max() > 4.0
    sensed = (night["sensed_rh_pct"] - night["indoor_rh_pct"])[damper > 1.0]
    assert len(sensed) > 0 and (sensed < -0.3).all()
    assert season.balance["relative"].abs().max() <= 1e-9
    plain = run()
    assert (plain.hourly["bedroom_rh_pct"] == plain.hourly["indoor_rh_pct"]).all()
    # The thermostat knows no humidity: the house goes its way.
    for column in ("indoor_rh_pct", "compressor_kWh"):
        assert season.hourly[column].equals(plain.hourly[column])
    wider = run(bedroom=ms.Bedroom(floor_area="200 ft2", closed_airflow="60 cfm"))
    assert wider.hourly["bedroom_rh_pct"].max() < season.hourly["bedroom_rh_pct"].max()
    fewer = run(bedroom=ms.Bedroom(floor_area="200 ft2", sleepers=1, vapor="30 g/h"))
    assert fewer.hourly["bedroom_rh_pct"].max() < season.hourly["bedroom_rh_pct"].max()
    shut = run(bedroom=ms.Bedroom(floor_area="200 ft2", closed_hours=[0, 24]))
    noon = shut.hourly.index.hour == 12
    assert (shut.hourly["bedroom_rh_pct"][noon] > season.hourly["bedroom_rh_pct"][noon]).all()


def test_a_dry_control_follows_the_hallway() -> None:
    """A dehumidifier held by the hallway's sensor leaves the bedroom above its target at night."""
    rooms = houses.bare_house(
        gains={"moisture": "10 kg/day"}, bedroom=ms.Bedroom(floor_area=15.0, closed_airflow="5 cfm")
    )
    season = ms.simulate(
        rooms, ms.Equipment(dehumidifier=ms.Dehumidifier(capacity="50 pint/day")),
        ms.strategies.with_dehumidifier(target_rh=50.0), weathers.flat(24.0, 0.009, days=4),
        spin_up=0,
    )  # fmt: skip
    night = season.hourly[season.hourly.index.hour == 5].iloc[1:]
    assert (night["bedroom_rh_pct"] > 56.0).all()
    assert (night["sensed_rh_pct"] < 54.0).all()
    humid = season.hourly["bedroom_rh_pct"] > 61.0
    assert (season.hourly["bedroom_above_60_h"][humid] > 0.5).all()


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        (
            {"closed_hours": [7, 7]},
            (
                "Bedroom.closed_hours: cannot use [7, 7]. Use two different hours from 0 to 24, such "
                "as [22, 7]."
            ),
        ),
        (
            {"open_airflow": "1 cfm"},
            (
                "Bedroom.open_airflow: cannot use 0.0004719 m3/s. Use a value of at least the closed door's "
                "0.004719 m3/s."
            ),
        ),
    ],
)
def test_bad_doors(fields: dict[str, object], sentence: str) -> None:
    with pytest.raises(ms.InputError) as refused:
        ms.Bedroom(**fields)
    found = str(refused.value).replace("'0.0004719 m3/s'", "0.0004719 m3/s")
    assert found == sentence


def test_a_bedroom_larger_than_its_house() -> None:
    with pytest.raises(ms.InputError, match="House.bedroom: .*60 m2.*. Use a bedroom"):
        ms.House(floor_area=100.0, bedroom=ms.Bedroom(floor_area=60.0))
