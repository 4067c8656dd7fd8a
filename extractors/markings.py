"""What is said to be written on the piece: literal text, where, and whether it is there at all.

Sentence by sentence: words of writing ("stamped", "reads", "hallmark"), marks that are known by
their form (mark_forms.py), a place with a colon ("Inner arm: ..."), and general absence
("unmarked"). Places are read by mark_places.py, negation and doubt by scope.py.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from itertools import islice
from typing import NamedTuple

from extractors.lexicon import small_words, vocabulary
from extractors.mark_forms import Form, find_forms
from extractors.mark_places import LEFT_RIGHT, Places, Range
from extractors.reading import Hit, Reading
from extractors.records import Claimed, Marking
from extractors.scope import (
    answer_at,
    answer_number,
    clause_at,
    has_picture,
    is_doubted,
    is_illegible,
    is_negated,
    negations_before,
)

GENERAL = "*"
_CUES = ("verb", "say", "noun", "general", "nothing", "exist", "notfound", "sign")
_SMALL = ("lead", "except", "more", "manner")
# each begins with what is searched for at once; what stands before is looked at behind it
_CAPITALS = re.compile(r"[A-Z0-9](?<![\w&].)(?:(?<=[A-Z])|[A-Z0-9]{0,2}[A-Z])[A-Z0-9&]*(?![\w&])")
_STOPS = frozenset("\n!?;:|()•·…")
_INNER = small_words("inside_literal")
_TRAILING = _INNER | {".", ","}
_MADE = small_words("made_in")
_JOINS = small_words("joins")
_CLOSED = _STOPS | {","}
_LONE = _STOPS | _JOINS | {".", ","}
_SENTENCE_STOPS = _STOPS | {"."}
_COPULA = small_words("copula")
_IS_WITH = _COPULA | {"with", "mit", "con"}
_MOST = 50  # marks in one sentence; more is no listing
_LONGEST = 14  # words of a literal without quotes
_QUOTES = "\"'"
_OPENED = re.compile(r"[\"'](?<![^\s(:,].)(?=\w)")
_GUILLEMET = re.compile(r"«\s(?=\w)")
_PAIR = re.compile(
    r"\d(?<![\w.,/].)\d ?[\[□☐▢▯◻⬜x×][\] ]? ?\d\d(?![\w.,]\d|\s?(?:mm|cm))(?:[ -]\d{3}\b)?",
    re.DOTALL,
)
_DOTTED = re.compile(r"[^\W\d_]\.(?: ?[^\W\d_]\.){1,3}(?!\w)")
_SPACE = re.compile(r"\s")
_NEAR = 7  # words of a place phrase right before its mark
_UNITS = frozenset(("mm", "cm", "g", "gr", "eur", "euro", "inches"))
_SHORT = 5  # letters of a word that need not be in any list
_CODE = re.compile(r"\d{2,}[-/.]?\d{2,}(?:[-/.]\d+)*")
_FAR = 8  # words between "neither" and "anything"
_YEAR = 4  # figures
_FEW = 2  # names behind one in capitals
_SOUGHT = 8  # words behind a mark in which it may be said not to be found
_LISTED = 6  # things in one list of marks
_LONGEST_LEAD = 10  # words between a verb and its literal; bounds the work on endless runs of them


class _Literal(NamedTuple):
    """A stretch taken as the words of a mark: words [first, last), characters [start, end)."""

    first: int
    last: int
    start: int
    end: int


class _Mark(NamedTuple):
    """A mark found: its text, words [first, last), characters [start, end)."""

    text: str
    first: int
    last: int
    start: int
    end: int
    claimed: Claimed
    place: Range | None


def _by_first(hits: tuple[Hit, ...]) -> dict[int, Hit]:
    """Give the longest of the cues that begin at a word: "marque de fabricant", not "marque"."""
    if len(hits) > 1:
        hits = tuple(sorted(hits, key=lambda hit: hit.last))
    return {hit.first: hit for hit in hits}


class _Text:
    """One reading with its cue tables: reads literals and tells how they are written."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.words = reading.words
        self.places = Places(reading)
        self.forms: dict[int, Form] = find_forms(reading)
        self.at = {name: _by_first(reading.found(f"markings.{name}")) for name in _CUES}
        self.lead, self.but, self.more, self.manner = (
            reading.reach(f"markings.{name}") for name in _SMALL
        )
        self.even: dict[int, bool] = {}  # sentence -> has no difference of capitals

    def is_stop(self, number: int) -> bool:
        """Tell whether a word begins no literal even with a capital."""
        return self.reading.end_at("markings.stop", number) > 0

    def placing(self) -> Iterator[dict[int, int]]:
        """Give the words of which one must be there for a mark to be known by its place."""
        yield from (self.places.place, self.places.prep, self.manner)

    def raw(self, number: int) -> str:
        """Give a word as the seller wrote it."""
        return self.reading.text[self.reading.starts[number] : self.reading.ends[number]]

    def before(self, number: int) -> str:
        """Give the character before a word."""
        start = self.reading.starts[number]
        if (
            start > 1
            and self.reading.text[start - 2] == "«"
            and self.reading.text[start - 1].isspace()
        ):
            return '"'  # the French write « X » with spaces
        return self.reading.plain[start - 1] if start else " "

    def is_glued(self, number: int) -> bool:
        """Tell whether no space stands between a word and the one before."""
        gap = self.reading.text[self.reading.ends[number - 1] : self.reading.starts[number]]
        return not gap or not _SPACE.search(gap)

    def is_even(self, number: int) -> bool:
        """Tell whether the sentence is all capitals or has none: then case says nothing."""
        sentence = self.reading.sentence_of[number]
        if sentence not in self.even:
            low, high = self.reading.sentences[sentence]
            text = self.reading.slice(low, high)
            goes_on = text.islower() and low > 0 and self.words[low - 1] == ";"
            self.even[sentence] = text.isupper() or (
                self.is_even(low - 1) if goes_on else text.islower()
            )
        return self.even[sentence]

    def is_lone_number(self, number: int) -> bool:
        """Tell whether a word is a number of three figures or more behind an article."""
        word = self.words[number]
        return word.isdigit() and len(word) > _FEW and self.words[number - 1] in _INDEFINITE

    def names(self) -> Iterator[int]:
        """Give the words with a capital, of no list, that a preposition of place follows."""
        text, starts = self.reading.text, self.reading.starts
        known = vocabulary()
        for number in [behind - 1 for behind in self.places.prep if behind]:
            word = self.words[number]
            if word not in known and text[starts[number]].isupper() and self.is_strange(number):
                yield number

    def is_strange(self, number: int) -> bool:
        """Tell whether a word is in no list: likely a name."""
        word = self.words[number]
        return len(word) > 3 and word.isalpha() and word not in vocabulary()

    def is_literal_start(self, number: int) -> bool:
        """Tell whether a word may begin a literal without quotes."""
        raw = self.raw(number)
        if not raw[0].isalnum() or (
            len(raw) == 1 and raw in "IAaOoYyEe" and not self._is_odd(number)
        ):
            return False
        if any(character.isdigit() for character in raw):
            return True
        if self.is_even(number):
            return self.is_strange(number) or (len(raw) == 1 and raw not in "aeoyi")
        if raw.isupper():
            return True
        if self.reading.languages[number] == "de" and self.words[number] in _GOODS_NAMES:
            return False
        return raw[0].isupper() and not self.is_stop(number)

    def _is_odd(self, number: int) -> bool:
        """Tell whether a single letter is a mark: it ends its sentence or a place follows."""
        following = number + 1
        return following >= len(self.words) or (
            self.words[following] == "."
            or self.words[following] in _IN_SHAPE
            or self.places.with_preposition(following, self.reading.sentence_at(number)[1])
            is not None
        )

    def literal(self, number: int, high: int) -> _Literal | None:
        """Read a literal that begins at a word; "E in a circle" is one."""
        if number >= high:
            return None
        found = self._quoted(number) or self.known(number, high) or self._run(number, high)
        found = self._pair(number, found)
        return self._framed(found, high) if found else None

    def _pair(self, number: int, found: _Literal | None) -> _Literal | None:
        """Read a printed pair of sizes whole: "38 x 18"."""
        if found is None or not self.words[number][0].isdigit():
            return found
        match = _PAIR.match(self.reading.text, self.reading.starts[number])
        if match is None or match.end() <= found.end:
            return found
        return found._replace(last=self.reading.word_at(match.end() - 1) + 1, end=match.end())

    def sign(self, number: int, high: int) -> _Literal | None:
        """Read a drawn mark at a word: "crown", "crown in an oval", "lion and crown"."""
        hit = self.at["sign"].get(number)
        if hit is None:
            return None
        drawn = _Literal(hit.first, hit.last, hit.start, hit.end)
        behind = hit.last
        if behind < high and self.words[behind] in _TOGETHER:
            behind += 1
            while behind < high and self.words[behind] in _INDEFINITE:
                behind += 1
            other = self.at["sign"].get(behind) if behind < high else None
            if other:
                drawn = drawn._replace(last=other.last, end=other.end)
        return self._framed(drawn, high)

    def _framed(self, literal: _Literal, high: int) -> _Literal:
        """Add the shape drawn around a mark: "in a circle"."""
        number = literal.last
        if number >= high or self.words[number] not in _IN_SHAPE:
            return literal
        number += 1
        begin = number
        while number < high and self.words[number] in _INDEFINITE:
            number += 1
        if number == begin or number >= high or self.words[number] not in _SHAPES:
            return literal
        return literal._replace(last=number + 1, end=self.reading.ends[number])

    def _quoted(self, number: int) -> _Literal | None:
        quote, start = self.before(number), self.reading.starts[number]
        if quote not in _QUOTES:
            return None
        close = self.reading.plain.find(quote, start, start + 80)
        while quote == "'" and 0 < close < len(self.reading.plain) - 1:
            if not self.reading.plain[close + 1].isalnum():
                break
            close = self.reading.plain.find(quote, close + 1, start + 80)
        if close <= start:
            return None
        end = close
        while self.reading.text[end - 1].isspace():
            end -= 1
        last = self._after(close, number)
        if end < close and self.words[last - 1] == ".":
            last -= 1  # the stop of « S.G.D.G. » ends its clause, as it does without quotes
        return _Literal(number, last, start, end)

    def _after(self, end: int, number: int) -> int:
        while number < len(self.words) and self.reading.starts[number] < end:
            number += 1
        return number

    def known(self, number: int, high: int) -> _Literal | None:
        form = self.forms.get(number)
        if form is None:
            return None
        last, end = form.last, form.end
        if form.kind == "number":  # a serial number is its digits
            return _Literal(number, last, self.reading.starts[last - 1], end)
        while last < high and not self.is_even(number) and self._goes_on(last):
            last, end = last + 1, self.reading.ends[last]
        return _Literal(number, last, form.start, end)

    def _goes_on(self, number: int) -> bool:
        """Tell whether capitals or figures go on behind a known form ("14K HALDRUME")."""
        raw = self.raw(number)
        gap = self.reading.text[self.reading.ends[number - 1] : self.reading.starts[number]]
        is_close = gap.strip(" -□☐") == "" or gap in ("'", "’")
        return is_close and (raw.isupper() or raw.isdigit()) and raw != "I"

    def _run(self, number: int, high: int) -> _Literal | None:
        if not self.is_literal_start(number):
            return None
        last = number
        even = self.is_even(number)
        while last < min(high, number + _LONGEST) and self._stays(number, last, even):
            last += 1
            if last == high and not even and self._is_cut_short(last):
                high = self.reading.sentence_at(last)[1]
        while last > number and self.words[last - 1] in _TRAILING:
            last -= 1
        if last == number:
            return None
        return _Literal(number, last, self.reading.starts[number], self.reading.ends[last - 1])

    def spoken(self, number: int, high: int) -> _Literal | None:
        """Read up to four words of a text without case ("clip says oriel")."""
        last = number
        while last < min(high, number + 4) and self._stays(number, last, True):
            last += 1
        if last == number or self._ends_even(number):
            return None
        return _Literal(number, last, self.reading.starts[number], self.reading.ends[last - 1])

    def _stays(self, first: int, number: int, even: bool) -> bool:
        """Tell whether a word still belongs to a literal that began at `first`."""
        word, raw = self.words[number], self.raw(number)
        if word in (".", ","):
            return self._is_inner_stop(number)
        if word in _NUMBER_SIGNS and self.numbers(number):
            return True
        if word in _MONTHS and number > first and self.words[number - 1].isdigit():
            return True  # "19 mai 1897"
        if word in _STOPS:
            return word == ":" and self._is_inner_stop(number)
        if number == first or self.is_glued(number):
            return number == first or not self._trails_off(number)
        if has_picture(
            self.reading.text[self.reading.ends[number - 1] : self.reading.starts[number]]
        ):
            return False
        if " - " in self.reading.plain[self.reading.ends[number - 1] : self.reading.starts[number]]:
            return not even and self._is_dashed_on(number)
        if word in ("in", "en") and self.words[number - 1] in _MADE:
            return True
        if even:
            return not self._ends_even(number)
        if len(raw) == 1 and self._next(number) in ("=", "/", ":"):
            return True
        if raw[0].isupper() or raw[0].isdigit():
            return raw != "I" and (raw.isupper() or not self.is_stop(number))
        return word in _INNER and self._capital_follows(number)

    def _is_cut_short(self, number: int) -> bool:
        """Tell whether a sentence before a word only ends an inscription's short word: "LTD."."""
        if number >= len(self.words) or self.words[number - 1] != ".":
            return False
        raw, before = self.raw(number), self.raw(number - 2)
        is_on = raw[0].isdigit() or (raw.isupper() and len(raw) > 1 and not self.is_stop(number))
        return is_on and self.words[number - 2] in _SHORTENED and before[0].isupper()

    def _is_dashed_on(self, number: int) -> bool:
        """Tell whether capitals or figures go on behind a dash: "MADE IN ENGLAND - PAT. 1928"."""
        raw = self.raw(number)
        if raw[0].isdigit():
            behind = self.words[number + 1 : number + 2]
            return not _UNITS.intersection((*behind, raw.strip("0123456789")))
        return raw.isupper() and len(raw) > 1 and not self.is_stop(number)

    def numbers(self, number: int) -> bool:
        """Tell whether figures follow a number sign ("No 22918", "n. 4410")."""
        following = number + 1
        if following < len(self.words) and self.words[following] == ".":
            if self._is_behind_figures(number):
                return False
            following += 1
        return following < len(self.words) and self.words[following][0].isdigit()

    def _is_behind_figures(self, number: int) -> bool:
        """Tell whether an N ends a mark ("SARNFELD 120 N.") and is not short for number."""
        return number > 0 and self.raw(number) == "N" and self.words[number - 1].isdigit()

    def _trails_off(self, number: int) -> bool:
        """Tell whether a word only says that the mark goes on: "STEL-something"."""
        gap = self.reading.plain[self.reading.ends[number - 1] : self.reading.starts[number]]
        is_small = self.raw(number).islower() and len(self.raw(number)) > 3
        return gap == "-" and is_small and self.raw(number - 1).isupper()

    def _next(self, number: int) -> str:
        """Give the character behind a word."""
        end = self.reading.ends[number]
        return self.reading.plain[end : end + 1]

    def _ends_even(self, number: int) -> bool:
        """In a text without case: stop at small words, places and words of writing."""
        return (
            self.is_stop(number)
            or number in self.places.prep
            or number in self.at["verb"]
            or number in self.at["noun"]
        )

    def _capital_follows(self, number: int) -> bool:
        return number + 1 < len(self.words) and self.raw(number + 1)[0].isupper()

    def _is_inner_stop(self, number: int) -> bool:
        """Tell whether a stop lies inside a literal ("PAT. 1927", "1:3,5", "No. 3")."""
        after = self.reading.plain[self.reading.ends[number] : self.reading.ends[number] + 1]
        if after and not after.isspace() and after not in _QUOTES:
            return True
        previous = self.words[number - 1] if number else ""
        if number and self._is_behind_figures(number - 1):
            return False
        return (
            self.words[number] == "."
            and (
                previous in _SHORTENED
                or (
                    len(previous) == 1
                    and self.raw(number - 1).isupper()
                    and not (number > 1 and self.words[number - 2].isdigit())  # "18 C."
                )
            )
            and number + 1 < len(self.words)
            and self.words[number + 1] != "\n"
        )

    def skip_leads(self, number: int, high: int) -> int:
        """Go over "with", "the words", a colon: what may stand between a verb and its literal."""
        high = min(high, number + _LONGEST_LEAD)
        while number < high and self.before(number) not in _QUOTES:
            if number in self.lead and not self.places.with_preposition(number, high):
                number = self.lead[number]
            elif self.words[number] in (":", "="):
                number += 1
            else:
                break
        return number


