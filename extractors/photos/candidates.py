"""Which pairs of photos are worth a closer look: votes of shared words, and like regions.

Every query word asks an inverted list; each answer votes for a photo, mirrored or not, with a turn
and a scale (weak geometric consistency: Jegou, Douze and Schmid, "Hamming embedding and weak
geometric consistency", ECCV 2008). Rare words are asked first, within a budget of answers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from extractors.photos.features import LEVEL_FACTOR, Floats
from extractors.photos.fingerprint import Fingerprint
from extractors.photos.regions import turned_vectors

Ints = npt.NDArray[np.intp]

_ENTRIES = 512  # of the codebook: a word is upper * 512 + lower
_TURNS = 16
_SCALES = 9  # steps of three pyramid levels each, the middle one is "same size"
_LEVELS_PER_SCALE = 3
_ROUNDING = 1e-4  # of sums of votes
_CELL = 96.0  # px; places of the query's middle are counted in cells of this size
_CELLS = 16
_LENGTH = 64  # of a region's vector
_NEAR_SHIFT = 2  # half cells


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """Photo `other` may show what `query` shows; features `mine` and `theirs` agree."""

    query: int
    other: int
    mirrored: bool
    votes: float
    mine: Ints
    theirs: Ints


@dataclass(frozen=True, slots=True, eq=False)
class _Answers:
    """n answers: the asking feature, place in the index, number of the photo and way (mirrored or
    not), weight. `names` (photo * 2 + mirrored) are listed by number.
    """

    mine: Ints
    at: Ints
    compact: Ints
    weight: Floats
    names: Ints

    def chosen(self, keep: Ints) -> _Answers:
        """Some of the answers."""
        return replace(
            self,
            mine=self.mine[keep],
            at=self.at[keep],
            compact=self.compact[keep],
            weight=self.weight[keep],
        )


@dataclass(frozen=True, slots=True, eq=False)
class Index:
    """Inverted lists over all features of all photos; answers in one list are in photo order.

    `vectors` (m, 64) of all regions with their photo (`owner`, rising) and number in the photo;
    `hashes` (photos, 32) bytes of the perceptual hash.
    """

    starts: Ints
    photo: npt.NDArray[np.int32]
    feature: npt.NDArray[np.int32]
    angle: npt.NDArray[np.uint8]
    level: npt.NDArray[np.uint8]
    x: Floats
    y: Floats
    photos: int
    owner: Ints
    region: Ints
    vectors: Floats
    hashes: npt.NDArray[np.uint8]


def build_index(fingerprints: Sequence[Fingerprint]) -> Index:
    """Index the photos by their position in the sequence."""
    usable = [f if f.is_comparable else None for f in fingerprints]
    counts = [len(f.points) if f else 0 for f in usable]
    kept = [f for f in usable if f]
    words = np.concatenate([_words(f, 0, 2) for f in kept]) if kept else np.zeros(0, np.int32)
    order = np.argsort(words, kind="stable")
    photo = np.repeat(np.arange(len(counts), dtype=np.int32), counts)
    feature = np.concatenate([np.arange(n, dtype=np.int32) for n in counts] or [photo])
    points = np.concatenate([f.points for f in kept] or [np.zeros((0, 2), np.float32)])
    lengths = np.bincount(words, minlength=_ENTRIES * _ENTRIES)
    empty = np.zeros(0, np.uint8)
    return Index(
        starts=np.concatenate([[0], np.cumsum(lengths)]),
        photo=photo[order],
        feature=feature[order],
        angle=np.concatenate([f.angles for f in kept] or [empty])[order],
        level=np.concatenate([f.levels for f in kept] or [empty])[order],
        x=points[order, 0],
        y=points[order, 1],
        photos=len(fingerprints),
        owner=np.repeat(
            [i for i, f in enumerate(usable) if f], [len(f.boxes) for f in kept]
        ).astype(np.intp),
        region=np.concatenate([np.arange(len(f.boxes)) for f in kept] or [np.zeros(0, np.intp)]),
        vectors=np.concatenate(
            [f.vectors for f in kept] or [np.zeros((0, _LENGTH), np.int8)]
        ).astype(np.float32)
        / np.float32(127),
        hashes=np.stack([np.frombuffer(bytes.fromhex(f.phash), np.uint8) for f in fingerprints])
        if fingerprints
        else np.zeros((0, 32), np.uint8),
    )


def _words(made: Fingerprint, upper: int, lower: int) -> npt.NDArray[np.int32]:
    return made.words[:, upper].astype(np.int32) * _ENTRIES + made.words[:, lower]


def _asked(made: Fingerprint) -> tuple[Ints, Ints, npt.NDArray[np.bool_]]:
    """Words to ask (plain, then mirrored), the feature that asks, and whether it reads mirrored."""
    plain = [(0, 2), (1, 2), (0, 3)]
    words = [_words(made, a, b) for a, b in plain] + [_words(made, b, a) for a, b in plain]
    n = len(made.points)
    mirrored = np.repeat([False, True], 3 * n)
    return np.concatenate(words), np.tile(np.arange(n), 6), mirrored


def find_candidates(
    index: Index, made: Fingerprint, query: int, *, budget: int, floor: float, most: int
) -> list[Candidate]:
    """Photos before `query` in the index that share words in one arrangement, most votes first.

    Votes fall from step to step, so a photo below the floor is dropped at the first step that
    shows it; the steps that cost most see few photos.
    """
    answers = _answers(index, made, query, budget)
    answers = _often_enough(answers, _votes_by(answers.compact, answers, 1)[:, 0], floor)
    answers = _in_best_turn(index, made, answers, floor)
    if not len(answers.mine):
        return []
    votes, place = _shift_votes(index, made, answers)
    chosen = np.flatnonzero(votes >= floor)
    chosen = chosen[np.lexsort((answers.names[chosen], -votes[chosen]))][:most]
    order = np.argsort(answers.compact, kind="stable")
    edges = np.searchsorted(answers.compact[order], np.arange(len(answers.names) + 1))
    found = []
    for c in chosen:
        rows = order[edges[c] : edges[c + 1]]
        rows = rows[place[rows] <= _NEAR_SHIFT]
        name = int(answers.names[c])
        theirs = index.feature[answers.at[rows]].astype(np.intp)
        found.append(
            Candidate(query, name // 2, bool(name % 2), float(votes[c]), answers.mine[rows], theirs)
        )
    return found


def _answers(index: Index, made: Fingerprint, query: int, budget: int) -> _Answers:
    """Every answer within the budget, by photos before `query`; `compact` is photo and way."""
    words, asking, mirrored = _asked(made)
    starts = index.starts[words]
    lengths = index.starts[words + 1] - starts
    order = np.argsort(lengths, kind="stable")
    order = order[np.searchsorted(lengths[order], 1) :]
    order = order[: np.searchsorted(np.cumsum(lengths[order]), budget, side="right")]
    lengths, starts = lengths[order], starts[order]
    ends = np.cumsum(lengths)
    total = int(ends[-1]) if len(ends) else 0
    at = np.arange(total) + np.repeat(starts - ends + lengths, lengths)
    photo = index.photo[at]
    earlier = np.flatnonzero(photo < query)
    row = np.repeat(np.arange(len(order)), lengths)[earlier]
    weight = (1.0 / np.log2(4.0 + lengths)).astype(np.float32)
    name = photo[earlier] * 2 + mirrored[order][row]
    return _Answers(asking[order][row], at[earlier], name, weight[row], np.arange(2 * query))


def _often_enough(answers: _Answers, votes: Floats, floor: float) -> _Answers:
    """Only the answers of photos with votes enough; these are numbered anew."""
    enough = votes >= floor - _ROUNDING
    kept = answers.chosen(np.flatnonzero(enough[answers.compact]))
    number = np.cumsum(enough) - 1
    return replace(kept, compact=number[kept.compact], names=answers.names[enough])


def _in_best_turn(index: Index, made: Fingerprint, answers: _Answers, floor: float) -> _Answers:
    """Only the answers in the turn and scale for which their photo has most votes."""
    turn = _turn(index, made, answers)
    by_turn = _votes_by(answers.compact * _TURNS + turn, answers, _TURNS)
    answers = _often_enough(answers, (by_turn + np.roll(by_turn, -1, axis=1)).max(1), floor)
    turn, scale = _turn(index, made, answers), _scale(index, made, answers)
    key = (answers.compact * _TURNS + turn) * _SCALES + scale
    votes = _votes_by(key, answers, _TURNS * _SCALES).reshape(-1, _TURNS, _SCALES)
    votes = votes + np.roll(votes, -1, axis=1)
    votes[:, :, :-1] += votes[:, :, 1:]
    flat = votes.reshape(len(votes), _TURNS * _SCALES)
    best_turn, best_scale = np.divmod(flat.argmax(1), _SCALES)
    turns = (turn - best_turn[answers.compact]) % _TURNS
    scales = scale - best_scale[answers.compact]
    near = np.flatnonzero((turns <= 1) & (scales >= 0) & (scales <= 1))
    return _often_enough(answers.chosen(near), flat.max(1), floor)


def _votes_by(key: Ints, answers: _Answers, cells: int) -> Floats:
    """(photos, cells): the summed weight of the answers of each key."""
    photos = len(answers.names)
    return np.asarray(np.bincount(key, answers.weight, photos * cells)).reshape(photos, cells)


def _turn(index: Index, made: Fingerprint, answers: _Answers) -> Ints:
    """The bin of turn that each answer votes for."""
    mirrored = answers.names[answers.compact] % 2 == 1
    own = made.angles[answers.mine].astype(np.intp)
    other = index.angle[answers.at].astype(np.intp)
    return np.asarray(np.where(mirrored, other + own, other - own) % 256 * _TURNS // 256)


def _scale(index: Index, made: Fingerprint, answers: _Answers) -> Ints:
    """The bin of scale that each answer votes for."""
    steps = index.level[answers.at].astype(np.intp) - made.levels[answers.mine]
    return np.asarray(np.clip((steps + 13) // _LEVELS_PER_SCALE, 0, _SCALES - 1))


def _shift_votes(index: Index, made: Fingerprint, answers: _Answers) -> tuple[Floats, Ints]:
    """Each photo's votes for the best place of the query's middle, and each answer's distance
    from that place in cells.
    """
    x, y = _middle_seen(index, made, answers)
    best = np.zeros(len(answers.names), np.float32)
    at_x, at_y = np.zeros(len(best)), np.zeros(len(best))
    for dx, dy in ((0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)):
        cx = np.clip(np.floor(x + dx), 0, _CELLS - 1).astype(np.intp)
        cy = np.clip(np.floor(y + dy), 0, _CELLS - 1).astype(np.intp)
        votes = _votes_by((answers.compact * _CELLS + cx) * _CELLS + cy, answers, _CELLS**2)
        peak, height = votes.argmax(1), votes.max(1)
        better = height > best
        best[better] = height[better]
        at_x[better] = peak[better] // _CELLS + 0.5 - dx
        at_y[better] = peak[better] % _CELLS + 0.5 - dy
    far = np.maximum(np.abs(x - at_x[answers.compact]), np.abs(y - at_y[answers.compact]))
    return best, np.rint(far * 2).astype(np.intp)


def _middle_seen(
    index: Index, made: Fingerprint, answers: _Answers
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Where each answer places the middle of the query in the other photo, in cells."""
    mirrored = answers.names[answers.compact] % 2 == 1
    own = made.angles[answers.mine].astype(np.float32)
    other = index.angle[answers.at].astype(np.float32)
    turn = np.where(mirrored, other + own, other - own) * np.float32(2 * np.pi / 256)
    steps = index.level[answers.at].astype(np.float32) - made.levels[answers.mine]
    factor = np.float32(LEVEL_FACTOR) ** steps
    middle = np.array(made.size, np.float32) / 2
    dx, dy = (middle - made.points[answers.mine]).T
    dx, dy = factor * dx, np.where(mirrored, -dy, dy) * factor
    cos, sin = np.cos(turn), np.sin(turn)
    x = index.x[answers.at] + cos * dx - sin * dy
    y = index.y[answers.at] + sin * dx + cos * dy
    width = _CELL * np.maximum(1.0, factor)
    return x / width + _CELLS / 2 - 2, y / width + _CELLS / 2 - 2


