"""Marks told by their noun: "hallmark: 750", "no maker's name", "CE logo"."""

from __future__ import annotations

from extractors.lexicon import small_words
from extractors.mark_absence import exception_before, from_exception
from extractors.mark_building import add, add_general, from_answer
from extractors.mark_claims import claim
from extractors.mark_forms import Form
from extractors.mark_sentence import Sentence
from extractors.mark_text import (
    COLONS,
    GENERAL,
    INDEFINITE,
    NEAR,
    NOT_SERIAL,
    QUOTES,
    STOPS,
    Literal,
    is_size,
)
from extractors.reading import Hit
from extractors.scope import clause_at, is_negated, negations_before

_OTHER = small_words("other")
_WEAR = small_words("wear")
_MAKE = small_words("make_noun")
_BESIDE = 2  # words between a place and the noun of its mark
_FAR = 14  # words between a doubtful mark and what it may read
_NEAR_BY = 8  # the same for figures
_COUNTED = small_words("counted_noun")
_WHOLE_PIECES = small_words("whole_piece")
_PERSONS = small_words("of_person")


def from_noun(sentence: Sentence, noun: Hit) -> None:
    """Read a mark told by its noun: "hallmark: 750", "no serial number", "CE logo"."""
    before = sentence.words[noun.first - 1] if noun.first > sentence.low else ""
    if before in NOT_SERIAL or (noun.value == "weak" and before in _PERSONS):
        return  # "bus number 52", "my number"
    if from_answer(sentence, noun):
        return
    literal = (
        _before_noun(sentence, noun) or sentence.behind_noun(noun) or _behind_colon(sentence, noun)
    )
    literal = literal or _in_next_cell(sentence, noun)
    literal = literal or _spoken_behind(sentence, noun)
    if literal and (sentence.is_used(literal.first) or _is_brand(sentence, noun, literal)):
        return
    if literal and (
        noun.value != "weak"
        or _is_placed(sentence, noun)
        or literal.first < noun.first
        or _is_placed_behind(sentence, literal.last)
        or sentence.words[literal.first - 1] == ","
    ):
        add(sentence, literal, noun)
        return
    if noun.value == "maker" and not is_negated(sentence.reading, noun.first, noun.last):
        return  # "signed by the maker"
    letter = _guess_behind(sentence, noun) if sentence.is_letter(noun) else None
    if letter:
        add(sentence, letter, noun, claimed="unsure")
        return
    if sentence.is_letter(noun) or _is_spoken(sentence, noun):
        return
    is_bracketed = noun.last < sentence.high and sentence.words[noun.last] == "("
    end = sentence.behind_bracket(noun.last) if is_bracketed else noun.last
    claimed = claim(sentence, noun.first, end)
    guess = _guess_behind(sentence, noun) if claimed != "absent" else None
    if claimed == "absent":
        _absent_noun(sentence, noun)
    elif guess:
        add(sentence, guess, noun, claimed="unsure")
    elif claimed == "unsure" and (doubtful := _literal_later(sentence, noun)):
        add(sentence, doubtful, noun, claimed="unsure")
    elif claimed == "present" and noun.value == "any" and _is_described(sentence, noun):
        add(sentence, Literal(noun.first, noun.last, noun.start, noun.end))
    elif claimed == "unsure" and noun.value == "any" and _is_gone(sentence, noun):
        add(sentence, Literal(noun.first, noun.last, noun.start, noun.end), claimed="unsure")
    elif claimed == "unsure" and sentence.words[noun.last - 1] in _MAKE and noun.value == "weak":
        return  # "I can't tell you the brand"
    elif noun.value == "strong" or (
        noun.value == "weak" and (claimed == "unsure" or _is_placed(sentence, noun))
    ):
        later = _form_behind(sentence, noun)
        if later:
            add(sentence, Literal(later.first, later.last, later.start, later.end), noun)
        elif noun.value == "strong" or claimed != "present" or _is_on(sentence, noun):
            add(sentence, Literal(noun.first, noun.last, noun.start, noun.end))


def _is_placed_behind(sentence: Sentence, number: int) -> bool:
    """Tell whether a place follows, a comma before it aside."""
    number += number < sentence.high and sentence.words[number] == ","
    return sentence.place_behind(number, False) is not None


def _is_spoken(sentence: Sentence, noun: Hit) -> bool:
    """Tell whether the words of a mark follow: "the dedication reads To Jean"."""
    say = sentence.at["say"].get(noun.last)
    if say is None or say.value or say.last >= sentence.high:
        return False
    number = sentence.text.skip_leads(say.last, sentence.high)
    return sentence.text.literal(number, sentence.high) is not None


