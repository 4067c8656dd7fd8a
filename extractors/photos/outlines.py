"""Whether each photo shows the outlines of the other, whatever was done to its tones.

What is laid over a picture, and what equalising or posterising does to its even parts, adds
outlines to one photo and takes none away: of a copy, at least one photo has all its outlines in the
other. Two shots of like things each have some of their own.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.features import Floats

Mask = npt.NDArray[np.bool_]

_STRONGEST = 0.15  # of the px, by slope, and
_LEAST_SLOPE, _LEAST_USUAL = 1.5, 0.4  # grey levels a px
_MOST = 4.0  # times the least that counts
_SAME = 0.5
_FEWEST, _LEAST_PX = 20, 300


@dataclass(frozen=True, slots=True)
class Outlines:
    """Shares of the strong slopes of a photo that run the same way in the other, 0 to 1: of the
    photo of which more are `kept`, and of which more are `lost` (the smaller share); `along` and
    `least_along` are the means of the cosine, drawn to 0 where the other is even.
    """

    kept: float = 0.5
    lost: float = 0.5
    along: float = 0.0
    least_along: float = 0.0


NOT_SEEN = Outlines()


def outlines_of(soft_a: Floats, soft_b: Floats, inside: Mask) -> Outlines:
    """Compare the slopes of two softened pictures of one shape laid over each other."""
    if inside.sum() < _LEAST_PX:
        return NOT_SEEN
    a, b = _slopes(soft_a), _slopes(soft_b)
    product = a[0] * b[0] + a[1] * b[1]
    one, other = _found(a[2], b[2], product, inside), _found(b[2], a[2], product, inside)
    return Outlines(
        max(one[0], other[0]), min(one[0], other[0]), max(one[1], other[1]), min(one[1], other[1])
    )


def _slopes(soft: Floats) -> tuple[Floats, Floats, Floats]:
    """Grey levels per px across and down, and the length of both."""
    across, down = (cv2.Sobel(soft, cv2.CV_32F, x, 1 - x, scale=1 / 8) for x in (1, 0))
    return across, down, cv2.magnitude(across, down)


def _found(mine: Floats, other: Floats, product: Floats, inside: Mask) -> tuple[float, float]:
    """Share of the strong slopes of the one with like ones in the other, and the mean cosine."""
    least = max(_LEAST_SLOPE, _quantile(mine, inside, 1 - _STRONGEST))
    strong = inside & (mine > least)
    slope = mine[strong]
    if len(slope) < _FEWEST:
        return 0.5, 0.0
    usual = max(_LEAST_USUAL, _quantile(other, inside, 0.5))
    cosine = product[strong] / (slope * (other[strong] + np.float32(usual)))
    weight = np.minimum(slope, _MOST * least)
    total = float(weight.sum())
    # a product of vectors would depend on where in memory they lie, in the last digits
    return float(weight[cosine > _SAME].sum()) / total, float((weight * cosine).sum()) / total


def _quantile(values: Floats, inside: Mask, share: float) -> float:
    """Of every ninth px; nothing is interpolated."""
    some = values[::3, ::3][inside[::3, ::3]]
    if not len(some):
        return 0.0
    at = min(int(share * len(some)), len(some) - 1)
    return float(np.partition(some, at)[at])
