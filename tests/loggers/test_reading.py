"""Reading a log: columns, units, time stamps, gaps."""

import gzip
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from support import house_logs

import moistsim as ms

HALL = {"time": "when", "indoor_temperature.hall": "T", "indoor_rh.hall": "RH"}
UNITS = {"indoor_temperature": "degC", "indoor_rh": "%"}


def rows(stamps: pd.DatetimeIndex | list[str]) -> pd.DataFrame:
    count = len(stamps)
    return pd.DataFrame(
        {"when": stamps, "T": np.linspace(20.0, 22.0, count), "RH": np.linspace(50.0, 60.0, count)}
    )


def read(frame: pd.DataFrame, columns: dict[str, str] = HALL, **changes: object) -> ms.HouseLog:
    given = {
        "units": UNITS,
        "latitude": 30.0,
        "longitude": -90.0,
        "elevation": 0.0,
        "label": "start",
    }
    zone = {} if "timezone" in changes else {"utc_offset": -6}
    return ms.HouseLog.read(frame, columns, **{**given, **zone, **changes})


def refusal(*arguments: object, **changes: object) -> str:
    with pytest.raises(ms.InputError) as caught:
        read(*arguments, **changes)
    assert len(str(caught.value)) < 300
    return str(caught.value)


def every(minutes: float, count: int = 288, start: str = "2025-06-01 00:00") -> pd.DatetimeIndex:
    return pd.date_range(start, periods=count, freq=f"{60 * minutes:g}s")


# ------------------------------------------------------------------ units and files


def test_a_file_and_a_zipped_file_give_the_same_log(tmp_path: Path) -> None:
    text = house_logs.table(3).to_csv(index=False)
    plain, zipped = tmp_path / "log.csv", tmp_path / "log.csv.gz"
    plain.write_text(text)
    zipped.write_bytes(gzip.compress(text.encode()))
    one, other = (house_logs.read(path) for path in (plain, zipped))
    pd.testing.assert_frame_equal(one.frame, other.frame)
    assert one.frame["outdoor_temperature"].between(0.0, 35.0).all()
    assert one.frame["pressure"].between(96e3, 100e3).all()


def test_units_become_si() -> None:
    columns = {
        "time": "when", "indoor_temperature.a": "F", "indoor_rh.a": "part", "pressure": "mmHg",
        "wind_speed": "mph", "energy": "kWh", "condensate": "pints", "power.compressor": "kW",
        "cloud_cover": "eighths", "visibility": "mi",
    }  # fmt: skip
    units = {
        "indoor_temperature": "degF", "indoor_rh": "fraction", "pressure": "mmHg", "wind_speed": "mph",
        "energy": "kWh", "condensate": "pint", "power": "kW", "cloud_cover": "oktas", "visibility": "mile",
    }  # fmt: skip
    values = dict(
        zip(columns.values(), [None, 77.0, 0.5, 750.0, 10.0, 1.5, 2.0, 2.4, 4, 10], strict=True)
    )
    frame = pd.DataFrame({**values, "when": every(15)})
    first = read(frame, columns, units=units).frame.iloc[0]
    # NIST SP 811, from memory: 1 mmHg is 133.3224 Pa, 1 mph 0.44704 m/s, 1 mile 1609.344 m. A pint
    # (0.473176 L) of water at 998.2 g/L is 0.47232 kg.
    expected = {
        "indoor_temperature.a": 25.0, "indoor_rh.a": 50.0, "pressure": 99991.8, "wind_speed": 4.4704,
        "energy": 1500.0, "condensate": 2 * 0.472325, "power.compressor": 2400.0, "cloud_cover": 0.5,
        "visibility": 16093.44,
    }  # fmt: skip
    for name, value in expected.items():
        assert first[name] == pytest.approx(value, rel=1e-5), name


