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
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import numpy as np

from extractors.photos.agreement import Laid, Picture, compare_settled, lay_over, settled
from extractors.photos.album import read_album, write_album
from extractors.photos.align import (
    Alignment,
    Begun,
    Matrix,
    as_laid,
    begin,
    begin_with,
    first_matches,
    refine,
)
from extractors.photos.candidates import (
    Candidate,
    Index,
    Start,
    build_index,
    find_candidates,
    like_hashes,
    like_regions,
    load_index,
    save_index,
)
from extractors.photos.closing import Link, Suggestion, suggest
from extractors.photos.decode import Pixels
from extractors.photos.evidence import Cells, cells_of, figures_of, weights_of
from extractors.photos.features import Floats
from extractors.photos.fingerprint import Fingerprint, grey_of
from extractors.photos.first_look import (
    Figures,
    aligned_odds,
    all_figures,
    begun_figures,
    first_figures,
    laid_odds,
    likeness,
    odds,
    seen_figures,
    tiny_of,
)
from extractors.photos.gates import load_gate
from extractors.photos.holders import MOST_COPIES
from extractors.photos.model import load_model
from extractors.photos.threads import one_thread

Before = TypeVar("Before")
After = TypeVar("After")

_BUDGET = 20_000  # answers a photo may ask of the index,
_BUDGET_A_PHOTO = 6  # and as many more for each photo there is
_FLOOR = 0.9  # votes in one arrangement
_MOST_CANDIDATES = 400
_COLLAGE_BOXES = 5  # regions; see regions.py
_BATCH = 25  # candidates whose features are matched, before any is compared
_MOST_BITS = 24  # of 256: saved anew, smaller, brighter
_LEAST_LIKE = 0.955  # cosine of region vectors,
_LIKE_WITHOUT_FEATURES = 0.98  # where hardly any features match
_LEAST_OF_LAID = -4.0  # log-odds by the features
_ENOUGH_INSIDE, _LEAST_VERY_LIKE = 20, 4  # of every third feature
_MOST_LIKE = 10
_PATIENCE_LAID = 4  # what hardly matches costs 1, what shows nothing when compared 2
_PATIENCE = 1  # comparisons in a row that show nothing, then the rest of a batch is left,
_PATIENCE_WITH_COPY = 5  # where a copy was found
_LEAST_LAID = 0.15  # correlation of the tiny pictures where regions look alike,
_LEAST_SUGGESTED = 0.0  # where a third photo says how they lie
_SOME_CHANCE, _LIKELY, _NONE = -2.0, 1.0, -99.0  # log-odds
_FEW_FEATURES, _ROOM_OF_SMOOTH = 40, 16  # features, pairs that third photos suggest
_BLOCK = 24  # photos a task
_AT_ONCE = 100  # suggestions a task
_KEPT_GREYS = 100  # of 200 kB
_ALBUM = "fingerprints"
_KEPT_TINY = 20_000  # of 3 kB


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """Photos `later` and `earlier` laid over each other (matrix: later -> earlier).

    `outlines` of the common part in px of either grey picture, and its share of either; `figures`
    as in evidence.py.
    """

    later: int
    earlier: int
    alignment: Alignment
    cells: Cells
    outlines: tuple[Floats, Floats]
    shares: tuple[float, float]
    figures: Floats


@dataclass(frozen=True, slots=True)
class _Stage:
    """A look at a batch: its gate, and after how many in a row that are not `promising` (log-odds)
    the rest is left.
    """

    gate: str
    patience: int
    promising: float


_BEGIN = _Stage("begun", 7, -3.0)  # some features
_ALIGN = _Stage("all", 7, -1.0)  # all features
_LAY = _Stage("seen", 5, -1.0)  # pixels at first sight


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


def most_copies(made: Fingerprint) -> int:
    """How many earlier photos may surely show what this one shows, before the rest is left; a
    collage shows several pictures.
    """
    return MOST_COPIES * (3 if len(made.boxes) >= _COLLAGE_BOXES else 1)


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
    # what is laid over each other already need not be said again by words
    left = [one for one in _candidates(folder, query) if one.other not in plain]
    copies = 0
    for start in range(0, len(left), _BATCH):
        before = copies
        for looked, chance in _best_of(folder, left[start : start + _BATCH], greys):
            copies += chance > _LIKELY
            if _worth(looked) > _worth(best.get(looked.earlier)):
                best[looked.earlier] = looked
        if copies == before or copies >= most_copies(made):
            break
    yield from (best[earlier] for earlier in sorted(best) if _is_kept(best[earlier]))


