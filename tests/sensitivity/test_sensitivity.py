"""What is read from a sweep: indices, swings, break-even lines and quantiles with known answers."""

import itertools
import math
from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.text import Text
from scipy import stats
from support.drawing import SIGHT, differ, lab

import moistsim as ms
from moistsim.core.display import Show
from moistsim.figures import (
    break_even_figure,
    quantiles_figure,
    sobol_figure,
    sweep_words,
    tornado_figure,
)
from moistsim.figures.break_even import DIVERGING
from moistsim.sensitivity import surface

A, B = "strips as reheat", "stand-alone dehumidifier"
ACH, PRICE = "house.ach50", "tariff.price"
REASON = "House.ach50: cannot use 99.0. Use a rate of air changes"
VARY = {ACH: stats.uniform(1.0, 6.0), PRICE: stats.uniform(0.1, 0.2), "weather": ["dry", "humid"]}


def sweep(
    cases: pd.DataFrame,
    result: Callable[[dict[str, Any], str], dict[str, float]],
    options: Iterable[str] = (A, B),
    failed: Iterable[tuple[int, str]] = (),
) -> pd.DataFrame:
    """The frame that a sweep gives, of an invented result."""
    rows = []
    for case, row in cases.iterrows():
        inputs = row.to_dict()
        for option in options:
            ok = (case, option) not in failed
            found = {k: v if ok else math.nan for k, v in result(inputs, option).items()}
            status = "ok" if ok else REASON
            rows.append({"case": case, **inputs, "option": option, "status": status, **found})
    return pd.DataFrame(rows)


def linear(case: dict[str, Any], option: str) -> dict[str, float]:
    """Every option costs by its own straight line; the weather is a step."""
    ach, price = (10.0, 900.0) if option == A else (-20.0, 2400.0)
    humid = 40.0 if case["weather"] == "humid" else 0.0
    cost = 300.0 + ach * case[ACH] + price * case[PRICE] + humid
    return {"cost_USD": cost, "mean_dew_point_C": 10.0 + 0.5 * case[ACH]}


class Between(NamedTuple):
    """As a sweep's own range: a tuple with a quantile."""

    low: Any
    high: Any

    def at(self, quantile: float) -> float:
        return self.low + quantile * (self.high - self.low)


# ---------------------------------------------------------------------- Sobol indices


def test_indices_of_the_ishigami_function() -> None:
    """Ishigami & Homma (1990), a = 7, b = 0.1, in closed form; from memory."""

    def ishigami(case: dict[str, float]) -> float:
        x, y, z = case.values()
        return math.sin(x) + 7.0 * math.sin(y) ** 2 + 0.1 * z**4 * math.sin(x)

    angle = stats.uniform(-math.pi, 2.0 * math.pi)
    table = ms.sobol_indices(ishigami, {"x": angle, "y": angle, "z": angle}, n=2048, seed=3)
    published = pd.DataFrame(
        {"first": [0.3139, 0.4424, 0.0], "total": [0.5576, 0.4424, 0.2437]}, index=["x", "y", "z"]
    )
    for kind in ("first", "total"):
        np.testing.assert_allclose(table[kind].loc[published.index], published[kind], atol=0.02)
        low, high = table[f"{kind}_low"], table[f"{kind}_high"]
        assert (low < published[kind]).all() and (published[kind] < high).all()
        assert (high - low < 0.2).all()
    assert list(table.index) == ["x", "y", "z"]


def test_indices_of_a_sum_are_the_shares_of_its_variance() -> None:
    """Var(c x) = c² w² / 12 of a uniform x of width w; a choice of two has (step / 2)²."""
    design = ms.saltelli_cases(VARY, 1024, seed=1)
    frame = sweep(design, linear).sample(frac=1.0, random_state=0)
    for options, ach, price, step in (((B,), -20.0, 2400.0, 40.0), ((A, B), 30.0, -1500.0, 0.0)):
        which = {"option": B} if len(options) == 1 else {"options": options}
        table = ms.sobol_from(frame, design, "cost_USD", **which)  # type: ignore[arg-type]
        parts = pd.Series(
            {ACH: (ach * 6) ** 2 / 12, PRICE: (price * 0.2) ** 2 / 12, "weather": step**2 / 4}
        )
        for kind in ("first", "total"):
            np.testing.assert_allclose(
                table[kind].loc[parts.index], parts / parts.sum(), atol=0.01, err_msg=kind
            )
        assert table.attrs["of"] == " less ".join(options)
        assert table.attrs["n"] == 1024 and table.attrs["left_out"] == 0


