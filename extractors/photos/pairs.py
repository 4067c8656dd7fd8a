"""Which photos of a folder show the same picture: the pairs, each with a score and in words.

Knows nothing of sellers or listings. Answers: "copy" the same picture, however edited;
"same_piece" another shot of the same piece and place; "alike" like goods, other picture;
"shared_overlay" only a logo, page or frame in common.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np

from extractors.photos.changes import describe_changes
from extractors.photos.evidence import figures_of
from extractors.photos.features import Floats
from extractors.photos.fingerprint import Fingerprint
from extractors.photos.holders import each_with_each, each_with_the_rest
from extractors.photos.model import PairModel, as_scores, load_model
from extractors.photos.overlays import Mask, masked_share, masks_of
from extractors.photos.search import Looked, content_digest, look_everywhere
from extractors.photos.verdict import answer_of
from extractors.photos.witnesses import heard

Key = TypeVar("Key", bound=Hashable)
Answer = Literal["copy", "same_piece", "alike", "shared_overlay"]
Outline = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Pair:
    """Photos `a` and `b` (a before b in text order of the keys).

    `score` 0 to 1, higher is more surely the same picture; `changes` says in words what was done;
    `area_a` and `area_b` outline the matching part in px of the upright photos. `certain` is False
    for a pair that was looked at but that the tool does not stand behind.
    """

    a: object
    b: object
    score: float
    answer: Answer
    changes: tuple[str, ...]
    area_a: Outline
    area_b: Outline
    certain: bool = True


def find_pairs(
    fingerprints: Mapping[Key, Fingerprint], everything: bool = False, processes: int = 1
) -> tuple[Pair, ...]:
    """All pairs the tool stands behind, best score first; with `everything` all it looked at.

    The result does not depend on the order of the mapping nor on the number of processes.
    """
    by_content: dict[str, list[Key]] = {}
    for key in sorted(fingerprints, key=str):
        by_content.setdefault(content_digest(fingerprints[key]), []).append(key)
    digests = sorted(by_content)
    holders = [by_content[digest] for digest in digests]
    unique = [fingerprints[keys[0]] for keys in holders]
    judged = judge(unique, look_everywhere(unique, processes))
    pairs = [pair for keys in holders for pair in _identical(keys, fingerprints)]
    for one in judged:
        if everything or one.certain:
            pairs.extend(_spread(one, holders, unique))
    return tuple(sorted(pairs, key=lambda pair: (-pair.score, str(pair.a), str(pair.b))))


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """One pair looked at, with its score and answer, by numbers of the sequence."""

    looked: Looked
    figures: Floats
    score: float
    answer: Answer
    certain: bool


def judge(fingerprints: Sequence[Fingerprint], looked: Sequence[Looked]) -> list[Judged]:
    """Score every pair that was looked at, find what recurs over unrelated photos, and hear what
    third photos say.
    """
    if not looked:
        return []
    model = load_model()
    figures, masks = _masked(fingerprints, looked, np.stack([one.figures for one in looked]), model)
    scores = as_scores(heard(looked, model.log_odds(figures)))
    return [
        _judged(fingerprints, model, *one)
        for one in zip(looked, figures, scores.tolist(), masks, strict=True)
    ]


def figures_and_masks(
    fingerprints: Sequence[Fingerprint], looked: Sequence[Looked], model: PairModel
) -> tuple[Floats, list[Mask | None]]:
    """(pairs, figures) of pairs that were looked at, without what recurs over unrelated photos."""
    figures = np.stack([figures_of(one.alignment, one.shares, one.cells) for one in looked])
    return _masked(fingerprints, looked, figures, model)


def _masked(
    fingerprints: Sequence[Fingerprint],
    looked: Sequence[Looked],
    figures: Floats,
    model: PairModel,
) -> tuple[Floats, list[Mask | None]]:
    """The figures without what recurs over unrelated photos, and which cells that is."""
    masks = masks_of(fingerprints, looked, model.scores(figures))
    for row, (one, mask) in enumerate(zip(looked, masks, strict=True)):
        if mask is not None:
            figures[row] = figures_of(one.alignment, one.shares, one.cells, mask)
    return figures, masks


def _judged(
    fingerprints: Sequence[Fingerprint],
    model: PairModel,
    one: Looked,
    figures: Floats,
    score: float,
    mask: Mask | None,
) -> Judged:
    texture = min(fingerprints[one.later].texture, fingerprints[one.earlier].texture)
    masked = masked_share(one, mask)
    own = one.cells.specks.own
    answer, certain, score = answer_of(score, figures, texture, masked, one.shares, own, model)
    return Judged(one, figures, round(score, 9), answer, certain)


def _identical(keys: Sequence[Key], fingerprints: Mapping[Key, Fingerprint]) -> list[Pair]:
    """Photos whose small pictures are equal to the last pixel: each with each, or where they are
    very many (a market's placeholder) the first with each.
    """
    if len(keys) < 2 or not fingerprints[keys[0]].is_comparable:
        return []
    whole = _whole(fingerprints[keys[0]])
    return [Pair(a, b, 1.0, "copy", (), whole, whole) for a, b in each_with_the_rest(keys)]


def _whole(made: Fingerprint) -> Outline:
    w, h = float(made.width), float(made.height)
    return ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h))


def _spread(
    one: Judged, holders: Sequence[Sequence[Key]], unique: Sequence[Fingerprint]
) -> list[Pair]:
    """One pair of contents -> the pairs of all photos that hold them."""
    later, earlier = one.looked.later, one.looked.earlier
    made = unique[later], unique[earlier]
    outlines = [
        _outline(outline, photo) for outline, photo in zip(one.looked.outlines, made, strict=True)
    ]
    changes = describe_changes(*made, one.looked)
    found = []
    for x, y in each_with_each(holders[later], holders[earlier]):
        a, b = ((x, outlines[0]), (y, outlines[1]))
        if str(b[0]) < str(a[0]):
            a, b = b, a
        found.append(Pair(a[0], b[0], one.score, one.answer, changes, a[1], b[1], one.certain))
    return found


def _outline(polygon: Floats, made: Fingerprint) -> Outline:
    """Points of the small picture -> points of the photo."""
    x, y = made.width / made.size[0], made.height / made.size[1]
    return tuple((round(float(p[0]) * x, 1), round(float(p[1]) * y, 1)) for p in polygon)


def groups(pairs: Sequence[Pair]) -> tuple[tuple[object, ...], ...]:
    """Photos that show one picture: a hub (the photo with most copies) and its own copies.

    Never chained: a photo that is a copy of a member, but not of the hub, is no member.
    """
    near: dict[object, set[object]] = {}
    for pair in pairs:
        if pair.answer == "copy" and pair.certain:
            near.setdefault(pair.a, set()).add(pair.b)
            near.setdefault(pair.b, set()).add(pair.a)
    left = set(near)
    found = []
    while left:
        hub = min(left, key=lambda key: (-len(near[key] & left), str(key)))
        members = (near[hub] & left) | {hub}
        left -= members
        if len(members) > 1:
            found.append(tuple(sorted(members, key=str)))
    return tuple(found)
