"""Cheap looks at a candidate, one after the other: each gives the log-odds that it shows a copy.

Learned on candidates of the tuning half; the file holds the weights or trees, what every look must
reach, and how it was made (tests/evaluation/photo_benchmark/train_gates.py).
"""

from __future__ import annotations

import functools
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

DEPTH = 3
_NODES = 2**DEPTH - 1


class Gate(Protocol):
    """One look: how many figures it weighs, and the log-odds below which a candidate is left."""

    @property
    def figures(self) -> int: ...

    @property
    def least(self) -> float: ...

    def log_odds(self, figures: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """(n, figures) -> (n,), or (figures,) -> ()."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """A logistic regression."""

    weights: npt.NDArray[np.float64]
    intercept: float
    least: float

    @property
    def figures(self) -> int:
        """How many figures it weighs."""
        return len(self.weights)

    def log_odds(self, figures: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """(n, figures) -> (n,), or (figures,) -> ()."""
        return np.asarray(figures @ self.weights + self.intercept)


@dataclass(frozen=True, slots=True, eq=False)
class Trees:
    """t full trees of depth 3, whose nodes are numbered level by level.

    `columns` (7 * t,) is the figure that each node asks, `cuts` what it must exceed: of all first
    nodes, then of all second ones. Every tree adds one of its 128 `sums` (t * 128,), which begin at
    `rows` (t,), for the way its seven nodes answer.
    """

    figures: int
    columns: npt.NDArray[np.intp]
    cuts: npt.NDArray[np.float64]
    rows: npt.NDArray[np.intp]
    sums: npt.NDArray[np.float64]
    intercept: float
    least: float

    def log_odds(self, figures: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """(n, figures) -> (n,), or (figures,) -> ()."""
        seen = figures.T.take(self.columns, 0)  # (7 * t, n): all trees' first node, then the next
        over = (self.cuts < seen.T).T.reshape(_NODES, -1)
        answers = np.packbits(over, 0, "little").reshape(len(self.rows), *figures.shape[:-1])
        sums = self.sums.take((answers.T + self.rows).T)
        return np.asarray(sums.sum(0) + self.intercept)


def trees_of(stored: Mapping[str, Any]) -> Trees:
    """The trees as the file holds them."""
    trees = stored["trees"]
    return Trees(
        figures=int(stored["figures"]),
        columns=np.array([tree["figures"] for tree in trees], np.intp).T.ravel(),
        cuts=np.array([tree["cuts"] for tree in trees], np.float64).T.ravel(),
        rows=np.arange(len(trees)) * 2**_NODES,
        sums=np.concatenate([_sums(tree["leaves"]) for tree in trees]),
        intercept=float(stored["intercept"]),
        least=float(stored["least"]),
    )


def _sums(leaves: Sequence[float]) -> npt.NDArray[np.float64]:
    """(128,) the leaf that each way to answer the nodes leads to; bit i is what node i answers."""
    answers = np.arange(2**_NODES)
    node = np.zeros(2**_NODES, np.intp)
    for _ in range(DEPTH):
        node = 2 * node + 1 + (answers >> node & 1)
    return np.asarray(np.array(leaves, np.float64)[node - _NODES])


@functools.cache
def load_gate(name: str) -> Gate:
    """The gate `shared` (words alone), `first` (every third feature matched), `begun` (and fitted),
    `aligned` (all features), `seen` (first look at the pixels) or, for photos that were laid over
    each other without words, `alike` (all features) or `laid` (first look at the pixels).
    """
    text = (resources.files("extractors.photos") / "data" / "gates.json").read_text("utf-8")
    stored = json.loads(text)["gates"][name]
    if "trees" in stored:
        return trees_of(stored)
    return Weighed(np.array(stored["weights"]), float(stored["intercept"]), float(stored["least"]))
