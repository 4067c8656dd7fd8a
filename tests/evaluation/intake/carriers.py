"""Saves made pages in mails and web archives, and goods as exports and notes, in many manners."""

from __future__ import annotations

import base64
import csv
import io
import json
import random
import re
import zipfile
from collections.abc import Callable
from email.message import EmailMessage
from email.policy import SMTP
from pathlib import Path
from typing import Any

from warcio.statusandheaders import StatusAndHeaders
from warcio.warcwriter import WARCWriter

from tests.evaluation.intake.goods import Goods, day, money
from tests.evaluation.intake.made import FIELDS, Made

SAVED = "2026-11-12T17:30:00Z"


# --- pages -----------------------------------------------------------------------------------


def url_of(made: Made) -> str:
    match = re.search(r"https://[^\"'\s)]+/item/[^\"'\s)#?]+", made.html)
    return match[0] if match else "https://stallrow.example/item/1"


def _entries(made: Made) -> list[tuple[str, str, bytes]]:
    html = made.html.encode(made.encoding, "xmlcharrefreplace")
    return [
        (url_of(made), f"text/html; charset={made.encoding}", html),
        *((a, "text/html; charset=utf-8", f.encode()) for a, f in made.frames.items()),
        *((a, "image/jpeg", made.assets[a]) for a in made.assets if a in made.shown(True)),
    ]


def warc(made: Made, folder: Path, name: str, rng: random.Random) -> set[str]:
    packed = rng.random() < 0.5
    ending = ".warc.gz" if packed else ".warc"
    (folder / f"{name}{ending}").write_bytes(_warc_bytes(_shuffled(made, rng), packed))
    return made.shown(True)


def _shuffled(made: Made, rng: random.Random) -> list[tuple[str, str, bytes]]:
    entries = _entries(made)
    if rng.random() < 0.5:
        rng.shuffle(entries)
    return entries


def _warc_bytes(entries: list[tuple[str, str, bytes]], packed: bool) -> bytes:
    out = io.BytesIO()
    writer = WARCWriter(out, gzip=packed, warc_version="WARC/1.1")
    for n, (url, media, data) in enumerate(entries):
        if media.startswith("text/html"):
            dest = "document" if "/item/" in url else "iframe"
            asked = StatusAndHeaders(
                "GET / HTTP/1.1", [("Sec-Fetch-Dest", dest)], is_http_request=True
            )
            writer.write_record(writer.create_warc_record(url, "request", http_headers=asked))
        http = StatusAndHeaders("200 OK", [("Content-Type", media)], protocol="HTTP/1.1")
        date = {"WARC-Date": f"2026-11-12T17:30:{n % 60:02}Z"}
        record = writer.create_warc_record(
            url, "response", io.BytesIO(data), http_headers=http, warc_headers_dict=date
        )
        writer.write_record(record)
    return out.getvalue()


def wacz(made: Made, folder: Path, name: str, rng: random.Random) -> set[str]:
    entries = _shuffled(made, rng)
    with zipfile.ZipFile(folder / f"{name}.wacz", "w") as archive:
        archive.writestr("datapackage.json", '{"profile": "data-package", "wacz_version": "1.1.1"}')
        archive.writestr("archive/a.warc.gz", _warc_bytes(entries[::2], True))
        archive.writestr("archive/b.warc.gz", _warc_bytes(entries[1::2], True))
        archive.writestr("pages/pages.jsonl", json.dumps({"url": url_of(made), "ts": SAVED}))
    return made.shown(True)


def har(made: Made, folder: Path, name: str, rng: random.Random) -> set[str]:
    entries = []
    for url, media, data in _entries(made):
        content: dict[str, Any] = {"mimeType": media, "size": len(data)}
        if media.startswith("text") and rng.random() < 0.7:
            charset = "utf-8" if "utf-8" in media else made.encoding
            content["text"] = data.decode(charset)
        else:
            content |= {"text": base64.b64encode(data).decode(), "encoding": "base64"}
        dest = "image" if media.startswith("image") else "document" if "/item/" in url else "iframe"
        entries.append(
            {
                "startedDateTime": SAVED,
                "request": {"url": url, "headers": [{"name": "Sec-Fetch-Dest", "value": dest}]},
                "response": {"status": 200, "content": content},
            }
        )
    (folder / f"{name}.har").write_text(json.dumps({"log": {"version": "1.2", "entries": entries}}))
    return made.shown(True)


def mail(made: Made, folder: Path, name: str, rng: random.Random) -> set[str]:
    message, shown = _message(made)
    (folder / f"{name}.eml").write_bytes(message.as_bytes(policy=SMTP))
    return shown


