"""Fit the gates of the photo search (extractors/photos/gates.py) anew on the tuning half.

python -m tests.evaluation.photo_benchmark.train_gates gates.json FOLDER... --cache DIR
    [--dense 11 12] [--sparse 5 15] [--photos 2000] [--processes 2]

Every candidate with a few votes goes through all looks, whatever speaks against it. Copies that are
laid wrongly, or of which hardly anything is left, are examples of nothing. What a look must reach
is read off sets that its trees have not seen. Train the pair model again afterwards (train.py):
other candidates reach it.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path

import numpy as np
import numpy.typing as npt
from sklearn.ensemble import HistGradientBoostingClassifier
from sklearn.linear_model import LogisticRegression
from sklearn.preprocessing import StandardScaler

from extractors.photos.align import Alignment, begin_with, first_matches, refine
from extractors.photos.candidates import Candidate, find_candidates
from extractors.photos.first_look import (
    aligned_figures,
    all_figures,
    begun_figures,
    first_figures,
    laid_figures,
    seen_figures,
)
from extractors.photos.gates import DEPTH, trees_of
from extractors.photos.model import load_model
from extractors.photos.search import Folder, budget, lay, lay_first, make_folder
from extractors.photos.threads import one_thread
from tests.evaluation.photo_benchmark.evaluate import COPIED_SHARE
from tests.evaluation.photo_benchmark.make import Task, dense, sparse
from tests.evaluation.photo_benchmark.measure import Truth
from tests.evaluation.photo_benchmark.sets import fingerprinted

# the share of the copies that each gate of trees may turn away: most are found all the same,
# by third photos that show the same picture
LOST = {
    "shared": 0.0004,
    "first": 0.0006,
    "begun": 0.0006,
    "all": 0.0006,
    "seen": 0.0006,
    "laid": 0.0004,
}
GIVE = {"first": 0.5, "begun": 0.5, "all": 0.5, "seen": 0.5}  # log-odds, for stronger edits
LEAST = {"aligned": -6.0}  # log-odds; a logistic regression
_FLOOR, _LEAST_SHARED = 0.8, -7.0
_MOST_CANDIDATES = 120
_MOST_OTHERS = 30  # candidates of one photo that are no copies
_FOUND = 2.0  # log-odds of a copy by the pair model
_MOST_COPIES = 9  # of one photo: some that are the most promising, and some the least
_EVERY = 2  # photos
_ORIGINALS, _ROUNDS = 80, 24

Row = tuple[str, npt.NDArray[np.float64], bool]  # gate, figures, whether it is a copy
_FAR = 1e9  # a cut that nothing passes


def main() -> None:
    """Run as the module docstring says."""
    options = _options()
    sets = [list(_rows_of(tasks, options)) for tasks in _made(options)]
    options.out.write_text(json.dumps(fit(sets)) + "\n", "utf-8")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Fit the gates of the photo search anew.")
    parser.add_argument("out", type=Path)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--cache", type=Path, required=True)
    parser.add_argument("--dense", nargs="+", type=int, default=[11, 12])
    parser.add_argument("--sparse", nargs="+", type=int, default=[5, 15])
    parser.add_argument("--photos", type=int, default=2000)
    parser.add_argument("--processes", type=int, default=1)
    return parser.parse_args()


def _made(options: argparse.Namespace) -> Iterator[list[Task]]:
    """A dense set holds about as many photos as a sparse one."""
    copies = options.photos // (2 * _ORIGINALS)
    for seed in options.dense:
        yield dense(
            options.folders,
            seed=seed,
            kept_back=False,
            originals=_ORIGINALS,
            copies=copies,
            rounds=_ROUNDS,
        )
    for seed in options.sparse:
        yield sparse(
            options.folders,
            seed=seed,
            kept_back=False,
            photos=options.photos,
            share=COPIED_SHARE,
        )


def _rows_of(tasks: Sequence[Task], options: argparse.Namespace) -> Iterator[Row]:
    truth, made = fingerprinted(tasks, options.cache, options.processes)
    folder = make_folder(made)
    with one_thread():
        for query in range(0, len(made), _EVERY):
            if made[query].is_comparable:
                yield from _rows_of_photo(folder, truth, query)


def _rows_of_photo(folder: Folder, truth: Truth, query: int) -> Iterator[Row]:
    found = find_candidates(
        folder.index,
        folder.fingerprints[query],
        query,
        budget=budget(len(folder.fingerprints)),
        floor=_FLOOR,
        least=_LEAST_SHARED,
        most=_MOST_CANDIDATES,
    )
    copies = [one for one in found if truth.is_copy(query, one.other)]
    if len(copies) > _MOST_COPIES:
        copies = copies[: _MOST_COPIES - _MOST_COPIES // 3] + copies[-(_MOST_COPIES // 3) :]
    for candidate in copies:
        yield from _rows_of_copy(folder, candidate)
    others = (one for one in found if not truth.is_copy(query, one.other))
    for candidate in islice(others, _MOST_OTHERS):
        yield from ((*row, False) for row in _looks_at(folder, candidate)[0])


def _rows_of_copy(folder: Folder, candidate: Candidate) -> Iterator[Row]:
    """Nothing if the copy is laid wrongly, or if hardly anything is left of it."""
    looks, alignment = _looks_at(folder, candidate)
    looked = alignment and lay(folder, candidate.query, candidate.other, alignment)
    if looked and load_model().log_odds(looked.figures[None])[0] > _FOUND:
        yield from ((*row, True) for row in looks)


def _looks_at(
    folder: Folder, one: Candidate
) -> tuple[list[tuple[str, npt.NDArray[np.float64]]], Alignment | None]:
    """The figures of each gate that the candidate comes to, and how it is laid at last."""
    a, b = folder.fingerprints[one.query], folder.fingerprints[one.other]
    first = first_matches(a, b, one.matrix, one.mirrored)
    figures = first_figures(one, first)
    looks = [("shared", one.figures), ("first", figures)]
    begun = begin_with(a, b, first, one.mirrored)
    if begun is None:
        return looks, None
    figures = begun_figures(one, figures, begun)
    looks.append(("begun", figures))
    alignment = refine(a, b, begun, one.votes)
    if alignment is None:
        return looks, None
    figures = all_figures(figures, alignment)
    looks += [("all", figures), ("aligned", np.array(aligned_figures(alignment)))]
    laid = lay_first(folder, one.query, one.other, alignment)
    if laid is None:
        return looks, None
    looks.append(("seen", seen_figures(figures, alignment, laid)))
    looks.append(("laid", laid_figures(alignment, laid)))
    return looks, alignment


def fit(sets: Sequence[Sequence[Row]]) -> dict[str, object]:
    """The file that extractors/photos/gates.py reads: a card, and each gate."""
    shared = [row for rows in sets for row in rows if row[0] == "shared"]
    card = {
        "what": "trees (one a logistic regression); `least` is the log-odds to be reached",
        "made from": f"{len(shared)} candidates of {len(sets)} tuning sets, "
        f"{sum(row[2] for row in shared)} of them copies that are laid well",
        "script": "python -m tests.evaluation.photo_benchmark.train_gates",
    }
    gates = {name: _fitted_trees(sets, name) for name in LOST}
    return {"card": card, "gates": {**gates, "aligned": _fitted(sets, "aligned")}}


Table = tuple[npt.NDArray[np.float64], npt.NDArray[np.bool_]]


def _table(sets: Sequence[Sequence[Row]], name: str) -> Table:
    mine = [row for rows in sets for row in rows if row[0] == name]
    return np.array([row[1] for row in mine]), np.array([row[2] for row in mine])


def _fitted_trees(sets: Sequence[Sequence[Row]], name: str) -> dict[str, object]:
    tables = [_table([rows], name) for rows in sets]
    of_copies = []
    for number, (figures, labels) in enumerate(tables):
        others = tables[:number] + tables[number + 1 :]
        of_copies.append(_boosted(others or tables).decision_function(figures[labels]))
    least = float(np.quantile(np.concatenate(of_copies), LOST[name])) - GIVE.get(name, 0.0)
    boosted = _boosted(tables)
    stored = {
        "figures": tables[0][0].shape[1],
        "least": round(least, 2),
        "intercept": round(float(boosted._baseline_prediction.ravel()[0]), 5),
        "trees": [_full_tree(trees[0].nodes) for trees in boosted._predictors],
    }
    trees_of(stored)  # raises where it cannot be read
    return stored


def _boosted(tables: Sequence[Table]) -> HistGradientBoostingClassifier:
    figures, labels = (np.concatenate(side) for side in zip(*tables, strict=True))
    return HistGradientBoostingClassifier(
        max_depth=DEPTH,
        learning_rate=0.08,
        max_iter=100,
        max_features=0.7,
        min_samples_leaf=40,
        l2_regularization=5.0,
        early_stopping=False,
        random_state=0,
    ).fit(figures, labels)


def _full_tree(nodes: npt.NDArray[np.void]) -> dict[str, Sequence[float]]:
    """A tree filled up to full depth: where it ends early, nothing passes the cut."""
    inner = 2**DEPTH - 1
    at = [0] * (2 * inner + 1)
    figures, cuts = [0] * inner, [_FAR] * inner
    for place in range(inner):
        node = nodes[at[place]]
        left = right = at[place]
        if not node["is_leaf"]:
            figures[place], cuts[place] = int(node["feature_idx"]), _cut(node["num_threshold"])
            left, right = int(node["left"]), int(node["right"])
        at[2 * place + 1], at[2 * place + 2] = left, right
    leaves = [round(float(nodes[number]["value"]), 5) for number in at[inner:]]
    return {"figures": figures, "cuts": cuts, "leaves": leaves}


def _cut(exact: float) -> float:
    """In few digits, but not less: a figure that equals the cut does not pass it."""
    short = float(f"{exact:.8g}")
    return short if short >= exact else float(exact)


def _fitted(sets: Sequence[Sequence[Row]], name: str) -> dict[str, object]:
    figures, labels = _table(sets, name)
    scaler = StandardScaler().fit(figures)
    fitted = LogisticRegression(max_iter=3000).fit(scaler.transform(figures), labels)
    weights = fitted.coef_[0] / scaler.scale_
    intercept = float(fitted.intercept_[0]) - float(weights @ scaler.mean_)
    return {
        "weights": [round(float(weight), 6) for weight in weights],
        "intercept": round(intercept, 5),
        "least": LEAST[name],
    }


if __name__ == "__main__":
    main()
