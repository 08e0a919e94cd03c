"""A house surface by surface: the box written out, every field of a surface, refusals, files."""

from functools import lru_cache
from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pytest
from support.machines import machines
from support.weathers import sample, stretch

import moistsim as ms
from moistsim.engine.forcing import force, sun
from moistsim.house.envelope import BOX, CONSTRUCTION
from moistsim.house.typical import CLIMATES, PRACTICE, TypicalHouse
from moistsim.scenario import ScenarioError, read_scenario, write_scenario

FLOOR, HIGH = 150.0, 2.5
FRONT, SIDE = 15.0, 10.0
"""A plan of 1.5 to 1, of one story."""


def box() -> ms.House:
    return ms.House(
        floor_area=FLOOR,
        ceiling_height=HIGH,
        envelope=ms.Envelope(
            orientation=200.0, window_to_wall_ratio=ms.WindowToWallRatio(front=0.25, back=0.0)
        ),
    )


def written_out() -> ms.House:
    """The same house by hand: bearings 200, 290, 20 and 110; one wall in two pieces."""
    wall = {"u": 0.45, "absorptance": 0.6}
    glass: dict[str, Any] = {"u": 2.0, "shgc": 0.3, "shading": 0.75, "incidence": "one surface"}
    surfaces = [
        ms.Surface(area="37.5 m2", u=0.19, tilt=0.0, absorptance=0.8),
        ms.Surface(area=FLOOR - 37.5, u=0.19, tilt=0.0, azimuth=77.0, absorptance=0.8),
        ms.Surface(area=0.75 * FRONT * HIGH, azimuth=200.0, **wall),
        ms.Surface(area=0.8 * SIDE * HIGH, azimuth=290.0, **wall),
        ms.Surface(area=10.0, azimuth=20.0, **wall),
        ms.Surface(area=FRONT * HIGH - 10.0, azimuth=20.0, **wall),
        ms.Surface(area=0.8 * SIDE * HIGH, azimuth=110.0, **wall),
    ]
    windows = [
        ms.Window(area=0.25 * FRONT * HIGH, azimuth=200.0, **glass),
        ms.Window(area=0.2 * SIDE * HIGH, azimuth=290.0, **glass),
        ms.Window(area=0.2 * SIDE * HIGH, azimuth=110.0, **glass),
    ]
    return ms.House(
        floor_area=FLOOR,
        ceiling_height=HIGH,
        envelope=ms.Envelope(surfaces=surfaces, windows=windows),
    )


@lru_cache
def week(house: ms.House) -> ms.Season:
    return ms.simulate(
        house, machines(), ms.strategies.with_dehumidifier, stretch("miami", 150, 7),
        spin_up="3 day",
    )  # fmt: skip


def test_the_box_written_out_is_the_box() -> None:
    """The same forcing and hence the same week, but for rounding."""
    one, two = (force(house, sample("greensboro")) for house in (box(), written_out()))
    np.testing.assert_allclose(one.nodes, two.nodes, rtol=1e-11, atol=1e-9)
    np.testing.assert_array_equal(one.hours, two.hours)
    a, b = week(box()), week(written_out())
    # Rounding may move a start by a step; the totals tell.
    assert b.meter.total_kwh == pytest.approx(a.meter.total_kwh, rel=1e-4)
    for name in ("heat_sun_kWh", "heat_windows_kWh", "heat_opaque_kWh"):
        assert b.hourly[name].sum() == pytest.approx(a.hourly[name].sum(), rel=1e-3)
        assert abs(a.hourly[name].sum()) > 1.0


def gabled() -> ms.House:
    """Everything at once: slopes, eaves, a skylight, blinds, a crawl space, heavy walls."""
    return ms.House(
        floor_area=FLOOR,
        envelope=ms.Envelope(
            surfaces=[
                ms.Surface(area=85.0, u=0.2, azimuth=180.0, tilt="25 deg", absorptance=0.9),
                ms.Surface(area=85.0, u=0.2, azimuth=0.0, tilt="25 deg", absorptance=0.9),
                ms.Surface(area=100.0, u=0.5, azimuth=90.0),
            ],
            windows=[
                ms.Window(
                    area=12.0, azimuth=180.0, overhang_depth="2 ft", shading=0.6,
                    shading_winter=0.9,
                ),
                ms.Window(area=1.0, azimuth=0.0, tilt=25.0, incidence="three panes"),
            ],
            construction="heavy",
        ),
    )  # fmt: skip


