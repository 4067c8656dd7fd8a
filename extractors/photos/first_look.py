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
from extractors.photos.align import (
    LEAST_LIKENESS,
    VERY_LIKE,
    Alignment,
    Begun,
    Fit,
    Matches,
    Matrix,
    apply,
    scale_of,
)
from extractors.photos.candidates import Candidate
from extractors.photos.decode import Pixels
from extractors.photos.evidence import tone_of
from extractors.photos.features import Floats
from extractors.photos.fingerprint import Fingerprint
from extractors.photos.gates import load_gate

_REDUCED = 8  # px of the grey picture to one px of the tiny one
_LEAST_OVERLAP = 24  # tiny px
_DETAIL = (9, 9)
_TO_GREY = np.array([[_REDUCED, 0, 3.5], [0, _REDUCED, 3.5], [0, 0, 1.0]])
_QUANTILES = (0.1, 0.25, 0.5, 0.75)
_TO_TINY = np.linalg.inv(_TO_GREY)

Figures = npt.NDArray[np.float64]


def first_figures(candidate: Candidate, first: Matches) -> Figures:
    """What the gate `first` weighs: the figures of `shared`, and of every third feature matched."""
    matches = len(first.mine)
    alike = float(first.likeness.mean()) if matches else LEAST_LIKENESS
    more = (
        math.log1p(matches),
        math.log(max(1, first.inside)),
        matches / max(1, first.inside),
        alike,
        math.log1p(np.count_nonzero(first.likeness > VERY_LIKE)),
    )
    return np.concatenate([candidate.figures, more])


def begun_figures(candidate: Candidate, first: Figures, begun: Begun) -> Figures:
    """What the gate `begun` weighs: the figures of `first`, and how well a fit to it does; the last
    are by how far it moves the corners, and the scale.
    """
    corners = _corners(candidate.size)
    moved = apply(begun.matrix, corners) - apply(candidate.matrix, corners)
    scale = scale_of(begun.matrix, candidate.size)
    far = float(np.hypot(moved[:, 0], moved[:, 1]).mean()) / max(1.0, scale)
    more = (
        math.log1p(begun.tight),
        begun.tight / max(1, begun.matches),
        *_fit_figures(begun.fit),
        math.log(0.5 + far),
        abs(math.log(max(scale, 1e-3))),
    )
    return np.concatenate([first, more])


def _corners(size: tuple[int, int]) -> Figures:
    width, height = size
    return np.array([[0.0, 0], [width, 0], [0, height], [width, height]])


def _fit_figures(fit: Fit) -> tuple[float, float, float, float]:
    return fit.likeness, math.log1p(fit.very_like), fit.turned, math.log1p(fit.places)


def all_figures(begun: Figures, alignment: Alignment) -> Figures:
    """What the gate `all` weighs: the figures of `begun`, and of all features matched."""
    return np.concatenate([begun, aligned_figures(alignment), _fit_figures(alignment.fit)])


def seen_figures(before: Figures, alignment: Alignment, laid: Laid) -> Figures:
    """What the gate `seen` weighs: the figures of `all`, and of a first look at the pixels."""
    return np.concatenate([before, _laid_figures(alignment, laid)])


def odds(gate: str, figures: Figures) -> float:
    """Log-odds of a copy that a gate gives."""
    return float(load_gate(gate).log_odds(figures))


def aligned_figures(alignment: Alignment) -> list[float]:
    """What the gate `aligned` weighs."""
    return [
        math.log1p(alignment.matches),
        math.log1p(alignment.tight),
        alignment.matches / max(alignment.expected, 1),
        alignment.tight / max(alignment.matches, 1),
        math.log1p(alignment.expected),
    ]


def aligned_odds(alignment: Alignment) -> float:
    """Log-odds of a copy by the matches alone."""
    return odds("aligned", np.array(aligned_figures(alignment)))


def laid_figures(alignment: Alignment, laid: Laid) -> Figures:
    """What the gate `laid` weighs: how all features match, how the photos lie, how cells agree."""
    matched = (*aligned_figures(alignment), *_fit_figures(alignment.fit))
    return np.concatenate([matched, _laid_figures(alignment, laid)])


def _laid_figures(alignment: Alignment, laid: Laid) -> Figures:
    """How the photos lie, and how the cells agree."""
    lie = laid.lie
    return np.array(
        [
            math.log(max(1e-3, min(*lie.shares(), 1.0))),
            *_cell_figures(*laid.cells()),
            laid.seen.worth,
            abs(math.log(lie.scale())),
            float(alignment.mirrored),
            math.log(min(side for size in lie.sizes for side in size)),
        ]
    )


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
        tone_of(mean_a, mean_b),
        float(share @ ((low + 1) / (texture + 1))),
        math.log1p(int(np.count_nonzero(textured))),
        varies,
    ]


def laid_odds(alignment: Alignment, laid: Laid) -> float:
    """Log-odds of a copy by the matches and a first look at the cells."""
    return odds("laid", laid_figures(alignment, laid))


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
