"""What to ask the seller: the few questions whose answers save most, in the listing's language.

A question is worth the expected gain of the decision made after its answer over the one made now.
The best set of questions is found by looking at every set of candidates (those of equal chances
count as one kind), so it is exact. Words come
from the sheet and from data/questions.toml; questions ask and never doubt what was said.
"""

from __future__ import annotations

import math
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from itertools import combinations_with_replacement
from typing import Any

from extractors.reading import guess_language
from models.decide import Costs, value_of_best
from models.records import Finding, Question
from models.sheet_records import ReferenceSheet
from models.weights import Weights

MOST_QUESTIONS = 3
SEVERAL_SIZES = 2  # as many conflicting sizes are asked about in one question
SLIP = 0.04  # how often an honest answer still conflicts; common practice, no source
ANSWERED = 0.6  # how often a question is answered at all; common practice, no source
CURIOSITY = 1e-3  # what is learned counts a little, so that questions of equal value have an order

REPEAT = (0.35, 0.9)  # a conflict is confirmed on asking again: honest slip, real difference
REPEAT_SIZES = (
    0.2,
    0.92,
)  # several wrong sizes at once: a ruler laid askew is seen, another model stays
FRESH_PHOTO = (0.1, 0.75)  # no photo of the piece with a date: honest seller, borrowed pictures
WHICH = (0.1, 0.3)  # the reference turns out to be another one
UNKNOWN_WEIGHT = 1.5

Chances = tuple[float, float]  # of an unfavourable answer: as described, and not


@dataclass(frozen=True, slots=True)
class Ask:
    """A question that could be put: its point, kind, and how often its answer speaks against.

    `good` and `bad` are the chances of an unfavourable answer if the piece is as described, and if
    it is not.
    """

    point: str
    kind: str  # "point", "again", "fresh_photo" or "which_reference"
    good: float
    bad: float
    points: tuple[str, ...] = ()  # several asked about at once


def choose_questions(
    language: str,
    known: bool,
    findings: Sequence[Finding],
    borrowed: bool,
    risk: float,
    weights: Weights,
    sheet: ReferenceSheet | None,
    costs: Costs,
) -> tuple[Question, ...]:
    """The best questions for one listing, the most useful first; each wording once.

    `known`: a sheet was found. `borrowed`: other sellers show a picture of this listing.
    """
    asks = list(find_asks(known, findings, borrowed, weights, sheet))
    worded = {ask: word_question(ask, language, sheet) for ask in asks}
    distinct = {text: ask for ask, text in reversed(worded.items())}
    several = tuple(ask for ask in asks if ask in distinct.values())
    return tuple(Question(worded[ask], ask.point) for ask in best_set(several, risk, costs))


def find_asks(
    known: bool,
    findings: Sequence[Finding],
    borrowed: bool,
    weights: Weights,
    sheet: ReferenceSheet | None,
) -> Iterator[Ask]:
    """Everything that could be asked: what is borrowed, in conflict, undecided or not stated."""
    if borrowed:
        yield Ask("photos", "fresh_photo", *FRESH_PHOTO)
    if not known:
        yield Ask("reference", "which_reference", *WHICH)
        return
    named = set(sheet.points) if sheet else {f.point for f in findings if f.expected}
    conflicting = {f.point for f in findings if f.result == "conflicts"} & named
    settled = conflicting | {f.point for f in findings if f.result == "agrees"}
    wrong = {f.point for f in findings if f.check == "measurements"} & conflicting
    order = sheet.points if sheet else tuple(sorted(named))
    sizes = tuple(point for point in order if point in wrong)
    if len(sizes) >= SEVERAL_SIZES:
        yield Ask(sizes[0], "again", *REPEAT_SIZES, points=sizes)
        conflicting, settled = conflicting - wrong, settled | wrong
    for point in order:
        if point in conflicting:
            yield Ask(point, "again", *REPEAT)
        elif point not in settled:
            yield Ask(point, "point", SLIP, _bad_share(point, findings, weights))


def _bad_share(point: str, findings: Sequence[Finding], weights: Weights) -> float:
    """How often a wrong piece would give itself away here: the slip rate times the odds."""
    check = next((f.check for f in findings if f.point == point), "any")
    row = weights.find(Finding(check, point, "conflicts", "hard", ""))
    return min(0.9, SLIP * math.exp(row.log_odds if row else UNKNOWN_WEIGHT))