def test_amperes_become_watts_with_what_was_stated() -> None:
    frame = rows(every(10)).assign(A=10.0)
    columns = {**HALL, "current.compressor": "A"}
    units = {**UNITS, "current": "A"}
    stated = {"volts": {"compressor": "240 V"}, "power_factor": {"compressor": 0.9}}
    log = read(frame, columns, units=units, **stated)
    assert log.frame["power.compressor"].iloc[0] == pytest.approx(2160.0)
    assert "power.compressor from amperes at 240 V and a power factor of 0.9" in log.notes
    assert "State volts={'compressor': 240} and power_factor=" in refusal(
        frame, columns, units=units
    )
    wrong = {"volts": {"strips": 240}, "power_factor": {}}
    assert "no column 'current.strips'" in refusal(frame, columns, units=units, **wrong)


def test_the_house_is_the_unweighted_mean_of_its_rooms() -> None:
    log = house_logs.read(house_logs.table(3), rooms=["kitchen", "hall"])
    mean = log.humidity_ratios[["kitchen", "hall"]].mean(axis=1)
    np.testing.assert_allclose(log.indoor_humidity_ratio, mean)
    both = log.frame[["indoor_temperature.kitchen", "indoor_temperature.hall"]].mean(axis=1)
    np.testing.assert_allclose(log.indoor_temperature, both)
    other = log.with_rooms(["study"])
    assert other.rooms == ("study",)
    np.testing.assert_allclose(other.indoor_humidity_ratio, log.humidity_ratios["study"])


def test_humidity_ratio_at_the_logged_pressure() -> None:
    """ASHRAE Handbook, Fundamentals, ch. 1 (from memory): saturated air at 25 degC has 20.17 g/kg.

    The table's air is a real gas, which holds 0.45 percent more than ideal gas, as ours.
    """
    frame = rows(every(10)).assign(T=25.0, RH=100.0, p=1013.25)
    columns, units = {**HALL, "pressure": "p"}, {**UNITS, "pressure": "hPa"}
    log = read(frame, columns, units=units)
    assert 1000 * log.indoor_humidity_ratio.iloc[0] == pytest.approx(20.17 / 1.0045, abs=0.02)
    at_altitude = read(frame.assign(p=850.0), columns, units=units)
    assert 1000 * at_altitude.indoor_humidity_ratio.iloc[0] == pytest.approx(
        20.08 * (1013.25 - 31.7) / (850.0 - 31.7), abs=0.02
    )


