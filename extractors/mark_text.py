"""A text ready to be read for marks: its cues, and the literal that begins at a word."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator
from typing import NamedTuple

from extractors.lexicon import small_words, vocabulary
from extractors.mark_forms import Form, find_forms
from extractors.mark_places import LEFT_RIGHT, Places, Range
from extractors.reading import Reading
from extractors.records import Claimed
from extractors.scope import has_picture

GENERAL = "*"
_CUES = (
    *(
        (name, f"markings.{name}")
        for name in ("verb", "say", "noun", "general", "nothing", "exist", "notfound", "sign")
    ),
    ("unsure", "words.unsure"),
)
_SMALL = tuple(f"markings.{name}" for name in ("lead", "except", "more", "manner"))
# where none of these begins near a mark, nobody denies or doubts it
_UNSETTLING = (
    *("words.not", "words.denied", "words.unsure", "words.illegible"),
    *("words.ignorance", "words.reported", "markings.notfound"),
)
STOPS = frozenset("\n!?;:|()•·…")
_INNER = small_words("inside_literal")
_TRAILING = _INNER | {".", ","}
_MADE = small_words("made_in")
JOINS = small_words("joins")
LONE = STOPS | JOINS | {".", ","}
COPULA = small_words("copula")
WITH = frozenset(("with", "mit", "avec", "con"))
LONGEST = 14  # words of a literal without quotes
QUOTES = "\"'"
PAIR = re.compile(
    r"\d(?<![\w.,/].)\d ?[\[□☐▢▯◻⬜x×][\] ]? ?\d\d(?![\w.,]\d|\s?(?:mm|cm))"
    r"(?:[ -]\d{3}\b)?(?: \d[A-Z]\b)?",
    re.DOTALL,
)
DASHED = re.compile(r"\d\d[-/]\d\d(?:[-/]\d{3})?(?![\w.,/-]*\w)")
_SERIES = "|".join(sorted(small_words("figures_of")))
_OF_SERIES = re.compile(rf"\d{{1,4}} ?(?:/|\b(?:{_SERIES})\b) ?\d{{2,5}}(?![\w.,/-]*\w)")
_DOTS = frozenset(".…")
_SPACE = re.compile(r"\s")
NEAR = 7  # words of a place phrase right before its mark
_UNITS = frozenset(("mm", "cm", "g", "gr", "eur", "euro", "inches"))
FEW = 2  # names behind one in capitals
_LONGEST_LEAD = 10  # words between a verb and its literal; bounds the work on endless runs of them
_DEDICATING = small_words("dedicating")
_DEDICATED_ON = small_words("dedicated_on")
_COUNTRIES = small_words("country")
GOODS = small_words("numbered_thing") | small_words("era_thing") | small_words("spectacles")
MONTHS = small_words("month")
_SHORTENED = small_words("shortened")
YES = small_words("yes")
_TOGETHER = small_words("together")
_IN_SHAPE = small_words("in_shape")
_SHAPES = small_words("shape")
INDEFINITE = small_words("indefinite")
BEFORE_ANSWER = small_words("merely") | {",", ":", "-", "it", "does", "is"}
NUMBER_SIGNS = frozenset(("no", "nr", "n", "num"))
SIDES = small_words("side_word")
NOT_SERIAL = small_words("not_serial")
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
COLONS = frozenset(":=")


class Literal(NamedTuple):
    """A stretch taken as the words of a mark: words [first, last), characters [start, end)."""

    first: int
    last: int
    start: int
    end: int


class Mark(NamedTuple):
    """A mark found: its text, words [first, last), characters [start, end)."""

    text: str
    first: int
    last: int
    start: int
    end: int
    claimed: Claimed
    place: Range | None


class Text:
    """One reading with its cue tables: reads literals and tells how they are written."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.words = reading.words
        self.places = Places(reading)
        self.forms: dict[int, Form] = find_forms(reading)
        self.at = {
            name: {hit.first: hit for hit in (reading.found(cue) if cue in reading.cues else ())}
            for name, cue in _CUES
        }
        self.lead, self.but, self.more, self.manner = map(reading.reach, _SMALL)
        self.even: dict[int, bool] = {}  # sentence -> has no difference of capitals
        self.quoted = _behind_quotes(reading)
        self.unsettled = sorted(
            [cue[1] for name in _UNSETTLING if name in reading.cues for cue in reading.cues[name]]
        )  # the word after each

    def is_stop(self, number: int) -> bool:
        """Tell whether a word begins no literal even with a capital."""
        return self.reading.end_at("markings.stop", number) > 0

    def placing(self) -> Iterator[int]:
        """Give the words of which one must be there for a mark to be known by its place."""
        places, words = self.places, (*self.words, "")
        yield from places.place
        for number, last in places.prep.items():  # "on the left"
            last = places.article.get(last, last)
            if words[places.article.get(last, last)] in LEFT_RIGHT:
                yield number

    def raw(self, number: int) -> str:
        """Give a word as the seller wrote it."""
        return self.reading.text[self.reading.starts[number] : self.reading.ends[number]]

    def gap(self, number: int) -> str:
        """Give what stands between a word and the one before."""
        return self.reading.plain[self.reading.ends[number - 1] : self.reading.starts[number]]

    def is_glued(self, number: int) -> bool:
        """Tell whether no space stands between a word and the one before."""
        gap = self.reading.text[self.reading.ends[number - 1] : self.reading.starts[number]]
        return not gap or not _SPACE.search(gap)

    def is_even(self, number: int) -> bool:
        """Tell whether the sentence is all capitals or has none: then case says nothing.

        Small letters behind ";" are judged with the sentence before.
        """
        sentence = self.reading.sentence_of[number]
        even = self.even.get(sentence)
        if even is not None:
            return even
        joined: list[int] = []
        while even is None:
            joined.append(sentence)
            low, high = self.reading.sentences[sentence]
            text = self.reading.slice(low, high)
            if not text.islower():
                even = text.isupper()
            elif low == 0 or self.words[low - 1] != ";":
                even = True
            else:
                sentence = self.reading.sentence_of[low - 1]
                even = self.even.get(sentence)
        self.even.update(dict.fromkeys(joined, even))
        return even

    def is_lone_number(self, number: int) -> bool:
        """Tell whether a word is a number of three figures or more behind an article."""
        word = self.words[number]
        return word.isdigit() and len(word) > FEW and self.words[number - 1] in INDEFINITE

    def names(self) -> Iterator[int]:
        """Give the words with a capital, of no list, that a preposition of place follows."""
        text, starts = self.reading.text, self.reading.starts
        known = vocabulary()
        for number in [behind - 1 for behind in self.places.prep if behind]:
            word = self.words[number]
            if word in known and word not in _COUNTRIES:
                continue
            if text[starts[number]].isupper() and self.is_strange(number):
                yield number

    def is_strange(self, number: int) -> bool:
        """Tell whether a word is in no list: likely a name."""
        word = self.words[number]
        if word in vocabulary():
            return word in _COUNTRIES
        return len(word) > 3 and word.isalpha()

    def is_literal_start(self, number: int) -> bool:
        """Tell whether a word may begin a literal without quotes."""
        raw = self.raw(number)
        if not raw[0].isalnum() or (
            len(raw) == 1 and raw in "IAaOoYyEe" and not self._is_odd(number)
        ):
            return False
        if not raw.isalpha() and any(character.isdigit() for character in raw):
            return True
        if self.is_even(number):
            return self.is_strange(number) or (len(raw) == 1 and raw not in "aeoyi")
        if raw.isupper():
            return True
        if self.reading.languages[number] == "de" and self.words[number] in GOODS:
            return False
        return raw[0].isupper() and not self.is_stop(number)

    def _is_odd(self, number: int) -> bool:
        """Tell whether a single letter is a mark: it ends its sentence or a place follows."""
        following = number + 1
        return following >= len(self.words) or (
            self.words[following] == "."
            or self.words[following] in _IN_SHAPE
            or (self.words[number - 1] in INDEFINITE and following in self.at["unsure"])
            or (following in self.at["verb"] and self.raw(number) in "OYE")
            or self.places.with_preposition(following, self.reading.sentence_at(number)[1])
            is not None
        )

    def literal(self, number: int, high: int) -> Literal | None:
        """Read a literal that begins at a word; "E in a circle" is one."""
        if number >= high:
            return None
        found = self._quoted(number) or self.known(number, high) or self._run(number, high)
        found = found or self.dedication(number, high)
        found = self._with_form(self.pair(number, found))
        return self._framed(found, high) if found else None

    def dedication(self, number: int, high: int) -> Literal | None:
        """Read "To Jean 1986", "A Bruno": a small word with a capital, a name behind it."""
        if number + 1 >= high or self.words[number] not in _DEDICATING or self.is_even(number):
            return None
        name = number + 1
        if number in self.quoted:
            return None
        if not self.raw(number)[0].isupper() or not self.raw(name)[0].isupper():
            return None
        run = self._run(name, high)
        if run is None:
            return None
        last = run.last
        last += last + 1 < high and self.words[last] == "." and len(self.words[last - 1]) == 1
        if last < high and self.words[last] in _DEDICATED_ON:
            last = next((n for n in range(last, high) if self.words[n] in LONE), high)
        if last - number > LONGEST:
            last = run.last
        return Literal(number, last, self.reading.starts[number], self.reading.ends[last - 1])

    def _with_form(self, found: Literal | None) -> Literal | None:
        """Take all of a known form that ends a literal: "ORLENA 18 carats"."""
        form = self.forms.get(found.last - 1) if found else None
        if found is None or form is None or form.kind != "fineness" or form.last <= found.last:
            return found
        return found._replace(last=form.last, end=form.end)

    def pair(self, number: int, found: Literal | None) -> Literal | None:
        """Read a printed pair of sizes or a number of a series whole: "38 x 18", "112 of 500"."""
        if found is None or not self.words[number][0].isdigit():
            return found
        start = self.reading.starts[number]
        match = PAIR.match(self.reading.text, start) or _OF_SERIES.match(self.reading.plain, start)
        if match is None or match.end() <= found.end:
            return found
        return found._replace(last=self.reading.word_at(match.end() - 1) + 1, end=match.end())

    def sign(self, number: int, high: int) -> Literal | None:
        """Read a drawn mark at a word: "crown", "crown in an oval", "lion and crown"."""
        hit = self.at["sign"].get(number)
        if hit is None or (
            self.words[number] in _SHAPES
            and number > 1
            and self.words[number - 1] in INDEFINITE
            and self.words[number - 2] in _IN_SHAPE
        ):
            return None  # "two letters in an oval"
        drawn = Literal(hit.first, hit.last, hit.start, hit.end)
        behind = hit.last
        if behind < high and self.words[behind] in _TOGETHER:
            behind += 1
            while behind < high and self.words[behind] in INDEFINITE:
                behind += 1
            other = self.at["sign"].get(behind) if behind < high else None
            if other:
                drawn = drawn._replace(last=other.last, end=other.end)
        return self._framed(drawn, high)

    def _framed(self, literal: Literal, high: int) -> Literal:
        """Add the shape drawn around a mark: "in a circle"."""
        number = literal.last
        if number >= high or self.words[number] not in _IN_SHAPE:
            return literal
        number += 1
        begin = number
        while number < high and self.words[number] in INDEFINITE:
            number += 1
        if number == begin or number >= high or self.words[number] not in _SHAPES:
            return literal
        return literal._replace(last=number + 1, end=self.reading.ends[number])

    def _quote_before(self, number: int) -> str:
        """Give the quotation mark before a word that has one."""
        start = self.reading.starts[number]
        return '"' if self.reading.text[start - 1].isspace() else self.reading.plain[start - 1]

    def _quoted(self, number: int) -> Literal | None:
        if number not in self.quoted:
            return None
        quote, start = self._quote_before(number), self.reading.starts[number]
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
        return Literal(number, last, start, end)

    def _after(self, end: int, number: int) -> int:
        while number < len(self.words) and self.reading.starts[number] < end:
            number += 1
        return number

    def known(self, number: int, high: int) -> Literal | None:
        """Read a mark of a known form that begins at a word, with the capitals behind it."""
        form = self.forms.get(number)
        if form is None:
            return None
        last, end = form.last, form.end
        if form.kind == "number":  # a serial number is its digits
            return Literal(number, last, self.reading.starts[last - 1], end)
        while last < high and not self.is_even(number) and self._goes_on(last):
            last, end = last + 1, self.reading.ends[last]
        return Literal(number, last, form.start, end)

    def _goes_on(self, number: int) -> bool:
        """Tell whether capitals or figures go on behind a known form ("14K HALDRUME")."""
        raw = self.raw(number)
        gap = self.reading.text[self.reading.ends[number - 1] : self.reading.starts[number]]
        is_close = gap.strip(" -□☐") == "" or gap in ("'", "’")
        return is_close and (raw.isupper() or raw.isdigit()) and raw != "I"

    def _run(self, number: int, high: int) -> Literal | None:
        if not self.is_literal_start(number):
            return None
        last = number
        even = self.is_even(number)
        while last < min(high, number + LONGEST) and self._stays(number, last, even):
            last += 1
            if last == high and not even and self._is_cut_short(last):
                high = self.reading.sentence_at(last)[1]
        while last > number and self.words[last - 1] in _TRAILING:
            last -= 1
        if last == number:
            return None
        return Literal(number, last, self.reading.starts[number], self.reading.ends[last - 1])

    def spoken(self, number: int, high: int) -> Literal | None:
        """Read up to four words of a text without case ("clip says oriel")."""
        last = number
        while last < min(high, number + 4) and self._stays(number, last, True):
            last += 1
        if last == number or self._ends_even(number):
            return None
        return Literal(number, last, self.reading.starts[number], self.reading.ends[last - 1])

    def _stays(self, first: int, number: int, even: bool) -> bool:
        """Tell whether a word still belongs to a literal that began at `first`."""
        word, raw = self.words[number], self.raw(number)
        if word in (".", ","):
            return self._is_inner_stop(number)
        if word in NUMBER_SIGNS and self.numbers(number):
            return True
        if word in MONTHS and number > first and self.words[number - 1].isdigit():
            return True  # "19 mai 1897"
        if word in STOPS:
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
        places = self.places
        return (
            self.is_stop(number)
            or number in places.prep
            or places.adjective.get(number) in places.place
            or (self.words[number] in LEFT_RIGHT and self.raw(number).islower())
            or number in self.at["verb"]
            or number in self.at["noun"]
        )

    def _capital_follows(self, number: int) -> bool:
        return number + 1 < len(self.words) and self.raw(number + 1)[0].isupper()

    def _is_inner_stop(self, number: int) -> bool:
        """Tell whether a stop lies inside a literal ("PAT. 1927", "1:3,5", "No. 3")."""
        after = self.reading.plain[self.reading.ends[number] : self.reading.ends[number] + 1]
        if after and not after.isspace() and after not in QUOTES:
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

    def _is_torn(self, number: int, high: int) -> bool:
        """Tell whether a stop stands for lost letters: "...VELLE"."""
        return self.words[number] in _DOTS and number + 1 < high and self.is_glued(number + 1)

    def is_letter(self, number: int) -> bool:
        """Tell whether a word is the letter A as a mark: "peut-être un A effacé"."""
        return (
            self.raw(number) == "A" and not self.is_even(number) and self.is_literal_start(number)
        )

    def skip_leads(self, number: int, high: int) -> int:
        """Go over "with", "the words", a colon: what may stand between a verb and its literal."""
        high = min(high, number + _LONGEST_LEAD)
        while number < high and number not in self.quoted:
            if self.words[number] == "a" and self.is_letter(number):
                break
            if number in self.lead and not self.places.with_preposition(number, high):
                number = self.lead[number]
            elif self.words[number] in (":", "=") or self._is_torn(number, high):
                number += 1
            else:
                break
        return number


def _behind_quotes(reading: Reading) -> frozenset[int]:
    """Give the words right behind a quotation mark; the French write « X » with spaces."""
    plain, text = reading.plain, reading.text
    places = [place + 1 for place in places_of('"', plain)]
    places += [
        place + 1 for place in places_of("'", plain) if not (place and plain[place - 1].isalnum())
    ]  # no apostrophe
    if "«" in text:
        spaced = [
            place + 2 for place in places_of("«", text) if text[place + 1 : place + 2].isspace()
        ]
        places += spaced
    return frozenset(words_at(reading, places))


def places_of(sign: str, text: str) -> Iterator[int]:
    """Give the characters at which a sign stands."""
    place = text.find(sign)
    while place >= 0:
        yield place
        place = text.find(sign, place + 1)


def words_at(reading: Reading, places: list[int]) -> list[int]:
    """Give the words that begin at one of some characters."""
    starts = reading.starts
    found = [(bisect_left(starts, place), place) for place in places]
    return [number for number, place in found if starts[number : number + 1] == (place,)]


def is_size(reading: Reading, number: int) -> bool:
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
