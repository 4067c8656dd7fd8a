"""What recurs over many unrelated photos: logos, page chrome, frames.

A place of a photo that agrees, upright and unmirrored, with photos of two or more other groups is
no evidence that two photos show one picture. Groups are a hub and its copies, never chained. Nor is
a part that is a small one of either photo, as a logo is: of a copy, one of the two shows more.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from extractors.photos.candidates import Ints
from extractors.photos.evidence import weights_of
from extractors.photos.features import Floats
from extractors.photos.fingerprint import Fingerprint
from extractors.photos.search import Looked

Mask = npt.NDArray[np.bool_]

_GRID = 24  # places a side of a photo
_SURE = 0.9  # first score that puts two photos into one group
_OTHER_GROUPS = 2
_LEAST_DISAGREEMENT = 0.25  # of the texture; copies disagree less, photos under one logo more
_WHOLE = 0.9  # share of either photo
_MOST_TURN = 0.06  # radians
_MOST_STRETCH = 0.06
_GIVE_OF_WHOLE = 2.5  # two pages of one app can be laid a little askew by what differs in them
_LEAST_PART = 0.1  # share of a photo that the other shows; of both photos less is a logo


def masks_of(
    fingerprints: Sequence[Fingerprint],
    looked: Sequence[Looked],
    scores: npt.NDArray[np.float64],
) -> list[Mask | None]:
    """For every pair, which of its cells are a shared overlay; None where none is."""
    group = hubs(len(fingerprints), looked, scores)
    recurring = _recurring(fingerprints, looked, group)
    return [_mask(fingerprints, one, recurring) for one in looked]


def masked_share(one: Looked, mask: Mask | None) -> float:
    """The share of a pair's texture that lies in masked cells."""
    if mask is None:
        return 0.0
    weights = weights_of(one.cells)
    return float(weights[mask].sum() / max(float(weights.sum()), 1e-6))


def hubs(
    photos: int, looked: Sequence[Looked], scores: npt.NDArray[np.float64]
) -> npt.NDArray[np.intp]:
    """For every photo the number of its group's hub: the photo with most sure copies."""
    near: dict[int, set[int]] = {}
    for one, score in zip(looked, scores, strict=True):
        if score >= _SURE and not _is_one_page(one):
            near.setdefault(one.later, set()).add(one.earlier)
            near.setdefault(one.earlier, set()).add(one.later)
    group = np.arange(photos)
    left = set(near)
    for hub in sorted(near, key=lambda number: (-len(near[number]), number)):
        if hub in left:
            members = (near[hub] & left) | {hub}
            group[list(members)] = hub
            left -= members
    return group


def _recurring(
    fingerprints: Sequence[Fingerprint], looked: Sequence[Looked], group: Ints
) -> npt.NDArray[np.bool_]:
    """(photos, places): which places of each photo agree with two or more other groups."""
    keys, groups = [np.zeros(0, np.intp)], [np.zeros(0, np.intp)]
    for one in looked:
        if group[one.later] == group[one.earlier] or not _is_straight(one):
            continue
        agree = _agreeing_in_part(one)
        if agree is None:
            continue
        ends = ((one.later, one.earlier, one.cells.in_a), (one.earlier, one.later, one.cells.in_b))
        for mine, other, places in ends:
            at = _places(fingerprints[mine], places[agree])
            keys.append(mine * _GRID * _GRID + np.unique(at))
            groups.append(np.full(len(keys[-1]), group[other]))
    both = np.unique(np.stack([np.concatenate(keys), np.concatenate(groups)]), axis=1)
    count = np.bincount(both[0], minlength=len(fingerprints) * _GRID * _GRID)
    return np.asarray(count >= _OTHER_GROUPS).reshape(len(fingerprints), -1)


def _agreeing_in_part(one: Looked) -> Mask | None:
    """The cells that agree, if enough others disagree; None for a pair that agrees all over."""
    weights = weights_of(one.cells)
    better = np.maximum(one.cells.coarse, one.cells.fine)
    off = float(weights[better < 0.5].sum())
    if off < _LEAST_DISAGREEMENT * float(weights.sum()):
        return None
    return np.asarray((better > 0.85) & (weights > 0))


def _is_one_page(one: Looked) -> bool:
    """Whether the photos lie whole and straight over each other and agree in part only, as pages of
    one app do: whatever the score, that makes no group.
    """
    whole = min(one.shares) >= _WHOLE
    return whole and _is_straight(one) and _agreeing_in_part(one) is not None


def _is_straight(one: Looked, give: float = 1.0) -> bool:
    """Upright, unmirrored, hardly sheared: as a logo or a page lies on every photo; `give` times as
    far off as usual.
    """
    if one.alignment.mirrored:
        return False
    linear = one.alignment.matrix[:2, :2] / one.alignment.matrix[2, 2]
    turn = float(np.arctan2(linear[1, 0] - linear[0, 1], linear[0, 0] + linear[1, 1]))
    long, short = np.linalg.svd(linear, compute_uv=False)
    stretch = 1 + give * _MOST_STRETCH
    return abs(turn) < give * _MOST_TURN and bool(long < stretch * short)


def _places(photo: Fingerprint, points: Floats) -> Ints:
    """Places (row * 24 + column) of points in px of the grey picture."""
    at = np.clip(points.astype(np.float32) / np.array(photo.size) * _GRID, 0, _GRID - 1).astype(
        np.intp
    )
    return np.asarray(at[:, 1] * _GRID + at[:, 0])


def _mask(
    fingerprints: Sequence[Fingerprint], one: Looked, recurring: npt.NDArray[np.bool_]
) -> Mask | None:
    if max(one.shares) < _LEAST_PART:
        return np.ones(len(one.cells.coarse), bool)
    if not _is_straight(one, _GIVE_OF_WHOLE if min(one.shares) >= _WHOLE else 1.0):
        return None
    mask = np.zeros(len(one.cells.coarse), bool)
    for number, places in ((one.later, one.cells.in_a), (one.earlier, one.cells.in_b)):
        if recurring[number].any():
            mask |= recurring[number][_places(fingerprints[number], places)]
    return mask if mask.any() else None
