"""WARC (ISO 28500:2017), WACZ and HAR 1.2: what is a page, and where its pictures are."""

from __future__ import annotations

import gzip
import io
import json
from pathlib import Path
from typing import Any

import brotli
import pytest
from warcio.statusandheaders import StatusAndHeaders
from warcio.warcwriter import WARCWriter

from extractors.records import Problem
from tests.triage.readers.saving import (
    FULL,
    PHOTOS,
    URL,
    page,
    warc_bytes,
    zip_bytes,
)
from triage.containment import Supervisor
from triage.readers import archives, har, warc
from triage.readers.folder import read_folder
from triage.readers.source import Source, Unreadable, photo_bytes

PAGE = ("https://shop.example/a", "text/html", b"<p>a page</p>")


def records(*wanted: tuple[str, str, bytes], **how: Any) -> bytes:
    out = io.BytesIO()
    writer = WARCWriter(out, gzip=how.get("gzip", False), warc_version="WARC/1.1")
    for url, media, data in wanted:
        headers = [("Content-Type", media), *how.get("headers", [])]
        http = StatusAndHeaders(how.get("status", "200 OK"), headers, protocol="HTTP/1.1")
        if how.get("kind", "response") == "resource":
            record = writer.create_warc_record(
                url, "resource", io.BytesIO(data), warc_content_type=media
            )
        else:
            record = writer.create_warc_record(url, "response", io.BytesIO(data), http_headers=http)
        writer.write_record(record)
    return out.getvalue()


def pages(data: bytes) -> list[Source]:
    found = warc.members(Source(Path("/x"), "a.warc", content=data))
    return [one for one in found if isinstance(one, Source)]


def test_answers_in_html_are_pages() -> None:  # ISO 28500, 6.3 "response"
    (found,) = pages(records(PAGE, ("https://shop.example/a.js", "text/javascript", b"1")))
    assert (found.content, found.url, found.member) == (PAGE[2], PAGE[0], "record:0")


def test_resource_records_are_read() -> None:  # ISO 28500, 6.4 "resource"
    (found,) = pages(records(PAGE, kind="resource"))
    assert found.content == PAGE[2]


@pytest.mark.parametrize("status", ["404 Not Found", "301 Moved", "500 Error"])
def test_errors_and_redirects_are_no_pages(status: str) -> None:
    assert pages(records(PAGE, status=status)) == []


@pytest.mark.parametrize(
    ("coding", "pack"), [("gzip", gzip.compress), ("br", brotli.compress), ("br", lambda d: d)]
)
def test_content_coding_is_undone(coding: str, pack: Any) -> None:
    """Crawlers store answers as they came, or unpacked under the old header."""
    url, media, data = PAGE
    headers = [("Content-Encoding", coding)]
    (found,) = pages(records((url, media, pack(data)), headers=headers))
    assert found.content == data


def test_pictures_are_found_beside_the_page() -> None:
    (found,) = pages(warc_bytes(gzipped=True))
    asset = found.resources().find(next(iter(FULL)))
    assert asset is not None
    assert asset.data == next(iter(PHOTOS.values()))


def test_revisit_leads_to_the_first_answer() -> None:  # ISO 28500, 6.7 "revisit"
    out = io.BytesIO()
    writer = WARCWriter(out, gzip=False, warc_version="WARC/1.1")
    http = StatusAndHeaders("200 OK", [("Content-Type", "image/gif")], protocol="HTTP/1.1")
    first = writer.create_warc_record(
        "https://a.example/1.gif", "response", io.BytesIO(b"GIF89a"), http_headers=http
    )
    again = writer.create_revisit_record(
        "https://b.example/1.gif", "sha1:X", "https://a.example/1.gif", "2026-11-01T00:00:00Z",
        http_headers=http,
    )  # fmt: skip
    writer.write_record(first)
    writer.write_record(again)
    (found,) = pages(out.getvalue() + records(PAGE))
    asset = found.resources().find("https://b.example/1.gif")
    assert asset is not None
    assert asset.data == b"GIF89a"


def asked(url: str, *wants: str) -> bytes:
    """Requests as browsers send them (Fetch Metadata, Sec-Fetch-Dest)."""
    out = io.BytesIO()
    writer = WARCWriter(out, gzip=False)
    for want in wants:
        headers = [("Sec-Fetch-Dest", want)] if want else []
        http = StatusAndHeaders("GET /ad HTTP/1.1", headers, is_http_request=True)
        writer.write_record(writer.create_warc_record(url, "request", http_headers=http))
    return out.getvalue()


@pytest.mark.parametrize(
    ("wants", "is_frame"),
    [
        (("iframe",), True),
        (("iframe", "empty"), True),
        (("iframe", "document"), False),
        (("iframe", ""), False),
        ((), False),
    ],
)
def test_frames_are_what_was_asked_for_as_frames_only(
    wants: tuple[str, ...], is_frame: bool
) -> None:
    url = "https://shop.example/ad"
    data = asked(url, *wants) + records((url, "text/html", b"<p>an advertisement</p>"), PAGE)
    assert [(one.url, one.is_frame) for one in pages(data)] == [(url, is_frame), (PAGE[0], False)]


