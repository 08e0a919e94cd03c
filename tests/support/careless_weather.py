"""Weather files as a logger, a converter or a careless user leaves them, in three formats."""

from functools import lru_cache
from pathlib import Path
from typing import Any

import pandas as pd
import pvlib
from hypothesis import strategies as st
from support.careless_files import encoded
from support.damaged import STRAYS, damaged
from support.weathers import sample

COLUMNS = ("temp_air", "temp_dew", "pressure", "wind_speed", "ghi", "dni", "dhi")
FACTORS = (
    0.1,
    10.0,
    0.01,
    100.0,
    1000.0,
    3.6,
    1 / 3.6,
    1.8,
    -1.0,
    0.0,
    3.6e6,
    2.237,
    0.51444,
    33.8639,
)
"""Factors between the units that such files come in: kPa, hPa, km/h, mph, knots, Wh, kJ, tenths."""
CELLS = (
    "",
    " ",
    "nan",
    "NaN",
    "inf",
    "-999",
    "9999",
    "99.9",
    "-9900",
    "1e400",
    "24,5",
    "24.5;",
    "x",
    "--",
    "1990",
    "٣",
    '"24.5"',
    "0x10",
    "1_0",
)
EPW_HEAD = """\
LOCATION,Miami,FL,USA,invented,722020,25.8,-80.2667,-5,2
DESIGN CONDITIONS,0
TYPICAL/EXTREME PERIODS,0
GROUND TEMPERATURES,0
HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0
COMMENTS 1,Invented for a test
COMMENTS 2,
DATA PERIODS,1,1,Data,Sunday,10/20,10/25
"""
HEADS = {
    "latitude": ("25.8", "-25.8", "258", "91", "25,8", "25.8 N", "", "nan", "-80.27"),
    "longitude": ("-80.27", "80.27", "-8027", "0", "181", "inf"),
    "utc_offset": ("-5", "5", "-4", "0", "-5:00", "15", "EST", "-5.5"),
    "elevation": ("2", "2 m", "6 ft", "1500", "-500", "9000", "sea"),
    "label": ("start", "middle", "end", "begin", "", "START"),
    "kind": ("typical", "real", ""),
}  # fmt: skip
"""Lines of the head of our own format, right and wrong."""


@lru_cache(maxsize=1)
def begin() -> dict[str, str]:
    """Six days of Miami in our own format and as EPW, and a year of TMY3."""
    whole = sample("miami")
    rows = whole.frame.loc["1990-10-20":"1990-10-25"]  # type: ignore[misc]
    ends = rows.index + pd.Timedelta(hours=1)
    own = [
        "# station: Miami",
        f"# latitude: {whole.latitude}",
        f"# longitude: {whole.longitude}",
        f"# elevation: {whole.elevation}",
        f"# utc_offset: {whole.utc_offset}",
        "# label: end",
        "# kind: typical",
        "time," + ",".join(COLUMNS),
    ]
    epw = EPW_HEAD.splitlines()
    for start, end, (_, row) in zip(rows.index, ends, rows.iterrows(), strict=True):
        own.append(f"{end:%Y-%m-%dT%H:%M}," + ",".join(f"{row[name]:g}" for name in COLUMNS))
        epw.append(
            f"{start.year},{start.month},{start.day},{start.hour + 1},60,?9?9,{row.temp_air:g},{row.temp_dew:g},50,"
            f"{row.pressure:.0f},0,0,300,{row.ghi:.0f},{row.dni:.0f},{row.dhi:.0f},999999,999999,999999,9999,180,"
            f"{row.wind_speed:g},5,5,9999,99999,9,999999999,999,0.999,999,99,0.2,0,1"
        )
    tmy3 = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    return {
        "csv": "\n".join(own) + "\n",
        "epw": "\n".join(epw) + "\n",
        "tmy3": tmy3.read_text(encoding="utf-8"),
    }


