"""Which of this week's listings continue a piece known from earlier weeks, and which are new.

A listing's number on its site is the first sign, pictures the second, words and seller the third;
a number given to another item, or pictures borrowed while the first listing is still for sale, do
not make two pieces one. What stays unclear becomes a question, never a silent merge.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal
from urllib.parse import unquote, urlsplit

import numpy as np
from rapidfuzz import fuzz

from extractors.records import Listing
from triage.carriers import are_saved_alike
from triage.readers.addresses import item_in
from triage.snapshots import stable_id

Kind = Literal["same_listing", "back_same_seller", "back_other_seller", "unclear"]

# a picture in this many pieces tells none of them apart (a stock picture, a size chart, a banner)
_SHARED_BY_MANY = 3
_ALIKE, _CLOSE, _UNLIKE = 0.75, 0.5, 0.4
_TELLING_DIGITS = 5
_CLEAR = 0.05  # two scores nearer than this tell nothing apart
_MADE = re.compile(r"[0-9a-f]{16}(?:-\d+)?")  # how ids look that are made, and some given ones
_IDS_HELD = 3  # so many ids found again show that they are a site's numbers
_OF_ONE = ("address ", "given ")  # keys that mean nothing where two of a week share them
_SAID_AGAIN = 0.9  # so much alike are texts that a shop took along under its new name
_RENAMED_TOGETHER = 2  # so many listings that change to one new name are a shop that renamed itself


@dataclass(frozen=True, slots=True)
class Known:
    """The latest snapshot of a piece from earlier weeks, and whether it had ended by then."""

    piece: int
    listing: Listing
    ended: bool


@dataclass(frozen=True, slots=True)
class Link:
    """How a listing of this week goes with a known piece, and why."""

    piece: int
    kind: Kind
    score: float
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Signs:
    """What two listings have in common, each sign from 0 to 1; None where one side is silent."""

    number: bool
    seller: bool | None
    photos: float | None
    shared: int  # so many telling pictures in common
    whole: bool  # both show the very same pictures, telling or not
    bare: bool  # neither shows a picture
    price: bool  # the same price
    title: float
    words: float
    told: bool  # both sides have a description; else `words` is that of the titles
    numbered: bool  # both sides show a number or address, so that these can differ


def plain(text: str) -> str:
    """Reduce a text to what a reader would call the same words.

    >>> plain("  Caf\\u00e9\\n frame ")
    'café frame'
    """
    if not text.isascii():
        text = unicodedata.normalize("NFKC", text)
    return " ".join(text.split()).casefold()


def number_keys(listing: Listing) -> tuple[str, ...]:
    """Give the keys under which a site, or who saved it, would know this listing again."""
    url, host, number = _numbers(listing)
    keys = [f"url {url}"] if url else []
    if url and (rest := beside_title(url, listing.title)):
        keys.append(f"address {host} {rest}")
    if number:
        keys += [f"number {host} {number}", f"hosted {number}"] if host else [f"bare {number}"]
    if is_given(listing):
        keys.append(f"given {listing.id}")
    return tuple(keys)


def asked_keys(listing: Listing) -> tuple[str, ...]:
    """Give the keys of known listings that this one may be."""
    _, host, number = _numbers(listing)
    keys = tuple(key for key in number_keys(listing) if not key.startswith("hosted "))
    # a note may give the number alone, a short one of which says nothing
    crossing = number and len(number) >= _TELLING_DIGITS
    return (*keys, f"bare {number}" if host else f"hosted {number}") if crossing else keys


@lru_cache(maxsize=1 << 16)
def beside_title(url: str, title: str) -> str:
    """What in an address tells listings apart: words with figures that are none of the title's.

    >>> beside_title("https://m.example/halvor-12-black-p4bd65-0.html", "Halvor 12 black frame")
    'p4bd65 0'
    """
    if not re.search(r"\d", url):
        return ""
    said = set(re.findall(r"[^\W_]+", _bare(title)))
    parts = urlsplit(url)
    steps = (re.findall(r"[^\W_]+", _bare(unquote(text))) for text in (parts.path, parts.query))
    told = (" ".join(w for w in s if w not in said and re.search(r"\d", w)) for s in steps)
    return next(filter(None, told), "")


def _bare(text: str) -> str:
    """A text as it stands in addresses: small letters without accents."""
    if text.isascii():
        return text.casefold()
    split = unicodedata.normalize("NFKD", text).casefold()
    return "".join(c for c in split if not unicodedata.combining(c))


def is_given(listing: Listing) -> bool:
    """Whether what was saved gave the listing its id, which else is made from what it says."""
    if not _MADE.fullmatch(listing.id):
        return bool(listing.id)
    if listing.url or listing.listing_id:
        return False  # by these it is known anyway
    made = stable_id(listing)
    return listing.id != made and not listing.id.startswith(f"{made}-")


def _numbers(listing: Listing) -> tuple[str | None, str | None, str | None]:
    """The address, if it leads to more than a site, the site, and the number there."""
    url, host, number = _places(listing.url) if listing.url else (None, None, None)
    return url, host, listing.listing_id or number


@lru_cache(maxsize=1 << 16)
def _places(address: str) -> tuple[str | None, str | None, str | None]:
    parts = urlsplit(address)
    leads = bool(parts.path.strip("/") or parts.query)
    # one site for large and small screens
    host = re.sub(r"^(?:www|m|mobile|amp)\.(?=.*\.)", "", parts.hostname or "") or None
    return (address, host, item_in(address)) if leads else (None, host, None)


def _numbers_differ(a: Listing, b: Listing) -> bool:
    """Whether a site calls two listings by different numbers or addresses."""
    (url, host, number), (other_url, other_host, other) = _numbers(a), _numbers(b)
    if number and other and (host == other_host or not (host and other_host)):
        return number != other
    return bool(url and other_url) and url != other_url


def link_week(
    known: Sequence[Known],
    week: Sequence[Listing],
    photo_keys: Mapping[str, str],
    catalogue: Iterable[str] = (),
) -> tuple[Link | None, ...]:
    """Link each listing of a week to the piece it continues; one piece to one listing at most.

    `photo_keys` maps the SHA-256 of a photo to a key shared by all copies of the same picture;
    `catalogue` holds the SHA-256 of pictures that tell no pieces apart.
    The result follows the order of `week` and does not depend on the order of `known`.
    """
    known = sorted(known, key=lambda k: k.piece)
    pictures = _Pictures(known, week, photo_keys, catalogue)
    first = _link_by_number(known, week, pictures, {})
    if moved := _renamed(known, week, first):
        first = _link_by_number(known, week, pictures, moved)
    # a piece still seen under its own number is taken: other listings of its pictures are reuse
    linked = {link.piece for link in first.values()}
    rest = [n for n in range(len(week)) if n not in first]
    free = [k for k in known if k.piece not in linked]
    ids_hold = _ids_hold(known, week, first)
    renamed = moved | _renamed_by_looks(known, week, pictures)
    later = _link_by_looks(known, free, week, rest, pictures, renamed, ids_hold)
    return tuple(first.get(n) or later.get(n) for n in range(len(week)))


class _Pictures:
    """The telling pictures of every listing, as keys."""

    def __init__(
        self,
        known: Sequence[Known],
        week: Sequence[Listing],
        photo_keys: Mapping[str, str],
        catalogue: Iterable[str],
    ) -> None:
        self._keys = photo_keys
        spread = Counter(key for k in known for key in self.all_of(k.listing))
        now = Counter(key for listing in week for key in self.all_of(listing))
        self._common = {
            key for key in spread | now if max(spread[key], now[key]) >= _SHARED_BY_MANY
        } | {photo_keys.get(sha, sha) for sha in catalogue}

    def all_of(self, listing: Listing) -> frozenset[str]:
        """The keys of all pictures of a listing."""
        return frozenset(self._keys.get(p.sha256, p.sha256) for p in listing.photos)

    def of(self, listing: Listing) -> frozenset[str]:
        """The keys of a listing's pictures that are not shared by many pieces."""
        return self.all_of(listing) - self._common

    def overlap(self, a: Listing, b: Listing) -> float | None:
        """The share of the smaller set in common; None where that tells nothing."""
        mine, other = self.of(a), self.of(b)
        if mine and other:
            return len(mine & other) / min(len(mine), len(other))
        everything = self.all_of(a), self.all_of(b)
        return 0.0 if all(everything) and not everything[0] & everything[1] else None


