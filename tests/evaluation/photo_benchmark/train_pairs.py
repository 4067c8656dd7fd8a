"""Fit the pair model: a logistic regression over figures bent at a few knots (see evaluate.py)."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from sklearn.linear_model import LogisticRegression

from extractors.photos.evidence import FIGURES
from extractors.photos.model import bend

_QUANTILES = (0.02, 0.2, 0.4, 0.6, 0.8, 0.95)
_LEAST_AGREEING = 0.12  # a true pair that agrees less is laid wrongly: no example of anything
_CHANCE = 1e-6


def knots_of(
    figures: npt.NDArray[np.float32], labels: npt.NDArray[np.bool_]
) -> list[tuple[int, float]]:
    """(column, place) of the knots: quantiles of copies and of others, each once."""
    found = []
    for column in range(figures.shape[1]):
        values = np.concatenate(
            [np.quantile(figures[labels == label, column], _QUANTILES) for label in (False, True)]
        )
        spread = float(figures[:, column].std()) or 1.0
        kept: list[float] = []
        for value in sorted(values.tolist()):
            if not kept or value - kept[-1] > 0.12 * spread:
                kept.append(value)
        found.extend((column, value) for value in kept)
    return found


def train(
    figures: npt.NDArray[np.float32], labels: npt.NDArray[np.bool_], strictness: float = 0.01
) -> dict[str, object]:
    """Fit the logistic regression; the result is what the JSON file holds, without card."""
    agree = figures[:, FIGURES.index("agree")]
    keep = ~labels | (agree >= _LEAST_AGREEING)
    figures, labels = figures[keep], labels[keep]
    knots = knots_of(figures, labels)
    columns = np.array([column for column, _ in knots])
    places = np.array([place for _, place in knots])
    bent = bend(figures, columns, places)
    scale = bent.std(0) + 1e-6
    fitted = LogisticRegression(C=strictness, max_iter=1000).fit(bent / scale, labels)
    return {
        "intercept": round(float(fitted.intercept_[0]), 6),
        "threshold": 0.5,
        "knots": [
            {"figure": FIGURES[column], "above": round(place, 6), "weight": round(weight, 6)}
            for (column, place), weight in zip(
                knots, (fitted.coef_[0] / scale).tolist(), strict=True
            )
        ],
    }


def scores_of(
    model: dict[str, object], figures: npt.NDArray[np.float32]
) -> npt.NDArray[np.float64]:
    """Scores of a model that is not yet a file."""
    knots: list[dict[str, object]] = model["knots"]  # type: ignore[assignment]
    columns = np.array([FIGURES.index(str(knot["figure"])) for knot in knots])
    places = np.array([float(str(knot["above"])) for knot in knots])
    weights = np.array([float(str(knot["weight"])) for knot in knots])
    odds = bend(figures, columns, places) @ weights + float(str(model["intercept"]))
    return np.asarray(1 / (1 + np.exp(-np.clip(odds, -40, 40))))


def safe_threshold(
    scores: npt.NDArray[np.float64], labels: npt.NDArray[np.bool_], negatives: int
) -> float:
    """The score above which about one in a million of all negative pairs lies, at least 0.5."""
    allowed = int(_CHANCE * negatives)
    wrong = np.sort(scores[~labels])[::-1]
    limit = float(wrong[allowed]) if len(wrong) > allowed else 0.0
    return round(min(0.995, max(0.5, limit + 0.2 * (1 - limit))), 4)
