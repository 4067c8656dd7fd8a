"""E-mails and MHTML files: which part is the page, and where its pictures are.

RFC 2045 to 2047 and 5322 for messages, RFC 2387 and 2557 for multipart/related. The standard
library's e-mail package does the parsing; this module only chooses among the parts.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC
from email import message_from_bytes, policy
from email.errors import HeaderParseError
from email.header import decode_header, make_header
from email.message import Message
from email.utils import parsedate_to_datetime
from functools import lru_cache
from itertools import islice
from typing import Any, BinaryIO

from extractors.records import Problem
from triage.readers.encoding import decode_page
from triage.readers.letters import sender_of
from triage.readers.limits import MAX_MEMBER, MAX_PARTS, PIECE
from triage.readers.source import Asset, Source, Unreadable, join_member, resolve

# RFC 2557, 5: relative addresses with no base at all are relative to thismessage:/, which is
# written here with a scheme that urllib joins
NO_BASE = "http://thismessage.invalid/"

MAX_HEADER = 4_000  # characters; a line has at most 998 (RFC 5322, 2.1.1)

_FIELD = re.compile(rb"(?m)^([A-Za-z][A-Za-z0-9-]{1,40}):[ \t\r\n]")
_TELLING = frozenset(
    b"from to subject date received message-id return-path content-type mime-version delivered-to "
    b"content-transfer-encoding content-location snapshot-content-location reply-to sender".split()
)
_TECHNICAL = frozenset(b"received message-id content-type mime-version return-path".split())
_PICTURE = re.compile(r"\.(?:jpe?g|png|webp|gif|tiff?|bmp|avif|hei[cf])$", re.IGNORECASE)
_NAMES = (".eml", ".mht", ".mhtml")


def can_open(head: bytes, name: str) -> bool:
    """Say whether this starts as a message: header fields first, two of them telling ones."""
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    start = _FROM_LINE.sub(b"", start, count=1)
    if not _FIELD.match(start):
        return False
    block = re.split(rb"\r?\n\r?\n", start, maxsplit=1)[0]
    fields = {m[1].lower() for m in _FIELD.finditer(block)} & _TELLING
    if name.lower().endswith(_NAMES):
        return bool(fields)
    # a seller's note may well begin "From:" and "Date:"
    return len(fields) >= 2 and bool(fields & _TECHNICAL)


# --- mailboxes -------------------------------------------------------------------------------


def can_open_box(head: bytes, name: str) -> bool:
    """Say whether this is a mailbox: it begins with a "From " line (RFC 4155), then a mail."""
    is_mail = name.lower().endswith(_NAMES)
    return not is_mail and _FROM_LINE.match(head) is not None and can_open(head, "x.eml")


def box_members(source: Source) -> Iterator[Source | Problem]:
    """Give each mail of a mailbox."""
    with source.open() as file:
        for number, content in enumerate(_split_box(file)):
            yield source.inside(f"mail:{number}", content, filename=f"{number}.eml")


def open_box_member(file: BinaryIO, step: str) -> bytes:
    """Give the bytes of ``mail:N``."""
    kind, _, number = step.partition(":")
    if kind != "mail" or not number.isdecimal():
        raise Unreadable("no such member")
    with file:
        found = next(islice(_split_box(file), int(number), None), None)
    if found is None:
        raise Unreadable(f"has no mail {number}")
    return found


_LONGEST_FROM = 300  # bytes, with the empty line before it
_FROM_LINE = re.compile(rb"From \S[^\r\n]{0,200}\d{2}:\d{2}[^\r\n]{0,40}\r?\n")
_NEXT_MAIL = re.compile(rb"\n\r?\n(?=From \S[^\r\n]{0,200}\d{2}:\d{2}[^\r\n]{0,40}\r?\n)")


def _split_box(file: BinaryIO) -> Iterator[bytes]:
    """Split at "From " lines after an empty line, holding one mail at a time."""
    held, looked_at = bytearray(), 1
    while block := file.read(PIECE):
        held += block
        start = 0
        for found in _NEXT_MAIL.finditer(held, looked_at):
            yield _unmasked(bytes(held[start : found.start()]))
            start = found.start()
        del held[:start]
        looked_at = max(1, len(held) - _LONGEST_FROM)  # what is held may begin with one
        if len(held) > MAX_MEMBER:
            raise Unreadable(f"a mail is larger than {MAX_MEMBER >> 20} MB", "save it by itself")
    yield _unmasked(bytes(held))


def _unmasked(mail: bytes) -> bytes:
    """A mail without its "From " line; a ">From " in its text was one that was masked."""
    mail = _FROM_LINE.sub(b"", mail.lstrip(b"\r\n"), count=1)
    return re.sub(rb"(?m)^>(>*From )", rb"\1", mail) + b"\n"


@dataclass(frozen=True)
class _Part:
    """One MIME part: its number (depth first) and its full address, if it states one."""

    number: int
    message: Message
    location: str | None
    parent: int | None

    @property
    def media(self) -> str:
        return self.message.get_content_type()

    @property
    def attached(self) -> bool:
        return self.message.get_content_disposition() == "attachment"

    @property
    def is_picture(self) -> bool:
        """Say whether this is a picture; some programs tell so by its file name alone."""
        if self.media == "application/octet-stream":
            return _PICTURE.search(text_of(self.message.get_filename())) is not None
        return self.media.startswith("image/")


def members(source: Source) -> Iterator[Source | Problem]:
    """Give the page of an MHTML file, or the bodies and readable attachments of a mail."""
    parts = _parts(source.data(MAX_MEMBER))
    yield from _bodies(source, parts, parts[0], None)


def open_member(data: bytes, step: str) -> bytes:
    """Give the decoded bytes of ``part:N``."""
    number = int(step.removeprefix("part:"))
    parts = _parts(data)
    if number >= len(parts):
        raise Unreadable(f"has no part {number}")
    return content_of(parts[number])


@lru_cache(maxsize=1)
def _parse(data: bytes) -> Message:
    try:
        return message_from_bytes(
            data.removeprefix(b"\xef\xbb\xbf").lstrip(), policy=policy.compat32
        )
    except RecursionError:
        raise Unreadable("parts are nested too deep", "save the mail again") from None


def _parts(data: bytes) -> tuple[_Part, ...]:
    """List all parts depth first, each with its address (RFC 2557, 4.2 and 5)."""
    parts: list[_Part] = []
    todo: list[tuple[Message, str, int | None]] = [(_parse(data), NO_BASE, None)]
    while todo:
        message, base, parent = todo.pop()
        stated = _stated_location(message)
        location = resolve(base, stated) if stated else None
        number = len(parts)
        parts.append(_Part(number, message, location, parent))
        if len(parts) > MAX_PARTS:
            raise Unreadable(f"more than {MAX_PARTS:,} parts", "save the listings one by one")
        if message.is_multipart():
            children = [m for m in message.get_payload() if isinstance(m, Message)]
            todo += [(child, location or base, number) for child in reversed(children)]
    return tuple(parts)


def _stated_location(message: Message) -> str | None:
    for name in ("Content-Location", "Snapshot-Content-Location", "Content-Base"):
        stated = text_of(message.get(name))
        if stated:
            # RFC 2557, 4.4.2: folding white space inside an address is not part of it
            return re.sub(r"\s+", "", stated)
    return None


def text_of(header: object) -> str:
    """Decode a header field to text (RFC 2047), or "" if there is none."""
    if header is None:
        return ""
    raw = str(header)[:MAX_HEADER]
    try:
        text = str(make_header(decode_header(raw)))
    except (HeaderParseError, LookupError, ValueError):
        text = raw
    raw8 = text.encode("utf-8", "surrogateescape")
    return " ".join(raw8.decode("utf-8", "replace").split())


def date_of(message: Message) -> str | None:
    """Read the Date field (RFC 5322, 3.6.1) as ISO 8601 in UTC, or None."""
    try:
        when = parsedate_to_datetime(str(message.get("Date", "")))
        when = when if when.tzinfo else when.replace(tzinfo=UTC)
        return when.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    except (ValueError, TypeError, IndexError, OverflowError):
        return None


def content_of(part: _Part) -> bytes:
    """Give a part's bytes with its transfer encoding undone (RFC 2045, 6)."""
    payload = part.message.get_payload(decode=True)
    if isinstance(payload, bytes):
        return payload
    inner = part.message.get_payload()
    if isinstance(inner, list) and inner and isinstance(inner[0], Message):
        return _as_written(inner[0])
    return b""


