"""Find the stretches of a text that name years: in figures or words, decades, periods.

Whether they date the piece is left to extractors.era_scope.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import compress
from typing import NamedTuple

from extractors.lexicon import small_words
from extractors.reading import MOST, Reading

_YEAR = r"(?:1[6-9]\d\d|20[0-3]\d)"
_JOIN = (
    r"(?:\s?-\s?|\s?/\s?|\s(?:to|bis|a|al|ad|au|and|und|et|e|ed|y|hasta|fino al|through|till|until"
    r"|thru)\s)"
)
_YEARS = re.compile(
    rf"(?<![,/#€$£+*])(?<!\d[.-])(?P<first>{_YEAR})"
    rf"(?:{_JOIN}(?:the\s|el\s|il\s|dem\s)?(?P<second>{_YEAR}|\d\d(?![\d'’]|\s?(?:mm|cm)|[sx]\b)))?"
    r"(?P<ish>\s?-?ish\b)?"
    r"(?![\w]|[.,]\d|-\d|/\d|\s?(?:mm|cm|m|€|\$|£|eur|euros?|usd|gbp|kg|g|gr|x|n)\b|\s?[€$£]"
    r"|['’]?s\b|\s?-?(?:ig)?er\b)"
)
_DECADES = re.compile(
    r"(?<![,/#€$£+*])(?<!\d[.-])(?P<first>1[6-9]\d0|20[0-2]0|[1-9]0)"
    r"(?P<mark>['’]?s\b|\s?-?(?:ig)?ern?\b|ies\b)?"
    rf"(?:{_JOIN}(?:the\s|los\s|los anos\s|annees\s|anni\s)?['’]?"
    r"(?P<second>1[6-9]\d0|20[0-2]0|[1-9]0)(?P<mark2>['’]?s\b|\s?-?(?:ig)?ern?\b|ies\b)?)?(?P<ish>\s?-?ish\b)?"
    r"(?![\w]|[.,]\d|['’]\d|\s?(?:mm|cm|%|€|\$|£|eur|euros?|g|kg|x)\b|\s?[€$£%])"
)
_GLUED = re.compile(r"c(?<![^\W_].)[ca]*(?=\d+s?(?![^\W_]))")  # before figures: "ca1950"
# "years 80": translated word by word; not "2 years 80 euros"
_LED = re.compile(
    r"(?:\b(?:annees|anni|anos|los|decada de(?: los)?|decennie|decennio|decenio(?: de)?"
    r"|(?<!\d\s)years)|\bjahre?n?\sdie)\s['’]?$"
    r"|\b(?:fine|inizio|inizi|primi|meta|late|early|mid|ende|anfang|mitte|debut|fin)\s['’]$"
    r"|\b(?:los (?:primeros|ultimos)|(?:principios|finales|mediados|inicios|comienzos) de)\s['’]?$"
)
_SHORT = re.compile(
    r"(?:\b(?:bj|baujahr|jahrgang|from|circa|year|made in|made)\.?:?\s)['’]?"
    r"(?P<first>[2-9]\d)\b(?![\d'’]|s\b|[.,]\d|\s?(?:mm|cm|x\s?\d|by\s\d|in\b|inch|zoll|to\s\d|-\s?\d|bis\s\d))"
)
# years of two figures: an apostrophe or an article tells them from sizes
_BETWEEN = re.compile(
    r"\b(?:between|zwischen|entre|tra|fra|from|de|von|dal|del|desde)\s(?:(?:el|il|l)\s?['’]?|['’])"
    r"(?P<first>[2-9]\d)\s(?:and|und|et|e|y|to|bis|a|al|au|hasta)(?:\sel|\sil)?\s(?:l)?['’]?"
    r"(?P<second>[2-9]\d)(?![\w'’]|[.,]\d|\s?(?:mm|cm|x)\b)"
)
_APOSTROPHE = re.compile(
    r"(?:\b(?:del|nel|von|de|of|from|anno|a|in|the)\s|\b(?:l|nell|dell)|^|(?<=\n))['’]"
    r"(?P<first>[2-9]\d)"
    r"(?![\w'’\"]|[.,]\d|-\d|\s?(?:mm|cm|x|er|ern|s)\b)"
)


class Claim(NamedTuple):
    """A stretch that names years: characters [start, end), words [first, last)."""

    start: int
    end: int
    from_year: int
    to_year: int
    is_approximate: bool = False
    first: int = 0
    last: int = 0
    is_word: bool = False

    @property
    def core(self) -> int:
        """Give the word before which "early" or "circa" is looked for."""
        return self.last - 1 if self.is_word else self.first


def _full(digits: str) -> int:
    """Give the first year of a decade: 70 is 1970, 1970 is itself.

    >>> _full("70"), _full("1910"), _full("10")
    (1970, 1910, 1910)
    """
    number = int(digits)
    return number if number > 99 else 1900 + number


def _year_claims(plain: str, match: re.Match[str], is_loose: bool) -> Iterator[Claim]:
    first, second = int(match["first"]), match["second"]
    last = first
    if second:
        last = int(second) if len(second) == 4 else first // 100 * 100 + int(second)
    is_pair = second and _is_pair(plain, match)
    if first < last <= first + _LIFE and not is_pair:
        yield Claim(match.start("first"), match.end("second"), first, last, is_loose)
        return
    yield Claim(match.start("first"), match.end("first"), first, first, is_loose)
    if is_pair and len(second) == 4:
        yield Claim(match.start("second"), match.end("second"), last, last, is_loose)


_LIFE = 110  # years: what spans more is no one thing


def _is_pair(plain: str, match: re.Match[str]) -> bool:
    """Tell whether "and" joins two years of two pieces: no "between" stands before."""
    between = plain[match.end("first") : match.start("second")]
    if AND.isdisjoint(between.split()):
        return False
    return not _TWIXT.search(plain, max(0, match.start() - _TWIXT_REACH), match.start())


_TWIXT = re.compile(r"\b(?:between|zwischen|entre|tra|fra|compris)\b")
_TWIXT_REACH = 30


def _decade_claims(plain: str, match: re.Match[str], is_loose: bool) -> Iterator[Claim]:
    start, second = _full(match["first"]), match["second"]
    is_marked, is_pair = match["mark"] or match["mark2"], bool(second and "/" in match[0])
    if is_pair or not is_marked:
        is_led = _is_led(plain, match.start())
        if not (is_led or is_marked):
            return
        is_pair = is_pair and is_led
    end, stop = start, match.end("mark") if match["mark"] else match.end("first")
    if second:
        last = start // 100 * 100 + int(second) if len(second) == 2 else int(second)
        between = plain[stop : match.start("second")]
        if start < last <= start + 60 and not _is_apart(between, last - start):
            end, stop = last, match.end("mark2") if match["mark2"] else match.end("second")
    yield Claim(match.start("first"), stop, start, end + 9, is_loose)
    if second and end == start and (match["mark2"] is not None or is_pair):
        other = _full(second) if len(second) == 4 else start // 100 * 100 + int(second)
        behind = match.end("mark2") if match["mark2"] else match.end("second")
        yield Claim(match.start("second"), behind, other, other + 9, is_loose)


def _is_led(plain: str, place: int) -> bool:
    """Tell whether a word of decades leads to bare figures: "anni 50", "los primeros 70"."""
    begin = max(0, place - 20)
    if not plain[begin:place].rstrip(" '’").endswith(_LED_BY):
        return False  # as nearly always
    return _LED.search(plain, begin, place) is not None


_LED_BY = (
    *("annees", "anni", "anos", "los", "de", "decennie", "decennio", "decenio", "years", "die"),
    *("fine", "inizio", "inizi", "primi", "meta", "late", "early", "mid", "ende", "anfang"),
    *("mitte", "debut", "fin", "primeros", "ultimos"),
)


def _is_apart(between: str, years: int) -> bool:
    """Tell whether two decades are two claims: "60s/90s", and "60s and 90s" of two pieces."""
    return years > 10 and ("/" in between or not AND.isdisjoint(between.split()))


AND = frozenset(("and", "und", "et", "e", "ed", "y"))


@lru_cache(maxsize=5_000)
def _kind_of(word: str) -> int:
    """Say what a word that begins with a digit may be, as a sum; 0 is nothing that dates.

    >>> _kind_of("1958"), _kind_of("60er"), _kind_of("58"), _kind_of("315")
    (1, 2, 4, 0)
    """
    kind = _OF_TWO if len(word) == 2 and word[0] in "23456789" else 0
    if not _BEGUN.match(word):
        return kind
    if len(word) == 4 and word[3] != "0" and word.isdigit():
        return _SINGLE
    return kind if len(word) == 3 and word.isdigit() else kind | _ROUND


_BEGUN = re.compile(rf"{_YEAR}|[1-9]0")  # as both expressions do
_SINGLE, _ROUND, _OF_TWO = 1, 2, 4  # a year, what may be a decade as well, two figures


def _figure_claims(reading: Reading, figures: Iterable[tuple[int, int]]) -> list[Claim]:
    """Give the years and decades written in figures, of words each with its kind."""
    starts, text = reading.starts, reading.plain
    found: list[Claim] = []
    for number, kind in figures:
        if kind == _SINGLE:
            year = _YEARS.match(text, starts[number])
            if year:
                found += _year_claims(text, year, bool(year["ish"]))
        elif kind & _ROUND:
            found += _claims_at(text, starts[number], False)
    for match in _GLUED.finditer(text):
        found += _claims_at(text, match.end(), True)
    return found


def _claims_at(plain: str, start: int, is_glued: bool) -> list[Claim]:
    decade = _DECADES.match(plain, start)
    found = list(_decade_claims(plain, decade, is_glued or bool(decade["ish"]))) if decade else []
    year = _YEARS.match(plain, start) if plain[start + 2 : start + 3].isdigit() else None
    if year and (not found or (year["second"] and year["second"][-1] != "0")):
        found += _year_claims(plain, year, is_glued or bool(year["ish"]))
    return found


def _word_claims(reading: Reading) -> Iterator[Claim]:
    for hit in reading.found("eras.decade"):
        start = 1900 + 10 * int(hit.value)
        yield Claim(hit.start, hit.end, start, start + 9, is_word=True)
    for hit in reading.found("eras.period"):
        first, last = hit.value.split("-")
        yield Claim(hit.start, hit.end, int(first), int(last))
    yield from _tens(reading)


def _short_claims(reading: Reading, figures: list[int]) -> Iterator[Claim]:
    """Give the years written in two figures, where something dated leads to them."""
    words, starts, text = reading.words, reading.starts, reading.plain
    led = [n for n in figures if words[n - 1] in _BEFORE_TWO or text[starts[n] - 1] in "'’"]
    for number in led:
        place = starts[number]
        if words[number - 1] in _DATED and _word_before(words, number) in _DATED:
            yield from map(_short_claim, _led_at(_SHORT, text, place))
        if words[number - 1] in _MASCULINE or text[place - 1] in "'’":
            yield from map(_short_claim, _led_at(_APOSTROPHE, text, place))
            for match in _led_at(_BETWEEN, text, place):
                begin, end = 1900 + int(match["first"]), 1900 + int(match["second"])
                if begin < end:
                    yield Claim(place, match.end("second"), begin, end)


def _word_before(words: tuple[str, ...], number: int) -> str:
    """Give the word before a figure, over a full stop and a colon."""
    before = [word for word in words[max(0, number - 3) : number] if word not in ".:"]
    return before[-1] if before else ""


def _led_at(pattern: re.Pattern[str], text: str, place: int) -> Iterator[re.Match[str]]:
    """Find a two-figure year at a place, whatever leads to it being part of the match."""
    begin, end = max(0, place - _LEADS), place + _BEHIND
    return (match for match in pattern.finditer(text, begin, end) if match.start("first") == place)


def _short_claim(match: re.Match[str]) -> Claim:
    year = 1900 + int(match["first"])
    return Claim(match.start("first"), match.end("first"), year, year)


_LEADS, _BEHIND = 20, 40  # characters looked at before a two-figure year and behind
_DATED = frozenset(["bj", "baujahr", "jahrgang", "from", "circa", "year", "made", "in", ".", ":"])
_MASCULINE = frozenset(("el", "il", "l"))  # "entre el 62 y el 65"
_BEFORE_TWO = _DATED | _MASCULINE


def _tens(reading: Reading) -> Iterator[Claim]:
    """Find "anni dieci": the number word is a figure to the lists, so it is looked for here."""
    words = reading.words
    if not any(word in reading.plain for word in _TENS):
        return
    for number, word in enumerate(words):
        if word in _TENS and number and words[number - 1] in _DECADE_LEADS:
            yield Claim(reading.starts[number - 1], reading.ends[number], 1910, 1919, is_word=True)


_TENS, _DECADE_LEADS = small_words("decade_ten"), small_words("decade_lead")


def find_claims(reading: Reading, others: Iterable[Claim] = ()) -> list[Claim]:
    """Find all stretches that name years, in order; of overlapping ones the first and longest.

    `others` are those that were found elsewhere.
    """
    numbers = reading.figures()
    kinds = [*map(_kind_of, map(reading.words.__getitem__, numbers))]
    figures = [*compress(zip(numbers, kinds, strict=True), kinds)]
    found = _figure_claims(reading, figures)
    found += _word_claims(reading)
    found += _short_claims(reading, [number for number, kind in figures if kind & _OF_TWO])
    found += others
    if not found:
        return []
    kept: list[Claim] = []
    for claim in sorted(found, key=lambda claim: (claim.start, -claim.end)):
        if not kept or claim.start >= kept[-1].end:
            kept.append(claim)
    claims = [_with_words(reading, claim) for claim in kept[:MOST]]
    starts = {claim.start for claim in claims}
    decades = [claim for claim in claims if claim.to_year - claim.from_year == 9]
    further = [each for claim in decades for each in _further(reading, claim)]
    if not further:
        return claims
    return sorted([*claims, *(each for each in further if each.start not in starts)])


def _further(reading: Reading, claim: Claim) -> Iterator[Claim]:
    """Give the decade that only a number word adds ("anni sessanta o settanta")."""
    words, number = reading.words, claim.last
    if number >= len(words):
        return
    is_dash = words[number].isalpha() and reading.plain[claim.end : claim.end + 1] == "-"
    if words[number] in _JOINTS or is_dash:
        number += not is_dash
        if not is_dash:
            yield from _further_figure(reading, claim, number)
        last, value = reading.table("eras.decade_more").get(number, (0, ""))
        if last:
            start = 1900 + 10 * int(value)
            place = reading.starts[number], reading.ends[last - 1]
            yield Claim(*place, start, start + 9, first=number, last=last, is_word=True)


def _further_figure(reading: Reading, claim: Claim, number: int) -> Iterator[Claim]:
    """Give the decade that bare figures add ("années 70 ou 80", "... ou début 60")."""
    words = reading.words
    for name in _PART_NAMES:
        last, _ = reading.table(f"eras.{name}").get(number, (0, ""))
        number = max(number, last)
    while number < len(words) and words[number] in _ARTICLES:
        number += 1
    if number < len(words) and _BARE.match(reading.plain, reading.starts[number]):
        start = claim.from_year // 100 * 100 + int(words[number])
        place = reading.starts[number], reading.ends[number]
        if start > claim.from_year - 11:
            yield Claim(*place, start, start + 9, first=number, last=number + 1)


_JOINTS = small_words("decade_joint")
_ARTICLES = small_words("definite")
_PART_NAMES = ("early", "mid", "late")
_BARE = re.compile(
    r"[1-9]0(?![\w'’]|[.,]\d|\s?(?:mm|cm|%|€|\$|£|eur|euros?|x|er|ern|s)\b|\s?[€$£%])"
)


def _with_words(reading: Reading, claim: Claim) -> Claim:
    first = reading.word_at(claim.start)
    last = bisect_left(reading.starts, claim.end, first)
    return Claim(*claim[:5], first, last, claim.is_word)
