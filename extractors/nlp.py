"""The spaCy part: one vocabulary per process and its phrase matcher, for long phrases.

No pipeline component and no trained model is loaded: extractors.reading cuts the words (spaCy's
own tokenizer would take the whole time allowed for a listing), the matching is spaCy's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from itertools import takewhile
from typing import Generic, TypeVar

from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc
from spacy.vocab import Vocab

Meaning = TypeVar("Meaning")


@cache
def known_words() -> Vocab:
    """Give the one vocabulary of this process; it works out no word attributes."""
    return Vocab()


def make_doc(words: Iterable[str]) -> Doc:
    """Wrap ready-cut words in a spaCy document."""
    return Doc(known_words(), words=list(words))


class PhraseTable(Generic[Meaning]):
    """Phrases, given as tuples of words, and what each means."""

    def __init__(self, phrases: Mapping[tuple[str, ...], Sequence[Meaning]]) -> None:
        self._words = frozenset(word for words in phrases for word in words)
        self._longest = max(map(len, phrases), default=0)
        self._meanings = list(phrases.values())
        self._matcher = PhraseMatcher(known_words(), attr="ORTH")
        for number, words in enumerate(phrases):
            self._matcher.add(str(number), [make_doc(words)])

    def find_at(self, words: Sequence[str], first: int) -> Iterator[tuple[int, Sequence[Meaning]]]:
        """Give, for each phrase that begins at a word, the word behind it and what it means."""
        near = words[first : first + self._longest]
        told = takewhile(self._words.__contains__, near)
        for key, begin, end in self._matcher(make_doc(told)):
            if begin == 0:
                yield first + end, self._meanings[int(known_words().strings[key])]
