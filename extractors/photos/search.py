"""Every pair of photos worth a look, laid over each other and measured; one process or several.

The order in which photos are given changes nothing: they are put in the order of their content
first, and every pair is examined from the later to the earlier photo.
"""

from __future__ import annotations

import hashlib
import mmap
import multiprocessing
import signal
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from extractors.photos.agreement import compare
from extractors.photos.album import read_album, write_album
from extractors.photos.align import (
    Alignment,
    Matrix,
    as_laid,
    begin,
    refine,
)
from extractors.photos.candidates import (
    Candidate,
    Index,
    build_index,
    find_candidates,
    like_hashes,
    like_regions,
    load_index,
    save_index,
)
from extractors.photos.decode import Pixels
from extractors.photos.evidence import Cells, cells_of, figures_of, weights_of
from extractors.photos.features import Floats
from extractors.photos.fingerprint import Fingerprint, grey_of
from extractors.photos.first_look import is_begun_well, is_well_aligned, likeness, tiny_of
from extractors.photos.holders import MOST_COPIES
from extractors.photos.model import load_model
from extractors.photos.threads import one_thread

_BUDGET = 40_000  # answers a photo may ask of the index,
_BUDGET_A_PHOTO = 8  # and as many more for each photo there is
_FLOOR = 1.2  # votes in one arrangement
_LEAST_PROMISE = -3.5  # log-odds
_PROMISING, _DEARER = -1.0, 0.4
_MOST_CANDIDATES = 400
_MOST_BITS = 24  # of 256: saved anew, smaller, brighter
_LEAST_LIKE = 0.965  # cosine of region vectors
_MOST_LIKE = 10
_PATIENCE_LAID = 2
_PATIENCE = 5.0  # looks in a row that show nothing, then the rest is left
_PATIENCE_WITH_COPY = 14.0  # where a copy was found
_CHEAP = 0.5  # of a look, where the first round of matching showed nothing
_CURIOSITY = 1  # photos compared although they can only be alike
_ALIKE_TIGHT, _ALIKE_SHARE = 24, 0.12
_LEAST_LAID = 0.25  # correlation of the tiny pictures where regions look alike
_LEAST_REFINED = 0.15
_SOME_CHANCE, _LIKELY = -2.0, 1.0  # log-odds
_BLOCK = 24  # photos a task
_KEPT_GREYS = 100  # of 200 kB
_ALBUM = "fingerprints"
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
    with one_thread():
        return [found for query in later for found in _look_from(folder, query, folder.greys)]


def _look_from(folder: Folder, query: int, greys: _Greys) -> Iterator[Looked]:
    made = folder.fingerprints[query]
    if not made.is_comparable:
        return
    best = {looked.earlier: looked for looked in _laid(folder, query, greys)}
    plain = {other for other, looked in best.items() if _is_promising(looked)}
    patience, curiosity, copies = _PATIENCE, _CURIOSITY, 0
    for candidate in _candidates(folder, query):
        if candidate.other in plain:
            continue  # laid over each other already; words would only say it again
        seen = _examine(folder, candidate, greys, curiosity)
        curiosity -= seen.was_curious
        if seen.looked and _worth(seen.looked) > _worth(best.get(candidate.other)):
            best[candidate.other] = seen.looked
        patience = max(patience - seen.cost * _dearness(candidate), seen.patience)
        copies += seen.patience >= _PATIENCE_WITH_COPY
        if patience <= 0 or copies >= MOST_COPIES:
            break
    yield from (best[earlier] for earlier in sorted(best) if _is_kept(best[earlier]))


def _dearness(candidate: Candidate) -> float:
    """How much of the patience a miss costs: the less promising, the more."""
    return 1.0 + _DEARER * max(0.0, _PROMISING - candidate.promise)


def _candidates(folder: Folder, query: int) -> list[Candidate]:
    budget = _BUDGET + _BUDGET_A_PHOTO * len(folder.fingerprints)
    made = folder.fingerprints[query]
    return find_candidates(
        folder.index,
        made,
        query,
        budget=budget,
        floor=_FLOOR,
        least=_LEAST_PROMISE,
        most=_MOST_CANDIDATES,
    )


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
        begun = begin(a, b, start.matrix, start.mirrored)
        alignment = refine(a, b, begun, 0.0) if begun else None
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


