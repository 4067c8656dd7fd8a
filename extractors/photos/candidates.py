"""Which pairs of photos are worth a closer look: votes of shared words, and like regions.

Every query word asks an inverted list; each answer votes for a photo, mirrored or not, with a turn
and a scale (weak geometric consistency: Jegou, Douze and Schmid, "Hamming embedding and weak
geometric consistency", ECCV 2008). Rare words are asked first, within a budget of answers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from extractors.photos.features import LEVEL_FACTOR, Floats
from extractors.photos.fingerprint import Fingerprint
from extractors.photos.gates import load_gate
from extractors.photos.regions import turned_vectors

Ints = npt.NDArray[np.intp]
_Complex = npt.NDArray[np.complex128]

_ENTRIES = 512  # of the codebook: a word is upper * 512 + lower
_TURNS = 16
_SCALES = 9  # steps of three pyramid levels each, the middle one is "same size"
_COLUMNS = _SCALES + 1  # the last stays empty
_LEVELS_PER_SCALE = 3
_PROBE_COSTS = 8  # times; a word that is only near is shared by far fewer copies
_ROUNDING = 1e-4  # of sums of votes
_FRACTION = 64.0  # places are kept in 1/64 px
_CELL = 96.0  # px; places of the query's middle are counted in cells of this size
_CELLS = 16
_LENGTH = 64  # of a region's vector
_NEAR_SHIFT = 2  # half cells
_LEAST_TO_FIT = 3
_LEAST_AGREEING = 4
_LEAST_FACTOR = 0.05
_LEAST_SHARE = 1 / 128
_SIDE_OF_GRID = (np.arange(8) + 0.5) / 8
_GRID = (_SIDE_OF_GRID[:, None] + 1j * _SIDE_OF_GRID).ravel()
# tables by number, negative ones counted from the end: of the difference of two directions,
_OFF = np.concatenate([np.arange(512), np.arange(-512, 0)])
_TURN_OF = _OFF % 256 * _TURNS // 256
_COS, _SIN = (of(_OFF.astype(np.float32) * np.float32(2 * np.pi / 256)) for of in (np.cos, np.sin))
_TOWARDS = np.exp(1j * (_OFF * (2 * np.pi / 256)))
_NEXT_TURN = np.isin(np.arange(2 * _TURNS) % _TURNS, (0, 1))  # of two turns,
_STEPS = np.concatenate([np.arange(16), np.arange(-16, 0)])  # and of two levels
_SCALE_OF = np.clip((_STEPS + 13) // _LEVELS_PER_SCALE, 0, _SCALES - 1)
_FACTOR = np.float32(LEVEL_FACTOR) ** _STEPS.astype(np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """Photo `other` may show what `query` shows: `words` are shared in one arrangement.

    `factor` and `shift` are the similarity, in complex numbers, on which `agreeing` features of the
    query agree (seen upside down where mirrored); `promise` is the log-odds of a copy that follow
    from the `figures` (see shared_figures); `size` is that of the query's grey picture.
    """

    query: int
    other: int
    mirrored: bool
    votes: float
    words: int
    agreeing: int
    promise: float
    factor: complex
    shift: complex
    figures: npt.NDArray[np.float64]
    size: tuple[int, int]

    @property
    def matrix(self) -> npt.NDArray[np.float64]:
        """(3, 3) px of the query -> px of `other`; most candidates are never asked for it."""
        flip = -1.0 if self.mirrored else 1.0
        factor, shift = self.factor, self.shift
        return np.array(
            [
                [factor.real, -factor.imag * flip, shift.real],
                [factor.imag, factor.real * flip, shift.imag],
                [0.0, 0.0, 1.0],
            ]
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Answers:
    """n answers: the asking feature, place in the index, number of the photo and way (mirrored or
    not), weight, and by how much the direction differs (1/256 turns). `names` (photo * 2 +
    mirrored) are listed by number.
    """

    mine: Ints
    at: Ints
    compact: Ints
    weight: Floats
    off: npt.NDArray[np.int16]
    names: Ints

    def chosen(self, keep: Ints) -> _Answers:
        """Some of the answers."""
        return _Answers(
            self.mine[keep],
            self.at[keep],
            self.compact[keep],
            self.weight[keep],
            self.off[keep],
            self.names,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Index:
    """Inverted lists over all features of all photos; answers in one list are in photo order.

    `sizes` (photos, 3): width and height of the grey picture, px, and number of features.
    `place` (n, 2) in 1/64 px; `vectors` (m, 64) of all regions with their photo (`owner`, rising)
    and number in the photo; `hashes` (photos, 4) are the 256 bits of the perceptual hash.
    """

    starts: Ints
    photo: npt.NDArray[np.int32]
    angle: npt.NDArray[np.uint8]
    level: npt.NDArray[np.uint8]
    place: npt.NDArray[np.uint16]
    owner: Ints
    region: Ints
    vectors: Floats
    hashes: npt.NDArray[np.uint64]
    sizes: npt.NDArray[np.int32]


def build_index(fingerprints: Sequence[Fingerprint]) -> Index:
    """Index the photos by their position in the sequence."""
    usable = [f if f.is_comparable else None for f in fingerprints]
    counts = [len(f.points) if f else 0 for f in usable]
    kept = [f for f in usable if f]
    words = np.concatenate([_words(f, 0, 2) for f in kept]) if kept else np.zeros(0, np.int32)
    order = np.argsort(words, kind="stable")
    photo = np.repeat(np.arange(len(counts), dtype=np.int32), counts)
    points = np.concatenate([f.points for f in kept] or [np.zeros((0, 2), np.float32)])
    lengths = np.bincount(words, minlength=_ENTRIES * _ENTRIES)
    empty = np.zeros(0, np.uint8)
    hashes = b"".join(bytes.fromhex(f.phash) for f in fingerprints)
    return Index(
        starts=np.concatenate([[0], np.cumsum(lengths)]),
        photo=photo[order],
        angle=np.concatenate([f.angles for f in kept] or [empty])[order],
        level=np.concatenate([f.levels for f in kept] or [empty])[order],
        place=np.rint(points[order] * _FRACTION).astype(np.uint16),
        owner=np.repeat(
            [i for i, f in enumerate(usable) if f], [len(f.boxes) for f in kept]
        ).astype(np.intp),
        region=np.concatenate([np.arange(len(f.boxes)) for f in kept] or [np.zeros(0, np.intp)]),
        vectors=np.concatenate(
            [f.vectors for f in kept] or [np.zeros((0, _LENGTH), np.int8)]
        ).astype(np.float32)
        / np.float32(127),
        hashes=np.frombuffer(hashes, np.uint64).reshape(-1, 4),
        sizes=np.array([(*f.size, len(f.points)) for f in fingerprints], np.int32).reshape(-1, 3),
    )


def save_index(index: Index, place: Path) -> None:
    """Write the arrays into a folder, from where other processes map them."""
    for field in fields(index):
        np.save(place / f"{field.name}.npy", getattr(index, field.name))


def load_index(place: Path) -> Index:
    """Map the arrays that `save_index` wrote."""
    mapped = (np.load(place / f"{field.name}.npy", mmap_mode="r") for field in fields(Index))
    return Index(*(np.asarray(array) for array in mapped))


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
    index: Index,
    made: Fingerprint,
    query: int,
    *,
    budget: int,
    floor: float,
    least: float,
    most: int,
) -> list[Candidate]:
    """Photos before `query` in the index that share words in one arrangement, most promising first.

    `floor` is the least of votes, `least` of promise. Votes fall from step to step, so a photo
    below the floor is dropped at the first step that shows it; the dear steps see few photos.
    """
    answers = _answers(index, made, query, budget, floor)
    answers = _in_best_turn(index, made, answers, floor)
    if not len(answers.mine):
        return []
    votes, place = _shift_votes(index, made, answers)
    answers = _often_enough(answers.chosen(np.flatnonzero(place <= _NEAR_SHIFT)), votes, floor)
    votes = votes[votes >= floor - _ROUNDING]
    order = np.argsort(answers.compact, kind="stable")
    answers = answers.chosen(order)
    edges = np.searchsorted(answers.compact, np.arange(len(answers.names) + 1))
    words = np.diff(edges)
    factor, shift, agreeing = _agreement(index, made, answers, edges)
    some = np.flatnonzero(agreeing >= _LEAST_AGREEING)
    names, factor, shift = answers.names[some], factor[some], shift[some]
    votes, words, agreeing = votes[some], words[some], agreeing[some]
    mirrored = names % 2 == 1
    sizes = index.sizes[names // 2]
    shares = _shares(made, sizes, mirrored, factor, shift)
    lies = np.stack([*shares, *_ways(factor), mirrored, np.log(sizes[:, 2])])
    figures = shared_figures(votes, words, agreeing, lies, len(made.points))
    promise = load_gate("shared").log_odds(figures)
    chosen = np.flatnonzero(promise >= least)
    chosen = chosen[np.lexsort((names[chosen], -promise[chosen]))][:most]
    return [
        Candidate(
            query,
            int(names[c] // 2),
            bool(mirrored[c]),
            float(votes[c]),
            int(words[c]),
            int(agreeing[c]),
            float(promise[c]),
            complex(factor[c]),
            complex(shift[c]),
            figures[c],
            made.size,
        )
        for c in chosen.tolist()
    ]


def _answers(index: Index, made: Fingerprint, query: int, budget: int, floor: float) -> _Answers:
    """The answers of photos before `query` that have votes enough, within the budget; `compact` is
    photo and way.
    """
    words, asking, mirrored = _asked(made)
    starts = index.starts[words]
    lengths = _ends_before(index, starts, index.starts[words + 1], query) - starts
    cost = lengths * np.tile(np.repeat([1, _PROBE_COSTS, _PROBE_COSTS], len(made.points)), 2)
    order = np.argsort(cost, kind="stable")
    order = order[np.searchsorted(cost[order], 1) :]
    order = order[: np.searchsorted(np.cumsum(lengths[order]), budget, side="right")]
    lengths, starts = lengths[order], starts[order]
    ends = np.cumsum(lengths)
    at = np.arange(int(ends[-1]) if len(ends) else 0) + np.repeat(starts - ends + lengths, lengths)
    row = np.repeat(np.arange(len(lengths)), lengths)
    name = index.photo[at] * 2
    name += mirrored[order].astype(name.dtype)[row]
    weights = (1.0 / np.log2(4.0 + lengths)).astype(np.float32)
    enough = np.bincount(name, weights[row], 2 * query) >= floor - _ROUNDING
    kept = np.flatnonzero(enough[name])
    number = np.cumsum(enough) - 1
    row, at, asking = row[kept], at[kept], asking[order]
    own = made.angles[asking].astype(np.int16) * np.where(mirrored[order], 1, -1).astype(np.int16)
    return _Answers(
        mine=asking[row],
        at=at,
        compact=number[name[kept]],
        weight=weights[row],
        off=index.angle[at] + own[row],
        names=np.flatnonzero(enough),
    )


def _ends_before(index: Index, low: Ints, high: Ints, query: int) -> Ints:
    """Where, in each list from `low` to `high`, the photos from `query` on begin."""
    low = low.copy()
    rows = np.flatnonzero(low < high)
    begin, end = low[rows], high[rows]
    while len(rows):
        middle = (begin + end) >> 1
        before = index.photo[middle] < query
        begin, end = np.where(before, middle + 1, begin), np.where(before, end, middle)
        low[rows] = begin
        left = np.flatnonzero(begin < end)
        if len(left) < len(rows):
            rows, begin, end = rows[left], begin[left], end[left]
    return low


def _often_enough(answers: _Answers, votes: Floats, floor: float) -> _Answers:
    """Only the answers of photos with votes enough; these are numbered anew."""
    enough = votes >= floor - _ROUNDING
    if enough.all():
        return answers
    kept = answers.chosen(np.flatnonzero(enough[answers.compact]))
    number = np.cumsum(enough) - 1
    return replace(kept, compact=number[kept.compact], names=answers.names[enough])


def _in_best_turn(index: Index, made: Fingerprint, answers: _Answers, floor: float) -> _Answers:
    """Only the answers in the turn and scale for which their photo has most votes."""
    key = answers.compact * _TURNS + _turn(answers)
    by_turn = _votes_by(key, answers, _TURNS)
    answers = _often_enough(answers, _with_next(by_turn).max(1), floor)
    turn, scale = _turn(answers), _scale(index, made, answers)
    key = (answers.compact * _TURNS + turn) * _COLUMNS + scale
    by_both = _votes_by(key, answers, _TURNS * _COLUMNS)
    votes = _with_next(by_both.reshape(-1, _TURNS, _COLUMNS)).reshape(-1)
    votes[:-1] += votes[1:]  # each scale and the next, where there is one
    votes[_SCALES::_COLUMNS] = -1.0
    flat = votes.reshape(-1, _TURNS * _COLUMNS)
    best = flat.argmax(1)
    turns = turn - (best // _COLUMNS)[answers.compact]
    scales = scale - (best % _COLUMNS)[answers.compact]
    near = np.flatnonzero(_NEXT_TURN[turns] & ((scales == 0) | (scales == 1)))
    return _often_enough(answers.chosen(near), flat[np.arange(len(flat)), best], floor)


def _with_next(by_turn: Floats) -> Floats:
    """(photos, turns, ...): the votes of each turn and of the next."""
    both = np.empty_like(by_turn)
    np.add(by_turn[:, :-1], by_turn[:, 1:], out=both[:, :-1])
    np.add(by_turn[:, -1], by_turn[:, 0], out=both[:, -1])
    return both


def _votes_by(key: Ints, answers: _Answers, cells: int) -> Floats:
    """(photos, cells): the summed weight of the answers of each key."""
    photos = len(answers.names)
    return np.asarray(np.bincount(key, answers.weight, photos * cells)).reshape(photos, cells)


def _turn(answers: _Answers) -> Ints:
    """The bin of turn that each answer votes for."""
    return np.asarray(_TURN_OF[answers.off])


def _scale(index: Index, made: Fingerprint, answers: _Answers) -> Ints:
    """The bin of scale that each answer votes for."""
    return np.asarray(_SCALE_OF[_steps(index, made, answers)])


def _steps(index: Index, made: Fingerprint, answers: _Answers) -> npt.NDArray[np.int8]:
    """How many levels of the pyramid lie between the features of each answer."""
    other = index.level[answers.at].astype(np.int8)
    return np.asarray(other - made.levels[answers.mine].astype(np.int8))


def _shift_votes(index: Index, made: Fingerprint, answers: _Answers) -> tuple[Floats, Ints]:
    """Each photo's votes for the best place of the query's middle, and each answer's distance
    from that place in cells.
    """
    x, y = _middle_seen(index, made, answers)
    best = np.zeros(len(answers.names), np.float32)
    at_x, at_y = np.zeros(len(best)), np.zeros(len(best))
    photos = np.arange(len(best))
    first = answers.compact * _CELLS**2
    across, down = (
        [np.clip(np.floor(side + d), 0, _CELLS - 1).astype(np.intp) for d in (0.0, 0.5)]
        for side in (x, y)
    )
    for dx, dy in ((0, 0), (1, 0), (0, 1), (1, 1)):
        votes = _votes_by(first + across[dx] * _CELLS + down[dy], answers, _CELLS**2)
        peak = votes.argmax(1)
        height = votes[photos, peak]
        better = height > best
        best[better] = height[better]
        at_x[better] = peak[better] // _CELLS + 0.5 - dx / 2
        at_y[better] = peak[better] % _CELLS + 0.5 - dy / 2
    far = np.maximum(np.abs(x - at_x[answers.compact]), np.abs(y - at_y[answers.compact]))
    return best, np.rint(far * 2).astype(np.intp)


def _middle_seen(
    index: Index, made: Fingerprint, answers: _Answers
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Where each answer places the middle of the query in the other photo, in cells."""
    mirrored = answers.names[answers.compact] % 2 == 1
    factor = _FACTOR[_steps(index, made, answers)]
    middle = np.array(made.size, np.float32) / 2
    dx, dy = (middle - made.points[answers.mine]).T
    dx, dy = factor * dx, np.where(mirrored, -dy, dy) * factor
    cos, sin = _COS[answers.off], _SIN[answers.off]
    place = index.place[answers.at] / np.float32(_FRACTION)
    x = place[:, 0] + cos * dx - sin * dy
    y = place[:, 1] + sin * dx + cos * dy
    width = _CELL * np.maximum(1.0, factor)
    return x / width + _CELLS / 2 - 2, y / width + _CELLS / 2 - 2