def forwarded(made: Made, folder: Path, name: str, rng: random.Random) -> set[str]:
    outer = EmailMessage()
    outer["From"], outer["To"], outer["Subject"] = "a@mail.example", "b@mail.example", "Fwd: look"
    outer.set_content("have a look at this one")
    message, shown = _message(made)
    outer.add_attachment(message)
    (folder / f"{name}.eml").write_bytes(outer.as_bytes())
    return shown


def _message(made: Made) -> tuple[EmailMessage, set[str]]:
    """A page sent by mail: pictures by content id; frames cannot be."""
    message = EmailMessage()
    message["From"], message["To"] = "alerts@stallrow.example", "buyer@mail.example"
    message["Subject"], message["Date"] = "A find", "Thu, 12 Nov 2026 17:30:00 +0000"
    message.set_content("This mail is best read as a page.")
    html, shown = made.html, [a for a in made.assets if a in made.shown(False)]
    for n, address in enumerate(shown):
        html = re.sub(rf"(\ssrc=[\"']?){re.escape(address)}", rf"\g<1>cid:p{n}@x", html)
        html = html.replace(f"url({address}", f"url(cid:p{n}@x")
    message.add_alternative(html, subtype="html")
    body = message.get_payload()[1]  # type: ignore[index]
    for n, address in enumerate(shown):
        body.add_related(made.assets[address], "image", "jpeg", cid=f"<p{n}@x>")  # type: ignore[union-attr]
    return message, {a for n, a in enumerate(shown) if f"cid:p{n}@x" in html}


PAGE_CARRIERS: dict[str, Callable[[Made, Path, str, random.Random], set[str]]] = {
    "warc": warc,
    "wacz": wacz,
    "har": har,
    "mail": mail,
    "forwarded": forwarded,
}


# --- exports ---------------------------------------------------------------------------------

# names of (title, description, price, currency, kind, buy now, shipping, ended, seller id, seller
# name, listing id, url, date, photos, specifics); the first list was in view when the rules were
# written, the second is kept for the figures
_ORDER = (
    "title", "description", "price", "currency", "price_kind", "buy_now", "shipping", "ended",
    "seller_id", "seller_name", "listing_id", "url", "date_listed", "photos", "specifics",
)  # fmt: skip
WRITTEN = {
    "en": "title|description|price|currency|price_kind|buy_now|shipping|ended|seller_id|seller_name|listing_id|url|date_listed|photos|specifics",
    "de": "Titel|Beschreibung|Preis|Währung|Preisart|Sofortkauf|Versandkosten|Beendet|Verkäufer-ID|Verkäufer|Artikelnummer|Link|Eingestellt am|Fotos|Merkmale",
    "fr": "Titre|Description|Prix|Devise|Type de vente|Achat immédiat|Frais de port|Terminée|Identifiant vendeur|Vendeur|Numéro d'annonce|Lien|Date de mise en ligne|Photos|Caractéristiques",
    "it": "Titolo|Descrizione|Prezzo|Valuta|Tipo di vendita|Compralo subito|Spese di spedizione|Terminata|ID venditore|Venditore|Numero annuncio|Link|Pubblicato il|Foto|Caratteristiche",
    "es": "Título|Descripción|Precio|Moneda|Tipo de venta|Cómpralo ya|Gastos de envío|Finalizado|ID del vendedor|Vendedor|Número de anuncio|Enlace|Fecha de publicación|Fotos|Características",
}
KEPT = {
    "en": "Item Title|Item Description|Item Price|Price Currency|Sale Type|Buy Now Price|Shipping Price|Closed|Seller No.|Seller Name|Item Number|Web Address|Posted On|Picture File Names|Item Attributes",
    "de": "Artikelbezeichnung|Angebotsbeschreibung|Artikelpreis|Preiswährung|Art des Angebots|Sofort-Kaufen-Preis|Versand|Angebot beendet|Verkäufernummer|Name des Verkäufers|Angebotsnummer|Webadresse|Einstelldatum|Bilddateien|Artikeleigenschaften",
    "fr": "Titre de l'objet|Description de l'annonce|Prix demandé|Monnaie|Format de vente|Prix achat immédiat|Livraison|Annonce terminée|N° du vendeur|Nom du vendeur|N° de l'annonce|Adresse web|Mis en ligne le|Noms des images|Caractéristiques de l'objet",
    "it": "Titolo dell'inserzione|Descrizione dell'annuncio|Prezzo dell'oggetto|Valuta del prezzo|Formato di vendita|Prezzo compralo subito|Costo di spedizione|Inserzione conclusa|Codice venditore|Nome venditore|Codice inserzione|Indirizzo web|Data di pubblicazione|Nomi delle foto|Caratteristiche dell'oggetto",
    "es": "Título del artículo|Descripción del anuncio|Precio del artículo|Divisa|Formato de venta|Precio cómpralo ya|Coste de envío|Anuncio terminado|Código del vendedor|Nombre del vendedor|Código del anuncio|Dirección web|Fecha de alta|Nombres de las fotos|Características del artículo",
}
# written after the rules had been mended with KEPT in view, and not looked at since
KEPT_LATER = {
    "en": "Product Name|Listing Text|Asking Price|Curr.|Auction or Fixed|Instant Buy Price|P&P|Listing Ended|Vendor ID|Vendor|Lot No.|Permalink|Date Added|Pics|Product Properties",
    "de": "Anzeigentitel|Artikelbeschreibung|Verkaufspreis|Währungscode|Angebotsart|Sofortpreis|Versandgebühr|Angebot abgelaufen|ID des Verkäufers|Anbieter|Inseratsnummer|Seite|Angebotsdatum|Abbildungen|Produktdetails",
    "fr": "Nom de l'article|Texte|Montant|Code devise|Mode de vente|Prix immédiat|Coût de la livraison|Vente terminée|Identifiant du vendeur|Vendeur (pseudo)|Référence de l'annonce|Page web|Date de parution|Fichiers image|Détails du produit",
    "it": "Nome articolo|Testo|Importo|Codice valuta|Modalità di vendita|Prezzo immediato|Costi di consegna|Asta terminata|Identificativo venditore|Negozio|ID inserzione|Pagina web|Data dell'annuncio|Nomi file immagini|Dettagli prodotto",
    "es": "Nombre del producto|Texto|Importe|Código de divisa|Modalidad de venta|Precio inmediato|Coste de entrega|Venta terminada|Identificador del vendedor|Tienda|ID de anuncio|Página web|Fecha del anuncio|Archivos de imagen|Detalles del producto",
}
NAMES = {"written": WRITTEN, "kept back": KEPT, "kept later": KEPT_LATER}
KINDS = {
    "en": ("fixed price", "auction", "sold"),
    "de": ("Festpreis", "Auktion", "verkauft"),
    "fr": ("prix fixe", "enchère", "vendu"),
    "it": ("prezzo fisso", "asta", "venduto"),
    "es": ("precio fijo", "subasta", "vendido"),
}
YES = {"en": "yes", "de": "ja", "fr": "oui", "it": "sì", "es": "sí"}
NO = {"en": "no", "de": "nein", "fr": "non", "it": "no", "es": "no"}


