"""How far each cell lies from where the alignment puts it, to a fraction of a pixel.

An edited picture lies flat: once aligned, every cell lies in its place. Two real shots never do:
the eye has moved, the goods have moved, and near and far move apart. One step of least squares over
shift, gain and offset together (Lucas and Kanade, IJCAI 1981).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from extractors.photos.features import Floats

_RIDGE = 6.0  # grey levels squared a pixel: keeps cells that fix no shift at 0
_UNKNOWN = 2.0  # px, where hardly any cell tells
_USUAL = 0.3  # px off that copies show
_FARTHEST = 3.0  # px; a step of least squares says nothing beyond


@dataclass(frozen=True, slots=True, eq=False)
class Tones:
    """Means over cells: of the pictures a and b, and of their products."""

    a: Floats
    b: Floats
    aa: Floats
    bb: Floats
    ab: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """Means over cells: of the tones, of the slopes of a, and of products with these."""

    tones: Tones
    dx: Floats
    dy: Floats
    xx: Floats
    yy: Floats
    xy: Floats
    ax: Floats
    ay: Floats
    bx: Floats
    by: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Normal:
    """Per cell the normal equations of its shift: (xx, xy; xy, yy) (u, v) = (x, y), in slopes of a
    times `gain`; `fit` is the correlation after the shift, `rest` the variance that stays.
    """

    xx: Floats
    yy: Floats
    xy: Floats
    x: Floats
    y: Floats
    gain: Floats
    fit: Floats
    rest: Floats

    def chosen(self, cells: npt.NDArray[np.intp]) -> Normal:
        """Of some of the cells only, (n,)."""
        return Normal(
            self.xx.take(cells),
            self.yy.take(cells),
            self.xy.take(cells),
            self.x.take(cells),
            self.y.take(cells),
            self.gain.take(cells),
            self.fit.take(cells),
            self.rest.take(cells),
        )


def normal_of(m: Moments) -> Normal:
    """Set up the least squares over shift, gain and offset, and take gain and offset out."""
    t = m.tones
    a, x, y = t.aa - t.a**2, m.xx - m.dx**2, m.yy - m.dy**2
    ax, ay, xy = m.ax - t.a * m.dx, m.ay - t.a * m.dy, m.xy - m.dx * m.dy
    ba, bx, by = t.ab - t.a * t.b, m.bx - t.b * m.dx, m.by - t.b * m.dy
    b = np.maximum(t.bb - t.b**2, 0)
    zero = a + 1.0
    # take the part of b and of the slopes that a itself explains away, then solve two by two
    x, y, xy = x - ax * ax / zero, y - ay * ay / zero, xy - ax * ay / zero
    px, py = bx - ax * ba / zero, by - ay * ba / zero
    u, v = _solved(x + _RIDGE, y + _RIDGE, xy, px, py)
    gain = np.maximum((ba - u * ax - v * ay) / zero, 0.05)
    explained = ba * ba / zero + u * px + v * py
    fit = np.sqrt(np.clip(explained / (b + 0.5), 0, 1)) * np.sign(ba)
    return Normal(x, y, xy, px, py, gain, np.asarray(fit), np.maximum(b - explained, 0))


def _solved(x: Floats, y: Floats, xy: Floats, px: Floats, py: Floats) -> tuple[Floats, Floats]:
    det = np.maximum(x * y - xy * xy, 1e-3)
    return (y * px - xy * py) / det, (x * py - xy * px) / det


def shifts_of(n: Normal) -> tuple[Floats, Floats]:
    """Per cell: shift across and down in px of the pictures."""
    u, v = _solved(n.xx + _RIDGE, n.yy + _RIDGE, n.xy, n.x, n.y)
    across, down = (np.clip(side / n.gain, -_FARTHEST, _FARTHEST) for side in (u, v))
    return np.asarray(across), np.asarray(down)


def drift_of(m: Moments) -> tuple[Floats, Floats, Floats]:
    """Per cell: shift across and down in px of the pictures, and the correlation after it."""
    normal = normal_of(m)
    across, down = shifts_of(normal)
    return across, down, normal.fit


def unevenness(places: Floats, shifts: Floats, weights: Floats) -> tuple[float, float, Floats]:
    """(rms shift, rms of what no affinity explains), weighted and without the farthest tenth, and
    (n, 2) what the affinity leaves; in the unit of the shifts.

    `places` and `shifts` (n, 2), `weights` (n,). Where too few cells weigh, both are the farthest.
    """
    total = float(weights.sum())
    if (weights > 0).sum() < 3:
        return _UNKNOWN, _UNKNOWN, shifts
    plain = _rms(shifts, weights)
    if (weights > 0).sum() < 8:
        return plain, plain, shifts
    ones = np.ones((len(places), 1), np.float32)
    terms = np.concatenate([(places - places.mean(0)) / (np.ptp(places, axis=0) + 1), ones], 1)
    known = weights
    rest = shifts
    for _ in range(2):  # once more without the cells that lie far off
        weighted = terms * known[:, None]
        matrix = weighted.T @ terms + np.eye(3, dtype=np.float32) * 1e-3 * total
        rest = shifts - terms @ np.linalg.solve(matrix, weighted.T @ shifts)
        known = weights / (1 + (rest**2).sum(1) / _USUAL**2)
    return plain, _rms(rest, weights), rest


def _rms(shifts: Floats, weights: Floats) -> float:
    squares = (shifts**2).sum(1)
    order = np.argsort(squares)
    share = np.cumsum(weights[order]) / weights.sum()
    keep = order[share <= 0.9]
    kept = keep if len(keep) else order[:1]
    return float(np.sqrt((squares[kept] * weights[kept]).sum() / max(weights[kept].sum(), 1e-6)))
