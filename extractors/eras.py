"""When the piece was made, as the seller says: years, decades, parts of decades, named periods.

Left out: years of purchase, receipts, shops and models, years that a reissue copies, and styles.
"""

from __future__ import annotations

from collections.abc import Mapping

from extractors.era_centuries import century_claims, narrow_century, share_before
from extractors.era_leads import leads_to, look_beside
from extractors.era_scope import is_alone, is_named, is_of_else
from extractors.era_years import AND, Claim, find_claims
from extractors.lexicon import small_words
from extractors.reading import Hit, Reading
from extractors.records import Era

_PARTS = {"early": (0, 3), "mid": (4, 6), "late": (7, 9), "first": (0, 4), "second": (5, 9)}
_TO = small_words("range")
_SPAN = small_words("span")
_ARTICLES = small_words("definite")
_WIDEST = 40  # years that "late 50s to early 60s" may span


def _narrow(reading: Reading, claim: Claim) -> Claim:
    """Narrow a decade by "early", "mid" or "late" before it; "early to mid" joins both."""
    if claim.to_year - claim.from_year == 99:
        return narrow_century(reading, claim)
    if claim.to_year - claim.from_year != 9 or claim.from_year % 10:
        return claim
    leads = leads_to(reading, claim.core)
    share = share_before(reading, leads) if "share" in leads else None
    if share:
        which, parts, number = share
        begin, end = 10 * (which - 1) // parts, 10 * which // parts - 1
        return _narrowed(reading, claim, number, (begin, end))
    part = _part_before(reading, claim.core)
    if part is None:
        return _narrow_behind(reading, claim)
    low, high = _PARTS[part[0]]
    number = part[1].first
    wider = _part_before(reading, _over_joint(reading, number))
    if wider and wider[1].last >= number - 1:
        low, number = _PARTS[wider[0]][0], wider[1].first
    return _narrowed(reading, claim, number, (low, high))


def _narrowed(reading: Reading, claim: Claim, number: int, years: tuple[int, int]) -> Claim:
    """Give the part of a decade that words from `number` on name, by its first and last year."""
    number = min(number, claim.first)
    return claim._replace(
        start=reading.starts[number] if number < claim.first else claim.start,
        from_year=claim.from_year + years[0],
        to_year=claim.from_year + years[1],
        first=number,
    )


def _narrow_behind(reading: Reading, claim: Claim) -> Claim:
    """Narrow a decade by a part behind it that a comma or bracket sets off ("1960s, early")."""
    words, number = reading.words, claim.last + 1
    if number >= len(words) or words[number - 1] not in (",", "("):
        return claim
    for name in _BEHIND:
        last, _ = reading.table(f"eras.{name}").get(number, (0, ""))
        if last == len(words) or (last and words[last] in _ENDS):
            low, high = _PARTS[name]
            end = reading.ends[last - 1]
            return claim._replace(
                end=end, last=last, from_year=claim.from_year + low, to_year=claim.from_year + high
            )
    return claim


_BEHIND = ("early", "mid", "late")
_ENDS = frozenset(".,;)!\n|")


def _part_before(reading: Reading, number: int) -> tuple[str, Hit] | None:
    """Find "early", "mid" or "late" right before a word."""
    leads = leads_to(reading, number)
    found = [(name, leads[name]) for name in _PARTS if name in leads] if leads else ()
    return min(found, key=_first_word) if found else None


def _first_word(part: tuple[str, Hit]) -> int:
    return part[1].first


def _over_joint(reading: Reading, number: int) -> int:
    """Step over the "to" of "early to mid"."""
    return number - 1 if number and reading.words[number - 1] in _TO else number


def _join(reading: Reading, claims: list[Claim]) -> list[Claim]:
    """Make one claim of "late 50s to early 60s"."""
    joined: list[Claim] = []
    for claim in claims:
        last = joined[-1] if joined else None
        if last and _is_span(reading, last, claim):
            joined[-1] = last._replace(end=claim.end, to_year=claim.to_year, last=claim.last)
        else:
            joined.append(claim)
    return joined


def _is_span(reading: Reading, last: Claim, claim: Claim) -> bool:
    """Tell whether only "to the" stands between two claims, the later one behind."""
    if not last.from_year < claim.to_year <= last.from_year + _WIDEST:
        return False
    between = reading.words[last.last : claim.first]
    first = next((word for word in between if word not in _ARTICLES), None)
    if first is None:
        return reading.plain[last.end : claim.start].strip() == "-"
    if not _BETWEEN.issuperset(between):
        return False
    return first in _SPAN or (first in AND and _is_between(reading, last.first))