def test_balances_and_tags_close() -> None:
    season = week(gabled())
    assert season.balance["relative"].abs().max() < 1e-9
    assert season.attribution().residual["relative"].abs().max() < 1e-9
    for name in ("opaque", "windows", "sun", "ground"):
        assert season.hourly[f"heat_{name}_kWh"].abs().sum() > 1.0


def test_a_year_by_the_quarter_of_an_hour_closes() -> None:
    season = ms.simulate(
        gabled(), machines(), ms.strategies.temperature_only, sample("greensboro"), step="15 min"
    )
    assert season.balance["relative"].abs().max() < 1e-9


# ---------------------------------------------------------------------- every field shows

CHANGES: dict[type, dict[str, Any]] = {
    ms.Surface: {"area": 20.0, "u": 1.0, "azimuth": 90.0, "tilt": 40.0, "absorptance": 0.2},
    ms.Window: {
        "area": 5.0, "azimuth": 90.0, "tilt": 40.0, "shgc": 0.5, "incidence": "one surface",
        "shading": 0.5, "shading_winter": 0.5, "height": 0.5, "overhang_depth": 2.0,
        "overhang_above": 0.0,
    },
}  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "field"), [(kind, name) for kind, changes in CHANGES.items() for name in changes]
)
def test_every_field_moves_the_sun(kind: type, field: str) -> None:
    """Of a wall beside another, or of a window with a little overhang, over the year."""
    surfaces = [
        ms.Surface(area=10.0, u=0.5, azimuth=200.0),
        ms.Surface(area=10.0, u=0.5, azimuth=0.0),
    ]
    overhang = {} if field == "tilt" else {"overhang_depth": 0.6}
    windows = [ms.Window(area=2.0, azimuth=200.0, **overhang)]

    def year() -> tuple[float, float]:
        envelope = ms.Envelope(surfaces=surfaces, windows=windows)
        light = sun(ms.House(floor_area=100, envelope=envelope), sample("greensboro"))
        return float(light.sol_air.mean()), float(light.windows.sum())

    before = year()
    listed: list[Any] = surfaces if kind is ms.Surface else windows
    listed[0] = attrs.evolve(listed[0], **{field: CHANGES[kind][field]})
    after = year()
    which = 0 if kind is ms.Surface else 1
    print(f"{kind.__name__}.{field}: {before} -> {after}")
    if field == "area" and kind is ms.Surface:
        assert after != before
    assert abs(after[which] / before[which] - 1.0) > 1e-4
    assert after[1 - which] == before[1 - which]


def test_no_field_of_a_surface_is_forgotten() -> None:
    """A window's U is in no sun: conduction is told by the box written out."""
    fields = {f"{kind.__name__}.{f.name}" for kind in CHANGES for f in attrs.fields(kind)}
    tried = {f"{kind.__name__}.{name}" for kind, names in CHANGES.items() for name in names}
    assert fields - tried == {"Window.u"}


def test_blinds_of_winter_are_for_october_to_march_and_south_of_the_equator_for_the_rest() -> None:
    window = ms.Window(area=2.0, azimuth=180.0, shading=0.5, shading_winter=1.0)
    envelope = ms.Envelope(surfaces=[ms.Surface(area=1, u=1)], windows=[window])
    plain = attrs.evolve(window, shading_winter=None)
    north = sample("greensboro")
    for weather, winter in (
        (north, (1, 2, 3, 10, 11, 12)),
        (attrs.evolve(north, latitude=-36.0), (4, 5, 6, 7, 8, 9)),
    ):
        ours, same = (
            sun(ms.House(floor_area=100, envelope=skin), weather).windows
            for skin in (envelope, attrs.evolve(envelope, windows=[plain]))
        )
        months = weather.frame.index.month.to_numpy()
        lit = same > 0.0
        ratio = np.where(np.isin(months, winter), 2.0, 1.0)[lit]
        assert ours[lit] / same[lit] == pytest.approx(ratio, rel=1e-12)


def test_an_overhang_keeps_the_summer_out_and_lets_the_winter_in() -> None:
    """An overhang stops more of June's sun than of December's.

    To the south, eaves of half the window's height: of June's sun a smaller share than of
    December's comes by, and deeper eaves never let more by.
    """
    weather, month = sample("greensboro"), sample("greensboro").frame.index.month
    passed = []
    for depth in (0.0, 0.35, 0.7, 1.4, 2.8):
        window = ms.Window(area=2.0, azimuth=180.0, overhang_depth=depth)
        envelope = ms.Envelope(surfaces=[ms.Surface(area=1, u=1)], windows=[window])
        through = sun(ms.House(floor_area=100, envelope=envelope), weather).windows
        passed.append((through[month == 6].sum(), through[month == 12].sum()))
    june, december = (np.array(column) / column[0] for column in zip(*passed, strict=True))
    print(june, december)
    assert (np.diff(june) < 0.0).all() and (np.diff(december) < 0.0).all()
    assert june[2] < 0.75 < december[2]


