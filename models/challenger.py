"""A boosted challenger to the linear ranker, and the trial that says whether it takes over.

It is tried only from about 100 bad outcomes in 30 groups. The trial walks through time: train on
what was known, test on what came next, with no seller and no photo of the test in the training.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from sklearn.ensemble import HistGradientBoostingClassifier

from models.learn import codes, design_of, learn, trust_of
from models.metrics import mean_over_groups
from models.outcomes import Outcome, group_outcomes
from models.trees import Trees, trees_of
from models.weights import Weights

Floats = NDArray[np.float64]

BAD_NEEDED, GROUPS_NEEDED = 100, 30
FOLDS = 5
BEYOND_NOISE = 2.0  # standard errors


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether the challenger takes over, and why in words the buyer can read.

    `difference` is mean log loss of the challenger less that of the linear ranker (nats per
    listing; below zero is better) with the standard error over groups; None when not tried.
    """

    takes_over: bool
    why: str
    difference: float | None = None
    error: float | None = None


def is_due(outcomes: Sequence[Outcome]) -> tuple[bool, str]:
    """Whether there is enough to try the challenger on, and what is lacking."""
    groups = group_outcomes(outcomes)
    bad = sum(outcome.bad for outcome in outcomes)
    bad_groups = len({g for g, outcome in zip(groups, outcomes, strict=True) if outcome.bad})
    if bad >= BAD_NEEDED and bad_groups >= GROUPS_NEEDED:
        return True, f"{bad} pieces not as described in {bad_groups} groups"
    return False, (
        f"not tried: {bad} of {BAD_NEEDED} pieces not as described, "
        f"in {bad_groups} of {GROUPS_NEEDED} separate groups"
    )


def folds_in_time(
    outcomes: Sequence[Outcome], folds: int = FOLDS
) -> Iterator[tuple[list[int], list[int]]]:
    """Yield (training, test) indices: tests later than training, and no group in both."""
    groups = group_outcomes(outcomes)
    by_time = sorted(range(len(outcomes)), key=lambda i: (outcomes[i].date, outcomes[i].id))
    edges = np.linspace(0, len(by_time), folds + 2).astype(int)[1:]
    for start, end in itertools.pairwise(edges):
        test = by_time[start:end]
        held_out = {groups[i] for i in test}
        training = [i for i in by_time[:start] if groups[i] not in held_out]
        if training and test:
            yield training, test


def grow(weights: Weights, outcomes: Sequence[Outcome], seed: int = 0) -> Trees:
    """Fit shallow boosted trees that keep each weight's sign: no conflict ever lowers the risk."""
    columns = codes(weights)
    ordered = sorted(outcomes, key=lambda outcome: outcome.id)
    booster = HistGradientBoostingClassifier(
        max_iter=120,
        learning_rate=0.06,
        max_leaf_nodes=6,
        min_samples_leaf=15,
        l2_regularization=2.0,
        monotonic_cst=[_direction(weights, code) for code in columns],
        early_stopping=False,
        random_state=seed,
    )
    labels = np.array([int(outcome.bad) for outcome in ordered])
    booster.fit(design_of(ordered, columns), labels, trust_of(ordered))
    return trees_of(booster, columns)


def _direction(weights: Weights, code: str) -> int:
    row = weights.rows[code]
    return 1 if row.at_least >= 0 else -1 if row.at_most <= 0 else 0


def try_challenger(weights: Weights, outcomes: Sequence[Outcome]) -> Verdict:
    """Hold the challenger against the linear ranker on later outcomes of other sellers."""
    due, why = is_due(outcomes)
    if not due:
        return Verdict(False, why)
    gains, seen = _compare(weights, outcomes)
    groups = group_outcomes(outcomes)
    mean, error = mean_over_groups(gains, [groups[i] for i in seen])
    better = mean < -BEYOND_NOISE * error
    verb = "takes over" if better else "does not take over"
    return Verdict(
        better,
        f"{verb}: log loss {mean:+.3f} (standard error {error:.3f}) against the linear ranker "
        f"on {len(seen)} later outcomes of other sellers",
        mean,
        error,
    )


def _compare(weights: Weights, outcomes: Sequence[Outcome]) -> tuple[list[float], list[int]]:
    gains: list[float] = []
    seen: list[int] = []
    for training, test in folds_in_time(outcomes):
        known = [outcomes[i] for i in training]
        if len({outcome.bad for outcome in known}) < 2:
            continue
        linear, trees = learn(weights, known), grow(weights, known)
        for i in test:
            outcome = outcomes[i]
            straight = linear.intercept + sum(
                linear.coefficients.get(c, 0.0) * a for c, a in outcome.amounts.items()
            )
            gains.append(
                surprise(trees.score(outcome.amounts), outcome.bad)
                - surprise(straight, outcome.bad)
            )
            seen.append(i)
    return gains, seen


def surprise(score: float, bad: bool) -> float:
    """Log loss of one outcome at a score in log-odds (nats)."""
    return float(np.logaddexp(0.0, -score if bad else score))
