"""What stands at the words of one sentence: a mark, the name of one, the place it has."""

from __future__ import annotations

import re

from extractors.lexicon import small_words
from extractors.mark_places import LEFT_RIGHT, Range
from extractors.mark_text import (
    COLONS,
    COPULA,
    INDEFINITE,
    JOINS,
    MONTHS,
    NEAR,
    SIDES,
    STOPS,
    WITH,
    YES,
    Literal,
    Mark,
    Text,
    is_size,
)
from extractors.reading import Hit
from extractors.scope import ANSWERING, answer_number, clause_at

_CLOSED = STOPS | {","}
_DOTTED = re.compile(r"[^\W\d_]\.(?: ?[^\W\d_]\.){1,3}(?!\w)")
_BEHIND_YES = frozenset(",:-(")
_NO_NAMES = frozenset(("any", "maker"))  # nouns that are no mark by themselves
_NEAR = 10  # words between "on the other" and its mark
_THERE_ALONE = frozenset((word,) for word in small_words("is_there"))
_LISTED = 6  # things in one list of marks
_NAMES = small_words("name_noun")
_LETTERS = small_words("letter_noun")
_HAS = small_words("has")
_LACKS = small_words("negates_ahead") | small_words("lacks") | {":", "="}
_BLANK = small_words("blank_surface") | {","}
_STRESSED = small_words("stressed")
_ITSELF = small_words("itself")
_WEARERS = small_words("wearers_size")
_MODALS = small_words("modal")


