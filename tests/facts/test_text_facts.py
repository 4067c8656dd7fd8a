"""Published texts through the tool: news that offers no frame, and copies of it.

The forty Reuters articles in Debian's r-cran-kernlab (reuters.rda; Lodhi et al., "Text
classification using string kernels", JMLR 2, 2002), row F190 of the facts.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest

from extractors.catalogue import extract
from extractors.records import Evidence, Listing, Span
from models.checks.corpus import Corpus, Examined
from models.checks.text_reuse import check_text_reuse
from models.resolve import Resolution
from tests.facts.test_statistics_facts import SPAM_PLACES


@cache
def articles() -> tuple[str, ...]:
    rdata = pytest.importorskip("rdata")
    places = [Path(p).with_name("reuters.rda") for p in SPAM_PLACES if p]
    place = next((p for p in places if p.is_file()), None)
    if place is None:
        if os.environ.get("CI"):
            pytest.fail("reuters.rda is missing: install r-cran-kernlab or set SPAM_RDA")
        pytest.skip("reuters.rda (Debian package r-cran-kernlab) is not here")
    found = rdata.conversion.convert(rdata.parser.parse_file(place))["reuters"]
    return tuple(str(text[0]) for text in found)


def spans_in(value: object) -> list[Span]:
    if isinstance(value, Span):
        return [value]
    if isinstance(value, tuple):
        return [span for one in value for span in spans_in(one)]
    if is_dataclass(value):
        return [span for field in fields(value) for span in spans_in(getattr(value, field.name))]
    return []


def test_news_states_no_size_of_a_frame_and_every_span_is_its_own() -> None:
    texts = articles()
    assert len(texts) == 40
    for number, text in enumerate(texts):
        listing = Listing(str(number), "news", "", text)
        evidence = extract(listing)
        named = {m.quantity for m in evidence.measurements if m.of_item}
        assert not named & {"lens_width", "lens_height", "bridge", "temple_length", "frame_width"}
        for span in spans_in(evidence):
            assert listing.text[span.start : span.end] == span.text


def corpus_of(texts: Sequence[str]) -> Corpus:
    listings = [
        Listing(str(n), "news", f"Article {n}", text, seller_name=f"seller {n}")
        for n, text in enumerate(texts)
    ]
    none = Resolution(None)
    return Corpus(tuple(Examined(one, Evidence(one.id), none, ()) for one in listings), ())


def runs(words: Sequence[str], length: int) -> set[tuple[str, ...]]:
    return {tuple(words[i : i + length]) for i in range(len(words) - length + 1)}


def resemblance(one: set[tuple[str, ...]], other: set[tuple[str, ...]]) -> float:
    """Broder, "On the resemblance and containment of documents" (1997)."""
    return len(one & other) / len(one | other)


def containment(one: set[tuple[str, ...]], other: set[tuple[str, ...]]) -> float:
    return len(one & other) / min(len(one), len(other))


def test_articles_that_come_back_are_found_and_no_others() -> None:
    assert resemblance(runs("abcdabd", 2), runs("abcd", 2)) == 3 / 5  # row F181
    texts = [text for text in articles() if len(text) > 400]
    told = [runs(re.findall(r"\w+", text.lower()), 5) for text in texts]
    share = {(a, b): containment(told[a], told[b]) for a, b in combinations(range(len(texts)), 2)}
    again = {pair for pair, found in share.items() if found > 0.5}
    assert again  # the agency sent some once more, set right
    found = check_text_reuse(corpus_of(texts))
    assert {str(n) for pair in again for n in pair} <= set(found)
    for key, (finding,) in found.items():
        pairs = [tuple(sorted((int(key), int(other)))) for other in finding.about]
        assert all(share[a, b] > 0.2 for a, b in pairs)


def test_copied_articles_are_found_firmly() -> None:
    texts = [text for text in articles() if len(text) > 400][:12]
    found = check_text_reuse(corpus_of([*texts, *(f"Listed anew. {t}" for t in texts[:5])]))
    assert set(found) == {*map(str, range(5)), *map(str, range(12, 17))}
    assert {finding.strength for (finding,) in found.values()} == {"hard"}
