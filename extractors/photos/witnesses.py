"""What third photos say of a pair: whoever surely shows the one of two should show the other too.

A copy that is hard to know beside its original mostly agrees with one or the other of its further
copies, another picture with none of them. Nothing is concluded from a chain: the witnesses move the
log-odds of a pair that was laid over each other and measured, by so much at most, and only those
are heard that show the part in question.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Protocol

import numpy as np
import numpy.typing as npt

from extractors.photos.agreement import share_in_common
from extractors.photos.features import Floats

_SURE = 4.6  # log-odds, a score of .99: who is a witness
_LEAST, _MOST = 5, 16  # witnesses; of each photo the surest
_SAME_PART = 0.5  # of the smaller part
_SILENT = -4.0  # log-odds where a witness was not even laid over the other photo; none counts less
_OPEN = (-6.0, 9.0)  # log-odds; what is plain needs no witness
_MOST_SAID = 8.0

Odds = npt.NDArray[np.float64]


class LaidPair(Protocol):
    """Two photos laid over each other; outlines of the common part in px of either."""

    @property
    def later(self) -> int: ...

    @property
    def earlier(self) -> int: ...

    @property
    def outlines(self) -> tuple[Floats, Floats]: ...


def heard(looked: Sequence[LaidPair], log_odds: Odds) -> Odds:
    """(pairs,) log-odds of a copy -> the same, where witnesses can be heard moved by what the
    median of them says.
    """
    known = {_key(one.later, one.earlier): odds for one, odds in zip(looked, log_odds, strict=True)}
    sure = _surest(looked, log_odds)
    moved = log_odds.copy()
    for number, one in enumerate(looked):
        if _OPEN[0] <= log_odds[number] <= _OPEN[1]:
            said = _said(sure.get(one.earlier, ()), one.later, one.outlines[1], known)
            said |= _said(sure.get(one.later, ()), one.earlier, one.outlines[0], known)
            if len(said) >= _LEAST:
                moved[number] += min(median(said.values()), _MOST_SAID)
    return moved


@dataclass(frozen=True, slots=True, eq=False)
class _Witness:
    """Photo `number` surely shows `part` (px) of another."""

    odds: float
    number: int
    part: Floats


def _key(a: int, b: int) -> tuple[int, int]:
    return (a, b) if a > b else (b, a)


def _surest(looked: Sequence[LaidPair], log_odds: Odds) -> dict[int, list[_Witness]]:
    """Photo -> who surely shows it, the surest first."""
    found: dict[int, list[_Witness]] = defaultdict(list)
    for number in np.flatnonzero(log_odds >= _SURE).tolist():
        one, odds = looked[number], float(log_odds[number])
        for mine, other, outline in zip(
            (one.later, one.earlier), (one.earlier, one.later), one.outlines, strict=True
        ):
            found[mine].append(_Witness(odds, other, outline.astype(np.float32)))
    for witnesses in found.values():
        witnesses.sort(key=lambda one: (-one.odds, one.number))
    return found


def _said(
    witnesses: Sequence[_Witness], other: int, part: Floats, known: dict[tuple[int, int], float]
) -> dict[int, float]:
    """Witness -> what it says: that it shows the one photo, and that `other`, which shows `part` of
    the one, shows the same as it: the less sure of both.
    """
    part = part.astype(np.float32)
    said: dict[int, float] = {}
    for one in witnesses:
        if one.number != other and share_in_common(part, one.part) >= _SAME_PART:
            of_other = known.get(_key(one.number, other), _SILENT)
            said[one.number] = min(one.odds, max(of_other, _SILENT))
            if len(said) == _MOST:
                break
    return said
