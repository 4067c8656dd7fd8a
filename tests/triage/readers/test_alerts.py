"""A mail that announces many listings gives each of them, with its own photo and price."""

from __future__ import annotations

from decimal import Decimal
from email.message import EmailMessage
from pathlib import Path

import pytest

from extractors.records import Listing
from tests.triage.readers.saving import photo
from triage.containment import Supervisor
from triage.readers.folder import read_folder

GOODS = [
    ("Vennerby 12 round frame", "https://stallrow.example/item/11?utm_source=mail", "85,00 €"),
    ("Gantreux oval, horn imitation", "https://stallrow.example/item/12", "120,50 €"),
    ("Ostelino sunglasses 1970s", "https://stallrow.example/item/13", "1.250,00 €"),
]

ROWS = """<table>{cards}</table>"""
ROW = """<tr><td><a href="{url}&amp;pos=img"><img src="cid:{n}@p" width="120" height="90"></a></td>
<td><a href="{url}"><b>{title}</b></a><br><s>999,00 €</s> {price}<br>Versand: 4,90 €<br>
<a href="{url}">View item</a></td></tr>"""
BOXES = """<div class="list">{cards}</div>"""
BOX = """<div class="c"><div><img src="cid:{n}@p" alt=""></div><h3><a href="{url}">{title}</a></h3>
<p class="p">{price}</p><p>Seller: anna{n}</p></div>"""
COLUMNS = """<table><tr>{cards}</tr></table>"""
COLUMN = """<td><table><tr><td><img src="cid:{n}@p"></td></tr><tr><td><a href="{url}">{title}</a>
</td></tr><tr><td>{price}</td></tr></table></td>"""


CALLS = """<table><tr>{cards}</tr></table>"""
CALL = """<td><div><a href="{url}"><img src="cid:{n}@p"></a><p style="font-weight:bold">{title}</p>
<p>{price}</p><p><a href="{url}">See it</a></p></div></td>"""
SHOP = """<td align="center"><img src="cid:{n}@p"><h3>{title}</h3><p>{price}</p>
<a href="{url}">Shop now</a></td>"""
LINES = """<td><img src="cid:{n}@p"><br>{title}<br>{price}<br><a href="{url}">View</a></td>"""


def read_mail(tmp_path: Path, html: str) -> tuple[Listing, ...]:
    message = EmailMessage()
    message["From"] = "alerts@stallrow.example"
    message["Subject"] = "3 new finds"
    message["Date"] = "Thu, 12 Nov 2026 17:30:00 +0000"
    message.set_content("3 new finds")
    message.add_alternative(html, subtype="html")
    for n in range(3):
        message.get_payload()[1].add_related(photo(n), "image", "jpeg", cid=f"<{n}@p>")  # type: ignore[index, union-attr]
    (tmp_path / "a.eml").write_bytes(message.as_bytes())
    with Supervisor(0) as supervisor:
        return read_folder(tmp_path, supervisor).listings


@pytest.mark.parametrize(
    ("frame", "card"),
    [(ROWS, ROW), (BOXES, BOX), (COLUMNS, COLUMN), (CALLS, CALL), (CALLS, SHOP), (CALLS, LINES)],
    ids=["rows", "boxes", "cells", "bold title", "heading", "bare title"],
)
def test_each_card_is_a_listing(frame: str, card: str, tmp_path: Path) -> None:
    cards = "".join(
        card.format(n=n, url=url, title=title, price=price)
        for n, (title, url, price) in enumerate(GOODS)
    )
    html = (
        f'<html lang="de"><body><h1>New for you</h1><img src="cid:logo" width="20">'
        f"{frame.format(cards=cards)}<p>Free delivery above 50,00 € all week long</p>"
        '<p><a href="https://stallrow.example/unsubscribe">Unsubscribe from these mails</a></p>'
        "</body></html>"
    )
    listings = read_mail(tmp_path, html)
    assert [one.title for one in listings] == [title for title, _, _ in GOODS]
    assert [one.url for one in listings] == [url.split("?")[0] for _, url, _ in GOODS]
    assert [one.price for one in listings] == [
        Decimal("85.00"), Decimal("120.50"), Decimal("1250.00")
    ]  # fmt: skip
    assert {one.currency for one in listings} == {"EUR"}
    assert [one.photos[0].member for one in listings] == ["part:4", "part:5", "part:6"]
    assert {one.date_saved for one in listings} == {"2026-11-12T17:30:00Z"}
    if card == ROW:
        assert {one.shipping for one in listings} == {Decimal("4.90")}
    if card == BOX:
        assert [one.seller_name for one in listings] == ["anna0", "anna1", "anna2"]


def test_newsletter_without_prices_gives_no_listing(tmp_path: Path) -> None:
    links = "".join(f'<p><a href="{url}">{title}</a></p>' for title, url, _ in GOODS)
    assert read_mail(tmp_path, f"<html><body>{links}</body></html>") == ()


def test_mail_in_html_without_a_head_is_read_as_html(tmp_path: Path) -> None:
    """Mail programs send fragments (RFC 2854 leaves the root element's tags out)."""
    (tmp_path / "a.eml").write_bytes(
        b"From: a@x.example\nSubject: Vennerby 12\nMIME-Version: 1.0\n"
        b"Content-Type: text/html; charset=utf-8\n\n"
        b"<div dir='ltr'><h1>Vennerby 12</h1><p>Price: 85,00 EUR</p><p>Seller: anna</p>"
        b"<p>Item number: 40221</p></div>"
    )
    with Supervisor(0) as supervisor:
        (listing,) = read_folder(tmp_path, supervisor).listings
    assert (listing.title, listing.price) == ("Vennerby 12", Decimal("85.00"))


TEXT = """3 new finds for you

Vennerby 12 round frame
85,00 EUR
https://stallrow.example/item/70011

Gantreux oval, horn imitation
Price: 120.50 EUR
Seller: bert
Link: https://stallrow.example/item/70012?utm_source=mail

* Ostelino sunglasses 1970s
  now at EUR 1250 - https://stallrow.example/item/70013

To stop these mails: https://stallrow.example/unsubscribe
"""


def test_alert_in_plain_text(tmp_path: Path) -> None:
    message = EmailMessage()
    message["From"], message["Subject"] = "alerts@stallrow.example", "3 new finds"
    message.set_content(TEXT)
    (tmp_path / "a.eml").write_bytes(message.as_bytes())
    with Supervisor(0) as supervisor:
        listings = read_folder(tmp_path, supervisor).listings
    assert [(one.title, one.price, one.listing_id) for one in listings] == [
        ("Vennerby 12 round frame", Decimal("85.00"), "70011"),
        ("Gantreux oval, horn imitation", Decimal("120.50"), "70012"),
        ("Ostelino sunglasses 1970s", Decimal("1250"), "70013"),
    ]
