"""The sheet: what stands on it, that it is self-contained, and how bad input is answered."""

import html
import io
import itertools
import re
from contextlib import redirect_stderr, redirect_stdout
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import attrs
import pytest
from support.houses import house
from support.machines import machines, two_stage
from support.scenario_files import write_ten_days
from support.weathers import stretch

import moistsim as ms
from moistsim.__main__ import main
from moistsim.machine_checks import today
from moistsim.scenario import read_scenario
from moistsim.sheet import Sheet, gather, page, probe
from moistsim.sheet.winter import coldest_week, prove

DRY = "A <b>dry</b> house"
SCENARIO = """\
name = "House of the tests"
note = "Invented."
[weather]
file = "october.csv"
[season]
start = "10-22"
end = "10-25"
[house]
floor_area = "1500 ft2"
ach50 = 3
[equipment.cooling]
stages = [{ capacity = "2 ton" }]
[options.Plain]
strategy = "temperature_only"
[options."A <b>dry</b> house"]
strategy = "with_dehumidifier"
[options."A <b>dry</b> house".equipment.dehumidifier]
capacity = "70 pint/day"
"""


def study(strategy: ms.Strategy, equipment: ms.Equipment | None = None) -> ms.Study:
    """Ten days of a Miami October, for which the sun is quick to compute."""
    return ms.Study(
        house(), {"It": (equipment or machines(), strategy)}, stretch("miami", 289, 10),
        start="10-22", end="10-25",
    )  # fmt: skip


@pytest.fixture(scope="module")
def reheat() -> Sheet:
    return gather(study(ms.strategies.staged_reheat), "It", today=today(indoor="75 degF"))


def states(sheet: Sheet) -> dict[str, dict[str, str]]:
    return {
        row.name: dict(zip(sheet.state_columns, row.cells, strict=True)) for row in sheet.states
    }


def test_setpoints_in_the_units_asked_for(reheat: Sheet) -> None:
    """By the truth table: 24.75/24.25 and 25.7/24.5 degC are 76.5/75.6 and 78.3/76.1 degF."""
    rows = [(row.name, row.on, row.off) for row in reheat.setpoints]
    assert rows[:2] == [
        ("Cooling, stage 1", "above 76.5 °F", "below 75.6 °F"),
        ("Cooling, stage 2", "above 78.3 °F", "below 76.1 °F"),
    ]
    assert ("Cooling, stage 2", "above 59 % RH", "below 55 % RH") in rows
    assert ("Electric reheat, stage 1", "below 74.5 °F", "above 75.6 °F") in rows
    si = gather(study(ms.strategies.staged_reheat), "It", units="si")
    rows = [(row.name, row.on, row.off) for row in si.setpoints]
    assert ("Electric reheat, stage 1", "below 23.6 °C", "above 24.2 °C") in rows
    assert not re.search(r"°F|cfm|Btu", page(si).split("</style>")[1])


def test_states_by_hand(reheat: Sheet) -> None:
    """What each situation must come to, from the words of the strategy alone."""
    table = states(reheat)
    full, low = "900 cfm", "620 cfm"
    expected = {
        "Dry and warm": ("stage 1", "–", "–", "–", low),
        "Dry and hot": ("stage 2", "–", "–", "–", full),
        "Dry, thermostat satisfied": ("–", "–", "–", "–", "–"),
        "Humid, thermostat satisfied": ("stage 1", "–", "–", "–", low),
        "Very humid, thermostat satisfied": ("stage 2", "–", "–", "–", full),
        "Humid and cool: electric reheat (stage 1)": ("stage 1", "stage 1", "–", "–", low),
        "Humid and cool: electric reheat (stage 2)": ("stage 1", "stages 1–2", "–", "–", low),
        "Humid and cool, outdoors too cold to cool": ("blocked", "blocked", "–", "–", "–"),
        "Cold": ("–", "–", "on", "–", full),
        "Cold and humid": ("–", "–", "on", "–", full),
        "Very cold": ("–", "–", "on", "all on", full),
        "No sensor signal for 24 h": ("stage 2", "stages 1–2", "–", "–", full),
    }
    names = ("Cooling", "Electric reheat", "Heating", "Auxiliary heat", "Blower")
    assert {name: tuple(row[n] for n in names) for name, row in table.items()} == expected
    notes = {row.name: row.note for row in reheat.states}
    assert notes["No sensor signal for 24 h"] == "calls continue: nothing ends them"
    assert notes["Humid and cool, outdoors too cold to cool"] == "reheat waits for the compressor"


