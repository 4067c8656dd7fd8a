"""Mails of people who offer a frame become listings; all others are named with a reason."""

from __future__ import annotations

from decimal import Decimal
from email.message import EmailMessage
from pathlib import Path
from typing import NamedTuple

import pytest

from extractors.records import Listing
from tests.triage.readers.saving import photo
from triage.containment import Supervisor
from triage.readers.folder import Reading, read_folder
from triage.readers.letters import bare_subject, price_in, read_letter, sender_of, states_sizes
from triage.readers.source import Sender


class Mail(NamedTuple):
    """A mail as sent, and what is to be read of it."""

    sender: str
    subject: str
    text: str
    title: str
    price: str | None
    currency: str | None
    seller: tuple[str, str]
    ends_with: str  # the description's last words
    photos: int = 0


ANNA = ("Anna Holm", "anna@holm.example")
MAILS = {
    "en, photo and price": Mail(
        "Anna Holm <anna@holm.example>", "Vennerby for you?",
        "Hi,\n\nI have a Vennerby frame, 46-24, stamped inside. Asking 160 GBP, postage 8 GBP.\n\n"
        "Best\nAnna\n\n> On 20 Nov you wrote:\n> do you have one?\n",
        "Vennerby for you?", "160", "GBP", ANNA, "Best\nAnna", 1,
    ),
    "en, photos and no price": Mail(
        "Anna Holm <anna@holm.example>", "Re: old glasses",
        "Found these in a drawer. Make me an offer.\n\nSent from my phone\n",
        "old glasses", None, None, ANNA, "Make me an offer.", 2,
    ),
    "en, sizes alone": Mail(
        "anna@holm.example", "RE: Re: frame",
        "Measures 48-22, arms 145. Want it?\n-- \nAnna Holm\n12 Example Lane\n",
        "frame", None, None, ("anna", "anna@holm.example"), "Want it?",
    ),
    "en, two amounts, one asked": Mail(
        "Anna Holm <anna@holm.example>", "Gantreux",
        "New they cost £400. I am asking £160 for it.\nAnna",
        "Gantreux", "160", "GBP", ANNA, "Anna",
    ),
    "en, forwarded in the text": Mail(
        "Buyer <me@buyer.example>", "Fwd: Gantreux oval",
        "look at this\n\n---------- Forwarded message ---------\n"
        "From: Anna Holm <anna@holm.example>\n"
        "Date: Tue, 24 Nov 2026 at 09:00\nSubject: Gantreux oval frame\n"
        "To: <me@buyer.example>\n\n\n"
        "Oval frame, 50-20. 95 EUR plus shipping.\n",
        "Gantreux oval frame", "95", "EUR", ANNA, "plus shipping.", 1,
    ),
    "de": Mail(
        "Jörg Muster <joerg@muster.example>", "AW: Brille",
        "Hallo,\nich habe eine Ostelino in Horn, 44-24, Bügel 140. Preis 120 €, Versand 6 €.\n"
        "Gruß Jörg\n\nAm 20.11.2026 um 10:12 schrieb Käufer:\n"
        "> Haben Sie noch die 44er für 99 €?\n",
        "Brille", "120", "EUR", ("Jörg Muster", "joerg@muster.example"), "Gruß Jörg",
    ),
    "de, forwarded with WG": Mail(
        "Käufer <me@buyer.example>", "WG: Fassung",
        "Von: Jörg Muster <joerg@muster.example>\nGesendet: Dienstag, 24. November 2026 09:00\n"
        "An: Käufer\nBetreff: Fassung\n\nVerkaufe Fassung 46-22 für 80 EUR.\n\n"
        "Von meinem Telefon gesendet\n",
        "Fassung", "80", "EUR", ("Jörg Muster", "joerg@muster.example"), "für 80 EUR.",
    ),
    "fr": Mail(
        "Luc Modèle <luc@modele.example>", "TR: monture",
        "Bonjour,\nJe vends une monture Mirovale, 48-20. J'en demande 140 €.\nLuc\n\n"
        "Le mar. 24 nov. 2026 à 09:00, Acheteur <me@buyer.example> a\nécrit :\n> bonjour\n",
        "monture", "140", "EUR", ("Luc Modèle", "luc@modele.example"), "Luc", 1,
    ),
    "fr, from a phone": Mail(
        "Luc Modèle <luc@modele.example>", "lunettes anciennes",
        "Voici la photo, 150 euros port compris.\n\nEnvoyé de mon téléphone\n",
        "lunettes anciennes", "150", "EUR", ("Luc Modèle", "luc@modele.example"), "compris.", 1,
    ),
    "it": Mail(
        "Ada Prova <ada@prova.example>", "I: montatura",
        "Ciao, ho una montatura 50-18 degli anni '60. Chiedo 90 euro, spedizione 7 euro.\nAda\n\n"
        "Inviato da telefono\n",
        "montatura", "90", "EUR", ("Ada Prova", "ada@prova.example"), "Ada",
    ),
    "es": Mail(
        "Eva Ejemplo <eva@ejemplo.example>", "RV: gafas",
        "Hola, vendo montura 46-24, varilla 145. Pido 75 €.\nUn saludo\n\n"
        "El mar, 24 nov 2026 a las 9:00, Comprador escribió:\n> ¿la tienes?\n",
        "gafas", "75", "EUR", ("Eva Ejemplo", "eva@ejemplo.example"), "Un saludo",
    ),
    "es, photo alone": Mail(
        "Eva Ejemplo <eva@ejemplo.example>", "montura Vennerby",
        "La de la foto.\n\nEnviado desde mi teléfono\n",
        "montura Vennerby", None, None, ("Eva Ejemplo", "eva@ejemplo.example"), "foto.", 1,
    ),
}  # fmt: skip


