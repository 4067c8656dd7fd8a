"""Condition, colours of parts, and editions: what sheets and buyers need beside the claims."""

from __future__ import annotations

from extractors.lexicon import small_words
from extractors.reading import Hit, Reading
from extractors.records import Colour, Condition, Edition
from extractors.scope import claim_of, clause_at, is_negated, negations_before


def _part_of(reading: Reading, hit: Hit) -> str | None:
    """Name the part nearest to a cue in its clause."""
    begin, end = clause_at(reading, hit.first, hit.last)
    parts = [p for p in reading.found("colours.part") if begin <= p.first and p.last <= end]
    parts = [p for p in parts if p.last <= hit.first or p.first >= hit.last]
    if not parts:
        return None
    return min(parts, key=lambda p: _distance(p, hit)).value


def _distance(part: Hit, hit: Hit) -> float:
    """Count the words between; a part that follows ("black arms") is a little nearer."""
    return part.first - hit.last if part.first >= hit.last else hit.first - part.last + 0.5


_LIST = small_words("list_joint")


def _head_of_list(reading: Reading, hit: Hit, hits: tuple[Hit, ...]) -> int:
    """Give the first word of the list that a state stands in ("no chips, cracks or repairs")."""
    ends = {other.last: other.first for other in hits}
    number = hit.first
    while number > 0:
        if reading.words[number - 1] in _LIST:
            number -= 1
        elif number in ends and ends[number] < number:
            number = ends[number]
        else:
            break
    return number


def find_conditions(reading: Reading) -> tuple[Condition, ...]:
    """Find states of the piece, present, absent or unsure; "no" holds for a whole list."""
    hits = reading.found("condition.state")
    found = []
    for hit in hits:
        head = _head_of_list(reading, hit, hits)
        claimed = claim_of(reading, hit.first, hit.last, inside=False)
        if claimed == "present" and head < hit.first and negations_before(reading, head, 3):
            claimed = "absent"
        span = reading.span(hit.start, hit.end)
        found.append(Condition(hit.value, claimed, _part_of(reading, hit), (span,)))
    return tuple(found)


def find_colours(reading: Reading) -> tuple[Colour, ...]:
    """Find colours said of the front, the temples, pads, rivets or lenses, or of the whole."""
    found = []
    for hit in reading.found("colours.colour"):
        if _is_unknowing(reading, hit):
            continue
        part = _part_of(reading, hit)
        if part != "case" and not is_negated(reading, hit.first, hit.last, 1):
            found.append(Colour(hit.value, part, (reading.span(hit.start, hit.end),)))
    return tuple(found)


def _is_unknowing(reading: Reading, hit: Hit) -> bool:
    """Say whether a word for a colour says here that something is not known ("weiß nicht")."""
    return any(u.first <= hit.first < u.last for u in reading.found("words.ignorance"))


def find_editions(reading: Reading) -> tuple[Edition, ...]:
    """Find editions the seller names."""
    return tuple(
        Edition(hit.value, (reading.span(hit.start, hit.end),))
        for hit in reading.found("colours.edition")
        if not is_negated(reading, hit.first, hit.last, 2)
    )