def test_the_design_is_that_of_scipy_itself() -> None:
    """scipy draws and runs a function by itself; the same stream must give the same indices."""
    dists = [stats.uniform(1.0, 6.0), stats.norm(0.2, 0.05)]
    theirs = stats.sobol_indices(
        func=lambda x: np.exp(x[0] / 3.0) * x[1], n=64, dists=dists,
        random_state=np.random.default_rng(5),
    )  # fmt: skip
    ours = ms.sobol_indices(
        lambda case: math.exp(case["a"] / 3.0) * case["b"],
        dict(zip("ab", dists, strict=True)),
        n=64,
        seed=5,
    ).loc[["a", "b"]]
    np.testing.assert_allclose(ours["first"], theirs.first_order, rtol=1e-9)
    np.testing.assert_allclose(ours["total"], theirs.total_order, rtol=1e-9)


def test_bands_can_be_repeated_and_narrow_with_confidence_and_cases() -> None:
    def width(n: int = 128, **how: Any) -> float:
        table = ms.sobol_indices(lambda case: case["a"] * case["b"], vary, n=n, **how)
        return float((table["total_high"] - table["total_low"]).mean())

    vary = {"a": Between(1.0, 3.0), "b": Between(0.0, 2.0)}
    assert width() == width()
    assert width(confidence=0.5) < 0.6 * width()
    assert width(n=2048) < 0.5 * width()


def test_a_range_is_no_list_of_choices() -> None:
    cases = ms.saltelli_cases({ACH: Between(2.0, 4.0), "weather": {"a": 1, "b": 2}}, 64)
    assert cases[ACH].between(2.0, 4.0).all() and cases[ACH].nunique() == 128
    assert set(cases["weather"]) == {"a", "b"}


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (lambda f, d: (f[f["case"] != 7], d), "79 of 80 cases with a result; case 7: not run"),
        (
            lambda f, d: (f.assign(status=f["status"].where(f["case"] != 9, REASON)), d),
            "case 9: Ho",
        ),
        (lambda f, d: (f.assign(**{ACH: f[ACH] + 0.1}), d), f"{ACH} = .* in case 0.*own value"),
        (lambda f, d: (f, d.iloc[:-1]), "79 rows of 3 parameters.*whole and in its order"),
        (lambda f, d: (f, d.iloc[::-1]), "80 rows of 3 parameters"),
        (lambda f, d: (f, d.rename(columns={ACH: "house.ach"})), "Did you mean 'house.ach50'"),
        (lambda f, d: (f.assign(cost_USD=5.0), d), "5 in all cases.*a result that varies"),
    ],
)
def test_a_design_that_is_not_whole_is_refused(spoil: Any, sentence: str) -> None:
    design = ms.saltelli_cases(VARY, 16)
    frame, design = spoil(sweep(design, linear, (B,)), design)
    with pytest.raises(ms.InputError, match=sentence):
        ms.sobol_from(frame, design, "cost_USD")


@pytest.mark.parametrize(
    ("vary", "n", "sentence"),
    [
        (VARY, 100, "cannot use 100. Use a power of 2"),
        ({ACH: VARY[ACH]}, 16, "two parameters or more"),
        ({**VARY, PRICE: 0.15}, 16, "vary.'tariff.price'.: cannot use 0.15. Use a range"),
        ({**VARY, PRICE: []}, 16, "a list of choices"),
        ({**VARY, PRICE: Between("10 cent/kWh", 0.2)}, 16, "numbers in SI"),
    ],
)
def test_a_design_that_cannot_be_drawn_is_refused(vary: Any, n: int, sentence: str) -> None:
    with pytest.raises(ms.InputError, match=sentence):
        ms.saltelli_cases(vary, n)


