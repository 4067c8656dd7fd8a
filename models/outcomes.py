"""What became of a piece, as a label for learning: bad, good, or no label at all.

Whether a piece was bought says nothing about it, and a return counts by its reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from extractors.errors import UserError

# what a recorded outcome says of "not as described"; None: it says nothing
LABELS: Mapping[str, bool | None] = {
    "as described": False,
    "misdescribed": True,
    "a copy": True,
    "not bought": None,
}
# a return counts by its reason; a reason not listed here says nothing
RETURNS: Mapping[str, bool] = {
    "not as described": True,
    "misdescribed": True,
    "a copy": True,
    "did not fit": False,
    "changed my mind": False,
}
RETURNED = "returned"


@dataclass(frozen=True, slots=True)
class Outcome:
    """One inspected piece: its amounts as the buyer saw them, what it was, and whom it hangs with.

    `seller` and `photo_group` tie outcomes together (empty: alone). `probability` is the chance
    with which a random close look picked it; None where the buyer chose it himself.
    """

    id: str
    amounts: Mapping[str, float]
    bad: bool
    date: str = ""
    seller: str = ""
    photo_group: str = ""
    reference: str = ""
    score: float | None = None  # what the buyer saw then, in log-odds
    spread: float | None = None
    rank: int | None = None
    price: float | None = None
    probability: float | None = None
    points: Mapping[str, bool] = field(default_factory=dict)  # inspected: did the piece show it?


def label_of(result: str, reason: str = "") -> bool | None:
    """Whether a recorded outcome means "not as described"; None when it says nothing.

    Raises UserError on an outcome nobody defined.

    >>> label_of("returned", "did not fit"), label_of("returned", "lost by the carrier")
    (False, None)
    """
    name = result.strip().lower()
    if name == RETURNED:
        return RETURNS.get(reason.strip().lower())
    if name not in LABELS:
        known = ", ".join((*LABELS, RETURNED))
        raise UserError(f"no outcome is called {result!r}", f"use one of: {known}")
    return LABELS[name]


def outcome_words(told: Mapping[str, object]) -> str:
    """A recorded outcome in words: its result, and the reason if one was given.

    >>> outcome_words({"result": "returned", "reason": "too small"})
    'returned, too small'
    """
    result, reason = (str(told.get(key) or "").strip() for key in ("result", "reason"))
    return ", ".join(filter(None, (result, reason or ("no reason" if result == RETURNED else ""))))


def group_outcomes(outcomes: Sequence[Outcome]) -> tuple[int, ...]:
    """Number the groups of outcomes that share a seller or a photo group, also in a chain."""
    parent = list(range(len(outcomes)))

    def root(index: int) -> int:
        while parent[index] != index:
            parent[index] = parent[parent[index]]
            index = parent[index]
        return index

    first: dict[tuple[str, str], int] = {}
    for index, outcome in enumerate(outcomes):
        for key in (("seller", outcome.seller), ("photo", outcome.photo_group)):
            if key[1]:
                parent[root(index)] = root(first.setdefault(key, index))
    roots = [root(index) for index in range(len(outcomes))]
    numbers = {r: n for n, r in enumerate(dict.fromkeys(roots))}
    return tuple(numbers[r] for r in roots)


def group_weights(groups: Sequence[int], likeness: float = 0.3) -> tuple[float, ...]:
    """Weigh outcomes so that many from one seller count like few: 1 / (1 + (n - 1) likeness).

    This is the design effect of Kish (1965) with `likeness` as the correlation within a group;
    its value is common practice, no source.

    >>> group_weights([0, 1, 1], 1.0)
    (1.0, 0.5, 0.5)
    """
    sizes: dict[int, int] = {}
    for group in groups:
        sizes[group] = sizes.get(group, 0) + 1
    return tuple(1.0 / (1.0 + (sizes[group] - 1) * likeness) for group in groups)


def stands_for(outcomes: Sequence[Outcome]) -> tuple[float, ...]:
    """Of how many listings each outcome is the sample: 1 over the chance of a random close look.

    What the buyer chose himself was sure to be looked at, and stands for itself alone.

    >>> stands_for([Outcome("a", {}, True, probability=0.1), Outcome("b", {}, True)])
    (10.0, 1.0)
    """
    return tuple(1.0 / o.probability if o.probability else 1.0 for o in outcomes)


def reliability(outcomes: Iterable[Outcome]) -> Mapping[str, tuple[int, int]]:
    """Count for every point how often inspection bore the finding out: (borne out, inspected)."""
    counts: dict[str, tuple[int, int]] = {}
    for outcome in outcomes:
        for point, held in outcome.points.items():
            right, seen = counts.get(point, (0, 0))
            counts[point] = (right + held, seen + 1)
    return counts
