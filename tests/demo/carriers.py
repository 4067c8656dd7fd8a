"""Write an invented listing in the forms in which buyers keep them: pages, exports, folders, mail.

Each function takes a `Saved` listing and the folder to write into. The page templates differ on
purpose: five invented markets, five languages, facts as JSON-LD, microdata, RDFa, Open Graph or
nothing but visible text.
"""

from __future__ import annotations

import base64
import csv
import html
import io
import json
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass, field
from email.message import EmailMessage
from email.utils import format_datetime, parsedate_to_datetime
from pathlib import Path

from PIL import Image, ImageDraw


@dataclass(frozen=True)
class Saved:
    """One invented listing as a buyer saved it; photos are JPEG bytes."""

    key: str
    title: str
    text: str
    price: str
    currency: str
    seller: str
    listed: str  # ISO date
    saved: str  # RFC 5322 date
    photos: tuple[bytes, ...]
    language: str = "en"
    specifics: tuple[tuple[str, str], ...] = ()
    kind: str = "fixed"  # fixed | bid | sold
    feedback: str = ""
    location: str = ""
    shipping: str = ""
    similar: tuple[tuple[str, str, bytes], ...] = field(default=())

    @property
    def number(self) -> str:
        return str(30_000_000 + sum(ord(c) * 7919**i for i, c in enumerate(self.key)) % 60_000_000)


_WORDS = {
    "en": ("Description", "Item details", "Seller", "Listed on", "Postage", "You may also like", "Item number", "Current bid", "Sold for", "Price"),
    "de": ("Beschreibung", "Artikelmerkmale", "Verkäufer", "Eingestellt am", "Versand", "Ähnliche Artikel", "Artikelnummer", "Aktuelles Gebot", "Verkauft für", "Preis"),
    "fr": ("Description", "Caractéristiques", "Vendeur", "Mis en ligne le", "Livraison", "Articles similaires", "Numéro de l'annonce", "Enchère actuelle", "Vendu", "Prix"),
    "it": ("Descrizione", "Dettagli", "Venditore", "Pubblicato il", "Spedizione", "Articoli simili", "Numero annuncio", "Offerta attuale", "Venduto a", "Prezzo"),
    "es": ("Descripción", "Detalles", "Vendedor", "Publicado el", "Envío", "Artículos parecidos", "Número de anuncio", "Puja actual", "Vendido por", "Precio"),
}  # fmt: skip
_MARKETS = {
    "en": ("stallrow.example", "Stallrow"),
    "de": ("budenzeile.example", "Budenzeile"),
    "fr": ("allee-des-etals.example", "Allée des Étals"),
    "it": ("filadibanchi.example", "Fila di Banchi"),
    "es": ("lonadepuestos.example", "Lona de Puestos"),
}
_SYMBOL = {"GBP": "£{}", "EUR": "{} €", "USD": "US ${}", "CHF": "CHF {}"}


def _words(saved: Saved) -> dict[str, str]:
    names = [
        "description",
        "details",
        "seller",
        "listed",
        "postage",
        "similar",
        "number",
        "bid",
        "sold",
        "price",
    ]
    return dict(zip(names, _WORDS[saved.language], strict=True))


def url(saved: Saved) -> str:
    """Give the address the listing was saved from."""
    return f"https://www.{_MARKETS[saved.language][0]}/item/{saved.number}"


def _shown_price(saved: Saved, amount: str | None = None) -> str:
    amount = amount or saved.price
    if saved.language in ("de", "fr", "it", "es"):
        amount = amount.replace(".", ",")
    return _SYMBOL[saved.currency].format(amount)


def _shown_date(saved: Saved) -> str:
    year, month, day = saved.listed.split("-")
    return {"en": f"{int(day)} {_MONTHS[int(month) - 1]} {year}"}.get(
        saved.language,
        f"{day}.{month}.{year}" if saved.language == "de" else f"{day}/{month}/{year}",
    )


_MONTHS = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]