def test_a_function_without_a_number_is_refused() -> None:
    with pytest.raises(ms.InputError, match="cannot use nan. Use a number for each case; case 0"):
        ms.sobol_indices(lambda case: math.nan, VARY, n=16)


# ---------------------------------------------------------------------- tornado

BASE = {ACH: 3.0, PRICE: 0.15, "weather": "humid"}


def alone(**changes: Any) -> pd.DataFrame:
    vary = {PRICE: [0.1, 0.2], ACH: Between(1.0, 7.0), "weather": ["dry", "humid"]} | changes
    return ms.one_at_a_time_cases(BASE, vary)


@pytest.mark.parametrize("base", [0, BASE])
def test_the_tornado_of_a_straight_line(base: Any) -> None:
    cases = alone()
    assert len(cases) == 1 + 2 + 2 + 1
    table = ms.tornado(sweep(cases, linear), base, "cost_USD", option=B)
    center = 300.0 - 20.0 * 3.0 + 2400.0 * 0.15 + 40.0
    assert table.attrs["base"] == pytest.approx(center)
    assert list(table.index) == [PRICE, ACH, "weather"]
    assert table["swing"].tolist() == pytest.approx([240.0, 120.0, 40.0])
    assert table["at_low"].tolist() == pytest.approx([center - 120, center + 40, center - 40])
    assert table["at_high"].tolist() == pytest.approx([center + 120, center - 80, center])
    assert table["low"].tolist() == [0.1, 1.0, "dry"]
    assert table["high"].tolist() == [0.2, 7.0, "humid"]
    both = ms.tornado(sweep(cases, linear), base, "cost_USD", options=(A, B))
    assert both["swing"].to_dict() == pytest.approx({PRICE: 150.0, ACH: 180.0, "weather": 0.0})


def test_a_grid_holds_a_tornado() -> None:
    sides = ([1.0, 3.0, 7.0], [0.1, 0.15, 0.2], ["dry", "humid"])
    grid = pd.DataFrame(list(itertools.product(*sides)), columns=list(BASE))
    from_grid = ms.tornado(sweep(grid, linear), BASE, "cost_USD", option=A)
    from_cases = ms.tornado(sweep(alone(), linear), BASE, "cost_USD", option=A)
    pd.testing.assert_frame_equal(from_grid, from_cases)


def test_the_swing_sees_a_turn_between_the_ends() -> None:
    frame = sweep(
        alone(**{ACH: [1.0, 5.0, 6.0]}),
        lambda case, _: {"total_kWh": (case[ACH] - 3.0) ** 2 + case[PRICE]},
        (B,),
    )
    table = ms.tornado(frame, BASE, "total_kWh")
    assert table.loc[ACH, "swing"] == pytest.approx(9.0)
    assert table.loc[ACH, ["at_low", "at_high"]].tolist() == pytest.approx([4.15, 9.15])


def test_a_case_that_failed_is_counted_and_its_value_not_shown() -> None:
    cases = alone(**{ACH: [1.0, 2.0, 7.0]})
    last = int(cases.index[cases[ACH] == 7.0][0])
    frame = sweep(cases, linear, failed=[(last, A)])
    table = ms.tornado(frame, 0, "cost_USD", option=A)
    assert table.attrs["left_out"] == 1 and table.attrs["cases"] == len(cases) - 1
    assert table.loc[ACH, "high"] == 3.0  # The base's own.
    assert ms.tornado(frame, 0, "cost_USD", option=B).loc[ACH, "high"] == 7.0
    assert "1 not shown because they have no result" in written(tornado_figure(table))


@pytest.mark.parametrize(
    ("base", "failed", "sentence"),
    [
        (99, [], "cannot use 99. Use one of the 6 cases"),
        ({**BASE, ACH: 3.1}, [], "the parameters of one of the cases"),
        ({"house.ach5": 1.0}, [], "Did you mean 'house.ach50'"),
        ({ACH: 3.0, PRICE: 0.15}, [], "a value of 'weather' too"),
        (0, [(0, B)], "case 0: House.ach50.*a base case with a result"),
        (0, [(1, B), (2, B)], "differs from the base in tariff.price alone"),
    ],
)
def test_a_base_that_is_not_there_is_refused(base: Any, failed: Any, sentence: str) -> None:
    with pytest.raises(ms.InputError, match=sentence):
        ms.tornado(sweep(alone(), linear, (B,), failed), base, "cost_USD")