@dataclass(frozen=True, slots=True, eq=False)
class Start:
    """A region of the query looks like one of `other`: `matrix` (3, 3) lays it there."""

    other: int
    matrix: npt.NDArray[np.float64]
    mirrored: bool
    likeness: float


_BITS = np.array([bin(value).count("1") for value in range(256)], np.uint8)


def like_hashes(
    index: Index, fingerprints: Sequence[Fingerprint], query: int, *, most_bits: int, most: int
) -> list[Start]:
    """Photos before `query` whose 256-bit pHash (imagehash) differs in few bits, nearest first."""
    apart = _BITS[index.hashes[:query] ^ index.hashes[query]].sum(1, dtype=np.int64)
    near = np.flatnonzero(apart <= most_bits)
    near = near[np.lexsort((near, apart[near]))]
    usable = [int(other) for other in near if fingerprints[int(other)].is_comparable]
    box = fingerprints[query].boxes[0]
    return [
        Start(
            other, _box_to_box(box, fingerprints[other].boxes[0], 0), False, 1 - apart[other] / 256
        )
        for other in usable[:most]
    ]


def like_regions(
    index: Index, fingerprints: Sequence[Fingerprint], query: int, *, least: float, most: int
) -> list[Start]:
    """Photos before `query` with a region whose DCT vector nearly agrees in one of eight ways."""
    made = fingerprints[query]
    rows = index.vectors[: int(np.searchsorted(index.owner, query))]
    if not len(rows) or not made.is_comparable:
        return []
    ways = turned_vectors(made.vectors.astype(np.float32) / np.float32(127))
    likeness = ways.reshape(-1, _LENGTH) @ rows.T
    best_way, best = likeness.argmax(0), likeness.max(0)
    at = np.flatnonzero(best >= least)
    at = at[np.lexsort((at, -best[at]))]
    found: dict[int, Start] = {}
    for row in at.tolist():
        other = int(index.owner[row])
        if other in found:
            continue
        way, region = divmod(int(best_way[row]), len(made.boxes))
        box = fingerprints[other].boxes[index.region[row]]
        matrix = _box_to_box(made.boxes[region], box, way)
        mirrored = bool(np.linalg.det(matrix[:2, :2]) < 0)
        found[other] = Start(other, matrix, mirrored, float(best[row]))
        if len(found) >= most:
            break
    return list(found.values())


def _box_to_box(
    mine: npt.NDArray[np.int16], theirs: npt.NDArray[np.int16], way: int
) -> npt.NDArray[np.float64]:
    """Lay one box on the other in one of the eight ways of `turned_vectors`."""
    swap, across, down = way // 4, way // 2 % 2, way % 2
    left, top, right, bottom = mine.astype(float)
    to_unit = np.array(
        [
            [1 / (right - left), 0, -left / (right - left)],
            [0, 1 / (bottom - top), -top / (bottom - top)],
            [0, 0, 1],
        ]
    )
    turn = np.array([[0.0, 1, 0], [1, 0, 0], [0, 0, 1]]) if swap else np.eye(3)
    flip = np.array([[1.0 - 2 * across, 0, across], [0, 1.0 - 2 * down, down], [0, 0, 1]])
    left, top, right, bottom = theirs.astype(float)
    from_unit = np.array([[right - left, 0, left], [0, bottom - top, top], [0, 0, 1.0]])
    return np.asarray(from_unit @ flip @ turn @ to_unit)