class _Sentence:
    """Reads the marks of one sentence; words once used are not used again."""

    def __init__(self, text: _Text, low: int, high: int) -> None:
        self.text, self.low, self.high = text, low, high
        self.reading, self.at, self.places = text.reading, text.at, text.places
        self.marks: list[_Mark] = []
        self.spent: set[int] = set()  # words of marks, and those that did their work for one

    def is_used(self, number: int) -> bool:
        """Tell whether a word already belongs to a mark."""
        return number in self.spent

    def _note(self, mark: _Mark) -> None:
        self.marks.append(mark)
        self.spent.update(range(mark.first, mark.last))

    def read(self, numbers: list[int]) -> list[_Mark]:
        """Read the sentence from left to right at the words that may tell of a mark."""
        for number in numbers:
            if len(self.marks) > _MOST:
                break
            if not self.is_used(number) and self.text.words[number] not in _COLONS:
                self._read_at(number)
        self._from_colon([n for n in numbers if self.text.words[n] in _COLONS])
        return self.marks

    def _read_at(self, number: int) -> None:
        """Try what may begin at a word, the more telling cue first."""
        if number in self.at["general"] and not self._names_more(self.at["general"][number]):
            self._from_general(self.at["general"][number])
        elif number in self.at["nothing"]:
            self._from_nothing(self.at["nothing"][number])
        elif number in self.at["verb"] and not self._names_more(self.at["verb"][number]):
            self._from_verb(self.at["verb"][number])
        elif number in self.at["say"] and not self._is_asked_to_read(number):
            self._from_say(self.at["say"][number])
        elif number in self.at["exist"]:
            self._from_exist(self.at["exist"][number])
        elif number in self.text.forms:
            self._from_form(self.text.forms[number])
        elif number in self.at["sign"] and self._is_with(number):
            self._add_drawn(number)
        elif number in self.at["sign"] and self._begins(number):
            self._from_sign(number)
        elif number not in self.at["noun"]:
            self._from_bare(number)
        if number in self.at["noun"] and not self.is_used(number):
            self._from_noun(self.at["noun"][number])

    def _names_more(self, hit: Hit) -> bool:
        """Tell whether "sans marque" goes on to a noun of its own ("sans marque de fabricant")."""
        return any(
            n in self.at["noun"] and self.at["noun"][n].last > hit.last
            for n in range(hit.first, hit.last)
        )

    def _from_bare(self, number: int) -> None:
        """Read what no cue announces: quoted words, a size or capitals, with a place behind."""
        if self.text.before(number) in _QUOTES:
            self._from_quoted(number)
        elif self.text.words[number][0].isdigit():
            self._from_size(number)
            if not self.is_used(number):
                self._from_figures(number)
        elif self.text.raw(number).isupper():
            self._from_capitals(number)
        else:
            self._from_name(number)

    def _from_figures(self, number: int) -> None:
        """Read "a 4821 on the left arm": figures behind an article, a place beside them."""
        if not self.text.is_lone_number(number) or _is_size(self.reading, number):
            return
        literal = _Literal(
            number, number + 1, self.reading.starts[number], self.reading.ends[number]
        )
        if self._is_placed_behind(literal.last, False) or self._is_placed_before(literal):
            self._add(literal)

    def _from_name(self, number: int) -> None:
        """Read "Orlena on the dial, Feyrand on the movement": a name opens a clause."""
        if not self._begins(number) and self.text.words[number - 1] not in _JOINS:
            return
        if self.text.is_even(number) or not self.text.is_strange(number):
            return
        literal = self.text.literal(number, self.high)
        if literal is None or self.text.words[literal.last : literal.last + 1] == ("up",):
            return
        if self.places.with_preposition(literal.last, self.high):
            self._add(literal)

    # --- building ----------------------------------------------------------------------------

    def _claim(self, first: int, last: int) -> Claimed:
        if is_negated(self.reading, first, last, 7):
            return "absent"
        if self._is_doubted(first, last):
            return "unsure"
        if self._is_not_found(last) or self._is_belied(last) or self._is_not_answered(last):
            return "absent"
        if is_illegible(self.reading, first, last) and not self._is_of_next(last):
            return "unsure"
        return "present"

    def _is_of_next(self, last: int) -> bool:
        """Tell whether the doubt is of a later mark: "X on the arm, on the bridge perhaps Y"."""
        _, end = clause_at(self.reading, last - 1, last)
        if end >= self.high or self.text.words[end] not in ",;":
            return False
        if any(number in self.at["sign"] for number in range(end + 1, min(end + 6, self.high))):
            return True
        place = self.places.after(end + 1, self.high, 1)
        if place is None:
            return False
        number = self._behind_place(place)
        return number < self.high and self._is_firm(number)

    def _is_not_found(self, last: int) -> bool:
        """Tell whether the seller looked in vain: "a stamp? could not find one"."""
        for number in range(last, min(last + _SOUGHT, len(self.text.words))):
            if number in self.at["notfound"]:
                return True
            if self.text.words[number] in ".\n" or number in self.at["noun"]:
                return False
        return False

    def _is_not_answered(self, last: int) -> bool:
        """Tell whether the answer is that it was not found: "A: I looked and there isn't"."""
        asked = answer_number(self.reading, last)
        if asked is None:
            return False
        while asked < len(self.text.words) - 1 and self.text.words[asked] in _ANSWER_HEAD:
            asked += 1
        high = self.reading.sentence_at(asked)[1]
        return any(number in self.at["notfound"] for number in range(asked, high))

    def _is_belied(self, last: int) -> bool:
        """Tell whether "but doesn't" follows: "ought to say 14K but doesn't"."""
        words, behind = self.text.words, last + 1
        if last < self.high and words[last] == ",":
            behind += 1
        if behind >= self.high or words[behind - 1] not in _TURNS:
            return False
        for hit in self.reading.found("words.not"):
            if behind <= hit.first < behind + 4 and hit.last < self.high:
                end = clause_at(self.reading, behind, behind + 1)[1]
                return end - hit.last <= 1
        return False

    def _is_doubted(self, first: int, last: int) -> bool:
        """Tell whether a mark is in doubt; in "X on the cup and could be Y" only Y is."""
        if not is_doubted(self.reading, first, last):
            return False
        begin, end = clause_at(self.reading, first, last)
        doubts = [h for h in self.reading.found("words.unsure") if begin <= h.first < end]
        return not doubts or not all(
            last < hit.first
            and hit.first - 1 in self.text.more
            and hit.last < self.high
            and self._is_mark_at(hit.last)
            for hit in doubts
        )

    def _is_mark_at(self, number: int) -> bool:
        """Tell whether another mark begins at a word, an article aside."""
        if self._is_firm(number):
            return True
        number = self._over_articles(number)
        return number < self.high and (self._is_firm(number) or self._named_at(number) is not None)

    def _place(self, first: int, last: int, is_absent: bool = False) -> Range | None:
        """Give the place nearest to a mark: right behind, else before, else further behind."""
        doubted = self._behind_doubt(last)
        for number in (*range(last, min(last + 2, self.high)), *doubted):
            if self.text.words[number] in _JOINS:
                break
            close = self.places.with_preposition(number, self.high)
            if close is None and number == last and number in self.places.place:
                close = self.places.at(number, self.high)
            if close:
                return close
        if last < self.high and self.text.words[last] in ("(", "/"):
            close = self.places.at(last + 1, self.high) or self._side_in_brackets(last)
            if close:
                return close
        bracketed = self._place_in_brackets(first)
        if bracketed:
            return bracketed
        for number in range(max(self.low, first - _NEAR), first):
            close = self.places.with_preposition(number, self.high)
            if close and close[1] == first:
                return close
        listed = self._place_behind(last, False) or self._place_of_list(last)
        if listed:
            return listed
        before = self.places.before(first, self.low)
        high = self.high
        if is_absent:  # what is not there takes no place of what is
            high = min(high, clause_at(self.reading, first, last)[1])
            before = None if before and self._is_taken(before, first) else before
        return before or self.places.after(last, high) or self._place_answered(last)

    def _behind_doubt(self, number: int) -> tuple[int, ...]:
        """Give the word behind a doubt that stands right behind a mark: "ORLENA I think on"."""
        for hit in self.reading.found("words.unsure"):
            if hit.first == number and hit.last < self.high:
                return (hit.last,)
        return ()

    def _side_in_brackets(self, number: int) -> Range | None:
        """Read "(left)" that begins at a word."""
        if number + 2 >= self.high or self.text.words[number + 2] != ")":
            return None
        return (number + 1, number + 2) if self.text.words[number + 1] in LEFT_RIGHT else None

    def _place_in_brackets(self, first: int) -> Range | None:
        """Give the place in brackets between a noun and its mark: "Marking (left): X"."""
        close = first - 1
        while close > self.low and self.text.words[close] in _COLONS:
            close -= 1
        if close <= self.low or self.text.words[close] != ")":
            return None
        for number in range(close - 1, max(self.low, close - _NEAR), -1):
            if self.text.words[number - 1] == "(":
                place = self.places.with_preposition(number, close)
                place = place or self.places.at(number, close)
                is_side = self.text.words[number] in LEFT_RIGHT
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
            while number < self.high and self.text.words[number] in _COPULA:
                number += 1
            verb = self.at["verb"].get(number)
            if verb:
                if verb.last >= self.high:
                    return None
                return self.places.with_preposition(verb.last, self.high)
            following = self._behind_item(number) if number < self.high else None
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

    def _place_beside(self, first: int, last: int) -> Range | None:
        """Give the place of a general absence: right behind it or right before it."""
        behind = self.places.with_preposition(last, self.high) if last < self.high else None
        if behind is None and last < self.high and last in self.places.place:
            behind = self.places.at(last, self.high)
        if behind:
            return behind
        before = self.places.before(first, self.low)
        if before is None:
            return None
        between = self.text.words[before[1] : first]
        is_near = all(
            word in _COPULA or word in _HAS or word in _LACKS or word in _BLANK for word in between
        )
        return before if is_near else None

    def _add_general(self, first: int, last: int) -> None:
        start, end = self.reading.starts[first], self.reading.ends[last - 1]
        place = self._place_beside(first, last)
        self._note(_Mark(GENERAL, first, last, start, end, "absent", place))

    def _add(
        self, literal: _Literal, cue: Hit | None = None, claimed: Claimed | None = None
    ) -> _Mark:
        """Note a mark; its claim is that of the words from cue to literal."""
        first = min(literal.first, cue.first) if cue else literal.first
        last = max(literal.last, cue.last) if cue else literal.last
        if last in self.at["noun"] and last < self.high:
            last = self.at["noun"][last].last  # the "logo" of "has the Orlena logo"
        claim = claimed or self._claim(first, last)
        if claim == "present" and self._is_questioned(literal.last):
            claim = "unsure"
        text = self.reading.text[literal.start : literal.end].strip(" \"'.,:;“”„«»‘’")
        place = self._place(literal.first, literal.last, claim == "absent")
        if place and self._is_pictured(place, literal):
            place = None
        mark = _Mark(text, first, last, literal.start, literal.end, claim, place)
        if text:
            self._note(mark)
            self._read_more(mark)
        return mark

    def _is_pictured(self, place: Range, literal: _Literal) -> bool:
        """Tell whether an emoji stands between a mark and the place found for it."""
        before, after = sorted(((literal.first, literal.last), place))
        return before[1] < after[0] and has_picture(self.reading.slice(before[1] - 1, after[0] + 1))

    def _is_questioned(self, number: int) -> bool:
        """Tell whether a question mark or "or" with another reading stands behind a literal."""
        words = self.text.words
        if number >= len(words):
            return False
        if words[number] == "?":
            return answer_at(self.reading, number) not in _YES
        if words[number] == "(" and number + 1 < self.high:
            number += 1  # "B (or an 8)"
        if words[number] not in ("or", "oder", "ou", "o"):
            return False
        following = self._over_articles(number + 1)
        is_other = following < self.high and (
            any(character.isdigit() for character in words[following])
            or following in self.text.forms
            or self.text.before(following) in _QUOTES
        )
        other = self.text.literal(following, self.high) if is_other else None
        if other:
            self.spent.update(range(other.first, other.last))
        return is_other

    def _read_more(self, mark: _Mark) -> None:
        """Read further marks of a list: "stamped 925, a leaf and MB"."""
        number = mark.last
        place = self.places.with_preposition(number, self.high) if number < self.high else None
        if place is None and number < self.high and self.text.words[number] == "(":
            place = self.places.at(number + 1, self.high) or self._side_in_brackets(number)
        if place:
            number = place[1]
            number += number < self.high and self.text.words[number] == ")"
        if number < self.high - 1 and self.text.words[number] == "." and number - 1 >= mark.first:
            number += len(self.text.words[number - 1]) == 1  # "W.D. with an arrow"
        joined = False
        if mark.claimed == "unsure" and self._is_questioned(mark.last):
            return  # "1174 or 1179": one mark, two readings
        while number < self.high and number in self.text.more:
            number, joined = self.text.more[number], True
        number = self.text.skip_leads(number, self.high) if joined else self.high
        if number >= self.high or self.is_used(number):
            return
        ahead = self.places.with_preposition(number, self.high)
        if ahead is None and (self.text.words[number] in _SIDES or self._opens(number)):
            ahead = self._before_mark(self.places.at(number, self.high))
        if ahead:  # "..., rechts CE", "and the back CE"
            number = self._behind_place(ahead)
            if number >= self.high or self.is_used(number) or not self._is_firm(number):
                return
        named = self._named_at(number)
        claimed = mark.claimed if mark.claimed != "present" else None
        if named:
            self._add(named, claimed=claimed)
        elif self._is_firm(number):
            literal = self.text.literal(number, self.high)
            if literal:
                self._add(literal, claimed=claimed)

    def _is_in_capitals(self, number: int) -> bool:
        raw = self.text.raw(number)
        return raw.isupper() and len(raw) > 1 and not self.text.is_even(number)

    def _before_mark(self, place: Range | None) -> Range | None:
        """Give a place back if what follows is surely a mark: "a crown" may be either."""
        if place is None or self._is_in_capitals(place[0]):
            return None  # "FRAME ENGLAND" is one mark
        number = self._behind_place(place)
        return place if number < self.high and self._is_firm(number) else None

    def _is_firm(self, number: int) -> bool:
        """Tell whether a word is surely a literal: quoted, a known form, capitals, a code."""
        raw = self.text.raw(number)
        if self.text.before(number) in _QUOTES or number in self.text.forms:
            return True
        if self.text.is_even(number):
            return False
        if self.text.is_stop(number):
            return False
        return (raw.isupper() and raw.isalpha() and len(raw) > 1) or (
            any(character.isdigit() for character in raw) and not _is_size(self.reading, number)
        )

    def _named_at(self, number: int) -> _Literal | None:
        """Read a described mark at a word: a sign, or a noun that keeps its own name."""
        noun = self.at["noun"].get(number)
        if noun and noun.value != "any":
            literal = self._behind_noun(noun)
            return literal or _Literal(noun.first, noun.last, noun.start, noun.end)
        return self.text.sign(number, self.high)

    # --- cues --------------------------------------------------------------------------------

    def _literal_behind(self, number: int) -> bool:
        number = self.text.skip_leads(number, self.high)
        return number < self.high and self._is_firm(number)

    def _from_general(self, hit: Hit) -> None:
        """Read "unsigned", "blank apart from a star"; "not stamped 925" is left to the verb."""
        if self._literal_behind(hit.last):
            verb = next((n for n in range(hit.first, hit.last) if n in self.at["verb"]), None)
            if verb is not None:
                self._from_verb(self.at["verb"][verb])
            return
        if hit.value == "beside" and self._place_beside(hit.first, hit.last) is None:
            return
        if hit.value == "hallmark":
            start = next(n for n in range(hit.first, hit.last) if "hallmark" in self.text.words[n])
            shift = self.text.words[start].index("hallmark")
            begin = self.reading.starts[start] + shift
            self._add(_Literal(hit.first, hit.last, begin, begin + 8), claimed="absent")
        else:
            self._add_general(hit.first, hit.last)
        self._from_exception(hit.last)

    def _from_exception(self, number: int) -> bool:
        """Read what is there after all: "nothing but 925"."""
        for behind in range(number, min(self.high, number + 7)):
            is_but = self.text.words[behind] in _BUT and self.text.words[behind - 1] != ","
            if behind in self.text.but or (is_but and behind > number - 1):
                after = self.text.but.get(behind, behind + 1)
                start = self.text.skip_leads(after, self.high)
                literal = self._named_at(start) if start < self.high else None
                literal = literal or self.text.literal(start, self.high)
                if literal:
                    self._add(literal, claimed="present")
                    return True
        return False

    def _from_nothing(self, hit: Hit) -> None:
        """Read "nothing on the rear", "steht nichts", "nothing but 925"."""
        if hit.last < self.high and self.text.words[hit.last] in _NOT_WRITTEN:
            return  # "nothing to do with", "nothing wrong"
        if any(h.first <= hit.first < h.last for h in self.reading.found("words.unsure")):
            return  # "je garantis rien"
        if hit.value == "any" and not is_negated(self.reading, hit.first, hit.last, _FAR):
            return  # "neither arm carries anything"
        if self.marks and self.text.words[hit.first - 1] == "plus":
            return  # "on croit lire ORLE puis plus rien"
        begin, end = clause_at(self.reading, hit.first, hit.last)
        writes = any(
            n in self.at["verb"] or n in self.at["noun"] or self._says(n) for n in range(begin, end)
        )
        if not writes and not self.places.with_preposition(hit.last, self.high):
            is_other = hit.first > self.low and self.text.words[hit.first - 1] in LEFT_RIGHT
            if not (is_other and self.marks) and not self._is_bare_place(hit):
                return
        if self._from_exception(hit.last):
            self.spent.update(range(hit.first, hit.last))
        else:
            self._add_general(hit.first, hit.last)

    def _is_bare_place(self, hit: Hit) -> bool:
        """Tell whether a place makes up what stands before: "right arm: nothing"."""
        number = hit.first
        if number > self.low and self.text.words[number - 1] in (":", "="):
            number -= 1
        if hit.last < self._clause_end(hit):
            return False
        if self.text.words[number - 1] in LEFT_RIGHT and number - 2 in self.places.prep:
            return True
        place = self.places.before(number, self.low)
        if place is not None and place[1] == number:
            return True
        near = range(max(self.low, number - _NEAR), number)
        places = (self.places.with_preposition(first, self.high) for first in near)
        return any(place is not None and place[1] == number for place in places)

    def _clause_end(self, hit: Hit) -> int:
        return clause_at(self.reading, hit.first, hit.last)[1]

    def _says(self, number: int) -> bool:
        """Tell whether a word of saying begins here; "has" says nothing without a place."""
        hit = self.at["say"].get(number)
        if hit is None:
            return False
        return hit.value != "has" or self.places.before(hit.first, self.low) is not None

    def _begins(self, number: int) -> bool:
        """Tell whether a word opens its sentence or clause, an article aside."""
        before = number - 1
        while before >= self.low and self.text.words[before] in _INDEFINITE:
            before -= 1
        return before < self.low or self.text.words[before] in _CLOSED

    def _is_with(self, number: int) -> bool:
        """Tell whether a place and "with a small" stand right before: "arm with a star"."""
        before = number - 1
        while before > self.low and (
            self.text.words[before] in _INDEFINITE or before in self.text.lead
        ):
            if self.text.words[before] in _WITH:
                place = self.places.before(before, self.low)
                return place is not None and place[1] == before
            before -= 1
        return False

    def _add_drawn(self, number: int) -> None:
        drawn = self.text.sign(number, self.high)
        if drawn:
            self._add(drawn)

    def _from_sign(self, number: int) -> None:
        """Read "An anchor and 925 inside": a drawn mark listed with a written one, and a place."""
        drawn = self.text.sign(number, self.high)
        following = self._behind_item(drawn.last) if drawn else None
        hit = self.at["sign"][number]
        if drawn and hit.value == "assay" and self._place_behind(drawn.last, False):
            self._add(drawn)
            return
        if drawn is None or following is None:
            return
        written = any(
            n in self.text.forms or self._is_firm(n) for n in range(drawn.last, following)
        )
        if written and self._place_behind(drawn.last, False):
            self._add(drawn)

    def _from_exist(self, hit: Hit) -> None:
        """Read "inside the left arm there might be a K", "hay una hoja en la charnela"."""
        number = self.text.skip_leads(hit.last, self.high)
        number = self._over_articles(number)
        if number >= self.high or number in self.at["nothing"] or self.is_used(number):
            return
        named = self._named_at(number)
        if named is None and (
            self._is_firm(number) or self._is_single(number) or self._is_placed_name(number)
        ):
            named = self.text.literal(number, self.high)
        if named is None or _is_size(self.reading, named.first):
            return
        before = self.places.before(hit.first, self.low)
        is_near = before is not None and hit.first - before[1] <= 2
        if is_near or hit.value == "seen" or self.places.after(named.last, self.high, 3):
            self._add(named, hit)

    def _over_articles(self, number: int) -> int:
        while number < self.high and self.text.words[number] in _INDEFINITE:
            number += 1
        return number

    def _is_placed_name(self, number: int) -> bool:
        """Tell whether a name or a code stands before its place: "there was a Marchetti inside"."""
        raw = self.text.raw(number)
        is_mixed = any(c.isdigit() for c in raw) and any(c.isalpha() for c in raw)
        if self.text.is_even(number):
            return is_mixed and not _is_size(self.reading, number)
        is_name = raw[0].isupper() and self.text.is_strange(number)
        return is_name and self.places.with_preposition(number + 1, self.high) is not None

    def _is_single(self, number: int) -> bool:
        """Tell whether a word is one capital letter behind an article: "a K"."""
        raw = self.text.raw(number)
        return (
            len(raw) == 1
            and raw.isupper()
            and number > self.low
            and self.text.words[number - 1] in _INDEFINITE
        )

    def _from_verb(self, hit: Hit) -> None:
        if self._from_answer(hit):
            return
        number = self.text.skip_leads(hit.last, self.high)
        if number < self.high and number in self.at["nothing"]:
            return
        place = self.places.with_preposition(number, self.high) if number < self.high else None
        if place and self._ends_at(place[1]) and self._from_before(hit):
            return  # "ORLENA stamped on the left tip, 5220 on the right"
        if place is None and hit.last < number < self.high and self.text.words[hit.last] == ":":
            place = self.places.at(number, self.high)  # "Marked: left temple ORLENA"
        if place:
            number = self._behind_place(place)
        named = self._named_at(number) if number < self.high else None
        if named and (not place or self.text.words[number - 1] in _IS_WITH):
            self._add(named, hit)
            return
        literal = None if number in self.at["noun"] else self.text.literal(number, self.high)
        literal = literal or self._short(number)
        if literal and not _is_size(self.reading, literal.first):
            self._add(literal, hit)
        elif not self._from_before(hit):
            self._from_negated(hit)

    def _short(self, number: int) -> _Literal | None:
        """Read a short mark of a text without case, its place behind: "STAMPED GP INSIDE"."""
        if number >= self.high or not self.text.is_even(number) or self.text.is_stop(number):
            return None
        word, last = self.text.words[number], number + 1
        if not (1 < len(word) < _SHORT and word.isalnum()) or last >= self.high:
            return None
        if not self.places.with_preposition(last, self.high):
            return None
        return _Literal(number, last, self.reading.starts[number], self.reading.ends[number])

    def _ends_at(self, number: int) -> bool:
        """Tell whether a comma stands at a word: what follows has a place of its own."""
        return number < self.high and self.text.words[number] == ","

    def _behind_place(self, place: Range) -> int:
        """Go over "on the back" to what may be its literal: ": 925", "with 925"."""
        number = place[1]
        if number < self.high and self.text.words[number] in ("(", ")"):
            number += 1
        while number < self.high and (
            self.text.words[number] in (":", ",", "=", ")")
            or number in self.text.lead
            or number in self.at["say"]
        ):
            hit = self.at["say"].get(number)
            number = hit.last if hit else self.text.lead.get(number, number + 1)
        return number

    def _from_before(self, hit: Hit) -> bool:
        """Read what stands before its verb: "750 is stamped on the clasp", "mit 585 punziert"."""
        begin, _ = clause_at(self.reading, hit.first, hit.last)
        for number in range(max(begin, hit.first - 6), hit.first):
            if self.is_used(number):
                continue
            named = self._named_at(number)
            is_next = named is not None and named.last == hit.first
            is_drawn = number > self.low and self._is_led(number)
            if (
                named
                and named.last <= hit.first
                and (is_next or is_drawn or not self._is_place(number))
            ):
                self._add(named, hit if self._reaches(named.last, hit.first) else None)
                return True
            if self._is_firm(number) or self._is_shown(number):
                literal = self.text.literal(self._run_start(number), hit.first)
                if literal and not _is_size(self.reading, number):
                    self._add(literal, hit if self._reaches(literal.last, hit.first) else None)
                    return True
        return False

    def _run_start(self, number: int) -> int:
        """Go back to where "ORLENA 1:2.8 f=50" begins, of which a stop cut off the last part."""
        start = number
        while start > self.low and self.text.is_glued(start):
            start -= 1
        is_cut = start < number and self.text.words[start][0].isdigit()
        if is_cut and start > self.low and self._is_firm(start - 1):
            return start - 1
        return start if is_cut else number

    def _is_led(self, number: int) -> bool:
        """Tell whether "a" or "a small" stands before a word."""
        before = self.text.words[max(self.low, number - 2) : number]
        return any(word in _INDEFINITE for word in before)

    def _reaches(self, number: int, verb: int) -> bool:
        """Tell whether no further mark stands before the verb ("a leaf and 925 struck")."""
        following = self._behind_item(number) if number < verb else None
        return following is None or following > verb

    def _is_shown(self, number: int) -> bool:
        """Tell whether a word before "stamped" is what is stamped: one letter, or a name."""
        raw = self.text.raw(number)
        if self.text.is_even(number):
            return self.text.is_strange(number)
        return len(raw) == 1 and raw.isupper() and raw not in "IA"

    def _is_place(self, number: int) -> bool:
        return number in self.places.place and number not in self.at["noun"]

    def _from_negated(self, hit: Hit) -> None:
        """Read "the cap band isn't engraved" as general absence; a size not printed is none."""
        if hit.value != "print" and is_negated(self.reading, hit.first, hit.last, 3):
            self._add_general(hit.first, hit.last)

    def _is_asked_to_read(self, number: int) -> bool:
        """Tell whether it is the buyer who should read, or the seller who cannot say."""
        if number + 1 < self.high and self.text.before(number + 1) in _QUOTES:
            return False  # "you read 'X'" quotes it
        word, previous = self.text.words[number], self.text.words[number - 1] if number else ""
        is_due = number > 1 and self.text.words[number - 2] in _DUE  # "ought to say"
        if previous == "t" and self.text.words[number - 2] in _DOES:
            return False  # "it doesn't say"
        return word in ("read", "say", "lee", "lis") and previous in _SPEAKERS and not is_due

    def _has_mark(self, hit: Hit, number: int) -> bool:
        """Tell whether "the left arm has ORLENA" names a mark: a place, then a strange name."""
        place = self.places.before(hit.first, self.low)
        is_name = self.text.is_strange(number) and self.text.raw(number).isupper()
        is_known = is_name or number in self.text.forms or self._is_lone_figure(number)
        return bool(place) and is_known

    def _is_lone_figure(self, number: int) -> bool:
        """Tell whether figures end their clause: "the right one just has 145"."""
        word, following = self.text.words[number], number + 1
        if not (word.isdigit() and len(word) > 1):
            return False
        return following >= self.high or self.text.words[following] in _LONE

    def _speaks(self, hit: Hit) -> bool:
        """Tell whether a place right before is what speaks, in a text without case."""
        place = self.places.before(hit.first, self.low)
        return place is not None and place[1] == hit.first and self.text.is_even(hit.first)

    def _from_say(self, hit: Hit) -> None:
        if hit.value == "behind":
            self._from_read(hit)
            return
        if hit.value != "has" and self._from_answer(hit):
            return
        number = self.text.skip_leads(hit.last, self.high)
        if number >= self.high:
            return
        if number in self.at["nothing"] or number in self.at["general"]:
            return
        place = self.places.with_preposition(number, self.high)
        if place:
            number = self._behind_place(place)
        if hit.value == "has" and not (number < self.high and self._has_mark(hit, number)):
            return
        if self._is_of_picture(hit):
            return
        literal = self.text.literal(number, self.high) if number < self.high else None
        if literal is None and number < self.high and self._speaks(hit):
            literal = self.text.spoken(number, self.high)
        literal = literal or self._short(number)
        if literal and self._is_year_told(literal):
            return
        if literal and number not in self.at["noun"] and not _is_size(self.reading, literal.first):
            self._add(literal, hit)
            return
        named = self._named_at(number) if number < self.high else None
        if named and self._place(named.first, named.last):
            self._add(named, hit)
        elif hit.last >= self._clause_end(hit):
            self._from_read(hit)  # "innen hat ORLENA gestanden"

    def _is_year_told(self, literal: _Literal) -> bool:
        """Tell whether "say 1946" only gives a year: no place is beside it."""
        text = self.reading.text[literal.start : literal.end]
        is_year = text.isdigit() and len(text) == _YEAR and self.text.before(literal.first) != '"'
        return is_year and self._place(literal.first, literal.last) is None

    def _from_read(self, hit: Hit) -> None:
        """Read "man kann am Bügel ORLENA lesen", "ORLENA can be seen on the arm"."""
        begin, end = clause_at(self.reading, hit.first, hit.last)
        if not _PHOTOS.isdisjoint(self.text.words[begin:end]):
            return
        number = hit.first - 1
        while number > begin and self.text.words[number] in _BEFORE_ANSWER:
            number -= 1
        while number - 1 >= begin and self._is_firm(number - 1) and not self.is_used(number - 1):
            number -= 1
        if number < begin or self.is_used(number) or not self._is_firm(number):
            return
        literal = self.text.literal(number, hit.first)
        if literal is None or self._is_word(literal) or _is_size(self.reading, number):
            return
        if any(n in self.places.place for n in range(begin, min(end + _NEAR, self.high))):
            self._add(literal, hit)

    def _is_of_picture(self, hit: Hit) -> bool:
        """Tell whether it is the photo that shows something."""
        before = self.text.words[max(self.low, hit.first - 2) : hit.first]
        return any(word in _PHOTOS for word in before)

    # --- nouns -------------------------------------------------------------------------------

    def _from_noun(self, noun: Hit) -> None:
        before = self.text.words[noun.first - 1] if noun.first > self.low else ""
        if before in _NOT_SERIAL or (noun.value == "weak" and before in _PERSONS):
            return  # "bus number 52", "my number"
        if self._from_answer(noun):
            return
        literal = self._before_noun(noun) or self._behind_noun(noun) or self._behind_colon(noun)
        literal = literal or self._in_next_cell(noun)
        if literal and (
            noun.value != "weak"
            or self._is_placed(noun)
            or literal.first < noun.first
            or self.text.words[literal.first - 1] == ","
        ):
            self._add(literal, noun)
            return
        is_bracketed = noun.last < self.high and self.text.words[noun.last] == "("
        end = self._behind_bracket(noun.last) if is_bracketed else noun.last
        claimed = self._claim(noun.first, end)
        if claimed == "absent":
            self._absent_noun(noun)
        elif claimed == "unsure" and (doubtful := self._literal_later(noun)):
            self._add(doubtful, noun, claimed="unsure")
        elif claimed == "unsure" and noun.value == "any" and self._is_gone(noun):
            self._add(_Literal(noun.first, noun.last, noun.start, noun.end), claimed="unsure")
        elif noun.value == "strong" or (
            noun.value == "weak" and (claimed == "unsure" or self._is_placed(noun))
        ):
            later = self._form_behind(noun)
            if later:
                self._add(_Literal(later.first, later.last, later.start, later.end), noun)
            elif noun.value == "strong" or claimed != "present" or self._is_on(noun):
                self._add(_Literal(noun.first, noun.last, noun.start, noun.end))

    def _from_answer(self, noun: Hit) -> bool:
        """Read "Is there a serial number? A: Yes, 40218 inside right arm"."""
        asked = answer_number(self.reading, noun.last)
        if asked is None:
            return False
        high = self.reading.sentence_at(asked)[1]
        is_yes = self.text.words[asked] in _YES
        number = asked + 1 if is_yes else asked
        while number < high and self.text.words[number] in _BEFORE_ANSWER:
            number += 1
        answer = _Sentence(self.text, asked, high)
        place = self.places.with_preposition(number, high) if number < high else None
        number = answer._behind_place(place) if place else number
        if number >= high or _is_size(self.reading, number):
            return False
        named = answer._named_at(answer._over_articles(number)) if is_yes else None
        is_told = answer._is_firm(number) or self.text.words[number][0].isdigit()
        if not (named or is_told or (is_yes and answer._is_placed_name(number))):
            return False
        literal = named or self.text.literal(number, high)
        if literal is None:
            return False
        answer._add(literal)
        for mark in answer.marks:
            self._note(mark)
        self.spent.update(range(noun.first, noun.last))
        return True

    def _literal_later(self, noun: Hit) -> _Literal | None:
        """Find what a doubtful mark may read: "inscription half gone, perhaps ORLE"."""
        for number in range(noun.last, min(self.high, noun.last + 9)):
            if self._is_firm(number) and not _is_size(self.reading, number):
                return self.text.literal(number, self.high)
        return None

    def _form_behind(self, noun: Hit) -> Form | None:
        """Find a known form that the noun announces: "hallmark inside, 750"."""
        reach = range(noun.last, min(self.high, noun.last + 8))
        return next((self.text.forms[n] for n in reach if n in self.text.forms), None)

    def _is_on(self, noun: Hit) -> bool:
        near = range(noun.last, min(noun.last + 3, self.high))
        return any(self.places.with_preposition(number, self.high) for number in near)

    def _is_gone(self, noun: Hit) -> bool:
        """Tell whether a doubtful mark is one that was written, with a place; wear is none."""
        is_wear = self.text.words[noun.first] in _WEAR and noun.last - noun.first == 1
        return not is_wear and self._is_placed(noun)

    def _is_placed(self, noun: Hit) -> bool:
        begin, end = clause_at(self.reading, noun.first, noun.last)
        return any(n in self.places.place or n in self.at["verb"] for n in range(begin, end))

    def _absent_noun(self, noun: Hit) -> None:
        if self._is_wear(noun) or self._is_listed(noun):
            return
        before = self.text.words[max(self.low, noun.first - 2) : noun.first]
        if before[-1:] and before[-1] in _OTHER:
            return  # "no other mark": there is one
        if before == ("not", "a") and noun.value == "weak" and not self._is_placed(noun):
            return  # "the model number and not a date"
        if noun.value == "any":
            self._add_general(noun.first, noun.last)
        else:
            self._add(_Literal(noun.first, noun.last, noun.start, noun.end), claimed="absent")

    def _is_listed(self, noun: Hit) -> bool:
        """Tell whether a general absence is only spelt out ("no marks or numbers")."""
        return any(
            mark.text == GENERAL
            and 0 <= noun.first - mark.last <= 3
            and not negations_before(self.reading, noun.first, noun.first - mark.last)
            for mark in self.marks
        )

    def _is_wear(self, noun: Hit) -> bool:
        """Tell whether "no marks" speaks of scratches."""
        begin, end = clause_at(self.reading, noun.first, noun.last)
        return any(
            begin <= hit.first < end and hit.value in ("scratches", "chip", "crack", "repair")
            for hit in self.reading.found("condition.state")
        )

    def _before_noun(self, noun: Hit) -> _Literal | None:
        """Read the literal before its noun: "CE logo", "a worn Haldrume inscription"."""
        number = noun.first - 1
        for first in range(max(self.low, noun.first - 4), noun.first):
            form = self.text.forms.get(first)
            if form and form.last == noun.first and not self.is_used(first):
                return _Literal(first, form.last, form.start, form.end)
        if number < self.low or self.is_used(number):
            return None
        end = self.reading.ends[number]
        if self.reading.plain[end : end + 1] in _QUOTES and self.reading.plain[end : end + 1]:
            return self._quoted_before(number)
        raw = self.text.raw(number)
        if raw.endswith("er") and raw[:-2].isdigit():
            return _Literal(number, number + 1, self.reading.starts[number], end - 2)  # "585er"
        if len(raw) == 1 and raw.isupper() and self.reading.plain[end : end + 1] == "-":
            return _Literal(number, number + 1, self.reading.starts[number], end)  # "Z-Logo"
        if raw.isalpha() and self._is_name(number) and (noun.value != "strong" or raw.isupper()):
            return _Literal(number, number + 1, self.reading.starts[number], end)
        sign = next((s for s in self.at["sign"].values() if s.last == noun.first), None)
        if sign and sign.first >= self.low and noun.value != "strong":
            return _Literal(sign.first, sign.last, sign.start, sign.end)
        return None

    def _is_name(self, number: int) -> bool:
        """Tell whether a word before "logo" or "stamp" is what it shows."""
        raw = self.text.raw(number)
        if self.text.is_even(number):
            return self.text.is_strange(number)
        if raw.isupper() and raw != "I" and not self.text.is_stop(number):
            return number > self.low or len(raw) > 1
        return raw[0].isupper() and self.text.is_strange(number) and number > self.low

    def _quoted_before(self, number: int) -> _Literal | None:
        end = self.reading.ends[number]
        quote = self.reading.plain[end]
        start = self.reading.plain.rfind(quote, max(0, end - 60), end)
        if start < 0:
            return None
        first = number
        while first > self.low and self.reading.starts[first - 1] > start:
            first -= 1
        return _Literal(first, number + 1, start + 1, end)

    def _behind_noun(self, noun: Hit) -> _Literal | None:
        """Read the literal behind its noun: "hallmark: 750", "initials JT", "logo on arm: V"."""
        number = noun.last
        if number < self.high and self.text.words[number] == "(":
            number = self._behind_bracket(number)
        while number < self.high and self.text.words[number] in (")", "."):
            number += 1
        if number + 1 < self.high and self.text.words[number] == "," and noun.value != "any":
            number += self._is_code(number + 1)
        sign = self.text.sign(number, self.high) or self._initials(number)
        if sign:
            return sign
        place = self.places.with_preposition(number, self.high) if number < self.high else None
        place = place or (self.places.at(number, self.high) if number < self.high else None)
        if place:
            after = place[1]
            if after < self.high and self.text.words[after] in (")", "]"):
                after += 1
            if after + 1 < self.high and self.text.words[after] == ",":
                return self._written_at(after + 1)
            if after < self.high and self._is_name_behind(after):
                return self.text.literal(after, self.high)
            if after >= self.high or self.text.words[after] not in _COPULA:
                return None
            number = after
        told = number
        if number in self.text.lead and self.text.lead[number] - number > 1:
            number = self.text.lead[number]  # "gravure au nom de"
        while number < self.high and (
            self.text.words[number] in _COPULA
            or self.text.words[number] in _MODALS
            or self.text.words[number] in ("no", "nr", ".", "n")
        ):
            number += 1
        if number > told:
            number = self.text.skip_leads(number, self.high)
        if number >= self.high or number in self.text.more:
            return None
        sign = self.text.sign(self.text.skip_leads(number, self.high), self.high)
        far = sign.first - noun.last if sign else 0
        if sign and (noun.value != "weak" or far == 0 or far > 2):
            return sign
        is_told = number > told and self.text.is_literal_start(number)
        raw = self.text.raw(number)
        is_told = is_told or (raw[0].isupper() and not raw.isupper() and self._is_name(number))
        if (is_told or self._is_firm(number)) and not _is_size(self.reading, number):
            return self.text.literal(number, self.high)
        return None

    def _is_name_behind(self, number: int) -> bool:
        """Tell whether a name stands right behind a place: "Gravur am Frontring Orlena 1:2"."""
        raw = self.text.raw(number)
        if self.is_used(number) or self.text.is_even(number):
            return False
        return raw[0].isupper() and self.text.is_strange(number)

    def _behind_colon(self, noun: Hit) -> _Literal | None:
        """Read "imprint on the barrel is crisp: ORLENA"."""
        for number in range(noun.last, min(noun.last + _NEAR, self.high - 1)):
            if self.text.words[number] == ":":
                is_new = not self.is_used(number + 1) and self._is_firm(number + 1)
                return self.text.literal(number + 1, self.high) if is_new else None
            if self.text.words[number] in _STOPS or number in self.at["verb"]:
                return None
        return None

    def _in_next_cell(self, noun: Hit) -> _Literal | None:
        """Read the mark in the next cell of a table: "| Engraving | ORLENA 50 |"."""
        words = self.text.words
        if noun.last >= len(words) - 1 or words[noun.last] != "|":
            return None
        if noun.first > 0 and words[noun.first - 1] not in ("|", "\n"):
            return None
        number = noun.last + 1
        low, high = self.reading.sentence_at(number)
        if number >= high or not _Sentence(self.text, low, high)._is_firm(number):
            return None
        return self.text.literal(number, high)

    def _written_at(self, number: int) -> _Literal | None:
        """Read a mark in quotes or of a known form behind "marque sur le pont,"."""
        is_quoted = self.text.before(number) in _QUOTES
        if self.is_used(number) or not (is_quoted or number in self.text.forms):
            return None
        literal = self.text.literal(number, self.high)
        if literal is None or self._place_behind(literal.last, False):
            return None  # it has a place of its own
        return literal

    def _initials(self, number: int) -> _Literal | None:
        """Read the letters of "initials, E.B."."""
        if number < self.high and self.text.words[number] in (",", ":"):
            number += 1
        if number >= self.high or number in self.text.forms:
            return None
        start = self.reading.starts[number]
        match = _DOTTED.match(self.reading.text, start)
        if match is None:
            return None
        last, end = self.reading.word_at(match.end() - 1) + 1, match.end()
        while last < self.high and self._is_dated(last):
            last, end = last + 1, self.reading.ends[last]
        return _Literal(number, last, start, end)

    def _is_dated(self, number: int) -> bool:
        """Tell whether figures or a name go on behind initials: "F.B. 1st June 1909"."""
        word = self.text.words[number]
        return word in _MONTHS or (word[0].isdigit() and not _is_size(self.reading, number))

    def _is_code(self, number: int) -> bool:
        """Tell whether a word is a number of three figures or more: "a serial, 77-4410"."""
        raw = self.reading.slice(number, min(number + 2, self.high))
        is_long = sum(character.isdigit() for character in raw) > 2
        return (
            self.text.words[number][0].isdigit() and is_long and not _is_size(self.reading, number)
        )

    def _behind_bracket(self, number: int) -> int:
        """Step over "(left)" between a noun and its literal."""
        for behind in range(number + 1, min(number + 5, self.high)):
            if self.text.words[behind] == ")":
                return behind + 1
        return number + 1

    # --- other ways --------------------------------------------------------------------------

    def _from_form(self, form: Form) -> None:
        """Read a mark known by its form where something says that it is written."""
        if form.kind == "number":
            self._from_number(form)
            return
        if form.kind == "fineness" and not any(c.isdigit() for c in self.text.words[form.first]):
            return
        if form.last in self.at["noun"] and form.last < self.high:
            self._from_noun(self.at["noun"][form.last])
            return
        literal = self.text.known(form.first, self.high)
        if literal is None:
            return
        claimed = self._claim(form.first, form.last)
        placed = self._is_placed_behind(form.last, form.kind != "fineness")
        begin, end = clause_at(self.reading, form.first, form.last)
        writes = any(n in self.at["verb"] or n in self.at["noun"] for n in range(begin, end))
        if (
            placed
            or claimed == "absent"
            or self._is_answered_yes(form.last)
            or self._is_nibs(form)
            or (writes and form.kind != "country")
        ):
            self._add(literal, claimed=claimed)
        elif (
            self._colon_before(form.first)
            or self._is_placed_before(literal)
            or self._is_part_with(form.first)
        ):
            self._add(literal)

    def _is_part_with(self, number: int) -> bool:
        """Tell whether a part that opens its clause has the mark: "Cierre de caja con 925"."""
        if number <= self.low or self.text.words[number - 1] not in _WITH:
            return False
        begin, _ = clause_at(self.reading, number, number + 1)
        return begin in self.places.place and number - begin <= _NEAR

    def _is_placed_behind(self, number: int, is_sure: bool) -> bool:
        """Tell whether a place follows a mark, or the list that it begins."""
        return self._place_behind(number, is_sure) is not None

    def _place_behind(self, number: int, is_sure: bool) -> Range | None:
        """Give the place that follows a mark, or the list that it begins.

        "925 inside the band", "CE and HANDMADE on the arm", "750 perhaps on the pin";
        `is_sure`: also a place without a preposition ("MADE IN ITALY interno destro").
        """
        for _ in range(_LISTED):
            while number < self.high and (number in self.text.manner or number in self.at["exist"]):
                hit = self.at["exist"].get(number)
                number = hit.last if hit else self.text.manner[number]
            if number + 1 < self.high and self.text.words[number] == ".":
                number += 1  # the last stop of "D.R.P."
            if number >= self.high:
                return None
            place = self.places.with_preposition(number, self.high)
            if place is None and self.text.words[number] in ("(", "/"):
                place = self.places.at(number + 1, self.high)
            if place is None and is_sure and self.text.words[number] in _SIDES:
                place = self.places.at(number, self.high)
            following = self._behind_item(number) if place is None else None
            if following is None:
                return place
            number = following
        return None

    def _behind_item(self, number: int) -> int | None:
        """Go over "and HANDMADE": the next thing of a list of marks; None if there is none."""
        if number not in self.text.more:
            return None
        while number < self.high and number in self.text.more:
            number = self.text.more[number]
        number = self.text.skip_leads(number, self.high)
        if number >= self.high:
            return None
        named = self._named_at(number)
        if named is None and self._is_firm(number):
            named = self.text.literal(number, self.high)
        return named.last if named else None

    def _is_nibs(self, form: Form) -> bool:
        """Tell whether gold of a nib is named: a fineness is stamped on every gold nib."""
        if form.kind != "fineness":
            return False
        words = self.text.words
        beside = {words[n] for n in (form.first - 1, form.last) if self.low <= n < self.high}
        return not _NIBS.isdisjoint(beside)

    def _is_answered_yes(self, number: int) -> bool:
        return answer_at(self.reading, number) in _YES

    def _colon_before(self, number: int) -> bool:
        """Tell whether a place and a colon stand right before a word."""
        if number - 1 < self.low or self.text.words[number - 1] not in (":", "="):
            return False
        place = self.places.before(number - 1, self.low)
        return place is not None and place[1] >= number - 2

    def _from_number(self, form: Form) -> None:
        """Read "caseback no. 77120": a number sign, figures, and a place beside."""
        number = form.last - 1
        if form.first > self.low and self.text.words[form.first - 1] in _NOT_SERIAL:
            return
        before = self.places.before(form.first, self.low)
        near = before is not None and form.first - before[1] <= 1
        if near or self.places.with_preposition(form.last, self.high):
            start, end = self.reading.starts[number], self.reading.ends[number]
            self._add(_Literal(number, form.last, start, end))

    def _from_capitals(self, number: int) -> None:
        """Read "Red T on the barrel": capitals with a place right behind."""
        raw = self.text.raw(number)
        if not raw.isupper() or self.text.is_even(number) or raw in ("I", "A"):
            return
        if self._is_on_side(number):
            self._take(number)
            return
        is_number = self.text.words[number] in _NUMBER_SIGNS and self.text.numbers(number)
        if self.text.is_stop(number) and len(raw) > 1 and not is_number:
            return
        if number > self.low and self.text.words[number - 1] in _NOT_SERIAL:
            return  # "UK size N. 925 inside"
        literal = self.text.literal(number, self.high)
        if literal is None:
            return
        is_metal = raw.casefold() in _METALS and literal.last - literal.first == 1
        if is_metal and self.places.with_preposition(literal.last, self.high):
            self._add(literal)  # "SILVER on the rim"
            return
        if not self._is_shouted(literal) or self._is_word(literal):
            return
        behind = literal.last < self.high and self._is_placed_behind(literal.last, True)
        if behind or (len(raw) > 2 and self._is_placed_before(literal)):
            self._add(literal)

    def _is_shouted(self, literal: _Literal) -> bool:
        """Tell whether a literal is in capitals, a name behind it aside: "ORLENA Paris".

        German writes every noun with a capital: there only words of no list are names.
        """
        if self.reading.text[literal.start : literal.end].isupper():
            return True
        if all(
            self.text.words[n].isdigit() or len(self.text.words[n]) <= _FEW
            for n in range(literal.first + 1, literal.last)
        ):
            return True  # "ORLENA 1:2,8 f=28"
        rest = range(literal.first + 1, literal.last)
        return len(rest) <= _FEW and all(
            self.text.raw(n)[0].isupper()
            and (self.reading.languages[n] != "de" or self.text.is_strange(n))
            for n in rest
        )

    def _is_on_side(self, number: int) -> bool:
        """Tell whether "left" or "right" stands before, and the thing it is of before that."""
        if len(self.text.raw(number)) < 2 or number - 1 < self.low:
            return False
        side = number - 1
        if self.text.words[side] == ":":
            side -= 1
        is_side = side >= self.low and self.text.words[side] in LEFT_RIGHT
        return is_side and self.places.before(side, self.low) is not None

    def _take(self, number: int) -> None:
        literal = self.text.literal(number, self.high)
        if literal and not self._is_word(literal):
            self._add(literal)

    def _is_placed_before(self, literal: _Literal) -> bool:
        """Read "Auf dem linken Bügel ORLENA, rechts CE": place and mark make up the clause."""
        begin, end = clause_at(self.reading, literal.first, literal.last)
        if begin >= literal.first:
            return False
        if end > literal.last and self.text.words[literal.last] not in _JOINS:
            return False
        number = self.low
        while number < literal.first:
            if self.text.words[number] == "," or (
                number > self.low and self.text.words[number] in _INDEFINITE
            ):
                number += 1
                continue
            if number > self.low and number in self.text.manner:
                number = self.text.manner[number]  # "under the bridge, small, GERMANY"
                continue
            doubt = self._doubt_at(number)
            if doubt:
                number = doubt.last
                continue
            place = self.places.with_preposition(number, self.high)
            if place is None and (self.text.words[number] in _SIDES or self._opens(number)):
                place = self.places.at(number, self.high)
            number = place[1] if place else self._next_clause(number, literal.first)
        return number == literal.first and number > begin

    def _doubt_at(self, number: int) -> Hit | None:
        """Give the words of doubt that begin at a word: "on the right it seems that LYON"."""
        if number == self.low:
            return None
        return next((h for h in self.reading.found("words.unsure") if h.first == number), None)

    def _opens(self, number: int) -> bool:
        """Tell whether a word may open a place: "nib WARRANTED 14CT", "the left arm ORLENA"."""
        places = self.places
        return number in places.place or number in places.adjective or number in places.article

    def _next_clause(self, number: int, end: int) -> int:
        """Give the word behind the next comma before `end`; one beyond it if there is none."""
        comma = next((n for n in range(number, end) if self.text.words[n] == ","), end)
        return comma + 1

    def _from_quoted(self, number: int) -> None:
        """Read "'NAME' on the nose pad": quoted words with a place right behind."""
        literal = self.text.literal(number, self.high)
        if literal is None or self.text.before(number) not in _QUOTES:
            return
        last = literal.last
        if self._is_word(literal):
            return
        if last < self.high and self._is_placed_behind(last, True):
            self._add(literal)
            return
        if self._is_placed_before(literal) or self._is_behind_place(literal.first):
            self._add(literal)
            return
        if number in self.text.forms and self._is_part_with(number):
            self._add(literal)
            return
        if is_doubted(self.reading, literal.first, last) and self.places.after(last, self.high):
            self._add(literal, claimed="unsure")  # whether "X" or something else is on the arm
            return
        begin, _ = clause_at(self.reading, literal.first, last)
        before = self.places.before(literal.first, begin)
        if before and before[0] <= begin + 1 and self.reading.text[literal.start].isupper():
            self._add(literal)

    def _is_behind_place(self, number: int) -> bool:
        """Tell whether a place and a comma make up what stands before: 'En el aro, "X"'."""
        if number - 1 <= self.low or self.text.words[number - 1] != ",":
            return False
        place = self.places.with_preposition(self.low, number - 1)
        return place is not None and place[1] == number - 1

    def _is_word(self, literal: _Literal) -> bool:
        """Tell whether capitals or quotes only stress a word of the trade ("VGC", "GOLD")."""
        words = self.text.words
        is_all = all(words[n] in _STRESSED for n in range(literal.first, literal.last))
        return is_all or words[literal.first] in _WEARERS

    def _from_size(self, number: int) -> None:
        """Read "50□20 am Steg": a printed pair of sizes with a place right behind."""
        match = _PAIR.match(self.reading.text, self.reading.starts[number])
        if match is None:
            return
        last = self.reading.word_at(match.end() - 1) + 1
        if last < self.high and self._is_placed_behind(last, False):
            self._add(_Literal(number, last, match.start(), match.end()))

    def _from_colon(self, colons: list[int]) -> None:
        """Read "Inner right arm: HALDRUME"."""
        for number in colons:
            if not self.low < number < self.high - 1:
                continue
            place = self.places.before(number, self.low)
            after = number + 1
            if place is None or place[1] < number - 1 or self.is_used(after):
                continue
            after = self._over_articles(after)
            named = self._named_at(after) if after < self.high else None
            if named and after > number + 1:  # "On the back: an arrow"
                self._add(named)
                continue
            if after >= self.high:
                continue
            whole = self._whole(place, after)
            if whole:
                self._add(whole)
                continue
            if not (self._is_firm(after) or self._is_told(place, after)):
                continue
            literal = self.text.literal(after, self.high)
            text = self.reading.slice(after, literal.last) if literal else ""
            is_shown = any(c.isupper() for c in text) or self.text.is_even(after)
            is_code = bool(_CODE.fullmatch(text)) and not _is_size(self.reading, after)
            if (
                literal
                and (any(c.isalpha() for c in text) or is_code)
                and (is_shown or is_code or after in self.text.forms)
            ):
                self._add(literal)

    def _whole(self, place: Range, number: int) -> _Literal | None:
        """Read a dedication behind a place that opens the sentence: "Lid: To Jean 12.5.86"."""
        if self.text.is_even(number) or self.text.before(number) in _QUOTES:
            return None
        if not self.text.raw(number)[0].isupper() or self.text.is_stop(number):
            return None
        if place[0] > self.low + 1 or self._is_firm(number):
            return None
        last = next((n for n in range(number, self.high) if self.text.words[n] == ","), self.high)
        while last > number and self.text.words[last - 1] in (".", "\n"):
            last -= 1
        words = self.text.words[number:last]
        if not 1 < len(words) <= _LONGEST or not words[-1].isdigit() or len(words[-1]) < _FEW:
            return None
        if not _LONE.isdisjoint(word for word in words if word not in ".-/"):
            return None
        start, end = self.reading.starts[number], self.reading.ends[last - 1]
        return None if _is_size(self.reading, last - 1) else _Literal(number, last, start, end)

    def _is_told(self, place: Range, number: int) -> bool:
        """Tell whether a name of no list is all that follows a place: "Dial: Sotherwick."."""
        if place[0] > self.low or self.text.is_even(number):
            return False
        return self.text.raw(number)[0].isupper() and self.text.is_strange(number)


