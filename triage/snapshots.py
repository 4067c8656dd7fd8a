"""One listing, saved more than once: which saves belong together, and which is the current one.

Identity, in this order: the canonical address; the site's listing id together with the site or
the seller; else the content. Two pages of different sellers are never one listing.

A page writes its own canonical address, so it may write another listing's. Browsers and archives
say where it was saved from; where that is another listing's address or another site, it holds.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple
from urllib.parse import urlsplit

from extractors.records import Listing, Problem
from triage.carriers import are_saved_alike, form_of
from triage.readers.addresses import canonical_url, item_in


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
    url = listing.saved_from if _is_saved_from_another(listing) else listing.url
    if (address := _address(url)) is not None:
        return ("url", address)
    seller = (listing.seller_id or listing.seller_name or "").casefold()
    if listing.listing_id:
        return ("number", listing.listing_id.casefold(), seller)
    photos = [p.sha256 for p in listing.photos[:3]]
    words = " ".join(re.findall(r"\w+", f"{listing.title}\n{listing.description}".casefold()))
    if not words and not photos:
        return ("file", listing.source, listing.member or "", str(listing.line or ""))
    return ("content", seller, words, *([] if words else photos))


def _address(url: str | None) -> str | None:
    """The canonical address below a site's front page, or None."""
    canonical = canonical_url(url) if url else None
    if canonical is None or not urlsplit(canonical).path.strip("/") + urlsplit(canonical).query:
        return None
    return _without_scheme(canonical)


def _without_scheme(url: str) -> str:
    """http and https, with and without "www.", large and small screens, a slash or not: all one."""
    return _wide(re.sub(r"^https?://(?:www\.)?", "", url)).rstrip("/")


def _is_saved_from_another(listing: Listing) -> bool:
    """Say whether a page was saved from another site, or under another number, than it claims."""
    if not _is_saved_elsewhere(listing):
        return False
    claimed, carried = listing.url or "", listing.saved_from or ""
    return not _is_one_site(claimed, carried) or item_in(carried) is not None


def _is_saved_elsewhere(listing: Listing) -> bool:
    """Say whether a page was saved from an address that may be another than the one it claims.

    Hosts for small screens, and words beside the same number, are no other address.
    """
    if listing.saved_from in (None, listing.url):
        return False
    claimed, carried = _address(listing.url), _address(listing.saved_from)
    if claimed is None or carried is None or _wide(claimed) == _wide(carried):
        return False
    own, other = listing.saved_from or "", listing.url or ""
    number = item_in(own)
    return number is None or number != item_in(other) or not _is_one_site(own, other)


def _wide(address: str) -> str:
    return re.sub(r"^(?:m|mobile)\.", "", address)


def _is_one_site(one: str, other: str) -> bool:
    """Say whether two addresses lie on one host, or on one and a part of it ("de.shop.example")."""
    hosts = (_wide(re.sub("^www\\.", "", urlsplit(a).hostname or "")) for a in (one, other))
    short, long = sorted(hosts, key=len)
    return short == long or ("." in short and long.endswith("." + short))


def merge_snapshots(
    listings: Iterable[Listing], modified: Mapping[str, float] | None = None
) -> tuple[Snapshots, ...]:
    """Group saves of the same listing; order as each first comes.

    The save with the latest `date_saved` is current; without dates the file changed last
    (`modified`: source -> seconds), then the later one in order. A given id stays.
    """
    times = modified or {}
    groups: dict[tuple[str, ...], list[_Saves]] = {}
    numbers: dict[tuple[str, ...], tuple[str, ...]] = {}
    listings = tuple(listings)
    given = _given_by_identity(listings)
    for position, listing in enumerate(listings):
        key = _given(listing) or _key(listing, numbers)
        key = given.get(key, key)
        _join(position, listing, groups.setdefault(key, []))
    found = sorted(
        (saves.rows for same in groups.values() for saves in same), key=lambda r: r[0][0]
    )
    return tuple(_sorted_saves(rows, times) for rows in found)


class _Saves(NamedTuple):
    """Saves of one listing with their places, and one of each that differ in what tells apart."""

    rows: list[tuple[int, Listing]]
    unlike: dict[tuple[object, ...], Listing]


def _told_apart_by(listing: Listing) -> tuple[object, ...]:
    """All that `_are_apart` looks at: saves alike in it need not be compared one by one."""
    return (
        *(listing.seller_id, listing.seller_name, listing.listing_id, listing.id),
        *(listing.url, listing.saved_from, listing.title, listing.description),
        *(form_of(listing), *sorted(_photos(listing))),
    )


def _join(position: int, listing: Listing, groups: list[_Saves]) -> None:
    """Put a listing to the saves that it joins, or begin new ones.

    A page that states another listing's address or number, and another seller, is another listing:
    else it could take its place.
    """
    mark = _told_apart_by(listing)
    for saves in groups:
        if mark in saves.unlike or not any(
            _are_apart(listing, other) for other in saves.unlike.values()
        ):
            saves.rows.append((position, listing))
            saves.unlike.setdefault(mark, listing)
            return
    groups.append(_Saves([(position, listing)], {mark: listing}))


