"""A run without its people: for a report that travels (Regulation (EU) 2016/679, art. 4(1))."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from extractors.records import Listing
from triage.run import Row, Run

T = TypeVar("T")

_FIELDS: dict[str, Any] = {
    "seller_id": None,
    "seller_name": None,
    "seller_feedback": None,
    "location": None,
    "url": None,
    "listing_id": None,
    "hidden_text": None,
    "photos": (),
    "missing_photos": (),
    "member": None,
    "origins": {},
}
# e-mail addresses, web addresses, handles and telephone numbers, wherever they stand
_CONTACT = re.compile(
    r"[\w.+-]+@[\w-]+(?:\.[\w-]+)*|(?:https?://|www\.)\S+|(?<!\w)@\w{2,}"
    r"|(?<![\w.,])(?:\+|00|0)\d(?:[ ()/.-]{0,2}\d){6,13}(?!\w)",
    re.IGNORECASE,
)


def leave_out_people(run: Run) -> Run:
    """The same run without sellers, places, links, contacts and photos.

    Names and contacts in the text are covered by blocks of the same length, so that quotations
    still point at their words. Listings go by their rank.
    """
    names = _names(row.listing for row in run.rows)
    covered = re.compile("|".join(map(re.escape, names)), re.IGNORECASE) if names else None
    plain_ids = {row.listing.id: f"listing {row.rank}" for row in run.rows}
    rows = tuple(_row(row, covered, plain_ids) for row in run.rows)
    problems = tuple(replace(problem, source="(a file)", member=None) for problem in run.problems)
    return replace(
        run, folder="", rows=rows, pairs=(), thumbnails={}, problems=problems, since={}, history={}
    )


def _names(listings: Iterable[Listing]) -> list[str]:
    """Seller names to cover, longest first; one of a letter or two would cover half the text."""
    known = tuple(listings)
    found = {
        name.strip()
        for listing in known
        for name in (listing.seller_name, listing.seller_id, listing.location)
        if name and len(name.strip()) > 2
    }
    # an id may hold the site's number of the listing, which leads to its seller
    found |= {x.id for x in known if len(x.id) > 5}
    found |= {x.listing_id for x in known if x.listing_id and len(x.listing_id) > 5}
    return sorted(found, key=lambda name: (-len(name), name))


def _row(row: Row, covered: re.Pattern[str] | None, plain_ids: Mapping[str, str]) -> Row:
    def cover(text: str) -> str:
        text = plain_ids.get(text, text)
        if covered is not None:
            text = covered.sub(_blocks, text)
        return _CONTACT.sub(_blocks, text)

    listing = replace(row.listing, **_FIELDS, source=plain_ids[row.listing.id])
    assessment = replace(
        row.assessment,
        findings=tuple(
            replace(f, quoted=tuple(span for span in f.quoted if span.part != "photo"))
            for f in row.assessment.findings
        ),
    )
    return Row(
        row.rank,
        _each_text(listing, cover),
        _each_text(row.evidence, cover),
        _each_text(assessment, cover),
        notes=_each_text(row.notes, cover),
    )


def _blocks(match: re.Match[str]) -> str:
    return "█" * len(match[0])


def _each_text(value: T, change: Any) -> T:
    """The same value with every text in it changed."""
    if isinstance(value, str):
        return change(value)  # type: ignore[no-any-return]
    if isinstance(value, tuple):
        return tuple(_each_text(item, change) for item in value)  # type: ignore[return-value]
    if isinstance(value, Mapping):
        return {key: _each_text(item, change) for key, item in value.items()}  # type: ignore[return-value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        parts = {
            f.name: _each_text(getattr(value, f.name), change) for f in dataclasses.fields(value)
        }
        return replace(value, **parts)
    return value
