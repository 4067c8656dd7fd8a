"""Train the pair model anew on the tuning half and write it with its card.

python -m tests.evaluation.photo_benchmark.train pair_model.json FOLDER... --cache DIR
    [--dense 11] [--sparse 15:1200] [--originals 80] [--copies 12] [--rounds 24]
    [--contrasts 2] [--varied 2] [--scenes 1:28] [--signed 3:14] [--nearer 1:16]
    [--strong 7:20] [--screens 1:10] [--processes 2]

FOLDER: folders of photographs, such as unpacked wallpaper packages. Every seed after `--dense` and
every seed:photos after `--sparse` is a set of its own (seed:photos:share where another share of
them than in evaluate.py is to be edited copies); `--contrasts` edits of local contrast are added
to every third of its pictures that have edits, `--varied` edits of any strength (varied.py) to
each. Looked at family by family, every seed:rounds is a set of its own: after `--scenes` of the
hardest negatives (scenes.py), after `--signed` of families under translucent signs and other edits
that are hard to see through, after `--nearer` of flat pieces from far and near (closeups.py), after
`--strong` of edits of any strength, after `--screens` of photos of a striped screen (screens.py).
Equal options, packages and library versions give the same model to the last digit, in one process
or many; the card of the shipped model says what it was made from. The threshold comes from scores
of pictures that the scoring model has not seen (train_pairs.safe_threshold).
"""

from __future__ import annotations

import argparse
import json
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from extractors.photos.fingerprint import Fingerprint
from extractors.photos.model import PairModel, read_model
from extractors.photos.pairs import figures_and_masks
from extractors.photos.search import Looked, look_everywhere
from tests.evaluation.photo_benchmark.closeups import CLOSEUPS
from tests.evaluation.photo_benchmark.contrasts import CONTRASTS
from tests.evaluation.photo_benchmark.evaluate import COPIED_SHARE
from tests.evaluation.photo_benchmark.make import (
    EVERY_EDIT,
    Task,
    dense,
    edited_more,
    families,
    sparse,
)
from tests.evaluation.photo_benchmark.measure import Truth
from tests.evaluation.photo_benchmark.scenes import SCENES
from tests.evaluation.photo_benchmark.screens import SCREENS
from tests.evaluation.photo_benchmark.sets import fingerprinted
from tests.evaluation.photo_benchmark.signs import SIGNS
from tests.evaluation.photo_benchmark.train_pairs import (
    FALSE_PER_MILLION,
    MODELS,
    figures_alone,
    safe_threshold,
    train,
)
from tests.evaluation.photo_benchmark.varied import VARIED

FOLDS = 5


@dataclass(frozen=True)
class FamilySet:
    """Families of these kinds, two members of each with `copies` of the edits; `times` as many as
    the option says.
    """

    kinds: tuple[str, ...]
    edits: tuple[str, ...]
    copies: int
    times: int = 1


# looked at family by family, by option
FAMILY_SETS: dict[str, tuple[FamilySet, ...]] = {
    "scenes": (FamilySet(tuple(SCENES), EVERY_EDIT, copies=2),),
    "signed": (
        FamilySet(
            ("photo", "design", "look", "listing", "drawn", "room", "app", "clip", "table"),
            (*CONTRASTS, *SIGNS, "screen", "equalised", "brighter", "watermark"),
            copies=3,
        ),
    ),
    "nearer": (
        FamilySet(tuple(CLOSEUPS), EVERY_EDIT, copies=2),
        FamilySet(tuple(CLOSEUPS), tuple(VARIED), copies=2),
    ),
    "strong": (
        FamilySet(
            ("design", "look", "listing", "drawn", "room", "seller", "video", "clip", "table"),
            tuple(VARIED),
            copies=3,
        ),
        FamilySet(("photo",), tuple(VARIED), copies=5, times=6),
    ),
    "screens": (
        FamilySet(
            ("design", "look", "listing", "drawn", "room", "seller", "table"),
            tuple(SCREENS),
            copies=4,
        ),
        FamilySet(("photo",), tuple(SCREENS), copies=5, times=6),
    ),
}


@dataclass(frozen=True)
class Examples:
    """Pairs looked at in one made folder, the truth about them, and what the folder holds."""

    truth: Truth
    made: Sequence[Fingerprint]
    looked: Sequence[Looked]

    def labels(self) -> npt.NDArray[np.bool_]:
        """(pairs,) whether each is a copy."""
        return np.array([self.truth.is_copy(one.later, one.earlier) for one in self.looked])

    def folds(self) -> npt.NDArray[np.intp]:
        """(pairs,) which of FOLDS each pair belongs to, by the picture or family of one photo."""
        return np.array([self._fold(one) for one in self.looked])

    def _fold(self, one: Looked) -> int:
        shots = self.truth.shots[one.later], self.truth.shots[one.earlier]
        shot = next((shot for shot in shots if shot.edit == "original"), shots[0])
        family = "" if shot.alike.startswith("burst") else shot.alike
        return zlib.crc32((family or min(shot.origins).split(":")[0]).encode()) % FOLDS

    def figures(self, first: PairModel) -> npt.NDArray[np.float32]:
        """(pairs, figures), without what recurs over photos that `first` keeps apart."""
        return figures_and_masks(self.made, self.looked, first)[0]