def _are_apart(one: Listing, other: Listing) -> bool:
    """Say whether two listings of one stated identity are two after all."""
    if have_other_sellers(one, other) or have_other_numbers(one, other):
        return True
    if _are_pieces_alike(one, other):
        return True
    if _have_one_seller(one, other):
        return _are_doubtful(one, other) and not _show_the_same(one, other)
    return _are_doubtful(one, other) or _share_nothing(one, other)


def _are_pieces_alike(one: Listing, other: Listing) -> bool:
    """Say whether two listings in the very same words, without a number, show other pictures.

    A seller may offer several pieces in one text. Another form of saving may store a picture anew.
    """
    mine, theirs = _photos(one), _photos(other)
    if not (mine and theirs) or mine & theirs or not are_saved_alike(one, other):
        return False
    return not any(_given(x) or identity(x)[0] != "content" for x in (one, other))


def _are_doubtful(one: Listing, other: Listing) -> bool:
    """Say whether one of two was saved from an address that is neither its own nor the other's."""
    if not (_is_saved_elsewhere(one) or _is_saved_elsewhere(other)):
        return False
    places = [_address(x.saved_from) or _address(x.url) for x in (one, other)]
    return places[0] != places[1]


def _have_one_seller(one: Listing, other: Listing) -> bool:
    """Say whether both state a seller; that they are not two is known."""
    pairs = ((one.seller_id, other.seller_id), (one.seller_name, other.seller_name))
    return any(a and b for a, b in pairs)


def _show_the_same(one: Listing, other: Listing) -> bool:
    """Say whether two listings have a photo or all words of the title in common."""
    titles = [_title_words(x) for x in (one, other)]
    return bool(_photos(one) & _photos(other)) or (bool(titles[0]) and titles[0] == titles[1])


def _share_nothing(one: Listing, other: Listing) -> bool:
    """Say whether two listings have titles without one word in common, and no photo either."""
    titles = [set(_title_words(x)) for x in (one, other)]
    return all(titles) and not titles[0] & titles[1] and not _photos(one) & _photos(other)


def _title_words(listing: Listing) -> list[str]:
    return re.findall(r"\w+", listing.title.casefold())


def _photos(listing: Listing) -> set[str]:
    return {photo.sha256 for photo in listing.photos}


def false_claims(saved: Iterable[Snapshots]) -> tuple[Problem, ...]:
    """Name the pages that claim the address of another saved listing and were kept apart."""
    groups = [(one.current, *one.earlier) for one in saved]
    homes: dict[str, list[int]] = {}
    for place, group in enumerate(groups):
        for address in dict.fromkeys(k[1] for k in map(identity, group) if k[0] == "url"):
            homes.setdefault(address, []).append(place)
    owners = {
        address: _owner(address, [(n, groups[n]) for n in at]) for address, at in homes.items()
    }
    return tuple(
        Problem(listing.source, listing.member, _CLAIM, "look at both, each by its own address")
        for place, group in enumerate(groups)
        for listing in group
        if listing.line is None and owners.get(_address(listing.url) or "", place) != place
    )


def _owner(address: str, claims: list[tuple[int, tuple[Listing, ...]]]) -> int:
    """Tell whose an address is: theirs who were saved from it, else who comes first."""
    for place, group in claims:
        if any(_address(x.saved_from) == address for x in group):
            return place
    certain = (p for p, group in claims if not any(map(_is_saved_elsewhere, group)))
    return next(certain, claims[0][0])


_CLAIM = "claims the address of another saved listing, kept apart"


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


def _given_by_identity(listings: Iterable[Listing]) -> dict[tuple[str, ...], tuple[str, ...]]:
    """Address or number -> the given id that stands with it, of listings that were given one.

    So an export's row and a saved page, which gives none, are saves of one listing.
    """
    found: dict[tuple[str, ...], set[tuple[str, ...]]] = {}
    for listing in listings:
        given, key = _given(listing), identity(listing)
        if given and key[0] in ("url", "number"):
            found.setdefault(key, set()).add(given)
    return {key: min(ids) for key, ids in found.items() if len(ids) == 1}


def _key(listing: Listing, numbers: dict[tuple[str, ...], tuple[str, ...]]) -> tuple[str, ...]:
    """The identity; one known by its number joins what is known by address and number."""
    key = identity(listing)
    seller = (listing.seller_id or listing.seller_name or "").casefold()
    if not listing.listing_id or not seller or _is_saved_from_another(listing):
        return key
    number = ("number", listing.listing_id.casefold(), seller)
    known = numbers.setdefault(number, key)
    return key if _are_two_numbers(known, key) else known


def _are_two_numbers(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    """Say whether two identities are addresses with numbers of their own that differ."""
    if one == other or (one[0], other[0]) != ("url", "url"):
        return False
    a, b = (item_in(f"https://{key[1]}") for key in (one, other))
    return None not in (a, b) and a != b


def _sorted_saves(rows: list[tuple[int, Listing]], times: Mapping[str, float]) -> Snapshots:
    ordered = sorted(
        rows,
        key=lambda row: (row[1].date_saved or "", times.get(row[1].source, 0.0), row[0]),
        reverse=True,
    )
    current, *earlier = (listing for _, listing in ordered)
    given = [listing.id for _, listing in rows if _given(listing)]
    if not _given(current):
        current = replace(current, id=given[0] if given else stable_id(current))
    return Snapshots(current, tuple(earlier))
