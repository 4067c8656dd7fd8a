"""Named figures of one pair of photos: what the pair model weighs, and nothing else."""

from __future__ import annotations

import math
from dataclasses import astuple, dataclass

import numpy as np
import numpy.typing as npt

from extractors.photos.agreement import (
    MOST_TEXTURE,
    Agreement,
    Ground,
    Shade,
    cell_middles,
    weights_of_cells,
)
from extractors.photos.align import Alignment, apply
from extractors.photos.drift import unevenness
from extractors.photos.features import Floats
from extractors.photos.outlines import Outlines
from extractors.photos.relief import Relief
from extractors.photos.rivals import rivals_of
from extractors.photos.specks import Specks

Mask = npt.NDArray[np.bool_]  # (n,) over the cells of a pair

FIGURES = (
    "tight",  # log of the matches within 2 px
    "tight_share",  # of the matches
    "match_share",  # of the features that the common part could match
    "agree",  # share of the texture in cells that correlate above .9
    "agree_well",  # above .97
    "disagree",  # below .5
    "mean_coarse",
    "mean_fine",
    "low_quarter",  # the correlation that a quarter of the texture stays below
    "high_quarter",
    "agreeing",  # log of the amount of texture that correlates above .9, in full cells
    "tone",  # correlation of the cells' means
    "plain",  # correlation of the finest detail over the plain cells
    "tone_off",  # log of how far the cells' means lie from a straight line: the median
    "tone_far",  # and the upper tenth
    "overlap",  # log of the smaller share of either picture
    "balance",  # how alike the texture of both is, 0 to 1
    "ground_same",  # share of the border of the common part that is textured and agrees
    "ground_other",  # and that is textured and does not
    "ground_dust",  # correlation of the finest detail, outlines left out, in the border
    "dust",  # and in the whole common part
    "drift",  # log of how far the cells lie off their places, in working px, an affinity apart
    "shift",  # log of how far they lie off, all in all
    "moved_agree",  # share of the texture that correlates above .9 after its shift
    "moved_well",  # above .97
    "moved_other",  # below .5
    "in_place",  # share of the texture that agrees within .35 px of its place
    "grain",  # correlation between the outlines: of the finest detail,
    "faint",  # of faint detail,
    "shade",  # and of soft shades
    "grain_spread",  # and the smaller spread of each, log of grey levels
    "faint_spread",
    "shade_spread",
    "cells",  # log of how many cells are compared
    "specks",  # correlation at small marks,
    "specks_marked",  # log of how many px they have
    "compared",  # log of the px that were compared for marks
    "noise",  # correlation of the noise where nothing is to be seen,
    "noise_sure",  # log of the same in standard errors,
    "noise_spread",  # log of the smaller spread there, grey levels
    "bend",  # log of how far the matrix is from an affinity, in working px,
    "unlike",  # and from a similarity (neither counts where the edge of a screen is to be seen)
    "framed",  # share of the edge of either photo that is seen in the other, where it is bent
    "kept",  # share of the strong slopes of a photo that run alike in the other: the larger one
    "lost",  # and the smaller one of the two photos,
    "along",  # and the mean cosine there, likewise
    "least_along",
    "covered",  # log of the larger share of either picture that is common to both
    "relief",  # correlation once the contrast around every place is taken out,
    "relief_tenth",  # and what a tenth of the texture stays below,
    "relief_quarter",  # and a quarter
    "rival",  # share of the texture that differs where both photos show something,
    "rival_block",  # its largest piece, share of the cells,
    "other_block",  # and the largest piece of all that differs
)
_LEAST_MOVED = 0.5  # cells that correlate less say nothing of where they lie
_IN_PLACE = 0.35  # working px
_LEAST_TEXTURE = 2.2
_WORKING_SIDE = 256.0
_LEAST_SHAPE, _BENT, _FLAT = 4, 3.0, 0.03  # cells, log px where there are fewer, px
_FRAMED = 0.3, 0.5  # share of the edge from which a bend counts less, and nothing


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """What is kept of the n textured cells of one pair, float16.

    Correlations at both blurs, texture, corners, balance of texture, sharpness and means of either
    photo (2, n), and the middle of each cell in px of a and of b (n, 2).
    `levels` are the means before a tone curve was taken out.
    """

    coarse: Floats
    fine: Floats
    texture: Floats
    corners: Floats
    drift: Floats
    moved: Floats
    places: Floats
    balance: Floats
    sharpness: Floats
    means: Floats
    in_a: Floats
    in_b: Floats
    plain: float
    tone_off: tuple[float, float]
    ground: Ground
    shade: Shade
    specks: Specks
    outlines: Outlines
    framed: float
    levels: Floats
    relief: Relief


