"""A simulated market over some weeks, with what happened to every listing written beside it.

`simulate(seed)` draws sellers with habits (one with six near-identical listings, one with a stock
picture on everything, one who borrows pictures), and lets things happen: prices move, words and
pictures change, sites store pictures anew or show a converted price, listings end, sell, come
back under a new number or with another seller, numbers are given to other items, and some weeks
the buyer forgets to save a listing. Everything is drawn from the seed.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal

from extractors.records import Listing, Photo

_MODELS = [
    "Merrin",
    "Tavoy",
    "Petite",
    "Harrow",
    "Lantern",
    "4107",
    "Otter",
    "Corrow",
    "Belmarsh",
    "Nuvolo",
    "Tarsine",
    "Ekholt",
]
_COLOURS = [
    "black",
    "tortoise",
    "honey",
    "crystal",
    "wine",
    "olive",
    "grey",
    "brown",
    "amber",
    "horn",
]
_WORDS = [
    "lovely condition from a drawer in my aunt's house",
    "hinges move well and close firmly",
    "one small scratch on the left lens",
    "the arms are straight and even",
    "some bloom on the tips",
    "lens 48 mm bridge 21 mm arms 140 mm",
    "lens 52 mm bridge 18 mm arms 145 mm",
    "front measures 13.4 cm across",
    "no case with these",
    "comes with a soft pouch",
    "stamped inside the left arm",
    "five barrel hinges",
    "round rivets at each corner",
    "prescription lenses are still in",
    "please look at the pictures",
    "posted within two days",
    "from a smoke free home",
    "I have others, have a look",
    "bought at an estate sale last summer",
]


@dataclass(frozen=True)
class Truth:
    """What happened: the state, and the key of the piece (the same across weeks)."""

    state: str
    piece: int


@dataclass(frozen=True)
class Week:
    """One folder: its listings, the looks of their photos, and the truth by listing id."""

    path: str
    listings: tuple[Listing, ...]
    looks: dict[str, bytes]
    truth: dict[str, Truth]
    not_seen: frozenset[int]


@dataclass
class _Piece:
    key: int
    listing: Listing
    looks: list[int]
    open: bool = True
    last_state: str = "new"


class _Market:
    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self.looks: dict[str, bytes] = {}
        self.pieces: list[_Piece] = []
        self.number = 40_000_000 + seed * 10_000
        self.stock = [self.rng.getrandbits(256)]

    def photo(self, look: int, position: int) -> Photo:
        """Store a picture anew: other bytes, a look that differs in 0 to 3 bits."""
        for _ in range(self.rng.randrange(4)):
            look ^= 1 << self.rng.randrange(256)
        sha = hashlib.sha256(self.rng.randbytes(16)).hexdigest()
        self.looks[sha] = look.to_bytes(32, "big")
        return Photo(f"p{position}.jpg", None, sha)

    def fresh(self, seller: str, title: str | None = None, stock: bool = False) -> _Piece:
        rng = self.rng
        self.number += rng.randrange(1, 9)
        model, colour = rng.choice(_MODELS), rng.choice(_COLOURS)
        title = (
            title or f"{model} glasses {colour} {rng.choice(['vintage', '1970s', 'rare', 'old'])}"
        )
        looks = [rng.getrandbits(256) for _ in range(rng.randrange(2, 6))]
        if stock:
            looks = [*self.stock]
        listing = Listing(
            id="",
            source="",
            title=title,
            description=". ".join(rng.sample(_WORDS, rng.randrange(4, 9))),
            listing_id=str(self.number),
            url=f"https://stallrow.example/item/{self.number}",
            price=Decimal(rng.randrange(30, 400)),
            currency="GBP",
            price_kind="fixed",
            seller_name=seller,
            ended=False,
            photos=tuple(self.photo(look, n) for n, look in enumerate(looks)),
        )
        piece = _Piece(len(self.pieces), listing, looks)
        self.pieces.append(piece)
        return piece


def simulate(seed: int, weeks: int = 4, size: int = 60) -> tuple[Week, ...]:
    """Draw a market of about `size` listings a week, for some weeks."""
    market = _Market(seed)
    rng = market.rng
    sellers = [f"seller-{seed}-{n}" for n in range(rng.randrange(9, 14))]
    while len(market.pieces) < size - 12:
        market.fresh(rng.choice(sellers[2:]))
    for _ in range(6):
        market.fresh(sellers[0], "Tavoy glasses black vintage, several in stock")
        market.fresh(sellers[1], stock=True)
    result = [_folder(market, seed, 0, {p.key: "new" for p in market.pieces}, frozenset())]
    for week in range(1, weeks):
        states, missing = _live_a_week(market, sellers)
        result.append(_folder(market, seed, week, states, missing))
    return tuple(result)


def _folder(
    market: _Market, seed: int, week: int, states: dict[int, str], missing: frozenset[int]
) -> Week:
    path = f"market-{seed}/week-{week}"
    listings, truth = [], {}
    for key, state in states.items():
        piece = market.pieces[key]
        identity = f"w{week}-{piece.listing.listing_id}"
        saved = f"2026-0{1 + week}-10T12:00:00"
        listings.append(
            replace(piece.listing, id=identity, source=f"{identity}.html", date_saved=saved)
        )
        truth[identity] = Truth(state, key)
    looks = {p.sha256: market.looks[p.sha256] for x in listings for p in x.photos}
    market.rng.shuffle(listings)
    return Week(path, tuple(listings), looks, truth, missing)


def _live_a_week(market: _Market, sellers: list[str]) -> tuple[dict[int, str], frozenset[int]]:
    rng = market.rng
    states: dict[int, str] = {}
    missing = set()
    for piece in list(market.pieces):
        if not piece.open:
            _perhaps_back(market, piece, sellers, states)
            continue
        event = rng.choices(list(_EVENTS), [weight for weight, _ in _EVENTS.values()])[0]
        if event == "not_seen":
            missing.add(piece.key)
            continue
        state = _EVENTS[event][1](market, piece)
        states[piece.key] = state
        if state in ("ended", "sold"):
            piece.open = False
        if event == "pictures borrowed" and piece.open:
            states[_borrowed(market, piece).key] = "new"
        if event == "number given away":
            del states[piece.key]
            piece.open = False
            piece.last_state = "lost"
            missing.add(piece.key)
            taken = market.fresh(rng.choice(sellers[2:]))
            taken.listing = replace(
                taken.listing, listing_id=piece.listing.listing_id, url=piece.listing.url
            )
            states[taken.key] = "new"
    for _ in range(rng.randrange(2, 7)):
        states[market.fresh(rng.choice(sellers[2:])).key] = "new"
    return states, frozenset(missing)


def _perhaps_back(
    market: _Market, piece: _Piece, sellers: list[str], states: dict[int, str]
) -> None:
    rng = market.rng
    if (
        piece.last_state not in ("ended", "sold")
        or rng.random() > 0.3
        or piece.looks == market.stock
    ):
        return
    market.number += 1
    number = str(market.number)
    other = piece.last_state == "sold"
    seller = rng.choice(sellers[2:]) if other else piece.listing.seller_name
    title = piece.listing.title if rng.random() < 0.6 else f"{piece.listing.title} - relisted"
    text = piece.listing.description
    if other:
        text = ". ".join(rng.sample(_WORDS, 5))
    piece.listing = replace(
        piece.listing,
        listing_id=number,
        url=f"https://stallrow.example/item/{number}",
        seller_name=seller,
        title=title,
        description=text,
        ended=False,
        price_kind="fixed",
        photos=tuple(market.photo(look, n) for n, look in enumerate(piece.looks)),
    )
    piece.open = True
    piece.last_state = "back"
    states[piece.key] = "back"


def _borrowed(market: _Market, piece: _Piece) -> _Piece:
    thief = market.fresh(f"borrower-{market.rng.randrange(99)}", piece.listing.title)
    thief.looks = list(piece.looks[: max(1, len(piece.looks) - 1)])
    thief.listing = replace(
        thief.listing, photos=tuple(market.photo(look, n) for n, look in enumerate(thief.looks))
    )
    return thief


# --- what can happen to an open listing --------------------------------------------------------


def _nothing(market: _Market, piece: _Piece) -> str:
    return "unchanged"


def _stored_anew(market: _Market, piece: _Piece) -> str:
    photos = tuple(market.photo(look, n) for n, look in enumerate(piece.looks))
    piece.listing = replace(piece.listing, photos=photos)
    return "unchanged"


def _reformatted(market: _Market, piece: _Piece) -> str:
    price = piece.listing.price
    assert price is not None
    text = piece.listing.description.replace(". ", ".  ")
    piece.listing = replace(piece.listing, price=price.quantize(Decimal("0.01")), description=text)
    return "unchanged"


def _price_moves(market: _Market, piece: _Piece) -> str:
    price = piece.listing.price
    assert price is not None
    step = market.rng.choice([Decimal("0.9"), Decimal("0.8"), Decimal("1.1")])
    piece.listing = replace(piece.listing, price=(price * step).quantize(Decimal("0.01")))
    return "changed"


def _words_change(market: _Market, piece: _Piece) -> str:
    more = market.rng.choice(_WORDS)
    piece.listing = replace(
        piece.listing, description=f"{piece.listing.description}. Added: {more}"
    )
    return "changed"


def _title_rewritten(market: _Market, piece: _Piece) -> str:
    title = f"{market.rng.choice(_COLOURS)} spectacles, please read {market.rng.randrange(900)}"
    piece.listing = replace(piece.listing, title=title)
    return "changed"


def _pictures_change(market: _Market, piece: _Piece) -> str:
    if piece.looks == market.stock:
        return "unchanged"
    kind = market.rng.choice(["more", "fewer", "order"])
    looks = list(piece.looks)
    if kind == "more" or len(looks) < 2:
        looks.append(market.rng.getrandbits(256))
    elif kind == "fewer":
        looks.pop()
    else:
        looks = looks[1:] + looks[:1]
    piece.looks = looks
    photos = tuple(market.photo(look, n) for n, look in enumerate(looks))
    piece.listing = replace(piece.listing, photos=photos)
    return "changed"


def _pictures_replaced(market: _Market, piece: _Piece) -> str:
    if piece.looks == market.stock:
        return "unchanged"
    piece.looks = [market.rng.getrandbits(256) for _ in piece.looks]
    photos = tuple(market.photo(look, n) for n, look in enumerate(piece.looks))
    piece.listing = replace(piece.listing, photos=photos)
    return "changed"


def _ends(market: _Market, piece: _Piece) -> str:
    piece.listing = replace(piece.listing, ended=True)
    piece.last_state = "ended"
    return "ended"


def _sells(market: _Market, piece: _Piece) -> str:
    piece.listing = replace(piece.listing, ended=True, price_kind="sold")
    piece.last_state = "sold"
    return "sold"


_EVENTS: dict[str, tuple[float, Callable[[_Market, _Piece], str]]] = {
    "nothing": (34, _nothing),
    "stored anew": (8, _stored_anew),
    "reformatted": (4, _reformatted),
    "price": (10, _price_moves),
    "words": (6, _words_change),
    "title": (3, _title_rewritten),
    "pictures": (5, _pictures_change),
    "pictures replaced": (1.5, _pictures_replaced),
    "ended": (6, _ends),
    "sold": (7, _sells),
    "not_seen": (8, _nothing),
    "pictures borrowed": (3, _nothing),
    "number given away": (2, _nothing),
}
