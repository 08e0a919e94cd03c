"""Sizing: loads that balance, a need that a machine of the size named covers, sizes that help."""

import io
from contextlib import redirect_stderr, redirect_stdout
from functools import lru_cache
from pathlib import Path

import attrs
import numpy as np
import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text
from support.houses import house
from support.machines import two_stage
from support.machines_at_a_point import one_step
from support.scenario_files import FIVE_OPTIONS, write_ten_days
from support.weathers import stretch

import moistsim as ms
from moistsim.__main__ import main
from moistsim.commands.screen import WIDTH
from moistsim.core.display import Show
from moistsim.figures import sizing_figure
from moistsim.sizing.answer import WETTEST
from moistsim.sizing.columns import in_units
from moistsim.sizing.conditions import HOT, HUMID, MILD, conditions
from moistsim.sizing.loads import loads
from moistsim.sizing.sweeps import ENOUGH, enough, of_size, scaled
from moistsim.sizing.words import lines

PLAIN, DRYER = "thermostat", "dehumidifier"
FEW = ("20 pint/day", "40 pint/day", "80 pint/day")


def machines(**changes) -> ms.Equipment:
    return ms.Equipment(
        **{
            "cooling": two_stage(),
            "strips": ms.Strips(stages=["5 kW"]),
            "ventilation": ms.Ventilation(kind="supply", airflow="90 cfm"),
            **changes,
        }
    )


def study(**changes) -> ms.Study:
    """Four weeks of a Miami autumn, in coarse steps: hot at first, mild at the end."""
    dryer = machines(dehumidifier=ms.Dehumidifier(capacity="70 pint/day"))
    options = {
        PLAIN: (machines(), ms.strategies.temperature_only),
        DRYER: (dryer, ms.strategies.with_dehumidifier(target_rh=50)),
    }
    return ms.Study(
        **{
            "house": house(),
            "weather": stretch("miami", 290, 35),
            "options": options,
            "step": "5 min",
            **changes,
        }
    )


@lru_cache
def sized() -> ms.Sizing:
    return ms.size(study(), sizes=FEW, progress=False)


# ------------------------------------------------------------------ loads


OUTSIDE = house(ach50=8.0, ducts=ms.Ducts(location="attic", supply_leakage=0.1))


OVER_CRAWL_SPACE = house(
    ach50=8.0,
    crawl_space=ms.CrawlSpace(kind="closed"),
    attic=ms.Attic(),
    garage=ms.Garage(),
    ducts=ms.Ducts(location="crawl space", supply_leakage=0.05, return_leakage=0.08),
)
OVER_BASEMENT = house(basement=ms.Basement(house_air=0.02), attic=ms.Attic(kind="sealed"))
HOUSES = {
    "tight": house(),
    "leaky, with ducts outside": OUTSIDE,
    "crawl space, attic and garage, with ducts below": OVER_CRAWL_SPACE,
    "basement and sealed attic": OVER_BASEMENT,
}


