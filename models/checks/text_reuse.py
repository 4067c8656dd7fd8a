"""Descriptions that other sellers use too, word for word or in part; shop phrases are discounted.

Runs of five words are compared (Broder, "On the resemblance and containment of documents", 1997).
Sentences of shipping, payment and returns are left out by the word list in data/shop_phrases.toml,
and so is what a seller writes under pieces of several kinds.
"""

from __future__ import annotations

import functools
import math
import re
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib import resources

from extractors.records import Listing, Span
from models.checks.corpus import Corpus
from models.checks.photo_reuse import are_named, are_other_sellers, order_of
from models.counts import count_text
from models.records import Finding, Strength

CHECK = "text_reuse"
POINT = "description"
CODES = (
    (CHECK, "conflicts", "hard"),
    (CHECK, "conflicts", "soft"),
    (CHECK, "conflicts", "clue"),
)
RUN = 5  # words
_MOST_USERS = 60  # a run in more listings than this finds no pairs
_COMMON_SELLERS = 4  # a run used by as many sellers counts less
_LEAST_SHOP_WORDS = 2
# least share of the shorter text, least runs in common
_STEPS: tuple[tuple[Strength, float, float], ...] = (
    ("hard", 0.8, 20),
    ("soft", 0.5, 14),
    ("clue", 0.3, 10),
)
_WORD = re.compile(r"[^\W_]+", re.UNICODE)
_SENTENCE = re.compile(r"[^.!?\n]+")
_INNOCENT = (
    "one seller under two names, or one owner selling in two places",
    "a maker's or a dealer's text that many copy",
    "a text copied for convenience for an honest piece",
)

Run = tuple[str, ...]


@dataclass(frozen=True)
class _Text:
    """A description as runs of words, each with its first place in the listing's text."""

    listing: Listing
    runs: dict[Run, tuple[int, int]]


@functools.cache
def shop_words() -> frozenset[str]:
    """Words of shipping, payment, returns and greetings, in all languages of the file."""
    raw = (resources.files("models") / "data" / "shop_phrases.toml").read_text("utf-8")
    rows = tomllib.loads(raw)["words"]
    return frozenset(word for row in rows for word in row["words"])


def check_text_reuse(corpus: Corpus) -> dict[str, tuple[Finding, ...]]:
    """One finding for each listing whose description another seller uses, naming it in `about`."""
    texts = [_read(one.listing) for one in corpus.examined]
    texts = _without_own_phrases(texts)
    weights = _weights(texts)
    found: dict[str, list[tuple[Strength, float, _Text, _Text]]] = defaultdict(list)
    for one, other in _meeting(texts):
        shared = one.runs.keys() & other.runs.keys()
        strength, share = _strength(shared, one, other, weights)
        if strength is not None:
            found[one.listing.id].append((strength, share, one, other))
            found[other.listing.id].append((strength, share, other, one))
    return {key: (_finding(rows),) for key, rows in found.items()}


def _read(listing: Listing) -> _Text:
    offset = len(listing.title) + 1
    runs: dict[Run, tuple[int, int]] = {}
    for sentence in _SENTENCE.finditer(listing.description):
        words = [
            (m.group().lower(), offset + m.start(), offset + m.end())
            for m in _WORD.finditer(listing.description, sentence.start(), sentence.end())
        ]
        if _is_shop_talk(word for word, _, _ in words):
            continue
        for at in range(len(words) - RUN + 1):
            part = words[at : at + RUN]
            runs.setdefault(tuple(word for word, _, _ in part), (part[0][1], part[-1][2]))
    return _Text(listing, runs)


def _is_shop_talk(words: Iterable[str]) -> bool:
    return sum(word in shop_words() for word in words) >= _LEAST_SHOP_WORDS


def _seller(listing: Listing) -> str:
    return listing.seller_id or listing.seller_name or listing.id


def _without_own_phrases(texts: Sequence[_Text]) -> list[_Text]:
    """Leave out runs that a seller writes under three pieces or more: a shop's standing words."""
    uses: Counter[tuple[str, Run]] = Counter()
    for text in texts:
        uses.update((_seller(text.listing), run) for run in text.runs)
    return [
        _Text(
            text.listing,
            {run: at for run, at in text.runs.items() if uses[_seller(text.listing), run] < 3},
        )
        for text in texts
    ]


def _weights(texts: Sequence[_Text]) -> dict[Run, float]:
    """How much a run counts: less, the more sellers use it."""
    sellers: dict[Run, set[str]] = defaultdict(set)
    for text in texts:
        for run in text.runs:
            sellers[run].add(_seller(text.listing))
    return {run: min(1.0, _COMMON_SELLERS / len(users)) for run, users in sellers.items()}


def _meeting(texts: Sequence[_Text]) -> list[tuple[_Text, _Text]]:
    """Pairs of texts of different sellers that share ten runs or more."""
    users: dict[Run, list[int]] = defaultdict(list)
    for number, text in enumerate(texts):
        for run in text.runs:
            users[run].append(number)
    together: Counter[tuple[int, int]] = Counter()
    for numbers in users.values():
        if 2 <= len(numbers) <= _MOST_USERS:
            together.update((a, b) for i, a in enumerate(numbers) for b in numbers[i + 1 :])
    return [
        (texts[a], texts[b])
        for (a, b), count in sorted(together.items())
        if count >= _STEPS[-1][2] and are_other_sellers(texts[a].listing, texts[b].listing)
    ]


def _strength(
    shared: Iterable[Run], one: _Text, other: _Text, weights: dict[Run, float]
) -> tuple[Strength | None, float]:
    """How strong, and the weighed share of the shorter text that both have."""
    common = math.fsum(weights[run] for run in shared)  # whatever order a set is walked in
    whole = min(math.fsum(weights[run] for run in text.runs) for text in (one, other))
    share = common / whole if whole else 0.0
    named = are_named(one.listing, other.listing)
    for strength, least_share, least_runs in _STEPS:
        if share >= least_share and common >= least_runs:
            return (strength if named else "clue"), share
    return None, share


def _finding(rows: Sequence[tuple[Strength, float, _Text, _Text]]) -> Finding:
    ranks = {strength: place for place, (strength, _, _) in enumerate(_STEPS)}
    strength, share, one, other = min(
        rows, key=lambda row: (ranks[row[0]], -row[1], row[3].listing.id)
    )
    count = len({_seller(row[3].listing) for row in rows})
    if all(order_of(one.listing, row[3].listing) == ("later", "listed") for row in rows):
        strength = _WEAKER[strength]  # the words were here first
    return Finding(
        CHECK,
        POINT,
        "conflicts",
        strength,
        f"{share:.0%} of the description beyond shop phrases is also used by "
        f"{count_text(count, 'other seller')}",
        quoted=(_longest(one, other),),
        cause=CHECK,
        explanations=_INNOCENT,
        about=tuple(sorted({row[3].listing.id for row in rows})),
    )


_WEAKER: dict[Strength, Strength] = {"hard": "soft", "soft": "clue", "clue": "clue"}


def _longest(one: _Text, other: _Text) -> Span:
    """The longest stretch of the one text that the other has too."""
    places = sorted(at for run, at in one.runs.items() if run in other.runs)
    best = current = places[0]
    for start, end in places[1:]:
        current = (current[0], end) if start < current[1] else (start, end)
        if current[1] - current[0] > best[1] - best[0]:
            best = current
    return Span("text", None, best[0], best[1], one.listing.text[best[0] : best[1]])
