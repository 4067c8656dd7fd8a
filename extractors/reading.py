"""One text made ready for the extractors: its lines, each with a language, and a folded twin.

Extractors take a Reading and return evidence whose spans point into `Reading.text`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from extractors.records import Span

_STOPWORDS = {
    "en": "the and is of with it to in on no has are this for from by was",
    "de": "der die das und ist mit von im auf kein keine ein eine aus zu am den nicht",
    "fr": "le la les et est avec de du des sur pas un une dans pour en au sans",
    "it": "il lo la gli e di con del della sul non un una nel per da senza sono",
    "es": "el la los las y es con de del en no un una por para sin son",
}
_BY_WORD = {
    word: tuple(lang for lang, words in _STOPWORDS.items() if word in words.split())
    for words in _STOPWORDS.values()
    for word in words.split()
}


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the text (without its line break) and the language it is written in."""

    start: int
    end: int
    language: str


@dataclass(frozen=True, slots=True)
class Reading:
    """A text, its lines, and `folded`: the same length, lower case, look-alikes made plain."""

    text: str
    folded: str
    lines: tuple[Line, ...]
    language: str

    def span(self, start: int, end: int) -> Span:
        """Point at text[start:end]."""
        return Span("text", None, start, end, self.text[start:end])


def fold(text: str) -> str:
    """Lower-case character by character, so that offsets stay those of the original.

    >>> fold("Bügel İ")
    'bügel i'
    """
    lowered = text.lower()
    if len(lowered) == len(text):
        return lowered
    return "".join(character.lower()[:1] or character for character in text)


def guess_language(text: str, default: str = "en") -> str:
    """Name the language whose common words the text holds most of; `default` on a tie at none."""
    counts = dict.fromkeys(_STOPWORDS, 0)
    for word in re.findall(r"[^\W\d_]+", text.lower()):
        for language in _BY_WORD.get(word, ()):
            counts[language] += 1
    best = max(counts, key=lambda language: counts[language])
    return best if counts[best] else default


def prepare(text: str) -> Reading:
    """Make a text ready: linear in its length."""
    whole = guess_language(text)
    lines = tuple(
        Line(match.start(), match.end(), guess_language(match.group(), whole))
        for match in re.finditer(r"[^\n]+", text)
    )
    return Reading(text, fold(text), lines, whole)