@pytest.mark.parametrize("of", [*HOUSES.values()], ids=[*HOUSES])
def test_loads_are_what_machines_took(of):
    """An audit from the other side: what the coil and the dehumidifier took, less their own heat."""
    equipment = machines(dehumidifier=ms.Dehumidifier(capacity="90 pint/day", humidistat="50 %"))
    season = ms.simulate(
        of, equipment, ms.strategies.temperature_only, stretch("miami", 260, 14), step="1 min"
    )
    table, found = season.hourly, loads(season)
    took = table["water_coil_kg"] + table["water_reevaporated_kg"] + table["water_dehumidifier_kg"]
    brought = 3600.0 * found.water.sum(axis=1)
    # What the hour's means leave open, and the room's own air.
    assert brought.sum() == pytest.approx(-took.sum(), rel=0.003)
    # Day by day too, but for what the room's own air holds.
    by_day = pd.DatetimeIndex(table.index).date
    gap = brought.groupby(by_day).sum() + took.groupby(by_day).sum()
    assert gap.abs().max() < 3.0
    vapor = 2501e3 + 1860.0 * table["indoor_temperature_C"]
    dried = -table["water_dehumidifier_kg"] * vapor / 3.6e6 + table["heat_dehumidifier_drain_kWh"]
    own = table["indoor_fan_kWh"] + table["dehumidifier_kWh"] + dried
    # Drying off, an idle coil cools the air.
    cooled = table["water_reevaporated_kg"] * vapor / 3.6e6
    sensible = found.sensible.sum(axis=1).sum() / 1000.0
    taken = (table["coil_sensible_kWh"] - own + cooled).sum()
    assert sensible == pytest.approx(taken, rel=0.005)
    assert (found.sensible["ducts"].mean() > 100.0) == (of in (OUTSIDE, OVER_CRAWL_SPACE))
    # Each space has its row, and the total of the table is the sum of its rows.
    every = found.mean(np.ones(len(table), dtype=bool))
    assert {name.replace("_", " ") for name in of.spaces} <= {*every.index}
    assert every.loc["total"].to_numpy() == pytest.approx(every.drop("total").sum().to_numpy())


def test_people_and_appliances_are_all_the_gains():
    season = ms.simulate(
        house(gains=ms.Gains(occupants=4)), machines(), ms.strategies.temperature_only,
        stretch("miami", 290, 3), step="5 min",
    )  # fmt: skip
    found = loads(season).sensible
    both = (found["people"] + found["appliances and lights"]).sum()
    assert both == pytest.approx(1000.0 * season.hourly["heat_gains_kWh"].sum())
    assert 4 * 70.0 * 0.3 < found["people"].mean() <= 4 * 70.0
    nobody = ms.simulate(
        house(gains=ms.Gains(occupants=0, moisture=0)), machines(), ms.strategies.temperature_only,
        stretch("miami", 290, 3), step="5 min",
    )  # fmt: skip
    none = loads(nobody)
    assert none.sensible["people"].abs().max() == none.water["household moisture"].abs().max() == 0


def test_conditions_are_of_the_hours_that_they_name():
    found = sized().conditions
    assert [*found] == [HUMID, HOT, MILD]
    whole = study().weather
    climate = whole.describe("si")
    assert found[HUMID].outdoor_dew_point == climate["dew point 1 % [degC]"]
    assert found[HUMID].outdoor == climate["dew point 1 % MCDB [degC]"]
    frame = whole.frame
    assert (frame["temp_air"] > found[HOT].outdoor).mean() == pytest.approx(0.01, abs=0.003)
    dew = frame["temp_dew"].to_numpy()[found[HUMID].hours]
    assert np.abs(dew - found[HUMID].outdoor_dew_point).max() <= 0.5
    assert found[MILD].hours.sum() == 24
    assert found[MILD].label(Show("us")).startswith("mild day, ")
    assert 50.0 < found[HUMID].outdoor_rh < 100.0


def test_loads_are_at_the_setpoints():
    found = sized()
    assert found.room == (24.5, 50.0)
    held = found.air_conditioner
    assert held["room_C"].between(23.5, 25.5).all()
    assert held.loc[[HUMID, MILD], "room_rh_pct"].between(47.0, 52.0).all()
    for name in found.conditions:
        table = found.loads.loc[name]
        parts = table.drop(index="total").sum()
        assert table.loc["total"].to_numpy() == pytest.approx(parts.to_numpy())
        # 2.5 MJ to condense a kilogram.
        latent = table.loc["total", "water_kg_day"] / 86400.0 * 2.547e6
        assert table.loc["total", "latent_W"] == pytest.approx(latent, rel=0.01)
    hot, mild = (found.loads.loc[name].loc["total"] for name in (HOT, MILD))
    assert hot["sensible_W"] > 2.0 * mild["sensible_W"]


