"""Local features of a grey picture: corners over an even grid and all scales, each described by
root gradient histograms (4 x 4 places, 8 directions).

The mirrored picture's descriptor is a mere permutation of the same numbers, so nothing is
extracted twice. Root histograms: Arandjelovic and Zisserman, "Three things everyone should know to
improve object retrieval", CVPR 2012. Layout of places and directions: Lowe, IJCV 60(2), 2004.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.decode import Pixels

Floats = npt.NDArray[Any]  # float32
Numbers = npt.NDArray[np.intp]

LEVEL_FACTOR = 2**0.4  # between neighbouring pyramid levels
_SMALLEST_SIDE = 36
_GRID = 8
_BORDER = 9  # level pixels; a patch may reach beyond, the edge is replicated
_PATCH = 16
_SPACING = 1.75  # level pixels between the samples of a patch
_LEAST_RESPONSE: Any = 2e-5  # a number where OpenCV's stubs only know arrays
_DIRECTIONS = 8
_COARSER = 4  # levels between a corner and the one that gives its direction
_NEIGHBOURS = np.ones((5, 5), np.uint8)
_AT_ONCE = 64  # patches described together
_INDEX_BITS = 22  # more corners than a pyramid above a picture of 512 x 512 has pixels
LEVELS_OF_DESCRIPTOR = 15  # descriptors are kept in 4 bits
_SCALE_OF_DESCRIPTOR = 48.0


@dataclass(frozen=True, slots=True)
class Features:
    """n features: `points` (n, 2) px of the picture, `angles` and `levels` (n,) uint8,
    `descriptors` (n, 128) uint8 of 0 to 15.
    """

    points: Floats
    angles: npt.NDArray[np.uint8]
    levels: npt.NDArray[np.uint8]
    descriptors: npt.NDArray[np.uint8]


def _mirror_order() -> npt.NDArray[np.intp]:
    """Places of a mirrored descriptor's numbers in the plain one: row y -> 3 - y, k -> -k."""
    y, x, k = np.meshgrid(np.arange(4), np.arange(4), np.arange(8), indexing="ij")
    order: npt.NDArray[np.intp] = ((3 - y) * 32 + x * 8 + (-k) % 8).reshape(-1)
    return order


MIRROR = _mirror_order()


def _pooling() -> Floats:
    """(288, 16): how much each sample of the 16 inner rows of a patch, which are 18 long, counts
    for each of the 4 x 4 places; the ends of the rows count nothing.
    """
    at = (np.arange(_PATCH) + 0.5) / _PATCH * 4 - 0.5
    near = np.maximum(0, 1 - np.abs(at[:, None] - np.arange(4)[None]))
    far = np.exp(-0.5 * ((at - 1.5) / 1.6) ** 2)
    weights = np.einsum("ya,xb->yxab", near * far[:, None], near * far[:, None])
    rows = np.pad(weights.reshape(_PATCH, _PATCH, 16), ((0, 0), (1, 1), (0, 0)))
    return np.asarray(rows.reshape(-1, 16), np.float32)


_POOL = _pooling()
_ANGLES = np.arange(_DIRECTIONS) * (2 * np.pi / _DIRECTIONS)
_PROJECT = np.stack(
    [np.cos(_ANGLES), np.sin(_ANGLES), np.full(_DIRECTIONS, -np.cos(np.pi / 4))], axis=1
).astype(np.float32)
_OFFSETS = (np.arange(_PATCH + 2, dtype=np.float32) - (_PATCH + 1) / 2) * _SPACING


def _pyramid(grey: Pixels) -> list[Pixels]:
    levels = [grey]
    height, width = grey.shape
    while min(levels[-1].shape) / LEVEL_FACTOR >= 12 and len(levels) < 14:
        scale = LEVEL_FACTOR ** len(levels)
        size = (round(width / scale), round(height / scale))
        levels.append(cv2.resize(levels[-1], size, interpolation=cv2.INTER_LINEAR))
    return levels


