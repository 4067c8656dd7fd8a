"""When the piece was made, as the seller says: years, decades, parts of decades, named periods.

Left out: years of purchase, receipts, shops and models, years that a reissue copies, and styles.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from extractors.lexicon import small_words
from extractors.reading import MOST, Hit, Reading
from extractors.records import Era
from extractors.scope import answer_at, clause_at, negations_before

_YEAR = r"(?:1[6-9]\d\d|20[0-3]\d)"
_JOIN = r"(?:\s?-\s?|\s?/\s?|\s(?:to|bis|a|al|ad|and|und|et|e|y|through|till|until|thru)\s)"
_YEARS = re.compile(
    rf"(?<![,/#€$£+*])(?<!\d[.-])(?P<first>{_YEAR})"
    rf"(?:{_JOIN}(?:the\s|el\s|il\s|dem\s)?(?P<second>{_YEAR}|\d\d(?![\d'’]|\s?(?:mm|cm)|[sx]\b)))?"
    r"(?P<ish>\s?-?ish\b)?"
    r"(?![\w]|[.,]\d|-\d|/\d|\s?(?:mm|cm|m|€|\$|£|eur|euros?|usd|gbp|kg|g|gr|x|n)\b|\s?[€$£]"
    r"|['’]?s\b|\s?-?er\b)"
)
_DECADES = re.compile(
    r"(?<![,/#€$£+*])(?<!\d[.-])(?P<first>1[6-9]\d0|20[0-2]0|[1-9]0)"
    r"(?P<mark>['’]?s\b|\s?-?ern?\b|ies\b)?"
    rf"(?:{_JOIN}(?:the\s|los\s|los anos\s|annees\s|anni\s)?['’]?"
    r"(?P<second>1[6-9]\d0|20[0-2]0|[1-9]0)(?P<mark2>['’]?s\b|\s?-?ern?\b)?)?(?P<ish>\s?-?ish\b)?"
    r"(?![\w]|[.,]\d|['’]\d|\s?(?:mm|cm|%|€|\$|£|eur|euros?|g|kg|x)\b|\s?[€$£%])"
)
_GLUED = re.compile(r"c(?<![^\W_].)[ca]*(?=\d+(?![^\W_]))")  # before figures: "ca1950"
_CENTURIES = frozenset(("16", "17", "18", "19", "20"))
# "years 80": translated word by word; not "2 years 80 euros"
_LED = re.compile(
    r"(?:\b(?:annees|anni|anos|los|decada de(?: los)?|(?<!\d\s)years)|\bjahre?n?\sdie)\s['’]?$"
)
_SHORT = re.compile(
    r"(?:\b(?:bj|baujahr|jahrgang|from|circa|year|made in|made)\.?:?\s)['’]?"
    r"(?P<first>[2-9]\d)\b(?![\d'’]|s\b|[.,]\d|\s?(?:mm|cm|x\s?\d|by\s\d|in\b|inch|zoll))"
)
# years of two figures: an apostrophe or an article tells them from sizes
_BETWEEN = re.compile(
    r"\b(?:between|zwischen|entre|tra|fra|from|de|von|dal|del|desde)\s(?:(?:el|il|l)\s?['’]?|['’])"
    r"(?P<first>[2-9]\d)\s(?:and|und|et|e|y|to|bis|a|al|au|hasta)(?:\sel|\sil)?\s(?:l)?['’]?"
    r"(?P<second>[2-9]\d)(?![\w'’]|[.,]\d|\s?(?:mm|cm|x)\b)"
)
_LIKE_BETWEEN = re.compile(r"[l'’]\s?['’]?[2-9]\d\s")  # what each of them holds
_PARTS = {"early": (0, 3), "mid": (4, 6), "late": (7, 9)}
_NEAR = 7  # words before a year in which a purchase or a receipt claims it


class _Claim(NamedTuple):
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


def _year_claim(match: re.Match[str], is_loose: bool) -> _Claim:
    first, second = int(match["first"]), match["second"]
    last = first
    if second:
        last = int(second) if len(second) == 4 else first // 100 * 100 + int(second)
    if first < last <= first + 60:
        return _Claim(match.start("first"), match.end("second"), first, last, is_loose)
    return _Claim(match.start("first"), match.end("first"), first, first, is_loose)


def _decade_claims(plain: str, match: re.Match[str], is_loose: bool) -> Iterator[_Claim]:
    start, second = _full(match["first"]), match["second"]
    is_led = _LED.search(plain, max(0, match.start() - 16), match.start())
    if not (match["mark"] or match["mark2"] or is_led):
        return
    end, stop = start, match.end("mark") if match["mark"] else match.end("first")
    if second:
        last = start // 100 * 100 + int(second) if len(second) == 2 else int(second)
        if start < last <= start + 60 and "/" not in plain[stop : match.start("second")]:
            end, stop = last, match.end("mark2") if match["mark2"] else match.end("second")
    yield _Claim(match.start("first"), stop, start, end + 9, is_loose)
    if second and end == start and match["mark2"] is not None:
        other = _full(second)
        yield _Claim(match.start("second"), match.end("mark2"), other, other + 9, is_loose)


def _figure_claims(reading: Reading) -> Iterator[_Claim]:
    """Give the years and decades written in figures."""
    words, starts = reading.words, reading.starts
    for number in reading.figures():
        word = words[number]
        if len(word) > 1 and (word[:2] in _CENTURIES or word[1] == "0"):  # as both expressions
            yield from _claims_at(reading.plain, starts[number], False)
    for match in _GLUED.finditer(reading.plain):
        yield from _claims_at(reading.plain, match.end(), True)


def _claims_at(plain: str, start: int, is_glued: bool) -> Iterator[_Claim]:
    decade = _DECADES.match(plain, start)
    if decade:
        yield from _decade_claims(plain, decade, is_glued or bool(decade["ish"]))
    year = _YEARS.match(plain, start)
    if year:
        yield _year_claim(year, is_glued or bool(year["ish"]))


def _word_claims(reading: Reading) -> Iterator[_Claim]:
    for hit in reading.found("eras.decade"):
        start = 1900 + 10 * int(hit.value)
        yield _Claim(hit.start, hit.end, start, start + 9, is_word=True)
    for hit in reading.found("eras.period"):
        first, last = hit.value.split("-")
        yield _Claim(hit.start, hit.end, int(first), int(last))
    for match in _short_years(reading):
        year = 1900 + int(match["first"])
        yield _Claim(match.start("first"), match.end("first"), year, year)
    for match in _BETWEEN.finditer(reading.plain) if _LIKE_BETWEEN.search(reading.plain) else ():
        begin, end = 1900 + int(match["first"]), 1900 + int(match["second"])
        if begin < end:
            yield _Claim(match.start("first"), match.end("second"), begin, end)


def _short_years(reading: Reading) -> Iterator[re.Match[str]]:
    """Find two-figure years, looking only before figures that something dated may lead to."""
    words, starts = reading.words, reading.starts
    for number in reading.figures():
        if number and words[number - 1] in _DATED:
            begin, figure = starts[max(0, number - _LED_BY)], starts[number]
            for match in _SHORT.finditer(reading.plain, begin, figure + _BEHIND):
                if match.start("first") == figure:
                    yield match


_LED_BY, _BEHIND = 4, 40  # words before a two-figure year that tell it; characters looked at behind
_DATED = frozenset(["bj", "baujahr", "jahrgang", "from", "circa", "year", "made", "in", ".", ":"])


def _claims(reading: Reading) -> list[_Claim]:
    """Find all stretches that name years; of overlapping ones the first and longest."""
    found = [*_figure_claims(reading), *_word_claims(reading)]
    kept: list[_Claim] = []
    for claim in sorted(found, key=lambda claim: (claim.start, -claim.end)):
        if not kept or claim.start >= kept[-1].end:
            kept.append(claim)
    return [_with_words(reading, claim) for claim in kept[:MOST]]


def _with_words(reading: Reading, claim: _Claim) -> _Claim:
    first = reading.word_at(claim.start)
    last = first
    while last < len(reading.words) and reading.starts[last] < claim.end:
        last += 1
    return claim._replace(first=first, last=last)


def _by_end(reading: Reading, name: str) -> Mapping[int, Hit]:
    """Map the word after each cue of a class to the cue."""
    key = f"ends of eras.{name}"
    if key not in reading.memory:
        reading.memory[key] = {hit.last: hit for hit in reading.found(f"eras.{name}")}
    found: dict[int, Hit] = reading.memory[key]
    return found


def _before(reading: Reading, name: str, number: int) -> Hit | None:
    """Find a cue of a class that ends right before a word, linking words skipped."""
    low = reading.sentence_at(number)[0]
    hits = _by_end(reading, name)
    for _ in range(5):
        hit = hits.get(number)
        if hit and low <= hit.first < number:
            return hit
        previous = reading.words[number - 1] if number > low else ","
        if previous in (".", ":", "(", "-"):
            return hits.get(number - 1)
        if number <= low or not reading.end_at("eras.link", number - 1):
            return None
        number -= 1
    return None


def _narrow(reading: Reading, claim: _Claim) -> _Claim:
    """Narrow a decade by "early", "mid" or "late" before it; "early to mid" joins both."""
    if claim.to_year - claim.from_year != 9 or claim.from_year % 10:
        return claim
    part = _part_before(reading, claim.core)
    if part is None:
        return claim
    low, high = _PARTS[part[0]]
    number = part[1].first
    wider = _part_before(reading, _over_joint(reading, number))
    if wider and wider[1].last >= number - 1:
        low, number = _PARTS[wider[0]][0], wider[1].first
    number = min(number, claim.first)
    return claim._replace(
        start=reading.starts[number] if number < claim.first else claim.start,
        from_year=claim.from_year + low,
        to_year=claim.from_year + high,
        first=number,
    )


def _part_before(reading: Reading, number: int) -> tuple[str, Hit] | None:
    """Find "early", "mid" or "late" right before a word."""
    found = ((name, _before(reading, name, number)) for name in _PARTS)
    return next(((name, hit) for name, hit in found if hit), None)


def _over_joint(reading: Reading, number: int) -> int:
    """Step over the "to" of "early to mid"."""
    return number - 1 if number and reading.words[number - 1] in _TO else number


_TO = small_words("range")


def _join(reading: Reading, claims: list[_Claim]) -> list[_Claim]:
    """Make one claim of "late 50s to early 60s"."""
    joined: list[_Claim] = []
    for claim in claims:
        last = joined[-1] if joined else None
        between = reading.plain[last.end : claim.start].strip() if last else "x"
        if last and between in _RANGE and last.from_year < claim.to_year <= last.from_year + 40:
            joined[-1] = last._replace(end=claim.end, to_year=claim.to_year, last=claim.last)
        else:
            joined.append(claim)
    return joined


_RANGE = small_words("span")


def _is_blocked(reading: Reading, claim: _Claim) -> bool:
    """Tell whether the words around make the years something else than those of the piece."""
    block = _before(reading, "blocks_before", claim.first)
    if (
        block
        and not (_before(reading, "makes", claim.first) or _is_answer(reading, block.first))
        and not _is_thing(reading, claim, block)
    ):
        return True
    if claim.first > 1 and reading.words[claim.first - 1] == "/":
        return not reading.words[claim.first - 2][:2].isdigit()
    if any(
        hit.first == claim.last and not _is_thing(reading, claim, hit)
        for hit in reading.found("eras.blocks_after")
    ):
        return True
    if _is_copied(reading, claim) or _is_of_copy(reading, claim):
        return True
    if _is_denied(reading, claim) or _is_own_story(reading, claim):
        return True
    begin, _ = clause_at(reading, claim.first, claim.last)
    near = [
        hit
        for hit in reading.found("eras.blocks_near")
        if begin <= hit.first and hit.last <= claim.first <= hit.last + _reach_of(claim)
    ]
    makes = reading.found("eras.makes")
    return any(
        not any(
            hit.last <= make.first and make.last <= claim.first
            for make in makes
            if _is_strong(make, reading)
        )
        for hit in near
    )


def _is_thing(reading: Reading, claim: _Claim, block: Hit) -> bool:
    """Tell whether a decade is that of an article or model: "1990s model", no model's name."""
    is_decade = claim.to_year > claim.from_year
    return is_decade and reading.words[block.first] in _THINGS and block.last - block.first == 1


