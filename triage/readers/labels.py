"""What the labels on listing pages mean: "Artikelnummer" is the listing's id (data/labels.toml)."""

from __future__ import annotations

import re
import tomllib
from functools import cache, lru_cache
from importlib.resources import files

from triage.readers.phrases import may_start

LONGEST_LABEL = 60
_LETTERS = re.compile(r"[^\W\d_]+")


@cache
def _labels() -> dict[str, str]:
    text = files("triage.readers").joinpath("data/labels.toml").read_text("utf-8")
    data: dict[str, dict[str, list[str]]] = tomllib.loads(text)
    return {
        normal_label(label): field
        for field, languages in data.items()
        for labels in languages.values()
        for label in labels
    }


@lru_cache(maxsize=4096)
def normal_label(text: str) -> str:
    """One spelling of a label: lower case, plain quotes, no closing colon, no parentheses."""
    text = text.replace("’", "'").replace("\u00a0", " ").casefold()
    text = re.sub(r"\([^)]*\)|\[[^\]]*\]", " ", text)
    return re.sub(r"\s+", " ", text).strip(" :：.*•·–—-|>\t¡!¿?")


@lru_cache(maxsize=4096)
def field_of_label(text: str) -> str | None:
    """The field that a label announces, "none" for a known other row, None if it is unknown.

    >>> field_of_label("Artikelnummer:"), field_of_label("Time left"), field_of_label("Bridge")
    ('listing_id', 'none', None)
    """
    if len(text) > LONGEST_LABEL or not may_start(text, _starts()):
        return None
    return _labels().get(normal_label(text))


@cache
def _starts() -> frozenset[str]:
    """The first three letters of all labels; most texts begin like none of them."""
    found = (_LETTERS.search(label) for label in _labels())
    return frozenset(m[0][:3].casefold() for m in found if m is not None)


@cache
def _first_words() -> frozenset[str]:
    return frozenset(label.split(" ")[0] for label in _labels())


def may_begin_with_label(text: str) -> bool:
    """Say quickly whether a line may begin with a known label."""
    first = text.lstrip("+•·-–|✓✔ ").split(" ", 1)[0].casefold().replace("’", "'")
    return first.rstrip(" :：.*") in _first_words() or first in _first_words()
