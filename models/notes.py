"""Safety notes raised by the seller's words: general words, no medical or legal advice.

The rows stand in models/data/notes.csv; adding a note is adding a row.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import cache
from importlib import resources

from extractors.records import Listing, Span
from models.passages import passages


@dataclass(frozen=True, slots=True)
class Note:
    """One note with its source and the words that raised it."""

    id: str
    text: str
    source: str
    quoted: Span


@cache
def _rows() -> tuple[tuple[str, re.Pattern[str], str, str], ...]:
    with resources.files("models").joinpath("data/notes.csv").open(encoding="utf-8") as file:
        return tuple(
            (r["id"], re.compile(rf"(?<![a-z])(?:{r['pattern']})(?![a-z])"), r["note"], r["source"])
            for r in csv.DictReader(file)
        )


def find_notes(listing: Listing) -> tuple[Note, ...]:
    """Every note the listing gives reason for, each once, at its first mention.

    >>> [note.id for note in find_notes(Listing("1", "x", "1930s celluloid frame"))]
    ['celluloid']
    """
    found: dict[str, Note] = {}
    for passage in passages(listing):
        for name, pattern, text, source in _rows():
            match = pattern.search(passage.folded) if name not in found else None
            if match and not re.search(
                r"\b(?:no|not|without|kein\w*|sans|senza|sin)\s+(?:\w+\s+)?$",
                passage.folded[: match.start()][-20:],
            ):
                found[name] = Note(name, text, source, passage.span(match.start(), match.end()))
    return tuple(found.values())
