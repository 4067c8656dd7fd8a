"""The report: one HTML file that needs nothing else, loads nothing and runs nothing.

What a card shows is prepared here as plain values; how it looks is in templates/. Everything that
comes from a listing is escaped by the template engine; the only markup made outside it is the
marking of quotations (quotes.py). The pictures are data: addresses, within a budget of bytes.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from extractors.records import Listing, Photo
from models.records import Assessment, Finding, NextStep, Result
from triage.columns import (
    completeness_text,
    interval_text,
    price_kind_text,
    price_text,
    risk_text,
    signed,
)
from triage.leaving_out import leave_out_people
from triage.pages import render_page
from triage.prices import price_plots
from triage.quotes import Note, Quote, cut, gather, marked, seemly
from triage.run import (
    FURTHER_DOWN,
    GROUPS,
    SHORT,
    Corner,
    PairAnswer,
    Past,
    PhotoPair,
    Row,
    Run,
    Thumbnail,
    first_further_down,
    photo_place,
    place_text,
    problem_groups,
    same_seller,
)
from triage.words import (
    ALSO_NAMED,
    CAUTIONS,
    MAYBE,
    RESULTS,
    STRENGTHS,
    condition_text,
    evidence_notes,
    finding_line,
    moment_text,
    name,
    quotes_shown,
    reason_text,
    with_numbers,
)

OPEN_GROUPS: tuple[NextStep, ...] = ("look", "ask")
OPEN_CARDS = 120  # more open cards than this are folded, or a phone would choke on the page
PHOTOS_SHOWN = 2
PAIRS_SHOWN = 4

GROUP_NOTES: dict[NextStep, str] = {
    "look": "Much is stated, and it agrees with the sheet. Start here.",
    "ask": "An answer or a photo from the seller would settle most. The questions stand on each"
    " card.",
    "cannot_say": "There is a sheet, but the listing says too little to be held against it, or it"
    " might be one of several references.",
    "no_sheet": "No reference sheet covers the name, so only the listing itself could be checked.",
    "leave": "What speaks against them weighs more than a look is worth. That is a matter of odds,"
    " not a verdict.",
}


def make_report(run: Run, leave_out: tuple[str, ...] = (), photo_bytes: int = 12_000_000) -> str:
    """The report as HTML text.

    `leave_out` may hold "people"; `photo_bytes` bounds the pictures (bytes before base64).
    """
    travels = "people" in leave_out
    if travels:
        run = leave_out_people(run)
    values = {
        "run": run,
        "travels": travels,
        "further_down": FURTHER_DOWN,
        "groups": _groups(run, _Pictures(run, photo_bytes)),
        "ruler": _ruler(run),
        "plots": price_plots(run.prices),
        "cautions": CAUTIONS,
        "problems": problem_groups(run.problems),
    }
    filters = {"seemly": seemly, "moment": _moment, "unwrapped": _unwrapped}
    return render_page("report.html", ("report.css",), values, filters, " img-src data:;")


def _unwrapped(text: str) -> str:
    """A text without the brackets that stand about all of it.

    >>> _unwrapped("(98 %, 212)"), _unwrapped("212 (98 %)")
    ('98 %, 212', '212 (98 %)')
    """
    whole = re.fullmatch(r"\(([^()]*)\)", text.strip())
    return whole[1].strip() if whole else text


def _moment(date: str) -> str:
    """A date, with the hour and minute where they are given."""
    return seemly(moment_text(date))


# --- pictures -------------------------------------------------------------------------------


class _Pictures:
    """Hands out pictures until the budget of bytes is spent; what is most needed asks first."""

    def __init__(self, run: Run, budget: int) -> None:
        self._thumbnails = run.thumbnails
        self._left = budget
        self._granted: set[tuple[str, str]] = set()
        for use, photo in _uses(run):
            self._grant(use, photo.sha256)

    def _grant(self, use: str, sha256: str) -> None:
        thumbnail = self._thumbnails.get(sha256)
        if thumbnail is not None and len(thumbnail.jpeg) <= self._left:
            self._left -= len(thumbnail.jpeg)
            self._granted.add((use, sha256))

    def get(self, use: str, sha256: str) -> Picture | None:
        """The picture for one use (a listing's id, or "pair"), or None beyond the budget."""
        if (use, sha256) not in self._granted:
            return None
        return _picture(self._thumbnails[sha256])


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture ready for the page."""

    address: str
    width: int
    height: int
    full_width: int
    full_height: int


def _picture(thumbnail: Thumbnail) -> Picture:
    address = "data:image/jpeg;base64," + base64.b64encode(thumbnail.jpeg).decode()
    return Picture(
        address,
        thumbnail.width,
        thumbnail.height,
        max(1, thumbnail.full_width),
        max(1, thumbnail.full_height),
    )


def wishes(run: Run) -> Iterator[Photo]:
    """The photos that the report would show, most needed first."""
    return (photo for _, photo in _uses(run))


def _uses(run: Run) -> Iterator[tuple[str, Photo]]:
    """Every use of a picture (a listing's id, or "pair"), most needed first."""
    open_rows = [row for row in run.rows if row.assessment.next_step in OPEN_GROUPS]
    other_rows = [row for row in run.rows if row.assessment.next_step not in OPEN_GROUPS]
    for row in open_rows:
        yield from ((row.listing.id, p) for p in row.listing.photos[:PHOTOS_SHOWN])
    owners = _owners(run)
    for pair in run.pairs:
        for place in (pair.a, pair.b):
            for _, photo in owners.get(place, ())[:1]:
                yield "pair", photo
    for rows, first, last in (
        (other_rows, 0, 1),
        (open_rows, PHOTOS_SHOWN, 12),
        (other_rows, 1, 6),
    ):
        for row in rows:
            yield from ((row.listing.id, p) for p in row.listing.photos[first:last])


def _owners(run: Run) -> dict[str, list[tuple[Row, Photo]]]:
    """Photo place -> the listings that show it."""
    owners: dict[str, list[tuple[Row, Photo]]] = {}
    for row in run.rows:
        for photo in row.listing.photos:
            owners.setdefault(photo_place(photo), []).append((row, photo))
    return owners


# --- cards ----------------------------------------------------------------------------------


def _groups(run: Run, pictures: _Pictures) -> list[dict[str, Any]]:
    owners = _owners(run)
    pairs = _pairs_by_listing(run, owners)
    cards = {row.listing.id: f"c{row.rank}" for row in run.rows}
    groups = []
    for step, title in GROUPS.items():
        rows = run.group(step)
        if rows:
            made = [
                _card(
                    row,
                    pictures,
                    pairs,
                    cards,
                    run.since.get(row.listing.id, ()),
                    run.history.get(row.listing.id, ()),
                )
                for row in rows
            ]
            folded = [step not in OPEN_GROUPS or row.rank > OPEN_CARDS for row in rows]
            groups.append(
                {
                    "step": step,
                    "title": title,
                    "short": SHORT[step],
                    "note": GROUP_NOTES[step],
                    "cards": list(zip(made, folded, strict=True)),
                    "further": first_further_down(step, rows),
                }
            )
    return groups


def _card(
    row: Row,
    pictures: _Pictures,
    pairs: Mapping[str, list[_Pair]],
    cards: Mapping[str, str],
    since: tuple[str, ...] = (),
    history: tuple[Past, ...] = (),
) -> dict[str, Any]:
    listing, assessment = row.listing, row.assessment
    card = cards[listing.id]
    numbered = _numbered(assessment)
    mark = _marker(row, numbered, card)
    photos = [(photo, pictures.get(listing.id, photo.sha256)) for photo in listing.photos]
    return {
        "id": card,
        "row": row,
        "listing": listing,
        "assessment": assessment,
        "source": _source(listing),
        "since": since,
        "history": history,
        "price": price_kind_text(listing),
        "price_short": price_text(listing),
        "risk": risk_text(assessment.risk),
        "interval": interval_text(assessment.interval),
        "scale": _scale(assessment),
        "told": completeness_text(assessment.completeness),
        "faults": condition_text(row.evidence),
        "title": mark("text", None, listing.title, 0),
        "description": mark("text", None, listing.description, len(listing.title) + 1),
        "specifics": [
            (label, mark("specific", label, value, 0)) for label, value in listing.specifics
        ],
        "answers": [
            mark("answer", str(number), answer, 0) for number, answer in enumerate(listing.answers)
        ],
        "findings": _finding_groups(numbered, row, cards),
        "silent": _points(assessment, "not_stated"),
        "maybe": MAYBE if assessment.reference is None else ALSO_NAMED,
        "unheld": _points(assessment, "no_reference"),
        "waterfall": _waterfall(assessment),
        "score": signed(assessment.score),
        "photos": [p for p in photos if p[1] is not None],
        "photos_left": sum(1 for p in photos if p[1] is None),
        "pairs": _pair_views(pairs.get(listing.id, []), listing.id, pictures, cards, "copy"),
        "perhaps": _pair_views(
            pairs.get(listing.id, []), listing.id, pictures, cards, "same_piece"
        ),
        "read": _read_only(row),
    }


def _source(listing: Listing) -> str:
    place = place_text(listing.source, listing.member)
    return place if listing.line is None else f"{place}, line {listing.line}"


_SHOWN: tuple[Result, ...] = ("conflicts", "undecided", "agrees")


def _numbered(assessment: Assessment) -> list[tuple[int, Finding]]:
    """The findings that are shown one by one, numbered from 1 in the order of the card."""
    shown = [f for result in _SHOWN for f in assessment.findings if f.result == result]
    return list(enumerate(shown, 1))


def _finding_groups(
    numbered: list[tuple[int, Finding]], row: Row, cards: Mapping[str, str]
) -> list[dict[str, Any]]:
    groups = []
    for result in _SHOWN:
        views = [_finding_view(n, f, row, cards) for n, f in numbered if f.result == result]
        if views:
            groups.append({"result": result, "title": RESULTS[result], "findings": views})
    return groups


def _finding_view(
    number: int, finding: Finding, row: Row, cards: Mapping[str, str]
) -> dict[str, Any]:
    numbers = {other: int(cards[other][1:]) for other in finding.about if other in cards}
    why = reason_text(finding, with_numbers(finding.why, numbers))
    ordered = sorted((number, other) for other, number in numbers.items())
    return {
        "number": number,
        "finding": finding,
        "line": finding_line(finding),
        "why": why,
        "strength": STRENGTHS[finding.strength],
        "quotes": quotes_shown(finding, why),
        "about": [(f"c{number}", other) for number, other in ordered],
    }


def _points(assessment: Assessment, result: Result) -> list[str]:
    """The points of one result by name; that there is no sheet at all the reason has told."""
    found = (f for f in assessment.findings if f.result == result and f.point != "reference")
    return list(dict.fromkeys(name(f.point or f.check) for f in found))


def _marker(
    row: Row, numbered: list[tuple[int, Finding]], card: str
) -> Callable[[str, str | None, str, int], Markup]:
    """A function that marks one part of the listing with all quotations that fall into it."""
    notes: dict[tuple[str, str | None], list[tuple[int, int, Note]]] = {}
    for number, finding in numbered:
        note = Note(finding.result, f"{RESULTS[finding.result]}: {finding_line(finding)}", number)
        for span in finding.quoted:
            notes.setdefault((span.part, span.key), []).append((span.start, span.end, note))
    for span, text in evidence_notes(row.evidence):
        read = Note("read", f"read as {text}")
        notes.setdefault((span.part, span.key), []).append((span.start, span.end, read))
    quotes = {place: gather(given) for place, given in notes.items()}

    def mark(part: str, key: str | None, text: str, offset: int) -> Markup:
        given: tuple[Quote, ...] = quotes.get((part, key), ())
        return marked(text, cut(given, offset, offset + len(text)), card)

    return mark


def _read_only(row: Row) -> list[tuple[str, str]]:
    """What was read without a finding quoting it."""
    quoted = {span for finding in row.assessment.findings for span in finding.quoted}
    read = ((s.text, text) for s, text in evidence_notes(row.evidence) if s not in quoted)
    return list(dict.fromkeys(read))


# --- shared photos --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Side:
    row: Row
    photo: Photo
    area: tuple[Corner, ...]


@dataclass(frozen=True, slots=True)
class _Pair:
    pair: PhotoPair
    mine: _Side
    other: _Side
    shown_here: bool


def _pairs_by_listing(
    run: Run, owners: Mapping[str, list[tuple[Row, Photo]]]
) -> dict[str, list[_Pair]]:
    """For each listing its pairs with other sellers; a pair is drawn on the higher-ranked card."""
    found: dict[str, list[_Pair]] = {}
    for pair in run.pairs:
        if not pair.stands or pair.answer not in ("copy", "same_piece"):
            continue
        for row_a, photo_a in owners.get(pair.a, ()):
            for row_b, photo_b in owners.get(pair.b, ()):
                if row_a.listing.id == row_b.listing.id or same_seller(
                    row_a.listing, row_b.listing
                ):
                    continue
                a = _Side(row_a, photo_a, pair.area_a)
                b = _Side(row_b, photo_b, pair.area_b)
                first = row_a.rank <= row_b.rank
                found.setdefault(row_a.listing.id, []).append(_Pair(pair, a, b, first))
                found.setdefault(row_b.listing.id, []).append(_Pair(pair, b, a, not first))
    return found


def _few(pairs: list[_Pair]) -> list[_Pair]:
    """The surest pair with each other listing, then the surest of the rest, at most a few."""
    ordered = sorted(pairs, key=lambda p: (-p.pair.score, p.pair.a, p.pair.b))
    best: dict[str, _Pair] = {}
    for pair in ordered:
        best.setdefault(pair.other.row.listing.id, pair)
    rest = [pair for pair in ordered if pair not in best.values()]
    return [*best.values(), *rest][:PAIRS_SHOWN]


_PAIR_WORDS = {
    "copy": "The same picture",
    "same_piece": "The same piece, photographed twice",
}


def _pair_views(
    pairs: list[_Pair],
    listing_id: str,
    pictures: _Pictures,
    cards: Mapping[str, str],
    answer: PairAnswer,
) -> list[dict[str, Any]]:
    """The pairs of one answer; each view has an id for its pictures."""
    chosen = [pair for pair in pairs if pair.pair.answer == answer]
    return [
        {
            **_pair_view(pair, listing_id, pictures, cards),
            "id": f"{cards[listing_id]}{answer[0]}{n}",
        }
        for n, pair in enumerate(_few(chosen))
    ]


def _pair_view(
    pair: _Pair, listing_id: str, pictures: _Pictures, cards: Mapping[str, str]
) -> dict[str, Any]:
    earlier = _earlier(pair.mine.row.listing, pair.other.row.listing)
    sides = ((pair.mine, earlier == "mine"), (pair.other, earlier == "other"))
    return {
        "words": _PAIR_WORDS[pair.pair.answer],
        "score": f"{pair.pair.score:.2f}",
        "changes": ", ".join(name(change) for change in pair.pair.changes),
        "drawn": pair.shown_here,
        "other_card": cards[pair.other.row.listing.id],
        "other_rank": pair.other.row.rank,
        "sides": [_side_view(side, pictures, first, listing_id) for side, first in sides],
        "over": _over(pair.mine.area, pair.other.area),
        "other_claims": _other_claim(pair),
    }


def _over(mine: tuple[Corner, ...], other: tuple[Corner, ...]) -> str:
    """The SVG matrix that lays the other photo over mine, from three corners that match; or ""."""
    if len(mine) != len(other) or len(mine) < 3:
        return ""
    third = len(mine) / 3
    picked = [round(third * n) for n in range(3)]
    try:
        return " ".join(
            f"{x:.6g}" for x in _affine([other[n] for n in picked], [mine[n] for n in picked])
        )
    except ZeroDivisionError:
        return ""


def _affine(start: list[Corner], goal: list[Corner]) -> tuple[float, ...]:
    """a b c d e f of the map x' = ax + cy + e, y' = bx + dy + f; ZeroDivisionError on a line."""
    (x0, y0), (x1, y1), (x2, y2) = start
    whole = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)
    rows = []
    for axis in (0, 1):
        u0, u1, u2 = (corner[axis] for corner in goal)
        by_x = ((u1 - u0) * (y2 - y0) - (u2 - u0) * (y1 - y0)) / whole
        by_y = ((u2 - u0) * (x1 - x0) - (u1 - u0) * (x2 - x0)) / whole
        rows.append((by_x, by_y, u0 - by_x * x0 - by_y * y0))
    (a, c, e), (b, d, f) = rows
    return a, b, c, d, e, f


def _other_claim(pair: _Pair) -> str:
    """The reference the other listing claims, where it is another than this one's."""
    mine, other = pair.mine.row.assessment.reference, pair.other.row.assessment.reference
    return other if mine and other and mine != other else ""


def _side_view(side: _Side, pictures: _Pictures, first: bool, listing_id: str) -> dict[str, Any]:
    listing = side.row.listing
    picture = pictures.get("pair", side.photo.sha256)
    return {
        "picture": picture,
        "area": _area(side, picture),
        "whose": "this listing" if listing.id == listing_id else f"No {side.row.rank}",
        "seller": listing.seller_name or listing.seller_id or "seller not named",
        "listed": listing.date_listed,
        "saved": listing.date_saved,
        "first": first,
        "place": photo_place(side.photo),
    }


def _area(side: _Side, picture: Picture | None) -> str:
    """The corners as SVG points; empty when the part is the whole picture."""
    if picture is None or len(side.area) < 3:
        return ""
    xs = [point[0] for point in side.area]
    ys = [point[1] for point in side.area]
    share = (max(xs) - min(xs)) * (max(ys) - min(ys))
    if share >= 0.97 * picture.full_width * picture.full_height:
        return ""
    return " ".join(f"{x:.0f},{y:.0f}" for x, y in side.area)


def _earlier(mine: Listing, other: Listing) -> str:
    """Which of two listings was seen first, by listing date, else by date saved; "" unknown."""
    for key in ("date_listed", "date_saved"):
        one, two = getattr(mine, key), getattr(other, key)
        if one and two and one[:10] != two[:10]:
            return "mine" if one < two else "other"
        if one and two and key == "date_listed":
            return ""
    return ""


# --- drawings -------------------------------------------------------------------------------

SCALE = 1000  # the drawings' own units across


def _scale(assessment: Assessment) -> dict[str, float]:
    low, high = assessment.interval
    return {
        "low": round(_within(low) * SCALE),
        "wide": round((_within(high) - _within(low)) * SCALE),
        "here": round(_within(assessment.risk) * SCALE),
    }


def _within(value: float) -> float:
    return min(1.0, max(0.0, value))


def _waterfall(assessment: Assessment) -> list[dict[str, Any]]:
    """The steps as bars, each starting where the one before ended, and the total."""
    ends = [0.0]
    for step in assessment.steps:
        ends.append(ends[-1] + step.log_odds)
    low, high = min(ends), max(ends)
    room = (high - low) or 1.0

    def across(value: float) -> float:
        return round(20 + (value - low) / room * (SCALE - 40), 1)

    zero = across(0.0)
    bars = [
        _bar(name(step.name), step.log_odds, across(start), across(end), zero)
        for step, start, end in zip(assessment.steps, ends, ends[1:], strict=False)
    ]
    total = _bar("total", assessment.score, zero, across(ends[-1]), zero)
    return [*bars, {**total, "kind": "total", "text": signed(assessment.score)}]


def _bar(text: str, log_odds: float, start: float, end: float, zero: float) -> dict[str, Any]:
    kind = "more" if log_odds > 0.005 else "less" if log_odds < -0.005 else "none"
    return {
        "name": text,
        "text": signed(log_odds),
        "kind": kind,
        "x": min(start, end),
        "wide": max(4.0, abs(end - start)),
        "end": end,
        "zero": zero,
    }


def _ruler(run: Run) -> list[dict[str, Any]]:
    """One line per group, a mark per listing at the place of its risk; near marks stack up."""
    lines = []
    for step, title in GROUPS.items():
        rows = run.group(step)
        if rows:
            heights: dict[int, int] = {}
            marks = []
            for row in rows:
                place = round(_within(row.assessment.risk) * 80)
                heights[place] = heights.get(place, 0) + 1
                marks.append(_ruler_mark(row, place, heights[place]))
            tall = _flatten(marks, max(heights.values()))
            lines.append({"title": title, "count": len(rows), "marks": marks, "base": tall})
    return lines


def _ruler_mark(row: Row, place: int, height: int) -> dict[str, Any]:
    return {
        "x": 20 + place * 12,
        "height": height,
        "card": f"c{row.rank}",
        "title": f"No {row.rank}, risk {risk_text(row.assessment.risk)}: {row.listing.title}",
    }


def _flatten(marks: list[dict[str, Any]], most: int) -> float:
    """Give each mark its height, closer together in a high stack; returns the axis' height."""
    gap = min(13.0, 80.0 / most)
    base = 14 + gap * (most - 1)
    for mark in marks:
        mark["y"] = round(base - mark["height"] * gap + gap - 4, 1)
    return round(base + 4, 1)
