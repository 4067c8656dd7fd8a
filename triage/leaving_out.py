"""A run without its people: for a report that travels (Regulation (EU) 2016/679, art. 4(1))."""

from __future__ import annotations

import csv
import dataclasses
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import cache
from importlib import resources
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


NAME_WORDS = 4  # a longer value of such a label is a text, not a name


@cache
def _seller_label() -> re.Pattern[str]:
    text = resources.files("triage").joinpath("seller_words.csv").read_text(encoding="utf-8")
    words = {_bare(row["word"]) for row in csv.DictReader(text.splitlines())}
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, sorted(words)))})(?:in|s|es)?\b")


def _bare(text: str) -> str:
    """A text in small letters without accents."""
    split = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in split if not unicodedata.combining(c))


def is_of_seller(label: str) -> bool:
    """Whether a detail under this label says who sells, or how to reach them.

    >>> is_of_seller("Name der Verkäuferin"), is_of_seller("Sold by"), is_of_seller("Bridge")
    (True, True, False)
    """
    return _seller_label().search(_bare(label)) is not None


def names_in(listing: Listing) -> frozenset[str]:
    """Every name that a listing has for its seller; one of a letter or two is none."""
    told = [value for label, value in listing.specifics if is_of_seller(label)]
    told = [value for value in told if len(value.split()) <= NAME_WORDS]
    told += [name for name in (listing.seller_name, listing.seller_id) if name]
    return frozenset(name.strip() for name in told if len(name.strip()) > 2)


def covering(names: Iterable[str]) -> Callable[[str], str]:
    """What covers these names, and contacts, in a text by blocks of the same length."""
    ordered = sorted(names, key=lambda name: (-len(name), name))
    known = re.compile("|".join(map(re.escape, ordered)), re.IGNORECASE) if ordered else None

    def cover(text: str) -> str:
        return _CONTACT.sub(_blocks, known.sub(_blocks, text) if known else text)

    return cover


def leave_out_people(run: Run) -> Run:
    """The same run without sellers, places, links, contacts and photos.

    Names and contacts in the text are covered by blocks of the same length, so that quotations
    still point at their words. Listings go by their rank.
    """
    covered = covering(_names(row.listing for row in run.rows))
    plain_ids = {row.listing.id: f"listing {row.rank}" for row in run.rows}
    rows = tuple(_row(row, covered, plain_ids) for row in run.rows)
    problems = tuple(replace(problem, source="(a file)", member=None) for problem in run.problems)
    return replace(
        run, folder="", rows=rows, pairs=(), thumbnails={}, problems=problems, since={}, history={}
    )


def _names(listings: Iterable[Listing]) -> set[str]:
    """Names and places to cover; one of a letter or two would cover half the text."""
    known = tuple(listings)
    found = {
        listing.location.strip()
        for listing in known
        if listing.location and len(listing.location.strip()) > 2
    }
    found |= {name for listing in known for name in names_in(listing)}
    # an id may hold the site's number of the listing, which leads to its seller
    found |= {x.id for x in known if len(x.id) > 5}
    found |= {x.listing_id for x in known if x.listing_id and len(x.listing_id) > 5}
    return found


def _row(row: Row, covered: Callable[[str], str], plain_ids: Mapping[str, str]) -> Row:
    def cover(text: str) -> str:
        return covered(plain_ids.get(text, text))

    told = tuple(pair for pair in row.listing.specifics if not is_of_seller(pair[0]))
    listing = replace(row.listing, **_FIELDS, specifics=told, source=plain_ids[row.listing.id])
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
        places=row.places,
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
