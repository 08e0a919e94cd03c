"""Sensors that err, messages that get lost, relays that stick, and the hard-wired enable."""

from typing import Any

import numpy as np
import pandas as pd
import pytest
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.controls import faults
from moistsim.engine import wiring
from moistsim.equipment.wires import CUTS

BARE = ms.Equipment(cooling=None)


@ms.strategy
def listens(readings: Any, memory: Any) -> Any:
    """Keeps what it hears: the last readings, how often they changed, the oldest message."""
    if readings.temperature != memory[0]:
        memory[3] += 1.0
    memory[0] = readings.temperature
    memory[1] = readings.relative_humidity
    memory[2] = readings.message_age
    memory[4] = max(memory[4], readings.message_age)
    memory[5] = readings.dew_point
    memory[6] = readings.outdoor_temperature
    memory[7] = readings.outdoor_dew_point
    return ms.Calls()


def heard(days: int = 2, *, failing: Any = (), step: str = "60 s", **sensor: Any) -> pd.DataFrame:
    """The memory of `listens` at each hour's end in a house without machines."""
    outdoor = sensor.pop("outdoor_sensor", None)
    plant = ms.Equipment(sensor=ms.Sensor(**sensor), outdoor_sensor=outdoor)
    return ms.simulate(
        house(), plant, listens, stretch("miami", 150, days), spin_up=0, faults=failing, step=step
    ).memory


def test_offsets_and_drift() -> None:
    true, off = heard(), heard(temperature_offset="-2 K", humidity_offset="4 %")
    assert off[0].to_numpy() == pytest.approx(true[0].to_numpy() - 2.0, abs=1e-12)
    assert off[1].to_numpy() == pytest.approx(true[1].to_numpy() + 4.0, abs=1e-12)
    assert (off[5] < true[5]).all(), "the dew point is that of what is heard"
    # 87.6 K a year is 0.01 K an hour; the last step of hour n ends half a minute after it is read.
    drift = (heard(temperature_drift=8.76, humidity_drift=0.0)[0] - true[0]).to_numpy()
    hours = np.arange(1, len(drift) + 1) - 0.5 / 60.0
    assert drift == pytest.approx(0.001 * hours, abs=1e-9)


def test_a_sensor_saturates() -> None:
    assert (heard(humidity_offset="50 %", humidity_drift=20.0)[1] <= 100.0).all()
    assert (heard(humidity_offset="-50 %", humidity_drift=-50.0)[1] >= 0.1).all()


def test_resolution_and_reports() -> None:
    rounded = heard(temperature_resolution="0.5 K", humidity_resolution="3 %")
    true = heard()
    for column, step in ((0, 0.5), (1, 3.0)):
        steps = rounded[column].to_numpy() / step
        assert steps == pytest.approx(np.round(steps), abs=1e-9)
        assert np.abs(rounded[column] - true[column]).max() <= 0.5 * step + 1e-9
    seldom = heard(report_every="10 min")
    assert seldom[3].iloc[-1] <= 6 * len(seldom) + 1, "no more changes than reports"
    assert seldom[3].iloc[-1] > 5 * len(seldom)
    assert seldom[4].max() == pytest.approx(9.0), "the age of the last message before the next"
    assert heard()[4].max() == 0.0


def test_noise_has_its_size_and_is_keyed_to_the_minute() -> None:
    days = 20
    true = heard(days)
    noise = heard(days, temperature_noise="0.3 K", humidity_noise="2 %") - true
    n = len(noise)
    for column, sigma in ((0, 0.3), (1, 2.0)):
        # Three standard errors of a mean and of a standard deviation of n draws.
        assert abs(noise[column].mean()) < 3.0 * sigma / np.sqrt(n)
        assert abs(noise[column].std() - sigma) < 3.0 * sigma / np.sqrt(2.0 * n)
    halved = heard(days, step="30 s", temperature_noise="0.3 K") - heard(days, step="30 s")
    assert halved[0].to_numpy() == pytest.approx(noise[0].to_numpy(), abs=1e-9)
    other = heard(days, temperature_noise="0.3 K", seed=2) - true
    assert not np.allclose(other[0], noise[0])


def test_a_sensor_in_the_return_duct_reads_what_the_blower_draws() -> None:
    """Return ducts that leak in a hot attic: warm while the blower runs, the room's air else."""

    @ms.strategy
    def blows(readings: Any, memory: Any, *, on: float = 1.0) -> Any:
        memory[0] = readings.temperature
        return ms.Calls(fan=on)

    leaky = house(ducts=ms.Ducts(location="attic", return_leakage=0.2))
    weather = stretch("miami", 150, 2)
    rooms = {}
    for on in (0.0, 1.0):
        plant = machines(sensor=ms.Sensor(place="return", temperature_lag=0.0))
        season = ms.simulate(leaky, plant, blows(on=on), weather, spin_up=0)
        rooms[on] = season.memory[0] - season.hourly["indoor_temperature_C"]
    # Within what the room itself moves in half an hour.
    assert rooms[0.0].abs().max() < 0.5
    afternoon = rooms[1.0].between_time("13:00", "15:00")
    assert afternoon.min() > 1.0


