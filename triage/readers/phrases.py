"""Sentences of a listing page that state a fact without a label (data/phrases.toml)."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from triage.readers.tables import table_of


@cache
def _data() -> dict[str, dict[str, list[str]]]:
    return table_of("phrases.toml")


@cache
def _pattern(kind: str) -> re.Pattern[str]:
    rows = [f"(?:{row})" for rows in _data()[kind].values() for row in rows]
    return re.compile("|".join(rows), re.I)


def starts_of(patterns: Iterable[str]) -> frozenset[str]:
    """The first three letters of every word in patterns, to pass over texts without any."""
    patterns = list(patterns)
    letters = (re.sub(r"\\[a-zA-Z.?]|\.\??", " ", p) for p in patterns)
    dotted = (re.sub(r"\\.\??", "", p) for p in patterns)
    short = (re.sub(r"[^\W\d_]\?", "", p) for p in patterns)  # without letters that may lack
    words = {w for text in (*letters, *dotted, *short) for w in re.findall(r"[^\W\d_]+", text)}
    return frozenset(w[:3].casefold() for w in words)


@cache
def _starts() -> frozenset[str]:
    return starts_of(row for k, rows in _data().items() for lang in rows.values() for row in lang)


_WORD = re.compile(r"[^\W\d_]+")


def may_say(text: str) -> bool:
    """Say quickly whether any phrase may be in a line; most lines of a page hold none."""
    return may_start(text, _starts())


def may_start(text: str, starts: frozenset[str]) -> bool:
    """Say whether a text's first word begins as one of the patterns' words does.

    Scripts that are written without spaces are let pass.
    """
    head = text[:3]
    if head.isascii() and head.isalpha() and len(head) == 3:
        return head.lower() in starts  # so begin most texts; the pattern takes longer
    first = _WORD.search(text)
    if first is None:
        return False
    word = first[0]
    start = word[:3].casefold().replace("\u0307", "")  # the dotted capital of Turkish
    return word[0] > "\u2e80" or start in starts


def _plain(text: str) -> str:
    return " ".join(text.replace("’", "'").split()).strip(" .!:·•|–—-()✓✔")


def says(kind: str, text: str) -> bool:
    """Say whether a short line is one of the phrases of a kind, and nothing else.

    >>> says("free_shipping", "Kostenloser Versand"), says("ended", "Ended with a nice patina")
    (True, False)
    """
    if len(text) > 120 or (kind in _BY_WORD and not may_start(text, _starts_of(kind))):
        return False
    return _pattern(kind).fullmatch(_plain(text)) is not None


def kinds_that_may_say(text: str) -> frozenset[str]:
    """The kinds, of those that `says` tells by the first word, of which a text may be a phrase."""
    head = text[:3]
    if head.isascii() and head.isalpha() and len(head) == 3:
        return _by_start().get(head.lower(), _NO_KINDS)
    first = _WORD.search(text)
    if first is None:
        return _NO_KINDS
    word = first[0]
    return _BY_WORD if word[0] > "\u2e80" else _by_start().get(word[:3].casefold(), _NO_KINDS)


@cache
def _by_start() -> dict[str, frozenset[str]]:
    starts = {start for kind in _BY_WORD for start in _starts_of(kind)}
    return {s: frozenset(k for k in _BY_WORD if s in _starts_of(k)) for s in starts}


_NO_KINDS: frozenset[str] = frozenset()


# kinds of which every phrase begins with a word of its own, so that the first word can tell
_BY_WORD = frozenset(
    ("sold", "ended", "open", "auction", "free_shipping", "offers", "no_offers", "reserved")
)


@cache
def _starts_of(kind: str) -> frozenset[str]:
    return starts_of(row for rows in _data()[kind].values() for row in rows)


_BEFORE_TITLE = re.compile(r"\W*([^\W_][^•·|:：–—\])\-]{0,40}?)\s*(?:[•·|:：–—\])]|\s-)\s*(?=\S)")
_AFTER_TITLE = re.compile(r"\s*(?:[•·|–—\[(]|\s-)\s*([^•·|–—\[(\-]{1,40})\W*$")


def without_state(title: str) -> tuple[str, str | None]:
    """A title without the state that a site writes into it, and that state.

    >>> without_state("Sold • Round frame"), without_state("Round frame - 46")
    (('Round frame', 'sold'), ('Round frame - 46', None))
    """
    for pattern in (_BEFORE_TITLE, _AFTER_TITLE):
        match = pattern.match(title) if pattern is _BEFORE_TITLE else pattern.search(title)
        kind = match and next((k for k in ("sold", "ended", "reserved") if says(k, match[1])), None)
        if match and kind and len(rest := title[: match.start()] + title[match.end() :]) > 3:
            return rest.strip(), kind
    return title, None


def mentions(kind: str, text: str) -> bool:
    """Say whether a phrase of a kind stands at a word's beginning somewhere in the text."""
    return _inside(kind).search(text.replace("’", "'")) is not None


def without(kind: str, text: str) -> str:
    """A text without the phrases of a kind.

    >>> without("tax_included", "12,00 € inkl. MwSt.")
    '12,00 € '
    """
    return _inside(kind).sub("", text)


@cache
def _inside(kind: str) -> re.Pattern[str]:
    return re.compile(rf"(?<!\w)(?:{_pattern(kind).pattern})", re.I)


def count_in(kind: str, text: str) -> int | None:
    """The number in a phrase such as "only 3 left"; None if the line is none."""
    match = _pattern(kind).fullmatch(_plain(text)) if len(text) <= 80 else None
    return next((int(g) for g in match.groups() if g), None) if match else None
