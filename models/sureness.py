"""How sure the order is: where each listing might stand, if weights are off as far as they may be.

The weights are drawn again and again from what is known of them (their spreads, or what outcomes
left of these), together for all listings; what a listing leaves unstated, and the seller's habits,
are drawn for each on its own. Every draw is put in order by the rules of order.py, and the places
are counted. The doubt is the one that the interval of a risk shows.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from models.counts import count_text
from models.decide import DEFAULT_COSTS, Costs, leave_from
from models.order import DEFAULT_THRESHOLDS, GROUPS, Thresholds
from models.records import Assessment, NextStep
from models.risk import Model, own_doubt

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

DRAWS = 200
LEAST, FIRST = 2, 20  # the order is made for those that are opened first
WIDEST = 40.0  # log-odds; no score lies farther off, so that groups do not mix


@dataclass(frozen=True, slots=True)
class Sureness:
    """For listings in order: the places (1 is the first) between which 9 of 10 draws put each.

    Of the `first` listings so many are as described in 9 of 10 draws: `good` (fewest, most).
    """

    places: tuple[tuple[int, int], ...] = ()
    first: int = 0
    good: tuple[int, int] = (0, 0)

    @property
    def shift(self) -> int:
        """By how many places one of the first may stand higher or lower: half the middle range."""
        widths = [high - low for low, high in self.places[: self.first]]
        return round(float(np.median(widths)) / 2) if widths else 0


def how_sure(
    ordered: Sequence[Assessment],
    vectors: Sequence[Mapping[str, float]],
    model: Model,
    costs: Costs = DEFAULT_COSTS,
    draws: int = DRAWS,
) -> Sureness:
    """Draw the order anew; `ordered` as `rank` gives it, `vectors` its named amounts in that order.

    The draws are the same for the same listings, so that a repeated run tells the same.
    """
    if not ordered:
        return Sureness()
    random = np.random.default_rng(0)
    scores = _moved(ordered, vectors, model, random.standard_normal, draws)
    places = _ends(_places(ordered, scores, costs))
    first = min(FIRST, len(ordered))
    good = random.random((first, draws)) >= expit(scores[:first])
    return Sureness(places, first, _ends(good.sum(axis=0)[None, :])[0])


def _ends(counts: Ints) -> tuple[tuple[int, int], ...]:
    """The 5 % and the 95 % point of each row."""
    low, high = np.quantile(counts, [0.05, 0.95], axis=1, method="inverted_cdf")
    return tuple(zip(map(int, low), map(int, high), strict=True))


def _moved(
    ordered: Sequence[Assessment],
    vectors: Sequence[Mapping[str, float]],
    model: Model,
    normal: Callable[[tuple[int, int]], Floats],
    draws: int,
) -> Floats:
    """Scores as they might be, (n listings, draws), around the scores shown."""
    names = tuple(dict.fromkeys(("", *(code for vector in vectors for code in vector))))
    design = np.array([[1.0, *(vector.get(code, 0.0) for code in names[1:])] for vector in vectors])
    shared = design @ _root(model, names) @ normal((len(names), draws))
    own = np.array([own_doubt(model, one.completeness) for one in ordered])
    each = own[:, None] * normal((len(ordered), draws))
    score = np.array([one.score for one in ordered])
    moved: Floats = score[:, None] + shared + each
    return moved


def _root(model: Model, names: Sequence[str]) -> Floats:
    """A matrix whose product with its own transpose is the covariance of these weights."""
    if model.covariance is None:
        spreads = [model.intercept_spread, *(model.spreads.get(code, 0.0) for code in names[1:])]
        return np.diag(spreads)
    table = np.array([[model.covariance.get((a, b), 0.0) for b in names] for a in names])
    values, vectors = np.linalg.eigh(table)
    root: Floats = vectors * np.sqrt(np.clip(values, 0.0, None))
    return root


def _places(ordered: Sequence[Assessment], scores: Floats, costs: Costs) -> Ints:
    """The place of each listing in each draw, (n, draws), by group and then by score."""
    limit = leave_from(costs)
    heavy = scores >= (np.log(limit / (1.0 - limit)) if 0.0 < limit < 1.0 else np.inf)
    groups = np.array([_groups(one) for one in ordered])
    group = np.where(heavy, groups[:, 1:], groups[:, :1])
    keys = group * 2.0 * WIDEST + np.clip(scores, -WIDEST, WIDEST) / 1.001
    by_place = np.argsort(keys, axis=0, kind="stable")
    places: Ints = np.argsort(by_place, axis=0) + 1
    return places


def _groups(one: Assessment, thresholds: Thresholds = DEFAULT_THRESHOLDS) -> tuple[int, int]:
    """The numbers of the groups in which it stands while a look pays, and when none does."""
    if one.over:
        return len(GROUPS), len(GROUPS)
    if one.next_step == "no_sheet":
        return (GROUPS.index("no_sheet"),) * 2
    return GROUPS.index(_while_light(one, thresholds)), GROUPS.index("leave")


def _while_light(one: Assessment, thresholds: Thresholds) -> NextStep:
    if one.next_step == "look":
        return "ask" if one.stands_with else "look"
    if one.next_step != "leave":
        return one.next_step
    little = (one.completeness or 0.0) < thresholds.say_completeness
    return "cannot_say" if one.candidates or little else "ask"


def say_sureness(sure: Sureness, note: str = "") -> str:
    """How sure the order is in one sentence; empty where there is nothing to order.

    `note` says what the weights rest on.

    >>> say_sureness(Sureness(((1, 5), (1, 9)), 2, (1, 2)))
    'Of the first 2, 1 to 2 should be as described; each may well stand about 3 places off.'
    """
    if sure.first < LEAST:
        return ""
    low, high = sure.good
    told = f"{low} to {high}" if low < high else f"{low}"
    rests = _say_shift(sure.shift) + (f" ({note})" if note else "")
    return f"Of the first {sure.first}, {told} should be as described{rests}."


def _say_shift(shift: int) -> str:
    """How far each listing may stand from its place; nothing where it hardly moves."""
    if shift < 1:
        return ""
    return f"; each may well stand about {count_text(shift, 'place')} off"


def say_places(rank: int, places: tuple[int, int]) -> str:
    """Between which places one listing stands, in words.

    >>> say_places(3, (1, 14))
    'Its place is not sure: 9 in 10 times it would be from 1 to 14, with all that is not known.'
    """
    low, high = min(rank, places[0]), max(rank, places[1])
    if low == high:
        return f"Its place is as good as sure: {rank} in 9 of 10 draws of all that is not known."
    return (
        f"Its place is not sure: 9 in 10 times it would be from {low} to {high}, "
        "with all that is not known."
    )
