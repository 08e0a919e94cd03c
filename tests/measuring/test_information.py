"""Value of information against closed forms of two options and a normal prior."""

import numpy as np
import pytest
from scipy import stats

from moistsim.measuring.information import (
    Worth,
    best_option,
    means_after,
    perfect_information,
    sample_information,
    weights_of,
    whitened,
)


def unit_loss(u: float) -> float:
    """Unit normal loss integral: phi(u) - u (1 - Phi(u)) (Raiffa & Schlaifer 1961, from memory)."""
    return float(stats.norm.pdf(u) - u * stats.norm.sf(u))


def two_options(mean: float, spread: float, n: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Benefit of doing nothing, 0, and of a change, normal; and the change itself."""
    change = np.random.default_rng(seed).normal(mean, spread, n)
    return np.column_stack([np.zeros(n), change]), change


def worth(benefit: np.ndarray, readings: np.ndarray, error: float, seed: int = 1) -> Worth:
    rng = np.random.default_rng(seed)
    return sample_information(benefit, readings[:, None], np.array([[error**2]]), rng, 16)


@pytest.mark.parametrize("mean", [-80.0, 0.0, 40.0, 150.0])
def test_perfect_information_of_a_normal_prior(mean: float) -> None:
    benefit, _ = two_options(mean, 100.0, 20000, 3)
    found = perfect_information(benefit)
    assert found.value == pytest.approx(100.0 * unit_loss(abs(mean) / 100.0), abs=4.0 * found.error)


@pytest.mark.parametrize("mean", [-60.0, 0.0, 30.0, 120.0])
@pytest.mark.parametrize("error", [30.0, 100.0, 250.0])
def test_a_normal_measurement_of_a_normal_prior(mean: float, error: float) -> None:
    """EVSI = s psi(|m| / s), with s² = s0⁴ / (s0² + e²) the variance of the mean that is to come."""
    benefit, change = two_options(mean, 100.0, 1500, 4)
    found = worth(benefit, change, error)
    s = 100.0**2 / np.hypot(100.0, error)
    # The prior is that of the draws, whose mean is off by its own error.
    true = s * unit_loss(abs(float(change.mean())) / s)
    assert found.value == pytest.approx(true, abs=4.0 * found.error + 0.5)


def test_a_reading_of_something_else_is_worth_nothing() -> None:
    benefit, _ = two_options(30.0, 100.0, 400, 5)
    other = np.random.default_rng(6).normal(size=400)
    found = worth(benefit, other, 0.1)
    assert abs(found.value) <= 3.0 * found.error


def test_few_draws_do_not_promise_their_own_noise() -> None:
    """Half of the spread is of something that no reading shows: 40 draws, many times.

    A maximum of weighted means that hold the draw's own benefit promises too much.
    """
    over, naive = [], []
    for seed in range(60):
        rng = np.random.default_rng(100 + seed)
        seen_part, hidden = rng.normal(0.0, 80.0, 40), rng.normal(0.0, 80.0, 40)
        benefit = np.column_stack([np.zeros(40), 30.0 + seen_part + hidden])
        s = 80.0**2 / np.hypot(80.0, 10.0)
        true = s * unit_loss(30.0 / s)
        over.append(worth(benefit, seen_part, 10.0).value - true)
        weights = weights_of(seen_part[:, None] / 10.0, seen_part[:, None] / 10.0)
        means = weights @ benefit
        naive.append(means.max(axis=1).mean() - benefit.mean(axis=0).max() - true)
    print(f"{true:.1f}: too much by {np.mean(over):.1f}, naive {np.mean(naive):.1f}")
    error = float(np.std(over) / np.sqrt(60))
    assert np.mean(over) < 2.0 * error
    apart = np.subtract(naive, over)
    assert np.mean(apart) > 2.0 * float(np.std(apart) / np.sqrt(60))


def test_a_more_accurate_reading_is_worth_as_much_or_more() -> None:
    benefit, change = two_options(40.0, 100.0, 800, 7)
    values = [worth(benefit, change, error) for error in (10.0, 50.0, 100.0, 200.0, 1000.0)]
    for better, worse in zip(values, values[1:], strict=False):
        assert better.value >= worse.value - 0.5
    assert values[0].value > 2.0 * values[-1].value


def test_no_reading_is_worth_more_than_the_truth() -> None:
    rng = np.random.default_rng(8)
    for _ in range(20):
        benefit = rng.normal(size=(60, 3)) * 100.0
        readings = benefit @ rng.normal(size=(3, 2))
        found = sample_information(benefit, readings, np.diag([1.0, 400.0]), rng, 4)
        assert found.value <= perfect_information(benefit).value


def test_by_hand_with_two_draws() -> None:
    """Two draws, 100 and -60: doing is worth 20 on average, knowing saves 60 in half of the cases."""
    benefit = np.array([[0.0, 100.0], [0.0, -60.0]])
    assert best_option(benefit) == 1
    assert perfect_information(benefit) == (30.0, pytest.approx(30.0), 0.5)


def test_weights_by_hand() -> None:
    """A reading of 0 between draws that read 0 and 2, error 1: weights 1 and exp(-2)."""
    points = np.tile([[0.0], [2.0]], (40, 1))
    found = weights_of(points, np.array([[0.0]]))[0].reshape(40, 2).sum(axis=0)
    w = np.exp(-2.0)
    assert found == pytest.approx([1.0 / (1.0 + w), w / (1.0 + w)])


def test_the_mean_after_a_reading_by_hand() -> None:
    """Normal prior N(50, 100²), a reading of 150 ± 100: the mean after it is halfway, 100.

    The change is the usual option, so doing nothing is 100 below it.
    """
    benefit, change = two_options(50.0, 100.0, 20000, 12)
    found = means_after(benefit, change[:, None], np.array([[100.0**2]]), np.array([[150.0]]))
    assert found[0] == pytest.approx([-100.0, 0.0], abs=3.0)


def test_two_alike_readings_with_one_error_are_one_reading() -> None:
    exact = np.random.default_rng(9).normal(size=(5, 1)) @ np.ones((1, 2))
    # Errors shared almost wholly: distances are those of one reading.
    both = whitened(exact, 4.0 * np.ones((2, 2)) + 1e-9 * np.eye(2))
    one = whitened(exact[:, :1], np.array([[4.0]]))
    apart = [np.linalg.norm(x[0] - x[1]) for x in (both, one)]
    assert apart[0] == pytest.approx(apart[1], rel=1e-6)
