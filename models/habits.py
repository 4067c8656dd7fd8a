"""How much sellers differ in ways no listing shows, learned from outcomes that hang together.

Pieces of one seller turn out alike more often than their listings tell. How much so is one figure,
the standard deviation of sellers' habits in log-odds. It starts as a log-normal guess and is moved
by Bayes' rule over a grid of values: the chance of each group's outcomes is the mean over its habit
(Gauss and Hermite's rule). Only what ties the pieces of a group together counts: how well single
outcomes are foretold says more of the fit than of habits. It widens intervals; on weights it acts
only in so far as odds that habits blur tell less.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_expit, logsumexp

Floats = NDArray[np.float64]

REACH, STEPS = 3.0, 25  # the grid: so many standard deviations of the guess to both sides
NODES = 20


def believed(middle: float, doubt: float) -> float:
    """The spread to reckon with before any outcome: the root of the mean square of the guess.

    >>> believed(0.5, 0.0)
    0.5
    """
    return middle * math.exp(doubt * doubt)


def flatness(doubt: Floats) -> Floats:
    """By how much odds are flattened that are blurred by a normal doubt (MacKay 1992), 0 to 1.

    >>> flatness(np.array([0.0, 1.0])).round(4).tolist()
    [1.0, 0.8474]
    """
    flat: Floats = 1.0 / np.sqrt(1.0 + np.pi * doubt**2 / 8.0)
    return flat


def learned(
    middle: float,
    doubt: float,
    scores: Floats,
    unstated: Floats,
    bad: NDArray[np.bool_],
    groups: Sequence[int],
) -> float:
    """The spread to reckon with after outcomes: the root of its mean square after all of them.

    `scores` (n,) are the log-odds without any habit, `unstated` (n,) the doubt of each piece about
    what its listing leaves out; `groups` (n,) number the sellers.
    """
    if middle <= 0.0 or doubt <= 0.0 or not len(scores):
        return believed(middle, doubt)
    grid = middle * np.exp(doubt * np.linspace(-REACH, REACH, STEPS))
    guess = -0.5 * np.linspace(-REACH, REACH, STEPS) ** 2
    told = guess + np.array([_log_chance(tau, scores, unstated, bad, groups) for tau in grid])
    after = np.exp(told - logsumexp(told))
    return float(np.sqrt((after * grid**2).sum()))


def _log_chance(
    tau: float,
    scores: Floats,
    unstated: Floats,
    bad: NDArray[np.bool_],
    groups: Sequence[int],
) -> float:
    """Log chance of the outcomes of each group together, less that of each alone, at `tau`."""
    nodes, mass = np.polynomial.hermite_e.hermegauss(NODES)
    sign = np.where(bad, 1.0, -1.0) * flatness(unstated)
    each = log_expit(sign[:, None] * (scores[:, None] + tau * nodes))
    names, number = np.unique(np.asarray(groups), return_inverse=True)
    grouped = np.zeros((len(names), NODES))
    np.add.at(grouped, number, each)
    share = np.log(mass / mass.sum())
    together = logsumexp(grouped + share, axis=1).sum()
    alone = logsumexp(each + share, axis=1).sum()
    return float(together - alone)
