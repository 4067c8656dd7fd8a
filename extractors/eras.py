"""When the piece was made, as the seller says: years, decades, parts of decades, named periods.

Left out: years of purchase, receipts, shops and models, years that a reissue copies, and styles.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from extractors.reading import Hit, Reading
from extractors.records import Era

_NEAR = 5  # words looked at on either side
_YEAR = r"(?:1[6-9]\d\d|20[0-3]\d)"
_YEARS = re.compile(
    rf"(?<![\w.,/#€$£])(?P<first>{_YEAR})"
    rf"(?:(?:\s?-\s?|/|\s(?:to|bis|a|and|und|et|e|y|al|through|till|until)\s)"
    rf"(?P<second>{_YEAR}|\d\d(?![\d'’]|\s?(?:mm|cm)|[sx]\b)))?(?P<ish>\s?ish\b)?"
    r"(?![\w]|[.,]\d|\s?(?:mm|cm|€|\$|£|eur\b|euros?\b|usd|gbp|kg\b|g\b)|['’]?s\b|-?er\b)"
)
_DECADES = re.compile(
    r"(?<![\w.,/#])(?P<lead>annees|anni|anos|los anos|decada de(?: los)?|los|les|the|gli anni)?\s?"
    r"['’]?(?P<first>1[6-9]\d0|20[0-2]0|[1-9]0)(?P<mark>['’]?s\b|\s?-?er\b|ies\b)?"
    r"(?:(?:\s?[-/]\s?|\s(?:to|bis|a|and|und|et|e|y)\s(?:the\s|los\s)?)"
    r"['’]?(?P<second>1[6-9]\d0|20[0-2]0|[1-9]0)(?P<mark2>['’]?s\b|\s?-?er\b)?)?"
    r"(?![\w]|[.,]\d|\s?(?:mm|cm)\b)"
)
_APOSTROPHE = re.compile(r"(?<=[\s(])['’](\d\d)(?=[\s.,;)]|$)")
_LEADS = {"annees", "anni", "anos", "los anos", "decada de", "decada de los", "los", "gli anni"}
_PARTS = {"early": (0, 3), "mid": (4, 6), "late": (7, 9)}
_CLAUSE = frozenset(".;!?\n|(),:•·…")
_HARD = frozenset(".;!?\n|•·…")


@dataclass(frozen=True, slots=True)
class _Claim:
    """A stretch that names years, before its surroundings are looked at."""

    start: int
    end: int
    from_year: int | None
    to_year: int | None
    kind: str


def _full(digits: str) -> int:
    """Give the first year of a decade: 70 is 1970, 1970 is itself, 00 and 10 are of this century.

    >>> _full("70"), _full("1910"), _full("10")
    (1970, 1910, 1910)
    """
    number = int(digits)
    return number if number > 99 else 1900 + number


def _read_years(reading: Reading) -> list[_Claim]:
    claims = []
    for match in _YEARS.finditer(reading.plain):
        first, second = int(match["first"]), match["second"]
        last = first
        if second:
            last = int(second) if len(second) == 4 else first // 100 * 100 + int(second)
        if last < first or last - first > 60:
            continue
        kind = "range" if second else "year"
        claims.append(_Claim(match.start("first"), match.end(), first, last, kind))
    return claims


def _read_decades(reading: Reading) -> list[_Claim]:
    claims = []
    for match in _DECADES.finditer(reading.plain):
        lead, first, second = match["lead"] or "", match["first"], match["second"]
        marked = match["mark"] or match["mark2"] or lead in _LEADS
        if not marked or (lead in ("los", "les", "the") and not match["mark"] and lead != "los"):
            continue
        start = _full(first)
        end = start if second is None else _full(second)
        if second and len(second) == 2 and len(first) == 4:
            end = start // 100 * 100 + int(second)
        if start <= end <= start + 60:
            kind = "decade" if end == start else "decades"
            begin = match.start("lead") if lead in _LEADS else match.start("first")
            claims.append(_Claim(begin, match.end(), start, end + 9, kind))
    return claims


def _read_words(reading: Reading) -> list[_Claim]:
    claims = []
    for hit in reading.found("eras.decade"):
        start = 1900 + 10 * int(hit.value)
        claims.append(_Claim(hit.start, hit.end, start, start + 9, "decade"))
    for hit in reading.found("eras.period"):
        first, last = hit.value.split("-")
        claims.append(_Claim(hit.start, hit.end, int(first), int(last), "period"))
    return claims


def _ends_at(hits: tuple[Hit, ...], reading: Reading, start: int, gap: int = 2) -> Hit | None:
    """Find a cue that ends right before a place (at most `gap` characters between)."""
    for hit in hits:
        if 0 <= start - hit.end <= gap and "\n" not in reading.plain[hit.end : start]:
            return hit
    return None


def _starts_at(hits: tuple[Hit, ...], reading: Reading, end: int, gap: int = 2) -> Hit | None:
    for hit in hits:
        if 0 <= hit.start - end <= gap and "\n" not in reading.plain[end : hit.start]:
            return hit
    return None


def _take_part(reading: Reading, claim: _Claim) -> _Claim:
    """Narrow a decade by "early", "mid" or "late" before it ("early to mid" joins both)."""
    start, begin, end = claim.start, None, None
    for _ in range(2):
        for name, (low, high) in _PARTS.items():
            hit = _ends_at(reading.found(f"eras.{name}"), reading, start, 5)
            between = reading.plain[hit.end : start].strip(" -/") if hit else "x"
            if hit and between in ("", "to", "bis", "a", "der", "des", "the", "de"):
                begin = low
                end = high if end is None else end
                start = hit.start
                break
    if begin is None or end is None or claim.from_year is None:
        return claim
    return _Claim(start, claim.end, claim.from_year + begin, claim.from_year + end, claim.kind)


def _blocked(reading: Reading, claim: _Claim) -> bool:
    """Tell whether the words around make the year something else than that of the piece."""
    before = _ends_at(reading.found("eras.blocks_before"), reading, claim.start, 3)
    makes = _ends_at(reading.found("eras.makes"), reading, claim.start, 3)
    if before and not (makes and makes.start < before.start):
        return True
    return bool(_starts_at(reading.found("eras.blocks_after"), reading, claim.end, 2))


def _bound(reading: Reading, claim: _Claim) -> Era:
    """Apply "circa", "before" and "after" to a claim."""
    span = reading.span(claim.start, claim.end)
    approx = _ends_at(reading.found("eras.approx"), reading, claim.start, 6) or _starts_at(
        reading.found("eras.approx"), reading, claim.end, 1
    )
    tilde = reading.plain[max(0, claim.start - 2) : claim.start].strip() in ("~", "≈", "±")
    if _ends_at(reading.found("eras.before"), reading, claim.start, 2) and claim.from_year:
        return Era(None, claim.from_year - 1, bool(approx), (span,))
    if _ends_at(reading.found("eras.after"), reading, claim.start, 2) and claim.to_year:
        return Era(claim.to_year + 1, None, bool(approx), (span,))
    return Era(claim.from_year, claim.to_year, bool(approx) or tilde, (span,))


def find_eras(reading: Reading) -> tuple[Era, ...]:
    """Find when the piece is said to be made; each mention once, in the order of the text."""
    claims = [*_read_decades(reading), *_read_words(reading), *_read_years(reading)]
    kept: list[_Claim] = []
    for claim in sorted(claims, key=lambda claim: (claim.start, -claim.end)):
        if not kept or claim.start >= kept[-1].end:
            kept.append(claim)
    narrowed = [_take_part(reading, claim) for claim in kept]
    return tuple(_bound(reading, claim) for claim in narrowed if not _blocked(reading, claim))
