"""What is too much to parse, told by cheap counts before any parser sees the bytes.

Markup has its own in bounds.py. The figures leave honest material a wide margin.
"""

from __future__ import annotations

import re
from typing import BinaryIO

from triage.readers.source import Unreadable

MB = 1 << 20
MAX_MEMBER = 128 * MB
MAX_UNPACKED = 2048 * MB  # all members of one container together
MAX_RATIO = 200  # deflate cannot pass 1032; honest pages stay below 30
MAX_MEMBERS = 50_000
MAX_DEPTH = 4  # containers within containers
MAX_LINE = 32 * MB  # one JSON line or CSV record
MAX_PARTS = 2_000  # MIME parts
MAX_LISTINGS = 200_000  # in one export
PIECE = 1 * MB  # read at a time: a stream that is asked for more claims the memory at once


_BRACKETS = re.compile(r'"(?:[^"\\]|\\.)*+"?+|[\[\]{}]')


def json_depth(text: str, stop_at: int = 200) -> int:
    """Measure how deep JSON brackets nest (strings skipped), giving up above `stop_at`.

    >>> json_depth('{"a": [1, "[[[["]}', 1)
    2
    """
    opened = text.count("[") + text.count("{")
    if opened <= stop_at:
        return opened
    depth = deepest = 0
    for token in _BRACKETS.finditer(text):
        first = text[token.start()]
        if first in "[{":
            depth += 1
            deepest = max(deepest, depth)
            if deepest > stop_at:
                break
        elif first in "]}":
            depth -= 1
    return deepest


def read_bounded(stream: BinaryIO, limit: int, packed: int | None = None) -> bytes:
    """Read a decompressing stream up to `limit` bytes; raises Unreadable for a bomb.

    `packed` is the compressed size where known: above 4 MB and MAX_RATIO times it, it is a bomb.
    """
    if packed is not None:
        limit = min(limit, max(4 * MB, packed * MAX_RATIO))
    pieces: list[bytes] = []
    while piece := stream.read(PIECE):
        pieces.append(piece)
        limit -= len(piece)
        if limit < 0:
            raise too_much()
    return b"".join(pieces)


def too_much() -> Unreadable:
    return Unreadable("unpacks to more than is plausible", "unpack it by hand if you trust it")
