"""Listings that alert mails announce in plain text, and mails that announce a single one."""

from __future__ import annotations

from email.message import EmailMessage
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.containment import Supervisor
from triage.readers.announced import find_announced
from triage.readers.folder import read_folder

LISTS = {
    "numbered, without empty lines": """Hello,
3 new results:

1. Vennerby Solano 48-22 tortoise frame
   £85.00 + £4.50 postage
   https://rowmart.example/item/4410021
2. Gantreux Clairval, gold filled, 1950s
   £140.00 or best offer
   https://rowmart.example/item/4410077
""",
    "one line each": """Guten Tag,
- Vennerby Solano 48-22 tortoise frame, £85.00: https://rowmart.example/item/4410021
- Gantreux Clairval, gold filled, 1950s - £140.00 https://rowmart.example/item/4410077

Ihr Markt
""",
    "the address above, the amount below an empty line": """New for you

Vennerby Solano 48-22 tortoise frame

£85.00

https://rowmart.example/item/4410021

Gantreux Clairval, gold filled, 1950s

Buy it now: £140.00

View: https://rowmart.example/item/4410077
""",
    "one after the other, no marks": """Vennerby Solano 48-22 tortoise frame
was £95.00, now £85.00
https://rowmart.example/item/4410021
Gantreux Clairval, gold filled, 1950s
£140.00
https://rowmart.example/item/4410077
Manage your searches: https://rowmart.example/searches
""",
    "numbers in brackets, forwarded": """Look!

---------- Forwarded message ---------
From: Row Mart <alerts@rowmart.example>
Subject: 2 new results

[1] Vennerby Solano 48-22 tortoise frame | £85.00 | <https://rowmart.example/item/4410021>
[2] Gantreux Clairval, gold filled, 1950s | £140.00 | <https://rowmart.example/item/4410077>

Unsubscribe: https://rowmart.example/u
""",
}


@pytest.mark.parametrize("text", LISTS.values(), ids=LISTS)
def test_each_announced_listing_is_found(tmp_path: Path, text: str) -> None:
    assert [(one[0], one[1], one[2]) for one in read_mail(tmp_path, text)] == [
        ("Vennerby Solano 48-22 tortoise frame", "85.00", "4410021"),
        ("Gantreux Clairval, gold filled, 1950s", "140.00", "4410077"),
    ]


def test_postage_beside_the_price_is_shipping(tmp_path: Path) -> None:
    shown = read_mail(tmp_path, LISTS["numbered, without empty lines"])
    assert [one[3] for one in shown] == ["4.50", "None"]


def test_what_is_given_away_in_a_list_is_announced_without_a_price(tmp_path: Path) -> None:
    text = """Neue Anzeigen:
- Alte Brille Ostelino 46-20, 45 EUR VB: https://rowmart.example/anzeige/99120011
- Brillenetui Leder, zu verschenken: https://rowmart.example/anzeige/99120013
"""
    shown = read_mail(tmp_path, text)
    assert [one[:2] for one in shown] == [
        ("Alte Brille Ostelino 46-20", "45"),
        ("Brillenetui Leder, zu verschenken", "None"),
    ]


CARD = """<table><tr><td><a href="https://rowmart.example/item/4410021?utm_source=alert">
<img src="https://i.rowmart.example/1.jpg" width="110" height="110"></a></td><td>
<a href="https://rowmart.example/item/4410021?utm_source=alert"><b>Vennerby Solano 48-22</b></a><br>
<span>£85.00</span><br><span>{said}</span></td></tr></table>"""


@pytest.mark.parametrize(("said", "ended"), [("Leeds · 2 photos", None), ("Sold", True)])
def test_a_single_card_that_a_program_sent_is_a_listing(
    tmp_path: Path, said: str, ended: bool | None
) -> None:
    body = f"<p>1 new listing for your search</p>{CARD.format(said=said)}<p>You saved a search.</p>"
    write(tmp_path, "1 new listing", html=body, bulk=True)
    with Supervisor(0) as supervisor:
        (listing,) = read_folder(tmp_path, supervisor).listings
    assert (listing.title, str(listing.price), listing.listing_id, listing.ended) == (
        "Vennerby Solano 48-22",
        "85.00",
        "4410021",
        ended,
    )


def test_a_single_card_in_a_persons_letter_is_not_all_it_says(tmp_path: Path) -> None:
    body = f"<p>Dear Rosa, I offer you this frame, 48-22, for £85.00.</p>{CARD.format(said='')}"
    write(tmp_path, "My frame", html=body, bulk=False)
    with Supervisor(0) as supervisor:
        (listing,) = read_folder(tmp_path, supervisor).listings
    assert "I offer you this frame" in listing.description


@given(st.text("1.) -*\n£€0x https://rowmart.example/item/44 frame:", max_size=400))
def test_any_text_gives_each_address_once(text: str) -> None:
    found = [one.address for one in find_announced(text)]
    assert len(found) == len(set(found))


def read_mail(folder: Path, text: str) -> list[tuple[str, str, str | None, str]]:
    write(folder, "New results", text=text, bulk=True)
    with Supervisor(0) as supervisor:
        listings = read_folder(folder, supervisor).listings
    return [(one.title, str(one.price), one.listing_id, str(one.shipping)) for one in listings]


def write(folder: Path, subject: str, text: str = "", html: str = "", bulk: bool = False) -> None:
    message = EmailMessage()
    message["From"], message["Subject"] = "Row Mart <alerts@rowmart.example>", subject
    if bulk:
        message["List-Unsubscribe"] = "<https://rowmart.example/u>"
    else:
        message.replace_header("From", "Otto <otto@post.example>")
    message.set_content(html or text, subtype="html" if html else "plain")
    (folder / "a.eml").write_bytes(message.as_bytes())


SELLER_CARD = """<tr><td><a href="{url}">{title}</a><br>{line}<br><b>{price}</b></td></tr>"""


@pytest.mark.parametrize(
    "line", ["Venduto da bottega_rosa", "Sold by rosa77", "Verkauft von rosa77", "Vendu par rosa77"]
)
def test_a_line_that_names_the_seller_is_no_cards_title(tmp_path: Path, line: str) -> None:
    rows = "".join(
        SELLER_CARD.format(
            url=f"https://rowmart.example/item/44100{n}", title=title, line=line, price=p
        )
        for n, title, p in ((21, "Vennerby 48", "£85.00"), (77, "Mirovale 46", "£140.00"))
    )
    write(tmp_path, "2 new listings", html=f"<table>{rows}</table>", bulk=True)
    with Supervisor(0) as supervisor:
        listings = read_folder(tmp_path, supervisor).listings
    assert [one.title for one in listings] == ["Vennerby 48", "Mirovale 46"]
