"""Cheap looks at a candidate, one after the other: each gives the log-odds that it shows a copy.

Logistic regressions on candidates of the tuning half; the file holds the weights, what every look
must reach, and how it was made (tests/evaluation/photo_benchmark/train_gates.py).
"""

from __future__ import annotations

import functools
import json
from dataclasses import dataclass
from importlib import resources

import numpy as np
import numpy.typing as npt


@dataclass(frozen=True, slots=True, eq=False)
class Gate:
    """One look: what its figures weigh, and the log-odds below which a candidate is left."""

    weights: npt.NDArray[np.float64]
    intercept: float
    least: float

    def log_odds(self, figures: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """(n, figures) -> (n,)."""
        return np.asarray(figures @ self.weights + self.intercept)


@functools.cache
def load_gate(name: str) -> Gate:
    """The gate `shared` (words alone), `begun` (first round of matching), `aligned` (second) or
    `laid` (first look at the pixels).
    """
    text = (resources.files("extractors.photos") / "data" / "gates.json").read_text("utf-8")
    stored = json.loads(text)["gates"][name]
    return Gate(np.array(stored["weights"]), float(stored["intercept"]), float(stored["least"]))
