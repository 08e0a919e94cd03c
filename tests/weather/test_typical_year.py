"""A typical year over the wire, against a local server that replays an answer of recorded shape.

The shape is that which pvlib's client parses (`pvlib.iotools.pvgis`): JSON with `inputs`,
`outputs` and `meta`, hours of UTC under the names of the service. The numbers are invented: the
Miami sample's climate at the whole hours, its sun moved to the instant that the answer states.
Where a field was not read from pvlib's code (`irradiance_time_offset` in JSON, the wording of the
refusals), it is from memory.
"""

import socket
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlparse

import numpy as np
import pandas as pd
import pvlib
import pytest
from support.local_server import says, served

import moistsim as ms
from moistsim.__main__ import main
from moistsim.scenario import DEMO, read_scenario
from moistsim.weather import asking, typical_year

LATITUDE, LONGITUDE = 25.8, -80.2667
YEARS = [2008, 2011, 2015, 2009, 2013, 2018, 2006, 2010, 2012, 2019, 2007, 2016]


def invented_answer(
    sun_after: float | None = 0.1667, longitude: float = LONGITUDE
) -> dict[str, Any]:
    """8760 hours of UTC, months of different years; a diurnal and a yearly wave, sun by pvlib."""
    stamps = pd.date_range("1990-01-01", periods=8760, freq="h", tz="UTC")
    sun_at = stamps + pd.Timedelta(hours=sun_after or 0.0)
    place = pvlib.location.Location(LATITUDE, longitude)
    zenith = place.get_solarposition(sun_at)
    ghi = 0.6 * pvlib.clearsky.haurwitz(zenith["apparent_zenith"])["ghi"].to_numpy()
    erbs = pvlib.irradiance.erbs(ghi, zenith["zenith"].to_numpy(), sun_at)
    parts = {name: np.asarray(values) for name, values in erbs.items()}
    solar_hour = (stamps.hour + longitude / 15.0) % 24.0
    year = -np.cos(2 * np.pi * (stamps.day_of_year - 20) / 365.0)
    dry = 23.0 + 4.0 * year + 4.0 * np.cos(2 * np.pi * (solar_hour - 15.0) / 24.0)
    rows = [
        {
            "time(UTC)": stamp.replace(year=YEARS[stamp.month - 1]).strftime("%Y%m%d:%H%M"),
            "T2m": round(float(dry[k]), 2),
            "RH": round(75.0 - 3.0 * (dry[k] - 23.0), 2),
            "G(h)": round(float(ghi[k]), 2),
            "Gb(n)": round(float(parts["dni"][k]), 2),
            "Gd(h)": round(float(parts["dhi"][k]), 2),
            "IR(h)": 390.0,
            "WS10m": 3.2,
            "WD10m": 110.0,
            "SP": 101500.0,
        }
        for k, stamp in enumerate(stamps)
    ]
    location = {"latitude": LATITUDE, "longitude": longitude, "elevation": 3.0}
    if sun_after is not None:
        location["irradiance_time_offset"] = sun_after
    return {
        "inputs": {
            "location": location,
            "meteo_data": {
                "radiation_db": "INVENTED-SUN", "meteo_db": "INVENTED-AIR", "year_min": 2005,
                "year_max": 2020, "use_horizon": True, "horizon_db": "DEM-calculated",
            },
        },
        "outputs": {
            "months_selected": [{"month": k + 1, "year": year} for k, year in enumerate(YEARS)],
            "tmy_hourly": rows,
        },
        "meta": {"inputs": {"location": {"description": "Selected location"}}, "outputs": {}},
    }  # fmt: skip


@pytest.fixture(scope="module")
def answer() -> dict[str, Any]:
    return invented_answer()


@pytest.fixture(scope="module")
def fetched(answer: dict[str, Any]) -> ms.Weather:
    with served(says(200, answer)) as (url, asked):
        weather = ms.fetch_typical_year(LATITUDE, LONGITUDE, url=url, timeout=10.0)
    query = parse_qs(urlparse(asked[0]).query)
    assert urlparse(asked[0]).path == "/api/tmy"
    assert (query["lat"], query["lon"]) == (["25.8"], ["-80.2667"])
    assert len(asked) == 1
    return weather


# ---------------------------------------------------------------------- what is made of an answer