def _as_written(message: Message) -> bytes:
    try:
        return message.as_bytes()
    except UnicodeEncodeError:  # a part named ASCII that is not (RFC 2045, 2.8 forbids it)
        return message.as_string().encode("utf-8", "surrogateescape")


# --- choosing --------------------------------------------------------------------------------


def _children(parts: tuple[_Part, ...], part: _Part) -> tuple[_Part, ...]:
    return tuple(p for p in parts if p.parent == part.number)


def _below(parts: tuple[_Part, ...], part: _Part) -> tuple[_Part, ...]:
    """List a part and everything in it."""
    inside = {part.number}
    for other in parts[part.number + 1 :]:
        if other.parent in inside:
            inside.add(other.number)
    return tuple(p for p in parts if p.number in inside)


def _bodies(
    source: Source, parts: tuple[_Part, ...], part: _Part, mail: Message | None
) -> Iterator[Source | Problem]:
    """Give what a buyer would read of this part: bodies first, then what is attached."""
    mail = part.message if mail is None or part.parent is None else mail
    if part.media == "message/rfc822":
        for child in _children(parts, part):
            yield from _bodies(source, parts, child, child.message)
    elif part.media == "multipart/alternative":
        best = _best(parts, _children(parts, part))
        if best is not None:
            yield from _bodies(source, parts, best, mail)
    elif part.media == "multipart/related":
        root = _root(parts, part)
        if root is not None:
            yield from _bodies(source, parts, root, mail)
    elif part.message.is_multipart():
        yield from _mixed(source, parts, part, mail)
    elif part.media in ("text/html", "application/xhtml+xml", "text/plain") or part.parent is None:
        yield _page(source, parts, part, mail)