def best_set(asks: Sequence[Ask], risk: float, costs: Costs) -> tuple[Ask, ...]:
    """The set of MOST_QUESTIONS questions of highest expected gain, best single first.

    Always so many, where there are so many: one line more in a message costs next to nothing.
    """
    rounded = round(risk, 3)
    alone = {chances: gain((chances,), rounded, costs) for chances in map(_chances, asks)}
    ordered = sorted(asks, key=lambda ask: -alone[_chances(ask)])
    kinds = Counter(map(_chances, ordered))
    size = min(MOST_QUESTIONS, len(ordered))
    best = max(
        (some for some in combinations_with_replacement(kinds, size) if _has_all(kinds, some)),
        key=lambda some: gain(tuple(sorted(some)), rounded, costs),
        default=(),
    )
    left = Counter(best)
    chosen = []
    for ask in ordered:
        if left[_chances(ask)]:
            left[_chances(ask)] -= 1
            chosen.append(ask)
    return tuple(chosen)


def _has_all(kinds: Mapping[Chances, int], some: Sequence[Chances]) -> bool:
    return all(count <= kinds[kind] for kind, count in Counter(some).items())


def _chances(ask: Ask) -> Chances:
    return ask.good, ask.bad


@lru_cache(maxsize=65536)
def gain(asked: tuple[tuple[float, float], ...], risk: float, costs: Costs) -> float:
    """Expected gain of deciding after the answers to these questions, less the cost of asking.

    Answers are independent given the piece; each question stays unanswered with the same chance
    for good and bad. `asked` holds (good, bad) chances of an unfavourable answer. In shares of
    the price.
    """
    outcomes = [(1.0 - risk, risk)]  # joint weight of the answers so far with good, with bad
    for good, bad in asked:
        outcomes = [
            (g * share_good, b * share_bad)
            for g, b in outcomes
            for share_good, share_bad in (
                (ANSWERED * good, ANSWERED * bad),
                (ANSWERED * (1 - good), ANSWERED * (1 - bad)),
                (1 - ANSWERED, 1 - ANSWERED),
            )
        ]
    after = sum((g + b) * _worth(b / (g + b), costs) for g, b in outcomes if g + b > 0)
    return after - _worth(risk, costs) - costs.ask * len(asked)


def _worth(risk: float, costs: Costs) -> float:
    return value_of_best(risk, costs) - CURIOSITY * risk * (1.0 - risk)


def word_question(ask: Ask, language: str, sheet: ReferenceSheet | None) -> str:
    """Word one question in the listing's language; the sheet's own words where they are in it."""
    words = _words().get(language, _words()["en"])
    if ask.kind in ("fresh_photo", "which_reference"):
        return str(words[ask.kind])
    names = [_name_of(point, language) for point in ask.points or (ask.point,)]
    if ask.kind == "again" and any(names):
        return str(words["again"]).replace("{point}", ", ".join(filter(None, names)))
    own = sheet_question(sheet, ask.point)
    fits = own and guess_language(own) == language
    ready = own if fits else words["point"].get(ask.point)
    return str(ready or own or _about(ask.point, language))


def _about(point: str, language: str) -> str:
    """A question on a point that nobody worded; in English where its name is known in no other."""
    name = _name_of(point, language)
    words = _words()[language if name and language in _words() else "en"]
    return str(words["any_point"]).replace("{point}", name or point.replace("_", " "))


def _name_of(point: str, language: str) -> str | None:
    name = _words().get(language, {}).get("name", {}).get(point)
    if name is None and language == "en":
        return point.replace("_", " ")
    return str(name) if name else None


def sheet_question(sheet: ReferenceSheet | None, point: str) -> str:
    """The sheet's own question for a point, or an empty text."""
    if sheet is None:
        return ""
    if any(d.quantity == point for c in sheet.sizes.combinations for d in c.dimensions):
        return sheet.sizes.question
    return next((r.question for r in sheet.rules if r.point == point and r.question), "")


def compose_message(questions: Sequence[Question], language: str) -> str:
    """A message ready to copy; empty when there is nothing to ask."""
    if not questions:
        return ""
    words = _words().get(language, _words()["en"])
    lines = [f"- {question.text}" for question in questions]
    return "\n".join([str(words["opening"]), *lines, str(words["closing"])])


@cache
def _words() -> Mapping[str, Any]:
    data = files("models").joinpath("data/questions.toml").read_text("utf-8")
    table: Mapping[str, Any] = tomllib.loads(data)["language"]
    return table