def test_a_control_that_releases_says_after_how_long() -> None:
    @ms.strategy
    def careful(readings: Any, memory: Any) -> Any:
        humid = readings.relative_humidity > 55.0 and readings.message_age < 30.0
        return ms.Calls(dehumidifier=1.0 if humid else 0.0)

    sheet = gather(study(careful), "It")
    lost = sheet.states[-1]
    assert lost.note == "from 30 min without a message"
    assert states(sheet)[lost.name]["Dehumidifier"] == "–"


def test_what_is_never_called_has_no_column_and_is_named() -> None:
    sheet = gather(study(ms.strategies.with_dehumidifier), "It")
    assert sheet.never == "Not called in any of these: hot-gas reheat, electric reheat."
    assert "Electric reheat" not in sheet.state_columns
    assert states(sheet)["Humid, thermostat satisfied"]["Dehumidifier"] == "on"


def test_an_own_humidistat_is_told_whatever_the_control_calls() -> None:
    dryer = ms.Dehumidifier(capacity="70 pint/day", humidistat=48.0, deadband=4.0)
    sheet = gather(study(ms.strategies.temperature_only, machines(dehumidifier=dryer)), "It")
    rows = [(row.name, row.on, row.off) for row in sheet.setpoints]
    assert ("Dehumidifier, own humidistat", "above 50 % RH", "below 46 % RH") in rows
    table = states(sheet)
    assert table["Dry, thermostat satisfied"]["Dehumidifier"] == "–"
    assert table["Humid, thermostat satisfied"]["Dehumidifier"] == "on"


def test_a_crawl_space_has_its_humidistat_and_its_ducts_on_the_sheet() -> None:
    dryer = ms.Dehumidifier(capacity="70 pint/day", humidistat=54.0, deadband=4.0)
    below = attrs.evolve(machines(), crawl_space_dehumidifier=dryer)
    over = ms.House(
        floor_area="1500 ft2", crawl_space=ms.CrawlSpace(), ducts=ms.Ducts(location="crawl space")
    )
    plain = study(ms.strategies.temperature_only, below)
    it = attrs.evolve(plain, house=over)
    sheet = gather(it, "It")
    rows = [(row.name, row.on, row.off) for row in sheet.setpoints]
    name = "Dehumidifier in the crawl space, own humidistat"
    assert (name, "above 56 % RH", "below 52 % RH") in rows
    assert "dehumidifier in the crawl space, 70 pints/day" in dict(sheet.facts)["Machines"]
    assert not any("sweat" in text for text in sheet.cautions)
    damp = attrs.evolve(it, options={"It": (machines(), ms.strategies.temperature_only)})
    season = damp.run(progress=False).seasons["It"]
    hourly = season.hourly["crawl_space_water_sweat_kg"]
    (caution,) = [text for text in gather(damp, "It").cautions if "sweat" in text]
    assert f"for {int((hourly > 0.0).sum()):,} hour" in caution and hourly.sum() > 0.0


def test_waits_are_those_of_the_machines() -> None:
    strips = ms.Strips(stages=["5 kW", "5 kW"], proof_time="20 s", stage_delay="45 s")
    cooling = machines().cooling
    assert cooling is not None
    slow = ms.Cooling(
        stages=cooling.stages, minimum_on="7 min", minimum_off="4 min", changeover_delay="9 min",
        fan_off_delay="90 s",
    )  # fmt: skip
    of = machines(strips=strips, cooling=slow)
    times = dict(gather(study(ms.strategies.temperature_only, of), "It").times)
    assert times["Compressor"] == "minimum on time 7 min, minimum off time 4 min"
    assert times["Changeover delay, cooling and heating"] == "at least 9 min"
    assert times["Fan-off delay (blower delay)"] == "90 s"
    assert times["Thermostat fan switch"] == "AUTO"
    assert times["Strip delays"] == "airflow proof 20 s; between stages 45 s"


