"""A scenario with the values of a fit: written, read again, and changed by hand."""

from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pandas as pd
import pytest

import moistsim as ms
from moistsim.scenario import (
    DEMO,
    ScenarioError,
    inputs,
    measured_scenario,
    read_scenario,
    write_draws,
    write_scenario,
)
from moistsim.uncertainty import MeasuredHouse

SCENARIO = read_scenario(DEMO)
BASE = SCENARIO.study.base
LOGGED = SCENARIO.study.resolved[BASE].equipment
AIR, VAPOR, AIRING = "house.ach50", "house.gains.moisture", "house.window_opening.area"


class Fake:
    """A fit of two structures, one of which opens windows; the fan moves in both."""

    house, equipment = SCENARIO.study.house, LOGGED
    draws = pd.DataFrame(
        {
            AIR: np.linspace(1.0, 4.0, 20),
            VAPOR: 6e-5 * np.linspace(1.0, 4.0, 20),
            AIRING: [np.nan, 0.2] * 10,
            "equipment.ventilation.airflow": np.linspace(0.02, 0.05, 20),
            "rhythm.peaks": 0.5,
            "structure": ["closed", "opened"] * 10,
        }
    )

    def described(self, row: Any) -> tuple[ms.House, ms.Equipment]:
        opens = row["structure"] == "opened"
        profile = [1.0 + (0.5 if h < 12 else -0.5) for h in range(24)]
        house = attrs.evolve(
            self.house, ach50=row[AIR],
            gains=attrs.evolve(self.house.gains, moisture=row[VAPOR], moisture_profile=profile),
            window_opening=ms.WindowOpening(area=row[AIRING]) if opens else None,
        )  # fmt: skip
        fan = attrs.evolve(self.equipment.ventilation, airflow=row["equipment.ventilation.airflow"])
        return house, attrs.evolve(self.equipment, ventilation=fan)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("measured")
    measured = MeasuredHouse.of(Fake())
    write_draws(measured, folder / "draws.json")
    made = measured_scenario(SCENARIO, measured, 9, folder / "draws.json")
    write_scenario(made, folder / "house.toml", "# measured\n")
    return folder / "house.toml"


def test_the_file_has_the_values_of_one_draw_and_their_bands(written: Path) -> None:
    found, fit = read_scenario(written), Fake()
    house, machines = fit.described(fit.draws.iloc[9])
    assert found.study.house == house and house.window_opening is not None
    for option, before in SCENARIO.study.resolved.items():
        after = found.study.resolved[option]
        assert after.equipment.ventilation == machines.ventilation
        assert after.equipment.cooling == before.equipment.cooling
    band: Any = found.ranges[AIR]
    low, high = np.quantile(fit.draws[AIR], [0.05, 0.95])
    assert (band.low, band.likely, band.high) == pytest.approx((low, house.ach50, high))
    origins = {item.key: item.origin for item in inputs(found)}
    assert origins[AIR] == origins[VAPOR] == "measured"
    assert origins["equipment.ventilation.airflow"] == "measured"
    assert origins["house.envelope.wall_u"] == "assumed"
    # Loggers are no blower door.
    assert not found.is_leakage_measured


def test_the_draws_come_back_as_they_were(written: Path) -> None:
    found, fit = read_scenario(written).draws, Fake()
    assert found is not None
    for k, row in found.draws.iterrows():
        house, machines = fit.described(fit.draws.loc[k])
        again, own = found.described(row)
        assert again == house and own.ventilation == machines.ventilation


def test_a_study_of_the_file_draws_whole_houses(written: Path) -> None:
    found = read_scenario(written)
    short = attrs.evolve(found.study, start="07-10", end="07-11", step="15 min")
    pair = ("Stand-alone dehumidifier", "Cooling by temperature only")
    fit = Fake()
    sure, direct = (
        ms.how_sure(
            short, found.purchases, found.terms, found.ranges, measured=measured, options=pair, n=8,
            stand_ins=False, progress=False,
        )
        for measured in (found.draws, fit)
    )  # fmt: skip
    assert (sure.cases["status"] == "ok").all()
    pd.testing.assert_frame_equal(sure.results, direct.results)
    ratio = sure.cases[VAPOR].astype(float) / sure.cases[AIR].astype(float)
    assert ratio.to_numpy() == pytest.approx(np.full(8, 6e-5))


def test_a_value_that_somebody_changed_is_not_drawn(written: Path, tmp_path: Path) -> None:
    text = written.read_text()
    band = text[text.index("[house.ach50]") : text.index("\n\n", text.index("[house.ach50]"))]
    changed = text.replace(band, "").replace("[house]\n", "[house]\nach50 = 1.5\n", 1)
    (tmp_path / "house.toml").write_text(changed)
    (tmp_path / "draws.json").write_bytes((written.parent / "draws.json").read_bytes())
    found = read_scenario(tmp_path / "house.toml")
    assert found.draws is not None and AIR not in found.draws.draws and VAPOR in found.draws.draws
    houses = [found.draws.described(row)[0] for _, row in found.draws.draws.iterrows()]
    assert {house.ach50 for house in houses} == {1.5}
    assert next(i for i in inputs(found) if i.key == AIR).origin == "stated"


@pytest.mark.parametrize(
    ("content", "sentence"), [(None, "No such file"), ("{}", "does not hold draws"), ("x", "draws")]
)
def test_a_missing_or_damaged_file_of_draws_is_refused(
    written: Path, tmp_path: Path, content: str | None, sentence: str
) -> None:
    (tmp_path / "house.toml").write_text(written.read_text())
    if content is not None:
        (tmp_path / "draws.json").write_text(content)
    with pytest.raises(ScenarioError, match=sentence):
        read_scenario(tmp_path / "house.toml")
