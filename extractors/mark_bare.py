"""Marks that no cue announces: known forms, quotes, capitals, figures, drawn signs, colons."""

from __future__ import annotations

import re

from extractors.lexicon import small_words
from extractors.mark_building import add
from extractors.mark_claims import claim
from extractors.mark_forms import Form
from extractors.mark_nouns import from_noun
from extractors.mark_places import LEFT_RIGHT, Range
from extractors.mark_sentence import Sentence
from extractors.mark_text import (
    COPULA,
    DASHED,
    FEW,
    INDEFINITE,
    JOINS,
    LONE,
    LONGEST,
    NEAR,
    NOT_SERIAL,
    NUMBER_SIGNS,
    PAIR,
    SIDES,
    WITH,
    YES,
    Literal,
    is_size,
)
from extractors.reading import Hit
from extractors.scope import answer_at, clause_at, is_doubted

_LONGEST = 60  # words before a mark that are read for its place
_LONG_CODE = 4  # figures of a number that needs no word beside its place
_YEAR = re.compile(r"1[89]\d\d|20[0-3]\d")
_CODE = re.compile(r"\d{2,}[-/.]?\d{2,}(?:[-/.]\d+)*")
_METALS = small_words("precious")
_WHOLE_PIECES = small_words("whole_piece")
_BEFORE_NUMBER = small_words("merely") | WITH
_NIBS = small_words("nib")


def from_form(sentence: Sentence, form: Form) -> None:
    """Read a mark known by its form where something says that it is written."""
    if form.kind == "number":
        _from_number(sentence, form)
        return
    if form.kind == "fineness" and not any(c.isdigit() for c in sentence.words[form.first]):
        return
    if form.last in sentence.at["noun"] and form.last < sentence.high:
        from_noun(sentence, sentence.at["noun"][form.last])
        return
    literal = sentence.text.known(form.first, sentence.high)
    if literal is None:
        return
    claimed = claim(sentence, form.first, form.last)
    placed = _is_placed_behind(sentence, form.last, form.kind != "fineness")
    placed = placed or _is_inside(sentence, form.last)
    begin, end = clause_at(sentence.reading, form.first, form.last)
    writes = any(n in sentence.at["verb"] or n in sentence.at["noun"] for n in range(begin, end))
    writes = writes and not _is_next_written(sentence, form.last)
    if (
        placed
        or claimed == "absent"
        or _is_answered_yes(sentence, form.last)
        or _is_nibs(sentence, form)
        or (writes and form.kind != "country")
    ):
        add(sentence, literal, claimed=claimed)
    elif (
        _colon_before(sentence, form.first)
        or (form.kind == "fineness" and _is_of_part(sentence, literal))
        or _is_placed_before(sentence, literal)
        or _is_part_with(sentence, form.first)
    ):
        add(sentence, literal)


def from_bare(sentence: Sentence, number: int) -> None:
    """Read what no cue announces: quoted words, a size or capitals, with a place behind."""
    if number in sentence.text.quoted:
        _from_quoted(sentence, number)
    elif sentence.words[number][0].isdigit():
        _from_size(sentence, number)
        if not sentence.is_used(number):
            _from_figures(sentence, number)
    elif sentence.text.raw(number).isupper():
        _from_capitals(sentence, number)
    else:
        _from_name(sentence, number)


def _from_figures(sentence: Sentence, number: int) -> None:
    """Read "a 4821 on the left arm": figures behind an article, a place beside them."""
    if _from_figures_and_capitals(sentence, number):
        return
    word = sentence.words[number]
    is_long = word.isdigit() and len(word) > _LONG_CODE - 1 and not _YEAR.fullmatch(word)
    is_told = sentence.text.is_lone_number(number)
    if not (is_told or is_long) or is_size(sentence.reading, number):
        return
    literal = Literal(
        number, number + 1, sentence.reading.starts[number], sentence.reading.ends[number]
    )
    is_behind = is_told and _is_placed_behind(sentence, literal.last, False)
    if is_behind or _is_placed_before(sentence, literal):
        add(sentence, literal)