def values(goods: Goods, rng: random.Random, plain: bool) -> dict[str, Any]:
    """What an export says of a listing: as programs write it (plain) or as people do."""
    language, style = goods.language, rng.randrange(3)
    kind = ("fixed", "bid", "sold").index(goods.kind)

    def amount(of: Any) -> Any:
        if of is None:
            return None
        return f"{of:.2f}" if plain else money(of, goods.currency, language, style)

    return {
        "title": goods.title,
        "description": "\n".join(goods.lines),
        "price": amount(goods.price),
        "currency": goods.currency,
        "price_kind": goods.kind if plain else KINDS[language][kind],
        "buy_now": amount(goods.buy_now),
        "shipping": amount(goods.shipping),
        "ended": goods.ended if plain else (YES if goods.ended else NO)[language],
        "seller_id": goods.seller_id,
        "seller_name": goods.seller_name,
        "listing_id": goods.listing_id,
        "url": goods.url,
        "date_listed": goods.listed.isoformat() if plain else day(goods.listed, language, style),
        "specifics": dict(goods.specifics),
    }


def _photos(goods: Goods, folder: Path, name: str) -> list[str]:
    (folder / "images").mkdir(exist_ok=True)
    names = [f"images/{name} {n}.jpg" for n in range(len(goods.photos))]
    for path, data in zip(names, goods.photos, strict=True):
        (folder / path).write_bytes(data)
    return names


def _named(goods: Goods, names: dict[str, str], said: dict[str, Any]) -> dict[str, Any]:
    own = dict(zip(_ORDER, names[goods.language].split("|"), strict=True))
    return {own[key]: value for key, value in said.items()}


Names = dict[str, str]


def as_json(goods: Goods, folder: Path, name: str, rng: random.Random, names: Names) -> None:
    said = values(goods, rng, rng.random() < 0.5) | {"photos": _photos(goods, folder, name)}
    record = _named(goods, names, said)
    form = rng.randrange(4)
    value: Any = [record, [record], {"count": 1, "items": [record]}, record][form]
    text = json.dumps(value, ensure_ascii=rng.random() < 0.5, indent=rng.choice([None, 1]))
    file = f"{name}.json"
    if form == 3:
        text, file = json.dumps(record) + "\n", f"{name}.jsonl"
    (folder / file).write_text(text, encoding=rng.choice(["utf-8", "utf-8-sig"]))