def test_an_outdoor_sensor_errs_like_any_other() -> None:
    true = heard()
    assert heard(outdoor_sensor=ms.Sensor(place="outdoors", temperature_lag=0.0))[6].to_numpy() == (
        pytest.approx(true[6].to_numpy(), abs=1e-9)
    )
    off = ms.Sensor(place="outdoors", temperature_lag=0.0, temperature_offset=3.0)
    assert heard(outdoor_sensor=off)[6].to_numpy() == pytest.approx(true[6] + 3.0, abs=1e-9)
    damp = ms.Sensor(place="outdoors", humidity_offset="10 %", temperature_lag=0.0)
    assert (heard(outdoor_sensor=damp)[7] > true[7]).all()


def test_the_place_must_fit() -> None:
    with pytest.raises(ms.InputError) as refusal:
        ms.Equipment(sensor=ms.Sensor(place="outdoors"))
    assert str(refusal.value) == (
        "Equipment.sensor: its place is 'outdoors'. Use place 'room' or 'return'."
    )
    with pytest.raises(ms.InputError, match="Use place 'outdoors'"):
        ms.Equipment(outdoor_sensor=ms.Sensor())


def test_messages_lost_late_and_a_frozen_sensor() -> None:
    true = heard()
    day = true.index[0].strftime("%m-%d")
    lost = heard(failing=[faults.LostLink(link="readings", start=f"{day} 06:00", lasts="3 h")])
    assert lost[4].iloc[-1] == pytest.approx(180.0)
    assert lost[0].iloc[7] == lost[0].iloc[6] == true[0].iloc[5]
    assert lost[0].iloc[10] == true[0].iloc[10]
    late = heard(failing=[faults.LateMessages(by="60 min")])
    assert late[0].to_numpy()[1:] == pytest.approx(true[0].to_numpy()[:-1], abs=1e-12)
    assert late[2].iloc[5] == pytest.approx(60.0)
    frozen = heard(failing=[faults.FrozenSensor(start=f"{day} 06:00")])
    assert (frozen[0].iloc[6:] == true[0].iloc[5]).all()
    assert (frozen[4] == 0.0).all(), "it reports on"
    half = heard(failing=[faults.LostMessages(probability=0.5)])
    # Of the 60 changes an hour about half are heard; five standard deviations of a binomial.
    n = 60 * len(half)
    assert abs(half[3].iloc[-1] - 0.5 * n) < 5.0 * np.sqrt(0.25 * n)


@ms.strategy
def by_the_clock(readings: Any, memory: Any, *, start: float = 10.0, end: float = 11.0) -> Any:
    """The compressor and the strips for an hour a day."""
    on = 1.0 if start <= readings.hour < end else 0.0
    memory[0] += on
    return ms.Calls(cooling=on, reheat=2.0 * on)


def minutes(failing: Any, *, hot: bool = False, strategy: Any = by_the_clock, **plant: Any) -> Any:
    """The first day, minute by minute."""
    cooling = ms.Cooling(stages=machines().cooling.stages, minimum_on=0.0, minimum_off=0.0,
                         frost_limit="-30 degC")  # fmt: skip
    season = ms.simulate(
        house(), machines(cooling=cooling, heating=None, **plant), strategy,
        stretch("miami", 190, 2), spin_up=0, faults=failing,
    )  # fmt: skip
    assert (season.balance["relative"].abs() <= 1e-9).all()
    return season.minutes(season.hourly.index[0].strftime("%m-%d"))


def on_from_to(values: pd.Series) -> tuple[str, str]:
    """First and last minute of the only span in which something is on."""
    on = values[values > 0.0]
    assert len(on) == (on.index[-1] - on.index[0]).total_seconds() / 60.0 + 1
    return f"{on.index[0]:%H:%M}", f"{on.index[-1]:%H:%M}"


