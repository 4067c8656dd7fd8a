"""Alert mails of many kinds: prices first, lots, drops, relisted, digests, forwarded, mailed pages.

Wording and layout are made up after what such mails do (common practice, no source).
"""

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
    ("Vennerby Carrick frame 48-22", "£45.00", "91230001"),
    ("Ostelino 404 black", "£1,250.00", "91230002"),
    ("Gantreux Mirelle", "£88.50", "91230003"),
]
TRUTH = [
    ("Vennerby Carrick frame 48-22", Decimal(45), "https://row.example/ad/91230001"),
    ("Ostelino 404 black", Decimal(1250), "https://row.example/ad/91230002"),
    ("Gantreux Mirelle", Decimal("88.50"), "https://row.example/ad/91230003"),
]


def mail(
    text: str, html: str = "", subject: str = "New ads", sender: str = "Row <alerts@row.example>"
) -> EmailMessage:
    made = EmailMessage()
    made["From"], made["To"], made["Subject"] = sender, "me@home.example", subject
    made["Date"] = "Sat, 21 Nov 2026 10:14:03 +0100"
    if "alerts@" in sender:
        made["List-Unsubscribe"] = "<https://row.example/out>"
    made.set_content(text or "see the other part")
    if html:
        made.add_alternative(html, subtype="html")
        body = made.get_payload()[1]  # type: ignore[index]
        for n in range(3):
            body.add_related(photo(n), "image", "jpeg", cid=f"<{n}@p>")  # type: ignore[union-attr]
    return made


def read(tmp_path: Path, message: EmailMessage) -> tuple[Listing, ...]:
    (tmp_path / "a.eml").write_bytes(message.as_bytes())
    with Supervisor(0) as supervisor:
        return read_folder(tmp_path, supervisor).listings


def told(listings: tuple[Listing, ...]) -> list[tuple[str, Decimal | None, str | None]]:
    return [(one.title, one.price, one.url) for one in listings]


def each(row: str, between: str = "\n\n") -> str:
    url = "https://row.example/ad/{i}"
    rows = (
        row.format(n=n, lot=n + 11, title=title, price=price, url=url.format(i=i))
        for n, (title, price, i) in enumerate(GOODS)
    )
    return between.join(rows)


TEXTS = {
    "price first": "Hello,\n\n" + each("{price}  {title}\n<{url}>"),
    "price first, dash": each("{price} - {title}\n{url}"),
    "price first, list": each("* {price} | {title} | {url}", "\n"),
    "price in brackets": each("[{price}] {title}\n{url}"),
    "labels": each("Title: {title}\nPrice: {price}\nSeller: dusty\nLink: {url}"),
    "address first": each("{url}\n{title}\n{price}"),
    "lots": "Ending soon\n\n"
    + each(
        "Lot {lot}: {title}\nEstimate: £200 - £300\nCurrent bid: {price} (4 bids)\n"
        "Ends 25 November 2026 19:00\n{url}"
    ),
    "dropped": each("{title}\nwas £2,000.00 now {price}\n{url}"),
    "dropped, labels": each("{title}\nOld price: £2,000.00\nNew price: {price}\n{url}"),
    "relisted": "Relisted: items you watched\n\n" + each("{title} - relisted at {price}\n{url}"),
}


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
def test_alert_in_plain_text(tmp_path: Path, text: str) -> None:
    assert told(read(tmp_path, mail(text))) == TRUTH


PAGES = {
    "lots": "<table><tr><td><a href='{url}'><img src='cid:{n}@p' width=120></a></td><td>"
    "<div>Lot {lot}</div><a href='{url}'>{title}</a><br>Estimate £200 – £300<br>"
    "Current bid <b>{price}</b> · 4 bids<br>Ends 25 Nov 2026</td></tr></table>",
    "dropped": "<div><a href='{url}'><img src='cid:{n}@p'></a><p><a href='{url}'>{title}</a></p>"
    "<p><s>£2,000.00</s> <b>{price}</b></p><p>-20%</p></div>",
    "digest": "<ul><li><a href='{url}'>{title}</a> – {price} <small>(ends today)</small></li></ul>",
    "price first": "<p><b>{price}</b> <a href='{url}'>{title}</a></p>",
}


