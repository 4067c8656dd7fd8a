"""Marks that are known by their form alone: fineness, standards, patents, countries of origin."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from functools import cache
from itertools import compress, count
from typing import NamedTuple

from extractors.folding import plain
from extractors.lexicon import WORD, read_rows, small_words
from extractors.reading import Reading

_EDGE = r"(?<![\w.,/€$£#])"


_NOT_SERIAL = small_words("not_serial")
_UNITS = small_words("fineness_unit")
_CASED = frozenset({"ce"})  # French "ce" is a word, "CE" is the mark


class Form(NamedTuple):
    """A mark known by its form: its kind, words [first, last), characters [start, end)."""

    kind: str
    first: int
    last: int
    start: int
    end: int


@cache
def _patterns() -> Mapping[str, re.Pattern[str]]:
    """Give, by the word they begin with, the forms joined to one expression.

    "#" stands for figures that no row names: bare ones only before a unit of fineness.
    """
    by_first: dict[str, list[str]] = defaultdict(list)
    rows = [(row, row["first"].split()) for row in read_rows("mark_forms")]
    told = {word for _, words in rows for word in words}
    for number, (row, words) in enumerate(rows):
        if "#" in words:
            words += [word for word in told if word[0].isdigit()]
        for word in words:
            by_first[word].append(f"(?P<{row['kind']}_{number}>{row['pattern']})")
    return {word: re.compile(f"{_EDGE}(?:{'|'.join(parts)})") for word, parts in by_first.items()}


def kind_of_mark(text: str) -> str | None:
    """Name what kind of mark a literal is: fineness, standard, patent, country; None if unknown.

    >>> kind_of_mark("1/20 12k gf"), kind_of_mark("made in france"), kind_of_mark("V")
    ('fineness', 'country', None)
    """
    folded = plain(text)
    word = WORD.match(folded)
    pattern = _patterns().get(_first_key(word.group())) if word else None
    match = pattern.match(folded) if pattern else None
    return str(match.lastgroup).split("_")[0] if match else None


def _first_key(word: str) -> str:
    return "#" if word[0].isdigit() and word not in _patterns() else word


def _figures(reading: Reading) -> list[int]:
    """Give the figures at which a form may begin that no row names by its first word."""
    words, patterns = reading.words, _patterns()
    figures = [number for number in reading.figures() if words[number] not in patterns]
    if _UNITS.isdisjoint(words):
        return [number for number in figures if not words[number].isdigit()]
    return [
        number
        for number in figures
        if not words[number].isdigit() or not _UNITS.isdisjoint(words[number + 1 : number + 2])
    ]


def find_forms(reading: Reading) -> dict[int, Form]:
    """Find the marks known by their form; by the number of their first word."""
    found: dict[int, Form] = {}
    patterns = _patterns()
    behind = 0
    begun = compress(count(), map(patterns.__contains__, reading.words))
    for first in sorted([*begun, *_figures(reading)]):
        if first < behind:
            continue
        word = reading.words[first]
        pattern = patterns[word] if word in patterns else patterns["#"]
        match = pattern.match(reading.plain, reading.starts[first])
        if match is None or _in_figures(reading, first):
            continue
        if word == "n" and first and reading.words[first - 1] in _NOT_SERIAL:
            continue  # "UK size N. 925 inside": the letter is the size
        if match.group() in _CASED and not _is_written(reading, match):
            continue
        end = match.start() + len(match.group().rstrip(" .,"))
        behind = reading.word_at(end - 1) + 1
        kind = str(match.lastgroup).split("_")[0]
        found[first] = Form(kind, first, behind, match.start(), end)
    return found


def _in_figures(reading: Reading, number: int) -> bool:
    """Tell whether figures stand right before, as in a telephone number."""
    if number == 0 or not reading.words[number][0].isdigit():
        return False
    gap = reading.plain[reading.ends[number - 1] : reading.starts[number]]
    return reading.words[number - 1].isdigit() and gap.strip() == ""


def _is_written(reading: Reading, match: re.Match[str]) -> bool:
    """Tell whether a short mark stands in capitals, or in a text that has none."""
    raw = reading.text[match.start() : match.end()]
    if raw.isupper():
        return True
    line = next((x for x in reading.lines if x.start <= match.start() < x.end), None)
    return line is None or line.language != "fr"
