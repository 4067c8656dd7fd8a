"""A made benchmark as the search wants it: fingerprints in the order of their content, kept on
disk so that a set is made once.
"""

from __future__ import annotations

import hashlib
import pickle
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from extractors.photos.fingerprint import RECIPE, Fingerprint, fingerprint, from_bytes
from extractors.photos.search import content_digest
from tests.evaluation.photo_benchmark.make import Shot, Task, shots_of
from tests.evaluation.photo_benchmark.measure import Truth

Made = tuple[Shot, bytes]


def fingerprinted(
    tasks: Sequence[Task], cache: Path, processes: int = 1
) -> tuple[Truth, list[Fingerprint]]:
    """Fingerprints with the truth about them, one photo of each content."""
    by_content: dict[str, tuple[Shot, Fingerprint]] = {}
    for shot, stored in _kept(tasks, cache, processes):
        made = from_bytes(stored)
        if made is None:
            raise ValueError("the cache holds other fingerprints; delete it")
        by_content[content_digest(made)] = (shot, made)
    pairs = [by_content[digest] for digest in sorted(by_content)]
    return Truth(tuple(shot for shot, _ in pairs)), [made for _, made in pairs]


def _kept(tasks: Sequence[Task], cache: Path, processes: int) -> list[Made]:
    """All photos of the tasks from the cache folder; what is missing is made."""
    cache.mkdir(parents=True, exist_ok=True)
    missing = [task for task in tasks if not _place(task, cache).exists()]
    if processes <= 1:
        for task in missing:
            _make(task, cache)
    else:
        with ProcessPoolExecutor(processes) as pool:
            list(pool.map(_make, missing, [cache] * len(missing), chunksize=4))
    return [one for task in tasks for one in pickle.loads(_place(task, cache).read_bytes())]


def _place(task: Task, cache: Path) -> Path:
    return cache / f"{hashlib.sha256(repr((RECIPE, task)).encode()).hexdigest()[:24]}.pickle"


def _make(task: Task, cache: Path) -> None:
    made = [(shot, fingerprint(shot.data).to_bytes()) for shot in shots_of(task)]
    place = _place(task, cache)
    place.with_suffix(".part").write_bytes(pickle.dumps(made))
    place.with_suffix(".part").rename(place)
