"""How far sellers' habits spread is learned from pieces that hang together, from nothing else."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import expit
from scipy.stats import norm

from models.habits import believed, learned


def market(spread: float, sellers: int, size: int, seed: int = 0):  # type: ignore[no-untyped-def]
    random = np.random.default_rng(seed)
    groups = np.repeat(np.arange(sellers), size)
    scores = random.normal(0, 1, len(groups))
    habit = np.repeat(random.normal(0, spread, sellers), size)
    bad = random.random(len(groups)) < expit(scores + habit)
    return scores, np.zeros(len(groups)), bad, groups.tolist()


@pytest.mark.parametrize("spread", [0.3, 1.0, 2.0])
def test_many_sellers_tell_the_spread(spread):
    assert learned(0.5, 0.8, *market(spread, 600, 6)) == pytest.approx(spread, rel=0.2, abs=0.15)


def test_pieces_of_different_sellers_tell_nothing():
    assert learned(0.5, 0.8, *market(2.0, 300, 1)) == pytest.approx(believed(0.5, 0.8), rel=0.05)


def test_pieces_alike_of_one_seller_widen_and_mixed_ones_narrow():
    scores, unstated, groups = np.zeros(6), np.zeros(6), [0, 0, 0, 1, 1, 1]
    alike, mixed = np.array([1, 1, 1, 0, 0, 0], bool), np.array([1, 0, 1, 0, 1, 0], bool)
    wide = learned(0.5, 0.8, scores, unstated, alike, groups)
    assert wide > learned(0.5, 0.8, scores, unstated, mixed, groups)


def test_no_doubt_leaves_the_figure_as_it_is():
    assert learned(0.5, 0.0, *market(2.0, 50, 4)) == 0.5


def test_two_pieces_by_hand():
    """Bayes' rule by numerical integration over the guess and over the habit."""

    def together(tau: float) -> float:
        both = quad(lambda z: expit(tau * z) ** 2 * norm.pdf(z), -8, 8)[0]
        return float(both / 0.25)  # each alone: one half

    steps = np.linspace(-3, 3, 61)
    grid, guess = 0.5 * np.exp(0.8 * steps), norm.pdf(steps)
    after = guess * np.array([together(tau) for tau in grid])
    wanted = float(np.sqrt((after * grid**2).sum() / after.sum()))
    two = (np.zeros(2), np.zeros(2), np.array([True, True]), [7, 7])
    assert learned(0.5, 0.8, *two) == pytest.approx(wanted, rel=0.01)