def _spoken_behind(sentence: Sentence, noun: Hit) -> Literal | None:
    """Read "asta sinistra scritta haldrume" of a text without case."""
    number = noun.last
    if noun.value != "any" or number >= sentence.high or not sentence.text.is_even(number):
        return None
    place = sentence.places.before(noun.first, sentence.low)
    if place is None or place[1] < noun.first - 1 or not sentence.text.is_literal_start(number):
        return None
    return sentence.text.spoken(number, sentence.high)


def _is_brand(sentence: Sentence, noun: Hit, literal: Literal) -> bool:
    """Tell whether "marque X", "Marke: X" names the make: nothing says where X is written."""
    if sentence.words[noun.first] not in _MAKE or noun.last - noun.first > 1:
        return False
    if is_negated(sentence.reading, noun.first, noun.last):
        return False  # "sans marque CH"
    between = sentence.words[noun.last : literal.first]
    if not all(word in COLONS for word in between) or literal.first in sentence.text.quoted:
        return False
    if literal.first in sentence.text.forms or (between and sentence.is_firm(literal.first)):
        return False
    before = sentence.places.before(noun.first, sentence.low)
    is_beside = before is not None and noun.first - before[1] <= _BESIDE
    return not is_beside and sentence.place_behind(literal.last, False) is None


def _literal_later(sentence: Sentence, noun: Hit) -> Literal | None:
    """Find what a doubtful mark may read: "inscription half gone, perhaps ORLE"."""
    for number in range(noun.last, min(sentence.high, noun.last + _FAR)):
        if number > noun.last + _NEAR_BY and not sentence.text.raw(number).isalpha():
            continue  # figures so far off are of something else
        if sentence.is_firm(number) and not is_size(sentence.reading, number):
            return sentence.text.literal(number, sentence.high)
    return None


def _guess_behind(sentence: Sentence, noun: Hit) -> Literal | None:
    """Read what a described mark may be: "there is a stamp inside, perhaps 800"."""
    for number in range(noun.last, min(sentence.high, noun.last + NEAR)):
        hit = sentence.at["unsure"].get(number)
        if hit is None:
            continue
        first = sentence.over_articles(sentence.text.skip_leads(hit.last, sentence.high))
        if first >= sentence.high or sentence.is_used(first):
            continue
        raw = sentence.text.raw(first)
        if sentence.is_firm(first) or (len(raw) == 1 and raw.isupper() and raw not in "IA"):
            return sentence.text.literal(first, sentence.high)
    return None


def _form_behind(sentence: Sentence, noun: Hit) -> Form | None:
    """Find a known form that the noun announces: "hallmark inside, 750"."""
    reach = range(noun.last, min(sentence.high, noun.last + 8))
    return next((sentence.text.forms[n] for n in reach if n in sentence.text.forms), None)


def _is_on(sentence: Sentence, noun: Hit) -> bool:
    near = range(noun.last, min(noun.last + 3, sentence.high))
    if any(sentence.places.with_preposition(number, sentence.high) for number in near):
        return True
    return sentence.is_with(noun.first)


def _is_described(sentence: Sentence, noun: Hit) -> bool:
    """Tell whether a mark of which no words are told is there: "has an engraving on the edge"."""
    if noun.first - 1 < sentence.low or sentence.words[noun.first - 1] not in INDEFINITE:
        return False
    if sentence.words[noun.first] in _WEAR or noun.last >= sentence.high:
        return False
    return sentence.places.with_preposition(noun.last, sentence.high) is not None


def _is_gone(sentence: Sentence, noun: Hit) -> bool:
    """Tell whether a doubtful mark is one that was written, with a place; wear is none."""
    is_wear = sentence.words[noun.first] in _WEAR and noun.last - noun.first == 1
    if noun.last < sentence.high and sentence.words[noun.last] in COLONS:
        return True  # "Stamp: illegible"
    return not is_wear and _is_placed(sentence, noun)


def _is_placed(sentence: Sentence, noun: Hit) -> bool:
    begin, end = clause_at(sentence.reading, noun.first, noun.last)
    if any(_is_place(sentence, n) or n in sentence.at["verb"] for n in range(begin, end)):
        return True
    return _is_behind_place(sentence, begin)


def _is_place(sentence: Sentence, number: int) -> bool:
    """Tell whether a word is a place, a whole piece only behind a small word: "on the frame"."""
    if number not in sentence.places.place:
        return False
    if sentence.words[number] not in _WHOLE_PIECES or number == sentence.low:
        return sentence.words[number] not in _WHOLE_PIECES
    before = number - 1
    return before in sentence.places.article or before in sentence.places.prep


def _is_behind_place(sentence: Sentence, number: int) -> bool:
    """Tell whether a clause follows a place and a comma: "Behind the hinge, the number 5124"."""
    if number - 2 < sentence.low or sentence.words[number - 1] != ",":
        return False
    near = range(max(sentence.low, number - NEAR), number - 1)
    places = (sentence.places.with_preposition(n, sentence.high) for n in near)
    return any(place is not None and place[1] == number - 1 for place in places)