@pytest.mark.parametrize(
    ("fan", "switch", "on", "off"),
    [
        ({}, "AUTO", "with any cooling or heating (fan AUTO)", "with no call, after the fan-off delay"),
        (
            {"fan": "on", "fan_airflow": 0.5}, "ON, at 50 % airflow between runs", "always (fan ON)",
            "–",
        ),
        (
            {"fan": "circulation", "circulation": "15 min"},
            "circulation, at least 15 min of each hour, at 69 % airflow",
            "with any cooling or heating, and at least 15 min of each hour (circulation)",
            "with no call, once the hour’s time is met",
        ),
    ],
)  # fmt: skip
def test_the_fan_switch_in_trade_words(fan: dict[str, Any], switch: str, on: str, off: str) -> None:
    furnace = ms.Furnace(capacity="40 kBtu/h", fan_off_delay="90 s")
    of = machines(cooling=two_stage(**fan), heating=None, furnace=furnace)
    sheet = gather(study(ms.strategies.temperature_only, of), "It")
    times = dict(sheet.times)
    assert times["Thermostat fan switch"] == switch
    assert times["Fan-off delay (blower delay)"] == "60 s after cooling, 90 s after heating"
    (row,) = [row for row in sheet.setpoints if row.name == "Blower"]
    assert (row.on, row.off) == (on, off)
    idle = states(sheet)["Dry, thermostat satisfied"]["Blower"]
    assert idle == ("450 cfm" if fan.get("fan") == "on" else "–")
    (alone,) = [row for row in sheet.readings if row.name == "Blower alone, fan ON"]
    flow = dict(zip(sheet.gauges, alone.cells, strict=True))["Airflow, cfm"]
    assert flow.value == ("450" if fan.get("fan") == "on" else "620")


@pytest.mark.parametrize("strips", [True, False])
def test_no_delay_after_cooling_is_none_after_strips(strips: bool) -> None:
    """Elements stay hot when the blower stops with the compressor."""
    own = machines(cooling=two_stage(fan_off_delay=0.0), **({} if strips else {"strips": None}))
    times = dict(gather(study(ms.strategies.temperature_only, own), "It").times)
    words = times["Fan-off delay (blower delay)"]
    assert words.startswith("none")
    assert ("after strips the blower must run on" in words) is strips