# ---------------------------------------------------------------------- break-even


def scattered(n: int = 256) -> pd.DataFrame:
    drawn = stats.qmc.Sobol(2, seed=2).random_base2(n.bit_length())[:n]
    points = stats.qmc.scale(drawn, [1.0, 0.1], [7.0, 0.3])
    cases = pd.DataFrame(points, columns=[ACH, PRICE])
    cases["weather"] = np.where(np.arange(n) % 3, "dry", "humid")
    return cases


@pytest.mark.parametrize(("extra", "years"), [(0.0, 1.0), (100.0, 10.0), (-100.0, 2.5)])
def test_a_straight_break_even_line(extra: float, years: float) -> None:
    """A less B is 30 ach - 1500 price a year."""
    frame = sweep(scattered(), linear)
    table = ms.break_even(frame, (A, B), ACH, PRICE, extra_first_cost=extra, years=years)
    line, grid, cases = (table[table["kind"] == k] for k in ("line", "grid", "case"))
    np.testing.assert_allclose(line[PRICE], (30.0 * line[ACH] - extra / years) / 1500.0, atol=1e-9)
    assert len(line) > 20 and set(line["piece"]) == {0}
    for part in (grid, cases):
        due = years * (30.0 * part[ACH] - 1500.0 * part[PRICE]) - extra
        np.testing.assert_allclose(part["difference"], due, atol=1e-8)
    assert table.attrs["error"] < 1e-9 and table.attrs["wrong_side"] == 0.0
    assert table.attrs["degree"] == 1
    assert table.attrs["second_better"] == np.mean(cases["difference"] > 0.0)
    # Nothing is said of what lies beyond the cases.
    assert grid[ACH].between(cases[ACH].min(), cases[ACH].max()).all()


def test_a_curved_break_even_line() -> None:
    """On a circle about (4, 0.2), of which the surface is of the second degree."""

    def bowl(case: dict[str, Any], option: str) -> dict[str, float]:
        far = ((case[ACH] - 4.0) / 3.0) ** 2 + ((case[PRICE] - 0.2) / 0.1) ** 2
        return {"cost_USD": 100.0 * far if option == A else 36.0}

    table = ms.break_even(sweep(scattered(), bowl), (A, B), ACH, PRICE, points=101)
    line = table[table["kind"] == "line"]
    radius = np.hypot((line[ACH] - 4.0) / 3.0, (line[PRICE] - 0.2) / 0.1)
    np.testing.assert_allclose(radius, 0.6, atol=0.002)
    assert table.attrs["degree"] == 2
    # It closes.
    assert np.hypot(*(line[[ACH, PRICE]].iloc[0] - line[[ACH, PRICE]].iloc[-1])) < 1e-9


def test_the_error_is_what_a_case_misses_the_surface_by_that_never_saw_it() -> None:
    """Refitted without each place in turn, by plain least squares in plain powers."""
    rng = np.random.default_rng(4)
    frame = sweep(
        pd.concat([scattered(32), scattered(64)], ignore_index=True),
        lambda case, option: {
            "cost_USD": 30.0 * case[ACH] - 1500.0 * case[PRICE] + rng.normal(0.0, 40.0)
            if option == A
            else 0.0
        },
    )
    table = ms.break_even(frame, (A, B), ACH, PRICE)
    cases = table[table["kind"] == "case"]
    x, y, z = (cases[name].to_numpy() for name in (ACH, PRICE, "difference"))
    powers = range(table.attrs["degree"] + 1)
    terms = [x**i * (10.0 * y) ** j for i in powers for j in powers if i + j < len(powers)]
    matrix = np.column_stack(terms)
    missed, wrong = [], 0
    assert len(np.unique(x)) == 64 < len(x) == 96
    for k in range(len(z)):
        others = (x != x[k]) | (y != y[k])
        found = matrix[k] @ np.linalg.lstsq(matrix[others], z[others], rcond=None)[0]
        missed.append(z[k] - found)
        wrong += (found > 0.0) != (z[k] > 0.0)
    assert table.attrs["error"] == pytest.approx(np.sqrt(np.mean(np.square(missed))), rel=1e-6)
    assert table.attrs["wrong_side"] == wrong / len(z) > 0.0


