"""Every pair of photos worth a look, laid over each other and measured; one process or several.

The order in which photos are given changes nothing: they are put in the order of their content
first, and every pair is examined from the later to the earlier photo.
"""

from __future__ import annotations

import hashlib
import mmap
import multiprocessing
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from extractors.photos.agreement import compare
from extractors.photos.align import Alignment, Matrix, as_laid, refine, rough_similarity
from extractors.photos.candidates import (
    Candidate,
    Index,
    build_index,
    find_candidates,
    like_hashes,
    like_regions,
)
from extractors.photos.decode import Pixels
from extractors.photos.evidence import Cells, cells_of, figures_of, weights_of
from extractors.photos.features import Floats
from extractors.photos.fingerprint import Fingerprint, from_bytes, grey_of
from extractors.photos.first_look import is_hopeful, likeness, tiny_of
from extractors.photos.model import load_model

_BUDGET = 40_000  # answers a photo may ask of the index,
_BUDGET_A_PHOTO = 8  # and as many more for each photo there is
_FLOOR = 1.2  # votes in one arrangement
_MOST_CANDIDATES = 400
_MOST_BITS = 24  # of 256: saved anew, smaller, brighter
_LEAST_LIKE = 0.965  # cosine of region vectors
_MOST_LIKE = 10
_PATIENCE_LAID = 2
_PATIENCE = 5  # full looks in a row that show nothing, then the rest is left
_PATIENCE_AT_FIRST = 16  # first looks in a row that are not promising
_LEAST_ROUGH = 4
_LEAST_MATCHES = 6
_LEAST_LAID = 0.25  # correlation of the tiny pictures where regions look alike
_LEAST_REFINED = 0.15
_SOME_CHANCE = -2.0  # log-odds
_BLOCK = 24  # photos a task
_KEPT_GREYS = 300
_KEPT_TINY = 20_000  # of 3 kB


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """Photos `later` and `earlier` laid over each other (matrix: later -> earlier).

    `outlines` of the common part in px of either grey picture, and its share of either.
    """

    later: int
    earlier: int
    alignment: Alignment
    cells: Cells
    outlines: tuple[Floats, Floats]
    shares: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Folder:
    """All fingerprints in the order of their content, and the index over them."""

    fingerprints: tuple[Fingerprint, ...]
    index: Index
    greys: _Greys


def content_digest(made: Fingerprint) -> str:
    """The same for photos with the same small picture and size."""
    digest = hashlib.sha256(made.grey_jpeg)
    digest.update(f"{made.width}x{made.height}".encode())
    digest.update(made.colours.tobytes())
    return digest.hexdigest()


def make_folder(fingerprints: Sequence[Fingerprint]) -> Folder:
    """Index fingerprints that are already in their order."""
    return Folder(tuple(fingerprints), build_index(fingerprints), _Greys(_KEPT_GREYS))


def look(folder: Folder, later: Iterable[int]) -> list[Looked]:
    """Examine the candidates of some photos against all earlier ones."""
    greys = folder.greys
    return [found for query in later for found in _look_from(folder, query, greys)]


def _look_from(folder: Folder, query: int, greys: _Greys) -> Iterator[Looked]:
    made = folder.fingerprints[query]
    if not made.is_comparable:
        return
    best = {looked.earlier: looked for looked in _laid(folder, query, greys)}
    plain = {other for other, looked in best.items() if _is_promising(looked)}
    misses = passed_over = 0
    for candidate in _candidates(folder, query):
        if candidate.other in plain:
            continue  # laid over each other already; words would only say it again
        rough = _first_look(folder, candidate)
        if rough is None:
            passed_over += 1
            if passed_over >= _PATIENCE_AT_FIRST:
                break
            continue
        looked = _examine(folder, candidate, rough, greys)
        if looked and _worth(looked) > _worth(best.get(looked.earlier)):
            best[looked.earlier] = looked
        passed_over = 0
        misses = 0 if looked and _may_be_copy(looked) else misses + 1
        if misses >= _PATIENCE:
            break
    yield from (best[earlier] for earlier in sorted(best) if _is_kept(best[earlier]))


def _candidates(folder: Folder, query: int) -> list[Candidate]:
    budget = _BUDGET + _BUDGET_A_PHOTO * len(folder.fingerprints)
    made = folder.fingerprints[query]
    return find_candidates(
        folder.index, made, query, budget=budget, floor=_FLOOR, most=_MOST_CANDIDATES
    )


def _first_look(folder: Folder, candidate: Candidate) -> Matrix | None:
    """The rough similarity, if enough features agree on it to go on."""
    a, b = folder.fingerprints[candidate.query], folder.fingerprints[candidate.other]
    rough = rough_similarity(a, b, candidate)
    if rough is None or rough[1] < _LEAST_ROUGH:
        return None
    hopeful = is_hopeful(candidate.votes, rough[1], len(candidate.mine))
    return rough[0] if hopeful else None


def _tiny_likeness(folder: Folder, query: int, other: int, matrix: Matrix, greys: _Greys) -> float:
    return likeness(greys.tiny(folder, query), greys.tiny(folder, other), matrix)