SOLD_BY_ITSELF = (
    b'<h1>Round frame</h1><script type="application/ld+json">{"@context": "https://schema.org", '
    b'"@type": "Product", "name": "Round frame", "offers": {"@type": "Offer", "price": "90", '
    b'"priceCurrency": "EUR", "seller": {"@type": "Person", "name": "anna"}}}</script>'
)


@pytest.mark.parametrize(
    ("framed", "titles"), [(SOLD_BY_ITSELF, ["Round frame"]), (b"<p>an advertisement</p>", [])]
)
def test_a_frame_is_a_listing_only_with_price_and_seller(
    framed: bytes, titles: list[str], tmp_path: Path
) -> None:
    url = "https://shop.example/itm/1"
    data = asked(url, "iframe") + records((url, "text/html", b"<body>" + framed))
    (tmp_path / "a.warc").write_bytes(data)
    with Supervisor(0) as supervisor:
        reading = read_folder(tmp_path, supervisor)
    assert [one.title for one in reading.listings] == titles
    assert reading.problems == ()


def test_what_stands_before_damage_is_read() -> None:
    data = records(PAGE, PAGE, gzip=True)
    found = list(warc.members(Source(Path("/x"), "a.warc.gz", content=data[:-20])))
    assert any(isinstance(one, Source) for one in found)


def test_damage_from_the_start_is_told() -> None:
    with pytest.raises(Unreadable):
        list(warc.members(Source(Path("/x"), "a.warc", content=b"WARC/1.1\r\nnothing")))


@pytest.mark.parametrize("large", [0, 1 << 30])
def test_wacz_with_page_and_pictures_in_two_files(
    large: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archives, "LARGE", large)
    import zipfile

    with zipfile.ZipFile(tmp_path / "a.wacz", "w", zipfile.ZIP_STORED) as archive:
        archive.writestr("datapackage.json", "{}")
        archive.writestr(
            "archive/1.warc.gz", records((URL, "text/html", page(list(FULL))), gzip=True)
        )
        pictures = [(url, "image/jpeg", data) for url, data in FULL.items()]
        archive.writestr("archive/2.warc", records(*pictures))
    with Supervisor(0) as supervisor:
        reading = read_folder(tmp_path, supervisor)
    (listing,) = reading.listings
    assert [p.member for p in listing.photos] == [
        "archive/2.warc!record:0", "archive/2.warc!record:1"
    ]  # fmt: skip
    assert [photo_bytes(tmp_path, p) for p in listing.photos] == list(PHOTOS.values())


def test_wacz_without_pages_is_told(tmp_path: Path) -> None:
    (tmp_path / "a.wacz").write_bytes(
        zip_bytes({"datapackage.json": b"{}", "archive/a.warc": records()})
    )
    with Supervisor(0) as supervisor:
        reading = read_folder(tmp_path, supervisor)
    assert reading.listings == ()
    assert [p.source for p in reading.problems] == ["a.wacz"]


def entry(url: str, content: dict[str, str], **known: Any) -> dict[str, Any]:
    return {
        "startedDateTime": "2026-11-01T10:00:00Z",
        "request": {"url": url, "headers": known.get("headers", [])},
        "response": {"status": known.get("status", 200), "content": content},
    }


def har_pages(*entries: Any) -> list[Source | Problem]:
    data = json.dumps({"log": {"version": "1.2", "entries": list(entries)}}).encode()
    return [
        one
        for one in har.members(Source(Path("/x"), "a.har", content=data))
        if not isinstance(one, tuple)
    ]


HTML = {"mimeType": "text/html; charset=iso-8859-1", "text": "caf\u00e9"}


def test_har_text_is_what_the_browser_decoded() -> None:  # HAR 1.2, "content"
    (found,) = har_pages(entry(URL, HTML))
    assert isinstance(found, Source)
    assert (found.content, found.charset) == ("caf\u00e9".encode(), "utf-8")


def test_har_base64_keeps_the_stated_charset() -> None:  # HAR 1.2, "content", encoding
    coded = {"mimeType": HTML["mimeType"], "text": "Y2Fm6Q==", "encoding": "base64"}
    (found,) = har_pages(entry(URL, coded))
    assert isinstance(found, Source)
    assert (found.content, found.charset) == (b"caf\xe9", "iso-8859-1")


def test_har_frames_errors_and_other_kinds_are_no_pages() -> None:
    framed = [{"name": "Sec-Fetch-Dest", "value": "iframe"}]
    assert har_pages(
        entry(URL, HTML, headers=framed),
        entry(URL, HTML, status=404),
        entry(URL, {"mimeType": "application/json", "text": "{}"}),
        entry(URL, {"mimeType": "text/html"}),
        None,
        {"request": 1},
    ) == []  # fmt: skip


def test_har_of_something_else_is_refused() -> None:
    for data in (b"[]", b"{}", b'{"log": 1}', b'{"log": {"entries": {}}}'):
        with pytest.raises(Unreadable):
            list(har.members(Source(Path("/x"), "a.har", content=data)))


def test_no_record_is_looked_for_before_the_file_begins() -> None:
    assert warc._end_of_packed(io.BytesIO(b"WARC/1.1"), -118) is None
