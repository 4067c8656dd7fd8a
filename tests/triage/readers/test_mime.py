"""E-mails and MHTML: samples after the clauses named in each test."""

from __future__ import annotations

from email import message_from_bytes
from pathlib import Path

import pytest

from extractors.records import Problem
from triage.readers import mime
from triage.readers.source import Source, Unreadable

JPEG = "/9j/4AAQSkZJRgABAQAAAQABAAD/2Q=="


def bodies(message: str) -> list[Source]:
    data = message.replace("\n", "\r\n").encode("utf-8")
    found = list(mime.members(Source(Path("/x"), "a.eml", content=data)))
    assert not [m for m in found if isinstance(m, Problem)]
    return [m for m in found if isinstance(m, Source)]


def text_of(source: Source) -> str:
    return (source.content or b"").decode("utf-8").strip()


RELATED = """\
From: <saved>
Subject: A page
MIME-Version: 1.0
Content-Type: multipart/related; type="text/html"; boundary="b"{start}

--b
Content-Type: image/jpeg
Content-ID: <photo1@mail.example>
Content-Transfer-Encoding: base64

{jpeg}
--b
Content-Type: text/html; charset="utf-8"
Content-ID: <first@mail.example>
Content-Location: https://stallrow.example/item/1

<p>first</p>
--b
Content-Type: text/html
Content-ID: <second@mail.example>

<p>second</p>
--b--
"""


def test_root_is_the_first_page_wherever_it_stands() -> None:  # RFC 2557, 8 leaves the order open
    (page,) = bodies(RELATED.format(jpeg=JPEG, start=""))
    assert text_of(page) == "<p>first</p>"
    assert page.url == "https://stallrow.example/item/1"
    assert page.charset == "utf-8"


def test_root_is_what_start_names() -> None:  # RFC 2387, 3.2
    (page,) = bodies(RELATED.format(jpeg=JPEG, start=';\n start="<second@mail.example>"'))
    assert text_of(page) == "<p>second</p>"


def test_photo_found_by_content_id() -> None:  # RFC 2392; RFC 2557, 8.3
    (page,) = bodies(RELATED.format(jpeg=JPEG, start=""))
    asset = page.resources().find("cid:photo1@mail.example")
    assert asset is not None
    assert asset.data.startswith(b"\xff\xd8")
    assert asset.member == "part:1"


LOCATIONS = """\
MIME-Version: 1.0
Content-Type: multipart/related; boundary="b"
Content-Location: http://shop.example/items/
Subject: x

--b
Content-Type: text/html; charset="us-ascii"
Content-Location: page.html

<img src="img/a.gif">
--b
Content-Type: image/gif
Content-Location: img/a.gif
Content-Transfer-Encoding: base64

R0lGODlhAQABAAAAADs=
--b
Content-Type: image/gif
Content-Location: http://pictures.example/very/long/
 folded/name.gif
Content-Transfer-Encoding: base64

R0lGODlhAQABAAAAADs=
--b--
"""


@pytest.mark.parametrize(
    ("address", "member"),
    [
        ("img/a.gif", "part:2"),  # RFC 2557, 5: relative to the multipart's Content-Location
        ("http://shop.example/items/img/a.gif", "part:2"),
        ("http://pictures.example/very/long/folded/name.gif", "part:3"),  # 4.4.2: folded
    ],
)
def test_photo_found_by_location(address: str, member: str) -> None:
    (page,) = bodies(LOCATIONS)
    asset = page.resources().find(address)
    assert asset is not None
    assert asset.member == member


def test_relative_locations_without_any_base() -> None:  # RFC 2557, 5: thismessage:/
    message = LOCATIONS.replace("Content-Location: http://shop.example/items/\n", "")
    (page,) = bodies(message)
    asset = page.resources().find("img/a.gif")
    assert asset is not None
    assert page.url is None


MIXED = """\
From: Alerts <alerts@stallrow.example>
To: buyer@mail.example
Date: Thu, 12 Nov 2026 18:30:00 +0100
Subject: =?utf-8?Q?Neue_Angebote_f=C3=BCr_=E2=80=9EBrille=E2=80=9C?=
MIME-Version: 1.0
Content-Type: multipart/mixed; boundary="m"

--m
Content-Type: multipart/alternative; boundary="a"

--a
Content-Type: text/plain; charset=utf-8

as text
--a
Content-Type: multipart/related; boundary="r"

--r
Content-Type: text/html; charset=iso-8859-1
Content-Transfer-Encoding: quoted-printable

<p>caf=E9 as page</p>
--r
Content-Type: image/gif
Content-ID: <logo>

GIF89a
--r--
--a--
--m
Content-Type: image/jpeg; name="front.jpg"
Content-Disposition: attachment; filename="front.jpg"
Content-Transfer-Encoding: base64

/9j/4AAQ
--m
Content-Type: text/csv
Content-Disposition: attachment; filename="list.csv"

title,price
--m--
"""