def _from_figures_and_capitals(sentence: Sentence, number: int) -> bool:
    """Read "On the back 20 ATM": figures and capitals that with their place make up a clause."""
    if number + 1 >= sentence.high or not sentence.is_in_capitals(number + 1):
        return False
    if not sentence.is_firm(number + 1) or is_size(sentence.reading, number):
        return False
    literal = sentence.text.literal(number, sentence.high)
    if literal is None or literal.last < number + 2 or sentence.is_word(literal):
        return False
    if not _is_placed_before(sentence, literal):
        return False
    add(sentence, literal)
    return True


def _from_name(sentence: Sentence, number: int) -> None:
    """Read "Orlena on the dial, Feyrand on the movement": a name opens a clause."""
    if not sentence.begins(number) and sentence.words[number - 1] not in JOINS:
        return
    if sentence.text.is_even(number) or not sentence.text.is_strange(number):
        return
    literal = sentence.text.literal(number, sentence.high)
    if literal is None or sentence.words[literal.last : literal.last + 1] == ("up",):
        return
    if sentence.places.with_preposition(literal.last, sentence.high):
        add(sentence, literal)


def add_drawn(sentence: Sentence, number: int) -> None:
    """Note the drawn mark at a word."""
    drawn = sentence.text.sign(number, sentence.high)
    if drawn:
        add(sentence, drawn)


def from_sign(sentence: Sentence, number: int) -> None:
    """Read "An anchor and 925 inside": a drawn mark listed with a written one, and a place."""
    drawn = sentence.text.sign(number, sentence.high)
    following = sentence.behind_item(drawn.last) if drawn else None
    hit = sentence.at["sign"][number]
    if drawn and hit.value == "assay" and sentence.place_behind(drawn.last, False):
        add(sentence, drawn)
        return
    if drawn is None or following is None:
        return
    written = any(
        n in sentence.text.forms or sentence.is_firm(n) for n in range(drawn.last, following)
    )
    if written and sentence.place_behind(drawn.last, False):
        add(sentence, drawn)


def _is_next_written(sentence: Sentence, number: int) -> bool:
    """Tell whether a verb right behind has another literal: "Oro 18 kt punzonato 750"."""
    verb = sentence.at["verb"].get(number)
    return verb is not None and verb.last < sentence.high and verb.last in sentence.text.forms


def _is_inside(sentence: Sentence, number: int) -> bool:
    """Tell whether a place without a preposition ends the clause: "750 intérieur"."""
    if number >= sentence.high or sentence.words[number] not in SIDES:
        return False
    place = sentence.places.at(number, sentence.high)
    return place is not None and (place[1] >= sentence.high or sentence.words[place[1]] in LONE)


def _is_part_with(sentence: Sentence, number: int) -> bool:
    """Tell whether a part that opens its clause has the mark: "Cierre de caja con 925"."""
    if number <= sentence.low or sentence.words[number - 1] not in WITH:
        return False
    begin, _ = clause_at(sentence.reading, number, number + 1)
    return begin in sentence.places.place and number - begin <= NEAR


def _is_placed_behind(sentence: Sentence, number: int, is_sure: bool) -> bool:
    """Tell whether a place follows a mark, or the list that it begins."""
    return sentence.place_behind(number, is_sure) is not None


def _is_nibs(sentence: Sentence, form: Form) -> bool:
    """Tell whether gold of a nib is named: a fineness is stamped on every gold nib."""
    if form.kind != "fineness":
        return False
    words = sentence.words
    beside = {words[n] for n in (form.first - 1, form.last) if sentence.low <= n < sentence.high}
    return not _NIBS.isdisjoint(beside)


def _is_answered_yes(sentence: Sentence, number: int) -> bool:
    return answer_at(sentence.reading, number) in YES


def _colon_before(sentence: Sentence, number: int) -> bool:
    """Tell whether a place and a colon stand right before a word."""
    if number - 1 < sentence.low or sentence.words[number - 1] not in (":", "="):
        return False
    place = sentence.places.before(number - 1, sentence.low)
    return place is not None and place[1] >= number - 2


