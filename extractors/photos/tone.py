"""The tone curve between two photos laid over each other, whatever its shape.

Equalised, posterised, solarised or faded, an edited photo's grey levels still follow from those of
the original, one by one. Two shots of like things have no such curve, or a straight line.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.decode import Pixels
from extractors.photos.features import Floats

Mask = npt.NDArray[np.bool_]

_LEAST_PX = 400
_STRAIGHT_ENOUGH = 0.5  # of what a straight line leaves; a curve that leaves more is not worth it
_SMOOTH = (9, 1), 1.5  # grey levels over which a curve is smoothed
_PRIOR = 4.0  # px; levels hardly seen lie on the straight line
_LEVELS = 256


@dataclass(frozen=True, slots=True, eq=False)
class ToneCurve:
    """`levels` (256,) uint8 turns the grey levels of photo a (`of_a`) or b into the other's;
    `left` is the share of the other's variance that it does not explain.
    """

    levels: Pixels
    of_a: bool
    left: float

    def applied(self, grey: Pixels) -> Pixels:
        """A grey picture with other levels."""
        return np.asarray(cv2.LUT(grey, self.levels))


def tone_curve(a: Floats, b: Floats, inside: Mask) -> ToneCurve | None:
    """The better of both curves between pictures of one shape (0 to 255); None where a straight
    line does about as well.
    """
    x, y = a[inside], b[inside]
    if len(x) < _LEAST_PX:
        return None
    straight = _left(x, y)
    best = min((_curve(x, y, True), _curve(y, x, False)), key=lambda curve: curve.left)
    return best if best.left < _STRAIGHT_ENOUGH * straight else None


def _left(x: Floats, y: Floats) -> float:
    """The share of the variance of y that a straight, rising line over x leaves unexplained."""
    dx, dy = x - x.mean(), y - y.mean()
    both = max(float(dx @ dy), 0.0)
    return 1 - both**2 / max(float(dx @ dx) * float(dy @ dy), 1e-6)


def _curve(x: Floats, y: Floats, of_a: bool) -> ToneCurve:
    """The mean of y at each level of x, smoothed."""
    level = np.clip(np.rint(x), 0, _LEVELS - 1).astype(np.intp)
    count, total = np.bincount(level, minlength=_LEVELS), np.bincount(level, y, _LEVELS)
    dx = x - x.mean()
    slope = float(dx @ y) / max(float(dx @ dx), 1e-6)
    line = y.mean() + slope * (np.arange(_LEVELS) - x.mean())
    mean = (_smooth(total) + _PRIOR * line) / (_smooth(count) + _PRIOR)
    levels = np.clip(np.rint(mean), 0, 255).astype(np.uint8)
    return ToneCurve(levels, of_a, _left(levels[level].astype(np.float32), y))


def _smooth(values: npt.NDArray[np.generic]) -> Floats:
    size, spread = _SMOOTH
    return np.asarray(cv2.GaussianBlur(values.astype(np.float32)[None], size, spread)[0])
