"""From a rough similarity to the transformation that lays one photo over the other.

Features are matched near their predicted places, and a homography or an affinity is fitted.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from extractors.photos.candidates import Ints
from extractors.photos.features import LEVEL_FACTOR, MIRROR, Floats
from extractors.photos.fingerprint import Fingerprint

Matrix = npt.NDArray[Any]  # (3, 3), photo a -> photo b, px of the small grey pictures
_Bytes = npt.NDArray[np.uint8]

_GUIDED_PX = 11.0
_NEAR_PX = 8.0
_LEAST_AT_FIRST = 3
_LEAST_AT_LAST = 6
_TIGHT_PX = 2.0
_SOME = 3  # every third feature is matched first
_DIRECTIONS = np.arange(256.0)
_STEPS = np.concatenate([np.arange(16.0), np.arange(-16.0, 0)])  # between levels, by number
_NINE_PX = np.array([[0, 0], [9, 0], [0, 9]], np.float32)
LEAST_LIKENESS, VERY_LIKE = 0.86, 0.93
_PLACE, _PLACES = 64, 64  # px, more than there are in a row
_KEPT_TREES, _KEPT_DESCRIPTORS = 400, 2  # of 25 kB, of 300 kB
_NEIGHBOURS = 4
_LEAST_FOR_HOMOGRAPHY = 14
_LEAST_FOR_AFFINITY = 7


@dataclass(frozen=True, slots=True)
class Fit:
    """How well the matches within 2 px fit: their mean likeness (cosine), how many are very like,
    by how much their directions are off on average (1/256 turns), and over how many places of 64 px
    they lie.
    """

    likeness: float
    very_like: int
    turned: float
    places: int


NO_FIT = Fit(LEAST_LIKENESS, 0, 22.0, 0)


@dataclass(frozen=True, slots=True, eq=False)
class Alignment:
    """How photo a lies over photo b: `matrix`, and how well the local features agree with it.

    `matches` features lie near their predicted place and look alike, `tight` of them within 2 px;
    `expected` is the smaller number of features that either photo has in the common part; `fit`
    says how well the tight ones do.
    """

    matrix: Matrix
    mirrored: bool
    matches: int
    tight: int
    expected: int
    votes: float
    fit: Fit = NO_FIT


def _fit_similarity(p: Floats, q: Floats, mirrored: bool) -> Matrix:
    """Least squares (Umeyama, IEEE TPAMI 13(4), 1991), in complex numbers."""
    z = p[:, 0] + 1j * (-p[:, 1] if mirrored else p[:, 1])
    w = q[:, 0] + 1j * q[:, 1]
    z_mean, w_mean = z.mean(), w.mean()
    spread = float((np.abs(z - z_mean) ** 2).sum())
    factor = (np.conj(z - z_mean) * (w - w_mean)).sum() / max(spread, 1e-6)
    shift = w_mean - factor * z_mean
    c, s, flip = factor.real, factor.imag, -1.0 if mirrored else 1.0
    return np.array([[c, -s * flip, shift.real], [s, c * flip, shift.imag], [0, 0, 1]])


def apply(matrix: Matrix, points: Floats) -> npt.NDArray[np.float64]:
    """Send (n, 2) points through a homography; what lies infinitely far comes out as 0."""
    if not len(points):
        return np.zeros((0, 2))
    return np.asarray(cv2.perspectiveTransform(np.asarray(points, np.float64)[None], matrix)[0])


@dataclass(frozen=True, slots=True, eq=False)
class Begun:
    """A first round of matching, over every third feature: the better matrix, and how many
    features lie in the common part, match, and match within 2 px, and how well these fit.
    """

    matrix: Matrix
    mirrored: bool
    inside: int
    matches: int
    tight: int
    fit: Fit


@dataclass(frozen=True, slots=True, eq=False)
class Matches:
    """Features of photo a and of photo b, each used once, how alike they are (cosine), and how many
    of those that asked lie in the common part.
    """

    mine: Ints
    theirs: Ints
    likeness: Floats
    inside: int


def first_matches(a: Fingerprint, b: Fingerprint, start: Matrix, mirrored: bool) -> Matches:
    """Match every third feature near its predicted place."""
    seen = apply(start, a.points[::_SOME])
    return Matches(
        *_guided(a, b, _SOME, seen, start, mirrored, _GUIDED_PX), _count_inside(seen, b.size)
    )


def begin_with(a: Fingerprint, b: Fingerprint, first: Matches, mirrored: bool) -> Begun | None:
    """Fit to the first matches; None if there are too few."""
    if len(first.mine) < _LEAST_AT_FIRST:
        return None
    p, q = a.points[first.mine], b.points[first.theirs]
    matrix = _fit(p, q, mirrored, last=False)
    if matrix is None:
        return None
    near = _is_tight(p, q, matrix, scale_of(matrix, a.size))
    fit = _fit_of(
        a, b, first.mine[near], first.theirs[near], first.likeness[near], matrix, mirrored
    )
    return Begun(matrix, mirrored, first.inside, len(p), int(np.count_nonzero(near)), fit)


def begin(a: Fingerprint, b: Fingerprint, start: Matrix, mirrored: bool) -> Begun | None:
    """Match every third feature near its predicted place and fit again; None if too few match."""
    return begin_with(a, b, first_matches(a, b, start, mirrored), mirrored)


def refine(a: Fingerprint, b: Fingerprint, begun: Begun, votes: float) -> Alignment | None:
    """Match all features near their predicted places and fit again; None if too few match."""
    seen = apply(begun.matrix, a.points)
    mine, theirs, likeness = _guided(a, b, 1, seen, begun.matrix, begun.mirrored, _NEAR_PX)
    if len(mine) < _LEAST_AT_LAST:
        return None
    p, q = a.points[mine], b.points[theirs]
    matrix = _fit(p, q, begun.mirrored, last=True)
    if matrix is None:
        return None
    scale = scale_of(matrix, a.size)
    if not 1 / 12 < scale < 12:
        return None
    near = _is_tight(p, q, matrix, scale)
    fit = _fit_of(a, b, mine[near], theirs[near], likeness[near], matrix, begun.mirrored)
    tight, expected = int(np.count_nonzero(near)), _expected(a, b, matrix)
    return Alignment(matrix, begun.mirrored, len(p), tight, expected, votes, fit)


def _is_tight(p: Floats, q: Floats, matrix: Matrix, scale: float) -> npt.NDArray[np.bool_]:
    off = apply(matrix, p) - q
    apart = off[:, 0] ** 2 + off[:, 1] ** 2
    return np.asarray(apart < (_TIGHT_PX * max(1.0, scale)) ** 2)


def _fit_of(
    a: Fingerprint,
    b: Fingerprint,
    mine: Ints,
    theirs: Ints,
    likeness: Floats,
    matrix: Matrix,
    mirrored: bool,
) -> Fit:
    """How well matches fit that lie within 2 px."""
    if not len(mine):
        return NO_FIT
    own, other = a.angles[mine], b.angles[theirs]
    off = (other + own if mirrored else other - own) - _turn_of(matrix)
    turned = np.abs((off + 128) % 256 - 128)
    filled = np.bincount(_places_of(a)[mine])
    return Fit(
        float(likeness.sum() / len(likeness)),
        int(np.count_nonzero(likeness > VERY_LIKE)),
        float(turned.sum() / len(turned)),
        int(np.count_nonzero(filled)),
    )


@functools.lru_cache(maxsize=_KEPT_DESCRIPTORS)
def _places_of(made: Fingerprint) -> Ints:
    """(n,) the number of the place of 64 px where each feature lies."""
    columns, rows = (made.points / _PLACE).astype(np.intp).T
    return np.asarray(columns * _PLACES + rows)


def _turn_of(matrix: Matrix) -> float:
    """In 1/256 turns."""
    return math.atan2(matrix[1, 0], matrix[0, 0]) * (128 / math.pi)


def _count_inside(places: npt.NDArray[np.float64], size: tuple[int, int]) -> int:
    return int(np.count_nonzero(_is_inside(places, size, 0.0)))


def _is_inside(
    places: npt.NDArray[np.float64], size: tuple[int, int], around: float
) -> npt.NDArray[np.bool_]:
    x, y = places[:, 0], places[:, 1]
    width, height = size
    return np.asarray((x > -around) & (x < width + around) & (y > -around) & (y < height + around))


def _guided(
    a: Fingerprint,
    b: Fingerprint,
    every: int,
    seen: npt.NDArray[np.float64],
    matrix: Matrix,
    mirrored: bool,
    radius: float,
) -> tuple[Ints, Ints, Floats]:
    """Pairs of features, each used once, near each other after the move, and how alike they are.

    `seen` is where the matrix places every so manieth feature of a.
    """
    scale = scale_of(matrix, a.size)
    inside = np.flatnonzero(_is_inside(seen, b.size, radius))
    if not len(inside):
        return inside, inside, np.zeros(0, np.float32)
    chosen, seen = inside * every, seen[inside]
    limit = radius * max(1.0, scale)
    _, near = _tree_of(b).query(seen, k=_NEIGHBOURS, distance_upper_bound=limit)
    found = np.flatnonzero(near < len(b.points))  # where there are fewer, their number is named
    mine, theirs = chosen[found // _NEIGHBOURS], near.ravel()[found]
    keep = _is_consistent(a, b, mine, theirs, matrix, mirrored, scale)
    mine, theirs = mine[keep], theirs[keep]
    likeness = _likeness(a, b, mine, theirs, mirrored)
    alike = np.flatnonzero(likeness >= LEAST_LIKENESS)
    order = alike[np.argsort(-likeness[alike], kind="stable")]
    once = _once(mine[order], theirs[order], a, b)
    chosen = order[once]
    return mine[chosen], theirs[chosen], likeness[chosen]


@functools.lru_cache(maxsize=_KEPT_TREES)
def _tree_of(made: Fingerprint) -> cKDTree:
    """The places of its features, to be asked again when all features are matched."""
    return cKDTree(made.points, compact_nodes=False, balanced_tree=False)


@functools.lru_cache(maxsize=_KEPT_DESCRIPTORS)
def _descriptors_of(made: Fingerprint) -> tuple[_Bytes, _Bytes, Floats]:
    """All descriptors (n, 128), the same mirrored, and their squares (n,): one photo is matched
    with many others.
    """
    plain = _unpacked(made.packed)
    return plain, np.ascontiguousarray(plain[:, MIRROR]), _dots(plain, plain)


def _unpacked(packed: _Bytes) -> _Bytes:
    """(n, 64) packed descriptors -> (n, 128) numbers of 0 to 15, four bits in each byte."""
    wide = packed.astype("<u2")
    wide |= wide << 4
    wide &= 0x0F0F
    return wide.view(np.uint8)


def _dots(own: _Bytes, other: _Bytes) -> Floats:
    """(n,) float32 products of rows; products of two numbers up to 15 fit into a byte."""
    if not len(own):
        return np.zeros(0, np.float32)
    total = cv2.reduce(own * other, 1, cv2.REDUCE_SUM, dtype=cv2.CV_32S)
    return np.asarray(total[:, 0], np.float32)


def _once(mine: Ints, theirs: Ints, a: Fingerprint, b: Fingerprint) -> Ints:
    """The first pair of each feature, on both sides."""
    first = np.flatnonzero(_first_of(mine, len(a.points)))
    return first[_first_of(theirs[first], len(b.points))]


def _first_of(numbers: Ints, most: int) -> npt.NDArray[np.bool_]:
    """Which of the numbers have not come before."""
    rows = np.arange(len(numbers))
    place = np.empty(most, np.intp)
    place[numbers[::-1]] = rows[::-1]  # of equal numbers the last to be written is the first
    return np.asarray(place[numbers] == rows)


def scale_of(matrix: Matrix, size: tuple[int, int]) -> float:
    """How much larger a picture's middle becomes: the root of the determinant of the derivative."""
    (m00, m01, m02), (m10, m11, m12), (m20, m21, m22) = matrix.tolist()
    depth = m20 * size[0] / 2 + m21 * size[1] / 2 + m22
    determinant = (
        m00 * (m11 * m22 - m12 * m21)
        - m01 * (m10 * m22 - m12 * m20)
        + m02 * (m10 * m21 - m11 * m20)
    )
    return float(abs(determinant / max(abs(depth), 1e-6) ** 3) ** 0.5)


