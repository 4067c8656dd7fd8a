"""Figures of merit for stated risks against what was found.

All take `bad` (n,) of 0 and 1 and `risk` (n,) of probabilities or scores. Numbers of pieces are
small, so every figure goes with an interval that keeps sellers together; the tests hold each figure
to scikit-learn, whose checks of arguments are too slow for a bootstrap.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta, norm, rankdata

Floats = NDArray[np.float64]
Figure = Callable[[Floats, Floats], float]


def auc(bad: Floats, risk: Floats) -> float:
    """Chance that a bad piece has the higher risk, ties half; nan with one kind only."""
    y = np.asarray(bad, float)
    n_bad, n_good = y.sum(), (1 - y).sum()
    if not n_bad or not n_good:
        return float("nan")
    ranks = rankdata(risk)
    return float((ranks[y == 1].sum() - n_bad * (n_bad + 1) / 2) / (n_bad * n_good))


def average_precision(bad: Floats, risk: Floats) -> float:
    """Sum of precision over the steps of recall, ties together; nan without a bad piece."""
    y, p = np.asarray(bad, float), np.asarray(risk, float)
    if not y.sum():
        return float("nan")
    order = np.argsort(-p, kind="stable")
    hits = np.cumsum(y[order])
    last = np.append(np.flatnonzero(np.diff(p[order])), len(y) - 1)
    recall = np.diff(hits[last] / y.sum(), prepend=0.0)
    return float((recall * hits[last] / (last + 1)).sum())


def brier(bad: Floats, risk: Floats) -> float:
    """Mean squared difference of risk and outcome (Brier 1950)."""
    return float(np.mean((np.asarray(risk, float) - np.asarray(bad, float)) ** 2))


def natural_log_loss(bad: Floats, risk: Floats) -> float:
    """Mean surprise in natural logarithm; risks are held off 0 and 1 by the smallest step."""
    tiny = np.finfo(float).eps
    y, p = np.asarray(bad, float), np.clip(np.asarray(risk, float), tiny, 1 - tiny)
    return float(-(y * np.log(p) + (1 - y) * np.log1p(-p)).mean())


def auc_error(area: float, bad: int, good: int) -> float:
    """Standard error of an AUC (Hanley and McNeil 1982).

    >>> round(auc_error(0.78125, 4, 4), 4)
    0.1746
    """
    q1, q2 = area / (2 - area), 2 * area * area / (1 + area)
    spread = area * (1 - area) + (bad - 1) * (q1 - area**2) + (good - 1) * (q2 - area**2)
    return float(np.sqrt(spread / (bad * good)))


@dataclass(frozen=True, slots=True)
class Murphy:
    """The three parts of a Brier score: reliability - resolution + uncertainty (Murphy 1973)."""

    reliability: float
    resolution: float
    uncertainty: float


def murphy(bad: Floats, risk: Floats) -> Murphy:
    """Split a Brier score over the distinct stated risks (exact when they are few)."""
    y, p = np.asarray(bad, float), np.asarray(risk, float)
    base, n = y.mean(), len(y)
    reliability = resolution = 0.0
    for value in np.unique(p):
        here = y[p == value]
        reliability += len(here) * (value - here.mean()) ** 2
        resolution += len(here) * (here.mean() - base) ** 2
    return Murphy(float(reliability / n), float(resolution / n), float(base * (1 - base)))


def in_bins(risk: Floats, bins: int) -> NDArray[np.int64]:
    """The bin of each risk: equal widths, each bin holding its right edge; 0 is in the first."""
    edges = np.linspace(0, 1, bins + 1)
    return np.clip(np.searchsorted(edges, np.asarray(risk, float), side="left") - 1, 0, bins - 1)


def calibration_error(bad: Floats, risk: Floats, bins: int = 10) -> float:
    """Expected calibration error over equal bins, closed on the right (form of Guo et al. 2017)."""
    y, p = np.asarray(bad, float), np.asarray(risk, float)
    where = in_bins(p, bins)
    gaps = [abs(y[where == b].sum() - p[where == b].sum()) for b in np.unique(where)]
    return float(sum(gaps) / len(y))


def lift(bad: Floats, risk: Floats, first: int) -> float:
    """How much purer the `first` of lowest risk are than all: share as described over the base."""
    y = np.asarray(bad, float)
    best = np.argsort(np.asarray(risk, float), kind="stable")[:first]
    base = 1 - y.mean()
    return float((1 - y[best].mean()) / base) if base else float("nan")


def work_saved(bad: Floats, risk: Floats, wanted: float = 0.95) -> float:
    """Share of listings that need no opening when the good ones are wanted to this share."""
    y = np.asarray(bad, float)
    good = np.cumsum(1 - y[np.argsort(np.asarray(risk, float), kind="stable")])
    if not len(good) or good[-1] == 0:
        return float("nan")
    opened = int(np.searchsorted(good, wanted * good[-1] - 1e-9)) + 1
    return 1.0 - opened / len(y)


def wilson(hits: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """Score interval of a share (Wilson 1927).

    >>> [round(edge, 4) for edge in wilson(8, 10)]
    [0.4902, 0.9433]
    """
    z = float(norm.ppf(0.5 + level / 2))
    p, spread = hits / n, z * np.sqrt(hits / n * (1 - hits / n) / n + z * z / (4 * n * n))
    middle, scale = p + z * z / (2 * n), 1 + z * z / n
    return float((middle - spread) / scale), float((middle + spread) / scale)


def clopper_pearson(hits: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """Exact interval of a share (Clopper and Pearson 1934).

    >>> [round(edge, 4) for edge in clopper_pearson(0, 30)]
    [0.0, 0.1157]
    """
    tail = (1 - level) / 2
    low = float(beta.ppf(tail, hits, n - hits + 1)) if hits else 0.0
    high = float(beta.ppf(1 - tail, hits + 1, n - hits)) if hits < n else 1.0
    return low, high


def mean_over_groups(values: Sequence[float], groups: Sequence[int]) -> tuple[float, float]:
    """Mean over values, with a standard error that lets values of one group move together."""
    x, number = np.asarray(values, float), np.asarray(groups)
    if not len(x):
        return 0.0, float("inf")
    slack = x - x.mean()
    sums = np.array([slack[number == g].sum() for g in np.unique(number)])
    k = len(sums)
    error = np.sqrt(k / max(1, k - 1) * (sums**2).sum()) / len(x)
    return float(x.mean()), float(error)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its 90 % interval; nan where it cannot be had."""

    value: float
    low: float
    high: float


def bootstrap(
    figure: Figure,
    bad: Sequence[float],
    risk: Sequence[float],
    groups: Sequence[int],
    draws: int = 400,
    seed: int = 0,
) -> Estimate:
    """A figure with a 90 % percentile interval, whole groups (sellers) being drawn anew."""
    y, p = np.asarray(bad, float), np.asarray(risk, float)
    number = np.asarray(groups)
    members = [np.flatnonzero(number == g) for g in np.unique(number)]
    random = np.random.default_rng(seed)
    values = []
    for _ in range(draws):
        chosen = random.integers(0, len(members), len(members))
        rows = np.concatenate([members[i] for i in chosen])
        values.append(figure(y[rows], p[rows]))
    usable = np.array([v for v in values if np.isfinite(v)])
    if not len(usable):
        return Estimate(figure(y, p), float("nan"), float("nan"))
    low, high = np.quantile(usable, [0.05, 0.95])
    return Estimate(figure(y, p), float(low), float(high))