def test_what_is_still_to_remove_is_the_load_less_the_coil():
    found = sized()
    for name in found.conditions:
        load = found.loads.loc[name].loc["total", "water_kg_day"]
        coil = found.air_conditioner.loc[name, "held_water_kg_day"]
        still = found.need.loc[name, "still_kg_day"]
        assert coil + still == pytest.approx(load, abs=0.08 * load + 1.0)
    alone = found.air_conditioner
    assert alone.loc[MILD, "alone_runtime_h_day"] < 6.0 < alone.loc[HOT, "alone_runtime_h_day"]
    assert alone.loc[MILD, "runtime_fraction"] < alone.loc[HOT, "runtime_fraction"]
    assert (alone["alone_rh_pct"] >= alone["room_rh_pct"] - 1.0).all()


# ------------------------------------------------------------------ machines


@pytest.mark.parametrize("rating", ["26.7 degC", "18.3 degC portable", "22.8 degC whole-home"])
def test_a_machine_of_the_rated_size_covers_the_need(rating):
    """The engine, one step at the room's condition, with a machine of the size that is named."""
    found = sized()
    need = found.need.loc[WETTEST]
    rated = need[f"rated_{rating}_kg_day"] / 86400.0
    dryer = ms.Dehumidifier(capacity=rated, rating=rating)
    _, step = one_step(
        ms.Equipment(dehumidifier=dryer), room=(need["room_C"], 0.50), outdoors=(10.0, 0.5),
        dehumidifier=1.0,
    )  # fmt: skip
    assert -step.water_dehumidifier * 86400.0 == pytest.approx(need["still_kg_day"], rel=1e-6)
    assert found.rated == found.need["rated_26.7 degC_kg_day"].max()


def test_a_larger_air_conditioner_is_the_same_but_larger():
    larger = scaled(machines(), 1.5).cooling
    assert [s.capacity for s in larger.stages] == [
        pytest.approx(1.5 * s.capacity) for s in two_stage().stages
    ]
    for k in range(2):
        was, now = two_stage().gross_rating(k), larger.gross_rating(k)
        assert now.shr == pytest.approx(was.shr)
        assert now.capacity == pytest.approx(1.5 * was.capacity)
        assert now.apparatus_dew_point == pytest.approx(was.apparatus_dew_point)
    assert larger.coil_face_area == pytest.approx(1.5 * two_stage().coil_face_area)


def test_oversizing_is_capacity_over_load():
    found = sized()
    over, table = found.oversizing, found.cooling_sizes
    hot = found.air_conditioner.loc[HOT]
    load = found.loads.loc[HOT].loc["total"]
    if hot["stage"] == 2.0:
        assert over["sensible"] == pytest.approx(hot["stage_sensible_W"] / load["sensible_W"])
    assert table["over_load"].to_numpy() == pytest.approx(
        min(over["sensible"], over["total"]) * table.index.to_numpy()
    )
    # A larger machine runs less and starts more often.
    assert table["compressor_starts"].iloc[-1] > 1.5 * table["compressor_starts"].iloc[0]
    # Its size as described is the season of the thermostat alone.
    alone = ms.simulate(
        study().house, machines(), ms.strategies.temperature_only, study().weather, step="5 min"
    )
    assert table.loc[1.0, "total_kWh"] == pytest.approx(alone.meter.total_kwh)


def test_strips_make_up_for_what_a_stage_takes_too_much():
    found = sized()
    table, load = found.reheat, found.loads.loc[MILD].loc["total", "sensible_W"]
    assert [*table.index] == [1, 2]
    assert table["strips_mean_W"].to_numpy() == pytest.approx(table["sensible_W"].to_numpy() - load)
    assert (table["strips_most_W"] >= table["strips_mean_W"]).all()
    assert table["strips_A"].to_numpy() == pytest.approx(table["strips_most_W"].to_numpy() / 240.0)
    parts = table[["compressor_A", "blower_A", "strips_A"]].sum(axis=1)
    assert table["circuit_A"].to_numpy() == pytest.approx(1.25 * parts.to_numpy())
    others = 1.25 * (table["compressor_A"] + table["blower_A"] + 5000.0 / 240.0)
    assert table["described_circuit_A"].to_numpy() == pytest.approx(others.to_numpy())
    # Held up, the room stays: stage 1 without a break, strips in proportion, at the mean load.
    assert table.loc[2, "strips_mean_W"] > table.loc[1, "strips_mean_W"] > 0.0


