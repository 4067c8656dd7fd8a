"""Key phrases: what a careful buyer wants to see marked in a listing."""

from __future__ import annotations

import re
from collections.abc import Iterator

from extractors.lexicon import small_words
from extractors.reading import Hit, Reading
from extractors.records import KeyPhrase
from extractors.scope import answer_of, clause_at, has_picture, negations_before, points_back
from extractors.second_opinion import opinions

CLASSES = (
    "returns_refused",
    "off_platform_payment",
    "off_platform_contact",
    "urgency",
    "stock_text",
    "provenance_offered",
    "more_photos_offered",
)
_CUES = tuple(f"key_phrases.{name}" for name in CLASSES)
_MAIL = re.compile(r"[\w.+-]{1,64}@[\w-]{1,64}\.[a-z]{2,10}\b")
_HANDLE = re.compile(r"(?<![\w.@])@[a-z_][\w.]{2,30}")  # an account
_NUMBER = re.compile(r"(?<![\w.])\+?\(?0\d[\d\s()/-]{7,18}\d(?!\w|\.\d)")
# what each of them holds, begun with a letter that is searched for at once
_TOLD = ((re.compile("@"), (_MAIL, _HANDLE)), (re.compile(r"0\d[\d\s()/-]{7}"), (_NUMBER,)))


def _phrase(reading: Reading, hit: Hit) -> KeyPhrase:
    return KeyPhrase(hit.name.removeprefix("key_phrases."), (reading.span(hit.start, hit.end),))


def _addresses(reading: Reading) -> Iterator[KeyPhrase]:
    """Find mail addresses and telephone numbers."""
    for told, patterns in _TOLD:
        for pattern in patterns if told.search(reading.plain) else ():
            for match in pattern.finditer(reading.plain):
                span = reading.span(match.start(), match.end())
                yield KeyPhrase("off_platform_contact", (span,))


def _is_denied(reading: Reading, hit: Hit) -> bool:
    """Tell whether a phrase is negated: before it, or right behind ("receipt not available")."""
    is_refusal = hit.name == "key_phrases.returns_refused"
    reach = 1 if is_refusal else 4
    inside = any(
        hit.first <= other.first < hit.last
        and (is_refusal or _NO_TROUBLE.isdisjoint(reading.words[other.last : other.last + 1]))
        for other in reading.found("words.not")
    )
    if not (is_refusal and inside) and (  # "has no name no returns", unlike "returns no problem"
        negations_before(reading, hit.first, reach)
        and negations_before(reading, hit.first, reach, _spent_before(reading, hit))
    ):
        return True
    if is_refusal:
        return not _NO_TROUBLE.isdisjoint(reading.words[hit.last : hit.last + 1])
    if hit.value == "sure" or hit.name in _UNDENIED:  # "extra pictures no trouble"
        return False
    return inside or _is_denied_behind(reading, hit) or _is_answered_no(reading, hit)


def _is_answered_no(reading: Reading, hit: Hit) -> bool:
    """Tell whether the phrase is asked for and the answer is no ("bank transfer? A: no")."""
    end = reading.sentence_at(hit.first)[1]
    is_asked = reading.words[end - 1 : end] == ("?",) or reading.words[end : end + 1] == ("?",)
    return is_asked and answer_of(reading, hit.last) == "absent"


_UNDENIED = frozenset(("key_phrases.stock_text", "key_phrases.urgency"))


def _is_of_else(reading: Reading, hit: Hit) -> bool:
    """Tell whether what sounds like a phrase speaks of something else.

    That is contact or payment that stays on the platform ("by message, here"), friends who are
    only spoken of ("my friends and family"), and days that the piece was worn for.
    """
    before = reading.words[hit.first - 1] if hit.first else "."
    if hit.value == "people" and before in _OWN:
        return True
    if hit.name == "key_phrases.off_platform_contact":
        return _is_on_platform(reading, hit.last - 1, hit.last + 1)
    if hit.name != "key_phrases.urgency":
        return False
    if hit.value == "alone" and before in _ARTICLES:
        return True  # "the hurry of a big town"
    if reading.words[hit.last - 1] == "left" and hit.last in reading.table("parts.part"):
        return True  # "one left arm"
    words = reading.words
    is_of_days = not _DAYS.isdisjoint(words[hit.first : hit.last])
    return is_of_days and not _WORN.isdisjoint(words[max(0, hit.first - _NEAR) : hit.last + _NEAR])


