"""Weeks of listings as real files with real photos, and what happened to each piece beside them.

A second market, of other habits than `simulated_weeks`: here every listing is a file in one of
four carriers and every photo a JPEG, so reading, fingerprints and identity are tried together.
Sites store photos smaller, cut or in another quality, show converted prices, put the title into
the address, and give addresses to other items; sellers offer six alike, relist under new numbers
with the pictures cut, rename their shop, use one text for everything; others take over a sold
piece with its pictures, or borrow them while the first is for sale; the buyer saves a listing in
another form, doubles a file, copies folders (times of files mean nothing), forgets dates.
Everything is drawn from the seed. Where a buyer could not tell either, several states are right.
"""

from __future__ import annotations

import html
import io
import json
import os
import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from email.message import EmailMessage
from pathlib import Path

from PIL import Image

from tests.demo.render import FrameLook, Scene, View, photograph

SITES = ("rackside", "oldpane", "notes")
_SIZE = (320, 240)
_VIEWS: tuple[View, ...] = ("front", "three_quarter", "folded", "hinge", "inscription")
_GROUNDS = ("wood", "linen", "paper", "slate", "felt", "newsprint", "white")
_COLOURS = ("black", "tortoise", "honey", "crystal", "wine", "olive", "gold")
_SHAPES = ("panto", "square", "round", "cat", "drop")
_NAMES = ("Vennerby Tarn", "Gantreux 402", "Ostelino Bruma", "Mirovale Ash", "Vennerby Fell",
          "Gantreux Lisse", "Ostelino Sera", "Mirovale 77", "Halm Oda", "Tavo Crest")  # fmt: skip
_OPENING = ("Found in a shop that closed.", "My grandfather wore these.", "Bought years ago.",
            "From a collection.", "I cleaned them with care.", "Sold as it is.")  # fmt: skip
_FACTS = ("Lens {a} mm, bridge {b} mm, temples {c} mm.", "Stamped {a}-{b} on the bridge.",
          "Temples {c} mm with wire core.", "{n} barrel hinges.", "Width across the front {w} mm.",
          "Scratch on the {side} lens.", "Rivets sit tight on the {side}.", "No cracks that I see.",
          "Some haze at the {side} tip.", "Lens height is {h} mm.")  # fmt: skip
_SHOP_TEXT = (
    "Welcome to our small shop. We post twice a week, well packed. Please ask before buying. "
    "Colours may differ on your screen. All frames are pre-owned and show signs of age."
)


@dataclass(frozen=True)
class Shot:
    """A picture as taken, and what was done to it on the way."""

    look: FrameLook
    view: View
    scene: Scene
    cut: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    scale: float = 1.0
    quality: int = 82

    @property
    def taken(self) -> tuple[FrameLook, View, Scene]:
        """The same for all copies of the picture."""
        return (self.look, self.view, self.scene)


@dataclass(frozen=True)
class Offer:
    """A listing as the site shows it now."""

    site: str
    number: str
    seller: str
    title: str
    lines: tuple[str, ...]
    price: int
    shots: tuple[Shot, ...]
    kind: str = "fixed"
    ended: bool = False
    converted: bool = False
    quantity: int | None = None


@dataclass
class Piece:
    """One thing for sale, through all its listings."""

    key: int
    offer: Offer
    lot: bool = False
    gone: bool = False  # its address was given away, nobody can see it any more
    seen_with: str = ""  # the seller's name when it was saved last


@dataclass(frozen=True)
class Truth:
    """What a right review says of one saved listing."""

    piece: int
    states: frozenset[str]
    changed: frozenset[str] | None = None  # None: not judged
    event: str = ""


@dataclass(frozen=True)
class SavedWeek:
    """One folder on disk; `truth` goes by source and line (None but in JSON Lines)."""

    folder: Path
    truth: dict[tuple[str, int | None], Truth]
    not_seen: frozenset[int]


_DRAWN: dict[tuple[FrameLook, View, Scene], Image.Image] = {}


def jpeg(shot: Shot) -> bytes:
    """The picture as the site stores it."""
    if shot.taken not in _DRAWN:
        _DRAWN[shot.taken] = photograph(*shot.taken)
    image = _DRAWN[shot.taken]
    w, h = image.size
    left, top, right, bottom = shot.cut
    image = image.crop(
        (round(left * w), round(top * h), round((1 - right) * w), round((1 - bottom) * h))
    )
    if shot.scale != 1:
        image = image.resize((round(image.width * shot.scale), round(image.height * shot.scale)))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=shot.quality)
    return out.getvalue()