def _from_number(sentence: Sentence, form: Form) -> None:
    """Read "caseback no. 77120": a number sign, figures, and a place beside."""
    number = form.last - 1
    if form.first > sentence.low and sentence.words[form.first - 1] in NOT_SERIAL:
        return
    before = sentence.places.before(form.first, sentence.low)
    near = before is not None and all(
        sentence.words[n] in _BEFORE_NUMBER for n in range(before[1], form.first)
    )
    near = near or (before is not None and form.first - before[1] <= 1)
    start, end = sentence.reading.starts[number], sentence.reading.ends[number]
    digits = Literal(number, form.last, start, end)
    literal = sentence.text.pair(number, digits) or digits
    if near or sentence.places.with_preposition(literal.last, sentence.high):
        add(sentence, literal)


def _from_capitals(sentence: Sentence, number: int) -> None:
    """Read "Red T on the barrel": capitals with a place right behind."""
    raw = sentence.text.raw(number)
    if not raw.isupper() or sentence.text.is_even(number) or raw in ("I", "A"):
        return
    if _is_on_side(sentence, number):
        _take(sentence, number)
        return
    is_number = sentence.words[number] in NUMBER_SIGNS and sentence.text.numbers(number)
    if sentence.text.is_stop(number) and len(raw) > 1 and not is_number:
        return
    if number > sentence.low and sentence.words[number - 1] in NOT_SERIAL:
        return  # "UK size N. 925 inside"
    literal = sentence.text.literal(number, sentence.high)
    if literal is None:
        return
    is_metal = raw.casefold() in _METALS and literal.last - literal.first == 1
    if is_metal and sentence.places.with_preposition(literal.last, sentence.high):
        add(sentence, literal)  # "SILVER on the rim"
        return
    if not _is_shouted(sentence, literal) or sentence.is_word(literal):
        return
    behind = literal.last < sentence.high and _is_placed_behind(sentence, literal.last, True)
    is_long = len(raw) > 2 or _is_behind_article(sentence, number)
    if (
        behind
        or (is_long and _is_placed_before(sentence, literal))
        or (_has_form(sentence, literal) and _is_of_part(sentence, literal))
    ):
        add(sentence, literal)


def _is_behind_article(sentence: Sentence, number: int) -> bool:
    """Tell whether an article leads to a short mark: "on the pads a V", not "chiusura a C"."""
    word, language = sentence.words[number - 1], sentence.reading.languages[number]
    return word in INDEFINITE and (word != "a" or language == "en")


def _has_form(sentence: Sentence, literal: Literal) -> bool:
    return any(n in sentence.text.forms for n in range(literal.first, literal.last))


def _is_of_part(sentence: Sentence, literal: Literal) -> bool:
    """Tell whether a small part opens the clause and its mark follows: "Cierre 925 algo flojo"."""
    part = literal.first - 1
    if part not in sentence.places.place or not sentence.begins(part):
        return False
    if sentence.words[part] in _WHOLE_PIECES:
        return False  # "Ring 585" tells what it is made of
    following = sentence.words[literal.last : literal.last + 1]
    return not _METALS.intersection(following)


def _is_shouted(sentence: Sentence, literal: Literal) -> bool:
    """Tell whether a literal is in capitals, a name behind it aside: "ORLENA Paris".

    German writes every noun with a capital: there only words of no list are names.
    """
    if sentence.reading.text[literal.start : literal.end].isupper():
        return True
    if all(
        sentence.words[n].isdigit() or len(sentence.words[n]) <= FEW
        for n in range(literal.first + 1, literal.last)
    ):
        return True  # "ORLENA 1:2,8 f=28"
    rest = range(literal.first + 1, literal.last)
    return len(rest) <= FEW and all(
        sentence.text.raw(n)[0].isupper()
        and (sentence.reading.languages[n] != "de" or sentence.text.is_strange(n))
        for n in rest
    )


def _is_on_side(sentence: Sentence, number: int) -> bool:
    """Tell whether "left" or "right" stands before, and the thing it is of before that."""
    if len(sentence.text.raw(number)) < 2 or number - 1 < sentence.low:
        return False
    side = number - 1
    if sentence.words[side] == ":":
        side -= 1
    is_side = side >= sentence.low and sentence.words[side] in LEFT_RIGHT
    return is_side and sentence.places.before(side, sentence.low) is not None


def _take(sentence: Sentence, number: int) -> None:
    literal = sentence.text.literal(number, sentence.high)
    if literal and not sentence.is_word(literal):
        add(sentence, literal)


