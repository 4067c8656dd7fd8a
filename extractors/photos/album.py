"""Many fingerprints in one file that is mapped: they cost memory once, however many processes read.

Each is preceded by its size (8 bytes, little endian). The file is private to one run.
"""

from __future__ import annotations

import mmap
from collections.abc import Iterable, Iterator
from pathlib import Path

from extractors.photos.fingerprint import Fingerprint, from_bytes

_SIZE = 8


def write_album(path: Path, stored: Iterable[bytes]) -> int:
    """Write what `Fingerprint.to_bytes` gave, one after the other; the count."""
    count = 0
    with path.open("wb") as out:
        for one in stored:
            out.write(len(one).to_bytes(_SIZE, "little"))
            out.write(one)
            count += 1
    return count


def read_album(path: Path) -> Iterator[Fingerprint | None]:
    """The fingerprints in their order, as views of the mapped file; None for a damaged one."""
    if not path.stat().st_size:
        return
    with path.open("rb") as file:
        view = memoryview(mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ))
    at = 0
    while at < len(view):
        size = int.from_bytes(view[at : at + _SIZE], "little")
        at += _SIZE
        yield from_bytes(view[at : at + size])
        at += size
