"""Actual years over the wire, against a local server in the shape of NASA POWER's hourly service.

`support.nasa_power` says what of that shape was read and what is from memory. The numbers are
invented. The network was closed, so the real service was not asked.
"""

import datetime
import json
import re
import threading
import time
from collections.abc import Callable
from http.server import BaseHTTPRequestHandler
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlparse

import numpy as np
import pandas as pd
import pytest
from pvlib.iotools import get_nasa_power
from support.local_server import Reply, says, served
from support.nasa_power import answer_to, power, send

import moistsim as ms
from moistsim.__main__ import main
from moistsim.weather import asking

LATITUDE, LONGITUDE = 25.8, -80.2667


@pytest.fixture(autouse=True)
def waits(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Waits between two tries, which take no time here; and no proxy."""
    waited: list[float] = []
    monkeypatch.setattr(asking, "sleep", waited.append)
    for name in ("http_proxy", "https_proxy", "HTTP_PROXY", "HTTPS_PROXY", "all_proxy"):
        monkeypatch.delenv(name, raising=False)
    return waited


def fetch(url: str, folder: Path, *years: int, **how: Any) -> dict[int, ms.Weather]:
    how = {"timeout": 20.0, "progress": False, **how}
    return ms.fetch_actual_years(LATITUDE, LONGITUDE, years, folder, url=url, **how)


def spoiled(change: Callable[[dict[str, Any]], None]) -> Reply:
    """The service with each answer changed."""

    def reply(handler: BaseHTTPRequestHandler) -> None:
        body = answer_to(handler.path)
        change(body)
        send(handler, 200, json.dumps(body).encode(), Content_Type="application/json")

    return reply


# ---------------------------------------------------------------------- what is made of an answer


@pytest.fixture(scope="module")
def fetched(tmp_path_factory: pytest.TempPathFactory) -> tuple[ms.Weather, pd.DataFrame, Path]:
    """A leap year, the same hours by pvlib's reader, and the folder."""
    folder = tmp_path_factory.mktemp("years")
    with served(power) as (url, asked):
        weather = fetch(url, folder, 2016)[2016]
        query = parse_qs(urlparse(asked[0]).query)
        assert (query["start"], query["end"]) == (["20160101"], ["20160630"])
        query = parse_qs(urlparse(asked[1]).query)
        assert (query["start"], query["end"]) == (["20160701"], ["20170101"])
        # The names of the service, because older releases of pvlib do not know all of its own.
        frame, _ = get_nasa_power(
            LATITUDE, LONGITUDE, "2016-01-01", "2017-01-01", query["parameters"][0].split(","),
            map_variables=False, url=url,
        )  # fmt: skip
    return weather, frame, folder


def test_numbers_are_those_of_pvlib_s_reader(
    fetched: tuple[ms.Weather, pd.DataFrame, Path],
) -> None:
    """Values by pvlib 0.16 from the same answer; local midnight in Miami is 05:00 UTC."""
    weather, by_pvlib, _ = fetched
    frame = weather.frame
    assert len(weather) == 8784
    assert (frame.index[0], frame.index[-1]) == (
        pd.Timestamp("2016-01-01 00:00"), pd.Timestamp("2016-12-31 23:00"),
    )  # fmt: skip
    there = by_pvlib.loc["2016-01-01 05:00+00:00":"2017-01-01 04:00+00:00"]
    for ours, its, factor in (
        ("temp_air", "T2M", 1.0),
        ("temp_dew", "T2MDEW", 1.0),
        ("pressure", "PS", 1000.0),
        ("wind_speed", "WS10M", 1.0),
        ("ghi", "ALLSKY_SFC_SW_DWN", 1.0),
        ("dhi", "ALLSKY_SFC_SW_DIFF", 1.0),
    ):
        np.testing.assert_array_equal(frame[ours], there[its].to_numpy() * factor)
    assert (
        frame.loc["2016-02-29 12:00", "temp_air"] == by_pvlib.loc["2016-02-29 17:00+00:00", "T2M"]
    )


def test_direct_sun_follows_from_global_and_diffuse(
    fetched: tuple[ms.Weather, pd.DataFrame, Path],
) -> None:
    weather, by_pvlib, _ = fetched
    dni = by_pvlib["ALLSKY_SFC_SW_DNI"].loc["2016-01-01 05:00+00:00":"2017-01-01 04:00+00:00"]
    high = weather.solar_position.elevation > 10.0
    apart = np.abs(weather.frame["dni"].to_numpy() - dni.to_numpy())[high]
    # Both have two digits; global less diffuse, over the sine of 10 degrees.
    assert apart.max() < 0.5


def test_it_says_what_it_is(fetched: tuple[ms.Weather, pd.DataFrame, Path]) -> None:
    weather, _, folder = fetched
    assert (weather.kind, weather.label, weather.elevation) == ("actual", "start", 3.2)
    assert weather.name == "25.8000, -80.2667 2016"
    assert weather.source == "NASA POWER, hourly, from INVENTED-AIR and INVENTED-SUN"
    assert "UTC -5 h is taken as local standard time (the longitude's own" in weather.notes[0]
    assert "means of a grid cell" in weather.notes[1]
    assert sorted(path.name for path in folder.iterdir()) == ["2016.csv"]
    assert ms.Weather.read(folder / "2016.csv") == weather


def test_an_offset_of_half_an_hour(tmp_path: Path) -> None:
    """East of UTC the year begins on the day before, and hours of UTC begin at half past."""
    with served(power) as (url, asked):
        weather = ms.fetch_actual_years(
            25.8, 82.5, [2019], tmp_path, utc_offset=5.5, url=url, progress=False
        )[2019]
    first, second = (parse_qs(urlparse(path).query) for path in asked)
    assert (first["start"], second["end"]) == (["20181231"], ["20191231"])
    assert len(weather) == 8760 and weather.hours[0] == pd.Timestamp("2019-01-01 00:30")


def test_a_season_runs_on_it(fetched: tuple[ms.Weather, pd.DataFrame, Path]) -> None:
    demo = ms.scenario.read_scenario(ms.scenario.DEMO).study
    machines, strategy = demo.options["Stand-alone dehumidifier"]
    season = ms.simulate(demo.house, machines, strategy, fetched[0], start="06-01", end="06-03")
    assert season.meter.total_kwh > 0.0


# ---------------------------------------------------------------------- what is kept


def test_a_year_that_is_there_is_not_fetched_again(tmp_path: Path) -> None:
    with served(power) as (url, asked):
        first = fetch(url, tmp_path, 2018)
        both = fetch(url, tmp_path, 2018, 2019)
    starts = [parse_qs(urlparse(path).query)["start"][0] for path in asked]
    assert starts == ["20180101", "20180701", "20190101", "20190701"]
    assert both[2018] == first[2018] and list(both) == [2018, 2019]


def test_years_before_a_broken_connection_stay(tmp_path: Path) -> None:
    """One year arrives, then each answer breaks off: the next call asks for the second alone."""

    def breaks(handler: BaseHTTPRequestHandler) -> None:
        if "start=2019" not in handler.path:
            return power(handler)
        handler.send_response(200)
        handler.send_header("Content-Length", "100000")
        handler.end_headers()
        handler.wfile.write(b'{"type": "Feature", "geometry"')

    with served(breaks) as (url, asked):
        with pytest.raises(
            ms.WeatherError, match="(the answer breaks off|are not JSON).* in 4 tries"
        ):
            fetch(url, tmp_path, 2018, 2019, 2020)
        assert len(asked) == 2 + asking.TRIES
    assert [path.name for path in tmp_path.iterdir()] == ["2018.csv"]
    with served(power) as (url, asked):
        assert list(fetch(url, tmp_path, 2018, 2019)) == [2018, 2019]
    assert len(asked) == 2


def test_a_year_that_is_not_whole_keeps_no_other_year_back(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """The sun of the last months comes later than the air: those hours hold the fill value."""

    def late(body: dict[str, Any]) -> None:
        if body["header"]["start"] == "20180701":
            sun = body["properties"]["parameter"]["ALLSKY_SFC_SW_DWN"]
            sun.update({key: -999.0 for key in sun if key >= "2018100100"})

    with served(spoiled(late)) as (url, _), pytest.raises(ms.WeatherError) as caught:
        fetch(url, tmp_path, 2018, 2019)
    assert str(caught.value) == (
        f"{tmp_path}: 1 of 2 years are there, not 2018. Ask for other years; those that are there "
        "are kept."
    )
    assert caplog.messages[-1].startswith(
        "NASA POWER 2018, column ghi: ALLSKY_SFC_SW_DWN has no value in "
    )
    assert ", the first 2018-10-01 " in caplog.messages[-1]
    assert [path.name for path in tmp_path.iterdir()] == ["2019.csv"]


@pytest.mark.parametrize(
    ("spoil", "expected"),
    [
        (
            lambda path: path.write_text(path.read_text()[:-9]),
            r"2018\.csv: cannot be used: 2018\.csv line \d+: \d fields\. Use 8 fields, as in the line of column names\. Delete this file, or use another folder\.",
        ),
        (
            lambda path: path.write_text("\n".join(path.read_text().splitlines()[:-24])),
            r"cannot be used: years: data of 2018-01-01 00:00 to 2018-12-31 00:00",
        ),
        (
            lambda path: path.write_text(path.read_text().replace("-80.2667", "-81.5")),
            r"holds weather of 25\.8, -81\.5, UTC -5 h, not of 25\.8, -80\.2667, UTC -5 h\.",
        ),
        (
            lambda path: path.write_text(path.read_text().replace("2018-", "2017-")),
            r"2018\.csv: does not hold all of 2018 alone\.",
        ),
    ],
)
def test_a_file_of_something_else(
    spoil: Callable[[Path], Any], expected: str, tmp_path: Path
) -> None:
    """It is not overwritten, and nothing is asked for."""
    with served(power) as (url, asked):
        fetch(url, tmp_path, 2018)
        spoil(tmp_path / "2018.csv")
        before = (tmp_path / "2018.csv").read_text()
        with pytest.raises(ms.WeatherError, match=expected):
            fetch(url, tmp_path, 2018, 2019)
    assert len(asked) == 2 and (tmp_path / "2018.csv").read_text() == before


# ---------------------------------------------------------------------- no answer


def test_errors_of_the_service_pass(tmp_path: Path, waits: list[float]) -> None:
    """Two errors, then too many questions with a wait of 7 s, then the answer."""
    left = [
        lambda handler: send(handler, 500, b"<html>Internal Server Error</html>"),
        lambda handler: send(handler, 503, b"{}"),
        lambda handler: send(handler, 429, b"", Retry_After="7"),
    ]
    with served(lambda handler: left.pop(0)(handler) if left else power(handler)) as (url, asked):
        assert len(fetch(url, tmp_path, 2019)[2019]) == 8760
    assert len(asked) == 5 and waits == [1.0, 2.0, 7.0]


def test_a_wait_until_a_date(tmp_path: Path, waits: list[float]) -> None:
    until = datetime.datetime.now(datetime.UTC) + datetime.timedelta(seconds=40)
    left = [{"Retry_After": until.strftime("%a, %d %b %Y %H:%M:%S GMT")}]
    with served(
        lambda handler: send(handler, 429, b"", **left.pop()) if left else power(handler)
    ) as (url, _):
        fetch(url, tmp_path, 2019)
    assert 30.0 < waits[0] <= 40.0


SERVICE: dict[str, tuple[Reply, str, int]] = {
    "500 for ever": (
        lambda handler: send(handler, 500, b"<html>oops</html>"),
        r"the service cannot answer now \(HTTP 500\), in 4 tries\. Try again later\.",
        4,
    ),
    "an hour's wait": (
        lambda handler: send(handler, 429, b'{"message": "Slow down."}', Retry_After="3600"),
        r"\(HTTP 429: Slow down\) and asks to wait 3600 s\. Try again later\.",
        1,
    ),
    "HTML": (
        lambda handler: send(handler, 200, b"<html><body>Maintenance", Content_Type="text/html"),
        r"cannot read the answer: 23 bytes of text/html, '<html><body>Maintenance', are not JSON",
        4,
    ),
    "half of it": (
        lambda handler: send(handler, 200, json.dumps(answer_to(handler.path)).encode()[:50_000]),
        r"50,000 bytes of no stated kind, '\{\"type.*are not JSON",
        4,
    ),
    "a list": (
        says(200, [1, 2]),
        r"cannot read the answer: \[1, 2\] in place of a year's hours",
        4,
    ),
}


@pytest.mark.parametrize("kind", SERVICE)
def test_a_service_without_an_answer(kind: str, tmp_path: Path) -> None:
    reply, expected, tries = SERVICE[kind]
    with served(reply) as (url, asked):
        with pytest.raises(ms.WeatherError, match=expected) as caught:
            fetch(url, tmp_path / "new", 2018, 2019)
        # The next year would fare no better.
        assert len(asked) == tries
    assert str(caught.value).startswith(f"NASA POWER 2018 at {url}: ")
    assert len(str(caught.value)) < 400
    assert [*(tmp_path / "new").iterdir()] == []


def test_a_refusal_is_not_asked_again_and_other_years_are(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """A year before the service's first: a refusal with its words (wording from memory)."""

    def early(handler: BaseHTTPRequestHandler) -> None:
        if "start=1999" not in handler.path:
            return power(handler)
        body = {"header": "Error", "messages": ["Please submit a start date after 2001/01/01."]}
        send(handler, 422, json.dumps(body).encode(), Content_Type="application/json")

    with served(early) as (url, asked), pytest.raises(ms.WeatherError, match="1 of 2 years"):
        fetch(url, tmp_path, 1999, 2018)
    assert len(asked) == 3
    assert (
        "the service refuses (HTTP 422: Please submit a start date after 2001/01/01)" in caplog.text
    )


def test_no_answer_in_time(tmp_path: Path) -> None:
    """A service that is silent, and one that sends a byte now and then."""
    over = threading.Event()

    def drips(handler: BaseHTTPRequestHandler) -> None:
        handler.send_response(200)
        handler.end_headers()
        while not over.wait(0.05):
            handler.wfile.write(b" " * (1 << 14))

    for reply in (lambda _: over.wait(20.0), drips):
        over.clear()
        with served(reply) as (url, asked):
            begun = time.monotonic()
            with pytest.raises(ms.WeatherError, match=r"no answer within 0\.3 s, in 4 tries\."):
                fetch(url, tmp_path, 2018, timeout=0.3)
            over.set()
        assert len(asked) == 4 and time.monotonic() - begun < 15.0


# ---------------------------------------------------------------------- wrong answers


def _of(body: dict[str, Any], name: str) -> dict[str, Any]:
    return body["properties"]["parameter"][name]  # type: ignore[no-any-return]


def _one(body: dict[str, Any], value: Any, key: str = "2016070112") -> dict[str, Any]:
    """One hour with another value, in the half of the year that has it."""
    return {key: value} if key in _of(body, "T2M") else {}


def _scale(name: str, factor: float, plus: float = 0.0) -> Callable[[dict[str, Any]], None]:
    def change(body: dict[str, Any]) -> None:
        hours = _of(body, name)
        hours.update({key: factor * value + plus for key, value in hours.items()})

    return change


def _local(body: dict[str, Any]) -> None:
    """Hours of local time where UTC was asked for, and not a word about it."""
    for hours in body["properties"]["parameter"].values():
        values = [*hours.values()]
        hours.update(zip(hours, [*values[5:], *values[:5]], strict=True))


def _at_the_end(body: dict[str, Any]) -> None:
    """Sun of the hour before the stamp."""
    names = ("ALLSKY_SFC_SW_DWN", "ALLSKY_SFC_SW_DIFF", "ALLSKY_SFC_SW_DNI")
    for name in names:
        hours = _of(body, name)
        values = [*hours.values()]
        hours.update(zip(hours, [values[-1], *values[:-1]], strict=True))


def _at_the_stamp(body: dict[str, Any]) -> None:
    """Sun of the stamp itself: half an hour early."""
    head = body["header"]
    path = (
        f"?latitude={LATITUDE}&longitude={LONGITUDE}&start={head['start']}&end={head['end']}"
        f"&parameters={','.join(body['parameters'])}&time-standard=UTC"
    )
    body["properties"] = answer_to(path, sun_after=0.0)["properties"]


WRONG: dict[str, tuple[Callable[[dict[str, Any]], Any], str]] = {
    "missing parameter": (
        lambda body: body["properties"]["parameter"].pop("T2MDEW"),
        r"temp_dew: the answer has no T2MDEW; its parameters are 'T2M', 'RH2M'",
    ),
    "no data, with the reason": (
        lambda body: body.update(properties={}, messages=["No data for this point."]),
        r"the answer has no T2M; its parameters are none; the service says 'No data for this point\.'",
    ),
    "Fahrenheit, stated": (
        lambda body: body["parameters"].update(T2M={"units": "F"}),
        r"column temp_air: T2M is in 'F', in place of c\.",
    ),
    "no unit": (
        lambda body: body["parameters"].pop("PS"),
        r"column pressure: PS is in None, in place of kpa\.",
    ),
    "dew point in Fahrenheit, unstated": (
        _scale("T2MDEW", 0.5, 1.0),
        r"temp_dew: dew point and relative humidity \(RH2M\) disagree by \d\d % RH",
    ),
    "relative humidity as a fraction": (
        _scale("RH2M", 0.01),
        r"dew point and relative humidity \(RH2M\) disagree by \d\d % RH",
    ),
    "dew point above dry bulb": (
        _scale("T2MDEW", 1.0, 9.0),
        r"a dew point up to .* K above the dry bulb, in [\d,]+ hours",
    ),
    "pressure in Pa that says kPa": (_scale("PS", 1000.0), r"column pressure: cannot use 1\.0\d*e\+08"),
    "pressure at sea level of a high place": (
        lambda body: body["geometry"].update(coordinates=[LONGITUDE, LATITUDE, 1800.0]),
        r"a mean of 101\d\d\d Pa at an elevation of 1800 m",
    ),
    "wind in mph": (_scale("WS10M", 2.237 * 1.6), r"column wind_speed: a mean of "),
    "sun in kJ": (_scale("ALLSKY_SFC_SW_DWN", 3.6), r"column ghi: cannot use "),
    "local hours, stated": (
        lambda body: body["header"].update(time_standard="LST"),
        r"the answer's time is 'LST', not UTC",
    ),
    "local hours, unstated": (_local, r"column ghi: .* W/m2 while the sun is below the horizon all hour"),
    "hours stamped at their end": (_at_the_end, r"ghi: .* W/m2 while the sun is below the horizon"),
    "sun at the stamp": (_at_the_stamp, r"sums that fit the sun of 30 min earlier"),
    "no 29 February": (
        lambda body: [
            hours.pop(key)
            for hours in body["properties"]["parameter"].values()
            for key in [*hours]
            if key.startswith("20160229")
        ],
        r"T2M lacks 24 of 4,363 hours, the first 2016-02-29 00:00 UTC",
    ),
    "one fill value": (
        lambda body: _of(body, "T2M").update(_one(body, -999.0)),
        r"T2M has no value in 1 of 8,784 hours, the first 2016-07-01 12:00 UTC",
    ),
    "another fill value": (
        lambda body: (
            body["header"].update(fill_value=-99.0), _of(body, "WS10M").update(_one(body, -99.0))
        ),
        r"WS10M has no value in 1 of 8,784 hours",
    ),
    "a word for a number": (
        lambda body: _of(body, "PS").update(_one(body, "n/a")),
        r"PS has no value in 1 of 8,784 hours",
    ),
    "null for a number": (
        lambda body: _of(body, "T2M").update(_one(body, None)),
        r"T2M has no value in 1 of 8,784 hours",
    ),
    "no witness at all": (
        lambda body: _of(body, "RH2M").update(dict.fromkeys(_of(body, "RH2M"), -999.0)),
        r"RH2M has no value in 8,784 of 8,784 hours",
    ),
    "another place": (
        lambda body: body["geometry"].update(coordinates=[LATITUDE, LONGITUDE, 3.0]),
        r"the answer is for -80\.2667, 25\.8, not for 25\.8, -80\.2667",
    ),
    "no place": (
        lambda body: body.pop("geometry"),
        r"the answer's place is \[\], not longitude, latitude and elevation",
    ),
    "an error with status 200": (
        lambda body: (body.clear(), body.update(messages=["Internal error 17."])),
        r"the service says 'Internal error 17\.'",
    ),
    "a temperature that stands still": (
        lambda body: (
            _scale("T2M", 0.0, 35.0)(body), _scale("T2MDEW", 0.0, 20.0)(body), _scale("RH2M", 0.0, 41.6)(body)
        ),
        r"35 °C in each of 8784 hours",
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", WRONG)
def test_an_answer_that_is_not_the_year(
    kind: str, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    change, expected = WRONG[kind]
    with served(spoiled(change)) as (url, asked):
        with pytest.raises(ms.WeatherError, match="0 of 1 years are there, not 2016"):
            fetch(url, tmp_path, 2016)
        # A wrong answer stays wrong.
        assert len(asked) <= 2
    sentence = caplog.messages[-1]
    assert sentence.startswith("NASA POWER 2016")
    assert re.search(expected, sentence), sentence
    assert sentence.endswith("Try another year, or use a weather file.")
    assert [*tmp_path.iterdir()] == []


def test_sun_without_a_value_in_the_dark_is_zero(tmp_path: Path) -> None:
    """Global and diffuse sun of 0 at night, written as the fill value."""

    def dark(body: dict[str, Any]) -> None:
        for name in ("ALLSKY_SFC_SW_DIFF", "ALLSKY_SFC_SW_DNI"):
            hours = _of(body, name)
            hours.update({key: -999.0 for key in hours if key[-2:] in ("04", "05", "06")})

    with served(spoiled(dark)) as (url, _):
        weather = fetch(url, tmp_path, 2019)[2019]
    assert "sun of 0 in 1,095 hours of darkness without a value" in weather.notes
    assert (weather.frame["dhi"].at_time("00:00") == 0.0).all()


def test_a_dew_point_a_little_above_the_dry_bulb_is_cut(tmp_path: Path) -> None:
    def misty(body: dict[str, Any]) -> None:
        if (key := "2019070112") in _of(body, "T2M"):
            _of(body, "T2MDEW")[key] = _of(body, "T2M")[key] + 0.3

    with served(spoiled(misty)) as (url, _):
        weather = fetch(url, tmp_path, 2019)[2019]
    assert "dew point cut to the dry bulb in 1 hours, by at most 0.3 K" in weather.notes
    row = weather.frame.loc["2019-07-01 07:00"]
    assert row["temp_dew"] == row["temp_air"]


# ---------------------------------------------------------------------- the command and its question


def test_the_command_fills_a_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "years"
    arguments = ["weather", "25.8", "-80.2667", "--out", str(out), "--name", "Someplace", "--years"]
    with served(power) as (url, asked):
        monkeypatch.setattr("moistsim.weather.actual_years.NASA_POWER", url)
        assert main([*arguments, "2018"]) == 0
        assert main([*arguments, "2018-2019"]) == 0
    assert len(asked) == 4
    shown = " ".join(capsys.readouterr().out.split())
    assert (
        "2018.csv: Someplace 2018, 8,760 hours, elevation 10 ft, dew point above 65 °F in " in shown
    )
    assert shown.count("(there already)") == 1
    assert "NASA POWER, hourly, from INVENTED-AIR" in shown
    assert sorted(path.name for path in out.iterdir()) == ["2018.csv", "2019.csv"]


def test_a_failing_command_says_each_failure_in_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    change, _ = WRONG["missing parameter"]
    with served(spoiled(change)) as (url, _):
        monkeypatch.setattr("moistsim.weather.actual_years.NASA_POWER", url)
        assert main(["weather", "25.8", "-80", "--years", "2018-2019", "--out", str(tmp_path)]) == 2
    lines = capsys.readouterr().err.strip().splitlines()
    assert [line[:16] for line in lines] == [
        "NASA POWER 2018,",
        "NASA POWER 2019,",
        "moistsim: " + str(tmp_path)[:6],
    ]


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        (["5", "5", "--years", "summer"], "--years: cannot use 'summer'. Use the first and the last year, such as 2014-2023"),
        (["5", "5", "--years", "2019-2014"], "--years: cannot use '2019-2014'"),
        (["5", "5", "--years", "2014-2999"], "years: cannot use "),
        (["95", "5", "--years", "2014"], "NASA POWER, latitude: cannot use 95. Use -90 to 90 degrees"),
    ],
)  # fmt: skip
def test_a_question_that_is_not_sent(
    arguments: list[str], expected: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["weather", *arguments, "--out", str(tmp_path / "new")]) == 2
    assert capsys.readouterr().err.startswith(f"moistsim: {expected}")
    assert not (tmp_path / "new").exists()


def test_the_present_year_is_not_over(tmp_path: Path) -> None:
    now = datetime.date.today().year
    with pytest.raises(ms.InputError, match=f"a year that is over, 1900 to {now - 1}"):
        fetch("http://127.0.0.1:9/", tmp_path, now)


def test_a_file_where_the_folder_should_be(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "there").write_text("mine")
    assert main(["weather", "5", "5", "--years", "2014", "--out", str(tmp_path / "there")]) == 2
    assert "this is a file. Use a folder, new or not" in capsys.readouterr().err
