"""WARC files (ISO 28500:2017, WARC 1.1; also 1.0, and gzip by record): pages and what they show.

warcio does the parsing. A first pass notes where each record lies, a second reads the pages; a
picture is read when a page asks for it, so that an archive of any size passes through.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import brotli
from warcio.archiveiterator import ArchiveIterator
from warcio.bufferedreaders import BufferedReader
from warcio.exceptions import ArchiveLoadFailed

from extractors.records import Problem
from triage.readers.limits import MAX_MEMBER, read_bounded
from triage.readers.source import Asset, Source, Unreadable, join_member

MAX_RECORDS = 500_000


class _Brotli:
    """Brotli (RFC 7932) as warcio wants a decoder; its own does not fit current releases."""

    unused_data = b""

    def __init__(self) -> None:
        self._decoder = brotli.Decompressor()

    def decompress(self, data: bytes) -> bytes:
        return bytes(self._decoder.process(data))


BufferedReader.DECOMPRESSORS["br"] = _Brotli
_DAMAGED = (
    ArchiveLoadFailed,
    EOFError,
    ValueError,
    OSError,
    KeyError,
    AttributeError,
    brotli.error,
)


@dataclass(frozen=True, slots=True)
class _Record:
    """Where one stored answer lies, and what its headers say."""

    number: int
    offset: int
    url: str
    media: str
    charset: str | None
    status: str
    date: str | None
    refers_to: str | None  # of a revisit record (6.7): the address whose stored answer it repeats


def can_open(head: bytes, name: str) -> bool:
    return head.startswith(b"WARC/")


def can_open_packed(head: bytes, name: str) -> bool:
    """Recognise gzip by record, which other gzip readers would take for one long file."""
    if not head.startswith(b"\x1f\x8b\x08"):
        return False
    try:
        return zlib.decompressobj(31).decompress(head, 16).startswith(b"WARC/")
    except zlib.error:
        return False


def members(source: Source) -> Iterator[Source | Problem]:
    """Give the pages of the archive, in its order, each with all other records in its reach."""
    return members_of_all([source])


def members_of_all(sources: Sequence[Source]) -> Iterator[Source | Problem]:
    """Give the pages of several files that belong together."""
    read = [(source, *_index(source)) for source in sources]
    table: dict[str, Asset] = {}
    for source, records, _, _ in read:
        for record in records:
            if record.status in _GOOD and record.refers_to is None:
                table.setdefault(record.url, _asset(source, record))
    for _, records, _, _ in read:
        for record in records:
            if record.refers_to in table:
                table.setdefault(record.url, table[record.refers_to])
    framed = {url for _, _, urls, _ in read for url in urls}
    for source, records, _, problem in read:
        for record in records:
            if _is_page(record) and record.url not in framed:
                yield _page(source, record, table)
        if problem is not None:
            yield problem


_GOOD = ("200", "203", "206", "")
_PAGE = ("text/html", "application/xhtml+xml")


def _is_page(record: _Record) -> bool:
    return record.status in _GOOD and record.media in _PAGE and record.refers_to is None


def _index(source: Source) -> tuple[list[_Record], set[str], Problem | None]:
    """Note all stored answers, and the addresses that were asked for as frames.

    A browser says what it asks for in the Sec-Fetch-Dest field of the request record.
    """
    records: list[_Record] = []
    framed: set[str] = set()
    try:
        with source.open() as file:
            iterator = ArchiveIterator(file)
            for number, record in enumerate(iterator):
                if number >= MAX_RECORDS:
                    break
                if record.rec_type == "request":
                    framed |= _frames(record)
                elif (noted := _note(record, number, iterator.get_record_offset())) is not None:
                    records.append(noted)
    except _DAMAGED as error:
        what = f"is damaged after record {len(records)} ({type(error).__name__})"
        if not records:
            raise Unreadable(what, "save it again") from None
        return records, framed, source.problem(what, "what stands before was read")
    if not records:
        raise Unreadable("holds no stored answers", "save it again")
    return records, framed, None


def _frames(record: Any) -> set[str]:
    headers = record.http_headers
    dest = headers.get_header("Sec-Fetch-Dest") if headers else None
    url = record.rec_headers.get_header("WARC-Target-URI")
    return {url} if url and dest in ("iframe", "frame") else set()


def _note(record: Any, number: int, offset: int) -> _Record | None:
    url = record.rec_headers.get_header("WARC-Target-URI")
    if record.rec_type not in ("response", "resource", "revisit", "conversion") or not url:
        return None
    http = record.http_headers
    stated = (http.get_header("Content-Type") if http else None) or (
        record.rec_headers.get_header("Content-Type") if record.rec_type != "response" else None
    )
    media, charset = _media(stated or "")
    is_revisit = record.rec_type == "revisit"
    return _Record(
        number,
        offset,
        url.strip("<>"),
        media,
        charset,
        (http.get_statuscode() or "") if http else "",
        record.rec_headers.get_header("WARC-Date"),
        (record.rec_headers.get_header("WARC-Refers-To-Target-URI") or url) if is_revisit else None,
    )


def _media(stated: str) -> tuple[str, str | None]:
    """Split a Content-Type field into type and charset.

    >>> _media('text/html; charset="UTF-8"')
    ('text/html', 'UTF-8')
    """
    charset = re.search(r"(?i)charset\s*=\s*[\"']?([\w.:-]+)", stated)
    return stated.split(";")[0].strip().lower(), charset[1] if charset else None


def _page(source: Source, record: _Record, table: dict[str, Asset]) -> Source | Problem:
    step = f"record:{record.number}"
    try:
        data = _content(source, record.offset)
    except Unreadable as error:
        return Problem(source.path, join_member(source.member, step), error.what, error.do)
    return source.inside(
        step,
        data,
        url=record.url,
        saved_at=record.date,
        charset=record.charset,
        content_type=record.media,
        table=table,
        base=record.url,
    )


def _asset(source: Source, record: _Record) -> Asset:
    member = join_member(source.member, f"record:{record.number}")
    return Asset(
        source.path, member, record.url, lambda: _content(source, record.offset), record.media
    )


def _content(source: Source, offset: int) -> bytes:
    """Read the stored content of the record at an offset, transfer and content coding undone."""
    try:
        with source.open() as file:
            file.seek(offset)
            record = next(iter(ArchiveIterator(file)))
            return read_bounded(record.content_stream(), MAX_MEMBER)
    except (*_DAMAGED, StopIteration) as error:
        raise Unreadable(f"is a damaged record ({type(error).__name__})") from None


def opener(source: Source) -> Callable[[str], bytes]:
    """Give what reads ``record:N``; where the records lie is looked up once."""
    offsets = _offsets(source)

    def read(step: str) -> bytes:
        number = step.removeprefix("record:")
        if not number.isdecimal() or int(number) >= len(offsets):
            raise Unreadable("no such record")
        return _content(source, offsets[int(number)])

    return read


def _offsets(source: Source) -> list[int]:
    offsets: list[int] = []
    with source.open() as file:
        iterator = ArchiveIterator(file)
        try:
            for _ in iterator:
                offsets.append(int(iterator.get_record_offset()))
        except _DAMAGED:
            pass  # what stands before the damage can be read
    return offsets