class Market:
    """Sellers and pieces, and what a week does to them."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(f"saved weeks {seed}")
        self.pieces: list[Piece] = []
        self.serial = 5_000_000 + seed * 50_000
        self.sellers = [f"stall {seed}-{n}" for n in range(8)]
        self.stock = self._shots(self._look(), 1, "white")[0]

    def _look(self) -> FrameLook:
        rng = self.rng
        return FrameLook(
            shape=rng.choice(_SHAPES),  # type: ignore[arg-type]
            lens_width=rng.randrange(42, 56),
            lens_height=rng.randrange(34, 46),
            bridge=rng.randrange(16, 25),
            rim=rng.choice((3.2, 4.5, 6.0)),
            colour=rng.choice(_COLOURS),  # type: ignore[arg-type]
            lens_density=rng.choice((0.1, 0.3, 0.7)),
            hinge_barrels=rng.choice((3, 5, 7)),
        )

    def _shots(self, look: FrameLook, count: int, ground: str | None = None) -> tuple[Shot, ...]:
        rng = self.rng
        ground = ground or rng.choice(_GROUNDS)
        views = [_VIEWS[0], *rng.sample(_VIEWS[1:], count - 1)]
        return tuple(Shot(look, view, self._scene(ground)) for view in views)

    def _scene(self, ground: str) -> Scene:
        rng = self.rng
        return Scene(
            ground=ground,  # type: ignore[arg-type]
            seed=rng.randrange(1 << 30),
            width=_SIZE[0],
            height=_SIZE[1],
            turn=rng.uniform(-10, 10),
            zoom=rng.uniform(0.9, 1.1),
            shift=(rng.uniform(-0.05, 0.05), rng.uniform(-0.05, 0.05)),
            exposure=rng.uniform(0.85, 1.1),
        )

    def number(self) -> str:
        """The next free number."""
        self.serial += self.rng.randrange(1, 40)
        return str(self.serial)

    def lines(self) -> tuple[str, ...]:
        """A seller's own text."""
        rng = self.rng
        fill = {
            "a": rng.randrange(42, 56), "b": rng.randrange(16, 25), "c": rng.randrange(130, 150),
            "n": rng.choice(("Three", "Five", "Seven")), "w": rng.randrange(126, 146),
            "side": rng.choice(("left", "right")), "h": rng.randrange(34, 46),
        }  # fmt: skip
        facts = [text.format(**fill) for text in rng.sample(_FACTS, rng.randrange(3, 7))]
        return (rng.choice(_OPENING), *facts)

    def fresh(self, seller: str, site: str | None = None) -> Piece:
        """A new piece of a seller."""
        rng = self.rng
        look = self._look()
        site = site or rng.choices(SITES, (5, 4, 1))[0]
        title = f"{rng.choice(_NAMES)} {look.colour} {rng.choice(('frame', 'glasses', 'eyewear'))}"
        offer = Offer(
            site, self.number(), seller, title, self.lines(), rng.randrange(25, 320),
            self._shots(look, rng.randrange(2, 5)), rng.choice(("fixed", "fixed", "bid")),
        )  # fmt: skip
        return self.add(offer)

    def add(self, offer: Offer, lot: bool = False) -> Piece:
        """Put an offer up as a piece of its own."""
        piece = Piece(len(self.pieces), offer, lot)
        self.pieces.append(piece)
        return piece

    def open_first_week(self, size: int) -> None:
        """The market of the first week, the special sellers first."""
        rng, seller = self.rng, self.sellers
        alike = replace(self._look(), colour="black")
        text, title = self.lines(), f"{_NAMES[0]} black frame, choose yours"
        for _ in range(6):  # one reference, six pieces, one table, one text
            shots = self._shots(alike, 2, "white")
            self.add(Offer("rackside", self.number(), seller[0], title, text, 60, shots))
        for _ in range(5):  # a catalogue picture and one text on everything
            piece = self.fresh(seller[1], "oldpane")
            text = (_SHOP_TEXT, *piece.offer.lines[1:3])
            piece.offer = replace(piece.offer, lines=text, shots=(self.stock, *piece.offer.shots))
        for _ in range(2):
            several = tuple(s for _ in range(3) for s in self._shots(self._look(), 1))
            text = (f"Lot of {len(several)} frames as pictured.", *self.lines()[1:])
            offer = Offer("oldpane", self.number(), seller[2], f"Lot of {len(several)} old frames",
                          text, 90, several, quantity=len(several))  # fmt: skip
            self.add(offer, lot=True)
        while len(self.pieces) < size:
            self.fresh(rng.choice(seller[2:]))


