"""The claimed era against the years in which the model was made.

Sellers date by guess: a near miss stays undecided, and what a listing says of a reissue or an
edition with its own years is heard first.
"""

from __future__ import annotations

from extractors.records import Era, Span
from models.checks.case import Case
from models.checks.markings import claimed_years, era_text, is_doubted_era, sheet_years
from models.records import Finding, Result, Strength

CHECK = "eras"
CODES = (
    (CHECK, "agrees", "soft"),
    (CHECK, "conflicts", "soft"),
    (CHECK, "undecided", "soft"),
    (CHECK, "undecided", "clue"),
    (CHECK, "not_stated", "soft"),
)

# years between claim and production that an honest guess may be out (own choice)
NEAR_MISS = 3
NEAR_MISS_APPROXIMATE = 7
TWO_ERAS = "two eras"  # the cause of findings on times that exclude each other


def check_eras(case: Case) -> tuple[Finding, ...]:
    """One finding on production_years, where the sheet has years."""
    years = sheet_years(case)
    if case.sheet is None or (years.first is None and years.last is None):
        return ()
    expected = era_text(years.first, years.last, False)
    guessed = [e for e in case.evidence.eras if is_doubted_era(case, e)]
    if not claimed_years(case) and guessed:
        return (_guessed(case, guessed, expected),)
    if not claimed_years(case):
        why = f"production years: no era is stated; the sheet has {expected}"
        return (
            Finding(
                CHECK,
                "production_years",
                "not_stated",
                "soft",
                why,
                expected=expected,
                source=case.sheet.source or None,
            ),
        )
    judged = [(_gap(era, years.first, years.last), era) for era in claimed_years(case)]
    gap, era = min(judged, key=lambda pair: pair[0])
    widest, far = max(judged, key=lambda pair: pair[0])
    result, reason = _result(case, gap, era)
    both_ways = result == "agrees" and widest > NEAR_MISS and not told_together(case, era, far)
    strength: Strength = "soft"
    if both_ways:
        excused = _result(case, widest, far)[0] != "conflicts"
        result, reason, era = "undecided", "the listing names another era too", far
        strength = "clue" if excused else "soft"
    said = (
        f"production years: the seller says {era_text(era.from_year, era.to_year, era.approximate)}"
    )
    tail = {"agrees": f", the sheet has {expected}", "conflicts": f"; the sheet has {expected}"}
    why = said + tail.get(result, f"; the sheet has {expected}, but {reason}")
    explanations = (
        ("a seller's guess at the age", "a later reissue", "old stock sold later")
        if result == "conflicts"
        else ()
    )
    return (
        Finding(
            CHECK, "production_years", result, strength, why,
            stated=era_text(era.from_year, era.to_year, era.approximate), expected=expected,
            quoted=era.quoted, source=case.sheet.source or None, explanations=explanations,
            cause=TWO_ERAS if both_ways else None, also_agrees=both_ways,
        ),
    )  # fmt: skip


def _guessed(case: Case, eras: list[Era], expected: str) -> Finding:
    """The era is only guessed at: nothing is held against it."""
    assert case.sheet is not None
    era = eras[0]
    stated = era_text(era.from_year, era.to_year, era.approximate)
    why = f"production years: the seller guesses {stated}; the sheet has {expected}"
    years = sheet_years(case)
    meets = any(_gap(e, years.first, years.last) == 0 for e in eras)
    result: Result = "agrees" if meets else "undecided"
    return Finding(
        CHECK, "production_years", result, "soft", why, stated=stated, expected=expected,
        quoted=era.quoted, source=case.sheet.source or None,
    )  # fmt: skip


def apart(one: Era, other: Era) -> bool:
    """Whether two times of making lie further apart than a guess may be out."""
    near = NEAR_MISS_APPROXIMATE if one.approximate or other.approximate else NEAR_MISS
    return _years_between(one, other) > near


def told_together(case: Case, one: Era, other: Era) -> bool:
    """Whether some sentence names both: there they are a span, or a list of search words."""
    places = [{_sentence_of(case, span) for span in era.quoted} for era in (one, other)]
    return bool(places[0] & places[1] - {None})


def _sentence_of(case: Case, span: Span) -> tuple[str, str | None, int] | None:
    place = case.place_of(span)
    return place and (place[0].passage.part, place[0].passage.key, place[0].start)


def _years_between(one: Era, other: Era) -> int:
    """Years between the end of the earlier and the start of the later; 0 where they meet."""
    return max(_gap(one, other.from_year, other.to_year), 0)


def _gap(era: Era, first: int | None, last: int | None) -> int:
    """Years between the claimed span and the production years; 0 where they meet."""
    after = era.from_year - last if era.from_year is not None and last is not None else 0
    before = first - era.to_year if era.to_year is not None and first is not None else 0
    return max(after, before, 0)


def _result(case: Case, gap: int, era: Era) -> tuple[Result, str]:
    if gap == 0:
        return "agrees", ""
    near = NEAR_MISS_APPROXIMATE if era.approximate else NEAR_MISS
    if gap <= near:
        return "undecided", "a guess at the age may be out by that much"
    years = sheet_years(case)
    later = era.from_year is not None and years.last is not None and era.from_year > years.last
    if later and case.says("reissue"):
        return "undecided", "the seller speaks of a reissue"
    if later and case.says("old_stock"):
        return "undecided", "the seller speaks of old stock, which may have been sold later"
    if case.sheet is not None and case.sheet.sure == "guess":
        return "undecided", "the sheet itself is not sure of the years"
    for edition in case.sheet.editions if case.sheet and case.edition is None else ():
        if edition.years and _gap(era, edition.years.first, edition.years.last) == 0:
            return "undecided", f"it would be right for the {edition.name} edition"
    return "conflicts", ""
