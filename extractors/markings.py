"""What is said to be written on the piece: literal text, where, and whether it is there at all.

Sentence by sentence: words of writing (mark_verbs.py, mark_nouns.py), general absence and what is
there after all (mark_absence.py), what no word announces (mark_bare.py: known forms, quotes,
capitals, a place with a colon). All read the words by mark_text.py and mark_sentence.py and note
marks by mark_building.py; places are read by mark_places.py, claims by mark_claims.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from extractors.mark_absence import from_general, from_nothing, names_more
from extractors.mark_bare import (
    add_drawn,
    from_bare,
    from_colon,
    from_form,
    from_sign,
)
from extractors.mark_nouns import from_noun
from extractors.mark_sentence import Sentence
from extractors.mark_text import DASHED, INDEFINITE, PAIR, STOPS, Mark, Text, places_of, words_at
from extractors.mark_verbs import from_exist, from_say, from_verb, is_asked_to_read
from extractors.reading import Reading
from extractors.records import Marking
from extractors.scope import clause_at, has_picture

# each begins with what is searched for at once; what stands before is looked at behind it
_CAPITALS = re.compile(
    r"[A-Z0-9](?![a-z])(?<![\w&].)(?:(?<=[A-Z])|[A-Z0-9]{0,2}[A-Z])[A-Z0-9&]*(?![\w&])"
)
_FIGURES_FIRST = re.compile(r"(?<![\w.,/-])\d{1,3} (?=[A-Z]{2})")  # "20 ATM"
_SENTENCE_STOPS = STOPS | {"."}
_MOST = 50  # marks in one sentence; more is no listing
_HOLDS = frozenset(("of", "with", "mit", "voll", "de", "avec", "con", "di"))  # "box of frames"
_BOXES = frozenset("[□☐▢▯◻⬜x×-/")  # between the figures of a printed pair of sizes


def _read_sentence(sentence: Sentence, numbers: list[int], colons: list[int]) -> list[Mark]:
    """Read the sentence from left to right at the words that may tell of a mark."""
    spent = sentence.spent
    for number in numbers:
        if len(sentence.marks) > _MOST:
            break
        if number not in spent:
            _read_at(sentence, number)
    if colons:
        from_colon(sentence, colons)
    return sentence.marks


def _read_at(sentence: Sentence, number: int) -> None:
    """Try what may begin at a word, the more telling cue first."""
    at = sentence.at
    if number in at["general"] and not names_more(sentence, at["general"][number]):
        from_general(sentence, at["general"][number])
    elif number in at["nothing"]:
        from_nothing(sentence, at["nothing"][number])
    elif number in at["verb"] and not names_more(sentence, at["verb"][number]):
        from_verb(sentence, at["verb"][number])
    elif number in at["say"] and not _is_misread(sentence, number):
        from_say(sentence, at["say"][number])
    elif number in at["exist"]:
        from_exist(sentence, at["exist"][number])
    elif number in sentence.text.forms:
        from_form(sentence, sentence.text.forms[number])
    elif number in at["sign"] and sentence.is_with(number):
        add_drawn(sentence, number)
    elif number in at["sign"] and sentence.begins(number):
        from_sign(sentence, number)
    elif number not in at["noun"]:
        from_bare(sentence, number)
    if number in at["noun"] and not sentence.is_used(number):
        from_noun(sentence, at["noun"][number])


def _is_misread(sentence: Sentence, number: int) -> bool:
    """Tell whether "a" is the letter A ("peut-être un A effacé"), or the buyer should read."""
    return sentence.text.is_letter(number) or is_asked_to_read(sentence, number)


def _cued(text: Text) -> set[int]:
    """Give the words at which a known form begins, or a cue that needs no place beside it."""
    at = text.at
    says = [number for number, hit in at["say"].items() if hit.value != "has"]
    seen = [number for number, hit in at["exist"].items() if hit.value == "seen"]
    return {*text.forms, *at["general"], *at["nothing"], *at["verb"], *at["noun"], *says, *seen}


def _bare(text: Text) -> list[int]:
    """Give the words that may tell of a mark beside its place, which their sentence must name.

    Quoted words, capitals, names, figures; drawn signs, and cues such as "has" or "there is".
    """
    reading, words = text.reading, text.words
    sentence_of = reading.sentence_of
    placed = {sentence_of[number] for number in text.placing()}
    numbers = {*text.at["say"], *text.at["exist"], *text.at["sign"], *text.names()}
    numbers.update(
        [n for n in reading.figures() if words[n - 1] in INDEFINITE or len(words[n]) > 3]
    )
    numbers.update(_shown(text))
    numbers.discard(len(words))  # a quote at the end of the text opens nothing
    return [number for number in numbers if sentence_of[number] in placed]


def _shown(text: Text) -> list[int]:
    """Give the words that are quoted, in capitals or a printed pair of sizes."""
    raw, starts = text.reading.text, text.reading.starts
    found = [number for number in sorted(text.quoted) if _is_opened(text, number)][: 4 * _MOST]
    for number in text.reading.figures():
        behind = raw[starts[number] + 2 : starts[number] + 4]
        if not _BOXES.isdisjoint(behind) and (
            PAIR.match(raw, starts[number]) or DASHED.match(raw, starts[number])
        ):
            found.append(number)
    if not raw.isupper():
        places = [match.start() for match in _CAPITALS.finditer(raw)]
        places += [match.start() for match in _FIGURES_FIRST.finditer(raw)]
        found += words_at(text.reading, places)
    return found


def _is_opened(text: Text, number: int) -> bool:
    """Tell whether the quotation mark before a word opens a quotation."""
    place, plain = text.reading.starts[number], text.reading.plain
    is_spaced = plain[place - 1].isspace()
    before = " " if is_spaced or place < 2 else plain[place - 2]
    return plain[place].isalnum() and (before in "(:," or before.isspace())


def _colons(text: Text) -> list[int]:
    """Give the colons with a place right before them."""
    plain, places = text.reading.plain, text.places
    colons = [*words_at(text.reading, [*places_of(":", plain), *places_of("=", plain)])]
    if not colons:
        return colons
    ends = {*places.place.values(), *places.adjective.values()}
    return [number for number in colons if number in ends or number - 1 in ends]


def _by_sentence(reading: Reading, numbers: set[int]) -> dict[int, list[int]]:
    """Sort words into their sentences, both in the order of the text."""
    found: dict[int, list[int]] = {}
    sentence_of = reading.sentence_of
    for number in sorted(numbers):
        found.setdefault(sentence_of[number], []).append(number)
    return found


def _read(reading: Reading) -> list[Mark]:
    text = Text(reading)
    colons = _by_sentence(reading, set(_colons(text)))
    telling = _by_sentence(reading, _cued(text).union(_bare(text)))
    is_doubted = bool(reading.found("markings.redone"))
    seen: list[Mark] = []
    starts: set[int] = set()
    behind = 0  # a mark may go over the end of its sentence
    for sentence in sorted({*telling, *colons}):
        marks = _read_sentence(
            Sentence(text, *reading.sentences[sentence]),
            telling.get(sentence, []),
            colons.get(sentence, []),
        )
        fresh = [mark for mark in marks if mark.start not in starts and mark.start >= behind]
        behind = max((mark.end for mark in fresh), default=behind)
        starts.update([mark.start for mark in fresh])
        seen += [_doubted_later(reading, mark) for mark in fresh] if is_doubted else fresh
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
    spoken = {_letters(m.text): m for m in marks if m.claimed == "present"} if alone else {}
    for form in alone if spoken else ():
        twin = spoken.get(_letters(text.reading.text[form.start : form.end]))
        if twin:
            yield twin._replace(first=form.first, last=form.last, start=form.start, end=form.end)


def _letters(text: str) -> str:
    return "".join(filter(str.isalnum, text.casefold()))


def _object_of(reading: Reading, mark: Mark) -> str:
    """Say what a mark is written on: the item unless its clause names something else first."""
    hits = reading.found("markings.object")
    begin, end = clause_at(reading, mark.first, mark.last)
    low = reading.sentence_at(mark.first)[0]
    if mark.place is None and mark.claimed == "present":
        words = reading.words
        opening = [
            h
            for h in hits
            if 0 <= h.first - low <= 1 and h.last < begin and words[h.last] not in _HOLDS
        ]
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
    others = reading.found("markings.object")
    return tuple(
        Marking(
            mark.text,
            reading.slice(*mark.place) if mark.place else None,
            mark.claimed,
            _object_of(reading, mark) if others else "item",
            (reading.span(mark.start, mark.end),),
        )
        for mark in sorted(_read(reading), key=lambda mark: mark.start)
    )