# ---------------------------------------------------------------------- refusals


def refusal(kind: Any, **fields: Any) -> str:
    with pytest.raises(ms.InputError) as caught:
        kind(**fields)
    return str(caught.value)


@pytest.mark.parametrize(
    ("kind", "fields", "text"),
    [
        (ms.Surface, {"area": 0, "u": 1},
         "Surface.area: 0 is too small. Use an area above 0 and up to 5,000 m² (above 0 and up to "
         "53,820 ft²)."),
        (ms.Surface, {"area": 1, "u": 1, "tilt": 91},
         "Surface.tilt: 91 is too large. Use an angle from 0 to 90 deg."),
        (ms.Surface, {"area": 1, "u": 1, "absorptance": 1.1},
         "Surface.absorptance: 1.1 is too large. Use a fraction from 0 to 1."),
        (ms.Window, {"area": 1, "azimuth": -1},
         "Window.azimuth: -1 is too small. Use an angle from 0 to below 360 deg."),
        (ms.Window, {"area": 1, "azimuth": 0, "incidence": "glass"},
         "Window.incidence: cannot use 'glass'. Use one of one surface, one pane, two panes, "
         "three panes."),
        (ms.Window, {"area": 1, "azimuth": 0, "tilt": 45, "overhang_depth": "1 ft"},
         "Window.overhang_depth: the window has a tilt of 45°. Use an overhang over an upright window (tilt 90°)."),
        (ms.Envelope, {"surfaces": 5},
         "Envelope.surfaces: cannot use 5. Use a list of Surface."),
        (ms.Envelope, {"windows": [ms.Window(area=1, azimuth=0)]},
         "Envelope.windows: windows without surfaces. Use windows together with surfaces."),
        (ms.Envelope, {"construction": "concrete"},
         "Envelope.construction: cannot use 'concrete'. Use one of light, medium, heavy."),
        (ms.Envelope, {"ground": "clay"},
         "Envelope.ground: cannot use 'clay'. Use a Ground."),
    ],
)  # fmt: skip
def test_refusals(kind: Any, fields: dict[str, Any], text: str) -> None:
    assert refusal(kind, **fields) == text


@pytest.mark.parametrize("field", BOX)
def test_a_box_beside_surfaces_is_refused(field: str) -> None:
    other = {"window_incidence": "three panes", "window_u": 1.5}.get(field, 0.5)
    text = refusal(ms.Envelope, surfaces=[ms.Surface(area=1, u=1)], **{field: other})
    assert text == (
        f"Envelope.{field}: {field} together with surfaces. Use either the fields of "
        "a box or a list of surfaces and windows."
    )


# ---------------------------------------------------------------------- mass by construction


def test_mass_is_that_of_the_construction_unless_given() -> None:
    """And follows when the construction is changed in a description that exists."""
    assert ms.Envelope().mass == (53e3, 160e3)
    heavy = attrs.evolve(ms.Envelope(), construction="heavy")
    assert heavy.mass == CONSTRUCTION["heavy"]
    assert attrs.evolve(heavy, slow_mass=0.0).mass == (63e3, 0.0)
    totals = [sum(mass) for mass in CONSTRUCTION.values()]
    assert totals == sorted(totals)


def test_heavy_houses_swing_less() -> None:
    """Without machines, in a week of May, the room's mean daily swing by construction."""
    swings = []
    for construction in CONSTRUCTION:
        house = ms.House(floor_area=150, envelope=ms.Envelope(construction=construction))
        season = ms.simulate(
            house, ms.Equipment(), ms.strategies.temperature_only, stretch("greensboro", 130, 7),
            step="5 min", spin_up="3 day",
        )  # fmt: skip
        daily = season.hourly["indoor_temperature_C"].resample("D")
        swings.append((daily.max() - daily.min()).mean())
    print(swings)
    assert swings == sorted(swings, reverse=True)
    assert swings[0] > 1.2 * swings[-1]


# ---------------------------------------------------------------------- typical houses