# ------------------------------------------------------------------ sizes


def test_sizes_of_dehumidifiers():
    found = sized()
    table = found.dehumidifier_sizes
    pint = ms.units.from_si(1.0, "kg", "pint")
    assert (table.index * pint).to_numpy() == pytest.approx([0.0, 20.0, 40.0, 80.0])
    assert table["dehumidifier_starts"].iloc[0] == table["dehumidifier_water_kg"].iloc[0] == 0.0
    excess = table["excess_pct_h"].to_numpy()
    assert (np.diff(excess) <= 1.0).all()
    assert excess[0] > 100.0
    assert (np.diff(table["dehumidifier_h"].iloc[1:]) < 0.0).all()
    assert (np.diff(table["dehumidifier_starts"].iloc[1:]) > 0.0).all()
    assert found.enough in [*table.index[1:]]
    # Control and machine are those of the option: its own size, run alone, is its row.
    own = ms.size(study(), sizes=["70 pint/day"], progress=False).dehumidifier_sizes
    season = study().run(progress=False).seasons[DRYER]
    assert own["total_kWh"].iloc[1] == pytest.approx(season.meter.total_kwh)


def test_where_more_stops_helping():
    def table(*excess):
        return pd.DataFrame({"excess_pct_h": excess}, index=range(len(excess)))

    assert enough(table(1000.0, 500.0, 12.0, 9.0, 0.0)) == 3
    # Of what the largest takes away, not of all: a machine cannot do what none of them can.
    assert enough(table(1000.0, 405.0, 400.0)) == 1
    assert enough(table(0.0, 0.0, 0.0)) is None
    assert ENOUGH == 0.99


def test_a_size_has_the_air_that_it_needs():
    small = of_size(ms.Dehumidifier(capacity="70 pint/day"), 2.0 * 70 * 0.4723 / 86400.0)
    assert small.airflow == pytest.approx(2.0 * ms.Dehumidifier(capacity=3e-4).airflow, rel=0.01)


def test_more_ventilation_asks_for_more():
    wetter = {
        name: (attrs.evolve(m, ventilation=ms.Ventilation(kind="supply", airflow="150 cfm")), s)
        for name, (m, s) in study().options.items()
    }
    found = ms.size(study(options=wetter), sizes=["40 pint/day"], progress=False)
    assert found.need.loc[HUMID, "still_kg_day"] > 1.2 * sized().need.loc[HUMID, "still_kg_day"]
    brought = [x.loads.loc[HUMID].loc["ventilation", "water_kg_day"] for x in (sized(), found)]
    assert brought[1] == pytest.approx(brought[0] * 150.0 / 90.0, rel=0.03)


def test_drier_asks_for_more_and_the_room_may_be_chosen():
    found = ms.size(
        study(), rh="45 %", temperature="74 degF", sizes=["60 pint/day"], progress=False
    )
    assert found.room == (pytest.approx((74.0 - 32.0) / 1.8), 45.0)
    assert found.control.setpoint == 45.0
    assert found.rated > 1.2 * sized().rated
    assert found.derating["26.7 degC"] < sized().derating["26.7 degC"]


def test_without_a_dehumidifier_or_a_humidistat():
    bare = study(options={PLAIN: (machines(strips=None), ms.strategies.temperature_only)})
    found = ms.size(bare, sizes=["40 pint/day"], progress=False)
    assert found.room == (24.5, 50.0)
    assert found.reheat["described_circuit_A"].isna().all()
    assert found.dehumidifier_sizes["dehumidifier_starts"].iloc[1] > 0
    text = "\n".join(lines(found, "us"))
    assert "all strips of the scenario" not in text


# ------------------------------------------------------------------ what it says