def _is_consistent(
    a: Fingerprint,
    b: Fingerprint,
    mine: Ints,
    theirs: Ints,
    matrix: Matrix,
    mirrored: bool,
    scale: float,
) -> npt.NDArray[np.bool_]:
    """Whether direction (within 30 degrees) and level (within two) of each pair fit the matrix."""
    turn = _turn_of(matrix)
    own, other = a.angles[mine], b.angles[theirs]
    off = other + own if mirrored else other - own  # whole turns are lost, as they should be
    steps = b.levels[theirs].astype(np.int8) - a.levels[mine].astype(np.int8)
    wanted = np.log(max(scale, 1e-6)) / np.log(LEVEL_FACTOR)
    fits = np.abs((_DIRECTIONS - turn + 128) % 256 - 128) < 22
    near = np.abs(_STEPS - wanted) < 1.8
    return np.asarray(fits[off] & near[steps])


def _likeness(a: Fingerprint, b: Fingerprint, mine: Ints, theirs: Ints, mirrored: bool) -> Floats:
    """Cosine between the descriptors of each pair."""
    plain, turned, squares = _descriptors_of(a)
    own, other = (turned if mirrored else plain)[mine], _unpacked(b.packed[theirs])
    length = np.sqrt(squares[mine] * _dots(other, other))
    return np.asarray(_dots(own, other) / np.maximum(length, np.float32(1e-6)))