def _absent_noun(sentence: Sentence, noun: Hit) -> None:
    if _is_wear(sentence, noun) or _is_listed(sentence, noun):
        return
    before = sentence.words[max(sentence.low, noun.first - 2) : noun.first]
    if before[-1:] and before[-1] in _OTHER:
        return  # "no other mark": there is one
    if before == ("not", "a") and noun.value == "weak" and not _is_placed(sentence, noun):
        return  # "the model number and not a date"
    if noun.value == "any":
        add_general(sentence, noun.first, noun.last)
        if not from_exception(sentence, noun.last):
            exception_before(sentence, noun.first)
    else:
        add(sentence, Literal(noun.first, noun.last, noun.start, noun.end), claimed="absent")
        from_exception(sentence, noun.last)


def _is_listed(sentence: Sentence, noun: Hit) -> bool:
    """Tell whether a general absence is only spelt out ("no marks or numbers")."""
    return any(
        mark.text == GENERAL
        and 0 <= noun.first - mark.last <= 3
        and not negations_before(sentence.reading, noun.first, noun.first - mark.last)
        for mark in sentence.marks
    )


def _is_wear(sentence: Sentence, noun: Hit) -> bool:
    """Tell whether "no marks" speaks of scratches."""
    begin, end = clause_at(sentence.reading, noun.first, noun.last)
    return any(
        begin <= hit.first < end and hit.value in ("scratches", "chip", "crack", "repair")
        for hit in sentence.reading.found("condition.state")
    )


def _before_noun(sentence: Sentence, noun: Hit) -> Literal | None:
    """Read the literal before its noun: "CE logo", "a worn Haldrume inscription"."""
    number = noun.first - 1
    for first in range(max(sentence.low, noun.first - 4), noun.first):
        form = sentence.text.forms.get(first)
        if form and form.last == noun.first and not sentence.is_used(first):
            return Literal(first, form.last, form.start, form.end)
    if number < sentence.low or sentence.is_used(number):
        return None
    end = sentence.reading.ends[number]
    plain = sentence.reading.plain
    if plain[end : end + 1] and plain[end] in QUOTES and not plain[end + 1 : end + 2].isalnum():
        return _quoted_before(sentence, number)
    raw = sentence.text.raw(number)
    if raw.endswith("er") and raw[:-2].isdigit():
        return Literal(number, number + 1, sentence.reading.starts[number], end - 2)  # "585er"
    if len(raw) == 1 and raw.isupper() and sentence.reading.plain[end : end + 1] == "-":
        return Literal(number, number + 1, sentence.reading.starts[number], end)  # "Z-Logo"
    is_counted = sentence.words[noun.last - 1] in _COUNTED  # "model Orlena, reference 1975"
    if is_counted and not raw.isupper():
        return None
    if raw.isalpha() and sentence.is_name(number) and (noun.value != "strong" or raw.isupper()):
        return Literal(number, number + 1, sentence.reading.starts[number], end)
    sign = next((s for s in sentence.at["sign"].values() if s.last == noun.first), None)
    if sign and sign.first >= sentence.low and noun.value != "strong":
        return Literal(sign.first, sign.last, sign.start, sign.end)
    return None


def _quoted_before(sentence: Sentence, number: int) -> Literal | None:
    end = sentence.reading.ends[number]
    quote = sentence.reading.plain[end]
    start = sentence.reading.plain.rfind(quote, max(0, end - 60), end)
    if start < 0:
        return None
    first = number
    while first > sentence.low and sentence.reading.starts[first - 1] > start:
        first -= 1
    return Literal(first, number + 1, start + 1, end)


def _behind_colon(sentence: Sentence, noun: Hit) -> Literal | None:
    """Read "imprint on the barrel is crisp: ORLENA"."""
    for number in range(noun.last, min(noun.last + NEAR, sentence.high - 1)):
        if sentence.words[number] == ":":
            is_told = sentence.is_firm(number + 1) or sentence.is_named(noun, number + 1)
            is_new = not sentence.is_used(number + 1) and is_told
            return sentence.text.literal(number + 1, sentence.high) if is_new else None
        if sentence.words[number] in STOPS or number in sentence.at["verb"]:
            return None
    return None


def _in_next_cell(sentence: Sentence, noun: Hit) -> Literal | None:
    """Read the mark in the next cell of a table: "| Engraving | ORLENA 50 |"."""
    words = sentence.words
    if noun.last >= len(words) - 1 or words[noun.last] != "|":
        return None
    if noun.first > 0 and words[noun.first - 1] not in ("|", "\n"):
        return None
    number = noun.last + 1
    low, high = sentence.reading.sentence_at(number)
    if number >= high or not Sentence(sentence.text, low, high).is_firm(number):
        return None
    return sentence.text.literal(number, high)