def _is_placed_before(sentence: Sentence, literal: Literal) -> bool:
    """Read "Auf dem linken Bügel ORLENA, rechts CE": place and mark make up the clause."""
    begin, end = clause_at(sentence.reading, literal.first, literal.last)
    if begin > sentence.low and sentence.words[begin - 1] == ".":
        begin = sentence.low  # of a word cut short: "br. g. ORLENA"
    if begin >= literal.first or literal.first - sentence.low > _LONGEST:
        return False
    if end > literal.last and sentence.words[literal.last] not in JOINS:
        return False
    number = sentence.low
    while number < literal.first:
        if sentence.words[number] in ",." or (
            number > sentence.low and sentence.words[number] in INDEFINITE
        ):
            number += 1
            continue
        if number in sentence.spent or (
            number - 1 in sentence.spent and sentence.words[number] in JOINS
        ):
            number += 1  # "on the left 7702 and on the right CE"
            continue
        if sentence.words[number] in COPULA and number + 1 == literal.first:
            return number > begin  # "inside the back is 20931"
        if number > sentence.low and number in sentence.text.manner:
            number = sentence.text.manner[number]  # "under the bridge, small, GERMANY"
            continue
        doubt = _doubt_at(sentence, number)
        if doubt:
            number = doubt.last
            continue
        place = sentence.places.with_preposition(number, sentence.high)
        if place is None and (sentence.words[number] in SIDES or sentence.opens(number)):
            place = sentence.places.at(number, sentence.high)
        number = place[1] if place else _next_clause(sentence, number, literal.first)
    return number == literal.first and number > begin


def _doubt_at(sentence: Sentence, number: int) -> Hit | None:
    """Give the words of doubt that begin at a word: "on the right it seems that LYON"."""
    return None if number == sentence.low else sentence.at["unsure"].get(number)


def _next_clause(sentence: Sentence, number: int, end: int) -> int:
    """Give the word behind the next comma before `end`; one beyond it if there is none."""
    comma = next((n for n in range(number, end) if sentence.words[n] == ","), end)
    return comma + 1


def _from_quoted(sentence: Sentence, number: int) -> None:
    """Read "'NAME' on the nose pad": quoted words with a place right behind."""
    literal = sentence.text.literal(number, sentence.high)
    if literal is None:
        return
    last = literal.last
    if sentence.is_word(literal):
        return
    if last < sentence.high and _is_placed_behind(sentence, last, True):
        add(sentence, literal)
        return
    if _is_placed_before(sentence, literal) or _is_behind_place(sentence, literal.first):
        add(sentence, literal)
        return
    if number in sentence.text.forms and _is_part_with(sentence, number):
        add(sentence, literal)
        return
    if is_doubted(sentence.reading, literal.first, last) and sentence.places.after(
        last, sentence.high
    ):
        add(sentence, literal, claimed="unsure")  # whether "X" or something else is on the arm
        return
    begin, _ = clause_at(sentence.reading, literal.first, last)
    before = sentence.places.before(literal.first, begin)
    if before and before[0] <= begin + 1 and sentence.reading.text[literal.start].isupper():
        add(sentence, literal)


def _is_behind_place(sentence: Sentence, number: int) -> bool:
    """Tell whether a place and a comma make up what stands before: 'En el aro, "X"'."""
    if number - 1 <= sentence.low or sentence.words[number - 1] != ",":
        return False
    place = sentence.places.with_preposition(sentence.low, number - 1)
    return place is not None and place[1] == number - 1


def _from_size(sentence: Sentence, number: int) -> None:
    """Read "50□20 am Steg", "Yes, 49-24 on the arm": a printed size with a place right behind."""
    text, start = sentence.reading.text, sentence.reading.starts[number]
    match = PAIR.match(text, start)
    is_sure = match is not None
    if match is None and sentence.begins(number):
        match = DASHED.match(text, start)
    if match is None:
        return
    last = sentence.reading.word_at(match.end() - 1) + 1
    literal = Literal(number, last, match.start(), match.end())
    if is_sure and _is_on_place(sentence, number):
        add(sentence, literal)
        return
    if last >= sentence.high:
        return
    is_close = sentence.places.with_preposition(last, sentence.high) is not None
    if is_close or (
        is_sure and (_is_placed_behind(sentence, last, False) or _is_side_next(sentence, last))
    ):
        add(sentence, literal)


