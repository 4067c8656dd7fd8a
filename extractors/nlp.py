"""The spaCy parts, cached per process: one vocabulary, documents, phrase matchers.

No pipeline component and no trained model is loaded: extractors.reading cuts the words (spaCy's
own tokenizer would take the whole time allowed for a listing), the matching is spaCy's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache

from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc
from spacy.vocab import Vocab


@cache
def known_words() -> Vocab:
    """Give the one vocabulary of this process; it works out no word attributes."""
    return Vocab()


def make_doc(words: list[str]) -> Doc:
    """Wrap ready-cut words in a spaCy document."""
    return Doc(known_words(), words=words)


def make_matcher(phrases: Mapping[str, Iterable[tuple[str, ...]]]) -> PhraseMatcher:
    """Build a matcher that knows, under each key, phrases given as tuples of words."""
    matcher = PhraseMatcher(known_words(), attr="ORTH")
    for key, variants in phrases.items():
        matcher.add(key, [make_doc(list(words)) for words in variants])
    return matcher
