"""Marks told by verbs: "stamped 925", "the arm reads ORLENA", "there is a star inside"."""

from __future__ import annotations

from extractors.lexicon import small_words
from extractors.mark_building import add, add_general, from_answer
from extractors.mark_places import Range
from extractors.mark_sentence import Sentence
from extractors.mark_text import (
    BEFORE_ANSWER,
    COPULA,
    FEW,
    INDEFINITE,
    LONE,
    LONGEST,
    NEAR,
    PAIR,
    Literal,
    is_size,
)
from extractors.reading import Hit
from extractors.scope import clause_at, is_negated

_ORS = frozenset(("or", "oder", "ou", "o"))
_REACH = 7  # words between a doubtful mark and its place
_IS_WITH = COPULA | {"with", "mit", "con"}
_SHORT = 5  # letters of a word that need not be in any list
_YEAR = 4  # figures
_POINTS = small_words("points")
_PHOTOS = small_words("photo")
_OF_MAKE = small_words("before_make")
_DUE = small_words("due")
_DOES = frozenset(("doesn", "don", "didn", "does", "did"))
_SPEAKERS = small_words("speaker")


def from_verb(sentence: Sentence, hit: Hit) -> None:
    """Read what is written behind its verb or before it: "stamped 750", "750 is stamped"."""
    if hit.first > sentence.low and sentence.words[hit.first - 1] in _OF_MAKE:
        return  # "de marque X" names the make
    if sentence.text.raw(hit.first).casefold() == "marque" and not sentence.text.is_even(hit.first):
        return  # the noun
    if from_answer(sentence, hit):
        return
    number = sentence.over_yes(hit.last)
    dedication = sentence.text.dedication(number, sentence.high)
    if dedication:
        add(sentence, dedication, hit)
        return
    number = sentence.text.skip_leads(number, sentence.high)
    if number < sentence.high and number in sentence.at["nothing"]:
        return
    place = (
        sentence.places.with_preposition(number, sentence.high) if number < sentence.high else None
    )
    if place and _from_capitals_before(sentence, hit):
        return  # "ORLENA engraved on the arm 52-20"
    if place and _ends_at(sentence, place[1]) and _from_before(sentence, hit):
        return  # "ORLENA stamped on the left tip, 5220 on the right"
    if place is None and hit.last < number < sentence.high and sentence.words[hit.last] == ":":
        place = sentence.places.at(number, sentence.high)  # "Marked: left temple ORLENA"
    if place:
        number = sentence.behind_place(place)
    named = sentence.named_at(number) if number < sentence.high else None
    if named and (not place or sentence.words[number - 1] in _IS_WITH):
        add(sentence, named, hit)
        return
    literal = (
        None if number in sentence.at["noun"] else sentence.text.literal(number, sentence.high)
    )
    literal = literal or _short(sentence, number)
    if literal and not is_size(sentence.reading, literal.first):
        add(sentence, literal, hit)
    elif not (_from_before(sentence, hit) or _from_right_before(sentence, hit)):
        _from_negated(sentence, hit)


def _short(sentence: Sentence, number: int) -> Literal | None:
    """Read a short mark of a text without case, its place behind: "STAMPED GP INSIDE"."""
    if (
        number >= sentence.high
        or not sentence.text.is_even(number)
        or sentence.text.is_stop(number)
    ):
        return None
    word, last = sentence.words[number], number + 1
    if not (1 < len(word) < _SHORT and word.isalnum()) or last >= sentence.high:
        return None
    if not sentence.places.with_preposition(last, sentence.high):
        return None
    return Literal(number, last, sentence.reading.starts[number], sentence.reading.ends[number])


def _from_capitals_before(sentence: Sentence, hit: Hit) -> bool:
    """Read capitals right before a verb that a place follows."""
    start = hit.first
    while start > max(sentence.low, hit.first - LONGEST) and (
        sentence.words[start - 1][0].isdigit()
        or (sentence.is_in_capitals(start - 1) and sentence.is_firm(start - 1))
    ):
        start -= 1
    while start < hit.first and not sentence.is_in_capitals(start):
        start += 1
    if start == hit.first or sentence.is_used(start):
        return False
    literal = sentence.text.literal(start, hit.first)
    if literal is None or literal.last < hit.first or sentence.is_word(literal):
        return False
    add(sentence, literal, hit)
    return True


def _ends_at(sentence: Sentence, number: int) -> bool:
    """Tell whether a comma stands at a word: what follows has a place of its own."""
    return number < sentence.high and sentence.words[number] == ","