def _seller(listing: Listing) -> str | None:
    name = listing.seller_id or listing.seller_name
    return plain(name) if name else None


def _same_seller(a: Listing, b: Listing, renamed: Mapping[str, str]) -> bool | None:
    """Whether the sellers are one, by id or name; None where a side names none."""
    # a page may show the id where an export has the name
    ids, names = (
        {plain(x) for x in pair if x}
        for pair in ((a.seller_id, b.seller_id), (a.seller_name, b.seller_name))
    )
    if a.seller_id and b.seller_id and len(ids) == 1:
        return True
    if a.seller_name and b.seller_name and not (a.seller_id and b.seller_id) and len(names) == 1:
        return True
    one, other = _seller(a), _seller(b)
    if one is None or other is None:
        return None
    return one == other or renamed.get(one) == other


def _signs(
    a: Listing,
    b: Listing,
    pictures: _Pictures,
    number: bool,
    renamed: Mapping[str, str] | None = None,
    ids_hold: bool = False,
) -> _Signs:
    title = fuzz.token_sort_ratio(plain(a.title), plain(b.title)) / 100
    told = bool(a.description and b.description)
    return _Signs(
        number,
        _same_seller(a, b, renamed or {}),
        pictures.overlap(a, b),
        len(pictures.of(a) & pictures.of(b)),
        bool(a.photos) and pictures.all_of(a) == pictures.all_of(b),
        not a.photos and not b.photos,
        a.price is not None and a.price == b.price,
        title,
        _words_alike(a, b) if told else title,
        told,
        all(is_numbered(x) or (ids_hold and is_given(x)) for x in (a, b)),
    )