@pytest.mark.parametrize("row", PAGES.values(), ids=PAGES)
def test_alert_as_a_page(tmp_path: Path, row: str) -> None:
    html = f"<html><body><h2>Your week</h2>{each(row, '')}</body></html>"
    assert told(read(tmp_path, mail("", html))) == TRUTH


FORWARDED = {
    "en": "---------- Forwarded message ---------\nFrom: {who}\nDate: Fri, Nov 20, 2026 at 10:00\n"
    "Subject: New ads\nTo: <me@home.example>\n\n",
    "de": "---------- Weitergeleitete Nachricht ---------\nVon: {who}\n"
    "Date: Fr., 20. Nov. 2026 um 10:00 Uhr\nSubject: New ads\nTo: <me@home.example>\n\n",
    "fr": "________________________________\nDe : {who}\nEnvoyé : vendredi 20 novembre 2026 10:00\n"
    "À : me@home.example\nObjet : New ads\n\n",
    "it": "Inizio messaggio inoltrato:\n\nDa: {who}\nOggetto: New ads\n"
    "Data: 20 novembre 2026 alle ore 10:00:00 CET\nA: me@home.example\n\n",
    "es": "-------- Mensaje reenviado --------\nAsunto: New ads\n"
    "Fecha: Fri, 20 Nov 2026 10:00:00 +0100\nDe: {who}\nPara: me@home.example\n\n",
}


@pytest.mark.parametrize("quoted", [False, True])
@pytest.mark.parametrize("head", FORWARDED.values(), ids=FORWARDED)
def test_alert_forwarded_by_a_person(tmp_path: Path, head: str, quoted: bool) -> None:
    body = head.format(who="Row <alerts@row.example>") + each("{title}\n{price}\n{url}")
    if quoted:
        body = "".join(f"> {line}\n" for line in body.split("\n"))
    message = mail(f"fyi\n\n{body}", subject="Fwd: New ads", sender="Me <me@work.example>")
    assert told(read(tmp_path, message)) == TRUTH


def test_a_single_relisted_piece(tmp_path: Path) -> None:
    title, price, number = GOODS[0]
    text = f"Good news! A piece you watch is back.\n\n{title}\nPrice: {price}\nView it: "
    message = mail(f"{text}https://row.example/ad/{number}\n", subject="Relisted: Vennerby")
    assert told(read(tmp_path, message)) == TRUTH[:1]


def test_what_a_buyer_sends_to_himself_names_no_seller(tmp_path: Path) -> None:
    text = "Vennerby Carrick frame, lens 48 mm, bridge 22 mm, asking £45."
    message = mail(text, subject="Vennerby Carrick frame", sender="Me <me@home.example>")
    (listing,) = read(tmp_path, message)
    assert (listing.price, listing.seller_name, listing.seller_id) == (Decimal(45), None, None)


@pytest.mark.parametrize("canonical", ["", "https://m.row.example/ad/91230001"])
def test_page_sent_by_mail_is_read_as_a_page(tmp_path: Path, canonical: str) -> None:
    link = f"<link rel='canonical' href='{canonical}'>" if canonical else ""
    html = (
        f"<html lang='fr'><head><title>Vennerby Carrick solaires | m.row.example</title>{link}"
        "</head><body><img src='cid:0@p'><div class='a'><div role='heading' aria-level='1'>"
        "Vennerby Carrick solaires</div><div class='b'>45 €</div></div><div><div><div class='l'>"
        "Livraison</div><div class='r'>Livraison gratuite</div></div><div><div class='l'>Fabricant"
        "</div><div class='r'>Vennerby</div></div></div><div><div class='s'>Description</div>"
        "<div class='t'>Restées au tiroir.<br>Verre 48 mm.</div></div>"
        "<a href='https://m.row.example/vendeur/77'><div class='n'>dusty</div></a></body></html>"
    )
    (listing,) = read(tmp_path, mail("", html, sender="Me <me@work.example>"))
    assert listing.title == "Vennerby Carrick solaires"
    assert listing.description == "Restées au tiroir.\nVerre 48 mm."
    assert dict(listing.specifics) == {"Fabricant": "Vennerby"}
    assert (listing.price, listing.shipping) == (Decimal(45), Decimal(0))
    assert (listing.seller_name, listing.url) == ("dusty", canonical or None)
