"""Train the pair model anew on the tuning half and write it with its card.

python -m tests.evaluation.photo_benchmark.train pair_model.json FOLDER... [--seeds 1 11]
    [--originals 60] [--copies 12] [--rounds 12] [--looks 50] [--processes 2]

FOLDER: folders of photographs, such as unpacked wallpaper packages. Every seed is a benchmark of
its own; look-alike goods of the first seed are another. The threshold follows from the rule in
train_pairs.safe_threshold. Takes about ten minutes a thousand photos.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from extractors.photos.pairs import make_figures
from extractors.photos.search import look_everywhere
from tests.evaluation.photo_benchmark.lookalikes import look_alike_shots
from tests.evaluation.photo_benchmark.make import Shot, make
from tests.evaluation.photo_benchmark.sets import fingerprinted, telling
from tests.evaluation.photo_benchmark.train_pairs import safe_threshold, scores_of, train


@dataclass(frozen=True)
class Examples:
    """Pairs looked at in one made folder: figures, labels, and what the folder holds."""

    figures: npt.NDArray[np.float32]
    labels: npt.NDArray[np.bool_]
    photos: int
    negatives: int


def main() -> None:
    """Run as the module docstring says."""
    options = _options()
    sets = [_examples(shots, options.processes) for shots in _made(options)]
    card = {"seeds": options.seeds, "families of look-alikes": options.looks}
    options.out.write_text(json.dumps(fit(sets, card)) + "\n", "utf-8")


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Train the pair model anew.")
    parser.add_argument("out", type=Path)
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--seeds", nargs="+", type=int, default=[1, 11])
    for name, default in (("originals", 60), ("copies", 12), ("rounds", 12), ("looks", 50)):
        parser.add_argument(f"--{name}", type=int, default=default)
    parser.add_argument("--processes", type=int, default=1)
    return parser.parse_args()


def _made(options: argparse.Namespace) -> Iterator[list[Shot]]:
    for seed in options.seeds:
        yield make(
            options.folders,
            seed=seed,
            kept_back=False,
            originals=options.originals,
            copies=options.copies,
            rounds=options.rounds,
        )
    yield look_alike_shots(options.seeds[0], options.looks)


def _examples(shots: list[Shot], processes: int) -> Examples:
    truth, made = telling(*fingerprinted(shots))
    looked = look_everywhere(made, processes)
    labels = np.array([truth.is_copy(one.later, one.earlier) for one in looked])
    return Examples(make_figures(looked), labels, len(made), truth.negatives())


def fit(sets: list[Examples], made_from: dict[str, object]) -> dict[str, object]:
    """The model as the JSON file holds it: card, intercept, threshold, knots."""
    figures = np.concatenate([one.figures for one in sets])
    labels = np.concatenate([one.labels for one in sets])
    negatives = sum(one.negatives for one in sets)
    model = train(figures, labels)
    model["threshold"] = safe_threshold(scores_of(model, figures), labels)
    card = {
        "what": "boosted trees of depth 3, each figure of one sign; a copy from threshold on",
        "made from": {
            **made_from,
            "photos": sum(one.photos for one in sets),
            "pairs looked at": len(labels),
            "copies among them": int(labels.sum()),
            "negative pairs": negatives,
        },
        "left out": "stills of a video; photographs with texture < .55 or < 450 features",
        "threshold": "just above the highest false pair among these (train_pairs.safe_threshold)",
        "script": "python -m tests.evaluation.photo_benchmark.train",
    }
    return {"card": card, **model}


if __name__ == "__main__":
    main()