def message_of(sender: str, subject: str, text: str, photos: int = 0) -> EmailMessage:
    message = EmailMessage()
    message["From"] = sender
    message["To"] = "me@buyer.example"
    message["Subject"] = subject
    message["Date"] = "Tue, 24 Nov 2026 09:00:00 +0000"
    message.set_content(text)
    for n in range(photos):
        message.add_attachment(photo(n), "image", "jpeg", filename=f"{n}.jpg")
    return message


def read(tmp_path: Path, message: EmailMessage | bytes) -> Reading:
    data = message if isinstance(message, bytes) else message.as_bytes()
    (tmp_path / "a.eml").write_bytes(data)
    with Supervisor(0) as supervisor:
        return read_folder(tmp_path, supervisor)


def read_one(tmp_path: Path, message: EmailMessage | bytes) -> Listing:
    reading = read(tmp_path, message)
    assert reading.problems == ()
    (listing,) = reading.listings
    return listing


@pytest.mark.parametrize("mail", MAILS.values(), ids=MAILS.keys())
def test_private_mail_is_a_listing(tmp_path: Path, mail: Mail) -> None:
    message = message_of(mail.sender, mail.subject, mail.text, mail.photos)
    listing = read_one(tmp_path, message)
    assert listing.title == mail.title
    assert (listing.price, listing.currency) == (
        Decimal(mail.price) if mail.price else None,
        mail.currency,
    )
    assert (listing.seller_name, listing.seller_id) == mail.seller
    assert listing.description.endswith(mail.ends_with)
    assert (listing.date_listed, listing.date_saved) == (None, "2026-11-24T09:00:00Z")
    assert len(listing.photos) == mail.photos


@pytest.mark.parametrize(
    ("sender", "subject", "text"),
    [
        ("Anna <anna@holm.example>", "Lunch on Friday?", "See you at noon.\nAnna"),
        ("Shop <shop@stallrow.example>", "Your order confirmation", "Total paid: 85 EUR. Thanks."),
        ("Laden <shop@stallrow.example>", "Ihre Rechnung 4711", "Betrag: 85,00 EUR"),
        ("News <newsletter@stallrow.example>", "Autumn days", "All frames from 50 EUR this week!"),
        ("Boutique <shop@stallrow.example>", "Votre facture", "Montant payé : 85 €"),
        ("Anna <anna@holm.example>", "Re: frame", "\n> 46-24 for 160 GBP?\n"),
    ],
)
def test_mail_without_an_offer_is_named(
    tmp_path: Path, sender: str, subject: str, text: str
) -> None:
    reading = read(tmp_path, message_of(sender, subject, text))
    assert reading.listings == ()
    (problem,) = reading.problems
    assert problem.what.startswith("is a mail")


def test_letter_in_html_alone(tmp_path: Path) -> None:
    message = message_of("Anna Holm <anna@holm.example>", "Offer", "x")
    html = "<html><body><h1>Vennerby honey</h1><p>160 GBP</p><p>46-24-145</p></body></html>"
    message.add_alternative(html, subtype="html")
    listing = read_one(tmp_path, message)
    assert (listing.title, listing.price, listing.currency) == (
        "Vennerby honey",
        Decimal(160),
        "GBP",
    )
    assert (listing.seller_name, listing.seller_id) == ANNA
    assert "46-24-145" in listing.description


def test_photo_in_an_html_letter(tmp_path: Path) -> None:
    message = message_of("Anna Holm <anna@holm.example>", "Vennerby", "x")
    html = "<div>My frame, see below.</div><img src='cid:1@p'><div>Sent from my phone</div>"
    message.add_alternative(html, subtype="html")
    message.get_payload()[1].add_related(photo(1), "image", "jpeg", cid="<1@p>")  # type: ignore[index, union-attr]
    listing = read_one(tmp_path, message)
    assert (listing.title, len(listing.photos)) == ("Vennerby", 1)
    assert listing.description == "My frame, see below."