# --- a week ------------------------------------------------------------------------------------


@dataclass
class _Told:
    """What a week's folder will hold: piece -> its truth; pieces not saved."""

    truth: dict[int, Truth] = field(default_factory=dict)
    unseen: set[int] = field(default_factory=set)


def _live(market: Market, number: int) -> _Told:
    told = _Told()
    rng = market.rng
    renamed = {}
    if number == 2:
        renamed = {market.sellers[5]: f"{market.sellers[5]} & daughter"}
    for piece in list(market.pieces):
        if piece.gone:
            continue
        if piece.offer.ended:
            _after_the_end(market, piece, told)
        else:
            event = rng.choices(list(_EVENTS), [weight for weight, _ in _EVENTS.values()])[0]
            _EVENTS[event][1](market, piece, told)
            if piece.key in told.truth:
                told.truth[piece.key] = replace(told.truth[piece.key], event=event)
    for piece in market.pieces:
        seller = piece.offer.seller
        piece.offer = replace(piece.offer, seller=renamed.get(seller, seller))
    market.sellers = [renamed.get(name, name) for name in market.sellers]
    for key in told.truth:
        piece = market.pieces[key]
        if piece.seen_with not in ("", piece.offer.seller) and "new" not in told.truth[key].states:
            _mark_renamed(piece, told)
    for _ in range(rng.randrange(3, 7)):
        _is(told, market.fresh(rng.choice(market.sellers[2:])), "new")
    return told


def _mark_renamed(piece: Piece, told: _Told) -> None:
    truth = told.truth[piece.key]
    states = frozenset({"changed"} if truth.states == {"unchanged"} else truth.states)
    changed = truth.changed | {"seller_name"} if truth.changed is not None else None
    event = truth.event if truth.event.startswith("sold, then") else f"{truth.event}, renamed"
    told.truth[piece.key] = replace(truth, states=states, changed=changed, event=event)


def _is(told: _Told, piece: Piece, *states: str, changed: set[str] | None = None) -> None:
    fields = frozenset(changed) if changed is not None else None
    told.truth[piece.key] = Truth(piece.key, frozenset(states), fields)


def _nothing(market: Market, piece: Piece, told: _Told) -> None:
    _is(told, piece, "unchanged", changed=set())


def _stored_smaller(market: Market, piece: Piece, told: _Told) -> None:
    rng = market.rng
    scale, quality = rng.uniform(0.7, 1.0), rng.randrange(45, 90)
    shots = tuple(replace(s, scale=scale, quality=quality) for s in piece.offer.shots)
    piece.offer = replace(piece.offer, shots=shots)
    _is(told, piece, "unchanged", changed=set())


def _price_moves(market: Market, piece: Piece, told: _Told) -> None:
    price = max(5, round(piece.offer.price * market.rng.choice((0.75, 0.9, 1.15))))
    same = price == piece.offer.price
    piece.offer = replace(piece.offer, price=price)
    _is(told, piece, "unchanged" if same else "changed", changed=set() if same else {"price"})


def _converted(market: Market, piece: Piece, told: _Told) -> None:
    piece.offer = replace(piece.offer, converted=not piece.offer.converted)
    _is(told, piece, "unchanged", changed=set())


def _title_rewritten(market: Market, piece: Piece, told: _Told) -> None:
    title = f"{market.rng.choice(_COLOURS).upper()} spectacles L@@K {market.rng.randrange(99)}"
    piece.offer = replace(piece.offer, title=title)
    _is(told, piece, "changed", changed={"title"})


def _text_corrected(market: Market, piece: Piece, told: _Told) -> None:
    lines = list(piece.offer.lines)
    lines[-1] = f"Correction: the lens is {market.rng.randrange(40, 58)} mm wide."
    piece.offer = replace(piece.offer, lines=tuple(lines))
    _is(told, piece, "changed", changed={"description"})


def _photos_turned_round(market: Market, piece: Piece, told: _Told) -> None:
    shots = piece.offer.shots
    piece.offer = replace(piece.offer, shots=(*shots[1:], shots[0]))
    same = len(shots) < 2
    _is(told, piece, "unchanged" if same else "changed", changed=set() if same else {"photos"})


