"""Make a benchmark, search it, print recall at few false pairs, beside peers in the same run.

python -m tests.evaluation.photo_benchmark.evaluate FOLDER... --cache DIR [--sparse] [--kept-back]
    [--originals 64] [--copies 36] [--rounds 26] [--photos 2600] [--seed 2] [--processes 2]
    [--peers]

FOLDER: folders of photographs, such as unpacked wallpaper packages. The dense set holds many edits
of each original, the sparse one (`--sparse`, of about `--photos` photos) a few edits among
listings. Fingerprints and photos are kept in `--cache`, so that a set is made once.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import numpy as np

from extractors.photos.fingerprint import Fingerprint, grey_of
from extractors.photos.model import load_model
from extractors.photos.pairs import Judged, judge
from extractors.photos.search import Looked, look_everywhere
from tests.evaluation.photo_benchmark.make import Task, dense, sparse
from tests.evaluation.photo_benchmark.measure import Figures, Truth, measure
from tests.evaluation.photo_benchmark.peers import PEERS
from tests.evaluation.photo_benchmark.sets import fingerprinted
from tests.evaluation.photo_benchmark.telling import is_telling

Scores = dict[tuple[int, int], float]
COPIED_SHARE = 0.12  # of the photos of a sparse set are edited copies


def main() -> None:
    """Run as the module docstring says."""
    options = _options()
    truth, made = fingerprinted(_tasks(options), options.cache, options.processes)
    size = np.mean([len(one.to_bytes()) for one in made])
    print(f"{len(made)} photos of {size / 1000:.1f} kB, {truth.negatives()} negative pairs")
    looked = _timed("search and comparison", lambda: look_everywhere(made, options.processes), made)
    judged = judge(made, looked)
    untold = _untold(truth, made)
    _print("this tool", measure(truth, _scores(judged), load_model().threshold, untold))
    print(f"  left out above as not to be told apart: {sorted(untold)}")
    _print_names(truth, made, judged)
    if options.peers:
        for name, peer in PEERS.items():
            _print(name, measure(truth, peer([shot.data for shot in truth.shots]), 2.0), brief=True)


def _tasks(options: argparse.Namespace) -> list[Task]:
    common = {"seed": options.seed, "kept_back": options.kept_back}
    if options.sparse:
        return sparse(options.folders, photos=options.photos, share=COPIED_SHARE, **common)
    return dense(
        options.folders,
        originals=options.originals,
        copies=options.copies,
        rounds=options.rounds,
        **common,
    )


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("folders", nargs="*", type=Path)
    parser.add_argument("--cache", type=Path, required=True)
    for name in ("sparse", "kept-back", "peers"):
        parser.add_argument(f"--{name}", action="store_true")
    numbers = {"originals": 64, "copies": 36, "rounds": 26, "photos": 2600, "seed": 1}
    for name, default in numbers.items():
        parser.add_argument(f"--{name}", type=int, default=default)
    parser.add_argument("--processes", type=int, default=1)
    return parser.parse_args()


def _timed(name: str, run: Callable[[], list[Looked]], made: Sequence[Fingerprint]) -> list[Looked]:
    started, wall = time.process_time(), time.perf_counter()
    result = run()
    cpu = (time.process_time() - started) / len(made) * 1000
    took = (time.perf_counter() - wall) / len(made) * 1000
    print(f"{name}: {cpu:.1f} ms CPU in this process, {took:.1f} ms a photo, {len(result)} pairs")
    return result


def _untold(truth: Truth, made: Sequence[Fingerprint]) -> frozenset[str]:
    """The pictures that repeat themselves or are almost empty; rendered goods are none."""
    photos = [
        (shot, one)
        for shot, one in zip(truth.shots, made, strict=True)
        if shot.edit == "original" and not shot.alike
    ]
    unclear = (shot.origins for shot, one in photos if not is_telling(grey_of(one)))
    return frozenset(name for origins in unclear for name in origins)


def _scores(judged: Sequence[Judged]) -> Scores:
    return {(one.looked.later, one.looked.earlier): one.score for one in judged}


def _print(name: str, figures: Figures, brief: bool = False) -> None:
    shown = "  ".join(f"{value:.3f}" for value in figures.recall)
    firsts = "  ".join(f"{value:.3f}" for value in figures.recall_of_originals)
    print(f"{name}: recall at 1e-5, 1e-6, 0: {firsts} against originals; all copies {shown}")
    if brief:
        return
    told = "  ".join(f"{value:.3f}" for value in figures.recall_of_telling)
    print(f"  {told} against originals that can be told apart")
    print(
        f"  looked at {figures.looked_at:.3f} of the copies of originals; limits {figures.limits}"
    )
    print(
        f"  at the threshold: recall {figures.recall_at_threshold:.3f}, "
        f"{figures.false_per_million:.2f} false pairs per million: {dict(figures.false_by_kind)}"
    )
    print(f"  highest false pairs: {dict(figures.worst)}")
    rows = sorted(figures.by_edit.items(), key=lambda row: row[1][0])
    print("  " + ", ".join(f"{edit} {recall:.2f} ({n})" for edit, (recall, n) in rows))


# how the kinds of the benchmark's edits are called by the tool
WORDS: Mapping[str, tuple[str, ...]] = {
    "resized": ("resized",),
    "stretched": ("stretched", "perspective"),
    "brightened": ("brightened", "contrast"),
    "darkened": ("darkened", "contrast"),
    "contrast": ("contrast", "brightened"),
    "tinted": ("tinted",),
    "grey": ("grey",),
    "filtered": ("filtered",),
    "cropped": ("cropped",),
    "mirrored": ("mirrored",),
    "turned": ("turned",),
    "tilted": ("tilted",),
    "perspective": ("perspective", "tilted"),
    "border": ("border",),
    "overlay": ("logo", "sticker", "text bar", "watermark"),
    "inset": ("screenshot", "collage"),
    "collage": ("collage", "screenshot"),
}


def _print_names(truth: Truth, made: Sequence[Fingerprint], judged: Sequence[Judged]) -> None:
    """How often each kind of change is named among the copies found against originals."""
    from extractors.photos.changes import describe_changes

    hits: dict[str, list[bool]] = {}
    for one in judged:
        a, b = one.looked.later, one.looked.earlier
        shots = (truth.shots[a], truth.shots[b])
        if one.answer != "copy" or not truth.is_copy(a, b):
            continue
        if "original" not in (shots[0].edit, shots[1].edit):
            continue
        text = " ".join(describe_changes(made[a], made[b], one.looked))
        for kind in shots[0].kinds | shots[1].kinds:
            hits.setdefault(kind, []).append(any(word in text for word in WORDS[kind]))
    every = [hit for row in hits.values() for hit in row]
    print(f"  kinds named rightly: {np.mean(every):.3f} of {len(every)}")
    print("  " + ", ".join(f"{kind} {np.mean(row):.2f}" for kind, row in sorted(hits.items())))


if __name__ == "__main__":
    main()
