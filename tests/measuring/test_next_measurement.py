"""Worth of measurements of simulated houses, and whether they gain what was promised."""

from functools import lru_cache
from typing import Any

import attrs
import numpy as np
import pandas as pd
import pytest
from support.fitted import FakeFit
from support.weathers import stretch

import moistsim as ms
from moistsim.core.errors import InputError
from moistsim.measuring.benefit import run_options
from moistsim.measuring.information import best_option, means_after
from moistsim.measuring.next_measurement import NextMeasurement, Priced, _visit

HOUSE = ms.House(floor_area="1900 ft2", ach50=3)
FOUND = ms.Equipment(
    cooling=ms.Cooling(stages=[ms.Stage(capacity="24000 Btu/h")]),
    strips=ms.Strips(stages=["5 kW"]),
    ventilation=ms.Ventilation(kind="supply", airflow="75 cfm"),
)
DRIED = attrs.evolve(FOUND, dehumidifier=ms.Dehumidifier(capacity="70 pint/day"))
PURCHASES = {
    "reheat": ms.Purchase(first_cost="300 USD"),
    "dehumidifier": ms.Purchase(first_cost="360 USD"),
}
TERMS = ms.Terms(years=12)


def weather() -> ms.Weather:
    """Twenty days of a June in Miami, as a weather of its own."""
    return stretch("miami", 155, 20)


def study() -> ms.Study:
    return ms.Study(
        HOUSE, {
            "reheat": (FOUND, ms.strategies.staged_reheat()),
            "dehumidifier": (DRIED, ms.strategies.with_dehumidifier()),
        },
        weather(),
        tariff=ms.Tariff(price="15 cent/kWh"),
    )  # fmt: skip


def fit(n: int, seed: int) -> FakeFit:
    """A log that knows the ratio of moisture to outdoor air well, and neither of the two."""
    rng = np.random.default_rng(seed)
    both = np.exp(rng.normal(0.0, 0.35, n))
    draws = pd.DataFrame(
        {
            "equipment.ventilation.airflow": 0.0354 * both,
            "house.gains.moisture": 6.0 / 86400.0 * both * np.exp(rng.normal(0.0, 0.02, n)),
            "house.ach50": 3.0 * np.exp(rng.normal(0.0, 0.3, n)),
        }
    )
    return FakeFit(HOUSE, FOUND, draws)


def next_one(n: int, **more: Any) -> NextMeasurement:
    given: dict[str, Any] = {
        "purchases": PURCHASES, "terms": TERMS, "weather": weather(), "n": n, "progress": False
    }  # fmt: skip
    return ms.next_measurement(study(), fit(n, 0), **{**given, **more})


@lru_cache
def small() -> NextMeasurement:
    return next_one(24)


def test_the_table_has_each_measurement_and_the_ceiling() -> None:
    table = small().table()
    assert set(table.index) == {*ms.measurements(), "knowing everything"}
    net = table["net_USD"].iloc[:-1]
    assert (net == table["worth_USD"].iloc[:-1] - table["cost_USD"].iloc[:-1]).all()
    assert (net.diff().dropna() <= 0.0).all(), "the best first"
    assert (table["worth_USD"] <= table.loc["knowing everything", "worth_USD"] + 1e-9).all()
    assert (table["worth_USD"] >= 0.0).all()


def test_readings_are_those_of_the_drawn_houses() -> None:
    found, draws = small(), fit(24, 0).draws
    readings = {name: of.readings for name, of in found.priced.items()}
    assert readings["blower door"][:, 0] == pytest.approx(draws["house.ach50"])
    flow = 1000.0 * draws["equipment.ventilation.airflow"]
    assert readings["flow hood"][:, 0] == pytest.approx(flow, rel=1e-6)
    # Six kg a day into some 40 L/s: 6 kg / (86,400 s * 0.045 m3/s * 1.17 kg/m3) is 1.3 g/kg less what
    # the coil takes.
    assert 0.05 < readings["humidifier"].mean() < 1.3
    # What is weighed grows with the outdoor air.
    assert np.corrcoef(readings["condensate"][:, 0], flow)[0, 1] > 0.9
    assert readings["another week"].shape == (24, 7)


def at_cost(cost: float) -> NextMeasurement:
    """The same worths at one cost of all."""
    found = small()
    return attrs.evolve(
        found, priced={name: of._replace(cost=cost) for name, of in found.priced.items()}
    )


def test_a_cost_decides() -> None:
    assert at_cost(0.0).best is not None
    assert str(at_cost(0.0)).startswith("Measure next: ")
    assert at_cost(90000.0).best is None
    assert str(at_cost(90000.0)).startswith("No measurement is worth its cost: take ")
    some = {
        name: of for name, of in ms.measurements().items() if name in ("blower door", "flow hood")
    }
    found = next_one(20, offered=some, costs={"flow hood": None, "blower door": "1,250 USD"})
    assert {name: of.cost for name, of in found.priced.items()} == {"blower door": 1250.0}


def test_without_purchases_energy_alone_decides() -> None:
    some = {"blower door": ms.measurements()["blower door"]}
    found = next_one(20, purchases=None, offered=some)
    assert "energy costs alone decide" in str(found)
    assert found.drawn.benefit.max() < 0.0


def test_where_one_option_is_always_better_nothing_is_worth_measuring() -> None:
    cheap = {**PURCHASES, "dehumidifier": ms.Purchase(first_cost="1 USD")}
    dear = {**cheap, "reheat": ms.Purchase(first_cost="90,000 USD")}
    found = next_one(24, purchases=dear)
    assert found.perfect.value == 0.0
    assert found.best is None
    assert found.choice == "dehumidifier"
    assert "worth 0 USD" in str(found)


