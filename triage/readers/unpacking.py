"""Undoes a content coding (RFC 9110, 8.4.1) within limits, whatever the packed bytes claim."""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterator

import brotli

from triage.readers.limits import MAX_MEMBER, MAX_RATIO, MB, PIECE, too_much

Pieces = Callable[[bytes], Iterator[bytes]]
_WRONG = (zlib.error, brotli.error)


def unpacked(data: bytes, coding: str, packed: int) -> bytes:
    """Undo a coding; `packed` is what the data takes where it is stored. Raises Unreadable.

    Savers keep the header and store the bytes unpacked: what is not packed stays as it is.

    >>> unpacked(zlib.compress(b"text"), "deflate", 12), unpacked(b"text", "gzip", 4)
    (b'text', b'text')
    """
    limit = min(MAX_MEMBER, max(4 * MB, packed * MAX_RATIO))
    for pieces in _CODINGS.get(coding.strip().lower(), ()):
        size = sum(map(len, _until_damage(pieces(data), limit)))  # before any of it is held
        if size > limit:
            raise too_much()
        if size:
            return b"".join(_until_damage(pieces(data), limit))
    return data


def _until_damage(pieces: Iterator[bytes], limit: int) -> Iterator[bytes]:
    """Give what comes before the end, or before damage, or before it is too much."""
    try:
        for piece in pieces:
            yield piece
            limit -= len(piece)
            if limit < 0:
                return
    except _WRONG:
        return


def _zlib(bits: int) -> Pieces:
    def pieces(data: bytes) -> Iterator[bytes]:
        unpacker = zlib.decompressobj(bits)
        while data and not unpacker.eof:
            yield unpacker.decompress(data, PIECE)
            data = unpacker.unconsumed_tail

    return pieces


def _brotli(data: bytes) -> Iterator[bytes]:
    unpacker = brotli.Decompressor()
    yield unpacker.process(data, output_buffer_limit=PIECE)
    while not unpacker.is_finished() and not unpacker.can_accept_more_data():
        yield unpacker.process(b"", output_buffer_limit=PIECE)


_GZIP, _ZLIB, _RAW = _zlib(31), _zlib(15), _zlib(-15)
_CODINGS: dict[str, tuple[Pieces, ...]] = {
    "gzip": (_GZIP,),
    "x-gzip": (_GZIP,),
    "deflate": (_ZLIB, _RAW),
    "br": (_brotli,),
}
