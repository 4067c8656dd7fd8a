"""The pair model: a small logistic regression over the figures of evidence.py, kept as JSON.

Each figure enters bent at a few knots (piecewise linear), so that the sum stays a sum. Trained by
tests/evaluation/photo_benchmark/train_pairs.py on pairs made for the purpose; the card in the file
says on what, and how well it did.
"""

from __future__ import annotations

import functools
import json
from dataclasses import dataclass
from importlib import resources

import numpy as np
import numpy.typing as npt

from extractors.photos.evidence import FIGURES
from extractors.photos.features import Floats


@dataclass(frozen=True, slots=True, eq=False)
class PairModel:
    """`knots` (name, at) and `weights`, one per knot; a score over `threshold` is a copy."""

    columns: npt.NDArray[np.intp]
    knots: npt.NDArray[np.float64]
    weights: npt.NDArray[np.float64]
    intercept: float
    threshold: float

    def log_odds(self, figures: Floats) -> npt.NDArray[np.float64]:
        """(n, figures) -> (n,) log-odds that the two show the same picture."""
        return np.asarray(bend(figures, self.columns, self.knots) @ self.weights + self.intercept)

    def scores(self, figures: Floats) -> npt.NDArray[np.float64]:
        """(n, figures) -> (n,) from 0 to 1."""
        return np.asarray(1 / (1 + np.exp(-np.clip(self.log_odds(figures), -40, 40))))


def bend(
    figures: Floats, columns: npt.NDArray[np.intp], knots: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """(n, knots): how far each figure lies above each knot."""
    return np.maximum(figures[:, columns].astype(np.float64) - knots, 0)


@functools.cache
def load_model() -> PairModel:
    """The shipped model; its figures must be those of evidence.py."""
    text = (resources.files("extractors.photos") / "data" / "pair_model.json").read_text("utf-8")
    stored = json.loads(text)
    names = [knot["figure"] for knot in stored["knots"]]
    return PairModel(
        columns=np.array([FIGURES.index(name) for name in names], np.intp),
        knots=np.array([knot["above"] for knot in stored["knots"]]),
        weights=np.array([knot["weight"] for knot in stored["knots"]]),
        intercept=float(stored["intercept"]),
        threshold=float(stored["threshold"]),
    )
