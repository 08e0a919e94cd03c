"""Weather files: reading, writing, and the sample files.

Our own format is plain text: header lines ``# key: value``, then a table. `Weather.read` documents
its keys and columns.
"""

import csv
import io
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from moistsim.core.errors import Problem
from moistsim.core.files import write_whole
from moistsim.weather.checks import WeatherError
from moistsim.weather.clock import BEFORE_LABEL, hours_of
from moistsim.weather.epw_and_tmy3 import reader_of

_NUMBERS = ("latitude", "longitude", "elevation", "utc_offset")


def read_weather_file(path: Path) -> tuple[pd.DataFrame, Callable[[int], str], dict[str, Any]]:
    """Return hours by their stamps, a function that names a row, and the header as `Weather`'s fields."""
    text = _text(path)
    reader = reader_of(text)
    if reader is not None:
        return reader(text, path.name)
    lines = text.splitlines()
    header = _header(path.name, lines)
    table, first_line = _table(path.name, lines)
    times = _times(path.name, table["time"], first_line)

    def where(row: int) -> str:
        return f"{path.name} line {first_line + row} ({table['time'].iloc[row]})"

    fields = {
        **{key: _number(path.name, header, key) for key in _NUMBERS},
        "label": header["label"],
        "name": header.get("station", path.stem),
        "source": header.get("source", ""),
        "kind": header.get("kind", ""),
        "notes": tuple(text for key, text in header.items() if key.startswith("note")),
    }
    return table.drop(columns="time").set_index(times), where, fields


def write_weather_file(path: Path, frame: pd.DataFrame, fields: Mapping[str, Any]) -> None:
    """Write a file that `read_weather_file` reads back bit for bit; `fields` are those of `Weather`."""
    notes = enumerate(fields["notes"], 1)
    header = {
        "station": fields["name"],
        **{key: repr(fields[key]) for key in _NUMBERS},
        **{key: fields[key] for key in ("label", "kind", "source")},
        **{f"note {k}" if k > 1 else "note": note for k, note in notes},
    }
    table = frame.drop(columns="humidity_ratio")
    stamps = hours_of(table) + BEFORE_LABEL[fields["label"]]
    table.insert(0, "time", stamps.strftime("%Y-%m-%dT%H:%M:%S"))
    lines = [f"# {key}: {' '.join(value.split())}\n" for key, value in header.items() if value]
    text = "".join(lines) + table.to_csv(index=False, lineterminator="\n")
    write_whole(path, text.encode())


def _text(path: Path) -> str:
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        raise WeatherError(
            str(path), None, Problem("no such file"), "the path of a weather file"
        ) from None
    except IsADirectoryError:
        raise WeatherError(
            str(path), None, Problem("a folder"), "the path of a weather file"
        ) from None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # Names of stations are often in an older encoding. All other fields are ASCII.
        text = content.decode("latin-1")
        if reader_of(text) is None:
            raise WeatherError(
                path.name, None, Problem(f"a file that is not text ({error})"), "UTF-8 text"
            ) from None
        return text


def sample_file(name: str) -> Path:
    """Return the file of a sample year that comes with the package."""
    package = Path(__file__).resolve().parents[1]
    # The samples are inside the package in a wheel, and next to it in a checkout.
    for folder in (package / "weather_samples", package.parent / "weather_samples"):
        files = {path.stem: path for path in sorted(folder.glob("*.csv"))}
        if files:
            break
    if name not in files:
        raise WeatherError("weather samples", None, name, " or ".join(files) or "none")
    return files[name]


def _header(file: str, lines: list[str]) -> dict[str, str]:
    if not lines or not lines[0].startswith("#"):
        raise WeatherError(
            file, None, Problem("no header"),
            "an EPW or TMY3 file, or lines '# key: value' above a table of hours",
        )  # fmt: skip
    header: dict[str, str] = {}
    for number, line in enumerate(lines, start=1):
        if not line.startswith("#"):
            break
        key, colon, value = line[1:].partition(":")
        key, value = key.strip(), value.strip()
        if not colon:
            continue  # a remark
        if key in header:
            raise WeatherError(
                f"{file} line {number}", key, Problem("a second one"), "each key once"
            )
        header[key] = value
    lacking = [key for key in (*_NUMBERS, "label") if key not in header]
    if lacking:
        lines_of = ", ".join(f"'# {key}: value'" for key in lacking)
        told = "a line" if len(lacking) == 1 else "lines"
        raise WeatherError(
            file, ", ".join(lacking), Problem("missing"), f"{told} {lines_of} above the table"
        )
    return header


def _number(file: str, header: dict[str, str], key: str) -> float:
    try:
        return float(header[key])
    except ValueError:
        raise WeatherError(file, key, header[key], "a number") from None


def _table(file: str, lines: list[str]) -> tuple[pd.DataFrame, int]:
    """Return the table as text, and the line number of its first row."""
    comments = next((i for i, line in enumerate(lines) if not line.startswith("#")), len(lines))
    table = lines[comments:]
    if not table:
        raise WeatherError(
            file, None, Problem("no table"), "a line of column names, then hourly rows"
        )
    if "," not in table[0] and table[0].count(";") > 2:
        raise WeatherError(
            f"{file} line {comments + 1}", None, Problem("columns parted by semicolons"),
            "commas between the columns, and a point in decimal numbers",
        )  # fmt: skip
    # No column has a text with a comma, so quotes around a field mean nothing.
    table = [line.replace('"', "") for line in table]
    names = [name.strip() for name in table[0].split(",")]
    # pandas would fill a short row and skip an empty one.
    for row, line in enumerate(table[1:]):
        if line.count(",") != len(names) - 1:
            fields = line.count(",") + 1 if line.strip() else 0
            raise WeatherError(
                f"{file} line {comments + 2 + row}",
                None,
                Problem(f"{fields} fields"),
                f"{len(names)} fields, as in the line of column names",
            )
    if names.count("time") != 1:
        found = f"{names.count('time')} of them" if "time" in names else "missing"
        raise WeatherError(file, "time", Problem(found), "one column 'time' of ISO time stamps")
    parsed = pd.read_csv(
        io.StringIO("\n".join(table)),
        dtype=str,
        keep_default_na=False,
        skipinitialspace=True,
        quoting=csv.QUOTE_NONE,
    )
    parsed.columns = pd.Index(names)  # as written: pandas renames a repeated name
    return parsed, comments + 2


def _times(file: str, text: pd.Series, first_line: int) -> pd.DatetimeIndex:
    accepted = "an ISO time such as 1990-07-01T14:00, either all or none with an offset from UTC"
    try:
        times = pd.to_datetime(text, format="ISO8601", errors="coerce")
    except ValueError:
        raise WeatherError(
            file, "time", Problem("stamps with different offsets from UTC"), accepted
        ) from None
    bad = np.flatnonzero(times.isna())
    if bad.size:
        row = int(bad[0])
        raise WeatherError(f"{file} line {first_line + row}", "time", text.iloc[row], accepted)
    return pd.DatetimeIndex(times)