_GOODS_NAMES = small_words("numbered_thing") | small_words("era_thing")
_MONTHS = small_words("month")
_METALS = small_words("precious")
_SHORTENED = small_words("shortened")
_TURNS = small_words("turn")
_BUT = frozenset(("but", "als", "que", "che", "sino"))  # "nothing but", "nichts als"
_OTHER = small_words("other")
_YES = small_words("yes")
_TOGETHER = small_words("together")
_IN_SHAPE = small_words("in_shape")
_SHAPES = small_words("shape")
_INDEFINITE = small_words("indefinite")
_NOT_WRITTEN = small_words("not_written")
_PHOTOS = small_words("photo")
_HAS = small_words("has")
_BEFORE_ANSWER = small_words("merely") | {",", ":", "-", "it", "does", "is"}
_ANSWER_HEAD = frozenset(("\n", "a", ":"))
_NUMBER_SIGNS = frozenset(("no", "nr", "n", "num"))
_WITH = frozenset(("with", "mit", "avec", "con"))
_WEAR = small_words("wear")
_LACKS = small_words("negates_ahead") | small_words("lacks") | {":", "="}
_SIDES = small_words("side_word")
_BLANK = small_words("blank_surface") | {","}
_PERSONS = small_words("of_person")
_DUE = small_words("due")
_DOES = frozenset(("doesn", "don", "didn", "does", "did"))
_NIBS = small_words("nib")
_STRESSED = small_words("stressed")
_WEARERS = small_words("wearers_size")
_MODALS = small_words("modal")
_SPEAKERS = small_words("speaker")
_NOT_SERIAL = small_words("not_serial")
_SIZE_UNITS = frozenset(
    [
        "mm",
        "cm",
        "in",
        "inch",
        "inches",
        "zoll",
        "pouces",
        "pollici",
        "pulgadas",
        "g",
        "gr",
        "eur",
        "euro",
    ]
)


