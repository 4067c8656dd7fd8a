"""Pairs that words and hashes missed, but a third photo suggests: a lies over it, and it over b.

Nothing is concluded from the chain. The two photos are only laid over each other by way of the
third, and then compared and judged like all others.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from extractors.photos.agreement import share_in_common
from extractors.photos.align import Alignment, Matrix
from extractors.photos.features import Floats

_MOST_HUBS = 16  # of one photo, the surest
_LEAST_COMMON = 0.3  # of the smaller of the parts that the third photo shares with either


@dataclass(frozen=True, slots=True, eq=False)
class Link:
    """Photo `later` surely shows the picture of `earlier`; outlines of the common part in either's
    px; `odds` that it does.
    """

    later: int
    earlier: int
    alignment: Alignment
    outlines: tuple[Floats, Floats]
    odds: float


@dataclass(frozen=True, slots=True, eq=False)
class Suggestion:
    """Photo `later` may show what `earlier` shows, laid as a third photo says."""

    later: int
    earlier: int
    matrix: Matrix
    mirrored: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Step:
    """From one photo to another: `matrix`, and the common part in px of the one and the other."""

    to: int
    matrix: Matrix
    mirrored: bool
    mine: Floats
    theirs: Floats
    odds: float


def suggest(
    links: Sequence[Link], known: frozenset[tuple[int, int]], room: npt.NDArray[np.intp]
) -> list[Suggestion]:
    """Pairs that are not `known`, each by the surest third photo; at most `room[later]` a photo."""
    steps = _steps(links)
    found = []
    for later in sorted(steps):
        near = _near(steps, later, known)
        chosen = sorted(near, key=lambda earlier: (-near[earlier][0], earlier))
        laid = (_laid(later, earlier, *near[earlier][1:]) for earlier in chosen)
        found += [one for one in laid if one is not None][: int(room[later])]
    return found


def _steps(links: Sequence[Link]) -> dict[int, list[_Step]]:
    """All steps from every photo, the surest first."""
    steps: dict[int, list[_Step]] = defaultdict(list)
    for link in links:
        there, mirrored = link.alignment.matrix, link.alignment.mirrored
        mine, theirs = link.outlines
        back = np.linalg.inv(there)
        steps[link.later].append(_Step(link.earlier, there, mirrored, mine, theirs, link.odds))
        steps[link.earlier].append(_Step(link.later, back, mirrored, theirs, mine, link.odds))
    return {
        photo: sorted(those, key=lambda step: (-step.odds, step.to))
        for photo, those in steps.items()
    }


def _near(
    steps: dict[int, list[_Step]], later: int, known: frozenset[tuple[int, int]]
) -> dict[int, tuple[float, _Step, _Step]]:
    """Earlier photo -> how sure the weaker step is, and the two steps: the surest of all ways."""
    near: dict[int, tuple[float, _Step, _Step]] = {}
    for first in steps[later][:_MOST_HUBS]:
        for second in steps[first.to]:
            if second.to >= later or (later, second.to) in known:
                continue
            odds = min(first.odds, second.odds)
            if second.to in near and near[second.to][0] >= odds:
                continue
            if _have_common(first, second):
                near[second.to] = (odds, first, second)
    return near


def _have_common(first: _Step, second: _Step) -> bool:
    """Whether the third photo shows either the same part: a collage's tiles are different ones."""
    a, b = first.theirs.astype(np.float32), second.mine.astype(np.float32)
    return share_in_common(a, b) > _LEAST_COMMON


def _laid(later: int, earlier: int, first: _Step, second: _Step) -> Suggestion | None:
    matrix = second.matrix @ first.matrix
    if abs(matrix[2, 2]) < 1e-9:
        return None
    return Suggestion(later, earlier, matrix / matrix[2, 2], first.mirrored != second.mirrored)