def _laid(folder: Folder, query: int, greys: _Greys) -> Iterator[Looked]:
    """Photos that look like this one as a whole or in a region: no words are needed."""
    a = folder.fingerprints[query]
    near = like_hashes(
        folder.index, folder.fingerprints, query, most_bits=_MOST_BITS, most=_MOST_LIKE
    )
    known = {start.other for start in near}
    like = like_regions(
        folder.index, folder.fingerprints, query, least=_LEAST_LIKE, most=_MOST_LIKE
    )
    misses = 0
    for start in [*near, *(start for start in like if start.other not in known)]:
        if _tiny_likeness(folder, query, start.other, start.matrix, greys) < _LEAST_LAID:
            continue
        b = folder.fingerprints[start.other]
        alignment = refine(a, b, start.matrix, start.mirrored, 0.0)
        if alignment is None:
            alignment = as_laid(a, b, start.matrix, start.mirrored)
        looked = _compare(folder, query, start.other, alignment, greys)
        if looked is not None:
            yield looked
        misses = 0 if looked and _is_promising(looked) else misses + 1
        if misses >= _PATIENCE_LAID:
            break


def _is_kept(looked: Looked) -> bool:
    """Whether anything speaks for the pair; thousands of hopeless ones would only fill memory."""
    weights = weights_of(looked.cells)
    agree = np.maximum(looked.cells.coarse, looked.cells.fine) > 0.9
    return looked.alignment.tight >= 12 or bool((weights * agree).sum() > 0.08 * weights.sum())


def _is_promising(looked: Looked) -> bool:
    """Whether about half of the texture agrees: copies do, most other pairs do not."""
    weights = weights_of(looked.cells)
    agree = np.maximum(looked.cells.coarse, looked.cells.fine) > 0.9
    return bool((weights * agree).sum() > 0.45 * weights.sum())


def _may_be_copy(looked: Looked) -> bool:
    """Whether the pair model gives it a chance: like goods agree a lot, and come in hundreds."""
    figures = figures_of(looked.alignment, looked.shares, looked.cells)
    return float(load_model().log_odds(figures[None])[0]) > _SOME_CHANCE


def _examine(folder: Folder, candidate: Candidate, rough: Matrix, greys: _Greys) -> Looked | None:
    query, other = candidate.query, candidate.other
    a, b = folder.fingerprints[query], folder.fingerprints[other]
    alignment = refine(a, b, rough, candidate.mirrored, candidate.votes)
    if alignment is None or alignment.matches < _LEAST_MATCHES:
        return None
    if _tiny_likeness(folder, query, other, alignment.matrix, greys) < _LEAST_REFINED:
        return None
    return _compare(folder, query, other, alignment, greys)


def _compare(
    folder: Folder, query: int, other: int, alignment: Alignment, greys: _Greys
) -> Looked | None:
    agreement = compare(greys.of(folder, query), greys.of(folder, other), alignment.matrix)
    if agreement is None:
        return None
    return Looked(
        query,
        other,
        alignment,
        cells_of(agreement, alignment),
        (agreement.a_polygon, agreement.b_polygon),
        (agreement.share_a, agreement.share_b),
    )


def _worth(looked: Looked | None) -> float:
    """How much texture agrees: decides between two ways to lay the same photos."""
    if looked is None:
        return -1.0
    agree = np.maximum(looked.cells.coarse, looked.cells.fine) > 0.8
    return float((weights_of(looked.cells) * agree).sum())


class _Greys:
    """The small pictures used last, so that each is not decoded for every pair."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: dict[int, Pixels] = {}
        self._tiny: dict[int, Floats] = {}

    def tiny(self, folder: Folder, number: int) -> Floats:
        """The picture at an eighth of its sides; many are kept, since they are small."""
        if number not in self._tiny:
            if len(self._tiny) >= _KEPT_TINY:
                self._tiny.clear()
            self._tiny[number] = tiny_of(folder.fingerprints[number])
        return self._tiny[number]

    def of(self, folder: Folder, number: int) -> Pixels:
        grey = self._kept.pop(number, None)
        if grey is None:
            grey = grey_of(folder.fingerprints[number])
        self._kept[number] = grey
        if len(self._kept) > self._most:
            del self._kept[next(iter(self._kept))]
        return grey


def look_everywhere(fingerprints: Sequence[Fingerprint], processes: int = 1) -> list[Looked]:
    """Examine every photo; equal results whatever the number of processes."""
    blocks = [
        range(start, min(start + _BLOCK, len(fingerprints)))
        for start in range(0, len(fingerprints), _BLOCK)
    ]
    if processes <= 1 or len(blocks) < 4:
        folder = make_folder(fingerprints)
        return [found for block in blocks for found in look(folder, block)]
    with tempfile.TemporaryDirectory(prefix="photo-pairs-") as place:
        path = _spill(fingerprints, Path(place))
        context = multiprocessing.get_context("spawn")
        with ProcessPoolExecutor(processes, context, _start_worker, (str(path),)) as pool:
            parts = list(pool.map(_look_in_worker, reversed(blocks)))
    return [found for part in reversed(parts) for found in part]


def _spill(fingerprints: Sequence[Fingerprint], place: Path) -> Path:
    """Write all fingerprints into one file that workers map, so that memory is shared."""
    path = place / "fingerprints"
    with path.open("wb") as out:
        for made in fingerprints:
            stored = made.to_bytes()
            out.write(len(stored).to_bytes(8, "little"))
            out.write(stored)
    return path


_folder: Folder | None = None


def _start_worker(path: str) -> None:
    global _folder
    with open(path, "rb") as file:
        view = memoryview(mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ))
    at, found = 0, []
    while at < len(view):
        size = int.from_bytes(view[at : at + 8], "little")
        made = from_bytes(view[at + 8 : at + 8 + size])
        if made is not None:
            found.append(made)
        at += 8 + size
    _folder = make_folder(found)


def _look_in_worker(block: range) -> list[Looked]:
    if _folder is None:
        raise RuntimeError("the worker has not been started")
    return look(_folder, block)