def cells_of(agreement: Agreement) -> Cells:
    """Flatten the valid textured cells and place them in both photos."""
    chosen = (agreement.texture > _LEAST_TEXTURE)[agreement.valid]
    in_a, in_b = cell_middles(agreement)

    def kept(values: Floats) -> Floats:
        return np.asarray(values[agreement.valid][chosen], np.float16)

    low = np.minimum(agreement.texture_a, agreement.texture_b)
    return Cells(
        coarse=kept(agreement.coarse),
        fine=kept(agreement.fine),
        texture=kept(agreement.texture),
        corners=kept(agreement.corners),
        drift=np.stack([kept(agreement.drift[0]), kept(agreement.drift[1])]),
        moved=kept(agreement.moved),
        places=np.stack(np.nonzero(agreement.valid), 1)[chosen].astype(np.uint8),
        balance=kept((low + 1) / (agreement.texture + 1)),
        sharpness=np.stack([kept(agreement.sharp_a), kept(agreement.sharp_b)]),
        means=np.stack([kept(agreement.means_a), kept(agreement.means_b)]),
        in_a=np.clip(in_a[chosen], -9999, 9999).astype(np.float16),
        in_b=np.clip(in_b[chosen], -9999, 9999).astype(np.float16),
        plain=agreement.plain,
        tone_off=agreement.tone_off,
        ground=agreement.ground,
        shade=agreement.shade,
        specks=agreement.specks,
        outlines=agreement.outlines,
        framed=agreement.framed,
        levels=np.stack([kept(agreement.levels_a), kept(agreement.levels_b)]),
        relief=agreement.relief,
    )


def weights_of(cells: Cells) -> Floats:
    """How much each of the kept cells counts."""
    return weights_of_cells(cells.texture.astype(np.float32), cells.corners.astype(np.float32))


def figures_of(
    alignment: Alignment,
    shares: tuple[float, float],
    cells: Cells,
    mask: Mask | None = None,
) -> Floats:
    """(len(FIGURES),) figures of two photos laid over each other; masked cells count nothing."""
    weights = weights_of(cells)
    if mask is not None:
        weights = np.where(mask, np.float32(0), weights)
    share = weights / max(float(weights.sum()), 1e-6)
    coarse, fine = cells.coarse.astype(np.float32), cells.fine.astype(np.float32)
    better = np.maximum(coarse, fine)
    quarters = _weighted_quantiles(better, weights, (0.25, 0.75))
    amount = float(weights[better > 0.9].sum()) / MOST_TEXTURE
    return np.array(
        [
            np.log1p(alignment.tight),
            alignment.tight / max(alignment.matches, 1),
            alignment.matches / max(alignment.expected, 1),
            share[better > 0.9].sum(),
            share[better > 0.97].sum(),
            share[better < 0.5].sum(),
            (share * coarse).sum(),
            (share * fine).sum(),
            quarters[0],
            quarters[1],
            np.log1p(amount),
            tone_of(*cells.means.astype(np.float32)),
            cells.plain,
            np.log1p(cells.tone_off[0]),
            np.log1p(cells.tone_off[1]),
            np.log(max(1e-3, min(*shares, 1.0))),
            (share * cells.balance).sum(),
            cells.ground.same,
            cells.ground.other,
            cells.ground.dust,
            cells.ground.dust_all,
            *_drift_figures(cells, weights, share),
            *cells.shade.likeness,
            *(np.log(spread + 0.1) for spread in cells.shade.strength),
            np.log1p(float((weights > 0).sum())),
            cells.specks.likeness,
            np.log1p(cells.specks.marked),
            np.log1p(cells.specks.compared),
            cells.specks.noise,
            np.log1p(max(0.0, cells.specks.sure)),
            np.log(cells.specks.spread + 0.05),
            *_shape_figures(alignment, cells),
            *astuple(cells.outlines),
            np.log(max(1e-3, min(max(shares), 1.0))),
            *astuple(cells.relief),
            *_rival_figures(cells, better, weights),
        ],
        np.float32,
    )