def test_hours_of_utc_become_local_standard_time(
    fetched: ms.Weather, answer: dict[str, Any]
) -> None:
    """Miami's longitude is nearest to UTC-5: the reading of 17 h UTC is that of noon."""
    assert (fetched.utc_offset, fetched.elevation, fetched.kind) == (-5.0, 3.0, "typical")
    assert len(fetched) == 8760
    row = answer["outputs"]["tmy_hourly"][24 * 181 + 17]  # 1 July, 17:00 UTC
    assert row["time(UTC)"].endswith("0701:1700")
    # The reading is the middle of its hour, which begins half an hour before.
    noon = fetched.frame.loc["1990-07-01 11:30"]
    assert (noon["temp_air"], noon["ghi"]) == (row["T2m"], row["G(h)"])
    assert fetched.frame.index[0] == pd.Timestamp("1990-01-01 00:30")
    assert fetched.frame.index[-1] == pd.Timestamp("1990-12-31 23:30")
    # The evening of 31 December comes from the first hours of January, UTC.
    first = answer["outputs"]["tmy_hourly"][0]
    assert fetched.frame.loc["1990-12-31 18:30", "temp_air"] == first["T2m"]


def test_what_was_done_to_it_is_said(fetched: ms.Weather) -> None:
    assert fetched.notes == (
        (
            "UTC -5 h is taken as local standard time (the longitude's own, not a legal zone); rows "
            "mark the middle of their hour, their sun stands 10 min after the stamp"
        ),
        f"months of the years {', '.join(map(str, YEARS))}, all stamped 1990",
        "dew point from relative humidity and dry bulb",
    )
    assert fetched.source == (
        "PVGIS typical year, European Commission, from INVENTED-SUN and INVENTED-AIR, by pvlib's "
        "client"
    )
    assert "one typical year" in fetched.describe().name


def test_an_offset_of_half_an_hour_and_a_sun_at_half_past() -> None:
    """Nepal's neighbor India: UTC+5.5. A sun half an hour after the stamp makes rows hours' starts."""
    body = invented_answer(sun_after=0.5, longitude=82.5)
    with served(says(200, body)) as (url, _):
        weather = ms.fetch_typical_year(LATITUDE, 82.5, utc_offset=5.5, url=url, name="Somewhere")
    assert weather.label == "start" and weather.name == "Somewhere"
    assert weather.frame.index[0] == pd.Timestamp("1990-01-01 00:30")
    row = body["outputs"]["tmy_hourly"][24 * 100 + 6]  # 06:00 UTC is 11:30 there
    assert weather.frame.loc["1990-04-11 11:30", "temp_air"] == row["T2m"]
    assert "UTC +5.5 h is taken as local standard time (as asked for)" in weather.notes[0]


def test_an_answer_that_does_not_state_the_sun_s_instant() -> None:
    """It is then taken to be the stamp, and `Weather` holds that against the sun itself."""
    with served(says(200, invented_answer(sun_after=None))) as (url, _):
        weather = ms.fetch_typical_year(LATITUDE, LONGITUDE, url=url)
    assert weather.label == "middle"


def test_a_wrong_offset_moves_the_clock_and_not_the_sun(answer: dict[str, Any]) -> None:
    with served(says(200, answer)) as (url, _):
        far = ms.fetch_typical_year(LATITUDE, LONGITUDE, utc_offset=3.0, url=url)
    # Noon of the sun is then at about 20 h.
    mean = far.frame.groupby(far.frame.index.hour)["ghi"].mean()
    assert mean.idxmax() in (19, 20, 21)


def test_a_season_runs_on_it(fetched: ms.Weather) -> None:
    demo = read_scenario(DEMO).study
    machines, strategy = demo.options["Stand-alone dehumidifier"]
    season = ms.simulate(demo.house, machines, strategy, fetched, start="06-01", end="06-07")
    assert len(season.hourly) == 7 * 24 and season.meter.total_kwh > 0.0


# ---------------------------------------------------------------------- the command