@st.composite
def careless_weather(draw: st.DrawFn) -> tuple[str, bytes]:
    """The format of a weather file, and its bytes after one or two slips."""
    # A year takes long to read.
    name = draw(st.sampled_from(["csv"] * 6 + ["epw"] * 5 + ["tmy3"]))
    lines = begin()[name].splitlines()
    for _ in range(draw(st.sampled_from([1, 1, 1, 2]))):
        draw(slip(lines, name))
    text = "\n".join(lines) + "\n"
    return name, draw(encoded(text))


@st.composite
def slip(draw: st.DrawFn, lines: list[str], name: str) -> None:
    """One slip in the lines of a weather file, which are changed."""
    head = {"csv": 8, "epw": 8, "tmy3": 2}[name]
    if len(lines) <= head + 2:
        return
    k = draw(st.integers(head, len(lines) - 1))
    how = draw(st.integers(0, 17))
    if how == 0:
        del lines[k : k + draw(st.sampled_from([1, 2, 24]))]
    elif how == 1:
        lines.insert(k, lines[k])
    elif how == 2:
        other = draw(st.integers(head, len(lines) - 1))
        lines[k], lines[other] = lines[other], lines[k]
    elif how == 3:
        lines[k] = lines[k][: draw(st.integers(0, len(lines[k])))]
    elif how == 4:
        lines[k] += draw(st.sampled_from([",", ",1", ";", " ", ",,,,"]))
    elif how == 5:
        lines[k] = draw(
            st.sampled_from(
                ["", " ", "# remark", "time", ",".join(["0"] * 35), "\x00", "total,1,2"]
            )
        )
    elif how <= 8:
        _column(draw, lines, head, name)
    elif how == 9:
        at = draw(st.sampled_from([*range(head)]))
        lines[at] = draw(damaged(lines[at]))
    elif how == 10:
        at = draw(st.sampled_from([*range(head)]))
        del lines[at]
    elif how == 11:
        mark = draw(st.sampled_from([";", "\t", " ", "|"]))
        lines[:] = [line.replace(",", mark) for line in lines]
    elif how == 12:
        lines[head:] = [",".join(f'"{cell}"' for cell in line.split(",")) for line in lines[head:]]
    elif how == 13 and name == "csv":
        key = draw(st.sampled_from([*HEADS]))
        word = draw(st.sampled_from(HEADS[key]))
        lines[:] = [f"# {key}: {word}" if line.startswith(f"# {key}:") else line for line in lines]
    elif how == 14:
        del lines[draw(st.integers(head, len(lines) - 1)) :]
    elif how == 15:
        at = draw(st.integers(0, len(lines[k])))
        lines[k] = lines[k][:at] + draw(st.sampled_from(STRAYS)) + lines[k][at:]
    else:
        cells = lines[k].split(",")
        at = draw(st.integers(0, len(cells) - 1))
        cells[at] = draw(st.sampled_from([*CELLS, cells[at] + "0", "-" + cells[at]]))
        lines[k] = ",".join(cells)


def _column(draw: Any, lines: list[str], head: int, name: str) -> None:
    """A column in another unit, swapped with another one, misnamed, moved or missing."""
    wide = lines[-1].count(",") + 1
    first = {"csv": 0, "epw": 5, "tmy3": 0}[name]
    a, b = (draw(st.integers(first, wide - 1)) for _ in range(2))
    how = draw(st.integers(0, 6))
    factor, plus = (
        draw(st.sampled_from(FACTORS)),
        draw(st.sampled_from([0.0, 0.0, 32.0, 273.15, -40.0])),
    )
    for k in range(head - (name == "csv"), len(lines)):
        cells = lines[k].split(",")
        if max(a, b) >= len(cells):
            continue
        if how <= 2 and k >= head:
            try:
                cells[a] = f"{float(cells[a]) * factor + plus:g}"
            except ValueError:
                continue
        elif how == 3 or how == 4 and k >= head:
            cells[a], cells[b] = cells[b], cells[a]
        elif how == 5:
            del cells[a]
        elif how == 6 and k < head:
            cells[a] = draw(
                st.sampled_from(
                    ["zzz", "", cells[b], cells[a].upper(), "relative_humidity", "temp_wet"]
                )
            )
        lines[k] = ",".join(cells)
