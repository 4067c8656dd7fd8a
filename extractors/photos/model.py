"""The pair model: small decision trees over the figures of evidence.py, summed, kept as JSON.

Every figure may push the score one way only (more agreement never speaks against a copy). Trained
by tests/evaluation/photo_benchmark/train.py on pairs made for the purpose; the card in the file
says on what.
"""

from __future__ import annotations

import functools
import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from typing import Any

import numpy as np
import numpy.typing as npt

from extractors.photos.evidence import FIGURES
from extractors.photos.features import Floats

DEPTH = 3
_ROWS = 100  # weighed at a time: what fits into the cache takes half the time


@dataclass(frozen=True, slots=True, eq=False)
class PairModel:
    """t full trees of depth 3: the figure asked (`columns`, (t, 7)) and its `cuts` (t, 7) by node,
    level by level, and what each of 8 `leaves` adds. A score over `threshold` is a copy.
    """

    columns: npt.NDArray[np.intp]
    cuts: npt.NDArray[np.float64]
    leaves: npt.NDArray[np.float64]
    intercept: float
    threshold: float

    def log_odds(self, figures: Floats) -> npt.NDArray[np.float64]:
        """(n, figures) -> (n,) log-odds that the two show the same picture."""
        starts = range(0, max(len(figures), 1), _ROWS)
        return np.concatenate([self._log_odds(figures[at : at + _ROWS]) for at in starts])

    def _log_odds(self, figures: Floats) -> npt.NDArray[np.float64]:
        trees = np.arange(len(self.columns))
        node = np.zeros((len(figures), len(trees)), np.intp)
        rows = np.arange(len(figures))[:, None]
        for _ in range(DEPTH):
            seen = figures[rows, self.columns[trees, node]]
            node = 2 * node + 1 + (seen > self.cuts[trees, node])
        return np.asarray(self.leaves[trees, node - (2**DEPTH - 1)].sum(1) + self.intercept)

    def scores(self, figures: Floats) -> npt.NDArray[np.float64]:
        """(n, figures) -> (n,) from 0 to 1."""
        return as_scores(self.log_odds(figures))


def as_scores(log_odds: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """(n,) log-odds -> (n,) from 0 to 1."""
    return np.asarray(1 / (1 + np.exp(-np.clip(log_odds, -40, 40))))


def read_model(stored: Mapping[str, Any]) -> PairModel:
    """A model from the parsed JSON; ValueError if it asks for figures that evidence.py lacks."""
    if not set(stored["figures"]) <= set(FIGURES):
        raise ValueError("the pair model was made for other figures; train it again")
    place = np.array([FIGURES.index(name) for name in stored["figures"]], np.intp)
    trees = stored["trees"]
    return PairModel(
        columns=place[np.array([tree["figures"] for tree in trees], np.intp)],
        cuts=np.array([tree["cuts"] for tree in trees], np.float64),
        leaves=np.array([tree["leaves"] for tree in trees], np.float64),
        intercept=float(stored["intercept"]),
        threshold=float(stored["threshold"]),
    )


@functools.cache
def load_model(name: str = "pair_model") -> PairModel:
    """A shipped model: "pair_model" decides what is a copy.

    "search_model" only says how long the search for copies goes on. It is a file of its own, so
    that a pair model trained anew sees the same pairs as the one before.
    """
    file = resources.files("extractors.photos") / "data" / f"{name}.json"
    return read_model(json.loads(file.read_text("utf-8")))