def _words_alike(a: Listing, b: Listing) -> float:
    one, other = plain(a.text)[:4000], plain(b.text)[:4000]
    alike = fuzz.token_sort_ratio(one, other)
    if not are_saved_alike(a, b):  # one form of saving may show less of a text than another
        alike = max(alike, 0.97 * fuzz.token_set_ratio(one, other))
    return alike / 100


def is_numbered(listing: Listing) -> bool:
    """Whether an address or a site's number is known."""
    url, _, number = _numbers(listing)
    return bool(url or number)


def _ids_hold(known: Sequence[Known], week: Sequence[Listing], links: Mapping[int, Link]) -> bool:
    """Whether the ids given with listings stay with them from week to week, as a site's do."""
    ids = {k.piece: k.listing.id for k in known if is_given(k.listing)}
    kept = sum(ids.get(link.piece) == week[n].id for n, link in links.items())
    return kept >= _IDS_HELD and 2 * kept >= sum(map(is_given, week))


def _renamed(
    known: Sequence[Known], week: Sequence[Listing], links: Mapping[int, Link]
) -> dict[str, str]:
    """Old name -> new name of sellers whose listings, known by number, went to a new name."""
    before = {k.piece: _seller(k.listing) for k in known}
    names = [
        (before[link.piece], _seller(week[n]))
        for n, link in links.items()
        if link.kind == "same_listing"
    ]
    kept = {old for old, new in names if old == new}
    moved = Counter((old, new) for old, new in names if old and new and old not in kept)
    return {old: new for (old, new), count in moved.items() if count >= _RENAMED_TOGETHER}


def _renamed_by_looks(
    known: Sequence[Known], week: Sequence[Listing], pictures: _Pictures
) -> dict[str, str]:
    """Old name -> new name of sellers of whom most is offered under a name that is new.

    For listings without numbers. Nothing must be left under the old name: a borrower copies some.
    """
    before, now = Counter(_seller(k.listing) for k in known if not k.ended), {*map(_seller, week)}
    fresh = [x for x in week if _seller(x) and _seller(x) not in before]
    by_picture: dict[str, list[Listing]] = defaultdict(list)
    for listing in fresh:
        for key in pictures.of(listing):
            by_picture[key].append(listing)
    moved: Counter[tuple[str, str]] = Counter()
    for k in (k for k in known if not k.ended and _seller(k.listing) not in now):
        alike = {_seller(x) for key in pictures.of(k.listing) for x in by_picture[key]
                 if (pictures.overlap(k.listing, x) or 0) >= 0.5
                 and _words_alike(k.listing, x) >= _SAID_AGAIN}  # fmt: skip
        moved.update((old, new) for new in alike if new and (old := _seller(k.listing)))
    return {
        old: new
        for (old, new), count in moved.items()
        if count >= _RENAMED_TOGETHER and 3 * count >= 2 * before[old]
    }


# --- the same number ---------------------------------------------------------------------------