def parts(*pieces: tuple[str, str]) -> bytes:
    head = (
        "From: Anna Holm <anna@holm.example>\nSubject: Vennerby\nMIME-Version: 1.0\n"
        'Content-Type: multipart/mixed; boundary="b"\n\n'
    )
    return (head + "".join(f"--b\n{h}\n\n{body}\n" for h, body in pieces) + "--b--\n").encode()


JPEG = "/9j/4AAQSkZJRgABAQAAAQABAAD/2Q=="
PHOTO = ("Content-Type: image/jpeg\nContent-ID: <1@p>\nContent-Transfer-Encoding: base64", JPEG)
NAMED_PHOTO = (
    'Content-Type: application/octet-stream; name="a.jpg"\n'
    'Content-Disposition: attachment; filename="a.jpg"\nContent-Transfer-Encoding: base64',
    JPEG,
)


@pytest.mark.parametrize("picture", [PHOTO, NAMED_PHOTO])
def test_text_parted_by_a_photo_is_one_letter(tmp_path: Path, picture: tuple[str, str]) -> None:
    plain = "Content-Type: text/plain"
    listing = read_one(
        tmp_path, parts((plain, "My frame:"), picture, (plain, "160 GBP.\n\nSent from my phone"))
    )
    assert listing.description == "My frame:\n\n160 GBP."
    assert (listing.price, len(listing.photos)) == (Decimal(160), 1)


def test_photo_without_a_word_goes_by_its_subject(tmp_path: Path) -> None:
    listing = read_one(tmp_path, parts(PHOTO))
    assert (listing.title, len(listing.photos)) == ("Vennerby", 1)


def test_forwarded_message_keeps_its_photos_to_itself(tmp_path: Path) -> None:
    inner = message_of("Anna Holm <anna@holm.example>", "Vennerby", "Frame of mine.", 1)
    outer = message_of("Buyer <me@buyer.example>", "Fwd: Vennerby", "have a look")
    outer.add_attachment(inner)
    reading = read(tmp_path, outer)
    (listing,) = reading.listings
    assert (listing.seller_name, listing.seller_id) == ANNA
    assert listing.description == "Frame of mine."
    assert len(listing.photos) == 1


def test_mail_sent_to_many_names_no_seller() -> None:
    message = message_of("Stallrow <hello@stallrow.example>", "x", "x")
    message["List-Unsubscribe"] = "<https://stallrow.example/u>"
    assert sender_of(message, message["From"]).is_bulk
    assert sender_of(message_of("n", "x", "x"), "No reply <no-reply@stallrow.example>").is_bulk
    assert not sender_of(message_of("n", "x", "x"), "Anna <anna@holm.example>").is_bulk


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("I would want 160 GBP for it.", 160),
        ("160 GBP or 180 EUR", None),
        ("shipping is 12 EUR", None),
        ("12 EUR Versand, 80 EUR die Brille", 80),
        ("46-24-145", None),
        ("160 GBP, yes, 160 GBP", 160),
    ],
)
def test_one_clear_amount_is_the_price(text: str, amount: int | None) -> None:
    found = price_in(text)
    assert (found.amount if found else None) == amount


@pytest.mark.parametrize(
    ("text", "stated"),
    [("46-24", True), ("48 □ 22", True), ("145 mm", True), ("2026-11-24", False),
     ("tel 55 12345", False)],
)  # fmt: skip
def test_sizes(text: str, stated: bool) -> None:
    assert states_sizes(text) is stated


def test_answer_below_a_quote_is_kept() -> None:
    letter = read_letter("Re: x", "> still there?\n\nYes, 46-24.", Sender())
    assert letter.text == "Yes, 46-24."


@pytest.mark.parametrize("prefix", ["Re: ", "Fwd: ", "WG: ", "TR: ", "I: ", "AW: Fwd: ", "RE[2]: "])
def test_prefixes_of_a_subject(prefix: str) -> None:
    assert bare_subject(f"{prefix}Iris: a frame") == "Iris: a frame"


def test_mail_forwarded_in_html(tmp_path: Path) -> None:
    message = message_of("Buyer <me@buyer.example>", "Fwd: frame", "x")
    html = (
        "<div>see below<br><br>Begin forwarded message:<br><blockquote type='cite'>"
        "<div><b>From: </b>Anna Holm &lt;anna@holm.example&gt;<br></div>"
        "<div><b>Subject: </b>Frame for sale</div><div><b>Date: </b>23 November 2026</div>"
        "<div><b>To: </b>me</div><br><div>I sell a frame 50-20 at 95 EUR.</div></blockquote></div>"
    )
    message.add_alternative(html, subtype="html")
    listing = read_one(tmp_path, message)
    assert (listing.title, listing.price) == ("Frame for sale", Decimal(95))
    assert (listing.seller_name, listing.seller_id) == ANNA
    assert listing.description == "I sell a frame 50-20 at 95 EUR."
