"""Marks that are known by their form alone: fineness, standards, patents, countries of origin."""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from extractors.lexicon import read_rows
from extractors.reading import Reading

_EDGE = r"(?<![\w.,/€$£#])"


class Form(NamedTuple):
    """A mark known by its form: its kind, words [first, last), characters [start, end)."""

    kind: str
    first: int
    last: int
    start: int
    end: int


@cache
def _patterns() -> re.Pattern[str]:
    """Join the forms to one expression, the group name being kind and row number."""
    rows = enumerate(read_rows("mark_forms"))
    parts = (f"(?P<{row['kind']}_{number}>{row['pattern']})" for number, row in rows)
    return re.compile(f"{_EDGE}(?:{'|'.join(parts)})")


def kind_of_mark(text: str) -> str | None:
    """Name what kind of mark a literal is: fineness, standard, patent, country; None if unknown.

    >>> kind_of_mark("1/20 12k gf"), kind_of_mark("made in france"), kind_of_mark("V")
    ('fineness', 'country', None)
    """
    match = _patterns().match(text.casefold())
    return str(match.lastgroup).split("_")[0] if match else None


def find_forms(reading: Reading) -> dict[int, Form]:
    """Find the marks known by their form; by the number of their first word."""
    found: dict[int, Form] = {}
    for match in _patterns().finditer(reading.plain):
        first = reading.word_at(match.start())
        if (
            reading.starts[first] != match.start()
            or _in_figures(reading, first)
            or (match.group() in _CASED and not _is_written(reading, match))
        ):
            continue
        end = match.start() + len(match.group().rstrip(" .,"))
        last = reading.word_at(end - 1) + 1
        kind = str(match.lastgroup).split("_")[0]
        found[first] = Form(kind, first, last, match.start(), end)
    return found


_CASED = frozenset({"ce"})  # French "ce" is a word, "CE" is the mark


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
