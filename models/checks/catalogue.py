"""The ordered lists of checks; adding one is one line here (and a row of starting weights).

`run_checks` is a pure function of one listing; `run_corpus_checks` runs once over all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from extractors.catalogue import extract
from extractors.records import Evidence, Listing
from models.checks import (
    condition,
    country,
    eras,
    fineness,
    inscriptions,
    itself,
    markings,
    measurements,
    photo_reuse,
    points,
    price,
    sellers,
    subjects,
    text_reuse,
    unseen,
)
from models.checks.case import Case, make_case, no_reference
from models.checks.corpus import Corpus
from models.lots import listing_of_piece
from models.records import Finding
from models.resolve import Resolution, edition_named
from models.sheets import Sheets

Check = Callable[[Case], tuple[Finding, ...]]

# one line per check of a single listing
CHECKS: tuple[Check, ...] = (
    measurements.check_measurements,
    points.check_points,
    inscriptions.check_inscriptions,
    eras.check_eras,
    markings.check_mark_dates,
    country.check_country,
    itself.check_itself,
    fineness.check_metal,
    condition.check_condition,
    unseen.check_unseen,
)

CorpusCheck = Callable[[Corpus], dict[str, tuple[Finding, ...]]]

# one line per check over all listings
CORPUS_CHECKS: tuple[CorpusCheck, ...] = (
    price.check_prices,
    photo_reuse.check_photo_reuse,
    text_reuse.check_text_reuse,
)

FINDING_CODES: tuple[tuple[str, str, str], ...] = (
    ("reference", "no_reference", "clue"),
    *measurements.CODES,
    *points.CODES,
    *inscriptions.CODES,
    *eras.CODES,
    *markings.CODES,
    *country.CODES,
    *itself.CODES,
    *fineness.CODES,
    *condition.CODES,
    *price.CODES,
    *photo_reuse.CODES,
    *text_reuse.CODES,
    *sellers.CODES,
    *unseen.CODES,
)

_WEIGHT = {"conflicts": 4, "undecided": 3, "agrees": 2, "not_stated": 1, "no_reference": 0}


def run_checks(
    listing: Listing, evidence: Evidence, resolution: Resolution, sheets: Sheets
) -> tuple[Finding, ...]:
    """Everything the checks have to say of one listing, one finding a point and check."""
    if resolution.lot:
        return _judge_lot(listing, resolution, sheets)
    case = make_case(listing, evidence, resolution, sheets)
    found = subjects.without_doubtful(case, (f for check in CHECKS for f in check(case)))
    if case.sheet is None:
        found.insert(0, no_reference(case))
    return _of_one_look_alike(case, one_per_point(found))


def _of_one_look_alike(case: Case, found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Where the sizes are a look-alike's, the points that tell the two apart are the same cause."""
    causes = {f.cause for f in found if f.cause and f.cause.startswith("measures_as:")}
    if case.sheet is None or len(causes) != 1:
        return found
    cause = causes.pop()
    told = {
        point
        for look in case.sheet.look_alikes
        if cause == f"measures_as:{look.reference}"
        for point in look.tell_by
    }
    return tuple(
        replace(f, cause=cause) if f.result == "conflicts" and f.point in told else f for f in found
    )


def _judge_lot(listing: Listing, resolution: Resolution, sheets: Sheets) -> tuple[Finding, ...]:
    """Each piece against its own reference; a finding says which piece it is of."""
    found: list[tuple[str, Finding]] = []
    for owner in resolution.lot:
        sheet = sheets.get(owner)
        if sheet is None:
            continue
        piece = listing_of_piece(listing, resolution.lot, owner, sheets)
        evidence = extract(piece)
        own = Resolution(owner, edition_named(sheet, piece, evidence))
        found += [
            (sheet.name, replace(f, why=f"of the {sheet.name}: {f.why}"))
            for f in run_checks(piece, evidence, own, sheets)
        ]
    return tuple(_told_together(found))


def _told_together(found: list[tuple[str, Finding]]) -> Iterator[Finding]:
    """One finding a point: the weightiest, with what is as weighty of another piece."""
    for point in dict.fromkeys(f.point for _, f in found):
        same = [(piece, f) for piece, f in found if f.point == point]
        first = max((f for _, f in same), key=lambda f: _WEIGHT[f.result])
        told = [(piece, f) for piece, f in same if f.result == first.result]
        yield replace(
            first,
            stated=_of_pieces((piece, f.stated) for piece, f in told),
            expected=_of_pieces((piece, f.expected) for piece, f in told),
            why="; ".join(f.why for _, f in told),
            quoted=tuple(span for _, f in told for span in f.quoted),
        )


def _of_pieces(told: Iterable[tuple[str, str | None]]) -> str | None:
    """What is stated or expected of each piece, the piece behind it; None where of none.

    >>> _of_pieces([("Alder", "52 mm"), ("Birch", None), ("Cedar", "50 mm")])
    '52 mm (Alder); 50 mm (Cedar)'
    """
    return "; ".join(f"{words} ({piece})" for piece, words in told if words is not None) or None


def one_per_point(found: list[Finding]) -> tuple[Finding, ...]:
    """Where two checks judge one point of the sheet, the weightier finding stands for both."""
    kept: dict[str, Finding] = {}
    for finding in found:
        first = kept.get(finding.point)
        if first is None or _WEIGHT[finding.result] > _WEIGHT[first.result]:
            kept[finding.point] = finding
    return tuple(kept.values())


def run_corpus_checks(corpus: Corpus) -> dict[str, tuple[Finding, ...]]:
    """Findings that need all listings, by listing id; listings without any are left out."""
    found: dict[str, tuple[Finding, ...]] = {}
    for check in CORPUS_CHECKS:
        for listing_id, findings in check(corpus).items():
            found[listing_id] = (*found.get(listing_id, ()), *findings)
    for listing_id, findings in sellers.check_sellers(corpus, found).items():
        found[listing_id] = (*found.get(listing_id, ()), *findings)
    return found