def test_one_option_may_be_better_everywhere() -> None:
    frame = sweep(scattered(), linear)
    table = ms.break_even(frame, (A, B), ACH, PRICE, extra_first_cost=5000.0)
    assert not (table["kind"] == "line").any()
    assert table.attrs["second_better"] == 0.0
    assert "none: one option is cheaper everywhere" in written(break_even_figure(table))


def test_a_grid_of_few_values_has_a_surface_too() -> None:
    sides = ([1.0, 4.0, 7.0], [0.1, 0.3], ["dry", "humid"])
    grid = pd.DataFrame(list(itertools.product(*sides)), columns=list(BASE))
    table = ms.break_even(sweep(grid, linear, failed=[(3, A)]), (A, B), ACH, PRICE)
    line = table[table["kind"] == "line"]
    np.testing.assert_allclose(line[PRICE], line[ACH] / 50.0, atol=1e-9)
    assert table.attrs["left_out"] == 1
    assert (table["kind"] == "grid").sum() == 61**2


@pytest.mark.parametrize(
    ("how", "sentence"),
    [
        (
            {"x": "house.ach5"},
            (
                r"cannot use 'house\.ach5'\. Did you mean 'house\.ach50'\? Other choices: "
                r"'tariff\.price', 'weather'\."
            ),
        ),
        ({"y": "weather"}, "weather = 'dry'.*a parameter of numbers|weather = 'humid'"),
        ({"y": ACH}, "another parameter than x"),
        ({"options": (A, "dehumidifier")}, "Did you mean 'stand-alone dehumidifier'"),
        ({"options": (A, A)}, "two options"),
        ({"options": A}, "two options"),
        ({"measure": "cost"}, "Did you mean 'cost_USD'"),
        ({"measure": "mean_dew_point_C", "extra_first_cost": 5.0}, "Use 0, with 'mean"),
        ({"years": 0.0}, "a number of years above 0"),
        ({"extra_first_cost": math.nan}, "cannot use nan"),
        ({"points": 3}, "from 5 to 2,000 points"),
        ({"frame": sweep(scattered(8), linear).query("case < 5")}, "5 cases with a result"),
        ({"frame": sweep(scattered(8).assign(**{PRICE: 0.2}), linear)}, "0.2 in all cases"),
        (
            {"frame": sweep(scattered(8).assign(**{PRICE: lambda f: f[ACH] / 40.0}), linear)},
            "on one line",
        ),
    ],
)
def test_a_break_even_that_cannot_be_had(how: dict[str, Any], sentence: str) -> None:
    given = {"frame": sweep(scattered(64), linear), "options": (A, B), "x": ACH, "y": PRICE} | how
    with pytest.raises(ms.InputError, match=sentence):
        ms.break_even(**given)


# ---------------------------------------------------------------------- quantiles


def test_quantiles_by_hand() -> None:
    """0, 10, 20, 30, 40: the quartiles of five even steps are its second and fourth."""
    cases = pd.DataFrame({"weather": ["humid"] * 5 + ["dry"], ACH: [0.0, 1.0, 2.0, 3.0, 4.0, 9.0]})
    frame = sweep(cases, lambda case, o: {"total_kWh": 10.0 * case[ACH] + (o == B)})
    table = ms.quantiles(frame, "total_kWh")
    assert list(table.index) == [(w, o) for w in ("dry", "humid") for o in (A, B)]
    assert table.loc[("humid", A)].tolist() == pytest.approx([2.0, 10.0, 20.0, 30.0, 38.0, 5])
    assert table.loc[("humid", B), 0.5] == 21.0
    assert table.loc[("dry", B)].tolist() == [91.0] * 5 + [1]


