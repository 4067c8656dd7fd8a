"""What the lines of a card in an alert mail say: price, bid, shipping, seller, whether it is sold.

A card is what a mail shows of one listing, whether as a part of a page (`cards`) or as lines of
plain text (`announced`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from triage.readers.cards import is_call, speaks_of_bids, tells_old
from triage.readers.field_names import field_of
from triage.readers.fields import Named
from triage.readers.labels import field_of_label
from triage.readers.phrases import mentions, says
from triage.readers.prices import find_money
from triage.readers.visible_facts import line_facts, shipping_in


def card_facts(lines: Sequence[str], title: str, language: str) -> list[Named]:
    """Read a card's lines: labelled ones as such, then the first amount that is a price."""
    is_auction = any(speaks_of_bids(line) and not find_money(line) for line in lines)
    told: dict[str, Named] = {}
    for fact in (f for line in lines for f in _facts_of(line, title, is_auction, language)):
        told.setdefault("price" if fact.name in ("bid", "sold") else fact.name, fact)
    return list(told.values())


def _facts_of(line: str, title: str, is_auction: bool, language: str) -> Iterator[Named]:
    label, value = _label(line)
    field = field_of(label) if label else None
    if line == title or is_call(line):
        return
    if field is not None and field not in ("title", "photos", "description", "price"):
        yield Named(field, value)
    elif (amounts := _prices_in(line, language)) is not None:
        yield from (
            Named("bid" if kind == "price" and is_auction else kind, text) for kind, text in amounts
        )
    elif says("free_shipping", line):
        yield Named("shipping", "free")
    elif (shipping := shipping_in(line, language)) is not None:
        yield Named("shipping", str(shipping))
    elif len(line) > 60:
        yield Named("description", line)
    else:
        yield from _told_without_colon(line, language)


def _told_without_colon(line: str, language: str) -> Iterator[Named]:
    """Who sells and where from, as cards say it without a colon ("Verkäufer anna77")."""
    for fact in line_facts(line, language):
        if fact.field in ("seller_name", "seller_id", "location", "listing_id", "date_listed"):
            yield Named(fact.field, str(fact.value))
        elif fact.field == "status" and fact.value in ("sold", "ended"):
            yield Named("ended", str(fact.value))


def _label(line: str) -> tuple[str, str]:
    match = re.fullmatch(r"([^:：\t]{2,40}?)\s*[:：\t]\s*(\S.*)", line)
    return (match[1], match[2]) if match else ("", "")


def _prices_in(line: str, language: str) -> list[tuple[str, str]] | None:
    """The amounts in a line with what each is, by the words before it; None if there is none."""
    found, end, field = [], 0, None
    for money in find_money(line, language):
        before, after = line[end : money.start], line[money.end :][:16]
        if end and field is None and _TO.fullmatch(before):
            end = money.end  # the upper end of a range that is no price
            continue
        end = money.end
        field = _MONEY.get(field_of_label(before.strip(" :·|-–(")))
        if field is None and _SHIPPING.match(after):
            field = "shipping"
        is_old = mentions("old_price", before) or tells_old(before)
        other = mentions("not_the_price", before) or is_old
        if field is None and not other:
            field = "bid" if speaks_of_bids(before) or says("auction", line) else "price"
        if field is not None:
            found.append((field, f"{money.amount} {money.currency or ''}".strip()))
    return found or None


_TO = re.compile(r"\s*(?:[-–—~]|to|bis|à|a|tot|do|till|til)\s*")
_MONEY: dict[str | None, str] = {
    "price": "price",
    "bid": "bid",
    "start_bid": "bid",
    "sold": "sold",
    "buy_now": "buy_now",
    "shipping": "shipping",
}
_SHIPPING = re.compile(r"\s*(?:postage|p&p|shipping|delivery|Versand|Porto|de port|sped)", re.I)
