"""Fit the gates of the photo search (extractors/photos/gates.py) anew on the tuning half.

python -m tests.evaluation.photo_benchmark.train_gates gates.json FOLDER... --cache DIR
    [--dense 11] [--sparse 15] [--photos 2000] [--processes 2]

Every candidate with a few votes goes through both rounds of matching, whatever speaks against it.
Copies that are laid wrongly, or of which hardly anything is left, are examples of nothing. Train
the pair model again afterwards (train.py): other candidates reach it.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path

import numpy as np
from sklearn.linear_model import LogisticRegression
from sklearn.preprocessing import StandardScaler

from extractors.photos.align import begin, refine
from extractors.photos.candidates import Candidate, find_candidates, shared_figures
from extractors.photos.evidence import figures_of
from extractors.photos.first_look import aligned_figures, begun_figures, laid_figures
from extractors.photos.model import load_model
from extractors.photos.search import Folder, budget, lay, lay_first, make_folder
from extractors.photos.threads import one_thread
from tests.evaluation.photo_benchmark.evaluate import COPIED_SHARE
from tests.evaluation.photo_benchmark.make import Task, dense, sparse
from tests.evaluation.photo_benchmark.measure import Truth
from tests.evaluation.photo_benchmark.sets import fingerprinted

# log-odds of each gate; where 1 in 200 of the copies of originals fails is about -5 in each, and to
# ask less raised the share of copies that is compared from .976 to .986 on a sparse tuning set
LEAST = {"shared": -5.5, "begun": -5.5, "aligned": -6.0, "laid": -7.0}
_FLOOR, _LEAST_SHARED = 0.8, -7.0
_MOST_CANDIDATES = 120
_MOST_OTHERS = 30  # candidates of one photo that are no copies
_LAID_WELL = -3.0  # log-odds of a copy by the search model
_EVERY = 2  # photos
_ORIGINALS, _ROUNDS = 80, 24

Row = tuple[str, list[float], bool]  # gate, figures, whether it is a copy


def main() -> None:
    """Run as the module docstring says."""
    options = _options()
    rows = [row for tasks in _made(options) for row in _rows_of(tasks, options)]
    options.out.write_text(json.dumps(fit(rows), indent=1) + "\n", "utf-8")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Fit the gates of the photo search anew.")
    parser.add_argument("out", type=Path)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--cache", type=Path, required=True)
    parser.add_argument("--dense", nargs="+", type=int, default=[11])
    parser.add_argument("--sparse", nargs="+", type=int, default=[15])
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
    copies = (one for one in found if truth.is_copy(query, one.other))
    others = (one for one in found if not truth.is_copy(query, one.other))
    for candidate in copies:
        rows = list(_rows_of_candidate(folder, candidate, True))
        yield from (row for row in rows if len(rows) == len(LEAST))
    for candidate in islice(others, _MOST_OTHERS):
        yield from _rows_of_candidate(folder, candidate, False)


def _rows_of_candidate(folder: Folder, one: Candidate, is_copy: bool) -> Iterator[Row]:
    """A row for each gate that the candidate comes to; the last two only if a copy is laid well."""
    counts = np.array([one.votes]), np.array([one.words]), np.array([one.agreeing])
    yield "shared", shared_figures(*counts)[0].tolist(), is_copy
    a, b = folder.fingerprints[one.query], folder.fingerprints[one.other]
    begun = begin(a, b, one.matrix, one.mirrored)
    if begun is None:
        return
    yield "begun", begun_figures(one, begun), is_copy
    alignment = refine(a, b, begun, one.votes)
    if alignment is None:
        return
    if is_copy:
        looked = lay(folder, one.query, one.other, alignment)
        if looked is None:
            return
        figures = figures_of(looked.alignment, looked.shares, looked.cells)
        if load_model("search_model").log_odds(figures[None])[0] < _LAID_WELL:
            return
    yield "aligned", aligned_figures(alignment), is_copy
    if (laid := lay_first(folder, one.query, one.other, alignment)) is not None:
        yield "laid", laid_figures(alignment, laid).tolist(), is_copy


def fit(rows: Sequence[Row]) -> dict[str, object]:
    """The file that extractors/photos/gates.py reads: a card, and for each gate its weights."""
    gates = {name: _fitted(rows, name) for name in LEAST}
    card = {
        "what": "logistic regressions; `least` is the log-odds that a candidate must reach",
        "made from": f"{sum(row[0] == 'shared' for row in rows)} candidates of tuning sets, "
        f"{sum(row[0] == 'shared' and row[2] for row in rows)} of them copies that are laid well",
        "script": "python -m tests.evaluation.photo_benchmark.train_gates",
    }
    return {"card": card, "gates": gates}


def _fitted(rows: Sequence[Row], name: str) -> dict[str, object]:
    mine = [row for row in rows if row[0] == name]
    figures, labels = np.array([row[1] for row in mine]), np.array([row[2] for row in mine])
    scaler = StandardScaler().fit(figures)  # squares differ much in size
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
