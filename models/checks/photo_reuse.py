"""Photos of a listing that other sellers show too: where seen earliest, and for the same reference?

A seller's own relisting is no finding. A pair of pictures says nothing about who took them, so the
innocent explanations are part of every finding. A catalogue picture that the buyer knows is a
weaker statement of its own: it shows the model, and nothing of the piece.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from extractors.photos.holders import each_with_each
from extractors.records import Listing, Photo, Span
from models.checks.corpus import Corpus, Examined
from models.counts import count_text
from models.records import Finding, Strength

CHECK = "photo_reuse"
CATALOGUE_CHECK = "catalogue_picture"
POINT = "photos"
CODES = (
    (CHECK, "conflicts", "hard"),
    (CHECK, "conflicts", "soft"),
    (CHECK, "conflicts", "clue"),
    (CATALOGUE_CHECK, "undecided", "clue"),
)
MANY_SELLERS = 4  # as many others showing one picture: it looks like a catalogue picture
_MOST_NAMED = 3
_INNOCENT = (
    "one owner selling in two places, or under two names",
    "an agent selling for the owner",
    "a piece sold on together with its pictures",
)
_CATALOGUE = "a maker's or a dealer's catalogue picture that many use"
_SHOWN_FOR_THE_MODEL = "the seller shows the model by a catalogue picture, and has the piece"
_UNNAMED = "a seller is not named: both listings may be by one seller"


@dataclass(frozen=True)
class _Share:
    """One photo of `mine` and one of `other` that show the same picture; `many` show it.

    `detail` is how many pixels a side mine has for one of theirs where both show the same; 1.0
    where that is not known.
    """

    mine: Photo
    other: Examined
    changes: tuple[str, ...]
    many: bool
    detail: float = 1.0


def check_photo_reuse(corpus: Corpus) -> dict[str, tuple[Finding, ...]]:
    """One finding for each listing whose photos other sellers show, naming them in `about`, and
    one for each that shows catalogue pictures.
    """
    shares = _shares(corpus)
    found = {}
    for one in corpus.examined:
        own = shares.get(one.listing.id, [])
        findings = [_finding(one, own, corpus.known)] if own else []
        findings += _catalogue_findings(one, corpus.known)
        if findings:
            found[one.listing.id] = tuple(findings)
    return found


def _catalogue_findings(one: Examined, known: Mapping[str, str]) -> list[Finding]:
    """What is said of the photos that the buyer knows from a catalogue; nothing if none is."""
    photos = [photo for photo in one.listing.photos if photo.sha256 in known]
    if not photos:
        return []
    names = sorted({known[photo.sha256] for photo in photos})
    every = len(photos) == len(one.listing.photos)
    rest = "no photo shows the piece itself" if every else "the other photos may show the piece"
    why = (
        f"{len(photos)} of {len(one.listing.photos)} photos are catalogue pictures that you know "
        f"({', '.join(names)}); {rest}"
    )
    return [
        Finding(
            CATALOGUE_CHECK,
            POINT,
            "undecided",
            "clue",
            why,
            quoted=tuple(Span("photo", place_of(photo), 0, 0, "") for photo in photos),
            cause=CATALOGUE_CHECK,
            explanations=(_SHOWN_FOR_THE_MODEL,),
        )
    ]


def place_of(photo: Photo) -> str:
    """The name by which photo pairs call a photo: its path, and "!" and the member inside."""
    return photo.path if photo.member is None else f"{photo.path}!{photo.member}"


def are_other_sellers(one: Listing, other: Listing) -> bool:
    """False for the same listing or seller; two unnamed sellers are not held to be one."""
    if one.id == other.id or (one.url is not None and one.url == other.url):
        return False
    for key in ("seller_id", "seller_name"):
        a, b = getattr(one, key), getattr(other, key)
        if a is not None and b is not None:
            return bool(a != b)
    return True


def are_named(one: Listing, other: Listing) -> bool:
    """Whether both listings name their sellers in the same way."""
    return any(
        getattr(one, key) is not None and getattr(other, key) is not None
        for key in ("seller_id", "seller_name")
    )


def _shares(corpus: Corpus) -> Mapping[str, list[_Share]]:
    owners: dict[str, list[tuple[Examined, Photo]]] = defaultdict(list)
    for one in corpus.examined:
        for photo in one.listing.photos:
            owners[place_of(photo)].append((one, photo))
    found: dict[str, list[_Share]] = defaultdict(list)
    copies = _copies(corpus.pairs)
    common = _common_places(copies, owners)
    for pair in copies:
        many = str(pair.a) in common or str(pair.b) in common
        for (one, photo), (other, their) in each_with_each(
            owners[str(pair.a)], owners[str(pair.b)]
        ):
            _add(found, one, photo, other, their, tuple(pair.changes), many, _detail(pair))
    return found


def _common_places(
    copies: Sequence[Any], owners: Mapping[str, Sequence[tuple[Examined, Photo]]]
) -> set[str]:
    """The photos whose picture MANY_SELLERS others show; of very many only one is paired with
    each, and the rest with that one.
    """
    sellers: dict[str, set[str]] = defaultdict(set)
    for pair in copies:
        for here, there in ((str(pair.a), str(pair.b)), (str(pair.b), str(pair.a))):
            if len(sellers[here]) <= MANY_SELLERS:
                sellers[here].update(_seller(one) for one, _ in owners[there][: 2 * MANY_SELLERS])
    return {place for place, those in sellers.items() if len(those) > MANY_SELLERS}


def _seller(one: Examined) -> str:
    listing = one.listing
    return listing.seller_id or listing.seller_name or listing.id


def _copies(pairs: Sequence[Any]) -> list[Any]:
    return [pair for pair in pairs if pair.answer == "copy" and getattr(pair, "certain", True)]


def _add(
    found: dict[str, list[_Share]],
    one: Examined,
    photo: Photo,
    other: Examined,
    their: Photo,
    changes: tuple[str, ...],
    many: bool,
    detail: float,
) -> None:
    if are_other_sellers(one.listing, other.listing):
        found[one.listing.id].append(_Share(photo, other, changes, many, detail))
        found[other.listing.id].append(_Share(their, one, changes, many, 1.0 / detail))


def _detail(pair: Any) -> float:
    """Pixels a side of what both show in photo a, for one in photo b."""
    sides = [_side(getattr(pair, name, ())) for name in ("area_a", "area_b")]
    return sides[0] / sides[1] if all(sides) else 1.0


def _side(corners: Sequence[Sequence[float]]) -> float:
    """The side of a square as large as a polygon (the shoelace formula)."""
    ring = [*corners[1:], *corners[:1]]
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, ring, strict=True))
    return math.sqrt(abs(twice) / 2.0)


def _finding(one: Examined, shares: Sequence[_Share], known: Mapping[str, str]) -> Finding:
    others = {share.other.listing.id: share.other for share in shares}
    photos = {place_of(share.mine): share.mine for share in shares}
    is_catalogue = all(photo.sha256 in known for photo in photos.values())
    many = all(share.many for share in shares)
    return Finding(
        CHECK,
        POINT,
        "conflicts",
        "clue" if is_catalogue else _strength(one, list(others.values()), many, shares),
        _why(one, list(others.values()), shares, len(photos)),
        quoted=tuple(Span("photo", place, 0, 0, "") for place in sorted(photos)),
        cause=CHECK,
        explanations=_explanations(one, list(others.values()), is_catalogue or many),
        about=tuple(sorted(others)),
    )


def _sellers(others: Sequence[Examined]) -> int:
    """How many sellers the others are."""
    return len({_seller(other) for other in others})


Order = Literal["earlier", "later", "unknown"]


def order_of(one: Listing, other: Listing) -> tuple[Order, str]:
    """Whether `other` was seen before `one`, and by which date: "listed" or "saved"."""
    for kind in ("listed", "saved"):
        mine, their = getattr(one, f"date_{kind}"), getattr(other, f"date_{kind}")
        if mine and their and mine[:10] != their[:10]:
            return ("earlier" if their[:10] < mine[:10] else "later"), kind
    return "unknown", ""


def claims_differ(one: Examined, other: Examined) -> bool:
    """Whether both claim a reference, and not the same one."""
    a, b = one.resolution.reference, other.resolution.reference
    return a is not None and b is not None and a != b


def _strength(
    one: Examined, others: Sequence[Examined], many: bool, shares: Sequence[_Share]
) -> Strength:
    if all(not are_named(one.listing, other.listing) for other in others):
        return "clue"
    if any(claims_differ(one, other) for other in others):
        return "hard"
    if many or _sellers(others) >= MANY_SELLERS:
        return "clue"
    ranks = [_of_borrowing(one, other, shares) for other in others]
    return _BY_LEANING[max(ranks)]


_BY_LEANING: tuple[Strength, ...] = ("clue", "soft", "hard")


def _of_borrowing(one: Examined, other: Examined, shares: Sequence[_Share]) -> int:
    """How far it looks as if `one` had the pictures from `other`: 2 firmly, 1 perhaps, 0 hardly.

    Dates, detail and the number of pictures tell who had them first. Whoever borrows hides where
    they come from; an owner in two places has no cause to mirror or crop his own.
    """
    between = [s for s in shares if s.other.listing.id == other.listing.id]
    leaning = _leaning(one.listing, other.listing, between)
    if leaning >= 1.0:
        return 2 if any(_is_disguised(share.changes) for share in between) else 1
    return 0 if leaning <= -1.0 else 1


def _leaning(one: Listing, other: Listing, between: Sequence[_Share]) -> float:
    """Above 0: rather the other had the pictures first; below 0: rather this one."""
    order, kind = order_of(one, other)
    by_date = {"earlier": 1.0, "later": -1.0, "unknown": 0.0}[order] if kind == "listed" else 0.0
    detail = [share.detail for share in between]
    by_detail = 0.5 * (max(detail) < _COARSER) - 0.5 * (min(detail) > 1.0 / _COARSER)
    more = len(other.photos) - len(one.photos)
    by_number = 0.5 * (more >= _MANY_MORE) - 0.5 * (more <= -_MANY_MORE)
    return by_date + by_detail + by_number


_COARSER = 0.9  # fewer pixels a side than this are no rounding
_MANY_MORE = 2  # pictures more than the other has
_PLAIN = ("saved again", "saved in another format", "resized", "filtered")


def _is_disguised(changes: Sequence[str]) -> bool:
    """Whether a picture was changed beyond what markets do to pictures by themselves."""
    return not changes or any(not change.startswith(_PLAIN) for change in changes)


def _why(one: Examined, others: Sequence[Examined], shares: Sequence[_Share], photos: int) -> str:
    sellers = _sellers(others)
    parts = [
        f"{photos} of {len(one.listing.photos)} photos {'is' if photos == 1 else 'are'} also "
        f"shown by {count_text(sellers, 'other seller')}",
        _seen_earliest(one, others),
    ]
    different = sorted(
        f"{other.resolution.reference} in listing {other.listing.id}"
        for other in others
        if claims_differ(one, other)
    )
    if different:
        parts.append(f"shown there for another reference ({', '.join(different[:_MOST_NAMED])})")
    changes = sorted({change for share in shares for change in share.changes})
    if changes:
        parts.append("between the pictures: " + ", ".join(changes[:6]))
    return "; ".join(parts)


def _seen_earliest(one: Examined, others: Sequence[Examined]) -> str:
    """Where the picture was seen first, by which date."""
    everyone = [one, *others]
    for kind in ("listed", "saved"):
        dated = [(getattr(x.listing, f"date_{kind}"), x.listing.id) for x in everyone]
        known = sorted((date[:10], key) for date, key in dated if date)
        if len(known) > 1 and known[0][0] != known[-1][0]:
            date, first = known[0]
            where = "in this listing" if first == one.listing.id else f"in listing {first}"
            missing = "" if len(known) == len(everyone) else " (not every listing has that date)"
            return f"seen earliest {where}, {kind} {date}{missing}"
    return "no date says which was first"


def _explanations(one: Examined, others: Sequence[Examined], is_catalogue: bool) -> tuple[str, ...]:
    found = list(_INNOCENT)
    if any(not are_named(one.listing, other.listing) for other in others):
        found.insert(0, _UNNAMED)
    if is_catalogue or _sellers(others) >= MANY_SELLERS:
        found.insert(0, _CATALOGUE)
    return tuple(found)