_CLOSER = (60.0, 30.0, 14.0, 10.0)  # px; what lies farther off is left out of the next fit


def _agreement(
    index: Index, made: Fingerprint, answers: _Answers, edges: Ints
) -> tuple[_Complex, _Complex, Ints]:
    """(photos,) factor and shift of the similarity on which most features agree, and how many
    features do; mirrored photos are seen upside down first.

    All photos at once: least squares in complex numbers (Umeyama, IEEE TPAMI 13(4), 1991), begun
    from the mean turn, scale and shift, and done again without what lies too far off.
    """
    group, starts = answers.compact, edges[:-1]
    flip = np.where(answers.names % 2 == 1, -1.0, 1.0)
    own = made.points[answers.mine].astype(np.float64)
    z: _Complex = own[:, 0] + 1j * own[:, 1] * flip[group]
    other = index.place[answers.at] / _FRACTION
    w: _Complex = other[:, 0] + 1j * other[:, 1]
    factor, shift = _mean_similarity(index, made, answers, z, w, starts)
    for limit in _CLOSER:
        near = _is_near(factor, shift, group, z, w, limit)
        factor, shift = _fit_again(factor, shift, group, z, w, near, starts)
    rows = np.flatnonzero(_is_near(factor, shift, group, z, w, _CLOSER[-1]))
    most = len(made.points)
    distinct = np.unique(group[rows] * most + answers.mine[rows])
    return factor, shift, np.bincount(distinct // most, minlength=len(starts))


def _shares(
    made: Fingerprint,
    sizes: npt.NDArray[np.int32],
    mirrored: npt.NDArray[np.bool_],
    factor: _Complex,
    shift: _Complex,
) -> tuple[Floats, Floats]:
    """(photos,) about how much of the query each photo shows, and how much of each photo the query
    shows: by a grid of places.
    """
    (width, height), across, down = made.size, sizes[:, :1], sizes[:, 1:2]
    factor, shift = factor[:, None], shift[:, None]
    turned = np.where(mirrored[:, None], np.conj(_GRID), _GRID)
    seen = factor * (turned.real * width + 1j * turned.imag * height) + shift
    mine = (seen.real > 0) & (seen.real < across) & (seen.imag > 0) & (seen.imag < down)
    back = (_GRID.real * across + 1j * _GRID.imag * down - shift) / factor
    y = np.where(mirrored[:, None], -back.imag, back.imag)
    theirs = (back.real > 0) & (back.real < width) & (y > 0) & (y < height)
    return mine.mean(1), theirs.mean(1)


def _ways(factor: _Complex) -> tuple[Floats, Floats, Floats]:
    """(photos,) how far from upright, how far from the next quarter turn (both in quarter turns),
    and how far from the same size (log).
    """
    turn = np.angle(factor) / (np.pi / 2)
    return np.abs(turn), np.abs(turn - np.rint(turn)), np.abs(np.log(np.abs(factor)))


def _mean_similarity(
    index: Index,
    made: Fingerprint,
    answers: _Answers,
    z: _Complex,
    w: _Complex,
    starts: Ints,
) -> tuple[_Complex, _Complex]:
    """(photos,) factor and shift of the similarity that each photo's answers imply on average."""
    steps = _steps(index, made, answers).astype(np.float64)
    count = np.diff(np.append(starts, len(z)))
    towards = np.add.reduceat(_TOWARDS[answers.off], starts)
    scale = LEVEL_FACTOR ** (np.add.reduceat(steps, starts) / count)
    factor = np.asarray(scale * towards / np.maximum(np.abs(towards), 1e-9), np.complex128)
    shift = np.add.reduceat(w - factor[answers.compact] * z, starts) / count
    return factor, np.asarray(shift, np.complex128)


def _is_near(
    factor: _Complex, shift: _Complex, group: Ints, z: _Complex, w: _Complex, limit: float
) -> npt.NDArray[np.bool_]:
    apart = np.abs(factor[group] * z + shift[group] - w)
    return np.asarray(apart < limit * np.maximum(1.0, np.abs(factor))[group])


def _fit_again(
    factor: _Complex,
    shift: _Complex,
    group: Ints,
    z: _Complex,
    w: _Complex,
    near: npt.NDArray[np.bool_],
    starts: Ints,
) -> tuple[_Complex, _Complex]:
    """Least squares over the answers that are near; where there are fewer than three, as before."""
    kept = near.astype(np.float64)
    count = np.add.reduceat(kept, starts)
    few = np.maximum(count, 1)
    z_mean, w_mean = (np.add.reduceat(values * kept, starts) / few for values in (z, w))
    dz, dw = (z - z_mean[group]) * kept, w - w_mean[group]
    spread = np.add.reduceat(dz.real**2 + dz.imag**2, starts)
    fitted = np.add.reduceat(np.conj(dz) * dw, starts) / np.maximum(spread, 1e-6)
    good = (count >= _LEAST_TO_FIT) & (np.abs(fitted) > _LEAST_FACTOR)
    return np.where(good, fitted, factor), np.where(good, w_mean - fitted * z_mean, shift)


def shared_figures(
    votes: Floats, words: Ints, agreeing: Ints, lies: Floats, features: int
) -> npt.NDArray[np.float64]:
    """(photos, 14): what the gate `shared` weighs. `lies` (7, photos): the shares of either photo
    that the other shows, how far from upright, from a quarter turn and from the same size, whether
    mirrored, and the log of the features.
    """
    mine, theirs, upright, quarter, size, mirrored, their_features = lies
    small, large = np.minimum(mine, theirs), np.maximum(mine, theirs)
    return np.stack(
        [
            np.log(np.maximum(votes, 0.1)),
            agreeing / np.maximum(words, 1),
            np.log1p(agreeing),
            np.log1p(words),
            votes / np.maximum(words, 1),
            np.log(np.maximum(small, _LEAST_SHARE)),
            np.log(np.maximum(large, _LEAST_SHARE)),
            size,
            mirrored,
            upright,
            quarter,
            np.full(len(votes), math.log(max(features, 1))),
            their_features,
            agreeing / np.maximum(mine * features, 1.0),
        ],
        axis=1,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Start:
    """A region of the query looks like one of `other`: `matrix` (3, 3) lays it there."""

    other: int
    matrix: npt.NDArray[np.float64]
    mirrored: bool
    likeness: float


def like_hashes(
    index: Index, fingerprints: Sequence[Fingerprint], query: int, *, most_bits: int, most: int
) -> list[Start]:
    """Photos before `query` whose 256-bit pHash (imagehash) differs in few bits, nearest first."""
    apart = np.bitwise_count(index.hashes[:query] ^ index.hashes[query]).sum(1, dtype=np.int64)
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
    best = likeness.max(0)
    at = np.flatnonzero(best >= least)
    at = at[np.lexsort((at, -best[at]))]
    found: dict[int, Start] = {}
    for row in at.tolist():
        other = int(index.owner[row])
        if other in found:
            continue
        way, region = divmod(int(likeness[:, row].argmax()), len(made.boxes))
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
