"""What the fuzz found, each with its smallest input."""

from pathlib import Path

import pytest
from support.careless_weather import begin
from support.fuzz_rule import check_finite, check_season, check_sentence
from support.houses import house
from support.machines import machines
from support.weathers import stretch

import moistsim as ms
from moistsim.core.errors import Problem, one_of
from moistsim.engine.forcing import skin
from moistsim.equipment import Enable
from moistsim.scenario import read_scenario


def refusal(use: object) -> str:
    """The sentence with which a call is refused."""
    assert callable(use)
    with pytest.raises(ms.InputError) as caught:
        use()
    return str(caught.value)


def test_a_fault_that_lasts_for_ever_ends_with_the_season() -> None:
    fault = ms.faults.LateMessages(by="5 min", lasts=1e300)
    days = stretch("greensboro", 120, 2)
    season = ms.simulate(
        house(), machines(), ms.strategies.temperature_only, days, spin_up=0, faults=[fault]
    )
    check_season(season)


@pytest.mark.parametrize("cuts", [[{}], [[]], [None], ["strips", {}]])
def test_what_is_no_word_is_refused_as_one(cuts: list[object]) -> None:
    check_sentence(refusal(lambda: Enable(cuts=cuts)), ["Enable.cuts"])


def test_a_large_house_is_not_asked_about_walls_that_it_did_not_state() -> None:
    large = ms.House(floor_area="8000 ft2", stories=1)
    assert len(skin(large).surfaces) == 5
    assert len(skin(ms.House.typical(floor_area=500, window_to_wall_ratio="75 %")).windows) == 4


def test_a_sweep_does_not_ask_about_a_number_with_its_unit() -> None:
    """Its cases are in SI, where 8,000 ft2 are a bare 743."""
    study = ms.Study(
        house(),
        {"One": (machines(), ms.strategies.temperature_only)},
        stretch("miami", 190, 2),
        step="15 min",
    )
    for values in (["8000 ft2"], ms.uniform("7000 ft2", "9000 ft2")):
        how = {} if isinstance(values, list) else {"sample": "sobol", "n": 2}
        sweep = ms.Sweep(study, {"house.floor_area": values}, **how)
        assert set(sweep.run(workers=1, progress=False)["status"]) == {"ok"}


def test_a_long_value_is_shown_in_short() -> None:
    for value in (
        "9" * 100_000,
        "(" * 3000,
        10**20_000,
        [1.0] * 500,
        [[[[[]]]]] * 90,
        {"a": "b" * 900},
    ):
        check_sentence(refusal(lambda v=value: ms.House(floor_area=v)), ["House.floor_area"])
    check_sentence(refusal(lambda: ms.Gains(presence=[1.0] * 500)), ["Gains.presence"])
    check_sentence(
        refusal(lambda: ms.strategies.overcooling(heating_setpoint=1e308)), ["overcooling"]
    )


@pytest.mark.parametrize("options", [-1.0, "1 000", [], {}, {3: ()}, [("One", 1)]])
def test_options_are_a_dict(options: object) -> None:
    sentence = refusal(lambda: ms.Study(house(), options, stretch("miami", 190, 2)))  # type: ignore[arg-type]
    check_sentence(sentence, ["Study.options"])


@pytest.mark.parametrize("base", [{}, [], 3, ""])
def test_a_base_is_the_name_of_an_option(base: object) -> None:
    options = {"One": (machines(), ms.strategies.temperature_only)}
    sentence = refusal(lambda: ms.Study(house(), options, stretch("miami", 190, 2), base=base))  # type: ignore[arg-type]
    check_sentence(sentence, ["Study.base"])


@pytest.mark.parametrize("step", [5e-324, 1e-9, "1e-300 s", 0, -60, 7])
def test_a_step_of_next_to_nothing_is_refused(step: object) -> None:
    def run() -> None:
        ms.simulate(
            house(), machines(), ms.strategies.temperature_only, stretch("miami", 190, 2), step=step
        )

    check_sentence(refusal(run), ["simulate step"])


def test_a_number_too_large_for_a_float_is_refused_on_a_label() -> None:
    for number in (10**400, 10**20_000):
        check_sentence(
            refusal(lambda n=number: ms.Cooling.from_label("2.5 ton", seer2=n)), ["seer2"]
        )


def test_a_material_of_no_weight_is_refused() -> None:
    check_sentence(refusal(lambda: ms.MoistureStore(area=4, density=5e-324)), ["density"])


def test_a_long_unknown_key_leaves_room_for_the_known_ones() -> None:
    known = [f"known_{k}" for k in range(19)]
    sentence = str(ms.InputError("house.toml", Problem("unknown key"), one_of("m2" * 200, known)))
    assert len(sentence) < 250


def test_a_spin_up_before_its_end_is_refused() -> None:
    plain = ms.strategies.temperature_only
    for span in (-1, "-2 day"):
        sentence = refusal(
            lambda s=span: ms.simulate(
                house(), machines(), plain, stretch("miami", 190, 2), spin_up=s
            )
        )
        check_sentence(sentence, ["simulate spin_up"])


@pytest.mark.parametrize("column", ["GHI (W/m^2)", "Pressure (mbar)", "DHI source"])
def test_a_word_in_a_column_of_tmy3_is_no_traceback(column: str, tmp_path: Path) -> None:
    lines = begin()["tmy3"].splitlines()
    k = lines[1].split(",").index(column)
    for row in (3, 4000):
        cells = lines[row].split(",")
        cells[k] = "x"
        lines[row] = ",".join(cells)
    file = tmp_path / "w.csv"
    file.write_text("\n".join(lines) + "\n")
    if column == "DHI source":
        assert len(ms.Weather.read(file)) == 8760
    else:
        check_sentence(refusal(lambda: ms.Weather.read(file)), ["w.csv line 4"])


@pytest.mark.parametrize("text", [".", "+.", "-. m2", ".e5", "+.e5 m2", ".\x82", "$.", ". m2", ""])
def test_a_point_without_a_digit_is_no_number(text: str) -> None:
    check_sentence(refusal(lambda: ms.House(floor_area=text)), ["House.floor_area"])


def test_an_investment_of_next_to_nothing_is_none() -> None:
    control = ms.strategies.temperature_only
    options = {"One": (machines(), control), "Two": (machines(dehumidifier=None), control)}
    comparison = ms.Study(house(), options, stretch("miami", 190, 2)).run(progress=False)
    for cost in (5e-324, 1e-200, 0.001):
        purchases = {"One": ms.Purchase(first_cost=0), "Two": ms.Purchase(first_cost=cost)}
        check_finite(ms.economics(comparison, purchases, ms.Terms(years=10)).table())


def test_a_way_to_describe_a_machine_is_suggested(tmp_path: Path) -> None:
    file = tmp_path / "house.toml"
    file.write_text(
        '[weather]\nsample = "miami"\n[house]\nfloor_area = "1500 ft2"\n'
        '[equipment.cooling.labell]\ncapacity = "2 ton"\n'
    )
    assert refusal(lambda: read_scenario(file)).endswith("'labell'. Did you mean 'label'?")


@pytest.mark.parametrize(
    "name",
    ["weather.low", "weather.", "house." + "é" * 40, "house" + "x" * 300, "options." + "x" * 99],
)
def test_a_name_that_a_study_lacks_is_one_sentence(name: str) -> None:
    options = {"One": (machines(), ms.strategies.temperature_only)}
    study = ms.Study(house(), options, stretch("miami", 190, 2))
    check_sentence(refusal(lambda: ms.Sweep(study, {name: [1, 2]})), ["Sweep.vary"])
