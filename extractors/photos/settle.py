"""Lay two photos over each other to a fraction of a pixel, by the pixels of all cells together.

Few features, or features of few places, leave a copy a pixel or two off its place. Every cell says
how it would move (drift.py); one homography is fitted to what all cells say, edges included that
fix their place across only (Gauss-Newton over the cells' normal equations).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from extractors.photos.drift import Normal, shifts_of
from extractors.photos.features import Floats

_LEAST_FIT = 0.75  # cells that correlate less after their shift say nothing
_LEAST_CELLS = 4
_OUTLIER_PX = 0.7
_NOISE = 4.0  # grey levels squared; of a cell's mean of products, as neighbours are alike
_PRIOR_PX = np.array([2.0, 2.0, 2.0, 2.0, 2.0, 2.0, 0.7, 0.7])  # shift, affine, projective
_PRIOR = np.diag(0.02 / _PRIOR_PX**2)

Matrix = npt.NDArray[np.float64]


ANY = np.eye(8)
SIMILAR = np.array(  # of shift, affine and projective only shift, turn and scale
    [
        [1, 0, 0, 0, 0, 0, 0, 0],
        [0, 0, 0, 1, 0, 0, 0, 0],
        [0, 1, 0, 0, 0, 1, 0, 0],
        [0, 0, -1, 0, 1, 0, 0, 0],
    ],
    float,
).T


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """The n valid cells of two pictures: which they are, by number in `cells`; the middle of all
    and how far they reach, px; and (n, 8) what each of eight numbers does to the shift `across` and
    `down` at each of them.
    """

    valid: npt.NDArray[np.bool_]
    cells: npt.NDArray[np.intp]
    centre: Floats
    reach: float
    across: npt.NDArray[np.float64]
    down: npt.NDArray[np.float64]


def places_of(valid: npt.NDArray[np.bool_], middles: Floats) -> Places:
    """`middles` (rows, columns, 2) of the cells, in px of the pictures."""
    found = middles[valid]
    centre = found.mean(0)
    reach = float(np.abs(found - centre).max())
    x, y = ((found - centre) / reach).T.astype(np.float64)
    across, down = np.zeros((len(x), 8)), np.zeros((len(x), 8))
    across[:, 0], across[:, 1], across[:, 2], across[:, 6], across[:, 7] = 1, x, y, x * x, x * y
    down[:, 3], down[:, 4], down[:, 5], down[:, 6], down[:, 7] = 1, x, y, x * y, y * y
    return Places(valid, np.flatnonzero(valid), centre, reach, across, down)


def step_of(normal: Normal, places: Places, kind: npt.NDArray[np.float64] = ANY) -> Matrix | None:
    """(3, 3) where each point of b is to be seen from in a; None if too few cells tell.

    `kind` ANY or SIMILAR.
    """
    good = np.flatnonzero(normal.fit.take(places.cells) > _LEAST_FIT)
    if len(good) < _LEAST_CELLS:
        return None
    told = normal.chosen(places.cells[good])
    across, down = places.across[good] @ kind, places.down[good] @ kind
    shift_across, shift_down = shifts_of(told)
    prior = kind.T @ _PRIOR @ kind
    found = np.zeros(kind.shape[1])
    for _ in range(2):
        off = (shift_across - across @ found) ** 2 + (shift_down - down @ found) ** 2
        found = _solve(told, across, down, 1.0 / (1.0 + off / _OUTLIER_PX**2), prior)
    return _seen_from(kind @ found, places.centre, places.reach)


def _solve(
    n: Normal,
    across: npt.NDArray[np.float64],
    down: npt.NDArray[np.float64],
    trust: npt.NDArray[np.float64],
    prior: npt.NDArray[np.float64],
) -> npt.NDArray[np.float64]:
    """The least squares over all cells, each by its own normal equations."""
    weight = n.gain * trust / (n.rest + _NOISE)
    xx, xy, yy = (n.gain * weight * side for side in (n.xx, n.xy, n.yy))
    left = across.T @ (across * xx[:, None] + down * xy[:, None]) + prior
    left += down.T @ (across * xy[:, None] + down * yy[:, None])
    right = (n.x * weight) @ across + (n.y * weight) @ down
    return np.asarray(np.linalg.solve(left, right))


def nearest_similarity(matrix: Matrix, shape: tuple[int, ...]) -> Matrix:
    """The similarity, mirrored or not, that sends to a picture of this shape what `matrix` does."""
    height, width = shape
    seen = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    back = np.concatenate([seen, np.ones((4, 1))], 1) @ np.linalg.inv(matrix).T
    points = back[:, :2] / back[:, 2:]
    flip = np.sign(np.linalg.det(matrix / matrix[2, 2]))
    z, w = points @ (1, 1j * flip), seen @ (1, 1j)
    c = np.vdot(z - z.mean(), w - w.mean()) / np.vdot(z - z.mean(), z - z.mean())
    shift = w.mean() - c * z.mean()
    return np.array(
        [[c.real, -c.imag * flip, shift.real], [c.imag, c.real * flip, shift.imag], [0, 0, 1]]
    )


def _seen_from(found: npt.NDArray[np.float64], centre: Floats, reach: float) -> Matrix:
    a, b = found[:3] / reach, found[3:6] / reach
    g, h = found[6:] / reach
    move = np.array([[1 + a[1], a[2], a[0]], [b[1], 1 + b[2], b[0]], [-g, -h, 1.0]])
    x, y = centre.tolist()
    to = np.array([[1 / reach, 0, -x / reach], [0, 1 / reach, -y / reach], [0, 0, 1]])
    back = np.array([[reach, 0, x], [0, reach, y], [0, 0, 1]])
    return np.asarray(back @ move @ to)
