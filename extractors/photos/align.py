"""From shared words to the transformation that lays one photo over the other.

First a similarity that many word pairs agree on (each pair gives turn, scale and shift by itself),
then matches near their predicted places, then a homography or an affinity.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from extractors.photos.candidates import Candidate, Ints
from extractors.photos.features import LEVEL_FACTOR, MIRROR, Floats
from extractors.photos.fingerprint import Fingerprint, unpack

Matrix = npt.NDArray[Any]  # (3, 3), photo a -> photo b, px of the small grey pictures

_MOST_STARTS = 20
_ROUGH_PX = 14.0
_GUIDED_PX = 11.0
_TIGHT_PX = 2.0
_LEAST_LIKENESS = 0.86
_NEIGHBOURS = 4
_LEAST_FOR_HOMOGRAPHY = 14
_LEAST_FOR_AFFINITY = 7


@dataclass(frozen=True, slots=True, eq=False)
class Alignment:
    """How photo a lies over photo b: `matrix`, and how well the local features agree with it.

    `matches` features lie near their predicted place and look alike, `tight` of them within 2 px;
    `expected` is the smaller number of features that either photo has in the common part.
    """

    matrix: Matrix
    mirrored: bool
    matches: int
    tight: int
    expected: int
    votes: float


def rough_similarity(
    a: Fingerprint, b: Fingerprint, candidate: Candidate
) -> tuple[Matrix, int] | None:
    """The similarity that most word pairs agree on, and how many features of a do; or None."""
    mine, theirs = candidate.mine, candidate.theirs
    p, q = a.points[mine], b.points[theirs]
    starts = _similarities(a, b, candidate)[:: max(1, len(mine) // _MOST_STARTS)]
    seen = np.einsum("hij,nj->hni", starts[:, :, :2], p) + starts[:, None, :, 2]
    factor = np.hypot(starts[:, 0, 0], starts[:, 1, 0])
    limit = _ROUGH_PX * np.maximum(1.0, factor)
    near = ((seen - q) ** 2).sum(2) < (limit**2)[:, None]
    best = int(near.sum(1).argmax())
    keep = near[best]
    for _ in range(2):
        if len(np.unique(mine[keep])) < 3:
            return None
        fitted = _fit_similarity(p[keep], q[keep], candidate.mirrored)
        scale = max(1.0, float(np.hypot(fitted[0, 0], fitted[1, 0])))
        keep = ((_apply(fitted, p) - q) ** 2).sum(1) < (_ROUGH_PX * 0.7 * scale) ** 2
    count = min(len(np.unique(mine[keep])), len(np.unique(theirs[keep])))
    return (fitted, count) if count >= 3 else None


def _similarities(a: Fingerprint, b: Fingerprint, candidate: Candidate) -> Floats:
    """(n, 2, 3): the similarity that each word pair alone implies."""
    mine, theirs = candidate.mine, candidate.theirs
    own, other = a.angles[mine].astype(np.float32), b.angles[theirs].astype(np.float32)
    turn = (other + own if candidate.mirrored else other - own) * np.float32(2 * np.pi / 256)
    steps = b.levels[theirs].astype(np.float32) - a.levels[mine]
    factor = np.float32(LEVEL_FACTOR) ** steps
    cos, sin = factor * np.cos(turn), factor * np.sin(turn)
    flip = -1.0 if candidate.mirrored else 1.0
    linear = np.stack([np.stack([cos, -sin * flip], 1), np.stack([sin, cos * flip], 1)], 1)
    shift = b.points[theirs] - np.einsum("nij,nj->ni", linear, a.points[mine])
    return np.concatenate([linear, shift[:, :, None]], 2).astype(np.float32)


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


def _apply(matrix: Matrix, points: Floats) -> npt.NDArray[np.float64]:
    """Send (n, 2) points through a homography."""
    seen = points @ matrix[:, :2].T + matrix[:, 2]
    depth = np.where(np.abs(seen[:, 2:]) < 1e-6, 1e-6, seen[:, 2:])
    return np.asarray(seen[:, :2] / depth)


def apply(matrix: Matrix, points: Floats) -> npt.NDArray[np.float64]:
    """Send (n, 2) points through a homography."""
    return _apply(matrix, points)


def refine(
    a: Fingerprint, b: Fingerprint, start: Matrix, mirrored: bool, votes: float
) -> Alignment | None:
    """Match features near their predicted places and fit again, twice; None if too few match.

    The first round asks every third feature only, and gives up early.
    """
    tree = cKDTree(b.points)
    matrix = start
    mine = theirs = np.zeros(0, np.intp)
    for step, radius, least in ((3, _GUIDED_PX, 3), (1, 8.0, 6)):
        chosen = np.arange(0, len(a.points), step)
        mine, theirs = _guided(a, b, chosen, tree, matrix, mirrored, radius)
        if len(mine) < least:
            return None
        fitted = _fit(a.points[mine], b.points[theirs], mirrored, last=step == 1)
        if fitted is None:
            return None
        matrix = fitted
    scale = _scale(matrix, a)
    if not 1 / 12 < scale < 12:
        return None
    apart = np.sqrt(((_apply(matrix, a.points[mine]) - b.points[theirs]) ** 2).sum(1))
    tight = int((apart < _TIGHT_PX * max(1.0, scale)).sum())
    return Alignment(matrix, mirrored, len(mine), tight, _expected(a, b, matrix), votes)


def _guided(
    a: Fingerprint,
    b: Fingerprint,
    chosen: Ints,
    tree: cKDTree,
    matrix: Matrix,
    mirrored: bool,
    radius: float,
) -> tuple[Ints, Ints]:
    """Pairs of features, each used once, near each other after the move and alike."""
    scale = _scale(matrix, a)
    seen = _apply(matrix, a.points[chosen])
    inside = (seen > -radius).all(1) & (seen < np.array(b.size) + radius).all(1)
    chosen, seen = chosen[inside], seen[inside]
    if not len(chosen):
        return chosen, chosen
    limit = radius * max(1.0, scale)
    apart, near = tree.query(seen, k=_NEIGHBOURS, distance_upper_bound=limit)
    row, slot = np.nonzero(np.isfinite(apart))
    mine, theirs = chosen[row], near[row, slot]
    keep = _is_consistent(a, b, mine, theirs, matrix, mirrored, scale)
    mine, theirs = mine[keep], theirs[keep]
    likeness = _likeness(a, b, mine, theirs, mirrored)
    order = np.argsort(-likeness, kind="stable")
    order = order[likeness[order] >= _LEAST_LIKENESS]
    return _once(mine[order], theirs[order])


def _once(mine: Ints, theirs: Ints) -> tuple[Ints, Ints]:
    """Keep the first pair of each feature, on both sides."""
    _, first = np.unique(mine, return_index=True)
    first.sort()
    mine, theirs = mine[first], theirs[first]
    _, first = np.unique(theirs, return_index=True)
    first.sort()
    return mine[first], theirs[first]


def _scale(matrix: Matrix, a: Fingerprint) -> float:
    """How much larger the middle of a becomes."""
    middle = np.array(a.size, np.float32) / 2
    corners = _apply(matrix, middle + np.array([[0, 0], [8, 0], [0, 8]], np.float32))
    u, v = corners[1] - corners[0], corners[2] - corners[0]
    return float(abs(u[0] * v[1] - u[1] * v[0]) ** 0.5 / 8)


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
    turn = np.arctan2(matrix[1, 0], matrix[0, 0]) * 256 / (2 * np.pi)
    own = a.angles[mine].astype(np.float64)
    seen = turn - own if mirrored else turn + own
    off = (b.angles[theirs] - seen + 128) % 256 - 128
    steps = b.levels[theirs].astype(np.float64) - a.levels[mine]
    wanted = np.log(max(scale, 1e-6)) / np.log(LEVEL_FACTOR)
    return np.asarray((np.abs(off) < 22) & (np.abs(steps - wanted) < 1.8))


def _likeness(a: Fingerprint, b: Fingerprint, mine: Ints, theirs: Ints, mirrored: bool) -> Floats:
    """Cosine between the descriptors of each pair."""
    own, other = unpack(a.packed[mine]), unpack(b.packed[theirs])
    if mirrored:
        other = other[:, MIRROR]
    length = np.sqrt((own**2).sum(1) * (other**2).sum(1))
    return np.asarray((own * other).sum(1) / np.maximum(length, 1e-6))


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
    middle = p.mean(0)
    around = _apply(matrix, middle + np.array([[0, 0], [9, 0], [0, 9]], np.float32))
    u, v = around[1] - around[0], around[2] - around[0]
    long, short = sorted((float(np.hypot(*u)), float(np.hypot(*v))), reverse=True)
    if short < 0.5 or long / short > 1.6 or abs(float(u @ v)) / (long * short) > 0.5:
        return False
    depth = p @ matrix[2, :2] + matrix[2, 2]
    return bool((depth > 0.3 * depth.max()).all() and depth.min() > 0)


def _expected(a: Fingerprint, b: Fingerprint, matrix: Matrix) -> int:
    """The smaller number of features either photo has in the part that both show."""
    try:
        back = np.linalg.inv(matrix)
    except np.linalg.LinAlgError:
        return 0
    counts = []
    for move, one, other in ((matrix, a, b), (back, b, a)):
        seen = _apply(move, one.points)
        inside = (seen > 0).all(1) & (seen < np.array(other.size)).all(1)
        counts.append(int(inside.sum()))
    return min(counts)


def as_laid(a: Fingerprint, b: Fingerprint, start: Matrix, mirrored: bool) -> Alignment:
    """The alignment of two photos laid over each other without any features."""
    return Alignment(start, mirrored, 0, 0, _expected(a, b, start), 0.0)
