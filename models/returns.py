"""Whether a seller takes the piece back, by the market's field and his own words.

The words stand in models/data/returns.toml by language; all languages are tried. Refusing in words
is also a phrase class of the extractors; where the same words offer a return, they refuse none.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any, Literal

from extractors.folding import plain
from extractors.records import Evidence, Listing

Returns = Literal["offered", "refused", "not said"]
READ = 12_000  # characters
_REFUSED = "returns_refused"
_NEGATED = re.compile(
    r"\b(?:no|not|never|cannot|can.?t|don.?t|won.?t|kein\w*|nicht|nie|pas|aucun\w*|non|nessun\w*|"
    r"niente|sin|ningun\w*)\b[^.!?,\n]{0,12}$"
)


@cache
def _data() -> Mapping[str, Any]:
    return tomllib.loads(files("models").joinpath("data/returns.toml").read_text("utf-8"))


@cache
def _patterns(kind: str) -> re.Pattern[str]:
    data = _data()
    part, _, row = kind.partition(".")
    rows = data[part][row] if row else [p for words in data[part].values() for p in words]
    return re.compile("|".join(f"(?:{pattern})" for pattern in rows))


def returns_of(listing: Listing, evidence: Evidence | None) -> Returns:
    """Whether returns are offered or refused; "not said" also where both are.

    >>> returns_of(Listing("1", "x", returns="14 days"), None)
    'offered'
    >>> returns_of(Listing("1", "x", description="If it is not as I say, send it back."), None)
    'offered'
    """
    said = {_in_field(listing.returns or ""), *_in_words(listing.text[:READ], evidence)}
    told: set[Returns] = {answer for answer in said if answer != "not said"}
    return told.pop() if len(told) == 1 else "not said"


@lru_cache(maxsize=512)
def _in_field(text: str) -> Returns:
    folded = plain(text[:200])
    if _patterns("field.refuses").search(folded):
        return "refused"
    return "offered" if _patterns("field.offers").search(folded) else "not said"


def _in_words(text: str, evidence: Evidence | None) -> Iterator[Returns]:
    offers, refuses = _places(text)
    if offers:
        yield "offered"
    quoted = [
        (span.start, span.end)
        for phrase in (evidence.key_phrases if evidence else ())
        if phrase.phrase_class == _REFUSED
        for span in phrase.quoted[:1]
        if span.part == "text"
    ]
    if any(not _meets(place, offers) for place in (*quoted, *refuses)):
        yield "refused"


def _meets(place: tuple[int, int], others: Iterable[tuple[int, int]]) -> bool:
    return any(start < place[1] and place[0] < end for start, end in others)


@lru_cache(maxsize=2048)
def _places(text: str) -> tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]]:
    """Where the text offers returns, and where it refuses them."""
    folded = plain(text)
    offers = tuple(
        match.span()
        for match in _patterns("offers").finditer(folded)
        if not _NEGATED.search(folded, max(0, match.start() - 24), match.start())
    )
    return offers, tuple(match.span() for match in _patterns("refuses").finditer(folded))