def _link_by_number(
    known: Sequence[Known],
    week: Sequence[Listing],
    pictures: _Pictures,
    renamed: Mapping[str, str],
) -> dict[int, Link]:
    by_number: dict[str, list[Known]] = defaultdict(list)
    for k in known:
        for key in number_keys(k.listing):
            by_number[key].append(k)
    asked = [asked_keys(listing) for listing in week]
    # what of an address two listings share is no number: that of a shop, or of a kind
    shared = Counter(key for keys in asked for key in keys if key.startswith(_OF_ONE))
    wanted = []
    for n, listing in enumerate(week):
        keys = [key for key in asked[n] if shared[key] < 2]
        near = {
            k.piece: k for key in keys for k in by_number[key] if not _is_denied(key, k, listing)
        }
        for k in near.values():
            signs = _signs(k.listing, listing, pictures, True, renamed)
            if kind := _kind_by_number(signs):
                wanted.append((n, Link(k.piece, kind, _score(signs), _why(signs))))
    return _assign(wanted)


def _is_denied(key: str, known: Known, listing: Listing) -> bool:
    """Whether a given id is one, but the site's numbers are two: ids may count a folder's rows."""
    return key.startswith("given ") and _numbers_differ(known.listing, listing)


def _kind_by_number(signs: _Signs) -> Kind | None:
    """What one number makes of two listings: a site may give a number to another item."""
    alike = max(signs.title, signs.words)
    if signs.photos == 0:  # every picture is another one
        # shop phrases make the words of two items alike, so the title must hold too
        if signs.words >= 0.95 and signs.told:
            return "same_listing"
        is_kept = signs.price or signs.words >= _SAID_AGAIN
        if signs.seller is not False and signs.title >= 0.9 and signs.words >= _CLOSE:
            return "same_listing" if is_kept else "unclear"
        return "unclear" if signs.seller is not False and alike >= _ALIKE else None
    if signs.photos is None:
        return _kind_without_pictures(signs, alike)
    if signs.seller is False and signs.shared < 2 and alike < _ALIKE:
        return "unclear"
    # a picture or two in common, all else another: a shop's banner, or the piece written up anew
    if signs.shared < 2 and alike < _CLOSE and not signs.whole:
        return "unclear"
    return "same_listing" if signs.photos >= 0.5 or alike >= _ALIKE else "unclear"


def _kind_without_pictures(signs: _Signs, alike: float) -> Kind | None:
    """The same where no picture tells: by words, or by price and seller where words are few."""
    if signs.seller is False:
        return "same_listing" if alike >= 0.9 else None
    if alike >= _ALIKE or (signs.whole and signs.seller):
        return "same_listing"
    if signs.seller and signs.price:
        # where nothing but a title is said, its being rewritten is all there is against it
        return "same_listing" if alike >= _UNLIKE or not signs.told else "unclear"
    return "unclear" if alike >= _CLOSE else None


# --- another number ----------------------------------------------------------------------------


def _text_of(listing: Listing) -> tuple[str | None, str]:
    return _seller(listing), plain(listing.description)


def _link_by_looks(
    known: Sequence[Known],
    free: Sequence[Known],
    week: Sequence[Listing],
    rest: Sequence[int],
    pictures: _Pictures,
    renamed: Mapping[str, str],
    ids_hold: bool,
) -> dict[int, Link]:
    by_picture: dict[str, set[int]] = defaultdict(set)
    by_seller: dict[str, set[int]] = defaultdict(set)
    for place, k in enumerate(free):
        for key in pictures.of(k.listing):
            by_picture[key].add(place)
        for seller in names_of(k.listing):
            by_seller[renamed.get(seller, seller)].add(place)
    texts = Counter(_text_of(k.listing) for k in known)
    wanted = []
    for n in rest:
        near = {place for seller in names_of(week[n]) for place in by_seller.get(seller, ())}
        near |= {place for key in pictures.of(week[n]) for place in by_picture.get(key, ())}
        links = []
        for place in sorted(near):
            k = free[place]
            signs = _signs(k.listing, week[n], pictures, False, renamed, ids_hold)
            if kind := _kind_by_looks(signs, k.ended, texts[_text_of(k.listing)] < 2):
                links.append(Link(k.piece, kind, _score(signs), _why(signs)))
        wanted += [(n, link) for link in _told_apart(links)]
    return _assign(wanted)


def names_of(listing: Listing) -> set[str]:
    """The id and name of the seller, as a reader would call them the same."""
    return {plain(name) for name in (listing.seller_id, listing.seller_name) if name}


