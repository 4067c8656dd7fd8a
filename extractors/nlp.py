"""The spaCy parts: blank pipelines, cached per process, and phrase matchers built on them.

No trained model is loaded. The words of a text are cut by extractors.reading (spaCy's own
tokenizer would take the whole time allowed for a listing), the matching is spaCy's.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

import spacy
from spacy.language import Language
from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc


@cache
def blank(language: str) -> Language:
    """Give the one blank pipeline of this process for a language code ("xx" for any)."""
    return spacy.blank(language)


def make_doc(words: list[str]) -> Doc:
    """Wrap ready-cut words in a spaCy document."""
    return Doc(blank("xx").vocab, words=words)


def make_matcher(phrases: Iterable[tuple[str, ...]]) -> PhraseMatcher:
    """Build a matcher that knows each phrase (a tuple of words) under its words joined by spaces."""
    matcher = PhraseMatcher(blank("xx").vocab, attr="ORTH")
    for phrase in phrases:
        matcher.add(" ".join(phrase), [make_doc(list(phrase))])
    return matcher