def _mixed(
    source: Source, parts: tuple[_Part, ...], part: _Part, mail: Message
) -> Iterator[Source | Problem]:
    """multipart/mixed, digest, report ...: every body is read, every attachment that can be."""
    children = _children(parts, part)
    html = _has_html(parts, part)
    words = [c for c in children if c.media == "text/plain" and not c.attached]
    for child in children:
        if child in words and (html or child is not words[0]):
            continue  # a covering note or a list's signature beside an HTML body
        if child in words:  # text, photo, text: a phone parts one text at its photos
            yield replace(_page(source, parts, child, mail), **_in_one(words))
        elif child.is_picture:
            continue
        elif child.attached and not child.message.is_multipart():
            yield _attachment(source, parts, child, mail)
        else:
            yield from _bodies(source, parts, child, mail)
    if part.parent is None and not _has_text(parts, part) and any(c.is_picture for c in children):
        subject = text_of(mail.get("Subject")).encode("utf-8") or b"-"
        yield replace(_page(source, parts, part, mail), content=subject, charset="utf-8",
                      content_type="text/plain")  # fmt: skip


def _in_one(words: list[_Part]) -> dict[str, Any]:
    """Join the parts of a text; one alone stays as it is."""
    if len(words) == 1:
        return {}
    told = ((content_of(p), p.message.get_content_charset()) for p in words)
    texts = [decode_page(content, charset).strip("\r\n") for content, charset in told]
    return {"content": "\n\n".join(t for t in texts if t).encode("utf-8"), "charset": "utf-8"}


def _has_text(parts: tuple[_Part, ...], part: _Part) -> bool:
    return any(
        p.media.startswith("text/") or p.media == "message/rfc822" for p in _below(parts, part)
    )


def _attachment(source: Source, parts: tuple[_Part, ...], part: _Part, mail: Message) -> Source:
    return source.inside(
        f"part:{part.number}",
        content_of(part),
        saved_at=date_of(mail),
        charset=part.message.get_content_charset(),
        content_type=part.media,
        filename=text_of(part.message.get_filename()) or None,
    )


def _best(parts: tuple[_Part, ...], choices: tuple[_Part, ...]) -> _Part | None:
    """The last alternative is the best (RFC 2046, 5.1.4), but HTML says more than text."""
    html = [c for c in choices if _has_html(parts, c)]
    plain = [c for c in choices if c.media == "text/plain"]
    best = html or plain or list(choices)
    return best[-1] if best else None