def _corners(levels: list[Pixels], quota: npt.NDArray[np.int64]) -> tuple[Floats, Numbers]:
    """(n, 2) places in the pixels of their level, and the level (n,) of each: maxima of the smaller
    eigenvalue (Shi and Tomasi 1994), up to `quota` of each level, in the order of the levels.
    """
    starts = np.concatenate([[0], np.cumsum([level.size for level in levels])])
    responses, is_top = np.empty(starts[-1], np.float32), np.zeros(starts[-1], np.bool_)
    for level, start in zip(levels, starts, strict=False):
        part = slice(start, start + level.size)
        _find_tops(level, responses[part], is_top[part])
    tops = np.flatnonzero(is_top)
    counts = np.diff(np.searchsorted(tops, starts))
    height, width = (np.repeat([level.shape[i] for level in levels], counts) for i in (0, 1))
    of_level = np.repeat(np.arange(len(levels)), counts)
    ys, xs = np.divmod(tops - starts[of_level], width)
    cell = (of_level * _GRID + ys * _GRID // height) * _GRID + xs * _GRID // width
    chosen = _spread(cell, responses[tops], counts, quota)
    tops, width, xs, ys = tops[chosen], width[chosen], xs[chosen], ys[chosen]
    return _subpixel(responses, tops, width, xs, ys), of_level[chosen]


def _find_tops(level: Pixels, response: Floats, is_top: npt.NDArray[np.bool_]) -> None:
    """Fill in the response at each pixel of a level, and whether it is the largest around."""
    whole = response.reshape(level.shape)
    cv2.cornerMinEigenVal(level, 5, dst=whole, ksize=3)
    inner = whole[_BORDER:-_BORDER, _BORDER:-_BORDER]
    if not inner.size:
        return
    peak = cv2.dilate(inner, _NEIGHBOURS)
    cv2.max(peak, _LEAST_RESPONSE, dst=peak)
    tops = is_top.reshape(level.shape)[_BORDER:-_BORDER, _BORDER:-_BORDER]
    np.greater_equal(inner, peak, out=tops)


def _subpixel(responses: Floats, tops: Numbers, width: Numbers, xs: Numbers, ys: Numbers) -> Floats:
    """Move each maximum to the top of the parabola through its neighbours."""
    around = np.stack([tops, tops - 1, tops + 1, tops - width, tops + width])
    here, left, right, above, below = responses[around]
    dx = (right - left) / np.maximum(2 * (2 * here - left - right), 1e-12)
    dy = (below - above) / np.maximum(2 * (2 * here - above - below), 1e-12)
    return np.stack([xs + np.clip(dx, -0.5, 0.5), ys + np.clip(dy, -0.5, 0.5)], 1).astype(
        np.float32
    )


def _spread(
    cell: Numbers, responses: Floats, counts: Numbers, quota: npt.NDArray[np.int64]
) -> Numbers:
    """Indices of up to `quota` corners of each level, whose `counts` follow each other: the best of
    every grid cell before the second of any; all of a level that has no more, as they come.
    """
    order = _by_cell(cell, responses)
    rank = _ranks(cell[order])
    chosen, start = [], 0
    for count, wanted in zip(counts.tolist(), quota.tolist(), strict=True):
        part = slice(start, start + count)
        if count <= wanted:
            chosen.append(np.arange(start, start + count))
        else:
            chosen.append(_best(order[part], rank[part], responses, wanted))
        start += count
    return np.concatenate(chosen)


def _by_cell(cell: Numbers, responses: Floats) -> Numbers:
    """Indices by cell, then falling response, then index: packed into one number each, which are
    sorted several times faster than by three keys.
    """
    falling = ~np.ascontiguousarray(responses).view(np.uint32)  # above 0 they order as their bits
    keys = cell.astype(np.uint64) << np.uint64(32) | falling
    keys = keys << np.uint64(_INDEX_BITS) | np.arange(len(cell), dtype=np.uint64)
    keys.sort()
    return (keys & np.uint64((1 << _INDEX_BITS) - 1)).astype(np.intp)


def _ranks(ordered: Numbers) -> Numbers:
    """How many of the same value stand before each of some sorted values."""
    at = np.arange(len(ordered))
    is_first = np.diff(ordered, prepend=-1) != 0
    return np.asarray(at - np.maximum.accumulate(np.where(is_first, at, 0)))


def _best(order: Numbers, rank: Numbers, responses: Floats, wanted: int) -> Numbers:
    """The `wanted` first of some corners by rank, then falling response, then index."""
    near = np.flatnonzero(rank <= np.partition(rank, wanted - 1)[wanted - 1])
    some = order[near]
    return np.asarray(some[np.lexsort((some, -responses[some], rank[near]))[:wanted]])


def _directions(coarse: Pixels, scale: float, places: Floats) -> Floats:
    """The direction (radians) of the gradient at each place, on a level two and a half octaves
    coarser: it is the smoothed picture, so nothing is blurred anew. `scale` is from the place's
    level to that one.
    """
    at = np.asarray((places + 0.5) * scale - 0.5, np.float32)
    # two maps: OpenCV 5 takes an empty second map for one that is there, and reads beyond it
    across, down = np.ascontiguousarray(at[:, :1]), np.ascontiguousarray(at[:, 1:])
    sides = [cv2.Sobel(coarse, cv2.CV_32F, *order) for order in ((1, 0), (0, 1))]
    dx, dy = (
        cv2.remap(side, across, down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)[:, 0]
        for side in sides
    )
    return np.asarray(np.arctan2(dy, dx))


def _patches(level: Floats, places: Floats, angles: Floats, out: Floats) -> None:
    """Fill in (n, 324): the 18 x 18 surroundings of each place, its direction along x."""
    cos, sin = np.cos(angles)[:, None, None], np.sin(angles)[:, None, None]
    across, down = _OFFSETS[None, None, :], _OFFSETS[None, :, None]
    map_x = places[:, 0, None, None] + cos * across - sin * down
    map_y = places[:, 1, None, None] + sin * across + cos * down
    cv2.remap(
        level,
        map_x.reshape(len(out), -1),
        map_y.reshape(len(out), -1),
        cv2.INTER_LINEAR,
        dst=out,
        borderMode=cv2.BORDER_REPLICATE,
    )


def _describe(patches: Floats) -> npt.NDArray[np.uint8]:
    """(n, 128) root histograms of (n, 18, 18) patches in steps of 1/48, 0 to 15.

    A few at a time: what they need stays near the processor.
    """
    pooled = np.empty((len(patches), 16, _DIRECTIONS), np.float32)
    for at in range(0, len(patches), _AT_ONCE):
        some = patches[at : at + _AT_ONCE]
        pooled[at : at + len(some)] = _pool(some).transpose(1, 2, 0)
    histogram = pooled.reshape(-1, 16 * _DIRECTIONS)
    histogram /= np.maximum(histogram.sum(1, keepdims=True), 1e-9)
    root = np.sqrt(histogram, out=histogram)
    root *= _SCALE_OF_DESCRIPTOR
    np.rint(root, out=root)
    return np.asarray(np.minimum(root, LEVELS_OF_DESCRIPTOR, out=root), np.uint8)


def _pool(patches: Floats) -> Floats:
    """(8, n, 16): how steep the patches are in each direction at each of the 4 x 4 places."""
    n, side = len(patches), _PATCH + 2
    flat = patches.reshape(n, -1)
    steps = np.empty((3, n, side * _PATCH), np.float32)
    dx, dy, length = steps
    # along whole rows; what is wrong at their ends counts nothing in _POOL
    np.subtract(flat[:, side + 1 : 1 - side], flat[:, side - 1 : -1 - side], out=dx)
    np.subtract(flat[:, 2 * side :], flat[:, : -2 * side], out=dy)
    np.multiply(dx, dx, out=length)
    length += dy * dy
    np.sqrt(length, out=length)
    parts = _PROJECT @ steps.reshape(3, -1)
    cv2.threshold(parts, 0, 0, cv2.THRESH_TOZERO, dst=parts)  # several times faster than maximum
    return np.asarray(parts.reshape(_DIRECTIONS * n, -1) @ _POOL).reshape(_DIRECTIONS, n, 16)


def find_features(grey: Pixels, wanted: int) -> Features:
    """Up to `wanted` features of a grey picture (h, w) uint8; none for an empty-looking one."""
    levels = _pyramid(grey)
    usable = max(1, sum(min(level.shape) >= _SMALLEST_SIDE for level in levels))
    shares = np.array([LEVEL_FACTOR**-i for i in range(usable)])
    quota = np.rint(wanted * shares / shares.sum()).astype(np.int64)
    places, of_level = _corners(levels[:usable], quota)
    angles, patches = _surroundings(levels, places, of_level)
    scale = np.array([LEVEL_FACTOR**i for i in range(usable)], np.float32)[of_level, None]
    turned = np.rint(angles * (256 / (2 * np.pi))).astype(np.int64) % 256
    return Features(
        points=((places + np.float32(0.5)) * scale - np.float32(0.5)).astype(np.float32),
        angles=turned.astype(np.uint8),
        levels=of_level.astype(np.uint8),
        descriptors=_describe(patches),
    )


def _surroundings(levels: list[Pixels], places: Floats, of_level: Numbers) -> tuple[Floats, Floats]:
    """Directions (n,) and turned surroundings (n, 18, 18) of places that come level by level."""
    angles = np.empty(len(places), np.float32)
    patches = np.empty((len(places), (_PATCH + 2) ** 2), np.float32)
    borders = np.searchsorted(of_level, np.arange(len(levels) + 1))
    for index, (start, end) in enumerate(pairwise(borders)):
        if start == end:
            continue
        part = slice(start, end)
        coarse = min(index + _COARSER, len(levels) - 1)
        angles[part] = _directions(levels[coarse], LEVEL_FACTOR ** (index - coarse), places[part])
        smooth = cv2.GaussianBlur(levels[index], (5, 5), 1.0).astype(np.float32)
        _patches(smooth, places[part], angles[part], patches[part])
    return angles, patches.reshape(-1, _PATCH + 2, _PATCH + 2)
