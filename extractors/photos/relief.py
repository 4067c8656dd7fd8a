"""How alike two photos are once the contrast around every place is taken out.

Filters that make a picture crisp, or light it from all sides, change every grey level by what lies
around it: no tone curve explains that, but what is lighter than its surroundings stays lighter.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from extractors.photos.decode import Pixels
from extractors.photos.features import Floats

_AROUND = (9, 9)  # px
_FAINT = 1.5  # grey levels; a smaller spread is noise
_STRONG = 6.0  # more spread counts no more
_CELL = 12  # px
_LEAST_PX = 300


@dataclass(frozen=True, slots=True)
class Relief:
    """Correlation of what stands out from its surroundings: over all (`likeness`), and what a tenth
    and a quarter of the textured parts stay below.
    """

    likeness: float = 0.0
    low_tenth: float = 0.0
    low_quarter: float = 0.0


NOT_SEEN = Relief()


def relief_of(a: Floats, b: Floats, inside: Pixels) -> Relief:
    """Compare two softened pictures of one shape laid over each other."""
    if np.count_nonzero(inside) < _LEAST_PX:
        return NOT_SEEN
    (one, spread_a), (other, spread_b) = _standing_out(a), _standing_out(b)
    weight = np.minimum(np.minimum(spread_a, spread_b), _STRONG) * (inside > 0)
    ab, aa, bb, counted = (
        _by_cell(values)
        for values in (one * other * weight, one**2 * weight, other**2 * weight, weight)
    )
    total = float(aa.sum()) * float(bb.sum())
    if total <= 0:
        return NOT_SEEN
    cells = (ab / np.sqrt(aa * bb + 1e-3)).ravel()
    order = np.argsort(cells)
    reached = np.cumsum(counted.ravel()[order])
    low = (cells[order[np.searchsorted(reached, share * reached[-1])]] for share in (0.1, 0.25))
    return Relief(float(ab.sum()) / total**0.5, *(float(value) for value in low))


def _standing_out(values: Floats) -> tuple[Floats, Floats]:
    """How far every px is from the mean around it, in spreads, and the spread."""
    mean = cv2.blur(values, _AROUND)
    spread = np.sqrt(np.maximum(cv2.blur(values * values, _AROUND) - mean * mean, 0))
    return np.asarray((values - mean) / (spread + _FAINT)), np.asarray(spread)


def _by_cell(values: Floats) -> Floats:
    size = (max(1, values.shape[1] // _CELL), max(1, values.shape[0] // _CELL))
    return np.asarray(cv2.resize(values, size, interpolation=cv2.INTER_AREA))
