"""WARC files (ISO 28500:2017, WARC 1.1; also 1.0, and gzip by record): pages and what they show.

warcio does the parsing. A first pass notes where each record lies, a second reads the pages; a
picture is read when a page asks for it, so that an archive of any size passes through.
"""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO

from warcio.archiveiterator import ArchiveIterator
from warcio.bufferedreaders import ChunkedDataReader, DecompressingBufferedReader
from warcio.exceptions import ArchiveLoadFailed
from warcio.statusandheaders import StatusAndHeadersParserException

from extractors.records import Problem
from triage.readers.limits import MAX_MEMBER, MAX_UNPACKED, PIECE, read_bounded
from triage.readers.source import Asset, Source, Unreadable, join_member
from triage.readers.unpacking import unpacked

MAX_RECORDS = 500_000
MAX_LINE = 1 << 20  # bytes of one line of a record's head; cookies make long ones
_Want = tuple[str, bool]  # an address, and whether it was asked for as a frame


_DAMAGED = (
    ArchiveLoadFailed,
    EOFError,
    ValueError,
    OSError,
    KeyError,
    AttributeError,
    StatusAndHeadersParserException,
)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """The bytes of a file that a record takes, as stored (packed, if the file is)."""

    start: int
    length: int


@dataclass(frozen=True, slots=True)
class _Record:
    """Where one stored answer lies, and what its headers say."""

    number: int
    place: _Stretch
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
    wants = {want for _, _, asked, _ in read for want in asked}
    for source, records, _, problems in read:
        for record in records:
            if _is_page(record):
                is_frame = (record.url, True) in wants and (record.url, False) not in wants
                yield _page(source, record, table, is_frame)
        yield from problems


_GOOD = ("200", "203", "206", "")
_PAGE = ("text/html", "application/xhtml+xml")


def _is_page(record: _Record) -> bool:
    return record.status in _GOOD and record.media in _PAGE and record.refers_to is None


def _index(source: Source) -> tuple[list[_Record], set[_Want], list[Problem]]:
    """Note all stored answers, and what was asked for as a frame or as a page.

    A browser says what it asks for in the Sec-Fetch-Dest field of the request record.
    """
    records: list[_Record] = []
    wants: set[_Want] = set()
    problems: list[Problem] = []
    with source.open() as file:
        for number, one in enumerate(_walk(file)):
            if number >= MAX_RECORDS:
                break
            if isinstance(one, Unreadable):
                member = join_member(source.member, f"record:{number}")
                problems.append(Problem(source.path, member, one.what, one.do))
            elif one.record.rec_type == "request":
                wants |= _wants(one.record)
            elif (noted := _note(one.record, number, one.place)) is not None:
                records.append(noted)
    if not records:
        what = problems[0].what if problems else "holds no stored answers"
        raise Unreadable(what, "save it again")
    return records, wants, problems


@dataclass(frozen=True, slots=True)
class _Reached:
    """A record whose headers warcio has read, and where it lies."""

    record: Any
    place: _Stretch


def _walk(file: BinaryIO) -> Iterator[_Reached | Unreadable]:
    """Give the records in order, and in place of each that cannot be read what is wrong with it.

    Where every record is packed by itself, one that is damaged hides only itself.
    """
    iterator = _iterate(file, 0)
    while True:
        try:
            record = next(iterator, None)
            if record is None:
                return
            start = int(iterator.get_record_offset())
            place = _Stretch(start, int(iterator.get_record_length()))
        except _DAMAGED as error:
            what = f"is a damaged record ({type(error).__name__})"
            after = _end_of_packed(file, iterator.offset)
            if after is None:
                yield Unreadable(what, "save it again; what stands before was read")
                return
            yield Unreadable(what)
            iterator = _iterate(file, after)
        else:
            yield _Reached(record, place)


def _iterate(file: BinaryIO, start: int) -> Any:
    file.seek(start)
    iterator = ArchiveIterator(file)
    iterator.reader = _Reader(file)
    return iterator


class _Reader(DecompressingBufferedReader):  # type: ignore[misc] # warcio has no types
    """Reads lines of bounded length: what unpacks to one endless line must not fill the memory."""

    def readline(self, length: int | None = None) -> bytes:
        line: bytes = super().readline(min(length or MAX_LINE, MAX_LINE))
        if len(line) >= MAX_LINE:
            raise ValueError("a line without end")
        return line


def _end_of_packed(file: BinaryIO, start: int) -> int | None:
    """Find where the gzip member at `start` ends and another begins; None if there is none.

    After damage the library may count back to before the file's beginning.
    """
    if start < 0:
        return None
    file.seek(start)
    unpacker = zlib.decompressobj(31)
    left = MAX_UNPACKED * 2
    try:
        while not unpacker.eof and left > 0:
            packed = unpacker.unconsumed_tail or file.read(PIECE)
            if not packed:
                return None
            left -= len(unpacker.decompress(packed, PIECE))
    except zlib.error:
        return None
    end = file.tell() - len(unpacker.unused_data)
    file.seek(end)
    return end if unpacker.eof and file.read(3) == b"\x1f\x8b\x08" else None


def _wants(record: Any) -> set[_Want]:
    """Say what a request asks for; one that does not say asks for a page."""
    headers = record.http_headers
    dest = (headers.get_header("Sec-Fetch-Dest") if headers else None) or "document"
    url = (record.rec_headers.get_header("WARC-Target-URI") or "").strip("<>")
    if not url or dest not in ("document", "iframe", "frame"):
        return set()
    return {(url, dest != "document")}


def _note(record: Any, number: int, place: _Stretch) -> _Record | None:
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
        place,
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


def _page(
    source: Source, record: _Record, table: dict[str, Asset], is_frame: bool
) -> Source | Problem:
    step = f"record:{record.number}"
    try:
        data = _content(source, record.place)
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
        is_frame=is_frame,
    )


def _asset(source: Source, record: _Record) -> Asset:
    member = join_member(source.member, f"record:{record.number}")
    return Asset(
        source.path, member, record.url, lambda: _content(source, record.place), record.media
    )


def _content(source: Source, place: _Stretch) -> bytes:
    """Read the stored content of a record, transfer and content coding undone."""
    try:
        with source.open() as file:
            record = next(_iterate(file, place.start))
            data = read_bounded(record.raw_stream, MAX_MEMBER, place.length)
        http = record.http_headers
        if http is None:
            return data
        if http.get_header("Transfer-Encoding") == "chunked":
            data = ChunkedDataReader(io.BytesIO(data)).read()
        return unpacked(data, http.get_header("Content-Encoding") or "", place.length)
    except (*_DAMAGED, StopIteration) as error:
        raise Unreadable(f"is a damaged record ({type(error).__name__})") from None


def opener(source: Source) -> Callable[[str], bytes]:
    """Give what reads ``record:N``; where the records lie is looked up once."""
    with source.open() as file:
        places = [one.place if isinstance(one, _Reached) else None for one in _walk(file)]

    def read(step: str) -> bytes:
        number = step.removeprefix("record:")
        place = places[int(number)] if number.isdecimal() and int(number) < len(places) else None
        if place is None:
            raise Unreadable("no such record")
        return _content(source, place)

    return read
