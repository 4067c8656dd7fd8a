"""Makes a folder of files that try to stop a reader, to get out of it, or to be believed.

Usage: python tests/hostile/make_hostile.py FOLDER [--full]

Everything is made here; nothing is a copy of a file found elsewhere. The small folder (about 3 MB)
is for every test run; --full adds what takes gigabytes or minutes to make or to refuse.
"""

from __future__ import annotations

import argparse
import base64
import gzip
import io
import json
import os
import socket
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path

from warcio.statusandheaders import StatusAndHeaders
from warcio.warcwriter import WARCWriter

Files = Iterator[tuple[str, bytes]]

LISTING = {
    "title": "Vennerby 12",
    "description": "Lens 48 mm.",
    "price": "85.00",
    "currency": "EUR",
    "seller_name": "anna",
}


# --- pictures --------------------------------------------------------------------------------


def _chunk(kind: bytes, data: bytes) -> bytes:
    crc = struct.pack(">I", zlib.crc32(kind + data))
    return struct.pack(">I", len(data)) + kind + data + crc


def png(width: int, height: int, rows: bytes = b"", *extra: bytes) -> bytes:
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    packed = zlib.compress(rows, 9)
    body = _chunk(b"IHDR", header) + b"".join(extra) + _chunk(b"IDAT", packed)
    return b"\x89PNG\r\n\x1a\n" + body + _chunk(b"IEND", b"")


def jpeg(width: int = 16, height: int = 16, before: bytes = b"") -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (16, 16), (120, 90, 60)).save(out, "JPEG")
    data = out.getvalue()
    at = data.index(b"\xff\xc0")
    data = data[: at + 5] + struct.pack(">HH", height, width) + data[at + 9 :]
    return data[:2] + before + data[2:]


def _segment(marker: int, data: bytes) -> bytes:
    return b"\xff" + bytes([marker]) + struct.pack(">H", len(data) + 2) + data


def exif_loop() -> bytes:
    """A TIFF directory whose next directory is itself (TIFF 6.0, section 2)."""
    entry = struct.pack("<HHII", 0x0112, 3, 1, 6)
    directory = struct.pack("<H", 1) + entry + struct.pack("<I", 8)
    return _segment(0xE1, b"Exif\0\0" + b"II*\0\x08\0\0\0" + directory)


def many_frames(count: int) -> bytes:
    frame = b"\x2c\0\0\0\0\x01\0\x01\0\0\x02\x02\x44\x01\0"
    return b"GIF89a\x01\0\x01\0\x80\0\0\0\0\0\xff\xff\xff" + frame * count + b";"


def pictures(full: bool) -> Files:
    yield "pics/deflate bomb.png", png(20_000, 20_000, bytes(3_000_000 if not full else 10**9))
    yield "pics/huge sides.png", png(2**31 - 1, 2**31 - 1)
    yield "pics/huge sides.jpg", jpeg(65_500, 65_500)
    yield "pics/huge sides.bmp", b"BM" + struct.pack("<IHHIIiiHHIIiiII", 54, 0, 0, 54, 40, 2**30, 2**30, 1, 24, 0, 0, 0, 0, 0, 0)  # fmt: skip
    yield "pics/frames.gif", many_frames(100_000)
    yield "pics/truncated.jpg", jpeg()[:150]
    yield "pics/truncated.png", png(100, 100, bytes(30_100))[:60]
    yield "pics/empty.jpg", b""
    yield "pics/only the mark.webp", b"RIFF\xff\xff\xff\xffWEBP"
    yield "pics/only the mark.avif", b"\0\0\0\x1cftypavif" + bytes(16)
    yield "pics/exif loop.jpg", jpeg(before=exif_loop())
    yield "pics/icc.jpg", jpeg(before=_segment(0xE2, b"ICC_PROFILE\0\x01\xff" + bytes(60_000)) * 40)
    yield "pics/xmp.jpg", jpeg(before=_segment(0xE1, b"http://ns.adobe.com/xap/1.0/\0" + b"<" * 60_000) * 20)  # fmt: skip
    text = zlib.compress(bytes(5_000_000 if not full else 10**9), 9)
    yield "pics/ztxt bomb.png", png(1, 1, b"\0\0\0\0", _chunk(b"zTXt", b"Comment\0\0" + text))
    yield "pics/polyglot.jpg", jpeg() + b"<html><script>alert(1)</script></html>"
    yield "pics/polyglot.gif", b"GIF89a/*" + bytes(3) + b"*/=1;alert(1);" + many_frames(1)[6:]
    yield (
        "pics/script.svg",
        b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
    )
    yield "pics/tiff loop.tif", b"II*\0\x08\0\0\0" + struct.pack("<HHHIII", 1, 256, 3, 1, 1, 8)
    yield "pics/heic.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\xff" * 500


