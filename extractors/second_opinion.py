"""A trained second opinion on key phrases: sellers word them in more ways than a list can hold.

The cues of `data/key_phrases.csv` speak first. A sentence in which they find nothing of a class is
weighed word by word: the sum of the weights of its words, their beginnings and their pairs is a
log-odds, as in any logistic regression, and the words that made it are what is quoted. Weights,
how they came about and how good they are: `data/phrase_weights.json`, `data/phrase_weights.md`
and `tests/evaluation/train_phrases.py`.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from importlib.resources import files
from itertools import accumulate
from typing import NamedTuple, TypeVar

import numpy as np

from extractors.lexicon import UNKNOWN
from extractors.phrase_ideas import IdeaWeights, Row, ideas
from extractors.reading import Reading, listed_words

_LONG = 30  # words of a run without a stop that are weighed in windows
_WINDOW = 20
_STEM = 5  # letters of a long word that stand for its forms
_SPEAKS = 0.4  # least log-odds of a word that is quoted
_MARKS = frozenset(".,;:!?()\"'“”«»-–—/|•·*")


class Tables(NamedTuple):
    """Features by kind, so that few are looked up: most words begin no known pair."""

    words: dict[str, Row]
    stems: dict[str, Row]
    pairs: dict[str, dict[str, Row]]
    gaps: dict[str, dict[str, Row]]


@dataclass(frozen=True)
class Weights:
    """Log-odds by class: where each starts, what it must reach, and what features add."""

    starts: Mapping[str, float]
    least: float
    features: Mapping[str, Row]
    of_ideas: Mapping[str, Row] = field(default_factory=dict)

    @cached_property
    def ideas(self) -> IdeaWeights:
        """What the ideas of sentences add."""
        return IdeaWeights(self.of_ideas, (*self.starts,))

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
    def bounds(self) -> Bounds:
        """What the features can add at most."""
        return Bounds(self)


class _Numbers(dict[str, int]):
    """The number of each word: its own if features name it, else that of its stem or _OTHER."""

    def __init__(self, tables: Tables) -> None:
        words = dict.fromkeys(tables.words)
        for table in (tables.pairs, tables.gaps):
            for first, seconds in table.items():
                words.update(dict.fromkeys((first, *seconds)))
        words.pop("", None)
        super().__init__({word: number for number, word in enumerate(words, _OTHER + 1)})
        self._stems = {stem: len(self) + n for n, stem in enumerate(tables.stems, _OTHER + 1)}
        self[""] = _BREAK

    def __missing__(self, key: str) -> int:
        number = _OTHER
        if key in _MARKS or not key.strip():
            number = _MARK
        elif key[0].isdigit():
            number = self.get("#", _OTHER)
        elif len(key) > _STEM + 1:
            number = self._stems.get(key[:_STEM], _OTHER)
        if len(self) < _WORDS_KEPT:
            self[key] = number
        return number


Number = TypeVar("Number", int, np.ndarray)
_MARK, _BREAK, _OTHER = -1, 0, 1
_WORDS_KEPT = 20_000
_ROUNDING = 1e-6  # of sums of floats
_SLACK = 1e-3  # the same of what ideas add, which are summed in single precision


class Bounds:
    """The most that the words of each sentence can add to a class; all sentences at once.

    At first every feature counts as often as it stands there, and only where it adds. `_weigh`
    takes each once and also what they take away, so what cannot reach enough here cannot do so
    there. Where a class is in reach, each counts once and what is taken away too; but not by stems,
    which words may share.
    """

    def __init__(self, weights: Weights) -> None:
        tables = weights.tables
        self._ideas = weights.ideas
        self._names = tuple(weights.starts)
        self._missing = weights.least - _ROUNDING - np.array([*weights.starts.values()])
        self._number_of = numbers = _Numbers(tables)
        words = [word for word in numbers if word]
        of_words = self._rows([None, None, *map(tables.words.get, words)])
        of_stems = self._rows([None, None, *(tables.stems.get(_stem_of(word)) for word in words)])
        stems = _gains(self._rows(tables.stems.values()))
        self._alone = np.vstack([_gains(of_words) + _gains(of_stems), stems])
        alone = np.vstack([of_words + _gains(of_stems), stems])
        self._size = len(self._alone)
        self._of_listed = _array_of(
            {number: numbers[word] for number, word in listed_words().items()}
        )
        together = {
            self._code(kind, numbers[first], numbers[second]): row
            for kind, table in enumerate((tables.pairs, tables.gaps))
            for first, seconds in table.items()
            for second, row in seconds.items()
        }
        self._codes = np.array([*sorted(together), np.iinfo(np.int32).max], np.int32)
        full = self._rows([*(together[code] for code in sorted(together)), None])
        self._together = _gains(full)
        self._in_full = [*zip(alone.T.tolist(), full.T.tolist(), strict=True)]

    def _rows(self, rows: Iterable[Row | None]) -> np.ndarray:
        """The weights of features: (features, classes) float64."""
        told = [*rows]
        found = np.zeros((len(told), len(self._names)))
        columns = {name: column for column, name in enumerate(self._names)}
        for place, row in enumerate(told):
            for name, weight in row.items() if row else ():
                found[place, columns[name]] = weight
        return found

    def _code(self, kind: int, first: Number, second: Number) -> Number:
        """The code of a pair (kind 0) or gap (1) of words."""
        code: Number = (kind * self._size + first) * self._size + second
        return code

    def within_reach(
        self,
        keys: Sequence[str],
        coded: str,
        lasts: Sequence[int],
        is_asked: Callable[[int, str], bool],
    ) -> dict[int, list[str]]:
        """Give the classes that each sentence may reach enough for, by its number; most none.

        `lasts` are the words behind the sentences, but for the last one; `is_asked` tells for
        which sentences and classes this matters.
        """
        told = self._told(keys, coded)
        told[lasts] = _BREAK  # the stop each ends with
        held = self._ideas.of_words(keys, coded)
        held = np.bitwise_or.reduceat(held, (told == _BREAK).nonzero()[0])
        missing = self._missing - _SLACK - self._ideas.gains(held)
        told = told[told != _MARK]
        places = self._places(told)
        begins = (told == _BREAK).nonzero()[0]
        sums = np.add.reduceat(self._gained(told, places), begins)
        rows, columns = (sums >= missing).nonzero()
        ends = [*begins[1:].tolist(), len(told)]
        reached: dict[int, list[str]] = {}
        for number, column in zip(rows.tolist(), columns.tolist(), strict=True):
            name, words = self._names[column], (int(begins[number]), ends[number])
            least = missing[number, column]
            if is_asked(number, name) and self._may(told, places, words, column, least):
                reached.setdefault(number, []).append(name)
        return reached

    def _told(self, keys: Sequence[str], coded: str) -> np.ndarray:
        """Give the numbers of words behind a _BREAK; those of listed words are known by letter."""
        letters = np.frombuffer(f"{UNKNOWN}{coded}".encode("utf-32-le"), np.uint32)
        told: np.ndarray = self._of_listed[letters].astype(np.int32)
        for place in (letters == ord(UNKNOWN)).nonzero()[0][1:].tolist():
            told[place] = self._number_of[keys[place - 1]]
        return told

    def _places(self, told: np.ndarray) -> np.ndarray:
        """Where the features of pairs, and behind them those of gaps, are kept; -1 is nowhere."""
        pairs = self._code(0, told[:-1], told[1:])
        codes = np.concatenate((pairs, self._code(1, told[:-2], told[2:])))
        places = self._codes.searchsorted(codes)
        places[self._codes[places] != codes] = -1  # the last row adds nothing
        return places

    def _gained(self, told: np.ndarray, places: np.ndarray) -> np.ndarray:
        """What each word adds, alone and with those before it: (words, classes)."""
        together = self._together[places]
        gains: np.ndarray = self._alone[told]
        gains[1:] += together[: len(told) - 1]
        gains[2:] += together[len(told) - 1 :]
        return gains

    def _may(
        self,
        told: np.ndarray,
        places: np.ndarray,
        words: tuple[int, int],
        column: int,
        least: float,
    ) -> bool:
        """Tell whether the words [first, last) of a sentence may still reach so much."""
        first, last = words
        behind = len(told)  # of the gaps; none goes over the break that a sentence begins with
        pairs, gaps = places[first : last - 1], places[behind + first : behind + last - 2]
        alone, together = self._in_full[column]
        gained = sum(map(alone.__getitem__, {*told[first:last].tolist()}))
        gained += sum(map(together.__getitem__, {*pairs.tolist(), *gaps.tolist()}))
        return bool(gained >= least)


def _gains(rows: np.ndarray) -> np.ndarray:
    """What rows of weights add."""
    gains: np.ndarray = np.maximum(rows, 0.0)
    return gains


def _array_of(numbers: Mapping[int, int]) -> np.ndarray:
    """Give an array that has each number at its place, and _BREAK at the others: int16."""
    made = np.full(max(numbers, default=0) + 1, _BREAK, np.int16)
    made[[*numbers]] = [*numbers.values()]
    return made


def _stem_of(word: str) -> str:
    return word[:_STEM] if len(word) > _STEM + 1 else ""


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
    return Weights(data["starts"], data["least"], data["features"], data["ideas"])


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


def opinions(
    reading: Reading, known: Collection[tuple[int, str]] = frozenset()
) -> Iterator[Opinion]:
    """Weigh every sentence for every class; what reaches enough is given, once a class.

    `known` are sentences, by number, and classes that need no second opinion. What was found of
    lines that come often is kept with them.
    """
    told, settled = _kept(reading)
    every = range(len(reading.sentences))
    others = [number for number in every if number not in settled] if settled else every
    told |= _opinions_of(reading, others, known)
    _keep(reading, told)
    for number in sorted(told):
        yield from told[number]


def _kept(reading: Reading) -> tuple[dict[int, list[Opinion]], set[int]]:
    """Give what was found before of lines that come often, and their sentences."""
    told: dict[int, list[Opinion]] = {}
    settled: set[int] = set()
    for first, last, memory in reading.known:
        if "opinions" in memory:
            settled.update(range(first, last))
            for number, found in memory["opinions"]:
                told[first + number] = _moved(found, reading.sentences[first][0])
    return told, settled


def _keep(reading: Reading, told: Mapping[int, list[Opinion]]) -> None:
    """Keep what was found with the lines that come often."""
    for first, last, memory in reading.known:
        if "opinions" not in memory:
            at = reading.sentences[first][0]
            memory["opinions"] = [
                (number - first, _moved(told[number], -at))
                for number in range(first, last)
                if number in told
            ]


def _moved(found: list[Opinion], by: int) -> list[Opinion]:
    return [one._replace(first=one.first + by, last=one.last + by) for one in found]


def _opinions_of(
    reading: Reading, numbers: Sequence[int], known: Collection[tuple[int, str]]
) -> dict[int, list[Opinion]]:
    """Weigh sentences, given by number: what reaches enough by sentence, once a class."""
    table = weights()
    found: dict[int, list[Opinion]] = {}
    for number, names in _reached(reading, numbers, known).items():
        best: dict[str, Opinion] = {}
        for begin, end in _windows(*reading.sentences[number]) if names else ():
            for opinion in _weigh(table, names, reading.keys[begin:end], begin):
                other = best.get(opinion.phrase_class)
                if other is None or other.log_odds < opinion.log_odds:
                    best[opinion.phrase_class] = opinion
        if best:
            found[number] = [*best.values()]
    return found


def _reached(
    reading: Reading, numbers: Sequence[int], known: Collection[tuple[int, str]]
) -> dict[int, list[str]]:
    """Give the classes that sentences may reach enough for; all for those weighed in windows."""
    if not numbers:
        return {}
    table, sentences = weights(), reading.sentences
    keys, coded = reading.keys, reading.coded
    if len(numbers) < len(sentences):
        sentences = tuple([sentences[number] for number in numbers])
        keys = tuple([key for first, last in sentences for key in keys[first:last]])
        coded = "".join([coded[first:last] for first, last in sentences])
    lengths = [last - first for first, last in sentences]
    lasts = [*accumulate(lengths)][:-1]

    def is_asked(place: int, name: str) -> bool:
        return (numbers[place], name) not in known

    found = table.bounds.within_reach(keys, coded, lasts, is_asked)
    reached = {numbers[place]: names for place, names in found.items()}
    for number, length in zip(numbers, lengths, strict=True) if max(lengths) > _LONG else ():
        if length > _LONG:
            reached[number] = [name for name in table.starts if (number, name) not in known]
    return reached


def _windows(first: int, last: int) -> Iterator[tuple[int, int]]:
    if last - first <= _LONG:
        yield first, last
        return
    for begin in range(first, last - _WINDOW // 2, _WINDOW // 2):
        yield begin, min(last, begin + _WINDOW)


def _weigh(
    table: Weights, names: Iterable[str], keys: Sequence[str], offset: int
) -> Iterator[Opinion]:
    spoken = _spoken(table.tables, keys)
    gains = table.ideas.gains(np.array([ideas().of(keys)], np.int64))[0].tolist()
    of_ideas = dict(zip(table.starts, gains, strict=True))
    for name in names:
        total = table.starts[name] + of_ideas[name]
        for _, row in spoken:
            if name in row:
                total += row[name]
        if total >= table.least:
            by_word = dict(enumerate(table.ideas.shares(keys, [*table.starts].index(name))))
            for place, row in spoken:
                by_word[place] = by_word.get(place, 0.0) + row.get(name, 0.0)
            yield _quoted(name, total, by_word, offset)


def _spoken(tables: Tables, keys: Sequence[str]) -> list[tuple[int, Row]]:
    """The known features of `features_of`, each once, with the place of the word it ends with."""
    words, stems, pairs, gaps = tables
    spoken: list[tuple[int, Row]] = []
    before: Mapping[str, Row] = pairs.get("", _NOTHING)
    gap = next_gap = _NOTHING
    for place, key in enumerate(keys):
        if key in _MARKS or not key.strip():
            continue
        word = "#" if key[0].isdigit() else key
        if word in words:
            spoken.append((place, words[word]))
        if len(word) > _STEM + 1 and word[:_STEM] in stems:
            spoken.append((place, stems[word[:_STEM]]))
        if word in before:
            spoken.append((place, before[word]))
        if word in gap:
            spoken.append((place, gap[word]))
        before, gap, next_gap = pairs.get(word, _NOTHING), next_gap, gaps.get(word, _NOTHING)
    firsts: dict[int, tuple[int, Row]] = {}
    for place, row in spoken:
        firsts.setdefault(id(row), (place, row))
    return [*firsts.values()]


_NOTHING: Mapping[str, Row] = {}


def _quoted(name: str, total: float, by_word: Mapping[int, float], offset: int) -> Opinion:
    """From the first to the last word that speaks for the class."""
    places = [place for place, weight in by_word.items() if weight >= _SPEAKS]
    places = places or [max(by_word, key=lambda place: by_word[place])] if by_word else [0]
    return Opinion(name, offset + min(places), offset + max(places) + 1, total)