BAD = {
    "unit missing": (rows(every(10)), {"units": {"indoor_rh": "%"}}, "State it, such as units={'indoor_temperature': 'degF'}"),
    "unit of another kind": (rows(every(10)), {"units": {**UNITS, "indoor_rh": "kg"}}, "cannot read 'kg' as the unit of indoor_rh"),
    "percent that is a fraction": (rows(every(10)).assign(RH=0.5), {}, "the unit 'fraction'"),
    "°F called degC": (rows(every(10)).assign(T=75.0), {}, "indoor_temperature.hall of 75 degC"),
    "text": (rows(every(10)).assign(T=["?"] * 288), {}, "cannot read '?' as a number"),
    "no such column": (rows(every(10)).drop(columns="RH"), {}, "no column 'RH' for indoor_rh.hall"),
    "empty": (rows(every(10)).iloc[:0], {}, "no rows"),
    "rooms": (rows(every(10)), {"rooms": ["attic"]}, "no humidity in room 'attic'"),
    "place": (rows(every(10)), {"latitude": "30 N"}, "latitude: cannot use '30 N'. Use a value from -90 to 90 degrees"),
    "code for missing": (rows(every(10)).assign(T=-999.0), {}, "missing=[...]"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_a_column_that_cannot_be_used_is_one_sentence(case: str) -> None:
    frame, changes, text = BAD[case]
    assert text in refusal(frame, **changes)


def test_unknown_names_of_columns() -> None:
    frame = rows(every(10))
    assert "Did you mean 'indoor_rh'" in refusal(frame, {"time": "when", "indor_rh.hall": "RH"})
    assert "'indoor_rh.kitchen'" in refusal(frame, {"time": "when", "indoor_rh": "RH"})
    assert "no column for 'time'" in refusal(frame, {"indoor_rh.hall": "RH"})


def test_codes_for_missing_values() -> None:
    frame = rows(every(10))
    frame.loc[5, "RH"] = -999.0
    log = read(frame, missing=[-999])
    assert np.isnan(log.frame["indoor_rh.hall"].iloc[5])
    assert log.frame["indoor_rh.hall"].notna().sum() == 287


# ------------------------------------------------------------------ time stamps


@pytest.mark.parametrize("minutes", [1, 5, 6, 10, 15, 20, 30, 60])
def test_steps(minutes: int) -> None:
    log = read(rows(every(minutes, 200)))
    assert log.step == 60.0 * minutes
    assert len(log) == 200 and log.notes[0].startswith("pressure was not logged")


@pytest.mark.parametrize("minutes", [7.5, 25, 90])
def test_steps_that_do_not_fill_an_hour_are_refused(minutes: float) -> None:
    assert "equal steps of 1 to 60 min" in refusal(rows(every(minutes)))


def test_labels() -> None:
    stamps = every(10)
    shift = pd.Timedelta(minutes=10)
    start = read(rows(stamps))
    for label, moved in (("end", shift), ("middle", shift / 2)):
        other = read(rows(stamps + moved), label=label)
        pd.testing.assert_frame_equal(other.frame, start.frame)


def test_stamps_off_the_clock_move_to_it_and_it_is_said() -> None:
    draw = np.random.default_rng(1)
    jitter = pd.to_timedelta(draw.uniform(-4.0, 4.0, 288), unit="s")
    log = read(rows(every(10, start="2025-06-01 17:03:20") + jitter))
    assert log.frame.index[0] == pd.Timestamp("2025-06-01 17:00") and len(log) == 288
    assert log.frame.notna().all().all()
    assert (
        "3.3" in log.notes[0] and "after whole steps of 10 min, and moved to them" in log.notes[0]
    )
    assert "time stamps vary by up to" in log.notes[1]


def test_a_clock_that_runs_slow_loses_no_row_in_silence() -> None:
    stamps = pd.date_range("2025-06-01", periods=4000, freq="600500ms")
    log = read(rows(stamps))
    # 4000 rows of 600.5 s are 4003 intervals of 10 min: three of them are empty, humidity unfilled.
    assert len(log) == 4003
    assert int(log.frame["indoor_rh.hall"].isna().sum()) == 3


def test_irregular_rows_are_refused_and_sparse_ones_are_gaps() -> None:
    draw = np.random.default_rng(2)
    uneven = every(10)[0] + pd.to_timedelta(np.cumsum(draw.uniform(2.0, 18.0, 288)), unit="min")
    assert "the usual step is" in refusal(rows(pd.DatetimeIndex(uneven)))
    kept = np.sort(draw.choice(288, 260, replace=False))
    log = read(rows(every(10)).iloc[kept])
    assert len(log) == kept[-1] - kept[0] + 1
    assert int(log.frame["indoor_rh.hall"].notna().sum()) == 260


def test_order() -> None:
    frame = rows(every(10))
    turned = read(frame.iloc[::-1])
    pd.testing.assert_frame_equal(turned.frame, read(frame).frame)
    assert "newest first" in turned.notes[0]
    twice = pd.concat([frame.iloc[:50], frame.iloc[49:]])
    assert "the same time as the row before" in refusal(twice)


def test_formats() -> None:
    frame = rows(every(10))
    american = frame.assign(when=frame["when"].dt.strftime("%m/%d/%Y %H:%M"))
    assert "cannot read '06/01/2025 00:00' as a time" in refusal(american)
    log = read(american, time_format="%m/%d/%Y %H:%M")
    pd.testing.assert_index_equal(log.frame.index, read(frame).frame.index)
    with_offset = frame.assign(when=frame["when"].dt.strftime("%Y-%m-%dT%H:%M:00-05:00"))
    assert read(with_offset).frame.index[0] == pd.Timestamp("2025-05-31 23:00")


CHICAGO = {"timezone": "America/Chicago"}


def civil(start: str, count: int, minutes: int) -> pd.DatetimeIndex:
    """What a clock on the wall shows while time goes on."""
    true = pd.date_range(start, periods=count, freq=f"{minutes}min", tz="UTC")
    return true.tz_convert("America/Chicago").tz_localize(None)


@pytest.mark.parametrize("minutes", [10, 60])
@pytest.mark.parametrize("start", ["2025-03-08 12:00", "2025-11-01 12:00", "2025-07-01 12:00"])
def test_civil_time_is_read_right_over_a_change_of_the_clocks(start: str, minutes: int) -> None:
    count = 40 * 60 // minutes
    shown = civil(start, count, minutes)
    log = read(rows(shown), **CHICAGO)
    true = pd.date_range(start, periods=count, freq=f"{minutes}min") - pd.Timedelta(hours=6)
    assert log.utc_offset == -6.0
    pd.testing.assert_index_equal(log.frame.index, true, check_names=False, exact=False)
    assert log.frame["indoor_rh.hall"].notna().all()


def test_civil_time_that_the_rows_do_not_tell_is_refused() -> None:
    # A logger on standard time has one o'clock once in November, and two o'clock in March.
    assert "occurs twice in America/Chicago" in refusal(
        rows(every(10, 400, "2025-11-01")), **CHICAGO
    )
    assert "no clock in America/Chicago shows" in refusal(
        rows(every(10, 400, "2025-03-08")), **CHICAGO
    )
    assert "no timezone and no utc_offset" in refusal(rows(every(10)), utc_offset=None)
    assert "both timezone and utc_offset" in refusal(rows(every(10)), utc_offset=-6, **CHICAGO)
    assert "'America/Chicago'" in refusal(rows(every(10)), timezone="Central")


# ------------------------------------------------------------------ gaps


def test_short_gaps_are_filled_and_told_and_humidity_is_not() -> None:
    whole = house_logs.table(3)
    log = house_logs.read(whole.drop(index=range(100, 106)))
    for name in ("indoor_temperature.hall", "outdoor_temperature", "outdoor_rh", "pressure"):
        line = np.linspace(log.frame[name].iloc[99], log.frame[name].iloc[106], 8)
        np.testing.assert_allclose(log.frame[name].iloc[99:107], line)
    assert log.frame["indoor_rh.hall"].isna().sum() == 6
    assert log.indoor_humidity_ratio.isna().sum() == 6
    told = [note for note in log.notes if note.startswith("gap")]
    assert told == [
        "gap of 60 min from 1990-05-01 16:40: all outdoor columns and indoor temperatures interpolated"
    ]


def test_long_gaps_are_refused_with_the_longest_part_without_one() -> None:
    log = house_logs.read(house_logs.table(3).drop(index=range(100, 110)))
    assert log.frame["outdoor_temperature"].isna().sum() == 10
    for ask in (lambda: log.weather, lambda: log.indoor_temperature):
        with pytest.raises(ms.InputError, match="missing for 100 min") as caught:
            ask()
        assert "log row 1990-05-01 16:40" in str(caught.value)
        assert "log.between('1990-05-01 18:20', '1990-05-03 22:50')" in str(caught.value)
    later = log.between("1990-05-01 18:20", "1990-05-03 22:50")
    assert later.weather.kind == "actual" and later.indoor_temperature.notna().all()
    wider = house_logs.read(house_logs.table(3).drop(index=range(100, 110)), gaps="2 h")
    assert wider.weather.kind == "actual"


def test_parts_of_a_log() -> None:
    log = house_logs.read(house_logs.table(3))
    day = log.between("1990-05-02", "1990-05-02")
    assert len(day) == 144 and day.frame.index[0] == pd.Timestamp("1990-05-02")
    first, last = log.split(0.7)
    assert len(first) == round(0.7 * len(log))
    pd.testing.assert_frame_equal(pd.concat([first.frame, last.frame]), log.frame, check_freq=False)
    for wrong in (lambda: log.between("1991-01-01", "1991-02-01"), lambda: log.split(1.0)):
        with pytest.raises(ms.InputError):
            wrong()
