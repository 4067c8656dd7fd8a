"""What the labels on listing pages mean: "Artikelnummer" is the listing's id (data/labels.toml)."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from triage.readers.phrases import may_start
from triage.readers.tables import table_of

LONGEST_LABEL = 60
_LETTERS = re.compile(r"[^\W\d_]+")


@cache
def _data() -> dict[str, dict[str, list[str]]]:
    return table_of("labels.toml")


@cache
def _labels() -> dict[str, str]:
    data = {**_data(), "listing_id": {**_data()["listing_id"], "lots": _data()["lot"]["all"]}}
    return {
        normal_label(label): field
        for field, languages in data.items()
        if field != "lot"
        for labels in languages.values()
        for label in labels
    }


@lru_cache(maxsize=4096)
def normal_label(text: str) -> str:
    """One spelling of a label: lower case, plain quotes, no closing colon, no parentheses."""
    text = text.replace("’", "'").replace("\u00a0", " ").casefold().replace("i\u0307", "i")
    text = re.sub(r"\([^)]*\)|\[[^\]]*\]|（[^）]*）", " ", text)
    return re.sub(r"\s+", " ", text).strip(" :：.*•·–—-|>\t¡!¿?")


def is_lot(label: str) -> bool:
    """Say whether a label of a listing's number is one that repeats in every sale ("Lot")."""
    return normal_label(label) in _lots()


@cache
def _lots() -> frozenset[str]:
    return frozenset(map(normal_label, _data()["lot"]["all"]))


@lru_cache(maxsize=4096)
def field_of_label(text: str) -> str | None:
    """The field that a label announces, "none" for a known other row, None if it is unknown.

    >>> field_of_label("Artikelnummer:"), field_of_label("Time left"), field_of_label("Bridge")
    ('listing_id', 'none', None)
    """
    if len(text) > LONGEST_LABEL or not may_start(text, _starts()):
        return None
    label = normal_label(text)
    return _labels().get(label) or _qualified(label)


def _qualified(label: str) -> str | None:
    """The field of a label that is a known one but for words that leave its meaning.

    >>> _qualified("uk postage"), _qualified("postage worldwide"), _qualified("uk size")
    ('shipping', None, None)
    """
    words = label.split(" ")
    for field, fillers in _qualifiers().items():
        left = [w for w in words if w not in fillers]
        if 0 < len(left) < len(words) <= 6 and _labels().get(" ".join(left)) == field:
            return field if len(left) > 1 or len(left[0]) > 3 else None
    return None


@cache
def _qualifiers() -> dict[str, frozenset[str]]:
    data: dict[str, dict[str, list[str]]] = table_of("qualifiers.toml")
    return {
        field: frozenset(w for rows in languages.values() for row in rows for w in row.split(" "))
        for field, languages in data.items()
    }


@cache
def _starts() -> frozenset[str]:
    """The first three letters of all labels; most texts begin like none of them."""
    fillers = [w for words in _qualifiers().values() for w in words]
    found = (_LETTERS.search(label) for label in (*_labels(), *fillers))
    return frozenset(m[0][:3].casefold() for m in found if m is not None)


@cache
def _first_words() -> frozenset[str]:
    fillers = (w for words in _qualifiers().values() for w in words)
    return frozenset((*(label.split(" ")[0] for label in _labels()), *fillers))


def may_begin_with_label(text: str) -> bool:
    """Say quickly whether a line may begin with a known label."""
    first = text.lstrip("+•·-–|✓✔ ").split(" ", 1)[0].casefold().replace("’", "'")
    return first.rstrip(" :：.*") in _first_words() or first in _first_words()
