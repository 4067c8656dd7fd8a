"""Cheap first looks at two photos, that turn away most of what only shares a few words: how well
the features match after each round (see gates.py), how the tiny pictures correlate when laid over
each other, and how the cells do at half the working size before anything is mended.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
import numpy.typing as npt

from extractors.photos.agreement import MOST_TEXTURE, PLAIN, Laid
from extractors.photos.align import Alignment, Begun, Matches, Matrix
from extractors.photos.candidates import Candidate
from extractors.photos.decode import Pixels
from extractors.photos.features import Floats
from extractors.photos.fingerprint import Fingerprint
from extractors.photos.gates import load_gate

_REDUCED = 8  # px of the grey picture to one px of the tiny one
_LEAST_OVERLAP = 24  # tiny px
_DETAIL = (9, 9)
_TO_GREY = np.array([[_REDUCED, 0, 3.5], [0, _REDUCED, 3.5], [0, 0, 1.0]])
_QUANTILES = (0.1, 0.25, 0.5, 0.75)
_TO_TINY = np.linalg.inv(_TO_GREY)


def begun_figures(candidate: Candidate, begun: Begun) -> list[float]:
    """What the gate `begun` weighs."""
    return _begun_figures(candidate, begun.matches, begun.tight, begun.inside)


def _begun_figures(candidate: Candidate, matches: int, tight: int, inside: int) -> list[float]:
    return [
        math.log(max(candidate.votes, 0.1)),
        candidate.agreeing / max(candidate.words, 1),
        math.log1p(candidate.agreeing),
        math.log1p(matches),
        math.log1p(tight),
        tight / max(matches, 1),
        matches / max(inside, 1),
        math.log1p(candidate.words),
        math.log(max(inside, 1)),
    ]


def aligned_figures(alignment: Alignment) -> list[float]:
    """What the gate `aligned` weighs."""
    return [
        math.log1p(alignment.matches),
        math.log1p(alignment.tight),
        alignment.matches / max(alignment.expected, 1),
        alignment.tight / max(alignment.matches, 1),
        math.log1p(alignment.expected),
    ]


def begun_odds(candidate: Candidate, begun: Begun) -> float:
    """Log-odds of a copy after the first round of matching."""
    return float(load_gate("begun").log_odds(np.array(begun_figures(candidate, begun))))


def begun_at_best(candidate: Candidate, first: Matches) -> float:
    """The most that `begun_odds` can become: that a match lies within 2 px never speaks against."""
    matches = len(first.mine)
    figures = _begun_figures(candidate, matches, matches, first.inside)
    return float(load_gate("begun").log_odds(np.array(figures)))


def aligned_odds(alignment: Alignment) -> float:
    """Log-odds of a copy by the matches alone."""
    return float(load_gate("aligned").log_odds(np.array(aligned_figures(alignment))))


def laid_figures(alignment: Alignment, laid: Laid) -> npt.NDArray[np.float64]:
    """What the gate `laid` weighs, and the squares: the figures of `aligned`, of how the photos lie
    and of the cells. Like goods lie upright, unmirrored, equally large; copies in any way.
    """
    lie = laid.lie
    figures = np.array(
        [
            *aligned_figures(alignment),
            math.log(max(1e-3, min(*lie.shares(), 1.0))),
            *_cell_figures(*laid.cells()),
            laid.seen.worth,
            abs(math.log(lie.scale())),
            float(alignment.mirrored),
            math.log(min(side for size in lie.sizes for side in size)),
        ]
    )
    return np.concatenate([figures, figures**2])


def _cell_figures(
    likeness: Floats, spread_a: Floats, spread_b: Floats, mean_a: Floats, mean_b: Floats
) -> list[float]:
    """Shares of the texture that agree well, better and badly, mean and quantiles; how alike the
    cells are in tone and texture, how many are textured, and how much the contrast varies.
    """
    low, high = np.minimum(spread_a, spread_b), np.maximum(spread_a, spread_b)
    texture = np.minimum(high, MOST_TEXTURE)
    textured = texture > PLAIN
    share = np.where(textured, texture, 0) + 1e-6
    share /= share.sum()
    order = np.argsort(likeness)
    below = np.searchsorted(np.cumsum(share[order]), _QUANTILES)
    contrast = np.log((spread_a + 1) / (spread_b + 1))
    varies = math.sqrt(float(share @ (contrast - share @ contrast) ** 2))
    return [
        float(share[likeness > 0.9].sum()),
        float(share[likeness > 0.97].sum()),
        float(share[likeness < 0.5].sum()),
        float(share @ likeness),
        *likeness[order[np.minimum(below, len(order) - 1)]].tolist(),
        _tone(mean_a, mean_b),
        float(share @ ((low + 1) / (texture + 1))),
        math.log1p(int(np.count_nonzero(textured))),
        varies,
    ]


def _tone(mean_a: Floats, mean_b: Floats) -> float:
    """Correlation of the cells' means; 0 where one picture is even."""
    if len(mean_a) < 3:
        return 0.0
    x, y = mean_a - mean_a.mean(), mean_b - mean_b.mean()
    xx, yy = float(x @ x), float(y @ y)
    if min(xx, yy) <= 0.5**2 * len(x):
        return 0.0
    return float(x @ y) / (math.sqrt(xx * yy) + 1e-3)


