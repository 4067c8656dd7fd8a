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
_WORST = 40  # false pairs whose kinds are shown


@dataclass(frozen=True)
class Truth:
    """What is so: pairs (later, earlier) that show one picture, and the number of others."""

    shots: tuple[Shot, ...]

    def is_copy(self, a: int, b: int) -> bool:
        """Whether both show one picture."""
        return bool(self.shots[a].origins & self.shots[b].origins)

    def is_unknown(self, a: int, b: int) -> bool:
        """Whether both show different quarters of one large picture: stripes and grids repeat, so
        that nobody can say whether the two are one picture. Such pairs count as neither.
        """
        return not self.is_copy(a, b) and bool(self._pictures(a) & self._pictures(b))

    def _pictures(self, number: int) -> frozenset[str]:
        """The pictures that a shot shows quarters of."""
        shot = self.shots[number]
        names = (name.rsplit(":", 1) for name in shot.origins)
        return frozenset(one[0] for one in names if len(one) > 1 and one[0] != shot.alike)

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
        return sorted(pair for pair in self._all_copies() if self.is_counted(*pair))

    def _all_copies(self) -> set[tuple[int, int]]:
        owners: dict[str, list[int]] = defaultdict(list)
        for number, shot in enumerate(self.shots):
            for origin in shot.origins:
                owners[origin].append(number)
        return {
            (a, b)
            for members in owners.values()
            for i, b in enumerate(members)
            for a in members[i + 1 :]
        }

    def negatives(self) -> int:
        """The number of pairs that show different pictures."""
        return len(self.shots) * (len(self.shots) - 1) // 2 - len(self._all_copies())

    def kind(self, a: int, b: int) -> str:
        """The kind of hard negative a pair belongs to, or the kinds of the two pictures."""
        if self.is_hard(a, b):
            return _kind(self.shots[a])
        return " and ".join(sorted((_kind(self.shots[a]), _kind(self.shots[b]))))


def _kind(shot: Shot) -> str:
    return shot.alike.rstrip("0123456789") or "photo"


@dataclass(frozen=True)
class Figures:
    """Recall and limit score at each of RATES: over all copies, against originals only, and
    against originals that can be told apart; recall by edit at 1e-6; kinds of the worst false
    pairs; what reaches the tool's own threshold.
    """

    recall: tuple[float, ...]
    recall_of_originals: tuple[float, ...]
    recall_of_telling: tuple[float, ...]
    limits: tuple[float, ...]
    by_edit: Mapping[str, tuple[float, int]]
    worst: Mapping[str, int]
    false_by_kind: Mapping[str, int]
    false_per_million: float
    recall_at_threshold: float
    looked_at: float


def measure(
    truth: Truth,
    scores: Mapping[tuple[int, int], float],
    threshold: float,
    untold: frozenset[str] = frozenset(),
) -> Figures:
    """Judge scores of (later, earlier) pairs; pairs not scored count as never found. `untold` are
    the origins that nobody could tell apart (telling.py).
    """
    copies = truth.copies()
    negatives = truth.negatives()
    wrong = sorted(
        (
            (score, pair)
            for pair, score in scores.items()
            if not truth.is_copy(*pair) and not truth.is_unknown(*pair)
        ),
        reverse=True,
    )
    limits = tuple(_limit([score for score, _ in wrong], rate, negatives) for rate in RATES)
    found = np.array([scores.get(pair, -1.0) for pair in copies])
    first = np.array(["original" in (truth.shots[a].edit, truth.shots[b].edit) for a, b in copies])
    told = first & np.array(
        [not truth.shots[a].origins & truth.shots[b].origins & untold for a, b in copies]
    )
    false = [pair for score, pair in wrong if score >= threshold]
    return Figures(
        recall=tuple(float((found > limit).mean()) for limit in limits),
        recall_of_originals=tuple(float((found[first] > limit).mean()) for limit in limits),
        recall_of_telling=tuple(float((found[told] > limit).mean()) for limit in limits),
        limits=limits,
        by_edit=_by_edit(truth, copies, found > limits[1]),
        worst=Counter(truth.kind(*pair) for _, pair in wrong[:_WORST]),
        false_by_kind=Counter(truth.kind(*pair) for pair in false),
        false_per_million=len(false) / negatives * 1e6,
        recall_at_threshold=float((found[first] >= threshold).mean()),
        looked_at=float((found[first] >= 0).mean()),
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