def _is_on_place(sentence: Sentence, number: int) -> bool:
    """Tell whether "on the arm is" leads to a printed size."""
    while number > sentence.low and sentence.words[number - 1] in COPULA:
        number -= 1
    near = range(max(sentence.low, number - NEAR), number)
    places = (sentence.places.with_preposition(first, number) for first in near)
    return any(place is not None and place[1] == number for place in places)


def _is_side_next(sentence: Sentence, number: int) -> bool:
    """Tell whether a comma and one side alone follow: "54□18, left arm"."""
    if sentence.words[number] != "," or number + 1 >= sentence.high:
        return False
    place = sentence.places.at(number + 1, sentence.high)
    if place is None or LEFT_RIGHT.isdisjoint(sentence.words[place[0] : place[1]]):
        return False
    return place[1] >= sentence.high or sentence.words[place[1]] in LONE


def from_colon(sentence: Sentence, colons: list[int]) -> None:
    """Read "Inner right arm: HALDRUME"."""
    for number in colons:
        if not sentence.low < number < sentence.high - 1:
            continue
        place = sentence.places.before(number, sentence.low)
        after = number + 1
        if place is None or place[1] < number - 1 or sentence.is_used(after):
            continue
        after = sentence.over_articles(after)
        named = sentence.named_at(after) if after < sentence.high else None
        if named and after > number + 1:  # "On the back: an arrow"
            add(sentence, named)
            continue
        if after >= sentence.high:
            continue
        whole = _whole(sentence, place, after)
        if whole:
            add(sentence, whole)
            continue
        if not (sentence.is_firm(after) or _is_told(sentence, place, after)):
            continue
        literal = sentence.text.literal(after, sentence.high)
        text = sentence.reading.slice(after, literal.last) if literal else ""
        is_shown = any(c.isupper() for c in text) or sentence.text.is_even(after)
        is_code = bool(_CODE.fullmatch(text)) and not is_size(sentence.reading, after)
        if (
            literal
            and (any(c.isalpha() for c in text) or is_code or after in sentence.text.forms)
            and (is_shown or is_code or after in sentence.text.forms)
        ):
            add(sentence, literal)


def _whole(sentence: Sentence, place: Range, number: int) -> Literal | None:
    """Read a dedication behind a place that opens the sentence: "Lid: To Jean 12.5.86"."""
    if sentence.text.is_even(number) or number in sentence.text.quoted:
        return None
    if not sentence.text.raw(number)[0].isupper() or sentence.text.is_stop(number):
        return None
    if place[0] > sentence.low + 1 or sentence.is_firm(number):
        return None
    last = next(
        (n for n in range(number, sentence.high) if sentence.words[n] == ","), sentence.high
    )
    while last > number and sentence.words[last - 1] in (".", "\n"):
        last -= 1
    words = sentence.words[number:last]
    if not 1 < len(words) <= LONGEST or not words[-1].isdigit() or len(words[-1]) < FEW:
        return None
    if not LONE.isdisjoint(word for word in words if word not in ".-/"):
        return None
    start, end = sentence.reading.starts[number], sentence.reading.ends[last - 1]
    return None if is_size(sentence.reading, last - 1) else Literal(number, last, start, end)


def _is_told(sentence: Sentence, place: Range, number: int) -> bool:
    """Tell whether a name of no list is all that follows a place: "Dial: Sotherwick."."""
    begin = place[0]
    while begin > sentence.low and (
        begin - 1 in sentence.spent
        or begin - 1 in sentence.places.article
        or begin - 1 in sentence.places.prep
    ):
        begin -= 1
    if begin > sentence.low:
        return False
    if sentence.text.is_even(number):  # a name with figures: "linker bügel: orvelle 50-20"
        literal = sentence.text.literal(number, sentence.high)
        has_figures = literal and any(
            sentence.words[n].isdigit() for n in range(number + 1, literal.last)
        )
        return bool(has_figures) and sentence.text.is_strange(number)
    return sentence.text.raw(number)[0].isupper() and sentence.text.is_strange(number)