def _is_size(reading: Reading, number: int) -> bool:
    """Tell whether a word is a figure with a unit, or glued to one."""
    word = reading.words[number]
    if not word[0].isdigit():
        return False
    if (word.rstrip("m").isdigit() and word.endswith("mm")) or word.endswith("cm"):
        return True
    following = number + 1
    while following < len(reading.words) and (
        reading.words[following] in (".", ",", "/", "-") or reading.words[following].isdigit()
    ):
        if reading.starts[following] - reading.ends[following - 1] > 1:
            return False
        following += 1
    return following < len(reading.words) and (
        reading.words[following] in _SIZE_UNITS or reading.words[following].endswith(("mm", "cm"))
    )


def _telling(text: _Text) -> list[int]:
    """Give the words at which something about a mark may begin."""
    reading = text.reading
    places = [match.start() for match in _COLON.finditer(reading.plain)]
    places += [match.end() for match in islice(_OPENED.finditer(reading.plain), 4 * _MOST)]
    places += [match.end() for match in islice(_GUILLEMET.finditer(reading.text), 4 * _MOST)]
    places += [match.start() for match in _PAIR.finditer(reading.text)]
    numbers = {reading.word_at(place) for place in places}.union(text.forms, *text.at.values())
    if not reading.text.isupper():
        for match in _CAPITALS.finditer(reading.text):
            number = reading.word_at(match.start())
            if number < len(text.words) and reading.starts[number] == match.start():
                numbers.add(number)
    numbers.update(text.names())
    words = text.words
    numbers.update([n for n in reading.figures() if words[n - 1] in _INDEFINITE])
    numbers.discard(len(text.words))  # a quote at the end of the text opens nothing
    return sorted(numbers)


