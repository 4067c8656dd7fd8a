"""Lay two photos over each other to a fraction of a pixel, by the pixels of all cells together.

Few features, or features of few places, leave a copy a pixel or two off its place. Every cell says
how it would move (drift.py); one homography is fitted to what all cells say, edges included that
fix their place across only (Gauss-Newton over the cells' normal equations).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from extractors.photos.drift import Normal, shifts_of
from extractors.photos.features import Floats

_LEAST_FIT = 0.75  # cells that correlate less after their shift say nothing
_LEAST_CELLS = 4
_OUTLIER_PX = 0.7
_NOISE = 4.0  # grey levels squared; of a cell's mean of products, as neighbours are alike
_PRIOR_PX = np.array([2.0, 2.0, 2.0, 2.0, 2.0, 2.0, 0.7, 0.7])  # shift, affine, projective

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


def step_of(
    normal: Normal,
    valid: npt.NDArray[np.bool_],
    middles: Floats,
    kind: npt.NDArray[np.float64] = ANY,
) -> Matrix | None:
    """(3, 3) where each point of b is to be seen from in a; None if too few cells tell.

    `middles` (rows, columns, 2) of the cells, in px of the pictures that `normal` was made of;
    `kind` ANY or SIMILAR.
    """
    good = valid & (normal.fit > _LEAST_FIT)
    if good.sum() < _LEAST_CELLS:
        return None
    centre = middles[valid].mean(0)
    reach = float(np.abs(middles[valid] - centre).max())
    places = (middles[good] - centre) / reach
    terms = _terms(places) @ kind
    shifts = np.stack(shifts_of(normal), -1)[good]
    found = np.zeros(kind.shape[1])
    for _ in range(2):
        off = shifts - (terms @ found)
        trust = 1.0 / (1.0 + (off**2).sum(1) / _OUTLIER_PX**2)
        found = _solve(normal, good, terms, trust, kind.T @ np.diag(0.02 / _PRIOR_PX**2) @ kind)
    return _seen_from(kind @ found, centre, reach)


def _terms(places: Floats) -> npt.NDArray[np.float64]:
    """(n, 2, 8): what each of eight numbers does to the shift across and down at n places."""
    x, y = places.T.astype(np.float64)
    one, none = np.ones(len(x)), np.zeros(len(x))
    across = np.stack([one, x, y, none, none, none, x * x, x * y], 1)
    down = np.stack([none, none, none, one, x, y, x * y, y * y], 1)
    return np.stack([across, down], 1)


def _solve(
    normal: Normal,
    good: npt.NDArray[np.bool_],
    terms: npt.NDArray[np.float64],
    trust: npt.NDArray[np.float64],
    prior: npt.NDArray[np.float64],
) -> npt.NDArray[np.float64]:
    gain = normal.gain[good]
    weight = trust / (normal.rest[good] + _NOISE)
    squares = np.stack([normal.xx[good], normal.xy[good], normal.xy[good], normal.yy[good]], 1)
    squares = squares.reshape(-1, 2, 2) * (gain**2 * weight)[:, None, None]
    right = np.stack([normal.x[good], normal.y[good]], 1) * (gain * weight)[:, None]
    flat = terms.reshape(-1, terms.shape[2])
    left = flat.T @ (squares @ terms).reshape(flat.shape) + prior
    return np.asarray(np.linalg.solve(left, flat.T @ right.ravel()))


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
    x, y = centre / reach
    to = np.array([[1 / reach, 0, -x], [0, 1 / reach, -y], [0, 0, 1]])
    return np.asarray(np.linalg.inv(to) @ move @ to)