def budget(photos: int) -> int:
    """How many answers one of so many photos may ask of the index."""
    return _BUDGET + _BUDGET_A_PHOTO * photos


def _candidates(folder: Folder, query: int) -> list[Candidate]:
    made = folder.fingerprints[query]
    return find_candidates(
        folder.index,
        made,
        query,
        budget=budget(len(folder.fingerprints)),
        floor=_FLOOR,
        least=load_gate("shared").least,
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
    patience = _PATIENCE_LAID
    for start in [*near, *(start for start in like if start.other not in known)]:
        if patience <= 0:
            break
        if _tiny_likeness(folder, query, start.other, start.matrix, greys) < _LEAST_LAID:
            continue
        patience -= 1
        alignment = _start_laid(a, folder.fingerprints[start.other], start)
        if alignment is None:
            continue
        looked = _compare_if_alike(folder, query, start.other, alignment, greys)
        patience = _PATIENCE_LAID if looked and _is_promising(looked) else patience - 1
        if looked is not None:
            yield looked


def _start_laid(a: Fingerprint, b: Fingerprint, start: Start) -> Alignment | None:
    """As the features say; as the regions lie if these are very like and few features match."""
    begun = begin(a, b, start.matrix, start.mirrored)
    if begun and begun.inside >= _ENOUGH_INSIDE and begun.fit.very_like < _LEAST_VERY_LIKE:
        return None
    alignment = refine(a, b, begun, 0.0) if begun else None
    if alignment is None:
        like = start.likeness >= _LIKE_WITHOUT_FEATURES
        return as_laid(a, b, start.matrix, start.mirrored) if like else None
    return alignment if aligned_odds(alignment) >= _LEAST_OF_LAID else None


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
    """What the search model says; like goods agree a lot, and come in hundreds."""
    return float(load_model("search_model").log_odds(looked.figures[None])[0])


def _best_of(
    folder: Folder, batch: Sequence[Candidate], greys: _Greys
) -> Iterator[tuple[Looked, float]]:
    """Compare some candidates, those that lie best first, until a few in a row show nothing; with
    the log-odds of a copy.
    """
    patience = _PATIENCE
    for _, candidate, (alignment, laid) in _lying(folder, batch, greys):
        if patience <= 0:
            break
        patience -= 1
        looked = _compare(candidate.query, candidate.other, alignment, laid)
        if looked is None:
            continue
        chance = _log_odds(looked)
        patience = max(patience, _patience_after(chance))
        yield looked, chance


def _in_turn(
    ones: Iterable[tuple[Candidate, Before]],
    look: Callable[[Candidate, Before], tuple[float, After] | None],
    stage: _Stage,
) -> list[tuple[float, Candidate, After]]:
    """What a look gives of some candidates, with the log-odds of a copy, the best first; without
    what its gate turns away.
    """
    least = load_gate(stage.gate).least
    patience = stage.patience
    kept = []
    for candidate, before in ones:
        if patience <= 0:
            break
        patience -= 1
        seen = look(candidate, before)
        if seen is None:
            continue
        chance, after = seen
        if chance > stage.promising:
            patience = stage.patience
        if chance >= least:
            kept.append((chance, candidate, after))
    return sorted(kept, key=lambda one: (-one[0], one[1].other))


def _lying(
    folder: Folder, batch: Sequence[Candidate], greys: _Greys
) -> list[tuple[float, Candidate, tuple[Alignment, Laid]]]:
    """Candidates of which the pixels, too, speak for a copy at first sight."""

    def look(
        candidate: Candidate, before: tuple[Figures, Alignment]
    ) -> tuple[float, tuple[Alignment, Laid]] | None:
        figures, alignment = before
        laid = _lay_over(folder, candidate.query, candidate.other, alignment, greys)
        if laid is None:
            return None
        return odds("seen", seen_figures(figures, alignment, laid)), (alignment, laid)

    return _in_turn(_aligned(folder, batch), look, _LAY)


def _aligned(
    folder: Folder, batch: Sequence[Candidate]
) -> Iterator[tuple[Candidate, tuple[Figures, Alignment]]]:
    """Candidates of which the features, too, speak for a copy."""

    def look(
        candidate: Candidate, before: tuple[Figures, Begun]
    ) -> tuple[float, tuple[Figures, Alignment]] | None:
        a, b = folder.fingerprints[candidate.query], folder.fingerprints[candidate.other]
        alignment = refine(a, b, before[1], candidate.votes)
        if alignment is None:
            return None
        figures = all_figures(before[0], alignment)
        return odds("all", figures), (figures, alignment)

    found = _in_turn(_begun(folder, batch), look, _ALIGN)
    return ((candidate, after) for _, candidate, after in found)


def _begun(
    folder: Folder, batch: Sequence[Candidate]
) -> Iterator[tuple[Candidate, tuple[Figures, Begun]]]:
    """Candidates of which some features match."""
    least = load_gate("first").least

    def look(candidate: Candidate, _: None) -> tuple[float, tuple[Figures, Begun]] | None:
        a, b = folder.fingerprints[candidate.query], folder.fingerprints[candidate.other]
        first = first_matches(a, b, candidate.matrix, candidate.mirrored)
        figures = first_figures(candidate, first)
        if odds("first", figures) < least:
            return None
        begun = begin_with(a, b, first, candidate.mirrored)
        if begun is None:
            return None
        figures = begun_figures(candidate, figures, begun)
        return odds("begun", figures), (figures, begun)

    found = _in_turn(((candidate, None) for candidate in batch), look, _BEGIN)
    return ((candidate, after) for _, candidate, after in found)


def _patience_after(chance: float) -> int:
    """How long to go on after this pair: a picture that has one copy often has many."""
    return _PATIENCE_WITH_COPY if chance > _LIKELY else _PATIENCE if chance > _SOME_CHANCE else 0


def look_again(folder: Folder, suggestions: Iterable[Suggestion]) -> list[Looked]:
    """Lay the photos over each other as a third one says, and compare them."""
    with one_thread():
        found = (_as_suggested(folder, one) for one in suggestions)
        return [looked for looked in found if looked is not None and _is_kept(looked)]


def _as_suggested(folder: Folder, one: Suggestion) -> Looked | None:
    a, b = folder.fingerprints[one.later], folder.fingerprints[one.earlier]
    greys = folder.greys
    if _tiny_likeness(folder, one.later, one.earlier, one.matrix, greys) < _LEAST_SUGGESTED:
        return None
    begun = begin(a, b, one.matrix, one.mirrored)
    alignment = refine(a, b, begun, 0.0) if begun else None
    if alignment is None:
        alignment = as_laid(a, b, one.matrix, one.mirrored)
    return _compare_if_alike(folder, one.later, one.earlier, alignment, greys)


def lay(folder: Folder, later: int, earlier: int, alignment: Alignment) -> Looked | None:
    """Compare two photos as they are aligned; None if too small a part is common to both."""
    with one_thread():
        laid = _lay_over(folder, later, earlier, alignment, folder.greys)
        return None if laid is None else _compare(later, earlier, alignment, laid)


def lay_first(folder: Folder, later: int, earlier: int, alignment: Alignment) -> Laid | None:
    """A first look at two photos as they are aligned."""
    with one_thread():
        return _lay_over(folder, later, earlier, alignment, folder.greys)


def _lay_over(
    folder: Folder, query: int, other: int, alignment: Alignment, greys: _Greys
) -> Laid | None:
    return lay_over(greys.of(folder, query), greys.of(folder, other), alignment.matrix)


def _compare_if_alike(
    folder: Folder, query: int, other: int, alignment: Alignment, greys: _Greys
) -> Looked | None:
    """None if a first look at the pixels speaks against a copy; where no features match, it says
    too little.
    """
    laid = _lay_over(folder, query, other, alignment, greys)
    if laid is None:
        return None
    if alignment.matches and laid_odds(alignment, laid) < load_gate("laid").least:
        return None
    return _compare(query, other, alignment, laid)


def _compare(query: int, other: int, alignment: Alignment, laid: Laid) -> Looked | None:
    agreement = compare_settled(settled(laid))
    if agreement is None:
        return None
    alignment = replace(alignment, matrix=agreement.matrix)
    cells, shares = cells_of(agreement), (agreement.share_a, agreement.share_b)
    outlines = agreement.a_polygon, agreement.b_polygon
    figures = figures_of(alignment, shares, cells)
    return Looked(query, other, alignment, cells, outlines, shares, figures)


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
        self._kept: dict[int, Picture] = {}
        self._tiny: dict[int, Pixels] = {}

    def tiny(self, folder: Folder, number: int) -> Pixels:
        """The picture at an eighth of its sides; many are kept, since they are small."""
        if number not in self._tiny:
            if len(self._tiny) >= _KEPT_TINY:
                self._tiny.clear()
            self._tiny[number] = tiny_of(folder.fingerprints[number])
        return self._tiny[number]

    def of(self, folder: Folder, number: int) -> Picture:
        picture = self._kept.pop(number, None)
        if picture is None:
            picture = Picture(grey_of(folder.fingerprints[number]))
        self._kept[number] = picture
        if len(self._kept) > self._most:
            del self._kept[next(iter(self._kept))]
        return picture


def look_everywhere(fingerprints: Sequence[Fingerprint], processes: int = 1) -> list[Looked]:
    """Examine every photo, then what the pairs found suggest; equal results whatever the number of
    processes.
    """
    blocks = [
        range(start, min(start + _BLOCK, len(fingerprints)))
        for start in range(0, len(fingerprints), _BLOCK)
    ]
    if processes <= 1 or len(blocks) < 4:
        folder = make_folder(fingerprints)
        first = [found for block in blocks for found in look(folder, block)]
        again = look_again(folder, _suggestions(fingerprints, first))
    else:
        with tempfile.TemporaryDirectory(prefix="photo-pairs-") as place:
            write_album(Path(place, _ALBUM), (made.to_bytes() for made in fingerprints))
            save_index(build_index(fingerprints), Path(place))
            _let_go(fingerprints)
            first, again = _look_in_processes(place, blocks, processes, fingerprints)
    return sorted([*first, *again], key=lambda one: (one.later, one.earlier))


def _suggestions(fingerprints: Sequence[Fingerprint], looked: Sequence[Looked]) -> list[Suggestion]:
    """Pairs not looked at that pairs of sure copies suggest; few where a photo has many copies."""
    chances = [_log_odds(one) if _is_promising(one) else _NONE for one in looked]
    links = [
        Link(one.later, one.earlier, one.alignment, one.outlines, chance)
        for one, chance in zip(looked, chances, strict=True)
        if chance > _LIKELY
    ]
    room = np.array([_room(made) for made in fingerprints], np.intp)
    np.subtract.at(room, [link.later for link in links], 1)
    return suggest(links, frozenset((one.later, one.earlier) for one in looked), room)


def _room(made: Fingerprint) -> int:
    """How many pairs of one photo may be suggested: smooth pictures are like too many others."""
    return most_copies(made) if len(made.points) >= _FEW_FEATURES else _ROOM_OF_SMOOTH


def _look_in_processes(
    place: str, blocks: Sequence[range], processes: int, fingerprints: Sequence[Fingerprint]
) -> tuple[list[Looked], list[Looked]]:
    """What each block gives (the last is begun first), and what that suggests; an interrupted
    search ends its workers.
    """
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(processes, context, _start_worker, (place,))
    try:
        waiting = [pool.submit(_look_in_worker, block) for block in reversed(blocks)]
        first = [found for part in reversed(waiting) for found in part.result()]
        suggested = _suggestions(fingerprints, first)
        parts = [suggested[at : at + _AT_ONCE] for at in range(0, len(suggested), _AT_ONCE)]
        again = [pool.submit(_look_again_in_worker, part) for part in parts]
        return first, [found for part in again for found in part.result()]
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


def _look_again_in_worker(suggestions: Sequence[Suggestion]) -> list[Looked]:
    if _folder is None:
        raise RuntimeError("the worker has not been started")
    return look_again(_folder, suggestions)
