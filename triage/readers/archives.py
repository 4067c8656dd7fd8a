"""Zip archives (with WACZ) and gzip files, opened within limits."""

from __future__ import annotations

import gzip
import io
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator
from typing import Any, BinaryIO, cast
from urllib.parse import quote

from extractors.records import Problem
from triage.readers import warc
from triage.readers.documents import document_kind, is_of_the_system
from triage.readers.grouping import Plan, companion_of, make_plan
from triage.readers.limits import MAX_MEMBER, MAX_MEMBERS, MAX_UNPACKED, read_bounded
from triage.readers.source import Asset, Place, Source, Unreadable, join_member

LARGE = 16 << 20  # bytes; a larger file that is not packed is read where it lies
_DAMAGED = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError, OSError)


def can_open_zip(head: bytes, name: str) -> bool:
    packed = head.startswith((b"PK\3\4", b"PK\5\6", b"PK\7\x08"))
    return packed and document_kind(head) is None


def can_open_gzip(head: bytes, name: str) -> bool:
    return head.startswith(b"\x1f\x8b\x08")


class Archive:
    """An open zip: its usable names, and their bytes within the limits.

    Names that climb out of the archive, links and doubled names are left out and told.
    """

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        try:
            self._zip = zipfile.ZipFile(file)
            entries = self._zip.infolist()
        except _DAMAGED as error:
            why = "" if "not a zip" in str(error) else f" ({error})"  # its end is missing
            raise Unreadable(f"is a damaged zip file{why}", "copy it again") from None
        if len(entries) > MAX_MEMBERS:
            raise Unreadable(f"holds more than {MAX_MEMBERS:,} files", "unpack it yourself")
        self.entries: dict[str, zipfile.ZipInfo] = {}
        self.refused: list[tuple[str, str]] = []
        self._unpacked = 0
        for entry in entries:
            self._take(entry)

    def _take(self, entry: zipfile.ZipInfo) -> None:
        name = entry.filename
        if name.endswith("/") or is_of_the_system(name):
            return
        why = _why_refused(entry) or ("stands twice" if name in self.entries else None)
        if why is None:
            self.entries[name] = entry
        else:
            self.refused.append((name, why))

    def opener(self, name: str) -> Callable[[], BinaryIO] | None:
        """Give what opens a large file that lies in the archive unpacked, or None."""
        entry = self.entries.get(name)
        if entry is None or entry.compress_type != zipfile.ZIP_STORED or entry.file_size < LARGE:
            return None
        return lambda: cast(BinaryIO, io.BufferedReader(_Stretch(self._file, *self._place(entry))))

    def _place(self, entry: zipfile.ZipInfo) -> tuple[int, int]:
        """Find where the bytes of an unpacked file lie (APPNOTE 6.3.10, 4.3.7)."""
        self._file.seek(entry.header_offset)
        header = self._file.read(30)
        if len(header) < 30 or not header.startswith(b"PK\3\4"):
            raise Unreadable("is a damaged zip file", "copy it again")
        names = int.from_bytes(header[26:28], "little") + int.from_bytes(header[28:30], "little")
        return entry.header_offset + 30 + names, entry.compress_size

    def read(self, name: str) -> bytes:
        """Unpack one file; raises Unreadable if damaged, encrypted or implausibly large."""
        entry = self.entries.get(name)
        if entry is None:
            raise Unreadable("is not in the archive")
        if self._unpacked > MAX_UNPACKED:
            raise Unreadable("the archive unpacks to more than 2 GB", "unpack it yourself")
        try:
            with self._zip.open(entry) as stream:
                data = read_bounded(_as_binary(stream), MAX_MEMBER, entry.compress_size)
        except (*_DAMAGED, RuntimeError) as error:  # RuntimeError: encrypted
            raise Unreadable(f"cannot be unpacked ({error})", "unpack it yourself") from None
        self._unpacked += len(data)
        return data


class _Stretch(io.RawIOBase):
    """A stretch of an open file, as a file of its own."""

    def __init__(self, file: BinaryIO, start: int, size: int) -> None:
        self._outer, self._start, self._size, self._at = file, start, size, 0

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        base = {io.SEEK_SET: 0, io.SEEK_CUR: self._at, io.SEEK_END: self._size}[whence]
        self._at = max(0, base + offset)
        return self._at

    def tell(self) -> int:
        return self._at

    def readinto(self, buffer: Any) -> int:
        wanted = min(len(buffer), max(0, self._size - self._at))
        self._outer.seek(self._start + self._at)
        data = self._outer.read(wanted)
        buffer[: len(data)] = data
        self._at += len(data)
        return len(data)