_THINGS = small_words("era_thing")


def _is_answer(reading: Reading, number: int) -> bool:
    """Tell whether "No" answers a question rather than standing for number."""
    return number > 0 and reading.words[number] == "no" and reading.words[number - 1] == "?"


def _reach_of(claim: _Claim) -> int:
    """Give how far "bought" reaches: a single year behind it is that of the purchase."""
    return 2 * _NEAR if claim.from_year == claim.to_year else _NEAR


def _is_copied(reading: Reading, claim: _Claim) -> bool:
    """Tell whether the year is the one that a reissue copies ("2015 reissue of the 1958 one")."""
    low, high = reading.sentence_at(claim.first)
    if not any(low <= hit.first < high for hit in reading.found("authenticity.reissue")):
        return False
    following = reading.words[claim.last] if claim.last < len(reading.words) else ""
    if following in _OF:
        return False  # "reissue of 2016 of the 1962 frame": the first is the reissue's own
    return following in _PATTERNS or (
        bool(_by_end(reading, "copied").get(claim.first))
        and any(low <= hit.first < claim.first for hit in reading.found("authenticity.reissue"))
    )


def _is_of_copy(reading: Reading, claim: _Claim) -> bool:
    """Tell whether the years are those of what is copied; "made in" says they are not."""
    low, high = reading.sentence_at(claim.first)
    copies = [hit for hit in reading.found("eras.copy") if low <= hit.first < high]
    if not any(not negations_before(reading, hit.first, 3) for hit in copies):
        return False
    make = _before(reading, "makes", claim.first)
    return make is None or not _is_strong(make, reading)