class Page(HTMLParser):
    """Tags and what they point at."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []
        self.ids: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("src", "href", "xlink:href", "srcset", "data", "action"):
                self.links.append(value)
            if name == "id":
                self.ids.append(value)


def test_the_page_fetches_nothing_and_names_its_picture(reheat: Sheet) -> None:
    text = page(reheat)
    seen = Page(text)
    assert {"script", "link", "img", "iframe"}.isdisjoint(seen.tags)
    assert all(link.startswith("#") for link in seen.links)
    assert re.findall(r"url\((?!#|'#|\"#)", text) == []
    assert "@import" not in text
    assert len(seen.ids) == len(set(seen.ids))
    assert seen.tags.count("svg") == 1
    assert "<title id='timing'>" in text
    assert reheat.picture_text.split(";")[0] in text
    assert text.count("<h2>") == 9


def test_letters_contrast_with_their_ground(reheat: Sheet) -> None:
    """WCAG 2.1, 1.4.3: 4.5 to 1 for letters, on white and on the table heads' ground."""
    colors = dict(re.findall(r"--(\w+): (#\w{6})", page(reheat)))

    def luminance(color: str) -> float:
        channels = [int(color[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    for ink, ground in itertools.product(
        ("ink", "soft", "deep", "alarm"), ("#ffffff", colors["head"])
    ):
        light, dark = luminance(ground), luminance(colors[ink])
        assert (light + 0.05) / (dark + 0.05) >= 4.5, (ink, ground)


def test_the_picture_is_the_same_again(reheat: Sheet) -> None:
    again = gather(study(ms.strategies.staged_reheat), "It", today=today(indoor="75 degF"))
    assert again.picture == reheat.picture
    assert page(again) == page(reheat)


def test_most_amps_are_those_of_the_worst_case(reheat: Sheet) -> None:
    """10 kW at 240 V are 41.7 A; a compressor and a blower come on top of them."""
    found = re.match(r"Maximum current: (\d+) A at 240 V", reheat.amps_together)
    assert found is not None
    assert 10000.0 / 240.0 + 5.0 < float(found[1]) < 10000.0 / 240.0 + 20.0


# ---------------------------------------------------------------------------------- winter


def test_winter_heat_is_the_same_under_reheat() -> None:
    """A cold week of Greensboro: the humidity call moves nothing in heating."""
    cold = stretch("greensboro", 0, 20)
    winter = prove(house(), machines(), ms.strategies.staged_reheat, cold, "60 s")
    figures = winter.table()
    assert winter.same
    assert winter.colder_by == 0.0
    assert figures["heat_pump_h"][0] == figures["heat_pump_h"][1] > 20.0
    assert figures["frost_h"][0] > 10.0


def test_a_control_that_disturbs_winter_heat_is_shown_up() -> None:
    @ms.strategy
    def meddling(
        readings: Any, memory: Any, *, heating_setpoint: ms.units.HeatingSetpoint = 20.0
    ) -> Any:
        cold = readings.temperature < heating_setpoint
        return ms.Calls(heating=1.0 if cold and readings.outdoor_temperature > 0.0 else 0.0)

    winter = prove(house(), machines(), meddling, stretch("greensboro", 0, 20), "60 s")
    assert not winter.same
    coldest = winter.table()["coldest_C"]
    assert coldest[0] < coldest[1] - 0.5


def test_a_week_without_frost_is_made_colder() -> None:
    """A Miami October has no heating: the proof is run 15 K colder, or to where frost costs most."""
    winter = prove(
        house(), machines(), ms.strategies.staged_reheat, stretch("miami", 289, 10), "60 s"
    )
    assert winter.colder_by == 15.0


def test_the_coldest_week() -> None:
    weather = stretch("greensboro", 0, 20)
    first, last = coldest_week(weather)
    assert (last - first).days == 6
    daily = weather.frame["temp_air"].resample("D").mean()
    weeks = [daily.iloc[k : k + 7].mean() for k in range(14)]
    assert daily[first:last].mean() == pytest.approx(min(weeks))


def test_machines_without_heating_say_so() -> None:
    of = ms.Equipment(cooling=machines().cooling)
    sheet = gather(study(ms.strategies.temperature_only, of), "It")
    assert sheet.winter == ()
    assert "have no heating" in sheet.winter_text
    assert "no heating" in page(sheet)


# ---------------------------------------------------------------------------- command line


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    here = tmp_path_factory.mktemp("sheet")
    write_ten_days(here / "october.csv", "10-17")
    (here / "house.toml").write_text(SCENARIO, encoding="utf-8")
    return here


def test_the_command_writes_the_page(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    out = io.StringIO()
    with redirect_stdout(out):
        assert main(["sequence", "house.toml", DRY, "--indoor", "76 degF", "--as-set"]) == 0
    file = folder / "sequence-a-b-dry-b-house.html"
    assert out.getvalue().startswith(f"{file.name}: A <b>dry</b> house, for outdoors 95.0 °F")
    text = file.read_text(encoding="utf-8")
    assert "A &lt;b&gt;dry&lt;/b&gt; house" in text
    assert "<b>dry" not in text
    assert "return dry bulb <strong>76.0 °F</strong>" in text
    assert "Where the settings come from:</strong> as in the file." in text


def test_the_command_prints_the_advised_settings(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without an option it prints that of the advised one, at the setpoints that keep the goal."""
    monkeypatch.chdir(folder)
    out = io.StringIO()
    with redirect_stdout(out):
        assert main(["sequence", "house.toml", "--out", "advised.html"]) == 0
    scenario = read_scenario(folder / "house.toml")
    it = ms.advise(scenario.study, scenario.purchases, scenario.terms, progress=False)
    assert out.getvalue().startswith(f"advised.html: {it.best}, for")
    text = html.unescape((folder / "advised.html").read_text(encoding="utf-8"))
    assert f"Where the settings come from:</strong> {it.settings_words(it.best)}" in text
    assert "at most 88 hours a year above 60 % RH" in text
    for value in it.at_goal.options[it.best].setpoints.values():
        assert f"{value:.0f} %" in text


def test_the_settings_of_the_file_need_an_option(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(folder)
    assert main(["sequence", "house.toml", "--as-set"]) == 2
    assert "--as-set: no OPTION. Use the name of an option: 'Plain'" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (
            ["Plane"],
            "house.toml OPTION: cannot use 'Plane'. Did you mean 'Plain'? The other "
            "choice is 'A <b>dry</b> house'.",
        ),
        (["Plain", "--out", "."], "--out .: this is a folder. Use a file whose name ends in .html."),
        (
            ["Plain", "--out", "house.toml"],
            "--out house.toml: another kind of file name. Use a name that ends in .html.",
        ),
        (
            ["Plain", "--out", "no/where.html"],
            "--out no/where.html: no such folder. Use a file in a folder that exists.",
        ),
        (
            ["Plain", "--indoor-rh", "5 %"],
            "--indoor-rh: cannot use '5 %'. Use a value from 20 to 90 %.",
        ),
        (
            ["Plain", "--day", "07-15"],
            "sequence day: cannot use '07-15'. Use a day of the season as MM-DD, from 10-22 to "
            "10-25.",
        ),
    ],
)  # fmt: skip
def test_bad_input_is_one_sentence(
    folder: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], sentence: str
) -> None:
    monkeypatch.chdir(folder)
    before = sorted(folder.iterdir())
    errors = io.StringIO()
    with redirect_stderr(errors), redirect_stdout(io.StringIO()):
        assert main(["sequence", "house.toml", *arguments]) == 2
    assert errors.getvalue().splitlines()[-1] == f"moistsim: {sentence}"
    assert sorted(folder.iterdir()) == before


def test_a_sheet_has_all_setpoints_that_were_found_and_no_others() -> None:
    """Each row of the table comes from the probe, none from elsewhere, and none is dropped."""
    whole = ms.strategies.temperature_only + ms.strategies.set_back
    for strategy in (ms.strategies.hot_gas_reheat, whole):
        sheet = gather(study(strategy), "It")
        found = probe(strategy, machines()).setpoints
        rest = [row for row in sheet.setpoints if row.name in ("Blower", "Ventilation")]
        assert len(sheet.setpoints) == len(found) + len(rest)
        assert "None" not in page(sheet)
        assert "nan" not in page(sheet).split("<svg")[0]


def test_an_enable_stands_on_the_sheet_and_cuts_in_the_state_table() -> None:
    """Strips are on in humid, cool air; with a contact that closes only at 90 % RH they are not."""
    study = ms.Study(
        house(),
        {
            "free": (machines(), ms.strategies.staged_reheat),
            "cut": (
                machines(enable=ms.Enable(on_above=90.0, off_below=85.0)),
                ms.strategies.staged_reheat,
            ),
        },
        stretch("miami", 190, 3),
    )
    free, cut = (gather(study, option, units="us") for option in ("free", "cut"))
    (row,) = [point for point in cut.setpoints if "enable" in point.name]
    assert row.on == "closes above 90 % RH"
    assert "strips" in row.where
    assert "Electric reheat" in free.state_columns
    assert "Electric reheat" not in cut.state_columns
    relays = dict(free.times)["Relays controlled by messages"]
    assert relays == "message repeats every 5 min; relays keep the last call if messages stop"
