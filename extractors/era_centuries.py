"""Centuries and their parts: "last quarter of the 19th century", "2. Viertel 20. Jh."."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from extractors.era_leads import ends_at, leads_to
from extractors.era_years import Claim
from extractors.reading import Hit, Reading

_NUMBERED = {"17": 17, "18": 18, "19": 19, "20": 20, "xvii": 17, "xviii": 18, "xix": 19, "xx": 20}
_PARTS = {
    "early": (1, 30),
    "mid": (40, 60),
    "late": (70, 100),
    "first": (1, 50),
    "second": (51, 100),
}
_MID_CENTURY = 1945, 1965  # what is called the middle of the twentieth, as "mid-century"


def century_claims(reading: Reading) -> Iterator[Claim]:
    """Give the centuries that a text names, whole; `narrow` says of which part is spoken."""
    if "eras.century" not in reading.cues:
        return
    for hit in reading.found("eras.century"):
        first, number = hit.first, int(hit.value or 0)
        if not number:
            first -= 1 + (reading.words[first - 1 : first] == (".",))
            number = _NUMBERED.get(reading.words[first], 0) if first >= 0 else 0
        if number:
            last = 100 * number
            yield Claim(reading.starts[first], hit.end, last - 99, last)


def share_before(reading: Reading, leads: Mapping[str, Hit]) -> tuple[int, int, int] | None:
    """Give the part of a whole that leads to it: which, of how many, and its first word.

    "Last quarter" is (4, 4, ...), "2. Hälfte" (2, 2, ...); None if there is none.
    """
    share = leads.get("share")
    if share is None or not share.first:
        return None
    number, parts = share.first, int(share.value)
    ordinal = ends_at(reading, "ordinal", number)
    if ordinal:
        which = parts if ordinal.value == "L" else int(ordinal.value)
        return (which, parts, ordinal.first) if which <= parts else None
    number -= 1 + (reading.words[number - 1] == ".")
    word = reading.words[number] if number >= 0 else ""
    if len(word) == 1 and word.isdecimal() and 1 <= int(word) <= parts:
        return int(word), parts, number
    return None


def narrow_century(reading: Reading, claim: Claim) -> Claim:
    """Narrow a century to the part named before it."""
    leads = leads_to(reading, claim.first)
    share = share_before(reading, leads)
    if share:
        which, parts, first = share
        begin, end = 100 * (which - 1) // parts + 1, 100 * which // parts
    else:
        name = min((n for n in _PARTS if n in leads), key=lambda n: leads[n].first, default="")
        if not name:
            return claim
        begin, end = _PARTS[name]
        first = leads[name].first
        if name == "mid" and claim.to_year == 2000:
            begin, end = (year - 1900 for year in _MID_CENTURY)
    zero = claim.to_year - 100
    return claim._replace(
        start=reading.starts[first], from_year=zero + begin, to_year=zero + end, first=first
    )
