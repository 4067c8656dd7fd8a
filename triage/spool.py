"""Stored fingerprints of one run, in a file that is mapped instead of in memory."""

from __future__ import annotations

import mmap
import tempfile
from collections.abc import Iterable, Mapping
from typing import BinaryIO


class Spool:
    """Takes results by key and gives them back as views of one mapped temporary file.

    The file has no name (where the system allows that) and goes with the last view of it.
    """

    def __init__(self) -> None:
        self._file: BinaryIO = tempfile.TemporaryFile()  # noqa: SIM115 - closed by `views`
        self._sizes: dict[str, int] = {}

    def __contains__(self, key: str) -> bool:
        return key in self._sizes

    def add(self, results: Mapping[str, bytes]) -> None:
        """Append results of new keys."""
        for key, value in results.items():
            self._file.write(value)
            self._sizes[key] = len(value)

    def views(self) -> dict[str, memoryview]:
        """All results by key; nothing can be added afterwards."""
        self._file.flush()
        found: dict[str, memoryview] = {}
        if any(self._sizes.values()):
            whole = memoryview(mmap.mmap(self._file.fileno(), 0, access=mmap.ACCESS_READ))
            at = 0
            for key, size in self._sizes.items():
                found[key] = whole[at : at + size]
                at += size
        self._file.close()
        return found


def in_parts(keys: Iterable[str], most: int) -> Iterable[list[str]]:
    """The keys, `most` at a time."""
    every = list(keys)
    return (every[at : at + most] for at in range(0, len(every), most))
