"""Figures of merit for stated risks against what was found.

All take `bad` (n,) of 0 and 1 and `risk` (n,) of probabilities or scores; some also `stands_for`
(n,), of how many listings each piece is the sample (1 without it). Numbers of pieces are small, so
every figure goes with an interval that keeps sellers together; the tests hold each figure to
scikit-learn, whose checks of arguments are too slow for a bootstrap.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta, norm

Floats = NDArray[np.float64]
Figure = Callable[[Floats, Floats], float]
Weighted = Callable[[Floats, Floats, Floats], float]


def auc(bad: Floats, risk: Floats, stands_for: Floats | None = None) -> float:
    """Chance that a bad piece has the higher risk, ties half; nan with one kind only."""
    y, w = np.asarray(bad, float), _standing(bad, stands_for)
    _, where = np.unique(risk, return_inverse=True)
    ill, well = np.bincount(where, w * y), np.bincount(where, w * (1 - y))
    if not ill.sum() or not well.sum():
        return float("nan")
    below = np.cumsum(well) - well / 2
    return float((ill * below).sum() / (ill.sum() * well.sum()))


def _standing(bad: Floats, stands_for: Floats | None) -> Floats:
    return np.ones(len(bad)) if stands_for is None else np.asarray(stands_for, float)


def average_precision(bad: Floats, risk: Floats, stands_for: Floats | None = None) -> float:
    """Sum of precision over the steps of recall, ties together; nan without a bad piece."""
    y, p, w = np.asarray(bad, float), np.asarray(risk, float), _standing(bad, stands_for)
    if not y.sum():
        return float("nan")
    order = np.argsort(-p, kind="stable")
    hits, opened = np.cumsum((w * y)[order]), np.cumsum(w[order])
    last = np.append(np.flatnonzero(np.diff(p[order])), len(y) - 1)
    recall = np.diff(hits[last] / hits[-1], prepend=0.0)
    return float((recall * hits[last] / opened[last]).sum())


def brier(bad: Floats, risk: Floats, stands_for: Floats | None = None) -> float:
    """Mean squared difference of risk and outcome (Brier 1950)."""
    slack = (np.asarray(risk, float) - np.asarray(bad, float)) ** 2
    return float(np.average(slack, weights=stands_for))


def natural_log_loss(bad: Floats, risk: Floats, stands_for: Floats | None = None) -> float:
    """Mean surprise in natural logarithm; risks are held off 0 and 1 by the smallest step."""
    tiny = np.finfo(float).eps
    y, p = np.asarray(bad, float), np.clip(np.asarray(risk, float), tiny, 1 - tiny)
    return float(np.average(-(y * np.log(p) + (1 - y) * np.log1p(-p)), weights=stands_for))


def share_bad(bad: Floats, risk: Floats, stands_for: Floats | None = None) -> float:
    """The share not as described, whatever the risk."""
    return float(np.average(np.asarray(bad, float), weights=stands_for))


def counts_like(stands_for: Floats) -> float:
    """As how many pieces of one weight these count (Kish 1965): (sum w)^2 / sum w^2.

    >>> counts_like(np.array([1.0, 1.0, 8.0]))
    1.5151515151515151
    """
    return float(stands_for.sum() ** 2 / (stands_for**2).sum())


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


def calibration_error(
    bad: Floats, risk: Floats, bins: int = 10, stands_for: Floats | None = None
) -> float:
    """Expected calibration error over equal bins, closed on the right (form of Guo et al. 2017)."""
    y, p, w = np.asarray(bad, float), np.asarray(risk, float), _standing(bad, stands_for)
    return float(np.abs(np.bincount(in_bins(p, bins), w * (y - p))).sum() / w.sum())


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
    figure: Figure | Weighted,
    bad: Sequence[float],
    risk: Sequence[float],
    groups: Sequence[int],
    draws: int = 400,
    seed: int = 0,
    stands_for: Sequence[float] | None = None,
) -> Estimate:
    """A figure with a 90 % percentile interval, whole groups (sellers) being drawn anew."""
    told = (bad, risk) if stands_for is None else (bad, risk, stands_for)
    columns = [np.asarray(values, float) for values in told]
    number = np.asarray(groups)
    members = [np.flatnonzero(number == g) for g in np.unique(number)]
    random = np.random.default_rng(seed)
    values = []
    for _ in range(draws):
        chosen = random.integers(0, len(members), len(members))
        rows = np.concatenate([members[i] for i in chosen])
        values.append(figure(*(column[rows] for column in columns)))
    usable = np.array([v for v in values if np.isfinite(v)])
    if not len(usable):
        return Estimate(figure(*columns), float("nan"), float("nan"))
    low, high = np.quantile(usable, [0.05, 0.95])
    return Estimate(figure(*columns), float(low), float(high))
