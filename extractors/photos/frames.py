"""Whether the edge of one photo is to be seen within the other: a picture put into a page, a
border or a collage, or shown on a screen, brings its edge along. Another shot of the thing never
does.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from extractors.photos.align import Matrix, apply
from extractors.photos.decode import Pixels

_POINTS = 24  # a side
_NEAR, _FAR = 2.5, 5.0  # px on either side of the edge
_MARGIN = 7.0  # px within the other photo
_STEP = 10.0  # grey levels

_UNIT = (np.arange(_POINTS) + 0.5) / _POINTS


def frame_seen(grey_a: Pixels, grey_b: Pixels, matrix: Matrix) -> float:
    """The share of the edge of photo a that is a step of grey in b, or of b in a: the larger.

    `matrix` lays a over b. Where the edge lies outside the other photo, nothing is seen.
    """
    return max(_seen(grey_a, grey_b, matrix), _seen(grey_b, grey_a, np.linalg.inv(matrix)))


def _seen(mine: Pixels, other: Pixels, matrix: Matrix) -> float:
    corners = apply(matrix, _corners(mine))
    ends = np.roll(corners, -1, axis=0)
    along = ends - corners
    length = np.linalg.norm(along, axis=1)
    if length.min() < 4 * _FAR:
        return 0.0
    turn = np.sign(along[0, 0] * along[1, 1] - along[0, 1] * along[1, 0])
    inward = np.stack([-along[:, 1], along[:, 0]], 1) * turn / length[:, None]
    points = corners[:, None] + along[:, None] * _UNIT[:, None]
    steps = _value(other, points, inward, 1) - _value(other, points, inward, -1)
    height, width = other.shape
    low, high = points.min(-1), (np.array([width, height]) - 1 - points).min(-1)
    inside = (low > _MARGIN) & (high > _MARGIN)
    weight = np.repeat(length[:, None] / length.sum() / _POINTS, _POINTS, axis=1)
    return float(weight[inside & (np.abs(steps) > _STEP)].sum())


def _value(
    grey: Pixels,
    points: npt.NDArray[np.float64],
    inward: npt.NDArray[np.float64],
    side: int,
) -> npt.NDArray[np.float64]:
    """(4, points): the mean grey level on one side of the edge."""
    height, width = grey.shape
    total = np.zeros(points.shape[:2])
    for off in (_NEAR, _FAR):
        at = np.rint(points + inward[:, None] * (side * off)).astype(np.intp)
        total += grey[at[..., 1].clip(0, height - 1), at[..., 0].clip(0, width - 1)]
    return total / 2


def _corners(grey: Pixels) -> npt.NDArray[np.float64]:
    height, width = grey.shape
    return np.array([[0, 0], [width - 1, 0], [width - 1, height - 1], [0, height - 1]], float)