_COLON = re.compile("[:=]")
_COLONS = frozenset(":=")


def _read(reading: Reading) -> list[_Mark]:
    text = _Text(reading)
    numbers: dict[int, list[int]] = defaultdict(list)
    sentence_of = reading.sentence_of
    for number in _telling(text):
        numbers[sentence_of[number]].append(number)
    seen: list[_Mark] = []
    starts: set[int] = set()
    behind = 0  # a mark may go over the end of its sentence
    placed = {sentence_of[number] for table in text.placing() for number in table}
    cued = set(text.forms).union(*text.at.values())
    for sentence, telling in numbers.items():
        if sentence not in placed:  # what no cue announces is a mark only beside its place
            telling = [number for number in telling if number in cued]
        if not telling:
            continue
        marks = _Sentence(text, *reading.sentences[sentence]).read(telling)
        fresh = [mark for mark in marks if mark.start not in starts and mark.start >= behind]
        behind = max((mark.end for mark in fresh), default=behind)
        starts.update([mark.start for mark in fresh])
        seen += [_doubted_later(reading, mark) for mark in fresh]
    return [*seen, *_repeats(text, seen)]


def _doubted_later(reading: Reading, mark: _Mark) -> _Mark:
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


def _repeats(text: _Text, marks: list[_Mark]) -> Iterator[_Mark]:
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


def _object_of(reading: Reading, mark: _Mark) -> str:
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
