"""Mails that announce many listings at once: one listing per card.

Two cards (see `cards`) make an alert, and one that a program sent; anything else is read as a
page, or as a person's letter.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from extractors.records import Listing
from triage.readers import page, plain_text
from triage.readers.addresses import item_in
from triage.readers.bounds import check_markup
from triage.readers.card_facts import card_facts
from triage.readers.cards import Card, find_cards
from triage.readers.encoding import decode_page
from triage.readers.fields import Named, build_listing, find_photos
from triage.readers.gallery import addresses_of
from triage.readers.markup import HtmlElement, drop, parse_html
from triage.readers.pictures import picture_kind
from triage.readers.source import ReadResult, Resources, Source, Unreadable
from triage.readers.visible_facts import is_struck
from triage.readers.words import flat_text, text_lines

SMALLEST_PHOTO = 48  # pixels; icons and spacers are smaller


def read(source: Source) -> ReadResult:
    """Read a page; a mail with several cards gives as many listings.

    So does one with a single card, if a program sent it and its page says no more than the card.
    """
    cards, language = _cards_of(source) if source.is_mail else ([], "")
    if not cards or (len(cards) == 1 and not _announces(source, cards[0])):
        return _read_mail(source) if source.is_mail else page.read(source)
    alert = _read_cards(source, cards, language)
    try:
        whole = page.read(source)
    except Unreadable:
        return alert
    if len(cards) == 1 and whole.listings and _is_named(whole.listings[0], cards[0]):
        return whole
    return whole if _is_one_listing(whole, alert) else alert


def _announces(source: Source, card: Card) -> bool:
    """Say whether a single card is what a program announces: it leads to a listing with an id."""
    is_bulk = source.sender is not None and source.sender.is_bulk
    return is_bulk and item_in(card.address) is not None


def _is_named(listing: Listing, card: Card) -> bool:
    """Say whether a mail, read as a page, is that listing's own: its name or number is the card's.

    A page that could only be named by the mail's subject is an announcement.
    """
    if listing.title.casefold() == card.title.casefold():
        return bool(listing.description)
    return listing.listing_id is not None and listing.listing_id == item_in(card.address)


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
    """Say whether a person wrote this: few links, and nothing that programs or sites state.

    Mail programs give their text no title of its own and no place on the web, sites do.
    """
    if source.sender is None or source.sender.is_bulk:
        return False
    data = source.data()
    if _OF_A_PAGE.search(data):
        return False
    return len(re.findall(rb"(?i)<a\s[^>]*href=[\"']?https?:", data)) <= 2


_OF_A_PAGE = re.compile(
    rb"(?i)ld\+json|\sitemscope|\stypeof=|<meta[^>]+og:|<link[^>]+rel=[\"']?canonical"
    rb"|<title[^>]{0,200}>[^<]*\s(?:\||-|\xe2\x80\x93|\xc2\xb7|::)\s[^<]*<|role=[\"']?heading"
)


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
        *card_facts(card.lines, card.title, language),
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
