"""READERS: every kind of saved thing the tool reads, one line each; the first that can, reads."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from triage.readers.source import ReadResult, Source


@dataclass(frozen=True, slots=True)
class Reader:
    """One kind of saved thing.

    `can_read` sees the first 4096 bytes and the name; `read` may raise Unreadable.
    """

    name: str
    can_read: Callable[[bytes, str], bool]
    read: Callable[[Source], ReadResult]


READERS: tuple[Reader, ...] = ()