def test_lost_calls_leave_the_relays_as_they_were() -> None:
    assert on_from_to(minutes(())["cooling_stage"]) == ("10:00", "10:59")
    lost = faults.LostLink(start="07-10 10:30", lasts="2 h")
    told = minutes([lost], relays=ms.Relays(repeat_every=0))
    on = told.index[told["cooling_stage"] > 0.0]
    assert on[0].hour == 10 and on[-1] == told.index[-1], (
        "the message that ended it never comes again"
    )
    repeated = minutes([lost])
    assert on_from_to(repeated["cooling_stage"]) == ("10:00", "12:29")
    dropping = ms.Relays(repeat_every="5 min", release_after="10 min")
    assert on_from_to(minutes([lost], relays=dropping)["cooling_stage"]) == ("10:00", "10:35")


def test_late_calls() -> None:
    late = minutes([faults.LateMessages(by="20 min", link="calls")])
    assert on_from_to(late["cooling_stage"]) == ("10:20", "11:19")


@pytest.mark.parametrize(
    ("relay", "position", "expected"),
    [
        ("compressor", "off", {"cooling_stage": 0.0, "reheat_stage": 0.0}),
        ("second stage", "on", {"cooling_stage": 2.0}),
        ("strips", "off", {"cooling_stage": 1.0, "reheat_stage": 0.0}),
        ("dehumidifier", "on", {"dehumidifier_h": 1.0 / 60.0}),
        ("blower", "on", {"indoor_fan_h": 1.0 / 60.0}),
    ],
)
def test_stuck_relays(relay: str, position: str, expected: dict[str, float]) -> None:
    told = minutes([faults.StuckRelay(relay=relay, position=position)])
    at = told.iloc[10 * 60 + 30]
    for column, value in expected.items():
        assert at[column] == pytest.approx(value)
    if relay == "second stage":
        assert told["cooling_stage"].iloc[60] == 0.0, "it runs with the first only"


def test_a_stuck_compressor_runs_all_day_and_strips_never_alone() -> None:
    told = minutes([faults.StuckRelay(relay="compressor")])
    assert (told["cooling_stage"] == 1.0).all()
    strips = minutes([faults.StuckRelay(relay="strips")])
    assert on_from_to(strips["reheat_stage"]) == ("10:00", "10:59"), "the machine refuses it alone"


def test_the_enable_cuts_what_it_is_said_to_cut() -> None:
    """It opens below 50 % RH; the second hour of strips in one day dries and heats the room."""
    for cuts, column in (
        (["strips"], "reheat_stage"), (["cooling"], "cooling_stage"),
        (["dehumidifier"], "dehumidifier_h"),
    ):  # fmt: skip
        enable = ms.Enable(on_above="60 %", off_below="58 %", cuts=cuts)
        sticks = [
            faults.StuckRelay(relay=relay) for relay in ("compressor", "strips", "dehumidifier")
        ]
        told = minutes(sticks, enable=enable)
        rh, on = told["sensed_rh_pct"], told[column] > 0.0
        # Sensed at the step's end; half a percent for what moves within a step.
        assert not (on & (rh.shift(1, fill_value=55.0) < 57.5)).iloc[30:].any(), cuts
        free = minutes(sticks)
        assert (free[column] > 0.0).sum() > on.sum(), cuts


def test_the_enable_hears_the_room_and_not_the_sensor() -> None:
    enable = ms.Enable(on_above="95 %", off_below="90 %", cuts=["strips"])
    wrong = minutes((), enable=enable, sensor=ms.Sensor(humidity_offset="50 %"))
    assert not wrong["reheat_stage"].any()
    assert wrong["cooling_stage"].any()


def test_bad_wires() -> None:
    for make, sentence in (
        (lambda: ms.Enable(on_above=50, off_below=50), ("Enable.off_below: 50 % is not below on_above. Use a value below 50 %.")),
        (lambda: ms.Enable(cuts=["fan"]), ("Enable.cuts: cannot use ['fan']. Use a list of "
                                          "'strips', 'hot gas', 'second stage', 'cooling', "
                                          "'dehumidifier', each once.")),
        (lambda: ms.Relays(release_after="5 min"), ("Relays.release_after: 300 s is too short for "
                                                   "repeat_every 300 s. Use a time longer than "
                                                   "repeat_every, and repeat_every above 0.")),
    ):  # fmt: skip
        with pytest.raises(ms.InputError) as refusal:
            make()
        assert str(refusal.value) == sentence


def test_bits_and_words_stand_in_one_order() -> None:
    bits = (
        wiring.CUT_STRIPS, wiring.CUT_HOT_GAS, wiring.CUT_SECOND, wiring.CUT_COOLING,
        wiring.CUT_DEHUMIDIFIER,
    )  # fmt: skip
    assert bits == tuple(1 << k for k in range(len(CUTS)))
    assert faults.RELAYS == (
        "compressor", "second stage", "strips", "heat", "dehumidifier", "blower"
    )  # fmt: skip
    assert wiring.STUCK_ON << len(faults.RELAYS) == wiring.STUCK_OFF