def _log_odds(looked: Looked) -> float:
    """What the pair model says; like goods agree a lot, and come in hundreds."""
    figures = figures_of(looked.alignment, looked.shares, looked.cells)
    return float(load_model().log_odds(figures[None])[0])


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """What came of one candidate, what it cost of the patience, and how much patience it earns.

    `was_curious`: the matches gave it no chance to be a copy, but it may be alike.
    """

    looked: Looked | None = None
    cost: float = 1.0
    patience: float = 0.0
    was_curious: bool = False


def _examine(folder: Folder, candidate: Candidate, greys: _Greys, curiosity: int) -> _Seen:
    """Go on with a candidate as long as something speaks for it."""
    query, other = candidate.query, candidate.other
    a, b = folder.fingerprints[query], folder.fingerprints[other]
    begun = begin(a, b, candidate.matrix, candidate.mirrored)
    if begun is None or not is_begun_well(candidate, begun):
        return _Seen(cost=_CHEAP)
    alignment = refine(a, b, begun, candidate.votes)
    if alignment is None:
        return _Seen()
    curious = not is_well_aligned(alignment)
    if curious and not (curiosity and _may_be_alike(alignment)):
        return _Seen()
    if _tiny_likeness(folder, query, other, alignment.matrix, greys) < _LEAST_REFINED:
        return _Seen()
    looked = _compare(folder, query, other, alignment, greys)
    return _Seen(looked, 1.0, _patience_after(looked), curious)


def _patience_after(looked: Looked | None) -> float:
    """How long to go on after this pair: a picture that has one copy often has many."""
    if looked is None:
        return 0.0
    odds = _log_odds(looked)
    return _PATIENCE_WITH_COPY if odds > _LIKELY else _PATIENCE if odds > _SOME_CHANCE else 0.0


def _may_be_alike(alignment: Alignment) -> bool:
    """Whether the matches would do for an answer other than a copy; see verdict.py."""
    enough = alignment.tight >= _ALIKE_TIGHT
    return enough and alignment.matches > _ALIKE_SHARE * alignment.expected


def _compare(
    folder: Folder, query: int, other: int, alignment: Alignment, greys: _Greys
) -> Looked | None:
    agreement = compare(greys.of(folder, query), greys.of(folder, other), alignment.matrix)
    if agreement is None:
        return None
    return Looked(
        query,
        other,
        replace(alignment, matrix=agreement.matrix),
        cells_of(agreement),
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
        self._tiny: dict[int, Pixels] = {}

    def tiny(self, folder: Folder, number: int) -> Pixels:
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
        write_album(Path(place, _ALBUM), (made.to_bytes() for made in fingerprints))
        save_index(build_index(fingerprints), Path(place))
        _let_go(fingerprints)
        parts = _look_in_processes(place, blocks, processes)
    return [found for part in reversed(parts) for found in part]


def _look_in_processes(place: str, blocks: Sequence[range], processes: int) -> list[list[Looked]]:
    """What each block gives, the last block first; an interrupted search ends its workers."""
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(processes, context, _start_worker, (place,))
    try:
        waiting = [pool.submit(_look_in_worker, block) for block in reversed(blocks)]
        return [one.result() for one in waiting]
    except BaseException:
        for worker in multiprocessing.active_children():
            worker.terminate()
        raise
    finally:
        pool.shutdown()


def _let_go(fingerprints: Iterable[Fingerprint]) -> None:
    """Give mapped pages back to the system: workers map a file of their own."""
    views = (made.grey_jpeg for made in fingerprints)
    mapped = {id(v.obj): v.obj for v in views if isinstance(v, memoryview)}
    for one in mapped.values():
        if isinstance(one, mmap.mmap) and hasattr(mmap, "MADV_DONTNEED"):
            one.madvise(mmap.MADV_DONTNEED)


_folder: Folder | None = None


def _start_worker(place: str) -> None:
    """Map what the parent wrote: all workers share its memory."""
    global _folder
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides when to stop
    made = tuple(one for one in read_album(Path(place, _ALBUM)) if one is not None)
    _folder = Folder(made, load_index(Path(place)), _Greys(_KEPT_GREYS))


def _look_in_worker(block: range) -> list[Looked]:
    if _folder is None:
        raise RuntimeError("the worker has not been started")
    return look(_folder, block)
