"""Small things laid over one of two copies: a stamp, a logo, an arrow too small for the cells.

Both grey pictures are laid over each other, the tone between them is taken out, and what is left
in one piece is told apart from what outlines and squeezing leave.
"""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.align import Matrix
from extractors.photos.decode import Pixels
from extractors.photos.features import Floats

_SIDE = 320  # px; the longer side of what is compared
_LEAST_OFF, _TIMES_USUAL = 22.0, 5.0  # grey levels; and so many times what is usual
_FORGIVEN = 0.9  # of the slope around: outlines laid a little askew differ as much
_LEAST_AREA, _MOST_AREA = 0.0006, 0.12  # of the common part
_ALL_OVER = 0.12  # in each of three quarters of the picture: shade, rounded corners, noise
_TONE, _STEPS = 16, 16  # grey levels taken as one, and how many such there are
_ENOUGH = 30  # px of such levels; fewer say nothing
_NEAR = np.ones((3, 3), np.uint8)
_JOIN = np.ones((9, 9), np.uint8)  # letters of a word are one thing
_EDGE = np.ones((7, 7), np.uint8)


def overprint_place(
    grey_a: Pixels, grey_b: Pixels, matrix: Matrix, polygon: Floats
) -> tuple[float, float] | None:
    """The middle, 0 to 1 of photo b, of what differs in one or few small pieces; None if nothing or
    too much does. `matrix` lays a over b, `polygon` outlines the common part in px of b.
    """
    height, width = grey_b.shape
    scale = min(1.0, _SIDE / max(height, width))
    size = (max(8, round(width * scale)), max(8, round(height * scale)))
    to_small = np.diag([size[0] / width, size[1] / height, 1.0])
    a = cv2.warpPerspective(grey_a, to_small @ matrix, size, flags=cv2.INTER_AREA)
    b = cv2.resize(grey_b, size, interpolation=cv2.INTER_AREA)
    inside = np.zeros(size[::-1], np.uint8)
    outline = polygon * (size[0] / width, size[1] / height)
    cv2.fillConvexPoly(inside, np.rint(outline).astype(np.int32), 1)
    inside = cv2.erode(inside, _EDGE, borderValue=0)
    off = _off(cv2.blur(a, (3, 3)), cv2.blur(b, (3, 3)), inside > 0)
    return None if off is None else _place(off, inside)


def _off(a: Pixels, b: Pixels, inside: npt.NDArray[np.bool_]) -> Pixels | None:
    """Where the two differ more than tone, outlines and noise explain."""
    if np.count_nonzero(inside) < 400:
        return None
    toned = _toned(a, b, inside)
    rest = np.abs(b.astype(np.float32) - toned)
    slopes = (cv2.morphologyEx(one, cv2.MORPH_GRADIENT, _NEAR) for one in (toned, b))
    steep = np.minimum(*(slope.astype(np.float32) for slope in slopes))
    least = max(_LEAST_OFF, _TIMES_USUAL * float(np.median(rest[inside])))
    return np.asarray((rest - _FORGIVEN * steep > least) & inside, np.uint8)


def _toned(a: Pixels, b: Pixels, inside: npt.NDArray[np.bool_]) -> Floats:
    """The picture a with the tones of b: for every few levels of a, the middle one of b there."""
    levels, seen = a[inside].astype(np.intp), b[inside]
    counts = np.bincount(levels // _TONE * 256 + seen, minlength=_STEPS * 256).reshape(_STEPS, 256)
    below = counts.cumsum(1)
    known = np.flatnonzero(below[:, -1] >= _ENOUGH)
    if len(known) < 2:
        return a.astype(np.float32)
    at = np.bincount(levels // _TONE, levels, minlength=_STEPS)[known] / below[known, -1]
    there = (below[known] < (below[known, -1:] + 1) // 2).sum(1).astype(np.float64)  # the medians
    dark, light = ((there[n + 1] - there[n]) / (at[n + 1] - at[n]) for n in (0, -2))
    ends = there[0] - dark * at[0], there[-1] + light * (255 - at[-1])
    curve = np.interp(np.arange(256), [0, *at, 255], [ends[0], *there, ends[1]])
    return np.asarray(curve[a], np.float32)


def _place(off: Pixels, inside: Pixels) -> tuple[float, float] | None:
    """The middle of the largest piece, if it is large enough and all pieces together small.

    Pieces at the very edge are shade or what lies beyond it.
    """
    count, pieces, stats, middles = cv2.connectedComponentsWithStats(
        cv2.morphologyEx(off, cv2.MORPH_CLOSE, _JOIN)
    )
    rim = inside > cv2.erode(inside, _EDGE, borderValue=0)
    areas = stats[:, cv2.CC_STAT_AREA].copy()
    areas[np.unique(pieces[rim])] = areas[0] = 0
    whole = int(inside.sum())
    if count < 2 or areas.max() < _LEAST_AREA * whole or areas.sum() > _MOST_AREA * whole:
        return None
    quarters = [
        part.sum() for half in np.array_split(off, 2) for part in np.array_split(half, 2, 1)
    ]
    if np.count_nonzero(np.array(quarters) > _ALL_OVER * off.sum()) > 2:
        return None
    across, down = middles[int(areas.argmax())]
    return float(across) / off.shape[1], float(down) / off.shape[0]