def _photo_added(market: Market, piece: Piece, told: _Told) -> None:
    look = piece.offer.shots[-1].look
    more = Shot(look, market.rng.choice(_VIEWS), market._scene("paper"))
    piece.offer = replace(piece.offer, shots=(*piece.offer.shots, more))
    _is(told, piece, "changed", changed={"photos"})


def _photos_retaken(market: Market, piece: Piece, told: _Told) -> None:
    shots = tuple(
        replace(s, scene=market._scene(s.scene.ground), cut=(0.0,) * 4) for s in piece.offer.shots
    )
    piece.offer = replace(piece.offer, shots=shots)
    _is(told, piece, "changed", changed={"photos"})


def _cut_by_site(market: Market, piece: Piece, told: _Told) -> None:
    """Cut to a square: the pictures are the same, though a careful reader may call it a change."""
    piece.offer = replace(piece.offer, shots=_cut(market, piece.offer.shots, 0.09))
    _is(told, piece, "unchanged", "changed")


def _cut(market: Market, shots: tuple[Shot, ...], most: float) -> tuple[Shot, ...]:
    rng = market.rng
    side = lambda: rng.uniform(0.02, most)  # noqa: E731
    return tuple(replace(s, cut=(side(), side(), side(), side()), quality=70) for s in shots)


def _ends(market: Market, piece: Piece, told: _Told) -> None:
    piece.offer = replace(piece.offer, ended=True)
    _is(told, piece, "ended")


def _sells(market: Market, piece: Piece, told: _Told) -> None:
    piece.offer = replace(piece.offer, ended=True, kind="sold")
    _is(told, piece, "sold")


def _not_saved(market: Market, piece: Piece, told: _Told) -> None:
    told.unseen.add(piece.key)


def _address_given_away(market: Market, piece: Piece, told: _Told) -> None:
    if piece.offer.site == "notes":
        return _nothing(market, piece, told)
    told.unseen.add(piece.key)
    piece.gone = True
    other = market.fresh(market.rng.choice(market.sellers[2:]), piece.offer.site)
    other.offer = replace(other.offer, number=piece.offer.number)
    _is(told, other, "new")
    told.truth[other.key] = replace(told.truth[other.key], event="address given away")
    return None


