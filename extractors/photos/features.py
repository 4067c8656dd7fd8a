"""Local features of a grey picture: corners over an even grid and all scales, each described by
root gradient histograms (4 x 4 places, 8 directions).

The mirrored picture's descriptor is a mere permutation of the same numbers, so nothing is
extracted twice. Root histograms: Arandjelovic and Zisserman, "Three things everyone should know to
improve object retrieval", CVPR 2012. Layout of places and directions: Lowe, IJCV 60(2), 2004.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.decode import Pixels

Floats = npt.NDArray[Any]  # float32

LEVEL_FACTOR = 2**0.4  # between neighbouring pyramid levels
_SMALLEST_SIDE = 36
_GRID = 8
_BORDER = 9  # level pixels; a patch may reach beyond, the edge is replicated
_PATCH = 16
_SPACING = 1.75  # level pixels between the samples of a patch
_LEAST_RESPONSE = 2e-5
_DIRECTIONS = 8
_COARSER = 4  # levels between a corner and the one that gives its direction
_NEIGHBOURS = np.ones((5, 5), np.uint8)
_AT_ONCE = 64  # patches described together
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
    """(256, 16): how much each sample of a patch counts for each of the 4 x 4 places."""
    at = (np.arange(_PATCH) + 0.5) / _PATCH * 4 - 0.5
    near = np.maximum(0, 1 - np.abs(at[:, None] - np.arange(4)[None]))
    far = np.exp(-0.5 * ((at - 1.5) / 1.6) ** 2)
    weights = np.einsum("ya,xb->yxab", near * far[:, None], near * far[:, None])
    return np.asarray(weights.reshape(_PATCH * _PATCH, 16), np.float32)


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


def _corners(level: Pixels, wanted: int) -> Floats:
    """(n, 2) places of up to `wanted` maxima of the smaller eigenvalue (Shi and Tomasi 1994)."""
    response = cv2.cornerMinEigenVal(level, 5, ksize=3)
    inner = response[_BORDER:-_BORDER, _BORDER:-_BORDER]
    if not inner.size:
        return np.zeros((0, 2), np.float32)
    peak = cv2.dilate(inner, _NEIGHBOURS)
    is_top = cv2.compare(inner, np.maximum(peak, np.float32(_LEAST_RESPONSE)), cv2.CMP_GE)
    tops: Any = cv2.findNonZero(is_top)  # None where there is none
    if tops is None:
        return np.zeros((0, 2), np.float32)
    xs, ys = tops.reshape(-1, 2).T.astype(np.intp)
    chosen = _spread(xs + _BORDER, ys + _BORDER, inner[ys, xs], level.shape, wanted)
    return _subpixel(response, xs[chosen] + _BORDER, ys[chosen] + _BORDER)


def _subpixel(response: Floats, xs: npt.NDArray[np.intp], ys: npt.NDArray[np.intp]) -> Floats:
    """Move each maximum to the top of the parabola through its neighbours."""
    here = response[ys, xs]
    left, right = response[ys, xs - 1], response[ys, xs + 1]
    above, below = response[ys - 1, xs], response[ys + 1, xs]
    dx = (right - left) / np.maximum(2 * (2 * here - left - right), 1e-12)
    dy = (below - above) / np.maximum(2 * (2 * here - above - below), 1e-12)
    return np.stack([xs + np.clip(dx, -0.5, 0.5), ys + np.clip(dy, -0.5, 0.5)], 1).astype(
        np.float32
    )


def _spread(
    xs: npt.NDArray[np.intp],
    ys: npt.NDArray[np.intp],
    responses: Floats,
    shape: tuple[int, ...],
    wanted: int,
) -> npt.NDArray[np.intp]:
    """Indices of `wanted` corners: the best of every grid cell before the second of any."""
    if len(xs) <= wanted:
        return np.arange(len(xs))
    cell = ys * _GRID // shape[0] * _GRID + xs * _GRID // shape[1]
    order = np.argsort(-responses, kind="stable")
    ordered = cell[order].astype(np.uint8)
    by_cell = np.argsort(ordered, kind="stable")  # small integers: sorted by counting
    first = np.searchsorted(ordered[by_cell], np.arange(_GRID * _GRID))
    rank = np.empty(len(order), np.uint16)
    rank[by_cell] = np.arange(len(order)) - first[ordered[by_cell]]
    return np.asarray(order[np.argsort(rank, kind="stable")[:wanted]])


def _directions(levels: list[Pixels], index: int, places: Floats) -> Floats:
    """The direction (radians) of the gradient at each place, two and a half octaves coarser.

    The coarser pyramid level is the smoothed picture, so nothing is blurred anew.
    """
    coarse = min(index + _COARSER, len(levels) - 1)
    scale = LEVEL_FACTOR ** (index - coarse)
    at = np.asarray((places + 0.5) * scale - 0.5, np.float32)
    # two maps: OpenCV 5 takes an empty second map for one that is there, and reads beyond it
    across, down = np.ascontiguousarray(at[:, :1]), np.ascontiguousarray(at[:, 1:])
    sides = [cv2.Sobel(levels[coarse], cv2.CV_32F, *order) for order in ((1, 0), (0, 1))]
    dx, dy = (
        cv2.remap(side, across, down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)[:, 0]
        for side in sides
    )
    return np.asarray(np.arctan2(dy, dx))


def _patches(level: Pixels, places: Floats, angles: Floats) -> Floats:
    """(n, 18, 18): the surroundings of each place, turned so that its direction points along x."""
    cos, sin = np.cos(angles)[:, None, None], np.sin(angles)[:, None, None]
    across, down = _OFFSETS[None, None, :], _OFFSETS[None, :, None]
    map_x = places[:, 0, None, None] + cos * across - sin * down
    map_y = places[:, 1, None, None] + sin * across + cos * down
    side = _PATCH + 2
    flat = cv2.remap(
        level.astype(np.float32),
        map_x.reshape(-1, side),
        map_y.reshape(-1, side),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return flat.reshape(-1, side, side)


def _describe(patches: Floats) -> npt.NDArray[np.uint8]:
    """(n, 128) root histograms in steps of 1/48, 0 to 15.

    A few at a time: large arrays would be taken from the system anew for every photo.
    """
    parts = [_describe_some(patches[at : at + _AT_ONCE]) for at in range(0, len(patches), _AT_ONCE)]
    return np.concatenate(parts) if parts else np.zeros((0, 128), np.uint8)


def _describe_some(patches: Floats) -> npt.NDArray[np.uint8]:
    n = len(patches)
    dx = (patches[:, 1:-1, 2:] - patches[:, 1:-1, :-2]).reshape(-1)
    dy = (patches[:, 2:, 1:-1] - patches[:, :-2, 1:-1]).reshape(-1)
    steps = np.stack([dx, dy, np.sqrt(dx * dx + dy * dy)])
    parts = _PROJECT @ steps
    np.maximum(parts, 0, out=parts)
    pooled = (parts.reshape(_DIRECTIONS * n, _PATCH * _PATCH) @ _POOL).reshape(_DIRECTIONS, n, 16)
    histogram = pooled.transpose(1, 2, 0).reshape(n, 128)
    histogram /= np.maximum(histogram.sum(1, keepdims=True), 1e-9)
    root = np.sqrt(histogram) * _SCALE_OF_DESCRIPTOR
    return np.asarray(np.minimum(np.rint(root), LEVELS_OF_DESCRIPTOR), np.uint8)


def find_features(grey: Pixels, wanted: int) -> Features:
    """Up to `wanted` features of a grey picture (h, w) uint8; none for an empty-looking one."""
    levels = _pyramid(grey)
    usable = max(1, sum(min(level.shape) >= _SMALLEST_SIDE for level in levels))
    shares = np.array([LEVEL_FACTOR**-i for i in range(usable)])
    quota = np.rint(wanted * shares / shares.sum()).astype(int)
    found = [_of_level(levels, i, int(quota[i])) for i in range(usable)]
    points, angles, steps, descriptors = (np.concatenate(part) for part in zip(*found, strict=True))
    turned = np.rint(angles * (256 / (2 * np.pi))).astype(np.int64) % 256
    return Features(points, turned.astype(np.uint8), steps, descriptors)


def _of_level(
    levels: list[Pixels], index: int, wanted: int
) -> tuple[Floats, Floats, npt.NDArray[np.uint8], npt.NDArray[np.uint8]]:
    """Places, directions, levels and descriptors of the features of one level."""
    level = levels[index]
    places = _corners(level, wanted)
    if not len(places):
        empty = np.zeros((0, 128), np.uint8)
        return places, np.zeros(0, np.float32), np.zeros(0, np.uint8), empty
    angles = _directions(levels, index, places)
    patches = _patches(cv2.GaussianBlur(level, (5, 5), 1.0), places, angles)
    points = ((places + 0.5) * LEVEL_FACTOR**index - 0.5).astype(np.float32)
    return points, angles, np.full(len(places), index, np.uint8), _describe(patches)