@pytest.fixture
def at_home(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Put the local server in the service's place."""
    monkeypatch.setattr(asking, "sleep", lambda _: None)
    for name in ("http_proxy", "https_proxy", "HTTP_PROXY", "HTTPS_PROXY", "all_proxy"):
        monkeypatch.delenv(name, raising=False)
    return lambda url: monkeypatch.setattr(typical_year, "PVGIS", url)


def test_the_command_writes_a_file_that_is_read_back(
    answer: dict[str, Any], fetched: ms.Weather, at_home: Callable[[str], None], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    out = tmp_path / "place.csv"
    with served(says(200, answer)) as (url, _):
        at_home(url)
        assert main(["weather", "25.8", "-80.2667", "--out", str(out)]) == 0
    back = ms.Weather.read(out)
    pd.testing.assert_frame_equal(back.frame, fetched.frame, check_exact=True, check_freq=False)
    assert back == fetched and back.checksum == fetched.checksum
    assert (back.kind, back.notes, back.source) == ("typical", fetched.notes, fetched.source)
    shown = " ".join(capsys.readouterr().out.split())
    assert "25.8000, -80.2667, 8,760 hours, elevation 10 ft" in shown
    assert "UTC -5 h is taken as local standard time" in shown


def refused(*arguments: str, capsys: pytest.CaptureFixture[str]) -> str:
    """The one sentence of a command that fails."""
    assert main(["weather", *arguments]) == 2
    caught = capsys.readouterr()
    assert caught.out == "" and caught.err.count("\n") == 1
    return caught.err.strip()


REFUSALS = {
    "over sea": (
        says(
            400,
            {"message": "Location over the sea. Please, select another location", "status": 400},
        ),
        (
            "the service refuses (Location over the sea. Please, select another location). Use a "
            "place on land that the service covers."
        ),
    ),
    "broken": (
        says(503, "<html>down</html>"),
        "the service cannot answer now (HTTP 503), in 4 tries. Try again later.",
    ),
    "no JSON": (says(200, "<html>hello</html>"), "cannot read the answer ("),
    "another JSON": (says(200, {"outputs": {}}), "cannot read the answer ("),
}


@pytest.mark.parametrize("kind", REFUSALS)
def test_a_service_that_refuses(
    kind: str, at_home: Callable[[str], None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    reply, expected = REFUSALS[kind]
    out = tmp_path / "w.csv"
    with served(reply) as (url, _):
        at_home(url)
        sentence = refused("25.8", "-60", "--out", str(out), capsys=capsys)
    assert sentence.startswith(f"moistsim: PVGIS at {url}: ")
    assert expected in sentence
    assert not out.exists()


def test_an_error_that_passes(answer: dict[str, Any], at_home: Callable[[str], None]) -> None:
    left = [says(503, "<html>down</html>"), says(200, "{"), says(429, "slowly")]
    with served(lambda handler: (left.pop() if left else says(200, answer))(handler)) as (
        url,
        asked,
    ):
        at_home(url)
        assert len(ms.fetch_typical_year(LATITUDE, LONGITUDE)) == 8760
    assert len(asked) == 4


def test_an_answer_that_lacks_a_column(
    answer: dict[str, Any], at_home: Callable[[str], None], tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    rows = [{k: v for k, v in row.items() if k != "RH"} for row in answer["outputs"]["tmy_hourly"]]
    less = {**answer, "outputs": {**answer["outputs"], "tmy_hourly": rows}}
    with served(says(200, less)) as (url, _):
        at_home(url)
        sentence = refused("25.8", "-80.2667", "--out", str(tmp_path / "w.csv"), capsys=capsys)
    assert (
        "moistsim: PVGIS: the answer lacks \"['relative_humidity'] not in index\". Use the "
        "service's typical year in JSON."
    ) in sentence


def test_no_answer_in_time(
    at_home: Callable[[str], None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    over = threading.Event()
    with served(lambda _: over.wait(20.0)) as (url, _):
        at_home(url)
        begun = time.monotonic()
        sentence = refused(
            "25.8", "-80", "--out", str(tmp_path / "w.csv"), "--timeout", "0.3", capsys=capsys
        )
        assert time.monotonic() - begun < 10.0
        over.set()
    assert "no answer within 0.3 s, in 4 tries. Try again later, with a longer timeout" in sentence


def test_offline(
    at_home: Callable[[str], None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A port at which nobody listens."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    at_home(f"http://127.0.0.1:{port}/api/")
    sentence = refused("25.8", "-80", "--out", str(tmp_path / "w.csv"), capsys=capsys)
    assert sentence == (
        f"moistsim: PVGIS at http://127.0.0.1:{port}/api/: no connection. Connect this "
        "computer to the internet, or use a weather file."
    )


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        (["95", "0"], "PVGIS, latitude: cannot use 95. Use -90 to 90 degrees, north positive"),
        (["5", "200"], "PVGIS, longitude: cannot use 200. Use -180 to 180 degrees, east positive"),
        (["5", "5", "--utc-offset", "99"], "PVGIS, utc_offset: cannot use 99. Use -12 to 14 h"),
        (["5", "5", "--timeout", "0"], "--timeout: cannot use 0 s. Use more than 0 s"),
    ],
)
def test_a_question_that_is_not_sent(
    arguments: list[str], expected: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sentence = refused(*arguments, "--out", str(tmp_path / "w.csv"), capsys=capsys)
    assert expected in sentence


def test_a_file_that_is_there_is_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "w.csv"
    out.write_text("mine")
    assert (f"moistsim: --out {out}: the file exists already. Use a new file.") in " ".join(
        refused("25.8", "-80", "--out", str(out), capsys=capsys).split()
    )
    assert out.read_text() == "mine"
    sentence = refused("25.8", "-80", "--out", str(tmp_path / "no" / "w.csv"), capsys=capsys)
    assert "no such folder" in sentence