def test_trade_units():
    si, us = sized().tables("si"), sized().tables("us")
    assert us["need"]["still_pint_day"].to_numpy() == pytest.approx(
        si["need"]["still_kg_day"].to_numpy() / (0.473176473 * 0.9982), rel=1e-6
    )
    assert us["loads"]["latent_Btu_h"].to_numpy() == pytest.approx(
        si["loads"]["latent_W"].to_numpy() * 3.412142, rel=1e-5
    )
    assert us["air_conditioner"]["room_F"].to_numpy() == pytest.approx(
        si["air_conditioner"]["room_C"].to_numpy() * 1.8 + 32.0
    )
    assert us["dehumidifier_sizes"].index.name == "rated_pint_day"
    assert us["dehumidifier_sizes"].index.to_numpy() == pytest.approx([0.0, 20.0, 40.0, 80.0])
    # Strips are bought in kW.
    assert [*us["reheat"]["strips_most_W"]] == [*si["reheat"]["strips_most_W"]]
    assert in_units(si["need"], "si") is si["need"]
    with pytest.raises(ms.InputError, match="'si' or 'us'"):
        sized().tables("metric")


@pytest.mark.parametrize("units", ["us", "si"])
def test_lines_fit_and_hold_the_numbers(units):
    text = [*lines(sized(), units)]
    assert max(map(len, text)) <= WIDTH
    assert all(line == line.rstrip() for line in text)
    said = "\n".join(text)
    table = sized().tables(units)
    power = "Btu_h" if units == "us" else "W"
    for name in sized().conditions:
        assert f"{table['loads'].loc[name].loc['total', f'sensible_{power}']:,.0f}" in said
    assert f"{sized().reheat['circuit_A'].max():.1f}" in said
    assert "not a wire size" in said
    assert ("80 °F" in said) == (units == "us")
    assert "nan" not in said


@pytest.mark.slow
@pytest.mark.parametrize("units", ["us", "si"])
def test_picture_is_not_cut_off(units):
    figure = sizing_figure(sized(), units)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    width, height = canvas.get_width_height()
    # Ticks beyond an axis' limits keep their text, and are not drawn.
    unseen = {
        tick.label1
        for ax in figure.axes
        for axis in (ax.xaxis, ax.yaxis)
        for tick in axis.get_major_ticks()
        if not min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())
    }
    for text in set(figure.findobj(Text)) - unseen:
        if text.get_text() and text.get_visible():
            box = text.get_window_extent()
            assert box.x0 >= -1 and box.y0 >= -1 and box.x1 <= width + 1 and box.y1 <= height + 1
    bars = [bar for bar in figure.findobj(type(figure.axes[0].patches[0])) if bar.get_width()]
    longest = max(abs(bar.get_width()) for bar in bars)
    column = "sensible_Btu_h" if units == "us" else "sensible_W"
    assert longest == pytest.approx(sized().tables(units)["loads"][column].abs().max())


# ------------------------------------------------------------------ bad input, command line


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"rh": "90 %"}, "size rh: cannot use '90 %'. Use a value from 30 to 75 % RH"),
        ({"rh": 0.5}, "size rh: cannot use '0.5 %'. Use a value from 30 to 75 % RH"),
        ({"rh": "75 degF"}, "size rh: cannot read '75 degF' as a relative humidity. Write '55 %'."),
        (
            {"temperature": 50},
            ("size temperature: 50 is 122 °F if it is in °C. Did you mean '50 F'? Write the unit."),
        ),
        ({"per_cent": 3}, "size per_cent: cannot use 3. Use 0.4, 1 or 2"),
        ({"sizes": ["-20 pint/day"]}, "Use one rated size or more, all above 0"),
        ({"sizes": []}, "one rated size or more"),
        (
            {"sizes": ["20 kWh"]},
            (
                "size sizes: cannot read '20 kWh' as a rate of water. Write '90 "
                "pints/day' or '10 kg/day'."
            ),
        ),
        ({"sizes": ["2000 pint/day"]}, "size sizes: Dehumidifier.capacity"),
    ],
)
def test_bad_input_is_one_sentence(arguments, said):
    with pytest.raises(ms.InputError) as error:
        ms.size(study(), **{"sizes": ["40 pint/day"], **arguments}, progress=False)
    assert said in str(error.value)
    assert "\n" not in str(error.value)