def test_options_are_judged_on_the_same_cases() -> None:
    frame = sweep(scattered(30), linear, failed=[(k, A) for k in range(10)])
    table = ms.quantiles(frame, "cost_USD", q=[0.1, 0.5])
    assert table.attrs["left_out"] == 10 and table.groupby("option")["cases"].sum().eq(20).all()
    kept = frame[(frame["case"] >= 10) & (frame["option"] == B)]
    for weather, members in kept.groupby("weather"):
        due = np.quantile(members["cost_USD"], [0.1, 0.5])
        np.testing.assert_allclose(table.loc[(weather, B), [0.1, 0.5]].astype(float), due)
    one = ms.quantiles(frame, "cost_USD", options=[B])
    assert one.attrs["left_out"] == 0 and one["cases"].sum() == 30


def test_classes_of_a_continuous_parameter() -> None:
    frame = sweep(scattered(64), linear)
    with pytest.raises(ms.InputError, match=r"64 values of house.ach50.*pandas.cut"):
        ms.quantiles(frame, "cost_USD", by=ACH)
    frame["tightness"] = pd.cut(frame[ACH], [0.0, 3.0, 8.0], labels=["tight", "leaky"])
    table = ms.quantiles(frame, "mean_dew_point_C", by="tightness", options=[A])
    assert [key[0] for key in table.index] == ["tight", "leaky"]
    assert (table.loc["tight", 0.95] <= 11.5).all() and (table.loc["leaky", 0.05] >= 11.5).all()


@pytest.mark.parametrize(
    ("how", "sentence"),
    [
        ({"measure": "cost_usd"}, "Did you mean 'cost_USD'"),
        ({"measure": "weather"}, "one of 'cost_USD', 'mean_dew_point_C'"),
        ({"by": "wether"}, "Did you mean 'weather'"),
        ({"options": [A, "none"]}, "cannot use 'none'"),
        ({"q": [5, 95]}, "numbers between 0 and 1"),
        ({"q": []}, "numbers between 0 and 1"),
        ({"frame": pd.DataFrame({"case": [1]})}, "no column 'option'"),
    ],
)
def test_quantiles_that_cannot_be_had(how: dict[str, Any], sentence: str) -> None:
    given = {"frame": sweep(scattered(16), linear), "measure": "cost_USD"} | how
    with pytest.raises(ms.InputError, match=sentence):
        ms.quantiles(**given)


# ---------------------------------------------------------------------- the sweep's frame


def test_of_several_options_one_must_be_named() -> None:
    frame = sweep(alone(), linear)
    with pytest.raises(ms.InputError, match=f"cannot use None. Use one of '{A}', '{B}'"):
        ms.tornado(frame, 0, "cost_USD")
    with pytest.raises(ms.InputError, match="option or options, not both"):
        ms.tornado(frame, 0, "cost_USD", option=A, options=(A, B))


def test_what_is_no_number_in_a_case_that_is_ok_is_named() -> None:
    frame = sweep(alone(), linear)
    frame.loc[3, "cost_USD"] = math.nan
    with pytest.raises(ms.InputError, match=f"no cost_USD in case 1 of '{B}'"):
        ms.tornado(frame, 0, "cost_USD", option=B)
    assert len(ms.tornado(frame, 0, "cost_USD", option=A)) == 3


def test_a_case_twice_is_refused() -> None:
    frame = sweep(alone(), linear)
    with pytest.raises(ms.InputError, match=f"case 0 of '{A}' twice"):
        ms.quantiles(pd.concat([frame, frame]), "cost_USD")


def test_a_frame_read_from_a_file_says_the_same(tmp_path: Any) -> None:
    """Texts as categories and floats through Parquet."""
    frame = sweep(alone(), linear)
    kinds = dict.fromkeys(("weather", "option", "status"), "category")
    frame.astype(kinds).to_parquet(tmp_path / "part.parquet")
    read = pd.read_parquet(tmp_path / "part.parquet")
    for options in ((A, B), (B, A)):
        pd.testing.assert_frame_equal(
            ms.tornado(read, BASE, "cost_USD", options=options),
            ms.tornado(frame, BASE, "cost_USD", options=options),
        )


# ---------------------------------------------------------------------- figures


def written(figure: Figure) -> str:
    return " ".join(" ".join(t.get_text().split()) for t in figure.findobj(Text))


LONG = "a compressor staged on humidity, with two strip stages that hold the room at its setpoint"
NAMES = {A: LONG, B: B}


