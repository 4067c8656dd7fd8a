"""One value per field out of all that the parts of a page state.

Mostly the most trusted source holds (facts.py). Fields that hang together are settled together:
price, kind, currency and the listing's state; and a text that another source shows to be cut
short gives way to the whole one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from triage.readers.addresses import canonical_url
from triage.readers.facts import Amount, Fact, by_trust, origins_of
from triage.readers.labels import is_lot, normal_label
from triage.readers.phrases import mentions
from triage.readers.words import INVISIBLE, without_invisible

STRUCTURED = ("json-ld", "microdata", "rdfa")


@dataclass
class Settled:
    """The values found so far and the origins of each; filled field by field."""

    values: dict[str, Any] = field(default_factory=dict)
    origins: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def take(self, name: str, value: Any, origins: tuple[str, ...]) -> None:
        self.values[name] = value
        self.origins[name] = origins


def settle(facts: Sequence[Fact], base: str | None = None) -> Settled:
    """Settle every field of a listing but photos and hidden text; absent fields are left out."""
    settled = Settled()
    _settle_url(settled, facts, base)
    _settle_title(settled, facts)
    _settle_description(settled, facts)
    _settle_specifics(settled, facts)
    _settle_money(settled, facts)
    _settle_listing_id(settled, facts)
    _settle_state(settled, facts)
    for name in (
        "offers_accepted",
        "returns",
        "quantity",
        "seller_id",
        "seller_name",
        "seller_feedback",
        "location",
        "date_listed",
        "date_saved",
    ):
        _settle_plain(settled, facts, name)
    _settle_location(settled, facts)
    return settled


def _settle_plain(settled: Settled, facts: Sequence[Fact], name: str) -> None:
    ranked = by_trust(facts, name)
    if ranked:
        settled.take(name, ranked[0].value, origins_of(ranked[0], ranked))


# --- texts ---------------------------------------------------------------------------------------


def _settle_title(settled: Settled, facts: Sequence[Fact]) -> None:
    ranked = [f for f in by_trust(facts, "title") if f.value.strip()]
    if not ranked:
        return
    chosen = next(
        (f for f in ranked if not any(_is_cut(f.value, o.value) for o in ranked)), ranked[0]
    )
    title = " ".join(chosen.value.translate(INVISIBLE).split())
    if (bare := _NUMBERED.sub("", title)) != title and any(bare == _plain(o.value) for o in ranked):
        title = bare
    settled.take("title", title, origins_of(chosen, ranked))


# the listing's number after its name: "Round frame (#12345678)"
_NUMBERED = re.compile(
    r"\s*[-–—|·,]?\s*[(\[]?\s*(?:#|№|(?:no|nr|n°|id|ref|art|item|artikel)\b[.:]*)\s*[\w-]*\d{3,}[)\]]?$",
    re.I,
)


def _plain(text: str) -> str:
    return " ".join(text.translate(INVISIBLE).split())


def _words(text: str) -> str:
    return " ".join(text.split()).casefold()


def _is_cut(text: str, other: str) -> bool:
    """Say whether a text is the beginning of another, broken off with dots."""
    mine, whole = _words(text), _words(other)
    stem = re.sub(r"\s*(?:…|\.\.\.)$", "", mine)
    return stem != mine and len(whole) > len(stem) and whole.startswith(stem)


def _settle_description(settled: Settled, facts: Sequence[Fact]) -> None:
    ranked = [f for f in by_trust(facts, "description") if f.value.strip()]
    if not ranked:
        return
    chosen = ranked[0]
    for other in ranked[1:]:
        if other.origin in ("open graph", "meta"):
            break
        if (
            _is_cut(chosen.value, other.value)
            or _is_beginning(chosen.value, other.value)
            or (chosen.origin == "visible text" and _is_another_text(chosen.value, other.value))
        ):
            chosen = other
    settled.take(
        "description", without_invisible(chosen.value).strip("\n"), origins_of(chosen, ranked)
    )


def _is_beginning(text: str, other: str) -> bool:
    mine, whole = _words(text), _words(other)
    return len(whole) > 1.3 * len(mine) and whole.startswith(mine.rstrip(" .…"))


def _is_another_text(text: str, other: str) -> bool:
    """Say whether two texts have so little in common that the first is not the description."""
    mine, stated = (set(re.findall(r"\w{3,}", t.casefold())) for t in (text, other))
    if len(stated) < 6 or not mine:
        return False
    return len(mine & stated) / len(stated) < 0.25


def _settle_specifics(settled: Settled, facts: Sequence[Fact]) -> None:
    ranked = by_trust(facts, "specifics") or [f for f in facts if f.field == "plain specifics"]
    rows: dict[str, tuple[str, str]] = {}
    known: set[str] = set()  # values, to leave out what a second source says over again
    first = ranked[0].origin if ranked else ""
    origins: dict[str, None] = {}
    for fact in ranked:
        label, value = fact.value
        key = normal_label(label)
        if key in rows or (fact.origin != first and _words(value) in known):
            continue
        rows[key] = (label.translate(INVISIBLE), value.translate(INVISIBLE))
        known.add(_words(value))
        origins[fact.place] = None
    if rows:
        settled.take("specifics", tuple(rows.values()), tuple(origins))


# --- identity ------------------------------------------------------------------------------------


def _settle_url(settled: Settled, facts: Sequence[Fact], base: str | None) -> None:
    ranked = []
    for fact in by_trust(facts, "url"):
        address = canonical_url(fact.value, base)
        if address is not None:
            ranked.append(Fact("url", address, fact.origin, fact.note))
    if not ranked:
        return
    deep = [f for f in ranked if re.sub(r"^https?://[^/]+/?", "", f.value)]
    chosen = (deep or ranked)[0]
    settled.take("url", chosen.value, origins_of(chosen, ranked))


def _settle_listing_id(settled: Settled, facts: Sequence[Fact]) -> None:
    """The site's own number: one that stands in the address too holds before any other."""
    ranked = by_trust(facts, "listing_id")
    if not ranked:
        return
    address = settled.values.get("url", "")
    steps = set(re.split(r"[/?&=#]", address)) | set(re.split(r"[/?&=#_.-]", address))
    in_address = [f for f in ranked if f.origin != "address" and f.value in steps]
    own = [f for f in ranked if not is_lot(f.note.strip("“”"))]  # a lot's number repeats
    chosen = (in_address or own or ranked)[0]
    settled.take("listing_id", chosen.value, origins_of(chosen, ranked))


