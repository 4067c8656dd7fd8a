"""COLUMNS: what each stage tells of one row, declared once for JSON Lines, CSV, table and report.

A column has a key and a value for the stages' records (see README), and, where it is shown to
people, a title and a text. Records take every column; the terminal table takes those with a width.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Generic, TypeVar

from extractors.records import Evidence, Listing, Photo, Span
from models.records import Finding
from triage.run import GROUPS, PhotoPair, Row
from triage.words import length_text, name, years_text

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Column(Generic[T]):
    """One thing told of a row.

    `value` gives what JSON can hold; `text` what people read (None: not shown to people);
    `width` is the column's room in the terminal (0: not in the table), `right` aligns numbers.
    """

    key: str
    title: str
    value: Callable[[T], Any]
    text: Callable[[T], str] | None = None
    width: int = 0
    right: bool = False


def record(columns: Iterable[Column[T]], row: T) -> dict[str, Any]:
    """The stage record of one row: every key of the columns, in order."""
    return {column.key: column.value(row) for column in columns if column.key}


def plain(value: Any) -> Any:
    """A value as JSON can hold it: records become objects, tuples lists, money decimal text."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, Decimal):
        return format(value, "f")
    return value


# --- words and figures ----------------------------------------------------------------------


def price_text(listing: Listing) -> str:
    """The price as a buyer reads it, or an empty text."""
    if listing.price is None:
        return ""
    amount = f"{listing.price:.2f}".removesuffix(".00")
    return f"{listing.currency or ''} {amount}".strip()


def price_kind_text(listing: Listing) -> str:
    """The price with what kind of price it is, or an empty text."""
    kind = {"bid": " bid so far", "sold": ", sold"}.get(listing.price_kind or "", "")
    return price_text(listing) + kind if listing.price is not None else ""


def risk_text(risk: float) -> str:
    """A risk in hundredths, never rounded up to certainty.

    >>> risk_text(0.5), risk_text(0.9999), risk_text(0.0001)
    ('0.50', '0.99', '0.01')
    """
    return f"{min(max(risk, 0.01), 0.99):.2f}"


def interval_text(interval: tuple[float, float]) -> str:
    """The two ends of an interval.

    >>> interval_text((0.2, 0.45))
    '0.20 to 0.45'
    """
    return f"{risk_text(interval[0])} to {risk_text(interval[1])}"


def signed(log_odds: float) -> str:
    """A step with its sign; the minus is the real one, so that columns of figures align.

    >>> signed(1.2), signed(-0.5), signed(0.0)
    ('+1.20', '\N{MINUS SIGN}0.50', '0.00')
    """
    sign = "+" if log_odds >= 0.005 else "\N{MINUS SIGN}" if log_odds <= -0.005 else ""
    return f"{sign}{abs(log_odds):.2f}"


def scale_text(risk: float, interval: tuple[float, float], width: int = 12) -> str:
    """The risk as a place on a line from 0 to 1, with its interval drawn heavier.

    >>> scale_text(0.5, (0.3, 0.7), 11)
    '···━━●━━···'
    """

    def cell(value: float) -> int:
        return min(width - 1, max(0, round(value * (width - 1))))

    low, here, high = cell(interval[0]), cell(risk), cell(interval[1])
    return "".join(
        "●" if place == here else "━" if low <= place <= high else "·" for place in range(width)
    )


def completeness_text(completeness: float | None) -> str:
    """The share of the sheet's points that are told or shown, in per cent."""
    return "" if completeness is None else f"{completeness:.0%}"


# --- the stages -----------------------------------------------------------------------------


def _field(name: str, title: str = "") -> Column[Listing]:
    return Column(name, title, lambda listing: plain(getattr(listing, name)))


def _photo(photo: Photo) -> dict[str, Any]:
    return {"path": photo.path, "member": photo.member, "sha256": photo.sha256}


