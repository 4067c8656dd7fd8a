"""What is said to be written on the piece: literal text, where, and whether it is there at all.

Sentence by sentence: words of writing ("stamped", "reads", "hallmark"), marks that are known by
their form (fineness, CE, patents, country of origin, serial numbers), a place with a colon
("Inner arm: ..."), and words for general absence ("unmarked").
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from extractors.reading import Hit, Reading
from extractors.records import Claimed, Marking
from extractors.scope import is_doubted, is_negated

GENERAL = "*"
_FORMS = re.compile(
    r"(?<![\w.,])(?:"
    r"1\s?/\s?(?:5|8|10|12|14|20|30|40)(?:th)?(?:\s?-?\d{1,2}\s?(?:k|kt|ct|karat)\b)?"
    r"(?:\s?(?:gf|rgp|gold filled|rolled gold(?: plate)?|gp|g\.f\.)\b)?"
    r"|\d{1,2}\s?(?:k|kt|ct|karat)\b(?:\s?(?:gf|rgp|gold filled|rolled gold(?: plate)?|gp|g\.f\.)\b)?"
    r"|(?:333|375|417|500|585|583|625|750|800|830|835|875|900|916|925|950|958|999)\b(?![.,]\d|\s?(?:mm|cm|g|gr|eur|euro)\b)"
    r"|ce\b(?!\s(?:n|s|qui|que|sont|est|mod))|ukca\b|uv\s?-?400\b|gf\b|rgp\b"
    r"|(?:din|en|iso|bs|ansi)\s?\d[\d-]{2,9}(?::\d{4})?\b"
    r"|d\.?\s?r\.?\s?g\.?\s?m\b\.?|d\.?r\.?p\b\.?(?:a\.?)?|b\.?s\.?g\.?d\.?g\b\.?"
    r"|(?:brevete|breveté|depose|déposé)(?:\s?s\.?\s?g\.?\s?d\.?\s?g\b\.?)?"
    r"|(?:u\.?\s?s\.?\s?)?pat(?:ent)?s?\.?\s?(?:no\.?|nr\.?|number|pend(?:ing|\.)?|appl?(?:ied)?(?: for)?\.?|d\.?|n°)?\s?"
    r"(?:[a-z]?\d[\d.,/]{1,12}\d)?(?=\W|$)"
    r"|(?:made|hand made|frame|frames) in (?:[a-z.]+(?: germany| zone germany| japan| kong| states| republic| britain)?)"
    r"|(?:made|frame|foreign|fabrique|hecho|fatto|prodotto|hergestellt) (?:en|in) [a-z]+"
    r"|sterling(?: silver)?\b|rolled gold\b|gold filled\b|plaque or\b|swiss made\b"
    r")"
)


@dataclass(frozen=True, slots=True)
class _Mark:
    """A mark found in words [first, last), its literal at characters [start, end)."""

    text: str
    start: int
    end: int
    first: int
    last: int
    claimed: Claimed
    place: str | None


class _Finder:
    """Reads the marks of one text; keeps the cue tables it needs."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.words = reading.words
        self.at = {
            name: {hit.first: hit for hit in reading.found(f"markings.{name}")}
            for name in (
                [
                    "verb",
                    "say",
                    "noun",
                    "sign",
                    "general",
                    "nothing",
                    "place",
                    "adj",
                    "prep",
                    "article",
                    "lead",
                    "stop",
                    "object",
                ]
            )
        }
        self.forms = self._forms()

    def _forms(self) -> dict[int, tuple[int, int]]:
        """Map the first word of each mark known by its form to its characters."""
        found = {}
        starts = {start: number for number, start in enumerate(self.reading.starts)}
        for match in _FORMS.finditer(self.reading.plain):
            text = match.group().rstrip(" .,")
            if match.start() in starts and text not in ("pat", "patent", "patents", "us pat"):
                found[starts[match.start()]] = (match.start(), match.start() + len(text))
        return found

    def _word_at(self, end: int, first: int) -> int:
        """Give the number after the last word that starts before a character."""
        number = first
        while number < len(self.words) and self.reading.starts[number] < end:
            number += 1
        return number

    # --- where -------------------------------------------------------------------------------

    def place_at(self, number: int, high: int) -> tuple[int, int] | None:
        """Read a place phrase (article, adjectives, noun) that begins at a word."""
        begin = number
        seen_place = None
        while number < high:
            hit = self.at["place"].get(number)
            other = self.at["adj"].get(number) or self.at["article"].get(number)
            if hit and (not other or hit.last >= other.last):
                seen_place = hit.last
                number = hit.last
            elif other and seen_place is None:
                number = other.last
            elif self.at["adj"].get(number):
                number = self.at["adj"][number].last
                seen_place = number
            elif self.words[number] in ("of", "de", "d", "der", "des", "del", "della", "du", "l"):
                number += 1
            else:
                break
        return (begin, seen_place) if seen_place else None

    def place_after(self, number: int, high: int) -> tuple[int, int] | None:
        """Find the first "on the bridge" behind a word, within the sentence."""
        limit = min(high, number + 10)
        while number < limit:
            prep = self.at["prep"].get(number)
            if prep:
                found = self.place_at(prep.last, high)
                if found:
                    has_article = found[0] in self.at["article"]
                    return (
                        found if has_article or self.words[number] == "on" else (number, found[1])
                    )
                if prep.first in self.at["place"] or prep.first in self.at["adj"]:
                    inner = self.place_at(number, high)
                    if inner:
                        return inner
            elif number in self.at["place"]:
                return self.place_at(number, high)
            number += 1
        return None

    def place_before(self, number: int, low: int) -> tuple[int, int] | None:
        """Find the last place phrase before a word, within the sentence."""
        best = None
        for begin in range(low, number):
            if begin in self.at["place"]:
                start = begin
                while start > low and (start - 1) in {
                    **self.at["adj"],
                    **self.at["article"],
                }:
                    start -= 1
                found = self.place_at(start, number)
                if found and (best is None or found[1] > best[1]):
                    best = found
        return best

    def place_of(self, first: int, last: int) -> str | None:
        """Give the wording of the place nearest to a mark, if its sentence names one."""
        low, high = self.reading.sentence_at(first)
        found = self.place_after(last, high) or self.place_before(first, low)
        return self.reading.slice(*found) if found else None

    # --- the literal -------------------------------------------------------------------------

    def literal_at(self, number: int, high: int) -> tuple[int, int, int] | None:
        """Read a literal that begins at a word: its characters and the word after it."""
        plain, text = self.reading.plain, self.reading.text
        if number >= high:
            return None
        start = self.reading.starts[number]
        before = plain[max(0, start - 1) : start]
        if before in "\"'" and before:
            close = plain.find(before, start, start + 80)
            if close > start:
                return start, close, self._word_at(close, number)
        if number in self.forms:
            begin, end = self.forms[number]
            after = self._word_at(end, number)
            more = self._tail(after, high)
            return (begin, self.reading.ends[more - 1] if more > after else end, max(more, after))
        last = self._run(number, high)
        if last == number:
            return None
        end = self.reading.ends[last - 1]
        return start, end, last if text[start:end].strip() else number

    def _tail(self, number: int, high: int) -> int:
        """Go on behind a known form while capitals follow ("14K HALDRUME")."""
        shouting = self.reading.text[: self.reading.ends[-1]].isupper()
        while (
            number < high
            and not shouting
            and self.reading.starts[number] - self.reading.ends[number - 1] == 1
            and self.reading.text[self.reading.starts[number] : self.reading.ends[number]].isupper()
            and number not in self.at["stop"]
        ):
            number += 1
        return number

    def _run(self, number: int, high: int) -> int:
        """Give the word after a run that looks like a literal."""
        reading, begin = self.reading, number
        raw = reading.text[reading.starts[number] : reading.ends[number]]
        capital = raw[0].isupper() or raw[0].isdigit()
        while number < min(high, begin + 8):
            word = self.words[number]
            raw = reading.text[reading.starts[number] : reading.ends[number]]
            glued = number > begin and reading.starts[number] == reading.ends[number - 1]
            if word[0] in "\n!?;:|()•·…" or (word in ".," and not self._inner_dot(number)):
                break
            if number > begin and not glued and plain_break(reading, number):
                break
            if number in self.at["stop"] and not (raw[0].isupper() and capital and number == begin):
                if not (word in ("in", "en") and self.words[number - 1] in _MADE):
                    break
            if number > begin and capital and not (raw[0].isupper() or raw[0].isdigit() or glued):
                if word not in _INNER and raw[0] not in "&/+.-,":
                    break
            if number > begin and not capital and number - begin >= 4:
                break
            number += 1
        while number > begin and self.words[number - 1] in (*_INNER, ".", ",", "/", "-", "&"):
            number -= 1
        return number

    def _inner_dot(self, number: int) -> bool:
        """Tell whether a full stop or comma lies inside a literal ("PAT. 1927", "2,345")."""
        after = self.reading.plain[self.reading.ends[number] : self.reading.ends[number] + 1]
        if after and not after.isspace():
            return True
        before = self.words[number - 1] if number else ""
        return self.words[number] == "." and before in ("pat", "no", "nr", "u", "s", "reg", "st")

    # --- the sentence ------------------------------------------------------------------------

    def read(self) -> list[_Mark]:
        """Read all marks."""
        marks: list[_Mark] = []
        for low, high in self.reading.sentences:
            if high > low:
                marks.extend(self._read_sentence(low, high))
        return marks

    def _read_sentence(self, low: int, high: int) -> list[_Mark]:
        marks = self._absences(low, high)
        for number in range(low, high):
            hit = self.at["verb"].get(number) or self.at["say"].get(number)
            if hit and not any(m.first <= number < m.last for m in marks):
                marks.extend(self._from_verb(hit, low, high, marks))
            noun = self.at["noun"].get(number)
            if noun and not any(m.first <= number < m.last for m in marks):
                marks.extend(self._from_noun(noun, low, high, marks))
            if number in self.forms and not any(m.first <= number < m.last for m in marks):
                marks.extend(self._from_form(number, low, high))
        if not marks:
            marks.extend(self._from_colon(low, high))
        return marks

    def _absences(self, low: int, high: int) -> list[_Mark]:
        found = []
        for number in range(low, high):
            hit = self.at["general"].get(number)
            if hit and not self._literal_follows(hit.last, high):
                found.append(self._general(hit.first, hit.last))
                continue
            hit = self.at["nothing"].get(number)
            if hit and (self.place_after(hit.last, high) or self._writes(low, high)):
                found.append(self._general(hit.first, hit.last))
        return found

    def _writes(self, low: int, high: int) -> bool:
        return any(n in self.at["verb"] or n in self.at["noun"] for n in range(low, high))

    def _literal_follows(self, number: int, high: int) -> bool:
        """Tell whether a literal stands right behind "not marked"."""
        while number < high and number in self.at["lead"]:
            number = self.at["lead"][number].last
        if number >= high:
            return False
        raw = self.reading.text[self.reading.starts[number]]
        return (
            number in self.forms
            or (self.reading.plain[self.reading.starts[number] - 1] in "\"'")
            or (raw.isdigit())
        )

    def _general(self, first: int, last: int) -> _Mark:
        start, end = self.reading.starts[first], self.reading.ends[last - 1]
        return _Mark(GENERAL, start, end, first, last, "absent", self.place_of(first, last))

    def _make(self, start: int, end: int, first: int, last: int, cue: int) -> _Mark:
        claimed = self._claim(min(first, cue), max(last, cue + 1))
        text = self.reading.text[start:end].strip(" \"'.,:;“”„«»‘’")
        return _Mark(text, start, end, first, last, claimed, self.place_of(first, last))

    def _claim(self, first: int, last: int) -> Claimed:
        if is_doubted(self.reading, first, last):
            return "unsure"
        return "absent" if is_negated(self.reading, first, last, 6) else "present"

    def _skip_leads(self, number: int, high: int) -> int:
        while number < high and (
            number in self.at["lead"] or (self.words[number] in (":", ",") and number + 1 < high)
        ):
            if self.reading.plain[self.reading.starts[number] - 1] in "\"'":
                break
            number = self.at["lead"][number].last if number in self.at["lead"] else number + 1
        return number

    def _from_verb(self, hit: Hit, low: int, high: int, marks: list[_Mark]) -> list[_Mark]:
        number = self._skip_leads(hit.last, high)
        sign = self.at["sign"].get(number)
        noun = self.at["noun"].get(number)
        if sign or (noun and noun.value == "own"):
            named = sign or noun
            assert named is not None
            literal = self._after_noun(named, high)
            if literal:
                start, end, last = literal
                return [self._make(start, end, named.first, last, hit.first)]
            return [self._make(named.start, named.end, named.first, named.last, hit.first)]
        place = self.at["prep"].get(number) or (noun and noun.value == "any")
        literal = None if place else self.literal_at(number, high)
        if literal and literal[1] > literal[0]:
            start, end, last = literal
            return [self._make(start, end, number, last, hit.first)]
        if hit.name == "markings.verb":
            return self._before_verb(hit, low)
        return []

    def _before_verb(self, hit: Hit, low: int) -> list[_Mark]:
        """Read "750 is stamped on the clasp", "crown engraved inside"."""
        for number in range(max(low, hit.first - 5), hit.first):
            if number in self.forms:
                start, end = self.forms[number]
                return [self._make(start, end, number, self._word_at(end, number), hit.first)]
            sign = self.at["sign"].get(number)
            noun = self.at["noun"].get(number)
            if sign or (noun and noun.value == "own"):
                named = sign or noun
                assert named is not None
                return [self._make(named.start, named.end, named.first, named.last, hit.first)]
        return []

    def _after_noun(self, noun: Hit, high: int) -> tuple[int, int, int] | None:
        """Read the literal behind a noun: "serial number 77120", "hallmark: 750"."""
        number = noun.last
        while number < high and self.words[number] in (":", "is", "no", ".", "nr", "-", "="):
            number += 1
        if number >= high or number in self.at["stop"]:
            return None
        raw = self.reading.text[self.reading.starts[number]]
        quoted = self.reading.plain[self.reading.starts[number] - 1] in "\"'"
        return self.literal_at(number, high) if raw.isdigit() or raw.isupper() or quoted else None

    def _from_noun(self, noun: Hit, low: int, high: int, marks: list[_Mark]) -> list[_Mark]:
        claimed = self._claim(noun.first, noun.last)
        literal = self._beside_noun(noun, low, high)
        if literal:
            start, end, last = literal
            first = min(noun.first, self._word_at(start, low) - 0)
            return [self._make(start, end, first, max(last, noun.last), noun.first)]
        if claimed == "absent" and noun.value == "any":
            return [self._general(noun.first, noun.last)]
        if noun.value == "any" and claimed == "present":
            return []
        if noun.value == "own" and (claimed != "present" or self.place_of(noun.first, noun.last)):
            return [self._make(noun.start, noun.end, noun.first, noun.last, noun.first)]
        return []

    def _beside_noun(self, noun: Hit, low: int, high: int) -> tuple[int, int, int] | None:
        """Read a literal beside a noun: "CE logo", "a worn X inscription", "stamp: X"."""
        before = noun.first - 1
        if before >= low:
            for number in range(max(low, noun.first - 3), noun.first):
                if (
                    number in self.forms
                    and self._word_at(self.forms[number][1], number) == noun.first
                ):
                    start, end = self.forms[number]
                    return start, end, noun.last
            raw = self.reading.text[self.reading.starts[before] : self.reading.ends[before]]
            if raw[0].isupper() and before not in self.at["stop"] and before > low:
                return self.reading.starts[before], self.reading.ends[before], noun.last
            if self.reading.plain[self.reading.ends[before] :][:1] in "\"'" and before > low:
                quote = self.reading.plain.rfind(
                    self.reading.plain[self.reading.ends[before]],
                    max(0, self.reading.ends[before] - 80),
                    self.reading.ends[before],
                )
                if quote >= 0:
                    return quote + 1, self.reading.ends[before], noun.last
        number = noun.last
        place = self.place_after(number, high) if number < high else None
        if place and place[0] - number <= 2 and place[1] < high and self.words[place[1]] == ":":
            return self.literal_at(place[1] + 1, high)
        return self._after_noun(noun, high)

    def _from_form(self, number: int, low: int, high: int) -> list[_Mark]:
        start, end = self.forms[number]
        last = self._word_at(end, number)
        asked = last < high + 1 and last < len(self.words) and self.words[last] in ("?", ":")
        near = self.place_after(last, min(high, last + 5))
        claimed = self._claim(number, last)
        if asked and claimed == "absent":
            return [self._make(start, end, number, last, number)]
        if (near and near[0] - last <= 3) or claimed == "absent":
            return [self._make(start, end, number, last, number)]
        return []

    def _from_colon(self, low: int, high: int) -> list[_Mark]:
        """Read "Inner right arm: HALDRUME"."""
        for number in range(low, min(high - 1, low + 10)):
            if self.words[number] != ":" and self.words[number] != "-":
                continue
            place = self.place_before(number, low)
            raw = self.reading.text[self.reading.starts[number + 1] : self.reading.ends[number + 1]]
            if place and place[1] >= number - 1 and (raw.isupper() or number + 1 in self.forms):
                literal = self.literal_at(number + 1, high)
                if literal:
                    start, end, last = literal
                    mark = self._make(start, end, number + 1, last, number)
                    return [mark]
        return []


