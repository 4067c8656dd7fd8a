"""Figures of a pair search against the truth: recall at few false pairs, by kind of edit."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tests.evaluation.photo_benchmark.make import Shot

RATES = (1e-5, 1e-6, 0.0)
# crops of different corners may show nothing in common: no pair of copies among themselves
_HARD_CROPS = ("crop_30", "crop_45", "crop_60", "collage", "page", "screen")


@dataclass(frozen=True)
class Truth:
    """What is so: pairs (later, earlier) that show one picture, and the number of others."""

    shots: tuple[Shot, ...]

    def is_copy(self, a: int, b: int) -> bool:
        """Whether both show one picture."""
        return bool(self.shots[a].origins & self.shots[b].origins)

    def is_counted(self, a: int, b: int) -> bool:
        """Whether a pair of copies counts: an original and its edit, or two mild edits."""
        edits = (self.shots[a].edit, self.shots[b].edit)
        hard = [any(part in edit for part in _HARD_CROPS) for edit in edits]
        return "original" in edits or sum(hard) == 0

    def is_hard(self, a: int, b: int) -> bool:
        """Whether two different pictures belong to one group of hard negatives."""
        return bool(self.shots[a].alike) and self.shots[a].alike == self.shots[b].alike

    def copies(self) -> list[tuple[int, int]]:
        """All pairs of copies that count."""
        owners: dict[str, list[int]] = defaultdict(list)
        for number, shot in enumerate(self.shots):
            for origin in shot.origins:
                owners[origin].append(number)
        pairs = {
            (a, b)
            for members in owners.values()
            for i, b in enumerate(members)
            for a in members[i + 1 :]
        }
        return sorted(pair for pair in pairs if self.is_counted(*pair))

    def negatives(self) -> int:
        """The number of pairs that show different pictures."""
        total = len(self.shots) * (len(self.shots) - 1) // 2
        return total - len(self.copies())


@dataclass(frozen=True)
class Figures:
    """Recall and limit score at each of RATES; recall by edit at 1e-6; false pairs by group."""

    recall: tuple[float, ...]
    recall_of_originals: tuple[float, ...]
    limits: tuple[float, ...]
    by_edit: Mapping[str, tuple[float, int]]
    false_by_group: Mapping[str, int]
    false_per_million: float


def measure(truth: Truth, scores: Mapping[tuple[int, int], float], threshold: float) -> Figures:
    """Judge scores of (later, earlier) pairs; pairs not scored count as never found."""
    copies = truth.copies()
    negatives = truth.negatives()
    wrong = sorted(
        ((score, pair) for pair, score in scores.items() if not truth.is_copy(*pair)), reverse=True
    )
    limits = tuple(_limit([score for score, _ in wrong], rate, negatives) for rate in RATES)
    found = np.array([scores.get(pair, -1.0) for pair in copies])
    first = np.array(["original" in (truth.shots[a].edit, truth.shots[b].edit) for a, b in copies])
    false = [pair for score, pair in wrong if score >= threshold]
    return Figures(
        recall=tuple(float((found > limit).mean()) for limit in limits),
        recall_of_originals=tuple(float((found[first] > limit).mean()) for limit in limits),
        limits=limits,
        by_edit=_by_edit(truth, copies, found > limits[1]),
        false_by_group=Counter(_group(truth, *pair) for pair in false),
        false_per_million=len(false) / negatives * 1e6,
    )


def _limit(wrong: Sequence[float], rate: float, negatives: int) -> float:
    """The score that so many false pairs reach: pairs above it count as found."""
    allowed = int(rate * negatives)
    return wrong[allowed] if len(wrong) > allowed else 0.0


def _by_edit(
    truth: Truth, copies: Sequence[tuple[int, int]], found: npt.NDArray[np.bool_]
) -> dict[str, tuple[float, int]]:
    """Edit -> (recall against its original, number of pairs)."""
    rows: dict[str, list[bool]] = defaultdict(list)
    for (a, b), hit in zip(copies, found.tolist(), strict=True):
        edits = {truth.shots[a].edit, truth.shots[b].edit}
        if "original" in edits and len(edits) == 2:
            rows[(edits - {"original"}).pop()].append(hit)
    return {edit: (float(np.mean(hits)), len(hits)) for edit, hits in sorted(rows.items())}


def _group(truth: Truth, a: int, b: int) -> str:
    """The kind of hard negative a false pair belongs to."""
    if truth.is_hard(a, b):
        return truth.shots[a].alike.rstrip("0123456789")
    return "others"