def test_a_typical_house_by_its_year() -> None:
    old = ms.House.typical(floor_area="1800 ft2", year=1965, climate="hot")
    assert (old.ach50, old.envelope.wall_u, old.envelope.window_u) == (12.0, 1.4, 6.0)
    assert old.envelope.window_incidence == "one pane"
    assert old.envelope.construction == "medium"
    new = ms.House.typical(floor_area="1800 ft2", year=2020, climate="hot", foundation="basement")
    assert (new.ach50, new.envelope.wall_u, new.envelope.floor_u) == (4.0, 0.45, 0.3)
    assert new.basement == ms.Basement()
    crawl = ms.House.typical(floor_area="1800 ft2", foundation="closed crawl space")
    assert crawl.crawl_space == ms.CrawlSpace(kind="closed")
    assert crawl.envelope.floor_u == 1.5


@pytest.mark.parametrize("climate", CLIMATES)
def test_practice_got_no_worse(climate: str) -> None:
    rows = [years[CLIMATES.index(climate)] for _, years in sorted(PRACTICE.items())]
    for name in ("wall_u", "roof_u", "floor_u", "window_u", "window_shgc", "ach50"):
        values = [getattr(row, name) for row in rows]
        assert values == sorted(values, reverse=True), name


@pytest.mark.parametrize("leakage", [{"cfm50": "900 cfm"}, ms.Leakage(cfm50="900 cfm")])
def test_a_measured_leakage_replaces_the_typical_one(leakage: Any) -> None:
    house = ms.House.typical(floor_area=150, year=1990, leakage=leakage)
    assert house.ach50 is None and house.leakage.cfm50 == pytest.approx(900 * 0.000471947, rel=1e-6)


def test_every_figure_of_a_typical_house_can_be_replaced() -> None:
    house = ms.House.typical(
        floor_area=150, stories=2, window_to_wall_ratio=0.1, ach50=1.5, bedrooms=4, year=1990,
        envelope={"wall_u": "0.3 W/(m2 K)", "ground": {"depth": 1.0}},
        gains={"appliances_and_lights": 300.0},
        moisture_store=ms.MoistureStore(area=2.0),
    )  # fmt: skip
    usual = ms.House.typical(floor_area=150, stories=2, window_to_wall_ratio=0.1, year=1990)
    assert house == attrs.evolve(
        usual,
        ach50=1.5,
        bedrooms=4.0,
        envelope=attrs.evolve(usual.envelope, wall_u=0.3, ground=ms.Ground(depth=1.0)),
        gains=ms.Gains(appliances_and_lights=300.0),
        moisture_store=ms.MoistureStore(area=2.0),
    )
    whole = ms.House.typical(floor_area=150, envelope=ms.Envelope(wall_u=0.2))
    assert whole.envelope == ms.Envelope(wall_u=0.2)


@pytest.mark.parametrize("field", [f.name for f in attrs.fields(TypicalHouse)])
def test_each_of_the_ten_fields_shows(field: str) -> None:
    other: dict[str, Any] = {
        "floor_area": 100.0, "stories": 2, "year": 1985, "climate": "cold", "window_to_wall_ratio": 0.3,
        "orientation": 90.0, "foundation": "basement", "construction": "heavy", "ach50": 1.0,
        "occupants": 5,
    }  # fmt: skip
    assert len(other) == 10
    usual = {"floor_area": 150.0}
    assert ms.House.typical(**{**usual, field: other[field]}) != ms.House.typical(**usual)


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        ({}, "House.typical: no floor_area. Use a floor_area, such as '2000 ft2'."),
        ({"floor_area": 100, "year": 1850},
         "TypicalHouse.year: cannot use 1850.0. Use a whole year from 1900 to 2100."),
        ({"floor_area": 100, "year": 1990.5},
         "TypicalHouse.year: cannot use 1990.5. Use a whole year from 1900 to 2100."),
        ({"floor_area": 100, "climate": "arctic"},
         "TypicalHouse.climate: cannot use 'arctic'. Use one of hot, mixed, cold."),
        ({"floor_area": 100, "foundation": "stilts"},
         "TypicalHouse.foundation: cannot use 'stilts'. Use one of slab, crawl space, closed "
         "crawl space, encapsulated crawl space, basement."),
        ({"floor_area": 100, "stories": 1.5},
         "House.stories: cannot use 1.5. Use one of 1, 2, 3."),
    ],
)  # fmt: skip
def test_refusals_of_typical_houses(fields: dict[str, Any], text: str) -> None:
    assert refusal(ms.House.typical, **fields) == text


