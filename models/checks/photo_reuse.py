"""Photos of a listing that other sellers show too: where seen earliest, and for the same reference?

A seller's own relisting is no finding. A pair of pictures says nothing about who took them, so the
innocent explanations are part of every finding. A catalogue picture that the buyer knows is a
weaker statement of its own: it shows the model, and nothing of the piece.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from extractors.photos.holders import each_with_each
from extractors.records import Listing, Photo, Span
from models.checks.corpus import Corpus, Examined
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
    """One photo of `mine` and one of `other` that show the same picture; `many` show it."""

    mine: Photo
    other: Examined
    changes: tuple[str, ...]
    many: bool


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
            _add(found, one, photo, other, their, tuple(pair.changes), many)
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
) -> None:
    if are_other_sellers(one.listing, other.listing):
        found[one.listing.id].append(_Share(photo, other, changes, many))
        found[other.listing.id].append(_Share(their, one, changes, many))


def _finding(one: Examined, shares: Sequence[_Share], known: Mapping[str, str]) -> Finding:
    others = {share.other.listing.id: share.other for share in shares}
    photos = {place_of(share.mine): share.mine for share in shares}
    is_catalogue = all(photo.sha256 in known for photo in photos.values())
    many = all(share.many for share in shares)
    return Finding(
        CHECK,
        POINT,
        "conflicts",
        "clue" if is_catalogue else _strength(one, list(others.values()), many),
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


def _strength(one: Examined, others: Sequence[Examined], many: bool) -> Strength:
    if all(not are_named(one.listing, other.listing) for other in others):
        return "clue"
    if any(claims_differ(one, other) for other in others):
        return "hard"
    if many or _sellers(others) >= MANY_SELLERS:
        return "clue"
    orders = [order_of(one.listing, other.listing) for other in others]
    if ("earlier", "listed") in orders:
        return "hard"
    if orders and all(order == ("later", "listed") for order in orders):
        return "clue"
    return "soft"


def _why(one: Examined, others: Sequence[Examined], shares: Sequence[_Share], photos: int) -> str:
    sellers = _sellers(others)
    parts = [
        f"{photos} of {len(one.listing.photos)} photos are also shown by "
        f"{sellers} other seller{'s' if sellers > 1 else ''}",
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
