"""Outcomes move the weights from their start, each as far as its prior spread lets it.

The learner is a logistic regression whose penalty pulls every weight to its starting figure (the
most probable weights under normal priors), with bounds that no outcome can cross. It is fitted anew
from all outcomes that stand, so taking one back brings the former model back exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import expit, log_expit
from sklearn.base import BaseEstimator, ClassifierMixin
from sklearn.utils.validation import check_is_fitted, validate_data

from models import habits
from models.outcomes import Outcome, group_outcomes, group_weights
from models.risk import Model, say_learned, starting_model
from models.weights import Weights

Floats = NDArray[np.float64]
NOT_STATED = "any.not_stated"  # its amount is the share of the points that is not stated


class PriorLogistic(ClassifierMixin, BaseEstimator):  # type: ignore[misc]
    """Logistic regression with a normal prior and bounds on each weight.

    The first entry of each array is the intercept's. With means of zero and no bounds it is
    scikit-learn's LogisticRegression with C = spread squared (but for the intercept's prior).
    After `fit`: `coef_` (1, p), `intercept_` (1,), `covariance_` (p + 1, p + 1) by Laplace.
    """

    def __init__(
        self,
        means: Floats | None = None,
        spreads: Floats | float = 1.0,
        lower: Floats | float = -np.inf,
        upper: Floats | float = np.inf,
    ) -> None:
        self.means = means
        self.spreads = spreads
        self.lower = lower
        self.upper = upper

    def fit(
        self,
        X: Any,
        y: Any,
        sample_weight: Floats | Sequence[float] | None = None,
        flat: Floats | None = None,
    ) -> PriorLogistic:
        """Fit to amounts X (n, p) and labels y (n,), 1 for the class to be predicted.

        `flat` (n,) says by how much the odds of each row are flattened by what is not known of it.
        """
        features, labels = validate_data(self, X, y, ensure_min_samples=0)
        self.classes_ = np.unique(labels) if len(labels) else np.array([0, 1])
        if len(self.classes_) == 1:
            self.classes_ = np.array([0, 1])
        design = np.column_stack([np.ones(len(features)), features])
        design = design if flat is None else design * flat[:, None]
        wanted = (np.asarray(labels) == self.classes_[1]).astype(float)
        trust = np.ones(len(wanted)) if sample_weight is None else np.asarray(sample_weight)
        weights, covariance = self._most_probable(design, wanted, trust.astype(float))
        self.intercept_, self.coef_ = weights[:1], weights[1:].reshape(1, -1)
        self.covariance_ = covariance
        return self

    def _most_probable(self, design: Floats, y: Floats, trust: Floats) -> tuple[Floats, Floats]:
        size = design.shape[1]
        means = np.zeros(size) if self.means is None else np.asarray(self.means, float)
        spreads = np.broadcast_to(np.asarray(self.spreads, float), size)
        sign = 2.0 * y - 1.0

        # in units of the spread, so that one step size suits wide and narrow priors alike
        def loss(shift: Floats) -> tuple[float, Floats]:
            margin = sign * (design @ (means + spreads * shift))
            slope = -(trust * sign * expit(-margin)) @ design * spreads + shift
            return float(-(trust * log_expit(margin)).sum() + 0.5 * shift @ shift), slope

        low = (np.broadcast_to(np.asarray(self.lower, float), size) - means) / spreads
        high = (np.broadcast_to(np.asarray(self.upper, float), size) - means) / spreads
        found = minimize(
            loss,
            np.zeros(size),
            jac=True,
            method="L-BFGS-B",
            bounds=list(zip(low, high, strict=True)),
            options={"maxiter": 2000, "ftol": 1e-15, "gtol": 1e-9},
        )
        weights = means + spreads * found.x
        p = expit(design @ weights)
        curvature = (design * (trust * p * (1 - p))[:, None]).T @ design + np.diag(spreads**-2.0)
        covariance = np.linalg.inv(curvature)
        return weights, (covariance + covariance.T) / 2

    def decision_function(self, X: Any) -> Floats:
        """Log-odds of the second class, (n,)."""
        check_is_fitted(self)
        features = validate_data(self, X, reset=False)
        scores: Floats = features @ self.coef_[0] + self.intercept_[0]
        return scores

    def predict_proba(self, X: Any) -> Floats:
        """Probabilities of both classes, (n, 2)."""
        p = expit(self.decision_function(X))
        return np.column_stack([1 - p, p])

    def predict(self, X: Any) -> NDArray[Any]:
        """The likelier class of each row, (n,)."""
        chosen: NDArray[Any] = self.classes_[(self.decision_function(X) > 0).astype(int)]
        return chosen


def prior_learner(weights: Weights, share: float | None = None) -> PriorLogistic:
    """The learner around the starting weights, its columns in the order of `codes(weights)`."""
    rows = list(weights.rows.values())
    start = starting_model(weights, share)
    return PriorLogistic(
        means=np.array([start.intercept, *(row.log_odds for row in rows)]),
        spreads=np.array([start.intercept_spread, *(row.spread for row in rows)]),
        lower=np.array([-np.inf, *(row.at_least for row in rows)]),
        upper=np.array([np.inf, *(row.at_most for row in rows)]),
    )


def codes(weights: Weights) -> tuple[str, ...]:
    """The columns of a design matrix: all codes in the order of the weights file."""
    return tuple(weights.rows)


def design_of(outcomes: Sequence[Outcome], columns: Sequence[str]) -> Floats:
    """Amounts as a matrix (n outcomes, p codes); a code the outcome lacks is 0."""
    return np.array(
        [[outcome.amounts.get(code, 0.0) for code in columns] for outcome in outcomes]
    ).reshape(len(outcomes), len(columns))


def trust_of(outcomes: Sequence[Outcome], likeness: float = 0.3, most: float = 5.0) -> Floats:
    """How much each outcome counts: less in big groups, more where random looks are rare.

    A piece seen through a random look with chance p stands for 1 / p listings like it; the factor
    is held between 1 and `most`, so that no single look decides (clipped inverse propensities).
    """
    grouped = group_weights(group_outcomes(outcomes), likeness)
    looked = [min(most, 1.0 / o.probability) if o.probability else 1.0 for o in outcomes]
    return np.array([g * p for g, p in zip(grouped, looked, strict=True)])


def learn(weights: Weights, outcomes: Sequence[Outcome], share: float | None = None) -> Model:
    """The model after these outcomes: the starting model itself when there are none.

    The order of `outcomes` does not matter.
    """
    start = starting_model(weights, share)
    if not outcomes:
        return start
    ordered = sorted(outcomes, key=lambda outcome: outcome.id)
    columns = codes(weights)
    learner = prior_learner(weights, share)
    labels = np.array([int(outcome.bad) for outcome in ordered])
    design, unstated = design_of(ordered, columns), _unstated(weights, ordered)
    blurred = habits.flatness(np.hypot(unstated, start.habit_spread))
    learner.fit(design, labels, trust_of(ordered), blurred)
    spread = habits.learned(
        weights.habit_spread,
        weights.habit_doubt,
        learner.decision_function(design),
        unstated,
        labels == 1,
        group_outcomes(ordered),
    )
    return replace(
        start,
        habit_spread=spread,
        intercept=float(learner.intercept_[0]),
        coefficients=dict(zip(columns, map(float, learner.coef_[0]), strict=True)),
        covariance=_by_code(columns, learner.covariance_),
        note=say_learned(len(ordered), int(labels.sum())),
    )


def _unstated(weights: Weights, outcomes: Sequence[Outcome]) -> Floats:
    """The doubt about each piece that comes from what its listing left out, (n,)."""
    shares = [outcome.amounts.get(NOT_STATED, 0.0) for outcome in outcomes]
    return weights.unstated_spread * np.array(shares)


def _by_code(columns: Sequence[str], covariance: Floats) -> dict[tuple[str, str], float]:
    names = ("", *columns)
    return {
        (a, b): float(covariance[i, j])
        for i, a in enumerate(names)
        for j, b in enumerate(names)
        if covariance[i, j] != 0.0
    }