def long_names(frame: pd.DataFrame) -> pd.DataFrame:
    return frame.assign(option=frame["option"].map(NAMES))


def figures(kind: str) -> list[Figure]:
    labels = {ACH: "air changes an hour at 50 Pa", PRICE: "price of electricity, USD/kWh"}
    if kind == "sobol":
        design = ms.saltelli_cases(VARY, 32)
        table = ms.sobol_from(
            long_names(sweep(design, linear)), design, "cost_USD", options=(LONG, B)
        )
        return [sobol_figure(table, labels=labels)]
    if kind == "tornado":
        frame = long_names(sweep(alone(), linear))
        return [
            tornado_figure(ms.tornado(frame, 0, m, options=(LONG, B)), units, labels=labels)
            for m in ("cost_USD", "mean_dew_point_C")
            for units in ("us", "si")
        ]
    if kind == "break-even":
        frame = long_names(sweep(scattered(), linear, failed=[(3, A)]))
        return [
            break_even_figure(
                ms.break_even(frame, (LONG, B), ACH, PRICE, extra_first_cost=e, years=10.0),
                labels=labels,
            )
            for e in (300.0, -40000.0)
        ]
    frame = long_names(sweep(scattered(), linear, failed=[(3, A)]))
    frame["house.name"] = [f"house {case % 9}" for case in frame["case"]]
    return [
        quantiles_figure(ms.quantiles(frame, "mean_dew_point_C", by=by, q=q))
        for by in ("weather", "house.name")
        for q in ((0.05, 0.25, 0.5, 0.75, 0.95), (0.1, 0.9))
    ]


@pytest.mark.parametrize("kind", ["sobol", "tornado", "break-even", "quantiles"])
def test_no_text_is_cut_off_or_written_over(kind: str) -> None:
    for figure in figures(kind):
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        renderer, page = canvas.get_renderer(), figure.bbox
        ticks = {
            label
            for ax in figure.axes
            for axis in (ax.xaxis, ax.yaxis)
            for tick in axis.get_major_ticks()
            for label in (tick.label1, tick.label2)
            if not label.get_visible()
            or not min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())
        }
        boxes = {
            t: Text.get_window_extent(t, renderer)
            for t in figure.findobj(Text)
            if t.get_visible() and t.get_text().strip() and t not in ticks
        }
        assert len(boxes) > 8
        for text, box in boxes.items():
            inside = page.x0 <= box.x0 and box.x1 <= page.x1
            assert inside and page.y0 <= box.y0 and box.y1 <= page.y1, f"cut off: {text}"
        for (one, a), (other, b) in itertools.combinations(boxes.items(), 2):
            across = min(a.x1, b.x1) - max(a.x0, b.x0)
            along = min(a.y1, b.y1) - max(a.y0, b.y0)
            assert min(across, along) < 1.0, f"{one} over {other}"


def test_bars_of_the_tornado_run_from_the_base_to_the_ends() -> None:
    table = ms.tornado(sweep(alone(), linear), 0, "mean_dew_point_C", option=B)
    figure = tornado_figure(table, "us")
    bars = figure.axes[0].patches[:2]
    base = 11.5 * 1.8 + 32.0
    assert [bar.get_x() for bar in bars] == pytest.approx([base] * 2)
    assert [bar.get_width() for bar in bars] == pytest.approx([-1.0 * 1.8, 2.0 * 1.8])
    assert figure.axes[0].get_xlabel() == "mean indoor dew point, °F"
    both = ms.tornado(sweep(alone(), linear), 0, "mean_dew_point_C", options=(A, B))
    assert tornado_figure(both, "si").axes[0].get_xlabel().endswith(", °C")


