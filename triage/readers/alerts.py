"""Mails that announce many listings at once: one listing per card.

Two cards (see `cards`) make an alert; anything else is read as a page, or as a person's letter.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from extractors.records import Listing
from triage.readers import page, plain_text
from triage.readers.bounds import check_markup
from triage.readers.cards import Card, find_cards, is_call, speaks_of_bids, tells_old
from triage.readers.encoding import decode_page
from triage.readers.field_names import field_of
from triage.readers.fields import Named, build_listing, find_photos
from triage.readers.gallery import addresses_of
from triage.readers.labels import field_of_label
from triage.readers.markup import HtmlElement, drop, parse_html
from triage.readers.phrases import mentions, says
from triage.readers.pictures import picture_kind
from triage.readers.prices import find_money
from triage.readers.source import ReadResult, Resources, Source, Unreadable
from triage.readers.visible_facts import is_struck, line_facts, shipping_in
from triage.readers.words import flat_text, text_lines

SMALLEST_PHOTO = 48  # pixels; icons and spacers are smaller


def read(source: Source) -> ReadResult:
    """Read a page; a mail with several cards gives as many listings."""
    cards, language = _cards_of(source) if source.is_mail else ([], "")
    if len(cards) < 2:
        return _read_mail(source) if source.is_mail else page.read(source)
    alert = _read_cards(source, cards, language)
    try:
        whole = page.read(source)
    except Unreadable:
        return alert
    return whole if _is_one_listing(whole, alert) else alert


def _read_mail(source: Source) -> ReadResult:
    """Read a mail as a page, else as a person's letter; the letter's reason if it is neither."""
    try:
        whole = page.read(source)
    except Unreadable:
        whole = ReadResult()
    if whole.listings and (not _is_letter(source) or _is_set_out(whole.listings[0])):
        return whole
    try:
        return _read_letter(source)
    except Unreadable:
        if whole.listings:
            return whole
        raise


def _is_set_out(listing: Listing) -> bool:
    """Say whether a mail states by label what sites state and letters do not: it is a page."""
    told = {f for f, places in listing.origins.items() if places[0].startswith("visible text: “")}
    return len(told) > 2 and bool(told & {"listing_id", "date_listed", "seller_name", "ends_at"})


def _is_letter(source: Source) -> bool:
    """Say whether a person wrote this: few links, and nothing stated for programs."""
    if source.sender is None or source.sender.is_bulk:
        return False
    data = source.data()
    if re.search(rb"(?i)ld\+json|\sitemscope|\stypeof=|<meta[^>]+og:", data):
        return False
    return len(re.findall(rb"(?i)<a\s[^>]*href=[\"']?https?:", data)) <= 2


def _read_letter(source: Source) -> ReadResult:
    data = source.data()
    check_markup(data)
    root = parse_html(decode_page(data, source.charset))
    if root is None:
        raise Unreadable("is a mail without words of its own", "nothing to do")
    pictures = list(_photo_addresses(root, source.resources()))
    stored = [a for a in pictures if source.resources().find(a) is not None]
    headings = [h for h in root.iter("h1") if flat_text(h)]
    heading = flat_text(headings[0]) if len(headings) == 1 else ""
    for element in [
        *root.iter("script", "style", "head", "title"),
        *headings[: len(headings) == 1],
    ]:
        if element.getparent() is not None:
            drop(element)
    return plain_text.read_mail(source, text_lines(root), heading, stored)


def _cards_of(source: Source) -> tuple[list[Card], str]:
    data = source.data()
    check_markup(data)
    root = parse_html(decode_page(data, source.charset))
    return (find_cards(root), page.language_of(root)) if root is not None else ([], "")


def _is_one_listing(whole: ReadResult, alert: ReadResult) -> bool:
    """Say whether a mail is one listing's page, whose cards are similar items.

    Then it has a price that is none of the cards', or a description and more that sites state.
    """
    if not whole.listings:
        return False
    listing = whole.listings[0]
    if listing.price not in {card.price for card in alert.listings}:
        return listing.price is not None or bool(listing.description)
    return bool(listing.description) and bool(
        listing.specifics or listing.seller_name or listing.seller_id
    )


# --- one card --------------------------------------------------------------------------------


def _read_cards(source: Source, cards: list[Card], language: str) -> ReadResult:
    return sum((_read_card(source, card, language) for card in cards), ReadResult())


def _read_card(source: Source, card: Card, language: str) -> ReadResult:
    resources = source.resources()
    photos, missing, used = find_photos(
        [a for part in card.parts for a in _photo_addresses(part, resources)],
        resources,
        lambda head: picture_kind(head) is not None,
    )
    for element in [e for part in card.parts for e in part.iterdescendants() if is_struck(e)]:
        if element.getparent() is not None:
            drop(element)
    named = [
        Named("title", card.title),
        Named("url", card.address),
        *_facts(card.lines, card.title, language),
    ]
    listing, problems = build_listing(source, named, "mail", photos, missing, language=language)
    return ReadResult((listing,), problems, used)


def _photo_addresses(part: HtmlElement, resources: Resources) -> Iterator[str]:
    """The best stored address of each picture that is large enough to be a photo."""
    for image in part.iter("img"):
        sides = [
            int(m[0]) for n in ("width", "height") if (m := re.match(r"\d+", image.get(n, "")))
        ]
        if not sides or min(sides) >= SMALLEST_PHOTO:
            stored = [a for a in addresses_of(image) if resources.find(a) is not None]
            yield from (stored or addresses_of(image))[:1]


def _facts(lines: list[str], title: str, language: str) -> Iterator[Named]:
    """Read a card's lines: labelled ones as such, then the first amount that is a price."""
    is_auction = any(speaks_of_bids(line) and not find_money(line) for line in lines)
    told: set[str] = set()
    for line in lines:
        for fact in _facts_of(line, title, is_auction, language):
            kind = "price" if fact.name in ("bid", "sold") else fact.name
            if kind not in told:
                yield fact
            told.add(kind)


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
    found, end = [], 0
    for money in find_money(line, language):
        before, after = line[end : money.start], line[money.end :][:16]
        end = money.end
        field = _MONEY.get(field_of_label(before.strip(" :·|-–(")))
        other = mentions("not_the_price", before) or tells_old(before) or _SHIPPING.match(after)
        if field is None and not other:
            field = "bid" if speaks_of_bids(before) or says("auction", line) else "price"
        if field is not None:
            found.append((field, f"{money.amount} {money.currency or ''}".strip()))
    return found or None


_MONEY: dict[str | None, str] = {
    "price": "price",
    "bid": "bid",
    "start_bid": "bid",
    "sold": "sold",
    "buy_now": "buy_now",
    "shipping": "shipping",
}
_SHIPPING = re.compile(r"\s*(?:postage|p&p|shipping|delivery|Versand|Porto|de port|sped)", re.I)