def _borrowed(market: Market, piece: Piece, told: _Told) -> None:
    """Another seller shows the pictures, a little cut, while the first is still for sale."""
    _nothing(market, piece, told)
    mine = market.stock.taken
    shots = tuple(s for s in piece.offer.shots if s.taken != mine)
    thief = replace(
        piece.offer, number=market.number(), seller=f"quick {market.serial}", kind="fixed",
        price=max(5, piece.offer.price // 2), shots=_cut(market, shots, 0.04),
        lines=piece.offer.lines if market.rng.random() < 0.5 else market.lines(),
    )  # fmt: skip
    other = market.add(thief)
    _is(told, other, "new")


def _relisted_open(market: Market, piece: Piece, told: _Told) -> None:
    """The same seller ends it between two weeks and lists it anew."""
    if piece.offer.site == "notes" or piece.lot:
        return _nothing(market, piece, told)
    piece.offer = _anew(market, piece.offer)
    _is(told, piece, "back")
    return None


def _after_the_end(market: Market, piece: Piece, told: _Told) -> None:
    """What is over is seldom saved again; sometimes it comes back."""
    rng = market.rng
    if rng.random() < 0.65 or piece.offer.site == "notes":
        return
    offer = piece.offer
    if offer.kind == "sold":
        mine = market.stock.taken
        if any(s.taken == mine for s in offer.shots):
            return
        other = rng.choice([s for s in market.sellers[2:] if s != offer.seller])
        offer = replace(_anew(market, offer), seller=other, kind="fixed", lines=market.lines())
        event = "sold, then with another seller"
    elif rng.random() < 0.3:
        offer, event = replace(offer, ended=False), "over, open again"
    else:
        offer, event = _anew(market, offer), "over, then under a new number"
    piece.offer = offer
    _is(told, piece, "back")
    told.truth[piece.key] = replace(told.truth[piece.key], event=event)


def _anew(market: Market, offer: Offer) -> Offer:
    rng = market.rng
    shots = offer.shots
    if rng.random() < 0.5:
        shots = _cut(market, shots, 0.07)
    if rng.random() < 0.3 and len(shots) > 2:
        shots = shots[1:]
    title = offer.title if rng.random() < 0.6 else f"NEW LISTING {offer.title} {rng.choice('!*')}"
    price = max(5, round(offer.price * rng.choice((1, 1, 0.9))))
    return replace(
        offer, number=market.number(), shots=shots, title=title, price=price, ended=False
    )


Event = Callable[[Market, Piece, _Told], None]
_EVENTS: dict[str, tuple[float, Event]] = {
    "nothing": (30, _nothing),
    "stored smaller": (8, _stored_smaller),
    "price": (8, _price_moves),
    "converted": (5, _converted),
    "title rewritten": (5, _title_rewritten),
    "text corrected": (5, _text_corrected),
    "photos turned round": (3, _photos_turned_round),
    "photo added": (3, _photo_added),
    "photos retaken": (2, _photos_retaken),
    "cut by the site": (4, _cut_by_site),
    "ended": (6, _ends),
    "sold": (6, _sells),
    "not saved": (7, _not_saved),
    "address given away": (2, _address_given_away),
    "borrowed": (4, _borrowed),
    "relisted between": (4, _relisted_open),
}


# --- files -------------------------------------------------------------------------------------


def write_weeks(seed: int, place: Path, weeks: int = 4, size: int = 50) -> tuple[SavedWeek, ...]:
    """Write a market's weeks below a folder; every third market says no dates at all."""
    market = Market(seed)
    market.open_first_week(size)
    told = _Told({p.key: Truth(p.key, frozenset({"new"})) for p in market.pieces})
    dated = seed % 3 != 2
    found = []
    for number in range(weeks):
        if number:
            told = _live(market, number)
        found.append(_write_week(market, place / f"week {number + 1}", number, told, dated))
    return tuple(found)


def _write_week(market: Market, folder: Path, number: int, told: _Told, dated: bool) -> SavedWeek:
    folder.mkdir(parents=True)
    day = f"2026-09-{1 + 7 * number:02}" if dated else ""
    truth: dict[tuple[str, int | None], Truth] = {}
    lines: list[dict[str, object]] = []
    keys = list(told.truth)
    market.rng.shuffle(keys)
    for key in keys:
        offer = market.pieces[key].offer
        market.pieces[key].seen_with = offer.seller
        for source, row in _save(market, folder, offer, day):
            if row is not None:
                lines.append(row)
            truth[source, len(lines) if row is not None else None] = told.truth[key]
    text = "".join(json.dumps(row) + "\n" for row in lines)
    if lines:
        (folder / "exported.jsonl").write_text(text, encoding="utf-8")
    for file in folder.rglob("*"):  # copied folders: the times of files say nothing
        moment = 1_700_000_000 + market.rng.randrange(50_000_000)
        os.utime(file, (moment, moment))
    return SavedWeek(folder, truth, frozenset(told.unseen))


def _save(
    market: Market, folder: Path, offer: Offer, day: str
) -> list[tuple[str, dict[str, object] | None]]:
    """Write one listing; the places a review may name it by."""
    rng = market.rng
    carrier = rng.choices(("page", "export", "mail", "note"), (6, 3, 1, 0))[0]
    if offer.site == "notes":
        carrier = "note"
    stem = f"{carrier} {offer.number} {rng.randrange(1000)}"
    if carrier == "export":
        return [("exported.jsonl", _row(folder, offer, day))]
    if carrier == "note":
        return [(_write_note(folder, stem, offer), None)]
    if carrier == "mail":
        return [(_write_mail(folder, stem, offer, day, rng), None)]
    places = [(_write_page(folder, stem, offer, day, rng), None)]
    if rng.random() < 0.06:  # saved twice
        places.append((_write_page(folder, f"{stem} (1)", offer, day, rng), None))
    return list(places)


def address(offer: Offer, rng: random.Random) -> str:
    """The address as the buyer's browser had it: with tracking, and the title in it or not."""
    if offer.site == "rackside":
        slug = "-".join(offer.title.lower().replace(",", "").replace("@", "").split())
        end = rng.choice(("", "?ref=feed", f"?utm_source=mail&utm_campaign={rng.randrange(99)}"))
        return f"https://www.rackside.example/listing/{offer.number}/{slug}{end}"
    return f"https://oldpane.example/view?item={offer.number}{rng.choice(('', '&from=search'))}"


def _price(offer: Offer, rng: random.Random) -> str:
    shown = rng.choice((f"£{offer.price}", f"GBP {offer.price}.00", f"£{offer.price}.00"))
    return f"{shown} (about {round(offer.price * 1.17, 2):.2f} EUR)" if offer.converted else shown


def _photos(folder: Path, stem: str, offer: Offer) -> list[str]:
    names = []
    for n, shot in enumerate(offer.shots):
        name = f"{stem}_{n + 1}.jpg"
        (folder / name).write_bytes(jpeg(shot))
        names.append(name)
    return names


def _row(folder: Path, offer: Offer, day: str) -> dict[str, object]:
    (folder / "pictures").mkdir(exist_ok=True)
    names = _photos(folder, f"pictures/x{offer.number}", offer)
    row: dict[str, object] = {
        "listing_id": offer.number,
        "url": f"https://{'www.' if offer.site == 'rackside' else ''}{offer.site}.example/"
        + (
            f"listing/{offer.number}/x" if offer.site == "rackside" else f"view?item={offer.number}"
        ),
        "title": offer.title,
        "description": "\n".join(offer.lines),
        "price": f"{offer.price}.00",
        "currency": "GBP",
        "price_kind": offer.kind,
        "ended": offer.ended,
        "seller_name": offer.seller,
        "photos": names,
    }
    return row | ({"date_saved": f"{day}T20:00:00"} if day else {})


def _write_page(folder: Path, stem: str, offer: Offer, day: str, rng: random.Random) -> str:
    files = folder / f"{stem}_files"
    files.mkdir()
    names = [f"{stem}_files/{name}" for name in _photos(files, "image", offer)]
    url = address(offer, rng)
    state = "SoldOut" if offer.kind == "sold" else "Discontinued" if offer.ended else "InStock"
    facts = {
        "@context": "https://schema.org", "@type": "Product", "name": offer.title,
        "description": "\n".join(offer.lines), "image": names,
        "offers": {
            "@type": "Offer", "price": str(offer.price), "priceCurrency": "GBP",
            "availability": f"https://schema.org/{state}", "url": url,
            "seller": {"@type": "Person", "name": offer.seller},
        },
    }  # fmt: skip
    if rng.random() < 0.5:
        facts["sku"] = offer.number
    over = {"SoldOut": "<p>Sold</p>", "Discontinued": "<p>This listing has ended.</p>"}.get(
        state, ""
    )
    body = "".join(f"<p>{html.escape(line)}</p>" for line in offer.lines)
    images = "".join(f'<img src="{name}" alt="">' for name in names)
    kind = "Current bid" if offer.kind == "bid" else "Price"
    saved = f"<!-- saved from url=({len(url):04}){url} -->" if rng.random() < 0.5 else ""
    (folder / f"{stem}.html").write_text(
        f"<!doctype html>{saved}<html><head><title>{html.escape(offer.title)} | market</title>"
        f'<link rel="canonical" href="{url}">'
        f'<script type="application/ld+json">{json.dumps(facts)}</script></head><body>'
        f"<h1>{html.escape(offer.title)}</h1>{over}<p>{kind}: {_price(offer, rng)}</p>"
        f"<p>Seller: {html.escape(offer.seller)}</p><div>{body}</div>{images}</body></html>",
        encoding="utf-8",
    )
    return f"{stem}.html"


def _write_mail(folder: Path, stem: str, offer: Offer, day: str, rng: random.Random) -> str:
    mail = EmailMessage()
    mail["Subject"] = offer.title
    mail["From"] = "me@home.example"
    mail["To"] = "me@home.example"
    if day:
        mail["Date"] = f"{int(day[-2:])} Sep 2026 20:00:00 +0000"
    over = "Status: sold\n" if offer.kind == "sold" else "Status: ended\n" if offer.ended else ""
    mail.set_content(
        f"{offer.title}\n{over}Price: {_price(offer, rng)}\nSeller: {offer.seller}\n"
        f"Item number: {offer.number}\n{address(offer, rng)}\n\n" + "\n".join(offer.lines)
    )
    for n, shot in enumerate(offer.shots):
        mail.add_attachment(jpeg(shot), "image", "jpeg", filename=f"photo{n + 1}.jpg")
    (folder / f"{stem}.eml").write_bytes(bytes(mail))
    return f"{stem}.eml"


def _write_note(folder: Path, stem: str, offer: Offer) -> str:
    place = folder / stem
    place.mkdir()
    over = "Status: sold\n" if offer.kind == "sold" else "Status: ended\n" if offer.ended else ""
    (place / "note.txt").write_text(
        f"{offer.title}\n{over}Price: {offer.price} GBP\nSeller: {offer.seller}\n\n"
        + "\n".join(offer.lines),
        encoding="utf-8",
    )
    _photos(place, "photo", offer)
    return f"{stem}/note.txt"
