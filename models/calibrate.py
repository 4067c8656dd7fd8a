"""Calibration: bring the stated risk in line with what was found, by as much data as there is.

A calibration takes a score in log-odds and gives one in log-odds, so that it can stand as the last
named step of the sum. It must be fitted on scores of outcomes the model was not fitted on.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit
from sklearn.isotonic import IsotonicRegression

from extractors.errors import UserError

Floats = NDArray[np.float64]

# common practice, no source: below, there is nothing to calibrate on; Platt has two figures to
# learn, Venn-Abers a curve with honest bounds, isotonic a curve that needs many points
PLATT_FROM, VENN_ABERS_FROM, ISOTONIC_FROM = 30, 200, 1000
LEAST_OF_EACH = 8
EDGE = 1e-3  # no calibrated probability is closer than this to 0 or 1


def log_odds(p: float) -> float:
    """Probability to log-odds, held off the edges.

    >>> log_odds(0.5)
    0.0
    """
    held = min(1.0 - EDGE, max(EDGE, p))
    return math.log(held / (1.0 - held))


@dataclass(frozen=True, slots=True)
class Platt:
    """Score times slope plus offset (Platt 1999)."""

    slope: float
    offset: float
    kind: str = "Platt"

    def __call__(self, score: float) -> float:
        return self.slope * score + self.offset


@dataclass(frozen=True, slots=True)
class Steps:
    """A rising staircase: the log-odds from each edge on (isotonic regression)."""

    edges: tuple[float, ...]
    values: tuple[float, ...]
    kind: str = "isotonic"

    def __call__(self, score: float) -> float:
        return self.values[max(0, bisect_right(self.edges, score) - 1)]


@dataclass(frozen=True, slots=True)
class VennAbers:
    """Scores and outcomes to be fitted twice for each new score (Vovk and Petej 2014)."""

    scores: tuple[float, ...]
    bad: tuple[bool, ...]
    kind: str = "Venn-Abers"

    def bounds(self, score: float) -> tuple[float, float]:
        """The probabilities if the new piece were good, and if it were bad: p0 <= p1."""
        low, high = (self._at(score, added) for added in (False, True))
        return low, high

    def _at(self, score: float, added: bool) -> float:
        fit = IsotonicRegression(y_min=0.0, y_max=1.0)
        fit.fit([*self.scores, score], [*self.bad, added])
        return float(fit.predict([score])[0])

    def __call__(self, score: float) -> float:
        return log_odds(merge_bounds(*self.bounds(score)))


Calibration = Platt | Steps | VennAbers


def merge_bounds(p0: float, p1: float) -> float:
    """One probability from the Venn-Abers pair: p1 / (1 - p0 + p1) (Vovk and Petej 2014).

    >>> round(merge_bounds(0.6, 0.7), 6)
    0.636364
    """
    return p1 / (1.0 - p0 + p1)


def platt_targets(good: int, bad: int) -> tuple[float, float]:
    """Targets for good and bad pieces that keep Platt's fit off the edges (Platt 1999).

    >>> [round(target, 6) for target in platt_targets(90, 10)]
    [0.01087, 0.916667]
    """
    return 1.0 / (good + 2.0), (bad + 1.0) / (bad + 2.0)


def fit_platt(scores: Sequence[float], bad: Sequence[bool]) -> Platt:
    """Fit slope and offset by maximum likelihood to Platt's targets; the slope never below 0."""
    low, high = platt_targets(len(bad) - sum(bad), sum(bad))
    target = np.where(np.asarray(bad, bool), high, low)
    x = np.asarray(scores, float)

    def loss(ab: Floats) -> tuple[float, Floats]:
        z = ab[0] * x + ab[1]
        value = float((np.logaddexp(0, z) - target * z).sum())
        slack = expit(z) - target
        return value, np.array([(slack * x).sum(), slack.sum()])

    found = minimize(
        loss, [1.0, 0.0], jac=True, method="L-BFGS-B", bounds=[(0, None), (None, None)]
    )
    return Platt(float(found.x[0]), float(found.x[1]))


def fit_steps(scores: Sequence[float], bad: Sequence[bool]) -> Steps:
    """Fit a rising staircase by pooling adjacent violators."""
    fit = IsotonicRegression(y_min=0.0, y_max=1.0).fit(scores, np.asarray(bad, float))
    edges = np.unique(np.asarray(scores, float))
    return Steps(tuple(map(float, edges)), tuple(log_odds(float(p)) for p in fit.predict(edges)))


def fit_calibration(scores: Sequence[float], bad: Sequence[bool]) -> Calibration | None:
    """Fit what the amount of data allows; None while there is too little of either kind."""
    if len(scores) < PLATT_FROM or min(sum(bad), len(bad) - sum(bad)) < LEAST_OF_EACH:
        return None
    if len(scores) < VENN_ABERS_FROM:
        return fit_platt(scores, bad)
    if len(scores) < ISOTONIC_FROM:
        return VennAbers(tuple(map(float, scores)), tuple(map(bool, bad)))
    return fit_steps(scores, bad)


def to_table(calibration: Callable[[float], float]) -> dict[str, Any]:
    """A calibration as plain values for a stored model; TypeError if it is none of ours."""
    if not isinstance(calibration, Platt | Steps | VennAbers):
        raise TypeError(f"{type(calibration).__name__} cannot be stored")
    names = [name for name in calibration.__slots__ if name != "kind"]
    values = {name: getattr(calibration, name) for name in names}
    plain = {k: list(v) if isinstance(v, tuple) else v for k, v in values.items()}
    return {"kind": calibration.kind, **plain}


def from_table(table: Mapping[str, Any]) -> Calibration:
    """A calibration from plain values; raises UserError where they make none."""
    kind = table.get("kind")
    try:
        if kind == "Platt":
            return _checked(Platt(float(table["slope"]), float(table["offset"])))
        if kind == "isotonic":
            return _checked(Steps(_floats(table["edges"]), _floats(table["values"])))
        if kind == "Venn-Abers":
            bad = tuple(value is True for value in table["bad"])
            return _checked(VennAbers(_floats(table["scores"]), bad))
    except (KeyError, TypeError, ValueError) as error:
        raise UserError(f"the stored calibration is damaged: {error}") from error
    raise UserError(f"the stored calibration is of an unknown kind: {kind!r}")


def _floats(values: Any) -> tuple[float, ...]:
    return tuple(float(value) for value in values)


def _checked(calibration: Calibration) -> Calibration:
    """Refuse what could not have come from a fit: not finite, not rising, not paired."""
    match calibration:
        case Platt(slope, offset):
            sound = math.isfinite(slope) and math.isfinite(offset) and slope >= 0
        case Steps(edges, values):
            paired = len(edges) == len(values) > 0
            sound = paired and list(edges) == sorted(edges) and list(values) == sorted(values)
        case VennAbers(scores, bad):
            sound = len(scores) == len(bad) > 0 and all(map(math.isfinite, scores))
    if not sound:
        raise UserError("the stored calibration is damaged", "fit it anew from the outcomes")
    return calibration
