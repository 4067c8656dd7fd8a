"""Fit the pair model: boosted trees of depth 3 in which each figure may push one way only.

More agreement never speaks against a copy (all figures rise but FALLING and FREE): what a figure
happens to do on one kind of made picture is not learned.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
from sklearn.ensemble import HistGradientBoostingClassifier

from extractors.photos.evidence import FIGURES, figures_of
from extractors.photos.model import DEPTH, read_model
from extractors.photos.search import Looked

# how much there is to compare speaks neither way by itself
FREE = (
    *("tight", "tight_share", "match_share", "overlap", "cells", "compared", "balance"),
    *("ground_same", "ground_other", "specks_marked"),
    *("grain_spread", "faint_spread", "shade_spread", "noise_spread"),
)
FALLING = (
    *("disagree", "tone_off", "tone_far", "drift", "shift", "moved_other", "bend", "unlike"),
    *("rival", "rival_block", "other_block"),
)
MODELS = 3  # whose mean is taken
FALSE_PER_MILLION = 0.8  # that the threshold lets through: other hands make harder pictures
_LEAST_AGREEING = 0.12  # a true pair that agrees less is laid wrongly: no example of anything
_FAR = 1e9  # a cut that nothing passes

Floats = npt.NDArray[np.float64]
Table = npt.NDArray[np.float32]
Labels = npt.NDArray[np.bool_]
Folds = npt.NDArray[np.intp]


def train(figures: Table, labels: Labels) -> dict[str, Any]:
    """Fit the model; the result is what the JSON file holds, without its card.

    The mean of MODELS models that differ in which figures their splits happened to see: a single
    one moves a picture near the threshold up or down by chance.
    """
    agree = figures[:, FIGURES.index("agree")]
    keep = ~labels | (agree >= _LEAST_AGREEING)
    fitted = [_fitted(figures[keep], labels[keep], seed) for seed in range(MODELS)]
    starts = [float(one._baseline_prediction.ravel()[0]) for one in fitted]
    return {
        "figures": list(FIGURES),
        "intercept": round(sum(starts) / MODELS, 6),
        "threshold": 0.5,
        "trees": [_full_tree(trees[0].nodes) for one in fitted for trees in one._predictors],
    }


def _fitted(figures: Table, labels: Labels, seed: int) -> HistGradientBoostingClassifier:
    return HistGradientBoostingClassifier(
        max_depth=DEPTH,
        learning_rate=0.05,
        max_iter=600,
        max_features=0.2,  # each split sees some of the figures: no single one is leant on
        monotonic_cst=[_sign(name) for name in FIGURES],
        min_samples_leaf=40,
        l2_regularization=5.0,
        early_stopping=False,
        random_state=seed,
    ).fit(figures, labels)


def _sign(name: str) -> int:
    return 0 if name in FREE else -1 if name in FALLING else 1


def _full_tree(nodes: npt.NDArray[Any]) -> dict[str, list[Any]]:
    """A tree filled up to full depth: where it ends early, nothing passes the cut."""
    inner = 2**DEPTH - 1
    at = [0] + [0] * (2 * inner)
    figures, cuts = [0] * inner, [_FAR] * inner
    for place in range(inner):
        node = nodes[at[place]]
        if node["is_leaf"]:
            at[2 * place + 1] = at[2 * place + 2] = at[place]
            continue
        figures[place], cuts[place] = int(node["feature_idx"]), float(node["num_threshold"])
        at[2 * place + 1], at[2 * place + 2] = int(node["left"]), int(node["right"])
    leaves = [round(float(nodes[number]["value"]) / MODELS, 5) for number in at[inner:]]
    return {"figures": figures, "cuts": [round(cut, 6) for cut in cuts], "leaves": leaves}


def scores_of(model: dict[str, Any], figures: Table) -> Floats:
    """Scores of a model that is not yet a file."""
    return read_model(model).scores(figures)


def figures_alone(looked: Sequence[Looked]) -> Table:
    """(pairs, figures) with nothing masked."""
    return np.stack([figures_of(one.alignment, one.shares, one.cells) for one in looked])


def safe_threshold(figures: Table, labels: Labels, folds: Folds, negatives: int) -> float:
    """The score that FALSE_PER_MILLION of all negative pairs reach, at least .5.

    The pairs of each fold are scored by a model trained on the others, so `folds` must keep a
    picture and its look-alikes together.
    """
    scores = np.zeros(len(labels))
    for fold in np.unique(folds):
        here = folds == fold
        known = ~here if (~here).any() else here
        scores[here] = scores_of(train(figures[known], labels[known]), figures[here])
    worst = np.sort(scores[~labels])[::-1]
    allowed = int(FALSE_PER_MILLION * negatives / 1e6)
    return round(max(0.5, float(worst[allowed]) if len(worst) > allowed else 0.0) + 1e-6, 6)
