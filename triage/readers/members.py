"""Opens a member again by its notation: step by step, from the file inwards.

This parses, so it runs in worker processes. The last containers stay open for the next photo.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import BinaryIO

from triage.readers import archives, har, mime, warc
from triage.readers.source import (
    Source,
    Unreadable,
    join_member,
    locate,
    read_data_address,
    split_member,
)


@dataclass(frozen=True, slots=True)
class _Opened:
    """An open container: gives a member's bytes, or opens a large one where it lies."""

    read: Callable[[str], bytes]
    opener: Callable[[str], Callable[[], BinaryIO] | None] = lambda step: None


def member_bytes(root: Path, path: str, member: str | None) -> bytes:
    """Give the bytes of a file, or of the member of it; raises Unreadable."""
    source = Source(root, path)
    steps = split_member(member)
    if not steps:
        return source.data()
    stat = locate(root, path).stat()
    return _container(root, path, steps[:-1], (stat.st_mtime_ns, stat.st_size)).read(steps[-1])


@lru_cache(maxsize=3)
def _container(root: Path, path: str, steps: tuple[str, ...], version: tuple[int, int]) -> _Opened:
    """Open the container that `steps` lead to; a photo's neighbours lie in the same one."""
    if not steps:
        return _open(Source(root, path))
    outer, step = _container(root, path, steps[:-1], version), steps[-1]
    member = None
    for one in steps:
        member = join_member(member, one)
    opener = outer.opener(step)
    content = outer.read(step) if opener is None else None
    return _open(Source(root, path, member, content, opener))


def _open(source: Source) -> _Opened:
    with source.open() as file:
        head = file.read(4096)
    if archives.can_open_zip(head, source.name):
        archive = archives.Archive(source.open())
        return _Opened(archive.read, archive.opener)
    if warc.can_open(head, source.name) or warc.can_open_packed(head, source.name):
        return _Opened(warc.opener(source))
    if har.can_open(head, source.name):
        return _Opened(har.opener(source))
    if mime.can_open_box(head, source.name):
        return _Opened(lambda step: mime.open_box_member(source.open(), step))
    if archives.can_open_gzip(head, source.name):
        return _Opened(lambda step: archives.ungzip(source.open()))
    data = source.data()
    return _Opened(lambda step: _step(data, step))


def _step(data: bytes, step: str) -> bytes:
    kind, _, which = step.partition(":")
    if kind == "part" and which.isdecimal():
        return mime.open_member(data, step)
    if kind == "data":
        return inline_bytes(data, which)
    raise Unreadable("no such member")


_INLINE = re.compile(rb"(?i)data:[^,\"'<>]{0,400},[^\"'<>()\\]*")


def inline_bytes(page: bytes, digest: str) -> bytes:
    """Find the ``data:`` address in a page (or stylesheet, or frame) by what it decodes to."""
    for text in _texts(page):
        for match in _INLINE.finditer(text):
            read = read_data_address(
                re.sub(rb"&#(?:10|13|32);|\s", b"", match[0]).decode("latin-1")
            )
            if read is not None and hashlib.sha256(read[1]).hexdigest().startswith(digest):
                return read[1]
    raise Unreadable("no such picture in the page", "run again")


def _texts(page: bytes) -> tuple[bytes, ...]:
    """The page as it stands, and as UTF-16 if it is that."""
    if page[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in page[:64]:
        big = page[:2] == b"\xfe\xff" or page[:1] == b"\0"
        return (page.decode("utf-16-be" if big else "utf-16-le", "replace").encode("utf-8"),)
    return (page,)