def _is_denied(reading: Reading, claim: _Claim) -> bool:
    """Tell whether the years are denied: "not 1962", "Mid-80s? No"."""
    if answer_at(reading, claim.last) in _NO:
        return True
    number = claim.first
    low = reading.sentence_at(number)[0]
    while number > low and (
        reading.end_at("eras.link", number - 1) or reading.words[number - 1] in _FROM
    ):
        number -= 1
    return any(hit.last == number for hit in reading.found("words.not"))


def _is_own_story(reading: Reading, claim: _Claim) -> bool:
    """Tell whether a late year belongs to what the seller did or met with."""
    if claim.from_year != claim.to_year or claim.from_year < _RECENT:
        return False
    begin, _ = clause_at(reading, claim.first, claim.last)
    if _MYSELF.isdisjoint(reading.words[begin : claim.first]):
        return False
    return not any(
        begin <= hit.first and hit.last <= claim.first and _is_strong(hit, reading)
        for hit in reading.found("eras.makes")
    )


_FROM = small_words("of") | {"from", "aus"}
_RECENT = 2000  # goods of the seller's own time are rarely sold as old ones
_MYSELF = small_words("myself")
_NO = small_words("denial")
_OF = small_words("of")
_PATTERNS = small_words("copied_thing")


def _is_strong(hit: Hit, reading: Reading) -> bool:
    """Tell whether a word surely speaks of making ("made", not "from")."""
    return hit.end - hit.start > 4


def _as_era(reading: Reading, claim: _Claim) -> Era:
    """Apply "circa", "before" and "after" to a claim."""
    span = reading.span(claim.start, claim.end)
    after = next((h for h in reading.found("eras.approx") if h.first == claim.last), None)
    tilde = reading.plain[max(0, claim.start - 2) : claim.start].strip() in ("~", "≈", "±")
    loose = claim.is_approximate or tilde or bool(_before(reading, "approx", claim.core) or after)
    ahead = _before(reading, "before", claim.core)
    if ahead and reading.words[claim.core - 1] != "in":  # "burned before in 1999"
        return Era(None, claim.from_year - 1, loose, (span,))
    if _before(reading, "after", claim.core):
        return Era(claim.to_year + 1, None, loose, (span,))
    return Era(claim.from_year, claim.to_year, loose, (span,))


def find_eras(reading: Reading) -> tuple[Era, ...]:
    """Find when the piece is said to be made; each mention once, in the order of the text."""
    claims = _join(reading, [_narrow(reading, claim) for claim in _claims(reading)])
    return tuple(_as_era(reading, claim) for claim in claims if not _is_blocked(reading, claim))
