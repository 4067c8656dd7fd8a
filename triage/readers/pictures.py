"""Which files are pictures, by their first bytes; names are not trusted."""

from __future__ import annotations

# (kind, offset, first bytes): the formats' own specifications
_MARKS: tuple[tuple[str, int, bytes], ...] = (
    ("jpeg", 0, b"\xff\xd8\xff"),  # ITU-T T.81, B.1.1.3
    ("png", 0, b"\x89PNG\r\n\x1a\n"),  # W3C PNG, 5.2
    ("gif", 0, b"GIF87a"),
    ("gif", 0, b"GIF89a"),
    ("webp", 8, b"WEBP"),  # RFC 9649
    ("tiff", 0, b"II*\0"),  # TIFF 6.0, section 2
    ("tiff", 0, b"MM\0*"),
    ("tiff", 0, b"II+\0"),  # BigTIFF
    ("tiff", 0, b"MM\0+"),
    ("bmp", 0, b"BM"),
)
# ISO/IEC 14496-12 (ftyp), 23008-12 (HEIF), AV1 image file format: major or compatible brands
_AVIF = {b"avif", b"avis"}
_HEIC = {b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1"}


def picture_kind(head: bytes) -> str | None:
    """Name the format (jpeg, png, webp, gif, tiff, bmp, avif, heic), or None for no picture.

    `head` is the file or its first 64 bytes or more.

    >>> picture_kind(b"GIF89a..."), picture_kind(b"<html>")
    ('gif', None)
    """
    if head[4:8] == b"ftyp":
        return _heif_kind(head)
    for kind, offset, mark in _MARKS:
        if head.startswith(mark, offset) and _confirmed(kind, head):
            return kind
    return None


def _confirmed(kind: str, head: bytes) -> bool:
    """Ask more of the two marks that plain text could begin with."""
    if kind == "webp":
        return head.startswith(b"RIFF")
    if kind == "bmp":  # the reserved words are zero and the header size is a known one
        return head[6:10] == bytes(4) and head[14:18] in _BMP_HEADERS
    return True


_BMP_HEADERS = {size.to_bytes(4, "little") for size in (12, 16, 40, 52, 56, 64, 108, 124)}


def _heif_kind(head: bytes) -> str | None:
    size = min(int.from_bytes(head[:4], "big"), len(head), 256)
    brands = {head[8:12]} | {head[i : i + 4] for i in range(16, size - 3, 4)}
    if brands & _AVIF:
        return "avif"
    return "heic" if brands & _HEIC else None
