"""Which pictures nobody could tell apart: almost empty ones, and those that repeat themselves.

Ribbed or striped pictures look the same wherever they are cut, and of a weave that vanishes at
viewing size nothing is left to compare. Recall is told with and without them.
"""

from __future__ import annotations

import cv2
import numpy as np

from extractors.photos.decode import Pixels
from extractors.photos.features import Floats

_SIDE, _CELL = 256, 24  # px
_SPREAD, _LEAST_SHOWN = 4.0, 0.15  # grey levels; share of cells
_COARSE = 12.0  # px; what is larger than this is no pattern
_NEAREST, _FARTHEST = 0.1, 0.5  # of either side: how far the picture is moved over itself
_REPEATS = 0.9  # correlation


def is_telling(grey: Pixels) -> bool:
    """Whether a grey picture shows something, and differs from itself when moved."""
    scale = _SIDE / max(grey.shape)
    size = (round(grey.shape[1] * scale), round(grey.shape[0] * scale))
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    return _shown(small) >= _LEAST_SHOWN and _likeness_when_moved(small) < _REPEATS


def _shown(small: Floats) -> float:
    """The share of cells with texture."""
    height, width = (side // _CELL * _CELL for side in small.shape)
    cells = small[:height, :width].reshape(height // _CELL, _CELL, width // _CELL, _CELL)
    return float((cells.std(axis=(1, 3)) > _SPREAD).mean())


def _likeness_when_moved(small: Floats) -> float:
    """The highest autocorrelation of the detail, more than a tenth of a side away."""
    height, width = small.shape
    window = np.outer(np.hanning(height), np.hanning(width))
    detail = small - cv2.GaussianBlur(small, (0, 0), _COARSE)
    likeness = _with_itself((detail - detail.mean()) * window)
    likeness /= np.maximum(_with_itself(window), 0.05 * (window**2).sum())
    down = np.abs(np.fft.fftfreq(2 * height, 1 / (2 * height)))[:, None] / height
    across = np.abs(np.fft.fftfreq(2 * width, 1 / (2 * width)))[None, :] / width
    moved = (np.maximum(down, across) > _NEAREST) & (down < _FARTHEST) & (across < _FARTHEST)
    return float(likeness[moved].max() / max(likeness[0, 0], 1e-9))


def _with_itself(picture: Floats) -> Floats:
    """Autocorrelation at every shift, by Fourier transform (Wiener and Khinchin)."""
    shape = (2 * picture.shape[0], 2 * picture.shape[1])
    return np.asarray(np.fft.irfft2(np.abs(np.fft.rfft2(picture, shape)) ** 2, shape))