def _settle_location(settled: Settled, facts: Sequence[Fact]) -> None:
    if "location" not in settled.values:
        places = [f for f in facts if f.field == "seller_place"]
        if places:
            settled.take("location", places[0].value, (places[0].place,))


# --- money and state -----------------------------------------------------------------------------


def _settle_money(settled: Settled, facts: Sequence[Fact]) -> None:
    fixed, bids = by_trust(facts, "price"), by_trust(facts, "bid")
    starts, sold = by_trust(facts, "start_bid"), by_trust(facts, "sold")
    buys = by_trust(facts, "buy_now")
    is_auction = bool(bids or starts) or any(f.field == "auction" for f in facts)
    is_sold = any(f.field == "status" and f.value == "sold" for f in facts)
    ranked, kind = _main_price(fixed, bids, starts, sold, buys, is_auction)
    is_sale = bool(ranked) and ranked[0].field == "price" and _names_a_sale(ranked[0])
    if is_sold and (kind in ("fixed", "bid") or is_sale):
        kind = "sold"
    if ranked:
        _take_price(settled, ranked, kind, facts)
    if kind in ("bid", "sold") and buys and (bids or starts or is_auction or sold):
        amount: Amount = buys[0].value
        if kind == "bid" or not sold:
            settled.take("buy_now", amount.value, origins_of(buys[0], buys))
    elif kind == "bid" and fixed and ranked and ranked[0].field != "price":
        _take_dearer(settled, ranked[0].value, fixed)
    shipping = by_trust(facts, "shipping")
    if shipping:
        settled.take("shipping", shipping[0].value.value, origins_of(shipping[0], shipping))


def _names_a_sale(price: Fact) -> bool:
    """A label such as "Verkaufspreis" is what a thing is for, or once it is sold went for."""
    return mentions("sale_price", price.note.strip("“”"))


def _main_price(
    fixed: list[Fact],
    bids: list[Fact],
    starts: list[Fact],
    sold: list[Fact],
    buys: list[Fact],
    is_auction: bool,
) -> tuple[list[Fact], str]:
    """The facts that state the price, best first, and its kind."""
    if sold:
        return sold + fixed, "sold"
    if is_auction:
        return (bids or _without(fixed, buys) or starts or fixed), "bid"
    return (fixed or buys), "fixed"


def _without(fixed: list[Fact], buys: list[Fact]) -> list[Fact]:
    """Prices that are not the buy-now price over again."""
    taken = {f.value.value for f in buys}
    return [f for f in fixed if f.value.value not in taken]


def _take_dearer(settled: Settled, bid: Amount, fixed: list[Fact]) -> None:
    """Beside a bid, a fixed price for machines that is higher is the price to buy at once."""
    structured = [f for f in fixed if f.origin in STRUCTURED and f.value.value > bid.value]
    if structured and any(f.note.endswith("buy_now") for f in structured):
        settled.take("buy_now", structured[0].value.value, origins_of(structured[0], structured))


def _take_price(settled: Settled, ranked: list[Fact], kind: str, facts: Sequence[Fact]) -> None:
    chosen = ranked[0]
    amount: Amount = chosen.value
    settled.take("price", amount.value, origins_of(chosen, ranked))
    settled.take("price_kind", kind, (chosen.place,))
    alike = [f for f in ranked if f.value.value == amount.value and f.value.currency]
    others = [f for f in facts if isinstance(f.value, Amount) and f.value.currency]
    holder = next(iter([f for f in (chosen,) if amount.currency] or alike or others), None)
    if holder is not None:
        settled.take("currency", holder.value.currency, (holder.place,))


def _settle_state(settled: Settled, facts: Sequence[Fact]) -> None:
    ends = by_trust(facts, "ends_at")
    if ends:
        settled.take("ends_at", ends[0].value, origins_of(ends[0], ends))
    states = by_trust(
        [Fact("ended", f.value, f.origin, f.note) for f in facts if f.field == "status"], "ended"
    )
    gone = [f for f in states if f.value in ("sold", "ended")]
    shown = [f for f in gone if f.origin == "visible text"]
    if settled.values.get("price_kind") == "sold":
        sold = next((f for f in states if f.value == "sold"), None)
        settled.take(
            "ended", True, (sold.place,) if sold else settled.origins.get("price_kind", ())
        )
    elif shown or (states and states[0] in gone):
        chosen = (shown or gone)[0]
        settled.take("ended", True, origins_of(chosen, states))
    elif states:
        settled.take("ended", False, origins_of(states[0], states))
    _settle_by_date(settled)


def _settle_by_date(settled: Settled) -> None:
    """An end that lies before the day of saving says ended; one after it, or ahead, not yet."""
    ends, saved = settled.values.get("ends_at"), settled.values.get("date_saved")
    if "ended" in settled.values or not ends:
        return
    if saved and ends[:10] != saved[:10]:
        settled.take("ended", ends[:10] < saved[:10], ("end against date of saving",))
    elif not saved and ends[:10] > date.today().isoformat():
        settled.take("ended", False, ("end against today",))
