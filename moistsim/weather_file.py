"""The text of a weather file: its header, its table, its time stamps; `Weather.read` makes more of
them."""

import csv
import io

import numpy as np
import pandas as pd

from moistsim.weather_checks import WeatherError


def read_header(file: str, lines: list[str]) -> dict[str, str]:
    header: dict[str, str] = {}
    for number, line in enumerate(lines, start=1):
        if not line.startswith("#"):
            break
        key, colon, value = line[1:].partition(":")
        key, value = key.strip(), value.strip()
        if not colon:
            continue  # a remark
        if key in header:
            raise WeatherError(f"{file} line {number}", key, "a second one", "each key once")
        header[key] = value
    for key in ("latitude", "longitude", "elevation", "utc_offset", "label"):
        if key not in header:
            raise WeatherError(file, key, "none", f"a line '# {key}: value' above the table")
    return header


def header_number(file: str, header: dict[str, str], key: str) -> float:
    try:
        return float(header[key])
    except ValueError:
        raise WeatherError(file, key, repr(header[key]), "a number") from None


def read_table(file: str, lines: list[str]) -> tuple[pd.DataFrame, int]:
    """The table as text, and the line number of its first row."""
    comments = next((i for i, line in enumerate(lines) if not line.startswith("#")), len(lines))
    table = lines[comments:]
    if not table:
        raise WeatherError(file, None, "no table", "a line of column names, then hourly rows")
    names = [name.strip() for name in table[0].split(",")]
    # pandas would fill a short row, and skip an empty one.
    for row, line in enumerate(table[1:]):
        if line.count(",") != len(names) - 1:
            fields = line.count(",") + 1 if line.strip() else 0
            raise WeatherError(
                f"{file} line {comments + 2 + row}",
                None,
                f"{fields} fields",
                f"{len(names)} fields, as in the line of column names",
            )
    if names.count("time") != 1:
        found = f"{names.count('time')} of them" if "time" in names else "none"
        raise WeatherError(file, "time", found, "one column 'time' of ISO time stamps")
    parsed = pd.read_csv(
        io.StringIO("\n".join(table)),
        dtype=str,
        keep_default_na=False,
        skipinitialspace=True,
        quoting=csv.QUOTE_NONE,
    )
    parsed.columns = pd.Index(names)  # as written: pandas renames a repeated name
    return parsed, comments + 2


def read_times(file: str, text: pd.Series, first_line: int) -> pd.DatetimeIndex:
    accepted = "an ISO time such as 1990-07-01T14:00, either all or none with an offset from UTC"
    try:
        times = pd.to_datetime(text, format="ISO8601", errors="coerce")
    except ValueError:
        raise WeatherError(
            file, "time", "stamps with different offsets from UTC", accepted
        ) from None
    bad = np.flatnonzero(times.isna())
    if bad.size:
        row = int(bad[0])
        raise WeatherError(
            f"{file} line {first_line + row}", "time", repr(text.iloc[row]), accepted
        )
    return pd.DatetimeIndex(times)
