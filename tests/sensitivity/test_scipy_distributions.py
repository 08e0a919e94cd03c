"""Frozen distributions of scipy.stats, wherever one of ours is taken, against scipy's own numbers."""

import pickle
from typing import Any

import numpy as np
import pytest
from scipy import stats
from support.small_sweeps import study

import moistsim as ms
from moistsim.sensitivity import FromScipy, distribution_of, in_si, one_at_a_time_cases

FROZEN = [
    stats.norm(3, 0.5), stats.beta(2, 5, loc=1, scale=4), stats.gamma(a=4, scale=0.5),
    stats.triang(0.3, loc=1, scale=3), stats.uniform(1, 4), stats.lognorm(s=0.4, scale=2),
    stats.truncnorm(-2, 2, loc=3, scale=1),
]  # fmt: skip


@pytest.mark.parametrize("frozen", FROZEN, ids=lambda frozen: frozen.dist.name)
def test_quantiles_are_those_of_scipy(frozen: Any) -> None:
    ours = distribution_of(frozen, "here")
    assert isinstance(ours, FromScipy)
    for share in (1e-6, 0.05, 0.5, 0.95, 1 - 1e-6):
        assert ours.at(share) == pytest.approx(frozen.ppf(share), rel=1e-9)
    assert ours.center == pytest.approx(frozen.median())
    assert ours.deviation == pytest.approx(frozen.std())
    assert np.isfinite([ours.at(0.0), ours.at(1.0)]).all()


def test_ours_and_scipys_uniform_are_one() -> None:
    ours, theirs = ms.uniform(1.0, 5.0), distribution_of(stats.uniform(1, 4), "here")
    for share in np.linspace(0.01, 0.99, 7):
        assert ours.at(share) == pytest.approx(theirs.at(share))


@pytest.mark.parametrize("sample", ["sobol", "latin_hypercube", "saltelli"])
def test_a_sweep_draws_what_scipy_draws(sample: Any) -> None:
    """Each case's value is scipy's quantile of the same point that a uniform range gets."""
    frozen = stats.beta(2, 5, loc=1, scale=4)
    kwargs: dict[str, Any] = {"sample": sample, "n": 16, "seed": 3}
    other = {"tariff.price": ms.uniform("10 cent/kWh", "40 cent/kWh")}
    shares = ms.Sweep(study(), {"house.ach50": ms.uniform(0.0, 1.0), **other}, **kwargs).cases()
    drawn = ms.Sweep(study(), {"house.ach50": frozen, **other}, **kwargs).cases()
    assert list(drawn.columns) == list(shares.columns)
    np.testing.assert_allclose(drawn["house.ach50"], frozen.ppf(shares["house.ach50"]), rtol=1e-9)


def test_what_a_field_forbids_is_left_out_and_dealt_to_the_rest() -> None:
    """A leakage below nothing: the quantiles of the truncated normal distribution, by scipy."""
    read = ms.House(floor_area=150.0).__class__

    def leakage(value: Any) -> float:
        taken = read(floor_area=150.0, ach50=value).ach50
        assert taken is not None
        return taken

    ours = in_si(FromScipy(stats.norm(1, 1)), leakage, "1/hour", "here")
    cut = stats.truncnorm(-1, np.inf, loc=1, scale=1)
    for share in (0.001, 0.2, 0.5, 0.9, 0.999):
        assert ours.at(share) == pytest.approx(cut.ppf(share), abs=1e-6)
    assert ours.at(0.0) >= 0.0


def test_a_tornado_takes_the_5_and_95_percent_points() -> None:
    frozen = stats.norm(3, 0.5)
    cases = one_at_a_time_cases({"house.ach50": 3.0}, {"house.ach50": frozen})
    assert list(cases["house.ach50"]) == pytest.approx([3.0, *frozen.ppf([0.05, 0.95])])


def test_it_goes_to_other_processes() -> None:
    again = pickle.loads(pickle.dumps(distribution_of(stats.norm(3, 0.5), "here")))
    assert again.at(0.3) == distribution_of(stats.norm(3, 0.5), "here").at(0.3)


def test_a_folder_says_which_distribution_made_it() -> None:
    assert distribution_of(stats.norm(3, 0.5), "").words == "norm(3, 0.5)"
    assert (
        distribution_of(stats.beta(2, 5, loc=1, scale=4), "").words == "beta(2, 5, loc=1, scale=4)"
    )


@pytest.mark.parametrize(
    ("of", "sentence"),
    [
        (stats.norm, "Sweep 'house.ach50': norm has no numbers. Use a frozen distribution, such as "
         "scipy.stats.norm(3, 0.5)."),
        (stats.poisson(3), "Sweep 'house.ach50': poisson is not continuous. Use a continuous "
         "distribution, such as scipy.stats.norm(3, 0.5), or a list of values."),
        (stats.randint, "Sweep 'house.ach50': randint is not continuous. Use a continuous "
         "distribution, such as scipy.stats.norm(3, 0.5), or a list of values."),
        (stats.cauchy(3, 1), "Sweep 'house.ach50': cauchy has no finite standard deviation. Use "
         "another one, such as scipy.stats.norm(3, 0.5)."),
        (stats.norm(500, 1), "Sweep 'house.ach50': 500.0 is too large. Use a rate of air changes "
         "from 0 to 60 per hour."),
    ],
)  # fmt: skip
def test_what_cannot_be_drawn_from_is_refused(of: Any, sentence: str) -> None:
    with pytest.raises(ms.InputError) as refusal:
        ms.Sweep(study(), {"house.ach50": of}, sample="sobol", n=4).cases()
    assert str(refusal.value) == sentence