def icon(text: str, size: tuple[int, int], colour: str) -> bytes:
    """Draw a bit of site chrome (logo, avatar, icon) as PNG."""
    image = Image.new("RGB", size, colour)
    ImageDraw.Draw(image).text((6, size[1] // 4), text, fill="white")
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def thumbnail(data: bytes, width: int) -> bytes:
    """Make the small copy that a site shows beside the large picture."""
    image = Image.open(io.BytesIO(data))
    image.thumbnail((width, width))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=60)
    return out.getvalue()


# --- pages -----------------------------------------------------------------------------------


def _paragraphs(text: str) -> str:
    return "<br>\n".join(html.escape(line) for line in text.split("\n"))


def _gallery(saved: Saved, place: str) -> tuple[str, dict[str, bytes]]:
    files: dict[str, bytes] = {}
    rows = []
    for number, photo in enumerate(saved.photos, 1):
        large, small = f"photo-{number}_l1200.jpg", f"photo-{number}_s120.jpg"
        files[large], files[small] = photo, thumbnail(photo, 120)
        rows.append(
            f'<li><a href="{place}{large}"><img src="{place}{small}" width="120" '
            f'data-full="{place}{large}" alt="{html.escape(saved.title)} {number}"></a></li>'
        )
    main = f'<img class="main" src="{place}photo-1_l1200.jpg" width="760" alt="{html.escape(saved.title)}">'
    return (
        f'<div class="gallery">{main if saved.photos else ""}<ul class="strip">{"".join(rows)}</ul></div>',
        files,
    )


def _details(saved: Saved) -> str:
    return "".join(
        f"<tr><th>{html.escape(label)}</th><td>{html.escape(value)}</td></tr>"
        for label, value in saved.specifics
    )


def _similar(saved: Saved, place: str) -> tuple[str, dict[str, bytes]]:
    files, rows = {}, []
    for number, (title, price, photo) in enumerate(saved.similar, 1):
        name = f"sim{number}.jpg"
        files[name] = thumbnail(photo, 180)
        rows.append(
            f'<a class="card" href="https://www.{_MARKETS[saved.language][0]}/item/{61000000 + number}">'
            f'<img src="{place}{name}" width="180" alt=""><span>{html.escape(title)}</span> <b>{price}</b></a>'
        )
    return "".join(rows), files


def _json_ld(saved: Saved, place: str) -> str:
    availability = "SoldOut" if saved.kind == "sold" else "InStock"
    facts = {
        "@context": "https://schema.org/",
        "@type": "Product",
        "name": saved.title,
        "description": saved.text,
        "sku": saved.number,
        "image": [f"{place}photo-{n}_l1200.jpg" for n in range(1, len(saved.photos) + 1)],
        "offers": {
            "@type": "Offer",
            "price": saved.price,
            "priceCurrency": saved.currency,
            "url": url(saved),
            "itemCondition": "https://schema.org/UsedCondition",
            "availability": f"https://schema.org/{availability}",
            "seller": {"@type": "Person", "name": saved.seller},
        },
    }
    return f'<script type="application/ld+json">{json.dumps(facts, ensure_ascii=False)}</script>'


def _open_graph(saved: Saved, place: str) -> str:
    pairs = [
        ("og:type", "product"),
        ("og:title", saved.title),
        ("og:url", url(saved)),
        ("og:description", saved.text.split("\n")[0][:150]),
        ("product:price:amount", saved.price),
        ("product:price:currency", saved.currency),
        *(("og:image", f"{place}photo-{n}_l1200.jpg") for n in range(1, len(saved.photos) + 1)),
    ]
    return "".join(f'<meta property="{k}" content="{html.escape(v)}">\n' for k, v in pairs)


def page(saved: Saved, facts: str, place: str) -> tuple[str, dict[str, bytes]]:
    """Make a page with its facts as `facts` says: json-ld, microdata, rdfa, open-graph, plain."""
    words = _words(saved)
    gallery, files = _gallery(saved, place)
    similar, more = _similar(saved, place)
    files |= more | {
        "logo.png": icon(_MARKETS[saved.language][1], (150, 40), "#4a5560"),
        "user.png": icon(saved.seller[:1].upper(), (48, 48), "#8a7560"),
    }
    head = {"json-ld": _json_ld, "open-graph": _open_graph}.get(facts, lambda *_: "")(saved, place)
    label = {"bid": words["bid"], "sold": words["sold"]}.get(saved.kind, words["price"])
    price, scope, name, text, seller = _marked(saved, facts, label)
    site = _MARKETS[saved.language][1]
    body = f"""<!DOCTYPE html>
<!-- saved from url=({len(url(saved)):04d}){url(saved)} -->
<html lang="{saved.language}"><head><meta charset="utf-8"><title>{html.escape(saved.title)} | {site}</title>
<link rel="canonical" href="{url(saved)}">
{head}</head><body>
<header><a href="/"><img src="{place}logo.png" alt="{site}"></a><nav><a href="/a">A–Z</a></nav></header>
<main {scope}>
{gallery}
<h1 {name}>{html.escape(saved.title)}</h1>
{price}
<p class="post">{words["postage"]}: {html.escape(saved.shipping or "—")}</p>
<p>{words["number"]}: {saved.number}</p>
<p>{words["listed"]}: {_shown_date(saved)}</p>
<section class="seller"><img src="{place}user.png" alt=""><h2>{words["seller"]}</h2>{seller} <span>{html.escape(saved.feedback)}</span> <span>{html.escape(saved.location)}</span></section>
<section><h2>{words["details"]}</h2><table>{_details(saved)}</table></section>
<section><h2>{words["description"]}</h2><div class="text" {text}>{_paragraphs(saved.text)}</div></section>
</main>
<aside><h2>{words["similar"]}</h2>{similar}</aside>
<footer>© {site}</footer></body></html>"""
    return body, files


def _marked(saved: Saved, facts: str, label: str) -> tuple[str, str, str, str, str]:
    """Give price, scope, name, text and seller with their attributes, in the chosen syntax."""
    shown, who = _shown_price(saved), html.escape(saved.seller)
    plain = f'<p class="amount"><span>{label}:</span> <strong>{shown}</strong></p>'
    if facts == "microdata":
        offer = (
            '<div itemprop="offers" itemscope itemtype="https://schema.org/Offer">'
            f'{label}: <span itemprop="price" content="{saved.price}">{shown}</span>'
            f'<meta itemprop="priceCurrency" content="{saved.currency}">'
            f'<span itemprop="seller" itemscope itemtype="https://schema.org/Person">'
            f'<meta itemprop="name" content="{who}"></span></div>'
        )
        scope = 'itemscope itemtype="https://schema.org/Product"'
        return offer, scope, 'itemprop="name"', 'itemprop="description"', f"<b>{who}</b>"
    if facts == "rdfa":
        offer = (
            f'<div property="offers" typeof="Offer">{label}: <span property="price" content="{saved.price}">{shown}</span>'
            f'<meta property="priceCurrency" content="{saved.currency}"></div>'
        )
        scope = 'vocab="https://schema.org/" typeof="Product"'
        return offer, scope, 'property="name"', 'property="description"', f"<b>{who}</b>"
    return plain, "", "", "", f'<a href="/people/{who}">{who}</a>'


_FOLDER_SUFFIX = {
    "en": "_files",
    "de": "-Dateien",
    "fr": "_fichiers",
    "it": "_file",
    "es": "_archivos",
}


def write_page(saved: Saved, facts: str, folder: Path) -> None:
    """Write a page saved complete: the page and the folder of files beside it."""
    beside = folder / f"{saved.key}{_FOLDER_SUFFIX[saved.language]}"
    beside.mkdir(parents=True)
    body, files = page(saved, facts, f"./{beside.name}/")
    (folder / f"{saved.key}.html").write_text(body, encoding="utf-8")
    for name, data in files.items():
        (beside / name).write_bytes(data)


def write_mhtml(saved: Saved, facts: str, folder: Path) -> None:
    """Write a single-file page: multipart/related with Content-Location (RFC 2557)."""
    base = f"https://img.{_MARKETS[saved.language][0]}/{saved.number}/"
    body, files = page(saved, facts, base)
    message = EmailMessage()
    message["From"] = "<Saved by a browser>"
    message["Snapshot-Content-Location"] = url(saved)
    message["Subject"] = saved.title
    message["Date"] = saved.saved
    message["MIME-Version"] = "1.0"
    message.set_content(body, subtype="html", cte="quoted-printable")
    message.make_related()
    message.set_param("type", "text/html")
    message.set_boundary(f"----Boundary--{saved.number}----")
    next(iter(message.iter_parts())).add_header("Content-Location", url(saved))
    for name, data in files.items():
        kind = "png" if name.endswith("png") else "jpeg"
        message.add_related(data, "image", kind, headers=[f"Content-Location: {base}{name}"])
    (folder / f"{saved.key}.mhtml").write_bytes(message.as_bytes())


def write_mail(several: Sequence[Saved], name: str, folder: Path) -> None:
    """Write a mail in which a friend forwards listings, with pictures by content id."""
    first = several[0]
    message = EmailMessage()
    message["From"] = "a buyer's friend <friend@post.example>"
    message["To"] = "me@post.example"
    message["Subject"] = first.title
    message["Date"] = format_datetime(parsedate_to_datetime(first.saved))
    message.set_content(f"{first.title}\n{first.text}")
    images = "".join(f'<p><img src="cid:p{n}@post.example"></p>' for n in range(len(first.photos)))
    message.add_alternative(
        f"<html><body><h1>{html.escape(first.title)}</h1><p>Price: <b>{_shown_price(first)}</b></p>"
        f"<p>Seller: {html.escape(first.seller)}</p><p>Item number: {first.number}</p>"
        f'<p><a href="{url(first)}">{url(first)}</a></p>'
        f"<div>{_paragraphs(first.text)}</div>{images}</body></html>",
        subtype="html",
    )
    related = message.get_payload()[1]  # type: ignore[index]
    for number, photo in enumerate(first.photos):
        related.add_related(photo, "image", "jpeg", cid=f"<p{number}@post.example>")  # type: ignore[union-attr]
    message.set_boundary(f"==mail-{first.number}==")
    related.set_boundary(f"==parts-{first.number}==")  # type: ignore[union-attr]
    (folder / f"{name}.eml").write_bytes(message.as_bytes())


# --- exports and folders ----------------------------------------------------------------------


def _save_photos(saved: Saved, folder: Path, stem: str) -> list[str]:
    names = [f"{stem}_{number}.jpg" for number in range(1, len(saved.photos) + 1)]
    folder.mkdir(parents=True, exist_ok=True)
    for name, photo in zip(names, saved.photos, strict=True):
        (folder / name).write_bytes(photo)
    return names


def _row(saved: Saved, photos: Sequence[str]) -> dict[str, object]:
    return {
        "listing_id": saved.number,
        "url": url(saved),
        "title": saved.title,
        "description": saved.text,
        "price": saved.price,
        "currency": saved.currency,
        "price_kind": saved.kind,
        "seller_name": saved.seller,
        "date_listed": saved.listed,
        "photos": list(photos),
    }


def write_json(several: Sequence[Saved], name: str, folder: Path, lines: bool) -> None:
    """Write an export with plain field names, as one array or as JSON Lines."""
    rows = []
    for saved in several:
        photos = _save_photos(saved, folder / "images", saved.key)
        rows.append(_row(saved, [f"images/{photo}" for photo in photos]))
    if lines:
        text = "".join(json.dumps(row, ensure_ascii=False) + "\n" for row in rows)
        (folder / f"{name}.jsonl").write_text(text, encoding="utf-8")
    else:
        text = json.dumps(rows, ensure_ascii=False, indent=1)
        (folder / f"{name}.json").write_text(text, encoding="utf-8")


def write_csv(several: Sequence[Saved], name: str, folder: Path) -> None:
    """Write a CSV export (RFC 4180 quoting, semicolons) with photo names in one field."""
    out = io.StringIO()
    rows = [_row(saved, _save_photos(saved, folder / "images", saved.key)) for saved in several]
    writer = csv.DictWriter(out, list(rows[0]), delimiter=";", lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        photos = row["photos"]
        assert isinstance(photos, list)
        writer.writerow(row | {"photos": "|".join(f"images/{photo}" for photo in photos)})
    (folder / f"{name}.csv").write_bytes(out.getvalue().encode("utf-8-sig"))


def _as_text(saved: Saved) -> str:
    words = _words(saved)
    head = [
        saved.title,
        f"{words['price']}: {_shown_price(saved)}",
        f"{words['seller']}: {saved.seller}",
        f"{words['listed']}: {_shown_date(saved)}",
        f"URL: {url(saved)}",
    ]
    return "\n".join([*head, "", saved.text, ""])


def write_folder(saved: Saved, folder: Path) -> None:
    """Write a folder of its own with a text file and photos."""
    place = folder / saved.key
    _save_photos(saved, place, "pic")
    (place / "listing.txt").write_text(_as_text(saved), encoding="utf-8")


def write_loose(saved: Saved, folder: Path) -> None:
    """Write name.txt and name_1.jpg ... loose in a folder."""
    _save_photos(saved, folder, saved.key)
    (folder / f"{saved.key}.txt").write_text(_as_text(saved), encoding="utf-8")


def write_inlined(saved: Saved, facts: str, folder: Path) -> None:
    """Write a page in one file, its photos as data: addresses (RFC 2397)."""
    body, files = page(saved, facts, "HERE/")
    for name, data in files.items():
        kind = "png" if name.endswith("png") else "jpeg"
        address = f"data:image/{kind};base64,{base64.b64encode(data).decode()}"
        body = body.replace(f"HERE/{name}", address)
    (folder / f"{saved.key}.html").write_text(body, encoding="utf-8")


def zip_up(folder: Path) -> None:
    """Replace a folder by a zip archive of it, with fixed times."""
    with zipfile.ZipFile(folder.with_suffix(".zip"), "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(p for p in folder.rglob("*") if p.is_file()):
            info = zipfile.ZipInfo(path.relative_to(folder).as_posix(), (2026, 11, 20, 12, 0, 0))
            archive.writestr(info, path.read_bytes())
    for path in sorted(folder.rglob("*"), reverse=True):
        path.unlink() if path.is_file() else path.rmdir()
    folder.rmdir()