def _from_before(sentence: Sentence, hit: Hit) -> bool:
    """Read what stands before its verb: "750 is stamped on the clasp", "mit 585 punziert"."""
    begin, _ = clause_at(sentence.reading, hit.first, hit.last)
    for number in range(max(begin, hit.first - 6), hit.first):
        if sentence.is_used(number):
            continue
        named = sentence.named_at(number)
        is_next = named is not None and named.last == hit.first
        is_drawn = number > sentence.low and _is_led(sentence, number)
        if (
            named
            and named.last <= hit.first
            and (is_next or is_drawn or not _is_place(sentence, number))
        ):
            add(sentence, named, hit if _reaches(sentence, named.last, hit.first) else None)
            return True
        if sentence.is_firm(number) or _is_shown(sentence, number):
            literal = sentence.text.literal(_run_start(sentence, number), hit.first)
            if literal and not is_size(sentence.reading, number):
                add(sentence, literal, hit if _reaches(sentence, literal.last, hit.first) else None)
                return True
    return False


def _from_right_before(sentence: Sentence, hit: Hit) -> bool:
    """Read figures or a name right before a verb with a place: "48-22 printed inside the arm"."""
    number = hit.first - 1
    while number > sentence.low and sentence.words[number] in COPULA:
        number -= 1
    start = _opening(sentence, number) if number >= sentence.low else None
    if start is None or any(n in sentence.spent for n in range(start, number + 1)):
        return False
    place = sentence.places.with_preposition(hit.last, sentence.high)
    if place is None and hit.last in sentence.places.place:
        place = sentence.places.at(hit.last, sentence.high)
    if place is None or is_size(sentence.reading, start):
        return False
    starts, ends = sentence.reading.starts, sentence.reading.ends
    add(sentence, Literal(start, number + 1, starts[start], ends[number]), hit)
    return True


def _opening(sentence: Sentence, number: int) -> int | None:
    """Give where figures or a name that end at a word begin, if they open a clause."""
    words, text, start = sentence.words, sentence.text, number
    if words[number][0].isdigit():
        for first in range(max(sentence.low, number - FEW), number):
            match = PAIR.match(sentence.reading.text, sentence.reading.starts[first])
            if match and match.end() == sentence.reading.ends[number]:
                return first  # "56□16 140 printed on the arm"
        while start > sentence.low and text.is_glued(start) and words[start - 1].isalnum():
            start -= 1
        return start if sentence.begins(start) and words[start][0].isdigit() else None
    if text.is_even(number) or sentence.reading.languages[number] == "de":
        return None  # German writes every noun with a capital
    while start > sentence.low and _is_of_name(sentence, start - 1):
        start -= 1
    return start if _is_of_name(sentence, start) and sentence.begins(start) else None


def _is_of_name(sentence: Sentence, number: int) -> bool:
    return sentence.text.raw(number)[0].isupper() and sentence.text.is_strange(number)


def _run_start(sentence: Sentence, number: int) -> int:
    """Go back to where "ORLENA 1:2.8 f=50" begins, of which a stop cut off the last part."""
    start = number
    while start > sentence.low and sentence.text.is_glued(start):
        start -= 1
    is_cut = start < number and sentence.words[start][0].isdigit()
    if is_cut and start > sentence.low and sentence.is_firm(start - 1):
        return start - 1
    return start if is_cut else number


def _is_led(sentence: Sentence, number: int) -> bool:
    """Tell whether "a" or "a small" stands before a word."""
    before = sentence.words[max(sentence.low, number - 2) : number]
    return any(word in INDEFINITE for word in before)


def _reaches(sentence: Sentence, number: int, verb: int) -> bool:
    """Tell whether no further mark stands before the verb ("a leaf and 925 struck")."""
    following = sentence.behind_item(number) if number < verb else None
    return following is None or following > verb


def _is_shown(sentence: Sentence, number: int) -> bool:
    """Tell whether a word before "stamped" is what is stamped: one letter, or a name."""
    raw = sentence.text.raw(number)
    if sentence.text.is_even(number):
        return sentence.text.is_strange(number)
    return len(raw) == 1 and raw.isupper() and raw not in "IA"


def _is_place(sentence: Sentence, number: int) -> bool:
    return number in sentence.places.place and number not in sentence.at["noun"]


def _from_negated(sentence: Sentence, hit: Hit) -> None:
    """Read "the cap band isn't engraved" as general absence; a size not printed is none."""
    if hit.value != "print" and is_negated(sentence.reading, hit.first, hit.last, 3):
        add_general(sentence, hit.first, hit.last)