_MADE = frozenset(
    [
        "made",
        "frame",
        "frames",
        "fabrique",
        "fabriquee",
        "hecho",
        "fatto",
        "prodotto",
        "hergestellt",
    ]
)
_INNER = frozenset(["de", "of", "du", "der", "des", "di", "del", "in", "en", "le", "la"])


def plain_break(reading: Reading, number: int) -> bool:
    """Tell whether a spaced dash stands before a word."""
    return " - " in reading.plain[reading.ends[number - 1] : reading.starts[number] + 1]


def _object_of(reading: Reading, mark: _Mark) -> str:
    """Say what the mark is written on: the item unless its sentence names something else."""
    low, high = reading.sentence_at(mark.first)
    for hit in reading.found("markings.object"):
        if low <= hit.first < high and abs(hit.first - mark.first) <= 6:
            return hit.value
    return "item"


def find_markings(reading: Reading) -> tuple[Marking, ...]:
    """Find what is said to be written on things, in the order of the text."""
    marks = _Finder(reading).read()
    return tuple(
        Marking(
            mark.text,
            mark.place,
            mark.claimed,
            _object_of(reading, mark),
            (reading.span(mark.start, mark.end),),
        )
        for mark in sorted(marks, key=lambda mark: mark.start)
        if mark.text
    )