def _fit(p: Floats, q: Floats, mirrored: bool, last: bool) -> Matrix | None:
    """Homography (`last` only), affinity or similarity, as the number of matches allows."""
    cv2.setRNGSeed(7)  # equal results in every process
    if last and len(p) >= _LEAST_FOR_HOMOGRAPHY:
        matrix, _ = cv2.findHomography(p, q, cv2.USAC_MAGSAC, 2.5, maxIters=300)
        if matrix is not None and _is_plausible(matrix, p):
            return np.asarray(matrix, np.float64)
    if len(p) >= _LEAST_FOR_AFFINITY:
        affine, _ = cv2.estimateAffine2D(
            p, q, method=cv2.RANSAC, ransacReprojThreshold=3.0, maxIters=200
        )
        if affine is not None:
            matrix = np.vstack([affine, [0, 0, 1]])
            if _is_plausible(matrix, p):
                return matrix
    fitted = _fit_similarity(p, q, mirrored)
    return fitted if _is_plausible(fitted, p) else None


def _is_plausible(matrix: Matrix, p: Floats) -> bool:
    """No fold, shear up to about 30 degrees, sides stretched by at most 1.6 to 1."""
    slanted = bool(matrix[2, 0] or matrix[2, 1])
    ux, uy, vx, vy = _sides(matrix, p) if slanted else matrix[:2, :2].T.ravel().tolist()
    long, short = sorted((9 * math.hypot(ux, uy), 9 * math.hypot(vx, vy)), reverse=True)
    if short < 0.5 or long / short > 1.6 or 81 * abs(ux * vx + uy * vy) / (long * short) > 0.5:
        return False
    if not slanted:
        return bool(matrix[2, 2] > 0)
    depth = p @ matrix[2, :2] + matrix[2, 2]
    return bool(depth.min() > max(0.3 * float(depth.max()), 0))


def _sides(matrix: Matrix, p: Floats) -> list[float]:
    """What becomes of 1 px across and 1 px down, measured over 9 px at the middle of p."""
    middle, across, down = apply(matrix, p.mean(0) + _NINE_PX).tolist()
    return [(side[i] - middle[i]) / 9 for side in (across, down) for i in (0, 1)]


def _expected(a: Fingerprint, b: Fingerprint, matrix: Matrix) -> int:
    """The smaller number of features either photo has in the part that both show."""
    try:
        back = np.linalg.inv(matrix)
    except np.linalg.LinAlgError:
        return 0
    counts = []
    for move, one, other in ((matrix, a, b), (back, b, a)):
        counts.append(_count_inside(apply(move, one.points), other.size))
    return min(counts)


def as_laid(a: Fingerprint, b: Fingerprint, start: Matrix, mirrored: bool) -> Alignment:
    """The alignment of two photos laid over each other without any features."""
    return Alignment(start, mirrored, 0, 0, _expected(a, b, start), 0.0)
