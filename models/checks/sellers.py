"""A seller's other listings: pieces of one seller turn out alike more often than their texts tell.

What each listing tells by itself gives it a chance of being not as described. How much the others
of one seller say of this one depends on how alike pieces of one seller are: one figure for the
whole folder, the intraclass correlation, which starts as a guess and is moved by how alike the
listings of each seller are here (an estimate after Fisher, shrunk by its own error). Nothing is
said of a seller, only of what his other listings say; nothing in his favour counts.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import fmean, pvariance

from extractors.records import Listing
from models.checks.corpus import Corpus, Examined
from models.counts import count_text
from models.features import signs_of
from models.records import Finding, Strength
from models.risk import add_up, explain, probability, starting_model
from models.weights import load_weights

CHECK = POINT = "seller"
CODES = tuple((CHECK, "undecided", strength) for strength in ("hard", "soft"))

# how alike the pieces of one seller are, before the folder says more. A spread of habits of 0.5 to
# 1 in log-odds, as in the starting weights, comes to 0.04 to 0.14; own choice
ALIKE, DOUBT = 0.10, 0.15
FEWEST = 20  # listings of named sellers; with fewer no share is usual here
LEVELS: tuple[tuple[float, Strength], ...] = ((0.65, "hard"), (0.35, "soft"))


@dataclass(frozen=True, slots=True)
class _Told:
    """One listing, the chance that it tells by itself, and whether anything is in conflict."""

    listing: Listing
    chance: float
    in_conflict: bool


def check_sellers(
    corpus: Corpus, found: Mapping[str, Sequence[Finding]]
) -> dict[str, tuple[Finding, ...]]:
    """A finding for each listing whose seller's other listings are in conflict more than usual.

    `found` are the findings of the other checks over all listings, by listing id.
    """
    groups: dict[str, list[_Told]] = defaultdict(list)
    for one in corpus.examined:
        seller = one.listing.seller_id or one.listing.seller_name
        if seller:
            groups[seller].append(_tell(one, found.get(one.listing.id, ())))
    chances = [told.chance for group in groups.values() for told in group]
    if len(chances) < FEWEST:
        return {}
    usual, alike = fmean(chances), how_alike([[t.chance for t in g] for g in groups.values()])
    return {
        told.listing.id: (finding,)
        for group in groups.values()
        for told in group
        if (finding := _finding(_others(told, group), usual, alike))
    }


def _tell(one: Examined, more: Sequence[Finding]) -> _Told:
    findings = (*one.findings, *more)
    weights = load_weights()
    shares = [other for f in more if f.check == "photo_reuse" for other in f.about]
    points = {f.point for f in one.findings if f.result != "no_reference"}
    stated = {f.point for f in one.findings if f.result not in ("no_reference", "not_stated")}
    share = len(stated) / len(points) if points else None
    signs = signs_of(one.listing, one.evidence, findings, share, shares, weights)
    in_conflict = any(f.result == "conflicts" and f.strength != "clue" for f in findings)
    chance = probability(add_up(explain(signs, starting_model(weights))))
    return _Told(one.listing, chance, in_conflict)


def _others(told: _Told, group: Sequence[_Told]) -> list[_Told]:
    """The seller's listings of other pieces: the same words again are the same piece."""
    return [other for other in group if other.listing.text != told.listing.text]


def how_alike(groups: Sequence[Sequence[float]]) -> float:
    """How alike the pieces of one group are (0 to 1), from the chances that listings tell.

    Chances tell of pieces only in part, so what is alike in them is divided by the share of the
    variance of pieces that they explain.

    >>> how_alike([[0.2, 0.2], [0.2]])
    0.1
    """
    chances = [chance for group in groups for chance in group]
    usual, variance = fmean(chances), pvariance(chances)
    several = [group for group in groups if len(group) > 1]
    if variance <= 0.0 or not several:
        return ALIKE
    told = variance / (usual * (1.0 - usual))
    together = [
        fmean((a - usual) * (b - usual) for a, b in combinations(group, 2)) for group in several
    ]
    counts = [len(group) / 2.0 for group in several]
    measured = sum(c * t for c, t in zip(counts, together, strict=True)) / sum(counts)
    trust = sum(counts) * told**2 * DOUBT**2  # of the measured beside the guess
    return min(0.9, max(0.0, (ALIKE + trust * measured / variance / told) / (1.0 + trust)))


def shift_of(others: Sequence[float], usual: float, alike: float) -> float:
    """What the chances of a seller's other listings add to the log-odds of one; never below 0.

    >>> shift_of([0.2, 0.2], 0.2, 0.1)
    0.0
    """
    excess = sum(chance - usual for chance in others)
    expected = usual + alike * excess / (1.0 + alike * (len(others) - 1.0))
    held = min(0.99, max(usual, expected))
    return math.log(held / (1.0 - held)) - math.log(usual / (1.0 - usual))


def _finding(others: Sequence[_Told], usual: float, alike: float) -> Finding | None:
    if not others:
        return None
    shift = shift_of([other.chance for other in others], usual, alike)
    strength = next((name for least, name in LEVELS if shift >= least), None)
    if strength is None:
        return None
    told = sorted(others, key=lambda other: (-other.chance, other.listing.id))
    against = sum(other.in_conflict for other in others)
    count = count_text(len(others), "other listing")
    return Finding(
        CHECK, POINT, "undecided", strength,
        f"of this seller's {count}, {against} {'is' if against == 1 else 'are'} in conflict with "
        "what is known; that is no verdict on this piece",
        stated=f"{against} of {len(others)}", source="the listings of this folder",
        explanations=("one slip in a text that is used again", "a seller of many kinds of things"),
        about=tuple(other.listing.id for other in told[:8]),
    )  # fmt: skip