def _rival_figures(cells: Cells, likeness: Floats, weights: Floats) -> tuple[float, ...]:
    """The figures of what differs; see FIGURES."""
    balance, texture = cells.balance.astype(np.float32), cells.texture.astype(np.float32)
    lower = balance * (texture + 1) - 1
    return astuple(rivals_of(likeness, lower, weights, cells.places))


def _drift_figures(cells: Cells, weights: Floats, share: Floats) -> list[float]:
    """The figures of where the cells lie; see FIGURES."""
    moved = cells.moved.astype(np.float32)
    shifts = cells.drift.T.astype(np.float32)
    known = weights * (moved > _LEAST_MOVED)
    shift, drift, rest = unevenness(cells.places.astype(np.float32), shifts, known)
    near = ((rest**2).sum(1) < _IN_PLACE**2) & (moved > 0.9)
    return [
        float(np.log(drift + 0.05)),
        float(np.log(shift + 0.05)),
        float(share[moved > 0.9].sum()),
        float(share[moved > 0.97].sum()),
        float(share[moved < 0.5].sum()),
        float(share[near].sum()),
    ]


def _shape_figures(alignment: Alignment, cells: Cells) -> list[float]:
    """Edits hardly ever bend a picture; another shot is bent or stretched at least a little, but so
    is a photo of a screen.
    """
    if len(cells.in_a) < _LEAST_SHAPE:
        return [_BENT, _BENT, 0.0]
    points = cells.in_a.astype(np.float64)
    seen = apply(alignment.matrix, points)
    working_px = max(float(np.ptp(seen, axis=0).max()), 1e-6) / _WORKING_SIDE
    ones = np.concatenate([points, np.ones((len(points), 1))], 1)
    bend = seen - ones @ np.linalg.lstsq(ones, seen, rcond=None)[0]
    z = points @ (1, -1j if alignment.mirrored else 1j)
    w = seen @ (1, 1j)
    z, w = z - z.mean(), w - w.mean()
    unlike = w - z * (np.vdot(z, w) / max(float(np.vdot(z, z).real), 1e-6))
    rms = [float(np.sqrt((np.abs(off) ** 2).sum() / len(points))) for off in (bend, unlike)]
    bend, unlike = (float(np.log(one / working_px + _FLAT)) for one in rms)
    framed = cells.framed if bend > 0 else 0.0
    least = float(np.log(_FLAT))
    counts = 1 - float(np.interp(cells.framed, _FRAMED, (0, 1)))
    return [least + counts * (one - least) for one in (bend, unlike)] + [framed]


def _weighted_quantiles(values: Floats, weights: Floats, at: tuple[float, ...]) -> list[float]:
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    if not len(total) or total[-1] <= 0:
        return [0.0] * len(at)
    places = np.searchsorted(total, np.array(at) * total[-1])
    return [float(values[order[min(int(place), len(order) - 1)]]) for place in places]


def tone_of(mean_a: Floats, mean_b: Floats) -> float:
    """Correlation of the means of n cells, (n,) each; 0 where one picture is even."""
    if len(mean_a) < 3:
        return 0.0
    x, y = mean_a - mean_a.mean(), mean_b - mean_b.mean()
    xx, yy = float(x @ x), float(y @ y)
    if min(xx, yy) <= 0.5**2 * len(x):
        return 0.0
    return float(x @ y) / (math.sqrt(xx * yy) + 1e-3)
