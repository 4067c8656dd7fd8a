"""The text of a page from its bytes, by the rules of the WHATWG HTML and Encoding standards."""

from __future__ import annotations

import codecs
import re
from functools import cache

import webencodings

from triage.readers.tables import table_of

_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_META = re.compile(rb"<meta[^>]{0,2000}?charset\s*=\s*[\"']?\s*([A-Za-z0-9_:.()+-]{1,40})", re.I)
_XML = re.compile(rb"^\s*<\?xml[^>]{0,200}?encoding\s*=\s*[\"']([A-Za-z0-9_.:-]{1,40})[\"']")
_LANGUAGE = re.compile(rb"<html[^>]{0,2000}?\slang\s*=\s*[\"']?([A-Za-z0-9-]{2,20})", re.I)
_COMMENT = re.compile(rb"<!--.{0,4000}?-->", re.S)
_HEAD_BYTES = 65536  # a saver may put long comments and styles before the declaration


def decode_page(data: bytes, declared: str | None = None) -> str:
    """Decode a page; never fails, bytes that cannot be read become U+FFFD.

    Order (WHATWG HTML, 13.2.3): byte order mark, what the carrier declared, the page's own
    <meta>, then UTF-8 if the bytes are valid UTF-8, then the default of the page's language.
    Beyond the standard: carriers name encodings that their bytes are not in. Bytes that are UTF-8
    beyond doubt are read as that, and what is declared UTF-8 and is not as the page itself says.
    """
    for mark, name in _BOMS:
        if data.startswith(mark):
            return data[len(mark) :].decode(name, "replace")
    if (wide := _bare_utf16(data)) is not None:
        return data.decode(wide, "replace")
    encoding = _lookup(declared) or _declared_inside(data)
    if encoding is None or encoding.name == "utf-8" or _is_surely_utf8(data):
        return _as_utf8(data, encoding is not None)
    return str(encoding.codec_info.decode(data, "replace")[0])


def _as_utf8(data: bytes, is_declared: bool) -> str:
    """Decode as UTF-8, unless nothing beyond ASCII in it is UTF-8 at all."""
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        pass
    text = data.decode("utf-8", "replace")
    spoiled = text.count("\ufffd")
    sound = sum(1 for c in text if c > "\x7f") - spoiled
    if is_declared and sound >= spoiled:
        return text
    if sound > 20 * spoiled:  # one cut character in a page that is otherwise UTF-8
        return text
    inside = _declared_inside(data)
    told = inside if inside is not None and inside.name != "utf-8" else _default(data)
    return str(told.codec_info.decode(data, "replace")[0])


# letters of two to four bytes (RFC 3629); a text in another encoding hardly holds one by chance
_LETTER = re.compile(rb"[\xc3-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}")


def _is_surely_utf8(data: bytes) -> bool:
    """Say whether bytes are valid UTF-8 with several letters that only UTF-8 writes so.

    >>> _is_surely_utf8("schön für".encode()), _is_surely_utf8("schön für".encode("cp1252"))
    (True, False)
    """
    if data.isascii() or len(_LETTER.findall(data[:_MOST_LOOKED_AT])) < 2:
        return False
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


_MOST_LOOKED_AT = 1 << 20


def _bare_utf16(data: bytes) -> str | None:
    """Recognise UTF-16 without its mark by the zero beside the first "<"."""
    head = data[:64].lstrip(b" \r\n\t\0") if data[:1] == b"\0" else data[:64]
    if data[:2] == b"<\0" and head[3:4] == b"\0":
        return "utf-16-le"
    return "utf-16-be" if data[:2] == b"\0<" and data[2:3] == b"\0" else None


def _declared_inside(data: bytes) -> webencodings.Encoding | None:
    head = data[:_HEAD_BYTES]
    match = _META.search(_COMMENT.sub(b"", head)) or _XML.search(head)
    encoding = _lookup(match[1].decode("ascii")) if match else None
    if encoding is not None and encoding.name.startswith("utf-16"):
        return webencodings.UTF8  # an ASCII-readable <meta> cannot stand in UTF-16
    return encoding


def _lookup(label: str | None) -> webencodings.Encoding | None:
    return webencodings.lookup(label) if label else None


def _default(data: bytes) -> webencodings.Encoding:
    match = _LANGUAGE.search(data[:_HEAD_BYTES])
    language = match[1].decode("ascii").lower() if match else ""
    table = _table()
    name = table.get(language) or table.get(language.split("-")[0]) or "windows-1252"
    return webencodings.lookup(name) or webencodings.UTF8


@cache
def _table() -> dict[str, str]:
    table: dict[str, str] = table_of("encodings.toml")["default"]
    return table
