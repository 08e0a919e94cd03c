"""Weather files: what is read, and planted defects, each refused in one sentence."""

from pathlib import Path

import pandas as pd
import pytest
from support.miami_frames import HOURLY, PRESSURE, TEMPERATURE, take

from moistsim import Weather, WeatherError
from moistsim.weather.file import sample_file


def lines_of_sample() -> list[str]:
    return sample_file("miami").read_text(encoding="utf-8").splitlines()


def write(path: Path, lines: list[str]) -> Path:
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def edit(number: int, old: str, new: str):  # type: ignore[no-untyped-def]
    def plant(lines: list[str]) -> list[str]:
        assert old in lines[number - 1]
        return [*lines[: number - 1], lines[number - 1].replace(old, new), *lines[number:]]

    return plant


FILE_DEFECTS = {
    "value": (
        edit(13, "101600", "1016"),
        f"w.csv line 13 (1990-01-01T03:00), column pressure: cannot use 1016. Use {PRESSURE}.",
    ),
    "text": (
        edit(13, "20.0", "warm"),
        f"w.csv line 13 (1990-01-01T03:00), column temp_air: cannot use 'warm'. Use {TEMPERATURE}.",
    ),
    "empty cell": (
        edit(13, "20.0", ""),
        f"w.csv line 13 (1990-01-01T03:00), column temp_air: cannot use ''. Use {TEMPERATURE}.",
    ),
    "lost line": (
        lambda lines: [*lines[:100], *lines[101:]],
        (
            f"w.csv line 101 (1990-01-04T20:00), column time: 2 h since the row before. Use {HOURLY}."
        ),
    ),
    "empty line": (
        lambda lines: [*lines[:100], "", *lines[100:]],
        "w.csv line 101: 0 fields. Use 8 fields, as in the line of column names.",
    ),
    "long line": (
        edit(31, ",", ",,"),
        "w.csv line 31: 15 fields. Use 8 fields, as in the line of column names.",
    ),
    "24:00": (
        edit(34, "1990-01-02T00:00", "1990-01-01T24:00"),
        (
            "w.csv line 34, column time: cannot use '1990-01-01T24:00'. Use an ISO time such as "
            "1990-07-01T14:00, either all or none with an offset from UTC."
        ),
    ),
    "no time column": (
        edit(10, "time", "date"),
        "w.csv, column time: missing. Use one column 'time' of ISO time stamps.",
    ),
    "no label": (
        lambda lines: [line for line in lines if "label" not in line],
        "w.csv, label: missing. Use a line '# label: value' above the table.",
    ),
    "offset in words": (
        edit(5, "-5", "Eastern"),
        "w.csv, utc_offset: cannot use 'Eastern'. Use a number.",
    ),
    "key twice": (
        lambda lines: ["# label: start", *lines],
        "w.csv line 7, label: a second one. Use each key once.",
    ),
    "no table": (
        lambda lines: lines[:9],
        "w.csv: no table. Use a line of column names, then hourly rows.",
    ),
}


@pytest.mark.parametrize("defect", FILE_DEFECTS)
def test_planted_defects_in_a_file(tmp_path: Path, defect: str) -> None:
    plant, sentence = FILE_DEFECTS[defect]
    path = write(tmp_path / "w.csv", plant(lines_of_sample()[:400]))
    with pytest.raises(WeatherError) as caught:
        Weather.read(path)
    assert str(caught.value) == sentence


def test_a_file_that_is_none(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match="no such file. Use the path of a weather"):
        Weather.read(tmp_path / "nowhere.csv")
    (tmp_path / "bytes.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(WeatherError, match=r"^bytes\.csv: a file that is not text"):
        Weather.read(tmp_path / "bytes.csv")


def test_a_file_in_utc_or_with_a_byte_order_mark(tmp_path: Path) -> None:
    lines = lines_of_sample()[:400]
    plain = Weather.read(write(tmp_path / "plain.csv", lines))
    assert (plain.name, plain.label) == ("Miami FL 12839", "end")
    zoned = [*lines[:10], *(line.replace(",", "-05:00,", 1) for line in lines[10:])]
    assert Weather.read(write(tmp_path / "zoned.csv", zoned)) == plain
    marked = ["\ufeff" + lines[0], *lines[1:]]
    assert Weather.read(write(tmp_path / "marked.csv", marked)) == plain


def test_a_written_file_is_read_back_bit_for_bit(july: pd.DataFrame, tmp_path: Path) -> None:
    odd = july.assign(
        relative_humidity=40.0 + july["temp_air"] + 1.0 / 3.0,
        temp_air=july["temp_air"] + 1.0 / 7.0,
    ).drop(columns="temp_dew")
    made = take(odd, name="Odd\nplace", kind="actual", source="invented")
    made.write(tmp_path / "odd.csv")
    back = Weather.read(tmp_path / "odd.csv")
    pd.testing.assert_frame_equal(back.frame, made.frame, check_exact=True, check_freq=False)
    assert back == Weather.read(tmp_path / "odd.csv") and back.checksum == made.checksum
    assert (back.name, back.kind, back.label, back.source, back.notes) == (
        "Odd place", "actual", "end", "invented", made.notes,
    )  # fmt: skip
