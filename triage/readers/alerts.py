"""Mails that announce many listings at once: one listing per card.

A card is the largest part of the mail that holds one listing's linked title and nothing of
another's, with a price in it. Two such cards make an alert; anything else is read as a page.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from extractors.records import Listing
from triage.readers import page, plain_text
from triage.readers.addresses import canonical_url
from triage.readers.bounds import check_markup
from triage.readers.encoding import decode_page
from triage.readers.fields import Named, build_listing, field_of, find_photos
from triage.readers.gallery import addresses_of
from triage.readers.labels import field_of_label
from triage.readers.markup import HtmlElement, drop, parse_html
from triage.readers.phrases import mentions, says
from triage.readers.pictures import picture_kind
from triage.readers.prices import find_money
from triage.readers.source import ReadResult, Resources, Source, Unreadable
from triage.readers.visible_facts import shipping_in
from triage.readers.words import flat_text, text_lines

MAX_CARDS = 500
SHORTEST_TITLE = 8
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
    """Say whether a mail is one listing's page, whose cards are similar items: then it has a
    description, or a price that is none of the cards'."""
    if not whole.listings:
        return False
    listing = whole.listings[0]
    prices = {card.price for card in alert.listings}
    return bool(listing.description) or (listing.price is not None and listing.price not in prices)


@dataclass(frozen=True, eq=False)
class Card:
    """One listing in a mail: its part of the page, and the link that is its title."""

    part: HtmlElement
    link: HtmlElement

    @property
    def title(self) -> str:
        return flat_text(self.link)


def find_cards(root: HtmlElement) -> list[Card]:
    """Find the cards of an alert, in order."""
    links = _title_links(root)
    above: Counter[HtmlElement] = Counter()
    for link in links:
        above.update([link, *link.iterancestors()])
    cards = [Card(_largest_own(link, above), link) for link in links]
    priced = [card for card in cards if _has_price(card.part)]
    return _one_for_each_part(priced)[:MAX_CARDS]


def _title_links(root: HtmlElement) -> list[HtmlElement]:
    """List links whose text could be a title: long enough, and not on every card ("View item")."""
    links = [(link, flat_text(link)) for link in root.iter("a") if link.get("href")]
    often = Counter(text.casefold() for _, text in links)
    return [
        link
        for link, text in links
        if len(text) >= SHORTEST_TITLE
        and often[text.casefold()] == 1
        and not find_money(text[:30])
        and canonical_url(link.get("href", "")) is not None
    ]


def _largest_own(link: HtmlElement, above: Counter[HtmlElement]) -> HtmlElement:
    """Climb as long as there is no other title inside."""
    own = link
    for ancestor in link.iterancestors():
        if above[ancestor] > 1 or ancestor.tag in ("body", "html"):
            break
        own = ancestor
    return own


def _has_price(part: HtmlElement) -> bool:
    return any(find_money(line) for line in text_lines(part).split("\n"))


def _one_for_each_part(cards: list[Card]) -> list[Card]:
    seen: dict[HtmlElement, Card] = {}
    for card in cards:
        seen.setdefault(card.part, card)
    return list(seen.values())


# --- one card --------------------------------------------------------------------------------


def _read_cards(source: Source, cards: list[Card], language: str) -> ReadResult:
    return sum((_read_card(source, card, language) for card in cards), ReadResult())


def _read_card(source: Source, card: Card, language: str) -> ReadResult:
    photos, missing, used = find_photos(
        _photo_addresses(card.part, source.resources()),
        source.resources(),
        lambda head: picture_kind(head) is not None,
    )
    struck = [e for e in card.part.iter("s", "strike", "del") if e.getparent() is not None]
    for element in struck:
        drop(element)
    named = [
        Named("title", card.title),
        Named("url", canonical_url(card.link.get("href", "")) or ""),
        *_facts(text_lines(card.part).split("\n"), card.title, language),
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
    priced = False
    for line in lines:
        label, value = _label(line)
        field = field_of(label) if label else None
        if field is not None and field not in ("title", "photos", "description"):
            priced = priced or field in ("price", "bid", "sold")
            yield Named(label, value)
        elif not priced and (amount := _price_in(line, language)) is not None:
            priced = True
            kind = "bid" if _speaks_of_bids(line) else "price"
            yield Named(kind, f"{amount[0]} {amount[1] or ''}".strip())
        elif says("free_shipping", line):
            yield Named("shipping", "free")
        elif (shipping := shipping_in(line, language)) is not None:
            yield Named("shipping", str(shipping))
        elif _is_text(line, title):
            yield Named("description", line)


def _label(line: str) -> tuple[str, str]:
    match = re.fullmatch(r"([^:：\t]{2,40}?)\s*[:：\t]\s*(\S.*)", line)
    return (match[1], match[2]) if match else ("", "")


def _price_in(line: str, language: str) -> tuple[Decimal, str | None] | None:
    found = find_money(line, language)
    if not found or mentions("not_the_price", line[: found[0].start]):
        return None
    return found[0].amount, found[0].currency


def _speaks_of_bids(line: str) -> bool:
    words = re.split(r"\d", line)[0]
    return field_of_label(words) in ("bid", "start_bid") or says("auction", line)


def _is_text(line: str, title: str) -> bool:
    return len(line) > 60 and line != title
