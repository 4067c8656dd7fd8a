"""READERS: every kind of saved thing the tool reads, one line each; the first that can, reads.

CONTAINERS open what holds other sources (archives, mails, records of a crawl); what comes out
goes through the same two lists again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from extractors.records import Problem
from triage.readers import alerts, archives, exports, har, mime, page, plain_text, warc
from triage.readers.source import Place, ReadResult, Source


@dataclass(frozen=True, slots=True)
class Reader:
    """One kind of saved thing.

    `can_read` sees the first 4096 bytes and the name; `read` may raise Unreadable.
    """

    name: str
    can_read: Callable[[bytes, str], bool]
    read: Callable[[Source], ReadResult | Iterator[ReadResult]]


@dataclass(frozen=True, slots=True)
class Container:
    """One kind of thing that holds others.

    `members` gives the sources to read, lazily; a damaged member is a Problem among them, a picture
    that some listing may have used is its place alone.
    """

    name: str
    can_open: Callable[[bytes, str], bool]
    members: Callable[[Source], Iterator[Source | Problem | Place]]


CONTAINERS: tuple[Container, ...] = (
    Container("zip", archives.can_open_zip, archives.zip_members),
    Container("packed warc", warc.can_open_packed, warc.members),
    Container("warc", warc.can_open, warc.members),
    Container("gzip", archives.can_open_gzip, archives.gzip_members),
    Container("har", har.can_open, har.members),
    Container("mailbox", mime.can_open_box, mime.box_members),
    Container("mail", mime.can_open, mime.members),
)
READERS: tuple[Reader, ...] = (
    Reader("page", page.can_read, alerts.read),
    Reader("json", exports.can_read_json, exports.read_json),
    Reader("csv", exports.can_read_csv, exports.read_csv),
    Reader("text", plain_text.can_read, plain_text.read),
)
