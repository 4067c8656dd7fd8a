"""Parts of a picture that may be pictures of their own, and a small DCT vector of each.

The whole, the whole without its plain border, and the blocks left by cutting along blank gutters
and long straight edges (page captures, collages, frames).
"""

from __future__ import annotations

from itertools import pairwise

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.decode import Pixels
from extractors.photos.features import Floats

Box = tuple[int, int, int, int]  # left, top, right, bottom; right and bottom excluded

MOST_REGIONS = 8
_BLANK_SPREAD = 5.0  # grey levels; a line that varies less is blank
_LEAST_SIDE = 28  # px at half size
_LEAST_SHARE = 0.03
_STEP = 12  # grey levels between neighbouring lines
_LONG_SHARE = 0.75  # of a line that is a step


def find_regions(grey: Pixels) -> tuple[Box, ...]:
    """The whole first, then the trimmed whole, then inner blocks, largest first.

    Borders and gutters are sought at half size.
    """
    height, width = grey.shape
    half = cv2.resize(grey, (width // 2, height // 2), interpolation=cv2.INTER_AREA)
    whole = (0, 0, width, height)
    found = _find_in(np.asarray(half))
    inner: list[Box] = [
        (2 * b[0], 2 * b[1], min(2 * b[2], width), min(2 * b[3], height)) for b in found
    ]
    return (whole, *dict.fromkeys(box for box in inner if box != whole))[:MOST_REGIONS]


def _find_in(grey: Pixels) -> tuple[Box, ...]:
    height, width = grey.shape
    whole = (0, 0, width, height)
    trimmed = _trim(grey, whole)
    blocks = sorted(set(_cut(grey, trimmed, 4)) - {whole, trimmed}, key=lambda b: (-_area(b), b))
    found = [
        whole,
        *([trimmed] if _is_usable(trimmed, whole) and trimmed != whole else []),
        *blocks,
    ]
    return tuple(found)


def _area(box: Box) -> int:
    return (box[2] - box[0]) * (box[3] - box[1])


def _is_usable(box: Box, whole: Box) -> bool:
    sides = (box[2] - box[0], box[3] - box[1])
    return min(sides) >= _LEAST_SIDE and _area(box) >= _LEAST_SHARE * _area(whole)


def _blank_rows(part: Pixels) -> npt.NDArray[np.bool_]:
    """Which rows of the part hardly vary; sums of squares are exact up to 258 pixels a row."""
    values = part.astype(np.float32)
    mean = values.sum(1) / np.float64(part.shape[1])
    square = np.einsum("ij,ij->i", values, values) / np.float64(part.shape[1])
    return np.asarray(square - mean**2 < _BLANK_SPREAD**2)


def _trim(grey: Pixels, box: Box) -> Box:
    left, top, right, bottom = box
    part = grey[top:bottom, left:right]
    rows, columns = (np.flatnonzero(~_blank_rows(side)) for side in (part, part.T))
    if not len(rows) or not len(columns):
        return box
    return (
        left + int(columns[0]),
        top + int(rows[0]),
        left + int(columns[-1]) + 1,
        top + int(rows[-1]) + 1,
    )


def _cut(grey: Pixels, box: Box, depth: int) -> list[Box]:
    """The usable blocks of a box, cut along rows or columns and then again."""
    whole = (0, 0, grey.shape[1], grey.shape[0])
    if depth == 0 or not _is_usable(box, whole):
        return []
    pieces = _pieces(grey, box)
    if len(pieces) < 2:
        return [box]
    inner = [_trim(grey, piece) for piece in pieces if _is_usable(piece, whole)]
    return [block for piece in inner for block in _cut(grey, piece, depth - 1)]


def _pieces(grey: Pixels, box: Box) -> list[Box]:
    left, top, right, bottom = box
    part = grey[top:bottom, left:right]
    rows = _cuts(part)
    if rows:
        edges = [0, *rows, bottom - top]
        return [(left, top + a, right, top + b) for a, b in pairwise(edges)]
    edges = [0, *_cuts(np.ascontiguousarray(part.T)), right - left]
    return [(left + a, top, left + b, bottom) for a, b in pairwise(edges)]


def _cuts(part: Pixels) -> list[int]:
    """Where to cut between rows: the middle of blank gutters, and long straight edges."""
    height, width = part.shape
    blank = np.flatnonzero(_blank_rows(part))
    runs = np.split(blank, np.flatnonzero(np.diff(blank) > 1) + 1) if len(blank) else []
    gutters = [int(run[len(run) // 2]) for run in runs if len(run) >= 2]
    steps = np.count_nonzero(cv2.absdiff(part[1:], part[:-1]) > _STEP, axis=1)
    long = np.flatnonzero(steps > _LONG_SHARE * width) + 1
    edges = [int(row) for row in long if 12 < row < height - 12]
    found: list[int] = []
    for at in sorted(gutters + edges):
        if 0 < at < height and (not found or at - found[-1] >= 4):
            found.append(at)
    return found


def describe_regions(grey: Pixels, boxes: tuple[Box, ...]) -> npt.NDArray[np.int8]:
    """(m, 8, 8) int8: lowest DCT frequencies of each box but the mean, unit length times 127."""
    out = np.zeros((len(boxes), 8, 8), np.float32)
    for at, (left, top, right, bottom) in enumerate(boxes):
        part = cv2.resize(
            grey[top:bottom, left:right], (32, 32), interpolation=cv2.INTER_AREA
        ).astype(np.float32)
        out[at] = cv2.dct(part)[:8, :8]
    out[:, 0, 0] = 0
    length = np.sqrt((out**2).sum((1, 2), keepdims=True))
    return np.asarray(np.rint(out / np.maximum(length, 1e-6) * 127), np.int8)


def turned_vectors(vectors: Floats) -> Floats:
    """(8, m, 64): the vectors of the pictures turned and mirrored in the eight ways.

    Mirroring changes the sign of odd frequencies; swapping the axes transposes the matrix.
    """
    sign = np.where(np.arange(8) % 2, -1.0, 1.0).astype(np.float32)
    square = vectors.reshape(-1, 8, 8)
    ways = []
    for base in (square, square.transpose(0, 2, 1)):
        for across in (None, sign[None, None, :]):
            for down in (None, sign[None, :, None]):
                way = base if across is None else base * across
                ways.append((way if down is None else way * down).reshape(-1, 64))
    return np.stack(ways)