class Sentence:
    """One sentence: what stands at its words, where a mark in it sits; its marks so far.

    Words once used are not used again.
    """

    def __init__(self, text: Text, low: int, high: int) -> None:
        self.text, self.low, self.high = text, low, high
        self.reading, self.words = text.reading, text.words
        self.at, self.places = text.at, text.places
        self.marks: list[Mark] = []
        self.spent: set[int] = set()  # words of marks, and those that did their work for one

    def is_used(self, number: int) -> bool:
        """Tell whether a word already belongs to a mark."""
        return number in self.spent

    def note(self, mark: Mark) -> None:
        """Keep a mark, and that its words are used."""
        if all(mark.start != other.start for other in self.marks):
            self.marks.append(mark)
        self.spent.update(range(mark.first, mark.last))

    def is_firm(self, number: int) -> bool:
        """Tell whether a word is surely a literal: quoted, a known form, capitals, a code."""
        text = self.text
        if number in text.quoted or number in text.forms:
            return True
        raw = text.raw(number)
        if raw.isalpha():
            return raw.isupper() and len(raw) > 1 and not self._is_common(number)
        has_figures = any(character.isdigit() for character in raw)
        return has_figures and not self._is_common(number) and not is_size(self.reading, number)

    def _is_common(self, number: int) -> bool:
        """Tell whether capitals say nothing: the sentence has no others, or of its meaning."""
        return self.text.is_even(number) or self.text.is_stop(number)

    def begins(self, number: int) -> bool:
        """Tell whether a word opens its sentence or clause, an article aside."""
        before = number - 1
        while before >= self.low and self.words[before] in INDEFINITE:
            before -= 1
        return before < self.low or self.words[before] in _CLOSED

    def is_in_capitals(self, number: int) -> bool:
        """Tell whether a word stands in capitals where others do not."""
        raw = self.text.raw(number)
        return raw.isupper() and len(raw) > 1 and not self.text.is_even(number)

    def is_placed_name(self, number: int) -> bool:
        """Tell whether a name or a code stands before its place: "there was a Marchetti inside"."""
        raw = self.text.raw(number)
        is_mixed = any(c.isdigit() for c in raw) and any(c.isalpha() for c in raw)
        if self.text.is_even(number):
            return is_mixed and not is_size(self.reading, number)
        is_name = raw[0].isupper() and self.text.is_strange(number)
        return is_name and self.places.with_preposition(number + 1, self.high) is not None

    def over_articles(self, number: int) -> int:
        """Go over "a", "an", "the"."""
        while number < self.high and self.words[number] in INDEFINITE:
            number += 1
        return number

    def opens(self, number: int) -> bool:
        """Tell whether a word may open a place: "nib WARRANTED 14CT", "the left arm ORLENA"."""
        places = self.places
        return number in places.place or number in places.adjective or number in places.article

    def is_name(self, number: int) -> bool:
        """Tell whether a word before "logo" or "stamp" is what it shows."""
        raw = self.text.raw(number)
        if self.text.is_even(number):
            return self.text.is_strange(number)
        if raw.isupper() and raw != "I" and not self.text.is_stop(number):
            return number > self.low or len(raw) > 1
        return raw[0].isupper() and self.text.is_strange(number) and number > self.low

    def is_named(self, noun: Hit, number: int) -> bool:
        """Tell whether a name follows its noun and a comma: "the shop's name, Pellman & Sons"."""
        is_name = self.words[noun.last - 1] in _NAMES and not self.text.is_even(number)
        return is_name and self.text.raw(number)[0].isupper() and self.text.is_strange(number)

    def _is_code(self, number: int) -> bool:
        """Tell whether a word is a number of three figures or more: "a serial, 77-4410"."""
        raw = self.reading.slice(number, min(number + 2, self.high))
        is_long = sum(character.isdigit() for character in raw) > 2
        return self.words[number][0].isdigit() and is_long and not is_size(self.reading, number)

    def behind_place(self, place: Range) -> int:
        """Go over "on the back" to what may be its literal: ": 925", "with 925"."""
        number = place[1]
        if number < self.high and self.words[number] in ("(", ")"):
            number += 1
        while number < self.high and (
            self.words[number] in (":", ",", "=", ")")
            or number in self.text.lead
            or number in self.at["say"]
        ):
            hit = self.at["say"].get(number)
            number = hit.last if hit else self.text.lead.get(number, number + 1)
        return number

    def behind_bracket(self, number: int) -> int:
        """Step over "(left)" between a noun and its literal."""
        for behind in range(number + 1, min(number + 5, self.high)):
            if self.words[behind] == ")":
                return behind + 1
        return number + 1

    def named_at(self, number: int) -> Literal | None:
        """Read a described mark at a word: a sign, or a noun that keeps its own name."""
        noun = self.at["noun"].get(number)
        form = self.text.forms.get(number)
        if form and form.kind == "number" and form.last - 1 > number:
            return self.text.known(number, self.high)
        if noun and noun.value not in _NO_NAMES:
            literal = self.behind_noun(noun)
            return literal or Literal(noun.first, noun.last, noun.start, noun.end)
        return self.text.sign(number, self.high)

    def behind_noun(self, noun: Hit) -> Literal | None:
        """Read the literal behind its noun: "hallmark: 750", "initials JT", "logo on arm: V"."""
        number = noun.last
        if number < self.high and self.words[number] == "(":
            number = self.behind_bracket(number)
        number = self.over_yes(number + (self.words[number : number + 1] in _THERE_ALONE))
        colon = self._behind_place_in_row(number)
        if colon:
            return colon
        while number < self.high and self.words[number] in (")", "."):
            number += 1
        if number + 1 < self.high and self.words[number] == "," and noun.value != "any":
            number += self._is_code(number + 1) or self.is_named(noun, number + 1)
        sign = self.text.sign(number, self.high) or self._initials(number)
        if sign:
            return sign
        place = self.places.with_preposition(number, self.high) if number < self.high else None
        place = place or (self.places.at(number, self.high) if number < self.high else None)
        letter = self._letter(noun, number)
        if letter:
            return letter
        if place:
            after = place[1]
            if after < self.high and self.words[after] in (")", "]"):
                after += 1
            if after + 1 < self.high and self.words[after] == ",":
                return self._written_at(after + 1)
            if after < self.high and self._is_name_behind(after):
                return self.text.literal(after, self.high)
            if after >= self.high or self.words[after] not in COPULA:
                return None
            number = after
        told = number
        if number in self.text.lead and self.text.lead[number] - number > 1:
            number = self.text.lead[number]  # "gravure au nom de"
        while number < self.high and (
            self.words[number] in COPULA
            or self.words[number] in _MODALS
            or self.words[number] in ("no", "nr", ".", "n")
        ):
            number += 1
        if number > told:
            number = self.text.skip_leads(number, self.high)
        if number < self.high and self.words[number] in WITH:
            return self._with_sign(number)
        if number >= self.high or number in self.text.more:
            return None
        sign = self.text.sign(self.text.skip_leads(number, self.high), self.high)
        far = sign.first - noun.last if sign else 0
        if sign and (noun.value != "weak" or far == 0 or far > 2):
            return sign
        is_told = number > told and self.text.is_literal_start(number)
        raw = self.text.raw(number)
        is_told = is_told or (raw[0].isupper() and not raw.isupper() and self.is_name(number))
        if (is_told or self.is_firm(number)) and not is_size(self.reading, number):
            return self.text.literal(number, self.high)
        return None

    def is_with(self, number: int) -> bool:
        """Tell whether a place and "with a small" stand right before: "arm with a star"."""
        before = number - 1
        while before > self.low and (self.words[before] in INDEFINITE or before in self.text.lead):
            if self.words[before] in WITH:
                before -= before - 1 in self.places.article  # "pads each with"
                place = self.places.before(before, self.low)
                return place is not None and place[1] == before
            before -= 1
        return False

    def counts(self, literal: Literal) -> bool:
        """Tell whether figures only count what follows: "HALDRUME, 15 rubis"."""
        word, behind = self.words[literal.first], literal.last
        if behind - literal.first > 1 or not word.isdigit() or len(word) > 2:
            return False
        if behind >= self.high or not self.words[behind].isalpha():
            return False
        return not (
            behind in self.places.prep
            or behind in self.text.more
            or behind in self.text.manner
            or self.words[behind] in JOINS
            or self.is_in_capitals(behind)
        )

    def over_yes(self, number: int) -> int:
        """Go over ": yes," to what is there: "Punze - ja, 585"; a word that has none stays."""
        words = self.words
        behind = number + (number < self.high and words[number] in ANSWERING)
        if behind + 1 >= self.high or words[behind] not in YES:
            return number
        if behind == number and self.text.gap(number).strip() != "-":
            return number
        behind += 1
        while behind < self.high - 1 and words[behind] in _BEHIND_YES:
            behind += 1
        return behind

    def _behind_place_in_row(self, number: int) -> Literal | None:
        """Read the first mark of a row: "Beschriftung: linker Bügel ORLENA, ..."."""
        if number + 1 >= self.high or self.words[number] not in COLONS:
            return None
        place = self.places.at(number + 1, self.high)
        if place is None or place[1] >= self.high or self.is_used(place[1]):
            return None
        return self.text.literal(place[1], self.high) if self.is_firm(place[1]) else None

    def is_letter(self, noun: Hit) -> bool:
        """Tell whether a noun is "letter", of which only the letter counts."""
        return self.words[noun.last - 1] in _LETTERS

    def _letter(self, noun: Hit, number: int) -> Literal | None:
        """Read the one letter of "letra E", "the letter V"."""
        if number >= self.high or not self.is_letter(noun):
            return None
        raw = self.text.raw(number)
        if len(raw) != 1 or not raw.isalpha() or raw == "I":
            return None
        if raw.islower() and (noun.last - noun.first == 1 or not self._ends_item(number + 1)):
            return None  # "date letter q"
        return Literal(number, number + 1, self.reading.starts[number], self.reading.ends[number])

    def _ends_item(self, number: int) -> bool:
        return number >= self.high or self.words[number] in _CLOSED or self.words[number] == "."

    def _with_sign(self, number: int) -> Literal | None:
        """Read what a mark is described with: "Punze mit Halbmond", "stamp with a lion"."""
        number = self.text.skip_leads(number + 1, self.high)
        number = self.over_articles(number)
        return self.text.sign(number, self.high) if number < self.high else None

    def _is_name_behind(self, number: int) -> bool:
        """Tell whether a name stands right behind a place: "Gravur am Frontring Orlena 1:2"."""
        raw = self.text.raw(number)
        if self.is_used(number) or self.text.is_even(number):
            return False
        return raw[0].isupper() and self.text.is_strange(number)

    def _written_at(self, number: int) -> Literal | None:
        """Read a mark in quotes or of a known form behind "marque sur le pont,"."""
        is_quoted = number in self.text.quoted
        if self.is_used(number) or not (is_quoted or number in self.text.forms):
            return None
        literal = self.text.literal(number, self.high)
        if literal is None or self.place_behind(literal.last, False):
            return None  # it has a place of its own
        return literal

    def _initials(self, number: int) -> Literal | None:
        """Read the letters of "initials, E.B."."""
        if number < self.high and self.words[number] in (",", ":"):
            number += 1
        if number >= self.high or number in self.text.forms or number in self.text.quoted:
            return None
        start = self.reading.starts[number]
        match = _DOTTED.match(self.reading.text, start)
        if match is None:
            return None
        last, end = self.reading.word_at(match.end() - 1) + 1, match.end()
        if last + 1 < self.high and self.words[last] == "&":
            last, end = last + 2, self.reading.ends[last + 1]  # "R.V. & Co"
        while last < self.high and self._is_dated(last):
            last, end = last + 1, self.reading.ends[last]
        return Literal(number, last, start, end)

    def _is_dated(self, number: int) -> bool:
        """Tell whether figures or a name go on behind initials: "F.B. 1st June 1909"."""
        word = self.words[number]
        return word in MONTHS or (word[0].isdigit() and not is_size(self.reading, number))

    def is_word(self, literal: Literal) -> bool:
        """Tell whether capitals or quotes only stress a word of the trade ("VGC", "GOLD")."""
        words = self.words
        is_all = all(words[n] in _STRESSED for n in range(literal.first, literal.last))
        return is_all or words[literal.first] in _WEARERS

    def clause_end(self, hit: Hit) -> int:
        """Give the word behind the clause of a cue."""
        return clause_at(self.reading, hit.first, hit.last)[1]

    def behind_item(self, number: int) -> int | None:
        """Go over "and HANDMADE": the next thing of a list of marks; None if there is none."""
        if number not in self.text.more:
            return None
        while number < self.high and number in self.text.more:
            number = self.text.more[number]
        number = self.text.skip_leads(number, self.high)
        if number >= self.high:
            return None
        named = self.named_at(number)
        if named is None and self.is_firm(number):
            named = self.text.literal(number, self.high)
        return named.last if named else None

    def place_behind(self, number: int, is_sure: bool) -> Range | None:
        """Give the place that follows a mark, or the list that it begins.

        "925 inside the band", "CE and HANDMADE on the arm", "750 perhaps on the pin";
        `is_sure`: also a place without a preposition ("MADE IN ITALY interno destro").
        """
        for _ in range(_LISTED):
            while number < self.high and (number in self.text.manner or number in self.at["exist"]):
                hit = self.at["exist"].get(number)
                number = hit.last if hit else self.text.manner[number]
            if number + 1 < self.high and self.words[number] == ".":
                number += 1  # the last stop of "D.R.P."
            if number >= self.high:
                return None
            place = self.places.with_preposition(number, self.high)
            if place is None and self.words[number] in ("(", "/"):
                place = self.places.at(number + 1, self.high)
            if place is None and is_sure and self.words[number] in SIDES:
                place = self.places.at(number, self.high)
            following = self.behind_item(number) if place is None else None
            if following is None:
                return place
            number = following
        return None

    def place(self, first: int, last: int, is_absent: bool = False) -> Range | None:
        """Give the place nearest to a mark: right behind, else before, else further behind."""
        doubted = self._behind_doubt(last)
        for number in (*range(last, min(last + 2, self.high)), *doubted):
            if self.words[number] in JOINS:
                break
            close = self.places.with_preposition(number, self.high)
            if close is None and number == last and self._is_place_of(number, first):
                close = self.places.at(number, self.high)
            if close:
                return close
        if last < self.high and self.words[last] in ("(", "/"):
            close = self.places.at(last + 1, self.high) or self.side_in_brackets(last)
            if close:
                return close
        bracketed = self._place_in_brackets(first)
        if bracketed:
            return bracketed
        prep = self.places.prep
        for number in range(max(self.low, first - NEAR), first):
            close = self.places.with_preposition(number, self.high) if number in prep else None
            if close and close[1] == first:
                return close
        listed = self.place_behind(last, False) or self._place_of_list(last)
        if listed:
            return listed
        before = self._place_before(first)
        high = self.high
        if is_absent:  # what is not there takes no place of what is
            high = min(high, clause_at(self.reading, first, last)[1])
            before = None if before and self._is_taken(before, first) else before
        return before or self.places.after(last, high) or self._place_answered(last)

    def _is_place_of(self, number: int, first: int) -> bool:
        """Tell whether a place right behind a mark is its own: "X left arm, Y right arm"."""
        if number in self.places.place:
            return True
        if number not in self.places.adjective:
            return False
        before = self.places.before(first, self.low)
        return before is None or before[1] != first

    def _place_before(self, first: int) -> Range | None:
        """Give the last place before a mark that is no drawn mark: "on the lid a crown, 800"."""
        before = self.places.before(first, self.low)
        prep = self.places.prep
        behind = before[1] if before else self.low
        for number in range(first - 1, max(behind, first - _NEAR) - 1, -1):
            side = self.places.with_preposition(number, self.high) if number in prep else None
            if side and side[1] <= first:
                return side  # "on the other there is a number, 4417"
        while before and before[1] - 1 in self.spent and before[1] - 1 in self.at["sign"]:
            before = self.places.before(before[0], self.low)
        return before

    def _behind_doubt(self, number: int) -> tuple[int, ...]:
        """Give the word behind a doubt that stands right behind a mark: "ORLENA I think on"."""
        hit = self.at["unsure"].get(number)
        return (hit.last,) if hit and hit.last < self.high else ()

    def side_in_brackets(self, number: int) -> Range | None:
        """Read "(left)" that begins at a word."""
        if number + 2 >= self.high or self.words[number + 2] != ")":
            return None
        return (number + 1, number + 2) if self.words[number + 1] in LEFT_RIGHT else None

    def _place_in_brackets(self, first: int) -> Range | None:
        """Give the place in brackets between a noun and its mark: "Marking (left): X"."""
        close = first - 1
        while close > self.low and self.words[close] in COLONS:
            close -= 1
        if close <= self.low or self.words[close] != ")":
            return None
        for number in range(close - 1, max(self.low, close - NEAR), -1):
            if self.words[number - 1] == "(":
                place = self.places.with_preposition(number, close)
                place = place or self.places.at(number, close)
                is_side = self.words[number] in LEFT_RIGHT
                return place or ((number, close) if is_side else None)
        return None

    def _is_taken(self, place: Range, first: int) -> bool:
        """Tell whether a place before a mark belongs to another one: "R on the left, no CE"."""
        begin, _ = clause_at(self.reading, first, first + 1)
        return begin >= place[1] and any(
            place[0] <= mark.last + 3 and mark.first < first and mark.claimed == "present"
            for mark in self.marks
        )

    def _place_of_list(self, last: int) -> Range | None:
        """Give the place behind the verb of a list: "a leaf and 925 struck on the clasp"."""
        number = last
        for _ in range(_LISTED):
            while number < self.high and self.words[number] in COPULA:
                number += 1
            verb = self.at["verb"].get(number)
            if verb:
                if verb.last >= self.high:
                    return None
                return self.places.with_preposition(verb.last, self.high)
            following = self.behind_item(number) if number < self.high else None
            if following is None:
                return None
            number = following
        return None

    def _place_answered(self, last: int) -> Range | None:
        """Give the place named by an answer: "does it say CE? A: it does, inside the right arm"."""
        asked = answer_number(self.reading, last)
        if asked is None:
            return None
        return self.places.after(asked, self.reading.sentence_at(asked)[1])

    def place_beside(self, first: int, last: int) -> Range | None:
        """Give the place of a general absence: right behind it or right before it."""
        behind = self.places.with_preposition(last, self.high) if last < self.high else None
        if behind is None and last < self.high and last in self.places.place:
            behind = self.places.at(last, self.high)
        if behind:
            return behind
        before = self.places.before(first, self.low)
        if before is None or before[1] < first - NEAR:
            return self.side_told(first) if self.marks else None
        between = self.words[before[1] : first]
        is_near = all(
            word in COPULA or word in _HAS or word in _LACKS or word in _BLANK for word in between
        )
        if is_near:
            return before
        return self.side_told(first) if self.marks else None

    def side_told(self, first: int) -> Range | None:
        """Give "the other", "la destra" right before words that tell what a side has not."""
        number = first - 1
        while number > self.low and (self.words[number] in COPULA or self.words[number] in _ITSELF):
            number -= 1
        if number < self.low or self.words[number] not in LEFT_RIGHT:
            return None
        has_article = number > self.low and number - 1 in self.places.article
        return number - has_article, number + 1
