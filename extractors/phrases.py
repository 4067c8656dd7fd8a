"""What the seller says about authenticity, and the key phrases of a listing."""

from __future__ import annotations

import re

from extractors.reading import Hit, Reading
from extractors.records import Authenticity, AuthenticityLabel, KeyPhrase
from extractors.scope import clause_at, is_negated

CLASSES = (
    "returns_refused",
    "off_platform_payment",
    "off_platform_contact",
    "urgency",
    "stock_text",
    "provenance_offered",
    "more_photos_offered",
)
_MAIL = re.compile(r"[\w.+-]{1,64}@[\w-]{1,64}\.[a-z]{2,10}\b")
_NUMBER = re.compile(r"(?<![\w.])\+?\(?0\d[\d\s()/-]{7,18}\d(?![\w.])")


def _phrase(reading: Reading, hit: Hit) -> KeyPhrase:
    return KeyPhrase(hit.name.removeprefix("key_phrases."), (reading.span(hit.start, hit.end),))


def _addresses(reading: Reading) -> list[KeyPhrase]:
    """Find mail addresses and telephone numbers."""
    return [
        KeyPhrase("off_platform_contact", (reading.span(match.start(), match.end()),))
        for pattern in (_MAIL, _NUMBER)
        for match in pattern.finditer(reading.plain)
    ]


def find_key_phrases(reading: Reading) -> tuple[KeyPhrase, ...]:
    """Find the key phrases; a negated one is none."""
    found = [
        _phrase(reading, hit)
        for name in CLASSES
        for hit in reading.found(f"key_phrases.{name}")
        if name in ("returns_refused", "urgency") or not is_negated(reading, hit.first, hit.last)
    ]
    found += _addresses(reading)
    return tuple(_merge(sorted(found, key=lambda phrase: phrase.quoted[0].start)))


def _merge(phrases: list[KeyPhrase]) -> list[KeyPhrase]:
    """Keep one phrase of a class in one stretch of 80 characters."""
    kept: list[KeyPhrase] = []
    for phrase in phrases:
        twin = any(
            other.phrase_class == phrase.phrase_class
            and phrase.quoted[0].start - other.quoted[0].end < 40
            for other in kept[-3:]
        )
        if not twin:
            kept.append(phrase)
    return kept


def _near(reading: Reading, hit: Hit, name: str, before: int, after: int) -> bool:
    """Tell whether a cue of class `name` stands within so many words in the same clause."""
    begin, end = clause_at(reading, hit.first, hit.last)
    low, high = max(begin, hit.first - before), min(end, hit.last + after)
    return any(low <= other.first and other.last <= high for other in reading.found(name))


def _labels(reading: Reading) -> list[tuple[AuthenticityLabel, Hit]]:
    """Label every cue on authenticity."""
    found: list[tuple[AuthenticityLabel, Hit]] = []
    denials = reading.found("authenticity.denial")
    for hit in reading.found("authenticity.disclaimed"):
        if any(d.first <= hit.first and hit.last <= d.last for d in denials):
            continue
        found.append(("disclaimed", hit))
    found.extend(("asserted", hit) for hit in denials)
    found.extend(("hedged", hit) for hit in reading.found("authenticity.hedged"))
    for hit in reading.found("authenticity.hedge"):
        if not _near(reading, hit, "authenticity.topic", 3, 6):
            found.append(("hedged", hit))
    for hit in reading.found("authenticity.real"):
        if not _near(reading, hit, "authenticity.other", 1, 2):
            found.append(("asserted", hit))
    return found


def find_authenticity(reading: Reading) -> Authenticity:
    """Give the one label of the listing, strongest caution first."""
    labels = _labels(reading)
    for label in ("disclaimed", "hedged", "asserted"):
        hits = [hit for name, hit in labels if name == label]
        if hits:
            spans = tuple(reading.span(hit.start, hit.end) for hit in hits)
            return Authenticity(label, spans)
    return Authenticity()
