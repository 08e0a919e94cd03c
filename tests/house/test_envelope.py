"""The window-to-wall ratio: one number, four numbers, from Python, from a file and in a sweep."""

from pathlib import Path

import attrs
import pytest
from support.scenario_files import HOUSE, read, refused, write_ten_days

import moistsim as ms
from moistsim.engine.forcing import skin
from moistsim.scenario import write_scenario
from moistsim.sweep import find, varied


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the weather of the scenario."""
    here = tmp_path_factory.mktemp("envelope")
    write_ten_days(here / "june.csv", "06-01")
    return here


def test_one_number_holds_for_all_four_walls() -> None:
    ratio = ms.WindowToWallRatio(front=0.15, back=0.15, left=0.15, right=0.15)
    for given in (0.15, "15 %", ratio):
        assert ms.Envelope(window_to_wall_ratio=given).window_to_wall_ratio == ratio


def test_each_wall_gets_its_own_glass() -> None:
    """A house of 10 m by 10 m that faces west: 25 m2 a wall; left of it, as one faces it, north."""
    house = ms.House(
        floor_area=100.0,
        envelope=ms.Envelope(
            orientation=270.0,
            aspect=1.0,
            window_to_wall_ratio=ms.WindowToWallRatio(front=0.1, back=0.2, left=0.3, right=0.4),
        ),
    )
    glass = {window.azimuth: window.area for window in skin(house).windows}
    assert glass == pytest.approx({270.0: 2.5, 90.0: 5.0, 0.0: 7.5, 180.0: 10.0})


def test_a_bad_ratio_is_refused_by_its_own_name() -> None:
    for fields, where in (
        ({"window_to_wall_ratio": 0.99}, "Envelope.window_to_wall_ratio"),
        ({"window_to_wall_ratio": "much"}, "Envelope.window_to_wall_ratio"),
        ({"window_to_wall_ratio": None}, "Envelope.window_to_wall_ratio"),
    ):
        with pytest.raises(ms.InputError) as caught:
            ms.Envelope(**fields)
        assert caught.value.where == where
        assert "all four walls" in caught.value.accepted
    with pytest.raises(ms.InputError) as caught:
        ms.WindowToWallRatio(left=-0.1)
    assert caught.value.where == "WindowToWallRatio.left"


@pytest.mark.parametrize(
    ("line", "ratio"),
    [
        ("window_to_wall_ratio = 0.15", ms.Envelope(window_to_wall_ratio=0.15)),
        ('window_to_wall_ratio = "15 %"', ms.Envelope(window_to_wall_ratio=0.15)),
        (
            "window_to_wall_ratio.front = 0.3\nwindow_to_wall_ratio.left = 0.1",
            ms.Envelope(window_to_wall_ratio=ms.WindowToWallRatio(front=0.3, left=0.1)),
        ),
    ],
)
def test_a_file_says_it_either_way(folder: Path, line: str, ratio: ms.Envelope) -> None:
    scenario = read(folder, HOUSE.replace("wall_u = 0.5", f"wall_u = 0.5\n{line}"))
    expected = attrs.evolve(ratio, wall_u=0.5)
    assert scenario.study.house.envelope == expected
    write_scenario(scenario, folder / "as_run.toml")
    again = read(folder, (folder / "as_run.toml").read_text(encoding="utf-8"))
    assert again.study.house == scenario.study.house


def test_a_file_with_a_bad_ratio_is_refused_where_it_stands(folder: Path) -> None:
    for line, where in (
        ("window_to_wall_ratio = 2", "[house.envelope] window_to_wall_ratio:"),
        ("window_to_wall_ratio.front = 2", "[house.envelope.window_to_wall_ratio] front:"),
        ("window_to_wall_ratio.frnt = 0.2", "[house.envelope.window_to_wall_ratio]:"),
    ):
        assert where in refused(folder, HOUSE.replace("wall_u = 0.5", line))


def test_a_typical_house_takes_one_number_and_a_wall_that_differs() -> None:
    house = ms.House.typical(
        floor_area=150.0,
        window_to_wall_ratio=0.1,
        envelope={"window_to_wall_ratio": {"front": 0.3}},
    )
    assert house.envelope.window_to_wall_ratio == ms.WindowToWallRatio(
        front=0.3, back=0.1, left=0.1, right=0.1
    )


def test_a_sweep_varies_one_wall(folder: Path) -> None:
    study = read(folder, HOUSE).study
    name = "house.envelope.window_to_wall_ratio.front"
    assert (find(study, name).kind, find(study, name).unit) == ("number", "fraction")
    for _, changed in varied(study, {name: 0.4}):
        assert isinstance(changed, ms.Study)
        ratio = changed.house.envelope.window_to_wall_ratio
        assert ratio == ms.WindowToWallRatio(front=0.4)