def is_asked_to_read(sentence: Sentence, number: int) -> bool:
    """Tell whether it is the buyer who should read, or the seller who cannot say."""
    if number + 1 < sentence.high and number + 1 in sentence.text.quoted:
        return False  # "you read 'X'" quotes it
    word, previous = sentence.words[number], sentence.words[number - 1] if number else ""
    is_due = number > 1 and sentence.words[number - 2] in _DUE  # "ought to say"
    if previous == "t" and sentence.words[number - 2] in _DOES:
        return False  # "it doesn't say"
    return word in ("read", "say", "lee", "lis") and previous in _SPEAKERS and not is_due


def _has_mark(sentence: Sentence, hit: Hit, number: int) -> bool:
    """Tell whether "the left arm has ORLENA" names a mark: a place, then a strange name."""
    place = sentence.places.before(hit.first, sentence.low)
    is_even = sentence.text.is_even(number)
    if is_even and sentence.text.is_strange(number):  # "pen has haldrume on the clip"
        return sentence.places.with_preposition(number + 1, sentence.high) is not None
    is_name = sentence.text.is_strange(number) and sentence.text.raw(number).isupper()
    is_name = is_name or (is_even and sentence.text.is_literal_start(number))
    is_known = is_name or _is_form_alone(sentence, number) or _is_lone_figure(sentence, number)
    return bool(place) and is_known


def _is_form_alone(sentence: Sentence, number: int) -> bool:
    """Tell whether a known form begins that no thing follows: not that of "à double pont"."""
    form = sentence.text.forms.get(number)
    if form is None:
        return False
    return form.last >= sentence.high or form.last not in sentence.places.place


def _is_lone_figure(sentence: Sentence, number: int) -> bool:
    """Tell whether figures end their clause: "the right one just has 145"."""
    word, following = sentence.words[number], number + 1
    if not (word.isdigit() and len(word) > 1):
        return False
    return following >= sentence.high or sentence.words[following] in LONE


def _speaks(sentence: Sentence, hit: Hit) -> bool:
    """Tell whether a place right before is what speaks, in a text without case."""
    place = sentence.places.before(hit.first, sentence.low)
    return place is not None and place[1] == hit.first and sentence.text.is_even(hit.first)


def from_say(sentence: Sentence, hit: Hit) -> None:
    """Read what a part says: "the left arm reads ORLENA", "has 145"."""
    if hit.value == "behind" and (
        _from_read(sentence, hit) or not _leads_to_mark(sentence, hit.last)
    ):
        return
    if hit.value != "has" and from_answer(sentence, hit):
        return
    number = sentence.text.skip_leads(hit.last, sentence.high)
    if number >= sentence.high:
        return
    if number in sentence.at["nothing"] or number in sentence.at["general"]:
        return
    place = sentence.places.with_preposition(number, sentence.high)
    if place:
        number = sentence.behind_place(place)
    if hit.value == "has" and not (number < sentence.high and _has_mark(sentence, hit, number)):
        return
    if _is_of_picture(sentence, hit):
        return
    literal = sentence.text.literal(number, sentence.high) if number < sentence.high else None
    if literal and number in sentence.places.place and not sentence.is_firm(number):
        return  # "innen trägt der Bügel ..."
    if literal is None and number < sentence.high and _speaks(sentence, hit):
        literal = sentence.text.spoken(number, sentence.high)
    literal = literal or _short(sentence, number)
    if literal and (_is_year_told(sentence, literal) or _is_pointed_at(sentence, hit, literal)):
        return
    if (
        literal
        and number not in sentence.at["noun"]
        and not is_size(sentence.reading, literal.first)
    ):
        add(sentence, literal, hit)
        return
    named = sentence.named_at(number) if number < sentence.high else None
    if named and sentence.place(named.first, named.last):
        add(sentence, named, hit)
    elif _from_right_before(sentence, hit):
        pass  # "50-20 steht innen"
    elif hit.last >= sentence.clause_end(hit):
        _from_read(sentence, hit)  # "innen hat ORLENA gestanden"


def _is_pointed_at(sentence: Sentence, hit: Hit, literal: Literal) -> bool:
    """Tell whether a hand or scale points at a short number: "l'aiguille indique 12"."""
    text = sentence.reading.text[literal.start : literal.end]
    return text.isdigit() and len(text) <= FEW and sentence.words[hit.first] in _POINTS