def _told_apart(links: list[Link]) -> list[Link]:
    """A link that another one is as good as is a question: the texts of one seller may be alike."""
    best = sorted((link.score for link in links), reverse=True)
    if len(best) < 2 or best[0] - best[1] > _CLEAR:
        return links
    return [replace(x, kind="unclear") if x.score >= best[0] - _CLEAR else x for x in links]


def _kind_by_looks(signs: _Signs, ended: bool, is_one_of_a_kind: bool) -> Kind | None:
    """What pictures, words and seller make of two listings of different numbers, or of none.

    `is_one_of_a_kind`: nothing else was offered in the words of the earlier one.
    """
    shown = signs.photos or 0.0
    alike = max(signs.title, signs.words)
    # one picture of a table or a box may stand in two listings of a shop
    is_sure = alike >= _ALIKE or (signs.shared > 1 and (shown > 0.5 or alike >= _CLOSE))
    if signs.seller is not False and shown >= 0.5:
        if not is_sure:
            return "unclear"
        return "back_same_seller" if signs.numbered else "same_listing"
    if signs.seller is False and shown >= 0.5:
        return "back_other_seller" if ended and is_sure else "unclear"
    if signs.seller and signs.photos is None and not signs.numbered and signs.title >= 0.9:
        return "same_listing" if signs.words >= 0.8 else None
    if not signs.seller or signs.words < 0.97:
        return None
    # the very words of one seller with other pictures: the same piece taken anew, or another one
    is_told = ended and signs.bare and signs.told and signs.title >= _ALIKE and is_one_of_a_kind
    return "back_same_seller" if is_told and signs.numbered else "unclear"


# --- choosing ----------------------------------------------------------------------------------


def _score(signs: _Signs) -> float:
    photos = 0.0 if signs.photos is None else 4 * signs.photos - 1
    seller = {True: 1.0, False: -1.0, None: 0.0}[signs.seller]
    return 3.0 * signs.number + photos + seller + signs.title + 2 * signs.words


def _why(signs: _Signs) -> tuple[str, ...]:
    reasons = ["same number on the site"] if signs.number else []
    if signs.photos:
        reasons.append(f"{signs.photos:.0%} of the smaller set of pictures in common")
    if signs.seller is not None:
        reasons.append("same seller" if signs.seller else "another seller")
    reasons.append(f"words {signs.words:.0%} alike")
    return tuple(reasons)


def _assign(wanted: Iterable[tuple[int, Link]]) -> dict[int, Link]:
    """Choose at most one link per listing and per piece so that the scores' sum is greatest."""
    wanted = list(wanted)
    if not wanted:
        return {}
    rows = sorted({n for n, _ in wanted})
    result: dict[int, Link] = {}
    for group_rows, links in _separate(rows, wanted):
        result |= _assign_group(group_rows, links)
    return result


def _separate(
    rows: Sequence[int], wanted: Sequence[tuple[int, Link]]
) -> Iterable[tuple[list[int], list[tuple[int, Link]]]]:
    """Split into groups that compete for the same pieces, so that each stays small."""
    parent: dict[tuple[str, int], tuple[str, int]] = {}

    def top(node: tuple[str, int]) -> tuple[str, int]:
        while parent.setdefault(node, node) != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    for n, link in wanted:
        parent[top(("listing", n))] = top(("piece", link.piece))
    groups: dict[tuple[str, int], list[tuple[int, Link]]] = defaultdict(list)
    for n, link in wanted:
        groups[top(("listing", n))].append((n, link))
    for links in groups.values():
        yield sorted({n for n, _ in links}), links


def _assign_group(rows: list[int], links: list[tuple[int, Link]]) -> dict[int, Link]:
    if len(links) == 1:
        return dict(links)
    from scipy.optimize import linear_sum_assignment  # takes half a second, and is seldom needed

    pieces = sorted({link.piece for _, link in links})
    gain = np.zeros((len(rows), len(pieces)))
    chosen = {(n, link.piece): link for n, link in links}
    for (n, piece), link in chosen.items():
        gain[rows.index(n), pieces.index(piece)] = max(link.score, 0) + 1e-6
    pairs = zip(*linear_sum_assignment(gain, maximize=True), strict=True)
    found = ((rows[r], pieces[c]) for r, c in pairs)
    return {n: chosen[n, piece] for n, piece in found if (n, piece) in chosen}