READ: tuple[Column[Listing], ...] = (
    Column("id", "Id", lambda x: x.id, lambda x: x.id, 14),
    _field("listing_id"),
    _field("url"),
    Column("source", "File", lambda x: x.source, lambda x: x.source, 22),
    _field("member"),
    _field("line"),
    Column("title", "Title", lambda x: x.title, lambda x: x.title, 26),
    _field("description"),
    Column("specifics", "", lambda x: dict(x.specifics)),
    Column("price", "Price", lambda x: plain(x.price), price_text, 10, right=True),
    _field("currency"),
    _field("price_kind"),
    _field("buy_now"),
    _field("shipping"),
    _field("offers_accepted"),
    _field("returns"),
    _field("quantity"),
    _field("ended"),
    _field("ends_at"),
    _field("seller_id"),
    _field("seller_name"),
    _field("seller_feedback"),
    _field("location"),
    _field("date_listed"),
    _field("date_saved"),
    Column(
        "photos",
        "Photos",
        lambda x: [_photo(photo) for photo in x.photos],
        lambda x: str(len(x.photos)) if x.photos else "",
        6,
        right=True,
    ),
    _field("missing_photos"),
    _field("hidden_text"),
    _field("origins"),
    # beyond the fixed fields: what `evidence` needs to say where an answer stands
    _field("answers"),
)


def _items(name: str) -> Callable[[Evidence], Any]:
    return lambda evidence: [_item(item) for item in getattr(evidence, name)]


def _mentions(name: str) -> Callable[[Evidence], Any]:
    """One record for each time it is said, as the annotation counts; marks of the piece only."""

    def told(evidence: Evidence) -> list[dict[str, Any]]:
        items = [i for i in getattr(evidence, name) if getattr(i, "object", "item") in _OF_PIECE]
        return [
            _item(dataclasses.replace(item, quoted=(span,)))
            for item in items
            for span in item.quoted
        ]

    return told


_OF_PIECE = ("item", "lens", "sticker")  # a mark on a case, box or receipt says nothing of it


def _item(item: Any) -> dict[str, Any]:
    """One item of evidence, with `start`, `end` and `text` of its first words in the text."""
    told: dict[str, Any] = plain(item)
    if "phrase_class" in told:
        told = {"class": told.pop("phrase_class"), **told}
    first = next((span for span in item.quoted if span.part == "text"), None)
    told.setdefault("text", first.text if first else _first_text(item.quoted))
    told["start"] = first.start if first else None
    told["end"] = first.end if first else None
    return told


def _first_text(quoted: tuple[Span, ...]) -> str | None:
    return quoted[0].text if quoted else None


def _told(evidence: Evidence) -> str:
    """The evidence in one line for people."""
    parts = [f"{name(m.quantity)} {length_text(m)}" for m in evidence.measurements]
    parts += [f"“{m.text}” {m.claimed}" for m in evidence.markings]
    parts += [f"{name(f.kind)}: {f.text}" for f in evidence.features]
    parts += [f"made {years_text(era.from_year, era.to_year)}" for era in evidence.eras]
    parts += [name(p.phrase_class) for p in evidence.key_phrases]
    if evidence.authenticity.label != "none":
        parts.append(f"authenticity {evidence.authenticity.label}")
    return "; ".join(parts)


EVIDENCE: tuple[Column[Evidence], ...] = (
    Column("id", "Id", lambda x: x.id, lambda x: x.id, 14),
    Column("measurements", "", _items("measurements")),
    Column("markings", "", _mentions("markings")),
    Column("eras", "", _mentions("eras")),
    Column("features", "", _items("features")),
    Column("authenticity", "", lambda x: x.authenticity.label),
    Column("key_phrases", "", _items("key_phrases")),
    Column("conditions", "", _items("conditions")),
    Column("colours", "", _items("colours")),
    Column("editions", "", _items("editions")),
    Column("authenticity_quoted", "", lambda x: plain(x.authenticity.quoted)),
    Column("", "What the listing says", lambda x: None, _told, 62),
)

ANSWERS = {
    "copy": "one picture",
    "same_piece": "one piece, two pictures",
    "alike": "alike, no more",
    "shared_overlay": "same frame or banner",
}