def laid_odds(alignment: Alignment, laid: Laid) -> float:
    """Log-odds of a copy by the matches and a first look at the cells."""
    return float(load_gate("laid").log_odds(laid_figures(alignment, laid)))


def tiny_of(made: Fingerprint) -> Pixels:
    """The grey picture at an eighth of its sides, uint8."""
    flat = np.frombuffer(made.grey_jpeg, np.uint8)
    return np.asarray(cv2.imdecode(flat, cv2.IMREAD_REDUCED_GRAYSCALE_8))


def likeness(tiny_a: Pixels, tiny_b: Pixels, matrix: Matrix) -> float:
    """Correlation over the common part, without what varies slowly, -1 to 1.

    `matrix` lays the grey picture of a over that of b. 0 if they hardly overlap.
    """
    a, b = tiny_a.astype(np.float32), tiny_b.astype(np.float32)
    move = _TO_TINY @ matrix @ _TO_GREY
    size = abs(float(np.linalg.det(move[:2, :2])))
    if not 1e-3 < size < 1e3:
        return 0.0
    if size < 1:  # look at both in the coarser one
        return _in_frame_of(a, b, move)
    return _in_frame_of(b, a, np.linalg.inv(move))


def _in_frame_of(a: Floats, b: Floats, move: Matrix) -> float:
    shrink = abs(float(np.linalg.det(move[:2, :2]))) ** 0.5
    while shrink < 0.6 and min(a.shape) > 8:
        size = (max(1, a.shape[1] // 2), max(1, a.shape[0] // 2))
        move = move @ np.diag([a.shape[1] / size[0], a.shape[0] / size[1], 1.0])
        a, shrink = cv2.resize(a, size, interpolation=cv2.INTER_AREA), shrink * 2
    seen = cv2.warpPerspective(
        a, move, b.shape[::-1], borderMode=cv2.BORDER_CONSTANT, borderValue=-1000
    )
    inside = seen >= 0
    if inside.sum() < _LEAST_OVERLAP:
        return 0.0
    filled = np.where(inside, seen, b)
    detail_a, detail_b = filled - cv2.blur(filled, _DETAIL), b - cv2.blur(b, _DETAIL)
    return _correlation(detail_a[inside], detail_b[inside])


def _correlation(x: Floats, y: Floats) -> float:
    x, y = x - x.mean(), y - y.mean()
    return float(x @ y / (np.sqrt(float(x @ x) * float(y @ y)) + 1e-3))
