"""One listing, saved more than once: which saves belong together, and which is the current one.

Identity, in this order: the canonical address; the site's listing id together with the site or
the seller; else the content. Two pages of different sellers are never one listing.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from urllib.parse import urlsplit

from extractors.records import Listing
from triage.readers.addresses import canonical_url


@dataclass(frozen=True, slots=True)
class Snapshots:
    """All saves of one listing, the current one first."""

    current: Listing
    earlier: tuple[Listing, ...] = ()


def stable_id(listing: Listing) -> str:
    """The same 16 hex digits for the same listing, however and whenever it was saved.

    >>> one = Listing("", "a.html", url="https://m.example/itm/1?utm_source=x")
    >>> stable_id(one) == stable_id(replace(one, source="b.html", url="https://m.example/itm/1"))
    True
    """
    return hashlib.sha256("\0".join(identity(listing)).encode("utf-8", "replace")).hexdigest()[:16]


def identity(listing: Listing) -> tuple[str, ...]:
    """What tells a listing from every other."""
    url = canonical_url(listing.url) if listing.url else None
    if url is not None and urlsplit(url).path.strip("/") + urlsplit(url).query:
        return ("url", _without_scheme(url))
    seller = (listing.seller_id or listing.seller_name or "").casefold()
    if listing.listing_id:
        return ("number", listing.listing_id.casefold(), seller)
    photos = [p.sha256 for p in listing.photos[:3]]
    words = " ".join(re.findall(r"\w+", f"{listing.title}\n{listing.description}".casefold()))
    if not words and not photos:
        return ("file", listing.source, listing.member or "", str(listing.line or ""))
    return ("content", seller, words, *([] if words else photos))


def _without_scheme(url: str) -> str:
    """http and https, with and without "www.", a closing slash or not, are one address."""
    return re.sub(r"^https?://(?:www\.)?", "", url).rstrip("/")


def merge_snapshots(
    listings: Iterable[Listing], modified: Mapping[str, float] | None = None
) -> tuple[Snapshots, ...]:
    """Group saves of the same listing; order as each first comes.

    The save with the latest `date_saved` is current; without dates the file changed last
    (`modified`: source -> seconds), then the later one in order. A given id stays.
    """
    times = modified or {}
    groups: dict[tuple[str, ...], list[list[tuple[int, Listing]]]] = {}
    numbers: dict[tuple[str, ...], tuple[str, ...]] = {}
    for position, listing in enumerate(listings):
        key = _given(listing) or _key(listing, numbers)
        _group_of(listing, groups.setdefault(key, [])).append((position, listing))
    found = sorted((rows for same in groups.values() for rows in same), key=lambda rows: rows[0][0])
    return tuple(_sorted_saves(rows, times) for rows in found)


def _group_of(
    listing: Listing, groups: list[list[tuple[int, Listing]]]
) -> list[tuple[int, Listing]]:
    """Find the saves that a listing joins, or begin new ones.

    A page that states another listing's address or number, and another seller, is another listing:
    else it could take its place.
    """
    for rows in groups:
        if not any(
            have_other_sellers(listing, other) or have_other_numbers(listing, other)
            for _, other in rows
        ):
            return rows
    groups.append([])
    return groups[-1]


def have_other_sellers(one: Listing, other: Listing) -> bool:
    """Say whether two listings state sellers that are not the same; what is not stated is open."""
    for a, b in ((one.seller_id, other.seller_id), (one.seller_name, other.seller_name)):
        if a and b:
            return a.casefold() != b.casefold()
    return False


def have_other_numbers(one: Listing, other: Listing) -> bool:
    """Say whether two listings state numbers of the site's that are not the same."""
    stated = (one.listing_id, other.listing_id)
    return all(stated) and one.listing_id != other.listing_id


def _given(listing: Listing) -> tuple[str, ...] | None:
    return ("given", listing.id) if listing.id and listing.id != stable_id(listing) else None


def _key(listing: Listing, numbers: dict[tuple[str, ...], tuple[str, ...]]) -> tuple[str, ...]:
    """The identity; one known by its number joins what is known by address and number."""
    key = identity(listing)
    seller = (listing.seller_id or listing.seller_name or "").casefold()
    if not listing.listing_id or not seller:
        return key
    number = ("number", listing.listing_id.casefold(), seller)
    return numbers.setdefault(number, key)


def _sorted_saves(rows: list[tuple[int, Listing]], times: Mapping[str, float]) -> Snapshots:
    ordered = sorted(
        rows,
        key=lambda row: (row[1].date_saved or "", times.get(row[1].source, 0.0), row[0]),
        reverse=True,
    )
    current, *earlier = (listing for _, listing in ordered)
    if not current.id:
        current = replace(current, id=stable_id(current))
    return Snapshots(current, tuple(earlier))
