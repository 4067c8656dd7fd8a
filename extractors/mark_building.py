"""Noting a mark with its claim and place, the further ones of its list, and answers."""

from __future__ import annotations

from extractors.mark_claims import claim, is_questioned
from extractors.mark_places import LEFT_RIGHT, Range
from extractors.mark_sentence import Sentence
from extractors.mark_text import BEFORE_ANSWER, GENERAL, SIDES, YES, Literal, Mark, is_size
from extractors.reading import Hit
from extractors.records import Claimed
from extractors.scope import answer_number, has_picture


def add_general(sentence: Sentence, first: int, last: int) -> None:
    """Note that nothing is written, with the place beside the words that say so."""
    start, end = sentence.reading.starts[first], sentence.reading.ends[last - 1]
    place = sentence.place_beside(first, last)
    sentence.note(Mark(GENERAL, first, last, start, end, "absent", place))


def add(
    sentence: Sentence, literal: Literal, cue: Hit | None = None, claimed: Claimed | None = None
) -> Mark:
    """Note a mark; its claim is that of the words from cue to literal."""
    first = min(literal.first, cue.first) if cue else literal.first
    last = max(literal.last, cue.last) if cue else literal.last
    if last in sentence.at["noun"] and last < sentence.high:
        last = sentence.at["noun"][last].last  # the "logo" of "has the Orlena logo"
    held = claimed or claim(sentence, first, last)
    if held == "present" and is_questioned(sentence, literal.last):
        held = "unsure"
    text = sentence.reading.text[literal.start : literal.end].strip(" \"'.,:;“”„«»‘’")
    place = sentence.place(literal.first, literal.last, held == "absent")
    if cue and (side := _side_before(sentence, cue)) and (place is None or place[1] <= side[0]):
        place = side
    if place and _is_pictured(sentence, place, literal):
        place = None
    mark = Mark(text, first, last, literal.start, literal.end, held, place)
    if text:
        sentence.note(mark)
        _read_more(sentence, mark)
    return mark


def _side_before(sentence: Sentence, cue: Hit) -> Range | None:
    """Give the side that speaks: "left arm says X, right says Y"."""
    number = cue.first - 1
    if number < sentence.low or sentence.words[number] not in LEFT_RIGHT:
        return None
    return (number, cue.first) if sentence.begins(number) else None


def _is_pictured(sentence: Sentence, place: Range, literal: Literal) -> bool:
    """Tell whether an emoji stands between a mark and the place found for it."""
    before, after = sorted(((literal.first, literal.last), place))
    return before[1] < after[0] and has_picture(sentence.reading.slice(before[1] - 1, after[0] + 1))


def _read_more(sentence: Sentence, mark: Mark) -> None:
    """Read further marks of a list: "stamped 925, a leaf and MB"."""
    number = mark.last
    verb = sentence.at["verb"].get(number)
    if verb and verb.last < sentence.high and mark.claimed == "present":
        number = verb.last  # "has ORLENA written on the left and 140 on the right"
    place = (
        sentence.places.with_preposition(number, sentence.high) if number < sentence.high else None
    )
    if place is None and number < sentence.high and sentence.words[number] == "(":
        place = sentence.places.at(number + 1, sentence.high) or sentence.side_in_brackets(number)
    if place:
        number = place[1]
        number += number < sentence.high and sentence.words[number] == ")"
    if number < sentence.high - 1 and sentence.words[number] == "." and number - 1 >= mark.first:
        number += len(sentence.words[number - 1]) == 1  # "W.D. with an arrow"
    joined = False
    if mark.claimed == "unsure" and is_questioned(sentence, mark.last):
        return  # "1174 or 1179": one mark, two readings
    while number < sentence.high and number in sentence.text.more:
        number, joined = sentence.text.more[number], True
    number = sentence.text.skip_leads(number, sentence.high) if joined else sentence.high
    if number >= sentence.high or sentence.is_used(number):
        return
    ahead = sentence.places.with_preposition(number, sentence.high)
    if ahead is None and (sentence.words[number] in SIDES or sentence.opens(number)):
        ahead = _before_mark(sentence, sentence.places.at(number, sentence.high))
    if ahead:  # "..., rechts CE", "and the back CE"
        number = sentence.behind_place(ahead)
        if number >= sentence.high or sentence.is_used(number) or not sentence.is_firm(number):
            return
    named = sentence.named_at(number)
    claimed = mark.claimed if mark.claimed != "present" and not ahead else None
    if named:
        add(sentence, named, claimed=claimed and _carried(sentence, mark, named))
    elif sentence.is_firm(number):
        literal = sentence.text.literal(number, sentence.high)
        if literal and not sentence.counts(literal):
            add(sentence, literal, claimed=claimed and _carried(sentence, mark, literal))


def _carried(sentence: Sentence, mark: Mark, literal: Literal) -> Claimed | None:
    """Give the claim of a mark on to the next of its list unless that has a verb or place."""
    is_list = sentence.words[mark.last : mark.last + 1] != (",",)
    is_own = literal.last in sentence.at["verb"] or (
        literal.last < sentence.high
        and sentence.places.with_preposition(literal.last, sentence.high) is not None
    )
    return mark.claimed if is_list or not is_own else None


def _before_mark(sentence: Sentence, place: Range | None) -> Range | None:
    """Give a place back if what follows is surely a mark: "a crown" may be either."""
    if place is None or sentence.is_in_capitals(place[0]):
        return None  # "FRAME ENGLAND" is one mark
    number = sentence.behind_place(place)
    return place if number < sentence.high and sentence.is_firm(number) else None


def from_answer(sentence: Sentence, noun: Hit) -> bool:
    """Read "Is there a serial number? A: Yes, 40218 inside right arm"."""
    asked = answer_number(sentence.reading, noun.last)
    if asked is None:
        return False
    high = sentence.reading.sentence_at(asked)[1]
    is_yes = sentence.words[asked] in YES
    number = asked + 1 if is_yes else asked
    while number < high and sentence.words[number] in BEFORE_ANSWER:
        number += 1
    answer = Sentence(sentence.text, asked, high)
    place = sentence.places.with_preposition(number, high) if number < high else None
    number = answer.behind_place(place) if place else number
    if number >= high or is_size(sentence.reading, number):
        return False
    named = answer.named_at(answer.over_articles(number)) if is_yes else None
    is_told = answer.is_firm(number) or sentence.words[number][0].isdigit()
    if not (named or is_told or (is_yes and answer.is_placed_name(number))):
        return False
    literal = named or sentence.text.literal(number, high)
    if literal is None:
        return False
    add(answer, literal)
    for mark in answer.marks:
        sentence.note(mark)
    sentence.spent.update(range(noun.first, noun.last))
    return True
