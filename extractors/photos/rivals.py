"""Where both of two photos show something, and not the same: other goods on one page, table or
still, other figures in one chart.

What an edit lays over a picture hides a small part of it, or differs from what lies around it. A
large part in one piece that differs, textured in both photos, is something else in its place.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.features import Floats

Mask = npt.NDArray[np.bool_]

_DIFFERS = 0.5  # correlation
_SHOWS = 3.0  # grey levels of spread; more in both photos is something in both


@dataclass(frozen=True, slots=True)
class Rivals:
    """`share` of the texture that differs and is something in both photos; `block` and `other` are
    the largest piece of such cells, and of all that differ, as a share of the cells.
    """

    share: float = 0.0
    block: float = 0.0
    other: float = 0.0


def rivals_of(likeness: Floats, lower: Floats, weights: Floats, places: Floats) -> Rivals:
    """Of n cells: correlation, the smaller spread of both photos in grey levels, how much each
    counts (what counts nothing is left out), and (n, 2) row and column.
    """
    counted = weights > 0
    cells = int(np.count_nonzero(counted))
    if not cells:
        return Rivals()
    differs = counted & (likeness < _DIFFERS)
    both = differs & (lower > _SHOWS)
    share = float(weights[both].sum() / weights.sum())
    return Rivals(share, *(_largest(places[one]) / cells for one in (both, differs)))


def _largest(places: Floats) -> int:
    """How many cells the largest piece has; cells side by side or below each other touch."""
    if not len(places):
        return 0
    at = places.astype(np.intp)
    grid = np.zeros(at.max(0) + 1, np.uint8)
    grid[at[:, 0], at[:, 1]] = 1
    sizes = cv2.connectedComponentsWithStats(grid, connectivity=4)[2][1:, cv2.CC_STAT_AREA]
    return int(sizes.max())