def as_schema(goods: Goods, folder: Path, name: str, rng: random.Random, names: Names) -> None:
    photos: Any = _photos(goods, folder, name)
    seller: Any = {"@type": "Person", "name": goods.seller_name, "identifier": goods.seller_id}
    offer: dict[str, Any] = {
        "@type": "Offer",
        "price": float(goods.price) if rng.random() < 0.5 else f"{goods.price:.2f}",
        "priceCurrency": goods.currency,
        "availability": f"https://schema.org/{'SoldOut' if goods.ended else 'InStock'}",
        "availabilityStarts": goods.listed.isoformat(),
        "seller": seller,
        "shippingDetails": {
            "@type": "OfferShippingDetails",
            "shippingRate": {
                "@type": "MonetaryAmount",
                "value": f"{goods.shipping:.2f}",
                "currency": goods.currency,
            },
        },
    }
    if rng.random() < 0.5:
        photos = [{"@type": "ImageObject", "contentUrl": p, "width": 640} for p in photos]
    product = {
        "@context": "https://schema.org",
        "@type": "Product",
        "name": goods.title,
        "description": "\n".join(goods.lines),
        "sku": goods.listing_id,
        "url": goods.url,
        "image": photos,
        "offers": [offer] if rng.random() < 0.3 else offer,
        "additionalProperty": [
            {"@type": "PropertyValue", "name": k, "value": v} for k, v in goods.specifics
        ],
        "isRelatedTo": [{"@type": "Product", "name": "other", "offers": {"price": "1"}}],
    }
    value: Any = {"@context": "https://schema.org", "@graph": [product]}
    (folder / f"{name}.json").write_text(json.dumps(value if rng.random() < 0.4 else product))


def as_csv(goods: Goods, folder: Path, name: str, rng: random.Random, names: Names) -> None:
    said = values(goods, rng, rng.random() < 0.3)
    said["specifics"] = "; ".join(f"{k}: {v}" for k, v in goods.specifics)
    said["photos"] = rng.choice(["|", ", ", ";", "\n"]).join(_photos(goods, folder, name))
    record = _named(goods, names, {k: "" if v is None else v for k, v in said.items()})
    keys = list(record)
    rng.shuffle(keys)
    out = io.StringIO()
    writer = csv.writer(
        out,
        delimiter=rng.choice([",", ";", "\t", "|"]),
        quoting=rng.choice([csv.QUOTE_ALL, csv.QUOTE_MINIMAL]),
        lineterminator=rng.choice(["\r\n", "\n"]),
    )
    writer.writerows([keys, [record[key] for key in keys]])
    encoding = rng.choice(["utf-8", "utf-8-sig", "utf-16", "cp1252"])
    data = out.getvalue().replace("\u202f", " " if encoding == "cp1252" else "\u202f")
    (folder / f"{name}.csv").write_bytes(data.encode(encoding))


_SHOWN_IN_NOTE = ("price", "shipping", "seller_name", "listing_id", "date_listed")


def as_note(goods: Goods, folder: Path, name: str, rng: random.Random, names: Names) -> None:
    own = dict(zip(_ORDER, names[goods.language].split("|"), strict=True))
    said = values(goods, rng, False)
    rows = [(own[key], said[key]) for key in _SHOWN_IN_NOTE] + list(goods.specifics)
    body = "\n".join([*(f"{k}: {v}" for k, v in rows), goods.url, "", *goods.lines])
    place, stem = (folder, name) if rng.random() < 0.5 else (folder / name, "listing")
    place.mkdir(exist_ok=True)
    for n, data in enumerate(goods.photos, 1):
        (place / f"{stem}_{n}.jpg").write_bytes(data)
    (place / f"{stem}.txt").write_text(f"{goods.title}\n{body}\n", encoding="utf-8")


EXPORTS: dict[str, Callable[[Goods, Path, str, random.Random, Names], None]] = {
    "json": as_json,
    "schema": as_schema,
    "csv": as_csv,
    "note": as_note,
}


def export_gold(goods: Goods, form: str) -> dict[str, Any]:
    """What a reader can know from an export: a note says less, schema.org knows no bids."""
    gold = {
        "title": goods.title,
        "description": "\n".join(goods.lines),
        "specifics": list(goods.specifics),
        "price": goods.price,
        "currency": goods.currency,
        "price_kind": goods.kind if form in ("json", "csv") else "fixed",
        "buy_now": goods.buy_now if form in ("json", "csv") else None,
        "shipping": goods.shipping,
        "ended": goods.ended if form != "note" else None,
        "seller_id": goods.seller_id if form != "note" else None,
        "seller_name": goods.seller_name,
        "listing_id": goods.listing_id,
        "url": goods.url,
        "date_listed": goods.listed.isoformat(),
    }
    return {name: gold[name] for name in FIELDS}
