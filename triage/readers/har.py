"""HAR 1.2 files: what a browser's network panel exports, pages with all that they loaded."""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from extractors.records import Problem
from triage.readers.exports import decode_text, load_strict
from triage.readers.limits import MAX_MEMBER
from triage.readers.source import Asset, Source, Unreadable, join_member

_HEAD = re.compile(rb'(?:\xef\xbb\xbf)?\s*\{\s*"log"\s*:\s*\{')


def can_open(head: bytes, name: str) -> bool:
    """Recognise the outermost object "log" (HAR 1.2, "log")."""
    return name.lower().endswith(".har") or _HEAD.match(head) is not None


def members(source: Source) -> Iterator[Source | Problem]:
    """Give the pages among the entries, each with all other entries in its reach."""
    entries = _entries(source)
    table: dict[str, Asset] = {}
    for number, entry in enumerate(entries):
        url = _url(entry)
        if url and _status(entry) in (200, 203, 206, 0) and _text(entry):
            table.setdefault(url, _asset(source, number, entry))
    for number, entry in enumerate(entries):
        if _is_page(entry):
            yield _page(source, number, entry, table)


def opener(source: Source) -> Callable[[str], bytes]:
    """Give what reads ``entry:N``; the file is parsed once."""
    entries = _entries(source)

    def read(step: str) -> bytes:
        number = step.removeprefix("entry:")
        if not number.isdecimal() or int(number) >= len(entries):
            raise Unreadable("no such entry")
        return _decoded(entries[int(number)])

    return read


def _entries(source: Source) -> list[Mapping[str, Any]]:
    value, _ = load_strict(decode_text(source.data(MAX_MEMBER)))
    log = value.get("log") if isinstance(value, dict) else None
    entries = log.get("entries") if isinstance(log, dict) else None
    if not isinstance(entries, list):
        raise Unreadable("holds no log of entries", "export it again with content")
    return [entry if isinstance(entry, dict) else {} for entry in entries]


def _part(entry: Mapping[str, Any], *keys: str) -> Any:
    value: Any = entry
    for key in keys:
        value = value.get(key) if isinstance(value, dict) else None
    return value


def _url(entry: Mapping[str, Any]) -> str:
    url = _part(entry, "request", "url")
    return url.split("#")[0] if isinstance(url, str) else ""


def _status(entry: Mapping[str, Any]) -> int:
    status = str(_part(entry, "response", "status") or "0")
    return int(status) if status.isdecimal() and len(status) < 6 else -1


def _media(entry: Mapping[str, Any]) -> str:
    media = _part(entry, "response", "content", "mimeType")
    return media if isinstance(media, str) else ""


def _text(entry: Mapping[str, Any]) -> str:
    text = _part(entry, "response", "content", "text")
    return text if isinstance(text, str) else ""


def _is_page(entry: Mapping[str, Any]) -> bool:
    """An HTML answer that the browser asked for as a document, as far as the file tells."""
    media = _media(entry).split(";")[0].strip().lower()
    if media not in ("text/html", "application/xhtml+xml") or not _text(entry):
        return False
    dest = _header(entry, "sec-fetch-dest")
    return _status(entry) in (200, 203, 0) and dest in ("", "document")


def _header(entry: Mapping[str, Any], name: str) -> str:
    headers = _part(entry, "request", "headers")
    for header in headers if isinstance(headers, list) else ():
        if isinstance(header, dict) and str(header.get("name")).lower() == name:
            return str(header.get("value")).lower()
    return ""


def _decoded(entry: Mapping[str, Any]) -> bytes:
    """Undo the encoding that `content.encoding` names (HAR 1.2, "content"): base64 or none."""
    text = _text(entry)
    if str(_part(entry, "response", "content", "encoding") or "").lower() != "base64":
        return text.encode("utf-8", "replace")
    try:
        return base64.b64decode(text)
    except (binascii.Error, ValueError):
        raise Unreadable("is damaged base64") from None


def _page(
    source: Source, number: int, entry: Mapping[str, Any], table: Mapping[str, Asset]
) -> Source | Problem:
    step = f"entry:{number}"
    try:
        data = _decoded(entry)
    except Unreadable as error:
        return Problem(source.path, join_member(source.member, step), error.what, error.do)
    is_text = _part(entry, "response", "content", "encoding") is None
    charset = re.search(r"(?i)charset\s*=\s*[\"']?([\w.:-]+)", _media(entry))
    started = _part(entry, "startedDateTime")
    return source.inside(
        step,
        data,
        url=_url(entry) or None,
        saved_at=started if isinstance(started, str) else None,
        # text in the file was decoded by the browser and is UTF-8 now
        charset="utf-8" if is_text else charset[1] if charset else None,
        content_type=_media(entry) or None,
        table=table,
        base=_url(entry),
    )


def _asset(source: Source, number: int, entry: Mapping[str, Any]) -> Asset:
    member = join_member(source.member, f"entry:{number}")
    return Asset(source.path, member, _url(entry), lambda: _decoded(entry), _media(entry) or None)