# --- archives --------------------------------------------------------------------------------


def zip_of(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


def nested_zip(depth: int) -> bytes:
    data = b"text"
    for _ in range(depth):
        data = zip_of({"inner.zip": data})
    return data


def overlapping_zip(count: int) -> bytes:
    """Many directory entries that all point at one stored file."""
    data = bytearray(zip_of({"a.json": b" " * 1_000_000}))
    at = data.index(b"PK\1\2")
    end = data.index(b"PK\5\6")
    entry = bytes(data[at:end])
    entries = b"".join(entry.replace(b"a.json", f"{n:06}".encode()) for n in range(count))
    tail = bytearray(data[end:])
    tail[8:16] = struct.pack("<HHI", count, count, len(entries))
    return bytes(data[:at]) + entries + bytes(tail)


def link_zip() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        info = zipfile.ZipInfo("link.html")
        info.external_attr = 0o120777 << 16
        archive.writestr(info, "/etc/passwd")
        archive.writestr("../../escape.html", "<html><body>out</body></html>")
        archive.writestr("/absolute.html", "<html><body>out</body></html>")
        archive.writestr("C:\\windows.html", "<html><body>out</body></html>")
    return out.getvalue()


def archives(full: bool) -> Files:
    size = 10**9 if full else 30_000_000
    yield "zips/bomb.zip", zip_of({"a.html": bytes(size)})
    yield "zips/nested.zip", nested_zip(30)
    yield "zips/overlap.zip", overlapping_zip(60_000 if full else 500)
    yield "zips/leads out.zip", link_zip()
    yield "zips/cut.zip", zip_of({"a.html": b"x" * 1000})[:-30]
    yield "zips/not a zip.zip", b"PK\3\4" + os.urandom(500)
    yield "zips/same name.zip", _same_names()
    yield "zips/bomb.json.gz", gzip.compress(bytes(size))
    yield "zips/cut.html.gz", gzip.compress(b"<html>" * 1000)[:-20]
    yield "zips/many.zip", zip_of({f"{n}.txt": b"" for n in range(60_000 if full else 2_000)})


def _same_names() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("x1.json", json.dumps(LISTING | {"title": "first"}))
        archive.writestr("x2.json", json.dumps(LISTING | {"title": "second"}))
    return out.getvalue().replace(b"x2.json", b"x1.json")


# --- text ------------------------------------------------------------------------------------


def html(inside: str, title: str = "x") -> bytes:
    return f"<!doctype html><html><head><title>{title}</title></head><body>{inside}</body></html>".encode()  # fmt: skip


def pages(full: bool) -> Files:
    many = 300_000 if full else 20_000
    yield "pages/deep.html", html("<div>" * many)
    yield "pages/deep inline.html", html("<b><i>" * many)
    yield "pages/attributes.html", html("<p " + " ".join(f"a{n}=1" for n in range(many)) + ">x")
    yield "pages/tables.html", html("<table><tr><td>" * (many // 10))
    yield "pages/unclosed.html", html("<p" * many)
    yield "pages/quotes.html", html('<a href="' * many)
    yield "pages/comments.html", html("<!--" * many)
    yield "pages/entities.html", html("&amp;" * many + "&" * many)
    yield "pages/one line.html", html("x" * (200_000_000 if full else 2_000_000))
    yield "pages/spaces.html", html(" " * 500_000 + "x" + "\t" * 500_000)
    yield "pages/digits.html", html("1 " * many + "€" + ",1" * many)
    yield "pages/frames.html", html('<iframe src="frames.html"></iframe>' * 200)
    yield "pages/srcdoc.html", html(_srcdoc(12))
    yield "pages/leads out.html", html(
        "".join(
            f'<img src="{a}"><iframe src="{a}"></iframe>'
            for a in ("../../../../etc/passwd", "/etc/passwd", "file:///etc/passwd", "\\\\x\\y\\z.jpg",
                      "//x/y.jpg", "C:\\x.jpg", "https://x.example/a.jpg", "/dev/zero", "pipe")
        )
    )  # fmt: skip
    yield (
        "pages/active.html",
        html(
            '<meta http-equiv="refresh" content="0;url=https://x.example"><base href="file:///">'
            "<style>@import 'https://x.example/a.css'; p{background:url(https://x.example/b)}</style>"
            "<script>while(true){}</script><svg onload=alert(1)><math href=javascript:alert(1)>"
        ),
    )
    for name, ld in _linked_data(full):
        script = f'<script type="application/ld+json">{ld}</script>'
        yield f"pages/{name}.html", html(script + "<h1>Frame</h1>")
    entity = "".join(f'<!ENTITY a{n} "&a{n - 1};&a{n - 1};&a{n - 1};">' for n in range(1, 30))
    doctype = f'<?xml version="1.0"?><!DOCTYPE html [<!ENTITY a0 "lol">{entity}]>'
    yield "pages/entities.xhtml", (doctype + "<html><body>&a29;</body></html>").encode()
    outside = '<?xml version="1.0"?><!DOCTYPE html [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
    yield "pages/outside.xhtml", (outside + "<html><body><h1>&x;</h1></body></html>").encode()
    yield "pages/random.html", b"<html>" + os.urandom(200_000)
    yield "pages/nul.html", b"<html><body>" + bytes(200_000) + b"</body></html>"


def _srcdoc(depth: int) -> str:
    import html as entities

    text = "<p>end</p>"
    for _ in range(depth):
        text = f'<iframe srcdoc="{entities.escape(text)}"></iframe>'
    return text


def _linked_data(full: bool) -> Iterator[tuple[str, str]]:
    deep = 200_000 if full else 20_000
    yield "ld deep", "[" * deep
    yield "ld deep graph", '{"@graph":' * deep
    yield "ld number", '{"@type":"Product","name":"x","offers":{"price":' + "9" * 100_000 + "}}"
    yield "ld exponent", '{"@type":"Product","name":"x","offers":{"price":1e999999999}}'
    yield "ld quotes", '"' * 100_000
    yield "ld backslashes", '{"name":"' + "\\" * 100_001
    yield "ld comments", "/*" * 100_000
    yield "ld commas", '{"a":1' + "," * 100_000


def exports(full: bool) -> Files:
    line = 200_000_000 if full else 5_000_000
    yield "data/deep.json", b"[" * 200_000
    yield "data/deep.jsonl", b'{"a":' * 100_000 + b"\n"
    yield "data/long line.jsonl", b'{"title": "' + b"x" * line
    yield "data/numbers.jsonl", b'{"title":"x","id":"1","price":NaN,"quantity":1e999,"line":' + b"9" * 5000 + b"}\n"  # fmt: skip
    yield "data/doubled.json", b'{"title":"a","title":"b","id":"1","price":"1","price":"2"}'
    yield "data/surrogates.json", b'{"title":"\\ud800 lone \\udfff","description":"x","price":"1"}'
    yield "data/nul.csv", b"title,price\nA\0B,1\n"
    yield "data/wide.csv", b"title,price" + b",x" * 100_000 + b"\n" + b"a," * 100_000 + b"\n"
    yield "data/quote.csv", b'title,price\n"' + b"a,1\n" * (100_000 if full else 5_000)
    yield "data/formula.csv", b"title,price,seller\n=cmd|' /C x'!A1,1,+1+1\n@SUM(1),2,-3\n"
    yield "data/not text.csv", os.urandom(100_000)
    yield "data/terminal.jsonl", json.dumps(
        LISTING | {"title": "\x1b]0;owned\x07\x1b[31mred\x1b[2J \u202egnp.exe \u200b\u2066x", "id": "esc"}
    ).encode()  # fmt: skip
    yield (
        "data/script.jsonl",
        json.dumps(dict.fromkeys(LISTING, "<script>alert(1)</script>")).encode(),
    )
    yield "data/photos.json", json.dumps(
        LISTING | {"photos": ["../../etc/passwd", "/etc/passwd", "file:///etc/passwd", "a" * 5000, "\0",
                              "pics/deflate bomb.png", "..\\..\\x", "pipe", "link to outside/passwd"]}
    ).encode()  # fmt: skip


def mails(full: bool) -> Files:
    depth = 3_000
    nested = "".join(
        f'Content-Type: multipart/mixed; boundary="b{n}"\n\n--b{n}\n' for n in range(depth)
    )
    yield "mail/deep.eml", f"From: a\nSubject: b\nMIME-Version: 1.0\n{nested}".encode()
    inner = "Content-Type: message/rfc822\n\nSubject: x\nMIME-Version: 1.0\n" * depth
    yield "mail/forwarded.eml", f"From: a\nSubject: b\nMIME-Version: 1.0\n{inner}".encode()
    parts = "--b\nContent-Type: text/html\n\n<p>x</p>\n" * (100_000 if full else 20_000)
    head = 'From: a\nSubject: b\nMIME-Version: 1.0\nContent-Type: multipart/mixed; boundary="b"\n\n'
    yield "mail/parts.eml", (head + parts + "--b--\n").encode()
    yield "mail/header.eml", ("Subject: " + "=?utf-8?Q?x?= " * 50_000 + "\nFrom: a\n\nx").encode()
    yield "mail/continued.eml", ("From: a\nSubject: x\n" + " y\n" * 100_000 + "\nx").encode()
    yield (
        "mail/self.mhtml",
        (
            b'From: a\nSubject: b\nMIME-Version: 1.0\nContent-Type: multipart/related; boundary="b"\n\n'
            b"--b\nContent-Type: text/html\nContent-Location: https://x.example/\n\n"
            b'<iframe src="https://x.example/"></iframe><iframe src="cid:none"></iframe>\n--b--\n'
        ),
    )
    yield (
        "mail/base64.eml",
        (
            "From: a\nSubject: b\nMIME-Version: 1.0\nContent-Type: text/html\n"
            "Content-Transfer-Encoding: base64\n\n" + "====!!!!" * 50_000
        ).encode(),
    )


def records(full: bool) -> Files:
    bomb = gzip.compress(bytes(10**9 if full else 200_000_000))
    out = io.BytesIO()
    writer = WARCWriter(out, gzip=True)
    headers = [("Content-Type", "text/html"), ("Content-Encoding", "gzip")]
    http = StatusAndHeaders("200 OK", headers, protocol="HTTP/1.1")
    writer.write_record(
        writer.create_warc_record(
            "https://x.example/", "response", payload=io.BytesIO(bomb), http_headers=http
        )
    )
    yield "web/bomb.warc.gz", out.getvalue()
    yield "web/cut.warc.gz", out.getvalue()[:200]
    yield (
        "web/length.warc",
        b"WARC/1.1\r\nWARC-Type: response\r\nContent-Length: 99999999999\r\n\r\nx",
    )
    yield "web/header.warc", b"WARC/1.1\r\n" + b"X: y\r\n" * 200_000
    coded = base64.b64encode(bytes(1000)).decode()
    entries = [
        {
            "request": {"url": f"https://x.example/{n}"},
            "response": {"status": 200, "content": {"mimeType": "text/html", "text": coded, "encoding": "base64"}},
        }
        for n in range(20_000 if full else 500)
    ]  # fmt: skip
    yield "web/many.har", json.dumps({"log": {"entries": entries}}).encode()
    yield "web/odd.har", b'{"log": {"entries": [null, 1, {"request": 2, "response": [3]}, {}]}}'
    yield "web/deep.har", b'{"log": {"entries": ' + b"[" * 100_000


# --- the file system -------------------------------------------------------------------------


def odd_entries(root: Path, full: bool) -> None:
    """Entries that are more than bytes: links, pipes, names, rights, holes."""
    odd = root / "odd"
    odd.mkdir()
    attempts: list[Callable[[], object]] = [
        lambda: os.symlink("/etc", odd / "link to outside"),
        lambda: os.symlink("/etc/passwd", odd / "passwd.html"),
        lambda: os.symlink("..", odd / "loop"),
        lambda: os.symlink("missing", odd / "dangling.html"),
        lambda: os.mkfifo(odd / "pipe.html"),
        lambda: _make_socket(odd / "socket"),
        lambda: _write(odd / "closed.html", html("x"), 0),
        lambda: (odd / "closed folder").mkdir(0),
        lambda: _write(odd / ("n" * 250 + ".html"), html("x")),
        lambda: _write(odd / "CON", b"x"),
        lambda: _write(odd / "ends in dots...", b"x"),
        lambda: _write(odd / "\x1b[31mred\u202e.txt", b"x"),
        lambda: _write(odd / "new\nline.txt", b"x"),
        lambda: _write(
            Path(os.fsdecode(os.fsencode(odd) + b"/not utf-8 \xff\xfe.html")), html("x")
        ),
        lambda: _sparse(odd / "sparse.html", 16 << 30),
        lambda: _sparse(odd / "sparse.jsonl", 16 << 30),
        lambda: _sparse(odd / "sparse.zip", 16 << 30, b"PK\3\4"),
        lambda: _deep(odd / "deep", 80),
    ]
    if full:
        attempts.append(lambda: _many(odd / "many", 100_000))
    for attempt in attempts:
        try:
            attempt()
        except (OSError, AttributeError, ValueError):
            continue  # this system has no such thing


def _write(path: Path, data: bytes, rights: int = 0o644) -> None:
    path.write_bytes(data)
    path.chmod(rights)


def _sparse(path: Path, size: int, start: bytes = b"") -> None:
    with path.open("wb") as file:
        file.write(start)
        file.truncate(size)


def _make_socket(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as made:
        made.bind(str(path))


def _deep(path: Path, depth: int) -> None:
    for n in range(depth):
        path = path / str(n)
    path.mkdir(parents=True)
    (path / "far.html").write_bytes(html("x"))


def _many(path: Path, count: int) -> None:
    path.mkdir()
    for n in range(count):
        (path / f"{n}.bin").write_bytes(b"x")


def make(root: Path, full: bool = False) -> None:
    """Write the whole folder."""
    for kind in (pictures, archives, pages, exports, mails, records):
        for name, data in kind(full):
            path = root / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
    odd_entries(root, full)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--full", action="store_true")
    arguments = parser.parse_args()
    make(arguments.folder, arguments.full)


if __name__ == "__main__":
    main()