@pytest.mark.parametrize(
    ("name", "value", "us", "si"),
    [
        (ACH, 3.0, "3 ACH", "3 per hour"),
        (PRICE, 0.15, "0.15 USD/kWh", "0.15 USD/kWh"),
        ("tariff.gas_price", 0.05, "1.47 USD/therm", "0.05 USD/kWh"),
        ("strategy.cooling_setpoint", 24.0, "75.2 °F", "24 °C"),
        ("options.A b.strategy.target_rh", 50.0, "50 %", "50 %"),
        ("equipment.cooling.stages.0.capacity", 7034.0, "24,001 Btu/h", "7,034 W"),
        ("house.floor_area", 150.0, "1,615 ft²", "150 m²"),
        ("weather", "humid", "humid", "humid"),
    ],
)
def test_a_parameter_has_words_and_the_readers_unit(
    name: str, value: Any, us: str, si: str
) -> None:
    """No dotted name and no bare number; values converted by the units' definitions."""
    assert [sweep_words.value_of(name, value, Show(u)) for u in ("us", "si")] == [us, si]
    assert "." not in sweep_words.label_of(name, None) and "_" not in sweep_words.label_of(
        name, None
    )
    assert sweep_words.label_of(name, {name: "mine"}) == "Mine"
    if isinstance(value, float):
        slope, zero, sign = sweep_words.scale_of(name, Show("us"))
        shown = float(us.split()[0].replace(",", ""))
        assert value * slope + zero == pytest.approx(shown, rel=0.01) and us.endswith(sign)


def test_axes_of_the_break_even_are_in_the_readers_units() -> None:
    frame = sweep(scattered(), linear).rename(columns={ACH: "house.floor_area"})
    table = ms.break_even(frame, (A, B), "house.floor_area", PRICE)
    for units, slope, sign in (("us", 1.0 / 0.3048**2, "ft²"), ("si", 1.0, "m²")):
        ax = break_even_figure(table, units).axes[0]
        assert ax.get_xlabel() == f"Floor area, {sign}"
        assert ax.get_ylabel() == "Electricity price, USD/kWh"
        cases = table.loc[table["kind"] == "case", "house.floor_area"].to_numpy(float) * slope
        dots = np.vstack([np.asarray(c.get_offsets()) for c in ax.collections[1:]])
        assert sorted(dots[:, 0]) == pytest.approx(sorted(cases))


def test_bars_of_the_indices_are_the_indices() -> None:
    design = ms.saltelli_cases(VARY, 32)
    table = ms.sobol_from(sweep(design, linear), design, "cost_USD", option=A)
    ax = sobol_figure(table).axes[0]
    widths = [bar.get_width() for bar in ax.patches]
    assert widths == pytest.approx([*table["total"], *table["first"]])
    assert ax.get_xlim()[0] <= 0.0 and ax.get_xlim()[1] > table["total_high"].max()
    said = written(ax.figure)  # type: ignore[arg-type]
    assert "160 cases. " in said and "not shown" not in said


@pytest.mark.parametrize("sight", SIGHT)
def test_the_diverging_colors_part_to_every_eye(sight: str) -> None:
    """Both halves darken evenly from a pale middle, and never look alike at the same depth."""

    def seen(at: float) -> Any:
        srgb = np.array(DIVERGING(at)[:3])
        linear_light = np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
        return lab(np.clip(np.array(SIGHT[sight]) @ linear_light, 0.0, 1.0))

    for side in (np.linspace(0.5, 0.0, 21), np.linspace(0.5, 1.0, 21)):
        assert (np.diff([seen(at)[0] for at in side]) < 0.0).all()
    differ({str(at): to_hex(DIVERGING(at)) for at in (0.0, 0.25, 0.5, 0.75, 1.0)}, sight)
    for depth in (0.15, 0.3, 0.5):
        assert np.linalg.norm(seen(0.5 - depth) - seen(0.5 + depth)) > 20.0


def test_another_table_and_other_units_are_refused() -> None:
    table = ms.quantiles(sweep(alone(), linear), "cost_USD")
    for draw in (sobol_figure, tornado_figure, break_even_figure):
        with pytest.raises(ms.InputError, match="Use the table that"):
            draw(table)  # type: ignore[operator]
    with pytest.raises(ms.InputError, match="figure units: cannot use 'imperial'"):
        quantiles_figure(table, "imperial")  # type: ignore[arg-type]


def test_degrees_stop_where_cases_cannot_tell_them_apart() -> None:
    """Six cases have no surface of the second degree (six terms) and a case to spare."""
    frame = sweep(scattered(64).iloc[:6], linear)
    assert ms.break_even(frame, (A, B), ACH, PRICE).attrs["degree"] == 1
    assert surface.HIGHEST_DEGREE > 2