def test_no_cooling_and_no_summer():
    fans = ms.Equipment(ventilation=ms.Ventilation(kind="supply"))
    none = study(options={PLAIN: (fans, ms.strategies.temperature_only)})
    with pytest.raises(ms.InputError, match="an option without cooling"):
        ms.size(none, progress=False)
    year = study(weather=ms.Weather.sample("greensboro"), start="01-10", end="01-12")
    with pytest.raises(ms.InputError, match="no hour within 0.5 K of the 1 % dew point"):
        ms.size(year, progress=False)


def test_no_mild_day_leaves_it_out():
    hot = stretch("miami", 205, 4)
    season = ms.simulate(
        house(), machines(), ms.strategies.temperature_only(cooling_setpoint="72 degF"), hot,
        step="5 min",
    )  # fmt: skip
    assert [*conditions(season, 1.0)] == [HUMID, HOT]
    options = {
        PLAIN: (machines(), ms.strategies.temperature_only(cooling_setpoint="72 degF")),
    }
    found = ms.size(study(weather=hot, options=options), sizes=["40 pint/day"], progress=False)
    assert found.reheat.empty
    for units in ("us", "si"):
        assert "no mild day" in "\n".join(lines(found, units))
    sizing_figure(found)


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    here = tmp_path_factory.mktemp("size")
    write_ten_days(here / "october.csv", "10-17")
    text = FIVE_OPTIONS.replace('start = "10-22"\nend = "10-25"', 'start = "10-18"\nend = "10-26"')
    (here / "house.toml").write_text(text, encoding="utf-8")
    return here


def command(*arguments: str) -> tuple[int, str, str]:
    out, errors = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(errors):
        code = main(["size", *arguments])
    return code, out.getvalue(), errors.getvalue()


def test_command_prints_and_draws(folder):
    picture = folder / "sizes.png"
    code, text, _ = command(str(folder / "house.toml"), "--figure", str(picture))
    assert code == 0
    assert max(map(len, text.splitlines()[:-1])) <= WIDTH
    for words in (
        "House of the tests", "Sensible load, Btu/h", "Latent load, Btu/h", "Remaining moisture load",
        "Largest useful size", "circuit", "Cautions:", "wire", "licensed trades",
        "Strips need airflow proof",
    ):  # fmt: skip
        assert words in text
    assert picture.stat().st_size > 20_000


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            ["--indoor-rh", "90 %"],
            "house.toml --indoor-rh: cannot use '90 %'. Use a value from 30 to 75",
        ),
        (
            ["--indoor", "nine"],
            (
                "moistsim: house.toml --indoor: cannot read 'nine' as a "
                "temperature. Write '75 F' or '24 C'.\n"
            ),
        ),
        (
            ["--figure", "sizes.txt"],
            (
                "moistsim: --figure sizes.txt: another kind of file name. "
                "Use a name that ends in .png.\n"
            ),
        ),
        (["--figure", "no-such/sizes.png"], "no such folder"),
    ],
)
def test_command_answers_bad_input_in_one_sentence(folder, arguments, said):
    code, text, errors = command(str(folder / "house.toml"), *arguments)
    assert code == 2
    assert text == ""
    assert said in errors
    assert len(errors.strip().splitlines()) == 1


@pytest.mark.slow
@pytest.mark.parametrize("place", ["greensboro", "sand_point"])
def test_other_climates(place):
    """Whole seasons: a warm one, and one that is never hot, where nothing is missing but cooling."""
    year = study(weather=ms.Weather.sample(place), start="03-01", end="10-31")
    found = ms.size(year, sizes=FEW, progress=False)
    text = "\n".join(lines(found, "us"))
    assert "nan" not in text
    assert (found.need["still_kg_day"] >= 0.0).all()
    assert found.loads.loc[HUMID].loc["total", "latent_W"] > 0.0
    sizing_figure(found)