def _is_year_told(sentence: Sentence, literal: Literal) -> bool:
    """Tell whether "say 1946" only gives a year: no place is beside it."""
    text = sentence.reading.text[literal.start : literal.end]
    before = sentence.reading.plain[literal.start - 1 : literal.start]
    is_quoted = literal.first in sentence.text.quoted and before != "'"
    is_year = text[:_YEAR].isdigit() and text[_YEAR:] in ("", "s", "er") and not is_quoted
    is_year = is_year and len(text) >= _YEAR
    return is_year and sentence.place(literal.first, literal.last) is None


def _leads_to_mark(sentence: Sentence, number: int) -> bool:
    """Tell whether a sure literal is right behind: "todavía se lee ORLENA"."""
    number = sentence.text.skip_leads(number, sentence.high)
    return number < sentence.high and sentence.is_firm(number)


def _from_read(sentence: Sentence, hit: Hit) -> bool:
    """Read "man kann am Bügel ORLENA lesen", "ORLENA can be seen on the arm"."""
    begin, end = clause_at(sentence.reading, hit.first, hit.last)
    if not _PHOTOS.isdisjoint(sentence.words[begin:end]):
        return False
    number = hit.first - 1
    while number > begin and sentence.words[number] in BEFORE_ANSWER:
        number -= 1
    while number - 1 >= begin and sentence.is_firm(number - 1) and not sentence.is_used(number - 1):
        number -= 1
    if number < begin or sentence.is_used(number) or not sentence.is_firm(number):
        return False
    literal = sentence.text.literal(number, hit.first)
    if literal is None or sentence.is_word(literal) or is_size(sentence.reading, number):
        return False
    if any(n in sentence.places.place for n in range(begin, min(end + NEAR, sentence.high))):
        add(sentence, literal, hit)
        return True
    return False


def _is_of_picture(sentence: Sentence, hit: Hit) -> bool:
    """Tell whether it is the photo that shows something."""
    before = sentence.words[max(sentence.low, hit.first - 2) : hit.first]
    return any(word in _PHOTOS for word in before)


def from_exist(sentence: Sentence, hit: Hit) -> None:
    """Read "inside the left arm there might be a K", "hay una hoja en la charnela"."""
    number = sentence.text.skip_leads(hit.last, sentence.high)
    number = sentence.over_articles(number)
    if number >= sentence.high or number in sentence.at["nothing"] or sentence.is_used(number):
        return
    named = sentence.named_at(number)
    if named is None and (
        sentence.is_firm(number) or _is_single(sentence, number) or sentence.is_placed_name(number)
    ):
        named = sentence.text.literal(number, sentence.high)
    if named is None or is_size(sentence.reading, named.first):
        return
    if named.first in sentence.at["noun"] and any(
        n in sentence.at["unsure"] for n in range(named.last, min(named.last + NEAR, sentence.high))
    ):
        return  # "there is a name on the arm, perhaps ORVEL"
    before = sentence.places.before(hit.first, sentence.low)
    is_near = before is not None and hit.first - before[1] <= 2
    if hit.value == "maybe":
        is_near = _is_placed_doubt(sentence, hit, before)
    if hit.value == "seems" and not _is_short(sentence, named):
        return
    reach = _REACH if _is_short(sentence, named) else 3
    if is_near or hit.value == "seen" or sentence.places.after(named.last, sentence.high, reach):
        add(sentence, named, hit)


def _is_placed_doubt(sentence: Sentence, hit: Hit, before: Range | None) -> bool:
    """Tell whether a place leads to "could be": "Sul ponte si legge male, potrebbe essere X"."""
    if before is None or hit.first - before[1] > _REACH:
        return False
    near = range(max(sentence.low, before[0] - 1), before[1])
    return any(number in sentence.places.prep for number in near) or any(
        number in sentence.at["say"] or number in sentence.at["noun"]
        for number in range(before[1], hit.first)
    )


def _is_short(sentence: Sentence, literal: Literal) -> bool:
    """Tell whether a literal is one or two letters or figures that end their clause."""
    if literal.end - literal.start > FEW:
        return False
    following = sentence.words[literal.last : literal.last + 1]
    return (
        not following
        or following[0] in LONE
        or following[0] in _ORS
        or (literal.last in sentence.places.prep)
    )


def _is_single(sentence: Sentence, number: int) -> bool:
    """Tell whether a word is one capital letter behind an article: "a K"."""
    raw = sentence.text.raw(number)
    return (
        len(raw) == 1
        and raw.isupper()
        and number > sentence.low
        and sentence.words[number - 1] in INDEFINITE
    )
