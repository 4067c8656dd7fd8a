"""Holds listings against the sheets, weighs what is found, and puts the listings in order."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from extractors.errors import UserError
from extractors.records import Evidence, Listing, Photo
from models.checks.corpus import Corpus, Examined
from models.decide import Costs, spend_looks
from models.features import amounts, signs_of
from models.notes import Note, find_notes
from models.order import place_among, rank, stand
from models.outlook import look_ahead
from models.records import Assessment, Finding
from models.resolve import Resolution
from models.risk import Model, assess, starting_model
from models.sheet_records import ReferenceSheet
from models.sheets import Sheets
from models.sureness import how_sure, say_sureness
from models.weights import Weights, load_weights
from triage.run import Earlier, PhotoPair, Row, photo_place
from triage.settings import Settings

OUTLOOKS = 20  # so many of the first are told what would change their place most


@dataclass(frozen=True, slots=True)
class Judged:
    """One listing held against its sheet: the reference it claims, findings, safety notes."""

    resolution: Resolution
    findings: tuple[Finding, ...]
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True)
class Weighed:
    """The rows in order, how sure that is, and the names that lack a sheet with their listings."""

    rows: tuple[Row, ...]
    unsheeted: tuple[tuple[str, int], ...]
    sureness: str = ""


@dataclass(frozen=True)
class Scales:
    """What a run weighs with: starting weights, the model in force, the buyer's figures."""

    weights: Weights
    model: Model
    costs: Costs
    looks: int = 0  # close looks to be spent where they are worth most; 0: by risk alone


def load_scales(settings: Settings) -> Scales:
    """Read weights, model and figures; raises UserError where a file or figure cannot be used."""
    weights = load_weights(settings.weights)
    model = starting_model(weights)
    if settings.model is not None:
        from models.artefact import load_model

        model = load_model(settings.model, weights)
    for name in ("return_chance", "resale"):
        if getattr(settings, name) > 1:
            flag = name.replace("_", "-")
            raise UserError(f"The option --{flag} cannot be above 1.", "It is a share, as 0.4.")
    costs = Costs(
        gain=settings.gain,
        resale=settings.resale,
        return_chance=settings.return_chance,
        look=settings.look_cost,
    )
    return Scales(weights, model, costs, settings.looks)


def best_looks(
    listings: Sequence[Listing], assessments: Sequence[Assessment], scales: Scales
) -> tuple[str, ...]:
    """The listings worth a look on which the looks at hand earn most, the best first.

    Prices count in the currency that most of them are in; others stand at the middle price.
    """
    worthy = {a.id: a.risk for a in assessments if a.next_step == "look"}
    priced = [x for x in listings if x.id in worthy and x.price is not None and x.price > 0]
    usual = Counter(x.currency for x in priced).most_common(1)
    prices = {x.id: float(x.price or 0) for x in priced if x.currency == usual[0][0]}
    return spend_looks(worthy, prices, scales.looks, scales.costs)


def judge(listing: Listing, evidence: Evidence, sheets: Sheets) -> Judged:
    """Find the reference a listing claims and hold it against the sheet and against itself."""
    from models.checks.catalogue import run_checks
    from models.resolve import resolve

    resolution = resolve(listing, evidence, sheets)
    findings = run_checks(listing, evidence, resolution, sheets)
    return Judged(resolution, findings, find_notes(listing))


def compare_all(
    listings: Sequence[Listing],
    evidence: Mapping[str, Evidence],
    judged: Mapping[str, Judged],
    pairs: Sequence[Any],
    earlier: Sequence[Earlier] = (),
    known: Mapping[str, str] = MappingProxyType({}),
) -> tuple[dict[str, Judged], tuple[str, ...]]:
    """Add the findings that need all listings; also what casts doubt on a sheet, in sentences.

    Pictures count as reused also where an `earlier` week showed them; `known` names the collection
    of a catalogue picture, by SHA-256.
    """
    from models.checks.catalogue import run_corpus_checks
    from models.checks.sheet_doubt import find_sheet_doubts

    examined = tuple(
        Examined(x, evidence[x.id], judged[x.id].resolution, judged[x.id].findings)
        for x in listings
    )
    more = run_corpus_checks(Corpus(examined, tuple(pairs), known))
    if earlier:
        more = _with_earlier_pictures(more, examined, pairs, earlier, known)
    whole = {
        key: replace(found, findings=(*found.findings, *more.get(key, ())))
        for key, found in judged.items()
    }
    return whole, tuple(doubt.text for doubt in find_sheet_doubts(examined))


def _with_earlier_pictures(
    more: Mapping[str, tuple[Finding, ...]],
    examined: Sequence[Examined],
    pairs: Sequence[Any],
    earlier: Sequence[Earlier],
    known: Mapping[str, str],
) -> dict[str, tuple[Finding, ...]]:
    """The findings with those on reused pictures made anew, earlier weeks' listings beside."""
    from models.checks.photo_reuse import CATALOGUE_CHECK, CHECK, check_photo_reuse

    places: dict[str, list[str]] = defaultdict(list)
    for one in examined:
        for photo in one.listing.photos:
            places[photo.sha256].append(photo_place(photo))
    before = tuple(_examined_before(e) for e in earlier)
    again = tuple(
        PhotoPair(here, _EARLIER.format(e.listing.id, then), 1.0, "copy")
        for e in earlier
        for now, then in e.shows
        for here in dict.fromkeys(places[now])
    )
    reused = check_photo_reuse(Corpus((*examined, *before), (*pairs, *again), known))
    return {
        x.listing.id: (
            *(f for f in more.get(x.listing.id, ()) if f.check not in (CHECK, CATALOGUE_CHECK)),
            *reused.get(x.listing.id, ()),
        )
        for x in examined
    }