def _is_on_platform(reading: Reading, first: int, last: int) -> bool:
    """Tell whether words [first, last) say that all stays on the platform ("on this site")."""
    return any(
        first <= said.first < last
        and not _is_refused(reading, said)
        and reading.words[said.last : said.last + 1] != (":",)
        for said in reading.found("key_phrases.platform")
    )


def _is_refused(reading: Reading, said: Hit) -> bool:
    """Tell whether a negation stands right before or behind ("not here", "aquí no")."""
    behind = any(other.first == said.last for other in reading.found("words.not"))
    return behind or negations_before(reading, said.first, 2)


_OFF_PLATFORM = frozenset(("key_phrases.off_platform_contact", "key_phrases.off_platform_payment"))
_NEAR = 2  # words to either side
_OWN, _WORN, _DAYS = small_words("own"), small_words("worn"), small_words("days")
_ARTICLES = small_words("definite") | small_words("indefinite")


def _spent_before(reading: Reading, hit: Hit) -> frozenset[int]:
    """Give the words of other phrases before one: their negations are not its own."""
    return frozenset(
        number
        for name in _CUES
        for other in reading.found(name)
        if other.last <= hit.first
        for number in range(other.first, other.last)
    )


def _is_denied_behind(reading: Reading, hit: Hit) -> bool:
    """Tell whether a denial follows: "bank transfer I do not accept", not "only, no cards"."""
    end = min(clause_at(reading, hit.first, hit.last)[1], hit.last + _BEHIND)
    for other in reading.found("words.not"):
        if hit.last <= other.first < end and points_back(reading, other):
            between = reading.words[hit.last : other.first]
            if "/" in between:  # "message me for a quick yes/no"
                continue
            is_apart = has_picture(reading.slice(hit.last, other.last))
            return _BECAUSE.isdisjoint(between) and not is_apart
    return False


_BEHIND = 6  # words behind a phrase in which it can be denied
_BECAUSE = small_words("because")
_NO_TROUBLE = small_words("no_trouble")


def find_key_phrases(reading: Reading) -> tuple[KeyPhrase, ...]:
    """Find the key phrases; a negated one is none."""
    found = [*listed_phrases(reading), *_second_opinions(reading)]
    return tuple(_merge(sorted(found, key=lambda phrase: phrase.quoted[0].start)))


def listed_phrases(reading: Reading) -> list[KeyPhrase]:
    """Find the key phrases that the list of cues knows, mail addresses and telephone numbers."""
    found = [
        _phrase(reading, hit)
        for name in _CUES
        for hit in reading.found(name)
        if not _is_denied(reading, hit) and not _is_of_else(reading, hit)
    ]
    return [*found, *_addresses(reading)]


def _second_opinions(reading: Reading) -> Iterator[KeyPhrase]:
    """What the trained weights find where the list finds nothing of a class, not even denied."""
    known = {
        (reading.sentence_of[cue.first], name)
        for name in CLASSES
        for cue in reading.found(f"key_phrases.{name}")
    }
    for opinion in opinions(reading, known):
        name = f"key_phrases.{opinion.phrase_class}"
        if name in _OFF_PLATFORM and _is_on_platform(reading, opinion.first, opinion.last):
            continue
        start, end = reading.starts[opinion.first], reading.ends[opinion.last - 1]
        yield KeyPhrase(opinion.phrase_class, (reading.span(start, end),))


def _merge(phrases: list[KeyPhrase]) -> list[KeyPhrase]:
    """Make one phrase of those of a class that touch ("No returns, no refunds")."""
    last: dict[str, int] = {}
    kept: list[KeyPhrase] = []
    for phrase in phrases:
        span = phrase.quoted[0]
        if span.start - last.get(phrase.phrase_class, -99) > _TOUCH:
            kept.append(phrase)
        last[phrase.phrase_class] = max(span.end, last.get(phrase.phrase_class, 0))
    return kept


_TOUCH = 8  # characters between two phrases of a class that count as one
