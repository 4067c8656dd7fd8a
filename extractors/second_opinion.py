"""A trained second opinion on key phrases: sellers word them in more ways than a list can hold.

The cues of `data/key_phrases.csv` speak first. A sentence in which they find nothing of a class is
weighed word by word: the sum of the weights of its words, their beginnings and their pairs is a
log-odds, as in any logistic regression, and the words that made it are what is quoted. Weights,
how they came about and how good they are: `data/phrase_weights.json`, `data/phrase_weights.md`
and `tests/evaluation/train_phrases.py`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.resources import files
from typing import NamedTuple

from extractors.reading import Reading

_LONG = 30  # words of a run without a stop that are weighed in windows
_WINDOW = 20
_STEM = 5  # letters of a long word that stand for its forms
_SPEAKS = 0.4  # least log-odds of a word that is quoted
_MARKS = frozenset(".,;:!?()\"'“”«»-–—/|•*")


Row = Mapping[str, float]


class Tables(NamedTuple):
    """Features by kind, so that few are looked up: most words begin no known pair."""

    words: dict[str, Row]
    stems: dict[str, Row]
    pairs: dict[str, dict[str, Row]]
    gaps: dict[str, dict[str, Row]]


class _Heard(NamedTuple):
    """What one word can add at most: alone, and in the pairs that it begins."""

    word: str
    most: float
    pairs: dict[str, float]
    gaps: dict[str, float]


@dataclass(frozen=True)
class Weights:
    """Log-odds by class: where each starts, what it must reach, and what features add."""

    starts: Mapping[str, float]
    least: float
    features: Mapping[str, Row]

    @cached_property
    def tables(self) -> Tables:
        """The features sorted by kind."""
        made = Tables({}, {}, {}, {})
        for feature, row in self.features.items():
            first, gap, second = feature.rpartition(" _ ")
            if gap:
                made.gaps.setdefault(first, {})[second] = row
                continue
            first, gap, second = feature.partition(" ")
            if gap:
                made.pairs.setdefault(first, {})[second] = row
            elif feature.endswith("~"):
                made.stems[feature[:-1]] = row
            else:
                made.words[feature] = row
        return made

    @cached_property
    def heard(self) -> dict[str, _Heard | None]:
        """The words met so far with what they can add; None for marks."""
        return {}

    @cached_property
    def _most_of_pairs(self) -> tuple[dict[str, dict[str, float]], dict[str, dict[str, float]]]:
        pairs, gaps = (
            {
                first: {second: _most(row) for second, row in rows.items()}
                for first, rows in table.items()
            }
            for table in (self.tables.pairs, self.tables.gaps)
        )
        return pairs, gaps

    def hear(self, key: str) -> _Heard | None:
        """Look a word up that was not met before."""
        if len(self.heard) > _WORDS_KEPT:
            self.heard.clear()
        pairs, gaps = self._most_of_pairs
        if key in _MARKS or not key.strip():
            self.heard[key] = None
            return None
        word = "#" if key[0].isdigit() else key
        stem = self.tables.stems.get(word[:_STEM]) if len(word) > _STEM + 1 else None
        most = _most(self.tables.words.get(word)) + _most(stem)
        heard = _Heard(word, most, pairs.get(word, {}), gaps.get(word, {}))
        self.heard[key] = heard
        return heard

    def can_reach(self, keys: Sequence[str]) -> bool:
        """Tell whether the most that each word may add is enough for any class; most are not."""
        missing = self.least - max(self.starts.values()) - _ROUNDING
        heard = self.heard
        before = self._most_of_pairs[0].get("", {})
        gap: dict[str, float] = {}
        next_gap: dict[str, float] = {}
        for key in keys:
            known = heard[key] if key in heard else self.hear(key)
            if known is None:
                continue
            word, most, pairs, gaps = known
            missing -= most
            if before:
                missing -= before.get(word, 0.0)
            if gap:
                missing -= gap.get(word, 0.0)
            if missing <= 0:
                return True
            before, gap, next_gap = pairs, next_gap, gaps
        return False


_WORDS_KEPT = 20_000
_ROUNDING = 1e-6  # of sums of floats


def _most(row: Row | None) -> float:
    """The most that a feature adds to any class."""
    return max(0.0, *row.values()) if row else 0.0


class Opinion(NamedTuple):
    """Words [first, last) speak for a class, with this log-odds."""

    phrase_class: str
    first: int
    last: int
    log_odds: float


@cache
def weights() -> Weights:
    """The trained weights."""
    data = json.loads(files("extractors").joinpath("data/phrase_weights.json").read_text("utf-8"))
    return Weights(data["starts"], data["least"], data["features"])


def features_of(keys: Sequence[str]) -> Iterator[tuple[int, str]]:
    """The features of a run of words, each with the place of the word it ends with."""
    before = two_before = ""
    for place, key in enumerate(keys):
        if key in _MARKS or not key.strip():
            continue
        word = "#" if key[0].isdigit() else key
        yield place, word
        if len(word) > _STEM + 1:
            yield place, word[:_STEM] + "~"
        yield place, f"{before} {word}"
        if two_before:
            yield place, f"{two_before} _ {word}"
        two_before, before = before, word


def opinions(reading: Reading) -> Iterator[Opinion]:
    """Weigh every sentence for every class; what reaches enough is given, once a class."""
    table = weights()
    keys = reading.keys
    for first, last in reading.sentences:
        if last - first <= _LONG and not table.can_reach(keys[first:last]):
            continue
        found: dict[str, Opinion] = {}
        for begin, end in _windows(first, last):
            for opinion in _weigh(table, keys[begin:end], begin):
                known = found.get(opinion.phrase_class)
                if known is None or known.log_odds < opinion.log_odds:
                    found[opinion.phrase_class] = opinion
        yield from found.values()


def _windows(first: int, last: int) -> Iterator[tuple[int, int]]:
    if last - first <= _LONG:
        yield first, last
        return
    for begin in range(first, last - _WINDOW // 2, _WINDOW // 2):
        yield begin, min(last, begin + _WINDOW)


def _weigh(table: Weights, keys: Sequence[str], offset: int) -> Iterator[Opinion]:
    spoken = [*_spoken(table.tables, keys)]
    sums = dict(table.starts)
    for _, row in spoken:
        for name, weight in row.items():
            sums[name] += weight
    for name, total in sums.items():
        if total >= table.least:
            yield _quoted(name, total, spoken, offset)


def _spoken(tables: Tables, keys: Sequence[str]) -> Iterator[tuple[int, Row]]:
    """The known features of `features_of`, each once, with the place of the word it ends with."""
    words, stems, pairs, gaps = tables
    seen: set[int] = set()
    before: Mapping[str, Row] = pairs.get("", {})
    gap: Mapping[str, Row] = {}
    next_gap: Mapping[str, Row] = {}
    for place, key in enumerate(keys):
        if key in _MARKS or not key.strip():
            continue
        word = "#" if key[0].isdigit() else key
        for row in (
            words.get(word),
            stems.get(word[:_STEM]) if len(word) > _STEM + 1 else None,
            before.get(word),
            gap.get(word),
        ):
            if row and id(row) not in seen:
                seen.add(id(row))
                yield place, row
        before, gap, next_gap = pairs.get(word, _NOTHING), next_gap, gaps.get(word, _NOTHING)


_NOTHING: Mapping[str, Row] = {}


def _quoted(
    name: str, total: float, spoken: Sequence[tuple[int, Mapping[str, float]]], offset: int
) -> Opinion:
    """From the first to the last word that speaks for the class."""
    by_word: dict[int, float] = {}
    for place, row in spoken:
        by_word[place] = by_word.get(place, 0.0) + row.get(name, 0.0)
    places = [place for place, weight in by_word.items() if weight >= _SPEAKS]
    places = places or [max(by_word, key=lambda place: by_word[place])] if by_word else [0]
    return Opinion(name, offset + min(places), offset + max(places) + 1, total)
