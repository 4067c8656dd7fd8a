"""Cheap counts before a markup parser sees a file, so that the worker is seldom killed over it."""

from __future__ import annotations

import re
from collections.abc import Iterator

from triage.readers.source import Unreadable

MAX_BYTES = 96 << 20
MAX_TAGS = 600_000
MAX_ATTRIBUTES = 4_000  # in one tag
MAX_DEPTH = 50_000
LONG_TAG = 40_000  # bytes
_TAG = re.compile(rb"<[A-Za-z]")


def check_markup(data: bytes) -> None:
    """Raise Unreadable for markup on which parsers run for minutes or out of memory.

    Pages as browsers save them stay far below: 5 MB, 30,000 tags, 100 attributes, depth 100.
    """
    if len(data) > MAX_BYTES:
        raise Unreadable(
            f"has {len(data) >> 20} MB, more than the {MAX_BYTES >> 20} that are read",
            "save it as a page with its files",
        )
    tags = data.count(b"<")
    if tags > MAX_TAGS:
        raise Unreadable(
            f"has {tags:,} tags, more than the {MAX_TAGS:,} that are read", "save only the listing"
        )
    if any(_attributes(tag) > MAX_ATTRIBUTES for tag in _long_tags(data)):
        raise Unreadable("a tag with thousands of attributes", "leave it out")
    if tags > MAX_DEPTH and tags - 2 * data.count(b"</") > MAX_DEPTH and _depth(data) > MAX_DEPTH:
        raise Unreadable("tags nested many thousands deep", "leave it out")


def _long_tags(data: bytes) -> Iterator[bytes]:
    """The tags longer than `LONG_TAG`, found by going from "<" to a "<" as far off as may be."""
    after = 0  # the last "<"
    while len(data) - after > LONG_TAG:
        near = data.rfind(b"<", after, after + LONG_TAG + 1)
        if near >= 0:
            after = near + 1
            continue
        far = data.find(b"<", after + LONG_TAG)
        end = far if far >= 0 else len(data)
        closed = data.find(b">", after, end)
        if _TAG.match(data, max(after - 1, 0)) and (closed < 0 or closed - after > LONG_TAG):
            yield data[after - 1 : closed if closed >= 0 else end]
        after = end + 1


def _attributes(tag: bytes) -> int:
    """Count what could be attributes, without the insides of quoted values; 0 for not too many."""
    if max(tag.count(b"="), len(tag.split())) <= MAX_ATTRIBUTES:
        return 0  # pictures in their addresses make most long tags
    bare = re.sub(rb"\"[^\"]*\"|'[^']*'", b"", tag)
    return max(bare.count(b"="), len(bare.split()))


def _depth(data: bytes) -> int:
    """Bound the nesting from above, taking no account of tags that end themselves."""
    depth = deepest = 0
    for run in data.split(b"</"):
        depth = max(0, depth + run.count(b"<") - 1)
        deepest = max(deepest, depth)
    return deepest