# ---------------------------------------------------------------------- files

FILE = """\
[weather]
sample = "greensboro"
[season]
start = "06-01"
end = "06-02"
{house}
[equipment.cooling]
stages = [{{ capacity = "2 ton" }}]
[options.plain]
strategy = "temperature_only"
"""
SURFACES = """\
[house]
floor_area = "1600 ft2"
[house.envelope]
construction = "light"
surfaces = [
    { area = "900 ft2", u = "0.09 Btu/(h ft2 delta_degF)", azimuth = "90 deg" },
    { area = "1700 ft2", u = 0.2, tilt = "20 deg", absorptance = "85 %" },
]
[[house.envelope.windows]]
area = "100 ft2"
azimuth = "180 deg"
overhang_depth = "2 ft"
shading_winter = "90 %"
[[house.envelope.windows]]
area = "60 ft2"
azimuth = "270 deg"
[house.envelope.ground]
diffusivity = "0.025 ft2/hour"
"""
TYPICAL = """\
[house]
bedrooms = 4
[house.typical]
floor_area = "1600 ft2"
year = 1985
foundation = "crawl space"
[house.envelope]
roof_u = 0.15
"""


def read(folder: Path, house: str) -> Any:
    path = folder / "house.toml"
    path.write_text(FILE.format(house=house), encoding="utf-8")
    return read_scenario(path)


def test_surfaces_in_a_file(tmp_path: Path) -> None:
    scenario = read(tmp_path, SURFACES)
    envelope = scenario.study.house.envelope
    wall, roof = envelope.surfaces
    assert (wall.azimuth, wall.tilt, roof.tilt, roof.absorptance) == (90.0, 90.0, 20.0, 0.85)
    south, west = envelope.windows
    assert (south.overhang_depth, south.shading_winter) == (pytest.approx(0.6096), 0.9)
    assert (west.area, west.shading_winter) == (pytest.approx(5.574, abs=1e-3), None)
    assert envelope.ground.diffusivity == pytest.approx(0.025 * 0.3048**2 / 3600.0)
    assert envelope.mass == CONSTRUCTION["light"]
    write_scenario(scenario, tmp_path / "again.toml")
    assert read_scenario(tmp_path / "again.toml").study.house == scenario.study.house


def test_a_typical_house_in_a_file(tmp_path: Path) -> None:
    scenario = read(tmp_path, TYPICAL)
    expected = ms.House.typical(
        floor_area="1600 ft2", year=1985, foundation="crawl space", bedrooms=4,
        envelope={"roof_u": 0.15},
    )  # fmt: skip
    assert scenario.study.house == expected
    write_scenario(scenario, tmp_path / "again.toml")
    assert read_scenario(tmp_path / "again.toml").study.house == expected


@pytest.mark.parametrize(
    ("house", "old", "new", "text"),
    [
        (SURFACES, 'azimuth = "270 deg"', 'azimuth = "400 deg"',
         "house.toml [house.envelope.windows] number 2 azimuth: '400 deg' is too large. Use an "
         "angle from 0 to below 360 deg."),
        (SURFACES, 'construction = "light"', "wall_u = 0.3",
         ("house.toml [house.envelope] wall_u: wall_u together with surfaces. Use either the "
         "fields of a box or a list of surfaces and windows.")),
        (SURFACES, 'area = "60 ft2"', "",
         ("house.toml [house.envelope.windows] number 2 area: missing. Use area of glass and "
         "frame: an area, such as '2000 ft2' or '186 m2'.")),
        (TYPICAL, "year = 1985", "year = 1850",
         "house.toml [house.typical] year: cannot use 1850. Use a whole year from 1900 to 2100."),
        (TYPICAL, "roof_u = 0.15", "roof_u = -1",
         "house.toml [house.envelope] roof_u: -1 is too small. Use a U-value from 0 to 10 "
         "W/(m² K)."),
        (TYPICAL, 'floor_area = "1600 ft2"', "",
         ("house.toml [house.typical] floor_area: missing. Use conditioned floor area of all "
         "stories: an area, such as '2000 ft2' or '186 m2'.")),
    ],
)  # fmt: skip
def test_refusals_of_files(tmp_path: Path, house: str, old: str, new: str, text: str) -> None:
    assert old in house
    with pytest.raises(ScenarioError) as caught:
        read(tmp_path, house.replace(old, new))
    assert str(caught.value) == text