def test_alternative_gives_the_page() -> None:  # RFC 2046, 5.1.4
    page, attached = bodies(MIXED)
    assert (page.content or b"").strip() == b"<p>caf\xe9 as page</p>"
    assert page.charset == "iso-8859-1"
    assert attached.name == "list.csv"


def test_subject_and_date_are_decoded() -> None:  # RFC 2047, 2; RFC 5322, 3.6.1
    page = bodies(MIXED)[0]
    assert page.title == "Neue Angebote für „Brille“"
    assert page.saved_at == "2026-11-12T17:30:00Z"


def test_attached_photo_goes_with_the_mail() -> None:
    page = bodies(MIXED)[0]
    assert page.beside == ("part:6",)
    asset = page.resources().find("part:6")
    assert asset is not None
    assert asset.data == b"\xff\xd8\xff\xe0\x00\x10"


FORWARD = """\
From: friend@mail.example
Subject: Fwd: look
MIME-Version: 1.0
Content-Type: multipart/mixed; boundary="f"

--f
Content-Type: text/plain

have a look
--f
Content-Type: message/rfc822

From: shop@stallrow.example
Subject: Frame 12
Date: Mon, 2 Nov 2026 08:00:00 +0000
MIME-Version: 1.0
Content-Type: text/html

<h1>Frame</h1>
--f--
"""


def test_forwarded_mail_is_read_as_its_own() -> None:  # RFC 2046, 5.2.1
    inner = bodies(FORWARD)[-1]
    assert text_of(inner) == "<h1>Frame</h1>"
    assert inner.title == "Frame 12"
    assert inner.saved_at == "2026-11-02T08:00:00Z"


def test_members_open_again_by_number() -> None:
    data = MIXED.encode()
    assert mime.open_member(data, "part:6").startswith(b"\xff\xd8")
    with pytest.raises(Unreadable):
        mime.open_member(data, "part:99")


def test_deep_nesting_is_refused() -> None:
    depth = 3_000
    heads = "".join(
        f'Content-Type: multipart/mixed; boundary="b{n}"\n\n--b{n}\n' for n in range(depth)
    )
    message = f"From: a\nSubject: b\nMIME-Version: 1.0\n{heads}".encode()
    with pytest.raises(Unreadable):
        list(mime.members(Source(Path("/x"), "a.eml", content=message)))


@pytest.mark.parametrize(
    ("head", "name", "expected"),
    [
        (b"From: a@b.example\r\nSubject: x\r\nMIME-Version: 1.0\r\n\r\n", "mail", True),
        (b"\xef\xbb\xbfFrom: a\nSubject: x\n\n", "a.eml", True),
        (b"Title: Frame\nPrice: 12\n\ntext", "note.txt", False),
        (b"From: Paris\nDate: 2026-01-02\n\ntext", "note.txt", False),
        (b"<html>", "a.mhtml", False),
    ],
)
def test_messages_are_told_from_notes(head: bytes, name: str, expected: bool) -> None:
    assert mime.can_open(head, name) is expected


@pytest.mark.parametrize("charset", ["utf-8\x00", "base64", "idna", "no-such-set", "koi8-r"])
def test_texts_in_parts_are_joined_whatever_charset_they_claim(charset: str) -> None:
    part = f'--b\r\nContent-Type: text/plain; charset="{charset}"\r\n\r\nFrame 48\r\n'
    mail = (
        f'From: a@b.example\r\nContent-Type: multipart/mixed; boundary="b"\r\n\r\n{part}{part}--b--'
    )
    (found,) = mime.members(Source(Path("/x"), "a.eml", content=mail.encode()))
    assert isinstance(found, Source)
    assert found.data() == b"Frame 48\n\nFrame 48"


UNWRITABLE = (
    b'X:\nContent-Type:multipart/"";boundary="----b"\r------b\r \nContent-Type:multipart/\n\xa6'
)


def test_a_part_that_cannot_be_written_again_is_survived() -> None:  # found by fuzzing
    message = message_from_bytes(UNWRITABLE)
    inner = message.get_payload()[0]
    with pytest.raises(UnicodeEncodeError):
        inner.as_bytes()
    written = mime.content_of(mime._Part(0, message, None, None))
    assert written == inner.as_string().encode("utf-8", "surrogateescape") != b""