def _is_between(reading: Reading, number: int) -> bool:
    """Tell whether "between" leads to years ("between the late 50s and the mid 60s")."""
    before = reading.words[max(0, number - 4) : number]
    return not _TWIXT.isdisjoint(before)


_TWIXT = frozenset(("between", "zwischen", "entre", "tra", "fra"))


_BETWEEN = _ARTICLES | _SPAN | AND | small_words("decade_lead") | {"den", "der", "dem"}


def _as_era(reading: Reading, claim: Claim) -> Era:
    """Apply "circa", "before" and "after" to a claim."""
    span = reading.span(claim.start, claim.end)
    leads = leads_to(reading, claim.core)
    if claim.first < claim.core or claim.start < reading.starts[claim.core]:
        leads = {**leads, **leads_to(reading, claim.first)}  # "ab Mitte der 50er"
    loose = _is_loose(reading, claim, leads)
    if _has(reading, "onward", claim, leads):
        return Era(claim.from_year, None, loose, (span,))
    if _has(reading, "upto", claim, leads):
        return Era(None, claim.to_year, loose, (span,))
    if "before" in leads and reading.words[claim.core - 1] != "in":  # "burned before in 1999"
        return Era(None, claim.from_year - 1, loose, (span,))
    if "after" in leads:
        return Era(claim.to_year + 1, None, loose, (span,))
    return Era(claim.from_year, claim.to_year, loose, (span,))


def _has(reading: Reading, name: str, claim: Claim, leads: Mapping[str, Hit]) -> bool:
    """Tell whether a bound stands before the years ("from") or behind ("onwards")."""
    behind = f"eras.{name}_behind"
    if behind in reading.cues and _is_behind(reading, behind, claim.last):
        return True
    if name not in leads:
        return False
    years = claim.to_year - claim.from_year
    is_part = years < 5 and not reading.words[claim.first][0].isdigit()
    return years in (0, 9) or is_part


def _is_behind(reading: Reading, name: str, number: int) -> bool:
    """Tell whether a cue begins at a word; one of value last has to end its clause."""
    last, value = reading.table(name).get(number, (0, ""))
    if value != "last" or not last:
        return bool(last)
    return last == len(reading.words) or reading.words[last] in _ENDS


def _is_loose(reading: Reading, claim: Claim, leads: Mapping[str, Hit]) -> bool:
    """Tell whether the years are approximate: a word before or behind, a tilde, a bracket."""
    if claim.is_approximate or "approx" in leads:
        return True
    if reading.plain[max(0, claim.start - 2) : claim.start].strip() in ("~", "≈", "±"):
        return True
    if "eras.approx" not in reading.cues:
        return False
    table, words, number = reading.table("eras.approx"), reading.words, claim.last
    last, value = table.get(number, (0, ""))
    if last and (value != "lead" or last == len(words) or words[last] in _ENDS):
        return True
    if number >= len(words) or words[number] not in (",", "("):
        return False
    last, _ = table.get(number + 1, (0, ""))
    return last == len(words) or bool(last and words[last] in _ENDS)


def _is_told_nearer(reading: Reading, claim: Claim, claims: list[Claim]) -> bool:
    """Tell whether years within those of a century follow in the sentence ("début XXe, vers 1905").

    A century is then no claim of its own.
    """
    if claim.to_year - claim.from_year < _OF_CENTURY or claim.to_year % 10:
        return False
    _, high = reading.sentence_at(claim.first)
    return any(
        claim.last <= other.first < high
        and claim.from_year <= other.from_year
        and other.to_year <= claim.to_year
        for other in claims
    )


_OF_CENTURY = 20  # years of the shortest part of a century


def find_eras(reading: Reading) -> tuple[Era, ...]:
    """Find when the piece is said to be made; each mention once, in the order of the text."""
    found = find_claims(reading, century_claims(reading))
    if not found:
        return ()
    look_beside(reading, [claim.first for claim in found])
    claims = _join(reading, [_narrow(reading, claim) for claim in found])
    if "eras.century" in reading.cues:
        claims = [claim for claim in claims if not _is_told_nearer(reading, claim, claims)]
    kept = [claim for claim in claims if not is_of_else(reading, claim)]
    if 0 < len(kept) < len(claims):
        kept = _without_names(reading, claims, kept)
    return tuple(_as_era(reading, claim) for claim in kept)


def _without_names(reading: Reading, claims: list[Claim], kept: list[Claim]) -> list[Claim]:
    """Leave out bare years that are called a name or number elsewhere in the text."""
    others = (claim for claim in claims if claim not in kept)
    names = {claim.from_year for claim in others if is_named(reading, claim)}
    if not names:
        return kept
    return [c for c in kept if c.from_year not in names or not is_alone(reading, c)]
