"""Geometry of the boxed lens (ISO 8624): what sizes of one frame can be true together.

a, b: boxed lens width and height; d: distance between lenses. All millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence


def boxed(outline: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Width and height of the rectangle that touches a lens shape on four sides (ISO 8624, cl. 3).

    >>> boxed([(-26, 0), (26, 0), (0, -19), (0, 19)])
    (52, 38)
    """
    across, up = zip(*outline, strict=True)
    return max(across) - min(across), max(up) - min(up)


def centre_distance(a: float, d: float) -> float:
    """Distance between boxed centres of a flat front: c = a + d.

    >>> centre_distance(52, 18)
    70
    """
    return a + d


def least_front_width(a: float, d: float) -> float:
    """What the full front must exceed: two lenses and the gap between them.

    >>> least_front_width(52, 18)
    122
    """
    return 2 * a + d


def diagonal_bounds(a: float, b: float) -> tuple[float, float]:
    """Bounds of the effective diameter: the longer side, and the box's diagonal.

    >>> diagonal_bounds(52, 38)[0], round(diagonal_bounds(52, 38)[1], 1)
    (52, 64.4)
    """
    return max(a, b), math.hypot(a, b)


def effective_diameter(outline: Sequence[tuple[float, float]]) -> float:
    """Twice the longest radius from the boxed centre.

    >>> round(effective_diameter([(-26, -19), (26, -19), (26, 19), (-26, 19)]), 1)
    64.4
    """
    across, up = zip(*outline, strict=True)
    x, y = (max(across) + min(across)) / 2, (max(up) + min(up)) / 2
    return 2 * max(math.hypot(px - x, py - y) for px, py in outline)
