"""Boosted trees as plain values: scores and exact Shapley values without the library behind them.

A challenger is stored as lists of numbers and read back as such; no stored code is ever run.
Shapley values are those of the trees' own conditional means (path-dependent, Lundberg et al. 2020),
found by going through every subset of a tree's few splits' features, so they are exact.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import factorial, fsum, isfinite
from typing import Any

from extractors.errors import UserError

MOST_FEATURES = 12  # in one tree; subsets double with each


@dataclass(frozen=True, slots=True)
class Node:
    """A split (amount <= threshold goes left) or a leaf (`feature` is None); `count` passed by."""

    value: float
    count: float
    feature: str | None = None
    threshold: float = 0.0
    left: int = 0
    right: int = 0


Tree = tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Trees:
    """A sum of trees over a baseline, in log-odds."""

    baseline: float
    trees: tuple[Tree, ...]

    def score(self, amounts: Mapping[str, float]) -> float:
        """Log-odds for one listing; a code it lacks is 0."""
        return fsum([self.baseline, *(_leaf(tree, amounts) for tree in self.trees)])

    def start(self) -> float:
        """The score before any feature is known: baseline plus each tree's mean."""
        return fsum([self.baseline, *(_mean(tree, frozenset(), {}) for tree in self.trees)])

    def shapley(self, amounts: Mapping[str, float]) -> dict[str, float]:
        """Exact contribution of each feature; with `start` they add up to the score."""
        parts: dict[str, list[float]] = {}
        for tree in self.trees:
            for name, value in _shapley(tree, amounts).items():
                parts.setdefault(name, []).append(value)
        return {name: fsum(values) for name, values in parts.items()}


def _leaf(tree: Tree, amounts: Mapping[str, float]) -> float:
    node = tree[0]
    while node.feature is not None:
        goes_left = amounts.get(node.feature, 0.0) <= node.threshold
        node = tree[node.left if goes_left else node.right]
    return node.value


def _mean(tree: Tree, known: frozenset[str], amounts: Mapping[str, float], at: int = 0) -> float:
    """Mean of the tree when only the `known` features are, both ways weighed by their counts."""
    node = tree[at]
    if node.feature is None:
        return node.value
    if node.feature in known:
        goes_left = amounts.get(node.feature, 0.0) <= node.threshold
        return _mean(tree, known, amounts, node.left if goes_left else node.right)
    left, right = tree[node.left], tree[node.right]
    total = left.count + right.count
    return (
        left.count * _mean(tree, known, amounts, node.left)
        + right.count * _mean(tree, known, amounts, node.right)
    ) / total


def _shapley(tree: Tree, amounts: Mapping[str, float]) -> dict[str, float]:
    names = sorted({node.feature for node in tree if node.feature is not None})
    worth = {
        frozenset(some): _mean(tree, frozenset(some), amounts)
        for size in range(len(names) + 1)
        for some in combinations(names, size)
    }
    n = len(names)
    share = [factorial(k) * factorial(n - k - 1) / factorial(n) for k in range(n)]
    return {
        name: fsum(
            share[len(some)] * (worth[some | {name}] - value)
            for some, value in worth.items()
            if name not in some
        )
        for name in names
    }


def trees_of(classifier: Any, columns: Sequence[str]) -> Trees:
    """Take the trees out of a fitted scikit-learn HistGradientBoostingClassifier of two classes."""
    grown = tuple(
        tuple(_node_of(row, columns) for row in predictors[0].nodes)
        for predictors in classifier._predictors
    )
    return Trees(float(classifier._baseline_prediction.ravel()[0]), grown)


def _node_of(row: Any, columns: Sequence[str]) -> Node:
    value, count = float(row["value"]), float(row["count"])
    if row["is_leaf"]:
        return Node(value, count)
    name, threshold = columns[int(row["feature_idx"])], float(row["num_threshold"])
    return Node(value, count, name, threshold, int(row["left"]), int(row["right"]))


def to_table(trees: Trees) -> dict[str, Any]:
    """Trees as plain values for a stored model."""
    rows = [
        [[n.value, n.count, n.feature, n.threshold, n.left, n.right] for n in tree]
        for tree in trees.trees
    ]
    return {"baseline": trees.baseline, "trees": rows}


def from_table(table: Mapping[str, Any], columns: Sequence[str]) -> Trees:
    """Trees from plain values; raises UserError on anything that could not have been grown."""
    try:
        grown = tuple(tuple(Node(*row) for row in tree) for tree in table["trees"])
        trees = Trees(float(table["baseline"]), grown)
    except (KeyError, TypeError, ValueError) as error:
        raise UserError(f"the stored trees are damaged: {error}", "learn them anew") from error
    for tree in trees.trees:
        _inspect(tree, frozenset(columns))
    return trees


def _inspect(tree: Tree, columns: frozenset[str]) -> None:
    """Children come after their parent and inside the list, so that every walk ends."""
    features = {node.feature for node in tree if node.feature is not None}
    sound = bool(tree) and features <= columns and len(features) <= MOST_FEATURES
    for at, node in enumerate(tree):
        numbers = (node.value, node.count, node.threshold)
        sound = sound and all(isinstance(n, int | float) and isfinite(n) for n in numbers)
        if node.feature is not None:
            ways = (node.left, node.right)
            sound = sound and all(isinstance(w, int) and at < w < len(tree) for w in ways)
    if not sound:
        raise UserError("the stored trees are damaged", "learn them anew from the outcomes")
