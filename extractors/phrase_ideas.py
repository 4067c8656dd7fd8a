"""The ideas in a sentence: words of five languages that mean the same, counted together.

"More photos, just ask" and "altre foto, basta chiedere" hold the ideas more, photo and ask. The
second opinion weighs each idea and each pair of them in a sentence, in whatever order they stand,
so that a wording nobody wrote down before is understood by its words. List: data/phrase_ideas.csv.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, reduce
from itertools import combinations
from operator import or_

import numpy as np

from extractors.lexicon import UNKNOWN, read_rows
from extractors.reading import listed_words

Row = Mapping[str, float]
_KEPT = 20_000  # words whose ideas are kept
_LEAST = 3  # letters of the shortest beginning


class Ideas(dict[str, int]):
    """The ideas of each word, as bits; `names` in the order of the bits."""

    def __init__(self) -> None:
        rows = [(row["idea"], row["word"]) for row in read_rows("phrase_ideas")]
        self.names = (*sorted({idea for idea, _ in rows}),)
        bits = {name: 1 << place for place, name in enumerate(self.names)}
        whole: defaultdict[str, int] = defaultdict(int)
        self._beginnings: defaultdict[str, list[tuple[str, int]]] = defaultdict(list)
        for idea, word in rows:
            if word.endswith("*"):
                self._beginnings[word[:_LEAST]].append((word[:-1], bits[idea]))
            else:
                whole[word] |= bits[idea]
        for word, held in [*whole.items()]:
            whole[word] = held | self._begun(word)
        super().__init__(whole)

    def __missing__(self, key: str) -> int:
        held = self._begun(key)
        if len(self) < _KEPT:
            self[key] = held
        return held

    def _begun(self, key: str) -> int:
        held = 0
        for beginning, bits in self._beginnings.get(key[:_LEAST], ()):
            if key.startswith(beginning):
                held |= bits
        return held

    def of(self, keys: Iterable[str]) -> int:
        """Give the ideas of some words together."""
        return reduce(or_, map(self.__getitem__, keys), 0)


@cache
def ideas() -> Ideas:
    """The list of ideas."""
    return Ideas()


def named_ideas(keys: Sequence[str]) -> Iterator[str]:
    """The ideas of a run of words by name, and each two of them with a space between."""
    table = ideas()
    held = table.of(keys)
    names = [name for place, name in enumerate(table.names) if held >> place & 1]
    yield from names
    yield from map(" ".join, combinations(names, 2))


class IdeaWeights:
    """What ideas add to the log-odds of classes: each alone and each two together."""

    def __init__(self, rows: Mapping[str, Row], classes: Sequence[str]) -> None:
        self._names = ideas().names if rows else ()
        places = {name: place for place, name in enumerate(self._names)}
        size = len(places)
        self._table = np.zeros((size, size, len(classes)), np.float32)
        for named, row in rows.items():
            first, _, second = named.partition(" ")
            for name, weight in row.items():
                self._table[places[first], places[second or first], classes.index(name)] = weight
        self._bits = np.arange(size, dtype=np.int64)
        self._of_listed = _array_of({number: ideas()[w] for number, w in listed_words().items()})

    def of_words(self, keys: Sequence[str], coded: str) -> np.ndarray:
        """Give the ideas of each word as bits, of a break before them none: int64."""
        letters = np.frombuffer(f"{UNKNOWN}{coded}".encode("utf-32-le"), np.uint32)
        held = self._of_listed[letters]
        table = ideas()
        for place in (letters == ord(UNKNOWN)).nonzero()[0][1:].tolist():
            held[place] = table[keys[place - 1]]
        return held

    def gains(self, held: np.ndarray) -> np.ndarray:
        """Give what ideas, as bits, add: (sentences, classes) float64.

        By look-up, not as a product of matrices: numpy gives those to a library that would start
        threads, which cost more than these small sums.
        """
        sentences, places = self._told(held).nonzero()
        rows, first, second = _pairs(sentences, places, len(held))
        classes = self._table.shape[2]
        sums = rows[:, None] * classes + np.arange(classes)
        added = self._table[first, second]
        gained = np.bincount(sums.ravel(), added.ravel(), len(held) * classes)
        return gained.reshape(len(held), classes)

    def shares(self, keys: Sequence[str], column: int) -> list[float]:
        """Give what each word's ideas add to a class, those of other words given."""
        table = ideas()
        held = self._told(np.array([table.of(keys), *map(table.__getitem__, keys)], np.int64))
        weights = self._table[:, :, column]
        of_ideas = ((weights + weights.T) * held[0]).sum(1)
        return [float(one) for one in (held[1:] * of_ideas).sum(1)]

    def _told(self, held: np.ndarray) -> np.ndarray:
        """Give bits as numbers: (sentences, ideas) float32."""
        told: np.ndarray = ((held[:, None] >> self._bits) & 1).astype(np.float32)
        return told


def _pairs(
    rows: np.ndarray, places: np.ndarray, count: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Of ideas at `places` of `rows`, which rise to below `count`: each with each of its row."""
    many = np.bincount(rows, minlength=count)
    begins = (many.cumsum() - many)[rows]
    times = many[rows]
    within = np.arange(times.sum()) - (times.cumsum() - times).repeat(times)
    return rows.repeat(times), places.repeat(times), places[begins.repeat(times) + within]


def _array_of(numbers: Mapping[int, int]) -> np.ndarray:
    """Give an array that has each number at its place, and none at the others: int64."""
    made = np.zeros(max(numbers, default=0) + 1, np.int64)
    made[[*numbers]] = [*numbers.values()]
    return made
