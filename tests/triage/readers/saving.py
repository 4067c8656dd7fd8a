"""Saves one invented page in every carrier, as browsers, crawlers and mail programs do."""

from __future__ import annotations

import base64
import gzip
import hashlib
import io
import json
import zipfile
from collections.abc import Callable, Mapping
from email.message import EmailMessage
from pathlib import Path

from warcio.statusandheaders import StatusAndHeaders
from warcio.warcwriter import WARCWriter

URL = "https://stallrow.example/item/40221"
SAVED = "2026-11-12T17:30:00Z"


def photo(number: int, size: int = 400) -> bytes:
    """A JPEG of nothing in particular; only its first bytes and its digest matter here."""
    return b"\xff\xd8\xff\xe0" + hashlib.sha256(bytes([number])).digest() * (size // 32)


PHOTOS = {"pics/front view.jpg": photo(1), "pics/hinge.jpg": photo(2)}
PAGE = """<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>Vennerby 12</title>
<script type="application/ld+json">{{"@context": "https://schema.org", "@type": "Product",
"name": "Vennerby 12 – round frame", "description": "Lens 48 mm.\\nBridge 21 mm.", "sku": "40221",
"url": "{url}", "image": {images},
"offers": {{"@type": "Offer", "price": "85.00", "priceCurrency": "EUR",
"seller": {{"@type": "Person", "name": "anna"}}}}}}</script></head>
<body><h1>Vennerby 12 – round frame</h1><div class="gallery">{shown}</div>
<p>85.00 EUR</p></body></html>"""


def page(addresses: list[str]) -> bytes:
    shown = "".join(f'<img src="{a}" width="900" height="700">' for a in addresses)
    html = PAGE.format(url=URL, images=json.dumps(addresses), shown=shown)
    return html.encode("utf-8")


FULL = {f"https://pictures.example/{n}.jpg": data for n, data in enumerate(PHOTOS.values())}


def complete_page(root: Path) -> None:
    """A page with its folder; names are percent-encoded in the page."""
    folder = root / "Vennerby 12_files"
    folder.mkdir(parents=True)
    names = []
    for name, data in PHOTOS.items():
        last = name.rpartition("/")[2]
        (folder / last).write_bytes(data)
        names.append("./Vennerby%2012_files/" + last.replace(" ", "%20"))
    (folder / "frame.html").write_bytes(b"<html><body><p>an advertisement</p></body></html>")
    (folder / "style.css").write_bytes(b"p { color: red }")
    (root / "Vennerby 12.html").write_bytes(page(names))


def single_file(root: Path) -> None:
    addresses = ["data:image/jpeg;base64," + base64.b64encode(d).decode() for d in PHOTOS.values()]
    (root / "page.html").write_bytes(page(addresses))


def mhtml_bytes(root_first: bool = True, by_id: bool = False, encoding: str = "base64") -> bytes:
    addresses = [f"cid:{n}@pictures" for n in range(len(FULL))] if by_id else list(FULL)
    html = _part("text/html; charset=utf-8", page(addresses), encoding, f"Content-Location: {URL}")
    pictures = [
        _part(
            "image/jpeg",
            data,
            "base64",
            f"Content-ID: <{n}@pictures>" if by_id else f"Content-Location: {url}",
        )
        for n, (url, data) in enumerate(FULL.items())
    ]
    parts = [html, *pictures] if root_first else [*pictures, html]
    head = (
        "From: <Saved by a browser>\r\nSubject: Vennerby\r\n"
        "Date: Thu, 12 Nov 2026 17:30:00 -0000\r\nMIME-Version: 1.0\r\n"
        f"Snapshot-Content-Location: {URL}\r\n"
        'Content-Type: multipart/related; type="text/html"; boundary="----b"\r\n\r\n'
    )
    return head.encode() + b"".join(b"------b\r\n" + p for p in parts) + b"------b--\r\n"


def _part(media: str, data: bytes, encoding: str, header: str) -> bytes:
    import quopri

    coded = {
        "base64": lambda: base64.encodebytes(data).replace(b"\n", b"\r\n"),
        "quoted-printable": lambda: quopri.encodestring(data).replace(b"\n", b"\r\n"),
        "8bit": lambda: data,
    }[encoding]()
    head = f"Content-Type: {media}\r\nContent-Transfer-Encoding: {encoding}\r\n{header}\r\n\r\n"
    return head.encode() + coded + b"\r\n"


def mail_bytes() -> bytes:
    message = EmailMessage()
    message["From"] = "alerts@stallrow.example"
    message["To"] = "buyer@mail.example"
    message["Subject"] = "Vennerby 12"
    message["Date"] = "Thu, 12 Nov 2026 17:30:00 +0000"
    message.set_content("Vennerby 12, 85.00 EUR")
    message.add_alternative(page([f"cid:{n}@pictures" for n in range(2)]).decode(), subtype="html")
    html = message.get_payload()[1]  # type: ignore[index]
    for n, data in enumerate(PHOTOS.values()):
        html.add_related(data, "image", "jpeg", cid=f"<{n}@pictures>")  # type: ignore[union-attr]
    return message.as_bytes()


def forwarded_bytes() -> bytes:
    from email import message_from_bytes, policy

    message = EmailMessage()
    message["From"] = "friend@mail.example"
    message["Subject"] = "Fwd: look"
    message.set_content("have a look")
    message.add_attachment(message_from_bytes(mail_bytes(), policy=policy.default))
    return message.as_bytes()


def warc_bytes(gzipped: bool, chunked: bool = False) -> bytes:
    out = io.BytesIO()
    writer = WARCWriter(out, gzip=gzipped, warc_version="WARC/1.1")
    for url, media, data in [
        (URL, "text/html; charset=utf-8", page(list(FULL))),
        *((u, "image/jpeg", d) for u, d in FULL.items()),
    ]:
        headers = [("Content-Type", media)]
        if chunked:
            headers.append(("Transfer-Encoding", "chunked"))
            data = f"{len(data):x}\r\n".encode() + data + b"\r\n0\r\n\r\n"
        http = StatusAndHeaders("200 OK", headers, protocol="HTTP/1.1")
        record = writer.create_warc_record(
            url,
            "response",
            payload=io.BytesIO(data),
            http_headers=http,
            warc_headers_dict={"WARC-Date": SAVED},
        )
        writer.write_record(record)
    return out.getvalue()


def wacz_bytes() -> bytes:
    pages = [{"format": "json-pages-1.0", "id": "pages"}, {"url": URL, "ts": SAVED, "title": "V"}]
    return zip_bytes(
        {
            "datapackage.json": b'{"profile": "data-package", "wacz_version": "1.1.1"}',
            "archive/data.warc.gz": warc_bytes(gzipped=True),
            "pages/pages.jsonl": "\n".join(map(json.dumps, pages)).encode(),
            "indexes/index.cdx": b"",
        }
    )


def har_bytes() -> bytes:
    texts = [_har_entry(URL, "text/html; charset=utf-8", {"text": page(list(FULL)).decode()})]
    for url, data in FULL.items():
        coded = {"text": base64.b64encode(data).decode(), "encoding": "base64"}
        texts.append(_har_entry(url, "image/jpeg", coded))
    log = {"version": "1.2", "creator": {"name": "x", "version": "1"}, "entries": texts}
    return json.dumps({"log": log}).encode()


def _har_entry(url: str, media: str, content: Mapping[str, str]) -> object:
    return {
        "startedDateTime": SAVED,
        "request": {"method": "GET", "url": url, "headers": []},
        "response": {"status": 200, "content": {"mimeType": media, **content}},
    }


RECORD = {
    "title": "Vennerby 12 – round frame",
    "description": "Lens 48 mm.\nBridge 21 mm.",
    "price": "85.00",
    "currency": "EUR",
    "seller_name": "anna",
    "url": URL,
    "listing_id": "40221",
}
NOTE = """Vennerby 12 – round frame
Price: 85.00 EUR
Seller: anna
URL: {url}
Item number: 40221

Lens 48 mm.
Bridge 21 mm.
"""


def export(root: Path, name: str) -> None:
    write_photos(root)
    record = {**RECORD, "photos": list(PHOTOS)}
    written = {
        "l.json": lambda: json.dumps([record]).encode(),
        "l.jsonl": lambda: json.dumps(record).encode() + b"\n",
        "l.csv": lambda: _csv(record),
    }[name]()
    (root / name).write_bytes(written)


def _csv(record: Mapping[str, object]) -> bytes:
    import csv

    out = io.StringIO()
    writer = csv.DictWriter(out, list(record), delimiter=";")
    writer.writeheader()
    writer.writerow({**record, "photos": "|".join(PHOTOS)})
    return out.getvalue().encode("utf-16")


def write_photos(root: Path) -> None:
    for name, data in PHOTOS.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_bytes(data)


def noted_folder(root: Path) -> None:
    write_photos(root / "lot")
    (root / "lot" / "listing.txt").write_text(NOTE.format(url=URL), "utf-8")


def loose_note(root: Path) -> None:
    for n, data in enumerate(PHOTOS.values(), 9):
        (root / f"vennerby_{n}.jpg").write_bytes(data)
    (root / "vennerby.txt").write_text(NOTE.format(url=URL), "utf-8")


def zip_bytes(files: Mapping[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


def zipped(save: Callable[[Path], None]) -> Callable[[Path], None]:
    """The same, as a zip of what the other writes."""

    def write(root: Path) -> None:
        inner = root / "to be zipped"
        inner.mkdir()
        save(inner)
        files = {
            p.relative_to(inner).as_posix(): p for p in sorted(inner.rglob("*")) if p.is_file()
        }
        data = zip_bytes({f"week/{name}": path.read_bytes() for name, path in files.items()})
        for path in sorted(inner.rglob("*"), reverse=True):
            path.rmdir() if path.is_dir() else path.unlink()
        inner.rmdir()
        (root / "week.zip").write_bytes(data)

    return write


def file(name: str, data: Callable[[], bytes]) -> Callable[[Path], None]:
    def write(root: Path) -> None:
        (root / name).write_bytes(data())

    return write


SAVES: dict[str, Callable[[Path], None]] = {
    "complete page": complete_page,
    "page in one file": single_file,
    "MHTML": file("a.mhtml", mhtml_bytes),
    "MHTML, root last": file("a.mht", lambda: mhtml_bytes(root_first=False)),
    "MHTML by content id": file("a.mhtml", lambda: mhtml_bytes(by_id=True)),
    "MHTML, quoted-printable": file("a.mhtml", lambda: mhtml_bytes(encoding="quoted-printable")),
    "MHTML, 8 bit": file("a.mhtml", lambda: mhtml_bytes(encoding="8bit")),
    "MHTML without a name": file("saved", mhtml_bytes),
    "mail": file("a.eml", mail_bytes),
    "forwarded mail": file("a.eml", forwarded_bytes),
    "WARC": file("a.warc", lambda: warc_bytes(gzipped=False)),
    "WARC, gzip": file("a.warc.gz", lambda: warc_bytes(gzipped=True)),
    "WARC, chunked": file("a.warc.gz", lambda: warc_bytes(gzipped=True, chunked=True)),
    "WACZ": file("a.wacz", wacz_bytes),
    "HAR": file("a.har", har_bytes),
    "HAR, gzip": file("a.har.gz", lambda: gzip.compress(har_bytes())),
    "JSON": lambda root: export(root, "l.json"),
    "JSON Lines": lambda root: export(root, "l.jsonl"),
    "CSV": lambda root: export(root, "l.csv"),
    "note in a folder": noted_folder,
    "loose note": loose_note,
}
