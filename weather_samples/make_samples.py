"""Make the three sample weather files from the typical years that pvlib carries.

Run by hand, from anywhere, when the samples must be made again::

    python weather_samples/make_samples.py

The sources are typical meteorological years of the National Renewable Energy Laboratory (TMY2:
Miami; TMY3: Greensboro and Sand Point). They are works of the United States government, in the
public domain, and stand in the ``data`` folder of the installed pvlib. pvlib's own readers parse
them; this script only converts units, renames columns and sets the year.

Two things are easy to get wrong, and are therefore done here once, in the open:

* A TMY hour is labeled by its *end*: "hour 1" is midnight to one o'clock, and irradiance is the
  total of the 60 minutes before the label. ``read_tmy3`` keeps that label (24:00 becomes 00:00 of
  the next day); ``read_tmy2`` moves it to the *start* (hour 1 becomes 00:00), so an hour is added
  back here. All three samples are labeled by the end.
* A typical year is joined from months of several years, and some of those were leap years whose
  29 February was left out. All three samples carry the one year `YEAR`, which has no leap day; its
  weekdays (1 January is a Monday) have nothing to do with the weather. The last row, whose
  interval ends at midnight on 31 December, is stamped 1 January of the year after.
"""

from pathlib import Path

import pandas as pd
import pvlib

YEAR = 1990
HERE = Path(__file__).resolve().parent
DATA = Path(pvlib.__file__).resolve().parent / "data"
PASCAL_PER_MILLIBAR = 100
COLUMNS = ["temp_air", "temp_dew", "pressure", "wind_speed", "ghi", "dni", "dhi"]
DECIMALS = {"temp_air": 1, "temp_dew": 1, "wind_speed": 1}  # as issued; the rest are whole numbers


def from_tmy2(file_name: str) -> tuple[pd.DataFrame, dict]:
    """Read a TMY2 file: tenths of a degree and of a meter a second, millibar, labels at the start."""
    issued, meta = pvlib.iotools.read_tmy2(DATA / file_name)
    frame = pd.DataFrame(
        {
            "temp_air": issued["DryBulb"] / 10,
            "temp_dew": issued["DewPoint"] / 10,
            "pressure": issued["Pressure"] * PASCAL_PER_MILLIBAR,
            "wind_speed": issued["Wspd"] / 10,
            "ghi": issued["GHI"],
            "dni": issued["DNI"],
            "dhi": issued["DHI"],
        }
    )
    starts = frame.index.tz_localize(None).map(lambda stamp: stamp.replace(year=YEAR))
    frame.index = starts + pd.Timedelta(hours=1)
    return frame, meta


def from_tmy3(file_name: str) -> tuple[pd.DataFrame, dict]:
    """Read a TMY3 file: degrees, millibar, labels at the end."""
    issued, meta = pvlib.iotools.read_tmy3(DATA / file_name, coerce_year=YEAR, map_variables=True)
    frame = issued[COLUMNS].assign(pressure=issued["pressure"] * PASCAL_PER_MILLIBAR)
    frame.index = frame.index.tz_localize(None)
    return frame, meta


def write(name: str, station: str, source: str, frame: pd.DataFrame, meta: dict) -> None:
    """Write one sample: commented header, then the table."""
    expected = pd.date_range(f"{YEAR}-01-01 01:00", periods=8760, freq="h")
    if list(frame.index) != list(expected):
        raise ValueError(f"{name}: the hours are not those of one year labeled by the end")
    header = {
        "station": station,
        "latitude": f"{meta['latitude']:.4f}",
        "longitude": f"{meta['longitude']:.4f}",
        "elevation": f"{meta['altitude']:.0f}",
        "utc_offset": f"{meta['TZ']:g}",
        "label": "end",
        "kind": "typical",
        "source": source,
        "note": (
            f"typical year joined from months of several years, all stamped {YEAR}; "
            "time is local standard time; degC, Pa, m/s, W/m2"
        ),
    }
    table = frame[COLUMNS].copy()
    for column in COLUMNS:
        decimals = DECIMALS.get(column, 0)
        table[column] = [f"{value:.{decimals}f}" for value in table[column]]
    table.insert(0, "time", frame.index.strftime("%Y-%m-%dT%H:%M"))
    lines = [f"# {key}: {value}\n" for key, value in header.items()]
    text = "".join(lines) + table.to_csv(index=False, lineterminator="\n")
    (HERE / f"{name}.csv").write_text(text, encoding="utf-8", newline="\n")


def main() -> None:
    """Make all three."""
    tmy2 = "NREL TMY2, public domain, file {} as carried by pvlib"
    tmy3 = "NREL TMY3, public domain, file {} as carried by pvlib"
    write("miami", "Miami FL 12839", tmy2.format("12839.tm2"), *from_tmy2("12839.tm2"))
    write(
        "greensboro",
        "Greensboro NC 723170",
        tmy3.format("723170TYA.CSV"),
        *from_tmy3("723170TYA.CSV"),
    )
    write(
        "sand_point",
        "Sand Point AK 703165",
        tmy3.format("703165TY.csv"),
        *from_tmy3("703165TY.csv"),
    )


if __name__ == "__main__":
    main()