def _as_binary(stream: object) -> BinaryIO:
    return stream  # type: ignore[return-value]


def _why_refused(entry: zipfile.ZipInfo) -> str | None:
    if not entry.filename:
        return "has no name"
    steps = re.split(r"[/\\]", entry.filename)
    if ".." in steps or entry.filename.startswith(("/", "\\")) or ":" in steps[0][1:2]:
        return "leads out of the archive"
    if (entry.external_attr >> 16) & 0o170000 == 0o120000:
        return "is a link"
    if entry.flag_bits & 1:
        return "is encrypted"
    return None


def zip_members(source: Source) -> Iterator[Source | Problem | Place]:
    """Give what an archive holds, in the order of reading; last the places that no one reads."""
    archive = Archive(source.open())
    for name, why in archive.refused:
        yield Problem(source.path, join_member(source.member, name), why, "left out")
    if _is_wacz(archive):
        yield from _wacz_members(source, archive)
        return
    plan = make_plan(archive.entries)
    table = _table(source, archive)
    referenced: set[str] = set()
    for name in plan.first:
        member = _member(source, archive, name, plan, table)
        if isinstance(member, Source):
            referenced |= _companions_named(name, member, plan)
        yield member
    for name in plan.later:
        if companion_of(name, plan.companions) not in referenced:
            yield _member(source, archive, name, plan, table)
    for name in plan.pictures:
        if companion_of(name, plan.companions) not in referenced:
            yield source.path, join_member(source.member, name)


def _member(
    source: Source, archive: Archive, name: str, plan: Plan, table: dict[str, Asset]
) -> Source | Problem:
    try:
        opener = archive.opener(name)
        data = None if opener is not None else archive.read(name)
    except Unreadable as error:
        return Problem(source.path, join_member(source.member, name), error.what, error.do)
    beside = plan.beside.get(name, ())
    return source.inside(name, data, opener=opener, table=table, base=name, beside=beside)


def _companions_named(page: str, member: Source, plan: Plan) -> set[str]:
    """List the folders named after a page that the page itself speaks of."""
    folders = [f for f, p in plan.companions.items() if p == page]
    data = member.content or b""
    return {
        folder
        for folder in folders
        for last in [folder.rpartition("/")[2]]
        if last.encode() in data or quote(last).encode() in data
    }


def _table(source: Source, archive: Archive) -> dict[str, Asset]:
    return {name: _asset(source, archive, name) for name in archive.entries}


def _asset(source: Source, archive: Archive, name: str) -> Asset:
    member = join_member(source.member, name)
    return Asset(source.path, member, name, lambda: archive.read(name))


# --- WACZ ------------------------------------------------------------------------------------


def _is_wacz(archive: Archive) -> bool:
    """A WACZ file keeps WARC files in archive/ and says what it is in datapackage.json."""
    names = archive.entries
    return "datapackage.json" in names and any(_WARC.search(n) for n in names)


_WARC = re.compile(r"^archive/.*\.warc(\.gz)?$", re.IGNORECASE)


def _wacz_members(source: Source, archive: Archive) -> Iterator[Source | Problem]:
    """Give the pages of all its WARC files; a picture may lie in another one than its page."""
    names = [name for name in archive.entries if _WARC.search(name)]
    opened = [_member(source, archive, name, _NO_PLAN, {}) for name in names]
    yield from (problem for problem in opened if isinstance(problem, Problem))
    yield from warc.members_of_all([one for one in opened if isinstance(one, Source)])


_NO_PLAN = Plan((), (), (), {}, {})


# --- gzip ------------------------------------------------------------------------------------


def gzip_members(source: Source) -> Iterator[Source | Problem]:
    """Give the one file in a gzip file (RFC 1952)."""
    name = re.sub(r"\.(?:gz|gzip)$", "", source.name, flags=re.IGNORECASE)
    yield source.inside("ungzip", ungzip(source.open()), filename=name)


def ungzip(file: BinaryIO) -> bytes:
    """Unpack a gzip file within the limits."""
    size = file.seek(0, io.SEEK_END)
    file.seek(0)
    try:
        with gzip.GzipFile(fileobj=file) as stream:
            return read_bounded(_as_binary(stream), MAX_MEMBER, size)
    except _DAMAGED as error:
        raise Unreadable(f"cannot be unpacked ({error})", "unpack it yourself") from None