def main() -> None:
    """Run as the module docstring says."""
    options = _options()
    sets = [_examples(tasks, options) for tasks in _made(options)]
    sets += [_examples([task], options) for task in _families(options)]
    named = ("dense", "sparse", "originals", "copies", "rounds", "contrasts", "varied")
    card = {name: getattr(options, name) for name in (*named, *FAMILY_SETS)}
    options.out.write_text(json.dumps(fit(sets, card)) + "\n", "utf-8")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Train the pair model anew.")
    parser.add_argument("out", type=Path)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--cache", type=Path, required=True)
    parser.add_argument("--dense", nargs="+", type=int, default=[11])
    parser.add_argument("--sparse", nargs="+", default=["15:1200"])
    parser.add_argument("--scenes", nargs="*", default=["1:28"])
    parser.add_argument("--signed", nargs="*", default=["3:14"])
    parser.add_argument("--nearer", nargs="*", default=["1:16"])
    parser.add_argument("--strong", nargs="*", default=["7:20"])
    parser.add_argument("--screens", nargs="*", default=["1:10"])
    numbers = {"originals": 80, "copies": 12, "rounds": 24, "contrasts": 2, "varied": 2}
    for name, default in numbers.items():
        parser.add_argument(f"--{name}", type=int, default=default)
    parser.add_argument("--processes", type=int, default=1)
    return parser.parse_args()


def _made(options: argparse.Namespace) -> Iterator[list[Task]]:
    for seed in options.dense:
        tasks = dense(
            options.folders,
            seed=seed,
            kept_back=False,
            originals=options.originals,
            copies=options.copies,
            rounds=options.rounds,
        )
        yield tasks + _more(tasks, options)
    for one in options.sparse:
        seed, photos, *share = one.split(":")
        tasks = sparse(
            options.folders,
            seed=int(seed),
            kept_back=False,
            photos=int(photos),
            share=float(share[0]) if share else COPIED_SHARE,
        )
        yield tasks + _more(tasks, options)


def _more(tasks: Sequence[Task], options: argparse.Namespace) -> list[Task]:
    """Other edits of some of the pictures."""
    contrasted = edited_more(tasks, tuple(CONTRASTS), options.contrasts)
    return contrasted + edited_more(tasks, tuple(VARIED), options.varied, every=1)


def _families(options: argparse.Namespace) -> Iterator[Task]:
    for option, sets in FAMILY_SETS.items():
        for seed, rounds in (map(int, one.split(":")) for one in getattr(options, option)):
            for one in sets:
                yield from families(
                    options.folders,
                    seed=seed,
                    kept_back=False,
                    rounds=rounds * one.times,
                    kinds=one.kinds,
                    edits=one.edits,
                    copies=one.copies,
                )


def _examples(tasks: Sequence[Task], options: argparse.Namespace) -> Examples:
    truth, made = fingerprinted(tasks, options.cache, options.processes)
    looked = look_everywhere(made, options.processes)
    known = [one for one in looked if not truth.is_unknown(one.later, one.earlier)]
    return Examples(truth, made, known)


def fit(sets: Sequence[Examples], made_from: dict[str, object]) -> dict[str, object]:
    """The model as the JSON file holds it: card, intercept, threshold, trees.

    A first model on the figures alone says which photos are copies, so that what recurs over
    others can be masked; the second learns from the masked figures.
    """
    labels = [one.labels() for one in sets]
    alone = np.concatenate([figures_alone(one.looked) for one in sets])
    first = read_model(train(alone, np.concatenate(labels)))
    figures = np.concatenate([one.figures(first) for one in sets])
    model = train(figures, np.concatenate(labels))
    negatives = sum(one.truth.negatives() for one in sets)
    folds = np.concatenate([one.folds() for one in sets])
    model["threshold"] = safe_threshold(figures, np.concatenate(labels), folds, negatives)
    card = {
        "what": f"the mean of {MODELS} models of boosted trees of depth 3, each figure of one "
        "sign; a copy from threshold on",
        "made from": {
            **made_from,
            "photos": sum(len(one.made) for one in sets),
            "pairs looked at": sum(len(one.looked) for one in sets),
            "copies among them": int(sum(row.sum() for row in labels)),
            "negative pairs": negatives,
        },
        "threshold": f"{FALSE_PER_MILLION} false pairs per million by models that had not seen the "
        "picture nor its look-alikes (train_pairs.safe_threshold)",
        "script": "python -m tests.evaluation.photo_benchmark.train",
    }
    return {"card": card, **model}


if __name__ == "__main__":
    main()
