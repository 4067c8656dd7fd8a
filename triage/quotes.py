"""The seller's text as HTML, with exactly the quoted characters marked."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup, escape

from models.records import Result


@dataclass(frozen=True, slots=True)
class Note:
    """Why a stretch of text is marked: `kind` is "read" or the result of finding `number`."""

    kind: Result | str
    text: str
    number: int | None = None


@dataclass(frozen=True, slots=True)
class Quote:
    """A stretch [start, end) of a text and the notes on it."""

    start: int
    end: int
    notes: tuple[Note, ...]


# a conflict outranks what else is said of the same words
_ORDER = ("conflicts", "undecided", "agrees", "no_reference", "not_stated", "read")


def gather(notes: Iterable[tuple[int, int, Note]]) -> tuple[Quote, ...]:
    """Join the notes on the same stretch; outer stretches come before inner ones."""
    places: dict[tuple[int, int], list[Note]] = {}
    for start, end, note in notes:
        if start < end and note not in places.setdefault((start, end), []):
            places[start, end].append(note)
    quotes = [Quote(start, end, tuple(given)) for (start, end), given in places.items() if given]
    return tuple(sorted(quotes, key=lambda quote: (quote.start, -quote.end)))


def cut(quotes: Iterable[Quote], start: int, end: int) -> tuple[Quote, ...]:
    """The parts of the quotes that lie in [start, end), counted from start."""
    return tuple(
        replace(quote, start=max(quote.start, start) - start, end=min(quote.end, end) - start)
        for quote in quotes
        if quote.start < end and quote.end > start
    )


def marked(text: str, quotes: Sequence[Quote], card: str) -> Markup:
    """The text with its quotes in <mark>; crossing quotes are cut at the crossing.

    `card` is the element id that the findings' own ids begin with. The text between the tags is
    the given text, character by character, but for control characters, which are replaced.
    """
    return _marked(seemly(text), 0, len(text), list(quotes), card)


def _marked(text: str, start: int, end: int, quotes: list[Quote], card: str) -> Markup:
    out: list[Markup] = []
    while quotes:
        quote = quotes.pop(0)
        inside = [other for other in quotes if other.start < quote.end]
        after = [replace(o, start=quote.end) for o in inside if o.end > quote.end]
        quotes = after + [other for other in quotes if other.start >= quote.end]
        inside = [replace(other, end=min(other.end, quote.end)) for other in inside]
        out.append(escape(text[start : quote.start]))
        inner = _marked(text, quote.start, quote.end, inside, card)
        out.append(_mark(quote, inner, card))
        start = quote.end
    out.append(escape(text[start:end]))
    return Markup("").join(out)


def _mark(quote: Quote, inner: Markup, card: str) -> Markup:
    kind = min((note.kind for note in quote.notes), key=_rank)
    told = "; ".join(dict.fromkeys(note.text for note in quote.notes))
    numbers = sorted({note.number for note in quote.notes if note.number is not None})
    links = Markup("").join(
        Markup('<a class="note" href="#{0}f{1}" aria-label="finding {1}">{1}</a>').format(card, n)
        for n in numbers
    )
    body = Markup('<mark class="{}" title="{}">{}</mark>').format(kind, told, inner)
    return body + links


def _rank(kind: str) -> int:
    return _ORDER.index(kind) if kind in _ORDER else len(_ORDER)


_UNSEEMLY = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff]"
)


def seemly(text: str) -> str:
    """The text without control characters and direction overrides, at the same length."""
    return _UNSEEMLY.sub("\N{REPLACEMENT CHARACTER}", text)