def test_a_reading_moves_the_choice() -> None:
    """Much outdoor air makes reheat expensive, little makes the dehumidifier hard to pay back."""
    found = small()
    low, high = (found.after("flow hood", reading) for reading in (15.0, 80.0))
    lead = [after["dehumidifier"] - after["reheat"] for after in (low, high)]
    assert lead[1] > lead[0]
    with pytest.raises(InputError, match="1 number in L/s"):
        found.after("flow hood", [1.0, 2.0])
    with pytest.raises(InputError, match="blower door"):
        found.after("blower dor", 3.0)


def test_no_hood_without_a_fan_and_other_refusals() -> None:
    bare = attrs.evolve(fit(24, 0), equipment=attrs.evolve(FOUND, ventilation=None))
    bare = attrs.evolve(bare, draws=bare.draws[["house.ach50"]])
    one = ms.measurements()
    found = ms.next_measurement(
        study(), bare, purchases=PURCHASES, weather=weather(), progress=False, n=20,
        offered={name: one[name] for name in ("flow hood", "blower door")},
    )  # fmt: skip
    assert found.left_out == {"flow hood": "the house has no machine for it"}
    with pytest.raises(InputError, match="flow hood"):
        next_one(24, costs={"flow hod": 1.0})
    with pytest.raises(InputError, match="at least 20 draws"):
        ms.next_measurement(study(), fit(12, 0), purchases=PURCHASES, weather=weather())
    with pytest.raises(InputError, match="has no log"):
        next_one(24, weather=None)
    with pytest.raises(InputError, match="accuracy"):
        attrs.evolve(one["flow hood"], share=0.0, absolute=0.0)
    with pytest.raises(InputError, match="near zero"):
        attrs.evolve(one["flow hood"], absolute=0.0)
    with pytest.raises(InputError, match="at least 11 days"):
        next_one(24, start="06-10", end="06-14")


def test_errors_are_alike_on_their_scale() -> None:
    """Readings of 0, 10 and 40 L/s with errors of sqrt(1² + (0.1 r)²): 1, 1.41 and 4.12 L/s."""
    hood = ms.measurements()["flow hood"]
    exact = np.array([[0.0], [10.0], [40.0]])
    errors = np.array([[1.0], [2.0**0.5], [17.0**0.5]])
    moved = hood.scaled(exact + 0.01 * errors) - hood.scaled(exact)
    assert moved[:, 0] == pytest.approx(0.01, rel=0.01)
    assert hood.covariance(1) == pytest.approx(1.0)
    week = ms.measurements()["another room"].covariance(2)
    # 0.35² alone, and 0.7 of it between neighbors; 0.8² is shared.
    assert week == pytest.approx(np.array([[0.7625, 0.72575], [0.72575, 0.7625]]))


def test_the_figure_has_a_bar_for_worth_and_one_for_cost() -> None:
    axes = small().figure().axes[0]
    assert len(axes.patches) == 2 * len(ms.measurements())
    assert small().figure(narrow=True).get_size_inches()[0] < 6.0


def realized(
    found: NextMeasurement, name: str, truths: Any, repeats: int, seed: int
) -> tuple[float, float]:
    """Gain of true houses that are measured before they decide, with its standard error."""
    rng = np.random.default_rng(seed)
    of: Priced = found.priced[name]
    kind, readings = of.measurement, of.readings
    covariance = kind.covariance(readings.shape[1])
    exact = kind.scaled(truths.readings[name])
    root = np.linalg.cholesky(covariance)
    usual, rows = best_option(found.drawn.benefit), np.arange(len(exact))
    gain = np.zeros(len(exact))
    for _ in range(repeats):
        seen = exact + rng.normal(size=exact.shape) @ root.T
        after = means_after(found.drawn.benefit, kind.scaled(readings), covariance, seen)
        gain += truths.benefit[rows, after.argmax(axis=1)] - truths.benefit[:, usual]
    gain /= repeats
    return float(gain.mean()), float(gain.std(ddof=1) / np.sqrt(len(gain)))


@pytest.mark.slow
def test_measured_houses_gain_what_was_promised() -> None:
    """Other houses of the same prior, measured and decided with and without it.

    A more accurate flow hood is promised at least as much, too.
    """
    n = 160
    found = next_one(n)
    known = {name: of.measurement for name, of in found.priced.items()}
    visiting = _visit(fit(n, 0), None, weather(), None, None, "test")
    truths = run_options(
        study(), fit(n, 0), fit(n, 77).draws, PURCHASES, TERMS, known, visiting, None, False
    )
    print(found.table().round(1).to_string())
    worthy = 0
    for name, of in found.priced.items():
        got, error = realized(found, name, truths, 16, 5)
        print(
            f"{name}: promised {of.worth.value:.0f} ± {of.worth.error:.0f}, got {got:.0f} ± {error:.0f}"
        )
        assert abs(got - of.worth.value) <= 3.0 * np.hypot(error, of.worth.error) + 1.0
        worthy += got > 3.0 * error
    assert worthy >= 3, "the check has something to check"
    hood = ms.measurements()["flow hood"]
    offers = {
        f"{share}": attrs.evolve(hood, name=f"{share}", share=share)
        for share in (0.02, 0.10, 0.30, 1.0)
    }
    graded = next_one(n, offered=offers)
    values = [graded.priced[name].worth.value for name in offers]
    assert all(a >= b - 0.02 * values[0] for a, b in zip(values, values[1:], strict=False))
    assert values[0] > values[-1]