PHOTOS: tuple[Column[PhotoPair], ...] = (
    Column("a", "Photo", lambda x: x.a, lambda x: x.a),
    Column("b", "and photo", lambda x: x.b, lambda x: x.b),
    Column("score", "Score", lambda x: round(x.score, 4), lambda x: f"{x.score:.2f}"),
    Column("answer", "Answer", lambda x: x.answer, lambda x: ANSWERS.get(x.answer, x.answer)),
    Column("changes", "Changes", lambda x: list(x.changes), lambda x: ", ".join(x.changes)),
    Column("area_a", "", lambda x: plain(x.area_a)),
    Column("area_b", "", lambda x: plain(x.area_b)),
)


def _finding(finding: Finding) -> dict[str, Any]:
    keys = ("check", "point", "result", "strength", "stated", "expected", "why", "quoted")
    more = ("cause", "source", "explanations", "about")
    return {key: plain(getattr(finding, key)) for key in (*keys, *more)}


def _of_assessment(key: str) -> Column[Row]:
    return Column(key, "", lambda row: plain(getattr(row.assessment, key)))


RANK: tuple[Column[Row], ...] = (
    Column("id", "", lambda row: row.listing.id),
    Column("source", "", lambda row: row.listing.source),
    Column("line", "", lambda row: row.listing.line),
    Column("rank", "No", lambda row: row.rank, lambda row: str(row.rank), 4, right=True),
    Column(
        "next_step",
        "",
        lambda row: row.assessment.next_step,
        lambda row: GROUPS[row.assessment.next_step],
    ),
    Column("reason", "", lambda row: row.assessment.reason, lambda row: row.assessment.reason),
    Column(
        "risk",
        "Risk",
        lambda row: row.assessment.risk,
        lambda row: risk_text(row.assessment.risk),
        4,
        right=True,
    ),
    Column(
        "interval",
        "0 ── risk ── 1",
        lambda row: list(row.assessment.interval),
        lambda row: scale_text(row.assessment.risk, row.assessment.interval, 14),
        14,
    ),
    _of_assessment("score"),
    _of_assessment("steps"),
    Column(
        "", "Listing, and why it stands here", lambda row: None, lambda row: row.listing.title, 34
    ),
    Column("", "Price", lambda row: None, lambda row: price_text(row.listing), 9, right=True),
    Column(
        "completeness",
        "Told",
        lambda row: row.assessment.completeness,
        lambda row: completeness_text(row.assessment.completeness),
        4,
        right=True,
    ),
    Column(
        "reference",
        "",
        lambda row: row.assessment.reference,
        lambda row: row.assessment.reference or "",
    ),
    _of_assessment("edition"),
    _of_assessment("candidates"),
    Column("findings", "", lambda row: [_finding(f) for f in row.assessment.findings]),
    _of_assessment("shares_photo_with"),
    _of_assessment("questions"),
    Column("member", "", lambda row: row.listing.member),
    _of_assessment("outlook"),
    Column("places", "", lambda row: list(row.places) if row.places else None),
)

# the weekly review; a row is a `triage.week.WeekRow`
REVIEW: tuple[Column[Any], ...] = (
    Column("source", "", lambda row: row.told.source),
    Column("line", "", lambda row: row.told.line),
    Column("id", "", lambda row: row.told.id),
    Column("state", "", lambda row: row.told.state),
    Column("continues", "", lambda row: plain(row.told.continues)),
    Column("changed", "", lambda row: list(row.told.changed)),
    Column("asks_about", "", lambda row: row.told.asks_about),
    Column("changes", "", lambda row: plain(row.told.changes)),
    Column("reasons", "", lambda row: list(row.told.reasons)),
    Column("rank", "", lambda row: row.rank),
    Column("earlier_rank", "", lambda row: row.earlier_rank),
    Column("due", "", lambda row: row.standing.due),
    Column("step", "", lambda row: row.standing.step),
    Column("watched", "", lambda row: row.standing.watched),
)

COLUMNS: dict[str, tuple[Column[Any], ...]] = {
    "read": READ,
    "evidence": EVIDENCE,
    "photos": PHOTOS,
    "rank": RANK,
    "review": REVIEW,
}
