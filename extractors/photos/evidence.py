"""Named figures of one pair of photos: what the pair model weighs, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from extractors.photos.agreement import Agreement, cell_middles
from extractors.photos.align import Alignment
from extractors.photos.features import Floats

FIGURES = (
    "votes",  # log of the votes of shared words
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
    "agreeing_cells",  # log of their number
    "tone",  # correlation of the cells' means
    "overlap",  # log of the smaller share of either picture
    "balance",  # how alike the texture of both is, 0 to 1
    "masked",  # share of the texture left out as a shared overlay
)
_LEAST_TEXTURE = 2.2
_MOST_TEXTURE = 20.0


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """What is kept of the cells of one pair: (n,) correlations at the better blur, texture, and the
    middle of each cell in px of a and of b.
    """

    coarse: Floats
    fine: Floats
    texture: Floats
    balance: Floats
    means: Floats
    sharpness: tuple[Floats, Floats]
    in_a: Floats
    in_b: Floats


def cells_of(agreement: Agreement, alignment: Alignment) -> Cells:
    """Flatten the valid cells and place them in both photos."""
    valid = agreement.valid
    in_a, in_b = cell_middles(agreement, alignment.matrix)
    low = np.minimum(agreement.texture_a, agreement.texture_b)[valid]
    high = agreement.texture[valid]
    return Cells(
        coarse=agreement.coarse[valid].astype(np.float32),
        fine=agreement.fine[valid].astype(np.float32),
        texture=high.astype(np.float32),
        balance=((low + 1) / (high + 1)).astype(np.float32),
        means=np.stack([agreement.means_a[valid], agreement.means_b[valid]]).astype(np.float32),
        sharpness=_sharpest(agreement),
        in_a=in_a.astype(np.float32),
        in_b=in_b.astype(np.float32),
    )


def _sharpest(agreement: Agreement) -> tuple[Floats, Floats]:
    """Sharpness of either photo in the textured cells."""
    chosen = agreement.valid & (agreement.texture > _LEAST_TEXTURE)
    return (
        agreement.sharp_a[chosen].astype(np.float32),
        agreement.sharp_b[chosen].astype(np.float32),
    )


def weights_of(cells: Cells) -> Floats:
    """How much each cell counts: its texture up to 20 grey levels; plain cells not at all."""
    texture = np.minimum(cells.texture, _MOST_TEXTURE)
    return np.where(cells.texture > _LEAST_TEXTURE, texture, 0).astype(np.float32)


def figures_of(
    alignment: Alignment, agreement: Agreement, cells: Cells, masked: npt.NDArray[np.bool_]
) -> Floats:
    """(len(FIGURES),) figures; `masked` cells are left out."""
    all_weights = weights_of(cells)
    weights = np.where(masked, 0, all_weights)
    total, everything = float(weights.sum()), float(all_weights.sum())
    share = weights / max(total, 1e-6)
    better = np.maximum(cells.coarse, cells.fine)
    quarters = _weighted_quantiles(better, weights, (0.25, 0.75))
    agreeing = (better > 0.9) & (weights > 0)
    return np.array(
        [
            np.log1p(alignment.votes),
            np.log1p(alignment.tight),
            alignment.tight / max(alignment.matches, 1),
            alignment.matches / max(alignment.expected, 1),
            share[better > 0.9].sum(),
            share[better > 0.97].sum(),
            share[better < 0.5].sum(),
            (share * cells.coarse).sum(),
            (share * cells.fine).sum(),
            quarters[0],
            quarters[1],
            np.log1p(agreeing.sum()),
            _tone(cells, masked),
            np.log(max(1e-3, min(agreement.share_a, agreement.share_b, 1.0))),
            (share * cells.balance).sum(),
            1 - total / max(everything, 1e-6),
        ],
        np.float32,
    )


def _weighted_quantiles(values: Floats, weights: Floats, at: tuple[float, ...]) -> list[float]:
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    if not len(total) or total[-1] <= 0:
        return [0.0] * len(at)
    places = np.searchsorted(total, np.array(at) * total[-1])
    return [float(values[order[min(int(place), len(order) - 1)]]) for place in places]


def _tone(cells: Cells, masked: npt.NDArray[np.bool_]) -> float:
    """Correlation of the cells' means; 0 where one picture is even."""
    a, b = cells.means[:, ~masked]
    if len(a) < 3 or a.std() < 0.5 or b.std() < 0.5:
        return 0.0
    return float(np.corrcoef(a, b)[0, 1])