def _has_html(parts: tuple[_Part, ...], part: _Part) -> bool:
    return any(_is_html(p) for p in _below(parts, part))


def _is_html(part: _Part) -> bool:
    return part.media in ("text/html", "application/xhtml+xml") and not part.attached


def _root(parts: tuple[_Part, ...], related: _Part) -> _Part | None:
    """The root of multipart/related: the part that `start` names (RFC 2387, 3.2), if it is a
    page; else the first part with a page in it, wherever it stands."""
    children = _children(parts, related)
    start = _content_id(related.message.get_param("start"))
    named = [c for c in children if start and _content_id(c.message.get("Content-ID")) == start]
    pages = [c for c in children if _has_html(parts, c)]
    if named and (named[0] in pages or not pages):
        return named[0]
    return next(iter(pages or children), None)


def _content_id(stated: object) -> str:
    """Strip a Content-ID to what a ``cid:`` address names (RFC 2392).

    >>> _content_id(" <photo.1@mail.example> ")
    'photo.1@mail.example'
    """
    return re.sub(r"\s+", "", str(stated or "")).strip("<>\"'")


def _page(source: Source, parts: tuple[_Part, ...], part: _Part, mail: Message) -> Source:
    """Make the source of a body, with all pictures of the message in its reach."""
    table = _table(source, parts)
    saved_page = part.location is not None or mail.get("Snapshot-Content-Location") is not None
    snapshot = re.sub(r"\s+", "", text_of(mail.get("Snapshot-Content-Location")))
    url = part.location if part.location and not part.location.startswith(NO_BASE) else None
    return source.inside(
        f"part:{part.number}",
        content_of(part),
        url=url or snapshot or None,
        saved_at=date_of(mail),
        charset=part.message.get_content_charset(),
        content_type=part.media,
        table=table,
        base=part.location or _enclosing_location(parts, part) or NO_BASE,
        beside=tuple(f"part:{p.number}" for p in _loose_pictures(parts, part)),
        title=text_of(mail.get("Subject")) or None,
        is_mail=not saved_page,
        sender=None if saved_page else sender_of(mail, text_of(mail.get("From"))),
    )


def _enclosing_location(parts: tuple[_Part, ...], part: _Part) -> str | None:
    while part.parent is not None:
        part = parts[part.parent]
        if part.location:
            return part.location
    return None


def _loose_pictures(parts: tuple[_Part, ...], page: _Part) -> tuple[_Part, ...]:
    """Pictures attached to the same mail as the page, without belonging to its layout."""
    mail = _mail_of(parts, page)
    return tuple(
        p
        for p in _below(parts, mail)
        if p.is_picture
        and _mail_of(parts, p) is mail
        and ((_in_mixed(parts, p) and (p.attached or not _cid(p))) or not _has_html(parts, mail))
    )


def _mail_of(parts: tuple[_Part, ...], part: _Part) -> _Part:
    """The mail that a part belongs to: one forwarded inside the mail is its own."""
    while part.parent is not None and part.media != "message/rfc822":
        part = parts[part.parent]
    return part


def _cid(part: _Part) -> str:
    return _content_id(part.message.get("Content-ID"))


def _in_mixed(parts: tuple[_Part, ...], part: _Part) -> bool:
    return part.parent is not None and parts[part.parent].media == "multipart/mixed"


def _table(source: Source, parts: tuple[_Part, ...]) -> Mapping[str, Asset]:
    """List all parts by cid:, by Content-Location and by number; of two equal, the first."""
    table: dict[str, Asset] = {}
    for part in parts:
        if part.message.is_multipart():
            continue
        for address in _addresses(part):
            table.setdefault(address, _asset(source, part))
    return table


def _addresses(part: _Part) -> Iterator[str]:
    yield f"part:{part.number}"
    if _cid(part):
        yield "cid:" + _cid(part)
    if part.location:
        yield part.location


def _asset(source: Source, part: _Part) -> Asset:
    member = join_member(source.member, f"part:{part.number}")
    base = part.location or NO_BASE
    return Asset(source.path, member, base, lambda: content_of(part), part.media)
