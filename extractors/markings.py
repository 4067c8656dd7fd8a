"""What is said to be written on the piece: literal text, where, and whether it is there at all.

Sentence by sentence: words of writing (mark_verbs.py, mark_nouns.py), general absence and what is
there after all (mark_absence.py), what no word announces (mark_bare.py: known forms, quotes,
capitals, a place with a colon). All read the words by mark_text.py and mark_sentence.py and note
marks by mark_building.py; places are read by mark_places.py, claims by mark_claims.py.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from itertools import islice

from extractors.mark_absence import from_general, from_nothing, names_more
from extractors.mark_bare import (
    add_drawn,
    begins,
    from_bare,
    from_colon,
    from_form,
    from_sign,
    is_with,
)
from extractors.mark_nouns import from_noun
from extractors.mark_sentence import Sentence
from extractors.mark_text import COLONS, INDEFINITE, PAIR, STOPS, Mark, Text
from extractors.mark_verbs import from_exist, from_say, from_verb, is_asked_to_read
from extractors.reading import Reading
from extractors.records import Marking
from extractors.scope import clause_at, has_picture

# each begins with what is searched for at once; what stands before is looked at behind it
_CAPITALS = re.compile(r"[A-Z0-9](?<![\w&].)(?:(?<=[A-Z])|[A-Z0-9]{0,2}[A-Z])[A-Z0-9&]*(?![\w&])")
_SENTENCE_STOPS = STOPS | {"."}
_MOST = 50  # marks in one sentence; more is no listing
_OPENED = re.compile(r"[\"'](?<![^\s(:,].)(?=\w)")
_GUILLEMET = re.compile(r"«\s(?=\w)")
_COLON = re.compile("[:=]")


def _read_sentence(sentence: Sentence, numbers: list[int]) -> list[Mark]:
    """Read the sentence from left to right at the words that may tell of a mark."""
    for number in numbers:
        if len(sentence.marks) > _MOST:
            break
        if not sentence.is_used(number) and sentence.words[number] not in COLONS:
            _read_at(sentence, number)
    from_colon(sentence, [n for n in numbers if sentence.words[n] in COLONS])
    return sentence.marks


def _read_at(sentence: Sentence, number: int) -> None:
    """Try what may begin at a word, the more telling cue first."""
    if number in sentence.at["general"] and not names_more(
        sentence, sentence.at["general"][number]
    ):
        from_general(sentence, sentence.at["general"][number])
    elif number in sentence.at["nothing"]:
        from_nothing(sentence, sentence.at["nothing"][number])
    elif number in sentence.at["verb"] and not names_more(sentence, sentence.at["verb"][number]):
        from_verb(sentence, sentence.at["verb"][number])
    elif number in sentence.at["say"] and not is_asked_to_read(sentence, number):
        from_say(sentence, sentence.at["say"][number])
    elif number in sentence.at["exist"]:
        from_exist(sentence, sentence.at["exist"][number])
    elif number in sentence.text.forms:
        from_form(sentence, sentence.text.forms[number])
    elif number in sentence.at["sign"] and is_with(sentence, number):
        add_drawn(sentence, number)
    elif number in sentence.at["sign"] and begins(sentence, number):
        from_sign(sentence, number)
    elif number not in sentence.at["noun"]:
        from_bare(sentence, number)
    if number in sentence.at["noun"] and not sentence.is_used(number):
        from_noun(sentence, sentence.at["noun"][number])


def _telling(text: Text) -> list[int]:
    """Give the words at which something about a mark may begin."""
    reading = text.reading
    places = [match.start() for match in _COLON.finditer(reading.plain)]
    places += [match.end() for match in islice(_OPENED.finditer(reading.plain), 4 * _MOST)]
    places += [match.end() for match in islice(_GUILLEMET.finditer(reading.text), 4 * _MOST)]
    places += [match.start() for match in PAIR.finditer(reading.text)]
    numbers = {reading.word_at(place) for place in places}.union(text.forms, *text.at.values())
    if not reading.text.isupper():
        for match in _CAPITALS.finditer(reading.text):
            number = reading.word_at(match.start())
            if number < len(text.words) and reading.starts[number] == match.start():
                numbers.add(number)
    numbers.update(text.names())
    words = text.words
    numbers.update([n for n in reading.figures() if words[n - 1] in INDEFINITE])
    numbers.discard(len(text.words))  # a quote at the end of the text opens nothing
    return sorted(numbers)


def _read(reading: Reading) -> list[Mark]:
    text = Text(reading)
    numbers: dict[int, list[int]] = defaultdict(list)
    sentence_of = reading.sentence_of
    for number in _telling(text):
        numbers[sentence_of[number]].append(number)
    seen: list[Mark] = []
    starts: set[int] = set()
    behind = 0  # a mark may go over the end of its sentence
    placed = {sentence_of[number] for table in text.placing() for number in table}
    cued = set(text.forms).union(*text.at.values())
    for sentence, telling in numbers.items():
        if sentence not in placed:  # what no cue announces is a mark only beside its place
            telling = [number for number in telling if number in cued]
        if not telling:
            continue
        marks = _read_sentence(Sentence(text, *reading.sentences[sentence]), telling)
        fresh = [mark for mark in marks if mark.start not in starts and mark.start >= behind]
        behind = max((mark.end for mark in fresh), default=behind)
        starts.update([mark.start for mark in fresh])
        seen += [_doubted_later(reading, mark) for mark in fresh]
    return [*seen, *_repeats(text, seen)]


def _doubted_later(reading: Reading, mark: Mark) -> Mark:
    """Make a mark unsure whose next sentence doubts its age ("Could be a redial")."""
    doubts = reading.found("markings.redone")
    if not doubts or mark.claimed != "present":
        return mark
    _, end = reading.sentence_at(mark.first)
    if any(mark.last <= hit.first < end for hit in doubts):
        return mark._replace(claimed="unsure")
    while end < len(reading.words) and reading.words[end] in _SENTENCE_STOPS:
        end += 1
    if any(end <= hit.first <= end + 4 for hit in doubts):
        return mark._replace(claimed="unsure")
    return mark


def _repeats(text: Text, marks: list[Mark]) -> Iterator[Mark]:
    """Find a known form again that is a mark elsewhere ("stick pin, 9CT" in the title)."""
    alone = [
        form
        for form in text.forms.values()
        if not any(m.start < form.end and form.start < m.end for m in marks)
    ]
    spoken = {_bare(m.text): m for m in marks if m.claimed == "present"} if alone else {}
    for form in alone if spoken else ():
        twin = spoken.get(_bare(text.reading.text[form.start : form.end]))
        if twin:
            yield twin._replace(first=form.first, last=form.last, start=form.start, end=form.end)


def _bare(text: str) -> str:
    return "".join(filter(str.isalnum, text.casefold()))


def _object_of(reading: Reading, mark: Mark) -> str:
    """Say what a mark is written on: the item unless its clause names something else first."""
    hits = reading.found("markings.object")
    begin, end = clause_at(reading, mark.first, mark.last) if hits else (0, 0)
    low = reading.sentence_at(mark.first)[0] if hits else 0
    if mark.place is None and mark.claimed == "present":
        opening = [h for h in hits if 0 <= h.first - low <= 1 and h.last < begin]
        if opening and not (opening[0].value == "case" and reading.found("words.watch")):
            return opening[0].value  # "Box is 65 mm, printed ORLENA"
    for hit in hits:
        if not begin <= hit.first < end or hit.first - mark.last > 4:
            continue
        if hit.value == "case" and reading.found("words.watch"):
            continue
        if has_picture(reading.slice(*sorted((hit.first, mark.first)))):
            continue  # an emoji between them ends the thought
        return hit.value
    return "item"


def find_markings(reading: Reading) -> tuple[Marking, ...]:
    """Find what is said to be written on things, in the order of the text."""
    if "marks" not in reading.memory:
        reading.memory["marks"] = _find_markings(reading)
    found: tuple[Marking, ...] = reading.memory["marks"]
    return found


def _find_markings(reading: Reading) -> tuple[Marking, ...]:
    return tuple(
        Marking(
            mark.text,
            reading.slice(*mark.place) if mark.place else None,
            mark.claimed,
            _object_of(reading, mark),
            (reading.span(mark.start, mark.end),),
        )
        for mark in sorted(_read(reading), key=lambda mark: mark.start)
    )