_EARLIER = "earlier {}/{}"  # what no photo of this week is called


def _examined_before(earlier: Earlier) -> Examined:
    listing = earlier.listing
    photos = tuple(
        Photo(_EARLIER.format(listing.id, sha), None, sha)
        for sha in dict.fromkeys(then for _, then in earlier.shows)
    )
    resolution = Resolution(earlier.reference, why="as it was held to be then")
    return Examined(replace(listing, photos=photos), Evidence(listing.id), resolution, ())


def weigh(
    listings: Sequence[Listing],
    evidence: Mapping[str, Evidence],
    judged: Mapping[str, Judged],
    sheets: Sheets,
    scales: Scales,
) -> Weighed:
    """Assess every listing and rank them."""
    assessments = [_assess(x, evidence[x.id], judged[x.id], sheets, scales) for x in listings]
    first = best_looks(listings, assessments, scales)
    rows, sureness = _with_places(_rows(listings, evidence, judged, assessments, first), scales)
    told = (
        replace(row.assessment, outlook=_outlook(row, judged[row.listing.id], rows, sheets, scales))
        for row in rows[:OUTLOOKS]
    )
    ahead = tuple(replace(row, assessment=seen) for row, seen in zip(rows, told, strict=False))
    names = _names_without_sheet(judged.values())
    return Weighed((*ahead, *rows[OUTLOOKS:]), names, sureness)


def _with_places(rows: tuple[Row, ...], scales: Scales) -> tuple[tuple[Row, ...], str]:
    """The rows with the places where each may stand, and how sure their order is in a sentence."""
    if scales.looks:  # a number of looks puts them in an order of its own
        return rows, ""
    vectors = [amounts_of(row, scales.weights) for row in rows]
    sure = how_sure([row.assessment for row in rows], vectors, scales.model, scales.costs)
    placed = (replace(r, places=places) for r, places in zip(rows, sure.places, strict=True))
    return tuple(placed), say_sureness(sure, scales.model.note)


def amounts_of(row: Row, weights: Weights) -> Mapping[str, float]:
    """The named amounts of a ranked listing, as the risk model sees them."""
    seen = row.assessment
    signs = signs_of(
        row.listing,
        row.evidence,
        seen.findings,
        seen.completeness,
        seen.shares_photo_with,
        weights,
    )
    return amounts(signs)


def _assess(
    listing: Listing, evidence: Evidence, found: Judged, sheets: Sheets, scales: Scales
) -> Assessment:
    sheet = sheets.get(found.resolution.reference)
    return assess(
        listing,
        evidence,
        found.resolution,
        found.findings,
        completeness(found.findings, sheet),
        scales.weights,
        sheet=sheet,
        model=scales.model,
        costs=scales.costs,
        shares_photo_with=shares_photo_with(found.findings),
    )


def _outlook(
    row: Row, found: Judged, rows: Sequence[Row], sheets: Sheets, scales: Scales
) -> str | None:
    """What would change a listing's place most, with the place it would then have."""
    seen = row.assessment
    sheet = sheets.get(seen.reference)
    ahead = look_ahead(row.listing, row.evidence, seen, scales.weights, scales.model, sheet)
    if ahead is None or scales.looks:  # a number of looks puts them in an order of its own
        return ahead.says if ahead else None
    turned = replace(found, findings=ahead.findings)
    then = _assess(row.listing, row.evidence, turned, sheets, scales)
    return ahead.with_places(row.rank, place_among(then, (r.assessment for r in rows)))


def shares_photo_with(findings: Iterable[Finding]) -> tuple[str, ...]:
    """The listings of other sellers that show a photo of this one, by id."""
    named = (other for f in findings if f.check == "photo_reuse" for other in f.about)
    return tuple(dict.fromkeys(named))


def completeness(findings: Sequence[Finding], sheet: ReferenceSheet | None) -> float | None:
    """The share of the sheet's points that the listing states, 0 to 1; None without a sheet."""
    if sheet is None or not sheet.points:
        return None
    return len(stand(findings, sheet.points, borrowed=False).stated) / len(sheet.points)


def _rows(
    listings: Sequence[Listing],
    evidence: Mapping[str, Evidence],
    judged: Mapping[str, Judged],
    assessments: Iterable[Assessment],
    first: Sequence[str],
) -> tuple[Row, ...]:
    by_id = {listing.id: listing for listing in listings}
    return tuple(
        Row(
            number,
            by_id[assessment.id],
            evidence[assessment.id],
            assessment,
            notes=judged[assessment.id].notes,
        )
        for number, assessment in enumerate(rank(assessments, first), 1)
    )


def _names_without_sheet(judged: Iterable[Judged]) -> tuple[tuple[str, int], ...]:
    return count_names(
        found.resolution.named
        for found in judged
        if found.resolution.reference is None and not found.resolution.candidates
    )


def count_names(names: Iterable[str | None]) -> tuple[tuple[str, int], ...]:
    """The names that lack a sheet, most frequent first; capitals make no difference.

    >>> count_names(["Halm", None, "HALM", "Tavo"])
    (('Halm', 2), ('Tavo', 1))
    """
    shown: dict[str, str] = {}
    counts: Counter[str] = Counter()
    for name in names:
        if name:
            counts[name.casefold()] += 1
            shown.setdefault(name.casefold(), name)
    ordered = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    return tuple((shown[key], count) for key, count in ordered)
