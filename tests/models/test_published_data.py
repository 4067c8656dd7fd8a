"""The fit and the calibration on a public data set, beside the library's own."""

from __future__ import annotations

import numpy as np
import pytest
from sklearn.datasets import load_digits
from sklearn.linear_model import LogisticRegression
from sklearn.model_selection import StratifiedKFold

from models import metrics
from models.calibrate import fit_calibration
from models.learn import PriorLogistic


@pytest.fixture(scope="module")
def digits():  # type: ignore[no-untyped-def]
    """UCI optical digits as scikit-learn ships them; the class to be told is "eight"."""
    made = load_digits()
    return made.data / 16.0, made.target


def test_digits_are_the_published_data_set(digits):
    """1797 pictures of 64 points, ten classes (scikit-learn's data set description; F194)."""
    features, target = digits
    assert features.shape == (1797, 64)
    counts = (178, 182, 177, 183, 181, 182, 181, 179, 174, 180)
    assert tuple(map(int, np.bincount(target))) == counts


def test_eights_are_told_and_calibrated_as_well_as_by_the_library(digits):
    features, target = digits
    eight = (target == 8).astype(int)
    folds = StratifiedKFold(3, shuffle=True, random_state=0)
    known, new = next(folds.split(features, eight))
    fit, rest = known[::2], known[1::2]
    learner = PriorLogistic(spreads=np.array([1e3, *[1.0] * 64])).fit(features[fit], eight[fit])
    library = LogisticRegression(C=1.0, tol=1e-8, max_iter=2000).fit(features[fit], eight[fit])
    scores = learner.decision_function(features[new])
    assert scores == pytest.approx(library.decision_function(features[new]), abs=0.02)
    calibration = fit_calibration(
        learner.decision_function(features[rest]).tolist(), eight[rest].astype(bool).tolist()
    )
    assert calibration is not None
    shown = np.array([calibration(score) for score in scores])
    risk, bare = 1 / (1 + np.exp(-shown)), 1 / (1 + np.exp(-scores))
    assert metrics.auc(eight[new], risk) > 0.95
    assert metrics.brier(eight[new], risk) < metrics.brier(eight[new], bare) + 0.005
